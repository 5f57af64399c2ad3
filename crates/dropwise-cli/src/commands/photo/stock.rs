//! `photo stock`: a drop, from a photograph into the stock log.

use std::path::PathBuf;

use clap::Args;
use dropwise_model::Money;
use dropwise_stock::{Details, NewSheet};

use super::result::{files, page};
use super::taken::Taken;
use crate::arguments::Colour;
use crate::commands::stock::add::{Written, keep};
use crate::commands::stock::{Desk, DeskArguments, in_words, told, told_when_behind};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::OutFolder;
use crate::stock_log::{LogChoice, Purpose};
use crate::text::wrapped;

/// What was typed after `photo stock`.
#[derive(Clone, Debug, Args)]
pub(crate) struct StockArguments {
    #[command(flatten)]
    taken: Taken,
    /// The metal, such as `mild steel` or `5052`
    #[arg(long, value_name = "METAL")]
    material: String,
    /// How thick it was sold as: a gauge such as `16 ga`, or a length
    #[arg(long, value_name = "THICKNESS")]
    thickness: String,
    /// What was paid for it: `18.50` for the piece, `0.35 per lb`, `2.10 per kg`, or `paid` for nothing more
    #[arg(long, value_name = "PRICE")]
    price: Option<String>,
    #[command(flatten)]
    notes: Written,
    /// Write drawings and the picture to this folder too
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write it down without asking
    #[arg(long)]
    yes: bool,
    #[command(flatten)]
    log: LogChoice,
    #[command(flatten)]
    desk: DeskArguments,
}

pub(crate) fn stock(typed: StockArguments, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let desk = Desk::new(typed.log.clone(), &typed.desk, colour, environment)?;
    let material = desk.material("--material", &typed.material).map_err(Stop::bad_input)?;
    let thickness = desk.thickness("--thickness", &typed.thickness, material).map_err(Stop::bad_input)?;
    let out = typed.out.as_deref().map(OutFolder::open).transpose()?;
    if !typed.yes && !environment.has_answers() {
        let complaint = Complaint::new("there is no terminal to ask at whether to write it down");
        return Err(Stop::bad_input(
            complaint.with_cure("Look at it with `dropwise photo outline` first, then add --yes"),
        ));
    }
    let (photograph, reading) = typed.taken.read(thickness.millimetres(), desk.unit)?;
    environment.print(&page(&reading, desk.unit, desk.ink))?;
    let mut faults = Vec::new();
    let mut details = Details { damage: reading.damage.clone(), ..Details::new(reading.shape(), material, thickness) };
    let first = &typed.taken.photographs[0];
    // The path from the root, so that it holds wherever the log is asked from.
    details.photo = std::path::absolute(first).unwrap_or_else(|_| first.clone()).display().to_string();
    typed.notes.write_to(&mut details, &desk, &mut faults);
    let mut paid = Money::ZERO;
    if let Some(text) = &typed.price {
        keep(desk.price_of("--price", text, &details), &mut faults, |price| paid = price);
    }
    if !faults.is_empty() {
        return Err(Stop { exit: Exit::BadInput, complaints: faults });
    }
    if let Some(out) = &out {
        let files = files(&reading, &photograph, "drop", desk.unit)?;
        if let Err(complaints) = out.write(&files) {
            return Err(Stop { exit: Exit::Failure, complaints });
        }
    }
    let words = format!("{}, {}", in_words(&details, &desk), desk.money(paid));
    environment.say(&wrapped("", 2, &words));
    if !typed.yes {
        let answer = environment.ask("Write it down? [y/N] ").unwrap_or_default();
        if !answer.to_lowercase().starts_with('y') {
            return Err(Stop::bad_input(Complaint::new("nothing was written down")));
        }
    }
    let mut log = desk.open(Purpose::Add, environment)?;
    let receipt =
        log.buy(vec![NewSheet { tag: None, details, paid, since: None }], "read from a photograph").map_err(told)?;
    told_when_behind(&receipt, desk.stderr_ink, environment);
    let mut text = String::new();
    for tag in &receipt.tags {
        text.push_str(&wrapped(&format!("{}  ", desk.ink.strong(tag.as_str())), 6, &words));
    }
    environment.print(&text)?;
    environment.say(&format!("Written down as event {}. Chalk the tag on it.\n", receipt.number));
    Ok(Exit::Done)
}
