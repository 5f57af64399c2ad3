//! What the amounts in a log are counted in.

use dropwise_shop::Coinage;
use rusqlite::Connection;

use crate::error::{StockError, StockFault};
use crate::log::check_text;
use crate::{EventNumber, StockLog, projection_table};

/// What the amounts in a log are counted in. Without it whole coins mean nothing: 950 are 9.50 or 950.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Currency {
    /// What stands beside amounts, such as `USD`; empty where nobody has said it.
    pub name: String,
    /// How many coins make one of it.
    pub coinage: Coinage,
}

impl Currency {
    /// Whether amounts of the two can be told to differ in kind. A name that was not given differs from none; letters count
    /// the same in both cases.
    #[must_use]
    pub fn agrees_with(&self, other: &Self) -> bool {
        let is_same = self.name.trim().to_lowercase() == other.name.trim().to_lowercase();
        self.coinage == other.coinage && (is_same || self.name.trim().is_empty() || other.name.trim().is_empty())
    }
}

impl std::fmt::Display for Currency {
    /// As in `EUR with 2 decimals`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let name = if self.name.is_empty() { "amounts" } else { &self.name };
        match self.coinage.decimals() {
            1 => write!(f, "{name} with 1 decimal"),
            decimals => write!(f, "{name} with {decimals} decimals"),
        }
    }
}

impl StockLog {
    /// What the amounts in the log are counted in.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn currency(&self) -> Result<Currency, StockError> {
        self.read(read)
    }

    /// Says what the amounts are counted in: anything as long as nothing is written down; afterwards only a name where none
    /// was given.
    ///
    /// # Errors
    /// [`StockFault::OtherCurrency`] when the log counts in another.
    pub fn set_currency(&mut self, currency: &Currency) -> Result<(), StockError> {
        self.write(|writing| {
            let kept = read(writing.transaction)?;
            let (last, _) = projection_table::latest(writing.transaction)?;
            if last != EventNumber(0) && !kept.agrees_with(currency) {
                return Err(StockFault::OtherCurrency { kept, given: currency.clone() });
            }
            let is_named = last != EventNumber(0) && !kept.name.is_empty();
            if is_named || kept == *currency { Ok(()) } else { put(writing.transaction, currency) }
        })
    }
}

pub(crate) fn read(connection: &Connection) -> Result<Currency, StockFault> {
    let query = "SELECT name, decimals FROM currency";
    let (name, decimals): (String, u8) = connection.query_row(query, [], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let coinage = Coinage::new(decimals).map_err(|error| StockFault::Damaged { what: error.to_string() })?;
    Ok(Currency { name, coinage })
}

pub(crate) fn put(connection: &Connection, currency: &Currency) -> Result<(), StockFault> {
    check_text("the currency", &currency.name)?;
    let set = "UPDATE currency SET name = ?1, decimals = ?2";
    connection.execute(set, rusqlite::params![currency.name, currency.coinage.decimals()])?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::Money;
    use dropwise_shop::{Material, Thickness};

    use super::*;
    use crate::{Details, NewSheet, SystemClock};

    fn currency(name: &str, decimals: u8) -> Currency {
        Currency { name: name.to_owned(), coinage: Coinage::new(decimals).unwrap() }
    }

    fn drop_of_steel() -> NewSheet {
        let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 780.0, 520.0), Vec::new());
        let details = Details::new(shape, Material::MildSteel, Thickness::new(3.04).unwrap());
        NewSheet { tag: None, details, paid: Money::from_coins(950), since: None }
    }

    #[test]
    fn it_is_fixed_once_something_was_written_down() {
        let mut log = StockLog::in_memory(SystemClock).unwrap();
        assert_eq!(log.currency().unwrap(), currency("", 2));
        log.set_currency(&currency("JPY", 2)).unwrap();
        log.set_currency(&currency("", 0)).unwrap();
        log.buy(vec![drop_of_steel()], "").unwrap();
        let refused = log.set_currency(&currency("", 2)).unwrap_err();
        assert!(matches!(*refused.fault, StockFault::OtherCurrency { .. }), "{refused}");
        // A name may still be given, once.
        log.set_currency(&currency("JPY", 0)).unwrap();
        log.set_currency(&currency("", 0)).unwrap();
        assert_eq!(log.currency().unwrap(), currency("JPY", 0));
        assert!(log.set_currency(&currency("EUR", 0)).is_err());
        // Nor past the library.
        assert!(log.connection.execute("UPDATE currency SET decimals = 2", []).is_err());
        assert!(log.connection.execute("DELETE FROM currency", []).is_err());
    }

    #[test]
    fn it_goes_along_into_a_copy() {
        let mut log = StockLog::in_memory(SystemClock).unwrap();
        log.set_currency(&currency("JPY", 0)).unwrap();
        log.buy(vec![drop_of_steel()], "").unwrap();
        let text = log.export_json().unwrap();
        let mut copy = StockLog::in_memory(SystemClock).unwrap();
        copy.import_json(&text).unwrap();
        assert_eq!(copy.currency().unwrap(), currency("JPY", 0));
        assert_eq!(copy.export_json().unwrap(), text);
        // A document of the first version says nothing of it, and counted hundredths.
        let mut old: serde_json::Value = serde_json::from_str(&text).unwrap();
        old["version"] = 1.into();
        old.as_object_mut().unwrap().remove("currency");
        let mut copy = StockLog::in_memory(SystemClock).unwrap();
        copy.import_json(&old.to_string()).unwrap();
        assert_eq!(copy.currency().unwrap(), currency("", 2));
    }
}
