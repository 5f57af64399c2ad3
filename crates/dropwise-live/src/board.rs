//! What is to be seen now, and who waits for more.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use serde::Serialize;

use crate::shown::Shown;

/// What is to be seen now. Clones are the same board.
///
/// # Examples
/// ```
/// let board = dropwise_live::Board::default();
/// board.change(|shown| shown.title = "nail tray".to_owned());
/// assert_eq!(board.read(|shown| shown.title.clone()), "nail tray");
/// ```
#[derive(Clone, Debug, Default)]
pub struct Board(Arc<(Mutex<State>, Condvar)>);

#[derive(Debug, Default)]
struct State {
    shown: Shown,
    /// Counts the changes.
    revision: u64,
    has_ended: bool,
}

/// What a page is told.
#[derive(Serialize)]
struct Told<'a> {
    revision: u64,
    ended: bool,
    #[serde(flatten)]
    shown: &'a Shown,
}

impl Board {
    fn state(&self) -> MutexGuard<'_, State> {
        // A thread that panicked while it held the board left it whole: each change is one assignment after another.
        self.0.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Changes what is shown, and tells all who wait. A change that changes nothing is not told.
    pub fn change(&self, change: impl FnOnce(&mut Shown)) {
        let mut state = self.state();
        let before = state.shown.clone();
        change(&mut state.shown);
        if state.shown != before {
            state.revision += 1;
            self.0.1.notify_all();
        }
    }

    /// Reads what is shown.
    pub fn read<T>(&self, read: impl FnOnce(&Shown) -> T) -> T {
        read(&self.state().shown)
    }

    /// Tells all who wait that nothing more will come.
    pub fn end(&self) {
        self.state().has_ended = true;
        self.0.1.notify_all();
    }

    /// What is shown as JSON, once it is newer than `since` or `at_most` has passed.
    pub(crate) fn newer(&self, since: u64, at_most: Duration) -> String {
        let deadline = Instant::now() + at_most;
        let mut state = self.state();
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            if state.revision != since || state.has_ended || left.is_zero() {
                let told = Told { revision: state.revision, ended: state.has_ended, shown: &state.shown };
                return serde_json::to_string(&told).unwrap_or_else(|_| "{}".to_owned());
            }
            state = self.0.1.wait_timeout(state, left).unwrap_or_else(PoisonError::into_inner).0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_waits_is_told_of_the_next_change_and_of_the_end() {
        let board = Board::default();
        let waiter = |since| {
            let board = board.clone();
            std::thread::spawn(move || board.newer(since, Duration::from_secs(60)))
        };
        let first = waiter(0);
        board.change(|shown| shown.title = "<b>".to_owned());
        let told: serde_json::Value = serde_json::from_str(&first.join().unwrap()).unwrap();
        assert_eq!((told["revision"].as_u64(), told["title"].as_str()), (Some(1), Some("<b>")));
        let second = waiter(1);
        board.change(|shown| shown.title = "<b>".to_owned());
        board.end();
        let told: serde_json::Value = serde_json::from_str(&second.join().unwrap()).unwrap();
        assert_eq!((told["revision"].as_u64(), told["ended"].as_bool()), (Some(1), Some(true)));
    }

    #[test]
    fn nobody_waits_longer_than_asked() {
        let board = Board::default();
        assert!(board.newer(0, Duration::from_millis(5)).contains("\"revision\":0"));
    }
}
