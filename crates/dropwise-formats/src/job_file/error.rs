//! What can be wrong with a job file, and where.

use std::fmt;
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::drawing::Severity;

/// A fault of a job file, or of a file that it names, with its place.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{place}: {fault}")]
#[non_exhaustive]
pub struct JobFileError {
    /// Where.
    pub place: Place,
    /// What is wrong, and what would be right.
    pub fault: Fault,
}

impl JobFileError {
    /// A fault at a place.
    #[must_use]
    pub fn new(place: Place, fault: Fault) -> Self {
        Self { place, fault }
    }
}

/// A place in a file: as much of it as is known.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file.
    pub file: PathBuf,
    /// Line, counted from 1.
    pub line: Option<usize>,
    /// Character in the line, counted from 1.
    pub column: Option<usize>,
    /// Path of keys, such as `parts[3] "bracket": rectangle.width`, list entries counted from 1; empty when the fault
    /// concerns no key.
    pub key: String,
}

impl Place {
    /// A file as a whole.
    #[must_use]
    pub fn file(file: &Path) -> Self {
        Self { file: file.to_owned(), ..Self::default() }
    }

    /// A line of a file.
    #[must_use]
    pub fn line(file: &Path, line: usize) -> Self {
        Self { file: file.to_owned(), line: Some(line), ..Self::default() }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file.display())?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
            if let Some(column) = self.column {
                write!(f, ":{column}")?;
            }
        }
        if self.key.is_empty() { Ok(()) } else { write!(f, ": {}", self.key) }
    }
}

/// What is wrong. Each message says what would be right.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Fault {
    /// The file could not be read.
    #[error("cannot be read: {reason}")]
    Unreadable {
        /// What the system said.
        reason: String,
    },
    /// The file is larger than any job file needs to be.
    #[error("is {size} bytes long; at most {limit} are read. Move drawings and long lists to files of their own")]
    TooLarge {
        /// Its size.
        size: u64,
        /// The limit.
        limit: u64,
    },
    /// The file is not text in UTF-8.
    #[error("is not text in UTF-8: the byte at {offset} belongs to no character. Save the file as UTF-8")]
    NotText {
        /// Offset of the first bad byte.
        offset: usize,
    },
    /// The text sets no keys at all: say a list in CSV.
    #[error(
        "is neither TOML nor JSON: none of its lines sets a key, as name = \"shelf\" does. Drawings and lists of sheets are \
         named in a job file, as file = \"rack.csv\" under [[sheets]]"
    )]
    NoKeys,
    /// The text breaks the rules of its format.
    #[error("{message}")]
    Syntax {
        /// What the parser said.
        message: String,
    },
    /// A key that means nothing here.
    #[error("is no key here; {}", suggestion(nearest.as_deref(), known))]
    UnknownKey {
        /// The key that it resembles most, if any.
        nearest: Option<String>,
        /// All keys that may stand there.
        known: Vec<String>,
    },
    /// A key that stands twice in one table.
    #[error("stands twice; keep one of them")]
    RepeatedKey,
    /// A key that must be there is not.
    #[error("lacks `{key}`{}", example.as_ref().map(|e| format!("; write, for example, {e}")).unwrap_or_default())]
    MissingKey {
        /// The key.
        key: String,
        /// How it might be written.
        example: Option<String>,
    },
    /// A value of the wrong kind.
    #[error("is {found}, but must be {expected}")]
    WrongKind {
        /// What is there.
        found: String,
        /// What may be there.
        expected: String,
    },
    /// A value that was refused by what it is for: a length, a gauge, a price, a pattern.
    #[error("{message}")]
    Refused {
        /// What is wrong and what would be right.
        message: String,
    },
    /// A value that cannot be, and what would be right.
    #[error("{problem}. {cure}")]
    Value {
        /// What is wrong.
        problem: String,
        /// What to do.
        cure: String,
    },
}

impl Fault {
    /// A value that cannot be: the problem without a full stop, the cure as a sentence without one.
    pub(crate) fn value(problem: impl Into<String>, cure: impl Into<String>) -> Self {
        Self::Value { problem: problem.into(), cure: cure.into() }
    }
}

fn suggestion(nearest: Option<&str>, known: &[String]) -> String {
    match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("known are {}", list(known)),
    }
}

/// Words in back quotes, separated by commas, "and" before the last.
pub(crate) fn list(words: &[String]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        None => "none".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    }
}

/// Something worth telling that does not stand in the way of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// How bad it is; never an error.
    pub severity: Severity,
    /// What it is about.
    pub place: Place,
    /// What to tell, a sentence without a full stop.
    pub text: String,
}

impl Note {
    /// Whether it may not be what was meant, so that everyone has to see it.
    #[must_use]
    pub fn is_warning(&self) -> bool {
        self.severity > Severity::Info
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.text)
    }
}
