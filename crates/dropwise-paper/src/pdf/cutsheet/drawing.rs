//! The drawing of a cut sheet, with running dimensions from the datum.

use dropwise_geometry::{Isometry, Point, Polygon, Shape, Side, Vector, intersection};
use dropwise_model::{Job, Plan};

use super::{CutSheetSettings, MARGIN};
use crate::details::{BendLine, DatumFrame, LengthStyle, round_holes};
use crate::drawing::copies::{copies, key};
use crate::drawing::label::{LINE, Label, Places, line_meets_box};
use crate::drawing::leader::spread;
use crate::drawing::text::clean;
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::{Fonts, Weight};

/// Height of the head, mm.
const HEAD: f64 = 15.0;
/// Room for running dimensions below and left of the sheet, mm.
const RUNNING: f64 = 30.0;
/// Height of the lines at the foot, mm.
const FOOT: f64 = 8.0;
/// Size of dimensions, mm: figures 1.8 mm high.
const FIGURE: f64 = 2.5;
/// Distance between dimensions side by side, mm.
const PITCH: f64 = 3.1;
/// How far from the sheet a dimension's line bends to its figure, mm.
const ELBOW: (f64, f64) = (3.0, 9.0);

/// Numbers that a drawing is made smaller by, between powers of ten: few, so that scales are easy to say.
const STEPS: [f64; 8] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5];

const OUTLINE: Pen = Pen::black(0.3);
const SHEET: Pen = Pen::black(0.6);
const THIN: Pen = Pen::black(0.13);
/// From a part down to the edge where its dimension starts.
const PROJECTION: Pen = Pen { width: 0.1, gray: 0.55, dashes: &[0.6, 1.2] };
const DAMAGE: Pen = Pen { width: 0.3, gray: 0.3, dashes: &[2.0, 1.0] };

/// Bends up: dashed. Bends down: a dash and a dot by turns, as on the templates.
const BEND_UP: Pen = Pen::black(0.18).dashed(&[2.4, 1.2]);
const BEND_DOWN: Pen = Pen::black(0.18).dashed(&[3.6, 0.9, 0.4, 0.9]);

/// A part where it lies.
struct Piece {
    shape: Shape,
    key: String,
    name: String,
    is_flipped: bool,
    /// Ends of each bend line, and whether its flange comes up towards whoever looks at the sheet.
    bends: Vec<([Point; 2], bool)>,
}

/// Bend lines of a part where it lies. Face down, what comes up from its face goes down from the side that is seen.
fn bends_of(part: usize, position: Isometry, frame: &DatumFrame, bends: &[BendLine]) -> Vec<([Point; 2], bool)> {
    let seen = |point: Point| frame.to_frame.apply(position.apply(point));
    let of_part = bends.iter().filter(|bend| bend.part == part);
    of_part.map(|bend| ([seen(bend.from), seen(bend.to)], bend.is_up != position.is_mirrored)).collect()
}

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
    let Document { fonts, pages } = document;
    let page = pages.last_mut().expect("a page was just added");
    let at = Point::new(MARGIN, size.y - MARGIN - 6.0);
    let name = fonts.shorten(Weight::Bold, settings.job_name, (size.x - 2.0 * MARGIN) / 6.0);
    page.text(fonts, Style::new(Weight::Bold, 6.0), at, &name);
    page.text(fonts, Style::new(Weight::Regular, 4.0), at - Vector::new(0.0, 8.0), "This plan cuts no sheet.");
}

/// Draws the page of one sheet.
pub(super) fn draw(
    document: &mut Document,
    size: Vector,
    job: &Job,
    plan: &Plan,
    index: usize,
    settings: &CutSheetSettings<'_>,
) {
    document.page(size);
    let Document { fonts, pages } = document;
    let page = pages.last_mut().expect("a page was just added");
    let used = &plan.layout().sheets[index];
    let sheet = &job.sheets()[used.sheet];
    // The sheet lies as it does on the bench when its datum edge is nearest: that edge along the lower edge of the page.
    let stock = sheet.bought_shape(used.length);
    let frame = DatumFrame::of(&stock);
    let shape = stock.transformed(frame.to_frame);
    let bounds = shape.bounds();
    let room = Vector::new(size.x - 2.0 * MARGIN - RUNNING - 4.0, size.y - 2.0 * MARGIN - HEAD - RUNNING - FOOT);
    let scale = scale_from((bounds.width() / room.x).max(bounds.height() / room.y));
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    let corner = Point::new(MARGIN + RUNNING, MARGIN + FOOT + RUNNING + (room.y - drawn.y) * 0.5);
    let place = |point: Point| corner + (point - bounds.min) / scale;

    let numbers = &copies(job, plan.layout())[index];
    let pieces: Vec<Piece> = used
        .placements
        .iter()
        .zip(numbers)
        .map(|(placement, copy)| {
            let part = &job.parts()[placement.part];
            let number = if copy.of > 1 { copy.number.to_string() } else { String::new() };
            let name = format!("{}{number}", key(placement.part));
            Piece {
                shape: frame.piece(&part.shape, placement.position),
                key: name,
                name: clean(&part.name),
                is_flipped: placement.position.is_mirrored,
                bends: bends_of(placement.part, placement.position, &frame, settings.bends),
            }
        })
        .collect();

    running_dimensions(page, fonts, &pieces, bounds, (corner, drawn, scale), settings.lengths);
    for damage in &sheet.damage {
        let zone = Shape::new(damage.transformed(frame.to_frame), Vec::new()).flatten(0.1 * scale, Side::Grow);
        // Damage may be drawn past the edge of its sheet: only what lies on the sheet is shown.
        let metal = shape.flatten(0.1 * scale, Side::Shrink);
        // Where what lies on the sheet cannot be told, all of it is shown.
        let shown = intersection(std::slice::from_ref(&zone), &[metal]).unwrap_or_else(|_| vec![zone]);
        for polygon in shown {
            let ring: Vec<Point> = polygon.exterior.iter().map(|&point| place(point)).collect();
            page.line(&[&ring[..], &ring[..1]].concat(), DAMAGE);
            write_within(
                page,
                fonts,
                &polygon,
                &[vec!["damaged".to_owned()], vec!["bad".to_owned()]],
                (&place, scale),
                0.0,
            );
        }
    }
    let mut taken: Vec<(Point, Vector)> = Vec::new();
    for leftover in &plan.figures().sheets[index].leftovers {
        let seen = |ring: &Vec<Point>| ring.iter().map(|&point| frame.to_frame.apply(point)).collect::<Vec<_>>();
        let polygon = Polygon::new(seen(&leftover.outline.exterior), leftover.outline.holes.iter().map(seen).collect());
        let (long, short) = leftover.largest_rectangle;
        let size = format!("{} × {}", settings.lengths.bare(long), settings.lengths.bare(short));
        let words = [
            vec![format!("leftover, {size} and more")],
            vec!["leftover".to_owned(), size],
            vec!["leftover".to_owned()],
        ];
        taken.extend(write_within(page, fonts, &polygon, &words, (&place, scale), 0.35));
    }
    for Piece { shape, bends, .. } in &pieces {
        page.filled_shape(shape, &place, 0.9);
        page.shape(shape, &place, OUTLINE);
        for ([from, to], is_up) in bends {
            page.line(&[place(*from), place(*to)], if *is_up { BEND_UP } else { BEND_DOWN });
        }
        for hole in round_holes(shape) {
            let arm = (hole.diameter / 2.0 / scale + 0.8).clamp(0.8, 3.0);
            let at = place(hole.center);
            page.line(&[at - Vector::new(arm, 0.0), at + Vector::new(arm, 0.0)], THIN);
            page.line(&[at - Vector::new(0.0, arm), at + Vector::new(0.0, arm)], THIN);
        }
    }
    page.shape(&shape, &place, SHEET);
    datum(page, fonts, place(Point::ORIGIN));
    let mut nameless = Vec::new();
    let polygons: Vec<Polygon> = pieces.iter().map(|piece| piece.shape.flatten(0.1 * scale, Side::Shrink)).collect();
    for (index, (Piece { key, name, is_flipped, .. }, polygon)) in pieces.iter().zip(&polygons).enumerate() {
        let first = name.split(' ').next().unwrap_or_default().to_owned();
        let mut texts = [
            vec![format!("{key} {name}")],
            vec![key.clone(), name.clone()],
            vec![key.clone(), first],
            vec![key.clone()],
        ];
        if *is_flipped {
            texts.iter_mut().for_each(|lines| lines.push("face down".to_owned()));
        }
        let places = Places::of(polygon);
        // At full size or smaller, down to figures of 1.3 mm: the list tells the rest.
        let label = [1.0, 0.72].into_iter().find_map(|factor| Some((places.place(&texts, scale * factor)?, factor)));
        let Some((label, factor)) = label else {
            nameless.push(index);
            continue;
        };
        let size = label.size * factor;
        let down = Vector::from_angle((label.turn_deg - 90.0).to_radians());
        for (i, line) in label.lines.iter().enumerate() {
            let below = (i as f64 - (label.lines.len() as f64 - 1.0) / 2.0) * LINE + 0.36;
            let weight = if i == 0 { Weight::Bold } else { Weight::Regular };
            let fitted = (crate::drawing::text::width(line) / fonts.width(weight, line)).min(1.0) * size;
            let style = Style::new(weight, fitted).held(Hold::Middle).turned(label.turn_deg);
            page.text(fonts, style, place(label.center) + down * (below * size), line);
        }
    }
    let keys: Vec<&str> = pieces.iter().map(|piece| piece.key.as_str()).collect();
    let nameless = keys_beside(page, fonts, &polygons, &keys, &nameless, (&place, scale), taken);
    head(page, fonts, job, plan, index, (scale, settings));
    let grain = sheet.grain_deg.map(|degrees| {
        let degrees = (degrees + frame.to_frame.rotation_deg).rem_euclid(180.0);
        let degrees = format!("{degrees:.1}");
        let degrees = degrees.strip_suffix(".0").unwrap_or(&degrees);
        format!("grain at {}° from the datum edge", if degrees == "180" { "0" } else { degrees })
    });
    let mut further: Vec<String> = grain.into_iter().collect();
    if pieces.iter().any(|piece| !piece.bends.is_empty()) {
        further.push("bends: dashed up, dash-dotted down".to_owned());
    }
    if nameless > 0 {
        further.push(format!("too small to name here: {nameless}"));
    }
    let all = "All dimensions from the datum corner in";
    let foot = format!("{all} {}; {}", settings.lengths.unit_in_words(), settings.lengths.rounding());
    for (index, line) in [further.join(" · "), foot].iter().rev().enumerate() {
        // The number of the page stands to the right of the lowest.
        let line = fonts.shorten(Weight::Regular, line, (size.x - 2.0 * MARGIN - 30.0) / 2.8);
        let at = Point::new(MARGIN, MARGIN + 3.8 * index as f64);
        page.text(fonts, Style::new(Weight::Regular, 2.8), at, &line);
    }
}

/// Writes the first of some texts that fits within a region; gives the box it takes, on the sheet.
fn write_within(
    page: &mut Page,
    fonts: &mut Fonts,
    polygon: &Polygon,
    texts: &[Vec<String>],
    (place, scale): (&dyn Fn(Point) -> Point, f64),
    gray: f64,
) -> Option<(Point, Vector)> {
    let label = Places::of(polygon).place(texts, scale)?;
    let style = Style { gray, ..Style::new(Weight::Regular, label.size) }.held(Hold::Middle).turned(label.turn_deg);
    let down = Vector::from_angle((label.turn_deg - 90.0).to_radians());
    for (i, line) in label.lines.iter().enumerate() {
        let below = (i as f64 - (label.lines.len() as f64 - 1.0) / 2.0) * LINE + 0.36;
        page.text(fonts, style, place(label.center) + down * (below * label.size), line);
    }
    let (width, height) = Label::extent(&label.lines, label.size * scale);
    let right = down.left();
    let half = Vector::new(
        (right.x.abs() * width + down.x.abs() * height) / 2.0,
        (right.y.abs() * width + down.y.abs() * height) / 2.0,
    );
    Some((label.center, half))
}

/// Keys of pieces too small to hold one, beside them where nothing is covered. Gives how many found no place.
fn keys_beside(
    page: &mut Page,
    fonts: &mut Fonts,
    polygons: &[Polygon],
    keys: &[&str],
    nameless: &[usize],
    (place, scale): (&dyn Fn(Point) -> Point, f64),
    mut taken: Vec<(Point, Vector)>,
) -> usize {
    let size = 2.3;
    let mut without = 0;
    for &index in nameless {
        let bounds = polygons[index].bounds();
        let half = Vector::new(fonts.width(Weight::Bold, keys[index]) * size / 2.0 + 0.2, size * 0.45) * scale;
        let (center, reach) = (bounds.center(), Vector::new(bounds.width(), bounds.height()) * 0.5 + half);
        let gap = 0.4 * scale;
        let candidates = [
            Vector::new(0.0, reach.y + gap),
            Vector::new(0.0, -reach.y - gap),
            Vector::new(reach.x + gap, 0.0),
            Vector::new(-reach.x - gap, 0.0),
        ];
        let is_free = |middle: Point| {
            let covers = |polygon: &Polygon| {
                polygon.contains(middle)
                    || polygon.rings().any(|ring| {
                        let next = ring.iter().cycle().skip(1);
                        ring.iter().zip(next).any(|(&a, &b)| line_meets_box(a - middle, b - middle, half))
                    })
            };
            let is_apart = |&(other, reach): &(Point, Vector)| {
                let apart = middle - other;
                apart.x.abs() >= half.x + reach.x || apart.y.abs() >= half.y + reach.y
            };
            !polygons.iter().any(covers) && taken.iter().all(is_apart)
        };
        match candidates.into_iter().map(|away| center + away).find(|&middle| is_free(middle)) {
            Some(middle) => {
                taken.push((middle, half));
                let style = Style::new(Weight::Bold, size).held(Hold::Middle);
                page.text(fonts, style, place(middle) - Vector::new(0.0, 0.36 * size), keys[index]);
            }
            None => without += 1,
        }
    }
    without
}

fn datum(page: &mut Page, fonts: &mut Fonts, corner: Point) {
    page.polygon(&[corner, corner + Vector::new(-3.4, -1.5), corner + Vector::new(-1.5, -3.4)], 0.0);
    let style = Style::new(Weight::Bold, 2.8).held(Hold::End);
    // Below the lowest figure of the left edge, which may spread to 4 mm under the corner.
    page.text(fonts, style, corner + Vector::new(-5.5, -8.4), "datum 0, 0");
}

/// Figures of one edge: where they want to stand along it, and how far that is from the datum.
fn ticks(values: impl Iterator<Item = f64>, lengths: LengthStyle, extent: f64) -> Vec<(f64, String)> {
    let mut values: Vec<f64> = values.chain([extent]).filter(|value| value.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    let mut ticks: Vec<(f64, String)> = Vec::new();
    for value in values {
        let text = lengths.bare(value);
        // What reads alike is one dimension.
        if ticks.last().is_none_or(|(_, last)| *last != text) && text != "0" {
            ticks.push((value, text));
        }
    }
    ticks
}

/// Dimensions from the datum along the lower and the left edge: where boxes around parts start and end, and the size of
/// the sheet.
///
/// # Source
/// Running dimensions from a common origin, each beside its extension line: ISO 129-1 (from memory).
fn running_dimensions(
    page: &mut Page,
    fonts: &mut Fonts,
    pieces: &[Piece],
    bounds: dropwise_geometry::Bounds,
    (corner, drawn, scale): (Point, Vector, f64),
    lengths: LengthStyle,
) {
    let boxes: Vec<_> = pieces.iter().map(|piece| piece.shape.bounds()).collect();
    for is_across in [true, false] {
        // The datum is the origin; where a piece reaches beyond it, the box starts below zero.
        let of = |point: Point| if is_across { point.x } else { point.y };
        let (least, extent) = (of(bounds.min), of(bounds.max));
        let length = if is_across { drawn.x } else { drawn.y };
        // A little past the ends, where the figures of a crowded edge spread to.
        let most = ((length + 12.0) / PITCH).floor().max(2.0) as usize;
        let both = ticks(boxes.iter().flat_map(|b| [of(b.min), of(b.max)]), lengths, extent);
        let starts = ticks(boxes.iter().map(|b| of(b.min)), lengths, extent);
        let (mut shown, note) = match (both.len() <= most, starts.len() <= most) {
            (true, _) => (both, ""),
            (_, true) => (starts, "left and lower edges only: the others stand in the list"),
            _ => (starts, "some edges only: all stand in the list"),
        };
        while shown.len() > most {
            // Every second one, but always the size of the sheet.
            let count = shown.len();
            let mut kept = 0;
            shown.retain(|_| {
                kept += 1;
                kept == count || kept % 2 == 1
            });
        }
        let wanted: Vec<f64> = shown.iter().map(|(value, _)| (value - least) / scale).collect();
        let spread = spread(&wanted, PITCH, -4.0, length + 8.0);
        for ((value, text), along) in shown.iter().zip(spread) {
            let at = (value - least) / scale;
            let point = |along: f64, away: f64| {
                if is_across { corner + Vector::new(along, -away) } else { corner + Vector::new(-away, along) }
            };
            page.line(&[point(at, 0.0), point(at, -0.0 - 1.2)], THIN);
            page.line(&[point(at, 0.8), point(at, ELBOW.0), point(along, ELBOW.1), point(along, ELBOW.1 + 1.5)], THIN);
            let is_size = (value - extent).abs() < 1e-6;
            let weight = if is_size { Weight::Bold } else { Weight::Regular };
            let style = Style::new(weight, FIGURE).held(Hold::End);
            if is_across {
                let at = point(along + FIGURE * 0.36, ELBOW.1 + 2.2);
                page.text(fonts, style.turned(90.0), at, text);
            } else {
                page.text(fonts, style, point(along - FIGURE * 0.36, ELBOW.1 + 2.2), text);
            }
        }
        // From the nearest box that starts or ends there to the edge.
        for (value, _) in &shown {
            let near = boxes.iter().filter(|b| (of(b.min) - value).abs() < 1e-6 || (of(b.max) - value).abs() < 1e-6);
            let across = |b: &dropwise_geometry::Bounds| {
                if is_across { b.min.y - bounds.min.y } else { b.min.x - bounds.min.x }
            };
            let nearest = near.map(across).fold(f64::INFINITY, f64::min);
            if nearest.is_finite() {
                let (at, reach) = ((value - least) / scale, nearest / scale);
                let ends = if is_across {
                    [corner + Vector::new(at, 0.0), corner + Vector::new(at, reach)]
                } else {
                    [corner + Vector::new(0.0, at), corner + Vector::new(reach, at)]
                };
                page.line(&ends, PROJECTION);
            }
        }
        if !note.is_empty() && is_across {
            let style = Style { gray: 0.3, ..Style::new(Weight::Regular, 2.4) };
            page.text(fonts, style, corner + Vector::new(0.0, -RUNNING + 3.0), note);
        }
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
    let mut facts = vec![clean(sheet.class.label())];
    if !clean(&sheet.location).is_empty() {
        facts.push(clean(&sheet.location));
    }
    if let Some(length) = used.length {
        facts.push(format!("order {}", settings.lengths.with_unit(length)));
    }
    if !clean(settings.job_name).is_empty() {
        facts.push(format!("job {}", clean(settings.job_name)));
    }
    let note = format!("drawn {}: do not measure from this page", scale_name(scale));
    let style = Style::new(Weight::Regular, 3.2);
    page.text(fonts, style.held(Hold::End), Point::new(right, top - 10.4), &note);
    let room = right - left - fonts.width(Weight::Regular, &note) * 3.2 - 6.0;
    let facts = fonts.shorten(Weight::Regular, &facts.join(" · "), room / 3.2);
    page.text(fonts, style, Point::new(left, top - 10.4), &facts);
    page.line(&[Point::new(left, top - 12.4), Point::new(right, top - 12.4)], THIN);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_easy_to_say_and_never_too_large() {
        for (least, wanted) in
            [(1.0, "1:1"), (1.01, "1:1.5"), (4.2, "1:5"), (5.1, "1:7.5"), (7.6, "1:10"), (0.2, "5:1"), (0.0, "100:1")]
        {
            let scale = scale_from(least);
            assert!(scale >= least);
            assert_eq!(scale_name(scale), wanted, "{least}");
        }
    }

    #[test]
    fn lengths_that_read_alike_are_one_dimension() {
        let ticks = ticks([0.0, 10.01, 10.02, 99.98].into_iter(), LengthStyle::default(), 100.0);
        assert_eq!(ticks.iter().map(|(_, text)| text.as_str()).collect::<Vec<_>>(), ["10", "100"]);
    }
}
