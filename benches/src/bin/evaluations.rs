//! Evaluations of a placement per second on one core, side by side with the plain way: a general polygon-intersection
//! predicate on the same placements. Both answers are compared while they are timed.
//!
//! `cargo run --release -p dropwise-benches --bin evaluations`
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::time::Instant;

use clap::Parser;
use dropwise_benches::ShopJob;
use dropwise_geometry::{Isometry, Point, Side};
use dropwise_model::{Clearances, Job, LeftoverRule};
use dropwise_nest::internals::{Prepared, Probe};
use geo::{Contains, Intersects};

/// Evaluations of a placement per second, beside the plain way.
#[derive(Debug, Parser)]
struct Arguments {
    /// Placements that both ways evaluate.
    #[arg(long, default_value_t = 2_000)]
    placements: usize,
    /// How often ours goes over them, for a time long enough to measure.
    #[arg(long, default_value_t = 200)]
    repeats: usize,
    /// Where chance starts.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    // Without clearances, so that both ways judge the same outlines.
    let made = ShopJob { parts: 50, drops: 1, seed: arguments.seed }.make();
    let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
    let job = Job::new(made.parts().to_vec(), made.sheets().to_vec(), Clearances::new(0.0, 0.0, 0.0)?, rule)?;
    let prepared = Prepared::new(job.clone());
    let mut probe = Probe::new(&prepared, arguments.placements, arguments.seed);

    let flat: Vec<dropwise_geometry::Polygon> = job
        .parts()
        .iter()
        .map(|p| p.shape.flatten((p.shape.bounds().diagonal() * 3e-4).clamp(0.01, 0.2), Side::Grow))
        .collect();
    let room = to_geo(&job.sheets()[0].shape.flatten(0.1, Side::Shrink), Isometry::IDENTITY);
    let lying: Vec<(usize, geo::Polygon)> =
        probe.lying().into_iter().map(|(item, part, position)| (item, to_geo(&flat[part], position))).collect();
    let candidates = probe.candidates();

    let start = Instant::now();
    let plain: Vec<bool> = candidates
        .iter()
        .map(|&(item, part, position)| {
            let polygon = to_geo(&flat[part], position);
            room.contains(&polygon) && !lying.iter().any(|(other, shape)| *other != item && shape.intersects(&polygon))
        })
        .collect();
    let plain_rate = candidates.len() as f64 / start.elapsed().as_secs_f64();

    let measure = |of: &mut dyn FnMut(usize)| {
        let start = Instant::now();
        for _ in 0..arguments.repeats {
            (0..candidates.len()).for_each(&mut *of);
        }
        (candidates.len() * arguments.repeats) as f64 / start.elapsed().as_secs_f64()
    };
    let mut free = 0;
    let free_rate = measure(&mut |candidate| free += usize::from(probe.is_free(candidate)));
    // As the search asks: how much does it overlap, unless it is surely worse than the third best of sixty samples.
    let mut best = [f64::INFINITY; 3];
    let mut kept = 0.0;
    let search_rate = measure(&mut |candidate| {
        if candidate % 60 == 0 {
            best = [f64::INFINITY; 3];
        }
        let loss = probe.loss_below(candidate, best[2]);
        if loss < best[2] {
            best[2] = loss;
            best.sort_by(f64::total_cmp);
            kept += 1.0;
        }
    });
    let mut losses = 0.0;
    let loss_rate = measure(&mut |candidate| losses += probe.loss(candidate));
    let differing = (0..candidates.len()).filter(|&c| probe.is_free(c) != plain[c]).count();

    println!("{} placements among {} parts on one drop", candidates.len(), lying.len());
    println!("free in {} of them; the two ways differ in {differing}", plain.iter().filter(|&&f| f).count());
    println!("plain way (geo: contains, intersects)   {plain_rate:>12.0} a second");
    println!("is it free                              {free_rate:>12.0} a second, {:.0} times", free_rate / plain_rate);
    println!(
        "how much, as the search asks            {search_rate:>12.0} a second, {:.0} times",
        search_rate / plain_rate
    );
    println!("how much does it overlap, in full       {loss_rate:>12.0} a second, {:.0} times", loss_rate / plain_rate);
    // Printed so that nothing is optimised away.
    println!(
        "(checks: {} free, mean loss {:.1})",
        free / arguments.repeats.max(1),
        losses / (candidates.len() * arguments.repeats).max(1) as f64
    );
    Ok(())
}

fn to_geo(polygon: &dropwise_geometry::Polygon, position: Isometry) -> geo::Polygon {
    let ring = |points: &[Point]| {
        geo::LineString::from_iter(points.iter().map(|&p| {
            let moved = position.apply(p);
            (moved.x, moved.y)
        }))
    };
    geo::Polygon::new(ring(&polygon.exterior), polygon.holes.iter().map(|hole| ring(hole)).collect())
}
