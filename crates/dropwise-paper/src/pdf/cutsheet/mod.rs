//! Cut sheets: for each sheet of a plan a drawing to mark out from, with lists of parts and holes.

mod contents;
mod drawing;
mod lists;
mod numbered;
mod ordinates;
mod pieces;
mod table;

use dropwise_geometry::Vector;
use dropwise_model::{Job, Plan};

pub use numbered::{MarkPicture, PictureMark};

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

/// Size of text that is read at leisure where it would take one more page, mm: capitals 1.8 mm high.
const LEAST_WORDS: f64 = 2.47;

/// White around everything, mm.
pub(super) const MARGIN: f64 = 10.0;

/// The cut sheets of a plan as one PDF: for each sheet a page with the drawing to scale, then a list of its parts and one
/// of its round holes by size, on one page more if they find room there. Where few parts lie on a sheet, all of it stands
/// on one page.
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
    let mut document = Document::new(settings.job_name, settings.plan_number);
    let mut starts = Vec::new();
    for index in 0..plan.layout().sheets.len() {
        starts.push(document.pages.len());
        let used = &plan.layout().sheets[index];
        document.bookmark(&format!("Sheet {}: {}", index + 1, job.sheets()[used.sheet].name));
        sheet_pages(&mut document, (upright, size), job, plan, index, settings);
    }
    if document.pages.is_empty() {
        drawing::nothing(&mut document, size, settings);
    }
    let rows = contents::of_sheets(job, plan, settings.lengths.unit);
    if !settings.closing.is_empty() {
        let end = document.pages.len();
        document.bookmark(CLOSING);
        // One page says all that holds for all of them, also where each is; a little smaller, if it does so then.
        for (row, words) in [
            (table::ROWS[0], table::WORDS),
            (table::ROWS[1], table::WORDS),
            (table::ROWS[1], LEAST_WORDS),
            (table::ROWS[2], LEAST_WORDS),
        ] {
            document.pages.truncate(end);
            let mut flow = table::Flow::new(&mut document, upright, CLOSING.to_owned());
            (flow.row, flow.note, flow.words) = (row, words, words);
            if starts.len() > 1 {
                flow.plain_table(&contents::with_pages(&rows, &starts, end, 0));
            }
            settings.closing.iter().for_each(|table| flow.plain_table(table));
            if document.pages.len() == end + 1 {
                break;
            }
        }
    } else if starts.len() > 1 {
        contents::before(&mut document, upright, &title, &rows, &starts);
    }
    document.number_pages(MARGIN);
    document.finish(&title)
}

/// Parts up to which a sheet may share one page with its lists: more need the larger drawing.
const FEW: usize = 22;

/// How the pages of a sheet may be divided.
#[derive(Clone, Copy, Debug)]
struct Division {
    /// What the drawing takes.
    area: drawing::Area,
    /// Whether the lists begin below it.
    is_shared: bool,
    /// Height of a row of the lists, mm.
    row: f64,
    /// Pages that it may take.
    most: usize,
}

/// Draws a sheet and its lists, on one page if few parts lie on it, else on two if they can be had: with rows closer
/// together, or with lists that begin below a smaller drawing.
fn sheet_pages(
    document: &mut Document,
    (upright, across): (Vector, Vector),
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) {
    let is_few = plan.layout().sheets[index].placements.len() <= FEW;
    let shared = drawing::Area::upper(upright, job, plan, index);
    let whole = drawing::Area::whole(across);
    let on_one = shared.iter().flat_map(|&area| table::ROWS.map(|row| (area, row)));
    let on_one = on_one.filter(|_| is_few).map(|(area, row)| Division { area, is_shared: true, row, most: 1 });
    let apart = table::ROWS.map(|row| Division { area: whole, is_shared: false, row, most: 2 });
    let below = shared.iter().flat_map(|&area| table::ROWS.map(|row| (area, row)));
    let below = below.map(|(area, row)| Division { area, is_shared: true, row, most: 2 });
    let start = document.pages.len();
    for way in on_one.chain(apart).chain(below) {
        divided(document, way, upright, job, plan, index, settings);
        let pages = document.pages.len() - start;
        // A list that is longer by pages comes down to no fewer by a little less air.
        if pages <= way.most || (!way.is_shared && pages > way.most + 1) {
            return;
        }
        document.pages.truncate(start);
    }
    divided(document, apart[0], upright, job, plan, index, settings);
}

/// Draws a sheet and its lists in one way.
fn divided(
    document: &mut Document,
    way: Division,
    upright: Vector,
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) {
    let below = way.is_shared.then_some(way.area.low - 2.0);
    drawing::draw(document, way.area, job, plan, index, settings);
    lists::draw(document, (upright, below, way.row), job, plan, index, settings);
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
    let name = crate::drawing::text::clean(title);
    let told = sections.iter().filter(|section| !section.tables.is_empty());
    let blocks: Vec<numbered::Block<'_>> = told.map(|section| numbered::block(section, size)).collect();
    let written = |row: f64| {
        let mut document = Document::new(job_name, plan_number);
        blocks_in_rows(&mut document, size, &blocks, row);
        document
    };
    let mut document = written(table::ROWS[1]);
    // Rows stand closer only where that saves a page.
    if document.pages.len() > 1 {
        let closer = written(table::ROWS[2]);
        if closer.pages.len() < document.pages.len() {
            document = closer;
        }
    }
    if document.pages.is_empty() {
        let settings = CutSheetSettings { paper, job_name: title, ..CutSheetSettings::default() };
        drawing::nothing(&mut document, size, &settings);
    }
    document.number_pages(MARGIN);
    document.finish(&name)
}

/// Draws blocks one after the other, in rows of a height.
fn blocks_in_rows(document: &mut Document, size: Vector, blocks: &[numbered::Block<'_>], row: f64) {
    let mut flow = table::Flow::new(document, size, String::new());
    flow.row = row;
    let mut left: Vec<&numbered::Block<'_>> = blocks.iter().collect();
    while let Some(next) = left.first() {
        // Where the next one would start a page, small ones that are still to come fill what is left of this one.
        let is_open = !flow.document.pages.is_empty();
        let fits = |flow: &mut table::Flow<'_>, block: &numbered::Block<'_>| {
            let needed = block.needed(flow);
            is_open && flow.y - needed >= table::LOWEST
        };
        let found = if fits(&mut flow, next) {
            Some(0)
        } else {
            // The largest of them.
            let mut best: Option<(f64, usize)> = None;
            for (index, block) in left.iter().enumerate().filter(|(_, block)| block.is_beside()) {
                let needed = block.needed(&mut flow);
                if fits(&mut flow, block) && best.is_none_or(|(most, _)| needed > most) {
                    best = Some((needed, index));
                }
            }
            best.map(|(_, index)| index)
        };
        let block = left.remove(found.unwrap_or(0));
        let title = block.title.clone();
        let is_beside = block.is_beside();
        if found.is_some() {
            if is_beside {
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
        block.draw(&mut flow, if is_beside && found.is_some() { &title } else { "" });
    }
}

/// An upright page of a paper; a roll is cut to pages as high as A3.
fn upright(paper: Paper) -> Vector {
    paper.size().unwrap_or_else(|| match paper {
        Paper::Roll { width } if width.is_finite() => Vector::new(width.clamp(200.0, 2000.0), 420.0),
        _ => Vector::new(297.0, 420.0),
    })
}
