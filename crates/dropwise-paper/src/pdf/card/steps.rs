//! The steps of a bend card: each with a picture of the part after it.

use dropwise_geometry::{Point, Vector};

use super::{FIGURE, MARGIN, THIN, painting};
use crate::bent::paint::paint;
use crate::card::{BendCard, CardStep};
use crate::pdf::canvas::{Page, Pen, Style};
use crate::pdf::font::{Fonts, Weight};

/// Least and most height of a step, mm.
const STEP: (f64, f64) = (19.0, 27.0);

/// A line of a step: how far it is indented, mm, its weight and its words.
type StepLine = (f64, Weight, String);

/// The steps of a card, in columns: down the first, then down the next.
pub(super) struct StepTable {
    /// Width of a column, mm.
    wide: f64,
    /// Height of each row, mm.
    rows: Vec<f64>,
    steps: Vec<Vec<StepLine>>,
}

/// From one line of a step to the next, as a multiple of its size.
const STEP_LINE: f64 = 1.2;

impl StepTable {
    /// In columns of a page; `wanted` mm of height are there for it, `most` at most.
    pub(super) fn of(fonts: &mut Fonts, card: &BendCard, room: f64, wanted: f64, most: f64) -> Self {
        let columns = if card.steps.len() > 14 { 3 } else { 2 };
        let count = card.steps.len().div_ceil(columns).max(1);
        let wide = room / columns as f64;
        let room = wide - picture_of_step(wide) - 3.0;
        let steps: Vec<Vec<StepLine>> = card.steps.iter().map(|step| step_lines(fonts, step, room)).collect();
        let needed = |lines: &Vec<StepLine>| lines.len() as f64 * STEP_LINE * FIGURE + 3.5;
        let row = |row: usize| steps.iter().skip(row).step_by(count).map(needed).fold(STEP.0, f64::max);
        let mut table = Self { wide, rows: (0..count).map(row).collect(), steps };
        // Pictures are the larger for what is left.
        let spare = (wanted.min(most) - table.height()) / count as f64;
        table.rows.iter_mut().for_each(|row| *row = (*row + spare.max(0.0)).min(row.max(STEP.1)));
        table
    }

    /// Height of all rows, mm.
    pub(super) fn height(&self) -> f64 {
        self.rows.iter().sum()
    }

    /// Draws heading and steps from `y` down.
    pub(super) fn draw(&self, page: &mut Page, fonts: &mut Fonts, card: &BendCard, y: f64) {
        page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(MARGIN, y), heading(card));
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
            page.text(fonts, Style::new(*weight, FIGURE), Point::new(left + indent, y), line);
            y -= FIGURE * STEP_LINE;
        }
    }
}

/// Room for the picture of a step in a column so wide, mm.
fn picture_of_step(wide: f64) -> f64 {
    (wide * 0.34).min(34.0)
}

/// The words of a step broken to lines: the first stands behind box and number.
fn step_lines(fonts: &mut Fonts, step: &CardStep, room: f64) -> Vec<StepLine> {
    let indent = 6.0 + fonts.width(Weight::Bold, &step.name) * 5.0 + 1.8;
    let mut lines: Vec<StepLine> = Vec::new();
    for (weight, text) in [(Weight::Bold, &step.what), (Weight::Regular, &step.gauge), (Weight::Regular, &step.set_up)]
    {
        let mut rest = text.as_str();
        if lines.is_empty() {
            let Some(first) = fonts.broken(weight, text, (room - indent) / FIGURE).into_iter().next() else { continue };
            rest = text.get(first.len()..).unwrap_or_default().trim_start();
            lines.push((indent, weight, first));
        }
        if !rest.is_empty() {
            let broken = fonts.broken(weight, rest, room / FIGURE);
            lines.extend(broken.into_iter().map(|line| (0.0, weight, line)));
        }
    }
    lines
}

fn heading(card: &BendCard) -> &'static str {
    if card.steps.is_empty() { "No steps: see below" } else { "Steps in order; a bend has the number of its step" }
}
