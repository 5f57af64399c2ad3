//! Figures of one bend: how much flat sheet it takes, what the press brake needs for it, what the metal stands; and of
//! the holes that go with it.
//!
//! Lengths are millimetres, angles degrees. A bend's turn angle is what the sheet is turned by, 90° for a square corner
//! and 180° for a hem; its opening angle is 180° less that.
//!
//! | to know | see |
//! |---|---|
//! | flat length of a bend, straight part of a leg | [`Bend`], [`BendFigures`], [`LegDatum`] |
//! | by which rule | [`Development`], [`KFactor`], [`din6935`], the shop's own [`TestStrip`] |
//! | die opening, radius of an air bend, shortest flange | [`OPENING_RULES`], [`air_bend_radius`], [`least_flange`] |
//! | force | [`ForceRule`] |
//! | strength, smallest radius, springback | [`tensile_strength`], [`minimum_radius`], [`typical_springback`] |
//! | holes for screws, drills, hole saws | [`fasteners`], [`drills`] |
//! | tolerances | [`ToleranceClass`] |
//!
//! Every published figure carries its [`Source`](crate::Source), in its row or beside its table. Where sources disagree,
//! the module that holds them says by how much.

mod allowance;
mod die;
pub mod din6935;
pub mod drills;
mod error;
pub mod fasteners;
mod grade;
mod hem;
mod k_factor;
mod material_forming;
mod test_strip;
#[cfg(test)]
mod tests;
mod tolerance;
mod tonnage;

pub use allowance::{
    Bend, BendFigures, CORNER_LIMIT, Development, EMPIRICAL_RADIUS, EMPIRICAL_SOURCE, EMPIRICAL_THICKNESS,
    FORMULA_SOURCE, LARGEST_RADIUS, LARGEST_TURN, LegDatum,
};
pub use die::{
    AirBendRadius, DIE_SOURCE, DIE_TABLE, DieRow, FLANGE_BY_OPENING_ANGLE, FLANGE_SOURCE, NARROWEST_DIE, OPENING_RULES,
    OpeningRule, RADIUS_SHARES, RadiusShare, air_bend_radius, least_flange, nearest_die,
};
pub use error::BendError;
pub use grade::{Grade, GradeError, Hardness};
pub use hem::{
    ALUMINIUM_HEM_SOURCE, CLOSED_HEM_K, CLOSED_HEM_K_TO, CLOSED_HEM_SOURCE, CLOSED_HEM_STAND_IN, FIRST_BEND,
    FIRST_BEND_SOURCE, FoldsFlat, HEM_FORCE_SOURCE, HEM_FORCES, HemKind, LEAST_RETURN, LEAST_RETURN_SOURCE,
    THICKEST_HEMMED, THICKEST_HEMMED_SOURCE, folds_flat, least_hem_return,
};
pub use k_factor::{
    HANDBOOK_SOURCE, HANDBOOK_TABLE, HandbookRow, KFactor, KOrigin, KSpread, LARGEST_K, LARGEST_MEASURED_K, Method,
    RATIO_SOURCE, RATIO_SOURCE_PRESSED, RATIO_TABLE, RatioRow, THICKNESS_SOURCE, THICKNESS_TABLE, ThicknessRow,
    k_spread,
};
pub use material_forming::{
    ADVISED_RADII, ALONG_GRAIN, ALUMINIUM_COLUMNS, ALUMINIUM_RADII, ALUMINIUM_SOURCE, BendToGrain, MinimumRadius,
    PLATE_RADII, PLATE_SOURCE, SPRINGBACK_SOURCE, Sourced, minimum_radius, tensile_strength, typical_springback,
};
pub use test_strip::TestStrip;
pub use tolerance::{
    ANGULAR, ANGULAR_SOURCE, AngularRow, BEND_ANGLE_HELD, BEND_ANGLE_SOURCE, LINEAR, LINEAR_SOURCE, LinearRow,
    SMALLEST_TOLERATED, ToleranceClass,
};
pub use tonnage::{Force, ForceRule, Forming, KSI, SHORT_TON, TONNE_FORCE, TONS_PER_FOOT};
