//! A plan as the nester hands it over, from the rack and back into it.

mod common;

use common::*;
use dropwise_geometry::{Isometry, Outline, Point, Shape};
use dropwise_model::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Plan, Provenance, SheetUse, Turns,
};
use dropwise_stock::{Change, CutPlan, Source, State, StockSheet};

/// Two plates at the left of a held drop, two at the left of a new one.
fn nested(drop: &StockSheet) -> (Job, Plan) {
    let plate = Part {
        name: "plate".to_owned(),
        shape: Shape::new(
            Outline::rectangle(Point::ORIGIN, 200.0, 240.0),
            vec![Outline::circle(Point::new(100.0, 120.0), 40.0)],
        ),
        quantity: 4,
        class: drop.details.class(),
        turns: Turns::Any,
        may_flip: true,
        need: Need::Required,
    };
    let held = drop.to_sheet(0.001, 0.0001);
    let new = dropwise_model::Sheet { name: "new sheet".to_owned(), quantity: None, ..held.clone() };
    let clearances = Clearances::new(2.0, 4.0, 5.0).unwrap();
    let rule = LeftoverRule { length: 300.0, width: 200.0, neck: 50.0 };
    let job = Job::new(vec![plate], vec![held, new], clearances, rule).unwrap();
    let at = |y| Placement { part: 0, position: Isometry::translation(5.0, y) };
    let on = |sheet| SheetUse { sheet, length: None, placements: vec![at(5.0), at(250.0)] };
    let plan = Plan::new(&job, Layout { sheets: vec![on(0), on(1)], unplaced: vec![] }, Provenance::default());
    (job, plan.unwrap())
}

#[test]
fn a_certified_plan_is_cut_from_the_rack() {
    let mut log = log();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let drop = log.sheet(tag).unwrap();
    let (job, plan) = nested(&drop);
    let cut = CutPlan::of("tool shed", &job, &plan, |sheet, length| {
        assert_eq!(length, None);
        if sheet.name == tag.to_string() {
            Source::Held { tag, revision: drop.revision }
        } else {
            Source::Bought(Box::new(steel(1000.0, 500.0, 2000)))
        }
    });
    let receipt = log.record_cut(&cut, "first batch").unwrap();

    let figures = plan.figures();
    assert_eq!(receipt.tags.len(), figures.sheets.iter().map(|sheet| sheet.leftovers.len()).sum::<usize>());
    let Change::Cut { sheets, .. } = &log.events().unwrap()[2].change else { panic!("the cut") };
    for (recorded, planned) in sheets.iter().zip(&figures.sheets) {
        assert_eq!(recorded.gross_area, planned.gross_area);
        let sum = recorded.parts_area
            + recorded.scrap_area
            + recorded.leftovers.iter().map(|leftover| leftover.details.area()).sum::<f64>();
        assert!((sum - planned.gross_area).abs() < 1e-6);
        assert!((recorded.scrap_area - planned.kerf_area - planned.other_scrap_area).abs() < 1e-6);
        assert!((recorded.scrap_kg - recorded.scrap_area * drop.details.weight_per_area()).abs() < 1e-9);
    }
    let leftovers = log.sheets(Some(State::InRack)).unwrap();
    let carried: Money = leftovers.iter().map(|sheet| sheet.cost).sum();
    let charged: Money = sheets.iter().map(|sheet| sheet.charged).sum();
    assert_eq!((carried + charged).coins(), 3000);
    // The next plan takes the leftovers as they lie.
    let leftover = leftovers.iter().find(|sheet| sheet.purchase == tag).unwrap();
    let again = leftover.to_sheet(0.0, 0.0);
    assert_eq!((again.price, again.name), (leftover.cost, leftover.tag.to_string()));
    assert!((again.weight * again.shape.area() - leftover.details.weight()).abs() < 1e-9);
    assert_sound(&log);
}
