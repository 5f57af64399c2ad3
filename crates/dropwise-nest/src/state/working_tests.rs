//! The working state against slow, plain answers: collisions by a general geometry library, losses by recomputation.

use dropwise_geometry::{Isometry, Outline, Point, Polygon, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, Part, Sheet, StockClass, Turns};
use geo::{Area, BooleanOps, Contains};
use proptest::prelude::*;

use crate::anneal::lone_fit::prepared;
use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::working::{Arrangement, Working};

/// A job of these parts on one sheet, without clearances.
pub(crate) fn job(parts: &[(Shape, Turns)], sheet: Shape) -> Job {
    let class = StockClass::new("test");
    let part = |(index, (shape, turns)): (usize, &(Shape, Turns))| Part {
        name: format!("part {index}"),
        shape: shape.clone(),
        quantity: 1,
        class: class.clone(),
        turns: turns.clone(),
        may_flip: true,
        need: Need::Required,
    };
    let sheet = Sheet {
        name: "sheet".to_owned(),
        shape: sheet,
        damage: Vec::new(),
        class: class.clone(),
        quantity: Some(1),
        price: Money::from_coins(100),
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 0.0,
    };
    let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
    let clearances = Clearances::new(0.0, 0.0, 0.0).expect("zero is allowed");
    Job::new(parts.iter().enumerate().map(part).collect(), vec![sheet], clearances, rule).expect("sound parts")
}

/// The same job on other sheets.
pub(crate) fn with_sheets(job: &Job, change: impl FnOnce(&mut Vec<Sheet>)) -> Job {
    let mut sheets = job.sheets().to_vec();
    change(&mut sheets);
    Job::new(job.parts().to_vec(), sheets, *job.clearances(), *job.leftover_rule()).expect("sound sheets")
}

pub(crate) fn rectangle(width: f64, height: f64) -> Shape {
    Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
}

/// Star-shaped polygons: simple by construction, convex or not, sometimes with a hole of the same form; or regular ones
/// with a hole in which others have room.
fn star() -> impl Strategy<Value = Shape> {
    let kind = prop::sample::select(vec![None, Some(0.6), Some(0.8)]);
    (prop::collection::vec(0.3..1.0_f64, 3..12), 5.0..30.0_f64, kind).prop_map(|(mut radii, size, hole)| {
        if hole == Some(0.8) {
            radii.fill(1.0);
        }
        let ring = |scale: f64| {
            let step = std::f64::consts::TAU / radii.len() as f64;
            Outline::polygon(radii.iter().enumerate().map(|(i, r)| {
                let (sin, cos) = (i as f64 * step).sin_cos();
                Point::new(r * scale * cos, r * scale * sin)
            }))
        };
        Shape::new(ring(size), hole.map(|share| ring(size * share)).into_iter().collect())
    })
}

fn to_geo(shape: &Shape, isometry: Isometry) -> geo::Polygon {
    let ring = |outline: &Outline| {
        geo::LineString::from_iter(outline.vertices().iter().map(|v| {
            let p = isometry.apply(v.point);
            (p.x, p.y)
        }))
    };
    geo::Polygon::new(ring(shape.exterior()), shape.holes().iter().map(ring).collect())
}

fn pose(turn_deg: f64, x: f64, y: f64, variant: usize) -> Pose {
    Pose { variant, turn_deg, at: Point::new(x, y) }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, ..ProptestConfig::default() })]

    /// A placement costs nothing exactly when the general library finds no common area and nothing sticking out.
    #[test]
    fn free_means_free(
        a in star(), b in star(), turn in 0.0..360.0_f64, x in 0.0..100.0_f64, y in 0.0..100.0_f64, flip in 0..2_usize,
    ) {
        let job = job(&[(a.clone(), Turns::Any), (b.clone(), Turns::Any)], rectangle(100.0, 100.0));
        let task = prepared(job);
        let mut working = Working::new(&task, vec![0, 1]);
        let bin = working.open(0, task.container(0), None);
        let (first, second) = (pose(0.0, 50.0, 50.0, 0), pose(turn, x, y, flip));
        working.put(0, bin, first);
        let loss = working.evaluate(1, bin, second, f64::INFINITY);
        let (p, q) = (to_geo(&a, task.isometry(0, first)), to_geo(&b, task.isometry(1, second)));
        let room = geo::Polygon::new(geo::LineString::from(vec![(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)]), vec![]);
        let common = p.intersection(&q).unsigned_area() + q.difference(&room).unsigned_area();
        // Areas this small are the library's grid, not an overlap.
        if common > 1e-3 {
            prop_assert!(loss > 0.0, "{common} mm² in common, yet free");
        } else if common == 0.0 && room.contains(&q) {
            prop_assert_eq!(loss, 0.0);
        }
    }

    /// What an evaluation foretells is what the state then costs, and restoring brings back the same losses.
    #[test]
    fn evaluations_foretell_the_state(
        shapes in prop::collection::vec((star(), any::<bool>()), 3..7), seed in any::<u64>()
    ) {
        // Parts that turn freely beside parts that do not: each pair has its own way of being measured.
        let turns = |is_free: bool| if is_free { Turns::Any } else { Turns::List(vec![0.0, 90.0]) };
        let parts: Vec<(Shape, Turns)> = shapes.iter().map(|(s, is_free)| (s.clone(), turns(*is_free))).collect();
        let task = prepared(job(&parts, rectangle(80.0, 60.0)));
        let mut working = Working::new(&task, task.items());
        let bin = working.open(0, task.container(0), None);
        let mut rng = SearchRng::new(seed, 0);
        for item in 0..parts.len() {
            let pose = working.random_pose(item, bin, &mut rng).expect("every turn is allowed");
            working.put(item, bin, pose);
        }
        let saved = working.arrangement();
        let loss = working.total_loss();
        let item = rng.index(parts.len());
        let pose = working.random_pose(item, bin, &mut rng).expect("every turn is allowed");
        let foretold = working.evaluate(item, bin, pose, f64::INFINITY);
        working.put(item, bin, pose);
        // Losses are kept in single precision.
        prop_assert!((working.weighted_item_loss(item) - foretold).abs() <= 1e-5 * foretold.max(1.0));
        working.restore(&saved);
        prop_assert!((working.total_loss() - loss).abs() <= 1e-5 * loss.max(1.0));
        prop_assert_eq!(working.arrangement(), saved);
    }
}

#[test]
fn what_lies_on_bins_that_are_kept_keeps_to_them() {
    let at = |bin: usize, x: f64| Some((bin, pose(0.0, x, 0.0, 0)));
    let bins = vec![(7, None), (8, None), (9, None)];
    let mut arrangement = Arrangement { bins, places: vec![at(2, 1.0), at(0, 2.0), None, at(1, 3.0)] };
    arrangement.keep_bins(|bin| bin != 0);
    assert_eq!(arrangement.bins, [(8, None), (9, None)]);
    assert_eq!(arrangement.places, [at(1, 1.0), None, None, at(0, 3.0)]);
}

#[test]
fn an_evaluation_stops_at_its_bound() {
    let square = (rectangle(10.0, 10.0), Turns::List(vec![0.0]));
    let task = prepared(job(&[square.clone(), square], rectangle(40.0, 40.0)));
    let mut working = Working::new(&task, vec![0, 1]);
    let bin = working.open(0, task.container(0), None);
    working.put(0, bin, pose(0.0, 20.0, 20.0, 0));
    let full = working.evaluate(1, bin, pose(0.0, 21.0, 20.0, 0), f64::INFINITY);
    assert!(full > 0.0 && full.is_finite());
    assert_eq!(working.evaluate(1, bin, pose(0.0, 21.0, 20.0, 0), full / 2.0), f64::INFINITY);
    assert_eq!(working.evaluate(1, bin, pose(0.0, 30.0, 20.0, 0), 0.0), 0.0, "side by side");
}

#[test]
fn the_separator_takes_six_squares_apart() {
    let square = (rectangle(10.0, 10.0), Turns::List(vec![0.0]));
    let task = prepared(job(&vec![square; 6], rectangle(31.0, 21.0)));
    let mut working = Working::new(&task, task.items());
    let bin = working.open(0, task.container(0), None);
    for item in 0..6 {
        working.put(item, bin, pose(0.0, 15.0, 10.0, 0));
    }
    let mut separator = Separator::new(SeparatorSettings::default(), &mut working);
    let mut rng = SearchRng::new(7, 0);
    let outcome = loop {
        match separator.sweep(&mut working, &mut rng) {
            Outcome::Going => {}
            end => break end,
        }
    };
    assert_eq!(outcome, Outcome::Separated);
    assert_eq!(working.total_loss(), 0.0);
}

#[test]
fn a_notch_and_a_hole_in_the_sheet_are_obstacles() {
    let notched = Shape::new(
        Outline::polygon([
            Point::new(0.0, 0.0),
            Point::new(100.0, 0.0),
            Point::new(100.0, 50.0),
            Point::new(50.0, 50.0),
            Point::new(50.0, 100.0),
            Point::new(0.0, 100.0),
        ]),
        vec![Outline::circle(Point::new(20.0, 20.0), 10.0)],
    );
    let task = prepared(job(&[(rectangle(10.0, 10.0), Turns::Any)], notched));
    let mut working = Working::new(&task, vec![0]);
    let bin = working.open(0, task.container(0), None);
    let mut loss = |x, y| working.evaluate(0, bin, pose(0.0, x, y, 0), f64::INFINITY);
    assert_eq!(loss(45.0, 45.0), 0.0, "in the inner corner");
    assert!(loss(80.0, 80.0) > 0.0, "in the notch");
    assert!(loss(52.0, 60.0) > 0.0, "over the notch's edge");
    assert!(loss(20.0, 20.0) > 0.0, "over the hole");
    assert!(loss(97.0, 10.0) > 0.0, "over the sheet's edge");
    assert_eq!(loss(95.0, 5.0), 0.0);
}

#[test]
fn a_round_hole_in_the_sheet_is_no_larger_than_it_is() {
    let sheet = |has_hole: bool| {
        let circle = Outline::circle(Point::new(100.0, 90.0), 40.0);
        let (holes, damage) = if has_hole { (vec![circle], Vec::new()) } else { (Vec::new(), vec![circle]) };
        let outline = Shape::new(rectangle(200.0, 200.0).exterior().clone(), holes);
        (outline, damage)
    };
    for (shape, damage) in [sheet(true), sheet(false)] {
        let plain = job(&[(rectangle(10.0, 10.0), Turns::Any)], shape);
        let task = prepared(with_sheets(&plain, |sheets| sheets[0].damage = damage));
        let mut working = Working::new(&task, vec![0]);
        let bin = working.open(0, task.container(0), None);
        // A side of the square against the hole, all around it.
        for step in 0..50 {
            let turn = 7.2 * f64::from(step) + 0.3;
            let (sin, cos) = dropwise_geometry::sin_cos_deg(turn);
            let mut loss = |gap: f64| {
                let away = 45.0 + gap;
                working.evaluate(0, bin, pose(turn, 100.0 + away * cos, 90.0 + away * sin, 0), f64::INFINITY)
            };
            assert_eq!(loss(1e-6), 0.0, "beside it at {turn} degrees");
            assert!(loss(-0.001) > 0.0, "over its edge at {turn} degrees");
        }
    }
}

#[test]
fn a_polygon_that_is_no_room_has_no_pose() {
    let polygon = Polygon::default();
    assert_eq!(polygon.area(), 0.0);
    let task = prepared(job(&[(rectangle(10.0, 10.0), Turns::Any)], rectangle(9.0, 9.0)));
    assert!(!task.fits_somewhere(0));
    let task = prepared(job(&[(rectangle(10.0, 10.0), Turns::Any)], rectangle(10.0, 10.0)));
    assert!(task.fits_somewhere(0), "exactly as large as its sheet");
}
