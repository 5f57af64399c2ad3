//! A small picture in which every point of a mark-out table bears its number.

use dropwise_geometry::{Bounds, Point, Shape, Side, Vector};

use super::MARGIN;
use super::ordinates::FIGURE;
use super::table::Flow;
use crate::drawing::naming::{NUMBER, Subject, name_points, sides};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::{Fonts, Weight};
use crate::tables::PaperTable;

/// A point of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureMark {
    /// Where it is.
    pub at: Point,
    /// Its number or letter in the table.
    pub name: String,
    /// Whether something is drilled or punched there: it is ringed.
    pub is_hole: bool,
}

/// A drawing of what is marked out, the datum at (0, 0) and the datum edge along x.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MarkPicture {
    /// The sheet, or nothing for a part by itself.
    pub sheet: Option<Shape>,
    /// The parts, each with its key; the key may be empty.
    pub parts: Vec<(Shape, String)>,
    /// Lines to scribe, and whether they are bend lines down.
    pub lines: Vec<([Point; 2], bool)>,
    /// The points.
    pub marks: Vec<PictureMark>,
}

/// Highest that a picture is drawn, as a share of the page, with many points and with few.
const TALLEST: (f64, f64) = (0.41, 0.2);
/// Points from which a picture is drawn as large as may be.
const MANY: usize = 140;

/// White around a picture, mm: numbers stand there too.
const AROUND: f64 = 6.0;

/// Room for the picture of a part by itself, beside its table, mm; height with many points and with few.
const BESIDE: f64 = 64.0;
const BESIDE_HIGH: (f64, f64) = (110.0, 18.0);
/// Points up to which their numbers are as large as figures.
const LARGE: usize = 40;

/// Points up to which a picture stands beside its table.
const SMALL: usize = 24;

/// Whether a picture stands beside its table.
pub(super) fn is_small(picture: &MarkPicture) -> bool {
    picture.marks.len() <= SMALL
}

/// How far the cross of a hole reaches from its middle, mm.
const CROSS: f64 = 1.2;

/// What a picture shows.
fn bounds(picture: &MarkPicture) -> Bounds {
    let points = picture
        .sheet
        .iter()
        .chain(picture.parts.iter().map(|(shape, _)| shape))
        .map(Shape::bounds)
        .flat_map(|bounds| [bounds.min, bounds.max]);
    Bounds::of(points.chain([Point::ORIGIN]))
}

/// How much smaller a picture is drawn so that it keeps to a width and to a height that grows with its points.
fn scale(picture: &MarkPicture, across: f64, (many, few): (f64, f64)) -> f64 {
    let share = (picture.marks.len() as f64 / MANY as f64).min(1.0);
    let (bounds, tallest) = (bounds(picture), few + (many - few) * share);
    (bounds.width() / across).max(bounds.height() / tallest).max(1e-6)
}

/// How much smaller a picture is drawn that has the width of the page to itself.
fn fitted(picture: &MarkPicture, page: Vector) -> f64 {
    scale(picture, page.x - 2.0 * (MARGIN + AROUND), (TALLEST.0 * page.y, TALLEST.1 * page.y))
}

/// How much smaller a picture is drawn beside its table.
fn fitted_beside(picture: &MarkPicture) -> f64 {
    scale(picture, BESIDE - 2.0 * AROUND, BESIDE_HIGH)
}

/// How high a picture comes out, with the white around it, mm: rather smaller, where it then ends above `room`.
pub(super) fn height(picture: &MarkPicture, page: Vector, room: f64) -> f64 {
    let whole = bounds(picture).height() / fitted(picture, page) + 2.0 * AROUND;
    if whole > room && room >= SHRUNK * whole { room } else { whole }
}

/// A picture may be drawn smaller by so much to end on the page it begins on.
const SHRUNK: f64 = 0.72;

/// How high a picture and the tables beside it come out, with the title over both, mm.
pub(super) fn height_beside(flow: &mut Flow<'_>, picture: &MarkPicture, tables: &[PaperTable]) -> f64 {
    flow.left = MARGIN + BESIDE;
    let tables: f64 = tables.iter().map(|table| flow.height_of(table)).sum();
    flow.left = MARGIN;
    // A line of title over the table.
    2.0 + (9.0 + tables).max(bounds(picture).height() / fitted_beside(picture) + 2.0 * AROUND)
}

/// Draws the picture where the flow stands, so high.
pub(super) fn draw(flow: &mut Flow<'_>, picture: &MarkPicture, height: f64) {
    let scale = fitted(picture, flow.size).max(bounds(picture).height() / (height - 2.0 * AROUND).max(1.0));
    flow.y -= drawn(flow, picture, scale);
}

/// Draws the picture on the left and its tables beside it.
pub(super) fn draw_beside(flow: &mut Flow<'_>, picture: &MarkPicture, title: &str, tables: &[PaperTable]) {
    let high = drawn(flow, picture, fitted_beside(picture));
    let (page, below) = (flow.document.pages.len(), flow.y - high);
    flow.left = MARGIN + BESIDE;
    flow.line(Weight::Bold, 5.0, title);
    tables.iter().for_each(|table| flow.plain_table(table));
    flow.left = MARGIN;
    if flow.document.pages.len() == page {
        flow.y = flow.y.min(below);
    }
}

/// Draws the picture at the left below where the flow stands; gives the height that it takes, mm.
fn drawn(flow: &mut Flow<'_>, picture: &MarkPicture, scale: f64) -> f64 {
    let bounds = bounds(picture);
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    let corner = Point::new(MARGIN + AROUND, flow.y - AROUND - drawn.y);
    let place = |point: Point| corner + (point - bounds.min) / scale;
    let Document { fonts, pages, .. } = &mut *flow.document;
    let page = pages.last_mut().expect("room was made");
    if let Some(sheet) = &picture.sheet {
        page.shape(sheet, &place, Pen::black(0.5));
    }
    for (shape, _) in &picture.parts {
        page.filled_shape(shape, &place, 0.94);
        page.shape(shape, &place, Pen::black(0.25));
    }
    for &([from, to], is_down) in &picture.lines {
        let dashes: &[f64] = if is_down { &[3.6, 0.9, 0.4, 0.9] } else { &[2.4, 1.2] };
        page.line(&[place(from), place(to)], Pen::black(0.15).dashed(dashes));
    }
    let at = place(Point::ORIGIN);
    page.polygon(&[at, at + Vector::new(-3.4, -1.5), at + Vector::new(-1.5, -3.4)], 0.0);
    names(page, fonts, picture, (&place, bounds, scale));
    drawn.y + 2.0 * AROUND
}

/// The numbers, each beside its point, and the keys of the parts.
fn names(
    page: &mut Page,
    fonts: &mut Fonts,
    picture: &MarkPicture,
    (place, bounds, scale): (&dyn Fn(Point) -> Point, Bounds, f64),
) {
    let polygons: Vec<_> = picture.parts.iter().map(|(shape, _)| shape.flatten(0.1 * scale, Side::Shrink)).collect();
    let mut lines: Vec<[Point; 2]> = polygons.iter().flat_map(|polygon| sides(polygon).collect::<Vec<_>>()).collect();
    lines.extend(picture.sheet.iter().flat_map(|sheet| {
        let edges = sheet.flatten(0.1 * scale, Side::Shrink);
        sides(&edges).collect::<Vec<_>>()
    }));
    lines.extend(picture.lines.iter().map(|&(line, _)| line));
    let keys: Vec<Subject> = polygons
        .iter()
        .zip(&picture.parts)
        .filter(|(_, (_, key))| !key.is_empty())
        .map(|(region, (_, key))| Subject {
            region: region.clone(),
            is_part: true,
            names: Vec::new(),
            keys: vec![vec![key.clone()]],
            soft: Vec::new(),
        })
        .collect();
    let spot = Vector::new(0.8, 0.8) * scale;
    for mark in &picture.marks {
        let corners = [mark.at - spot, mark.at + spot];
        lines.push(corners);
        if mark.is_hole {
            // The arms of its cross.
            for arm in [Vector::new(CROSS, 0.0), Vector::new(0.0, CROSS)] {
                lines.push([mark.at - arm * scale, mark.at + arm * scale]);
            }
        }
    }
    let number = if picture.marks.len() <= LARGE { FIGURE } else { NUMBER };
    let around = Vector::new(AROUND, AROUND) * scale;
    let field = Bounds::of([bounds.min - around, bounds.max + around]);
    let naming = name_points(
        &keys,
        &picture.marks.iter().map(|mark| (mark.at, mark.name.clone(), number)).collect::<Vec<_>>(),
        &lines,
        field,
        scale,
    );
    for mark in &picture.marks {
        let at = place(mark.at);
        if mark.is_hole {
            page.line(&[at - Vector::new(CROSS, 0.0), at + Vector::new(CROSS, 0.0)], Pen::black(0.13));
            page.line(&[at - Vector::new(0.0, CROSS), at + Vector::new(0.0, CROSS)], Pen::black(0.13));
        } else {
            let half = Vector::new(0.35, 0.35);
            page.filled_rectangle(at - half, half * 2.0, 0.0);
        }
    }
    for named in &naming.named {
        if let Some([from, to]) = named.leader {
            page.line(&[place(from), place(to)], Pen { gray: 0.3, ..Pen::black(0.1) });
        }
        let weight = if named.subject < keys.len() { Weight::Bold } else { Weight::Regular };
        let style = Style::new(weight, named.size).held(Hold::Middle);
        for line in &named.lines {
            page.text(fonts, style, place(named.center) - Vector::new(0.0, 0.36 * named.size), line);
        }
    }
}
