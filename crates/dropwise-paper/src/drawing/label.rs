//! Where a text fits inside a part.

use dropwise_geometry::{Bounds, Point, Polygon, Vector, convex_hull, sin_cos_deg};

use super::text::width;

/// Height of a line of text as a multiple of its size.
pub(crate) const LINE: f64 = 1.12;

/// How far the base line lies below the middle of a line of text, as a multiple of its size.
pub(crate) const BASE: f64 = 0.36;

/// Sizes tried, mm of paper, largest first. The smallest has capitals 1.8 mm high, the least that ISO 3098 knows
/// (from memory).
pub(crate) const SIZES: [f64; 4] = [3.8, 3.3, 2.9, 2.5];

/// Left free around a text, mm of paper.
const CLEAR: f64 = 0.6;

/// Steps of the grid of places tried, each way. A finer grid finds a few more places at the square of the time.
const GRID: usize = 36;

/// A text that found its place.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    /// Its lines, from the top.
    pub(crate) lines: Vec<String>,
    /// Size, mm of paper.
    pub(crate) size: f64,
    /// Direction of reading, degrees counter-clockwise, above -90 and at most 90: never upside down.
    pub(crate) turn_deg: f64,
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
    turns: Vec<f64>,
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
        Self { edges, points, turns: turns_of(&polygon.exterior) }
    }

    /// The first of some texts, each a list of lines, that fits: as large as possible, then level rather than turned,
    /// then in the order given. `paper` as in the picture.
    pub(crate) fn place(&self, texts: &[Vec<String>], paper: f64) -> Option<Label> {
        // The edges as each direction of reading sees them.
        let turned: Vec<Vec<(Point, Point)>> = self
            .turns
            .iter()
            .map(|&turn| self.edges.iter().map(|&(a, b)| (unturned(a, turn), unturned(b, turn))).collect())
            .collect();
        // What cannot fit even the box around the region is not tried: most names on parts of a few millimetres.
        let boxes: Vec<Bounds> = turned.iter().map(|edges| Bounds::of(edges.iter().map(|&(a, _)| a))).collect();
        for size in SIZES {
            for ((&turn_deg, edges), around) in self.turns.iter().zip(&turned).zip(&boxes) {
                for lines in texts {
                    let (width, height) = Label::extent(lines, size);
                    let half = Vector::new((width / 2.0 + CLEAR) * paper, (height / 2.0 + CLEAR) * paper);
                    if 2.0 * half.x > around.width() || 2.0 * half.y > around.height() {
                        continue;
                    }
                    let fits = |&&center: &&Point| {
                        let at = unturned(center, turn_deg);
                        !edges.iter().any(|&(a, b)| line_meets_box(a - at, b - at, half))
                    };
                    if let Some(&center) = self.points.iter().find(fits) {
                        return Some(Label { lines: lines.clone(), size, turn_deg, center });
                    }
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

impl Places {
    /// The place farthest from all edges, and how far that is.
    pub(crate) fn deepest(&self) -> Option<(Point, f64)> {
        let depth_of =
            |point: Point| self.edges.iter().map(|&(a, b)| distance_to_line(point, a, b)).fold(f64::INFINITY, f64::min);
        self.points.iter().map(|&point| (point, depth_of(point))).max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Directions of reading tried in a ring: level, along its long axis, upright.
fn turns_of(ring: &[Point]) -> Vec<f64> {
    let mut turns = vec![0.0];
    // The box around the hull that is thinnest lies along one of its sides: textbook (rotating calipers), here by
    // trying each.
    let hull = convex_hull(ring);
    let mut thinnest = f64::INFINITY;
    let mut axis = 0.0;
    for i in 0..hull.len() {
        let Some(along) = (hull[(i + 1) % hull.len()] - hull[i]).unit() else { continue };
        let extent = |direction: Vector| {
            let reach = hull.iter().map(|p| p.to_vector().dot(direction));
            reach.clone().fold(f64::NEG_INFINITY, f64::max) - reach.fold(f64::INFINITY, f64::min)
        };
        let (length, thickness) = (extent(along), extent(along.left()));
        // A hair's difference must not decide: of two boxes equally thin, the first counts.
        for (thickness, length, direction) in [(thickness, length, along), (length, thickness, along.left())] {
            if thickness < thinnest * (1.0 - 1e-6) && length > 1.15 * thickness {
                thinnest = thickness;
                axis = readable(direction.angle().to_degrees());
            }
        }
    }
    for turn in [axis, 90.0] {
        if turns.iter().all(|known: &f64| (known - turn).abs() > 5.0) {
            turns.push(turn);
        }
    }
    turns
}

/// The same line, read from the bottom or from the right: above -90° and at most 90°.
fn readable(degrees: f64) -> f64 {
    // Rounded, so that the last bit of an angle does not decide between reading up and reading down.
    let turned = (degrees * 1000.0).round() / 1000.0;
    let turned = turned.rem_euclid(180.0);
    if turned > 90.0 { turned - 180.0 } else { turned }
}

/// A point as seen by someone who reads along `turn_deg`.
fn unturned(point: Point, turn_deg: f64) -> Point {
    let (sin, cos) = sin_cos_deg(-turn_deg);
    Point::new(cos * point.x - sin * point.y, sin * point.x + cos * point.y)
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

    fn text(text: &str) -> Vec<Vec<String>> {
        vec![vec![text.to_owned()]]
    }

    #[test]
    fn wide_part_is_read_level_from_its_middle() {
        let label = Places::of(&ring(&[(0.0, 0.0), (60.0, 0.0), (60.0, 10.0), (0.0, 10.0)])).place(&text("Tray"), 1.0);
        let label = label.unwrap();
        assert_eq!((label.turn_deg, label.size, label.center), (0.0, SIZES[0], Point::new(30.0, 5.0)));
    }

    #[test]
    fn narrow_part_is_read_along_its_axis_and_never_upside_down() {
        for turn in [60.0f64, 90.0, 120.0, 240.0, 270.0, 300.0] {
            let along = Vector::from_angle(turn.to_radians());
            let corners = [(-30.0, -3.0), (30.0, -3.0), (30.0, 3.0), (-30.0, 3.0)];
            let points = corners.map(|(u, v)| Point::ORIGIN + along * u + along.left() * v);
            let label = Places::of(&Polygon::new(points.to_vec(), vec![])).place(&text("Brace 2/4"), 1.0).unwrap();
            let wanted = [60.0, 90.0, -60.0, 60.0, 90.0, -60.0]
                [[60, 90, 120, 240, 270, 300].iter().position(|&t| f64::from(t) == turn).unwrap()];
            assert!((label.turn_deg - wanted).abs() < 0.01, "{turn}: {}", label.turn_deg);
        }
    }

    #[test]
    fn text_keeps_out_of_holes_and_notches() {
        // A frame 8 wide all round: the text lies on one of its bars, not in the middle.
        let mut frame = ring(&[(0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)]);
        frame.holes.push([(8.0, 8.0), (8.0, 52.0), (52.0, 52.0), (52.0, 8.0)].map(|(x, y)| Point::new(x, y)).to_vec());
        let label = Places::of(&frame).place(&text("Frame"), 1.0).unwrap();
        let c = label.center;
        assert!(c.x < 8.0 || c.x > 52.0 || c.y < 8.0 || c.y > 52.0);
    }

    #[test]
    fn too_small_a_part_takes_no_text_but_a_leader() {
        let places = Places::of(&ring(&[(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)]));
        assert_eq!(places.place(&text("Mounting bracket"), 1.0), None);
        let target = places.target().unwrap();
        assert!((3.0..4.0).contains(&target.x) && (2.0..4.0).contains(&target.y), "{target:?}");
    }

    #[test]
    fn smaller_text_is_tried_before_giving_up() {
        let (wide, _) = Label::extent(&["Washer".to_owned()], SIZES[3]);
        let room = wide + 2.0 * CLEAR + 0.1;
        let places = Places::of(&ring(&[(0.0, 0.0), (room, 0.0), (room, 5.0), (0.0, 5.0)]));
        assert_eq!(places.place(&text("Washer"), 1.0).map(|label| label.size), Some(SIZES[3]));
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
