//! Clearances and the rule for leftovers.

use dropwise_geometry::Unit;
use dropwise_model::{Clearances, ClearancesError, LeftoverRule};
use dropwise_shop::{Process, Thickness};

use super::context::At;
use super::outline::both;
use crate::job_file::types::{ClearanceKeys, LeftoverKeys, Length};

/// Kerf, web and margin: what is written wins over the preset of the process, which is that of the thickest stock.
pub(super) fn clearances(
    at: &At<'_>,
    keys: Option<&ClearanceKeys>,
    thickest: Option<Thickness>,
) -> Option<(Clearances, Option<Process>)> {
    let Some(keys) = keys else {
        at.fault(
            "lacks `clearances`",
            "Name the process, as in `clearances = { process = \"plasma\" }`, or give `kerf`, `web` and `margin`",
        );
        return None;
    };
    let at = at.key("clearances");
    let process = match keys.process.as_deref().map(str::parse::<Process>) {
        None => None,
        Some(Ok(process)) => Some(process),
        Some(Err(error)) => {
            at.key("process").message(0, error);
            return None;
        }
    };
    let kerf = at.key("kerf").optional(keys.kerf.as_ref(), At::distance);
    let web = at.key("web").optional(keys.web.as_ref(), At::distance);
    let margin = at.key("margin").optional(keys.margin.as_ref(), At::distance);
    let ((kerf, web), margin) = both(both(kerf, web), margin)?;
    // Without any readable thickness the job fails elsewhere; then nothing depends on the preset.
    let preset = process.zip(thickest).map(|(process, thickest)| process.preset(thickest));
    if process.is_none() {
        let given = [("kerf", kerf), ("web", web), ("margin", margin)];
        let missing: Vec<String> =
            given.iter().filter(|(_, value)| value.is_none()).map(|(key, _)| (*key).to_owned()).collect();
        if !missing.is_empty() {
            at.fault(
                format!("lacks {}", crate::job_file::error::list(&missing)),
                "Give all three, or a `process` to take them from",
            );
            return None;
        }
    }
    let preset_web = preset.map(|preset| preset.web.millimetres);
    let kerf = kerf.or(preset.map(|preset| preset.kerf.millimetres))?;
    // A kerf wider than the preset's web widens the web, unless the web was written down as well.
    let web = web.or(preset_web.map(|web| web.max(kerf)))?;
    let margin = margin.or(preset.map(|preset| preset.margin.millimetres))?;
    match Clearances::new(kerf, web, margin) {
        Ok(clearances) => {
            if let Some(process) = process.filter(|process| process.is_edge_to_edge()) {
                at.key("process").warn(format!(
                    "a {process} cuts only from edge to edge of the piece in hand, and the nest is not held to such cuts. \
                     Check on the drawing that every part can be reached, or cut it another way"
                ));
            }
            Some((clearances, process))
        }
        Err(ClearancesError::WebBelowKerf { web, kerf }) => {
            let context = at.context;
            at.key("web").fault(
                format!("is {}, less than the kerf of {}", context.show(web), context.show(kerf)),
                "One cut would eat into both parts: make the web at least as wide as the kerf",
            );
            None
        }
        Err(error) => {
            at.message(0, error);
            None
        }
    }
}

/// The kerf as far as it can be known before the parts are: as written, or the preset of the process, which is that of the
/// thinnest sheet. Faults are reported where the clearances are read.
pub(super) fn kerf(keys: Option<&ClearanceKeys>, unit: Unit) -> f64 {
    let written = keys.and_then(|keys| keys.kerf.as_ref()).and_then(|length| match length {
        Length::Number(number) => Some(number * unit.millimetres()),
        Length::Text(text) => dropwise_geometry::parse_length(text, unit).ok(),
    });
    let process = || keys?.process.as_deref()?.parse::<Process>().ok();
    let preset = || Some(process()?.preset(Thickness::new(1.0).ok()?).kerf.millimetres);
    written.or_else(preset).filter(|kerf| kerf.is_finite() && *kerf > 0.0 && *kerf <= WIDEST_RELIEF).unwrap_or(0.0)
}

/// No relief is made wider than this for the sake of the kerf, mm: the tool is then finer elsewhere, or the kerf is wrong.
const WIDEST_RELIEF: f64 = 10.0;

/// Side of the smallest square worth keeping: 300 mm or 12 in (from memory; no published standard found).
fn keepable(unit: Unit) -> f64 {
    if super::is_in_inches(unit) { 304.8 } else { 300.0 }
}

/// What is worth keeping. The neck is a third of the shorter side unless it is given (our choice).
pub(super) fn leftover_rule(at: &At<'_>, keys: Option<&LeftoverKeys>) -> Option<LeftoverRule> {
    let at = at.key("leftovers");
    let keys = keys.cloned().unwrap_or_default();
    let default = keepable(at.context.unit);
    let length = at.key("length").optional(keys.length.as_ref(), At::size);
    let width = at.key("width").optional(keys.width.as_ref(), At::size);
    let neck = at.key("neck").optional(keys.neck.as_ref(), At::distance);
    let ((length, width), neck) = both(both(length, width), neck)?;
    let (length, width) = match (length, width) {
        (Some(length), Some(width)) => (length, width),
        (Some(length), None) => (length, default.min(length)),
        (None, Some(width)) => (default.max(width), width),
        (None, None) => (default, default),
    };
    if length < width {
        let context = at.context;
        at.fault(
            format!("has a length of {} below its width of {}", context.show(length), context.show(width)),
            "The length is the longer side: swap them",
        );
        return None;
    }
    let neck = neck.unwrap_or(width / 3.0);
    if neck > width {
        let context = at.context;
        at.key("neck").fault(
            format!("is {}, more than the width of {}", context.show(neck), context.show(width)),
            "A neck wider than the smallest piece worth keeping would trim all leftovers away",
        );
        return None;
    }
    Some(LeftoverRule { length, width, neck })
}
