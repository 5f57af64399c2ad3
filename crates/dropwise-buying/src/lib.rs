//! Which sheets to buy for a job.
//!
//! A [`Market`] is a job whose sheets either lie in the rack or are on offer. [`decide`] weighs the rack against single
//! offers and their combinations: a [`Choice`] is a set of sheets bought together with a certified plan for the whole
//! job, what it costs with all that sellers ask for beside the metal, and how far that is from the least that any choice
//! can cost. Every offer gets a [`Verdict`], and what was not tried is told.
//!
//! The crate knows neither files nor materials. Money is in the smallest coin, lengths are millimetres.
//!
//! # How it works
//! 1. *Sieve*: offers of another class of stock, those on which no part fits, and those that another one of the same seller
//!    replaces at no higher price fall away, each with an exact reason.
//! 2. *Bound*: sets of offers are listed by the least that they can cost, best first: what is bought is paid for whole,
//!    with its seller's delivery and minimum; the rest of the area may come from the rack, sheets divided at will.
//! 3. *Proof*: sets worth a try are nested by [`dropwise_nest::nest`], class by class, each class and set once. First
//!    the rack alone, all offers at once, those of each seller and each offer alone; then the sets that promise most,
//!    by what they would save and by how full they would have to be.
//! 4. The plans of all classes are put together, with the fees of the sellers that they buy from, and ranked.
//!
//! # Sources
//! Best-first branch and bound on the covering knapsack, and its linear relaxation: Martello and Toth, "Knapsack Problems"
//! (1990), chapters 2 and 3.

mod areas;
mod decision;
mod fees;
mod fit;
mod items;
mod market;
mod pool;
mod proof;
mod search;
mod sets;
mod settings;
mod sieve;
mod worth;

pub use decision::{Bought, Choice, Decision, NotTried, Verdict};
pub use fees::{Bill, Fee};
pub use fit::Misfit;
pub use market::{Market, MarketError, Seller, Source};
pub use proof::BuyingError;
pub use search::decide;
pub use settings::{Progress, Settings};
pub use worth::{Against, Worth};

#[cfg(test)]
mod arbitrary;
#[cfg(test)]
mod area_tests;
#[cfg(test)]
mod packing_tests;
