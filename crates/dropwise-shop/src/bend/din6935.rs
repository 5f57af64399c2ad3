//! Flat length by DIN 6935, the standard for cold bent flat steel products.
//!
//! The neutral line runs at R + k T/2, with k = 0.65 + 0.5 log10(R/T), at most 1; so its K is k/2. The flat length is
//! the sum of the outside legs and a compensation v for each bend, which is below zero wherever the legs overlap at the
//! corner by more than the arc is long. With the opening angle b, 180° for flat sheet:
//!
//! | b | v | legs measured to |
//! |---|---|---|
//! | above 0° to 90° | π (180 − b)/180 (R + k T/2) − 2 (R + T) | the tangent of the outside arc |
//! | above 90° to 165° | the same first term − 2 (R + T) tan((180 − b)/2) | the outside corner |
//! | above 165° to 180° | 0 | the outside corner |
//!
//! The first two agree at 90°. The third does not join the second: at 165° v leaps to zero, by 0.32 mm for R 4 in
//! 2 mm sheet. The standard accepts that for bends so slight.
//!
//! Opening angles of 0° and below (hems) are outside the standard's table. [`compensation`] carries the first row on,
//! which is the same arc and the same legs.
//!
//! # Source
//! The formula of k: DIN 6935 factor as quoted at excelution.at, 2019 (confirmed). Its cap, and the rule for v: DIN 6935, from memory.
//! Remembered entries of its supplement and of a trade tables book agree with both; see the tests.

use super::allowance::Bend;
use super::error::BendError;
use crate::source::Source;

/// Where the rule comes from.
pub const SOURCE: Source = Source::from_memory("DIN 6935");

/// Where the formula of k comes from.
pub const K_SOURCE: Source = Source::confirmed("DIN 6935 factor as quoted at excelution.at, 2019");

/// Opening angle above which nothing is taken off, degrees.
pub const SLIGHT_OPENING: f64 = 165.0;

/// The correction factor k: where in the inside half of the sheet the neutral line runs, 1 for its middle.
///
/// # Errors
/// [`BendError::DinTooSharp`] where the formula gives zero or less: below R = 0.0502 T.
pub fn factor(bend: &Bend) -> Result<f64, BendError> {
    let (radius, thickness) = (bend.radius(), bend.thickness());
    let k = 0.65 + 0.5 * (radius / thickness).log10();
    if k > 0.0 { Ok(k.min(1.0)) } else { Err(BendError::DinTooSharp { radius, thickness, k }) }
}

/// The compensation v, mm: what to add to the sum of the outside legs; mostly below zero.
///
/// # Errors
/// [`BendError::DinTooSharp`], from [`factor`].
///
/// # Examples
/// ```
/// use dropwise_shop::bend::{Bend, din6935};
/// let v = din6935::compensation(&Bend::new(2.0, 4.0, 90.0)?)?;
/// assert_eq!(format!("{v:.2}"), "-4.46"); // a trade tables book rounds to 4.5
/// # Ok::<(), dropwise_shop::bend::BendError>(())
/// ```
pub fn compensation(bend: &Bend) -> Result<f64, BendError> {
    let k = factor(bend)?;
    // The rule asks for an opening above 165°: a bend of just 15° still counts as a bend.
    if bend.opening() > SLIGHT_OPENING {
        return Ok(0.0);
    }
    Ok(bend.allowance(k / 2.0) - 2.0 * bend.tangent_setback())
}
