//! Lengths, counts, rough time and wheels.

use std::collections::BTreeSet;

use dropwise_model::set_ups;

use super::edges::{Cut, Manner, Work};
use super::tools::WorkRates;
use crate::bend::drills::HoleTool;
use crate::cost::{CuttingRate, Rates};
use crate::markout::HoleMethod;
use crate::process::Process;

/// What a sheet takes.
///
/// The lengths of `cutters`, `by_hole_tools`, `sheared`, `on_edge` and `undone` add up to the perimeters of all parts,
/// openings included. A line that two parts share counts for both.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutTotals {
    /// By way of cutting, the longest first.
    pub cutters: Vec<CutterTotal>,
    /// Edges that drills, hole saws and punches make: round holes and inside corners, mm.
    pub by_hole_tools: f64,
    /// Edges that the shear makes, mm.
    pub sheared: f64,
    /// Edges that lie on the edge of the stock and need no cut, mm.
    pub on_edge: f64,
    /// Edges that no tool owned can cut, mm.
    pub undone: f64,
    /// Strokes of the shear.
    pub strokes: usize,
    /// Holes that are drilled, inside corners among them.
    pub drilled: usize,
    /// Holes and inside corners made with a hole saw.
    pub sawn: usize,
    /// Holes that are punched.
    pub punched: usize,
    /// Time of all of it, minutes, as far as rates are known.
    pub minutes: f64,
    /// Ways of cutting whose speed is not known and whose cutting time is missing from `minutes`.
    pub untimed: Vec<Process>,
    /// Cutoff wheels used up, with parts of a wheel.
    pub wheels: f64,
}

/// What one way of cutting does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutterTotal {
    /// Which.
    pub process: Process,
    /// How far it cuts, mm.
    pub length: f64,
    /// In how many cuts.
    pub cuts: usize,
    /// How often the work is set up for it by hand. A tool that goes round corners is set up once for each outline or
    /// opening; one that cuts straight only once for each line along which straight cuts lie ([`dropwise_model::set_ups`]),
    /// and for each other cut; a table that is driven not at all.
    pub set_ups: usize,
    /// How long cutting alone takes, minutes; `None` when its speed is not known.
    pub minutes: Option<f64>,
}

impl CutTotals {
    pub(super) fn of(work: &Work, strokes: usize, thickness: f64, rates: &WorkRates) -> Self {
        let mut totals = Self { sheared: work.sheared, on_edge: work.on_edge, strokes, ..Self::default() };
        for hole in &work.holes {
            totals.by_hole_tools += std::f64::consts::TAU * hole.circle.radius;
            match hole.method {
                HoleMethod::Punch(_) => totals.punched += 1,
                HoleMethod::Tool(tool) => totals.count(tool.tool),
                HoleMethod::ToTheLine => {}
            }
        }
        for corner in &work.corners {
            if let Some(tool) = corner.tool {
                totals.by_hole_tools += corner.length;
                totals.count(tool.tool);
            }
        }
        let mut rings: BTreeSet<(Process, usize, usize)> = BTreeSet::new();
        for cut in &work.cuts {
            let length = cut.side.length();
            let Some(process) = cut.tool else {
                totals.undone += length;
                continue;
            };
            let is_new_ring = rings.insert((process, cut.placement, cut.ring));
            // Straight cuts by hand are counted by their lines, below.
            let is_in_line = cut.manner == Manner::Straight && !goes_round(process);
            let set_ups = usize::from(is_by_hand(process) && !is_in_line && (is_new_ring || !goes_round(process)));
            match totals.cutters.iter_mut().find(|total| total.process == process) {
                Some(total) => {
                    total.length += length;
                    total.cuts += 1;
                    total.set_ups += set_ups;
                }
                None => totals.cutters.push(CutterTotal { process, length, cuts: 1, set_ups, minutes: None }),
            }
        }
        for total in totals.cutters.iter_mut().filter(|total| is_by_hand(total.process) && !goes_round(total.process)) {
            let is_counted = |cut: &&Cut| cut.tool == Some(total.process) && cut.manner == Manner::Straight;
            let sides = work.cuts.iter().filter(is_counted).map(|cut| (cut.side.start(), cut.side.end()));
            total.set_ups += set_ups(&sides.collect::<Vec<_>>());
        }
        totals.cutters.sort_by(|a, b| b.length.total_cmp(&a.length).then(a.process.cmp(&b.process)));
        for total in &mut totals.cutters {
            total.minutes = rates.cutting_minutes(total.process, total.length, thickness);
            totals.minutes += total.minutes.unwrap_or(0.0);
            totals.minutes += rates.minutes_per_cut.value * total.set_ups as f64;
            if total.minutes.is_none() {
                totals.untimed.push(total.process);
            }
            if total.process == Process::CutoffWheel && rates.section_per_wheel.value > 0.0 {
                totals.wheels = total.length * thickness / rates.section_per_wheel.value;
            }
        }
        totals.minutes += rates.minutes_per_stroke.value * strokes as f64
            + rates.minutes_per_drilled_hole.value * totals.drilled as f64
            + rates.minutes_per_sawn_hole.value * totals.sawn as f64
            + rates.minutes_per_punched_hole.value * totals.punched as f64;
        totals
    }

    fn count(&mut self, tool: HoleTool) {
        match tool {
            HoleTool::Drill => self.drilled += 1,
            HoleTool::HoleSaw => self.sawn += 1,
        }
    }

    /// All edges of all parts, mm.
    #[must_use]
    pub fn edges(&self) -> f64 {
        let cut: f64 = self.cutters.iter().map(|total| total.length).sum();
        cut + self.by_hole_tools + self.sheared + self.on_edge + self.undone
    }
}

/// Whether a way of cutting follows corners and curves without being set down, so that an outline is one cut by hand.
/// Common practice, no source.
#[must_use]
pub const fn goes_round(process: Process) -> bool {
    matches!(process, Process::Plasma | Process::OxyFuel | Process::Jigsaw | Process::HandNibbler)
}

/// What setting up one straight cut costs in a way of cutting, in the smallest coin: zero where nothing is set up for it. An
/// hour that the rates do not name costs [`USUAL_HOUR`].
#[must_use]
pub fn coins_per_set_up(process: Process, rates: &Rates) -> f64 {
    if !is_by_hand(process) || goes_round(process) || process == Process::Shear {
        return 0.0;
    }
    let coins_per_hour = match rates.cutting {
        Some(CuttingRate::ByTime { coins_per_hour, .. }) => coins_per_hour,
        _ => USUAL_HOUR,
    };
    WorkRates::default().minutes_per_cut.value * coins_per_hour / 60.0
}

/// An hour at the bench, in the smallest coin. A guess about the shop, no source; it only weighs one way of laying parts against
/// another.
pub const USUAL_HOUR: f64 = 3000.0;

/// Whether each cut is lined up and clamped by hand. Tables that are driven go from cut to cut by themselves.
const fn is_by_hand(process: Process) -> bool {
    !matches!(process, Process::Laser | Process::Waterjet)
}
