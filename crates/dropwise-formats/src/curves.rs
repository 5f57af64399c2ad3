//! Affine maps, conics and free curves, all brought down to lines and circular arcs.
//!
//! Circles and their arcs stay arcs as long as the map is a similarity. Everything else becomes a chain of biarcs: two
//! arcs that meet with a common tangent, fitted between two points of the curve and its directions there, and halved
//! until sampled points of the curve lie within the tolerance of them.
//!
//! # Source
//! K. M. Bolton, "Biarc curves", Computer-Aided Design 7(2), 1975 (from memory), in the form with equal tangent lengths.

use std::f64::consts::{PI, TAU};

use dropwise_geometry::{Point, Segment, Vector};

/// A line or an arc of at most half a turn, with the bulge of [`dropwise_geometry::Vertex`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Piece {
    pub(crate) start: Point,
    pub(crate) end: Point,
    pub(crate) bulge: f64,
}

impl Piece {
    pub(crate) const fn line(start: Point, end: Point) -> Self {
        Self { start, end, bulge: 0.0 }
    }

    pub(crate) fn segment(&self) -> Segment {
        Segment::new(self.start, self.end, self.bulge)
    }

    pub(crate) fn reversed(&self) -> Self {
        Self { start: self.end, end: self.start, bulge: -self.bulge }
    }

    /// The point halfway along: the chord's middle, moved aside by the sagitta (bulge times half the chord).
    pub(crate) fn middle(&self) -> Point {
        let chord = self.end - self.start;
        self.start.lerp(self.end, 0.5) - chord.left() * (self.bulge / 2.0)
    }

    pub(crate) fn length(&self) -> f64 {
        self.segment().length()
    }

    /// The direction in which it leaves its start; zero for a point.
    pub(crate) fn leaving(&self) -> Vector {
        // The tangent lies half the sweep, 2 atan(bulge), to the right of the chord.
        turned(self.end - self.start, -2.0 * self.bulge.atan()).unit().unwrap_or_default()
    }

    /// The direction in which it reaches its end; zero for a point.
    pub(crate) fn arriving(&self) -> Vector {
        -self.reversed().leaving()
    }

    pub(crate) fn is_finite(&self) -> bool {
        self.start.is_finite() && self.end.is_finite() && self.bulge.is_finite()
    }
}

fn turned(vector: Vector, angle: f64) -> Vector {
    let (sin, cos) = angle.sin_cos();
    Vector::new(cos * vector.x - sin * vector.y, sin * vector.x + cos * vector.y)
}

/// A map of the plane that keeps straight lines straight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Affine {
    /// Where (1, 0) points.
    pub(crate) x_axis: Vector,
    /// Where (0, 1) points.
    pub(crate) y_axis: Vector,
    /// Where the origin goes.
    pub(crate) origin: Vector,
}

impl Affine {
    pub(crate) const IDENTITY: Self = Self {
        x_axis: Vector { x: 1.0, y: 0.0 },
        y_axis: Vector { x: 0.0, y: 1.0 },
        origin: Vector { x: 0.0, y: 0.0 },
    };

    pub(crate) const fn translation(x: f64, y: f64) -> Self {
        Self { origin: Vector { x, y }, ..Self::IDENTITY }
    }

    pub(crate) const fn scale(x: f64, y: f64) -> Self {
        Self { x_axis: Vector { x, y: 0.0 }, y_axis: Vector { x: 0.0, y }, ..Self::IDENTITY }
    }

    /// Counter-clockwise turn, exact at multiples of 90 degrees.
    pub(crate) fn rotation_deg(degrees: f64) -> Self {
        let (sin, cos) = dropwise_geometry::sin_cos_deg(degrees);
        Self { x_axis: Vector::new(cos, sin), y_axis: Vector::new(-sin, cos), ..Self::IDENTITY }
    }

    /// This map first, then `outer`.
    pub(crate) fn then(&self, outer: &Self) -> Self {
        Self {
            x_axis: outer.apply_vector(self.x_axis),
            y_axis: outer.apply_vector(self.y_axis),
            origin: outer.apply_vector(self.origin) + outer.origin,
        }
    }

    pub(crate) fn apply_vector(&self, vector: Vector) -> Vector {
        self.x_axis * vector.x + self.y_axis * vector.y
    }

    pub(crate) fn apply(&self, point: Point) -> Point {
        let moved = self.apply_vector(point.to_vector()) + self.origin;
        Point::new(moved.x, moved.y)
    }

    fn is_mirrored(&self) -> bool {
        self.x_axis.cross(self.y_axis) < 0.0
    }

    fn is_similarity(&self) -> bool {
        is_circle(self.x_axis, self.y_axis)
    }
}

/// Whether two half axes span a circle: equally long and square to each other, but for rounding in a drawing's digits.
fn is_circle(a: Vector, b: Vector) -> bool {
    let size = a.length_squared().max(b.length_squared());
    (a.length_squared() - b.length_squared()).abs() <= 1e-7 * size && a.dot(b).abs() <= 1e-7 * size
}

/// Where pieces are put, and how many more may come: the guard against curves that would fill the memory.
pub(crate) struct PieceSink<'a> {
    pub(crate) pieces: &'a mut Vec<Piece>,
    pub(crate) room: &'a mut usize,
    pub(crate) tolerance: f64,
}

/// More pieces were asked for than the limits allow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NoRoom;

impl PieceSink<'_> {
    pub(crate) fn push(&mut self, piece: Piece) -> Result<(), NoRoom> {
        *self.room = self.room.checked_sub(1).ok_or(NoRoom)?;
        self.pieces.push(piece);
        Ok(())
    }

    /// A line or arc of any sweep, mapped.
    pub(crate) fn push_mapped(&mut self, start: Point, end: Point, bulge: f64, map: &Affine) -> Result<(), NoRoom> {
        let (from, to) = (map.apply(start), map.apply(end));
        match Segment::new(start, end, bulge) {
            Segment::Line { .. } => self.push(Piece::line(from, to)),
            Segment::Arc { .. } if bulge.abs() <= 1.0 && map.is_similarity() => {
                let bulge = if map.is_mirrored() { -bulge } else { bulge };
                self.push(Piece { start: from, end: to, bulge })
            }
            Segment::Arc { arc, .. } => {
                let first = self.pieces.len();
                self.push_conic(
                    &Conic {
                        center: arc.center,
                        a: Vector::new(arc.radius, 0.0),
                        b: Vector::new(0.0, arc.radius),
                        start: arc.start_angle,
                        sweep: arc.sweep,
                    },
                    map,
                )?;
                // The circle's computed ends may miss the given corners by a rounding error, which would break chains.
                if let Some(piece) = self.pieces.get_mut(first) {
                    piece.start = from;
                }
                if let Some(piece) = self.pieces.last_mut() {
                    piece.end = to;
                }
                Ok(())
            }
        }
    }

    /// An ellipse or a part of one, mapped. A circle's image under a similarity becomes arcs, anything else biarcs.
    pub(crate) fn push_conic(&mut self, conic: &Conic, map: &Affine) -> Result<(), NoRoom> {
        let conic = Conic {
            center: map.apply(conic.center),
            a: map.apply_vector(conic.a),
            b: map.apply_vector(conic.b),
            ..*conic
        };
        let first = self.pieces.len();
        if is_circle(conic.a, conic.b) {
            let count = if conic.sweep.abs() > PI * (1.0 + 1e-9) { 2 } else { 1 };
            let step = conic.sweep / f64::from(count);
            let bulge = (step / 4.0).tan() * if conic.a.cross(conic.b) < 0.0 { -1.0 } else { 1.0 };
            for i in 0..count {
                let u = conic.start + step * f64::from(i);
                self.push(Piece { start: conic.at(u), end: conic.at(u + step), bulge })?;
            }
        } else {
            let spans = (conic.sweep.abs() / (PI / 4.0)).ceil().clamp(1.0, 8.0);
            for i in 0..spans as usize {
                let at = |i: usize| conic.start + conic.sweep * (i as f64 / spans);
                self.push_curve(&conic, at(i), at(i + 1))?;
            }
        }
        if conic.is_full()
            && let [start, .., end] = &mut self.pieces[first..]
        {
            end.end = start.start;
        }
        Ok(())
    }

    /// A smooth curve over a span of its parameter.
    pub(crate) fn push_curve(&mut self, curve: &impl Curve, t0: f64, t1: f64) -> Result<(), NoRoom> {
        let mut spans = vec![(t0, t1, MAX_HALVINGS)];
        while let Some((t0, t1, halvings)) = spans.pop() {
            match fit(curve, t0, t1, self.tolerance) {
                Some(Fit::Line(line)) => self.push(line)?,
                Some(Fit::Biarc(first, second)) => {
                    self.push(first)?;
                    self.push(second)?;
                }
                // A millionth of the curve that still bends too much is a cusp, or smaller than any tolerance.
                None if halvings == 0 => self.push(Piece::line(curve.at(t0), curve.at(t1)))?,
                None => {
                    let middle = t0 + (t1 - t0) / 2.0;
                    spans.push((middle, t1, halvings - 1));
                    spans.push((t0, middle, halvings - 1));
                }
            }
        }
        Ok(())
    }
}

const MAX_HALVINGS: u32 = 20;

/// A curve with a direction everywhere.
pub(crate) trait Curve {
    fn at(&self, t: f64) -> Point;
    fn derivative(&self, t: f64) -> Vector;
}

/// center + a cos u + b sin u: an ellipse by two conjugate half axes, which any affine map sends to another one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Conic {
    pub(crate) center: Point,
    pub(crate) a: Vector,
    pub(crate) b: Vector,
    /// Parameter at the start, radians.
    pub(crate) start: f64,
    /// Signed range of the parameter, at most a full turn.
    pub(crate) sweep: f64,
}

impl Conic {
    pub(crate) fn circle(center: Point, radius: f64) -> Self {
        Self { center, a: Vector::new(radius, 0.0), b: Vector::new(0.0, radius), start: 0.0, sweep: TAU }
    }

    pub(crate) fn is_full(&self) -> bool {
        self.sweep.abs() >= TAU - 1e-9
    }
}

impl Curve for Conic {
    fn at(&self, t: f64) -> Point {
        let (sin, cos) = t.sin_cos();
        self.center + self.a * cos + self.b * sin
    }

    fn derivative(&self, t: f64) -> Vector {
        let (sin, cos) = t.sin_cos();
        self.b * cos - self.a * sin
    }
}

/// A Bézier curve of the third degree.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cubic(pub(crate) [Point; 4]);

impl Curve for Cubic {
    fn at(&self, t: f64) -> Point {
        let [p0, p1, p2, p3] = self.0;
        let (a, b, c) = (p0.lerp(p1, t), p1.lerp(p2, t), p2.lerp(p3, t));
        a.lerp(b, t).lerp(b.lerp(c, t), t)
    }

    fn derivative(&self, t: f64) -> Vector {
        let [p0, p1, p2, p3] = self.0;
        let s = 1.0 - t;
        ((p1 - p0) * (s * s) + (p2 - p1) * (2.0 * s * t) + (p3 - p2) * (t * t)) * 3.0
    }
}

enum Fit {
    Line(Piece),
    Biarc(Piece, Piece),
}

const SAMPLES: u32 = 16;
/// Between samples the gap is a little larger than at them; this share of the tolerance is what samples may use.
const SAMPLED_SHARE: f64 = 0.8;
/// Most an arc of a biarc may turn (a bulge; about 80 degrees), so that no loop of the curve is jumped over.
const MAX_BULGE: f64 = 0.364;

fn fit(curve: &impl Curve, t0: f64, t1: f64, tolerance: f64) -> Option<Fit> {
    let (start, end) = (curve.at(t0), curve.at(t1));
    let samples = (1..SAMPLES).map(|i| curve.at(t0 + (t1 - t0) * f64::from(i) / f64::from(SAMPLES)));
    let deviation = |pieces: &[Piece]| {
        samples.clone().fold(0.0, |worst: f64, sample| {
            worst.max(pieces.iter().fold(f64::INFINITY, |near, piece| near.min(distance(&piece.segment(), sample))))
        })
    };
    // The samples must run onwards along the chord, or a loop or a there-and-back would pass as a line.
    let chord = end - start;
    let is_onwards = {
        let mut last = 0.0;
        samples.clone().all(|sample| {
            let along = (sample - start).dot(chord);
            std::mem::replace(&mut last, along) <= along
        })
    };
    let line = Piece::line(start, end);
    // Far below the tolerance, so that nearly straight ends of a curve keep their directions.
    if is_onwards && deviation(&[line]) <= 0.02 * tolerance {
        return Some(Fit::Line(line));
    }
    if !is_onwards && chord.length() > 0.0 {
        return None;
    }
    let (first, second) = biarc(start, direction(curve, t0, t1), end, direction(curve, t1, t0))?;
    let fits = first.is_finite()
        && second.is_finite()
        && first.bulge.abs() <= MAX_BULGE
        && second.bulge.abs() <= MAX_BULGE
        && deviation(&[first, second]) <= SAMPLED_SHARE * tolerance;
    fits.then_some(Fit::Biarc(first, second))
}

/// Direction of travel at `t`; where the derivative vanishes, that of a short chord towards `inside`.
fn direction(curve: &impl Curve, t: f64, inside: f64) -> Vector {
    let span = inside - t;
    let derivative = curve.derivative(t);
    let chord = curve.at(t + span * 1e-3) - curve.at(t);
    if derivative.length() * span.abs() * 1e-3 > 1e-3 * chord.length() {
        derivative.unit().unwrap_or_default()
    } else {
        (chord * span.signum()).unit().unwrap_or_default()
    }
}

fn biarc(start: Point, leaving: Vector, end: Point, arriving: Vector) -> Option<(Piece, Piece)> {
    let chord = end - start;
    let sum = leaving + arriving;
    let (along, spread) = (chord.dot(sum), 2.0 * (1.0 - leaving.dot(arriving)));
    // Root of spread d² + 2 along d - chord² = 0, written so that nothing cancels when the tangents are parallel.
    let length = chord.length_squared() / (along + (along * along + spread * chord.length_squared()).sqrt());
    if !(length > 0.0 && length.is_finite()) {
        return None;
    }
    let joint = start.lerp(end, 0.5) + (leaving - arriving) * (length / 2.0);
    let bulge = |from: Vector, to: Vector| (from.cross(to).atan2(from.dot(to)) / 2.0).tan();
    Some((
        Piece { start, end: joint, bulge: bulge(leaving, joint - start) },
        Piece { start: joint, end, bulge: bulge(end - joint, arriving) },
    ))
}

/// Distance from a point to a segment.
pub(crate) fn distance(segment: &Segment, point: Point) -> f64 {
    match segment {
        Segment::Line { start, end } => {
            let chord = *end - *start;
            let t = (point - *start).dot(chord) / chord.length_squared();
            // A chord of no length gives NaN, which clamp keeps: the start stands in.
            let t = if t.is_finite() { t.clamp(0.0, 1.0) } else { 0.0 };
            start.lerp(*end, t).distance(point)
        }
        Segment::Arc { start, end, arc } => {
            let to_ends = start.distance(point).min(end.distance(point));
            let spoke = point - arc.center;
            if arc.covers_angle(spoke.angle()) { to_ends.min((spoke.length() - arc.radius).abs()) } else { to_ends }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::{Outline, Vertex};

    fn pieces(fill: impl FnOnce(&mut PieceSink<'_>)) -> Vec<Piece> {
        let (mut pieces, mut room) = (Vec::new(), 100_000);
        fill(&mut PieceSink { pieces: &mut pieces, room: &mut room, tolerance: 0.01 });
        pieces
    }

    fn outline(pieces: &[Piece]) -> Outline {
        Outline::new(pieces.iter().map(|p| Vertex::arc(p.start, p.bulge)).collect())
    }

    #[test]
    fn an_ellipse_keeps_its_area_within_the_tolerance_times_its_perimeter() {
        for (a, b) in [(50.0, 20.0), (100.0, 1.0), (3.0, 2.9), (400.0, 150.0)] {
            let conic = Conic { a: Vector::new(a, 0.0), b: Vector::new(0.0, b), ..Conic::circle(Point::ORIGIN, 1.0) };
            let fitted = pieces(|sink| sink.push_conic(&conic, &Affine::rotation_deg(33.0)).unwrap());
            let ring = outline(&fitted);
            // Area π a b: elementary geometry. The chain may err by the tolerance all around.
            assert!((ring.signed_area() - PI * a * b).abs() < 0.01 * ring.perimeter(), "{a} x {b}");
            for window in fitted.windows(2) {
                assert_eq!(window[0].end, window[1].start);
            }
            assert_eq!(fitted[0].start, fitted[fitted.len() - 1].end);
            // Densely sampled, not only where the fit looked.
            let turned =
                Conic { a: turned(conic.a, 33f64.to_radians()), b: turned(conic.b, 33f64.to_radians()), ..conic };
            for i in 0..2000 {
                let p = turned.at(TAU * f64::from(i) / 2000.0);
                let gap = fitted.iter().map(|piece| distance(&piece.segment(), p)).fold(f64::INFINITY, f64::min);
                assert!(gap <= 0.01, "{a} x {b}: {gap}");
            }
        }
    }

    #[test]
    fn a_circle_under_a_mirrored_similarity_stays_two_arcs() {
        let map = Affine::scale(-2.0, 2.0).then(&Affine::rotation_deg(30.0)).then(&Affine::translation(7.0, -3.0));
        let fitted = pieces(|sink| sink.push_conic(&Conic::circle(Point::new(1.0, 1.0), 5.0), &map).unwrap());
        assert_eq!(fitted.len(), 2);
        assert!((outline(&fitted).signed_area() + 100.0 * PI).abs() < 1e-9, "mirrored: clockwise, radius 10");
    }

    #[test]
    fn a_bezier_with_a_cusp_a_loop_or_equal_points_ends_and_stays_close() {
        let p = Point::new;
        for curve in [
            Cubic([p(0.0, 0.0), p(100.0, 100.0), p(0.0, 100.0), p(100.0, 0.0)]),
            Cubic([p(0.0, 0.0), p(140.0, 100.0), p(-40.0, 100.0), p(100.0, 0.0)]),
            Cubic([p(0.0, 0.0), p(0.0, 0.0), p(100.0, 50.0), p(100.0, 50.0)]),
            Cubic([p(0.0, 0.0), p(0.0, 0.0), p(50.0, 80.0), p(90.0, 0.0)]),
            Cubic([p(0.0, 0.0), p(200.0, 0.0), p(-100.0, 0.0), p(100.0, 0.0)]),
            Cubic([p(5.0, 5.0); 4]),
        ] {
            let fitted = pieces(|sink| sink.push_curve(&curve, 0.0, 1.0).unwrap());
            assert!(fitted.len() < 500, "{} pieces for {curve:?}", fitted.len());
            for i in 0..=1000 {
                let at = curve.at(f64::from(i) / 1000.0);
                let gap = fitted.iter().map(|piece| distance(&piece.segment(), at)).fold(f64::INFINITY, f64::min);
                assert!(gap <= 0.01, "{gap} at {at:?} of {curve:?}");
            }
        }
    }

    #[test]
    fn the_tangents_of_a_half_circle_point_up_and_down() {
        let half = Piece { start: Point::new(1.0, 0.0), end: Point::new(-1.0, 0.0), bulge: 1.0 };
        assert!((half.leaving() - Vector::new(0.0, 1.0)).length() < 1e-12);
        assert!((half.arriving() - Vector::new(0.0, -1.0)).length() < 1e-12);
        assert!(half.middle().distance(Point::new(0.0, 1.0)) < 1e-12);
    }
}
