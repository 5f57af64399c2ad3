//! How cheap a plan could be at best.

use crate::task::Task;

/// No nest of these items costs less than this, in the smallest coin; `None` if nothing can be said.
///
/// `items` are the required items that are to be placed, by part. Two arguments are combined: parts with their clearance
/// do not overlap and lie in the rooms of their sheets, so the rooms must have at least their area (the cheapest way to
/// buy that much area, sheets divided at will, is a bound); and each part needs a sheet on which it fits.
///
/// # Source
/// Linear relaxation of the covering knapsack: Martello and Toth, "Knapsack Problems" (1990), chapter 2.
pub(crate) fn lower_bound(task: &Task, items: &[usize]) -> Option<i64> {
    if items.is_empty() {
        return Some(0);
    }
    let needed: f64 = items.iter().map(|&part| task.parts[part].grown_area).sum();
    let net: f64 = items.iter().map(|&part| task.parts[part].area).sum();
    // Everything that is not part may at best be sold back, as leftover or as scrap.
    let worth = |sheet: usize| {
        let sheet = &task.job.sheets()[sheet];
        sheet.leftover_worth.max(sheet.scrap_worth)
    };
    // Price and area of what there is of each sheet, and for each part the least that a sheet holding it costs.
    let mut offers: Vec<(f64, f64)> = Vec::new();
    let mut given: f64 = 0.0;
    let mut cheapest_for_part = vec![f64::INFINITY; task.parts.len()];
    for (index, sheet) in task.sheets.iter().enumerate() {
        let container = task.container(index);
        let model = &task.job.sheets()[index];
        let (price, area) = match model.open_length {
            // By length: all of it, of which as much is bought as is needed.
            Some(terms) => {
                let length = model.shape.bounds().width();
                (terms.price_per_length * length - worth(index) * sheet.area, container.area)
            }
            None => (sheet.price - worth(index) * sheet.area, container.area),
        };
        let copies = sheet.quantity.map_or(f64::INFINITY, f64::from);
        if price < 0.0 {
            // Selling it back would pay for it: at best all of them are used, or there is no bound at all.
            if copies.is_infinite() {
                return None;
            }
            given += price * copies;
        }
        offers.push((price.max(0.0), area * copies));
        if area > 0.0 {
            let last = offers.len() - 1;
            offers[last].0 /= area;
        }
        // Of stock sold by length a little may do.
        let share = model.open_length.map_or(1.0, |terms| terms.minimum / model.shape.bounds().width());
        let least = price.max(0.0) * share.min(1.0);
        for &part in items {
            if least < cheapest_for_part[part] && task.fit(part, index).is_some() {
                cheapest_for_part[part] = least;
            }
        }
    }
    offers.retain(|&(_, area)| area > 0.0);
    offers.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lacking = needed;
    let mut by_area = 0.0;
    for (rate, area) in offers {
        let taken = area.min(lacking);
        by_area += rate * taken;
        lacking -= taken;
        if lacking <= 0.0 {
            break;
        }
    }
    let by_part = items.iter().map(|&part| cheapest_for_part[part]).filter(|p| p.is_finite()).fold(0.0, f64::max);
    // The parts' own metal is never sold back, though the prices above were lowered as if all were; the least worth of
    // any sheet keeps the bound safe.
    let least_worth = (0..task.sheets.len()).map(worth).fold(f64::INFINITY, f64::min);
    let bound = given + by_area.max(by_part) + net * if least_worth.is_finite() { least_worth } else { 0.0 };
    // Each sheet's credits, and prices by length, are rounded to whole coins; every sheet used holds at least one part.
    let rounded = |sheet: usize| {
        let by_length = if task.sheets[sheet].price_per_length.is_some() { 0.5 } else { 0.0 };
        by_length + if worth(sheet) > 0.0 { 1.0 } else { 0.0 }
    };
    let most_rounded = (0..task.sheets.len()).map(rounded).fold(0.0, f64::max);
    let copies: f64 = task.sheets.iter().map(|sheet| sheet.quantity.map_or(f64::INFINITY, f64::from)).sum();
    let rounding = most_rounded * copies.min(items.len() as f64);
    // A hair is taken off before rounding up, for sums in floating point.
    Some((bound - rounding - 1e-6 * bound.abs().max(1.0)).ceil() as i64)
}
