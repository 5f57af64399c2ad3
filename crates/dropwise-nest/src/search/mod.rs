//! Chains that put it all together, for a strip and for sets of sheets.

pub(crate) mod asked;
pub(crate) mod class_search;
pub(crate) mod proposal;
pub(crate) mod sheet_chain;
pub(crate) mod sieve;
pub(crate) mod start;
pub(crate) mod strip;
