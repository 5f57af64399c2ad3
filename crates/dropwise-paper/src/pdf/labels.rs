//! Labels for the rack: one for each piece, to be cut out and tied or glued to the metal.

use dropwise_geometry::{Point, Shape, Side, Vector, largest_rectangle};
use qrcodegen::{QrCode, QrCodeEcc};
use thiserror::Error;

use super::canvas::{Hold, Page, Pen, Style};
use super::document::Document;
use super::font::{Fonts, Weight};
use super::paper::Paper;

/// What stands on a label. Whatever is empty is left out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RackLabel {
    /// The tag, large and as QR code.
    pub tag: String,
    /// Metal and thickness.
    pub stock: String,
    /// Its size.
    pub size: String,
    /// Heat number.
    pub heat_number: String,
    /// Where it lies.
    pub place: String,
    /// Its shape, drawn small where it is no rectangle, with the largest rectangle that it holds; `None` for a rectangle.
    pub shape: Option<Shape>,
    /// The size of that rectangle in words.
    pub usable: String,
}

/// Why labels were refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum LabelError {
    /// There is nothing to print.
    #[error("there is no piece to print a label for")]
    Nothing,
    /// A roll has no pages to lay labels out on.
    #[error("labels are laid out on sheets of paper, not on a roll")]
    Roll,
    /// A tag that no QR code holds.
    #[error("the tag \"{tag}\" is too long for a QR code")]
    Tag {
        /// The tag, shortened.
        tag: String,
    },
}

/// Smallest and largest size of a label, mm.
const SIZE: Vector = Vector::new(90.0, 42.0);

/// Least white margin of the page, mm: what every printer leaves.
const MARGIN: f64 = 8.0;

/// White around a QR code, in modules.
///
/// # Source
/// ISO/IEC 18004, 6.3.8: four modules on each side.
const QUIET: i32 = 4;

/// Room for the outline of an odd piece, mm.
const OUTLINE: Vector = Vector::new(22.0, 15.0);

/// Side of the square that a code takes with its white, mm: modules of about 1 mm, which a telephone reads at arm's length.
const CODE: f64 = 30.0;

/// Labels in the order given, row by row, as PDF. Thin lines show where to cut.
///
/// # Errors
/// [`LabelError`].
pub fn write_labels(labels: &[RackLabel], paper: Paper) -> Result<Vec<u8>, LabelError> {
    if labels.is_empty() {
        return Err(LabelError::Nothing);
    }
    let size = paper.size().ok_or(LabelError::Roll)?;
    let codes = labels.iter().map(code_of).collect::<Result<Vec<_>, _>>()?;
    let count = |room: f64, one: f64| (((room - 2.0 * MARGIN) / one).floor() as usize).max(1);
    let (columns, rows) = (count(size.x, SIZE.x), count(size.y, SIZE.y));
    let left = (size.x - columns as f64 * SIZE.x) / 2.0;
    let top = size.y - (size.y - rows as f64 * SIZE.y) / 2.0;
    let mut document = Document::new("", "");
    for (labels, codes) in labels.chunks(columns * rows).zip(codes.chunks(columns * rows)) {
        document.page(size);
        let Document { fonts, pages, .. } = &mut document;
        let Some(page) = pages.last_mut() else { continue };
        for (index, (label, code)) in labels.iter().zip(codes).enumerate() {
            let (column, row) = ((index % columns) as f64, (index / columns) as f64);
            draw(page, fonts, Point::new(left + column * SIZE.x, top - (row + 1.0) * SIZE.y), label, code);
        }
    }
    Ok(document.finish("Labels for the rack"))
}

/// The tag as a code that still reads with a quarter of it rubbed off.
fn code_of(label: &RackLabel) -> Result<QrCode, LabelError> {
    QrCode::encode_text(&label.tag, QrCodeEcc::Quartile)
        .map_err(|_| LabelError::Tag { tag: label.tag.chars().take(20).collect() })
}

/// A label by its lower left corner.
fn draw(page: &mut Page, fonts: &mut Fonts, corner: Point, label: &RackLabel, code: &QrCode) {
    page.rectangle(corner, SIZE, Pen { gray: 0.6, ..Pen::black(0.15) });
    let middle = corner.y + SIZE.y / 2.0;
    draw_code(page, Point::new(corner.x + 3.0, middle - CODE / 2.0), code);
    let left = corner.x + CODE + 6.0;
    let room = SIZE.x - CODE - 9.0;
    if let Some(shape) = &label.shape {
        outline(page, shape, (corner + Vector::new(SIZE.x - OUTLINE.x - 3.0, SIZE.y - OUTLINE.y - 3.0), OUTLINE));
    }
    let mut y = corner.y + SIZE.y - 12.0;
    let beside = if label.shape.is_some() { OUTLINE.x + 2.0 } else { 0.0 };
    let tag = fonts.shorten(Weight::Bold, &label.tag, (room - beside) / 10.0);
    page.text(fonts, Style::new(Weight::Bold, 10.0), Point::new(left, y), &tag);
    y -= 7.0;
    let heat = if label.heat_number.is_empty() { String::new() } else { format!("heat {}", label.heat_number) };
    for (line, weight) in [
        (&label.stock, Weight::Bold),
        (&label.size, Weight::Regular),
        (&label.usable, Weight::Regular),
        (&heat, Weight::Regular),
        (&label.place, Weight::Regular),
    ] {
        if line.is_empty() {
            continue;
        }
        let text = fonts.shorten(weight, line, room / 3.8);
        page.text(fonts, Style::new(weight, 3.8).held(Hold::Start), Point::new(left, y), &text);
        y -= 5.2;
    }
}

/// The outline of an odd piece and, dashed, the largest rectangle that it holds.
fn outline(page: &mut Page, shape: &Shape, (corner, size): (Point, Vector)) {
    let bounds = shape.bounds();
    let scale = (bounds.width() / size.x).max(bounds.height() / size.y).max(1e-9);
    let drawn = Vector::new(bounds.width(), bounds.height()) / scale;
    let from = corner + (size - drawn) * 0.5;
    let place = |point: Point| from + (point - bounds.min) / scale;
    page.filled_shape(shape, &place, 0.9);
    page.shape(shape, &place, Pen::black(0.25));
    let polygon = shape.flatten(0.2 * scale, Side::Shrink);
    if let Some(rectangle) = largest_rectangle(&polygon, &[0.0]) {
        let mut ring = rectangle.corners().map(place).to_vec();
        ring.extend(ring.first().copied());
        page.line(&ring, Pen::black(0.15).dashed(&[1.2, 0.8]));
    }
}

/// A code with its white, by the lower left corner.
fn draw_code(page: &mut Page, corner: Point, code: &QrCode) {
    let side = code.size();
    let module = CODE / f64::from(side + 2 * QUIET);
    for y in 0..side {
        let mut x = 0;
        while x < side {
            let start = x;
            while x < side && code.get_module(x, y) {
                x += 1;
            }
            // Runs in one piece, so that no hair of white shows between modules.
            if x > start {
                let at = Vector::new(f64::from(start + QUIET) * module, f64::from(side - 1 - y + QUIET) * module);
                page.filled_rectangle(corner + at, Vector::new(f64::from(x - start) * module, module), 0.0);
            }
            x += 1;
        }
    }
}
