//! Bend allowance, setback and deduction: how much flat sheet a bend takes.
//!
//! A bend has a thickness T, an inside radius R and a turn angle A, the angle by which the sheet leaves its plane: 90°
//! for a square corner, 180° for a hem. The neutral line, which keeps its length, runs at K times T from the inside
//! face, so that
//!
//! - bend allowance BA = A (R + K T), A in radians: the flat length of the bend zone;
//! - outside setback SB = (R + T) tan(A/2): from the start of the bend to the corner where the outside faces meet;
//! - bend deduction BD = 2 SB − BA: what to take off the sum of the two outside legs.
//!
//! Near 180° the corner runs off to infinity. So legs can also be told to the tangent of the outside arc, R + T from the
//! start of the bend at every turn from 90° on, as DIN 6935 measures them and as a square held against the bend does;
//! or as the straight part alone. A hem is worked out from its allowance and those lengths, never from a deduction.
//!
//! # Source
//! Sheet Metal Bend Allowance; K-Factor, Bend Allowance and Bend Deduction; Bend Deduction (all three confirmed, and in
//! agreement). The empirical rule: Bend Allowance Formula, US Navy training text; 90 Degree Bends (confirmed).

use std::f64::consts::FRAC_PI_2;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::din6935;
use super::error::BendError;
use super::k_factor::KFactor;
use crate::source::Source;

/// Largest inside radius, mm. Sheet rolled to a wider one is not bent but rolled.
pub const LARGEST_RADIUS: f64 = 10_000.0;

/// Largest turn, degrees. A teardrop hem turns by somewhat more than 180°, a curl by more still.
pub const LARGEST_TURN: f64 = 270.0;

/// From this turn on no corner is taken for a leg to be measured to, degrees. At 170°, half a degree, a published
/// tolerance of bends, moves the setback by 5 %; nearer to 180° the length soon means nothing.
pub const CORNER_LIMIT: f64 = 170.0;

/// Source of the three formulas.
pub const FORMULA_SOURCE: Source = Source::confirmed("K-Factor, Bend Allowance and Bend Deduction");

/// Source of the empirical rule.
pub const EMPIRICAL_SOURCE: Source =
    Source::confirmed("Bend Allowance Formula, US Navy training text; 90 Degree Bends");

/// Flat length for each degree and each unit of radius in the empirical rule. It is π/180 with the last digit cut.
pub const EMPIRICAL_RADIUS: f64 = 0.01743;

/// Flat length for each degree and each unit of thickness in the empirical rule.
pub const EMPIRICAL_THICKNESS: f64 = 0.0078;

/// A bend by its three sizes, checked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    thickness: f64,
    radius: f64,
    turn: f64,
}

/// From where to where a leg is measured. The far end is always the free edge, or the next bend's own datum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LegDatum {
    /// To the corner where the outside faces would meet.
    Outside,
    /// To the tangent of the outside arc that stands square to the leg: the size over everything. Up to 90° this is
    /// the corner too. DIN 6935 measures so.
    OutsideTangent,
    /// To the corner where the inside faces would meet.
    Inside,
    /// To the line where the bend begins: the straight part alone.
    Straight,
    /// On the flat, to the bend line in the middle of the bend zone, where the punch comes down.
    BendLine,
}

/// How the flat length of a bend zone is found.
#[derive(Clone, Debug, PartialEq)]
pub enum Development {
    /// By a K-factor.
    KFactor(KFactor),
    /// By the empirical rule 0.01743 R + 0.0078 T for each degree, valid from 1° to 180°.
    Empirical,
    /// By DIN 6935.
    Din6935,
}

/// All figures of one bend. Lengths are millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendFigures {
    /// The bend.
    pub bend: Bend,
    /// Flat length of the bend zone.
    pub allowance: f64,
    /// K of the neutral line that has this length. Of DIN 6935 it is k/2, except below a turn of 15°, where that rule
    /// takes nothing off.
    pub k: f64,
    /// From the start of the bend to the outside corner; `None` from [`CORNER_LIMIT`] on.
    pub outside_setback: Option<f64>,
    /// From the start of the bend to the tangent of the outside arc; to the corner up to 90°.
    pub tangent_setback: f64,
    /// From the start of the bend to the inside corner; `None` from [`CORNER_LIMIT`] on.
    pub inside_setback: Option<f64>,
    /// What to take off the sum of two legs told to the outside corner; `None` from [`CORNER_LIMIT`] on. It is below
    /// zero where the arc is longer than both setbacks.
    pub deduction: Option<f64>,
    /// What to take off the sum of two legs told to the outside tangent: −v of DIN 6935.
    pub tangent_deduction: f64,
}

impl Bend {
    /// A bend of this sheet, inside radius and turn angle (mm, mm, degrees).
    ///
    /// Radius zero is taken: a fold hammered flat has it, though no press brake bends so.
    ///
    /// # Errors
    /// [`BendError::Thickness`] unless 0.02 to 200; [`BendError::Radius`] unless 0 to [`LARGEST_RADIUS`];
    /// [`BendError::Turn`] unless above 0 and up to [`LARGEST_TURN`].
    pub fn new(thickness: f64, radius: f64, turn: f64) -> Result<Self, BendError> {
        if !(0.02..=200.0).contains(&thickness) {
            return Err(BendError::Thickness { thickness });
        }
        if !(0.0..=LARGEST_RADIUS).contains(&radius) {
            return Err(BendError::Radius { radius, most: LARGEST_RADIUS });
        }
        if !(turn > 0.0 && turn <= LARGEST_TURN) {
            return Err(BendError::Turn { turn, most: LARGEST_TURN });
        }
        Ok(Self { thickness, radius, turn })
    }

    /// Thickness of the sheet, mm.
    #[must_use]
    pub const fn thickness(&self) -> f64 {
        self.thickness
    }

    /// Inside radius, mm.
    #[must_use]
    pub const fn radius(&self) -> f64 {
        self.radius
    }

    /// Turn angle, degrees: 90 for a square corner.
    #[must_use]
    pub const fn turn(&self) -> f64 {
        self.turn
    }

    /// Opening angle, degrees: 180 less the turn, the angle that a protractor reads between the legs.
    #[must_use]
    pub const fn opening(&self) -> f64 {
        180.0 - self.turn
    }

    /// Length of the neutral line at K times the thickness from the inside face.
    #[must_use]
    pub fn allowance(&self, k: f64) -> f64 {
        self.turn.to_radians() * (self.radius + k * self.thickness)
    }

    /// Length of the bend zone by the empirical rule.
    #[must_use]
    pub fn empirical_allowance(&self) -> f64 {
        self.turn * (EMPIRICAL_RADIUS * self.radius + EMPIRICAL_THICKNESS * self.thickness)
    }

    /// From the start of the bend to the corner of the outside faces; `None` from [`CORNER_LIMIT`] on.
    #[must_use]
    pub fn outside_setback(&self) -> Option<f64> {
        Some((self.radius + self.thickness) * self.half_turn_tangent()?)
    }

    /// From the start of the bend to the corner of the inside faces; `None` from [`CORNER_LIMIT`] on.
    #[must_use]
    pub fn inside_setback(&self) -> Option<f64> {
        Some(self.radius * self.half_turn_tangent()?)
    }

    /// From the start of the bend to the tangent of the outside arc square to the leg. Up to 90° that is the corner.
    #[must_use]
    pub fn tangent_setback(&self) -> f64 {
        (self.radius + self.thickness) * (self.turn.to_radians().min(FRAC_PI_2) / 2.0).tan()
    }

    /// All its figures.
    ///
    /// # Errors
    /// [`BendError::DinTooSharp`] where DIN 6935 has none; [`BendError::EmpiricalTurn`] outside the empirical rule's range.
    ///
    /// # Examples
    /// 0.090 in mild steel bent square over 0.125 in, legs 2.000 and 1.500 in outside:
    /// ```
    /// use dropwise_shop::bend::{Bend, Development, KFactor};
    /// let bend = Bend::new(0.090 * 25.4, 0.125 * 25.4, 90.0)?;
    /// let figures = bend.figures(&Development::KFactor(KFactor::given(0.44)?))?;
    /// let deduction = figures.deduction.expect("a square bend has a corner");
    /// assert_eq!(format!("{:.4}", 3.5 - deduction / 25.4), "3.3286");
    /// # Ok::<(), dropwise_shop::bend::BendError>(())
    /// ```
    pub fn figures(&self, development: &Development) -> Result<BendFigures, BendError> {
        let tangent_setback = self.tangent_setback();
        let allowance = match development {
            Development::KFactor(k) => self.allowance(k.value()),
            Development::Empirical if !(1.0..=180.0).contains(&self.turn) => {
                return Err(BendError::EmpiricalTurn { turn: self.turn });
            }
            Development::Empirical => self.empirical_allowance(),
            // From v and not from k, so that turns below 15° follow the rule as well.
            Development::Din6935 => 2.0 * tangent_setback + din6935::compensation(self)?,
        };
        let outside_setback = self.outside_setback();
        Ok(BendFigures {
            bend: *self,
            allowance,
            k: (allowance / self.turn.to_radians() - self.radius) / self.thickness,
            outside_setback,
            tangent_setback,
            inside_setback: self.inside_setback(),
            deduction: outside_setback.map(|setback| 2.0 * setback - allowance),
            tangent_deduction: 2.0 * tangent_setback - allowance,
        })
    }

    fn half_turn_tangent(&self) -> Option<f64> {
        (self.turn < CORNER_LIMIT).then(|| (self.turn.to_radians() / 2.0).tan())
    }

    /// What the bend takes of a leg told so, given the length of its zone on the flat.
    pub(crate) fn taken(&self, datum: LegDatum, allowance: f64) -> Result<f64, BendError> {
        let corner = |setback: Option<f64>| setback.ok_or(BendError::NoCorner { turn: self.turn, limit: CORNER_LIMIT });
        match datum {
            LegDatum::Outside => corner(self.outside_setback()),
            LegDatum::OutsideTangent => Ok(self.tangent_setback()),
            LegDatum::Inside => corner(self.inside_setback()),
            LegDatum::Straight => Ok(0.0),
            LegDatum::BendLine => Ok(allowance / 2.0),
        }
    }
}

impl BendFigures {
    /// The straight part of a leg told so, from the free edge to the line where the bend begins.
    ///
    /// # Errors
    /// [`BendError::NoCorner`] where the bend has no corner to measure to; [`BendError::LegShort`] unless some straight
    /// part is left.
    pub fn straight(&self, leg: f64, datum: LegDatum) -> Result<f64, BendError> {
        let least = self.bend.taken(datum, self.allowance)?;
        let straight = leg - least;
        // A straight part that is nothing but rounding is none.
        if straight > 1e-9 * least.max(1.0) && straight.is_finite() {
            Ok(straight)
        } else {
            Err(BendError::LegShort { leg, datum, least })
        }
    }

    /// The leg as it would be told, of a straight part: the inverse of [`BendFigures::straight`].
    ///
    /// # Errors
    /// [`BendError::NoCorner`] where the bend has no corner to measure to.
    pub fn leg(&self, straight: f64, datum: LegDatum) -> Result<f64, BendError> {
        Ok(straight + self.bend.taken(datum, self.allowance)?)
    }

    /// Flat length of two legs and this bend between them.
    ///
    /// # Errors
    /// As for [`BendFigures::straight`], for the first leg that is at fault.
    pub fn flat_length(&self, legs: [(f64, LegDatum); 2]) -> Result<f64, BendError> {
        let [first, second] = legs;
        Ok(self.straight(first.0, first.1)? + self.allowance + self.straight(second.0, second.1)?)
    }
}

impl Development {
    /// Where the rule comes from; of a K-factor, where its value does. `None` for a K given by hand or measured.
    #[must_use]
    pub fn source(&self) -> Option<Source> {
        match self {
            Self::KFactor(k) => k.origin().source(),
            Self::Empirical => Some(EMPIRICAL_SOURCE),
            Self::Din6935 => Some(din6935::SOURCE),
        }
    }
}

impl fmt::Display for Development {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::KFactor(k) => k.fmt(f),
            Self::Empirical => write!(f, "0.01743 R + 0.0078 T for each degree: {EMPIRICAL_SOURCE}"),
            Self::Din6935 => write!(f, "DIN 6935: {}", din6935::SOURCE),
        }
    }
}

impl fmt::Display for LegDatum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Outside => "to the outside corner",
            Self::OutsideTangent => "to the outside of the bend",
            Self::Inside => "to the inside corner",
            Self::Straight => "to the start of the bend",
            Self::BendLine => "to the bend line",
        })
    }
}
