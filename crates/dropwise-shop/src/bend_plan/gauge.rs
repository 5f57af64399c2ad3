//! Where the backgauge goes, and how long the legs on the die are.

use super::pose::{Body, MachineFrame};
use crate::fold::{FoldedFace, Point3};

/// Where to put the backgauge.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeStop {
    /// From the middle of the die to the stop, mm.
    pub distance: f64,
    /// The face that stands against it, by its edge or, once it is bent up, by its outside.
    pub face: String,
    /// Whether what stands against it is straight and runs with the bend. If not, work to the scribed line.
    pub is_straight: bool,
}

/// How far one side reaches from the middle of the die while the sheet is flat there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub(super) distance: f64,
    pub(super) face: usize,
    pub(super) is_straight: bool,
}

/// How high the fingers of a backgauge reach over the sheet, and how far under it, mm. Common practice, no source.
const FINGER: f64 = 10.0;

/// Points this near to the farthest stand against the gauge too, mm.
const AGAINST: f64 = 0.05;

/// A straight piece this long is enough to stand against it, mm. Common practice, no source.
const LEAST_STRAIGHT: f64 = 10.0;

/// The reach of the faces that a stroke brings up (`true`) or of the other side: that of the metal that is farthest out, faces
/// and bends that are made.
pub(super) fn reach(
    body: &Body<'_>,
    stroke: &[usize],
    is_done: &[bool],
    faces: &[FoldedFace],
    machine: &MachineFrame,
    is_child: bool,
) -> Reach {
    let thickness = body.unfolding.thickness;
    let radius = body.unfolding.bends.iter().map(|bend| bend.figures.bend.radius()).fold(0.0, f64::max);
    // What is bent up already starts a radius over the sheet.
    let window = FINGER + thickness + radius;
    let sign = if is_child { 1.0 } else { -1.0 };
    let mut best = Reach { distance: 0.0, face: body.unfolding.bends[stroke[0]].face, is_straight: false };
    let is_own = |face: usize| stroke.iter().any(|&bend| body.is_beyond[bend][face]) == is_child;
    let is_near = |point: &Point3| (-window..=window).contains(&(point.y + thickness / 2.0));
    let mut look_at = |face: usize, point: Point3, next: Point3| {
        let distance = sign * point.x;
        if !is_near(&point) || distance < best.distance - AGAINST {
            return;
        }
        let is_level = (point.x - next.x).abs() <= AGAINST && is_near(&next);
        let is_straight = is_level && (point.z - next.z).abs() >= LEAST_STRAIGHT;
        // The place is that of the farthest, to the last digit; which face and how straight is a matter of what a gauge feels.
        if distance > best.distance + AGAINST {
            best = Reach { distance, face, is_straight };
        } else {
            best.distance = best.distance.max(distance);
            best.is_straight |= is_straight;
        }
    };
    for face in (0..faces.len()).filter(|&face| is_own(face)) {
        for skin in [0.0, thickness] {
            let polygon = body.polygon(face, skin, faces, machine);
            for (index, point) in polygon.iter().enumerate() {
                look_at(face, *point, polygon[(index + 1) % polygon.len()]);
            }
        }
    }
    // The outside of a bend that is made may be farther out than both faces that it joins: of a hem, of a sharp lip.
    for (made, flat) in
        body.unfolding.bends.iter().enumerate().filter(|(made, _)| is_done[*made] && !stroke.contains(made))
    {
        if is_own(flat.face)
            && let Some([from, to]) = body.outside_of(made, faces, machine, sign)
        {
            look_at(flat.parent, from, to);
            look_at(flat.parent, to, from);
        }
    }
    best
}
