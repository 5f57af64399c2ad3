//! The parts of a sheet as a cut sheet shows them: seen from the datum.

use dropwise_geometry::{Isometry, Outline, Point, Polygon, Segment, Shape, Side, Vector, intersection};
use dropwise_model::{Job, Plan};

use super::ordinates::Reading;
use crate::details::{BendLine, DatumFrame, round_holes};
use crate::drawing::copies::{copies, copy_key};
use crate::drawing::naming::{Subject, keys_of, names_of};
use crate::drawing::text::clean;

/// A part where it lies.
pub(super) struct Piece {
    pub(super) shape: Shape,
    pub(super) key: String,
    name: String,
    pub(super) is_flipped: bool,
    /// Two corners by which a part that lies askew is marked; `None` for one that lies square.
    pub(super) askew: Option<[Point; 2]>,
    /// Ends of each bend line, and whether its flange comes up towards whoever looks at the sheet.
    pub(super) bends: Vec<([Point; 2], bool)>,
}

/// Bend lines of a part where it lies. Face down, what comes up from its face goes down from the side that is seen.
fn bends_of(part: usize, position: Isometry, frame: &DatumFrame, bends: &[BendLine]) -> Vec<([Point; 2], bool)> {
    let seen = |point: Point| frame.to_frame.apply(position.apply(point));
    let of_part = bends.iter().filter(|bend| bend.part == part);
    of_part.map(|bend| ([seen(bend.from), seen(bend.to)], bend.is_up != position.is_mirrored)).collect()
}

/// The parts of a sheet as they lie, seen from its datum.
pub(super) fn pieces_of(job: &Job, plan: &Plan, index: usize, bends: &[BendLine]) -> (DatumFrame, Vec<Piece>) {
    let used = &plan.layout().sheets[index];
    let frame = DatumFrame::of(&job.sheets()[used.sheet].bought_shape(used.length));
    let numbers = &copies(job, plan.layout())[index];
    let pieces = used.placements.iter().zip(numbers).map(|(placement, &copy)| {
        let part = &job.parts()[placement.part];
        let shape = frame.piece(&part.shape, placement.position);
        Piece {
            askew: askew(&shape),
            shape,
            key: copy_key(placement.part, copy),
            name: clean(&part.name),
            is_flipped: placement.position.is_mirrored,
            bends: bends_of(placement.part, placement.position, &frame, bends),
        }
    });
    let pieces = pieces.collect();
    (frame, pieces)
}

/// How far a side may be off level or upright to count as square, degrees: what nobody can set by hand.
const SQUARE: f64 = 0.1;

/// The ends of the longest straight side of a part no straight side of which is level or upright: the one nearer to the
/// datum edge first. Its box has no edge to be marked by.
fn askew(shape: &Shape) -> Option<[Point; 2]> {
    let mut longest: Option<[Point; 2]> = None;
    for side in shape.exterior().segments() {
        let Segment::Line { start, end } = side else { continue };
        let off = (end - start).angle().to_degrees().rem_euclid(90.0);
        if off.min(90.0 - off) < SQUARE {
            return None;
        }
        if longest.is_none_or(|[a, b]| start.distance(end) > a.distance(b)) {
            longest = Some([start, end]);
        }
    }
    longest.map(|[a, b]| if (b.y, b.x) < (a.y, a.x) { [b, a] } else { [a, b] })
}

/// What is named of the parts.
pub(super) fn subjects(pieces: &[Piece], scale: f64) -> Vec<Subject> {
    let subject = |piece: &Piece| Subject {
        region: piece.shape.flatten(0.1 * scale, Side::Shrink),
        is_part: true,
        names: names_of(&piece.key, &piece.name, piece.is_flipped),
        keys: keys_of(&piece.key, piece.is_flipped),
        soft: piece.bends.iter().map(|&(line, _)| line).collect(),
    };
    pieces.iter().map(subject).collect()
}

/// The crosses at the centres of a part's round holes.
pub(super) fn crosses(shape: &Shape, scale: f64) -> Vec<[Point; 2]> {
    let cross = |hole: crate::details::RoundHole| {
        let arm = (hole.diameter / 2.0 / scale + 0.8).clamp(0.8, 3.0) * scale;
        let [across, up] = [Vector::new(arm, 0.0), Vector::new(0.0, arm)];
        [[hole.center - across, hole.center + across], [hole.center - up, hole.center + up]]
    };
    round_holes(shape).into_iter().flat_map(cross).collect()
}

/// Zones to keep clear of, as far as they lie on the sheet, and whether that could be told.
pub(super) fn damaged(shape: &Shape, damage: &[Outline], frame: &DatumFrame, scale: f64) -> (Vec<Polygon>, bool) {
    let mut is_told = true;
    let metal = shape.flatten(0.1 * scale, Side::Shrink);
    let zones = damage.iter().flat_map(|damage| {
        let zone = Shape::new(damage.transformed(frame.to_frame), Vec::new()).flatten(0.1 * scale, Side::Grow);
        // Where what lies on the sheet cannot be told, all of it is shown.
        intersection(std::slice::from_ref(&zone), std::slice::from_ref(&metal)).unwrap_or_else(|_| {
            is_told = false;
            vec![zone]
        })
    });
    let zones = zones.collect();
    (zones, is_told)
}

/// Where parts that lie square begin, along the datum edge and square to it.
pub(super) fn readings(pieces: &[Piece]) -> [Vec<Reading>; 2] {
    let square = || pieces.iter().filter(|piece| piece.askew.is_none());
    let reading = |piece: &Piece, value: f64| Reading { value, key: piece.key.clone() };
    [
        square().map(|piece| reading(piece, piece.shape.bounds().min.x)).collect(),
        square().map(|piece| reading(piece, piece.shape.bounds().min.y)).collect(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_lies_askew_is_marked_by_two_corners() {
        let plate = Shape::new(Outline::rectangle(Point::ORIGIN, 40.0, 20.0), Vec::new());
        assert_eq!(askew(&plate.transformed(Isometry::new(true, 90.0, 7.0, 8.0))), None);
        let found = askew(&plate.transformed(Isometry::new(false, 30.0, 0.0, 0.0))).unwrap();
        assert!((found[0].distance(found[1]) - 40.0).abs() < 1e-9 && found[0].y <= found[1].y);
        assert_eq!(askew(&Shape::new(Outline::circle(Point::ORIGIN, 9.0), Vec::new())), None);
    }
}
