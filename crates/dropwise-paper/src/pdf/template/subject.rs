//! What is printed: pieces where they lie, with all that is marked on them.

use dropwise_geometry::{Bounds, Isometry, Point, Polygon, Segment, Shape, Side, Unit, Vector};
use dropwise_model::{Job, Plan, Turns};
use dropwise_shop::stock_in_words;

use super::packed::Packed;
use super::settings::{TemplateError, TemplateOf};
use crate::details::{BendLine, HoleNote, RoundHole, round_holes};
use crate::drawing::copies::{copies, key};
use crate::drawing::naming::sides;
use crate::drawing::text::clean;

/// How far a curve may be from its stand-in when room for text is looked for, mm.
const TOLERANCE: f64 = 0.05;

/// Arcs that turn by less than this many radians get no mark at their centre.
const LEAST_SWEEP: f64 = 0.5;

/// What is marked on parts: bends, and holes that are more than cut; and the job's unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Marked<'a> {
    pub(super) bends: &'a [BendLine],
    pub(super) notes: &'a [HoleNote],
    /// In which stock is told.
    pub(super) unit: Unit,
}

/// A bend on a piece.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PieceBend {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) label: String,
    pub(super) is_up: bool,
}

/// One part where it is printed.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub(super) shape: Shape,
    /// The shape with straight edges, for finding room.
    pub(super) polygon: Polygon,
    pub(super) bounds: Bounds,
    pub(super) name: String,
    pub(super) key: String,
    pub(super) class: String,
    pub(super) is_flipped: bool,
    pub(super) holes: Vec<RoundHole>,
    /// What is done to holes beside cutting them, by their middles.
    pub(super) works: Vec<(Point, String)>,
    /// Centres of inside corners that a drill or hole saw makes. Centres of outside arcs are no place for a punch.
    pub(super) centers: Vec<Point>,
    pub(super) bends: Vec<PieceBend>,
    /// Direction that the grain must run, if it matters.
    pub(super) grain_deg: Option<f64>,
}

/// What a template shows.
#[derive(Clone, Debug)]
pub(super) struct Subject {
    pub(super) name: String,
    pub(super) class: String,
    /// The sheet and its damage, when a whole sheet is printed.
    pub(super) sheet: Option<Shape>,
    pub(super) damage: Vec<dropwise_geometry::Outline>,
    pub(super) grain_deg: Option<f64>,
    pub(super) pieces: Vec<Piece>,
    pub(super) bounds: Bounds,
}

impl Piece {
    fn of(job: &Job, part: usize, position: Isometry, number: (u32, u32), marked: Marked<'_>) -> Self {
        let Marked { bends, notes, unit } = marked;
        let (part_index, part) = (part, &job.parts()[part]);
        let shape = part.shape.transformed(position);
        let holes = round_holes(&shape);
        let mut centers: Vec<Point> = Vec::new();
        for segment in shape.rings().flat_map(|ring| ring.segments().collect::<Vec<_>>()) {
            let Segment::Arc { arc, .. } = segment else { continue };
            let is_known = holes.iter().map(|hole| hole.center).chain(centers.iter().copied());
            let is_known = is_known.into_iter().any(|center| center.distance(arc.center) < 0.01);
            // Metal lies to the left of travel: an arc that turns right is an inside corner.
            if arc.sweep < -LEAST_SWEEP && !is_known {
                centers.push(arc.center);
            }
        }
        let grain_deg = match part.turns {
            Turns::Grain { along_deg } => {
                let drawn = dropwise_geometry::Vector::from_angle(along_deg.to_radians());
                Some(position.apply_vector(drawn).angle().to_degrees())
            }
            _ => None,
        };
        let bends = bends.iter().filter(|bend| bend.part == part_index).map(|bend| PieceBend {
            from: position.apply(bend.from),
            to: position.apply(bend.to),
            // Seen from the other face, up is down.
            label: BendLine { is_up: bend.is_up != position.is_mirrored, ..bend.clone() }.label(),
            is_up: bend.is_up != position.is_mirrored,
        });
        let of_part = notes.iter().filter(|note| note.part == part_index);
        let works = of_part.map(|note| {
            let side = if note.is_up == position.is_mirrored { ", from the other side" } else { "" };
            (position.apply(note.center), format!("{}{side}", note.work))
        });
        let (copy, of) = number;
        Self {
            works: works.collect(),
            polygon: shape.flatten(TOLERANCE, Side::Shrink),
            bounds: shape.bounds(),
            name: clean(&part.name),
            key: format!("{}{}", key(part_index), if of > 1 { copy.to_string() } else { String::new() }),
            class: clean(&stock_in_words(part.class.label(), unit)),
            is_flipped: position.is_mirrored,
            holes,
            centers,
            bends: bends.collect(),
            grain_deg,
            shape,
        }
    }
}

impl Subject {
    /// What is asked for.
    pub(super) fn of(job: &Job, plan: &Plan, of: TemplateOf, marked: Marked<'_>) -> Result<Self, TemplateError> {
        match of {
            TemplateOf::Part(index) => {
                let count = job.parts().len();
                let part = job.parts().get(index).ok_or(TemplateError::NoSuch { kind: "part", index, count })?;
                // Only one is printed, whichever copy it serves for.
                let piece = Piece::of(job, index, Isometry::translation(0.0, 0.0), (1, 1), marked);
                Ok(Self {
                    name: clean(&part.name),
                    class: clean(&stock_in_words(part.class.label(), marked.unit)),
                    sheet: None,
                    damage: Vec::new(),
                    grain_deg: None,
                    bounds: piece.bounds,
                    pieces: vec![piece],
                })
            }
            TemplateOf::Sheet(index) => {
                let count = plan.layout().sheets.len();
                let used =
                    plan.layout().sheets.get(index).ok_or(TemplateError::NoSuch { kind: "sheet", index, count })?;
                let sheet = &job.sheets()[used.sheet];
                let numbers = &copies(job, plan.layout())[index];
                let pieces = used.placements.iter().zip(numbers).map(|(placement, copy)| {
                    Piece::of(job, placement.part, placement.position, (copy.number, copy.of), marked)
                });
                let shape = sheet.bought_shape(used.length);
                Ok(Self {
                    name: format!("{}, sheet {} of {count}", clean(&sheet.name), index + 1),
                    class: clean(&stock_in_words(sheet.class.label(), marked.unit)),
                    bounds: shape.bounds(),
                    sheet: Some(shape),
                    damage: sheet.damage.clone(),
                    grain_deg: sheet.grain_deg,
                    pieces: pieces.collect(),
                })
            }
        }
    }

    /// Parts side by side on one page: each by its index in the job and where the lower left corner of its box comes to
    /// lie.
    pub(super) fn side_by_side(job: &Job, parts: &[Packed], size: Vector, marked: Marked<'_>) -> Self {
        let pieces: Vec<Piece> = parts
            .iter()
            .map(|&Packed { part, is_turned, at }| {
                let degrees = if is_turned { 90.0 } else { 0.0 };
                let turned = job.parts()[part].shape.transformed(Isometry::new(false, degrees, 0.0, 0.0)).bounds();
                let way = at - turned.min;
                Piece::of(job, part, Isometry::new(false, degrees, way.x, way.y), (1, 1), marked)
            })
            .collect();
        let classes: Vec<&str> = pieces.iter().map(|piece| piece.class.as_str()).collect();
        let is_one = classes.windows(2).all(|pair| pair[0] == pair[1]);
        Self {
            name: pieces.iter().map(|piece| piece.key.as_str()).collect::<Vec<_>>().join(", "),
            class: if is_one {
                classes.first().map_or("", |class| class).to_owned()
            } else {
                "several metals".to_owned()
            },
            sheet: None,
            damage: Vec::new(),
            grain_deg: None,
            bounds: Bounds::of([Point::ORIGIN, Point::ORIGIN + size]),
            pieces,
        }
    }

    /// Lines of everything that is drawn: what marks and texts keep clear of.
    pub(super) fn lines(&self) -> Vec<[Point; 2]> {
        let mut lines: Vec<[Point; 2]> = self.pieces.iter().flat_map(Piece::lines).collect();
        lines.extend(self.around());
        lines
    }

    /// Lines of the sheet and its damage.
    pub(super) fn around(&self) -> Vec<[Point; 2]> {
        let damage = self.damage.iter().map(|damage| Shape::new(damage.clone(), Vec::new()));
        let shapes = self.sheet.iter().cloned().chain(damage).map(|shape| shape.flatten(TOLERANCE, Side::Shrink));
        shapes.flat_map(|polygon| sides(&polygon).collect::<Vec<_>>()).collect()
    }

    /// Turned a quarter to the left.
    pub(super) fn turned(&self) -> Self {
        let turn = Isometry::new(false, 90.0, 0.0, 0.0);
        let pieces = self.pieces.iter().map(|piece| {
            let shape = piece.shape.transformed(turn);
            Piece {
                polygon: shape.flatten(TOLERANCE, Side::Shrink),
                bounds: shape.bounds(),
                holes: round_holes(&shape),
                works: piece.works.iter().map(|(center, work)| (turn.apply(*center), work.clone())).collect(),
                centers: piece.centers.iter().map(|&center| turn.apply(center)).collect(),
                bends: piece
                    .bends
                    .iter()
                    .map(|bend| PieceBend { from: turn.apply(bend.from), to: turn.apply(bend.to), ..bend.clone() })
                    .collect(),
                grain_deg: piece.grain_deg.map(|degrees| degrees + 90.0),
                shape,
                ..piece.clone()
            }
        });
        let sheet = self.sheet.as_ref().map(|sheet| sheet.transformed(turn));
        let pieces: Vec<Piece> = pieces.collect();
        Self {
            bounds: sheet.as_ref().map_or_else(|| pieces[0].bounds, Shape::bounds),
            sheet,
            damage: self.damage.iter().map(|damage| damage.transformed(turn)).collect(),
            grain_deg: self.grain_deg.map(|degrees| degrees + 90.0),
            pieces,
            ..self.clone()
        }
    }

    /// The metal that pages are printed for: pages that show none of it are left out.
    pub(super) fn metal(&self) -> Polygon {
        match &self.sheet {
            Some(sheet) => sheet.flatten(TOLERANCE, Side::Grow),
            None => self.pieces[0].shape.flatten(TOLERANCE, Side::Grow),
        }
    }
}
