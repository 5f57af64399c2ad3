//! `look`: a page on this machine that follows a job file while it is written.

mod gallery;
mod trouble;
mod worker;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use clap::Args;
use dropwise_formats::{OwnSheets, Rack};
use dropwise_live::{Board, OpenError, Server};
use dropwise_stock::StockLog;

use crate::arguments::seconds;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::shop_checks::ShopChoice;
use crate::stock_log::{LogChoice, rack_pieces, stop};
use crate::text::{cleaned, wrapped};
use gallery::Pictures;
use worker::{RackReader, Worker};

pub(crate) const ABOUT: &str = "Shows a job on a page that follows its file as you save it";

pub(crate) const LONG_ABOUT: &str = "\
Shows a job on a page that follows its file as you save it.

The page is on this machine only, at an address with a token in it that is printed. Open it in a browser beside the editor. \
Whenever the job file, or a drawing, list or shop file that it names, is saved, the page draws anew: each part laid flat and \
bent up, what the shop checks say, and the nest with its cost, which improves while you look. The bent part is turned with the \
mouse or the arrow keys. A fault in the file leaves the last good pictures and is shown with its line.

Nothing is written and nothing is fetched from elsewhere. Ctrl-C ends it.";

pub(crate) const AFTER: &str = "\
Examples:
  Beside the editor:
      dropwise look brackets.toml
  At a port of your choice, to keep a bookmark's first half:
      dropwise look brackets.toml --port 8123
  Nested on what lies in the rack:
      dropwise look brackets.toml --from-stock";

/// What was typed after `look`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Look {
    /// The job file, TOML or JSON
    job: PathBuf,
    /// Listen at this port [default: any that is free]
    #[arg(long, value_name = "PORT", value_parser = port)]
    port: Option<u16>,
    /// Improve the nest for so long after each change
    #[arg(long, value_name = "SECONDS", default_value = "30", value_parser = seconds, allow_negative_numbers = true)]
    seconds: f64,
    #[command(flatten)]
    shop: ShopChoice,
    /// Nest on what lies in the rack by the stock log, in place of the job's own sheets
    #[arg(long)]
    from_stock: bool,
    #[command(flatten)]
    log: LogChoice,
}

fn port(text: &str) -> Result<u16, String> {
    let number = text.parse().ok().filter(|&number| number > 0);
    number.ok_or_else(|| "write a whole number from 1 to 65535".to_owned())
}

/// How often is looked whether somebody wants it to end.
const GLANCE: Duration = Duration::from_millis(40);

pub(crate) fn look(typed: &Look, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    // A name that leads nowhere is a slip now; later it is a file that will come back.
    if !typed.job.is_file() {
        let complaint = Complaint::new("there is no such file").at(typed.job.display());
        return Err(Stop::bad_input(
            complaint.with_cure("Check its name and folder; `dropwise jot` writes a first one"),
        ));
    }
    let rack = rack_reader(typed, environment)?;
    let interrupts = environment.interrupts();
    let board = Board::default();
    let pictures = Arc::new(Pictures::default());
    let server = Server::open(typed.port.unwrap_or(0), board.clone(), Arc::clone(&pictures) as _);
    let server = server.map_err(|error| Stop::bad_input(refused(&error)))?;
    environment.print(&format!("{}\n", server.address()))?;
    let text = format!(
        "Open this address in a browser on this machine: it shows {} as it is saved. Ctrl-C ends it.",
        cleaned(&typed.job.display().to_string())
    );
    environment.say(&wrapped("", 0, &text));
    let worker =
        Worker { job: typed.job.clone(), shop: typed.shop.shop.clone(), rack, seconds: typed.seconds, board, pictures };
    let running = worker.start().map_err(|error| Stop::failure(Complaint::new(error.to_string())))?;
    while !interrupts.has_any() && !running.is_over() {
        std::thread::sleep(GLANCE);
    }
    let is_sound = running.end();
    server.close();
    environment.say("Ended.\n");
    Ok(if is_sound { Exit::Done } else { Exit::Failure })
}

/// What reads the rack anew whenever the job is read.
fn rack_reader(typed: &Look, environment: &Environment<'_>) -> Result<Option<RackReader>, Stop> {
    if !typed.from_stock {
        return Ok(None);
    }
    let path = typed.log.path(environment)?;
    let clock = environment.clock();
    let read = move || {
        let log = StockLog::open_read_only(&path, clock.clone()).map_err(|error| stop(&error))?;
        Ok(Rack { pieces: rack_pieces(&log)?, own: OwnSheets::LeftOut })
    };
    // A log that is not there is told at once.
    read()?;
    Ok(Some(Box::new(read)))
}

fn refused(error: &OpenError) -> Complaint {
    let complaint = Complaint::new(error.to_string()).because_of(error).at("--port");
    match error {
        OpenError::InUse { .. } => {
            complaint.with_cure("Name another with --port, or leave it out for any that is free")
        }
        _ => complaint.with_cure("Leave --port out for any that is free"),
    }
}
