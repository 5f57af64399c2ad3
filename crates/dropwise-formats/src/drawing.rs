//! What a drawing file holds once it is read: shapes to cut, with their bend and mark lines, and notes on the rest.
//!
//! DXF and SVG share everything after their own syntax: layers ([`LayerTable`]), chaining of loose lines, the checks of
//! the loops, and which loop is a hole of which. Each outer loop is a part, loops within it are its holes, and an island
//! within a hole is a part again.

mod assemble;
mod colours;
mod crossings;
mod edges;
mod faces;
mod frames;
mod layers;
mod loops;
mod notes;
mod picture;
mod report;
mod rules;
mod sizes;
mod sketch;
mod words;

pub use colours::{Colour, ColourChoice};
pub use layers::{LayerTable, LayerUse};
pub(crate) use notes::Coordinates;
pub use notes::{Doubt, Note, NoteKind, OpenHint, Place, Severity, SizeInUnit, Spot};
pub use picture::picture;
pub(crate) use rules::LineLook;
pub use rules::LineRules;
pub use sizes::{DrawingUnit, NoDrawingUnit};
pub(crate) use sizes::{Reading, UnitSource, at_true_width};
pub(crate) use sketch::{Sketch, Source};

use dropwise_geometry::{Outline, Segment, Shape, Unit};

/// What the words of a name say that a line is for.
pub(crate) fn word_use(name: &str) -> Option<LayerUse> {
    words::meaning(name).map(|meaning| meaning.line_use)
}

/// Whether a name is one of writing, such as a title block's.
pub(crate) fn is_of_writing(name: &str) -> bool {
    words::meaning(name).is_some_and(|meaning| meaning.line_use == LayerUse::Ignore && !meaning.is_weak)
}

/// A drawing file, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// The parts, in the order in which the file first draws a line of each. Lengths are millimetres.
    pub shapes: Vec<DrawnShape>,
    /// What was assumed, left out, mended or looks wrong.
    pub notes: Vec<Note>,
    /// Lines that were left out, or that no part could be made of, for a picture of what was understood.
    pub left_out: Vec<Segment>,
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
    /// Loops on damage layers that lie on it or across its edge; only where stock is drawn.
    pub damage: Vec<Outline>,
}

/// What becomes of the outermost loops when loops within them have loops of their own: sheet frames, borders, pages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FrameUse {
    /// A bare rectangle around everything, alone on a layer that is not named for cutting, is left out with a warning;
    /// others are cut with one.
    #[default]
    Guess,
    /// They are parts.
    Cut,
    /// They are left out.
    LeaveOut,
}

/// How to read a drawing.
#[derive(Clone, Debug)]
pub struct DrawingOptions {
    /// The file's name, for messages.
    pub file: String,
    /// The drawing's unit, whatever the file says. For SVG: the length of one user unit.
    pub unit: Option<DrawingUnit>,
    /// True extent in x of all outlines together, mm, whatever the file says of units.
    pub true_width: Option<f64>,
    /// The unit of a DXF file that names none. SVG has a rule for that: one user unit is 1/96 inch.
    pub default_unit: Unit,
    /// How thick the sheet is, mm, where it is known: holes far smaller than that hint at a wrong unit.
    pub thickness: Option<f64>,
    /// Ends that miss each other by up to this are joined, at their mean; mm.
    pub join_tolerance: f64,
    /// Ellipses, splines and Bézier curves are replaced by arcs that stay this close; mm.
    pub curve_tolerance: f64,
    /// What the lines of each layer, colour and line type are for.
    pub rules: LineRules,
    /// A drawing whose parts are all smaller than this, by their longer side, is suspected of a wrong unit; mm.
    pub suspiciously_small: f64,
    /// A part whose longer side is above this is suspected of a wrong unit; mm.
    pub suspiciously_large: f64,
    /// What open lines on cut layers are for. When `None`, they are errors.
    pub open_lines: Option<LayerUse>,
    /// Whether to leave out loops that cannot be cut, with a warning. Otherwise they are errors.
    pub skips_faulty: bool,
    /// Whether to leave out what is not understood on or in a part, with a warning. Otherwise it is an error.
    pub skips_unknown: bool,
    /// What becomes of frames.
    pub frame: FrameUse,
    /// Whether lines that end on other lines divide the outline into parts that share an edge.
    pub splits_shared: bool,
    /// The only part that is wanted, counted from 1: faults elsewhere are warnings.
    pub only_piece: Option<usize>,
    /// Whether stock is drawn, not parts: layers named for damage are damage.
    pub is_stock: bool,
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
            true_width: None,
            thickness: None,
            default_unit: Unit::Millimetre,
            join_tolerance: 0.05,
            curve_tolerance: 0.01,
            rules: LineRules::default(),
            suspiciously_small: 15.0,
            suspiciously_large: 5_000.0,
            open_lines: None,
            skips_faulty: false,
            skips_unknown: false,
            frame: FrameUse::Guess,
            splits_shared: false,
            only_piece: None,
            is_stock: false,
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
