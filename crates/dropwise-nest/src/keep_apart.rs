//! Lines that keep two placed shapes apart, for shapes of which no no-fit polygon is kept: those that turn freely, those
//! of many corners, and what is wrong with sheets.

use dropwise_geometry::{Bounds, Point, Vector};

use crate::convex::convex_pieces;
use crate::task::turned;

/// A shape of more corners than this is not cut into pieces.
const MOST_CORNERS: usize = 300;

/// A convex piece of a shape.
#[derive(Clone, Debug)]
pub(crate) struct Convex {
    corners: Vec<Point>,
    /// Outward unit normal of each edge.
    normals: Vec<Vector>,
    bounds: Bounds,
}

/// A shape in convex pieces, in its own frame or laid somewhere.
#[derive(Clone, Debug)]
pub(crate) struct Convexes(Vec<Convex>);

/// A line between two pieces, along an edge of one of them: as long as `gap + along · move` is not negative, where the move
/// is that of the second seen from the first, it keeps them apart.
#[derive(Clone, Copy)]
struct Gap<'a> {
    along: Vector,
    gap: f64,
    /// How far out the edge lies, in the direction of `along`, and the corners of the other piece.
    edge: f64,
    corners: &'a [Point],
    is_of_first: bool,
}

/// A line that keeps the second of two shapes off the first.
#[derive(Clone, Debug)]
pub(crate) struct Line {
    /// Unit normal, from the first to the second.
    pub(crate) along: Vector,
    /// Corners that must stay on their own side, and how far off it each is; negative across it.
    pub(crate) corners: Vec<(Point, f64)>,
}

impl Convexes {
    /// The pieces of a ring, counter-clockwise; `None` if it is too thin to cut up or has too many corners.
    pub(crate) fn new(ring: &[Point]) -> Option<Self> {
        if ring.len() > MOST_CORNERS {
            return None;
        }
        let convex = |corners: Vec<Point>| {
            let next = corners.iter().cycle().skip(1);
            let normals =
                corners.iter().zip(next).filter_map(|(&from, &to)| Some(-(to - from).unit()?.left())).collect();
            Convex { normals, bounds: Bounds::of(corners.iter().copied()), corners }
        };
        Some(Self(convex_pieces(ring)?.into_iter().map(convex).collect()))
    }

    /// The same, turned by an angle of known sine and cosine and then moved.
    pub(crate) fn laid(&self, rotation: (f64, f64), by: Point) -> Self {
        let shift = by.to_vector();
        let lay = |piece: &Convex| {
            let corners: Vec<Point> = piece.corners.iter().map(|&corner| turned(corner, rotation) + shift).collect();
            let turn = |normal: &Vector| turned(Point::new(normal.x, normal.y), rotation).to_vector();
            Convex {
                normals: piece.normals.iter().map(turn).collect(),
                bounds: Bounds::of(corners.iter().copied()),
                corners,
            }
        };
        Self(self.0.iter().map(lay).collect())
    }
}

impl Convex {
    fn reach(&self, along: Vector) -> f64 {
        self.corners.iter().map(|corner| along.dot(corner.to_vector())).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The lines between it and a second piece.
    fn gaps<'a>(&'a self, second: &'a Self) -> impl Iterator<Item = Gap<'a>> + 'a {
        let of_first = self.normals.iter().map(move |&along| {
            let edge = self.reach(along);
            Gap { along, gap: -second.reach(-along) - edge, edge, corners: &second.corners, is_of_first: true }
        });
        let of_second = second.normals.iter().map(move |&normal| {
            let (along, edge) = (-normal, -second.reach(normal));
            Gap { along, gap: edge - self.reach(along), edge, corners: &self.corners, is_of_first: false }
        });
        of_first.chain(of_second)
    }
}

impl Gap<'_> {
    /// The line, with the corners that are no more than `depth` farther from it than the nearest.
    fn line(&self, depth: f64) -> Line {
        let off = |corner: &Point| {
            let off = self.along.dot(corner.to_vector()) - self.edge;
            if self.is_of_first { off } else { -off }
        };
        let corners = self.corners.iter().map(|corner| (*corner, off(corner)));
        Line { along: self.along, corners: corners.filter(|&(_, off)| off <= self.gap + depth).collect() }
    }
}

/// Lines that keep the second of two shapes off the first, and what of their corners is no more than `depth` farther from
/// them than the nearest. Only pieces within `reach` of each other are looked at, mm. Shapes that overlap by more than
/// `touch` are kept apart by lines that a short move of the second would bring it before, if there is such a move.
pub(crate) fn lines_between(first: &Convexes, second: &Convexes, reach: f64, depth: f64, touch: f64) -> Vec<Line> {
    let mut pairs: Vec<Vec<Gap<'_>>> = Vec::new();
    for one in &first.0 {
        let around = one.bounds.expanded(reach);
        pairs.extend(second.0.iter().filter(|two| around.intersects(two.bounds)).map(|two| one.gaps(two).collect()));
    }
    let after = |gap: &Gap<'_>, by: Vector| gap.gap + gap.along.dot(by);
    let nothing = Vector::new(0.0, 0.0);
    // The widest gap of each pair once the second is moved.
    let widest = |gaps: &[Gap<'_>], by: Vector| gaps.iter().map(|gap| after(gap, by)).fold(f64::NEG_INFINITY, f64::max);
    let overlap = |by: Vector| pairs.iter().map(|gaps| -widest(gaps, by)).fold(0.0, f64::max);
    let mut least = (overlap(nothing), 0.0, nothing);
    if least.0 > touch {
        for gap in pairs.iter().filter(|gaps| widest(gaps, nothing) < -touch).flatten() {
            let by = gap.along * -gap.gap;
            if by.length() < reach {
                let overlap = overlap(by);
                let left = if overlap <= touch { 0.0 } else { overlap };
                if (left, by.length()) < (least.0, least.1) {
                    least = (left, by.length(), by);
                }
            }
        }
    }
    let by = least.2;
    let line = |gaps: &Vec<Gap<'_>>| {
        let chosen = gaps.iter().max_by(|a, b| after(a, by).total_cmp(&after(b, by)))?;
        (chosen.gap < reach).then(|| chosen.line(depth))
    };
    pairs.iter().filter_map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Convexes {
        let corners: Vec<Point> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
        Convexes::new(&corners).expect("it can be cut up")
    }

    const SQUARE: &[(f64, f64)] = &[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];

    #[test]
    fn squares_are_kept_apart_along_the_shorter_way() {
        let square = ring(SQUARE);
        let beside = |x: f64, y: f64| {
            let second = square.laid((0.0, 1.0), Point::new(x, y));
            let lines = lines_between(&square, &second, 5.0, 1.0, 1e-6);
            lines.into_iter().map(|line| (line.along, line.corners)).collect::<Vec<_>>()
        };
        let [(along, corners)] = &beside(12.0, 1.0)[..] else { panic!("one line") };
        assert!((*along - Vector::new(1.0, 0.0)).length() < 1e-12);
        assert_eq!(corners.len(), 2, "the side that lies along it");
        assert!(corners.iter().all(|&(_, off)| (off - 2.0).abs() < 1e-12));
        let [(along, corners)] = &beside(-1.0, -9.0)[..] else { panic!("one line") };
        assert!((*along - Vector::new(0.0, -1.0)).length() < 1e-12);
        assert!(corners.iter().all(|&(_, off)| (off + 1.0).abs() < 1e-12));
        assert!(beside(30.0, 0.0).is_empty());
    }

    #[test]
    fn one_move_leads_out_of_a_slot() {
        // A fork open to the right, and a bar that has sunk into its upper arm.
        let fork = ring(&[
            (0.0, 0.0),
            (30.0, 0.0),
            (30.0, 10.0),
            (10.0, 10.0),
            (10.0, 20.0),
            (30.0, 20.0),
            (30.0, 30.0),
            (0.0, 30.0),
        ]);
        let bar = ring(&[(0.0, 0.0), (19.0, 0.0), (19.0, 9.0), (0.0, 9.0)]);
        let lines = lines_between(&fork, &bar.laid((0.0, 1.0), Point::new(10.5, 11.5)), 8.0, 0.1, 1e-6);
        // A move down by half a millimetre keeps to all of them.
        let by = Vector::new(0.0, -0.5);
        assert!(lines.len() > 1);
        for line in &lines {
            let nearest = line.corners.iter().map(|&(_, off)| off).fold(f64::INFINITY, f64::min);
            assert!(nearest + line.along.dot(by) >= -1e-9, "{line:?}");
        }
    }
}
