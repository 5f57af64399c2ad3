//! Where a figure comes from, kept as data so that the documentation and the reports can print it.

use std::fmt;

/// How far a figure can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Status {
    /// Read in the source named.
    Confirmed,
    /// Arithmetic from a rule read in the source named.
    Derived,
    /// Widely published and recalled; the source named was not at hand to check it.
    FromMemory,
    /// What shops do; nobody published it.
    CommonPractice,
}

impl Status {
    /// Every status, the most trustworthy first.
    pub const ALL: [Self; 4] = [Self::Confirmed, Self::Derived, Self::FromMemory, Self::CommonPractice];
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Confirmed => "confirmed",
            Self::Derived => "derived",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice, no source",
        })
    }
}

/// A published source, or the honest statement that there is none.
///
/// Prints as its title followed by its status: `Density Table of Metals (confirmed)`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Source {
    /// What was published; empty for common practice, and where a recalled figure has no one title.
    pub title: &'static str,
    /// How far the figure can be trusted.
    pub status: Status,
}

impl Source {
    /// Read in the work of this title.
    #[must_use]
    pub const fn confirmed(title: &'static str) -> Self {
        Self { title, status: Status::Confirmed }
    }

    /// Worked out from a rule in the work of this title.
    #[must_use]
    pub const fn derived(title: &'static str) -> Self {
        Self { title, status: Status::Derived }
    }

    /// Recalled from the work of this title, which may be empty.
    #[must_use]
    pub const fn from_memory(title: &'static str) -> Self {
        Self { title, status: Status::FromMemory }
    }

    /// Whether somebody published it and it was read there, or follows from what was.
    #[must_use]
    pub const fn is_known(self) -> bool {
        matches!(self.status, Status::Confirmed | Status::Derived)
    }

    /// What shops do.
    pub const COMMON_PRACTICE: Self = Self { title: "", status: Status::CommonPractice };
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.title.is_empty() { self.status.fmt(f) } else { write!(f, "{} ({})", self.title, self.status) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_status_prints_in_its_own_words() {
        let printed = Status::ALL.map(|status| status.to_string());
        assert_eq!(printed, ["confirmed", "derived", "from memory", "common practice, no source"]);
    }

    #[test]
    fn a_source_without_a_title_prints_its_status_alone() {
        assert_eq!(Source::confirmed("Density of Metals").to_string(), "Density of Metals (confirmed)");
        assert_eq!(Source::derived("Density of Metals").to_string(), "Density of Metals (derived)");
        assert_eq!(Source::from_memory("").to_string(), "from memory");
        assert_eq!(Source::COMMON_PRACTICE.to_string(), "common practice, no source");
    }
}
