//! Covers a polygon with inscribed circles.

use std::collections::BinaryHeap;

use dropwise_geometry::{Point, Polygon};

/// A circle that lies in a polygon.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct InscribedCircle {
    pub(crate) center: Point,
    pub(crate) radius: f64,
}

/// More circles follow a shape better and cost time in every evaluation; beyond a dozen or so nothing was gained.
pub(crate) const MOST_CIRCLES: usize = 16;
/// Of a job of very many kinds of parts each gets so few: a full cover takes milliseconds, and most parts are measured by
/// convex pieces anyway.
pub(crate) const FEW_CIRCLES: usize = 3;
/// How much larger than the circle found the largest may be, as a factor: far below what the search can feel, and where each part
/// gets few circles, as they matter little there.
const PRECISE: f64 = 1.02;
const ROUGH: f64 = 1.1;
/// Enough of the area is covered.
const COVERED_SHARE: f64 = 0.90;
/// Circles smaller than this share of the first add nothing that the decay of the overlap measure does not.
const LEAST_RATIO: f64 = 0.12;

/// Inscribed circles of a polygon, largest first: each is the largest that fits in the polygon and overlaps none of
/// those before it, within some percent. Empty for a polygon without area.
pub(crate) fn circle_cover(polygon: &Polygon) -> Vec<InscribedCircle> {
    circle_cover_of(polygon, MOST_CIRCLES)
}

/// The same with so many circles at most.
pub(crate) fn circle_cover_of(polygon: &Polygon, most: usize) -> Vec<InscribedCircle> {
    let mut circles: Vec<InscribedCircle> = Vec::new();
    let area = polygon.area();
    let mut covered = 0.0;
    let precision = if most > FEW_CIRCLES { PRECISE } else { ROUGH };
    while circles.len() < most {
        let Some(next) = largest_free_circle(polygon, &circles, precision) else { break };
        if circles.first().is_some_and(|first| next.radius < LEAST_RATIO * first.radius) {
            break;
        }
        covered += std::f64::consts::PI * next.radius * next.radius;
        circles.push(next);
        if covered >= COVERED_SHARE * area {
            break;
        }
    }
    circles
}

/// A square in which the best centre may lie, ordered by the most that a circle centred in it can reach.
struct Cell {
    center: Point,
    half: f64,
    most: f64,
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.most == other.most
    }
}
impl Eq for Cell {}
impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Cell {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.most.total_cmp(&other.most)
    }
}

/// Branch and bound over a quadtree. The clearance changes by at most the distance moved, which bounds it in a cell.
fn largest_free_circle(polygon: &Polygon, circles: &[InscribedCircle], precision: f64) -> Option<InscribedCircle> {
    let bounds = polygon.bounds();
    let side = bounds.width().min(bounds.height());
    // Not positive or not finite: nothing fits.
    if !(side > 0.0 && side.is_finite()) {
        return None;
    }
    let mut best = InscribedCircle { center: bounds.center(), radius: 0.0 };
    let mut queue = BinaryHeap::new();
    let visit = |center: Point, half: f64, best: &mut InscribedCircle, queue: &mut BinaryHeap<Cell>| {
        let clearance = clearance(polygon, circles, center);
        if clearance > best.radius {
            *best = InscribedCircle { center, radius: clearance };
        }
        let most = clearance + half * std::f64::consts::SQRT_2;
        if most > best.radius {
            queue.push(Cell { center, half, most });
        }
    };
    // Long shapes: square cells along the longer side, at most a hundred of them.
    let columns = (bounds.width() / side).ceil().clamp(1.0, 100.0);
    let rows = (bounds.height() / side).ceil().clamp(1.0, 100.0);
    let half = (bounds.width() / columns).max(bounds.height() / rows) / 2.0;
    for column in 0..columns as usize {
        for row in 0..rows as usize {
            let center = Point::new(
                bounds.min.x + bounds.width() * (column as f64 + 0.5) / columns,
                bounds.min.y + bounds.height() * (row as f64 + 0.5) / rows,
            );
            visit(center, half, &mut best, &mut queue);
        }
    }
    let smallest = side * 1e-4;
    while let Some(cell) = queue.pop() {
        if cell.most <= best.radius * precision || cell.half < smallest {
            break;
        }
        let half = cell.half / 2.0;
        for (dx, dy) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
            visit(Point::new(cell.center.x + dx, cell.center.y + dy), half, &mut best, &mut queue);
        }
    }
    (best.radius > 0.0).then_some(best)
}

/// Signed distance from a point to the nearest of the polygon's edges and the circles already there; negative outside
/// the polygon or inside a circle.
fn clearance(polygon: &Polygon, circles: &[InscribedCircle], point: Point) -> f64 {
    let mut nearest = f64::INFINITY;
    let mut inside = false;
    for ring in polygon.rings() {
        let Some(&last) = ring.last() else { continue };
        let mut a = last;
        for &b in ring {
            let edge = b - a;
            let length_squared = edge.length_squared();
            let t = if length_squared > 0.0 { ((point - a).dot(edge) / length_squared).clamp(0.0, 1.0) } else { 0.0 };
            nearest = nearest.min((point - (a + edge * t)).length_squared());
            if (a.y > point.y) != (b.y > point.y) && point.x < (b.x - a.x) * (point.y - a.y) / (b.y - a.y) + a.x {
                inside = !inside;
            }
            a = b;
        }
    }
    let to_edge = if inside { nearest.sqrt() } else { -nearest.sqrt() };
    circles.iter().map(|c| point.distance(c.center) - c.radius).fold(to_edge, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::Outline;

    fn polygon(outline: &Outline) -> Polygon {
        Polygon::new(outline.vertices().iter().map(|v| v.point).collect(), Vec::new())
    }

    #[test]
    fn the_first_circle_of_a_rectangle_touches_its_long_sides() {
        let cover = circle_cover(&polygon(&Outline::rectangle(Point::new(10.0, 20.0), 50.0, 10.0)));
        assert!((cover[0].radius - 5.0).abs() < 0.1, "{}", cover[0].radius);
        assert!(cover.len() > 4);
    }

    #[test]
    fn circles_lie_inside_and_apart() {
        let ring = Polygon::new(
            vec![Point::new(0.0, 0.0), Point::new(30.0, 0.0), Point::new(30.0, 30.0), Point::new(0.0, 30.0)],
            vec![vec![Point::new(10.0, 10.0), Point::new(20.0, 10.0), Point::new(20.0, 20.0), Point::new(10.0, 20.0)]],
        );
        let cover = circle_cover(&ring);
        for (i, a) in cover.iter().enumerate() {
            assert!(clearance(&ring, &[], a.center) >= a.radius - 1e-9);
            for b in &cover[..i] {
                assert!(a.center.distance(b.center) >= a.radius + b.radius - 1e-9);
            }
        }
    }
}
