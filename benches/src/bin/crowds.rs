//! How the search bears thousands of parts: whether it ends when asked, and in how much memory.
//!
//! `cargo run --release -p dropwise-benches --bin crowds -- copies-10000 --seconds 2`
//!
//! One case to a run, so that the peak memory shown is its own.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use clap::{Parser, ValueEnum};
use dropwise_benches::{ShopJob, peak_memory};
use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Part, Sheet, StockClass};
use dropwise_nest::{Settings, Stop, nest};

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Case {
    /// Four thousand squares of 10 mm.
    Copies4000,
    /// Ten thousand of them.
    Copies10000,
    /// Ten rectangles and angles, three thousand copies of each: the most pieces that are nested at once.
    TenKinds,
    /// Five thousand parts of which no two are alike.
    Distinct5000,
    /// Forty parts and ten thousand sheets.
    Sheets10000,
}

/// Time to the first plan and to the end, what lies where, and peak memory.
#[derive(Debug, Parser)]
struct Arguments {
    case: Case,
    /// Time asked of the search.
    #[arg(long, default_value_t = 2.0)]
    seconds: f64,
    /// Stop it after this time instead, as an interrupt would.
    #[arg(long)]
    stop_after: Option<f64>,
    #[arg(long, default_value_t = 2)]
    threads: usize,
}

fn angle(index: u32, size: f64) -> Shape {
    let at = |x: f64, y: f64| Point::new(x * size, y * size);
    let (width, height) = (2.0 + f64::from(index % 71) / 20.0, 1.5 + f64::from(index % 37) / 15.0);
    let wide = 0.4 + f64::from(index % 13) / 20.0;
    let corners = [at(0.0, 0.0), at(width, 0.0), at(width, wide), at(wide, wide), at(wide, height), at(0.0, height)];
    Shape::new(Outline::polygon(corners), Vec::new())
}

fn rectangle(width: f64, height: f64) -> Shape {
    Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
}

fn job(case: Case) -> Job {
    let shapes: Vec<(Shape, u32)> = match case {
        Case::Copies4000 => vec![(rectangle(10.0, 10.0), 4_000)],
        Case::Copies10000 => vec![(rectangle(10.0, 10.0), 10_000)],
        Case::TenKinds => (0..10)
            .map(|i| (if i % 2 == 0 { rectangle(8.0 + f64::from(i), 12.0) } else { angle(i, 8.0) }, 3_000))
            .collect(),
        Case::Distinct5000 => (0..5_000).map(|i| (angle(i, 10.0 + f64::from(i) / 500.0), 1)).collect(),
        Case::Sheets10000 => return ShopJob { parts: 40, drops: 10_000, seed: 1 }.make(),
    };
    let class = StockClass::new("mild steel, 2 mm");
    let part = |(index, (shape, quantity)): (usize, (Shape, u32))| Part {
        quantity,
        ..Part::new(&format!("part {index}"), shape, class.clone())
    };
    let parts = shapes.into_iter().enumerate().map(part).collect();
    let sheet = Sheet {
        quantity: None,
        price: Money::from_coins(1000),
        ..Sheet::new("sheet", rectangle(2000.0, 1000.0), class.clone())
    };
    let rule = LeftoverRule { length: 300.0, width: 200.0, neck: 20.0 };
    let clearances = Clearances::new(1.0, 2.0, 3.0).expect("sound clearances");
    Job::new(parts, vec![sheet], clearances, rule).expect("a sound job")
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let job = job(arguments.case);
    let stop = Stop::default();
    let settings = Settings {
        time_limit: arguments.stop_after.is_none().then(|| Duration::from_secs_f64(arguments.seconds)),
        threads: arguments.threads,
        stop: stop.clone(),
        ..Settings::default()
    };
    if let Some(seconds) = arguments.stop_after {
        std::thread::spawn(move || {
            std::thread::sleep(Duration::from_secs_f64(seconds));
            stop.set();
        });
    }
    let start = Instant::now();
    let (mut first, mut last, mut rounds) = (None, 0.0, 0);
    let plan = nest(&job, &settings, |progress| {
        last = start.elapsed().as_secs_f64();
        first.get_or_insert(last);
        rounds = progress.rounds;
        ControlFlow::Continue(())
    })?;
    let unplaced: u32 = plan.layout().unplaced.iter().map(|unplaced| unplaced.count).sum();
    println!(
        "{:?}: first layout {:.2} s, last round {last:.2} s, in all {:.2} s, {rounds} rounds; {} placed on {} sheets, {unplaced} \
         not, yield {:.3}; {} MB",
        arguments.case,
        first.unwrap_or(0.0),
        start.elapsed().as_secs_f64(),
        plan.certificate().parts_checked(),
        plan.layout().sheets.len(),
        plan.figures().yield_ratio(),
        peak_memory().map_or(0, |bytes| bytes / 1_000_000),
    );
    Ok(())
}
