//! Closed chains of lines and circular arcs.

use std::f64::consts::{PI, TAU};

use crate::{Bounds, Isometry, Point, Vector};

/// A corner of an [`Outline`] and the bulge of the segment that leaves it.
///
/// The bulge is the tangent of a quarter of the arc's sweep: 0 is a straight line, 1 a half circle to the left of
/// which the centre lies (counter-clockwise), negative turns clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// The corner.
    pub point: Point,
    /// Bulge of the segment from this corner to the next.
    pub bulge: f64,
}

impl Vertex {
    /// A corner that a straight line leaves.
    #[must_use]
    pub const fn line(point: Point) -> Self {
        Self { point, bulge: 0.0 }
    }

    /// A corner that an arc leaves.
    #[must_use]
    pub const fn arc(point: Point, bulge: f64) -> Self {
        Self { point, bulge }
    }
}

/// A circular arc, from one point to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Centre of the circle.
    pub center: Point,
    /// Radius, positive.
    pub radius: f64,
    /// Direction from the centre to the start, radians.
    pub start_angle: f64,
    /// Signed sweep in radians, counter-clockwise positive, less than a full turn either way.
    pub sweep: f64,
}

impl Arc {
    /// The point a fraction `t` along the arc.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        self.center + Vector::from_angle(self.start_angle + self.sweep * t) * self.radius
    }

    /// Length along the arc.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.radius * self.sweep.abs()
    }

    /// Whether a direction from the centre, in radians, falls within the sweep (ends included).
    #[must_use]
    pub fn covers_angle(&self, angle: f64) -> bool {
        let turned = if self.sweep >= 0.0 { angle - self.start_angle } else { self.start_angle - angle };
        // A direction a rounding error before the start wraps to nearly a full turn; it counts as the start.
        let turned = turned.rem_euclid(TAU);
        turned <= self.sweep.abs() || turned >= TAU - 1e-12
    }
}

/// One side of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// A straight line.
    Line {
        /// Where it starts.
        start: Point,
        /// Where it ends.
        end: Point,
    },
    /// A circular arc; its ends are kept as given, so that chains stay closed to the bit.
    Arc {
        /// Where it starts.
        start: Point,
        /// Where it ends.
        end: Point,
        /// The circle between them.
        arc: Arc,
    },
}

/// Arcs belong to one circle where they differ by less than this share of the radius: a rounding error or a few.
const SAME_CIRCLE: f64 = 1e-9;
/// Bulges flatter than this are straight lines: over a metre the arc would rise by less than a micrometre.
const STRAIGHT_BULGE: f64 = 1e-9;

impl Segment {
    /// The segment from `start` to `end` with the given bulge.
    #[must_use]
    pub fn new(start: Point, end: Point, bulge: f64) -> Self {
        let chord = end - start;
        let length = chord.length();
        if bulge.abs() < STRAIGHT_BULGE || length == 0.0 {
            return Self::Line { start, end };
        }
        let sweep = 4.0 * bulge.atan();
        let radius = length * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        // The centre lies on the chord's bisector; its offset to the left of the chord, from h = c (1 - b²) / 4b.
        let center = start.lerp(end, 0.5) + chord.left() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        Self::Arc { start, end, arc: Arc { center, radius, start_angle: (start - center).angle(), sweep } }
    }

    /// Where it starts.
    #[must_use]
    pub fn start(&self) -> Point {
        match *self {
            Self::Line { start, .. } | Self::Arc { start, .. } => start,
        }
    }

    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Point {
        match *self {
            Self::Line { end, .. } | Self::Arc { end, .. } => end,
        }
    }

    /// Length along the segment.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Line { start, end } => start.distance(*end),
            Self::Arc { arc, .. } => arc.length(),
        }
    }

    /// The point a fraction `t` along it.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        match self {
            Self::Line { start, end } => start.lerp(*end, t),
            Self::Arc { start, arc, .. } => {
                // Turned about the centre from the start, by differences alone: the circle of an arc that is all but
                // straight is so large that points counted from its centre would lose half their digits.
                let (spoke, turn) = (*start - arc.center, arc.sweep * t);
                let half = (turn / 2.0).sin();
                *start + spoke.left() * turn.sin() - spoke * (2.0 * half * half)
            }
        }
    }

    /// The angle by which a viewer at `point` turns while following the segment, radians, counter-clockwise positive.
    /// Means little for points on the segment.
    pub(crate) fn turn_around(&self, point: Point) -> f64 {
        let (a, b) = (self.start() - point, self.end() - point);
        let turn = a.cross(b).atan2(a.dot(b));
        // From within its circle an arc is seen to turn its own way all along, whatever its chord shows; a point
        // right on the chord, such as the middle of a half circle, would otherwise see half a turn of either sign.
        if let Self::Arc { arc, .. } = self
            && point.distance(arc.center) < arc.radius
            && turn * arc.sweep <= 0.0
        {
            return turn + if arc.sweep > 0.0 { TAU } else { -TAU };
        }
        turn
    }

    /// The smallest box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        match self {
            Self::Line { start, end } => Bounds::of([*start, *end]),
            Self::Arc { start, end, arc } => {
                let mut bounds = Bounds::of([*start, *end]);
                for quarter in 0..4 {
                    let angle = f64::from(quarter) * PI / 2.0;
                    if arc.covers_angle(angle) {
                        bounds = bounds.with(arc.center + Vector::from_angle(angle) * arc.radius);
                    }
                }
                bounds
            }
        }
    }
}

/// A closed ring of lines and arcs. The last vertex joins the first; no point is repeated at the end.
///
/// An outline may run either way round and is not checked here: see the validity functions.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    vertices: Vec<Vertex>,
}

impl Outline {
    /// The ring through some vertices.
    #[must_use]
    pub fn new(vertices: Vec<Vertex>) -> Self {
        Self { vertices }
    }

    /// The ring of straight lines through some points.
    #[must_use]
    pub fn polygon(points: impl IntoIterator<Item = Point>) -> Self {
        Self { vertices: points.into_iter().map(Vertex::line).collect() }
    }

    /// An axis-parallel rectangle, counter-clockwise from its lower left corner.
    #[must_use]
    pub fn rectangle(corner: Point, width: f64, height: f64) -> Self {
        let Point { x, y } = corner;
        Self::polygon([corner, Point::new(x + width, y), Point::new(x + width, y + height), Point::new(x, y + height)])
    }

    /// A circle, as two half circles, counter-clockwise.
    #[must_use]
    pub fn circle(center: Point, radius: f64) -> Self {
        Self::new(vec![
            Vertex::arc(Point::new(center.x - radius, center.y), 1.0),
            Vertex::arc(Point::new(center.x + radius, center.y), 1.0),
        ])
    }

    /// Centre and radius, if it is a circle: arcs that go once round one centre.
    ///
    /// ```
    /// # use dropwise_geometry::{Outline, Point};
    /// let hole = Outline::circle(Point::new(3.0, 4.0), 2.0);
    /// assert_eq!(hole.as_circle(), Some((Point::new(3.0, 4.0), 2.0)));
    /// assert_eq!(Outline::rectangle(Point::ORIGIN, 4.0, 4.0).as_circle(), None);
    /// ```
    #[must_use]
    pub fn as_circle(&self) -> Option<(Point, f64)> {
        let mut arcs = self.segments().map(|segment| match segment {
            Segment::Arc { arc, .. } => Some(arc),
            Segment::Line { .. } => None,
        });
        let Arc { center, radius, mut sweep, .. } = arcs.next()??;
        for arc in arcs {
            let arc = arc?;
            let least = radius * SAME_CIRCLE;
            if arc.center.distance(center) > least || (arc.radius - radius).abs() > least {
                return None;
            }
            sweep += arc.sweep;
        }
        ((sweep.abs() - TAU).abs() < SAME_CIRCLE).then_some((center, radius))
    }

    /// The corners with their bulges.
    #[must_use]
    pub fn vertices(&self) -> &[Vertex] {
        &self.vertices
    }

    /// The sides, in order; as many as there are vertices.
    pub fn segments(&self) -> impl ExactSizeIterator<Item = Segment> + '_ {
        (0..self.vertices.len()).map(|i| {
            let next = self.vertices[if i + 1 == self.vertices.len() { 0 } else { i + 1 }];
            Segment::new(self.vertices[i].point, next.point, self.vertices[i].bulge)
        })
    }

    /// Enclosed area, positive when the ring runs counter-clockwise. Exact for arcs.
    ///
    /// # Source
    /// Shoelace formula plus a circular segment r² (θ - sin θ) / 2 for each arc. Elementary geometry.
    #[must_use]
    pub fn signed_area(&self) -> f64 {
        let Some(first) = self.vertices.first() else { return 0.0 };
        // Taken about the first corner, so that a small part far from the origin keeps its digits.
        let origin = first.point;
        self.segments()
            .map(|segment| {
                let chord = (segment.start() - origin).cross(segment.end() - origin) / 2.0;
                match segment {
                    Segment::Line { .. } => chord,
                    Segment::Arc { arc, .. } => chord + arc.radius * arc.radius * (arc.sweep - arc.sweep.sin()) / 2.0,
                }
            })
            .sum()
    }

    /// Enclosed area, whichever way the ring runs.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.signed_area().abs()
    }

    /// Whether the ring runs counter-clockwise.
    #[must_use]
    pub fn is_ccw(&self) -> bool {
        self.signed_area() > 0.0
    }

    /// Length around. Exact for arcs.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.segments().map(|segment| segment.length()).sum()
    }

    /// The smallest box around the ring. Exact for arcs.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.segments().fold(Bounds::EMPTY, |bounds, segment| bounds.union(segment.bounds()))
    }

    /// The same ring, run the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let n = self.vertices.len();
        let vertices = (0..n)
            .rev()
            .map(|i| Vertex {
                point: self.vertices[i].point,
                // The segment that now leaves corner i is the one that came from i - 1.
                bulge: -self.vertices[(i + n - 1) % n].bulge,
            })
            .collect();
        Self { vertices }
    }

    /// The ring run counter-clockwise.
    #[must_use]
    pub fn into_ccw(self) -> Self {
        if self.signed_area() < 0.0 { self.reversed() } else { self }
    }

    /// The ring moved by an isometry. A mirrored ring is reversed too, so that its direction stays as it was.
    #[must_use]
    pub fn transformed(&self, by: Isometry) -> Self {
        let moved = Self {
            vertices: self
                .vertices
                .iter()
                .map(|v| Vertex { point: by.apply(v.point), bulge: if by.is_mirrored { -v.bulge } else { v.bulge } })
                .collect(),
        };
        if by.is_mirrored { moved.reversed() } else { moved }
    }

    /// The ring scaled about the origin by a positive factor.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            vertices: self
                .vertices
                .iter()
                .map(|v| Vertex { point: Point::new(v.point.x * factor, v.point.y * factor), bulge: v.bulge })
                .collect(),
        }
    }

    /// Whether a point lies inside the ring, whichever way it runs. Points on the ring may fall either way.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        // Winding number: the turn of each segment as seen from the point, summed.
        let winding: f64 = self.segments().map(|segment| segment.turn_around(point)).sum();
        winding.abs() > PI
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_on_the_common_chord_of_two_half_circles_are_inside() {
        for sign in [1.0, -1.0] {
            let circle = Outline::circle(Point::new(50.0, 50.0), 50.0);
            let circle = if sign > 0.0 { circle } else { circle.reversed() };
            for x in 1..100 {
                assert!(circle.contains(Point::new(f64::from(x), 50.0)), "x = {x}");
            }
            assert!(!circle.contains(Point::new(-1.0, 50.0)) && !circle.contains(Point::new(101.0, 50.0)));
        }
    }

    #[test]
    fn circle_has_its_textbook_measures() {
        let circle = Outline::circle(Point::new(3.0, -2.0), 5.0);
        assert!((circle.signed_area() - 25.0 * PI).abs() < 1e-12);
        assert!((circle.perimeter() - 10.0 * PI).abs() < 1e-12);
        assert_eq!(circle.bounds(), Bounds::of([Point::new(-2.0, -7.0), Point::new(8.0, 3.0)]));
    }

    #[test]
    fn reversing_negates_the_area_and_twice_changes_nothing() {
        let slot = Outline::new(vec![
            Vertex::line(Point::new(0.0, 0.0)),
            Vertex::arc(Point::new(10.0, 0.0), 1.0),
            Vertex::line(Point::new(10.0, 4.0)),
            Vertex::arc(Point::new(0.0, 4.0), 1.0),
        ]);
        assert!((slot.signed_area() - (40.0 + 4.0 * PI)).abs() < 1e-12);
        assert!((slot.reversed().signed_area() + slot.signed_area()).abs() < 1e-12);
        assert_eq!(slot.reversed().reversed(), slot);
    }

    #[test]
    fn points_beyond_a_chord_but_within_its_arc_are_inside() {
        let slot = Outline::new(vec![
            Vertex::line(Point::new(0.0, 0.0)),
            Vertex::arc(Point::new(10.0, 0.0), 1.0),
            Vertex::line(Point::new(10.0, 4.0)),
            Vertex::arc(Point::new(0.0, 4.0), -1.0),
        ]);
        assert!(slot.contains(Point::new(11.0, 2.0)));
        assert!(!slot.contains(Point::new(12.1, 2.0)));
        assert!(!slot.contains(Point::new(1.0, 2.0)), "the left end is scooped out");
        assert!(slot.contains(Point::new(2.5, 2.0)));
        assert!(slot.reversed().contains(Point::new(11.0, 2.0)));
        assert!(!slot.reversed().contains(Point::new(1.0, 2.0)));
    }

    #[test]
    fn a_mirrored_ring_keeps_its_direction_and_area() {
        let ring = Outline::new(vec![
            Vertex::line(Point::new(0.0, 0.0)),
            Vertex::arc(Point::new(8.0, 0.0), 0.3),
            Vertex::line(Point::new(2.0, 6.0)),
        ]);
        let moved = ring.transformed(Isometry::new(true, 33.0, 5.0, 7.0));
        assert!((moved.signed_area() - ring.signed_area()).abs() < 1e-9);
    }
}
