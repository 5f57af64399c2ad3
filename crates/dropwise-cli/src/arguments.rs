//! What was typed.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, ColorChoice, CommandFactory as _, FromArgMatches as _, Parser, Subcommand, ValueEnum};

use crate::commands::draw::{self, Draw};
use crate::commands::photo;
use crate::commands::{buy, check, compare, cut, fits, flat, jot, look, outfit, prove, stock};
use crate::environment::Environment;
use crate::help;
use crate::shop_checks::{CautionChoice, ShopChoice};
use crate::stand_in::NearChoice;
use crate::stock_log::LogChoice;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "dropwise",
    version,
    about = help::ABOUT,
    long_about = help::LONG_ABOUT,
    after_help = help::AFTER_HELP,
    after_long_help = help::after_long_help(),
    max_term_width = 80,
    term_width = 80,
    subcommand_required = true,
    arg_required_else_help = true,
)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
    /// Colour on terminals
    ///
    /// `auto` colours what goes to a terminal, unless the variable NO_COLOR is set or the terminal knows no colour.
    /// Nothing is told by colour alone.
    #[arg(
        long,
        visible_alias = "color",
        global = true,
        display_order = 900,
        value_enum,
        value_name = "WHEN",
        default_value_t
    )]
    pub(crate) colour: Colour,
}

/// One for each file in `commands`.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    #[command(about = help::NEST_ABOUT, long_about = help::NEST_LONG_ABOUT, after_long_help = help::nest_after_long_help())]
    Nest(Nest),
    #[command(about = fits::ABOUT, long_about = fits::LONG_ABOUT, after_long_help = fits::AFTER)]
    Fits(fits::Fits),
    #[command(about = jot::ABOUT, long_about = jot::LONG_ABOUT, after_long_help = jot::after_long_help())]
    Jot(Box<jot::Jot>),
    #[command(about = "Lays bent parts flat and tells every number", long_about = flat::LONG_ABOUT, after_long_help = flat::AFTER)]
    Flat(flat::Flat),
    #[command(about = "Checks parts against the shop's tools and the metal", long_about = check::LONG_ABOUT, after_long_help = check::AFTER)]
    Check(check::Check),
    #[command(about = look::ABOUT, long_about = look::LONG_ABOUT, after_long_help = look::AFTER)]
    Look(look::Look),
    #[command(about = "Keeps the stock log: what lies in the rack", long_about = stock::help::STOCK, after_long_help = stock::help::STOCK_AFTER, subcommand_required = true, arg_required_else_help = true)]
    Stock(Box<stock::Stock>),
    #[command(about = "Records in the stock log that a plan was cut", long_about = stock::help::CUT, after_long_help = stock::help::CUT_AFTER)]
    Cut(cut::Cut),
    #[command(about = prove::ABOUT, long_about = prove::LONG_ABOUT, after_long_help = prove::after_long_help())]
    Prove(prove::Prove),
    #[command(about = compare::ABOUT, long_about = compare::LONG_ABOUT, after_long_help = compare::AFTER)]
    Compare(compare::Compare),
    #[command(about = draw::help::ABOUT, long_about = draw::help::LONG_ABOUT, after_long_help = draw::help::after_long_help())]
    Draw(Draw),
    #[command(about = buy::ABOUT, long_about = buy::LONG_ABOUT, after_long_help = buy::AFTER)]
    Buy(buy::Buy),
    #[command(about = "Reads outlines from photographs beside a scale sheet", long_about = photo::LONG_ABOUT, after_long_help = photo::AFTER)]
    Photo(photo::Photo),
    #[command(about = outfit::ABOUT, long_about = outfit::LONG_ABOUT, after_long_help = outfit::AFTER)]
    Outfit(Box<outfit::Outfit>),
    #[command(about = help::MANUAL_ABOUT, long_about = help::MANUAL_LONG_ABOUT, after_long_help = help::MANUAL_AFTER)]
    Manual(Manual),
    #[command(about = help::COMPLETIONS_ABOUT, after_long_help = help::COMPLETIONS_AFTER)]
    Completions(Completions),
    #[command(about = help::SCHEMA_ABOUT, long_about = help::SCHEMA_LONG_ABOUT, after_long_help = help::SCHEMA_AFTER)]
    Schema(Schema),
}

/// What was typed after `nest`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Nest {
    /// The job file, TOML or JSON
    ///
    /// It names the parts, the sheets and the rules between them. Drawings and lists that it names are looked for in
    /// its own folder.
    pub(crate) job: PathBuf,
    /// Write the plan and its drawings to this folder
    ///
    /// Written are `plan.json`, `report.html`, `overview.svg`, a `sheet-N.svg` for each sheet that is cut,
    /// `cut-sheets.pdf`, and `bend-cards.pdf` where parts are bent. The folder is made if it is not there; files of these names are replaced. `dropwise draw DIR`
    /// adds templates at full size, mark-out tables, DXF and SVG for machines.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Go on from an earlier plan: `plan.json`, or the folder it lies in
    ///
    /// Where its parts lie, by their names and those of the sheets, is what the search begins with, as far as it holds for
    /// this job: parts may have been added or taken out, sheets sold or cut, placements moved by hand. What no longer holds is
    /// told. If all of it holds, the new plan costs no more.
    #[arg(long, value_name = "PLAN")]
    pub(crate) go_on_from: Option<PathBuf>,
    /// Search for so long, or less if nothing cheaper can exist [default: 10]
    ///
    /// Fractions are allowed. With `--rounds` alone there is no limit of time; with both, whichever is reached first
    /// ends the search.
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true)]
    pub(crate) seconds: Option<f64>,
    /// Search for so many rounds
    ///
    /// The same job, seed and rounds give the same plan, on any number of threads. With 0 the first plan is taken.
    #[arg(long, value_name = "COUNT", value_parser = whole_number, allow_negative_numbers = true)]
    pub(crate) rounds: Option<u64>,
    /// Where chance starts
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = whole_number, allow_negative_numbers = true)]
    pub(crate) seed: u64,
    /// Threads to search with; 0 for one a core
    #[arg(long, value_name = "COUNT", default_value_t = 0, value_parser = threads)]
    pub(crate) threads: usize,
    /// Write what the search did over time: a picture (.svg) or a table (.csv)
    ///
    /// Cost, energy, overlap and temperature over time, and how often each kind of move was tried and taken.
    #[arg(long, value_name = "FILE")]
    pub(crate) trace: Option<PathBuf>,
    /// Print all tables and cautions, not only what is looked at first
    ///
    /// Each sheet by itself, measures and bends of every part, where metal and money go, and each caution in full.
    #[arg(long, conflicts_with = "json")]
    pub(crate) full: bool,
    /// Print the plan as JSON instead of the report
    ///
    /// One versioned document with everything in it; `dropwise schema plan` prints its structure.
    #[arg(long)]
    pub(crate) json: bool,
    #[command(flatten)]
    pub(crate) shop: ShopChoice,
    #[command(flatten)]
    pub(crate) cautions: CautionChoice,
    #[command(flatten)]
    pub(crate) near: NearChoice,
    /// Nest even parts that the shop checks say cannot be made so
    ///
    /// `dropwise check` tells what is wrong with them. They may be meant for another shop.
    #[arg(long)]
    pub(crate) despite_checks: bool,
    /// No progress and no notes, only what is wrong or may be
    #[arg(long, short)]
    pub(crate) quiet: bool,
    /// Cut from what lies in the rack by the stock log
    ///
    /// The rack takes the place of the sheets that the job file names, which are left out: a drop that stands in both
    /// would be there twice. Each piece counts for what it carries of the money paid. `dropwise cut` then records the plan.
    #[arg(long)]
    pub(crate) from_stock: bool,
    /// With --from-stock, keep the sheets of the job file too
    ///
    /// As for sheets that the yard would deliver at the prices in the job file.
    #[arg(long, requires = "from_stock")]
    pub(crate) own_sheets: bool,
    #[command(flatten)]
    pub(crate) log: LogChoice,
}

/// More would only stand in each other's way, and a slip of the keyboard must not bring the machine down.
const MOST_THREADS: usize = 512;

/// What was typed after `completions`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub(crate) shell: clap_complete::Shell,
}

/// What was typed after `manual`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Manual {
    /// Write a page for each command to this folder
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
}

/// What was typed after `schema`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Schema {
    /// Of which file
    #[arg(value_enum, default_value_t)]
    pub(crate) of: SchemaOf,
}

/// The files that have a schema.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The job file
    #[default]
    Job,
    /// What `nest --json` prints
    Plan,
    /// The shop file
    Shop,
}

/// When to colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// On terminals
    #[default]
    Auto,
    /// Even into files and pipes
    Always,
    /// Never
    Never,
}

impl Colour {
    /// Whether to colour what goes to standard output, or to standard error.
    pub(crate) fn is_wanted(self, environment: &Environment<'_>, is_stderr: bool) -> bool {
        match self {
            Self::Always => true,
            Self::Never => false,
            Self::Auto => {
                environment.is_terminal(is_stderr)
                    && environment.variable("NO_COLOR").is_none()
                    && environment.variable("TERM") != Some("dumb")
            }
        }
    }
}

/// Parses the command line. Help and versions come as errors too, as clap has it.
pub(crate) fn parse(arguments: Vec<OsString>) -> Result<Arguments, clap::Error> {
    Arguments::from_arg_matches(&command().try_get_matches_from(arguments)?)
}

/// The definition that help and completions grow from.
pub(crate) fn command() -> clap::Command {
    // Whether its pages are coloured is decided when they are printed.
    crate::next::told(help::grouped(Arguments::command())).color(ColorChoice::Always)
}

/// What the command line says of colour, for messages about a command line that cannot be parsed.
pub(crate) fn colour_asked_for(arguments: &[OsString]) -> Colour {
    let texts: Vec<&str> = arguments.iter().filter_map(|argument| argument.to_str()).collect();
    let names = ["--colour", "--color"];
    let values = texts.iter().enumerate().filter_map(|(index, text)| match text.split_once('=') {
        Some((name, value)) if names.contains(&name) => Some(value),
        None if names.contains(text) => texts.get(index + 1).copied(),
        _ => None,
    });
    values.filter_map(|value| Colour::from_str(value, false).ok()).next_back().unwrap_or_default()
}

/// A day is more than any shop waits.
const MOST_SECONDS: f64 = 86_400.0;

pub(crate) fn seconds(text: &str) -> Result<f64, String> {
    let seconds: f64 = text.parse().map_err(|_| "write a number of seconds, such as 30 or 2.5".to_owned())?;
    if seconds > 0.0 && seconds <= MOST_SECONDS {
        Ok(seconds)
    } else {
        Err(format!("write more than 0 and at most {MOST_SECONDS} seconds; for the first plan found, use --rounds 0"))
    }
}

pub(crate) fn whole_number(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("write a whole number from 0 to {}", u64::MAX))
}

fn threads(text: &str) -> Result<usize, String> {
    let count = text.parse().ok().filter(|&count| count <= MOST_THREADS);
    count.ok_or_else(|| format!("write a whole number from 0 to {MOST_THREADS}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definition_is_sound() {
        command().debug_assert();
    }

    #[test]
    fn the_last_word_on_colour_counts() {
        let asked = |line: &str| colour_asked_for(&line.split(' ').map(OsString::from).collect::<Vec<_>>());
        assert_eq!(asked("dropwise nest"), Colour::Auto);
        assert_eq!(asked("dropwise --colour never nest --color=always"), Colour::Always);
        assert_eq!(asked("dropwise --colour"), Colour::Auto);
        assert_eq!(asked("dropwise --color mauve"), Colour::Auto);
    }

    #[test]
    fn seconds_at_both_ends_and_beyond() {
        assert_eq!(seconds("0.01"), Ok(0.01));
        assert_eq!(seconds("86400"), Ok(86400.0));
        for bad in ["0", "-1", "86400.1", "nan", "inf", "ten", ""] {
            assert!(seconds(bad).is_err(), "{bad}");
        }
    }
}
