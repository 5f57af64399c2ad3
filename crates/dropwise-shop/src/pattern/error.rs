//! What can be wrong with a pattern.

use std::fmt;

use dropwise_geometry::Point;
use thiserror::Error;

use super::base::BaseKind;
use super::feature::FeatureKind;

/// Largest length a pattern may hold, mm: 100 m. Anything above is a slip of the unit.
pub const LARGEST_LENGTH: f64 = 100_000.0;

/// Least size a pattern may hold, mm: a micrometre.
pub const SMALLEST_LENGTH: f64 = 1e-3;

/// Most holes that one row or bolt circle may have.
pub const MOST_HOLES: u32 = 10_000;

/// Most corners a polygon may have.
pub const MOST_CORNERS: usize = 5_000;

/// Most holes a pattern may have over all.
pub const MOST_OPENINGS: usize = 10_000;

/// What an error is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// The outline itself.
    Base(BaseKind),
    /// Something cut out of it.
    Feature {
        /// Index in the pattern, from 0. Messages count from 1.
        index: usize,
        /// What kind it is.
        kind: FeatureKind,
    },
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Base(kind) => write!(f, "the {kind}"),
            Self::Feature { index, kind } => write!(f, "feature {} ({kind})", index + 1),
        }
    }
}

/// One of the holes of a feature, for messages: silent when the feature has only one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HoleNumber {
    /// Which hole, from 0. Messages count from 1.
    pub number: u32,
    /// How many the feature has.
    pub of: u32,
}

impl fmt::Display for HoleNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.of > 1 { write!(f, ", hole {} of {}", self.number + 1, self.of) } else { Ok(()) }
    }
}

/// A fault of a pattern. Lengths in mm. Corners and sides count from 0 as data and from 1 in messages; side `i` runs
/// from corner `i` to the next.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PatternError {
    /// A size that is not finite, or not from [`SMALLEST_LENGTH`] to [`LARGEST_LENGTH`].
    #[error(
        "{subject}: the {what} is {value} mm; it must be more than 0 (at least {SMALLEST_LENGTH} mm) and at most 100 m"
    )]
    Size {
        /// Whose.
        subject: Subject,
        /// Which size.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A coordinate or dimension that is not finite or beyond [`LARGEST_LENGTH`].
    #[error("{subject}: the {what} is {value} mm; it must lie within 100 m of zero")]
    Coordinate {
        /// Whose.
        subject: Subject,
        /// Which one.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// An angle that is not finite, or so large that its last digit is worth degrees.
    #[error("{subject}: the {what} is {value}°; it must lie within a million degrees of zero")]
    Angle {
        /// Whose.
        subject: Subject,
        /// Which one.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// No holes at all, or more than [`MOST_HOLES`].
    #[error("{subject}: the count is {count}; it must be 1 to {MOST_HOLES}")]
    Count {
        /// Whose.
        subject: Subject,
        /// What was given.
        count: u32,
    },
    /// More holes over all than [`MOST_OPENINGS`].
    #[error("the pattern has {found} holes, slots and cutouts; at most {MOST_OPENINGS} are allowed")]
    TooManyOpenings {
        /// How many there are.
        found: usize,
    },
    /// A row of one hole with a distance from its first to its last.
    #[error("{subject}: the row has one hole, yet the distance from the first to the last is {overall} mm")]
    RowOfOne {
        /// Whose.
        subject: Subject,
        /// The distance given.
        overall: f64,
    },
    /// A polygon of fewer than three corners, or more than [`MOST_CORNERS`].
    #[error("the polygon has {found} corners; it must have 3 to {MOST_CORNERS}")]
    CornerCount {
        /// How many it has.
        found: usize,
    },
    /// Two neighbouring corners of a polygon in one place.
    #[error("the polygon: corners {} and {} are both at ({}, {})", .first + 1, .second + 1, .at.x, .at.y)]
    RepeatedCorner {
        /// The first of the two.
        first: usize,
        /// The one after it.
        second: usize,
        /// Where they are.
        at: Point,
    },
    /// Two sides of a polygon cross, touch or run back over each other.
    #[error("the polygon: sides {} and {} meet at ({:.3}, {:.3}), where they should not", .first + 1, .second + 1, .at.x, .at.y)]
    SelfCrossing {
        /// One side.
        first: usize,
        /// The other.
        second: usize,
        /// Where they meet.
        at: Point,
    },
    /// The outline crosses itself once its corners are rounded: a radius sweeps over another side.
    #[error("{subject}: with its corners made, the outline meets itself at ({:.3}, {:.3})", .at.x, .at.y)]
    RoundedSelfCrossing {
        /// Whose.
        subject: Subject,
        /// Where.
        at: Point,
    },
    /// Radii or chamfers at both ends of a side need more of it than there is.
    #[error(
        "{subject}: corners {} and {} take {needed:.3} mm off the side between them, which is {available:.3} mm long",
        .corners.0 + 1, .corners.1 + 1
    )]
    CornersExceedSide {
        /// Whose.
        subject: Subject,
        /// The corners at the ends of the side.
        corners: (usize, usize),
        /// What they take off it.
        needed: f64,
        /// Its length.
        available: f64,
    },
    /// A slot shorter than it is wide.
    #[error("{subject}: the slot is {length} mm long over all but {width} mm wide; it must be at least as long")]
    SlotTooShort {
        /// Whose.
        subject: Subject,
        /// Length over all.
        length: f64,
        /// Width.
        width: f64,
    },
    /// A ring whose bore is not smaller than its outside.
    #[error("the ring: the inner diameter is {inner} mm; it must be less than the outer diameter of {outer} mm")]
    RingInside {
        /// Bore.
        inner: f64,
        /// Outside.
        outer: f64,
    },
    /// A strip of an L, or a nose flat, that leaves nothing of the leg it stands on.
    #[error("{subject}: the {what} is {found} mm; it must be less than the {limit_name} of {limit} mm")]
    LegUsedUp {
        /// Whose.
        subject: Subject,
        /// What is too large.
        what: &'static str,
        /// How large it is.
        found: f64,
        /// What it must be less than, by name.
        limit_name: &'static str,
        /// How much that is.
        limit: f64,
    },
    /// A feature larger than its part.
    #[error("{subject}: it is {found:.3} mm {direction} but the part is only {available:.3} mm {direction}")]
    LargerThanPart {
        /// Whose.
        subject: Subject,
        /// "wide" or "high".
        direction: &'static str,
        /// Extent of the feature.
        found: f64,
        /// Extent of the part.
        available: f64,
    },
    /// A hole that lies wholly where there is no metal.
    #[error("{subject}{hole}: its middle ({:.3}, {:.3}) lies outside the part or in a hole of it", .center.x, .center.y)]
    Outside {
        /// Whose.
        subject: Subject,
        /// Which of its holes.
        hole: HoleNumber,
        /// The middle of the hole.
        center: Point,
    },
    /// A hole that touches or breaks through an edge of the part.
    #[error(
        "{subject}{hole}: it breaks through the edge: its middle is {found:.3} mm from the edge and it reaches {wanted:.3} mm \
         that way"
    )]
    BreaksThrough {
        /// Whose.
        subject: Subject,
        /// Which of its holes.
        hole: HoleNumber,
        /// Distance of the middle of the hole from the edge.
        found: f64,
        /// What that distance must exceed.
        wanted: f64,
    },
    /// Two holes that touch or overlap, of one feature or of two.
    #[error(
        "{subject}{hole} overlaps {other}{other_hole}: their middles are {found:.3} mm apart and they reach {wanted:.3} mm \
         towards each other"
    )]
    Overlap {
        /// The first feature.
        subject: Subject,
        /// Which of its holes.
        hole: HoleNumber,
        /// The second feature; the first again when its own holes overlap.
        other: Subject,
        /// Which of its holes.
        other_hole: HoleNumber,
        /// Distance of the two middles.
        found: f64,
        /// What that distance must exceed.
        wanted: f64,
    },
}
