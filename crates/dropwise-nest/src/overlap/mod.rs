//! How deep two shapes sink into each other, and which way leads out.

pub(crate) mod boxes_in_use;
pub(crate) mod collision;
pub(crate) mod convex;
pub(crate) mod convexes;
pub(crate) mod hull;
pub(crate) mod keep_apart;
pub(crate) mod neighbours;
pub(crate) mod no_fit;
pub(crate) mod pocket;
pub(crate) mod search_shape;
