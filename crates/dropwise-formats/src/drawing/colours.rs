//! Colours of lines, as drawings have them and as a job names them.

use std::fmt;
use std::str::FromStr as _;

/// The colour of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Colour {
    /// Red, green and blue.
    rgb: [u8; 3],
    /// Its number in the palette of DXF, where the file gives that.
    index: Option<u8>,
}

impl Colour {
    /// A colour by red, green and blue.
    #[must_use]
    pub const fn rgb(rgb: [u8; 3]) -> Self {
        Self { rgb, index: None }
    }

    /// A colour by its number in the palette of DXF, 1 to 255.
    #[must_use]
    pub fn indexed(index: u8) -> Self {
        Self { rgb: palette(index), index: Some(index) }
    }

    pub(crate) fn is_whitish(self) -> bool {
        self.rgb.iter().all(|&part| part >= 230)
    }

    /// Its red, green and blue as style sheets write them.
    #[must_use]
    pub fn hex(self) -> String {
        let [red, green, blue] = self.rgb;
        format!("#{red:02x}{green:02x}{blue:02x}")
    }
}

/// The plain colours that a person names.
const PLAIN: [(&str, [u8; 3]); 10] = [
    ("black", [0, 0, 0]),
    ("white", [255, 255, 255]),
    ("red", [255, 0, 0]),
    ("green", [0, 255, 0]),
    ("blue", [0, 0, 255]),
    ("yellow", [255, 255, 0]),
    ("cyan", [0, 255, 255]),
    ("magenta", [255, 0, 255]),
    ("grey", [128, 128, 128]),
    ("orange", [255, 165, 0]),
];

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.index, PLAIN.iter().find(|(_, rgb)| within(*rgb, self.rgb, 0))) {
            (Some(7), _) => f.write_str("colour 7 (black or white)"),
            (Some(index), Some((name, _))) => write!(f, "colour {index} ({name})"),
            (Some(index), None) => write!(f, "colour {index}"),
            (None, Some((name, _))) => write!(f, "{name} ({})", self.hex()),
            (None, None) => f.write_str(&self.hex()),
        }
    }
}

/// A colour as a job names it: a name of style sheets, `#rrggbb`, or a number in the palette of DXF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColourChoice {
    rgb: Vec<[u8; 3]>,
    index: Option<u8>,
    /// How far each of red, green and blue may be off: print shops' reds are not pure.
    slack: u8,
}

/// How far from the pure colour a colour may be that is called by its name.
const NAMED_SLACK: u8 = 40;

impl ColourChoice {
    /// A colour by name or by `#rrggbb`; `None` when it is neither.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let name = text.trim().to_lowercase();
        if let Some(index) = name.parse::<u8>().ok().filter(|&index| index > 0) {
            return Some(Self::indexed(index));
        }
        let found = svgtypes::Color::from_str(&name).ok()?;
        let mut rgb = vec![[found.red, found.green, found.blue]];
        // What style sheets call green is darker than what drawing programs do.
        rgb.extend(PLAIN.iter().filter(|(plain, _)| *plain == name).map(|&(_, rgb)| rgb));
        let is_named = !name.starts_with('#') && !name.contains('(');
        let index = (name == "black" || name == "white").then_some(7);
        Some(Self { rgb, index, slack: if is_named { NAMED_SLACK } else { 2 } })
    }

    /// A colour by its number in the palette of DXF.
    #[must_use]
    pub fn indexed(index: u8) -> Self {
        Self { rgb: vec![palette(index)], index: Some(index), slack: 2 }
    }

    /// Whether a line's colour is this one.
    #[must_use]
    pub fn is(&self, colour: Colour) -> bool {
        match (self.index, colour.index) {
            (Some(told), Some(found)) if told == found => true,
            // Palette numbers tell colours apart that look the same.
            (Some(_), Some(_)) if self.slack < NAMED_SLACK => false,
            // 7 is black on white and white on black.
            (_, Some(7)) => false,
            _ => self.rgb.iter().any(|&rgb| within(rgb, colour.rgb, self.slack)),
        }
    }
}

fn within(a: [u8; 3], b: [u8; 3], slack: u8) -> bool {
    a.iter().zip(b).all(|(&a, b)| a.abs_diff(b) <= slack)
}

/// The palette of DXF: nine plain colours; 24 hues of ten shades, five dark ones each in full and half saturation; greys.
///
/// # Source
/// Autodesk, "AutoCAD Color Index", from memory; compared with the table of a general DXF library in
/// `tests/reference_drawings.rs`.
fn palette(index: u8) -> [u8; 3] {
    const FIRST: [[u8; 3]; 10] = [
        [0, 0, 0],
        [255, 0, 0],
        [255, 255, 0],
        [0, 255, 0],
        [0, 255, 255],
        [0, 0, 255],
        [255, 0, 255],
        [255, 255, 255],
        [128, 128, 128],
        [192, 192, 192],
    ];
    const VALUES: [f64; 5] = [255.0, 165.0, 127.0, 76.0, 38.0];
    const GREYS: [u8; 6] = [0, 101, 102, 153, 204, 255];
    match index {
        0..=9 => FIRST[usize::from(index)],
        250..=255 => [GREYS[usize::from(index - 250)]; 3],
        _ => {
            let hue = f64::from(index / 10 - 1) / 4.0;
            let shade = index % 10;
            let (value, is_pale) = (VALUES[usize::from(shade / 2)], shade % 2 == 1);
            let part = |shift: f64| {
                let around = (hue + shift).rem_euclid(6.0);
                let full = (2.0 - (around - 2.0).abs().min((around - 8.0).abs())).clamp(0.0, 1.0);
                let share = if is_pale { 0.5 + full / 2.0 } else { full };
                (value * share).floor() as u8
            };
            [part(2.0), part(0.0), part(4.0)]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_hex_and_numbers_choose() {
        let is = |text: &str, colour: Colour| ColourChoice::parse(text).unwrap().is(colour);
        assert!(is("red", Colour::rgb([255, 0, 0])) && is("red", Colour::rgb([237, 28, 36])));
        assert!(!is("red", Colour::rgb([255, 128, 128])) && is("#ed1c24", Colour::rgb([237, 28, 36])));
        assert!(is("green", Colour::rgb([0, 255, 0])) && is("green", Colour::rgb([0, 128, 0])));
        assert!(is("#0f0", Colour::indexed(3)) && is("3", Colour::indexed(3)) && !is("10", Colour::indexed(1)));
        assert!(is("red", Colour::indexed(10)), "a second red of the palette");
        assert!(is("black", Colour::indexed(7)) && is("white", Colour::indexed(7)));
        assert!(!is("#000", Colour::rgb([20, 20, 20])));
        for wrong in ["", "reddish", "#12", "256", "0", "-1"] {
            assert_eq!(ColourChoice::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn colours_are_told_by_name_where_they_have_one() {
        assert_eq!(Colour::rgb([255, 0, 0]).to_string(), "red (#ff0000)");
        assert_eq!(Colour::rgb([1, 2, 3]).to_string(), "#010203");
        assert_eq!(Colour::indexed(5).to_string(), "colour 5 (blue)");
    }
}
