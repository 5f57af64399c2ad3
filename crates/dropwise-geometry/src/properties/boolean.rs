use std::slice::from_ref;

use proptest::prelude::*;

use super::{area, perimeter, referees};
use crate::sure::{difference, intersection, union};
use crate::{Isometry, Point, Polygon, generators};

fn by_us(a: &Polygon, b: &Polygon) -> [Vec<Polygon>; 3] {
    let (a, b) = (from_ref(a), from_ref(b));
    [union(&[a, b].concat()), intersection(a, b), difference(a, b)]
}

fn rectangle([x, y, right, top]: [i32; 4]) -> Polygon {
    let corners = [(x, y), (right, y), (right, top), (x, top)];
    Polygon::new(corners.map(|(x, y)| Point::new(f64::from(x), f64::from(y))).to_vec(), vec![])
}

/// Counts the unit squares that a set of grid rectangles and a second set cover: the slowest and plainest oracle.
fn count_cells(size: i32, is_covered: impl Fn(i32, i32) -> bool) -> f64 {
    let cells = (0..size).flat_map(|x| (0..size).map(move |y| (x, y)));
    cells.filter(|&(x, y)| is_covered(x, y)).count() as f64
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5000))]

    /// Random corners are in general position with certainty. The tolerance is the coarser grid of the two, a
    /// millionth of a millimetre, along all edges.
    #[test]
    fn two_other_libraries_agree(a in generators::polygon(), b in generators::polygon()) {
        let tolerance = 1e-6 * perimeter(&[a.clone(), b.clone()]);
        for (ours, (martinez, vatti)) in by_us(&a, &b).iter().zip(referees::OPERATIONS) {
            let ours = area(ours);
            let theirs = referees::area_by_clipper(from_ref(&a), from_ref(&b), vatti);
            prop_assert!((ours - theirs).abs() < tolerance, "{martinez:?}: {ours}, by clipper2-rust {theirs}");
            let theirs = referees::area_by_booleanop(&a, &b, martinez);
            prop_assert!((ours - theirs).abs() < tolerance, "{martinez:?}: {ours}, by geo-booleanop {theirs}");
        }
    }

    #[test]
    fn areas_of_union_and_intersection_sum(a in generators::polygon(), b in generators::polygon()) {
        let [union, intersection, difference] = by_us(&a, &b).map(|result| area(&result));
        let tolerance = 1e-7 * perimeter(&[a.clone(), b.clone()]);
        prop_assert!((union + intersection - a.area() - b.area()).abs() < tolerance);
        prop_assert!((difference + intersection - a.area()).abs() < tolerance);
        prop_assert!((union - difference - b.area()).abs() < tolerance);
    }

    #[test]
    fn moving_changes_nothing(a in generators::polygon(), b in generators::polygon(), by in generators::isometry()) {
        let tolerance = 1e-6 * perimeter(&[a.clone(), b.clone()]);
        let moved = by_us(&a.transformed(by), &b.transformed(by));
        for (still, moved) in by_us(&a, &b).iter().zip(&moved) {
            prop_assert!((area(still) - area(moved)).abs() < tolerance);
        }
    }

    #[test]
    fn points_are_where_the_operands_say(
        a in generators::polygon(),
        b in generators::polygon(),
        points in prop::collection::vec((-20.0..20.0_f64, -20.0..20.0_f64), 20),
    ) {
        let results = by_us(&a, &b);
        for point in points.into_iter().map(|(x, y)| Point::new(x, y)) {
            if [&a, &b].iter().any(|polygon| generators::distance_to_boundary(point, polygon) < 1e-6) {
                continue;
            }
            let (in_a, in_b) = (a.contains(point), b.contains(point));
            let expected = [in_a || in_b, in_a && in_b, in_a && !in_b];
            let found = [0, 1, 2].map(|i| results[i].iter().any(|polygon| polygon.contains(point)));
            prop_assert_eq!(found, expected);
        }
    }

    /// Edges coincide here more often than not, upright and turned; squares are counted instead of asking a library.
    #[test]
    fn coinciding_edges_are_no_trouble(
        a in generators::grid_rectangles(8),
        b in generators::grid_rectangles(8),
        turn in prop::sample::select(vec![0.0, 90.0, 30.0, 45.0, 12.345]),
    ) {
        let by = Isometry::new(false, turn, 3.0, -7.0);
        let place = |rectangles: &[[i32; 4]]| -> Vec<Polygon> {
            rectangles.iter().map(|&r| rectangle(r).transformed(by)).collect()
        };
        let covers = |rectangles: &[[i32; 4]], x, y| {
            rectangles.iter().any(|&[left, low, right, top]| (left..right).contains(&x) && (low..top).contains(&y))
        };
        let (in_a, in_b) = (|x, y| covers(&a, x, y), |x, y| covers(&b, x, y));
        let (placed_a, placed_b) = (place(&a), place(&b));
        for (result, expected) in [
            (union(&placed_a), count_cells(8, in_a)),
            (intersection(&placed_a, &placed_b), count_cells(8, |x, y| in_a(x, y) && in_b(x, y))),
            (difference(&placed_a, &placed_b), count_cells(8, |x, y| in_a(x, y) && !in_b(x, y))),
        ] {
            prop_assert!((area(&result) - expected).abs() < 1e-5, "{} instead of {expected}", area(&result));
        }
    }

    #[test]
    fn results_are_clean_and_stay_as_they_are(a in generators::polygon(), b in generators::polygon()) {
        for result in by_us(&a, &b) {
            for polygon in &result {
                prop_assert!(crate::polygon::signed_area(&polygon.exterior) > 0.0);
                prop_assert!(polygon.holes.iter().all(|hole| crate::polygon::signed_area(hole) < 0.0));
                prop_assert!(polygon.rings().all(|ring| ring.len() >= 3));
            }
            prop_assert!((area(&union(&result)) - area(&result)).abs() < 1e-6 * (1.0 + perimeter(&result)));
        }
    }
}
