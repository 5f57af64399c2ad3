//! Holes, slots, cutouts, rows and bolt circles as features of a pattern.

use dropwise_shop::pattern::{Corner, Cut, Feature, FromX, FromY, Position, RowAnchor, Spacing};

use super::context::At;
use super::outline::{both, pair};
use crate::job_file::types::{Cutout, Edges, Hole, HoleRow, Openings, Placing, SlotHole};

/// A feature and where it was written.
pub(super) struct PlacedFeature<'c> {
    pub(super) at: At<'c>,
    pub(super) feature: Feature,
}

/// All openings written down, in the order of their lists. `None` when one of them is wrong (all were reported).
pub(super) fn features<'c>(at: &At<'c>, openings: &Openings) -> Option<Vec<PlacedFeature<'c>>> {
    let mut read: Vec<Option<PlacedFeature<'c>>> = Vec::new();
    let mut add =
        |at: At<'c>, feature: Option<Feature>| read.push(feature.map(|feature| PlacedFeature { at, feature }));
    for (index, keys) in openings.holes.iter().flatten().enumerate() {
        let at = at.key("holes").index(index);
        add(at.clone(), hole(&at, keys));
    }
    for (index, keys) in openings.slots.iter().flatten().enumerate() {
        let at = at.key("slots").index(index);
        add(at.clone(), slot(&at, keys));
    }
    for (index, keys) in openings.cutouts.iter().flatten().enumerate() {
        let at = at.key("cutouts").index(index);
        add(at.clone(), cutout(&at, keys));
    }
    for (index, keys) in openings.hole_rows.iter().flatten().enumerate() {
        let at = at.key("hole_rows").index(index);
        add(at.clone(), hole_row(&at, keys));
    }
    for (index, keys) in openings.bolt_circles.iter().flatten().enumerate() {
        let at = at.key("bolt_circles").index(index);
        let size = both(at.key("diameter").size(&keys.diameter), at.key("circle").size(&keys.circle));
        let start = at.key("start").angle(keys.start.unwrap_or(0.0));
        let position = placing(&at.key("at"), keys.at.as_ref());
        let feature = both(both(size, start), position).map(|(((diameter, circle_diameter), start_deg), position)| {
            Feature { position, cut: Cut::BoltCircle { diameter, count: keys.count, circle_diameter, start_deg } }
        });
        add(at, feature);
    }
    read.into_iter().collect()
}

fn hole(at: &At<'_>, keys: &Hole) -> Option<Feature> {
    let (diameter, position) = both(at.key("diameter").size(&keys.diameter), placing(&at.key("at"), keys.at.as_ref()))?;
    Some(Feature { position, cut: Cut::Hole { diameter } })
}

fn slot(at: &At<'_>, keys: &SlotHole) -> Option<Feature> {
    let size = both(at.key("length").size(&keys.length), at.key("width").size(&keys.width));
    let angle = at.key("angle").angle(keys.angle.unwrap_or(0.0));
    let (angle_deg, position) = both(angle, placing(&at.key("at"), keys.at.as_ref()))?;
    let (length, width) = size?;
    Some(Feature { position, cut: Cut::Slot { length, width, angle_deg } })
}

fn cutout(at: &At<'_>, keys: &Cutout) -> Option<Feature> {
    let size = both(at.key("width").size(&keys.width), at.key("height").size(&keys.height));
    let radius = at.key("corner_radius").optional(keys.corner_radius.as_ref(), At::size);
    let angle = at.key("angle").angle(keys.angle.unwrap_or(0.0));
    let (angle_deg, position) = both(angle, placing(&at.key("at"), keys.at.as_ref()))?;
    let ((width, height), radius) = both(size, radius)?;
    let corner = radius.map_or(Corner::Sharp, Corner::Radius);
    Some(Feature { position, cut: Cut::Cutout { width, height, corner, angle_deg } })
}

fn hole_row(at: &At<'_>, keys: &HoleRow) -> Option<Feature> {
    let diameter = at.key("diameter").size(&keys.diameter);
    let pitch = at.key("pitch").optional(keys.pitch.as_ref(), At::size);
    let overall = at.key("overall").optional(keys.overall.as_ref(), At::size);
    let angle = at.key("angle").angle(keys.angle.unwrap_or(0.0));
    let place = match (&keys.at, &keys.middle) {
        (Some(_), Some(_)) => {
            at.fault("has both `at` and `middle`", "Keep the one that is dimensioned");
            None
        }
        (Some(first), None) => placing(&at.key("at"), Some(first)).map(|position| (position, RowAnchor::First)),
        (None, middle) => placing(&at.key("middle"), middle.as_ref()).map(|position| (position, RowAnchor::Middle)),
    };
    let spacing = match both(pitch, overall)? {
        (Some(pitch), None) => Spacing::Pitch(pitch),
        (None, Some(overall)) => Spacing::Overall(overall),
        // A single hole needs no spacing.
        (None, None) if keys.count == 1 => Spacing::Pitch(1.0),
        (None, None) => {
            at.fault("says nothing of how far apart its holes are", "Give `pitch` or `overall`");
            return None;
        }
        (Some(_), Some(_)) => {
            at.fault("has both `pitch` and `overall`", "Keep the one that is dimensioned");
            return None;
        }
    };
    let ((diameter, angle_deg), (position, anchor)) = both(both(diameter, angle), place)?;
    Some(Feature { position, cut: Cut::HoleRow { diameter, count: keys.count, spacing, angle_deg, anchor } })
}

/// A place on a part; in the middle when nothing is said.
pub(super) fn placing(at: &At<'_>, placing: Option<&Placing>) -> Option<Position> {
    match placing {
        None | Some(Placing::Center(_)) => Some(Position::CENTER),
        Some(Placing::Corner(lengths)) => {
            pair(at, lengths).map(|(x, y)| Position::new(FromX::Left(x), FromY::Bottom(y)))
        }
        Some(Placing::Edges(edges)) => from_edges(at, edges),
    }
}

fn from_edges(at: &At<'_>, edges: &Edges) -> Option<Position> {
    let across = [("left", &edges.left), ("right", &edges.right), ("center_x", &edges.center_x)];
    let upright = [("bottom", &edges.bottom), ("top", &edges.top), ("center_y", &edges.center_y)];
    let one_of = |dimensions: [(&'static str, &Option<_>); 3]| {
        let given: Vec<_> = dimensions.iter().filter_map(|(key, length)| length.as_ref().map(|l| (*key, l))).collect();
        match given.as_slice() {
            [] => Some(None),
            [(key, length)] => at.key(key).length(length).map(|millimetres| Some((*key, millimetres))),
            [(first, _), (second, _), ..] => {
                at.fault(format!("has both `{first}` and `{second}`"), "One dimension for each axis says where it is");
                None
            }
        }
    };
    let (across, upright) = both(one_of(across), one_of(upright))?;
    let x = match across {
        Some(("left", distance)) => FromX::Left(distance),
        Some(("right", distance)) => FromX::Right(distance),
        other => FromX::Center(other.map_or(0.0, |(_, offset)| offset)),
    };
    let y = match upright {
        Some(("bottom", distance)) => FromY::Bottom(distance),
        Some(("top", distance)) => FromY::Top(distance),
        other => FromY::Center(other.map_or(0.0, |(_, offset)| offset)),
    };
    Some(Position::new(x, y))
}
