//! Lays parts straight that lie almost straight: easier to mark out and to cut, and it costs nothing.

use dropwise_geometry::Vector;

use crate::shapes::pose::Pose;
use crate::state::working::Working;

/// Turns within this of a quarter turn are brought to it, degrees.
const ALMOST: f64 = 4.0;
/// Passes over all items: one that moves may free the next.
const PASSES: usize = 2;

impl Working<'_> {
    /// Brings freely turned items that lie almost at a quarter turn to it, where they then still lie free, if need be a
    /// little aside. Says whether any moved.
    pub(crate) fn straighten(&mut self) -> bool {
        let mut has_moved = false;
        for _ in 0..PASSES {
            for item in 0..self.item_count() {
                has_moved |= self.straighten_item(item);
            }
        }
        has_moved
    }

    fn straighten_item(&mut self, item: usize) -> bool {
        let Some((bin, pose)) = self.place_of(item) else { return false };
        let is_free = self.task().parts[self.part_of(item)].variants[pose.variant].turn_deg.is_none();
        let straight = (pose.turn_deg / 90.0).round() * 90.0;
        let off = (pose.turn_deg - straight).abs();
        if !is_free || off == 0.0 || off > ALMOST {
            return false;
        }
        // The farthest corner swings by about this much, and so far it may have to give way.
        let swing = self.shape_of(item, pose.variant).reach * off.to_radians();
        let turned = Pose { turn_deg: straight.rem_euclid(360.0), ..pose };
        let bounds = self.bounds_of(item);
        for share in [0.0, 0.1, 0.25, 0.5, 1.0, 1.5] {
            for eighth in 0..8 {
                let by = Vector::from_angle(f64::from(eighth) * std::f64::consts::FRAC_PI_4) * (swing * share);
                let next = Pose { at: turned.at + by, ..turned };
                if self.evaluate(item, bin, next, 0.0) == 0.0 {
                    self.put(item, bin, next);
                    // A cut line keeps bands free; on other sides the box must not grow either.
                    let grows = match (bounds, self.bounds_of(item)) {
                        (Some(before), Some(after)) => before.union(after).diagonal() > before.diagonal() + swing,
                        _ => true,
                    };
                    if !grows {
                        return true;
                    }
                    self.put(item, bin, pose);
                }
                if share == 0.0 {
                    break;
                }
            }
        }
        false
    }
}
