//! Cut sheets: for each sheet of a plan a drawing to mark out from, with lists of parts and holes.

mod drawing;
mod lists;
mod table;

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

use super::document::Document;
use super::paper::Paper;
use crate::details::LengthStyle;
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
}

impl Default for CutSheetSettings<'_> {
    /// A4, millimetres.
    fn default() -> Self {
        Self { paper: Paper::A4, lengths: LengthStyle::default(), job_name: "", sheet_tables: &[] }
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
    let upright = settings.paper.size().unwrap_or_else(|| match settings.paper {
        Paper::Roll { width } if width.is_finite() => Vector::new(width.clamp(200.0, 2000.0), 420.0),
        _ => Vector::new(297.0, 420.0),
    });
    // Across, as sheets mostly are.
    let size = Vector::new(upright.x.max(upright.y), upright.x.min(upright.y));
    let mut document = Document::new();
    for index in 0..plan.layout().sheets.len() {
        drawing::draw(&mut document, size, job, plan, index, settings);
        lists::draw(&mut document, size, job, plan, index, settings);
    }
    if document.pages.is_empty() {
        drawing::nothing(&mut document, size, settings);
    }
    let name = crate::drawing::text::clean(settings.job_name);
    document.finish(&if name.is_empty() { "Cut sheets".to_owned() } else { format!("Cut sheets: {name}") })
}
