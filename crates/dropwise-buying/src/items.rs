//! The market by classes of stock: what each class needs, what the rack and the offers give.

use dropwise_model::{Money, StockClass};

use crate::fit::{Misfit, Reach, Room};
use crate::{Market, areas};

/// What is known of a sheet before any nest.
#[derive(Clone, Debug)]
pub(crate) struct SheetFacts {
    /// Index of its class; `None` when no part asks for it.
    pub(crate) class: Option<usize>,
    /// At most so much area of grown parts lies on one, mm²; of stock sold by length, on all that can be had.
    pub(crate) area: f64,
    pub(crate) room: Room,
    /// Price and charge of one, less what all of it would be worth as leftover, in the smallest coin; of stock sold by
    /// length, of the least that is sold.
    pub(crate) net_price: f64,
    /// How many there are; infinite for as many as wanted.
    pub(crate) copies: f64,
    /// For stock sold by length, what comes beyond the least that is sold.
    pub(crate) by_length: Option<ByLength>,
    /// For each part of its class, whether nothing speaks against its lying there.
    pub(crate) holds: Vec<bool>,
    /// Whether area and room are worked out, not only bounded from above.
    is_exact: bool,
}

/// Lists up to this long are worked out whole; of longer ones, the offers that promise most.
const MOST_EXACT: usize = 300;
/// How many of those that promise most, by area and alone, are worked out.
const MOST_CLOSE: usize = 120;
/// Times that a list is gone over for that. In practice three are enough; what is missed is thought larger than it is.
const MOST_LOOKS: usize = 8;

/// Stock sold by length.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ByLength {
    /// Net price of a square millimetre of room.
    pub(crate) rate: f64,
    /// Room on the least that is sold, mm².
    pub(crate) least_area: f64,
}

/// One class of stock that parts ask for.
#[derive(Clone, Debug)]
pub(crate) struct Class {
    pub(crate) label: StockClass,
    /// Parts of the job, by index.
    pub(crate) parts: Vec<usize>,
    /// Sheets in the rack, by index.
    pub(crate) rack: Vec<usize>,
    /// Offers, by index, priced or not; after the sieve only those worth a look.
    pub(crate) offers: Vec<usize>,
    /// Area that the parts take, clearances included, mm²: no more than it is.
    pub(crate) needed: f64,
    /// What the parts' own metal would be worth at the least: no leftover pays it back.
    pub(crate) kept_worth: f64,
    /// Pieces to be made.
    pub(crate) pieces: f64,
}

/// The whole market, looked at.
#[derive(Clone, Debug)]
pub(crate) struct View<'m> {
    pub(crate) market: &'m Market,
    pub(crate) classes: Vec<Class>,
    pub(crate) sheets: Vec<SheetFacts>,
    reaches: Vec<Reach>,
}

impl<'m> View<'m> {
    pub(crate) fn of(market: &'m Market) -> Self {
        let job = market.job();
        let reaches: Vec<Reach> = job.parts().iter().map(Reach::of).collect();
        let mut classes: Vec<Class> = Vec::new();
        for (index, part) in job.parts().iter().enumerate() {
            let needed = areas::needed(part, job.clearances()) * f64::from(part.quantity);
            let class = match classes.iter_mut().find(|class| class.label == part.class) {
                Some(class) => class,
                None => {
                    classes.push(Class {
                        label: part.class.clone(),
                        parts: Vec::new(),
                        rack: Vec::new(),
                        offers: Vec::new(),
                        needed: 0.0,
                        kept_worth: 0.0,
                        pieces: 0.0,
                    });
                    classes.last_mut().expect("it was just put there")
                }
            };
            class.parts.push(index);
            class.needed += needed;
            class.pieces += f64::from(part.quantity);
        }
        let mut view = Self { market, classes, sheets: Vec::new(), reaches };
        // Of a long list most offers are too dear to be looked at twice.
        let is_rough = |sheet: usize| job.sheets().len() > MOST_EXACT && market.is_offer(sheet);
        view.sheets = (0..job.sheets().len()).map(|sheet| view.facts(sheet, !is_rough(sheet))).collect();
        for (index, facts) in view.sheets.iter().enumerate() {
            if let Some(class) = facts.class {
                let list = if market.is_offer(index) {
                    &mut view.classes[class].offers
                } else {
                    &mut view.classes[class].rack
                };
                list.push(index);
            }
        }
        for class in 0..view.classes.len() {
            view.look_closer(class);
        }
        for class in &mut view.classes {
            let sheets = class.rack.iter().chain(&class.offers);
            let least = sheets.map(|&sheet| worth(market, sheet)).fold(f64::INFINITY, f64::min);
            let net: f64 = class
                .parts
                .iter()
                .map(|&part| job.parts()[part].shape.area() * f64::from(job.parts()[part].quantity))
                .sum();
            class.kept_worth = if least.is_finite() { net * least } else { 0.0 };
        }
        view
    }

    /// Works out the rooms of the offers that promise most, until those that do are all worked out: that only makes them
    /// smaller, so what is left has shown its best.
    fn look_closer(&mut self, class: usize) {
        let lacking = self.classes[class].needed - self.rack_area(class);
        for _ in 0..MOST_LOOKS {
            let offers = &self.classes[class].offers;
            let by_rate = |sheet: usize| self.sheets[sheet].net_price / self.sheets[sheet].area.max(f64::MIN_POSITIVE);
            let alone = |sheet: usize| match self.sheets[sheet].area * self.sheets[sheet].copies >= lacking {
                true => self.sheets[sheet].net_price * (lacking / self.sheets[sheet].area).ceil().max(1.0),
                false => f64::INFINITY,
            };
            let mut wanted: Vec<usize> = Vec::new();
            for key in [&by_rate as &dyn Fn(usize) -> f64, &alone] {
                let mut order: Vec<(f64, usize)> = offers.iter().map(|&sheet| (key(sheet), sheet)).collect();
                order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                wanted.extend(order.into_iter().take(MOST_CLOSE).map(|(_, sheet)| sheet));
            }
            wanted.retain(|&sheet| !self.sheets[sheet].is_exact);
            wanted.sort_unstable();
            wanted.dedup();
            if wanted.is_empty() {
                break;
            }
            for sheet in wanted {
                self.sheets[sheet] = self.facts(sheet, true);
            }
        }
    }

    fn facts(&self, index: usize, is_exact: bool) -> SheetFacts {
        let (market, job) = (self.market, self.market.job());
        let sheet = &job.sheets()[index];
        let class = self.classes.iter().position(|class| class.label == sheet.class);
        let copies = sheet.quantity.map_or(f64::INFINITY, f64::from);
        let charge = market.charge(index).coins() as f64;
        let Some(class) = class else {
            // Of no use here, and thousands of them must not take time.
            let (area, net_price) = (0.0, 0.0);
            return SheetFacts {
                class: None,
                area,
                room: Room::NONE,
                net_price,
                copies,
                by_length: None,
                holds: Vec::new(),
                is_exact: true,
            };
        };
        let work_out = if is_exact { areas::room } else { areas::rough_room };
        let (area, room) = work_out(sheet, job.clearances());
        let gross = sheet.shape.area();
        let (net_price, by_length) = match sheet.open_length {
            None => (sheet.price.coins() as f64 + charge - worth(market, index) * gross, None),
            Some(terms) => {
                let bounds = sheet.shape.bounds();
                let net =
                    |length: f64| terms.price_per_length * length - worth(market, index) * length * bounds.height();
                let least = terms.order_length(0.0).min(bounds.width());
                // Room by length is at best that of the whole, which the margins at both ends make a little less.
                let share = bounds.height().max(f64::MIN_POSITIVE) + 2.0 * overhang(job.clearances());
                let rate = net(1.0) / share;
                (net(least) + charge, Some(ByLength { rate, least_area: (least * share).min(area) }))
            }
        };
        let holds = self.classes[class]
            .parts
            .iter()
            .map(|&part| self.reaches[part].may_lie_in(room, sheet.grain_deg))
            .collect();
        SheetFacts { class: Some(class), area, room, net_price, copies, by_length, holds, is_exact }
    }

    /// Why a part cannot lie on a sheet; `None` when nothing speaks against it.
    pub(crate) fn misfit(&self, part: usize, sheet: usize) -> Option<Misfit> {
        let grain = self.market.job().sheets()[sheet].grain_deg;
        self.reaches[part].misfit(self.sheets[sheet].room, grain)
    }

    /// Area that all of a sheet's copies give, mm².
    pub(crate) fn whole_area(&self, sheet: usize) -> f64 {
        let facts = &self.sheets[sheet];
        if facts.area > 0.0 { facts.area * facts.copies } else { 0.0 }
    }

    /// Area of the rack, mm².
    pub(crate) fn rack_area(&self, class: usize) -> f64 {
        self.classes[class].rack.iter().map(|&sheet| self.whole_area(sheet)).sum()
    }

    /// Parts of a class that lie on nothing in the rack.
    pub(crate) fn not_in_rack(&self, class: usize) -> Vec<usize> {
        let class = &self.classes[class];
        let is_held = |at: usize| class.rack.iter().any(|&sheet| self.sheets[sheet].holds[at]);
        (0..class.parts.len()).filter(|&at| !is_held(at)).collect()
    }
}

/// What a square millimetre that is no part may at best bring.
fn worth(market: &Market, sheet: usize) -> f64 {
    let sheet = &market.job().sheets()[sheet];
    sheet.leftover_worth.max(sheet.scrap_worth)
}

fn overhang(clearances: &dropwise_model::Clearances) -> f64 {
    (clearances.web() / 2.0 - clearances.margin()).max(0.0)
}

/// Coins by which a bound in fractions may exceed the truth in whole coins: credits and prices by length are rounded sheet by
/// sheet.
pub(crate) fn rounding(view: &View<'_>) -> f64 {
    let any = |test: &dyn Fn(usize) -> bool| (0..view.sheets.len()).any(test);
    let has_worth = any(&|sheet| view.sheets[sheet].class.is_some() && worth(view.market, sheet) > 0.0);
    let has_length = any(&|sheet| view.sheets[sheet].by_length.is_some());
    let each = if has_worth { 1.0 } else { 0.0 } + if has_length { 0.5 } else { 0.0 };
    let pieces: f64 = view.classes.iter().map(|class| class.pieces).sum();
    each * pieces
}

/// A bound in fractions of a coin as whole coins that are no more.
pub(crate) fn whole_coins(bound: f64, rounding: f64) -> Money {
    // A hair is taken off before rounding up, for sums in floating point.
    Money::from_coins((bound - rounding - 1e-6 * bound.abs().max(1.0)).ceil() as i64)
}
