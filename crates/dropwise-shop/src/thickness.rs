//! How thick a sheet is, as people write it, and which nominal thickness that means.

use std::fmt;

use thiserror::Error;

use crate::gauge::{Gauge, GaugeError, GaugeSystem};
use crate::material::Material;

/// Sheet that is thicker than this is a slip of the pen: most often a gauge number without its `ga`, read as inches.
const THICKEST: f64 = 200.0;

/// Sheet that is thinner than this is foil, or a slip of the pen.
const THINNEST: f64 = 0.02;

/// A thickness counts as that of a gauge when the two agree to half a thousandth of an inch, the last digit that people
/// write: .060 in is 16 ga of plain steel (0.0598 in), 3.04 mm is 11 ga (3.037 mm), 3.0 mm is not. Wider, and metric
/// 1.5 mm would count as 16 ga (1.518 mm); narrower, and .120 in would not count as 11 ga.
pub(crate) const GAUGE_AGREEMENT: f64 = 0.0127;

/// How thick a sheet is: millimetres, and the gauge if it was given as one.
///
/// Prints as it is meant to be read: `16 ga (1.52 mm)`, or `3.18 mm`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickness {
    millimetres: f64,
    gauge: Option<Gauge>,
}

/// Why a text is not a thickness. Columns count characters from zero.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ThicknessError {
    /// A gauge that this metal does not come in.
    #[error(transparent)]
    Gauge(#[from] GaugeError),
    /// A length that no sheet has.
    #[error(
        "a thickness of {millimetres:.3} mm is not one of sheet or plate ({THINNEST} to {THICKEST} mm); \
         a gauge is written `16 ga` or `#16`"
    )]
    OutOfRange {
        /// The length, mm.
        millimetres: f64,
    },
}

impl Thickness {
    /// A thickness in millimetres.
    ///
    /// # Errors
    /// [`ThicknessError::OutOfRange`] unless it is a number from 0.02 to 200.
    pub fn new(millimetres: f64) -> Result<Self, ThicknessError> {
        if !(THINNEST..=THICKEST).contains(&millimetres) {
            return Err(ThicknessError::OutOfRange { millimetres });
        }
        Ok(Self { millimetres, gauge: None })
    }

    /// In millimetres.
    #[must_use]
    pub const fn millimetres(self) -> f64 {
        self.millimetres
    }

    /// The gauge, if it was given as one.
    #[must_use]
    pub const fn gauge(self) -> Option<Gauge> {
        self.gauge
    }

    /// The gauge that this is in a metal's own system: the one it was given as, or the one it agrees with to half a
    /// thousandth of an inch. `None` when it agrees with none.
    #[must_use]
    pub fn nominal_gauge(self, material: Material) -> Option<Gauge> {
        let system = GaugeSystem::of(material);
        if let Some(gauge) = self.gauge.filter(|gauge| gauge.system() == system) {
            return Some(gauge);
        }
        let nearest = system.nearest(self.millimetres);
        // The half is inclusive, so a hair is added for lengths that came through inches.
        ((nearest.thickness() - self.millimetres).abs() <= GAUGE_AGREEMENT + 1e-9).then_some(nearest)
    }
}

impl From<Gauge> for Thickness {
    fn from(gauge: Gauge) -> Self {
        Self { millimetres: gauge.thickness(), gauge: Some(gauge) }
    }
}

impl fmt::Display for Thickness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.gauge {
            Some(gauge) => write!(f, "{gauge} ({:.2} mm)", self.millimetres),
            None => write!(f, "{:.2} mm", self.millimetres),
        }
    }
}
