//! How cheap a set of sheets could be at best, proved step by step beside the search.
//!
//! Parts get prices; no sheet holds parts worth more than some value; so sheets must be bought until these values add up
//! to the worth of all parts. Every choice of prices gives such a condition on the numbers of sheets. Good prices are
//! found as duals of a covering program whose columns are contents of sheets, made as they are needed. Then whole numbers
//! of sheets are tried, the cheapest first: each is refuted by a condition of its own, until one cannot be.
//!
//! # Sources
//! Gilmore and Gomory, "A linear programming approach to the cutting-stock problem", Operations Research 9 (1961):
//! columns by need. Farley, "A note on bounding a class of linear programming problems, including cutting stock
//! problems", Operations Research 38 (1990): a bound from any prices. Benders, "Partitioning procedures for solving
//! mixed-variables programming problems", Numerische Mathematik 4 (1962): conditions from what was refuted.

use std::collections::BTreeSet;

use super::pattern::Pricer;
use super::sheet_counts::{Cut, cheapest};
use super::simplex::Simplex;
use super::view::BoxTask;

/// Work on the contents of one kind of sheet at one set of prices.
const NODES_PER_PRICING: u64 = 4_000;
/// Sets of prices tried for the whole, and to refute one choice of sheets.
const MOST_PRICINGS: u32 = 600;
const MOST_REFUTING: u32 = 150;
/// Choices of sheets looked at.
const MOST_CHOICES: u32 = 400;
/// Enumeration of choices: kinds of sheets times conditions, together at most.
const ENUMERATION: usize = 20_000_000;

/// Contents of a sheet: how many of each kind.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Contents {
    /// Index in the box task.
    pub(crate) sheet: usize,
    pub(crate) kinds: Vec<(usize, usize)>,
}

/// A proof under way.
#[derive(Clone, Debug)]
pub(crate) struct Proof {
    task: BoxTask,
    pricer: Pricer,
    contents: Vec<Contents>,
    known: BTreeSet<(usize, Vec<(usize, usize)>)>,
    cuts: Vec<Cut>,
    stage: Stage,
    bound: f64,
    /// Worth of a part of each kind by the best prices found.
    values: Vec<f64>,
    choices: u32,
    counts: Option<Vec<usize>>,
}

#[derive(Clone, Debug)]
enum Stage {
    /// Looks for prices that prove much.
    Pricing {
        program: Box<Simplex>,
        center: Vec<f64>,
        tries: u32,
        is_straight: bool,
    },
    /// Looks for the cheapest numbers of sheets not refuted yet.
    Choosing,
    /// Tries to refute them.
    Refuting {
        counts: Vec<usize>,
        program: Box<Simplex>,
        tries: u32,
    },
    Done,
}

impl Proof {
    pub(crate) fn new(task: BoxTask) -> Self {
        let pricer = Pricer::new(&task);
        let values = vec![0.0; task.kinds.len()];
        let mut proof = Self {
            pricer,
            contents: Vec::new(),
            known: BTreeSet::new(),
            cuts: Vec::new(),
            stage: Stage::Done,
            bound: 0.0,
            values,
            choices: 0,
            counts: None,
            task,
        };
        if proof.task.kinds.is_empty() || proof.task.sheets.is_empty() {
            return proof;
        }
        for kind in 0..proof.task.kinds.len() {
            for sheet in 0..proof.task.sheets.len() {
                if proof.task.kinds[kind].is_on[sheet] {
                    proof.learn(sheet, vec![(kind, 1)]);
                }
            }
        }
        let program = proof.covering();
        let center = proof.by_area();
        proof.stage = Stage::Pricing { program: Box::new(program), center, tries: 0, is_straight: false };
        proof
    }

    /// No set of sheets that holds all parts costs less.
    pub(crate) fn bound(&self) -> f64 {
        self.bound
    }

    /// Whether all that can be proved in this way has been.
    pub(crate) fn is_done(&self) -> bool {
        matches!(self.stage, Stage::Done)
    }

    /// What a part of each kind adds to the cost, by the best prices found.
    pub(crate) fn values(&self) -> &[f64] {
        &self.values
    }

    /// The cheapest numbers of sheets that could not be refuted, once the proof is done.
    pub(crate) fn counts(&self) -> Option<&[usize]> {
        self.counts.as_deref()
    }

    /// The task as this proof sees it.
    pub(crate) fn task(&self) -> &BoxTask {
        &self.task
    }

    /// Works on for so many nodes, or until done. Nothing but the amount of work decides what happens.
    pub(crate) fn run(&mut self, mut nodes: u64) {
        while nodes > 0 && !self.is_done() {
            let used = match std::mem::replace(&mut self.stage, Stage::Done) {
                Stage::Done => 0,
                Stage::Pricing { program, center, tries, is_straight } => {
                    self.price(program, center, tries, is_straight)
                }
                Stage::Choosing => self.choose(),
                Stage::Refuting { counts, program, tries } => self.refute(counts, program, tries),
            };
            nodes = nodes.saturating_sub(used.max(1));
        }
    }

    fn learn(&mut self, sheet: usize, mut kinds: Vec<(usize, usize)>) -> bool {
        kinds.sort_unstable();
        let is_new = self.known.insert((sheet, kinds.clone()));
        if is_new {
            self.contents.push(Contents { sheet, kinds });
        }
        is_new
    }

    fn is_limited(&self, sheet: usize) -> bool {
        self.task.sheets[sheet].quantity < self.task.item_count()
    }

    /// Right side of the row of a kind: a hair more than its count, so that no two columns tie.
    fn right_side(&self, kind: usize) -> f64 {
        let scattered = (kind as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 40;
        self.task.kinds[kind].count as f64 * (1.0 + 1e-5 * scattered as f64 / f64::from(1 << 24))
    }

    fn entries(contents: &Contents, row_of_sheet: Option<usize>) -> Vec<(usize, f64)> {
        let kinds = contents.kinds.iter().map(|&(kind, count)| (kind, count as f64));
        kinds.chain(row_of_sheet.map(|row| (row, 1.0))).collect()
    }

    /// The covering program: each kind as often as it is asked for, sheets as many as there are.
    fn covering(&self) -> Simplex {
        let kinds = self.task.kinds.len();
        let dearest = self.task.sheets.iter().map(|sheet| sheet.price).fold(1.0, f64::max);
        // A part left out costs more than any sheet for it alone.
        let mut start = vec![2.0 * dearest; kinds];
        let mut right: Vec<f64> = (0..kinds).map(|kind| self.right_side(kind)).collect();
        for sheet in 0..self.task.sheets.len() {
            start.push(0.0);
            right.push(self.task.sheets[sheet].quantity as f64 * (1.0 + 1e-6));
        }
        let mut program = Simplex::new(&start, &right);
        for kind in 0..kinds {
            program.add(0.0, vec![(kind, -1.0)]);
        }
        for contents in &self.contents {
            program.add(self.task.sheets[contents.sheet].price, Self::entries(contents, Some(kinds + contents.sheet)));
        }
        program
    }

    /// Worths in proportion to the area, at the price of the cheapest area.
    fn by_area(&self) -> Vec<f64> {
        let rate =
            self.task.sheets.iter().map(|s| s.price / s.area.max(f64::MIN_POSITIVE)).fold(f64::INFINITY, f64::min);
        self.task.kinds.iter().map(|kind| kind.area * rate).collect()
    }

    fn worth(&self, values: &[f64]) -> f64 {
        values.iter().zip(&self.task.kinds).map(|(value, kind)| value * kind.count as f64).sum()
    }

    /// One set of prices: what each sheet can hold at most by them, the bound that follows, and new contents.
    fn price(&mut self, mut program: Box<Simplex>, center: Vec<f64>, tries: u32, is_straight: bool) -> u64 {
        program.solve(2_000);
        let kinds = self.task.kinds.len();
        let prices: Vec<f64> = program.prices()[..kinds].iter().map(|p| p.max(0.0)).collect();
        // Halfway from the best prices known: duals jump about at first.
        let weight = if is_straight { 1.0 } else { 0.4 };
        let values: Vec<f64> = prices.iter().zip(&center).map(|(p, c)| weight * p + (1.0 - weight) * c).collect();
        let thresholds: Vec<f64> = self.task.sheets.iter().map(|sheet| sheet.price).collect();
        let (reach, found, nodes) = self.price_all(&values, &thresholds);
        let mut factor: f64 = 1.0;
        for (sheet, &most) in reach.iter().enumerate() {
            if !self.is_limited(sheet) && most > self.task.sheets[sheet].price {
                factor = factor.min(self.task.sheets[sheet].price / most);
            }
        }
        let over: f64 = (0..reach.len())
            .filter(|&sheet| self.is_limited(sheet))
            .map(|s| self.task.sheets[s].quantity as f64 * (factor * reach[s] - self.task.sheets[s].price).max(0.0))
            .sum();
        let worth = self.worth(&values);
        let bound = factor * worth - over;
        self.add_cut(reach, worth);
        let is_better = bound > self.bound;
        let mut next_center = center;
        if is_better {
            self.bound = bound;
            self.values.clone_from(&values);
            next_center = values;
        }
        let mut is_new = false;
        for (sheet, contents) in found {
            if self.learn(sheet, contents) {
                is_new = true;
                let contents = self.contents.last().expect("just learned");
                program.add(self.task.sheets[sheet].price, Self::entries(contents, Some(kinds + sheet)));
            }
        }
        let is_closed = program.objective() * (1.0 - 2e-4) <= self.bound;
        let is_over = is_closed || tries >= MOST_PRICINGS || (!is_new && is_straight);
        self.stage = if is_over {
            Stage::Choosing
        } else {
            Stage::Pricing { program, center: next_center, tries: tries + 1, is_straight: !is_new }
        };
        nodes
    }

    /// The most that each sheet can hold at these values, and contents worth more than the thresholds.
    #[allow(clippy::type_complexity, reason = "a triple used twice")]
    fn price_all(&mut self, values: &[f64], thresholds: &[f64]) -> (Vec<f64>, Vec<(usize, Vec<(usize, usize)>)>, u64) {
        let mut reach = Vec::new();
        let mut found = Vec::new();
        let mut nodes = 0;
        for (sheet, &threshold) in thresholds.iter().enumerate() {
            let priced = self.pricer.price(&self.task, sheet, values, threshold, NODES_PER_PRICING);
            nodes += priced.nodes + 50;
            reach.push(priced.at_most);
            if let Some((_, chosen)) = priced.best {
                let mut kinds: Vec<(usize, usize)> = Vec::new();
                for kind in chosen {
                    match kinds.iter_mut().find(|entry| entry.0 == kind) {
                        Some(entry) => entry.1 += 1,
                        None => kinds.push((kind, 1)),
                    }
                }
                found.push((sheet, kinds));
            }
        }
        (reach, found, nodes)
    }

    fn add_cut(&mut self, reach: Vec<f64>, need: f64) {
        if need > 0.0 {
            // In one scale, so that one slack suits all.
            let reach = reach.into_iter().map(|value| value / need).collect();
            self.cuts.push(Cut { reach, need: 1.0 });
        }
    }

    fn choose(&mut self) -> u64 {
        self.choices += 1;
        let prices: Vec<f64> = self.task.sheets.iter().map(|sheet| sheet.price).collect();
        let most: Vec<usize> = self.task.sheets.iter().map(|sheet| sheet.quantity).collect();
        let nodes = (ENUMERATION / (prices.len() * self.cuts.len()).max(1)).min(100_000) as u32;
        let Some(found) = cheapest(&prices, &most, &self.cuts, nodes) else { return 1 };
        self.bound = self.bound.max(found.at_least);
        if let Some(counts) = found.counts
            && self.choices <= MOST_CHOICES
        {
            let program = self.covering_with(&counts);
            self.stage = Stage::Refuting { counts, program: Box::new(program), tries: 0 };
        }
        2_000
    }

    /// The program that leaves out as little area as it can with so many sheets.
    fn covering_with(&self, counts: &[usize]) -> Simplex {
        let kinds = self.task.kinds.len();
        let total: f64 = self.task.kinds.iter().map(|kind| kind.area * kind.count as f64).sum();
        let mut start: Vec<f64> = self.task.kinds.iter().map(|kind| kind.area / total).collect();
        let mut right: Vec<f64> = (0..kinds).map(|kind| self.right_side(kind)).collect();
        for &count in counts {
            start.push(0.0);
            right.push(count as f64);
        }
        let mut program = Simplex::new(&start, &right);
        for kind in 0..kinds {
            program.add(0.0, vec![(kind, -1.0)]);
        }
        for contents in self.contents.iter().filter(|contents| counts[contents.sheet] > 0) {
            program.add(0.0, Self::entries(contents, Some(kinds + contents.sheet)));
        }
        program
    }

    fn refute(&mut self, counts: Vec<usize>, mut program: Box<Simplex>, tries: u32) -> u64 {
        program.solve(2_000);
        let kinds = self.task.kinds.len();
        let prices = program.prices();
        let values: Vec<f64> = prices[..kinds].iter().map(|p| p.max(0.0)).collect();
        let worth = self.worth(&values);
        if program.objective() <= 1e-4 || worth <= 1e-6 {
            // All parts can be had from these sheets, as far as this proof can see.
            self.counts = Some(counts);
            return 1;
        }
        let threshold = |sheet: usize| if counts[sheet] > 0 { (-prices[kinds + sheet]).max(0.0) } else { 0.0 };
        let thresholds: Vec<f64> = (0..counts.len()).map(threshold).collect();
        let (reach, found, nodes) = self.price_all(&values, &thresholds);
        let held: f64 = reach.iter().zip(&counts).map(|(most, &count)| most * count as f64).sum();
        self.add_cut(reach, worth);
        if held < worth * (1.0 - 1e-5) {
            self.stage = Stage::Choosing;
            return nodes;
        }
        let mut is_new = false;
        for (sheet, contents) in found {
            if self.learn(sheet, contents) && counts[sheet] > 0 {
                is_new = true;
                let contents = self.contents.last().expect("just learned");
                program.add(0.0, Self::entries(contents, Some(kinds + sheet)));
            }
        }
        if is_new && tries < MOST_REFUTING {
            self.stage = Stage::Refuting { counts, program, tries: tries + 1 };
        } else {
            self.counts = Some(counts);
        }
        nodes
    }
}

#[cfg(test)]
mod tests {
    use super::super::view::{BoxKind, BoxSheet, Form};
    use super::*;
    use crate::random::SearchRng;
    use crate::shapes::pose::Pose;
    use dropwise_geometry::Point;

    /// Sheets cut up at random by cuts from edge to edge: a plan that costs what these sheets cost exists.
    fn planted(seed: u64) -> (BoxTask, f64) {
        let mut rng = SearchRng::new(seed, 0);
        let sizes: Vec<(f64, f64, f64)> = (0..3)
            .map(|_| {
                let (w, h) = (10.0 + rng.index(30) as f64, 10.0 + rng.index(30) as f64);
                (w, h, (w * h * rng.between(0.5, 1.5)).round())
            })
            .collect();
        let (mut parts, mut cost) = (Vec::new(), 0.0);
        for _ in 0..1 + rng.index(4) {
            let (w, h, price) = sizes[rng.index(3)];
            cost += price;
            let mut pieces = vec![(w, h)];
            for _ in 0..rng.index(6) {
                let (w, h) = pieces.swap_remove(rng.index(pieces.len()));
                let is_across = rng.chance(0.5);
                let extent = if is_across { w } else { h };
                let cut = 1.0 + rng.index((extent as usize - 1).max(1)) as f64;
                if cut >= extent {
                    pieces.push((w, h));
                } else if is_across {
                    pieces.extend([(cut, h), (w - cut, h)]);
                } else {
                    pieces.extend([(w, cut), (w, h - cut)]);
                }
            }
            parts.extend(pieces);
        }
        let quantity = parts.len();
        let sheet = |(index, &(width, height, price)): (usize, &(f64, f64, f64))| BoxSheet {
            sheet: index,
            width,
            height,
            area: width * height,
            price,
            quantity,
            origin: Point::ORIGIN,
            blocked: Vec::new(),
        };
        let sheets: Vec<BoxSheet> = sizes.iter().enumerate().map(sheet).collect();
        let kind = |(part, &(width, height)): (usize, &(f64, f64))| {
            let form = Form { width, height, pose: Pose { variant: 0, turn_deg: 0.0, at: Point::ORIGIN } };
            let is_on = sheets.iter().map(|sheet| sheet.holds(&form)).collect();
            BoxKind { part, count: 1, area: width * height, forms: vec![form], is_on }
        };
        let kinds = parts.iter().enumerate().map(kind).collect();
        (BoxTask { kinds, sheets }, cost)
    }

    #[test]
    fn never_above_the_cost_of_a_plan_that_exists() {
        for seed in 0..60 {
            let (task, cost) = planted(seed);
            let mut proof = Proof::new(task);
            for _ in 0..40 {
                proof.run(2_000);
                assert!(proof.bound() <= cost * (1.0 + 1e-6), "seed {seed}: {} proved of {cost}", proof.bound());
            }
            assert!(proof.bound() > 0.0);
        }
    }

    /// Two squares of 6 lie neither beside nor above each other on a sheet of 10: each needs its own, whatever their area.
    #[test]
    fn parts_that_exclude_each_other_need_a_sheet_each() {
        let form = Form { width: 6.0, height: 6.0, pose: Pose { variant: 0, turn_deg: 0.0, at: Point::ORIGIN } };
        let kind = BoxKind { part: 0, count: 5, area: 36.0, forms: vec![form], is_on: vec![true] };
        let sheet = BoxSheet {
            sheet: 0,
            width: 10.0,
            height: 10.0,
            area: 100.0,
            price: 7.0,
            quantity: 5,
            origin: Point::ORIGIN,
            blocked: Vec::new(),
        };
        let mut proof = Proof::new(BoxTask { kinds: vec![kind], sheets: vec![sheet] });
        proof.run(100_000);
        assert!(proof.is_done() && proof.bound() > 35.0 - 1e-3);
    }
}
