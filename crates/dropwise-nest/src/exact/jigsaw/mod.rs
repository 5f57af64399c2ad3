//! Zero-waste jobs: parts that fill their sheets to the last corner.
//!
//! Where the parts, each with its share of the web, have together just the area of some sheets, every free corner must
//! be filled by a corner of some part. A depth-first search then beats any annealing: it takes the free corner with
//! the fewest candidates, tries them in the order of their length of contact, and goes back where none is left. It is
//! restarted with some chance in the order and a limit of nodes that grows. When it finds nothing, nothing is lost but
//! some of the effort: the annealing goes on beside it.

mod free_space;
mod mitre;
mod puzzle;
mod search;
mod tile;

use dropwise_model::certify;

use self::puzzle::Puzzle;
use self::search::{Attempt, Step};
use self::tile::Placement;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::layout::layout;
use crate::state::score::Score;
use crate::state::score::extent;
use crate::state::working::{Arrangement, Working};

/// Nodes of the shortest attempt.
const BASE_LIMIT: u64 = 300;
/// Attempts in vain at one sheet before a sheet that is already full is broken up again.
const PATIENCE: u32 = 12;

/// The search for a way to fill some sheets completely.
#[derive(Debug)]
pub(crate) struct Jigsaw<'t> {
    task: &'t Task,
    puzzle: Puzzle,
    rng: SearchRng,
    /// The set of sheets in use, an index into the puzzle's.
    set: usize,
    /// Sheets of that set in the order in which they are filled.
    order: Vec<usize>,
    /// What lies on those that are full.
    filled: Vec<Vec<Placement>>,
    stock: Vec<usize>,
    attempt: Attempt,
    attempts: u64,
    failures: u32,
    is_started: bool,
    /// Whether it has found a way.
    pub(crate) is_solved: bool,
    /// Fits tested so far.
    pub(crate) tests: u64,
}

impl<'t> Jigsaw<'t> {
    /// A search, if the task is a jigsaw.
    pub(crate) fn new(task: &'t Task, rng: SearchRng) -> Option<Self> {
        let puzzle = Puzzle::new(task)?;
        let stock = puzzle.tiles.kinds.iter().map(|kind| kind.items.len()).collect();
        let order = puzzle.sets[0].clone();
        Some(Self {
            task,
            puzzle,
            rng,
            set: 0,
            order,
            filled: Vec::new(),
            stock,
            attempt: Attempt::default(),
            attempts: 0,
            failures: 0,
            is_started: false,
            is_solved: false,
            tests: 0,
        })
    }

    /// Searches until `tests` more fits have been tested. Returns the arrangement, judged, once it is found.
    pub(crate) fn run(&mut self, tests: u64) -> Option<(Arrangement, Score)> {
        let end = self.tests + tests;
        while self.tests < end {
            if !self.is_started {
                self.start();
            }
            match self.attempt.step(&self.puzzle, &mut self.stock, &mut self.tests, &mut self.rng) {
                Step::Going => {}
                Step::Filled => {
                    self.filled.push(self.attempt.laid().collect());
                    self.failures = 0;
                    self.is_started = false;
                    if self.stock.iter().all(|&left| left == 0) {
                        if let Some(found) = self.arrangement() {
                            return Some(found);
                        }
                        self.empty(0);
                    }
                }
                Step::Failed => {
                    // A node without candidates tests nothing; it must count all the same.
                    self.tests += 1;
                    self.is_started = false;
                    self.give_way();
                }
            }
        }
        None
    }

    fn start(&mut self) {
        if self.filled.len() == self.order.len() {
            // All sheets are full and parts are left: they do not belong to this set.
            self.empty(0);
        }
        self.attempts += 1;
        let sheet = self.order[self.filled.len()];
        let Some(room) = &self.puzzle.rooms[sheet] else { return };
        let limit = BASE_LIMIT * luby(self.attempts);
        let noise = if self.attempts == 1 { 0.0 } else { self.rng.unit() };
        self.attempt.start(room, limit, noise);
        self.is_started = true;
    }

    /// After an attempt in vain: now and then a full sheet is broken up.
    fn give_way(&mut self) {
        self.failures += 1;
        if self.failures < PATIENCE {
            return;
        }
        self.failures = 0;
        if self.filled.is_empty() {
            self.set = (self.set + 1) % self.puzzle.sets.len();
            self.order.clone_from(&self.puzzle.sets[self.set]);
            self.rng.shuffle(&mut self.order);
        } else {
            let kept = self.rng.index(self.filled.len());
            self.empty(kept);
        }
    }

    /// Breaks up all full sheets but the first few.
    fn empty(&mut self, kept: usize) {
        for placement in self.filled.drain(kept..).flatten() {
            self.stock[self.puzzle.tiles.tiles[placement.tile].kind] += 1;
        }
    }

    /// The arrangement of the full sheets; `None` if it does not pass the certificate.
    fn arrangement(&self) -> Option<(Arrangement, Score)> {
        let items = self.task.items();
        let mut next: Vec<usize> = vec![0; self.puzzle.tiles.kinds.len()];
        let mut found = Arrangement {
            bins: self.order[..self.filled.len()].iter().map(|&sheet| (sheet, None)).collect(),
            places: vec![None; items.len()],
        };
        for (bin, placements) in self.filled.iter().enumerate() {
            for placement in placements {
                let tile = &self.puzzle.tiles.tiles[placement.tile];
                let item = self.puzzle.tiles.kinds[tile.kind].items[next[tile.kind]];
                next[tile.kind] += 1;
                let turn_deg = placement.turn.angle().to_degrees().rem_euclid(360.0);
                found.places[item] = Some((bin, Pose { variant: tile.variant, turn_deg, at: placement.at }));
            }
        }
        let mut working = Working::new(self.task, items);
        working.restore(&found);
        // Not the search's own test but the proof decides: shapes grown by the web in the search are larger than they
        // need be by a hair, for safety, and in a jigsaw there is no room for a hair.
        let is_valid = certify(&self.task.job, &layout(self.task, &found)).is_ok();
        let is_strip = self.task.is_strip();
        let score = if is_strip { Score::of_strip(self.task, extent(&working)) } else { Score::of(&working) };
        is_valid.then_some((found, score))
    }
}

/// The Luby sequence 1, 1, 2, 1, 1, 2, 4, ...: limits for restarts that are never far from the best fixed limit.
///
/// # Source
/// Luby, Sinclair, Zuckerman, "Optimal speedup of Las Vegas algorithms", Information Processing Letters 47 (1993).
fn luby(index: u64) -> u64 {
    let mut index = index.max(1);
    loop {
        let bits = 64 - index.leading_zeros();
        if index == (1 << bits) - 1 {
            return 1 << (bits - 1);
        }
        index -= (1 << (bits - 1)) - 1;
    }
}

#[cfg(test)]
mod tests;
