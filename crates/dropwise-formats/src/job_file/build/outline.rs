//! Forms by dimensions as patterns.

use dropwise_geometry::{Fault, Isometry, Outline, Point, Shape};
use dropwise_shop::pattern::{Base, Corner, Cut, FlatPattern, Pattern, PolygonCorner, RoundHole, Tip};

use super::context::At;
use super::openings::PlacedFeature;
use super::pattern_faults::report;
use crate::job_file::types::{self, Length, Notch, NotchPlace, OutlineKeys};

/// The forms written down, by their keys.
pub(super) fn forms_given(keys: &OutlineKeys) -> Vec<&'static str> {
    let OutlineKeys { rectangle, polygon, circle, ring, slot, l_shape, gusset, notched, drawing } = keys;
    [
        ("rectangle", rectangle.is_some()),
        ("polygon", polygon.is_some()),
        ("circle", circle.is_some()),
        ("ring", ring.is_some()),
        ("slot", slot.is_some()),
        ("l_shape", l_shape.is_some()),
        ("gusset", gusset.is_some()),
        ("notched", notched.is_some()),
        ("drawing", drawing.is_some()),
    ]
    .into_iter()
    .filter_map(|(key, is_given)| is_given.then_some(key))
    .collect()
}

/// Reports unless exactly one form is given.
pub(super) fn check_one_form(at: &At<'_>, given: &[&str], what: &str, known: &str) -> bool {
    match given {
        [_] => true,
        [] => {
            at.fault(format!("says nothing of the form of the {what}"), format!("Give one of {known}"));
            false
        }
        [first, others @ ..] => {
            let others: Vec<String> = others.iter().map(|key| format!("`{key}`")).collect();
            at.fault(
                format!("has more than one form: `{first}` and {}", others.join(" and ")),
                format!("Keep one; make two {what}s if both are meant"),
            );
            false
        }
    }
}

/// The base of a pattern, for any form but a drawing. `None` when something in it is wrong (and was reported).
pub(super) fn base(at: &At<'_>, keys: &OutlineKeys) -> Option<(Base, &'static str)> {
    if let Some(keys) = &keys.rectangle {
        let at = at.key("rectangle");
        let (width, height) = both(at.key("width").size(&keys.width), at.key("height").size(&keys.height))?;
        let corner = corner(&at, keys.corner_radius.as_ref(), "corner_radius", keys.chamfer.as_ref())?;
        return Some((Base::rectangle(width, height, corner.unwrap_or_default()), "rectangle"));
    }
    if let Some(keys) = &keys.polygon {
        let at = at.key("polygon");
        let everywhere = at.key("corner_radius").optional(keys.corner_radius.as_ref(), At::size);
        let corners = corners(&at.key("points"), &keys.points);
        let everywhere = everywhere?.map_or(Corner::Sharp, Corner::Radius);
        let corners = corners?
            .into_iter()
            .map(|(point, corner)| PolygonCorner { point, corner: corner.unwrap_or(everywhere) })
            .collect();
        return Some((Base::Polygon { corners }, "polygon"));
    }
    if let Some(keys) = &keys.circle {
        let diameter = at.key("circle").key("diameter").size(&keys.diameter)?;
        return Some((Base::Circle { diameter }, "circle"));
    }
    if let Some(keys) = &keys.ring {
        let at = at.key("ring");
        let (outer_diameter, inner_diameter) = both(
            at.key("outer_diameter").size(&keys.outer_diameter),
            at.key("inner_diameter").size(&keys.inner_diameter),
        )?;
        return Some((Base::Ring { outer_diameter, inner_diameter }, "ring"));
    }
    if let Some(keys) = &keys.slot {
        let at = at.key("slot");
        let (length, width) = both(at.key("length").size(&keys.length), at.key("width").size(&keys.width))?;
        return Some((Base::Slot { length, width }, "slot"));
    }
    if let Some(keys) = &keys.l_shape {
        let at = at.key("l_shape");
        let along_x = both(at.key("length_x").size(&keys.length_x), at.key("width_x").size(&keys.width_x));
        let length_y = at.key("length_y").size(&keys.length_y);
        let width_y = at.key("width_y").optional(keys.width_y.as_ref(), At::size);
        let inside_radius = at.key("inside_radius").optional(keys.inside_radius.as_ref(), At::size)?;
        let (length_x, width_x) = along_x?;
        let (length_y, width_y) = both(length_y, width_y)?;
        let width_y = width_y.unwrap_or(width_x);
        return Some((Base::L { length_x, width_x, length_y, width_y, inside_radius }, "l_shape"));
    }
    if let Some(keys) = &keys.gusset {
        let at = at.key("gusset");
        let legs = both(at.key("leg_x").size(&keys.leg_x), at.key("leg_y").size(&keys.leg_y));
        let nose = at.key("nose").optional(keys.nose.as_ref(), At::size);
        let inside = at.key("inside_chamfer").optional(keys.inside_chamfer.as_ref(), At::size)?;
        let (leg_x, leg_y) = legs?;
        let tip = nose?.map_or(Tip::Sharp, Tip::NoseFlat);
        let inside_corner = inside.map_or(Corner::Sharp, Corner::Chamfer);
        return Some((Base::Gusset { leg_x, leg_y, tip_x: tip, tip_y: tip, inside_corner }, "gusset"));
    }
    let keys = keys.notched.as_ref()?;
    notched(&at.key("notched"), keys).map(|base| (base, "notched"))
}

/// Both of two values, each reported for itself where it was read.
pub(super) fn both<A, B>(a: Option<A>, b: Option<B>) -> Option<(A, B)> {
    Some((a?, b?))
}

/// How a corner is made: `Some(None)` when nothing is said.
pub(super) fn corner(
    at: &At<'_>,
    radius: Option<&Length>,
    radius_key: &str,
    chamfer: Option<&Length>,
) -> Option<Option<Corner>> {
    if radius.is_some() && chamfer.is_some() {
        at.fault(format!("has both `{radius_key}` and `chamfer`"), "A corner is either rounded or cut off: keep one");
        return None;
    }
    // A radius of zero is how a sharp corner is told apart from the polygon's own radius.
    let radius = at.key(radius_key).optional(radius, At::distance)?;
    let chamfer = at.key("chamfer").optional(chamfer, At::distance)?;
    let made = |make: fn(f64) -> Corner| move |size: f64| if size > 0.0 { make(size) } else { Corner::Sharp };
    Some(radius.map(made(Corner::Radius)).or(chamfer.map(made(Corner::Chamfer))))
}

/// A pair of lengths.
pub(super) fn pair(at: &At<'_>, lengths: &[Length]) -> Option<(f64, f64)> {
    // The structure check has seen to it that there are two.
    let [x, y] = lengths else { return None };
    both(at.index(0).length(x), at.index(1).length(y))
}

/// The corners of a polygon, with their own making where they have one.
pub(super) fn corners(at: &At<'_>, points: &[types::Corner]) -> Option<Vec<(Point, Option<Corner>)>> {
    let read: Vec<Option<(Point, Option<Corner>)>> = points
        .iter()
        .enumerate()
        .map(|(index, point)| {
            let at = at.index(index);
            match point {
                types::Corner::Pair(lengths) => pair(&at, lengths).map(|(x, y)| (Point::new(x, y), None)),
                types::Corner::Made(keys) => {
                    let point = both(at.key("x").length(&keys.x), at.key("y").length(&keys.y));
                    let made = corner(&at, keys.radius.as_ref(), "radius", keys.chamfer.as_ref());
                    both(point, made).map(|((x, y), made)| (Point::new(x, y), made))
                }
            }
        })
        .collect();
    read.into_iter().collect()
}

/// A rectangle less its bites: bites are walked in the order in which they lie around it.
fn notched(at: &At<'_>, keys: &types::Notched) -> Option<Base> {
    let size = both(at.key("width").size(&keys.width), at.key("height").size(&keys.height));
    let notches = at.key("notches");
    let bites: Vec<Option<Bite>> =
        keys.notches.iter().enumerate().map(|(index, notch)| bite(&notches.index(index), notch, size)).collect();
    let (width, height) = size?;
    let mut bites: Vec<Bite> = bites.into_iter().collect::<Option<_>>()?;
    bites.sort_by(|a, b| a.order(width, height).total_cmp(&b.order(width, height)));
    let mut corners: Vec<PolygonCorner> = Vec::new();
    let lower_left_bite = bites.iter().position(|bite| bite.place == NotchPlace::BottomLeft);
    // Each corner of the rectangle stands unless a bite takes it.
    let mut plain = vec![
        (0.0, NotchPlace::BottomLeft, (0.0, 0.0)),
        (width, NotchPlace::BottomRight, (width, 0.0)),
        (width + height, NotchPlace::TopRight, (width, height)),
        (2.0 * width + height, NotchPlace::TopLeft, (0.0, height)),
    ];
    plain.retain(|(_, place, _)| bites.iter().all(|bite| bite.place != *place));
    let mut steps: Vec<_> = plain.into_iter().map(|(order, _, (x, y))| (order, vec![(x, y, Corner::Sharp)])).collect();
    steps.extend(bites.iter().map(|bite| (bite.order(width, height), bite.corners(width, height))));
    steps.sort_by(|a, b| a.0.total_cmp(&b.0));
    debug_assert!(lower_left_bite.is_none_or(|index| index == 0));
    for (x, y, corner) in steps.into_iter().flat_map(|(_, points)| points) {
        let corner = PolygonCorner::new(x, y, corner);
        if corners.last() != Some(&corner) {
            corners.push(corner);
        }
    }
    if corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    Some(Base::Polygon { corners })
}

/// A bite with its sizes read.
struct Bite {
    place: NotchPlace,
    width: f64,
    height: f64,
    start: f64,
    inside: Corner,
}

fn bite(at: &At<'_>, notch: &Notch, size: Option<(f64, f64)>) -> Option<Bite> {
    use NotchPlace::{Bottom, BottomLeft, BottomRight, Left, Right, Top, TopLeft, TopRight};
    let (width, height) = both(at.key("width").size(&notch.width), at.key("height").size(&notch.height))?;
    let start = at.key("start").optional(notch.start.as_ref(), At::size)?;
    let is_at_corner = matches!(notch.at, BottomLeft | BottomRight | TopRight | TopLeft);
    let start = match (is_at_corner, start) {
        (true, Some(_)) => {
            at.key("start").fault("stands beside a corner", "Leave it out, or name an edge instead of a corner");
            return None;
        }
        (true, None) => 0.0,
        (false, None) => {
            at.fault("lacks `start`", "Say how far along its edge the bite starts, or name a corner");
            return None;
        }
        (false, Some(start)) => start,
    };
    let (whole_width, whole_height) = size?;
    let (along_x, along_y) = match notch.at {
        Bottom | Top => (start + width, height),
        Left | Right => (width, start + height),
        _ => (width, height),
    };
    if along_x >= whole_width || along_y >= whole_height {
        let context = at.context;
        at.fault(
            format!(
                "reaches {} x {} into a rectangle of {} x {}",
                context.show(along_x),
                context.show(along_y),
                context.show(whole_width),
                context.show(whole_height)
            ),
            "A bite must leave some of each side; make it smaller, or the rectangle",
        );
        return None;
    }
    let radius = at.key("inside_radius").optional(notch.inside_radius.as_ref(), At::distance)?.unwrap_or(0.0);
    // Two corners share an edge bite's bottom.
    let room = match notch.at {
        Bottom | Top => height.min(width / 2.0),
        Left | Right => width.min(height / 2.0),
        _ => width.min(height),
    };
    if radius > room {
        let context = at.context;
        at.key("inside_radius").fault(
            format!("is {}, and the bite has room for {} at most", context.show(radius), context.show(room)),
            "Make it smaller, or the bite larger",
        );
        return None;
    }
    let inside = if radius > 0.0 { Corner::Radius(radius) } else { Corner::Sharp };
    Some(Bite { place: notch.at, width, height, start, inside })
}

impl Bite {
    /// How far around the rectangle it lies, counter-clockwise from the lower left corner.
    fn order(&self, width: f64, height: f64) -> f64 {
        use NotchPlace::{Bottom, BottomLeft, BottomRight, Left, Right, Top, TopLeft, TopRight};
        match self.place {
            BottomLeft => 0.0,
            Bottom => self.start,
            BottomRight => width,
            Right => width + self.start,
            TopRight => width + height,
            Top => 2.0 * width + height - self.start - self.width,
            TopLeft => 2.0 * width + height,
            Left => 2.0 * (width + height) - self.start - self.height,
        }
    }

    /// The same, of which those that do not lie on the rectangle are inside corners.
    fn corners(&self, width: f64, height: f64) -> Vec<(f64, f64, Corner)> {
        let points = self.points(width, height);
        let last = points.len() - 1;
        let made = |(index, (x, y)): (usize, (f64, f64))| {
            (x, y, if index == 0 || index == last { Corner::Sharp } else { self.inside })
        };
        points.into_iter().enumerate().map(made).collect()
    }

    /// The corners that it makes, counter-clockwise around the rectangle.
    fn points(&self, width: f64, height: f64) -> Vec<(f64, f64)> {
        use NotchPlace::{Bottom, BottomLeft, BottomRight, Left, Right, Top, TopLeft, TopRight};
        let (w, h, start) = (self.width, self.height, self.start);
        match self.place {
            BottomLeft => vec![(0.0, h), (w, h), (w, 0.0)],
            Bottom => vec![(start, 0.0), (start, h), (start + w, h), (start + w, 0.0)],
            BottomRight => vec![(width - w, 0.0), (width - w, h), (width, h)],
            Right => vec![(width, start), (width - w, start), (width - w, start + h), (width, start + h)],
            TopRight => vec![(width, height - h), (width - w, height - h), (width - w, height)],
            Top => vec![(start + w, height), (start + w, height - h), (start, height - h), (start, height)],
            TopLeft => vec![(w, height), (w, height - h), (0.0, height - h)],
            Left => vec![(0.0, start + h), (w, start + h), (w, start), (0.0, start)],
        }
    }
}

/// The flat shape of a base with its features; faults are reported where each feature was written.
pub(super) fn flat(at: &At<'_>, base: Base, form_key: &str, features: Vec<PlacedFeature<'_>>) -> Option<FlatPattern> {
    let (features, places): (Vec<_>, Vec<_>) = features.into_iter().map(|placed| (placed.feature, placed.at)).unzip();
    let pattern = Pattern { base, features };
    match pattern.build() {
        Ok(flat) => Some(flat),
        Err(errors) => {
            errors.into_iter().for_each(|error| report(at, form_key, &pattern, &places, error));
            None
        }
    }
}

/// Openings cut out of a shape that came from elsewhere, a drawing or a tape: the box around it takes the place of the
/// part's.
pub(super) fn add_openings(
    at: &At<'_>,
    shape: &Shape,
    features: Vec<PlacedFeature<'_>>,
) -> Option<(Shape, Vec<RoundHole>)> {
    if features.is_empty() {
        return Some((shape.clone(), Vec::new()));
    }
    let bounds = shape.bounds();
    // The features are made on a plate as large as the box, then moved to where the shape lies.
    let plate = Base::rectangle(bounds.width(), bounds.height(), Corner::Sharp);
    // Which feature each ring comes from, in the order in which a pattern lists them.
    let owners: Vec<At<'_>> = features
        .iter()
        .flat_map(|placed| {
            let count = match placed.feature.cut {
                Cut::HoleRow { count, .. } | Cut::BoltCircle { count, .. } => count as usize,
                _ => 1,
            };
            std::iter::repeat_n(placed.at.clone(), count)
        })
        .collect();
    let flat = flat(at, plate, "", features)?;
    let shift = Isometry::translation(bounds.min.x, bounds.min.y);
    let moved = flat.shape.transformed(shift);
    let rings: Vec<Outline> = shape.holes().iter().chain(moved.holes()).cloned().collect();
    let whole = Shape::new(shape.exterior().clone(), rings);
    let faults = whole.faults();
    let mut reported = Vec::new();
    for fault in &faults {
        // Ring 0 is the exterior, then come the holes of the shape itself.
        let ring = match *fault {
            Fault::RingsCross { ring, other_ring, .. } | Fault::RepeatedSide { ring, other_ring, .. } => {
                ring.max(other_ring)
            }
            Fault::NestedHoles { inner, outer, .. } => inner.max(outer),
            Fault::HoleOutside { ring, .. } => ring,
            _ => 0,
        };
        let owner = ring.checked_sub(1 + shape.holes().len()).and_then(|index| owners.get(index)).unwrap_or(at);
        // A hole that crosses an edge does so twice.
        if !reported.contains(&owner.tail()) {
            reported.push(owner.tail());
            owner.fault("does not lie wholly on the metal", "Move it, or make it smaller");
        }
    }
    if !faults.is_empty() {
        return None;
    }
    let holes = flat.holes.into_iter().map(|hole| RoundHole { center: shift.apply(hole.center), ..hole }).collect();
    Some((whole, holes))
}
