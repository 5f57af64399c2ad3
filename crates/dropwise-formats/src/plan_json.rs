//! A plan as a JSON document: everything that was decided and worked out, for other programs and for later.
//!
//! The document is written by one definition, the types in [`types`], from which its reference (`docs/plan-json.md`) and
//! its schema are generated. Reading back what was written gives the same document to the last bit. A document of a newer
//! version is refused rather than half understood.

mod asked;
mod bench;
mod carry;
mod make;
mod preface;
mod reason;
mod rebuild;
#[cfg(test)]
mod rebuild_tests;
#[cfg(test)]
mod tests;
pub mod types;

use dropwise_geometry::Isometry;
use dropwise_model::{Layout, Placement, Reason, SheetUse, Unplaced};
use serde::Deserialize;
use sha2::{Digest as _, Sha256};
use thiserror::Error;

pub use asked::{asked_in_words, asked_of_sheet};
pub use carry::CarriedOver;
pub use preface::{plan_reference, plan_schema};
pub use reason::reason_in_words;
pub use rebuild::{PlanFault, PlanFaultKind, RebuiltPlan};
use types::{PlanDocument, ReasonEntry};

/// What stands in [`PlanDocument::format`].
pub const FORMAT: &str = "dropwise plan";

/// The version this library writes, and the newest it reads.
pub const VERSION: u32 = 4;

/// The oldest version it reads.
pub const OLDEST_VERSION: u32 = 1;

/// Bytes of the largest document that is read.
pub const LARGEST_DOCUMENT: usize = 256 << 20;

/// Why a text is no plan.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum PlanJsonError {
    /// Beyond [`LARGEST_DOCUMENT`].
    #[error("the document is {size} bytes long; at most {LARGEST_DOCUMENT} are read")]
    TooLarge {
        /// Its size.
        size: usize,
    },
    /// Not JSON, or cut off.
    #[error("line {line}, column {column}: this is not JSON: {message}")]
    NotJson {
        /// Line, counted from 1.
        line: usize,
        /// Column, counted from 1.
        column: usize,
        /// What the parser said.
        message: String,
    },
    /// JSON of something else.
    #[error("this is JSON, but no plan: it lacks `\"format\": \"{FORMAT}\"` and a `version`")]
    NotAPlan,
    /// Written by a newer program.
    #[error(
        "this plan is of version {found}, but only versions up to {VERSION} are known here. Read it with a newer dropwise"
    )]
    NewerVersion {
        /// Its version.
        found: u32,
    },
    /// A field that is missing, unknown or of the wrong kind.
    #[error("line {line}, column {column}: this plan is not as version {VERSION} has it: {message}")]
    Structure {
        /// Line, counted from 1.
        line: usize,
        /// Column, counted from 1.
        column: usize,
        /// What is wrong.
        message: String,
    },
}

impl PlanDocument {
    /// The document as text, with line breaks, ending in one.
    #[must_use]
    pub fn write(&self) -> String {
        // Only a map with keys that are no text could fail, and there is none.
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }

    /// The plan's number: the first six hexadecimal digits of the SHA-256 of its text, which `sha256sum plan.json` gives
    /// too. It stands on every page, so that pages of two plans are not mixed.
    ///
    /// # Source
    /// FIPS 180-4.
    #[must_use]
    pub fn number(&self) -> String {
        let digest = Sha256::digest(self.write().as_bytes());
        digest.iter().take(3).map(|byte| format!("{byte:02x}")).collect()
    }

    /// Reads a document.
    ///
    /// # Errors
    /// [`PlanJsonError`]; a newer version is told as such, before anything else in it is looked at.
    pub fn read(text: &str) -> Result<Self, PlanJsonError> {
        /// What stands in a plan of any version.
        #[derive(Deserialize)]
        struct Head {
            format: Option<String>,
            version: Option<u32>,
        }
        if text.len() > LARGEST_DOCUMENT {
            return Err(PlanJsonError::TooLarge { size: text.len() });
        }
        let head = match serde_json::from_str::<Head>(text) {
            Ok(head) => head,
            Err(error) if error.is_syntax() || error.is_eof() => {
                let (line, column) = (error.line(), error.column());
                return Err(PlanJsonError::NotJson { line, column, message: without_place(&error) });
            }
            Err(_) => return Err(PlanJsonError::NotAPlan),
        };
        match (head.format.as_deref(), head.version) {
            (Some(FORMAT), Some(found)) if found > VERSION => return Err(PlanJsonError::NewerVersion { found }),
            (Some(FORMAT), Some(OLDEST_VERSION..=VERSION)) => {}
            _ => return Err(PlanJsonError::NotAPlan),
        }
        serde_json::from_str(text).map_err(|error| PlanJsonError::Structure {
            line: error.line(),
            column: error.column(),
            message: without_place(&error),
        })
    }

    /// The layout, to be certified again with the job it was made for.
    #[must_use]
    pub fn layout(&self) -> Layout {
        let sheets = self.sheets.iter().map(|sheet| SheetUse {
            sheet: sheet.sheet,
            length: sheet.length_bought,
            placements: placements_of(sheet).collect(),
        });
        let unplaced = self.unplaced.iter().map(|entry| Unplaced {
            part: entry.part,
            count: entry.count,
            reason: match entry.reason {
                ReasonEntry::NoSuchStock => Reason::NoSuchStock,
                ReasonEntry::GrainUnknown => Reason::GrainUnknown,
                ReasonEntry::TooLarge { nearest_sheet, excess } => Reason::TooLarge { nearest: nearest_sheet, excess },
                ReasonEntry::NoRoom => Reason::NoRoom,
                ReasonEntry::OutOfTime => Reason::OutOfTime,
            },
        });
        Layout { sheets: sheets.collect(), unplaced: unplaced.collect() }
    }
}

/// How the parts of a sheet lie.
fn placements_of(sheet: &types::SheetEntry) -> impl Iterator<Item = Placement> {
    sheet.placements.iter().map(|entry| Placement {
        part: entry.part,
        position: Isometry::new(entry.is_flipped, entry.turn_deg, entry.x, entry.y),
    })
}

/// The message without the place that serde appends, which is told as data.
fn without_place(error: &serde_json::Error) -> String {
    let message = error.to_string();
    message.split(" at line ").next().unwrap_or(&message).to_owned()
}
