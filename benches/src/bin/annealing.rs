//! What annealing gives: the same search with the temperature falling, at one temperature, and at zero, with equal rounds.
//!
//! `cargo run --release -p dropwise-benches --bin annealing -- --family strips shop --seeds 1 2 3 --rounds 500`
//!
//! One chain on one thread, so that equal rounds are equal evaluations. A line of CSV for each run, a summary on standard error:
//! for each family the mean difference of each pair to the arm `off`, with its standard error.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a program for the terminal")]

use std::collections::BTreeMap;
use std::error::Error;
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::time::Instant;

use clap::{Parser, ValueEnum};
use dropwise_benches::{Instance, PlantedJob, ShopJob};
use dropwise_model::Job;
use dropwise_nest::{Annealing, Settings, nest};

/// A family of jobs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
enum Family {
    /// Open strip instances.
    Strips,
    /// Jobs cut out of whole sheets, a tenth left out.
    Planted,
    /// Forty parts and 2,000 sheets to choose from.
    Inventories,
    /// A hundred and fifty parts on twenty drops.
    Shop,
    /// Open instances of rectangles on sheets of several sizes.
    Variable,
}

/// How worse nests are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
enum Arm {
    Falling,
    Constant,
    Off,
}

/// Runs families of jobs with and without annealing.
#[derive(Debug, Parser)]
struct Arguments {
    /// Families to run.
    #[arg(long, value_enum, num_args = 1.., default_values_t = [Family::Strips, Family::Planted, Family::Inventories, Family::Shop, Family::Variable])]
    family: Vec<Family>,
    /// Ways to run them.
    #[arg(long, value_enum, num_args = 1.., default_values_t = [Arm::Falling, Arm::Constant, Arm::Off])]
    arm: Vec<Arm>,
    /// Where chance starts; also which jobs are made, in families of our own.
    #[arg(long, num_args = 1.., default_values_t = [1, 2, 3])]
    seeds: Vec<u64>,
    /// Rounds of 40,000 evaluations.
    #[arg(long, default_value_t = 500)]
    rounds: u64,
    /// Folder of open instances, with `strip` and `variable` in it.
    #[arg(long, default_value = "../shared/benchmarks")]
    instances: PathBuf,
    /// Open instances to run, by name; all when left out.
    #[arg(long, num_args = 1..)]
    only: Vec<String>,
}

/// A job, and how its result is read off the plan: density in percent for strips, else cost in coins.
struct Case {
    name: String,
    job: Job,
    strip: Option<Instance>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    println!("family,instance,seed,arm,rounds,value,evaluations,seconds");
    for &family in &arguments.family {
        let mut values: BTreeMap<Arm, Vec<f64>> = BTreeMap::new();
        for &seed in &arguments.seeds {
            for case in cases(family, seed, &arguments)? {
                for &arm in &arguments.arm {
                    let value = run(family, &case, seed, arm, arguments.rounds)?;
                    values.entry(arm).or_default().push(value);
                }
            }
        }
        summarise(family, &values);
    }
    Ok(())
}

fn cases(family: Family, seed: u64, arguments: &Arguments) -> Result<Vec<Case>, Box<dyn Error>> {
    let own = |name: &str, job: Job| vec![Case { name: format!("{name} {seed}"), job, strip: None }];
    Ok(match family {
        Family::Strips => open_instances("strip", arguments)?,
        Family::Variable => open_instances("variable", arguments)?,
        Family::Planted => {
            let planted =
                PlantedJob { sheets: 6, pieces: 8, web: 4.0, waste: 0.1, is_free: true, has_holes: true, seed };
            own("planted", planted.make().0)
        }
        Family::Inventories => own("inventory", ShopJob { parts: 40, drops: 2_000, seed }.make()),
        Family::Shop => own("shop", ShopJob { parts: 150, drops: 20, seed }.make()),
    })
}

fn open_instances(folder: &str, arguments: &Arguments) -> Result<Vec<Case>, Box<dyn Error>> {
    let folder = arguments.instances.join(folder);
    let entries = std::fs::read_dir(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    files.retain(|file| file.extension().is_some_and(|e| e == "json"));
    files.sort();
    let mut cases = Vec::new();
    for file in files {
        let instance: Instance =
            serde_json::from_str(&std::fs::read_to_string(&file)?).map_err(|e| format!("{}: {e}", file.display()))?;
        if arguments.only.is_empty() || arguments.only.contains(&instance.name) {
            let strip = instance.strip_width.is_some().then(|| instance.clone());
            cases.push(Case { name: instance.name.clone(), job: instance.job()?, strip });
        }
    }
    Ok(cases)
}

fn run(family: Family, case: &Case, seed: u64, arm: Arm, rounds: u64) -> Result<f64, Box<dyn Error>> {
    let annealing = match arm {
        Arm::Falling => Annealing::Falling,
        Arm::Constant => Annealing::Constant,
        Arm::Off => Annealing::Off,
    };
    let settings = Settings {
        seed,
        time_limit: None,
        rounds: Some(rounds),
        chains: 1,
        threads: 1,
        with_leftovers: false,
        annealing,
        ..Settings::default()
    };
    let (start, mut evaluations) = (Instant::now(), 0);
    let plan = nest(&case.job, &settings, |progress| {
        evaluations = progress.evaluations;
        ControlFlow::Continue(())
    })?;
    let value = match &case.strip {
        Some(instance) => instance.reached(&plan),
        None if plan.layout().unplaced.is_empty() => plan.figures().material_cost.coins() as f64,
        None => f64::NAN,
    };
    println!(
        "{},{},{seed},{},{rounds},{value:.3},{evaluations},{:.2}",
        name_of(family),
        case.name,
        name_of(arm),
        start.elapsed().as_secs_f64()
    );
    Ok(value)
}

fn name_of(value: impl ValueEnum) -> String {
    value.to_possible_value().map_or_else(String::new, |name| name.get_name().to_owned())
}

/// Points of density of strips, percent of cost of everything else, each beside the same job and seed without annealing.
fn summarise(family: Family, values: &BTreeMap<Arm, Vec<f64>>) {
    let Some(off) = values.get(&Arm::Off) else { return };
    for (&arm, with) in values.iter().filter(|(arm, _)| **arm != Arm::Off) {
        let difference = |(with, without): (&f64, &f64)| match family {
            Family::Strips => with - without,
            _ => 100.0 * (with / without - 1.0),
        };
        let all: Vec<f64> = with.iter().zip(off).map(difference).filter(|d| d.is_finite()).collect();
        let count = all.len() as f64;
        let mean = all.iter().sum::<f64>() / count;
        let variance = all.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / (count - 1.0);
        eprintln!(
            "{} {}: {mean:+.3} ± {:.3} of {count} pairs",
            name_of(family),
            name_of(arm),
            (variance / count).sqrt()
        );
    }
}
