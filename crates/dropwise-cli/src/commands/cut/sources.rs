//! Where each sheet of a plan comes from.

use std::path::Path;

use dropwise_formats::PlanDocument;
use dropwise_formats::plan_json::types::{RingEntry, ShapeEntry, SheetEntry};
use dropwise_geometry::{Outline, Point, Shape, Vertex};
use dropwise_model::{Money, Plan};
use dropwise_shop::{Coinage, Material, Thickness, stock_in_words};
use dropwise_stock::{
    Change, Currency, CutPlan, Details, EventNumber, NewSheet, PlannedSheet, Source, State, StockLog, StockSheet, Tag,
};

use super::Cut;
use crate::commands::stock::{Desk, told};
use crate::complaint::{Complaint, Stop};
use crate::exit::Exit;
use crate::text::shortened;

/// Edges of a plan's sheet and of the piece that it is said to be may differ by so much, mm: a tape reads no better.
const EDGE: f64 = 1.0;
/// Their areas may differ by this share.
const AREA: f64 = 1e-3;
/// Thicknesses that differ by less are the same, mm.
const THICKNESS: f64 = 0.01;

/// What a plan does to the rack. `proved` is the same plan, made anew: what is recorded of areas and leftovers is its own.
pub(super) fn planned(
    document: &PlanDocument,
    proved: &Plan,
    typed: &Cut,
    mut named: Vec<(String, Tag)>,
    desk: &Desk,
    log: &StockLog,
) -> Result<CutPlan, Stop> {
    let mut complaints = Vec::new();
    let mut strangers: Vec<String> = Vec::new();
    let mut sheets = Vec::new();
    for (entry, figures) in document.sheets.iter().zip(&proved.figures().sheets) {
        let source = match held(entry) {
            Some((tag, revision)) => match of_other_log(entry, tag, revision, desk, log) {
                None => Source::Held { tag, revision },
                Some(complaint) => {
                    complaints.push(complaint.at(typed.plan.display()));
                    continue;
                }
            },
            None => match named.iter().position(|(name, _)| *name == entry.name) {
                Some(at) => {
                    let (_, tag) = named.remove(at);
                    match piece(entry, tag, desk, log) {
                        Ok(source) => source,
                        Err(complaint) => {
                            complaints.push(complaint);
                            continue;
                        }
                    }
                }
                None if typed.bought => match bought(entry, &typed.plan) {
                    Ok(new) => Source::Bought(Box::new(new)),
                    Err(complaint) => {
                        complaints.push(complaint);
                        continue;
                    }
                },
                None => {
                    strangers.push(shortened(&entry.name, 40));
                    continue;
                }
            },
        };
        sheets.push(PlannedSheet::of(source, figures));
    }
    if !strangers.is_empty() {
        let problem = format!("it cuts sheets that are not from the stock log: {}", strangers.join(", "));
        let cure = "If they were bought for it, say --bought. If they are in the log, say which they are, such as \
                    --sheet \"drop 7=7CDP\"; if they should be, add them first with `dropwise stock add`";
        complaints.push(Complaint::new(problem).at(typed.plan.display()).with_cure(cure));
    }
    for (name, _) in named {
        let problem =
            format!("the plan cuts no other sheet called \"{}\" that is not from the log", shortened(&name, 40));
        complaints.push(Complaint::new(problem).at("--sheet").with_cure("Write the name as the plan does"));
    }
    if typed.bought {
        complaints.extend(other_coins(document, typed, log)?);
    }
    match complaints.is_empty() {
        true => Ok(CutPlan { name: document.job.name.clone(), sheets }),
        false => Err(Stop { exit: Exit::BadInput, complaints }),
    }
}

/// A piece that the plan has from the log.
fn held(entry: &SheetEntry) -> Option<(Tag, EventNumber)> {
    Some((entry.tag.as_ref()?.parse().ok()?, EventNumber(entry.revision?)))
}

/// A complaint when the log's piece has the tag and the revision that the plan names, and is another all the same: tags
/// are given in the same order in every log. What was changed or used since is for the log to tell.
fn of_other_log(entry: &SheetEntry, tag: Tag, revision: EventNumber, desk: &Desk, log: &StockLog) -> Option<Complaint> {
    let is_as_planned = |sheet: &StockSheet| sheet.revision == revision && sheet.state == State::InRack;
    log.sheet(tag).ok().filter(is_as_planned)?;
    let complaint = piece(entry, tag, desk, log).err()?;
    Some(complaint.with_cure("The plan was made for another stock log: name that with --log"))
}

/// The piece of the log that a sheet of the plan is said to be, as it is now.
fn piece(entry: &SheetEntry, tag: Tag, desk: &Desk, log: &StockLog) -> Result<Source, Complaint> {
    let refused = |problem: String| {
        let cure = "Look with `dropwise stock show`; name the piece that was cut, or correct it with `stock measure`";
        Complaint::new(problem).at("--sheet").with_cure(cure)
    };
    let sheet = log
        .sheet(tag)
        .map_err(|error| Complaint::new(error.fault.to_string()).at("--sheet").with_cure(error.cure()))?;
    let name = shortened(&entry.name, 40);
    if sheet.state != State::InRack {
        return Err(refused(format!("{tag}, said to be \"{name}\", is not in the rack")));
    }
    let (details, shape) = (&sheet.details, shape_of(&entry.shape));
    let is_same_metal = entry.material.as_deref().and_then(|word| word.parse::<Material>().ok())
        == Some(details.material)
        && entry.thickness.is_some_and(|wanted| (wanted - details.thickness.millimetres()).abs() < THICKNESS);
    if !is_same_metal {
        let is = crate::commands::stock::in_words(details, desk);
        return Err(refused(format!(
            "{tag} is {is}; \"{name}\" is to be {}",
            shortened(&stock_in_words(&entry.class, desk.unit), 60)
        )));
    }
    let (planned, known) = (shape.bounds(), details.shape.bounds());
    let corners = [
        (planned.min.x, known.min.x),
        (planned.min.y, known.min.y),
        (planned.max.x, known.max.x),
        (planned.max.y, known.max.y),
    ];
    let is_same_form = corners.iter().all(|(a, b)| (a - b).abs() <= EDGE)
        && (shape.area() - details.shape.area()).abs() <= AREA * shape.area();
    if !is_same_form {
        let size = |bounds: dropwise_geometry::Bounds| {
            format!("{} x {}", desk.show(bounds.width()), desk.show(bounds.height()))
        };
        return Err(refused(format!(
            "{tag} has not the outline of \"{name}\": over all it is {}, the plan's sheet {}",
            size(known),
            size(planned)
        )));
    }
    Ok(Source::Held { tag, revision: sheet.revision })
}

/// A sheet as it is bought, at the price of the plan.
fn bought(entry: &SheetEntry, plan: &Path) -> Result<NewSheet, Complaint> {
    let metal = entry.material.as_deref().and_then(|word| word.parse::<Material>().ok());
    let thickness = entry.thickness.and_then(|thickness| Thickness::new(thickness).ok());
    let Some((material, thickness)) = metal.zip(thickness) else {
        let problem = format!("it does not tell metal and thickness of \"{}\"", shortened(&entry.name, 40));
        return Err(Complaint::new(problem).at(plan.display()).with_cure("Nest the job again: older plans lack them"));
    };
    let mut details = Details::new(shape_of(&entry.shape), material, thickness);
    details.damage = entry.damage.iter().map(ring_of).collect();
    details.grain_deg = entry.grain_deg;
    details.place.clone_from(&entry.location);
    details.notes = format!("bought as {}", shortened(&entry.name, 60));
    Ok(NewSheet { tag: None, details, paid: Money::from_coins(entry.price), since: None })
}

/// A log with nothing in it counts in the plan's coins from now on, unless it was told others.
pub(super) fn count_in_coins_of_plan(document: &PlanDocument, log: &mut StockLog) -> Result<(), Stop> {
    let is_untold = log.currency().map_err(told)?.name.is_empty();
    if is_untold && log.events().map_err(told)?.is_empty() {
        log.set_currency(&currency_of(document)).map_err(told)?;
    }
    Ok(())
}

fn currency_of(document: &PlanDocument) -> Currency {
    let coinage = Coinage::new(document.job.currency_decimals).unwrap_or_default();
    Currency { name: document.job.currency.clone(), coinage }
}

/// A complaint when the plan's prices are in other coins than the log's.
fn other_coins(document: &PlanDocument, typed: &Cut, log: &StockLog) -> Result<Option<Complaint>, Stop> {
    let kept = log.currency().map_err(told)?;
    let of_plan = currency_of(document);
    Ok((!of_plan.agrees_with(&kept)).then(|| {
        let text = format!("the plan counts in {of_plan}, the stock log in {kept}");
        let cure = "Write the log's into the job file, with prices to match: currency and currency_decimals";
        Complaint::new(crate::text::cleaned(&text)).at(typed.plan.display()).with_cure(cure)
    }))
}

/// Refuses a plan of bought sheets alone that was recorded already. Pieces of the log cannot be cut twice; these could.
pub(super) fn refuse_repeated(plan: &CutPlan, typed: &Cut, log: &StockLog) -> Result<(), Stop> {
    if plan.sheets.iter().any(|sheet| matches!(sheet.source, Source::Held { .. })) {
        return Ok(());
    }
    let events = log.events().map_err(told)?;
    let is_undone =
        |number| events.iter().any(|event| matches!(event.change, Change::Undone { event } if event == number));
    let is_same = |change: &Change| match change {
        Change::Cut { name, sheets, .. } => {
            *name == plan.name
                && sheets.len() == plan.sheets.len()
                && sheets.iter().zip(&plan.sheets).all(|(cut, planned)| {
                    (cut.parts_area - planned.parts_area).abs() <= 1e-6 * planned.parts_area
                        && cut.leftovers.iter().map(|left| &left.details.shape).eq(&planned.leftovers)
                })
        }
        _ => false,
    };
    match events.iter().find(|event| is_same(&event.change) && !is_undone(event.number)) {
        Some(event) => {
            let complaint = Complaint::new(format!("it was recorded already, as event {}", event.number));
            let cure = "If the same was cut a second time, on further sheets, say --again";
            Err(Stop::bad_input(complaint.at(typed.plan.display()).with_cure(cure)))
        }
        None => Ok(()),
    }
}

fn shape_of(entry: &ShapeEntry) -> Shape {
    Shape::new(ring_of(&entry.outline), entry.holes.iter().map(ring_of).collect())
}

fn ring_of(entry: &RingEntry) -> Outline {
    let vertices = entry.0.iter().map(|vertex| Vertex { point: Point::new(vertex.x, vertex.y), bulge: vertex.bulge });
    Outline::new(vertices.collect())
}
