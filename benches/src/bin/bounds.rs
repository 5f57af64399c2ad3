//! What the proof of a least cost comes to, and how long it takes.
//!
//! `cargo run --release -p dropwise-benches --bin bounds -- PATH... --nodes N`
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::path::PathBuf;
use std::time::Instant;

use clap::Parser;
use dropwise_benches::Instance;
use dropwise_nest::internals::Prepared;

/// What the proof of a least cost comes to, and how long it takes.
#[derive(Debug, Parser)]
struct Arguments {
    /// Instance files with priced sheets.
    #[arg(required = true)]
    paths: Vec<PathBuf>,
    /// Work to spend on each.
    #[arg(long, default_value_t = 100_000_000)]
    nodes: u64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    println!("{:<16} {:>10} {:>10} {:>8} {:>6}  sheets", "name", "area", "bound", "seconds", "ended");
    for file in &arguments.paths {
        let text = std::fs::read_to_string(file).map_err(|e| format!("{}: {e}", file.display()))?;
        let instance: Instance = serde_json::from_str(&text).map_err(|e| format!("{}: {e}", file.display()))?;
        let start = Instant::now();
        let prepared = Prepared::new(instance.job()?);
        let (bound, is_done, counts) = prepared.prove(arguments.nodes);
        let rate = instance
            .job()?
            .sheets()
            .iter()
            .map(|sheet| sheet.price.coins() as f64 / sheet.shape.area())
            .fold(f64::INFINITY, f64::min);
        println!(
            "{:<16} {:>10.2} {:>10.2} {:>8.2} {:>6}  {counts:?}",
            instance.name,
            instance.parts_area() * rate / 100.0,
            bound / 100.0,
            start.elapsed().as_secs_f64(),
            is_done,
        );
    }
    Ok(())
}
