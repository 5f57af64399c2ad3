//! What happens to a piece other than being cut to a plan.

use clap::Args;
use dropwise_stock::{EventNumber, Measurement, Receipt};

use super::add::keep;
use super::desk::{Desk, bad, tell_notes, told, told_when_behind};
use super::form::Form;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::Purpose;
use crate::text::shortened;

/// What was typed after `stock move`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Move {
    /// The tag on the piece
    tag: String,
    /// Where it lies now
    place: String,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
}

/// What was typed after `stock measure`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Measure {
    /// The tag on the piece
    tag: String,
    #[command(flatten)]
    form: Form,
    /// Its thickness
    #[arg(long, value_name = "LENGTH")]
    measured: Option<String>,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
}

/// What was typed after `stock scrap`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Scrap {
    /// The tag on the piece
    tag: String,
    /// What the scrap dealer paid for it
    #[arg(long, value_name = "AMOUNT")]
    proceeds: Option<String>,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
}

/// What was typed after `stock undo`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Undo {
    /// Number of the event; the last that stands when left out
    #[arg(value_parser = clap::value_parser!(i64).range(1..))]
    event: Option<i64>,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    cause: String,
}

pub(crate) fn relocate(typed: &Move, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let tag = desk.tag(&typed.tag)?;
    let mut log = desk.open(Purpose::Change, environment)?;
    let receipt = log.relocate(tag, typed.place.trim(), &typed.cause).map_err(told)?;
    done(&format!("{tag} lies at \"{}\" now", shortened(typed.place.trim(), 100)), &receipt, desk, environment)
}

pub(crate) fn measure(typed: &Measure, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let tag = desk.tag(&typed.tag)?;
    if typed.form.is_blank() && typed.measured.is_none() {
        let complaint = Complaint::new("nothing is said of what was found");
        let cure = "Give the outline as for `dropwise stock add`, or --measured for the thickness";
        return Err(Stop::bad_input(complaint.with_cure(cure)));
    }
    let mut thickness = None;
    let mut faults = Vec::new();
    if let Some(text) = &typed.measured {
        keep(desk.length("--measured", text), &mut faults, |length| thickness = Some(length));
    }
    if !faults.is_empty() {
        return Err(bad(faults));
    }
    let mut log = desk.open(Purpose::Change, environment)?;
    let held = log.sheet(tag).map_err(told)?.details;
    let thickness_mm = thickness.or(held.measured_mm);
    let found = if typed.form.is_blank() {
        Measurement { shape: held.shape, damage: held.damage, thickness_mm }
    } else {
        let mut described = typed.form.read(desk)?;
        tell_notes(&described.notes, desk, environment);
        match (described.shapes.pop(), described.damage.pop()) {
            (Some(shape), Some(damage)) if described.shapes.is_empty() => Measurement { shape, damage, thickness_mm },
            _ => {
                let complaint = Complaint::new("the drawing holds more than one outline").at("--drawing");
                return Err(Stop::bad_input(complaint.with_cure("Choose one with --piece")));
            }
        }
    };
    let receipt = log.measure(tag, found, &typed.cause).map_err(told)?;
    done(&format!("{tag} is as measured now; it carries what it carried"), &receipt, desk, environment)
}

pub(crate) fn scrap(typed: &Scrap, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let tag = desk.tag(&typed.tag)?;
    let proceeds = typed.proceeds.as_ref().map(|text| desk.amount("--proceeds", text)).transpose();
    let proceeds = proceeds.map_err(Stop::bad_input)?;
    let mut log = desk.open(Purpose::Change, environment)?;
    let receipt = log.scrap(tag, proceeds, &typed.cause).map_err(told)?;
    let weight = log.sheet(tag).map_err(told)?.details.weight();
    done(&format!("{tag}, {}, is scrap now", desk.weight(weight)), &receipt, desk, environment)
}

pub(crate) fn undo(typed: &Undo, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let mut log = desk.open(Purpose::Change, environment)?;
    let number = match typed.event {
        Some(number) => EventNumber(number),
        // Named before it is taken back, so that what is told is what is done.
        None => log.last_standing_event().map_err(told)?.map_or(EventNumber(0), |event| event.number),
    };
    let asked = typed.event.map(EventNumber).or(Some(number).filter(|number| number.0 > 0));
    let receipt = log.undo(asked, &typed.cause).map_err(told)?;
    done(&format!("event {number} is taken back"), &receipt, desk, environment)
}

fn done(what: &str, receipt: &Receipt, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    told_when_behind(receipt, desk.stderr_ink, environment);
    environment.print(&format!("{} (event {}).\n", crate::text::cleaned(what), receipt.number))?;
    Ok(Exit::Done)
}
