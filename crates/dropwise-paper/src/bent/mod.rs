//! Pictures of a bent part: bent up, and as the flat pattern with its bend lines.

mod fit;
mod flat;
mod folded;
mod marks;
mod solid;
#[cfg(test)]
mod tests;
mod view;

pub use flat::draw_flat;
pub use folded::{draw_folded, draw_folded_worked};
pub use marks::WorkedRing;
