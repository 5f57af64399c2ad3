//! No label is struck through: texts of finished pictures and pages are held against every line and every other text.
//!
//! SVG is read as XML, PDF through poppler: `pdftocairo` turns a page into lines, `pdftotext` tells where words stand. A
//! few random plans are looked at; 200 of them are second tier, run by name.

mod fixture;
mod seen;
mod tools;

use std::path::Path;

use dropwise_geometry::{Isometry, Outline, Point, Shape, Unit};
use dropwise_model::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Plan, Provenance, Sheet, SheetUse, StockClass,
    Turns,
};
use dropwise_paper::{BendLine, CutSheetSettings, DrawingStyle, draw_overview, draw_sheet, write_cut_sheets};
use seen::{Seen, read_svg};

/// A small generator, so that the plans of the test are always the same.
struct Dice(u64);

impl Dice {
    fn next(&mut self, most: f64) -> f64 {
        // Numerical Recipes' linear congruence (from memory).
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64 * most
    }
}

/// A sheet packed in rows with parts of random sizes, some turned, some face down, some bent, with holes.
fn random_plan(seed: u64) -> (Job, Plan, Vec<BendLine>) {
    let mut dice = Dice(seed.wrapping_mul(977).wrapping_add(13));
    let (wide, high) = (600.0 + dice.next(1400.0), 400.0 + dice.next(800.0));
    let kinds = 4 + dice.next(9.0) as usize;
    let (mut parts, mut bends) = (Vec::new(), Vec::new());
    for kind in 0..kinds {
        let size = (12.0 + dice.next(260.0), 10.0 + dice.next(160.0));
        let mut holes = Vec::new();
        if size.0 > 60.0 && size.1 > 40.0 {
            holes.push(Outline::circle(Point::new(size.0 * 0.3, size.1 * 0.5), 3.0 + dice.next(8.0)).reversed());
            holes.push(Outline::circle(Point::new(size.0 * 0.8, size.1 * 0.4), 2.0 + dice.next(5.0)).reversed());
            if dice.next(1.0) < 0.5 {
                bends.push(BendLine {
                    part: kind,
                    name: "1".to_owned(),
                    from: Point::new(0.0, size.1 * 0.75),
                    to: Point::new(size.0, size.1 * 0.75),
                    turn_deg: 90.0,
                    is_up: dice.next(1.0) < 0.5,
                    inside_radius: 2.0,
                    note: String::new(),
                });
            }
        }
        let names = ["cheek", "corner bracket", "drip edge of the long shed", "lug", "vent link", "base plate left"];
        parts.push(Part {
            name: format!("{} {kind}", names[kind % names.len()]),
            shape: Shape::new(Outline::rectangle(Point::ORIGIN, size.0, size.1), holes),
            quantity: 0,
            class: StockClass::new("steel, 2 mm"),
            turns: Turns::Any,
            may_flip: true,
            need: Need::Filler,
        });
    }
    let mut placements: Vec<Placement> = Vec::new();
    let mut low = 6.0;
    while low < high - 20.0 {
        let (mut left, mut tallest) = (6.0, 10.0f64);
        loop {
            let part = dice.next(kinds as f64) as usize % kinds;
            let turn = if dice.next(1.0) < 0.3 { dice.next(360.0) } else { 90.0 * dice.next(4.0).floor() };
            let position = Isometry::new(dice.next(1.0) < 0.3, turn, 0.0, 0.0);
            let bounds = parts[part].shape.transformed(position).bounds();
            if left + bounds.width() > wide - 6.0 || low + bounds.height() > high - 6.0 {
                break;
            }
            let (dx, dy) = (left - bounds.min.x, low - bounds.min.y);
            placements.push(Placement { part, position: Isometry::new(position.is_mirrored, turn, dx, dy) });
            left += bounds.width() + 2.0;
            tallest = tallest.max(bounds.height());
        }
        low += tallest + 2.0;
    }
    for placement in &placements {
        parts[placement.part].quantity += 1;
    }
    if parts.iter().any(|part| part.quantity == 0) {
        // A kind that found no place makes no job: another throw.
        return random_plan(seed + 10_000);
    }
    let sheet = Sheet {
        name: "sheet".to_owned(),
        shape: Shape::new(Outline::rectangle(Point::ORIGIN, wide, high), Vec::new()),
        damage: Vec::new(),
        class: StockClass::new("steel, 2 mm"),
        quantity: Some(1),
        price: Money::ZERO,
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    };
    let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
    let rule = LeftoverRule { length: wide, width: high, neck: 1.0 };
    let job = Job::new(parts, vec![sheet], Clearances::default(), rule).unwrap();
    let plan = Plan::new(&job, layout, Provenance::default()).unwrap_or_else(|faults| panic!("{faults:?}"));
    (job, plan, bends)
}

/// A page of a PDF, where there are programs to read it.
fn read_page(pdf: &Path, page: usize) -> Option<Seen> {
    let (cairo, words) = (tools::find(&["pdftocairo"])?, tools::find(&["pdftotext"])?);
    Some(seen::read_page((&cairo, &words), pdf, page))
}

/// Labels of pictures of random plans.
fn pictures(seeds: std::ops::Range<u64>) {
    let mut labels = 0;
    for seed in seeds {
        let (job, plan, bends) = random_plan(seed);
        let style = DrawingStyle { unit: Unit::Millimetre, bends, ..DrawingStyle::default() };
        let seen = read_svg(&draw_sheet(&job, &plan, 0, &style));
        labels += seen.texts.len();
        assert_eq!(seen.collisions(), Vec::<String>::new(), "seed {seed}");
    }
    assert!(labels > 100);
}

/// Texts of cut sheets of random plans, on all their pages.
fn cut_sheets(seeds: std::ops::Range<u64>) {
    let folder = tempfile::tempdir().unwrap();
    for seed in seeds {
        let (job, plan, bends) = random_plan(seed);
        let settings = CutSheetSettings { bends: &bends, job_name: "random", ..CutSheetSettings::default() };
        let path = folder.path().join("sheet.pdf");
        std::fs::write(&path, write_cut_sheets(&job, &plan, &settings)).unwrap();
        // Few parts share one page with their lists.
        let pages = if plan.layout().sheets[0].placements.len() > 14 { 2 } else { 1 };
        for page in 1..=pages {
            let Some(seen) = read_page(&path, page) else { return };
            let (texts, lines) = (seen.texts.len(), seen.lines.len());
            assert!(texts > 10 && lines > if page == 1 { 20 } else { 1 }, "seed {seed}: {texts} texts, {lines} lines");
            assert_eq!(seen.collisions(), Vec::<String>::new(), "seed {seed}, page {page}");
        }
    }
}

#[test]
fn no_label_of_a_random_picture_is_struck() {
    pictures(0..6);
}

#[test]
fn no_label_of_a_random_cut_sheet_is_struck() {
    cut_sheets(1000..1003);
}

#[test]
#[ignore = "minutes: run by name"]
fn no_label_of_200_random_plans_is_struck() {
    pictures(0..200);
    cut_sheets(0..200);
}

/// The check itself finds what is wrong.
#[test]
fn a_struck_label_is_found() {
    let struck = r##"<svg xmlns="http://www.w3.org/2000/svg"><text x="10" y="10" font-size="4">A1</text>
        <path d="M0 8L30 9" stroke="#000"/><text x="12" y="11" font-size="4">B2</text></svg>"##;
    assert_eq!(read_svg(struck).collisions().len(), 3);
}

/// Every picture and the first page of the fixture's plan.
#[test]
fn no_label_of_the_fixture_is_struck() {
    let (job, plan) = fixture::plan();
    for index in 0..plan.layout().sheets.len() {
        let style = DrawingStyle { bends: fixture::bends(), ..DrawingStyle::default() };
        let seen = read_svg(&draw_sheet(&job, &plan, index, &style));
        assert_eq!(seen.collisions(), Vec::<String>::new(), "sheet {index}");
    }
    let seen = read_svg(&draw_overview(&job, &plan, &DrawingStyle::default()));
    assert_eq!(seen.collisions(), Vec::<String>::new(), "overview");
}
