//! Parts as pieces of a jigsaw: their corners, and how they are laid with a corner in a corner.

use dropwise_geometry::{Bounds, Isometry, Point, Polygon, Side, Vector};

use super::mitre::{cleaned, mitred};
use crate::problem::task::Task;

/// Parts of the same form, which are interchangeable.
#[derive(Clone, Debug)]
pub(crate) struct Kind {
    /// Items of this form.
    pub(crate) items: Vec<usize>,
    /// Area with clearance.
    pub(crate) area: f64,
}

/// One way a kind may lie.
#[derive(Clone, Debug)]
pub(crate) struct Tile {
    pub(crate) kind: usize,
    /// The variant of the part, for the pose.
    pub(crate) variant: usize,
    /// Whether it may also be turned by any angle.
    pub(crate) is_free: bool,
    /// Corners of the outline, metal to the left, the first repeated at the end. Holes count as metal.
    pub(crate) points: Vec<Point>,
    /// The same, pulled in by the touch tolerance.
    pub(crate) inner: Vec<Point>,
    /// Corners of the outline that can stand in a corner.
    pub(crate) corners: Vec<TileCorner>,
}

/// A corner of a tile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TileCorner {
    pub(crate) at: Point,
    /// Direction of the side that leaves it, length one, and its angle in (-π, π].
    pub(crate) out: Vector,
    pub(crate) out_angle: f64,
    /// Angle of the metal, radians.
    pub(crate) opening: f64,
    pub(crate) out_length: f64,
    pub(crate) into_length: f64,
}

/// The tiles of a task, and an index of their corners by direction.
#[derive(Clone, Debug)]
pub(crate) struct TileSet {
    pub(crate) kinds: Vec<Kind>,
    pub(crate) tiles: Vec<Tile>,
    /// Corners of tiles with a fixed turn: angle of the side that leaves them, tile, corner; by angle.
    pub(crate) by_direction: Vec<(f64, usize, usize)>,
    /// Corners of tiles that turn freely: opening, tile, corner; by opening.
    pub(crate) by_opening: Vec<(f64, usize, usize)>,
    /// Lengths of sides, by length: angle (none for tiles that turn freely), length, kind.
    pub(crate) sides: Vec<SideOfKind>,
}

/// That a kind has a side of some length, in some direction or in any.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SideOfKind {
    pub(crate) length: f64,
    pub(crate) angle: Option<f64>,
    pub(crate) kind: usize,
}

/// A tile laid somewhere. Buffers are kept between uses.
#[derive(Clone, Debug, Default)]
pub(crate) struct Laid {
    pub(crate) points: Vec<Point>,
    pub(crate) inner: Vec<Point>,
    pub(crate) bounds: Option<Bounds>,
}

/// Where a tile lies: which, how it is turned (cosine and sine), and where its reference point stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Placement {
    pub(crate) tile: usize,
    pub(crate) turn: Vector,
    pub(crate) at: Point,
}

impl Placement {
    #[inline]
    pub(crate) fn apply(&self, point: Point) -> Point {
        if self.turn == NO_TURN {
            return Point::new(point.x + self.at.x, point.y + self.at.y);
        }
        let (cos, sin) = (self.turn.x, self.turn.y);
        Point::new(cos * point.x - sin * point.y + self.at.x, sin * point.x + cos * point.y + self.at.y)
    }
}

/// Curves, flattened into many short sides, fill no corner, and the search slows down with each side: five open strips of
/// garment parts of a hundred corners were hardly annealed at all before the jigsaw was given up.
const MOST_CORNERS: usize = 48;

/// Cosine and sine of no turn.
pub(crate) const NO_TURN: Vector = Vector::new(1.0, 0.0);

impl TileSet {
    /// The tiles of all required items. `None` if a part cannot be grown by the web with sharp corners, or has too many.
    pub(crate) fn new(task: &Task, grain: usize) -> Option<Self> {
        let items = task.items();
        let half_web = task.job.clearances().web() / 2.0;
        let mut set = Self {
            kinds: Vec::new(),
            tiles: Vec::new(),
            by_direction: Vec::new(),
            by_opening: Vec::new(),
            sides: Vec::new(),
        };
        // The first variant of a kind and how it may lie tell kinds apart.
        let mut known: Vec<(Vec<Tile>, usize)> = Vec::new();
        for (part, facts) in task.parts.iter().enumerate() {
            if !facts.is_required {
                continue;
            }
            let shape = &task.job.parts()[part].shape;
            let flat = shape.flatten((shape.bounds().diagonal() * 3e-4).clamp(0.01, 0.2), Side::Grow);
            let ring = cleaned(&flat.exterior, task.touch);
            if ring.len() > MOST_CORNERS {
                return None;
            }
            let ring = mitred(&ring, half_web)?;
            let reference = facts.reference;
            let polygon = Polygon::new(ring, Vec::new()).transformed(Isometry::translation(-reference.x, -reference.y));
            let mut ways: Vec<Tile> = Vec::new();
            for variant in task.allowed(part, grain) {
                let way = &facts.variants[variant];
                let turn = Isometry::new(way.is_mirrored, way.turn_deg.unwrap_or(0.0), 0.0, 0.0);
                let tile = tile(&polygon.transformed(turn), variant, way.turn_deg.is_none(), task.touch);
                if !ways.iter().any(|other| is_same_tile(other, &tile, task.touch)) {
                    ways.push(tile);
                }
            }
            let mine = (0..items.len()).filter(|&item| items[item] == part);
            let same = known.iter().position(|(other, _)| {
                other.len() == ways.len()
                    && other.iter().zip(&ways).all(|(a, b)| a.variant == b.variant && is_same_tile(a, b, task.touch))
            });
            if let Some(same) = same {
                // Interchangeable only if the same pose puts the same metal in the same place.
                set.kinds[known[same].1].items.extend(mine);
                continue;
            }
            let kind = set.kinds.len();
            set.kinds.push(Kind { items: mine.collect(), area: polygon.area() });
            known.push((ways.clone(), kind));
            set.tiles.extend(ways.into_iter().map(|tile| Tile { kind, ..tile }));
        }
        for (index, tile) in set.tiles.iter().enumerate() {
            for pair in tile.points.windows(2) {
                let side = pair[1] - pair[0];
                let angle = (!tile.is_free).then(|| side.angle());
                set.sides.push(SideOfKind { length: side.length(), angle, kind: tile.kind });
            }
            for (corner, facts) in tile.corners.iter().enumerate() {
                if tile.is_free {
                    set.by_opening.push((facts.opening, index, corner));
                } else {
                    set.by_direction.push((facts.out_angle, index, corner));
                }
            }
        }
        set.by_direction.sort_by(|a, b| a.0.total_cmp(&b.0));
        set.by_opening.sort_by(|a, b| a.0.total_cmp(&b.0));
        set.sides.sort_by(|a, b| a.length.total_cmp(&b.length));
        Some(set)
    }

    /// Lays a tile.
    pub(crate) fn lay(&self, placement: Placement, into: &mut Laid) {
        let tile = &self.tiles[placement.tile];
        into.points.clear();
        into.points.extend(tile.points.iter().map(|&p| placement.apply(p)));
        into.inner.clear();
        into.inner.extend(tile.inner.iter().map(|&p| placement.apply(p)));
        into.bounds = Some(Bounds::of(into.points.iter().copied()));
    }
}

fn tile(polygon: &Polygon, variant: usize, is_free: bool, touch: f64) -> Tile {
    let shape = crate::overlap::search_shape::SearchShape::new(polygon, touch);
    let ring = &polygon.exterior;
    let n = ring.len();
    let mut corners: Vec<TileCorner> = Vec::with_capacity(n);
    for i in 0..n {
        let (before, at, after) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
        let (Some(into), Some(out)) = ((at - before).unit(), (after - at).unit()) else { continue };
        let bend = into.cross(out).atan2(into.dot(out));
        if bend <= 0.0 {
            continue;
        }
        corners.push(TileCorner {
            at,
            out,
            out_angle: out.angle(),
            opening: std::f64::consts::PI - bend,
            out_length: (after - at).length(),
            into_length: (at - before).length(),
        });
    }
    if is_free {
        drop_symmetric(ring, &mut corners, touch);
    }
    Tile { kind: 0, variant, is_free, points: shape.corners, inner: shape.inner, corners }
}

/// Of corners from which the outline looks the same, only the first is tried when the tile turns freely.
fn drop_symmetric(ring: &[Point], corners: &mut Vec<TileCorner>, touch: f64) {
    let n = ring.len();
    let looks = |start: usize, other: usize| {
        (0..n).all(|k| {
            let apart = |from: usize, step: usize| ring[(from + k) % n].distance(ring[(from + k + step) % n]);
            (apart(start, 1) - apart(other, 1)).abs() <= touch && (apart(start, 2) - apart(other, 2)).abs() <= touch
        })
    };
    let index_of = |corner: &TileCorner| ring.iter().position(|&p| p == corner.at).unwrap_or(0);
    let mut kept: Vec<TileCorner> = Vec::with_capacity(corners.len());
    for corner in corners.drain(..) {
        let index = index_of(&corner);
        if !kept.iter().any(|other| looks(index_of(other), index)) {
            kept.push(corner);
        }
    }
    *corners = kept;
}

/// Whether two ways of lying cover the same metal.
fn is_same_tile(a: &Tile, b: &Tile, touch: f64) -> bool {
    if a.points.len() != b.points.len() || a.is_free != b.is_free {
        return false;
    }
    let n = a.points.len() - 1;
    (0..n).any(|shift| (0..n).all(|i| a.points[i].distance(b.points[(i + shift) % n]) <= touch))
}
