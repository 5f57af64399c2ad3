//! Rectangles along the axes: a few sheets are emptied and their parts laid again, on cheaper sheets if possible.
//!
//! # Sources
//! Schrimpf, Schneider, Stamm-Wilbrandt, Dueck, "Record breaking optimization results using the ruin and recreate
//! principle", J. Comput. Phys. 159 (2000). What a part is worth when sheets are weighed against each other comes from the
//! prices that prove the bound.

use std::sync::Arc;

use super::fill::{Filler, Lying};
use super::view::BoxTask;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::working::Arrangement;

/// A sheet and what lies on it.
#[derive(Clone, Debug, PartialEq)]
struct Load {
    sheet: usize,
    boxes: Vec<Lying>,
}

/// The search.
#[derive(Clone, Debug)]
pub(crate) struct Refill {
    task: Arc<BoxTask>,
    rng: SearchRng,
    filler: Filler,
    /// Worth of a part of each kind, in coins.
    values: Vec<f64>,
    loads: Vec<Load>,
    cost: f64,
    best: Vec<Load>,
    best_cost: f64,
    /// Tries since the best last improved.
    stale: u32,
    /// Numbers of sheets worth a try of their own.
    wanted: Option<Vec<usize>>,
}

/// Most sheets emptied at once.
const MOST_EMPTIED: usize = 4;
/// Kinds of sheets weighed against each other for one filling.
const MOST_SHEETS: usize = 8;
/// After so many tries without a gain the search goes back to the best.
const PATIENCE: u32 = 2_000;
/// After so many without a gain it gives up.
const EXHAUSTED: u32 = 500_000;

impl Refill {
    pub(crate) fn new(task: BoxTask, rng: SearchRng) -> Self {
        let rate = task.sheets.iter().map(|s| s.price / s.area.max(f64::MIN_POSITIVE)).fold(f64::INFINITY, f64::min);
        let values = task.kinds.iter().map(|kind| kind.area * rate.max(1e-9)).collect();
        let mut refill = Self {
            filler: Filler::default(),
            values,
            loads: Vec::new(),
            cost: f64::INFINITY,
            best: Vec::new(),
            best_cost: f64::INFINITY,
            stale: 0,
            wanted: None,
            rng,
            task: Arc::new(task),
        };
        let pool =
            (0..refill.task.kinds.len()).flat_map(|k| std::iter::repeat_n(k, refill.task.kinds[k].count)).collect();
        if let Some(loads) = refill.recreate(pool, f64::INFINITY) {
            refill.cost = refill.price(&loads);
            refill.best_cost = refill.cost;
            refill.best.clone_from(&loads);
            refill.loads = loads;
        }
        refill
    }

    /// Whether so much was tried in vain that more of it is not worth the time.
    pub(crate) fn is_exhausted(&self) -> bool {
        self.loads.is_empty() || self.stale >= EXHAUSTED
    }

    /// Price of the best, infinite if there is none.
    pub(crate) fn best_cost(&self) -> f64 {
        self.best_cost
    }

    /// Takes over what parts are worth, by part of the task, and numbers of sheets that might do, by sheet of the task.
    pub(crate) fn advise(&mut self, values: &[(usize, f64)], wanted: Option<&[(usize, usize)]>) {
        let task = Arc::clone(&self.task);
        let rate = task.sheets.iter().map(|s| s.price / s.area.max(f64::MIN_POSITIVE)).fold(f64::INFINITY, f64::min);
        for (kind, value) in task.kinds.iter().zip(&mut self.values) {
            if let Some(&(_, given)) = values.iter().find(|entry| entry.0 == kind.part) {
                // A part worth nothing still has to lie somewhere.
                *value = 0.95 * given + 0.05 * kind.area * rate;
            }
        }
        self.wanted = wanted.and_then(|wanted| {
            let mut counts = vec![0; task.sheets.len()];
            for &(sheet, count) in wanted {
                let position = task.sheets.iter().position(|s| s.sheet == sheet);
                match position {
                    Some(position) => counts[position] = count,
                    None if count == 0 => {}
                    None => return None,
                }
            }
            Some(counts)
        });
    }

    /// Works on for about so many looks at an empty rectangle. Nothing but the amount of work decides what happens.
    pub(crate) fn run(&mut self, work: u64) {
        let end = self.filler.work + work;
        while self.filler.work < end && !self.loads.is_empty() {
            // Even a try that finds nothing to do is work.
            self.filler.work += 20;
            self.stale += 1;
            if self.stale.is_multiple_of(PATIENCE) {
                self.loads.clone_from(&self.best);
                self.cost = self.best_cost;
            }
            if self.rng.chance(0.1) && self.loads.len() <= 2 * MOST_EMPTIED && self.try_wanted() {
                continue;
            }
            self.try_once();
        }
    }

    fn price(&self, loads: &[Load]) -> f64 {
        loads.iter().map(|load| self.task.sheets[load.sheet].price).sum()
    }

    fn take(&mut self, loads: Vec<Load>, cost: f64) {
        self.loads = loads;
        self.cost = cost;
        if cost < self.best_cost - 1e-6 {
            self.best_cost = cost;
            self.best.clone_from(&self.loads);
            self.stale = 0;
        }
    }

    /// Empties some sheets and fills others.
    fn try_once(&mut self) {
        let count = self.loads.len();
        let most = count.min(MOST_EMPTIED);
        let emptied = 1 + self.rng.index(most);
        // The first by how much more it costs than what lies on it is worth, the others at random.
        let excess = |load: &Load| {
            let worth: f64 = load.boxes.iter().map(|b| self.values[b.kind]).sum();
            (self.task.sheets[load.sheet].price - worth).max(0.0) + 0.02 * self.task.sheets[load.sheet].price + 1e-9
        };
        let weights: Vec<f64> = self.loads.iter().map(excess).collect();
        let mut chosen: Vec<usize> = Vec::with_capacity(emptied);
        while chosen.len() < emptied {
            let drawn = if self.rng.chance(0.7) { draw(&weights, &mut self.rng) } else { self.rng.index(count) };
            if !chosen.contains(&drawn) {
                chosen.push(drawn);
            }
        }
        let pool: Vec<usize> = chosen.iter().flat_map(|&c| self.loads[c].boxes.iter().map(|b| b.kind)).collect();
        let old: f64 = chosen.iter().map(|&c| self.task.sheets[self.loads[c].sheet].price).sum();
        let cheapest = self.task.sheets.iter().map(|s| s.price).fold(f64::INFINITY, f64::min);
        let allowed = old - 0.1 * cheapest * (1.0 - self.rng.unit()).ln() * f64::from(u8::from(self.rng.chance(0.3)));
        let mut kept: Vec<Load> = Vec::new();
        for (index, load) in self.loads.iter().enumerate() {
            if !chosen.contains(&index) {
                kept.push(load.clone());
            }
        }
        let before = std::mem::replace(&mut self.loads, kept);
        let is_set = emptied <= 3 && self.rng.chance(0.5);
        let found = if is_set { self.refit(&pool, old) } else { self.recreate(pool, allowed) };
        match found {
            Some(mut fresh) => {
                let mut loads = std::mem::take(&mut self.loads);
                loads.append(&mut fresh);
                let cost = self.price(&loads);
                self.take(loads, cost);
            }
            None => self.loads = before,
        }
    }

    fn left_of(&self, sheet: usize, taken: &[Load]) -> usize {
        let in_use = self.loads.iter().chain(taken).filter(|load| load.sheet == sheet).count();
        self.task.sheets[sheet].quantity.saturating_sub(in_use)
    }

    /// Lays a pool of parts on sheets that together cost no more than `allowed`, one sheet after another: always the one
    /// that gives most for its price.
    fn recreate(&mut self, mut pool: Vec<usize>, allowed: f64) -> Option<Vec<Load>> {
        let task = Arc::clone(&self.task);
        let mut loads: Vec<Load> = Vec::new();
        let mut cost = 0.0;
        while !pool.is_empty() {
            let rest: f64 = pool.iter().map(|&k| self.values[k]).sum();
            if cost + 0.95 * rest > allowed + 1e-6 {
                return None;
            }
            // A part that is hard to place is not left for last.
            let lead = if self.rng.chance(0.6) {
                (0..pool.len())
                    .max_by(|&a, &b| self.values[pool[a]].total_cmp(&self.values[pool[b]]).then(b.cmp(&a)))?
            } else {
                self.rng.index(pool.len())
            };
            let mut candidates: Vec<usize> = (0..task.sheets.len())
                .filter(|&s| task.kinds[pool[lead]].is_on[s] && self.left_of(s, &loads) > 0)
                .filter(|&s| cost + task.sheets[s].price <= allowed + 1e-6)
                .collect();
            if candidates.len() > MOST_SHEETS {
                self.rng.shuffle(&mut candidates);
                candidates.truncate(MOST_SHEETS);
            }
            let mut best: Option<(f64, Load, Vec<bool>)> = None;
            for sheet in candidates {
                for _ in 0..2 {
                    let mut order = self.filler.order(&task, &pool, &self.values, &mut self.rng);
                    if let Some(position) = order.iter().position(|&index| index == lead) {
                        order[..=position].rotate_right(1);
                    }
                    let rule = self.filler.any_rule(&mut self.rng);
                    let (boxes, is_laid) = self.filler.fill(&task, sheet, &pool, &order, rule);
                    let worth: f64 = boxes.iter().map(|b| self.values[b.kind]).sum();
                    let rate = task.sheets[sheet].price.max(1e-9) / worth.max(1e-12) * (1.0 + 0.03 * self.rng.unit());
                    if !boxes.is_empty() && best.as_ref().is_none_or(|(least, _, _)| rate < *least) {
                        best = Some((rate, Load { sheet, boxes }, is_laid));
                    }
                }
            }
            let (_, mut load, is_laid) = best?;
            let mut index = 0;
            pool.retain(|_| {
                index += 1;
                !is_laid[index - 1]
            });
            self.make_cheaper(&mut load, &loads);
            cost += task.sheets[load.sheet].price;
            loads.push(load);
        }
        (cost <= allowed + 1e-6).then_some(loads)
    }

    /// Moves what lies on a sheet to a cheaper one that holds it, if a few tries find one.
    fn make_cheaper(&mut self, load: &mut Load, taken: &[Load]) {
        let task = Arc::clone(&self.task);
        let kinds: Vec<usize> = load.boxes.iter().map(|b| b.kind).collect();
        let area: f64 = kinds.iter().map(|&k| task.kinds[k].area).sum();
        let mut cheaper: Vec<usize> = (0..task.sheets.len())
            .filter(|&s| task.sheets[s].price < task.sheets[load.sheet].price - 1e-9)
            .filter(|&s| task.sheets[s].area >= area && self.left_of(s, taken) > 0)
            .filter(|&s| kinds.iter().all(|&k| task.kinds[k].is_on[s]))
            .collect();
        cheaper.sort_by(|&a, &b| task.sheets[a].price.total_cmp(&task.sheets[b].price));
        for sheet in cheaper.into_iter().take(MOST_SHEETS) {
            for _ in 0..3 {
                let order = self.filler.order(&task, &kinds, &self.values, &mut self.rng);
                let rule = self.filler.any_rule(&mut self.rng);
                let (boxes, is_laid) = self.filler.fill(&task, sheet, &kinds, &order, rule);
                if is_laid.iter().all(|laid| *laid) {
                    *load = Load { sheet, boxes };
                    return;
                }
            }
        }
    }

    /// Draws a set of sheets cheaper than `old`, or as cheap, and tries to lay the pool on just these.
    fn refit(&mut self, pool: &[usize], old: f64) -> Option<Vec<Load>> {
        let task = Arc::clone(&self.task);
        let area: f64 = pool.iter().map(|&k| task.kinds[k].area).sum();
        for _ in 0..12 {
            let mut set: Vec<usize> = Vec::new();
            let (mut cost, mut room) = (0.0, 0.0);
            while room < area && cost <= old && set.len() < 6 {
                let sheet = self.rng.index(task.sheets.len());
                set.push(sheet);
                cost += task.sheets[sheet].price;
                room += task.sheets[sheet].area;
            }
            // As cheap is worth a try now and then: it lays the parts in another way.
            let is_cheap = cost < old - 1e-6 || cost <= old + 1e-6 && self.rng.chance(0.2);
            let is_there = set.iter().all(|&s| set.iter().filter(|&&other| other == s).count() <= self.left_of(s, &[]));
            let holds_all = pool.iter().all(|&k| set.iter().any(|&s| task.kinds[k].is_on[s]));
            if room >= area && is_cheap && is_there && holds_all {
                return self.lay_on(pool, &set, 8);
            }
        }
        None
    }

    /// Tries to lay a pool on just these sheets: orders are changed a little and kept where no less is laid.
    fn lay_on(&mut self, pool: &[usize], set: &[usize], tries: u32) -> Option<Vec<Load>> {
        let task = Arc::clone(&self.task);
        let mut set = set.to_vec();
        let mut order = self.filler.order(&task, pool, &self.values, &mut self.rng);
        let mut rule = self.filler.any_rule(&mut self.rng);
        let mut most = f64::NEG_INFINITY;
        let mut failed = 0;
        while failed < tries {
            let (mut next, mut next_set, mut next_rule) = (order.clone(), set.clone(), rule);
            if most > f64::NEG_INFINITY {
                match self.rng.index(8) {
                    0 => next_rule = self.filler.any_rule(&mut self.rng),
                    1 => self.rng.shuffle(&mut next_set),
                    2..=4 => {
                        let (a, b) = (self.rng.index(next.len()), self.rng.index(next.len()));
                        next.swap(a, b);
                    }
                    _ => {
                        // One that was left over, or any, comes earlier.
                        let from = self.rng.index(next.len());
                        let to = self.rng.index(from + 1);
                        next[to..=from].rotate_right(1);
                    }
                }
            }
            let mut left: Vec<usize> = next.clone();
            let mut loads = Vec::new();
            for &sheet in &next_set {
                let (boxes, is_laid) = self.filler.fill(&task, sheet, pool, &left, next_rule);
                left.retain(|&index| !is_laid[index]);
                loads.push(Load { sheet, boxes });
            }
            if left.is_empty() {
                loads.retain(|load| !load.boxes.is_empty());
                return Some(loads);
            }
            let lacking: f64 = left.iter().map(|&index| task.kinds[pool[index]].area).sum();
            if -lacking >= most {
                // Level steps are free, but not for ever.
                failed = if -lacking > most + 1e-9 { 0 } else { failed + 1 };
                (order, set, rule, most) = (next, next_set, next_rule, -lacking);
            } else {
                failed += 1;
            }
        }
        None
    }

    /// Tries the numbers of sheets that the proof could not refute.
    fn try_wanted(&mut self) -> bool {
        let Some(wanted) = self.wanted.clone() else { return false };
        let cost: f64 = wanted.iter().zip(&self.task.sheets).map(|(&n, s)| n as f64 * s.price).sum();
        if cost >= self.best_cost - 1e-6 {
            return false;
        }
        let set: Vec<usize> = wanted.iter().enumerate().flat_map(|(s, &n)| std::iter::repeat_n(s, n)).collect();
        let pool: Vec<usize> =
            (0..self.task.kinds.len()).flat_map(|k| std::iter::repeat_n(k, self.task.kinds[k].count)).collect();
        if let Some(loads) = self.lay_on(&pool, &set, 60) {
            let cost = self.price(&loads);
            self.take(loads, cost);
        }
        true
    }

    /// The best as an arrangement of a task's items.
    pub(crate) fn arrangement(&self, task: &Task) -> Arrangement {
        let items = task.items();
        let mut places = vec![None; items.len()];
        let mut of_part: Vec<Vec<usize>> = vec![Vec::new(); task.parts.len()];
        for (item, &part) in items.iter().enumerate().rev() {
            of_part[part].push(item);
        }
        let mut bins = Vec::new();
        for load in &self.best {
            let sheet = &self.task.sheets[load.sheet];
            for lying in &load.boxes {
                let kind = &self.task.kinds[lying.kind];
                let form = &kind.forms[lying.form];
                if let Some(item) = of_part[kind.part].pop() {
                    let offset = sheet.origin.to_vector() + dropwise_geometry::Vector::new(lying.x, lying.y);
                    places[item] = Some((bins.len(), Pose { at: form.pose.at + offset, ..form.pose }));
                }
            }
            bins.push((sheet.sheet, None));
        }
        Arrangement { bins, places }
    }
}

/// An index drawn in proportion to its weight.
fn draw(weights: &[f64], rng: &mut SearchRng) -> usize {
    let mut left = rng.unit() * weights.iter().sum::<f64>();
    for (index, weight) in weights.iter().enumerate() {
        left -= weight;
        if left < 0.0 {
            return index;
        }
    }
    weights.len() - 1
}
