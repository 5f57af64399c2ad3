//! The table of presets.

use super::{Figure, Preset, Process};
use crate::source::Source;

const LASER_GUIDE: Source = Source::confirmed("Laser vs waterjet vs plasma guide");
const LASER_RULES: Source =
    Source::confirmed("Laser vs waterjet vs plasma guide; Laser cutting design rules: 0.13 to 0.38");
const PLASMA_TABLE: Source = Source::confirmed("Plasma cutting design table");
const MEMORY: Source = Source::from_memory("");

/// A cutoff wheel of the usual thickness, 0.045 in, mm.
const USUAL_WHEEL: f64 = 1.143;

/// By hand a wheel wobbles, which widens the cut by this much, mm: lowest and highest.
const WOBBLE: (f64, f64) = (0.2, 0.5);

/// Metal that a hand-held tool needs between two cuts, mm: lowest and highest.
const BETWEEN_HAND_CUTS: (f64, f64) = (3.0, 6.0);

const USABLE_EDGE: &str = "zero where the sheet's edge is sound and square enough to be the part's own edge";

/// The middle of a published range.
const fn range(low: f64, high: f64, source: Source, note: &'static str) -> Figure {
    Figure { millimetres: (low + high) / 2.0, published: (low, high), source, note }
}

/// A value published as the least.
const fn at_least(least: f64, source: Source, note: &'static str) -> Figure {
    Figure { millimetres: least, published: (least, least), source, note }
}

/// A range, or the value that goes with the thickness where that is greater.
fn range_or(low: f64, high: f64, by_thickness: f64, source: Source, note: &'static str) -> Figure {
    let figure = range(low, high, source, note);
    Figure {
        millimetres: figure.millimetres.max(by_thickness),
        published: (low.max(by_thickness), high.max(by_thickness)),
        ..figure
    }
}

/// Kerf and 3 to 6 mm: what a tool held in the hand needs.
fn hand_web(kerf: Figure, source: Source) -> Figure {
    let (low, high) = BETWEEN_HAND_CUTS;
    Figure {
        millimetres: kerf.millimetres + (low + high) / 2.0,
        published: (kerf.published.0 + low, kerf.published.1 + high),
        source,
        note: "kerf and 3 to 6 mm",
    }
}

pub(super) fn preset(process: Process, thickness: f64) -> Preset {
    let (kerf, web, margin) = match process {
        Process::CutoffWheel => {
            let kerf = Figure {
                millimetres: USUAL_WHEEL + (WOBBLE.0 + WOBBLE.1) / 2.0,
                // Wheels are sold from 1.0 mm to 1/8 in.
                published: (1.0 + WOBBLE.0, 3.175 + WOBBLE.1),
                source: Source::derived("Cutoff wheel thickness: 0.045 in is usual"),
                note: "a wheel of 0.045 in and 0.35 mm of wobble by hand (wobble from memory)",
            };
            (kerf, hand_web(kerf, MEMORY), at_least(3.0, Source::COMMON_PRACTICE, USABLE_EDGE))
        }
        Process::Bandsaw => {
            let kerf = range(0.9, 1.6, MEMORY, "a band of 0.020 to 0.042 in");
            (kerf, hand_web(kerf, Source::COMMON_PRACTICE), at_least(3.0, Source::COMMON_PRACTICE, USABLE_EDGE))
        }
        Process::Jigsaw => {
            let kerf = range(1.0, 1.3, MEMORY, "a metal blade");
            (kerf, hand_web(kerf, MEMORY), at_least(3.0, Source::COMMON_PRACTICE, USABLE_EDGE))
        }
        Process::Shear => (
            at_least(0.0, MEMORY, "nothing is removed; set the blades 5 to 10 % of the thickness apart"),
            at_least(0.0, MEMORY, "every cut must run from edge to edge"),
            at_least(0.0, MEMORY, "square the edge of the sheet first"),
        ),
        Process::Plasma => (
            range(1.5, 3.0, LASER_GUIDE, "high definition about 1 mm; Plasma cutting design table: 1.5 to 3.5"),
            at_least(5.0, PLASMA_TABLE, "5 mm or more"),
            at_least(10.0, MEMORY, ""),
        ),
        Process::OxyFuel => {
            let kerf = if thickness <= 6.0 {
                let note = "to 6 mm of plate; below 6 mm the cut is difficult, and by hand 3 mm wide has been measured";
                range(1.0, 1.5, MEMORY, note)
            } else {
                range(1.5, 2.5, MEMORY, "over 6 to 25 mm of plate; wider above")
            };
            let note = "the greater of thickness and 10 mm; by hand from templates 1/8 in has been used \
                        (Practical Action turbine fabrication manual)";
            (kerf, at_least(thickness.max(10.0), MEMORY, note), range(10.0, 15.0, MEMORY, ""))
        }
        Process::Laser => (
            range(0.1, 0.3, LASER_RULES, ""),
            range_or(2.0, 3.0, thickness, MEMORY, "the greater of thickness and 2 to 3 mm"),
            range(5.0, 10.0, MEMORY, ""),
        ),
        Process::Waterjet => (
            range(0.8, 1.2, LASER_GUIDE, ""),
            range_or(2.0, 3.0, thickness / 2.0, MEMORY, "the greater of half the thickness and 2 to 3 mm"),
            range(5.0, 10.0, MEMORY, ""),
        ),
        Process::HandNibbler => {
            let kerf = range(2.0, 8.0, MEMORY, "the width of the tool: measure yours");
            (kerf, hand_web(kerf, Source::COMMON_PRACTICE), at_least(3.0, Source::COMMON_PRACTICE, USABLE_EDGE))
        }
    };
    Preset { process, kerf, web, margin }
}
