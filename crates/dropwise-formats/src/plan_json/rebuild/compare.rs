//! Whether what stands in a document follows from the rest of it.

use serde_json::Value;

use super::super::types::PlanDocument;
use super::fault::{PlanFault, PlanFaultKind};

/// Figures may differ by this share of themselves: sine and cosine differ between machines in their last digits.
const SAME: f64 = 1e-6;

/// Changes listed; a part that was moved by hand changes dozens of numbers.
const LISTED: usize = 3;

/// Where two documents differ, as far as it matters.
///
/// Not compared is what is only words about the rest (`in_words`), the corners of leftovers one by one, which hang on the
/// last digits of the machine that wrote them, and what no document can be made anew with (bends, faces, worked holes, the plan for the
/// brake, findings). Of the
/// outline of a leftover it is compared where it lies; its area is a figure like any other.
pub(super) fn changes(found: &PlanDocument, expected: &PlanDocument) -> Vec<PlanFault> {
    // A document is JSON by its type.
    let (Ok(found), Ok(expected)) = (serde_json::to_value(found), serde_json::to_value(expected)) else {
        return Vec::new();
    };
    let mut faults = Vec::new();
    walk("", &found, &expected, &mut faults);
    if faults.len() > LISTED {
        let count = faults.len() - LISTED;
        faults.truncate(LISTED);
        faults.push(PlanFault { place: "the plan".to_owned(), kind: PlanFaultKind::More { count } });
    }
    faults
}

fn is_skipped(place: &str, key: &str) -> bool {
    matches!(key, "version" | "in_words" | "bends" | "features" | "faces" | "bending" | "by_hand" | "findings")
        || (key == "holes" && place.contains(".leftovers["))
}

/// Outlines of leftovers may lie so far from each other, mm: arcs are flattened to within some micrometres.
const MOVED: f64 = 0.01;

/// A fault when the outline of a leftover lies elsewhere.
fn moved(place: &str, found: &Value, expected: &Value) -> Option<PlanFault> {
    let bounds = |ring: &Value| {
        let corner = |corner: &Value| Some([corner.get(0)?.as_f64()?, corner.get(1)?.as_f64()?]);
        let corners = ring.as_array()?.iter().map(corner).collect::<Option<Vec<_>>>()?;
        let side = |axis: usize, pick: fn(f64, f64) -> f64| corners.iter().map(|corner| corner[axis]).reduce(pick);
        Some([side(0, f64::min)?, side(1, f64::min)?, side(0, f64::max)?, side(1, f64::max)?])
    };
    let is_there = match (bounds(found), bounds(expected)) {
        (Some(found), Some(expected)) => found.iter().zip(&expected).all(|(a, b)| (a - b).abs() <= MOVED),
        _ => found == expected,
    };
    let told = |ring: &Value| match bounds(ring) {
        Some([left, bottom, right, top]) => {
            format!("an outline from ({left:.3}, {bottom:.3}) to ({right:.3}, {top:.3}) mm")
        }
        None => shown(ring),
    };
    let kind = PlanFaultKind::Disagrees { found: told(found), expected: told(expected) };
    (!is_there).then(|| PlanFault { place: place.to_owned(), kind })
}

fn walk(place: &str, found: &Value, expected: &Value, faults: &mut Vec<PlanFault>) {
    match (found, expected) {
        (Value::Object(found), Value::Object(expected)) => {
            let keys = found.keys().chain(expected.keys().filter(|key| !found.contains_key(*key)));
            for key in keys.filter(|key| !is_skipped(place, key)) {
                let inner = if place.is_empty() { key.clone() } else { format!("{place}.{key}") };
                let at = |map: &serde_json::Map<String, Value>| map.get(key).cloned().unwrap_or_default();
                if key == "outline" && place.contains(".leftovers[") {
                    faults.extend(moved(&inner, &at(found), &at(expected)));
                    continue;
                }
                walk(&inner, &at(found), &at(expected), faults);
            }
        }
        (Value::Array(found), Value::Array(expected)) if found.len() == expected.len() => {
            for (index, (found, expected)) in found.iter().zip(expected).enumerate() {
                walk(&format!("{place}[{index}]"), found, expected, faults);
            }
        }
        (Value::Number(a), Value::Number(b)) if is_same(a.as_f64(), b.as_f64()) => {}
        _ if found == expected => {}
        _ => faults.push(PlanFault {
            place: place.to_owned(),
            kind: PlanFaultKind::Disagrees { found: shown(found), expected: shown(expected) },
        }),
    }
}

fn is_same(a: Option<f64>, b: Option<f64>) -> bool {
    let (Some(a), Some(b)) = (a, b) else { return false };
    (a - b).abs() <= SAME * a.abs().max(b.abs()).max(1.0)
}

fn shown(value: &Value) -> String {
    match value {
        Value::Array(items) => format!("a list of {}", items.len()),
        Value::Object(_) => "an entry".to_owned(),
        Value::Null => "nothing".to_owned(),
        Value::String(text) => format!("\"{}\"", crate::job_file::shortened(text)),
        other => other.to_string(),
    }
}
