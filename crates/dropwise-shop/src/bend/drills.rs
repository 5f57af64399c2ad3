//! Drills and hole saws that shops own: the nearest common size for a hole.

use std::fmt;

use crate::source::Source;

const INCH: f64 = 25.4;

/// What makes a round hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HoleTool {
    /// Twist drill.
    Drill,
    /// Hole saw.
    HoleSaw,
}

/// A common size of drill or hole saw. Prints as it is asked for: `17/64 in drill`, `54 mm hole saw`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CommonSize {
    /// What it is.
    pub tool: HoleTool,
    /// Its size.
    pub size: Size,
    /// Where it comes from that the size is common.
    pub source: Source,
}

/// A size as it is stamped on the tool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// In 64ths of an inch.
    SixtyFourths(u32),
    /// In tenths of a millimetre.
    Tenths(u32),
}

/// Which sizes to look among.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SizeSystem {
    /// Fractions of an inch.
    Inch,
    /// Millimetres.
    Metric,
}

/// Source of the fractional drills, 1/16 to 1/2 in by 64ths.
pub const FRACTIONAL_SOURCE: Source = Source::from_memory("fractional jobber set of 29");

/// Source of the hole saws for conduit.
pub const CONDUIT_SOURCE: Source = Source::confirmed("Hole saw guides");

/// Source of the other hole saws.
pub const HOLE_SAW_SOURCE: Source = Source::from_memory("makers' lists of hole saws");

/// Hole saws for conduit: trade size of the conduit and size of the saw, both in 64ths of an inch.
pub const CONDUIT_SAWS: [(u32, u32); 6] = [(32, 56), (48, 72), (64, 88), (80, 112), (96, 128), (128, 160)];

/// Metric hole saws often met, mm.
pub const METRIC_SAWS: [u32; 19] = [16, 19, 20, 22, 25, 29, 32, 35, 38, 40, 44, 51, 57, 64, 68, 76, 83, 89, 102];

impl Size {
    /// Diameter, mm.
    #[must_use]
    pub const fn diameter(self) -> f64 {
        match self {
            Self::SixtyFourths(n) => n as f64 / 64.0 * INCH,
            Self::Tenths(n) => n as f64 / 10.0,
        }
    }
}

/// The common sizes of one system, drills first, each kind from small to large.
///
/// Inch drills run from 1/16 to 1/2 in by 64ths; inch hole saws from 9/16 to 1 1/2 in by 16ths and on to 6 in by 8ths.
/// Metric drills run from 1 to 13 mm by half millimetres (common practice, no source).
#[must_use]
pub fn common_sizes(system: SizeSystem) -> Vec<CommonSize> {
    let drill = |size, source| CommonSize { tool: HoleTool::Drill, size, source };
    let saw = |size, source| CommonSize { tool: HoleTool::HoleSaw, size, source };
    match system {
        SizeSystem::Inch => {
            let drills = (4..=32).map(|n| drill(Size::SixtyFourths(n), FRACTIONAL_SOURCE));
            let saws = (36..=96).step_by(4).chain((104..=384).step_by(8)).map(|n| {
                let is_conduit = n == 136 || CONDUIT_SAWS.iter().any(|&(_, size)| size == n);
                saw(Size::SixtyFourths(n), if is_conduit { CONDUIT_SOURCE } else { HOLE_SAW_SOURCE })
            });
            drills.chain(saws).collect()
        }
        SizeSystem::Metric => {
            let drills = (10..=130).step_by(5).map(|n| drill(Size::Tenths(n), Source::COMMON_PRACTICE));
            let saws = METRIC_SAWS.iter().map(|n| saw(Size::Tenths(n * 10), HOLE_SAW_SOURCE));
            drills.chain(saws).collect()
        }
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Tenths(n) if n % 10 == 0 => write!(f, "{} mm", n / 10),
            Self::Tenths(n) => write!(f, "{}.{} mm", n / 10, n % 10),
            Self::SixtyFourths(n) => {
                let (whole, rest) = (n / 64, n % 64);
                let shift = rest.trailing_zeros().min(6);
                let (top, bottom) = (rest >> shift, 64 >> shift);
                match (whole, rest) {
                    (_, 0) => write!(f, "{whole} in"),
                    (0, _) => write!(f, "{top}/{bottom} in"),
                    _ => write!(f, "{whole} {top}/{bottom} in"),
                }
            }
        }
    }
}

impl fmt::Display for CommonSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tool = match self.tool {
            HoleTool::Drill => "drill",
            HoleTool::HoleSaw => "hole saw",
        };
        write!(f, "{} {tool}", self.size)
    }
}
