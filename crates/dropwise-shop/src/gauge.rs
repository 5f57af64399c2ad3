//! Sheet gauges: numbers that mean a different thickness in each metal.
//!
//! 16 ga is 0.0598 in of plain steel, 0.0635 in galvanized, 0.0625 in stainless and 0.0508 in aluminium. So a gauge
//! here always belongs to a [`GaugeSystem`], and a thickness is kept in millimetres with the gauge as its label.

use std::fmt;
use std::ops::RangeInclusive;

use thiserror::Error;

use crate::material::Material;
use crate::source::Source;
use crate::weight;

const MILLIMETRES_PER_INCH: f64 = 25.4;

/// What sheet of a Manufacturers' Standard gauge weighs, lb/ft² for each inch of thickness. It is 2.5 % above the
/// true weight of steel, 40.8: the standard kept the weights of an older gauge for wrought iron and allowed for sheets
/// that run thick.
pub(crate) const GAUGE_BOOK_FACTOR: f64 = 41.82;

/// What stainless sheet weighs, lb/ft² for each inch of thickness.
const STAINLESS_FACTOR: f64 = 41.616;

/// What the zinc adds to a galvanized gauge: 2.5 oz/ft², in lb/ft².
const ZINC_ALLOWANCE: f64 = 2.5 / 16.0;

/// US Standard weights of gauges 3 to 38, oz/ft². The weight is the definition of the gauge.
const STATUTE_OUNCES: [f64; 36] = [
    160.0, 150.0, 140.0, 130.0, 120.0, 110.0, 100.0, 90.0, 80.0, 70.0, 60.0, 50.0, // 3 to 14
    45.0, 40.0, 36.0, 32.0, 28.0, 24.0, 22.0, 20.0, 18.0, 16.0, 14.0, 12.0, // 15 to 26
    11.0, 10.0, 9.0, 8.0, 7.0, 6.5, 6.0, 5.5, 5.0, 4.5, 4.25, 4.0, // 27 to 38
];

/// A series of gauge numbers and the thicknesses they stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum GaugeSystem {
    /// Manufacturers' Standard gauge, for uncoated carbon steel.
    ManufacturersStandard,
    /// Galvanized sheet gauge: the same steel with its zinc.
    GalvanizedSheet,
    /// US Standard gauge by thickness, as used for stainless. Mills often list stainless thinner under the same number
    /// (16 ga as 0.0595 in, 18 ga as 0.048 in, from memory): measure the sheet.
    UsStandard,
    /// American Wire gauge, also called Brown & Sharpe: aluminium, brass and copper.
    AmericanWire,
}

impl GaugeSystem {
    /// Every system.
    pub const ALL: [Self; 4] =
        [Self::ManufacturersStandard, Self::GalvanizedSheet, Self::UsStandard, Self::AmericanWire];

    /// The system that a metal is sold by.
    #[must_use]
    pub const fn of(material: Material) -> Self {
        match material {
            Material::MildSteel => Self::ManufacturersStandard,
            Material::GalvanizedSteel => Self::GalvanizedSheet,
            Material::Stainless304 => Self::UsStandard,
            Material::Aluminium5052 | Material::Aluminium6061 | Material::Brass | Material::Copper => {
                Self::AmericanWire
            }
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::ManufacturersStandard => "Manufacturers' Standard gauge",
            Self::GalvanizedSheet => "galvanized sheet gauge",
            Self::UsStandard => "US Standard gauge",
            Self::AmericanWire => "American Wire gauge",
        }
    }

    /// The numbers it has, the thickest sheet first.
    #[must_use]
    pub const fn numbers(self) -> RangeInclusive<u32> {
        match self {
            Self::ManufacturersStandard | Self::UsStandard => 3..=38,
            Self::GalvanizedSheet => 8..=32,
            Self::AmericanWire => 1..=40,
        }
    }

    /// Where its thicknesses come from.
    #[must_use]
    pub const fn source(self) -> Source {
        match self {
            Self::ManufacturersStandard => {
                Source::confirmed("Steel Buyers Basics: the weights of 15 U.S.C. 206 over 41.82 lb/ft² an inch")
            }
            Self::GalvanizedSheet => {
                Source::derived("Steel Buyers Basics: uncoated weight and 2.5 oz/ft² of zinc over 41.82 lb/ft² an inch")
            }
            Self::UsStandard => Source::confirmed("15 U.S.C. 206, standard gauge for sheet and plate iron and steel"),
            Self::AmericanWire => Source::from_memory("ASTM B258; its use for these metals in Letter Circular LC 24"),
        }
    }

    /// The gauge of this number.
    ///
    /// # Errors
    /// [`GaugeError`] when the system has no such number, naming the nearest one it has.
    pub fn gauge(self, number: u32) -> Result<Gauge, GaugeError> {
        let numbers = self.numbers();
        if numbers.contains(&number) {
            return Ok(Gauge { system: self, number });
        }
        let nearest = number.clamp(*numbers.start(), *numbers.end());
        Err(GaugeError { system: self, number, nearest: Gauge { system: self, number: nearest } })
    }

    /// Every gauge of the system, the thickest first.
    pub fn gauges(self) -> impl Iterator<Item = Gauge> {
        self.numbers().map(move |number| Gauge { system: self, number })
    }

    /// The gauge nearest to a thickness in millimetres; the thicker of two equally near.
    #[must_use]
    pub fn nearest(self, thickness: f64) -> Gauge {
        let distance = |gauge: &Gauge| (gauge.thickness() - thickness).abs();
        let first = Gauge { system: self, number: *self.numbers().start() };
        self.gauges().fold(first, |best, gauge| if distance(&gauge) < distance(&best) { gauge } else { best })
    }
}

impl fmt::Display for GaugeSystem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A gauge number that its system has. Prints as `16 ga`.
///
/// # Examples
/// ```
/// use dropwise_shop::{GaugeSystem, Material};
/// let sixteen = GaugeSystem::of(Material::GalvanizedSteel).gauge(16)?;
/// assert_eq!(format!("{:.4}", sixteen.thickness() / 25.4), "0.0635");
/// # Ok::<(), dropwise_shop::GaugeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gauge {
    system: GaugeSystem,
    number: u32,
}

/// A gauge number that its system does not have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error(
    "{system} has no {number} ga: it runs from {} to {}; the nearest is {nearest} ({:.2} mm)",
    system.numbers().start(),
    system.numbers().end(),
    nearest.thickness()
)]
pub struct GaugeError {
    /// The system.
    pub system: GaugeSystem,
    /// The number asked for.
    pub number: u32,
    /// The nearest gauge it has.
    pub nearest: Gauge,
}

impl Gauge {
    /// The system it belongs to.
    #[must_use]
    pub const fn system(self) -> GaugeSystem {
        self.system
    }

    /// Its number.
    #[must_use]
    pub const fn number(self) -> u32 {
        self.number
    }

    /// Thickness, mm, zinc included where there is any. Worked out from the rule that defines the system, so it may
    /// differ from the printed four decimals of an inch by half the last digit.
    ///
    /// # Source
    /// 15 U.S.C. 206 (weights; 40 lb/ft² an inch); Steel Buyers Basics (41.82; galvanized); American Wire gauge
    /// t = 0.005 in × 92^((36 − n) / 39), ASTM B258, from memory.
    #[must_use]
    pub fn thickness(self) -> f64 {
        let inches = match self.system {
            GaugeSystem::ManufacturersStandard => self.statute_weight() / GAUGE_BOOK_FACTOR,
            GaugeSystem::GalvanizedSheet => (self.statute_weight() + ZINC_ALLOWANCE) / GAUGE_BOOK_FACTOR,
            GaugeSystem::UsStandard => self.statute_weight() / 40.0,
            GaugeSystem::AmericanWire => 0.005 * 92_f64.powf((36.0 - f64::from(self.number)) / 39.0),
        };
        inches * MILLIMETRES_PER_INCH
    }

    /// The weight per area that the gauge book prints, kg/mm²; `None` for American Wire gauge, which has no weights of
    /// its own. For steel it is 2.5 % above what sheet of this exact thickness weighs: see [`crate::WeightRule`].
    ///
    /// # Source
    /// Steel Buyers Basics; stainless: Stainless Steel Gauge Chart, 41.616 lb/ft² an inch.
    #[must_use]
    pub fn nominal_weight(self) -> Option<f64> {
        let pounds_per_square_foot = match self.system {
            GaugeSystem::ManufacturersStandard => self.statute_weight(),
            GaugeSystem::GalvanizedSheet => self.statute_weight() + ZINC_ALLOWANCE,
            GaugeSystem::UsStandard => self.statute_weight() / 40.0 * STAINLESS_FACTOR,
            GaugeSystem::AmericanWire => return None,
        };
        Some(weight::from_pounds_per_square_foot(pounds_per_square_foot))
    }

    /// US Standard weight of this number, lb/ft².
    fn statute_weight(self) -> f64 {
        // Every system that asks starts at 3 or later, and `GaugeSystem::gauge` lets no other number through.
        STATUTE_OUNCES[self.number as usize - 3] / 16.0
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ga", self.number)
    }
}

#[cfg(test)]
mod tests;
