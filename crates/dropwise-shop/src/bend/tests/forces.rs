//! Forces as published.

use proptest::prelude::*;

use super::{INCH, assert_near};
use crate::bend::*;

/// Formula page for press brakes: T 4, L 3 m, V 32 gives 975 kN, printed 99.5 t (99.42 by arithmetic).
#[test]
fn worked_example_metric() {
    let force = ForceRule::MildSteel450.air_bend(450.0, 4.0, 32.0);
    assert_near(force.kilonewtons(3000.0), 975.0, 1e-9, "kN");
    assert_near(force.tonnes(3000.0), 99.42, 0.005, "t by arithmetic");
    assert_near(force.tonnes(3000.0), 99.5, 0.1, "t as printed");
}

/// Bend force: 1.33 × 3 × 50 × 1.5² / 12 = 37.406, in whatever units: UTS 50, L 3, T 1.5, V 12 here as MPa, m, mm, mm.
#[test]
fn worked_example_general() {
    assert_near(ForceRule::General.air_bend(50.0, 1.5, 12.0).kilonewtons(3000.0), 37.406, 0.0005, "force");
}

/// 575 T²/V tons a foot (from memory), and what one ton a foot is.
#[test]
fn imperial_rule_in_its_own_units() {
    assert_near(TONS_PER_FOOT, 29.19, 0.005, "kN/m");
    assert_near(KSI, 6.895, 0.0005, "MPa");
    for (thickness, opening) in [(0.060, 0.5), (0.250, 2.0), (1.0, 8.0)] {
        let force = ForceRule::Imperial.air_bend(60.0 * KSI, thickness * INCH, opening * INCH);
        assert_near(force.tons_per_foot(), 575.0 * thickness * thickness / opening, 1e-9, "tons a foot");
        assert_near(force.kilonewtons(12.0 * INCH) / SHORT_TON, force.tons_per_foot(), 1e-9, "a foot");
    }
}

/// Derived: 575 imperial is 661 T²/V kN/m, 1.42 × 450 is 639, the metric rule 650: for "mild steel" they agree within
/// 4 %. By tensile strength the constants run from 1.33 to 1.60.
#[test]
fn rules_agree_for_mild_steel_and_spread_by_strength() {
    let imperial = ForceRule::Imperial.air_bend(60.0 * KSI, 1.0, 1.0).kilonewtons_per_metre();
    assert_near(imperial, 661.0, 0.5, "imperial");
    let metric = ForceRule::Metric.air_bend(450.0, 1.0, 1.0).kilonewtons_per_metre();
    assert_near(metric, 639.0, 0.5, "metric");
    let mild = ForceRule::MildSteel450.air_bend(450.0, 1.0, 1.0).kilonewtons_per_metre();
    for rule in [imperial, metric] {
        assert!((rule / mild - 1.0).abs() < 0.04);
    }
    let constants = ForceRule::ALL.map(|rule| (rule.constant() * 100.0).round() / 100.0);
    assert_eq!(constants, [1.60, 1.44, 1.42, 1.33]);
}

/// Air bending force chart, mild steel 450 MPa: thickness, then openings with kN/m. The columns were recovered from the
/// shape of the rows, so each value is checked as a band, 0.95 to 1.12 of 1.42 × 450 T²/V.
const METRIC_CHART: [(f64, &[(f64, f64)]); 11] = [
    (1.0, &[(6.0, 110.0), (8.0, 80.0), (10.0, 70.0)]),
    (1.2, &[(8.0, 120.0), (10.0, 100.0), (12.0, 80.0)]),
    (1.5, &[(10.0, 150.0), (12.0, 130.0), (16.0, 90.0)]),
    (2.0, &[(12.0, 220.0), (16.0, 170.0), (20.0, 130.0), (25.0, 110.0)]),
    (3.0, &[(18.0, 340.0), (20.0, 300.0), (25.0, 240.0), (32.0, 190.0), (40.0, 150.0)]),
    (4.0, &[(25.0, 430.0), (32.0, 340.0), (40.0, 270.0), (50.0, 210.0)]),
    (5.0, &[(32.0, 520.0), (40.0, 420.0), (50.0, 330.0), (63.0, 260.0)]),
    (6.0, &[(32.0, 750.0), (40.0, 600.0), (50.0, 480.0), (63.0, 380.0), (80.0, 300.0)]),
    (8.0, &[(50.0, 850.0), (63.0, 680.0), (80.0, 530.0), (100.0, 430.0)]),
    (10.0, &[(80.0, 850.0), (100.0, 670.0), (125.0, 530.0), (160.0, 420.0)]),
    (12.0, &[(100.0, 960.0), (125.0, 780.0), (160.0, 600.0)]),
];

#[test]
fn metric_chart() {
    let mut checked = 0;
    for (thickness, row) in METRIC_CHART {
        for &(opening, wanted) in row {
            let grade = Grade::LowCarbonSteel;
            let found = ForceRule::Metric.force(grade, Forming::AirBend, thickness, opening).kilonewtons_per_metre();
            let share = wanted / found;
            assert!((0.95..=1.12).contains(&share), "{thickness} in {opening}: {wanted} for {found}, {share}");
            // The rule to check a machine with never falls below the chart by more than the chart's own rounding.
            let highest = ForceRule::Imperial.air_bend(450.0, thickness, opening).kilonewtons_per_metre();
            assert!(highest >= wanted - 5.0, "{thickness} in {opening}: {wanted} for {highest}");
            checked += 1;
        }
    }
    assert_eq!(checked, 42);
}

/// The same chart for stainless of 700 MPa, with the same band.
#[test]
fn metric_chart_of_stainless() {
    for (thickness, opening, wanted) in [
        (1.0, 6.0, 170.0),
        (1.0, 8.0, 120.0),
        (2.0, 12.0, 330.0),
        (2.0, 16.0, 260.0),
        (3.0, 20.0, 450.0),
        (3.0, 25.0, 360.0),
        (5.0, 40.0, 630.0),
        (5.0, 50.0, 500.0),
        (6.0, 50.0, 720.0),
        (10.0, 80.0, 1280.0),
        (10.0, 100.0, 1010.0),
    ] {
        let grade = Grade::Stainless304Annealed;
        let found = ForceRule::Metric.force(grade, Forming::AirBend, thickness, opening).kilonewtons_per_metre();
        let share = wanted / found;
        assert!((0.95..=1.12).contains(&share), "{thickness} in {opening}: {wanted} for {found}, {share}");
    }
    // About 1.5 to 1.55 of mild steel, as the chart has it; 700/450 = 1.556.
    let ratio = tensile_strength(Grade::Stainless304Annealed).value / tensile_strength(Grade::LowCarbonSteel).value;
    assert_near(ratio, 1.55, 0.006, "ratio");
}

/// Forming chart, mild steel of 60 ksi: thickness, opening, tons a foot, and its share of 575 T²/V (derived).
#[test]
fn imperial_chart() {
    for (thickness, opening, wanted, share) in [
        (0.060, 0.5, 3.7, 0.89),
        (0.105, 0.875, 6.2, 0.86),
        (0.120, 1.0, 7.0, 0.85),
        (0.135, 1.125, 7.6, 0.82),
        (0.150, 1.25, 8.8, 0.85),
        (0.250, 2.0, 15.0, 0.83),
        (0.312, 2.5, 19.3, 0.86),
        (0.375, 3.0, 23.8, 0.88),
        (0.500, 4.0, 33.2, 0.92),
        (0.625, 5.0, 42.8, 0.95),
        (0.750, 6.0, 53.0, 0.98),
        (0.875, 7.0, 63.9, 1.02),
        (1.000, 8.0, 75.5, 1.05),
    ] {
        let found = ForceRule::Imperial.air_bend(60.0 * KSI, thickness * INCH, opening * INCH).tons_per_foot();
        // Both the charted force and the share were rounded.
        assert_near(wanted / found, share, 0.006 + 0.05 / found, &format!("{thickness} in {opening}"));
        assert!((0.80..=1.07).contains(&(wanted / found)));
    }
}

/// Tonnage chart: near eight thicknesses, 60 T tons a foot in air, 150 T bottoming, T in inches. Eight thicknesses by 575 T²/V give 71.9 T, so our air bend lies 20 % above that shop rule.
#[test]
fn ways_of_forming() {
    for (forming, tons) in [(Forming::AirBend, 60.0), (Forming::Bottoming, 150.0)] {
        assert_near(forming.factor() * 60.0, tons, 1e-9, &format!("{forming:?}"));
        let thickness = 0.125;
        let found = ForceRule::Imperial.air_bend(60.0 * KSI, thickness * INCH, 8.0 * thickness * INCH);
        assert_near(found.tons_per_foot() / (60.0 * thickness), 1.198, 0.001, "above the shop rule");
    }
    assert!(Forming::ALL.iter().all(|forming| forming.factor() >= 1.0));
    for method in Method::ALL {
        assert_eq!(Forming::from(method).to_string(), method.to_string());
    }
}

/// Published multipliers on a chart of mild steel: metal, factor, what the chart means by mild steel in MPa, and how far ours,
/// which go by tensile strength, may be off. "Forming chart", whose factors are rounded to halves: soft brass, soft
/// aluminium, heat-treated aluminium, stainless, chrome-moly (whose strength is taken from there). "Tonnage chart": 3003-H14,
/// 5052-H34, 6061-T6, stainless. "Capacity chart for air bending": stainless.
const MULTIPLIERS: [(Grade, f64, f64, f64); 10] = [
    (Grade::BrassSoft, 0.5, 60.0 * KSI, 0.58),
    (Grade::Aluminium5052O, 0.5, 60.0 * KSI, 0.06),
    (Grade::Aluminium2024T3, 1.0, 60.0 * KSI, 0.18),
    (Grade::Stainless304Annealed, 1.5, 60.0 * KSI, 0.13),
    (Grade::ChromeMoly, 2.0, 60.0 * KSI, 0.01),
    (Grade::Aluminium3003H14, 0.35, 60.0 * KSI, 0.04),
    (Grade::Aluminium5052H34, 0.65, 60.0 * KSI, 0.04),
    (Grade::Aluminium6061T6, 0.75, 60.0 * KSI, 0.01),
    (Grade::Stainless304Annealed, 1.55, 60.0 * KSI, 0.10),
    (Grade::Stainless304Annealed, 1.6, 420.0, 0.05),
];

/// The charts' multipliers against our tensile strengths.
#[test]
fn multipliers_go_with_tensile_strength() {
    let mut checked = 0;
    for (grade, factor, chart, within) in MULTIPLIERS {
        let ours = tensile_strength(grade).value / chart;
        assert!((ours / factor - 1.0).abs() <= within, "{grade}: {ours} for {factor}");
        checked += 1;
    }
    assert_eq!(checked, 10);
    // Capacity chart for air bending: aluminium of 300 MPa 0.65 on a chart of 420 MPa; by strength it is 0.71.
    assert_near(300.0 / 420.0, 0.65, 0.07, "aluminium of 300 MPa");
}

proptest! {
    #[test]
    fn force_grows_with_strength_and_thickness_and_falls_with_the_opening(
        strength in 100.0..1000.0, thickness in 0.3..20.0, opening in 4.0..200.0, more in 1.01..2.0,
    ) {
        for rule in ForceRule::ALL {
            let force = |s, t, v| rule.air_bend(s, t, v).kilonewtons_per_metre();
            let base = force(strength, thickness, opening);
            prop_assert!(force(strength * more, thickness, opening) > base);
            prop_assert!(force(strength, thickness * more, opening) > base);
            prop_assert!(force(strength, thickness, opening * more) < base);
        }
    }
}
