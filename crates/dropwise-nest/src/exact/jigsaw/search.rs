//! The depth-first search: a corner with the fewest candidates, one of them laid, and so on.

use std::f64::consts::PI;

use dropwise_geometry::Vector;

use super::free_space::{Corner, FreeSpace, is_corner};
use super::puzzle::Puzzle;
use super::tile::{Laid, NO_TURN, Placement};
use crate::random::SearchRng;

/// What a step led to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    /// There is more to try.
    Going,
    /// The sheet is full.
    Filled,
    /// Every way was tried, or the limit of nodes was reached.
    Failed,
}

/// One level of the search: the free space before a tile is laid, and the tiles to try.
#[derive(Clone, Debug, Default)]
struct Level {
    space: FreeSpace,
    candidates: Vec<(f64, Placement)>,
    next: usize,
    is_expanded: bool,
}

/// An attempt to fill one sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Attempt {
    levels: Vec<Level>,
    /// Levels in use; the others keep their buffers.
    depth: usize,
    nodes: u64,
    limit: u64,
    /// Share of the length of contact that is left to chance.
    noise: f64,
    laid: Laid,
    buffer: Vec<Placement>,
    best: Vec<Placement>,
    lengths: Vec<Vec<f64>>,
}

impl Attempt {
    /// Starts afresh on a sheet.
    pub(crate) fn start(&mut self, space: &FreeSpace, limit: u64, noise: f64) {
        if self.levels.is_empty() {
            self.levels.push(Level::default());
        }
        self.levels[0].space.copy_from(space);
        self.levels[0].is_expanded = false;
        self.depth = 0;
        self.nodes = 0;
        self.limit = limit;
        self.noise = noise;
    }

    /// The tiles laid so far.
    pub(crate) fn laid(&self) -> impl Iterator<Item = Placement> {
        self.levels[..self.depth].iter().map(|level| level.candidates[level.next - 1].1)
    }

    /// Lays one tile or takes one back. `stock` counts the tiles left of each kind, `tests` the fits tested.
    pub(crate) fn step(&mut self, puzzle: &Puzzle, stock: &mut [usize], tests: &mut u64, rng: &mut SearchRng) -> Step {
        if !self.levels[self.depth].is_expanded {
            self.nodes += 1;
            if self.nodes > self.limit {
                while self.depth > 0 {
                    self.take_back(puzzle, stock);
                }
                return Step::Failed;
            }
            self.expand(puzzle, stock, tests, rng);
        }
        let level = &mut self.levels[self.depth];
        let Some(&(_, placement)) = level.candidates.get(level.next) else {
            if self.depth == 0 {
                return Step::Failed;
            }
            self.take_back(puzzle, stock);
            return Step::Going;
        };
        level.next += 1;
        puzzle.tiles.lay(placement, &mut self.laid);
        stock[puzzle.tiles.tiles[placement.tile].kind] -= 1;
        if self.levels.len() == self.depth + 1 {
            self.levels.push(Level::default());
        }
        let (before, after) = self.levels.split_at_mut(self.depth + 1);
        let next = &mut after[0];
        next.space.copy_from(&before[self.depth].space);
        next.space.take(&self.laid, puzzle.tolerance);
        next.is_expanded = false;
        self.depth += 1;
        if next.space.is_empty() { Step::Filled } else { Step::Going }
    }

    fn take_back(&mut self, puzzle: &Puzzle, stock: &mut [usize]) {
        self.depth -= 1;
        let level = &self.levels[self.depth];
        stock[puzzle.tiles.tiles[level.candidates[level.next - 1].1.tile].kind] += 1;
    }

    /// Finds the corner with the fewest candidates and puts them in order, the longest contact first.
    fn expand(&mut self, puzzle: &Puzzle, stock: &[usize], tests: &mut u64, rng: &mut SearchRng) {
        let level = &mut self.levels[self.depth];
        level.is_expanded = true;
        level.next = 0;
        level.candidates.clear();
        self.best.clear();
        let space = &level.space;
        let least = puzzle.least_opening(stock);
        let mut fewest = usize::MAX;
        puzzle.lengths_in_stock(space, stock, &mut self.lengths);
        if self.lengths.iter().enumerate().any(|(k, lengths)| {
            let (start, end) = space.gaps[k];
            is_corner(start, puzzle.angle)
                && is_corner(end, puzzle.angle)
                && !can_add_up(lengths, space.stretches[k].length, puzzle.tolerance)
        }) {
            return;
        }
        let count = space.corners.len();
        let first = if count > 0 { rng.index(count) } else { 0 };
        for offset in 0..count {
            let corner = space.corners[(first + offset) % count];
            if !is_corner(corner.gap, puzzle.angle) {
                continue;
            }
            self.buffer.clear();
            puzzle.each_candidate(space, corner, stock, least, &self.lengths[corner.out], |placement| {
                puzzle.tiles.lay(placement, &mut self.laid);
                *tests += 1;
                if space.holds(&self.laid) {
                    self.buffer.push(placement);
                }
                self.buffer.len() < fewest
            });
            if self.buffer.len() < fewest {
                fewest = self.buffer.len();
                std::mem::swap(&mut self.best, &mut self.buffer);
                if fewest == 0 {
                    break;
                }
            }
        }
        for &placement in &self.best {
            puzzle.tiles.lay(placement, &mut self.laid);
            let contact = space.contact(&self.laid, puzzle.tolerance);
            level.candidates.push((contact * (1.0 + self.noise * rng.unit()), placement));
        }
        level.candidates.sort_by(|a, b| b.0.total_cmp(&a.0));
    }
}

impl Puzzle {
    /// The sharpest corner among the tiles in stock.
    fn least_opening(&self, stock: &[usize]) -> f64 {
        let in_stock = self.tiles.tiles.iter().filter(|tile| stock[tile.kind] > 0);
        in_stock.flat_map(|tile| &tile.corners).map(|corner| corner.opening).fold(PI, f64::min)
    }

    /// For each stretch, the lengths of the sides in stock that may lie along it, by length, each once.
    fn lengths_in_stock(&self, space: &FreeSpace, stock: &[usize], into: &mut Vec<Vec<f64>>) {
        into.resize_with(space.stretches.len().max(into.len()), Vec::new);
        into.truncate(space.stretches.len());
        for (lengths, stretch) in into.iter_mut().zip(&space.stretches) {
            lengths.clear();
            let angle = stretch.along.angle();
            for side in &self.tiles.sides {
                let is_along = side.angle.is_none_or(|other| {
                    let apart = (other - angle).abs();
                    apart <= self.angle || (apart - 2.0 * PI).abs() <= self.angle
                });
                if stock[side.kind] > 0
                    && is_along
                    && lengths.last().is_none_or(|&last| side.length - last > self.tolerance)
                {
                    lengths.push(side.length);
                }
            }
        }
    }

    /// Calls `visit` with each way to lay a tile in stock with a corner in a corner and a side along the side that
    /// leaves it, until it returns false. Whether the tile fits is not yet looked at.
    fn each_candidate(
        &self,
        space: &FreeSpace,
        corner: Corner,
        stock: &[usize],
        least: f64,
        lengths: &[f64],
        mut visit: impl FnMut(Placement) -> bool,
    ) {
        let (out, into) = (&space.stretches[corner.out], &space.stretches[corner.into]);
        let (ends_in_corner, starts_in_corner) =
            (is_corner(space.gaps[corner.out].1, self.angle), is_corner(space.gaps[corner.into].0, self.angle));
        let mut consider = |tile: usize, index: usize| {
            let facts = &self.tiles.tiles[tile];
            let tip = &facts.corners[index];
            if stock[facts.kind] == 0 || tip.opening > corner.gap + self.angle {
                return true;
            }
            if ends_in_corner && tip.out_length > out.length + self.tolerance {
                return true;
            }
            if ends_in_corner && !can_add_up(lengths, out.length - tip.out_length, self.tolerance) {
                return true;
            }
            let rest = corner.gap - tip.opening;
            if rest > self.angle {
                // What is left of the corner must be filled too.
                if rest < least - self.angle {
                    return true;
                }
            } else if starts_in_corner && tip.into_length > into.length + self.tolerance {
                return true;
            }
            let turn = if facts.is_free {
                let (a, b) = (out.along, tip.out);
                Vector::new(a.dot(b), b.cross(a))
            } else {
                NO_TURN
            };
            let mut placement = Placement { tile, turn, at: dropwise_geometry::Point::ORIGIN };
            let tip_at = placement.apply(tip.at);
            placement.at = dropwise_geometry::Point::ORIGIN + (corner.at - tip_at);
            visit(placement)
        };
        let angle = out.along.angle();
        let list = &self.tiles.by_direction;
        // The cut of the angles at π may part equal directions.
        for around in [angle, angle - 2.0 * PI, angle + 2.0 * PI] {
            let from = list.partition_point(|entry| entry.0 < around - self.angle);
            for &(_, tile, index) in list[from..].iter().take_while(|entry| entry.0 <= around + self.angle) {
                if !consider(tile, index) {
                    return;
                }
            }
        }
        for &(_, tile, index) in
            self.tiles.by_opening.iter().rev().skip_while(|entry| entry.0 > corner.gap + self.angle)
        {
            if !consider(tile, index) {
                return;
            }
        }
    }
}

/// Whether sides of these lengths, in order, can fill a stretch between two corners: none, one or two that fit, or room
/// for three.
fn can_add_up(lengths: &[f64], length: f64, tolerance: f64) -> bool {
    if length <= tolerance {
        return true;
    }
    let Some(&shortest) = lengths.first() else { return false };
    if length >= 3.0 * shortest - tolerance {
        return true;
    }
    let is_near = |sum: f64| (sum - length).abs() <= tolerance;
    let (mut low, mut high) = (0, lengths.len());
    while low < high {
        let last = lengths[high - 1];
        if is_near(last) || is_near(lengths[low] + last) {
            return true;
        }
        if lengths[low] + last > length {
            high -= 1;
        } else {
            low += 1;
        }
    }
    false
}
