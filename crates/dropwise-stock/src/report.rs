//! Figures of the rack and of how the metal was used.

use std::collections::{BTreeMap, BTreeSet};

use dropwise_model::Money;
use dropwise_shop::Material;

use crate::error::StockError;
use crate::projection::replay;
use crate::{
    Change, Event, EventNumber, Month, Origin, State, StockFault, StockLog, StockSheet, Tag, Timestamp,
    projection_table,
};

/// What the rack holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Value {
    /// One entry for each stock, by metal and thickness.
    pub classes: Vec<ClassValue>,
    /// All of it.
    pub total: Figures,
}

/// What the rack holds of one stock.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassValue {
    /// The metal.
    pub material: Material,
    /// Metal and nominal thickness in words.
    pub class: String,
    /// How much of it.
    pub figures: Figures,
    /// How much of it was left over of other sheets.
    pub remnants: Figures,
}

/// How much metal.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Figures {
    /// Number of pieces.
    pub count: usize,
    /// Area, mm².
    pub area: f64,
    /// Weight, kg, by true density and by measured thickness where there is one.
    pub weight: f64,
    /// What it carries of the money paid.
    pub cost: Money,
}

impl Figures {
    fn add(&mut self, sheet: &StockSheet) {
        self.count += 1;
        self.area += sheet.details.area();
        self.weight += sheet.details.weight();
        self.cost += sheet.cost;
    }
}

/// How the metal was used.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Report {
    /// One entry for each month in which metal came, was cut or went, in order.
    pub months: Vec<MonthFigures>,
    /// Where the money is: what was paid in all, and what has become of it.
    pub money: MoneyTrail,
    /// Pieces in the rack to which nothing has happened for a year, the longest first, with the days.
    pub untouched: Vec<(Tag, i64)>,
}

/// How metal was used in one month. Events that were undone do not count.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MonthFigures {
    /// The month, by the clock of the time, in universal time.
    pub month: Month,
    /// Pieces bought.
    pub bought_count: usize,
    /// Their area, mm².
    pub bought_area: f64,
    /// What was paid for them.
    pub bought_cost: Money,
    /// Sheets cut that were bought whole.
    pub new_cut: usize,
    /// Their area, mm².
    pub new_cut_area: f64,
    /// Sheets cut that were left over of others.
    pub remnants_cut: usize,
    /// Their area, mm².
    pub remnants_cut_area: f64,
    /// Area of the parts cut, mm².
    pub parts_area: f64,
    /// Area of the leftovers that went back into the rack, mm².
    pub leftover_area: f64,
    /// Area lost in the cut or binned with it, mm².
    pub scrap_area: f64,
    /// Weight that went into the bin, kg: of what was cut, and whole pieces.
    pub scrap_weight: f64,
    /// What came in for scrap and for pieces sold.
    pub proceeds: Money,
}

/// What was paid, and where it is. The last four add up to the first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MoneyTrail {
    /// Paid for all pieces bought.
    pub paid: Money,
    /// Carried by what lies in the rack.
    pub in_rack: Money,
    /// Charged to parts.
    pub parts: Money,
    /// Carried by pieces when they were scrapped whole.
    pub scrapped: Money,
    /// Carried by pieces when they were sold.
    pub sold: Money,
}

impl MonthFigures {
    fn empty(month: Month) -> Self {
        Self {
            month,
            bought_count: 0,
            bought_area: 0.0,
            bought_cost: Money::ZERO,
            new_cut: 0,
            new_cut_area: 0.0,
            remnants_cut: 0,
            remnants_cut_area: 0.0,
            parts_area: 0.0,
            leftover_area: 0.0,
            scrap_area: 0.0,
            scrap_weight: 0.0,
            proceeds: Money::ZERO,
        }
    }

    /// Area of the parts over that of the sheets cut; `None` when none was.
    #[must_use]
    pub fn yield_ratio(&self) -> Option<f64> {
        let gross = self.new_cut_area + self.remnants_cut_area;
        (gross > 0.0).then(|| self.parts_area / gross)
    }

    /// Area of the remnants among the sheets cut, from 0 to 1; `None` when none was cut.
    #[must_use]
    pub fn remnant_share(&self) -> Option<f64> {
        let gross = self.new_cut_area + self.remnants_cut_area;
        (gross > 0.0).then(|| self.remnants_cut_area / gross)
    }
}

/// Days without an event after which a piece counts as untouched.
const UNTOUCHED_DAYS: i64 = 365;

impl StockLog {
    /// What the rack holds now.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn value(&self) -> Result<Value, StockError> {
        let mut value = Value::default();
        let mut classes: BTreeMap<(Material, u64, String), ClassValue> = BTreeMap::new();
        for sheet in self.sheets(Some(State::InRack))? {
            let details = &sheet.details;
            let class = details.class().label().to_owned();
            let gauge = details.thickness.nominal_gauge(details.material);
            // A gauge by its own thickness; other stock is told apart by hundredths of a millimetre, as its label is.
            let nominal = gauge.map_or_else(
                || (details.thickness.millimetres() * 100.0 + 1e-6).round() / 100.0,
                |gauge| gauge.thickness(),
            );
            // Bits of positive doubles sort as they do.
            let entry =
                classes.entry((details.material, nominal.to_bits(), class.clone())).or_insert_with(|| ClassValue {
                    material: details.material,
                    class,
                    figures: Figures::default(),
                    remnants: Figures::default(),
                });
            entry.figures.add(&sheet);
            if sheet.is_remnant() {
                entry.remnants.add(&sheet);
            }
            value.total.add(&sheet);
        }
        value.classes = classes.into_values().collect();
        Ok(value)
    }

    /// How the metal was used since the log began, as the log's clock stands.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn report(&self) -> Result<Report, StockError> {
        let now = self.now();
        self.read(|connection| {
            let events = projection_table::events_after(connection, EventNumber(0))?;
            let sheets = replay(&events).map_err(|(event, misfit)| StockFault::Impossible { event, misfit })?;
            Ok(Report {
                months: months(&events, &sheets),
                money: money_trail(sheets.values()),
                untouched: untouched(sheets.values(), now),
            })
        })
    }
}

fn months(events: &[Event], sheets: &BTreeMap<Tag, StockSheet>) -> Vec<MonthFigures> {
    let undone: BTreeSet<EventNumber> = events
        .iter()
        .filter_map(|event| match event.change {
            Change::Undone { event } => Some(event),
            _ => None,
        })
        .collect();
    let mut months: BTreeMap<Month, MonthFigures> = BTreeMap::new();
    for event in events.iter().filter(|event| !undone.contains(&event.number)) {
        let month = event.time.month();
        let mut figures = months.get(&month).copied().unwrap_or_else(|| MonthFigures::empty(month));
        match &event.change {
            Change::Bought { sheets: bought } => {
                for piece in bought {
                    figures.bought_count += 1;
                    figures.bought_area += piece.details.area();
                    // As corrected since.
                    let paid = match sheets.get(&piece.tag).map(|sheet| sheet.origin) {
                        Some(Origin::Bought { paid }) => paid,
                        _ => piece.paid,
                    };
                    figures.bought_cost += paid;
                }
            }
            Change::Cut { sheets: cut, .. } => {
                for piece in cut {
                    if sheets.get(&piece.tag).is_some_and(StockSheet::is_remnant) {
                        figures.remnants_cut += 1;
                        figures.remnants_cut_area += piece.gross_area;
                    } else {
                        figures.new_cut += 1;
                        figures.new_cut_area += piece.gross_area;
                    }
                    figures.parts_area += piece.parts_area;
                    figures.leftover_area += piece.leftovers.iter().map(|left| left.details.area()).sum::<f64>();
                    figures.scrap_area += piece.scrap_area;
                    figures.scrap_weight += piece.scrap_kg;
                }
            }
            Change::Scrapped { weight_kg, proceeds, .. } => {
                figures.scrap_weight += weight_kg;
                figures.proceeds += proceeds.unwrap_or_default();
            }
            Change::Sold { proceeds, .. } => figures.proceeds += *proceeds,
            _ => continue,
        }
        months.insert(month, figures);
    }
    months.into_values().collect()
}

fn money_trail<'a>(sheets: impl Iterator<Item = &'a StockSheet>) -> MoneyTrail {
    let mut trail = MoneyTrail::default();
    for sheet in sheets {
        if let Origin::Bought { paid } = sheet.origin {
            trail.paid += paid;
        }
        *match sheet.state {
            State::InRack => &mut trail.in_rack,
            State::Cut => &mut trail.parts,
            State::Scrapped => &mut trail.scrapped,
            State::Sold => &mut trail.sold,
        } += sheet.cost;
    }
    trail
}

fn untouched<'a>(sheets: impl Iterator<Item = &'a StockSheet>, now: Timestamp) -> Vec<(Tag, i64)> {
    let held = sheets.filter(|sheet| sheet.state == State::InRack);
    let mut found: Vec<(Tag, i64)> = held
        .map(|sheet| (sheet.tag, sheet.touched.days_until(now)))
        .filter(|(_, days)| *days >= UNTOUCHED_DAYS)
        .collect();
    found.sort_by_key(|&(tag, days)| (std::cmp::Reverse(days), tag));
    found
}
