//! Holes, countersinks, drills and tolerances as published.

use super::{INCH, assert_near};
use crate::Status;
use crate::bend::ToleranceClass;
use crate::bend::drills::*;
use crate::bend::fasteners::*;

/// Clearance hole sizes ISO 273: fine, medium, coarse.
#[test]
fn metric_clearance() {
    for (screw, holes) in [
        ("M3", [3.2, 3.4, 3.6]),
        ("M4", [4.3, 4.5, 4.8]),
        ("M5", [5.3, 5.5, 5.8]),
        ("M6", [6.4, 6.6, 7.0]),
        ("M8", [8.4, 9.0, 10.0]),
        ("M10", [10.5, 11.0, 12.0]),
        ("M12", [13.0, 13.5, 14.5]),
        ("M14", [15.0, 15.5, 16.5]),
        ("m 16".replace(' ', "").as_str(), [17.0, 17.5, 18.5]),
    ] {
        for (fit, hole) in [Fit::Fine, Fit::Medium, Fit::Coarse].into_iter().zip(holes) {
            assert_eq!(clearance_hole(screw, fit), Some((hole, METRIC_CLEARANCE_SOURCE)), "{screw}");
        }
    }
}

/// ASME B18.2.8 (from memory): close, normal, loose. Tap and clearance drill chart (confirmed): the shop's drill.
#[test]
fn inch_clearance() {
    for (screw, holes) in [
        ("1/4", [0.266, 0.281, 0.297]),
        ("5/16 in", [0.328, 0.344, 0.359]),
        ("3/8\"", [0.391, 0.406, 0.422]),
        ("1/2", [0.531, 0.562, 0.609]),
        ("5/8", [0.656, 0.688, 0.734]),
        ("3/4", [0.781, 0.812, 0.906]),
    ] {
        for (fit, hole) in [Fit::Fine, Fit::Medium, Fit::Coarse].into_iter().zip(holes) {
            let (found, source) = clearance_hole(screw, fit).unwrap();
            assert_near(found / INCH, hole, 1e-9, screw);
            assert_eq!(source.status, Status::FromMemory);
        }
    }
    let drills = [
        ("#4", 1.0 / 8.0),
        ("#6", 9.0 / 64.0),
        ("#8", 11.0 / 64.0),
        ("1/4", 17.0 / 64.0),
        ("5/16", 21.0 / 64.0),
        ("3/8", 25.0 / 64.0),
        ("7/16", 29.0 / 64.0),
        ("1/2", 33.0 / 64.0),
        ("5/8", 41.0 / 64.0),
        ("3/4", 49.0 / 64.0),
    ];
    assert_eq!(SHOP_CLEARANCE.len(), drills.len());
    for ((screw, drill), row) in drills.into_iter().zip(SHOP_CLEARANCE) {
        assert_eq!(row.screw, screw);
        assert_near(row.diameter() / INCH, drill, 1e-12, screw);
    }
    assert_eq!(clearance_hole("#8", Fit::Coarse).unwrap().1, SHOP_CLEARANCE_SOURCE);
    for unknown in ["M7", "#5", "", "in", "1/4-20", "screw"] {
        assert_eq!(clearance_hole(unknown, Fit::Fine), None, "{unknown}");
    }
}

/// Every hole is wider than its screw, and looser fits are wider.
#[test]
fn clearance_clears() {
    for row in METRIC_CLEARANCE.into_iter().chain(INCH_CLEARANCE) {
        let [fine, medium, coarse] = row.holes;
        assert!(row.major < fine && fine < medium && medium < coarse, "{}", row.screw);
    }
    for row in SHOP_CLEARANCE {
        assert!(row.diameter() > row.major, "{}", row.screw);
        // Tighter than the standard's close fit above 3/8 in, as the documents say.
        if let Some(standard) = INCH_CLEARANCE.iter().find(|standard| standard.screw == row.screw) {
            assert_eq!(row.diameter() < standard.holes[0] - 0.02, row.major > 0.375 * INCH, "{}", row.screw);
        }
    }
}

/// Socket countersunk dimensions, ASME B18.3: sharp and least head diameters, in.
#[test]
fn inch_countersunk_heads() {
    for (screw, sharp, least) in [
        ("#4", 0.255, 0.218),
        ("#6", 0.307, 0.263),
        ("#8", 0.359, 0.311),
        ("#10", 0.411, 0.359),
        ("1/4", 0.531, 0.476),
        ("5/16", 0.656, 0.589),
        ("3/8", 0.781, 0.704),
        ("1/2", 0.937, 0.857),
        ("5/8", 1.188, 1.065),
        ("3/4", 1.438, 1.293),
    ] {
        let head = countersunk(screw).unwrap();
        assert_near(head.sharp_diameter / INCH, sharp, 1e-9, screw);
        assert_near(head.least_diameter / INCH, least, 1e-9, screw);
        assert_eq!(head.angle, 82.0);
    }
}

/// Hexagon socket screws table and ISO 10642: sharp diameter, head height, least diameter of BS 4168, mm.
#[test]
fn metric_countersunk_heads() {
    for (screw, sharp, height, least) in [
        ("M3", 6.72, 1.86, 5.82),
        ("M4", 8.96, 2.48, 7.78),
        ("M5", 11.2, 3.1, 9.78),
        ("M6", 13.44, 3.72, 11.73),
        ("M8", 17.92, 4.96, 15.73),
        ("M10", 22.4, 6.2, 19.67),
        ("M12", 26.88, 7.44, 23.67),
        ("M16", 33.6, 8.8, 29.67),
        ("M20", 40.32, 10.16, 35.61),
    ] {
        let head = countersunk(screw).unwrap();
        assert_eq!((head.sharp_diameter, head.least_diameter, head.head_height), (sharp, least, Some(height)));
        // Heads are as high as their cone is deep (derived: M6 (13.44 − 6)/2 = 3.72).
        let depth = countersink_depth(sharp, head.major, 90.0).unwrap();
        assert_near(depth, height, 0.005, screw);
        if head.major <= 12.0 {
            assert_near(sharp, 2.24 * head.major, 1e-9, "2.24 d");
        }
    }
}

/// Derived, against printed heights: 1/4 in (0.531 − 0.250)/(2 tan 41°) = 0.1616, printed 0.161; #10 0.1271, printed
/// 0.127.
#[test]
fn depth_of_a_countersink() {
    for (screw, depth, printed) in [("1/4", 0.1616, 0.161), ("#10", 0.1271, 0.127)] {
        let head = countersunk(screw).unwrap();
        let found = countersink_depth(head.sharp_diameter, head.major, head.angle).unwrap() / INCH;
        assert_near(found, depth, 0.000_06, screw);
        assert_near(head.head_height.unwrap() / INCH, printed, 1e-9, screw);
        assert_near(found, printed, 0.001, screw);
    }
    for (rim, hole, angle) in [
        (6.0, 6.0, 90.0),
        (5.0, 6.0, 90.0),
        (f64::NAN, 6.0, 90.0),
        (10.0, -1.0, 90.0),
        (10.0, 6.0, 0.0),
        (10.0, 6.0, 180.0),
    ] {
        assert_eq!(countersink_depth(rim, hole, angle), None, "{rim} {hole} {angle}");
    }
    assert!(countersunk("M7").is_none());
}

/// Tap and clearance drill chart with blackwalnutjigs.com/tapchart for the decimals (#36 from memory); Mechanical
/// Engineer's Data Handbook for the metric ones.
#[test]
fn tap_drills() {
    for (thread, drill, inches) in [
        ("4-40", "#43", 0.0890),
        ("6-32", "#36", 0.1065),
        ("8-32", "#29", 0.1360),
        ("10-24", "#25", 0.1495),
        ("#10-32", "#21", 0.1590),
        ("1/4-20", "#7", 0.2010),
        ("5/16-18", "F", 0.2570),
        ("3/8-16", "5/16", 0.3125),
        ("1/2-13", "27/64", 0.4219),
        ("5/8-11", "17/32", 0.5312),
    ] {
        let found = tap_drill(thread).unwrap();
        assert_eq!(found.drill, drill);
        assert_near(found.diameter / INCH, inches, 0.000_051, thread);
        assert_eq!(found.source.status == Status::FromMemory, thread == "6-32");
    }
    for (thread, drill) in [
        ("M3x0.5", 2.5),
        ("M4 x 0.7".replace(' ', "").as_str(), 3.3),
        ("m5", 4.2),
        ("M6×1", 5.0),
        ("M8", 6.8),
        ("M10x1.5", 8.5),
        ("M12x1.75", 10.2),
        ("M16", 14.0),
        ("M20x2.5", 17.5),
        ("M24x3", 21.0),
    ] {
        let found = tap_drill(thread).unwrap();
        assert_eq!(found.diameter, drill, "{thread}");
        // Drill and tap size chart: the drill is the major diameter less the pitch, up to the rounding of drill sizes.
        assert_near(found.major - found.pitch, drill, 0.051, thread);
    }
    assert!(tap_drill("M7").is_none() && tap_drill("").is_none() && tap_drill("1/4").is_none());
    // A tap cuts 60 to 85 % of a full thread (0.6495 of the pitch deep on each side) in every one of them.
    for row in TAP_DRILLS {
        let share = (row.major - row.diameter) / (2.0 * 0.6495 * row.pitch);
        assert!((0.6..=0.86).contains(&share), "{}: {share}", row.thread);
    }
}

/// From memory: a fractional jobber set has 29 drills, 1/16 to 1/2 in by 64ths; n/64 in is n × 0.396875 mm (derived).
#[test]
fn fractional_drills() {
    let drills: Vec<_> =
        common_sizes(SizeSystem::Inch).into_iter().filter(|size| size.tool == HoleTool::Drill).collect();
    assert_eq!(drills.len(), 29);
    assert_eq!(drills[0].to_string(), "1/16 in drill");
    assert_eq!(drills[28].to_string(), "1/2 in drill");
    for (drill, n) in drills.iter().zip(4..) {
        assert_near(drill.size.diameter(), f64::from(n) * 0.396_875, 1e-12, &drill.to_string());
    }
}

/// Hole saw guides (confirmed): for conduit of 1/2, 3/4, 1, 1 1/4, 1 1/2, 2 in saws of 7/8, 1 1/8, 1 3/8, 1 3/4, 2, 2 1/2;
/// 2 1/8 in is 54 mm. The range from 9/16 to 6 in from memory.
#[test]
fn hole_saws() {
    let saws: Vec<_> =
        common_sizes(SizeSystem::Inch).into_iter().filter(|size| size.tool == HoleTool::HoleSaw).collect();
    assert_eq!(saws.first().unwrap().to_string(), "9/16 in hole saw");
    assert_eq!(saws.last().unwrap().to_string(), "6 in hole saw");
    let confirmed: Vec<String> =
        saws.iter().filter(|saw| saw.source.status == Status::Confirmed).map(|saw| saw.size.to_string()).collect();
    assert_eq!(confirmed, ["7/8 in", "1 1/8 in", "1 3/8 in", "1 3/4 in", "2 in", "2 1/8 in", "2 1/2 in"]);
    let trade: Vec<String> = CONDUIT_SAWS.iter().map(|&(trade, _)| Size::SixtyFourths(trade).to_string()).collect();
    assert_eq!(trade, ["1/2 in", "3/4 in", "1 in", "1 1/4 in", "1 1/2 in", "2 in"]);
    assert_near(Size::SixtyFourths(136).diameter(), 54.0, 0.05, "2 1/8 in");
    // The metric saws that have an inch twin lie within half a millimetre of it.
    for (millimetres, sixty_fourths) in [(16, 40), (22, 56), (29, 72), (35, 88), (44, 112), (51, 128), (64, 160)] {
        assert!(METRIC_SAWS.contains(&millimetres));
        assert_near(Size::SixtyFourths(sixty_fourths).diameter(), f64::from(millimetres), 0.5, "twin");
    }
}

/// DIN ISO 2768-1 extract (confirmed): both ends of every range, plus or minus mm.
#[test]
fn linear_tolerances() {
    let ranges = [
        (0.5, 3.0),
        (3.001, 6.0),
        (6.001, 30.0),
        (30.001, 120.0),
        (120.001, 400.0),
        (400.001, 1000.0),
        (1000.001, 2000.0),
        (2000.001, 4000.0),
    ];
    let none = f64::NAN;
    let classes = [
        (ToleranceClass::Fine, [0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, none]),
        (ToleranceClass::Medium, [0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0]),
        (ToleranceClass::Coarse, [0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0]),
        (ToleranceClass::VeryCoarse, [none, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0]),
    ];
    for (class, row) in classes {
        for ((from, to), wanted) in ranges.into_iter().zip(row) {
            for nominal in [from, to] {
                let wanted = (!wanted.is_nan()).then_some(wanted);
                assert_eq!(class.linear(nominal), wanted, "{class} {nominal}");
            }
        }
        for nominal in [0.499, 4000.001, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(class.linear(nominal), None, "{class} {nominal}");
        }
    }
}

/// ISO 2768-1 (from memory): angles by their shorter leg.
#[test]
fn angular_tolerances() {
    let rows = [
        (10.0, [1.0, 1.0, 1.5, 3.0]),
        (50.0, [0.5, 0.5, 1.0, 2.0]),
        (120.0, [20.0 / 60.0, 20.0 / 60.0, 0.5, 1.0]),
        (400.0, [10.0 / 60.0, 10.0 / 60.0, 0.25, 0.5]),
        (400.001, [5.0 / 60.0, 5.0 / 60.0, 10.0 / 60.0, 20.0 / 60.0]),
    ];
    for (leg, row) in rows {
        for (class, wanted) in ToleranceClass::ALL.into_iter().zip(row) {
            assert_eq!(class.angular(leg), Some(wanted), "{class} {leg}");
        }
    }
    for leg in [0.0, -1.0, f64::NAN] {
        assert_eq!(ToleranceClass::Medium.angular(leg), None);
    }
    assert_eq!(ToleranceClass::ALL.map(ToleranceClass::letter), ['f', 'm', 'c', 'v']);
    assert_eq!(ToleranceClass::Medium.to_string(), "ISO 2768-m");
}
