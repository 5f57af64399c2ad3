//! Parts that look as if they fit on no sheet: a slip worth telling before the search.

use dropwise_geometry::Isometry;
use dropwise_model::{Job, Part, Sheet, Turns};
use dropwise_shop::stock_in_words;

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
        let words = |label: &str| stock_in_words(label, context.unit);
        let hint = nearest.map_or_else(String::new, |label| format!("; the nearest is {}", words(label)));
        let wanted = words(part.class.label());
        return Some(format!("no sheet is {wanted}{hint}. Check material and thickness on both sides"));
    }
    let margin = 2.0 * job.clearances().margin();
    let (long, short) = sides(part.shape.bounds());
    let fits = |sheet: &&&Sheet| {
        let (sheet_long, sheet_short) = sides(sheet.shape.bounds());
        long + margin <= sheet_long && short + margin <= sheet_short
    };
    if sheets.iter().any(|sheet| fits(&sheet)) {
        return against_the_grain(context, job, part, &sheets);
    }
    let largest = sheets.iter().max_by(|a, b| a.shape.area().total_cmp(&b.shape.area()))?;
    let (sheet_long, sheet_short) = sides(largest.shape.bounds());
    let show = |millimetres| context.show(millimetres);
    // Millimetres taken for inches, or the other way round, are the usual slip.
    let (factor, other) = if context.unit.is_metric() { (25.4, "in") } else { (1.0 / 25.4, "mm") };
    let would_fit = long * factor + margin <= sheet_long && short * factor + margin <= sheet_short;
    let is_meant = would_fit && long * factor > margin.max(1.0);
    let cure = match is_meant {
        true => {
            let number = |millimetres: f64| show(millimetres).split(' ').next().unwrap_or_default().to_owned();
            let (long, short) = (number(long), number(short));
            format!("If these are {other}, write \"{long} {other}\" and \"{short} {other}\"; else add a larger sheet")
        }
        false => "Check its unit, or add a larger sheet".to_owned(),
    };
    Some(format!(
        "is {} x {}; with the edge margin of {} on both sides that is more than any sheet of {} offers (the largest is {} \
         x {}). {cure}",
        show(long),
        show(short),
        show(margin / 2.0),
        stock_in_words(part.class.label(), context.unit),
        show(sheet_long),
        show(sheet_short)
    ))
}

/// What to say of a part that its grain keeps off every sheet although it would fit the other way round.
fn against_the_grain(context: &Context<'_>, job: &Job, part: &Part, sheets: &[&Sheet]) -> Option<String> {
    let Turns::Grain { along_deg } = part.turns else { return None };
    let margin = 2.0 * job.clearances().margin();
    let fits = |sheet: &Sheet, turn: f64| {
        let turned = part.shape.transformed(Isometry::new(false, turn, 0.0, 0.0)).bounds();
        let room = sheet.shape.bounds();
        turned.width() + margin <= room.width() && turned.height() + margin <= room.height()
    };
    let with_grain: Vec<(&Sheet, f64)> =
        sheets.iter().filter_map(|&sheet| Some((sheet, sheet.grain_deg? - along_deg))).collect();
    if with_grain.is_empty() || with_grain.iter().any(|&(sheet, turn)| fits(sheet, turn)) {
        return None;
    }
    let (sheet, _) = with_grain.into_iter().find(|&(sheet, turn)| fits(sheet, turn + 90.0))?;
    let (bounds, room) = (part.shape.bounds(), sheet.shape.bounds());
    let show = |millimetres| context.show(millimetres);
    Some(format!(
        "is held to the grain, {} along x and {} along y, and so lies on no sheet (`{}` is {} x {}). If width and height \
         were swapped, swap them; if the grain may run the other way, write turns = {{ grain = {} }}",
        show(bounds.width()),
        show(bounds.height()),
        sheet.name,
        show(room.width()),
        show(room.height()),
        (along_deg + 90.0).rem_euclid(180.0)
    ))
}

fn sides(bounds: dropwise_geometry::Bounds) -> (f64, f64) {
    (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()))
}

fn common_start(a: &str, b: &str) -> usize {
    a.bytes().zip(b.bytes()).take_while(|(a, b)| a == b).count()
}
