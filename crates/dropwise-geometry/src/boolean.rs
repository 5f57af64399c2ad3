//! Union, intersection and difference of regions with straight edges.
//!
//! Thin: the work is done by `geo`, which snaps all coordinates to an integer grid and is robust there. Edges that
//! coincide, touch or overlap are handled, and a nest is full of those.
//!
//! What holds for all three operations:
//! - A list stands for the union of its polygons; they may overlap. A point is metal where rings wind around it more
//!   often counter-clockwise than clockwise, so that the loops a flattened outline may have at narrow gaps come out
//!   right.
//! - Rings may run either way round; a polygon's first ring is always its exterior, the others holes.
//! - The result is a set of polygons whose interiors do not overlap, exteriors counter-clockwise and holes clockwise,
//!   no point repeated, no corner between collinear edges. No polygons means nothing is left. Touching along an edge
//!   joins polygons; touching in a point does not.
//! - Accuracy: a corner may move by a few times 2⁻²⁹ of the larger extent of all operands together: some 10⁻⁵ mm on a
//!   sheet of 4 m. Pieces and holes thinner than that, which appear where edges nearly coincide, are left out.
//! - Polygons with coordinates that are not finite, or absurd (over 10¹⁰⁰ mm), count as empty.
//!
//! # Source
//! Winding rule: "positive" filling as in F. P. Preparata and M. I. Shamos, Computational Geometry (1985), from memory.

use geo::algorithm::bool_ops::{BooleanOps, FillRule, OpType};

use crate::{Bounds, Point, Polygon, polygon::signed_area};

/// The region covered by any of the polygons. See the module for accuracy and degenerate cases.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Point, Polygon, union};
/// let square = |x, y| {
///     let corner = |dx, dy| Point::new(x + dx, y + dy);
///     Polygon::new(vec![corner(0.0, 0.0), corner(2.0, 0.0), corner(2.0, 2.0), corner(0.0, 2.0)], vec![])
/// };
/// let both = union(&[square(0.0, 0.0), square(1.0, 1.0)]);
/// assert_eq!(both.len(), 1);
/// assert!((both[0].area() - 7.0).abs() < 1e-6);
/// ```
#[must_use]
pub fn union(polygons: &[Polygon]) -> Vec<Polygon> {
    overlay(polygons, &[], OpType::Union)
}

/// The region covered both by a polygon of the first list and by one of the second.
#[must_use]
pub fn intersection(a: &[Polygon], b: &[Polygon]) -> Vec<Polygon> {
    overlay(a, b, OpType::Intersection)
}

/// The region covered by the first list and not by the second.
#[must_use]
pub fn difference(a: &[Polygon], b: &[Polygon]) -> Vec<Polygon> {
    overlay(a, b, OpType::Difference)
}

/// The polygons with corners left out as long as no ring strays farther than `tolerance` from where it ran
/// (Douglas and Peucker 1973). Errs to either side, and rings may come to touch: for rough questions only. Rings that
/// would lose their area are left out.
#[must_use]
pub fn simplified(polygons: &[Polygon], tolerance: f64) -> Vec<Polygon> {
    use geo::Simplify as _;
    finish(to_geo(polygons, Holes::Apart).simplify(tolerance), geo::MultiPolygon::new(vec![]), OpType::Union)
}

/// [`union`] of polygons of which none has holes that overlap each other. Offsets need it: cleaning a polygon by itself
/// would part it from the strips along its edges.
pub(crate) fn union_of_clean(polygons: &[Polygon]) -> Vec<Polygon> {
    finish(to_geo(polygons, Holes::Apart), geo::MultiPolygon::new(vec![]), OpType::Union)
}

/// [`difference`] of polygons of which none has holes that overlap each other.
pub(crate) fn difference_of_clean(a: &[Polygon], b: &[Polygon]) -> Vec<Polygon> {
    finish(to_geo(a, Holes::Apart), to_geo(b, Holes::Apart), OpType::Difference)
}

fn overlay(subject: &[Polygon], clip: &[Polygon], operation: OpType) -> Vec<Polygon> {
    finish(to_geo(subject, Holes::MayOverlap), to_geo(clip, Holes::MayOverlap), operation)
}

/// Steps of the grid, as a part of the operands' extent: see the module.
const GRID_STEP: f64 = 1.0 / (1_u64 << 29) as f64;

fn finish(subject: geo::MultiPolygon, clip: geo::MultiPolygon, operation: OpType) -> Vec<Polygon> {
    let corners = subject.0.iter().chain(&clip.0).flat_map(|polygon| &polygon.exterior().0);
    let bounds = Bounds::of(corners.map(|corner| Point::new(corner.x, corner.y)));
    let thinnest = 4.0 * GRID_STEP * bounds.width().max(bounds.height());
    let result = subject.boolean_op_with_fill_rule(&clip, operation, FillRule::Positive);
    result.0.into_iter().filter_map(|polygon| from_geo(polygon, thinnest)).collect()
}

/// Coordinates beyond this are taken for rubbish, before squares of them overflow.
const ABSURD: f64 = 1e100;

/// What is known of a polygon's holes.
#[derive(Clone, Copy, PartialEq)]
enum Holes {
    Apart,
    MayOverlap,
}

fn to_geo(polygons: &[Polygon], holes: Holes) -> geo::MultiPolygon {
    let mut converted = Vec::with_capacity(polygons.len());
    for polygon in polygons {
        // NaN fails the comparison too.
        if !polygon.rings().flatten().all(|p| p.x.abs() < ABSURD && p.y.abs() < ABSURD) {
            continue;
        }
        let one = oriented(polygon);
        if holes == Holes::MayOverlap && polygons.len() > 1 && holes_may_overlap(&polygon.holes) {
            // Where two holes overlap the winding is -1 and would hide what another polygon covers there. Only then
            // is a polygon cleaned by itself: its own grid might part it from a neighbour that shares an edge.
            let nothing = geo::MultiPolygon::<f64>(Vec::new());
            converted.extend(one.boolean_op_with_fill_rule(&nothing, OpType::Union, FillRule::Positive).0);
        } else {
            converted.push(one);
        }
    }
    geo::MultiPolygon(converted)
}

fn holes_may_overlap(holes: &[Vec<Point>]) -> bool {
    if holes.len() < 2 {
        return false;
    }
    let mut boxes: Vec<Bounds> = holes.iter().map(|hole| Bounds::of(hole.iter().copied())).collect();
    boxes.sort_by(|a, b| a.min.x.total_cmp(&b.min.x));
    boxes
        .iter()
        .enumerate()
        .any(|(i, a)| boxes[i + 1..].iter().take_while(|b| b.min.x <= a.max.x).any(|b| a.intersects(*b)))
}

/// Exterior counter-clockwise and holes clockwise, as the winding rule needs.
fn oriented(polygon: &Polygon) -> geo::Polygon {
    let ring = |points: &[Point], is_hole: bool| {
        let coordinates = points.iter().map(|p| geo::Coord { x: p.x, y: p.y });
        let runs_wrong_way = if is_hole { signed_area(points) > 0.0 } else { signed_area(points) < 0.0 };
        if runs_wrong_way {
            geo::LineString(coordinates.rev().collect())
        } else {
            geo::LineString(coordinates.collect())
        }
    };
    let exterior = ring(&polygon.exterior, false);
    geo::Polygon::new(exterior, polygon.holes.iter().map(|hole| ring(hole, true)).collect())
}

/// `None` for a polygon thinner than `thinnest`; such holes are left out.
fn from_geo(polygon: geo::Polygon, thinnest: f64) -> Option<Polygon> {
    let ring = |line: geo::LineString| {
        let mut points: Vec<Point> = line.0.into_iter().map(|c| Point::new(c.x, c.y)).collect();
        // geo repeats the first point at the end of a ring.
        points.pop();
        let around: f64 = (0..points.len()).map(|i| points[i].distance(points[(i + 1) % points.len()])).sum();
        // A strip of width w and length l has the area w l and the perimeter 2 l.
        (2.0 * signed_area(&points).abs() > thinnest * around).then_some(points)
    };
    let (exterior, holes) = polygon.into_inner();
    Some(Polygon { exterior: ring(exterior)?, holes: holes.into_iter().filter_map(ring).collect() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Polygon {
        let corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
        Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), vec![])
    }

    fn area(polygons: &[Polygon]) -> f64 {
        polygons.iter().map(Polygon::area).sum()
    }

    #[test]
    fn squares_that_share_an_edge_become_one_rectangle_of_four_corners() {
        let joined = union(&[square(0.0, 0.0, 10.0), square(10.0, 0.0, 10.0)]);
        assert_eq!(joined.len(), 1);
        assert_eq!(joined[0].exterior.len(), 4);
        assert!((joined[0].area() - 200.0).abs() < 1e-5);
    }

    #[test]
    fn squares_that_share_a_corner_stay_two() {
        assert_eq!(union(&[square(0.0, 0.0, 10.0), square(10.0, 10.0, 10.0)]).len(), 2);
    }

    #[test]
    fn a_window_leaves_a_clockwise_hole() {
        let frame = difference(&[square(0.0, 0.0, 10.0)], &[square(3.0, 3.0, 4.0)]);
        assert_eq!((frame.len(), frame[0].holes.len()), (1, 1));
        assert!(signed_area(&frame[0].exterior) > 0.0 && signed_area(&frame[0].holes[0]) < 0.0);
        assert!((area(&intersection(&frame, &[square(5.0, 5.0, 5.0)])) - 21.0).abs() < 1e-5);
    }

    #[test]
    fn nothing_is_an_ordinary_answer() {
        assert!(union(&[]).is_empty());
        assert!(intersection(&[square(0.0, 0.0, 1.0)], &[]).is_empty());
        assert!(difference(&[square(0.0, 0.0, 1.0)], &[square(0.0, 0.0, 1.0)]).is_empty());
        assert_eq!(difference(&[square(0.0, 0.0, 1.0)], &[]).len(), 1);
    }

    #[test]
    fn rings_may_run_either_way() {
        let mut clockwise = square(0.0, 0.0, 10.0);
        clockwise.exterior.reverse();
        clockwise.holes.push(square(2.0, 2.0, 2.0).exterior); // counter-clockwise, as a hole should not be
        assert!((area(&union(&[clockwise.clone(), square(20.0, 0.0, 10.0)])) - 196.0).abs() < 1e-5);
        assert!((area(&union(&[clockwise])) - 96.0).abs() < 1e-5);
    }

    #[test]
    fn overlapping_holes_do_not_hide_what_covers_them() {
        let mut sheet = square(0.0, 0.0, 10.0);
        let hole = |x, y| square(x, y, 4.0).exterior.into_iter().rev().collect::<Vec<_>>();
        sheet.holes = vec![hole(1.0, 1.0), hole(3.0, 3.0)];
        assert!((area(&union(std::slice::from_ref(&sheet))) - (100.0 - 28.0)).abs() < 1e-5);
        assert!((area(&union(&[sheet, square(0.0, 0.0, 10.0)])) - 100.0).abs() < 1e-5);
    }

    #[test]
    fn rubbish_counts_as_empty() {
        let mut broken = square(0.0, 0.0, 10.0);
        broken.exterior[2].x = f64::NAN;
        let far = square(1e300, 0.0, 1.0);
        let flat = Polygon { exterior: vec![Point::ORIGIN, Point::new(5.0, 0.0)], holes: vec![vec![]] };
        let dot = Polygon { exterior: vec![Point::ORIGIN], holes: vec![] };
        let kept = union(&[broken, far, flat, dot, Polygon::default(), square(0.0, 0.0, 3.0)]);
        assert!((area(&kept) - 9.0).abs() < 1e-5);
    }
}
