use std::{f64::consts::PI, slice::from_ref};

use proptest::prelude::*;

use super::{area, perimeter, referees};
use crate::{
    Point, Polygon,
    generators::{self, boundary_samples, distance_to_boundary},
    sure::offset,
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
    #![proptest_config(ProptestConfig::with_cases(3000))]

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
}

proptest! {
    // Fewer, since strips along a fan of short edges all cross at its middle.
    #![proptest_config(ProptestConfig::with_cases(100))]

    /// Growing what was shrunk never gives more than there was, and shrinking what was grown never less (opening and
    /// closing of mathematical morphology), up to the tolerances.
    #[test]
    fn there_and_back_is_one_sided(polygon in generators::polygon(), distance in 0.1..3.0_f64) {
        let metal = [polygon];
        let opened = offset(&offset(&metal, -distance, 1e-3), distance, 1e-3);
        prop_assert!(area(&crate::sure::difference(&opened, &metal)) <= 3e-3 * (1.0 + perimeter(&opened)));
        let closed = offset(&offset(&metal, distance, 1e-3), -distance, 1e-3);
        prop_assert!(area(&crate::sure::difference(&metal, &closed)) <= 3e-3 * (1.0 + perimeter(&closed)));
    }
}

fn boundary_samples_of(polygons: &[Polygon]) -> Vec<Point> {
    polygons.iter().flat_map(|polygon| boundary_samples(polygon, 6)).collect()
}

/// Cleaned one by one before the last union, polygons whose holes' boxes overlap were once parted from the strips along
/// their edges, and a hairline stayed open that should have closed.
#[test]
fn no_hairline_stays_open_between_holes() {
    let ring = |corners: &[(f64, f64)]| corners.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
    let polygons = [
        Polygon::new(
            ring(&[
                (-5.746344135690675, 6.341757860348214),
                (-1.97556552762354, 11.863969698727608),
                (-6.897587411322231, 6.945909813124285),
                (-7.6594043471082225, 6.147274153157864),
                (-7.576035345268336, 5.537098161824903),
                (-6.897587411322231, 4.996053988760638),
                (-6.051576675507183, 5.189150418474432),
            ]),
            vec![ring(&[
                (-6.55036851699417, 5.814615604448855),
                (-6.71957066415718, 5.775996318506096),
                (-6.855260250946401, 5.884205153118949),
                (-6.871934051314378, 6.006240351385542),
                (-6.71957066415718, 6.165967483378826),
                (-5.735166287417441, 7.14957946049949),
                (-6.489322009030868, 6.0451370928236114),
            ])],
        ),
        Polygon::new(
            ring(&[
                (1.0, -4.137496846110824),
                (4.983280841618744, 4.493798759957435),
                (-0.4999999999999998, -3.271471442326385),
                (-1.0, -4.137496846110824),
                (-3.9053777737721576, -10.901809573034425),
                (0.5000000000000001, -5.003522249895262),
            ]),
            vec![],
        ),
        Polygon::new(
            ring(&[
                (-2.7481660293329218, 4.5278195262392575),
                (-1.8893270947691654, 10.248737513406518),
                (-9.969976385662232, 9.04822935129669),
                (-4.55718302370787, 3.9400342739467846),
                (-0.7524810368152806, -4.691950857795264),
            ]),
            vec![ring(&[
                (-1.8731912474795267, -1.2427594924897019),
                (-4.254523161785968, 4.159929535153276),
                (-7.6423463402566, 7.3571071338464495),
                (-2.584733914628107, 8.108495392287256),
                (-3.1222741927290922, 4.5278195262392575),
            ])],
        ),
        Polygon::new(
            ring(&[
                (8.709686134659878, 9.73999703357079),
                (8.165477084388595, 10.169512260285389),
                (7.047443095638699, 9.806240996282709),
                (7.047443095638699, 8.630670491697762),
                (8.165477084388593, 8.267399227695082),
            ]),
            vec![],
        ),
    ];
    for point in boundary_samples_of(&offset(&polygons, 0.01, 0.01)) {
        let reached = distance_to_metal(point, &polygons);
        assert!((0.01..=0.02).contains(&reached), "{reached} at {point:?}");
    }
}
/// All strips along a circle meet at its middle; in a single union 2,000 of them took two minutes.
#[test]
fn strips_that_all_meet_leave_the_disc_within() {
    let rim = (0..2000).map(|i| Point::ORIGIN + crate::Vector::from_angle(f64::from(i) / 1000.0 * PI) * 50.0);
    let plate = Polygon::new(rim.collect(), vec![]);
    for depth in [5.0, 40.0, 49.9] {
        let left = PI * (50.0 - depth) * (50.0 - depth);
        let shrunk = area(&offset(from_ref(&plate), -depth, 0.01));
        assert!(shrunk <= left && shrunk >= left - 2.0 * PI * (50.0 - depth) * 0.011);
    }
}
