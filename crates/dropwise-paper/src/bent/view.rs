//! What a viewer sees of a solid: patches less what lies before them, and the stretches of edges that nothing hides.
//!
//! Patches are plane and do not pass through each other, so within one connected piece of the picture that two of them
//! share, one of them is in front throughout. Each patch is therefore cut by every piece in which another is in front:
//! no order of painting is needed, and patches that overlap each other in a ring are no harder than others.

use dropwise_geometry::{Bounds, Point, Polygon, difference, intersection, sin_cos_deg};
use dropwise_shop::fold::Point3;

use super::solid::{Edge, EdgeKind, Patch, Solid};

/// Directions of a view.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    right: Point3,
    up: Point3,
    /// From the part to the viewer.
    pub(super) toward: Point3,
}

/// From where a folded part is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Viewpoint {
    /// How far the part is turned about its upright axis, degrees: with 0 the base's x axis runs to the right, with 90
    /// towards the viewer.
    pub turn_deg: f64,
    /// How far the viewer looks down on it, degrees: 0 from the side, 90 from above, negative from below.
    pub tilt_deg: f64,
}

impl Viewpoint {
    /// Isometric: the three axes of the base are drawn alike.
    ///
    /// # Source
    /// The space diagonal of a cube stands over its floor by the arc tangent of 1/√2. Elementary geometry.
    pub const ISOMETRIC: Self = Self { turn_deg: 45.0, tilt_deg: 35.264_389_682_754_654 };
}

impl Default for Viewpoint {
    fn default() -> Self {
        Self::ISOMETRIC
    }
}

impl View {
    pub(super) fn isometric() -> Self {
        Self::from(Viewpoint::ISOMETRIC)
    }

    /// Where an axis of the base runs in the picture, degrees from level, read from the left.
    pub(super) fn slope_deg(&self, axis: Point3) -> f64 {
        let along = self.at(axis);
        let angle = along.y.atan2(along.x).to_degrees();
        if angle > 90.0 {
            angle - 180.0
        } else if angle <= -90.0 {
            angle + 180.0
        } else {
            angle
        }
    }

    /// Where a point comes to lie in the picture, y up.
    pub(super) fn at(&self, point: Point3) -> Point {
        Point::new(point.dot(self.right), point.dot(self.up))
    }

    /// The directions of the picture's x and y.
    #[cfg(test)]
    pub(super) fn axes(&self) -> [Point3; 2] {
        [self.right, self.up]
    }

    fn nearness(&self, point: Point3) -> f64 {
        point.dot(self.toward)
    }
}

impl From<Viewpoint> for View {
    fn from(from: Viewpoint) -> Self {
        let (sin, cos) = sin_cos_deg(from.turn_deg);
        let (high, level) = sin_cos_deg(from.tilt_deg);
        Self {
            right: Point3::new(cos, sin, 0.0),
            up: Point3::new(-sin * high, cos * high, level),
            toward: Point3::new(sin * level, -cos * level, high),
        }
    }
}

/// A patch as seen.
pub(super) struct Seen<'a> {
    pub(super) patch: &'a Patch,
    /// What of it is seen, in the picture.
    pub(super) regions: Vec<Polygon>,
}

/// Why a stretch of an edge is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stroke {
    /// An edge of the metal, or the outline of a bend.
    Outline,
    /// Where a bend begins or ends.
    BendLimit,
}

/// A patch that faces the viewer.
struct Facing<'a> {
    patch: &'a Patch,
    polygon: Polygon,
    bounds: Bounds,
    /// Nearness at (0, 0) and its slope in x and in y.
    plane: [f64; 3],
}

impl Facing<'_> {
    fn nearness(&self, at: Point) -> f64 {
        self.plane[0] + self.plane[1] * at.x + self.plane[2] * at.y
    }
}

/// Patches seen from nearer than this to edge-on, as a share of their area, are not seen at all: their nearness would be
/// a rounding error many times enlarged.
const EDGE_ON: f64 = 2e-3;

/// What a viewer sees.
pub(super) struct Sight<'a> {
    pub(super) seen: Vec<Seen<'a>>,
    pub(super) strokes: Vec<(Stroke, [Point; 2])>,
    /// Whether it could not be worked out for some surface what hides it: it is then drawn whole.
    pub(super) is_doubtful: bool,
}

/// What is seen of a solid. Nearness that differs by less than `slack` mm counts as equal.
pub(super) fn see<'a>(solid: &'a Solid, view: &View, slack: f64) -> Sight<'a> {
    let mut is_doubtful = solid.is_doubtful;
    let facing: Vec<Facing<'a>> = solid.patches.iter().filter_map(|patch| face(patch, view)).collect();
    let seen = facing
        .iter()
        .enumerate()
        .map(|(index, own)| {
            let (hidden, is_told) = hidden_pieces(own, index, &facing, slack);
            is_doubtful |= !is_told;
            let whole = std::slice::from_ref(&own.polygon);
            let mut regions = if hidden.is_empty() {
                whole.to_vec()
            } else {
                difference(whole, &hidden).unwrap_or_else(|_| {
                    is_doubtful = true;
                    whole.to_vec()
                })
            };
            for region in &mut regions {
                std::iter::once(&mut region.exterior)
                    .chain(&mut region.holes)
                    .for_each(|ring| remove_spikes(ring, slack * HAIR));
            }
            regions.retain(|region| region.exterior.len() > 2 && !is_sliver(region, slack * HAIR));
            Seen { patch: own.patch, regions }
        })
        .collect();
    let strokes = solid
        .edges
        .iter()
        .filter_map(|edge| Some((stroke(edge, view)?, edge)))
        .flat_map(|(stroke, edge)| visible_stretches(edge, view, &facing, slack).into_iter().map(move |s| (stroke, s)))
        .collect();
    Sight { seen, strokes, is_doubtful }
}

/// Whether a region is thinner than that nearly all along: what rounding leaves between pieces that should meet.
fn is_sliver(region: &Polygon, thinner: f64) -> bool {
    region.area() <= region.to_outline().perimeter() / 2.0 * thinner
}

/// Takes corners out of a ring at which it runs back along itself: rounding leaves such hairs too.
fn remove_spikes(ring: &mut Vec<Point>, thinner: f64) {
    let mut i = 0;
    while ring.len() > 2 && i < ring.len() {
        let count = ring.len();
        let (before, tip, after) = (ring[(i + count - 1) % count], ring[i], ring[(i + 1) % count]);
        let (come, go) = (tip - before, after - tip);
        let longer = come.length().max(go.length());
        // The shorter side's end lies this far off the longer one.
        let is_spike = come.dot(go) < 0.0 && come.cross(go).abs() <= thinner * longer;
        if is_spike {
            ring.remove(i);
            i = i.saturating_sub(2);
        } else {
            i += 1;
        }
    }
}

fn face<'a>(patch: &'a Patch, view: &View) -> Option<Facing<'a>> {
    let facing = patch.normal.dot(view.toward);
    if facing < EDGE_ON {
        return None;
    }
    let mut rings = patch.rings.iter().map(|ring| ring.iter().map(|&point| view.at(point)).collect::<Vec<Point>>());
    let polygon = Polygon::new(rings.next()?, rings.collect());
    let bounds = polygon.bounds();
    // On the plane n·p = c, with p = X right + Y up + w toward.
    let offset = patch.normal.dot(*patch.rings.first()?.first()?);
    let plane = [offset, -patch.normal.dot(view.right), -patch.normal.dot(view.up)].map(|value| value / facing);
    Some(Facing { patch, polygon, bounds, plane })
}

/// Pieces of a patch that others hide, and whether all of them could be told.
fn hidden_pieces(own: &Facing<'_>, index: usize, facing: &[Facing<'_>], slack: f64) -> (Vec<Polygon>, bool) {
    let mut hidden = Vec::new();
    let mut is_told = true;
    for (other_index, other) in facing.iter().enumerate() {
        if other_index == index || !own.bounds.intersects(other.bounds) {
            continue;
        }
        // Nowhere in the box they share is the other one in front: nothing to cut.
        let shared = Bounds {
            min: max_corner(own.bounds.min, other.bounds.min),
            max: min_corner(own.bounds.max, other.bounds.max),
        };
        let corners =
            [shared.min, Point::new(shared.max.x, shared.min.y), shared.max, Point::new(shared.min.x, shared.max.y)];
        if corners.iter().all(|&corner| other.nearness(corner) <= own.nearness(corner) + slack) {
            continue;
        }
        // Where it cannot be told what hides what, both are drawn.
        let shared = intersection(std::slice::from_ref(&own.polygon), std::slice::from_ref(&other.polygon));
        is_told &= shared.is_ok();
        for piece in shared.unwrap_or_default() {
            let Some(at) = point_within(&piece) else { continue };
            if other.nearness(at) > own.nearness(at) + slack {
                hidden.push(piece);
            }
        }
    }
    (hidden, is_told)
}

fn max_corner(a: Point, b: Point) -> Point {
    Point::new(a.x.max(b.x), a.y.max(b.y))
}

fn min_corner(a: Point, b: Point) -> Point {
    Point::new(a.x.min(b.x), a.y.min(b.y))
}

/// A point well within a polygon: the middle of the widest stretch on one of a few level lines.
fn point_within(polygon: &Polygon) -> Option<Point> {
    let bounds = polygon.bounds();
    let mut best: Option<(f64, Point)> = None;
    // Off round fractions, so that lines through corners are rare.
    for share in [0.4871, 0.2713, 0.7309] {
        let y = bounds.min.y + bounds.height() * share;
        let from = Point::new(bounds.min.x - 1.0, y);
        let to = Point::new(bounds.max.x + 1.0, y);
        for pair in inside(polygon, from, to) {
            let [a, b] = pair.map(|t| from.lerp(to, t));
            let width = a.distance(b);
            if best.is_none_or(|(widest, _)| width > widest) {
                best = Some((width, a.lerp(b, 0.5)));
            }
        }
    }
    best.map(|(_, at)| at)
}

/// The stretches of a line within a polygon, as fractions of the line.
fn inside(polygon: &Polygon, from: Point, to: Point) -> Vec<[f64; 2]> {
    let way = to - from;
    let mut crossings = vec![0.0, 1.0];
    for ring in polygon.rings() {
        for (i, &a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            let (side, turn) = (b - a, way.cross(b - a));
            if turn == 0.0 {
                continue;
            }
            let (t, s) = ((a - from).cross(side) / turn, (a - from).cross(way) / turn);
            if (-1e-9..=1.0 + 1e-9).contains(&s) && t > 0.0 && t < 1.0 {
                crossings.push(t);
            }
        }
    }
    crossings.sort_by(f64::total_cmp);
    crossings
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > 1e-9 && polygon.contains(from.lerp(to, (pair[0] + pair[1]) / 2.0)))
        .map(|pair| [pair[0], pair[1]])
        .collect()
}

fn stroke(edge: &Edge, view: &View) -> Option<Stroke> {
    match edge.kind {
        EdgeKind::Sharp => Some(Stroke::Outline),
        EdgeKind::BendLimit => Some(Stroke::BendLimit),
        EdgeKind::Turning([one, other]) => {
            ((one.dot(view.toward) > 0.0) != (other.dot(view.toward) > 0.0)).then_some(Stroke::Outline)
        }
    }
}

/// The stretches of an edge that no patch hides.
///
/// An edge often lies right on the border of a patch, where nothing tells whether it is within. So it is looked at a
/// hair to its left and a hair to its right, and hidden only where both are.
fn visible_stretches(edge: &Edge, view: &View, facing: &[Facing<'_>], slack: f64) -> Vec<[Point; 2]> {
    let [from, to] = edge.ends.map(|end| view.at(end));
    let nearness = edge.ends.map(|end| view.nearness(end));
    let Some(direction) = (to - from).unit() else { return Vec::new() };
    let aside = direction.left() * (slack * HAIR);
    let left = hidden_stretches([from + aside, to + aside], nearness, facing, slack);
    let right = hidden_stretches([from - aside, to - aside], nearness, facing, slack);
    let mut stretches = Vec::new();
    let mut reached = 0.0;
    for [a, b] in shared(&left, &right) {
        if a > reached + 1e-6 {
            stretches.push([from.lerp(to, reached), from.lerp(to, a)]);
        }
        reached = f64::max(reached, b);
    }
    if reached < 1.0 - 1e-6 {
        stretches.push([from.lerp(to, reached), to]);
    }
    stretches
}

/// How far to either side of an edge is looked, as a share of the slack.
const HAIR: f64 = 0.1;

/// The stretches of a line that patches hide, as fractions of it, in order and apart.
fn hidden_stretches(line: [Point; 2], nearness: [f64; 2], facing: &[Facing<'_>], slack: f64) -> Vec<[f64; 2]> {
    let [from, to] = line;
    let bounds = Bounds::of(line);
    let mut hidden: Vec<[f64; 2]> = Vec::new();
    for patch in facing.iter().filter(|patch| patch.bounds.intersects(bounds)) {
        for [a, b] in inside(&patch.polygon, from, to) {
            // The gap between line and patch grows evenly along the line: only where it exceeds the slack is it hidden.
            let own = |t: f64| nearness[0] + (nearness[1] - nearness[0]) * t;
            let gap = |t: f64| patch.nearness(from.lerp(to, t)) - own(t) - slack;
            let (gap_a, gap_b) = (gap(a), gap(b));
            let zero = a + (b - a) * gap_a / (gap_a - gap_b);
            match (gap_a > 0.0, gap_b > 0.0) {
                (true, true) => hidden.push([a, b]),
                (true, false) => hidden.push([a, zero]),
                (false, true) => hidden.push([zero, b]),
                (false, false) => {}
            }
        }
    }
    hidden.sort_by(|one, other| one[0].total_cmp(&other[0]));
    let mut joined: Vec<[f64; 2]> = Vec::new();
    for [a, b] in hidden {
        match joined.last_mut() {
            Some(last) if a <= last[1] + 1e-9 => last[1] = last[1].max(b),
            _ => joined.push([a, b]),
        }
    }
    joined
}

/// What two lists of stretches, each in order and apart, have in common.
fn shared(one: &[[f64; 2]], other: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let (mut i, mut j) = (0, 0);
    let mut both = Vec::new();
    while let (Some(a), Some(b)) = (one.get(i), other.get(j)) {
        let (from, to) = (a[0].max(b[0]), a[1].min(b[1]));
        if from < to {
            both.push([from, to]);
        }
        if a[1] < b[1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    both
}
