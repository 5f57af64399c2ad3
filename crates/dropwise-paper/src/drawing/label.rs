//! Where a text fits inside a part.

use dropwise_geometry::{Bounds, Point, Polygon, Vector};

use super::text::width;

/// Height of a line of text as a multiple of its size.
pub(crate) const LINE: f64 = 1.12;

/// How far the base line lies below the middle of a line of text, as a multiple of its size.
pub(crate) const BASE: f64 = 0.36;

/// Sizes tried, mm of paper, largest first. The smallest has capitals 1.8 mm high, the least that ISO 3098 knows
/// (from memory).
pub(crate) const SIZES: [f64; 4] = [3.8, 3.3, 2.9, 2.5];

/// Left free around a text, mm of paper.
pub(crate) const CLEAR: f64 = 0.6;

/// Steps of the grid of places tried, each way. A finer grid finds a few more places at the square of the time.
const GRID: usize = 36;

/// A text that found its place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    /// Its lines, from the top.
    pub(crate) lines: Vec<String>,
    /// Size, mm of paper.
    pub(crate) size: f64,
    /// Its middle, on the sheet.
    pub(crate) center: Point,
}

impl Label {
    /// Width and height of lines of some size, in the unit of the size.
    pub(crate) fn extent(lines: &[String], size: f64) -> (f64, f64) {
        let widest = lines.iter().map(|line| width(line)).fold(0.0, f64::max);
        (widest * size, lines.len() as f64 * LINE * size)
    }
}

/// Places to try in one region.
#[derive(Debug)]
pub(crate) struct Places {
    edges: Vec<(Point, Point)>,
    /// Inside the region, nearest to its centroid first.
    points: Vec<Point>,
}

impl Places {
    /// Places in a polygon.
    pub(crate) fn of(polygon: &Polygon) -> Self {
        let edges: Vec<(Point, Point)> =
            polygon.rings().flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))).collect();
        let bounds = polygon.bounds();
        let middle = centroid(&polygon.exterior).unwrap_or(bounds.center());
        let mut points: Vec<Point> = (1..GRID)
            .flat_map(|i| (1..GRID).map(move |j| (i as f64 / GRID as f64, j as f64 / GRID as f64)))
            .map(|(u, v)| Point::new(bounds.min.x + u * bounds.width(), bounds.min.y + v * bounds.height()))
            .chain([middle])
            .filter(|&point| polygon.contains(point))
            .collect();
        // A stable sort: places equally far keep their order, so that the picture is always the same.
        points.sort_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
        Self { edges, points }
    }

    /// Places that a line may point at: the best first, then others well within.
    pub(crate) fn targets(&self) -> Vec<Point> {
        let mut targets: Vec<Point> = self.target().into_iter().collect();
        let apart = |targets: &[Point], point: Point| {
            let width = Bounds::of(self.edges.iter().map(|&(a, _)| a)).diagonal();
            targets.iter().all(|other| other.distance(point) > 0.15 * width)
        };
        for &point in &self.points {
            if targets.len() < 8 && apart(&targets, point) {
                targets.push(point);
            }
        }
        targets
    }

    /// A place for a level box of half these sides, nearest to the middle, where `is_free` takes it too.
    pub(crate) fn place_level(&self, half: Vector, is_free: impl Fn(Point) -> bool) -> Option<Point> {
        let around = Bounds::of(self.edges.iter().map(|&(a, _)| a));
        if 2.0 * half.x > around.width() || 2.0 * half.y > around.height() {
            return None;
        }
        let fits = |&&center: &&Point| {
            !self.edges.iter().any(|&(a, b)| line_meets_box(a - center, b - center, half)) && is_free(center)
        };
        self.points.iter().find(fits).copied()
    }

    /// A place well away from all edges, for a leader line from the right to point at: of the deepest ones the
    /// rightmost, so that the line crosses little of the part.
    pub(crate) fn target(&self) -> Option<Point> {
        let depth_of =
            |point: Point| self.edges.iter().map(|&(a, b)| distance_to_line(point, a, b)).fold(f64::INFINITY, f64::min);
        let depths: Vec<f64> = self.points.iter().map(|&point| depth_of(point)).collect();
        let deepest = depths.iter().copied().fold(0.0, f64::max);
        let mut best: Option<Point> = None;
        for (&point, &depth) in self.points.iter().zip(&depths) {
            if depth >= 0.7 * deepest && best.is_none_or(|best| point.x > best.x) {
                best = Some(point);
            }
        }
        // A sliver between the places of the grid still has its edge to point at.
        best.or_else(|| self.edges.first().map(|&(a, b)| a.lerp(b, 0.5)))
    }
}

impl Places {
    /// The place farthest from all edges, and how far that is.
    pub(crate) fn deepest(&self) -> Option<(Point, f64)> {
        let depth_of =
            |point: Point| self.edges.iter().map(|&(a, b)| distance_to_line(point, a, b)).fold(f64::INFINITY, f64::min);
        self.points.iter().map(|&point| (point, depth_of(point))).max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Whether a line meets the box of these half sides about the origin.
///
/// # Source
/// Separating axes: the box's two and the line's normal. Elementary geometry.
pub(crate) fn line_meets_box(a: Vector, b: Vector, half: Vector) -> bool {
    if (a.x > half.x && b.x > half.x) || (a.x < -half.x && b.x < -half.x) {
        return false;
    }
    if (a.y > half.y && b.y > half.y) || (a.y < -half.y && b.y < -half.y) {
        return false;
    }
    let along = b - a;
    a.cross(along).abs() <= half.x * along.y.abs() + half.y * along.x.abs()
}

fn distance_to_line(point: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let length_squared = along.length_squared();
    let t = if length_squared > 0.0 { ((point - a).dot(along) / length_squared).clamp(0.0, 1.0) } else { 0.0 };
    point.distance(a.lerp(b, t))
}

/// Centroid of the area of a ring; `None` when it has none.
///
/// # Source
/// Centroid of a polygon from its triangles about one corner. Elementary geometry.
fn centroid(ring: &[Point]) -> Option<Point> {
    let &origin = ring.first()?;
    let (mut area, mut moment) = (0.0, Vector::new(0.0, 0.0));
    for pair in ring.windows(2) {
        let (a, b) = (pair[0] - origin, pair[1] - origin);
        let twice = a.cross(b);
        area += twice;
        moment = moment + (a + b) * (twice / 3.0);
    }
    (area != 0.0 && area.is_finite()).then(|| origin + moment / area)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Polygon {
        Polygon::new(points.iter().map(|&(x, y)| Point::new(x, y)).collect(), Vec::new())
    }

    #[test]
    fn a_box_lies_in_the_middle_and_keeps_out_of_holes() {
        let half = Vector::new(8.0, 3.0);
        let plate = ring(&[(0.0, 0.0), (60.0, 0.0), (60.0, 10.0), (0.0, 10.0)]);
        assert_eq!(Places::of(&plate).place_level(half, |_| true), Some(Point::new(30.0, 5.0)));
        // A frame 8 wide all round: the box lies on one of its bars, not in the middle.
        let mut frame = ring(&[(0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)]);
        frame.holes.push([(8.0, 8.0), (8.0, 52.0), (52.0, 52.0), (52.0, 8.0)].map(|(x, y)| Point::new(x, y)).to_vec());
        let found = Places::of(&frame).place_level(half, |_| true).unwrap();
        assert!(found.y < 8.0 || found.y > 52.0, "{found:?}");
    }

    #[test]
    fn too_small_a_part_takes_no_box_but_a_line() {
        let places = Places::of(&ring(&[(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)]));
        assert_eq!(places.place_level(Vector::new(8.0, 2.0), |_| true), None);
        let target = places.target().unwrap();
        assert!((3.0..4.0).contains(&target.x) && (2.0..4.0).contains(&target.y), "{target:?}");
    }

    #[test]
    fn line_across_a_box_meets_it_although_both_ends_are_outside() {
        let half = Vector::new(2.0, 1.0);
        assert!(line_meets_box(Vector::new(-5.0, 0.5), Vector::new(5.0, -0.5), half));
        assert!(line_meets_box(Vector::new(0.0, 0.0), Vector::new(0.1, 0.1), half));
        // Past a corner: the boxes overlap, the line does not come in.
        assert!(!line_meets_box(Vector::new(1.5, 3.0), Vector::new(4.0, -0.5), half));
    }
}
