//! Which tool makes which hole.

use std::fmt;

use dropwise_geometry::Unit;

use crate::bend::drills::{CommonSize, HoleTool, SizeSystem, common_sizes};
use crate::source::Source;
use crate::thickness::trade_size;

/// Hole-making tools that a shop owns. Empty lists are fine.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HoleTools {
    /// Drills and hole saws.
    pub sizes: Vec<CommonSize>,
    /// Round punches.
    pub punches: Vec<RoundPunch>,
}

/// A round punch with its die.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundPunch {
    /// The hole that it makes, mm.
    pub diameter: f64,
    /// The thickest sheet it goes through, mm, if the shop says so.
    pub thickest: Option<f64>,
}

/// No punch goes through sheet thicker than its own diameter: source of that rule.
pub const THINNEST_PUNCH_SOURCE: Source = Source::confirmed("Sheet Metal Part Design Guide");

impl RoundPunch {
    /// A punch of which only the hole is known.
    #[must_use]
    pub const fn of(diameter: f64) -> Self {
        Self { diameter, thickest: None }
    }

    /// The thickest sheet it goes through, mm: as the shop says, or as thick as it is wide.
    ///
    /// # Source
    /// [`THINNEST_PUNCH_SOURCE`]: a punched hole is no smaller than the sheet is thick.
    #[must_use]
    pub fn limit(self) -> f64 {
        self.thickest.unwrap_or(self.diameter)
    }
}

impl HoleTools {
    /// Every common drill and hole saw of one system, and no punches: what to start from until a shop lists its own.
    #[must_use]
    pub fn common(system: SizeSystem) -> Self {
        Self { sizes: common_sizes(system), punches: Vec::new() }
    }

    /// The common tools that go with a job's unit.
    #[must_use]
    pub fn beside(unit: Unit) -> Self {
        Self::common(if unit.is_metric() { SizeSystem::Metric } else { SizeSystem::Inch })
    }

    /// Those that go through sheet of this thickness, mm.
    #[must_use]
    pub fn in_sheet(&self, thickness: f64) -> Self {
        let goes_through = |punch: &RoundPunch| punch.limit() >= thickness - 1e-9;
        Self { sizes: self.sizes.clone(), punches: self.punches.iter().copied().filter(goes_through).collect() }
    }

    /// The hole saw or drill that makes an inside corner of this radius, mm: within what a corner may miss.
    #[must_use]
    pub fn for_inside_corner(&self, radius: f64) -> Option<CommonSize> {
        self.near(2.0 * radius, CORNER_MISS.0, CORNER_MISS.1).first().copied()
    }

    /// The sizes next to a diameter, mm, that are owned: the largest below and the smallest above, in words with their
    /// tools, punches among them.
    #[must_use]
    pub fn nearest(&self, diameter: f64) -> [Option<(f64, HoleMethod)>; 2] {
        let all = || {
            let sizes = self.sizes.iter().map(|&size| (size.size.diameter(), HoleMethod::Tool(size)));
            sizes.chain(self.punches.iter().map(|punch| (punch.diameter, HoleMethod::Punch(punch.diameter))))
        };
        let below = all().filter(|(size, _)| *size <= diameter).max_by(|a, b| a.0.total_cmp(&b.0));
        let above = all().filter(|(size, _)| *size > diameter).min_by(|a, b| a.0.total_cmp(&b.0));
        [below, above]
    }

    /// The hole saws and drills whose diameter is within `below` and `above` of one asked for, mm, nearest first.
    pub(crate) fn near(&self, diameter: f64, below: f64, above: f64) -> Vec<CommonSize> {
        let miss = |size: &CommonSize| size.size.diameter() - diameter;
        let mut near: Vec<CommonSize> =
            self.sizes.iter().copied().filter(|size| (-below..=above).contains(&miss(size))).collect();
        near.sort_by(|a, b| miss(a).abs().total_cmp(&miss(b).abs()));
        near
    }
}

/// How a round hole is made. Prints as `17/64 in drill`, `9 mm punch`, `cut to the line`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleMethod {
    /// With a drill or hole saw.
    Tool(CommonSize),
    /// With a punch of this size, mm.
    Punch(f64),
    /// No tool has its size: it is cut or filed to the line.
    ToTheLine,
}

/// A drill or punch may miss a hole's size by so much, mm, below and above.
///
/// Common practice, no source: 1/64 in above, a quarter of what coarse clearance holes add to fine ones at M8 (ISO 273: 8.4
/// and 10 mm); below, what a worn drill makes up by itself.
const DRILL_MISS: (f64, f64) = (0.1, 0.4);

/// How much smaller or larger than an inside corner a hole saw may be, mm. Common practice, no source: smaller leaves
/// metal to file, larger takes metal off the part.
const CORNER_MISS: (f64, f64) = (1.0, 0.2);

/// A hole saw may miss a hole's size by so much, mm; it cuts wider than it measures anyway. Common practice, no source.
const SAW_MISS: (f64, f64) = (0.2, 1.0);

impl HoleMethod {
    /// The method for a hole of this diameter, mm: the owned size that comes nearest within what a hole of that kind may
    /// miss. Where two come equally near, a punch comes before a drill and a drill before a hole saw.
    #[must_use]
    pub fn choose(diameter: f64, tools: &HoleTools) -> Self {
        let punches = tools.punches.iter().map(|punch| (punch.diameter, DRILL_MISS, Self::Punch(punch.diameter)));
        let of_kind = |kind: HoleTool, miss: (f64, f64)| {
            let owned = tools.sizes.iter().filter(move |size| size.tool == kind);
            owned.map(move |&size| (size.size.diameter(), miss, Self::Tool(size)))
        };
        let candidates =
            punches.chain(of_kind(HoleTool::Drill, DRILL_MISS)).chain(of_kind(HoleTool::HoleSaw, SAW_MISS));
        let mut best = (f64::INFINITY, Self::ToTheLine);
        for (size, (below, above), method) in candidates {
            let miss = size - diameter;
            // A hair of rounding decides nothing.
            if (-below - 1e-9..=above + 1e-9).contains(&miss) && miss.abs() < best.0 - 1e-9 {
                best = (miss.abs(), method);
            }
        }
        best.1
    }

    /// Size of its tool, mm.
    #[must_use]
    pub const fn size(self) -> Option<f64> {
        match self {
            Self::Tool(tool) => Some(tool.size.diameter()),
            Self::Punch(size) => Some(size),
            Self::ToTheLine => None,
        }
    }
}

impl fmt::Display for HoleMethod {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tool(tool) => tool.fmt(f),
            Self::Punch(size) => write!(f, "{} punch", trade_size(*size)),
            Self::ToTheLine => f.write_str("cut to the line"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clearance holes against the drills that published charts name for them: "Tap and clearance drill chart" (1/4 in
    /// screw 17/64, 3/8 in 25/64), "Clearance hole sizes ISO 273" (medium: M5 5.5, M8 9, M10 11), and "Hole saw guides" (1/2
    /// trade size 7/8 in, 2 1/8 in for 54 mm).
    #[test]
    fn published_holes_find_their_tool() {
        let (inch, metric) = (HoleTools::common(SizeSystem::Inch), HoleTools::common(SizeSystem::Metric));
        for (diameter, tools, expected) in [
            (0.2656 * 25.4, &inch, "17/64 in drill"),
            (0.3906 * 25.4, &inch, "25/64 in drill"),
            (5.5, &metric, "5.5 mm drill"),
            (9.0, &metric, "9 mm drill"),
            (11.0, &metric, "11 mm drill"),
            (0.875 * 25.4, &inch, "7/8 in hole saw"),
            (54.0, &inch, "2 1/8 in hole saw"),
            // 9/16 in: one hole saw has it, and the largest drill is 1/16 in short.
            (14.3, &inch, "9/16 in hole saw"),
            (36.5, &metric, "cut to the line"),
            (0.5, &metric, "cut to the line"),
        ] {
            assert_eq!(HoleMethod::choose(diameter, tools).to_string(), expected, "{diameter}");
        }
    }

    #[test]
    fn a_punch_comes_before_a_drill_of_its_size() {
        let tools = HoleTools { punches: vec![RoundPunch::of(9.0)], ..HoleTools::common(SizeSystem::Metric) };
        assert_eq!(HoleMethod::choose(9.0, &tools), HoleMethod::Punch(9.0));
        assert_eq!(HoleMethod::choose(9.0, &HoleTools::default()), HoleMethod::ToTheLine);
        assert_eq!(HoleMethod::choose(9.0, &tools).to_string(), "9 mm punch");
        assert_eq!(HoleMethod::Punch(0.375 * 25.4).to_string(), "3/8 in punch");
    }

    /// "Sheet Metal Part Design Guide": a punched hole is as wide as the sheet is thick, or wider; a shop may know better.
    #[test]
    fn a_punch_goes_through_sheet_as_thick_as_it_is_wide() {
        let with = |thickest| HoleTools { punches: vec![RoundPunch { diameter: 5.0, thickest }], sizes: Vec::new() };
        let makes = |tools: HoleTools, thickness| HoleMethod::choose(5.0, &tools.in_sheet(thickness)).size().is_some();
        assert!(makes(with(None), 5.0) && !makes(with(None), 5.1));
        assert!(makes(with(Some(3.0)), 3.0) && !makes(with(Some(3.0)), 3.1));
        assert!(makes(with(Some(8.0)), 6.0));
        let [below, above] = with(None).nearest(5.0);
        assert!(below.is_some() && above.is_none());
    }

    #[test]
    fn what_may_be_missed_ends_where_it_says() {
        let tools = HoleTools { punches: vec![RoundPunch::of(10.0)], ..HoleTools::default() };
        for (diameter, is_made) in [(10.1, true), (10.11, false), (9.6, true), (9.59, false)] {
            assert_eq!(HoleMethod::choose(diameter, &tools) != HoleMethod::ToTheLine, is_made, "{diameter}");
        }
    }
}
