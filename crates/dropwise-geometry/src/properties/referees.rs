//! General-purpose libraries from outside that give a second and a third opinion.

use clipper2_rust as clipper;
use geo_booleanop::boolean::{BooleanOp, Operation};
use geo_types_for_booleanop as old;

use crate::Polygon;

/// The three operations, by the names both referees know.
pub(super) const OPERATIONS: [(Operation, clipper::ClipType); 3] = [
    (Operation::Union, clipper::ClipType::Union),
    (Operation::Intersection, clipper::ClipType::Intersection),
    (Operation::Difference, clipper::ClipType::Difference),
];

/// Area by geo-booleanop 0.3.2 (Martinez-Rueda clipping, on floating-point numbers). Only for operands in general
/// position: it is wrong on some whose edges coincide.
pub(super) fn area_by_booleanop(a: &Polygon, b: &Polygon, operation: Operation) -> f64 {
    let convert = |polygon: &Polygon| {
        let mut rings = polygon.rings().map(|ring| {
            let closed = ring.iter().chain(ring.first());
            old::LineString(closed.map(|p| old::Coordinate { x: p.x, y: p.y }).collect())
        });
        let exterior = rings.next().unwrap_or(old::LineString(vec![]));
        old::Polygon::new(exterior, rings.collect())
    };
    let result = convert(a).boolean(&convert(b), operation);
    let ring_area = |ring: &old::LineString<f64>| {
        ring.0.windows(2).map(|w| w[0].x * w[1].y - w[1].x * w[0].y).sum::<f64>().abs() / 2.0
    };
    result.0.iter().map(|p| ring_area(p.exterior()) - p.interiors().iter().map(ring_area).sum::<f64>()).sum()
}

/// Decimals that clipper2-rust keeps before it turns coordinates into integers.
const PRECISION: i32 = 6;

fn paths(polygons: &[Polygon]) -> clipper::PathsD {
    let rings = polygons.iter().flat_map(Polygon::rings);
    rings.map(|ring| ring.iter().map(|p| clipper::Point { x: p.x, y: p.y }).collect()).collect()
}

/// Area by clipper2-rust (Vatti clipping, on integers).
pub(super) fn area_by_clipper(a: &[Polygon], b: &[Polygon], operation: clipper::ClipType) -> f64 {
    let result = clipper::boolean_op_d(operation, clipper::FillRule::Positive, &paths(a), &paths(b), PRECISION);
    clipper::area_paths(&result)
}

/// Area of an offset with round joins by clipper2-rust, its arcs within a micrometre.
pub(super) fn offset_area_by_clipper(polygons: &[Polygon], distance: f64) -> f64 {
    let (joins, ends) = (clipper::JoinType::Round, clipper::EndType::Polygon);
    let result = clipper::inflate_paths_d(&paths(polygons), distance, joins, ends, 2.0, PRECISION, 0.001);
    clipper::area_paths(&result)
}
