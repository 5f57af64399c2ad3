//! The steps of a bend card: each with a picture of the part after it.

use dropwise_geometry::{Point, Vector};

use super::form::Form;
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
    /// Heights of the steps, mm, column by column.
    columns: Vec<Vec<f64>>,
    steps: Vec<Vec<StepLine>>,
    /// What stands over them, broken to lines.
    heading: Vec<String>,
}

/// From one line of a step to the next, as a multiple of its size.
const STEP_LINE: f64 = 1.2;

impl StepTable {
    /// In columns as `form` says; `wanted` mm of height are there for it, `most` at most.
    pub(super) fn of(fonts: &mut Fonts, card: &BendCard, room: f64, form: &Form, (wanted, most): (f64, f64)) -> Self {
        let columns = if card.steps.len() > 14 { form.columns.max(3) } else { form.columns };
        let count = card.steps.len().div_ceil(columns).max(1);
        let wide = room / columns as f64;
        let heading = fonts.broken(Weight::Bold, &heading(card), room / FIGURE);
        let room = wide - picture_of_step(wide) - 3.0;
        let all = said_of_all(card);
        let lines = |step| step_lines(fonts, step, (&all, form.is_dense), room);
        let steps: Vec<Vec<StepLine>> = card.steps.iter().map(lines).collect();
        let needed = |lines: &Vec<StepLine>| (lines.len() as f64 * STEP_LINE * FIGURE + 3.5).max(STEP.0);
        let columns = steps.chunks(count).map(|column| column.iter().map(needed).collect()).collect();
        let mut table = Self { wide, columns, steps, heading };
        // Pictures are the larger for what is left.
        let spare = (wanted.min(most) - table.height()) / count as f64;
        for step in table.columns.iter_mut().flatten() {
            *step = (*step + spare.max(0.0)).min(step.max(STEP.1));
        }
        table
    }

    /// Height of the highest column and of the heading beyond its first line, mm.
    pub(super) fn height(&self) -> f64 {
        self.columns.iter().map(|column| column.iter().sum()).fold(0.0, f64::max) + self.more_heading()
    }

    fn more_heading(&self) -> f64 {
        self.heading.len().saturating_sub(1) as f64 * FIGURE * STEP_LINE
    }

    /// Draws heading and steps from `y` down.
    pub(super) fn draw(&self, page: &mut Page, fonts: &mut Fonts, card: &BendCard, y: f64) {
        for (index, line) in self.heading.iter().enumerate() {
            let down = index as f64 * FIGURE * STEP_LINE;
            page.text(fonts, Style::new(Weight::Bold, FIGURE), Point::new(MARGIN, y - down), line);
        }
        let top = y - self.more_heading() - 2.0;
        let mut index = 0;
        for (column, heights) in self.columns.iter().enumerate() {
            let mut low = top;
            for &high in heights {
                low -= high;
                let corner = Point::new(MARGIN + self.wide * column as f64, low);
                self.step(page, fonts, card, index, (corner, Vector::new(self.wide, high)));
                index += 1;
            }
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

/// The words of a step broken to lines: the first stands behind box and number. What is said of all is left out; in a dense
/// form gauge and set-up share their lines.
fn step_lines(fonts: &mut Fonts, step: &CardStep, (all, is_dense): (&[String], bool), room: f64) -> Vec<StepLine> {
    let indent = 6.0 + fonts.width(Weight::Bold, &step.name) * 5.0 + 1.8;
    let told = [&step.gauge, &step.set_up].into_iter().filter(|text| !all.contains(text) && !text.is_empty());
    let mut told: Vec<String> = told.cloned().collect();
    if is_dense {
        told = vec![told.join("; ")];
    }
    let mut lines: Vec<StepLine> = Vec::new();
    for (weight, text) in
        std::iter::once((Weight::Bold, &step.what)).chain(told.iter().map(|text| (Weight::Regular, text)))
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

/// How to gauge and how to set up where it is the same in all of several steps: said once, over them.
fn said_of_all(card: &BendCard) -> Vec<String> {
    let [first, rest @ ..] = &card.steps[..] else { return Vec::new() };
    let told: [fn(&CardStep) -> &String; 2] = [|step| &step.gauge, |step| &step.set_up];
    let is_same = |of: &fn(&CardStep) -> &String| !rest.is_empty() && rest.iter().all(|step| of(step) == of(first));
    told.into_iter().filter(is_same).map(|of| of(first).clone()).filter(|text| !text.is_empty()).collect()
}

fn heading(card: &BendCard) -> String {
    if card.steps.is_empty() {
        return "No steps: see below".to_owned();
    }
    match said_of_all(card) {
        all if all.is_empty() => "Steps in order; a bend has the number of its step".to_owned(),
        all => format!("Steps in order, numbered like their bends. All: {}", all.join("; ")),
    }
}
