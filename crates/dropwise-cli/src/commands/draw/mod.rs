//! `draw`: a plan in, paper and files for machines out.

mod arguments;
mod bench;
mod cards;
mod files;
pub(crate) mod help;

use std::path::{Path, PathBuf};

use dropwise_formats::load_shop;
use dropwise_formats::plan_json::RebuiltPlan;
use dropwise_geometry::{Unit, parse_length};
use dropwise_paper::{Paper, PrinterCorrection, TemplateOf};

pub(crate) use arguments::{Draw, Kind};
pub(crate) use files::{Drawn, Wanted, files};

use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::out_folder::{OutFile, OutFolder};
use crate::plan_file::{Proved, proved};
use crate::text::{cleaned, wrapped};

pub(crate) fn draw(typed: &Draw, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let ink = Ink::new(colour.is_wanted(environment, true));
    let path = if typed.plan.is_dir() { typed.plan.join("plan.json") } else { typed.plan.clone() };
    let Proved { document, rebuilt: RebuiltPlan { loaded, plan, cost } } = proved(&path)?;
    let drawn = Drawn { document: &document, loaded: &loaded, plan: &plan, cost: &cost };
    let wanted = wanted(typed, &drawn)?;
    // After the plan, so that a bad one leaves no empty folder.
    let out = OutFolder::open(&typed.out.clone().unwrap_or_else(|| folder_of(&path)))?;
    let (made, notes) = files(&drawn, &wanted)?;
    // Templates of one part leave those of the others as they were.
    let kinds: Vec<Kind> =
        wanted.kinds.iter().copied().filter(|&kind| kind != Kind::Template || wanted.only.is_empty()).collect();
    let is_written = write(&out, &made, &kinds, typed.quiet, ink, environment);
    let complaints: Vec<Complaint> = notes;
    environment.complain(&complaints, ink);
    Ok(if !is_written {
        Exit::Failure
    } else if made.is_empty() {
        Exit::BadInput
    } else {
        Exit::Done
    })
}

/// Writes files to their folder and says so; whether all could be written.
pub(crate) fn write(
    out: &OutFolder,
    made: &[OutFile],
    kinds: &[Kind],
    is_quiet: bool,
    ink: Ink,
    environment: &mut Environment<'_>,
) -> bool {
    if let Err(complaints) = out.write(made) {
        environment.complain(&complaints, ink);
        return false;
    }
    if is_quiet || made.is_empty() {
        return true;
    }
    environment.say(&wrapped("", 2, &format!("Written to {}: {}.", cleaned(&out.name()), listed(made))));
    let stale = out.stale_drawings(made, kinds);
    if !stale.is_empty() {
        let text = format!("drawings of an earlier plan are still there: {}.", stale.join(", "));
        environment.say(&format!("{} {text}\n", ink.doubtful("warning:")));
    }
    true
}

/// Minutes that cutting all sheets takes with the tools of the shop that the plan carries, or the common ones; and whether the
/// speed of all that is used is known.
///
/// # Errors
/// When the cut plan cannot be made, which is a fault of ours.
pub(crate) fn minutes(drawn: &Drawn<'_>) -> Result<(f64, bool), Stop> {
    let mut wanted = Wanted::at_a_glance(drawn.loaded.unit);
    if drawn.loaded.shop_text.is_some() {
        wanted.tools = Some(drawn.loaded.shop.tools.clone());
    }
    let bench = bench::Bench::new(drawn, &wanted);
    let bench = bench.map_err(|error| Stop::failure(Complaint::new(error.to_string()).because_of(&error)))?;
    let totals = || bench.sheets.iter().map(|(_, cuts)| &cuts.totals);
    let is_known = totals().all(|totals| totals.untimed.is_empty() && totals.undone == 0.0);
    Ok((totals().map(|totals| totals.minutes).sum(), is_known))
}

/// Names of files; of a folder within the folder only how many it got.
fn listed(made: &[OutFile]) -> String {
    let mut said: Vec<String> = Vec::new();
    for file in made {
        match file.name.split_once('/') {
            None => said.push(file.name.clone()),
            Some((folder, _)) => {
                let begin = format!("{folder}/");
                let count = made.iter().filter(|file| file.name.starts_with(&begin)).count();
                let entry = format!("{begin} ({count} {})", if count == 1 { "file" } else { "files" });
                if !said.contains(&entry) {
                    said.push(entry);
                }
            }
        }
    }
    said.join(", ")
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

fn wanted(typed: &Draw, drawn: &Drawn<'_>) -> Result<Wanted, Stop> {
    let unit = drawn.loaded.unit;
    let (mut only, mut complaints) = (Vec::new(), Vec::new());
    let parts = drawn.loaded.job.parts();
    for name in &typed.part {
        match parts.iter().position(|part| part.name == *name) {
            Some(index) => only.push(TemplateOf::Part(index)),
            None => {
                let names: Vec<String> = parts.iter().take(12).map(|part| format!("\"{}\"", part.name)).collect();
                let complaint = Complaint::new(format!("no part of the plan is called \"{name}\"")).at("--part");
                complaints.push(complaint.with_cure(format!("Its parts are {}", names.join(", "))));
            }
        }
    }
    let count = drawn.plan.layout().sheets.len();
    for &number in &typed.sheet {
        if (1..=count).contains(&number) {
            only.push(TemplateOf::Sheet(number - 1));
        } else {
            let complaint = Complaint::new(format!("there is no sheet {number}")).at("--sheet");
            complaints.push(complaint.with_cure(format!("Sheets of this plan are numbered from 1 to {count}")));
        }
    }
    let shop = match &typed.shop {
        None => drawn.loaded.shop_text.is_some().then(|| drawn.loaded.shop.clone()),
        Some(path) => match load_shop(path, unit) {
            Ok(shop) => Some(shop),
            Err(errors) => {
                complaints.extend(errors.iter().map(Complaint::from));
                None
            }
        },
    };
    let printer = shop.as_ref().map_or([1.0; 2], |shop| shop.printer);
    let of_shop = PrinterCorrection { across: printer[0], upright: printer[1] };
    let correction = typed.square.as_deref().map_or(Ok(of_shop), |text| correction(text, unit));
    let correction = correction.unwrap_or_else(|complaint| {
        complaints.push(complaint);
        PrinterCorrection::default()
    });
    if !complaints.is_empty() {
        return Err(Stop { exit: Exit::BadInput, complaints });
    }
    let mut kinds = match (typed.kind.as_slice(), only.is_empty()) {
        ([], true) => Kind::ALL.to_vec(),
        ([], false) => vec![Kind::Template],
        (kinds, _) => kinds.to_vec(),
    };
    kinds.sort_unstable();
    kinds.dedup();
    Ok(Wanted {
        kinds,
        paper: typed.paper,
        grid: typed.nearest,
        correction,
        only,
        has_sight_lines: typed.sight_lines || shop.as_ref().is_some_and(|shop| shop.brake.is_none()),
        tools: shop.map(|shop| shop.tools),
        unit,
    })
}

/// What makes up for a printer whose ruled square measures `text`.
fn correction(text: &str, unit: Unit) -> Result<PrinterCorrection, Complaint> {
    let true_side = if unit.is_metric() { 100.0 } else { 4.0 * 25.4 };
    // A side of a metric job is written in millimetres, whatever larger unit the job is in.
    let bare = if unit.is_metric() { Unit::Millimetre } else { Unit::Inch };
    let example = if unit.is_metric() { "99.2x100.1" } else { "3.97x4.01" };
    let complaint = |problem: String| {
        Complaint::new(problem).at("--square").with_cure(format!(
            "Measure the ruled square on the first page from left to right and from bottom to top, and write both, as in {example}"
        ))
    };
    let sides: Vec<&str> = text.split(['x', 'X', '×']).collect();
    let [across, upright] = sides.as_slice() else {
        return Err(complaint(format!("`{text}` is not two lengths with an x between them")));
    };
    let factor = |side: &str| {
        let measured = parse_length(side, bare).map_err(|error| complaint(format!("`{side}`: {error}")))?;
        let factor = true_side / measured;
        if (0.9..=1.1).contains(&factor) {
            Ok(factor)
        } else {
            Err(complaint(format!(
                "`{side}` is more than a tenth off what the square should be; it was not printed at 100 %"
            )))
        }
    };
    Ok(PrinterCorrection { across: factor(across)?, upright: factor(upright)? })
}

/// The paper beside a unit: Letter where people measure in inches.
fn usual_paper(unit: Unit) -> Paper {
    if unit.is_metric() { Paper::A4 } else { Paper::Letter }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_printer_that_is_off_is_made_up_for() {
        let found = correction("99.2x100.1", Unit::Metre).unwrap();
        assert!((found.across - 100.0 / 99.2).abs() < 1e-12 && (found.upright - 100.0 / 100.1).abs() < 1e-12);
        let inches = correction("3 15/16 x 4", Unit::Inch).unwrap();
        assert!((inches.across - 4.0 / 3.9375).abs() < 1e-12 && inches.upright == 1.0);
        for bad in ["", "99.2", "99.2x", "0x0", "-99x99", "99x99x99", "50x100", "nanx99", "x"] {
            assert!(correction(bad, Unit::Millimetre).is_err(), "{bad}");
        }
    }
}
