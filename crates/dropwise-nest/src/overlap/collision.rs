//! Do two placed shapes overlap, and how deep? The innermost functions of the search.

use dropwise_geometry::{Bounds, Point};
use pulp::NullaryFnOnce;

use crate::shapes::circles::{Circles, LANES};
use crate::shapes::vectors::Vectors;

impl Vectors {
    /// Whether any two circles of the covers overlap, which proves that the shapes do.
    ///
    /// Circles come largest first, so an overlap mostly shows in the first row.
    #[inline]
    pub(crate) fn circles_overlap(self, a: &Circles, b: &Circles) -> bool {
        self.arch().dispatch(CirclesOverlap { a, b })
    }

    /// How deep two covers sink into each other: the sum over all pairs of circles of depth times the smaller radius, an
    /// area. A pair that is apart adds a little, the less the farther apart, so that shapes which overlap only by
    /// corners that no circle reaches feel a slope too. `decay` is the depth below which the share of a pair falls
    /// hyperbolically instead of linearly to zero: a small length, positive. Once the sum exceeds `enough` it is
    /// returned as far as it has come.
    ///
    /// Tried instead, on five strips of the open instances at equal numbers of evaluations: depth without the decay,
    /// and the difference of squares, which needs neither root nor division; both lost half a point of density each.
    #[inline]
    pub(crate) fn circle_depth(self, a: &Circles, b: &Circles, decay: f32, enough: f32) -> f32 {
        self.arch().dispatch(CircleDepth { a, b, decay, enough })
    }
}

struct CirclesOverlap<'a> {
    a: &'a Circles,
    b: &'a Circles,
}

// What a dispatched operation calls must be inlined into it, or it is compiled without the wider instructions.
impl NullaryFnOnce for CirclesOverlap<'_> {
    type Output = bool;

    #[inline(always)]
    fn call(self) -> bool {
        // Plain loops: closures are not sure to be inlined.
        for index in 0..self.a.count() {
            let [x, y, r] = self.a.get(index);
            for group in self.b.groups() {
                let mut meets = 0_u32;
                for i in 0..LANES {
                    let (dx, dy, reach) = (x - group.x[i], y - group.y[i], r + group.r[i]);
                    meets |= u32::from(dx * dx + dy * dy < reach * reach);
                }
                if meets != 0 {
                    return true;
                }
            }
        }
        false
    }
}

struct CircleDepth<'a> {
    a: &'a Circles,
    b: &'a Circles,
    decay: f32,
    enough: f32,
}

impl NullaryFnOnce for CircleDepth<'_> {
    type Output = f32;

    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn call(self) -> f32 {
        let (knee, twice, square) = (self.decay, 2.0 * self.decay, self.decay * self.decay);
        let mut sums = [0.0_f32; LANES];
        for index in 0..self.a.count() {
            let [x, y, r] = self.a.get(index);
            for group in self.b.groups() {
                for i in 0..LANES {
                    let (dx, dy) = (x - group.x[i], y - group.y[i]);
                    let depth = r + group.r[i] - (dx * dx + dy * dy).sqrt();
                    // The hyperbola touches the straight line at the knee from above.
                    let share = greater(depth, square / (twice - lesser(depth, knee)));
                    sums[i] += share * lesser(r, group.r[i]);
                }
            }
            if index % ROWS_BETWEEN_LOOKS == 0 {
                let sum = total(sums);
                if sum > self.enough {
                    return sum;
                }
            }
        }
        total(sums)
    }
}

/// A look costs about as much as a row; this many rows between looks cost little and save most.
const ROWS_BETWEEN_LOOKS: usize = 4;

/// Without a look for NaN, of which there is none: one instruction.
#[inline(always)]
fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

#[inline(always)]
fn lesser(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The sum, by halves, as vectors add up.
#[inline(always)]
fn total(mut values: [f32; LANES]) -> f32 {
    let mut half = LANES / 2;
    while half > 0 {
        for i in 0..half {
            values[i] += values[i + half];
        }
        half /= 2;
    }
    values[0]
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
    use crate::overlap::search_shape::SearchShape;
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
    fn places_without_a_circle_count_for_nothing() {
        let a = shape(&Outline::rectangle(Point::new(0.0, 0.0), 10.0, 10.0), &[]).circles;
        let mut far = Circles::default();
        a.moved_into((0.0, 1.0), Point::new(1e4, 0.0), &mut far);
        let vectors = Vectors::default();
        assert!(!vectors.circles_overlap(&a, &far));
        let depth = vectors.circle_depth(&a, &far, 0.1, f32::MAX);
        assert!((0.0..1e-2).contains(&depth), "{depth}");
    }

    #[test]
    fn two_circles_overlap_by_depth_times_the_smaller_radius() {
        let circle = |x: f64, r: f64| Circles::new(&[(Point::new(x, 0.0), r)]);
        let vectors = Vectors::default();
        let depth = |x: f64| vectors.circle_depth(&circle(0.0, 10.0), &circle(x, 4.0), 0.1, f32::MAX);
        assert!((depth(11.0) - 12.0).abs() < 1e-4, "{}", depth(11.0));
        // At the knee line and hyperbola meet; a touch counts half of it.
        assert!((depth(14.0) - 0.2).abs() < 1e-4, "{}", depth(14.0));
        assert!(vectors.circles_overlap(&circle(0.0, 10.0), &circle(13.9, 4.0)));
        assert!(!vectors.circles_overlap(&circle(0.0, 10.0), &circle(14.1, 4.0)));
    }

    #[test]
    fn all_instructions_agree() {
        let many = |count: usize, by: f64| -> Circles {
            let circle =
                |i: usize| (Point::new((i * 37 % 101) as f64 + by, (i * 53 % 97) as f64), 1.0 + (i % 5) as f64);
            Circles::new(&(0..count).map(circle).collect::<Vec<_>>())
        };
        for (a, b) in [(1, 1), (3, 16), (16, 17), (40, 5)] {
            let (a, b) = (many(a, 0.0), many(b, 4.5));
            let plain = CircleDepth { a: &a, b: &b, decay: 0.5, enough: f32::MAX }.call();
            assert_eq!(Vectors::default().circle_depth(&a, &b, 0.5, f32::MAX), plain);
            assert_eq!(Vectors::default().circles_overlap(&a, &b), CirclesOverlap { a: &a, b: &b }.call());
        }
    }
}
