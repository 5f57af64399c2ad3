//! Polygons of fewer corners that cover others.

use crate::{Point, Polygon};

impl Polygon {
    /// A polygon of fewer corners, mostly, that covers all of this one and reaches at most `tolerance` (mm) farther out.
    ///
    /// Hollow corners are filled, and short edges give way to the corner at which their neighbours meet, least reach
    /// first. Straight sides stay where they are. Holes become smaller, never larger; rings stay simple where they are.
    /// A tolerance of zero or less takes out only corners in line with their neighbours.
    ///
    /// # Examples
    /// ```
    /// use dropwise_geometry::{Outline, Point, Shape, Side};
    /// let disc = Shape::new(Outline::circle(Point::ORIGIN, 50.0), Vec::new()).flatten(0.001, Side::Grow);
    /// let rough = disc.covering(0.5);
    /// assert!(rough.exterior.len() * 5 < disc.exterior.len());
    /// assert!(rough.area() > disc.area() && rough.area() < 1.02 * disc.area());
    /// ```
    ///
    /// # Cost
    /// The square of the number of corners of each ring.
    #[must_use]
    pub fn covering(&self, tolerance: f64) -> Self {
        let cover = |ring: &Vec<Point>| Cover::new(ring, tolerance).finish();
        Self { exterior: cover(&self.exterior), holes: self.holes.iter().map(cover).collect() }
    }
}

/// What takes a corner out of a ring.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Step {
    /// A corner that is hollow or in line with its neighbours is left out.
    Fill,
    /// The edge from a corner to the next gives way to the point at which the edges on either side meet.
    Extend(Point),
}

/// A ring, the inside to its left, while its corners become fewer.
struct Cover {
    ring: Vec<Point>,
    /// How far the ring may have moved out beside each corner so far.
    moved: Vec<f64>,
    /// The best step at each corner and how far the ring will have moved out there; infinite where none is allowed.
    steps: Vec<(f64, Step)>,
    tolerance: f64,
}

/// Corners that turn by less than this, as a sine, are in line.
const IN_LINE: f64 = 1e-12;

impl Cover {
    fn new(ring: &[Point], tolerance: f64) -> Self {
        let mut cover = Self {
            ring: ring.to_vec(),
            moved: vec![0.0; ring.len()],
            steps: Vec::new(),
            tolerance: tolerance.max(0.0),
        };
        cover.steps = (0..ring.len()).map(|index| cover.step_at(index)).collect();
        cover
    }

    fn finish(mut self) -> Vec<Point> {
        while self.ring.len() > 3 {
            let best = (0..self.ring.len()).min_by(|&a, &b| self.steps[a].0.total_cmp(&self.steps[b].0));
            let Some(index) = best else { break };
            let (reach, step) = self.steps[index];
            if reach > self.tolerance {
                break;
            }
            if self.is_clear(index, step) {
                self.take(index, reach, step);
            } else {
                self.steps[index].0 = f64::INFINITY;
            }
        }
        self.ring
    }

    /// The corner `by` places after another.
    fn after(&self, index: usize, by: usize) -> usize {
        (index + by) % self.ring.len()
    }

    fn before(&self, index: usize) -> usize {
        self.after(index, self.ring.len() - 1)
    }

    fn step_at(&self, index: usize) -> (f64, Step) {
        const NONE: (f64, Step) = (f64::INFINITY, Step::Fill);
        if self.ring.len() <= 3 {
            return NONE;
        }
        let [a, b, c, d] = [self.before(index), index, self.after(index, 1), self.after(index, 2)];
        let moved = |of: &[usize]| of.iter().map(|&i| self.moved[i]).fold(0.0, f64::max);
        let [p, q, r, s] = [a, b, c, d].map(|i| self.ring[i]);
        let (into, out) = (q - p, r - q);
        let turn = into.cross(out);
        if turn <= IN_LINE * into.length() * out.length() {
            let chord = (r - p).length();
            // A spike that runs back on itself has no chord to be measured from.
            let reach = if chord > 0.0 { -turn / chord } else { f64::INFINITY };
            return (reach.max(0.0) + moved(&[a, b, c]), Step::Fill);
        }
        let beyond = s - r;
        let across = into.cross(beyond);
        if out.cross(beyond) <= IN_LINE * out.length() * beyond.length()
            || across <= 1e-3 * into.length() * beyond.length()
        {
            // The next corner is hollow, or both edges hardly turn towards each other.
            return NONE;
        }
        let meet = q + into * (out.cross(beyond) / across);
        let along = (meet - q).dot(out) / out.length_squared();
        let reach = meet.distance(q + out * along.clamp(0.0, 1.0));
        (reach + moved(&[b, c]), Step::Extend(meet))
    }

    /// Whether what a step adds lies off the rest of the ring.
    fn is_clear(&self, index: usize, step: Step) -> bool {
        let next = self.after(index, 1);
        let (from, over, to, gone) = match step {
            Step::Fill => (self.ring[self.before(index)], self.ring[index], self.ring[next], [index, index]),
            Step::Extend(meet) => (self.ring[index], meet, self.ring[next], [index, next]),
        };
        // Either way round, the triangle's corners turn right or left; only the sign must agree.
        let side = |a: Point, b: Point, p: Point| (b - a).cross(p - a);
        let way = side(from, over, to);
        if way.abs() <= IN_LINE * from.distance(over) * over.distance(to) {
            return true;
        }
        let holds = |p: Point| {
            [(from, over), (over, to), (to, from)].into_iter().all(|(a, b)| side(a, b, p) * way.signum() >= 0.0)
        };
        let is_fill = step == Step::Fill;
        let own = |i: usize| gone.contains(&i) || (is_fill && (i == self.before(index) || i == next));
        if (0..self.ring.len()).any(|i| !own(i) && holds(self.ring[i])) {
            return false;
        }
        // Nothing can cross a corner that is filled without ending in it, but it can cut across one that is added.
        is_fill
            || (0..self.ring.len()).all(|i| {
                let j = self.after(i, 1);
                let (a, b) = (self.ring[i], self.ring[j]);
                let crosses =
                    |c: Point, d: Point| side(c, d, a) * side(c, d, b) < 0.0 && side(a, b, c) * side(a, b, d) < 0.0;
                gone.contains(&i) || gone.contains(&j) || (!crosses(from, over) && !crosses(over, to))
            })
    }

    fn take(&mut self, index: usize, reach: f64, step: Step) {
        let next = self.after(index, 1);
        let gone = match step {
            Step::Fill => {
                let before = self.before(index);
                for beside in [before, next] {
                    self.moved[beside] = self.moved[beside].max(reach);
                }
                index
            }
            Step::Extend(meet) => {
                self.ring[index] = meet;
                self.moved[index] = reach;
                next
            }
        };
        self.ring.remove(gone);
        self.moved.remove(gone);
        self.steps.remove(gone);
        let count = self.ring.len();
        // Steps look one corner back and two ahead.
        for beside in 0..6 {
            let changed = (gone + count + beside - 3) % count;
            self.steps[changed] = self.step_at(changed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sure::{difference, union};
    use crate::{Outline, Shape, Side, generators};
    use proptest::prelude::*;

    fn area(polygons: &[Polygon]) -> f64 {
        polygons.iter().map(Polygon::area).sum()
    }

    /// How far the corners of one lie from another at most.
    fn reach(of: &Polygon, from: &Polygon) -> f64 {
        let edges: Vec<(Point, Point)> =
            from.rings().flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]))).collect();
        let distance = |p: Point, (a, b): (Point, Point)| {
            let along = b - a;
            p.distance(a + along * ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0))
        };
        let nearest = |&p: &Point| edges.iter().map(|&edge| distance(p, edge)).fold(f64::INFINITY, f64::min);
        of.rings().flatten().map(nearest).fold(0.0, f64::max)
    }

    #[test]
    fn a_square_with_a_chamfer_and_a_nick_becomes_a_square() {
        let corners =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 9.9), (9.9, 10.0), (5.0, 10.0), (4.9, 9.9), (4.8, 10.0), (0.0, 10.0)];
        let plate = Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), Vec::new());
        assert_eq!(plate.covering(0.05), plate);
        let covered = plate.covering(0.2);
        assert_eq!(covered.exterior.len(), 4);
        assert!((covered.area() - 100.0).abs() < 1e-9);
    }

    #[test]
    fn corners_in_line_go_at_no_cost() {
        let ring = [(0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 5.0)];
        let plate = Polygon::new(ring.map(|(x, y)| Point::new(x, y)).to_vec(), Vec::new());
        let covered = plate.covering(0.0);
        assert_eq!(covered.exterior.len(), 4);
        assert_eq!(covered.area(), 100.0);
    }

    #[test]
    fn a_hole_becomes_smaller() {
        let plate = Shape::new(
            Outline::rectangle(Point::ORIGIN, 40.0, 40.0),
            vec![Outline::circle(Point::new(20.0, 20.0), 10.0)],
        );
        let fine = plate.flatten(0.001, Side::Grow);
        let rough = fine.covering(0.2);
        assert!(rough.holes[0].len() * 3 < fine.holes[0].len());
        assert!(area(&difference(std::slice::from_ref(&fine), std::slice::from_ref(&rough))) < 1e-9);
        assert!(rough.area() > fine.area());
    }

    proptest! {
        #[test]
        fn all_is_covered_and_nothing_far_beyond(
            polygon in prop_oneof![generators::polygon(), generators::ragged_polygon(80), generators::convex_polygon()],
            share in 0.0..0.3_f64
        ) {
            let tolerance = share * polygon.area().sqrt();
            let covered = polygon.covering(tolerance);
            prop_assert!(covered.exterior.len() <= polygon.exterior.len());
            let lost = area(&difference(std::slice::from_ref(&polygon), std::slice::from_ref(&covered)));
            prop_assert!(lost < 1e-6 * polygon.area(), "lost {}", lost);
            prop_assert!(reach(&covered, &polygon) <= tolerance + 1e-9);
            // A ring that crossed itself would not keep its area when cleaned, which rounds to a grid.
            let cleaned = area(&union(std::slice::from_ref(&covered)));
            prop_assert!((cleaned - covered.area()).abs() < 1e-6 * polygon.area(), "{} of {}", cleaned, covered.area());
        }
    }
}
