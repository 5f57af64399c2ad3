//! Holes of a part in which others may lie, as convex rooms.

use dropwise_geometry::{Point, Polygon, Vector, convex_hull};

use crate::overlap::hull::Planes;
use crate::shapes::half_plane::HalfPlane;
use crate::shapes::idle_holes::Least;

/// A hole counts as convex if it falls short of its hull by no more than this many touches along half of its edge: what a
/// chain of rounded corners may.
const HOLLOW: f64 = 0.5;

/// A region of places has no sides shorter than this share of a touch.
const LEAST_SIDE: f64 = 0.05;

/// A convex hole of a shape.
#[derive(Clone, Debug)]
pub(crate) struct Pocket {
    /// Its corners, counter-clockwise.
    pub(crate) corners: Vec<Point>,
    /// Its sides, laid out for vector instructions.
    pub(crate) planes: Planes,
    /// What is larger in any way has no room in it.
    size: Least,
}

impl Pocket {
    /// The pockets of a polygon; `None` if it has a hole that is not convex.
    pub(crate) fn all_of(polygon: &Polygon, touch: f64) -> Option<Vec<Self>> {
        polygon.holes.iter().map(|hole| Self::new(hole, touch)).collect()
    }

    fn new(hole: &[Point], touch: f64) -> Option<Self> {
        let corners = convex_hull(hole);
        let area = |ring: &[Point]| Polygon::new(ring.to_vec(), Vec::new()).area().abs();
        let edge: f64 = sides(&corners).map(|(from, to)| from.distance(to)).sum();
        (area(&corners) - area(hole) <= HOLLOW * touch * edge).then(|| Self {
            planes: Planes::new(&half_planes(&corners).collect::<Vec<_>>()),
            size: Least::of_ring(&corners),
            corners,
        })
    }

    /// The half planes of which it is what they have in common.
    pub(crate) fn half_planes(&self) -> impl Iterator<Item = HalfPlane> + '_ {
        half_planes(&self.corners)
    }

    /// Whether something of this size may have room in it.
    pub(crate) fn may_hold(&self, size: Least) -> bool {
        !size.is_more_than(self.size)
    }

    /// The places of a guest's reference point, seen from the host's, at which it lies in the pocket, or out of it by no more
    /// than half a touch, so that a plug that just fits has a place; a convex polygon, empty if there are none. The guest is
    /// given by corners whose hull holds it.
    pub(crate) fn places(&self, guest: &[Point], touch: f64) -> Vec<Point> {
        let Some(&first) = guest.first() else { return Vec::new() };
        // No place is beyond those at which one corner lies in the pocket.
        let slack = 0.5 * touch;
        let reach = Vector::new(slack, slack);
        let mut places: Vec<Point> = convex_hull(
            &self
                .corners
                .iter()
                .flat_map(|&corner| {
                    let at = corner - first.to_vector();
                    [at - reach, at + reach, at + Vector::new(slack, -slack), at + Vector::new(-slack, slack)]
                })
                .collect::<Vec<_>>(),
        );
        for HalfPlane { normal, limit } in self.half_planes() {
            let out = |point: &Point| normal.dot(point.to_vector());
            let farthest = guest.iter().map(out).fold(f64::NEG_INFINITY, f64::max);
            places = behind(&places, HalfPlane { normal, limit: limit - farthest + slack });
        }
        // Of two corners all but on each other the side between them would point anywhere.
        places.dedup_by(|a, b| a.distance(*b) < LEAST_SIDE * touch);
        if places.first().zip(places.last()).is_some_and(|(a, b)| a.distance(*b) < LEAST_SIDE * touch) {
            places.pop();
        }
        places
    }
}

/// The half planes that a convex polygon, counter-clockwise, is made of.
fn half_planes(ring: &[Point]) -> impl Iterator<Item = HalfPlane> + '_ {
    sides(ring).filter_map(|(from, to)| {
        let normal = -(to - from).unit()?.left();
        Some(HalfPlane { normal, limit: normal.dot(from.to_vector()).max(normal.dot(to.to_vector())) })
    })
}

fn sides(ring: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))
}

/// What of a convex polygon, counter-clockwise, lies in a half plane.
fn behind(polygon: &[Point], HalfPlane { normal, limit }: HalfPlane) -> Vec<Point> {
    let beyond = |point: Point| normal.dot(point.to_vector()) - limit;
    let mut left = Vec::with_capacity(polygon.len() + 1);
    for (from, to) in sides(polygon) {
        let (before, after) = (beyond(from), beyond(to));
        if before <= 0.0 {
            left.push(from);
        }
        if (before < 0.0 && after > 0.0) || (before > 0.0 && after < 0.0) {
            left.push(from + (to - from) * (before / (before - after)));
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Vec<Point> {
        corners.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    fn rectangle(width: f64, height: f64) -> Vec<Point> {
        ring(&[(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])
    }

    fn pockets(hole: Vec<Point>) -> Option<Vec<Pocket>> {
        let hole = hole.into_iter().map(|p| p + Vector::new(10.0, 10.0)).rev().collect();
        Pocket::all_of(&Polygon::new(rectangle(100.0, 100.0), vec![hole]), 1e-6)
    }

    #[test]
    fn holes_that_are_not_convex_are_no_pockets() {
        assert_eq!(pockets(rectangle(30.0, 20.0)).map(|pockets| pockets.len()), Some(1));
        let corner_on_a_side = ring(&[(0.0, 0.0), (15.0, 1e-9), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)]);
        assert_eq!(pockets(corner_on_a_side).map(|pockets| pockets.len()), Some(1));
        let angle = ring(&[(0.0, 0.0), (30.0, 0.0), (30.0, 5.0), (5.0, 5.0), (5.0, 20.0), (0.0, 20.0)]);
        assert!(pockets(angle).is_none());
        let plain = Polygon::new(rectangle(1.0, 1.0), Vec::new());
        assert!(Pocket::all_of(&plain, 1e-6).is_some_and(|pockets| pockets.is_empty()));
    }

    #[test]
    fn a_guest_has_as_much_play_as_the_pocket_is_larger() {
        let pocket = pockets(rectangle(30.0, 20.0)).expect("convex").remove(0);
        let places = pocket.places(&rectangle(12.0, 15.0), 1e-9);
        let bounds = dropwise_geometry::Bounds::of(places.iter().copied());
        let (min, max) = (Point::new(10.0, 10.0), Point::new(28.0, 15.0));
        assert!(bounds.min.distance(min) < 1e-8 && bounds.max.distance(max) < 1e-8, "{bounds:?}");
        assert!(pocket.places(&rectangle(12.0, 20.1), 1e-9).len() < 3);
    }

    #[test]
    fn a_plug_that_just_fits_has_a_place() {
        let pocket = pockets(rectangle(30.0, 20.0)).expect("convex").remove(0);
        let places = pocket.places(&rectangle(30.0, 20.0), 1e-6);
        assert!(places.len() >= 3, "{places:?}");
        assert!(places.iter().all(|place| place.distance(Point::new(10.0, 10.0)) < 1e-6));
    }
}
