//! The convex hull of a shape, laid out for vector instructions: how far it reaches, however it is turned.

use dropwise_geometry::{Bounds, Point, Vector};
use pulp::NullaryFnOnce;

use crate::shapes::half_plane::HalfPlane;
use crate::shapes::vectors::Vectors;
use crate::shapes::vectors::{LANES, least_of};
use crate::shapes::vectors::{greater, lesser};

/// Corners in groups; the last group is filled up with the first corner.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hull {
    groups: Vec<[[f64; LANES]; 2]>,
}

impl Hull {
    pub(crate) fn new(corners: &[Point]) -> Self {
        let Some(&first) = corners.first() else { return Self::default() };
        let groups = corners.chunks(LANES).map(|chunk| {
            let at = |lane: usize| chunk.get(lane).copied().unwrap_or(first);
            [std::array::from_fn(|lane| at(lane).x), std::array::from_fn(|lane| at(lane).y)]
        });
        Self { groups: groups.collect() }
    }

    /// How far it reaches in a direction given as a unit vector.
    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn reach_along(&self, Vector { x, y }: Vector) -> f64 {
        let mut least = [f64::INFINITY; LANES];
        for [xs, ys] in &self.groups {
            for i in 0..LANES {
                least[i] = lesser(-(x * xs[i] + y * ys[i]), least[i]);
            }
        }
        -least_of(least)
    }

    /// The same once it is turned by an angle of known sine and cosine: the direction is turned back instead of every corner
    /// forward.
    #[inline(always)]
    fn reach_when_turned(&self, Vector { x, y }: Vector, (sin, cos): (f64, f64)) -> f64 {
        self.reach_along(Vector::new(cos * x + sin * y, cos * y - sin * x))
    }
}

/// Half planes in groups, by their normals and limits; the last group is filled up with ones that hold everything.
#[derive(Clone, Debug, Default)]
pub(crate) struct Planes {
    groups: Vec<[[f64; LANES]; 3]>,
}

impl Planes {
    pub(crate) fn new(planes: &[HalfPlane]) -> Self {
        let groups = planes.chunks(LANES).map(|chunk| {
            let lane = |of: fn(&HalfPlane) -> f64, empty: f64| -> [f64; LANES] {
                std::array::from_fn(|lane| chunk.get(lane).map_or(empty, of))
            };
            [lane(|p| p.normal.x, 0.0), lane(|p| p.normal.y, 0.0), lane(|p| p.limit, f64::INFINITY)]
        });
        Self { groups: groups.collect() }
    }
}

impl Vectors {
    /// The box of a hull turned by an angle of known sine and cosine.
    #[inline]
    pub(crate) fn turned_bounds(self, hull: &Hull, rotation: (f64, f64)) -> Bounds {
        self.arch().dispatch(TurnedBounds { hull, rotation })
    }

    /// How far a hull sticks out of all the half planes together, by more than `touch` each; `reach` is that of its farthest
    /// corner.
    #[inline]
    pub(crate) fn beyond(
        self,
        planes: &Planes,
        hull: &Hull,
        reach: f64,
        rotation: (f64, f64),
        at: Point,
        touch: f64,
    ) -> f64 {
        self.arch().dispatch(Beyond { planes, hull, reach, rotation, at, touch })
    }

    /// How far a hull sticks out of the half plane that it sticks out of most, negative if it lies inside of all; some of them
    /// may be left out of account once that is more than `enough`.
    #[inline]
    pub(crate) fn farthest_beyond(
        self,
        planes: &Planes,
        hull: &Hull,
        (rotation, at): ((f64, f64), Point),
        enough: f64,
    ) -> f64 {
        self.arch().dispatch(FarthestBeyond { planes, hull, rotation, at, enough })
    }
}

struct FarthestBeyond<'a> {
    planes: &'a Planes,
    hull: &'a Hull,
    rotation: (f64, f64),
    at: Point,
    enough: f64,
}

impl NullaryFnOnce for FarthestBeyond<'_> {
    type Output = f64;

    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn call(self) -> f64 {
        let Self { planes, hull, rotation, at, enough } = self;
        let mut most = f64::NEG_INFINITY;
        for [xs, ys, limits] in &planes.groups {
            for i in 0..LANES {
                let reach = hull.reach_when_turned(Vector::new(xs[i], ys[i]), rotation);
                most = greater(reach + (xs[i] * at.x + ys[i] * at.y) - limits[i], most);
                if most > enough {
                    return most;
                }
            }
        }
        most
    }
}

struct TurnedBounds<'a> {
    hull: &'a Hull,
    rotation: (f64, f64),
}

impl NullaryFnOnce for TurnedBounds<'_> {
    type Output = Bounds;

    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn call(self) -> Bounds {
        let (sin, cos) = self.rotation;
        // Left, lower, and the negated right and upper side.
        let mut sides = [[f64::INFINITY; LANES]; 4];
        for [xs, ys] in &self.hull.groups {
            for i in 0..LANES {
                let (x, y) = (cos * xs[i] - sin * ys[i], sin * xs[i] + cos * ys[i]);
                sides[0][i] = lesser(x, sides[0][i]);
                sides[1][i] = lesser(y, sides[1][i]);
                sides[2][i] = lesser(-x, sides[2][i]);
                sides[3][i] = lesser(-y, sides[3][i]);
            }
        }
        let [left, low, right, high] = sides;
        Bounds { min: Point::new(least_of(left), least_of(low)), max: Point::new(-least_of(right), -least_of(high)) }
    }
}

struct Beyond<'a> {
    planes: &'a Planes,
    hull: &'a Hull,
    reach: f64,
    rotation: (f64, f64),
    at: Point,
    touch: f64,
}

impl NullaryFnOnce for Beyond<'_> {
    type Output = f64;

    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn call(self) -> f64 {
        let Self { planes, hull, reach, rotation, at, touch } = self;
        let mut sum = 0.0;
        for [xs, ys, limits] in &planes.groups {
            let (mut inside, mut is_near) = ([0.0; LANES], 0_u32);
            for i in 0..LANES {
                inside[i] = limits[i] - (xs[i] * at.x + ys[i] * at.y);
                // Far from the edge nothing sticks out.
                is_near |= u32::from(inside[i] < reach);
            }
            if is_near == 0 {
                continue;
            }
            for i in 0..LANES {
                if inside[i] < reach {
                    let beyond = hull.reach_when_turned(Vector::new(xs[i], ys[i]), rotation) - inside[i];
                    if beyond > touch {
                        sum += beyond;
                    }
                }
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shapes::pose::turned;
    use dropwise_geometry::sin_cos_deg;
    use proptest::prelude::*;

    fn corners() -> impl Strategy<Value = Vec<Point>> {
        proptest::collection::vec((-50.0..50.0_f64, -50.0..50.0_f64).prop_map(|(x, y)| Point::new(x, y)), 3..40)
    }

    proptest! {
        #[test]
        fn the_box_is_that_of_the_turned_corners(corners in corners(), turn in 0.0..360.0_f64) {
            let rotation = sin_cos_deg(turn);
            let found = Vectors::default().turned_bounds(&Hull::new(&corners), rotation);
            prop_assert_eq!(found, Bounds::of(corners.iter().map(|&p| turned(p, rotation))));
        }

        #[test]
        fn what_sticks_out_is_what_the_farthest_corner_does(
            corners in corners(),
            turn in 0.0..360.0_f64,
            at in (-60.0..60.0_f64, -60.0..60.0_f64),
            sides in proptest::collection::vec((0.0..360.0_f64, 0.0..100.0_f64), 1..20),
        ) {
            let (rotation, at) = (sin_cos_deg(turn), Point::new(at.0, at.1));
            let planes: Vec<HalfPlane> = sides
                .into_iter()
                .map(|(angle, limit)| HalfPlane { normal: Vector::from_angle(angle.to_radians()), limit })
                .collect();
            let beyond = |plane: &HalfPlane| {
                let reach = |&p: &Point| plane.normal.dot((turned(p, rotation) + at.to_vector()).to_vector());
                corners.iter().map(reach).fold(f64::NEG_INFINITY, f64::max) - plane.limit
            };
            let expected: f64 = planes.iter().map(beyond).filter(|&beyond| beyond > 1e-9).sum();
            let reach = corners.iter().map(|p| p.to_vector().length()).fold(0.0, f64::max);
            let found = Vectors::default()
                .beyond(&Planes::new(&planes), &Hull::new(&corners), reach, rotation, at, 1e-9);
            prop_assert!((found - expected).abs() < 1e-8, "{found} for {expected}");
            let farthest = planes.iter().map(beyond).fold(f64::NEG_INFINITY, f64::max);
            let (planes, hull) = (Planes::new(&planes), Hull::new(&corners));
            let found = |enough| Vectors::default().farthest_beyond(&planes, &hull, (rotation, at), enough);
            prop_assert!((found(f64::INFINITY) - farthest).abs() < 1e-8, "{} for {farthest}", found(f64::INFINITY));
            prop_assert_eq!(found(0.5) > 0.5, farthest > 0.5);
        }
    }
}
