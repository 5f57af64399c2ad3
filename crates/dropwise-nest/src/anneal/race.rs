//! A race between tries: which of them go on, by how near each comes after as many sweeps as the others.

use std::collections::VecDeque;

/// Sweeps after which a try is first held against others; then each time after twice as many.
pub(crate) const FIRST_RUNG: usize = 20;
/// Share of the tries at a rung that go on from there.
const SHARE: f64 = 0.25;
/// How many tries at a rung count, the last ones: the better the best, the harder it is to beat.
const WINDOW: usize = 24;

/// How near the last tries came at each rung. A try with more overlap left than most others had there is given up: nearly
/// all effort went into tries that failed in the end, and few of those that do not fail lag behind early.
///
/// This is successive halving without waiting for the others, as in Li and others, "A System for Massively Parallel
/// Hyperparameter Tuning", 2020 (from memory).
#[derive(Clone, Debug, Default)]
pub(crate) struct Race {
    rungs: Vec<VecDeque<f64>>,
}

impl Race {
    /// Whether a try goes on that has so much overlap left after so many sweeps. To be asked once after every sweep.
    pub(crate) fn goes_on(&mut self, sweeps: usize, excess: f64) -> bool {
        let Some(rung) = rung(sweeps) else { return true };
        if self.rungs.len() <= rung {
            self.rungs.resize(rung + 1, VecDeque::new());
        }
        let others = &mut self.rungs[rung];
        let nearer = others.iter().filter(|&&other| other < excess).count();
        let is_near = nearer as f64 <= SHARE * others.len() as f64;
        if others.len() == WINDOW {
            others.pop_front();
        }
        others.push_back(excess);
        is_near
    }
}

/// The rung at which a try stands after so many sweeps, if at any.
fn rung(sweeps: usize) -> Option<usize> {
    let times = sweeps / FIRST_RUNG;
    (sweeps.is_multiple_of(FIRST_RUNG) && times.is_power_of_two()).then(|| times.ilog2() as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rungs_are_each_twice_as_far_as_the_last() {
        let rungs: Vec<usize> = (0..=200).filter(|&sweeps| rung(sweeps).is_some()).collect();
        assert_eq!(rungs, [20, 40, 80, 160]);
        assert_eq!(rungs.iter().filter_map(|&sweeps| rung(sweeps)).collect::<Vec<_>>(), [0, 1, 2, 3]);
    }

    #[test]
    fn only_the_nearest_go_on() {
        let mut race = Race::default();
        assert!(race.goes_on(FIRST_RUNG, 0.05), "there is nobody to compare the first with");
        // Of tries that come in no order, about a quarter goes on.
        let went_on = (0..WINDOW).filter(|place| race.goes_on(FIRST_RUNG, 0.01 + 0.001 * (place * 7 % WINDOW) as f64));
        let went_on = went_on.count();
        assert!((4..=10).contains(&went_on), "{went_on} of {WINDOW}");
        assert!(!race.goes_on(FIRST_RUNG, 0.03));
        assert!(race.goes_on(FIRST_RUNG + 1, 0.03), "between two rungs all go on");
        assert!(race.goes_on(2 * FIRST_RUNG, 0.03), "the first that came so far");
        assert!(race.goes_on(FIRST_RUNG, 0.01));
    }

    #[test]
    fn what_was_long_ago_does_not_count() {
        let mut race = Race::default();
        for _ in 0..WINDOW {
            race.goes_on(FIRST_RUNG, 0.01);
        }
        assert!(!race.goes_on(FIRST_RUNG, 0.05));
        // A better best makes all tries harder.
        let first_to_go_on = (0..WINDOW).find(|_| race.goes_on(FIRST_RUNG, 0.05));
        assert!(first_to_go_on.is_some_and(|tries| tries >= WINDOW / 2), "{first_to_go_on:?}");
    }
}
