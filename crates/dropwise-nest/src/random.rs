//! The one source of chance.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A generator of a named algorithm (PCG XSL 128/64 MCG), so that a seed means the same in every version and on every
/// machine. Each chain of a search has its own, derived from the run's seed and the chain's index.
#[derive(Clone, Debug)]
pub(crate) struct SearchRng(Pcg64Mcg);

impl SearchRng {
    /// The generator of stream `stream` under `seed`.
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        // SplitMix64 finaliser: neighbouring seeds and streams must not start alike.
        let mut z = seed.wrapping_add(stream.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        Self(Pcg64Mcg::seed_from_u64(z ^ (z >> 31)))
    }

    /// Uniform in [0, 1).
    #[inline]
    pub(crate) fn unit(&mut self) -> f64 {
        self.0.random::<f64>()
    }

    /// Uniform in [low, high); `low` if the range is empty.
    #[inline]
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low).max(0.0) * self.unit()
    }

    /// Uniform among `0..count`; `count` must be positive.
    #[inline]
    pub(crate) fn index(&mut self, count: usize) -> usize {
        self.0.random_range(0..count)
    }

    /// Whether a chance of this probability came true.
    #[inline]
    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// Standard normal, by Box and Muller.
    #[inline]
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Puts items in random order.
    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.index(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_are_pinned_and_differ() {
        let first = |stream| {
            let mut rng = SearchRng::new(1, stream);
            [rng.index(1000), rng.index(1000), rng.index(1000)]
        };
        assert_ne!(first(0), first(1));
        assert_eq!(first(0), first(0));
    }

    #[test]
    fn shuffling_keeps_every_item() {
        let mut items: Vec<usize> = (0..50).collect();
        SearchRng::new(3, 0).shuffle(&mut items);
        assert_ne!(items, (0..50).collect::<Vec<_>>());
        items.sort_unstable();
        assert_eq!(items, (0..50).collect::<Vec<_>>());
    }
}
