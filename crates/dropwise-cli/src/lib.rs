//! The dropwise command: arguments, progress, tables, exit codes.
//!
//! Everything is reached through [`run`], which is given its arguments, streams and surroundings, so that tests need
//! neither a process nor a terminal. A command parses what was typed, builds what it needs (its request), calls the
//! libraries, and prints. What a figure means, and how it comes about, is the libraries' business.
//!
//! Data goes to standard output, talk to standard error.

mod arguments;
mod commands;
mod complaint;
mod environment;
mod exit;
mod hand_work;
mod help;
mod ink;
mod interrupts;
mod next;
mod out_folder;
mod picture;
mod plan_file;
mod progress;
mod report;
mod seen;
mod shop_checks;
mod stand_in;
mod stock_log;
mod table;
mod text;

use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};

use clap::error::ErrorKind;

use arguments::Command;
use complaint::Complaint;
use ink::Ink;

pub use environment::Environment;
pub use exit::Exit;
pub use interrupts::Interrupts;

/// Runs the command with these arguments, the first of which is the name of the program.
///
/// Nothing is read from the process or written to it except through `environment`.
///
/// # Examples
/// ```
/// use dropwise_cli::{Environment, Exit, run};
/// let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
/// let mut environment = Environment::new(&mut stdout, &mut stderr);
/// assert_eq!(run(["dropwise", "nest", "missing.toml"], &mut environment), Exit::BadInput);
/// drop(environment);
/// assert!(stdout.is_empty() && String::from_utf8_lossy(&stderr).contains("there is no such file"));
/// ```
pub fn run(arguments: impl IntoIterator<Item = impl Into<OsString>>, environment: &mut Environment<'_>) -> Exit {
    let arguments: Vec<OsString> = arguments.into_iter().map(Into::into).collect();
    text::set_columns(environment.columns());
    match catch_unwind(AssertUnwindSafe(|| dispatch(arguments, environment))) {
        Ok(exit) => exit,
        Err(_) => {
            let complaint = Complaint::new("dropwise has run into a fault of its own, described above")
                .with_cure("Nothing is wrong with your files. Please report it, with the job file if you may share it");
            environment.complain(&[complaint], Ink::plain());
            Exit::Failure
        }
    }
}

fn dispatch(arguments: Vec<OsString>, environment: &mut Environment<'_>) -> Exit {
    // Colours of messages about the arguments are asked for in the arguments themselves.
    let when = arguments::colour_asked_for(&arguments);
    let parsed = match arguments::parse(arguments) {
        Ok(parsed) => parsed,
        Err(error) => {
            let ink = when.is_wanted(environment, error.use_stderr());
            let page = error.render();
            let page = if ink { page.ansi().to_string() } else { page.to_string() };
            return match error.kind() {
                ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
                    environment.print(&page).map_or_else(|e| e, |()| Exit::Done)
                }
                _ => {
                    environment.say(&page);
                    Exit::BadInput
                }
            };
        }
    };
    let stderr_ink = Ink::new(parsed.colour.is_wanted(environment, true));
    let outcome = match parsed.command {
        Command::Nest(typed) => commands::nest(typed, parsed.colour, environment),
        Command::Fits(typed) => commands::fits(&typed, parsed.colour, environment),
        Command::Jot(typed) => commands::jot(&typed, parsed.colour, environment),
        Command::Flat(typed) => commands::flat(&typed, parsed.colour, environment),
        Command::Check(typed) => commands::check(&typed, parsed.colour, environment),
        Command::Look(typed) => commands::look(&typed, environment),
        Command::Stock(typed) => commands::stock(*typed, parsed.colour, environment),
        Command::Cut(typed) => commands::cut(&typed, parsed.colour, environment),
        Command::Prove(typed) => commands::prove(&typed, parsed.colour, environment),
        Command::Compare(typed) => commands::compare(&typed, parsed.colour, environment),
        Command::Draw(typed) => commands::draw(&typed, parsed.colour, environment),
        Command::Buy(typed) => commands::buy::buy(typed, parsed.colour, environment),
        Command::Photo(typed) => commands::photo::photo(typed, parsed.colour, environment),
        Command::Outfit(typed) => commands::outfit(&typed, parsed.colour, environment),
        Command::Manual(typed) => commands::manual(&typed, environment),
        Command::Completions(typed) => commands::completions(&typed, environment),
        Command::Schema(typed) => commands::schema(&typed, environment),
    };
    match outcome {
        Ok(exit) => exit,
        Err(stop) => {
            environment.complain(&stop.complaints, stderr_ink);
            stop.exit
        }
    }
}
