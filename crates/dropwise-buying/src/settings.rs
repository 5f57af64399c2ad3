//! What a user may set, and what an observer is told.

use std::time::Duration;

use dropwise_model::Money;
use dropwise_nest::Stop;

/// How long to look for what to buy, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Where chance starts.
    pub seed: u64,
    /// Stop after this time; sets that were not tried until then are told.
    pub time_limit: Option<Duration>,
    /// Rounds of search for each set that is tried; a set that seems worth it gets more when time is left.
    pub rounds: u64,
    /// Most sets that are nested.
    pub most_tries: usize,
    /// Independent chains in each nest.
    pub chains: u32,
    /// Threads; zero for as many as there are cores.
    pub threads: usize,
    /// Offers, by their index among the sheets, for which to work out the most that they are worth, beside those without a
    /// price.
    pub worth_of: Vec<usize>,
    /// Ends a nest that is being tried, from elsewhere; the observer is asked between steps only.
    pub stop: Stop,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            time_limit: Some(Duration::from_secs(10)),
            rounds: 12,
            most_tries: 400,
            chains: 2,
            threads: 0,
            worth_of: Vec::new(),
            stop: Stop::default(),
        }
    }
}

/// How far the weighing has come. Handed to the observer before each set that is tried, and while it is nested.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Sets that were nested so far.
    pub tries: usize,
    /// Cost of the best choice so far; `None` when none holds everything.
    pub best: Option<Money>,
    /// No choice can cost less; `None` when no bound is known.
    pub lower_bound: Option<Money>,
    /// Time since the start.
    pub elapsed: Duration,
}
