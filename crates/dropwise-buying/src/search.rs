//! The order in which sets are tried, and what is made of it.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::time::Duration;

use dropwise_model::{Layout, Money, Plan, Provenance};

use crate::decision::{Bought, Choice, Decision, NotTried};
use crate::items::{View, rounding, whole_coins};
use crate::pool::{ClassPlan, Pool, Together, together};
use crate::proof::{Attempt, BuyingError, NestProver, Prover};
use crate::sets::{ALL, Listed, Set, SetList};
use crate::sieve::sift;
use crate::worth::{asked_for, worths};
use crate::{Market, Progress, Settings, Verdict};

/// Weighs the rack of a market against its offers.
///
/// `observer` is called before each set that is tried and after each round of its nest; when it returns
/// [`ControlFlow::Break`] the weighing ends with what it has. The same market, seed, rounds and tries give the same decision
/// on any number of threads, unless the observer or the time limit ended it.
///
/// # Errors
/// [`BuyingError`], each by a fault of ours or of the system. That nothing does the job is no error.
///
/// # Examples
/// ```
/// # use dropwise_geometry::{Outline, Point, Shape};
/// # use dropwise_model::*;
/// use dropwise_buying::{Market, Seller, Settings, Source, decide};
/// # let class = StockClass::new("3 mm");
/// # let rectangle = |w, h| Shape::new(Outline::rectangle(Point::ORIGIN, w, h), Vec::new());
/// # let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
/// let part = Part { quantity: 4, ..Part::new("plate", rectangle(40.0, 30.0), class.clone()) };
/// let offer = |name: &str, length, price| Sheet {
///     price: Money::from_coins(price), ..Sheet::new(name, rectangle(length, 80.0), class.clone())
/// };
/// let sheets = vec![offer("small drop", 50.0, 300), offer("drop", 100.0, 500), offer("large drop", 400.0, 1500)];
/// let job = Job::new(vec![part], sheets, Clearances::new(1.0, 2.0, 3.0)?, rule)?;
/// let yard = Seller { name: "yard".into(), delivery: Money::from_coins(200), minimum_order: Money::ZERO };
/// let source = Source::Offer { seller: Some(0), charge: Money::ZERO, is_priced: true };
/// let market = Market::new(job, vec![source; 3], vec![yard])?;
/// let decision = decide(&market, &Settings::default(), |_| std::ops::ControlFlow::Continue(()))?;
/// assert_eq!(decision.choices[0].bought[0].sheet, 1);
/// assert_eq!(decision.choices[0].bill.total, Money::from_coins(700));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn decide(
    market: &Market,
    settings: &Settings,
    observer: impl FnMut(&Progress) -> ControlFlow<()> + Send,
) -> Result<Decision, BuyingError> {
    let mut prover = NestProver::new(settings, observer);
    let mut view = View::of(market);
    let verdicts = sift(&mut view);
    let mut search = Search::new(&view, settings, &mut prover);
    search.run()?;
    search.finish(verdicts)
}

/// What the search has learned of how full sheets get, clearances included.
#[derive(Clone, Copy, Debug)]
struct FillModel {
    /// Share at which half of the tries succeed.
    middle: f64,
}

/// How sharply the chance of success falls around the middle.
const FILL_SPREAD: f64 = 0.05;

impl FillModel {
    fn chance(self, fill: f64) -> f64 {
        if fill > 1.0 + 1e-9 { 0.0 } else { 1.0 / (1.0 + ((fill - self.middle) / FILL_SPREAD).exp()) }
    }

    /// A surprise moves the middle towards it.
    fn learn(&mut self, fill: f64, has_succeeded: bool) {
        let step =
            if has_succeeded { 0.5 * (fill - self.middle).max(0.0) } else { -0.25 * (self.middle - fill).max(0.0) };
        self.middle = (self.middle + step).clamp(0.3, 0.99);
    }
}

/// What is known of a set that was tried for a class.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tried {
    pub(crate) missing: u32,
    /// Of the longest try that was not cut short.
    rounds: u64,
}

/// Sets listed by each list.
const MOST_LISTED: usize = 800;
/// Sellers whose offers are tried together, for each class.
const MOST_SELLERS: usize = 8;
/// Choices of which a plan is made.
const MOST_CHOICES: usize = 25;
/// Offers tried alone although they cost more than the best choice, so that it is seen what they come to.
const MOST_DEARER: usize = 12;
/// Offers tried alone at the most, those that promise most. More than a person would read about.
const MOST_ALONE: usize = 120;
/// Sets of the best choices that are searched longer.
const MOST_REFINED: usize = 3;
/// Share of the time after which the worth of offers is looked at, if that is wanted.
pub(crate) const MAIN_SHARE: f64 = 0.75;
/// A set that failed gets this many times the rounds once more, and so do the best choices.
const MORE_ROUNDS: u64 = 4;
/// The first look at an offer takes this part of the rounds: what does at all mostly does at once, and no offer is to
/// go without a verdict because others had a long one.
const QUICK: u64 = 12;
/// Shares of the time by which the rack alone and all together, each offer alone, each seller, and the combinations are
/// done with. The last of it is for the best choices.
const PHASES: [f64; 4] = [0.15, 0.65, 0.72, 0.88];
/// Offers that are looked at side by side, whatever the number of threads: the answer must not hang on that.
const SIDE_BY_SIDE: usize = 4;

pub(crate) struct Search<'v, 'm, P> {
    pub(crate) view: &'v View<'m>,
    pub(crate) settings: &'v Settings,
    pub(crate) prover: &'v mut P,
    pub(crate) pools: Vec<Pool>,
    pub(crate) tried: BTreeMap<(usize, Set), Tried>,
    fill: FillModel,
    best: Option<Money>,
    lower_bound: Option<Money>,
    /// Whether rack and offers together cannot do, whatever is tried.
    is_hopeless: bool,
    tries: usize,
    is_stopped: bool,
    /// Whether time ran out at any stage.
    has_run_out: bool,
    /// Shares of the time between which this search runs.
    span: (f64, f64),
    /// What looking at offers alone took, and how many were looked at.
    looks: (Duration, u32),
    /// By how much bounds may exceed the truth.
    rounding: f64,
    not_tried: NotTried,
}

impl<'v, 'm, P: Prover> Search<'v, 'm, P> {
    pub(crate) fn new(view: &'v View<'m>, settings: &'v Settings, prover: &'v mut P) -> Self {
        Self {
            view,
            settings,
            prover,
            pools: vec![Pool::default(); view.classes.len()],
            tried: BTreeMap::new(),
            fill: FillModel { middle: 0.8 },
            best: None,
            lower_bound: None,
            is_hopeless: false,
            tries: 0,
            is_stopped: false,
            has_run_out: false,
            span: (0.0, 1.0),
            looks: (Duration::ZERO, 0),
            rounding: rounding(view),
            not_tried: NotTried::default(),
        }
    }

    #[cfg(test)]
    pub(crate) fn lower_bound(&self) -> Option<Money> {
        self.lower_bound
    }

    /// Tries all that is worth it.
    pub(crate) fn run(&mut self) -> Result<(), BuyingError> {
        // The worth of offers needs time too.
        let share = if asked_for(self.view, self.settings).is_empty() { 1.0 } else { MAIN_SHARE };
        self.run_within(0.0, share)
    }

    /// Lets what follows take up to this share of the time.
    pub(crate) fn go_on(&mut self, share: f64) {
        self.prover.allow(share);
        self.has_run_out |= self.is_stopped;
        self.is_stopped = false;
    }

    /// Goes on to a stage, which may take up to its share of the time.
    fn begin(&mut self, phase: usize) {
        let (from, to) = self.span;
        self.go_on(from + (to - from) * PHASES.get(phase).copied().unwrap_or(1.0));
    }

    /// As [`Search::run`], from one share of the time to another.
    pub(crate) fn run_within(&mut self, from: f64, to: f64) -> Result<(), BuyingError> {
        self.span = (from, to);
        let market = self.view.market;
        let full = vec![1.0; self.view.classes.len()];
        let mut list = SetList::new(self.view, &full, |sheet| market.is_priced(sheet));
        let mut listed: Vec<Listed> = Vec::new();
        if let Some(list) = &mut list {
            listed.extend(list.next());
            let bound = listed.first().map(|first| first.bound).or_else(|| list.least_to_come());
            self.is_hopeless = bound.is_none();
            self.lower_bound = bound.map(|bound| whole_coins(bound, self.rounding));
        }
        let rounds = self.settings.rounds;
        let quick = (rounds / QUICK).max(1);
        // On a slow machine the first choice may take what it needs.
        self.begin(1);
        for class in 0..self.view.classes.len() {
            self.attempt(class, &Vec::new(), quick)?;
            // What can be had in any number mostly does: there is a choice, if a dear one, whatever time is left.
            let unlimited = self.offers(class, |sheet| self.view.sheets[sheet].copies.is_infinite());
            self.attempt(class, &unlimited, quick)?;
        }
        self.begin(0);
        for class in 0..self.view.classes.len() {
            let all = self.offers(class, |_| true);
            self.attempt(class, &all, rounds)?;
        }
        self.begin(1);
        let single = self.singles(list.as_ref());
        self.look_at(&single[..single.len().min(MOST_ALONE)], quick, true)?;
        self.begin(2);
        self.try_sellers()?;
        self.begin(3);
        if let Some(mut list) = list {
            self.try_listed(&mut list, listed)?;
        }
        self.begin(4);
        self.refine()?;
        // Time that was left over: offers for which it was too short at first, then those that cannot win, so that it is
        // seen what they come to.
        let (open, dearer): (Vec<_>, Vec<_>) =
            single.into_iter().partition(|(_, _, bound)| self.may_be_cheaper(*bound));
        self.look_at(&open[..open.len().min(MOST_ALONE)], quick, false)?;
        self.look_at(&dearer[..dearer.len().min(MOST_DEARER)], quick, false)
    }

    /// Tries sets, some side by side; `if_cheaper`, only those that may be cheaper than the best so far.
    fn look_at(&mut self, sets: &[(usize, Set, f64)], rounds: u64, if_cheaper: bool) -> Result<(), BuyingError> {
        let mut sets = sets.iter().peekable();
        while sets.peek().is_some() {
            let mut together = Vec::new();
            for (class, set, bound) in sets.by_ref() {
                let is_wanted = !if_cheaper || self.may_be_cheaper(*bound);
                if is_wanted
                    && self.tries + together.len() < self.settings.most_tries
                    && self.is_open(*class, set, rounds)
                {
                    together.push((*class, set.clone()));
                }
                if together.len() == SIDE_BY_SIDE {
                    break;
                }
            }
            if together.is_empty() || self.is_over() {
                return Ok(());
            }
            let before = self.prover.spent();
            let attempts = self.prover.attempt_each(self.view, &together, rounds)?;
            self.looks = (self.looks.0 + (self.prover.spent() - before), self.looks.1 + together.len() as u32);
            for ((class, set), attempt) in together.into_iter().zip(attempts) {
                self.learn(class, set, rounds, attempt);
            }
        }
        Ok(())
    }

    /// Priced offers of a class, all copies of them.
    pub(crate) fn offers(&self, class: usize, wanted: impl Fn(usize) -> bool) -> Set {
        let market = self.view.market;
        let offers = self.view.classes[class].offers.iter().copied();
        offers
            .filter(|&sheet| market.is_priced(sheet) && wanted(sheet))
            .map(|sheet| (sheet, self.copies(sheet)))
            .collect()
    }

    fn copies(&self, sheet: usize) -> u32 {
        let model = &self.view.market.job().sheets()[sheet];
        if model.open_length.is_some() { ALL } else { model.quantity.unwrap_or(ALL) }
    }

    fn may_be_cheaper(&self, bound: f64) -> bool {
        let best = self.best.map_or(f64::INFINITY, |best| best.coins() as f64);
        bound - self.rounding < best - 0.5
    }

    /// Share of the rooms that parts of a class would take.
    fn fill_of(&self, class: usize, set: &Set) -> f64 {
        let room: f64 = set
            .iter()
            .map(|&(sheet, count)| match count {
                ALL => self.view.whole_area(sheet),
                count => self.view.sheets[sheet].area * f64::from(count),
            })
            .sum();
        self.view.classes[class].needed / (room + self.view.rack_area(class)).max(f64::MIN_POSITIVE)
    }

    /// A part for which neither the rack nor the set has a sheet.
    pub(crate) fn part_without_sheet(&self, class: usize, set: &Set) -> Option<usize> {
        let missing = self.view.not_in_rack(class);
        let homeless = missing.into_iter().find(|&at| !set.iter().any(|&(sheet, _)| self.view.sheets[sheet].holds[at]));
        homeless.map(|at| self.view.classes[class].parts[at])
    }

    /// Nests a class on the rack and a set, unless it was tried as long, cannot do, or it is over.
    pub(crate) fn attempt(&mut self, class: usize, set: &Set, rounds: u64) -> Result<(), BuyingError> {
        if !self.is_open(class, set, rounds) || self.is_over() || self.tries >= self.settings.most_tries {
            return Ok(());
        }
        let attempt = self.prover.attempt(self.view, class, set, None, rounds)?;
        self.learn(class, set.clone(), rounds, attempt);
        Ok(())
    }

    /// Whether a set was not tried as long yet and might do.
    fn is_open(&self, class: usize, set: &Set, rounds: u64) -> bool {
        let was_tried = self.tried.get(&(class, set.clone())).is_some_and(|tried| tried.rounds >= rounds);
        !was_tried && self.fill_of(class, set) <= 1.0 + 1e-9 && self.part_without_sheet(class, set).is_none()
    }

    /// Keeps what a try came to.
    fn learn(&mut self, class: usize, set: Set, rounds: u64, attempt: Attempt) {
        self.tries += 1;
        self.is_stopped |= attempt.is_cut_short;
        let fill = self.fill_of(class, &set);
        // A large set says little about how full sheets get, and so does a failure that was not given time.
        let is_short = attempt.is_cut_short || rounds < self.settings.rounds;
        if fill > 0.3 && !(is_short && attempt.missing > 0) {
            self.fill.learn(fill, attempt.missing == 0);
        }
        let missing = attempt.missing;
        // What ran out of time does not count as tried, nor does it undo what a shorter search found.
        let known = self.tried.get(&(class, set.clone())).copied().unwrap_or(Tried { missing: u32::MAX, rounds: 0 });
        let rounds = if attempt.is_cut_short && missing > 0 { known.rounds } else { rounds };
        self.tried.insert((class, set), Tried { missing: missing.min(known.missing), rounds });
        if missing == 0 {
            let plan = ClassPlan::new(self.view.market, attempt.uses, attempt.metal, None);
            if self.pools[class].keep(plan) {
                self.best = self.together(|_| true).first().map(|best| best.bill.total);
            }
        }
    }

    /// Whether to stop.
    pub(crate) fn is_over(&mut self) -> bool {
        self.is_stopped |= self.prover.is_over(self.tries, self.best, self.lower_bound);
        self.is_stopped
    }

    /// What the plans found so far make together, of those that pass.
    pub(crate) fn together(&self, passes: impl Fn(&ClassPlan) -> bool) -> Vec<Together<'_>> {
        let plans: Vec<Vec<&ClassPlan>> =
            self.pools.iter().map(|pool| pool.plans().filter(|&plan| passes(plan)).collect()).collect();
        together(self.view.market, &plans)
    }

    /// All offers of one seller at once: the plan pays one seller's fees.
    fn try_sellers(&mut self) -> Result<(), BuyingError> {
        let market = self.view.market;
        let full = vec![1.0; self.view.classes.len()];
        for class in 0..self.view.classes.len() {
            let mut sellers: Vec<Option<usize>> =
                self.view.classes[class].offers.iter().map(|&sheet| market.seller(sheet)).collect();
            sellers.sort_unstable();
            sellers.dedup();
            if sellers.len() < 2 {
                continue;
            }
            // With hundreds of sellers the first look is at the area that each has.
            if sellers.len() > 4 * MOST_SELLERS {
                let mut areas: BTreeMap<Option<usize>, f64> = BTreeMap::new();
                for &sheet in &self.view.classes[class].offers {
                    *areas.entry(market.seller(sheet)).or_default() += self.view.whole_area(sheet);
                }
                sellers.sort_by(|a, b| areas[b].total_cmp(&areas[a]).then(a.cmp(b)));
                sellers.truncate(4 * MOST_SELLERS);
            }
            let mut ranked = Vec::new();
            for seller in sellers {
                let is_here = |sheet: usize| {
                    let other = market.seller(sheet);
                    market.is_priced(sheet) && (other.is_none() || other == seller)
                };
                let set = self.offers(class, is_here);
                let is_other = |sheet: usize| market.is_priced(sheet) && self.view.sheets[sheet].class != Some(class);
                let list = SetList::new(self.view, &full, |sheet| is_here(sheet) || is_other(sheet));
                let bound = list.and_then(|mut list| list.next().map(|first| first.bound));
                if let Some(bound) = bound.filter(|_| !set.is_empty()) {
                    ranked.push((bound, set));
                }
            }
            ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
            for (bound, set) in ranked.into_iter().take(MOST_SELLERS) {
                if self.may_be_cheaper(bound) {
                    self.attempt(class, &set, self.settings.rounds)?;
                }
            }
        }
        Ok(())
    }

    /// Each offer alone with the rack, those that promise most first: `(class, set, least cost)`. Those that cannot do by
    /// area or for want of a sheet for some part are left out.
    fn singles(&self, list: Option<&SetList<'_, '_>>) -> Vec<(usize, Set, f64)> {
        let mut single = Vec::new();
        for class in 0..self.view.classes.len() {
            let (homeless, in_rack) = (self.view.not_in_rack(class), self.view.rack_area(class));
            for (sheet, copies) in self.offers(class, |_| true) {
                let set: Set = vec![(sheet, copies)];
                let facts = &self.view.sheets[sheet];
                let fill = self.view.classes[class].needed / (in_rack + self.view.whole_area(sheet));
                if fill > 1.0 || homeless.iter().any(|&at| !facts.holds[at]) {
                    continue;
                }
                let bound = list.and_then(|list| list.least_alone(sheet).or_else(|| list.least_with(sheet)));
                let bound = bound.unwrap_or(f64::NEG_INFINITY);
                let estimate = bound / self.fill.chance(fill).max(0.05);
                single.push((estimate, class, set, bound));
            }
        }
        single.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.2.cmp(&b.2)));
        single.into_iter().map(|(_, class, set, bound)| (class, set, bound)).collect()
    }

    /// Area that the rack does not give.
    fn lacking(&self, class: usize) -> f64 {
        (self.view.classes[class].needed - self.view.rack_area(class)).max(0.0)
    }

    /// Tries sets by what they would save and how likely that is.
    fn try_listed(&mut self, list: &mut SetList<'_, '_>, mut listed: Vec<Listed>) -> Result<(), BuyingError> {
        let market = self.view.market;
        // Filled as sheets usually are; the list by the bound alone begins with sets that are far too full.
        let usual = vec![self.fill.middle.min(0.85); self.view.classes.len()];
        let mut likely = SetList::new(self.view, &usual, |sheet| market.is_priced(sheet));
        let mut candidates: Vec<Listed> = Vec::new();
        if let Some(likely) = &mut likely {
            while candidates.len() < MOST_LISTED / 2 {
                let Some(next) = likely.next() else { break };
                let Some(bound) = list.bound_of(&next.set) else { continue };
                if !self.may_be_cheaper(next.bound.min(bound)) {
                    break;
                }
                candidates.push(Listed { bound, ..next });
            }
        }
        let mut has_ended = false;
        while listed.len() < MOST_LISTED {
            let Some(next) = list.next() else {
                has_ended = list.least_to_come().is_none();
                break;
            };
            if !self.may_be_cheaper(next.bound) {
                has_ended = true;
                break;
            }
            listed.push(next);
        }
        has_ended |= list.least_to_come().is_some_and(|least| !self.may_be_cheaper(least));
        candidates.append(&mut listed);
        candidates.sort_by(|a, b| a.bound.total_cmp(&b.bound).then_with(|| a.set.cmp(&b.set)));
        candidates.dedup_by(|a, b| a.set == b.set);
        loop {
            candidates.retain(|one| self.may_be_cheaper(one.bound));
            let best = (candidates.iter())
                .map(|one| (self.promise(one), one))
                .filter(|(promise, _)| *promise > 0.0)
                .fold(None::<(f64, &Listed)>, |best, next| match best {
                    Some(best) if best.0 >= next.0 => Some(best),
                    _ => Some(next),
                });
            let Some(set) = best.map(|(_, one)| one.set.clone()) else { break };
            for class in 0..self.view.classes.len() {
                let part = self.part_of(class, &set);
                let rounds = match self.tried.get(&(class, part.clone())) {
                    Some(tried) if tried.missing > 0 && tried.rounds >= self.settings.rounds => {
                        self.settings.rounds * MORE_ROUNDS
                    }
                    _ => self.settings.rounds,
                };
                self.attempt(class, &part, rounds)?;
            }
            if self.is_stopped || self.tries >= self.settings.most_tries {
                break;
            }
        }
        let untried = |one: &&Listed| {
            (0..self.view.classes.len()).any(|class| !self.tried.contains_key(&(class, self.part_of(class, &one.set))))
        };
        self.not_tried.sets = candidates.iter().filter(untried).count();
        self.not_tried.in_vain = candidates.len() - self.not_tried.sets;
        self.not_tried.is_list_cut = !has_ended;
        Ok(())
    }

    /// What of a set is of a class.
    fn part_of(&self, class: usize, set: &Set) -> Set {
        set.iter().copied().filter(|&(sheet, _)| self.view.sheets[sheet].class == Some(class)).collect()
    }

    /// How much a set might save, times how likely it is to do; zero when there is nothing left to try.
    fn promise(&self, one: &Listed) -> f64 {
        let mut chance = 1.0;
        let mut is_open = false;
        for class in 0..self.view.classes.len() {
            let part = self.part_of(class, &one.set);
            let by_area = self.fill.chance(self.fill_of(class, &part));
            match self.tried.get(&(class, part)) {
                Some(tried) if tried.missing == 0 => {}
                Some(tried) if tried.rounds < self.settings.rounds * MORE_ROUNDS => {
                    chance *= by_area / (1.0 + f64::from(tried.missing));
                    is_open = true;
                }
                Some(_) => return 0.0,
                None => {
                    chance *= by_area;
                    is_open = true;
                }
            }
        }
        let gain = match self.best {
            Some(best) => best.coins() as f64 - one.bound,
            None => 1.0 / (1.0 + one.bound.max(0.0)),
        };
        if is_open { (gain * chance).max(f64::MIN_POSITIVE) } else { 0.0 }
    }

    /// Searches longer on what the best choices buy: the same metal may leave more over, or less of the rack may do.
    fn refine(&mut self) -> Result<(), BuyingError> {
        let best = self.together(|_| true);
        let Some(first) = best.first() else { return Ok(()) };
        if self.lower_bound.is_some_and(|bound| first.bill.total <= bound) {
            return Ok(());
        }
        let plans = best.iter().take(MOST_REFINED).flat_map(|one| one.plans.iter().enumerate());
        let all = |&(sheet, count): &(usize, u32)| match self.view.sheets[sheet].by_length {
            Some(_) => (sheet, ALL),
            None => (sheet, count),
        };
        let sets: Vec<(usize, Set)> =
            plans.map(|(class, plan)| (class, plan.bought.iter().map(all).collect())).collect();
        for (class, set) in sets {
            self.attempt(class, &set, self.settings.rounds * MORE_ROUNDS)?;
        }
        Ok(())
    }

    /// Puts the answer together.
    fn finish(mut self, verdicts: Vec<Option<Verdict>>) -> Result<Decision, BuyingError> {
        let is_stopped = self.is_stopped || self.has_run_out;
        let a_look = if self.looks.1 > 0 { self.looks.0 / self.looks.1 } else { self.prover.spent() };
        let worths = worths(&mut self)?;
        let all = self.together(|_| true);
        let mut listed: Vec<(Set, &Together<'_>)> = Vec::new();
        for one in &all {
            let bought = one.bought();
            // Buying more for more money is no choice.
            let buys_more = |(set, _): &(Set, &Together<'_>)| {
                set.iter().all(|(sheet, count)| bought.iter().any(|(other, more)| other == sheet && more >= count))
            };
            if listed.len() < MOST_CHOICES && !listed.iter().any(buys_more) {
                listed.push((bought, one));
            }
        }
        let choices = listed.iter().map(|(_, one)| self.choice(one)).collect::<Result<Vec<_>, _>>()?;
        let alone = self.least_alone();
        let verdicts: Vec<Option<Verdict>> = (verdicts.into_iter().enumerate())
            .map(|(sheet, verdict)| {
                if !self.view.market.is_offer(sheet) {
                    return None;
                }
                let in_choice = || choices.iter().position(|choice| choice.bought.iter().any(|b| b.sheet == sheet));
                let dearer = || {
                    let with = all.iter().find(|one| one.plans.iter().any(|plan| plan.buys(sheet) > 0));
                    with.map(|one| Verdict::Dearer(one.bill.total))
                };
                Some(match verdict {
                    Some(verdict) => verdict,
                    None if !self.view.market.is_priced(sheet) => Verdict::NoPrice,
                    None => in_choice()
                        .map(Verdict::InChoice)
                        .or_else(dearer)
                        .unwrap_or_else(|| self.alone(sheet, alone[sheet])),
                })
            })
            .collect();
        let shortfalls = (0..self.view.classes.len())
            .filter(|&class| self.pools[class].plans().next().is_none())
            .map(|class| {
                let tried = self.tried.iter().filter(|((of, _), _)| *of == class);
                (self.view.classes[class].label.clone(), tried.map(|(_, tried)| tried.missing).min())
            })
            .collect();
        let offers = verdicts.iter().filter(|verdict| **verdict == Some(Verdict::NotTried)).count();
        // Of a run that the clock did not end nothing that is told may hang on the clock.
        let wanted = (is_stopped && (1..=MOST_ALONE).contains(&offers)).then(|| a_look * offers as u32);
        let not_tried = NotTried { offers, wanted, is_stopped, ..self.not_tried };
        let lower_bound = self.lower_bound;
        Ok(Decision { choices, verdicts, lower_bound, shortfalls, worths, tries: self.tries, not_tried })
    }

    /// For each offer, the least that a choice costs which buys it and else only uses the rack, where a bound is known.
    fn least_alone(&self) -> Vec<Option<f64>> {
        let market = self.view.market;
        let full = vec![1.0; self.view.classes.len()];
        let mut least = vec![None; self.view.sheets.len()];
        let Some(list) = SetList::new(self.view, &full, |sheet| market.is_priced(sheet)) else { return least };
        for class in &self.view.classes {
            for &sheet in &class.offers {
                least[sheet] = list.least_alone(sheet);
            }
        }
        least
    }

    /// Why an offer is in no choice. `least` is what it costs at least with nothing but the rack.
    fn alone(&self, sheet: usize, least: Option<f64>) -> Verdict {
        let Some(class) = self.view.sheets[sheet].class else { return Verdict::OtherStock };
        let set: Set = vec![(sheet, self.copies(sheet))];
        if let Some(part) = self.part_without_sheet(class, &set)
            && let Some(misfit) = self.view.misfit(part, sheet)
        {
            return Verdict::LeavesPart { part, misfit };
        }
        let short = self.lacking(class) - self.view.whole_area(sheet);
        if short > 0.0 {
            return Verdict::AreaShort(short);
        }
        let nothing = Set::new();
        let others = (0..self.view.classes.len()).filter(|&other| other != class);
        let is_short =
            |other: usize| self.fill_of(other, &nothing) > 1.0 || self.part_without_sheet(other, &nothing).is_some();
        if let Some(other) = others.into_iter().find(|&other| is_short(other)) {
            return Verdict::LeavesClass(self.view.classes[other].label.clone());
        }
        match self.tried.get(&(class, set.clone())) {
            Some(tried) if tried.missing == 0 => return Verdict::NotNeeded,
            Some(tried) if tried.rounds > 0 => return Verdict::NoRoom(tried.missing),
            _ => {}
        }
        match least {
            Some(bound) if !self.may_be_cheaper(bound) => Verdict::AtLeast(whole_coins(bound, self.rounding)),
            _ => Verdict::NotTried,
        }
    }

    /// A choice with its plan proved as a whole.
    fn choice(&self, one: &Together<'_>) -> Result<Choice, BuyingError> {
        let market = self.view.market;
        let sheets: Vec<_> = one.plans.iter().flat_map(|plan| plan.uses.iter().cloned()).collect();
        let mut bought: Vec<Bought> =
            one.bought().into_iter().map(|(sheet, count)| Bought { sheet, count, length: None }).collect();
        for used in &sheets {
            if let (Some(length), Some(one)) = (used.length, bought.iter_mut().find(|one| one.sheet == used.sheet)) {
                one.length = Some(one.length.unwrap_or(0.0) + length);
            }
        }
        let provenance = Provenance {
            seed: self.settings.seed,
            rounds: self.settings.rounds,
            chains: self.settings.chains,
            ..Provenance::default()
        };
        let layout = Layout { sheets, unplaced: Vec::new() };
        let plan = Plan::new(market.job(), layout, provenance).map_err(BuyingError::NotProved)?;
        Ok(Choice { bought, plan, bill: one.bill.clone() })
    }
}
