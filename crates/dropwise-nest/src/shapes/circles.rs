//! A cover of circles, laid out for vector instructions.

use dropwise_geometry::Point;

/// How many circles stand in a group: a full vector of the widest kind, two of the next.
pub(crate) const LANES: usize = 16;
/// Where a place that stands for no circle lies: so far off that it is near nothing, yet finite when squared.
const NOWHERE: f32 = 1e17;

/// Some circles. Places that stand for no circle lie far away and have no radius.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Group {
    pub(crate) x: [f32; LANES],
    pub(crate) y: [f32; LANES],
    pub(crate) r: [f32; LANES],
}

/// The circles of a cover, largest first, in groups.
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
            values
        };
        let groups = circles
            .chunks(LANES)
            .map(|chunk| Group {
                x: lane(chunk, NOWHERE, |c| c.0.x),
                y: lane(chunk, NOWHERE, |c| c.0.y),
                r: lane(chunk, 0.0, |c| c.1),
            })
            .collect();
        Self { groups, count: circles.len() }
    }

    /// How many circles there are.
    #[inline]
    pub(crate) fn count(&self) -> usize {
        self.count
    }

    #[inline(always)]
    pub(crate) fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// Centre and radius of one circle.
    #[inline(always)]
    pub(crate) fn get(&self, index: usize) -> [f32; 3] {
        let (group, lane) = (&self.groups[index / LANES], index % LANES);
        [group.x[lane], group.y[lane], group.r[lane]]
    }

    /// Writes the circles, turned by an angle of known sine and cosine and then moved, over another cover.
    #[inline]
    pub(crate) fn moved_into(&self, (sin, cos): (f64, f64), by: Point, into: &mut Self) {
        let (dx, dy) = (by.x as f32, by.y as f32);
        into.count = self.count;
        into.groups.clear();
        if (sin, cos) == (0.0, 1.0) {
            into.groups.extend(self.groups.iter().map(|g| {
                let mut moved = *g;
                for i in 0..LANES {
                    moved.x[i] += dx;
                    moved.y[i] += dy;
                }
                moved
            }));
            return;
        }
        let (sin, cos) = (sin as f32, cos as f32);
        into.groups.extend(self.groups.iter().map(|g| {
            let mut moved = *g;
            for i in 0..LANES {
                moved.x[i] = cos * g.x[i] - sin * g.y[i] + dx;
                moved.y[i] = sin * g.x[i] + cos * g.y[i] + dy;
            }
            moved
        }));
    }
}
