//! `stock add`: a piece that came into the shop.

use clap::Args;
use dropwise_geometry::{Outline, Shape};
use dropwise_model::Money;
use dropwise_stock::{Details, NewSheet};

use super::ask::ask_for_piece;
use super::describe::in_words;
use super::desk::{Desk, bad, tell_notes, told, told_when_behind};
use super::form::Form;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::Purpose;
use crate::text::wrapped;

/// What was typed after `stock add`.
#[derive(Clone, Debug, Default, PartialEq, Args)]
pub(crate) struct Add {
    /// The metal, such as `mild steel` or `5052`
    #[arg(long, value_name = "METAL")]
    pub(crate) material: Option<String>,
    /// How thick it was sold as: a gauge such as `16 ga`, or a length
    #[arg(long, value_name = "THICKNESS")]
    pub(crate) thickness: Option<String>,
    #[command(flatten)]
    pub(crate) form: Form,
    #[command(flatten)]
    pub(crate) notes: Written,
    /// What was paid for it: `18.50` for the piece, `0.42 per lb`, `2.10 per kg`, or `paid` for nothing more
    #[arg(long, value_name = "PRICE")]
    pub(crate) price: Option<String>,
    /// How many there are, alike; each gets a tag of its own
    #[arg(long, value_name = "COUNT", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) quantity: u32,
    /// Since when the shop has it, such as `2026-03-01`; today when left out
    #[arg(long, value_name = "DATE")]
    pub(crate) since: Option<String>,
    /// The tag it carries already; a fresh one is given when left out
    #[arg(long, value_name = "TAG")]
    pub(crate) tag: Option<String>,
    /// Why, for the history
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub(crate) cause: String,
}

/// What is written on a piece and its papers.
#[derive(Clone, Debug, Default, PartialEq, Args)]
#[command(next_help_heading = "What is written on it and its papers")]
pub(crate) struct Written {
    /// Where it lies, such as `rack B, second shelf`
    #[arg(long, value_name = "TEXT")]
    pub(crate) place: Option<String>,
    /// Grade or temper, such as `A36` or `H32`
    #[arg(long, value_name = "TEXT")]
    pub(crate) grade: Option<String>,
    /// Thickness as measured
    #[arg(long, value_name = "LENGTH")]
    pub(crate) measured: Option<String>,
    /// Coating, such as `G90`
    #[arg(long, value_name = "TEXT")]
    pub(crate) coating: Option<String>,
    /// The way its grain runs: x, y, or degrees from the x axis
    #[arg(long, value_name = "DIRECTION")]
    pub(crate) grain: Option<String>,
    /// Who sold it
    #[arg(long, value_name = "TEXT")]
    pub(crate) supplier: Option<String>,
    /// Heat number
    #[arg(long, value_name = "TEXT")]
    pub(crate) heat: Option<String>,
    /// Where its mill certificate is to be found
    #[arg(long, value_name = "TEXT")]
    pub(crate) certificate: Option<String>,
    /// Path of a photo
    #[arg(long, value_name = "FILE")]
    pub(crate) photo: Option<String>,
    /// Anything else
    #[arg(long, value_name = "TEXT")]
    pub(crate) notes: Option<String>,
}

impl Written {
    /// Writes what was given over what was known.
    pub(crate) fn write_to(&self, details: &mut Details, desk: &Desk, faults: &mut Vec<Complaint>) {
        let texts = [
            (&self.place, &mut details.place),
            (&self.grade, &mut details.grade),
            (&self.coating, &mut details.coating),
            (&self.supplier, &mut details.supplier),
            (&self.heat, &mut details.heat_number),
            (&self.certificate, &mut details.certificate),
            (&self.photo, &mut details.photo),
            (&self.notes, &mut details.notes),
        ];
        for (typed, text) in texts {
            if let Some(typed) = typed {
                typed.trim().clone_into(text);
            }
        }
        if let Some(text) = &self.measured {
            keep(desk.length("--measured", text), faults, |length| details.measured_mm = Some(length));
        }
        if let Some(text) = &self.grain {
            keep(desk.grain("--grain", text), faults, |grain| details.grain_deg = Some(grain));
        }
    }
}

/// Uses a value that was read, or keeps its fault.
pub(crate) fn keep<T>(read: Result<T, Complaint>, faults: &mut Vec<Complaint>, take: impl FnOnce(T)) {
    match read {
        Ok(value) => take(value),
        Err(fault) => faults.push(fault),
    }
}

pub(crate) fn add(typed: Add, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let is_bare = typed == Add { quantity: 1, ..Add::default() };
    let typed = if is_bare { ask_for_piece(desk, environment)? } else { typed };
    let sheets = pieces(&typed, desk, environment)?;
    let words: Vec<String> =
        sheets.iter().map(|sheet| format!("{}, {}", in_words(&sheet.details, desk), desk.money(sheet.paid))).collect();
    let mut log = desk.open(Purpose::Add, environment)?;
    let receipt = log.buy(sheets, &typed.cause).map_err(told)?;
    told_when_behind(&receipt, desk.stderr_ink, environment);
    let mut page = String::new();
    for (tag, words) in receipt.tags.iter().zip(words) {
        page.push_str(&wrapped(&format!("{}  ", desk.ink.strong(tag.as_str())), 6, &words));
    }
    environment.print(&page)?;
    let which = if receipt.tags.len() == 1 { "it" } else { "each" };
    environment.say(&format!("Written down as event {}. Chalk the tag on {which}.\n", receipt.number));
    Ok(Exit::Done)
}

/// The pieces that were described.
pub(crate) fn pieces(typed: &Add, desk: &Desk, environment: &mut Environment<'_>) -> Result<Vec<NewSheet>, Stop> {
    let mut faults = Vec::new();
    let lacks = |what: &str, cure: &str| Complaint::new(format!("nothing is said of the {what}")).with_cure(cure);
    let mut material = None;
    match &typed.material {
        Some(text) => keep(desk.material("--material", text), &mut faults, |read| material = Some(read)),
        None => faults.push(lacks("metal", "Give --material, such as \"mild steel\"")),
    }
    let mut thickness = None;
    match (&typed.thickness, material) {
        (Some(text), Some(material)) => {
            keep(desk.thickness("--thickness", text, material), &mut faults, |read| thickness = Some(read));
        }
        (Some(_), None) => {}
        (None, _) => faults.push(lacks("thickness", "Give --thickness, such as \"16 ga\" or \"3 mm\"")),
    }
    let mut since = None;
    if let Some(text) = &typed.since {
        keep(desk.date("--since", text), &mut faults, |date| since = Some(date));
    }
    let tag = match &typed.tag {
        None => None,
        Some(text) => match desk.tag(text) {
            Ok(tag) => Some(tag),
            Err(stop) => {
                faults.extend(stop.complaints);
                None
            }
        },
    };
    let described = match typed.form.read(desk) {
        Ok(described) => Some(described),
        Err(stop) => {
            faults.extend(stop.complaints);
            None
        }
    };
    let shapes: Vec<(Shape, Vec<Outline>)> = described.iter().flat_map(shapes_of).collect();
    let mut sheets = Vec::new();
    if let (Some(material), Some(thickness)) = (material, thickness) {
        for (shape, damage) in shapes {
            let mut details = Details { damage, ..Details::new(shape, material, thickness) };
            typed.notes.write_to(&mut details, desk, &mut faults);
            let mut paid = Money::ZERO;
            if let Some(text) = &typed.price {
                keep(desk.price_of("--price", text, &details), &mut faults, |price| paid = price);
            }
            let sheet = NewSheet { tag, details, paid, since };
            sheets.extend(std::iter::repeat_n(sheet, typed.quantity as usize));
        }
    }
    if tag.is_some() && sheets.len() > 1 {
        let problem = format!("one tag cannot be on {} pieces", sheets.len());
        faults.push(Complaint::new(problem).at("--tag").with_cure("Leave it out, or write the pieces down one by one"));
    }
    // A fault that several outlines share is one.
    faults.dedup();
    if !faults.is_empty() {
        return Err(bad(faults));
    }
    if let Some(described) = &described {
        tell_notes(&described.notes, desk, environment);
    }
    Ok(sheets)
}

/// Outlines with their damage.
fn shapes_of(described: &dropwise_formats::DescribedPiece) -> Vec<(Shape, Vec<Outline>)> {
    described.shapes.iter().cloned().zip(described.damage.iter().cloned()).collect()
}
