//! Lists of sheets as a spreadsheet exports them: CSV with commas, semicolons or tabs.
//!
//! The first line names the columns, in the words of the trade and in any order; a unit may stand in a name, as in
//! `Length (in)` or `width_mm`. Cells may hold lengths with units of their own. Where the delimiter is no comma, a comma
//! in a number is a decimal comma.
//!
//! # Source
//! Quoting as in RFC 4180; delimiters, byte order marks, UTF-16 and the `sep=` line as spreadsheets write them (common
//! practice, no source).

mod cells;
mod columns;
#[cfg(test)]
mod tests;

use std::path::Path;

use dropwise_geometry::{Outline, Shape, Unit};
use dropwise_model::Money;
use dropwise_shop::{Coinage, Material, Price, Thickness};

use crate::drawing::Severity;
use crate::job_file::{Fault, JobFileError, Note, Place};
pub(crate) use cells::RowReader;
pub(crate) use columns::Columns;

/// Bytes of the largest list that is read.
pub const LARGEST_LIST: u64 = 16 << 20;

/// Most sheets that a list may hold.
pub const MOST_ROWS: usize = 10_000;

/// What a list does not say itself.
#[derive(Clone, Debug, Default)]
pub struct StockCsvOptions {
    /// Unit of bare numbers whose column names none; millimetres when `None`.
    pub unit: Option<Unit>,
    /// Decimals of the currency.
    pub coinage: Coinage,
    /// Material of rows that name none.
    pub material: Option<Material>,
    /// Thickness of rows that name none: a gauge, or a length with its unit.
    pub thickness: Option<String>,
    /// Whether these are offers. Only then are the seller and what an order costs read: in a list of what lies in the rack
    /// such columns tell of the past, in any form, and are remarks.
    pub is_offers: bool,
}

/// A list that was read.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct StockList {
    /// The sheets, in the order of the file: at least one.
    pub rows: Vec<StockRow>,
    /// What to tell: columns that were not used.
    pub notes: Vec<Note>,
}

/// A sheet of a list.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct StockRow {
    /// Line it begins on, counted from 1.
    pub line: usize,
    /// Its name; the file's name and the line where the list gives none.
    pub name: String,
    /// What it is made of.
    pub material: Material,
    /// How thick it is.
    pub thickness: Thickness,
    /// Its form.
    pub form: RowForm,
    /// How many there are; `None` for as many as wanted.
    pub quantity: Option<u32>,
    /// Its price; `None` when it is paid for.
    pub price: Option<Price>,
    /// Direction of the grain, degrees from its length.
    pub grain_deg: Option<f64>,
    /// Where it lies; may be empty.
    pub location: String,
    /// Who sells it, of an offer; may be empty.
    pub seller: String,
    /// What the seller asks for cutting it, of an offer.
    pub cut_charge: Option<Money>,
    /// What bringing an order of this seller costs, of an offer.
    pub delivery: Option<Money>,
    /// The least that an order is billed at by this seller, of an offer.
    pub minimum_order: Option<Money>,
}

/// The form of a sheet in a list.
#[derive(Clone, Debug, PartialEq)]
pub enum RowForm {
    /// A rectangle, mm.
    Rectangle {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
    },
    /// A disc, mm.
    Circle {
        /// Its diameter.
        diameter: f64,
    },
    /// An outline in a drawing, named from the folder of the list.
    Drawing {
        /// Name of the file.
        file: String,
    },
    /// Outlines that were told one by one; no list in CSV has any.
    Outlines {
        /// The outlines with their holes, mm.
        shapes: Vec<Shape>,
        /// Zones to stay out of, for each of them.
        damage: Vec<Vec<Outline>>,
    },
}

/// Reads a list of sheets. `file` names it in messages and is not opened.
///
/// # Errors
/// Every fault, with its line: of the columns first, and when they are sound, of each row.
pub fn read_stock_csv(file: &Path, bytes: &[u8], options: &StockCsvOptions) -> Result<StockList, Vec<JobFileError>> {
    let at_line = |line: usize, fault: Fault| vec![JobFileError::new(Place::line(file, line), fault)];
    let text = decode(bytes).map_err(|fault| vec![JobFileError::new(Place::file(file), fault)])?;
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let (text, told, skipped) = told_delimiter(&text);
    let delimiter = told.unwrap_or_else(|| guess_delimiter(text));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut lines = Lines { text, offset: 0, line: 1 };
    let mut columns: Option<Columns> = None;
    let (mut rows, mut errors, mut notes) = (Vec::new(), Vec::new(), Vec::new());
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                let line = error.position().map_or(1, |position| position.line() as usize) + skipped;
                return Err(at_line(line, Fault::Syntax { message: format!("this is not CSV: {error}") }));
            }
        };
        let line = lines.of(record.position().map_or(0, |position| position.byte() as usize)) + skipped;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let Some(columns) = &columns else {
            let (found, found_notes) = Columns::read(&record, file, line, options.is_offers)?;
            columns = Some(found);
            notes = found_notes;
            continue;
        };
        if rows.len() + errors.len() >= MOST_ROWS {
            let cure = "Split it, or leave out what this job cannot use";
            return Err(at_line(line, Fault::value(format!("holds more than {MOST_ROWS} sheets"), cure)));
        }
        let mut row = RowReader { file, line, columns, record: &record, delimiter, options, errors: Vec::new() };
        match row.read() {
            Some(read) if row.errors.is_empty() => rows.push(read),
            _ => errors.append(&mut row.errors),
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    if rows.is_empty() {
        let problem = if columns.is_some() { "has a header but no sheets below it" } else { "is empty" };
        let cure = "The first line names the columns, such as name, material, thickness, length, width; each further \
                    line is a sheet";
        return Err(at_line(1, Fault::value(problem, cure)));
    }
    Ok(StockList { rows, notes })
}

/// Text of a file in UTF-8 or UTF-16, its byte order mark removed.
fn decode(bytes: &[u8]) -> Result<String, Fault> {
    let utf16 = |read: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes[2..].chunks_exact(2).map(|pair| read([pair[0], pair[1]])).collect();
        String::from_utf16(&units).map_err(|_| Fault::NotText { offset: 0 })
    };
    match bytes {
        [0xFF, 0xFE, ..] => utf16(u16::from_le_bytes),
        [0xFE, 0xFF, ..] => utf16(u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => Ok(text.strip_prefix('\u{feff}').unwrap_or(text).to_owned()),
            Err(error) => Err(Fault::NotText { offset: error.valid_up_to() }),
        },
    }
}

/// The text after a line `sep=;`, the delimiter it tells, and how many lines were skipped.
fn told_delimiter(text: &str) -> (&str, Option<u8>, usize) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    match first.trim_end().as_bytes() {
        [b's', b'e', b'p', b'=', delimiter @ (b',' | b';' | b'\t' | b'|')] => (rest, Some(*delimiter), 1),
        _ => (text, None, 0),
    }
}

/// The delimiter that the header uses most, outside quotes.
fn guess_delimiter(text: &str) -> u8 {
    let header = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let mut is_quoted = false;
    let mut counts = [(b';', 0), (b'\t', 0), (b',', 0)];
    for byte in header.bytes() {
        if byte == b'"' {
            is_quoted = !is_quoted;
        } else if !is_quoted && let Some((_, count)) = counts.iter_mut().find(|(delimiter, _)| *delimiter == byte) {
            *count += 1;
        }
    }
    // Of equals the last: a comma, when there is no delimiter at all.
    counts.into_iter().max_by_key(|(_, count)| *count).map_or(b',', |(delimiter, _)| delimiter)
}

/// Numbers of lines, for offsets that grow. The reader's own count is off by blank lines before a row.
pub(crate) struct Lines<'a> {
    pub(crate) text: &'a str,
    pub(crate) offset: usize,
    pub(crate) line: usize,
}

impl Lines<'_> {
    /// The line of the first row at or after an offset, counted from 1.
    pub(crate) fn of(&mut self, offset: usize) -> usize {
        let bytes = self.text.as_bytes();
        let blanks = bytes[offset.min(bytes.len())..].iter().take_while(|byte| **byte == b'\n').count();
        let end = (offset + blanks).clamp(self.offset, bytes.len());
        self.line += bytes[self.offset..end].iter().filter(|byte| **byte == b'\n').count();
        self.offset = end;
        self.line
    }
}

fn info(file: &Path, line: usize, text: String) -> Note {
    Note { severity: Severity::Info, place: Place::line(file, line), text }
}
