//! Tests of unfolding and folding.

mod examples;
mod faults;
pub(super) mod generators;
mod properties;
mod shapes;
