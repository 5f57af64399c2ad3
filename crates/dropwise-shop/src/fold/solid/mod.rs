//! The finished part as a solid, and whether it takes the same space twice.
//!
//! Faces are plates as thick as the sheet, bend zones bent plates between them; both with their true cut, holes, notches
//! and reliefs. No machine takes part: what is found here no order of bends and no brake can cure.

mod convex;
mod pieces;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use dropwise_geometry::Point;

use super::flat::Unfolding;
use super::folded::Folded;
use super::returns;
use super::space::Point3;
pub(crate) use convex::Convex;
pub(crate) use pieces::flat_plates;
use pieces::{Metal, metal};

/// How deep two pieces of metal may lie in one another before it counts, mm: the depth that a file takes off without a
/// second thought, and more than chords of bends are off. Common practice, no source.
pub const SOLID_TOUCH: f64 = 0.1;

/// Less volume than this is rounding, mm³.
const NOTHING: f64 = 1e-3;

/// A plate of the finished part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Plate {
    /// A face, by its index.
    Face(usize),
    /// The bend that brings up the face of this index.
    Bend(usize),
}

impl Plate {
    /// The face that it is, or that its bend brings up.
    #[must_use]
    pub const fn face(self) -> usize {
        match self {
            Self::Face(face) | Self::Bend(face) => face,
        }
    }
}

/// How two faces that take the same space came to be neighbours: it tells what cures them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kinship {
    /// Both are bent from one face, at a corner that their edges share.
    Neighbours,
    /// They meet at a corner in one plane and are bent from two flanges of one face: feet, returns.
    Returns,
    /// Neither.
    Strangers,
}

/// Two faces of the finished part, each with the bend that brings it up, that take the same space.
#[derive(Clone, Debug, PartialEq)]
pub struct SelfOverlap {
    /// The face that comes first.
    pub face: usize,
    /// The other.
    pub other: usize,
    /// Extents of the space that they share, along a face's own x and y and across it, the longest first, mm.
    pub extents: [f64; 3],
    /// Its volume, mm³.
    pub volume: f64,
    /// The middle of it, in space.
    pub middle: Point3,
    /// Where it lies on the flat pattern: on the first of the two that is plane there.
    pub on_flat: Point,
    /// How they are akin.
    pub kinship: Kinship,
    /// The face to shorten at its free edge, and by how much at least, so that both are clear; `None` where that would
    /// leave nothing of either.
    pub shorten: Option<(usize, f64)>,
    /// Corners of convex bodies that together are the space, for pictures.
    pub bodies: Vec<Vec<Point3>>,
}

impl Unfolding {
    /// Where the finished part takes the same space twice by more than [`SOLID_TOUCH`]: one report for each pair of faces,
    /// in the order of faces. Touching is allowed.
    ///
    /// # Cost
    /// O(n²) for n faces whose boxes meet, times the pieces into which holes cut them; milliseconds for dozens of faces.
    #[must_use]
    pub fn self_overlaps(&self) -> Vec<SelfOverlap> {
        let folded = self.fold();
        let shrunk = metal(self, &folded, SOLID_TOUCH / 2.0);
        // Faces in pairs, and the plates of theirs that meet.
        let mut pairs: BTreeMap<(usize, usize), Vec<(usize, usize)>> = BTreeMap::new();
        for (i, one) in shrunk.iter().enumerate() {
            for (j, two) in shrunk.iter().enumerate().skip(i + 1) {
                if self.is_joined(one.plate, two.plate) || !one.shares_more_than(two, NOTHING) {
                    continue;
                }
                let faces = [one.plate.face(), two.plate.face()];
                pairs.entry((faces[0].min(faces[1]), faces[0].max(faces[1]))).or_default().push((i, j));
            }
        }
        if pairs.is_empty() {
            return Vec::new();
        }
        let whole = metal(self, &folded, 0.0);
        pairs.iter().filter_map(|(faces, plates)| self.overlap(&folded, &whole, *faces, plates)).collect()
    }

    /// Whether two plates are one sheet where they meet: a bend and the faces that it joins.
    fn is_joined(&self, one: Plate, two: Plate) -> bool {
        match (one, two) {
            (Plate::Face(face), Plate::Bend(bend)) | (Plate::Bend(bend), Plate::Face(face)) => {
                face == bend || self.faces[bend].parent == Some(face)
            }
            (Plate::Face(one), Plate::Face(two)) | (Plate::Bend(one), Plate::Bend(two)) => one == two,
        }
    }

    fn overlap(
        &self,
        folded: &Folded,
        whole: &[Metal],
        (face, other): (usize, usize),
        plates: &[(usize, usize)],
    ) -> Option<SelfOverlap> {
        let of_plates = |&(i, j): &(usize, usize)| {
            let find = |index: usize| whole.get(index);
            find(i).zip(find(j)).map(|(one, two)| one.shared(two)).unwrap_or_default()
        };
        let bodies: Vec<Convex> = plates.iter().flat_map(of_plates).collect();
        let corners: Vec<Point3> = bodies.iter().flat_map(Convex::corners).collect();
        // In the frame of the face along which it is the slimmer.
        let boxes = [face, other].map(|face| {
            let frame = folded.faces[face];
            let mut limits = [(f64::INFINITY, f64::NEG_INFINITY); 3];
            for &corner in &corners {
                let from = corner - frame.origin;
                for (limit, axis) in limits.iter_mut().zip([frame.x_axis, frame.y_axis, frame.up]) {
                    *limit = (limit.0.min(from.dot(axis)), limit.1.max(from.dot(axis)));
                }
            }
            limits
        });
        let size = |limits: &[(f64, f64); 3]| limits.map(|(low, high)| high - low);
        let volume = |limits: &[(f64, f64); 3]| size(limits).into_iter().product::<f64>();
        let first = if volume(&boxes[0]) <= volume(&boxes[1]) { 0 } else { 1 };
        let mut extents = size(boxes.get(first)?);
        extents.sort_by(|a, b| b.total_cmp(a));
        let frame = folded.faces[[face, other][first]];
        let mid = boxes[first].map(|(low, high)| (low + high) / 2.0);
        let middle = frame.origin + frame.x_axis * mid[0] + frame.y_axis * mid[1] + frame.up * mid[2];
        Some(SelfOverlap {
            face,
            other,
            extents,
            volume: bodies.iter().map(Convex::volume).sum(),
            middle,
            on_flat: Point::new(mid[0], mid[1]),
            kinship: self.kinship(folded, face, other),
            shorten: self.shorten(folded, &corners, [face, other]),
            bodies: bodies.iter().map(|body| body.corners().collect()).collect(),
        })
    }

    /// The shorter cut of two: from each free edge back to beyond all that is shared.
    fn shorten(&self, folded: &Folded, corners: &[Point3], faces: [usize; 2]) -> Option<(usize, f64)> {
        let cut = |face: usize| {
            let (flat, space) = (&self.faces[face], folded.faces[face]);
            let bend = self.bend_of(face)?;
            if self.bends.iter().any(|other| other.parent == face) {
                return None; // what is bent from it would have to go too
            }
            let reach = |corner: &Point3| {
                let from = *corner - space.origin;
                flat.frame.to_face(Point::new(from.dot(space.x_axis), from.dot(space.y_axis))).y
            };
            let lowest = corners.iter().map(reach).fold(f64::INFINITY, f64::min);
            let by = flat.told_size.1 - lowest;
            // As much of the face must be left as the sheet is thick, or it is no flange.
            (lowest > bend.own_taken + self.thickness && by > 0.0).then_some((face, by))
        };
        faces.into_iter().filter_map(cut).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    fn kinship(&self, folded: &Folded, face: usize, other: usize) -> Kinship {
        let (Some(one), Some(two)) = (self.faces[face].parent, self.faces[other].parent) else {
            return Kinship::Strangers;
        };
        if one == two {
            return if self.meet_at_a_corner(face, other) { Kinship::Neighbours } else { Kinship::Strangers };
        }
        let is_kin = self.faces[one].parent.is_some() && self.faces[one].parent == self.faces[two].parent;
        if is_kin && returns::meet(self, folded, [face, other]) { Kinship::Returns } else { Kinship::Strangers }
    }

    /// Whether the bends of two faces come as near to each other as the corner between them.
    fn meet_at_a_corner(&self, face: usize, other: usize) -> bool {
        let (Some(one), Some(two)) = (self.bend_of(face), self.bend_of(other)) else { return false };
        let reach = 4.0 * (self.thickness + one.figures.bend.radius() + two.figures.bend.radius());
        one.start.iter().any(|a| two.start.iter().any(|b| a.distance(*b) < reach))
    }
}
