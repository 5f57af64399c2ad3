//! Reading SVG, scalable vector graphics.
//!
//! # What is read
//! path with all its commands, rect (rounded corners too), circle, ellipse, line, polyline and polygon; g, a, switch,
//! nested svg, use, symbol and defs; transforms; viewBox with width and height in mm, cm, in, pt, pc, or px at 96 to the
//! inch as CSS has it. Circular arcs stay arcs wherever the transform is a similarity. The y axis is turned to point up,
//! with zero at the bottom of the picture. Fill and stroke do not matter: every line is a cut, unless its group or id is
//! named for something else (see [`crate::drawing::LayerTable`]).
//!
//! Texts and images are left out with a note, and so is what `display` or `visibility` hides in attributes; style sheets
//! are not read. Scripts do not run, nothing outside the file is opened, and a file that defines entities is refused.
//!
//! # Limits
//! [`crate::drawing::DrawingLimits`]; elements count as often as `use` repeats them.
//!
//! # Source
//! W3C, "Scalable Vector Graphics (SVG) 1.1 (Second Edition)", 2011: chapters 7 (coordinates), 8 (paths), 9 (shapes), and
//! appendix F.6 (elliptical arcs). From memory.

mod error;
mod strokes;
mod viewport;
mod walk;

pub use error::SvgError;

use crate::drawing::{Drawing, DrawingOptions, Sketch, Spot};

/// Most XML nodes in a file; about 100 MB once parsed.
const MOST_NODES: u32 = 1_000_000;

/// Reads the parts of an SVG file.
///
/// # Errors
/// What is wrong with the file, with the line and what would be right. Faults of the drawn loops come all at once, in
/// [`SvgError::Faulty`].
///
/// # Examples
/// ```
/// use dropwise_formats::{drawing::DrawingOptions, svg::read_svg};
/// let file = r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">
///     <rect x="10" y="10" width="40" height="20"/></svg>"#;
/// let drawing = read_svg(file, &DrawingOptions::for_file("plate.svg"))?;
/// assert!((drawing.shapes[0].shape.area() - 800.0).abs() < 1e-9);
/// assert_eq!(drawing.shapes[0].shape.bounds().min.y, 20.0); // the picture's y runs down from 50
/// # Ok::<(), dropwise_formats::svg::SvgError>(())
/// ```
pub fn read_svg(text: &str, options: &DrawingOptions) -> Result<Drawing, SvgError> {
    options.check()?;
    let file = || options.file.clone();
    if text.len() > options.limits.file_bytes {
        return Err(SvgError::TooLarge { file: file(), bytes: text.len(), limit: options.limits.file_bytes });
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let lines = Lines::of(text);
    if let Some(at) = text.find("<!ENTITY") {
        return Err(SvgError::Entities { file: file(), spot: lines.spot(at) });
    }
    // A document type without entities, as older programs write it, is harmless.
    let parsing =
        roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..roxmltree::ParsingOptions::default() };
    let document = roxmltree::Document::parse_with_options(text, parsing).map_err(|error| SvgError::Xml {
        file: file(),
        spot: Spot::Line(error.pos().row as usize),
        column: error.pos().col,
        reason: error.to_string(),
    })?;
    let mut sketch = Sketch::new(options);
    walk::walk(&document, &lines, &mut sketch, options)?;
    let drawing = sketch.finish(options).map_err(|notes| SvgError::Faulty { file: file(), notes })?;
    if drawing.shapes.is_empty() {
        return Err(SvgError::NothingToCut { file: file(), notes: drawing.notes });
    }
    Ok(drawing)
}

/// Where lines begin, so that finding an element's line does not cost the whole text before it.
struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    fn of(text: &str) -> Self {
        let starts = text.bytes().enumerate().filter(|&(_, byte)| byte == b'\n').map(|(at, _)| at + 1);
        Self { starts: std::iter::once(0).chain(starts).collect() }
    }

    fn spot(&self, byte: usize) -> Spot {
        Spot::Line(self.starts.partition_point(|&start| start <= byte))
    }
}

#[cfg(test)]
mod tests;
