//! Marking out by hand: tables of dimensions.

mod round;
mod scribe;

pub use round::full_circle;
pub use scribe::ScribeLines;
