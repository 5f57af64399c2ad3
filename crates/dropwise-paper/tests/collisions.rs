//! No label is struck through: texts of finished pictures and pages are held against every line and every other text.
//!
//! SVG is read as XML, PDF through poppler: `pdftocairo` turns a page into lines, `pdftotext` tells where words stand. A
//! few random plans are looked at; 200 of them are second tier, run by name.

mod fixture;
mod random;
mod seen;
mod tools;

use std::ops::Range;
use std::path::Path;

use dropwise_geometry::{Segment, Unit};
use dropwise_paper::{
    CutSheetSettings, DrawingStyle, LengthStyle, Paper, TableSection, TemplateSettings, draw_overview, draw_sheet,
    mark_out_of_sheet, write_bend_cards, write_cut_sheets, write_tables, write_templates,
};
use dropwise_shop::markout::{Grid, HoleTools, MarkOut, ScribeLines};
use random::{random_cards, random_plan};
use seen::{Seen, read_svg};

/// All pages of a PDF, where there are programs to read it.
fn read_pages(pdf: &[u8]) -> Option<Vec<Seen>> {
    let tools = ["pdftocairo", "pdftotext", "pdfinfo"].map(|tool| tools::find(&[tool]));
    let [Some(cairo), Some(words), Some(info)] = tools else { return None };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.pdf");
    std::fs::write(&path, pdf).unwrap();
    let pages = 1..=seen::page_count(&info, &path);
    Some(pages.map(|page| seen::read_page((&cairo, &words), Path::new(&path), page)).collect())
}

/// Reads every page of a file for each seed; at least so many texts a page stand on it, and none is struck.
fn unstruck(seeds: Range<u64>, least: usize, file: impl Fn(u64) -> Vec<u8>) {
    for seed in seeds {
        let Some(pages) = read_pages(&file(seed)) else { return };
        assert!(!pages.is_empty());
        for (index, seen) in pages.iter().enumerate() {
            assert!(seen.texts.len() >= least, "seed {seed}, page {}: {} texts", index + 1, seen.texts.len());
            assert_eq!(seen.collisions(), Vec::<String>::new(), "seed {seed}, page {}", index + 1);
        }
        assert!(pages.iter().any(|page| page.lines.len() > 20), "seed {seed}: nothing is drawn");
    }
}

/// Labels of pictures of random plans.
fn pictures(seeds: Range<u64>) {
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

fn cut_sheets(seeds: Range<u64>) {
    unstruck(seeds, 5, |seed| {
        let (job, plan, bends) = random_plan(seed);
        let settings = CutSheetSettings { bends: &bends, job_name: "random", ..CutSheetSettings::default() };
        write_cut_sheets(&job, &plan, &settings)
    });
}

fn mark_outs(seeds: Range<u64>) {
    unstruck(seeds, 5, |seed| {
        let (job, plan, bends) = random_plan(seed);
        let mut scribe = vec![ScribeLines::default(); job.parts().len()];
        for bend in &bends {
            let lines = &mut scribe[bend.part];
            let line = Segment::Line { start: bend.from, end: bend.to };
            if bend.is_up { lines.bends_up.push(line) } else { lines.bends_down.push(line) }
        }
        let (grid, tools) = (Grid::beside(Unit::Millimetre), HoleTools::beside(Unit::Millimetre));
        let marks = MarkOut::of_sheet(&job, &plan.layout().sheets[0], &scribe, grid, &tools).unwrap();
        let marked = mark_out_of_sheet(&job, &plan, 0, &marks, (&bends, &[]));
        let section =
            TableSection { title: "random".to_owned(), picture: Some(marked.picture), tables: vec![marked.table] };
        write_tables("Mark-out", ("random", "abc"), Paper::A4, &[section])
    });
}

fn templates(seeds: Range<u64>) {
    unstruck(seeds, 3, |seed| {
        let (job, plan, bends) = random_plan(seed);
        let settings = TemplateSettings { bends: &bends, ..TemplateSettings::default() };
        let parts: Vec<usize> = (0..job.parts().len()).collect();
        let (file, refused) = write_templates(&job, &plan, &parts, &settings).unwrap();
        assert!(refused.is_empty(), "{refused:?}");
        file
    });
}

fn cards(seeds: Range<u64>) {
    unstruck(seeds, 10, |seed| {
        let cards = random_cards(seed);
        assert!(cards.len() > 2, "seed {seed}");
        let lengths = LengthStyle::tape(Grid::HalfMillimetre);
        write_bend_cards(&cards, ("random", "abc"), Paper::A4, lengths)
    });
}

#[test]
fn no_label_of_a_random_picture_is_struck() {
    pictures(0..6);
}

#[test]
fn no_text_of_a_random_cut_sheet_is_struck() {
    cut_sheets(1000..1003);
}

#[test]
fn no_text_of_a_random_mark_out_is_struck() {
    mark_outs(1000..1002);
}

#[test]
fn no_text_of_random_templates_is_struck() {
    templates(1000..1002);
}

#[test]
fn no_text_of_a_random_bend_card_is_struck() {
    cards(1000..1003);
}

/// The seeds of a second tier: as many as `DROPWISE_PLANS` says from `DROPWISE_FIRST` on, else 200 from 0 on.
fn many() -> Range<u64> {
    let told = |name: &str, usual: u64| std::env::var(name).map_or(usual, |text| text.parse().expect("a number"));
    let first = told("DROPWISE_FIRST", 0);
    first..first + told("DROPWISE_PLANS", 200)
}

#[test]
#[ignore = "minutes: run by name"]
fn no_label_of_200_random_plans_is_struck() {
    pictures(many());
    cut_sheets(many());
    mark_outs(many());
    templates(many());
    cards(many());
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
