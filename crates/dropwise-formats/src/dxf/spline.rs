//! Rational B-splines, as SPLINE entities hold them.
//!
//! # Source
//! L. Piegl and W. Tiller, "The NURBS Book", 2nd edition, 1997: de Boor's algorithm and the derivative of a rational
//! curve by the quotient rule (from memory).

use dropwise_geometry::{Point, Vector};

use crate::curves::{Affine, Cubic, Curve};

/// Highest degree read. Drawing programs write 3, sometimes 5; evaluation costs the square.
const HIGHEST_DEGREE: usize = 15;

#[derive(Clone, Debug)]
pub(super) struct Spline {
    degree: usize,
    knots: Vec<f64>,
    /// x w, y w, w
    points: Vec<[f64; 3]>,
}

impl Spline {
    /// A spline, or what is wrong with it.
    pub(super) fn new(
        degree: f64,
        knots: Vec<f64>,
        points: Vec<Point>,
        weights: Vec<f64>,
    ) -> Result<Self, &'static str> {
        if !(1.0..=HIGHEST_DEGREE as f64).contains(&degree) || degree.fract() != 0.0 {
            return Err("its degree must be a whole number from 1 to 15");
        }
        let degree = degree as usize;
        if points.len() <= degree {
            return Err("it needs more control points than its degree");
        }
        if knots.len() != points.len() + degree + 1 {
            return Err("it needs as many knots as control points plus its degree plus one");
        }
        if knots.windows(2).any(|pair| pair[0] > pair[1]) || knots[degree] >= knots[points.len()] {
            return Err("its knots must rise");
        }
        if !(weights.is_empty() || weights.len() == points.len()) || weights.iter().any(|&weight| weight <= 0.0) {
            return Err("it needs one weight above zero for each control point, or none");
        }
        let weight = |index: usize| weights.get(index).copied().unwrap_or(1.0);
        let points = points.iter().enumerate().map(|(i, p)| [p.x * weight(i), p.y * weight(i), weight(i)]).collect();
        Ok(Self { degree, knots, points })
    }

    /// The same curve, mapped: an affine map of a B-spline maps its control points.
    pub(super) fn mapped(&self, map: &Affine) -> Self {
        let points = self
            .points
            .iter()
            .map(|&[x, y, w]| {
                let moved = map.apply_vector(Vector::new(x, y)) + map.origin * w;
                [moved.x, moved.y, w]
            })
            .collect();
        Self { degree: self.degree, knots: self.knots.clone(), points }
    }

    /// Control points, where they are.
    pub(super) fn control_points(&self) -> impl Iterator<Item = Point> + '_ {
        self.points.iter().map(|&[x, y, w]| Point::new(x / w, y / w))
    }

    /// Spans between different knots, in order, with their ends. Each is smooth.
    pub(super) fn spans(&self) -> impl Iterator<Item = (Span<'_>, f64, f64)> + '_ {
        (self.degree..self.points.len())
            .map(|index| (Span { spline: self, index }, self.knots[index], self.knots[index + 1]))
            .filter(|&(_, from, to)| from < to)
    }

    /// de Boor's algorithm on the points that `control` gives, of the degree and with the knots from `skip` on.
    fn de_boor(
        &self,
        span: usize,
        degree: usize,
        skip: usize,
        t: f64,
        control: impl Fn(usize) -> [f64; 3],
    ) -> [f64; 3] {
        let knot = |index: usize| self.knots[index + skip];
        let span = span - skip;
        let mut work = [[0.0; 3]; HIGHEST_DEGREE + 1];
        for (j, slot) in work.iter_mut().enumerate().take(degree + 1) {
            *slot = control(j + span - degree);
        }
        for round in 1..=degree {
            for j in (round..=degree).rev() {
                let left = knot(j + span - degree);
                let right = knot(j + 1 + span - round);
                let share = if right > left { (t - left) / (right - left) } else { 0.0 };
                let (before, here) = (work[j - 1], work[j]);
                work[j] = [0, 1, 2].map(|axis| before[axis] * (1.0 - share) + here[axis] * share);
            }
        }
        work[degree]
    }
}

/// A spline between two neighbouring knots. At its ends it is the curve as seen from within, so that corners at multiple
/// knots keep both their directions.
#[derive(Clone, Copy)]
pub(super) struct Span<'a> {
    spline: &'a Spline,
    index: usize,
}

impl Curve for Span<'_> {
    fn at(&self, t: f64) -> Point {
        let spline = self.spline;
        let [x, y, w] = spline.de_boor(self.index, spline.degree, 0, t, |index| spline.points[index]);
        Point::new(x / w, y / w)
    }

    fn derivative(&self, t: f64) -> Vector {
        let spline = self.spline;
        let degree = spline.degree;
        // The derivative is a spline of one degree less over the same knots but the first and the last.
        let [dx, dy, dw] = spline.de_boor(self.index, degree - 1, 1, t, |index| {
            let width = spline.knots[index + degree + 1] - spline.knots[index + 1];
            let (one, next) = (spline.points[index], spline.points[index + 1]);
            [0, 1, 2].map(|axis| if width > 0.0 { degree as f64 * (next[axis] - one[axis]) / width } else { 0.0 })
        });
        let [x, y, w] = spline.de_boor(self.index, degree, 0, t, |index| spline.points[index]);
        Vector::new((dx * w - x * dw) / (w * w), (dy * w - y * dw) / (w * w))
    }
}

/// The curve of continuous curvature through points, by cubic pieces, or what is wrong with them. Its parameter runs with
/// the length of the chords. Ends without a tangent are free of curvature; a closed curve runs smoothly round.
///
/// # Source
/// C. de Boor, "A Practical Guide to Splines", revised edition, 2001, chapter IV (from memory). Compared with a general DXF
/// library's in `tests/reference_drawings.rs`.
pub(super) fn through(
    points: &[Point],
    is_closed: bool,
    tangents: [Option<Vector>; 2],
) -> Result<Vec<Cubic>, &'static str> {
    let mut points = points.to_vec();
    points.dedup_by(|a, b| a.distance(*b) <= 1e-12);
    if is_closed && points.len() > 2 && points[0].distance(points[points.len() - 1]) > 1e-12 {
        points.push(points[0]);
    }
    if points.len() < 2 || (is_closed && points.len() < 3) {
        return Err("it needs more than one fit point");
    }
    let steps: Vec<f64> = points.windows(2).map(|pair| pair[0].distance(pair[1])).collect();
    if !steps.iter().all(|step| step.is_finite() && *step > 0.0) {
        return Err("its fit points must be different places");
    }
    let slopes = if is_closed { closed_slopes(&points, &steps) } else { open_slopes(&points, &steps, tangents) };
    Ok(steps
        .iter()
        .enumerate()
        .map(|(i, &step)| {
            let (from, to) = (points[i], points[i + 1]);
            Cubic([from, from + slopes[i] * (step / 3.0), to - slopes[i + 1] * (step / 3.0), to])
        })
        .collect())
}

fn chord(points: &[Point], steps: &[f64], i: usize) -> Vector {
    (points[i + 1] - points[i]) / steps[i]
}

/// Derivatives at the points, so that curvature is continuous.
fn open_slopes(points: &[Point], steps: &[f64], tangents: [Option<Vector>; 2]) -> Vec<Vector> {
    let last = points.len() - 1;
    let (mut below, mut on, mut above) = (vec![0.0; last + 1], vec![1.0; last + 1], vec![0.0; last + 1]);
    let mut right = vec![Vector::default(); last + 1];
    for i in 1..last {
        (below[i], on[i], above[i]) = (steps[i], 2.0 * (steps[i - 1] + steps[i]), steps[i - 1]);
        right[i] = (chord(points, steps, i - 1) * steps[i] + chord(points, steps, i) * steps[i - 1]) * 3.0;
    }
    // A tangent's length says nothing: the curve leaves as fast as its chord.
    match tangents[0].and_then(Vector::unit) {
        Some(tangent) => right[0] = tangent,
        None => (on[0], above[0], right[0]) = (2.0, 1.0, chord(points, steps, 0) * 3.0),
    }
    match tangents[1].and_then(Vector::unit) {
        Some(tangent) => right[last] = tangent,
        None => (below[last], on[last], right[last]) = (1.0, 2.0, chord(points, steps, last - 1) * 3.0),
    }
    solve(&below, &on, &above, &right)
}

/// Likewise for a closed curve, whose last point is its first: the corners of the matrix by Sherman and Morrison.
fn closed_slopes(points: &[Point], steps: &[f64]) -> Vec<Vector> {
    let count = steps.len();
    let before = |i: usize| (i + count - 1) % count;
    let below: Vec<f64> = (0..count).map(|i| steps[i]).collect();
    let above: Vec<f64> = (0..count).map(|i| steps[before(i)]).collect();
    let mut on: Vec<f64> = (0..count).map(|i| 2.0 * (steps[before(i)] + steps[i])).collect();
    let right: Vec<Vector> = (0..count)
        .map(|i| (chord(points, steps, before(i)) * steps[i] + chord(points, steps, i) * steps[before(i)]) * 3.0)
        .collect();
    let (corner_above, corner_below) = (below[0], above[count - 1]);
    let shift = -on[0];
    on[0] -= shift;
    on[count - 1] -= corner_above * corner_below / shift;
    let mut aside = vec![Vector::default(); count];
    aside[0] = Vector::new(shift, 0.0);
    aside[count - 1] = aside[count - 1] + Vector::new(corner_below, 0.0);
    let plain = solve(&below, &on, &above, &right);
    let aside = solve(&below, &on, &above, &aside);
    let share = corner_above / shift;
    let scale = 1.0 + aside[0].x + share * aside[count - 1].x;
    let weight = (plain[0] + plain[count - 1] * share) / scale;
    let mut slopes: Vec<Vector> = plain.iter().zip(&aside).map(|(&slope, aside)| slope - weight * aside.x).collect();
    slopes.push(slopes[0]);
    slopes
}

/// Solves a tridiagonal system by elimination; `below[0]` and the last of `above` are not used.
fn solve(below: &[f64], on: &[f64], above: &[f64], right: &[Vector]) -> Vec<Vector> {
    let count = on.len();
    let (mut on, mut right) = (on.to_vec(), right.to_vec());
    for i in 1..count {
        let share = below[i] / on[i - 1];
        on[i] -= share * above[i - 1];
        right[i] = right[i] - right[i - 1] * share;
    }
    for i in (0..count).rev() {
        if i + 1 < count {
            right[i] = right[i] - right[i + 1] * above[i];
        }
        right[i] = right[i] / on[i];
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rational_quadratic_quarter_circle_is_one() {
        // The textbook quarter circle: weights 1, √½, 1.
        let spline = Spline::new(
            2.0,
            vec![0.0, 0.0, 0.0, 1.0, 1.0, 1.0],
            vec![Point::new(10.0, 0.0), Point::new(10.0, 10.0), Point::new(0.0, 10.0)],
            vec![1.0, 0.5f64.sqrt(), 1.0],
        )
        .unwrap();
        let (span, from, to) = spline.spans().next().unwrap();
        assert_eq!((from, to), (0.0, 1.0));
        for i in 0..=20 {
            let t = f64::from(i) / 20.0;
            let at = span.at(t);
            assert!((at.to_vector().length() - 10.0).abs() < 1e-12);
            assert!(span.derivative(t).dot(at.to_vector()).abs() < 1e-9, "the tangent is square to the radius");
        }
    }

    #[test]
    fn the_derivative_is_that_of_small_steps() {
        let p = Point::new;
        let points = vec![p(0.0, 0.0), p(3.0, 8.0), p(9.0, 7.0), p(12.0, -4.0), p(20.0, 1.0), p(26.0, 9.0)];
        let knots = vec![0.0, 0.0, 0.0, 0.0, 1.0, 2.5, 4.0, 4.0, 4.0, 4.0];
        let spline = Spline::new(3.0, knots, points, vec![1.0, 2.0, 0.5, 1.0, 3.0, 1.0]).unwrap();
        for (span, from, to) in spline.spans() {
            let t = (from + to) / 2.0;
            let step = (span.at(t + 1e-5) - span.at(t - 1e-5)) / 2e-5;
            assert!((span.derivative(t) - step).length() < 1e-6, "central difference");
        }
    }
}
