//! Bend cards: one page a bent part, to stand at the brake.

mod flat;
mod steps;

use dropwise_geometry::{Point, Vector};

use self::steps::StepTable;
use super::canvas::{Hold, Page, Pen, Style};
use super::document::{Document, stamp};
use super::font::{Fonts, Weight};
use super::paper::Paper;
use crate::bent::paint::{DOUBTFUL, Painting, UNDER, paint};
use crate::bent::view::Stroke;
use crate::card::{BendCard, HoleGroup};
use crate::details::LengthStyle;
use crate::drawing::copies::key;
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
/// Lines of findings at most.
const FINDINGS: usize = 7;

const THIN: Pen = Pen::black(0.15);

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
    flat::draw(page, fonts, card, &groups, lengths, (Point::new(MARGIN, top - FOLDED - high), Vector::new(room, high)));
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

fn head(page: &mut Page, fonts: &mut Fonts, card: &BendCard, lengths: LengthStyle) {
    let (top, right) = (page.size.y - MARGIN, page.size.x - MARGIN);
    let count = format!("make {}", card.count);
    page.text(fonts, Style::new(Weight::Bold, 6.0).held(Hold::End), Point::new(right, top - 6.0), &count);
    let room = right - MARGIN - fonts.width(Weight::Bold, &count) * 6.0 - 4.0;
    let name = fonts.shorten(Weight::Bold, &format!("{}  {}", key(card.part), clean(&card.name)), room / 6.5);
    page.text(fonts, Style::new(Weight::Bold, 6.5), Point::new(MARGIN, top - 6.0), &name);
    let bounds = card.unfolding.shape.bounds();
    let bends = card.unfolding.bends.len();
    let facts = format!(
        "flat {} × {} · {} · {}",
        lengths.with_unit(bounds.width()),
        lengths.with_unit(bounds.height()),
        if bends == 1 { "1 bend".to_owned() } else { format!("{bends} bends") },
        clean(&card.metal)
    );
    let facts = fonts.shorten(Weight::Regular, &facts, (right - MARGIN) / FIGURE);
    page.text(fonts, Style::new(Weight::Regular, FIGURE), Point::new(MARGIN, top - 11.8), &facts);
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
    let mut words = "bent, seen from the front and above; darker: the side that is down on the flat".to_owned();
    if picture.is_doubtful {
        words.insert_str(0, &format!("{DOUBTFUL}; "));
    }
    let words = fonts.shorten(Weight::Regular, &words, (size.x + 4.0) / 2.6);
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
        "Dashed: bends up, towards you; dash-dotted: down. Figures run from the lower left corner of the flat, in {}; {}.",
        lengths.unit_in_words(),
        lengths.rounding()
    );
    let lines = fonts.broken(Weight::Regular, &words, room / 2.8);
    let mut y = corner.y - 5.0;
    let radii = fonts.broken(Weight::Regular, &format!("Inside radius {}", radii.join(", ")), room / FIGURE);
    for line in radii.iter().filter(|_| !card.unfolding.bends.is_empty()) {
        page.text(fonts, Style::new(Weight::Regular, FIGURE), Point::new(corner.x, y), line);
        y -= 5.6;
    }
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
