//! Where sides cross or run along each other.
//!
//! Two sides may meet in a corner of both, in a corner of one, or between corners; whether the rings cross there is not
//! seen from the two sides alone. So each meeting is judged by where the rings come from and go to, a short way before
//! and after it: they cross when one ring's two directions separate the other's.

use std::f64::consts::TAU;

use crate::distance::turn_to;
use crate::{Boundary, Outline, Point, Segment};

/// Two sides that cross, or run along each other.
pub(super) struct Contact {
    pub(super) rings: (usize, usize),
    pub(super) sides: (usize, usize),
    pub(super) at: Point,
    /// Whether they cross; otherwise they share a stretch, of which `at` is the middle.
    pub(super) is_crossing: bool,
}

/// All crossings and shared stretches between sides of the rings, by side; no more than `limit`.
pub(super) fn contacts(rings: &[&Outline], tolerance: f64, limit: usize) -> Vec<Contact> {
    let boundary = Boundary::new(rings.iter().copied());
    let segments = boundary.segments();
    let mut owner = Vec::with_capacity(segments.len());
    let mut chains = Vec::with_capacity(rings.len());
    for (ring, outline) in rings.iter().enumerate() {
        let first = owner.len();
        let count = outline.vertices().len();
        owner.extend((0..count).map(|side| (ring, side)));
        chains.push(Chain { sides: &segments[first..first + count] });
    }
    let mut found: Vec<Contact> = Vec::new();
    for (i, segment) in segments.iter().enumerate() {
        boundary.for_each_near(segment.bounds().expanded(tolerance), &mut |j| {
            if j > i && found.len() < limit {
                let (a, b) = (owner[i], owner[j]);
                judge_pair((&chains[a.0], a), (&chains[b.0], b), tolerance, &mut found);
            }
        });
        if found.len() >= limit {
            break;
        }
    }
    found
}

/// The sides of one ring.
struct Chain<'a> {
    sides: &'a [Segment],
}

impl Chain<'_> {
    /// The point that lies `by` along the ring from a point a fraction `t` along a side.
    fn walk(&self, side: usize, t: f64, by: f64) -> Point {
        let n = self.sides.len();
        let (mut side, mut position, mut left) = (side, t, by.abs());
        // Once around at most, in case all sides are tiny.
        for _ in 0..n {
            let length = self.sides[side].length();
            let room = if by >= 0.0 { (1.0 - position) * length } else { position * length };
            if left <= room && length > 0.0 {
                let moved = left / length;
                return self.sides[side].at(if by >= 0.0 { position + moved } else { position - moved });
            }
            left -= room;
            (side, position) = if by >= 0.0 { ((side + 1) % n, 0.0) } else { ((side + n - 1) % n, 1.0) };
        }
        self.sides[side].at(position)
    }

    /// The shortest side among this one and its neighbours that has a length.
    fn shortest_near(&self, side: usize, tolerance: f64) -> f64 {
        let n = self.sides.len();
        let lengths = [side, (side + 1) % n, (side + n - 1) % n].map(|s| self.sides[s].length());
        lengths.into_iter().filter(|&length| length > tolerance).fold(f64::INFINITY, f64::min)
    }
}

fn judge_pair(
    (chain, (ring, side)): (&Chain<'_>, (usize, usize)),
    (other_chain, (other_ring, other_side)): (&Chain<'_>, (usize, usize)),
    tolerance: f64,
    found: &mut Vec<Contact>,
) {
    let (a, b) = (&chain.sides[side], &other_chain.sides[other_side]);
    // A side without length is a fault of its own and meets its neighbours everywhere.
    if a.length() <= tolerance || b.length() <= tolerance {
        return;
    }
    let n = chain.sides.len();
    let is_neighbour = |point: Point| {
        ring == other_ring
            && ((other_side == (side + 1) % n && point.distance(a.end()) <= tolerance)
                || (side == (other_side + 1) % n && point.distance(a.start()) <= tolerance))
    };
    let mut points: Vec<Point> = Vec::new();
    let meetings = a.meetings(b).into_iter().flatten();
    let ends = [a.start(), a.end()].into_iter().filter(|&p| b.distance_to_point(p) <= tolerance);
    let other_ends = [b.start(), b.end()].into_iter().filter(|&p| a.distance_to_point(p) <= tolerance);
    // Ends first: of points that are the same, the one that is a corner stays.
    for point in ends.chain(other_ends).chain(meetings) {
        if points.iter().all(|p| p.distance(point) > 4.0 * tolerance) {
            points.push(point);
        }
    }
    let rings = (ring, other_ring);
    let sides = (side, other_side);
    points.sort_by(|p, q| param(a, *p).total_cmp(&param(a, *q)));
    let mut shared = points.windows(2).filter_map(|pair| {
        let (from, to) = (param(a, pair[0]), param(a, pair[1]));
        let middle = a.at((from + to) / 2.0);
        let is_shared =
            b.distance_to_point(middle) <= tolerance && (to - from) * a.length() > least_shared(a, b, tolerance);
        is_shared.then_some(middle)
    });
    if let Some(at) = shared.next() {
        found.push(Contact { rings, sides, at, is_crossing: false });
        return;
    }
    for at in points.into_iter().filter(|&point| !is_neighbour(point)) {
        // A crossing in a corner is met by up to four pairs of sides.
        let is_known = found
            .iter()
            .rev()
            .take(64)
            .any(|c| c.is_crossing && c.rings == rings && c.at.distance(at) <= 8.0 * tolerance);
        let reach = chain.shortest_near(side, tolerance).min(other_chain.shortest_near(other_side, tolerance));
        // Far enough for directions to be sure, near enough that nothing else happens on the way.
        let step = (reach * 1e-3).max(16.0 * tolerance);
        if !is_known && is_crossing_at(at, (chain, side, param(a, at)), (other_chain, other_side, param(b, at)), step) {
            found.push(Contact { rings, sides, at, is_crossing: true });
        }
    }
}

/// How long a stretch must be, along which two sides lie within the tolerance of each other, to be more than a place
/// where they touch: a circle of radius r stays within s of its tangent over 2 sqrt(2 r s).
fn least_shared(a: &Segment, b: &Segment, tolerance: f64) -> f64 {
    let radius = |segment: &Segment| match segment {
        Segment::Line { .. } => 0.0,
        Segment::Arc { arc, .. } => arc.radius,
    };
    let radius = radius(a).max(radius(b));
    (16.0 * tolerance).max(4.0 * (2.0 * radius * tolerance).sqrt())
}

/// The fraction of a segment nearest to a point on it.
fn param(segment: &Segment, point: Point) -> f64 {
    match segment {
        Segment::Line { start, end } => {
            let along = *end - *start;
            ((point - *start).dot(along) / along.length_squared()).clamp(0.0, 1.0)
        }
        Segment::Arc { start, end, arc } => {
            let t = turn_to(*start, arc, point) / arc.sweep.abs();
            if t <= 1.0 {
                t
            } else if point.distance(*start) <= point.distance(*end) {
                0.0
            } else {
                1.0
            }
        }
    }
}

type Place<'a, 'b> = (&'a Chain<'b>, usize, f64);

/// Whether two rings that meet at a point cross there.
fn is_crossing_at(at: Point, a: Place<'_, '_>, b: Place<'_, '_>, step: f64) -> bool {
    let direction = |(chain, side, t): Place<'_, '_>, by: f64| (chain.walk(side, t, by) - at).angle();
    let from = direction(a, -step);
    // All angles counted from where the first ring comes from.
    let turned = |angle: f64| (angle - from).rem_euclid(TAU);
    let through = turned(direction(a, step));
    let (one, two) = (turned(direction(b, -step)), turned(direction(b, step)));
    // Directions that coincide tell nothing: the rings run along each other, and part elsewhere.
    let is_clear = |angle: f64| angle > 1e-9 && angle < TAU - 1e-9 && (angle - through).abs() > 1e-9;
    is_clear(one) && is_clear(two) && ((one < through) != (two < through))
}
