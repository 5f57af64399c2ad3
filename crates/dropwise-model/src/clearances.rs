//! How far apart things must lie.

use thiserror::Error;

/// Kerf, web and edge margin of a job.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Clearances {
    kerf: f64,
    web: f64,
    margin: f64,
}

/// Why clearances were refused.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ClearancesError {
    /// Not a finite number of at least zero.
    #[error("{name} is {value} mm; it must be zero or more")]
    OutOfRange {
        /// Which of the three.
        name: &'static str,
        /// What was given.
        value: f64,
    },
    /// Neighbouring cuts would eat into parts.
    #[error("the web between parts is {web} mm, less than the kerf of {kerf} mm: one cut would eat into both parts")]
    WebBelowKerf {
        /// Web, mm.
        web: f64,
        /// Kerf, mm.
        kerf: f64,
    },
}

impl Clearances {
    /// Clearances, in millimetres: the width of the cut, the least distance between parts, and the least distance
    /// from a part to the edge of its sheet, to a hole in it, or to a damaged zone.
    ///
    /// # Errors
    /// [`ClearancesError`] unless all three are finite and not negative and the web is at least the kerf.
    pub fn new(kerf: f64, web: f64, margin: f64) -> Result<Self, ClearancesError> {
        for (name, value) in [("kerf", kerf), ("web", web), ("margin", margin)] {
            if !(0.0..=f64::MAX).contains(&value) {
                return Err(ClearancesError::OutOfRange { name, value });
            }
        }
        if web < kerf {
            return Err(ClearancesError::WebBelowKerf { web, kerf });
        }
        Ok(Self { kerf, web, margin })
    }

    /// Width of the cut.
    #[must_use]
    pub fn kerf(&self) -> f64 {
        self.kerf
    }

    /// Least distance between two parts.
    #[must_use]
    pub fn web(&self) -> f64 {
        self.web
    }

    /// Least distance from a part to the edge of its sheet, a hole in it, or damage.
    #[must_use]
    pub fn margin(&self) -> f64 {
        self.margin
    }
}
