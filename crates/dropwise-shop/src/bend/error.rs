//! What can be wrong with the figures of a bend.

use thiserror::Error;

use super::allowance::LegDatum;

/// Why a bend has no such figure. Lengths are millimetres, angles degrees.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum BendError {
    /// A thickness that no sheet has.
    #[error("a thickness of {thickness} mm is not one of sheet or plate (0.02 to 200 mm)")]
    Thickness {
        /// The thickness.
        thickness: f64,
    },
    /// An inside radius below zero, beyond every bend, or no number.
    #[error("an inside radius of {radius} mm is not one of a bend (0 to {most} mm)")]
    Radius {
        /// The radius.
        radius: f64,
        /// The largest that is taken.
        most: f64,
    },
    /// A turn that is no bend.
    #[error("a bend of {turn}° is none; it must turn the sheet by more than 0° and by {most}° at most")]
    Turn {
        /// The turn angle.
        turn: f64,
        /// The largest that is taken.
        most: f64,
    },
    /// A K-factor that puts the neutral line outside the half of the sheet where it can lie.
    #[error(
        "a K-factor of {k} is impossible; the neutral line lies between 0 (inside face) and {most} of the thickness"
    )]
    KFactor {
        /// The value.
        k: f64,
        /// The largest that is taken.
        most: f64,
    },
    /// The two legs run so nearly alongside that the corner where they would meet is too far off to measure to.
    #[error(
        "a bend of {turn}° has no corner to measure a leg to: at {limit}° and beyond, the setback grows without bound; \
         tell the leg to the outside of the bend, or as the straight part alone"
    )]
    NoCorner {
        /// The turn angle.
        turn: f64,
        /// The turn from which no corner is taken.
        limit: f64,
    },
    /// A leg that ends inside its own bend, or is no number.
    #[error("a leg of {leg} mm told {datum} ends inside its own bend; it must be longer than {least:.3} mm")]
    LegShort {
        /// The leg.
        leg: f64,
        /// How it was told.
        datum: LegDatum,
        /// What the bend alone takes of it.
        least: f64,
    },
    /// The empirical rule was not made for so slight or so wide a turn.
    #[error("the rule 0.01743 R + 0.0078 T is for bends of 1° to 180°, and not for {turn}°; take a K-factor")]
    EmpiricalTurn {
        /// The turn angle.
        turn: f64,
    },
    /// DIN 6935 puts the neutral line at or inside the inner face for so sharp a bend.
    #[error(
        "DIN 6935 gives no length for a radius of {radius} mm in {thickness} mm sheet: its k is {k:.3}, and must be above 0 \
         (radius at least 0.0502 times the thickness)"
    )]
    DinTooSharp {
        /// The inside radius.
        radius: f64,
        /// The sheet.
        thickness: f64,
        /// What the formula gives; minus infinity for radius zero.
        k: f64,
    },
    /// A table that does not list this thickness for this metal.
    #[error("the table lists no K-factor of {grade} at {thickness:.3} mm; {known}")]
    NotListed {
        /// The metal.
        grade: &'static str,
        /// The sheet.
        thickness: f64,
        /// What it does list of that metal.
        known: String,
    },
    /// The straight parts of a test strip were not measured in a way that tells anything of the bend.
    #[error("a test strip cannot be measured {datum}; measure its legs to the outside or to the inside of the bend")]
    StripDatum {
        /// How it was measured.
        datum: LegDatum,
    },
    /// A length of a test strip that is none.
    #[error("the {what} of a test strip must be more than 0 mm, and {length} is not")]
    StripLength {
        /// Which length.
        what: &'static str,
        /// As given.
        length: f64,
    },
    /// A strip's lengths contradict each other.
    #[error(
        "the strip gives K = {k:.3}, which no bend has (0 to {most}): the bend took {allowance:.3} mm of the flat length; \
         measure the flat length, the legs, the inside radius and the angle again"
    )]
    StripImpossible {
        /// What comes out.
        k: f64,
        /// The largest that is taken.
        most: f64,
        /// Flat length less the straight parts, from which it comes.
        allowance: f64,
    },
}
