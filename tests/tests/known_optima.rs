//! Packings whose optimum is known: how near the nester comes in few rounds, and that it never comes below it.
//!
//! Each ratio stands beside its source and is a little above what was measured, so that a nester that gets worse fails.
//! A nest below a proved optimum would be an overlap that no check saw.
#![allow(clippy::print_stdout, reason = "what was reached is for people who look")]

use std::ops::ControlFlow;

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, OpenLength, Part, Plan, Sheet, StockClass, Turns};
use dropwise_nest::{Settings, nest};
use dropwise_tests::{forms, judge};

/// What the certificate allows a length to fall short by, with room for several parts in a row.
const HAIR: f64 = 1e-6;

fn class() -> StockClass {
    StockClass::new("sheet")
}

fn part(name: String, shape: Shape, quantity: u32, turns: Turns, may_flip: bool) -> Part {
    Part { name, shape, quantity, class: class(), turns, may_flip, need: Need::Required }
}

fn sheet(name: String, shape: Shape, price: i64, open_length: Option<OpenLength>) -> Sheet {
    Sheet {
        name,
        shape,
        damage: Vec::new(),
        class: class(),
        quantity: Some(1),
        price: Money::from_coins(price),
        grain_deg: None,
        location: String::new(),
        open_length,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    }
}

fn job(parts: Vec<Part>, sheets: Vec<Sheet>) -> Job {
    // Larger than anything here: no leftover is kept.
    let rule = LeftoverRule { length: 1e6, width: 1e6, neck: 0.0 };
    Job::new(parts, sheets, Clearances::new(0.0, 0.0, 0.0).expect("zero is allowed"), rule).expect("a sound job")
}

fn solved(job: &Job, rounds: u64) -> Plan {
    let settings =
        Settings { seed: 1, time_limit: None, rounds: Some(rounds), chains: 2, threads: 0, ..Settings::default() };
    let plan = nest(job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
    assert_eq!(judge(job, &plan), Vec::<String>::new());
    plan
}

/// Rungs of the ladder of square sheets from 2 % below the optimum up.
const RUNGS: i32 = 120;
/// From one rung to the next, as a fraction of the optimum.
const STEP: f64 = 0.002;

/// The side of the smallest square sheet of a ladder that the nester fills with all pieces, over the proved optimum.
///
/// Two sheets cost more than any one, and a larger one more than a smaller: the cheapest plan is the smallest square.
fn square_ratio(pieces: Part, optimum: f64, rounds: u64) -> f64 {
    let ratio = |rung: i32| 0.98 + STEP * f64::from(rung);
    let sheets = (0..RUNGS)
        .map(|rung| {
            let side = optimum * ratio(rung);
            sheet(format!("{rung}"), forms::plain(forms::rectangle(side, side)), i64::from(1000 + rung), None)
        })
        .collect();
    let job = job(vec![pieces], sheets);
    let plan = solved(&job, rounds);
    assert_eq!(plan.layout().unplaced, [], "all fit on the largest sheet");
    assert_eq!(plan.layout().sheets.len(), 1, "one sheet is cheaper than two");
    ratio(plan.layout().sheets[0].sheet as i32)
}

/// Checks a list of `(count, optimum, ratio to reach)`, printing what was reached.
fn check_squares(what: &str, cases: &[(u32, f64, f64)], rounds: u64, piece: impl Fn(u32) -> Part) {
    let mut faults = Vec::new();
    for &(count, optimum, wanted) in cases {
        let reached = square_ratio(piece(count), optimum, rounds);
        println!("{count} {what} in a square: {reached:.3} of the optimum, {wanted} wanted");
        if reached < 1.0 - HAIR {
            faults.push(format!("{count}: {reached} of the proved optimum cannot be: parts overlap"));
        }
        if reached > wanted + HAIR {
            faults.push(format!("{count}: {reached} of the optimum, {wanted} wanted"));
        }
    }
    assert!(faults.is_empty(), "{what}: {faults:#?}");
}

#[test]
fn unit_squares_in_a_square() {
    // Sides proved optimal: Friedman, "Packing Unit Squares in Squares", Electronic J. Combinatorics DS7 (2009).
    // For 5 and 10, squares turned by 45 degrees lie between others; square to the edges, 3 and 4 would be needed.
    let half_diagonal = 0.5_f64.sqrt();
    let cases = [
        (2, 2.0, 1.006),
        (3, 2.0, 1.008),
        (5, 2.0 + half_diagonal, 1.012),
        (6, 3.0, 1.008),
        (7, 3.0, 1.012),
        (8, 3.0, 1.012),
        (10, 3.0 + half_diagonal, 1.024),
    ];
    // Sized as parts are, in millimetres: 100 is one.
    let scaled = cases.map(|(count, side, wanted)| (count, 100.0 * side, wanted));
    check_squares("unit squares", &scaled, 40, |count| {
        part("square".into(), forms::plain(forms::rectangle(100.0, 100.0)), count, Turns::Any, false)
    });
}

#[test]
fn equal_circles_in_a_square() {
    // Radius in the unit square: Friedman, "Circles in Squares"; proved for all n to 20. The side for unit circles is
    // its inverse.
    let cases = [
        (2, 0.292_893_219, 1.006),
        (3, 0.254_333_095, 1.008),
        (5, 0.207_106_781, 1.008),
        (7, 0.174_457_630, 1.012),
        (10, 0.148_204_323, 1.024),
        (13, 0.133_993_514, 1.04),
        (20, 0.111_382_348, 1.02),
    ];
    let scaled = cases.map(|(count, radius, wanted)| (count, 25.0 / radius, wanted));
    check_squares("circles", &scaled, 40, |count| {
        part("disc".into(), forms::plain(Outline::circle(Point::ORIGIN, 25.0)), count, Turns::Any, false)
    });
}

/// The length of strip that the nester needs, over the optimum, which fills the strip without a gap.
fn strip_ratio(parts: Vec<Part>, width: f64, optimum: f64, rounds: u64) -> f64 {
    let area: f64 = parts.iter().map(|p| p.shape.area() * f64::from(p.quantity)).sum();
    assert!((area - width * optimum).abs() < 1e-6 * area, "the optimum is full: {area} and {}", width * optimum);
    let strip = sheet(
        "strip".into(),
        forms::plain(forms::rectangle(4.0 * optimum, width)),
        0,
        Some(OpenLength { increment: 1e-6 * width, minimum: 0.0, price_per_length: 1000.0 / width }),
    );
    let job = job(parts, vec![strip]);
    let plan = solved(&job, rounds);
    assert_eq!(plan.layout().unplaced, [], "the strip is long enough");
    plan.layout().sheets[0].length.expect("stock by length") / optimum
}

fn check_strip(what: &str, parts: Vec<Part>, (width, optimum): (f64, f64), wanted: f64, rounds: u64) {
    let reached = strip_ratio(parts, width, optimum, rounds);
    println!("{what}: {reached:.4} of the optimum, {wanted} wanted");
    assert!(reached > 1.0 - HAIR, "{what}: {reached} of the optimum cannot be: parts overlap");
    assert!(reached <= wanted, "{what}: {reached} of the optimum, {wanted} wanted");
}

fn squares(sides: &[f64], scale: f64) -> Vec<Part> {
    let square = |side: f64| forms::plain(forms::rectangle(scale * side, scale * side));
    sides.iter().map(|&side| part(format!("{side}"), square(side), 1, Turns::List(vec![0.0]), false)).collect()
}

#[test]
fn the_perfect_squared_rectangle_of_order_nine() {
    // 33 x 32 by nine unequal squares, found by Moroń (1925): Haramoto, "Simple Perfect Squared Rectangles".
    let parts = squares(&[18.0, 15.0, 7.0, 8.0, 14.0, 4.0, 10.0, 1.0, 9.0], 10.0);
    check_strip("33 x 32 by nine squares", parts, (320.0, 330.0), 1.22, 20);
}

#[test]
fn the_perfect_squared_square_of_order_twenty_one() {
    // 112 x 112 by 21 unequal squares, of the lowest order: Duijvestijn, "Simple Perfect Squared Square of Lowest Order",
    // J. Combin. Theory B 25 (1978) 240-243; OEIS A014530.
    let sides = [
        2.0, 4.0, 6.0, 7.0, 8.0, 9.0, 11.0, 15.0, 16.0, 17.0, 18.0, 19.0, 24.0, 25.0, 27.0, 29.0, 33.0, 35.0, 37.0,
        42.0, 50.0,
    ];
    check_strip("112 x 112 by 21 squares", squares(&sides, 5.0), (560.0, 560.0), 1.09, 20);
}

#[test]
fn the_tangram_in_its_square() {
    // Seven pieces of total area 16 that fill a 4 x 4 square (layout from memory; areas and fit checked by hand). They
    // need turns of 45 degrees; the parallelogram is given face down, so that the square needs its flip.
    let piece = |name: &str, corners: &[(f64, f64)], may_flip| {
        let scaled: Vec<(f64, f64)> = corners.iter().map(|&(x, y)| (100.0 * x, 100.0 * y)).collect();
        let eighths = (0..8).map(|i| 45.0 * f64::from(i)).collect();
        part(name.into(), forms::plain(forms::polygon(&scaled)), 1, Turns::List(eighths), may_flip)
    };
    let parts = vec![
        piece("large triangle 1", &[(0.0, 0.0), (4.0, 0.0), (2.0, 2.0)], false),
        piece("large triangle 2", &[(0.0, 0.0), (2.0, 2.0), (0.0, 4.0)], false),
        piece("middle triangle", &[(4.0, 4.0), (2.0, 4.0), (4.0, 2.0)], false),
        piece("small triangle 1", &[(4.0, 0.0), (4.0, 2.0), (3.0, 1.0)], false),
        piece("small triangle 2", &[(2.0, 2.0), (3.0, 3.0), (1.0, 3.0)], false),
        piece("square", &[(3.0, 1.0), (4.0, 2.0), (3.0, 3.0), (2.0, 2.0)], false),
        piece("parallelogram", &[(-1.0, 3.0), (-3.0, 3.0), (-2.0, 4.0), (0.0, 4.0)], true),
    ];
    check_strip("tangram", parts, (400.0, 400.0), 1.02, 80);
}
