//! The same job, seed and rounds give the same plan, byte for byte, whatever the number of threads: one job of each kind.

use std::ops::ControlFlow;
use std::path::Path;

use dropwise_formats::{LoadedJob, PlanDocument, parse_job};
use dropwise_model::Plan;
use dropwise_nest::{Settings, nest};
use dropwise_shop::PlanCost;
use dropwise_tests::random_job::random_job;

/// Chains meet after each: enough for races, exchanges and linear programs to matter.
const ROUNDS: u64 = 20;

fn read(text: &str) -> LoadedJob {
    parse_job(Path::new("job.toml"), text).unwrap_or_else(|errors| panic!("{errors:#?}"))
}

fn solved(loaded: &LoadedJob, seed: u64, threads: usize) -> Plan {
    let settings = Settings { seed, time_limit: None, rounds: Some(ROUNDS), chains: 3, threads, ..Settings::default() };
    nest(&loaded.job, &settings, |_| ControlFlow::Continue(())).expect("a plan")
}

fn document(loaded: &LoadedJob, plan: &Plan) -> String {
    let work: Vec<_> = loaded.parts.iter().map(|detail| detail.work).collect();
    let cost = PlanCost::new(plan.figures(), &work, &loaded.rates).expect("sound rates");
    PlanDocument::new(loaded, plan, &cost).write()
}

fn assert_repeatable(text: &str, least_placed: usize) {
    let loaded = read(text);
    let first = solved(&loaded, 3, 1);
    assert!(first.certificate().parts_checked() >= least_placed, "{} placed", first.certificate().parts_checked());
    let alone = document(&loaded, &first);
    for threads in [2, 3] {
        assert!(document(&loaded, &solved(&loaded, 3, threads)) == alone, "{threads} threads give another plan");
    }
}

const CLEARANCES: &str = r#"
clearances = { kerf = 1, web = 2, margin = 3 }
defaults = { material = "mild steel", thickness = "2 mm" }
"#;

const SHEETS: &str = r#"
[[sheets]]
name = "offcut"
polygon = { points = [[0, 0], [420, 0], [420, 180], [260, 310], [0, 310]] }
price = 9
[[sheets]]
name = "plate"
rectangle = { width = 500, height = 400 }
quantity = 3
price = 30
[[sheets]]
name = "narrow"
rectangle = { width = 700, height = 150 }
quantity = 2
price = 11
"#;

const PARTS: &str = r#"
[[parts]]
name = "angle"
quantity = 5
l_shape = { length_x = 140, width_x = 40, length_y = 110, width_y = 35 }
[[parts]]
name = "wedge"
quantity = 4
gusset = { leg_x = 120, leg_y = 90, nose = 10 }
[[parts]]
name = "disc"
quantity = 4
circle = { diameter = 70 }
"#;

#[test]
fn parts_on_sheets_of_several_kinds() {
    assert_repeatable(&format!("{CLEARANCES}{PARTS}{SHEETS}"), 10);
}

#[test]
fn a_strip() {
    let strip = r#"
[[sheets]]
name = "coil"
strip = { width = 230, longest = 3000 }
price = "12 per m"
"#;
    assert_repeatable(&format!("{CLEARANCES}{PARTS}{strip}"), 13);
}

#[test]
fn pieces_that_leave_no_waste() {
    let puzzle = r#"
clearances = { kerf = 0, web = 0, margin = 0 }
defaults = { material = "mild steel", thickness = "2 mm" }
[[parts]]
name = "step"
turns = [0, 90, 180, 270]
polygon = { points = [[0, 0], [60, 0], [60, 40], [25, 40], [25, 70], [0, 70]] }
[[parts]]
name = "rest"
turns = [0, 90, 180, 270]
polygon = { points = [[60, 0], [100, 0], [100, 70], [25, 70], [25, 40], [60, 40]] }
[[parts]]
name = "long"
turns = [0, 90, 180, 270]
rectangle = { width = 100, height = 30 }
[[sheets]]
name = "exact"
rectangle = { width = 100, height = 100 }
price = 5
[[sheets]]
name = "roomy"
rectangle = { width = 150, height = 120 }
price = 12
"#;
    assert_repeatable(puzzle, 3);
}

#[test]
fn rectangles_on_rectangles() {
    let sizes = [(120, 80, 4), (200, 60, 3), (90, 90, 5), (150, 40, 6)];
    let parts: String = sizes
        .iter()
        .map(|(w, h, n)| {
            format!("[[parts]]\nname = \"{w} x {h}\"\nquantity = {n}\nturns = [0, 90]\nrectangle = {{ width = {w}, height = {h} }}\n")
        })
        .collect();
    let sheets = "[[sheets]]\nname = \"s\"\nrectangle = { width = 400, height = 250 }\nquantity = 4\nprice = 20\n\
                  [[sheets]]\nname = \"t\"\nrectangle = { width = 300, height = 300 }\nquantity = 4\nprice = 17\n";
    assert_repeatable(&format!("{CLEARANCES}{parts}{sheets}"), 18);
}

#[test]
fn several_materials_at_once() {
    let more = r#"
[[parts]]
name = "cover"
material = "5052 aluminium"
thickness = "3 mm"
quantity = 3
rectangle = { width = 130, height = 60 }
[[parts]]
name = "ring"
material = "5052 aluminium"
thickness = "3 mm"
quantity = 2
ring = { outer_diameter = 90, inner_diameter = 50 }
[[sheets]]
name = "aluminium"
material = "5052 aluminium"
thickness = "3 mm"
rectangle = { width = 350, height = 250 }
price = 25
"#;
    assert_repeatable(&format!("{CLEARANCES}{PARTS}{more}{SHEETS}"), 15);
}

#[test]
fn the_seed_matters() {
    let differing = (0..6).filter(|&seed| {
        let job = random_job(seed);
        let layout = |seed: u64| {
            let settings = Settings { seed, time_limit: None, rounds: Some(1), threads: 2, ..Settings::default() };
            nest(&job, &settings, |_| ControlFlow::Continue(())).expect("a plan").layout().clone()
        };
        layout(1) != layout(2)
    });
    assert!(differing.count() >= 3, "else the tests above would compare plans that have nothing to choose");
}
