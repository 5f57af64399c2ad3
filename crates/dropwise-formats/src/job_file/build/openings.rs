//! Holes, slots, cutouts, rows and bolt circles as features of a pattern.

use dropwise_shop::bend::fasteners::{
    COUNTERSUNK, Fit, RIVET_HOLES, TAP_DRILLS, TapDrill, clearance_hole, clearance_screws, countersink_depth,
    countersunk, rivet_hole, tap_drill,
};
use dropwise_shop::pattern::{Corner, Cut, Feature, FromX, FromY, Position, RowAnchor, Spacing};

use super::bent::HoleWork;
use super::context::At;
use super::outline::{both, pair};
use crate::job_file::tree::shortened;
use crate::job_file::types::{
    Clearance, Countersink, Cutout, DirectionWord, Edges, FitWord, Flare, Hole, HoleRow, HoleSize, Openings, Placing,
    SlotHole,
};

/// A feature and where it was written.
pub(super) struct PlacedFeature<'c> {
    pub(super) at: At<'c>,
    pub(super) feature: Feature,
    /// What is done to its holes, and whether that is on the side of the viewer.
    pub(super) work: Option<(HoleWork, bool)>,
}

/// All openings written down, in the order of their lists. `None` when one of them is wrong (all were reported).
pub(super) fn features<'c>(at: &At<'c>, openings: &Openings) -> Option<Vec<PlacedFeature<'c>>> {
    let mut read: Vec<Option<PlacedFeature<'c>>> = Vec::new();
    let mut add = |at: At<'c>, feature: Option<Feature>, work: Option<Option<(HoleWork, bool)>>| {
        read.push(both(feature, work).map(|(feature, work)| PlacedFeature { at, feature, work }));
    };
    for (index, keys) in openings.holes.iter().flatten().enumerate() {
        let at = at.key("holes").index(index);
        let size = hole_size(&at, &keys.size);
        let work = size.and_then(|size| work(&at, size, keys.countersink.as_ref(), keys.flare.as_ref()));
        add(at.clone(), size.and_then(|size| hole(&at, keys, size)), work);
    }
    for (index, keys) in openings.slots.iter().flatten().enumerate() {
        let at = at.key("slots").index(index);
        add(at.clone(), slot(&at, keys), Some(None));
    }
    for (index, keys) in openings.cutouts.iter().flatten().enumerate() {
        let at = at.key("cutouts").index(index);
        add(at.clone(), cutout(&at, keys), Some(None));
    }
    for (index, keys) in openings.hole_rows.iter().flatten().enumerate() {
        let at = at.key("hole_rows").index(index);
        let size = hole_size(&at, &keys.size);
        let work = size.and_then(|size| work(&at, size, keys.countersink.as_ref(), keys.flare.as_ref()));
        add(at.clone(), hole_row(&at, keys, size), work);
    }
    for (index, keys) in openings.bolt_circles.iter().flatten().enumerate() {
        let at = at.key("bolt_circles").index(index);
        let own = hole_size(&at, &keys.size);
        let size = both(own.map(|size| size.diameter), at.key("circle").size(&keys.circle));
        let start = at.key("start").angle(keys.start.unwrap_or(0.0));
        let position = placing(&at.key("at"), keys.at.as_ref());
        let feature = both(both(size, start), position).map(|(((diameter, circle_diameter), start_deg), position)| {
            Feature { position, cut: Cut::BoltCircle { diameter, count: keys.count, circle_diameter, start_deg } }
        });
        let work = own.and_then(|size| work(&at, size, keys.countersink.as_ref(), keys.flare.as_ref()));
        add(at, feature, work);
    }
    read.into_iter().collect()
}

/// How large a hole is cut, and what is cut into it.
#[derive(Clone, Copy)]
struct ReadSize {
    diameter: f64,
    thread: Option<TapDrill>,
}

/// The size of a hole, by its diameter or by what goes into it.
fn hole_size(at: &At<'_>, keys: &HoleSize) -> Option<ReadSize> {
    let given = [
        ("diameter", keys.diameter.is_some()),
        ("clearance", keys.clearance.is_some()),
        ("tap", keys.tap.is_some()),
        ("rivet", keys.rivet.is_some()),
    ];
    let given: Vec<&str> = given.iter().filter(|(_, is_given)| *is_given).map(|(key, _)| *key).collect();
    if let [first, second, ..] = given.as_slice() {
        at.fault(format!("has both `{first}` and `{second}`"), "Keep the one that is dimensioned");
        return None;
    }
    let of = |diameter| Some(ReadSize { diameter, thread: None });
    if let Some(diameter) = &keys.diameter {
        return of(at.key("diameter").size(diameter)?);
    }
    if let Some(clearance) = &keys.clearance {
        return of(self::clearance(&at.key("clearance"), clearance)?);
    }
    if let Some(name) = &keys.tap {
        let Some(thread) = tap_drill(name) else {
            let known: Vec<&str> = TAP_DRILLS.iter().map(|row| row.thread).collect();
            at.key("tap").fault(
                format!("\"{}\" is no thread that is known here", shortened(name)),
                format!("Known are {}; or give the `diameter` to drill", known.join(", ")),
            );
            return None;
        };
        return Some(ReadSize { diameter: thread.diameter, thread: Some(thread) });
    }
    if let Some(shank) = &keys.rivet {
        let at = at.key("rivet");
        let shank = at.size(shank)?;
        let Some((diameter, _)) = rivet_hole(shank) else {
            let mut known: Vec<String> = RIVET_HOLES.iter().map(|(shank, _)| at.context.show(*shank)).collect();
            let mut seen = std::collections::BTreeSet::new();
            known.retain(|shank| seen.insert(shank.clone()));
            at.fault(
                format!("{} is no shank of a blind rivet that is known here", at.context.show(shank)),
                format!("Known are {}; or give the `diameter` of the hole", known.join(", ")),
            );
            return None;
        };
        return of(diameter);
    }
    at.fault("says nothing of its size", "Give `diameter`, or the `clearance`, `tap` or `rivet` that it is for");
    None
}

fn clearance(at: &At<'_>, keys: &Clearance) -> Option<f64> {
    let (at, name, fit) = match keys {
        Clearance::Screw(name) => (at.clone(), name, Fit::Medium),
        Clearance::Fitted(keys) => {
            let fit = match keys.fit {
                Some(FitWord::Fine) => Fit::Fine,
                None | Some(FitWord::Medium) => Fit::Medium,
                Some(FitWord::Coarse) => Fit::Coarse,
            };
            (at.key("screw"), &keys.screw, fit)
        }
    };
    let found = clearance_hole(name, fit).map(|(diameter, _)| diameter);
    if found.is_none() {
        at.fault(
            format!("\"{}\" is no screw that is known here", shortened(name)),
            format!("Known are {}; or give the `diameter` of the hole", clearance_screws().join(", ")),
        );
    }
    found
}

fn hole(at: &At<'_>, keys: &Hole, size: ReadSize) -> Option<Feature> {
    let radius = size.diameter / 2.0;
    let position = place(at, keys.at.as_ref(), keys.edges.as_ref(), (radius, radius))?;
    Some(Feature { position, cut: Cut::Hole { diameter: size.diameter } })
}

fn slot(at: &At<'_>, keys: &SlotHole) -> Option<Feature> {
    let size = both(at.key("length").size(&keys.length), at.key("width").size(&keys.width));
    let angle = at.key("angle").angle(keys.angle.unwrap_or(0.0));
    let ((length, width), angle_deg) = both(size, angle)?;
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let straight = (length - width).max(0.0) / 2.0;
    let reach = (straight * cos.abs() + width / 2.0, straight * sin.abs() + width / 2.0);
    let position = place(at, keys.at.as_ref(), keys.edges.as_ref(), reach)?;
    Some(Feature { position, cut: Cut::Slot { length, width, angle_deg } })
}

fn cutout(at: &At<'_>, keys: &Cutout) -> Option<Feature> {
    let size = both(at.key("width").size(&keys.width), at.key("height").size(&keys.height));
    let radius = at.key("corner_radius").optional(keys.corner_radius.as_ref(), At::size);
    let angle = at.key("angle").angle(keys.angle.unwrap_or(0.0));
    let (((width, height), radius), angle_deg) = both(both(size, radius), angle)?;
    // Rounded corners of a turned opening reach less far than sharp ones.
    let round = radius.unwrap_or(0.0).min(width / 2.0).min(height / 2.0);
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let (half_width, half_height) = (width / 2.0 - round, height / 2.0 - round);
    let reach = (
        half_width * cos.abs() + half_height * sin.abs() + round,
        half_width * sin.abs() + half_height * cos.abs() + round,
    );
    let position = place(at, keys.at.as_ref(), keys.edges.as_ref(), reach)?;
    let corner = radius.map_or(Corner::Sharp, Corner::Radius);
    Some(Feature { position, cut: Cut::Cutout { width, height, corner, angle_deg } })
}

/// Where an opening is, by its middle or by its edges; `reach` is how far its edges lie from its middle, across and upright.
fn place(
    at: &At<'_>,
    middle: Option<&Placing>,
    own_edges: Option<&Edges>,
    (across, upright): (f64, f64),
) -> Option<Position> {
    let Some(edges) = own_edges else { return placing(&at.key("at"), middle) };
    if middle.is_some() {
        at.fault("has both `at` and `edges`", "Say where its middle is, or where its edges are");
        return None;
    }
    let position = from_edges(&at.key("edges"), edges)?;
    let x = match position.x {
        FromX::Left(distance) => FromX::Left(distance + across),
        FromX::Right(distance) => FromX::Right(distance + across),
        centred => centred,
    };
    let y = match position.y {
        FromY::Bottom(distance) => FromY::Bottom(distance + upright),
        FromY::Top(distance) => FromY::Top(distance + upright),
        centred => centred,
    };
    Some(Position::new(x, y))
}

fn hole_row(at: &At<'_>, keys: &HoleRow, size: Option<ReadSize>) -> Option<Feature> {
    let diameter = size.map(|size| size.diameter);
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

/// What is done to a hole of this size beyond cutting it, and whether on the side of the viewer: `Some(None)` when
/// nothing is.
fn work(
    at: &At<'_>,
    size: ReadSize,
    countersink: Option<&Countersink>,
    flare: Option<&Flare>,
) -> Option<Option<(HoleWork, bool)>> {
    if countersink.is_none() && flare.is_none() && size.thread.is_none() {
        return Some(None);
    }
    if at.is_in_sheet() {
        at.fault(
            "is countersunk, flared or tapped, but it is a hole in a sheet",
            "Leave that out: the sheet is only cut around it",
        );
        return None;
    }
    match (countersink, flare, size.thread) {
        (Some(_), Some(_), _) => {
            at.fault("is countersunk and flared", "Keep one of the two");
            None
        }
        (Some(_), None, Some(_)) | (None, Some(_), Some(_)) => {
            at.fault("is tapped, and countersunk or flared as well", "Keep one of the two");
            None
        }
        (None, None, Some(thread)) => {
            let TapDrill { major, pitch, .. } = thread;
            Some(Some((HoleWork::Tapped { major, pitch }, true)))
        }
        (Some(keys), None, None) => self::countersink(&at.key("countersink"), size.diameter, keys).map(Some),
        (None, Some(keys), None) => {
            let at = at.key("flare");
            let depth = at.key("depth").optional(keys.depth.as_ref(), At::size);
            let (diameter, depth) = both(at.key("diameter").size(&keys.diameter), depth)?;
            wider(&at.key("diameter"), diameter, size.diameter)?;
            Some(Some((HoleWork::Flared { diameter, depth }, keys.side != Some(DirectionWord::Down))))
        }
        (None, None, None) => Some(None),
    }
}

fn countersink(at: &At<'_>, hole: f64, keys: &Countersink) -> Option<(HoleWork, bool)> {
    let screw = match &keys.screw {
        None => None,
        Some(name) => match countersunk(name) {
            Some(screw) => Some(screw),
            None => {
                let known: Vec<&str> = COUNTERSUNK.iter().map(|row| row.screw).collect();
                at.key("screw").fault(
                    format!("\"{}\" is no countersunk screw that is known here", shortened(name)),
                    format!("Known are {}; or give `diameter` and `angle`", known.join(", ")),
                );
                return None;
            }
        },
    };
    let diameter = match (&keys.diameter, screw) {
        (Some(_), Some(_)) => {
            at.fault("has both `screw` and `diameter`", "Keep the one that is dimensioned");
            return None;
        }
        (Some(length), None) => at.key("diameter").size(length)?,
        (None, Some(screw)) => screw.sharp_diameter,
        (None, None) => {
            at.fault("says nothing of its size", "Give `screw`, or `diameter`");
            return None;
        }
    };
    let angle_deg = keys.angle.or(screw.map(|screw| screw.angle)).unwrap_or(90.0);
    let size_at = if screw.is_some() { at.key("screw") } else { at.key("diameter") };
    wider(&size_at, diameter, hole)?;
    let depth = countersink_depth(diameter, hole, angle_deg)?;
    let screw = screw.map(|screw| screw.major);
    Some((HoleWork::Countersunk { diameter, angle_deg, depth, screw }, keys.side != Some(DirectionWord::Down)))
}

/// Reports a countersink or flare that is no wider than its hole.
fn wider(at: &At<'_>, diameter: f64, hole: f64) -> Option<()> {
    if diameter > hole {
        return Some(());
    }
    let context = at.context;
    at.fault(
        format!("makes it {} wide, no wider than the hole of {}", context.show(diameter), context.show(hole)),
        "Make it wider, or the hole smaller",
    );
    None
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
