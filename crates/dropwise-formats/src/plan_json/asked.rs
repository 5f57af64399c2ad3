//! What was asked of a plan, and what became of it, in words.

use dropwise_geometry::{Unit, format_length, shortened};
use dropwise_model::{Job, Layout, Standing};

/// What was asked of a plan beside what is to be made, a sentence each without a full stop; empty when nothing was.
///
/// Of sheets that are not cut only how they stand is told.
#[must_use]
pub fn asked_in_words(job: &Job, layout: &Layout, unit: Unit) -> Vec<String> {
    let uses = |sheet: usize| layout.sheets.iter().any(|used| used.sheet == sheet);
    let cut: Vec<usize> = (0..job.sheets().len()).filter(|&sheet| uses(sheet)).collect();
    let mut said: Vec<String> = cut.iter().flat_map(|&sheet| asked_of_sheet(job, sheet, unit)).collect();
    let sheet = |index: usize| shortened(&job.sheets()[index].name);
    for kept in &job.instructions().kept_to {
        let names: Vec<String> = kept.sheets.iter().map(|&index| sheet(index)).collect();
        said.push(format!("{} goes on {} only", shortened(&job.parts()[kept.part].name), names.join(" or ")));
    }
    for &(index, standing) in &job.instructions().standing {
        let name = sheet(index);
        said.push(match (standing, uses(index)) {
            (Standing::UsedUp, true) => format!("{name} is to be used up first, and is cut"),
            (Standing::UsedUp, false) => format!("{name} is to be used up first, but no part was found to go on it"),
            (Standing::Preferred, true) => format!("{name} is preferred, and is cut"),
            (Standing::Preferred, false) => format!("{name} is preferred, but others do with less"),
            (Standing::Avoided, true) => {
                format!("{name} was to be avoided, but nothing else was found to hold all parts")
            }
            (Standing::Avoided, false) => format!("{name} is avoided, and is not cut"),
        });
    }
    said
}

/// What is asked of one sheet of a job: what is held there, and what is kept clear.
#[must_use]
pub fn asked_of_sheet(job: &Job, sheet: usize, unit: Unit) -> Vec<String> {
    let (told, name) = (job.instructions(), shortened(&job.sheets()[sheet].name));
    let corner = job.sheets()[sheet].shape.bounds().min;
    let mut said = Vec::new();
    for (index, part) in job.parts().iter().enumerate() {
        let count = told.held_on(sheet).filter(|(_, hold)| hold.part == index).count();
        if count > 0 {
            let are = if count == 1 { "is" } else { "are" };
            said.push(format!("{count} {} {are} held on {name} as told", shortened(&part.name)));
        }
    }
    for (_, area) in told.reserved_on(sheet) {
        let bounds = area.bounds();
        let show = |millimetres: f64| format_length(millimetres, unit);
        said.push(format!(
            "{} x {} of {name} is kept clear, from {} from the left and {} from the bottom",
            show(bounds.width()),
            show(bounds.height()),
            show(bounds.min.x - corner.x),
            show(bounds.min.y - corner.y)
        ));
    }
    said
}
