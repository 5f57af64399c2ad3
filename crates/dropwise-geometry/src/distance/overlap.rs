//! Whether regions overlap, told apart from mere touching.
//!
//! Parts of a tight nest share whole edges, corners stand on edges, arcs lie in arcs; there a distance of zero says
//! nothing, and a sign taken at one point is a rounding error. So the question is asked with a tolerance p: does
//! either region's boundary hold a point *deeper than p* in the other? For each side, the stretches that lie within p
//! of the other boundary are worked out exactly (a line or circle cut by the parallel curves at distance p and by circles
//! of radius p about the ends); what is left over, the gaps, is farther than p from that boundary, hence wholly inside or
//! wholly outside, and any point of a gap tells which, far from any doubt.
//!
//! One case has no gaps inside: boundaries that run together, as for two shapes exactly on top of each other. Along
//! every stretch shared for longer than a few p, a point 2p inside one region is tried in the other.

use std::f64::consts::{PI, TAU};
use std::ops::Range;

use super::Boundary;
use super::pairs::{Circle, circle_circle, params_line_circle};
use crate::{Arc, Outline, Point, Segment, Shape, Vector};

/// A region prepared for overlap tests: the metal of a shape, all that a ring encloses, or all that lies outside it.
#[derive(Clone, Debug)]
pub struct Region {
    /// Which sides of the boundary belong to which ring. The region lies to the left of every side.
    sides: Vec<Range<usize>>,
    boundary: Boundary,
    is_complement: bool,
}

/// Where two regions overlap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overlap {
    /// A point of both.
    pub at: Point,
    /// How far that point lies from the boundary of one of them, mm: the overlap is at least so deep.
    pub depth: f64,
}

impl Region {
    /// The metal of a shape: its exterior less its holes.
    #[must_use]
    pub fn of_shape(shape: &Shape) -> Self {
        Self::new(&shape.rings().collect::<Vec<_>>(), false)
    }

    /// All that a ring encloses, whichever way it runs.
    #[must_use]
    pub fn inside(ring: &Outline) -> Self {
        Self::new(&[&ring.clone().into_ccw()], false)
    }

    /// All that lies outside a ring, whichever way it runs.
    #[must_use]
    pub fn outside(ring: &Outline) -> Self {
        Self::new(&[&ring.clone().into_ccw().reversed()], true)
    }

    fn new(rings: &[&Outline], is_complement: bool) -> Self {
        let mut start = 0;
        let sides = rings
            .iter()
            .map(|ring| {
                let range = start..start + ring.vertices().len();
                start = range.end;
                range
            })
            .collect();
        let boundary = Boundary::new(rings.iter().copied());
        Self { sides, boundary, is_complement }
    }

    /// Its rings' sides.
    #[must_use]
    pub fn boundary(&self) -> &Boundary {
        &self.boundary
    }

    /// Whether a point lies in the region. Points on the boundary may fall either way.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        (self.boundary.turn_around(point).abs() > PI) != self.is_complement
    }

    /// Whether the regions overlap deeper than `tolerance`, and where: some point of one lies in the other, farther
    /// than `tolerance` from its boundary. Regions that touch, or overlap less deeply than that, give `None`.
    ///
    /// Rings must be free of faults (see [`Shape::faults`]). Not found are overlaps that reach only through necks
    /// narrower than twice the tolerance into a lobe whose boundary both share. `tolerance` must be positive and well
    /// above the rounding error of the coordinates (some 1e-13 of their size). The depth reported is the greatest of a
    /// few points tried; the true one may be greater.
    #[must_use]
    pub fn overlap(&self, other: &Self, tolerance: f64) -> Option<Overlap> {
        let may_overlap =
            self.is_complement || other.is_complement || self.boundary.bounds().intersects(other.boundary.bounds());
        if !may_overlap {
            return None;
        }
        let mut deepest: Option<Overlap> = None;
        let mut keep = |found: Overlap| {
            if deepest.is_none_or(|d| d.depth < found.depth) {
                deepest = Some(found);
            }
        };
        for (one, two) in [(self, other), (other, self)] {
            for sides in &one.sides {
                let (gaps, shared) = split_ring(&one.boundary.segments()[sides.clone()], two.boundary(), tolerance);
                let mut previous: Option<bool> = None;
                for gap in gaps {
                    // Gaps that follow each other without a stretch near the boundary between them lie on one side.
                    let is_inside =
                        previous.filter(|_| gap.is_joined_to_previous).unwrap_or_else(|| two.contains(gap.middle));
                    previous = Some(is_inside);
                    if is_inside {
                        // The ends matter for the depth reported: a corner poked in is often the deepest point.
                        for at in [gap.middle, gap.start, gap.end] {
                            let depth = two.boundary.distance_to_point(at);
                            // A gap as short as a rounding error may lie within the tolerance after all.
                            if depth > tolerance {
                                keep(Overlap { at, depth });
                            }
                        }
                    }
                }
                for (on_ring, inwards) in shared {
                    if let Some(found) = overlap_beside(one, two, on_ring, inwards, tolerance) {
                        keep(found);
                    }
                }
            }
        }
        deepest
    }
}

/// Looks for overlap just inside `one`, beside a stretch where its boundary and that of `two` run together.
fn overlap_beside(one: &Region, two: &Region, on_ring: Point, inwards: Vector, tolerance: f64) -> Option<Overlap> {
    let mut found: Option<Overlap> = None;
    let mut step = 2.0 * tolerance;
    // The first step decides; longer ones only tell how deep the overlap is. Thirty doublings are 1e9 tolerances.
    for _ in 0..30 {
        let at = on_ring + inwards * step;
        let depth = one.boundary.distance_to_point(at);
        let is_deep = depth > tolerance && one.contains(at) && two.contains(at);
        if !is_deep || found.is_some_and(|f| f.depth >= depth) {
            break;
        }
        found = Some(Overlap { at, depth });
        step *= 2.0;
    }
    found
}

/// A stretch of a ring farther than the tolerance from another boundary.
struct Gap {
    start: Point,
    middle: Point,
    end: Point,
    /// Whether it begins where the one before it in the list ended.
    is_joined_to_previous: bool,
}

impl Gap {
    fn new(segment: &Segment, from: f64, to: f64, is_joined_to_previous: bool) -> Self {
        let (start, middle, end) = (segment.at(from), segment.at((from + to) / 2.0), segment.at(to));
        Self { start, middle, end, is_joined_to_previous }
    }
}

/// Cuts a ring into the gaps, farther than `tolerance` from `boundary`, and the stretches nearer than that; of the
/// latter only those longer than a few tolerances are returned, by their middle and the direction to their left.
fn split_ring(ring: &[Segment], boundary: &Boundary, tolerance: f64) -> (Vec<Gap>, Vec<(Point, Vector)>) {
    let (mut gaps, mut shared) = (Vec::new(), Vec::new());
    let mut is_joined = false;
    // Length of a shared stretch that goes on from the sides before, when they were too short to be tried.
    let mut carried = 0.0;
    let mut near: Vec<(f64, f64)> = Vec::new();
    let mut breaks: Vec<f64> = Vec::new();
    for segment in ring {
        near.clear();
        boundary.for_each_near(segment.bounds().expanded(2.0 * tolerance), &mut |side| {
            stretches_near(segment, &boundary.segments()[side], tolerance, &mut breaks, &mut near);
        });
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let length = segment.length();
        let mut reached = 0.0;
        let mut from = f64::NAN;
        let mut close = |from: f64, to: f64| {
            let run = (to - from) * length + if from == 0.0 { carried } else { 0.0 };
            let is_long = run > 16.0 * tolerance;
            if is_long && let Some(along) = direction_at(segment, (from + to) / 2.0).unit() {
                shared.push((segment.at((from + to) / 2.0), along.left()));
            }
            carried = if to == 1.0 && !is_long { run } else { 0.0 };
        };
        for &(start, end) in &near {
            if start > reached {
                gaps.push(Gap::new(segment, reached, start, is_joined));
                is_joined = false;
                close(from, reached);
                from = start;
            } else if from.is_nan() {
                from = start;
                is_joined = false;
            }
            reached = end.max(reached);
        }
        close(from, reached);
        if reached < 1.0 {
            gaps.push(Gap::new(segment, reached, 1.0, is_joined));
            is_joined = true;
        }
    }
    (gaps, shared)
}

/// Direction of travel a fraction `t` along; the zero vector for a segment without length.
fn direction_at(segment: &Segment, t: f64) -> Vector {
    match segment {
        Segment::Line { start, end } => *end - *start,
        Segment::Arc { arc, .. } => Vector::from_angle(arc.start_angle + arc.sweep * t).left() * arc.sweep.signum(),
    }
}

/// Adds to `near` the stretches of `segment`, as fractions of it, that lie within `tolerance` of `other`.
fn stretches_near(
    segment: &Segment,
    other: &Segment,
    tolerance: f64,
    breaks: &mut Vec<f64>,
    near: &mut Vec<(f64, f64)>,
) {
    breaks.clear();
    breaks.push(0.0);
    // The points at the tolerance from a side lie on parallel curves of it and on circles about its ends.
    cut_by_circle(segment, Circle::new(other.start(), tolerance), breaks);
    cut_by_circle(segment, Circle::new(other.end(), tolerance), breaks);
    match other {
        Segment::Line { start, end } => {
            if let Some(unit) = (*end - *start).unit() {
                cut_by_line(segment, *start + unit.left() * tolerance, unit, breaks);
                cut_by_line(segment, *start - unit.left() * tolerance, unit, breaks);
            }
        }
        Segment::Arc { start, arc, .. } => {
            if let Some(outwards) = (*start - arc.center).unit() {
                cut_by_circle(segment, Circle { center: arc.center, on: *start + outwards * tolerance }, breaks);
                if arc.radius > tolerance {
                    cut_by_circle(segment, Circle { center: arc.center, on: *start - outwards * tolerance }, breaks);
                }
            }
        }
    }
    breaks.push(1.0);
    breaks.sort_by(f64::total_cmp);
    for pair in breaks.windows(2) {
        if pair[1] > pair[0] && other.distance_to_point(segment.at((pair[0] + pair[1]) / 2.0)) <= tolerance {
            near.push((pair[0], pair[1]));
        }
    }
}

fn cut_by_circle(segment: &Segment, circle: Circle, breaks: &mut Vec<f64>) {
    match segment {
        Segment::Line { start, end } => {
            let params = params_line_circle(*start, *end, circle);
            breaks.extend(params.into_iter().flatten().filter(|t| (0.0..=1.0).contains(t)));
        }
        Segment::Arc { start, arc, .. } => {
            let points = circle_circle(Circle { center: arc.center, on: *start }, circle);
            breaks.extend(points.into_iter().flatten().filter_map(|point| param_on_arc(*start, arc, point)));
        }
    }
}

fn cut_by_line(segment: &Segment, through: Point, unit: Vector, breaks: &mut Vec<f64>) {
    match segment {
        Segment::Line { start, end } => {
            let (from, to) = (unit.cross(*start - through), unit.cross(*end - through));
            // Parallel lines give 0 / 0 or an infinite fraction; the range test drops both.
            let t = from / (from - to);
            if (0.0..=1.0).contains(&t) {
                breaks.push(t);
            }
        }
        Segment::Arc { start, arc, .. } => {
            let params = params_line_circle(through, through + unit, Circle { center: arc.center, on: *start });
            breaks.extend(params.into_iter().flatten().filter_map(|t| param_on_arc(*start, arc, through + unit * t)));
        }
    }
}

/// The fraction of an arc at which a point of its circle lies, if it lies on the arc.
fn param_on_arc(start: Point, arc: &Arc, point: Point) -> Option<f64> {
    let t = turn_to(start, arc, point) / arc.sweep.abs();
    (t <= 1.0).then_some(t)
}

/// How far round, in the direction of an arc from its start, a point lies; from 0 to a full turn. Counted from the start
/// itself, because angles at the far centre of an arc that is all but straight have too few digits.
pub(crate) fn turn_to(start: Point, arc: &Arc, point: Point) -> f64 {
    let spoke = start - arc.center;
    let turn = spoke.cross(point - start).atan2(spoke.dot(point - arc.center)) * arc.sweep.signum();
    if turn < 0.0 { turn + TAU } else { turn }
}

impl Outline {
    /// Whether two rings properly cross: one of them runs both inside and outside of the other, by more than
    /// `tolerance` each. Rings that only touch, share edges, or lie one in the other do not cross.
    ///
    /// The rings must be free of faults, and `tolerance` positive and well above the rounding error of the coordinates.
    #[must_use]
    pub fn crosses(&self, other: &Self, tolerance: f64) -> bool {
        let (a, b) = (Region::inside(self), Region::inside(other));
        if !a.boundary.bounds().intersects(b.boundary.bounds()) {
            return false;
        }
        [(&a, &b), (&b, &a)].into_iter().any(|(one, two)| {
            let (gaps, _) = split_ring(one.boundary.segments(), two.boundary(), tolerance);
            let (mut is_inside, mut is_outside) = (false, false);
            for gap in gaps.iter().filter(|gap| !gap.is_joined_to_previous) {
                if two.boundary.distance_to_point(gap.middle) > tolerance {
                    if two.contains(gap.middle) {
                        is_inside = true;
                    } else {
                        is_outside = true;
                    }
                }
            }
            is_inside && is_outside
        })
    }
}
