//! Pictures in which every point of a mark-out table bears its number.
//!
//! A number is as large as any figure. Where a picture of all points is too crowded for that, it is drawn larger, and at last
//! in several parts.

mod blocks;
mod view;

use dropwise_geometry::{Point, Shape};

pub(super) use self::blocks::{Block, block};

/// A point of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureMark {
    /// Where it is.
    pub at: Point,
    /// Its number or letter in the table.
    pub name: String,
    /// Whether something is drilled or punched there: it is ringed.
    pub is_hole: bool,
}

/// A drawing of what is marked out, the datum at (0, 0) and the datum edge along x.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MarkPicture {
    /// The sheet, or nothing for a part by itself.
    pub sheet: Option<Shape>,
    /// The parts, each with its key; the key may be empty.
    pub parts: Vec<(Shape, String)>,
    /// Lines to scribe, and whether they are bend lines down.
    pub lines: Vec<([Point; 2], bool)>,
    /// The points.
    pub marks: Vec<PictureMark>,
}
