//! A job with what is on offer for it.

use dropwise_model::{Job, Money, Need};
use thiserror::Error;

/// Somebody who sells sheets, and what an order costs beside the sheets in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seller {
    /// What it is called.
    pub name: String,
    /// What bringing or fetching an order costs, whatever is in it.
    pub delivery: Money,
    /// The least that an order is billed at, delivery not counted; zero when there is no such minimum.
    pub minimum_order: Money,
}

/// Where a sheet of the job is to be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// It lies in the rack. Its price in the job is what using it up is held to cost: it is paid for, but it could serve
    /// another job.
    Rack,
    /// It is on offer.
    Offer {
        /// Index of its seller; `None` when no order costs anything beside its sheets, as at a list price.
        seller: Option<usize>,
        /// What each piece costs beside its price in the job: cutting stock by length to length. Of a whole sheet such a
        /// charge belongs into the price, so that the search of a nest sees it.
        charge: Money,
        /// Whether its price is known. Offers without one are bought in no choice; [`crate::Decision::worths`] tells
        /// the most that they are worth.
        is_priced: bool,
    },
}

/// A job, where each of its sheets is to be had, and the sellers.
#[derive(Clone, Debug, PartialEq)]
pub struct Market {
    job: Job,
    sources: Vec<Source>,
    sellers: Vec<Seller>,
}

/// Why a market was refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum MarketError {
    /// Not one source for each sheet.
    #[error("the job has {sheets} sheets, but sources are given for {sources}")]
    SourceCount {
        /// Sheets of the job.
        sheets: usize,
        /// Sources given.
        sources: usize,
    },
    /// A source names a seller that is not there.
    #[error("sheet \"{sheet}\" is sold by seller {seller}, but there are only {sellers}")]
    NoSuchSeller {
        /// Name of the sheet.
        sheet: String,
        /// The index given.
        seller: usize,
        /// How many there are.
        sellers: usize,
    },
    /// An amount below zero.
    #[error("{what} of \"{name}\" is below zero")]
    Negative {
        /// Which amount.
        what: &'static str,
        /// Whose.
        name: String,
    },
    /// A part that need not be made.
    #[error("part \"{part}\" is a filler; whether it finds room must not decide what is bought")]
    Filler {
        /// Its name.
        part: String,
    },
}

impl Market {
    /// A market. `sources` has an entry for each sheet of the job, in its order.
    ///
    /// # Errors
    /// The first [`MarketError`] found.
    pub fn new(job: Job, sources: Vec<Source>, sellers: Vec<Seller>) -> Result<Self, MarketError> {
        if sources.len() != job.sheets().len() {
            return Err(MarketError::SourceCount { sheets: job.sheets().len(), sources: sources.len() });
        }
        if let Some(part) = job.parts().iter().find(|part| part.need == Need::Filler) {
            return Err(MarketError::Filler { part: part.name.clone() });
        }
        for seller in &sellers {
            for (what, amount) in [("the delivery", seller.delivery), ("the minimum order", seller.minimum_order)] {
                if amount < Money::ZERO {
                    return Err(MarketError::Negative { what, name: seller.name.clone() });
                }
            }
        }
        for (sheet, source) in job.sheets().iter().zip(&sources) {
            let Source::Offer { seller, charge, .. } = *source else { continue };
            if let Some(seller) = seller.filter(|&seller| seller >= sellers.len()) {
                return Err(MarketError::NoSuchSeller { sheet: sheet.name.clone(), seller, sellers: sellers.len() });
            }
            if charge < Money::ZERO {
                return Err(MarketError::Negative { what: "the charge", name: sheet.name.clone() });
            }
        }
        Ok(Self { job, sources, sellers })
    }

    /// What is to be made, and all sheets.
    #[must_use]
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Where each sheet is to be had.
    #[must_use]
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// The sellers.
    #[must_use]
    pub fn sellers(&self) -> &[Seller] {
        &self.sellers
    }

    /// Whether a sheet is on offer.
    #[must_use]
    pub fn is_offer(&self, sheet: usize) -> bool {
        matches!(self.sources[sheet], Source::Offer { .. })
    }

    /// Whether a sheet lies in the rack, or its price is known.
    pub(crate) fn is_priced(&self, sheet: usize) -> bool {
        !matches!(self.sources[sheet], Source::Offer { is_priced: false, .. })
    }

    /// Who sells a sheet, if an order from them costs something of its own.
    pub(crate) fn seller(&self, sheet: usize) -> Option<usize> {
        match self.sources[sheet] {
            Source::Offer { seller, .. } => seller,
            Source::Rack => None,
        }
    }

    /// What a piece of a sheet costs beside its price.
    pub(crate) fn charge(&self, sheet: usize) -> Money {
        match self.sources[sheet] {
            Source::Offer { charge, .. } => charge,
            Source::Rack => Money::ZERO,
        }
    }
}
