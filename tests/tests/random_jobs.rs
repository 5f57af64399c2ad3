//! A thousand small random jobs, every plan judged by a referee that shares no code with the search or the certificate.
//!
//! A failure names its seeds; `DROPWISE_SEED=17 cargo test -p dropwise-tests --test random_jobs` runs one alone,
//! `DROPWISE_FIRST=5000 DROPWISE_JOBS=500` others than the usual ones.

use std::any::Any;
use std::ops::ControlFlow;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};

use dropwise_model::Reason;
use dropwise_nest::{Settings, nest};
use dropwise_tests::judge;
use dropwise_tests::random_job::random_job;

const JOBS: u64 = 1000;
/// Enough that sheets are chosen, swapped and dropped. With two the test would take more than two minutes on two cores.
const ROUNDS: u64 = 1;

/// What was met on the way, so that a run that tested nothing fails.
#[derive(Default)]
struct Seen {
    placed: AtomicUsize,
    too_large: AtomicUsize,
    no_room: AtomicUsize,
    no_stock: AtomicUsize,
    grain_unknown: AtomicUsize,
    leftovers: AtomicUsize,
}

fn run(seed: u64, seen: &Seen) -> Vec<String> {
    let job = random_job(seed);
    let settings =
        Settings { seed, time_limit: None, rounds: Some(ROUNDS), chains: 1, threads: 1, ..Settings::default() };
    let plan = match nest(&job, &settings, |_| ControlFlow::Continue(())) {
        Ok(plan) => plan,
        Err(error) => return vec![format!("no plan: {error}: {:?}", std::error::Error::source(&error))],
    };
    let add = |count: &AtomicUsize, more: usize| count.fetch_add(more, Ordering::Relaxed);
    add(&seen.placed, plan.certificate().parts_checked());
    add(&seen.leftovers, plan.figures().sheets.iter().map(|s| s.leftovers.len()).sum());
    for unplaced in &plan.layout().unplaced {
        match unplaced.reason {
            Reason::TooLarge { .. } => add(&seen.too_large, 1),
            Reason::NoRoom => add(&seen.no_room, 1),
            Reason::NoSuchStock => add(&seen.no_stock, 1),
            Reason::GrainUnknown => add(&seen.grain_unknown, 1),
            _ => 0,
        };
    }
    judge(&job, &plan)
}

fn words(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().cloned();
    text.or_else(|| panic.downcast_ref::<&str>().map(|t| (*t).to_owned())).unwrap_or_default()
}

#[test]
fn a_thousand_random_jobs_are_nested_without_a_fault() {
    let set = |name: &str| -> Option<u64> { std::env::var(name).ok().map(|text| text.parse().expect("a number")) };
    let only = set("DROPWISE_SEED");
    let (first, count) = (set("DROPWISE_FIRST").unwrap_or(0), set("DROPWISE_JOBS").unwrap_or(JOBS));
    let (first, last) = only.map_or((first, first + count), |seed| (seed, seed + 1));
    let (next, seen, failures) = (AtomicU64::new(first), Seen::default(), Mutex::new(Vec::new()));
    // Plain threads: a pool would start another job while one waits for the nester's own pool.
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(2, usize::from) {
            scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= last {
                        break;
                    }
                    let faults = catch_unwind(AssertUnwindSafe(|| run(seed, &seen)))
                        .unwrap_or_else(|panic| vec![format!("panic: {}", words(&*panic))]);
                    if !faults.is_empty() {
                        failures.lock().expect("no thread panics").push((seed, faults));
                    }
                }
            });
        }
    });
    let mut failures = failures.into_inner().expect("no thread panics");
    failures.sort();
    let list: String =
        failures.iter().map(|(seed, faults)| format!("\nseed {seed}: {}", faults.join("\n    "))).collect();
    assert!(failures.is_empty(), "{} of {} jobs failed:{list}", failures.len(), last - first);
    if last - first >= JOBS {
        let counts = [seen.placed, seen.too_large, seen.no_room, seen.no_stock, seen.grain_unknown, seen.leftovers]
            .map(AtomicUsize::into_inner);
        let least = [3000, 50, 50, 20, 20, 300];
        assert!(
            counts.iter().zip(least).all(|(&count, least)| count >= least),
            "met too rarely: {counts:?}, {least:?}"
        );
    }
}
