//! Cut sheets: for each sheet of a plan a drawing to mark out from, with lists of parts and holes.

mod contents;
mod drawing;
mod lists;
mod numbered;
mod ordinates;
mod table;

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

pub use numbered::{MarkPicture, PictureMark};

use super::document::{Document, stamp};
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
    /// The number of the plan, which stands on every page; may be empty.
    pub plan_number: &'a str,
    /// Further tables for each sheet, in the layout's order: mark-out, cut plan. What is missing at the end has none.
    pub sheet_tables: &'a [Vec<PaperTable>],
    /// Bends of the job's parts, drawn as lines.
    pub bends: &'a [BendLine],
    /// Tables that hold for all sheets, said once at the end: rates, advice.
    pub closing: &'a [PaperTable],
}

impl Default for CutSheetSettings<'_> {
    /// A4, millimetres.
    fn default() -> Self {
        Self {
            paper: Paper::A4,
            lengths: LengthStyle::default(),
            job_name: "",
            plan_number: "",
            sheet_tables: &[],
            bends: &[],
            closing: &[],
        }
    }
}

/// Stands over what holds for all sheets.
const CLOSING: &str = "For all sheets: rates, advice and cautions";

/// White around everything, mm.
pub(super) const MARGIN: f64 = 10.0;

/// The cut sheets of a plan as one PDF: for each sheet a page with the drawing to scale, then a list of its parts and one
/// of its round holes by size, on as many pages as they take. Where few parts lie on a sheet, all of it stands on one page.
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
    let mut document = Document::new(stamp(settings.job_name, settings.plan_number));
    let mut starts = Vec::new();
    for index in 0..plan.layout().sheets.len() {
        starts.push(document.pages.len());
        let used = &plan.layout().sheets[index];
        document.bookmark(&format!("Sheet {}: {}", index + 1, job.sheets()[used.sheet].name));
        if used.placements.len() <= FEW && on_one_page(&mut document, upright, job, plan, index, settings) {
            continue;
        }
        drawing::draw(&mut document, drawing::Area::whole(size), job, plan, index, settings);
        lists::draw(&mut document, (upright, None), job, plan, index, settings);
    }
    if document.pages.is_empty() {
        drawing::nothing(&mut document, size, settings);
    }
    let rows = contents::of_sheets(job, plan);
    if !settings.closing.is_empty() {
        let end = document.pages.len();
        document.bookmark(CLOSING);
        let mut flow = table::Flow::new(&mut document, upright, CLOSING.to_owned());
        flow.note = table::WORDS;
        // One page says all that holds for all of them, also where each is.
        if starts.len() > 1 {
            flow.plain_table(&contents::with_pages(&rows, &starts, end, 0));
        }
        settings.closing.iter().for_each(|table| flow.plain_table(table));
    } else if starts.len() > 1 {
        contents::before(&mut document, upright, &title, &rows, &starts);
    }
    document.number_pages(MARGIN);
    document.finish(&title)
}

/// Parts up to which a sheet may share one page with its lists: more need the larger drawing.
const FEW: usize = 14;

/// Puts drawing and lists of a sheet on one upright page; where they find no room, nothing is drawn.
fn on_one_page(
    document: &mut Document,
    size: Vector,
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) -> bool {
    let pages = document.pages.len();
    for area in drawing::Area::upper(size, job, plan, index) {
        drawing::draw(document, area, job, plan, index, settings);
        lists::draw(document, (size, Some(area.low - 2.0)), job, plan, index, settings);
        if document.pages.len() == pages + 1 {
            return true;
        }
        document.pages.truncate(pages);
    }
    false
}

/// Tables that belong together, from a page of their own on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TableSection {
    /// Stands at the head of each of its pages.
    pub title: String,
    /// Drawn above the tables.
    pub picture: Option<MarkPicture>,
    /// The tables, in order.
    pub tables: Vec<PaperTable>,
}

/// What stands with a picture at least, mm: the heading above it, notes and some rows below it.
const SOME_ROWS: f64 = 64.0;
/// The heading alone, mm.
const HEADING: f64 = 11.0;

/// Tables on pages of their own, as PDF, on upright paper, each section under its picture: mark-out to take to the bench.
/// A section starts a page unless the last one leaves room for its picture and some rows; sections without tables are left out, and
/// without any a page says so. `job_name` and `plan_number` stand on every page. The same tables make the same file.
#[must_use]
pub fn write_tables(
    title: &str,
    (job_name, plan_number): (&str, &str),
    paper: Paper,
    sections: &[TableSection],
) -> Vec<u8> {
    let size = upright(paper);
    let mut document = Document::new(stamp(job_name, plan_number));
    let name = crate::drawing::text::clean(title);
    let mut flow = table::Flow::new(&mut document, size, String::new());
    let mut left: Vec<&TableSection> = sections.iter().filter(|section| !section.tables.is_empty()).collect();
    while let Some(next) = left.first() {
        // Where the next one would start a page, small ones that are still to come fill what is left of this one.
        let is_open = !flow.document.pages.is_empty();
        let fits = |flow: &mut table::Flow<'_>, section: &TableSection| {
            let needed = section.needed(flow);
            is_open && flow.y - needed >= MARGIN
        };
        let found = if fits(&mut flow, next) {
            Some(0)
        } else {
            let is_small = |section: &TableSection| section.picture.as_ref().is_some_and(numbered::is_small);
            left.iter().position(|section| is_small(section) && fits(&mut flow, section))
        };
        let section = left.remove(found.unwrap_or(0));
        let title = crate::drawing::text::clean(&section.title);
        let is_small = section.picture.as_ref().is_some_and(numbered::is_small);
        if found.is_some() {
            if is_small {
                flow.rule_before(title.clone());
            } else {
                flow.go_on_with(title.clone());
            }
            let page = flow.document.pages.len() - 1;
            flow.document.bookmarks.push((title.clone(), page));
        } else {
            flow.title.clone_from(&title);
            flow.y = 0.0;
            flow.document.bookmark(&title);
            flow.need(1.0);
        }
        // The title of a page says it already.
        section.draw(&mut flow, if is_small && found.is_some() { &title } else { "" });
    }
    if document.pages.is_empty() {
        let settings = CutSheetSettings { paper, job_name: title, ..CutSheetSettings::default() };
        drawing::nothing(&mut document, size, &settings);
    }
    document.number_pages(MARGIN);
    document.finish(&name)
}

impl TableSection {
    /// Room without which a section starts a page, mm: its heading, its picture and some rows; a small one stays whole.
    fn needed(&self, flow: &mut table::Flow<'_>) -> f64 {
        match &self.picture {
            Some(picture) if numbered::is_small(picture) => numbered::height_beside(flow, picture, &self.tables),
            Some(picture) => numbered::height(picture, flow.size, flow.y - MARGIN - SOME_ROWS) + SOME_ROWS,
            None => SOME_ROWS,
        }
    }

    /// Draws picture and tables where the flow stands; a small one with its title beside the picture.
    fn draw(&self, flow: &mut table::Flow<'_>, title: &str) {
        match &self.picture {
            Some(picture) if numbered::is_small(picture) => numbered::draw_beside(flow, picture, title, &self.tables),
            picture => {
                if let Some(picture) = picture {
                    let height = numbered::height(picture, flow.size, flow.y - MARGIN - SOME_ROWS + HEADING);
                    numbered::draw(flow, picture, height);
                }
                self.tables.iter().for_each(|table| flow.plain_table(table));
            }
        }
    }
}

/// An upright page of a paper; a roll is cut to pages as high as A3.
fn upright(paper: Paper) -> Vector {
    paper.size().unwrap_or_else(|| match paper {
        Paper::Roll { width } if width.is_finite() => Vector::new(width.clamp(200.0, 2000.0), 420.0),
        _ => Vector::new(297.0, 420.0),
    })
}
