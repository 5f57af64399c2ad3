//! What a reader has to say about a drawing, each with its place and its cure.

use std::fmt;
use std::sync::Arc;

use dropwise_geometry::{Fault, Point, Unit};

use super::LayerUse;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing: something was assumed, mended or left out as usual.
    Info,
    /// The result may not be what was meant.
    Warning,
    /// The drawing cannot be cut as it is.
    Error,
}

/// Where in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// A line of a text file, counted from 1.
    Line(usize),
    /// A byte of a binary file, counted from 0.
    Byte(usize),
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line(line) => write!(f, "line {line}"),
            Self::Byte(byte) => write!(f, "byte {byte}"),
        }
    }
}

/// The place of an entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name of the file.
    pub file: Arc<str>,
    /// Where its entity begins.
    pub spot: Spot,
    /// Its layer; empty when it has none.
    pub layer: Arc<str>,
    /// Where on the drawing, mm.
    pub at: Option<Point>,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}", self.file, self.spot)?;
        if !self.layer.is_empty() {
            write!(f, ", layer \"{}\"", self.layer)?;
        }
        if let Some(at) = self.at {
            write!(f, ", at {} mm", Coordinates(at))?;
        }
        Ok(())
    }
}

struct Coordinates(Point);

impl fmt::Display for Coordinates {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A thousandth finds any spot on a drawing; the sum turns -0 into 0.
        let round = |value: f64| (value * 1000.0).round() / 1000.0 + 0.0;
        write!(f, "({}, {})", round(self.0.x), round(self.0.y))
    }
}

/// One thing to say.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// How bad it is.
    pub severity: Severity,
    /// What it is.
    pub kind: NoteKind,
    /// Where, if it is in one place.
    pub place: Option<Place>,
}

impl Note {
    pub(crate) fn new(severity: Severity, kind: NoteKind, place: Option<Place>) -> Self {
        Self { severity, kind, place }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        self.kind.fmt(f)
    }
}

/// What a [`Note`] says.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum NoteKind {
    /// The file names no unit.
    UnitAssumed {
        /// What was taken.
        unit: &'static str,
        /// What the file hints at, if it hints at something else.
        hint: Option<&'static str>,
    },
    /// The caller's unit is not the file's.
    UnitOverridden {
        /// The caller's.
        told: Unit,
        /// What the file says.
        file: &'static str,
    },
    /// Texts, dimensions and the like.
    LeftOut {
        /// Kind of entity and how many, by name.
        counts: Vec<(String, usize)>,
    },
    /// Entities that may be metal but are not understood.
    NotUnderstood {
        /// Kind of entity.
        entity: String,
        /// How many.
        count: usize,
        /// What to do about it.
        cure: &'static str,
    },
    /// A layer neither the caller nor the words of the trade know. It was cut.
    UnknownLayer {
        /// Its name.
        layer: String,
        /// Entities on it.
        count: usize,
    },
    /// A layer that is switched off or meant to be ignored.
    LayerLeftOut {
        /// Its name.
        layer: String,
        /// Entities on it.
        count: usize,
        /// Whether the drawing hides it; otherwise its name is one to ignore.
        is_hidden: bool,
    },
    /// Lines drawn twice, removed.
    DuplicatesRemoved {
        /// How many.
        count: usize,
    },
    /// Ends that missed each other, joined.
    EndsJoined {
        /// At how many places.
        count: usize,
        /// The widest gap, mm.
        widest: f64,
    },
    /// A contour that does not close.
    OpenContour {
        /// Its loose ends.
        ends: [Point; 2],
        /// From one loose end to the nearest other end that is loose too, its own or another contour's, mm.
        gap: f64,
        /// Length along it, mm.
        length: f64,
    },
    /// A loop that crosses or touches itself, or runs back along its own line.
    SelfCrossing,
    /// Two loops that cross each other.
    LoopsCross {
        /// Where the other one is drawn.
        other: Spot,
    },
    /// A loop around nothing.
    ZeroArea,
    /// Larger than a part usually is.
    SuspiciouslyLarge {
        /// Width and height, mm.
        size: [f64; 2],
    },
    /// Smaller than a part usually is.
    SuspiciouslySmall {
        /// Width and height, mm.
        size: [f64; 2],
    },
    /// A bend or mark line outside every part.
    StrayLine {
        /// Bend or mark.
        layer_use: LayerUse,
        /// How many.
        count: usize,
    },
    /// Something outside the file, or a program within it, that was not followed.
    NotFollowed {
        /// What.
        what: String,
        /// How many.
        count: usize,
    },
    /// Loops within loops beyond any real part.
    NestedTooDeep,
    /// Another fault of the part's rings, found when it was put together.
    NotSound(Fault),
    /// So many lines lie across each other that they were not checked.
    Tangled,
    /// More faults of the same sort than are worth listing.
    MoreFaults {
        /// How many more.
        count: usize,
    },
    /// The loop was left out, as the options ask for faulty ones.
    FaultyLeftOut(Box<NoteKind>),
}

impl fmt::Display for NoteKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plural = |count: usize| if count == 1 { "" } else { "s" };
        match self {
            Self::UnitAssumed { unit, hint: None } => {
                write!(f, "the file names no unit; {unit} assumed. Name the unit if that is wrong")
            }
            Self::UnitAssumed { unit, hint: Some(hint) } => {
                write!(f, "the file names no unit but hints at {hint}; {unit} assumed. Name the unit if that is wrong")
            }
            Self::UnitOverridden { told, file } => {
                write!(f, "read in {} as told, though the file says {file}", told.symbol())
            }
            Self::LeftOut { counts } => {
                write!(f, "left out: ")?;
                for (index, (name, count)) in counts.iter().enumerate() {
                    write!(f, "{}{count} {name}", if index == 0 { "" } else { ", " })?;
                }
                Ok(())
            }
            Self::NotUnderstood { entity, count, cure } => write!(f, "{count} {entity} left out: {cure}"),
            Self::UnknownLayer { layer, count } => write!(
                f,
                "layer \"{layer}\" ({count} line{}) is cut; say what it is for if it is not: cut, bend, mark or ignore",
                plural(*count)
            ),
            Self::LayerLeftOut { layer, count, is_hidden } => write!(
                f,
                "layer \"{layer}\" ({count} line{}) left out: {}",
                plural(*count),
                if *is_hidden {
                    "it is switched off or frozen. Switch it on to have it read"
                } else {
                    "it is one to ignore. Say what it is for if that is wrong: cut, bend or mark"
                }
            ),
            Self::DuplicatesRemoved { count } => {
                write!(f, "{count} line{} drawn twice in the same place; kept once", plural(*count))
            }
            Self::EndsJoined { count, widest } => {
                write!(f, "gaps closed at {count} corner{}, the widest {widest:.3} mm", plural(*count))
            }
            Self::OpenContour { ends, gap, length } => write!(
                f,
                "this contour of {length:.1} mm is open: it starts at {} and ends at {}, with {gap:.3} mm to the nearest \
                 loose end. Close it in the drawing, raise the join tolerance above the gap, or put the line on a layer \
                 that is not cut",
                Coordinates(ends[0]),
                Coordinates(ends[1])
            ),
            Self::SelfCrossing => {
                f.write_str("the outline crosses or touches itself here. Trim the lines at the crossing")
            }
            Self::LoopsCross { other } => write!(
                f,
                "this loop crosses the one drawn at {other}. Move them apart, or join them into one outline"
            ),
            Self::ZeroArea => f.write_str("the loop encloses nothing. Remove it, or draw it with its true width"),
            Self::SuspiciouslyLarge { size: [width, height] } => write!(
                f,
                "this part is {width:.0} x {height:.0} mm, very large. If that is wrong, name the drawing's unit"
            ),
            Self::SuspiciouslySmall { size: [width, height] } => write!(
                f,
                "this part is {width:.3} x {height:.3} mm, very small. If that is wrong, name the drawing's unit"
            ),
            Self::StrayLine { layer_use, count } => write!(
                f,
                "{count} {} line{} outside every part, left out. Move them on to their part",
                if *layer_use == LayerUse::Bend { "bend" } else { "mark" },
                plural(*count)
            ),
            Self::NotFollowed { what, count } => write!(f, "{count} {what} ignored; nothing outside the drawing is read"),
            Self::NestedTooDeep => f.write_str("loops lie within loops too deep to be a part. Remove the inner ones"),
            Self::NotSound(fault) => write!(f, "this part is not sound: {fault}. Redraw that place"),
            Self::Tangled => f.write_str(
                "more lines lie across each other than can be checked. Remove hatching and pictures from the cut layers",
            ),
            Self::MoreFaults { count } => write!(f, "and {count} more fault{}", plural(*count)),
            Self::FaultyLeftOut(fault) => write!(f, "left out: {fault}"),
        }
    }
}
