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

/// The reach of the face that is brought up (`true`) or of the other side.
pub(super) fn reach(
    body: &Body<'_>,
    bend: usize,
    faces: &[FoldedFace],
    machine: &MachineFrame,
    is_child: bool,
) -> Reach {
    let thickness = body.unfolding.thickness;
    let radius = body.unfolding.bends.iter().map(|bend| bend.figures.bend.radius()).fold(0.0, f64::max);
    // What is bent up already starts a radius over the sheet.
    let window = FINGER + thickness + radius;
    let sign = if is_child { 1.0 } else { -1.0 };
    let mut best = Reach { distance: 0.0, face: body.unfolding.bends[bend].face, is_straight: false };
    for face in (0..faces.len()).filter(|&face| body.is_beyond[bend][face] == is_child) {
        for skin in [0.0, thickness] {
            let polygon = body.polygon(face, skin, faces, machine);
            let is_near = |point: &Point3| (-window..=window).contains(&(point.y + thickness / 2.0));
            for (index, point) in polygon.iter().enumerate() {
                let next = polygon[(index + 1) % polygon.len()];
                let distance = sign * point.x;
                if !is_near(point) || distance < best.distance - AGAINST {
                    continue;
                }
                let is_level = (point.x - next.x).abs() <= AGAINST && is_near(&next);
                let is_straight = is_level && (point.z - next.z).abs() >= LEAST_STRAIGHT;
                if distance > best.distance + AGAINST {
                    best = Reach { distance, face, is_straight };
                } else {
                    best.is_straight |= is_straight;
                }
            }
        }
    }
    best
}
