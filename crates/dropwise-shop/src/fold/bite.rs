//! Cutting relief holes out of an outline: the stretch of it that lies within the hole gives way to an arc.

use std::f64::consts::TAU;

use dropwise_geometry::{Outline, Point, Vertex};

use super::error::BentError;
use super::flat::FlatRelief;
use super::walk::{ReliefHole, Step};

/// How many sides of the outline a hole may take away whole on either side of its middle.
const MOST_SIDES: usize = 8;

/// Cuts all holes. `name` tells the face for errors.
pub(super) fn cut_holes(
    mut steps: Vec<Step>,
    holes: &[ReliefHole],
    name: impl Fn(usize) -> String,
    reliefs: &mut Vec<FlatRelief>,
    errors: &mut Vec<BentError>,
) -> Vec<Step> {
    for (index, hole) in holes.iter().enumerate() {
        let Some(at) = steps.iter().position(|step| step.hole == Some(index)) else { continue };
        // Turned so that the middle of the list is the marked step: then nothing wraps around.
        let half = steps.len() / 2;
        let shift = (at + steps.len() - half) % steps.len();
        steps.rotate_left(shift);
        match bite(&steps, half, hole) {
            Some((bitten, removed)) => {
                steps = bitten;
                reliefs.push(FlatRelief { face: hole.face, removed: removed.into_ccw() });
            }
            None => errors.push(BentError::ReliefRoom { face: name(hole.face), at: hole.middle }),
        }
    }
    steps
}

/// The outline with one hole cut at a step that lies within it, and what was taken away. `None` where an arc is in the
/// way or the hole takes too much.
fn bite(steps: &[Step], at: usize, hole: &ReliefHole) -> Option<(Vec<Step>, Outline)> {
    let is_within = |i: usize| steps[i].vertex.point.distance(hole.middle) < hole.radius;
    let is_line = |i: usize| steps[i].vertex.bulge == 0.0;
    // The last step before the hole, and the first after it.
    let before = (at.saturating_sub(MOST_SIDES)..at).rev().find(|&i| !is_within(i))?;
    let after = (at + 1..(at + 1 + MOST_SIDES).min(steps.len())).find(|&i| !is_within(i))?;
    if !(before..after).all(is_line) {
        return None;
    }
    let point = |i: usize| steps[i].vertex.point;
    let enter = crossing(point(before), point(before + 1), hole)?;
    let leave = crossing(point(after), point(after - 1), hole)?;
    let angle = |point: Point| (point - hole.middle).angle();
    // Clockwise from entry to exit: around the middle on the side of the metal.
    let sweep = (angle(enter) - angle(leave)).rem_euclid(TAU);
    let bulge = (sweep / 4.0).tan();
    let mut bitten = steps[..=before].to_vec();
    bitten.push(Step { vertex: Vertex::arc(enter, -bulge), hole: None });
    bitten.push(Step { vertex: Vertex::line(leave), hole: None });
    bitten.extend_from_slice(&steps[after..]);
    let mut removed = vec![Vertex::line(enter)];
    removed.extend((before + 1..after).map(|i| Vertex::line(point(i))));
    removed.push(Vertex::arc(leave, bulge));
    Some((bitten, Outline::new(removed)))
}

/// Where the way from a point outside to one inside crosses the hole's edge.
///
/// # Source
/// Quadratic formula for a line and a circle, in the form that does not cancel. Elementary geometry.
fn crossing(outside: Point, inside: Point, hole: &ReliefHole) -> Option<Point> {
    let (way, from) = (inside - outside, outside - hole.middle);
    let (a, half_b, c) = (way.length_squared(), from.dot(way), from.length_squared() - hole.radius * hole.radius);
    let discriminant = half_b * half_b - a * c;
    // The nearer of two: c is not negative and half_b is, so this divides by no difference.
    let t = c / (-half_b + discriminant.max(0.0).sqrt());
    (0.0..=1.0 + 1e-12).contains(&t).then(|| outside + way * t)
}
