//! The demo job: it reads without an error, everything that must be made is placed, and most drops are used.

use std::ops::ControlFlow;
use std::path::Path;

use dropwise_formats::load_job;
use dropwise_nest::{Settings, nest};
use dropwise_tests::judge;

#[test]
fn the_demo_job_is_placed_on_its_drops() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../data-demo/job.toml");
    let job = load_job(&path).unwrap_or_else(|errors| panic!("{errors:#?}")).job;
    assert!(job.parts().len() >= 12 && job.sheets().len() >= 10, "{} parts", job.parts().len());
    let settings =
        Settings { seed: 1, time_limit: None, rounds: Some(8), chains: 2, threads: 0, ..Settings::default() };
    let plan = nest(&job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
    assert_eq!(judge(&job, &plan), Vec::<String>::new());
    let left_out: Vec<&str> = plan
        .layout()
        .unplaced
        .iter()
        .filter(|unplaced| job.is_required(unplaced.part))
        .map(|unplaced| job.parts()[unplaced.part].name.as_str())
        .collect();
    assert_eq!(left_out, Vec::<&str>::new());
    let names = plan.layout().sheets.iter().map(|used| job.sheets()[used.sheet].name.as_str());
    let (new, drops): (Vec<&str>, Vec<&str>) = names.partition(|name| name.starts_with("new"));
    assert_eq!(new, Vec::<&str>::new(), "the drops do");
    assert!(drops.len() >= 7, "few drops used: {drops:?}");
}
