//! The log as a file: opening it, and writing to it so that nothing is half done.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};

use crate::error::{PATIENCE, StockError, StockFault};
use crate::projection::{Misfit, left_over, sheet_after};
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
/// let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 780.0, 520.0), vec![]);
/// let details = Details::new(shape, Material::MildSteel, Thickness::new(3.04)?);
/// let drop = NewSheet { tag: None, details, paid: Money::from_coins(950), since: None };
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
        if let Ok(false) = schema::is_stock_log(path) {
            start(path).map_err(|fault| fault.at(path))?;
        }
        Self::open_as(path, clock, OpenFlags::SQLITE_OPEN_READ_WRITE, Care::Writing)
    }

    /// Opens a log that must be there.
    ///
    /// # Errors
    /// [`StockFault::NotFound`], and those of [`StockLog::open`].
    pub fn open_existing(path: &Path, clock: impl Clock + 'static) -> Result<Self, StockError> {
        Self::open_as(path, clock, OpenFlags::SQLITE_OPEN_READ_WRITE, Care::Writing)
    }

    /// Opens a log that must be there, only to look at it.
    ///
    /// # Errors
    /// Those of [`StockLog::open_existing`]; [`StockFault::ReadOnly`] when an older log would have to be migrated first.
    pub fn open_read_only(path: &Path, clock: impl Clock + 'static) -> Result<Self, StockError> {
        Self::open_as(path, clock, OpenFlags::SQLITE_OPEN_READ_ONLY, Care::Looking)
    }

    /// Opens a log that must be there, damaged or not: to see what is wrong with [`StockLog::check_integrity`], to carry out
    /// what can still be read, or, with `mends`, for [`StockLog::rebuild`].
    ///
    /// # Errors
    /// Those of [`StockLog::open_existing`], without the damage that only looking at the whole file finds.
    pub fn open_as_it_is(path: &Path, clock: impl Clock + 'static, mends: bool) -> Result<Self, StockError> {
        let flags = if mends { OpenFlags::SQLITE_OPEN_READ_WRITE } else { OpenFlags::SQLITE_OPEN_READ_ONLY };
        Self::open_as(path, clock, flags, Care::None)
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

    fn open_as(path: &Path, clock: impl Clock + 'static, flags: OpenFlags, care: Care) -> Result<Self, StockError> {
        let open = || {
            if !schema::is_stock_log(path)? {
                return Err(StockFault::NotFound);
            }
            // Absolute, so that no name means anything special to the database.
            let absolute =
                std::path::absolute(path).map_err(|error| StockFault::CannotOpen { reason: error.to_string() })?;
            let connect =
                |flags| prepared(Connection::open_with_flags(&absolute, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?);
            match connect(flags) {
                // A writer was killed and left its journal: whoever only looks can do so once a writer has put it right.
                // An older log is brought up to date in the same way.
                Err(StockFault::ReadOnly | StockFault::CannotOpen { .. })
                    if has_journal(&absolute) || schema::is_older(&absolute) =>
                {
                    drop(connect(OpenFlags::SQLITE_OPEN_READ_WRITE)?);
                    connect(flags)
                }
                result => result,
            }
        };
        let connection = open().and_then(|connection| care.taken(connection)).map_err(|fault| fault.at(path))?;
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

    /// How many events there are, undone ones and undoings included.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn event_count(&self) -> Result<usize, StockError> {
        self.read(|connection| {
            let count: i64 = connection.query_row("SELECT count(*) FROM event", [], |row| row.get(0))?;
            Ok(usize::try_from(count).unwrap_or_default())
        })
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

/// How closely a file is looked at when it is opened. A shop's log is small: all of it is read in some milliseconds.
#[derive(Clone, Copy, Debug)]
enum Care {
    /// Not at all: whoever opens it looks for damage.
    None,
    /// The structure of the whole file. Rows are checked as they are read.
    Looking,
    /// The structure, and every event and sheet: nothing is written on top of what is not whole.
    Writing,
}

impl Care {
    fn taken(self, connection: Connection) -> Result<Connection, StockFault> {
        if matches!(self, Self::Looking | Self::Writing) {
            let found: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
            if found != "ok" {
                return Err(StockFault::Damaged { what: found });
            }
        }
        if matches!(self, Self::Writing) {
            let transaction = connection.unchecked_transaction()?;
            projection_table::check_checksums(&transaction)?;
        }
        Ok(connection)
    }
}

/// Starts a log: under another name first, so that a log has its tables from the moment its file is there, and so that of two
/// who start one at once the second opens that of the first.
fn start(path: &Path) -> Result<(), StockFault> {
    let cannot = |error: std::io::Error| {
        // Without the name of the draft, which nobody knows.
        let said = error.get_ref().and_then(|error| error.source()).map(ToString::to_string);
        StockFault::CannotOpen { reason: said.unwrap_or_else(|| error.to_string()) }
    };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut drafts = tempfile::Builder::new();
    drafts.prefix(".dropwise-").suffix(".part");
    // As any program's new file: what the user's mask leaves.
    #[cfg(unix)]
    drafts.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let draft = drafts.tempfile_in(folder).map_err(cannot)?;
    drop(prepared(Connection::open_with_flags(
        std::path::absolute(draft.path()).map_err(cannot)?,
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?)?);
    match draft.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(cannot(error.error)),
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

/// Whether a journal lies beside a log: somebody is writing, or was killed while doing so.
fn has_journal(path: &Path) -> bool {
    let mut journal = path.as_os_str().to_owned();
    journal.push("-journal");
    Path::new(&journal).exists()
}

/// The fault for a tag that no piece has.
pub(crate) fn unknown(connection: &Connection, tag: Tag) -> Result<StockFault, StockFault> {
    let by = projection_table::events_of(connection, tag, EventNumber(0))?.pop().map(|event| event.summary(tag));
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
                let before = sheets_before(transaction, &tags, undone)?;
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
            let before = projection_table::sheet(self.transaction, tag)?;
            let is_taken = || Ok::<_, StockFault>(before.is_some() || !self.comes_back(event, tag)?);
            if tags.contains(&tag) || (is_new && projection_table::is_used(self.transaction, tag)? && is_taken()?) {
                return Err(StockFault::TagTaken { tag });
            }
            match sheet_after(event, tag, before.clone()) {
                Ok(sheet) => after.push(Some(sheet)),
                Err(misfit) => return Err(self.fault(event.number, misfit, before.as_ref())?),
            }
            tags.push(tag);
        }
        Ok((tags, after))
    }

    /// Whether an event brings back a leftover whose tag was given before and taken back: see [`left_over`].
    fn comes_back(&self, event: &Event, tag: Tag) -> Result<bool, StockFault> {
        let now = left_over(&event.change, tag);
        let earlier = projection_table::events_of(self.transaction, tag, EventNumber(0))?;
        let first = earlier.first().and_then(|first| left_over(&first.change, tag));
        Ok(now.is_some() && now == first)
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

/// Pieces as they were before an event that stands, worked out from the events that stood then and still do.
fn sheets_before(
    connection: &Connection,
    tags: &[Tag],
    event: EventNumber,
) -> Result<Vec<Option<StockSheet>>, StockFault> {
    // Pieces that are undone together often came together: an event that brought thousands is read once.
    let mut read: BTreeMap<EventNumber, Event> = BTreeMap::new();
    let mut sheets = Vec::with_capacity(tags.len());
    for &tag in tags {
        let mut sheet = None;
        for number in projection_table::standing_before(connection, tag, event)? {
            let missing = || StockFault::Damaged { what: format!("event {number} is missing") };
            let earlier = match read.entry(number) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(place) => place.insert(projection_table::event(connection, number)?.ok_or_else(missing)?),
            };
            let after = sheet_after(earlier, tag, sheet);
            sheet = Some(after.map_err(|misfit| StockFault::Impossible { event: number, misfit })?);
        }
        sheets.push(sheet);
    }
    Ok(sheets)
}

/// Refuses a text that would not print.
pub(crate) fn check_text(what: &str, text: &str) -> Result<(), StockFault> {
    if text.chars().any(|letter| letter.is_control() && letter != '\n' && letter != '\t') {
        return Err(StockFault::BadValue { what: format!("{what} holds a character that does not print") });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::Money;
    use dropwise_shop::{Material, Thickness};

    use super::*;
    use crate::{Details, NewSheet, SystemClock};

    fn drop_of_steel() -> NewSheet {
        let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 780.0, 520.0), Vec::new());
        let details = Details::new(shape, Material::MildSteel, Thickness::new(3.04).unwrap());
        NewSheet { tag: None, details, paid: Money::from_coins(950), since: None }
    }

    fn in_folder() -> (tempfile::TempDir, PathBuf, StockLog) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("rack.dwsl");
        let mut log = StockLog::open(&path, SystemClock).unwrap();
        log.buy(vec![drop_of_steel()], "").unwrap();
        (folder, path, log)
    }

    #[test]
    fn the_settings_that_keep_events_safe_are_on() {
        let (_folder, _path, log) = in_folder();
        let journal: String = log.connection.pragma_query_value(None, "journal_mode", |row| row.get(0)).unwrap();
        let synchronous: i64 = log.connection.pragma_query_value(None, "synchronous", |row| row.get(0)).unwrap();
        let keys: bool = log.connection.pragma_query_value(None, "foreign_keys", |row| row.get(0)).unwrap();
        // SQLite, PRAGMA synchronous: 3 is EXTRA.
        assert_eq!((journal.as_str(), synchronous, keys), ("delete", 3, true));
    }

    #[test]
    fn a_full_disk_ends_in_a_message_and_the_log_goes_on() {
        let (_folder, _path, mut log) = in_folder();
        let pages: i64 = log.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        let limit = |log: &StockLog, pages: i64| {
            let set = log.connection.pragma_update_and_check(None, "max_page_count", pages, |row| row.get::<_, i64>(0));
            assert_eq!(set.unwrap(), pages);
        };
        limit(&log, pages + 2);
        let mut bought = 1;
        let error = loop {
            match log.buy(vec![drop_of_steel()], "") {
                Ok(_) => bought += 1,
                Err(error) => break error,
            }
        };
        assert!(matches!(*error.fault, StockFault::DiskFull), "{error}");
        assert!(log.check_integrity().unwrap().is_empty());
        assert_eq!(log.events().unwrap().len(), bought);
        limit(&log, pages + 100);
        log.buy(vec![drop_of_steel()], "").unwrap();
    }

    #[test]
    fn a_log_that_another_holds_is_busy() {
        let (_folder, path, mut log) = in_folder();
        let other = Connection::open(&path).unwrap();
        log.connection.busy_timeout(Duration::from_millis(30)).unwrap();
        other.execute_batch("BEGIN IMMEDIATE").unwrap();
        let error = log.buy(vec![drop_of_steel()], "").unwrap_err();
        assert!(matches!(*error.fault, StockFault::Busy { .. }), "{error}");
        // Who only looks is not kept waiting.
        assert_eq!(log.events().unwrap().len(), 1);
        other.execute_batch("ROLLBACK").unwrap();
        log.buy(vec![drop_of_steel()], "").unwrap();
    }

    #[test]
    fn who_only_looks_is_let_in_after_a_writer_was_killed() {
        let (folder, path, log) = in_folder();
        let before = log.events().unwrap();
        // A writer in the middle of a commit that needs more room than it has: pages are in the file already.
        let writer = Connection::open(&path).unwrap();
        writer.pragma_update(None, "cache_size", 1).unwrap();
        let filler = "BEGIN IMMEDIATE; CREATE TABLE filler (text TEXT);
            WITH RECURSIVE count (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM count WHERE n < 400)
            INSERT INTO filler SELECT hex(randomblob(500)) FROM count; DELETE FROM sheet;";
        writer.execute_batch(filler).unwrap();
        // What a kill would leave at this moment, in another place.
        let killed = folder.path().join("killed.dwsl");
        std::fs::copy(&path, &killed).unwrap();
        std::fs::copy(folder.path().join("rack.dwsl-journal"), folder.path().join("killed.dwsl-journal")).unwrap();
        assert_ne!(std::fs::read(&killed).unwrap().len(), 0);
        let plain = Connection::open_with_flags(&killed, OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
        assert!(plain.query_row("SELECT count(*) FROM event", [], |_| Ok(())).is_err(), "the journal is not hot");
        drop(plain);
        let looked = StockLog::open_read_only(&killed, SystemClock).unwrap();
        assert!(looked.check_integrity().unwrap().is_empty());
        assert_eq!(looked.events().unwrap(), before);
    }
}
