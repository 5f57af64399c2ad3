//! Checks of a pattern's geometry: holes inside their part and clear of each other, outlines that do not meet
//! themselves. Arcs are treated as arcs throughout.

use std::collections::BTreeMap;

use dropwise_geometry::{Bounds, Outline, Point, Segment, Shape, Vector};

use super::corner::{PolygonCorner, SAME_POINT};
use super::error::{HoleNumber, PatternError, Subject};
use super::feature::{Feature, Opening};

/// Overlaps reported against one feature; a feature that overlaps more than that is wrong as a whole.
const MOST_OVERLAPS: usize = 8;

/// The first place where sides of a ring meet that should not: sides that are not neighbours, or neighbours that run
/// back over each other. Gives the indices of the sides and the place.
pub(super) fn self_crossing(outline: &Outline) -> Option<(usize, usize, Point)> {
    let sides: Vec<(Segment, Bounds)> =
        outline.segments().map(|side| (side, side.bounds().expanded(SAME_POINT))).collect();
    let n = sides.len();
    for i in 0..n {
        let (side, next) = (sides[i].0, sides[(i + 1) % n].0);
        if runs_back(&side, &next) {
            return Some((i, (i + 1) % n, side.end()));
        }
    }
    let boxes: Vec<Bounds> = sides.iter().map(|(_, bounds)| *bounds).collect();
    let mut first: Option<(usize, usize, Point)> = None;
    for_each_meeting(&boxes, |a, b| {
        let (i, j) = (a.min(b), a.max(b));
        let are_neighbours = j == i + 1 || (i == 0 && j == n - 1);
        // The lowest pair is reported, whatever order the boxes come in.
        if are_neighbours || first.is_some_and(|(p, q, _)| (p, q) <= (i, j)) {
            return;
        }
        if sides[i].0.distance(&sides[j].0) <= SAME_POINT {
            first = Some((i, j, meeting_place(&sides[i].0, &sides[j].0)));
        }
    });
    first
}

/// Where two sides that meet do so: for messages, so a micrometre is near enough.
fn meeting_place(a: &Segment, b: &Segment) -> Point {
    // The distance from b falls towards a meeting from both sides: look along a ever more closely about the best place.
    let (mut best, mut window) = (0.5, 0.5);
    while window > 1e-9 {
        let steps = (-16..=16).map(|i| (best + window * f64::from(i) / 16.0).clamp(0.0, 1.0));
        let gap = |&t: &f64| b.distance_to_point(a.at(t));
        best = steps.min_by(|s, t| gap(s).total_cmp(&gap(t))).unwrap_or(best);
        window /= 8.0;
    }
    a.at(best)
}

/// Whether a line runs back over the line before it.
fn runs_back(side: &Segment, next: &Segment) -> bool {
    let (Segment::Line { .. }, Segment::Line { .. }) = (side, next) else { return false };
    let (Some(one), Some(other)) = ((side.end() - side.start()).unit(), (next.end() - next.start()).unit()) else {
        return false;
    };
    one.dot(other) < 0.0 && one.cross(other).abs() < 1e-12
}

/// Calls `meet` once for every pair of boxes that share a point.
fn for_each_meeting(boxes: &[Bounds], mut meet: impl FnMut(usize, usize)) {
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&a, &b| boxes[a].min.x.total_cmp(&boxes[b].min.x));
    for (place, &a) in order.iter().enumerate() {
        for &b in order[place + 1..].iter().take_while(|&&b| boxes[b].min.x <= boxes[a].max.x) {
            if boxes[a].intersects(boxes[b]) {
                meet(a, b);
            }
        }
    }
}

/// A polygon whose sides cross before any corner is made.
pub(super) fn check_straight_sides(corners: &[PolygonCorner], errors: &mut Vec<PatternError>) {
    let outline = Outline::polygon(corners.iter().map(|corner| corner.point));
    if let Some((first, second, at)) = self_crossing(&outline) {
        errors.push(PatternError::SelfCrossing { first, second, at });
    }
}

/// Holes that are larger than the part, lie outside it or break through its edge: one report a feature.
pub(super) fn check_inside(base: &Shape, openings: &[Opening], features: &[Feature], errors: &mut Vec<PatternError>) {
    let edge: Vec<(Segment, Bounds)> =
        base.rings().flat_map(Outline::segments).map(|side| (side, side.bounds().expanded(SAME_POINT))).collect();
    let mut reported = None;
    for opening in openings {
        if reported == Some(opening.feature) {
            continue;
        }
        if let Some(error) = fault_of_opening(base, &edge, opening, features) {
            errors.push(error);
            reported = Some(opening.feature);
        }
    }
}

fn fault_of_opening(
    base: &Shape,
    edge: &[(Segment, Bounds)],
    opening: &Opening,
    features: &[Feature],
) -> Option<PatternError> {
    let (subject, hole) = name(opening, features);
    let (part, own) = (base.bounds(), opening.outline.bounds());
    for (direction, found, available) in [("wide", own.width(), part.width()), ("high", own.height(), part.height())] {
        if found > available + SAME_POINT {
            return Some(PatternError::LargerThanPart { subject, direction, found, available });
        }
    }
    let center = opening.center;
    let crosses_edge = edge.iter().any(|(side, bounds)| {
        bounds.intersects(own) && opening.outline.segments().any(|segment| segment.distance(side) <= SAME_POINT)
    });
    // Clear of every edge, yet around a bore: the bore's own metal is gone on all sides.
    let swallows_bore = base
        .holes()
        .iter()
        .any(|bore| bore.vertices().first().is_some_and(|vertex| opening.outline.contains(vertex.point)));
    if crosses_edge || swallows_bore {
        let (found, wanted) = shortfall(edge, opening);
        return Some(PatternError::BreaksThrough { subject, hole, found, wanted });
    }
    (!base.contains(center)).then_some(PatternError::Outside { subject, hole, center })
}

/// Distance of an opening's middle from the edge and how far it reaches that way, where it lacks most.
fn shortfall(edge: &[(Segment, Bounds)], opening: &Opening) -> (f64, f64) {
    let mut worst = (f64::INFINITY, 0.0);
    for (side, _) in edge {
        let nearest = closest_point(side, opening.center);
        let towards = nearest - opening.center;
        let found = towards.length();
        // A middle right on the edge lacks the same in every direction that matters; across will do.
        let wanted = opening.reach(towards.unit().unwrap_or(Vector::new(1.0, 0.0)));
        if found - wanted < worst.0 - worst.1 {
            worst = (found, wanted);
        }
    }
    worst
}

/// The point of a side that is nearest to another point.
fn closest_point(side: &Segment, to: Point) -> Point {
    let (start, end) = (side.start(), side.end());
    match side {
        Segment::Line { .. } => {
            let along = end - start;
            let length_squared = along.length_squared();
            let t = if length_squared > 0.0 { ((to - start).dot(along) / length_squared).clamp(0.0, 1.0) } else { 0.0 };
            start.lerp(end, t)
        }
        Segment::Arc { arc, .. } => match (to - arc.center).unit() {
            Some(direction) if arc.covers_angle(direction.angle()) => arc.center + direction * arc.radius,
            // From the centre itself every point of the arc is as near; the start will do.
            _ if to.distance(start) <= to.distance(end) => start,
            _ => end,
        },
    }
}

/// Holes that touch or overlap each other, in order of the features concerned: one report a pair of features.
pub(super) fn check_apart(openings: &[Opening], features: &[Feature], errors: &mut Vec<PatternError>) {
    let boxes: Vec<Bounds> =
        openings.iter().map(|opening| opening.outline.bounds().expanded(SAME_POINT / 2.0)).collect();
    // For each pair of features the lowest pair of holes, whatever order the boxes come in.
    let mut found: BTreeMap<(usize, usize), (usize, usize)> = BTreeMap::new();
    let mut overlaps_of = vec![0; features.len()];
    for_each_meeting(&boxes, |a, b| {
        let holes = (a.min(b), a.max(b));
        let pair = (openings[holes.0].feature, openings[holes.1].feature);
        match found.get(&pair) {
            Some(&known) if known <= holes => return,
            None if overlaps_of[pair.1] >= MOST_OVERLAPS => return,
            _ => {}
        }
        if overlap(&openings[a], &openings[b]) && found.insert(pair, holes).is_none() {
            overlaps_of[pair.1] += 1;
        }
    });
    for (a, b) in found.into_values() {
        let (first, second) = (&openings[a], &openings[b]);
        let between = second.center - first.center;
        let direction = between.unit().unwrap_or(Vector::new(1.0, 0.0));
        let (subject, hole) = name(first, features);
        let (other, other_hole) = name(second, features);
        errors.push(PatternError::Overlap {
            subject,
            hole,
            other,
            other_hole,
            found: between.length(),
            wanted: first.reach(direction) + second.reach(-direction),
        });
    }
}

fn overlap(a: &Opening, b: &Opening) -> bool {
    if let (Some(first), Some(second)) = (a.diameter, b.diameter) {
        return a.center.distance(b.center) <= (first + second) / 2.0 + SAME_POINT;
    }
    a.outline.distance(&b.outline) <= SAME_POINT || a.outline.contains(b.center) || b.outline.contains(a.center)
}

fn name(opening: &Opening, features: &[Feature]) -> (Subject, HoleNumber) {
    let cut = &features[opening.feature].cut;
    let of = match *cut {
        super::Cut::HoleRow { count, .. } | super::Cut::BoltCircle { count, .. } => count,
        _ => 1,
    };
    (Subject::Feature { index: opening.feature, kind: cut.kind() }, HoleNumber { number: opening.number, of })
}
