//! Rational B-splines, as SPLINE entities hold them.
//!
//! # Source
//! L. Piegl and W. Tiller, "The NURBS Book", 2nd edition, 1997: de Boor's algorithm and the derivative of a rational
//! curve by the quotient rule (from memory).

use dropwise_geometry::{Point, Vector};

use crate::curves::{Affine, Curve};

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
