//! What can be wrong with an SVG file.

use dropwise_geometry::Point;

use crate::drawing::{Drawing, Note, OptionError, Severity, Spot};
use crate::dxf::{in_line, list};

/// An SVG file that cannot be read, or a drawing in it that cannot be cut.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SvgError {
    /// A setting makes no sense.
    #[error(transparent)]
    Options(#[from] OptionError),
    /// Beyond the limit on bytes.
    #[error("{file}: {bytes} bytes; at most {limit} are read. Remove what is not to be cut, or raise the limit")]
    TooLarge {
        /// Name of the file.
        file: String,
        /// Its size.
        bytes: usize,
        /// The limit.
        limit: usize,
    },
    /// Not well-formed XML.
    #[error("{file}, {spot}, column {column}: not valid XML: {reason}. Save the drawing again as plain SVG")]
    Xml {
        /// Name of the file.
        file: String,
        /// Where.
        spot: Spot,
        /// Where in the line, counted from 1.
        column: u32,
        /// What the XML parser says.
        reason: String,
    },
    /// It defines entities.
    #[error(
        "{file}, {spot}: this entity stands for more than a short plain text and is not read. Save the drawing again as plain SVG"
    )]
    Entities {
        /// Name of the file.
        file: String,
        /// Where.
        spot: Spot,
    },
    /// The picture cannot be shown.
    #[error("{file}: the picture cannot be shown: {reason}. Save the drawing again as plain SVG")]
    NotShown {
        /// Name of the file.
        file: String,
        /// What the library for pictures says.
        reason: String,
    },
    /// XML of another kind.
    #[error("{file}: its outermost element is <{found}>, so this is not an SVG drawing. It should be <svg>")]
    NotSvg {
        /// Name of the file.
        file: String,
        /// What it is.
        found: String,
    },
    /// An attribute of the wrong kind.
    #[error("{file}, {spot}: {attribute}=\"{text}\" of <{element}> should be {expected}")]
    BadAttribute {
        /// Name of the file.
        file: String,
        /// Where the element begins.
        spot: Spot,
        /// The element.
        element: String,
        /// The attribute.
        attribute: &'static str,
        /// What it holds.
        text: String,
        /// What it should hold.
        expected: &'static str,
    },
    /// A `use` of something that is not there.
    #[error("{file}, {spot}: <use> of \"{target}\", which is not in the file")]
    UnknownTarget {
        /// Name of the file.
        file: String,
        /// Where the element begins.
        spot: Spot,
        /// What it asks for.
        target: String,
    },
    /// A `use` of something that holds it.
    #[error("{file}, {spot}: <use> of \"{target}\" within itself. Remove it")]
    UseWithinItself {
        /// Name of the file.
        file: String,
        /// Where the element begins.
        spot: Spot,
        /// What it asks for.
        target: String,
    },
    /// Groups within groups beyond the limit.
    #[error("{file}, {spot}: groups within groups more than {limit} deep. Ungroup the inner ones")]
    TooDeep {
        /// Name of the file.
        file: String,
        /// The element that went beyond it.
        spot: Spot,
        /// The limit.
        limit: usize,
    },
    /// More elements than the limit.
    #[error(
        "{file}, {spot}: more than {limit} elements, those of <use> counted each time. Remove what is not to be cut"
    )]
    TooManyEntities {
        /// Name of the file.
        file: String,
        /// The element that went beyond it.
        spot: Spot,
        /// The limit.
        limit: usize,
    },
    /// More lines and arcs than the limit.
    #[error("{file}, {spot}: more than {limit} lines and arcs once curves are replaced. Raise the curve tolerance")]
    TooManyPieces {
        /// Name of the file.
        file: String,
        /// The element that went beyond it.
        spot: Spot,
        /// The limit.
        limit: usize,
    },
    /// An element beyond any sheet.
    #[error("{file}, {spot}: a point at ({}, {}) mm is farther from the origin than 10 km. Move the drawing there, or check its unit", at.x, at.y)]
    TooFar {
        /// Name of the file.
        file: String,
        /// The element.
        spot: Spot,
        /// The point.
        at: Point,
    },
    /// No closed loop that is to be cut.
    #[error("{file}: nothing to cut in it{}", in_line(notes))]
    NothingToCut {
        /// Name of the file.
        file: String,
        /// What was left out.
        notes: Vec<Note>,
        /// What was understood.
        understood: Box<Drawing>,
    },
    /// Loops that cannot be cut, with all that was noted.
    #[error("{file}: the drawing cannot be cut as it is{}", list(notes, Severity::Error))]
    Faulty {
        /// Name of the file.
        file: String,
        /// Everything noted, faults and the rest.
        notes: Vec<Note>,
        /// What was understood all the same.
        understood: Box<Drawing>,
    },
}
