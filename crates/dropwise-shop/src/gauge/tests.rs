//! Gauge tables against published ones, row by row.

use super::*;

/// Printed rows of the four systems: number; uncoated inches, millimetres, lb/ft²; galvanized; stainless; American
/// Wire inches, millimetres, and lb/ft² of aluminium of 2.70 g/cm³.
///
/// Sources: Steel Buyers Basics (uncoated, galvanized 24 ga); Weight of Sheet Steel (uncoated); Measuring Sheet Metal
/// Gauge (galvanized 10 and 30 ga); Stainless Steel Gauge Chart (16 ga); 15 U.S.C. 206 (10 and 16 ga). The remaining
/// rows are derived from the same rules; zero stands where the system prints none.
type Row = (u32, [f64; 3], [f64; 3], [f64; 3], [f64; 3]);
#[expect(clippy::approx_constant, reason = "0.318 mm is a thickness")]
const PRINTED: [Row; 16] = [
    (7, [0.1793, 4.555, 7.500], [0.0, 0.0, 0.0], [0.1875, 4.763, 7.803], [0.1443, 3.665, 2.027]),
    (8, [0.1644, 4.176, 6.875], [0.1681, 4.271, 7.031], [0.1719, 4.366, 7.153], [0.1285, 3.264, 1.805]),
    (9, [0.1495, 3.796, 6.250], [0.1532, 3.891, 6.406], [0.1563, 3.969, 6.503], [0.1144, 2.906, 1.607]),
    (10, [0.1345, 3.416, 5.625], [0.1382, 3.511, 5.781], [0.1406, 3.572, 5.852], [0.1019, 2.588, 1.431]),
    (11, [0.1196, 3.037, 5.000], [0.1233, 3.132, 5.156], [0.1250, 3.175, 5.202], [0.0907, 2.305, 1.275]),
    (12, [0.1046, 2.657, 4.375], [0.1084, 2.752, 4.531], [0.1094, 2.778, 4.552], [0.0808, 2.053, 1.135]),
    (13, [0.0897, 2.278, 3.750], [0.0934, 2.373, 3.906], [0.0938, 2.381, 3.902], [0.0720, 1.828, 1.011]),
    (14, [0.0747, 1.898, 3.125], [0.0785, 1.993, 3.281], [0.0781, 1.984, 3.251], [0.0641, 1.628, 0.900]),
    (16, [0.0598, 1.518, 2.500], [0.0635, 1.613, 2.656], [0.0625, 1.588, 2.601], [0.0508, 1.291, 0.714]),
    (18, [0.0478, 1.215, 2.000], [0.0516, 1.310, 2.156], [0.0500, 1.270, 2.081], [0.0403, 1.024, 0.566]),
    (20, [0.0359, 0.911, 1.500], [0.0396, 1.006, 1.656], [0.0375, 0.953, 1.561], [0.0320, 0.812, 0.449]),
    (22, [0.0299, 0.759, 1.250], [0.0336, 0.854, 1.406], [0.0313, 0.794, 1.301], [0.0253, 0.644, 0.356]),
    (24, [0.0239, 0.607, 1.000], [0.0276, 0.702, 1.156], [0.0250, 0.635, 1.040], [0.0201, 0.511, 0.282]),
    (26, [0.0179, 0.456, 0.750], [0.0217, 0.550, 0.906], [0.0188, 0.476, 0.780], [0.0159, 0.405, 0.224]),
    (28, [0.0149, 0.380, 0.625], [0.0187, 0.475, 0.781], [0.0156, 0.397, 0.650], [0.0126, 0.321, 0.178]),
    (30, [0.0120, 0.304, 0.500], [0.0157, 0.399, 0.656], [0.0125, 0.318, 0.520], [0.0100, 0.255, 0.141]),
];

/// The rest of the four systems, inches. From memory: the sheet gauge and wire gauge tables of machinists' handbooks.
const REMEMBERED: [(GaugeSystem, &[(u32, f64)]); 4] = [
    (
        GaugeSystem::ManufacturersStandard,
        &[
            (3, 0.2391),
            (4, 0.2242),
            (5, 0.2092),
            (6, 0.1943),
            (15, 0.0673),
            (17, 0.0538),
            (19, 0.0418),
            (21, 0.0329),
            (23, 0.0269),
            (25, 0.0209),
            (27, 0.0164),
            (29, 0.0135),
            (31, 0.0105),
            (32, 0.0097),
            (33, 0.0090),
            (34, 0.0082),
            (35, 0.0075),
            (36, 0.0067),
            (37, 0.0064),
            (38, 0.0060),
        ],
    ),
    (
        GaugeSystem::GalvanizedSheet,
        &[
            (15, 0.0710),
            (17, 0.0575),
            (19, 0.0456),
            (21, 0.0366),
            (23, 0.0306),
            (25, 0.0247),
            (27, 0.0202),
            (29, 0.0172),
            (31, 0.0142),
            (32, 0.0134),
        ],
    ),
    (
        GaugeSystem::UsStandard,
        &[
            (3, 0.250),
            (4, 0.234375),
            (5, 0.21875),
            (6, 0.203125),
            (15, 0.0703125),
            (17, 0.05625),
            (19, 0.04375),
            (21, 0.034375),
            (23, 0.028125),
            (25, 0.021875),
            (27, 0.0171875),
            (29, 0.0140625),
            (31, 0.0109375),
            (32, 0.01015625),
            (33, 0.009375),
            (34, 0.00859375),
            (35, 0.0078125),
            (36, 0.00703125),
            (37, 0.006640625),
            (38, 0.00625),
        ],
    ),
    (
        GaugeSystem::AmericanWire,
        &[
            (1, 0.2893),
            (2, 0.2576),
            (3, 0.2294),
            (4, 0.2043),
            (5, 0.1819),
            (6, 0.1620),
            (15, 0.0571),
            (17, 0.0453),
            (19, 0.0359),
            (21, 0.0285),
            (23, 0.0226),
            (25, 0.0179),
            (27, 0.0142),
            (29, 0.0113),
            (31, 0.0089),
            (32, 0.0080),
            (33, 0.0071),
            (34, 0.0063),
            (35, 0.0056),
            (36, 0.0050),
            (37, 0.0045),
            (38, 0.0040),
            (39, 0.0035),
            (40, 0.0031),
        ],
    ),
];

/// Half of the last digit printed and a hundredth of it, for ties: galvanized 32 ga is 0.013450 in and printed 0.0134.
fn agrees(value: f64, printed: f64, decimals: i32) -> bool {
    (value - printed).abs() <= 0.51 * 10_f64.powi(-decimals)
}

#[test]
fn every_printed_row_of_all_four_systems() {
    for (number, uncoated, galvanized, stainless, wire) in PRINTED {
        for (system, [inches, millimetres, pounds]) in
            GaugeSystem::ALL.into_iter().zip([uncoated, galvanized, stainless, wire])
        {
            if inches == 0.0 {
                assert!(system.gauge(number).is_err(), "{system} {number}");
                continue;
            }
            let gauge = system.gauge(number).unwrap();
            assert!(agrees(gauge.thickness() / 25.4, inches, 4), "{system} {gauge}: {} mm", gauge.thickness());
            assert!(agrees(gauge.thickness(), millimetres, 3), "{system} {gauge}: {} mm", gauge.thickness());
            let weight = gauge.nominal_weight().unwrap_or(gauge.thickness() * Material::Aluminium6061.density() * 1e-6);
            let weight = weight::to_pounds_per_square_foot(weight);
            assert!(agrees(weight, pounds, 3), "{system} {gauge}: {weight} lb/ft²");
        }
    }
}

#[test]
fn every_other_row_and_so_the_whole_of_each_system() {
    for (system, rows) in REMEMBERED {
        let mut numbers: Vec<u32> = rows.iter().map(|&(number, _)| number).collect();
        numbers.extend(PRINTED.iter().map(|row| row.0).filter(|&number| system.gauge(number).is_ok()));
        numbers.sort_unstable();
        assert_eq!(numbers, system.numbers().collect::<Vec<_>>(), "{system}: rows without a check");
        for &(number, inches) in rows {
            let thickness = system.gauge(number).unwrap().thickness() / 25.4;
            assert!(agrees(thickness, inches, 4), "{system} {number} ga: {thickness} in");
        }
    }
}

/// 15 U.S.C. 206: 16 ga is 1/16 in and 2.5 lb/ft²; 10 ga is 9/64 in and 5.625 lb/ft².
#[test]
fn the_statute_s_own_fractions() {
    for (number, inches, pounds) in [(16, 1.0 / 16.0, 2.5), (10, 9.0 / 64.0, 5.625)] {
        let by_thickness = GaugeSystem::UsStandard.gauge(number).unwrap();
        assert!((by_thickness.thickness() / 25.4 - inches).abs() < 1e-12);
        let by_weight = GaugeSystem::ManufacturersStandard.gauge(number).unwrap().nominal_weight().unwrap();
        assert!((weight::to_pounds_per_square_foot(by_weight) - pounds).abs() < 1e-12);
    }
}

/// From memory, ASTM B258: 36 AWG is 0.005 in exactly, and 39 steps up, 4/0, is 0.46 in; six steps halve the wire
/// within half a percent.
#[test]
fn american_wire_gauge_stands_on_its_two_fixed_points() {
    let inches = |number| GaugeSystem::AmericanWire.gauge(number).unwrap().thickness() / 25.4;
    assert!((inches(36) - 0.005).abs() < 1e-15);
    // 4/0 is number -3: four steps above 1 ga, whose ratio the system's own neighbours give.
    assert!((inches(1) * (inches(1) / inches(2)).powi(4) - 0.46).abs() < 1e-9);
    assert!((inches(10) / inches(16) - 2.0).abs() < 0.01);
}

/// Service-centre gauge and tolerance table: hot rolled 11 ga 0.112 to 0.128 in and 16 ga 0.053 to 0.067; cold rolled
/// 16 ga 0.055 to 0.065; coated 16 ga 0.058 to 0.070 and 10 ga 0.129 to 0.147.
#[test]
fn gauges_lie_in_the_bands_that_service_centres_sell() {
    for (system, number, band) in [
        (GaugeSystem::ManufacturersStandard, 11, 0.112..=0.128),
        (GaugeSystem::ManufacturersStandard, 16, 0.053..=0.067),
        (GaugeSystem::ManufacturersStandard, 16, 0.055..=0.065),
        (GaugeSystem::GalvanizedSheet, 16, 0.058..=0.070),
        (GaugeSystem::GalvanizedSheet, 10, 0.129..=0.147),
    ] {
        let inches = system.gauge(number).unwrap().thickness() / 25.4;
        assert!(band.contains(&inches), "{system} {number} ga: {inches} in");
    }
}

#[test]
fn thickness_falls_from_number_to_number() {
    for system in GaugeSystem::ALL {
        let gauges: Vec<Gauge> = system.gauges().collect();
        assert!(gauges.windows(2).all(|pair| pair[0].thickness() > pair[1].thickness()), "{system}");
        for gauge in gauges {
            assert_eq!(system.nearest(gauge.thickness()), gauge);
        }
    }
}

#[test]
fn one_step_beyond_either_end_names_that_end() {
    for system in GaugeSystem::ALL {
        let (first, last) = (*system.numbers().start(), *system.numbers().end());
        assert!(system.gauge(first).is_ok() && system.gauge(last).is_ok());
        for (beyond, nearest) in [(first - 1, first), (last + 1, last), (0, first), (u32::MAX, last)] {
            let error = system.gauge(beyond).unwrap_err();
            assert_eq!(error, GaugeError { system, number: beyond, nearest: system.gauge(nearest).unwrap() });
        }
    }
    assert_eq!(
        GaugeSystem::GalvanizedSheet.gauge(7).unwrap_err().to_string(),
        "galvanized sheet gauge has no 7 ga: it runs from 8 to 32; the nearest is 8 ga (4.27 mm)"
    );
}

#[test]
fn every_material_has_its_system() {
    let systems = Material::ALL.map(GaugeSystem::of);
    use GaugeSystem::{AmericanWire, GalvanizedSheet, ManufacturersStandard, UsStandard};
    let expected =
        [ManufacturersStandard, GalvanizedSheet, UsStandard, AmericanWire, AmericanWire, AmericanWire, AmericanWire];
    assert_eq!(systems, expected);
}
