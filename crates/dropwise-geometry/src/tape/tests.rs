use proptest::prelude::*;

use super::{Diagonal, MAX_TAPED_CORNERS, Measurement, TapeError, outline_from_tape};
use crate::{Outline, Point};

fn diagonal(from: usize, to: usize, length: f64) -> Diagonal {
    Diagonal { from, to, length }
}

fn assert_corners(outline: &Outline, expected: &[(f64, f64)]) {
    assert_eq!(outline.vertices().len(), expected.len());
    for (vertex, &(x, y)) in outline.vertices().iter().zip(expected) {
        assert!(vertex.point.distance(Point::new(x, y)) < 1e-9, "{outline:?} is not {expected:?}");
    }
}

/// What a perfect tape would read.
fn tape(points: &[(f64, f64)], diagonals: &[(usize, usize)]) -> (Vec<f64>, Vec<Diagonal>) {
    let at = |i: usize| Point::new(points[i % points.len()].0, points[i % points.len()].1);
    let sides = (0..points.len()).map(|i| at(i).distance(at(i + 1))).collect();
    (sides, diagonals.iter().map(|&(a, b)| diagonal(a, b, at(a).distance(at(b)))).collect())
}

#[test]
fn outlines_worked_by_hand() {
    // 3-4-5: a rectangle, and its other diagonal.
    for d in [diagonal(0, 2, 5.0), diagonal(2, 0, 5.0), diagonal(1, 3, 5.0)] {
        let taped = outline_from_tape(&[4.0, 3.0, 4.0, 3.0], &[d], &[]).expect("a rectangle");
        assert_corners(&taped.outline, &[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)]);
        assert_eq!(taped.surplus, 0);
        assert!(taped.misclosure() < 1e-12);
    }
    // 5-12-13 and 3-4-5 on one diagonal... a kite of 13 over right angles: 5 and 12 twice.
    let kite = outline_from_tape(&[12.0, 5.0, 5.0, 12.0], &[diagonal(0, 2, 13.0)], &[]).expect("a kite");
    assert!((kite.outline.area() - 60.0).abs() < 1e-9);
    // Triangle 13-14-15 has an area of 84 (Heron).
    let triangle = outline_from_tape(&[13.0, 14.0, 15.0], &[], &[]).expect("a triangle");
    assert!((triangle.outline.area() - 84.0).abs() < 1e-9);
    // A trapezium of parallel sides 11 and 5, height 4, legs 5 (3-4-5 at either end): the diagonal is √(8² + 4²).
    let legs = outline_from_tape(&[11.0, 5.0, 5.0, 5.0], &[diagonal(0, 2, 80f64.sqrt())], &[]).expect("a trapezium");
    assert_corners(&legs.outline, &[(0.0, 0.0), (11.0, 0.0), (8.0, 4.0), (3.0, 4.0)]);
}

#[test]
fn a_notched_sheet_is_solved_from_diagonals_on_the_metal() {
    // An L of 6 x 6 with a notch of 3 x 3; corner 3 points inwards and all diagonals meet there.
    let points = [(0., 0.), (6., 0.), (6., 3.), (3., 3.), (3., 6.), (0., 6.)];
    let (sides, diagonals) = tape(&points, &[(0, 3), (1, 3), (3, 5)]);
    for told in [&[][..], &[3]] {
        let taped = outline_from_tape(&sides, &diagonals, told).expect("an L");
        assert_corners(&taped.outline, &points);
    }
}

#[test]
fn a_reflex_corner_spanned_from_outside_must_be_told() {
    // A dart: corner 2 points inwards, and the diagonal 1-3 runs through the air.
    let points = [(0., 0.), (8., 0.), (3., 3.), (0., 8.)];
    let (sides, diagonals) = tape(&points, &[(1, 3)]);
    let convex = outline_from_tape(&sides, &diagonals, &[]).expect("the convex one");
    assert!(convex.outline.area() > 32.0, "beyond the diagonal");
    let dart = outline_from_tape(&sides, &diagonals, &[2]).expect("the dart");
    assert_corners(&dart.outline, &points);
    // The other diagonal, measured too, decides without being told.
    let (sides, both) = tape(&points, &[(1, 3), (0, 2)]);
    let taped = outline_from_tape(&sides, &both, &[]).expect("the dart");
    assert_corners(&taped.outline, &points);
    assert_eq!(taped.surplus, 1);
    // A triangle has no such corner.
    assert_eq!(outline_from_tape(&[3.0, 4.0, 5.0], &[], &[1]), Err(TapeError::NotReflex { corner: 1 }));
}

#[test]
fn surplus_measurements_share_the_misclosure() {
    // A rectangle of 4000 x 3000 whose second diagonal was read 20 too long. By the theory of adjustment the changes are
    // proportional to the forces of a self-stress of the figure: 1 in the diagonals, -0.8 and -0.6 in the sides (3-4-5),
    // whose squares sum to 4. So each diagonal shrinks by 20/4 = 5, long sides grow by 4, short ones by 3, up to terms of
    // second order (20²/5000).
    let sides = [4000.0, 3000.0, 4000.0, 3000.0];
    let diagonals = [diagonal(0, 2, 5000.0), diagonal(1, 3, 5020.0)];
    let taped = outline_from_tape(&sides, &diagonals, &[]).expect("a near rectangle");
    let changes: Vec<f64> = taped.adjustments.iter().map(|a| a.change).collect();
    for (change, expected) in changes.iter().zip([4.0, 3.0, 4.0, 3.0, -5.0, -5.0]) {
        assert!((change - expected).abs() < 0.05, "{changes:?}");
    }
    assert_eq!(taped.surplus, 1);
    assert!((taped.misclosure() - 5.0).abs() < 0.05);
    assert!(matches!(taped.largest_adjustment().measurement, Measurement::Diagonal { .. }));
    // The same side measured twice: the mean.
    let twice = [diagonal(0, 2, 5.0), diagonal(0, 1, 4.002)];
    let taped = outline_from_tape(&[4.0, 3.0, 4.0, 3.0], &twice, &[]).expect("a rectangle");
    assert!((taped.outline.vertices()[1].point.x - 4.001).abs() < 1e-9);
}

#[test]
fn lengths_that_make_no_outline_say_which() {
    let side = |from, to| Measurement::Side { from, to };
    assert_eq!(outline_from_tape(&[1.0, 2.0], &[], &[]), Err(TapeError::TooFewSides { count: 2 }));
    assert_eq!(
        outline_from_tape(&vec![1.0; 41], &[], &[]),
        Err(TapeError::TooManySides { count: MAX_TAPED_CORNERS + 1 })
    );
    assert_eq!(
        outline_from_tape(&[1.0, 0.0, 1.0], &[], &[]),
        Err(TapeError::BadLength { measurement: side(1, 2), length: 0.0 })
    );
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let found = outline_from_tape(&[1.0, 1.0, 1.0, 1.0], &[diagonal(0, 2, bad)], &[]);
        assert!(matches!(found, Err(TapeError::BadLength { measurement: Measurement::Diagonal { index: 0, .. }, .. })));
    }
    let square = [1.0; 4];
    let bad_corner = |corner| Err(TapeError::BadCorner { corner, count: 4 });
    assert_eq!(outline_from_tape(&square, &[diagonal(0, 4, 1.0)], &[]), bad_corner(4));
    assert_eq!(outline_from_tape(&square, &[diagonal(2, 2, 1.0)], &[]), bad_corner(2));
    assert_eq!(outline_from_tape(&square, &[diagonal(0, 2, 1.4)], &[9]), bad_corner(9));
    assert_eq!(
        outline_from_tape(&square, &[], &[]),
        Err(TapeError::TooFewDiagonals { found: 0, corners: 4, needed: 1, loose: 2 })
    );
    // Two diagonals for five corners, but the same one twice.
    let (sides, twice) = tape(&[(0., 0.), (4., 0.), (5., 3.), (2., 5.), (-1., 3.)], &[(0, 2), (2, 0)]);
    assert_eq!(outline_from_tape(&sides, &twice, &[]), Err(TapeError::LooseCorner { corner: 3 }));

    let long_diagonal = outline_from_tape(&square, &[diagonal(0, 2, 2.1)], &[]);
    let expected = TapeError::ImpossibleTriangle {
        longest: Measurement::Diagonal { index: 0, from: 0, to: 2 },
        length: 2.1,
        shorter: [side(0, 1), side(1, 2)],
        others: 2.0,
    };
    assert_eq!(expected.to_string(), "diagonal 1-3 is 2.1, but side 1-2 and side 2-3 together are only 2");
    assert_eq!(long_diagonal, Err(expected));
    let long_side = outline_from_tape(&[10.0, 3.0, 4.0, 3.0], &[diagonal(0, 2, 5.0)], &[]);
    assert!(matches!(long_side, Err(TapeError::ImpossibleTriangle { longest: Measurement::Side { from: 0, .. }, .. })));
}

#[test]
fn lengths_that_miss_without_a_measured_triangle_are_refused() {
    // Corner 4 (the fifth) hangs on corners 0 and 3, which no one measurement joins; they lie 3 apart, and two sides of
    // 1 cannot span that.
    let (mut sides, diagonals) = tape(&[(0., 0.), (3., 0.), (3., 3.), (0., 3.), (-1., 1.5)], &[(0, 2), (1, 3)]);
    assert!(outline_from_tape(&sides, &diagonals, &[]).is_ok());
    (sides[3], sides[4]) = (1.0, 1.0);
    let found = outline_from_tape(&sides, &diagonals, &[]);
    assert!(
        matches!(found, Err(TapeError::DoesNotClose { measurement: Measurement::Side { from: 3 | 4, .. }, .. })),
        "{found:?}"
    );
}

#[test]
fn three_corners_in_a_line_are_no_fault() {
    let (sides, diagonals) = tape(&[(0., 0.), (2., 0.), (4., 0.), (4., 3.), (0., 3.)], &[(0, 3), (1, 3)]);
    let taped = outline_from_tape(&sides, &diagonals, &[]).expect("a rectangle with a mark on one side");
    assert!((taped.outline.area() - 12.0).abs() < 1e-6);
}

proptest! {
    /// Round trip: corners on a stretched circle, measured and solved, give the same lengths between all corners.
    #[test]
    fn measured_convex_sheets_are_found_again(
        steps in prop::collection::vec(0.2..1.0f64, 3..12),
        squash in 0.3..1.0f64,
        fan in 0usize..12,
        is_checked: bool,
    ) {
        let total: f64 = steps.iter().sum();
        let mut angle = 0.0;
        let points: Vec<(f64, f64)> = steps.iter().map(|step| {
            angle += step / total * std::f64::consts::TAU;
            (1000.0 * angle.cos(), 1000.0 * squash * angle.sin())
        }).collect();
        let n = points.len();
        let hub = fan % n;
        let mut chosen: Vec<(usize, usize)> = (2..n - 1).map(|k| (hub, (hub + k) % n)).collect();
        if is_checked && n > 3 {
            chosen.push(((hub + 1) % n, (hub + 3) % n));
        }
        let (sides, diagonals) = tape(&points, &chosen);
        let taped = outline_from_tape(&sides, &diagonals, &[]).expect("a convex sheet");
        prop_assert!(taped.misclosure() < 1e-6);
        for i in 0..n {
            for j in 0..i {
                let found = taped.outline.vertices()[i].point.distance(taped.outline.vertices()[j].point);
                let truth = Point::new(points[i].0, points[i].1).distance(Point::new(points[j].0, points[j].1));
                prop_assert!((found - truth).abs() < 1e-5, "corners {} and {}: {} not {}", i, j, found, truth);
            }
        }
    }

    #[test]
    fn no_lengths_make_it_panic_or_hang(
        sides in prop::collection::vec(0.1..10.0f64, 3..7),
        diagonals in prop::collection::vec((0usize..7, 0usize..7, 0.1..15.0f64), 0..6),
        reflex in prop::collection::vec(0usize..7, 0..2),
    ) {
        let diagonals: Vec<_> = diagonals.into_iter().map(|(a, b, length)| diagonal(a, b, length)).collect();
        if let Ok(taped) = outline_from_tape(&sides, &diagonals, &reflex) {
            prop_assert!(taped.outline.is_ccw());
            prop_assert_eq!(taped.adjustments.len(), sides.len() + diagonals.len());
            if taped.surplus == 0 {
                prop_assert!(taped.misclosure() < 1e-6);
            }
        }
    }
}
