//! Checks of what lies flat: holes clear of bends, faces clear of each other.

use dropwise_geometry::{Boundary, Bounds, Fault, Outline, Point, Region, Shape, Side as Flattened};

use crate::pattern::SAME_POINT;

use super::error::BentError;
use super::flat::Unfolding;
use super::grow::Tree;

/// Overlaps less deep than this are rounding, mm.
const DEEP: f64 = 1e-6;

/// How far a stand-in for a round hole may miss it where a hole is asked on which side of a line it lies, mm.
const HOLE_TOLERANCE: f64 = 1e-3;

/// Faces that inverted or crossed themselves: their bends take more than there is.
pub(super) fn used_up(tree: &Tree<'_>, outlines: &[Outline]) -> Vec<BentError> {
    let of_face = |(index, outline): (usize, &Outline)| {
        let face = &tree.faces[index];
        let is_sound = outline.signed_area() > 0.0 && Shape::new(outline.clone(), Vec::new()).faults().is_empty();
        let at = face.frame.to_face(outline.bounds().center());
        (!is_sound).then(|| BentError::UsedUp { face: face.name.to_owned(), at })
    };
    outlines.iter().enumerate().filter_map(of_face).collect()
}

/// Holes that do not lie wholly within the flat part of their face.
pub(super) fn holes(tree: &Tree<'_>, outlines: &[Outline]) -> Vec<BentError> {
    let mut errors = Vec::new();
    for (face, outline) in tree.faces.iter().zip(outlines) {
        if face.holes.is_empty() {
            continue;
        }
        let region = Region::inside(outline);
        for (hole, feature) in &face.holes {
            let on_flat = face.frame.outline_to_flat(hole);
            let is_clear = region.boundary().distance(&Boundary::new([&on_flat])) > SAME_POINT;
            if is_clear && on_flat.vertices().first().is_some_and(|v| region.contains(v.point)) {
                continue;
            }
            let (name, at) = (face.name.to_owned(), hole.bounds().center());
            let points = hole.clone().into_ccw().flatten(HOLE_TOLERANCE, Flattened::Grow);
            let reaches = |is_beyond: &dyn Fn(Point) -> bool| points.iter().any(|&point| is_beyond(point));
            let own = face.parent.is_some().then(|| face.sides[0].start().y);
            let crossed = if own.is_some_and(|start| reaches(&|point| point.y < start + SAME_POINT)) {
                Some(face.name)
            } else {
                let across = face.bends.iter().find(|bend| {
                    let side = &face.sides[bend.side];
                    reaches(&|point| {
                        let (u, v) = side.read(point);
                        v < bend.bend.edge_taken + SAME_POINT && (bend.from..=bend.to).contains(&u)
                    })
                });
                across.map(|bend| bend.flange.name.as_str())
            };
            errors.push(match crossed {
                Some(bend) => BentError::HoleAcrossBend { face: name, feature: *feature, bend: bend.to_owned(), at },
                None => BentError::HoleThroughEdge { face: name, feature: *feature, at },
            });
        }
    }
    errors
}

/// A face or a bend zone, as something that takes up room.
struct Room {
    face: usize,
    bounds: Bounds,
    region: Region,
}

/// Faces and bend zones that lie on one another: one report for each pair of faces, where they overlap deepest.
pub(super) fn overlaps(flat: &Unfolding) -> Vec<BentError> {
    let room =
        |face: usize, outline: &Outline| Room { face, bounds: outline.bounds(), region: Region::inside(outline) };
    let faces = flat.faces.iter().enumerate().map(|(index, face)| room(index, face.region.exterior()));
    let zones = flat.bends.iter().map(|bend| room(bend.face, &bend.zone));
    let rooms: Vec<Room> = faces.chain(zones).collect();
    let mut found: Vec<(usize, usize, Point, f64)> = Vec::new();
    for (i, one) in rooms.iter().enumerate() {
        for two in &rooms[i + 1..] {
            if one.face == two.face || !one.bounds.intersects(two.bounds) {
                continue;
            }
            let Some(overlap) = one.region.overlap(&two.region, DEEP) else { continue };
            let (first, second) = (one.face.min(two.face), one.face.max(two.face));
            match found.iter_mut().find(|known| (known.0, known.1) == (first, second)) {
                Some(known) if known.3 < overlap.depth => (known.2, known.3) = (overlap.at, overlap.depth),
                Some(_) => {}
                None => found.push((first, second, overlap.at, overlap.depth)),
            }
        }
    }
    found.sort_by_key(|&(first, second, ..)| (first, second));
    let name = |face: usize| flat.faces[face].name.clone();
    let told = |(first, second, at, depth)| BentError::Collision { face: name(first), other: name(second), at, depth };
    found.into_iter().map(told).collect()
}

/// Places where the outline of the whole meets itself: faces that touch although nothing parts them.
pub(super) fn touches(flat: &Unfolding) -> Vec<BentError> {
    let mut errors: Vec<BentError> = Vec::new();
    for fault in flat.shape.faults() {
        let at = match fault {
            Fault::SelfCrossing { at, .. } | Fault::RepeatedSide { at, .. } | Fault::RingsCross { at, .. } => at,
            Fault::HoleOutside { at, .. } | Fault::NestedHoles { at, .. } => at,
            _ => flat.shape.bounds().center(),
        };
        let mut near: Vec<(f64, usize)> = (0..flat.faces.len())
            .map(|index| {
                let zone = flat.bend_of(index).map(|bend| &bend.zone);
                let outlines = std::iter::once(flat.faces[index].region.exterior()).chain(zone);
                let distance = Boundary::new(outlines).distance_to_point(at);
                (distance, index)
            })
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let first = near.first().map_or(0, |&(_, index)| index);
        let second = near.get(1).map_or(first, |&(_, index)| index);
        let (first, second) = (first.min(second), first.max(second));
        let (face, other) = (flat.faces[first].name.clone(), flat.faces[second].name.clone());
        let is_known = errors.iter().any(
            |error| matches!(error, BentError::Touch { face: one, other: two, .. } if (one, two) == (&face, &other)),
        );
        if !is_known {
            errors.push(BentError::Touch { face, other, at });
        }
    }
    errors
}
