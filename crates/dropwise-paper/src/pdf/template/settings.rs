//! What may be chosen about templates, and what may be wrong with it.

use dropwise_geometry::Vector;
use thiserror::Error;

use crate::details::{BendLine, HoleNote, LengthStyle};
use crate::pdf::paper::{LONGEST_PAGE, Paper};

/// What a template is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TemplateOf {
    /// One part of the job, by its index.
    Part(usize),
    /// One sheet of the plan with all that lies on it, by its index in the layout.
    Sheet(usize),
}

/// What makes up for a printer that prints slightly off: what a length must be multiplied by to come out true.
///
/// Print once without, measure the square on the first page, and divide what it should be by what it is: a square of
/// 100 mm that measures 99.2 needs 100/99.2 = 1.0081.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PrinterCorrection {
    /// From left to right on the page as it is read.
    pub across: f64,
    /// From bottom to top.
    pub upright: f64,
}

impl Default for PrinterCorrection {
    /// None.
    fn default() -> Self {
        Self { across: 1.0, upright: 1.0 }
    }
}

/// What may be chosen about templates.
#[derive(Clone, Debug, PartialEq)]
pub struct TemplateSettings<'a> {
    /// What is in the printer.
    pub paper: Paper,
    /// How lengths are written. The ruled square is 100 mm, or 4 in beside inches and feet.
    pub lengths: LengthStyle,
    /// What the printer leaves white along each edge of the paper, mm.
    pub margin: f64,
    /// How far neighbouring pages reach over each other, mm.
    pub overlap: f64,
    /// What makes up for the printer.
    pub correction: PrinterCorrection,
    /// Bends of the job's parts; those of other parts than are printed are passed over.
    pub bends: &'a [BendLine],
    /// Holes that are countersunk or flared; those of other parts than are printed are passed over.
    pub hole_notes: &'a [HoleNote],
    /// What the job is called.
    pub job_name: &'a str,
    /// The number of the plan, which stands on every page; may be empty.
    pub plan_number: &'a str,
    /// More pages than this are refused.
    pub most_pages: usize,
}

impl Default for TemplateSettings<'_> {
    /// A4, millimetres, 8 mm white, 12 mm overlap, no correction, no bends, 400 pages.
    fn default() -> Self {
        Self {
            paper: Paper::A4,
            lengths: LengthStyle::default(),
            margin: 8.0,
            overlap: 12.0,
            correction: PrinterCorrection::default(),
            bends: &[],
            hole_notes: &[],
            job_name: "",
            plan_number: "",
            most_pages: 400,
        }
    }
}

/// Why a template cannot be printed.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum TemplateError {
    /// A number out of its range.
    #[error("{what} is {value}; it must be from {least} to {most}")]
    OutOfRange {
        /// Which.
        what: &'static str,
        /// What it is.
        value: f64,
        /// The least it may be.
        least: f64,
        /// The most it may be.
        most: f64,
    },
    /// There is no such part or sheet.
    #[error("there is no {kind} number {index}; there are {count}")]
    NoSuch {
        /// "part" or "sheet".
        kind: &'static str,
        /// Its index.
        index: usize,
        /// How many there are.
        count: usize,
    },
    /// It would take too much paper.
    #[error("{name} takes {pages} pages at true size on {paper}; at most {most} are printed")]
    TooManyPages {
        /// Part or sheet.
        name: String,
        /// What it would take.
        pages: usize,
        /// The paper.
        paper: String,
        /// What is allowed.
        most: usize,
    },
}

/// Narrowest roll, mm: the first page with the ruled square and the map needs it.
const NARROWEST_ROLL: f64 = 200.0;

impl TemplateSettings<'_> {
    /// All that is wrong with them.
    pub(super) fn faults(&self) -> Vec<TemplateError> {
        let mut checks = vec![
            ("the white edge, in mm,", self.margin, 0.0, 25.0),
            ("the overlap, in mm,", self.overlap, 6.0, 40.0),
            ("the printer's correction across", self.correction.across, 0.9, 1.1),
            ("the printer's correction upright", self.correction.upright, 0.9, 1.1),
        ];
        if let Paper::Roll { width } = self.paper {
            checks.push(("the width of the roll, in mm,", width, NARROWEST_ROLL, LONGEST_PAGE));
        }
        checks
            .into_iter()
            .filter(|&(_, value, least, most)| !(least..=most).contains(&value))
            .map(|(what, value, least, most)| TemplateError::OutOfRange { what, value, least, most })
            .collect()
    }
}

/// How a page is divided, mm of paper: a window with a strip above it for words and one below for a rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PageForm {
    pub(super) size: Vector,
    pub(super) margin: f64,
}

impl PageForm {
    /// Height of the strip above the window.
    pub(super) const HEAD: f64 = 15.0;
    /// Height of the strip below it.
    pub(super) const FOOT: f64 = 7.0;

    /// Size of the window on paper.
    pub(super) fn window(self) -> Vector {
        let white = 2.0 * self.margin;
        Vector::new(self.size.x - white, self.size.y - white - Self::HEAD - Self::FOOT)
    }
}
