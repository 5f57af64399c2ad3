//! Runs the nester on open packing instances and prints what it reached beside the best printed in journals.
//!
//! `cargo run --release -p dropwise-benches --bin packing -- PATH... --seconds S --threads N --seed K --out DIR`
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::Parser;
use dropwise_benches::{Instance, InstanceResult, Kind};
use dropwise_formats::parse_job;
use dropwise_nest::{Settings, nest};
use dropwise_paper::Trace;

/// Runs the nester on open packing instances.
#[derive(Debug, Parser)]
struct Arguments {
    /// Instance files, or folders of them.
    #[arg(required = true)]
    paths: Vec<PathBuf>,
    /// Wall time for each instance, preparation included.
    #[arg(long, default_value_t = 60.0)]
    seconds: f64,
    /// Stop after so many rounds instead, so that a run can be repeated exactly.
    #[arg(long)]
    rounds: Option<u64>,
    /// Threads, and as many chains of search.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Where chance starts.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Folder for `NAME.trace.svg` and `NAME.trace.csv`: what the search did over time.
    #[arg(long, value_name = "DIR")]
    trace: Option<PathBuf>,
    /// Strips through the text of a job file, as a user's job is read.
    #[arg(long, conflicts_with = "out")]
    by_job_file: bool,
    /// Folder for `NAME.result.json`.
    #[arg(long)]
    out: Option<PathBuf>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let files = instance_files(&arguments.paths)?;
    if let Some(out) = &arguments.out {
        std::fs::create_dir_all(out)?;
    }
    println!(
        "{:<16} {:>10} {:>12} {:>9} {:>10} {:>9} {:>12}",
        "name", "reached", "printed best", "gap", "bound", "best at", "eval/s"
    );
    let mut gaps = Vec::new();
    for file in &files {
        let text = std::fs::read_to_string(file).map_err(|e| format!("{}: {e}", file.display()))?;
        let instance: Instance = serde_json::from_str(&text).map_err(|e| format!("{}: {e}", file.display()))?;
        gaps.extend(run(&instance, &arguments)?);
    }
    if !gaps.is_empty() {
        println!("{} with a printed best, mean gap {:+.3}", gaps.len(), gaps.iter().sum::<f64>() / gaps.len() as f64);
    }
    Ok(())
}

/// Runs one instance and returns its gap to the printed best, if there is one: points of density, or price.
fn run(instance: &Instance, arguments: &Arguments) -> Result<Option<f64>, Box<dyn Error>> {
    let start = Instant::now();
    let text = if arguments.by_job_file { instance.job_text() } else { None };
    let job = match &text {
        Some(text) => parse_job(Path::new("job.toml"), text).map_err(|errors| format!("{errors:?}"))?.job,
        None => instance.job()?,
    };
    let settings = Settings {
        seed: arguments.seed,
        time_limit: arguments.rounds.is_none().then(|| Duration::from_secs_f64(arguments.seconds)),
        rounds: arguments.rounds,
        chains: arguments.threads as u32,
        threads: arguments.threads,
        ..Settings::default()
    };
    let mut trace = Trace::default();
    let (mut best_cost, mut best_at, mut evaluations) = (f64::INFINITY, Duration::ZERO, 0);
    let plan = nest(&job, &settings, |progress| {
        if progress.missing == 0 && progress.cost < best_cost - 1e-9 {
            (best_cost, best_at) = (progress.cost, progress.elapsed);
        }
        evaluations = progress.evaluations;
        if arguments.trace.is_some() {
            trace.add(progress);
        }
        ControlFlow::Continue(())
    })?;
    let seconds = start.elapsed().as_secs_f64();
    let reached = if text.is_some() { instance.reached_by_job_file(&plan) } else { instance.reached(&plan) };
    let printed = instance.printed_best();
    let bound = match (instance.kind, plan.provenance().lower_bound) {
        (Kind::Sheets, Some(bound)) => format!("{:.2}", bound as f64 / 100.0),
        _ => "-".to_owned(),
    };
    println!(
        "{:<16} {:>10.3} {:>12} {:>9} {:>10} {:>8.1}s {:>12.0}{}",
        instance.name,
        reached,
        printed.map_or("-".to_owned(), |best| format!("{best:.3}")),
        printed.map_or("-".to_owned(), |best| format!("{:+.3}", reached - best)),
        bound,
        best_at.as_secs_f64(),
        evaluations as f64 / seconds,
        if plan.layout().unplaced.is_empty() { "" } else { "  NOT ALL PLACED" },
    );
    if let Some(folder) = &arguments.trace {
        std::fs::create_dir_all(folder)?;
        std::fs::write(folder.join(format!("{}.trace.svg", instance.name)), trace.draw(&instance.name))?;
        std::fs::write(folder.join(format!("{}.trace.csv", instance.name)), trace.csv())?;
    }
    if let Some(out) = &arguments.out {
        let result = InstanceResult::new(instance, &job, &plan, seconds, arguments.threads, arguments.seed);
        let file = out.join(format!("{}.result.json", instance.name));
        std::fs::write(&file, serde_json::to_string(&result)?).map_err(|e| format!("{}: {e}", file.display()))?;
    }
    Ok(printed.map(|best| reached - best))
}

/// The files named, and the instance files of the folders named, by name.
fn instance_files(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            let mut inside: Vec<PathBuf> = std::fs::read_dir(path)
                .map_err(|e| format!("{}: {e}", path.display()))?
                .map(|entry| entry.map(|e| e.path()))
                .collect::<Result<_, _>>()?;
            inside.retain(|file| is_instance(file));
            inside.sort();
            files.extend(inside);
        } else {
            files.push(path.clone());
        }
    }
    Ok(files)
}

fn is_instance(file: &Path) -> bool {
    let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    name.ends_with(".json") && !name.ends_with(".result.json")
}
