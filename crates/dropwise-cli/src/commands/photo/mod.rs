//! `photo`: outlines from photographs taken beside a printed scale sheet.

mod help;
mod outline;
mod result;
mod scale_sheet;
mod stock;
mod taken;

use clap::{Args, Subcommand};

pub(crate) use help::{AFTER, LONG_ABOUT};

use crate::arguments::Colour;
use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;

/// What was typed after `photo`.
#[derive(Clone, Debug, Args)]
#[command(subcommand_required = true, arg_required_else_help = true)]
pub(crate) struct Photo {
    #[command(subcommand)]
    verb: Verb,
}

/// One for each thing that is done with photographs.
#[derive(Clone, Debug, Subcommand)]
enum Verb {
    #[command(about = "Makes the scale sheet to print", long_about = help::SHEET, after_long_help = help::SHEET_AFTER)]
    ScaleSheet(scale_sheet::ScaleSheetArguments),
    #[command(about = "Reads the outline of a thing, with its holes", long_about = help::OUTLINE, after_long_help = help::OUTLINE_AFTER)]
    Outline(Box<outline::OutlineArguments>),
    #[command(about = "Reads a drop and writes it into the stock log", long_about = help::STOCK, after_long_help = help::STOCK_AFTER)]
    Stock(Box<stock::StockArguments>),
}

pub(crate) fn photo(typed: Photo, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    match typed.verb {
        Verb::ScaleSheet(typed) => scale_sheet::scale_sheet(&typed, environment),
        Verb::Outline(typed) => outline::outline(&typed, colour, environment),
        Verb::Stock(typed) => stock::stock(*typed, colour, environment),
    }
}
