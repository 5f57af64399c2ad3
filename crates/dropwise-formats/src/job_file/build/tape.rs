//! Sheets measured with a tape.

use dropwise_geometry::Shape;

use super::context::At;
use crate::job_file::types::Tape;

/// The outline that sides and diagonals make.
pub(super) fn tape_outline(at: &At<'_>, _tape: &Tape) -> Option<Shape> {
    at.fault("TEMPORARY", "being joined");
    None
}
