//! Moments, and the clock that tells them.

use std::fmt;
use std::str::FromStr;
use std::time::{SystemTime, UNIX_EPOCH};

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use thiserror::Error;

/// Seconds in a day.
const DAY: i64 = 86_400;

/// A moment, to the second: seconds since the start of 1970 in universal time, leap seconds not counted.
///
/// Prints and reads as in RFC 3339: `2026-03-01T09:30:00Z`; a bare date is its midnight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Timestamp(i64);

/// A text that is no moment.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("`{}` is not a date; write it like 2026-03-01 or 2026-03-01T09:30:00Z", dropwise_geometry::shortened(typed))]
pub struct TimestampError {
    /// What was typed.
    pub typed: String,
}

/// A month of a year. Prints as `2026-03`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Month {
    /// The year.
    pub year: i32,
    /// The month, 1 to 12.
    pub month: u32,
}

impl Timestamp {
    /// The first moment that can be written down: the start of the year 0000.
    pub const EARLIEST: Self = Self(-62_167_219_200);

    /// The last one: the end of the year 9999.
    pub const LATEST: Self = Self(253_402_300_799);

    /// So many seconds after the start of 1970, held within the years 0000 to 9999.
    #[must_use]
    pub fn from_seconds(seconds: i64) -> Self {
        Self(seconds.clamp(Self::EARLIEST.0, Self::LATEST.0))
    }

    /// Seconds since the start of 1970.
    #[must_use]
    pub const fn seconds(self) -> i64 {
        self.0
    }

    /// Whole days from this moment to a later one; zero when the other is earlier, as when a clock was set back.
    #[must_use]
    pub const fn days_until(self, later: Self) -> i64 {
        let days = (later.0 - self.0) / DAY;
        if days > 0 { days } else { 0 }
    }

    /// The month it lies in, in universal time.
    #[must_use]
    pub fn month(self) -> Month {
        let (year, month, _) = civil_from_days(self.0.div_euclid(DAY));
        Month { year, month }
    }
}

impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = civil_from_days(self.0.div_euclid(DAY));
        let second = self.0.rem_euclid(DAY);
        let (hour, minute) = (second / 3600, second / 60 % 60);
        write!(f, "{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{:02}Z", second % 60)
    }
}

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}", self.year, self.month)
    }
}

impl FromStr for Timestamp {
    type Err = TimestampError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let error = || TimestampError { typed: text.trim().to_owned() };
        let (date, time) = match text.trim().split_once('T') {
            Some((date, time)) => (date, time.strip_suffix('Z').ok_or_else(error)?),
            None => (text.trim(), "00:00:00"),
        };
        let [year, month, day] = numbers(date, '-', [4, 2, 2]).ok_or_else(error)?;
        let [hour, minute, second] = numbers(time, ':', [2, 2, 2]).ok_or_else(error)?;
        let days = days_from_civil(year, month, day);
        let is_date = civil_from_days(days) == (year as i32, month as u32, day as u32);
        if !is_date || hour > 23 || minute > 59 || second > 59 {
            return Err(error());
        }
        Ok(Self(days * DAY + hour * 3600 + minute * 60 + second))
    }
}

impl Serialize for Timestamp {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Timestamp {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// Three numbers of fixed width between separators.
fn numbers(text: &str, separator: char, widths: [usize; 3]) -> Option<[i64; 3]> {
    let mut found = [0; 3];
    let mut words = text.split(separator);
    for (number, width) in found.iter_mut().zip(widths) {
        let word = words.next()?;
        if word.len() != width || !word.bytes().all(|byte| byte.is_ascii_digit()) {
            return None;
        }
        *number = word.parse().ok()?;
    }
    words.next().is_none().then_some(found)
}

/// Days since the start of 1970 of a date in the Gregorian calendar. Months and days out of range count on.
///
/// # Source
/// H. Hinnant, chrono-compatible low-level date algorithms (2013), from memory: years start in March, so that the leap
/// day is the last.
fn days_from_civil(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let year_of_era = year.rem_euclid(400);
    let day_of_year = (153 * (month + if month > 2 { -3 } else { 9 }) + 2) / 5 + day - 1;
    era * 146_097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - 719_468
}

/// Year, month and day of a day counted from the start of 1970; the inverse of [`days_from_civil`].
fn civil_from_days(days: i64) -> (i32, u32, u32) {
    let days = days + 719_468;
    let era = days.div_euclid(146_097);
    let day_of_era = days.rem_euclid(146_097);
    let year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * shifted + 2) / 5 + 1;
    let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    (year as i32, month as u32, day as u32)
}

/// Tells the time. Tests bring a clock of their own.
pub trait Clock: Send {
    /// What time it is.
    fn now(&self) -> Timestamp;
}

/// The clock of the machine.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Timestamp {
        // A machine whose clock stands before 1970 has lost its battery; the log notes that its clock is behind.
        let since = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
        Timestamp::from_seconds(i64::try_from(since).unwrap_or(i64::MAX))
    }
}

impl<F: Fn() -> Timestamp + Send> Clock for F {
    fn now(&self) -> Timestamp {
        self()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SQLite's own date functions are the referee.
    #[test]
    fn dates_agree_with_sqlite() {
        let database = rusqlite::Connection::open_in_memory().unwrap();
        let mut statement = database.prepare("SELECT strftime('%Y-%m-%dT%H:%M:%SZ', ?1, 'unixepoch')").unwrap();
        let steps = (0..4000).map(|step| Timestamp::EARLIEST.seconds() + step * 78_892_343);
        for seconds in steps.chain([0, -1, 951_782_400, 951_868_799, Timestamp::LATEST.seconds()]) {
            let time = Timestamp::from_seconds(seconds);
            let expected: String = statement.query_row([time.seconds()], |row| row.get(0)).unwrap();
            assert_eq!(time.to_string(), expected);
            assert_eq!(expected.parse(), Ok(time));
            assert_eq!(time.month().to_string(), expected[..7]);
        }
    }

    #[test]
    fn only_dates_that_exist_are_read() {
        assert_eq!("2026-03-01".parse(), Ok(Timestamp::from_seconds(1_772_323_200)));
        for wrong in [
            "",
            "2026-3-1",
            "2026-02-29",
            "2026-13-01",
            "2026-00-10",
            "2026-01-32",
            "2026-01-01T24:00:00Z",
            "2026-01-01T00:00:00",
            "2026-01-01T00:00Z",
            "2026-01-01-01",
            "+026-01-01",
            "year",
        ] {
            assert_eq!(wrong.parse::<Timestamp>(), Err(TimestampError { typed: wrong.to_owned() }));
        }
        assert!("2024-02-29".parse::<Timestamp>().is_ok());
    }

    #[test]
    fn no_time_passes_backwards() {
        let (early, late) = (Timestamp::from_seconds(0), Timestamp::from_seconds(3 * DAY + 5));
        assert_eq!((early.days_until(late), late.days_until(early)), (3, 0));
    }
}
