//! Hems: what metal may be folded flat, how long a return must be, and what it takes to press it.
//!
//! A hem is made in two strokes: an acute bend first, then flattening. A closed one is pressed until the sheet lies on
//! itself, an open one onto a filler as thick as its gap, a teardrop only until the edge of its leaf touches.

use std::fmt;

use super::allowance::Bend;
use super::die::least_flange;
use super::grade::Grade;
use super::material_forming::{BendToGrain, minimum_radius, tensile_strength};
use super::tonnage::TONNE_FORCE;
use crate::source::Source;

/// A form of hem.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HemKind {
    /// Pressed flat, without an inside radius.
    Closed,
    /// Half a turn with a gap.
    Open,
    /// Rolled past half a turn.
    Teardrop,
}

/// Opening angle of the first bend of a hem, degrees: best, and the widest that still works.
///
/// # Source
/// "Hemming articles": 30 best, 45 works (confirmed).
pub const FIRST_BEND: (f64, f64) = (30.0, 45.0);

/// Source of [`FIRST_BEND`].
pub const FIRST_BEND_SOURCE: Source = Source::confirmed("Hemming articles");

/// Least length of a return in thicknesses, from the outside of the fold to the raw edge.
///
/// # Source
/// "Sheet Metal Forming": 6 T (confirmed). Many say 4 T (from memory).
pub const LEAST_RETURN: f64 = 6.0;

/// Source of [`LEAST_RETURN`].
pub const LEAST_RETURN_SOURCE: Source = Source::confirmed("Sheet Metal Forming");

/// Thickest sheet that hemming tools close, mm: steel, stainless, aluminium.
pub const THICKEST_HEMMED: f64 = 2.0;

/// Source of [`THICKEST_HEMMED`].
pub const THICKEST_HEMMED_SOURCE: Source = Source::confirmed("Hemming Technology");

/// Thickness, mm, and force in tonnes a metre to press a hem of cold-rolled or stainless sheet: open, closed.
pub const HEM_FORCES: [(f64, f64, f64); 9] = [
    (0.6, 9.0, 23.0),
    (0.8, 12.0, 32.0),
    (1.0, 15.0, 40.0),
    (1.2, 17.0, 50.0),
    (1.6, 24.0, 63.0),
    (2.0, 30.0, 80.0),
    (2.6, 55.0, 90.0),
    (3.2, 70.0, 100.0),
    (4.5, 105.0, 200.0),
];

/// Source of [`HEM_FORCES`].
pub const HEM_FORCE_SOURCE: Source = Source::confirmed("Press Brake Technology, table as given in Hemming and seaming");

/// Source of the saying that a closed hem of aluminium tends to break at the fold, and that a teardrop is used instead.
pub const ALUMINIUM_HEM_SOURCE: Source = Source::confirmed("Contract maker's hemming page");

/// K of a hem pressed flat: with both legs told to the outside of the fold it takes 0.43 T off.
pub const CLOSED_HEM_K: f64 = 0.50;

/// Thickest sheet that the published rule of [`CLOSED_HEM_K`] is for, mm: 0.080 in.
pub const CLOSED_HEM_K_TO: f64 = 0.080 * 25.4;

/// Source of [`CLOSED_HEM_K`]: the text takes 43 % of the thickness off, which is K 0.50 exactly.
pub const CLOSED_HEM_SOURCE: Source = Source::derived("Hem allowance text: 43 % of the thickness, under 0.080 in");

/// The same in thicker sheet, where no source was found.
pub const CLOSED_HEM_STAND_IN: Source = Source::COMMON_PRACTICE;

/// Whether a metal may be folded flat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FoldsFlat {
    /// It is done every day.
    Yes,
    /// A table for square bends lists a radius of zero, but a hem is harder on the metal.
    Doubtful(Source),
    /// The metal asks for this inside radius, mm.
    No {
        /// The least inside radius.
        least: f64,
        /// Who says so.
        source: Source,
    },
    /// Nobody published anything.
    Unknown,
}

impl HemKind {
    /// The kind of hem that a bend is; `None` for one that turns by less than 180°.
    #[must_use]
    pub fn of(bend: &Bend) -> Option<Self> {
        match (bend.turn(), bend.radius()) {
            (turn, _) if turn < 180.0 - 1e-9 => None,
            (turn, _) if turn > 180.0 + 1e-9 => Some(Self::Teardrop),
            (_, radius) if radius > 0.0 => Some(Self::Open),
            _ => Some(Self::Closed),
        }
    }

    /// How it is finished after the first, acute bend. `gap` is the clear width inside it, in words.
    #[must_use]
    pub fn instruction(self, gap: &str) -> String {
        match self {
            Self::Closed => "fold it to an opening of 30° to 45° first, then press it flat".to_owned(),
            Self::Open => {
                format!("fold it to an opening of 30° to 45° first, then press it onto a filler {gap} thick")
            }
            Self::Teardrop => "fold it to an opening of 30° to 45° first, then press only until the edge of the leaf \
                               touches: flattened, it is scrap"
                .to_owned(),
        }
    }

    /// The force that presses it, kN by the metre; `None` above 4.5 mm, where the table ends. Between rows it runs straight;
    /// below the first it falls with the thickness. Metals softer than steel go by their tensile strength (derived); a
    /// teardrop takes no more than an open hem.
    #[must_use]
    pub fn force(self, grade: Grade, thickness: f64) -> Option<f64> {
        let column = |row: &(f64, f64, f64)| if self == Self::Closed { row.2 } else { row.1 };
        let (first, last) = (HEM_FORCES.first()?, HEM_FORCES.last()?);
        let tonnes = if thickness <= first.0 {
            column(first) * thickness / first.0
        } else {
            let pair = HEM_FORCES.windows(2).find(|pair| thickness <= pair[1].0 + 1e-9);
            let &[low, high] = pair.filter(|_| thickness <= last.0 + 1e-9)? else { return None };
            column(&low) + (column(&high) - column(&low)) * (thickness - low.0) / (high.0 - low.0)
        };
        let share = (tensile_strength(grade).value / 450.0).min(1.0);
        Some(tonnes * TONNE_FORCE * share)
    }
}

/// The shortest return that a die holds at the first bend of a hem, mm: at 30° of opening, which is best, and at 45°.
///
/// # Source
/// [`FLANGE_SOURCE`](super::FLANGE_SOURCE): 1.94 V and 1.31 V.
#[must_use]
pub fn least_hem_return(opening: f64) -> (f64, f64) {
    let of = |angle| least_flange(opening, angle).unwrap_or(f64::NAN);
    (of(FIRST_BEND.0), of(FIRST_BEND.1))
}

/// Whether a metal of this thickness (mm) may be folded flat.
#[must_use]
pub fn folds_flat(grade: Grade, thickness: f64) -> FoldsFlat {
    match grade {
        // Sheet is hemmed whatever is asked of a square bend's radius.
        Grade::LowCarbonSteel | Grade::GalvanizedSteel if thickness <= super::material_forming::THICKEST_SHEET => {
            FoldsFlat::Yes
        }
        Grade::Stainless304Annealed | Grade::BrassSoft | Grade::CopperSoft => FoldsFlat::Yes,
        _ => match minimum_radius(grade, thickness, BendToGrain::Across) {
            None => FoldsFlat::Unknown,
            Some(minimum) if minimum.least > 1e-9 => FoldsFlat::No { least: minimum.least, source: minimum.source },
            Some(_) => FoldsFlat::Doubtful(ALUMINIUM_HEM_SOURCE),
        },
    }
}

impl fmt::Display for HemKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Closed => "closed hem",
            Self::Open => "open hem",
            Self::Teardrop => "teardrop hem",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bend(radius: f64, turn: f64) -> Bend {
        Bend::new(1.0, radius, turn).unwrap()
    }

    #[test]
    fn kinds_by_turn_and_radius() {
        assert_eq!(HemKind::of(&bend(0.0, 180.0)), Some(HemKind::Closed));
        assert_eq!(HemKind::of(&bend(1.0, 180.0)), Some(HemKind::Open));
        assert_eq!(HemKind::of(&bend(1.0, 202.0)), Some(HemKind::Teardrop));
        // An acute bend is no hem, however sharp.
        assert_eq!(HemKind::of(&bend(1.0, 155.0)), None);
        assert!(HemKind::Open.instruction("3 mm").contains("filler 3 mm thick"));
        assert!(!HemKind::Teardrop.instruction("").contains("press it flat"));
    }

    /// "Press Brake Technology", tonnes a metre: every row, the multiples of an air bend in a die of 8 T that the rows come
    /// to (1.42 × 450 × T/8 kN/m), and the least length that a 20 t press closes at 1.0, 1.6 and 2.0 mm.
    #[test]
    fn forces_are_those_of_the_table() {
        for (thickness, open, closed, of_air) in [
            (0.6, 9.0, 23.0, 4.7),
            (0.8, 12.0, 32.0, 4.9),
            (1.0, 15.0, 40.0, 4.9),
            (1.2, 17.0, 50.0, 5.1),
            (1.6, 24.0, 63.0, 4.8),
            (2.0, 30.0, 80.0, 4.9),
            (2.6, 55.0, 90.0, 4.2),
            (3.2, 70.0, 100.0, 3.8),
            (4.5, 105.0, 200.0, 5.5),
        ] {
            let of = |kind: HemKind| kind.force(Grade::LowCarbonSteel, thickness).unwrap();
            assert!((of(HemKind::Open) / TONNE_FORCE - open).abs() < 1e-9, "{thickness}");
            assert!((of(HemKind::Closed) / TONNE_FORCE - closed).abs() < 1e-9, "{thickness}");
            assert_eq!(of(HemKind::Teardrop), of(HemKind::Open));
            let air = 1.42 * 450.0 * thickness / 8.0;
            assert!((of(HemKind::Closed) / air - of_air).abs() < 0.06, "{thickness}: {}", of(HemKind::Closed) / air);
        }
        for (thickness, metres) in [(1.0, 0.50), (1.6, 0.32), (2.0, 0.25)] {
            let force = HemKind::Closed.force(Grade::Stainless304Annealed, thickness).unwrap();
            assert!((20.0 * TONNE_FORCE / force - metres).abs() < 0.005, "{thickness}");
        }
        assert_eq!(HemKind::Closed.force(Grade::LowCarbonSteel, 6.0), None);
        let soft = HemKind::Closed.force(Grade::Aluminium1100H14, 1.0).unwrap();
        assert!(soft < 40.0 * TONNE_FORCE);
    }

    /// Aluminium that may be folded flat is what "Sheet bend radii" lists with 0: 1100-H14 and 5052-O to 1/16 in, 5052-H32 to
    /// 1/32, 5052-H34 to 1/64, 6061-O to 1/16, 6061-T4 to 1/32, 6061-T6 none. "Hemming Technology": steel and stainless sheet.
    #[test]
    fn metals_that_fold_flat() {
        use Grade::*;
        let inch = |n: f64| n * 25.4;
        for (grade, last) in [
            (Aluminium1100H14, 1.0 / 16.0),
            (Aluminium5052O, 1.0 / 16.0),
            (Aluminium5052H32, 1.0 / 32.0),
            (Aluminium5052H34, 1.0 / 64.0),
            (Aluminium6061O, 1.0 / 16.0),
            (Aluminium6061T4, 1.0 / 32.0),
        ] {
            assert!(matches!(folds_flat(grade, inch(last)), FoldsFlat::Doubtful(_)), "{grade}");
            assert!(matches!(folds_flat(grade, inch(2.0 * last)), FoldsFlat::No { .. }), "{grade}");
        }
        assert!(matches!(folds_flat(Aluminium6061T6, inch(1.0 / 64.0)), FoldsFlat::No { .. }));
        assert_eq!(folds_flat(LowCarbonSteel, 2.0), FoldsFlat::Yes);
        assert_eq!(folds_flat(Stainless304Annealed, 1.5), FoldsFlat::Yes);
        assert_eq!(folds_flat(Aluminium3003H14, 1.0), FoldsFlat::Unknown);
        // "Steel Reference Guide": A36 plate asks for 1 T.
        let plate = folds_flat(LowCarbonSteel, 6.0);
        assert!(matches!(plate, FoldsFlat::No { least, .. } if (least - 6.0).abs() < 1e-9), "{plate:?}");
    }

    /// "How to calculate bending force": 1.94 V at 30° and 1.31 V at 45°; so 1 mm sheet in V 6 needs a return of 11.6 mm.
    /// "Hem allowance text": a closed hem takes 43 % of the thickness off, which is 2 T less π K T.
    #[test]
    fn returns_and_allowance() {
        let (best, works) = least_hem_return(6.0);
        assert!((best - 11.64).abs() < 1e-9 && (works - 7.86).abs() < 1e-9);
        assert!((2.0 - std::f64::consts::PI * CLOSED_HEM_K - 0.43).abs() < 0.005);
        // "Sheet Metal Forming".
        assert_eq!(LEAST_RETURN, 6.0);
    }
}
