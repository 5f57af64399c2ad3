//! What holds of every pattern.

use std::f64::consts::PI;

use proptest::prelude::*;
use proptest::strategy::ValueTree;

use super::generators::{anything, plate_with_features, polygon};
use dropwise_geometry::Outline;

use super::*;

/// Area that a made corner takes off its polygon (negative where it adds metal), for a polygon run counter-clockwise.
///
/// # Source
/// Two tangents of length t = r tan(θ/2) and a sector: r² (tan(θ/2) - θ/2). A chamfer c: c² sin(θ) / 2. Elementary
/// geometry.
fn taken_off(corners: &[PolygonCorner], i: usize) -> f64 {
    let n = corners.len();
    let (a, b, c) = (corners[(i + n - 1) % n].point, corners[i].point, corners[(i + 1) % n].point);
    let turn = (b - a).cross(c - b).atan2((b - a).dot(c - b));
    match corners[i].corner {
        Corner::Sharp => 0.0,
        Corner::Radius(r) => r * r * ((turn / 2.0).tan() - turn / 2.0),
        Corner::Chamfer(c) => c * c * turn.sin() / 2.0,
    }
}

fn mirrored(corners: &[PolygonCorner]) -> Vec<PolygonCorner> {
    corners.iter().map(|c| PolygonCorner { point: Point::new(-c.point.x, c.point.y), ..*c }).collect()
}

proptest! {
    #[test]
    fn made_corners_take_off_what_each_takes_alone(corners in polygon()) {
        let sharp = Outline::polygon(corners.iter().map(|c| c.point)).area();
        let off: f64 = (0..corners.len()).map(|i| taken_off(&corners, i)).sum();
        match (Pattern::plain(Base::Polygon { corners })).build() {
            Ok(flat) => {
                prop_assert!((flat.shape.area() - (sharp - off)).abs() < 1e-6, "{} {}", flat.shape.area(), sharp - off);
                prop_assert_eq!(flat.shape.faults(), Vec::new());
            }
            Err(errors) => {
                for error in errors {
                    let is_expected = matches!(
                        error,
                        PatternError::CornersExceedSide { .. } | PatternError::RoundedSelfCrossing { .. }
                    );
                    prop_assert!(is_expected, "{error}");
                }
            }
        }
    }

    #[test]
    fn mirror_image_has_the_same_measures_and_faults(corners in polygon()) {
        let image = Pattern::plain(Base::Polygon { corners: mirrored(&corners) }).build();
        match (Pattern::plain(Base::Polygon { corners }).build(), image) {
            (Ok(one), Ok(other)) => {
                prop_assert!((one.shape.area() - other.shape.area()).abs() < 1e-6);
                prop_assert!((one.shape.perimeter() - other.shape.perimeter()).abs() < 1e-6);
                prop_assert!((one.shape.bounds().min.x + other.shape.bounds().max.x).abs() < 1e-9);
                prop_assert!((one.shape.bounds().max.y - other.shape.bounds().max.y).abs() < 1e-9);
            }
            (Err(one), Err(other)) => prop_assert_eq!(one.errors().len(), other.errors().len()),
            (one, other) => prop_assert!(false, "{:?} {:?}", one.is_ok(), other.is_ok()),
        }
    }

    #[test]
    fn made_corners_never_reach_beyond_the_sharp_ones(corners in polygon()) {
        let sharp = Outline::polygon(corners.iter().map(|c| c.point)).bounds().expanded(1e-9);
        if let Ok(flat) = Pattern::plain(Base::Polygon { corners }).build() {
            let bounds = flat.shape.bounds();
            prop_assert!(sharp.contains(bounds.min) && sharp.contains(bounds.max));
        }
    }

    #[test]
    fn plates_count_their_holes_and_lose_their_areas(pattern in plate_with_features()) {
        let flat = pattern.build().map_err(|errors| TestCaseError::fail(errors.to_string()))?;
        let (Cut::HoleRow { count: in_row, .. }, Cut::BoltCircle { count: on_circle, .. }) =
            (pattern.features[0].cut, pattern.features[1].cut) else { unreachable!("made so") };
        prop_assert_eq!(flat.holes.len() as u32, in_row + on_circle);
        prop_assert_eq!(flat.shape.holes().len() as u32, in_row + on_circle + 1);
        let bare = Pattern::plain(pattern.base.clone()).build().unwrap().shape;
        let holes = f64::from(in_row) * 9.0 * PI + f64::from(on_circle) * 16.0 * PI + 28.0 * 12.0 + 36.0 * PI;
        prop_assert!((bare.area() - holes - flat.shape.area()).abs() < 1e-6);
        prop_assert_eq!(bare.bounds(), flat.shape.bounds());
    }

    #[test]
    fn no_numbers_make_it_panic_and_what_is_built_has_area(pattern in anything()) {
        match pattern.build() {
            // The general check of shapes, which shares no code with the checks here, finds nothing to blame.
            Ok(flat) => {
                prop_assert!(flat.shape.area() > 0.0);
                prop_assert_eq!(flat.shape.faults(), Vec::new());
            }
            Err(errors) => prop_assert!(!errors.errors().is_empty() && !errors.to_string().is_empty()),
        }
    }
}

#[test]
fn random_patterns_are_neither_all_refused_nor_all_built() {
    // Guards the properties above, which say little of a refused pattern.
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let built = (0..200)
        .filter(|_| {
            let corners = polygon().new_tree(&mut runner).unwrap().current();
            Pattern::plain(Base::Polygon { corners }).build().is_ok()
        })
        .count();
    assert!((40..190).contains(&built), "{built} of 200");
}
