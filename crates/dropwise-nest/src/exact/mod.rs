//! Helpers that prove or solve: bounds, rectangles, and sheets filled without waste.

pub(crate) mod bound;
pub(crate) mod boxes;
pub(crate) mod jigsaw;
