//! The shop's own K-factor, from a strip it bent and measured.
//!
//! Cut a strip, measure its length flat; bend it once near the middle with the tool and the metal of the job; measure
//! both legs. What the straight parts do not account for, the bend took.

use serde::{Deserialize, Serialize};

use super::allowance::{Bend, LegDatum};
use super::error::BendError;
use super::grade::{Grade, GradeError};
use super::k_factor::{KFactor, LARGEST_MEASURED_K};

/// A bent test strip: what was measured, kept so that the K-factor can be worked out again by whoever doubts it.
///
/// Lengths are millimetres, angles degrees. The K-factor itself is not kept: it follows from the rest, and a file that
/// held both could contradict itself. A strip read from a file is unchecked until [`TestStrip::k_factor`] is asked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestStrip {
    /// Metal and temper, by any name that [`Grade`] understands.
    pub material: String,
    /// Thickness as measured, not as its gauge says.
    pub thickness: f64,
    /// Punch, die and way of bending, in the shop's own words; compared without regard to case and blanks.
    pub tool: String,
    /// Inside radius of the bend, by a radius gauge.
    pub radius: f64,
    /// Turn angle: 180° less what a protractor reads between the legs.
    pub turn: f64,
    /// Length of the strip before the bend.
    pub flat_length: f64,
    /// Both legs after it.
    pub legs: [f64; 2],
    /// How the legs were measured: to the outside corner, to the outside of the bend, to the inside corner, or the
    /// straight parts alone.
    pub measured: LegDatum,
    /// Date, heat number or whatever else helps; may be empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl TestStrip {
    /// The bend of the strip.
    ///
    /// # Errors
    /// As [`Bend::new`].
    pub fn bend(&self) -> Result<Bend, BendError> {
        Bend::new(self.thickness, self.radius, self.turn)
    }

    /// The metal it was cut from.
    ///
    /// # Errors
    /// [`GradeError`] for a name that nobody knows.
    pub fn grade(&self) -> Result<Grade, GradeError> {
        self.material.parse()
    }

    /// The flat length of the bend zone: the strip's length less its straight parts, mm.
    ///
    /// # Errors
    /// [`BendError`] for sizes that no bend has, for lengths that are none, for legs that end inside their own bend or
    /// were told to a corner or a bend line that cannot be measured to.
    pub fn allowance(&self) -> Result<f64, BendError> {
        let bend = self.bend()?;
        if self.measured == LegDatum::BendLine {
            // The line lies in the middle of the bend zone whatever its length, so it tells nothing.
            return Err(BendError::StripDatum { datum: self.measured });
        }
        let lengths = [("flat length", self.flat_length), ("first leg", self.legs[0]), ("second leg", self.legs[1])];
        for (what, length) in lengths {
            if !(length > 0.0 && length.is_finite()) {
                return Err(BendError::StripLength { what, length });
            }
        }
        let taken = bend.taken(self.measured, 0.0)?;
        if let Some(&leg) = self.legs.iter().find(|&&leg| leg <= taken) {
            return Err(BendError::LegShort { leg, datum: self.measured, least: taken });
        }
        Ok(self.flat_length - (self.legs[0] - taken) - (self.legs[1] - taken))
    }

    /// The K-factor that reproduces this strip.
    ///
    /// # Errors
    /// As [`TestStrip::allowance`]; [`BendError::StripImpossible`] when the K that comes out lies outside 0 to
    /// [`LARGEST_MEASURED_K`]: then something was misread.
    ///
    /// # Examples
    /// ```
    /// use dropwise_shop::bend::{LegDatum, TestStrip};
    /// let strip = TestStrip {
    ///     material: "mild steel".into(),
    ///     thickness: 1.5,
    ///     tool: "12 mm die".into(),
    ///     radius: 2.0,
    ///     turn: 90.0,
    ///     flat_length: 100.0,
    ///     legs: [51.4, 51.5],
    ///     measured: LegDatum::Outside,
    ///     note: String::new(),
    /// };
    /// // Straight parts of 47.9 and 48.0 leave 4.1 mm for the bend: 4.1 / (π/2) = 2.610, less R = 0.610, over T.
    /// assert_eq!(format!("{:.3}", strip.k_factor()?.value()), "0.407");
    /// # Ok::<(), dropwise_shop::bend::BendError>(())
    /// ```
    pub fn k_factor(&self) -> Result<KFactor, BendError> {
        let allowance = self.allowance()?;
        let k = (allowance / self.turn.to_radians() - self.radius) / self.thickness;
        // Rounding must not refuse a strip worked out on paper from K = 0.
        if !(-1e-9..=LARGEST_MEASURED_K).contains(&k) {
            return Err(BendError::StripImpossible { k, most: LARGEST_MEASURED_K, allowance });
        }
        Ok(KFactor::measured(k.max(0.0), Box::new(self.clone())))
    }

    /// Whether it speaks for this metal, thickness and tool: the same grade and tool, and thicknesses that agree to a
    /// twentieth, about what one sheet differs from the next of its gauge (common practice, no source). The inside radius
    /// is not asked for, since the tool makes it; a strip bent in another die is another tool's.
    #[must_use]
    pub fn speaks_for(&self, grade: Grade, thickness: f64, tool: &str) -> bool {
        let words = |text: &str| crate::nearest::folded(text);
        self.grade() == Ok(grade)
            && (self.thickness - thickness).abs() <= thickness / 20.0
            && words(&self.tool) == words(tool)
    }
}
