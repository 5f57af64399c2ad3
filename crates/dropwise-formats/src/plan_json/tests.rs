//! What is written reads back to the bit; what is no plan is refused with its place.

use std::path::Path;
use std::sync::LazyLock;

use dropwise_geometry::Isometry;
use dropwise_model::{Plan, Provenance};
use dropwise_shop::PlanCost;
use proptest::prelude::*;

use super::*;
use crate::{LoadedJob, parse_job};

const JOB: &str = r#"
name = "Round trip"
unit = "in"
currency = "USD"
defaults = { material = "mild steel", thickness = "16 ga" }
clearances = { process = "plasma" }
leftovers = { length = "150 mm", width = "100 mm", worth = "0.20 per lb" }
rates = { cutting = "0.40 per ft", hole = 0.25, bend = 0.5, scrap = "0.10 per lb", setup = 2 }
[[parts]]
name = "disc"
quantity = 3
circle = { diameter = 3 }
holes = [{ diameter = "1/4 in" }]
ready_made = 4.5
[[parts]]
name = "gate"
rectangle = { width = 90, height = 40 }
[[sheets]]
name = "drop"
rectangle = { width = 24, height = 12 }
damage = [{ diameter = 1, at = { right = 1, top = 1 } }]
price = "0.42 per lb"
[[sheets]]
name = "coil"
strip = { width = 12, longest = "20 ft", increment = 6 }
price = "4.25 per ft"
"#;

fn loaded() -> LoadedJob {
    parse_job(Path::new("round.toml"), JOB).unwrap_or_else(|errors| panic!("{errors:#?}"))
}

/// Three discs in a row on the given sheet, turned and flipped at will, with a gap above the web.
pub(super) fn document(sheet: usize, gap: f64, turns: [f64; 3], flips: [bool; 3], seed: u64) -> PlanDocument {
    let loaded = loaded();
    let pitch = 76.2 + loaded.job.clearances().web() + gap;
    // The disc is drawn from (0, 0), so it swings about its lower left corner; this puts its middle where it belongs.
    let placements = (0..3).map(|index| {
        let at = Isometry::new(flips[index], turns[index], 0.0, 0.0);
        let middle = at.apply(dropwise_geometry::Point::new(38.1, 38.1));
        let (x, y) = (60.0 + pitch * index as f64, 120.0);
        Placement { part: 0, position: Isometry::new(flips[index], turns[index], x - middle.x, y - middle.y) }
    });
    let length = (sheet == 1).then_some(24.0 * 25.4);
    let sheets = vec![SheetUse { sheet, length, placements: placements.collect() }];
    let reason = Reason::TooLarge { nearest: 1, excess: 30.125 };
    let layout = Layout { sheets, unplaced: vec![Unplaced { part: 1, count: 1, reason }] };
    let provenance = Provenance { seed, rounds: 7, chains: 4, lower_bound: Some(-3), ..Provenance::default() };
    let plan = Plan::new(&loaded.job, layout.clone(), provenance).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let work: Vec<_> = loaded.parts.iter().map(|part| part.work).collect();
    let cost = PlanCost::new(plan.figures(), &work, &loaded.rates).unwrap_or_else(|faults| panic!("{faults:#?}"));
    let document = PlanDocument::new(&loaded, &plan, &cost);
    assert_eq!(document.layout(), layout);
    document
}

pub(super) fn sample() -> PlanDocument {
    static SAMPLE: LazyLock<PlanDocument> =
        LazyLock::new(|| document(0, 3.0, [0.0, 90.0, 33.3], [false, true, false], u64::MAX));
    SAMPLE.clone()
}

#[test]
fn a_plan_reads_back_as_it_was_written() {
    for document in [sample(), document(1, 0.0, [0.0; 3], [false; 3], 0)] {
        let text = document.write();
        let back = PlanDocument::read(&text).expect("what was written reads");
        assert_eq!(back, document);
        assert_eq!(back.write(), text);
    }
}

#[test]
fn the_document_holds_what_the_plan_amounts_to() {
    let document = sample();
    assert_eq!(document.job.unit, "in");
    assert_eq!((document.parts[0].placed, document.parts[0].wanted), (3, 3));
    assert_eq!(document.sheets[0].placements[1].name, "disc");
    assert_eq!(
        document.unplaced[0].in_words,
        "it is too large for every sheet of its kind, for the nearest, coil, by 1.186 in"
    );
    // 24 x 12 in of 16 ga: 2 ft² of 2.50 lb/ft² in the gauge book (Steel Buyers Basics), 2.5 % less on the scale, at 0.42.
    let price = document.sheets[0].price as f64;
    assert!((price - 2.0 * 2.5 / 1.025 * 42.0).abs() < 1.0, "{price}");
    let parts: i64 = document.parts.iter().map(|part| part.cost.total).sum();
    assert_eq!(parts, document.cost.total, "the parts' costs add up");
    assert_eq!(document.cost.drilling, 75, "three holes of 1/4 in are drilled");
    let sheet = &document.sheets[0];
    let sum = sheet.net_area + sheet.leftover_area + sheet.kerf_area + sheet.other_scrap_area;
    assert!((sum - sheet.gross_area).abs() < 1e-6 * sheet.gross_area);
}

#[test]
fn a_written_plan_is_valid_by_its_schema() {
    let validator = jsonschema::validator_for(plan_schema()).expect("the schema is one");
    let value: serde_json::Value = serde_json::from_str(&sample().write()).expect("JSON");
    let faults: Vec<String> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn every_field_is_documented() {
    fn walk(name: &str, schema: &serde_json::Value, bare: &mut Vec<String>) {
        for (key, property) in schema["properties"].as_object().into_iter().flatten() {
            // The tag of a choice is explained by the choice.
            if property["description"].is_null() && property["const"].is_null() {
                bare.push(format!("{name}.{key}"));
            }
        }
        for choice in schema["oneOf"].as_array().into_iter().flatten() {
            walk(name, choice, bare);
        }
    }
    let mut bare = Vec::new();
    walk("plan", plan_schema(), &mut bare);
    for (name, schema) in plan_schema()["$defs"].as_object().expect("definitions") {
        walk(name, schema, &mut bare);
    }
    assert!(bare.is_empty(), "without a word: {bare:?}");
}

#[test]
fn what_is_no_plan_is_refused() {
    let text = sample().write();
    let told = |text: &str| PlanDocument::read(text).expect_err("this is no plan").to_string();
    assert_eq!(told(""), "line 1, column 0: this is not JSON: EOF while parsing a value");
    assert!(told(&text[..text.len() / 2]).contains("this is not JSON: EOF"));
    assert!(told("{\"name\": \"Rack\"}").starts_with("this is JSON, but no plan"));
    assert!(told("[]").starts_with("this is JSON, but no plan"));
    assert_eq!(
        told("{\"format\": \"dropwise plan\", \"version\": 5, \"anything\": [1]}"),
        "this plan is of version 5, but only versions up to 4 are known here. Read it with a newer dropwise"
    );
    let extra = text.replacen("\"version\": 4,", "\"version\": 4, \"colour\": \"red\",", 1);
    assert!(
        told(&extra).starts_with("line 3, column 24: this plan is not as version 4 has it: unknown field `colour`"),
        "{}",
        told(&extra)
    );
    let missing = text.replacen("\"kerf\":", "\"curve\":", 1);
    assert!(told(&missing).contains("unknown field `curve`"), "{}", told(&missing));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Round trip of plans that were found valid.
    #[test]
    fn any_valid_plan_reads_back_to_the_bit(
        gap in 0.0..80.0,
        turns in [-400.0..400.0, -400.0..400.0, -400.0..400.0],
        flips: [bool; 3],
        seed: u64,
        sheet in 0..2_usize,
    ) {
        let document = document(sheet, gap, turns, flips, seed);
        prop_assert_eq!(PlanDocument::read(&document.write()), Ok(document));
    }

    /// Round trip of every finite number there is.
    #[test]
    fn any_number_reads_back_to_the_bit(bits: [u64; 4]) {
        let numbers = bits.map(f64::from_bits);
        prop_assume!(numbers.iter().all(|number| number.is_finite()));
        let mut document = sample();
        let vertex = &mut document.sheets[0].shape.outline.0[0];
        [vertex.x, vertex.y, vertex.bulge, document.figures.gross_area] = numbers;
        let back = PlanDocument::read(&document.write()).expect("what was written reads");
        let vertex = back.sheets[0].shape.outline.0[0];
        let read = [vertex.x, vertex.y, vertex.bulge, back.figures.gross_area];
        prop_assert_eq!(read.map(f64::to_bits), bits);
    }

    /// Whatever the text, the answer is a document or an error.
    #[test]
    fn any_text_is_a_plan_or_an_error(text in ".{0,200}") {
        let _ = PlanDocument::read(&text);
    }
}
