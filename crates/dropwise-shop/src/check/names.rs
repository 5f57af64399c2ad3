//! What features are called: as the drawings call them, by face, kind and number.

use dropwise_geometry::{Outline, Point};

use super::{Subject, WorkedHole};
use crate::markout::full_circle;

/// Holes whose middles are nearer than this are one, mm.
const SAME_PLACE: f64 = 1e-3;

/// A hole by its face, its number among its like there and its diameter: `left leg, hole 2 of 3 (Ø 6.6 mm)`. What is not
/// round is an opening.
pub(super) fn hole(subject: &Subject<'_>, ring: &Outline) -> String {
    let center = ring.bounds().center();
    let index =
        subject.shape.holes().iter().position(|other| {
            other.bounds().center().distance(center) < SAME_PLACE && is_round(other) == is_round(ring)
        });
    called(subject, index, full_circle(ring, SAME_PLACE).map(|circle| 2.0 * circle.radius))
}

/// A hole that is countersunk or flared.
pub(super) fn worked(subject: &Subject<'_>, hole: &WorkedHole) -> String {
    let index = subject.shape.holes().iter().position(|other| {
        full_circle(other, SAME_PLACE).is_some_and(|circle| circle.center.distance(hole.center) < SAME_PLACE)
    });
    called(subject, index, Some(hole.diameter))
}

fn called(subject: &Subject<'_>, index: Option<usize>, diameter: Option<f64>) -> String {
    let size = diameter.map_or_else(String::new, |diameter| format!(" (Ø {})", subject.length(diameter)));
    let word = if diameter.is_some() { "hole" } else { "opening" };
    let Some(index) = index else { return format!("the {word}{size}") };
    let rings = subject.shape.holes();
    let face_of = |ring: usize| subject.bends.and_then(|bends| bends.unfolding.holes.get(ring)).map(|hole| hole.face);
    let alike: Vec<usize> = (0..rings.len())
        .filter(|&other| face_of(other) == face_of(index) && is_round(&rings[other]) == diameter.is_some())
        .collect();
    let number = alike.iter().position(|&other| other == index).map_or(1, |place| place + 1);
    let name = match alike.len() {
        1 => format!("the {word}"),
        count => format!("{word} {number} of {count}"),
    };
    match face_of(index).zip(subject.bends) {
        Some((face, bends)) => format!("{}, {name}{size}", bends.unfolding.faces[face].name),
        None => format!("{name}{size}"),
    }
}

fn is_round(ring: &Outline) -> bool {
    full_circle(ring, SAME_PLACE).is_some()
}

/// A place in the frame of the part: `at (12 mm, 28.5 mm)`.
pub(super) fn place(at: Point, length: impl Fn(f64) -> String) -> String {
    // No figure is minus nothing.
    let figure = |value: f64| length(if value.abs() < 5e-4 { 0.0 } else { value });
    format!("at ({}, {})", figure(at.x), figure(at.y))
}
