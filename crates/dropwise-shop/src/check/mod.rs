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
//! | countersink | no deeper than the sheet; 4 T to an edge, 8 T to another, 4 T + R to a bend | "Sheet metal design guidelines" |
//! | flared hole | a die of its size; flares a diameter apart, T + R + 1/4 in to edges and bends | from memory |
//! | leg on the die | 0.71 V at a square bend | "How to calculate bending force" |
//! | inside radius | by metal and thickness | see [`minimum_radius`](crate::bend::minimum_radius) |
//! | relief | at least half the thickness wide | "Bend relief requirements" |
//! | space of its own | the finished part nowhere takes the same space twice | geometry, see [`SelfOverlap`](crate::fold::SelfOverlap) |
//! | bend | within the brake's length and force | see [`ForceRule`](crate::bend::ForceRule) |
//! | weight | what one person lifts | NIOSH lifting equation |
//!
//! Where sources disagree on bends: for hole to bend, 2 T clear of the radius against 3 T + R ("Sheet Metal Part Design
//! Guide"), of which the first warns and the second is a note; for the shortest flange 4 T ("Sheet Metal Design Guide")
//! or 3 T + R against what the die holds, which is taken since the die is known; for forces and K-factors see
//! [`bend`](crate::bend).

mod bent;
mod corners;
mod flat;
mod group;
mod holes;
mod names;
#[cfg(test)]
mod tests;

use std::fmt;

pub use group::{FindingGroup, gathered};

use dropwise_geometry::{Point, Shape, Unit, format_length, format_lengths_apart};

use crate::bend::{BendToGrain, Grade};
use crate::bend_plan::BendingPlan;
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
    /// How it is bent on the shop's brake.
    pub plan: &'a BendingPlan,
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
    },
    /// Flared.
    Flared {
        /// Diameter over the flare.
        diameter: f64,
    },
}

/// Checks a part against the shop: the worst findings first.
#[must_use]
pub fn check(subject: &Subject<'_>, shop: &Shop) -> Vec<Finding> {
    let mut findings = flat::check(subject, shop);
    findings.extend(holes::check(subject, shop));
    findings.extend(corners::check(subject, shop));
    if let Some(bends) = &subject.bends {
        findings.extend(bent::check(subject, bends, shop));
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
    /// The number alone, in mm, kg or kN.
    #[must_use]
    pub const fn value(self) -> f64 {
        match self {
            Self::Length(value) | Self::Weight(value) | Self::Force(value) => value,
        }
    }

    /// The unit of [`Amount::value`].
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Length(_) => "mm",
            Self::Weight(_) => "kg",
            Self::Force(_) => "kN",
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
        }
    }
}

impl Severity {
    /// All, the mildest first.
    pub const ALL: [Self; 3] = [Self::Note, Self::Warn, Self::Stop];
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
