//! Tints by which kinds of parts are told apart, and hatches of leftovers and damage.
//!
//! Every part bears its key, so that colour never carries meaning alone; tints differ in lightness too, so that a
//! black-and-white printer keeps neighbours apart. Parts are not hatched: circles and strokes within a part would be
//! taken for holes, or for section lining (ISO 128-50, from memory).

use std::fmt::Write as _;

use super::svg::number;

/// Fills, neighbours in this list as different in lightness as may be. Pale, so that lines and figures stand out.
///
/// # Source
/// Hues after Okabe and Ito, Color Universal Design (2008), from memory; lightened.
pub(crate) const COLOURS: [&str; 7] = ["#fdf8cf", "#a9d2ee", "#f9deb0", "#8fd0ba", "#e3f1fb", "#ecbfa3", "#eecfdf"];

/// Fill of the sheet itself, where nothing lies.
pub(super) const SHEET: &str = "#f4f4f4";

/// The fills of one picture. Names start with a prefix, so that several pictures may share a page.
#[derive(Clone, Debug)]
pub(super) struct Fills {
    prefix: String,
}

impl Fills {
    /// Fills named with a prefix; characters that no name may hold are left out.
    pub(super) fn new(prefix: &str) -> Self {
        let prefix: String = prefix.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        Self { prefix }
    }

    /// A name in this picture.
    pub(super) fn id(&self, name: &str) -> String {
        // A name may not start with a digit.
        format!("d{}-{name}", self.prefix)
    }

    /// The fill of a kind of part.
    #[expect(clippy::unused_self, reason = "all fills of a picture are asked for alike")]
    pub(super) fn part(&self, part: usize) -> String {
        COLOURS[part % COLOURS.len()].to_owned()
    }

    /// The fill of a damaged zone.
    pub(super) fn damage(&self) -> String {
        format!("url(#{})", self.id("damage"))
    }

    /// The fill of a leftover.
    pub(super) fn leftover(&self) -> String {
        format!("url(#{})", self.id("leftover"))
    }

    /// What must stand in the picture's definitions.
    pub(super) fn definitions(&self, paper: f64) -> String {
        let mut definitions = String::new();
        let crossed = r#"<path d="M.7 0V1.4M0 .7H1.4"/>"#;
        self.pattern(&mut definitions, "damage", (1.4, 45.0), "#fff", crossed, paper);
        let sparse = r#"<path d="M1.7 0V3.4" stroke-dasharray="2.4 1"/>"#;
        self.pattern(&mut definitions, "leftover", (3.4, 60.0), "#fff", sparse, paper);
        definitions
    }

    fn pattern(&self, out: &mut String, name: &str, tile: (f64, f64), colour: &str, marks: &str, paper: f64) {
        let (size, turn) = tile;
        let (id, scale, turn) = (self.id(name), number_fine(paper), number(turn));
        let _ = writeln!(
            out,
            r##"<pattern id="{id}" patternUnits="userSpaceOnUse" width="{size}" height="{size}" patternTransform="rotate({turn}) scale({scale})"><rect width="{size}" height="{size}" fill="{colour}"/><g fill="none" stroke="#333" stroke-width=".16">{marks}</g></pattern>"##
        );
    }
}

/// A scale, to six decimals: three would be coarse for a sheet of a few millimetres.
fn number_fine(value: f64) -> String {
    format!("{value:.6}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lightness L* of a colour.
    ///
    /// # Source
    /// IEC 61966-2-1 (sRGB) and CIE 1976 L*.
    fn lightness(colour: &str) -> f64 {
        let channel = |i: usize| {
            let value = f64::from(u8::from_str_radix(&colour[i..i + 2], 16).unwrap()) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        let luminance = 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
        116.0 * luminance.cbrt() - 16.0
    }

    #[test]
    fn lightness_matches_its_definition_at_the_ends() {
        assert!((lightness("#ffffff") - 100.0).abs() < 0.01);
        // Middle grey of 18 % has L* 49.5; sRGB 118 is nearest.
        assert!((lightness("#767676") - 49.5).abs() < 0.5);
    }

    #[test]
    fn colours_differ_in_lightness_and_carry_black_lines() {
        for (i, a) in COLOURS.iter().enumerate() {
            assert!(lightness(a) > 77.0, "{a} is too dark");
            for b in &COLOURS[i + 1..] {
                assert!((lightness(a) - lightness(b)).abs() > 1.4, "{a} and {b} print alike");
            }
        }
    }

    #[test]
    fn prefix_cannot_break_out_of_its_attribute() {
        assert_eq!(Fills::new("a\"><script>").id("x"), "dascript-x");
    }
}
