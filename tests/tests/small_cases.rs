//! The smallest jobs on which the random jobs found a fault in the nester, each named for what went wrong.

use std::ops::ControlFlow;

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, OpenLength, Part, Plan, Reason, Sheet, StockClass, Turns};
use dropwise_nest::{Settings, nest};
use dropwise_tests::{forms, judge};

fn class() -> StockClass {
    StockClass::new("mild steel, 2 mm")
}

/// Some of a part that keeps the way it is drawn.
fn fixed(outline: Outline, quantity: u32) -> Part {
    Part {
        quantity,
        turns: Turns::List(vec![0.0]),
        may_flip: false,
        ..Part::new("part", forms::plain(outline), class())
    }
}

fn sheet(shape: Shape, price: i64) -> Sheet {
    Sheet { price: Money::from_coins(price), ..Sheet::new("sheet", shape, class()) }
}

fn strip(length: f64, width: f64, terms: OpenLength) -> Sheet {
    Sheet { open_length: Some(terms), ..sheet(forms::plain(forms::rectangle(length, width)), 0) }
}

fn solved(parts: Vec<Part>, sheet: Sheet, (web, margin): (f64, f64), keep: (f64, f64)) -> Plan {
    let rule = LeftoverRule { length: keep.0, width: keep.1, neck: 0.0 };
    let clearances = Clearances::new(0.0, web, margin).expect("sound clearances");
    let job = Job::new(parts, vec![sheet], clearances, rule).expect("a sound job");
    // A fault may hide from one seed.
    let plans: Vec<Plan> = (0..8)
        .map(|seed| {
            let settings =
                Settings { seed, time_limit: None, rounds: Some(2), chains: 1, threads: 1, ..Settings::default() };
            let plan = nest(&job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
            assert_eq!(judge(&job, &plan), Vec::<String>::new(), "seed {seed}");
            plan
        })
        .collect();
    plans.into_iter().next_back().expect("eight plans")
}

const KEEP_NOTHING: (f64, f64) = (1e6, 1e6);

#[test]
fn parts_of_which_there_is_no_stock_are_named() {
    let brass = Part { class: StockClass::new("brass, 1 mm"), ..fixed(forms::rectangle(40.0, 30.0), 2) };
    let plan = solved(vec![brass], sheet(forms::plain(forms::rectangle(200.0, 100.0)), 0), (0.0, 0.0), KEEP_NOTHING);
    assert_eq!(
        plan.layout().unplaced.iter().map(|u| (&u.reason, u.count)).collect::<Vec<_>>(),
        [(&Reason::NoSuchStock, 2)]
    );
}

/// With a web more than twice the margin, the room of a part grown by half the web is the sheet grown by the rest; at
/// corners that point into the sheet it must not cut off the corner.
#[test]
fn corners_that_point_into_the_sheet_are_kept_clear_when_the_web_exceeds_twice_the_margin() {
    let u = forms::plain(forms::polygon(&[
        (0.0, 0.0),
        (300.0, 0.0),
        (300.0, 215.0),
        (215.0, 215.0),
        (215.0, 86.0),
        (86.0, 86.0),
        (86.0, 215.0),
        (0.0, 215.0),
    ]));
    let slot = Part { turns: Turns::List(vec![53.0, 233.0]), ..fixed(forms::slot(104.0, 78.0), 2) };
    let plan = solved(vec![slot], sheet(u, 824), (3.5, 0.0), KEEP_NOTHING);
    assert_eq!(plan.layout().unplaced, []);
}

#[test]
fn corners_of_holes_are_kept_clear_when_the_web_exceeds_twice_the_margin() {
    let hole = Outline::rectangle(Point::new(15.8, 23.8), 23.7, 104.1);
    let drop = sheet(Shape::new(forms::rectangle(158.0, 238.0), vec![hole]), 262);
    let plates = Part { quantity: 3, turns: Turns::Any, ..fixed(forms::rectangle(56.0, 45.0), 3) };
    let slot = Part { name: "slot".into(), ..fixed(forms::slot(91.0, 44.0), 1) };
    solved(vec![slot, plates], drop, (2.5, 0.0), KEEP_NOTHING);
}

#[test]
fn the_bound_counts_only_what_is_placed() {
    // Four need more area than the disc has; two fit.
    let disc = forms::plain(Outline::circle(Point::new(50.0, 20.0), 68.0));
    let disc = Sheet { leftover_worth: 0.01, scrap_worth: 0.002, ..sheet(disc, 3954) };
    let plan = solved(vec![fixed(forms::rectangle(92.3, 42.0), 4)], disc, (0.0, 0.0), (38.0, 24.0));
    assert!(plan.certificate().parts_checked() < 4);
}

#[test]
fn the_bound_for_stock_by_length_adds_no_worth_that_it_did_not_take_off() {
    let terms = OpenLength { increment: 1.0, minimum: 50.0, price_per_length: 1.123 };
    let coil = Sheet { leftover_worth: 0.01, ..strip(464.0, 224.0, terms) };
    solved(vec![fixed(forms::arched(89.0, 66.0, 0.295), 1)], coil, (0.0, 0.0), (118.0, 80.0));
}

#[test]
fn the_bound_for_stock_by_length_is_not_above_its_rounded_price() {
    // The least length costs 54.35, which is charged as 54.
    let terms = OpenLength { increment: 0.001, minimum: 50.0, price_per_length: 1.087 };
    let plan =
        solved(vec![fixed(forms::rectangle(40.0, 18.0), 1)], strip(639.0, 187.0, terms), (0.0, 0.0), KEEP_NOTHING);
    assert_eq!(plan.figures().sheets_price, Money::from_coins(54));
}
