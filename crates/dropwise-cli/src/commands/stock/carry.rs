//! `stock import` and `stock export`: pieces from lists and into them.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use dropwise_formats::stock_csv::{LARGEST_LIST, StockCsvOptions, StockRow, read_stock_csv};
use dropwise_formats::{Fault, JobFileError, Note, Place, describe_row, read_file};
use dropwise_model::Money;
use dropwise_stock::{Details, NewSheet, StockLog, read_rack_csv};

use super::desk::{Desk, bad, tell_notes, told, told_when_behind};
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
    // What can still be read of a damaged log is carried out all the same: each event and piece is checked as it is read.
    let log = desk.open(Purpose::Inspect, environment)?;
    let text = match typed.what {
        Carried::Csv => log.export_csv(),
        Carried::Json => log.export_json(),
    };
    environment.print(&text.map_err(told)?)?;
    Ok(Exit::Done)
}

/// A piece and the line it stands on.
type Line = (u64, NewSheet);

/// Bytes of the largest whole log that is read.
const LARGEST_LOG: u64 = 256 << 20;

pub(crate) fn import(typed: &Import, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let file = typed.file.display().to_string();
    let refused = |fault: Fault| bad(vec![Complaint::from(&JobFileError::new(Place::file(&typed.file), fault))]);
    let bytes = read_file(&typed.file, LARGEST_LOG).map_err(refused)?;
    let begins_with = |mark: &[u8]| bytes.trim_ascii_start().starts_with(mark);
    if begins_with(b"{") || begins_with("\u{feff}{".as_bytes()) {
        return import_log(typed, text_of(&bytes).map_err(refused)?, desk, environment);
    }
    if bytes.len() as u64 > LARGEST_LIST {
        return Err(refused(Fault::TooLarge { size: bytes.len() as u64, limit: LARGEST_LIST }));
    }
    let Read { lines, mut faults, notes } = if is_own(&bytes) {
        own_lines(text_of(&bytes).map_err(refused)?, &file)?
    } else {
        loose_lines(typed, &bytes, desk)
    };
    tell_notes(&notes, desk, environment);
    let sheets: Vec<NewSheet> = lines.iter().map(|(_, sheet)| sheet.clone()).collect();
    // A check starts no log, and neither does a list that is rejected.
    let checked = if desk.log.path(environment)?.exists() {
        desk.open(Purpose::Look, environment)?
    } else {
        StockLog::in_memory(environment.clock()).map_err(told)?
    };
    for (index, fault) in checked.check_purchase(&sheets).map_err(told)? {
        faults.push(Complaint::new(fault.to_string()).at(format!("{file}:{}", lines[index].0)));
    }
    drop(checked);
    if !faults.is_empty() {
        let count = if faults.len() == 1 { "a fault".to_owned() } else { format!("{} faults", faults.len()) };
        let whole = Complaint::new(format!("nothing was written down, for {count} in the list")).at(&file);
        faults.push(whole.with_cure("Put the lines right, or take them out, and do it again"));
        return Err(bad(faults));
    }
    if sheets.is_empty() {
        let complaint = Complaint::new("it lists no piece").at(&file);
        return Err(Stop::bad_input(
            complaint.with_cure("The first line names the columns; each further line is a piece"),
        ));
    }
    if typed.dry_run {
        environment.print(&format!("{} pieces could be written down; no line is rejected.\n", sheets.len()))?;
        return Ok(Exit::Done);
    }
    let receipt = desk.open(Purpose::Add, environment)?.buy(sheets, &typed.cause).map_err(told)?;
    told_when_behind(&receipt, desk.stderr_ink, environment);
    let tags: Vec<String> = receipt.tags.iter().map(ToString::to_string).collect();
    let count = if tags.len() == 1 { "1 piece".to_owned() } else { format!("{} pieces", tags.len()) };
    let text = format!("{count} written down as event {}: {}.", receipt.number, tags.join(" "));
    environment.print(&crate::text::wrapped("", 2, &text))?;
    Ok(Exit::Done)
}

/// Reads a whole log: first into the air, so that one with a fault leaves nothing behind, and blames no other file.
fn import_log(typed: &Import, text: &str, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut trial = StockLog::in_memory(environment.clock()).map_err(told)?;
    let mut count = trial.import_json(text).map_err(|error| {
        let complaint = Complaint::new(error.fault.to_string()).at(typed.file.display());
        Stop::bad_input(complaint.with_cure(error.cure()))
    })?;
    drop(trial);
    if !typed.dry_run {
        count = desk.open(Purpose::Add, environment)?.import_json(text).map_err(told)?;
    }
    let what = if typed.dry_run { "could be read" } else { "read" };
    environment.print(&format!("{count} events {what}.\n"))?;
    Ok(Exit::Done)
}

/// What a list holds.
#[derive(Default)]
struct Read {
    lines: Vec<Line>,
    faults: Vec<Complaint>,
    notes: Vec<Note>,
}

fn text_of(bytes: &[u8]) -> Result<&str, Fault> {
    std::str::from_utf8(bytes).map_err(|error| Fault::NotText { offset: error.valid_up_to() })
}

/// Whether a list is one that `stock export` wrote.
fn is_own(bytes: &[u8]) -> bool {
    let heading = String::from_utf8_lossy(bytes.split(|&byte| byte == b'\n').next().unwrap_or_default());
    heading.contains("thickness_mm") && heading.contains("cost_coins")
}

fn own_lines(text: &str, file: &str) -> Result<Read, Stop> {
    let read = read_rack_csv(text)
        .map_err(|fault| Stop::bad_input(Complaint::new(fault.to_string()).at(file).with_cure(fault.cure())))?;
    let faults = read.rejected.iter().flat_map(|row| {
        row.faults.iter().map(move |fault| Complaint::new(fault.clone()).at(format!("{file}:{}", row.line)))
    });
    let faults = faults.collect();
    let lines = read.rows.into_iter().map(|row| (row.line, row.sheet)).collect();
    Ok(Read { lines, faults, notes: Vec::new() })
}

fn loose_lines(typed: &Import, bytes: &[u8], desk: &Desk) -> Read {
    let options = StockCsvOptions { unit: Some(desk.unit), coinage: desk.coinage, ..StockCsvOptions::default() };
    let mut read = Read::default();
    match read_stock_csv(&typed.file, bytes, &options) {
        Err(errors) => read.faults.extend(errors.iter().map(Complaint::from)),
        Ok(list) => {
            read.notes = list.notes;
            for row in &list.rows {
                match row_pieces(row, typed, desk) {
                    Ok((pieces, notes)) => {
                        read.lines.extend(pieces.into_iter().map(|piece| (row.line as u64, piece)));
                        read.notes.extend(notes);
                    }
                    Err(complaints) => read.faults.extend(complaints),
                }
            }
        }
    }
    read
}

fn row_pieces(row: &StockRow, typed: &Import, desk: &Desk) -> Result<(Vec<NewSheet>, Vec<Note>), Vec<Complaint>> {
    let Some(quantity) = row.quantity else {
        let complaint =
            Complaint::new("it is there without limit").at(format!("{}:{}", typed.file.display(), row.line));
        return Err(vec![complaint.with_cure("Say how many lie in the rack")]);
    };
    // As a job that names the list has it: numbers of a drawing that tells no unit are in the unit spoken.
    let described = describe_row(&typed.file, row, desk.unit)
        .map_err(|errors| errors.iter().map(Complaint::from).collect::<Vec<_>>())?;
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
    Ok((repeated.collect(), described.notes))
}
