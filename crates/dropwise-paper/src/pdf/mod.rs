//! Pages for the printer, as PDF.
//!
//! # Why these libraries
//! `pdf-writer` writes the file: it is small, typed, forbids unsafe code, and leaves every coordinate to the caller,
//! which pages at exactly 1:1 need; libraries that lay out text bring a notion of a page that would be in the way. The
//! faces are DejaVu Sans, embedded as subsets. The fourteen standard faces would save a megabyte in the program, but
//! their encoding ends at Western Europe: a part called "Кронштейн 5" or "קרן" could not be named on its own template,
//! and readers may put another face in their place, so that measured text would no longer fit its box. `rustybuzz` shapes
//! and `unicode-bidi` orders the letters, so Hebrew and Arabic names read right. DejaVu holds neither Chinese, Japanese
//! and Korean characters nor coloured emoji: those come out as empty boxes, and the piece is known by its key.

mod canvas;
mod card;
mod cutsheet;
mod document;
mod font;
mod labels;
mod paper;
mod scale_sheet;
mod template;

pub use card::write_bend_cards;
pub use cutsheet::{CutSheetSettings, MarkPicture, PictureMark, TableSection, write_cut_sheets, write_tables};
pub use labels::{LabelError, RackLabel, write_labels};
pub use paper::Paper;
pub use scale_sheet::{ScalePage, ScalePageError, write_scale_pages};
pub use template::{PrinterCorrection, TemplateError, TemplateOf, TemplateSettings, write_template, write_templates};
