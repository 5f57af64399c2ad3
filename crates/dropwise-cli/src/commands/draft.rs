//! A job that was told in a few words, written as a job file.
//!
//! Whatever is typed becomes the text of a job file and is read as any other, so that there is one reading of lengths,
//! metals and outlines.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use dropwise_formats::{LoadedJob, parse_job};
use dropwise_geometry::{Unit, parse_length};
use dropwise_shop::{Coinage, Price};

use crate::complaint::{Complaint, Stop};
use crate::exit::Exit;

/// An outline told in a few words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Form {
    /// Width and height.
    Rectangle(String, String),
    /// Diameter.
    Circle(String),
    /// Corners in order.
    Corners(Vec<(String, String)>),
    /// A drawing, DXF or SVG.
    Drawing(String),
}

/// Something told on the command line: how many of which outline, and at what price.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Told {
    /// As it was typed, without count and price: its name from here on.
    pub(crate) name: String,
    /// How many.
    pub(crate) count: u32,
    /// The outline.
    pub(crate) form: Form,
    /// What was typed after `@`.
    pub(crate) price: Option<String>,
}

/// More copies than this are a slip of the keyboard; a job file takes no more either.
const MOST_COPIES: u32 = 10_000;

impl Told {
    /// Reads `12 x 4`, `3 of 12-3/8 x 4`, `6 dia`, `0,0; 20,0; 15,9`, `plate.dxf`, each with `@ PRICE` behind it or not.
    ///
    /// # Errors
    /// What cannot be read, and how to write it.
    pub(crate) fn parse(text: &str, bare: Unit) -> Result<Self, Complaint> {
        let wrong = |problem: String, cure: &str| Complaint::new(problem).at(format!("\"{text}\"")).with_cure(cure);
        let (outline, price) = match text.split_once('@') {
            Some((outline, price)) => (outline.trim(), Some(price.trim().to_owned())),
            None => (text.trim(), None),
        };
        // Here and not where the whole job is read: then all that was answered before would be lost.
        if let Some(price) = price.as_deref().filter(|price| *price != "paid") {
            Price::parse(price, Coinage::default()).map_err(|error| {
                wrong(format!("the price \"{price}\": {error}"), "Write it behind the @, as in \"30 x 18 @ 9.50\"")
            })?;
        }
        let (count, outline) = match outline.split_once(" of ") {
            None => (1, outline),
            Some((count, outline)) => {
                let count = count.trim().parse().ok().filter(|count| (1..=MOST_COPIES).contains(count));
                let cure = "Write, for example, \"3 of 12 x 4\"";
                (count.ok_or_else(|| wrong(format!("the count is not from 1 to {MOST_COPIES}"), cure))?, outline.trim())
            }
        };
        let form = Form::parse(outline).ok_or_else(|| {
            let is_three = outline.split(['x', 'X', '×']).count() == 3;
            let cure = if is_three {
                "Write a count before the size: \"3 of 12 x 4\""
            } else {
                "Write two sides (12-3/8 x 4), a diameter (6 dia), corners (0,0; 20,0; 15,9), or the name of a drawing"
            };
            let problem = if is_three { "these are three numbers, not two sides" } else { "this is no size" };
            wrong(problem.to_owned(), cure)
        })?;
        for length in form.lengths() {
            parse_length(length, bare).map_err(|error| wrong(format!("\"{length}\": {error}"), LENGTH_CURE))?;
        }
        Ok(Self { name: outline.to_owned(), count, form, price })
    }

    /// What to call a part of this outline.
    pub(crate) fn part_name(&self) -> String {
        match &self.form {
            Form::Rectangle(..) => format!("plate {}", self.name),
            Form::Circle(_) => format!("disc {}", self.name),
            Form::Corners(_) => format!("outline {}", self.name),
            Form::Drawing(_) => self.name.clone(),
        }
    }

    /// Keys of a `[[parts]]` or `[[sheets]]` table.
    pub(crate) fn keys(&self, name: &str) -> String {
        let mut keys = format!("name = {}\nquantity = {}\n{}\n", quoted(name), self.count, self.form.key());
        if let Some(price) = &self.price {
            let is_number = price.parse::<f64>().is_ok_and(f64::is_finite);
            let _ = writeln!(keys, "price = {}", if is_number { price.clone() } else { quoted(price) });
        }
        keys
    }
}

const LENGTH_CURE: &str = "Write a number, a fraction such as 4-3/8, or a length with its unit such as \"110 mm\"";

impl Form {
    fn parse(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        if [".dxf", ".svg"].iter().any(|ending| lower.ends_with(ending)) {
            return Some(Self::Drawing(text.to_owned()));
        }
        if text.contains(';') {
            let corner = |corner: &str| {
                let (x, y) = corner.split_once(',')?;
                Some((x.trim().to_owned(), y.trim().to_owned()))
            };
            let corners = text.split(';').map(str::trim).filter(|corner| !corner.is_empty());
            return corners.map(corner).collect::<Option<Vec<_>>>().map(Self::Corners);
        }
        let diameter = ["dia", "diameter", "round"].iter().find_map(|word| {
            lower.strip_suffix(word).or_else(|| lower.strip_prefix(word)).map(str::trim).map(str::to_owned)
        });
        let diameter = diameter.or_else(|| text.strip_prefix(['ø', 'Ø', '⌀']).map(|rest| rest.trim().to_owned()));
        if let Some(diameter) = diameter.filter(|text| !text.is_empty()) {
            return Some(Self::Circle(diameter));
        }
        let mut sides = text.split(['x', 'X', '×']).map(|side| side.trim().to_owned());
        let (width, height) = (sides.next()?, sides.next()?);
        (sides.next().is_none() && !width.is_empty() && !height.is_empty()).then_some(Self::Rectangle(width, height))
    }

    fn lengths(&self) -> Vec<&str> {
        match self {
            Self::Rectangle(width, height) => vec![width, height],
            Self::Circle(diameter) => vec![diameter],
            Self::Corners(corners) => corners.iter().flat_map(|(x, y)| [x.as_str(), y.as_str()]).collect(),
            Self::Drawing(_) => Vec::new(),
        }
    }

    /// The key of a job file that says it.
    fn key(&self) -> String {
        match self {
            Self::Rectangle(width, height) => {
                format!("rectangle = {{ width = {}, height = {} }}", quoted(width), quoted(height))
            }
            Self::Circle(diameter) => format!("circle = {{ diameter = {} }}", quoted(diameter)),
            Self::Corners(corners) => {
                let points = corners.iter().map(|(x, y)| format!("[{}, {}]", quoted(x), quoted(y)));
                format!("polygon = {{ points = [{}] }}", points.collect::<Vec<_>>().join(", "))
            }
            Self::Drawing(file) => format!("drawing = {{ file = {} }}", quoted(file)),
        }
    }
}

/// A text in quotes, as TOML has it.
pub(crate) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The unit that was asked for, by option or by the variable DROPWISE_UNIT.
///
/// # Errors
/// When it is no unit.
pub(crate) fn unit_asked_for(typed: Option<&str>, variable: Option<&str>) -> Result<Option<Unit>, Stop> {
    let told = typed.map(|text| (text, "--unit")).or_else(|| variable.map(|text| (text, "DROPWISE_UNIT")));
    let Some((text, place)) = told else { return Ok(None) };
    text.parse().map(Some).map_err(|_| {
        let complaint = Complaint::new(format!("\"{text}\" is no unit of length")).at(place);
        Stop::bad_input(complaint.with_cure("Write mm, cm, m, in or ft"))
    })
}

/// Reads the text of a job; files that it names are looked for in `folder`.
///
/// # Errors
/// Every fault in it. The places are those of the text, so they are told only where a person has that text.
pub(crate) fn read(text: &str, name: &str, folder: &Path) -> Result<LoadedJob, Stop> {
    let path: PathBuf = folder.join(name);
    parse_job(&path, text)
        .map_err(|errors| Stop { exit: Exit::BadInput, complaints: errors.iter().map(Complaint::from).collect() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Told {
        Told::parse(text, Unit::Inch).unwrap()
    }

    #[test]
    fn outlines_as_they_are_said_at_the_yard() {
        assert_eq!(told("12 x 4").form, Form::Rectangle("12".into(), "4".into()));
        let three = told("3 of 12-3/8 × 4 1/2 @ 9.50");
        assert_eq!((three.count, three.price.as_deref()), (3, Some("9.50")));
        assert_eq!(three.form, Form::Rectangle("12-3/8".into(), "4 1/2".into()));
        for text in ["6 dia", "dia 6", "Ø6", "ø 6", "6 round", "6 Diameter"] {
            assert_eq!(told(text).form, Form::Circle("6".into()), "{text}");
        }
        assert_eq!(told("2 of plates/latch plate.DXF").form, Form::Drawing("plates/latch plate.DXF".into()));
        let corners = told("0,0; 20,0; 15 1/2,9;").form;
        assert_eq!(corners.lengths(), ["0", "0", "20", "0", "15 1/2", "9"]);
    }

    #[test]
    fn what_is_no_size_is_answered_with_the_line_to_write() {
        for (text, wanted) in [
            ("12 x 4 x 3", "3 of 12 x 4"),
            ("twelve", "two sides"),
            ("0 of 3 x 4", "3 of 12 x 4"),
            ("12 x ", "two sides"),
            ("12 x 4/0", "fraction"),
            ("12 x 4 @ free", "30 x 18 @ 9.50"),
            ("12 x 4 @", "30 x 18 @ 9.50"),
            ("dia", "a diameter"),
        ] {
            let page = Told::parse(text, Unit::Inch).unwrap_err().render(crate::ink::Ink::plain());
            assert!(page.contains(wanted), "{text}: {page}");
        }
    }

    #[test]
    fn names_with_quotes_and_markup_stay_texts() {
        let keys = told("6 dia").keys("say \"when\" <b>\n\\");
        let read: toml::Table = keys.parse().unwrap();
        assert_eq!(read["name"].as_str(), Some("say \"when\" <b>\n\\"));
    }
}
