//! Random bends.

use proptest::prelude::*;

use crate::bend::{Bend, CORNER_LIMIT, LegDatum};

/// Any sheet, radius and turn, hems and teardrops included.
pub(super) fn any_bend() -> impl Strategy<Value = Bend> {
    bend_turned(1.0..225.0)
}

/// A bend whose outside corner exists.
pub(super) fn cornered_bend() -> impl Strategy<Value = Bend> {
    bend_turned(1.0..CORNER_LIMIT)
}

/// Any sheet and radius, and a turn from this range.
pub(super) fn bend_turned(turns: std::ops::Range<f64>) -> impl Strategy<Value = Bend> {
    // From a twentieth of the thickness up, so that DIN 6935 has a k.
    (0.3..12.0_f64, 0.06..20.0_f64, turns)
        .prop_map(|(thickness, ratio, turn)| Bend::new(thickness, ratio * thickness, turn).expect("sizes of a bend"))
}

/// Any way to tell a leg.
pub(super) fn any_datum() -> impl Strategy<Value = LegDatum> {
    prop_oneof![
        Just(LegDatum::Outside),
        Just(LegDatum::OutsideTangent),
        Just(LegDatum::Inside),
        Just(LegDatum::Straight),
        Just(LegDatum::BendLine),
    ]
}
