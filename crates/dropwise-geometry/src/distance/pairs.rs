//! Distances and meeting points of single points, lines and arcs.
//!
//! Names form a grid, `distance_<one>_<other>`. All are exact up to rounding: arcs are never flattened. Where two
//! segments meet, the distance is zero or a rounding error above it.
//!
//! # Source
//! Elementary geometry: the shortest join of two smooth curves that do not meet ends at an end of one of them or stands
//! at right angles to both; between two circles the latter lie on the line of centres.

use std::f64::consts::PI;

use super::overlap::turn_to;
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
            (Self::Line { start, end }, curve @ Self::Arc { .. })
            | (curve @ Self::Arc { .. }, Self::Line { start, end }) => meetings_line_arc(*start, *end, curve),
            (Self::Arc { .. }, Self::Arc { .. }) => meetings_arc_arc(self, other),
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
    let ends = point.distance(start).min(point.distance(end));
    let circle = Circle { center: arc.center, on: start };
    if covers(start, end, arc, point) { ends.min(circle.height_of(point).abs()) } else { ends }
}

/// Whether a point, seen from an arc's centre, lies in the direction of the arc. From the centre itself every direction
/// is as good as the arc's own.
///
/// Told by which side of the spokes to its ends the point lies, counted from those ends: angles at the centre of an arc
/// that is all but straight would have lost the digits that matter.
fn covers(start: Point, end: Point, arc: &Arc, point: Point) -> bool {
    let after_start = (start - arc.center).cross(point - start) * arc.sweep.signum();
    let after_end = (end - arc.center).cross(point - end) * arc.sweep.signum();
    if arc.sweep.abs() <= PI { after_start >= 0.0 && after_end <= 0.0 } else { after_start >= 0.0 || after_end <= 0.0 }
}

/// A circle by its centre and a point on it.
///
/// The point is kept because circles of arcs that are all but straight are huge: distances near the arc, counted from
/// a point on it, keep the digits that a difference of two huge radii would lose.
#[derive(Clone, Copy)]
pub(super) struct Circle {
    pub(super) center: Point,
    pub(super) on: Point,
}

impl Circle {
    pub(super) fn new(center: Point, radius: f64) -> Self {
        Self { center, on: Point::new(center.x + radius, center.y) }
    }

    fn radius(&self) -> f64 {
        self.center.distance(self.on)
    }

    /// Square of the distance to the centre less that of the radius.
    fn power(&self, point: Point) -> f64 {
        (point - self.on).dot((point - self.center) + (self.on - self.center))
    }

    /// How far outside of the circle a point lies, negative inside.
    fn height_of(&self, point: Point) -> f64 {
        self.power(point) / (point.distance(self.center) + self.radius())
    }
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
    if meetings_line_arc(a, b, curve)[0].is_some() {
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
    if meetings_arc_arc(one, other)[0].is_some() {
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
    // The point on the smaller circle is enough: what lies nearest to it on the other is found from there.
    let (curve, small, facing) = if a.radius <= b.radius { (one, a, other) } else { (other, b, one) };
    if let Some(axis) = (b.center - a.center).unit() {
        for direction in [axis, -axis] {
            let point = small.center + direction * small.radius;
            if covers(curve.start(), curve.end(), small, point) {
                // Put on the arc once more, by its turn from the start: at a far centre the point lost digits.
                let t = (turn_to(curve.start(), small, point) / small.sweep.abs()).min(1.0);
                least = least.min(facing.distance_to_point(curve.at(t)));
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

fn meetings_line_arc(a: Point, b: Point, curve: &Segment) -> [Option<Point>; 2] {
    let Segment::Arc { start, end, arc } = curve else { return [None, None] };
    keep(params_line_circle(a, b, Circle { center: arc.center, on: *start }).map(|t| {
        let point = a.lerp(b, t?);
        ((0.0..=1.0).contains(&t?) && covers(*start, *end, arc, point)).then_some(point)
    }))
}

fn meetings_arc_arc(one: &Segment, other: &Segment) -> [Option<Point>; 2] {
    let (Segment::Arc { start: a, end: b, arc }, Segment::Arc { start: c, end: d, arc: other }) = (one, other) else {
        return [None, None];
    };
    let (circle, other_circle) = (Circle { center: arc.center, on: *a }, Circle { center: other.center, on: *c });
    keep(circle_circle(circle, other_circle).map(|point| {
        let point = point?;
        (covers(*a, *b, arc, point) && covers(*c, *d, other, point)).then_some(point)
    }))
}

/// Moves what there is to the front.
fn keep(found: [Option<Point>; 2]) -> [Option<Point>; 2] {
    if found[0].is_none() { [found[1], None] } else { found }
}

/// Fractions of the way from `a` to `b`, not limited to the segment, at which the line meets a circle.
pub(super) fn params_line_circle(a: Point, b: Point, circle: Circle) -> [Option<f64>; 2] {
    let along = b - a;
    let squared = along.length_squared();
    if squared == 0.0 {
        return [None, None];
    }
    // t² squared + 2 t slope + power = 0, by the formula that never takes a difference of near equals.
    let (slope, power) = (along.dot(a - circle.center), circle.power(a));
    // slope² - squared power, written as (r |along|)² - (height |along|)²: near a tangent the squares would cancel.
    let (radius, height) = (circle.radius() * squared.sqrt(), (a - circle.center).cross(along).abs());
    let discriminant = (radius - height) * (radius + height);
    if discriminant < 0.0 {
        return [None, None];
    }
    let sum = -(slope + discriminant.sqrt().copysign(slope));
    if sum == 0.0 {
        return [Some(0.0), None];
    }
    [Some(sum / squared), Some(power / sum)]
}

/// Where two circles meet; nothing when they are concentric.
///
/// # Source
/// The points of equal power to both circles form a line (the radical axis), which meets each circle where they meet
/// each other. Elementary geometry.
pub(super) fn circle_circle(one: Circle, other: Circle) -> [Option<Point>; 2] {
    let (small, large) = if one.radius() <= other.radius() { (one, other) } else { (other, one) };
    let axis = large.center - small.center;
    let squared = axis.length_squared();
    if squared == 0.0 {
        return [None, None];
    }
    // The foot of the small centre on the radical axis: seen from there both powers are equal.
    let radius = small.radius();
    let along = (large.power(small.center) + radius * radius) / (2.0 * squared.sqrt());
    let height_squared = (radius - along) * (radius + along);
    if height_squared < 0.0 {
        return [None, None];
    }
    let unit = axis / squared.sqrt();
    let (foot, up) = (small.center + unit * along, unit.left() * height_squared.sqrt());
    [Some(foot + up), Some(foot - up)]
}
