//! Money as an exact number of the smallest coin.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};

/// An amount of money: an integer number of the smallest coin (cents, where the currency has them).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Money(i64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// So many of the smallest coin.
    #[must_use]
    pub const fn from_coins(coins: i64) -> Self {
        Self(coins)
    }

    /// The nearest whole number of coins, halves away from zero. Amounts out of range, and NaN, saturate as
    /// float-to-integer casts do.
    #[must_use]
    pub fn round(coins: f64) -> Self {
        Self(coins.round() as i64)
    }

    /// How many of the smallest coin.
    #[must_use]
    pub const fn coins(self) -> i64 {
        self.0
    }

    /// Splits this amount by weights so that the shares add up to it exactly.
    ///
    /// Each share is rounded down and the coins left over go to the largest remainders, ties to the lower index.
    /// Weights must be finite and not negative; when all are zero the whole amount goes to the first share. No weights,
    /// no shares.
    ///
    /// # Examples
    /// ```
    /// use dropwise_model::Money;
    /// let thirds = Money::from_coins(100).split(&[1.0, 1.0, 1.0]);
    /// assert_eq!(thirds.iter().map(|m| m.coins()).collect::<Vec<_>>(), [34, 33, 33]);
    /// ```
    ///
    /// # Source
    /// Largest remainder method (Hamilton's).
    #[must_use]
    pub fn split(self, weights: &[f64]) -> Vec<Self> {
        if weights.is_empty() {
            return Vec::new();
        }
        let total: f64 = weights.iter().sum();
        if total <= 0.0 {
            let mut shares = vec![Self::ZERO; weights.len()];
            shares[0] = self;
            return shares;
        }
        let exact: Vec<f64> = weights.iter().map(|w| self.0 as f64 * (w / total)).collect();
        let mut shares: Vec<i64> = exact.iter().map(|share| share.floor() as i64).collect();
        let mut missing = self.0 - shares.iter().sum::<i64>();
        let mut order: Vec<usize> = (0..weights.len()).collect();
        order.sort_by(|&a, &b| (exact[b] - exact[b].floor()).total_cmp(&(exact[a] - exact[a].floor())));
        // At most one coin a share is missing, but rounding of huge amounts may leave more: go round until none is.
        for &index in order.iter().cycle() {
            match missing {
                0 => break,
                1.. => {
                    shares[index] += 1;
                    missing -= 1;
                }
                _ => {
                    shares[index] -= 1;
                    missing += 1;
                }
            }
        }
        shares.into_iter().map(Self).collect()
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Money {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, Add::add)
    }
}
