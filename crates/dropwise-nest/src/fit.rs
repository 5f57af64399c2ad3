//! Does a part fit on a sheet at all?

use dropwise_geometry::{Point, Vector};

use crate::mover::MoveSettings;
use crate::random::SearchRng;
use crate::separator::{Outcome, Separator, SeparatorSettings};
use crate::task::{Pose, Task};
use crate::working::Working;

/// Samples of a room before the separator is asked.
const SAMPLES: usize = 200;
/// Places from which the separator tries to slide a part into its room.
const STARTS: usize = 4;
/// Sweeps from each; with one part there is little to learn.
const SWEEPS: usize = 12;

/// Looks for a pose in which a part lies alone on a sheet.
///
/// A part that passes the necessary conditions but is not found to fit in a few thousand evaluations is taken not to.
/// The search has its own stream of chance, so that the answer does not depend on when it is asked.
pub(crate) fn find_fit(task: &Task, part: usize, sheet: usize) -> Option<Pose> {
    let container = task.container(sheet);
    if !container.has_room() || !may_fit(task, part, sheet, 0.0) {
        return None;
    }
    let mut rng = SearchRng::new(0x00F1_7000, (part as u64) << 32 | sheet as u64);
    let mut working = Working::new(task, vec![part]);
    let bin = working.open(sheet, container, None);
    for _ in 0..SAMPLES {
        let pose = working.random_pose(0, bin, &mut rng)?;
        if working.evaluate(0, bin, pose, 0.0) == 0.0 {
            return Some(pose);
        }
    }
    let settings = SeparatorSettings {
        moves: MoveSettings { refined: 2, ..MoveSettings::default() },
        patience: SWEEPS,
        ..SeparatorSettings::default()
    };
    for _ in 0..STARTS {
        let pose = working.random_pose(0, bin, &mut rng)?;
        working.put(0, bin, pose);
        let mut separator = Separator::new(settings, &mut working);
        for _ in 0..SWEEPS {
            if separator.sweep(&mut working, &mut rng) == Outcome::Separated {
                return working.place_of(0).map(|(_, pose)| pose);
            }
        }
    }
    None
}

/// Whether nothing that can be said of area, girth and box forbids a part to lie on a sheet. `allowance`, mm, is forgiven
/// for outlines made straight.
pub(crate) fn may_fit(task: &Task, part: usize, sheet: usize, allowance: f64) -> bool {
    let container = task.container(sheet);
    let shapes = &task.parts[part];
    if !container.has_room() {
        return false;
    }
    let room = Girth::of(&container.hull);
    let slack = 1.0 + 1e-9;
    let (bounds, reach) = (container.bounds, container.bounds.width() + container.bounds.height());
    if shapes.grown_area > container.area * slack + 2.0 * allowance * reach {
        return false;
    }
    task.allowed(part, task.sheets[sheet].grain).any(|variant| {
        let variant = &shapes.variants[variant];
        let shape = variant.edge();
        let girth = Girth::of(&shape.hull);
        let is_slim =
            girth.diameter <= room.diameter * slack + allowance && girth.width <= room.width * slack + allowance;
        let is_boxed = variant.turn_deg.is_none()
            || shape.bounds.width() <= bounds.width() * slack + allowance
                && shape.bounds.height() <= bounds.height() * slack + allowance;
        is_slim && is_boxed
    })
}

/// Longest chord and least width of a convex ring: a ring fits in another only if neither is larger.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Girth {
    pub(crate) diameter: f64,
    pub(crate) width: f64,
}

impl Girth {
    pub(crate) fn of(hull: &[Point]) -> Self {
        let mut square = 0.0_f64;
        let mut width = f64::INFINITY;
        for (i, &a) in hull.iter().enumerate() {
            let b = hull[(i + 1) % hull.len()];
            // Roots of all distances would take most of the time that a large inventory is sifted in.
            square = hull[i + 1..].iter().fold(square, |most, &p| most.max((p - a).length_squared()));
            if let Some(along) = (b - a).unit() {
                let across: Vector = along.left();
                width = width.min(hull.iter().map(|&p| across.dot(p - a)).fold(0.0, f64::max));
            }
        }
        Self { diameter: square.sqrt(), width: if width.is_finite() { width } else { 0.0 } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_three_four_five_triangle_is_as_wide_as_its_height_on_the_longest_side() {
        let girth = Girth::of(&[Point::new(0.0, 0.0), Point::new(4.0, 0.0), Point::new(0.0, 3.0)]);
        assert!((girth.diameter - 5.0).abs() < 1e-12);
        assert!((girth.width - 2.4).abs() < 1e-12);
    }
}
