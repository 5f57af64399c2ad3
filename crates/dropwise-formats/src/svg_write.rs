//! Writing SVG at true size, for machines and programs that take it.
//!
//! Width and height are in millimetres and one user unit is one millimetre, so that the picture prints and imports at
//! 1:1. Arcs are arcs (`A`), full circles `circle`. Layers and order are those of [`crate::cut_drawing`]: each layer is a
//! group with the layer's name for an id; parts that lie in holes of others have groups of their own before them, numbered
//! from the outside in. Outlines are the true edges of the parts: kerf is left to the machine, and the file says so in its
//! description.
//!
//! The picture's lower left corner is [`CutDrawing::bounds`]' own, so what stood at that corner reads back at (0, 0).
//!
//! # Source
//! W3C, "Scalable Vector Graphics (SVG) 1.1 (Second Edition)", 2011: chapters 7, 8 and 9. From memory.

use std::collections::BTreeSet;
use std::fmt::Write;

use dropwise_geometry::{Outline, Point, Segment};
use dropwise_shop::markout::full_circle;

use crate::cut_drawing::{CutDrawing, CutFigure, CutItem, CutLayer};

/// Rings whose arcs agree on a circle to within this, mm, are written as `circle`.
const SAME_CIRCLE: f64 = 1e-8;

/// Arcs beyond a quarter turn are written in pieces. A path gives the ends and the radius of an arc, not its centre, and
/// near half a turn the last digit of the radius would move the arc by the root of that digit.
const WIDEST_PIECE: f64 = std::f64::consts::FRAC_PI_2 * (1.0 + 1e-9);

/// A drawing as the text of an SVG file. The same drawing gives the same text, byte for byte.
///
/// # Examples
/// ```
/// use dropwise_formats::cut_drawing::CutDrawing;
/// use dropwise_formats::{drawing::DrawingOptions, svg::read_svg, svg_write::write_svg};
/// use dropwise_geometry::{Outline, Point, Shape};
/// use dropwise_model::{Need, Part, StockClass, Turns};
/// let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 40.0, 20.0), vec![Outline::circle(Point::new(9.0, 9.0), 4.0)]);
/// let (class, turns) = (StockClass::new("steel"), Turns::Any);
/// let part = Part { name: "<strap>".into(), shape, quantity: 1, class, turns, may_flip: false, need: Need::Required };
/// let file = write_svg(&CutDrawing::of_part(&part, &Default::default())?);
/// assert!(file.contains("width=\"40mm\" height=\"20mm\""));
/// let back = read_svg(&file, &DrawingOptions::for_file("strap.svg"))?;
/// assert!((back.shapes[0].shape.area() - part.shape.area()).abs() < 1e-6);
/// assert_eq!(back.shapes[0].labels.last().map(String::as_str), Some("<strap>"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn write_svg(drawing: &CutDrawing) -> String {
    let bounds = drawing.bounds();
    let (width, height) = (number(bounds.width()), number(bounds.height()));
    let (left, top) = if bounds.is_empty() { (0.0, 0.0) } else { (bounds.min.x, bounds.max.y) };
    let frame = Frame { left, top };
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(
        text,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" fill=\"none\" stroke-width=\"0.2\">"
    );
    let _ = writeln!(text, "<title>{}</title>", escaped(&drawing.title));
    text.push_str(
        "<desc>Flat patterns at true size in millimetres. Paths are the true edges of the parts: kerf compensation is left \
         to the machine. Order: marks, bend lines, then holes before outlines. SHEET_BORDER and PART_TEXT are for reference \
         and not to be cut.</desc>\n",
    );
    // Deepest first: what lies in a hole is cut before the hole falls out.
    let depths: BTreeSet<usize> = drawing.items.iter().map(|item| item.depth).collect();
    let groups = |layer: CutLayer| depths.iter().rev().map(move |&depth| (layer, depth));
    let before_cuts = [CutLayer::SheetBorder, CutLayer::Mark, CutLayer::BendUp, CutLayer::BendDown];
    let cuts = depths.iter().rev().flat_map(|&depth| [(CutLayer::CutInner, depth), (CutLayer::Cut, depth)]);
    let order: Vec<(CutLayer, usize)> =
        before_cuts.into_iter().flat_map(groups).chain(cuts).chain(groups(CutLayer::PartText)).collect();
    for (layer, depth) in order {
        let items: Vec<&CutItem> =
            drawing.items.iter().filter(|item| item.layer == layer && item.depth == depth).collect();
        if items.is_empty() {
            continue;
        }
        let number = if depth == 0 { String::new() } else { format!("_{depth}") };
        let _ = writeln!(text, "<g id=\"{}{number}\" {}>", layer.name(), style(layer));
        for item in items {
            frame.item(&mut text, item, drawing);
        }
        text.push_str("</g>\n");
    }
    text.push_str("</svg>\n");
    text
}

/// Strokes that tell the layers apart in black and white too.
const fn style(layer: CutLayer) -> &'static str {
    match layer {
        CutLayer::SheetBorder => "stroke=\"#808080\" stroke-dasharray=\"6 3\"",
        CutLayer::Mark => "stroke=\"#b35900\" stroke-dasharray=\"1 1\"",
        CutLayer::BendUp => "stroke=\"#007a33\" stroke-dasharray=\"4 2\"",
        CutLayer::BendDown => "stroke=\"#a0008c\" stroke-dasharray=\"4 2 1 2\"",
        CutLayer::CutInner => "stroke=\"#0033cc\"",
        CutLayer::Cut => "stroke=\"#000000\"",
        CutLayer::PartText => "fill=\"#808080\" font-family=\"sans-serif\" text-anchor=\"middle\"",
    }
}

/// From millimetres with y up to the picture's, y down from its top left corner.
struct Frame {
    left: f64,
    top: f64,
}

impl Frame {
    fn at(&self, point: Point) -> String {
        format!("{} {}", number(point.x - self.left), number(self.top - point.y))
    }

    fn item(&self, text: &mut String, item: &CutItem, drawing: &CutDrawing) {
        let name =
            item.part.map(|part| format!("<title>{}</title>", escaped(&drawing.names[part]))).unwrap_or_default();
        let _ = match &item.figure {
            CutFigure::Ring(ring) => match full_circle(ring, SAME_CIRCLE) {
                Some(circle) => {
                    let (x, y) = (number(circle.center.x - self.left), number(self.top - circle.center.y));
                    let radius = number(circle.radius);
                    writeln!(text, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\">{name}</circle>")
                }
                None => writeln!(text, "<path d=\"{}\">{name}</path>", self.ring(ring)),
            },
            CutFigure::Line(line) => {
                let path = format!("M {}{}", self.at(line.start()), self.side(line));
                writeln!(text, "<path d=\"{path}\">{name}</path>")
            }
            CutFigure::Text { at, height, text: words } => {
                // The baseline stands below the middle by half the height of a capital.
                let (x, y) = (number(at.x - self.left), number(self.top - at.y + 0.35 * height));
                let (size, words) = (number(*height), escaped(words));
                writeln!(text, "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\">{words}</text>")
            }
        };
    }

    fn ring(&self, ring: &Outline) -> String {
        let mut path = String::new();
        for (index, side) in ring.segments().enumerate() {
            if index == 0 {
                let _ = write!(path, "M {}", self.at(side.start()));
            }
            path.push_str(&self.side(&side));
        }
        path.push_str(" Z");
        path
    }

    fn side(&self, side: &Segment) -> String {
        match side {
            Segment::Line { end, .. } => format!(" L {}", self.at(*end)),
            Segment::Arc { arc, end, .. } => {
                let pieces = (arc.sweep.abs() / WIDEST_PIECE).ceil().max(1.0);
                // With y down, what runs counter-clockwise here runs against the picture's positive angle.
                let sweep_flag = u8::from(arc.sweep < 0.0);
                let radius = number(arc.radius);
                let mut path = String::new();
                for piece in 1..=pieces as usize {
                    let is_last = piece == pieces as usize;
                    let to = if is_last { *end } else { side.at(piece as f64 / pieces) };
                    let _ = write!(path, " A {radius} {radius} 0 0 {sweep_flag} {}", self.at(to));
                }
                path
            }
        }
    }
}

/// Nine decimals, a millionth of a micrometre, without exponent.
fn number(value: f64) -> String {
    let mut text = format!("{value:.9}");
    let kept = text.trim_end_matches('0').trim_end_matches('.').len();
    text.truncate(kept);
    if text == "-0" { "0".to_owned() } else { text }
}

/// Text as XML holds it. Characters that XML forbids altogether become a replacement character.
///
/// # Source
/// W3C, "Extensible Markup Language (XML) 1.0", section 2.2, Characters.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\n' | '\r' | '\t' => safe.push(' '),
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => safe.push('\u{fffd}'),
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_name_is_text_and_nothing_else() {
        assert_eq!(escaped("a<b>&\"c'\u{1}\n"), "a&lt;b&gt;&amp;&quot;c'\u{fffd} ");
        assert_eq!([-0.0, 1e-10, 2.50, 1e7].map(number), ["0", "0", "2.5", "10000000"]);
    }
}
