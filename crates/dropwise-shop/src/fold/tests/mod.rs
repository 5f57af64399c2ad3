//! Tests of unfolding and folding.

mod examples;
mod faults;
mod generators;
mod properties;
mod shapes;
