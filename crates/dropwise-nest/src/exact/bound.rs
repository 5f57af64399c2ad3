//! How cheap a plan could be at best.

use crate::exact::boxes::{Proof, Refill, sure_view};
use crate::problem::necessary_fit::may_fit;
use crate::problem::offer::{Need, Offer};
use crate::problem::task::Task;

/// A bound that is proved better and better beside the search.
#[derive(Debug)]
pub(crate) struct RisingBound {
    terms: Terms,
    /// Least cost of a nest that uses a sheet the proof does not know; `None` if there are no such sheets.
    with_others: Option<i64>,
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
        let offers = task_offers(task);
        let terms = Terms::new(task, items, &offers)?;
        let with_others = if task.others.is_empty() { None } else { Some(least_with_others(task, items, &offers)?) };
        let view = sure_view(task, items, |sheet| offers[sheet].price.max(0.0));
        Some(Self { terms, with_others, proof: Proof::new(view), told: 0.0, is_told: false })
    }

    /// Works on for so much work; nothing but that decides what is proved.
    pub(crate) fn run(&mut self, work: u64) {
        self.proof.run(work);
    }

    /// Least cost of a nest that places all the items, in the smallest coin.
    pub(crate) fn value(&self) -> i64 {
        let without_others = self.terms.bound(self.proof.bound());
        self.with_others.map_or(without_others, |with_others| with_others.min(without_others))
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
    /// Price of the least that stock sold by length, if there is no other stock, is sold in multiples of; zero where that
    /// says nothing.
    by_length: f64,
}

impl Terms {
    /// `None` if a sheet of which there is no end is worth more than it costs.
    fn new(task: &Task, items: &[usize], offers: &[Offer]) -> Option<Self> {
        let mut given: f64 = 0.0;
        for offer in offers.iter().filter(|offer| offer.price < 0.0) {
            // At best all of them are used, or there is no bound at all.
            given += offer.price * f64::from(offer.quantity?);
        }
        let net: f64 = items.iter().map(|&part| task.parts[part].area).sum();
        // The parts' own metal is never sold back, though the prices were lowered as if all were; the least worth of
        // any sheet keeps the bound safe.
        let least_worth = offers.iter().map(|offer| offer.worth).fold(f64::INFINITY, f64::min);
        // Each sheet's credits, and prices by length, are rounded to whole coins; every sheet used holds at least one
        // part.
        let is_whole = |coins: f64| (coins - coins.round()).abs() < 1e-9;
        let by_length = |offer: &Offer| if offer.is_by_length && !is_whole(offer.increment_price) { 0.5 } else { 0.0 };
        let rounded = |offer: &Offer| by_length(offer) + if offer.worth > 0.0 { 1.0 } else { 0.0 };
        let most_rounded = offers.iter().map(rounded).fold(0.0, f64::max);
        let copies: f64 = offers.iter().map(|offer| offer.quantity.map_or(f64::INFINITY, f64::from)).sum();
        let is_plain = offers.iter().all(|offer| offer.worth == 0.0 && !offer.is_by_length);
        let common = |a: i64, b: i64| {
            let (mut a, mut b) = (a, b);
            while b != 0 {
                (a, b) = (b, a % b);
            }
            a
        };
        let step = offers.iter().map(|offer| offer.coins).fold(0, common);
        let usable: Vec<&Offer> = offers.iter().filter(|offer| offer.is_usable()).collect();
        let by_length = match usable.as_slice() {
            [offer] if offer.is_by_length && offer.worth == 0.0 => offer.increment_price,
            _ => 0.0,
        };
        let back = net * if least_worth.is_finite() { least_worth } else { 0.0 };
        Some(Self {
            given,
            back,
            rounding: most_rounded * copies.min(items.len() as f64),
            step: if is_plain { step.max(1) } else { 1 },
            by_length,
        })
    }

    fn bound(&self, prices: f64) -> i64 {
        let mut bound = self.given + prices + self.back;
        if self.by_length > 0.0 {
            // As much is bought as is sold.
            bound = (bound / self.by_length - 1e-6).ceil() * self.by_length;
        }
        // A hair is taken off before rounding up, for sums in floating point.
        let least = bound - self.rounding - 1e-6 * bound.abs().max(1.0);
        ((least / self.step as f64).ceil() as i64).saturating_mul(self.step)
    }
}

/// The task's own sheets.
fn task_offers(task: &Task) -> Vec<Offer> {
    (0..task.sheets.len()).map(|sheet| offer_of(task, sheet)).collect()
}

/// The task's own sheets, then those the search leaves aside.
fn all_offers(task: &Task, offers: &[Offer]) -> Vec<Offer> {
    offers.iter().chain(task.others.iter()).copied().collect()
}

/// Area that the items cover at least, with half the web around them.
fn sure_area(task: &Task, items: &[usize]) -> f64 {
    // Curves were made straight outward, each edge within two tenths of a millimetre.
    let sure = |part: usize| {
        let (shape, grown) = (&task.job.parts()[part].shape, task.parts[part].grown_area);
        let is_exact = grown == task.parts[part].area;
        let reach = shape.perimeter() + std::f64::consts::TAU * task.job.clearances().web();
        if is_exact { grown } else { (grown - 0.4 * reach).max(task.parts[part].area) }
    };
    items.iter().map(|&part| sure(part)).sum()
}

/// What area costs at least, sheets divided at will: the linear relaxation of the covering knapsack.
struct AreaPrices {
    /// Area up to which one pays so much by area, and what all of that costs; the cheapest area first.
    steps: Vec<(f64, f64, f64)>,
}

impl AreaPrices {
    fn new(offers: &[Offer]) -> Self {
        let mut rates: Vec<(f64, f64)> = offers
            .iter()
            .filter(|offer| offer.area > 0.0)
            .map(|offer| {
                let copies = offer.quantity.map_or(f64::INFINITY, f64::from);
                (offer.price.max(0.0) / offer.area, offer.area * copies)
            })
            .collect();
        rates.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut area, mut price) = (0.0, 0.0);
        let mut steps = Vec::with_capacity(rates.len());
        for (rate, more) in rates {
            area += more;
            price += if rate == 0.0 { 0.0 } else { rate * more };
            steps.push((area, price, rate));
        }
        Self { steps }
    }

    /// The least that so much area costs; of area beyond all there is, what all there is costs.
    fn least(&self, area: f64) -> f64 {
        if area <= 0.0 {
            return 0.0;
        }
        let next = self.steps.partition_point(|step| step.0 < area);
        let (before, paid) = if next == 0 { (0.0, 0.0) } else { (self.steps[next - 1].0, self.steps[next - 1].1) };
        paid + self.steps.get(next).map_or(0.0, |step| (area - before) * step.2)
    }
}

/// No nest of these items costs less than this, in the smallest coin; `None` if nothing can be said.
///
/// `items` are the required items that are to be placed, by part. Two arguments are combined: parts with their clearance
/// do not overlap and lie in the rooms of their sheets, so the rooms must have at least their area (the cheapest way to
/// buy that much area, sheets divided at will, is a bound); and each part needs a sheet on which it fits. Sheets that the
/// search leaves aside count like all others.
///
/// # Source
/// Linear relaxation of the covering knapsack: Martello and Toth, "Knapsack Problems" (1990), chapter 2.
pub(crate) fn lower_bound(task: &Task, items: &[usize]) -> Option<i64> {
    if items.is_empty() {
        return Some(0);
    }
    let own = task_offers(task);
    let offers = all_offers(task, &own);
    let terms = Terms::new(task, items, &offers)?;
    let by_area = AreaPrices::new(&offers).least(sure_area(task, items));
    let mut kinds = items.to_vec();
    kinds.sort_unstable();
    kinds.dedup();
    // The least that a sheet holding each part costs. Of stock sold by length a little may do.
    let least_price = |offer: &Offer| offer.price.max(0.0) * offer.share;
    let mut by_part = 0.0_f64;
    for part in kinds {
        let need = Need::of(&task.job.parts()[part]);
        let others = task.others.iter().filter(|offer| offer.may_hold(&need)).map(least_price);
        let mut cheapest = others.fold(f64::INFINITY, f64::min);
        for (sheet, offer) in own.iter().enumerate() {
            let least = least_price(offer);
            if least < cheapest && may_fit(task, part, sheet, 1.0) {
                cheapest = least;
            }
        }
        if cheapest.is_finite() {
            by_part = by_part.max(cheapest);
        }
    }
    Some(terms.bound(by_area.max(by_part)))
}

/// No nest of these items that uses at least one sheet left aside costs less than this: that sheet is paid for in full,
/// and the area it lacks is bought where it is cheapest.
fn least_with_others(task: &Task, items: &[usize], own: &[Offer]) -> Option<i64> {
    let offers = all_offers(task, own);
    let terms = Terms::new(task, items, &offers)?;
    let (prices, needed) = (AreaPrices::new(&offers), sure_area(task, items));
    let least = task.others.iter().filter(|offer| offer.is_usable()).map(|offer| {
        if offer.is_by_length {
            // Any share of it may be bought.
            return prices.least(needed);
        }
        offer.price.max(0.0) + prices.least(needed - offer.area)
    });
    Some(terms.bound(least.fold(f64::INFINITY, f64::min)))
}

/// What the room on a sheet of a task has to offer.
fn offer_of(task: &Task, sheet: usize) -> Offer {
    let container = task.container(sheet);
    let area = if container.has_room() { container.area } else { 0.0 };
    Offer::within(&task.job.sheets()[sheet], task.job.clearances(), area)
}
