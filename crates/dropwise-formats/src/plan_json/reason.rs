//! Why a part lies on no sheet, for people.

use dropwise_geometry::{Unit, format_gap};
use dropwise_model::{Job, Reason};

/// A reason in words, in the job's unit: a sentence without its subject and without a full stop.
#[must_use]
pub fn reason_in_words(reason: &Reason, job: &Job, unit: Unit) -> String {
    match reason {
        Reason::NoSuchStock => "no sheet is of its material and thickness".to_owned(),
        Reason::GrainUnknown => {
            "it is held to the grain, and no sheet of its kind says which way its grain runs".to_owned()
        }
        Reason::TooLarge { nearest, excess } => {
            let sheet = job.sheets().get(*nearest).map_or("the nearest sheet", |sheet| &sheet.name);
            if *excess > 0.0 {
                let excess = format_gap(*excess, unit);
                format!("it is too large for every sheet of its kind, for the nearest, {sheet}, by {excess}")
            } else {
                format!("it fits on no sheet of its kind, even alone; on the nearest, {sheet}, its form is in the way")
            }
        }
        Reason::NoRoom => "it would fit on a sheet alone, but the sheets are full".to_owned(),
        Reason::OutOfTime => "the time was over before a place was sought for it; give the search longer".to_owned(),
        // Reasons may be added to the model.
        other => format!("{other:?}"),
    }
}
