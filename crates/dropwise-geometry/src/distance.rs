//! How far apart segments and rings are, and whether regions overlap.
//!
//! Everything here works on the true outlines, arcs as arcs.

mod boundary;
mod overlap;
mod pairs;
#[cfg(test)]
mod tests;

pub use boundary::Boundary;
pub(crate) use overlap::turn_to;
pub use overlap::{Overlap, Region};
