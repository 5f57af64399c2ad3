//! Reading values at a place: a cursor that knows its path, and the faults found so far.

use std::cell::RefCell;
use std::fmt;
use std::path::PathBuf;

use dropwise_geometry::{Unit, format_length, parse_length};
use dropwise_shop::{Coinage, GaugeSystem, Material, Thickness, ThicknessError};

use super::drawing::SeenDrawing;
use crate::drawing::Severity;
use crate::job_file::error::{Fault, JobFileError, Note, Place};
use crate::job_file::tree::{Document, Step, shortened};
use crate::job_file::types::{Length, Thick};

/// No length of a part or sheet is longer, mm: 100 m.
pub(crate) const LONGEST: f64 = 100_000.0;

/// What all steps share.
pub(crate) struct Context<'d> {
    pub(crate) document: &'d Document,
    /// Folder that names of files start from.
    pub(crate) folder: PathBuf,
    /// Unit of bare numbers.
    pub(crate) unit: Unit,
    /// Decimals of the currency.
    pub(crate) coinage: Coinage,
    errors: RefCell<Vec<JobFileError>>,
    notes: RefCell<Vec<Note>>,
    seen: RefCell<Vec<SeenDrawing>>,
}

impl<'d> Context<'d> {
    pub(crate) fn new(document: &'d Document, folder: PathBuf) -> Self {
        let (errors, notes, seen) = (RefCell::default(), RefCell::default(), RefCell::default());
        Self { document, folder, unit: Unit::Millimetre, coinage: Coinage::default(), errors, notes, seen }
    }

    /// The cursor at the top of the file.
    pub(crate) fn top(&self) -> At<'_> {
        At { context: self, path: Vec::new() }
    }

    /// Keeps a fault found in another file.
    pub(crate) fn push(&self, error: JobFileError) {
        self.errors.borrow_mut().push(error);
    }

    pub(crate) fn push_note(&self, note: Note) {
        self.notes.borrow_mut().push(note);
    }

    /// Keeps a drawing as it was understood.
    pub(crate) fn push_seen(&self, drawing: SeenDrawing) {
        self.seen.borrow_mut().push(drawing);
    }

    /// The drawings read so far.
    pub(crate) fn take_seen(&self) -> Vec<SeenDrawing> {
        self.seen.take()
    }

    pub(crate) fn has_errors(&self) -> bool {
        !self.errors.borrow().is_empty()
    }

    pub(crate) fn finish(self) -> (Vec<JobFileError>, Vec<Note>) {
        (self.errors.into_inner(), self.notes.into_inner())
    }

    /// A length in the job's unit, for messages.
    pub(crate) fn show(&self, millimetres: f64) -> String {
        format_length(millimetres, self.unit)
    }
}

/// A place in the job file.
#[derive(Clone)]
pub(crate) struct At<'c> {
    pub(crate) context: &'c Context<'c>,
    path: Vec<Step>,
}

impl At<'_> {
    pub(crate) fn key(&self, key: &str) -> Self {
        self.step(Step::Key(key.to_owned()))
    }

    pub(crate) fn index(&self, index: usize) -> Self {
        self.step(Step::Index(index))
    }

    fn step(&self, step: Step) -> Self {
        let mut below = self.clone();
        below.path.push(step);
        below
    }

    /// The last key or index, as it is written in a path: `holes[2]`.
    pub(crate) fn tail(&self) -> String {
        match self.path.as_slice() {
            [.., Step::Key(key), Step::Index(index)] => format!("{key}[{}]", index + 1),
            [.., Step::Key(key)] => key.clone(),
            _ => String::new(),
        }
    }

    /// Whether it is a sheet that is read here, not a part.
    pub(crate) fn is_in_sheet(&self) -> bool {
        matches!(self.path.first(), Some(Step::Key(key)) if key == "sheets" || key == "sheet_lists")
    }

    /// Whether it is a part that is read here.
    pub(super) fn is_in_part(&self) -> bool {
        matches!(self.path.first(), Some(Step::Key(key)) if key == "parts")
    }

    pub(crate) fn place(&self) -> Place {
        self.context.document.place(&self.path)
    }

    /// Reports a problem (without a full stop) and its cure (likewise).
    pub(crate) fn fault(&self, problem: impl Into<String>, cure: impl Into<String>) {
        self.context.push(JobFileError::new(self.place(), Fault::value(problem, cure)));
    }

    /// Reports a message that says everything already; `character` counts from 0 in the text value here.
    pub(crate) fn message(&self, character: usize, message: impl fmt::Display) {
        let place = self.context.document.place_within(&self.path, character);
        self.context.push(JobFileError::new(place, Fault::Refused { message: message.to_string() }));
    }

    /// Something worth knowing.
    pub(crate) fn note(&self, text: impl Into<String>) {
        self.context.push_note(Note { severity: Severity::Info, place: self.place(), text: text.into() });
    }

    /// Something that may not be what was meant.
    pub(crate) fn warn(&self, text: impl Into<String>) {
        self.context.push_note(Note { severity: Severity::Warning, place: self.place(), text: text.into() });
    }

    /// Any length, in mm; reported when it is none.
    pub(crate) fn length(&self, length: &Length) -> Option<f64> {
        let millimetres = match length {
            Length::Number(number) => number * self.context.unit.millimetres(),
            Length::Text(text) => match parse_length(text, self.context.unit) {
                Ok(millimetres) => millimetres,
                Err(error) => {
                    self.message(error.column, format!("\"{}\": {error}", shortened(text)));
                    return None;
                }
            },
        };
        if millimetres.is_finite() && millimetres.abs() <= LONGEST {
            return Some(millimetres);
        }
        self.fault(
            format!("is {}, longer than 100 m", self.in_words(length)),
            "Check the number and its unit; bare numbers are in the job's unit",
        );
        None
    }

    /// A length above zero.
    pub(crate) fn size(&self, length: &Length) -> Option<f64> {
        let millimetres = self.length(length)?;
        if millimetres > 0.0 {
            return Some(millimetres);
        }
        self.fault(format!("is {}", self.in_words(length)), "It must be more than zero");
        None
    }

    /// A length of zero or more.
    pub(crate) fn distance(&self, length: &Length) -> Option<f64> {
        let millimetres = self.length(length)?;
        if millimetres >= 0.0 {
            return Some(millimetres);
        }
        self.fault(format!("is {}", self.in_words(length)), "It must be zero or more");
        None
    }

    /// The length of an optional key, if it is given; `Some(None)` when it is not, `None` when it is wrong.
    pub(crate) fn optional<T>(
        &self,
        length: Option<&Length>,
        read: impl Fn(&Self, &Length) -> Option<T>,
    ) -> Option<Option<T>> {
        match length {
            None => Some(None),
            Some(length) => read(self, length).map(Some),
        }
    }

    /// An angle in degrees.
    pub(crate) fn angle(&self, degrees: f64) -> Option<f64> {
        if degrees.abs() <= 3600.0 {
            return Some(degrees);
        }
        self.fault(format!("is {} degrees", number_in_words(degrees)), "An angle is from -3600 to 3600 degrees");
        None
    }

    /// A unit of length by name.
    pub(crate) fn unit(&self, name: &str) -> Option<Unit> {
        match name.parse() {
            Ok(unit) => Some(unit),
            Err(_) => {
                self.fault(format!("\"{}\" is no unit of length", shortened(name)), "Write mm, cm, m, in or ft");
                None
            }
        }
    }

    pub(crate) fn material(&self, name: &str) -> Option<Material> {
        match name.parse() {
            Ok(material) => Some(material),
            Err(error) => {
                self.message(0, format!("{error}"));
                None
            }
        }
    }

    pub(crate) fn thickness(&self, thickness: &Thick, material: Material) -> Option<Thickness> {
        let read = match thickness {
            Thick::Number(number) => Thickness::new(number * self.context.unit.millimetres()),
            Thick::Text(text) => Thickness::parse(text, material, self.context.unit),
        };
        let read = read.map_err(|error| {
            let character = match &error {
                ThicknessError::Length(error) => error.column,
                ThicknessError::NotAGauge { column, .. } => *column,
                _ => 0,
            };
            self.message(character, &error);
        });
        if let Some(doubt) = read.as_ref().ok().and_then(|&read| self.gauge_of_another_metal(read, material)) {
            // Said once, however many parts have it from the defaults.
            let is_told = self.context.notes.borrow().iter().any(|note| note.text == doubt);
            if !is_told {
                self.note(doubt);
            }
        }
        read.ok()
    }

    /// What to ask of a thickness in figures that stands in the gauge table of another metal and not in its own: most
    /// often it was looked up in the wrong one. Sizes that plate is sold in by the fraction or the tenth of a millimetre are
    /// meant as they are.
    fn gauge_of_another_metal(&self, thickness: Thickness, material: Material) -> Option<String> {
        let millimetres = thickness.millimetres();
        let is_round = |step: f64| {
            let steps = millimetres / step;
            (steps - steps.round()).abs() * step < 1e-6
        };
        if thickness.gauge().is_some()
            || thickness.nominal_gauge(material).is_some()
            || is_round(0.1)
            || is_round(25.4 / 64.0)
        {
            return None;
        }
        let other = Material::ALL.into_iter().find(|&other| thickness.nominal_gauge(other).is_some())?;
        let number = thickness.nominal_gauge(other)?.number();
        let own = GaugeSystem::of(material).gauge(number).ok()?;
        Some(format!(
            "{} is {number} ga of {other}; {number} ga of {material} is {}. If {number} ga is meant, write \"{number} ga\": it \
             is read as that of the metal beside it",
            self.context.show(millimetres),
            self.context.show(own.thickness())
        ))
    }

    /// A name: not blank, not endless.
    pub(crate) fn name(&self, name: &str) -> Option<String> {
        let trimmed = name.trim();
        if trimmed.is_empty() {
            self.fault("is blank", "Give it a name, which labels it in the report and the drawings");
            return None;
        }
        if trimmed.chars().count() > 100 || trimmed.chars().any(char::is_control) {
            self.fault(format!("\"{}\" is no usable name", shortened(name)), "Use at most 100 characters, on one line");
            return None;
        }
        Some(trimmed.to_owned())
    }

    fn in_words(&self, length: &Length) -> String {
        match length {
            Length::Number(number) => format!("{} {}", number_in_words(*number), self.context.unit),
            Length::Text(text) => format!("\"{}\"", shortened(text)),
        }
    }
}

/// A number as a message may show it: 1e308 has more zeros than a line holds.
pub(crate) fn number_in_words(number: f64) -> String {
    if number != 0.0 && !(1e-4..1e9).contains(&number.abs()) { format!("{number:e}") } else { number.to_string() }
}
