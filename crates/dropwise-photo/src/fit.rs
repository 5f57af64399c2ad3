//! Lines and arcs that a person would draw through a ring of measured points.
//!
//! The ring is cut where that pays best: the squared distances of the points from their lines and arcs, in standard
//! deviations, plus a price for each piece, as small as can be (dynamic programming over all places to cut). Points right
//! beside a cut do not count, since corners come out rounded.

use std::f64::consts::{PI, TAU};

use dropwise_geometry::{Outline, Point, Vector, Vertex};
use nalgebra::{Matrix3, Vector3};

use crate::edges::EdgePoint;

/// Price of a line, in squared standard deviations. Higher, and shallow bends are straightened; lower, and grain is drawn.
const LINE_PRICE: f64 = 18.0;
/// Price of an arc.
const ARC_PRICE: f64 = 28.0;
/// Points so far from a cut, in stations, do not count.
const TRIM: usize = 2;
/// Arcs flatter than this, mm from chord to crown, are lines.
const LEAST_RISE: f64 = 0.35;
/// Points share errors with neighbours over about so many stations.
const SHARED: f64 = 7.0;

/// A straight or round side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Form {
    /// Through a point, along a direction of length one.
    Line {
        at: Point,
        along: Vector,
    },
    Arc {
        center: Point,
        radius: f64,
        is_left: bool,
    },
}

/// A piece of a ring.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) form: Form,
    /// First and last point, of the ring; the last may lie before the first.
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Standard deviation of its place across, mm.
    pub(crate) sigma: f64,
    /// Greatest distance of a point that counts, mm.
    pub(crate) deviation: f64,
    pub(crate) length: f64,
}

/// Sums of powers of points up to each, so that any stretch is fitted at once.
struct Sums {
    rows: Vec<[f64; 10]>,
}

impl Sums {
    fn new(points: &[EdgePoint], origin: Point) -> Self {
        let mut rows = Vec::with_capacity(points.len() + 1);
        let mut sum = [0.0; 10];
        rows.push(sum);
        for point in points {
            let Vector { x, y } = point.at - origin;
            let z = x * x + y * y;
            let w = 1.0 / (SHARED * (point.sigma * point.sigma + 0.09_f64.powi(2)));
            for (total, value) in sum.iter_mut().zip([1.0, x, y, x * x, x * y, y * y, x * z, y * z, z, z * z]) {
                *total += w * value;
            }
            rows.push(sum);
        }
        Self { rows }
    }

    fn between(&self, from: usize, to: usize) -> [f64; 10] {
        std::array::from_fn(|k| self.rows[to][k] - self.rows[from][k])
    }

    /// Squared distances from the best line.
    fn line(&self, from: usize, to: usize) -> f64 {
        let [n, x, y, xx, xy, yy, ..] = self.between(from, to);
        let (a, b, c) = (xx - x * x / n, xy - x * y / n, yy - y * y / n);
        let half = (a + c) / 2.0;
        (half - ((a - c) / 2.0).hypot(b)).max(0.0)
    }

    /// Squared distances from the best circle, about, and its radius.
    ///
    /// # Source
    /// Kåsa, "A circle fitting procedure and its error analysis", 1976.
    fn circle(&self, from: usize, to: usize) -> Option<(f64, f64)> {
        let [n, x, y, xx, xy, yy, xz, yz, z, zz] = self.between(from, to);
        let (mx, my, mz) = (x / n, y / n, z / n);
        let (a, b, c) = (xx - x * mx, xy - x * my, yy - y * my);
        let (p, q, s) = (xz - mx * z, yz - my * z, zz - mz * z);
        let determinant = a * c - b * b;
        if determinant <= 1e-9 * (a + c).powi(2) {
            return None;
        }
        let (u, v) = ((c * p - b * q) / determinant, (a * q - b * p) / determinant);
        let radius =
            ((u / 2.0 - mx).powi(2) + (v / 2.0 - my).powi(2) + (xx + yy) / n - mx * mx - my * my).max(0.0).sqrt();
        let left = (s - u * p - v * q).max(0.0);
        (radius > 0.5).then(|| (left / (4.0 * radius * radius), radius))
    }
}

/// The whole ring as one circle, if it is one within what was measured.
pub(crate) fn as_circle(points: &[EdgePoint]) -> Option<(Point, f64, f64)> {
    if points.len() < 8 {
        return None;
    }
    let start = mean(points);
    let radius = points.iter().map(|p| p.at.distance(start)).sum::<f64>() / points.len() as f64;
    let (center, radius) = circle_through(points, start, radius);
    let off = |p: &EdgePoint| p.at.distance(center) - radius;
    let mut offs: Vec<f64> = points.iter().map(|p| off(p).abs()).collect();
    offs.sort_by(f64::total_cmp);
    let rms = (offs.iter().map(|o| o * o).sum::<f64>() / offs.len() as f64).sqrt();
    let most = offs[offs.len() * 19 / 20];
    let sigma = (points.iter().map(|p| p.sigma * p.sigma).sum::<f64>() / points.len() as f64).sqrt();
    let limit = 2.5 * sigma.hypot(0.08) + 0.004 * radius.min(50.0);
    // A polygon of few sides swings slowly around its circle: means over an eighth of the ring must be near it too.
    let eighths: Vec<f64> =
        points.chunks(points.len().div_ceil(8)).map(|c| c.iter().map(off).sum::<f64>() / c.len() as f64).collect();
    let swing = eighths.iter().fold(0.0_f64, |most, e| most.max(e.abs()));
    (rms < limit && most < 2.5 * limit && swing < limit).then_some((center, radius, rms))
}

fn mean(points: &[EdgePoint]) -> Point {
    let n = points.len() as f64;
    let (x, y) = points.iter().fold((0.0, 0.0), |(x, y), p| (x + p.at.x, y + p.at.y));
    Point::new(x / n, y / n)
}

/// The circle with the least squared distances, far points counting less (Gauss and Newton's method, Tukey's weights).
pub(crate) fn circle_through(points: &[EdgePoint], center: Point, radius: f64) -> (Point, f64) {
    let (mut center, mut radius) = (center, radius);
    let mut scale = f64::INFINITY;
    for _ in 0..25 {
        let mut normal = Matrix3::<f64>::identity() * 1e-9;
        let mut right = Vector3::zeros();
        let mut offs = Vec::with_capacity(points.len());
        for point in points {
            let away = point.at - center;
            let distance = away.length().max(1e-9);
            let off = distance - radius;
            offs.push(off.abs());
            let share = off / (4.0 * scale);
            if share.abs() >= 1.0 {
                continue;
            }
            let weight = (1.0 - share * share).powi(2) / (point.sigma * point.sigma + 1e-3);
            let row = Vector3::new(-away.x / distance, -away.y / distance, -1.0);
            normal += row * row.transpose() * weight;
            right -= row * (weight * off);
        }
        offs.sort_by(f64::total_cmp);
        scale = (1.4826 * offs[offs.len() / 2]).max(0.03);
        let Some(step) = normal.cholesky().map(|c| c.solve(&right)) else { break };
        center = Point::new(center.x + step.x, center.y + step.y);
        radius += step.z;
        if step.norm() < 1e-7 {
            break;
        }
    }
    (center, radius)
}

/// Cuts a ring into lines and arcs. The points run counter-clockwise or clockwise, about a millimetre apart.
pub(crate) fn pieces(points: &[EdgePoint]) -> Vec<Piece> {
    let n = points.len();
    if n < 12 {
        return Vec::new();
    }
    // The ring is opened at a corner, where it must be cut anyway.
    let start = sharpest(points);
    let turned: Vec<EdgePoint> = (0..n).map(|k| points[(start + k) % n]).collect();
    let sums = Sums::new(&turned, mean(points));
    let stride = (n / 700).max(1);
    let stops: Vec<usize> = (0..=n).filter(|k| k % stride == 0 || *k == n).collect();
    let mut best: Vec<(f64, usize, bool)> = vec![(f64::INFINITY, 0, false); stops.len()];
    best[0].0 = 0.0;
    for to in 1..stops.len() {
        for from in (0..to).rev() {
            let (a, b) = (stops[from], stops[to]);
            let count = b - a;
            if count < 4 {
                continue;
            }
            let trim = TRIM.min(count / 4);
            let (a, b) = (a + trim, b - trim);
            let line = sums.line(a, b);
            let base = best[from].0;
            let mut cost = (base + line + LINE_PRICE, from, false);
            if count >= 6
                && line > 1.0
                && let Some((off, radius)) = sums.circle(a, b)
                && radius < 2000.0
                && base + off + ARC_PRICE < cost.0
            {
                cost = (base + off + ARC_PRICE, from, true);
            }
            if cost.0 < best[to].0 {
                best[to] = cost;
            }
            // Nothing longer will fit when this does not by far.
            if count > 60 && line > 60.0 * LINE_PRICE && sums.circle(a, b).is_none_or(|(off, _)| off > 60.0 * ARC_PRICE)
            {
                break;
            }
        }
    }
    let mut cuts = Vec::new();
    let mut at = stops.len() - 1;
    while at > 0 {
        let (_, from, is_arc) = best[at];
        cuts.push((stops[from], stops[at], is_arc));
        at = from;
    }
    cuts.reverse();
    cuts.into_iter()
        .map(|(a, b, is_arc)| {
            let trim = TRIM.min((b - a) / 4);
            let mut piece = fitted(&turned[a + trim..b - trim], is_arc);
            (piece.from, piece.to) = ((start + a) % n, (start + b) % n);
            piece.length = turned[a..b].windows(2).map(|pair| pair[0].at.distance(pair[1].at)).sum();
            piece
        })
        .collect()
}

/// Where a ring turns most over a few millimetres.
fn sharpest(points: &[EdgePoint]) -> usize {
    let n = points.len();
    let reach = (n / 40).clamp(2, 8);
    let turn = |k: usize| {
        let (a, b, c) = (points[(k + n - reach) % n].at, points[k].at, points[(k + reach) % n].at);
        (b - a).cross(c - b).atan2((b - a).dot(c - b)).abs()
    };
    (0..n).max_by(|&a, &b| turn(a).total_cmp(&turn(b))).unwrap_or(0)
}

/// A line or an arc through points, far ones counting less.
pub(crate) fn fitted(points: &[EdgePoint], is_arc: bool) -> Piece {
    let (first, last) = (points[0].at, points[points.len() - 1].at);
    let chord = last - first;
    let mut form = line_through(points);
    if is_arc {
        let middle = points[points.len() / 2].at;
        let rise = chord.cross(middle - first) / chord.length().max(1e-9);
        let half = chord.length() / 2.0;
        let radius = (half * half + rise * rise) / (2.0 * rise.abs().max(1e-6));
        let out = chord.unit().unwrap_or(Vector::new(1.0, 0.0)).left() * rise.signum();
        // The middle point is the crown of the arc.
        let start = first.lerp(last, 0.5) + out * (rise.abs() - radius);
        let (center, radius) = circle_through(points, start, radius);
        let sagitta = radius - (radius * radius - half * half).max(0.0).sqrt();
        if radius.is_finite() && radius < 3000.0 && (sagitta > LEAST_RISE || radius < half) {
            // Left of travel lies the centre of an arc that turns left.
            form = Form::Arc { center, radius, is_left: rise < 0.0 };
        }
    }
    let offs: Vec<f64> = points.iter().map(|p| distance(&form, p.at).abs()).collect();
    let rms = (offs.iter().map(|o| o * o).sum::<f64>() / offs.len() as f64).sqrt();
    let mean_sigma = (points.iter().map(|p| p.sigma * p.sigma).sum::<f64>() / points.len() as f64).sqrt();
    let independent = (points.len() as f64 / SHARED).max(1.0);
    let sigma = rms.max(mean_sigma) * (3.0 / independent).sqrt().min(1.0);
    let mut sorted = offs.clone();
    sorted.sort_by(f64::total_cmp);
    let deviation = sorted[sorted.len() * 19 / 20];
    Piece { form, from: 0, to: 0, sigma, deviation, length: chord.length() }
}

fn line_through(points: &[EdgePoint]) -> Form {
    let (first, last) = (points[0].at, points[points.len() - 1].at);
    let mut form =
        Form::Line { at: first.lerp(last, 0.5), along: (last - first).unit().unwrap_or(Vector::new(1.0, 0.0)) };
    let mut scale = f64::INFINITY;
    for _ in 0..10 {
        let (mut n, mut x, mut y) = (0.0, 0.0, 0.0);
        let weights: Vec<f64> = points
            .iter()
            .map(|p| {
                let share = if scale.is_finite() { distance(&form, p.at) / (4.0 * scale) } else { 0.0 };
                let kept = if share.abs() < 1.0 { (1.0 - share * share).powi(2) } else { 0.0 };
                kept / (p.sigma * p.sigma + 1e-3)
            })
            .collect();
        for (p, w) in points.iter().zip(&weights) {
            n += w;
            x += w * p.at.x;
            y += w * p.at.y;
        }
        if n <= 0.0 {
            break;
        }
        let at = Point::new(x / n, y / n);
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (p, w) in points.iter().zip(&weights) {
            let d = p.at - at;
            xx += w * d.x * d.x;
            xy += w * d.x * d.y;
            yy += w * d.y * d.y;
        }
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let mut along = Vector::from_angle(angle);
        if along.dot(last - first) < 0.0 {
            along = along * -1.0;
        }
        form = Form::Line { at, along };
        let mut offs: Vec<f64> = points.iter().map(|p| distance(&form, p.at).abs()).collect();
        offs.sort_by(f64::total_cmp);
        scale = (1.4826 * offs[offs.len() / 2]).max(0.03);
    }
    form
}

/// Distance of a point from the whole line or circle, signed.
pub(crate) fn distance(form: &Form, point: Point) -> f64 {
    match form {
        Form::Line { at, along } => along.cross(point - *at),
        Form::Arc { center, radius, .. } => point.distance(*center) - radius,
    }
}

/// The nearest point of the whole line or circle.
pub(crate) fn nearest(form: &Form, point: Point) -> Point {
    match form {
        Form::Line { at, along } => *at + *along * along.dot(point - *at),
        Form::Arc { center, radius, .. } => {
            let away = (point - *center).unit().unwrap_or(Vector::new(1.0, 0.0));
            *center + away * *radius
        }
    }
}

/// Where two pieces that follow each other meet: their crossing nearest to the cut, or halfway between them.
pub(crate) fn joint(a: &Form, b: &Form, cut: Point) -> Point {
    let (p, q) = (nearest(a, cut), nearest(b, cut));
    let halfway = p.lerp(q, 0.5);
    let reach = 6.0 + 3.0 * p.distance(q);
    let candidates = crossings(a, b);
    let closest = candidates.into_iter().min_by(|s, t| s.distance(cut).total_cmp(&t.distance(cut)));
    closest.filter(|c| c.distance(cut) < reach).unwrap_or(halfway)
}

fn crossings(a: &Form, b: &Form) -> Vec<Point> {
    match (*a, *b) {
        (Form::Line { at, along }, Form::Line { at: other, along: way }) => {
            let sine = along.cross(way);
            if sine.abs() < 0.02 {
                return Vec::new();
            }
            vec![at + along * ((other - at).cross(way) / sine)]
        }
        (Form::Line { at, along }, Form::Arc { center, radius, .. })
        | (Form::Arc { center, radius, .. }, Form::Line { at, along }) => {
            let foot = at + along * along.dot(center - at);
            let square = radius * radius - foot.distance(center).powi(2);
            if square <= 0.0 {
                return Vec::new();
            }
            vec![foot + along * square.sqrt(), foot - along * square.sqrt()]
        }
        (Form::Arc { center: c, radius: r, .. }, Form::Arc { center: d, radius: s, .. }) => {
            let between = d - c;
            let length = between.length();
            if length < 1e-6 {
                return Vec::new();
            }
            let x = (length * length + r * r - s * s) / (2.0 * length);
            let square = r * r - x * x;
            if square <= 0.0 {
                return Vec::new();
            }
            let (out, up) = (between * (1.0 / length), between.left() * (square.sqrt() / length));
            vec![c + out * x + up, c + out * x - up]
        }
    }
}

/// The outline of pieces in order: joints, with arcs between them as bulges.
pub(crate) fn outline(pieces: &[Piece], points: &[EdgePoint]) -> Outline {
    let n = pieces.len();
    let joints: Vec<Point> =
        (0..n).map(|k| joint(&pieces[(k + n - 1) % n].form, &pieces[k].form, points[pieces[k].from].at)).collect();
    let vertices = (0..n).map(|k| {
        let (start, end) = (joints[k], joints[(k + 1) % n]);
        match pieces[k].form {
            Form::Line { .. } => Vertex::line(start),
            Form::Arc { center, is_left, .. } => {
                let turn = (end - center).angle() - (start - center).angle();
                let sweep = if is_left { turn.rem_euclid(TAU) } else { turn.rem_euclid(TAU) - TAU };
                // A joint a hair beyond the other end must not send the arc all the way round.
                let sweep = if sweep.abs() > 1.9 * PI && start.distance(end) < 2.0 { 0.0 } else { sweep };
                Vertex::arc(start, (sweep / 4.0).tan())
            }
        }
    });
    Outline::new(vertices.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64, f64)], noise: f64) -> Vec<EdgePoint> {
        let outline = Outline::new(corners.iter().map(|&(x, y, b)| Vertex::arc(Point::new(x, y), b)).collect());
        let mut points = Vec::new();
        let mut k = 0_u32;
        for segment in outline.segments() {
            let count = segment.length().round().max(1.0) as usize;
            for i in 0..count {
                k = k.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let off = (f64::from(k >> 8) / f64::from(1 << 24) - 0.5) * 2.0 * noise;
                let (a, b) = (segment.at(i as f64 / count as f64), segment.at((i as f64 + 0.01) / count as f64));
                let outward = (b - a).unit().unwrap().left() * -1.0;
                points.push(EdgePoint { at: a + outward * off, sigma: 0.1, contrast: 10.0 });
            }
        }
        points
    }

    #[test]
    fn a_plate_with_a_round_bite_is_four_sides_and_an_arc() {
        // A rectangle of 200 x 120 with a half circle of 40 bitten out of its upper side.
        let corners =
            [(0., 0., 0.), (200., 0., 0.), (200., 120., 0.), (120., 120., -1.0), (80., 120., 0.), (0., 120., 0.)];
        let points = ring(&corners, 0.15);
        let found = pieces(&points);
        let arcs: Vec<f64> = found
            .iter()
            .filter_map(|p| match p.form {
                Form::Arc { radius, .. } => Some(radius),
                Form::Line { .. } => None,
            })
            .collect();
        assert_eq!((found.len(), arcs.len()), (6, 1), "{found:#?}");
        assert!((arcs[0] - 20.0).abs() < 0.1);
        let drawn = outline(&found, &points);
        let exact = 200.0 * 120.0 - PI * 200.0;
        assert!((drawn.area() - exact).abs() < 10.0, "{} beside {exact}", drawn.area());
    }

    #[test]
    fn a_hexagon_is_no_circle_and_a_circle_is_one() {
        let corners: Vec<(f64, f64, f64)> =
            (0..6).map(|k| (f64::from(k) * PI / 3.0).sin_cos()).map(|(s, c)| (30.0 * c, 30.0 * s, 0.0)).collect();
        assert!(as_circle(&ring(&corners, 0.1)).is_none());
        let (center, radius, _) = as_circle(&ring(&[(-30., 0., 1.), (30., 0., 1.)], 0.1)).unwrap();
        assert!(center.distance(Point::ORIGIN) < 0.05 && (radius - 30.0).abs() < 0.05);
    }
}
