//! Running dimensions along two edges of a sheet, each figure with the keys of the parts that begin there.

use dropwise_geometry::{Bounds, Point, Vector};

use super::drawing::THIN;
use crate::details::LengthStyle;
use crate::drawing::leader::spread;
use crate::pdf::canvas::{Hold, Page, Style};
use crate::pdf::font::{Fonts, Weight};

/// Size of the type, mm: capitals and figures of DejaVu Sans take 0.73 of it, which is 2.5 mm.
pub(super) const FIGURE: f64 = 3.45;
/// Distance between dimensions side by side, mm.
const PITCH: f64 = 4.1;
/// How far from the sheet a dimension's line bends to its figure, mm.
const ELBOW: (f64, f64) = (1.5, 6.0);
/// Room for a figure and its keys, mm.
const TEXT: f64 = 27.0;

/// Where a part begins.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reading {
    /// From the datum, mm.
    pub(super) value: f64,
    /// The part's key.
    pub(super) key: String,
}

/// A figure: where, what it reads, and what begins there.
#[derive(Clone, Debug, PartialEq)]
struct Figure {
    value: f64,
    text: String,
    keys: Vec<String>,
}

/// Readings that read alike are one figure.
fn figures(readings: &[Reading], lengths: LengthStyle) -> Vec<Figure> {
    let mut sorted: Vec<&Reading> = readings.iter().filter(|reading| reading.value.is_finite()).collect();
    sorted.sort_by(|a, b| a.value.total_cmp(&b.value));
    let mut figures: Vec<Figure> = Vec::new();
    for reading in sorted {
        let text = lengths.bare(reading.value);
        match figures.last_mut() {
            Some(last) if last.text == text => last.keys.push(reading.key.clone()),
            _ => figures.push(Figure { value: reading.value, text, keys: vec![reading.key.clone()] }),
        }
    }
    figures
}

/// The keys before a figure, as many as there is room for, and how many are left.
fn keyed(fonts: &mut Fonts, figure: &Figure) -> (String, usize) {
    let room = TEXT / FIGURE - fonts.width(Weight::Regular, &figure.text) - fonts.width(Weight::Regular, "  ");
    for kept in (1..=figure.keys.len()).rev() {
        let left = figure.keys.len() - kept;
        let mut words = figure.keys[..kept].join(" ");
        if left > 0 {
            words.push_str(&format!(" +{left}"));
        }
        if fonts.width(Weight::Bold, &words) <= room {
            return (words, left);
        }
    }
    (format!("{} parts", figure.keys.len()), figure.keys.len())
}

/// Draws the figures along the lower and the left edge, and the size of the sheet in bold. Gives the keys of parts whose
/// figures, or whose keys at a figure, found no room.
///
/// # Source
/// Running dimensions from a common origin, each beside its extension line: ISO 129-1 (from memory).
pub(super) fn draw(
    page: &mut Page,
    fonts: &mut Fonts,
    readings: &[Vec<Reading>; 2],
    bounds: Bounds,
    (corner, drawn, scale): (Point, Vector, f64),
    lengths: LengthStyle,
) -> Vec<String> {
    let mut missing: Vec<String> = Vec::new();
    for (axis, readings) in readings.iter().enumerate() {
        let is_across = axis == 0;
        let of = |point: Point| if is_across { point.x } else { point.y };
        // The datum is the origin; where a piece reaches beyond it, the box starts below zero.
        let (least, extent) = (of(bounds.min), of(bounds.max));
        let length = if is_across { drawn.x } else { drawn.y };
        // A little past the ends, where the figures of a crowded edge spread to.
        let most = ((length + 11.0) / PITCH).floor().max(2.0) as usize;
        let mut shown = figures(readings, lengths);
        while shown.len() + 1 > most {
            let dropped = shown.remove(shown.len() / 2);
            missing.extend(dropped.keys);
        }
        shown.push(Figure { value: extent, text: lengths.bare(extent), keys: Vec::new() });
        let wanted: Vec<f64> = shown.iter().map(|figure| (figure.value - least) / scale).collect();
        let along = spread(&wanted, PITCH, -4.0, length + 8.0);
        for (figure, along) in shown.iter().zip(along) {
            let at = (figure.value - least) / scale;
            let point = |along: f64, away: f64| {
                if is_across { corner + Vector::new(along, -away) } else { corner + Vector::new(-away, along) }
            };
            page.line(&[point(at, 0.0), point(at, ELBOW.0), point(along, ELBOW.1), point(along, ELBOW.1 + 1.0)], THIN);
            let is_size = figure.keys.is_empty();
            let style = Style::new(if is_size { Weight::Bold } else { Weight::Regular }, FIGURE).held(Hold::End);
            let (style, base) = if is_across {
                (style.turned(90.0), point(along + FIGURE * 0.36, ELBOW.1 + 1.6))
            } else {
                (style, point(along - FIGURE * 0.36, ELBOW.1 + 1.6))
            };
            page.text(fonts, style, base, &figure.text);
            if is_size {
                continue;
            }
            let (words, left) = keyed(fonts, figure);
            missing.extend(figure.keys[figure.keys.len() - left..].iter().cloned());
            let back = fonts.width(Weight::Regular, &figure.text) * FIGURE + 1.8;
            let way = if is_across { Vector::new(0.0, -back) } else { Vector::new(-back, 0.0) };
            page.text(fonts, Style { weight: Weight::Bold, ..style }, base + way, &words);
        }
    }
    missing.sort();
    missing.dedup();
    missing
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_that_read_alike_are_one_figure_with_all_keys() {
        let reading = |value: f64, key: &str| Reading { value, key: key.to_owned() };
        let readings = [reading(10.01, "A1"), reading(99.98, "C"), reading(10.02, "B")];
        let found = figures(&readings, LengthStyle::default());
        assert_eq!(found.iter().map(|figure| figure.text.as_str()).collect::<Vec<_>>(), ["10", "100"]);
        assert_eq!(found[0].keys, ["A1", "B"]);
    }
}
