//! Metals with their tempers, which is what matters when they are bent: 6061 in its O temper folds flat, in T6 it cracks.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::material::Material;
use crate::nearest::{folded, nearest};

/// A metal in the state it is bent in.
///
/// It parses from its name and from the names of materials, which mean their usual temper, and prints as
/// [`Grade::name`].
///
/// # Examples
/// ```
/// use dropwise_shop::Material;
/// use dropwise_shop::bend::Grade;
/// assert_eq!("6061 t4".parse(), Ok(Grade::Aluminium6061T4));
/// assert_eq!("mild steel".parse(), Ok(Grade::usual(Material::MildSteel)));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Grade {
    /// Low-carbon sheet, hot or cold rolled: what [`Material::MildSteel`] means.
    LowCarbonSteel,
    /// Cold-rolled steel left hard or half hard, and spring steel.
    HardSteel,
    /// Structural plate ASTM A36.
    A36Plate,
    /// High-strength low-alloy plate of 50 ksi yield.
    Grade50,
    /// The same with improved formability.
    Grade50Formable,
    /// Plate of 80 ksi yield.
    Grade80,
    /// Quenched and tempered plate of 100 ksi yield.
    Quenched100,
    /// Chrome-molybdenum steel sheet.
    ChromeMoly,
    /// Low-carbon sheet with hot-dipped zinc.
    GalvanizedSteel,
    /// Type 304, annealed.
    Stainless304Annealed,
    /// Type 304, quarter hard.
    Stainless304QuarterHard,
    /// 1100-H14.
    Aluminium1100H14,
    /// 2024-T3, aircraft skin.
    Aluminium2024T3,
    /// 3003-H14.
    Aluminium3003H14,
    /// 5052-O.
    Aluminium5052O,
    /// 5052-H32: what [`Material::Aluminium5052`] means.
    Aluminium5052H32,
    /// 5052-H34.
    Aluminium5052H34,
    /// 6061-O.
    Aluminium6061O,
    /// 6061-T4.
    Aluminium6061T4,
    /// 6061-T6: what [`Material::Aluminium6061`] means.
    Aluminium6061T6,
    /// Soft brass.
    BrassSoft,
    /// Half-hard brass, as most sheet is sold.
    BrassHalfHard,
    /// Soft copper.
    CopperSoft,
    /// Half-hard copper.
    CopperHalfHard,
}

/// How a metal resists the bend, the classes that tables of K-factors have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hardness {
    /// Aluminium, copper, brass.
    Soft,
    /// Mild steel.
    Medium,
    /// Stainless, and aluminium hardened by heat treatment.
    Hard,
}

/// Why a name is not that of a metal and temper.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("no metal and temper is called `{}`{}", dropwise_geometry::shortened(typed), hint(*nearest))]
pub struct GradeError {
    /// What was typed.
    pub typed: String,
    /// The known name it is nearest to, if any is near.
    pub nearest: Option<&'static str>,
}

impl Hardness {
    /// Every class, the softest first.
    pub const ALL: [Self; 3] = [Self::Soft, Self::Medium, Self::Hard];
}

impl fmt::Display for Hardness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Soft => "soft",
            Self::Medium => "medium",
            Self::Hard => "hard",
        })
    }
}

impl Grade {
    /// Every grade.
    pub const ALL: [Self; 24] = [
        Self::LowCarbonSteel,
        Self::HardSteel,
        Self::A36Plate,
        Self::Grade50,
        Self::Grade50Formable,
        Self::Grade80,
        Self::Quenched100,
        Self::ChromeMoly,
        Self::GalvanizedSteel,
        Self::Stainless304Annealed,
        Self::Stainless304QuarterHard,
        Self::Aluminium1100H14,
        Self::Aluminium2024T3,
        Self::Aluminium3003H14,
        Self::Aluminium5052O,
        Self::Aluminium5052H32,
        Self::Aluminium5052H34,
        Self::Aluminium6061O,
        Self::Aluminium6061T4,
        Self::Aluminium6061T6,
        Self::BrassSoft,
        Self::BrassHalfHard,
        Self::CopperSoft,
        Self::CopperHalfHard,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::LowCarbonSteel => "low carbon steel sheet",
            Self::HardSteel => "hard cold rolled steel",
            Self::A36Plate => "A36 plate",
            Self::Grade50 => "grade 50 plate",
            Self::Grade50Formable => "grade 50 formable plate",
            Self::Grade80 => "grade 80 plate",
            Self::Quenched100 => "100 ksi quenched plate",
            Self::ChromeMoly => "chrome-moly steel",
            Self::GalvanizedSteel => "galvanized steel sheet",
            Self::Stainless304Annealed => "304 stainless annealed",
            Self::Stainless304QuarterHard => "304 stainless quarter hard",
            Self::Aluminium1100H14 => "1100-H14",
            Self::Aluminium2024T3 => "2024-T3",
            Self::Aluminium3003H14 => "3003-H14",
            Self::Aluminium5052O => "5052-O",
            Self::Aluminium5052H32 => "5052-H32",
            Self::Aluminium5052H34 => "5052-H34",
            Self::Aluminium6061O => "6061-O",
            Self::Aluminium6061T4 => "6061-T4",
            Self::Aluminium6061T6 => "6061-T6",
            Self::BrassSoft => "soft brass",
            Self::BrassHalfHard => "half-hard brass",
            Self::CopperSoft => "soft copper",
            Self::CopperHalfHard => "half-hard copper",
        }
    }

    /// The state in which this material is usually sold as sheet. Common practice, no source.
    #[must_use]
    pub const fn usual(material: Material) -> Self {
        match material {
            Material::MildSteel => Self::LowCarbonSteel,
            Material::GalvanizedSteel => Self::GalvanizedSteel,
            Material::Stainless304 => Self::Stainless304Annealed,
            Material::Aluminium5052 => Self::Aluminium5052H32,
            Material::Aluminium6061 => Self::Aluminium6061T6,
            Material::Brass => Self::BrassHalfHard,
            Material::Copper => Self::CopperSoft,
        }
    }

    /// The material it is a state of; `None` for metals that the shop does not otherwise know (1100, 2024, 3003).
    #[must_use]
    pub const fn material(self) -> Option<Material> {
        match self {
            Self::LowCarbonSteel
            | Self::HardSteel
            | Self::A36Plate
            | Self::Grade50
            | Self::Grade50Formable
            | Self::Grade80
            | Self::Quenched100
            | Self::ChromeMoly => Some(Material::MildSteel),
            Self::GalvanizedSteel => Some(Material::GalvanizedSteel),
            Self::Stainless304Annealed | Self::Stainless304QuarterHard => Some(Material::Stainless304),
            Self::Aluminium1100H14 | Self::Aluminium2024T3 | Self::Aluminium3003H14 => None,
            Self::Aluminium5052O | Self::Aluminium5052H32 | Self::Aluminium5052H34 => Some(Material::Aluminium5052),
            Self::Aluminium6061O | Self::Aluminium6061T4 | Self::Aluminium6061T6 => Some(Material::Aluminium6061),
            Self::BrassSoft | Self::BrassHalfHard => Some(Material::Brass),
            Self::CopperSoft | Self::CopperHalfHard => Some(Material::Copper),
        }
    }

    /// Its class in the table of K-factors by radius, whose columns stand for soft metals (aluminium), medium ones and
    /// hard ones (stainless). Which grade goes where is common practice, no source.
    #[must_use]
    pub const fn hardness(self) -> Hardness {
        match self {
            Self::LowCarbonSteel | Self::A36Plate | Self::Grade50 | Self::Grade50Formable | Self::GalvanizedSteel => {
                Hardness::Medium
            }
            Self::HardSteel
            | Self::Grade80
            | Self::Quenched100
            | Self::ChromeMoly
            | Self::Stainless304Annealed
            | Self::Stainless304QuarterHard
            | Self::Aluminium2024T3
            | Self::Aluminium6061T4
            | Self::Aluminium6061T6 => Hardness::Hard,
            Self::Aluminium1100H14
            | Self::Aluminium3003H14
            | Self::Aluminium5052O
            | Self::Aluminium5052H32
            | Self::Aluminium5052H34
            | Self::Aluminium6061O
            | Self::BrassSoft
            | Self::BrassHalfHard
            | Self::CopperSoft
            | Self::CopperHalfHard => Hardness::Soft,
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Grade {
    type Err = GradeError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let typed = folded(text);
        if let Some(grade) = Self::ALL.into_iter().find(|grade| folded(grade.name()) == typed) {
            return Ok(grade);
        }
        if let Ok(material) = text.parse() {
            return Ok(Self::usual(material));
        }
        let names = Self::ALL.map(|grade| (folded(grade.name()), grade.name()));
        let near = nearest(&typed, names.iter().map(|(folded, _)| folded.as_str()));
        let nearest = near.and_then(|near| names.iter().find(|(folded, _)| folded == near)).map(|&(_, name)| name);
        Err(GradeError { typed: text.trim().to_owned(), nearest })
    }
}

fn hint(nearest: Option<&str>) -> String {
    match nearest {
        Some(name) => format!("; did you mean `{name}`?"),
        None => format!("; known are {}", Grade::ALL.map(Grade::name).join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_means_its_grade_and_every_material_its_usual_one() {
        for grade in Grade::ALL {
            assert_eq!(grade.to_string().parse(), Ok(grade));
            assert_eq!(grade.name().to_uppercase().replace('-', " ").parse(), Ok(grade));
            if let Some(material) = grade.material() {
                assert_eq!(Grade::usual(material).material(), Some(material));
            }
        }
        for material in Material::ALL {
            assert_eq!(Grade::usual(material).material(), Some(material));
            assert_eq!(material.name().parse(), Ok(Grade::usual(material)));
        }
    }

    #[test]
    fn a_miss_names_the_nearest() {
        let error = "6061-T7".parse::<Grade>().unwrap_err();
        assert_eq!(error.nearest, Some("6061-T4"), "T6 is as near, and the earlier is offered");
        assert!("pewter".parse::<Grade>().unwrap_err().to_string().contains("known are low carbon steel sheet"));
    }
}
