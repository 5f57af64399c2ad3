//! Property tests on random shapes: algebra, symmetry, slow oracles, and two libraries from outside as referees.

mod boolean;
mod flatten;
mod inscribed;
mod offset;
mod referees;

use crate::Polygon;

/// Area of polygons that do not overlap.
fn area(polygons: &[Polygon]) -> f64 {
    polygons.iter().map(Polygon::area).sum()
}

/// Length of all rings.
fn perimeter(polygons: &[Polygon]) -> f64 {
    let rings = polygons.iter().flat_map(Polygon::rings);
    rings.map(|ring| (0..ring.len()).map(|i| ring[i].distance(ring[(i + 1) % ring.len()])).sum::<f64>()).sum()
}
