//! Nests that are cut out by hand.

use std::ops::ControlFlow;

use dropwise_geometry::{Outline, Point, Segment, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Part, Plan, Sheet, StockClass, set_ups};
use dropwise_nest::{HandWork, Settings, nest};

fn polygon(corners: &[(f64, f64)]) -> Shape {
    Shape::new(Outline::polygon(corners.iter().map(|&(x, y)| Point::new(x, y))), Vec::new())
}

/// Plates and angles on two drops of different prices.
fn job() -> Job {
    let class = StockClass::new("mild steel, 3 mm");
    let part = |name: &str, quantity, shape| Part { quantity, ..Part::new(name, shape, class.clone()) };
    let angle = polygon(&[(0.0, 0.0), (120.0, 0.0), (120.0, 40.0), (40.0, 40.0), (40.0, 100.0), (0.0, 100.0)]);
    let plate = polygon(&[(0.0, 0.0), (110.0, 0.0), (110.0, 70.0), (0.0, 70.0)]);
    let parts = vec![part("angle", 4, angle), part("plate", 5, plate)];
    let drop = |name: &str, (w, h): (f64, f64), coins| Sheet {
        price: Money::from_coins(coins),
        ..Sheet::new(name, polygon(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]), class.clone())
    };
    let sheets = vec![drop("long", (700.0, 400.0), 1400), drop("large", (1000.0, 800.0), 4000)];
    let rule = LeftoverRule { length: 300.0, width: 200.0, neck: 50.0 };
    Job::new(parts, sheets, Clearances::new(1.5, 6.0, 3.0).unwrap(), rule).unwrap()
}

fn nested(job: &Job, hand_work: HandWork, rounds: u64, threads: usize) -> Plan {
    let settings = Settings { rounds: Some(rounds), time_limit: None, threads, hand_work, ..Settings::default() };
    nest(job, &settings, |_| ControlFlow::Continue(())).unwrap()
}

/// Set-ups for all straight sides, counted from the plan's placements.
fn counted(job: &Job, plan: &Plan) -> usize {
    let of_sheet = |used: &dropwise_model::SheetUse| {
        let shapes = used.placements.iter().map(|placed| job.parts()[placed.part].shape.transformed(placed.position));
        let outlines: Vec<Shape> = shapes.collect();
        let lines = outlines.iter().flat_map(|shape| shape.exterior().segments());
        let sides =
            lines.filter_map(|side| if let Segment::Line { start, end } = side { Some((start, end)) } else { None });
        set_ups(&sides.collect::<Vec<_>>())
    };
    plan.layout().sheets.iter().map(of_sheet).sum()
}

#[test]
fn parts_are_laid_in_lines_at_no_greater_cost_of_metal() {
    let job = job();
    let plain = nested(&job, HandWork::default(), 8, 2);
    let by_hand = nested(&job, HandWork::by_set_up(75.0), 8, 2);
    assert!(by_hand.layout().unplaced.is_empty());
    assert!(by_hand.figures().material_cost <= plain.figures().material_cost);
    let (before, after) = (counted(&job, &plain), counted(&job, &by_hand));
    assert!(10 * after <= 6 * before, "{before} set-ups, then {after}");
}

#[test]
fn the_plan_is_the_same_on_any_number_of_threads() {
    let job = job();
    let plans = [1, 2, 3].map(|threads| nested(&job, HandWork::by_set_up(75.0), 4, threads));
    assert_eq!(plans[0].layout(), plans[1].layout());
    assert_eq!(plans[0].layout(), plans[2].layout());
}
