//! Distances and meeting points of single points, lines and arcs.
//!
//! Names form a grid, `distance_<one>_<other>`. All are exact up to rounding: arcs are never flattened. Where two
//! segments meet, the distance is zero or a rounding error above it.
//!
//! # Source
//! Elementary geometry: the shortest join of two smooth curves that do not meet ends at an end of one of them or stands
//! at right angles to both; between two circles the latter lie on the line of centres.

use crate::{Arc, Point, Segment};

impl Segment {
    /// Least distance to another segment; zero when they meet.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        match (self, other) {
            (Self::Line { start: a, end: b }, Self::Line { start: c, end: d }) => distance_line_line(*a, *b, *c, *d),
            (Self::Line { start, end }, Self::Arc { .. }) => distance_line_arc(*start, *end, other),
            (Self::Arc { .. }, Self::Line { start, end }) => distance_line_arc(*start, *end, self),
            (Self::Arc { arc: a, .. }, Self::Arc { arc: b, .. }) => distance_arc_arc(self, a, other, b),
        }
    }

    /// Least distance to a point.
    #[must_use]
    pub fn distance_to_point(&self, point: Point) -> f64 {
        match self {
            Self::Line { start, end } => distance_point_line(point, *start, *end),
            Self::Arc { start, end, arc } => distance_point_arc(point, *start, *end, arc),
        }
    }

    /// Where two segments meet: at most two points. Lines and arcs that share a stretch yield no point of it for
    /// certain; a caller that cares about ends must ask for their distances.
    pub(crate) fn meetings(&self, other: &Self) -> [Option<Point>; 2] {
        match (self, other) {
            (Self::Line { start: a, end: b }, Self::Line { start: c, end: d }) => {
                [meeting_line_line(*a, *b, *c, *d), None]
            }
            (Self::Line { start, end }, Self::Arc { arc, .. }) | (Self::Arc { arc, .. }, Self::Line { start, end }) => {
                meetings_line_arc(*start, *end, arc)
            }
            (Self::Arc { arc: a, .. }, Self::Arc { arc: b, .. }) => meetings_arc_arc(a, b),
        }
    }
}

fn distance_point_line(point: Point, start: Point, end: Point) -> f64 {
    let along = end - start;
    let squared = along.length_squared();
    if squared == 0.0 {
        return point.distance(start);
    }
    let t = ((point - start).dot(along) / squared).clamp(0.0, 1.0);
    point.distance(start.lerp(end, t))
}

fn distance_point_arc(point: Point, start: Point, end: Point, arc: &Arc) -> f64 {
    let from_center = point - arc.center;
    let ends = point.distance(start).min(point.distance(end));
    // From the centre itself every direction is as good as the arc's own.
    if from_center.length_squared() == 0.0 {
        return ends;
    }
    if arc.covers_angle(from_center.angle()) { ends.min((from_center.length() - arc.radius).abs()) } else { ends }
}

fn distance_line_line(a: Point, b: Point, c: Point, d: Point) -> f64 {
    if meeting_line_line(a, b, c, d).is_some() {
        return 0.0;
    }
    distance_point_line(a, c, d)
        .min(distance_point_line(b, c, d))
        .min(distance_point_line(c, a, b))
        .min(distance_point_line(d, a, b))
}

fn distance_line_arc(a: Point, b: Point, curve: &Segment) -> f64 {
    let Segment::Arc { start, end, arc } = curve else { return f64::INFINITY };
    if meetings_line_arc(a, b, arc)[0].is_some() {
        return 0.0;
    }
    let mut least = distance_point_arc(a, *start, *end, arc)
        .min(distance_point_arc(b, *start, *end, arc))
        .min(distance_point_line(*start, a, b))
        .min(distance_point_line(*end, a, b));
    // The join at right angles to both goes through the foot of the centre on the line.
    let along = b - a;
    let squared = along.length_squared();
    if squared > 0.0 {
        let t = (arc.center - a).dot(along) / squared;
        if (0.0..=1.0).contains(&t) {
            least = least.min(distance_point_arc(a.lerp(b, t), *start, *end, arc));
        }
    }
    least
}

fn distance_arc_arc(one: &Segment, a: &Arc, other: &Segment, b: &Arc) -> f64 {
    if meetings_arc_arc(a, b)[0].is_some() {
        return 0.0;
    }
    let mut least = f64::INFINITY;
    for point in [other.start(), other.end()] {
        least = least.min(one.distance_to_point(point));
    }
    for point in [one.start(), one.end()] {
        least = least.min(other.distance_to_point(point));
    }
    // Joins at right angles to both lie on the line of centres. Concentric arcs have none beyond those of their ends:
    // where their sweeps overlap, an end of one faces the other.
    if let Some(axis) = (b.center - a.center).unit() {
        for direction in [axis, -axis] {
            if a.covers_angle(direction.angle()) {
                least = least.min(other.distance_to_point(a.center + direction * a.radius));
            }
        }
    }
    least
}

/// Where two lines cross, ends included; `None` when they are parallel.
fn meeting_line_line(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    let (along, other) = (b - a, d - c);
    let turn = along.cross(other);
    if turn == 0.0 {
        return None;
    }
    let t = (c - a).cross(other) / turn;
    let u = (c - a).cross(along) / turn;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a.lerp(b, t))
}

fn meetings_line_arc(a: Point, b: Point, arc: &Arc) -> [Option<Point>; 2] {
    keep(params_line_circle(a, b, arc.center, arc.radius).map(|t| {
        let point = a.lerp(b, t?);
        ((0.0..=1.0).contains(&t?) && arc.covers_angle((point - arc.center).angle())).then_some(point)
    }))
}

fn meetings_arc_arc(a: &Arc, b: &Arc) -> [Option<Point>; 2] {
    keep(circle_circle(a.center, a.radius, b.center, b.radius).map(|point| {
        let point = point?;
        (a.covers_angle((point - a.center).angle()) && b.covers_angle((point - b.center).angle())).then_some(point)
    }))
}

/// Moves what there is to the front.
fn keep(found: [Option<Point>; 2]) -> [Option<Point>; 2] {
    if found[0].is_none() { [found[1], None] } else { found }
}

/// Fractions of the way from `a` to `b`, not limited to the segment, at which the line meets a circle.
pub(super) fn params_line_circle(a: Point, b: Point, center: Point, radius: f64) -> [Option<f64>; 2] {
    let along = b - a;
    let length = along.length();
    if length == 0.0 {
        return [None, None];
    }
    let foot = (center - a).dot(along) / length;
    let height = (center - a).cross(along) / length;
    // (r - h)(r + h), not r² - h²: near a tangent the squares would cancel.
    let half_chord_squared = (radius - height.abs()) * (radius + height.abs());
    if half_chord_squared < 0.0 {
        return [None, None];
    }
    let half_chord = half_chord_squared.sqrt();
    [Some((foot - half_chord) / length), Some((foot + half_chord) / length)]
}

/// Where two circles meet; nothing when they are concentric.
pub(super) fn circle_circle(center_a: Point, a: f64, center_b: Point, b: f64) -> [Option<Point>; 2] {
    let axis = center_b - center_a;
    let distance = axis.length();
    if distance == 0.0 {
        return [None, None];
    }
    let along = (distance + (a - b) * (a + b) / distance) / 2.0;
    let height_squared = (a - along) * (a + along);
    if height_squared < 0.0 {
        return [None, None];
    }
    let unit = axis / distance;
    let (foot, up) = (center_a + unit * along, unit.left() * height_squared.sqrt());
    [Some(foot + up), Some(foot - up)]
}
