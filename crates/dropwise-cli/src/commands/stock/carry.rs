//! `stock import` and `stock export`: pieces from lists and into them.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use dropwise_formats::describe_piece;
use dropwise_formats::stock_csv::{RowForm, StockCsvOptions, StockRow, read_stock_csv};
use dropwise_model::Money;
use dropwise_stock::{Details, NewSheet, read_rack_csv};

use super::desk::{Desk, bad, outline_complaints, told, told_when_behind};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::Purpose;

/// What was typed after `stock import`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Import {
    /// A list of pieces as CSV, or a whole log as JSON
    file: PathBuf,
    /// Only check, and write nothing down
    #[arg(long)]
    dry_run: bool,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
}

/// What was typed after `stock export`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Export {
    /// What is written to standard output
    #[arg(value_enum, default_value_t)]
    what: Carried,
}

/// What is carried elsewhere.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Carried {
    /// What lies in the rack, a line for each piece
    #[default]
    Csv,
    /// Every event of the log
    Json,
}

pub(crate) fn export(typed: &Export, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let log = desk.open(Purpose::Look, environment)?;
    let text = match typed.what {
        Carried::Csv => log.export_csv(),
        Carried::Json => log.export_json(),
    };
    environment.print(&text.map_err(told)?)?;
    Ok(Exit::Done)
}

/// A piece and the line it stands on.
type Line = (u64, NewSheet);

pub(crate) fn import(typed: &Import, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let file = typed.file.display().to_string();
    let bytes = std::fs::read(&typed.file).map_err(|error| {
        let complaint = Complaint::new(format!("cannot be read: {error}")).at(&file);
        Stop::bad_input(complaint.with_cure("Check its name and folder"))
    })?;
    let text = String::from_utf8_lossy(&bytes);
    if text.trim_start_matches('\u{feff}').trim_start().starts_with('{') {
        let mut log = if typed.dry_run {
            dropwise_stock::StockLog::in_memory(environment.clock()).map_err(told)?
        } else {
            desk.open(Purpose::Add, environment)?
        };
        let count = log.import_json(&text).map_err(told)?;
        let what = if typed.dry_run { "could be read" } else { "read" };
        environment.print(&format!("{count} events {what}.\n"))?;
        return Ok(Exit::Done);
    }
    let (lines, mut faults) = if is_own(&text) { own_lines(&text, &file)? } else { loose_lines(typed, &bytes, desk) };
    let sheets: Vec<NewSheet> = lines.iter().map(|(_, sheet)| sheet.clone()).collect();
    let path = desk.log.path(environment)?;
    // A check starts no log.
    if !typed.dry_run || path.exists() {
        let purpose = if typed.dry_run { Purpose::Look } else { Purpose::Add };
        let log = desk.open(purpose, environment)?;
        for (index, fault) in log.check_purchase(&sheets).map_err(told)? {
            faults.push(Complaint::new(fault.to_string()).at(format!("{file}:{}", lines[index].0)));
        }
    }
    if !faults.is_empty() {
        let count = faults.len();
        let whole = Complaint::new(format!("nothing was written down, for {count} faults in the list")).at(&file);
        faults.push(whole.with_cure("Put the lines right, or take them out, and do it again"));
        return Err(bad(faults));
    }
    if typed.dry_run {
        environment.print(&format!("{} pieces could be written down; no line is rejected.\n", sheets.len()))?;
        return Ok(Exit::Done);
    }
    let receipt = desk.open(Purpose::Add, environment)?.buy(sheets, &typed.cause).map_err(told)?;
    told_when_behind(&receipt, desk.stderr_ink, environment);
    let tags: Vec<String> = receipt.tags.iter().map(ToString::to_string).collect();
    let text = format!("{} pieces written down as event {}: {}.", tags.len(), receipt.number, tags.join(" "));
    environment.print(&crate::text::wrapped("", 2, &text))?;
    Ok(Exit::Done)
}

/// Whether a list is one that `stock export` wrote.
fn is_own(text: &str) -> bool {
    let heading = text.lines().next().unwrap_or_default();
    heading.contains("thickness_mm") && heading.contains("cost_coins")
}

fn own_lines(text: &str, file: &str) -> Result<(Vec<Line>, Vec<Complaint>), Stop> {
    let read = read_rack_csv(text)
        .map_err(|fault| Stop::bad_input(Complaint::new(fault.to_string()).at(file).with_cure(fault.cure())))?;
    let faults = read.rejected.iter().flat_map(|row| {
        row.faults.iter().map(move |fault| Complaint::new(fault.clone()).at(format!("{file}:{}", row.line)))
    });
    let faults = faults.collect();
    Ok((read.rows.into_iter().map(|row| (row.line, row.sheet)).collect(), faults))
}

fn loose_lines(typed: &Import, bytes: &[u8], desk: &Desk) -> (Vec<Line>, Vec<Complaint>) {
    let options = StockCsvOptions { unit: Some(desk.unit), coinage: desk.coinage, ..StockCsvOptions::default() };
    let (mut lines, mut faults) = (Vec::new(), Vec::new());
    match read_stock_csv(&typed.file, bytes, &options) {
        Err(errors) => faults.extend(errors.iter().map(Complaint::from)),
        Ok(list) => {
            for row in &list.rows {
                match row_pieces(row, &typed.file) {
                    Ok(pieces) => lines.extend(pieces.into_iter().map(|piece| (row.line as u64, piece))),
                    Err(complaints) => faults.extend(
                        complaints.into_iter().map(|fault| fault.at(format!("{}:{}", typed.file.display(), row.line))),
                    ),
                }
            }
        }
    }
    (lines, faults)
}

fn row_pieces(row: &StockRow, file: &Path) -> Result<Vec<NewSheet>, Vec<Complaint>> {
    let Some(quantity) = row.quantity else {
        let complaint = Complaint::new("it is there without limit");
        return Err(vec![complaint.with_cure("Say how many lie in the rack")]);
    };
    // In millimetres whatever the list speaks, as the row was read already.
    let form = match &row.form {
        RowForm::Rectangle { length, width } => serde_json::json!({"rectangle": {"width": length, "height": width}}),
        RowForm::Circle { diameter } => serde_json::json!({"circle": {"diameter": diameter}}),
        RowForm::Drawing { file } => serde_json::json!({"drawing": {"file": file}}),
        RowForm::Outlines { .. } => serde_json::json!({}),
    };
    let mut keys = form;
    keys["name"] = row.name.clone().into();
    let keys = serde_json::from_value(keys).map_err(|error| vec![Complaint::new(error.to_string())])?;
    let folder = file.parent().unwrap_or(Path::new(""));
    let described = describe_piece(&keys, dropwise_geometry::Unit::Millimetre, folder)
        .map_err(|errors| outline_complaints(&errors))?;
    let pieces = described.shapes.into_iter().map(|shape| {
        let mut details = Details::new(shape, row.material, row.thickness);
        details.grain_deg = row.grain_deg;
        details.place.clone_from(&row.location);
        // What it was called before it had a tag.
        details.notes.clone_from(&row.name);
        let paid = row.price.map_or(Money::ZERO, |price| price.of_piece(details.weight(), 0.0));
        NewSheet { tag: None, details, paid, since: None }
    });
    let repeated = pieces.flat_map(|piece| std::iter::repeat_n(piece, quantity as usize));
    Ok(repeated.collect())
}
