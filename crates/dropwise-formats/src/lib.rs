//! Files of a nesting job, read and written: the job file, the shop file, drawings in DXF and SVG, lists of stock in CSV, and the
//! plan as JSON.
//!
//! Files for machines that cut: [`cut_drawing`] says what is drawn and in which order, [`dxf_write`] and [`svg_write`]
//! write it.
//!
//! Everything a file holds is checked here, and every fault is told with its place and its cure; what comes out is a
//! [`dropwise_model::Job`] that can be nested as it is. Nothing here searches or draws.

pub mod job_file;
pub mod offers;
pub mod plan_json;
pub mod shop_file;
pub mod stock_csv;

pub mod cut_drawing;
pub mod drawing;
pub mod dxf;
pub mod dxf_write;
pub mod svg;
pub mod svg_write;

mod chain;
mod curves;

pub use job_file::{
    BentDetail, DescribedPiece, Fault, HoleWork, Instead, JobFileError, LoadedJob, Note, OwnSheets, PartDetail, Place,
    Rack, RackMark, RackPiece, SeenDrawing, SheetDetail, WorkedHole, describe_piece, describe_row, drawings_of_job,
    files_of_job, job_reference, job_schema, load_job, load_job_in_shop, load_job_instead, load_job_with_rack,
    parse_job, read_file, strip_reference, strip_schema,
};
pub use shop_file::{load_shop, load_shop_text, parse_shop, shop_reference, shop_schema};

pub use plan_json::types::PlanDocument;
pub use plan_json::{PlanJsonError, plan_reference, plan_schema};
