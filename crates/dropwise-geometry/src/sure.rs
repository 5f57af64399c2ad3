//! Booleans and offsets for tests, where an imbalance is a failure.

use crate::Polygon;

pub(crate) fn union(polygons: &[Polygon]) -> Vec<Polygon> {
    crate::union(polygons).expect("areas balance")
}

pub(crate) fn intersection(a: &[Polygon], b: &[Polygon]) -> Vec<Polygon> {
    crate::intersection(a, b).expect("areas balance")
}

pub(crate) fn difference(a: &[Polygon], b: &[Polygon]) -> Vec<Polygon> {
    crate::difference(a, b).expect("areas balance")
}

pub(crate) fn offset(polygons: &[Polygon], distance: f64, tolerance: f64) -> Vec<Polygon> {
    crate::offset(polygons, distance, tolerance).expect("areas balance")
}
