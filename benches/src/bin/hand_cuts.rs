//! How often a straight-edge is set up to cut a nest out by hand: the search that knows what that costs beside the one that does
//! not, for the same rounds.
//!
//! `cargo run --release -p dropwise-benches --bin hand_cuts -- --jobs 20 --rounds 60`
//!
//! Jobs are made of chance: 6 to 16 rectangles, angles, gussets and plates with cut corners on one of three drops.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;

use clap::Parser;
use dropwise_geometry::{Outline, Point, Segment, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Part, Plan, Sheet, StockClass, set_ups};
use dropwise_nest::{HandWork, Settings, nest};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// Set-ups, parts askew and flipped, metal, and the largest leftover, with and without the cost of cutting.
#[derive(Debug, Parser)]
struct Arguments {
    #[arg(long, default_value_t = 20)]
    jobs: u64,
    /// Number of the first job.
    #[arg(long, default_value_t = 1)]
    first: u64,
    #[arg(long, default_value_t = 60)]
    rounds: u64,
    /// What one set-up costs, in the smallest coin.
    #[arg(long, default_value_t = 75.0)]
    set_up: f64,
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn size(rng: &mut Pcg64Mcg, from: u32, to: u32) -> f64 {
    f64::from(rng.random_range(from..=to)) * 5.0
}

fn polygon(corners: &[(f64, f64)]) -> Shape {
    Shape::new(Outline::polygon(corners.iter().map(|&(x, y)| Point::new(x, y))), Vec::new())
}

fn shape(kind: u32, rng: &mut Pcg64Mcg) -> Shape {
    let (w, h) = (size(rng, 12, 50), size(rng, 10, 36));
    let t = size(rng, 5, 9);
    match kind {
        0 => polygon(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]),
        1 => polygon(&[(0.0, 0.0), (w, 0.0), (w, t), (t, t), (t, h), (0.0, h)]),
        2 => polygon(&[(0.0, 0.0), (w, 0.0), (w, 10.0), (10.0, h), (0.0, h)]),
        _ => polygon(&[(0.0, 0.0), (w - 20.0, 0.0), (w, 20.0), (w, h), (0.0, h)]),
    }
}

fn job(seed: u64) -> Result<Job, Box<dyn Error>> {
    let mut rng = Pcg64Mcg::seed_from_u64(seed);
    let class = StockClass::new("mild steel, 3 mm");
    let kinds = rng.random_range(3..=5);
    let parts = (0..kinds)
        .map(|index| Part {
            quantity: rng.random_range(2..=4),
            ..Part::new(&format!("part {index}"), shape(rng.random_range(0..4), &mut rng), class.clone())
        })
        .collect();
    let sheets = [(1000.0, 600.0, 2600), (800.0, 500.0, 1700), (600.0, 600.0, 1500)];
    let sheet = |(index, &(w, h, price)): (usize, &(f64, f64, i64))| Sheet {
        price: Money::from_coins(price),
        ..Sheet::new(&format!("drop {index}"), polygon(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]), class.clone())
    };
    let sheets = sheets.iter().enumerate().map(sheet).collect();
    let rule = LeftoverRule { length: 300.0, width: 200.0, neck: 50.0 };
    Ok(Job::new(parts, sheets, Clearances::new(1.5, 6.0, 3.0)?, rule)?)
}

/// Set-ups, sides in all, and parts askew, counted from the plan.
fn counted(job: &Job, plan: &Plan) -> (usize, usize, usize) {
    let (mut settings, mut sides, mut askew) = (0, 0, 0);
    for used in &plan.layout().sheets {
        let mut lines = Vec::new();
        for placed in &used.placements {
            let shape = job.parts()[placed.part].shape.transformed(placed.position);
            let own: Vec<(Point, Point)> = shape
                .exterior()
                .segments()
                .filter_map(|side| if let Segment::Line { start, end } = side { Some((start, end)) } else { None })
                .collect();
            let is_square = |&(a, b): &(Point, Point)| (a.x - b.x).abs() < 0.01 || (a.y - b.y).abs() < 0.01;
            askew += usize::from(!own.iter().any(is_square));
            lines.extend(own);
        }
        sides += lines.len();
        settings += set_ups(&lines);
    }
    (settings, sides, askew)
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let settings = |hand_work| Settings {
        seed: arguments.seed,
        rounds: Some(arguments.rounds),
        time_limit: None,
        hand_work,
        ..Settings::default()
    };
    let (mut all, mut metal) = ([0_usize; 2], [Money::ZERO; 2]);
    for seed in arguments.first..arguments.first + arguments.jobs {
        let job = job(seed)?;
        let mut line = format!("job {seed:>2}:");
        for (index, work) in [HandWork::default(), HandWork::by_set_up(arguments.set_up)].into_iter().enumerate() {
            let plan = nest(&job, &settings(work), |_| ControlFlow::Continue(()))?;
            let (count, sides, askew) = counted(&job, &plan);
            let leftover = plan.figures().sheets.iter().flat_map(|sheet| &sheet.leftovers).map(|rest| rest.area);
            let figures = plan.figures();
            all[index] += count;
            metal[index] += figures.material_cost;
            line += &format!(
                "  {count:>3} set-ups of {sides:>3} sides, {askew} askew, metal {}, largest rest {:.3} m²",
                figures.material_cost.coins(),
                leftover.fold(0.0, f64::max) / 1e6
            );
        }
        println!("{line}");
    }
    let share = all[1] as f64 / all[0].max(1) as f64;
    println!(
        "in all: {} set-ups, then {}: {:.1} %; metal {}, then {}",
        all[0],
        all[1],
        100.0 * share,
        metal[0].coins(),
        metal[1].coins()
    );
    Ok(())
}
