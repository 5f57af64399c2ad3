//! What can go wrong, with the file it concerns and what to do about it.

use std::path::{Path, PathBuf};
use std::time::Duration;

use thiserror::Error;

use crate::{Currency, DetailFault, EventNumber, EventSummary, Misfit, State, Tag};

/// A fault and the log it concerns.
#[derive(Debug, Error)]
#[error("{}: {fault}", .path.display())]
pub struct StockError {
    /// The file; `:memory:` for a log that is none.
    pub path: PathBuf,
    /// What is wrong.
    pub fault: Box<StockFault>,
}

/// What is wrong. The log is as it was before.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StockFault {
    /// There is no such file.
    #[error("there is no stock log here")]
    NotFound,
    /// The file cannot be opened, or its folder not be written.
    #[error("the stock log cannot be opened: {reason}")]
    CannotOpen {
        /// What the system said.
        reason: String,
    },
    /// The file is something else. It was not touched.
    #[error("this file is no stock log: {found}")]
    ForeignFile {
        /// What it seems to be.
        found: String,
    },
    /// The log was written by a newer dropwise. It was not touched.
    #[error("this stock log is of version {found}, but only versions up to {known} are known here")]
    NewerSchema {
        /// Its version.
        found: i64,
        /// The newest known here.
        known: i64,
    },
    /// The file may be read but not written.
    #[error("the stock log is read-only: nothing was written")]
    ReadOnly,
    /// There is no room left.
    #[error("there is no room left for the stock log: nothing was written")]
    DiskFull,
    /// Another program holds the log.
    #[error("another program has been writing to the stock log for {} s: nothing was written", .waited.as_secs())]
    Busy {
        /// How long was waited.
        waited: Duration,
    },
    /// What is in the file is not what was put there.
    #[error("the stock log is damaged: {what}")]
    Damaged {
        /// What was found.
        what: String,
    },
    /// Anything else that the database reports.
    #[error("the database failed: {0}")]
    Database(rusqlite::Error),
    /// No piece has this tag.
    #[error("no piece has the tag {tag}{}", .by.as_ref().map_or_else(String::new, |by| format!(": {by}")))]
    UnknownTag {
        /// The tag.
        tag: Tag,
        /// The last that happened to it, where its purchase was undone.
        by: Option<EventSummary>,
    },
    /// The tag is, or was, on another piece.
    #[error("the tag {tag} is taken")]
    TagTaken {
        /// The tag.
        tag: Tag,
    },
    /// What is to be written down cannot be.
    #[error("piece {}: {}", .index + 1, list(.faults))]
    BadDetails {
        /// Which of the pieces given, counted from 0.
        index: usize,
        /// All that is wrong with it.
        faults: Vec<DetailFault>,
    },
    /// A text or a number that an event cannot hold.
    #[error("{what}")]
    BadValue {
        /// What is wrong.
        what: String,
    },
    /// The piece is no longer in the rack.
    #[error("{tag} is no longer in the rack: {}", .by.as_ref().map_or_else(|| (*state).to_string(), ToString::to_string))]
    NotInRack {
        /// Which.
        tag: Tag,
        /// What has become of it.
        state: State,
        /// What made it so.
        by: Option<EventSummary>,
    },
    /// What a piece that was left over carries follows from the sheet it came from.
    #[error("{tag} was left over, not bought: its cost follows from the sheet it came from")]
    NotBought {
        /// Which.
        tag: Tag,
    },
    /// A plan that cannot be recorded, with every reason.
    #[error("the plan cannot be recorded as cut: {}", list(.reasons))]
    CutRefused {
        /// Why, sheet by sheet.
        reasons: Vec<CutRefusal>,
    },
    /// There is no event that could be undone.
    #[error("there is nothing to undo")]
    NothingToUndo,
    /// The event cannot be undone.
    #[error("event {event} cannot be undone: {reason}")]
    CannotUndo {
        /// Which.
        event: EventNumber,
        /// Why.
        reason: UndoRefusal,
    },
    /// A whole log can only be read into an empty one.
    #[error("this stock log holds {events} events already; a whole log is read into an empty one only")]
    NotEmpty {
        /// How many.
        events: i64,
    },
    /// The log counts in another currency, or in other coins of it.
    #[error("the stock log counts in {kept}, not in {given}")]
    OtherCurrency {
        /// What it counts in.
        kept: Currency,
        /// What was said.
        given: Currency,
    },
    /// A document that is not a log, or is damaged.
    #[error("line {line}, column {column}: {message}")]
    Document {
        /// Line, counted from 1.
        line: usize,
        /// Column, counted from 1.
        column: usize,
        /// What is wrong.
        message: String,
    },
    /// A document of a newer version.
    #[error("the document is of version {found}, but only versions up to {known} are known here")]
    NewerDocument {
        /// Its version.
        found: u32,
        /// The newest known here.
        known: u32,
    },
    /// An event whose metal or money cannot be.
    #[error("event {event} cannot have happened: {}", list(.faults))]
    BadEvent {
        /// Which.
        event: EventNumber,
        /// All that is wrong with it.
        faults: Vec<DetailFault>,
    },
    /// Events that do not follow on each other.
    #[error("event {event} cannot have happened: {misfit}")]
    Impossible {
        /// Which.
        event: EventNumber,
        /// Why.
        misfit: Misfit,
    },
}

/// Why a plan cannot be recorded as cut.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum CutRefusal {
    /// The plan uses no sheet.
    #[error("it uses no sheet")]
    Empty,
    /// No piece has this tag.
    #[error("no piece has the tag {tag}")]
    Unknown {
        /// The tag.
        tag: Tag,
    },
    /// The plan cuts the same sheet twice.
    #[error("it cuts {tag} twice")]
    Twice {
        /// Which.
        tag: Tag,
    },
    /// The sheet was changed or used since the plan was made.
    #[error("{tag} has changed since the plan was made: {}", list(.by))]
    Changed {
        /// Which.
        tag: Tag,
        /// The revision the plan was made for.
        planned: EventNumber,
        /// The revision now; `None` when the piece is not in the log any more.
        now: Option<EventNumber>,
        /// What happened since, the oldest first.
        by: Vec<EventSummary>,
    },
    /// Parts, leftovers and scrap are more or less than the sheet.
    #[error("{name}: parts, leftovers and scrap are {sum:.0} mm², the sheet is {gross:.0} mm²")]
    Area {
        /// Tag or name of the sheet.
        name: String,
        /// What they add up to, mm².
        sum: f64,
        /// Area of the sheet, mm².
        gross: f64,
    },
    /// A leftover, or a sheet bought for the plan, that cannot be written down.
    #[error("{name}: {}", list(.faults))]
    Details {
        /// Tag or name of the sheet.
        name: String,
        /// What is wrong.
        faults: Vec<DetailFault>,
    },
}

/// Why an event cannot be undone.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum UndoRefusal {
    /// There is no such event.
    #[error("there is no such event")]
    Unknown,
    /// It was undone already.
    #[error("it was undone by event {by}")]
    Already {
        /// By which event.
        by: EventNumber,
    },
    /// It is an undoing itself.
    #[error("it is an undoing itself; do again what was undone")]
    IsUndo,
    /// Something happened to its pieces since.
    #[error("later events depend on it: {}", list(.by))]
    Dependents {
        /// What happened, the latest first; undo these before.
        by: Vec<EventSummary>,
    },
}

fn list<T: ToString>(items: &[T]) -> String {
    items.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

impl StockFault {
    /// What the person at the bench can do about it.
    #[must_use]
    pub fn cure(&self) -> String {
        let cure = match self {
            Self::NotFound => "Check the path, or add a first sheet to start a log there",
            Self::CannotOpen { .. } => "Check the path and who may write in its folder",
            Self::ForeignFile { found } if found == "it is empty" => {
                "If it was a log, take the latest backup or export; if it was none, take it away and do it again"
            }
            Self::ForeignFile { .. } => "Name another file: this one was left as it is",
            Self::NewerSchema { .. } | Self::NewerDocument { .. } => "Use a newer dropwise: the file was left as it is",
            Self::ReadOnly => "Give yourself the right to write the file and its folder, or work on a copy",
            Self::DiskFull => "Make room on the disk and do it again",
            Self::Busy { .. } => "Wait for the other program to finish, or close it, and do it again",
            Self::Damaged { .. } => {
                "Keep a copy of the file as it is, make anew what follows from the events, or take the latest backup or export"
            }
            Self::Database(_) => "Do it again; if it fails again, check the disk and the file's folder",
            Self::UnknownTag { .. } => "List the stock to see the tags there are",
            Self::TagTaken { .. } => "Leave the tag out and a fresh one is given: a tag is never used twice",
            Self::BadDetails { .. } | Self::BadValue { .. } => "Correct it and do it again",
            Self::NotInRack { .. } => "If that was recorded by mistake, undo it first",
            Self::NotBought { .. } => "Undo the cut, correct what was paid for the sheet, and record the cut again",
            Self::CutRefused { .. } => "Make the plan again from the stock as it is now",
            Self::NothingToUndo => "Nothing needs to be done",
            Self::CannotUndo { reason, .. } => match reason {
                UndoRefusal::Dependents { .. } => "Undo the later events first, the latest before the others",
                UndoRefusal::IsUndo => "Record again what was undone",
                UndoRefusal::Unknown | UndoRefusal::Already { .. } => "Look at the history for what stands",
            },
            Self::NotEmpty { .. } => "Name a new file, or import the sheets as CSV",
            Self::OtherCurrency { .. } => "Say the same as the log, or nothing; a log never changes its currency",
            Self::Document { .. } | Self::BadEvent { .. } | Self::Impossible { .. } => {
                "Export the log again: this copy was changed or cut off"
            }
        };
        cure.to_owned()
    }

    pub(crate) fn at(self, path: &Path) -> StockError {
        StockError { path: path.to_owned(), fault: Box::new(self) }
    }
}

impl StockError {
    /// What the person at the bench can do about it.
    #[must_use]
    pub fn cure(&self) -> String {
        self.fault.cure()
    }
}

/// How long a writer waits for another.
pub(crate) const PATIENCE: Duration = Duration::from_secs(10);

impl From<rusqlite::Error> for StockFault {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode;
        let rusqlite::Error::SqliteFailure(failure, message) = &error else {
            return match error {
                // What was read does not have the form that was written.
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::InvalidColumnType(..)
                | rusqlite::Error::IntegralValueOutOfRange(..)
                | rusqlite::Error::Utf8Error(..) => Self::Damaged { what: error.to_string() },
                _ => Self::Database(error),
            };
        };
        match failure.code {
            ErrorCode::ReadOnly => Self::ReadOnly,
            ErrorCode::DiskFull => Self::DiskFull,
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => Self::Busy { waited: PATIENCE },
            ErrorCode::DatabaseCorrupt => {
                Self::Damaged { what: message.clone().unwrap_or_else(|| failure.to_string()) }
            }
            ErrorCode::NotADatabase => Self::ForeignFile { found: "not a database".to_owned() },
            ErrorCode::CannotOpen | ErrorCode::PermissionDenied => Self::CannotOpen { reason: failure.to_string() },
            // A file grown to the limit of what one may be ends in a failed write too.
            ErrorCode::SystemIoFailure if failure.extended_code == rusqlite::ffi::SQLITE_IOERR_WRITE => Self::DiskFull,
            _ => Self::Database(error),
        }
    }
}
