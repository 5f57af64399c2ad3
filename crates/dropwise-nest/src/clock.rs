//! When a search has to end.

use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

/// Ends a search from elsewhere: from a handler of signals, another thread, a button.
///
/// Clones belong together. The search heeds it within a moment, also during the first layout, and returns the best plan
/// it has.
///
/// # Examples
/// ```
/// use dropwise_nest::{Settings, Stop};
/// let stop = Stop::default();
/// let settings = Settings { stop: stop.clone(), ..Settings::default() };
/// stop.set();
/// assert!(settings.stop.is_set());
/// ```
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<OnceLock<Instant>>);

impl Stop {
    /// Asks the search to end. Only the first time counts.
    pub fn set(&self) {
        self.0.get_or_init(Instant::now);
    }

    /// Whether it was asked to.
    #[must_use]
    pub fn is_set(&self) -> bool {
        self.0.get().is_some()
    }
}

/// Equal when both are set or neither is.
impl PartialEq for Stop {
    fn eq(&self, other: &Self) -> bool {
        self.is_set() == other.is_set()
    }
}

/// How much longer than the search itself the first layout may take: without it there is no plan at all.
const GRACE: Duration = Duration::from_millis(400);

/// The time by which a search has to end, and who may end it before. By default nobody ever does.
#[derive(Clone, Debug, Default)]
pub(crate) struct Clock {
    deadline: Option<Instant>,
    stop: Stop,
}

impl Clock {
    pub(crate) fn new(deadline: Option<Instant>, stop: Stop) -> Self {
        Self { deadline, stop }
    }

    /// Whether the search has to end. Asked often, so that no step of the search outlasts it by much; where nobody sets an
    /// end it is never over, and the search depends on nothing but its seed.
    #[inline]
    pub(crate) fn is_over(&self) -> bool {
        self.stop.is_set() || self.deadline.is_some_and(|deadline| Instant::now() >= deadline)
    }

    /// Whether even the first layout has to end.
    pub(crate) fn is_late(&self) -> bool {
        let ends = [self.deadline, self.stop.0.get().copied()];
        ends.into_iter().flatten().min().is_some_and(|end| Instant::now() >= end + GRACE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_ends_it_by_default() {
        let clock = Clock::default();
        assert!(!clock.is_over() && !clock.is_late());
    }

    #[test]
    fn a_deadline_or_a_stop_ends_it_and_the_first_layout_a_little_later() {
        let now = Instant::now();
        let passed = Clock::new(Some(now), Stop::default());
        assert!(passed.is_over());
        assert!(Clock::new(now.checked_sub(GRACE), Stop::default()).is_late());
        let stop = Stop::default();
        let clock = Clock::new(Some(now + Duration::from_secs(3600)), stop.clone());
        assert!(!clock.is_over());
        stop.set();
        assert!(clock.is_over());
    }
}
