//! Layouts that could not be brought clear of overlap: what the annealing goes on from.

use crate::anneal::annealer::{Schedule, heat_bath};
use crate::random::SearchRng;
use crate::state::working::Arrangement;

/// Layouts of one set of sheets, or of one length of strip, that could not be brought clear of overlap, least first.
///
/// They are the states of the annealing. They cost the same but for what overlaps, which is their energy, mm².
#[derive(Clone, Debug)]
pub(crate) struct FailedLayouts {
    states: Vec<(f64, Arrangement)>,
    most: usize,
}

/// A layout that was drawn to go on from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Drawn<'a> {
    pub(crate) layout: &'a Arrangement,
    /// What overlaps in it, mm².
    pub(crate) loss: f64,
    /// The temperature at which it was drawn, mm².
    pub(crate) temperature: f64,
}

impl FailedLayouts {
    /// At most so many are remembered.
    pub(crate) fn new(most: usize) -> Self {
        Self { states: Vec::new(), most }
    }

    pub(crate) fn clear(&mut self) {
        self.states.clear();
    }

    pub(crate) fn add(&mut self, loss: f64, failed: Arrangement) {
        let position = self.states.partition_point(|&(l, _)| l <= loss);
        self.states.insert(position, (loss, failed));
        self.states.truncate(self.most);
    }

    pub(crate) fn forget_worst(&mut self) {
        self.states.pop();
    }

    /// One of them by the heat bath rule; `None` if there are none.
    pub(crate) fn draw(&self, schedule: Schedule, progress: f64, rng: &mut SearchRng) -> Option<Drawn<'_>> {
        let energies: Vec<f64> = self.states.iter().map(|&(loss, _)| loss).collect();
        let temperature = schedule.temperature(&energies, progress);
        let (loss, layout) = &self.states[heat_bath(&energies, temperature, rng)?];
        Some(Drawn { layout, loss: *loss, temperature })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Annealing;

    #[test]
    fn the_worst_is_forgotten_and_worse_ones_are_drawn_while_it_is_warm() {
        let mut failed = FailedLayouts::new(2);
        let (warm, cold) = (Schedule::of(Annealing::Falling), Schedule::of(Annealing::Off));
        assert_eq!(failed.draw(warm, 0.0, &mut SearchRng::new(1, 0)), None);
        let layout = |place: usize| Arrangement { bins: vec![(place, None)], places: Vec::new() };
        for (loss, place) in [(5.0, 5), (3.0, 3), (4.0, 4)] {
            failed.add(loss, layout(place));
        }
        let mut rng = SearchRng::new(1, 0);
        assert_eq!(failed.draw(cold, 0.0, &mut rng).map(|drawn| drawn.layout), Some(&layout(3)));
        let drawn: Vec<f64> =
            (0..200).filter_map(|_| failed.draw(warm, 0.5, &mut rng)).map(|drawn| drawn.loss).collect();
        assert!(drawn.contains(&3.0) && drawn.contains(&4.0) && !drawn.contains(&5.0), "{drawn:?}");
    }
}
