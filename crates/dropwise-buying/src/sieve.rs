//! What needs no nest to be refused.

use std::collections::BTreeMap;

use crate::areas::plain_size;
use crate::items::View;
use crate::{Source, Verdict};

/// Offers of one seller that replace another before it is dropped: as many as a set may take of them.
const MOST_ALIKE: f64 = 12.0;

/// Drops offers that are of no use from the classes of the view, and says why.
///
/// An offer falls away when no part asks for its class; when no part can lie on it; and when others of the same seller,
/// as many as could be wanted, are at least as large and no dearer.
pub(crate) fn sift(view: &mut View<'_>) -> Vec<Option<Verdict>> {
    let market = view.market;
    let mut verdicts: Vec<Option<Verdict>> = vec![None; view.sheets.len()];
    for sheet in (0..view.sheets.len()).filter(|&sheet| market.is_offer(sheet)) {
        let facts = &view.sheets[sheet];
        let Some(class) = facts.class else {
            verdicts[sheet] = Some(Verdict::OtherStock);
            continue;
        };
        if !facts.holds.contains(&true) {
            let misfits = view.classes[class].parts.iter().filter_map(|&part| Some((part, view.misfit(part, sheet)?)));
            let nearest = misfits.min_by(|a, b| a.1.excess().total_cmp(&b.1.excess()));
            verdicts[sheet] = nearest.map(|(part, misfit)| Verdict::HoldsNoPart { part, misfit });
        }
    }
    for class in 0..view.classes.len() {
        for (sheet, by) in replaced(view, class, &verdicts) {
            verdicts[sheet] = Some(Verdict::Replaced { by });
        }
        view.classes[class].offers.retain(|&sheet| verdicts[sheet].is_none());
    }
    verdicts
}

/// Plain rectangles of one class, as far as a swap goes.
struct Plain {
    sheet: usize,
    long: f64,
    short: f64,
    price: i64,
    copies: f64,
}

/// What offers share that may replace each other: seller, grain, and the worth and weight of their metal.
type Alike = (Option<usize>, Option<u64>, [u64; 3]);

/// Offers that others replace: `(offer, the one that replaces it first)`.
fn replaced(view: &View<'_>, class: usize, verdicts: &[Option<Verdict>]) -> Vec<(usize, usize)> {
    let (market, job) = (view.market, view.market.job());
    let mut groups: BTreeMap<Alike, Vec<Plain>> = BTreeMap::new();
    for &sheet in view.classes[class].offers.iter().filter(|&&sheet| verdicts[sheet].is_none()) {
        let model = &job.sheets()[sheet];
        let (Some((x, y)), Source::Offer { seller, is_priced: true, .. }) =
            (plain_size(model), market.sources()[sheet])
        else {
            continue;
        };
        // Where the grain counts, length and width are no matter of turning the sheet.
        let (long, short) = if model.grain_deg.is_some() { (x, y) } else { (x.max(y), x.min(y)) };
        let rates = [model.leftover_worth, model.scrap_worth, model.weight].map(f64::to_bits);
        groups.entry((seller, model.grain_deg.map(f64::to_bits), rates)).or_default().push(Plain {
            sheet,
            long,
            short,
            price: model.price.coins(),
            copies: view.sheets[sheet].copies,
        });
    }
    let mut found = Vec::new();
    for mut group in groups.into_values() {
        group.sort_by(|a, b| {
            (a.price.cmp(&b.price))
                .then((b.long * b.short).total_cmp(&(a.long * a.short)))
                .then(b.copies.total_cmp(&a.copies))
                .then(a.sheet.cmp(&b.sheet))
        });
        for (index, plain) in group.iter().enumerate() {
            let mut alike = 0.0;
            let mut first = None;
            for better in &group[..index] {
                if better.long >= plain.long && better.short >= plain.short {
                    alike += better.copies;
                    first = first.or(Some(better.sheet));
                    if alike >= MOST_ALIKE {
                        break;
                    }
                }
            }
            if let Some(by) = first.filter(|_| alike >= MOST_ALIKE) {
                found.push((plain.sheet, by));
            }
        }
    }
    found
}
