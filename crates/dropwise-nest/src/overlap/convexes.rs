//! Lines that keep two placed shapes apart, for shapes of which no no-fit polygon is kept: those that turn freely, those
//! of many corners, and what is wrong with sheets.

use dropwise_geometry::{Bounds, Point, Vector};

use crate::overlap::convex::convex_pieces;
use crate::overlap::no_fit::Separation;
use crate::shapes::pose::turned;

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

/// A way to tell two pieces apart: as long as `gap + along · move` is not negative, where the move is that of the second
/// seen from the first, a line at right angles to `along` lies between them.
#[derive(Clone, Copy)]
struct Gap {
    along: Vector,
    gap: f64,
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
    /// The ways to tell it from a second piece.
    fn gaps<'a>(&'a self, second: &'a Self) -> impl Iterator<Item = Gap> + 'a {
        let reach = |piece: &Self, along: Vector| {
            piece.corners.iter().map(|corner| along.dot(corner.to_vector())).fold(f64::NEG_INFINITY, f64::max)
        };
        let alongs = self.normals.iter().copied().chain(second.normals.iter().map(|&normal| -normal));
        alongs.map(move |along| Gap { along, gap: -reach(second, -along) - reach(self, along) })
    }
}

/// Lines that keep the second of two shapes off the first, with how far it is off each: negative where they overlap there.
/// Only those within `reach` of each other are looked at, mm. Shapes that overlap by more than `touch` are told apart by
/// lines that a short move of the second would bring it before, if there is one.
pub(crate) fn separations(first: &Convexes, second: &Convexes, reach: f64, touch: f64) -> Vec<Separation> {
    let mut pairs: Vec<Vec<Gap>> = Vec::new();
    for one in &first.0 {
        let around = one.bounds.expanded(reach);
        pairs.extend(second.0.iter().filter(|two| around.intersects(two.bounds)).map(|two| one.gaps(two).collect()));
    }
    let widest = |gaps: &[Gap], by: Vector| {
        gaps.iter().map(|gap| (gap.along, gap.gap + gap.along.dot(by))).max_by(|a, b| a.1.total_cmp(&b.1))
    };
    // How deep the two still overlap after a move of the second.
    let depth = |by: Vector| {
        let deepest = |depth: f64, gaps: &Vec<Gap>| widest(gaps, by).map_or(depth, |(_, gap)| depth.max(-gap));
        pairs.iter().fold(0.0, deepest)
    };
    let mut best = (depth(Vector::new(0.0, 0.0)), 0.0, Vector::new(0.0, 0.0));
    if best.0 > touch {
        for gaps in pairs.iter().filter(|gaps| widest(gaps, Vector::new(0.0, 0.0)).is_some_and(|(_, gap)| gap < -touch))
        {
            for gap in gaps {
                let by = gap.along * -gap.gap;
                if by.length() < reach {
                    let depth = depth(by);
                    let left = if depth <= touch { 0.0 } else { depth };
                    if (left, by.length()) < (best.0, best.1) {
                        best = (left, by.length(), by);
                    }
                }
            }
        }
    }
    let by = best.2;
    let line = |gaps: &Vec<Gap>| {
        let (normal, gap) = widest(gaps, by)?;
        Some(Separation { normal, distance: gap - normal.dot(by) })
    };
    pairs.iter().filter_map(line).filter(|line| line.distance < reach).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> Convexes {
        let corners: Vec<Point> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
        Convexes::new(&corners).expect("it can be cut up")
    }

    #[test]
    fn squares_are_kept_apart_along_the_shorter_way() {
        let square = ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
        let beside = |x: f64, y: f64| {
            let lines = separations(&square, &square.laid((0.0, 1.0), Point::new(x, y)), 5.0, 1e-6);
            lines.iter().map(|line| (line.normal.x, line.normal.y, line.distance)).collect::<Vec<_>>()
        };
        assert_eq!(beside(12.0, 1.0), [(1.0, 0.0, 2.0)]);
        assert_eq!(beside(-1.0, -9.0), [(0.0, -1.0, -1.0)]);
        assert_eq!(beside(30.0, 0.0), []);
    }

    #[test]
    fn one_move_leads_out_of_a_slot() {
        // A fork open to the right, and a bar that has sunk into its upper arm.
        let fork = [
            (0.0, 0.0),
            (30.0, 0.0),
            (30.0, 10.0),
            (10.0, 10.0),
            (10.0, 20.0),
            (30.0, 20.0),
            (30.0, 30.0),
            (0.0, 30.0),
        ];
        let bar = ring(&[(0.0, 0.0), (19.0, 0.0), (19.0, 9.0), (0.0, 9.0)]);
        let lines = separations(&ring(&fork), &bar.laid((0.0, 1.0), Point::new(10.5, 11.5)), 8.0, 1e-6);
        // A move down by half a millimetre keeps to all of them.
        let by = Vector::new(0.0, -0.5);
        assert!(lines.len() > 1);
        for line in &lines {
            assert!(line.distance + line.normal.dot(by) >= -1e-9, "{line:?}");
        }
    }

    #[test]
    fn pieces_turn_with_their_shape() {
        let square = ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
        // A quarter turn puts the second left of its reference point.
        let second = square.laid((1.0, 0.0), Point::new(22.0, 0.0));
        let lines = separations(&square, &second, 5.0, 1e-6);
        assert_eq!(lines.len(), 1);
        assert!((lines[0].distance - 2.0).abs() < 1e-12 && (lines[0].normal.x - 1.0).abs() < 1e-12);
    }
}
