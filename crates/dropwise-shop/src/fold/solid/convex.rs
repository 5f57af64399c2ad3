//! Convex bodies in space: hulls of a few points, and what two of them share.

use crate::fold::Point3;

/// Points nearer to a plane than this lie in it, mm.
const IN_PLANE: f64 = 1e-7;

/// A half space: all points whose product with the normal is at most the offset.
#[derive(Clone, Copy, Debug)]
struct Plane {
    /// Of length one, outwards.
    normal: Point3,
    offset: f64,
}

impl Plane {
    /// How far outside a point lies; negative inside.
    fn height(&self, point: Point3) -> f64 {
        self.normal.dot(point) - self.offset
    }
}

/// A convex body, by its facets: each a plane and the corners around it, counter-clockwise from outside.
#[derive(Clone, Debug)]
pub(crate) struct Convex {
    facets: Vec<(Plane, Vec<Point3>)>,
    low: Point3,
    high: Point3,
}

impl Convex {
    /// The hull of a few points; `None` where it has no volume.
    ///
    /// # Cost
    /// O(n⁴): meant for the eight corners of a piece of sheet.
    pub(crate) fn hull(points: &[Point3]) -> Option<Self> {
        let mut facets: Vec<(Plane, Vec<Point3>)> = Vec::new();
        for (i, &a) in points.iter().enumerate() {
            for (j, &b) in points.iter().enumerate().skip(i + 1) {
                for &c in &points[j + 1..] {
                    let Some(normal) = unit((b - a).cross(c - a)) else { continue };
                    for normal in [normal, -normal] {
                        let plane = Plane { normal, offset: normal.dot(a) };
                        let is_known = facets.iter().any(|(known, _)| {
                            known.normal.dot(normal) > 1.0 - 1e-9 && (known.offset - plane.offset).abs() < IN_PLANE
                        });
                        if !is_known && points.iter().all(|&point| plane.height(point) < IN_PLANE) {
                            let on = points.iter().copied().filter(|&point| plane.height(point) > -IN_PLANE);
                            facets.push((plane, around(on.collect(), normal)));
                        }
                    }
                }
            }
        }
        // A flat set of points has the same plane on both sides.
        let body = Self::of(facets)?;
        (body.volume() > 0.0).then_some(body)
    }

    fn of(facets: Vec<(Plane, Vec<Point3>)>) -> Option<Self> {
        let mut corners = facets.iter().flat_map(|(_, ring)| ring);
        let first = *corners.next()?;
        let (low, high) = corners.fold((first, first), |(low, high), point| {
            (
                Point3::new(low.x.min(point.x), low.y.min(point.y), low.z.min(point.z)),
                Point3::new(high.x.max(point.x), high.y.max(point.y), high.z.max(point.z)),
            )
        });
        Some(Self { facets, low, high })
    }

    /// All corners, some of them more than once.
    pub(crate) fn corners(&self) -> impl Iterator<Item = Point3> + '_ {
        self.facets.iter().flat_map(|(_, ring)| ring.iter().copied())
    }

    /// Whether the boxes around two bodies share anything.
    pub(crate) fn is_near(&self, other: &Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
            && self.low.z <= other.high.z
            && other.low.z <= self.high.z
    }

    /// What two bodies share; `None` where that has no volume.
    pub(crate) fn shared(&self, other: &Self) -> Option<Self> {
        if !self.is_near(other) {
            return None;
        }
        let mut left = self.facets.clone();
        for (plane, _) in &other.facets {
            left = clipped(left, plane);
            if left.len() < 4 {
                return None;
            }
        }
        Self::of(left)
    }

    /// Volume, mm³.
    ///
    /// # Source
    /// Divergence theorem: a third of the facets' areas times their distances from a point. Textbook.
    pub(crate) fn volume(&self) -> f64 {
        let Some(&origin) = self.facets.first().and_then(|(_, ring)| ring.first()) else { return 0.0 };
        let of_ring = |ring: &Vec<Point3>| -> f64 {
            let from = ring[0] - origin;
            ring.windows(2).map(|pair| from.dot((pair[0] - origin).cross(pair[1] - origin))).sum()
        };
        self.facets.iter().map(|(_, ring)| of_ring(ring)).sum::<f64>() / 6.0
    }
}

fn unit(vector: Point3) -> Option<Point3> {
    let length = vector.length();
    (length > 1e-9).then(|| vector * (1.0 / length))
}

/// Points of a plane in order around their middle, counter-clockwise as seen from where the normal points.
fn around(mut points: Vec<Point3>, normal: Point3) -> Vec<Point3> {
    let middle = points.iter().fold(Point3::default(), |sum, &point| sum + point) * (1.0 / points.len() as f64);
    // The farthest point gives a direction that is no rounding error.
    let farthest = points.iter().copied().max_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
    let Some(x) = farthest.and_then(|point| unit(point - middle)) else { return points };
    let y = normal.cross(x);
    let angle = |point: &Point3| (*point - middle).dot(y).atan2((*point - middle).dot(x));
    points.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    points.dedup_by(|a, b| a.distance(*b) < IN_PLANE);
    points
}

/// What of a body lies within a plane.
///
/// # Source
/// I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974), facet by facet.
fn clipped(facets: Vec<(Plane, Vec<Point3>)>, plane: &Plane) -> Vec<(Plane, Vec<Point3>)> {
    if facets.iter().all(|(_, ring)| ring.iter().all(|&point| plane.height(point) <= 0.0)) {
        return facets;
    }
    let mut kept = Vec::with_capacity(facets.len() + 1);
    let mut cut: Vec<Point3> = Vec::new();
    for (own, ring) in facets {
        let mut left = Vec::with_capacity(ring.len() + 2);
        for (index, &point) in ring.iter().enumerate() {
            let next = ring[(index + 1) % ring.len()];
            let (here, there) = (plane.height(point), plane.height(next));
            if here <= 0.0 {
                left.push(point);
            }
            if (here <= 0.0) != (there <= 0.0) {
                let at = point + (next - point) * (here / (here - there));
                left.push(at);
                cut.push(at);
            }
        }
        if left.len() > 2 {
            kept.push((own, left));
        }
    }
    if cut.len() > 2 {
        let ring = around(cut, plane.normal);
        if ring.len() > 2 {
            kept.push((*plane, ring));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(from: (f64, f64, f64), size: (f64, f64, f64)) -> Convex {
        let mut corners = Vec::new();
        for x in [0.0, size.0] {
            for y in [0.0, size.1] {
                corners.extend([0.0, size.2].map(|z| Point3::new(from.0 + x, from.1 + y, from.2 + z)));
            }
        }
        Convex::hull(&corners).expect("a block has a volume")
    }

    #[test]
    fn blocks_share_a_block() {
        let (one, two) = (block((0.0, 0.0, 0.0), (10.0, 20.0, 2.0)), block((7.0, 15.0, 1.0), (10.0, 20.0, 2.0)));
        assert!((one.volume() - 400.0).abs() < 1e-9);
        assert!((one.shared(&two).expect("they overlap").volume() - 3.0 * 5.0).abs() < 1e-9);
        assert!(one.shared(&block((10.0, 0.0, 0.0), (5.0, 5.0, 2.0))).is_none_or(|shared| shared.volume() < 1e-9));
        assert!(one.shared(&block((30.0, 0.0, 0.0), (5.0, 5.0, 2.0))).is_none());
    }

    /// A block and itself turned by 45° share a regular octagon: 2 (√2 - 1) s² in area.
    #[test]
    fn turned_blocks_share_an_octagon() {
        let square = |turn: f64| {
            let corner = |k: i32, z: f64| {
                let (sin, cos) = (turn + 45.0 + 90.0 * f64::from(k)).to_radians().sin_cos();
                Point3::new(cos * 50_f64.sqrt(), sin * 50_f64.sqrt(), z)
            };
            let corners: Vec<Point3> = (0..4).flat_map(|k| [corner(k, 0.0), corner(k, 3.0)]).collect();
            Convex::hull(&corners).expect("a block has a volume")
        };
        let shared = square(0.0).shared(&square(45.0)).expect("they overlap");
        assert!((shared.volume() - 3.0 * 200.0 * (2_f64.sqrt() - 1.0)).abs() < 1e-6, "{}", shared.volume());
    }

    #[test]
    fn what_is_flat_is_no_body() {
        let flat = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| Point3::new(x, y, 0.0));
        assert!(Convex::hull(&flat).is_none());
    }
}
