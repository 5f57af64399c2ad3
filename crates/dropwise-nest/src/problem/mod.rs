//! What is to be nested: parts, sheets and the room on them, made ready for the search.

pub(crate) mod container;
pub(crate) mod necessary_fit;
pub(crate) mod offer;
pub(crate) mod quarter_turns;
pub(crate) mod task;
