//! Lists of what sellers have on offer, read for a job that they are to serve.
//!
//! A list is CSV like a list of stock, with columns for the seller, the cut charge of each piece, and for each seller the
//! delivery and the minimum order; or it is TOML or JSON, a table for each offer, with keys called as the columns are. Bare
//! numbers are in the job's unit, amounts in its currency. An offer without any price has no price yet.

mod keyed;
#[cfg(test)]
mod tests;

use std::path::Path;

use dropwise_model::{Money, Sheet};

use crate::job_file::{Fault, JobFileError, LoadedJob, Note, Place, SheetDetail, read_file, sheets_of_row};
use crate::stock_csv::{StockCsvOptions, StockRow, read_stock_csv};

/// Bytes of the largest list that is read.
const LARGEST_LIST: u64 = 16 << 20;

/// What is on offer, read.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OfferList {
    /// The offers, in the order of the list.
    pub offers: Vec<Offer>,
    /// The sellers, in the order in which they first occur.
    pub sellers: Vec<SellerTerms>,
    /// What to tell.
    pub notes: Vec<Note>,
}

/// A sheet on offer.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Offer {
    /// The sheet. Its price includes the cut charge.
    pub sheet: Sheet,
    /// What else is known of it.
    pub detail: SheetDetail,
    /// Index of its seller, if it names one.
    pub seller: Option<usize>,
    /// Whether its price is known.
    pub is_priced: bool,
    /// What of the price is for cutting it.
    pub cut_charge: Money,
}

/// A seller, and what an order costs beside the sheets.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SellerTerms {
    /// What it is called.
    pub name: String,
    /// What bringing an order costs.
    pub delivery: Money,
    /// The least that an order is billed at.
    pub minimum_order: Money,
}

/// Reads a list of offers for a job: TOML or JSON by the name of the file, else CSV.
///
/// # Errors
/// Every fault, with its line.
pub fn load_offers(path: &Path, job: &LoadedJob) -> Result<OfferList, Vec<JobFileError>> {
    let bytes = read_file(path, LARGEST_LIST).map_err(|fault| vec![JobFileError::new(Place::file(path), fault)])?;
    read_offers(path, &bytes, job)
}

/// Reads a list of offers. `path` names it in messages, and drawings are looked for in its folder.
///
/// # Errors
/// As [`load_offers`].
pub fn read_offers(path: &Path, bytes: &[u8], job: &LoadedJob) -> Result<OfferList, Vec<JobFileError>> {
    let options =
        StockCsvOptions { unit: Some(job.unit), coinage: job.coinage, is_offers: true, ..StockCsvOptions::default() };
    let list = match std::str::from_utf8(bytes) {
        Ok(text) if keyed::is_keyed(path, text) => keyed::read(path, text, &options)?,
        Err(error) if keyed::is_keyed(path, "") => {
            let fault = Fault::NotText { offset: error.valid_up_to() };
            return Err(vec![JobFileError::new(Place::file(path), fault)]);
        }
        _ => read_stock_csv(path, bytes, &options)?,
    };
    let mut errors = Vec::new();
    let sellers = sellers(path, &list.rows, &mut errors);
    let mut names: std::collections::HashMap<String, String> =
        job.job.sheets().iter().map(|sheet| (sheet.name.clone(), "a sheet of the job".to_owned())).collect();
    let mut offers = Vec::new();
    for row in list.rows {
        let (line, seller) = (row.line, sellers.iter().position(|(terms, _)| terms.name == row.seller));
        let (is_priced, cut_charge) = (row.price.is_some(), row.cut_charge.unwrap_or(Money::ZERO));
        let mut fault = |problem: String, cure: &str| {
            errors.push(JobFileError::new(Place::line(path, line), Fault::value(problem, cure)));
        };
        if let Some(other) = names.insert(row.name.clone(), format!("the offer on line {line}")) {
            fault(format!("is called \"{}\" like {other}", row.name), "Give each offer a name of its own");
            continue;
        }
        match sheets_of_row(path, row, job) {
            Ok(sheets) => offers.extend(sheets.into_iter().map(|(mut sheet, detail)| {
                sheet.price += cut_charge;
                Offer { sheet, detail, seller, is_priced, cut_charge }
            })),
            Err(found) => errors.extend(found),
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    Ok(OfferList { offers, sellers: sellers.into_iter().map(|(terms, _)| terms).collect(), notes: list.notes })
}

/// What rows say of a seller, and the lines on which they say it.
type Told = [Option<(Money, usize)>; 2];

/// The sellers of all rows; those of which rows disagree are reported.
fn sellers(path: &Path, rows: &[StockRow], errors: &mut Vec<JobFileError>) -> Vec<(SellerTerms, Told)> {
    let mut sellers: Vec<(SellerTerms, Told)> = Vec::new();
    for row in rows {
        let given = [("delivery", row.delivery), ("minimum order", row.minimum_order)];
        if row.seller.is_empty() {
            for (what, _) in given.iter().filter(|(_, amount)| amount.is_some()) {
                let problem = format!("has a {what}, but no seller");
                let cure = "Name the seller who asks for it, or leave the cell blank";
                errors.push(JobFileError::new(Place::line(path, row.line), Fault::value(problem, cure)));
            }
            continue;
        }
        let at = sellers.iter().position(|(terms, _)| terms.name == row.seller).unwrap_or_else(|| {
            sellers.push((SellerTerms { name: row.seller.clone(), ..SellerTerms::default() }, [None, None]));
            sellers.len() - 1
        });
        for (told, (what, amount)) in sellers[at].1.iter_mut().zip(given) {
            match (*told, amount) {
                (Some((known, line)), Some(amount)) if known != amount => {
                    let problem = format!("gives {} another {what} than line {line}", row.seller);
                    let cure = "It is asked for once an order: write it on one line of the seller, or alike on all";
                    errors.push(JobFileError::new(Place::line(path, row.line), Fault::value(problem, cure)));
                }
                (None, Some(amount)) => *told = Some((amount, row.line)),
                _ => {}
            }
        }
    }
    for (terms, told) in &mut sellers {
        let amount = |told: Option<(Money, usize)>| told.map_or(Money::ZERO, |(amount, _)| amount);
        (terms.delivery, terms.minimum_order) = (amount(told[0]), amount(told[1]));
    }
    sellers
}
