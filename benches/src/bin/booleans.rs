//! Boolean operations on rectangles whose edges coincide: wrong results per million, and speed, beside geo's own.
//!
//! `cargo run --release -p dropwise-benches --bin booleans -- --cases 10000000 --state booleans.state`
//!
//! Each case is two lists of rectangles on a grid of whole millimetres, as drawn or turned; squares of the grid are counted
//! instead of asking a library. With `--state` a run that was stopped goes on where it was. A debug build also counts
//! the assertions of geo's engine that fail, as wrong results.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::fs;
use std::panic::catch_unwind;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Parser;
use dropwise_geometry::{BooleanError, Isometry, Point, Polygon, difference, intersection, union};
use geo::BooleanOps as _;
use geo::algorithm::bool_ops::{FillRule, OpType};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;

/// Boolean operations on edges that coincide.
#[derive(Debug, Parser)]
struct Arguments {
    /// Cases; each asks for a union, an intersection and a difference.
    #[arg(long, default_value_t = 100_000)]
    cases: u64,
    /// Where chance starts.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// A file to go on from and to write to.
    #[arg(long)]
    state: Option<PathBuf>,
    /// Leave geo's own operations out.
    #[arg(long)]
    ours_only: bool,
}

/// What was counted so far.
#[derive(Clone, Copy, Debug, Default, serde::Serialize, serde::Deserialize)]
struct Tally {
    cases: u64,
    ours_wrong: u64,
    ours_refused: u64,
    theirs_wrong: u64,
    ours_time: Duration,
    theirs_time: Duration,
    slowest: Duration,
}

/// Cases between two notes to the state file.
const PART: u64 = 10_000;

/// How far an area of at most 64 mm² may be off, mm².
const TOLERANCE: f64 = 1e-5;

const OPERATIONS: [OpType; 3] = [OpType::Union, OpType::Intersection, OpType::Difference];

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let mut tally = Tally::default();
    if let Some(path) = arguments.state.as_ref().filter(|path| path.exists()) {
        tally = serde_json::from_str(&fs::read_to_string(path)?)?;
        println!("going on after {} cases", tally.cases);
    }
    // What a wrong result of geo's engine says of itself is of no interest here.
    std::panic::set_hook(Box::new(|_| {}));
    while tally.cases < arguments.cases {
        let mut chance = Pcg64::seed_from_u64(arguments.seed ^ (tally.cases << 8));
        for _ in 0..PART.min(arguments.cases - tally.cases) {
            Case::new(&mut chance).count(&mut tally, arguments.ours_only);
            tally.cases += 1;
        }
        if let Some(path) = &arguments.state {
            fs::write(path, serde_json::to_string(&tally)?)?;
        }
    }
    print(&tally, arguments.ours_only);
    Ok(())
}

fn print(tally: &Tally, ours_only: bool) {
    let results = 3 * tally.cases;
    let per_million = |count: u64| count as f64 * 1e6 / results as f64;
    let each = |time: Duration| time.as_secs_f64() * 1e6 / results as f64;
    println!("{} cases, {results} results, slowest of ours {:?}", tally.cases, tally.slowest);
    println!("{:<8} {:>12} {:>14} {:>10} {:>12}", "", "wrong", "per million", "refused", "µs each");
    let ours = (tally.ours_wrong, per_million(tally.ours_wrong), tally.ours_refused, each(tally.ours_time));
    println!("{:<8} {:>12} {:>14.1} {:>10} {:>12.1}", "ours", ours.0, ours.1, ours.2, ours.3);
    if !ours_only {
        let theirs = (tally.theirs_wrong, per_million(tally.theirs_wrong), each(tally.theirs_time));
        println!("{:<8} {:>12} {:>14.1} {:>10} {:>12.1}", "geo", theirs.0, theirs.1, "-", theirs.2);
    }
}

/// Two lists of rectangles and what is right.
struct Case {
    first: Vec<Polygon>,
    second: Vec<Polygon>,
    expected: [f64; 3],
}

impl Case {
    fn new(chance: &mut Pcg64) -> Self {
        let (first, second) = (rectangles(chance), rectangles(chance));
        let turn = [0.0, 90.0, 30.0, 45.0, 12.345, chance.random_range(0.0..360.0)][chance.random_range(0..6)];
        let by = Isometry::new(false, turn, chance.random_range(-9.0..9.0), chance.random_range(-9.0..9.0));
        let covers = |list: &[[i32; 4]], x: i32, y: i32| {
            list.iter().any(|&[left, low, right, high]| (left..right).contains(&x) && (low..high).contains(&y))
        };
        let mut expected = [0.0; 3];
        for (x, y) in (0..8).flat_map(|x| (0..8).map(move |y| (x, y))) {
            let (a, b) = (covers(&first, x, y), covers(&second, x, y));
            for (count, is_in) in expected.iter_mut().zip([a || b, a && b, a && !b]) {
                *count += if is_in { 1.0 } else { 0.0 };
            }
        }
        let placed = |list: &[[i32; 4]]| list.iter().map(|&one| rectangle(one).transformed(by)).collect();
        Self { first: placed(&first), second: placed(&second), expected }
    }

    fn count(&self, tally: &mut Tally, ours_only: bool) {
        for (operation, expected) in OPERATIONS.into_iter().zip(self.expected) {
            let start = Instant::now();
            let ours = self.ours(operation);
            let time = start.elapsed();
            tally.ours_time += time;
            tally.slowest = tally.slowest.max(time);
            match ours {
                Ok(area) if (area - expected).abs() <= TOLERANCE => {}
                Ok(_) => tally.ours_wrong += 1,
                Err(_) => tally.ours_refused += 1,
            }
            if ours_only {
                continue;
            }
            let start = Instant::now();
            let theirs = catch_unwind(|| self.theirs(operation));
            tally.theirs_time += start.elapsed();
            if !theirs.is_ok_and(|area| (area - expected).abs() <= TOLERANCE) {
                tally.theirs_wrong += 1;
            }
        }
    }

    fn ours(&self, operation: OpType) -> Result<f64, BooleanError> {
        let found = match operation {
            OpType::Union => union(&[&self.first[..], &self.second[..]].concat()),
            OpType::Intersection => intersection(&self.first, &self.second),
            _ => difference(&self.first, &self.second),
        };
        Ok(found?.iter().map(Polygon::area).sum())
    }

    fn theirs(&self, operation: OpType) -> f64 {
        let converted = |list: &[Polygon]| {
            let one = |polygon: &Polygon| {
                let corners = polygon.exterior.iter().map(|p| geo::Coord { x: p.x, y: p.y });
                geo::Polygon::new(corners.collect(), Vec::new())
            };
            geo::MultiPolygon(list.iter().map(one).collect())
        };
        let (first, second) = (converted(&self.first), converted(&self.second));
        geo::Area::unsigned_area(&first.boolean_op_with_fill_rule(&second, operation, FillRule::Positive))
    }
}

fn rectangles(chance: &mut Pcg64) -> Vec<[i32; 4]> {
    (0..chance.random_range(1..7))
        .map(|_| {
            let (x, y) = (chance.random_range(0..8), chance.random_range(0..8));
            [x, y, (x + chance.random_range(1..=8)).min(8), (y + chance.random_range(1..=8)).min(8)]
        })
        .collect()
}

fn rectangle([left, low, right, high]: [i32; 4]) -> Polygon {
    let corners = [(left, low), (right, low), (right, high), (left, high)];
    Polygon::new(corners.map(|(x, y)| Point::new(f64::from(x), f64::from(y))).to_vec(), Vec::new())
}
