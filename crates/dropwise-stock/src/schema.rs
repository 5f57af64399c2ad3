//! The tables, and how files of older versions become files of this one.
//!
//! `docs/stock-log.md` describes them for people.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use rusqlite::{Connection, Transaction};

use crate::error::StockFault;
use crate::projection_table;

/// Marks a database as a stock log: the letters `dwsl`.
pub const APPLICATION_ID: i64 = 0x6477_736c;

/// The version of the schema that this library writes, and the newest it reads.
pub const SCHEMA_VERSION: i64 = MIGRATIONS.len() as i64;

/// Step i makes a database of version i one of version i + 1; version 0 is an empty file. A step that has been released
/// is never changed.
const MIGRATIONS: &[&str] = &[VERSION_1, VERSION_2, VERSION_3];

const VERSION_1: &str = "
CREATE TABLE event (
    number INTEGER PRIMARY KEY,
    time INTEGER NOT NULL,
    is_clock_behind INTEGER NOT NULL,
    kind TEXT NOT NULL,
    cause TEXT NOT NULL,
    body TEXT NOT NULL,
    undoes INTEGER UNIQUE REFERENCES event (number),
    checksum INTEGER NOT NULL
) STRICT;

CREATE INDEX event_by_time ON event (time);
CREATE INDEX event_by_kind ON event (kind);

CREATE TABLE event_sheet (
    number INTEGER NOT NULL REFERENCES event (number),
    tag TEXT NOT NULL,
    role TEXT NOT NULL,
    PRIMARY KEY (tag, number)
) STRICT, WITHOUT ROWID;

CREATE INDEX event_sheet_by_number ON event_sheet (number);

CREATE TABLE sheet (
    tag TEXT PRIMARY KEY,
    state TEXT NOT NULL,
    material TEXT NOT NULL,
    grade TEXT NOT NULL,
    thickness_mm REAL NOT NULL,
    gauge INTEGER,
    measured_mm REAL,
    coating TEXT NOT NULL,
    grain_deg REAL,
    place TEXT NOT NULL,
    supplier TEXT NOT NULL,
    heat_number TEXT NOT NULL,
    certificate TEXT NOT NULL,
    photo TEXT NOT NULL,
    notes TEXT NOT NULL,
    shape TEXT NOT NULL,
    damage TEXT NOT NULL,
    area_mm2 REAL NOT NULL,
    cost INTEGER NOT NULL,
    paid INTEGER,
    left_over_from TEXT,
    purchase TEXT NOT NULL,
    since INTEGER NOT NULL,
    touched INTEGER NOT NULL,
    revision INTEGER NOT NULL REFERENCES event (number),
    last_event INTEGER NOT NULL REFERENCES event (number)
) STRICT, WITHOUT ROWID;

CREATE INDEX sheet_by_state ON sheet (state);

CREATE TRIGGER event_is_kept BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'events are kept for ever'); END;
CREATE TRIGGER event_is_fixed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'events never change'); END;
CREATE TRIGGER event_sheet_is_kept BEFORE DELETE ON event_sheet
BEGIN SELECT RAISE(ABORT, 'events are kept for ever'); END;
CREATE TRIGGER event_sheet_is_fixed BEFORE UPDATE ON event_sheet
BEGIN SELECT RAISE(ABORT, 'events never change'); END;
";

/// What amounts are counted in. Logs of version 1 kept no record of it; they counted hundredths, unless told otherwise each
/// time.
const VERSION_2: &str = "
CREATE TABLE currency (
    is_only INTEGER PRIMARY KEY CHECK (is_only = 1),
    name TEXT NOT NULL,
    decimals INTEGER NOT NULL
) STRICT;

INSERT INTO currency VALUES (1, '', 2);

CREATE TRIGGER currency_is_kept BEFORE DELETE ON currency
BEGIN SELECT RAISE(ABORT, 'the currency is kept'); END;
CREATE TRIGGER currency_is_fixed BEFORE UPDATE ON currency
WHEN EXISTS (SELECT 1 FROM event) AND (new.decimals <> old.decimals OR (old.name <> '' AND new.name <> old.name))
BEGIN SELECT RAISE(ABORT, 'the currency never changes once there are events'); END;
";

/// A checksum for each sheet, so that damage is noticed where it is read, and the unit of length that the log speaks.
const VERSION_3: &str = "
ALTER TABLE sheet ADD COLUMN checksum INTEGER NOT NULL DEFAULT 0;

CREATE TABLE unit (
    is_only INTEGER PRIMARY KEY CHECK (is_only = 1),
    name TEXT NOT NULL
) STRICT;

INSERT INTO unit VALUES (1, '');

CREATE TRIGGER unit_is_kept BEFORE DELETE ON unit
BEGIN SELECT RAISE(ABORT, 'the unit is kept'); END;
";

/// The guards of the index of sheets, which is made anew only with [`projection_table::rebuild`].
pub(crate) const UNGUARD: &str =
    "DROP TRIGGER IF EXISTS event_sheet_is_kept; DROP TRIGGER IF EXISTS event_sheet_is_fixed;";
pub(crate) const GUARD: &str = "
CREATE TRIGGER event_sheet_is_kept BEFORE DELETE ON event_sheet
BEGIN SELECT RAISE(ABORT, 'events are kept for ever'); END;
CREATE TRIGGER event_sheet_is_fixed BEFORE UPDATE ON event_sheet
BEGIN SELECT RAISE(ABORT, 'events never change'); END;
";

/// Looks at the head of a file without opening it as a database, which might already roll back what another program left
/// half done. `Ok(false)` when there is no file.
///
/// An empty file is no log: a log has its tables from the moment its file is there. What is no file, such as a pipe or a
/// device, is not opened at all: it might never answer.
///
/// # Source
/// SQLite, Database File Format, section 1.3: magic string at offset 0, user version at 60, application id at 68, both
/// big-endian.
pub(crate) fn is_stock_log(path: &Path) -> Result<bool, StockFault> {
    let foreign = |found: &str| StockFault::ForeignFile { found: found.to_owned() };
    let cannot = |error: std::io::Error| StockFault::CannotOpen { reason: error.to_string() };
    let kind = match std::fs::metadata(path) {
        Ok(metadata) => metadata.file_type(),
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(cannot(error)),
    };
    if kind.is_dir() {
        return Err(foreign("it is a folder"));
    }
    if !kind.is_file() {
        return Err(foreign("it is a pipe or a device, not a file"));
    }
    let mut file = File::open(path).map_err(cannot)?;
    let mut head = Vec::new();
    file.by_ref().take(100).read_to_end(&mut head).map_err(cannot)?;
    if head.is_empty() {
        return Err(foreign("it is empty"));
    }
    if head.len() < 100 || !head.starts_with(b"SQLite format 3\0") {
        return Err(foreign("it is not a database"));
    }
    let number = |at: usize| i64::from(i32::from_be_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]));
    if number(68) != APPLICATION_ID {
        return Err(foreign("it is a database of another program"));
    }
    let found = number(60);
    if found > SCHEMA_VERSION {
        return Err(StockFault::NewerSchema { found, known: SCHEMA_VERSION });
    }
    Ok(true)
}

/// Brings a database to the present version, all in one transaction.
pub(crate) fn migrate(connection: &mut Connection) -> Result<(), StockFault> {
    migrate_with(connection, MIGRATIONS)
}

fn migrate_with(connection: &mut Connection, steps: &[&str]) -> Result<(), StockFault> {
    if version(connection)? == steps.len() as i64 {
        return Ok(());
    }
    let transaction = connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
    // Asked again, now that nobody else can answer it differently.
    let found = version(&transaction)?;
    let known = steps.len() as i64;
    if found > known {
        return Err(StockFault::NewerSchema { found, known });
    }
    let done = usize::try_from(found).map_err(|_| StockFault::Damaged { what: format!("its version is {found}") })?;
    if done == 0 {
        check_empty(&transaction)?;
        transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    }
    for step in &steps[done..] {
        transaction.execute_batch(step)?;
    }
    if done > 0 {
        // The table of sheets follows from the events: whatever a step did to it, it is made anew.
        projection_table::rebuild(&transaction)?;
    }
    transaction.pragma_update(None, "user_version", known)?;
    transaction.commit()?;
    Ok(())
}

/// A database without our mark is taken over only when nothing is in it.
fn check_empty(transaction: &Transaction<'_>) -> Result<(), StockFault> {
    let tables: i64 = transaction.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if tables > 0 {
        return Err(StockFault::ForeignFile { found: "it is a database of another program".to_owned() });
    }
    Ok(())
}

fn version(connection: &Connection) -> Result<i64, StockFault> {
    Ok(connection.pragma_query_value(None, "user_version", |row| row.get(0))?)
}

/// Whether the log is of an older version than this library writes.
pub(crate) fn is_older(path: &Path) -> bool {
    let read = || {
        let mut head = [0; 64];
        File::open(path)?.read_exact(&mut head)?;
        std::io::Result::Ok(i64::from(i32::from_be_bytes([head[60], head[61], head[62], head[63]])))
    };
    read().is_ok_and(|found| found < SCHEMA_VERSION)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_later_step_is_added_to_a_log_in_use() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection).unwrap();
        migrate(&mut connection).unwrap();
        assert_eq!(version(&connection).unwrap(), SCHEMA_VERSION);
        let mut steps = MIGRATIONS.to_vec();
        steps.push("CREATE TABLE shelf (name TEXT) STRICT;");
        migrate_with(&mut connection, &steps).unwrap();
        assert_eq!(version(&connection).unwrap(), SCHEMA_VERSION + 1);
        connection.execute("INSERT INTO shelf VALUES ('B')", []).unwrap();
        // This library, which knows one step less, leaves it alone.
        let refused = migrate(&mut connection);
        assert!(matches!(refused, Err(StockFault::NewerSchema { known: SCHEMA_VERSION, .. })), "{refused:?}");
    }

    #[test]
    fn a_log_of_the_first_version_counts_hundredths() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate_with(&mut connection, &MIGRATIONS[..1]).unwrap();
        migrate(&mut connection).unwrap();
        assert_eq!(version(&connection).unwrap(), SCHEMA_VERSION);
        assert_eq!(crate::currency::read(&connection).unwrap(), crate::Currency::default());
    }

    #[test]
    fn a_step_that_fails_leaves_the_log_as_it_was() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection).unwrap();
        let mut steps = MIGRATIONS.to_vec();
        steps.push("CREATE TABLE shelf (name TEXT) STRICT; CREATE TABLE event (oops TEXT);");
        assert!(migrate_with(&mut connection, &steps).is_err());
        assert_eq!(version(&connection).unwrap(), SCHEMA_VERSION);
        assert!(connection.execute("INSERT INTO shelf VALUES ('B')", []).is_err());
    }

    #[test]
    fn events_can_neither_be_changed_nor_taken_out() {
        let mut connection = Connection::open_in_memory().unwrap();
        migrate(&mut connection).unwrap();
        connection.execute("INSERT INTO event VALUES (1, 0, 0, 'moved', '', '{}', NULL, 0)", []).unwrap();
        connection.execute("INSERT INTO event_sheet VALUES (1, 'X', 'moved')", []).unwrap();
        for attempt in [
            "UPDATE event SET time = 1",
            "DELETE FROM event",
            "UPDATE event_sheet SET tag = 'Y'",
            "DELETE FROM event_sheet",
        ] {
            assert!(connection.execute(attempt, []).is_err(), "{attempt}");
        }
    }
}
