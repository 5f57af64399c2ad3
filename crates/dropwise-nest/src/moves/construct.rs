//! The first layout: parts one after another, largest first, each where it lies free and farthest back.

use dropwise_geometry::{Bounds, Vector};

use crate::moves::rows::{CROWD, Rows};
use crate::random::SearchRng;
use crate::shapes::half_plane::HalfPlane;
use crate::shapes::pose::Pose;
use crate::state::working::Working;

/// How hard the constructor looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ConstructSettings {
    /// Samples of a room for each item.
    pub(crate) samples: usize,
    /// How many of the best free samples are pushed farther back.
    pub(crate) refined: usize,
}

impl Default for ConstructSettings {
    fn default() -> Self {
        Self { samples: 300, refined: 3 }
    }
}

/// How far out a box lies: the constructor wants it small. Parts gather at the left, so that what remains is one piece
/// at the right.
fn outlying(bounds: Bounds) -> f64 {
    bounds.max.x + 0.2 * bounds.max.y
}

impl Working<'_> {
    /// A free place for an item in a bin, as far back as some samples show; `None` if no sample was free.
    fn free_place(
        &mut self,
        item: usize,
        bin: usize,
        settings: &ConstructSettings,
        rng: &mut SearchRng,
    ) -> Option<Pose> {
        let mut best: Vec<(f64, Pose)> = Vec::new();
        for _ in 0..settings.samples {
            let Some(pose) = self.random_pose(item, bin, rng) else { break };
            let outlying = self.outlying(item, pose);
            let is_good = best.len() < settings.refined || outlying < best[best.len() - 1].0;
            // Any overlap at all makes the evaluation stop.
            if is_good && self.evaluate(item, bin, pose, 0.0) == 0.0 {
                let position = best.partition_point(|&(o, _)| o <= outlying);
                best.insert(position, (outlying, pose));
                best.truncate(settings.refined);
            }
        }
        best.into_iter()
            .map(|(outlying, pose)| self.push_back(item, bin, pose, outlying, rng))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, pose)| pose)
    }

    /// Lays an item free in a bin, if some samples find such a place; says whether they did.
    pub(crate) fn lay_free(
        &mut self,
        item: usize,
        bin: usize,
        settings: &ConstructSettings,
        rng: &mut SearchRng,
    ) -> bool {
        let place = self.free_place(item, bin, settings, rng);
        if let Some(pose) = place {
            self.put(item, bin, pose);
        }
        place.is_some()
    }

    fn outlying(&self, item: usize, pose: Pose) -> f64 {
        let bounds = self.turned(item, pose.variant, pose.turn_deg).edge_bounds;
        let shift = pose.at.to_vector();
        outlying(Bounds { min: bounds.min + shift, max: bounds.max + shift })
    }

    /// Slides a free item back as long as it stays free.
    fn push_back(
        &mut self,
        item: usize,
        bin: usize,
        mut pose: Pose,
        mut best: f64,
        rng: &mut SearchRng,
    ) -> (f64, Pose) {
        let least = self.shape_of(item, pose.variant).least_extent();
        let mut step = 0.5 * least;
        while step > 0.002 * least {
            let direction = match rng.index(5) {
                0 | 1 => Vector::new(-step, 0.0),
                2 => Vector::new(0.0, -step),
                3 => Vector::new(-step, step),
                _ => Vector::new(-step, -step),
            };
            let next = Pose { at: pose.at + direction, ..pose };
            let outlying = self.outlying(item, next);
            if outlying < best && self.evaluate(item, bin, next, 0.0) == 0.0 {
                (pose, best) = (next, outlying);
                step *= 1.2;
            } else {
                step *= 0.7;
            }
        }
        (best, pose)
    }

    /// Items in the order in which they are laid: large and long ones first, ties by index.
    pub(crate) fn largest_first(&self, items: impl Iterator<Item = usize>) -> Vec<usize> {
        let mut items: Vec<usize> = items.collect();
        let size = |&item: &usize| {
            let shape = self.shape_of(item, 0);
            shape.size * shape.size * shape.reach
        };
        items.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.cmp(b)));
        items
    }

    /// Lays all items into one bin of open length, its cut line moving out as needed. Items that fit at no length are
    /// left out.
    pub(crate) fn fill_open_bin(&mut self, bin: usize, settings: &ConstructSettings, rng: &mut SearchRng) {
        let room = self.bins[bin].container.bounds;
        let mut filled = room.min.x;
        let mut rows = (self.item_count() > CROWD).then(|| Rows::new(self.task()));
        for item in self.largest_first(0..self.item_count()) {
            if self.task().is_late() {
                break;
            }
            if let Some(rows) = &mut rows {
                if rows.lay_in(self, item, bin) {
                    filled = filled.max(self.bounds_of(item).map_or(filled, |b| b.max.x));
                }
                continue;
            }
            let part = &self.task().parts[self.part_of(item)];
            let reach = part.variants.iter().map(|v| v.shape.reach).fold(0.0, f64::max);
            // First behind the front, then beyond it.
            for limit in [filled + 0.5 * reach, filled + 2.1 * reach] {
                self.set_limit(bin, Some(cut_at_x(limit.min(room.max.x))));
                if self.lay_free(item, bin, settings, rng) {
                    filled = filled.max(self.bounds_of(item).map_or(filled, |b| b.max.x));
                    break;
                }
            }
        }
        self.set_limit(bin, Some(cut_at_x(filled)));
    }
}

/// The cut line that keeps parts to the left of x.
pub(crate) fn cut_at_x(x: f64) -> HalfPlane {
    HalfPlane { normal: Vector::new(1.0, 0.0), limit: x }
}
