//! Reading SVG, scalable vector graphics.
//!
//! # What is read
//! path with all its commands, rect (rounded corners too), circle, ellipse, line, polyline and polygon; g, a, switch,
//! nested svg, use, symbol and defs; transforms; viewBox with width and height in mm, cm, in, pt, pc, or px at 96 to the
//! inch as CSS has it. Circular arcs stay arcs wherever the transform is a similarity. The y axis is turned to point up,
//! with zero at the bottom of the picture.
//!
//! What a shape shows is told by `usvg`, a general library: style sheets, inheritance, visibility, opacity, clipping. What
//! paints nothing is not cut. Everything else is a cut, unless its layer, colour or dashes say otherwise (see
//! [`crate::drawing::LineRules`]). Layers are the labelled groups of a file that has such, else groups by name or id.
//! Geometry is read here, in double precision, because that library turns arcs into curves of single precision.
//!
//! Pixels are 96 to the inch, or 90 or 72 where the program that wrote the file is known to count so. Texts and images are
//! left out with a note. Scripts do not run, nothing outside the file is opened, and entities are read only where they
//! stand for a short plain text.
//!
//! # Limits
//! [`crate::drawing::DrawingLimits`]; elements count as often as `use` repeats them.
//!
//! # Source
//! W3C, "Scalable Vector Graphics (SVG) 1.1 (Second Edition)", 2011: chapters 7 (coordinates), 8 (paths), 9 (shapes), and
//! appendix F.6 (elliptical arcs). From memory.

mod error;
mod paint;
mod strokes;
mod text;
mod viewport;
mod walk;

pub use error::SvgError;
pub use text::decode;

use crate::drawing::{Drawing, DrawingOptions, Sketch, Spot, at_true_width};
use paint::Paints;

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
    let text = &*text::with_sound_comments(text);
    let lines = Lines::of(text);
    if let Some(at) = text::dangerous_entity(text) {
        return Err(SvgError::Entities { file: file(), spot: lines.spot(at) });
    }
    let first = parsed(text, options)?;
    let page = walk::Page::of(&first, &lines, options)?;
    let text = &*paint::with_ids(text, &first, page.view_size());
    let document = parsed(text, options)?;
    let lines = Lines::of(text);
    let draw = |true_width: Option<f64>| -> Result<Sketch, SvgError> {
        let mut sketch = Sketch::new(options);
        // First without paint, so that a file beyond the limits is refused before the library sees it.
        walk::walk(&document, &lines, &page, None, true_width, &mut Sketch::new(options), options)?;
        let paints = Paints::of(&document, page.per_inch, page.corner(), options)
            .map_err(|reason| SvgError::NotShown { file: options.file.clone(), reason })?;
        walk::walk(&document, &lines, &page, Some(&paints), true_width, &mut sketch, options)?;
        Ok(sketch)
    };
    let finish = |sketch: Sketch| finished(sketch, options);
    match options.true_width {
        None => finish(draw(None)?),
        Some(width) => at_true_width(
            width,
            options,
            |factor, _| {
                let sketch = draw(Some(factor))?;
                Ok((sketch.cut_bounds(), sketch))
            },
            finish,
        ),
    }
}

fn finished(sketch: Sketch, options: &DrawingOptions) -> Result<Drawing, SvgError> {
    let file = options.file.clone();
    let drawing = sketch.finish(options).map_err(|refusal| SvgError::Faulty {
        file: file.clone(),
        notes: refusal.notes,
        understood: Box::new(refusal.understood),
    })?;
    if drawing.shapes.is_empty() {
        let notes = drawing.notes.clone();
        return Err(SvgError::NothingToCut { file, notes, understood: Box::new(drawing) });
    }
    Ok(drawing)
}

fn parsed<'t>(text: &'t str, options: &DrawingOptions) -> Result<roxmltree::Document<'t>, SvgError> {
    // A document type without entities, as older programs write it, is harmless.
    let parsing =
        roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..roxmltree::ParsingOptions::default() };
    roxmltree::Document::parse_with_options(text, parsing).map_err(|error| SvgError::Xml {
        file: options.file.clone(),
        spot: Spot::Line(error.pos().row as usize),
        column: error.pos().col,
        reason: error.to_string(),
    })
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
