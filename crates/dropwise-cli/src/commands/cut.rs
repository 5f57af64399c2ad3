//! `cut`: from plan to rack.

mod sources;

use std::path::PathBuf;

use clap::Args;
use dropwise_geometry::Unit;
use dropwise_stock::{Change, StockSheet, Tag};

use super::stock::{Desk, DeskArguments, piece_table, told, told_when_behind};
use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::plan_file::{Proved, proved};
use crate::stock_log::{LogChoice, Purpose};

/// What was typed after `cut`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Cut {
    /// The plan: `plan.json` in the folder that `nest --out` wrote
    plan: PathBuf,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
    /// The piece of the log that a sheet of the plan is; may be given several times
    ///
    /// For sheets that the plan does not have from the log, and that were added to it since. Metal, outline and place of the
    /// corners must be the same. Of sheets of one name, the first named TAG is the first of them.
    #[arg(long, value_name = "NAME=TAG")]
    sheet: Vec<String>,
    /// Record sheets that are not from the log as bought for this plan, at its prices, and cut at once
    #[arg(long)]
    bought: bool,
    /// Record a plan of bought sheets once more: the same was cut again
    #[arg(long)]
    again: bool,
    #[command(flatten)]
    log: LogChoice,
    #[command(flatten)]
    desk: DeskArguments,
}

pub(crate) fn cut(typed: &Cut, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let mut desk = Desk::new(typed.log.clone(), &typed.desk, colour, environment)?;
    // Nothing is recorded that would not be drawn.
    let Proved { document, rebuilt } = proved(&typed.plan)?;
    let named = named(&typed.sheet, &desk)?;
    // A log is started for what was bought, never for what should be in it.
    let is_all_new = typed.bought && named.is_empty() && document.sheets.iter().all(|sheet| sheet.tag.is_none());
    // A log that is begun here speaks the unit of the plan, unless another was said.
    desk.unit_told = desk.unit_told.or(document.job.unit.parse::<Unit>().ok().filter(|_| is_all_new));
    let mut log = desk.open(if is_all_new { Purpose::Add } else { Purpose::Change }, environment)?;
    if typed.bought {
        sources::count_in_coins_of_plan(&document, &mut log)?;
    }
    let plan = sources::planned(&document, &rebuilt.plan, typed, named, &desk, &log)?;
    if !typed.again {
        sources::refuse_repeated(&plan, typed, &log)?;
    }
    let receipt = log.record_cut(&plan, &typed.cause).map_err(told)?;
    told_when_behind(&receipt, desk.stderr_ink, environment);
    let leftovers: Vec<StockSheet> =
        receipt.tags.iter().map(|&tag| log.sheet(tag)).collect::<Result<_, _>>().map_err(told)?;
    let events = log.events().map_err(told)?;
    let scrap: f64 = events
        .iter()
        .filter(|event| event.number == receipt.number)
        .filter_map(|event| if let Change::Cut { sheets, .. } = &event.change { Some(sheets) } else { None })
        .flatten()
        .map(|sheet| sheet.scrap_kg)
        .sum();
    let mut page = format!(
        "Recorded as event {}: {} cut, {} left over, {} of scrap.\n",
        receipt.number,
        plan.sheets.len(),
        leftovers.len(),
        desk.weight(scrap)
    );
    if !leftovers.is_empty() {
        page.push_str("\nChalk these tags on what is left over:\n");
        page.push_str(&piece_table(&leftovers, log.now(), &desk));
    }
    environment.print(&page)?;
    Ok(Exit::Done)
}

/// What `--sheet` says: names with tags.
fn named(typed: &[String], desk: &Desk) -> Result<Vec<(String, Tag)>, Stop> {
    let one = |text: &String| {
        // A name may have an equals sign in it, a tag has none.
        let Some((name, tag)) = text.rsplit_once('=') else {
            let complaint = Complaint::new(format!("\"{}\" names no tag", crate::text::shortened(text, 40)));
            let cure = "Write the name of the plan's sheet and the tag in the log, such as \"drop 7=7CDP\"";
            return Err(Stop::bad_input(complaint.at("--sheet").with_cure(cure)));
        };
        Ok((name.trim().to_owned(), desk.tag(tag.trim())?))
    };
    typed.iter().map(one).collect()
}
