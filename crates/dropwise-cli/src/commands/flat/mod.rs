//! `flat`: bent parts laid flat, every number told, with a plan for the press brake.

mod page;
mod record;

use std::path::PathBuf;

use clap::Args;
use dropwise_formats::cut_drawing::CutDrawing;
use dropwise_formats::dxf_write::{DxfUnit, write_dxf};
use dropwise_formats::{BentDetail, HoleWork, LoadedJob, PartDetail};
use dropwise_geometry::Segment;
use dropwise_paper::{DrawingStyle, WorkedRing, draw_flat, draw_folded_worked};
use dropwise_shop::fold::Direction;
use dropwise_shop::markout::ScribeLines;

use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop, render_note};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::out_folder::{OutFile, OutFolder};
use crate::seen;
use crate::shop_checks::{CautionChoice, ShopChoice, check_part};
use crate::stock_log::load_job;
use crate::text::{cleaned, wrapped};

pub(crate) const LONG_ABOUT: &str = "\
Lays the bent parts of a job flat and tells every number on the way.

For each part: the size of the flat pattern; each bend with its angle, direction, inside radius, K, allowance, setback and \
deduction, and where its line lies; running dimensions, so that the flat length can be added up by hand; an order of bends for \
the shop's press brake, with die, punch, force and backgauge; and what the shop checks say.

Bend a test strip before a batch: published K-factors differ by up to 0.1 for the same bend.";

pub(crate) const AFTER: &str = "\
Examples:
  All bent parts of a job:
      dropwise flat brackets.toml
  One of them, with pictures and a cutting file:
      dropwise flat brackets.toml tray --out flat
  The deductions, for a script:
      dropwise flat brackets.toml tray --json | jq '.parts[0].bends[].deduction'

With --out, each part makes three files: PART-flat.svg (the pattern, bend lines dimensioned), PART-folded.svg (bent up) and
PART-flat.dxf (cut lines on CUT and CUT_INNER, bend lines on BEND_UP and BEND_DOWN). Drawings that the job names make
DRAWING-understood.svg each, with what was left out in a second colour.";

/// What was typed after `flat`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Flat {
    /// The job file, TOML or JSON
    job: PathBuf,
    /// The part, by its name; all bent parts when left out
    part: Option<String>,
    #[command(flatten)]
    shop: ShopChoice,
    #[command(flatten)]
    cautions: CautionChoice,
    /// Write pictures (SVG) and cutting files (DXF) to this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the figures as JSON, lengths in mm
    #[arg(long)]
    json: bool,
}

/// A bent part of a job.
#[derive(Clone, Copy)]
struct Chosen<'a> {
    index: usize,
    name: &'a str,
    bent: &'a BentDetail,
}

pub(crate) fn flat(typed: &Flat, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let stdout_ink = Ink::new(colour.is_wanted(environment, false));
    let stderr_ink = Ink::new(colour.is_wanted(environment, true));
    let loaded = load_job(&typed.job, None, &typed.shop)?;
    let shop = loaded.shop.clone();
    let chosen = chosen(typed, &loaded)?;
    let notes: String = loaded.notes.iter().map(|note| render_note(note, stderr_ink)).collect();
    environment.say(&notes);
    let out = typed.out.as_deref().map(OutFolder::open).transpose()?;
    let checks: Vec<_> = chosen.iter().map(|part| check_part(&loaded, part.index, &shop)).collect();
    if let Some(out) = &out {
        let mut files = Vec::new();
        for part in &chosen {
            files.extend(pictures(&loaded, *part)?);
        }
        files.extend(seen::pictures(&loaded.drawings));
        if let Err(complaints) = out.write(&files) {
            return Err(Stop { exit: Exit::Failure, complaints });
        }
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        environment.say(&wrapped("", 2, &format!("Written to {}: {}.", cleaned(&out.name()), names.join(", "))));
    }
    if chosen.is_empty() {
        environment.say("No part of this job is bent.\n");
    }
    let page = if typed.json {
        record::record(&loaded, &chosen, &checks)
    } else {
        page::page(&loaded, &chosen, &checks, typed.cautions, stdout_ink)
    };
    environment.print(&page)?;
    Ok(Exit::Done)
}

/// The parts asked for.
fn chosen<'a>(typed: &Flat, loaded: &'a LoadedJob) -> Result<Vec<Chosen<'a>>, Stop> {
    let parts = loaded.job.parts().iter().zip(&loaded.parts).enumerate();
    let bent: Vec<Chosen<'a>> = parts
        .filter_map(|(index, (part, detail))| {
            detail.bent.as_deref().map(|bent| Chosen { index, name: part.name.as_str(), bent })
        })
        .collect();
    let complain = |problem: String, cure: String| {
        Err(Stop::bad_input(Complaint::new(problem).at(typed.job.display()).with_cure(cure)))
    };
    let names = || bent.iter().map(|part| format!("\"{}\"", part.name)).collect::<Vec<_>>().join(", ");
    let Some(name) = &typed.part else {
        // Pictures of drawings are worth having of flat parts too.
        let has_pictures = typed.out.is_some() && !loaded.drawings.is_empty();
        if bent.is_empty() && !has_pictures {
            let cure = "Give a part bends, or nest it as it is";
            return complain("no part of this job is bent".to_owned(), cure.to_owned());
        }
        return Ok(bent);
    };
    if let Some(part) = bent.iter().find(|part| part.name == name) {
        return Ok(vec![*part]);
    }
    let known =
        if bent.is_empty() { "No part of this job is bent".to_owned() } else { format!("Bent parts are {}", names()) };
    if loaded.job.parts().iter().any(|part| part.name == *name) {
        return complain(format!("part \"{name}\" is flat already"), known);
    }
    complain(format!("there is no part \"{name}\""), known)
}

/// Flat pattern and folded part as SVG, and the flat pattern as DXF.
fn pictures(loaded: &LoadedJob, chosen: Chosen<'_>) -> Result<Vec<OutFile>, Stop> {
    let style = DrawingStyle { unit: loaded.unit, ..DrawingStyle::default() };
    let mut scribe = ScribeLines::default();
    for bend in &chosen.bent.unfolding.bends {
        let [start, end] = bend.line;
        let line = Segment::Line { start, end };
        match bend.direction {
            Direction::Up => scribe.bends_up.push(line),
            Direction::Down => scribe.bends_down.push(line),
        }
    }
    let drawing = CutDrawing::of_part(&loaded.job.parts()[chosen.index], &scribe)
        .map_err(|error| Stop::failure(Complaint::new(error.to_string())))?;
    let rings = rings(&loaded.parts[chosen.index]);
    let name = file_name(chosen.name, chosen.index);
    let file = |suffix: &str, text: String| OutFile::new(format!("{name}-{suffix}"), text);
    Ok(vec![
        file("flat.svg", draw_flat(&chosen.bent.unfolding, chosen.name, &style)),
        file("folded.svg", draw_folded_worked(&chosen.bent.unfolding, &rings, chosen.name, &style)),
        file("flat.dxf", write_dxf(&drawing, DxfUnit::beside(loaded.unit))),
    ])
}

/// The holes of a part that are countersunk or flared, for its picture.
pub(super) fn rings(detail: &PartDetail) -> Vec<WorkedRing> {
    let worked = detail.worked_holes.iter().filter_map(|hole| {
        let (diameter, rise) = match hole.work {
            HoleWork::Countersunk { diameter, .. } => (diameter, 0.0),
            HoleWork::Flared { diameter, depth } => (diameter, depth.unwrap_or(USUAL_RISE)),
            #[allow(unreachable_patterns, reason = "other work does not show")]
            _ => return None,
        };
        let (face, center, is_up) = (hole.face, hole.center, hole.is_up);
        Some(WorkedRing { face, center, hole: hole.diameter, diameter, is_up, rise })
    });
    worked.collect()
}

/// How far a flare stands up that says nothing of it, mm: 3/16 in, as its dies by rule.
const USUAL_RISE: f64 = 3.0 / 16.0 * 25.4;

/// A part's name as a file may have it. Names that lose letters get the part's number, so that no two are alike.
fn file_name(name: &str, index: usize) -> String {
    let safe: String =
        name.chars().map(|c| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' }).collect();
    if safe == name { safe } else { format!("{safe}-{}", index + 1) }
}
