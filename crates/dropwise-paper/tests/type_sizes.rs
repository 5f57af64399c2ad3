//! Type of what is measured from is large enough on every page: capitals of 2.5 mm, on bend cards of 3 mm.
//!
//! Sizes are those that `pdftotext` reads out of the finished files.

mod fixture;
mod random;
mod seen;
mod tools;

use std::path::PathBuf;

use dropwise_geometry::Unit;
use dropwise_paper::{
    CutSheetSettings, LengthStyle, Paper, TableSection, TemplateOf, TemplateSettings, mark_out_of_sheet,
    write_bend_cards, write_cut_sheets, write_tables, write_template, write_templates,
};
use dropwise_shop::markout::{Grid, HoleTools, MarkOut};
use random::{random_cards, random_plan};

/// Figures on pages: how many there are, and the height of the capitals of the smallest, mm.
fn least(file: &[u8]) -> Option<(usize, f64, String)> {
    let tools: Vec<PathBuf> = ["pdftotext", "pdfinfo"].iter().filter_map(|tool| tools::find(&[tool])).collect();
    let [pdftotext, pdfinfo] = &tools[..] else { return None };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.pdf");
    std::fs::write(&path, file).unwrap();
    let mut found = (0, f64::INFINITY, String::new());
    for page in 1..=seen::page_count(pdfinfo, &path) {
        for (height, word) in seen::figures(pdftotext, &path, page) {
            found.0 += 1;
            if height < found.1 {
                (found.1, found.2) = (height, format!("{word} on page {page}"));
            }
        }
    }
    Some(found)
}

fn assert_large(file: &[u8], wanted: f64, what: &str) {
    let Some((count, height, word)) = least(file) else { return };
    assert!(count > 5, "{what}: {count} figures");
    assert!(height > wanted - 0.02, "{what}: {word} has capitals of {height:.2} mm");
}

#[test]
fn figures_on_cut_sheets_and_mark_out_have_capitals_of_two_and_a_half_millimetres() {
    for seed in [3, 1001] {
        let (job, plan, bends) = random_plan(seed);
        let settings = CutSheetSettings { bends: &bends, job_name: "random", ..CutSheetSettings::default() };
        assert_large(&write_cut_sheets(&job, &plan, &settings), 2.5, "cut sheet");
        let (grid, tools) = (Grid::beside(Unit::Millimetre), HoleTools::beside(Unit::Millimetre));
        let marks = MarkOut::of_sheet(&job, &plan.layout().sheets[0], &[], grid, &tools).unwrap();
        let marked = mark_out_of_sheet(&job, &plan, 0, &marks, (&bends, &[]));
        let section =
            TableSection { title: "random".to_owned(), picture: Some(marked.picture), tables: vec![marked.table] };
        let file = write_tables("Mark-out", ("random", "abc"), Paper::Letter, &[section]);
        assert_large(&file, 2.5, "mark-out");
    }
}

#[test]
fn figures_on_templates_have_capitals_of_two_and_a_half_millimetres() {
    let (job, plan) = fixture::plan();
    let bends = fixture::bends();
    for unit in [Unit::Millimetre, Unit::Inch] {
        let lengths = LengthStyle::decimal(unit);
        let settings = TemplateSettings { bends: &bends, lengths, ..TemplateSettings::default() };
        let parts: Vec<usize> = (0..job.parts().len()).collect();
        assert_large(&write_templates(&job, &plan, &parts, &settings).unwrap().0, 2.5, "templates");
        let sheet = write_template(&job, &plan, TemplateOf::Sheet(0), &settings).unwrap();
        assert_large(&sheet, 2.5, "template of a sheet");
    }
}

#[test]
fn figures_on_bend_cards_have_capitals_of_three_millimetres() {
    for seed in 0..4 {
        let lengths = LengthStyle::tape(Grid::HalfMillimetre);
        let file = write_bend_cards(&random_cards(seed), ("random", "abc"), Paper::A4, lengths);
        assert_large(&file, 3.0, "bend cards");
    }
}
