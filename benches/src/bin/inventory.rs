//! How the search bears a yard's whole inventory: ever more sheets against one job of 40 parts.
//!
//! `cargo run --release -p dropwise-benches --bin inventory -- --sheets 100 1000 10000 100000 --seconds 60`
//!
//! Each size is a run of its own in this one process, the smallest first, so that the peak memory shown is that of the
//! size shown. The first sheets of a larger inventory are those of the smaller one.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use clap::Parser;
use dropwise_benches::{ShopJob, peak_memory};
use dropwise_nest::{Settings, nest};

/// Time to the first certified plan, cost over time and peak memory, by number of sheets.
#[derive(Debug, Parser)]
struct Arguments {
    /// Numbers of sheets to try.
    #[arg(long, num_args = 1.., default_values_t = [100, 1_000, 10_000, 100_000])]
    sheets: Vec<u32>,
    /// Parts of the job.
    #[arg(long, default_value_t = 40)]
    parts: u32,
    /// Wall time for each, preparation included.
    #[arg(long, default_value_t = 60.0)]
    seconds: f64,
    /// Times at which to show the cost.
    #[arg(long, num_args = 1.., default_values_t = [1.0, 10.0, 60.0])]
    at: Vec<f64>,
    /// Threads, and as many chains of search.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Where chance starts, in the making of the job and in the search.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = Arguments::parse();
    arguments.sheets.sort_unstable();
    arguments.at.retain(|&at| at <= arguments.seconds);
    let costs: String = arguments.at.iter().map(|at| format!(" {:>10}", format!("at {at} s"))).collect();
    println!(
        "{:>7} {:>11} {:>11}{costs} {:>10} {:>10} {:>8} {:>12} {:>9} {:>9}",
        "sheets", "first plan", "first cost", "last", "bound", "over", "evaluations", "in all", "memory"
    );
    for &sheets in &arguments.sheets {
        run(sheets, &arguments)?;
    }
    Ok(())
}

fn run(sheets: u32, arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let job = ShopJob { parts: arguments.parts, drops: sheets, seed: arguments.seed }.make();
    let settings = Settings {
        seed: arguments.seed,
        time_limit: Some(Duration::from_secs_f64(arguments.seconds)),
        rounds: None,
        chains: arguments.threads as u32,
        threads: arguments.threads,
        ..Settings::default()
    };
    let start = Instant::now();
    let mut first = None;
    let mut costs = vec![None; arguments.at.len()];
    let mut evaluations = 0;
    let plan = nest(&job, &settings, |progress| {
        evaluations = progress.evaluations;
        if progress.missing == 0 {
            // Taken here and not from the progress, so that all preparation counts.
            let seconds = start.elapsed().as_secs_f64();
            first.get_or_insert((seconds, progress.cost));
            for (cost, _) in costs.iter_mut().zip(&arguments.at).filter(|(_, at)| seconds <= **at) {
                *cost = Some(progress.cost);
            }
        }
        ControlFlow::Continue(())
    })?;
    let seconds = start.elapsed().as_secs_f64();
    let money = |coins: Option<f64>| coins.map_or("-".to_owned(), |coins| format!("{:.2}", coins / 100.0));
    let costs: String = costs.into_iter().map(|cost| format!(" {:>10}", money(cost))).collect();
    let last = plan.figures().material_cost.coins() as f64;
    let bound = plan.provenance().lower_bound.map(|bound| bound as f64);
    println!(
        "{sheets:>7} {:>11} {:>11}{costs} {:>10} {:>10} {:>8} {evaluations:>12} {:>9} {:>6} MB{}",
        first.map_or("none".to_owned(), |(seconds, _)| format!("{seconds:.3} s")),
        money(first.map(|(_, cost)| cost)),
        money(Some(last)),
        money(bound),
        bound.map_or("-".to_owned(), |bound| format!("{:.3}", last / bound)),
        format!("{seconds:.1} s"),
        peak_memory().map_or(0, |bytes| bytes / 1_000_000),
        if plan.layout().unplaced.is_empty() { "" } else { "  NOT ALL PLACED" },
    );
    Ok(())
}
