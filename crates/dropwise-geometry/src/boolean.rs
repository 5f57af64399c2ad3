//! Union, intersection and difference of regions with straight edges.
//!
//! The sweep is that of `i_overlay`, on integers of 64 bits. What is around it makes sure that no wrong region leaves
//! this module: `boolean/balance.rs` tells how areas are held against each other after every operation.
//!
//! What holds for all three operations:
//! - A list stands for the union of its polygons; they may overlap. A point is metal where rings wind around it more
//!   often counter-clockwise than clockwise, so that the loops a flattened outline may have at narrow gaps come out
//!   right.
//! - Rings may run either way round; a polygon's first ring is always its exterior, the others holes.
//! - The result is a set of polygons whose interiors do not overlap, exteriors counter-clockwise and holes clockwise,
//!   no point repeated, no corner between collinear edges. No polygons means nothing is left. Touching along an edge
//!   joins polygons; touching in a point does not.
//! - Accuracy: a corner may move by some 2⁻³³ of the larger extent of all operands together: 5 · 10⁻⁷ mm on a sheet of
//!   4 m. Pieces and holes thinner than 2⁻²⁷ of it (0.00003 mm), which appear where edges nearly coincide, are
//!   left out.
//! - Polygons with coordinates that are not finite, or absurd (over 10¹⁰⁰ mm), count as empty.
//!
//! # Errors
//! [`BooleanError`] where areas do not balance on any of the grids tried. No input that does so is known.
//!
//! # Source
//! Winding rule: "positive" filling as in F. P. Preparata and M. I. Shamos, Computational Geometry (1985), from memory.

mod balance;
mod weld;

use std::borrow::Cow;

pub use balance::BooleanError;
use balance::{Operation, balanced};

use crate::{Bounds, Point, Polygon};

/// The region covered by any of the polygons. See the module for accuracy and degenerate cases.
///
/// # Errors
/// [`BooleanError`] when areas do not balance.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Point, Polygon, union};
/// let square = |x, y| {
///     let corner = |dx, dy| Point::new(x + dx, y + dy);
///     Polygon::new(vec![corner(0.0, 0.0), corner(2.0, 0.0), corner(2.0, 2.0), corner(0.0, 2.0)], vec![])
/// };
/// let both = union(&[square(0.0, 0.0), square(1.0, 1.0)])?;
/// assert_eq!(both.len(), 1);
/// assert!((both[0].area() - 7.0).abs() < 1e-6);
/// # Ok::<(), dropwise_geometry::BooleanError>(())
/// ```
pub fn union(polygons: &[Polygon]) -> Result<Vec<Polygon>, BooleanError> {
    let polygons = apart(polygons)?;
    balanced(&polygons, &[], Operation::Union)
}

/// The region covered both by a polygon of the first list and by one of the second.
///
/// # Errors
/// [`BooleanError`] when areas do not balance.
pub fn intersection(a: &[Polygon], b: &[Polygon]) -> Result<Vec<Polygon>, BooleanError> {
    let (a, b) = (near(a, b), near(b, a));
    balanced(&apart(&a)?, &apart(&b)?, Operation::Intersection)
}

/// The region covered by the first list and not by the second.
///
/// # Errors
/// [`BooleanError`] when areas do not balance.
pub fn difference(a: &[Polygon], b: &[Polygon]) -> Result<Vec<Polygon>, BooleanError> {
    balanced(&apart(a)?, &apart(&near(b, a))?, Operation::Difference)
}

/// The polygons with corners left out as long as no ring strays farther than `tolerance` from where it ran
/// (Douglas and Peucker 1973). Errs to either side, and rings may come to touch: for rough questions only. Rings that
/// would lose their area are left out.
///
/// # Errors
/// [`BooleanError`] when areas do not balance.
pub fn simplified(polygons: &[Polygon], tolerance: f64) -> Result<Vec<Polygon>, BooleanError> {
    use geo::Simplify as _;
    let ring = |points: &[Point]| {
        let mut line: geo::LineString = points.iter().map(|p| geo::Coord { x: p.x, y: p.y }).collect();
        line.close();
        let mut kept: Vec<Point> = line.simplify(tolerance).0.into_iter().map(|c| Point::new(c.x, c.y)).collect();
        // geo repeats the first point at the end of a ring.
        kept.pop();
        kept
    };
    let rough: Vec<Polygon> = polygons
        .iter()
        .map(|polygon| Polygon {
            exterior: ring(&polygon.exterior),
            holes: polygon.holes.iter().map(|hole| ring(hole)).collect(),
        })
        .collect();
    balanced(&rough, &[], Operation::Union)
}

/// [`union`] of polygons of which none has holes that overlap each other. Offsets need it: cleaning a polygon by itself
/// would part it from the strips along its edges.
pub(crate) fn union_of_clean(polygons: &[Polygon]) -> Result<Vec<Polygon>, BooleanError> {
    balanced(polygons, &[], Operation::Union)
}

/// [`difference`] of polygons of which none has holes that overlap each other.
pub(crate) fn difference_of_clean(a: &[Polygon], b: &[Polygon]) -> Result<Vec<Polygon>, BooleanError> {
    balanced(a, b, Operation::Difference)
}

/// Those of a list whose boxes meet the box around another list: the others change nothing within it.
fn near<'a>(polygons: &'a [Polygon], others: &[Polygon]) -> Cow<'a, [Polygon]> {
    let around = others.iter().fold(Bounds::EMPTY, |bounds, polygon| bounds.union(polygon.bounds()));
    // Boxes of rubbish meet nothing and everything: it is taken out later.
    let is_near = |polygon: &Polygon| polygon.bounds().intersects(around);
    if polygons.iter().all(is_near) {
        return Cow::Borrowed(polygons);
    }
    Cow::Owned(polygons.iter().filter(|polygon| is_near(polygon)).cloned().collect())
}

/// The polygons with the holes of each united where they may overlap.
///
/// Where two holes overlap the winding is -1 and would hide what another polygon covers there. Only then is a polygon
/// cleaned by itself: its own grid might part it from a neighbour that shares an edge.
fn apart(polygons: &[Polygon]) -> Result<Cow<'_, [Polygon]>, BooleanError> {
    if polygons.len() < 2 || !polygons.iter().any(|polygon| holes_may_overlap(&polygon.holes)) {
        return Ok(Cow::Borrowed(polygons));
    }
    let mut cleaned = Vec::with_capacity(polygons.len());
    for polygon in polygons {
        if holes_may_overlap(&polygon.holes) {
            cleaned.extend(balanced(std::slice::from_ref(polygon), &[], Operation::Union)?);
        } else {
            cleaned.push(polygon.clone());
        }
    }
    Ok(Cow::Owned(cleaned))
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

#[cfg(test)]
mod tests {
    use crate::sure::{difference, intersection, union};
    use crate::{Isometry, Point, Polygon, polygon::signed_area};

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

    /// The engine at 4.5.2 lost 12 of 22 mm² here in release builds, and failed an assertion of its own in others.
    #[test]
    fn edges_that_coincide_at_half_a_right_angle_lose_no_area() {
        let rectangle = |[left, low, right, high]: [f64; 4]| {
            let corners = [(left, low), (right, low), (right, high), (left, high)];
            Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), vec![])
        };
        let placed = |rectangles: &[[f64; 4]], turn: f64| -> Vec<Polygon> {
            let by = Isometry::new(false, turn, 3.0, -7.0);
            rectangles.iter().map(|&one| rectangle(one).transformed(by)).collect()
        };
        let first = [[0.0, 4.0, 5.0, 8.0], [5.0, 2.0, 6.0, 8.0]];
        let second = [[0.0, 3.0, 1.0, 4.0], [3.0, 6.0, 5.0, 8.0], [6.0, 2.0, 8.0, 8.0]];
        for turn in [45.0, 0.0, 30.0, 90.0, 135.0] {
            let (a, b) = (placed(&first, turn), placed(&second, turn));
            for (found, expected) in [(difference(&a, &b), 22.0), (intersection(&a, &b), 4.0), (union(&a), 26.0)] {
                assert!((area(&found) - expected).abs() < 1e-6, "turned by {turn}: {} for {expected}", area(&found));
            }
        }
    }

    #[test]
    fn a_hole_that_touches_the_edge_in_one_point_is_cut_out() {
        let plate = square(0.0, 0.0, 100.0);
        let corners = [(40.0, 0.0), (60.0, 30.0), (30.0, 45.0)];
        let part = Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), vec![]);
        let left = difference(std::slice::from_ref(&plate), std::slice::from_ref(&part));
        assert!((area(&left) - (10_000.0 - part.area())).abs() < 1e-6);
        assert!(area(&intersection(&left, std::slice::from_ref(&part))) < 1e-6);
    }
}
