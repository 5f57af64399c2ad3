//! Simulated annealing: which of the layouts that were not brought clear of overlap is gone on from.

use crate::random::SearchRng;
use crate::settings::Annealing;

/// How warm the search is: the temperature over the spread of the energies at hand, falling geometrically over the search.
///
/// Temperatures are taken from the spread of energies, as in White, "Concepts of scale in simulated annealing", 1984 (from
/// memory): then jobs of all sizes and prices are equally warm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Schedule {
    /// At the start. Warmer: layouts far from success are worked on for long.
    first: f64,
    /// At the end. Colder: the best is worked on again and again.
    last: f64,
}

impl Schedule {
    /// The one for a kind of annealing.
    pub(crate) fn of(kind: Annealing) -> Self {
        match kind {
            Annealing::Falling => Self { first: 1.5, last: 0.4 },
            Annealing::Constant => Self { first: 0.8, last: 0.8 },
            Annealing::Off => Self { first: 0.0, last: 0.0 },
        }
    }

    /// The share of the spread when this share of the search, 0 to 1, is done.
    pub(crate) fn at(self, progress: f64) -> f64 {
        if self.first == 0.0 { 0.0 } else { self.first * (self.last / self.first).powf(progress.clamp(0.0, 1.0)) }
    }

    /// The temperature for states of these energies, in their unit, when this share of the search is done.
    pub(crate) fn temperature(self, energies: &[f64], progress: f64) -> f64 {
        let count = energies.len().max(1) as f64;
        let mean = energies.iter().sum::<f64>() / count;
        let variance = energies.iter().map(|energy| (energy - mean).powi(2)).sum::<f64>() / count;
        self.at(progress) * variance.sqrt()
    }
}

/// Draws a state by Boltzmann's distribution: each with a chance in proportion to exp(-energy / temperature), at temperature
/// zero the one of least energy, the first of them. `None` of no states.
///
/// This is the heat bath rule of acceptance (Geman and Geman, "Stochastic relaxation, Gibbs distributions, and the Bayesian
/// restoration of images", IEEE Trans. Pattern Anal. Mach. Intell. 6 (1984), from memory): Metropolis's, which knows one state
/// at hand and one new one, gives the same distribution in the end, and takes longer to where states are dear to come by.
pub(crate) fn heat_bath(energies: &[f64], temperature: f64, rng: &mut SearchRng) -> Option<usize> {
    let (least, &energy) = energies.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1))?;
    if temperature <= 0.0 {
        return Some(least);
    }
    let weight = |of: f64| (-(of - energy) / temperature).exp();
    let mut left = rng.unit() * energies.iter().map(|&of| weight(of)).sum::<f64>();
    let drawn = energies.iter().position(|&of| {
        left -= weight(of);
        left < 0.0
    });
    Some(drawn.unwrap_or(least))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_are_drawn_as_boltzmann_says() {
        let (energies, temperature) = ([5.0, 3.0, 4.0, 9.0], 1.5);
        let mut rng = SearchRng::new(1, 0);
        let mut drawn = [0_u32; 4];
        for _ in 0..40_000 {
            drawn[heat_bath(&energies, temperature, &mut rng).expect("there are four")] += 1;
        }
        let weights = energies.map(|energy| (-energy / temperature).exp());
        for (count, weight) in drawn.into_iter().zip(weights) {
            let (share, expected) = (f64::from(count) / 40_000.0, weight / weights.iter().sum::<f64>());
            // Five standard errors at most.
            assert!((share - expected).abs() < 5.0 * (0.25_f64 / 40_000.0).sqrt(), "{share} instead of {expected}");
        }
    }

    #[test]
    fn at_temperature_zero_the_least_is_drawn() {
        let mut rng = SearchRng::new(1, 0);
        assert!((0..100).all(|_| heat_bath(&[2.0, 1.0, 1.0, 3.0], 0.0, &mut rng) == Some(1)));
        assert_eq!(heat_bath(&[], 1.0, &mut rng), None);
        assert_eq!(Schedule::of(Annealing::Off).temperature(&[1.0, 5.0], 0.3), 0.0);
    }

    #[test]
    fn the_temperature_falls_and_follows_the_spread() {
        let schedule = Schedule { first: 0.4, last: 0.1 };
        assert_eq!(schedule.at(0.0), 0.4);
        assert!((schedule.at(0.5) - 0.2).abs() < 1e-12);
        assert!((schedule.at(2.0) - 0.1).abs() < 1e-12);
        assert!((schedule.temperature(&[10.0, 20.0], 0.5) - 1.0).abs() < 1e-12);
        assert!((schedule.temperature(&[1000.0, 2000.0], 0.5) - 100.0).abs() < 1e-9);
        assert_eq!(schedule.temperature(&[7.0], 0.0), 0.0);
    }
}
