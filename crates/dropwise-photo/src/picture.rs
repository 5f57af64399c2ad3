//! The photograph laid flat, with what was read from it drawn on top.

use std::fmt::Write as _;
use std::io::Cursor;

use dropwise_geometry::{Bounds, Outline, Point, Segment};
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};

use crate::decode::Photograph;
use crate::raster::sample_colour;
use crate::reading::{HoleForm, Reading};

/// Ground shown around the thing, mm.
const RIM: f64 = 25.0;
/// Most pixels along a side of the flat photograph.
const MOST_PIXELS: f64 = 1600.0;
/// Colours of the strip along the outline, from sure to unsure: blue, yellow, red, which all eyes tell apart by
/// brightness too.
const STRIP: [[f64; 3]; 3] = [[0.0, 90.0, 200.0], [250.0, 210.0, 60.0], [215.0, 25.0, 30.0]];

impl Reading {
    /// The part of the photograph around the thing as seen from straight above, and pixels in a millimetre. Rows run from
    /// the top down.
    #[must_use]
    pub fn flat_photograph(&self, photograph: &Photograph) -> (RgbImage, f64, Bounds) {
        let shown = self.outline.bounds().expanded(RIM);
        let scale = (MOST_PIXELS / shown.width().max(shown.height())).min(1.2 / self.millimetres_per_pixel);
        let (width, height) =
            ((shown.width() * scale).ceil().max(1.0) as u32, (shown.height() * scale).ceil().max(1.0) as u32);
        let flat = RgbImage::from_fn(width, height, |x, y| {
            let at = Point::new(shown.min.x + (f64::from(x) + 0.5) / scale, shown.max.y - (f64::from(y) + 0.5) / scale);
            let ground = self.placement.to_ground(at);
            let [u, v] = self.view.project(ground.x, ground.y, self.thickness);
            Rgb(sample_colour(&photograph.pixels, u, v).map_or([0, 0, 0], |c| c.map(|v| v.round() as u8)))
        });
        (flat, scale, shown)
    }

    /// The flat photograph with outline, holes, sizes and a strip of colours that tells where it is unsure, as SVG at true
    /// size.
    #[must_use]
    pub fn picture(&self, photograph: &Photograph) -> String {
        let (flat, _, shown) = self.flat_photograph(photograph);
        let (width, height) = (shown.width(), shown.height());
        let foot = 16.0;
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.2}mm\" height=\"{:.2}mm\" viewBox=\"0 0 {width:.2} {:.2}\" \
             font-family=\"sans-serif\" role=\"img\">\n<title>Outline read from a photograph</title>\n",
            height + foot,
            height + foot
        );
        let mut jpeg = Cursor::new(Vec::new());
        if JpegEncoder::new_with_quality(&mut jpeg, 82).encode_image(&flat).is_ok() {
            let _ = writeln!(
                svg,
                "<image width=\"{width:.2}\" height=\"{height:.2}\" preserveAspectRatio=\"none\" href=\"data:image/jpeg;base64,{}\"/>",
                base64(jpeg.get_ref())
            );
        }
        let size = (width.max(height) / 75.0).clamp(2.4, 9.0);
        let place = |at: Point| (at.x - shown.min.x, shown.max.y - at.y);
        self.draw_strip(&mut svg, &place, size);
        for (ring, colour) in std::iter::once((&self.outline, "#ffffff"))
            .chain(self.holes.iter().map(|hole| (&hole.outline, "#ffffff")))
            .chain(self.damage.iter().map(|zone| (zone, "#ff5fd2")))
        {
            let path = path(ring, &place);
            let _ = writeln!(
                svg,
                "<path d=\"{path}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"{:.2}\"/>",
                size * 0.16
            );
            let _ = writeln!(
                svg,
                "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{:.2}\"/>",
                size * 0.08
            );
        }
        self.write_sizes(&mut svg, &place, size);
        self.write_legend(&mut svg, width, height, foot);
        svg.push_str("</svg>\n");
        svg
    }

    fn draw_strip(&self, svg: &mut String, place: &dyn Fn(Point) -> (f64, f64), size: f64) {
        let n = self.strip.len();
        for k in 0..n {
            let (a, sigma) = self.strip[k];
            let (b, _) = self.strip[(k + 1) % n];
            if a.distance(b) > 40.0 {
                continue;
            }
            let ((x1, y1), (x2, y2)) = (place(a), place(b));
            let _ = writeln!(
                svg,
                "<line x1=\"{x1:.2}\" y1=\"{y1:.2}\" x2=\"{x2:.2}\" y2=\"{y2:.2}\" stroke=\"{}\" stroke-width=\"{:.2}\" stroke-opacity=\"0.85\"/>",
                strip_colour(2.0 * sigma),
                size * 0.7
            );
        }
    }

    fn write_sizes(&self, svg: &mut String, place: &dyn Fn(Point) -> (f64, f64), size: f64) {
        let mut label = |at: Point, text: &str, size: f64| {
            let (x, y) = place(at);
            let _ = writeln!(
                svg,
                "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size:.2}\" text-anchor=\"middle\" dominant-baseline=\"middle\" \
                 fill=\"#ffffff\" stroke=\"#000000\" stroke-width=\"{:.2}\" paint-order=\"stroke\">{text}</text>",
                size * 0.25
            );
        };
        let is_long = self.outline.vertices().len() <= 60;
        for (index, segment) in self.outline.segments().enumerate() {
            if !is_long || segment.length() < 3.0 * size {
                continue;
            }
            let (middle, ahead) = (segment.at(0.5), segment.at(0.501));
            let inward = (ahead - middle).unit().map_or(middle, |along| middle + along.left() * (1.4 * size));
            let text = match segment {
                Segment::Line { start, end } => format!("{}: {:.1}", index + 1, start.distance(end)),
                Segment::Arc { arc, .. } => format!("{}: R {:.1}", index + 1, arc.radius),
            };
            label(inward, &text, size);
        }
        for hole in &self.holes {
            let bounds = hole.outline.bounds();
            let text = match hole.form {
                HoleForm::Round { diameter, .. } => format!("hole {}: \u{2300} {diameter:.1}", hole.number),
                HoleForm::Slot { from, to, width } => {
                    format!("hole {}: {width:.1} x {:.1}", hole.number, from.distance(to) + width)
                }
                HoleForm::Other => format!("hole {}", hole.number),
            };
            label(Point::new(bounds.center().x, bounds.max.y + 0.9 * size), &text, 0.85 * size);
        }
    }

    fn write_legend(&self, svg: &mut String, width: f64, height: f64, foot: f64) {
        let size = (width / 55.0).clamp(2.0, 4.0);
        let _ = writeln!(svg, "<rect y=\"{height:.2}\" width=\"{width:.2}\" height=\"{foot:.2}\" fill=\"#ffffff\"/>");
        let bounds = self.outline.bounds();
        let lines = [
            format!(
                "{:.1} x {:.1} mm over all; outline within {:.2} mm (two standard deviations where it is worst)",
                bounds.width(),
                bounds.height(),
                self.accuracy.outline_worst
            ),
            "strip: blue within 0.2 mm, yellow 0.6 mm, red 1 mm and more. Check the template with a rule before cutting.".to_owned(),
        ];
        for (k, line) in lines.iter().enumerate() {
            let y = height + size * (1.5 + 1.5 * k as f64);
            let _ = writeln!(
                svg,
                "<text x=\"{size:.2}\" y=\"{y:.2}\" font-size=\"{size:.2}\" fill=\"#000000\">{line}</text>"
            );
        }
    }
}

/// From sure, 0.2 mm and less, to unsure, 1 mm and more.
fn strip_colour(doubt: f64) -> String {
    let at = ((doubt - 0.2) / 0.4).clamp(0.0, 2.0);
    let (k, share) = if at < 1.0 { (0, at) } else { (1, at - 1.0) };
    let [r, g, b]: [f64; 3] = std::array::from_fn(|c| (STRIP[k][c] + share * (STRIP[k + 1][c] - STRIP[k][c])).round());
    format!("#{:02x}{:02x}{:02x}", r as u8, g as u8, b as u8)
}

fn path(ring: &Outline, place: &dyn Fn(Point) -> (f64, f64)) -> String {
    let mut path = String::new();
    for (index, segment) in ring.segments().enumerate() {
        if index == 0 {
            let (x, y) = place(segment.start());
            let _ = write!(path, "M{x:.3} {y:.3}");
        }
        let (x, y) = place(segment.end());
        match segment {
            Segment::Line { .. } => {
                let _ = write!(path, "L{x:.3} {y:.3}");
            }
            Segment::Arc { arc, .. } => {
                let is_large = u8::from(arc.sweep.abs() > std::f64::consts::PI);
                // The y axis of a picture points down, so the way round is the other one.
                let is_clockwise = u8::from(arc.sweep < 0.0);
                let _ = write!(path, "A{:.3} {:.3} 0 {is_large} {is_clockwise} {x:.3} {y:.3}", arc.radius, arc.radius);
            }
        }
    }
    path.push('Z');
    path
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let word = chunk.iter().fold(0_u32, |word, &b| word << 8 | u32::from(b)) << (8 * (3 - chunk.len()));
        for k in 0..4 {
            let letter = LETTERS[(word >> (18 - 6 * k)) as usize & 63];
            text.push(if k <= chunk.len() { letter as char } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn base64_of_the_standard() {
        for (plain, coded) in
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg=="), ("foobar", "Zm9vYmFy")]
        {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn the_strip_goes_from_blue_to_red() {
        assert_eq!(strip_colour(0.0), "#005ac8");
        assert_eq!(strip_colour(0.6), "#fad23c");
        assert_eq!(strip_colour(5.0), "#d7191e");
    }
}
