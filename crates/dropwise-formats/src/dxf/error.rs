//! What can be wrong with a DXF file.

use dropwise_geometry::Point;

use crate::drawing::{Drawing, Note, OptionError, Severity, Spot};

/// A DXF file that cannot be read, or a drawing in it that cannot be cut.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DxfError {
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
    /// Something else than DXF.
    #[error("{file}: this is {found}, not a DXF file. Save the drawing as DXF (R12 to 2018)")]
    NotDxf {
        /// Name of the file.
        file: String,
        /// What it looks like.
        found: &'static str,
    },
    /// A line that should hold a group code does not.
    #[error(
        "{file}, {spot}: \"{text}\" where a group code (a whole number) should stand. A line may be missing or extra"
    )]
    BadCode {
        /// Name of the file.
        file: String,
        /// Where.
        spot: Spot,
        /// What stands there.
        text: String,
    },
    /// A value of the wrong kind.
    #[error("{file}, {spot}: \"{text}\" as the value of group {code} should be {expected}")]
    BadValue {
        /// Name of the file.
        file: String,
        /// Where.
        spot: Spot,
        /// Its group code.
        code: i32,
        /// What stands there.
        text: String,
        /// What should.
        expected: &'static str,
    },
    /// The file stops too early.
    #[error("{file}, {spot}: the file ends {within}; it was cut off. Copy or save it again")]
    CutOff {
        /// Name of the file.
        file: String,
        /// Where it ends.
        spot: Spot,
        /// What was not finished.
        within: String,
    },
    /// An entity lacks a value it cannot do without.
    #[error("{file}, {spot}: this {entity} has no {what} (group {code})")]
    Missing {
        /// Name of the file.
        file: String,
        /// Where the entity begins.
        spot: Spot,
        /// Its kind.
        entity: &'static str,
        /// Group code of what is missing.
        code: i32,
        /// In words.
        what: &'static str,
    },
    /// An entity that contradicts itself.
    #[error("{file}, {spot}: this {entity} is not valid: {reason}")]
    Invalid {
        /// Name of the file.
        file: String,
        /// Where the entity begins.
        spot: Spot,
        /// Its kind.
        entity: &'static str,
        /// What is wrong and what would be right.
        reason: &'static str,
    },
    /// A unit that no metal is drawn in.
    #[error(
        "{file}, {spot}: $INSUNITS is {value}, no unit for sheet metal. Set it to 4 (mm) or 1 (inches), or name the unit"
    )]
    UnknownUnit {
        /// Name of the file.
        file: String,
        /// Where.
        spot: Spot,
        /// Its number.
        value: i64,
    },
    /// An INSERT of a block that is not there.
    #[error("{file}, {spot}: block \"{name}\" is inserted but not in the file. Save the drawing with its blocks")]
    UnknownBlock {
        /// Name of the file.
        file: String,
        /// Where the INSERT begins.
        spot: Spot,
        /// The block asked for.
        name: String,
    },
    /// A block that holds itself.
    #[error("{file}, {spot}: block \"{name}\" is inserted within itself. Remove that INSERT")]
    BlockWithinItself {
        /// Name of the file.
        file: String,
        /// Where the INSERT begins.
        spot: Spot,
        /// The block.
        name: String,
    },
    /// Blocks within blocks beyond the limit.
    #[error("{file}, {spot}: blocks within blocks more than {limit} deep. Explode the inner ones")]
    TooDeep {
        /// Name of the file.
        file: String,
        /// Where the INSERT begins.
        spot: Spot,
        /// The limit.
        limit: usize,
    },
    /// More entities than the limit.
    #[error(
        "{file}, {spot}: more than {limit} entities, blocks counted as often as inserted. Remove what is not to be cut"
    )]
    TooManyEntities {
        /// Name of the file.
        file: String,
        /// The entity that went beyond it.
        spot: Spot,
        /// The limit.
        limit: usize,
    },
    /// More lines and arcs than the limit.
    #[error("{file}, {spot}: more than {limit} lines and arcs once curves are replaced. Raise the curve tolerance")]
    TooManyPieces {
        /// Name of the file.
        file: String,
        /// The entity that went beyond it.
        spot: Spot,
        /// The limit.
        limit: usize,
    },
    /// An entity beyond any sheet.
    #[error("{file}, {spot}: a point at ({}, {}) mm is farther from the origin than 10 km. Move the drawing there, or check its unit", at.x, at.y)]
    TooFar {
        /// Name of the file.
        file: String,
        /// The entity.
        spot: Spot,
        /// The point.
        at: Point,
    },
    /// No closed loop on any layer that is cut.
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

/// Notes of at least a severity, each on its line.
pub(crate) fn list(notes: &[Note], least: Severity) -> String {
    notes.iter().filter(|note| note.severity >= least).map(|note| format!("\n  {note}")).collect()
}

/// All notes in one line, as the end of a sentence.
pub(crate) fn in_line(notes: &[Note]) -> String {
    let said: Vec<String> = notes.iter().map(ToString::to_string).collect();
    if said.is_empty() { String::new() } else { format!(": {}", said.join("; ")) }
}
