//! The life of a piece, back to the purchase.

use crate::error::StockError;
use crate::log::unknown;
use crate::{Change, Event, EventNumber, Role, StockLog, Tag, projection_table};

/// The descent of a piece and all that happened along it.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// The piece itself first, then the sheet it was left over from, and so on to the one that was bought.
    pub descent: Vec<Tag>,
    /// What happened, in order: to each sheet of the descent up to the cut that made the next, to the piece itself all.
    pub entries: Vec<HistoryEntry>,
}

/// One event in the life of one piece.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryEntry {
    /// The piece.
    pub tag: Tag,
    /// What the event was to it.
    pub role: Role,
    /// The event.
    pub event: Event,
    /// The event that took it back, if any did.
    pub undone_by: Option<EventNumber>,
}

impl StockLog {
    /// The life of a piece: also of one that is cut, scrapped or sold, or whose purchase was undone.
    ///
    /// # Errors
    /// [`crate::StockFault::UnknownTag`] when no event ever spoke of it.
    pub fn history(&self, tag: Tag) -> Result<History, StockError> {
        self.read(|connection| {
            let (mut descent, mut entries) = (Vec::new(), Vec::new());
            let (mut current, mut until) = (tag, EventNumber(i64::MAX));
            loop {
                let events = projection_table::events_of(connection, current, EventNumber(0))?;
                if events.is_empty() {
                    return Err(unknown(connection, current)?);
                }
                descent.push(current);
                // The last cut that it was left over from: those before were undone.
                let parent = events.iter().rev().find_map(|event| Some((parent_of(event, current)?, event.number)));
                for event in events.into_iter().filter(|event| event.number <= until) {
                    let roles = event.change.roles();
                    let role =
                        roles.iter().find(|(other, _)| *other == current).map_or(Role::Undone, |(_, role)| *role);
                    let undone_by = projection_table::undone_by(connection, event.number)?;
                    entries.push(HistoryEntry { tag: current, role, event, undone_by });
                }
                // Each parent was there before its child, so this ends.
                let Some((parent, cut)) = parent.filter(|(_, cut)| *cut <= until) else { break };
                (current, until) = (parent, cut);
            }
            // Of one cut, the entry of the sheet stands before that of its leftover.
            let depth = |tag: Tag| descent.iter().position(|&other| other == tag);
            entries.sort_by_key(|entry| (entry.event.number, std::cmp::Reverse(depth(entry.tag))));
            Ok(History { descent, entries })
        })
    }
}

/// The sheet that an event left this piece over from.
fn parent_of(event: &Event, tag: Tag) -> Option<Tag> {
    let Change::Cut { sheets, .. } = &event.change else { return None };
    let parent = sheets.iter().find(|sheet| sheet.leftovers.iter().any(|leftover| leftover.tag == tag))?;
    Some(parent.tag)
}
