//! Random bent parts, and their mirror images.

use proptest::prelude::*;

use crate::bend::LegDatum;
use crate::fold::{
    BaseFace, BentPart, Direction, Edge, EndCut, Extent, Flange, Join, Notch, NotchForm, Relief, ReliefSize, Turn,
};
use crate::pattern::{Base, Corner, Pattern};

/// Length and width of every random base.
pub(in crate::fold) const BASE: (f64, f64) = (260.0, 180.0);

fn datum() -> impl Strategy<Value = LegDatum> {
    prop_oneof![
        Just(LegDatum::Outside),
        Just(LegDatum::OutsideTangent),
        Just(LegDatum::Inside),
        Just(LegDatum::Straight),
        Just(LegDatum::BendLine),
    ]
}

fn turn() -> impl Strategy<Value = Turn> {
    prop_oneof![
        4 => Just(Turn::Angle(90.0)),
        4 => (5.0..150.0).prop_map(Turn::Angle),
        1 => Just(Turn::ClosedHem),
        1 => (1.0..4.0).prop_map(|gap| Turn::OpenHem { gap }),
        1 => (1.0..3.0).prop_map(|radius| Turn::TeardropHem { radius }),
    ]
}

fn extent(least: f64, most: f64) -> impl Strategy<Value = Extent> {
    let room = most - least;
    prop_oneof![
        2 => Just(Extent::Full),
        1 => (0.15..0.4, 0.6..0.85).prop_map(move |(a, b)| Extent::FromTo(least + a * room, least + b * room)),
        1 => (0.3..0.7).prop_map(move |share| Extent::Middle(share * room)),
    ]
}

fn relief() -> impl Strategy<Value = Relief> {
    prop_oneof![
        Just(Relief::None),
        Just(Relief::RECTANGULAR),
        Just(Relief::ROUND),
        Just(Relief::HOLE),
        Just(Relief::Rectangular(ReliefSize::Hand { width: 3.0, depth: 1.5 })),
    ]
}

fn join() -> impl Strategy<Value = Join> {
    prop_oneof![Just(Join::Open), (0.0..1.0).prop_map(|gap| Join::Butted { gap }),]
}

fn plain(name: String, edge: Edge, extent: Extent) -> BoxedStrategy<Flange> {
    let sizes = (22.0..40.0, any::<bool>(), prop::option::of(0.5..4.0));
    (sizes, turn(), datum(), datum(), relief(), any::<bool>())
        .prop_map(move |((height, is_down, radius), turn, own, parent, relief, is_slanted)| {
            // Near a half turn there is no corner to measure to.
            let is_hem = !matches!(turn, Turn::Angle(_));
            let told = |datum| match datum {
                LegDatum::Outside | LegDatum::Inside if is_hem => LegDatum::OutsideTangent,
                datum => datum,
            };
            // Past a right angle the corner runs off: those are told as they are measured, over the outside.
            let is_sharp = matches!(turn, Turn::Angle(angle) if angle > 120.0);
            let told = |datum| if is_sharp { LegDatum::OutsideTangent } else { told(datum) };
            let cut = is_slanted.then_some(EndCut { set_back: 1.0, slant_deg: 5.0 });
            Flange {
                extent,
                turn,
                direction: if is_down { Direction::Down } else { Direction::Up },
                inside_radius: radius,
                datum: told(own),
                edge_datum: told(parent),
                relief: Some(relief),
                ends: [None, cut],
                ..Flange::new(&name, edge, height)
            }
        })
        .boxed()
}

/// A flange with another on its free edge, now and then, and one on that.
fn tree(name: &'static str, edge: Edge, length: f64) -> BoxedStrategy<Flange> {
    let first = extent(0.0, length).prop_flat_map(move |extent| plain(name.to_owned(), edge, extent));
    let second = plain(format!("{name} second"), Edge::Top, Extent::Full);
    let third = plain(format!("{name} third"), Edge::Top, Extent::Middle(10.0));
    (first, prop::option::of(second), prop::option::of(third))
        .prop_map(|(first, second, third)| match second {
            Some(second) => first.with(third.into_iter().fold(second, Flange::with)),
            None => first,
        })
        .boxed()
}

/// A part on a rectangular base of [`BASE`].
pub(in crate::fold) fn part() -> BoxedStrategy<BentPart> {
    let sides = (
        prop::option::of(tree("front", Edge::Bottom, BASE.0)),
        prop::option::of(tree("right", Edge::Right, BASE.1)),
        prop::option::of(tree("back", Edge::Top, BASE.0)),
        tree("left", Edge::Left, BASE.1),
    );
    (sides, 0.5..3.0, 0.5..4.0, join(), relief())
        .prop_map(|(sides, thickness, radius, join, corner_relief)| {
            let base = Pattern::plain(Base::rectangle(BASE.0, BASE.1, Corner::Sharp));
            let mut part = BentPart::new(thickness, radius, base).with_join(join);
            part.corner_relief = corner_relief;
            part.flanges.extend([sides.0, sides.1, sides.2].into_iter().flatten());
            part.flanges.push(sides.3);
            if !part.flanges.iter().any(|flange| flange.edge == Edge::Right) {
                let form = NotchForm::Vee { width: 12.0, depth: 9.0 };
                part.notches.push(Notch { edge: Edge::Right, at: 70.0, form });
            }
            part
        })
        .boxed()
}

/// The part seen from its other end: left and right change places.
pub(in crate::fold) fn mirrored(part: &BentPart) -> BentPart {
    let mut mirror = part.clone();
    let BaseFace::Pattern(_) = mirror.base else { panic!("random parts have patterns") };
    mirror.join = match mirror.join {
        Join::Overlapped { by_second, gap } => Join::Overlapped { by_second: !by_second, gap },
        join => join,
    };
    let length = |edge: Edge| if matches!(edge, Edge::Bottom | Edge::Top) { BASE.0 } else { BASE.1 };
    for flange in &mut mirror.flanges {
        let along = length(flange.edge);
        mirror_flange(flange, along);
    }
    for notch in &mut mirror.notches {
        notch.at = length(notch.edge) - notch.at;
        notch.edge = mirror_edge(notch.edge);
    }
    mirror
}

fn mirror_edge(edge: Edge) -> Edge {
    match edge {
        Edge::Left => Edge::Right,
        Edge::Right => Edge::Left,
        edge => edge,
    }
}

fn mirror_flange(flange: &mut Flange, along: f64) {
    flange.edge = mirror_edge(flange.edge);
    if let Extent::FromTo(from, to) = flange.extent {
        flange.extent = Extent::FromTo(along - to, along - from);
    }
    flange.ends.reverse();
    flange.free_corners.reverse();
    // Random flanges of flanges are whole or in the middle, so their lengths do not matter.
    flange.flanges.iter_mut().for_each(|flange| mirror_flange(flange, 0.0));
}
