//! The frame of a flat part, in which everything about it is told.

use dropwise_geometry::{Isometry, Point, Shape, Vector};

/// Where x = 0 and y = 0 of a flat part lie: the lower left corner of the box around it, x to the right and y up, mm,
/// seen from the side that faces up.
///
/// This is the only place that says so. Parts are brought into it once, when a bent part is laid flat and when a job is
/// read; flat patterns, checks, reports, cut sheets, mark-out tables, templates, cutting files and plans then share it.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Outline, Point, Shape};
/// use dropwise_shop::PartFrame;
/// let drawn = Shape::new(Outline::rectangle(Point::new(-3.5, 7.0), 60.0, 40.0), Vec::new());
/// let frame = PartFrame::of(&drawn);
/// assert_eq!(frame.read(Point::new(0.0, 27.0)), Point::new(3.5, 20.0));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartFrame {
    corner: Point,
}

/// A corner this near to the origin lies on it, mm: arcs leave so much of rounding.
const ROUNDING: f64 = 1e-9;

impl PartFrame {
    /// The frame in words, for pages and files.
    pub const IN_WORDS: &'static str = "from the lower left corner of the box around the flat pattern, x to the right and y up, seen from the side that \
         faces up";

    /// The frame of a part that may lie anywhere.
    #[must_use]
    pub fn of(shape: &Shape) -> Self {
        let corner = shape.bounds().min;
        let whole = |value: f64| if value.abs() < ROUNDING { 0.0 } else { value };
        Self { corner: Point::new(whole(corner.x), whole(corner.y)) }
    }

    /// A point of the part, given in the coordinates of its shape, in the frame.
    #[must_use]
    pub fn read(self, point: Point) -> Point {
        point + self.shift()
    }

    /// What brings the part's own coordinates into the frame.
    #[must_use]
    pub fn shift(self) -> Vector {
        Point::ORIGIN - self.corner
    }

    /// The same as a move.
    #[must_use]
    pub fn isometry(self) -> Isometry {
        let shift = self.shift();
        Isometry::new(false, 0.0, shift.x, shift.y)
    }

    /// Whether the part lies in its frame already.
    #[must_use]
    pub fn is_identity(self) -> bool {
        self.corner == Point::ORIGIN
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::Outline;

    #[test]
    fn a_part_brought_into_its_frame_stays_in_it() {
        let shape = Shape::new(Outline::circle(Point::new(-7.3, 12.9), 41.7), Vec::new());
        let moved = shape.transformed(PartFrame::of(&shape).isometry());
        assert!(moved.bounds().min.distance(Point::ORIGIN) < 1e-12);
        assert!(!PartFrame::of(&shape).is_identity());
    }
}
