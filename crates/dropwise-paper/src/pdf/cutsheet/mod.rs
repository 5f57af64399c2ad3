//! Cut sheets: for each sheet of a plan a drawing to mark out from, with lists of parts and holes.

mod contents;
mod drawing;
mod lists;
mod table;

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

use super::document::Document;
use super::paper::Paper;
use crate::details::{BendLine, LengthStyle};
use crate::tables::PaperTable;

/// What may be chosen about cut sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct CutSheetSettings<'a> {
    /// What is in the printer. On a roll pages are as high as A3, or wide where the roll is narrower.
    pub paper: Paper,
    /// How lengths are written.
    pub lengths: LengthStyle,
    /// What the job is called, for the head of each page.
    pub job_name: &'a str,
    /// Further tables for each sheet, in the layout's order: mark-out, cut plan. What is missing at the end has none.
    pub sheet_tables: &'a [Vec<PaperTable>],
    /// Bends of the job's parts, drawn as lines.
    pub bends: &'a [BendLine],
}

impl Default for CutSheetSettings<'_> {
    /// A4, millimetres.
    fn default() -> Self {
        Self { paper: Paper::A4, lengths: LengthStyle::default(), job_name: "", sheet_tables: &[], bends: &[] }
    }
}

/// White around everything, mm.
pub(super) const MARGIN: f64 = 10.0;

/// The cut sheets of a plan as one PDF: for each sheet a page with the drawing to scale, then a list of its parts and one
/// of its round holes by size, on as many pages as they take.
///
/// All dimensions run from the datum of [`dropwise_shop::markout::Datum`], the corner that the mark-out tables use too, so
/// that errors do not add up; the sheet is turned so that the datum edge lies below. Each rounds by what [`LengthStyle`] says, which stands on the page. A plan without sheets makes one page that says so.
/// The same plan makes the same file.
///
/// # Panics
/// If the plan was made for another job.
#[must_use]
pub fn write_cut_sheets(job: &Job, plan: &Plan, settings: &CutSheetSettings<'_>) -> Vec<u8> {
    let upright = upright(settings.paper);
    // Across, as sheets mostly are.
    let size = Vector::new(upright.x.max(upright.y), upright.x.min(upright.y));
    let name = crate::drawing::text::clean(settings.job_name);
    let title = if name.is_empty() { "Cut sheets".to_owned() } else { format!("Cut sheets: {name}") };
    let mut document = Document::new();
    let mut starts = Vec::new();
    for index in 0..plan.layout().sheets.len() {
        starts.push(document.pages.len());
        drawing::draw(&mut document, size, job, plan, index, settings);
        lists::draw(&mut document, size, job, plan, index, settings);
    }
    if document.pages.is_empty() {
        drawing::nothing(&mut document, size, settings);
    }
    if starts.len() > 1 {
        contents::before(&mut document, size, &title, &contents::of_sheets(job, plan), &starts);
    }
    document.number_pages(MARGIN);
    document.finish(&title)
}

/// Tables that belong together, from a page of their own on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TableSection {
    /// Stands at the head of each of its pages.
    pub title: String,
    /// The tables, in order.
    pub tables: Vec<PaperTable>,
}

/// Tables on pages of their own, as PDF, on upright paper: mark-out and cut plan to take to the bench. A section starts a
/// page unless the rest of the last one holds it whole; sections without tables are left out, and without any a page says
/// so. Of several sections the first page tells where each is. The same tables make the same file.
#[must_use]
pub fn write_tables(title: &str, paper: Paper, sections: &[TableSection]) -> Vec<u8> {
    let size = upright(paper);
    let mut document = Document::new();
    let name = crate::drawing::text::clean(title);
    let mut flow = table::Flow { document: &mut document, size, title: String::new(), y: 0.0, said: Vec::new() };
    let (mut starts, mut entries) = (Vec::new(), Vec::new());
    for section in sections.iter().filter(|section| !section.tables.is_empty()) {
        let title = crate::drawing::text::clean(&section.title);
        let draw = |flow: &mut table::Flow<'_>| section.tables.iter().for_each(|table| flow.plain_table(table));
        // Room below the last section, the head of a page being as high as the title of one that goes on.
        let fits = flow.height_of(draw).is_some_and(|height| flow.y - height - 4.0 >= MARGIN);
        if fits && !flow.document.pages.is_empty() {
            flow.go_on_with(title.clone());
        } else {
            flow.title.clone_from(&title);
            flow.said.clear();
            flow.y = 0.0;
            flow.need(1.0);
        }
        starts.push(flow.document.pages.len() - 1);
        entries.push(vec![title]);
        draw(&mut flow);
    }
    if document.pages.is_empty() {
        let settings = CutSheetSettings { paper, job_name: title, ..CutSheetSettings::default() };
        drawing::nothing(&mut document, size, &settings);
    }
    if starts.len() > 1 {
        contents::before(&mut document, size, &name, &contents::of_sections(entries), &starts);
    }
    document.number_pages(MARGIN);
    document.finish(&name)
}

/// An upright page of a paper; a roll is cut to pages as high as A3.
fn upright(paper: Paper) -> Vector {
    paper.size().unwrap_or_else(|| match paper {
        Paper::Roll { width } if width.is_finite() => Vector::new(width.clamp(200.0, 2000.0), 420.0),
        _ => Vector::new(297.0, 420.0),
    })
}
