//! What a drawing file holds once it is read: shapes to cut, with their bend and mark lines, and notes on the rest.
//!
//! DXF and SVG share everything after their own syntax: layers ([`LayerTable`]), chaining of loose lines, the checks of
//! the loops, and which loop is a hole of which. Each outer loop is a part, loops within it are its holes, and an island
//! within a hole is a part again.

mod assemble;
mod crossings;
mod layers;
mod notes;
mod sketch;

pub use layers::{LayerTable, LayerUse};
pub use notes::{Note, NoteKind, Place, Severity, Spot};
pub(crate) use sketch::{Sketch, Source};

use dropwise_geometry::{Segment, Shape, Unit};

/// A drawing file, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// The parts, in the order in which the file first draws a line of each. Lengths are millimetres.
    pub shapes: Vec<DrawnShape>,
    /// What was assumed, left out, mended or looks wrong.
    pub notes: Vec<Note>,
}

/// One part of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnShape {
    /// Its outline and holes, where the drawing has them. Arcs are arcs; other curves are chains of arcs.
    pub shape: Shape,
    /// Words that may name it: the block it was inserted from, its id, texts written on it. In the file's order.
    pub labels: Vec<String>,
    /// Layer of its outer loop; in an SVG file the group. Empty when it has none.
    pub layer: String,
    /// Where the file draws its outer loop.
    pub place: Place,
    /// Lines on bend layers that lie on it.
    pub bend_lines: Vec<Segment>,
    /// Lines on mark layers that lie on it.
    pub mark_lines: Vec<Segment>,
}

/// How to read a drawing.
#[derive(Clone, Debug)]
pub struct DrawingOptions {
    /// The file's name, for messages.
    pub file: String,
    /// The drawing's unit, whatever the file says. For SVG: the length of one user unit.
    pub unit: Option<Unit>,
    /// The unit of a DXF file that names none. SVG has a rule for that: one user unit is 1/96 inch.
    pub default_unit: Unit,
    /// Ends that miss each other by up to this are joined, at their mean; mm.
    pub join_tolerance: f64,
    /// Ellipses, splines and Bézier curves are replaced by arcs that stay this close; mm.
    pub curve_tolerance: f64,
    /// What each layer is for.
    pub layers: LayerTable,
    /// A part whose longer side is below this is suspected of a wrong unit; mm.
    pub suspiciously_small: f64,
    /// A part whose longer side is above this is suspected of a wrong unit; mm.
    pub suspiciously_large: f64,
    /// Whether to leave out open contours and other faulty loops with a warning. Otherwise they are errors.
    pub skips_faulty: bool,
    /// Guards against hostile files.
    pub limits: DrawingLimits,
}

/// Most that a drawing may hold. The defaults are far beyond what a shop draws, and small enough to be read in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DrawingLimits {
    /// Bytes of the file.
    pub file_bytes: usize,
    /// Entities, each counted as often as blocks and `use` elements repeat it.
    pub entities: usize,
    /// Blocks within blocks, or groups within groups.
    pub nesting: usize,
    /// Lines and arcs after curves are replaced.
    pub pieces: usize,
}

impl Default for DrawingLimits {
    fn default() -> Self {
        Self { file_bytes: 32 << 20, entities: 200_000, nesting: 32, pieces: 400_000 }
    }
}

impl Default for DrawingOptions {
    /// Millimetres where the file is silent, joins of 0.05 mm, curves within 0.01 mm.
    fn default() -> Self {
        Self {
            file: "drawing".to_owned(),
            unit: None,
            default_unit: Unit::Millimetre,
            join_tolerance: 0.05,
            curve_tolerance: 0.01,
            layers: LayerTable::default(),
            suspiciously_small: 1.0,
            suspiciously_large: 5_000.0,
            skips_faulty: false,
            limits: DrawingLimits::default(),
        }
    }
}

/// A setting of [`DrawingOptions`] that makes no sense.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OptionError {
    /// A tolerance out of range.
    #[error("{name} tolerance of {value} mm: it must lie between {SMALLEST_TOLERANCE} and {LARGEST_TOLERANCE} mm")]
    Tolerance {
        /// "join" or "curve".
        name: &'static str,
        /// What was asked for.
        value: f64,
    },
}

const SMALLEST_TOLERANCE: f64 = 1e-4;
const LARGEST_TOLERANCE: f64 = 10.0;

impl DrawingOptions {
    /// The defaults, with a file name for messages.
    #[must_use]
    pub fn for_file(file: &str) -> Self {
        Self { file: file.to_owned(), ..Self::default() }
    }

    pub(crate) fn check(&self) -> Result<(), OptionError> {
        for (name, value) in [("join", self.join_tolerance), ("curve", self.curve_tolerance)] {
            if !(SMALLEST_TOLERANCE..=LARGEST_TOLERANCE).contains(&value) {
                return Err(OptionError::Tolerance { name, value });
            }
        }
        Ok(())
    }
}

/// Coordinates beyond this, in millimetres, are no drawing of sheet metal, and would cost digits.
pub(crate) const FARTHEST: f64 = 1e7;
