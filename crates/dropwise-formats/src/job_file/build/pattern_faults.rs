//! Faults of a pattern, told in the words and the unit of the job file.

use dropwise_geometry::{Point, Unit};
use dropwise_shop::pattern::{Pattern, PatternError, Subject};

use super::context::At;

/// Reports a fault where its feature was written, or else at the form.
pub(super) fn report(at: &At<'_>, form_key: &str, pattern: &Pattern, places: &[At<'_>], error: PatternError) {
    let unit = at.context.unit;
    let mut message = in_unit(error.clone(), unit).to_string().replace(" mm", &format!(" {unit}"));
    // The pattern counts its features through; the file has them in lists of their own.
    for (index, place) in places.iter().enumerate().rev() {
        let kind = pattern.features[index].cut.kind();
        message = message.replace(&Subject::Feature { index, kind }.to_string(), &place.tail());
    }
    let place = match subject(&error) {
        Some(Subject::Feature { index, .. }) => places[index].clone(),
        _ => at.key(form_key),
    };
    // The place names the subject already.
    let own = [place.tail(), format!("the {}", pattern.base.kind())];
    let message = own.iter().find_map(|own| message.strip_prefix(own.as_str())).unwrap_or(&message);
    let message = format!("{}{}", message.trim_start_matches([':', ',', ' ']), cure(&error));
    let message = if at.is_in_sheet() { message.replace("the part", "the sheet") } else { message };
    place.message(0, message);
}

/// The same fault with its lengths in another unit, to a thousandth of a micrometre.
fn in_unit(mut error: PatternError, unit: Unit) -> PatternError {
    use PatternError as E;
    let convert = |length: &mut f64| *length = (*length / unit.millimetres() * 1e6).round() / 1e6;
    let convert_point = |point: &mut Point| {
        convert(&mut point.x);
        convert(&mut point.y);
    };
    match &mut error {
        E::Size { value, .. } | E::Coordinate { value, .. } | E::RowOfOne { overall: value, .. } => convert(value),
        E::RepeatedCorner { at, .. } | E::SelfCrossing { at, .. } | E::RoundedSelfCrossing { at, .. } => {
            convert_point(at);
        }
        E::Outside { center, .. } => convert_point(center),
        E::CornersExceedSide { needed: a, available: b, .. }
        | E::SlotTooShort { length: a, width: b, .. }
        | E::RingInside { inner: a, outer: b }
        | E::LegUsedUp { found: a, limit: b, .. }
        | E::LargerThanPart { found: a, available: b, .. }
        | E::BreaksThrough { found: a, wanted: b, .. }
        | E::Overlap { found: a, wanted: b, .. } => {
            convert(a);
            convert(b);
        }
        // Angles and counts have no unit of length.
        _ => {}
    }
    error
}

fn subject(error: &PatternError) -> Option<Subject> {
    use PatternError as E;
    match *error {
        E::Size { subject, .. }
        | E::Coordinate { subject, .. }
        | E::Angle { subject, .. }
        | E::Count { subject, .. }
        | E::RowOfOne { subject, .. }
        | E::CornersExceedSide { subject, .. }
        | E::SlotTooShort { subject, .. }
        | E::LegUsedUp { subject, .. }
        | E::LargerThanPart { subject, .. }
        | E::Outside { subject, .. }
        | E::BreaksThrough { subject, .. }
        | E::Overlap { subject, .. } => Some(subject),
        _ => None,
    }
}

fn cure(error: &PatternError) -> &'static str {
    use PatternError as E;
    match error {
        E::SelfCrossing { .. } => ". Put the points in order around the outline",
        E::RoundedSelfCrossing { .. } | E::CornersExceedSide { .. } => ". Make the radius or chamfer smaller",
        E::RepeatedCorner { .. } => ". Leave one of them out",
        E::LargerThanPart { .. } => ". Make it smaller, or the part larger",
        E::Outside { .. } => ". Move it onto the part",
        E::BreaksThrough { .. } => ". Move it inwards, make it smaller, or draw it as part of the outline",
        E::Overlap { .. } => ". Move them apart or make one smaller",
        _ => "",
    }
}
