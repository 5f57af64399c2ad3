//! Jobs cut up from sheets, so that a plan of known cost exists: what the nester pays beside it, over time.
//!
//! `cargo run --release -p dropwise-benches --bin planted -- --sheets 2 --pieces 12 --waste 0 --seconds 10`
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::time::Duration;

use clap::Parser;
use dropwise_benches::PlantedJob;
use dropwise_nest::{Settings, nest};

/// Cost over time, as a share of that of the sheets that the parts were cut from.
#[derive(Debug, Parser)]
struct Arguments {
    /// Sheets cut up; as many dearer ones lie beside them.
    #[arg(long, default_value_t = 2)]
    sheets: u32,
    /// Parts cut from each.
    #[arg(long, default_value_t = 12)]
    pieces: u32,
    /// Web between the parts and to the edge, mm.
    #[arg(long, default_value_t = 4.0)]
    web: f64,
    /// Share of the parts left out, 0 to 1.
    #[arg(long, default_value_t = 0.0)]
    waste: f64,
    /// Quarter turns only instead of any angle.
    #[arg(long)]
    quarter_turns: bool,
    /// Parts without holes.
    #[arg(long)]
    whole: bool,
    /// Wall time of each job.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Stop after so many rounds instead, so that a run can be repeated exactly.
    #[arg(long)]
    rounds: Option<u64>,
    /// Threads, and as many chains of search.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Where chance starts, in the making of the jobs and in the search.
    #[arg(long, default_values_t = [1, 2, 3, 4])]
    seeds: Vec<u64>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    println!(
        "{:>5} {:>6} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}",
        "seed", "parts", "planted", "at 1 s", "at 10 s", "last", "bound", "yield"
    );
    let mut sum = 0.0;
    for &seed in &arguments.seeds {
        let planted = PlantedJob {
            sheets: arguments.sheets,
            pieces: arguments.pieces,
            web: arguments.web,
            waste: arguments.waste,
            is_free: !arguments.quarter_turns,
            has_holes: !arguments.whole,
            seed,
        };
        let (job, cost) = planted.make();
        let settings = Settings {
            seed,
            time_limit: arguments.rounds.is_none().then(|| Duration::from_secs_f64(arguments.seconds)),
            rounds: arguments.rounds,
            chains: arguments.threads as u32,
            threads: arguments.threads,
            ..Settings::default()
        };
        let share = |coins: f64| coins / cost as f64;
        let mut at = [None; 2];
        let plan = nest(&job, &settings, |progress| {
            for (slot, seconds) in at.iter_mut().zip([1, 10]) {
                if progress.missing == 0 && (progress.elapsed <= Duration::from_secs(seconds) || slot.is_none()) {
                    *slot = Some(share(progress.cost));
                }
            }
            ControlFlow::Continue(())
        })?;
        let figures = plan.figures();
        let is_whole = plan.layout().unplaced.is_empty();
        let last = if is_whole { share(figures.material_cost.coins() as f64) } else { f64::INFINITY };
        sum += last;
        let shown = |share: Option<f64>| share.map_or("-".to_owned(), |share| format!("{share:.3}"));
        println!(
            "{seed:>5} {:>6} {:>8.2} {:>8} {:>8} {last:>8.3} {:>8} {:>7.1}%",
            job.parts().len(),
            cost as f64 / 100.0,
            shown(at[0]),
            shown(at[1]),
            shown(plan.provenance().lower_bound.map(|bound| share(bound as f64))),
            100.0 * figures.yield_ratio(),
        );
    }
    println!("mean {:.3} of the planted cost", sum / arguments.seeds.len() as f64);
    Ok(())
}
