//! A small picture in which every point of a mark-out table bears its number.

use dropwise_geometry::{Bounds, Point, Shape, Side, Vector};

use super::MARGIN;
use super::table::Flow;
use crate::drawing::naming::{NUMBER, Subject, name_points, sides};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::{Fonts, Weight};

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
const TALLEST: (f64, f64) = (0.52, 0.16);
/// Points from which a picture is drawn as large as may be.
const MANY: usize = 60;

/// White around a picture, mm: numbers stand there too.
const AROUND: f64 = 8.0;

/// What a picture shows, and how much smaller it is drawn.
fn fitted(picture: &MarkPicture, page: Vector) -> (Bounds, f64) {
    let points = picture
        .sheet
        .iter()
        .chain(picture.parts.iter().map(|(shape, _)| shape))
        .map(Shape::bounds)
        .flat_map(|bounds| [bounds.min, bounds.max]);
    let bounds = Bounds::of(points.chain([Point::ORIGIN]));
    let share = (picture.marks.len() as f64 / MANY as f64).min(1.0);
    let tallest = page.y * (TALLEST.1 + (TALLEST.0 - TALLEST.1) * share);
    let across = page.x - 2.0 * (MARGIN + AROUND);
    (bounds, (bounds.width() / across).max(bounds.height() / tallest).max(1e-6))
}

/// How high a picture comes out, with the white around it, mm.
pub(super) fn height(picture: &MarkPicture, page: Vector) -> f64 {
    let (bounds, scale) = fitted(picture, page);
    bounds.height() / scale + 2.0 * AROUND
}

/// Draws the picture where the flow stands.
pub(super) fn draw(flow: &mut Flow<'_>, picture: &MarkPicture) {
    let (bounds, scale) = fitted(picture, flow.size);
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    flow.need(drawn.y + 2.0 * AROUND + 20.0);
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
    flow.y -= drawn.y + 2.0 * AROUND;
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
    }
    let around = Vector::new(7.0, 7.0) * scale;
    let field = Bounds::of([bounds.min - around, bounds.max + around]);
    let naming = name_points(
        &keys,
        &picture.marks.iter().map(|mark| (mark.at, mark.name.clone(), NUMBER)).collect::<Vec<_>>(),
        &lines,
        field,
        scale,
    );
    for mark in &picture.marks {
        let at = place(mark.at);
        if mark.is_hole {
            page.line(&[at - Vector::new(1.2, 0.0), at + Vector::new(1.2, 0.0)], Pen::black(0.13));
            page.line(&[at - Vector::new(0.0, 1.2), at + Vector::new(0.0, 1.2)], Pen::black(0.13));
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
