//! Regions grown or shrunk by a distance.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::{
    BooleanError, Bounds, MIN_TOLERANCE, Point, Polygon, Vector,
    boolean::{difference_of_clean, union_of_clean},
    polygon::signed_area,
    union,
};

/// The polygons grown (`distance` > 0) or shrunk (`distance` < 0) by a distance, in millimetres.
///
/// The true grown region is everything no farther than `distance` from the polygons, so that convex corners become
/// arcs; the true shrunk region is everything inside that is at least as deep. The result errs on one side: grown, it
/// covers the true region; shrunk, it lies within the true region. In both cases its edges are no farther than
/// `tolerance` from the true ones. A distance of zero cleans the polygons up.
///
/// Polygons that meet when grown are joined, one that falls apart when shrunk becomes several, and none means that
/// nothing is left. For the form of the result, and for input that is not finite, see [`union`]; a distance that is
/// not finite gives nothing. Loops of a ring that crosses itself count as in [`union`].
///
/// # Errors
/// [`BooleanError`] when the areas of a boolean operation on the way do not balance.
///
/// # Accuracy
/// Pieces too thin for the boolean operations are lost, and so is what lies below it: a tolerance below 2⁻²³ of the result's extent
/// (0.0005 mm on a sheet of 4 m) is taken as that.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Point, Polygon, offset};
/// let square = Polygon::new(
///     [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point::new(x, y)).to_vec(),
///     vec![],
/// );
/// let steiner = 100.0 + 40.0 * 2.0 + std::f64::consts::PI * 4.0;
/// let grown = offset(&[square.clone()], 2.0, 0.01)?[0].area();
/// assert!(steiner <= grown && grown < steiner + 0.01 * 53.0);
/// let shrunk = offset(&[square], -2.0, 0.01)?[0].area();
/// assert!(36.0 - 0.01 * 24.0 < shrunk && shrunk <= 36.0);
/// # Ok::<(), dropwise_geometry::BooleanError>(())
/// ```
///
/// # Cost
/// A boolean operation over a strip for each edge: n log n. Where the distance is many times the edges' length, the
/// strips are united in groups first, which takes another log n.
///
/// # Source
/// Minkowski sum with a disc, as the union of the region with a strip for each edge and a sector for each corner; for
/// a convex region its area is A + P d + π d² (Steiner). The more usual single offset ring with its loops removed
/// needs fewer edges but no such plain argument for its side.
pub fn offset(polygons: &[Polygon], distance: f64, tolerance: f64) -> Result<Vec<Polygon>, BooleanError> {
    let clean = union(polygons)?;
    if distance == 0.0 || clean.is_empty() {
        return Ok(clean);
    }
    let bounds = clean.iter().fold(Bounds::EMPTY, |bounds, polygon| bounds.union(polygon.bounds()));
    let extent = bounds.expanded(distance.max(0.0)).diagonal();
    let depth = distance.abs();
    if !extent.is_finite() || !depth.is_finite() {
        return Ok(Vec::new());
    }
    if distance < 0.0 && 2.0 * depth >= bounds.width().min(bounds.height()) {
        // Known without work; and strips far larger than the region would only coarsen the grid.
        return Ok(Vec::new());
    }
    // Rounding, here and in the cleaning above, moves edges, and slivers of up to 2⁻²⁷ of the extent are left out. Going
    // this much too far buys the promised side back, and a quarter of the least tolerance pays for it.
    let allowance = extent * GRID_ALLOWANCE;
    // f64::max also turns NaN into the minimum.
    let tolerance = tolerance.max(MIN_TOLERANCE).max(4.0 * allowance);
    let reach = depth + allowance;
    let corner = CornerFan::new(reach, tolerance - 2.0 * allowance);

    let mut strips = Vec::new();
    for ring in clean.iter().flat_map(Polygon::rings) {
        let mut ring = ring.to_vec();
        if distance < 0.0 {
            // Run backwards, the metal is on the right.
            ring.reverse();
        }
        strips.append(&mut corner.strips_right_of(&ring, allowance)?);
    }
    if distance > 0.0 {
        strips.extend(clean);
        union_of_clean(&strips)
    } else {
        difference_of_clean(&clean, &strips)
    }
}

/// Part of the extent by which an offset goes too far, to outdo rounding: four times the thinnest sliver that is kept.
const GRID_ALLOWANCE: f64 = 1.0 / (1_u64 << 25) as f64;

/// So many edges may have strips that cross those of far neighbours before strips are united in groups. Where all
/// strips along an arc meet at its middle, a single union of n of them takes n³ time: minutes for 2,000.
const FEW: usize = 24;

/// Builds the strips along a ring, a fan of tangents around each corner that the offset has to go around.
struct CornerFan {
    /// How far the offset is.
    reach: f64,
    /// The largest turn between neighbouring tangents that keeps their corner within the tolerance, radians.
    step: f64,
}

/// An edge and the corner at its end.
struct Edge {
    start: Point,
    end: Point,
    along: Vector,
    /// Turn to the next edge, radians, positive to the left, which is convex here.
    turn: f64,
}

impl Edge {
    fn right(&self) -> Vector {
        -self.along.left()
    }
}

impl CornerFan {
    fn new(reach: f64, tolerance: f64) -> Self {
        // From cos(a/2) = d / (d + s), by the half-angle formula for the tangent. A quarter turn at most.
        let step = 4.0 * (tolerance / (2.0 * reach + tolerance)).sqrt().atan();
        // 65,536 tangents around: at the finest tolerance that takes a reach beyond a kilometre.
        Self { reach, step: step.clamp(1e-4, FRAC_PI_2) }
    }

    /// For each edge the strip to its right, together with the fan around the corner at its end.
    fn strips_right_of(&self, ring: &[Point], allowance: f64) -> Result<Vec<Polygon>, BooleanError> {
        let edges = edges(ring);
        let next = |i: usize| &edges[if i + 1 == edges.len() { 0 } else { i + 1 }];
        let crosses_far_neighbours = |i: usize| {
            let shorter = edges[i].start.distance(edges[i].end).min(next(i).start.distance(next(i).end));
            edges[i].turn < 0.0 && self.reach * (-edges[i].turn / 2.0).tan() > shorter / 4.0
        };
        if (0..edges.len()).filter(|&i| crosses_far_neighbours(i)).count() <= FEW {
            let strips = (0..edges.len()).map(|i| self.strip(&edges[i], next(i), 0.0));
            return Ok(strips.filter(|strip| signed_area(&strip.exterior) > 0.0).collect());
        }
        // Each union rounds to a grid of its own, so that strips have to overlap their neighbours and the region by more
        // than that, lest hairlines stay open between them.
        let strips: Vec<Polygon> = (0..edges.len()).map(|i| self.strip(&edges[i], next(i), allowance)).collect();
        unite_in_groups(&strips)
    }

    /// A strip, longer by `overlap` at its ends and wider by as much beyond its edge, and the fan at its end.
    fn strip(&self, edge: &Edge, next: &Edge, overlap: f64) -> Polygon {
        let (normal, back) = (edge.right(), edge.right() * -overlap);
        let start = edge.start - edge.along * overlap;
        let mut strip = vec![start + back, start + normal * self.reach];
        // A full reversal may come out as -π, and needs its fan too.
        let turns_back = edge.turn < 1e-9 - PI;
        if edge.turn > 0.0 || turns_back {
            strip.push(edge.end + normal * self.reach);
            self.push_fan(&mut strip, edge.end, normal, next.right(), edge.turn.abs());
        } else {
            strip.push(edge.end + edge.along * overlap + normal * self.reach);
        }
        strip.push(edge.end + edge.along * overlap + back);
        Polygon { exterior: strip, holes: Vec::new() }
    }

    /// Corners of the tangents from one normal to the next around a point, the last tangent's end included.
    fn push_fan(&self, strip: &mut Vec<Point>, around: Point, from: Vector, to: Vector, turn: f64) {
        let tangents = (turn / self.step).ceil().max(1.0);
        let half = turn / tangents / 2.0;
        let reach = self.reach / half.cos();
        for i in 0..tangents as usize {
            let (sin, cos) = (half * (2 * i + 1) as f64).sin_cos();
            strip.push(around + (from * cos + from.left() * sin) * reach);
        }
        strip.push(around + to * self.reach);
    }
}

/// The edges of a ring. Those so short that their direction underflows are passed over; clean rings have none.
fn edges(ring: &[Point]) -> Vec<Edge> {
    let ends = (0..ring.len()).map(|i| (ring[i], ring[if i + 1 == ring.len() { 0 } else { i + 1 }]));
    let mut edges: Vec<Edge> = ends
        .filter_map(|(start, end)| (end - start).unit().map(|along| Edge { start, end, along, turn: 0.0 }))
        .collect();
    for i in 0..edges.len() {
        let (along, next) = (edges[i].along, edges[if i + 1 == edges.len() { 0 } else { i + 1 }].along);
        edges[i].turn = along.cross(next).atan2(along.dot(next));
    }
    edges
}

/// The union of strips of which neighbours in the list are neighbours in the plane: pairs of ever larger groups, so
/// that what lies under many strips is out of the way before it costs.
fn unite_in_groups(strips: &[Polygon]) -> Result<Vec<Polygon>, BooleanError> {
    if strips.len() <= 4 {
        return union_of_clean(strips);
    }
    let (left, right) = strips.split_at(strips.len() / 2);
    let mut both = unite_in_groups(left)?;
    both.append(&mut unite_in_groups(right)?);
    union_of_clean(&both)
}

#[cfg(test)]
mod tests {
    use crate::sure::offset;
    use crate::{Point, Polygon};

    fn square(x: f64, y: f64, side: f64) -> Polygon {
        let corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
        Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), vec![])
    }

    fn area(polygons: &[Polygon]) -> f64 {
        polygons.iter().map(Polygon::area).sum()
    }

    #[test]
    fn squares_that_meet_when_grown_are_joined() {
        let two = [square(0.0, 0.0, 10.0), square(14.0, 0.0, 10.0)];
        assert_eq!(offset(&two, 1.9, 0.01).len(), 2);
        assert_eq!(offset(&two, 2.0, 0.01).len(), 1);
    }

    #[test]
    fn a_dumbbell_falls_apart_when_shrunk() {
        let points = [
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 4.0),
            (20.0, 4.0),
            (20.0, 0.0),
            (30.0, 0.0),
            (30.0, 10.0),
            (20.0, 10.0),
            (20.0, 6.0),
            (10.0, 6.0),
            (10.0, 10.0),
            (0.0, 10.0),
        ];
        let dumbbell = Polygon::new(points.map(|(x, y)| Point::new(x, y)).to_vec(), vec![]);
        let shrunk = offset(std::slice::from_ref(&dumbbell), -1.5, 0.01);
        assert_eq!(shrunk.len(), 2);
        // Each lobe keeps 7 x 7, and towards the neck what lies outside circles of radius 1.5 about its two corners:
        // twice the integral of 1.5 - sqrt(1.5² - t²) for t from 0 to 1.
        let bulge = 2.0 * (1.5 - (0.5 * 1.25_f64.sqrt() + 1.125 * (1.0_f64 / 1.5).asin()));
        let truth = 2.0 * (49.0 + bulge);
        assert!(area(&shrunk) <= truth && area(&shrunk) > truth - 0.01 * 60.0);
        assert!(offset(&[dumbbell], -5.0, 0.01).is_empty());
    }

    #[test]
    fn a_hole_closes_when_the_metal_grows_over_it() {
        let mut frame = square(0.0, 0.0, 20.0);
        frame.holes.push(square(8.0, 8.0, 4.0).exterior.into_iter().rev().collect());
        assert_eq!(offset(std::slice::from_ref(&frame), 1.9, 0.01)[0].holes.len(), 1);
        assert_eq!(offset(std::slice::from_ref(&frame), 2.0, 0.01)[0].holes.len(), 0);
        // Shrunk, the hole grows round corners.
        let expected = 16.0 * 16.0 - (16.0 + 4.0 * 4.0 * 2.0 + std::f64::consts::PI * 4.0);
        let shrunk = area(&offset(&[frame], -2.0, 0.001));
        assert!(shrunk <= expected && shrunk > expected - 0.001 * 100.0);
    }

    #[test]
    fn senseless_numbers_neither_panic_nor_hang() {
        let one = [square(0.0, 0.0, 10.0)];
        for distance in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300, 1e-300, -1e-300, 1e12] {
            for tolerance in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-12] {
                let _ = offset(&one, distance, tolerance);
            }
        }
        assert!(offset(&one, f64::NAN, 0.1).is_empty());
        assert!(offset(&[], 1.0, 0.1).is_empty());
        assert!((area(&offset(&one, 0.0, 0.1)) - 100.0).abs() < 1e-5);
    }
}
