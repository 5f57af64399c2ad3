//! What a metal stands when it is bent: strength, smallest inside radius, springback.
//!
//! Radii are for square bends across the grain, unless told otherwise. Where a range is published, its lower end is the
//! *least* radius, below which the outside cracks, and its upper end the *advised* one.
//!
//! Sources disagree. The design book whose table gives 6061-T6 2.5 T at 1/8 in advises 0.500 in there (4 T), yet allows
//! 1.5 T "where needed"; for 5052-H32 it gives 1.5 T, advises 0.188 in and allows 1 T. The table is taken as least and
//! the advice as advised; the exceptions are not taken. Low-carbon sheet may have 0.5 T where A36 plate of the same
//! thickness wants 1 T.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::grade::Grade;
use crate::source::Source;

const INCH: f64 = 25.4;

/// How the bend line lies to the direction in which the sheet was rolled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BendToGrain {
    /// The bend line runs square to the grain: the better way.
    Across,
    /// The bend line runs with the grain: the sheet cracks sooner.
    Along,
}

impl fmt::Display for BendToGrain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Across => "across the grain",
            Self::Along => "along the grain",
        })
    }
}

/// A value with its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sourced {
    /// The value.
    pub value: f64,
    /// Where it comes from.
    pub source: Source,
}

/// Tensile strength, MPa, to reckon forces with: what charts mean by the metal, or its typical value. Where sheet varies
/// the higher figure is taken, so that the force errs upward.
#[must_use]
pub const fn tensile_strength(grade: Grade) -> Sourced {
    const CHART: Source = Source::confirmed("Air bending force chart");
    const ALUMINIUM: Source = Source::from_memory("Aluminum Association typical properties");
    const COPPER: Source = Source::from_memory("copper alloy data sheets");
    const STEEL: Source = Source::from_memory("ASTM standard of the grade");
    let (value, source) = match grade {
        Grade::LowCarbonSteel => (450.0, CHART),
        Grade::GalvanizedSteel => (450.0, Source::derived("Air bending force chart: as mild steel")),
        Grade::Stainless304Annealed => (700.0, CHART),
        Grade::Stainless304QuarterHard => (860.0, STEEL), // 125 ksi, a least value
        Grade::HardSteel => (550.0, Source::from_memory("cold-rolled strip, half hard")),
        Grade::A36Plate => (550.0, STEEL),                         // 400 to 550
        Grade::Grade50 | Grade::Grade50Formable => (450.0, STEEL), // 65 ksi, a least value
        Grade::Grade80 => (620.0, STEEL),                          // 90 ksi, a least value
        Grade::Quenched100 => (895.0, STEEL),                      // 110 to 130 ksi
        // Twice 60 ksi steel, as the forming chart rates it.
        Grade::ChromeMoly => (827.0, Source::derived("Forming chart")),
        Grade::Aluminium1100H14 => (125.0, ALUMINIUM),
        Grade::Aluminium2024T3 => (485.0, ALUMINIUM),
        Grade::Aluminium3003H14 => (150.0, ALUMINIUM),
        Grade::Aluminium5052O => (195.0, ALUMINIUM),
        Grade::Aluminium5052H32 => (230.0, ALUMINIUM),
        Grade::Aluminium5052H34 => (260.0, ALUMINIUM),
        Grade::Aluminium6061O => (125.0, ALUMINIUM),
        Grade::Aluminium6061T4 => (240.0, ALUMINIUM),
        Grade::Aluminium6061T6 => (310.0, ALUMINIUM),
        Grade::BrassSoft => (325.0, COPPER),
        Grade::BrassHalfHard => (425.0, COPPER),
        Grade::CopperSoft => (220.0, COPPER),
        Grade::CopperHalfHard => (290.0, COPPER),
    };
    Sourced { value, source }
}

/// Thicknesses of the columns of [`ALUMINIUM_RADII`], in.
pub const ALUMINIUM_COLUMNS: [f64; 8] = [0.015_625, 0.031_25, 0.0625, 0.125, 0.1875, 0.25, 0.375, 0.5];

/// Source of [`ALUMINIUM_RADII`] and [`ADVISED_RADII`].
pub const ALUMINIUM_SOURCE: Source = Source::confirmed("Sheet bend radii, after Aluminum Association data");

/// Least inside radius of aluminium in thicknesses, by the columns of [`ALUMINIUM_COLUMNS`].
pub const ALUMINIUM_RADII: [(Grade, [f64; 8]); 7] = [
    (Grade::Aluminium1100H14, [0.0, 0.0, 0.0, 1.0, 1.0, 1.5, 2.0, 2.5]),
    (Grade::Aluminium5052O, [0.0, 0.0, 0.0, 0.5, 1.0, 1.0, 1.5, 1.5]),
    (Grade::Aluminium5052H32, [0.0, 0.0, 1.0, 1.5, 1.5, 1.5, 1.5, 2.0]),
    (Grade::Aluminium5052H34, [0.0, 1.0, 1.5, 2.0, 2.0, 2.5, 2.5, 3.0]),
    (Grade::Aluminium6061O, [0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.5, 2.0]),
    (Grade::Aluminium6061T4, [0.0, 0.0, 1.0, 1.5, 2.5, 3.0, 3.5, 4.0]),
    (Grade::Aluminium6061T6, [1.0, 1.0, 1.5, 2.5, 3.0, 3.5, 4.5, 5.0]),
];

/// Advised inside radius of 6061-T6 and of 5052-H32 by thickness, all in.
pub const ADVISED_RADII: [(f64, f64, f64); 5] =
    [(0.032, 0.094, 0.063), (0.063, 0.188, 0.094), (0.090, 0.312, 0.156), (0.125, 0.500, 0.188), (0.188, 0.625, 0.312)];

/// Least inside radius of steel plate in thicknesses, up to each thickness, in; last the thickest that is listed.
pub const PLATE_RADII: [(Grade, &[(f64, f64)]); 5] = [
    (Grade::A36Plate, &[(0.250, 1.0), (0.500, 1.5), (1.00, 2.0)]),
    (Grade::Grade50, &[(0.187, 1.5), (0.229, 2.0), (0.500, 2.5)]),
    (Grade::Grade50Formable, &[(0.500, 1.0)]),
    (Grade::Grade80, &[(0.250, 2.5), (f64::INFINITY, 3.0)]),
    (Grade::Quenched100, &[(f64::INFINITY, 2.0)]),
];

/// Source of [`PLATE_RADII`].
pub const PLATE_SOURCE: Source = Source::confirmed("Steel Reference Guide");

/// Quenched plate bent along the grain, in thicknesses: the one plate whose table says so.
const QUENCHED_ALONG: f64 = 3.0;

/// Sheet sold as 0.032 or 0.063 in is what the tables call 1/32 or 1/16: this much over a column still counts as that
/// column, mm. Twice as much, and 14 ga aluminium (0.0641 in) would count as 1/16.
const COLUMN_AGREEMENT: f64 = 0.001 * INCH + 1e-9;

/// Steel thicker than this is plate, mm: 0.180 in (ASTM A6 for widths over 48 in, from memory).
pub(super) const THICKEST_SHEET: f64 = 0.180 * INCH;

/// What a bend along the grain needs of the radius across it, from and to. From memory.
pub const ALONG_GRAIN: (f64, f64) = (1.5, 2.0);

/// The smallest inside radii of a square bend, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MinimumRadius {
    /// Below this the outside cracks.
    pub least: f64,
    /// From this on it is safe, by the most careful source; at least as large.
    pub advised: f64,
    /// Where both come from.
    pub source: Source,
    /// Where the factor for a bend along the grain comes from; `None` across the grain.
    pub grain_source: Option<Source>,
}

/// The smallest inside radii of this metal in this thickness (mm); `None` where nothing is published: aluminium above
/// 1/2 in, plate thicker than its table, 2024-T3 above 0.040 in, chrome-moly and hard cold-rolled steel.
///
/// A thickness between two columns counts as the thicker; one within 0.001 in of a column of aluminium, as that column.
///
/// # Examples
/// ```
/// use dropwise_shop::bend::{BendToGrain, Grade, minimum_radius};
/// let eighth = minimum_radius(Grade::Aluminium6061T6, 3.175, BendToGrain::Across).expect("it is listed");
/// assert_eq!((eighth.least, eighth.advised), (2.5 * 3.175, 0.500 * 25.4));
/// ```
#[must_use]
pub fn minimum_radius(grade: Grade, thickness: f64, grain: BendToGrain) -> Option<MinimumRadius> {
    let across = across_grain(grade, thickness)?;
    Some(match (grain, grade) {
        (BendToGrain::Across, _) => across,
        (BendToGrain::Along, Grade::Quenched100) => MinimumRadius {
            least: QUENCHED_ALONG * thickness,
            advised: QUENCHED_ALONG * thickness,
            grain_source: Some(PLATE_SOURCE),
            ..across
        },
        (BendToGrain::Along, _) => MinimumRadius {
            least: across.least * ALONG_GRAIN.0,
            advised: across.advised * ALONG_GRAIN.1,
            grain_source: Some(Source::from_memory("")),
            ..across
        },
    })
}

fn across_grain(grade: Grade, thickness: f64) -> Option<MinimumRadius> {
    if !(thickness > 0.0 && thickness.is_finite()) {
        return None;
    }
    let radii = |least: f64, advised: f64, source| {
        Some(MinimumRadius { least, advised: advised.max(least), source, grain_source: None })
    };
    let times = |least: f64, advised: f64, source| radii(least * thickness, advised * thickness, source);
    match grade {
        Grade::LowCarbonSteel | Grade::GalvanizedSteel if thickness > THICKEST_SHEET => {
            across_grain(Grade::A36Plate, thickness)
        }
        Grade::LowCarbonSteel => {
            let least = (0.5 * thickness).max(0.8);
            radii(least, least, Source::confirmed("Sheet metal design guidelines"))
        }
        Grade::GalvanizedSteel => {
            let least = (0.5 * thickness).max(0.8);
            radii(least, least, Source::derived("Sheet metal design guidelines: as low-carbon sheet"))
        }
        Grade::A36Plate | Grade::Grade50 | Grade::Grade50Formable | Grade::Grade80 | Grade::Quenched100 => {
            let (_, rows) = PLATE_RADII.iter().find(|(listed, _)| *listed == grade)?;
            let (_, factor) = rows.iter().find(|(to, _)| thickness <= to * INCH + 1e-9)?;
            times(*factor, *factor, PLATE_SOURCE)
        }
        Grade::Stainless304Annealed => times(0.5, 1.0, Source::from_memory("")),
        Grade::Stainless304QuarterHard => times(1.0, 1.0, Source::from_memory("")),
        Grade::BrassSoft | Grade::CopperSoft => times(0.0, 0.5, Source::from_memory("")),
        Grade::BrassHalfHard | Grade::CopperHalfHard => times(0.5, 1.0, Source::from_memory("")),
        Grade::Aluminium2024T3 => {
            // One worked example: 0.16 in for 0.040 in. Thinner sheet may have as many thicknesses; thicker needs more.
            let source = Source::derived("Aviation Maintenance Technician Handbook, Airframe Vol. 1, ch. 4");
            if thickness <= 0.040 * INCH + 1e-9 { times(4.0, 4.0, source) } else { None }
        }
        Grade::Aluminium1100H14
        | Grade::Aluminium5052O
        | Grade::Aluminium5052H32
        | Grade::Aluminium5052H34
        | Grade::Aluminium6061O
        | Grade::Aluminium6061T4
        | Grade::Aluminium6061T6 => {
            let column = ALUMINIUM_COLUMNS.iter().position(|&column| thickness <= column * INCH + COLUMN_AGREEMENT)?;
            let (_, row) = ALUMINIUM_RADII.iter().find(|(listed, _)| *listed == grade)?;
            radii(row[column] * thickness, advised(grade, thickness).unwrap_or(0.0), ALUMINIUM_SOURCE)
        }
        Grade::Aluminium3003H14 | Grade::HardSteel | Grade::ChromeMoly => None,
    }
}

/// The advised radius of the two alloys that have one, mm: of the next listed thickness; beyond the last, as many
/// thicknesses as there.
fn advised(grade: Grade, thickness: f64) -> Option<f64> {
    let of = |row: (f64, f64, f64)| match grade {
        Grade::Aluminium6061T6 => Some(row.1),
        Grade::Aluminium5052H32 => Some(row.2),
        _ => None,
    };
    let next = ADVISED_RADII.into_iter().find(|row| thickness <= row.0 * INCH + 1e-9);
    let last = ADVISED_RADII[ADVISED_RADII.len() - 1];
    match next {
        Some(row) => Some(of(row)? * INCH),
        None => Some(of(last)? / last.0 * thickness),
    }
}

/// By how much a square bend of a radius near the thickness springs open, degrees from and to, air bent; `None` where no
/// figure is known. It rises with R/T. From memory.
#[must_use]
pub const fn typical_springback(grade: Grade) -> Option<(f64, f64)> {
    match grade {
        Grade::LowCarbonSteel | Grade::GalvanizedSteel | Grade::A36Plate => Some((0.5, 1.0)),
        Grade::Aluminium5052O
        | Grade::Aluminium5052H32
        | Grade::Aluminium5052H34
        | Grade::Aluminium1100H14
        | Grade::Aluminium3003H14
        | Grade::Aluminium6061O
        | Grade::Aluminium6061T4
        | Grade::Aluminium6061T6 => Some((1.5, 2.0)),
        Grade::Stainless304Annealed => Some((2.0, 3.0)),
        Grade::BrassSoft | Grade::CopperSoft => Some((0.0, 0.5)),
        _ => None,
    }
}

/// Source of [`typical_springback`].
pub const SPRINGBACK_SOURCE: Source = Source::from_memory("textbooks on metal forming");
