//! Takes overlaps out of a working state, sweep by sweep.

use crate::moves::mover::MoveSettings;
use crate::random::SearchRng;
use crate::state::weights::WeightRule;
use crate::state::working::{Arrangement, Working};

/// How patient a separation is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SeparatorSettings {
    pub(crate) moves: MoveSettings,
    pub(crate) weights: WeightRule,
    /// Sweeps without a clear gain before a strike is counted.
    pub(crate) patience: usize,
    /// Strikes without a clear gain before it gives up.
    pub(crate) strikes: usize,
}

impl Default for SeparatorSettings {
    fn default() -> Self {
        Self { moves: MoveSettings::default(), weights: WeightRule::default(), patience: 100, strikes: 3 }
    }
}

/// What a sweep led to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Overlaps remain; another sweep may help.
    Going,
    /// Nothing was gained for long. The state is the best it found; more sweeps may still help.
    Idle,
    /// Nothing overlaps.
    Separated,
    /// It has given up. The state is the best it found.
    Stuck,
}

/// A gain below this share of the loss does not count as one.
const CLEAR_GAIN: f64 = 0.98;

/// One separation in progress. It can be paused after any sweep.
#[derive(Clone, Debug)]
pub(crate) struct Separator {
    settings: SeparatorSettings,
    best: Arrangement,
    best_loss: f64,
    loss_at_strike: f64,
    /// Sweeps since the last clear gain.
    idle: usize,
    strikes: usize,
    conflicts: Vec<usize>,
    pub(crate) sweeps: usize,
}

impl Separator {
    /// A separation of a state, which is about to be swept.
    pub(crate) fn new(settings: SeparatorSettings, working: &mut Working<'_>) -> Self {
        working.reset_weights();
        let loss = working.total_loss();
        Self {
            settings,
            best: working.arrangement(),
            best_loss: loss,
            loss_at_strike: loss,
            idle: 0,
            strikes: 0,
            conflicts: Vec::new(),
            sweeps: 0,
        }
    }

    /// Least loss reached so far.
    pub(crate) fn best_loss(&self) -> f64 {
        self.best_loss
    }

    /// Brings back the best state it found.
    pub(crate) fn restore_best(&self, working: &mut Working<'_>) {
        working.restore(&self.best);
    }

    /// Moves every item in conflict once, in random order, then lets the weights learn.
    pub(crate) fn sweep(&mut self, working: &mut Working<'_>, rng: &mut SearchRng) -> Outcome {
        self.sweeps += 1;
        let mut conflicts = std::mem::take(&mut self.conflicts);
        working.items_in_conflict(&mut conflicts);
        rng.shuffle(&mut conflicts);
        for &item in &conflicts {
            if working.task().clock.is_over() {
                break;
            }
            // An earlier move of this sweep may have freed it.
            if working.item_loss(item) == 0.0 {
                continue;
            }
            let (bin, pose) = working.place_of(item).expect("items in conflict lie somewhere");
            let found = working.find_place(item, &self.settings.moves, rng);
            if (found.bin, found.pose) != (bin, pose) {
                working.put(item, found.bin, found.pose);
            }
        }
        self.conflicts = conflicts;
        let loss = working.total_loss();
        if loss == 0.0 {
            return Outcome::Separated;
        }
        if loss < self.best_loss {
            self.idle = if loss < CLEAR_GAIN * self.best_loss { 0 } else { self.idle + 1 };
            self.best_loss = loss;
            self.best = working.arrangement();
        } else {
            self.idle += 1;
        }
        working.learn_weights(self.settings.weights);
        if self.idle < self.settings.patience {
            return Outcome::Going;
        }
        self.idle = 0;
        self.strikes = if self.best_loss < CLEAR_GAIN * self.loss_at_strike { 0 } else { self.strikes + 1 };
        self.loss_at_strike = self.best_loss;
        self.restore_best(working);
        if self.strikes >= self.settings.strikes { Outcome::Stuck } else { Outcome::Idle }
    }
}
