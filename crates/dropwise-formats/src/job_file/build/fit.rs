//! Parts that look as if they fit on no sheet: a slip worth telling before the search.

use dropwise_model::{Job, Part, Sheet};

use super::context::Context;
use super::part::PartDetail;
use super::sheet::SheetDetail;
use crate::drawing::Severity;
use crate::job_file::error::{Fault, JobFileError, Note};

/// Warns of each part for which there is no sheet of its class, or none as large as the box around it.
///
/// A box says little of an odd shape: a part with a warning may still fit askew, and one without may not fit at all. The
/// nester has the last word.
pub(super) fn warn_of_misfits(context: &Context<'_>, job: &Job, details: &[PartDetail]) {
    for (part, detail) in job.parts().iter().zip(details) {
        if let Some(text) = misfit(context, job, part) {
            context.push_note(Note { severity: Severity::Warning, place: detail.place.clone(), text });
        }
    }
}

/// Refuses stock sold by length of which the margins leave nothing, at no length.
pub(super) fn check_room(context: &Context<'_>, sheet: &Sheet, detail: &SheetDetail, margin: f64) {
    let width = sheet.shape.bounds().height();
    // What lies in the rack is what it is.
    if sheet.open_length.is_none() || detail.rack.is_some() || width > 2.0 * margin {
        return;
    }
    let problem = format!(
        "is a strip {} wide, of which the edge margin of {} on both sides leaves nothing",
        context.show(width),
        context.show(margin)
    );
    let cure = "Check `width` and its unit, or make the margin smaller";
    context.push(JobFileError::new(detail.place.clone(), Fault::value(problem, cure)));
}

fn misfit(context: &Context<'_>, job: &Job, part: &Part) -> Option<String> {
    let sheets: Vec<&Sheet> = job.sheets().iter().filter(|sheet| sheet.class == part.class).collect();
    if sheets.is_empty() {
        let others = job.sheets().iter().map(|sheet| sheet.class.label());
        let nearest = others.max_by_key(|label| common_start(label, part.class.label()));
        let hint = nearest.map_or_else(String::new, |label| format!("; the nearest is {label}"));
        return Some(format!("no sheet is {}{hint}. Check material and thickness on both sides", part.class));
    }
    let margin = 2.0 * job.clearances().margin();
    let (long, short) = sides(part.shape.bounds());
    let fits = |sheet: &&&Sheet| {
        let (sheet_long, sheet_short) = sides(sheet.shape.bounds());
        long + margin <= sheet_long && short + margin <= sheet_short
    };
    if sheets.iter().any(|sheet| fits(&sheet)) {
        return None;
    }
    let largest = sheets.iter().max_by(|a, b| a.shape.area().total_cmp(&b.shape.area()))?;
    let (sheet_long, sheet_short) = sides(largest.shape.bounds());
    let show = |millimetres| context.show(millimetres);
    Some(format!(
        "is {} x {}; with the edge margin of {} on both sides that is more than any sheet of {} offers (the largest is {} \
         x {}). Check its unit, or add a larger sheet",
        show(long),
        show(short),
        show(margin / 2.0),
        part.class,
        show(sheet_long),
        show(sheet_short)
    ))
}

fn sides(bounds: dropwise_geometry::Bounds) -> (f64, f64) {
    (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()))
}

fn common_start(a: &str, b: &str) -> usize {
    a.bytes().zip(b.bytes()).take_while(|(a, b)| a == b).count()
}
