//! What a job file says of parts beyond their outline: bends, and holes that are more than cut.

mod faults;
mod flange;
mod forms;
mod settings;
mod strips;
mod tree;

use std::collections::HashMap;

use dropwise_geometry::Point;
use dropwise_shop::bend::{Bend, Grade, Method};
use dropwise_shop::fold::{BaseFace, BendTable, BentError, BentPart, FlatHole, Unfolding, unfold};
use dropwise_shop::pattern::{Pattern, RoundHole};
use dropwise_shop::{Material, Thickness};

use super::context::At;
use super::drawing::{Piece, pieces};
use super::openings::{PlacedFeature, features};
use super::outline::{add_openings, base, check_one_form, forms_given};
use super::part::{FORMS, Instead};
use crate::job_file::error::{Note, Place};
use crate::job_file::types::{BendingKeys, FaceKeys, PartKeys};
use faults::{FacePlace, report};
use flange::{BASE, ReadFlange, flange, notches};
pub(super) use forms::bent_forms_given;
use forms::short_form;
use settings::Settings;
pub(super) use strips::{MeasuredStrip, strips};
use tree::{attach, corner, dies_of, face_names, find_mut, unknown_face};

/// A bent part: as told, laid flat, and by what figures.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BentDetail {
    /// The part as it was told, face by face.
    pub part: BentPart,
    /// Laid flat: its shape is that of the job's part, in the same coordinates.
    pub unfolding: Unfolding,
    /// Every number from which its flat lengths follow.
    pub table: BendTable,
    /// The metal in the state in which it is bent.
    pub grade: Grade,
    /// How the punch drives the sheet into the die.
    pub method: Method,
    /// Opening of the die that each bend is to be made in, mm, in the order of the unfolding's bends; `None` where the
    /// job does not say, and for hems.
    pub dies: Vec<Option<f64>>,
    /// Where each face was written down, in the order of the unfolding's faces.
    pub places: Vec<Place>,
}

/// A round hole that is more than cut.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkedHole {
    /// Its middle, in the coordinates of the part's shape.
    pub center: Point,
    /// Diameter of the hole that is cut, mm.
    pub diameter: f64,
    /// Whether the countersink opens, or the flare stands, towards the viewer of the pattern.
    pub is_up: bool,
    /// What is done to it.
    pub work: HoleWork,
    /// The face that it is in, as the unfolding counts them; 0 in a part without bends.
    pub face: usize,
    /// Where it was written down.
    pub place: Place,
}

/// What is done to a hole. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleWork {
    /// Countersunk.
    Countersunk {
        /// Diameter of the cone at the face of the sheet.
        diameter: f64,
        /// Angle between its sides, degrees.
        angle_deg: f64,
        /// How deep the cone goes until it is as wide as the hole. In sheet thinner than that it breaks through.
        depth: f64,
        /// Diameter of the screw that it is for, if the job names one.
        screw: Option<f64>,
    },
    /// Flared with a pair of dies.
    Flared {
        /// Outside diameter of the flare, by which its die is known.
        diameter: f64,
        /// How far it stands up, if the job says.
        depth: Option<f64>,
    },
    /// Tapped.
    Tapped {
        /// Outside diameter of the thread.
        major: f64,
        /// Its pitch.
        pitch: f64,
    },
}

/// What all bent parts of a file share.
pub(super) struct Workshop<'k> {
    /// The file's settings.
    pub(super) bending: Option<&'k BendingKeys>,
    /// The shop's test strips.
    pub(super) strips: Vec<MeasuredStrip>,
    /// Openings of the shop's dies, mm; none where it has no press brake.
    pub(super) dies: Vec<f64>,
    /// Whether the shop bends on benders without punch and die alone.
    pub(super) is_by_hand: bool,
    /// The narrowest relief that can be cut, mm: the kerf.
    pub(super) kerf: f64,
    /// Thicknesses that parts are made of instead of their own.
    pub(super) instead: &'k [Instead],
}

/// Whether a part is told with bends.
pub(super) fn is_bent(keys: &PartKeys) -> bool {
    keys.flanges.is_some() || !bent_forms_given(&keys.bent).is_empty()
}

/// Reports keys that mean something for bent parts only.
pub(super) fn check_flat(at: &At<'_>, keys: &PartKeys) -> bool {
    let given =
        [("faces", keys.faces.is_some()), ("corners", keys.corners.is_some()), ("bending", keys.bending.is_some())];
    let mut is_good = true;
    for (key, _) in given.into_iter().filter(|(_, is_given)| *is_given) {
        at.key(key).fault("tells of bends, but the part has none", "Add `flanges`, or leave it out");
        is_good = false;
    }
    is_good
}

/// A bent part, laid flat.
pub(super) fn piece(
    at: &At<'_>,
    keys: &PartKeys,
    stock: (Material, Thickness),
    workshop: &Workshop<'_>,
) -> Option<Piece> {
    let own = keys.bending.as_ref().map(|keys| (at.key("bending"), keys));
    let of_file = workshop.bending.map(|keys| (at.context.top().key("bending"), keys));
    let levels: Vec<(At<'_>, &BendingKeys)> = own.into_iter().chain(of_file).collect();
    let settings = Settings::read(at, &levels, stock, workshop);
    let given: Vec<&str> = forms_given(&keys.outline).into_iter().chain(bent_forms_given(&keys.bent)).collect();
    if !check_one_form(at, &given, "part", FORMS) {
        return None;
    }
    let settings = settings?;
    let start = start(at, keys, &settings, workshop.kerf);
    let flanges: Vec<Option<ReadFlange<'_>>> = (keys.flanges.iter().flatten().enumerate())
        .map(|(index, keys)| flange(&at.key("flanges").index(index), keys, &settings))
        .collect();
    let (Start { mut part, mut places, worked, notes }, flanges) =
        (start?, flanges.into_iter().collect::<Option<Vec<_>>>()?);
    let dies = dies_of(&flanges);
    if !attach(&mut part, flanges.iter().map(|one| (one.at.clone(), one.on.clone(), one.flange.clone())).collect()) {
        return None;
    }
    for one in flanges {
        // What is cut out of an offset lies on the face after the slope.
        if let Some(run) = one.flange.flanges.last() {
            let place = FacePlace { features: one.features, ..FacePlace::new(one.at.clone(), true, "") };
            places.insert(run.name.clone(), place);
            places.insert(one.flange.name.clone(), FacePlace::new(one.at, true, ""));
        } else {
            let place = FacePlace { features: one.features, ..FacePlace::new(one.at, true, "") };
            places.insert(one.flange.name, place);
        }
    }
    let mut is_good = true;
    for (index, keys) in keys.faces.iter().flatten().enumerate() {
        is_good &= furnish(&at.key("faces").index(index), keys, &mut part, &mut places).is_some();
    }
    for (index, keys) in keys.corners.iter().flatten().enumerate() {
        is_good &= corner(&at.key("corners").index(index), &mut part, keys, &settings);
    }
    if !is_good {
        return None;
    }
    let development = |bend: &Bend| settings.development(bend.radius(), bend.turn(), settings.die);
    let unfolding = unfold(&part, &development);
    if settings.report_unanswered(at) {
        return None;
    }
    match unfolding {
        Ok(unfolding) => {
            let dies = unfolding.bends.iter().map(|bend| {
                let name = &unfolding.faces[bend.face].name;
                dies.get(name).copied().unwrap_or(settings.die).filter(|_| bend.figures.bend.turn() < 180.0)
            });
            let dies = dies.collect();
            Some(Piece { notes, ..finished(at, part, unfolding, dies, &settings, &places, worked) })
        }
        Err(errors) => {
            // Both ends of one bend may have the same fault.
            let mut told: Vec<&BentError> = Vec::new();
            for error in errors.errors() {
                if !told.contains(&error) {
                    told.push(error);
                    report(at, &places, error);
                }
            }
            None
        }
    }
}

/// A part before anything of `flanges` is bent from it.
struct Start<'c> {
    part: BentPart,
    places: HashMap<String, FacePlace<'c>>,
    /// Worked holes of a drawn base, which no feature tells of.
    worked: Vec<WorkedHole>,
    /// What is to be told of its drawing.
    notes: Vec<Note>,
}

fn start<'c>(at: &At<'c>, keys: &PartKeys, settings: &Settings<'_>, kerf: f64) -> Option<Start<'c>> {
    let features = features(at, &keys.openings);
    let mut places = HashMap::new();
    let (mut worked, mut notes) = (Vec::new(), Vec::new());
    let (thickness, radius) = (settings.thickness, settings.radius);
    let mut part = if let Some(drawing) = &keys.outline.drawing {
        let pieces = pieces(&at.key("drawing"), drawing, Some(settings.thickness));
        let (features, pieces) = (features?, pieces?);
        let [piece] = pieces.as_slice() else {
            at.fault(
                format!("has flanges, but its drawing holds {} pieces", pieces.len()),
                "Choose the base face with `piece`",
            );
            return None;
        };
        let works: Vec<_> = features.iter().map(|placed| (placed.at.clone(), placed.work)).collect();
        let (shape, holes) = add_openings(at, &piece.shape, features)?;
        worked = worked_holes(&holes, &works);
        notes.clone_from(&piece.notes);
        places.insert(BASE.to_owned(), FacePlace::new(at.clone(), false, "drawing"));
        BentPart::of(thickness, radius, BaseFace::Shape(shape))
    } else {
        let (part, form_key) = match bent_forms_given(&keys.bent).first() {
            Some(&form_key) => (short_form(at, &keys.bent, thickness, radius)?, form_key),
            None => {
                let (base, form_key) = base(at, &keys.outline)?;
                (BentPart::new(thickness, radius, Pattern::plain(base)), form_key)
            }
        };
        for name in face_names(&part).into_iter().skip(1) {
            places.insert(name, FacePlace::new(at.key(form_key), false, ""));
        }
        let features = features?;
        let mut part = part;
        let mut place = FacePlace::new(at.clone(), false, form_key);
        if let BaseFace::Pattern(pattern) = &mut part.base {
            place.outline.clone_from(&pattern.base);
            pattern.features = features.iter().map(|placed| placed.feature).collect();
        }
        place.features = features;
        places.insert(BASE.to_owned(), place);
        part
    };
    part.is_sharp_allowed = settings.is_sharp_allowed;
    part.least_relief = kerf;
    part.join = settings.join.unwrap_or(part.join);
    part.join_returns = settings.join;
    part.relief = settings.relief.unwrap_or(part.relief);
    part.corner_relief = settings.corner_relief.unwrap_or(part.corner_relief);
    Some(Start { part, places, worked, notes })
}

/// Cuts what `faces` says out of a face.
fn furnish<'c>(
    at: &At<'c>,
    keys: &FaceKeys,
    part: &mut BentPart,
    places: &mut HashMap<String, FacePlace<'c>>,
) -> Option<()> {
    let (features, notches) = (features(at, &keys.openings), notches(at, keys.edge_notches.as_deref()));
    let name = keys.face.trim();
    let Some(place) = places.get_mut(name) else {
        unknown_face(&at.key("face"), name, &face_names(part));
        return None;
    };
    let (features, notches) = (features?, notches?);
    let own = features.iter().map(|placed| placed.feature);
    if name == BASE {
        match &mut part.base {
            BaseFace::Pattern(pattern) => pattern.features.extend(own),
            BaseFace::Shape(_) if features.is_empty() => {}
            BaseFace::Shape(_) => {
                at.fault("cuts openings out of a drawn base", "Write them beside `drawing`, or draw them");
                return None;
            }
        }
        part.notches.extend(notches);
    } else {
        let flange = find_mut(&mut part.flanges, name)?;
        flange.features.extend(own);
        flange.notches.extend(notches);
    }
    place.features.extend(features);
    Some(())
}

fn finished(
    at: &At<'_>,
    part: BentPart,
    unfolding: Unfolding,
    dies: Vec<Option<f64>>,
    settings: &Settings<'_>,
    places: &HashMap<String, FacePlace<'_>>,
    mut worked: Vec<WorkedHole>,
) -> Piece {
    let place_of = |name: &str| places.get(name).map_or_else(|| at.place(), |place| place.at.place());
    worked.extend(unfolding.holes.iter().filter_map(|hole: &FlatHole| {
        let placed: &PlacedFeature<'_> = places.get(&unfolding.faces[hole.face].name)?.features.get(hole.feature?)?;
        let (work, is_up) = placed.work?;
        let (center, diameter) = (hole.center, hole.diameter?);
        Some(WorkedHole { center, diameter, is_up, work, face: hole.face, place: placed.at.place() })
    }));
    let round =
        |hole: &FlatHole| hole.diameter.map(|diameter| RoundHole { diameter, center: hole.center, feature: None });
    let mut holes: Vec<RoundHole> = unfolding.holes.iter().filter_map(round).collect();
    holes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    // A hem is folded first and pressed after that.
    let strokes = unfolding.bends.iter().map(|bend| if bend.figures.bend.turn() < 180.0 { 1 } else { 2 }).sum();
    let detail = BentDetail {
        table: unfolding.table(),
        grade: settings.grade,
        method: settings.method,
        dies,
        places: unfolding.faces.iter().map(|face| place_of(&face.name)).collect(),
        part,
        unfolding,
    };
    let (shape, notes, damage) = (detail.unfolding.shape.clone(), Vec::new(), Vec::new());
    Piece { shape, holes, bends: strokes, worked, bent: Some(Box::new(detail)), notes, damage }
}

/// The worked ones of a pattern's holes. `works`: of each feature its place and what is done to its holes.
pub(super) fn worked_holes(holes: &[RoundHole], works: &[(At<'_>, Option<(HoleWork, bool)>)]) -> Vec<WorkedHole> {
    let mut worked: Vec<(usize, WorkedHole)> = holes
        .iter()
        .filter_map(|hole| {
            let feature = hole.feature?;
            let (at, work) = works.get(feature)?;
            let (work, is_up) = (*work)?;
            let (center, diameter) = (hole.center, hole.diameter);
            Some((feature, WorkedHole { center, diameter, is_up, work, face: 0, place: at.place() }))
        })
        .collect();
    worked.sort_by_key(|(feature, _)| *feature);
    worked.into_iter().map(|(_, hole)| hole).collect()
}
