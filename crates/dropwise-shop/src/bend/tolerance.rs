//! General tolerances of ISO 2768-1, for dimensions whose drawing gives none.
//!
//! A stored copy of the table prints 0.15 and 0.2 for class c up to 6 mm: values of the older DIN 7168, not used here.

use std::fmt;

use crate::source::Source;

/// A class of ISO 2768-1. Sheet-metal shops mostly work to medium or coarse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ToleranceClass {
    /// f.
    Fine,
    /// m.
    Medium,
    /// c.
    Coarse,
    /// v.
    VeryCoarse,
}

/// A row of the table of lengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinearRow {
    /// Nominal length up to which it holds, mm, that length included; the row before ends where it begins.
    pub to: f64,
    /// Plus or minus, mm, of f, m, c, v; `None` where the class has none.
    pub plus_minus: [Option<f64>; 4],
}

/// A row of the table of angles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AngularRow {
    /// Length of the angle's shorter leg up to which it holds, mm.
    pub to: f64,
    /// Plus or minus, minutes of arc, of f, m, c, v.
    pub minutes: [f64; 4],
}

/// Source of [`LINEAR`].
pub const LINEAR_SOURCE: Source = Source::confirmed("DIN ISO 2768-1 extract");

/// Source of [`ANGULAR`].
pub const ANGULAR_SOURCE: Source = Source::from_memory("ISO 2768-1");

/// Smallest length that the table covers, mm. Below, the drawing must say.
pub const SMALLEST_TOLERATED: f64 = 0.5;

/// Lengths.
pub const LINEAR: [LinearRow; 8] = [
    LinearRow { to: 3.0, plus_minus: [Some(0.05), Some(0.1), Some(0.2), None] },
    LinearRow { to: 6.0, plus_minus: [Some(0.05), Some(0.1), Some(0.3), Some(0.5)] },
    LinearRow { to: 30.0, plus_minus: [Some(0.1), Some(0.2), Some(0.5), Some(1.0)] },
    LinearRow { to: 120.0, plus_minus: [Some(0.15), Some(0.3), Some(0.8), Some(1.5)] },
    LinearRow { to: 400.0, plus_minus: [Some(0.2), Some(0.5), Some(1.2), Some(2.5)] },
    LinearRow { to: 1000.0, plus_minus: [Some(0.3), Some(0.8), Some(2.0), Some(4.0)] },
    LinearRow { to: 2000.0, plus_minus: [Some(0.5), Some(1.2), Some(3.0), Some(6.0)] },
    LinearRow { to: 4000.0, plus_minus: [None, Some(2.0), Some(4.0), Some(8.0)] },
];

/// Angles, by their shorter leg.
pub const ANGULAR: [AngularRow; 5] = [
    AngularRow { to: 10.0, minutes: [60.0, 60.0, 90.0, 180.0] },
    AngularRow { to: 50.0, minutes: [30.0, 30.0, 60.0, 120.0] },
    AngularRow { to: 120.0, minutes: [20.0, 20.0, 30.0, 60.0] },
    AngularRow { to: 400.0, minutes: [10.0, 10.0, 15.0, 30.0] },
    AngularRow { to: f64::INFINITY, minutes: [5.0, 5.0, 10.0, 20.0] },
];

/// How true a bend comes out, plus or minus degrees: as one guide has it, and as another.
///
/// # Source
/// [`BEND_ANGLE_SOURCE`]: 0.5°, and 1°.
pub const BEND_ANGLE_HELD: (f64, f64) = (0.5, 1.0);

/// Source of [`BEND_ANGLE_HELD`].
pub const BEND_ANGLE_SOURCE: Source = Source::confirmed("Sheet metal design guidelines; Sheet Metal Forming");

impl ToleranceClass {
    /// Every class, the finest first.
    pub const ALL: [Self; 4] = [Self::Fine, Self::Medium, Self::Coarse, Self::VeryCoarse];

    /// Its name in words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Medium => "medium",
            Self::Coarse => "coarse",
            Self::VeryCoarse => "very coarse",
        }
    }

    /// Its letter.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Fine => 'f',
            Self::Medium => 'm',
            Self::Coarse => 'c',
            Self::VeryCoarse => 'v',
        }
    }

    /// Plus or minus, mm, of a nominal length in mm; `None` where the table has none: below 0.5 mm, above 4 m, f above
    /// 2 m, v up to 3 mm.
    #[must_use]
    pub fn linear(self, nominal: f64) -> Option<f64> {
        if nominal < SMALLEST_TOLERATED {
            return None;
        }
        LINEAR.iter().find(|row| nominal <= row.to)?.plus_minus[self as usize]
    }

    /// Plus or minus, degrees, of an angle whose shorter leg has this length in mm; `None` unless it has one.
    #[must_use]
    pub fn angular(self, shorter_leg: f64) -> Option<f64> {
        let row = ANGULAR.iter().find(|row| shorter_leg > 0.0 && shorter_leg <= row.to)?;
        Some(row.minutes[self as usize] / 60.0)
    }
}

impl fmt::Display for ToleranceClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ISO 2768-{}", self.letter())
    }
}
