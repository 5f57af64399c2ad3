//! Convex hulls.

use crate::Point;

/// The smallest convex ring around some points, counter-clockwise from the lowest of the leftmost, no three corners in
/// line and none repeated.
///
/// Fewer than three points when the input has fewer distinct ones, or all lie on a line (then its two ends). Points
/// that are not finite are left out. Which of two points that lie within rounding of the same edge survives is not
/// promised; the hull holds all of them to within a few units in the last place of the coordinates.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Point, convex_hull};
/// let notched = [(0.0, 0.0), (4.0, 0.0), (2.0, 1.0), (4.0, 3.0), (0.0, 3.0)].map(|(x, y)| Point::new(x, y));
/// assert_eq!(convex_hull(&notched).len(), 4);
/// ```
///
/// # Cost
/// n log n.
///
/// # Source
/// A. M. Andrew, Another efficient algorithm for convex hulls in two dimensions, Information Processing Letters 9
/// (1979), from memory.
#[must_use]
pub fn convex_hull(points: &[Point]) -> Vec<Point> {
    let mut sorted: Vec<Point> = points.iter().copied().filter(|point| point.is_finite()).collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    // Compared with ==, so that 0.0 and -0.0 count as one; they sort next to each other.
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = half_hull(sorted.iter().copied());
    let upper = half_hull(sorted.iter().rev().copied());
    // Each half ends where the other begins.
    hull.pop();
    hull.extend_from_slice(&upper[..upper.len() - 1]);
    hull
}

/// The chain that turns left only, from the first point to the last.
fn half_hull(points: impl Iterator<Item = Point>) -> Vec<Point> {
    let mut chain: Vec<Point> = Vec::new();
    for point in points {
        while let [.., before, last] = chain[..] {
            if (last - before).cross(point - last) > 0.0 {
                break;
            }
            chain.pop();
        }
        chain.push(point);
    }
    chain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(coordinates: &[(f64, f64)]) -> Vec<Point> {
        coordinates.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn points_on_edges_and_inside_are_left_out() {
        let grid: Vec<Point> = (0..25).map(|i| Point::new(f64::from(i % 5), f64::from(i / 5))).collect();
        assert_eq!(convex_hull(&grid), points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]));
    }

    #[test]
    fn fewer_than_three_corners_are_returned_as_they_are() {
        assert!(convex_hull(&[]).is_empty());
        assert_eq!(convex_hull(&points(&[(1.0, 2.0), (1.0, 2.0)])), points(&[(1.0, 2.0)]));
        assert_eq!(convex_hull(&points(&[(2.0, 2.0), (0.0, 0.0), (1.0, 1.0)])), points(&[(0.0, 0.0), (2.0, 2.0)]));
        assert_eq!(convex_hull(&points(&[(0.0, 1.0), (-0.0, 1.0), (f64::NAN, 0.0)])).len(), 1);
    }
}
