//! Prisms of tools, and what of a polygon lies inside one.

use dropwise_geometry::Point;

use crate::fold::Point3;

/// A convex section, counter-clockwise, over a stretch of z.
#[derive(Clone, Debug)]
pub(super) struct Prism {
    section: Vec<Point>,
    from: f64,
    to: f64,
}

/// Less than this of a polygon inside a prism is rounding, mm².
const NOTHING: f64 = 0.01;

impl Prism {
    pub(super) fn new(section: Vec<Point>, from: f64, to: f64) -> Self {
        Self { section, from, to }
    }

    pub(super) fn rectangle(x: (f64, f64), y: (f64, f64), z: (f64, f64)) -> Self {
        let corners = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)];
        Self::new(corners.into_iter().map(|(x, y)| Point::new(x, y)).collect(), z.0, z.1)
    }

    /// Whether a plane polygon enters the prism by more than `touch`.
    ///
    /// # Source
    /// I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974).
    pub(super) fn is_entered(&self, polygon: &[Point3], touch: f64) -> bool {
        let (from, to) = (self.from + touch, self.to - touch);
        let mut left = clipped(polygon, |point| point.z - from);
        left = clipped(&left, |point| to - point.z);
        for (index, &start) in self.section.iter().enumerate() {
            if left.len() < 3 {
                return false;
            }
            let side = self.section[(index + 1) % self.section.len()] - start;
            let length = side.length();
            if length == 0.0 {
                continue;
            }
            left = clipped(&left, |point| side.cross(Point::new(point.x, point.y) - start) / length - touch);
        }
        area(&left) > NOTHING
    }
}

/// What of a polygon lies where `depth` is not below zero.
fn clipped(polygon: &[Point3], depth: impl Fn(Point3) -> f64) -> Vec<Point3> {
    let mut kept = Vec::with_capacity(polygon.len() + 2);
    for (index, &point) in polygon.iter().enumerate() {
        let next = polygon[(index + 1) % polygon.len()];
        let (here, there) = (depth(point), depth(next));
        if here >= 0.0 {
            kept.push(point);
        }
        if (here >= 0.0) != (there >= 0.0) {
            kept.push(point + (next - point) * (here / (here - there)));
        }
    }
    kept
}

fn area(polygon: &[Point3]) -> f64 {
    let Some(&first) = polygon.first() else { return 0.0 };
    let sum = polygon.windows(2).fold(Point3::default(), |sum, pair| sum + (pair[0] - first).cross(pair[1] - first));
    sum.length() / 2.0
}

/// The triangles of a simple polygon, counter-clockwise: ears cut off one by one.
///
/// # Source
/// G. H. Meisters, Polygons have ears, American Mathematical Monthly 82 (1975).
pub(super) fn triangles(polygon: &[Point]) -> Vec<Vec<Point>> {
    let mut rest = polygon.to_vec();
    let mut found = Vec::with_capacity(rest.len());
    while rest.len() > 3 {
        let count = rest.len();
        let ear = (0..count).find(|&i| {
            let [a, b, c] = [rest[(i + count - 1) % count], rest[i], rest[(i + 1) % count]];
            let is_inside =
                |p: Point| (b - a).cross(p - a) > 0.0 && (c - b).cross(p - b) > 0.0 && (a - c).cross(p - c) > 0.0;
            (b - a).cross(c - b) > 0.0 && !rest.iter().any(|&p| p != a && p != b && p != c && is_inside(p))
        });
        // A corner in a straight line is no ear; when only those are left, dropping one loses nothing.
        let cut = ear.unwrap_or(0);
        if ear.is_some() {
            found.push(vec![rest[(cut + count - 1) % count], rest[cut], rest[(cut + 1) % count]]);
        }
        rest.remove(cut);
    }
    found.push(rest);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::Punch;

    #[test]
    fn triangles_add_up_to_the_section() {
        for punch in Punch::usual() {
            let area = |points: &[Point]| dropwise_geometry::Outline::polygon(points.to_vec()).signed_area();
            let parts = triangles(&punch.section);
            assert!(parts.iter().all(|part| area(part) > 0.0));
            let sum: f64 = parts.iter().map(|part| area(part)).sum();
            assert!((sum - area(&punch.section)).abs() < 1e-9, "{}", punch.name);
        }
    }

    #[test]
    fn a_polygon_enters_a_prism_or_touches_it() {
        let prism = Prism::rectangle((-10.0, 10.0), (0.0, 50.0), (0.0, 100.0));
        let wall = |x: f64| {
            [(x, -5.0, -20.0), (x, 60.0, -20.0), (x, 60.0, 120.0), (x, -5.0, 120.0)]
                .map(|(x, y, z)| Point3::new(x, y, z))
        };
        assert!(prism.is_entered(&wall(9.0), 0.3) && !prism.is_entered(&wall(9.8), 0.3));
        assert!(!prism.is_entered(&wall(10.0), 0.01) && !prism.is_entered(&wall(-11.0), 0.3));
        // A U around the prism, whose legs pass it on both sides, is cut into nothing.
        let u = [
            (-20.0, -9.0),
            (20.0, -9.0),
            (20.0, 60.0),
            (15.0, 60.0),
            (15.0, -5.0),
            (-15.0, -5.0),
            (-15.0, 60.0),
            (-20.0, 60.0),
        ];
        let u: Vec<Point3> = u.iter().map(|&(x, y)| Point3::new(x, y, 50.0)).collect();
        assert!(!prism.is_entered(&u, 0.3));
    }
}
