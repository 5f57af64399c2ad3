//! `stock show` and `stock history`: one piece, and its life.

use std::path::PathBuf;

use clap::Args;
use dropwise_paper::draw_piece;
use dropwise_shop::stock_in_words;
use dropwise_stock::Origin;
use serde_json::json;

use super::describe::{json_page, piece_json, short_stock, size};
use super::desk::{Desk, told};
use super::figures::svg_file;
use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::write_file;
use crate::picture::picture;
use crate::stock_log::Purpose;
use crate::text::{cleaned, wrapped};

/// What was typed after `stock show`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Show {
    /// The tag on the piece
    tag: String,
    /// Draw it in this file too, SVG
    #[arg(long, value_name = "FILE.svg", value_parser = svg_file)]
    out: Option<PathBuf>,
    /// Print everything as JSON; lengths mm, areas mm², weights kg, money in the smallest coin
    #[arg(long)]
    json: bool,
}

/// What was typed after `stock history`.
#[derive(Clone, Debug, Args)]
pub(crate) struct History {
    /// The tag on the piece; it may be cut or scrapped by now
    tag: String,
    /// Print everything as JSON
    #[arg(long)]
    json: bool,
}

/// Where values begin.
const HANG: usize = 13;

pub(crate) fn show(typed: &Show, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let tag = desk.tag(&typed.tag)?;
    let log = desk.open(Purpose::Look, environment)?;
    let sheet = log.sheet(tag).map_err(told)?;
    let now = log.now();
    if let Some(path) = &typed.out {
        let title = format!("{tag}: {}", short_stock(&sheet.details, desk));
        let (details, unit) = (&sheet.details, desk.unit);
        let drawing = draw_piece(&title, &details.place, &details.shape, &details.damage, unit);
        write_file(path, drawing.as_bytes())?;
    }
    if typed.json {
        environment.print(&json_page(&piece_json(&sheet, now)))?;
        return Ok(Exit::Done);
    }
    let details = &sheet.details;
    let mut page = format!("{}\n", desk.ink.strong(tag.as_str()));
    page.push_str(&picture(&details.shape, &details.damage));
    let mut line = |label: &str, text: String| {
        if !text.trim().is_empty() {
            page.push_str(&wrapped(&format!("{label:<HANG$}"), HANG, &cleaned(&text)));
        }
    };
    line("stock", stock_in_words(details.class().label(), desk.unit));
    line("size", format!("{} over all", size(&details.shape, desk).trim_end_matches('*')));
    line("metal", format!("{}, {}", desk.area(details.area()), desk.weight(details.weight())));
    line("measured", details.measured_mm.map_or_else(String::new, |measured| format!("{} thick", desk.show(measured))));
    line("grade", details.grade.clone());
    line("coating", details.coating.clone());
    line("grain", details.grain_deg.map_or_else(String::new, |grain| format!("{grain}° from the x axis")));
    let zones = details.damage.len();
    let damage = match zones {
        0 => String::new(),
        1 => "one zone, shaded above".to_owned(),
        _ => format!("{zones} zones, shaded above"),
    };
    line("damage", damage);
    line("place", details.place.clone());
    line("state", sheet.state.name().to_owned());
    let origin = match sheet.origin {
        Origin::Bought { paid } => format!("bought for {}", desk.money(paid)),
        Origin::LeftOver { from } => format!("left over from {from}, bought as {}", sheet.purchase),
    };
    line("origin", origin);
    line("carries", desk.money(sheet.cost));
    line("here since", format!("{} ({} days)", sheet.since, sheet.since.days_until(now)));
    line("bought from", details.supplier.clone());
    line("heat number", details.heat_number.clone());
    line("certificate", details.certificate.clone());
    line("photo", details.photo.clone());
    line("notes", details.notes.clone());
    environment.print(&page)?;
    Ok(Exit::Done)
}

pub(crate) fn history(typed: &History, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let tag = desk.tag(&typed.tag)?;
    let history = desk.open(Purpose::Look, environment)?.history(tag).map_err(told)?;
    if typed.json {
        let events = history.entries.iter().map(|entry| {
            json!({ "tag": entry.tag, "role": entry.role.name(), "event": entry.event, "undone_by": entry.undone_by })
        });
        let events: Vec<_> = events.collect();
        environment.print(&json_page(&json!({ "descent": history.descent, "events": events })))?;
        return Ok(Exit::Done);
    }
    let mut page = String::new();
    for entry in &history.entries {
        let mut text = entry.event.change.words(entry.tag);
        if !entry.event.cause.is_empty() {
            text.push_str(&format!(": {}", entry.event.cause));
        }
        if entry.event.is_clock_behind {
            text.push_str(" (the clock stood behind)");
        }
        if let Some(by) = entry.undone_by {
            text.push_str(&format!(" (undone by event {by})"));
        }
        let head = format!("{:>5}  {}  {:<8}  ", entry.event.number, entry.event.time, entry.tag.as_str());
        page.push_str(&wrapped(&head, 39, &cleaned(&text)));
    }
    environment.print(&page)?;
    Ok(Exit::Done)
}
