//! What a person does with metal, other than cutting it to a plan.

use dropwise_geometry::{Outline, Shape};
use dropwise_model::Money;

use crate::error::{StockError, StockFault};
use crate::log::{Writing, check_text};
use crate::sheet::MOST_COINS;
use crate::{BoughtSheet, Change, DetailFault, Details, NewSheet, Receipt, StockLog, Tag, projection_table};

/// What was found when a piece was measured again.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    /// Its outline and holes.
    pub shape: Shape,
    /// Its damaged zones.
    pub damage: Vec<Outline>,
    /// Its thickness, mm, if that was measured too.
    pub thickness_mm: Option<f64>,
}

impl StockLog {
    /// Records pieces bought, as one event.
    ///
    /// # Errors
    /// [`StockFault::BadDetails`] or [`StockFault::TagTaken`] for the first piece that cannot be recorded: see
    /// [`StockLog::check_purchase`] for all of them. Then none is.
    pub fn buy(&mut self, sheets: Vec<NewSheet>, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            if sheets.is_empty() {
                return Err(StockFault::BadValue { what: "no piece was given".to_owned() });
            }
            let sheets = writing.tagged(sheets, &mut Vec::new())?;
            writing.append(cause, Change::Bought { sheets })
        })
    }

    /// All that keeps pieces from being recorded, each with the piece's index; nothing is written.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn check_purchase(&self, sheets: &[NewSheet]) -> Result<Vec<(usize, StockFault)>, StockError> {
        self.read(|connection| {
            let (mut found, mut given) = (Vec::new(), Vec::new());
            for (index, sheet) in sheets.iter().enumerate() {
                let faults = new_sheet_faults(sheet);
                if !faults.is_empty() {
                    found.push((index, StockFault::BadDetails { index, faults }));
                }
                if let Some(tag) = sheet.tag {
                    if given.contains(&tag) || projection_table::is_used(connection, tag)? {
                        found.push((index, StockFault::TagTaken { tag }));
                    }
                    given.push(tag);
                }
            }
            Ok(found)
        })
    }

    /// Records that a piece lies elsewhere now.
    ///
    /// # Errors
    /// [`StockFault::UnknownTag`], [`StockFault::NotInRack`], [`StockFault::BadValue`].
    pub fn relocate(&mut self, tag: Tag, place: &str, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            check_text("the place", place)?;
            writing.append(cause, Change::Moved { tag, place: place.to_owned() })
        })
    }

    /// Records what was found when a piece was measured again. Its cost stays what it was.
    ///
    /// # Errors
    /// [`StockFault::UnknownTag`], [`StockFault::NotInRack`], [`StockFault::BadDetails`].
    pub fn measure(&mut self, tag: Tag, found: Measurement, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            let Measurement { shape, damage, thickness_mm: measured_mm } = found;
            let held = writing.held(tag)?.details;
            let details = Details { shape: shape.clone(), damage: damage.clone(), measured_mm, ..held };
            check_details(0, details.faults())?;
            writing.append(cause, Change::Measured { tag, shape, damage, measured_mm })
        })
    }

    /// Records that a piece went into the scrap bin whole. `proceeds` is what the scrap dealer paid, if that is known.
    ///
    /// # Errors
    /// [`StockFault::UnknownTag`], [`StockFault::NotInRack`], [`StockFault::BadValue`].
    pub fn scrap(&mut self, tag: Tag, proceeds: Option<Money>, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            check_proceeds(proceeds.unwrap_or_default())?;
            let weight_kg = writing.held(tag)?.details.weight();
            writing.append(cause, Change::Scrapped { tag, weight_kg, proceeds })
        })
    }

    /// Records that a piece was sold, and for how much.
    ///
    /// # Errors
    /// [`StockFault::UnknownTag`], [`StockFault::NotInRack`], [`StockFault::BadValue`].
    pub fn sell(&mut self, tag: Tag, proceeds: Money, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            check_proceeds(proceeds)?;
            writing.append(cause, Change::Sold { tag, proceeds })
        })
    }

    /// Records that what was written down of a piece was wrong. `details` are all of them as they should be; `paid` sets
    /// the price of a piece that was bought and has not been cut.
    ///
    /// # Errors
    /// [`StockFault::UnknownTag`], [`StockFault::NotInRack`], [`StockFault::BadDetails`]; [`StockFault::NotBought`] when a
    /// price is given for a piece that was left over.
    pub fn correct(
        &mut self,
        tag: Tag,
        details: Details,
        paid: Option<Money>,
        cause: &str,
    ) -> Result<Receipt, StockError> {
        self.write(|writing| {
            writing.held(tag)?;
            let mut faults = details.faults();
            faults.extend(paid.and_then(price_fault));
            check_details(0, faults)?;
            let details = Box::new(details.settled());
            writing.append(cause, Change::Corrected { tag, details, paid })
        })
    }
}

impl Writing<'_> {
    /// Pieces with tags and dates, checked. `given` are the tags about to be given in this transaction, and grows.
    pub(crate) fn tagged(
        &mut self,
        sheets: Vec<NewSheet>,
        given: &mut Vec<Tag>,
    ) -> Result<Vec<BoughtSheet>, StockFault> {
        // Those that come with tags first, so that none of these is given away.
        let start = given.len();
        given.extend(sheets.iter().filter_map(|sheet| sheet.tag));
        let mut bought = Vec::with_capacity(sheets.len());
        for (index, sheet) in sheets.into_iter().enumerate() {
            check_details(index, new_sheet_faults(&sheet))?;
            let tag = match sheet.tag {
                Some(tag) if given[..start].contains(&tag) || projection_table::is_used(self.transaction, tag)? => {
                    return Err(StockFault::TagTaken { tag });
                }
                Some(tag) => tag,
                None => {
                    let tag = self.fresh_tag(given)?;
                    given.push(tag);
                    tag
                }
            };
            let since = sheet.since.unwrap_or(self.now);
            bought.push(BoughtSheet { tag, details: sheet.details.settled(), paid: sheet.paid, since });
        }
        Ok(bought)
    }
}

/// All that keeps a piece from being recorded, its tag aside.
pub(crate) fn new_sheet_faults(sheet: &NewSheet) -> Vec<DetailFault> {
    let mut faults = sheet.details.faults();
    faults.extend(price_fault(sheet.paid));
    faults
}

pub(crate) fn price_fault(paid: Money) -> Option<DetailFault> {
    (!(0..=MOST_COINS).contains(&paid.coins())).then_some(DetailFault::Price(paid.coins()))
}

fn check_details(index: usize, faults: Vec<DetailFault>) -> Result<(), StockFault> {
    if faults.is_empty() { Ok(()) } else { Err(StockFault::BadDetails { index, faults }) }
}

fn check_proceeds(proceeds: Money) -> Result<(), StockFault> {
    match price_fault(proceeds) {
        None => Ok(()),
        Some(_) => {
            Err(StockFault::BadValue { what: format!("proceeds of {} coins are out of range", proceeds.coins()) })
        }
    }
}
