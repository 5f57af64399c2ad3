//! `stock find`: which pieces hold a part.

use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use clap::Args;
use dropwise_formats::{OwnSheets, Rack};
use dropwise_model::{Clearances, Job, LeftoverRule, Part, Sheet, StockClass};
use dropwise_nest::{Progress, Settings};
use dropwise_stock::{Holders, Misses, Order, StockSheet, Tag};
use serde_json::{Value, json};

use super::describe::{json_page, piece_json, piece_table};
use super::desk::{Desk, bad, tell_notes, told};
use super::form::Form;
use super::list::Wanted;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::shop_checks::ShopChoice;
use crate::stock_log::{Purpose, load_job};
use crate::text::{shortened, wrapped};

/// What was typed after `stock find`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Find {
    /// The part stands in this job file, with its metal, its grain and the job's clearances
    #[arg(long, value_name = "FILE")]
    job: Option<PathBuf>,
    /// Its name there; not needed where the job has one part
    #[arg(long, value_name = "NAME", requires = "job")]
    part: Option<String>,
    /// Keep so far from the edge of the piece, from holes in it and from damage [default: 0, or the job's]
    #[arg(long, value_name = "LENGTH")]
    margin: Option<String>,
    /// Print everything as JSON; lengths mm, areas mm², weights kg, money in the smallest coin
    #[arg(long)]
    json: bool,
    #[command(flatten, next_help_heading = "Only pieces")]
    wanted: Wanted,
    #[command(flatten)]
    form: Form,
}

/// What is to be held.
struct Sought {
    part: Part,
    /// `None` for a part of any metal.
    class: Option<StockClass>,
    clearances: Clearances,
}

/// How many pieces that do not hold it are named in the table; JSON names all.
const MOST_TOLD: usize = 12;

/// What is left over does not matter here: nothing is large enough to be kept.
const NO_LEFTOVERS: LeftoverRule = LeftoverRule { length: 1e6, width: 1e6, neck: 1.0 };

/// Rounds of the search for a way to lay the part on one piece.
const ROUNDS: u64 = 12;

pub(crate) fn find(typed: &Find, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let sought = typed.sought(desk, environment)?;
    let log = desk.open(Purpose::Look, environment)?;
    let now = log.now();
    let mut sieve = typed.wanted.read(desk, now)?;
    sieve.filter.class.clone_from(&sought.class);
    let pieces = log.list(&sieve.filter, Order::Tag).map_err(told)?;
    let asked: BTreeSet<Tag> =
        pieces.iter().filter(|sheet| sieve.accepts_thickness(sheet, desk)).map(|sheet| sheet.tag).collect();
    let mut fault = None;
    let holds = |sheet: &StockSheet| {
        asked.contains(&sheet.tag)
            && fault.is_none()
            && sought.lies_on(sheet).unwrap_or_else(|stop| {
                fault = Some(stop);
                false
            })
    };
    let mut found = log.find(&sought.part.shape, &sieve.filter, holds).map_err(told)?;
    if let Some(stop) = fault {
        return Err(stop);
    }
    found.others.retain(|(tag, _)| asked.contains(tag));
    let page = if typed.json {
        let holders: Vec<Value> = found.holders.iter().map(|sheet| piece_json(sheet, now)).collect();
        let others: Vec<Value> = found.others.iter().map(|&(tag, misses)| misses_json(tag, misses)).collect();
        json_page(&json!({ "holders": holders, "others": others }))
    } else {
        let table = piece_table(&found.holders, now, desk);
        told_page(&found, &table, desk)
    };
    environment.print(&page)?;
    Ok(if found.holders.is_empty() { Exit::NotAllPlaced } else { Exit::Done })
}

fn told_page(found: &Holders, table: &str, desk: &Desk) -> String {
    let mut page = String::new();
    match found.holders.len() {
        0 => page.push_str("No piece holds this part.\n"),
        1 => page.push_str(&format!("This piece holds it:\n\n{table}")),
        count => page.push_str(&format!("{count} pieces hold it, the smallest first:\n\n{table}")),
    }
    if !found.others.is_empty() {
        page.push_str("\nNot these:\n");
    }
    for (tag, misses) in found.others.iter().take(MOST_TOLD) {
        page.push_str(&wrapped(&format!("{:<6}", tag.as_str()), 6, &reason(*misses, desk)));
    }
    if found.others.len() > MOST_TOLD {
        page.push_str(&format!("and {} more; --json names them all\n", found.others.len() - MOST_TOLD));
    }
    page
}

/// Why a piece does not hold the part, in a few words.
fn reason(misses: Misses, desk: &Desk) -> String {
    match misses {
        Misses::Width(by) => format!("too narrow by {}", desk.gap(by)),
        Misses::Length(by) => format!("too short by {}", desk.gap(by)),
        Misses::Area(by) => format!("too small by {}", desk.area(by)),
        Misses::Girth(by) => format!("too small: a string around the part is {} longer", desk.show(by)),
        _ => "no way was found to lay it there".to_owned(),
    }
}

fn misses_json(tag: Tag, misses: Misses) -> Value {
    let (reason, by) = match misses {
        Misses::Width(by) => ("width", Some(by)),
        Misses::Length(by) => ("length", Some(by)),
        Misses::Area(by) => ("area", Some(by)),
        Misses::Girth(by) => ("girth", Some(by)),
        _ => ("no way found", None),
    };
    json!({ "tag": tag, "reason": reason, "by": by })
}

impl Find {
    fn sought(&self, desk: &Desk, environment: &mut Environment<'_>) -> Result<Sought, Stop> {
        let margin = self.margin.as_ref().map(|text| desk.length("--margin", text)).transpose();
        let margin = margin.map_err(|complaint| bad(vec![complaint]))?;
        let clearances = |margin: f64, kerf: f64| {
            Clearances::new(kerf, kerf, margin).map_err(|error| Stop::bad_input(Complaint::new(error.to_string())))
        };
        let Some(job) = &self.job else {
            let mut described = self.form.read(desk)?;
            tell_notes(&described.notes, desk, environment);
            let count = described.shapes.len();
            return match described.shapes.pop() {
                Some(shape) if count == 1 => {
                    let part = Part::new("part", shape, StockClass::new("any"));
                    Ok(Sought { part, class: None, clearances: clearances(margin.unwrap_or(0.0), 0.0)? })
                }
                _ => {
                    let complaint = Complaint::new(format!("the drawing holds {count} outlines")).at("--drawing");
                    Err(Stop::bad_input(complaint.with_cure("Say with --piece which of them is the part")))
                }
            };
        };
        if !self.form.is_blank() {
            let complaint = Complaint::new("the part is described in two ways").at("--job");
            return Err(Stop::bad_input(complaint.with_cure("Leave out either the job or the outline")));
        }
        // The job's own sheets do not matter here.
        let loaded =
            load_job(job, Some(&Rack { pieces: Vec::new(), own: OwnSheets::LeftOut }), &ShopChoice::default())?;
        let mut part = self.chosen(job, loaded.job.parts())?.clone();
        part.quantity = 1;
        let of_job = loaded.job.clearances();
        let clearances = clearances(margin.unwrap_or(of_job.margin()), of_job.kerf())?;
        Ok(Sought { class: Some(part.class.clone()), part, clearances })
    }

    fn chosen<'p>(&self, job: &Path, parts: &'p [Part]) -> Result<&'p Part, Stop> {
        let names: Vec<String> = parts.iter().map(|part| shortened(&part.name, 40)).collect();
        let problem = match &self.part {
            Some(name) => match parts.iter().find(|part| part.name == *name) {
                Some(part) => return Ok(part),
                None => format!("it has no part \"{}\"", shortened(name, 40)),
            },
            None => match parts {
                [part] => return Ok(part),
                _ => "it has several parts".to_owned(),
            },
        };
        let complaint = Complaint::new(problem).at(job.display());
        Err(Stop::bad_input(complaint.with_cure(format!("Say with --part which one: {}", names.join(", ")))))
    }
}

impl Sought {
    /// Whether a way is found to lay the part on a piece.
    fn lies_on(&self, sheet: &StockSheet) -> Result<bool, Stop> {
        let details = &sheet.details;
        let class = details.class();
        let mut on = Sheet::new(sheet.tag.as_str(), details.shape.clone(), class.clone());
        on.damage.clone_from(&details.damage);
        on.grain_deg = details.grain_deg;
        let part = Part { class, ..self.part.clone() };
        let failed = |error: &dyn std::error::Error| Stop::failure(Complaint::new(error.to_string()).because_of(error));
        let job = Job::new(vec![part], vec![on], self.clearances, NO_LEFTOVERS).map_err(|e| failed(&e))?;
        let settings = Settings { time_limit: None, rounds: Some(ROUNDS), ..Settings::default() };
        // The first way is good enough.
        let observer = |progress: &Progress| {
            if progress.missing == 0 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        let plan = dropwise_nest::nest(&job, &settings, observer).map_err(|error| failed(&error))?;
        Ok(plan.layout().unplaced.is_empty())
    }
}
