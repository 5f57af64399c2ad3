//! Bend cards: one page a bent part, to stand at the brake.

use dropwise_geometry::{Bounds, Point, Polygon, Side, Vector};
use dropwise_shop::fold::Direction;

use super::canvas::{Hold, Page, Pen, Style};
use super::document::{Document, stamp};
use super::font::{Fonts, Weight};
use super::paper::Paper;
use crate::bent::paint::{Painting, UNDER, paint};
use crate::bent::view::Stroke;
use crate::card::{BendCard, HoleGroup};
use crate::details::LengthStyle;
use crate::drawing::copies::key;
use crate::drawing::label::LINE;
use crate::drawing::leader::spread;
use crate::drawing::naming::{broken, name_points, sides};
use crate::drawing::text::clean;

/// White around everything, mm.
const MARGIN: f64 = 10.0;
/// Size of what is measured, mm: capitals and figures 3 mm high.
const FIGURE: f64 = 4.12;
/// Size of words beside it, mm.
const WORDS: f64 = 3.45;
/// Height of the head, mm.
const HEAD: f64 = 17.0;
/// Height of the row with the folded part and the holes, mm.
const FOLDED: f64 = 52.0;
/// Least and most height of the flat pattern with its dimensions, mm.
const FLAT: (f64, f64) = (82.0, 125.0);
/// Least height of the flat pattern before the steps get a page of their own, mm.
const LEAST_FLAT: f64 = 62.0;
/// Least and most height of a step, mm.
const STEP: (f64, f64) = (19.0, 27.0);
/// Lines of findings at most.
const FINDINGS: usize = 7;
/// Room beside the flat pattern for dimensions, mm.
const DIMENSION: f64 = 16.0;
const ORDINATE: f64 = 22.0;

const OUTLINE: Pen = Pen::black(0.35);
const THIN: Pen = Pen::black(0.15);
/// Bends up: dashed. Bends down: a dash and a dot by turns, as centre lines are drawn (ISO 128-2, from memory).
const BEND_UP: Pen = Pen::black(0.3).dashed(&[4.0, 2.0]);
const BEND_DOWN: Pen = Pen::black(0.3).dashed(&[6.0, 1.5, 0.6, 1.5]);

/// Bend cards of a job as one PDF, a page each, on upright paper: the folded part, the flat pattern with bend lines and
/// holes, the steps in order with a picture of the part after each, the findings of the checks. `job_name` and
/// `plan_number` stand on every page. The same cards make the same file.
#[must_use]
pub fn write_bend_cards(
    cards: &[BendCard],
    (job_name, plan_number): (&str, &str),
    paper: Paper,
    lengths: LengthStyle,
) -> Vec<u8> {
    let size = paper.size().unwrap_or_else(|| Vector::new(210.0, 297.0));
    let size = Vector::new(size.x.min(size.y), size.x.max(size.y));
    let mut document = Document::new(stamp(job_name, plan_number));
    for card in cards {
        document.bookmark(&card.name);
        draw(&mut document, size, card, lengths);
    }
    if cards.is_empty() {
        let page = document.page(size);
        let top = page.size.y - MARGIN - 6.0;
        let Document { fonts, pages, .. } = &mut document;
        if let Some(page) = pages.last_mut() {
            page.text(
                fonts,
                Style::new(Weight::Regular, FIGURE),
                Point::new(MARGIN, top),
                "No part of this plan is bent.",
            );
        }
    }
    document.number_pages(MARGIN);
    document.finish(&format!("Bend cards: {}", clean(job_name)))
}

fn draw(document: &mut Document, size: Vector, card: &BendCard, lengths: LengthStyle) {
    document.page(size);
    let Document { fonts, pages, .. } = document;
    let page = pages.last_mut().expect("a page was just added");
    let room = size.x - 2.0 * MARGIN;
    head(page, fonts, card, lengths);
    let top = size.y - MARGIN - HEAD;
    let groups = card.hole_groups(|mm| lengths.tool_size(mm));
    folded(page, fonts, card, (Point::new(MARGIN, top - FOLDED), Vector::new(room * 0.52, FOLDED)));
    facts(page, fonts, card, &groups, lengths, (Point::new(MARGIN + room * 0.55, top), room * 0.45));

    let findings = found(fonts, card, room);
    let below = MARGIN + 7.0 + findings.len() as f64 * WORDS * 1.35 + if findings.is_empty() { 0.0 } else { 5.0 };
    let left = top - FOLDED - below - 7.0;
    // The flat pattern takes what the steps leave, the steps what they need; where that is too much, they have their own
    // page.
    let steps = StepTable::of(fonts, card, room, left - FLAT.0, left - LEAST_FLAT);
    let is_apart = steps.height() > left - LEAST_FLAT;
    let high = if is_apart { left } else { left - steps.height() }.min(FLAT.1);
    flat(page, fonts, card, &groups, lengths, (Point::new(MARGIN, top - FOLDED - high), Vector::new(room, high)));
    let y = top - FOLDED - high - 5.0;
    if is_apart {
        page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(MARGIN, y), "Steps: see the next page");
    } else {
        steps.draw(page, fonts, card, y);
    }
    let mut y = below - 5.0;
    for line in &findings {
        page.text(fonts, Style::new(Weight::Regular, WORDS), Point::new(MARGIN, y), line);
        y -= WORDS * 1.35;
    }
    if is_apart {
        document.page(size);
        let Document { fonts, pages, .. } = document;
        let page = pages.last_mut().expect("a page was just added");
        head(page, fonts, card, lengths);
        steps.draw(page, fonts, card, top - 5.0);
    }
}

fn steps_heading(card: &BendCard) -> &'static str {
    if card.steps.is_empty() { "No steps: see below" } else { "Steps in order; a bend has the number of its step" }
}

fn head(page: &mut Page, fonts: &mut Fonts, card: &BendCard, lengths: LengthStyle) {
    let (top, right) = (page.size.y - MARGIN, page.size.x - MARGIN);
    let count = format!("make {}", card.count);
    page.text(fonts, Style::new(Weight::Bold, 6.0).held(Hold::End), Point::new(right, top - 6.0), &count);
    let room = right - MARGIN - fonts.width(Weight::Bold, &count) * 6.0 - 4.0;
    let name = fonts.shorten(Weight::Bold, &format!("{}  {}", key(card.part), clean(&card.name)), room / 6.5);
    page.text(fonts, Style::new(Weight::Bold, 6.5), Point::new(MARGIN, top - 6.0), &name);
    let bounds = card.unfolding.shape.bounds();
    let facts = format!(
        "{} · flat {} × {} · {} bends",
        clean(&card.metal),
        lengths.with_unit(bounds.width()),
        lengths.with_unit(bounds.height()),
        card.unfolding.bends.len()
    );
    let facts = fonts.shorten(Weight::Regular, &facts, (right - MARGIN) / WORDS);
    page.text(fonts, Style::new(Weight::Regular, WORDS), Point::new(MARGIN, top - 11.6), &facts);
    page.line(&[Point::new(MARGIN, top - 13.6), Point::new(right, top - 13.6)], THIN);
}

/// A painting within a box, its lower side darker.
fn painting(page: &mut Page, painting: &Painting, (corner, size): (Point, Vector)) {
    let bounds = painting.bounds;
    let scale = (bounds.width() / size.x).max(bounds.height() / size.y).max(1e-9);
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    let from = corner + (size - drawn) * 0.5;
    let place = |point: Point| from + (point - bounds.min) / scale;
    for fill in &painting.fills {
        let gray = if fill.is_under { fill.level * UNDER } else { fill.level };
        for region in &fill.regions {
            let rings: Vec<Vec<Point>> =
                region.rings().map(|ring| ring.iter().map(|&point| place(point)).collect()).collect();
            page.filled_rings(&rings, gray);
        }
    }
    for (wanted, pen) in
        [(Stroke::BendLimit, Pen { gray: 0.45, ..Pen::black(0.1) }), (Stroke::Outline, Pen::black(0.2))]
    {
        for (stroke, [a, b]) in &painting.lines {
            if *stroke == wanted {
                page.line(&[place(*a), place(*b)], pen);
            }
        }
    }
}

fn folded(page: &mut Page, fonts: &mut Fonts, card: &BendCard, (corner, size): (Point, Vector)) {
    let picture = paint(&card.unfolding, &|_| true, 0.002);
    painting(page, &picture, (corner + Vector::new(0.0, 5.0), size - Vector::new(0.0, 6.0)));
    let words = "bent, seen from the front and above; darker: the side that is down on the flat";
    let words = fonts.shorten(Weight::Regular, words, (size.x + 4.0) / 2.6);
    page.text(fonts, Style { gray: 0.2, ..Style::new(Weight::Regular, 2.6) }, corner + Vector::new(0.0, 1.2), &words);
}

/// Holes with their call-outs, and what the lines mean.
fn facts(
    page: &mut Page,
    fonts: &mut Fonts,
    card: &BendCard,
    groups: &[HoleGroup],
    lengths: LengthStyle,
    (corner, room): (Point, f64),
) {
    let radii: Vec<String> = {
        let mut radii: Vec<f64> = card.unfolding.bends.iter().map(|bend| bend.figures.bend.radius()).collect();
        radii.sort_by(f64::total_cmp);
        radii.dedup_by(|a, b| (*a - *b).abs() < 0.005);
        radii.iter().map(|&radius| lengths.tool_size(radius)).collect()
    };
    let words = format!(
        "Inside radius {}. Dashed: bends up, towards you; dash-dotted: down. Figures run from the lower left corner of the \
         flat, in {}; {}.",
        radii.join(", "),
        lengths.unit_in_words(),
        lengths.rounding()
    );
    let lines = fonts.broken(Weight::Regular, &words, room / 2.8);
    let mut y = corner.y - 5.0;
    let heading = if groups.is_empty() { "No round holes" } else { "Holes" };
    page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(corner.x, y), heading);
    // Clear of the words below, and of the line that counts what is left.
    let lowest = corner.y - FOLDED + 3.4 * lines.len() as f64 + 6.5;
    for (index, group) in groups.iter().enumerate() {
        let call_out = fonts.broken(Weight::Regular, &group.words, (room - 7.0) / FIGURE);
        if y - call_out.len() as f64 * 5.2 < lowest {
            let left = groups.len() - index;
            page.text(
                fonts,
                Style::new(Weight::Regular, WORDS),
                Point::new(corner.x, y - 5.0),
                &format!("and {left} more sizes: see the mark-out"),
            );
            break;
        }
        page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(corner.x, y - 5.2), &group.letter);
        for line in call_out {
            y -= 5.2;
            page.text(fonts, Style::new(Weight::Regular, FIGURE), Point::new(corner.x + 6.0, y), &line);
        }
    }
    let mut y = corner.y - FOLDED + 3.4 * lines.len() as f64 - 2.0;
    for line in lines {
        page.text(fonts, Style::new(Weight::Regular, 2.8), Point::new(corner.x, y), &line);
        y -= 3.4;
    }
}

/// The flat pattern, dimensioned: over all, bend lines, holes by letter.
fn flat(
    page: &mut Page,
    fonts: &mut Fonts,
    card: &BendCard,
    groups: &[HoleGroup],
    lengths: LengthStyle,
    (corner, size): (Point, Vector),
) {
    let shape = &card.unfolding.shape;
    let bounds = shape.bounds();
    let room = size - Vector::new(DIMENSION + ORDINATE, DIMENSION + ORDINATE);
    let scale = (bounds.width() / room.x).max(bounds.height() / room.y.max(20.0)).max(1e-9);
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    let from = corner + Vector::new(DIMENSION + (room.x - drawn.x) / 2.0, DIMENSION + (room.y - drawn.y) / 2.0);
    let place = |point: Point| from + (point - bounds.min) / scale;
    page.filled_shape(shape, &place, 0.94);
    page.shape(shape, &place, OUTLINE);
    let polygon: Polygon = shape.flatten(0.1 * scale, Side::Shrink);
    let mut lines: Vec<[Point; 2]> = sides(&polygon).collect();
    let mut points: Vec<(Point, String, f64)> = Vec::new();
    for group in groups {
        for &center in &group.centers {
            let arm = 1.6 * scale;
            for way in [Vector::new(arm, 0.0), Vector::new(0.0, arm)] {
                page.line(&[place(center - way), place(center + way)], THIN);
                lines.push([center - way, center + way]);
            }
            points.push((center, group.letter.clone(), FIGURE));
        }
    }
    // Numbers of bends first: they are looked for most.
    let mut marks: Vec<(Point, String, f64)> = card
        .unfolding
        .bends
        .iter()
        .zip(&card.names)
        .map(|(bend, name)| (bend.line[0].lerp(bend.line[1], 0.5), name.clone(), FIGURE * 1.15))
        .collect();
    let numbers = marks.len();
    lines.extend(card.unfolding.bends.iter().map(|bend| bend.line));
    marks.extend(points);
    let around = Vector::new(5.0, 5.0) * scale;
    let field = Bounds::of([bounds.min - around, bounds.max + around]);
    let naming = name_points(&[], &marks, &lines, field, scale);
    let boxes: Vec<(Point, Vector)> = naming.named.iter().map(|named| (named.center, named.half(scale))).collect();
    for bend in &card.unfolding.bends {
        for [a, b] in broken(bend.line, &boxes) {
            page.line(&[place(a), place(b)], if bend.direction == Direction::Up { BEND_UP } else { BEND_DOWN });
        }
    }
    for named in &naming.named {
        if let Some([a, b]) = named.leader {
            page.line(&[place(a), place(b)], THIN);
        }
        let weight = if named.subject < numbers { Weight::Bold } else { Weight::Regular };
        let style = Style::new(weight, named.size).held(Hold::Middle);
        let below = named.lines.len() as f64 * 0.36 * LINE / LINE * named.size;
        for line in &named.lines {
            page.text(fonts, style, place(named.center) - Vector::new(0.0, below), line);
        }
    }
    over_all(page, fonts, lengths, (from, drawn, bounds));
    ordinates(page, fonts, card, lengths, (&place, from, drawn, bounds));
}

/// Length and width below and to the left of the flat pattern.
fn over_all(page: &mut Page, fonts: &mut Fonts, lengths: LengthStyle, (from, drawn, bounds): (Point, Vector, Bounds)) {
    let style = Style::new(Weight::Bold, FIGURE).held(Hold::Middle);
    let (low, left) = (from.y - 8.0, from.x - 8.0);
    page.line(&[Point::new(from.x, low), Point::new(from.x + drawn.x, low)], THIN);
    page.line(&[Point::new(left, from.y), Point::new(left, from.y + drawn.y)], THIN);
    for x in [from.x, from.x + drawn.x] {
        page.line(&[Point::new(x, from.y - 3.0), Point::new(x, low - 1.5)], THIN);
    }
    for y in [from.y, from.y + drawn.y] {
        page.line(&[Point::new(from.x - 3.0, y), Point::new(left - 1.5, y)], THIN);
    }
    for (tip, along) in [
        (Point::new(from.x, low), Vector::new(-1.0, 0.0)),
        (Point::new(from.x + drawn.x, low), Vector::new(1.0, 0.0)),
        (Point::new(left, from.y), Vector::new(0.0, -1.0)),
        (Point::new(left, from.y + drawn.y), Vector::new(0.0, 1.0)),
    ] {
        let back = tip - along * 2.4;
        page.polygon(&[tip, back + along.left() * 0.5, back - along.left() * 0.5], 0.0);
    }
    let across = lengths.bare(bounds.width());
    page.text(fonts, style, Point::new(from.x + drawn.x / 2.0, low - 4.2), &across);
    let upright = lengths.bare(bounds.height());
    page.text(fonts, style.turned(90.0), Point::new(left - 1.4, from.y + drawn.y / 2.0), &upright);
    page.polygon(&[from, from + Vector::new(-3.0, -1.3), from + Vector::new(-1.3, -3.0)], 0.0);
}

/// Distances of upright bend lines from the left, above the pattern, and of level ones from below, to its right.
fn ordinates(
    page: &mut Page,
    fonts: &mut Fonts,
    card: &BendCard,
    lengths: LengthStyle,
    (place, from, drawn, bounds): (&dyn Fn(Point) -> Point, Point, Vector, Bounds),
) {
    for is_upright in [true, false] {
        // What it reads, the true distance on the page, the end of the bend line nearest to the figure.
        let mut lines: Vec<(String, f64, Point)> = Vec::new();
        for bend in &card.unfolding.bends {
            let [a, b] = bend.line;
            let way = b - a;
            let (across, along) = if is_upright { (way.x, way.y) } else { (way.y, way.x) };
            if across.abs() > 1e-6 * along.abs() {
                continue;
            }
            let value = if is_upright { a.x - bounds.min.x } else { a.y - bounds.min.y };
            let text = lengths.bare(value);
            let end = if (is_upright && a.y > b.y) || (!is_upright && a.x > b.x) { a } else { b };
            let at = if is_upright { place(a).x - from.x } else { place(a).y - from.y };
            match lines.iter_mut().find(|(known, ..)| *known == text) {
                Some((_, _, known)) => {
                    if (is_upright && end.y > known.y) || (!is_upright && end.x > known.x) {
                        *known = end;
                    }
                }
                None => lines.push((text, at, end)),
            }
        }
        lines.sort_by(|a, b| a.1.total_cmp(&b.1));
        let length = if is_upright { drawn.x } else { drawn.y };
        let wanted: Vec<f64> = lines.iter().map(|(_, at, _)| *at).collect();
        let spread = spread(&wanted, FIGURE * 1.25, -6.0, length + 6.0);
        for ((text, at, end), along) in lines.iter().zip(spread) {
            let point = |along: f64, out: f64| {
                if is_upright {
                    from + Vector::new(along, drawn.y + out)
                } else {
                    from + Vector::new(drawn.x + out, along)
                }
            };
            page.line(
                &[place(*end), point(*at, 6.0), point(along, 9.0), point(along, 10.0)],
                Pen { gray: 0.3, ..THIN },
            );
            let style = Style::new(Weight::Regular, FIGURE);
            if is_upright {
                page.text(fonts, style.turned(90.0), point(along + FIGURE * 0.36, 10.8), text);
            } else {
                page.text(fonts, style, point(along - FIGURE * 0.36, 10.8), text);
            }
        }
    }
}

/// A line of a step: how far it is indented, mm, its weight and its words.
type StepLine = (f64, Weight, String);

/// The steps of a card, in columns: down the first, then down the next.
struct StepTable {
    /// Size of the type, mm.
    size: f64,
    /// Width of a column, mm.
    wide: f64,
    /// Height of each row, mm.
    rows: Vec<f64>,
    steps: Vec<Vec<StepLine>>,
}

/// Sizes of the type of steps, mm, the largest first: capitals of the smallest are 2.5 mm high.
const STEP_TYPES: [f64; 3] = [FIGURE, 3.75, WORDS];
/// From one line of a step to the next, as a multiple of its size.
const STEP_LINE: f64 = 1.2;

impl StepTable {
    /// In the largest type that keeps to `wanted` mm of height; else in the smallest.
    fn of(fonts: &mut Fonts, card: &BendCard, room: f64, wanted: f64, most: f64) -> Self {
        let columns = if card.steps.len() > 14 { 3 } else { 2 };
        let count = card.steps.len().div_ceil(columns).max(1);
        let wide = room / columns as f64;
        let laid = |fonts: &mut Fonts, size: f64| {
            let steps: Vec<Vec<StepLine>> = card
                .steps
                .iter()
                .map(|step| step_lines(fonts, step, wide - picture_of_step(wide) - 3.0, size))
                .collect();
            let needed = |lines: &Vec<StepLine>| lines.len() as f64 * STEP_LINE * size + 3.5;
            let row = |row: usize| {
                let of_row = steps.iter().skip(row).step_by(count);
                of_row.map(needed).fold(STEP.0, f64::max)
            };
            Self { size, wide, rows: (0..count).map(row).collect(), steps }
        };
        let mut table = laid(fonts, STEP_TYPES[0]);
        for size in &STEP_TYPES[1..] {
            if table.height() > wanted {
                table = laid(fonts, *size);
            }
        }
        // Pictures are the larger for what is left.
        let spare = (wanted.min(most) - table.height()) / count as f64;
        table.rows.iter_mut().for_each(|row| *row = (*row + spare.max(0.0)).min(row.max(STEP.1)));
        table
    }

    /// Height of all rows, mm.
    fn height(&self) -> f64 {
        self.rows.iter().sum()
    }

    /// Draws heading and steps from `y` down.
    fn draw(&self, page: &mut Page, fonts: &mut Fonts, card: &BendCard, y: f64) {
        page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(MARGIN, y), steps_heading(card));
        let count = self.rows.len();
        for index in 0..card.steps.len() {
            let (column, row) = (index / count, index % count);
            let above: f64 = self.rows[..=row].iter().sum();
            let corner = Point::new(MARGIN + self.wide * column as f64, y - 2.0 - above);
            self.step(page, fonts, card, index, (corner, Vector::new(self.wide, self.rows[row])));
        }
    }

    /// A step: box, number, picture of the part after it, what to do.
    fn step(&self, page: &mut Page, fonts: &mut Fonts, card: &BendCard, index: usize, place: (Point, Vector)) {
        let (corner, size) = place;
        page.line(&[corner + Vector::new(0.0, size.y), corner + size], Pen { gray: 0.5, ..THIN });
        let wide = picture_of_step(size.x);
        let picture = paint(&card.unfolding, &|bend| card.is_bent_after(index + 1, bend), 0.004);
        painting(page, &picture, (corner + Vector::new(0.5, 1.0), Vector::new(wide - 1.0, size.y - 2.0)));
        let left = corner.x + wide + 1.5;
        let mut y = corner.y + size.y - 5.6;
        page.rectangle(Point::new(left, y - 0.6), Vector::new(4.0, 4.0), Pen::black(0.25));
        page.text(fonts, Style::new(Weight::Bold, 5.0), Point::new(left + 6.0, y - 0.2), &card.steps[index].name);
        for (indent, weight, line) in &self.steps[index] {
            page.text(fonts, Style::new(*weight, self.size), Point::new(left + indent, y), line);
            y -= self.size * STEP_LINE;
        }
    }
}

/// Room for the picture of a step in a column so wide, mm.
fn picture_of_step(wide: f64) -> f64 {
    (wide * 0.34).min(34.0)
}

/// The words of a step broken to lines: the first stands behind box and number.
fn step_lines(fonts: &mut Fonts, step: &crate::card::CardStep, room: f64, size: f64) -> Vec<StepLine> {
    let indent = 6.0 + fonts.width(Weight::Bold, &step.name) * 5.0 + 1.8;
    let mut lines: Vec<StepLine> = Vec::new();
    for (weight, text) in [(Weight::Bold, &step.what), (Weight::Regular, &step.gauge), (Weight::Regular, &step.set_up)]
    {
        let mut rest = text.as_str();
        if lines.is_empty() {
            let Some(first) = fonts.broken(weight, text, (room - indent) / size).into_iter().next() else { continue };
            rest = text.get(first.len()..).unwrap_or_default().trim_start();
            lines.push((indent, weight, first));
        }
        if !rest.is_empty() {
            let broken = fonts.broken(weight, rest, room / size);
            lines.extend(broken.into_iter().map(|line| (0.0, weight, line)));
        }
    }
    lines
}

/// Warnings and findings, broken to the width of the page.
fn found(fonts: &mut Fonts, card: &BendCard, room: f64) -> Vec<String> {
    let all = card.warnings.iter().chain(&card.findings);
    let mut lines: Vec<String> = Vec::new();
    let mut left = 0;
    for text in all {
        let broken = fonts.broken(Weight::Regular, &clean(text), room / WORDS);
        if left > 0 || lines.len() + broken.len() >= FINDINGS {
            left += 1;
        } else {
            lines.extend(broken);
        }
    }
    if left > 0 {
        lines.push(format!("and {left} more findings: `dropwise check` and the report tell them"));
    }
    lines
}
