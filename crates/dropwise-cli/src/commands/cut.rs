//! `cut`: from plan to rack.

use std::path::PathBuf;

use clap::Args;
use dropwise_formats::PlanDocument;
use dropwise_geometry::{Outline, Point, Shape};
use dropwise_stock::{Change, CutPlan, EventNumber, PlannedSheet, Source, StockSheet};

use super::stock::{Desk, DeskArguments, piece_table, told, told_when_behind};
use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::{LogChoice, Purpose};

/// What was typed after `cut`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Cut {
    /// The plan: `plan.json` in the folder that `nest --out` wrote
    plan: PathBuf,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
    #[command(flatten)]
    log: LogChoice,
    #[command(flatten)]
    desk: DeskArguments,
}

pub(crate) fn cut(typed: &Cut, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let desk = Desk::new(typed.log.clone(), &typed.desk, colour, environment)?;
    let complain =
        |problem: String, cure: &str| Stop::bad_input(Complaint::new(problem).at(typed.plan.display()).with_cure(cure));
    let text = std::fs::read_to_string(&typed.plan)
        .map_err(|error| complain(format!("cannot be read: {error}"), "Name the plan.json that `nest --out` wrote"))?;
    let document = PlanDocument::read(&text)
        .map_err(|error| complain(error.to_string(), "Name the plan.json that `nest --out` wrote"))?;
    let plan = planned(&document).map_err(|names| {
        let problem = format!("it cuts sheets that are not from the stock log: {}", names.join(", "));
        complain(problem, "Add them to the log, and nest again with --from-stock")
    })?;
    let mut log = desk.open(Purpose::Change, environment)?;
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

/// What a plan does to the rack, or the names of sheets that are not from the log.
fn planned(document: &PlanDocument) -> Result<CutPlan, Vec<String>> {
    let mut strangers = Vec::new();
    let mut sheets = Vec::new();
    for entry in &document.sheets {
        let tag = entry.tag.as_ref().and_then(|tag| tag.parse().ok());
        let Some((tag, revision)) = tag.zip(entry.revision) else {
            strangers.push(crate::text::shortened(&entry.name, 40));
            continue;
        };
        let ring = |points: &Vec<[f64; 2]>| Outline::polygon(points.iter().map(|&[x, y]| Point::new(x, y)));
        let leftovers = entry.leftovers.iter();
        let leftovers = leftovers.map(|left| Shape::new(ring(&left.outline), left.holes.iter().map(ring).collect()));
        sheets.push(PlannedSheet {
            source: Source::Held { tag, revision: EventNumber(revision) },
            parts_area: entry.net_area,
            leftovers: leftovers.collect(),
        });
    }
    if strangers.is_empty() { Ok(CutPlan { name: document.job.name.clone(), sheets }) } else { Err(strangers) }
}
