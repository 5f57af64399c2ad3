//! Taking back what was recorded.

use crate::error::{StockError, StockFault, UndoRefusal};
use crate::log::Writing;
use crate::{Change, EventNumber, EventSummary, Receipt, Role, StockLog, projection_table};

impl StockLog {
    /// Takes back an event by a new one: its pieces are again exactly what they were before, and its entry stays in the
    /// history. `None` means the last event that stands.
    ///
    /// An event can be taken back only while it is the last to have happened to each of its pieces: later ones must be
    /// taken back first. An undoing cannot be undone; record again what was undone. The tags of pieces that vanish, as
    /// when a purchase is undone, are not given again.
    ///
    /// # Errors
    /// [`StockFault::NothingToUndo`], [`StockFault::CannotUndo`] with the reason.
    pub fn undo(&mut self, event: Option<EventNumber>, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            let event = match event {
                Some(event) => event,
                None => last_standing(writing)?.ok_or(StockFault::NothingToUndo)?,
            };
            match refusal(writing, event)? {
                Some(reason) => Err(StockFault::CannotUndo { event, reason }),
                None => writing.append(cause, Change::Undone { event }),
            }
        })
    }

    /// The event that [`StockLog::undo`] would take back now.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn last_standing_event(&self) -> Result<Option<crate::Event>, StockError> {
        self.read(|connection| match connection.query_row(LAST_STANDING, [], |row| row.get::<_, Option<i64>>(0))? {
            Some(number) => projection_table::event(connection, EventNumber(number)),
            None => Ok(None),
        })
    }
}

const LAST_STANDING: &str = "SELECT max(number) FROM event WHERE kind <> 'undone' \
    AND number NOT IN (SELECT undoes FROM event WHERE undoes IS NOT NULL)";

fn last_standing(writing: &Writing<'_>) -> Result<Option<EventNumber>, StockFault> {
    let number: Option<i64> = writing.transaction.query_row(LAST_STANDING, [], |row| row.get(0))?;
    Ok(number.map(EventNumber))
}

/// Why an event cannot be taken back, if it cannot.
fn refusal(writing: &Writing<'_>, number: EventNumber) -> Result<Option<UndoRefusal>, StockFault> {
    let connection = writing.transaction;
    let Some(event) = projection_table::event(connection, number)? else { return Ok(Some(UndoRefusal::Unknown)) };
    if event.change.kind() == Role::Undone {
        return Ok(Some(UndoRefusal::IsUndo));
    }
    if let Some(by) = projection_table::undone_by(connection, number)? {
        return Ok(Some(UndoRefusal::Already { by }));
    }
    let mut by: Vec<EventSummary> = Vec::new();
    for tag in projection_table::tags_of(connection, number)? {
        for later in projection_table::events_of(connection, tag, number)? {
            let stands = || projection_table::undone_by(connection, later.number);
            let is_undo = later.change.kind() == Role::Undone;
            if !is_undo && stands()?.is_none() && by.iter().all(|known| known.number != later.number) {
                by.push(later.summary(tag));
            }
        }
    }
    by.sort_by_key(|later| std::cmp::Reverse(later.number));
    Ok(if by.is_empty() { None } else { Some(UndoRefusal::Dependents { by }) })
}
