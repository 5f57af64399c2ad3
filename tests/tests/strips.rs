//! Stock sold by length: what of it can be ordered, what a bound may say of it, and by which search it is nested.

use std::ops::ControlFlow;
use std::path::Path;

use dropwise_formats::{load_job, parse_job};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, OpenLength, Part, Plan, Reason, Sheet, StockClass, Turns};
use dropwise_nest::internals::Prepared;
use dropwise_nest::{Settings, nest};
use dropwise_tests::{forms, judge};

fn fixture(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/strips").join(name)
}

fn refused(name: &str) -> String {
    let errors = load_job(&fixture(name)).expect_err("it cannot be nested");
    errors.iter().map(|error| format!("{error}\n")).collect()
}

fn solved(job: &Job, rounds: u64) -> Plan {
    let settings = Settings { time_limit: None, rounds: Some(rounds), ..Settings::default() };
    let plan = nest(job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
    assert_eq!(judge(job, &plan), Vec::<String>::new());
    plan
}

#[test]
fn a_strip_of_which_margins_leave_nothing_is_refused() {
    for name in ["no-room.toml", "no-room-beside-sheet.toml"] {
        let told = refused(name);
        assert!(told.contains("narrow coil") && told.contains("20 mm") && told.contains("12 mm"), "{name}: {told}");
    }
}

#[test]
fn a_strip_of_which_no_piece_is_long_enough_is_refused() {
    let told = refused("no-order-possible.toml");
    assert!(told.contains("5000 mm is sold as 8000 mm") && told.contains("6000 mm"), "{told}");
}

/// Six plates of 100 by 80 mm on some strips, and a sheet beside them where one is given.
fn plates(margin: f64, strips: &[(f64, f64, f64, f64)], sheet: Option<(f64, f64)>) -> Job {
    let class = StockClass::new("steel, 2 mm");
    let part = Part { quantity: 6, ..Part::new("plate", forms::plain(forms::rectangle(100.0, 80.0)), class.clone()) };
    let mut sheets: Vec<Sheet> = strips
        .iter()
        .enumerate()
        .map(|(index, &(width, longest, increment, minimum))| Sheet {
            quantity: None,
            open_length: Some(OpenLength { increment, minimum, price_per_length: 1.5 }),
            ..Sheet::new(&format!("coil {index}"), forms::plain(forms::rectangle(longest, width)), class.clone())
        })
        .collect();
    sheets.extend(sheet.map(|(width, height)| Sheet {
        price: Money::from_coins(900),
        ..Sheet::new("sheet", forms::plain(forms::rectangle(width, height)), class)
    }));
    let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 0.0 };
    Job::new(vec![part], sheets, Clearances::new(0.0, 0.0, margin).expect("sound"), rule).expect("a sound job")
}

/// Too narrow for its margins; exactly as wide as both; too short for the least that is sold.
const USELESS: [(f64, f64, f64, f64); 3] =
    [(20.0, 600.0, 1.0, 0.0), (24.0, 600.0, 1.0, 0.0), (200.0, 6000.0, 4000.0, 5000.0)];

#[test]
fn a_strip_of_no_use_is_no_candidate() {
    for useless in USELESS {
        for seed in 0..3 {
            let job = plates(12.0, &[useless], None);
            let settings = Settings { seed, time_limit: None, rounds: Some(2), ..Settings::default() };
            let plan = nest(&job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
            let [unplaced] = plan.layout().unplaced.as_slice() else { panic!("{:?}", plan.layout()) };
            assert!(unplaced.count == 6 && matches!(unplaced.reason, Reason::TooLarge { nearest: 0, .. }));
        }
        let beside = solved(&plates(12.0, &[useless], Some((400.0, 300.0))), 2);
        assert!(beside.layout().unplaced.is_empty() && beside.layout().sheets.iter().all(|used| used.sheet == 1));
        assert!(beside.provenance().lower_bound.is_some_and(|bound| bound <= 900));
        let coils = solved(&plates(12.0, &[useless, (194.0, 2000.0, 1.0, 0.0)], None), 2);
        assert!(coils.layout().unplaced.is_empty() && coils.layout().sheets.iter().all(|used| used.sheet == 1));
    }
}

#[test]
fn a_longest_piece_that_is_no_multiple_costs_what_can_be_ordered_of_it() {
    let cost = |name: &str| {
        let loaded = load_job(&fixture(name)).unwrap_or_else(|errors| panic!("{errors:#?}"));
        let plan = solved(&loaded.job, 25);
        (plan.figures().material_cost.coins(), plan.provenance().lower_bound)
    };
    let (longer, bound) = cost("bound-1999.toml");
    assert_eq!(longer, 2800);
    assert_eq!(bound, Some(2800), "two metres are the least that is sold for that area");
    assert_eq!(cost("bound-1000.toml").0, 2800);
    let (feet, bound) = cost("bound-feet.toml");
    assert!(feet == 3840 && bound.is_some_and(|bound| bound <= feet), "{feet} {bound:?}");
}

#[test]
fn no_bound_exceeds_a_plan_whatever_is_sold() {
    for (index, increment) in [1.0, 70.0, 304.8, 333.3, 900.0].into_iter().enumerate() {
        for (longest, minimum) in [(1000.0, 0.0), (1999.0, 610.0), (950.0, 50.0)] {
            for sheet in [None, Some((250.0, 180.0))] {
                let margin = 3.0 * index as f64;
                let plan = solved(&plates(margin, &[(190.0, longest, increment, minimum)], sheet), 2);
                let (cost, bound) = (plan.figures().material_cost.coins(), plan.provenance().lower_bound);
                assert!(bound.is_none_or(|bound| bound <= cost), "{increment} {longest} {minimum}: {bound:?} > {cost}");
            }
        }
    }
}

/// Angles on a coil; `quantity` is a line of the job file, or nothing.
fn coil(copies: u32, longest: u32, quantity: &str) -> Job {
    let text = format!(
        r#"
clearances = {{ kerf = 0, web = 2, margin = 0 }}
defaults = {{ material = "mild steel", thickness = "2 mm" }}
[[parts]]
name = "angle"
quantity = {copies}
l_shape = {{ length_x = 110, width_x = 30, length_y = 80, width_y = 25 }}
[[sheets]]
name = "coil"
strip = {{ width = 300, longest = {longest} }}
price = "10 per m"
{quantity}
"#
    );
    parse_job(Path::new("job.toml"), &text).unwrap_or_else(|errors| panic!("{errors:#?}")).job
}

#[test]
fn stock_by_length_is_one_search_whatever_its_quantity() {
    let settings = Settings { time_limit: None, ..Settings::default() };
    let searches = |job: Job| Prepared::new(job).searches(&settings);
    let alone = searches(coil(8, 2000, "quantity = 1"));
    assert_eq!(alone, ["strip", "strip"]);
    for quantity in ["", "quantity = \"unlimited\"", "quantity = 5"] {
        assert_eq!(searches(coil(8, 2000, quantity)), alone, "`{quantity}`");
    }
    let length = |quantity: &str| solved(&coil(8, 2000, quantity), 4).layout().sheets[0].length;
    assert_eq!(length(""), length("quantity = 1"), "and ends in the same plan");
    // Where one length cannot hold everything, several are searched for.
    assert_eq!(searches(coil(12, 200, "")), ["sheets", "sheets"]);
}

#[test]
fn a_search_for_several_lengths_goes_on_while_there_is_something_to_gain() {
    let job = coil(12, 400, "");
    let mut rounds = 0;
    let settings = Settings { time_limit: None, rounds: Some(30), ..Settings::default() };
    let plan = nest(&job, &settings, |progress| {
        rounds = progress.rounds;
        ControlFlow::Continue(())
    })
    .expect("a plan");
    assert_eq!(judge(&job, &plan), Vec::<String>::new());
    let (cost, bound) = (plan.figures().material_cost.coins(), plan.provenance().lower_bound.expect("there is one"));
    assert!(cost > bound && rounds == 30, "it stopped after {rounds} rounds at {cost}, with a bound of {bound}");
}

#[test]
fn turned_parts_may_still_not_leave_the_longest_piece() {
    // A bar just as long as the longest piece that can be ordered, which is shorter than the longest there is.
    let class = StockClass::new("steel, 2 mm");
    let bar = Part {
        turns: Turns::List(vec![0.0]),
        ..Part::new("bar", forms::plain(forms::rectangle(914.4, 50.0)), class.clone())
    };
    let strip = Sheet {
        quantity: None,
        open_length: Some(OpenLength { increment: 304.8, minimum: 0.0, price_per_length: 1.0 }),
        ..Sheet::new("coil", forms::plain(forms::rectangle(1000.0, 60.0)), class)
    };
    let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 0.0 };
    let job = Job::new(vec![bar], vec![strip], Clearances::default(), rule).expect("a sound job");
    let plan = solved(&job, 1);
    assert!(plan.layout().sheets[0].length.is_some_and(|length| (length - 914.4).abs() < 1e-6));
    assert_eq!(plan.provenance().lower_bound, Some(914));
}
