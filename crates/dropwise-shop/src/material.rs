//! The metals of the shop: the names people type, and how heavy they are.

use std::fmt;
use std::str::FromStr;

use dropwise_geometry::shortened;
use thiserror::Error;

use crate::nearest::{folded, nearest};

/// A metal that comes in sheets.
///
/// It parses from the names people type, in any case, with blanks, hyphens or underscores, words in any order,
/// "aluminum" as well as "aluminium" and "galvanised" as well as "galvanized". It prints as [`Material::name`].
///
/// # Examples
/// ```
/// use dropwise_shop::Material;
/// assert_eq!("Galvanised".parse(), Ok(Material::GalvanizedSteel));
/// assert_eq!("5052-H32 aluminum".parse(), Ok(Material::Aluminium5052));
/// let miss = "alumnium 5052".parse::<Material>().unwrap_err();
/// assert!(miss.to_string().contains("did you mean `5052 aluminium`?"));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Material {
    /// Uncoated carbon steel: mild steel, hot or cold rolled.
    MildSteel,
    /// Carbon steel coated with zinc by hot dipping.
    GalvanizedSteel,
    /// Austenitic stainless steel, type 304.
    Stainless304,
    /// Aluminium alloy 5052, the one to bend.
    Aluminium5052,
    /// Aluminium alloy 6061, the one to machine.
    Aluminium6061,
    /// Brass sheet, copper with 30 to 40 % zinc.
    Brass,
    /// Copper sheet.
    Copper,
}

/// Why a name is not that of a material.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum MaterialError {
    /// Nothing was typed.
    #[error("the material has no name; known are {}", all_names())]
    Empty,
    /// No material is called that.
    #[error("no material is called `{}`{}", shortened(typed), hint(*nearest))]
    Unknown {
        /// What was typed.
        typed: String,
        /// The known name it is nearest to, if any is near.
        nearest: Option<&'static str>,
    },
    /// More than one material is called that, and they differ in more than a name.
    #[error("`{}` may be {}; say which", shortened(typed), candidate_names(candidates))]
    Ambiguous {
        /// What was typed.
        typed: String,
        /// What it may mean.
        candidates: &'static [Material],
    },
}

/// Names that several materials share.
const SHARED_NAMES: [(&str, &[Material]); 3] = [
    ("aluminium", &[Material::Aluminium5052, Material::Aluminium6061]),
    ("alu", &[Material::Aluminium5052, Material::Aluminium6061]),
    ("al", &[Material::Aluminium5052, Material::Aluminium6061]),
];

impl Material {
    /// Every material.
    pub const ALL: [Self; 7] = [
        Self::MildSteel,
        Self::GalvanizedSteel,
        Self::Stainless304,
        Self::Aluminium5052,
        Self::Aluminium6061,
        Self::Brass,
        Self::Copper,
    ];

    /// Its name in reports and in the labels of stock.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::MildSteel => "mild steel",
            Self::GalvanizedSteel => "galvanized steel",
            Self::Stainless304 => "304 stainless steel",
            Self::Aluminium5052 => "5052 aluminium",
            Self::Aluminium6061 => "6061 aluminium",
            Self::Brass => "brass",
            Self::Copper => "copper",
        }
    }

    /// What else it is called, in lower case with single blanks. Hot and cold rolled sheet share one entry: a shop
    /// that must keep them apart puts them in different jobs. Likewise "stainless" alone means type 304, the usual one.
    #[must_use]
    pub const fn aliases(self) -> &'static [&'static str] {
        match self {
            Self::MildSteel => &[
                "steel",
                "ms",
                "carbon steel",
                "low carbon steel",
                "plain steel",
                "black steel",
                "hot rolled",
                "hot rolled steel",
                "hr",
                "hrs",
                "cold rolled",
                "cold rolled steel",
                "cr",
                "crs",
                "a36",
                "1008",
                "1018",
            ],
            Self::GalvanizedSteel => &["galvanized", "galv", "galv steel", "zinc coated steel", "gi", "g60", "g90"],
            Self::Stainless304 => &[
                "stainless",
                "stainless steel",
                "304 stainless",
                "304",
                "304l",
                "304 ss",
                "ss304",
                "ss",
                "inox",
                "18 8",
                "18 8 stainless",
            ],
            Self::Aluminium5052 => {
                &["5052", "5052 h32", "5052 h32 aluminium", "5052 al", "5052 alu", "al5052", "aluminium5052"]
            }
            Self::Aluminium6061 => {
                &["6061", "6061 t6", "6061 t6 aluminium", "6061 al", "6061 alu", "al6061", "aluminium6061"]
            }
            Self::Brass => &["brass sheet", "c260", "260 brass", "c260 brass", "cartridge brass", "yellow brass"],
            Self::Copper => &["cu", "copper sheet", "c110", "c110 copper", "110 copper"],
        }
    }

    /// Density, g/cm³, which is kg over a square metre a millimetre thick.
    ///
    /// # Source
    /// Mild and galvanized steel: "Density Table of Metals", "Density of Metals", rolled steel (confirmed), the zinc counted as
    /// steel. Stainless: "Stainless Steel Gauge Chart", 10.404 lb/ft² at 1/4 in (confirmed); 7.93 is also used. Brass 60/40 and
    /// copper: "Density of Metal" (confirmed). 5052 and 6061: from memory; one table prints 2.72 for 6061.
    ///
    /// Galvanized sheet counts as steel through and through. Zinc is lighter (7.14), so this errs heavy: with the
    /// usual 275 g/m² of zinc by 0.2 % in 16 ga and by 0.9 % in 30 ga.
    #[must_use]
    pub const fn density(self) -> f64 {
        match self {
            Self::MildSteel | Self::GalvanizedSteel => 7.85,
            Self::Stainless304 => 8.00,
            Self::Aluminium5052 => 2.68,
            Self::Aluminium6061 => 2.70,
            Self::Brass => 8.52,
            Self::Copper => 8.94,
        }
    }
}

impl fmt::Display for Material {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Material {
    type Err = MaterialError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let typed = folded(text).replace("aluminum", "aluminium").replace("galvanised", "galvanized");
        if typed.is_empty() {
            return Err(MaterialError::Empty);
        }
        let words = sorted_words(&typed);
        for material in Self::ALL {
            if names_of(material).any(|name| sorted_words(name) == words) {
                return Ok(material);
            }
        }
        if let Some((_, candidates)) = SHARED_NAMES.iter().find(|(name, _)| *name == typed) {
            return Err(MaterialError::Ambiguous { typed: text.trim().to_owned(), candidates });
        }
        // The order of words is forgiven here too, so each name is offered under its sorted words.
        let key = words.join(" ");
        let known: Vec<(String, &'static str)> = Self::ALL
            .into_iter()
            .flat_map(names_of)
            .chain(SHARED_NAMES.iter().map(|(name, _)| *name))
            .map(|name| (sorted_words(name).join(" "), name))
            .collect();
        let near = nearest(&key, known.iter().map(|(sorted, _)| sorted.as_str()));
        let nearest = near.and_then(|near| known.iter().find(|(sorted, _)| sorted == near)).map(|(_, name)| *name);
        Err(MaterialError::Unknown { typed: text.trim().to_owned(), nearest })
    }
}

fn names_of(material: Material) -> impl Iterator<Item = &'static str> {
    std::iter::once(material.name()).chain(material.aliases().iter().copied())
}

fn sorted_words(text: &str) -> Vec<&str> {
    let mut words: Vec<&str> = text.split(' ').collect();
    words.sort_unstable();
    words
}

fn all_names() -> String {
    Material::ALL.map(Material::name).join(", ")
}

fn candidate_names(candidates: &[Material]) -> String {
    candidates.iter().map(|material| format!("`{material}`")).collect::<Vec<_>>().join(" or ")
}

fn hint(nearest: Option<&str>) -> String {
    match nearest {
        Some(name) => format!("; did you mean `{name}`?"),
        None => format!("; known are {}", all_names()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashMap;

    #[test]
    fn every_name_and_alias_is_understood_and_belongs_to_one_material() {
        let mut owners: HashMap<Vec<&str>, Material> = HashMap::new();
        for material in Material::ALL {
            assert_eq!(material.to_string().parse(), Ok(material));
            for name in names_of(material) {
                assert_eq!(name.parse(), Ok(material), "{name}");
                assert_eq!(name.to_uppercase().replace(' ', "-").parse(), Ok(material), "{name}");
                assert_eq!(name, folded(name), "an alias that nobody can match");
                let other = owners.insert(sorted_words(name), material);
                assert_eq!(other, None, "`{name}` stands twice");
            }
        }
        for (name, candidates) in SHARED_NAMES {
            assert!(!owners.contains_key(&sorted_words(name)), "{name}");
            assert!(candidates.len() > 1);
        }
    }

    #[test]
    fn spelling_and_order_of_words_are_forgiven() {
        for (typed, material) in [
            ("  Mild   Steel ", Material::MildSteel),
            ("steel mild", Material::MildSteel),
            ("GALVANISED_steel", Material::GalvanizedSteel),
            ("stainless 304", Material::Stainless304),
            ("aluminum 6061-T6", Material::Aluminium6061),
            ("Aluminium 5052", Material::Aluminium5052),
        ] {
            assert_eq!(typed.parse(), Ok(material), "{typed}");
        }
    }

    #[test]
    fn a_miss_names_the_nearest() {
        for (typed, expected) in [
            ("mild stel", Some("mild steel")),
            ("galvanzied", Some("galvanized")),
            ("stainles", Some("stainless")),
            ("aluminum 5025", Some("5052 aluminium")),
            ("alumnium", Some("aluminium")),
            ("bras", Some("brass")),
            ("coper", Some("copper")),
            ("plywood", None),
        ] {
            let error = typed.parse::<Material>().unwrap_err();
            assert_eq!(error, MaterialError::Unknown { typed: typed.to_owned(), nearest: expected }, "{typed}");
        }
        assert_eq!(
            "plywood".parse::<Material>().unwrap_err().to_string(),
            "no material is called `plywood`; known are mild steel, galvanized steel, 304 stainless steel, \
             5052 aluminium, 6061 aluminium, brass, copper"
        );
        assert_eq!(" ".parse::<Material>(), Err(MaterialError::Empty));
    }

    #[test]
    fn aluminium_alone_could_be_either_alloy() {
        for typed in ["aluminium", "Aluminum", "alu", "Al"] {
            let error = typed.parse::<Material>().unwrap_err();
            assert_eq!(error.to_string(), format!("`{typed}` may be `5052 aluminium` or `6061 aluminium`; say which"));
        }
    }

    /// The columns lb/ft² for each inch of thickness and lb/in³ that go with each density.
    #[test]
    fn densities_agree_with_their_published_twins_in_pounds() {
        for (material, square_foot_inch, cubic_inch) in [
            (Material::MildSteel, 40.84, 0.2836),       // Density Table of Metals
            (Material::GalvanizedSteel, 40.84, 0.2836), // as steel
            (Material::Stainless304, 41.62, 0.2890),    // Stainless Steel Gauge Chart: 41.616
            (Material::Aluminium5052, 13.94, 0.0968),   // from memory
            (Material::Aluminium6061, 14.05, 0.0975),   // from memory
            (Material::Brass, 44.32, 0.3078),           // Density of Metal
            (Material::Copper, 46.51, 0.3230),          // Density of Metal
        ] {
            let kg_per_cubic_inch = material.density() * 2.54_f64.powi(3) / 1000.0;
            let pounds = kg_per_cubic_inch / 0.453_592_37;
            assert!((pounds - cubic_inch).abs() <= 0.000_051, "{material}: {pounds}");
            assert!((pounds * 144.0 - square_foot_inch).abs() <= 0.0051, "{material}: {}", pounds * 144.0);
        }
    }

    /// Density of Metals: stainless runs from 7.48 to 8.00; Steel Buyers Basics: steel is 489.6 lb/ft³.
    #[test]
    fn densities_lie_in_published_ranges() {
        assert!((7.48..=8.00).contains(&Material::Stainless304.density()));
        assert!((8.43..=8.73).contains(&Material::Brass.density()));
        let cubic_foot = Material::MildSteel.density() * 30.48_f64.powi(3) / 1000.0 / 0.453_592_37;
        assert!((cubic_foot / 489.6 - 1.0).abs() < 0.002, "{cubic_foot}");
    }
}
