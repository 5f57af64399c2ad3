//! What an order costs beside its sheets.

use dropwise_model::Money;

use crate::{Market, Seller};

/// What one seller asks for beside the metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fee {
    /// Index of the seller.
    pub seller: usize,
    /// Sheets and cut charges of the order.
    pub goods: Money,
    /// What the order is topped up by to reach the seller's minimum.
    pub top_up: Money,
    /// Delivery.
    pub delivery: Money,
}

/// What a choice costs. All fields but `total` and `goods` add up to `total`; `goods` is part of `metal` and `charges`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bill {
    /// Sheets bought, by their prices.
    pub goods: Money,
    /// Sheets taken from the rack, by what they are held to be worth.
    pub rack: Money,
    /// All sheets, those of the rack too, less what their leftovers and scrap are worth.
    pub metal: Money,
    /// Charges for cutting stock by length to length.
    pub charges: Money,
    /// What each seller asks for beside that, by seller.
    pub fees: Vec<Fee>,
    /// All of it.
    pub total: Money,
}

impl Seller {
    /// What is added to an order of so much to reach the minimum.
    pub(crate) fn top_up(&self, goods: Money) -> Money {
        (self.minimum_order - goods).max(Money::ZERO)
    }
}

/// What is spent at each seller: `(seller, amount)` in any order, sellers repeated at will. Fees by seller.
pub(crate) fn fees(market: &Market, spent: impl IntoIterator<Item = (usize, Money)>) -> Vec<Fee> {
    let mut sums: Vec<(usize, Money)> = Vec::new();
    for (seller, amount) in spent {
        match sums.iter_mut().find(|(known, _)| *known == seller) {
            Some((_, sum)) => *sum += amount,
            None => sums.push((seller, amount)),
        }
    }
    sums.sort_unstable_by_key(|&(seller, _)| seller);
    sums.into_iter()
        .map(|(seller, goods)| {
            let terms = &market.sellers()[seller];
            Fee { seller, goods, top_up: terms.top_up(goods), delivery: terms.delivery }
        })
        .collect()
}

impl Fee {
    /// Delivery and what the order is topped up by.
    #[must_use]
    pub fn amount(&self) -> Money {
        self.top_up + self.delivery
    }
}
