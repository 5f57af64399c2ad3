//! Sheets from lists that a spreadsheet exported.

use std::path::Path;

use dropwise_geometry::{Outline, Point, Shape, Unit};
use dropwise_model::Sheet;
use dropwise_shop::Coinage;

use super::LoadedJob;
use super::context::{At, Context};
use super::drawing::pieces;
use super::sheet::{Rates, SheetDetail, Terms, finish, price_whole};
use crate::job_file::error::{JobFileError, Note, Place};
use crate::job_file::one_sheet::DescribedPiece;
use crate::job_file::tree::{Document, shortened};
use crate::job_file::types::{Defaults, Drawing, SheetList, Thick};
use crate::stock_csv::{LARGEST_LIST, RowForm, StockCsvOptions, StockRow, read_stock_csv};

/// The sheets of a list. What is wrong in it is reported with its own lines.
pub(super) fn sheets(
    at: &At<'_>,
    keys: &SheetList,
    defaults: &Defaults,
    rates: Rates,
) -> Option<Vec<(Sheet, SheetDetail)>> {
    let context = at.context;
    let unit = keys.unit.as_deref().map_or(Some(context.unit), |name| at.key("unit").unit(name));
    let path = context.folder.join(&keys.file);
    let bytes = match crate::job_file::read_file(&path, LARGEST_LIST) {
        Ok(bytes) => bytes,
        Err(fault) => {
            at.key("file").message(0, format!("\"{}\" {fault}", shortened(&keys.file)));
            return None;
        }
    };
    let thickness = defaults.thickness.as_ref().map(|thickness| match thickness {
        // In the job's unit, which need not be that of the list.
        Thick::Number(number) => format!("{number} {}", context.unit),
        Thick::Text(text) if text.trim().parse::<f64>().is_ok() => format!("{text} {}", context.unit),
        Thick::Text(text) => text.clone(),
    });
    let options = StockCsvOptions {
        unit: Some(unit?),
        coinage: context.coinage,
        material: defaults.material.as_deref().and_then(|name| name.parse().ok()),
        thickness,
        ..StockCsvOptions::default()
    };
    let list = match read_stock_csv(&path, &bytes, &options) {
        Ok(list) => list,
        Err(errors) => {
            errors.into_iter().for_each(|error| context.push(error));
            return None;
        }
    };
    list.notes.into_iter().for_each(|note| context.push_note(note));
    let folder = Path::new(&keys.file).parent().unwrap_or(Path::new(""));
    let sheets: Vec<Option<Vec<(Sheet, SheetDetail)>>> =
        list.rows.into_iter().map(|row| row_sheets(at, row, &path, folder, rates)).collect();
    sheets.into_iter().collect::<Option<Vec<_>>>().map(|sheets| sheets.into_iter().flatten().collect())
}

fn row_sheets(
    at: &At<'_>,
    row: StockRow,
    path: &Path,
    folder: &Path,
    rates: Rates,
) -> Option<Vec<(Sheet, SheetDetail)>> {
    let (shapes, damage, notes) = outlines_of(at, &row, folder)?;
    let StockRow { line, name, material, thickness, quantity, price, grain_deg, location, .. } = row;
    let terms = Terms { material, thickness, quantity, price, grain_deg, location, leftover: rates.leftover };
    let is_alone = shapes.len() == 1;
    let sheets = shapes.into_iter().enumerate().map(|(index, shape)| {
        let name = if is_alone { name.clone() } else { format!("{name} {}", index + 1) };
        let (mut sheet, mut detail) = finish(name, shape, &terms, rates);
        sheet.price = price.map_or(dropwise_model::Money::ZERO, |price| price_whole(&sheet, price));
        sheet.damage = damage.get(index).cloned().unwrap_or_default();
        detail.place = Place::line(path, line);
        detail.drawing_notes = notes.get(index).cloned().unwrap_or_default();
        (sheet, detail)
    });
    Some(sheets.collect())
}

/// Outlines of pieces, the damage on each, and what is told of each drawing; the last may be shorter.
type Outlines = (Vec<Shape>, Vec<Vec<Outline>>, Vec<Vec<Note>>);

/// Outlines and damage of a row, whoever names its list. Numbers of a drawing that tells no unit are in that of the context.
fn outlines_of(at: &At<'_>, row: &StockRow, folder: &Path) -> Option<Outlines> {
    let shapes = match &row.form {
        RowForm::Outlines { shapes, damage } => return Some((shapes.clone(), damage.clone(), Vec::new())),
        RowForm::Rectangle { length, width } => {
            vec![Shape::new(Outline::rectangle(Point::ORIGIN, *length, *width), Vec::new())]
        }
        RowForm::Circle { diameter } => {
            let radius = diameter / 2.0;
            vec![Shape::new(Outline::circle(Point::new(radius, radius), radius), Vec::new())]
        }
        RowForm::Drawing { file } => {
            let keys = Drawing { file: folder.join(file).to_string_lossy().into_owned(), ..Drawing::default() };
            let found = pieces(at, &keys, Some(row.thickness.millimetres()))?;
            let damage = found.iter().map(|piece| piece.damage.clone()).collect();
            let notes = found.iter().map(|piece| piece.notes.clone()).collect();
            return Some((found.into_iter().map(|piece| piece.shape).collect(), damage, notes));
        }
    };
    Some((shapes, Vec::new(), Vec::new()))
}

/// What is done with a row of a list outside a job: faults and notes stand at the row, as no job file names it.
fn at_row<T>(
    path: &Path,
    line: usize,
    unit: Unit,
    coinage: Coinage,
    work: impl FnOnce(&At<'_>) -> Option<T>,
) -> Result<(T, Vec<Note>), Vec<JobFileError>> {
    let document = Document::parse(path, "{}")?;
    let mut context = Context::new(&document, path.parent().unwrap_or(Path::new("")).to_owned());
    (context.unit, context.coinage) = (unit, coinage);
    let done = work(&context.top().key("sheet_lists").index(0));
    let (mut errors, mut notes) = context.finish();
    for error in errors.iter_mut().filter(|error| error.place.file == path) {
        error.place = Place::line(path, line);
    }
    for note in notes.iter_mut().filter(|note| note.place.file == path) {
        note.place = Place::line(path, line);
    }
    done.map(|done| (done, notes)).ok_or(errors)
}

/// Outlines of the pieces that a row of a list names, by the rules that a job which names the list has for them.
///
/// `path` is the list, from whose folder drawings are looked for; `unit` is that of a drawing that tells none.
///
/// # Errors
/// What is wrong with the drawing that it names.
pub fn describe_row(path: &Path, row: &StockRow, unit: Unit) -> Result<DescribedPiece, Vec<JobFileError>> {
    let work = |at: &At<'_>| outlines_of(at, row, Path::new("")).map(|(shapes, damage, _)| (shapes, damage));
    let ((shapes, mut damage), notes) = at_row(path, row.line, unit, Coinage::default(), work)?;
    damage.resize(shapes.len(), Vec::new());
    Ok(DescribedPiece { shapes, damage, notes })
}

/// The sheets of a row of a list that a job does not name, by the rules of that job.
///
/// # Errors
/// What is wrong with the drawing that it names.
pub(crate) fn sheets_of_row(
    path: &Path,
    row: StockRow,
    job: &LoadedJob,
) -> Result<Vec<(Sheet, SheetDetail)>, Vec<JobFileError>> {
    let rates = Rates { weight_rule: job.weight_rule, leftover: job.leftover_worth, scrap: job.scrap_worth };
    let line = row.line;
    let work = |at: &At<'_>| row_sheets(at, row, path, Path::new(""), rates);
    at_row(path, line, job.unit, job.coinage, work).map(|(sheets, _)| sheets)
}
