use std::{f64::consts::PI, slice::from_ref};

use proptest::prelude::*;

use super::{area, perimeter, referees};
use crate::{
    Point, Polygon,
    generators::{self, boundary_samples, distance_to_boundary},
    offset,
};

/// Distance from a point to the metal: zero in it.
fn distance_to_metal(point: Point, polygons: &[Polygon]) -> f64 {
    if is_in(point, polygons) { 0.0 } else { distance_to_boundaries(point, polygons) }
}

fn distance_to_boundaries(point: Point, polygons: &[Polygon]) -> f64 {
    polygons.iter().map(|polygon| distance_to_boundary(point, polygon)).fold(f64::INFINITY, f64::min)
}

fn is_in(point: Point, polygons: &[Polygon]) -> bool {
    polygons.iter().any(|polygon| polygon.contains(point))
}

fn tolerance() -> impl Strategy<Value = f64> {
    prop::sample::select(vec![1e-4, 0.01, 0.1, 1.0])
}

fn points() -> impl Strategy<Value = Vec<Point>> {
    prop::collection::vec((-30.0..30.0_f64, -30.0..30.0_f64).prop_map(|(x, y)| Point::new(x, y)), 40)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    /// No slack on the promised side: the allowance for the grid has to be enough.
    #[test]
    fn grown_covers_the_truth(
        polygon in generators::polygon(),
        distance in 0.01..8.0_f64,
        tolerance in tolerance(),
        points in points(),
    ) {
        let metal = [polygon];
        let grown = offset(&metal, distance, tolerance);
        for point in boundary_samples_of(&grown) {
            let reached = distance_to_metal(point, &metal);
            prop_assert!(reached >= distance, "cut in by {}", distance - reached);
            prop_assert!(reached <= distance + tolerance, "too far by {}", reached - distance - tolerance);
        }
        for point in points {
            let away = distance_to_metal(point, &metal);
            prop_assert!(away > distance || is_in(point, &grown));
            prop_assert!(away <= distance + tolerance || !is_in(point, &grown));
        }
    }

    #[test]
    fn shrunk_lies_within_the_truth(
        polygon in generators::polygon(),
        distance in 0.01..4.0_f64,
        tolerance in tolerance(),
        points in points(),
    ) {
        let metal = [polygon];
        let shrunk = offset(&metal, -distance, tolerance);
        for point in boundary_samples_of(&shrunk) {
            let depth = distance_to_boundaries(point, &metal);
            prop_assert!(is_in(point, &metal));
            prop_assert!(depth >= distance, "too shallow by {}", distance - depth);
            prop_assert!(depth <= distance + tolerance, "too deep by {}", depth - distance - tolerance);
        }
        for point in points {
            let depth = if is_in(point, &metal) { distance_to_boundaries(point, &metal) } else { 0.0 };
            prop_assert!(depth >= distance || !is_in(point, &shrunk));
            prop_assert!(depth <= distance + tolerance || is_in(point, &shrunk));
        }
    }

    /// Several polygons at once, some of which overlap.
    #[test]
    fn many_grow_as_one(
        polygons in prop::collection::vec(generators::polygon(), 1..5),
        distance in 0.01..4.0_f64,
    ) {
        let grown = offset(&polygons, distance, 0.01);
        for point in boundary_samples_of(&grown) {
            let reached = distance_to_metal(point, &polygons);
            prop_assert!(reached >= distance && reached <= distance + 0.01, "{}", reached - distance);
        }
    }

    /// J. Steiner's formula for convex bodies, 1840 (from memory): A + P d + π d².
    #[test]
    fn convex_polygons_grow_by_steiners_formula(
        polygon in generators::convex_polygon(),
        distance in 0.01..30.0_f64,
        tolerance in tolerance(),
    ) {
        let around = perimeter(from_ref(&polygon));
        let steiner = |d: f64| polygon.area() + around * d + PI * d * d;
        let grown = area(&offset(from_ref(&polygon), distance, tolerance));
        prop_assert!(grown >= steiner(distance) && grown <= steiner(distance + tolerance));
    }

    #[test]
    fn another_library_agrees(polygon in generators::polygon(), distance in -3.0..8.0_f64) {
        let metal = [polygon];
        let ours = offset(&metal, distance, 1e-3);
        let theirs = referees::offset_area_by_clipper(&metal, distance);
        // Ours errs by up to a thousandth to one side along its edges, theirs to both; sharp pits weigh little.
        let tolerance = 4e-3 * (1.0 + perimeter(&ours));
        prop_assert!((area(&ours) - theirs).abs() < tolerance, "{} by us, {theirs} by clipper2-rust", area(&ours));
    }

    #[test]
    fn moving_changes_nothing(
        polygon in generators::polygon(),
        by in generators::isometry(),
        distance in -3.0..8.0_f64,
    ) {
        let still = offset(from_ref(&polygon), distance, 1e-3);
        let moved = offset(&[polygon.transformed(by)], distance, 1e-3);
        prop_assert!((area(&still) - area(&moved)).abs() < 1e-3 * (1.0 + perimeter(&still)));
    }

    /// Growing what was shrunk never gives more than there was, and shrinking what was grown never less (opening and
    /// closing of mathematical morphology), up to the tolerances.
    #[test]
    fn there_and_back_is_one_sided(polygon in generators::polygon(), distance in 0.1..3.0_f64) {
        let metal = [polygon];
        let opened = offset(&offset(&metal, -distance, 1e-3), distance, 1e-3);
        prop_assert!(area(&crate::difference(&opened, &metal)) <= 3e-3 * (1.0 + perimeter(&opened)));
        let closed = offset(&offset(&metal, distance, 1e-3), -distance, 1e-3);
        prop_assert!(area(&crate::difference(&metal, &closed)) <= 3e-3 * (1.0 + perimeter(&closed)));
    }
}

fn boundary_samples_of(polygons: &[Polygon]) -> Vec<Point> {
    polygons.iter().flat_map(|polygon| boundary_samples(polygon, 6)).collect()
}

/// Cleaned one by one, polygons whose holes may overlap were once parted from the strips along their edges, and a
/// hairline stayed open along holes that should have closed.
#[test]
fn holes_beside_each_other_close_without_a_hairline() {
    let ring = |corners: &[(f64, f64)]| corners.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
    let plate = ring(&[(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)]);
    // The second hole lies in the crook of the first, so that their boxes overlap.
    let crook = ring(&[(10.1, 10.2), (10.1, 30.3), (12.7, 30.3), (12.7, 12.9), (30.3, 12.9), (30.3, 10.2)]);
    let inner = ring(&[(20.1, 20.2), (20.1, 22.3), (22.7, 22.3), (22.7, 20.2)]);
    let plate = Polygon::new(plate, vec![crook, inner]);
    for angle in [0.0, 10.0, 33.3, 45.0, 77.7] {
        let turned = plate.transformed(crate::Isometry::new(false, angle, 12.3, -45.6));
        let grown = offset(&[turned.clone(), turned], 2.0, 0.01);
        assert_eq!((grown.len(), grown[0].holes.len()), (1, 0), "at {angle}");
    }
}
