//! Where one shape may not stand beside another, worked out once for each pair that cannot turn.

use std::sync::OnceLock;

use dropwise_geometry::{Bounds, Point, Vector, convex_hull};
use rayon::prelude::*;

use crate::overlap::boxes_in_use::{Boxes, MaskedWork, Masks, Meets};
use crate::overlap::convex::convex_pieces;
use crate::overlap::pocket::Pocket;
use crate::shapes::vectors::{LANES, Vectors, greater, least_of, lesser};

/// The no-fit polygon of two shapes: the places of the second one's reference point, seen from the first one's, at which
/// the two overlap.
///
/// Kept as a union of convex regions, one for each pair of convex pieces of their outlines, less convex regions in which one
/// lies in a hole of the other: those tell whether a place is forbidden. The edges of both tell how far it is to the nearest
/// place that is not.
#[derive(Clone, Debug, Default)]
pub(crate) struct NoFit {
    /// Boxes of the regions, and the regions in the same order.
    boxes: Boxes,
    regions: Vec<Region>,
    /// Regions of places at which one of both lies in a hole of the other.
    pockets: Vec<Region>,
    /// Faces of all regions, a run of groups each; the last group is filled up with lines that everything lies behind.
    faces: Vec<Faces>,
    /// The edges of the union and of the pockets; the last group is filled up with the first edge.
    edges: Vec<Edges>,
    /// The same edges, one by one: places where the shapes touch.
    pub(crate) contacts: Vec<(Point, Point)>,
}

/// A convex region: its box and its run of groups among the faces.
#[derive(Clone, Copy, Debug)]
struct Region {
    bounds: Bounds,
    begin: u32,
    end: u32,
}

/// Of so many regions the boxes are looked at one by one: quicker than together.
const FEW_REGIONS: usize = 6;

impl NoFit {
    #[inline(always)]
    fn faces_of(&self, region: &Region) -> &[Faces] {
        &self.faces[region.begin as usize..region.end as usize]
    }

    /// How far a place lies inside a region; negative outside.
    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn depth_in(&self, region: &Region, Point { x, y }: Point) -> f64 {
        let mut least = [f64::INFINITY; LANES];
        for faces in self.faces_of(region) {
            for i in 0..LANES {
                least[i] = lesser(faces.out[i] - faces.x[i] * x - faces.y[i] * y, least[i]);
            }
        }
        least_of(least)
    }

    /// How far a place lies inside the first region that it lies inside of by more than `touch`; zero if in none.
    #[inline(always)]
    fn depth_in_first<M: Masks>(&self, masks: M, place: Point, touch: f64) -> f64 {
        if self.regions.len() <= FEW_REGIONS {
            for region in &self.regions {
                let Bounds { min, max } = region.bounds;
                if (place.x > min.x) & (place.x < max.x) & (place.y > min.y) & (place.y < max.y) {
                    let depth = self.depth_in(region, place);
                    if depth > touch {
                        return depth;
                    }
                }
            }
            return 0.0;
        }
        let meets = Meets::with(Bounds { min: place, max: place });
        for group in self.boxes.groups() {
            for region in self.boxes.meeting(masks, group, meets) {
                let depth = self.depth_in(&self.regions[region], place);
                if depth > touch {
                    return depth;
                }
            }
        }
        0.0
    }

    /// How far a place lies outside of the nearest pocket, negative inside of it; infinitely far if there is none.
    #[inline(always)]
    fn beside_pockets(&self, place: Point) -> f64 {
        let mut least = f64::INFINITY;
        for pocket in &self.pockets {
            least = lesser(-self.depth_in(pocket, place), least);
        }
        least
    }
}

/// Share of a touch by which a place may lie outside of a pocket and still be free: the pocket is already wider by as much.
const POCKET_PLAY: f64 = 0.5;

/// Outward unit normals and how far out along them the faces lie.
#[derive(Clone, Copy, Debug)]
struct Faces {
    x: [f64; LANES],
    y: [f64; LANES],
    out: [f64; LANES],
}

/// Edges by their start, their extent, and one over the square of their length.
#[derive(Clone, Copy, Debug)]
struct Edges {
    x: [f64; LANES],
    y: [f64; LANES],
    dx: [f64; LANES],
    dy: [f64; LANES],
    scale: [f64; LANES],
}

/// A face of a region as it is made.
#[derive(Clone, Copy, Debug)]
struct Face {
    normal: Vector,
    out: f64,
    from: Point,
    to: Point,
}

impl NoFit {
    /// Overlaps thinner than `touch` are touches.
    pub(crate) fn new(first: &Cut, second: &Cut, touch: f64) -> Self {
        let mut regions: Vec<Vec<Face>> = Vec::with_capacity(first.pieces.len() * second.pieces.len());
        for a in &first.pieces {
            for b in &second.pieces {
                // Minkowski sum of the one and the other turned about: convex, so the hull of all sums of corners.
                let sums: Vec<Point> = a.iter().flat_map(|&p| b.iter().map(move |&q| p - q.to_vector())).collect();
                let faces = faces_of(&convex_hull(&sums));
                if faces.len() >= 3 {
                    regions.push(faces);
                }
            }
        }
        let area = |faces: &[Face]| -> f64 { faces.iter().map(|f| f.from.to_vector().cross(f.to.to_vector())).sum() };
        // Large ones first: they are hit most.
        regions.sort_by(|a, b| area(b).total_cmp(&area(a)));
        let mut no_fit = Self::default();
        for faces in &regions {
            let region = no_fit.with_faces(faces);
            no_fit.boxes.push(region.bounds);
            no_fit.regions.push(region);
        }
        no_fit.contacts = border(&regions, touch);
        for faces in first.places_in_pockets(second, touch).map(|places| faces_of(&places)) {
            let pocket = no_fit.with_faces(&faces);
            no_fit.pockets.push(pocket);
            no_fit.contacts.extend(faces.iter().map(|face| (face.from, face.to)));
        }
        for chunk in no_fit.contacts.chunks(LANES) {
            let lane = |of: &dyn Fn(Point, Point) -> f64| {
                std::array::from_fn(|i| {
                    let (from, to) = *chunk.get(i).unwrap_or(&chunk[0]);
                    of(from, to)
                })
            };
            no_fit.edges.push(Edges {
                x: lane(&|from, _| from.x),
                y: lane(&|from, _| from.y),
                dx: lane(&|from, to| to.x - from.x),
                dy: lane(&|from, to| to.y - from.y),
                scale: lane(&|from, to| 1.0 / (to - from).length_squared()),
            });
        }
        no_fit
    }

    /// Takes up the faces of one more region.
    fn with_faces(&mut self, faces: &[Face]) -> Region {
        let begin = self.faces.len() as u32;
        for chunk in faces.chunks(LANES) {
            let lane = |of: &dyn Fn(&Face) -> f64, rest: f64| std::array::from_fn(|i| chunk.get(i).map_or(rest, of));
            self.faces.push(Faces {
                x: lane(&|f| f.normal.x, 0.0),
                y: lane(&|f| f.normal.y, 0.0),
                out: lane(&|f| f.out, f64::INFINITY),
            });
        }
        Region { bounds: Bounds::of(faces.iter().map(|face| face.from)), begin, end: self.faces.len() as u32 }
    }
}

/// A shape as no-fit polygons are made of it: its outline in convex pieces, counter-clockwise, and its holes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cut {
    pieces: Vec<Vec<Point>>,
    pockets: Vec<Pocket>,
}

impl Cut {
    /// `None` if it cannot be cut up.
    pub(crate) fn new(ring: &[Point], pockets: &[Pocket]) -> Option<Self> {
        Some(Self { pieces: convex_pieces(ring)?, pockets: pockets.to_vec() })
    }

    /// The places of the other's reference point, seen from this one's, at which one of both lies in a hole of the other.
    fn places_in_pockets<'a>(&'a self, other: &'a Self, touch: f64) -> impl Iterator<Item = Vec<Point>> + 'a {
        let corners = |cut: &Self| cut.pieces.iter().flatten().copied().collect::<Vec<Point>>();
        let back = |places: Vec<Point>| places.into_iter().map(|place| Point::ORIGIN - place.to_vector()).collect();
        let in_this = self.pockets.iter().map(move |pocket| pocket.places(&corners(other), touch));
        let in_other = other.pockets.iter().map(move |pocket| back(pocket.places(&corners(self), touch)));
        in_this.chain(in_other).filter(|places: &Vec<Point>| places.len() >= 3)
    }
}

/// A line with one of the regions of a no-fit polygon behind it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Separation {
    /// Unit normal of the line, away from the region.
    pub(crate) normal: Vector,
    /// How far before the line a place is; negative behind it.
    pub(crate) distance: f64,
}

impl Separation {
    /// The distance that has to be gained: what is there may be lost, and no more; what overlaps by more than a touch has to
    /// come back.
    pub(crate) fn least_gain(&self, touch: f64) -> f64 {
        if self.distance >= -touch { -self.distance.max(0.0) } else { -self.distance }
    }
}

impl NoFit {
    /// The nearest place at which the shapes do not overlap: the place itself, if they overlap by no more than a touch.
    pub(crate) fn way_out(&self, place: Point, touch: f64) -> Point {
        let is_clear = self.regions.iter().all(|region| self.depth_in(region, place) <= touch);
        if is_clear || self.beside_pockets(place) <= POCKET_PLAY * touch {
            return place;
        }
        let nearest_on = |&(from, to): &(Point, Point)| {
            let along = to - from;
            let share = (place - from).dot(along) / along.dot(along).max(f64::MIN_POSITIVE);
            from + along * share.clamp(0.0, 1.0)
        };
        let distance = |point: &Point| (*point - place).length();
        let ends = self.contacts.iter().map(nearest_on);
        ends.min_by(|a, b| distance(a).total_cmp(&distance(b))).unwrap_or(place)
    }

    /// For each region the face that a place is farthest before, or all faces of the pocket that it lies in: as long as it
    /// stays before all of these lines, the shapes stay apart.
    pub(crate) fn separations(&self, place: Point, touch: f64) -> Vec<Separation> {
        let slack = POCKET_PLAY * touch;
        let lines = |region| {
            let line = |faces: &Faces, i: usize| Separation {
                normal: Vector::new(faces.x[i], faces.y[i]),
                distance: place.x * faces.x[i] + place.y * faces.y[i] - faces.out[i],
            };
            // Places in a group that no face takes lie infinitely far behind.
            self.faces_of(region).iter().flat_map(move |faces| (0..LANES).map(move |i| line(faces, i)))
        };
        if let Some(pocket) = self.pockets.iter().find(|pocket| -self.depth_in(pocket, place) <= slack) {
            let faces = lines(pocket).filter(|line| line.distance.is_finite());
            // Seen from the other side, and without what the pocket is too wide.
            return faces
                .map(|Separation { normal, distance }| Separation { normal: -normal, distance: -distance - slack })
                .collect();
        }
        self.regions
            .iter()
            .filter_map(|region| lines(region).max_by(|a, b| a.distance.total_cmp(&b.distance)))
            .collect()
    }
}

fn faces_of(hull: &[Point]) -> Vec<Face> {
    let n = hull.len();
    let face = |i: usize| {
        let (from, to) = (hull[i], hull[(i + 1) % n]);
        let normal = -(to - from).unit()?.left();
        Some(Face { normal, out: normal.dot(from.to_vector()).max(normal.dot(to.to_vector())), from, to })
    };
    (0..n).filter_map(face).collect()
}

/// The edges of a union of convex regions, large ones first: what of each region's edges lies in no other region.
fn border(regions: &[Vec<Face>], touch: f64) -> Vec<(Point, Point)> {
    let mut border: Vec<(Point, Point)> = Vec::new();
    let mut hidden: Vec<(f64, f64)> = Vec::new();
    let bounds: Vec<Bounds> = regions.iter().map(|faces| Bounds::of(faces.iter().map(|face| face.from))).collect();
    for (index, region) in regions.iter().enumerate() {
        for face in region {
            hidden.clear();
            let around = Bounds::of([face.from, face.to]);
            for (other, faces) in regions.iter().enumerate() {
                if other != index
                    && bounds[other].intersects(around)
                    && let Some(span) = span_within(face, faces, touch)
                {
                    hidden.push(span);
                    if span == (0.0, 1.0) {
                        // Most of what lies inside the union lies inside one of its large regions.
                        break;
                    }
                }
            }
            hidden.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
            let along = face.to - face.from;
            let least = 2.0 * touch / along.length();
            let mut shown = |from: f64, to: f64| {
                let edge = (face.from + along * from, face.from + along * to);
                // Regions that share a face each bring it once.
                let is_near = |a: Point, b: Point| (a.x - b.x).abs() <= touch && (a.y - b.y).abs() <= touch;
                let is_there = |&(a, b): &(Point, Point)| is_near(a, edge.0) && is_near(b, edge.1);
                if to - from > least && !border.iter().any(is_there) {
                    border.push(edge);
                }
            };
            let mut at = 0.0;
            for &(from, to) in &hidden {
                shown(at, from);
                at = f64::max(at, to);
            }
            shown(at, 1.0);
        }
    }
    border
}

/// The part of a face, 0 to 1 from its start, that lies inside a convex region by more than `touch`.
fn span_within(face: &Face, region: &[Face], touch: f64) -> Option<(f64, f64)> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let along = face.to - face.from;
    for other in region {
        // Depth behind the other face, at the start and how it changes on the way.
        let depth = other.out - touch - other.normal.dot(face.from.to_vector());
        let change = -other.normal.dot(along);
        if change.abs() <= 1e-300 {
            if depth <= 0.0 {
                return None;
            }
        } else if change > 0.0 {
            from = from.max(-depth / change);
        } else {
            to = to.min(-depth / change);
        }
        if from >= to {
            return None;
        }
    }
    Some((from, to))
}

impl Vectors {
    /// Adds the parts of a straight way of the second shape's reference point, 0 to 1 from its start, on which the shapes
    /// overlap by more than `touch`. Places are seen from the first one's reference point.
    #[inline]
    pub(crate) fn no_fit_spans(self, no_fit: &NoFit, way: (Point, Point), touch: f64, into: &mut Vec<(f64, f64)>) {
        self.run(Spans { no_fit, way, touch, into });
    }

    /// How far the second shape must at least move to come clear of the first when its reference point stands at `place`,
    /// seen from the first one's; zero when they overlap by no more than `touch`.
    #[inline]
    pub(crate) fn no_fit_depth(self, no_fit: &NoFit, place: Point, touch: f64) -> f64 {
        self.run(Depth { no_fit, place, touch })
    }
}

struct Spans<'a> {
    no_fit: &'a NoFit,
    way: (Point, Point),
    touch: f64,
    into: &'a mut Vec<(f64, f64)>,
}

impl MaskedWork for Spans<'_> {
    type Output = ();

    #[inline(always)]
    fn run<M: Masks>(self, masks: M) {
        let Self { no_fit, way: (from, to), touch, into } = self;
        let along = to - from;
        let first = into.len();
        let around = Bounds {
            min: Point::new(lesser(from.x, to.x), lesser(from.y, to.y)),
            max: Point::new(greater(from.x, to.x), greater(from.y, to.y)),
        };
        let meets = Meets::with(around);
        for group in no_fit.boxes.groups() {
            for region in no_fit.boxes.meeting(masks, group, meets) {
                let (begin, end) = no_fit.span_in(&no_fit.regions[region], from, along, touch);
                if begin < end {
                    into.push((begin, end));
                }
            }
        }
        for pocket in &no_fit.pockets {
            let (begin, end) = no_fit.span_in(pocket, from, along, -POCKET_PLAY * touch);
            if begin < end {
                take_out((begin, end), into, first);
            }
        }
    }
}

impl NoFit {
    /// The part of a way, 0 to 1 from its start, on which places lie inside a region by more than `depth`; none if its
    /// begin is not before its end.
    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
    fn span_in(&self, region: &Region, from: Point, along: Vector, least: f64) -> (f64, f64) {
        let (mut begin, mut end) = ([0.0_f64; LANES], [1.0_f64; LANES]);
        for faces in self.faces_of(region) {
            for i in 0..LANES {
                // Depth behind the face at the start, and how it changes on the way.
                let depth = faces.out[i] - least - faces.x[i] * from.x - faces.y[i] * from.y;
                let change = -faces.x[i] * along.x - faces.y[i] * along.y;
                let crossing = -depth / change;
                let enters = if change > 0.0 { crossing } else { 0.0 };
                let leaves = if change < 0.0 { crossing } else { 1.0 };
                let leaves = if (change == 0.0) & (depth <= 0.0) { -1.0 } else { leaves };
                begin[i] = greater(enters, begin[i]);
                end[i] = lesser(leaves, end[i]);
            }
        }
        (-least_of(begin.map(|t| -t)), least_of(end))
    }
}

/// Takes a part of a way out of the spans from the one of index `first` on.
#[inline(always)]
fn take_out((begin, end): (f64, f64), spans: &mut Vec<(f64, f64)>, first: usize) {
    for index in (first..spans.len()).rev() {
        let (from, to) = spans[index];
        if to <= begin || from >= end {
            continue;
        }
        spans[index].1 = begin;
        if end < to {
            spans.push((end, to));
        }
        if from >= begin {
            spans.swap_remove(index);
        }
    }
}

struct Depth<'a> {
    no_fit: &'a NoFit,
    place: Point,
    touch: f64,
}

impl MaskedWork for Depth<'_> {
    type Output = f64;

    #[inline(always)]
    fn run<M: Masks>(self, masks: M) -> f64 {
        depth_at(masks, self.no_fit, self.place, self.touch, f64::INFINITY)
    }
}

/// As [`Vectors::no_fit_depth`], for work that has its vectors already. Beyond `enough` the figure only says that it is
/// more.
#[inline(always)]
#[allow(clippy::needless_range_loop, reason = "closures are not sure to be inlined")]
pub(crate) fn depth_at<M: Masks>(masks: M, no_fit: &NoFit, place: Point, touch: f64, enough: f64) -> f64 {
    let Point { x, y } = place;
    let inside = no_fit.depth_in_first(masks, place, touch);
    if inside <= touch {
        return 0.0;
    }
    let beside = no_fit.beside_pockets(place);
    if beside <= POCKET_PLAY * touch {
        return 0.0;
    }
    // Out of the union it is no shorter than out of one of its regions.
    let least = lesser(inside, beside);
    if least > enough {
        return least;
    }
    let mut nearest = [f64::INFINITY; LANES];
    for edges in &no_fit.edges {
        for i in 0..LANES {
            let (px, py) = (x - edges.x[i], y - edges.y[i]);
            let share = (px * edges.dx[i] + py * edges.dy[i]) * edges.scale[i];
            let share = lesser(greater(share, 0.0), 1.0);
            let (qx, qy) = (px - share * edges.dx[i], py - share * edges.dy[i]);
            nearest[i] = lesser(qx * qx + qy * qy, nearest[i]);
        }
    }
    // Rounding may leave an edge a hair inside a region.
    greater(least_of(nearest).sqrt(), least)
}

/// No table is kept for more shapes than this: its size is their number squared.
const MOST_SHAPES: usize = 300;
/// A shape of more corners than this is left to other measures: it takes long to cut up.
const MOST_CORNERS: usize = 80;
/// A pair of shapes of more convex pieces than this, multiplied, is left to other measures.
const MOST_REGIONS: usize = 70;
/// Shapes in so many convex pieces together have a part in this, those of few pieces first: the size of the table is
/// half the square, in regions of about three hundred bytes.
const MOST_PIECES: usize = 600;

/// The no-fit polygons of all pairs of some shapes, each made when first asked for.
#[derive(Debug, Default)]
pub(crate) struct NoFits {
    /// By shape; without pieces those that may turn, have holes that are not convex, or cannot be cut up.
    cuts: Vec<Cut>,
    /// By pair, the lower shape first: `i` with `j <= i` at `i (i + 1) / 2 + j`.
    pairs: Vec<OnceLock<NoFit>>,
    touch: f64,
}

impl NoFits {
    /// For shapes given by their outlines, in the frames of their reference points, and their holes; `None` for a shape that
    /// has no part in this.
    pub(crate) fn new<'a>(shapes: impl Iterator<Item = Option<(&'a [Point], &'a [Pocket])>>, touch: f64) -> Self {
        let shapes: Vec<Option<(&[Point], &[Pocket])>> = shapes.collect();
        let count = shapes.len();
        if count > MOST_SHAPES {
            return Self::default();
        }
        let cut = |shape: &Option<(&'a [Point], &'a [Pocket])>| {
            let (ring, pockets) = shape.filter(|(ring, _)| ring.len() <= MOST_CORNERS)?;
            Cut::new(ring, pockets)
        };
        let mut cuts: Vec<Cut> = shapes.par_iter().map(|shape| cut(shape).unwrap_or_default()).collect();
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|&shape| cuts[shape].pieces.len());
        let mut sum = 0;
        for shape in order {
            sum += cuts[shape].pieces.len();
            if sum > MOST_PIECES {
                cuts[shape] = Cut::default();
            }
        }
        if cuts.iter().all(|cut| cut.pieces.is_empty()) {
            return Self::default();
        }
        Self { cuts, pairs: (0..count * (count + 1) / 2).map(|_| OnceLock::new()).collect(), touch }
    }

    /// The no-fit polygon of two shapes, and whether their order must be turned about: then it is the place of the first
    /// shape seen from the second. `None` if none is kept for them.
    #[inline(always)]
    pub(crate) fn of(&self, first: usize, second: usize) -> Option<(&NoFit, bool)> {
        let (low, high) = if first < second { (first, second) } else { (second, first) };
        let pair = self.pairs.get(high * (high + 1) / 2 + low)?;
        let no_fit = match pair.get() {
            Some(no_fit) => no_fit,
            None => {
                let (a, b) = (&self.cuts[low], &self.cuts[high]);
                let regions = a.pieces.len() * b.pieces.len();
                let is_kept = (1..=MOST_REGIONS).contains(&regions);
                if !is_kept {
                    return None;
                }
                pair.get_or_init(|| NoFit::new(a, b, self.touch))
            }
        };
        Some((no_fit, first > second))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::overlap::convex::tests::{reference, star};
    use geo::{Area, BooleanOps, Translate};
    use proptest::prelude::*;

    const TOUCH: f64 = 1e-9;

    fn no_fit(a: &[Point], b: &[Point]) -> NoFit {
        let cut = |ring| Cut::new(ring, &[]).expect("the shapes of these tests can be cut up");
        NoFit::new(&cut(a), &cut(b), TOUCH)
    }

    fn depth(no_fit: &NoFit, place: Point) -> f64 {
        Vectors::default().no_fit_depth(no_fit, place, TOUCH)
    }

    fn nearest_contact(no_fit: &NoFit, place: Point) -> Point {
        let on = |&(from, to): &(Point, Point)| {
            let along: Vector = to - from;
            from + along * ((place - from).dot(along) / along.length_squared()).clamp(0.0, 1.0)
        };
        let distance = |p: &Point| p.distance(place);
        no_fit.contacts.iter().map(on).min_by(|a, b| distance(a).total_cmp(&distance(b))).expect("it has an edge")
    }

    #[test]
    fn squares_are_as_deep_as_the_shorter_way_out() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point::new(x, y));
        let no_fit = no_fit(&square, &square);
        assert_eq!(no_fit.contacts.len(), 4);
        assert!((depth(&no_fit, Point::new(7.0, 1.0)) - 3.0).abs() < 1e-12);
        assert!((depth(&no_fit, Point::new(-1.0, 6.0)) - 4.0).abs() < 1e-12);
        assert_eq!(depth(&no_fit, Point::new(10.0, 0.0)), 0.0);
        assert_eq!(depth(&no_fit, Point::new(0.0, -11.0)), 0.0);
    }

    #[test]
    fn the_way_out_is_the_shorter_one_and_nobody_outside_takes_it() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point::new(x, y));
        let no_fit = no_fit(&square, &square);
        assert_eq!(no_fit.way_out(Point::new(7.0, 1.0), 1e-6), Point::new(10.0, 1.0));
        for outside in [Point::new(10.0, 1.0), Point::new(-11.0, 3.0), Point::new(10.0 - 1e-7, 2.0)] {
            assert_eq!(no_fit.way_out(outside, 1e-6), outside);
        }
        let [line] = no_fit.separations(Point::new(10.0, 1.0), TOUCH)[..] else { panic!("one region") };
        assert!((line.normal - Vector::new(1.0, 0.0)).length() < 1e-12 && line.distance.abs() < 1e-12);
    }

    #[test]
    fn a_block_lies_free_in_a_slot_that_it_just_fits() {
        let fork = [(0.0, 0.0), (9.0, 0.0), (9.0, 8.0), (6.0, 8.0), (6.0, 3.0), (3.0, 3.0), (3.0, 8.0), (0.0, 8.0)];
        let fork = fork.map(|(x, y)| Point::new(x, y));
        let block = [(0.0, 0.0), (3.0, 0.0), (3.0, 5.0), (0.0, 5.0)].map(|(x, y)| Point::new(x, y));
        let no_fit = no_fit(&fork, &block);
        assert_eq!(depth(&no_fit, Point::new(3.0, 3.0)), 0.0);
        assert_eq!(depth(&no_fit, Point::new(3.0, 5.0)), 0.0);
        // A hair to the side it overlaps by that hair, not by the way out of the fork.
        assert!((depth(&no_fit, Point::new(3.001, 4.0)) - 0.001).abs() < 1e-12);
    }

    /// A square frame, six wide, with a square opening of four, about the origin.
    fn frame() -> (Vec<Point>, Vec<Pocket>) {
        let square = |half: f64| {
            [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| Point::new(x, y)).to_vec()
        };
        let hole: Vec<Point> = square(2.0).into_iter().rev().collect();
        let polygon = dropwise_geometry::Polygon::new(square(3.0), vec![hole]);
        (square(3.0), Pocket::all_of(&polygon, TOUCH).expect("a square is convex"))
    }

    /// The no-fit polygon of the frame and a shape, in either order; then places are those of the one that comes second.
    fn with_frame(ring: &[Point], is_first: bool) -> NoFit {
        let (outline, pockets) = frame();
        let frame = Cut::new(&outline, &pockets).expect("a square can be cut up");
        let guest = Cut::new(ring, &[]).expect("the shapes of these tests can be cut up");
        if is_first { NoFit::new(&frame, &guest, TOUCH) } else { NoFit::new(&guest, &frame, TOUCH) }
    }

    #[test]
    fn a_block_lies_free_in_a_frame_that_it_just_fits_and_else_leaves_it_by_the_shorter_way() {
        let block = [(-2.0, -1.0), (2.0, -1.0), (2.0, 1.0), (-2.0, 1.0)].map(|(x, y)| Point::new(x, y));
        for is_first in [true, false] {
            let no_fit = with_frame(&block, is_first);
            for (place, expected) in [((0.0, 0.0), 0.0), ((0.0, 1.0), 0.0), ((0.25, 0.5), 0.25), ((0.0, 1.5), 0.5)] {
                let found = depth(&no_fit, Point::new(place.0, place.1));
                assert!((found - expected).abs() < 1e-8, "{found} instead of {expected}");
            }
            // Nearer to the outside than to the opening.
            assert!((depth(&no_fit, Point::new(4.0, 0.0)) - 1.0).abs() < 1e-9);
            let lines = no_fit.separations(Point::new(0.0, 0.5), TOUCH);
            assert!(lines.len() >= 4, "{lines:?}");
            let least = |x: f64, y: f64| {
                let by = Vector::new(x, y);
                lines.iter().map(|line| line.distance + line.normal.dot(by)).fold(f64::INFINITY, f64::min)
            };
            assert!(least(0.0, 0.5).abs() < 1e-8 && least(0.0, -1.5).abs() < 1e-8, "as much play as there is");
            assert!((least(0.1, 0.0) + 0.1).abs() < 1e-8 && (least(0.0, 0.6) + 0.1).abs() < 1e-8);
        }
    }

    #[test]
    fn a_table_is_kept_for_what_can_be_cut_up_only() {
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| Point::new(x, y));
        let plain = Some((square.as_slice(), [].as_slice()));
        let table = NoFits::new([plain, None, plain].into_iter(), TOUCH);
        assert!(table.of(0, 1).is_none());
        let ((forward, is_reversed), (back, is_back_reversed)) = (table.of(0, 2).unwrap(), table.of(2, 0).unwrap());
        assert!(std::ptr::eq(forward, back) && !is_reversed && is_back_reversed);
        assert!(NoFits::new(std::iter::repeat_n(None, 3), TOUCH).of(1, 2).is_none());
    }

    proptest! {
        // `geo` judges the same polygons; where they overlap by less than can be told, either answer will do.
        #[test]
        fn a_place_is_forbidden_where_a_general_library_finds_an_overlap(
            a in star(), b in star(), x in -2.0..2.0_f64, y in -2.0..2.0_f64
        ) {
            let found = depth(&no_fit(&a, &b), Point::new(x, y));
            let shared = reference(&a).intersection(&reference(&b).translate(x, y)).unsigned_area();
            prop_assert!(found > 0.0 || shared < 1e-7, "apart, but they share {}", shared);
            prop_assert!(found < 1e-4 || shared > 0.0, "{} deep, but they share nothing", found);
        }

        #[test]
        fn the_depth_is_the_way_to_the_nearest_free_place(
            a in star(), b in star(), x in -1.5..1.5_f64, y in -1.5..1.5_f64
        ) {
            let (no_fit, place) = (no_fit(&a, &b), Point::new(x, y));
            let found = depth(&no_fit, place);
            prop_assume!(found > 1e-6);
            let out = nearest_contact(&no_fit, place);
            prop_assert!((out.distance(place) - found).abs() < 1e-9);
            prop_assert!(depth(&no_fit, out) < 1e-8, "not free there: {}", depth(&no_fit, out));
            for step in 0..24 {
                let turn = f64::from(step) * 15.0_f64.to_radians();
                let nearer = place + Vector::new(turn.cos(), turn.sin()) * (0.99 * found);
                prop_assert!(depth(&no_fit, nearer) > 0.0, "free in direction {}", step);
            }
        }

        #[test]
        fn in_and_around_a_frame_a_general_library_finds_the_same(
            guest in star(), scale in 0.5..2.5_f64, is_first in any::<bool>(), x in -5.0..5.0_f64, y in -5.0..5.0_f64
        ) {
            let guest: Vec<Point> = guest.into_iter().map(|p| Point::ORIGIN + p.to_vector() * scale).collect();
            let found = depth(&with_frame(&guest, is_first), Point::new(x, y));
            let (outline, pockets) = frame();
            let frame = reference(&outline).difference(&reference(&pockets[0].corners));
            let (x, y) = if is_first { (x, y) } else { (-x, -y) };
            let shared = frame.intersection(&reference(&guest).translate(x, y)).unsigned_area();
            prop_assert!(found > 0.0 || shared < 1e-7, "apart, but they share {}", shared);
            prop_assert!(found < 1e-4 || shared > 0.0, "{} deep, but they share nothing", found);
        }

        #[test]
        fn a_way_is_barred_where_its_places_are(
            a in star(), b in star(), ends in prop::array::uniform4(-2.0..2.0_f64), in_frame in any::<bool>()
        ) {
            let no_fit = if in_frame { with_frame(&a, true) } else { no_fit(&a, &b) };
            let (from, to) = (Point::new(ends[0], ends[1]), Point::new(ends[2], ends[3]));
            let mut spans = Vec::new();
            Vectors::default().no_fit_spans(&no_fit, (from, to), TOUCH, &mut spans);
            for step in 0..=40 {
                let share = f64::from(step) / 40.0;
                let is_near_an_end = spans.iter().any(|s| (s.0 - share).abs() < 1e-6 || (s.1 - share).abs() < 1e-6);
                let is_barred = spans.iter().any(|s| s.0 < share && share < s.1);
                let is_forbidden = depth(&no_fit, from + (to - from) * share) > 0.0;
                prop_assert!(is_near_an_end || is_barred == is_forbidden, "at {}", share);
            }
        }
    }
}
