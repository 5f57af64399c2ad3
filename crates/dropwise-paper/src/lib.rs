//! Pictures and pages made of a plan.
//!
//! The crate reads a job and its plan and writes text; it leaves files, databases and the search to others.
//!
//! - [`draw_sheet`]: one nested sheet as SVG, with names, dimensions and a legend
//! - [`draw_overview`]: all sheets of a plan in one SVG
//! - [`write_report`]: the whole plan as one HTML page; [`plan_tables`]: its figures as plain tables
//! - [`draw_flat`], [`draw_folded`]: a bent part laid flat, and bent up; [`FoldedModel`]: from any side
//! - [`mark_out_of_sheet`], [`mark_out_of_part`], [`cut_plan_tables`]: what the shop crate works out for the bench;
//!   [`mark_out_csv`]: the same for spreadsheets
//! - [`write_tables`]: such tables on pages of their own, as PDF
//! - [`write_bend_cards`]: a page for each bent part, with the steps in order, as PDF
//! - [`write_cut_sheets`]: drawings to mark out from, with lists, as PDF
//! - [`draw_piece`]: a piece of stock; [`BarChart`]: figures as bars
//! - [`Trace`]: what a search did over time
//! - [`write_template`]: a part or a whole sheet at true size, split over paper, as PDF
//! - [`write_labels`]: labels for the rack with QR codes, as PDF
//! - [`write_scale_pages`]: squares and codes to lie beside what is photographed, as PDF

mod bench;
mod bench_csv;
mod bent;
mod card;
mod chart;
mod details;
mod drawing;
mod mark_points;
mod pdf;
mod piece;
mod report;
mod tables;
mod trace;

pub use bench::{cut_plan_tables, rate_table};
pub use bench_csv::mark_out_csv;
pub use bent::{
    FoldedModel, Viewpoint, WorkedRing, bend_table, draw_flat, draw_flat_alone, draw_folded, draw_folded_worked,
};
pub use card::{BendCard, CardStep};
pub use chart::{BarChart, BarGroup};
pub use details::{BendLine, HoleNote, LengthStyle};
pub use drawing::{DrawingStyle, draw_overview, draw_sheet};
pub use mark_points::{MarkedOut, mark_out_of_part, mark_out_of_sheet};
pub use pdf::{
    CutSheetSettings, LabelError, MarkPicture, Paper, PictureMark, PrinterCorrection, RackLabel, ScalePage,
    ScalePageError, TableSection, TemplateError, TemplateOf, TemplateSettings, write_bend_cards, write_cut_sheets,
    write_labels, write_scale_pages, write_tables, write_template, write_templates,
};
pub use piece::draw_piece;
pub use report::{ReportSettings, plan_tables, write_report};
pub use tables::{PaperColumn, PaperTable};
pub use trace::Trace;
