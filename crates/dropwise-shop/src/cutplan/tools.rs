//! The tools at hand, and how fast they are.

use dropwise_geometry::{Segment, Unit};

use super::edges::Manner;
use crate::markout::HoleTools;
use crate::process::Process;
use crate::source::Source;

/// What a shop has to cut with.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopTools {
    /// Ways to cut that it owns, the one it would rather use first. A shear here is ignored: see `shear`.
    pub cutters: Vec<Process>,
    /// Its shear, if it has one.
    pub shear: Option<ShearTool>,
    /// Drills, hole saws and punches.
    pub holes: HoleTools,
    /// How long things take.
    pub rates: WorkRates,
    /// Whose word it is that these tools are all there are.
    pub source: Source,
}

/// A guillotine shear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShearTool {
    /// The longest cut it makes in one stroke, mm.
    pub length: f64,
    /// The thickest sheet it cuts, mm, of the metal in question.
    pub thickest: f64,
}

/// A rate and where it comes from. Change the value and say so in the source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate<T> {
    /// The value.
    pub value: T,
    /// Whose it is.
    pub source: Source,
}

/// How fast a way of cutting gets on.
#[derive(Clone, Debug, PartialEq)]
pub enum CutSpeed {
    /// The same in any thickness, mm in a minute.
    ByLength(f64),
    /// By the section that is cut, length times thickness, mm² in a minute.
    BySection(f64),
    /// By thickness: pairs of mm and mm in a minute, thinnest first, straight lines between, ends held.
    ByThickness(Vec<(f64, f64)>),
}

/// How long work takes and what it uses up. Rough: a shop's own stopwatch is always better.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkRates {
    /// Speed of each way of cutting; one that is not listed takes no time, which [`super::CutTotals`] says.
    pub speeds: Vec<(Process, Rate<CutSpeed>)>,
    /// Setting up one cut by hand: clamp, line up, turn the sheet; minutes.
    pub minutes_per_cut: Rate<f64>,
    /// One stroke of the shear with lining up, minutes.
    pub minutes_per_stroke: Rate<f64>,
    /// Centre punch and drill one hole, minutes.
    pub minutes_per_drilled_hole: Rate<f64>,
    /// One hole or inside corner with a hole saw, minutes.
    pub minutes_per_sawn_hole: Rate<f64>,
    /// One punched hole, minutes.
    pub minutes_per_punched_hole: Rate<f64>,
    /// Section, length times thickness, that one cutoff wheel cuts before it is worn down, mm².
    pub section_per_wheel: Rate<f64>,
}

const PRACTICE: Source = Source::COMMON_PRACTICE;
const LASER_CHART: Source = Source::derived("Laser cutting thickness and speed chart: 1 kW, middle of each range");
const PLASMA_MANUAL: Source = Source::derived("Plasma equipment manual: 40 A, best quality");

const fn practice(value: f64) -> Rate<f64> {
    Rate { value, source: PRACTICE }
}

/// Metres in a minute as the charts print them, in mm.
fn by_thickness(chart: &[(f64, f64)]) -> CutSpeed {
    CutSpeed::ByThickness(chart.iter().map(|&(thickness, metres)| (thickness, metres * 1000.0)).collect())
}

impl Default for WorkRates {
    /// Speeds in mild steel: laser and plasma from published charts, the rest common practice or from memory as each says.
    fn default() -> Self {
        let rate = |value, source| Rate { value, source };
        let laser =
            [(1.0, 9.0), (2.0, 5.25), (3.0, 2.7), (4.0, 2.2), (6.0, 1.5), (8.0, 1.0), (10.0, 0.8), (12.0, 0.65)];
        let plasma =
            [(1.0, 10.7), (2.0, 5.1), (3.0, 3.15), (4.0, 1.9), (6.0, 1.05), (8.0, 0.65), (10.0, 0.39), (12.0, 0.31)];
        let waterjet = [(3.0, 0.5), (6.0, 0.25), (12.0, 0.1)];
        Self {
            speeds: vec![
                (Process::CutoffWheel, rate(CutSpeed::BySection(750.0), PRACTICE)),
                (Process::Bandsaw, rate(CutSpeed::BySection(1000.0), PRACTICE)),
                (Process::Jigsaw, rate(CutSpeed::BySection(400.0), PRACTICE)),
                (Process::HandNibbler, rate(CutSpeed::ByLength(1000.0), PRACTICE)),
                (Process::Plasma, rate(by_thickness(&plasma), PLASMA_MANUAL)),
                (Process::OxyFuel, rate(CutSpeed::ByLength(500.0), Source::from_memory(""))),
                (Process::Laser, rate(by_thickness(&laser), LASER_CHART)),
                (Process::Waterjet, rate(by_thickness(&waterjet), Source::from_memory(""))),
            ],
            minutes_per_cut: practice(1.5),
            minutes_per_stroke: practice(1.0),
            minutes_per_drilled_hole: practice(1.5),
            minutes_per_sawn_hole: practice(4.0),
            minutes_per_punched_hole: practice(0.5),
            section_per_wheel: practice(6000.0),
        }
    }
}

impl CutSpeed {
    /// Speed in sheet of a thickness, mm in a minute.
    #[must_use]
    pub fn at(&self, thickness: f64) -> f64 {
        match self {
            Self::ByLength(speed) => *speed,
            Self::BySection(section) => section / thickness,
            Self::ByThickness(chart) => {
                let after = chart.partition_point(|row| row.0 < thickness);
                match (after.checked_sub(1).and_then(|before| chart.get(before)), chart.get(after)) {
                    (Some(&(t0, v0)), Some(&(t1, v1))) => v0 + (v1 - v0) * (thickness - t0) / (t1 - t0),
                    (Some(&(_, speed)), None) | (None, Some(&(_, speed))) => speed,
                    (None, None) => 0.0,
                }
            }
        }
    }
}

impl WorkRates {
    /// Minutes of cutting alone; `None` when no speed above zero is known for it.
    #[must_use]
    pub fn cutting_minutes(&self, process: Process, length: f64, thickness: f64) -> Option<f64> {
        let (_, rate) = self.speeds.iter().find(|(known, _)| *known == process)?;
        let speed = rate.value.at(thickness);
        (speed > 0.0 && speed.is_finite()).then(|| length / speed)
    }

    /// Where each rate comes from, for a report: what it is, and its source.
    #[must_use]
    pub fn sources(&self) -> Vec<(String, Source)> {
        let speeds = self.speeds.iter().map(|(process, rate)| (format!("speed of the {process}"), rate.source));
        let single = [
            ("time to set up a cut", self.minutes_per_cut),
            ("time of a stroke of the shear", self.minutes_per_stroke),
            ("time of a drilled hole", self.minutes_per_drilled_hole),
            ("time of a hole with a hole saw", self.minutes_per_sawn_hole),
            ("time of a punched hole", self.minutes_per_punched_hole),
            ("section cut by one wheel", self.section_per_wheel),
        ];
        speeds.chain(single.map(|(what, rate)| (what.to_owned(), rate.source))).collect()
    }
}

impl ShopTools {
    /// A cutoff wheel in a hand grinder, and the common drills and hole saws that go with a job's unit.
    #[must_use]
    pub fn beside(unit: Unit) -> Self {
        Self {
            cutters: vec![Process::CutoffWheel],
            shear: None,
            holes: HoleTools::beside(unit),
            rates: WorkRates::default(),
            source: PRACTICE,
        }
    }

    /// The tools for a job that is cut in a way that it names: that one comes first, owned or not, since kerf and web of
    /// the job are its own. A shear that nobody described is taken to reach across any sheet.
    #[must_use]
    pub fn for_job(&self, process: Option<Process>) -> Self {
        let mut tools = self.clone();
        match process {
            None => {}
            Some(Process::Shear) => {
                let endless = ShearTool { length: f64::INFINITY, thickest: f64::INFINITY };
                tools.shear = tools.shear.or(Some(endless));
            }
            Some(process) => {
                tools.cutters.retain(|owned| *owned != process);
                tools.cutters.insert(0, process);
            }
        }
        tools
    }

    /// Those that go through sheet of this thickness, mm.
    #[must_use]
    pub fn in_sheet(&self, thickness: f64) -> Self {
        Self { holes: self.holes.in_sheet(thickness), ..self.clone() }
    }

    /// Which tool cuts a side that no hole makes, and how: the one place that decides, for the checks before a nest and for the
    /// cut plan after it.
    #[must_use]
    pub fn side(&self, side: &Segment, is_inner: bool) -> (Option<Process>, Manner) {
        let Segment::Arc { arc, .. } = side else { return (self.cutter(true, is_inner), Manner::Straight) };
        match self.cutter(false, is_inner) {
            Some(tool) => (Some(tool), Manner::Curve),
            // An outside curve can be cut in flats and ground to the line.
            None if arc.sweep > 0.0 => (self.cutter(true, is_inner), Manner::FlatsThenGrind),
            None => (None, Manner::Curve),
        }
    }

    /// The first tool owned for a kind of cut.
    pub(crate) fn cutter(&self, is_straight: bool, is_inner: bool) -> Option<Process> {
        let does = |process: &Process| match process {
            Process::Shear => false,
            // Its band is closed: it comes in from an edge only.
            Process::Bandsaw => !is_inner,
            Process::CutoffWheel => is_straight,
            _ => true,
        };
        self.cutters.iter().copied().find(does)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of the published charts: laser 1 kW 3 mm 2.4 to 3 m/min and 10 mm 0.6 to 1.0 ("Laser cutting thickness and
    /// speed chart"); plasma 40 A 3 mm 3.15 and 12 mm 0.31 ("Plasma equipment manual").
    #[test]
    fn charted_speeds_are_the_published_ones() {
        let rates = WorkRates::default();
        for (process, thickness, lowest, highest) in [
            (Process::Laser, 3.0, 2400.0, 3000.0),
            (Process::Laser, 10.0, 600.0, 1000.0),
            (Process::Laser, 20.0, 500.0, 800.0), // held at 12 mm
            (Process::Plasma, 3.0, 3150.0, 3150.0),
            (Process::Plasma, 12.0, 310.0, 310.0),
            (Process::Plasma, 0.5, 10_700.0, 10_700.0),
            (Process::Plasma, 3.5, (3150.0 + 1900.0) / 2.0, (3150.0 + 1900.0) / 2.0),
        ] {
            let minutes = rates.cutting_minutes(process, 1000.0, thickness).unwrap();
            let speed = 1000.0 / minutes;
            assert!((lowest - 1e-6..=highest + 1e-6).contains(&speed), "{process} {thickness}: {speed}");
        }
        for process in Process::ALL {
            let is_known = rates.cutting_minutes(process, 1.0, 3.0).is_some();
            assert_eq!(is_known, process != Process::Shear, "{process}");
        }
        assert_eq!(rates.sources().len(), 8 + 6);
    }

    #[test]
    fn a_wheel_cuts_no_curves_and_a_bandsaw_no_windows() {
        let tools =
            ShopTools { cutters: vec![Process::Bandsaw, Process::CutoffWheel], ..ShopTools::beside(Unit::Inch) };
        assert_eq!(tools.cutter(true, false), Some(Process::Bandsaw));
        assert_eq!(tools.cutter(true, true), Some(Process::CutoffWheel));
        assert_eq!(tools.cutter(false, false), Some(Process::Bandsaw));
        assert_eq!(tools.cutter(false, true), None);
    }
}
