//! What is asked of a plan is in it, on any number of threads.

use std::ops::ControlFlow;

use dropwise_geometry::{Isometry, Outline, Point, Shape};
use dropwise_model::{
    Clearances, Hold, Instructions, Job, KeptTo, LeftoverRule, Money, Part, Placement, Reserved, Sheet, Standing,
    StockClass,
};
use dropwise_nest::{Settings, Start, nest};
use proptest::prelude::*;

fn rectangle(width: f64, height: f64) -> Shape {
    Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
}

/// Plates and an angle, on drops of which there are several.
fn job(told: Instructions) -> Job {
    let class = StockClass::new("3 mm");
    let corners = [(0.0, 0.0), (90.0, 0.0), (90.0, 30.0), (30.0, 30.0), (30.0, 90.0), (0.0, 90.0)];
    let angle = Shape::new(Outline::polygon(corners.map(|(x, y)| Point::new(x, y))), Vec::new());
    let parts = vec![
        Part { quantity: 4, ..Part::new("plate", rectangle(80.0, 50.0), class.clone()) },
        Part { quantity: 3, ..Part::new("angle", angle, class.clone()) },
    ];
    let sheet = |name: &str, width: f64, height: f64, price: i64, quantity: u32| Sheet {
        quantity: Some(quantity),
        price: Money::from_coins(price),
        leftover_worth: 1e-3,
        ..Sheet::new(name, rectangle(width, height), class.clone())
    };
    let sheets = vec![
        sheet("small", 220.0, 160.0, 400, 3),
        sheet("large", 400.0, 300.0, 1500, 1),
        sheet("long", 600.0, 110.0, 900, 2),
    ];
    let rule = LeftoverRule { length: 100.0, width: 60.0, neck: 20.0 };
    let job = Job::new(parts, sheets, Clearances::new(1.0, 3.0, 2.0).unwrap(), rule).unwrap();
    job.with_instructions(told).expect("instructions without a contradiction")
}

fn settings(threads: usize) -> Settings {
    Settings { rounds: Some(2), time_limit: None, threads, ..Settings::default() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn all_that_is_asked_is_in_the_plan(
        sheet in 0..3_usize,
        (x, y, turn) in (2.0..60.0_f64, 2.0..15.0_f64, prop_oneof![Just(0.0), Just(30.0)]),
        kept in prop::option::of(0..3_usize),
        clear in prop::option::of((0.0..120.0_f64, 0.0..60.0_f64)),
        standing in prop_oneof![Just(Standing::UsedUp), Just(Standing::Preferred), Just(Standing::Avoided)],
    ) {
        // Turned by 30 degrees its box begins 25 mm to the left of its corner.
        let position = Isometry::new(false, turn, x + if turn > 0.0 { 25.0 } else { 0.0 }, y);
        let told = Instructions {
            held: vec![Hold { part: 0, sheet, position }],
            kept_to: kept.into_iter().map(|sheet| KeptTo { part: 1, sheets: vec![sheet] }).collect(),
            reserved: clear
                .into_iter()
                .map(|(x, y)| Reserved { sheet: 1, area: Shape::new(Outline::rectangle(Point::new(x + 200.0, y), 60.0, 40.0), Vec::new()) })
                .collect(),
            standing: vec![(2, standing)],
        };
        let job = job(told);
        let go_on = |_: &dropwise_nest::Progress| ControlFlow::Continue(());
        let plan = nest(&job, &settings(1), go_on).expect("a plan, which was proved");
        prop_assert_eq!(&plan, &nest(&job, &settings(3), go_on).expect("the same on other threads"));
        let places = |part: usize| {
            let uses = plan.layout().sheets.iter();
            uses.flat_map(|used| used.placements.iter().map(move |placement| (used.sheet, *placement)))
                .filter(move |(_, placement)| placement.part == part)
                .collect::<Vec<(usize, Placement)>>()
        };
        let hold = job.instructions().held[0];
        prop_assert!(places(0).iter().any(|(on, placement)| *on == sheet && hold.is_met_by(placement)));
        if let Some(kept) = kept {
            prop_assert!(places(1).iter().all(|(on, _)| *on == kept), "{:?}", places(1));
        }
        // From that plan, and from another's.
        let start = Start { layout: plan.layout().clone(), name: "before".to_owned() };
        let again = nest(&job, &Settings { start: Some(start.clone()), rounds: Some(0), ..settings(1) }, go_on).unwrap();
        prop_assert!(again.layout().unplaced.len() <= plan.layout().unplaced.len());
        let free = self::job(Instructions::default());
        let from_held = nest(&free, &Settings { start: Some(start), ..settings(1) }, go_on).unwrap();
        if plan.layout().unplaced.is_empty() {
            prop_assert!(from_held.figures().material_cost <= plan.figures().material_cost);
        }
        let start = Start { layout: from_held.layout().clone(), name: "free".to_owned() };
        let on_from_free = nest(&job, &Settings { start: Some(start), ..settings(2) }, go_on);
        prop_assert!(on_from_free.is_ok());
    }
}
