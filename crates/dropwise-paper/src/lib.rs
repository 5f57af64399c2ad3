//! Pictures and pages made of a plan.
//!
//! The crate reads a job and its plan and writes text; it leaves files, databases and the search to others.
//!
//! - [`draw_sheet`]: one nested sheet as SVG, with names, dimensions and a legend
//! - [`draw_overview`]: all sheets of a plan in one SVG

mod drawing;

pub use drawing::{DrawingStyle, draw_overview, draw_sheet};
