//! What can be wrong with a document that reads well.

use dropwise_geometry::shortened;
use dropwise_model::Violation;
use thiserror::Error;

use super::super::types::PlanDocument;

/// Something in a plan's document that cannot be.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{place}: {kind}")]
pub struct PlanFault {
    /// Where, as a path of keys: `sheets[0] "drop 4".placements[2]`. Lists count from 0, as in the document.
    pub place: String,
    /// What.
    pub kind: PlanFaultKind,
}

/// What is wrong at a place.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PlanFaultKind {
    /// A document of version 1.
    #[error("this plan was written by an older dropwise and does not hold the sheets and rules that drawing needs")]
    Older,
    /// A word that means nothing there.
    #[error("`{found}` is not {wanted}")]
    UnknownWord {
        /// What stands there.
        found: String,
        /// What may stand there.
        wanted: &'static str,
    },
    /// A value that was refused by what it is for: an outline, a thickness, a rate.
    #[error("{problem}")]
    Refused {
        /// What is wrong.
        problem: String,
    },
    /// The layout is not valid.
    #[error("{violation}{names}")]
    NotValid {
        /// What the certificate does not hold for.
        violation: Box<Violation>,
        /// Names of the parts it speaks of, in brackets; may be empty.
        names: String,
    },
    /// Something that follows from the rest of the document and does not agree with it.
    #[error("{found} stands here, but the rest of the plan makes it {expected}")]
    Disagrees {
        /// What stands there.
        found: String,
        /// What it must be.
        expected: String,
    },
    /// More faults of the same kind than are listed.
    #[error("{count} more places do not agree with the rest of the plan")]
    More {
        /// How many.
        count: usize,
    },
}

pub(super) fn refused(place: &str, problem: impl ToString) -> PlanFault {
    PlanFault { place: place.to_owned(), kind: PlanFaultKind::Refused { problem: problem.to_string() } }
}

pub(super) fn unknown(place: &str, found: &str, wanted: &'static str) -> PlanFault {
    let found = shortened(found);
    PlanFault { place: place.to_owned(), kind: PlanFaultKind::UnknownWord { found, wanted } }
}

/// A violation with its place in the document and the names of the parts it speaks of.
pub(super) fn not_valid(violation: Violation, document: &PlanDocument) -> PlanFault {
    let part_name = |part: usize| document.parts.get(part).map(|part| part.name.as_str());
    let (on, placements) = violation.concerns();
    let sheet = on.and_then(|on| document.sheets.get(on).map(|sheet| (on, sheet)));
    let mut names: Vec<&str> = match (&violation, sheet) {
        (Violation::WrongCount { part, .. }, _) => part_name(*part).into_iter().collect(),
        (Violation::HoldNotMet { part, sheet, .. }, _) => {
            let sheet = document.stock.get(*sheet).map(|sheet| sheet.name.as_str());
            part_name(*part).into_iter().chain(sheet).collect()
        }
        (Violation::TooManySheets { sheet, .. }, _) => {
            document.stock.get(*sheet).map(|sheet| sheet.name.as_str()).into_iter().collect()
        }
        (_, Some((_, sheet))) => {
            placements.iter().filter_map(|&placement| part_name(sheet.placements.get(placement)?.part)).collect()
        }
        _ => Vec::new(),
    };
    names.retain(|name| !name.is_empty());
    let names = if names.is_empty() {
        String::new()
    } else {
        format!(" ({})", names.into_iter().map(shortened).collect::<Vec<_>>().join(" and "))
    };
    let place = match (&violation, sheet) {
        (Violation::WrongCount { part, .. }, _) => format!("parts[{part}]"),
        (Violation::HoldNotMet { hold, .. }, _) => format!("instructions.held[{hold}]"),
        (_, Some((on, sheet))) => format!("sheets[{on}] \"{}\"", shortened(&sheet.name)),
        _ => "sheets".to_owned(),
    };
    PlanFault { place, kind: PlanFaultKind::NotValid { violation: Box::new(violation), names } }
}
