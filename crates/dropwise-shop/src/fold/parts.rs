//! Parts that shops bend every day, in one call each. All sizes are outside sizes, mm; every bend is square.
//!
//! Each gives a [`BentPart`] like any other, to be changed further: reliefs, joins, holes in any face.

use crate::pattern::{Base, Corner, Pattern};

use super::part::{BentPart, Edge, EndCut, Flange, Join};

/// A rectangular base, not bent yet.
fn plate(length: f64, width: f64, thickness: f64, inside_radius: f64) -> BentPart {
    BentPart::new(thickness, inside_radius, Pattern::plain(Base::rectangle(length, width, Corner::Sharp)))
}

/// An angle: a leg of `first` that lies flat and one of `second` that stands up ("leg") along its back, `length` long.
#[must_use]
pub fn angle_bracket(length: f64, first: f64, second: f64, thickness: f64, inside_radius: f64) -> BentPart {
    plate(length, first, thickness, inside_radius).with(Flange::new("leg", Edge::Top, second))
}

/// A channel, `web` wide outside, with two flanges up ("front" and "back").
#[must_use]
pub fn channel(length: f64, web: f64, flange: f64, thickness: f64, inside_radius: f64) -> BentPart {
    plate(length, web, thickness, inside_radius).with(Flange::new("front", Edge::Bottom, flange)).with(Flange::new(
        "back",
        Edge::Top,
        flange,
    ))
}

/// A Z: a web with one flange up ("front") and one down ("back").
#[must_use]
pub fn z_section(length: f64, web: f64, flange: f64, thickness: f64, inside_radius: f64) -> BentPart {
    plate(length, web, thickness, inside_radius)
        .with(Flange::new("front", Edge::Bottom, flange))
        .with(Flange::new("back", Edge::Top, flange).down())
}

/// A hat: a crown, two webs down from it ("front web" and "back web"), and a brim out from each ("front brim" and
/// "back brim"). `height` is over all, `brim` from the outside of the web.
#[must_use]
pub fn hat_section(length: f64, crown: f64, height: f64, brim: f64, thickness: f64, inside_radius: f64) -> BentPart {
    let web = |side: &str, edge: Edge| {
        Flange::new(&format!("{side} web"), edge, height).down().with(Flange::new(
            &format!("{side} brim"),
            Edge::Top,
            brim,
        ))
    };
    plate(length, crown, thickness, inside_radius).with(web("front", Edge::Bottom)).with(web("back", Edge::Top))
}

/// A tray with four walls up ("front", "right", "back", "left"), open at its corners.
#[must_use]
pub fn tray(length: f64, width: f64, height: f64, thickness: f64, inside_radius: f64) -> BentPart {
    let walls = [("front", Edge::Bottom), ("right", Edge::Right), ("back", Edge::Top), ("left", Edge::Left)];
    let part = plate(length, width, thickness, inside_radius);
    walls.into_iter().fold(part, |part, (name, edge)| part.with(Flange::new(name, edge, height)))
}

/// A box: a tray whose walls end in returns turned in ("front return" and so on), mitred at the corners.
#[must_use]
pub fn lipped_box(length: f64, width: f64, height: f64, lip: f64, thickness: f64, inside_radius: f64) -> BentPart {
    let mut part = tray(length, width, height, thickness, inside_radius);
    for wall in &mut part.flanges {
        // Where the lip begins, its distance from the corner of the box is that from the neighbouring wall's outside.
        let lip = Flange::new(&format!("{} return", wall.name), Edge::Top, lip).slanted(45.0);
        wall.flanges.push(lip);
    }
    part
}

/// A corner bracket: a base, a back that stands up ("back"), and a triangular gusset up on either side of the base
/// ("left gusset" and "right gusset"), as high as the back, `crest` long
/// at the top next to it and sloping down towards the front.
#[must_use]
pub fn gusseted_corner(
    length: f64,
    depth: f64,
    height: f64,
    crest: f64,
    thickness: f64,
    inside_radius: f64,
) -> BentPart {
    let slope = EndCut { set_back: 0.0, slant_deg: ((depth - crest) / height).atan().to_degrees() };
    let gusset = |name: &str, edge: Edge, ends: [Option<EndCut>; 2]| Flange { ends, ..Flange::new(name, edge, height) };
    plate(length, depth, thickness, inside_radius)
        .with(gusset("right gusset", Edge::Right, [Some(slope), None]))
        .with(Flange::new("back", Edge::Top, height))
        .with(gusset("left gusset", Edge::Left, [None, Some(slope)]))
        .with_join(Join::Butted { gap: 0.0 })
}

/// A small machine table of one sheet: a top, four legs down from its long edges with feet turned in, and aprons down
/// from all edges in between.
///
/// The legs are named "front left leg" and so on, their feet "front left foot", the aprons "front apron" and so on.
#[must_use]
pub fn machine_table(
    (length, width, height): (f64, f64, f64),
    leg_width: f64,
    apron: f64,
    foot: f64,
    thickness: f64,
    inside_radius: f64,
) -> BentPart {
    let mut part = plate(length, width, thickness, inside_radius).with_join(Join::Butted { gap: thickness / 4.0 });
    // Between a leg and the apron each end takes a relief as wide as the sheet is thick.
    let inner = (leg_width + 3.0 * thickness, length - leg_width - 3.0 * thickness);
    let outer = length - leg_width;
    for (side, edge, first, second) in [("front", Edge::Bottom, "left", "right"), ("back", Edge::Top, "right", "left")]
    {
        let leg = |end: &str, from: f64, to: f64| {
            Flange::new(&format!("{side} {end} leg"), edge, height)
                .from_to(from, to)
                .down()
                .with(Flange::new(&format!("{side} {end} foot"), Edge::Top, foot).down())
        };
        part.flanges.push(leg(first, 0.0, leg_width));
        part.flanges.push(Flange::new(&format!("{side} apron"), edge, apron).from_to(inner.0, inner.1).down());
        part.flanges.push(leg(second, outer, length));
    }
    for (side, edge) in [("right", Edge::Right), ("left", Edge::Left)] {
        part.flanges.push(Flange::new(&format!("{side} apron"), edge, apron).down());
    }
    part
}
