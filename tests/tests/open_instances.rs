//! Open instances of the packing literature, nested and passed by the checker that comes with them.
//!
//! The instances (ESICUP data sets) are no part of this project. They are looked for in the folder that
//! `DROPWISE_INSTANCES` names, or else in `shared/benchmarks` beside the project; their `verify.py` judges with GEOS and
//! needs Python and shapely. Where one of these is missing the test says so and passes, unless
//! `DROPWISE_REQUIRE_REFERENCES=1`.
#![allow(clippy::print_stdout, reason = "what was reached is for people who look")]

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::Command;

use dropwise_benches::{Instance, InstanceResult};
use dropwise_nest::{Settings, nest};

/// Small ones of each kind.
const INSTANCES: [&str; 9] = [
    "strip/fu.json",
    "strip/dighe1.json",
    "strip/dagli.json",
    "strip/industry0_free.json",
    "sheets/ta001.json",
    "sheets/td001.json",
    "sheets/tx001c8c5.json",
    "variable/class_1_1.json",
    "variable/class_7_1.json",
];
const ROUNDS: u64 = 3;

/// The folder of the instances with its checker, or what is missing.
fn references() -> Result<PathBuf, String> {
    let folder = match std::env::var_os("DROPWISE_INSTANCES") {
        Some(folder) => PathBuf::from(folder),
        None => Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/benchmarks"),
    };
    if !folder.join("verify.py").is_file() {
        return Err(format!("no instances in {}", folder.display()));
    }
    match Command::new("python3").args(["-c", "import shapely"]).output() {
        Err(error) => Err(format!("python3 does not run: {error}")),
        Ok(output) if !output.status.success() => Err("python3 has no shapely (pip install shapely)".to_owned()),
        Ok(_) => Ok(folder),
    }
}

#[test]
fn nests_of_open_instances_pass_their_own_checker() {
    let folder = match references() {
        Ok(folder) => folder,
        Err(lack) => {
            let is_required = std::env::var("DROPWISE_REQUIRE_REFERENCES").is_ok_and(|value| value == "1");
            assert!(!is_required, "the open instances are required: {lack}");
            println!("SKIPPED: {lack}");
            return;
        }
    };
    let out = tempfile::tempdir().expect("a folder");
    let mut pairs = Vec::new();
    for file in INSTANCES {
        let path = folder.join(file);
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let instance: Instance = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{file}: {error}"));
        let job = instance.job().unwrap_or_else(|error| panic!("{file}: {error}"));
        let settings =
            Settings { seed: 1, time_limit: None, rounds: Some(ROUNDS), chains: 2, threads: 0, ..Settings::default() };
        let plan =
            nest(&job, &settings, |_| ControlFlow::Continue(())).unwrap_or_else(|error| panic!("{file}: {error}"));
        assert_eq!(plan.layout().unplaced, [], "{file}");
        // Jigsaws whose optimum is proved, and found within the rounds.
        if file.starts_with("sheets/") {
            assert_eq!(Some(instance.reached(&plan)), instance.printed_best(), "{file}");
        }
        let result = InstanceResult::new(&instance, &job, &plan, 0.0, 0, 1);
        let result_path = out.path().join(format!("{}.result.json", instance.name));
        std::fs::write(&result_path, serde_json::to_string(&result).expect("plain data")).expect("room on the disk");
        pairs.extend([path, result_path]);
    }
    let output =
        Command::new("python3").arg(folder.join("verify.py")).args(&pairs).output().expect("python3 ran before");
    let (said, complaint) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    println!("{said}");
    assert!(output.status.success(), "{said}{complaint}");
    // The checker ends each line it passes with VALID; INVALID ends so too.
    let passed = said.lines().filter(|line| line.ends_with(" VALID")).count();
    assert_eq!(passed, INSTANCES.len(), "{said}{complaint}");
}
