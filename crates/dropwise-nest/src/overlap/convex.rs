//! Shapes in convex pieces: how deep two of them sink into each other, and whether they do at all, without circles.

use dropwise_geometry::{Bounds, Point, Vector};
use pulp::NullaryFnOnce;

use crate::shapes::pose::turned;
use crate::shapes::vectors::Vectors;
use crate::shapes::vectors::{greater, lesser};

/// Corners in a group: a vector of double precision of the width that most processors have.
const LANES: usize = 4;
/// A shape of more corners than this is left to its circles: rounds of many short edges gain nothing here, and the
/// work grows with the product of the corners.
const MOST_CORNERS: usize = 32;
/// The same for shapes with holes in which others may lie.
const MOST_CORNERS_AROUND: usize = 80;
/// A shape of more pieces than this is left to its circles: the work grows with the product of the pieces, and where
/// two shapes lie across each other in several pieces, the sum tells less of the way out than circles do.
const MOST_PIECES: usize = 3;

/// Cuts a polygon, counter-clockwise, into few convex pieces along diagonals between its corners; `None` if it is too
/// thin to tell.
///
/// Triangles first, ear by ear, then every diagonal without which both sides together are convex is left out
/// (Hertel and Mehlhorn 1983): at most four times as many pieces as need be.
pub(crate) fn convex_pieces(ring: &[Point]) -> Option<Vec<Vec<Point>>> {
    let mut pieces = triangles(ring)?;
    let mut is_merging = true;
    while is_merging {
        is_merging = false;
        'pairs: for a in 0..pieces.len() {
            for b in 0..a {
                if let Some(merged) = merged(ring, &pieces[a], &pieces[b]) {
                    pieces[b] = merged;
                    pieces.swap_remove(a);
                    is_merging = true;
                    break 'pairs;
                }
            }
        }
    }
    Some(pieces.iter().map(|piece| piece.iter().map(|&i| ring[i]).collect()).collect())
}

/// Twice the area of a triangle, positive when it turns left.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b - a).cross(c - a)
}

/// Triangles as corner indices.
fn triangles(ring: &[Point]) -> Option<Vec<Vec<usize>>> {
    let mut left: Vec<usize> = (0..ring.len()).collect();
    let mut found = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let corner = |k: usize| [left[(k + n - 1) % n], left[k], left[(k + 1) % n]];
        let is_ear = |&k: &usize| {
            let [a, b, c] = corner(k).map(|i| ring[i]);
            let holds = |p: Point| turn(a, b, p) >= 0.0 && turn(b, c, p) >= 0.0 && turn(c, a, p) >= 0.0;
            turn(a, b, c) > 0.0 && left.iter().all(|i| corner(k).contains(i) || !holds(ring[*i]))
        };
        // A corner on a straight line is no ear, and must not be lost: neighbours take it in.
        let ear = (0..n).filter(is_ear).max_by(|&j, &k| {
            let least = |k: usize| {
                let [a, b, c] = corner(k).map(|i| ring[i]);
                turn(a, b, c) / (b - a).length().max((c - b).length()).max((a - c).length())
            };
            least(j).total_cmp(&least(k))
        })?;
        found.push(corner(ear).to_vec());
        left.remove(ear);
    }
    (turn(ring[left[0]], ring[left[1]], ring[left[2]]) > 0.0).then(|| found.push(left))?;
    Some(found)
}

/// Two pieces put together along the diagonal they share, if that is convex.
fn merged(ring: &[Point], a: &[usize], b: &[usize]) -> Option<Vec<usize>> {
    let (n, m) = (a.len(), b.len());
    let (i, j) = (0..n)
        .flat_map(|i| (0..m).map(move |j| (i, j)))
        .find(|&(i, j)| a[i] == b[(j + 1) % m] && a[(i + 1) % n] == b[j])?;
    // From the end of the shared edge round `a`, then round `b`.
    let corners: Vec<usize> =
        (0..n).map(|k| a[(i + 1 + k) % n]).chain((1..m - 1).map(|k| b[(j + 1 + k) % m])).collect();
    let count = corners.len();
    let at = |k: usize| ring[corners[k % count]];
    (0..count).all(|k| turn(at(k), at(k + 1), at(k + 2)) >= 0.0).then_some(corners)
}

/// A shape in convex pieces, laid out for vector instructions: corners, and a line through each edge.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pieces {
    /// Coordinates of the corners, piece after piece; each piece's last group is filled up with its last corner.
    x: Vec<[f64; LANES]>,
    y: Vec<[f64; LANES]>,
    /// Outward unit normal of each edge, and how far out along it the edge lies.
    faces: Vec<(Vector, f64)>,
    /// Where each piece ends.
    ends: Vec<End>,
}

/// End of a piece among the groups of corners and among the faces, and the square root of its area.
#[derive(Clone, Copy, Debug)]
struct End {
    groups: usize,
    faces: usize,
    size: f64,
    bounds: Bounds,
    /// Centre and radius of a piece that is round, and has neither corners nor faces.
    round: Option<(Point, f64)>,
}

fn around((center, radius): (Point, f64)) -> Bounds {
    let reach = Vector::new(radius, radius);
    Bounds { min: center - reach, max: center + reach }
}

impl Pieces {
    /// The pieces of a polygon without holes, counter-clockwise; none if there would be too many, or the polygon is too
    /// thin to tell.
    ///
    /// Corners that stand out of an edge's line by less than `touch` count as on it.
    pub(crate) fn new(ring: &[Point], touch: f64) -> Self {
        Self::up_to(MOST_CORNERS, ring, touch)
    }

    /// The same for an outline around holes: its circles tell of the holes only by what they leave out, so many corners more
    /// are worth it.
    pub(crate) fn around_holes(ring: &[Point], touch: f64) -> Self {
        Self::up_to(MOST_CORNERS_AROUND, ring, touch)
    }

    /// One round piece.
    pub(crate) fn round(center: Point, radius: f64) -> Self {
        let size = (std::f64::consts::PI * radius * radius).sqrt();
        let (bounds, round) = (around((center, radius)), Some((center, radius)));
        Self { ends: vec![End { groups: 0, faces: 0, size, bounds, round }], ..Self::default() }
    }

    fn up_to(most_corners: usize, ring: &[Point], touch: f64) -> Self {
        let mut pieces = Self::default();
        if ring.len() > most_corners {
            return pieces;
        }
        let found = convex_pieces(ring).unwrap_or_default();
        if found.len() > MOST_PIECES {
            return pieces;
        }
        for piece in found {
            if pieces.push(&piece, touch).is_none() {
                return Self::default();
            }
        }
        pieces
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    fn push(&mut self, corners: &[Point], touch: f64) -> Option<()> {
        let mut twice_area = 0.0;
        for (index, &from) in corners.iter().enumerate() {
            let to = corners[(index + 1) % corners.len()];
            twice_area += from.to_vector().cross(to.to_vector());
            let normal = -(to - from).unit()?.left();
            let out = normal.dot(from.to_vector()).max(normal.dot(to.to_vector()));
            if corners.iter().any(|corner| normal.dot(corner.to_vector()) > out + touch) {
                return None;
            }
            self.faces.push((normal, out));
        }
        for chunk in corners.chunks(LANES) {
            let corner = |lane: usize| chunk[lane.min(chunk.len() - 1)];
            self.x.push(std::array::from_fn(|lane| corner(lane).x));
            self.y.push(std::array::from_fn(|lane| corner(lane).y));
        }
        let size = (0.5 * twice_area).max(0.0).sqrt();
        let bounds = Bounds::of(corners.iter().copied());
        self.ends.push(End { groups: self.x.len(), faces: self.faces.len(), size, bounds, round: None });
        Some(())
    }

    /// Writes the pieces, turned by an angle of known sine and cosine and then moved, over others.
    #[inline]
    pub(crate) fn moved_into(&self, rotation: (f64, f64), by: Point, into: &mut Self) {
        into.x.clear();
        into.y.clear();
        into.faces.clear();
        into.ends.clear();
        let shift = by.to_vector();
        if rotation == (0.0, 1.0) {
            into.x.extend(self.x.iter().map(|group| group.map(|x| x + by.x)));
            into.y.extend(self.y.iter().map(|group| group.map(|y| y + by.y)));
            into.faces.extend(self.faces.iter().map(|&(normal, out)| (normal, out + normal.dot(shift))));
            into.ends.extend(self.ends.iter().map(|&end| {
                let Bounds { min, max } = end.bounds;
                let round = end.round.map(|(center, radius)| (center + shift, radius));
                End { bounds: Bounds { min: min + shift, max: max + shift }, round, ..end }
            }));
            return;
        }
        let (sin, cos) = rotation;
        for (xs, ys) in self.x.iter().zip(&self.y) {
            into.x.push(std::array::from_fn(|i| cos * xs[i] - sin * ys[i] + by.x));
            into.y.push(std::array::from_fn(|i| sin * xs[i] + cos * ys[i] + by.y));
        }
        into.faces.extend(self.faces.iter().map(|&(normal, out)| {
            let normal = turned(Point::new(normal.x, normal.y), rotation).to_vector();
            (normal, out + normal.dot(shift))
        }));
        let mut begin = 0;
        for &end in &self.ends {
            if let Some((center, radius)) = end.round {
                let round = (turned(center, rotation) + shift, radius);
                into.ends.push(End { bounds: around(round), round: Some(round), ..end });
                continue;
            }
            let (mut min, mut max) =
                (Point::new(f64::INFINITY, f64::INFINITY), Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
            for (xs, ys) in into.x[begin..end.groups].iter().zip(&into.y[begin..end.groups]) {
                for i in 0..LANES {
                    min = Point::new(lesser(xs[i], min.x), lesser(ys[i], min.y));
                    max = Point::new(greater(xs[i], max.x), greater(ys[i], max.y));
                }
            }
            into.ends.push(End { bounds: Bounds { min, max }, ..end });
            begin = end.groups;
        }
    }

    /// The piece that ends here and begins where the one before it ends.
    #[inline(always)]
    fn piece(&self, (groups, faces): (usize, usize), end: &End) -> Piece<'_> {
        Piece {
            x: &self.x[groups..end.groups],
            y: &self.y[groups..end.groups],
            faces: &self.faces[faces..end.faces],
            size: end.size,
            round: end.round,
        }
    }
}

#[derive(Clone, Copy)]
struct Piece<'a> {
    x: &'a [[f64; LANES]],
    y: &'a [[f64; LANES]],
    faces: &'a [(Vector, f64)],
    size: f64,
    round: Option<(Point, f64)>,
}

impl Vectors {
    /// How deep two shapes sink into each other: the sum over all pairs of pieces of the least distance by which one must
    /// move to come clear of the other (separating axes) times the smaller piece's size, an area. Pairs that sink into
    /// each other by no more than `touch` count as apart; zero means that all are.
    #[inline]
    pub(crate) fn pieces_depth(self, a: &Pieces, b: &Pieces, touch: f64) -> f64 {
        self.arch().dispatch(PiecesDepth { a, b, touch })
    }
}

struct PiecesDepth<'a> {
    a: &'a Pieces,
    b: &'a Pieces,
    touch: f64,
}

impl NullaryFnOnce for PiecesDepth<'_> {
    type Output = f64;

    #[inline(always)]
    fn call(self) -> f64 {
        let mut sum = 0.0;
        let mut start = (0, 0);
        for end in &self.a.ends {
            let one = self.a.piece(start, end);
            start = (end.groups, end.faces);
            let mut other_start = (0, 0);
            for other_end in &self.b.ends {
                let two_start = other_start;
                other_start = (other_end.groups, other_end.faces);
                let (box_a, box_b) = (end.bounds, other_end.bounds);
                let meets = (box_a.min.x < box_b.max.x)
                    & (box_b.min.x < box_a.max.x)
                    & (box_a.min.y < box_b.max.y)
                    & (box_b.min.y < box_a.max.y);
                if !meets {
                    continue;
                }
                let two = self.b.piece(two_start, other_end);
                let round = match (one.round, two.round) {
                    (None, None) => None,
                    (Some(round), _) => Some(round_depth(round, two)),
                    (None, Some(round)) => Some(round_depth(round, one)),
                };
                if let Some(depth) = round {
                    if depth > self.touch {
                        sum += depth * lesser(one.size, two.size);
                    }
                    continue;
                }
                let depth = beyond(one, two, self.touch);
                if depth <= self.touch {
                    continue;
                }
                let depth = lesser(depth, beyond(two, one, self.touch));
                if depth > self.touch {
                    sum += depth * lesser(one.size, two.size);
                }
            }
        }
        sum
    }
}

/// How far a circle has to move at least to come clear of a piece; not positive where it is clear.
#[inline(always)]
fn round_depth((center, radius): (Point, f64), other: Piece<'_>) -> f64 {
    if let Some((other_center, other_radius)) = other.round {
        return radius + other_radius - (center - other_center).length();
    }
    // How far the centre lies before the face that it lies farthest before.
    let mut most = f64::NEG_INFINITY;
    for &(normal, out) in other.faces {
        most = greater(normal.x * center.x + normal.y * center.y - out, most);
        if most >= radius {
            return 0.0;
        }
    }
    if most <= 0.0 {
        return radius - most;
    }
    // Between two faces it is a corner that is nearest; beside one, the foot on it.
    let mut least = f64::INFINITY;
    for (index, &(normal, out)) in other.faces.iter().enumerate() {
        let before = normal.x * center.x + normal.y * center.y - out;
        if before > 0.0 {
            let next = if index + 1 == other.faces.len() { 0 } else { index + 1 };
            let corner = |k: usize| Point::new(other.x[k / LANES][k % LANES], other.y[k / LANES][k % LANES]);
            let (from, to) = (corner(index), corner(next));
            let along = to - from;
            let share = (center - from).dot(along) / along.length_squared();
            let foot = from + along * lesser(greater(share, 0.0), 1.0);
            least = lesser((center - foot).length_squared(), least);
        }
    }
    radius - least.sqrt()
}

/// The least depth of a piece behind the faces of another; whatever is at hand once it is no more than `touch`.
#[inline(always)]
fn beyond(one: Piece<'_>, other: Piece<'_>, touch: f64) -> f64 {
    let mut least = f64::INFINITY;
    for &(normal, out) in one.faces {
        let mut nearest = [f64::INFINITY; LANES];
        for (xs, ys) in other.x.iter().zip(other.y) {
            for i in 0..LANES {
                nearest[i] = lesser(normal.x * xs[i] + normal.y * ys[i], nearest[i]);
            }
        }
        let nearest = lesser(lesser(nearest[0], nearest[1]), lesser(nearest[2], nearest[3]));
        least = lesser(out - nearest, least);
        if least <= touch {
            break;
        }
    }
    least
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use geo::{BooleanOps, Intersects};
    use proptest::prelude::*;

    fn area(ring: &[Point]) -> f64 {
        let n = ring.len();
        (0..n).map(|i| ring[i].to_vector().cross(ring[(i + 1) % n].to_vector())).sum::<f64>() / 2.0
    }

    /// A star-shaped polygon about the origin, counter-clockwise, mostly not convex.
    pub(crate) fn star() -> impl Strategy<Value = Vec<Point>> {
        prop::collection::vec(0.3..1.0_f64, 3..9).prop_map(|radii| {
            let step = std::f64::consts::TAU / radii.len() as f64;
            let corner = |(i, r): (usize, f64)| Point::new(r * (i as f64 * step).cos(), r * (i as f64 * step).sin());
            radii.into_iter().enumerate().map(corner).collect()
        })
    }

    pub(crate) fn reference(ring: &[Point]) -> geo::Polygon {
        geo::Polygon::new(ring.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>().into(), Vec::new())
    }

    fn moved(pieces: &Pieces, turn_deg: f64, by: Point) -> Pieces {
        let mut moved = Pieces::default();
        pieces.moved_into(dropwise_geometry::sin_cos_deg(turn_deg), by, &mut moved);
        moved
    }

    #[test]
    fn squares_sink_by_the_overlap_of_their_sides() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point::new(x, y));
        let pieces = Pieces::new(&square, 1e-9);
        let depth = |x, y| Vectors::default().pieces_depth(&pieces, &moved(&pieces, 0.0, Point::new(x, y)), 1e-9);
        // Three out of ten deep, times the size of ten.
        assert!((depth(7.0, 1.0) - 30.0).abs() < 1e-9);
        assert!((depth(-1.0, 6.0) - 40.0).abs() < 1e-9);
        assert_eq!(depth(10.0, 0.0), 0.0);
        assert_eq!(depth(0.0, -11.0), 0.0);
    }

    #[test]
    fn an_angle_falls_into_two_pieces_and_holds_another() {
        let angle =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 2.0), (2.0, 2.0), (2.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point::new(x, y));
        let pieces = Pieces::new(&angle, 1e-9);
        assert_eq!(pieces.ends.len(), 2);
        let depth = |x, y| Vectors::default().pieces_depth(&pieces, &moved(&pieces, 0.0, Point::new(x, y)), 1e-9);
        assert_eq!(depth(2.0, 2.0), 0.0);
        assert!(depth(1.9, 2.0) > 0.0);
    }

    #[test]
    fn too_many_corners_or_no_area_give_no_pieces() {
        let round: Vec<Point> = (0..40).map(|i| Point::new(f64::from(i).cos(), f64::from(i).sin())).collect();
        assert!(Pieces::new(&round, 1e-9).is_empty());
        let flat = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)].map(|(x, y)| Point::new(x, y));
        assert!(Pieces::new(&flat, 1e-9).is_empty());
    }

    fn regular(corners: u32, radius: f64) -> Vec<Point> {
        let at = |k: u32| f64::from(k) / f64::from(corners) * std::f64::consts::TAU;
        (0..corners).map(|k| Point::new(radius * at(k).cos(), radius * at(k).sin())).collect()
    }

    proptest! {
        // Each case weighs some thousand corners.
        #![proptest_config(ProptestConfig::with_cases(32))]

        // A polygon of so many corners about a circle of radius r comes within r (1 - cos(π / n)) of it: here 1e-6.
        #[test]
        fn a_round_sinks_as_deep_as_a_polygon_of_very_many_corners(
            ring in star(), radius in 0.2..1.5_f64, turn in 0.0..360.0_f64, x in -2.0..2.0_f64, y in -2.0..2.0_f64
        ) {
            let other = Pieces::new(&ring, 1e-9);
            prop_assume!(!other.is_empty());
            let (round, many) = (Pieces::round(Point::new(0.3, 0.0), radius), regular(3_000, radius));
            let many: Vec<Point> = many.into_iter().map(|p| p + Vector::new(0.3, 0.0)).collect();
            let mut round_by_corners = Pieces::default();
            round_by_corners.push(&many, 1e-9).expect("it is convex");
            let many = round_by_corners;
            let depth = |pieces: &Pieces| Vectors::default().pieces_depth(&moved(pieces, turn, Point::new(x, y)), &other, 1e-9);
            let reversed = Vectors::default().pieces_depth(&other, &moved(&round, turn, Point::new(x, y)), 1e-9);
            prop_assert!((depth(&round) - depth(&many)).abs() < 1e-5, "{} for {}", depth(&round), depth(&many));
            prop_assert_eq!(depth(&round), reversed);
        }
    }

    proptest! {
        #[test]
        fn two_rounds_sink_by_how_much_nearer_their_centres_are_than_both_radii(
            radii in (0.2..2.0_f64, 0.2..2.0_f64), x in -3.0..3.0_f64, y in -3.0..3.0_f64
        ) {
            let (one, two) = (Pieces::round(Point::ORIGIN, radii.0), Pieces::round(Point::ORIGIN, radii.1));
            let depth = Vectors::default().pieces_depth(&one, &moved(&two, 0.0, Point::new(x, y)), 1e-9);
            let size = radii.0.min(radii.1) * std::f64::consts::PI.sqrt();
            let expected = (radii.0 + radii.1 - x.hypot(y)).max(0.0) * size;
            prop_assert!((depth - expected).abs() < 1e-8, "{depth} for {expected}");
        }

        #[test]
        fn pieces_are_convex_and_make_up_the_polygon(ring in star()) {
            let pieces = convex_pieces(&ring).expect("a star has area");
            let sum: f64 = pieces.iter().map(|piece| area(piece)).sum();
            prop_assert!((sum - area(&ring)).abs() < 1e-9);
        }

        // `geo` judges the same polygons; where they overlap by less than can be told, either answer will do.
        #[test]
        fn an_overlap_is_one_by_a_general_library_too(a in star(), b in star(), turn in 0.0..360.0_f64, x in -2.0..2.0_f64, y in -2.0..2.0_f64) {
            let (one, two) = (Pieces::new(&a, 1e-9), Pieces::new(&b, 1e-9));
            prop_assume!(!one.is_empty() && !two.is_empty());
            let at = Point::new(x, y);
            let depth = Vectors::default().pieces_depth(&one, &moved(&two, turn, at), 1e-9);
            let rotation = dropwise_geometry::sin_cos_deg(turn);
            let there: Vec<Point> = b.iter().map(|&p| turned(p, rotation) + at.to_vector()).collect();
            let (a, b) = (reference(&a), reference(&there));
            let shared = geo::Area::unsigned_area(&a.intersection(&b));
            if shared > 1e-6 {
                prop_assert!(depth > 0.0);
            }
            if !a.intersects(&b) {
                prop_assert_eq!(depth, 0.0);
            }
        }

        // What the depth says is enough, and no less is: two convex shapes move apart by exactly that.
        #[test]
        fn convex_shapes_come_clear_by_their_depth_in_some_direction(width in 0.5..2.0_f64, height in 0.5..2.0_f64, turn in 0.0..360.0_f64, x in -1.0..1.0_f64, y in -1.0..1.0_f64) {
            let rectangle = |w: f64, h: f64| [(-w, -h), (w, -h), (w, h), (-w, h)].map(|(x, y)| Point::new(x, y));
            let (one, two) = (Pieces::new(&rectangle(1.0, 1.0), 1e-9), Pieces::new(&rectangle(width, height), 1e-9));
            let depth = |by: Vector| Vectors::default().pieces_depth(&one, &moved(&two, turn, Point::new(x, y) + by), 1e-9);
            let start = depth(Vector::new(0.0, 0.0));
            let size = 2.0_f64.min(2.0 * (width * height).sqrt());
            let way = start / size;
            let clears = |far: f64| (0..3600).any(|k| {
                let (sin, cos) = dropwise_geometry::sin_cos_deg(f64::from(k) / 10.0);
                depth(Vector::new(cos, sin) * far) == 0.0
            });
            prop_assert!(clears(way * 1.001 + 1e-6));
            prop_assert!(way < 1e-6 || !clears(way * 0.999 - 1e-6));
        }
    }
}
