//! Pages of squares, codes and a ruled square, to lie beside what is photographed.

use dropwise_geometry::{Point, Vector};
use qrcodegen::{QrCode, QrCodeEcc};
use thiserror::Error;

use super::canvas::{Hold, Page, Pen, Style};
use super::document::Document;
use super::font::{Fonts, Weight};

/// A page, mm from its lower left corner. What the squares and codes mean is the caller's business.
#[derive(Clone, Debug, PartialEq)]
pub struct ScalePage {
    /// Width and height of the paper.
    pub size: Vector,
    /// Lower left corners of the black squares.
    pub squares: Vec<Point>,
    /// Side of a square.
    pub pitch: f64,
    /// Codes: what each says, and its lower left corner without the white around it.
    pub codes: Vec<(String, Point)>,
    /// Side of a module of the codes.
    pub module: f64,
    /// Lower left corner of the ruled square, by the middle of its lines.
    pub ruled_square: Point,
    /// Its side.
    pub ruled_side: f64,
    /// What stands in its free quarters: a title, and lines of instructions.
    pub title: String,
    /// One line each; long ones are broken.
    pub instructions: Vec<String>,
}

/// Why a page was refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ScalePageError {
    /// A text that no QR code holds.
    #[error("the text \"{0}\" is too long for a QR code")]
    Code(String),
}

/// Pages as PDF, to be printed at 100 %.
///
/// # Errors
/// [`ScalePageError`].
pub fn write_scale_pages(pages: &[ScalePage]) -> Result<Vec<u8>, ScalePageError> {
    let mut document = Document::new("", "");
    for page in pages {
        let codes = page.codes.iter().map(|(text, at)| {
            let code = QrCode::encode_text(text, QrCodeEcc::Medium).map_err(|_| ScalePageError::Code(text.clone()))?;
            Ok((code, *at))
        });
        let codes = codes.collect::<Result<Vec<_>, _>>()?;
        document.page(page.size);
        let Document { fonts, pages, .. } = &mut document;
        let Some(paper) = pages.last_mut() else { continue };
        for &corner in &page.squares {
            paper.filled_rectangle(corner, Vector::new(page.pitch, page.pitch), 0.0);
        }
        for (code, at) in &codes {
            draw_code(paper, *at, code, page.module);
        }
        draw_ruled_square(paper, page);
        draw_words(paper, fonts, page);
    }
    Ok(document.finish("Scale sheet"))
}

fn draw_code(paper: &mut Page, corner: Point, code: &QrCode, module: f64) {
    let side = code.size();
    for y in 0..side {
        let mut x = 0;
        while x < side {
            let start = x;
            while x < side && code.get_module(x, y) {
                x += 1;
            }
            // Runs in one piece, so that no hair of white shows between modules.
            if x > start {
                let at = Vector::new(f64::from(start) * module, f64::from(side - 1 - y) * module);
                paper.filled_rectangle(corner + at, Vector::new(f64::from(x - start) * module, module), 0.0);
            }
            x += 1;
        }
    }
}

/// Thin lines with a tick every ten millimetres inside.
fn draw_ruled_square(paper: &mut Page, page: &ScalePage) {
    let (corner, side) = (page.ruled_square, page.ruled_side);
    paper.rectangle(corner, Vector::new(side, side), Pen::black(0.25));
    let ticks = (side / 10.0).round() as usize;
    for k in 1..ticks {
        let at = 10.0 * k as f64;
        let length = if k % 5 == 0 { 3.0 } else { 1.8 };
        let point = |x: f64, y: f64| corner + Vector::new(x, y);
        for ends in [
            [point(at, 0.0), point(at, length)],
            [point(at, side), point(at, side - length)],
            [point(0.0, at), point(length, at)],
            [point(side, at), point(side - length, at)],
        ] {
            paper.line(&ends, Pen::black(0.15));
        }
    }
}

fn draw_words(paper: &mut Page, fonts: &mut Fonts, page: &ScalePage) {
    let half = page.ruled_side / 2.0;
    let (left, width) = (page.ruled_square.x + 6.0, half - 10.0);
    let mut y = page.ruled_square.y + half - 8.0;
    for line in &page.instructions {
        for part in fonts.broken(Weight::Regular, line, width / 3.1) {
            paper.text(fonts, Style::new(Weight::Regular, 3.1), Point::new(left, y), &part);
            y -= 4.3;
        }
        y -= 2.0;
    }
    let middle = Point::new(page.ruled_square.x + 1.5 * half, page.ruled_square.y + 1.5 * half);
    let style = |weight, size| Style::new(weight, size).held(Hold::Middle);
    paper.text(fonts, style(Weight::Bold, 5.0), middle, &page.title);
    let side = format!("side of the ruled square: {:.0} mm", page.ruled_side);
    let parts = fonts.broken(Weight::Regular, &side, (half - 10.0) / 3.1);
    for (k, part) in parts.iter().enumerate() {
        paper.text(fonts, style(Weight::Regular, 3.1), middle + Vector::new(0.0, -7.0 - 4.3 * k as f64), part);
    }
}
