//! How the decision what to buy bears a yard's whole list: ever more offers for one job of 40 parts.
//!
//! `cargo run --release -p dropwise-benches --bin buying -- --offers 100 1000 10000`
//!
//! Each size is a run of its own in this one process, the smallest first, so that the peak memory shown is that of the
//! size shown. The first offers of a longer list are those of the shorter one. A tenth of them is of another class of
//! stock, and each has one of 40 sellers, all with a delivery or a minimum order.
#![allow(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use clap::Parser;
use dropwise_benches::{ShopJob, peak_memory};
use dropwise_buying::{Market, Seller, Settings, Source, Verdict, decide};
use dropwise_model::{Job, Money, StockClass};

/// Time to the first certified choice, time in all and peak memory, by number of offers.
#[derive(Debug, Parser)]
struct Arguments {
    /// Numbers of offers to try.
    #[arg(long, num_args = 1.., default_values_t = [100, 1_000, 10_000])]
    offers: Vec<u32>,
    /// Parts of the job.
    #[arg(long, default_value_t = 40)]
    parts: u32,
    /// Drops in the rack.
    #[arg(long, default_value_t = 3)]
    rack: u32,
    /// Time for each.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Where chance starts, in the making of the job and in the search.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

const SELLERS: u32 = 40;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = Arguments::parse();
    arguments.offers.sort_unstable();
    println!(
        "{:>7} {:>11} {:>11} {:>8} {:>6} {:>10} {:>10} {:>9} {:>8} {:>8}",
        "offers", "before nest", "first plan", "in all", "tries", "best", "bound", "sifted", "left", "memory"
    );
    for &offers in &arguments.offers {
        run(offers, &arguments)?;
    }
    Ok(())
}

fn market(offers: u32, arguments: &Arguments) -> Result<Market, Box<dyn Error>> {
    let job = ShopJob { parts: arguments.parts, drops: arguments.rack + offers, seed: arguments.seed }.make();
    let mut sheets = job.sheets().to_vec();
    for sheet in sheets.iter_mut().skip(arguments.rack as usize).step_by(10) {
        sheet.class = StockClass::new("aluminium, 2 mm");
    }
    let job = Job::new(job.parts().to_vec(), sheets, *job.clearances(), *job.leftover_rule())?;
    let sellers = (0..SELLERS).map(|index| Seller {
        name: format!("seller {index}"),
        delivery: Money::from_coins(if index % 2 == 0 { 1200 } else { 0 }),
        minimum_order: Money::from_coins(if index % 3 == 0 { 2500 } else { 0 }),
    });
    let source = |sheet: u32| match sheet.checked_sub(arguments.rack) {
        None => Source::Rack,
        Some(offer) => Source::Offer { seller: Some((offer % SELLERS) as usize), charge: Money::ZERO, is_priced: true },
    };
    Ok(Market::new(job, (0..arguments.rack + offers).map(source).collect(), sellers.collect())?)
}

fn run(offers: u32, arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let market = market(offers, arguments)?;
    let time_limit = Some(Duration::from_secs_f64(arguments.seconds));
    let settings = Settings { seed: arguments.seed, time_limit, ..Settings::default() };
    let start = Instant::now();
    let (mut before_nest, mut first_plan) = (None, None);
    let decision = decide(&market, &settings, |progress| {
        before_nest.get_or_insert(start.elapsed());
        if progress.best.is_some() {
            first_plan.get_or_insert(start.elapsed());
        }
        ControlFlow::Continue(())
    })?;
    let in_all = start.elapsed();
    let seconds = |time: Option<Duration>| time.map_or("-".to_owned(), |time| format!("{:.3} s", time.as_secs_f64()));
    let coins = |money: Option<Money>| money.map_or("-".to_owned(), |money| money.coins().to_string());
    let count = |test: fn(&Verdict) -> bool| decision.verdicts.iter().flatten().filter(|verdict| test(verdict)).count();
    let sifted = count(|verdict| {
        matches!(verdict, Verdict::OtherStock | Verdict::HoldsNoPart { .. } | Verdict::Replaced { .. })
    });
    println!(
        "{offers:>7} {:>11} {:>11} {:>8} {:>6} {:>10} {:>10} {sifted:>9} {:>8} {:>5} MB",
        seconds(before_nest),
        seconds(first_plan),
        seconds(Some(in_all)),
        decision.tries,
        coins(decision.choices.first().map(|choice| choice.bill.total)),
        coins(decision.lower_bound),
        decision.not_tried.offers,
        peak_memory().map_or(0, |bytes| bytes >> 20),
    );
    Ok(())
}
