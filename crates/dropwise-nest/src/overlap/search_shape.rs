//! A part as the search sees it: straight edges, a cover of inscribed circles, a hull.

use std::sync::OnceLock;

use dropwise_geometry::{Bounds, Point, Polygon, Vector, convex_hull};

use crate::overlap::convex::Pieces;
use crate::overlap::convexes::Convexes;
use crate::overlap::hull::Hull;
use crate::overlap::pocket::Pocket;
use crate::shapes::circle_cover::{InscribedCircle, circle_cover};
use crate::shapes::circles::Circles;
use crate::shapes::idle_holes::Least;

/// A polygon prepared for collision tests, in its own frame: its reference point is the origin.
#[derive(Clone, Debug)]
pub(crate) struct SearchShape {
    /// Corners of all rings one after another, each ring's first corner repeated at its end.
    pub(crate) corners: Vec<Point>,
    /// The same, pulled in by the touch tolerance. A shape is tested with these against the true corners of others:
    /// then shapes that merely touch have no crossing edges, and ones whose sides lie in line still cross as soon as
    /// they overlap (were both pulled in, such sides would stay in line and never cross).
    pub(crate) inner: Vec<Point>,
    /// End of each ring in `corners`.
    pub(crate) ring_ends: Vec<usize>,
    /// Corners of the convex hull, not pulled in.
    pub(crate) hull: Vec<Point>,
    /// The same, laid out for vector instructions.
    pub(crate) hull_lanes: Hull,
    /// Long edges, metal to their left: others may be laid along them.
    pub(crate) sides: Vec<(Point, Point)>,
    pub(crate) circles: Circles,
    /// Its outline in convex pieces, where few do and its holes are pockets; else empty.
    pub(crate) pieces: Pieces,
    /// Its holes, if all of them are convex.
    pockets: Option<Vec<Pocket>>,
    /// A hole that is smaller in any way does not hold it.
    pub(crate) least: Least,
    /// All convex pieces of its outline, however many, once they were asked for.
    convexes: OnceLock<Option<Convexes>>,
    pub(crate) bounds: Bounds,
    /// Square root of the hull's area: the size that overlaps are weighed by.
    pub(crate) size: f64,
    /// Distance of the farthest corner from the reference point.
    pub(crate) reach: f64,
}

impl SearchShape {
    /// Prepares a polygon given in the frame of its reference point.
    pub(crate) fn new(polygon: &Polygon, touch: f64) -> Self {
        Self::with_cover(polygon, &circle_cover(polygon), None, touch)
    }

    /// The same for a polygon whose cover is known, and the circle, if any, for which its outline stands.
    pub(crate) fn with_cover(
        polygon: &Polygon,
        cover: &[InscribedCircle],
        circle: Option<(Point, f64)>,
        touch: f64,
    ) -> Self {
        let mut corners = Vec::new();
        let mut inner = Vec::new();
        let mut ring_ends = Vec::new();
        for ring in polygon.rings() {
            let start = corners.len();
            corners.extend_from_slice(ring);
            corners.push(corners[start]);
            inner.extend(pulled_in(ring, touch));
            inner.push(inner[start]);
            ring_ends.push(corners.len());
        }
        let sides = long_edges(polygon);
        let hull = convex_hull(&polygon.exterior);
        let hull_area = Polygon { exterior: hull.clone(), holes: Vec::new() }.area();
        let reach = hull.iter().map(|p| p.to_vector().length()).fold(0.0, f64::max);
        // Single precision keeps about seven digits; positions reach a few times the shape's own size.
        let slack = touch + reach * 4e-7;
        let pockets = Pocket::all_of(polygon, touch);
        let pieces = match (pockets.as_deref(), circle) {
            (None, _) => Pieces::default(),
            (_, Some((center, radius))) => Pieces::round(center, radius),
            (Some([]), None) => Pieces::new(&polygon.exterior, touch),
            (Some(_), None) => Pieces::around_holes(&polygon.exterior, touch),
        };
        let circles: Vec<(Point, f64)> =
            cover.iter().map(|c| (c.center, c.radius - slack)).filter(|&(_, radius)| radius > 0.0).collect();
        Self {
            corners,
            inner,
            ring_ends,
            sides,
            bounds: Bounds::of(hull.iter().copied()),
            size: hull_area.sqrt(),
            reach,
            circles: Circles::new(&circles),
            pieces,
            pockets,
            least: Least::of_ring(&polygon.exterior),
            convexes: OnceLock::new(),
            hull_lanes: Hull::new(&hull),
            hull,
        }
    }

    /// The convex pieces of its outline; `None` if it has holes that are not convex, or cannot be cut up.
    pub(crate) fn convexes(&self) -> Option<&Convexes> {
        self.convexes.get_or_init(|| Convexes::new(self.outline_and_pockets()?.0)).as_ref()
    }

    /// Its holes, where all of them are convex.
    #[inline]
    pub(crate) fn pockets(&self) -> &[Pocket] {
        self.pockets.as_deref().unwrap_or_default()
    }

    /// The corners of its outline, without the repeated one, and its holes, if all of them are convex.
    pub(crate) fn outline_and_pockets(&self) -> Option<(&[Point], &[Pocket])> {
        let end = *self.ring_ends.first()?;
        Some((&self.corners[..end - 1], self.pockets.as_deref()?))
    }

    /// How far it reaches from its reference point in a direction, given as a unit vector.
    #[inline]
    pub(crate) fn reach_along(&self, direction: Vector) -> f64 {
        self.hull.iter().map(|p| direction.dot(p.to_vector())).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Length of the shorter side of the box.
    pub(crate) fn least_extent(&self) -> f64 {
        self.bounds.width().min(self.bounds.height())
    }
}

/// A shape as it lies, or would lie.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed<'a> {
    pub(crate) shape: &'a SearchShape,
    /// Sine and cosine of its turn.
    pub(crate) rotation: (f64, f64),
    pub(crate) at: Point,
}

impl<'a> Placed<'a> {
    /// An obstacle lies where it is.
    pub(crate) fn obstacle(shape: &'a SearchShape) -> Self {
        Self { shape, rotation: (0.0, 1.0), at: Point::ORIGIN }
    }
}

/// An edge shorter than this share of the longest is not one to lay others along: rounds are made of such.
const LONG_EDGE: f64 = 0.15;

fn long_edges(polygon: &Polygon) -> Vec<(Point, Point)> {
    let edges = polygon.rings().flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])));
    let edges: Vec<(Point, Point)> = edges.collect();
    let longest = edges.iter().map(|&(from, to)| from.distance(to)).fold(0.0, f64::max);
    edges.into_iter().filter(|&(from, to)| from.distance(to) >= LONG_EDGE * longest).collect()
}

/// The corners of a ring, metal to its left, moved into the metal by `by` along both sides.
fn pulled_in(ring: &[Point], by: f64) -> Vec<Point> {
    let n = ring.len();
    (0..n)
        .map(|i| {
            let (before, at, after) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            let into = (at - before).unit().unwrap_or_default();
            let out = (after - at).unit().unwrap_or_default();
            let normals: Vector = into.left() + out.left();
            // Both normals have length one, so the mitre is their sum over 1 + cos; a needle's mitre would shoot far
            // out of the shape and is held to a few times the distance.
            let spread = (1.0 + into.dot(out)).max(0.05);
            at + normals * (by / spread)
        })
        .collect()
}
