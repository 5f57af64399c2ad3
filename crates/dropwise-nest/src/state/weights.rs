//! How conflicts learn to weigh more.

/// After each sweep the weight of a pair that still overlaps grows, the more the deeper it overlaps compared with the
/// deepest; the others decay towards one. This is what carries the search out of traps (guided local search).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct WeightRule {
    /// Factor for the shallowest conflict. Smaller: traps last longer.
    pub(crate) least_growth: f32,
    /// Factor for the deepest conflict. Larger: the search forgets where it came from.
    pub(crate) most_growth: f32,
    /// Factor for what is not in conflict. Nearer one: old quarrels linger and block good places.
    pub(crate) decay: f32,
}

impl Default for WeightRule {
    fn default() -> Self {
        Self { least_growth: 1.1, most_growth: 1.5, decay: 0.95 }
    }
}

/// No weight grows beyond this: single precision must still tell a sum from its largest term.
const MOST_WEIGHT: f32 = 1e6;

impl WeightRule {
    /// The next weight of a pair whose loss is this share of the largest loss.
    #[inline]
    pub(crate) fn updated(self, weight: f32, share: f32) -> f32 {
        if share > 0.0 {
            (weight * (self.least_growth + (self.most_growth - self.least_growth) * share)).min(MOST_WEIGHT)
        } else {
            (weight * self.decay).max(1.0)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conflicts_grow_and_peace_decays_to_one() {
        let rule = WeightRule::default();
        assert_eq!(rule.updated(1.0, 1.0), 1.5);
        assert!((rule.updated(1.0, 0.5) - 1.3).abs() < 1e-6);
        assert_eq!(rule.updated(1.0, 0.0), 1.0);
        assert!((rule.updated(2.0, 0.0) - 1.9).abs() < 1e-6);
        assert_eq!(rule.updated(MOST_WEIGHT, 1.0), MOST_WEIGHT);
    }
}
