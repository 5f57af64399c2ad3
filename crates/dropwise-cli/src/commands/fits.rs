//! `fits`: whether parts fit on a piece, from one line and without a file.

use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::Duration;

use clap::Args;
use dropwise_formats::LoadedJob;
use dropwise_geometry::{Unit, format_length};
use dropwise_model::{Need, Plan, SheetUse};
use dropwise_nest::Settings;
use dropwise_shop::weight::format_weight;
use serde_json::{Value, json};

use super::draft::{Told, quoted, read, unit_asked_for};
use crate::arguments::{Colour, seconds};
use crate::complaint::{Complaint, Stop, render_note};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::picture::Picture;
use crate::report;
use crate::text::{cleaned, glued, shortened, wrapped};

pub(crate) const ABOUT: &str = "Says whether parts fit on a piece, from one line";

pub(crate) const LONG_ABOUT: &str = "\
Says whether parts fit on a piece, from one line and without a file: the question asked at the yard.

The answer is yes or no, how the parts lie, what is left over and, where a thickness is given, what the piece weighs. A yes \
is proved as every plan is. A no says why: a part that is too large fits in no way; where room is short, no room was found in \
the time given.";

pub(crate) const AFTER: &str = "\
Examples:
  Three plates and a disc on a piece of 30 by 18 inches:
      dropwise fits --unit in '3 of 12-3/8 x 4' '6 dia' --on '30 x 18'
  Which of two drops is enough, and what it costs:
      dropwise fits '4 of 260 x 90' --on '600 x 340 @ 9.50' --on '520 x 500 @ 12.00'
  A drawing, cut with a plasma torch, on a triangle:
      dropwise fits latch.dxf --on '0,0; 700,0; 0,500' --cut-with plasma
  In a script:
      dropwise fits '2 of 260 x 90' --on '600 x 340' --quiet && echo take it

The exit code is 0 for yes and 3 for no.";

/// What was typed after `fits`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Fits {
    /// What is to be cut: two sides, a diameter, corners, or a drawing's file name
    ///
    /// `12 x 4`, `3 of 12-3/8 x 4`, `6 dia`, `0,0; 20,0; 15,9`, `latch.dxf`. Lengths take fractions and units of their own.
    #[arg(required = true, value_name = "PART")]
    parts: Vec<String>,
    /// The piece to cut it from, told in the same way; `@ PRICE` may stand behind it
    ///
    /// Given several times, any of them may be used, and the cheapest plan is shown.
    #[arg(long, required = true, value_name = "PIECE")]
    on: Vec<String>,
    /// How it is cut, which sets kerf, web and margin [default: cutoff wheel]
    #[arg(long, value_name = "PROCESS", default_value = "cutoff wheel", hide_default_value = true)]
    cut_with: String,
    /// Least distance from a part to the edge of the piece, in place of the process's
    #[arg(long, value_name = "LENGTH")]
    margin: Option<String>,
    /// The metal
    #[arg(long, value_name = "METAL", default_value = "mild steel")]
    metal: String,
    /// How thick it is (`1/8`, `16 ga`, `3 mm`), for the weight
    #[arg(long, value_name = "THICKNESS")]
    thickness: Option<String>,
    /// Unit of bare numbers: mm, cm, m, in or ft
    ///
    /// When left out, the one that the variable DROPWISE_UNIT names; without that, inches where a number has a fraction,
    /// else mm.
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// Search for so long at the most
    #[arg(long, value_name = "SECONDS", default_value = "5", value_parser = seconds, allow_negative_numbers = true)]
    seconds: f64,
    /// Print the answer as JSON, lengths in mm
    #[arg(long)]
    json: bool,
    /// Only the first line of the answer, and no notes
    #[arg(long, short)]
    quiet: bool,
}

/// Time to look for better leftovers once everything lies somewhere.
const POLISH: Duration = Duration::from_millis(700);

pub(crate) fn fits(typed: &Fits, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let ink = Ink::new(colour.is_wanted(environment, false));
    let stderr_ink = Ink::new(colour.is_wanted(environment, true));
    let asked = unit_asked_for(typed.unit.as_deref(), environment.variable("DROPWISE_UNIT"))?;
    let unit = asked.unwrap_or_else(|| guessed_unit(typed));
    let loaded = job(typed, unit)?;
    if !typed.quiet {
        if asked.is_none() {
            let text = format!("Bare numbers are taken as {unit}; --unit says otherwise.");
            environment.say(&wrapped("note: ", 2, &text));
        }
        // What was noted of a drawing; that a part is too large is the answer itself, with its reason.
        let of_drawings = loaded.notes.iter().filter(|note| !note.place.file.as_os_str().is_empty());
        let notes: String = of_drawings.map(|note| render_note(note, stderr_ink)).collect();
        environment.say(&notes);
    }
    let plan = search(&loaded, typed.seconds, environment)?;
    let missing = missing(&loaded, &plan);
    let page = if typed.json {
        as_json(&loaded, &plan, missing)
    } else if typed.quiet {
        format!("{}\n", headline(&loaded, &plan, missing))
    } else {
        as_text(typed, &loaded, &plan, missing, ink)
    };
    environment.print(&page)?;
    Ok(if missing == 0 { Exit::Done } else { Exit::NotAllPlaced })
}

/// Fractions are of inches: nobody reads millimetres off a tape in eighths.
fn guessed_unit(typed: &Fits) -> Unit {
    let has_fraction = typed.parts.iter().chain(&typed.on).any(|text| {
        let is_file = [".dxf", ".svg"].iter().any(|ending| text.to_lowercase().ends_with(ending));
        text.contains('/') && !is_file
    });
    if has_fraction { Unit::Inch } else { Unit::Millimetre }
}

/// The job that was meant.
fn job(typed: &Fits, unit: Unit) -> Result<LoadedJob, Stop> {
    let mut complaints = Vec::new();
    let mut told = |texts: &[String], what: &str| -> Vec<Told> {
        let read = texts.iter().filter_map(|text| match Told::parse(text, unit) {
            Ok(told) => Some(told),
            Err(complaint) => {
                complaints.push(complaint);
                None
            }
        });
        let told: Vec<Told> = read.collect();
        if let Some(part) = told.iter().find(|told| told.price.is_some()).filter(|_| what == "part") {
            let complaint =
                Complaint::new("a price belongs to a piece, not to a part").at(format!("\"{}\"", part.name));
            complaints.push(complaint.with_cure("Write it behind the piece: --on '30 x 18 @ 9.50'"));
        }
        told
    };
    let (parts, mut pieces) = (told(&typed.parts, "part"), told(&typed.on, "piece"));
    if !complaints.is_empty() {
        return Err(Stop { exit: Exit::BadInput, complaints });
    }
    // Without prices the lighter pieces win.
    if pieces.iter().all(|piece| piece.price.is_none()) {
        pieces.iter_mut().for_each(|piece| piece.price = Some("1 per kg".to_owned()));
    }
    let default_thickness = if unit.is_metric() { "3 mm" } else { "1/8 in" };
    let thickness = typed.thickness.as_deref().unwrap_or(default_thickness);
    let mut text = format!(
        "name = \"fits\"\nunit = {}\n[defaults]\nmaterial = {}\nthickness = {}\n[clearances]\nprocess = {}\n",
        quoted(unit.symbol()),
        quoted(&typed.metal),
        quoted(thickness),
        quoted(&typed.cut_with)
    );
    if let Some(margin) = &typed.margin {
        let _ = writeln!(text, "margin = {}", quoted(margin));
    }
    // At the yard any piece that another small part could be made of is worth hearing of.
    text.push_str("[leftovers]\nlength = \"100 mm\"\nwidth = \"50 mm\"\n");
    for (list, things) in [("parts", &parts), ("sheets", &pieces)] {
        for (index, thing) in things.iter().enumerate() {
            let is_alone = things.iter().filter(|other| other.name == thing.name).count() == 1;
            let name = if list == "parts" { thing.part_name() } else { thing.name.clone() };
            let name = if is_alone { name } else { format!("{name} ({})", index + 1) };
            let _ = write!(text, "[[{list}]]\n{}", thing.keys(&name));
        }
    }
    // The places in the errors are those of a text that nobody wrote: what is said of the value is what counts.
    read(&text, "", Path::new("")).map_err(Stop::without_places)
}

fn search(loaded: &LoadedJob, seconds: f64, environment: &mut Environment<'_>) -> Result<Plan, Stop> {
    let interrupts = environment.interrupts();
    let settings = Settings { time_limit: Some(Duration::from_secs_f64(seconds)), ..Settings::default() };
    let mut complete_since = None;
    let plan = dropwise_nest::nest(&loaded.job, &settings, |progress| {
        if progress.missing == 0 {
            complete_since.get_or_insert(progress.elapsed);
        }
        let is_polished = complete_since.is_some_and(|since| progress.elapsed.saturating_sub(since) > POLISH);
        if is_polished || interrupts.has_any() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    plan.map_err(|error| Stop::failure(Complaint::new(error.to_string()).because_of(&error)))
}

/// How many parts lie nowhere.
fn missing(loaded: &LoadedJob, plan: &Plan) -> u32 {
    let parts = loaded.job.parts();
    let required = plan.layout().unplaced.iter().filter(|unplaced| parts[unplaced.part].need == Need::Required);
    required.map(|unplaced| unplaced.count).sum()
}

fn headline(loaded: &LoadedJob, plan: &Plan, missing: u32) -> String {
    let all: u32 = loaded.job.parts().iter().map(|part| part.quantity).sum();
    if missing > 0 {
        return format!("No: {missing} of {all} {} no room.", if missing == 1 { "finds" } else { "find" });
    }
    let used: Vec<String> = plan.layout().sheets.iter().map(|used| shortened(&name(loaded, used), 40)).collect();
    let what = if all == 1 { "the part fits".to_owned() } else { format!("all {all} parts fit") };
    format!("Yes: {what} on {}.", used.join(" and "))
}

fn name(loaded: &LoadedJob, used: &SheetUse) -> String {
    cleaned(&loaded.job.sheets()[used.sheet].name)
}

fn as_text(typed: &Fits, loaded: &LoadedJob, plan: &Plan, missing: u32, ink: Ink) -> String {
    let head = headline(loaded, plan, missing);
    let mut page = format!("{}\n", if missing == 0 { ink.strong(&head) } else { ink.wrong(&head) });
    for (used, figures) in plan.layout().sheets.iter().zip(&plan.figures().sheets) {
        let _ = write!(page, "\n{}\n{}", ink.strong(&shortened(&name(loaded, used), 70)), drawn(loaded, used));
        let mut tale = key_to_letters(loaded, used);
        let left = figures.leftovers.iter().map(|leftover| {
            let (long, short) = leftover.largest_rectangle;
            glued(&format!("{} × {}", format_length(long, loaded.unit), format_length(short, loaded.unit)))
        });
        let left: Vec<String> = left.collect();
        let _ = match left.is_empty() {
            true => write!(tale, " Nothing worth keeping is left."),
            false => write!(tale, " Left over, as usable rectangles: {}.", left.join(", ")),
        };
        if typed.thickness.is_some() {
            let _ = write!(tale, " The piece weighs {}.", glued(&format_weight(figures.gross_weight, loaded.unit)));
        }
        if has_prices(typed) {
            let _ = write!(tale, " It costs {}.", loaded.coinage.format(figures.price));
        }
        let _ = write!(tale, " Yield {:.0} %.", 100.0 * figures.yield_ratio());
        page.push_str(&wrapped("", 0, &tale));
    }
    if missing > 0 {
        let _ = write!(page, "\n{}", report::missing(loaded, plan, ink));
    }
    let clearances = loaded.job.clearances();
    let length = |millimetres| glued(&format_length(millimetres, loaded.unit));
    let rules = format!(
        "Cut by {}: kerf {}, web {}, margin {}.",
        loaded.process.map_or_else(String::new, |process| process.to_string()),
        length(clearances.kerf()),
        length(clearances.web()),
        length(clearances.margin())
    );
    let _ = write!(page, "\n{}", wrapped("", 0, &rules));
    page
}

fn has_prices(typed: &Fits) -> bool {
    typed.on.iter().any(|piece| piece.contains('@'))
}

/// A letter for each kind of part; those that look like figures are left out.
fn letter(part: usize) -> char {
    const LETTERS: [char; 23] = [
        'A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K', 'L', 'M', 'N', 'P', 'R', 'S', 'T', 'U', 'V', 'W', 'X', 'Y',
        'Z',
    ];
    LETTERS.get(part).copied().unwrap_or('+')
}

fn drawn(loaded: &LoadedJob, used: &SheetUse) -> String {
    let sheet = &loaded.job.sheets()[used.sheet];
    let shape = sheet.bought_shape(used.length);
    let mut picture = Picture::new(shape.bounds());
    sheet.damage.iter().for_each(|zone| picture.shade(zone, &shape));
    picture.shape(&shape);
    for placement in &used.placements {
        let part = loaded.job.parts()[placement.part].shape.transformed(placement.position);
        picture.shape(&part);
        let bounds = part.bounds();
        let middle = bounds.min + (bounds.max - bounds.min) * 0.5;
        picture.letter(middle, letter(placement.part));
    }
    picture.text()
}

fn key_to_letters(loaded: &LoadedJob, used: &SheetUse) -> String {
    let parts = loaded.job.parts().iter().enumerate();
    let lines = parts.filter_map(|(index, part)| {
        let count = used.placements.iter().filter(|placement| placement.part == index).count();
        (count > 0).then(|| format!("{}: {count} of {}.", letter(index), shortened(&part.name, 40)))
    });
    lines.collect::<Vec<_>>().join(" ")
}

fn as_json(loaded: &LoadedJob, plan: &Plan, missing: u32) -> String {
    let sheets = plan.layout().sheets.iter().zip(&plan.figures().sheets).map(|(used, figures)| {
        let placements = used.placements.iter().map(|placement| {
            let at = placement.position;
            json!({
                "part": loaded.job.parts()[placement.part].name,
                "x": at.translation.x, "y": at.translation.y, "turn": at.rotation_deg, "face_down": at.is_mirrored,
            })
        });
        let leftovers = figures
            .leftovers
            .iter()
            .map(|leftover| json!([leftover.largest_rectangle.0, leftover.largest_rectangle.1]));
        json!({
            "piece": loaded.job.sheets()[used.sheet].name,
            "placements": placements.collect::<Vec<Value>>(),
            "leftover_rectangles": leftovers.collect::<Vec<Value>>(),
            "weight_kg": figures.gross_weight,
            "yield": figures.yield_ratio(),
        })
    });
    let document = json!({
        "format": "dropwise fits",
        "version": 1,
        "fits": missing == 0,
        "missing": missing,
        "pieces": sheets.collect::<Vec<Value>>(),
    });
    format!("{}\n", serde_json::to_string_pretty(&document).unwrap_or_default())
}
