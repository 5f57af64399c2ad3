//! Holes that nothing can lie in need not be searched.

use dropwise_geometry::{Point, Polygon, convex_hull};

/// What a hole must be able to hold to matter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Least {
    /// Least distance of two parallel lines with the shape between them, mm.
    width: f64,
    /// mm².
    area: f64,
}

impl Least {
    /// Smaller in no way than any of these outlines; holes in them do not count.
    pub(crate) fn of<'a>(polygons: impl Iterator<Item = &'a Polygon>) -> Self {
        let nothing = Self { width: f64::INFINITY, area: f64::INFINITY };
        polygons.fold(nothing, |least, polygon| {
            let Self { width, area } = Self::of_ring(&polygon.exterior);
            Self { width: least.width.min(width), area: least.area.min(area) }
        })
    }

    /// Of one ring.
    pub(crate) fn of_ring(ring: &[Point]) -> Self {
        let area = Polygon::new(ring.to_vec(), Vec::new()).area().abs();
        Self { width: least_width(&convex_hull(ring)), area }
    }

    /// Whether none of what this was made of can lie in a hole: a shape inside another is no wider, and no larger.
    fn is_beyond(self, hole: &[Point]) -> bool {
        self.is_more_than(Self::of_ring(hole))
    }

    /// Whether nothing of the one size can lie in a room of the other.
    pub(crate) fn is_more_than(self, room: Self) -> bool {
        self.width > room.width || self.area > room.area
    }
}

/// A polygon without the holes in which nothing can lie.
pub(crate) fn without_idle_holes(polygon: &Polygon, least: Least) -> Polygon {
    let holes = polygon.holes.iter().filter(|hole| !least.is_beyond(hole)).cloned().collect();
    Polygon::new(polygon.exterior.clone(), holes)
}

/// Width of a convex polygon across its narrowest direction, which lies square to one of its edges.
fn least_width(hull: &[Point]) -> f64 {
    let across = |index: usize| {
        let (from, to) = (hull[index], hull[(index + 1) % hull.len()]);
        let normal = (to - from).unit()?.left();
        Some(hull.iter().map(|&p| normal.dot(p - from)).fold(0.0, f64::max))
    };
    (0..hull.len()).filter_map(across).reduce(f64::min).unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Vec<Point> {
        [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(|(x, y)| Point::new(x, y)).to_vec()
    }

    #[test]
    fn only_holes_that_can_hold_something_stay() {
        let strip = Polygon::new(
            [(0.0, 0.0), (30.0, 0.0), (30.0, 4.0), (0.0, 4.0)].map(|(x, y)| Point::new(x, y)).to_vec(),
            Vec::new(),
        );
        let hole = |side: f64| square(side).into_iter().rev().collect::<Vec<_>>();
        let plate = Polygon::new(square(100.0), vec![hole(3.9), hole(10.0), hole(20.0)]);
        let left = without_idle_holes(&plate, Least::of([&strip].into_iter()));
        // 4 mm do not go into 3.9, and 120 mm² not into 100.
        assert_eq!(left.holes, vec![hole(20.0)]);
        assert!(without_idle_holes(&plate, Least::of(std::iter::empty())).holes.is_empty());
    }

    #[test]
    fn a_triangle_is_as_wide_as_its_least_height() {
        let triangle = [(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)].map(|(x, y)| Point::new(x, y));
        assert!((least_width(&triangle) - 2.4).abs() < 1e-12);
    }
}
