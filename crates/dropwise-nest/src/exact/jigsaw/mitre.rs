//! Rings moved outwards or inwards with sharp corners.

use dropwise_geometry::{Point, Vector};

/// Removes corners at which a ring runs straight on, and corners that stand on the one before.
pub(crate) fn cleaned(ring: &[Point], tolerance: f64) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(ring.len());
    for &point in ring {
        if kept.last().is_none_or(|last| last.distance(point) > tolerance) {
            kept.push(point);
        }
    }
    while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= tolerance {
        kept.pop();
    }
    let mut index = 0;
    while kept.len() > 3 && index < kept.len() {
        let n = kept.len();
        let (before, at, after) = (kept[(index + n - 1) % n], kept[index], kept[(index + 1) % n]);
        let chord = after - before;
        let is_straight =
            chord.cross(at - before).abs() <= tolerance * chord.length() && (at - before).dot(after - at) > 0.0;
        if is_straight {
            kept.remove(index);
            index = index.saturating_sub(1);
        } else {
            index += 1;
        }
    }
    kept
}

/// A ring with its metal to the left, its sides moved outwards by `by` (inwards if negative) and lengthened until they
/// meet again. `None` if a side would vanish or a corner is so sharp that its point would fly off.
///
/// Outwards this covers all points within `by` of the metal and more: at a corner the true line is an arc. Parts with a
/// web cut from one another along straight lines fit together exactly when grown so.
pub(crate) fn mitred(ring: &[Point], by: f64) -> Option<Vec<Point>> {
    if by == 0.0 {
        return Some(ring.to_vec());
    }
    let n = ring.len();
    let unit = |i: usize| (ring[(i + 1) % n] - ring[i % n]).unit();
    let mut moved = Vec::with_capacity(n);
    for (i, &corner) in ring.iter().enumerate() {
        let (into, out): (Vector, Vector) = (unit(i + n - 1)?, unit(i)?);
        let spread = 1.0 + into.dot(out);
        if spread < SHARPEST {
            return None;
        }
        let normals = -(into.left() + out.left());
        moved.push(corner + normals * (by / spread));
    }
    let keeps_direction = |i: usize| (moved[(i + 1) % n] - moved[i]).dot(ring[(i + 1) % n] - ring[i]) > 0.0;
    (0..n).all(keeps_direction).then_some(moved)
}

/// Least of one plus the cosine of the bend at a corner: a corner of about 11 degrees.
const SHARPEST: f64 = 0.02;

#[cfg(test)]
mod tests {
    use super::*;

    fn points(corners: &[(f64, f64)]) -> Vec<Point> {
        corners.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn a_square_grows_to_a_square_and_back() {
        let square = points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        let grown = mitred(&square, 1.0).unwrap();
        assert_eq!(grown, points(&[(-1.0, -1.0), (5.0, -1.0), (5.0, 5.0), (-1.0, 5.0)]));
        assert_eq!(mitred(&grown, -1.0).unwrap(), square);
        assert_eq!(mitred(&square, -2.5), None, "nothing is left of it");
    }

    #[test]
    fn corners_on_a_straight_side_are_no_corners() {
        let ring = points(&[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (4.0, 4.0), (4.0, 4.0), (0.0, 4.0), (0.0, 1.0)]);
        assert_eq!(cleaned(&ring, 1e-9), points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]));
    }
}
