//! How cheap a plan could be at best.

use crate::boxes::{Proof, Refill, sure_view};
use crate::fit::may_fit;
use crate::task::Task;

/// A bound that is proved better and better beside the search.
#[derive(Debug)]
pub(crate) struct RisingBound {
    terms: Terms,
    proof: Proof,
    /// The bound when the search was last told of it.
    told: f64,
    is_told: bool,
}

/// Most pairs of a part and a sheet for which a proof is tried; beyond that it would take longer than the search.
const MOST_PAIRS: usize = 20_000;

impl RisingBound {
    /// Prepares the proof; `None` where it does not apply: stock sold by length is bought to measure.
    pub(crate) fn new(task: &Task, items: &[usize]) -> Option<Self> {
        let is_by_length = task.sheets.iter().any(|sheet| sheet.price_per_length.is_some());
        if items.is_empty() || is_by_length || task.parts.len() * task.sheets.len() > MOST_PAIRS {
            return None;
        }
        let terms = Terms::new(task, items)?;
        let view = sure_view(task, items, |sheet| terms.price(task, sheet).max(0.0));
        Some(Self { terms, proof: Proof::new(view), told: 0.0, is_told: false })
    }

    /// Works on for so much work; nothing but that decides what is proved.
    pub(crate) fn run(&mut self, work: u64) {
        self.proof.run(work);
    }

    /// Least cost of a nest that places all the items, in the smallest coin.
    pub(crate) fn value(&self) -> i64 {
        self.terms.bound(self.proof.bound())
    }

    /// Tells the search what parts are worth, whenever much more has been proved, and which sheets might do.
    pub(crate) fn advise(&mut self, refill: &mut Refill) {
        let is_last = self.proof.is_done() && !self.is_told;
        if !is_last && self.proof.bound() <= self.told * 1.005 {
            return;
        }
        self.told = self.proof.bound();
        self.is_told = self.proof.is_done();
        let task = self.proof.task();
        let values: Vec<(usize, f64)> =
            task.kinds.iter().zip(self.proof.values()).map(|(kind, &value)| (kind.part, value)).collect();
        let wanted: Option<Vec<(usize, usize)>> = self
            .proof
            .counts()
            .map(|counts| task.sheets.iter().zip(counts).map(|(sheet, &count)| (sheet.sheet, count)).collect());
        refill.advise(&values, wanted.as_deref());
    }
}

/// What turns a bound on prices into a bound on the cost.
#[derive(Clone, Copy, Debug)]
struct Terms {
    /// What sheets bring that are worth more than they cost.
    given: f64,
    /// What was taken off for the parts' own metal, which is never sold back.
    back: f64,
    rounding: f64,
    /// Every cost is a multiple of this many coins; 1 where credits make any cost possible.
    step: i64,
}

impl Terms {
    /// `None` if a sheet of which there is no end is worth more than it costs.
    fn new(task: &Task, items: &[usize]) -> Option<Self> {
        let mut given: f64 = 0.0;
        for index in 0..task.sheets.len() {
            let price = Self::price_in(task, index);
            if price < 0.0 {
                // At best all of them are used, or there is no bound at all.
                given += price * f64::from(task.sheets[index].quantity?);
            }
        }
        let worth = |sheet: usize| {
            let sheet = &task.job.sheets()[sheet];
            sheet.leftover_worth.max(sheet.scrap_worth)
        };
        let net: f64 = items.iter().map(|&part| task.parts[part].area).sum();
        // The parts' own metal is never sold back, though the prices were lowered as if all were; the least worth of
        // any sheet keeps the bound safe.
        let least_worth = (0..task.sheets.len()).map(worth).fold(f64::INFINITY, f64::min);
        // Each sheet's credits, and prices by length, are rounded to whole coins; every sheet used holds at least one
        // part.
        let rounded = |sheet: usize| {
            let by_length = if task.sheets[sheet].price_per_length.is_some() { 0.5 } else { 0.0 };
            by_length + if worth(sheet) > 0.0 { 1.0 } else { 0.0 }
        };
        let most_rounded = (0..task.sheets.len()).map(rounded).fold(0.0, f64::max);
        let copies: f64 = task.sheets.iter().map(|sheet| sheet.quantity.map_or(f64::INFINITY, f64::from)).sum();
        let is_plain = (0..task.sheets.len()).all(|s| worth(s) == 0.0 && task.sheets[s].price_per_length.is_none());
        let common = |a: i64, b: i64| {
            let (mut a, mut b) = (a, b);
            while b != 0 {
                (a, b) = (b, a % b);
            }
            a
        };
        let step = (0..task.sheets.len()).map(|s| task.job.sheets()[s].price.coins()).fold(0, common);
        let back = net * if least_worth.is_finite() { least_worth } else { 0.0 };
        Some(Self {
            given,
            back,
            rounding: most_rounded * copies.min(items.len() as f64),
            step: if is_plain { step.max(1) } else { 1 },
        })
    }

    fn price_in(task: &Task, sheet: usize) -> f64 {
        let model = &task.job.sheets()[sheet];
        // Everything that is not part may at best be sold back, as leftover or as scrap.
        let worth = model.leftover_worth.max(model.scrap_worth);
        match model.open_length {
            // By length: all of it, of which as much is bought as is needed.
            Some(terms) => {
                let length = model.shape.bounds().width();
                terms.price_per_length * length - worth * task.sheets[sheet].area
            }
            None => task.sheets[sheet].price - worth * task.sheets[sheet].area,
        }
    }

    fn price(&self, task: &Task, sheet: usize) -> f64 {
        Self::price_in(task, sheet)
    }

    fn bound(&self, prices: f64) -> i64 {
        let bound = self.given + prices + self.back;
        // A hair is taken off before rounding up, for sums in floating point.
        let least = bound - self.rounding - 1e-6 * bound.abs().max(1.0);
        ((least / self.step as f64).ceil() as i64).saturating_mul(self.step)
    }
}

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
    let terms = Terms::new(task, items)?;
    // Curves were made straight outward, each edge within two tenths of a millimetre.
    let sure_area = |part: usize| {
        let (shape, grown) = (&task.job.parts()[part].shape, task.parts[part].grown_area);
        let is_exact = grown == task.parts[part].area;
        let reach = shape.perimeter() + std::f64::consts::TAU * task.job.clearances().web();
        if is_exact { grown } else { (grown - 0.4 * reach).max(task.parts[part].area) }
    };
    let needed: f64 = items.iter().map(|&part| sure_area(part)).sum();
    // Rate and area of what there is of each sheet, and for each part the least that a sheet holding it costs.
    let mut offers: Vec<(f64, f64)> = Vec::new();
    let mut cheapest_for_part = vec![f64::INFINITY; task.parts.len()];
    for (index, sheet) in task.sheets.iter().enumerate() {
        let model = &task.job.sheets()[index];
        // No more than the sheet itself and half a web around it.
        let reach = model.shape.perimeter() + std::f64::consts::TAU * task.job.clearances().web();
        let area = sheet.area + 0.5 * task.job.clearances().web() * reach;
        let price = terms.price(task, index).max(0.0);
        let copies = sheet.quantity.map_or(f64::INFINITY, f64::from);
        if area > 0.0 {
            offers.push((price / area, area * copies));
        }
        // Of stock sold by length a little may do.
        let share = model.open_length.map_or(1.0, |terms| terms.minimum / model.shape.bounds().width());
        let least = price * share.min(1.0);
        for &part in items {
            if least < cheapest_for_part[part] && may_fit(task, part, index, 1.0) {
                cheapest_for_part[part] = least;
            }
        }
    }
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
    Some(terms.bound(by_area.max(by_part)))
}
