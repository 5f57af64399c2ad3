//! Largest inscribed circle, by branch and bound over square cells.

use std::{cmp::Ordering, collections::BinaryHeap};

use crate::{MIN_TOLERANCE, Point, Polygon, Vector};

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its middle.
    pub center: Point,
    /// Its radius.
    pub radius: f64,
}

/// Cells looked at before the search stops with what it has.
const MOST_CELLS: usize = 20_000;

/// The largest circle in a polygon, its radius at most `tolerance` millimetres short of the best.
///
/// `None` when the polygon has no area or a coordinate is not finite, and mostly too when no circle larger than the
/// tolerance fits. Of several equally large circles, one is
/// returned, always the same.
///
/// # Accuracy
/// The circle lies in the polygon, to rounding, and touches its boundary. A tolerance below a millionth of the
/// polygon's extent, zero, negative or NaN, is taken as that. Search stops after 20,000 cells; only outlines with very
/// long parallel sides and a fine tolerance come near that, and then the tolerance is not proven.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Point, Polygon, largest_circle};
/// let triangle = Polygon::new([(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)].map(|(x, y)| Point::new(x, y)).to_vec(), vec![]);
/// let found = largest_circle(&triangle, 0.001).expect("it has an area");
/// assert!((found.radius - 1.0).abs() <= 0.001); // the incircle of the 3-4-5 triangle
/// ```
///
/// # Cost
/// Two passes over the edges for each cell; some hundred cells for most drops.
///
/// # Source
/// Best-first search over a quadtree; the usual bound is the distance from a cell's middle plus half its diagonal.
/// Along parallel sides it halves with the cells only, so a second one is used: if the middle is d₁ from one boundary
/// point and d₂ from another, in directions u₁ and u₂, no point within R of it is farther from both than the root of
/// (d₁² + d₂²)/2 + |d₁u₁ + d₂u₂| R + R². It follows from the mean of the two squared distances.
#[must_use]
pub fn largest_circle(polygon: &Polygon, tolerance: f64) -> Option<Circle> {
    let bounds = polygon.bounds();
    let is_finite = polygon.rings().flatten().all(|point| point.is_finite());
    if !is_finite || bounds.width() <= 0.0 || bounds.height() <= 0.0 || !bounds.diagonal().is_finite() {
        return None;
    }
    // f64::max also turns NaN into the minimum.
    let tolerance = tolerance.max(MIN_TOLERANCE.max(bounds.diagonal() * 1e-6));
    let edges: Vec<(Point, Point)> = polygon
        .rings()
        .flat_map(|ring| {
            ring.iter().enumerate().map(|(i, &end)| (ring[if i == 0 { ring.len() - 1 } else { i - 1 }], end))
        })
        .collect();
    let mut search = Search { polygon, edges, best: None, open: BinaryHeap::new(), from_edges: Vec::new() };

    // Squares as large as the shorter side cover the box with the fewest cells.
    let side = bounds.width().min(bounds.height());
    // A needle would need endless squares; at most this many are laid out, larger ones if need be.
    let side = side.max(bounds.diagonal() / 256.0);
    let half = side / 2.0;
    let count = |extent: f64| (extent / side).ceil().max(1.0) as usize;
    for i in 0..count(bounds.width()) {
        for j in 0..count(bounds.height()) {
            let corner = Point::new(bounds.min.x + i as f64 * side, bounds.min.y + j as f64 * side);
            search.look(Point::new(corner.x + half, corner.y + half), half, tolerance);
        }
    }
    let mut cells = 0;
    while let Some(cell) = search.open.pop() {
        if cell.bound <= search.best_radius() + tolerance || cells >= MOST_CELLS {
            break;
        }
        let half = cell.half / 2.0;
        for (dx, dy) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
            cells += 1;
            search.look(Point::new(cell.middle.x + dx, cell.middle.y + dy), half, tolerance);
        }
    }
    search.best
}

/// A square that may hold the centre.
struct Cell {
    middle: Point,
    half: f64,
    /// No circle about a point of the cell is larger.
    bound: f64,
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Cell {
    /// By bound; ties fall to the lower left, so that the search is the same on every run.
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound
            .total_cmp(&other.bound)
            .then_with(|| other.middle.x.total_cmp(&self.middle.x))
            .then_with(|| other.middle.y.total_cmp(&self.middle.y))
    }
}

struct Search<'a> {
    polygon: &'a Polygon,
    edges: Vec<(Point, Point)>,
    best: Option<Circle>,
    open: BinaryHeap<Cell>,
    /// From the nearest point of each edge to the middle of the cell that is looked at; kept to spare allocations.
    from_edges: Vec<Vector>,
}

impl Search<'_> {
    fn best_radius(&self) -> f64 {
        self.best.map_or(0.0, |circle| circle.radius)
    }

    /// Measures a cell's middle, and keeps the cell if it may hold a better centre.
    fn look(&mut self, middle: Point, half: f64, tolerance: f64) {
        let reach = half * std::f64::consts::SQRT_2;
        self.from_edges.clear();
        self.from_edges.extend(self.edges.iter().map(|&edge| middle - nearest_on(edge, middle)));
        let by_length = |a: &&Vector, b: &&Vector| a.length_squared().total_cmp(&b.length_squared());
        let Some(&from_nearest) = self.from_edges.iter().min_by(by_length) else { return };
        let distance = from_nearest.length();
        if distance + reach <= self.best_radius() + tolerance && distance <= self.best_radius() {
            return;
        }
        if self.polygon.contains(middle) {
            if distance > self.best_radius() {
                self.best = Some(Circle { center: middle, radius: distance });
            }
        } else if distance > reach {
            return;
        }
        let mut squared = (distance + reach) * (distance + reach);
        for &from_other in &self.from_edges {
            let mean = (distance * distance + from_other.length_squared()) / 2.0;
            // What only the far side of the boundary could bring is not worth its root.
            if mean < squared {
                squared = squared.min(mean + (from_nearest + from_other).length() * reach + reach * reach);
            }
        }
        let bound = squared.sqrt();
        if bound > self.best_radius() + tolerance {
            self.open.push(Cell { middle, half, bound });
        }
    }
}

fn nearest_on((a, b): (Point, Point), point: Point) -> Point {
    let along = b - a;
    let squared = along.length_squared();
    if squared == 0.0 { a } else { a.lerp(b, ((point - a).dot(along) / squared).clamp(0.0, 1.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(corners: &[(f64, f64)]) -> Polygon {
        Polygon::new(corners.iter().map(|&(x, y)| Point::new(x, y)).collect(), vec![])
    }

    #[test]
    fn a_long_strip_takes_its_half_width() {
        let strip = polygon(&[(0.0, 0.0), (3000.0, 0.0), (3000.0, 100.0), (0.0, 100.0)]);
        for tolerance in [1.0, 0.1, 0.01] {
            let found = largest_circle(&strip, tolerance).unwrap();
            assert!(found.radius <= 50.0 && found.radius >= 50.0 - tolerance);
        }
    }

    #[test]
    fn an_l_shape_takes_its_corner() {
        // About (r, r), touching both outer sides and the inner corner (10, 10): (10 - r)√2 = r.
        let shape = polygon(&[(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0)]);
        let expected = 10.0 * 2.0_f64.sqrt() / (1.0 + 2.0_f64.sqrt());
        let found = largest_circle(&shape, 1e-4).unwrap();
        assert!(found.radius <= expected + 1e-12 && found.radius >= expected - 1e-4);
    }

    #[test]
    fn a_hole_in_the_middle_is_kept_clear() {
        let mut plate = polygon(&[(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]);
        plate.holes.push(vec![
            Point::new(9.0, 9.0),
            Point::new(9.0, 11.0),
            Point::new(11.0, 11.0),
            Point::new(11.0, 9.0),
        ]);
        // On the diagonal between two sides and the hole's corner: (9 - r)√2 = r.
        let expected = 9.0 * 2.0_f64.sqrt() / (1.0 + 2.0_f64.sqrt());
        let found = largest_circle(&plate, 1e-3).unwrap();
        assert!(found.radius <= expected + 1e-12 && found.radius >= expected - 1e-3);
    }

    #[test]
    fn nothing_in_nothing() {
        assert_eq!(largest_circle(&Polygon::default(), 0.1), None);
        assert_eq!(largest_circle(&polygon(&[(0.0, 0.0), (5.0, 0.0)]), 0.1), None);
        assert_eq!(largest_circle(&polygon(&[(0.0, 0.0), (f64::NAN, 1.0), (1.0, 1.0)]), 0.1), None);
        let needle = polygon(&[(0.0, 0.0), (1e6, 0.0), (1e6, 1e-3)]);
        let found = largest_circle(&needle, f64::NAN);
        assert!(found.is_none_or(|circle| circle.radius < 1e-3));
    }
}
