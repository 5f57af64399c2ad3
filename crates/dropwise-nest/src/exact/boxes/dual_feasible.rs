//! Dual feasible functions: measures of length under which what fits still fits.
//!
//! A function f on [0, 1] is dual feasible if lengths that add up to at most one still do after it. Applied to widths and
//! another to heights, it turns boxes into others that have at most the sheet's area together if the first could be packed.
//!
//! # Source
//! Fekete and Schepers, "A general framework for bounds for higher-dimensional orthogonal packing problems", Math.
//! Methods of Operations Research 60 (2004): the three families and the product theorem.

/// Shares this close to a multiple of a step are taken as that: nests may overlap by a touch.
const SNAP: f64 = 1e-7;

/// One dual feasible function.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum DualFeasible {
    /// The length itself.
    Same,
    /// Rounds down to steps: `floor((k + 1) x) / k`, and `x` where that is a whole number of steps.
    Steps(u32),
    /// Lengths above one less the threshold fill all, below the threshold nothing.
    Threshold(f64),
    /// Lengths from the threshold to a half count as one of as many as fit, longer ones as what they leave of those.
    Count(f64),
}

impl DualFeasible {
    /// Its value at a share of the whole.
    pub(super) fn at(self, x: f64) -> f64 {
        match self {
            Self::Same => x,
            Self::Steps(k) => {
                let scaled = f64::from(k + 1) * x;
                if (scaled - scaled.round()).abs() < SNAP { x } else { scaled.floor() / f64::from(k) }
            }
            Self::Threshold(threshold) => {
                if x > 1.0 - threshold + SNAP {
                    1.0
                } else if x < threshold - SNAP {
                    0.0
                } else {
                    x
                }
            }
            Self::Count(threshold) => {
                let most = (1.0 / threshold + SNAP).floor();
                if x > 0.5 + SNAP {
                    1.0 - ((1.0 - x) / threshold + SNAP).floor() / most
                } else if x >= threshold - SNAP {
                    1.0 / most
                } else {
                    0.0
                }
            }
        }
    }
}

/// The functions tried on one axis, made from the shares that occur there.
pub(super) fn family(shares: &[f64]) -> Vec<DualFeasible> {
    let mut small: Vec<f64> = shares.iter().map(|&x| x.min(1.0 - x)).filter(|&x| x > 0.02 && x <= 0.5).collect();
    small.sort_by(f64::total_cmp);
    small.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let mut all = vec![DualFeasible::Same, DualFeasible::Steps(1), DualFeasible::Steps(2), DualFeasible::Steps(3)];
    let picked = |count: usize| -> Vec<f64> {
        let step = (small.len() as f64 / count as f64).max(1.0);
        (0..count).map(|i| (i as f64 * step) as usize).filter_map(|i| small.get(i).copied()).collect()
    };
    all.extend(picked(6).into_iter().map(DualFeasible::Threshold));
    all.extend(picked(6).into_iter().map(DualFeasible::Count));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_function() -> impl Strategy<Value = DualFeasible> {
        prop_oneof![
            Just(DualFeasible::Same),
            (1_u32..6).prop_map(DualFeasible::Steps),
            (0.02..=0.5).prop_map(DualFeasible::Threshold),
            (0.02..=0.5).prop_map(DualFeasible::Count),
        ]
    }

    proptest! {
        /// The definition itself.
        #[test]
        fn what_adds_up_to_one_still_does(function in any_function(), cuts in prop::collection::vec(0.01..1.0_f64, 1..12)) {
            let total: f64 = cuts.iter().sum();
            let sum: f64 = cuts.iter().map(|cut| function.at(cut / total)).sum();
            prop_assert!(sum <= 1.0 + 1e-5, "{function:?} gives {sum}");
        }

        /// Shares on a grid, where the steps of the functions lie.
        #[test]
        fn so_do_whole_steps(steps in prop::collection::vec(1_u32..12, 1..10), k in 1_u32..6, threshold in 1_u32..13) {
            let total: u32 = steps.iter().sum::<u32>().max(24);
            let threshold = (f64::from(threshold) / f64::from(total)).min(0.5);
            for function in [DualFeasible::Steps(k), DualFeasible::Threshold(threshold), DualFeasible::Count(threshold)] {
                let sum: f64 = steps.iter().map(|&s| function.at(f64::from(s) / f64::from(total))).sum();
                prop_assert!(sum <= 1.0 + 1e-5, "{function:?} gives {sum}");
            }
        }
    }
}
