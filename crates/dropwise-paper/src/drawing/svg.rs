//! Writing SVG: numbers, paths and elements.

use std::fmt::Write as _;

use dropwise_geometry::{Outline, Point, Polygon, Segment, Shape};

use super::text::{clean, escape};

/// A number with at most three decimals and no trailing zeros: a micrometre on a sheet drawn in millimetres. Numbers
/// that are not finite, which no certified plan holds, become 0 so that the picture stays well-formed.
pub(crate) fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let mut text = format!("{value:.3}");
    let kept = text.trim_end_matches('0').trim_end_matches('.').len();
    text.truncate(kept);
    if text == "-0" { "0".to_owned() } else { text }
}

/// From the sheet's frame, y up, to the picture's, y down.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    /// Where the sheet's origin lies in the picture.
    pub(crate) origin: Point,
}

impl Frame {
    /// Where a point of the sheet lies in the picture.
    pub(crate) fn at(self, point: Point) -> Point {
        Point::new(self.origin.x + point.x, self.origin.y - point.y)
    }

    fn write_outline(self, path: &mut String, outline: &Outline) {
        let Some(first) = outline.vertices().first() else { return };
        let start = self.at(first.point);
        let _ = write!(path, "M{} {}", number(start.x), number(start.y));
        for segment in outline.segments() {
            let end = self.at(segment.end());
            match segment {
                Segment::Line { .. } => {
                    let _ = write!(path, "L{} {}", number(end.x), number(end.y));
                }
                Segment::Arc { arc, .. } => {
                    let is_large = u8::from(arc.sweep.abs() > std::f64::consts::PI);
                    // y points down in the picture, so counter-clockwise is SVG's negative direction.
                    let is_positive = u8::from(arc.sweep < 0.0);
                    let radius = number(arc.radius);
                    let (x, y) = (number(end.x), number(end.y));
                    let _ = write!(path, "A{radius} {radius} 0 {is_large} {is_positive} {x} {y}");
                }
            }
        }
        path.push('Z');
    }

    /// Path data of a ring; arcs stay arcs.
    pub(crate) fn outline(self, outline: &Outline) -> String {
        let mut path = String::new();
        self.write_outline(&mut path, outline);
        path
    }

    /// Path data of a shape, to be filled by the even-odd rule.
    pub(crate) fn shape(self, shape: &Shape) -> String {
        let mut path = String::new();
        for ring in shape.rings() {
            self.write_outline(&mut path, ring);
        }
        path
    }

    /// Path data of a polygon, to be filled by the even-odd rule.
    pub(crate) fn polygon(self, polygon: &Polygon) -> String {
        let mut path = String::new();
        for ring in polygon.rings() {
            self.write_outline(&mut path, &Outline::polygon(ring.iter().copied()));
        }
        path
    }
}

/// Where a text is fixed to its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A picture being written. One unit is a millimetre of the sheet; `paper` says how many of them make a millimetre of
/// paper, for all that should look alike whatever the size of the sheet: text, line widths, hatches.
#[derive(Debug)]
pub(crate) struct Canvas {
    body: String,
    /// Millimetres of the sheet for one millimetre of paper.
    pub(crate) paper: f64,
}

/// How thick lines are, mm of paper. ISO 128-2 steps by √2: 0.18, 0.25, 0.35, 0.5.
pub(crate) const THIN: f64 = 0.18;
/// Outlines of parts.
pub(crate) const MEDIUM: f64 = 0.3;
/// The outline of the sheet.
pub(crate) const THICK: f64 = 0.5;

impl Canvas {
    /// An empty picture.
    pub(crate) fn new(paper: f64) -> Self {
        Self { body: String::new(), paper }
    }

    /// A length of paper in units of the picture, as a number to write.
    pub(crate) fn paper_length(&self, paper_mm: f64) -> String {
        number(paper_mm * self.paper)
    }

    /// Markup as it is.
    pub(crate) fn raw(&mut self, markup: &str) {
        self.body.push_str(markup);
    }

    /// A path with a fill and a line `width` mm of paper thick.
    pub(crate) fn path(&mut self, data: &str, fill: &str, width: f64, extra: &str) {
        let width = self.paper_length(width);
        let _ = writeln!(
            self.body,
            r##"<path d="{data}" fill="{fill}" fill-rule="evenodd" stroke="#000" stroke-width="{width}"{extra}/>"##
        );
    }

    /// A path filled without a line.
    pub(crate) fn fill(&mut self, data: &str, fill: &str, extra: &str) {
        let _ = writeln!(self.body, r#"<path d="{data}" fill="{fill}" fill-rule="evenodd"{extra}/>"#);
    }

    /// A chain of straight lines, `width` mm of paper thick.
    pub(crate) fn line(&mut self, points: &[Point], width: f64, colour: &str) {
        let width = self.paper_length(width);
        let points: Vec<String> = points.iter().map(|p| format!("{},{}", number(p.x), number(p.y))).collect();
        let points = points.join(" ");
        let _ = writeln!(
            self.body,
            r#"<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="{width}"/>"#
        );
    }

    /// A filled polygon without a line.
    pub(crate) fn triangle(&mut self, points: [Point; 3]) {
        let points = points.map(|p| format!("{},{}", number(p.x), number(p.y))).join(" ");
        let _ = writeln!(self.body, r##"<polygon points="{points}" fill="#000"/>"##);
    }

    /// A disc, its radius in mm of paper.
    pub(crate) fn dot(&mut self, at: Point, radius: f64) {
        let (x, y, radius) = (number(at.x), number(at.y), self.paper_length(radius));
        let _ = writeln!(self.body, r##"<circle cx="{x}" cy="{y}" r="{radius}" fill="#000"/>"##);
    }

    /// A rectangle from its upper left corner; sides in units of the picture, its line in mm of paper.
    pub(crate) fn rectangle(&mut self, at: Point, width: f64, height: f64, fill: &str, line: f64) {
        let (x, y, width, height) = (number(at.x), number(at.y), number(width), number(height));
        let line = self.paper_length(line);
        let _ = writeln!(
            self.body,
            r##"<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}" stroke="#000" stroke-width="{line}"/>"##
        );
    }

    /// A line of text, `size` mm of paper high, on its base line at `at`, turned by `turn_deg` counter-clockwise.
    pub(crate) fn text(&mut self, at: Point, size: f64, anchor: Anchor, turn_deg: f64, extra: &str, text: &str) {
        let (x, y, size) = (number(at.x), number(at.y), self.paper_length(size));
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => r#" text-anchor="middle""#,
            Anchor::End => r#" text-anchor="end""#,
        };
        let turn = if turn_deg == 0.0 {
            String::new()
        } else {
            format!(r#" transform="rotate({} {x} {y})""#, number(-turn_deg))
        };
        let text = escape(&clean(text));
        let _ = writeln!(self.body, r#"<text x="{x}" y="{y}" font-size="{size}"{anchor}{turn}{extra}>{text}</text>"#);
    }

    /// The finished picture: `width` by `height` units, on white so that it reads in a dark viewer too.
    pub(crate) fn finish(self, width: f64, height: f64, title: &str, definitions: &str) -> String {
        let (paper_width, paper_height) = (number(width / self.paper), number(height / self.paper));
        let (width, height) = (number(width), number(height));
        let title = escape(&clean(title));
        let mut svg = String::with_capacity(self.body.len() + definitions.len() + 1024);
        let _ = writeln!(
            svg,
            r#"<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{paper_width}mm" height="{paper_height}mm" viewBox="0 0 {width} {height}" role="img" font-family="Arial, Helvetica, 'DejaVu Sans', sans-serif" fill="{INK}">"#
        );
        let _ = writeln!(svg, "<title>{title}</title>");
        let _ = writeln!(svg, "<defs>\n{definitions}</defs>");
        let _ = writeln!(svg, r##"<rect x="0" y="0" width="{width}" height="{height}" fill="#fff"/>"##);
        svg.push_str(&self.body);
        svg.push_str("</svg>\n");
        svg
    }
}

/// Colour of all text.
const INK: &str = "#000";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_break_the_markup() {
        for (value, text) in [
            (0.0, "0"),
            (-0.0001, "0"),
            (12.5, "12.5"),
            (-3.0, "-3"),
            (1e-9, "0"),
            (2.0004, "2"),
            (1234.5678, "1234.568"),
            (100.0, "100"),
            (f64::NAN, "0"),
            (f64::INFINITY, "0"),
        ] {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn arcs_stay_arcs_and_turn_the_other_way_when_y_points_down() {
        let frame = Frame { origin: Point::new(0.0, 100.0) };
        // Scalable Vector Graphics (SVG) 1.1, section 8.3.8: sweep-flag 1 draws in the positive angle direction, which
        // on a screen is clockwise.
        let circle = Outline::circle(Point::new(10.0, 10.0), 5.0);
        assert_eq!(frame.outline(&circle), "M5 90A5 5 0 0 0 15 90A5 5 0 0 0 5 90Z");
        assert_eq!(frame.outline(&circle.reversed()), "M15 90A5 5 0 0 1 5 90A5 5 0 0 1 15 90Z");
    }
}
