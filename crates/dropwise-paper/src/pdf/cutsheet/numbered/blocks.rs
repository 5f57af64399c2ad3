//! How pictures and their rows are laid out: picture over rows, side by side, or a picture in several parts.

use dropwise_geometry::{Bounds, Point, Vector};

use super::MarkPicture;
use super::view::{AROUND, View};
use crate::drawing::naming::Naming;
use crate::pdf::cutsheet::table::{Flow, LOWEST};
use crate::pdf::cutsheet::{MARGIN, TableSection};
use crate::pdf::document::Document;
use crate::pdf::font::Weight;
use crate::tables::PaperTable;

/// Heights of a picture over its rows that are tried, as shares of the page.
const OVER: [f64; 7] = [0.2, 0.27, 0.34, 0.41, 0.5, 0.6, 0.72];
/// A picture may be drawn smaller by so much to end on the page it begins on.
const SHRUNK: f64 = 0.72;
/// What stands with a picture at least, mm: the heading above it, notes and some rows below it.
const SOME_ROWS: f64 = 64.0;
/// The heading alone, mm.
const HEADING: f64 = 11.0;

/// Points up to which a picture stands beside its rows.
const SMALL: usize = 44;
/// Widths of a picture beside its rows, mm, and its heights: what is tried, the smallest first.
const BESIDE: [f64; 2] = [64.0, 80.0];
const BESIDE_HIGH: [f64; 5] = [18.0, 30.0, 48.0, 70.0, 110.0];

/// Highest that a part of a picture is drawn, as a share of the page: two stand on one.
const PART_HIGH: f64 = 0.4;
/// Shares of that size that are tried for a part whose numbers stand loosely: two of the first stand side by side.
const SMALLER: [f64; 3] = [0.44, 0.6, 0.78];
/// Paper that a number takes with the line that leads to it at least, mm².
const LEAST_ROOM: f64 = 60.0;
/// A part with so few points is not divided again.
const FEWEST: usize = 12;

/// A picture with its size and the places of its numbers.
struct Drawing<'a> {
    view: View<'a>,
    scale: f64,
    naming: Naming,
}

impl<'a> Drawing<'a> {
    fn new(view: View<'a>, scale: f64) -> Self {
        // A few may be helped by moving others, many may not; and a number takes its room.
        let count = view.marks.len();
        let extent = view.extent(scale);
        let most = if count as f64 * LEAST_ROOM > extent.x * extent.y { 0 } else { 2 + count / 40 };
        let naming = view.naming(scale, if count <= FEWEST { usize::MAX } else { most });
        Self { view, scale, naming }
    }

    /// The numbers that find no place.
    fn lost(&self) -> Vec<&'a str> {
        self.view.numberless(&self.naming, self.scale)
    }

    /// How high it comes out with the white around it, mm.
    fn height(&self) -> f64 {
        self.view.extent(self.scale).y
    }
}

/// What stands together on a page: rows with the picture of their points.
pub(in crate::pdf::cutsheet) struct Block<'a> {
    /// Stands at the head of its pages.
    pub(in crate::pdf::cutsheet) title: String,
    drawings: Vec<Drawing<'a>>,
    tables: Vec<PaperTable>,
    /// Width of a picture that stands beside its rows, mm.
    beside: Option<f64>,
}

/// A section as a block, on a page of this size.
pub(in crate::pdf::cutsheet) fn block(section: &TableSection, page: Vector) -> Block<'_> {
    let title = crate::drawing::text::clean(&section.title);
    let mut tables = section.tables.clone();
    let Some(picture) = &section.picture else { return Block { title, drawings: Vec::new(), tables, beside: None } };
    let across = page.x - 2.0 * (MARGIN + AROUND);
    let tries: Vec<(Vector, Option<f64>)> = if picture.marks.len() <= SMALL {
        let beside = BESIDE.iter().flat_map(|&wide| BESIDE_HIGH.map(|high| (wide, high)));
        beside.map(|(wide, high)| (Vector::new(wide - 2.0 * AROUND, high), Some(wide))).collect()
    } else {
        OVER.map(|high| (Vector::new(across, high * page.y), None)).to_vec()
    };
    let mut last = f64::NAN;
    for &(room, beside) in &tries {
        let view = View::whole(picture);
        let scale = view.fitted(room);
        // Width alone decides: a higher room changes nothing.
        if scale == last {
            continue;
        }
        last = scale;
        let drawing = Drawing::new(view, scale);
        if drawing.lost().is_empty() {
            return Block { title, drawings: vec![drawing], tables, beside };
        }
    }
    let mut drawings = Vec::new();
    let room = Vector::new(across, PART_HIGH * page.y);
    divide(picture, View::whole(picture).marks, room, &mut drawings);
    let lost: Vec<&str> = drawings.iter().flat_map(Drawing::lost).collect();
    if let (Some(table), false) = (tables.first_mut(), lost.is_empty()) {
        table.notes.push(format!("Too close to others to be numbered in the picture: {}.", lost.join(", ")));
    }
    Block { title, drawings, tables, beside: None }
}

/// Points in as few parts as let every number find its place, or nearly so.
fn divide<'a>(picture: &'a MarkPicture, marks: Vec<usize>, room: Vector, drawings: &mut Vec<Drawing<'a>>) {
    if marks.is_empty() {
        return;
    }
    let view = View::part(picture, marks.clone());
    let scale = view.fitted(room);
    let drawing = Drawing::new(view, scale);
    if drawing.lost().is_empty() || marks.len() <= FEWEST {
        // No larger than its numbers ask for.
        let lost = drawing.lost().len();
        let smaller = SMALLER.iter().find_map(|share| {
            let view = View::part(picture, marks.clone());
            let scale = view.fitted(room * *share);
            Some(Drawing::new(view, scale)).filter(|smaller| smaller.lost().len() <= lost)
        });
        drawings.push(smaller.unwrap_or(drawing));
        return;
    }
    let at = |index: usize| picture.marks[index].at;
    let bounds = Bounds::of(marks.iter().map(|&index| at(index)));
    // Across its longer side, so that parts are drawn large; with as many points on either side.
    let is_wide = bounds.width() / room.x > bounds.height() / room.y;
    let of = |index: usize| if is_wide { at(index).x } else { -at(index).y };
    let mut sorted = marks;
    sorted.sort_by(|&a, &b| of(a).total_cmp(&of(b)).then(a.cmp(&b)));
    let mut others = sorted.split_off(sorted.len() / 2);
    sorted.sort_unstable();
    others.sort_unstable();
    divide(picture, sorted, room, drawings);
    divide(picture, others, room, drawings);
}

impl Block<'_> {
    /// Whether its title stands beside its picture; it may then fill what is left of a page before its turn.
    pub(in crate::pdf::cutsheet) fn is_beside(&self) -> bool {
        self.beside.is_some()
    }

    /// Room without which it starts a page, mm: its heading, its picture and some rows; a picture beside its rows keeps all
    /// of them.
    pub(in crate::pdf::cutsheet) fn needed(&self, flow: &mut Flow<'_>) -> f64 {
        match (&self.drawings[..], self.beside) {
            ([drawing, ..], Some(wide)) => {
                flow.left = MARGIN + wide;
                let tables: f64 = self.tables.iter().map(|table| flow.height_of(table)).sum();
                flow.left = MARGIN;
                // A line of title over the table.
                2.0 + (9.0 + tables).max(drawing.height())
            }
            ([drawing], None) => shrunk(drawing, flow.y - LOWEST - SOME_ROWS) + SOME_ROWS,
            ([drawing, ..], None) => drawing.height() + HEADING,
            ([], _) => SOME_ROWS,
        }
    }

    /// Draws it where the flow stands, with its title beside its picture if it has one there.
    pub(in crate::pdf::cutsheet) fn draw(&self, flow: &mut Flow<'_>, title: &str) {
        if let ([drawing, ..], Some(wide)) = (&self.drawings[..], self.beside) {
            draw_at(flow, drawing, 0.0);
            let (page, below) = (flow.document.pages.len(), flow.y - drawing.height());
            flow.left = MARGIN + wide;
            flow.line(Weight::Bold, 5.0, title);
            self.tables.iter().for_each(|table| flow.plain_table(table));
            flow.left = MARGIN;
            if flow.document.pages.len() == page {
                flow.y = flow.y.min(below);
            }
            return;
        }
        if let [drawing] = &self.drawings[..] {
            let room = flow.y - LOWEST - SOME_ROWS + HEADING;
            let scale = drawing.view.shrunk(drawing.scale, shrunk(drawing, room));
            // Smaller only where every number still finds its place.
            let smaller = (scale > drawing.scale).then(|| Drawing::new(drawing.view.clone(), scale));
            let drawing = smaller.as_ref().filter(|smaller| smaller.lost().is_empty()).unwrap_or(drawing);
            flow.need(drawing.height());
            draw_at(flow, drawing, 0.0);
            flow.y -= drawing.height();
        } else {
            self.draw_parts(flow);
        }
        self.tables.iter().for_each(|table| flow.plain_table(table));
    }

    /// Draws the parts of a picture in rows, each where there is room first.
    fn draw_parts(&self, flow: &mut Flow<'_>) {
        // How far the row reaches to the right, and how high it is.
        let (mut reached, mut high) = (0.0, 0.0f64);
        let room = flow.size.x - 2.0 * MARGIN;
        let mut left: Vec<&Drawing<'_>> = self.drawings.iter().collect();
        while !left.is_empty() {
            let extent = |drawing: &Drawing<'_>| drawing.view.extent(drawing.scale);
            let beside = |drawing: &&Drawing<'_>| {
                let size = extent(drawing);
                reached > 0.0 && reached + size.x <= room && flow.y - size.y >= LOWEST
            };
            let mut found = left.iter().position(beside);
            if found.is_none() {
                flow.y -= high;
                (reached, high) = (0.0, 0.0);
                found = left.iter().position(|drawing| flow.y - extent(drawing).y >= LOWEST);
            }
            let drawing = left.remove(found.unwrap_or(0));
            let size = extent(drawing);
            flow.need(size.y);
            draw_at(flow, drawing, reached);
            (reached, high) = (reached + size.x, high.max(size.y));
        }
        flow.y -= high;
    }
}

/// How high a picture comes out: rather smaller, where it then ends within `room`, mm.
fn shrunk(drawing: &Drawing<'_>, room: f64) -> f64 {
    let whole = drawing.height();
    if whole > room && room >= SHRUNK * whole { room } else { whole }
}

/// Draws a picture below where the flow stands, so far from the left.
fn draw_at(flow: &mut Flow<'_>, drawing: &Drawing<'_>, left: f64) {
    let corner = Point::new(MARGIN + left + AROUND, flow.y - drawing.height() + AROUND);
    let Document { fonts, pages, .. } = &mut *flow.document;
    let page = pages.last_mut().expect("room was made");
    drawing.view.draw(page, fonts, corner, drawing.scale, &drawing.naming);
}
