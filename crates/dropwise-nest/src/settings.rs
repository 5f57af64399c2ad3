//! What a user may set.

use std::time::Duration;

use dropwise_model::Layout;

use crate::clock::Stop;
use crate::statistics::MoveCounts;

/// How freely the search goes on from layouts worse than the best it has, so as to come out of a dead end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum Annealing {
    /// At a temperature that falls over the search.
    #[default]
    Falling,
    /// At one temperature.
    Constant,
    /// At temperature zero: always from the best.
    Off,
}

/// What cutting by hand costs beside the metal, in the smallest coin. All zero by default, as for a machine: then how parts
/// are cut out is no matter of the search.
///
/// Whoever makes it knows the tools; the search knows none.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct HandWork {
    /// Setting up one straight cut; sides in one line are one ([`dropwise_model::set_ups`]).
    pub set_up: f64,
    /// A part that lies neither along nor square to the sheet, beyond its set-ups.
    pub askew: f64,
    /// A part that lies face down and need not.
    pub flip: f64,
}

impl HandWork {
    /// So much for each set-up; an odd angle is as much again, a flip half of it. Common practice, no source.
    #[must_use]
    pub fn by_set_up(coins: f64) -> Self {
        Self { set_up: coins, askew: coins, flip: 0.5 * coins }
    }

    /// Whether any of it costs anything.
    #[must_use]
    pub fn is_any(&self) -> bool {
        self.set_up > 0.0 || self.askew > 0.0 || self.flip > 0.0
    }
}

/// How long to search, and how.
///
/// # Examples
/// ```
/// use dropwise_nest::Settings;
/// let quick = Settings { rounds: Some(20), ..Settings::default() };
/// assert_eq!(quick.seed, 1);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Where chance starts. The same job, seed, rounds and chains give the same plan, whatever the number of threads.
    pub seed: u64,
    /// Stop after this time. The first layout may take a little longer; what it has not laid by then stays unplaced.
    pub time_limit: Option<Duration>,
    /// Stop after so many rounds. Only a run ended by rounds, or that found nothing left to try, can be repeated exactly.
    pub rounds: Option<u64>,
    /// Whether the search goes on, once the sheets are chosen, to make what is left of them one large piece rather than
    /// several small ones. Off, all of the effort goes into the choice of sheets.
    pub with_leftovers: bool,
    /// Independent searches that exchange their best after each round; at least one.
    pub chains: u32,
    /// Threads to run them on; zero for as many as there are cores.
    pub threads: usize,
    /// How freely worse layouts are gone on from.
    pub annealing: Annealing,
    /// What cutting by hand costs. Where it costs anything, the last part of the search lays parts so that they are cut out
    /// with less work, on the sheets that were chosen.
    pub hand_work: HandWork,
    /// Ends the search from elsewhere. A run ended by it cannot be repeated exactly.
    pub stop: Stop,
    /// An earlier layout to go on from.
    pub start: Option<Start>,
}

/// An earlier layout that a search goes on from.
///
/// What does not hold of it is left out, by [`Layout::as_far_as_it_holds`]. If all of it holds, the plan found places no less
/// and costs no more.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Start {
    /// In the indices of the job.
    pub layout: Layout,
    /// What its plan is called, for [`dropwise_model::Provenance`].
    pub name: String,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            time_limit: Some(Duration::from_secs(10)),
            rounds: None,
            with_leftovers: true,
            chains: 2,
            threads: 0,
            annealing: Annealing::default(),
            hand_work: HandWork::default(),
            stop: Stop::default(),
            start: None,
        }
    }
}

/// How far a search has come. Handed to the observer after each round.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Progress {
    /// Rounds done.
    pub rounds: u64,
    /// Share of the time or the rounds that is used up, 0 to 1.
    pub fraction: f64,
    /// Time since the start.
    pub elapsed: Duration,
    /// Price of the sheets in the best plan so far, in the smallest coin, less the worth of what they leave over as the
    /// search estimates it.
    pub cost: f64,
    /// Net area placed over gross area of the sheets used.
    pub yield_ratio: f64,
    /// Required parts that lie nowhere yet.
    pub missing: u32,
    /// Placements evaluated so far.
    pub evaluations: u64,
    /// How much overlaps in what the first chain works on, mm²; zero when it has just found a nest.
    pub overlap: f64,
    /// Energy of the layout that the first chain of each class goes on from, in the smallest coin: what its sheets cost, and
    /// what still overlaps in it at the price of as much metal.
    pub energy: f64,
    /// Temperature of the annealing, in the smallest coin: of two layouts, the one whose energy is more by so much is gone on
    /// from less often by 1/e. Zero while nothing has failed yet.
    pub temperature: f64,
    /// Moves so far, of all chains, by kind.
    pub moves: MoveCounts,
}
