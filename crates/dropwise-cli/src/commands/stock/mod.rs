//! `stock`: what lies in the rack, and what happened to it.

pub(crate) mod add;
mod ask;
mod carry;
mod change;
mod describe;
mod desk;
mod figures;
mod find;
mod form;
pub(crate) mod help;
mod labels;
mod list;
mod show;
mod verify;

use clap::{Args, Subcommand};

use crate::arguments::Colour;
use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::LogChoice;

pub(crate) use describe::{in_words, piece_table};
pub(crate) use desk::{Desk, DeskArguments, told, told_when_behind};

/// What was typed after `stock`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Stock {
    #[command(subcommand)]
    verb: Verb,
    #[command(flatten)]
    log: LogChoice,
    #[command(flatten)]
    desk: DeskArguments,
}

/// One for each thing that is done with the rack.
#[derive(Clone, Debug, Subcommand)]
enum Verb {
    #[command(about = "Writes down a piece that came into the shop", long_about = help::ADD, after_long_help = help::ADD_AFTER)]
    Add(Box<add::Add>),
    #[command(about = "Lists what lies in the rack", after_long_help = help::LIST_AFTER)]
    List(list::List),
    #[command(about = "Shows one piece, with a picture", after_long_help = help::SHOW_AFTER)]
    Show(show::Show),
    #[command(about = "Finds the pieces that hold a part", long_about = help::FIND, after_long_help = help::FIND_AFTER)]
    Find(Box<find::Find>),
    #[command(about = "Tells what the rack holds: area, weight, money", after_long_help = help::VALUE_AFTER)]
    Value(figures::Figured),
    #[command(about = "Tells how the metal was used, month by month", long_about = help::REPORT, after_long_help = help::REPORT_AFTER)]
    Report(figures::Figured),
    #[command(about = "Makes labels to print, with QR codes", long_about = help::LABELS, after_long_help = help::LABELS_AFTER)]
    Labels(labels::Labels),
    #[command(about = "Writes down that a piece lies elsewhere now", after_long_help = help::MOVE_AFTER)]
    Move(change::Move),
    #[command(about = "Writes down what was found when a piece was measured", long_about = help::MEASURE, after_long_help = help::MEASURE_AFTER)]
    Measure(Box<change::Measure>),
    #[command(about = "Writes down that a piece went into the scrap bin", after_long_help = help::SCRAP_AFTER)]
    Scrap(change::Scrap),
    #[command(about = "Tells what happened to a piece, back to its purchase", after_long_help = help::HISTORY_AFTER)]
    History(show::History),
    #[command(about = "Takes back the last event, or another", long_about = help::UNDO, after_long_help = help::UNDO_AFTER)]
    Undo(change::Undo),
    #[command(about = "Tells whether the log is sound, and mends it", long_about = help::VERIFY, after_long_help = help::VERIFY_AFTER)]
    Verify(verify::Verify),
    #[command(about = "Reads pieces from a list, or a whole log", long_about = help::IMPORT, after_long_help = help::IMPORT_AFTER)]
    Import(carry::Import),
    #[command(about = "Writes the rack as CSV, or the whole log as JSON", after_long_help = help::EXPORT_AFTER)]
    Export(carry::Export),
}

pub(crate) fn stock(typed: Stock, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let desk = Desk::new(typed.log, &typed.desk, colour, environment)?;
    match typed.verb {
        Verb::Add(typed) => add::add(*typed, &desk, environment),
        Verb::List(typed) => list::list(&typed, &desk, environment),
        Verb::Show(typed) => show::show(&typed, &desk, environment),
        Verb::Find(typed) => find::find(&typed, &desk, environment),
        Verb::Value(typed) => figures::value(&typed, &desk, environment),
        Verb::Report(typed) => figures::report(&typed, &desk, environment),
        Verb::Labels(typed) => labels::labels(&typed, &desk, environment),
        Verb::Move(typed) => change::relocate(&typed, &desk, environment),
        Verb::Measure(typed) => change::measure(&typed, &desk, environment),
        Verb::Scrap(typed) => change::scrap(&typed, &desk, environment),
        Verb::History(typed) => show::history(&typed, &desk, environment),
        Verb::Verify(typed) => verify::verify(&typed, &desk, environment),
        Verb::Import(typed) => carry::import(&typed, &desk, environment),
        Verb::Export(typed) => carry::export(&typed, &desk, environment),
        Verb::Undo(typed) => change::undo(&typed, &desk, environment),
    }
}
