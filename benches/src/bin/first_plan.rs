//! Time to the first certified plan and to later ones, cost and yield over time, and peak memory, on shop jobs.
//!
//! `cargo run --release -p dropwise-benches --bin first_plan -- --parts 50 --drops 10 --seconds 10`
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::time::Duration;

use clap::Parser;
use dropwise_benches::{ShopJob, peak_memory};
use dropwise_nest::{Settings, nest};

/// Time to the first certified plan, cost and yield over time, and peak memory.
#[derive(Debug, Parser)]
struct Arguments {
    /// Parts of the job.
    #[arg(long, default_value_t = 50)]
    parts: u32,
    /// Drops to choose from.
    #[arg(long, default_value_t = 10)]
    drops: u32,
    /// Wall time.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Stop after so many rounds instead, so that a run can be repeated exactly.
    #[arg(long)]
    rounds: Option<u64>,
    /// Threads, and as many chains of search.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Where chance starts, in the making of the jobs and in the search.
    #[arg(long, default_values_t = [1, 2, 3, 4, 5])]
    seeds: Vec<u64>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    println!(
        "{:>5} {:>12} {:>11} {:>9} {:>8} {:>9} {:>8} {:>9} {:>8} {:>9} {:>10} {:>11}",
        "seed",
        "first plan",
        "first cost",
        "at 1 s",
        "yield",
        "at 10 s",
        "yield",
        "last",
        "yield",
        "bound",
        "eval/s",
        "peak memory"
    );
    for &seed in &arguments.seeds {
        let job = ShopJob { parts: arguments.parts, drops: arguments.drops, seed }.make();
        let settings = Settings {
            seed,
            time_limit: arguments.rounds.is_none().then(|| Duration::from_secs_f64(arguments.seconds)),
            rounds: arguments.rounds,
            chains: arguments.threads as u32,
            threads: arguments.threads,
            ..Settings::default()
        };
        let mut first = None;
        let mut at = [None; 2];
        let mut last = None;
        let plan = nest(&job, &settings, |progress| {
            if progress.missing == 0 && first.is_none() {
                first = Some(*progress);
            }
            for (slot, seconds) in at.iter_mut().zip([1, 10]) {
                if progress.elapsed <= Duration::from_secs(seconds) || slot.is_none() {
                    *slot = Some(*progress);
                }
            }
            last = Some(*progress);
            ControlFlow::Continue(())
        })?;
        let ([Some(one), Some(ten)], Some(last)) = (at, last) else { continue };
        println!(
            "{seed:>5} {:>12} {:>11} {:>9.2} {:>7.1}% {:>9.2} {:>7.1}% {:>9.2} {:>7.1}% {:>9} {:>10.0} {:>8} MB",
            first.map_or("none".to_owned(), |p| format!("{:.3} s", p.elapsed.as_secs_f64())),
            first.map_or("-".to_owned(), |p| format!("{:.2}", p.cost / 100.0)),
            one.cost / 100.0,
            100.0 * one.yield_ratio,
            ten.cost / 100.0,
            100.0 * ten.yield_ratio,
            plan.figures().material_cost.coins() as f64 / 100.0,
            100.0 * plan.figures().yield_ratio(),
            plan.provenance().lower_bound.map_or("-".to_owned(), |bound| format!("{:.2}", bound as f64 / 100.0)),
            last.evaluations as f64 / last.elapsed.as_secs_f64(),
            peak_memory().map_or(0, |bytes| bytes / 1_000_000),
        );
    }
    Ok(())
}
