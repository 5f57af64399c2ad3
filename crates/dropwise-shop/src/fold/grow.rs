//! The tree of faces, each with its sides, bends and holes, in its own frame.

use dropwise_geometry::{Bounds, Outline, Point, Segment, Shape};

use crate::bend::Development;
use crate::pattern::{Base, Corner, Feature, Pattern, PolygonCorner, SAME_POINT, outline_with_corners};

use super::check::{Checked, SoundBend};
use super::corner::{CornerPlan, plan_corners};
use super::error::BentError;
use super::frame::{FaceFrame, Side};
use super::part::{BaseFace, BentPart, CornerJoin, Edge, Extent, Flange, Notch};
use super::relief::SizedRelief;

/// A face of the tree.
#[derive(Debug)]
pub(super) struct Face<'a> {
    pub(super) name: &'a str,
    pub(super) parent: Option<usize>,
    /// Where its frame lies on the flat.
    pub(super) frame: FaceFrame,
    /// Its sides before anything is bent or notched, counter-clockwise. Of a flange the first is where it is attached.
    pub(super) sides: Vec<Side>,
    /// The box in which its features are dimensioned.
    pub(super) told_size: (f64, f64),
    /// Its holes and the features they belong to.
    pub(super) holes: Vec<(Outline, Option<usize>)>,
    /// What is bent from it, in order of sides and along each.
    pub(super) bends: Vec<Attached<'a>>,
    /// Its notches, in the same order.
    pub(super) notches: Vec<Cut>,
    /// What becomes of the corner at the start of each side.
    pub(super) corners: Vec<Option<CornerPlan>>,
    joins: &'a [CornerJoin],
}

/// A flange where it is attached.
#[derive(Debug)]
pub(super) struct Attached<'a> {
    pub(super) flange: &'a Flange,
    pub(super) bend: SoundBend,
    /// How the flat length of the bend is found.
    pub(super) development: Development,
    /// Index of the side that it is bent from.
    pub(super) side: usize,
    /// The stretch of the side, as told.
    pub(super) from: f64,
    pub(super) to: f64,
    /// How it ends there: at its start and at its end, as the side runs.
    pub(super) ends: [End; 2],
    /// Index of the face; [`UNBORN`] until there is one.
    pub(super) face: usize,
}

/// In place of a face that could not be made: the base is bent from nothing.
pub(super) const UNBORN: usize = 0;

/// One end of a bend. Distances are measured inwards from that end of the *side*.
#[derive(Clone, Copy, Debug)]
pub(super) struct End {
    /// Whether the side ends here too, so that nothing of it stays beside the bend.
    pub(super) is_at_corner: bool,
    /// Where the bend zone ends, before a relief at the corner.
    pub(super) bare_zone: f64,
    /// Where the bend zone ends.
    pub(super) zone: f64,
    /// Where the flange ends, next to the bend.
    pub(super) root: f64,
    /// How much farther in it ends for each mm away from the bend.
    pub(super) slant: f64,
    /// Relief beside the end, where the side goes on.
    pub(super) relief: SizedRelief,
}

/// A notch where it is cut.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cut {
    pub(super) notch: Notch,
    pub(super) side: usize,
    pub(super) from: f64,
    pub(super) to: f64,
}

impl Attached<'_> {
    /// Length of the straight part from the end of the bend to the free edge.
    pub(super) fn straight(&self) -> f64 {
        self.flange.height - self.bend.own_taken
    }

    /// Where the bend begins and where it ends, as distances into the parent.
    pub(super) fn zone(&self) -> (f64, f64) {
        (self.bend.edge_taken, self.bend.edge_taken - self.bend.figures.allowance)
    }
}

/// The tree as far as it grew, and what was wrong.
#[derive(Debug)]
pub(super) struct Tree<'a> {
    pub(super) part: &'a BentPart,
    pub(super) faces: Vec<Face<'a>>,
    pub(super) errors: Vec<BentError>,
}

impl<'a> Tree<'a> {
    /// The faces of a part whose numbers were checked.
    pub(super) fn grow(part: &'a BentPart, checked: &[Checked<'a>], errors: Vec<BentError>) -> Self {
        let mut tree = Self { part, faces: Vec::new(), errors };
        let Some((shape, sides, holes)) = tree.base() else { return tree };
        let bounds = shape.bounds();
        let corners = vec![None; sides.len()];
        tree.faces.push(Face {
            name: &part.base_name,
            parent: None,
            frame: FaceFrame::BASE,
            sides,
            told_size: (bounds.width(), bounds.height()),
            holes,
            bends: Vec::new(),
            notches: Vec::new(),
            corners,
            joins: &part.corners,
        });
        tree.furnish(0, checked, &part.notches);
        tree
    }

    /// Outline, sides and holes of the base.
    #[allow(clippy::type_complexity)]
    fn base(&mut self) -> Option<(Shape, Vec<Side>, Vec<(Outline, Option<usize>)>)> {
        let face = &self.part.base_name;
        let (shape, numbers, owners) = match &self.part.base {
            BaseFace::Pattern(pattern) => match pattern.build() {
                Ok(flat) => {
                    let owners = owners(&pattern.features, flat.shape.holes().len());
                    let numbers = side_numbers(&pattern.base, &flat.shape);
                    (flat.shape, numbers, owners)
                }
                Err(errors) => {
                    self.errors.push(BentError::Pattern { face: face.clone(), errors });
                    return None;
                }
            },
            BaseFace::Shape(shape) => {
                let faults = shape.faults();
                if !faults.is_empty() {
                    let told = faults.into_iter().map(|fault| BentError::Outline { face: face.clone(), fault });
                    self.errors.extend(told);
                    return None;
                }
                let count = shape.exterior().vertices().len();
                (shape.clone(), (0..count).map(Some).collect(), vec![None; shape.holes().len()])
            }
        };
        let sides = shape
            .exterior()
            .segments()
            .zip(numbers)
            .map(|(segment, number)| Side { segment, number, reading: 0.0 })
            .collect();
        let holes = shape.holes().iter().cloned().zip(owners).collect();
        Some((shape, sides, holes))
    }

    /// Bends and notches of a face that has its sides, and all faces beyond.
    fn furnish(&mut self, index: usize, checked: &[Checked<'a>], notches: &[Notch]) {
        let mut bends = Vec::new();
        let mut grown = Vec::new();
        for child in checked {
            let place = self.place(index, child);
            if let (Some((side, from, to)), Some((bend, development))) = (place, &child.bend) {
                let ends = self.ends(index, child.flange, bend, side, (from, to));
                let (bend, development) = (*bend, development.clone());
                bends.push(Attached { flange: child.flange, bend, development, side, from, to, ends, face: UNBORN });
                grown.push(child);
            }
        }
        let mut cuts = Vec::new();
        for notch in notches {
            let [width, _] = notch.form.size();
            let face = &self.faces[index];
            let stretch = |_: f64| (notch.at - width / 2.0, notch.at + width / 2.0);
            match edge_of(face, face.name, notch.edge).and_then(|side| {
                let (from, to) = on_side(face, face.name, side, stretch)?;
                Ok(Cut { notch: *notch, side, from, to })
            }) {
                Ok(cut) => cuts.push(cut),
                Err(error) => self.errors.push(error),
            }
        }
        // Along the outline, so that whatever is found is told in one order.
        let mut order: Vec<usize> = (0..bends.len()).collect();
        order.sort_by(|&a, &b| {
            (bends[a].side, bends[a].from)
                .partial_cmp(&(bends[b].side, bends[b].from))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        cuts.sort_by(|a, b| (a.side, a.from).partial_cmp(&(b.side, b.from)).unwrap_or(std::cmp::Ordering::Equal));
        let mut by_order: Vec<Option<(Attached<'a>, &Checked<'a>)>> = bends.into_iter().zip(grown).map(Some).collect();
        let (mut bends, grown): (Vec<_>, Vec<_>) = order.into_iter().filter_map(|i| by_order[i].take()).unzip();
        if !self.report_overlaps(index, &bends, &cuts) {
            return;
        }
        let (part, face) = (self.part, &self.faces[index]);
        let corners =
            plan_corners(part, face.name, &face.sides, face.parent.is_some(), face.joins, &mut bends, &mut self.errors);
        let face = &mut self.faces[index];
        face.corners = corners;
        face.bends = bends;
        face.notches = cuts;
        for (which, child) in grown.into_iter().enumerate() {
            if let Some(born) = self.bear(index, which) {
                self.faces[index].bends[which].face = born;
                self.furnish(born, &child.children, &child.flange.notches);
            }
        }
    }

    /// The side a flange is bent from, and the stretch of it.
    fn place(&mut self, index: usize, child: &Checked<'a>) -> Option<(usize, f64, f64)> {
        let (face, flange) = (&self.faces[index], child.flange);
        let found = edge_of(face, &flange.name, flange.edge).and_then(|side| {
            let length = face.sides[side].length();
            // Where the face's own bend is next to the edge, its end needs room for a relief.
            let inset = child.bend.as_ref().map_or(0.0, |(bend, _)| match self.relief(flange, bend) {
                SizedRelief::None => 0.0,
                SizedRelief::Rectangular { width, .. } | SizedRelief::Round { width, .. } => width,
                SizedRelief::Hole { radius } => radius,
            });
            let is_attached = |side: usize| face.parent.is_some() && side.is_multiple_of(face.sides.len());
            let start = if is_attached(side + face.sides.len() - 1) { inset } else { 0.0 };
            let end = if is_attached(side + 1) { inset } else { 0.0 };
            let stretch = |reading: f64| match flange.extent {
                Extent::Full => (reading + start, reading + length - end),
                Extent::FromTo(from, to) => (from, to),
                Extent::Middle(part) => (reading + (length - part) / 2.0, reading + (length + part) / 2.0),
            };
            let (from, to) = on_side(face, &flange.name, side, stretch)?;
            Ok((side, from, to))
        });
        found.map_err(|error| self.errors.push(error)).ok()
    }

    fn relief(&self, flange: &Flange, bend: &SoundBend) -> SizedRelief {
        let (figures, taken) = (&bend.figures, bend.edge_taken);
        let reach = (taken - figures.allowance / 2.0).abs().max(figures.allowance / 2.0);
        let relief = flange.relief.unwrap_or(self.part.relief);
        let least = self.part.least_relief;
        relief.sized(figures.bend.radius(), figures.bend.thickness(), figures.allowance, reach, least)
    }

    /// Ends of a bend by themselves; corners are seen to later.
    fn ends(&self, index: usize, flange: &Flange, bend: &SoundBend, side: usize, stretch: (f64, f64)) -> [End; 2] {
        let face = &self.faces[index];
        let sides = &face.sides;
        let length = sides[side].length();
        let neighbours = [(side + sides.len() - 1) % sides.len(), (side + 1) % sides.len()];
        let distances = [stretch.0, length - stretch.1];
        let relief = self.relief(flange, bend);
        let mut ends = [0, 1].map(|end| {
            let neighbour = neighbours[end];
            let is_free = !(face.parent.is_some() && neighbour == 0) && sides[neighbour].is_straight();
            let (before, after) = if end == 0 { (neighbour, side) } else { (side, neighbour) };
            // Convex, by more than rounding makes of a straight line.
            let is_at_corner =
                distances[end] < SAME_POINT && is_free && sides[before].along().cross(sides[after].along()) > 1e-9;
            let cut = flange.ends[end].unwrap_or_default();
            let at = if is_at_corner { cut.set_back } else { distances[end] + cut.set_back };
            let slant = cut.slant_deg.to_radians().tan();
            End { is_at_corner, bare_zone: at, zone: at, root: at, slant, relief }
        });
        for end in &mut ends {
            if end.is_at_corner {
                end.relief = SizedRelief::None;
            }
        }
        ends
    }

    /// Whether nothing on one edge overlaps; reported where it does.
    fn report_overlaps(&mut self, index: usize, bends: &[Attached<'_>], cuts: &[Cut]) -> bool {
        let parent = self.faces[index].name;
        let mut stretches: Vec<(usize, f64, f64, &str)> = bends
            .iter()
            .map(|bend| (bend.side, bend.from, bend.to, bend.flange.name.as_str()))
            .chain(cuts.iter().map(|cut| (cut.side, cut.from, cut.to, parent)))
            .collect();
        stretches.sort_by(|a, b| (a.0, a.1).partial_cmp(&(b.0, b.1)).unwrap_or(std::cmp::Ordering::Equal));
        let mut is_clear = true;
        for pair in stretches.windows(2) {
            let (one, two) = (pair[0], pair[1]);
            if one.0 == two.0 && two.1 < one.2 - SAME_POINT {
                is_clear = false;
                let reading = self.faces[index].sides[one.0].reading;
                self.errors.push(BentError::OnOneEdge {
                    face: one.3.to_owned(),
                    other: two.3.to_owned(),
                    parent: parent.to_owned(),
                    from: two.1 + reading,
                    to: one.2.min(two.2) + reading,
                });
            }
        }
        is_clear
    }

    /// The face that a bend brings up: its frame, sides and holes.
    fn bear(&mut self, index: usize, which: usize) -> Option<usize> {
        let parent = &self.faces[index];
        let bend = &parent.bends[which];
        let (flange, side) = (bend.flange, &parent.sides[bend.side]);
        let [start, end] = bend.ends;
        let (width, height, taken) = (bend.to - bend.from, flange.height, bend.bend.own_taken);
        let length = side.length();
        // x = 0 lies at the end of the stretch and x runs back along the side: seen with the free edge up.
        let left = |away: f64| bend.to - (length - (end.root + end.slant * away));
        let right = |away: f64| bend.to - (start.root + start.slant * away);
        let straight = bend.straight();
        let corner = |x: f64, y: f64, corner: Corner| PolygonCorner::new(x, y, corner);
        let corners = [
            corner(left(0.0), taken, Corner::Sharp),
            corner(right(0.0), taken, Corner::Sharp),
            corner(right(straight), height, flange.free_corners[0]),
            corner(left(straight), height, flange.free_corners[1]),
        ];
        let is_used_up = |from: f64, to: f64| from.is_nan() || to.is_nan() || to - from <= SAME_POINT;
        let zone = (length - end.zone) - start.zone;
        if is_used_up(left(0.0), right(0.0)) || is_used_up(left(straight), right(straight)) || zone <= SAME_POINT {
            let at = Point::new((left(0.0) + right(0.0)) / 2.0, taken);
            self.errors.push(BentError::UsedUp { face: flange.name.clone(), at });
            return None;
        }
        let features =
            Pattern { base: Base::rectangle(width, height, Corner::Sharp), features: flange.features.clone() };
        let holes = match features.build() {
            Ok(flat) => {
                let owners = owners(&flange.features, flat.shape.holes().len());
                flat.shape.holes().iter().cloned().zip(owners).collect()
            }
            Err(errors) => {
                self.errors.push(BentError::Pattern { face: flange.name.clone(), errors });
                Vec::new()
            }
        };
        let Ok(outline) = outline_with_corners(&corners) else {
            let at = Point::new((left(straight) + right(straight)) / 2.0, height);
            self.errors.push(BentError::UsedUp { face: flange.name.clone(), at });
            return None;
        };
        let mut numbers = numbers_by_corners(&corners, outline.segments());
        // A corner that uses up a whole side leaves none to start from; the first is always there, it has sharp ends.
        numbers.resize(outline.vertices().len(), None);
        let mut sides: Vec<Side> = outline
            .segments()
            .zip(numbers)
            .map(|(segment, number)| Side { segment, number, reading: if number == Some(1) { taken } else { 0.0 } })
            .collect();
        let first = sides.iter().position(|side| side.number == Some(0)).unwrap_or(0);
        sides.rotate_left(first);
        // The end of the bend, where y is what the bend takes of the height.
        let origin = side.at(bend.to, bend.zone().1 + taken);
        let frame =
            FaceFrame { origin: parent.frame.to_flat(origin), x_axis: -parent.frame.vector_to_flat(side.along()) };
        let corner_count = sides.len();
        self.faces.push(Face {
            name: &flange.name,
            parent: Some(index),
            frame,
            sides,
            told_size: (width, height),
            holes,
            bends: Vec::new(),
            notches: Vec::new(),
            corners: vec![None; corner_count],
            joins: &flange.corners,
        });
        Some(self.faces.len() - 1)
    }
}

/// For each hole of a built pattern, the feature it belongs to. A bore comes first and belongs to none.
fn owners(features: &[Feature], holes: usize) -> Vec<Option<usize>> {
    let of_features: Vec<Option<usize>> = features
        .iter()
        .enumerate()
        .flat_map(|(i, feature)| std::iter::repeat_n(Some(i), feature.cut.count()))
        .collect();
    let bores = holes.saturating_sub(of_features.len());
    std::iter::repeat_n(None, bores).chain(of_features).collect()
}

/// The number, as the base counts its sides, of each side of its outline.
fn side_numbers(base: &Base, shape: &Shape) -> Vec<Option<usize>> {
    match base.corners() {
        Some(corners) => numbers_by_corners(&corners, shape.exterior().segments()),
        None => (0..shape.exterior().vertices().len()).map(Some).collect(),
    }
}

/// Which side of a polygon each straight segment lies on. The corners of the polygon may run either way round.
fn numbers_by_corners(corners: &[PolygonCorner], segments: impl Iterator<Item = Segment>) -> Vec<Option<usize>> {
    let lies_on = |point: Point, from: Point, to: Point| {
        Segment::Line { start: from, end: to }.distance_to_point(point) <= SAME_POINT
    };
    segments
        .map(|segment| {
            let (start, end) = (segment.start(), segment.end());
            (0..corners.len()).find(|&i| {
                let (from, to) = (corners[i].point, corners[(i + 1) % corners.len()].point);
                matches!(segment, Segment::Line { .. }) && lies_on(start, from, to) && lies_on(end, from, to)
            })
        })
        .collect()
}

/// The side that an edge is.
pub(super) fn edge_of(face: &Face<'_>, flange: &str, edge: Edge) -> Result<usize, BentError> {
    let (flange, parent) = (flange.to_owned(), face.name.to_owned());
    let is_flange = face.parent.is_some();
    let number = match edge {
        Edge::Side(number) => Some(number),
        Edge::Bottom if is_flange => Some(0),
        Edge::Right if is_flange => Some(1),
        Edge::Top if is_flange => Some(2),
        Edge::Left if is_flange => Some(3),
        _ => None,
    };
    if is_flange && number == Some(0) {
        return Err(BentError::EdgeIsBent { face: flange, parent });
    }
    let found = match number {
        Some(number) => face.sides.iter().position(|side| side.number == Some(number)),
        None => {
            let bounds = face.sides.iter().fold(Bounds::EMPTY, |all, side| all.union(side.segment.bounds()));
            let is_on = |side: &Side| {
                let own = side.segment.bounds();
                match edge {
                    Edge::Bottom => own.max.y <= bounds.min.y + SAME_POINT,
                    Edge::Right => own.min.x >= bounds.max.x - SAME_POINT,
                    Edge::Top => own.min.y >= bounds.max.y - SAME_POINT,
                    _ => own.max.x <= bounds.min.x + SAME_POINT,
                }
            };
            let on: Vec<usize> = (0..face.sides.len()).filter(|&i| is_on(&face.sides[i])).collect();
            let longest = on.into_iter().max_by(|&a, &b| face.sides[a].length().total_cmp(&face.sides[b].length()));
            // An arc that bulges out to that side of the box is what the user means, and cannot have.
            longest.or_else(|| {
                face.sides.iter().position(|side| {
                    let own = side.segment.bounds();
                    !side.is_straight()
                        && match edge {
                            Edge::Bottom => own.min.y <= bounds.min.y + SAME_POINT,
                            Edge::Right => own.max.x >= bounds.max.x - SAME_POINT,
                            Edge::Top => own.max.y >= bounds.max.y - SAME_POINT,
                            _ => own.min.x <= bounds.min.x + SAME_POINT,
                        }
                })
            })
        }
    };
    match found {
        None => Err(BentError::NoSuchEdge { face: flange, parent, edge }),
        Some(side) if !face.sides[side].is_straight() => Err(BentError::CurvedEdge { face: flange, parent, edge }),
        Some(side) => Ok(side),
    }
}

/// A stretch told in dimensions along a side, as distances from its start.
fn on_side(
    face: &Face<'_>,
    flange: &str,
    side: usize,
    stretch: impl Fn(f64) -> (f64, f64),
) -> Result<(f64, f64), BentError> {
    let (reading, length) = (face.sides[side].reading, face.sides[side].length());
    let (from, to) = stretch(reading);
    let is_on = from >= reading - SAME_POINT && to <= reading + length + SAME_POINT && to - from > SAME_POINT;
    if is_on {
        return Ok(((from - reading).max(0.0), (to - reading).min(length)));
    }
    Err(BentError::BeyondEdge {
        face: flange.to_owned(),
        parent: face.name.to_owned(),
        from,
        to,
        least: reading,
        most: reading + length,
    })
}
