//! The log as a file: opening it, and writing to it so that nothing is half done.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use crate::error::{PATIENCE, StockError, StockFault};
use crate::projection::{Misfit, sheet_after};
use crate::{
    Change, Clock, Event, EventNumber, EventSummary, Role, State, StockSheet, Tag, Timestamp, projection_table, schema,
};

/// The stock log of a shop: one file.
///
/// Several programs may have the same log open. Each change is one transaction: when a method that changes the log
/// returns without an error, the event is on the disk; otherwise nothing has happened. Cure and file of every fault stand
/// in the error.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Outline, Point, Shape};
/// use dropwise_model::Money;
/// use dropwise_shop::{Material, Thickness};
/// use dropwise_stock::{Details, NewSheet, StockLog, SystemClock};
/// let mut log = StockLog::in_memory(SystemClock)?;
/// let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 850.0, 495.0), vec![]);
/// let details = Details::new(shape, Material::MildSteel, Thickness::new(3.04)?);
/// let drop = NewSheet { tag: None, details, paid: Money::from_coins(800), since: None };
/// let tag = log.buy(vec![drop], "for the tool shed")?.tags[0];
/// log.relocate(tag, "rack B", "")?;
/// assert_eq!(log.sheet(tag)?.details.place, "rack B");
/// log.undo(None, "put it back")?;
/// assert_eq!(log.sheet(tag)?.details.place, "");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct StockLog {
    pub(crate) connection: Connection,
    path: PathBuf,
    clock: Box<dyn Clock>,
}

/// What was recorded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// Number of the event.
    pub number: EventNumber,
    /// The pieces it created, in the order given: those bought, or those left over sheet by sheet.
    pub tags: Vec<Tag>,
    /// Set when the clock stands before the time of an earlier event, here given. The event is recorded all the same: its
    /// number says when it happened, and the log marks its time.
    pub clock_is_behind: Option<Timestamp>,
}

impl std::fmt::Debug for StockLog {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("StockLog").field("path", &self.path).finish_non_exhaustive()
    }
}

impl StockLog {
    /// Opens a log, or starts one where there is no file. Logs of older versions are brought to this one.
    ///
    /// A log that may only be read is opened all the same; changes are then refused.
    ///
    /// # Errors
    /// [`StockFault::ForeignFile`] or [`StockFault::NewerSchema`], the file being left untouched;
    /// [`StockFault::CannotOpen`], [`StockFault::Busy`], [`StockFault::Damaged`].
    pub fn open(path: &Path, clock: impl Clock + 'static) -> Result<Self, StockError> {
        Self::open_as(path, clock, OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE, false)
    }

    /// Opens a log that must be there.
    ///
    /// # Errors
    /// [`StockFault::NotFound`], and those of [`StockLog::open`].
    pub fn open_existing(path: &Path, clock: impl Clock + 'static) -> Result<Self, StockError> {
        Self::open_as(path, clock, OpenFlags::SQLITE_OPEN_READ_WRITE, true)
    }

    /// Opens a log that must be there, only to look at it.
    ///
    /// # Errors
    /// Those of [`StockLog::open_existing`]; [`StockFault::ReadOnly`] when an older log would have to be migrated first.
    pub fn open_read_only(path: &Path, clock: impl Clock + 'static) -> Result<Self, StockError> {
        Self::open_as(path, clock, OpenFlags::SQLITE_OPEN_READ_ONLY, true)
    }

    /// A log that is gone when it is dropped.
    ///
    /// # Errors
    /// Only when there is no memory left.
    pub fn in_memory(clock: impl Clock + 'static) -> Result<Self, StockError> {
        let path = PathBuf::from(":memory:");
        let made = Connection::open_in_memory().map_err(StockFault::from).and_then(prepared);
        Ok(Self { connection: made.map_err(|fault| fault.at(&path))?, path, clock: Box::new(clock) })
    }

    fn open_as(
        path: &Path,
        clock: impl Clock + 'static,
        flags: OpenFlags,
        must_exist: bool,
    ) -> Result<Self, StockError> {
        let open = || {
            let is_there = schema::is_stock_log(path)?;
            if must_exist && !is_there {
                return Err(StockFault::NotFound);
            }
            // Absolute, so that no name means anything special to the database.
            let absolute =
                std::path::absolute(path).map_err(|error| StockFault::CannotOpen { reason: error.to_string() })?;
            prepared(Connection::open_with_flags(absolute, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?)
        };
        let connection = open().map_err(|fault| fault.at(path))?;
        Ok(Self { connection, path: path.to_owned(), clock: Box::new(clock) })
    }

    /// The file; `:memory:` for a log that is none.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What the log's clock says.
    #[must_use]
    pub fn now(&self) -> Timestamp {
        self.clock.now()
    }

    /// The piece of this tag, whatever has become of it.
    ///
    /// # Errors
    /// [`StockFault::UnknownTag`], or a fault of the file.
    pub fn sheet(&self, tag: Tag) -> Result<StockSheet, StockError> {
        self.read(|connection| {
            projection_table::sheet(connection, tag)?
                .ok_or_else(|| unknown(connection, tag).unwrap_or_else(|fault| fault))
        })
    }

    /// All pieces in one state, or in any, by tag.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn sheets(&self, state: Option<State>) -> Result<Vec<StockSheet>, StockError> {
        self.read(|connection| projection_table::sheets(connection, state))
    }

    /// All events, the first first.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn events(&self) -> Result<Vec<Event>, StockError> {
        self.read(|connection| projection_table::events_after(connection, EventNumber(0)))
    }

    /// Reads from one state of the log, even while another program writes.
    pub(crate) fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T, StockFault>) -> Result<T, StockError> {
        let read = || {
            let transaction = self.connection.unchecked_transaction()?;
            work(&transaction)
        };
        read().map_err(|fault| fault.at(&self.path))
    }

    /// Does some work in one transaction, and keeps it only when all of it succeeded.
    pub(crate) fn write<T>(
        &mut self,
        work: impl FnOnce(&mut Writing<'_>) -> Result<T, StockFault>,
    ) -> Result<T, StockError> {
        let path = self.path.clone();
        let write = || {
            // At once, not at the first write: two that read first and write then would lock each other out.
            let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            // Asked only now, so that the order of events is that of their times when another program was waited for.
            let now = self.clock.now();
            let (last, latest) = projection_table::latest(&transaction)?;
            let mut writing = Writing { transaction: &transaction, now, latest, last, next_tag: None };
            let done = work(&mut writing)?;
            transaction.commit()?;
            Ok(done)
        };
        write().map_err(|fault: StockFault| fault.at(&path))
    }
}

/// Sets a connection up and brings its tables to the present version.
///
/// The journal is a rollback journal, not a write-ahead log: the log stays one file that can be copied or put on a stick,
/// it may lie on a network drive, and it can be read where nothing may be written. A shop writes a few events an hour, so
/// that readers wait for writers, which a write-ahead log would spare them, is never felt. Synchronous is "extra": "full",
/// and the folder is flushed too when the journal goes, without which a power cut right after a commit could bring the
/// journal back and take the event away.
///
/// # Source
/// SQLite, PRAGMA statements: journal_mode, synchronous; Write-Ahead Logging, section 1; How To Corrupt An SQLite Database
/// File.
fn prepared(mut connection: Connection) -> Result<Connection, StockFault> {
    connection.busy_timeout(PATIENCE)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "synchronous", "EXTRA")?;
    connection.set_prepared_statement_cache_capacity(32);
    if connection.is_readonly(rusqlite::MAIN_DB)? {
        // Migrating would fail with the plain truth; a log of the present version is not written to.
        schema::migrate(&mut connection)?;
        return Ok(connection);
    }
    connection.pragma_update(None, "journal_mode", "DELETE")?;
    schema::migrate(&mut connection)?;
    Ok(connection)
}

/// The fault for a tag that no piece has.
pub(crate) fn unknown(connection: &Connection, tag: Tag) -> Result<StockFault, StockFault> {
    let by = projection_table::events_of(connection, tag)?.pop().map(|event| event.summary(tag));
    Ok(StockFault::UnknownTag { tag, by })
}

/// The event that last happened to a piece, in a line.
pub(crate) fn last_of(connection: &Connection, sheet: &StockSheet) -> Result<Option<EventSummary>, StockFault> {
    Ok(projection_table::event(connection, sheet.last_event)?.map(|event| event.summary(sheet.tag)))
}

/// A transaction in which events are added.
pub(crate) struct Writing<'a> {
    pub(crate) transaction: &'a Transaction<'a>,
    pub(crate) now: Timestamp,
    /// The latest time of any event.
    latest: Option<Timestamp>,
    last: EventNumber,
    next_tag: Option<u64>,
}

impl Writing<'_> {
    /// Adds an event and what follows from it.
    pub(crate) fn append(&mut self, cause: &str, change: Change) -> Result<Receipt, StockFault> {
        check_text("the cause", cause)?;
        let number = EventNumber(self.last.0 + 1);
        let behind = self.latest.filter(|&latest| self.now < latest);
        let event =
            Event { number, time: self.now, is_clock_behind: behind.is_some(), cause: cause.to_owned(), change };
        self.insert(&event)?;
        let is_new = |role: &Role| matches!(role, Role::Bought | Role::LeftOver);
        let roles = event.change.roles();
        let tags = roles.into_iter().filter(|(_, role)| is_new(role)).map(|(tag, _)| tag).collect();
        Ok(Receipt { number, tags, clock_is_behind: behind })
    }

    /// Writes an event that has its number and time already, and what follows from it.
    pub(crate) fn insert(&mut self, event: &Event) -> Result<(), StockFault> {
        let transaction = self.transaction;
        let (tags, after) = match event.change {
            Change::Undone { event: undone } => {
                let tags = projection_table::tags_of(transaction, undone)?;
                let before = tags.iter().map(|&tag| sheet_before(transaction, tag, undone));
                let before = before.collect::<Result<Vec<_>, _>>()?;
                (tags, before)
            }
            _ => self.follow(event)?,
        };
        projection_table::insert_event(transaction, event, &tags)?;
        for (tag, sheet) in tags.iter().zip(&after) {
            match sheet {
                Some(sheet) => projection_table::put(transaction, sheet)?,
                None => projection_table::remove(transaction, *tag)?,
            }
        }
        self.last = event.number;
        self.latest = self.latest.max(Some(event.time));
        Ok(())
    }

    /// The pieces an event speaks of, each as it will be.
    fn follow(&self, event: &Event) -> Result<(Vec<Tag>, Vec<Option<StockSheet>>), StockFault> {
        let (mut tags, mut after) = (Vec::new(), Vec::new());
        for (tag, role) in event.change.roles() {
            let is_new = matches!(role, Role::Bought | Role::LeftOver);
            if tags.contains(&tag) || (is_new && projection_table::is_used(self.transaction, tag)?) {
                return Err(StockFault::TagTaken { tag });
            }
            let before = projection_table::sheet(self.transaction, tag)?;
            match sheet_after(event, tag, before.clone()) {
                Ok(sheet) => after.push(Some(sheet)),
                Err(misfit) => return Err(self.fault(event.number, misfit, before.as_ref())?),
            }
            tags.push(tag);
        }
        Ok((tags, after))
    }

    fn fault(&self, event: EventNumber, misfit: Misfit, before: Option<&StockSheet>) -> Result<StockFault, StockFault> {
        Ok(match misfit {
            Misfit::NotThere { tag } => unknown(self.transaction, tag)?,
            Misfit::AlreadyThere { tag } => StockFault::TagTaken { tag },
            Misfit::NotInRack { tag, state } => {
                let by = before.map(|sheet| last_of(self.transaction, sheet)).transpose()?.flatten();
                StockFault::NotInRack { tag, state, by }
            }
            Misfit::NotBought { tag } => StockFault::NotBought { tag },
            misfit => StockFault::Impossible { event, misfit },
        })
    }

    /// A piece that must be in the rack.
    pub(crate) fn held(&self, tag: Tag) -> Result<StockSheet, StockFault> {
        let Some(sheet) = projection_table::sheet(self.transaction, tag)? else {
            return Err(unknown(self.transaction, tag)?);
        };
        if sheet.state == State::InRack {
            return Ok(sheet);
        }
        let by = last_of(self.transaction, &sheet)?;
        Err(StockFault::NotInRack { tag, state: sheet.state, by })
    }

    /// A tag that no piece has or had, and that is not among those about to be given.
    pub(crate) fn fresh_tag(&mut self, given: &[Tag]) -> Result<Tag, StockFault> {
        let mut number = match self.next_tag {
            Some(number) => number,
            None => {
                let query = "SELECT count(*) FROM event_sheet WHERE role IN ('bought', 'left over')";
                let count: i64 = self.transaction.query_row(query, [], |row| row.get(0))?;
                count.unsigned_abs()
            }
        };
        loop {
            let tag = Tag::numbered(number);
            number += 1;
            if !given.contains(&tag) && !projection_table::is_used(self.transaction, tag)? {
                self.next_tag = Some(number);
                return Ok(tag);
            }
        }
    }
}

/// A piece as it was before an event that stands, worked out from the events that stood then and still do.
fn sheet_before(connection: &Connection, tag: Tag, event: EventNumber) -> Result<Option<StockSheet>, StockFault> {
    let events = projection_table::events_of(connection, tag)?;
    let undone = |number: EventNumber| {
        events.iter().any(|event| matches!(event.change, Change::Undone { event } if event == number))
    };
    let mut sheet = None;
    for earlier in events.iter().take_while(|earlier| earlier.number < event) {
        if earlier.change.kind() != Role::Undone && !undone(earlier.number) {
            let after = sheet_after(earlier, tag, sheet);
            sheet = Some(after.map_err(|misfit| StockFault::Impossible { event: earlier.number, misfit })?);
        }
    }
    Ok(sheet)
}

/// Refuses a text that would not print.
pub(crate) fn check_text(what: &str, text: &str) -> Result<(), StockFault> {
    if text.chars().any(|letter| letter.is_control() && letter != '\n' && letter != '\t') {
        return Err(StockFault::BadValue { what: format!("{what} holds a character that does not print") });
    }
    Ok(())
}
