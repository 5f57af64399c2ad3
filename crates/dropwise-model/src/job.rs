//! All that is to be made, and all there is to make it of.

use thiserror::Error;

use crate::{Clearances, InstructionFault, Instructions, LeftoverRule, Need, Part, Sheet, Turns};

/// A nesting job: parts, sheets, and the rules between them. Read-only once made.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    parts: Vec<Part>,
    sheets: Vec<Sheet>,
    clearances: Clearances,
    leftover_rule: LeftoverRule,
    instructions: Instructions,
}

/// Why a job was refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum JobError {
    /// Two parts, or two sheets, share a name.
    #[error("two {kind}s are called `{name}`")]
    DuplicateName {
        /// "part" or "sheet".
        kind: &'static str,
        /// The name they share.
        name: String,
    },
    /// A quantity of zero.
    #[error("{kind} `{name}` has a quantity of zero")]
    NoQuantity {
        /// "part" or "sheet".
        kind: &'static str,
        /// Its name.
        name: String,
    },
    /// A shape without area, or with numbers that are not finite.
    #[error("{kind} `{name}` has no area")]
    NoArea {
        /// "part" or "sheet".
        kind: &'static str,
        /// Its name.
        name: String,
    },
    /// A number that must be finite and not negative is not.
    #[error("{kind} `{name}`: {what} is {value}, which is not a number of zero or more")]
    BadNumber {
        /// "part" or "sheet".
        kind: &'static str,
        /// Its name.
        name: String,
        /// Which number.
        what: &'static str,
        /// What it is.
        value: f64,
    },
    /// A list of allowed turns that is empty or holds numbers that are not finite.
    #[error("part `{name}` has no usable list of turns")]
    BadTurns {
        /// The part's name.
        name: String,
    },
}

impl Job {
    /// A job, checked as far as that needs no geometry beyond area.
    ///
    /// # Errors
    /// The first [`JobError`] found, parts before sheets.
    pub fn new(
        parts: Vec<Part>,
        sheets: Vec<Sheet>,
        clearances: Clearances,
        leftover_rule: LeftoverRule,
    ) -> Result<Self, JobError> {
        check_names("part", parts.iter().map(|p| p.name.as_str()))?;
        check_names("sheet", sheets.iter().map(|s| s.name.as_str()))?;
        for part in &parts {
            let name = || part.name.clone();
            if part.quantity == 0 {
                return Err(JobError::NoQuantity { kind: "part", name: name() });
            }
            if !has_area(part.shape.area()) {
                return Err(JobError::NoArea { kind: "part", name: name() });
            }
            let turns_are_usable = match &part.turns {
                Turns::Any => true,
                Turns::List(angles) => !angles.is_empty() && angles.iter().all(|a| a.is_finite()),
                Turns::Grain { along_deg } => along_deg.is_finite(),
            };
            if !turns_are_usable {
                return Err(JobError::BadTurns { name: name() });
            }
        }
        for sheet in &sheets {
            let name = || sheet.name.clone();
            if sheet.quantity == Some(0) {
                return Err(JobError::NoQuantity { kind: "sheet", name: name() });
            }
            if !has_area(sheet.shape.area()) {
                return Err(JobError::NoArea { kind: "sheet", name: name() });
            }
            let mut numbers = vec![
                ("price", sheet.price.coins() as f64),
                ("worth of a leftover", sheet.leftover_worth),
                ("worth of scrap", sheet.scrap_worth),
                ("weight", sheet.weight),
            ];
            if let Some(terms) = sheet.open_length {
                numbers.push(("price by length", terms.price_per_length));
                numbers.push(("least length sold", terms.minimum));
                // Zero would mean no rounding, which "1 mm" says better; the negation catches NaN too.
                if !(terms.increment > 0.0 && terms.increment.is_finite()) {
                    let (what, value) = ("increment of length", terms.increment);
                    return Err(JobError::BadNumber { kind: "sheet", name: name(), what, value });
                }
            }
            for (what, value) in numbers {
                if !(0.0..=f64::MAX).contains(&value) {
                    return Err(JobError::BadNumber { kind: "sheet", name: name(), what, value });
                }
            }
        }
        Ok(Self { parts, sheets, clearances, leftover_rule, instructions: Instructions::default() })
    }

    /// The same job with what people ask of its plan, in place of what was asked before.
    ///
    /// # Errors
    /// All that is wrong with the instructions.
    pub fn with_instructions(self, instructions: Instructions) -> Result<Self, Vec<InstructionFault>> {
        let faults = instructions.faults(&self);
        if faults.is_empty() { Ok(self.told(instructions)) } else { Err(faults) }
    }

    /// The same with instructions that nobody has looked at.
    pub(crate) fn told(self, instructions: Instructions) -> Self {
        Self { instructions, ..self }
    }

    /// What people ask of a plan.
    #[must_use]
    pub fn instructions(&self) -> &Instructions {
        &self.instructions
    }

    /// The parts.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// The sheets.
    #[must_use]
    pub fn sheets(&self) -> &[Sheet] {
        &self.sheets
    }

    /// Kerf, web and margin.
    #[must_use]
    pub fn clearances(&self) -> &Clearances {
        &self.clearances
    }

    /// What is worth putting back into the rack.
    #[must_use]
    pub fn leftover_rule(&self) -> &LeftoverRule {
        &self.leftover_rule
    }

    /// Whether a part must be made.
    #[must_use]
    pub fn is_required(&self, part: usize) -> bool {
        self.parts[part].need == Need::Required
    }
}

fn has_area(area: f64) -> bool {
    area > 0.0 && area.is_finite()
}

fn check_names<'a>(kind: &'static str, names: impl Iterator<Item = &'a str>) -> Result<(), JobError> {
    let mut names: Vec<&str> = names.collect();
    names.sort_unstable();
    match names.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(JobError::DuplicateName { kind, name: pair[0].to_owned() }),
        None => Ok(()),
    }
}
