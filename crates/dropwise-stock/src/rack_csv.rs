//! What lies in the rack as CSV: a line for each piece, exact, in millimetres and coins.
//!
//! # Source
//! Quoting as in RFC 4180.

use dropwise_geometry::{Outline, Point, Shape, shortened};
use dropwise_model::Money;
use dropwise_shop::{GaugeSystem, Material, Thickness};

use crate::actions::new_sheet_faults;
use crate::encoding::{outlines_text, read_outlines, read_shape, shape_text};
use crate::error::{StockError, StockFault};
use crate::{Details, NewSheet, State, StockLog, StockSheet};

/// The columns that are written. All but the last three are read; in place of `shape`, `length_mm` and `width_mm` are
/// read too.
pub const RACK_COLUMNS: [&str; 21] = [
    "tag",
    "material",
    "grade",
    "thickness_mm",
    "gauge",
    "measured_mm",
    "coating",
    "grain_deg",
    "place",
    "cost_coins",
    "since",
    "supplier",
    "heat_number",
    "certificate",
    "photo",
    "notes",
    "shape",
    "damage",
    "area_mm2",
    "weight_kg",
    "left_over_from",
];

/// A line of a rack file that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct RackRow {
    /// Line it begins on, counted from 1.
    pub line: u64,
    /// The piece.
    pub sheet: NewSheet,
}

/// A line of a rack file that cannot be recorded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RejectedRow {
    /// Line it begins on, counted from 1.
    pub line: u64,
    /// All that is wrong with it.
    pub faults: Vec<String>,
}

/// What a rack file holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RackFile {
    /// Pieces that may be recorded, as far as the file alone tells.
    pub rows: Vec<RackRow>,
    /// Lines that cannot be.
    pub rejected: Vec<RejectedRow>,
}

impl StockLog {
    /// The pieces in the rack as CSV, by tag. Read by [`read_rack_csv`] and bought into an empty log, they make a rack that
    /// is written out as the same text, except that pieces left over count as bought there, for what they carry.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn export_csv(&self) -> Result<String, StockError> {
        let sheets = self.sheets(Some(State::InRack))?;
        let write = || -> Result<String, csv::Error> {
            let mut writer = csv::Writer::from_writer(Vec::new());
            writer.write_record(RACK_COLUMNS)?;
            for sheet in &sheets {
                writer.write_record(cells(sheet))?;
            }
            let bytes = writer.into_inner().map_err(|error| error.into_error())?;
            Ok(String::from_utf8_lossy(&bytes).into_owned())
        };
        write().map_err(|error| StockFault::BadValue { what: error.to_string() }.at(self.path()))
    }
}

fn cells(sheet: &StockSheet) -> [String; 21] {
    let details = &sheet.details;
    let optional = |number: Option<f64>| number.map_or_else(String::new, |number| number.to_string());
    let from = match sheet.origin {
        crate::Origin::Bought { .. } => String::new(),
        crate::Origin::LeftOver { from } => from.to_string(),
    };
    [
        sheet.tag.to_string(),
        details.material.name().to_owned(),
        words(&details.grade),
        details.thickness.millimetres().to_string(),
        details.thickness.gauge().map_or_else(String::new, |gauge| gauge.number().to_string()),
        optional(details.measured_mm),
        words(&details.coating),
        optional(details.grain_deg),
        words(&details.place),
        sheet.cost.coins().to_string(),
        sheet.since.to_string(),
        words(&details.supplier),
        words(&details.heat_number),
        words(&details.certificate),
        words(&details.photo),
        words(&details.notes),
        shape_text(&details.shape),
        outlines_text(&details.damage),
        details.area().to_string(),
        details.weight().to_string(),
        from,
    ]
}

/// What a spreadsheet may take for the beginning of a formula; the apostrophe, which guards it, is guarded too.
const GUARDED: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\''];

/// A cell of words as no spreadsheet takes it for a formula: an apostrophe goes before a beginning that it might. So told,
/// [`unguarded`] brings back every text as it was.
fn words(text: &str) -> String {
    if text.starts_with(GUARDED) { format!("'{text}") } else { text.to_owned() }
}

/// The text of a cell of words. An apostrophe that guards nothing stays: people write names so.
fn unguarded(cell: &str) -> &str {
    cell.strip_prefix('\'').filter(|rest| rest.starts_with(GUARDED)).unwrap_or(cell)
}

/// Reads a rack file. Columns may stand in any order, and those that are not known are left out; `material` and a
/// thickness must be there, and a `shape` or both of `length_mm` and `width_mm`. Nothing is recorded: pass the rows to
/// [`StockLog::check_purchase`] or [`StockLog::buy`].
///
/// # Errors
/// [`StockFault::Document`] when it is no CSV, or lacks a column that must be there.
pub fn read_rack_csv(text: &str) -> Result<RackFile, StockFault> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let fault = |line: u64, message: String| StockFault::Document { line: line as usize, column: 1, message };
    let line_of = |error: &csv::Error| error.position().map_or(1, csv::Position::line);
    let columns = reader.headers().map_err(|error| fault(line_of(&error), error.to_string()))?.clone();
    let has = |name: &str| columns.iter().any(|column| column.trim() == name);
    for (is_there, wanted) in [
        (has("material"), "material"),
        (has("thickness_mm") || has("gauge"), "thickness_mm"),
        (has("shape") || (has("length_mm") && has("width_mm")), "shape"),
    ] {
        if !is_there {
            return Err(fault(1, format!("the column `{wanted}` is missing; the first line names the columns")));
        }
    }
    let mut file = RackFile::default();
    for record in reader.records() {
        let record = record.map_err(|error| fault(line_of(&error), error.to_string()))?;
        let line = record.position().map_or(1, csv::Position::line);
        let mut row = Row { columns: &columns, record: &record, faults: Vec::new() };
        if record.len() != columns.len() {
            row.faults.push(format!("it has {} cells, the first line has {}", record.len(), columns.len()));
        }
        match row.read() {
            Some(sheet) if row.faults.is_empty() => file.rows.push(RackRow { line, sheet }),
            _ => file.rejected.push(RejectedRow { line, faults: row.faults }),
        }
    }
    Ok(file)
}

struct Row<'a> {
    columns: &'a csv::StringRecord,
    record: &'a csv::StringRecord,
    faults: Vec<String>,
}

impl Row<'_> {
    /// The piece; `None`, with faults told, where not even a piece can be made of it.
    fn read(&mut self) -> Option<NewSheet> {
        let material = self.value::<Material>("material");
        if self.cell("material").trim().is_empty() {
            self.faults.push("material: it is missing".to_owned());
        }
        let thickness = material.and_then(|material| self.thickness(material));
        let shape = self.shape();
        let damage = self.json("damage", read_outlines).unwrap_or_default();
        let (tag, since) = (self.value("tag"), self.value("since"));
        let (measured_mm, grain_deg) = (self.value("measured_mm"), self.value("grain_deg"));
        let paid = Money::from_coins(self.value("cost_coins").unwrap_or(0));
        // Spreadsheets write line breaks within cells their own way.
        let text = |name: &str| unguarded(self.cell(name)).replace("\r\n", "\n");
        let details = Details {
            damage,
            grade: text("grade"),
            measured_mm,
            coating: text("coating"),
            grain_deg,
            place: text("place"),
            supplier: text("supplier"),
            heat_number: text("heat_number"),
            certificate: text("certificate"),
            photo: text("photo"),
            notes: text("notes"),
            ..Details::new(shape?, material?, thickness?)
        };
        let sheet = NewSheet { tag, details, paid, since };
        self.faults.extend(new_sheet_faults(&sheet).iter().map(ToString::to_string));
        Some(sheet)
    }

    fn cell(&self, name: &str) -> &str {
        let index = self.columns.iter().position(|column| column.trim() == name);
        index.and_then(|index| self.record.get(index)).unwrap_or_default()
    }

    /// The value of a cell that may be empty.
    fn value<T: std::str::FromStr<Err: ToString>>(&mut self, name: &'static str) -> Option<T> {
        let cell = self.cell(name).trim();
        if cell.is_empty() {
            return None;
        }
        let read =
            cell.parse().map_err(|error: T::Err| format!("{name}: `{}`: {}", shortened(cell), error.to_string()));
        read.map_err(|fault| self.faults.push(fault)).ok()
    }

    fn json<T>(&mut self, name: &str, read: fn(&str) -> Result<T, serde_json::Error>) -> Option<T> {
        let cell = self.cell(name).trim();
        if cell.is_empty() {
            return None;
        }
        read(cell).map_err(|error| self.faults.push(format!("{name}: {}", shortened(&error.to_string())))).ok()
    }

    fn thickness(&mut self, material: Material) -> Option<Thickness> {
        if let Some(number) = self.value::<u32>("gauge") {
            let gauge = GaugeSystem::of(material).gauge(number);
            return gauge.map_err(|error| self.faults.push(format!("gauge: {error}"))).ok().map(Into::into);
        }
        let Some(millimetres) = self.value::<f64>("thickness_mm") else {
            self.faults.push("thickness_mm: it is missing".to_owned());
            return None;
        };
        Thickness::new(millimetres).map_err(|error| self.faults.push(format!("thickness_mm: {error}"))).ok()
    }

    fn shape(&mut self) -> Option<Shape> {
        if !self.cell("shape").trim().is_empty() {
            return self.json("shape", read_shape);
        }
        let (length, width) = (self.value::<f64>("length_mm"), self.value::<f64>("width_mm"));
        match (length, width) {
            (Some(length), Some(width)) if length > 0.0 && width > 0.0 => {
                Some(Shape::new(Outline::rectangle(Point::ORIGIN, length, width), Vec::new()))
            }
            _ => {
                self.faults.push("shape: neither an outline nor a length and a width above zero".to_owned());
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_a_formula_and_every_text_comes_back() {
        for (text, cell) in [
            ("rack B", "rack B"),
            ("=cmd|' /C calc'!A0", "'=cmd|' /C calc'!A0"),
            ("+1", "'+1"),
            ("-", "'-"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "'\t=1"),
            ("'tis", "''tis"),
            ("'=1", "''=1"),
            ("''", "'''"),
            ("", ""),
        ] {
            assert_eq!((words(text).as_str(), unguarded(&words(text))), (cell, text));
        }
        // Written by hand, with no need.
        assert_eq!(unguarded("'rack B"), "'rack B");
    }
}
