//! The largest leftover worth keeping, with and without the part of the search that sees to leftovers.
//!
//! `cargo run --release -p dropwise-benches --bin leftovers -- data-demo/job.toml data-demo/bent.toml --seconds 10`
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::time::Duration;

use clap::Parser;
use dropwise_benches::ShopJob;
use dropwise_formats::load_job;
use dropwise_model::{Job, Plan};
use dropwise_nest::{Settings, nest};

/// Leftovers with and without the part of the search that sees to them.
#[derive(Debug, Parser)]
struct Arguments {
    /// Job files.
    jobs: Vec<PathBuf>,
    /// Made-up shop jobs beside them, of 50 parts on 10 drops: where chance starts in their making.
    #[arg(long)]
    shop: Vec<u64>,
    /// Wall time of each search.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Stop after so many rounds instead, so that a run can be repeated exactly.
    #[arg(long)]
    rounds: Option<u64>,
    /// Threads, and as many chains of search.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Where chance starts in the search.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let mut jobs = Vec::new();
    for path in &arguments.jobs {
        let loaded = load_job(path).map_err(|faults| format!("{}: {faults:?}", path.display()))?;
        jobs.push((path.display().to_string(), loaded.job));
    }
    jobs.extend(
        arguments.shop.iter().map(|&seed| (format!("shop {seed}"), ShopJob { parts: 50, drops: 10, seed }.make())),
    );
    println!("{:<24} {:>10} {:>24} {:>10} {:>24}", "", "without", "", "with", "");
    println!(
        "{:<24} {:>10} {:>7} {:>16} {:>10} {:>7} {:>16}",
        "job", "cost", "pieces", "largest, mm", "cost", "pieces", "largest, mm"
    );
    for (name, job) in &jobs {
        print!("{name:<24}");
        for with_leftovers in [false, true] {
            let settings = Settings {
                seed: arguments.seed,
                time_limit: arguments.rounds.is_none().then(|| Duration::from_secs_f64(arguments.seconds)),
                rounds: arguments.rounds,
                with_leftovers,
                chains: arguments.threads as u32,
                threads: arguments.threads,
                ..Settings::default()
            };
            print!(" {}", shown(job, &nest(job, &settings, |_| ControlFlow::Continue(()))?));
        }
        println!();
    }
    Ok(())
}

fn shown(job: &Job, plan: &Plan) -> String {
    let leftovers = || plan.figures().sheets.iter().flat_map(|sheet| &sheet.leftovers);
    let area = |&(long, wide): &(f64, f64)| long * wide;
    let largest = leftovers().map(|leftover| leftover.largest_rectangle).max_by(|a, b| area(a).total_cmp(&area(b)));
    let largest = largest.map_or("none".to_owned(), |(long, wide)| format!("{long:.0} x {wide:.0}"));
    let is_whole = plan.layout().unplaced.iter().all(|unplaced| !job.is_required(unplaced.part));
    let cost = plan.figures().material_cost.coins() as f64 / 100.0;
    format!("{cost:>9.2}{} {:>7} {largest:>16}", if is_whole { ' ' } else { '!' }, leftovers().count())
}
