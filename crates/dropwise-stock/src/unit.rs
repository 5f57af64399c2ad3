//! The unit of length that a log speaks.

use dropwise_geometry::Unit;
use rusqlite::Connection;

use crate::error::{StockError, StockFault};
use crate::{EventNumber, StockLog, projection_table};

impl StockLog {
    /// The unit that whoever began the log spoke in; `None` where nobody has said it. Nothing in the log is counted in it:
    /// all its lengths are millimetres.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn unit(&self) -> Result<Option<Unit>, StockError> {
        self.read(read)
    }

    /// Keeps the unit that is spoken, as long as nothing is written down and none is kept. Whether it is kept now.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn set_unit(&mut self, unit: Unit) -> Result<bool, StockError> {
        self.write(|writing| {
            let (last, _) = projection_table::latest(writing.transaction)?;
            if last != EventNumber(0) || read(writing.transaction)?.is_some() {
                return Ok(false);
            }
            put(writing.transaction, Some(unit))?;
            Ok(true)
        })
    }
}

pub(crate) fn read(connection: &Connection) -> Result<Option<Unit>, StockFault> {
    let name: String = connection.query_row("SELECT name FROM unit", [], |row| row.get(0))?;
    if name.is_empty() {
        return Ok(None);
    }
    name.parse().map(Some).map_err(|_| StockFault::Damaged { what: "its unit of length is none".to_owned() })
}

pub(crate) fn put(connection: &Connection, unit: Option<Unit>) -> Result<(), StockFault> {
    let name = unit.map_or_else(String::new, |unit| unit.to_string());
    connection.execute("UPDATE unit SET name = ?1", [name])?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::SystemClock;

    #[test]
    fn the_first_unit_is_kept() {
        let mut log = StockLog::in_memory(SystemClock).unwrap();
        assert_eq!(log.unit().unwrap(), None);
        assert!(log.set_unit(Unit::Inch).unwrap());
        assert!(!log.set_unit(Unit::Metre).unwrap());
        assert_eq!(log.unit().unwrap(), Some(Unit::Inch));
        let text = log.export_json().unwrap();
        let mut copy = StockLog::in_memory(SystemClock).unwrap();
        copy.import_json(&text).unwrap();
        assert_eq!((copy.unit().unwrap(), copy.export_json().unwrap()), (Some(Unit::Inch), text));
    }
}
