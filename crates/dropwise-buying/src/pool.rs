//! Plans for one class each, and what they make together.

use std::collections::BTreeMap;

use dropwise_model::{Money, SheetUse};

use crate::fees::{Bill, fees};
use crate::market::Market;
use crate::sets::Set;

/// A plan that places all parts of one class.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ClassPlan {
    /// What it buys, as `(sheet, pieces)`, ascending.
    pub(crate) bought: Set,
    /// Where the parts lie, by the indices of the job.
    pub(crate) uses: Vec<SheetUse>,
    /// Prices of all sheets less the worth of leftovers and scrap.
    pub(crate) metal: Money,
    /// Prices of sheets taken from the rack.
    pub(crate) rack: Money,
    /// Prices of sheets bought.
    pub(crate) goods: Money,
    /// Charges beside the prices.
    pub(crate) charges: Money,
    /// Goods and charges by seller.
    pub(crate) spent: Vec<(usize, Money)>,
}

impl ClassPlan {
    /// The plan of what is used. The price of `free` is left out of `spent` and `goods`; `metal` must not have it either.
    pub(crate) fn new(market: &Market, uses: Vec<SheetUse>, metal: Money, free: Option<usize>) -> Self {
        let mut plan = Self {
            bought: Vec::new(),
            metal,
            rack: Money::ZERO,
            goods: Money::ZERO,
            charges: Money::ZERO,
            spent: Vec::new(),
            uses: Vec::new(),
        };
        for used in &uses {
            let price = match free {
                Some(free) if free == used.sheet => Money::ZERO,
                _ => market.job().sheets()[used.sheet].price_of(used.length),
            };
            if !market.is_offer(used.sheet) {
                plan.rack += price;
                continue;
            }
            plan.goods += price;
            plan.charges += market.charge(used.sheet);
            if let Some(seller) = market.seller(used.sheet) {
                plan.spent.push((seller, price + market.charge(used.sheet)));
            }
            match plan.bought.iter_mut().find(|(sheet, _)| *sheet == used.sheet) {
                Some((_, count)) => *count += 1,
                None => plan.bought.push((used.sheet, 1)),
            }
        }
        plan.bought.sort_unstable();
        plan.uses = uses;
        plan
    }

    fn cost(&self) -> Money {
        self.metal + self.charges
    }

    pub(crate) fn buys(&self, sheet: usize) -> u32 {
        self.bought.iter().find(|(bought, _)| *bought == sheet).map_or(0, |&(_, count)| count)
    }
}

/// The cheapest plan for each set that plans for one class buy.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pool(BTreeMap<Set, ClassPlan>);

impl Pool {
    /// Keeps a plan, if none that buys the same is as cheap; whether it was kept.
    pub(crate) fn keep(&mut self, plan: ClassPlan) -> bool {
        let is_better = self.0.get(&plan.bought).is_none_or(|known| plan.cost() < known.cost());
        if is_better {
            self.0.insert(plan.bought.clone(), plan);
        }
        is_better
    }

    pub(crate) fn plans(&self) -> impl Iterator<Item = &ClassPlan> {
        self.0.values()
    }
}

/// A plan for each class, and what they cost together.
#[derive(Clone, Debug)]
pub(crate) struct Together<'p> {
    pub(crate) plans: Vec<&'p ClassPlan>,
    pub(crate) bill: Bill,
}

impl Together<'_> {
    /// What is bought for all classes.
    pub(crate) fn bought(&self) -> Set {
        let mut set: Set = self.plans.iter().flat_map(|plan| plan.bought.iter().copied()).collect();
        set.sort_unstable();
        set
    }
}

/// Combinations kept while classes are put together one by one. With one class all plans are kept.
const MOST_TOGETHER: usize = 600;

/// What the plans of all classes make together, cheapest first, ties to fewer pieces. `plans` has the plans of each class.
/// Sets that are bought twice stand once.
pub(crate) fn together<'p>(market: &Market, plans: &[Vec<&'p ClassPlan>]) -> Vec<Together<'p>> {
    let mut all: Vec<Together<'p>> = vec![Together { plans: Vec::new(), bill: Bill::default() }];
    for class in plans {
        let mut next: Vec<Together<'p>> = Vec::with_capacity(all.len() * class.len());
        for before in &all {
            for &plan in class {
                let mut plans = before.plans.clone();
                plans.push(plan);
                let bill = bill(market, &plans);
                next.push(Together { plans, bill });
            }
        }
        next.sort_by_cached_key(|one| (one.bill.total, one.bought()));
        next.truncate(MOST_TOGETHER);
        all = next;
    }
    all
}

fn bill(market: &Market, plans: &[&ClassPlan]) -> Bill {
    let fees = fees(market, plans.iter().flat_map(|plan| plan.spent.iter().copied()));
    let sum = |of: fn(&ClassPlan) -> Money| plans.iter().map(|plan| of(plan)).sum::<Money>();
    let (metal, charges) = (sum(|plan| plan.metal), sum(|plan| plan.charges));
    let total = metal + charges + fees.iter().map(crate::Fee::amount).sum();
    Bill { goods: sum(|plan| plan.goods), rack: sum(|plan| plan.rack), metal, charges, fees, total }
}
