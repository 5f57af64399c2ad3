//! Whether the log is what it should be.

use std::collections::BTreeMap;

use dropwise_model::Money;
use thiserror::Error;

use crate::error::{StockError, StockFault};
use crate::{EventNumber, Origin, StockLog, StockSheet, Tag, projection_table};

/// Something that is not as it should be.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Finding {
    /// The database found a fault in the file.
    #[error("the database says: {0}")]
    Database(String),
    /// A row refers to one that is not there.
    #[error("the table {table} refers to a row that is missing")]
    Reference {
        /// The table.
        table: String,
    },
    /// The events do not follow on each other.
    #[error("{0}")]
    Events(String),
    /// A sheet is not what its events make of it.
    #[error("{tag} is not what its events make of it")]
    Sheet {
        /// Which.
        tag: Tag,
    },
    /// A row of the table of sheets has no tag that could be read.
    #[error("a row of the table of sheets cannot be read")]
    Row,
    /// The index of which event speaks of which sheet is wrong.
    #[error("the index of sheets is wrong for event {event}")]
    Index {
        /// The event.
        event: EventNumber,
    },
    /// The pieces of a purchase do not carry what was paid.
    #[error("the pieces of {purchase} carry {carried} coins, {paid} were paid")]
    Money {
        /// The purchase.
        purchase: Tag,
        /// What was paid.
        paid: i64,
        /// What its pieces carry together.
        carried: i64,
    },
}

impl StockLog {
    /// Checks the whole log: the file as the database sees it, the sheets against a replay of all events, the index, and
    /// that the pieces of each purchase carry what was paid. Empty when all is well.
    ///
    /// # Errors
    /// Only when the file cannot be read at all.
    pub fn check_integrity(&self) -> Result<Vec<Finding>, StockError> {
        self.read(|connection| {
            let mut findings = Vec::new();
            let mut statement = connection.prepare("PRAGMA integrity_check")?;
            let lines = statement.query_map([], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
            findings.extend(lines.into_iter().filter(|line| line != "ok").map(Finding::Database));
            let mut statement = connection.prepare("PRAGMA foreign_key_check")?;
            let tables = statement.query_map([], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
            findings.extend(tables.into_iter().map(|table| Finding::Reference { table }));
            if !findings.is_empty() {
                // What is read from a broken file says nothing.
                return Ok(findings);
            }
            let expected = match projection_table::replayed(connection) {
                Ok(sheets) => sheets,
                Err(fault @ (StockFault::Impossible { .. } | StockFault::Damaged { .. })) => {
                    return Ok(vec![Finding::Events(fault.to_string())]);
                }
                Err(fault) => return Err(fault),
            };
            let (found, unreadable) = projection_table::sheets_as_they_are(connection)?;
            let tags = unreadable.iter().filter_map(|tag| tag.parse().ok()).collect::<Vec<Tag>>();
            if tags.len() < unreadable.len() {
                findings.push(Finding::Row);
            }
            findings.extend(differences(&expected, found));
            findings.extend(index_faults(connection)?);
            findings.extend(imbalances(expected.values()));
            Ok(findings)
        })
    }

    /// Makes anew from the events all that follows from them, the table of sheets and the indexes: for a log in which
    /// [`StockLog::check_integrity`] finds that they are not what the events make of them. No event is changed.
    ///
    /// # Errors
    /// [`StockFault::Impossible`] when the events do not follow on each other; nothing is changed then.
    pub fn rebuild(&mut self) -> Result<(), StockError> {
        self.write(|writing| {
            writing.transaction.execute_batch("REINDEX")?;
            projection_table::rebuild(writing.transaction)
        })
    }
}

impl Finding {
    /// Whether only tables that follow from the events are touched: [`StockLog::rebuild`] makes these anew.
    #[must_use]
    pub fn is_of_tables(&self) -> bool {
        match self {
            Self::Sheet { .. } | Self::Index { .. } | Self::Row => true,
            // As where an index of the database misses a row.
            Self::Database(said) => {
                said.contains(" missing from index ") || said.starts_with("wrong # of entries in index")
            }
            Self::Reference { table } => table != "event",
            Self::Events(_) | Self::Money { .. } => false,
        }
    }
}

fn differences(expected: &BTreeMap<Tag, StockSheet>, found: Vec<StockSheet>) -> Vec<Finding> {
    let mut found: BTreeMap<Tag, StockSheet> = found.into_iter().map(|sheet| (sheet.tag, sheet)).collect();
    let mut wrong: Vec<Tag> = Vec::new();
    for (tag, sheet) in expected {
        if found.remove(tag).as_ref() != Some(sheet) {
            wrong.push(*tag);
        }
    }
    wrong.extend(found.into_keys());
    wrong.into_iter().map(|tag| Finding::Sheet { tag }).collect()
}

fn index_faults(connection: &rusqlite::Connection) -> Result<Vec<Finding>, StockFault> {
    let events = projection_table::events_after(connection, EventNumber(0))?;
    let mut tags_of: BTreeMap<EventNumber, Vec<Tag>> = BTreeMap::new();
    let mut findings = Vec::new();
    for event in &events {
        let mut tags: Vec<Tag> = match event.change {
            crate::Change::Undone { event } => tags_of.get(&event).cloned().unwrap_or_default(),
            _ => event.change.roles().into_iter().map(|(tag, _)| tag).collect(),
        };
        tags.sort_unstable();
        if tags != projection_table::tags_of(connection, event.number)? {
            findings.push(Finding::Index { event: event.number });
        }
        tags_of.insert(event.number, tags);
    }
    Ok(findings)
}

/// Purchases whose pieces do not carry what was paid.
fn imbalances<'a>(sheets: impl Iterator<Item = &'a StockSheet>) -> Vec<Finding> {
    let mut sums: BTreeMap<Tag, (Money, Money)> = BTreeMap::new();
    for sheet in sheets {
        let (paid, carried) = sums.entry(sheet.purchase).or_default();
        *carried += sheet.cost;
        if let Origin::Bought { paid: price } = sheet.origin {
            *paid += price;
        }
    }
    let wrong = sums.into_iter().filter(|(_, (paid, carried))| paid != carried);
    wrong
        .map(|(purchase, (paid, carried))| Finding::Money { purchase, paid: paid.coins(), carried: carried.coins() })
        .collect()
}
