//! What is known of single shapes: where they lie, how long and wide they are, the circles that cover them.

pub(crate) mod circle_cover;
pub(crate) mod circles;
pub(crate) mod girth;
pub(crate) mod half_plane;
pub(crate) mod idle_holes;
pub(crate) mod pose;
pub(crate) mod vectors;
