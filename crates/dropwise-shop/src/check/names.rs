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

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Shape, Unit};

    use super::*;
    use crate::material::Material;

    /// Holes are numbered in their order, round ones and others apart; a hole alone needs no number.
    #[test]
    fn holes_are_called_by_number_and_size() {
        let holes = vec![
            Outline::circle(Point::new(10.0, 10.0), 4.5),
            Outline::rectangle(Point::new(40.0, 20.0), 9.0, 5.0),
            Outline::circle(Point::new(30.0, 10.0), 3.3),
        ];
        let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 80.0, 40.0), holes);
        let subject = Subject {
            shape: &shape,
            material: Material::MildSteel,
            thickness: 2.0,
            weight: 1.0,
            process: None,
            kerf: 0.2,
            worked_holes: &[],
            bends: None,
            tolerances: None,
            unit: Unit::Millimetre,
        };
        let names: Vec<String> = shape.holes().iter().map(|ring| hole(&subject, ring)).collect();
        assert_eq!(names, ["hole 1 of 2 (Ø 9 mm)", "the opening", "hole 2 of 2 (Ø 6.6 mm)"]);
        assert_eq!(place(Point::new(-1e-9, 28.55), |mm| format!("{mm} mm")), "at (0 mm, 28.55 mm)");
    }
}
