//! What happens to metal.

use std::fmt;

use dropwise_geometry::{Outline, Shape};
use dropwise_model::Money;
use serde::{Deserialize, Serialize};

use crate::encoding;
use crate::{Details, EventNumber, Tag, Timestamp};

/// Something that happened, as the log keeps it for ever.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Its number: the order in which things happened.
    pub number: EventNumber,
    /// What the clock said. It may have been set back: see [`Event::is_clock_behind`].
    pub time: Timestamp,
    /// Whether the clock stood before the time of an earlier event.
    #[serde(default, skip_serializing_if = "is_false")]
    pub is_clock_behind: bool,
    /// Why, in the words of who did it; may be empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cause: String,
    /// What happened.
    pub change: Change,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the shape serde asks for")]
fn is_false(flag: &bool) -> bool {
    !flag
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
#[non_exhaustive]
pub enum Change {
    /// Pieces came into the shop.
    Bought {
        /// The pieces.
        sheets: Vec<BoughtSheet>,
    },
    /// A piece was put elsewhere.
    Moved {
        /// Which.
        tag: Tag,
        /// Where it lies now.
        place: String,
    },
    /// A piece was measured again.
    Measured {
        /// Which.
        tag: Tag,
        /// Its outline and holes as found.
        #[serde(with = "encoding::shape")]
        shape: Shape,
        /// Its damaged zones as found.
        #[serde(default, with = "encoding::outlines", skip_serializing_if = "Vec::is_empty")]
        damage: Vec<Outline>,
        /// Its thickness as found, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        measured_mm: Option<f64>,
    },
    /// A plan was cut.
    Cut {
        /// Number of the plan among those cut.
        plan: i64,
        /// Name of the plan.
        name: String,
        /// The sheets it used up.
        sheets: Vec<CutSheet>,
    },
    /// A piece went into the scrap bin.
    Scrapped {
        /// Which.
        tag: Tag,
        /// What the bin took, kg.
        weight_kg: f64,
        /// What the scrap dealer paid, if that is known.
        #[serde(default, with = "encoding::optional_money", skip_serializing_if = "Option::is_none")]
        proceeds: Option<Money>,
    },
    /// A piece was sold.
    Sold {
        /// Which.
        tag: Tag,
        /// What it brought.
        #[serde(with = "encoding::money")]
        proceeds: Money,
    },
    /// What was written down was wrong.
    Corrected {
        /// Of which piece.
        tag: Tag,
        /// What is right.
        details: Box<Details>,
        /// What was truly paid, for a piece that was bought; `None` when the price was right.
        #[serde(default, with = "encoding::optional_money", skip_serializing_if = "Option::is_none")]
        paid: Option<Money>,
    },
    /// An event was taken back.
    Undone {
        /// Which.
        event: EventNumber,
    },
}

/// A piece that was bought.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoughtSheet {
    /// Its tag.
    pub tag: Tag,
    /// What it is.
    pub details: Details,
    /// What was paid.
    #[serde(with = "encoding::money")]
    pub paid: Money,
    /// Since when the shop has it.
    pub since: Timestamp,
}

/// A sheet that a plan used up.
///
/// What was worked out then is kept: replaying never works a share out again. The money of the sheet is `charged` and the
/// shares of its leftovers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CutSheet {
    /// Its tag.
    pub tag: Tag,
    /// The purchase it descends from.
    pub purchase: Tag,
    /// Its area, mm².
    pub gross_area: f64,
    /// Area of the parts cut from it, mm².
    pub parts_area: f64,
    /// Area that was lost to the cut or went into the bin, mm².
    pub scrap_area: f64,
    /// Weight of that, kg.
    pub scrap_kg: f64,
    /// What was charged to the parts: what the leftovers did not take along.
    #[serde(with = "encoding::money")]
    pub charged: Money,
    /// What went back into the rack.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub leftovers: Vec<LeftoverSheet>,
}

/// A piece that was left over.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftoverSheet {
    /// Its tag.
    pub tag: Tag,
    /// What it is.
    pub details: Details,
    /// Its share of what the sheet carried.
    #[serde(with = "encoding::money")]
    pub share: Money,
}

/// What an event was to one piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// It came into the shop.
    Bought,
    /// It was put elsewhere.
    Moved,
    /// It was measured again.
    Measured,
    /// It was cut.
    Cut,
    /// It was left over.
    LeftOver,
    /// It was scrapped.
    Scrapped,
    /// It was sold.
    Sold,
    /// It was corrected.
    Corrected,
    /// Something that happened to it was taken back.
    Undone,
}

impl Role {
    /// In words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bought => "bought",
            Self::Moved => "moved",
            Self::Measured => "measured",
            Self::Cut => "cut",
            Self::LeftOver => "left over",
            Self::Scrapped => "scrapped",
            Self::Sold => "sold",
            Self::Corrected => "corrected",
            Self::Undone => "undone",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl Change {
    /// The kind of the event.
    #[must_use]
    pub const fn kind(&self) -> Role {
        match self {
            Self::Bought { .. } => Role::Bought,
            Self::Moved { .. } => Role::Moved,
            Self::Measured { .. } => Role::Measured,
            Self::Cut { .. } => Role::Cut,
            Self::Scrapped { .. } => Role::Scrapped,
            Self::Sold { .. } => Role::Sold,
            Self::Corrected { .. } => Role::Corrected,
            Self::Undone { .. } => Role::Undone,
        }
    }

    /// The pieces it speaks of and what it is to each, in the order it names them; empty for [`Change::Undone`], which
    /// speaks of the pieces of the event it takes back.
    #[must_use]
    pub fn roles(&self) -> Vec<(Tag, Role)> {
        match self {
            Self::Bought { sheets } => sheets.iter().map(|sheet| (sheet.tag, Role::Bought)).collect(),
            Self::Cut { sheets, .. } => {
                let of_sheet = |sheet: &CutSheet| {
                    let leftovers = sheet.leftovers.iter().map(|leftover| (leftover.tag, Role::LeftOver));
                    std::iter::once((sheet.tag, Role::Cut)).chain(leftovers).collect::<Vec<_>>()
                };
                sheets.iter().flat_map(of_sheet).collect()
            }
            Self::Moved { tag, .. }
            | Self::Measured { tag, .. }
            | Self::Scrapped { tag, .. }
            | Self::Sold { tag, .. }
            | Self::Corrected { tag, .. } => vec![(*tag, self.kind())],
            Self::Undone { .. } => Vec::new(),
        }
    }

    /// What it was to one piece, in words: `moved to "rack B"`, `cut under plan 3, "tool shed"`.
    #[must_use]
    pub fn words(&self, tag: Tag) -> String {
        match self {
            Self::Moved { place, .. } => format!("moved to \"{place}\""),
            Self::Cut { plan, name, sheets } => {
                let parent = sheets.iter().find(|sheet| sheet.leftovers.iter().any(|leftover| leftover.tag == tag));
                match parent {
                    Some(parent) => format!("left over from {}, cut under plan {plan}, \"{name}\"", parent.tag),
                    None => format!("cut under plan {plan}, \"{name}\""),
                }
            }
            Self::Undone { event } => format!("event {event} undone"),
            _ => self.kind().name().to_owned(),
        }
    }
}

/// An event in a line, for messages and lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EventSummary {
    /// Its number.
    pub number: EventNumber,
    /// What the clock said.
    pub time: Timestamp,
    /// What happened, in words.
    pub words: String,
    /// Why; may be empty.
    pub cause: String,
}

impl Event {
    /// The event in a line, as it concerned one piece.
    #[must_use]
    pub fn summary(&self, tag: Tag) -> EventSummary {
        let words = self.change.words(tag);
        EventSummary { number: self.number, time: self.time, words, cause: self.cause.clone() }
    }
}

impl fmt::Display for EventSummary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} (event {}, {}", self.words, self.number, self.time)?;
        if !self.cause.is_empty() {
            write!(f, ": {}", self.cause)?;
        }
        f.write_str(")")
    }
}
