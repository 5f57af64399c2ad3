//! The same job, seed and rounds give the same plan, whatever the number of threads.

use std::ops::ControlFlow;

use dropwise_model::{Job, Plan};
use dropwise_nest::{Settings, nest};
use dropwise_tests::random_job::random_job;

fn solved(job: &Job, seed: u64, threads: usize) -> Plan {
    let settings = Settings { seed, time_limit: None, rounds: Some(1), chains: 3, threads, ..Settings::default() };
    nest(job, &settings, |_| ControlFlow::Continue(())).expect("a plan")
}

#[test]
fn plans_are_equal_on_one_thread_and_on_two() {
    let mut with_parts = 0;
    for seed in 0..8 {
        let job = random_job(seed);
        let alone = solved(&job, seed, 1);
        // Compared whole: places to the last bit, figures, certificate, how it was found.
        assert_eq!(alone, solved(&job, seed, 2), "seed {seed}");
        with_parts += usize::from(alone.certificate().parts_checked() > 2);
    }
    assert!(with_parts >= 5, "{with_parts} jobs of 8 had parts to place");
}

#[test]
fn the_seed_matters() {
    let differing = (0..6).filter(|&seed| {
        let job = random_job(seed);
        solved(&job, 1, 2).layout() != solved(&job, 2, 2).layout()
    });
    assert!(differing.count() >= 3, "else the test above would compare plans that have nothing to choose");
}
