//! Photographs and what is known beside them, as typed.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use dropwise_geometry::{Unit, parse_length};
use dropwise_photo::{Hints, Known, MarkColour, Measure, PhotoError, Photograph, Reading, Settings, read};

use crate::complaint::{Complaint, Stop};
use crate::exit::Exit;

/// Options that all readings share.
#[derive(Clone, Debug, Args)]
pub(crate) struct Taken {
    /// The photographs, JPEG or PNG; the first is the one that is shown
    #[arg(required = true, value_name = "PHOTOGRAPH")]
    pub(crate) photographs: Vec<PathBuf>,
    /// Side of the ruled square as you measured it on the print; it should be 120 mm
    #[arg(long, value_name = "LENGTH")]
    pub(crate) square: Option<String>,
    /// A pixel of the first photograph that is on the thing, such as `1800,900` from the upper left
    #[arg(long, value_name = "X,Y")]
    pub(crate) inside: Vec<String>,
    /// A pixel that is on the ground, or in a hole
    #[arg(long, value_name = "X,Y")]
    pub(crate) outside: Vec<String>,
    /// A length that you know: `side 3 = 412.5`, `hole 1 = 12`, `hole 1 to hole 2 = 150`, `width = 600`, `height = 300`
    ///
    /// Numbers are those of the picture and the report. The whole is stretched to fit.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) known: Vec<String>,
    /// A decision not to be taken, by its name in the report, such as `side 3`, `square` or `round`
    #[arg(long, value_name = "NAME")]
    pub(crate) as_found: Vec<String>,
    /// Colour of the chalk or tape around damage
    #[arg(long, value_enum, value_name = "COLOUR")]
    pub(crate) damage: Vec<ColourWord>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ColourWord {
    White,
    Yellow,
    Orange,
    Red,
    Green,
    Blue,
}

impl Taken {
    /// Reads the photographs. Returns the first beside what was read.
    pub(crate) fn read(&self, thickness: f64, unit: Unit) -> Result<(Photograph, Reading), Stop> {
        let settings = self.settings(thickness, unit)?;
        let mut photographs = Vec::new();
        for path in &self.photographs {
            let opened = Photograph::open(path).map_err(|error| told(&error, &path.display().to_string()))?;
            photographs.push(opened);
        }
        let reading = read(&photographs, &settings).map_err(|error| {
            let place =
                if self.photographs.len() == 1 { self.photographs[0].display().to_string() } else { String::new() };
            told(&error, &place)
        })?;
        Ok((photographs.swap_remove(0), reading))
    }

    fn settings(&self, thickness: f64, unit: Unit) -> Result<Settings, Stop> {
        let mut faults = Vec::new();
        let mut keep = |read: Result<f64, Complaint>| read.map_err(|fault| faults.push(fault)).ok();
        let printed_square = self.square.as_ref().and_then(|text| keep(length("--square", text, unit)));
        let points = |option: &str, texts: &[String], faults: &mut Vec<Complaint>| -> Vec<[f64; 2]> {
            texts.iter().filter_map(|text| pixel(option, text).map_err(|fault| faults.push(fault)).ok()).collect()
        };
        let hints = Hints {
            inside: points("--inside", &self.inside, &mut faults),
            outside: points("--outside", &self.outside, &mut faults),
        };
        let known =
            self.known.iter().filter_map(|text| known(text, unit).map_err(|fault| faults.push(fault)).ok()).collect();
        if !faults.is_empty() {
            return Err(Stop { exit: Exit::BadInput, complaints: faults });
        }
        let damage = self.damage.iter().map(|colour| match colour {
            ColourWord::White => MarkColour::White,
            ColourWord::Yellow => MarkColour::Yellow,
            ColourWord::Orange => MarkColour::Orange,
            ColourWord::Red => MarkColour::Red,
            ColourWord::Green => MarkColour::Green,
            ColourWord::Blue => MarkColour::Blue,
        });
        Ok(Settings {
            printed_square,
            hints,
            known,
            as_found: self.as_found.clone(),
            damage: damage.collect(),
            ..Settings::new(thickness)
        })
    }
}

fn told(error: &PhotoError, place: &str) -> Stop {
    Stop::bad_input(Complaint::new(error.to_string()).at(place).with_cure(error.cure()))
}

/// A length that was typed, mm.
pub(crate) fn length(option: &str, text: &str, unit: Unit) -> Result<f64, Complaint> {
    let refused = |problem: String| Complaint::new(problem).at(option);
    let length = parse_length(text, unit).map_err(|error| refused(format!("\"{text}\": {error}")))?;
    if length.is_finite() && (0.0..=10_000.0).contains(&length) {
        return Ok(length);
    }
    Err(refused(format!("\"{text}\" is not from 0 to 10 m")).with_cure("Check number and unit"))
}

fn pixel(option: &str, text: &str) -> Result<[f64; 2], Complaint> {
    let read = text.split_once(',').and_then(|(x, y)| Some([x.trim().parse().ok()?, y.trim().parse().ok()?]));
    read.filter(|[x, y]: &[f64; 2]| x.is_finite() && y.is_finite() && *x >= 0.0 && *y >= 0.0).ok_or_else(|| {
        let complaint = Complaint::new(format!("\"{text}\" is no pixel")).at(option);
        complaint.with_cure("Write, for example, \"1800,900\": pixels from the left, then from the top, of the photograph as it is shown upright")
    })
}

fn known(text: &str, unit: Unit) -> Result<Known, Complaint> {
    let refused = || {
        let complaint = Complaint::new(format!("\"{text}\" is no known length")).at("--known");
        complaint.with_cure("Write, for example, \"side 3 = 412.5\", \"hole 1 to hole 2 = 150\" or \"width = 600\"")
    };
    let (what, given) = text.split_once('=').ok_or_else(refused)?;
    let words: Vec<String> = what.split_whitespace().map(str::to_lowercase).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let number = |word: &str| word.parse::<usize>().ok().filter(|&number| number > 0).ok_or_else(refused);
    let what = match words.as_slice() {
        ["width"] => Measure::Width,
        ["height"] => Measure::Height,
        ["side", side] => Measure::Side(number(side)?),
        ["hole", hole] => Measure::Hole(number(hole)?),
        ["hole", a, "to", "hole", b] => Measure::Holes(number(a)?, number(b)?),
        _ => return Err(refused()),
    };
    let length = length("--known", given.trim(), unit)?;
    if length <= 0.0 {
        return Err(refused());
    }
    Ok(Known { what, length })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_lengths_as_people_write_them() {
        let read = |text: &str| known(text, Unit::Millimetre).map(|known| (known.what, known.length)).ok();
        assert_eq!(read("side 3 = 412.5"), Some((Measure::Side(3), 412.5)));
        assert_eq!(read("Hole 1 to hole 2=150"), Some((Measure::Holes(1, 2), 150.0)));
        assert_eq!(read("width = 2 in"), Some((Measure::Width, 50.8)));
        for bad in ["side = 3", "side 0 = 3", "3 = 4", "width", "hole 1 to 2 = 5", "side 1 = -4", "side 1 = 0"] {
            assert_eq!(read(bad), None, "{bad}");
        }
    }

    #[test]
    fn pixels_as_people_write_them() {
        assert_eq!(pixel("", "1800, 900").ok(), Some([1800.0, 900.0]));
        for bad in ["1800", "a,b", "-1,4", "nan,1", "1,2,3"] {
            assert!(pixel("", bad).is_err(), "{bad}");
        }
    }
}
