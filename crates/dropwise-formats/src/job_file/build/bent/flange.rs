//! Flanges from their keys.

use dropwise_shop::bend::{Development, LegDatum};
use dropwise_shop::fold::{Direction, Edge, EndCut, Extent, Flange, Notch, NotchForm, Turn};
use dropwise_shop::pattern::Corner;

use super::super::context::At;
use super::super::openings::{PlacedFeature, features};
use super::super::outline::{both, corner};
use super::settings::{Settings, given_k, relief};
use crate::job_file::types::{
    self, DirectionWord, EdgeNotch, EdgeWord, EndKeys, FlangeKeys, FreeCorner, HemWord, ToldWord,
};

/// Name of the face that a part starts from.
pub(super) const BASE: &str = "base";

/// A flange that was read, not yet in its place.
pub(super) struct ReadFlange<'c> {
    pub(super) at: At<'c>,
    /// The face that it is bent from.
    pub(super) on: String,
    /// Of an offset, the slope; the face that was meant is bent from it.
    pub(super) flange: Flange,
    /// The die of its bends.
    pub(super) die: Option<f64>,
    /// What is cut out of it, with the places.
    pub(super) features: Vec<PlacedFeature<'c>>,
}

/// A flange. `None` when something in it is wrong (and was reported).
pub(super) fn flange<'c>(at: &At<'c>, keys: &FlangeKeys, settings: &Settings<'_>) -> Option<ReadFlange<'c>> {
    let name = at.key("name").name(&keys.name);
    let height = at.key("height").size(&keys.height);
    let extent = extent(at, keys);
    let turn = turn(at, keys);
    let ends =
        both(end(&at.key("right_end"), keys.right_end.as_ref()), end(&at.key("left_end"), keys.left_end.as_ref()));
    let corners = free_corners(at, keys);
    let own_relief = match &keys.relief {
        None => Some(None),
        Some(keys) => relief(&at.key("relief"), keys).map(Some),
    };
    let k = keys.k.map_or(Some(None), |k| given_k(&at.key("k"), k).map(Some));
    let features = features(at, &keys.openings);
    let notches = notches(at, keys.edge_notches.as_deref());
    let tooling = tooling(at, keys, settings);
    let (name, height, extent, turn) = (name?, height?, extent?, turn?);
    let ((right_end, left_end), corners, own_relief, k) = (ends?, corners?, own_relief?, k?);
    let (features, notches, (radius, die)) = (features?, notches?, tooling?);

    let is_hem = !matches!(turn, Turn::Angle(_));
    let degrees = if let Turn::Angle(angle) = turn { angle } else { 180.0 };
    let radius = match turn {
        Turn::ClosedHem => 0.0,
        Turn::OpenHem { gap } => gap / 2.0,
        Turn::TeardropHem { radius } => radius,
        Turn::Angle(_) => radius.unwrap_or(settings.radius),
    };
    let die = if is_hem { None } else { die };
    let development = k.map_or_else(|| settings.development(radius, degrees, die), Development::KFactor);
    let direction = direction(keys.direction);
    let edge = keys.edge.as_ref().map_or(Edge::Top, edge);
    let own_features = features.iter().map(|placed| placed.feature).collect();
    let shaped = |flange: Flange| Flange { free_corners: corners, features: own_features, notches, ..flange };
    let flange = if let Some(step) = &keys.step {
        let step_at = at.key("step");
        let step = step_at.size(step)?;
        let mut web = Flange::offset(&name, edge, step, degrees, height, direction, (settings.thickness, radius));
        web.development = Some(development.clone());
        if !web.height.is_finite() || web.height <= 0.0 {
            let context = at.context;
            let least = (2.0 * radius + settings.thickness) * (1.0 - degrees.to_radians().cos());
            step_at.fault(
                format!(
                    "is {}, and the two bends of the offset alone rise by {}",
                    context.show(step),
                    context.show(least)
                ),
                "Make the step higher, the `angle` smaller, or the inside radius smaller",
            );
            return None;
        }
        web.flanges =
            web.flanges.into_iter().map(|run| Flange { development: Some(development.clone()), ..run }).collect();
        if let Some(run) = web.flanges.pop() {
            web.flanges.push(shaped(run));
        }
        web
    } else {
        let told = told(keys, turn);
        let mut flange = shaped(Flange::new(&name, edge, height));
        flange.turn = turn;
        flange.direction = direction;
        flange.inside_radius = (!is_hem).then_some(radius);
        flange.development = Some(development);
        (flange.datum, flange.edge_datum) = told;
        flange
    };
    let flange = Flange { extent, ends: [right_end, left_end], relief: own_relief, ..flange };
    let on = keys.on.as_deref().map_or(BASE, str::trim).to_owned();
    Some(ReadFlange { at: at.clone(), on, flange, die, features })
}

/// Inside radius and die of a flange as told, the part's die where it has none.
fn tooling(at: &At<'_>, keys: &FlangeKeys, settings: &Settings<'_>) -> Option<(Option<f64>, Option<f64>)> {
    let radius = at.key("inside_radius").optional(keys.inside_radius.as_ref(), At::distance);
    let die = at.key("die").optional(keys.die.as_ref(), At::size);
    let (radius, die) = both(radius, die)?;
    let made = die.filter(|_| radius.is_none()).map(|die| settings.radius_in(die));
    // A radius by hand that differs from the part's is not made in the part's die.
    let is_other = radius.is_some_and(|radius| (radius - settings.radius).abs() > 1e-9);
    let die = die.or(if is_other { None } else { settings.die });
    Some((radius.or(made), die))
}

fn extent(at: &At<'_>, keys: &FlangeKeys) -> Option<Extent> {
    let from = at.key("from").optional(keys.from.as_ref(), At::distance);
    let to = at.key("to").optional(keys.to.as_ref(), At::size);
    let length = at.key("length").optional(keys.length.as_ref(), At::size);
    match (from?, to?, length?) {
        (None, None, None) => Some(Extent::Full),
        (Some(from), Some(to), None) => Some(Extent::FromTo(from, to)),
        (None, None, Some(length)) => Some(Extent::Middle(length)),
        (_, _, Some(_)) => {
            at.fault(
                "has `length` beside `from` or `to`",
                "Give `from` and `to`, or `length` for a stretch in the middle",
            );
            None
        }
        _ => {
            at.fault("has only one of `from` and `to`", "Give both, or neither to bend the whole edge");
            None
        }
    }
}

fn turn(at: &At<'_>, keys: &FlangeKeys) -> Option<Turn> {
    let mut is_good = true;
    let mut refuse = |key: &str, is_given: bool, problem: &str, cure: &str| {
        if is_given {
            at.key(key).fault(problem, cure);
            is_good = false;
        }
    };
    let Some(hem) = keys.hem else {
        refuse(
            "gap",
            keys.gap.is_some(),
            "stands without `hem = \"open\"`",
            "Leave it out, or say that it is an open hem",
        );
        let usual = if keys.step.is_some() { 45.0 } else { 90.0 };
        let angle = keys.angle.unwrap_or(usual);
        if keys.step.is_some() {
            let told = "The straight part after the step is what `height` tells; leave it out";
            refuse("told", keys.told.is_some(), "stands beside `step`", told);
            refuse("edge_told", keys.edge_told.is_some(), "stands beside `step`", told);
            if !(angle > 0.0 && angle <= 90.0) {
                at.key("angle").fault(
                    format!("is {angle}, which makes no offset"),
                    "The slope of an offset is bent by more than 0 and at most 90 degrees",
                );
                is_good = false;
            }
        }
        return is_good.then_some(Turn::Angle(angle));
    };
    refuse("angle", keys.angle.is_some(), "stands beside `hem`", "A hem turns by what its form asks; leave it out");
    refuse("step", keys.step.is_some(), "stands beside `hem`", "A flange is a hem or an offset: keep one");
    let of_form = "Only a teardrop hem has a radius by hand; of an open hem the `gap` is told";
    refuse(
        "inside_radius",
        keys.inside_radius.is_some() && hem != HemWord::Teardrop,
        "is not that of this hem",
        of_form,
    );
    refuse("gap", keys.gap.is_some() && hem != HemWord::Open, "is not that of this hem", "Only an open hem has a gap");
    refuse("die", keys.die.is_some(), "stands beside `hem`", "A hem is pressed, not made in a V die; leave it out");
    refuse(
        "told",
        keys.told.is_some_and(|told| told != ToldWord::Straight) && hem == HemWord::Teardrop,
        "stands beside a teardrop hem",
        "Its height is the straight leaf; leave it out",
    );
    let turn = match hem {
        HemWord::Closed => Some(Turn::ClosedHem),
        HemWord::Open => match &keys.gap {
            Some(gap) => at.key("gap").size(gap).map(|gap| Turn::OpenHem { gap }),
            None => {
                at.fault("is an open hem without `gap`", "Give the clear width inside it");
                None
            }
        },
        HemWord::Teardrop => match &keys.inside_radius {
            Some(radius) => at.key("inside_radius").size(radius).map(|radius| Turn::TeardropHem { radius }),
            None => {
                at.fault("is a teardrop hem without `inside_radius`", "Give the inside radius of its loop");
                None
            }
        },
    };
    turn.filter(|_| is_good)
}

/// From where the height is told, and to where the parent's edge.
fn told(keys: &FlangeKeys, turn: Turn) -> (LegDatum, LegDatum) {
    let is_beyond = !matches!(turn, Turn::Angle(angle) if angle <= 90.0);
    let datum = |word: ToldWord| match word {
        // Up to a square corner both mean the same point.
        ToldWord::Outside if is_beyond => LegDatum::OutsideTangent,
        ToldWord::Outside | ToldWord::OutsideCorner => LegDatum::Outside,
        ToldWord::Inside => LegDatum::Inside,
        ToldWord::BendLine => LegDatum::BendLine,
        ToldWord::Straight => LegDatum::Straight,
    };
    if matches!(turn, Turn::TeardropHem { .. }) {
        return (LegDatum::Straight, datum(keys.edge_told.unwrap_or(ToldWord::Outside)));
    }
    let own = keys.told.unwrap_or(ToldWord::Outside);
    (datum(own), datum(keys.edge_told.unwrap_or(own)))
}

pub(super) fn edge(edge: &types::Edge) -> Edge {
    match edge {
        types::Edge::Word(EdgeWord::Bottom) => Edge::Bottom,
        types::Edge::Word(EdgeWord::Right) => Edge::Right,
        types::Edge::Word(EdgeWord::Top) => Edge::Top,
        types::Edge::Word(EdgeWord::Left) => Edge::Left,
        // Its range is checked with the structure.
        types::Edge::Side(number) => Edge::Side((*number as usize).saturating_sub(1)),
    }
}

fn direction(word: Option<DirectionWord>) -> Direction {
    match word {
        None | Some(DirectionWord::Up) => Direction::Up,
        Some(DirectionWord::Down) => Direction::Down,
    }
}

fn end(at: &At<'_>, keys: Option<&EndKeys>) -> Option<Option<EndCut>> {
    let Some(keys) = keys else { return Some(None) };
    let set_back = at.key("set_back").optional(keys.set_back.as_ref(), At::distance)?.unwrap_or(0.0);
    Some(Some(EndCut { set_back, slant_deg: keys.slant.unwrap_or(0.0) }))
}

/// Right and left.
fn free_corners(at: &At<'_>, keys: &FlangeKeys) -> Option<[Corner; 2]> {
    let made = |key: &str, keys: Option<&FreeCorner>| match keys {
        None => Some(None),
        Some(keys) => corner(&at.key(key), keys.radius.as_ref(), "radius", keys.chamfer.as_ref()),
    };
    let usual = made("free_corners", keys.free_corners.as_ref());
    let own = both(made("right_corner", keys.right_corner.as_ref()), made("left_corner", keys.left_corner.as_ref()));
    let (usual, (right, left)) = (usual?.unwrap_or_default(), own?);
    Some([right.unwrap_or(usual), left.unwrap_or(usual)])
}

/// Notches in the edges of a face.
pub(super) fn notches(at: &At<'_>, keys: Option<&[EdgeNotch]>) -> Option<Vec<Notch>> {
    let at = at.key("edge_notches");
    let read: Vec<Option<Notch>> =
        keys.into_iter().flatten().enumerate().map(|(index, keys)| notch(&at.index(index), keys)).collect();
    read.into_iter().collect()
}

fn notch(at: &At<'_>, keys: &EdgeNotch) -> Option<Notch> {
    let size = |key: &str, length: &Option<types::Length>| at.key(key).optional(length.as_ref(), At::size);
    let (width, depth, radius) = (size("width", &keys.width), size("depth", &keys.depth), size("radius", &keys.radius));
    let place = at.key("at").length(&keys.at);
    let is_vee = keys.vee == Some(true);
    let inside = size("inside_radius", &keys.inside_radius);
    let form = match (width?, depth?, radius?, inside?) {
        (Some(width), Some(depth), None, Some(inside)) => {
            if is_vee {
                at.key("inside_radius").fault("stands beside `vee`", "A V has no corners to round; leave it out");
                return None;
            }
            let (context, room) = (at.context, depth.min(width / 2.0));
            if inside > room {
                at.key("inside_radius").fault(
                    format!("is {}, and the notch has room for {} at most", context.show(inside), context.show(room)),
                    "Make it smaller, or the notch larger",
                );
                return None;
            }
            NotchForm::Rounded { width, depth, radius: inside }
        }
        (Some(width), Some(depth), None, None) if is_vee => NotchForm::Vee { width, depth },
        (Some(width), Some(depth), None, None) => NotchForm::Rectangular { width, depth },
        (None, None, Some(radius), None) if !is_vee => NotchForm::Round { radius },
        _ => {
            at.fault("has not the sizes of a notch", "Give `width` and `depth`, or `radius` alone for a half circle");
            return None;
        }
    };
    let edge = keys.edge.as_ref().map_or(Edge::Top, edge);
    Some(Notch { edge, at: place?, form })
}
