//! The plates of a finished part cut into convex pieces.

use dropwise_geometry::{Point, Polygon, Side, Vector, intersection, offset};

use super::Plate;
use super::convex::Convex;
use crate::fold::{FaceFrame, FlatBend, Folded, Point3, Unfolding};

/// How far chords may be off the outside of a bend, mm.
const BEND_CHORD: f64 = 0.02;

/// How far chords may be off curves of the cut, mm.
const CUT_CHORD: f64 = 0.02;

/// Levels nearer to one another than this are one, mm.
const SAME_LEVEL: f64 = 1e-6;

/// A plate in space.
pub(super) struct Metal {
    pub(super) plate: Plate,
    pieces: Vec<Convex>,
}

impl Metal {
    /// Whether two plates share more than a volume, mm³.
    pub(super) fn shares_more_than(&self, other: &Self, volume: f64) -> bool {
        let mut sum = 0.0;
        for one in &self.pieces {
            for two in other.pieces.iter().filter(|two| one.is_near(two)) {
                sum += one.shared(two).map_or(0.0, |shared| shared.volume());
                if sum > volume {
                    return true;
                }
            }
        }
        false
    }

    /// What they share.
    pub(super) fn shared(&self, other: &Self) -> Vec<Convex> {
        self.pieces.iter().flat_map(|one| other.pieces.iter().filter_map(|two| one.shared(two))).collect()
    }
}

/// All plates of a part, shrunk all round by so much: first the faces, then the bends, each as the flat pattern has them. A
/// plate of which nothing is left has no pieces.
pub(super) fn metal(flat: &Unfolding, folded: &Folded, shrunk: f64) -> Vec<Metal> {
    let cut = flat.shape.flatten(CUT_CHORD, Side::Shrink);
    let heights = [shrunk, flat.thickness - shrunk];
    let of_region = |region: Polygon| -> Vec<Polygon> {
        // Where a boolean operation cannot be trusted there is too much metal: a fault too many is told, none is missed.
        let region = [region];
        let metal = intersection(&region, std::slice::from_ref(&cut)).unwrap_or_else(|_| region.to_vec());
        if shrunk > 0.0 { offset(&metal, -shrunk, CUT_CHORD).unwrap_or(metal) } else { metal }
    };
    let faces = flat.faces.iter().enumerate().map(|(index, face)| {
        let region = Polygon::new(face.region.exterior().flatten(CUT_CHORD, Side::Grow), Vec::new());
        let place = |point: Point, height: f64| folded.faces[index].at(point, height);
        let pieces =
            of_region(region).iter().flat_map(|polygon| prisms(polygon, face.frame, heights, &place)).collect();
        Metal { plate: Plate::Face(index), pieces }
    });
    let bends = flat.bends.iter().enumerate().map(|(index, bend)| {
        let region = Polygon::new(vec![bend.start[0], bend.end[0], bend.end[1], bend.start[1]], Vec::new());
        let left = of_region(region);
        let count = strips(bend, flat.thickness);
        let along = (bend.start[1] - bend.start[0]).unit().unwrap_or(Vector::new(1.0, 0.0));
        let frame = FaceFrame { origin: bend.start[0], x_axis: along };
        let pieces = (0..count).flat_map(|strip| {
            let [low, high] = [strip, strip + 1].map(|line| line as f64 / count as f64);
            let line = |share: f64| [bend.start[0].lerp(bend.end[0], share), bend.start[1].lerp(bend.end[1], share)];
            let (from, to) = (line(low), line(high));
            let region = Polygon::new(vec![from[0], from[1], to[1], to[0]], Vec::new());
            // On the chord between the strip's two lines, so that pieces are convex and close on each other.
            let place = |point: Point, height: f64| {
                let allowance = bend.figures.allowance;
                let across = (point - bend.start[0]).dot(-along.left());
                let on_line = |share: f64| {
                    let foot = point + -along.left() * (share * allowance - across);
                    folded.bends[index].at(foot, height)
                };
                let (from, to) = (on_line(low), on_line(high));
                from + (to - from) * ((across / allowance - low) / (high - low))
            };
            let region = [region];
            intersection(&left, &region)
                .unwrap_or_else(|_| region.to_vec())
                .iter()
                .flat_map(|piece| prisms(piece, frame, heights, &place))
                .collect::<Vec<_>>()
        });
        Metal { plate: Plate::Bend(bend.face), pieces: pieces.collect() }
    });
    faces.chain(bends).collect()
}

/// A face on the flat without its holes, shrunk all round by so much, in convex pieces.
pub(crate) fn flat_plates(flat: &Unfolding, face: usize, shrunk: f64) -> Vec<[Point; 4]> {
    let face = &flat.faces[face];
    let region = Polygon::new(face.region.exterior().flatten(CUT_CHORD, Side::Grow), Vec::new());
    let cut = Polygon::new(flat.shape.exterior().flatten(CUT_CHORD, Side::Shrink), Vec::new());
    let region = [region];
    // What cannot be worked out counts as metal: that may report a clash too much, never one too few.
    let metal = intersection(&region, &[cut]).unwrap_or_else(|_| region.to_vec());
    let left = offset(&metal, -shrunk, CUT_CHORD).unwrap_or(metal);
    left.iter().flat_map(|polygon| trapezoids(polygon, face.frame)).collect()
}

/// Into how many flat strips a bend is cut, so that the chord of each stays as near to the outside as wanted.
fn strips(bend: &FlatBend, thickness: f64) -> usize {
    let outer = bend.figures.bend.radius() + thickness;
    let half = (1.0 - BEND_CHORD / outer).clamp(-1.0, 1.0).acos().to_degrees();
    ((bend.figures.bend.turn() / (2.0 * half)).ceil() as usize).clamp(1, 90)
}

/// Convex bodies over a polygon, between two heights of the sheet.
fn prisms(polygon: &Polygon, frame: FaceFrame, heights: [f64; 2], place: &dyn Fn(Point, f64) -> Point3) -> Vec<Convex> {
    trapezoids(polygon, frame)
        .iter()
        .filter_map(|corners| {
            let points: Vec<Point3> =
                corners.iter().flat_map(|&corner| heights.map(|height| place(corner, height))).collect();
            Convex::hull(&points)
        })
        .collect()
}

/// A polygon with holes as trapezoids with level sides, seen in a frame: those between the same two sides are one.
///
/// # Source
/// M. de Berg and others, Computational Geometry, chapter 6: trapezoidal maps; here strip by strip.
fn trapezoids(polygon: &Polygon, frame: FaceFrame) -> Vec<[Point; 4]> {
    let sides: Vec<[Point; 2]> = polygon
        .rings()
        .flat_map(|ring| {
            let seen: Vec<Point> = ring.iter().map(|&point| frame.to_face(point)).collect();
            (0..seen.len()).map(|i| [seen[i], seen[(i + 1) % seen.len()]]).collect::<Vec<_>>()
        })
        .collect();
    let mut levels: Vec<f64> = sides.iter().map(|side| side[0].y).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup_by(|a, b| *a - *b < SAME_LEVEL);
    // Left and right side, and from which level to which.
    let mut found: Vec<(usize, usize, f64, f64)> = Vec::new();
    for pair in levels.windows(2) {
        let (low, high) = (pair[0], pair[1]);
        let middle = (low + high) / 2.0;
        let mut crossed: Vec<(f64, usize)> = sides
            .iter()
            .enumerate()
            .filter(|(_, side)| (side[0].y > middle) != (side[1].y > middle))
            .map(|(index, side)| (at_level(side, middle), index))
            .collect();
        crossed.sort_by(|a, b| a.0.total_cmp(&b.0));
        for sides in crossed.chunks_exact(2) {
            let (left, right) = (sides[0].1, sides[1].1);
            match found.iter_mut().find(|known| (known.0, known.1, known.3) == (left, right, low)) {
                Some(known) => known.3 = high,
                None => found.push((left, right, low, high)),
            }
        }
    }
    let corner = |side: usize, level: f64| frame.to_flat(Point::new(at_level(&sides[side], level), level));
    found
        .into_iter()
        .map(|(left, right, low, high)| {
            [corner(left, low), corner(right, low), corner(right, high), corner(left, high)]
        })
        .collect()
}

fn at_level(side: &[Point; 2], level: f64) -> f64 {
    let share = (level - side[0].y) / (side[1].y - side[0].y);
    side[0].x + (side[1].x - side[0].x) * share.clamp(0.0, 1.0)
}
