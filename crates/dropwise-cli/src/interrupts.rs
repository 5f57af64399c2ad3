//! Ctrl-C, and what else asks a process to end: once to stop with the best so far, twice to abort.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use dropwise_nest::Stop;

/// How often the user has asked to stop.
#[derive(Clone, Debug, Default)]
pub struct Interrupts {
    count: Arc<AtomicU32>,
    stop: Stop,
}

impl Interrupts {
    /// Counts one more request, and tells how many there were with it.
    pub fn add(&self) -> u32 {
        self.stop.set();
        self.count.fetch_add(1, Ordering::SeqCst).saturating_add(1)
    }

    /// Whether the user wants the best so far.
    #[must_use]
    pub fn has_any(&self) -> bool {
        self.count.load(Ordering::SeqCst) > 0
    }

    /// What ends a search at the first of them.
    #[must_use]
    pub fn stop(&self) -> Stop {
        self.stop.clone()
    }

    /// Counts the interrupts of this process from now on (Ctrl-C; on Unix also the signals to terminate and to hang up),
    /// and ends it at the second.
    ///
    /// # Errors
    /// When the system or an earlier call does not allow it; interrupts then end the process at once, as usual.
    pub(crate) fn listen(&self) -> Result<(), ctrlc::Error> {
        let count = self.clone();
        ctrlc::set_handler(move || {
            if count.add() > 1 {
                std::process::exit(i32::from(crate::Exit::Interrupted.code()));
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clones_count_together() {
        let interrupts = Interrupts::default();
        assert!(!interrupts.has_any() && !interrupts.stop().is_set());
        assert_eq!(interrupts.clone().add(), 1);
        assert!(interrupts.has_any() && interrupts.stop().is_set());
        assert_eq!(interrupts.add(), 2);
    }
}
