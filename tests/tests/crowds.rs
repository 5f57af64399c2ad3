//! Thousands of copies: the first layout takes little work, and a search that is stopped still gives a proved plan.

use std::ops::ControlFlow;
use std::time::Duration;

use dropwise_model::{Clearances, Job, LeftoverRule, Money, OpenLength, Part, Reason, Sheet, StockClass};
use dropwise_nest::{NestError, Settings, Stop, nest};
use dropwise_tests::forms;

fn copies(kinds: &[(dropwise_geometry::Shape, u32)], is_strip: bool) -> Job {
    let class = StockClass::new("steel, 2 mm");
    let part = |(index, (shape, quantity)): (usize, &(dropwise_geometry::Shape, u32))| Part {
        quantity: *quantity,
        ..Part::new(&format!("part {index}"), shape.clone(), class.clone())
    };
    let sheet = Sheet {
        quantity: None,
        price: Money::from_coins(1000),
        open_length: is_strip.then_some(OpenLength { increment: 1.0, minimum: 0.0, price_per_length: 1.0 }),
        ..Sheet::new(
            "sheet",
            forms::plain(forms::rectangle(if is_strip { 20_000.0 } else { 1000.0 }, 500.0)),
            class.clone(),
        )
    };
    // No leftover is kept: their figures are not what is tried here.
    let rule = LeftoverRule { length: 1e6, width: 1e6, neck: 0.0 };
    let parts = kinds.iter().enumerate().map(part).collect();
    Job::new(parts, vec![sheet], Clearances::new(1.0, 2.0, 3.0).expect("sound"), rule).expect("a sound job")
}

#[test]
fn four_thousand_copies_are_laid_out_by_a_few_evaluations_each() {
    for is_strip in [false, true] {
        let square = (forms::plain(forms::rectangle(10.0, 10.0)), 3000);
        let angle = (forms::plain(forms::l_shape(30.0, 8.0, 20.0, 6.0)), 1000);
        let job = copies(&[square, angle], is_strip);
        let settings = Settings { time_limit: None, rounds: Some(0), ..Settings::default() };
        let mut evaluations = 0;
        let plan = nest(&job, &settings, |progress| {
            evaluations = progress.evaluations;
            ControlFlow::Continue(())
        })
        .expect("a plan");
        assert!(plan.layout().unplaced.is_empty(), "{:?}", plan.layout().unplaced);
        assert!(evaluations < 40 * 4000, "{evaluations} evaluations for the first layout");
        let yield_ratio = plan.figures().yield_ratio();
        assert!(is_strip || plan.layout().sheets.len() <= 3, "{} sheets", plan.layout().sheets.len());
        assert!(!is_strip || yield_ratio > 0.55, "{yield_ratio}");
    }
}

#[test]
fn a_search_that_is_stopped_before_it_begins_gives_a_proved_plan() {
    let job = copies(&[(forms::plain(forms::gusset(40.0, 30.0, 5.0)), 900)], false);
    let stop = Stop::default();
    stop.set();
    let settings = Settings { time_limit: None, stop, ..Settings::default() };
    let plan = nest(&job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
    let unplaced: u32 = plan.layout().unplaced.iter().map(|unplaced| unplaced.count).sum();
    assert_eq!(plan.certificate().parts_checked() as u32 + unplaced, 900);
}

#[test]
fn more_pieces_than_can_be_held_are_told() {
    let job = copies(&[(forms::plain(forms::rectangle(10.0, 10.0)), 30_001)], false);
    let error = nest(&job, &Settings::default(), |_| ControlFlow::Continue(())).expect_err("too many");
    assert!(matches!(error, NestError::TooManyPieces { pieces: 30_001, most: 30_000 }));
}

/// However fast the computer: what is left when the time is over was not refused for want of room, of which there is no end.
#[test]
fn what_the_time_did_not_reach_is_told_as_that() {
    let job = copies(&[(forms::plain(forms::l_shape(30.0, 8.0, 20.0, 6.0)), 30_000)], false);
    let settings = Settings { time_limit: Some(Duration::ZERO), ..Settings::default() };
    let plan = nest(&job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
    assert!(plan.layout().unplaced.iter().all(|unplaced| unplaced.reason == Reason::OutOfTime));
    let unplaced: u32 = plan.layout().unplaced.iter().map(|unplaced| unplaced.count).sum();
    assert_eq!(plan.certificate().parts_checked() as u32 + unplaced, 30_000);
}
