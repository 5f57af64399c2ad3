//! The largest rectangle and the largest circle that fit in a polygon.

mod circle;
mod rectangle;

pub use circle::{Circle, largest_circle};
pub use rectangle::{OrientedRectangle, largest_rectangle};
