//! Do two placed shapes overlap, and how deep? The innermost functions of the search.

use dropwise_geometry::{Bounds, Point};
use wide::f32x8;

use crate::circles::Circles;

/// How deep the circle covers of two shapes sink into each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct CircleOverlap {
    /// Sum over all pairs of circles of depth times the smaller radius, an area. A pair that is apart adds a little,
    /// the less the farther apart, so that shapes which overlap only by corners that no circle reaches feel a slope too.
    pub(crate) sum: f32,
    /// Whether any two circles overlap, which proves that the shapes do.
    pub(crate) is_deep: bool,
}

/// Compares two circle covers. `decay` is the depth below which the share of a pair falls hyperbolically instead of
/// linearly to zero: a small length, positive.
///
/// Circles come largest first, so a deep overlap shows in the first rows: from time to time, once the sum of shapes that
/// surely overlap exceeds `enough`, it is returned as far as it has come.
///
/// Tried instead, on five strips of the open instances at equal numbers of evaluations: depth without the decay, and
/// the difference of squares, which needs neither root nor division; both lost half a point of density each.
#[inline]
pub(crate) fn circle_overlap(a: &Circles, b: &Circles, decay: f32, enough: f32) -> CircleOverlap {
    let (knee, twice, square) = (f32x8::splat(decay), f32x8::splat(2.0 * decay), f32x8::splat(decay * decay));
    let mut sum = f32x8::ZERO;
    let mut deepest = f32x8::splat(f32::MIN);
    for index in 0..a.count() {
        let [x, y, r] = a.get(index).map(f32x8::splat);
        for group in b.groups() {
            let (dx, dy) = (x - group.x, y - group.y);
            let depth = r + group.r - (dx * dx + dy * dy).sqrt();
            // The hyperbola touches the straight line at the knee from above. The fast forms of minimum and maximum do
            // not look for NaN, of which there is none.
            let share = depth.fast_max(square / (twice - depth.fast_min(knee)));
            sum += share * r.fast_min(group.r).fast_max(f32x8::ZERO);
            deepest = deepest.fast_max(depth);
        }
        if index % ROWS_BETWEEN_LOOKS == 0 && is_any_positive(deepest) {
            let sum = sum.reduce_add();
            if sum > enough {
                return CircleOverlap { sum, is_deep: true };
            }
        }
    }
    CircleOverlap { sum: sum.reduce_add(), is_deep: is_any_positive(deepest) }
}

/// A look costs about as much as a row; this many rows between looks cost little and save most.
const ROWS_BETWEEN_LOOKS: usize = 4;

#[inline]
fn is_any_positive(values: f32x8) -> bool {
    values.as_array().iter().any(|&value| value > 0.0)
}

/// Rings of a placed shape: corners in one run, each ring closed by its first corner, and where each ring ends.
#[derive(Clone, Copy)]
pub(crate) struct Rings<'a> {
    pub(crate) corners: &'a [Point],
    pub(crate) ring_ends: &'a [usize],
    pub(crate) bounds: Bounds,
}

/// Edges that reach into a box, kept between calls so that the search never allocates.
pub(crate) type EdgeBuffer = Vec<(Point, Point)>;

/// Whether two shapes share area, judged by their edges: a crossing, or one inside the other's metal.
///
/// The first is given by its inner corners, so shapes that merely touch do not.
#[inline]
pub(crate) fn shapes_overlap(a: Rings<'_>, b: Rings<'_>, buffer: &mut EdgeBuffer) -> bool {
    let clip = Bounds {
        min: Point::new(a.bounds.min.x.max(b.bounds.min.x), a.bounds.min.y.max(b.bounds.min.y)),
        max: Point::new(a.bounds.max.x.min(b.bounds.max.x), a.bounds.max.y.min(b.bounds.max.y)),
    };
    if clip.is_empty() {
        return false;
    }
    buffer.clear();
    each_edge_in(a, clip, |start, end| {
        buffer.push((start, end));
        false
    });
    if !buffer.is_empty()
        && each_edge_in(b, clip, |start, end| buffer.iter().any(|&(from, to)| edges_cross(start, end, from, to)))
    {
        return true;
    }
    // No edges cross: apart, or one wholly inside the other (or inside a hole of it).
    holds(b.bounds, a.bounds) && rings_contain(b, a.corners[0])
        || holds(a.bounds, b.bounds) && rings_contain(a, b.corners[0])
}

#[inline]
fn holds(outer: Bounds, inner: Bounds) -> bool {
    outer.min.x <= inner.min.x && outer.min.y <= inner.min.y && outer.max.x >= inner.max.x && outer.max.y >= inner.max.y
}

/// Calls `visit` with every edge whose box meets `clip`, until it returns true; says whether it did.
#[inline]
fn each_edge_in(rings: Rings<'_>, clip: Bounds, mut visit: impl FnMut(Point, Point) -> bool) -> bool {
    let mut begin = 0;
    for &end in rings.ring_ends {
        for pair in rings.corners[begin..end].windows(2) {
            let (p, q) = (pair[0], pair[1]);
            // Written with single `&`: six predictable comparisons are cheaper than the branches between them.
            let meets = (p.x.min(q.x) <= clip.max.x)
                & (p.x.max(q.x) >= clip.min.x)
                & (p.y.min(q.y) <= clip.max.y)
                & (p.y.max(q.y) >= clip.min.y);
            if meets && visit(p, q) {
                return true;
            }
        }
        begin = end;
    }
    false
}

/// Whether two edges cross in a point inside both.
#[inline]
fn edges_cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let (ab, cd) = (b - a, d - c);
    let (c_side, d_side) = (ab.cross(c - a), ab.cross(d - a));
    if (c_side > 0.0) == (d_side > 0.0) || c_side == 0.0 || d_side == 0.0 {
        return false;
    }
    let (a_side, b_side) = (cd.cross(a - c), cd.cross(b - c));
    (a_side > 0.0) != (b_side > 0.0) && a_side != 0.0 && b_side != 0.0
}

/// Whether a point lies in the region, even-odd over all rings.
#[inline]
pub(crate) fn rings_contain(rings: Rings<'_>, point: Point) -> bool {
    let mut is_inside = false;
    let mut begin = 0;
    for &end in rings.ring_ends {
        for pair in rings.corners[begin..end].windows(2) {
            let (p, q) = (pair[0], pair[1]);
            if (p.y > point.y) != (q.y > point.y) && point.x < (q.x - p.x) * (point.y - p.y) / (q.y - p.y) + p.x {
                is_inside = !is_inside;
            }
        }
        begin = end;
    }
    is_inside
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::search_shape::SearchShape;
    use dropwise_geometry::{Outline, Polygon, Vector};

    fn overlap(a: &SearchShape, b: &SearchShape, by: Vector) -> bool {
        let moved: Vec<Point> = b.corners.iter().map(|&p| p + by).collect();
        let bounds = Bounds { min: b.bounds.min + by, max: b.bounds.max + by };
        let rings = |corners, ring_ends, bounds| Rings { corners, ring_ends, bounds };
        shapes_overlap(
            rings(&a.inner, &a.ring_ends, a.bounds),
            rings(&moved, &b.ring_ends, bounds),
            &mut EdgeBuffer::new(),
        )
    }

    fn shape(outline: &Outline, holes: &[Outline]) -> SearchShape {
        let points = |o: &Outline| o.vertices().iter().map(|v| v.point).collect::<Vec<_>>();
        SearchShape::new(&Polygon::new(points(outline), holes.iter().map(points).collect()), 1e-6)
    }

    #[test]
    fn touching_squares_are_apart_and_a_hair_deeper_they_overlap() {
        let square = shape(&Outline::rectangle(Point::new(-5.0, -5.0), 10.0, 10.0), &[]);
        assert!(!overlap(&square, &square, Vector::new(10.0, 0.0)));
        assert!(!overlap(&square, &square, Vector::new(10.0, 10.0)));
        // Sides in line with each other: no edges cross unless the corners are pulled in.
        assert!(overlap(&square, &square, Vector::new(9.999, 0.0)));
        assert!(overlap(&square, &square, Vector::new(0.0, -9.999)));
    }

    #[test]
    fn a_part_may_lie_in_a_hole_but_not_in_metal() {
        let frame = shape(
            &Outline::rectangle(Point::new(-20.0, -20.0), 40.0, 40.0),
            &[Outline::rectangle(Point::new(-10.0, -10.0), 20.0, 20.0)],
        );
        let small = shape(&Outline::rectangle(Point::new(-2.0, -2.0), 4.0, 4.0), &[]);
        assert!(!overlap(&frame, &small, Vector::new(0.0, 0.0)));
        assert!(!overlap(&frame, &small, Vector::new(8.0, 8.0)));
        assert!(overlap(&frame, &small, Vector::new(15.0, 15.0)));
        assert!(overlap(&small, &frame, Vector::new(15.0, 15.0)));
        assert!(overlap(&frame, &small, Vector::new(9.0, 0.0)));
    }

    #[test]
    fn padding_circles_count_for_nothing() {
        let a = shape(&Outline::rectangle(Point::new(0.0, 0.0), 10.0, 10.0), &[]).circles;
        let mut far = Circles::default();
        a.moved_into((0.0, 1.0), Point::new(1e4, 0.0), &mut far);
        let overlap = circle_overlap(&a, &far, 0.1, f32::MAX);
        assert!(!overlap.is_deep && overlap.sum >= 0.0 && overlap.sum < 1e-2, "{overlap:?}");
    }

    #[test]
    fn two_circles_overlap_by_depth_times_the_smaller_radius() {
        let circle = |x: f64, r: f64| Circles::new(&[(Point::new(x, 0.0), r)]);
        let overlap = circle_overlap(&circle(0.0, 10.0), &circle(11.0, 4.0), 0.1, f32::MAX);
        assert!(overlap.is_deep && (overlap.sum - 12.0).abs() < 1e-4, "{overlap:?}");
        // At the knee line and hyperbola meet; a touch counts half of it.
        let touch = circle_overlap(&circle(0.0, 10.0), &circle(14.0, 4.0), 0.1, f32::MAX);
        assert!(!touch.is_deep && (touch.sum - 0.2).abs() < 1e-4, "{touch:?}");
    }
}
