//! Jobs that nest: files, streams, interrupts.

use std::io::{self, Write};

use dropwise_cli::{Environment, Exit, Interrupts, run};
use serde_json::Value;

use crate::shop::{JOB, Shop};

/// What does not hang on where the parts came to lie.
#[test]
fn a_report_and_an_exit_code() {
    let run = Shop::with_job().run("nest @job.toml --rounds 3");
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""));
    for line in [
        "Bench legs: plan ",
        // 3 x 120 x 80 of 300 x 200.
        "1 sheet, 3 of 3 parts, yield 48.0 %, metal 9.50, work 0.00: EUR 9.50\n",
        " 1 drop 4   300 × 200 mm      3  48.0 %  9.50\n",
        "foot       3 of 3  0.226 kg   9.50  0.00  3.17\n",
        "and no plan for these parts can do with less.",
        "Mind before you cut: sharp edges, lifting.",
    ] {
        assert!(run.stdout.contains(line), "{line}\n{}", run.stdout);
    }
}

/// All tables, for who asks for them.
#[test]
fn the_full_report() {
    let run = Shop::with_job().run("nest @job.toml --rounds 3 --full");
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""));
    for line in [
        "Bench legs: plan ",
        "     parts    3 foot\n",
        // 3 x 120 x 80 of 300 x 200.
        "     yield    48.0 %\n",
        "     cost     EUR 9.50\n",
        "foot       3 of 3  0.0096 m²  0.226 kg         400 mm\n",
        "sheets (gross)        0.0600 m²  1.413 kg\n",
        "and no plan for these parts can do with less.",
        "Mind before you cut: sharp edges, lifting.",
    ] {
        assert!(run.stdout.contains(line), "{line}\n{}", run.stdout);
    }
}

/// Everything in the plan but where the parts came to lie and what hangs on that.
#[test]
fn the_plan_as_json() {
    let run = Shop::with_job().run("nest @job.toml --rounds 3 --json --quiet");
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""));
    let mut plan: Value = serde_json::from_str(&run.stdout).unwrap();
    let placements = plan["sheets"][0]["placements"].as_array().expect("a list of placements");
    assert_eq!(placements.len(), 3);
    for placement in placements {
        let fields: Vec<&str> = placement.as_object().into_iter().flatten().map(|(name, _)| name.as_str()).collect();
        assert_eq!(fields, ["part", "name", "is_flipped", "turn_deg", "x", "y", "shape"]);
    }
    blur(&mut plan);
    insta::assert_snapshot!(serde_json::to_string_pretty(&plan).unwrap());
}

const HANGS_ON_THE_SEARCH: [&str; 9] = [
    "placements",
    "kerf_area",
    "other_scrap_area",
    "scrap_weight",
    "least_between_parts",
    "least_to_edge",
    "tolerance",
    "rounds",
    "chains",
];

fn blur(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            for (name, field) in fields {
                if HANGS_ON_THE_SEARCH.contains(&name.as_str()) {
                    *field = Value::from("…");
                } else {
                    blur(field);
                }
            }
        }
        Value::Array(items) => items.iter_mut().for_each(blur),
        _ => {}
    }
}

#[test]
fn out_writes_the_plan_and_its_drawings() {
    let shop = Shop::with_job();
    std::fs::create_dir(shop.path("plan")).unwrap();
    shop.write("plan/sheet-9.svg", "from last week");
    let run = shop.run("nest @job.toml --rounds 2 --out @plan");
    assert_eq!(run.exit, Exit::Done);
    let expected = "Written to DIR/plan: plan.json, report.html, overview.svg, sheet-1.svg, cut-sheets.pdf. \
                    warning: drawings of an earlier plan are still there: sheet-9.svg.";
    // Where lines break hangs on the name of the folder.
    assert_eq!(run.stderr.split_whitespace().collect::<Vec<_>>().join(" "), expected);
    let json = shop.run("nest @job.toml --rounds 2 --json");
    assert_eq!(shop.read("plan/plan.json"), json.stdout);
    for name in ["plan/overview.svg", "plan/sheet-1.svg"] {
        let drawing = shop.read(name);
        assert!(drawing.contains("<svg") && drawing.trim_end().ends_with("</svg>"), "{name}");
        assert!(drawing.contains("foot"), "{name}");
    }
    // Notes and cautions go where they do not disturb.
    assert!(json.stderr.contains("licensed practice decide"));
    assert_eq!(shop.run("nest @job.toml --rounds 2 --out @plan --quiet").stderr, "");
}

#[test]
fn what_is_not_placed_is_told_with_the_reason() {
    let shop = Shop::new();
    shop.write("job.toml", JOB.replace("quantity = 3", "quantity = 40"));
    let full = shop.run("nest @job.toml --rounds 0");
    assert_eq!(full.exit, Exit::NotAllPlaced);
    assert!(
        full.stdout.contains("of 40 foot: it would fit on a sheet alone, but the sheets are full"),
        "{}",
        full.stdout
    );
    shop.write("job.toml", JOB.replace("width = 120", "width = 400"));
    let large = shop.run("nest @job.toml --rounds 0 --json");
    assert_eq!(large.exit, Exit::NotAllPlaced);
    assert!(large.stderr.contains("job.toml:6:1: parts[1] \"foot\": warning:"), "{}", large.stderr);
    assert!(large.stderr.contains("Not placed\n- 3 of 3 foot: it is too large"), "{}", large.stderr);
    // Fillers may stay out.
    shop.write("job.toml", JOB.replace("quantity = 3", "quantity = 40\nfiller = true"));
    let filler = shop.run("nest @job.toml --rounds 0");
    assert_eq!(filler.exit, Exit::Done, "{}", filler.stdout);
    assert!(filler.stdout.contains("Fillers that found no room\n"), "{}", filler.stdout);
}

#[test]
fn the_same_plan_on_any_number_of_threads() {
    let shop = Shop::with_job();
    let plan = |options: &str| shop.run(&format!("nest @job.toml --json --quiet --rounds 4 {options}")).stdout;
    let one = plan("--threads 1");
    assert!(!one.is_empty());
    assert_eq!(one, plan("--threads 3"));
    assert_eq!(one, plan("--threads 0"));
    assert_ne!(one, plan("--seed 99"));
}

#[test]
fn an_interrupt_keeps_the_best_so_far() {
    let shop = Shop::with_job();
    let interrupts = Interrupts::default();
    interrupts.add();
    let run = shop.run_with("nest @job.toml --seconds 3600 --out @plan --quiet", |environment| {
        environment.with_interrupts(interrupts)
    });
    assert_eq!(run.exit, Exit::Done);
    assert_eq!(run.stderr, "interrupted: this is the best plan found until then\n");
    assert!(run.stdout.contains("3 of 3") && run.stdout.contains("0 rounds of search"));
    assert!(shop.read("plan/plan.json").contains("\"certificate\""));
}

/// A stream that refuses what it is given.
struct Refusing(io::ErrorKind);

impl Write for Refusing {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(self.0.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let shop = Shop::with_job();
    for line in
        ["nest @job.toml --rounds 0 --out @plan --quiet", "nest @job.toml --rounds 0 --json -q", "--help", "schema"]
    {
        let mut stderr = Vec::new();
        let mut environment = Environment::new(Refusing(io::ErrorKind::BrokenPipe), &mut stderr);
        assert_eq!(run(shop.arguments(line), &mut environment), Exit::Done, "{line}");
        drop(environment);
        assert!(stderr.is_empty(), "{line}");
    }
    // Nobody read the report, but the drawings are there.
    assert!(shop.path("plan/sheet-1.svg").exists());
}

#[test]
fn a_full_disk_is_told() {
    let shop = Shop::with_job();
    for line in
        ["nest @job.toml --rounds 0", "nest @job.toml --rounds 0 --json -q", "--help", "schema", "completions zsh"]
    {
        let mut stderr = Vec::new();
        let mut environment = Environment::new(Refusing(io::ErrorKind::StorageFull), &mut stderr);
        assert_eq!(run(shop.arguments(line), &mut environment), Exit::Failure, "{line}");
        drop(environment);
        let stderr = String::from_utf8(stderr).unwrap();
        assert!(stderr.starts_with("dropwise: standard output cannot be written"), "{line}: {stderr}");
    }
}

#[test]
fn a_drawing_that_cannot_be_written_does_not_cost_the_report() {
    let shop = Shop::with_job();
    std::fs::create_dir_all(shop.path("plan/overview.svg/occupied")).unwrap();
    let run = shop.run("nest @job.toml --rounds 0 --out @plan --quiet");
    assert_eq!(run.exit, Exit::Failure);
    assert!(run.stderr.starts_with("DIR/plan/overview.svg: cannot be written"), "{}", run.stderr);
    assert!(run.stdout.contains("Bench legs") && shop.path("plan/sheet-1.svg").exists());
}

/// A stream with a bug.
struct Panicking;

impl Write for Panicking {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        panic!("on purpose, for a test")
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_fault_of_our_own_is_owned_up_to() {
    let shop = Shop::with_job();
    let mut stderr = Vec::new();
    let mut environment = Environment::new(Panicking, &mut stderr);
    assert_eq!(run(shop.arguments("nest @job.toml --rounds 0"), &mut environment), Exit::Failure);
    drop(environment);
    assert!(String::from_utf8(stderr).unwrap().contains("a fault of its own"));
}
