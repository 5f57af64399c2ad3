//! A piece of the rack, drawn as SVG.

use std::fmt::Write as _;

use dropwise_geometry::{Outline, Point, Shape, Side, Unit, format_length};

use crate::chart::{escaped, opening};

/// Width and height of the field that the piece is drawn in.
const FIELD: f64 = 640.0;
const MARGIN: f64 = 60.0;

/// A piece of stock with its outline, holes, hatched damage and overall sizes, under a title and, if it is told, the place
/// where it lies.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Outline, Point, Shape, Unit};
/// let drop = Shape::new(Outline::rectangle(Point::ORIGIN, 600.0, 200.0), vec![]);
/// assert!(dropwise_paper::draw_piece("7C2K", "rack B", &drop, &[], Unit::Millimetre).contains("600 mm"));
/// ```
#[must_use]
pub fn draw_piece(title: &str, place: &str, shape: &Shape, damage: &[Outline], unit: Unit) -> String {
    let bounds = shape.bounds();
    let (wide, high) = (bounds.width().max(1e-9), bounds.height().max(1e-9));
    let scale = (FIELD / wide).min(FIELD / high);
    let (width, height) = (wide * scale + 2.0 * MARGIN, high * scale + 2.0 * MARGIN + 24.0);
    let page_width = width.max(420.0);
    let at =
        |point: Point| (MARGIN + (point.x - bounds.min.x) * scale, MARGIN + 24.0 + (bounds.max.y - point.y) * scale);
    let path = |shape: &Shape| {
        let polygon = shape.flatten(0.1 / scale, Side::Shrink);
        let mut path = String::new();
        for ring in polygon.rings() {
            for (index, &point) in ring.iter().enumerate() {
                let (x, y) = at(point);
                let _ = write!(path, "{}{x:.2} {y:.2}", if index == 0 { 'M' } else { 'L' });
            }
            path.push('Z');
        }
        path
    };
    let mut page = opening(page_width, height, title);
    let _ =
        writeln!(page, "<text x=\"{MARGIN}\" y=\"28\" font-size=\"17\" font-weight=\"bold\">{}</text>", escaped(title));
    if !place.is_empty() {
        let _ = writeln!(page, "<text x=\"{MARGIN}\" y=\"48\">{}</text>", escaped(place));
    }
    let _ = writeln!(
        page,
        "<path d=\"{}\" fill=\"#eee\" fill-rule=\"evenodd\" stroke=\"#000\" stroke-width=\"1.5\"/>",
        path(shape)
    );
    for zone in damage {
        let zone = Shape::new(zone.clone(), Vec::new());
        let _ = writeln!(
            page,
            "<path d=\"{}\" fill=\"url(#hatch)\" stroke=\"#333\" stroke-dasharray=\"4 3\"/>",
            path(&zone)
        );
    }
    let (left, bottom) = at(bounds.min);
    let (right, top) = at(bounds.max);
    let line = |page: &mut String, (x1, y1): (f64, f64), (x2, y2): (f64, f64)| {
        let _ = writeln!(page, "<path d=\"M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}\" stroke=\"#333\" fill=\"none\"/>");
    };
    line(&mut page, (left, bottom + 16.0), (right, bottom + 16.0));
    line(&mut page, (left, bottom + 4.0), (left, bottom + 22.0));
    line(&mut page, (right, bottom + 4.0), (right, bottom + 22.0));
    line(&mut page, (left - 16.0, bottom), (left - 16.0, top));
    line(&mut page, (left - 22.0, bottom), (left - 4.0, bottom));
    line(&mut page, (left - 22.0, top), (left - 4.0, top));
    let middle = ((left + right) / 2.0, (top + bottom) / 2.0);
    let across = escaped(&format_length(bounds.width(), unit));
    let up = escaped(&format_length(bounds.height(), unit));
    let _ =
        writeln!(page, "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{across}</text>", middle.0, bottom + 36.0);
    let (x, y) = (left - 24.0, middle.1);
    let _ = writeln!(
        page,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 {x:.1} {y:.1})\">{up}</text>\n</svg>"
    );
    page
}
