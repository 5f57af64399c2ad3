//! Boxes: parts seen as rectangles along the axes.
//!
//! Two views of one task. The *sure* view makes no part larger than it is, so that what it excludes no nest can do: it
//! serves the bound. The *safe* view makes no part smaller than it is, so that what it packs is a nest: it serves the
//! search. For rectangles at right angles both are the same but for what a web leaves open at corners.

mod dual_feasible;
mod fill;
mod free_rectangles;
mod pack_few;
mod pattern;
mod proof;
mod refill;
mod sheet_counts;
mod simplex;
mod view;

pub(crate) use proof::Proof;
pub(crate) use refill::Refill;
pub(crate) use view::{safe_view, sure_view};
