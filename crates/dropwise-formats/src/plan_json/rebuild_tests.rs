//! A document makes its plan anew, and one that was tampered with does not.

use std::path::Path;

use dropwise_geometry::{Point, Polygon};
use dropwise_model::{Plan, PlanFigures, Provenance, Violation, certify_figures};
use serde_json::{Value, json};

use super::rebuild::Builder;
use super::tests::{document, sample};
use super::*;

fn rebuilt(document: &PlanDocument) -> Result<RebuiltPlan, Vec<PlanFault>> {
    document.rebuild(Path::new("plan.json"))
}

#[test]
fn a_document_makes_its_plan_anew() {
    for document in [sample(), document(1, 5.0, [0.0, 10.0, 77.7], [true, false, true], 3)] {
        let back = rebuilt(&document).unwrap_or_else(|faults| panic!("{faults:#?}"));
        let again = PlanDocument::new(&back.loaded, &back.plan, &back.cost);
        assert_eq!(again, document);
    }
}

/// The document with one value changed, at a JSON pointer (RFC 6901).
fn with(pointer: &str, value: Value) -> PlanDocument {
    let mut json = serde_json::to_value(sample()).unwrap();
    *json.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = value;
    PlanDocument::read(&json.to_string()).unwrap_or_else(|error| panic!("{pointer}: {error}"))
}

/// Everything in a plan can be changed by hand; whatever is changed, a person is told where.
#[test]
fn what_was_changed_by_hand_is_told_with_its_place() {
    let x = sample().sheets[0].placements[1].x;
    for (pointer, value, wanted) in [
        (
            "/parts/0/wanted",
            json!(4),
            "parts[0]: of part 0 4 are wanted, but 3 are placed and 0 declared unplaced (disc)",
        ),
        ("/sheets/0/placements/1/x", json!(x - 60.0), "overlap by at least"),
        ("/sheets/0/placements/1/x", json!(x + 1e9), "sticks out of sheet 0"),
        ("/sheets/0/placements/1/x", json!(x + 0.01), "sheets[0].placements[1]"),
        ("/sheets/0/placements/1/part", json!(7), "is part 7 of the job, which has 2"),
        (
            "/sheets/0/placements/1/name",
            json!("plate"),
            "\"plate\" stands here, but the rest of the plan makes it \"disc\"",
        ),
        ("/sheets/0/sheet", json!(9), "is sheet 9 of the job, which has 2"),
        ("/sheets/0/price", json!(1), "sheets[0].price: 1 stands here, but the rest of the plan makes it"),
        ("/cost/total", json!(0), "cost.total: 0 stands here"),
        ("/job/unit", json!("furlong"), "job.unit: `furlong` is not mm, cm, m, in or ft"),
        ("/job/web", json!(0.1), "less than the kerf"),
        ("/job/leftover_length", json!(-5), "job.leftover_length: it is -5"),
        ("/parts/0/material", json!("cheese"), "`cheese` is not a metal"),
        ("/parts/0/thickness", json!(-1), "parts[0] \"disc\".thickness"),
        ("/parts/0/shape/outline/0/x", json!(1e300), "farther than 100 m"),
        (
            "/parts/1/shape/outline",
            json!([{"x": 0, "y": 0}, {"x": 9, "y": 9}, {"x": 9, "y": 0}, {"x": 0, "y": 9}]),
            "crosses itself",
        ),
        ("/parts/1/shape/outline", json!([]), "enclose nothing"),
        ("/parts/1/wanted", json!(0), "quantity of zero"),
        ("/parts/1/name", json!("disc"), "two parts are called `disc`"),
        ("/stock/0/price", json!(i64::MAX), "no amount that anybody pays"),
        ("/stock", json!([]), "written by an older dropwise"),
        ("/unplaced/0/reason/nearest_sheet", json!(5), "no sheet 5 in `stock`"),
        ("/unplaced/0/part", json!(5), "entry 0 of the unplaced is part 5"),
        ("/provenance/seed", json!("minus"), "`minus` is not a whole number"),
        ("/certificate/sheets/0/pairs_checked", json!(99), "certificate.sheets[0].pairs_checked: 99 stands here"),
    ] {
        let faults = rebuilt(&with(pointer, value)).expect_err(pointer);
        let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert!(told.iter().any(|fault| fault.contains(wanted)), "{pointer}: {told:#?}");
        assert!(told.len() <= 30, "{told:#?}");
    }
}

/// JSON knows no NaN and no infinity; what is too large for a number is refused where it stands.
#[test]
fn numbers_that_are_none_are_refused() {
    let text = sample().write();
    for bad in ["NaN", "Infinity", "-Infinity", "1e999", "null", "\"12\""] {
        let changed = text.replacen("\"turn_deg\": 0.0", &format!("\"turn_deg\": {bad}"), 1);
        assert_ne!(changed, text);
        let error = PlanDocument::read(&changed).expect_err(bad).to_string();
        assert!(error.starts_with("line "), "{bad}: {error}");
    }
}

/// Words for people may change from version to version without making a plan invalid.
#[test]
fn words_about_a_plan_do_not_bear_on_it() {
    assert!(rebuilt(&with("/unplaced/0/in_words", json!("too big"))).is_ok());
}

/// Made by an engine that lost a hole which touched the sheet's edge in one point: the leftover lies over placement 3.
#[test]
fn a_leftover_over_a_part_is_refused_and_not_made_again() {
    let document = PlanDocument::read(include_str!("fixtures/leftover-over-part.plan.json")).unwrap();
    let faults = rebuilt(&document).unwrap_err();
    assert!(faults.iter().any(|fault| fault.to_string().contains("leftover")), "{faults:#?}");

    let mut builder = Builder { faults: Vec::new() };
    let loaded = builder.job(&document, Path::new("plan.json")).unwrap();
    let plan = Plan::new(&loaded.job, document.layout(), Provenance::default()).unwrap();
    let largest = |figures: &PlanFigures| figures.sheets[0].leftovers[0].area;
    // By another library: 57518.6 mm², where the document says 60734.8. Chords cut at most 0.05 mm off along the 1.3 m of
    // arcs around it, and never add anything.
    let area = largest(plan.figures());
    assert!(area < 57518.7 && area > 57518.6 - 0.05 * 1300.0, "{area}");

    let mut figures = plan.figures().clone();
    let entry = &document.sheets[0].leftovers[0];
    let ring = |points: &Vec<[f64; 2]>| points.iter().map(|&[x, y]| Point::new(x, y)).collect::<Vec<_>>();
    let claimed = Polygon::new(ring(&entry.outline), entry.holes.iter().map(ring).collect());
    figures.sheets[0].leftovers[0].outline = claimed;
    let violations = certify_figures(&loaded.job, plan.layout(), &figures).unwrap_err();
    let is_told = |violation: &Violation| matches!(violation, Violation::LeftoverOnPart { placement: 3, .. });
    assert!(violations.iter().any(is_told), "{violations:#?}");
}
