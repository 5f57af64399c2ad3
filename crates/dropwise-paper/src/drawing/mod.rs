//! Pictures of nested sheets, as SVG.
//!
//! Whatever the size of the sheet, text and lines keep their size on paper: a picture is made for a page, and its
//! units are millimetres of the sheet.

pub(crate) mod annotate;
pub(crate) mod copies;
pub(crate) mod fills;
pub(crate) mod label;
pub(crate) mod leader;
mod legend;
pub(crate) mod naming;
mod overview;
mod scene;
mod sheet;
mod style;
pub(crate) mod svg;
pub(crate) mod text;

pub use overview::draw_overview;
pub(crate) use overview::draw_overview_alone;
pub use sheet::draw_sheet;
pub(crate) use sheet::{draw_linked_sheet, percent};
pub use style::DrawingStyle;
