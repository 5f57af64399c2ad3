//! Reports of layouts that are made by hand, so that they stay the same however the search improves.

use std::path::Path;

use dropwise_formats::{LoadedJob, parse_job};
use dropwise_geometry::{Isometry, Point};
use dropwise_model::{Layout, Placement, Plan, Provenance, Reason, SheetUse, Unplaced};
use dropwise_shop::PlanCost;

use super::{render, summary};
use crate::ink::Ink;
use crate::shop_checks::CautionChoice;
use crate::text::{COLUMNS, width};

fn loaded(text: &str) -> LoadedJob {
    parse_job(Path::new("job.toml"), text).unwrap_or_else(|errors| panic!("{errors:#?}"))
}

/// Parts by index with their lower left corners, as drawn, in the job's unit.
fn sheet(loaded: &LoadedJob, sheet: usize, length: Option<f64>, parts: &[(usize, f64, f64)]) -> SheetUse {
    let unit = loaded.unit.millimetres();
    let placements = parts.iter().map(|&(part, x, y)| {
        let corner = loaded.job.parts()[part].shape.bounds().min;
        let to = Point::new(x * unit, y * unit) - corner;
        Placement { part, position: Isometry::translation(to.x, to.y) }
    });
    SheetUse { sheet, length: length.map(|length| length * unit), placements: placements.collect() }
}

fn report(loaded: &LoadedJob, layout: Layout, lower_bound: Option<i64>, ink: Ink) -> String {
    let provenance = Provenance { seed: 7, rounds: 40, chains: 2, lower_bound, ..Provenance::default() };
    let plan = Plan::new(&loaded.job, layout, provenance).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let work: Vec<_> = loaded.parts.iter().map(|detail| detail.work).collect();
    let cost = PlanCost::new(plan.figures(), &work, &loaded.rates).unwrap();
    render(loaded, &plan, &cost, "c0ffee", CautionChoice::default(), ink)
}

const SHELVES: &str = r#"
name = "Shelf brackets for the long wall"
unit = "in"
currency = "USD"
defaults = { material = "mild steel", thickness = "1/8 in" }
clearances = { process = "plasma", kerf = "0.06", web = "0.125", margin = "0.25" }
leftovers = { length = 12, width = 6, worth = "0.20 per lb" }
rates = { cutting_hour = 45, cutting_speed = "40 in", hole = 0.25, bend = 0.5, scrap = "0.10 per lb", setup = 2 }

[[parts]]
name = "bracket"
quantity = 4
l_shape = { length_x = 6, width_x = 2, length_y = 6 }
holes = [{ diameter = "1/4", at = { left = 1, bottom = 1 } }]
bends = 1
ready_made = 6.5

[[parts]]
name = "Anschlussblech für das lange Regal an der Wand, verzinkt 支架"
quantity = 2
rectangle = { width = 5, height = 4 }
ready_made = 1

[[parts]]
name = "gate"
rectangle = { width = 60, height = 30 }

[[parts]]
name = "crest"
rectangle = { width = 3, height = 2 }
turns = "grain"

[[parts]]
name = "cover"
quantity = 2
material = "galvanized steel"
thickness = "16 ga"
rectangle = { width = 3, height = 2 }

[[parts]]
name = "shim"
quantity = 9
circle = { diameter = 1 }
filler = true

[[sheets]]
name = "drop 7"
quantity = 2
rectangle = { width = 30, height = 20.25 }
location = "rack 2, second shelf from the bottom, behind the long angles and the tubes"
price = 8.60

[[sheets]]
name = "coil end"
strip = { width = 12, longest = "8 ft", increment = 6 }
price = "4.25 per ft"
"#;

fn shelves() -> (LoadedJob, Layout) {
    let loaded = loaded(SHELVES);
    let sheets = vec![
        sheet(&loaded, 0, None, &[(0, 0.25, 0.25), (0, 7.0, 0.25), (0, 0.25, 7.0), (0, 7.0, 7.0)]),
        sheet(&loaded, 1, Some(12.0), &[(1, 0.25, 0.25), (1, 5.5, 0.25), (5, 0.5, 6.0)]),
    ];
    let unplaced = vec![
        Unplaced { part: 2, count: 1, reason: Reason::TooLarge { nearest: 0, excess: 40.0 } },
        Unplaced { part: 3, count: 1, reason: Reason::GrainUnknown },
        Unplaced { part: 4, count: 2, reason: Reason::NoSuchStock },
        Unplaced { part: 5, count: 8, reason: Reason::NoRoom },
    ];
    (loaded, Layout { sheets, unplaced })
}

fn assert_narrow(page: &str) {
    for line in page.lines() {
        assert!(width(line) <= COLUMNS, "{} columns: {line}", width(line));
        assert_eq!(line, line.trim_end());
    }
}

#[test]
fn everything_that_can_stand_in_a_report() {
    let (loaded, layout) = shelves();
    let page = report(&loaded, layout, Some(700), Ink::plain());
    assert_narrow(&page);
    // By hand: 30 × 20 1/4 × 1/8 in of steel at 0.2836 lb/in³ weigh 21.5 lb.
    assert!(page.contains("4.2188 ft², 21.5"), "{page}");
    insta::assert_snapshot!(page);
}

/// What is looked at first keeps to the terminal, however narrow, and cuts no figure.
#[test]
fn what_is_looked_at_first() {
    let (loaded, layout) = shelves();
    let provenance = Provenance { seed: 7, rounds: 40, chains: 2, lower_bound: Some(700), ..Provenance::default() };
    let plan = Plan::new(&loaded.job, layout, provenance).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let work: Vec<_> = loaded.parts.iter().map(|detail| detail.work).collect();
    let cost = PlanCost::new(plan.figures(), &work, &loaded.rates).unwrap();
    for columns in [60, 80, 120] {
        crate::text::set_columns(columns);
        let page = summary(&loaded, &plan, &cost, "c0ffee", CautionChoice::default(), Ink::plain());
        let misfit = page.lines().find(|line| width(line) > columns || *line != line.trim_end());
        assert_eq!(misfit, None, "{columns}:\n{page}");
        assert!(page.lines().count() <= 45, "{page}");
    }
    crate::text::set_columns(COLUMNS);
    insta::assert_snapshot!(summary(&loaded, &plan, &cost, "c0ffee", CautionChoice::default(), Ink::plain()));
}

#[test]
fn colour_changes_no_letter() {
    let (loaded, layout) = shelves();
    let plain = report(&loaded, layout.clone(), Some(700), Ink::plain());
    let coloured = report(&loaded, layout, Some(700), Ink::new(true));
    let mut stripped = String::new();
    let mut pieces = coloured.split("\x1b[");
    stripped.push_str(pieces.next().unwrap());
    let mut count = 0;
    for piece in pieces {
        stripped.push_str(piece.split_once('m').unwrap().1);
        count += 1;
    }
    assert!(count > 10);
    assert_eq!(stripped, plain);
}

/// A job that says as little as it may: metric, no prices, no currency.
#[test]
fn the_least_that_a_report_says() {
    let loaded = loaded(
        "defaults = { material = \"aluminium 5052\", thickness = \"2 mm\" }\n\
         clearances = { kerf = 0, web = 0, margin = 0 }\n\
         parts = [{ name = \"lid\", rectangle = { width = 400, height = 300 } }]\n\
         sheets = [{ name = \"offcut\", rectangle = { width = 500, height = 300 } }]\n",
    );
    let layout = Layout { sheets: vec![sheet(&loaded, 0, None, &[(0, 0.0, 0.0)])], unplaced: Vec::new() };
    let page = report(&loaded, layout, Some(0), Ink::plain());
    assert_narrow(&page);
    insta::assert_snapshot!(page);
}

#[test]
fn a_plan_that_cuts_nothing() {
    let loaded = loaded(
        "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\n\
         clearances = { process = \"laser\" }\n\
         parts = [{ name = \"lid\", rectangle = { width = 400, height = 300 }, quantity = 3 }]\n\
         sheets = [{ name = \"offcut\", rectangle = { width = 350, height = 380 } }]\n",
    );
    let reason = Reason::TooLarge { nearest: 0, excess: 0.0 };
    let layout = Layout { sheets: Vec::new(), unplaced: vec![Unplaced { part: 0, count: 3, reason }] };
    let page = report(&loaded, layout, None, Ink::plain());
    assert_narrow(&page);
    insta::assert_snapshot!(page);
}

/// Names are somebody else's text: none of it may steer the terminal or break the table.
#[test]
fn hostile_names() {
    let name = "\u{1b}[2J\u{202e}evil\u{7} ".repeat(20);
    let mut loaded = loaded(
        "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\n\
         clearances = { process = \"laser\" }\n\
         parts = [{ name = \"lid\", rectangle = { width = 40, height = 30 } }]\n\
         sheets = [{ name = \"offcut\", rectangle = { width = 60, height = 300 } }]\n",
    );
    let mut parts = loaded.job.parts().to_vec();
    let mut sheets = loaded.job.sheets().to_vec();
    parts[0].name.clone_from(&name);
    sheets[0].name.clone_from(&name);
    sheets[0].location.clone_from(&name);
    loaded.name.clone_from(&name);
    loaded.currency = "\u{1b}[31m".to_owned();
    loaded.job =
        dropwise_model::Job::new(parts, sheets, *loaded.job.clearances(), *loaded.job.leftover_rule()).unwrap();
    let layout = Layout { sheets: vec![sheet(&loaded, 0, None, &[(0, 10.0, 10.0)])], unplaced: Vec::new() };
    let page = report(&loaded, layout, None, Ink::plain());
    assert_narrow(&page);
    assert!(!page.contains(['\u{1b}', '\u{202e}', '\u{7}']));
}
