//! `stock find`: which pieces hold a part.

use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use clap::Args;
use dropwise_formats::{Instead, LoadedJob, OwnSheets, Rack};
use dropwise_model::{Clearances, Job, LeftoverRule, Part, Sheet, StockClass};
use dropwise_nest::{Progress, Settings};
use dropwise_shop::{Material, StandIn, Thickness, stands_in, stock_in_words};
use dropwise_stock::{Holders, Misses, Order, StockLog, StockSheet, Tag};
use serde_json::{Value, json};

use super::describe::{json_page, piece_json, piece_table};
use super::desk::{Desk, bad, tell_notes, told};
use super::form::Form;
use super::list::{Sieve, Wanted};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::shop_checks::ShopChoice;
use crate::stock_log::{Purpose, load_job_of};
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
    #[command(flatten)]
    shop: ShopChoice,
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
    /// Its metal and thickness, if it stands in a job.
    stock: Option<(Material, Thickness)>,
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
    let near = typed.near(&sought, &sieve, &log, desk)?;
    let page = if typed.json {
        let holders: Vec<Value> = found.holders.iter().map(|sheet| piece_json(sheet, now)).collect();
        let others: Vec<Value> = found.others.iter().map(|&(tag, misses)| misses_json(tag, misses)).collect();
        let near: Vec<Value> = near
            .iter()
            .map(|near| {
                let holders: Vec<Value> = near.holders.iter().map(|sheet| piece_json(sheet, now)).collect();
                json!({ "class": near.class.label(), "why": near.why, "holders": holders })
            })
            .collect();
        json_page(&json!({ "holders": holders, "others": others, "near_thickness": near }))
    } else {
        let table = piece_table(&found.holders, now, desk);
        let mut page = told_page(&found, &table, desk);
        for near in &near {
            page.push_str(&format!(
                "\nOf a near thickness, with the flat pattern laid anew, these hold it ({}):\n",
                stock_in_words(near.class.label(), desk.unit)
            ));
            page.push_str(&wrapped("", 0, &near.why));
            page.push_str(&format!("\n{}", piece_table(&near.holders, now, desk)));
        }
        page
    };
    environment.print(&page)?;
    let is_found = !found.holders.is_empty() || !near.is_empty();
    Ok(if is_found { Exit::Done } else { Exit::NotAllPlaced })
}

/// Pieces of another nominal thickness that hold the part as it is laid for them.
struct NearHolders {
    class: StockClass,
    /// Why they may stand in.
    why: String,
    holders: Vec<StockSheet>,
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
                    Ok(Sought { part, class: None, stock: None, clearances: clearances(margin.unwrap_or(0.0), 0.0)? })
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
        let loaded = in_job(job, &self.shop, &[])?;
        let chosen = self.chosen(job, loaded.job.parts())?;
        let place = loaded.job.parts().iter().position(|part| part.name == chosen.name);
        let stock = place.and_then(|index| loaded.parts.get(index)).map(|detail| (detail.material, detail.thickness));
        let mut part = chosen.clone();
        part.quantity = 1;
        let of_job = loaded.job.clearances();
        let clearances = clearances(margin.unwrap_or(of_job.margin()), of_job.kerf())?;
        Ok(Sought { class: Some(part.class.clone()), part, stock, clearances })
    }

    /// What holds the part among pieces whose nominal thickness lies within the mill's tolerance of its own.
    fn near(&self, sought: &Sought, sieve: &Sieve, log: &StockLog, desk: &Desk) -> Result<Vec<NearHolders>, Stop> {
        let (Some((material, thickness)), Some(job)) = (sought.stock, &self.job) else { return Ok(Vec::new()) };
        let mut filter = sieve.filter.clone();
        (filter.class, filter.material) = (None, Some(material));
        let pieces = log.list(&filter, Order::Tag).map_err(told)?;
        let mut classes: Vec<(StockClass, Instead, StandIn)> = Vec::new();
        for piece in &pieces {
            let taken = piece.details.thickness;
            let (Some(by), class) = (stands_in(material, thickness, taken), piece.details.class()) else { continue };
            if !classes.iter().any(|(known, ..)| *known == class) {
                classes.push((class, Instead { material, told: thickness, taken }, by));
            }
        }
        let mut near = Vec::new();
        for (class, instead, by) in classes {
            let loaded = in_job(job, &self.shop, &[instead])?;
            let mut part = self.chosen(job, loaded.job.parts())?.clone();
            part.quantity = 1;
            let sought = Sought { part, class: Some(class.clone()), stock: None, clearances: sought.clearances };
            let mut holders = Vec::new();
            for piece in pieces.iter().filter(|piece| piece.details.class() == class) {
                if sieve.accepts_thickness(piece, desk) && sought.lies_on(piece)? {
                    holders.push(piece.clone());
                }
            }
            holders.sort_by(|a, b| a.details.area().total_cmp(&b.details.area()));
            if !holders.is_empty() {
                let (nominal, band) = (desk.show(by.nominal), desk.show(by.tolerance.plus_minus));
                let why = format!("{nominal} ± {band} ({}) covers both [{}].", by.tolerance.of, by.tolerance.source);
                near.push(NearHolders { class, why, holders });
            }
        }
        Ok(near)
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

/// A job without sheets: the job's own do not matter here.
fn in_job(job: &Path, shop: &ShopChoice, instead: &[Instead]) -> Result<LoadedJob, Stop> {
    load_job_of(job, Some(&Rack { pieces: Vec::new(), own: OwnSheets::LeftOut }), shop, instead)
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
