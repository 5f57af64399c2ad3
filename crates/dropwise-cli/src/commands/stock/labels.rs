//! `stock labels`: labels to print, for pieces in the rack.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use dropwise_geometry::{Side, largest_rectangle};
use dropwise_paper::{Paper, RackLabel, write_labels};
use dropwise_stock::{Order, StockSheet};

use super::describe::{short_stock, size, two_sides};
use super::desk::{Desk, told};
use super::list::Wanted;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::write_file;
use crate::stock_log::Purpose;
use crate::text::{cleaned, wrapped};

/// What was typed after `stock labels`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Labels {
    /// The tags to print; without any, of every piece in the rack
    tags: Vec<String>,
    /// Write them to this file, PDF; one that is there is replaced
    #[arg(long, value_name = "FILE.pdf", value_parser = pdf_file)]
    out: PathBuf,
    /// What is in the printer
    #[arg(long, value_enum, default_value_t)]
    paper: PaperWord,
    #[command(flatten, next_help_heading = "Only pieces")]
    wanted: Wanted,
}

/// A size of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum PaperWord {
    /// 210 × 297 mm
    #[default]
    A4,
    /// 8 1/2 × 11 in
    Letter,
}

fn pdf_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_pdf = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("pdf"));
    if is_pdf { Ok(path) } else { Err("its name must end in .pdf".to_owned()) }
}

pub(crate) fn labels(typed: &Labels, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let log = desk.open(Purpose::Look, environment)?;
    let mut sheets = Vec::new();
    let sieve = typed.wanted.read(desk, log.now())?;
    if typed.tags.is_empty() {
        sheets = log.list(&sieve.filter, Order::Tag).map_err(told)?;
    } else {
        for text in &typed.tags {
            let sheet = log.sheet(desk.tag(text)?).map_err(told)?;
            if sieve.filter.accepts(&sheet) {
                sheets.push(sheet);
            }
        }
    }
    sheets.retain(|sheet| sieve.accepts_thickness(sheet, desk));
    let labels: Vec<RackLabel> = sheets.iter().map(|sheet| label(sheet, desk)).collect();
    let paper = match typed.paper {
        PaperWord::A4 => Paper::A4,
        PaperWord::Letter => Paper::Letter,
    };
    let pdf = write_labels(&labels, paper).map_err(|error| {
        let complaint = Complaint::new(error.to_string());
        Stop::bad_input(complaint.with_cure("See with `dropwise stock list` what lies in the rack"))
    })?;
    write_file(&typed.out, &pdf)?;
    let count = if labels.len() == 1 { "1 label".to_owned() } else { format!("{} labels", labels.len()) };
    let text = format!("{count} written to {}. Print at 100 %.", cleaned(&typed.out.display().to_string()));
    environment.print(&wrapped("", 2, &text))?;
    Ok(Exit::Done)
}

fn label(sheet: &StockSheet, desk: &Desk) -> RackLabel {
    let details = &sheet.details;
    // The asterisk of the tables has nothing to point to here.
    let size = size(&details.shape, desk);
    let is_odd = size.ends_with('*');
    let size = size.strip_suffix('*').map_or_else(|| size.clone(), |size| format!("{size} over all"));
    let holds = is_odd.then(|| largest_rectangle(&details.shape.flatten(0.1, Side::Shrink), &[0.0])).flatten();
    let usable =
        holds.map_or_else(String::new, |holds| format!("holds {}", two_sides((holds.length, holds.width), desk)));
    RackLabel {
        shape: is_odd.then(|| details.shape.clone()),
        usable,
        tag: sheet.tag.to_string(),
        stock: short_stock(details, desk),
        size,
        heat_number: details.heat_number.clone(),
        place: details.place.clone(),
    }
}
