//! An arrangement, as the plan has it.

use dropwise_model::{Layout, Placement, Reason, SheetUse, Turns, Unplaced};

use crate::problem::task::Task;
use crate::shapes::girth::Girth;
use crate::state::working::{Arrangement, Working};

/// An arrangement as a layout of the task's job, with a reason for all that is missing.
pub(crate) fn layout(task: &Task, arrangement: &Arrangement) -> Layout {
    let items = task.items();
    let mut working = Working::new(task, items.clone());
    working.restore(arrangement);
    let mut layout = Layout::default();
    for bin in &working.bins {
        if bin.members.is_empty() {
            continue;
        }
        let mut members = bin.members.clone();
        members.sort_unstable();
        let placements = members
            .iter()
            .filter_map(|&item| {
                let (_, pose) = working.place_of(item)?;
                Some(Placement { part: items[item], position: task.isometry(items[item], pose) })
            })
            .collect();
        layout.sheets.push(SheetUse { sheet: bin.sheet, length: working.length_used(bin), placements });
    }
    let mut unplaced = vec![0; task.parts.len()];
    for (&part, _) in items.iter().zip(&arrangement.places).filter(|(_, place)| place.is_none()) {
        unplaced[part] += 1;
    }
    for (part, count) in unplaced.into_iter().enumerate().filter(|&(_, count)| count > 0) {
        layout.unplaced.push(Unplaced { part, count, reason: reason(task, part) });
    }
    layout
}

/// Why a part lies on no sheet.
pub(crate) fn reason(task: &Task, part: usize) -> Reason {
    if task.sheets.is_empty() {
        return Reason::NoSuchStock;
    }
    if task.fits_somewhere(part) {
        return if task.was_cut_short() { Reason::OutOfTime } else { Reason::NoRoom };
    }
    let is_held_to_grain = matches!(task.job.parts()[part].turns, Turns::Grain { .. });
    if is_held_to_grain && task.job.sheets().iter().all(|sheet| sheet.grain_deg.is_none()) {
        return Reason::GrainUnknown;
    }
    // How much the girth of the part exceeds that of each room; the least excess is the nearest miss.
    let girth = Girth::of(&task.parts[part].variants.first().map_or_else(Vec::new, |v| v.edge().hull.clone()));
    let excess = |sheet: usize| {
        let room = Girth::of(&task.container(sheet).hull);
        (girth.diameter - room.diameter).max(girth.width - room.width).max(0.0)
    };
    let nearest = (0..task.sheets.len())
        .filter(|&sheet| task.job.instructions().allow(part, sheet))
        .min_by(|&a, &b| {
            excess(a).total_cmp(&excess(b)).then(task.container(b).area.total_cmp(&task.container(a).area))
        })
        .unwrap_or(0);
    Reason::TooLarge { nearest, excess: excess(nearest) }
}
