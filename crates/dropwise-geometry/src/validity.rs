//! What can be wrong with a shape as drawn.

mod contacts;
#[cfg(test)]
mod tests;

use thiserror::Error;

use crate::{Bounds, Outline, Point, Region, Segment, Shape};
use contacts::{Contact, contacts};

/// Something wrong with a shape.
///
/// Rings are numbered from 0, the exterior, on through the holes. Vertices count from 0 in the ring as the shape holds
/// it (turned counter-clockwise outside, clockwise inside); a side has the number of the vertex that it leaves.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Fault {
    /// A coordinate or bulge that is not a number, or infinite. Nothing else is checked then.
    #[error("{}: vertex {vertex} is not a finite point", name(*.ring))]
    NotFinite {
        /// Which ring.
        ring: usize,
        /// Which vertex.
        vertex: usize,
    },
    /// Fewer than three vertices, or fewer than two where one side is an arc.
    #[error("{}: {count} vertices enclose nothing", name(*.ring))]
    TooFewVertices {
        /// Which ring.
        ring: usize,
        /// How many it has.
        count: usize,
    },
    /// A ring that encloses no area, or is thinner than the tolerance all along.
    #[error("{} encloses no area", name(*.ring))]
    ZeroArea {
        /// Which ring.
        ring: usize,
        /// Its first vertex.
        at: Point,
    },
    /// A side without length: the vertex is repeated.
    #[error("{}: vertex {vertex} at ({}, {}) is repeated", name(*.ring), .at.x, .at.y)]
    ZeroLengthSide {
        /// Which ring.
        ring: usize,
        /// The side's first vertex.
        vertex: usize,
        /// Where.
        at: Point,
    },
    /// A ring that crosses itself.
    #[error("{} crosses itself at ({}, {}), where sides {side} and {other_side} meet", name(*.ring), .at.x, .at.y)]
    SelfCrossing {
        /// Which ring.
        ring: usize,
        /// The side with the lower number.
        side: usize,
        /// The other.
        other_side: usize,
        /// Where.
        at: Point,
    },
    /// Two sides that run along each other: a line drawn twice, a spike, or a hole that shares an edge.
    #[error(
        "side {side} of {} and side {other_side} of {} run along each other at ({}, {})",
        name(*.ring), name(*.other_ring), .at.x, .at.y
    )]
    RepeatedSide {
        /// One ring.
        ring: usize,
        /// Its side.
        side: usize,
        /// The other ring, or the same.
        other_ring: usize,
        /// Its side.
        other_side: usize,
        /// The middle of the stretch they share.
        at: Point,
    },
    /// A hole that crosses the exterior or another hole.
    #[error("{} crosses {} at ({}, {})", name(*.ring), name(*.other_ring), .at.x, .at.y)]
    RingsCross {
        /// The ring with the lower number; 0 for the exterior.
        ring: usize,
        /// The side that crosses.
        side: usize,
        /// The other ring.
        other_ring: usize,
        /// Its side.
        other_side: usize,
        /// Where.
        at: Point,
    },
    /// A hole outside of the exterior.
    #[error("{} lies outside of the exterior, at ({}, {})", name(*.ring), .at.x, .at.y)]
    HoleOutside {
        /// Which ring.
        ring: usize,
        /// A point of it.
        at: Point,
    },
    /// A hole in a hole.
    #[error("{} lies in {}, at ({}, {})", name(*.inner), name(*.outer), .at.x, .at.y)]
    NestedHoles {
        /// The inner ring.
        inner: usize,
        /// The ring around it.
        outer: usize,
        /// A point of the inner one.
        at: Point,
    },
}

impl Fault {
    /// Distances below this fraction of the shape's size (the diagonal of the box around it) are none: a millionth of a
    /// millimetre on a part of a metre. Coarser, and small features of large parts would be called faults; finer, and
    /// rounding in turned parts would.
    pub const RELATIVE_TOLERANCE: f64 = 1e-9;

    /// No more crossings and repeated sides than this are listed: a scribble of thousands of sides has millions.
    pub const MAX_MEETINGS_LISTED: usize = 1000;
}

fn name(ring: usize) -> String {
    if ring == 0 { "the exterior".into() } else { format!("hole {ring}") }
}

impl Shape {
    /// All that is wrong with the shape; empty when it is sound.
    ///
    /// Rings may touch themselves and each other in points, holes may touch the exterior; none may cross or share a
    /// stretch of side. Touching within [`Fault::RELATIVE_TOLERANCE`] of the shape's size counts as touching. Faults come in
    /// the order: numbers, vertices, area, crossings by side, holes. At most [`Fault::MAX_MEETINGS_LISTED`] crossings and
    /// repeated sides are listed.
    ///
    /// # Cost
    /// O(n log n) for shapes whose sides lie near few others: some milliseconds for 5,000 sides.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let rings: Vec<&Outline> = self.rings().collect();
        let mut faults = not_finite(&rings);
        if !faults.is_empty() {
            return faults;
        }
        let size = rings.iter().fold(Bounds::EMPTY, |all, ring| all.union(ring.bounds())).diagonal();
        let tolerance = size * Fault::RELATIVE_TOLERANCE;
        for (ring, outline) in rings.iter().enumerate() {
            ring_faults(ring, outline, tolerance, &mut faults);
        }
        let found = contacts(&rings, tolerance, Fault::MAX_MEETINGS_LISTED);
        let mut crossing: Vec<(usize, usize)> = Vec::new();
        for Contact { rings: (ring, other_ring), sides: (side, other_side), at, is_crossing } in found {
            if ring != other_ring {
                crossing.push((ring, other_ring));
            }
            faults.push(if !is_crossing {
                Fault::RepeatedSide { ring, side, other_ring, other_side, at }
            } else if ring == other_ring {
                Fault::SelfCrossing { ring, side, other_side, at }
            } else {
                Fault::RingsCross { ring, side, other_ring, other_side, at }
            });
        }
        hole_faults(&rings, &crossing, tolerance, &mut faults);
        faults
    }
}

fn not_finite(rings: &[&Outline]) -> Vec<Fault> {
    let of_ring = |(ring, outline): (usize, &&Outline)| {
        let bad = outline.vertices().iter().enumerate().filter(|(_, v)| !(v.point.is_finite() && v.bulge.is_finite()));
        bad.map(|(vertex, _)| Fault::NotFinite { ring, vertex }).collect::<Vec<_>>()
    };
    rings.iter().enumerate().flat_map(of_ring).collect()
}

/// Faults of one ring that need no other side to be seen.
fn ring_faults(ring: usize, outline: &Outline, tolerance: f64, faults: &mut Vec<Fault>) {
    let count = outline.vertices().len();
    let has_arc = outline.segments().any(|segment| matches!(segment, Segment::Arc { .. }));
    if count < if has_arc { 2 } else { 3 } {
        faults.push(Fault::TooFewVertices { ring, count });
        return;
    }
    for (vertex, segment) in outline.segments().enumerate() {
        if segment.start().distance(segment.end()) <= tolerance {
            faults.push(Fault::ZeroLengthSide { ring, vertex, at: segment.start() });
        }
    }
    // A strip as thin as the tolerance has an area of half its perimeter times that.
    if outline.area() <= tolerance * outline.perimeter() / 2.0 {
        faults.push(Fault::ZeroArea { ring, at: outline.vertices()[0].point });
    }
}

/// Holes outside of the exterior and in each other. Pairs that cross are left out: they are reported already.
fn hole_faults(rings: &[&Outline], crossing: &[(usize, usize)], tolerance: f64, faults: &mut Vec<Fault>) {
    let regions: Vec<Region> = rings.iter().map(|ring| Region::inside(ring)).collect();
    let boxes: Vec<Bounds> = regions.iter().map(|region| region.boundary().bounds()).collect();
    let is_crossing = |a: usize, b: usize| crossing.contains(&(a, b));
    // A point of one ring well off the other tells on which side of it the whole ring lies.
    let point_off = |of: usize, other: usize| {
        let sides = regions[of].boundary().segments().iter();
        let points = sides.flat_map(|side| [side.start(), side.at(0.5)]);
        let mut points = points.filter(|&point| regions[other].boundary().distance_to_point(point) > tolerance);
        points.next()
    };
    for hole in 1..rings.len() {
        if !is_crossing(0, hole)
            && let Some(at) = point_off(hole, 0)
            && !regions[0].contains(at)
        {
            faults.push(Fault::HoleOutside { ring: hole, at });
        }
    }
    for b in 2..rings.len() {
        for a in 1..b {
            if !boxes[a].intersects(boxes[b]) || is_crossing(a, b) {
                continue;
            }
            let (inner, outer) = if rings[a].area() < rings[b].area() { (a, b) } else { (b, a) };
            if let Some(at) = point_off(inner, outer)
                && regions[outer].contains(at)
            {
                faults.push(Fault::NestedHoles { inner, outer, at });
            }
        }
    }
}
