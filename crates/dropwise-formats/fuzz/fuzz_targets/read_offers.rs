//! Whatever the bytes, as CSV, TOML or JSON: no panic, no endless loop, and no list without an offer.
#![no_main]

use std::path::Path;
use std::sync::LazyLock;

use dropwise_formats::{LoadedJob, offers, parse_job};
use libfuzzer_sys::fuzz_target;

static JOB: LazyLock<LoadedJob> = LazyLock::new(|| {
    let text = "unit = \"in\"\ndefaults = { material = \"mild steel\", thickness = \"16 ga\" }\n\
        clearances = { process = \"plasma\" }\n[[parts]]\nname = \"a\"\nrectangle = { width = 3, height = 2 }\n\
        [[sheets]]\nname = \"s\"\nrectangle = { width = 9, height = 9 }\n";
    parse_job(Path::new("job.toml"), text).expect("a job")
});

fuzz_target!(|bytes: &[u8]| {
    let Some((kind, bytes)) = bytes.split_first() else { return };
    let file = ["yard.csv", "yard.toml", "yard.json", "yard"][usize::from(kind % 4)];
    if let Ok(list) = offers::read_offers(Path::new(file), bytes, &JOB) {
        assert!(!list.offers.is_empty());
    }
});
