//! Holes for screws: clearance, countersinks, tap drills.

use crate::nearest::folded;
use crate::source::Source;

const INCH: f64 = 25.4;

/// How much play a clearance hole gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fit {
    /// Fine, close.
    Fine,
    /// Medium, normal: the one to take unless something speaks against it.
    Medium,
    /// Coarse, loose.
    Coarse,
}

/// Clearance holes of one screw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearanceRow {
    /// The screw: `M6`, `1/4`, `#8`.
    pub screw: &'static str,
    /// Its own diameter, mm.
    pub major: f64,
    /// Diameters of the hole, mm: fine, medium, coarse.
    pub holes: [f64; 3],
}

/// One drill for the clearance hole of an inch screw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShopDrillRow {
    /// The screw.
    pub screw: &'static str,
    /// The screw's own diameter, mm.
    pub major: f64,
    /// The drill, in 64ths of an inch.
    pub sixty_fourths: u32,
}

/// Source of [`METRIC_CLEARANCE`].
pub const METRIC_CLEARANCE_SOURCE: Source = Source::confirmed("Clearance hole sizes ISO 273");

/// Source of [`INCH_CLEARANCE`].
pub const INCH_CLEARANCE_SOURCE: Source = Source::from_memory("ASME B18.2.8");

/// Source of [`SHOP_CLEARANCE`].
pub const SHOP_CLEARANCE_SOURCE: Source = Source::confirmed("Tap and clearance drill chart");

const fn metric(screw: &'static str, major: f64, holes: [f64; 3]) -> ClearanceRow {
    ClearanceRow { screw, major, holes }
}

const fn inch(screw: &'static str, major: f64, holes: [f64; 3]) -> ClearanceRow {
    ClearanceRow { screw, major: major * INCH, holes: [holes[0] * INCH, holes[1] * INCH, holes[2] * INCH] }
}

const fn shop(screw: &'static str, major: f64, sixty_fourths: u32) -> ShopDrillRow {
    ShopDrillRow { screw, major: major * INCH, sixty_fourths }
}

/// ISO 273.
pub const METRIC_CLEARANCE: [ClearanceRow; 9] = [
    metric("M3", 3.0, [3.2, 3.4, 3.6]),
    metric("M4", 4.0, [4.3, 4.5, 4.8]),
    metric("M5", 5.0, [5.3, 5.5, 5.8]),
    metric("M6", 6.0, [6.4, 6.6, 7.0]),
    metric("M8", 8.0, [8.4, 9.0, 10.0]),
    metric("M10", 10.0, [10.5, 11.0, 12.0]),
    metric("M12", 12.0, [13.0, 13.5, 14.5]),
    metric("M14", 14.0, [15.0, 15.5, 16.5]),
    metric("M16", 16.0, [17.0, 17.5, 18.5]),
];

/// ASME B18.2.8: close, normal, loose.
pub const INCH_CLEARANCE: [ClearanceRow; 6] = [
    inch("1/4", 0.250, [0.266, 0.281, 0.297]),
    inch("5/16", 0.3125, [0.328, 0.344, 0.359]),
    inch("3/8", 0.375, [0.391, 0.406, 0.422]),
    inch("1/2", 0.500, [0.531, 0.562, 0.609]),
    inch("5/8", 0.625, [0.656, 0.688, 0.734]),
    inch("3/4", 0.750, [0.781, 0.812, 0.906]),
];

/// The drill that shops take: about 1/64 in over the screw, tighter than the standard's close fit above 3/8 in. Diameters
/// of numbered screws from memory (ASME B1.1).
pub const SHOP_CLEARANCE: [ShopDrillRow; 10] = [
    shop("#4", 0.112, 8),
    shop("#6", 0.138, 9),
    shop("#8", 0.164, 11),
    shop("1/4", 0.250, 17),
    shop("5/16", 0.3125, 21),
    shop("3/8", 0.375, 25),
    shop("7/16", 0.4375, 29),
    shop("1/2", 0.500, 33),
    shop("5/8", 0.625, 41),
    shop("3/4", 0.750, 49),
];

impl ShopDrillRow {
    /// Diameter of the drill, mm.
    #[must_use]
    pub const fn diameter(&self) -> f64 {
        self.sixty_fourths as f64 / 64.0 * INCH
    }
}

/// Diameter of the clearance hole of a screw (`M6`, `1/4`, `#8`, `3/8 in`), mm, with its source. Sizes that the standards
/// here lack take the shop's drill, which has one fit only; `None` where that lacks it too.
#[must_use]
pub fn clearance_hole(screw: &str, fit: Fit) -> Option<(f64, Source)> {
    let name = screw_name(screw);
    let by_standard = |rows: &[ClearanceRow], source| {
        let row = rows.iter().find(|row| folded(row.screw) == name)?;
        Some((row.holes[fit as usize], source))
    };
    by_standard(&METRIC_CLEARANCE, METRIC_CLEARANCE_SOURCE)
        .or_else(|| by_standard(&INCH_CLEARANCE, INCH_CLEARANCE_SOURCE))
        .or_else(|| {
            let row = SHOP_CLEARANCE.iter().find(|row| row.screw == name)?;
            Some((row.diameter(), SHOP_CLEARANCE_SOURCE))
        })
}

/// A screw's name as it is compared: folded, without the unit that inch sizes are often written with.
fn screw_name(text: &str) -> String {
    let name = folded(text);
    let bare = name.trim_end_matches('"');
    bare.strip_suffix("in").unwrap_or(bare).trim_end().to_owned()
}

/// A countersunk socket screw. Lengths mm, angles degrees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountersunkScrew {
    /// The screw.
    pub screw: &'static str,
    /// Its own diameter.
    pub major: f64,
    /// Angle of the head's cone.
    pub angle: f64,
    /// Diameter of the head if its rim were sharp: what the countersink must open to for the head to lie flush.
    pub sharp_diameter: f64,
    /// Smallest diameter of a real head, whose rim is blunt.
    pub least_diameter: f64,
    /// Height of the head as printed; `None` where the table has none.
    pub head_height: Option<f64>,
    /// Where the sizes come from.
    pub source: Source,
}

const fn socket_inch(screw: &'static str, major: f64, sharp: f64, least: f64, height: Option<f64>) -> CountersunkScrew {
    CountersunkScrew {
        screw,
        major: major * INCH,
        angle: 82.0,
        sharp_diameter: sharp * INCH,
        least_diameter: least * INCH,
        head_height: match height {
            Some(height) => Some(height * INCH),
            None => None,
        },
        source: Source::confirmed("Socket countersunk dimensions, ASME B18.3"),
    }
}

const fn socket_metric(screw: &'static str, major: f64, sharp: f64, least: f64, height: f64) -> CountersunkScrew {
    CountersunkScrew {
        screw,
        major,
        angle: 90.0,
        sharp_diameter: sharp,
        least_diameter: least,
        head_height: Some(height),
        source: Source::confirmed("Hexagon socket screws table; ISO 10642"),
    }
}

/// Countersunk socket screws. The metric heads are those of ISO 10642, 2.24 d up to M12; DIN 7991, which it replaced, had 2 d
/// (M6 12 mm), so a countersink made for the old head leaves the new one proud.
pub const COUNTERSUNK: [CountersunkScrew; 19] = [
    socket_inch("#4", 0.112, 0.255, 0.218, None),
    socket_inch("#6", 0.138, 0.307, 0.263, None),
    socket_inch("#8", 0.164, 0.359, 0.311, None),
    socket_inch("#10", 0.190, 0.411, 0.359, Some(0.127)),
    socket_inch("1/4", 0.250, 0.531, 0.476, Some(0.161)),
    socket_inch("5/16", 0.3125, 0.656, 0.589, None),
    socket_inch("3/8", 0.375, 0.781, 0.704, None),
    socket_inch("1/2", 0.500, 0.937, 0.857, None),
    socket_inch("5/8", 0.625, 1.188, 1.065, None),
    socket_inch("3/4", 0.750, 1.438, 1.293, None),
    socket_metric("M3", 3.0, 6.72, 5.82, 1.86),
    socket_metric("M4", 4.0, 8.96, 7.78, 2.48),
    socket_metric("M5", 5.0, 11.2, 9.78, 3.1),
    socket_metric("M6", 6.0, 13.44, 11.73, 3.72),
    socket_metric("M8", 8.0, 17.92, 15.73, 4.96),
    socket_metric("M10", 10.0, 22.4, 19.67, 6.2),
    socket_metric("M12", 12.0, 26.88, 23.67, 7.44),
    socket_metric("M16", 16.0, 33.6, 29.67, 8.8),
    socket_metric("M20", 20.0, 40.32, 35.61, 10.16),
];

/// The countersunk screw of this name; `None` where the table lacks it.
#[must_use]
pub fn countersunk(screw: &str) -> Option<CountersunkScrew> {
    let name = screw_name(screw);
    COUNTERSUNK.into_iter().find(|row| folded(row.screw) == name)
}

/// Depth of a cone of this angle (degrees) from its rim down to a hole: (rim − hole) / (2 tan(angle/2)), in the unit of
/// both diameters. `None` unless the rim is wider than the hole and the angle lies between 0° and 180°.
#[must_use]
pub fn countersink_depth(rim: f64, hole: f64, angle: f64) -> Option<f64> {
    let is_cone = hole >= 0.0 && rim > hole && rim.is_finite() && angle > 0.0 && angle < 180.0;
    is_cone.then(|| (rim - hole) / (2.0 * (angle.to_radians() / 2.0).tan()))
}

/// Shank of a blind rivet and the hole it is set in, mm.
///
/// # Source
/// ISO 15977 and makers' charts in inches (from memory).
pub const RIVET_HOLES: [(f64, f64); 13] = [
    (2.4, 2.5),
    (3.0, 3.1),
    (3.2, 3.3),
    (4.0, 4.1),
    (4.8, 4.9),
    (5.0, 5.1),
    (6.0, 6.1),
    (6.4, 6.5),
    (3.0 / 32.0 * INCH, 0.096 * INCH),
    (1.0 / 8.0 * INCH, 0.1285 * INCH),
    (5.0 / 32.0 * INCH, 0.161 * INCH),
    (3.0 / 16.0 * INCH, 0.191 * INCH),
    (1.0 / 4.0 * INCH, 0.257 * INCH),
];

/// Source of [`RIVET_HOLES`].
pub const RIVET_SOURCE: Source = Source::from_memory("ISO 15977; makers' charts of blind rivets");

/// The hole of a blind rivet by its shank, both mm, with its source; `None` for a shank that is not sold.
#[must_use]
pub fn rivet_hole(shank: f64) -> Option<(f64, Source)> {
    let (_, hole) = RIVET_HOLES.into_iter().find(|(listed, _)| (listed - shank).abs() < 0.01)?;
    Some((hole, RIVET_SOURCE))
}

/// The name of a thread by its outside diameter and pitch, mm: `M6x1`, `1/4-20`; `None` where the table lacks it.
#[must_use]
pub fn thread_name(major: f64, pitch: f64) -> Option<&'static str> {
    let is = |a: f64, b: f64| (a - b).abs() < 1e-3;
    TAP_DRILLS.into_iter().find(|row| is(row.major, major) && is(row.pitch, pitch)).map(|row| row.thread)
}

/// The screws that [`clearance_hole`] knows, in the order of its tables.
#[must_use]
pub fn clearance_screws() -> Vec<&'static str> {
    let metric = METRIC_CLEARANCE.iter().chain(&INCH_CLEARANCE).map(|row| row.screw);
    let mut names: Vec<&str> = metric.chain(SHOP_CLEARANCE.iter().map(|row| row.screw)).collect();
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|name| seen.insert(*name));
    names
}

/// A tap drill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TapDrill {
    /// The thread: `1/4-20`, `M6x1`.
    pub thread: &'static str,
    /// The thread's outside diameter, mm.
    pub major: f64,
    /// Its pitch, mm.
    pub pitch: f64,
    /// The drill by name: `#7`, `F`, `27/64`, `5.0 mm`.
    pub drill: &'static str,
    /// The drill's diameter, mm.
    pub diameter: f64,
    /// Where it comes from.
    pub source: Source,
}

const TAP_INCH: Source = Source::confirmed("Tap and clearance drill chart");
const TAP_METRIC: Source = Source::confirmed("Mechanical Engineer's Data Handbook");

const fn tap_inch(thread: &'static str, major: f64, per_inch: f64, drill: &'static str, diameter: f64) -> TapDrill {
    TapDrill { thread, major: major * INCH, pitch: INCH / per_inch, drill, diameter: diameter * INCH, source: TAP_INCH }
}

const fn tap_metric(thread: &'static str, major: f64, pitch: f64, drill: &'static str, diameter: f64) -> TapDrill {
    TapDrill { thread, major, pitch, drill, diameter, source: TAP_METRIC }
}

/// Tap drills for about three quarters of a full thread. The decimal size of drill #36 is from memory.
pub const TAP_DRILLS: [TapDrill; 20] = [
    tap_inch("4-40", 0.112, 40.0, "#43", 0.0890),
    TapDrill {
        source: Source { title: TAP_INCH.title, status: crate::source::Status::FromMemory },
        ..tap_inch("6-32", 0.138, 32.0, "#36", 0.1065)
    },
    tap_inch("8-32", 0.164, 32.0, "#29", 0.1360),
    tap_inch("10-24", 0.190, 24.0, "#25", 0.1495),
    tap_inch("10-32", 0.190, 32.0, "#21", 0.1590),
    tap_inch("1/4-20", 0.250, 20.0, "#7", 0.2010),
    tap_inch("5/16-18", 0.3125, 18.0, "F", 0.2570),
    tap_inch("3/8-16", 0.375, 16.0, "5/16", 0.3125),
    tap_inch("1/2-13", 0.500, 13.0, "27/64", 27.0 / 64.0),
    tap_inch("5/8-11", 0.625, 11.0, "17/32", 17.0 / 32.0),
    tap_metric("M3x0.5", 3.0, 0.5, "2.5 mm", 2.5),
    tap_metric("M4x0.7", 4.0, 0.7, "3.3 mm", 3.3),
    tap_metric("M5x0.8", 5.0, 0.8, "4.2 mm", 4.2),
    tap_metric("M6x1", 6.0, 1.0, "5.0 mm", 5.0),
    tap_metric("M8x1.25", 8.0, 1.25, "6.8 mm", 6.8),
    tap_metric("M10x1.5", 10.0, 1.5, "8.5 mm", 8.5),
    tap_metric("M12x1.75", 12.0, 1.75, "10.2 mm", 10.2),
    tap_metric("M16x2", 16.0, 2.0, "14.0 mm", 14.0),
    tap_metric("M20x2.5", 20.0, 2.5, "17.5 mm", 17.5),
    tap_metric("M24x3", 24.0, 3.0, "21.0 mm", 21.0),
];

/// The tap drill of a thread (`1/4-20`, `#10-24`, `M6x1`; `M6` means the coarse pitch); `None` where the table lacks it.
#[must_use]
pub fn tap_drill(thread: &str) -> Option<TapDrill> {
    let name = folded(&thread.replace('×', "x"));
    let name = name.strip_prefix('#').unwrap_or(&name);
    TAP_DRILLS.into_iter().find(|row| {
        let listed = folded(row.thread);
        listed == name || listed.split_once('x').is_some_and(|(size, _)| size == name)
    })
}
