//! A piece in a line of a table, and as JSON.

use dropwise_geometry::{Shape, format_length};
use dropwise_shop::stock_in_words;
use dropwise_stock::{Details, Origin, StockSheet, Timestamp};
use serde_json::{Value, json};

use super::desk::Desk;
use crate::table::Table;
use crate::text::{cleaned, shortened, width, wrapped};

/// Widths of what stands together in the first column: tag, stock, place.
const TAG: usize = 6;
const STOCK: usize = 26;

/// The first column of a table of pieces.
fn first_cell(tag: &str, stock: &str, place: &str) -> String {
    format!("{}{}{}", padded(tag, TAG), padded(&shortened(stock, STOCK - 1), STOCK), cleaned(place))
}

fn padded(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(width(text))))
}

/// A table of pieces, and what its asterisks mean.
pub(crate) fn piece_table(sheets: &[StockSheet], now: Timestamp, desk: &Desk) -> String {
    let title = first_cell("tag", "stock", "place");
    let mut table = Table::new(&[&title, "size", "days", &desk.money_title("carries")]);
    for sheet in sheets {
        let details = &sheet.details;
        table.row(vec![
            first_cell(sheet.tag.as_str(), &short_stock(details, desk), &details.place),
            size(&details.shape, desk),
            sheet.since.days_until(now).to_string(),
            desk.coinage.format(sheet.cost),
        ]);
    }
    let mut page = table.render(desk.ink);
    if sheets.iter().any(|sheet| !is_rectangle(&sheet.details.shape)) {
        page.push_str(&wrapped("", 0, "* the box around a piece of another form"));
    }
    page
}

/// Metal and thickness as the shop says them: `mild steel 11 ga`, `5052 aluminium 3 mm`, `mild steel 1/8 in`.
pub(crate) fn short_stock(details: &Details, desk: &Desk) -> String {
    match details.thickness.nominal_gauge(details.material) {
        Some(gauge) => format!("{} {gauge}", details.material),
        None if desk.unit.is_metric() => {
            let hundredths = (details.thickness.millimetres() * 100.0 + 1e-6).round() / 100.0;
            format!("{} {hundredths} mm", details.material)
        }
        None => {
            // Without the other unit, which stands behind it.
            let words = stock_in_words(details.class().label(), desk.unit);
            let words = words.split_once(" (").map_or(words.as_str(), |(short, _)| short);
            words.replacen(", ", " ", 1)
        }
    }
}

/// Whether nothing is missing from the box around a shape.
fn is_rectangle(shape: &Shape) -> bool {
    let bounds = shape.bounds();
    let box_area = bounds.width() * bounds.height();
    shape.area() >= box_area * (1.0 - 1e-9)
}

/// The box around a shape, with an asterisk where the shape is another.
pub(crate) fn size(shape: &Shape, desk: &Desk) -> String {
    let bounds = shape.bounds();
    let sides = (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()));
    let mark = if is_rectangle(shape) { "" } else { "*" };
    format!("{}{mark}", two_sides(sides, desk))
}

/// Length and width, the unit once.
pub(crate) fn two_sides((length, width): (f64, f64), desk: &Desk) -> String {
    let length = format_length(length, desk.unit);
    let number = length.strip_suffix(desk.unit.symbol()).map_or(length.as_str(), str::trim_end);
    format!("{number} × {}", format_length(width, desk.unit))
}

/// All that is known of a piece. Lengths are mm, areas mm², weights kg, money the smallest coin.
pub(crate) fn piece_json(sheet: &StockSheet, now: Timestamp) -> Value {
    let details = &sheet.details;
    let bounds = details.shape.bounds();
    let (paid, from) = match sheet.origin {
        Origin::Bought { paid } => (Some(paid.coins()), None),
        Origin::LeftOver { from } => (None, Some(from.to_string())),
    };
    json!({
        "tag": sheet.tag,
        "state": sheet.state.name(),
        "class": details.class().label(),
        "length": bounds.width().max(bounds.height()),
        "width": bounds.width().min(bounds.height()),
        "area": details.area(),
        "weight": details.weight(),
        "cost": sheet.cost.coins(),
        "paid": paid,
        "left_over_from": from,
        "purchase": sheet.purchase,
        "since": sheet.since,
        "days": sheet.since.days_until(now),
        "touched": sheet.touched,
        "revision": sheet.revision,
        "details": details,
    })
}

/// A piece in a sentence: `mild steel, 11 ga (3.04 mm, 0.120 in), 780 × 520 mm, 9.68 kg`.
pub(crate) fn in_words(details: &Details, desk: &Desk) -> String {
    format!(
        "{}, {}, {}",
        stock_in_words(details.class().label(), desk.unit),
        size(&details.shape, desk).trim_end_matches('*'),
        desk.weight(details.weight())
    )
}

/// JSON as it is printed.
pub(crate) fn json_page(value: &Value) -> String {
    format!("{value:#}\n")
}
