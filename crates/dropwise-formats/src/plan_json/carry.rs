//! Where the parts of an earlier plan lie, for a job that may have changed since.

use std::collections::BTreeMap;

use dropwise_geometry::shortened;
use dropwise_model::{Job, Layout, Placement, SheetUse, Violation};

use super::placements_of;
use super::types::PlanDocument;

/// An earlier plan's layout in the indices of another job. Nothing of it has been checked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CarriedOver {
    /// Parts and sheets that the job still has, by their names.
    pub layout: Layout,
    /// Names of parts that the job no longer has, and how many of each lay somewhere.
    pub parts_gone: BTreeMap<String, usize>,
    /// Names of sheets that the job no longer has, and how many of its parts lay on each.
    pub sheets_gone: BTreeMap<String, usize>,
}

impl PlanDocument {
    /// The layout of this plan for another job: parts and sheets are known by their names, those of the rack by their tags.
    ///
    /// Only where things lie is read; figures and proof of the document may be stale.
    #[must_use]
    pub fn carried_over(&self, job: &Job) -> CarriedOver {
        let mut carried = CarriedOver::default();
        for sheet in &self.sheets {
            let mut placements = Vec::new();
            for (entry, placement) in sheet.placements.iter().zip(placements_of(sheet)) {
                match job.parts().iter().position(|part| part.name == entry.name) {
                    Some(part) => placements.push(Placement { part, ..placement }),
                    None => *carried.parts_gone.entry(entry.name.clone()).or_default() += 1,
                }
            }
            match job.sheets().iter().position(|one| one.name == sheet.name) {
                Some(index) => {
                    let used = SheetUse { sheet: index, length: sheet.length_bought, placements };
                    carried.layout.sheets.push(used);
                }
                None => *carried.sheets_gone.entry(sheet.name.clone()).or_default() += placements.len(),
            }
        }
        carried
    }
}

impl CarriedOver {
    /// A violation of the layout for the job, with the names of the parts and the sheet it speaks of. Lengths are those of
    /// plans, mm.
    #[must_use]
    pub fn told(&self, violation: &Violation, job: &Job) -> String {
        let (on, placements) = violation.concerns();
        let used = on.and_then(|on| self.layout.sheets.get(on));
        let part = |&index: &usize| Some(job.parts().get(used?.placements.get(index)?.part)?.name.as_str());
        let mut names: Vec<String> = placements.iter().filter_map(part).map(shortened).collect();
        let sheet = match violation {
            Violation::TooManySheets { sheet, .. } => Some(*sheet),
            _ => used.map(|used| used.sheet),
        };
        let sheet = sheet.and_then(|sheet| job.sheets().get(sheet)).map(|sheet| shortened(&sheet.name));
        names.dedup();
        match (names.is_empty(), sheet) {
            (true, None) => violation.to_string(),
            (true, Some(sheet)) => format!("{sheet}: {violation}"),
            (false, sheet) => {
                let on = sheet.map_or_else(String::new, |sheet| format!(" on {sheet}"));
                format!("{}{on}: {violation}", names.join(" and "))
            }
        }
    }
}
