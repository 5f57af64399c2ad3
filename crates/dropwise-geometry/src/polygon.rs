//! Regions with straight edges.

use crate::{Bounds, Isometry, Outline, Point};

/// A region with straight edges: an exterior ring less some holes. Rings are not closed by a repeated point.
///
/// Made by [`crate::Shape`]'s flattening, by offsets and by booleans; there the exterior runs counter-clockwise and
/// holes clockwise. Fields are open because a polygon promises nothing more than its points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polygon {
    /// The outer ring.
    pub exterior: Vec<Point>,
    /// The holes.
    pub holes: Vec<Vec<Point>>,
}

impl Polygon {
    /// A polygon, its rings turned counter-clockwise outside and clockwise inside.
    #[must_use]
    pub fn new(exterior: Vec<Point>, holes: Vec<Vec<Point>>) -> Self {
        let turned = |mut ring: Vec<Point>, ccw: bool| {
            if (signed_area(&ring) > 0.0) != ccw {
                ring.reverse();
            }
            ring
        };
        Self { exterior: turned(exterior, true), holes: holes.into_iter().map(|hole| turned(hole, false)).collect() }
    }

    /// All rings, the exterior first.
    pub fn rings(&self) -> impl Iterator<Item = &[Point]> {
        std::iter::once(self.exterior.as_slice()).chain(self.holes.iter().map(Vec::as_slice))
    }

    /// Area of the exterior less that of the holes.
    #[must_use]
    pub fn area(&self) -> f64 {
        signed_area(&self.exterior).abs() - self.holes.iter().map(|h| signed_area(h).abs()).sum::<f64>()
    }

    /// The smallest box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        Bounds::of(self.exterior.iter().copied())
    }

    /// Moved by an isometry; a mirrored polygon's rings keep their directions.
    #[must_use]
    pub fn transformed(&self, by: Isometry) -> Self {
        let moved = |ring: &Vec<Point>| {
            let mut ring: Vec<Point> = ring.iter().map(|&p| by.apply(p)).collect();
            if by.is_mirrored {
                ring.reverse();
            }
            ring
        };
        Self { exterior: moved(&self.exterior), holes: self.holes.iter().map(moved).collect() }
    }

    /// Whether a point lies in the region (even-odd over all rings). Points on an edge may fall either way.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        self.rings().filter(|ring| ring_contains(ring, point)).count() % 2 == 1
    }

    /// The exterior as an outline of straight lines.
    #[must_use]
    pub fn to_outline(&self) -> Outline {
        Outline::polygon(self.exterior.iter().copied())
    }
}

/// Area of a ring, positive when it runs counter-clockwise.
pub(crate) fn signed_area(ring: &[Point]) -> f64 {
    let Some(&origin) = ring.first() else { return 0.0 };
    ring.windows(2).map(|w| (w[0] - origin).cross(w[1] - origin)).sum::<f64>() / 2.0
}

fn ring_contains(ring: &[Point], point: Point) -> bool {
    let mut inside = false;
    let mut previous = match ring.last() {
        Some(&last) => last,
        None => return false,
    };
    for &corner in ring {
        if (corner.y > point.y) != (previous.y > point.y)
            && point.x < (previous.x - corner.x) * (point.y - corner.y) / (previous.y - corner.y) + corner.x
        {
            inside = !inside;
        }
        previous = corner;
    }
    inside
}
