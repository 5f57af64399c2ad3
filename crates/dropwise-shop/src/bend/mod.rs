//! Figures of one bend: how much flat sheet it takes, and by which rule.
//!
//! Lengths are millimetres, angles degrees. A bend's turn angle is what the sheet is turned by, 90° for a square corner
//! and 180° for a hem; its opening angle is 180° less that.
//!
//! Every published figure carries its [`Source`](crate::Source), in its row or beside its table.

mod allowance;
pub mod din6935;
mod error;
mod grade;
mod k_factor;
mod test_strip;
#[cfg(test)]
mod tests;

pub use allowance::{
    Bend, BendFigures, CORNER_LIMIT, Development, EMPIRICAL_RADIUS, EMPIRICAL_SOURCE, EMPIRICAL_THICKNESS,
    FORMULA_SOURCE, LARGEST_RADIUS, LARGEST_TURN, LegDatum,
};
pub use error::BendError;
pub use grade::{Grade, GradeError, Hardness};
pub use k_factor::{
    HANDBOOK_SOURCE, HANDBOOK_TABLE, HandbookRow, KFactor, KOrigin, LARGEST_K, LARGEST_MEASURED_K, Method,
    RATIO_SOURCE, RATIO_SOURCE_PRESSED, RATIO_TABLE, RatioRow, THICKNESS_SOURCE, THICKNESS_TABLE, ThicknessRow,
};
pub use test_strip::TestStrip;
