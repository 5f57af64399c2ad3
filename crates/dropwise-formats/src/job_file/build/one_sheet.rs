//! The outlines of a sheet that stands by itself.

use std::path::Path;

use dropwise_geometry::Unit;

use super::context::Context;
use super::sheet;
use crate::job_file::error::JobFileError;
use crate::job_file::one_sheet::DescribedPiece;
use crate::job_file::tree::Document;
use crate::job_file::types::SheetKeys;

/// Reads the outlines and the damage of the only sheet of a document.
pub(in crate::job_file) fn describe(
    document: &Document,
    keys: &SheetKeys,
    unit: Unit,
) -> Result<DescribedPiece, Vec<JobFileError>> {
    let folder = document.file().parent().unwrap_or(Path::new("")).to_owned();
    let mut context = Context::new(document, folder);
    context.unit = unit;
    let at = context.top().key("sheets").index(0);
    let described = sheet::outlines(&at, keys);
    drop(at);
    let (errors, notes) = context.finish();
    match described {
        Some((shapes, damage)) if errors.is_empty() => Ok(DescribedPiece { shapes, damage, notes }),
        _ => Err(errors),
    }
}
