//! What a search does with its time: moves tried and taken, by kind.

use std::ops::AddAssign;

/// A kind of move of the search.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum MoveKind {
    /// A part to a random place in its room.
    Room,
    /// A part to a place near where it lay.
    Near,
    /// A part laid edge on edge with another.
    Contact,
    /// A part to another sheet.
    OtherSheet,
    /// A part a little further downhill from where it lay.
    Slide,
    /// Another set of sheets.
    Sheets,
    /// A part that lay nowhere, squeezed in.
    Insert,
    /// A wider band freed of parts.
    Band,
    /// Less of a stock sold by length.
    Shorten,
    /// Two large parts trade places.
    Swap,
    /// All parts at random places.
    Scatter,
    /// All parts that overlap pushed apart at once.
    Spread,
    /// The parts of a failed set of sheets that still overlapped, taken to one sheet more.
    Extra,
}

impl MoveKind {
    /// All kinds: first those of single parts, then those of the whole arrangement.
    pub const ALL: [Self; 13] = [
        Self::Room,
        Self::Near,
        Self::Contact,
        Self::OtherSheet,
        Self::Slide,
        Self::Sheets,
        Self::Insert,
        Self::Band,
        Self::Shorten,
        Self::Swap,
        Self::Scatter,
        Self::Spread,
        Self::Extra,
    ];

    /// A short name, for files and tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Room => "room",
            Self::Near => "near",
            Self::Contact => "contact",
            Self::OtherSheet => "other sheet",
            Self::Slide => "slide",
            Self::Sheets => "sheets",
            Self::Insert => "insert",
            Self::Band => "band",
            Self::Shorten => "shorten",
            Self::Swap => "swap",
            Self::Scatter => "scatter",
            Self::Spread => "spread",
            Self::Extra => "extra sheet",
        }
    }
}

/// How often a kind of move was tried, and how often what came of it was kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MoveCount {
    /// Tried.
    pub tried: u64,
    /// Taken.
    pub taken: u64,
}

/// The counts of all kinds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MoveCounts([MoveCount; MoveKind::ALL.len()]);

impl MoveCounts {
    /// The counts of one kind.
    #[must_use]
    pub const fn of(&self, kind: MoveKind) -> MoveCount {
        self.0[kind as usize]
    }

    #[inline]
    pub(crate) fn tried(&mut self, kind: MoveKind, times: usize) {
        self.0[kind as usize].tried += times as u64;
    }

    #[inline]
    pub(crate) fn taken(&mut self, kind: MoveKind) {
        self.0[kind as usize].taken += 1;
    }
}

impl AddAssign for MoveCounts {
    fn add_assign(&mut self, other: Self) {
        for (mine, theirs) in self.0.iter_mut().zip(other.0) {
            mine.tried += theirs.tried;
            mine.taken += theirs.taken;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_kept_by_kind_and_add_up() {
        for (index, kind) in MoveKind::ALL.into_iter().enumerate() {
            assert_eq!(kind as usize, index, "{}", kind.name());
        }
        let mut counts = MoveCounts::default();
        counts.tried(MoveKind::Near, 10);
        counts.taken(MoveKind::Near);
        counts += counts;
        assert_eq!(counts.of(MoveKind::Near), MoveCount { tried: 20, taken: 2 });
        assert_eq!(counts.of(MoveKind::Room), MoveCount::default());
    }
}
