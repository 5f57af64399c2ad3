//! Dimensions, scale bar, datum and grain: what stands around a sheet.

use dropwise_geometry::{Point, Unit, Vector, format_length, sin_cos_deg};

use super::label::{BASE, LINE};
use super::svg::{Anchor, Canvas, THIN};
use super::text::width;

/// Size of dimensions and notes, mm of paper.
pub(crate) const NOTE: f64 = 3.0;

/// Distance of a dimension line from the sheet, mm of paper.
const DIMENSION_GAP: f64 = 8.5;

/// Where extension lines start, from the sheet, mm of paper: clear of the datum mark.
const EXTENSION_START: f64 = 4.5;

/// Length of an arrowhead, mm of paper. Three times as long as wide (ISO 129-1, from memory).
const ARROW: f64 = 3.0;

/// A dimension along one side of the sheet's box: `from` and `to` are corners, `outward` a unit vector away from it.
///
/// The text stands on the line, read level or from the right. On a side too short for arrowheads within, they point at
/// the extension lines from outside.
pub(crate) fn dimension(canvas: &mut Canvas, from: Point, to: Point, outward: Vector, text: &str) {
    let paper = canvas.paper;
    let Some(along) = (to - from).unit() else { return };
    let out = |distance: f64| outward * (distance * paper);
    for corner in [from, to] {
        canvas.line(&[corner + out(EXTENSION_START), corner + out(DIMENSION_GAP + 1.5)], THIN, "#000");
    }
    let (start, end) = (from + out(DIMENSION_GAP), to + out(DIMENSION_GAP));
    let head = ARROW * paper;
    if start.distance(end) > 3.5 * head {
        canvas.line(&[start, end], THIN, "#000");
        arrowhead(canvas, start, -along);
        arrowhead(canvas, end, along);
    } else {
        canvas.line(&[start - along * (2.0 * head), end + along * (2.0 * head)], THIN, "#000");
        arrowhead(canvas, start, along);
        arrowhead(canvas, end, -along);
    }
    // Upright dimensions are read from the right: the text then stands to the left of its line.
    let is_upright = along.y.abs() > along.x.abs();
    let (turn_deg, up) = if is_upright { (90.0, Vector::new(-1.0, 0.0)) } else { (0.0, Vector::new(0.0, -1.0)) };
    let middle = start.lerp(end, 0.5) + up * ((LINE / 2.0 * NOTE + 0.4) * paper);
    plated_text(canvas, middle, NOTE, turn_deg, &[text.to_owned()]);
}

/// How far a dimension with this text reaches beyond each end of a side, mm of paper; below zero when it does not.
pub(crate) fn overhang(side: f64, text: &str) -> f64 {
    let arrows = if side > 3.5 * ARROW { 0.0 } else { 2.0 * ARROW };
    arrows.max((width(text) * NOTE - side) / 2.0)
}

/// A filled arrowhead with its tip at `tip`, pointing along a unit vector.
fn arrowhead(canvas: &mut Canvas, tip: Point, along: Vector) {
    let paper = canvas.paper;
    let back = tip - along * (ARROW * paper);
    let side = along.left() * (ARROW / 6.0 * paper);
    canvas.triangle([tip, back + side, back - side]);
}

/// Lines of text about a middle, on a plate of white that keeps lines and hatches from running through them.
pub(crate) fn plated_text(canvas: &mut Canvas, middle: Point, size: f64, turn_deg: f64, lines: &[String]) {
    let paper = canvas.paper;
    let widest = lines.iter().map(|line| width(line)).fold(0.0, f64::max);
    let (half_width, half_height) =
        ((widest * size / 2.0 + 0.3) * paper, (lines.len() as f64 * LINE * size / 2.0 + 0.1) * paper);
    let (sin, cos) = sin_cos_deg(turn_deg);
    // Along the line of writing, and down across it; y points down in the picture.
    let (right, down) = (Vector::new(cos, -sin), Vector::new(sin, cos));
    let corner = |u: f64, v: f64| middle + right * (u * half_width) + down * (v * half_height);
    let points = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
    let data: String = points
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let letter = if i == 0 { 'M' } else { 'L' };
            format!("{letter}{} {}", super::svg::number(p.x), super::svg::number(p.y))
        })
        .collect();
    canvas.fill(&format!("{data}Z"), "#fff", r#" fill-opacity=".88""#);
    for (i, line) in lines.iter().enumerate() {
        let below = (i as f64 - (lines.len() as f64 - 1.0) / 2.0) * LINE + BASE;
        canvas.text(middle + down * (below * size * paper), size, Anchor::Middle, turn_deg, "", line);
    }
}

/// The mark of the datum at the lower left corner of what stands square.
pub(crate) fn datum(canvas: &mut Canvas, corner: Point) {
    datum_along(canvas, corner, Vector::new(1.0, 0.0));
}

/// The mark of the datum: a black triangle whose tip is its corner, from outside. `along` is the direction of the datum
/// edge in the picture, where y points down.
pub(super) fn datum_along(canvas: &mut Canvas, corner: Point, along: Vector) {
    let paper = canvas.paper;
    let down = Vector::new(-along.y, along.x);
    let from = |back: f64, out: f64| corner - along * (back * paper) + down * (out * paper);
    canvas.triangle([corner, from(3.2, 1.4), from(1.4, 3.2)]);
}

/// A round length for a scale bar: at most `longest` mm, as long as may be.
///
/// Metric lengths and feet are 1, 2 or 5 times a power of ten; inches double up to a foot and go on in feet.
pub(crate) fn round_length(longest: f64, unit: Unit) -> f64 {
    let one = unit.millimetres();
    let in_units = longest / one;
    if unit == Unit::Inch && in_units >= 1.0 {
        let inches = [1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0, 96.0, 240.0, 480.0, 1200.0];
        return inches.into_iter().rfind(|&length| length <= in_units).unwrap_or(1.0) * one;
    }
    let power = 10f64.powf(in_units.max(1e-6).log10().floor());
    let steps = in_units / power;
    // A hair below a step is the step: 10^x and its logarithm round.
    let step = [5.0, 2.0, 1.0].into_iter().find(|&step| steps >= step - 1e-9).unwrap_or(1.0);
    step * power * one
}

/// Length that a scale bar may take, mm of paper.
pub(crate) const SCALE_BAR: f64 = 62.0;

/// A scale bar whose upper left corner is `at`: four fields, black and white by turns, with its length.
pub(crate) fn scale_bar(canvas: &mut Canvas, at: Point, unit: Unit) {
    let paper = canvas.paper;
    let length = round_length(SCALE_BAR * paper, unit);
    let (field, height) = (length / 4.0, 1.8 * paper);
    for i in 0..4 {
        let fill = if i % 2 == 0 { "#000" } else { "#fff" };
        canvas.rectangle(at + Vector::new(field * f64::from(i), 0.0), field, height, fill, THIN);
    }
    let below = Vector::new(0.0, height + 3.2 * paper);
    canvas.text(at + below, NOTE - 0.2, Anchor::Middle, 0.0, "", "0");
    let half = format_length(length / 2.0, unit);
    // The unit once is enough.
    let half = half.split(' ').next().unwrap_or_default();
    canvas.text(at + below + Vector::new(length / 2.0, 0.0), NOTE - 0.2, Anchor::Middle, 0.0, "", half);
    canvas.text(
        at + below + Vector::new(length, 0.0),
        NOTE - 0.2,
        Anchor::Middle,
        0.0,
        "",
        &format_length(length, unit),
    );
}

/// An arrow with two heads along the grain about `middle`, and the word for it to the right.
pub(crate) fn grain(canvas: &mut Canvas, middle: Point, grain_deg: f64) {
    let paper = canvas.paper;
    let (sin, cos) = sin_cos_deg(grain_deg);
    let along = Vector::new(cos, -sin);
    let half = along * (6.0 * paper);
    canvas.line(&[middle - half, middle + half], THIN * 2.0, "#000");
    arrowhead(canvas, middle + half, along);
    arrowhead(canvas, middle - half, -along);
    let text = Point::new(middle.x + 8.0 * paper, middle.y + BASE * NOTE * paper);
    canvas.text(text, NOTE, Anchor::Start, 0.0, "", "grain");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scale_bars_have_round_lengths() {
        for (longest, unit, wanted) in [
            (620.0, Unit::Millimetre, 500.0),
            (499.9, Unit::Millimetre, 200.0),
            (500.0, Unit::Millimetre, 500.0),
            (0.7, Unit::Millimetre, 0.5),
            (199.0, Unit::Centimetre, 100.0),
            (620.0, Unit::Inch, 24.0 * 25.4),
            (30.0, Unit::Inch, 25.4),
            (20.0, Unit::Inch, 0.5 * 25.4),
            (3100.0, Unit::Foot, 10.0 * 304.8),
        ] {
            let found = round_length(longest, unit);
            assert!((found - wanted).abs() < 1e-6, "{longest} {unit}: {found}");
        }
    }
}
