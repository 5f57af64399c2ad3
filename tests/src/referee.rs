//! The referee of plans.

use dropwise_geometry::{Isometry, Polygon, Shape};
use dropwise_model::{Job, Layout, Leftover, Plan, SheetUse};

use crate::flat::{Flat, SAGITTA};
use crate::rules;

/// Everything that is wrong with a plan, in words; empty when the referee finds no fault.
#[must_use]
pub fn judge(job: &Job, plan: &Plan) -> Vec<String> {
    let mut faults = judge_layout(job, plan.layout());
    if faults.is_empty() {
        for (index, used) in plan.layout().sheets.iter().enumerate() {
            let leftovers = &plan.figures().sheets[index].leftovers;
            faults.extend(judge_leftovers(job, used, leftovers).into_iter().map(|f| format!("sheet use {index}: {f}")));
        }
        faults.extend(rules::judge_figures(job, plan));
    }
    faults
}

/// Everything that is wrong with a layout: places, counts, classes, turns.
#[must_use]
pub fn judge_layout(job: &Job, layout: &Layout) -> Vec<String> {
    let mut faults = rules::judge_counts(job, layout);
    if !faults.is_empty() {
        return faults; // indices may name nothing
    }
    for (index, used) in layout.sheets.iter().enumerate() {
        let before = faults.len();
        faults.extend(rules::judge_rules(job, used));
        faults.extend(judge_places(job, used));
        for fault in &mut faults[before..] {
            *fault = format!("sheet use {index} (`{}`): {fault}", job.sheets()[used.sheet].name);
        }
    }
    faults
}

/// The sheet as bought, worked out here: stock by length is a rectangle from the origin.
fn bought(job: &Job, used: &SheetUse) -> Flat {
    let sheet = &job.sheets()[used.sheet];
    match used.length {
        Some(length) => {
            let width = sheet.shape.exterior().vertices().iter().map(|v| v.point.y).fold(0.0, f64::max);
            let corners = vec![(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)];
            Flat::new(geo::Polygon::new(corners.into(), Vec::new()), false)
        }
        None => Flat::of(&sheet.shape, Isometry::IDENTITY),
    }
}

fn placed_shapes<'a>(job: &'a Job, used: &'a SheetUse) -> impl Iterator<Item = (&'a Shape, Isometry)> {
    used.placements.iter().map(|placement| (&job.parts()[placement.part].shape, placement.position))
}

fn judge_places(job: &Job, used: &SheetUse) -> Vec<String> {
    let clearances = job.clearances();
    let room = bought(job, used);
    let damage: Vec<Flat> = job.sheets()[used.sheet].damage.iter().map(Flat::inside).collect();
    let flats: Vec<Flat> = placed_shapes(job, used).map(|(shape, position)| Flat::of(shape, position)).collect();
    let name = |index: usize| format!("`{}` (placement {index})", job.parts()[used.placements[index].part].name);
    let mut faults = Vec::new();
    for (i, flat) in flats.iter().enumerate() {
        if let Err(fault) = flat.within(&room, clearances.margin()) {
            faults.push(format!("{} against the sheet: {fault}", name(i)));
        }
        for zone in &damage {
            if let Err(fault) = flat.apart(zone, clearances.margin()) {
                faults.push(format!("{} against damage: {fault}", name(i)));
            }
        }
        for (j, other) in flats[..i].iter().enumerate() {
            if let Err(fault) = flat.apart(other, clearances.web()) {
                faults.push(format!("{} and {}: {fault}", name(j), name(i)));
            }
        }
    }
    faults
}

/// Leftovers are measured on flattened metal; the model states 0.05 mm for it, and twice that meets where two flattened
/// things do.
const LEFTOVER_SLACK: f64 = 0.1;

fn judge_leftovers(job: &Job, used: &SheetUse, leftovers: &[Leftover]) -> Vec<String> {
    let room = bought(job, used);
    let damage: Vec<Flat> = job.sheets()[used.sheet].damage.iter().map(Flat::inside).collect();
    let parts: Vec<Flat> = placed_shapes(job, used).map(|(shape, position)| Flat::of(shape, position)).collect();
    let rule = job.leftover_rule();
    let mut faults = Vec::new();
    let flats: Vec<Flat> = leftovers.iter().map(|leftover| Flat::new(polygon(&leftover.outline), false)).collect();
    for (i, (leftover, flat)) in leftovers.iter().zip(&flats).enumerate() {
        let mut check = |what: &str, result: Result<(), String>| {
            if let Err(fault) = result {
                faults.push(format!("leftover {i} {what}: {fault}"));
            }
        };
        check("on its sheet", flat.within(&room, 0.0));
        for zone in &damage {
            check("off damage", flat.apart(zone, 0.0));
        }
        for part in &parts {
            check("off parts", flat.apart(part, (job.clearances().kerf() - LEFTOVER_SLACK).max(0.0)));
        }
        for other in &flats[..i] {
            check("off other leftovers", flat.apart(other, 0.0));
        }
        let (length, width) = leftover.largest_rectangle;
        if (leftover.area - flat.area()).abs() > 1e-6 * flat.area() {
            faults.push(format!("leftover {i} of {} mm2 is said to have {}", flat.area(), leftover.area));
        }
        if length < width || length < rule.length || width < rule.width || length * width > flat.area() + 1e-6 {
            faults.push(format!("leftover {i} of {} mm2 cannot hold or keep {length} x {width}", flat.area()));
        }
    }
    faults
}

fn polygon(polygon: &Polygon) -> geo::Polygon {
    let ring = |points: &Vec<dropwise_geometry::Point>| -> geo::LineString {
        points.iter().map(|p| geo::Coord { x: p.x, y: p.y }).collect()
    };
    geo::Polygon::new(ring(&polygon.exterior), polygon.holes.iter().map(ring).collect())
}

/// Area of a shape and what flattening may have taken from it or added, mm².
pub(crate) fn area_of(shape: &Shape) -> (f64, f64) {
    let flat = Flat::of(shape, Isometry::IDENTITY);
    let around = |ring: &geo::LineString| ring.lines().map(|l| l.dx().hypot(l.dy())).sum::<f64>();
    let perimeter = perimeter_with(&flat, around);
    (flat.area(), perimeter * SAGITTA)
}

/// Length of all rings of a shape, up to flattening.
pub(crate) fn perimeter_of(shape: &Shape) -> f64 {
    perimeter_with(&Flat::of(shape, Isometry::IDENTITY), |ring| ring.lines().map(|l| l.dx().hypot(l.dy())).sum())
}

fn perimeter_with(flat: &Flat, around: impl Fn(&geo::LineString) -> f64) -> f64 {
    around(flat.polygon.exterior()) + flat.polygon.interiors().iter().map(around).sum::<f64>()
}

/// Area of the sheet as bought.
pub(crate) fn bought_area(job: &Job, used: &SheetUse) -> f64 {
    bought(job, used).area()
}
