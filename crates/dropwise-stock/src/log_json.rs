//! The whole log as one JSON document: every event, exact.

use dropwise_geometry::{Shape, Unit, shortened};
use dropwise_model::Money;
use dropwise_shop::{Coinage, Thickness};
use serde::{Deserialize, Serialize};

use crate::actions::price_fault;
use crate::cut::grave_faults;
use crate::error::{StockError, StockFault};
use crate::log::check_text;
use crate::projection::replay;
use crate::{Change, Currency, DetailFault, Details, Event, EventNumber, StockLog, currency, projection_table};

/// What stands in the document's `format`.
pub const LOG_FORMAT: &str = "dropwise stock log";

/// The version this library writes, and the newest it reads.
pub const LOG_VERSION: u32 = 3;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    format: String,
    version: u32,
    /// Not in version 1.
    #[serde(default)]
    currency: CurrencyKeys,
    /// Unit of length that is spoken; not before version 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    unit: Option<String>,
    events: Vec<Event>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CurrencyKeys {
    name: String,
    decimals: u8,
}

impl Default for CurrencyKeys {
    fn default() -> Self {
        Currency::default().into()
    }
}

impl From<Currency> for CurrencyKeys {
    fn from(currency: Currency) -> Self {
        Self { name: currency.name, decimals: currency.coinage.decimals() }
    }
}

/// What a document of any version has.
#[derive(Deserialize)]
struct Head {
    format: Option<String>,
    version: Option<u32>,
}

impl StockLog {
    /// All events as a JSON document. Read into an empty log by [`StockLog::import_json`], it makes the same log: written
    /// out again, the same text.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn export_json(&self) -> Result<String, StockError> {
        let currency = self.currency()?.into();
        let unit = self.unit()?.map(|unit| unit.to_string());
        let document =
            Document { format: LOG_FORMAT.to_owned(), version: LOG_VERSION, currency, unit, events: self.events()? };
        let text = serde_json::to_string_pretty(&document);
        let mut text = text.map_err(|error| StockFault::BadValue { what: error.to_string() }.at(self.path()))?;
        text.push('\n');
        Ok(text)
    }

    /// Reads a whole log into this one, which must be empty. Returns how many events it holds now.
    ///
    /// # Errors
    /// [`StockFault::NotEmpty`], [`StockFault::Document`], [`StockFault::NewerDocument`], [`StockFault::Impossible`] when the
    /// events do not follow on each other, [`StockFault::BadEvent`] for an event with metal that cannot be.
    pub fn import_json(&mut self, text: &str) -> Result<usize, StockError> {
        self.write(|writing| {
            let (last, _) = projection_table::latest(writing.transaction)?;
            if last != EventNumber(0) {
                return Err(StockFault::NotEmpty { events: last.0 });
            }
            let Read { currency, unit, events } = read_document(text)?;
            currency::put(writing.transaction, &currency)?;
            if unit.is_some() {
                crate::unit::put(writing.transaction, unit)?;
            }
            // First as a whole: what follows assumes that each event can be.
            replay(&events).map_err(|(event, misfit)| StockFault::Impossible { event, misfit })?;
            for event in &events {
                let faults = faults_of(&event.change);
                if !faults.is_empty() {
                    return Err(StockFault::BadEvent { event: event.number, faults });
                }
                check_text("a cause", &event.cause)?;
                writing.insert(event)?;
            }
            Ok(events.len())
        })
    }
}

/// What of the metal and money in an event could never have been recorded.
fn faults_of(change: &Change) -> Vec<DetailFault> {
    match change {
        Change::Bought { sheets } => sheets
            .iter()
            .flat_map(|sheet| [details_faults(&sheet.details), price_faults(sheet.paid)].concat())
            .collect(),
        Change::Corrected { details, paid, .. } => {
            [details_faults(details), price_faults(paid.unwrap_or_default())].concat()
        }
        Change::Measured { shape, damage, measured_mm, .. } => {
            let outlines = damage.iter().map(|zone| Shape::new(zone.clone(), Vec::new()));
            let found = std::iter::once(shape.clone()).chain(outlines).flat_map(|shape| shape.faults());
            let thickness = measured_mm.filter(|&measured| Thickness::new(measured).is_err());
            found.map(DetailFault::Shape).chain(thickness.map(DetailFault::MeasuredThickness)).collect()
        }
        Change::Cut { sheets, .. } => {
            let money = sheets.iter().flat_map(|sheet| price_faults(sheet.charged));
            let leftovers = sheets.iter().flat_map(|sheet| &sheet.leftovers);
            let pieces = leftovers.flat_map(|piece| {
                let shapes = grave_faults(&piece.details.shape);
                let others = details_faults(&piece.details);
                // Of an outline only what recording a cut refuses too.
                let others = others.into_iter().filter(|fault| !matches!(fault, DetailFault::Shape(_)));
                shapes.into_iter().chain(others).chain(price_faults(piece.share)).collect::<Vec<_>>()
            });
            money.chain(pieces).collect()
        }
        Change::Scrapped { proceeds, .. } => price_faults(proceeds.unwrap_or_default()),
        Change::Sold { proceeds, .. } => price_faults(*proceeds),
        Change::Moved { .. } | Change::Undone { .. } => Vec::new(),
    }
}

fn details_faults(details: &Details) -> Vec<DetailFault> {
    let mut faults = details.faults();
    if details.clone().settled() != *details {
        faults.push(DetailFault::Gauge);
    }
    faults
}

fn price_faults(paid: Money) -> Vec<DetailFault> {
    price_fault(paid).into_iter().collect()
}

/// What a document holds.
struct Read {
    currency: Currency,
    unit: Option<Unit>,
    events: Vec<Event>,
}

fn read_document(text: &str) -> Result<Read, StockFault> {
    let told = |error: &serde_json::Error| {
        let message = error.to_string();
        let message = message.split(" at line ").next().unwrap_or(&message).to_owned();
        StockFault::Document { line: error.line(), column: error.column(), message }
    };
    let foreign = || StockFault::Document {
        line: 1,
        column: 1,
        message: format!("this is no stock log: it lacks `\"format\": \"{LOG_FORMAT}\"` and a `version`"),
    };
    let head: Head = match serde_json::from_str(text) {
        Ok(head) => head,
        Err(error) if error.is_data() => return Err(foreign()),
        Err(error) => return Err(told(&error)),
    };
    match (head.format.as_deref(), head.version) {
        (Some(LOG_FORMAT), Some(found)) if found > LOG_VERSION => {
            return Err(StockFault::NewerDocument { found, known: LOG_VERSION });
        }
        (Some(LOG_FORMAT), Some(1..=LOG_VERSION)) => {}
        _ => return Err(foreign()),
    }
    let document: Document = serde_json::from_str(text).map_err(|error| told(&error))?;
    let CurrencyKeys { name, decimals } = document.currency;
    let coinage = Coinage::new(decimals).map_err(|error| StockFault::BadValue { what: error.to_string() })?;
    let no_unit = |name: &String| StockFault::BadValue { what: format!("`{}` is no unit of length", shortened(name)) };
    let unit = document.unit.map(|name| name.parse().map_err(|_| no_unit(&name))).transpose()?;
    Ok(Read { currency: Currency { name, coinage }, unit, events: document.events })
}
