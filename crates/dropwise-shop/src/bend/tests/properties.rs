//! What holds for every bend.

use proptest::prelude::*;

use super::generators::{any_bend, any_datum, bend_turned, cornered_bend};
use crate::bend::*;

fn hardness() -> impl Strategy<Value = Hardness> {
    proptest::sample::select(&Hardness::ALL[..])
}

fn method() -> impl Strategy<Value = Method> {
    proptest::sample::select(&Method::ALL[..])
}

proptest! {
    #[test]
    fn allowance_grows_with_angle_radius_thickness_and_k(bend in any_bend(), k in 0.0..0.45, more in 0.01..5.0) {
        let (thickness, radius, turn) = (bend.thickness(), bend.radius(), bend.turn());
        let allowance = bend.allowance(k);
        prop_assert!(Bend::new(thickness, radius, turn + more).unwrap().allowance(k) > allowance);
        prop_assert!(Bend::new(thickness, radius + more, turn).unwrap().allowance(k) > allowance);
        prop_assert!(bend.allowance(k + 0.01) > allowance);
        // With K = 0 the thickness would not count.
        prop_assert!(Bend::new(thickness + more, radius, turn).unwrap().allowance(k + 0.01) > bend.allowance(k + 0.01));
        let empirical = bend.empirical_allowance();
        prop_assert!(Bend::new(thickness, radius, turn + more).unwrap().empirical_allowance() > empirical);
        prop_assert!(Bend::new(thickness, radius + more, turn).unwrap().empirical_allowance() > empirical);
        prop_assert!(Bend::new(thickness + more, radius, turn).unwrap().empirical_allowance() > empirical);
    }

    /// K of the table never falls as the radius grows, so its steps never turn the growth round.
    #[test]
    fn allowance_by_the_table_grows_with_the_radius(bend in any_bend(), more in 0.001..10.0, hardness in hardness(),
                                                    method in method()) {
        let wider = Bend::new(bend.thickness(), bend.radius() + more, bend.turn()).unwrap();
        let allowance = |bend: &Bend| bend.allowance(KFactor::by_ratio(method, hardness, bend).value());
        prop_assert!(allowance(&wider) > allowance(&bend));
    }

    #[test]
    fn k_lies_between_zero_and_half(bend in any_bend(), hardness in hardness(), method in method()) {
        let k = KFactor::by_ratio(method, hardness, &bend);
        prop_assert!((0.0..=0.5).contains(&k.value()) && !k.is_beyond_the_middle());
        let k = din6935::factor(&bend).unwrap() / 2.0;
        prop_assert!((0.0..=0.5).contains(&k), "{k}");
        for grade in Grade::ALL {
            if let Ok(k) = KFactor::by_thickness(method, grade, bend.thickness()) {
                prop_assert!((0.0..=0.5).contains(&k.value()));
            }
        }
    }

    /// The rules for openings up to 90° and beyond it join: two bends a hair apart take all but the same.
    #[test]
    fn deduction_is_continuous_where_the_din_rule_changes(bend in bend_turned(89.0..91.0)) {
        let at = |turn| {
            let bend = Bend::new(bend.thickness(), bend.radius(), turn).unwrap();
            (din6935::compensation(&bend).unwrap(), bend.figures(&Development::Din6935).unwrap())
        };
        let (below, above) = (at(90.0 - 1e-7), at(90.0 + 1e-7));
        let size = bend.radius() + bend.thickness();
        prop_assert!((below.0 - above.0).abs() < 1e-7 * size, "{} and {}", below.0, above.0);
        prop_assert!((below.1.tangent_deduction - above.1.tangent_deduction).abs() < 1e-7 * size);
        prop_assert!((below.1.deduction.unwrap() - above.1.deduction.unwrap()).abs() < 1e-7 * size);
    }

    /// Slowly changing bends take slowly changing lengths, at every turn and by every rule but DIN's leap at 15°.
    #[test]
    fn deduction_is_continuous_in_the_turn(bend in bend_turned(16.0..165.0), k in 0.0..0.5) {
        let next = Bend::new(bend.thickness(), bend.radius(), bend.turn() + 1e-6).unwrap();
        let size = bend.radius() + bend.thickness();
        for rule in [Development::KFactor(KFactor::given(k).unwrap()), Development::Empirical, Development::Din6935] {
            let (first, second) = (bend.figures(&rule).unwrap(), next.figures(&rule).unwrap());
            // The corner runs off at most 1/cos²(82.5°) = 59 times as fast as the angle.
            prop_assert!((first.deduction.unwrap() - second.deduction.unwrap()).abs() < 2.1e-6 * size);
            prop_assert!((first.tangent_deduction - second.tangent_deduction).abs() < 1e-7 * size);
        }
    }

    /// However the legs are told, they come back, and the flat length is the same.
    #[test]
    fn a_leg_told_any_way_comes_back(bend in cornered_bend(), straight in 0.01..500.0, other in 0.01..500.0,
                                     datum in any_datum(), second in any_datum(), k in 0.0..0.5) {
        let figures = bend.figures(&Development::KFactor(KFactor::given(k).unwrap())).unwrap();
        let leg = figures.leg(straight, datum).unwrap();
        let scale = 1e-9 * (leg + straight);
        prop_assert!((figures.straight(leg, datum).unwrap() - straight).abs() < scale);
        let flat = figures.flat_length([(leg, datum), (figures.leg(other, second).unwrap(), second)]).unwrap();
        prop_assert!((flat - (straight + bend.allowance(k) + other)).abs() < 1e-9 * (leg + flat + 1000.0));
        // The same by deduction.
        let legs = figures.leg(straight, LegDatum::Outside).unwrap() + figures.leg(other, LegDatum::Outside).unwrap();
        prop_assert!((flat - (legs - figures.deduction.unwrap())).abs() < 1e-9 * (legs + 1000.0));
    }

    /// A strip made by arithmetic from a known K gives that K.
    #[test]
    fn a_measured_strip_returns_its_k(bend in cornered_bend(), k in 0.0..0.6, first in 5.0..100.0, second in 5.0..100.0,
                                      datum in any_datum()) {
        prop_assume!(datum != LegDatum::BendLine);
        let flat_length = first + bend.allowance(k) + second;
        let rule = Development::KFactor(KFactor::given(0.0).unwrap());
        let figures = bend.figures(&rule).unwrap();
        let strip = TestStrip {
            material: "mild steel".to_owned(),
            thickness: bend.thickness(),
            tool: "made up".to_owned(),
            radius: bend.radius(),
            turn: bend.turn(),
            flat_length,
            legs: [figures.leg(first, datum).unwrap(), figures.leg(second, datum).unwrap()],
            measured: datum,
            note: String::new(),
        };
        let found = strip.k_factor();
        // A turn of 1° in thin sheet takes so little that rounding of the legs counts.
        let tolerance = 1e-12 * (flat_length + strip.legs[0] + strip.legs[1]) * (1.0 / (bend.turn().to_radians() * bend.thickness()));
        match found {
            Ok(found) => prop_assert!((found.value() - k).abs() <= tolerance + 1e-9, "{} for {k}", found.value()),
            Err(error) => prop_assert!(k + tolerance >= 0.6, "{error}"),
        }
    }

    #[test]
    fn no_numbers_panic(thickness in any::<f64>(), radius in any::<f64>(), turn in any::<f64>(), leg in any::<f64>(),
                        datum in any_datum()) {
        if let Ok(bend) = Bend::new(thickness, radius, turn) {
            for rule in [Development::Empirical, Development::Din6935] {
                if let Ok(figures) = bend.figures(&rule) {
                    prop_assert!(figures.allowance.is_finite() && figures.k.is_finite());
                    let _ = figures.straight(leg, datum);
                }
            }
        }
        let strip = TestStrip {
            material: String::new(), thickness, tool: String::new(), radius, turn, flat_length: leg,
            legs: [leg, turn], measured: datum, note: String::new(),
        };
        if let Ok(k) = strip.k_factor() {
            prop_assert!((0.0..=LARGEST_MEASURED_K).contains(&k.value()));
        }
    }
}
