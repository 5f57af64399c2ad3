//! Ctrl-C: once to stop with the best so far, twice to abort.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

/// How often the user has asked to stop.
#[derive(Clone, Debug, Default)]
pub struct Interrupts(Arc<AtomicU32>);

impl Interrupts {
    /// Counts one more request, and tells how many there were with it.
    pub fn add(&self) -> u32 {
        self.0.fetch_add(1, Ordering::SeqCst).saturating_add(1)
    }

    /// Whether the user wants the best so far.
    #[must_use]
    pub fn has_any(&self) -> bool {
        self.0.load(Ordering::SeqCst) > 0
    }

    /// Counts the interrupts of this process from now on, and ends it at the second.
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
        assert!(!interrupts.has_any());
        assert_eq!(interrupts.clone().add(), 1);
        assert!(interrupts.has_any());
        assert_eq!(interrupts.add(), 2);
    }
}
