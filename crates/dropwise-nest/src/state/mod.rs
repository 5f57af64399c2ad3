//! The working state: where every item lies, what overlaps, how much that weighs, and what it is worth.

pub(crate) mod hand_cuts;
pub(crate) mod layout;
pub(crate) mod pairs;
pub(crate) mod score;
pub(crate) mod weights;
pub(crate) mod working;
#[cfg(test)]
pub(crate) mod working_tests;
