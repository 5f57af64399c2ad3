//! Corners of a face at which bends end: where their start lines meet, and how the flanges there are cut.
//!
//! Distances at a corner are measured along each side from the corner into the side, and across it into the face. With
//! τ the angle by which the outline turns at the corner, lines parallel to both sides, at a and b into the face, meet at
//! (b − a cos τ)/sin τ along the side that a belongs to. The plane that halves the corner is left by a point at the
//! distance o outside a side when it is nearer than −o tan(τ/2) to the corner along it. Elementary geometry.

use dropwise_geometry::Point;

use super::check::SoundBend;
use super::error::BentError;
use super::frame::Side;
use super::grow::{Attached, End};
use super::part::{BentPart, CornerJoin, Edge, Join};
use super::relief::{Relief, ReliefSize, SizedRelief};

/// What becomes of a corner where one bend or two end. In the face's own frame.
#[derive(Clone, Debug)]
pub(super) struct CornerPlan {
    /// Where the outline turns, without relief: where the start lines of both bends meet, or one start line and a side.
    pub(super) bare: Point,
    /// Where it turns with a square relief.
    pub(super) at: Point,
    /// What a square relief takes away.
    pub(super) removed: Option<Vec<Point>>,
    /// Middle and radius of a relief hole.
    pub(super) hole: Option<(Point, f64)>,
    /// Which of the face's bends to name for the relief.
    pub(super) bend: usize,
}

/// A side at a corner.
struct Meeting {
    tangent: f64,
    sin: f64,
    cos: f64,
}

impl Meeting {
    fn of(before: &Side, after: &Side) -> Self {
        let (one, two) = (before.along(), after.along());
        let (sin, cos) = (one.cross(two), one.dot(two));
        Self { tangent: sin / (1.0 + cos), sin, cos }
    }

    /// How far along a side, from the corner, a line `own` into the face from that side meets one `other` into the face
    /// from the other side.
    fn along(&self, own: f64, other: f64) -> f64 {
        (other - own * self.cos) / self.sin
    }
}

/// How far in from the corner a flange must end, next to its bend, so as not to pass the plane that halves the corner;
/// and by how much that changes with each mm away from the bend. The inside of the sheet reaches that plane first.
fn halving_plane(bend: &SoundBend, meeting: &Meeting) -> (f64, f64) {
    let (sin, cos) = bend.turn_sin_cos();
    let inside = bend.edge_taken - bend.figures.bend.radius() * sin;
    (inside * meeting.tangent, -cos * meeting.tangent)
}

/// Plans every corner of a face and ends the bends there. The first side of a flange is attached, so its ends are none.
pub(super) fn plan_corners(
    part: &BentPart,
    name: &str,
    sides: &[Side],
    is_flange: bool,
    joins: &[CornerJoin],
    bends: &mut [Attached<'_>],
    errors: &mut Vec<BentError>,
) -> Vec<Option<CornerPlan>> {
    let count = sides.len();
    let joins: Vec<(usize, &CornerJoin)> = joins
        .iter()
        .filter_map(|join| {
            let side = side_of(sides, is_flange, join.edge);
            if side.is_none() {
                errors.push(BentError::NoSuchEdge { face: name.to_owned(), parent: name.to_owned(), edge: join.edge });
            }
            Some((side?, join))
        })
        .collect();
    (0..count)
        .map(|corner| {
            let before = (corner + count - 1) % count;
            let first = bends.iter().position(|bend| bend.side == before && bend.ends[1].is_at_corner);
            let second = bends.iter().position(|bend| bend.side == corner && bend.ends[0].is_at_corner);
            let meeting = Meeting::of(&sides[before], &sides[corner]);
            match (first, second) {
                (None, None) => None,
                (Some(first), Some(second)) => {
                    let told = joins.iter().find(|(side, _)| *side == corner).map(|(_, join)| *join);
                    let join = told.map_or(part.join, |told| told.join);
                    let relief = told.and_then(|told| told.relief).unwrap_or(part.corner_relief);
                    Some(two_bends(part, sides, corner, (first, second), &meeting, join, relief, bends, errors))
                }
                (first, second) => {
                    let (bend, end) = first.map_or((second.unwrap_or_default(), 0), |first| (first, 1));
                    let taken = bends[bend].bend.edge_taken;
                    let along = meeting.along(taken, 0.0);
                    let own = &mut bends[bend].ends[end];
                    own.bare_zone = own.bare_zone.max(along);
                    own.zone = own.bare_zone;
                    let at = point(sides, corner, end == 0, along, taken);
                    Some(CornerPlan { bare: at, at, removed: None, hole: None, bend })
                }
            }
        })
        .collect()
}

fn side_of(sides: &[Side], is_flange: bool, edge: Edge) -> Option<usize> {
    let number = match edge {
        Edge::Side(number) => number,
        // Of a rectangle, and of a flange, these are sides 0 to 3.
        Edge::Bottom => 0,
        Edge::Right => 1,
        Edge::Top => 2,
        Edge::Left => 3,
    };
    sides.iter().position(|side| side.number == Some(number)).filter(|&side| !(is_flange && side == 0))
}

/// A point near a corner: along the side that starts there, or back along the one that ends there, and into the face.
fn point(sides: &[Side], corner: usize, is_after: bool, along: f64, into: f64) -> Point {
    if is_after {
        sides[corner].at(along, into)
    } else {
        let before = &sides[(corner + sides.len() - 1) % sides.len()];
        before.at(before.length() - along, into)
    }
}

#[allow(clippy::too_many_arguments)]
fn two_bends(
    part: &BentPart,
    sides: &[Side],
    corner: usize,
    (first, second): (usize, usize),
    meeting: &Meeting,
    join: Join,
    relief: Relief,
    bends: &mut [Attached<'_>],
    errors: &mut Vec<BentError>,
) -> CornerPlan {
    let of = [bends[first].bend, bends[second].bend];
    let taken = of.map(|bend| bend.edge_taken);
    let allowance = of.map(|bend| bend.figures.allowance);
    let names = || (bends[first].flange.name.clone(), bends[second].flange.name.clone());
    let directions = [bends[first].flange.direction, bends[second].flange.direction];
    let turns = of.map(|bend| bend.figures.bend.turn());
    if matches!(join, Join::Mitred { .. }) && (turns[0] != turns[1] || directions[0] != directions[1]) {
        let (face, other) = names();
        errors.push(BentError::UnlikeMitre { face, other });
    }
    let is_square = meeting.cos.abs() < 1e-9 && turns == [90.0; 2] && directions[0] == directions[1];
    if matches!(join, Join::Overlapped { .. }) && !is_square {
        let (face, other) = names();
        errors.push(BentError::UnsquareOverlap { face, other });
    }
    // Where the two start lines meet, along either side; then the same with the relief's depth added to both.
    let depth = match relief.sized(wider_radius(&of), part.thickness, allowance[0].max(allowance[1]), 0.0, 0.0) {
        SizedRelief::Rectangular { depth, .. } => depth,
        _ => 0.0,
    };
    // An end cut by hand is left as it was told.
    let is_by_hand = bends[first].flange.ends[1].is_some() || bends[second].flange.ends[0].is_some();
    let depth = if is_by_hand { 0.0 } else { depth };
    let cross =
        |more: f64| [meeting.along(taken[0] + more, taken[1] + more), meeting.along(taken[1] + more, taken[0] + more)];
    let (bare, relieved) = (cross(0.0), cross(depth));
    for (which, bend) in [first, second].into_iter().enumerate() {
        let straight = bends[bend].straight();
        let by_hand = bends[bend].flange.ends[1 - which].is_some();
        let end = &mut bends[bend].ends[1 - which];
        let bare_zone = if by_hand { end.bare_zone.max(bare[which]) } else { bare[which] };
        let zone = bare_zone.max(relieved[which]);
        let (root, slant) = if by_hand {
            (end.root, end.slant)
        } else {
            rooted(join, which, &of, taken, bare[which], straight, meeting)
        };
        *end = End { is_at_corner: true, bare_zone, zone, root, slant, relief: SizedRelief::None };
    }
    let at = |along: [f64; 2], more: f64| point(sides, corner, true, along[1], taken[1] + more);
    let removed = (depth > 0.0).then(|| {
        let [one, two] = [bends[first].ends[1], bends[second].ends[0]];
        vec![
            point(sides, corner, false, one.bare_zone, taken[0] - allowance[0]),
            point(sides, corner, false, one.bare_zone, taken[0]),
            at(bare, 0.0),
            point(sides, corner, true, two.bare_zone, taken[1]),
            point(sides, corner, true, two.bare_zone, taken[1] - allowance[1]),
            point(sides, corner, true, two.zone, taken[1] - allowance[1]),
            point(sides, corner, true, two.zone, taken[1] + depth),
            at(relieved, depth),
            point(sides, corner, false, one.zone, taken[0] + depth),
            point(sides, corner, false, one.zone, taken[0] - allowance[0]),
        ]
    });
    let hole = hole_at_corner(relief, &of, meeting, taken, allowance).map(|(along, into, radius)| {
        let middle = point(sides, corner, true, along, into);
        let wanted = middle.distance(at(bare, 0.0));
        if radius <= wanted {
            let face = bends[first].flange.name.clone();
            errors.push(BentError::ReliefSmall { face, found: radius, wanted });
        }
        (middle, radius)
    });
    CornerPlan { bare: at(bare, 0.0), at: at(relieved, depth), removed, hole, bend: first }
}

fn wider_radius(of: &[SoundBend; 2]) -> f64 {
    of[0].figures.bend.radius().max(of[1].figures.bend.radius())
}

/// Where a relief hole's middle lies, along and into the second side, and its radius.
fn hole_at_corner(
    relief: Relief,
    of: &[SoundBend; 2],
    meeting: &Meeting,
    taken: [f64; 2],
    allowance: [f64; 2],
) -> Option<(f64, f64, f64)> {
    let lines = [taken[0] - allowance[0] / 2.0, taken[1] - allowance[1] / 2.0];
    let start = (meeting.along(taken[1], taken[0]), taken[1]);
    let crossing = (meeting.along(lines[1], lines[0]), lines[1]);
    let reach = (start.0 - crossing.0).hypot(start.1 - crossing.1);
    match (
        relief,
        relief.sized(wider_radius(of), of[0].figures.bend.thickness(), allowance[0].max(allowance[1]), reach, 0.0),
    ) {
        (Relief::Round(ReliefSize::Hand { width, .. }), _) => Some((start.0, start.1, width / 2.0)),
        (_, SizedRelief::Round { depth, .. }) => Some((start.0, start.1, depth)),
        (_, SizedRelief::Hole { radius }) => Some((crossing.0, crossing.1, radius)),
        _ => None,
    }
}

/// Where a flange ends next to its bend, in from the corner, and its slant.
fn rooted(
    join: Join,
    which: usize,
    of: &[SoundBend; 2],
    taken: [f64; 2],
    bare: f64,
    straight: f64,
    meeting: &Meeting,
) -> (f64, f64) {
    // Half the gap is square to the plane that halves the corner; sin(φ/2) = cos(τ/2).
    let half_cosine = ((1.0 + meeting.cos) / 2.0).sqrt();
    let back_off = |gap: f64| gap / 2.0 / half_cosine;
    let (root, slant) = halving_plane(&of[which], meeting);
    match join {
        Join::Open => (bare, 0.0),
        Join::Butted { gap } => (root.max(root + slant * straight) + back_off(gap), 0.0),
        Join::Mitred { gap } => (root + back_off(gap), slant),
        Join::Overlapped { by_second, gap } => {
            let other = 1 - which;
            let bend = &of[other].figures.bend;
            // The other flange's outside lies R + T beyond where its bend begins, its inside R.
            if by_second == (which == 1) {
                (taken[other] - bend.radius() - bend.thickness(), 0.0)
            } else {
                (taken[other] - bend.radius() + gap, 0.0)
            }
        }
    }
}
