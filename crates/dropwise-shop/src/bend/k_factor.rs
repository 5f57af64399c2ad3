//! K-factors: where in the thickness the neutral line runs.
//!
//! Published tables disagree by up to 0.1 for the same job, so each value here carries its origin, and a shop that has
//! bent a test strip should use its own ([`TestStrip`]). How far apart they are, for a square air bend:
//!
//! | job | by R/T | by material and thickness | DIN 6935 (k/2) | handbook constants |
//! |---|---|---|---|---|
//! | mild steel 1.5 mm, R = T | 0.38 | 0.38 | 0.325 | 0.407 |
//! | 5052-H32 1/16 in, R = T | 0.33 | 0.43 | 0.325 | 0.407 |
//! | stainless 2 mm, R = T | 0.40 | 0.40 | 0.325 | – |
//! | mild steel 2 mm, R = 2T | 0.43 | 0.38 | 0.400 | 0.407 |
//!
//! The table by R/T has steps, at R = T and R = 3T; they are published so and not smoothed here. A K predictor by a
//! straight line, K = 0.07559 (R/T − 1) + 0.27324, is left out: its own printed example, 0.349 for T 0.062 and R 0.093,
//! is not what the formula gives, 0.311 (k-Factor page).

use std::fmt;

use serde::{Deserialize, Serialize};

use super::allowance::Bend;
use super::din6935;
use super::error::BendError;
use super::grade::{Grade, Hardness};
use super::hem::{CLOSED_HEM_K, CLOSED_HEM_K_TO, CLOSED_HEM_SOURCE, CLOSED_HEM_STAND_IN, HemKind};
use super::test_strip::TestStrip;
use crate::source::Source;
use crate::thickness::trade_size;

/// Largest K that is taken when given: the middle of the sheet. Pulled outside more than squeezed inside, the sheet
/// thins, and the neutral line moves inward from there.
pub const LARGEST_K: f64 = 0.5;

/// Largest K that is taken when measured. A published shop table holds a row that works out at 0.546, for a sharp bend
/// in thin sheet whose real radius was larger than its nominal one; whatever the cause, such a K reproduces that bend.
pub const LARGEST_MEASURED_K: f64 = 0.6;

const INCH: f64 = 25.4;

/// How the punch drives the sheet into the die.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// The sheet touches the die at its two shoulders only; the angle comes from the depth.
    AirBend,
    /// The sheet is pressed against the walls of the die.
    Bottoming,
    /// The punch's tip is pressed into the sheet.
    Coining,
}

/// A K-factor and how it was come by.
///
/// Prints with its origin: `0.38 (air bend, medium, R up to T; Bending (metalworking) K-factor table (confirmed))`.
#[derive(Clone, Debug, PartialEq)]
pub struct KFactor {
    value: f64,
    origin: KOrigin,
}

/// How a K-factor was come by.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum KOrigin {
    /// From [`RATIO_TABLE`].
    ByRatio {
        /// How the bend is made.
        method: Method,
        /// The metal's class.
        hardness: Hardness,
        /// The row.
        row: RatioRow,
    },
    /// From [`THICKNESS_TABLE`].
    ByThickness {
        /// How the bend is made.
        method: Method,
        /// The metal.
        grade: Grade,
        /// The row.
        row: ThicknessRow,
    },
    /// From [`HANDBOOK_TABLE`].
    Handbook {
        /// The row.
        row: HandbookRow,
    },
    /// Of a hem pressed flat; whether the sheet is as thin as the published rule is for.
    ClosedHem {
        /// Whether the rule speaks for this thickness.
        is_thin: bool,
    },
    /// Said by whoever wrote the job.
    Given,
    /// From a strip bent in this shop.
    Measured(Box<TestStrip>),
}

/// A row of the table by method and ratio of radius to thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioRow {
    /// Ends of the range of R/T: above the first, up to the second. The first row starts with zero itself.
    pub ratio: (f64, f64),
    /// K by method: air bend, bottoming, coining; of each, soft, medium, hard.
    pub k: [[f64; 3]; 3],
}

/// A row of the table by material and thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThicknessRow {
    /// Metals it is for.
    pub grades: &'static [Grade],
    /// Ends of the range of thickness, in, both included; where two rows meet, the thinner one counts.
    pub inches: (f64, f64),
    /// K by method: air bend, bottoming, coining.
    pub k: [f64; 3],
}

/// A row of the handbook's constants: a square bend takes cT + 1.57 R.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HandbookRow {
    /// Metals it is for.
    pub grades: &'static [Grade],
    /// The constant c. K is c divided by half of π.
    pub constant: f64,
}

/// Source of the air bends of [`RATIO_TABLE`].
pub const RATIO_SOURCE: Source = Source::confirmed("Bending (metalworking) K-factor table");

/// Source of the bottoming and coining of [`RATIO_TABLE`], which the copy at hand lacks.
pub const RATIO_SOURCE_PRESSED: Source = Source::from_memory("Bending (metalworking) K-factor table");

/// Source of [`THICKNESS_TABLE`], which is for dies of eight thicknesses.
pub const THICKNESS_SOURCE: Source = Source::confirmed("K-Factor, Bend Allowance and Bend Deduction");

/// Source of [`HANDBOOK_TABLE`].
pub const HANDBOOK_SOURCE: Source = Source::from_memory("Machinery's Handbook");

/// K by method, hardness and R/T.
pub const RATIO_TABLE: [RatioRow; 3] = [
    RatioRow { ratio: (0.0, 1.0), k: [[0.33, 0.38, 0.40], [0.42, 0.44, 0.46], [0.38, 0.41, 0.44]] },
    RatioRow { ratio: (1.0, 3.0), k: [[0.40, 0.43, 0.45], [0.46, 0.47, 0.48], [0.44, 0.46, 0.47]] },
    RatioRow { ratio: (3.0, f64::INFINITY), k: [[0.50; 3]; 3] },
];

/// K by material and thickness.
pub const THICKNESS_TABLE: [ThicknessRow; 8] = [
    ThicknessRow { grades: &[Grade::LowCarbonSteel], inches: (0.025, 0.040), k: [0.33, 0.38, 0.42] },
    ThicknessRow { grades: &[Grade::LowCarbonSteel], inches: (0.040, 0.125), k: [0.38, 0.42, 0.44] },
    ThicknessRow { grades: &[Grade::LowCarbonSteel, Grade::A36Plate], inches: (0.125, 0.250), k: [0.42, 0.44, 0.46] },
    ThicknessRow { grades: &[Grade::Stainless304Annealed], inches: (0.062, 0.187), k: [0.40, 0.43, 0.45] },
    ThicknessRow { grades: &[Grade::Aluminium5052H32], inches: (0.062, 0.250), k: [0.43, 0.46, 0.48] },
    ThicknessRow { grades: &[Grade::Aluminium6061T6], inches: (0.125, 0.250), k: [0.45, 0.47, 0.50] },
    ThicknessRow { grades: &[Grade::CopperSoft, Grade::BrassHalfHard], inches: (0.025, 0.125), k: [0.38, 0.41, 0.44] },
    ThicknessRow { grades: &[Grade::GalvanizedSteel], inches: (0.040, 0.125), k: [0.40, 0.43, 0.45] },
];

/// The handbook's constants for square bends.
pub const HANDBOOK_TABLE: [HandbookRow; 3] = [
    HandbookRow { grades: &[Grade::BrassSoft, Grade::CopperSoft], constant: 0.55 },
    HandbookRow {
        grades: &[
            Grade::CopperHalfHard,
            Grade::BrassHalfHard,
            Grade::LowCarbonSteel,
            Grade::GalvanizedSteel,
            Grade::Aluminium1100H14,
            Grade::Aluminium3003H14,
            Grade::Aluminium5052O,
            Grade::Aluminium5052H32,
            Grade::Aluminium5052H34,
            Grade::Aluminium6061O,
        ],
        constant: 0.64,
    },
    HandbookRow { grades: &[Grade::HardSteel], constant: 0.71 },
];

impl Method {
    /// Every method, the gentlest first.
    pub const ALL: [Self; 3] = [Self::AirBend, Self::Bottoming, Self::Coining];

    const fn column(self) -> usize {
        match self {
            Self::AirBend => 0,
            Self::Bottoming => 1,
            Self::Coining => 2,
        }
    }
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::AirBend => "air bend",
            Self::Bottoming => "bottoming",
            Self::Coining => "coining",
        })
    }
}

impl KFactor {
    /// A value given by hand.
    ///
    /// # Errors
    /// [`BendError::KFactor`] unless 0 to [`LARGEST_K`].
    pub fn given(value: f64) -> Result<Self, BendError> {
        if !(0.0..=LARGEST_K).contains(&value) {
            return Err(BendError::KFactor { k: value, most: LARGEST_K });
        }
        Ok(Self { value, origin: KOrigin::Given })
    }

    /// The value of [`RATIO_TABLE`] for a bend: the table to start from, since it has an answer for every bend.
    ///
    /// # Examples
    /// ```
    /// use dropwise_shop::bend::{Bend, Hardness, KFactor, Method};
    /// let bend = Bend::new(1.5, 1.5, 90.0)?;
    /// let k = KFactor::by_ratio(Method::AirBend, Hardness::Medium, &bend);
    /// assert_eq!(k.value(), 0.38);
    /// assert!(k.to_string().contains("K-factor table (confirmed)"));
    /// # Ok::<(), dropwise_shop::bend::BendError>(())
    /// ```
    #[must_use]
    pub fn by_ratio(method: Method, hardness: Hardness, bend: &Bend) -> Self {
        // A radius that should equal the thickness, but came through inches, still counts as equal.
        let ratio = bend.radius() / bend.thickness() - 1e-9;
        let [sharp, middle, wide] = RATIO_TABLE;
        let row = [sharp, middle].into_iter().find(|row| ratio <= row.ratio.1).unwrap_or(wide);
        let value = row.k[method.column()][hardness as usize];
        Self { value, origin: KOrigin::ByRatio { method, hardness, row } }
    }

    /// The value of [`THICKNESS_TABLE`] for a metal and a thickness in mm, in a die of about eight thicknesses.
    ///
    /// # Errors
    /// [`BendError::NotListed`], with what is listed of that metal.
    pub fn by_thickness(method: Method, grade: Grade, thickness: f64) -> Result<Self, BendError> {
        let listed = || THICKNESS_TABLE.into_iter().filter(|row| row.grades.contains(&grade));
        let inches = thickness / INCH;
        let found = listed().find(|row| (row.inches.0 - 1e-9..=row.inches.1 + 1e-9).contains(&inches));
        let row = found.ok_or_else(|| {
            let ranges: Vec<String> =
                listed().map(|row| format!("{:.3} to {:.3} mm", row.inches.0 * INCH, row.inches.1 * INCH)).collect();
            let known = if ranges.is_empty() {
                "it is not in it".to_owned()
            } else {
                format!("it lists {}", ranges.join(", "))
            };
            BendError::NotListed { grade: grade.name(), thickness, known }
        })?;
        Ok(Self { value: row.k[method.column()], origin: KOrigin::ByThickness { method, grade, row } })
    }

    /// The value of [`HANDBOOK_TABLE`] for a metal, whatever its thickness; `None` where that has no constant for it.
    #[must_use]
    pub fn by_handbook(grade: Grade) -> Option<Self> {
        let row = HANDBOOK_TABLE.into_iter().find(|row| row.grades.contains(&grade))?;
        Some(Self { value: row.constant / std::f64::consts::FRAC_PI_2, origin: KOrigin::Handbook { row } })
    }

    /// The value for a hem pressed flat in sheet of this thickness, mm. No table of air bends speaks for one: the fold is
    /// squeezed, and K 0.38 would take twice as much off as shops do.
    #[must_use]
    pub fn closed_hem(thickness: f64) -> Self {
        let is_thin = thickness <= CLOSED_HEM_K_TO + 1e-9;
        Self { value: CLOSED_HEM_K, origin: KOrigin::ClosedHem { is_thin } }
    }

    pub(super) const fn measured(value: f64, strip: Box<TestStrip>) -> Self {
        Self { value, origin: KOrigin::Measured(strip) }
    }

    /// The value: the neutral line's distance from the inside face, as a share of the thickness.
    #[must_use]
    pub const fn value(&self) -> f64 {
        self.value
    }

    /// How it was come by.
    #[must_use]
    pub const fn origin(&self) -> &KOrigin {
        &self.origin
    }

    /// Whether it puts the neutral line beyond the middle of the sheet, which only a measured one can: a hint that the
    /// inside radius is not what was written down.
    #[must_use]
    pub fn is_beyond_the_middle(&self) -> bool {
        self.value > LARGEST_K
    }
}

/// How far apart the published tables are for one bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KSpread {
    /// Lowest and highest K that any of them gives.
    pub k: (f64, f64),
    /// Whose they are.
    pub sources: (Source, Source),
    /// By how much the flat length of the bend would differ from the one reckoned with, mm: with the lowest K, which is
    /// zero or less, and with the highest.
    pub millimetres: (f64, f64),
}

/// How far apart all tables that know this metal are for a bend whose zone was taken as `allowance` mm long. `None` where
/// no other table speaks: for hems pressed flat, and where only one lists the metal.
///
/// # Examples
/// 5052-H32 of 2 mm, R = T: the table by R/T gives K 0.33, the one by thickness 0.43, a tenth of K or 0.31 mm a bend more.
/// ```
/// use dropwise_shop::bend::{Bend, Grade, KFactor, Method, k_spread};
/// let bend = Bend::new(2.0, 2.0, 90.0)?;
/// let grade = Grade::Aluminium5052H32;
/// let taken = bend.allowance(KFactor::by_ratio(Method::AirBend, grade.hardness(), &bend).value());
/// let spread = k_spread(Method::AirBend, grade, &bend, taken).expect("several tables list it");
/// assert_eq!(format!("{:.2}", spread.millimetres.1), "0.31");
/// # Ok::<(), dropwise_shop::bend::BendError>(())
/// ```
#[must_use]
pub fn k_spread(method: Method, grade: Grade, bend: &Bend, allowance: f64) -> Option<KSpread> {
    if HemKind::of(bend) == Some(HemKind::Closed) {
        return None;
    }
    let by_din = din6935::factor(bend).ok().filter(|_| method == Method::AirBend).map(|k| (k / 2.0, din6935::K_SOURCE));
    let of = |k: KFactor| Some((k.value(), k.origin().source()?));
    let known = [
        of(KFactor::by_ratio(method, grade.hardness(), bend)),
        KFactor::by_thickness(method, grade, bend.thickness()).ok().and_then(of),
        KFactor::by_handbook(grade).and_then(of),
        by_din,
    ];
    let all: Vec<(f64, Source)> = known.into_iter().flatten().collect();
    let low = all.iter().copied().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let high = all.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let differs = |k: f64| bend.allowance(k) - allowance;
    (all.len() > 1).then(|| KSpread {
        k: (low.0, high.0),
        sources: (low.1, high.1),
        millimetres: (differs(low.0).min(0.0), differs(high.0).max(0.0)),
    })
}

impl KOrigin {
    /// The published source; `None` for a value given or measured.
    #[must_use]
    pub const fn source(&self) -> Option<Source> {
        match self {
            Self::ByRatio { method: Method::AirBend, .. } => Some(RATIO_SOURCE),
            Self::ByRatio { .. } => Some(RATIO_SOURCE_PRESSED),
            Self::ByThickness { .. } => Some(THICKNESS_SOURCE),
            Self::Handbook { .. } => Some(HANDBOOK_SOURCE),
            Self::ClosedHem { is_thin: true } => Some(CLOSED_HEM_SOURCE),
            Self::ClosedHem { is_thin: false } => Some(CLOSED_HEM_STAND_IN),
            Self::Given | Self::Measured(_) => None,
        }
    }
}

impl fmt::Display for KOrigin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ByRatio { method, hardness, row } => {
                let range = match row.ratio {
                    (0.0, _) => "R up to T",
                    (_, end) if end.is_finite() => "R from T to 3T",
                    _ => "R over 3T",
                };
                write!(f, "{method}, {hardness}, {range}")?;
            }
            Self::ByThickness { method, grade, row } => {
                write!(f, "{method}, {grade}, {:.3} to {:.3} in", row.inches.0, row.inches.1)?;
            }
            Self::Handbook { row } => write!(f, "square bend takes {} T + 1.57 R", row.constant)?,
            Self::ClosedHem { is_thin: true } => f.write_str("hem pressed flat")?,
            Self::ClosedHem { is_thin: false } => {
                f.write_str("hem pressed flat, for which nothing is published in this thickness: fold a strip")?;
            }
            Self::Given => f.write_str("given")?,
            Self::Measured(strip) => {
                let TestStrip { material, thickness, tool, .. } = strip.as_ref();
                write!(f, "measured: {material} {}, {tool}", trade_size(*thickness))?;
            }
        }
        if let Some(source) = self.source() { write!(f, "; {source}") } else { Ok(()) }
    }
}

impl fmt::Display for KFactor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rounded = (self.value * 1000.0).round() / 1000.0;
        write!(f, "{rounded} ({})", self.origin)
    }
}
