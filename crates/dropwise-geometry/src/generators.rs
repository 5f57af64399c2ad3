//! Random shapes for property tests.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use proptest::prelude::*;

use crate::{Isometry, Outline, Point, Polygon, Shape, Vector, Vertex, convex_hull};

/// A star-shaped ring, counter-clockwise, about a centre; its corners are 1 to `reach` away from the centre, and no
/// two neighbours are half a turn apart, so that it never crosses itself.
fn star(corners: std::ops::Range<usize>, reach: f64) -> impl Strategy<Value = (Point, Vec<Point>)> {
    let corner = (0.0..0.8_f64, 0.0..1.0_f64);
    let center = (-1.0..1.0_f64, -1.0..1.0_f64);
    (center, prop::collection::vec(corner, corners)).prop_map(move |((x, y), corners)| {
        let center = Point::new(x * reach, y * reach);
        let count = corners.len() as f64;
        let ring = corners
            .iter()
            .enumerate()
            .map(|(i, &(jitter, far))| {
                center + Vector::from_angle((i as f64 + jitter) / count * TAU) * (1.0 + far * (reach - 1.0))
            })
            .collect();
        (center, ring)
    })
}

/// A simple polygon of 5 to 11 corners within 20 mm of the origin, with a hole about its middle half of the time.
pub(crate) fn polygon() -> impl Strategy<Value = Polygon> {
    (star(5..12, 10.0), any::<bool>(), 0.2..0.7_f64).prop_map(|((center, ring), has_hole, size)| {
        let hole = ring.iter().map(|&corner| center.lerp(corner, size)).collect();
        Polygon::new(ring, if has_hole { vec![hole] } else { vec![] })
    })
}

/// A simple ring with many corners: an outline as ragged as a torch leaves it.
pub(crate) fn ragged_polygon(corners: usize) -> impl Strategy<Value = Polygon> {
    star(corners..corners + 1, 500.0).prop_map(|(_, ring)| Polygon::new(ring, vec![]))
}

/// A convex polygon of at least three corners.
pub(crate) fn convex_polygon() -> impl Strategy<Value = Polygon> {
    prop::collection::vec((-50.0..50.0_f64, -50.0..50.0_f64), 3..20)
        .prop_map(|points| convex_hull(&points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>()))
        .prop_map(|hull| Polygon::new(hull, vec![]))
        .prop_filter("needs an area", |polygon| polygon.area() > 1.0)
}

/// Rectangles with corners on a grid of whole millimetres, so that edges coincide more often than not.
pub(crate) fn grid_rectangles(size: i32) -> impl Strategy<Value = Vec<[i32; 4]>> {
    let rectangle = (0..size, 0..size, 1..=size, 1..=size)
        .prop_map(move |(x, y, width, height)| [x, y, (x + width).min(size), (y + height).min(size)]);
    prop::collection::vec(rectangle, 1..7)
}

/// Any motion of the plane that keeps distances.
pub(crate) fn isometry() -> impl Strategy<Value = Isometry> {
    (any::<bool>(), 0.0..360.0_f64, -100.0..100.0_f64, -100.0..100.0_f64)
        .prop_map(|(is_mirrored, angle, x, y)| Isometry::new(is_mirrored, angle, x, y))
}

/// What is done to a corner.
#[derive(Clone, Copy, Debug)]
enum Corner {
    Sharp,
    /// Rounded by an arc tangent to both sides.
    Fillet,
    /// Replaced by an arc about the corner itself.
    Scoop,
}

/// A shape with arcs of both turns: a star-shaped ring whose corners are left sharp, rounded or scooped out, about a
/// round hole or none. Arcs keep so far from other parts that even tangents at quarter turns do not meet them.
pub(crate) fn shape() -> impl Strategy<Value = Shape> {
    let treatment = prop::sample::select(vec![Corner::Sharp, Corner::Fillet, Corner::Scoop]);
    let corners = prop::collection::vec((treatment, 0.2..1.0_f64), 12);
    (star(5..12, 40.0), corners, any::<bool>()).prop_map(|((center, ring), corners, has_hole)| {
        let n = ring.len();
        let sides: Vec<(Point, Point)> = (0..n).map(|i| (ring[i], ring[(i + 1) % n])).collect();
        let clearance = |point: Point, apart_from: &[usize]| {
            let others = (0..n).filter(|i| !apart_from.contains(i)).map(|i| distance_to_side(point, sides[i]));
            others.fold(f64::INFINITY, f64::min)
        };
        let mut vertices = Vec::new();
        for i in 0..n {
            let (before, corner, after) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            let (treatment, size) = corners[i];
            let (back, ahead) = (before - corner, after - corner);
            // A disc of this radius meets no other side, and leaves the middle to the hole.
            let room = clearance(corner, &[i, (i + n - 1) % n]).min(back.length()).min(ahead.length());
            let room = room.min(corner.distance(center));
            let cut = 0.33 * size * room;
            let (Some(back), Some(ahead)) = (back.unit(), ahead.unit()) else { continue };
            let turn = (-back).cross(ahead).atan2((-back).dot(ahead));
            let bulge = match treatment {
                Corner::Sharp => {
                    vertices.push(Vertex::line(corner));
                    continue;
                }
                Corner::Fillet => (turn / 4.0).tan(),
                // The arc about the corner from one side to the other turns against the corner.
                Corner::Scoop => -((PI - turn.abs()) / 4.0).tan() * turn.signum(),
            };
            vertices.push(Vertex::arc(corner + back * cut, bulge));
            vertices.push(Vertex::line(corner + ahead * cut));
        }
        let hole = Outline::circle(center, 0.35 * clearance(center, &[]));
        Shape::new(Outline::new(vertices), if has_hole { vec![hole] } else { vec![] })
    })
}

/// Distance from a point to a side, by the plainest formula: an oracle shares no code with what it checks.
pub(crate) fn distance_to_side(point: Point, (a, b): (Point, Point)) -> f64 {
    let along = b - a;
    let t = ((point - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    point.distance(a.lerp(b, t))
}

/// Distance from a point to a polygon's boundary.
pub(crate) fn distance_to_boundary(point: Point, polygon: &Polygon) -> f64 {
    let rings = polygon.rings().flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])));
    rings.map(|side| distance_to_side(point, side)).fold(f64::INFINITY, f64::min)
}

/// Points along a polygon's boundary: all corners, and some on every side.
pub(crate) fn boundary_samples(polygon: &Polygon, on_each_side: usize) -> Vec<Point> {
    let rings = polygon.rings().flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])));
    rings.flat_map(|(a, b)| (0..on_each_side).map(move |i| a.lerp(b, i as f64 / on_each_side as f64))).collect()
}

/// An arc's worth of turn, for tests that want one that is neither tiny nor closed.
pub(crate) fn bulge() -> impl Strategy<Value = f64> {
    (-0.99 * FRAC_PI_2..0.99 * FRAC_PI_2).prop_map(f64::tan).prop_filter("not straight", |bulge| bulge.abs() > 1e-6)
}
