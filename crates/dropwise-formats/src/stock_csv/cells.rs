//! The cells of a row.

use std::path::Path;

use csv::StringRecord;
use dropwise_geometry::{Unit, parse_length};
use dropwise_model::Money;
use dropwise_shop::{Material, Price, Thickness, parse_money};

use super::columns::{Column, Columns, word};
use super::{RowForm, StockCsvOptions, StockRow};
use crate::job_file::{Fault, JobFileError, LONGEST, Place, shortened};

/// Reads one row, keeping its faults.
pub(crate) struct RowReader<'a> {
    pub(crate) file: &'a Path,
    pub(crate) line: usize,
    pub(crate) columns: &'a Columns,
    pub(crate) record: &'a StringRecord,
    pub(crate) delimiter: u8,
    pub(crate) options: &'a StockCsvOptions,
    pub(crate) errors: Vec<JobFileError>,
}

impl RowReader<'_> {
    /// The sheet of the row; `None` when something in it is wrong.
    pub(crate) fn read(&mut self) -> Option<StockRow> {
        if self.record.len() != self.columns.count {
            let cause = match self.record.len() > self.columns.count {
                true => "A comma within a number, or a quotation mark, may have split a cell: put such cells in quotes",
                false => "A cell may be missing, or a quotation mark not closed",
            };
            let problem = format!("has {} cells, but the header has {}", self.record.len(), self.columns.count);
            self.fault(None, problem, cause);
            return None;
        }
        let name = self.name();
        let material = self.material();
        let thickness = material.and_then(|material| self.thickness(material));
        let form = self.form();
        let quantity = self.quantity();
        let price = self.price();
        let grain_deg = self.grain();
        let location = self.cell(Column::Location).unwrap_or_default().to_owned();
        let seller = self.cell(Column::Seller).unwrap_or_default().to_owned();
        let cut_charge = self.money(Column::CutCharge);
        let delivery = self.money(Column::Delivery);
        let minimum_order = self.money(Column::MinimumOrder);
        Some(StockRow {
            seller,
            cut_charge: cut_charge?,
            delivery: delivery?,
            minimum_order: minimum_order?,
            line: self.line,
            name: name?,
            material: material?,
            thickness: thickness?,
            form: form?,
            quantity: quantity?,
            price: price?,
            grain_deg: grain_deg?,
            location,
        })
    }

    /// A cell that is not blank.
    fn cell(&self, column: Column) -> Option<&str> {
        let cell = self.record.get(self.columns.index(column)?)?;
        (!cell.is_empty()).then_some(cell)
    }

    fn fault(&mut self, column: Option<Column>, problem: impl Into<String>, cure: impl Into<String>) {
        self.push(column, Fault::value(problem, cure));
    }

    fn refuse(&mut self, column: Column, message: String) {
        self.push(Some(column), Fault::Refused { message });
    }

    fn push(&mut self, column: Option<Column>, fault: Fault) {
        let mut place = Place::line(self.file, self.line);
        if let Some(column) = column {
            place.key = format!("column \"{}\"", self.columns.title(column).0);
        }
        self.errors.push(JobFileError::new(place, fault));
    }

    fn name(&mut self) -> Option<String> {
        let Some(name) = self.cell(Column::Name) else {
            let stem = self.file.file_stem().unwrap_or_default().to_string_lossy();
            return Some(format!("{stem} line {}", self.line));
        };
        if name.chars().count() > 100 || name.chars().any(char::is_control) {
            let problem = format!("\"{}\" is no usable name", shortened(name));
            self.fault(Some(Column::Name), problem, "Use at most 100 characters, on one line");
            return None;
        }
        Some(name.to_owned())
    }

    fn material(&mut self) -> Option<Material> {
        match (self.cell(Column::Material).map(str::parse::<Material>), self.options.material) {
            (Some(Ok(material)), _) | (None, Some(material)) => Some(material),
            (Some(Err(error)), _) => {
                self.refuse(Column::Material, error.to_string());
                None
            }
            (None, None) => {
                let cure = "Fill in a column \"material\", or give `defaults.material` in the job file";
                self.fault(None, "has no material", cure);
                None
            }
        }
    }

    fn thickness(&mut self, material: Material) -> Option<Thickness> {
        let (column, text) = match (self.cell(Column::Thickness), self.cell(Column::Gauge)) {
            (Some(text), _) => (Column::Thickness, self.with_point(text)),
            // A bare number in a column of gauges is a gauge.
            (None, Some(text)) if text.bytes().all(|byte| byte.is_ascii_digit()) => {
                (Column::Gauge, Ok(format!("{text} ga")))
            }
            (None, Some(text)) => (Column::Gauge, self.with_point(text)),
            (None, None) => match self.options.thickness.clone() {
                Some(text) => (Column::Thickness, Ok(text)),
                None => {
                    let cure =
                        "Fill in a column \"thickness\" or \"gauge\", or give `defaults.thickness` in the job file";
                    self.fault(None, "has no thickness", cure);
                    return None;
                }
            },
        };
        let unit = self.unit(column);
        let read = text.and_then(|text| Thickness::parse(&text, material, unit).map_err(|error| error.to_string()));
        read.map_err(|message| self.refuse(column, message)).ok()
    }

    fn unit(&self, column: Column) -> Unit {
        self.columns.title(column).1.or(self.options.unit).unwrap_or(Unit::Millimetre)
    }

    fn form(&mut self) -> Option<RowForm> {
        let drawing = self.cell(Column::Drawing).map(str::to_owned);
        let diameter = self.cell(Column::Diameter).is_some();
        let (length, width) = (self.cell(Column::Length).is_some(), self.cell(Column::Width).is_some());
        match (drawing, diameter, length || width) {
            (Some(file), false, false) => Some(RowForm::Drawing { file }),
            (None, true, false) => self.size(Column::Diameter).map(|diameter| RowForm::Circle { diameter }),
            (None, false, true) => {
                let (length, width) = (self.size(Column::Length), self.size(Column::Width));
                Some(RowForm::Rectangle { length: length?, width: width? })
            }
            (None, false, false) => {
                self.fault(None, "has no size", "Fill in length and width, or a diameter, or the name of a drawing");
                None
            }
            _ => {
                let cure = "Keep length and width, or the diameter, or the drawing, and leave the other cells blank";
                self.fault(None, "has more than one form", cure);
                None
            }
        }
    }

    fn size(&mut self, column: Column) -> Option<f64> {
        let unit = self.unit(column);
        let Some(cell) = self.cell(column) else {
            self.fault(Some(column), "is blank", format!("Fill in the {}", word(column)));
            return None;
        };
        let shown = shortened(cell);
        let read = self.with_point(cell).and_then(|text| parse_length(&text, unit).map_err(|error| error.to_string()));
        match read {
            Ok(millimetres) if millimetres > 0.0 && millimetres <= LONGEST => Some(millimetres),
            Ok(_) => {
                self.fault(Some(column), format!("is \"{shown}\""), "It must be more than zero and at most 100 m");
                None
            }
            Err(message) => {
                self.refuse(column, format!("\"{shown}\": {message}"));
                None
            }
        }
    }

    fn quantity(&mut self) -> Option<Option<u32>> {
        let Some(cell) = self.cell(Column::Quantity) else { return Some(Some(1)) };
        if cell.eq_ignore_ascii_case("unlimited") {
            return Some(None);
        }
        let shown = shortened(cell);
        // Spreadsheets like to write 3 as 3.0.
        match cell.parse::<f64>() {
            Ok(number) if number.fract() == 0.0 && (1.0..=10_000.0).contains(&number) => Some(Some(number as u32)),
            _ => {
                let cure = "Write a whole number from 1 to 10000, or \"unlimited\"; leave out what is not there";
                self.fault(Some(Column::Quantity), format!("is \"{shown}\""), cure);
                None
            }
        }
    }

    fn price(&mut self) -> Option<Option<Price>> {
        let kinds = [(Column::Price, ""), (Column::PricePerKilogram, "/kg"), (Column::PricePerPound, "/lb")];
        let given: Vec<(Column, String)> = kinds
            .into_iter()
            .filter_map(|(column, basis)| self.cell(column).map(|cell| (column, basis, cell)))
            .filter(|(_, _, cell)| !cell.eq_ignore_ascii_case("paid"))
            .map(|(column, basis, cell)| {
                (column, format!("{}{basis}", self.with_point(cell).unwrap_or(cell.to_owned())))
            })
            .collect();
        match given.as_slice() {
            [] => Some(None),
            [(column, text)] => match Price::parse(text, self.options.coinage) {
                Ok(price) if price.per_length(0.0).is_some() && price.per_area(1.0).is_none() => {
                    let cure =
                        "Give the price of the piece or by weight; write stock by length as a `strip` in the job file";
                    self.fault(Some(*column), format!("\"{}\" goes by length", shortened(text)), cure);
                    None
                }
                Ok(price) => Some(Some(price)),
                Err(error) => {
                    self.refuse(*column, format!("\"{}\": {error}", shortened(text)));
                    None
                }
            },
            _ => {
                self.fault(None, "has more than one price", "Leave all but one of its price cells blank");
                None
            }
        }
    }

    /// An amount of money; `None` within when the cell is blank.
    fn money(&mut self, column: Column) -> Option<Option<Money>> {
        let Some(cell) = self.cell(column) else { return Some(None) };
        let shown = shortened(cell);
        let coinage = self.options.coinage;
        let read =
            self.with_point(cell).and_then(|text| parse_money(&text, coinage).map_err(|error| error.to_string()));
        read.map_err(|message| self.refuse(column, format!("\"{shown}\": {message}"))).ok().map(Some)
    }

    fn grain(&mut self) -> Option<Option<f64>> {
        let Some(cell) = self.cell(Column::Grain) else { return Some(None) };
        match cell.to_lowercase().as_str() {
            "x" | "length" | "long" | "lengthwise" => return Some(Some(0.0)),
            "y" | "width" | "across" | "crosswise" => return Some(Some(90.0)),
            "unknown" | "-" | "none" => return Some(None),
            _ => {}
        }
        match cell.trim_end_matches(['°', ' ']).parse::<f64>() {
            Ok(angle) if angle.abs() <= 360.0 => Some(Some(angle)),
            _ => {
                let problem = format!("is \"{}\"", shortened(cell));
                self.fault(Some(Column::Grain), problem, "Write length, width, or an angle in degrees from the length");
                None
            }
        }
    }

    /// A cell with its decimal comma as a point, where the delimiter shows that commas are decimal.
    fn with_point(&self, cell: &str) -> Result<String, String> {
        let Some((whole, decimals)) = cell.split_once(',') else { return Ok(cell.to_owned()) };
        if self.delimiter == b',' {
            return Ok(cell.to_owned());
        }
        let digits = decimals.len() - decimals.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let is_whole = !whole.is_empty() && whole != "0" && whole.bytes().all(|byte| byte.is_ascii_digit());
        if digits == 3 && is_whole {
            let rest = &decimals[3..];
            return Err(format!(
                "\"{}\" may be {whole}{} or {whole}.{}; write one of these",
                shortened(cell),
                shortened(&format!("{}{rest}", &decimals[..3])),
                shortened(decimals)
            ));
        }
        Ok(cell.replacen(',', ".", 1))
    }
}
