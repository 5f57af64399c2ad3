//! Finds a better place for one item: samples the room, then slides the best samples downhill.

use dropwise_geometry::{Bounds, Point, Vector};

use crate::random::SearchRng;
use crate::shapes::pose::Pose;
use crate::state::working::Working;
use crate::statistics::MoveKind;

/// Share of the samples on other sheets that lay an edge on another's.
const CONTACT_SHARE: f64 = 0.3;

/// How hard one item's search is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct MoveSettings {
    /// Samples over the whole room. Fewer: long jumps are missed. More: sweeps get slow.
    pub(crate) room_samples: usize,
    /// Samples around where the item lies.
    pub(crate) near_samples: usize,
    /// Samples with an edge laid on another's.
    pub(crate) contact_samples: usize,
    /// Samples on other sheets, where there are any.
    pub(crate) other_sheet_samples: usize,
    /// How many of the best samples are slid downhill.
    pub(crate) refined: usize,
}

impl Default for MoveSettings {
    fn default() -> Self {
        Self { room_samples: 30, near_samples: 10, contact_samples: 20, other_sheet_samples: 30, refined: 3 }
    }
}

/// A place that was found, and its weighted loss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Found {
    pub(crate) bin: usize,
    pub(crate) pose: Pose,
    pub(crate) loss: f64,
    /// What led there.
    pub(crate) by: MoveKind,
}

/// The best few samples, best first.
#[derive(Debug, Default)]
struct Shortlist {
    found: Vec<Found>,
}

impl Shortlist {
    /// Whether a place was found that is free.
    fn is_free(&self) -> bool {
        self.found.first().is_some_and(|found| found.loss == 0.0)
    }

    /// A sample must beat this to be listed.
    fn bound(&self, most: usize) -> f64 {
        if self.found.len() < most { f64::INFINITY } else { self.found[most - 1].loss }
    }

    fn add(&mut self, found: Found, most: usize) {
        let position = self.found.partition_point(|f| f.loss <= found.loss);
        self.found.insert(position, found);
        self.found.truncate(most);
    }
}

/// Where the reference point of a shape with these bounds may stand so that its box lies in `room`. If the box is too
/// large, the middle of the room.
fn free_range(room: Bounds, shape: Bounds) -> Bounds {
    let axis = |low: f64, high: f64, below: f64, above: f64| {
        let (low, high) = (low - below, high - above);
        if low <= high { (low, high) } else { (f64::midpoint(low, high), f64::midpoint(low, high)) }
    };
    let (x0, x1) = axis(room.min.x, room.max.x, shape.min.x, shape.max.x);
    let (y0, y1) = axis(room.min.y, room.max.y, shape.min.y, shape.max.y);
    Bounds { min: Point::new(x0, y0), max: Point::new(x1, y1) }
}

impl Working<'_> {
    /// The box of a bin's room, its cut line taken off where that is parallel to an axis.
    pub(crate) fn room_bounds(&self, bin: usize) -> Bounds {
        let bin = &self.bins[bin];
        let mut room = bin.container.bounds;
        if let Some(limit) = bin.limit {
            match (limit.normal.x, limit.normal.y) {
                (1.0, 0.0) => room.max.x = room.max.x.min(limit.limit),
                (-1.0, 0.0) => room.min.x = room.min.x.max(-limit.limit),
                (0.0, 1.0) => room.max.y = room.max.y.min(limit.limit),
                (0.0, -1.0) => room.min.y = room.min.y.max(-limit.limit),
                _ => {}
            }
        }
        room
    }

    /// A random pose of an item in a bin; `None` if none is allowed there.
    pub(crate) fn random_pose(&self, item: usize, bin: usize, rng: &mut SearchRng) -> Option<Pose> {
        let task = self.task();
        let part = self.part_of(item);
        let allowed = self.choice(item, bin);
        if allowed.is_empty() {
            return None;
        }
        let variant = allowed.start + rng.index(allowed.len());
        let turn_deg = if task.parts[part].variants[variant].turn_deg.is_some() {
            0.0
        } else {
            self.random_turn(item, bin, variant, rng)
        };
        let bounds = self.turned(item, variant, turn_deg).edge_bounds;
        let range = free_range(self.room_bounds(bin), bounds);
        let at = Point::new(rng.between(range.min.x, range.max.x), rng.between(range.min.y, range.max.y));
        Some(Pose { variant, turn_deg, at })
    }

    /// Half of the turns lay an edge of the item along an edge of the room: most sheet-metal parts have straight sides
    /// and nest side by side. The other half is any angle.
    fn random_turn(&self, item: usize, bin: usize, variant: usize, rng: &mut SearchRng) -> f64 {
        let hull = &self.shape_of(item, variant).hull;
        let planes = &self.bins[bin].container.half_planes;
        if planes.is_empty() || hull.len() < 2 || rng.chance(0.5) {
            return rng.between(0.0, 360.0);
        }
        let plane = planes[rng.index(planes.len())];
        let edge = rng.index(hull.len());
        let along = hull[(edge + 1) % hull.len()] - hull[edge];
        // The item's outward normal is its edge turned clockwise; it must point along the plane's normal.
        let outward = -along.left();
        (plane.normal.angle() - outward.angle()).to_degrees().rem_euclid(360.0)
    }

    /// Looks for a better place for an item that lies somewhere. The place returned is never worse than where it lies.
    pub(crate) fn find_place(&mut self, item: usize, settings: &MoveSettings, rng: &mut SearchRng) -> Found {
        let (bin, pose) = self.place_of(item).expect("only items that lie somewhere are moved");
        let here = Found { bin, pose, loss: self.weighted_item_loss(item), by: MoveKind::Slide };
        let most = settings.refined.max(1);
        let mut list = Shortlist::default();
        list.add(here, most);
        for _ in 0..settings.room_samples {
            if let Some(pose) = self.random_pose(item, bin, rng) {
                self.sample(item, bin, pose, MoveKind::Room, &mut list, most);
            }
        }
        let bounds = self.bounds_of(item).expect("it lies somewhere");
        let is_free = self.task().parts[self.part_of(item)].variants[pose.variant].turn_deg.is_none();
        for _ in 0..settings.near_samples {
            let reach = 0.5;
            let at = pose.at
                + Vector::new(
                    rng.between(-reach, reach) * bounds.width(),
                    rng.between(-reach, reach) * bounds.height(),
                );
            let turn_deg = if is_free && rng.chance(0.5) { pose.turn_deg + rng.normal() * 10.0 } else { pose.turn_deg };
            self.sample(item, bin, Pose { at, turn_deg, ..pose }, MoveKind::Near, &mut list, most);
        }
        for _ in 0..settings.contact_samples {
            if let Some(pose) = self.contact_pose(item, bin, rng) {
                self.sample(item, bin, pose, MoveKind::Contact, &mut list, most);
            }
        }
        if self.bins.len() > 1 {
            for _ in 0..settings.other_sheet_samples {
                let other = rng.index(self.bins.len());
                if other == bin {
                    continue;
                }
                let is_contact = settings.contact_samples > 0 && rng.chance(CONTACT_SHARE);
                let pose =
                    if is_contact { self.contact_pose(item, other, rng) } else { self.random_pose(item, other, rng) };
                if let Some(pose) = pose {
                    self.sample(item, other, pose, MoveKind::OtherSheet, &mut list, most);
                }
            }
        }
        let least = self.shape_of(item, pose.variant).least_extent();
        self.moves.tried(MoveKind::Slide, 1);
        for found in &mut list.found {
            *found = self.slide(item, *found, Slide { first: 0.25 * least, last: 0.02 * least, turn_deg: 8.0 }, rng);
        }
        let best = list.found.into_iter().min_by(|a, b| a.loss.total_cmp(&b.loss)).unwrap_or(here);
        if best.loss >= here.loss {
            return here;
        }
        self.moves.taken(best.by);
        self.slide(item, best, Slide { first: 0.02 * least, last: 0.0005 * least, turn_deg: 0.6 }, rng)
    }

    fn sample(&mut self, item: usize, bin: usize, pose: Pose, by: MoveKind, list: &mut Shortlist, most: usize) {
        if list.is_free() {
            return;
        }
        self.moves.tried(by, 1);
        let loss = self.evaluate(item, bin, pose, list.bound(most));
        if loss < list.bound(most) {
            list.add(Found { bin, pose, loss, by }, most);
        }
    }

    /// Coordinate descent: steps along x, y, the diagonals and, where allowed, the turn; each step that helps grows the
    /// next, each that does not halves it.
    pub(crate) fn slide(&mut self, item: usize, from: Found, slide: Slide, rng: &mut SearchRng) -> Found {
        let variant = &self.task().parts[self.part_of(item)].variants[from.pose.variant];
        let is_free = variant.turn_deg.is_none();
        let mut best = from;
        let mut step = slide.first;
        let mut turn = slide.turn_deg;
        while step > slide.last && best.loss > 0.0 {
            let kind = rng.index(if is_free { 6 } else { 4 });
            let candidates = match kind {
                0 => [best.pose.moved(step, 0.0), best.pose.moved(-step, 0.0)],
                1 => [best.pose.moved(0.0, step), best.pose.moved(0.0, -step)],
                2 => [best.pose.moved(step, step), best.pose.moved(-step, -step)],
                3 => [best.pose.moved(step, -step), best.pose.moved(-step, step)],
                _ => [best.pose.turned(turn), best.pose.turned(-turn)],
            };
            let before = best.loss;
            for pose in candidates {
                let loss = self.evaluate(item, best.bin, pose, best.loss);
                if loss < best.loss {
                    best = Found { pose, loss, ..best };
                }
            }
            let factor = if best.loss < before { 1.1 } else { 0.5 };
            if kind < 4 {
                step *= factor;
            } else {
                turn *= factor;
                // A turn that no longer helps must not keep the descent going for ever.
                step *= if factor < 1.0 { 0.8 } else { 1.0 };
            }
        }
        best
    }
}

/// Step lengths of a descent, mm and degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Slide {
    pub(crate) first: f64,
    pub(crate) last: f64,
    pub(crate) turn_deg: f64,
}

impl Pose {
    pub(crate) fn moved(self, dx: f64, dy: f64) -> Self {
        Self { at: self.at + Vector::new(dx, dy), ..self }
    }

    pub(crate) fn turned(self, by_deg: f64) -> Self {
        Self { turn_deg: (self.turn_deg + by_deg).rem_euclid(360.0), ..self }
    }
}
