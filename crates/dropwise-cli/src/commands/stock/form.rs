//! The outline of a piece, as it is typed.

use std::path::{Path, PathBuf};

use clap::Args;
use dropwise_formats::job_file::types::{
    Circle, Corner, Diagonal, Drawing, Edges, Hole, HoleSize, Length, OutlineKeys, Placing, PolygonKeys, Rectangle,
    SheetKeys, Tape, Zone,
};
use dropwise_formats::{DescribedPiece, describe_piece};

use super::desk::{Desk, bad, outline_complaints};
use crate::complaint::{Complaint, Stop};
use crate::text::shortened;

/// The outline, in one of five ways.
#[derive(Clone, Debug, Default, PartialEq, Args)]
#[command(next_help_heading = "Outline")]
pub(crate) struct Form {
    /// A rectangle: its sides, such as `780 x 520` or `48 in x 20 1/2 in`
    #[arg(long, value_name = "SIDES")]
    pub(crate) rectangle: Option<String>,
    /// A disc: its diameter
    #[arg(long, value_name = "DIAMETER")]
    pub(crate) circle: Option<String>,
    /// Any outline of straight sides: its corners in order, such as `0,0; 820,0; 800,410; 0,400`
    #[arg(long, value_name = "CORNERS")]
    pub(crate) outline: Option<String>,
    /// Measured with a tape: the sides in order, counter-clockwise, such as `820, 410, 790, 505`
    #[arg(long, value_name = "SIDES")]
    pub(crate) tape: Option<String>,
    /// A diagonal measured with it: from which corner to which, and how long, such as `1-3 = 915`
    ///
    /// Corner 1 is where the first side begins. Four sides need one diagonal, each further side one more. More than needed
    /// check each other.
    #[arg(long, value_name = "DIAGONAL")]
    pub(crate) diagonal: Vec<String>,
    /// A corner that points inwards, by its number, since a tape cannot tell
    #[arg(long, value_name = "CORNER")]
    pub(crate) inward: Vec<String>,
    /// A drawing, DXF or SVG
    #[arg(long, value_name = "FILE")]
    pub(crate) drawing: Option<PathBuf>,
    /// Which outline of the drawing, counted from 1; without it each is a piece of its own
    #[arg(long, value_name = "NUMBER")]
    pub(crate) piece: Option<String>,
    /// Unit of the drawing's numbers, when the file does not say it
    #[arg(long, value_name = "UNIT")]
    pub(crate) drawing_unit: Option<String>,
    /// A round hole in it: its diameter, and where its middle is from the left and the bottom, such as `60 at 120, 80`
    #[arg(long, value_name = "HOLE")]
    pub(crate) hole: Vec<String>,
    /// A damaged zone: `150 x 80 at 0, 300` by its lower left corner, or `60 at 120, 80` round, by its middle
    #[arg(long, value_name = "ZONE")]
    pub(crate) damage: Vec<String>,
}

impl Form {
    /// Whether anything was given.
    pub(crate) fn is_blank(&self) -> bool {
        *self == Self::default()
    }

    /// The outlines.
    ///
    /// # Errors
    /// Every fault in what was typed.
    pub(crate) fn read(&self, desk: &Desk) -> Result<DescribedPiece, Stop> {
        let keys = self.keys().map_err(bad)?;
        describe_piece(&keys, desk.unit, Path::new("")).map_err(|errors| bad(outline_complaints(&errors)))
    }

    /// What was typed, as a job file has it.
    fn keys(&self) -> Result<SheetKeys, Vec<Complaint>> {
        let mut reading = Reading::default();
        let rectangle = self.rectangle.as_ref().and_then(|text| reading.sides("--rectangle", text));
        let outline = OutlineKeys {
            rectangle: rectangle.map(|(width, height)| Rectangle { width, height, corner_radius: None, chamfer: None }),
            circle: self.circle.as_ref().map(|text| Circle { diameter: Length::Text(text.clone()) }),
            polygon: self
                .outline
                .as_ref()
                .and_then(|text| reading.corners(text))
                .map(|points| PolygonKeys { points, corner_radius: None }),
            drawing: self.drawing.as_ref().and_then(|file| reading.drawing(self, file)),
            ..OutlineKeys::default()
        };
        let tape = self.tape.as_ref().and_then(|text| reading.tape(self, text));
        for (option, is_alone) in [
            ("--diagonal", self.tape.is_none() && !self.diagonal.is_empty()),
            ("--inward", self.tape.is_none() && !self.inward.is_empty()),
            ("--piece", self.drawing.is_none() && self.piece.is_some()),
            ("--drawing-unit", self.drawing.is_none() && self.drawing_unit.is_some()),
        ] {
            if is_alone {
                let needs = if option == "--diagonal" || option == "--inward" { "--tape" } else { "--drawing" };
                reading.fault(option, "stands alone", &format!("Give {needs} too, or leave it out"));
            }
        }
        let holes: Vec<Hole> = self.hole.iter().filter_map(|text| reading.hole(text)).collect();
        let damage: Vec<Zone> = self.damage.iter().filter_map(|text| reading.zone(text)).collect();
        let has_forms = outline != OutlineKeys::default() || tape.is_some();
        if !has_forms && reading.faults.is_empty() {
            let cure = "Give one of --rectangle, --circle, --outline, --tape and --drawing";
            reading.faults.push(Complaint::new("nothing is said of the form of the piece").with_cure(cure));
        }
        if !reading.faults.is_empty() {
            return Err(reading.faults);
        }
        let mut keys: SheetKeys = serde_json::from_value(serde_json::json!({ "name": "piece" }))
            .map_err(|error| vec![Complaint::new(error.to_string())])?;
        keys.outline = outline;
        keys.tape = tape;
        keys.openings.holes = (!holes.is_empty()).then_some(holes);
        keys.damage = (!damage.is_empty()).then_some(damage);
        Ok(keys)
    }
}

/// Two sides: `780 x 520`. No length holds an x.
pub(crate) fn two_sides(text: &str) -> Option<(&str, &str)> {
    let mut words = text.split(['x', 'X', '×']).map(str::trim);
    let sides = (words.next()?, words.next()?);
    let is_whole = words.next().is_none() && !sides.0.is_empty() && !sides.1.is_empty();
    is_whole.then_some(sides)
}

/// What was wrong so far.
#[derive(Default)]
struct Reading {
    faults: Vec<Complaint>,
}

impl Reading {
    fn fault(&mut self, option: &str, problem: &str, cure: &str) {
        self.faults.push(Complaint::new(problem).at(option).with_cure(cure));
    }

    fn sides(&mut self, option: &str, text: &str) -> Option<(Length, Length)> {
        let Some((a, b)) = two_sides(text) else {
            self.fault(
                option,
                &format!("\"{}\" is not two sides", shortened(text, 60)),
                "Write, for example, \"780 x 520\"",
            );
            return None;
        };
        Some((Length::Text(a.to_owned()), Length::Text(b.to_owned())))
    }

    fn pair(&mut self, option: &str, text: &str) -> Option<(Length, Length)> {
        let mut words = text.split(',').map(str::trim);
        match (words.next(), words.next(), words.next()) {
            (Some(x), Some(y), None) if !x.is_empty() && !y.is_empty() => {
                Some((Length::Text(x.to_owned()), Length::Text(y.to_owned())))
            }
            _ => {
                let cure = "Write, for example, \"120, 80\": to the right, then up; a decimal is written with a point";
                self.fault(option, &format!("\"{}\" is not two dimensions", shortened(text.trim(), 60)), cure);
                None
            }
        }
    }

    fn corners(&mut self, text: &str) -> Option<Vec<Corner>> {
        // Corners stand apart by semicolons, or by blanks where no length holds any.
        let pairs: Vec<&str> = if text.contains(';') {
            text.split(';').filter(|pair| !pair.trim().is_empty()).collect()
        } else {
            text.split_whitespace().collect()
        };
        let read: Vec<Option<Corner>> =
            pairs.into_iter().map(|pair| self.pair("--outline", pair).map(|(x, y)| Corner::Pair(vec![x, y]))).collect();
        read.into_iter().collect()
    }

    fn tape(&mut self, form: &Form, text: &str) -> Option<Tape> {
        let sides = text.split(',').map(|side| Length::Text(side.trim().to_owned())).collect();
        let diagonals: Vec<Option<Diagonal>> = form.diagonal.iter().map(|text| self.diagonal(text)).collect();
        let inward: Vec<Option<u32>> = form.inward.iter().map(|text| self.number("--inward", text)).collect();
        let diagonals: Vec<Diagonal> = diagonals.into_iter().collect::<Option<_>>()?;
        let inward: Vec<u32> = inward.into_iter().collect::<Option<_>>()?;
        Some(Tape {
            sides,
            diagonals: (!diagonals.is_empty()).then_some(diagonals),
            inward_corners: (!inward.is_empty()).then_some(inward),
        })
    }

    fn diagonal(&mut self, text: &str) -> Option<Diagonal> {
        let read = text.split_once('=').and_then(|(corners, length)| {
            let (from, to) = corners.split_once('-')?;
            let number = |text: &str| text.trim().parse::<u32>().ok().filter(|&number| number > 0);
            Some(Diagonal { from: number(from)?, to: number(to)?, length: Length::Text(length.trim().to_owned()) })
        });
        if read.is_none() {
            self.fault(
                "--diagonal",
                &format!("\"{}\" is no diagonal", shortened(text, 60)),
                "Write, for example, \"1-3 = 915\"",
            );
        }
        read
    }

    fn number(&mut self, option: &str, text: &str) -> Option<u32> {
        let number = text.trim().parse::<u32>().ok().filter(|&number| number > 0);
        if number.is_none() {
            self.fault(option, &format!("\"{}\" is no number", shortened(text, 60)), "Write a whole number from 1 on");
        }
        number
    }

    fn drawing(&mut self, form: &Form, file: &Path) -> Option<Drawing> {
        let piece = match &form.piece {
            None => None,
            Some(text) => Some(self.number("--piece", text)?),
        };
        let file = file.to_string_lossy().into_owned();
        Some(Drawing { file, unit: form.drawing_unit.clone(), piece, ..Drawing::default() })
    }

    /// `60 at 120, 80`, and what stands before the "at".
    fn placed<'t>(&mut self, option: &str, text: &'t str) -> Option<(&'t str, Length, Length)> {
        let Some((what, place)) = text.split_once(" at ") else {
            let cure = "Write, for example, \"60 at 120, 80\": the size, then to the right, then up";
            self.fault(option, &format!("\"{}\" does not say where", shortened(text, 60)), cure);
            return None;
        };
        let (x, y) = self.pair(option, place)?;
        Some((what.trim(), x, y))
    }

    fn hole(&mut self, text: &str) -> Option<Hole> {
        let (what, x, y) = self.placed("--hole", text)?;
        let (diameter, at) = (Length::Text(what.to_owned()), Some(Placing::Corner(vec![x, y])));
        let size = HoleSize { diameter: Some(diameter), ..HoleSize::default() };
        Some(Hole { size, at, edges: None, countersink: None, flare: None })
    }

    fn zone(&mut self, text: &str) -> Option<Zone> {
        let (what, x, y) = self.placed("--damage", text)?;
        let blank = Zone { width: None, height: None, diameter: None, points: None, at: None, corner: None };
        match two_sides(what) {
            Some((width, height)) => {
                let corner = Placing::Edges(Edges { left: Some(x), bottom: Some(y), ..Edges::default() });
                let (width, height) = (Length::Text(width.to_owned()), Length::Text(height.to_owned()));
                Some(Zone { width: Some(width), height: Some(height), corner: Some(corner), ..blank })
            }
            None => {
                let at = Placing::Corner(vec![x, y]);
                Some(Zone { diameter: Some(Length::Text(what.to_owned())), at: Some(at), ..blank })
            }
        }
    }
}
