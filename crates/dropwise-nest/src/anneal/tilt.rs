//! Whether tries give parts that may turn freely quarter turns only.

use crate::random::SearchRng;

/// How fast what happened long ago is forgotten: so much of it still counts after each further try.
const MEMORY: f64 = 0.95;
/// The way that has led less far is still gone at least this often.
const LEAST_SHARE: f64 = 0.1;

/// Which of two ways of laying a set of sheets out is tried next: parts at quarter turns, or at any angle. Quarter turns leave
/// fewer places to look at, each of which costs less, and most sheet-metal parts have square corners; but some jobs only
/// fit askew. So both are tried, each the oftener the more of its tries came near enough to go on.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tilt {
    square: Record,
    askew: Record,
}

/// How tries of one way went, lately.
#[derive(Clone, Copy, Debug, Default)]
struct Record {
    tried: f64,
    went_on: f64,
}

impl Record {
    /// Share that went on; a half while nothing is known.
    fn share(self) -> f64 {
        (self.went_on + 1.0) / (self.tried + 2.0)
    }
}

impl Tilt {
    /// Whether the next try keeps to quarter turns.
    pub(crate) fn draw(&self, rng: &mut SearchRng) -> bool {
        rng.chance(self.share().clamp(LEAST_SHARE, 1.0 - LEAST_SHARE))
    }

    /// The share of tries at quarter turns. By the squares of what went on: few of those that do fit in the end, and what
    /// goes on oftener does so the more.
    fn share(&self) -> f64 {
        let [square, askew] = [self.square, self.askew].map(|record| record.share().powi(2));
        square / (square + askew)
    }

    /// Learns whether a try came near enough to go on.
    pub(crate) fn note(&mut self, is_square: bool, went_on: bool) {
        let record = if is_square { &mut self.square } else { &mut self.askew };
        record.tried = MEMORY * record.tried + 1.0;
        record.went_on = MEMORY * record.went_on + f64::from(went_on);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_that_leads_farther_is_gone_oftener() {
        let mut tilt = Tilt::default();
        assert_eq!(tilt.share(), 0.5);
        for place in 0..20 {
            tilt.note(true, place % 2 == 0);
            tilt.note(false, place % 10 == 0);
        }
        assert!(tilt.share() > 0.7, "{tilt:?}");
        // It turns as the search gets to sets of another kind.
        for place in 0..40 {
            tilt.note(true, false);
            tilt.note(false, place % 2 == 0);
        }
        assert!(tilt.share() < 0.2, "{tilt:?}");
    }

    #[test]
    fn neither_way_is_ever_given_up() {
        let mut tilt = Tilt::default();
        for _ in 0..1000 {
            tilt.note(true, true);
            tilt.note(false, false);
        }
        let mut rng = SearchRng::new(1, 0);
        let askew = (0..1000).filter(|_| !tilt.draw(&mut rng)).count();
        assert!((50..=150).contains(&askew), "{askew} of 1000");
    }
}
