//! Random layouts judged twice: by [`certify`] and by the general geometry library `geo`, on finely flattened shapes.

use dropwise_geometry::{Isometry, Outline, Point, Segment, Shape, Vertex};
use geo::{Area, BooleanOps, Distance, Euclidean};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use super::{Certificate, Violation, certify};
use crate::{Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Sheet, SheetUse, StockClass, Turns};

/// Chords in an arc. A half circle of radius 20 is then flattened to within 0.4 micrometres.
const CHORDS: usize = 256;
/// Areas below this are none to the referee, mm²: what flattening may add to touching arcs of the sizes used here.
const NO_AREA: f64 = 0.02;
/// What the referee's distances may be wrong by, mm.
const FLATTENING: f64 = 0.002;

fn flatten(ring: &Outline) -> geo::LineString {
    let points = ring.segments().flat_map(|segment| {
        let steps = if matches!(segment, Segment::Line { .. }) { 1 } else { CHORDS };
        (0..steps).map(move |i| segment.at(i as f64 / steps as f64))
    });
    points.map(|p| geo::Coord { x: p.x, y: p.y }).collect()
}

fn referee_polygon(shape: &Shape) -> geo::Polygon {
    geo::Polygon::new(flatten(shape.exterior()), shape.holes().iter().map(flatten).collect())
}

/// Plates, discs, washers, slots, frames and gussets of 10 to 40 mm about the origin.
fn any_part() -> impl Strategy<Value = Shape> {
    let p = Point::new;
    let plain = |outline| Shape::new(outline, Vec::new());
    prop_oneof![
        (10.0..40.0f64, 10.0..40.0f64).prop_map(move |(w, h)| plain(Outline::rectangle(p(-w / 2.0, -h / 2.0), w, h))),
        (5.0..20.0f64).prop_map(move |r| plain(Outline::circle(Point::ORIGIN, r))),
        (10.0..20.0f64, 0.3..0.9f64).prop_map(|(r, inner)| {
            Shape::new(Outline::circle(Point::ORIGIN, r), vec![Outline::circle(Point::ORIGIN, r * inner)])
        }),
        (10.0..30.0f64, 4.0..12.0f64, -1.0..1.0f64).prop_map(move |(l, w, bulge)| {
            // Ends bulged out or scooped in; scoops of a narrow slot stay apart because it is longer than wide.
            let bulge = bulge.max(-0.8);
            plain(Outline::new(vec![
                Vertex::line(p(0.0, 0.0)),
                Vertex::arc(p(l, 0.0), bulge),
                Vertex::line(p(l, w.min(l * 0.8))),
                Vertex::arc(p(0.0, w.min(l * 0.8)), bulge),
            ]))
        }),
        (20.0..40.0f64, 0.2..0.8f64).prop_map(move |(side, inner)| {
            let hole = side * inner;
            Shape::new(
                Outline::rectangle(p(-side / 2.0, -side / 2.0), side, side),
                vec![Outline::rectangle(p(-hole / 2.0, -hole / 2.0), hole, hole)],
            )
        }),
        (15.0..40.0f64, 15.0..40.0f64).prop_map(move |(w, h)| plain(Outline::polygon([
            p(0.0, 0.0),
            p(w, 0.0),
            p(w / 3.0, h / 3.0),
            p(0.0, h)
        ]))),
    ]
}

/// A drop of some 100 x 80 with a bay, a round end, a hole and damage over its edge.
fn drop_of_many_troubles() -> Sheet {
    let p = Point::new;
    let exterior = Outline::new(vec![
        Vertex::line(p(0.0, 0.0)),
        Vertex::arc(p(100.0, 0.0), 0.4),
        Vertex::line(p(100.0, 80.0)),
        Vertex::line(p(60.0, 80.0)),
        Vertex::arc(p(55.0, 60.0), -0.7),
        Vertex::line(p(40.0, 60.0)),
        Vertex::line(p(40.0, 80.0)),
        Vertex::line(p(0.0, 80.0)),
    ]);
    Sheet {
        name: "drop".into(),
        shape: Shape::new(exterior, vec![Outline::circle(p(75.0, 35.0), 6.0)]),
        damage: vec![Outline::rectangle(p(-5.0, 30.0), 15.0, 12.0)],
        class: StockClass::new("zinc, 1 mm"),
        quantity: None,
        price: Money::ZERO,
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 0.0,
    }
}

fn job_of(shapes: &[Shape], sheet: Sheet, web: f64, margin: f64) -> Job {
    let parts = shapes
        .iter()
        .enumerate()
        .map(|(i, shape)| Part {
            name: i.to_string(),
            shape: shape.clone(),
            quantity: 1,
            class: sheet.class.clone(),
            turns: Turns::Any,
            may_flip: true,
            need: Need::Required,
        })
        .collect();
    let rule = LeftoverRule { length: 50.0, width: 50.0, neck: 5.0 };
    Job::new(parts, vec![sheet], Clearances::new(0.0, web, margin).expect("good"), rule).expect("a good job")
}

/// What the referee says of one check: clearly wrong, clearly right with its distance, or too close to call.
#[derive(Clone, Copy, Debug)]
enum Verdict {
    Overlap,
    Apart(f64),
    CloseCall,
}

fn verdict(common_area: f64, distance: impl FnOnce() -> f64) -> Verdict {
    if common_area > NO_AREA {
        return Verdict::Overlap;
    }
    match distance() {
        apart if apart > FLATTENING => Verdict::Apart(apart),
        _ => Verdict::CloseCall,
    }
}

/// Compares what [`certify`] said of one pair with the referee's verdict. `deep` and `near` are its complaints, the
/// latter with the distance it found.
fn agree(verdict: Verdict, wanted: f64, deep: bool, near: Option<f64>) -> Result<(), TestCaseError> {
    match verdict {
        Verdict::CloseCall => {}
        Verdict::Overlap => prop_assert!(deep, "the referee sees an overlap, the certificate none"),
        Verdict::Apart(distance) => {
            prop_assert!(!deep, "the certificate sees an overlap where the referee measures {}", distance);
            if let Some(found) = near {
                prop_assert!((found - distance).abs() < FLATTENING, "found {}, referee {}", found, distance);
                prop_assert!(distance < wanted + FLATTENING);
            } else {
                prop_assert!(distance > wanted - FLATTENING, "the referee measures {}, {} wanted", distance, wanted);
            }
        }
    }
    Ok(())
}

fn any_place() -> impl Strategy<Value = Isometry> {
    let turn = prop_oneof![Just(0.0), Just(90.0), 0.0..360.0f64];
    (any::<bool>(), turn, 5.0..110.0f64, 5.0..75.0f64).prop_map(|(flip, turn, x, y)| Isometry::new(flip, turn, x, y))
}

#[test]
fn the_certificate_agrees_with_an_independent_library_on_random_layouts() {
    let strategy = (prop::collection::vec((any_part(), any_place()), 2..6), 0.0..6.0f64, 0.0..6.0f64);
    let counts = std::cell::Cell::new([0usize; 4]);
    let mut runner = TestRunner::new(Config { source_file: Some(file!()), ..Config::with_cases(150) });
    let outcome = runner.run(&strategy, |(parts, web, margin)| {
        let sheet = drop_of_many_troubles();
        let shapes: Vec<Shape> = parts.iter().map(|(shape, _)| shape.clone()).collect();
        let placements: Vec<_> =
            parts.iter().enumerate().map(|(part, &(_, position))| Placement { part, position }).collect();
        let job = job_of(&shapes, sheet.clone(), web, margin);
        let layout =
            Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
        let result = certify(&job, &layout);
        let violations = result.clone().err().unwrap_or_default();

        let placed: Vec<_> =
            parts.iter().map(|(shape, position)| referee_polygon(&shape.transformed(*position))).collect();
        let mut seen = counts.get();
        let mut has_close_call = false;
        let mut least = f64::INFINITY;
        for second in 0..placed.len() {
            for first in 0..second {
                let common = placed[first].intersection(&placed[second]).unsigned_area();
                let verdict = verdict(common, || Euclidean.distance(&placed[first], &placed[second]));
                let deep = violations.iter().any(
                    |v| matches!(v, Violation::Overlap { first: a, second: b, .. } if (*a, *b) == (first, second)),
                );
                let near = violations.iter().find_map(|v| match v {
                    Violation::TooClose { first: a, second: b, found, .. } if (*a, *b) == (first, second) => {
                        Some(*found)
                    }
                    _ => None,
                });
                agree(verdict, web, deep, near)?;
                match verdict {
                    Verdict::Overlap => seen[0] += 1,
                    Verdict::Apart(distance) => {
                        seen[1] += 1;
                        least = least.min(distance);
                    }
                    Verdict::CloseCall => has_close_call = true,
                }
            }
        }
        // The sheet's edge, hole and damage: each measured apart, as the certificate does.
        let outer = geo::Polygon::new(flatten(sheet.shape.exterior()), Vec::new());
        let around = geo::Polygon::new(
            geo::LineString::from(vec![(-500., -500.), (600., -500.), (600., 600.), (-500., 600.)]),
            vec![flatten(sheet.shape.exterior())],
        );
        let hole = geo::Polygon::new(flatten(&sheet.shape.holes()[0]), Vec::new());
        let damage = geo::Polygon::new(flatten(&sheet.damage[0]), Vec::new());
        for (placement, polygon) in placed.iter().enumerate() {
            let is_mine = |v: &&Violation| {
                matches!(v,
                    Violation::OutsideSheet { placement: p, .. } | Violation::TooCloseToEdge { placement: p, .. }
                        if *p == placement)
            };
            let mine = violations.iter().find(is_mine);
            let deep = matches!(mine, Some(Violation::OutsideSheet { .. }));
            let near = mine.and_then(|v| if let Violation::TooCloseToEdge { found, .. } = v { Some(*found) } else { None });
            let out = verdict(polygon.difference(&outer).unsigned_area(), || Euclidean.distance(polygon, &around));
            agree(out, margin, deep, near)?;
            seen[if matches!(out, Verdict::Overlap) { 2 } else { 3 }] += 1;
            has_close_call |= matches!(out, Verdict::CloseCall);
            // A part outside by its box alone is not compared with holes and damage.
            if deep {
                continue;
            }
            for (obstacle, zone) in [(super::Obstacle::Hole(0), &hole), (super::Obstacle::Damage(0), &damage)] {
                let deep = violations.iter().any(|v| {
                    matches!(v, Violation::OnObstacle { placement: p, obstacle: o, .. } if (*p, *o) == (placement, obstacle))
                });
                let near = violations.iter().find_map(|v| match v {
                    Violation::TooCloseToObstacle { placement: p, obstacle: o, found, .. }
                        if (*p, *o) == (placement, obstacle) => Some(*found),
                    _ => None,
                });
                let on = verdict(polygon.intersection(zone).unsigned_area(), || Euclidean.distance(polygon, zone));
                agree(on, margin, deep, near)?;
                has_close_call |= matches!(on, Verdict::CloseCall);
            }
        }
        if let (Ok(certificate), false) = (&result, has_close_call) {
            let found = certificate.least_between_parts().expect("two parts at least");
            prop_assert!((found - least).abs() < FLATTENING, "least distance {} and {}", found, least);
        }
        counts.set(seen);
        Ok(())
    });
    outcome.unwrap_or_else(|failure| panic!("{failure}"));
    let [overlapping, apart, outside, inside] = counts.get();
    assert!(overlapping > 100 && apart > 100 && outside > 50 && inside > 50, "{:?} seen", counts.get());
}

#[test]
fn shapes_cut_from_one_another_by_an_independent_library_fit_together() {
    // A random part cut out of a plate by the referee: both pieces share the whole cut, and must be accepted as
    // touching; with one of them moved by a few hundredths, refused.
    let strategy = (any_part(), 0.0..360.0f64, 0.0..360.0f64, -30.0..30.0f64, -30.0..30.0f64);
    let mut runner = TestRunner::new(Config { source_file: Some(file!()), ..Config::with_cases(100) });
    let decided = std::cell::Cell::new(0);
    let outcome = runner.run(&strategy, |(part, turn, push, x, y)| {
        let polygon = referee_polygon(&part.transformed(Isometry::new(false, turn, x, y)));
        let plate = geo::Polygon::new(
            geo::LineString::from(vec![(-30., -30.), (30., -30.), (30., 30.), (-30., 30.)]),
            Vec::new(),
        );
        let (inner, outer) = (plate.intersection(&polygon), plate.difference(&polygon));
        let shape = |p: &geo::Polygon| {
            let ring = |r: &geo::LineString| {
                Outline::polygon(r.coords().take(r.coords().count() - 1).map(|c| Point::new(c.x, c.y)))
            };
            Shape::new(ring(p.exterior()), p.interiors().iter().map(ring).collect())
        };
        // Splinters of less area than a pinhead are left out: pushed, they might not show.
        let pieces: Vec<Shape> =
            inner.iter().chain(outer.iter()).filter(|p| p.unsigned_area() > 1.0).map(shape).collect();
        let inner_count = inner.iter().filter(|p| p.unsigned_area() > 1.0).count();
        let sheet = Sheet {
            shape: Shape::new(Outline::rectangle(Point::new(-60.0, -60.0), 120.0, 120.0), Vec::new()),
            damage: Vec::new(),
            ..drop_of_many_troubles()
        };
        let job = job_of(&pieces, sheet, 0.0, 0.0);
        let layout = |moved: Option<(usize, Isometry)>| {
            let placements = (0..pieces.len())
                .map(|part| Placement {
                    part,
                    position: moved.filter(|m| m.0 == part).map_or(Isometry::IDENTITY, |m| m.1),
                })
                .collect();
            Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() }
        };
        let fitted = certify(&job, &layout(None));
        prop_assert!(fitted.is_ok(), "{:?}", fitted);
        if inner_count > 0 {
            let (dy, dx) = push.to_radians().sin_cos();
            let moved = layout(Some((0, Isometry::translation(dx * 0.05, dy * 0.05))));
            let moved_polygon = geo::Translate::translate(&referee_polygon(&pieces[0]), dx * 0.05, dy * 0.05);
            let common: f64 =
                pieces[1..].iter().map(|p| moved_polygon.intersection(&referee_polygon(p)).unsigned_area()).sum();
            let result: Result<Certificate, _> = certify(&job, &moved);
            // A part that fills its plate's corner may move out of the plate without meeting the other piece, or brush
            // along it: a sliver of so little area may or may not be deeper than a touch.
            let is_close_call = (1e-9..1e-4).contains(&common);
            prop_assert!(is_close_call || result.is_err() == (common >= 1e-4), "common area {}: {:?}", common, result);
            decided.set(decided.get() + u32::from(!is_close_call));
        }
        Ok(())
    });
    outcome.unwrap_or_else(|failure| panic!("{failure}"));
    assert!(decided.get() > 50, "{} cases decided", decided.get());
}
