//! What changes a state: single items to better places, many at once, and first layouts.

pub(crate) mod construct;
pub(crate) mod contact;
pub(crate) mod disturb;
pub(crate) mod extra_sheet;
pub(crate) mod mover;
pub(crate) mod push;
pub(crate) mod rows;
pub(crate) mod straighten;
