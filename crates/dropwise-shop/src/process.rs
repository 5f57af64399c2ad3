//! Ways to cut sheet, and what each needs between parts.
//!
//! A preset is a starting point: the shop's own measured kerf is always better. Where a source gives a range, the preset
//! takes its middle; where it gives a least value, that value.

use std::fmt;
use std::str::FromStr;

use dropwise_model::{Clearances, ClearancesError};
use thiserror::Error;

use crate::nearest::{folded, nearest};
use crate::source::Source;
use crate::thickness::Thickness;

mod presets;

/// A way to cut parts out of a sheet.
///
/// It parses from the names people type, in any case, with blanks, hyphens or underscores, and prints as
/// [`Process::name`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Process {
    /// Thin abrasive wheel in a hand grinder.
    CutoffWheel,
    /// Bandsaw with a metal blade.
    Bandsaw,
    /// Jigsaw with a metal blade.
    Jigsaw,
    /// Guillotine shear or hand snips.
    Shear,
    /// Air plasma.
    Plasma,
    /// Oxygen and a fuel gas.
    OxyFuel,
    /// Laser.
    Laser,
    /// Abrasive waterjet.
    Waterjet,
    /// Nibbler held in the hand.
    HandNibbler,
}

/// Why a name is not that of a process.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("no cutting process is called `{}`{}", dropwise_geometry::shortened(typed), hint(*nearest))]
pub struct ProcessError {
    /// What was typed.
    pub typed: String,
    /// The known name it is nearest to, if any is near.
    pub nearest: Option<&'static str>,
}

/// One figure of a preset.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The value a preset takes, mm.
    pub millimetres: f64,
    /// The lowest and highest value published, mm; both equal where only a least value is.
    pub published: (f64, f64),
    /// Where it comes from.
    pub source: Source,
    /// What else to know about it; may be empty.
    pub note: &'static str,
}

/// Kerf, web and edge margin to start from, each with its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preset {
    /// The process.
    pub process: Process,
    /// Width of the cut.
    pub kerf: Figure,
    /// Least distance between two parts. Never less than the kerf.
    pub web: Figure,
    /// Least distance from a part to the edge of its sheet.
    pub margin: Figure,
}

impl Process {
    /// Every process.
    pub const ALL: [Self; 9] = [
        Self::CutoffWheel,
        Self::Bandsaw,
        Self::Jigsaw,
        Self::Shear,
        Self::Plasma,
        Self::OxyFuel,
        Self::Laser,
        Self::Waterjet,
        Self::HandNibbler,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::CutoffWheel => "cutoff wheel",
            Self::Bandsaw => "bandsaw",
            Self::Jigsaw => "jigsaw",
            Self::Shear => "shear",
            Self::Plasma => "plasma",
            Self::OxyFuel => "oxy-fuel",
            Self::Laser => "laser",
            Self::Waterjet => "waterjet",
            Self::HandNibbler => "hand nibbler",
        }
    }

    /// What else it is called, in lower case with single blanks.
    #[must_use]
    pub const fn aliases(self) -> &'static [&'static str] {
        match self {
            Self::CutoffWheel => {
                &["cut off wheel", "cutoff", "grinder", "angle grinder", "hand grinder", "abrasive wheel"]
            }
            Self::Bandsaw => &["band saw"],
            Self::Jigsaw => &["jig saw", "sabre saw", "saber saw"],
            Self::Shear => &["shears", "guillotine", "guillotine shear", "snips", "tin snips"],
            Self::Plasma => &["plasma cutter", "air plasma", "plasma torch"],
            Self::OxyFuel => {
                &["oxyfuel", "oxy", "oxygas", "oxy acetylene", "oxyacetylene", "oxy propane", "torch", "flame"]
            }
            Self::Laser => &["laser cutter", "fiber laser", "fibre laser"],
            Self::Waterjet => &["water jet", "abrasive waterjet", "abrasive water jet"],
            Self::HandNibbler => &["nibbler"],
        }
    }

    /// Whether every cut must run from edge to edge, so that parts can only be parted by whole straight cuts.
    #[must_use]
    pub const fn is_edge_to_edge(self) -> bool {
        matches!(self, Self::Shear)
    }

    /// Whether it parts the metal with flame, arc, beam or sparks: hot work.
    #[must_use]
    pub const fn is_hot(self) -> bool {
        matches!(self, Self::CutoffWheel | Self::Plasma | Self::OxyFuel | Self::Laser)
    }

    /// Kerf, web and margin to start from in sheet of this thickness.
    ///
    /// # Examples
    /// ```
    /// use dropwise_shop::{Process, Thickness};
    /// let preset = Process::Laser.preset(Thickness::new(6.0)?);
    /// assert_eq!(preset.web.millimetres, 6.0); // as wide as the sheet is thick
    /// assert_eq!(preset.clearances().map(|c| c.web()), Ok(6.0));
    /// # Ok::<(), dropwise_shop::ThicknessError>(())
    /// ```
    #[must_use]
    pub fn preset(self, thickness: Thickness) -> Preset {
        presets::preset(self, thickness.millimetres())
    }
}

impl Preset {
    /// The clearances of a job that takes this preset as it is.
    ///
    /// # Errors
    /// [`ClearancesError`], which no preset of ours causes, but one whose figures were changed may.
    pub fn clearances(&self) -> Result<Clearances, ClearancesError> {
        Clearances::new(self.kerf.millimetres, self.web.millimetres, self.margin.millimetres)
    }

    /// The three figures with their names, for tables.
    #[must_use]
    pub const fn figures(&self) -> [(&'static str, Figure); 3] {
        [("kerf", self.kerf), ("web", self.web), ("margin", self.margin)]
    }
}

impl fmt::Display for Process {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Process {
    type Err = ProcessError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let typed = folded(text);
        let names = || Self::ALL.into_iter().flat_map(names_of);
        let found = names().find(|(_, name)| folded(name) == typed);
        found.map(|(process, _)| process).ok_or_else(|| ProcessError {
            typed: text.trim().to_owned(),
            nearest: nearest(&typed, names().map(|(_, name)| name)),
        })
    }
}

fn names_of(process: Process) -> impl Iterator<Item = (Process, &'static str)> {
    std::iter::once(process.name()).chain(process.aliases().iter().copied()).map(move |name| (process, name))
}

fn hint(nearest: Option<&str>) -> String {
    match nearest {
        Some(name) => format!("; did you mean `{name}`?"),
        None => format!("; known are {}", Process::ALL.map(Process::name).join(", ")),
    }
}

#[cfg(test)]
mod tests;
