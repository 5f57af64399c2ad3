//! Sheets from the rack.

use dropwise_model::Sheet;
use dropwise_shop::{Price, Thickness, WeightRule};

use super::sheet::{Rates, SheetDetail, Terms, finish};
use crate::job_file::error::Place;
use crate::job_file::rack::RackPiece;

/// A piece of the rack as a sheet of the job: named by its tag, one of it.
pub(super) fn sheet(piece: &RackPiece, rates: Rates) -> (Sheet, SheetDetail) {
    let terms = Terms {
        material: piece.material,
        thickness: piece.thickness,
        quantity: Some(1),
        price: None,
        grain_deg: piece.grain_deg,
        location: piece.location.clone(),
        leftover: rates.leftover,
    };
    let (mut sheet, mut detail) = finish(piece.mark.tag.clone(), piece.shape.clone(), &terms, rates);
    sheet.damage.clone_from(&piece.damage);
    sheet.price = piece.price;
    let measured = piece.measured_mm.and_then(|measured| Thickness::new(measured).ok());
    // The gauge book goes by the number that was ordered; a scale by the metal that is there.
    if let (WeightRule::TrueDensity, Some(measured)) = (rates.weight_rule, measured) {
        sheet.weight = rates.weight_rule.weight_per_area(piece.material, measured);
        let worth = |price: Option<Price>| price.and_then(|price| price.per_area(sheet.weight)).unwrap_or(0.0);
        (sheet.leftover_worth, sheet.scrap_worth) = (worth(rates.leftover), worth(rates.scrap));
    }
    detail.place = Place { key: "a piece in the rack".to_owned(), ..Place::default() };
    detail.rack = Some(piece.mark.clone());
    (sheet, detail)
}
