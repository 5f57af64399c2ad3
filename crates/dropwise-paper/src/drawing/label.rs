//! Where a text fits inside a part.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

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
    /// For half the sides of a box, by their bits, where it keeps clear of the edges: copies of a part ask the same.
    known: RefCell<HashMap<[u64; 2], Fits>>,
}

/// Places where a box keeps clear of the edges of its region, as far as they have been looked at.
#[derive(Debug, Default)]
struct Fits {
    /// Indices of those that do.
    fit: Vec<usize>,
    /// The first that has not been looked at.
    next: usize,
}

/// Places of many regions. Those that differ by where they lie alone, as copies of a part do, share theirs.
#[derive(Debug, Default)]
pub(crate) struct AllPlaces {
    known: HashMap<Vec<(i64, i64)>, Rc<Places>>,
}

/// How finely regions are compared, parts of a millimetre: far below the air around a text.
const ALIKE: f64 = 1e4;

impl AllPlaces {
    /// Places of a region that lies in its own corner, and the way from there to where it lies.
    pub(crate) fn of(&mut self, polygon: &Polygon) -> (Rc<Places>, Vector) {
        let way = polygon.bounds().min - Point::ORIGIN;
        // Saturates; no region of a certified plan comes near.
        let rounded = |point: &Point| {
            let from = *point - way;
            ((from.x * ALIKE).round() as i64, (from.y * ALIKE).round() as i64)
        };
        // A mark between rings, which no corner reaches.
        let key: Vec<(i64, i64)> =
            polygon.rings().flat_map(|ring| ring.iter().map(rounded).chain([(i64::MIN, 0)])).collect();
        let places = self.known.entry(key).or_insert_with(|| {
            let moved = |ring: &[Point]| ring.iter().map(|&point| point - way).collect::<Vec<Point>>();
            let holes = polygon.holes.iter().map(|ring| moved(ring)).collect();
            Rc::new(Places::of(&Polygon::new(moved(&polygon.exterior), holes)))
        });
        (Rc::clone(places), way)
    }
}

impl Places {
    /// Places in a polygon.
    pub(crate) fn of(polygon: &Polygon) -> Self {
        Self::within(polygon, polygon.bounds())
    }

    /// Places in what a window shows of a polygon.
    pub(crate) fn within(polygon: &Polygon, window: Bounds) -> Self {
        let edges: Vec<(Point, Point)> =
            polygon.rings().flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))).collect();
        let whole = polygon.bounds();
        let min = Point::new(whole.min.x.max(window.min.x), whole.min.y.max(window.min.y));
        let max = Point::new(whole.max.x.min(window.max.x), whole.max.y.min(window.max.y));
        if min.x > max.x || min.y > max.y {
            return Self { edges, points: Vec::new(), known: RefCell::default() };
        }
        let bounds = Bounds { min, max };
        let middle = centroid(&polygon.exterior).filter(|&middle| bounds.contains(middle)).unwrap_or(bounds.center());
        let mut points: Vec<Point> = (1..GRID)
            .flat_map(|i| (1..GRID).map(move |j| (i as f64 / GRID as f64, j as f64 / GRID as f64)))
            .map(|(u, v)| Point::new(bounds.min.x + u * bounds.width(), bounds.min.y + v * bounds.height()))
            .chain([middle])
            .filter(|&point| polygon.contains(point))
            .collect();
        // A stable sort: places equally far keep their order, so that the picture is always the same.
        points.sort_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
        Self { edges, points, known: RefCell::default() }
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
        let fits = |center: Point| !self.edges.iter().any(|&(a, b)| line_meets_box(a - center, b - center, half));
        let mut known = self.known.borrow_mut();
        let known = known.entry([half.x, half.y].map(f64::to_bits)).or_default();
        if let Some(&index) = known.fit.iter().find(|&&index| is_free(self.points[index])) {
            return Some(self.points[index]);
        }
        while let Some(&center) = self.points.get(known.next) {
            known.next += 1;
            if fits(center) {
                known.fit.push(known.next - 1);
                if is_free(center) {
                    return Some(center);
                }
            }
        }
        None
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

/// What of a polygon lies in a window; `None` where that is nothing. Pieces that the window parts stay joined along its edge,
/// where no text stands.
///
/// # Source
/// Sutherland and Hodgman's way of clipping by one side of the window after the other. Textbook.
pub(crate) fn clipped(polygon: &Polygon, window: Bounds) -> Option<Polygon> {
    let ring = |ring: &[Point]| {
        let mut ring = ring.to_vec();
        // How far within each side a point lies.
        let sides: [&dyn Fn(Point) -> f64; 4] = [
            &|point| point.x - window.min.x,
            &|point| window.max.x - point.x,
            &|point| point.y - window.min.y,
            &|point| window.max.y - point.y,
        ];
        for within in sides {
            let mut kept = Vec::with_capacity(ring.len() + 4);
            for (index, &point) in ring.iter().enumerate() {
                let next = ring[(index + 1) % ring.len()];
                let (here, there) = (within(point), within(next));
                if here >= 0.0 {
                    kept.push(point);
                }
                if (here < 0.0) != (there < 0.0) {
                    kept.push(point.lerp(next, here / (here - there)));
                }
            }
            ring = kept;
        }
        (ring.len() > 2).then_some(ring)
    };
    let holes = polygon.holes.iter().filter_map(|hole| ring(hole)).collect();
    Some(Polygon::new(ring(&polygon.exterior)?, holes))
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
    fn copies_share_their_places_and_find_the_same() {
        let mut all = AllPlaces::default();
        let (own, way) = all.of(&ring(&[(0.0, 0.0), (60.0, 0.0), (60.0, 10.0)]));
        let (copy, moved) = all.of(&ring(&[(100.0, 7.0), (160.0, 7.0), (160.0, 17.0)]));
        assert!(Rc::ptr_eq(&own, &copy) && way == Vector::new(0.0, 0.0) && moved == Vector::new(100.0, 7.0));
        let (other, _) = all.of(&ring(&[(0.0, 0.0), (60.0, 0.0), (60.0, 10.001)]));
        assert!(!Rc::ptr_eq(&own, &other));
        // Asked again, with something in the way, it goes on from where it was.
        let half = Vector::new(3.0, 1.0);
        let first = own.place_level(half, |_| true).unwrap();
        let second = own.place_level(half, |center| center.distance(first) > 4.0).unwrap();
        assert!(second.distance(first) > 4.0);
        assert_eq!(own.place_level(half, |_| true), Some(first));
        assert_eq!(own.place_level(half, |_| false), None);
        assert_eq!(own.place_level(half, |_| true), Some(first));
    }

    #[test]
    fn too_small_a_part_takes_no_box_but_a_line() {
        let places = Places::of(&ring(&[(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)]));
        assert_eq!(places.place_level(Vector::new(8.0, 2.0), |_| true), None);
        let target = places.target().unwrap();
        assert!((3.0..4.0).contains(&target.x) && (2.0..4.0).contains(&target.y), "{target:?}");
    }

    #[test]
    fn a_window_cuts_off_what_lies_beyond() {
        let corner = ring(&[(0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (10.0, 10.0), (10.0, 40.0), (0.0, 40.0)]);
        let window = Bounds::of([Point::new(5.0, -5.0), Point::new(50.0, 20.0)]);
        let shown = clipped(&corner, window).unwrap();
        // A strip of 35 by 10 and one of 5 by 10 above it.
        assert!((shown.area() - 400.0).abs() < 1e-9, "{shown:?}");
        assert!(
            clipped(&corner, Bounds::of([Point::new(20.0, 20.0), Point::new(30.0, 30.0)]))
                .is_none_or(|p| p.area() < 1e-9)
        );
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
