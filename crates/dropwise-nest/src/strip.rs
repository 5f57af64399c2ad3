//! Makes a strip of open length short.

use std::sync::Arc;

use crate::construct::{ConstructSettings, cut_at_x};
use crate::cooling::Cooling;
use crate::disturb::FailurePool;
use crate::random::SearchRng;
use crate::score::Score;
use crate::separator::{Outcome, Separator, SeparatorSettings};
use crate::statistics::MoveKind;
use crate::task::{Container, Task};
use crate::working::{Arrangement, Working};

/// How the length is brought down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct StripSettings {
    pub(crate) separator: SeparatorSettings,
    /// Share of the length taken off after each success while exploring. Larger: quick at first, more failures later.
    pub(crate) explore_step: f64,
    /// Share of the whole effort after which only compression follows.
    pub(crate) explore_share: f64,
    /// Share of the length taken off while compressing, at the start and at the end of that phase.
    pub(crate) compress_steps: (f64, f64),
    /// How many failed layouts are remembered to start again from.
    pub(crate) pool: usize,
    /// How far down that list the next one is picked.
    pub(crate) cooling: Cooling,
    /// Share of the failures after which all parts are scattered instead of two swapped. More: what was learned about
    /// the arrangement is lost too often where parts are many.
    pub(crate) scatter_share: f64,
    /// Whether to start afresh where nothing is gained any more, instead of working on at the best that is known. One
    /// chain should not: many parts go on gaining little by little.
    pub(crate) is_restless: bool,
}

impl Default for StripSettings {
    fn default() -> Self {
        Self {
            separator: SeparatorSettings::default(),
            explore_step: 0.003,
            explore_share: 0.8,
            compress_steps: (5e-4, 1e-5),
            pool: 20,
            cooling: Cooling::default(),
            scatter_share: 0.1,
            is_restless: false,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    Explore,
    Compress,
}

/// One chain of the search for a short strip.
#[derive(Debug)]
pub(crate) struct StripChain<'t> {
    pub(crate) working: Working<'t>,
    rng: SearchRng,
    settings: StripSettings,
    separator: Separator,
    phase: Phase,
    container: Arc<Container>,
    /// The shortest layout without overlap.
    best: Arrangement,
    pub(crate) best_length: f64,
    /// The length that is being tried.
    length: f64,
    /// Failed layouts at the present length.
    pool: FailurePool,
    /// What led from a failed layout to the one at hand.
    disturbed_by: Option<MoveKind>,
    descent: Descent,
    /// Share of the whole search that was done when it last began to run.
    progress: f64,
}

/// One way down from a long strip to a short one: where it began and when it last came on, in evaluations and as shares
/// of the whole search.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Descent {
    began: (u64, f64),
    gained: (u64, f64),
    /// Whether it began from chance, not from what chains share.
    is_own: bool,
}

impl Descent {
    fn afresh(now: (u64, f64)) -> Self {
        Self { began: now, gained: now, is_own: true }
    }

    /// Whether it has come no further for half as long as it took to come where it is, with time for another before
    /// `end`.
    fn is_worn_out(&self, (evaluations, progress): (u64, f64), end: f64) -> bool {
        let (way, share) = (self.gained.0 - self.began.0, self.gained.1 - self.began.1);
        evaluations - self.gained.0 > (way / 2).max(LEAST_DESCENT) && progress + share < end
    }
}

/// Evaluations without a gain before a descent is given up at the earliest. Fewer: good arrangements are left before
/// their last hair is taken.
const LEAST_DESCENT: u64 = 10_000_000;
/// How much longer than the best a strip is made for a new descent. Less: the first separation takes long. More: so does
/// the way down.
const FRESH_LENGTH: f64 = 1.04;

impl<'t> StripChain<'t> {
    /// Lays all items into the one sheet of the task; `None` if some fit at no length.
    pub(crate) fn new(task: &'t Task, settings: StripSettings, mut rng: SearchRng) -> Option<Self> {
        let mut working = Working::new(task, task.items());
        let container = task.container(0);
        let bin = working.open(0, Arc::clone(&container), None);
        working.fill_open_bin(bin, &ConstructSettings::default(), &mut rng);
        if (0..working.item_count()).any(|item| working.place_of(item).is_none()) {
            return None;
        }
        let length = extent(&working);
        let mut chain = Self {
            best: working.arrangement(),
            best_length: length,
            length,
            separator: Separator::new(settings.separator, &mut working),
            working,
            rng,
            settings,
            phase: Phase::Explore,
            container,
            pool: FailurePool::new(settings.pool),
            disturbed_by: None,
            descent: Descent::default(),
            progress: 0.0,
        };
        chain.shrink();
        Some(chain)
    }

    /// The shortest layout found.
    pub(crate) fn best(&self) -> &Arrangement {
        &self.best
    }

    /// How freely a failed layout is picked to start again from.
    pub(crate) fn temperature(&self, progress: f64) -> f64 {
        self.settings.cooling.at(progress)
    }

    /// Takes over a layout that another chain found.
    pub(crate) fn adopt(&mut self, best: &Arrangement, score: Score) {
        // A strip's untidiness is its length.
        let length = score.untidiness;
        if length < self.best_length {
            self.best = best.clone();
            self.best_length = length;
            if !self.descent.is_own {
                // The way down is shared.
                self.descent.gained = (self.working.evaluations, self.progress);
            }
            // A try at a length that is shorter still goes on: two chains that are at it differ in how. One that comes
            // down by a way of its own goes on too: the ways differ in where they end.
            let is_on_its_own = self.descent.is_own && self.phase == Phase::Explore;
            if self.length >= length && !is_on_its_own {
                self.pool.clear();
                self.restart_from_best();
            }
        }
    }

    /// Sweeps until `evaluations` more placements have been evaluated. `progress` runs from 0 to 1 over the whole
    /// search.
    pub(crate) fn run(&mut self, evaluations: u64, progress: f64) {
        self.progress = progress;
        if progress >= self.settings.explore_share && self.phase == Phase::Explore {
            self.phase = Phase::Compress;
            self.restart_from_best();
        }
        let end = self.working.evaluations + evaluations;
        while self.working.evaluations < end {
            match self.separator.sweep(&mut self.working, &mut self.rng) {
                Outcome::Going => {}
                Outcome::Separated => {
                    let length = extent(&self.working);
                    if length < self.best_length {
                        self.best_length = length;
                        self.best = self.working.arrangement();
                    }
                    self.length = length;
                    self.descent.gained = (self.working.evaluations, progress);
                    self.pool.clear();
                    self.working.moves.tried(MoveKind::Shorten, 1);
                    self.working.moves.taken(MoveKind::Shorten);
                    if let Some(kind) = self.disturbed_by.take() {
                        self.working.moves.taken(kind);
                    }
                    self.next_try(progress);
                }
                Outcome::Stuck => {
                    self.working.moves.tried(MoveKind::Shorten, 1);
                    self.give_up(progress);
                }
            }
        }
    }

    fn restart_from_best(&mut self) {
        self.disturbed_by = None;
        self.working.restore(&self.best);
        self.length = self.best_length;
        self.next_try(self.settings.explore_share);
    }

    fn next_try(&mut self, progress: f64) {
        match self.phase {
            Phase::Explore => self.shrink(),
            Phase::Compress => self.squeeze(progress),
        }
    }

    fn set_length(&mut self, length: f64) {
        self.length = length;
        let left = self.container.bounds.min.x;
        self.working.set_limit(0, Some(cut_at_x(left + length)));
    }

    /// Cuts a little off the end: what sticks out then has to find room.
    fn shrink(&mut self) {
        let length = self.length * (1.0 - self.settings.explore_step);
        self.set_length(length);
        self.separator = Separator::new(self.settings.separator, &mut self.working);
    }

    /// Takes a sliver out of the middle: everything beyond a random line moves in.
    fn squeeze(&mut self, progress: f64) {
        let share = self.settings.explore_share;
        let through = ((progress - share) / (1.0 - share).max(1e-9)).clamp(0.0, 1.0);
        let (first, last) = self.settings.compress_steps;
        let step = self.length * first * (last / first).powf(through);
        let left = self.container.bounds.min.x;
        let line = left + self.rng.between(0.0, self.length);
        for item in 0..self.working.item_count() {
            let (bin, pose) = self.working.place_of(item).expect("every item lies on the strip");
            if pose.at.x > line {
                self.working.put(item, bin, pose.moved(-step, 0.0));
            }
        }
        self.set_length(self.length - step);
        let settings = SeparatorSettings { patience: 50, strikes: 2, ..self.settings.separator };
        self.separator = Separator::new(settings, &mut self.working);
    }

    fn give_up(&mut self, progress: f64) {
        if self.phase == Phase::Compress {
            self.working.restore(&self.best);
            self.length = self.best_length;
            self.squeeze(progress);
            return;
        }
        let now = (self.working.evaluations, progress);
        if self.settings.is_restless && self.descent.is_worn_out(now, self.settings.explore_share) {
            self.start_afresh(now);
            return;
        }
        self.pool.add(self.separator.best_loss(), self.working.arrangement());
        let freedom = self.settings.cooling.at(progress);
        if let Some(chosen) = self.pool.pick(freedom, &mut self.rng) {
            self.working.restore(chosen);
        }
        self.disturbed_by = if self.rng.chance(self.settings.scatter_share) {
            Some(self.working.scatter(&mut self.rng))
        } else {
            self.working.swap_large(&mut self.rng)
        };
        self.separator = Separator::new(self.settings.separator, &mut self.working);
    }

    /// Another descent, from a somewhat longer strip with every part at a random place.
    fn start_afresh(&mut self, now: (u64, f64)) {
        self.descent = Descent::afresh(now);
        self.pool.clear();
        self.set_length(FRESH_LENGTH * self.best_length);
        self.disturbed_by = Some(self.working.scatter(&mut self.rng));
        self.separator = Separator::new(self.settings.separator, &mut self.working);
    }
}

/// How much of the strip is used.
pub(crate) fn extent(working: &Working<'_>) -> f64 {
    let left = working.bins[0].container.bounds.min.x;
    (0..working.item_count())
        .filter_map(|item| working.bounds_of(item))
        .fold(left, |right, bounds| right.max(bounds.max.x))
        - left
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_descent_is_worn_out_by_half_its_way_without_a_gain_but_not_near_the_end() {
        let least = LEAST_DESCENT;
        let descent = Descent { began: (0, 0.0), gained: (4 * least, 0.2), is_own: false };
        assert!(!descent.is_worn_out((6 * least, 0.3), 0.8));
        assert!(descent.is_worn_out((6 * least + 1, 0.3), 0.8));
        // Another as long would not come to its end.
        assert!(!descent.is_worn_out((13 * least, 0.65), 0.8));
        // However quickly it came where it is, it has so much time.
        let quick = Descent::afresh((8 * least, 0.4));
        assert!(!quick.is_worn_out((9 * least, 0.45), 0.8));
        assert!(quick.is_worn_out((9 * least + 1, 0.45), 0.8));
    }
}
