//! What can be wrong with a layout.

use std::fmt;

use dropwise_geometry::Point;
use thiserror::Error;

/// What a part must stay clear of on its sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// A hole already in the sheet, by its index.
    Hole(usize),
    /// A damaged zone, by its index.
    Damage(usize),
    /// An area that is kept clear, by its index in the instructions.
    Reserved(usize),
}

impl fmt::Display for Obstacle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Hole(index) => write!(f, "hole {index}"),
            Self::Damage(index) => write!(f, "damaged zone {index}"),
            Self::Reserved(index) => write!(f, "area {index} kept clear"),
        }
    }
}

/// One way in which a layout is not valid.
///
/// Indices count from zero: `on` is a [`crate::SheetUse`] of the layout, `placement` one of its placements, `part` and
/// `sheet` those of the job. Lengths are millimetres, points in the sheet's coordinates.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Violation {
    /// A sheet that the job does not have.
    #[error("sheet {on} of the layout is sheet {sheet} of the job, which has {count}")]
    UnknownSheet {
        /// Sheet of the layout.
        on: usize,
        /// The index found.
        sheet: usize,
        /// How many sheets the job has.
        count: usize,
    },
    /// A part that the job does not have.
    #[error("placement {placement} on sheet {on} is part {part} of the job, which has {count}")]
    UnknownPart {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// The index found.
        part: usize,
        /// How many parts the job has.
        count: usize,
    },
    /// A part declared unplaced that the job does not have.
    #[error("entry {entry} of the unplaced is part {part} of the job, which has {count}")]
    UnknownUnplacedPart {
        /// Index in the list of the unplaced.
        entry: usize,
        /// The index found.
        part: usize,
        /// How many parts the job has.
        count: usize,
    },
    /// Not as many of a part as are wanted.
    #[error("of part {part} {wanted} are wanted, but {placed} are placed and {unplaced} declared unplaced")]
    WrongCount {
        /// Which part.
        part: usize,
        /// How many lie on sheets.
        placed: u64,
        /// How many are declared unplaced.
        unplaced: u64,
        /// How many are wanted.
        wanted: u32,
    },
    /// A sheet used more often than there are.
    #[error("sheet {sheet} is used {used} times, but there are {available}")]
    TooManySheets {
        /// Which sheet.
        sheet: usize,
        /// How often it is used.
        used: u64,
        /// How many there are.
        available: u32,
    },
    /// Stock sold by length, but how much is bought is not said.
    #[error("sheet {on} is sold by length, and no length is given")]
    NoLength {
        /// Sheet of the layout.
        on: usize,
    },
    /// A length for a sheet that is not sold by length.
    #[error("sheet {on} is not sold by length, yet a length of {found} mm is given")]
    UnexpectedLength {
        /// Sheet of the layout.
        on: usize,
        /// The length given.
        found: f64,
    },
    /// A length that the yard does not shear to, or one that is not finite.
    #[error("sheet {on}: a length of {found} mm is not a multiple of {increment} mm")]
    LengthNotSold {
        /// Sheet of the layout.
        on: usize,
        /// The length given.
        found: f64,
        /// What it must be a multiple of.
        increment: f64,
    },
    /// A length shorter than the least that is sold.
    #[error("sheet {on}: a length of {found} mm is less than the {minimum} mm sold at least")]
    LengthTooShort {
        /// Sheet of the layout.
        on: usize,
        /// The length given.
        found: f64,
        /// The least that is sold.
        minimum: f64,
    },
    /// A length longer than can be had.
    #[error("sheet {on}: a length of {found} mm is more than the {available} mm to be had")]
    LengthTooLong {
        /// Sheet of the layout.
        on: usize,
        /// The length given.
        found: f64,
        /// The most that can be had.
        available: f64,
    },
    /// A place or turn that is not a number.
    #[error("placement {placement} on sheet {on} has a place or turn that is not finite")]
    NotFinite {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
    },
    /// A part of another material, grade or thickness than the sheet.
    #[error("placement {placement} on sheet {on}: the part is `{part_class}`, the sheet `{sheet_class}`")]
    WrongClass {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// What the part must be cut from.
        part_class: String,
        /// What the sheet is.
        sheet_class: String,
    },
    /// A turn that the part does not allow.
    #[error("placement {placement} on sheet {on} is turned by {found}°; {}", nearest_turn(*.nearest))]
    TurnNotAllowed {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// The turn found, degrees.
        found: f64,
        /// The allowed turn nearest to it; `None` when no turn is allowed there, as for a part held to the grain on a
        /// sheet whose grain is not known.
        nearest: Option<f64>,
    },
    /// A part face down that may not be flipped.
    #[error("placement {placement} on sheet {on} lies face down, but the part may not be flipped")]
    FlipNotAllowed {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
    },
    /// A part that sticks out of its sheet.
    #[error("placement {placement} sticks out of sheet {on} by at least {by} mm at ({}, {})", .at.x, .at.y)]
    OutsideSheet {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// How far it sticks out at the least.
        by: f64,
        /// A point of the part outside of the sheet.
        at: Point,
    },
    /// A part nearer to the edge of its sheet than the margin.
    #[error("placement {placement} on sheet {on} is {found} mm from the edge at ({}, {}); the margin is {wanted} mm", .at.x, .at.y)]
    TooCloseToEdge {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// The distance found.
        found: f64,
        /// The edge margin.
        wanted: f64,
        /// The point of the part that is nearest to it.
        at: Point,
    },
    /// A part on a hole in the sheet or on damage.
    #[error("placement {placement} on sheet {on} lies on {obstacle} by at least {by} mm at ({}, {})", .at.x, .at.y)]
    OnObstacle {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// What it lies on.
        obstacle: Obstacle,
        /// How deep they overlap at the least.
        by: f64,
        /// A point of both.
        at: Point,
    },
    /// A part nearer to a hole in the sheet or to damage than the margin.
    #[error(
        "placement {placement} on sheet {on} is {found} mm from {obstacle} at ({}, {}); the {} is {wanted} mm",
        .at.x, .at.y, if matches!(.obstacle, Obstacle::Reserved(_)) { "web" } else { "margin" }
    )]
    TooCloseToObstacle {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
        /// What it is too close to.
        obstacle: Obstacle,
        /// The distance found.
        found: f64,
        /// The edge margin, or the web where it is kept clear.
        wanted: f64,
        /// The point of the part that is nearest to it.
        at: Point,
    },
    /// A part on a sheet that it is not kept to.
    #[error("placement {placement} on sheet {on}: the part is kept to other sheets")]
    NotKeptToSheet {
        /// Sheet of the layout.
        on: usize,
        /// Which placement.
        placement: usize,
    },
    /// What is held on a sheet lies not as told, all of it on one use of that sheet.
    #[error("of what is held on sheet {sheet} of the job, part {part} lies not as told: hold {hold}")]
    HoldNotMet {
        /// Which hold.
        hold: usize,
        /// Which part.
        part: usize,
        /// Which sheet of the job.
        sheet: usize,
    },
    /// Two parts that overlap.
    #[error("placements {first} and {second} on sheet {on} overlap by at least {by} mm at ({}, {})", .at.x, .at.y)]
    Overlap {
        /// Sheet of the layout.
        on: usize,
        /// One placement.
        first: usize,
        /// The other.
        second: usize,
        /// How deep they overlap at the least.
        by: f64,
        /// A point of both.
        at: Point,
    },
    /// Two parts nearer to each other than the web.
    #[error(
        "placements {first} and {second} on sheet {on} are {found} mm apart at ({}, {}); the web is {wanted} mm", .at.x, .at.y
    )]
    TooClose {
        /// Sheet of the layout.
        on: usize,
        /// One placement.
        first: usize,
        /// The other.
        second: usize,
        /// The distance found.
        found: f64,
        /// The web.
        wanted: f64,
        /// The point of the first that is nearest to the second.
        at: Point,
    },
    /// Figures of more or fewer sheets than the layout has.
    #[error("figures are of {found} sheets, but {wanted} are used")]
    OtherSheets {
        /// Sheets of the figures.
        found: usize,
        /// Sheets of the layout.
        wanted: usize,
    },
    /// A leftover that sticks out of its sheet.
    #[error("leftover {leftover} of sheet {on} reaches {by} mm out of the sheet at ({}, {})", .at.x, .at.y)]
    LeftoverOffSheet {
        /// Sheet of the layout.
        on: usize,
        /// Which leftover.
        leftover: usize,
        /// By how much, mm.
        by: f64,
        /// Where.
        at: Point,
    },
    /// A leftover over a hole or damage of its sheet.
    #[error("leftover {leftover} of sheet {on} lies {by} mm deep on {obstacle} at ({}, {})", .at.x, .at.y)]
    LeftoverOnObstacle {
        /// Sheet of the layout.
        on: usize,
        /// Which leftover.
        leftover: usize,
        /// On what.
        obstacle: Obstacle,
        /// By how much, mm.
        by: f64,
        /// Where.
        at: Point,
    },
    /// A leftover on a part, or within the cut around it.
    #[error("leftover {leftover} of sheet {on} is {found} mm from placement {placement}, the cut is {wanted} mm wide")]
    LeftoverOnPart {
        /// Sheet of the layout.
        on: usize,
        /// Which leftover.
        leftover: usize,
        /// Which placement.
        placement: usize,
        /// Their distance, mm; zero where they overlap.
        found: f64,
        /// Width of the cut, mm.
        wanted: f64,
    },
    /// Two leftovers that share metal.
    #[error("leftovers {first} and {second} of sheet {on} overlap by {by} mm at ({}, {})", .at.x, .at.y)]
    LeftoversOverlap {
        /// Sheet of the layout.
        on: usize,
        /// One leftover.
        first: usize,
        /// The other.
        second: usize,
        /// By how much, mm.
        by: f64,
        /// Where.
        at: Point,
    },
    /// An area that a second derivation does not find.
    #[error("the {area} area of sheet {on} is given as {found} mm², but is {derived} mm² within {tolerance}")]
    AreaOff {
        /// Sheet of the layout.
        on: usize,
        /// Which of the five areas.
        area: &'static str,
        /// What the figures say, mm².
        found: f64,
        /// What the second derivation says, mm².
        derived: f64,
        /// By how much they may differ, mm².
        tolerance: f64,
    },
}

impl Violation {
    /// Which sheet of the layout it concerns, if one, and which of its placements: none, one, or two that are too near.
    #[must_use]
    pub fn concerns(&self) -> (Option<usize>, Vec<usize>) {
        match self {
            Self::UnknownSheet { on, .. }
            | Self::NoLength { on }
            | Self::UnexpectedLength { on, .. }
            | Self::LengthNotSold { on, .. }
            | Self::LengthTooShort { on, .. }
            | Self::LengthTooLong { on, .. }
            | Self::LeftoverOffSheet { on, .. }
            | Self::LeftoverOnObstacle { on, .. }
            | Self::LeftoversOverlap { on, .. }
            | Self::AreaOff { on, .. } => (Some(*on), Vec::new()),
            Self::UnknownPart { on, placement, .. }
            | Self::NotFinite { on, placement }
            | Self::WrongClass { on, placement, .. }
            | Self::TurnNotAllowed { on, placement, .. }
            | Self::FlipNotAllowed { on, placement }
            | Self::OutsideSheet { on, placement, .. }
            | Self::TooCloseToEdge { on, placement, .. }
            | Self::OnObstacle { on, placement, .. }
            | Self::TooCloseToObstacle { on, placement, .. }
            | Self::NotKeptToSheet { on, placement }
            | Self::LeftoverOnPart { on, placement, .. } => (Some(*on), vec![*placement]),
            Self::Overlap { on, first, second, .. } | Self::TooClose { on, first, second, .. } => {
                (Some(*on), vec![*first, *second])
            }
            Self::UnknownUnplacedPart { .. }
            | Self::WrongCount { .. }
            | Self::TooManySheets { .. }
            | Self::HoldNotMet { .. }
            | Self::OtherSheets { .. } => (None, Vec::new()),
        }
    }
}

fn nearest_turn(nearest: Option<f64>) -> String {
    nearest.map_or_else(|| "no turn is allowed there".into(), |turn| format!("the nearest allowed is {turn}°"))
}
