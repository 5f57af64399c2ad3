//! Which column holds what.

use std::path::Path;

use csv::StringRecord;
use dropwise_geometry::Unit;

use super::info;
use crate::job_file::{Fault, JobFileError, Note, Place, nearest, shortened};

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Column {
    Name,
    Material,
    Thickness,
    Gauge,
    Length,
    Width,
    Diameter,
    Drawing,
    Quantity,
    Price,
    PricePerKilogram,
    PricePerPound,
    Grain,
    Location,
    /// Who sells it. This and what follows is read of offers; in a list of what lies in the rack it is a remark.
    Seller,
    /// What the seller asks for cutting it.
    CutCharge,
    /// What bringing an order costs.
    Delivery,
    /// The least that an order is billed at.
    MinimumOrder,
    /// Known, and of no use here.
    Remark,
}

impl Column {
    /// Whether only lists of offers have such a column.
    fn is_of_offers(self) -> bool {
        matches!(self, Self::Seller | Self::CutCharge | Self::Delivery | Self::MinimumOrder)
    }
}

/// What columns are called, the usual word first. Common practice, no source.
const NAMES: [(Column, &[&str]); 19] = [
    (
        Column::Name,
        &["name", "id", "tag", "mark", "sheet", "piece", "drop", "no", "number", "stock no", "label", "item"],
    ),
    (Column::Material, &["material", "metal", "alloy", "grade", "type"]),
    (Column::Thickness, &["thickness", "thick", "thk", "t"]),
    (Column::Gauge, &["gauge", "ga", "gage"]),
    (Column::Length, &["length", "long", "len", "l", "x", "size x"]),
    (Column::Width, &["width", "wide", "wid", "w", "height", "h", "y", "size y"]),
    (Column::Diameter, &["diameter", "dia", "round", "d"]),
    (Column::Drawing, &["drawing", "outline", "dxf", "svg", "file"]),
    (Column::Quantity, &["quantity", "qty", "count", "pcs", "pieces", "amount", "on hand", "in stock"]),
    (Column::Price, &["price", "cost", "price each", "unit price", "price per piece", "each"]),
    (Column::PricePerKilogram, &["price per kg", "price kg", "per kg", "cost per kg"]),
    (Column::PricePerPound, &["price per lb", "price lb", "per lb", "cost per lb", "price per pound"]),
    (Column::Grain, &["grain", "grain direction"]),
    (Column::Location, &["location", "rack", "bin", "shelf", "where", "place", "bay"]),
    (Column::Seller, &["seller", "supplier", "vendor", "yard", "sold by"]),
    (Column::CutCharge, &["cut charge", "cutting charge", "cut fee", "shearing"]),
    (Column::Delivery, &["delivery", "delivery charge", "carriage", "freight"]),
    (Column::MinimumOrder, &["minimum order", "order minimum", "least order"]),
    (
        Column::Remark,
        &["remark", "remarks", "note", "notes", "comment", "comments", "date", "heat", "heat number", "weight", "area"],
    ),
];

/// A column with its place and its unit.
#[derive(Clone, Debug)]
struct Found {
    column: Column,
    index: usize,
    unit: Option<Unit>,
    title: String,
}

/// The columns of a list.
#[derive(Clone, Debug)]
pub(crate) struct Columns {
    found: Vec<Found>,
    /// How many the header has.
    pub(super) count: usize,
}

impl Columns {
    /// Reads the header.
    ///
    /// # Errors
    /// All its faults.
    pub(crate) fn read(
        header: &StringRecord,
        file: &Path,
        line: usize,
        is_offers: bool,
    ) -> Result<(Self, Vec<Note>), Vec<JobFileError>> {
        let (mut found, mut errors, mut notes): (Vec<Found>, _, _) = (Vec::new(), Vec::new(), Vec::new());
        let mut fault = |problem: String, cure: String| {
            errors.push(JobFileError::new(Place::line(file, line), Fault::value(problem, cure)));
        };
        for (index, title) in header.iter().enumerate() {
            if title.is_empty() {
                continue;
            }
            let shown = shortened(title);
            let (name, unit) = name_and_unit(title);
            match column_of(&name) {
                Some(Column::Remark) => {}
                Some(column) if !is_offers && column.is_of_offers() => {}
                Some(column) => match found.iter().find(|other| other.column == column) {
                    Some(other) => fault(
                        format!("columns \"{}\" and \"{shown}\" both hold the {}", other.title, word(column)),
                        "Rename or remove one of them".to_owned(),
                    ),
                    None => found.push(Found { column, index, unit, title: shown }),
                },
                None => {
                    match nearest(&name, NAMES.iter().flat_map(|(_, names)| *names).copied().filter(|n| n.len() > 3)) {
                        Some(known) => fault(
                            format!("column \"{shown}\" is not known"),
                            format!("Did you mean \"{known}\"? If it is of no use here, call it \"remarks\""),
                        ),
                        None => notes.push(info(file, line, format!("column \"{shown}\" is not used"))),
                    }
                }
            }
        }
        let columns = Self { found, count: header.len() };
        // A mistyped column was reported; that it is missing too need not be.
        if errors.is_empty()
            && let Some(problem) = columns.lack_of_size()
        {
            let cure = "Name columns \"length\" and \"width\", or \"diameter\", or \"drawing\", in the first line";
            errors.push(JobFileError::new(Place::line(file, line), Fault::value(problem, cure)));
        }
        if errors.is_empty() { Ok((columns, notes)) } else { Err(errors) }
    }

    /// Whether a column of this title would be read.
    pub(crate) fn is_known(title: &str) -> bool {
        column_of(&name_and_unit(title).0).is_some()
    }

    /// Whether a column of this title tells a size.
    pub(crate) fn is_size(title: &str) -> bool {
        let sizes = [Column::Length, Column::Width, Column::Diameter, Column::Drawing];
        column_of(&name_and_unit(title).0).is_some_and(|column| sizes.contains(&column))
    }

    /// Which size no column holds, if none holds enough.
    fn lack_of_size(&self) -> Option<&'static str> {
        let has = |column| self.index(column).is_some();
        match (has(Column::Length), has(Column::Width)) {
            _ if has(Column::Diameter) || has(Column::Drawing) => None,
            (true, true) => None,
            (true, false) => Some("no column holds the width"),
            (false, true) => Some("no column holds the length"),
            (false, false) => Some("no column holds the size of the sheets"),
        }
    }

    pub(super) fn index(&self, column: Column) -> Option<usize> {
        self.found.iter().find(|found| found.column == column).map(|found| found.index)
    }

    /// Title and unit of a column.
    pub(super) fn title(&self, column: Column) -> (&str, Option<Unit>) {
        let found = self.found.iter().find(|found| found.column == column);
        found.map_or((word(column), None), |found| (&found.title, found.unit))
    }
}

/// The usual word for a column.
pub(super) fn word(column: Column) -> &'static str {
    NAMES.iter().find(|(known, _)| *known == column).map_or("", |(_, names)| names[0])
}

fn column_of(name: &str) -> Option<Column> {
    NAMES.iter().find(|(_, names)| names.contains(&name)).map(|(column, _)| *column)
}

/// `Length (in)`, `width_mm` and `Thickness, mm` as name and unit; the name in lower case with single blanks.
fn name_and_unit(title: &str) -> (String, Option<Unit>) {
    let spread: String = title.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let mut words: Vec<&str> = spread.split_whitespace().collect();
    if words.len() > 1
        && let Some(unit) = words.last().and_then(|word| word.parse::<Unit>().ok())
        // "price per m" is a price, "size m" a size in metres.
        && !words.contains(&"per")
    {
        words.pop();
        return (words.join(" "), Some(unit));
    }
    (words.join(" "), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_told_from_names() {
        for (title, name, unit) in [
            ("Length (in)", "length", Some(Unit::Inch)),
            ("width_mm", "width", Some(Unit::Millimetre)),
            ("  THICKNESS [mm] ", "thickness", Some(Unit::Millimetre)),
            ("Price per kg", "price per kg", None),
            ("Price/lb", "price lb", None),
            ("Qty.", "qty", None),
            ("in", "in", None),
        ] {
            assert_eq!(name_and_unit(title), (name.to_owned(), unit), "{title}");
        }
    }

    #[test]
    fn no_name_belongs_to_two_columns() {
        let mut all: Vec<&str> = NAMES.iter().flat_map(|(_, names)| *names).copied().collect();
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
    }
}
