//! The drawing of a cut sheet: what lies where, with running dimensions from the datum.

use dropwise_geometry::{Bounds, Point, Polygon, Side, Vector};
use dropwise_model::{Job, Plan};
use dropwise_shop::stock_in_words;

use super::ordinates::{self, FIGURE};
use super::pieces::{Piece, crosses, damaged, pieces_of, readings, subjects};
use super::{CutSheetSettings, MARGIN};
use crate::details::DatumFrame;
use crate::drawing::label::LINE;
use crate::drawing::naming::{Named, Subject, broken, name_all, sides};
use crate::drawing::text::{clean, width};
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::{Fonts, Weight};

/// Height of the head, mm.
const HEAD: f64 = 15.0;
/// Room for running dimensions below and left of the sheet, mm.
const RUNNING: f64 = 36.0;
/// Room above and to the right of the sheet, for keys that are led out, mm.
const AROUND: Vector = Vector::new(12.0, 8.0);
/// Height of the lines at the foot, mm.
const FOOT: f64 = 13.0;

/// Numbers that a drawing is made smaller by, between powers of ten: few, so that scales are easy to say.
const STEPS: [f64; 9] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];

const OUTLINE: Pen = Pen::black(0.3);
const SHEET: Pen = Pen::black(0.6);
pub(super) const THIN: Pen = Pen::black(0.13);
const DAMAGE: Pen = Pen { width: 0.3, gray: 0.3, dashes: &[2.0, 1.0] };
/// What goes back into the rack: long dashes with two dots, as outlines of what is only thought of are drawn (ISO 128-2).
const LEFTOVER: Pen = Pen { width: 0.2, gray: 0.35, dashes: &[4.0, 0.8, 0.4, 0.8, 0.4, 0.8] };

/// Bends up: dashed. Bends down: a dash and a dot by turns, as on the templates.
const BEND_UP: Pen = Pen::black(0.18).dashed(&[2.4, 1.2]);
const BEND_DOWN: Pen = Pen::black(0.18).dashed(&[3.6, 0.9, 0.4, 0.9]);

/// The least of the scales that a drawing must be made smaller by at least so much.
fn scale_from(least: f64) -> f64 {
    let power = 10f64.powf(least.max(0.01).log10().floor());
    STEPS
        .into_iter()
        .chain([10.0])
        .map(|step| step * power)
        .find(|&scale| scale >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// A scale in words: `1:7.5`, `2:1`.
fn scale_name(scale: f64) -> String {
    let digits = |value: f64| {
        let text = format!("{value:.2}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    if scale >= 1.0 { format!("1:{}", digits(scale)) } else { format!("{}:1", digits(1.0 / scale)) }
}

/// A page for a plan that cuts nothing.
pub(super) fn nothing(document: &mut Document, size: Vector, settings: &CutSheetSettings<'_>) {
    document.page(size);
    let Document { fonts, pages, .. } = document;
    let page = pages.last_mut().expect("a page was just added");
    let at = Point::new(MARGIN, size.y - MARGIN - 6.0);
    let name = fonts.shorten(Weight::Bold, settings.job_name, (size.x - 2.0 * MARGIN) / 6.0);
    page.text(fonts, Style::new(Weight::Bold, 6.0), at, &name);
    page.text(fonts, Style::new(Weight::Regular, 4.0), at - Vector::new(0.0, 8.0), "This plan cuts no sheet.");
}

/// What of a page a drawing takes: all of its width, from its top down to `low`, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Area {
    size: Vector,
    /// Lower edge, mm from that of the page.
    pub(super) low: f64,
    /// Whether the lists stand below it on the same page.
    is_shared: bool,
}

/// How much smaller a sheet may be drawn than on a page of its own.
const MOST_SMALLER: f64 = 2.5;

/// How high a sheet may be drawn where it shares its page with the lists, mm: what is tried, the highest first.
const SHARED: [f64; 5] = [110.0, 90.0, 72.0, 60.0, 52.0];

impl Area {
    /// A page of its own.
    pub(super) fn whole(size: Vector) -> Self {
        Self { size, low: MARGIN, is_shared: false }
    }

    /// Upper parts of an upright page, as high as the drawing of a sheet takes, the highest first; none where the sheet would
    /// be drawn too small.
    pub(super) fn upper(size: Vector, job: &Job, plan: &Plan, index: usize) -> Vec<Self> {
        let used = &plan.layout().sheets[index];
        let shape = job.sheets()[used.sheet].bought_shape(used.length);
        let bounds = shape.transformed(DatumFrame::of(&shape).to_frame).bounds();
        let scale = |room: Vector| scale_from((bounds.width() / room.x).max(bounds.height() / room.y));
        let alone = scale(Self::room(Vector::new(size.y, size.x)));
        let mut scales: Vec<f64> = SHARED.iter().map(|&high| scale(Vector::new(Self::room(size).x, high))).collect();
        scales.dedup();
        scales.retain(|scale| *scale <= MOST_SMALLER * alone);
        let area = |scale: f64| {
            let low = size.y - MARGIN - HEAD - RUNNING - FOOT - AROUND.y - bounds.height() / scale;
            Self { size, low, is_shared: true }
        };
        scales.into_iter().map(area).collect()
    }

    /// Room for a sheet on a whole page.
    fn room(size: Vector) -> Vector {
        Vector::new(
            size.x - 2.0 * MARGIN - RUNNING - AROUND.x,
            size.y - 2.0 * MARGIN - HEAD - RUNNING - FOOT - AROUND.y,
        )
    }
}

/// Draws one sheet on a new page.
pub(super) fn draw(
    document: &mut Document,
    area: Area,
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) {
    let size = area.size;
    document.page(size);
    let Document { fonts, pages, .. } = document;
    let page = pages.last_mut().expect("a page was just added");
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    // The sheet lies as it does on the bench when its datum edge is nearest: that edge along the lower edge of the page.
    let (frame, pieces) = pieces_of(job, plan, index, settings.bends);
    let shape = sheet.bought_shape(used.length).transformed(frame.to_frame);
    let bounds = shape.bounds();
    let room = Area::room(size) - Vector::new(0.0, area.low - MARGIN);
    let scale = scale_from((bounds.width() / room.x).max(bounds.height() / room.y) * (1.0 - 1e-9));
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    let corner = Point::new(MARGIN + RUNNING, area.low + FOOT + RUNNING + (room.y - drawn.y) * 0.5);
    let view = View { corner, scale, bounds };

    let readings = readings(&pieces);
    let missing = ordinates::draw(page, fonts, &readings, bounds, (corner, drawn, scale), settings.lengths);
    let (damage, is_damage_told) = damaged(&shape, &sheet.damage, &frame, scale);
    let clear = job.instructions().reserved_on(used.sheet);
    let clear: Vec<Polygon> =
        clear.map(|(_, area)| area.transformed(frame.to_frame).flatten(0.1 * scale, Side::Grow)).collect();
    let leftovers: Vec<(Polygon, String)> = plan.figures().sheets[index]
        .leftovers
        .iter()
        .map(|leftover| {
            let seen = |ring: &Vec<Point>| ring.iter().map(|&point| frame.to_frame.apply(point)).collect::<Vec<_>>();
            let holes = leftover.outline.holes.iter().map(seen).collect();
            let (long, short) = leftover.largest_rectangle;
            let size = format!("{} × {}", settings.lengths.bare(long), settings.lengths.bare(short));
            (Polygon::new(seen(&leftover.outline.exterior), holes), size)
        })
        .collect();
    let naming = {
        let mut subjects = subjects(&pieces, scale);
        let quiet = |region: &Polygon, keys: Vec<Vec<String>>| Subject {
            region: region.clone(),
            is_part: false,
            names: Vec::new(),
            keys,
            soft: Vec::new(),
        };
        subjects.extend(leftovers.iter().map(|(region, size)| {
            let lines = [vec![format!("leftover {size}")], vec!["leftover".to_owned(), size.clone()]];
            quiet(region, lines.to_vec())
        }));
        subjects.extend(damage.iter().map(|region| {
            let lines = [vec!["damaged: keep clear".to_owned()], vec!["damaged:".to_owned(), "keep clear".to_owned()]];
            quiet(region, lines.to_vec())
        }));
        subjects.extend(clear.iter().map(|region| {
            let lines =
                [vec!["keep clear, as asked".to_owned()], vec!["keep clear,".to_owned(), "as asked".to_owned()]];
            quiet(region, lines.to_vec())
        }));
        let mut lines: Vec<[Point; 2]> = sides(&shape.flatten(0.1 * scale, Side::Shrink)).collect();
        lines.extend(pieces.iter().flat_map(|piece| crosses(&piece.shape, scale)));
        lines.extend(damage.iter().chain(&clear).flat_map(|zone| sides(zone).collect::<Vec<_>>()));
        // All that the page has to the right of the sheet.
        let right = size.x - MARGIN - corner.x - drawn.x;
        let field = Bounds::of([bounds.min, bounds.max + Vector::new(right, AROUND.y - 0.3) * scale]);
        name_all(&subjects, &lines, Some(field), scale)
    };

    for (region, _) in &leftovers {
        region.rings().for_each(|ring| view.ring(page, ring, LEFTOVER));
    }
    damage.iter().chain(&clear).for_each(|zone| view.ring(page, &zone.exterior, DAMAGE));
    let boxes: Vec<(Point, Vector)> = naming.named.iter().map(|named| (named.center, named.half(scale))).collect();
    let place = |point: Point| view.at(point);
    for Piece { shape, bends, askew, .. } in &pieces {
        page.filled_shape(shape, &place, 0.92);
        page.shape(shape, &place, OUTLINE);
        for (line, is_up) in bends {
            for [from, to] in broken(*line, &boxes) {
                page.line(&[place(from), place(to)], if *is_up { BEND_UP } else { BEND_DOWN });
            }
        }
        for [from, to] in crosses(shape, scale) {
            page.line(&[place(from), place(to)], THIN);
        }
        for &corner in askew.iter().flatten() {
            dot(page, place(corner), 0.9);
        }
    }
    page.shape(&shape, &place, SHEET);
    for named in &naming.named {
        write(page, fonts, named, &view, named.subject < pieces.len());
    }
    corner_block(page, fonts, corner, sheet.grain_deg.map(|degrees| degrees + frame.to_frame.rotation_deg));
    head(page, fonts, job, plan, index, (scale, settings));
    foot(page, fonts, &pieces, &missing, (naming.nameless.len(), is_damage_told, area), settings);
}

/// Where the sheet lies on the page.
struct View {
    corner: Point,
    scale: f64,
    bounds: Bounds,
}

impl View {
    fn at(&self, point: Point) -> Point {
        self.corner + (point - self.bounds.min) / self.scale
    }

    fn ring(&self, page: &mut Page, ring: &[Point], pen: Pen) {
        let ring: Vec<Point> = ring.iter().map(|&point| self.at(point)).collect();
        page.line(&[&ring[..], &ring[..1.min(ring.len())]].concat(), pen);
    }
}

fn dot(page: &mut Page, at: Point, radius: f64) {
    let points: Vec<Point> =
        (0..16).map(|i| at + Vector::from_angle(f64::from(i) * std::f64::consts::TAU / 16.0) * radius).collect();
    page.polygon(&points, 0.0);
}

/// A label and the line that leads from it. The first line of a part's, with its key, is bold.
fn write(page: &mut Page, fonts: &mut Fonts, named: &Named, view: &View, is_part: bool) {
    if let Some([from, to]) = named.leader {
        page.line(&[view.at(from), view.at(to)], Pen { gray: 1.0, ..Pen::black(0.5) });
        page.line(&[view.at(from), view.at(to)], THIN);
        dot(page, view.at(to), 0.5);
    }
    let count = named.lines.len() as f64;
    for (i, line) in named.lines.iter().enumerate() {
        let below = ((i as f64 - (count - 1.0) / 2.0) * LINE + 0.36) * named.size;
        let weight = if i == 0 && is_part { Weight::Bold } else { Weight::Regular };
        let fitted = (width(line) * 1.08 / fonts.width(weight, line)).min(1.0) * named.size;
        let style = Style::new(weight, fitted).held(Hold::Middle);
        page.text(fonts, style, view.at(named.center) - Vector::new(0.0, below), line);
    }
}

/// The datum mark at the corner, and which way the grain runs.
fn corner_block(page: &mut Page, fonts: &mut Fonts, corner: Point, grain_deg: Option<f64>) {
    page.polygon(&[corner, corner + Vector::new(-3.4, -1.5), corner + Vector::new(-1.5, -3.4)], 0.0);
    let left = corner.x - RUNNING;
    page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(left, corner.y - 14.0), "datum 0, 0");
    let Some(grain_deg) = grain_deg else { return };
    let (middle, along) = (Point::new(left + 8.0, corner.y - 25.0), Vector::from_angle(grain_deg.to_radians()));
    let [from, to] = [middle - along * 7.0, middle + along * 7.0];
    page.line(&[from, to], Pen::black(0.4));
    for (tip, along) in [(from, -along), (to, along)] {
        let back = tip - along * 3.0;
        page.polygon(&[tip, back + along.left() * 0.8, back - along.left() * 0.8], 0.0);
    }
    page.text(fonts, Style::new(Weight::Regular, 3.2), middle + Vector::new(9.0, -1.2), "grain");
}

/// What must be known to read the drawing.
fn foot(
    page: &mut Page,
    fonts: &mut Fonts,
    pieces: &[Piece],
    missing: &[String],
    (nameless, is_damage_told, area): (usize, bool, Area),
    settings: &CutSheetSettings<'_>,
) {
    let mut first = vec![format!(
        "Figures: left and lower edges of the parts, from the datum, in {}, {}",
        settings.lengths.unit_in_words(),
        settings.lengths.rounding()
    )];
    let elsewhere = if area.is_shared { "below" } else { "next page" };
    let mut second = vec![format!("right and upper edges: {elsewhere}")];
    if pieces.iter().any(|piece| piece.askew.is_some()) {
        second.push(format!("parts that lie askew: two dotted corners, {elsewhere}"));
    }
    if pieces.iter().any(|piece| !piece.bends.is_empty()) {
        second.push("bends: dashed up, dash-dotted down".to_owned());
    }
    if nameless > 0 {
        second.push(format!("without a key here, too small: {nameless}"));
    }
    if !is_damage_told {
        second.push("damage is drawn past the edge: it could not be cut off there".to_owned());
    }
    if !missing.is_empty() {
        first = vec![format!("Figures that found no room, see {elsewhere}: {}", missing.join(", "))]
            .into_iter()
            .chain(first)
            .collect();
    }
    let lines = [second.join(" · ")].into_iter().chain(first.into_iter().rev());
    for (index, line) in lines.enumerate() {
        let line = fonts.shorten(Weight::Regular, &line, (page.size.x - 2.0 * MARGIN) / 2.8);
        let at = Point::new(MARGIN, area.low + 4.2 * (index + 1) as f64);
        page.text(fonts, Style::new(Weight::Regular, 2.8), at, &line);
    }
}

fn head(
    page: &mut Page,
    fonts: &mut Fonts,
    job: &Job,
    plan: &Plan,
    index: usize,
    (scale, settings): (f64, &CutSheetSettings<'_>),
) {
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    let (left, right) = (MARGIN, page.size.x - MARGIN);
    let top = page.size.y - MARGIN;
    let figure = format!("sheet {} of {}", index + 1, plan.layout().sheets.len());
    let style = Style::new(Weight::Bold, 5.0);
    page.text(fonts, style.held(Hold::End), Point::new(right, top - 5.0), &figure);
    let room = right - left - fonts.width(Weight::Bold, &figure) * 5.0 - 6.0;
    let name = fonts.shorten(Weight::Bold, &sheet.name, room / 6.0);
    page.text(fonts, Style::new(Weight::Bold, 6.0), Point::new(left, top - 5.0), &name);
    let mut facts = vec![clean(&stock_in_words(sheet.class.label(), settings.lengths.unit))];
    if !clean(&sheet.location).is_empty() {
        facts.push(clean(&sheet.location));
    }
    if let Some(length) = used.length {
        facts.push(format!("order {}", settings.lengths.with_unit(length)));
    }
    let note = format!("drawn {}: do not measure from this page", scale_name(scale));
    let style = Style::new(Weight::Regular, FIGURE);
    page.text(fonts, style.held(Hold::End), Point::new(right, top - 10.4), &note);
    let room = right - left - fonts.width(Weight::Regular, &note) * FIGURE - 6.0;
    let facts = fonts.shorten(Weight::Regular, &facts.join(" · "), room / FIGURE);
    page.text(fonts, style, Point::new(left, top - 10.4), &facts);
    page.line(&[Point::new(left, top - 12.4), Point::new(right, top - 12.4)], THIN);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_easy_to_say_and_never_too_large() {
        for (least, wanted) in [
            (1.0, "1:1"),
            (1.01, "1:1.5"),
            (4.2, "1:5"),
            (5.1, "1:6"),
            (7.6, "1:8"),
            (8.1, "1:10"),
            (0.2, "5:1"),
            (0.0, "100:1"),
        ] {
            let scale = scale_from(least);
            assert!(scale >= least);
            assert_eq!(scale_name(scale), wanted, "{least}");
        }
    }
}
