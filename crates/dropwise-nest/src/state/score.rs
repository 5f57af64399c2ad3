//! What makes one arrangement better than another.

use std::cmp::Ordering;

use crate::problem::task::Task;
use crate::shapes::half_plane::HalfPlane;
use crate::state::working::{Bin, Working};
use dropwise_geometry::Vector;
use dropwise_model::LeftoverRule;

/// The four ways in which a straight cut can part a leftover from the rest.
pub(crate) const DIRECTIONS: [Vector; 4] =
    [Vector::new(1.0, 0.0), Vector::new(0.0, 1.0), Vector::new(-1.0, 0.0), Vector::new(0.0, -1.0)];

/// An arrangement without overlap, judged. Less is better; compared in the order of the fields.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Score {
    /// Net area of required parts that lie nowhere, mm².
    pub(crate) missing: f64,
    /// Prices of the sheets less what their leftovers are worth by [`largest_band`], in the smallest coin. What fillers
    /// take from a leftover is not held against them.
    pub(crate) cost: f64,
    /// Net area of fillers that lie nowhere, mm².
    pub(crate) unfilled: f64,
    /// Minus the worth of the leftovers as pieces: see [`Score::of`].
    pub(crate) untidiness: f64,
}

impl Score {
    /// Judges a working state in which nothing overlaps.
    pub(crate) fn of(working: &Working<'_>) -> Self {
        let task = working.task();
        let rule = task.job.leftover_rule();
        let mut score = Self { missing: 0.0, cost: 0.0, unfilled: 0.0, untidiness: 0.0 };
        for item in 0..working.item_count() {
            let part = &task.parts[working.part_of(item)];
            match (working.place_of(item), part.is_required) {
                (None, true) => score.missing += part.area,
                (None, false) => score.unfilled += part.area,
                (Some((bin, _)), false) => {
                    score.cost -= part.area * task.sheets[working.bins[bin].sheet].leftover_worth;
                }
                (Some(_), true) => {}
            }
        }
        for bin in working.bins.iter().filter(|bin| !bin.members.is_empty()) {
            let band = largest_band(working, bin);
            let is_kept = band.is_kept(rule);
            score.cost += task.price_of(bin.sheet, working.length_used(bin));
            if is_kept {
                score.cost -= band.area * task.sheets[bin.sheet].leftover_worth;
            }
            // Squared, so that one large piece counts for more than two halves of it; bands too small to keep count a
            // little, so that the search feels its way towards the first one worth keeping.
            let share = if is_kept { 1.0 } else { 0.01 };
            score.untidiness -= share * band.area * band.area;
        }
        score
    }

    /// Judges a strip of open length on which everything lies: its untidiness is its length, and so is what it costs,
    /// not rounded up to what can be ordered, since the search gains by every hair.
    pub(crate) fn of_strip(task: &Task, length: f64) -> Self {
        Self { missing: 0.0, cost: task.strip_rate() * length, unfilled: 0.0, untidiness: length }
    }

    /// Compares two scores; tiny differences of money and area are no difference.
    pub(crate) fn compare(&self, other: &Self) -> Ordering {
        let coarse =
            |a: f64, b: f64, grain: f64| if (a - b).abs() <= grain { Ordering::Equal } else { a.total_cmp(&b) };
        coarse(self.missing, other.missing, 1e-6)
            .then(coarse(self.cost, other.cost, 0.5))
            .then(coarse(self.unfilled, other.unfilled, 1e-6))
            .then(coarse(self.untidiness, other.untidiness, 1e-3 * self.untidiness.abs().max(1.0)))
    }

    /// Whether this one is better.
    pub(crate) fn beats(&self, other: &Self) -> bool {
        self.compare(other) == Ordering::Less
    }
}

/// A band along one side of a sheet on which nothing lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Band {
    /// Index into [`DIRECTIONS`].
    pub(crate) direction: usize,
    /// Extent in that direction, mm.
    pub(crate) width: f64,
    /// Extent of the sheet across it, mm.
    pub(crate) across: f64,
    /// Area, mm²: exact on a rectangle, elsewhere in proportion to the sheet.
    pub(crate) area: f64,
}

impl Band {
    /// Whether it is large enough to go back into the rack.
    pub(crate) fn is_kept(&self, rule: &LeftoverRule) -> bool {
        self.width >= rule.width && self.across >= rule.width && self.width.max(self.across) >= rule.length
    }
}

/// The free bands of a bin, by direction. Stock sold by length has none: what is not needed is not bought.
pub(crate) fn bands(working: &Working<'_>, bin: &Bin) -> [Band; 4] {
    let room = bin.container.bounds;
    let is_open = working.task().sheets[bin.sheet].price_per_length.is_some();
    let used = bin
        .members
        .iter()
        .filter_map(|&item| working.bounds_of(item))
        .reduce(dropwise_geometry::Bounds::union)
        .unwrap_or(dropwise_geometry::Bounds { min: room.min, max: room.min });
    let fullness = bin.container.area / (room.width() * room.height()).max(f64::MIN_POSITIVE);
    let band = |direction: usize, width: f64, across: f64| {
        let width = if is_open { 0.0 } else { width.max(0.0) };
        Band { direction, width, across, area: width * across * fullness }
    };
    [
        band(0, room.max.x - used.max.x, room.height()),
        band(1, room.max.y - used.max.y, room.width()),
        band(2, used.min.x - room.min.x, room.height()),
        band(3, used.min.y - room.min.y, room.width()),
    ]
}

/// The largest of them, the first if there are several.
pub(crate) fn largest_band(working: &Working<'_>, bin: &Bin) -> Band {
    let [first, rest @ ..] = bands(working, bin);
    rest.into_iter().fold(first, |best, band| if band.area > best.area { band } else { best })
}

/// The cut line that frees a band: parts stay on the near side of it.
pub(crate) fn cut_line(bin: &Bin, direction: usize, width: f64) -> HalfPlane {
    let normal = DIRECTIONS[direction];
    let room = bin.container.bounds;
    let edge = match direction {
        0 => room.max.x,
        1 => room.max.y,
        2 => -room.min.x,
        _ => -room.min.y,
    };
    HalfPlane { normal, limit: edge - width }
}

impl Task {
    /// Price of 1 mm of a strip, in the smallest coin.
    pub(crate) fn strip_rate(&self) -> f64 {
        self.sheets.first().and_then(|sheet| sheet.price_per_length).unwrap_or(0.0)
    }

    /// Price of a sheet, or of the length used of one sold by length.
    pub(crate) fn price_of(&self, sheet: usize, length: Option<f64>) -> f64 {
        let entry = &self.sheets[sheet];
        match (entry.price_per_length, length) {
            (Some(rate), Some(length)) => rate * length,
            _ => entry.price,
        }
    }
}

/// How much of the strip is used.
pub(crate) fn extent(working: &Working<'_>) -> f64 {
    let strip = &working.bins[0];
    working.right_end(strip) - strip.container.bounds.min.x
}
