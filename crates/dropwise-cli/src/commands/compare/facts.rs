//! What is compared of a plan.

use std::collections::BTreeMap;

use dropwise_model::Placement;

use super::super::draw;
use crate::complaint::Stop;
use crate::plan_file::Proved;

/// A plan in figures. Money is counted in the smallest coin, areas in mm², weights in kg.
#[derive(Clone, Debug)]
pub(super) struct Facts {
    pub(super) name: String,
    pub(super) number: String,
    pub(super) material: i64,
    pub(super) work: i64,
    pub(super) total: i64,
    /// Minutes at the saw or torch, rough, and whether the speed of all tools is known.
    pub(super) minutes: (f64, bool),
    /// Net over gross area.
    pub(super) yield_ratio: f64,
    pub(super) gross_weight: f64,
    /// The sheets that are cut, by name.
    pub(super) sheets: BTreeMap<String, OnSheet>,
    /// The pieces that go back: how many, their area, and what they are worth.
    pub(super) leftovers: (usize, f64, i64),
    /// Sides of the largest rectangle on any of them, mm.
    pub(super) largest_leftover: Option<(f64, f64)>,
    pub(super) parts: BTreeMap<String, OfPart>,
}

/// Sheets of one name.
#[derive(Clone, Debug, Default)]
pub(super) struct OnSheet {
    /// How many of them are cut.
    pub(super) count: usize,
    /// Parts on them.
    pub(super) parts: usize,
    /// What they cost, less leftovers and scrap.
    pub(super) cost: i64,
}

/// Parts of one name.
#[derive(Clone, Debug, Default)]
pub(super) struct OfPart {
    pub(super) placed: u32,
    pub(super) wanted: u32,
    /// What one costs, work included.
    pub(super) each: Option<i64>,
    /// Where each copy lies: name of the sheet, which of that name, and how.
    pub(super) places: Vec<(String, usize, Placement)>,
}

impl Facts {
    pub(super) fn of(proved: &Proved) -> Result<Self, Stop> {
        let (loaded, plan, cost) = (&proved.rebuilt.loaded, &proved.rebuilt.plan, &proved.rebuilt.cost);
        let (figures, job) = (plan.figures(), &loaded.job);
        let drawn = draw::Drawn { document: &proved.document, loaded, plan, cost };
        let mut parts: BTreeMap<String, OfPart> = BTreeMap::new();
        for ((part, figures), cost) in job.parts().iter().zip(&figures.parts).zip(&cost.parts) {
            let each = cost.each().map(|money| money.coins());
            let fact = OfPart { placed: figures.placed, wanted: part.quantity, each, places: Vec::new() };
            parts.insert(part.name.clone(), fact);
        }
        let mut sheets: BTreeMap<String, OnSheet> = BTreeMap::new();
        for (used, figures) in plan.layout().sheets.iter().zip(&figures.sheets) {
            let name = &job.sheets()[used.sheet].name;
            let fact = sheets.entry(name.clone()).or_default();
            for placement in &used.placements {
                let part = parts.entry(job.parts()[placement.part].name.clone()).or_default();
                part.places.push((name.clone(), fact.count, *placement));
            }
            fact.count += 1;
            fact.parts += used.placements.len();
            fact.cost += figures.cost().coins();
        }
        let leftovers = || figures.sheets.iter().flat_map(|sheet| &sheet.leftovers);
        let area = |&(long, short): &(f64, f64)| long * short;
        let rectangles = leftovers().map(|leftover| leftover.largest_rectangle);
        Ok(Self {
            name: loaded.name.clone(),
            number: proved.document.number(),
            material: cost.whole.material.coins(),
            work: cost.whole.work().coins(),
            total: cost.whole.total().coins(),
            minutes: draw::minutes(&drawn)?,
            yield_ratio: figures.yield_ratio(),
            gross_weight: figures.gross_weight,
            sheets,
            leftovers: (leftovers().count(), figures.leftover_area, figures.leftover_credit.coins()),
            largest_leftover: rectangles.max_by(|a, b| area(a).total_cmp(&area(b))),
            parts,
        })
    }
}

/// Two places are one where they differ by no more than this, mm and degrees: figures were written and read.
const SAME_PLACE: f64 = 1e-3;

impl OfPart {
    /// How many copies lie where none lay before.
    pub(super) fn moved_since(&self, before: &Self) -> usize {
        let mut old: Vec<&(String, usize, Placement)> = before.places.iter().collect();
        let mut moved = 0;
        for place in &self.places {
            match old.iter().position(|other| is_same_place(place, other)) {
                Some(index) => {
                    old.swap_remove(index);
                }
                None => moved += 1,
            }
        }
        moved
    }
}

fn is_same_place(one: &(String, usize, Placement), other: &(String, usize, Placement)) -> bool {
    let (a, b) = (one.2.position, other.2.position);
    let turned = (a.rotation_deg - b.rotation_deg).rem_euclid(360.0);
    (&one.0, one.1) == (&other.0, other.1)
        && a.is_mirrored == b.is_mirrored
        && turned.min(360.0 - turned) <= SAME_PLACE
        && (a.translation - b.translation).length() <= SAME_PLACE
}
