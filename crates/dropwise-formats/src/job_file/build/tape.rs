//! Sheets measured with a tape.

use dropwise_geometry::{Outline, Point, Shape, TapeError, outline_from_tape};

use super::context::At;
use super::outline::both;
use crate::job_file::types::Tape;

/// A misclosure above this is more than a tape read with care leaves, mm: common practice, no source.
const CARELESS: f64 = 3.0;

/// The angles at the corners of an outline of straight sides, in order: `90°, 88°, 93°, 89°`.
fn corner_angles(outline: &Outline) -> String {
    let corners: Vec<Point> = outline.vertices().iter().map(|vertex| vertex.point).collect();
    let count = corners.len();
    let angles = (0..count).map(|i| {
        let (before, here, after) = (corners[(i + count - 1) % count], corners[i], corners[(i + 1) % count]);
        let (back, on) = (before - here, after - here);
        let angle = on.cross(back).atan2(on.dot(back)).to_degrees().rem_euclid(360.0);
        format!("{angle:.0}°")
    });
    angles.collect::<Vec<_>>().join(", ")
}

/// The outline that sides and diagonals make. How well they close is told in a note.
pub(super) fn tape_outline(at: &At<'_>, keys: &Tape) -> Option<Shape> {
    let unit = at.context.unit.millimetres();
    // Solved in the job's unit, so that messages speak in it. The noise of the conversion is rounded off.
    let in_unit = |millimetres: f64| (millimetres / unit * 1e9).round() / 1e9;
    let sides_at = at.key("sides");
    let sides: Vec<Option<f64>> =
        keys.sides.iter().enumerate().map(|(index, side)| sides_at.index(index).size(side).map(in_unit)).collect();
    let diagonals_at = at.key("diagonals");
    let diagonals: Vec<Option<dropwise_geometry::Diagonal>> = keys
        .diagonals
        .iter()
        .flatten()
        .enumerate()
        .map(|(index, keys)| {
            let length = diagonals_at.index(index).key("length").size(&keys.length).map(in_unit)?;
            // Corners count from 1 in the file; the structure check has seen to it that none is 0.
            Some(dropwise_geometry::Diagonal { from: keys.from as usize - 1, to: keys.to as usize - 1, length })
        })
        .collect();
    let inward: Vec<Option<usize>> = keys
        .inward_corners
        .iter()
        .flatten()
        .enumerate()
        .map(|(index, corner)| match (*corner as usize).checked_sub(1) {
            Some(corner) if corner < keys.sides.len() => Some(corner),
            _ => {
                let count = keys.sides.len();
                let at = at.key("inward_corners").index(index);
                at.fault(
                    format!("is {corner}, but the corners are 1 to {count}"),
                    "Count the corners from the first side",
                );
                None
            }
        })
        .collect();
    let (sides, diagonals) =
        both(sides.into_iter().collect::<Option<Vec<_>>>(), diagonals.into_iter().collect::<Option<Vec<_>>>())?;
    let inward: Vec<usize> = inward.into_iter().collect::<Option<_>>()?;
    match outline_from_tape(&sides, &diagonals, &inward) {
        Ok(taped) => {
            let largest = taped.largest_adjustment();
            let misclosure = taped.misclosure() * unit;
            let context = at.context;
            if taped.surplus == 0 {
                at.note(format!(
                    "no length is measured twice over, so a misread one goes unseen: its corners come out at {}. Is it so? \
                     One more diagonal would check it",
                    corner_angles(&taped.outline)
                ));
            } else {
                let text = format!(
                    "the tape closes within {}; {} fits least: measured {}, {} in the outline; its corners come out at {}",
                    context.show(misclosure),
                    largest.measurement,
                    context.show(largest.measured * unit),
                    context.show((largest.measured + largest.change) * unit),
                    corner_angles(&taped.outline)
                );
                if misclosure > CARELESS { at.warn(format!("{text}. Measure it again")) } else { at.note(text) }
            }
            Some(Shape::new(taped.outline.scaled(unit), Vec::new()))
        }
        Err(error) => {
            let cure = match error {
                TapeError::ImpossibleTriangle { .. } | TapeError::DoesNotClose { .. } => ". Measure these again",
                TapeError::CrossesItself => ". Check the order of the sides, and `inward_corners`",
                TapeError::NotReflex { .. } => ". Leave it out of `inward_corners`, or measure again",
                _ => "",
            };
            at.message(0, format!("{error}{cure} (lengths in {}, corners counted from 1)", at.context.unit));
            None
        }
    }
}
