//! A cover of circles, laid out for vector instructions.

use dropwise_geometry::Point;
use wide::f32x8;

/// How many circles stand in a group.
const LANES: usize = 8;
/// Radius of a place that stands for no circle: so negative that no sum with a real one gets near zero, yet finite.
const NO_RADIUS: f32 = -1e9;

/// Eight circles. Places that stand for no circle have a radius far below zero, so that they overlap nothing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Group {
    pub(crate) x: f32x8,
    pub(crate) y: f32x8,
    pub(crate) r: f32x8,
}

/// The circles of a cover, largest first, in groups of eight.
///
/// Single precision: the cover only measures how deep two shapes sink into each other and proves that they do; that
/// they are apart is decided by their edges in double precision. Radii are reduced by more than the rounding error, so
/// that circles never claim an overlap that is not there.
#[derive(Clone, Debug, Default)]
pub(crate) struct Circles {
    groups: Vec<Group>,
    count: usize,
}

impl Circles {
    /// Circles of these centres and radii; radii must be positive.
    pub(crate) fn new(circles: &[(Point, f64)]) -> Self {
        let lane = |chunk: &[(Point, f64)], empty: f32, of: fn(&(Point, f64)) -> f64| {
            let mut values = [empty; LANES];
            for (value, circle) in values.iter_mut().zip(chunk) {
                *value = of(circle) as f32;
            }
            f32x8::from(values)
        };
        let groups = circles
            .chunks(LANES)
            .map(|chunk| Group {
                x: lane(chunk, 0.0, |c| c.0.x),
                y: lane(chunk, 0.0, |c| c.0.y),
                r: lane(chunk, NO_RADIUS, |c| c.1),
            })
            .collect();
        Self { groups, count: circles.len() }
    }

    /// How many circles there are.
    #[inline]
    pub(crate) fn count(&self) -> usize {
        self.count
    }

    #[inline]
    pub(crate) fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// Centre and radius of one circle.
    #[inline]
    pub(crate) fn get(&self, index: usize) -> [f32; 3] {
        let group = &self.groups[index / LANES];
        let lane = index % LANES;
        let of = |values: &f32x8| values.as_array()[lane];
        [of(&group.x), of(&group.y), of(&group.r)]
    }

    /// Writes the circles, turned by an angle of known sine and cosine and then moved, over another cover.
    #[inline]
    pub(crate) fn moved_into(&self, (sin, cos): (f64, f64), by: Point, into: &mut Self) {
        let (dx, dy) = (f32x8::splat(by.x as f32), f32x8::splat(by.y as f32));
        into.count = self.count;
        into.groups.clear();
        if (sin, cos) == (0.0, 1.0) {
            into.groups.extend(self.groups.iter().map(|g| Group { x: g.x + dx, y: g.y + dy, ..*g }));
            return;
        }
        let (sin, cos) = (f32x8::splat(sin as f32), f32x8::splat(cos as f32));
        into.groups.extend(self.groups.iter().map(|g| Group {
            x: cos * g.x - sin * g.y + dx,
            y: sin * g.x + cos * g.y + dy,
            ..*g
        }));
    }
}
