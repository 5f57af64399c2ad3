//! What is known of sets of sheets that were tried in vain: how near the tries came, and from where to go on.

use std::collections::{BTreeMap, VecDeque};

use crate::anneal::annealer::Schedule;
use crate::anneal::failed::{Drawn, FailedLayouts};
use crate::random::SearchRng;
use crate::state::working::Arrangement;

/// How many failed layouts of a set of sheets are remembered.
const POOL: usize = 8;
/// How many of all sets are, at most: a long search fails with thousands of sets.
const MOST_REMEMBERED: usize = 200;
/// And no more than have so many places together: in a layout of many parts each takes memory.
const MOST_PLACES: usize = 2_000_000;
/// Sets of sheets that were tried in vain. A set is known by its sheets, sorted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Failures {
    by_set: BTreeMap<Vec<usize>, Failure>,
    /// The set of each layout that is remembered, the longest ago first.
    remembered: VecDeque<Vec<usize>>,
}

/// What is known of one set.
#[derive(Clone, Debug)]
pub(crate) struct Failure {
    /// How often it was tried in vain.
    pub(crate) count: u32,
    /// The least overlap that a try came to, as a share of the area of all parts.
    pub(crate) excess: f64,
    /// How full the set would be.
    pub(crate) fill: f64,
    /// How far the tries came.
    pool: FailedLayouts,
}

impl Failures {
    pub(crate) fn of(&self, set: &[usize]) -> Option<&Failure> {
        self.by_set.get(set)
    }

    /// The sets of which layouts are remembered, each as often as it has layouts.
    pub(crate) fn remembered(&self) -> impl Iterator<Item = (&[usize], &Failure)> {
        self.remembered.iter().filter_map(|set| Some((set.as_slice(), self.by_set.get(set)?)))
    }

    /// One try more of a set that would be so full, which came to so much overlap as a share of the area of all parts.
    pub(crate) fn add(&mut self, set: &[usize], fill: f64, excess: f64) {
        let new = || Failure { count: 0, excess: f64::INFINITY, fill, pool: FailedLayouts::new(POOL) };
        let failure = self.by_set.entry(set.to_vec()).or_insert_with(new);
        failure.count += 1;
        failure.excess = failure.excess.min(excess);
        failure.fill = fill;
    }

    /// Remembers the layout that a try of a set ended with. The worst layout of the set that has been remembered for longest
    /// makes room for it where there are too many.
    pub(crate) fn remember(&mut self, set: Vec<usize>, loss: f64, layout: Arrangement) {
        let Some(failure) = self.by_set.get_mut(&set) else { return };
        let most = (MOST_PLACES / layout.places.len().max(1)).clamp(POOL, MOST_REMEMBERED);
        failure.pool.add(loss, layout);
        self.remembered.push_back(set);
        if self.remembered.len() > most
            && let Some(oldest) = self.remembered.pop_front().and_then(|set| self.by_set.get_mut(&set))
        {
            oldest.pool.forget_worst();
        }
    }

    /// A layout of a set to go on from, by the heat bath rule. `None` if none is remembered.
    pub(crate) fn draw(
        &self,
        set: &[usize],
        schedule: Schedule,
        progress: f64,
        rng: &mut SearchRng,
    ) -> Option<Drawn<'_>> {
        self.by_set.get(set)?.pool.draw(schedule, progress, rng)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Annealing;

    fn drawn<'a>(failures: &'a Failures, set: &[usize]) -> Option<&'a Arrangement> {
        let schedule = Schedule::of(Annealing::Falling);
        failures.draw(set, schedule, 0.5, &mut SearchRng::new(1, 0)).map(|drawn| drawn.layout)
    }

    fn layout(sheet: usize) -> Arrangement {
        Arrangement { bins: vec![(sheet, None)], places: Vec::new() }
    }

    #[test]
    fn the_nearest_try_of_a_set_counts() {
        let mut failures = Failures::default();
        assert!(failures.of(&[1]).is_none());
        failures.add(&[1], 0.9, 0.02);
        failures.add(&[1], 0.9, 0.05);
        let failure = failures.of(&[1]).expect("it was just added");
        assert_eq!((failure.count, failure.excess, failure.fill), (2, 0.02, 0.9));
        assert_eq!(failures.remembered().count(), 0);
        assert_eq!(drawn(&failures, &[1]), None);
    }

    #[test]
    fn of_too_many_layouts_the_oldest_are_forgotten() {
        let mut failures = Failures::default();
        for sheet in 0..=MOST_REMEMBERED {
            failures.add(&[sheet], 0.9, 0.02);
            failures.remember(vec![sheet], 5.0, layout(sheet));
        }
        assert_eq!(failures.remembered().count(), MOST_REMEMBERED);
        assert_eq!(drawn(&failures, &[0]), None);
        assert_eq!(drawn(&failures, &[1]), Some(&layout(1)));
        assert_eq!(failures.of(&[0]).map(|failure| failure.count), Some(1));
    }
}
