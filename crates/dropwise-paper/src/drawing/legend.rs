//! The list of what is in a picture.

use dropwise_geometry::{Point, Vector};

use super::annotate::{NOTE, datum};
use super::fills::{Fills, SHEET};
use super::label::BASE;
use super::svg::{Anchor, Canvas, MEDIUM, THIN};
use super::text::{clean, shorten, width};

/// Height of an entry, mm of paper.
const ROW: f64 = 5.6;

/// Width of a swatch, mm of paper.
const SWATCH: f64 = 8.0;

/// What stands before an entry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Mark {
    /// The fill of a kind of part.
    Part(usize),
    /// The hatch of leftovers.
    Leftover,
    /// The hatch of damage.
    Damage,
    /// The dashes around what is kept clear.
    Clear,
    /// Plain sheet.
    Scrap,
    /// The datum mark.
    Datum,
    /// Nothing: a note.
    None,
}

/// One entry.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Entry {
    /// What stands before it.
    pub(super) mark: Mark,
    /// A name that may be shortened; may be empty.
    pub(super) name: String,
    /// What is said of it, kept whole.
    pub(super) rest: String,
}

/// How many columns of entries fit a width, mm of paper, and how high they then are.
pub(super) fn measure(entries: &[Entry], available: f64) -> (usize, f64) {
    let widest = entries
        .iter()
        .map(|entry| SWATCH + 6.0 + (width(&shorten(&clean(&entry.name), 24.0)) + width(&entry.rest)) * NOTE)
        .fold(50.0, f64::max);
    let columns = ((available / widest) as usize).clamp(1, 5);
    (columns, entries.len().div_ceil(columns) as f64 * ROW)
}

/// Draws entries below `at`, column after column; `available` as in [`measure`].
pub(super) fn draw(canvas: &mut Canvas, at: Point, entries: &[Entry], available: f64, fills: &Fills) {
    let paper = canvas.paper;
    let (columns, _) = measure(entries, available);
    let rows = entries.len().div_ceil(columns).max(1);
    let column_width = available / columns as f64;
    for (i, entry) in entries.iter().enumerate() {
        let (column, row) = ((i / rows) as f64, (i % rows) as f64);
        let corner = at + Vector::new(column * column_width * paper, row * ROW * paper);
        let (swatch_width, swatch_height) = (SWATCH * paper, (ROW - 1.6) * paper);
        if entry.mark == Mark::Clear {
            let (x, y, back) = (corner.x, corner.y, -swatch_width);
            let ring = format!("M{x:.3} {y:.3}h{swatch_width:.3}v{swatch_height:.3}h{back:.3}z");
            let dashes = format!(r#" stroke-dasharray="{} {}""#, canvas.paper_length(1.2), canvas.paper_length(0.8));
            canvas.path(&ring, SHEET, MEDIUM, &dashes);
        }
        let mut swatch = |fill: &str, line: f64| canvas.rectangle(corner, swatch_width, swatch_height, fill, line);
        match entry.mark {
            Mark::Part(part) => swatch(&fills.part(part), MEDIUM),
            Mark::Leftover => swatch(&fills.leftover(), THIN),
            Mark::Damage => swatch(&fills.damage(), THIN),
            Mark::Scrap => swatch(SHEET, THIN),
            Mark::Datum => datum(canvas, corner + Vector::new(0.7 * swatch_width, 0.2 * swatch_height)),
            Mark::Clear | Mark::None => {}
        }
        let text_at = if entry.mark == Mark::None { 0.0 } else { SWATCH + 2.0 };
        let room = (column_width - text_at - 2.0) / NOTE - width(&entry.rest);
        let name = shorten(&clean(&entry.name), room);
        let text = format!("{name}{}", entry.rest);
        let base = corner + Vector::new(text_at * paper, swatch_height / 2.0 + BASE * NOTE * paper);
        canvas.text(base, NOTE, Anchor::Start, 0.0, "", &text);
    }
}
