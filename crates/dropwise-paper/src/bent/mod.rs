//! Pictures of a bent part: bent up, and as the flat pattern with its bend lines.

mod fit;
mod flat;
mod folded;
mod marks;
pub(crate) mod paint;
mod solid;
mod stage;
#[cfg(test)]
mod tests;
pub(crate) mod view;

pub(crate) use flat::draw_card_flat;
pub use flat::{bend_table, draw_flat, draw_flat_alone};
pub use folded::{FoldedModel, draw_folded, draw_folded_worked};
pub use marks::WorkedRing;
pub(crate) use stage::draw_stage;
pub use view::Viewpoint;
