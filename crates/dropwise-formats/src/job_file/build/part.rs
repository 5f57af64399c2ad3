//! Parts of the job.

use std::f64::consts::PI;

use dropwise_model::{Money, Need, Part, Turns};
use dropwise_shop::pattern::RoundHole;
use dropwise_shop::{Material, PartWork, Thickness, stock_class};

use super::bent::{self, BentDetail, WorkedHole, Workshop, check_flat, is_bent, worked_holes};
use super::context::At;
use super::drawing::{Piece, pieces};
use super::openings::features;
use super::outline::{add_openings, base, check_one_form, flat, forms_given};
use crate::job_file::error::{Note, Place};
use crate::job_file::types::{self, Defaults, PartKeys};

/// What the job file says of a part beyond what nesting needs.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct PartDetail {
    /// What it is made of.
    pub material: Material,
    /// How thick it is.
    pub thickness: Thickness,
    /// Holes drilled, bends and length cut, for their cost.
    pub work: PartWork,
    /// What one costs ready-made.
    pub ready_made: Option<Money>,
    /// Its round holes, smallest first, for marking out.
    pub holes: Vec<RoundHole>,
    /// Those of its holes that are countersunk or flared, in the order in which they were written down.
    pub worked_holes: Vec<WorkedHole>,
    /// Its bends; `None` for a part that is told flat.
    pub bent: Option<Box<BentDetail>>,
    /// What was assumed, left out or mended of its drawing; empty for a part by dimensions.
    pub drawing_notes: Vec<Note>,
    /// Where it was written down.
    pub place: Place,
}

/// A thickness that parts are made of instead of the one they are told in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instead {
    /// The metal.
    pub material: Material,
    /// What the job says.
    pub told: Thickness,
    /// What is taken.
    pub taken: Thickness,
}

impl Instead {
    /// The stock of a part that is told in this one: the one that is taken, if any of these is.
    fn of(list: &[Self], (material, thickness): (Material, Thickness)) -> (Material, Thickness) {
        let class = stock_class(material, thickness);
        let found = list.iter().find(|instead| stock_class(instead.material, instead.told) == class);
        (material, found.map_or(thickness, |instead| instead.taken))
    }
}

pub(super) const FORMS: &str = "`rectangle`, `polygon`, `circle`, `ring`, `slot`, `l_shape`, `gusset`, `notched` and \
     `drawing`, or, bent, of `angle_bracket`, `channel`, `z_section`, `hat_section`, `tray`, `lipped_box`, `gusseted_corner` \
     and `machine_table`";

/// A part as it is written; a drawing of several pieces makes several.
///
/// `drills_holes` says whether holes have a price of their own, so that small ones are drilled, not cut.
pub(super) fn parts(
    at: &At<'_>,
    keys: &PartKeys,
    defaults: &Defaults,
    drills_holes: bool,
    workshop: &Workshop<'_>,
) -> Option<Vec<(Part, PartDetail)>> {
    let name = at.key("name").name(&keys.name);
    let stock = stock(at, keys.material.as_ref(), keys.thickness.as_ref(), defaults);
    let stock = stock.map(|told| Instead::of(workshop.instead, told));
    let turns = turns(at, keys.turns.as_ref(), defaults);
    let may_flip = may_flip(at, keys, defaults);
    let ready_made = match keys.ready_made {
        None => Some(None),
        Some(amount) => at.key("ready_made").money(amount).map(Some),
    };
    let pieces = if is_bent(keys) {
        stock.and_then(|stock| bent::piece(at, keys, stock, workshop)).map(|piece| vec![piece])
    } else {
        let is_flat = check_flat(at, keys);
        let thickness = stock.as_ref().map(|(_, thickness)| thickness.millimetres());
        part_pieces(at, keys, thickness).filter(|_| is_flat)
    };
    let (name, (material, thickness), turns) = (name?, stock?, turns?);
    let (may_flip, ready_made, pieces) = (may_flip?, ready_made?, pieces?);
    let is_alone = pieces.len() == 1;
    let parts = pieces.into_iter().map(Piece::in_own_frame).enumerate().map(|(index, piece)| {
        let work = work(&piece, keys, drills_holes);
        let part = Part {
            name: if is_alone { name.clone() } else { format!("{name} {}", index + 1) },
            shape: piece.shape,
            quantity: keys.quantity.unwrap_or(1),
            class: stock_class(material, thickness),
            turns: turns.clone(),
            may_flip,
            need: if keys.filler == Some(true) { Need::Filler } else { Need::Required },
        };
        let detail = PartDetail {
            material,
            thickness,
            work,
            ready_made,
            holes: piece.holes,
            worked_holes: piece.worked,
            bent: piece.bent,
            drawing_notes: piece.notes,
            place: at.place(),
        };
        (part, detail)
    });
    Some(parts.collect())
}

fn part_pieces(at: &At<'_>, keys: &PartKeys, thickness: Option<f64>) -> Option<Vec<Piece>> {
    let features = features(at, &keys.openings);
    if !check_one_form(at, &forms_given(&keys.outline), "part", FORMS) {
        return None;
    }
    if let Some(drawing) = &keys.outline.drawing {
        let pieces = pieces(&at.key("drawing"), drawing, thickness)?;
        let features = features?;
        if features.is_empty() {
            return Some(pieces);
        }
        let [piece] = pieces.as_slice() else {
            at.fault(
                format!("has holes by dimensions, but its drawing holds {} pieces", pieces.len()),
                "Choose one with `piece`",
            );
            return None;
        };
        let works: Vec<_> = features.iter().map(|placed| (placed.at.clone(), placed.work)).collect();
        let (shape, holes) = add_openings(at, &piece.shape, features)?;
        let worked = worked_holes(&holes, &works);
        let mut holes: Vec<RoundHole> = piece.holes.iter().copied().chain(holes).collect();
        holes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        return Some(vec![Piece { shape, holes, worked, ..piece.clone() }]);
    }
    let (base, form_key) = base(at, &keys.outline)?;
    let features = features?;
    let works: Vec<_> = features.iter().map(|placed| (placed.at.clone(), placed.work)).collect();
    let flat = flat(at, base, form_key, features)?;
    let worked = worked_holes(&flat.holes, &works);
    let (notes, damage) = (Vec::new(), Vec::new());
    Some(vec![Piece { shape: flat.shape, holes: flat.holes, bends: 0, worked, bent: None, notes, damage }])
}

/// Holes up to this are drilled when drilling has a price, mm: what the chuck of a hand drill holds (common practice, no
/// source).
const LARGEST_DRILL: f64 = 13.0;

/// The work on one piece. Drilled holes, the smallest first, are not cut.
fn work(piece: &Piece, keys: &PartKeys, drills_holes: bool) -> PartWork {
    let small = piece.holes.iter().filter(|hole| hole.diameter <= LARGEST_DRILL).count();
    let drilled = keys.drilled_holes.map_or(if drills_holes { small } else { 0 }, |count| count as usize);
    let not_cut: f64 = piece.holes.iter().take(drilled).map(|hole| hole.diameter * PI).sum();
    PartWork {
        cut_length: (drilled > 0).then(|| (piece.shape.perimeter() - not_cut).max(0.0)),
        drilled_holes: drilled as u32,
        bends: keys.bends.unwrap_or(piece.bends),
    }
}

/// Material and thickness, from the part or sheet itself or from the defaults.
pub(super) fn stock(
    at: &At<'_>,
    material: Option<&String>,
    thickness: Option<&types::Thick>,
    defaults: &Defaults,
) -> Option<(Material, Thickness)> {
    let defaults_at = at.context.top().key("defaults");
    let read_material = match (material, &defaults.material) {
        (Some(name), _) => at.key("material").material(name),
        // A wrong default is reported where it stands, once, by whoever reads the defaults.
        (None, Some(name)) => name.parse().ok(),
        (None, None) => {
            at.fault("lacks `material`", "Give it here or in `defaults`, as in `material = \"mild steel\"`");
            None
        }
    };
    let thickness = match (thickness, &defaults.thickness) {
        (Some(thickness), _) => Some((at.key("thickness"), thickness)),
        (None, Some(thickness)) => Some((defaults_at.key("thickness"), thickness)),
        (None, None) => {
            at.fault("lacks `thickness`", "Give it here or in `defaults`, as in `thickness = \"16 ga\"`");
            None
        }
    };
    let material = read_material?;
    let (at, thickness) = thickness?;
    at.thickness(thickness, material).map(|thickness| (material, thickness))
}

fn turns(at: &At<'_>, turns: Option<&types::Turns>, defaults: &Defaults) -> Option<Turns> {
    let (at, turns) = match (turns, &defaults.turns) {
        (Some(turns), _) => (at.key("turns"), turns),
        (None, Some(turns)) => (at.context.top().key("defaults").key("turns"), turns),
        (None, None) => return Some(Turns::Any),
    };
    match turns {
        types::Turns::Word(types::TurnsWord::Any) => Some(Turns::Any),
        types::Turns::Word(types::TurnsWord::Grain) => Some(Turns::Grain { along_deg: 0.0 }),
        types::Turns::Grain(along) => at.key("grain").angle(along.grain).map(|along_deg| Turns::Grain { along_deg }),
        types::Turns::List(angles) => {
            let read: Vec<Option<f64>> =
                angles.iter().enumerate().map(|(index, angle)| at.index(index).angle(*angle)).collect();
            let mut read: Vec<f64> = read.into_iter().collect::<Option<_>>()?;
            read.iter_mut().for_each(|angle| *angle = angle.rem_euclid(360.0));
            read.sort_by(f64::total_cmp);
            read.dedup();
            Some(Turns::List(read))
        }
    }
}

fn may_flip(at: &At<'_>, keys: &PartKeys, defaults: &Defaults) -> Option<bool> {
    let has_good_face = keys.good_face == Some(true);
    if has_good_face && keys.may_flip == Some(true) {
        at.fault("has a good face but may be flipped", "Leave out `may_flip` or `good_face`");
        return None;
    }
    Some(!has_good_face && keys.may_flip.or(defaults.may_flip).unwrap_or(true))
}
