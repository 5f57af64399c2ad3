//! V dies: how wide to take one, what inside radius an air bend gets in it, and how short a flange it still holds.
//!
//! The rules for the opening disagree, by up to a die: 2 mm sheet wants 12 mm by one chart and 16 mm by another maker's.
//! So do the figures for the flange: the die chart prints 4 mm for V 6, which is 0.67 V, where the rule by angle asks
//! for 0.71 V.

use super::error::BendError;
use super::grade::Grade;
use crate::source::Source;

/// A row of the die chart, mm, for a square air bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DieRow {
    /// Opening V.
    pub opening: f64,
    /// Shortest flange it holds, to the outside corner.
    pub least_flange: f64,
    /// Inside radius that mild steel takes in it.
    pub inside_radius: f64,
}

const fn row(opening: f64, least_flange: f64, inside_radius: f64) -> DieRow {
    DieRow { opening, least_flange, inside_radius }
}

/// Source of [`DIE_TABLE`].
pub const DIE_SOURCE: Source = Source::confirmed("Air bending force chart");

/// Common dies.
pub const DIE_TABLE: [DieRow; 15] = [
    row(6.0, 4.0, 1.0),
    row(8.0, 5.5, 1.3),
    row(10.0, 7.0, 1.6),
    row(12.0, 8.5, 2.0),
    row(16.0, 11.0, 2.6),
    row(20.0, 14.0, 3.3),
    row(25.0, 17.5, 4.0),
    row(32.0, 22.0, 5.0),
    row(40.0, 28.0, 6.5),
    row(50.0, 35.0, 8.0),
    row(63.0, 45.0, 10.0),
    row(80.0, 55.0, 13.0),
    row(100.0, 71.0, 16.0),
    row(125.0, 89.0, 20.0),
    row(160.0, 113.0, 26.0),
];

/// Dies narrower than this many thicknesses are not taken, however short the leg. Common practice, no source: the sheet
/// is marked and the force runs up; the published rules ask for 6 and more.
pub const NARROWEST_DIE: f64 = 4.0;

/// A rule for the opening: so many thicknesses up to this sheet, so many up to that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpeningRule {
    /// What to call it.
    pub name: &'static str,
    /// Thickness up to which each factor holds, mm, and the factor. The published ranges leave gaps (2.5 to 3 mm); a
    /// thickness in one takes the factor above it, the wider die and the smaller force. The last reaches to infinity.
    pub steps: &'static [(f64, f64)],
    /// Where it comes from.
    pub source: Source,
}

/// The published rules for the opening. The first is the one to start from.
pub const OPENING_RULES: [OpeningRule; 3] = [
    OpeningRule {
        name: "metric chart",
        steps: &[(2.5, 6.0), (8.0, 8.0), (10.0, 10.0), (f64::INFINITY, 12.0)],
        source: Source::confirmed("Capacity chart for air bending"),
    },
    OpeningRule {
        name: "another maker's metric chart",
        steps: &[(0.7, 6.0), (3.0, 8.0), (9.0, 10.0), (14.0, 12.0), (f64::INFINITY, 14.0)],
        source: Source::confirmed("How to calculate bending force"),
    },
    OpeningRule {
        name: "inch chart",
        steps: &[(0.105 * 25.4, 6.0), (0.313 * 25.4, 8.0), (0.5 * 25.4, 10.0), (f64::INFINITY, 12.0)],
        source: Source::confirmed("Air Bending Force Chart (inch)"),
    },
];

impl OpeningRule {
    /// The opening for this thickness, mm.
    #[must_use]
    pub fn opening(&self, thickness: f64) -> f64 {
        // Thicknesses that came through inches may lie a hair above the end of their range.
        let step = self.steps.iter().find(|(to, _)| thickness <= to + 1e-9);
        step.map_or(f64::NAN, |(_, factor)| factor * thickness)
    }
}

/// Which of the shop's dies is nearest to a wanted opening, in proportion; of two as near the wider, whose force is
/// smaller. `None` when it has none.
#[must_use]
pub fn nearest_die(owned: &[f64], wanted: f64) -> Option<f64> {
    let apart = |opening: f64| (opening / wanted).ln().abs();
    let usable = owned.iter().copied().filter(|opening| *opening > 0.0 && opening.is_finite());
    usable.min_by(|&a, &b| apart(a).total_cmp(&apart(b)).then(b.total_cmp(&a)))
}

/// Inside radius of an air bend as a share of the opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RadiusShare {
    /// Metals it is for.
    pub grades: &'static [Grade],
    /// Lowest and highest share published.
    pub share: (f64, f64),
    /// Where it comes from.
    pub source: Source,
}

/// The published shares. Hot-rolled steel is given as 0.14 to 0.16 and cold-rolled as 0.15 to 0.17 (from memory);
/// low-carbon sheet here has the two confirmed values for mild steel, 5/32 and 0.16, which lie in both.
pub const RADIUS_SHARES: [RadiusShare; 5] = [
    RadiusShare {
        grades: &[Grade::LowCarbonSteel, Grade::A36Plate],
        share: (5.0 / 32.0, 0.16),
        source: Source::confirmed("How to calculate bending force; Capacity chart for air bending"),
    },
    RadiusShare {
        grades: &[Grade::GalvanizedSteel],
        share: (5.0 / 32.0, 0.16),
        source: Source::derived("How to calculate bending force; Capacity chart for air bending: as mild steel"),
    },
    RadiusShare {
        grades: &[Grade::HardSteel],
        share: (0.15, 0.17),
        source: Source::from_memory("articles on air forming: cold-rolled steel"),
    },
    RadiusShare {
        grades: &[Grade::Aluminium5052H32],
        share: (0.13, 0.15),
        source: Source::confirmed("Predicting an air-formed inside bend radius"),
    },
    RadiusShare {
        grades: &[Grade::Stainless304Annealed],
        share: (0.20, 0.22),
        source: Source::from_memory("articles on air forming: 304 stainless"),
    },
];

/// What stands in for the metals that no share was found for: mild steel's, with no claim.
const STAND_IN: Source = Source::COMMON_PRACTICE;

/// The inside radius that an air bend comes to, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirBendRadius {
    /// The radius to reckon with, the middle of the range.
    pub radius: f64,
    /// Lowest and highest published.
    pub range: (f64, f64),
    /// Where it comes from. Common practice where mild steel's share stands in for a metal that has none of its own:
    /// bend a test strip.
    pub source: Source,
}

/// The inside radius of an air bend in a die of this opening, mm.
///
/// The sheet finds this radius by itself, whatever its thickness, as long as the punch's tip is sharper. A blunter tip
/// prints its own.
#[must_use]
pub fn air_bend_radius(grade: Grade, opening: f64) -> AirBendRadius {
    let found = RADIUS_SHARES.iter().find(|row| row.grades.contains(&grade));
    let (share, source) = found.map_or((RADIUS_SHARES[0].share, STAND_IN), |row| (row.share, row.source));
    let range = (share.0 * opening, share.1 * opening);
    AirBendRadius { radius: (range.0 + range.1) / 2.0, range, source }
}

/// Source of [`FLANGE_BY_OPENING_ANGLE`].
pub const FLANGE_SOURCE: Source = Source::confirmed("How to calculate bending force");

/// Shortest flange that a die holds, as a share of its opening, by the finished opening angle, degrees.
///
/// All are V / (2 sin(b/2)), the way from the middle of the die to its shoulder along a leg, rounded up (derived).
pub const FLANGE_BY_OPENING_ANGLE: [(f64, f64); 7] =
    [(30.0, 1.94), (45.0, 1.31), (60.0, 1.0), (90.0, 0.71), (120.0, 0.58), (135.0, 0.55), (165.0, 0.51)];

/// Shortest flange, mm to the outside corner, that a die of this opening holds when it bends to this opening angle
/// (degrees, 180 for flat).
///
/// Between the published angles it runs straight, which errs to the long side. Below 30° it follows the geometry from
/// the first row on; no V die reaches there, but a hemming die starts from such a fold.
///
/// # Errors
/// [`BendError::Turn`] unless the angle lies between 0° and 180°.
pub fn least_flange(opening: f64, opening_angle: f64) -> Result<f64, BendError> {
    if !(opening_angle > 0.0 && opening_angle < 180.0) {
        return Err(BendError::Turn { turn: 180.0 - opening_angle, most: 180.0 });
    }
    let rows = FLANGE_BY_OPENING_ANGLE;
    let half_sine = |angle: f64| (angle.to_radians() / 2.0).sin();
    let (first, last) = (rows[0], rows[rows.len() - 1]);
    let share = if opening_angle <= first.0 {
        first.1 * half_sine(first.0) / half_sine(opening_angle)
    } else if let Some(pair) = rows.windows(2).find(|pair| opening_angle <= pair[1].0) {
        let [(from, high), (to, low)] = [pair[0], pair[1]];
        high + (low - high) * (opening_angle - from) / (to - from)
    } else {
        last.1
    };
    Ok(share * opening)
}
