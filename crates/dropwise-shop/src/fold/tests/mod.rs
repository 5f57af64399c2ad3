//! Tests of unfolding and folding.

mod examples;
