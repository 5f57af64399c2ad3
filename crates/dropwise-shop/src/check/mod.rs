//! What the shop's tools and the metal cannot do, told before anyone cuts.
//!
//! Each rule of [`check`] has a number, a source and a cure. Published rules differ, so most only warn; a finding stops
//! where metal or machine leave no choice.
//!
//! | rule | limit | source |
//! |---|---|---|
//! | hole to edge | T | "Laser cutting design rules" |
//! | hole to hole | 1.2 T; plasma 1.5 T | "Sheet Metal Design Guidelines 98-053007"; "Plasma cutting design table" |
//! | hole to bend | 2 T from where the bend begins | "Sheet Metal Design Guide"; another guide asks for 3 T + R |
//! | smallest hole that is cut | laser T, plasma 1.5 T | "Laser cutting design rules"; "Plasma cutting design table" |
//! | opening or notch | wider than the kerf | geometry |
//! | inside corner | a hole first where the cutter cannot turn | common practice |
//! | hole that no tool makes | what the cut plan says of it | the shop file |
//! | punched hole | 1.2 T + 0.008 in, at least 0.048 in; punch as wide as the sheet is thick | "Sheet Metal Design Guidelines 98-053007"; "Sheet Metal Part Design Guide" |
//! | drilled hole | T, at least 1 mm | "Holes" |
//! | countersink | no deeper than 2/3 T under 3 mm; sheet thicker than the head; 4 T to an edge, 8 T to another, 4 T + R to a bend | "Contract maker's table of 12 DFM rules"; AC 65-15A; "Sheet metal design guidelines" |
//! | flared hole | a die of its size; flares a diameter apart, T + R + 1/4 in to edges and bends; 3 T + radius to a hole; no deeper than half its hole | from memory; as dimples, "Sheet metal design guidelines" |
//! | tapped hole | three threads in the sheet | common practice |
//! | strip of metal | 2 T between edges | "Sheet Metal Design Guidelines 98-053007" |
//! | opening of the die | 6 T; below 5 T warns, below 4 T stops | "Capacity chart for air bending" |
//! | shortest flange | 4 T; 3 T + R | "Sheet Metal Design Guide"; "Sheet Metal Part Design Guide" |
//! | leg on the die | 0.71 V at a square bend | "How to calculate bending force" |
//! | inside radius | by metal and thickness | see [`minimum_radius`](crate::bend::minimum_radius) |
//! | space of its own | the finished part nowhere takes the same space twice | geometry, see [`SelfOverlap`](crate::fold::SelfOverlap) |
//! | notch to bend | 2 T; 3 T + R | "Sheet Metal Design Guide"; from memory |
//! | relief | at least half the thickness wide, R + T + 0.020 in past the bend line | "Bend relief requirements" |
//! | angle of a bend | general tolerance no tighter than 0.5° to 1° | "Sheet metal design guidelines"; "Sheet Metal Forming" |
//! | hem | metal, thickness, return, force, neighbours | see [`HemKind`](crate::bend::HemKind) |
//! | bend | within the brake's length and force | see [`ForceRule`](crate::bend::ForceRule) |
//! | K of a bend told by hand | within 0.05 of the published tables | see [`KFactor`](crate::bend::KFactor) |
//! | bend on a bender | its thickness, length, angle, flange, clamp, fingers | the shop file, see [`Bender`](crate::Bender) |
//! | weight | what one person lifts | NIOSH lifting equation |
//!
//! Where sources disagree on bends: for hole to bend, 2 T clear of the radius against 3 T + R ("Sheet Metal Part Design
//! Guide"), of which the first warns and the second is a note; for the shortest flange 4 T ("Sheet Metal Design Guide")
//! against 3 T + R, of which the shorter warns and the longer is a note, while what the die holds stops; for forces and
//! K-factors see [`bend`](crate::bend). A rule that is only remembered, or that nobody published, may warn, never stop:
//! [`Severity::most_by`] holds for all of them.

mod bent;
mod corners;
mod dies;
mod flat;
mod group;
mod hand;
mod hems;
mod holes;
mod machine;
mod metal;
mod names;
mod notches;
#[cfg(test)]
mod tests;
mod tools;

use std::fmt;

pub use group::{FindingGroup, gathered};

use dropwise_geometry::{Point, Shape, Unit, format_length, format_lengths_apart};

use crate::bend::{BendToGrain, Grade, Method, ToleranceClass};
use crate::bend_plan::{BendingPlan, HandPlan};
use crate::fold::Unfolding;
use crate::material::Material;
use crate::process::Process;
use crate::shop::Shop;
use crate::source::Source;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// It may go wrong.
    Warn,
    /// It cannot be made so.
    Stop,
}

/// What a number of a finding is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Millimetres.
    Length(f64),
    /// Kilograms.
    Weight(f64),
    /// Kilonewtons.
    Force(f64),
    /// Degrees.
    Angle(f64),
    /// Turns of a thread.
    Threads(f64),
}

/// Something found. Prints as one line, in millimetres; [`Finding::in_unit`] prints it in the job's unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// The rule in a few words, the same for all findings of one rule.
    pub rule: &'static str,
    /// Which feature of the part, as the drawings call it: `left leg, hole 2 of 3 (Ø 6.6 mm)`.
    pub feature: String,
    /// Where, in the part's [`PartFrame`](crate::PartFrame); `None` for the part as a whole.
    pub at: Option<Point>,
    /// What was found, if it is a number.
    pub found: Option<Amount>,
    /// What is wanted, at least or at most as the rule says.
    pub wanted: Option<Amount>,
    /// What is wrong.
    pub problem: String,
    /// What to do about it.
    pub cure: String,
    /// Whose rule it is.
    pub source: Source,
}

/// A part to be checked. Lengths in mm.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'a> {
    /// What is cut, flat.
    pub shape: &'a Shape,
    /// The metal.
    pub material: Material,
    /// Its thickness.
    pub thickness: f64,
    /// What one weighs, kg.
    pub weight: f64,
    /// How it is cut, if that is known.
    pub process: Option<Process>,
    /// Width of the cut.
    pub kerf: f64,
    /// Holes that are countersunk or flared.
    pub worked_holes: &'a [WorkedHole],
    /// Its bends.
    pub bends: Option<BentSubject<'a>>,
    /// General tolerances of the drawing, if it has any.
    pub tolerances: Option<ToleranceClass>,
    /// The unit that texts speak in.
    pub unit: Unit,
}

/// The bends of a part to be checked.
#[derive(Clone, Copy, Debug)]
pub struct BentSubject<'a> {
    /// The part laid flat; its shape is the subject's.
    pub unfolding: &'a Unfolding,
    /// The metal in the state in which it is bent.
    pub grade: Grade,
    /// Direction of the grain on the flat pattern, degrees from the x axis, if the part is held to it.
    pub grain_deg: Option<f64>,
    /// How the punch drives the sheet into the die.
    pub method: Method,
    /// How it is bent on the shop's brake.
    pub plan: &'a BendingPlan,
    /// How it is bent on each of the shop's benders without punch and die.
    pub by_hand: &'a [HandPlan],
    /// Opening of the die that each bend is to be made in, mm, where the job lays that down; may be shorter than the bends.
    pub dies: &'a [Option<f64>],
}

/// A round hole that is more than cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorkedHole {
    /// Its middle.
    pub center: Point,
    /// Diameter that is cut.
    pub diameter: f64,
    /// What is done to it.
    pub work: HoleWork,
}

/// What is done to a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleWork {
    /// Countersunk.
    Countersunk {
        /// Diameter of the cone at the face of the sheet.
        diameter: f64,
        /// How deep it goes.
        depth: f64,
        /// Diameter of the screw that goes through, if the job names one.
        screw: Option<f64>,
    },
    /// Flared.
    Flared {
        /// Diameter over the flare.
        diameter: f64,
        /// How far it stands up, if the job says.
        depth: Option<f64>,
    },
    /// Tapped.
    Tapped {
        /// Outside diameter of the thread.
        major: f64,
        /// Its pitch.
        pitch: f64,
    },
}

/// Checks a part against the shop: the worst findings first.
#[must_use]
pub fn check(subject: &Subject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = flat::check(subject, shop);
    findings.extend(holes::check(subject, shop));
    findings.extend(corners::check(subject, shop));
    findings.extend(tools::check(subject, shop));
    findings.extend(metal::check(subject));
    if let Some(bends) = &subject.bends {
        findings.extend(bent::check(subject, bends, shop));
        findings.extend(machine::check(subject, bends, shop));
        findings.extend(dies::check(subject, bends, shop));
        findings.extend(hems::check(subject, bends, shop));
        findings.extend(notches::check(subject, bends));
    }
    for finding in &mut findings {
        finding.severity = finding.severity.min(Severity::most_by(finding.source));
    }
    // Stable: within one severity, in the order of the rules.
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    findings
}

impl Subject<'_> {
    fn length(&self, millimetres: f64) -> String {
        format_length(millimetres, self.unit)
    }
}

/// How a bend lies to the grain, within ten degrees; `None` where that is not known or it lies askew.
fn to_grain(line: [Point; 2], grain_deg: Option<f64>) -> Option<BendToGrain> {
    let apart = ((line[1] - line[0]).angle().to_degrees() - grain_deg?).rem_euclid(180.0);
    let apart = apart.min(180.0 - apart);
    match apart {
        ..=10.0 => Some(BendToGrain::Along),
        80.0.. => Some(BendToGrain::Across),
        _ => None,
    }
}

impl Amount {
    /// The number alone, in mm, kg, kN, degrees or threads.
    #[must_use]
    pub const fn value(self) -> f64 {
        match self {
            Self::Length(value)
            | Self::Weight(value)
            | Self::Force(value)
            | Self::Angle(value)
            | Self::Threads(value) => value,
        }
    }

    /// The unit of [`Amount::value`].
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Length(_) => "mm",
            Self::Weight(_) => "kg",
            Self::Force(_) => "kN",
            Self::Angle(_) => "degrees",
            Self::Threads(_) => "threads",
        }
    }

    /// The number with its unit, lengths and weights as goes with the job's unit.
    #[must_use]
    pub fn in_unit(self, unit: Unit) -> String {
        match self {
            Self::Length(millimetres) => format_length(millimetres, unit),
            Self::Weight(kilograms) => crate::weight::format_weight(kilograms, unit),
            Self::Force(kilonewtons) if unit.is_metric() => format!("{kilonewtons:.0} kN"),
            Self::Force(kilonewtons) => format!("{:.1} tons", kilonewtons / crate::bend::SHORT_TON),
            Self::Angle(degrees) => format!("{}°", (degrees * 100.0).round() / 100.0),
            Self::Threads(turns) => format!("{:.1} threads", turns),
        }
    }
}

impl Severity {
    /// All, the mildest first.
    pub const ALL: [Self; 3] = [Self::Note, Self::Warn, Self::Stop];

    /// The most that a rule of this source may say: what is only remembered, and what shops do without anybody having
    /// published it, warns and never stops.
    #[must_use]
    pub const fn most_by(source: Source) -> Self {
        if source.is_known() { Self::Stop } else { Self::Warn }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Note => "note",
            Self::Warn => "warn",
            Self::Stop => "stop",
        })
    }
}

impl Finding {
    /// Feature with its place, and problem with its numbers, in one sentence without a full stop.
    #[must_use]
    pub fn in_unit(&self, unit: Unit) -> String {
        let numbers = match (self.found, self.wanted) {
            (Some(Amount::Length(found)), Some(Amount::Length(wanted))) => {
                let [found, wanted] = format_lengths_apart(found, wanted, unit);
                format!(": {found}, wanted {wanted}")
            }
            (Some(found), Some(wanted)) => format!(": {}, wanted {}", found.in_unit(unit), wanted.in_unit(unit)),
            (Some(found), None) => format!(": {}", found.in_unit(unit)),
            (None, Some(wanted)) => format!(": wanted {}", wanted.in_unit(unit)),
            (None, None) => String::new(),
        };
        let place =
            self.at.map_or_else(String::new, |at| format!(" {}", names::place(at, |mm| format_length(mm, unit))));
        format!("{}{place} {}{numbers}", self.feature, self.problem)
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}. {} [{}]", self.severity, self.in_unit(Unit::Millimetre), self.cure, self.source)
    }
}
