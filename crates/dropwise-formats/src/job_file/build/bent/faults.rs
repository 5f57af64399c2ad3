//! Faults of a bent part, told where its faces were written, in the unit of the job file.

use std::collections::HashMap;

use dropwise_geometry::{Point, Unit};
use dropwise_shop::bend::BendError;
use dropwise_shop::fold::BentError;
use dropwise_shop::pattern::{Base, Corner, Pattern};

use super::super::context::At;
use super::super::openings::PlacedFeature;
use super::super::pattern_faults;

/// Where a face was written, and what is cut out of it.
pub(super) struct FacePlace<'c> {
    pub(super) at: At<'c>,
    /// Whether it has a table of its own, with an `edge` and a `height`.
    pub(super) is_flange: bool,
    /// Key of the form that the base was told with.
    pub(super) form_key: &'static str,
    /// What is cut out of it.
    pub(super) features: Vec<PlacedFeature<'c>>,
    /// The outline that its features are cut out of.
    pub(super) outline: Base,
}

impl<'c> FacePlace<'c> {
    pub(super) fn new(at: At<'c>, is_flange: bool, form_key: &'static str) -> Self {
        // A stand-in that is never measured: of a flange, faults are told of its features only.
        let outline = Base::rectangle(1.0, 1.0, Corner::Sharp);
        Self { at, is_flange, form_key, features: Vec::new(), outline }
    }

    fn feature(&self, index: Option<usize>) -> At<'c> {
        index.and_then(|index| self.features.get(index)).map_or(&self.at, |placed| &placed.at).clone()
    }
}

/// Reports a fault at the face that it concerns, or else at the part.
pub(super) fn report(part: &At<'_>, places: &HashMap<String, FacePlace<'_>>, error: &BentError) {
    if let BentError::Pattern { face, errors } = error
        && let Some(place) = places.get(face)
    {
        let features = place.features.iter().map(|placed| placed.feature).collect();
        let pattern = Pattern { base: place.outline.clone(), features };
        let places: Vec<At<'_>> = place.features.iter().map(|placed| placed.at.clone()).collect();
        for error in errors.errors() {
            pattern_faults::report(&place.at, place.form_key, &pattern, &places, error.clone());
        }
        return;
    }
    let place = face_of(error).and_then(|face| places.get(face));
    let at = place.map_or_else(|| part.clone(), |place| spot(place, error));
    let unit = part.context.unit;
    let mut message = match error {
        // Its lengths are in millimetres and say so.
        BentError::Bend { .. } => error.to_string(),
        other => in_unit(other.clone(), unit).to_string().replace(" mm", &format!(" {unit}")),
    };
    if let (Some(place), BentError::HoleAcrossBend { feature, .. } | BentError::HoleThroughEdge { feature, .. }) =
        (place, error)
    {
        let number = feature.map_or(0, |feature| feature + 1);
        let tail = place.feature(*feature).tail();
        message = message.replacen(&format!("feature {number} "), &format!("{tail} "), 1);
    }
    // A flange's place names it already.
    let named = face_of(error).map(|face| format!("face \"{face}\": ")).unwrap_or_default();
    let is_named = place.is_some_and(|place| place.is_flange) && !named.is_empty();
    let message = if is_named { message.strip_prefix(&named).unwrap_or(&message) } else { &message };
    at.message(0, format!("{message}{}", cure(error)));
}

/// The key that is to be changed.
fn spot<'c>(place: &FacePlace<'c>, error: &BentError) -> At<'c> {
    use BentError as E;
    let key = match error {
        E::HoleAcrossBend { feature, .. } | E::HoleThroughEdge { feature, .. } => return place.feature(*feature),
        E::CurvedEdge { .. } | E::EdgeIsBent { .. } => "edge",
        E::NoSuchEdge { face, parent, .. } if face != parent => "edge",
        E::Angle { .. } | E::HalfTurn { .. } => "angle",
        E::ZeroRadius { .. } => "inside_radius",
        E::ShorterThanSetback { .. } | E::TeardropShort { .. } => "height",
        _ => return place.at.clone(),
    };
    if place.is_flange { place.at.key(key) } else { place.at.clone() }
}

fn face_of(error: &BentError) -> Option<&str> {
    use BentError as E;
    match error {
        E::Pattern { face, .. }
        | E::Outline { face, .. }
        | E::Bend { face, .. }
        | E::Size { face, .. }
        | E::TooDeep { face }
        | E::NameTwice { face }
        | E::NoSuchEdge { face, .. }
        | E::CurvedEdge { face, .. }
        | E::EdgeIsBent { face, .. }
        | E::BeyondEdge { face, .. }
        | E::Angle { face, .. }
        | E::HalfTurn { face, .. }
        | E::ZeroRadius { face }
        | E::EndCut { face, .. }
        | E::ShorterThanSetback { face, .. }
        | E::TeardropShort { face, .. }
        | E::UsedUp { face, .. }
        | E::HoleAcrossBend { face, .. }
        | E::HoleThroughEdge { face, .. }
        | E::UnlikeMitre { face, .. }
        | E::UnsquareOverlap { face, .. }
        | E::NoReturnCorner { face, .. }
        | E::ReliefRoom { face, .. }
        | E::ReliefSmall { face, .. } => Some(face),
        // Of two faces that are in each other's way, the later one was added to the earlier.
        E::OnOneEdge { other, .. } | E::Collision { other, .. } | E::Touch { other, .. } => Some(other),
        _ => None,
    }
}

/// The same fault with its lengths in another unit, to a thousandth of a micrometre.
fn in_unit(mut error: BentError, unit: Unit) -> BentError {
    use BentError as E;
    let convert = |length: &mut f64| *length = (*length / unit.millimetres() * 1e6).round() / 1e6;
    let convert_point = |point: &mut Point| {
        convert(&mut point.x);
        convert(&mut point.y);
    };
    match &mut error {
        E::Size { value, .. } => convert(value),
        E::BeyondEdge { from, to, least, most, .. } => [from, to, least, most].into_iter().for_each(convert),
        E::OnOneEdge { from, to, .. } => [from, to].into_iter().for_each(convert),
        E::ShorterThanSetback { found, wanted, .. }
        | E::TeardropShort { found, wanted, .. }
        | E::ReliefSmall { found, wanted, .. } => [found, wanted].into_iter().for_each(convert),
        E::UsedUp { at, .. }
        | E::HoleAcrossBend { at, .. }
        | E::HoleThroughEdge { at, .. }
        | E::ReliefRoom { at, .. }
        | E::Touch { at, .. } => convert_point(at),
        E::Collision { at, depth, .. } => {
            convert_point(at);
            convert(depth);
        }
        // Angles and names have no unit of length.
        _ => {}
    }
    error
}

fn cure(error: &BentError) -> &'static str {
    use BentError as E;
    match error {
        E::Bend { error: BendError::DinTooSharp { .. }, .. } => ". Give this bend a `k`",
        E::NoSuchEdge { .. } => ". Name `bottom`, `right`, `top` or `left`, or the number of a straight side",
        E::CurvedEdge { .. } => ". Choose another edge",
        E::EdgeIsBent { .. } => ". Choose its top, right or left edge",
        E::BeyondEdge { .. } => ". Keep it on the edge; lengths run counter-clockwise around the face",
        E::HalfTurn { .. } => ". Write `hem` instead of `angle`",
        E::ZeroRadius { .. } => ". Give the radius, or say `sharp = true` in `bending`",
        E::ShorterThanSetback { .. } => ". Make it higher, or the radius smaller",
        E::OnOneEdge { .. } => ". Move them apart, or make one shorter",
        E::UsedUp { .. } => ". Make the face larger, or its bends, ends and notches smaller",
        E::HoleAcrossBend { .. } => ". Move it away from the bend",
        E::HoleThroughEdge { .. } => ". Move it inwards, or make it smaller",
        E::UnlikeMitre { .. } => ". Mitre flanges that are bent alike, or butt them",
        E::UnsquareOverlap { .. } => ". Butt them instead",
        E::ReliefRoom { .. } => ". Make the relief narrower, or the flange shorter",
        E::ReliefSmall { .. } => ". Make it larger, or have it sized by rule",
        E::Collision { .. } => ". Make one of them shorter or lower, cut its ends, or make the part of two pieces",
        E::Touch { .. } => ". Leave a gap between them",
        _ => "",
    }
}
