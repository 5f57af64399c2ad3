//! Bend cards: one page a bent part, to stand at the brake.

mod flat;
mod form;
mod steps;

use dropwise_geometry::{Point, Vector};

use self::form::{FINDING, Laid};
use super::canvas::{Hold, Page, Pen, Style};
use super::document::Document;
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
    let mut document = Document::new(job_name, plan_number);
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
    head(page, fonts, card, lengths);
    let room = Vector::new(size.x - 2.0 * MARGIN, size.y - 2.0 * MARGIN - HEAD);
    let top = size.y - MARGIN - HEAD;
    let groups = card.hole_groups(|mm| lengths.tool_size(mm));
    let laid = Laid::of(fonts, card, &groups, lengths, room);
    let (corner, low) = (Point::new(MARGIN, top), top - laid.upper);
    folded(page, fonts, card, (corner - Vector::new(0.0, laid.folded.1.y + laid.folded.0), laid.folded.1));
    laid.facts.draw(page, fonts, (corner + Vector::new(laid.facts_at.0, 0.0), laid.facts_at.1));
    laid.flat.draw(page, fonts, card, corner + laid.flat_at);
    if laid.is_apart {
        let at = Point::new(MARGIN, low - 5.0);
        page.text(fonts, Style::new(Weight::Bold, FIGURE), at, "Steps: see the next page");
    } else {
        laid.steps.draw(page, fonts, card, low - 5.0);
    }
    let mut y = MARGIN + 2.0 + laid.findings.len() as f64 * WORDS * FINDING;
    for line in &laid.findings {
        page.text(fonts, Style::new(Weight::Regular, WORDS), Point::new(MARGIN, y), line);
        y -= WORDS * FINDING;
    }
    if laid.is_apart {
        document.page(size);
        let Document { fonts, pages, .. } = document;
        let page = pages.last_mut().expect("a page was just added");
        head(page, fonts, card, lengths);
        laid.steps.draw(page, fonts, card, top - 5.0);
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

/// The folded part in a box, with what is seen below it.
fn folded(page: &mut Page, fonts: &mut Fonts, card: &BendCard, (corner, size): (Point, Vector)) {
    let picture = paint(&card.unfolding, &|_| true, 0.002);
    let mut words = "bent, seen from the front and above; darker: the side that is down on the flat".to_owned();
    if picture.is_doubtful {
        words.insert_str(0, &format!("{DOUBTFUL}; "));
    }
    let lines = fonts.broken(Weight::Regular, &words, (size.x + 4.0) / 2.6);
    let below = 1.2 + lines.len() as f64 * 3.4;
    painting(page, &picture, (corner + Vector::new(0.0, below), size - Vector::new(0.0, below + 1.0)));
    for (index, line) in lines.iter().rev().enumerate() {
        let at = corner + Vector::new(0.0, 1.2 + index as f64 * 3.4);
        page.text(fonts, Style { gray: 0.2, ..Style::new(Weight::Regular, 2.6) }, at, line);
    }
}

/// From one line of the facts to the next, mm.
const FACT: f64 = 5.2;
/// The same of what the lines mean.
const MEANING: f64 = 3.4;

/// Holes with their call-outs, and what the lines mean, broken to lines.
struct Facts {
    radii: Vec<String>,
    heading: &'static str,
    /// Letter and call-out of each size.
    holes: Vec<(String, Vec<String>)>,
    meaning: Vec<String>,
}

impl Facts {
    fn of(fonts: &mut Fonts, card: &BendCard, groups: &[HoleGroup], lengths: LengthStyle, room: f64) -> Self {
        let mut radii: Vec<f64> = card.unfolding.bends.iter().map(|bend| bend.figures.bend.radius()).collect();
        radii.sort_by(f64::total_cmp);
        radii.dedup_by(|a, b| (*a - *b).abs() < 0.005);
        let radii: Vec<String> = radii.iter().map(|&radius| lengths.tool_size(radius)).collect();
        let radii = match radii.is_empty() {
            true => Vec::new(),
            false => fonts.broken(Weight::Regular, &format!("Inside radius {}", radii.join(", ")), room / FIGURE),
        };
        let words = format!(
            "Dashed: bends up, towards you; dash-dotted: down. Figures run from the lower left corner of the flat, in {}; {}.",
            lengths.unit_in_words(),
            lengths.rounding()
        );
        let call_out = |group: &HoleGroup| {
            (group.letter.clone(), fonts.broken(Weight::Regular, &group.words, (room - 7.0) / FIGURE))
        };
        Self {
            radii,
            heading: if groups.is_empty() { "No round holes" } else { "Holes" },
            holes: groups.iter().map(call_out).collect(),
            meaning: fonts.broken(Weight::Regular, &words, room / 2.8),
        }
    }

    /// Height at which nothing is left out, mm.
    fn height(&self) -> f64 {
        let lines = self.holes.iter().map(|(_, lines)| lines.len()).sum::<usize>();
        5.0 + 5.6 * self.radii.len() as f64 + FACT * lines as f64 + MEANING * self.meaning.len() as f64 + 6.5
    }

    /// Draws them from a corner down, in a row of this height.
    fn draw(self, page: &mut Page, fonts: &mut Fonts, (corner, high): (Point, f64)) {
        let mut y = corner.y - 5.0;
        for line in &self.radii {
            page.text(fonts, Style::new(Weight::Regular, FIGURE), Point::new(corner.x, y), line);
            y -= 5.6;
        }
        page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(corner.x, y), self.heading);
        let below = corner.y - high + MEANING * self.meaning.len() as f64;
        // Clear of the words below, and of the line that counts what is left.
        let lowest = below + 6.5;
        let count = self.holes.len();
        for (index, (letter, call_out)) in self.holes.into_iter().enumerate() {
            let is_last = index + 1 == count;
            if y - call_out.len() as f64 * FACT < if is_last { below + 1.3 } else { lowest } {
                let words = format!("and {} more sizes: see the mark-out", count - index);
                page.text(fonts, Style::new(Weight::Regular, WORDS), Point::new(corner.x, y - 5.0), &words);
                break;
            }
            page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(corner.x, y - FACT), &letter);
            for line in call_out {
                y -= FACT;
                page.text(fonts, Style::new(Weight::Regular, FIGURE), Point::new(corner.x + 6.0, y), &line);
            }
        }
        let mut y = below - 2.0;
        for line in self.meaning {
            page.text(fonts, Style::new(Weight::Regular, 2.8), Point::new(corner.x, y), &line);
            y -= MEANING;
        }
    }
}
