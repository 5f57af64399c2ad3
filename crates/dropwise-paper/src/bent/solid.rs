//! The folded part as flat patches in space: both surfaces of every face and bend, and the walls of the cut.

use dropwise_geometry::{Point, Polygon, Side, Vector, intersection};
use dropwise_shop::fold::{FlatBend, Folded, Point3, Unfolding};

/// Degrees of a bend for one strip of its stand-in.
const STRIP_DEG: f64 = 10.0;

/// Corners of the cut that turn by more than this show as an edge, degrees; flatter ones belong to a curve.
const SHARP_DEG: f64 = 25.0;

/// What a patch is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Skin {
    /// The side of the sheet that was up on the flat.
    Upper,
    /// The other side.
    Lower,
    /// The thickness of the sheet.
    Cut,
}

/// A plane piece of the part's surface.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    /// Its rings, counter-clockwise as seen from outside, holes the other way.
    pub(super) rings: Vec<Vec<Point3>>,
    /// Outward normal, of length one.
    pub(super) normal: Point3,
    pub(super) skin: Skin,
    /// The face it belongs to, if it is one whole surface of it.
    pub(super) face: Option<usize>,
}

/// A line to be drawn where it can be seen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) ends: [Point3; 2],
    pub(super) kind: EdgeKind,
}

/// Why a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) enum EdgeKind {
    /// An edge of the metal.
    Sharp,
    /// Where a bend begins or ends.
    BendLimit,
    /// A line on a bend, with the normals on both sides of it: it shows where the one faces the viewer and the other
    /// does not.
    Turning([Point3; 2]),
}

/// A part as patches and edges.
#[derive(Clone, Debug, Default)]
pub(super) struct Solid {
    pub(super) patches: Vec<Patch>,
    pub(super) edges: Vec<Edge>,
    /// Whether a surface is missing because it could not be worked out.
    pub(super) is_doubtful: bool,
}

/// A piece of the flat that one plane stands in for.
struct Piece<'a> {
    flat: &'a Unfolding,
    folded: &'a Folded,
    on: On,
}

#[derive(Clone, Copy)]
enum On {
    Face(usize),
    /// A bend and one of its strips, of how many.
    Strip(usize, usize, usize),
}

impl Piece<'_> {
    /// Where a point of the flat lies.
    fn at(&self, point: Point, height: f64) -> Point3 {
        match self.on {
            On::Face(face) => self.folded.faces[face].at(point, height),
            On::Strip(bend, strip, count) => {
                // Within a strip on the chord between its two lines, so that patches are plane and close on each other.
                let flat = &self.flat.bends[bend];
                let allowance = flat.figures.allowance;
                let across = across(flat, point);
                let low = allowance * strip as f64 / count as f64;
                let share = (across - low) / (allowance / count as f64);
                let line = |to: f64| self.folded.bends[bend].at(point + away(flat) * (to - across), height);
                let (from, to) = (line(low), line(low + allowance / count as f64));
                from + (to - from) * share
            }
        }
    }
}

fn away(bend: &FlatBend) -> Vector {
    let along = (bend.start[1] - bend.start[0]).unit().unwrap_or(Vector::new(1.0, 0.0));
    -along.left()
}

/// How far beyond the line where a bend begins a point of the flat lies.
fn across(bend: &FlatBend, point: Point) -> f64 {
    (point - bend.start[0]).dot(away(bend))
}

fn strips(bend: &FlatBend) -> usize {
    ((bend.figures.bend.turn() / STRIP_DEG).ceil() as usize).max(1)
}

/// The part of the flat that one strip of a bend takes up.
fn strip_region(bend: &FlatBend, strip: usize, count: usize) -> Polygon {
    let [low, high] = [strip, strip + 1].map(|line| line as f64 / count as f64);
    let line = |share: f64| [bend.start[0].lerp(bend.end[0], share), bend.start[1].lerp(bend.end[1], share)];
    let (from, to) = (line(low), line(high));
    Polygon::new(vec![from[0], from[1], to[1], to[0]], Vec::new())
}

/// The patches and edges of a folded part. `tolerance` in mm is how far curves of the cut may be off.
pub(super) fn solid(flat: &Unfolding, folded: &Folded, tolerance: f64) -> Solid {
    let mut solid = Solid::default();
    let cut = flat.shape.flatten(tolerance, Side::Shrink);
    let mut pieces: Vec<(On, Polygon)> = Vec::new();
    for (index, face) in flat.faces.iter().enumerate() {
        let exterior = face.region.exterior().flatten(tolerance, Side::Grow);
        pieces.push((On::Face(index), Polygon::new(exterior, Vec::new())));
    }
    for (index, bend) in flat.bends.iter().enumerate() {
        let count = strips(bend);
        pieces.extend((0..count).map(|strip| (On::Strip(index, strip, count), strip_region(bend, strip, count))));
    }
    for (on, region) in &pieces {
        let piece = Piece { flat, folded, on: *on };
        // Where a surface cannot be told it stays open in the picture, which says so; its walls and edges are drawn all the
        // same.
        let surface = intersection(std::slice::from_ref(region), std::slice::from_ref(&cut));
        solid.is_doubtful |= surface.is_err();
        for polygon in surface.unwrap_or_default() {
            surfaces(&piece, &polygon, &mut solid);
        }
    }
    for ring in cut.rings() {
        walls(flat, folded, &pieces, ring, &mut solid);
    }
    for index in 0..flat.bends.len() {
        bend_edges(flat, folded, index, &mut solid);
    }
    solid
}

/// Both surfaces of a piece.
fn surfaces(piece: &Piece<'_>, polygon: &Polygon, solid: &mut Solid) {
    let thickness = piece.flat.thickness;
    let face = match piece.on {
        On::Face(face) => Some(face),
        On::Strip(..) => None,
    };
    for (height, skin) in [(thickness, Skin::Upper), (0.0, Skin::Lower)] {
        let rings = polygon
            .rings()
            .map(|ring| {
                let mut ring: Vec<Point3> = ring.iter().map(|&point| piece.at(point, height)).collect();
                if skin == Skin::Lower {
                    ring.reverse();
                }
                ring
            })
            .collect();
        push(solid, rings, skin, face);
    }
}

fn push(solid: &mut Solid, rings: Vec<Vec<Point3>>, skin: Skin, face: Option<usize>) {
    if let Some(normal) = rings.first().and_then(|ring| normal(ring)) {
        solid.patches.push(Patch { rings, normal, skin, face });
    }
}

/// The normal of a ring; `None` where it has no area.
///
/// # Source
/// Newell's method: half the sum of the cross products of successive corners. Textbook.
fn normal(ring: &[Point3]) -> Option<Point3> {
    let first = *ring.first()?;
    let sum = ring.windows(2).fold(Point3::default(), |sum, pair| sum + (pair[0] - first).cross(pair[1] - first));
    let length = sum.length();
    (length > 1e-12).then(|| sum * (1.0 / length))
}

/// Walls along one ring of the cut, and the edges on both surfaces.
fn walls(flat: &Unfolding, folded: &Folded, pieces: &[(On, Polygon)], ring: &[Point], solid: &mut Solid) {
    let count = ring.len();
    let turn = |i: usize| {
        let (before, at, after) = (ring[(i + count - 1) % count], ring[i], ring[(i + 1) % count]);
        let (come, go) = (at - before, after - at);
        come.cross(go).atan2(come.dot(go)).to_degrees().abs()
    };
    for i in 0..count {
        let (from, to) = (ring[i], ring[(i + 1) % count]);
        let way = to - from;
        let Some(direction) = way.unit() else { continue };
        // Split wherever the side passes from one strip of a bend to the next.
        let mut splits = vec![0.0, 1.0];
        for bend in &flat.bends {
            let (start, end) = (across(bend, from), across(bend, to));
            let strips = strips(bend);
            for line in 0..=strips {
                let wanted = bend.figures.allowance * line as f64 / strips as f64;
                let t = (wanted - start) / (end - start);
                if t > 1e-9 && t < 1.0 - 1e-9 {
                    splits.push(t);
                }
            }
        }
        splits.sort_by(f64::total_cmp);
        splits.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        for (number, pair) in splits.windows(2).enumerate() {
            let (a, b) = (from.lerp(to, pair[0]), from.lerp(to, pair[1]));
            // Metal lies to the left of every side: a point just within tells the piece.
            let within = a.lerp(b, 0.5) + direction.left() * 1e-4;
            let Some((on, _)) = pieces.iter().find(|(_, region)| region.contains(within)) else { continue };
            let piece = Piece { flat, folded, on: *on };
            let thickness = flat.thickness;
            let corners = [piece.at(a, 0.0), piece.at(b, 0.0), piece.at(b, thickness), piece.at(a, thickness)];
            push(solid, vec![corners.to_vec()], Skin::Cut, None);
            let mut edge = |one: usize, other: usize| {
                solid.edges.push(Edge { ends: [corners[one], corners[other]], kind: EdgeKind::Sharp });
            };
            edge(0, 1);
            edge(3, 2);
            if number == 0 && turn(i) > SHARP_DEG {
                edge(0, 3);
            }
        }
    }
}

/// Lines along a bend: where it begins and ends. The outline of its cylinder is drawn as its strips turn away.
fn bend_edges(flat: &Unfolding, folded: &Folded, index: usize, solid: &mut Solid) {
    let bend = &flat.bends[index];
    let count = strips(bend);
    // As far as there is metal, at the bend line.
    let trim = |share: f64| {
        let (from, to) = (bend.start[0].lerp(bend.end[0], share), bend.start[1].lerp(bend.end[1], share));
        let Some(along) = (to - from).unit() else { return [from, to] };
        let cut = |end: Point| from + along * (end - from).dot(along);
        [cut(bend.line[0]), cut(bend.line[1])]
    };
    let outward = |strip: usize| {
        let share = (strip as f64 + 0.5) / count as f64;
        let middle = bend.start[0].lerp(bend.end[0], share);
        let through = folded.bends[index].at(middle, flat.thickness) - folded.bends[index].at(middle, 0.0);
        through * (1.0 / flat.thickness)
    };
    let mut normals = vec![folded.faces[bend.parent].up];
    normals.extend((0..count).map(outward));
    normals.push(folded.faces[bend.face].up);
    for (height, sign) in [(0.0, -1.0), (flat.thickness, 1.0)] {
        for line in 0..=count {
            let ends = trim(line as f64 / count as f64).map(|point| folded.bends[index].at(point, height));
            let sides = [normals[line] * sign, normals[line + 1] * sign];
            solid.edges.push(Edge { ends, kind: EdgeKind::Turning(sides) });
            if line == 0 || line == count {
                solid.edges.push(Edge { ends, kind: EdgeKind::BendLimit });
            }
        }
    }
}
