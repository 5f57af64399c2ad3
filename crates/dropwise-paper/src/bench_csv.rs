//! Mark-out as a list for spreadsheets and programs.

use std::fmt::Write as _;

use dropwise_model::{Job, Plan};
use dropwise_shop::markout::{Mark, MarkOut, ScribeUse};

use crate::bench::keys;
use crate::details::LengthStyle;

/// First line of the list.
const HEAD: &str = "sheet,sheet name,part,part name,what,number,with,size,along,square,size mm,along mm,square mm";

/// The mark-out of all sheets of a plan as CSV (RFC 4180), one row for each point that is marked.
///
/// Columns: number and name of the sheet, key and name of the part, what is marked, its number within the part, the tool,
/// the diameter of a hole or the radius of an arc and both distances from the datum as they are marked out, in the job's own
/// unit; then all three as they are, mm. Every line ends in CR LF. `mark_outs` are those of the sheets, in the order of the layout.
///
/// A name that a spreadsheet would take for a formula is written with an apostrophe before it.
///
/// # Panics
/// If the plan was made for another job.
#[must_use]
pub fn mark_out_csv(job: &Job, plan: &Plan, mark_outs: &[MarkOut]) -> String {
    let mut page = format!("{HEAD}\r\n");
    for (index, mark_out) in mark_outs.iter().enumerate().take(plan.layout().sheets.len()) {
        let keys = keys(job, plan, index);
        let mut row = |part: usize, what: &str, number: &str, tool: &str, size: Option<f64>, mark: &Mark| {
            let (key, name) =
                (keys.get(part).map_or("", String::as_str), mark_out.parts.get(part).map(|part| &part.name));
            let [along, square] = mark.from;
            let cells = [
                (index + 1).to_string(),
                text(&mark_out.subject),
                text(key),
                text(name.map_or("", |name| name)),
                text(what),
                number.to_owned(),
                text(tool),
                size.map_or_else(String::new, |size| LengthStyle::tape(mark_out.grid).tool_size(size)),
                mark_out.grid.format(along),
                mark_out.grid.format(square),
                size.map_or_else(String::new, millimetres),
                millimetres(along.exact),
                millimetres(square.exact),
            ];
            // Writing to a string cannot fail.
            let _ = write!(page, "{}\r\n", cells.join(","));
        };
        for (part, marks) in mark_out.parts.iter().enumerate() {
            for corner in &marks.corners {
                row(part, "corner", &corner.number.to_string(), "", None, &corner.mark);
            }
            for arc in &marks.arcs {
                let between = format!("{} to {}", arc.between[0], arc.between[1]);
                let what = if arc.is_on_stock { "arc centre" } else { "arc centre off the metal" };
                row(part, what, &between, "", Some(arc.radius.exact), &arc.mark);
            }
            for line in &marks.scribe {
                let what = match line.purpose {
                    ScribeUse::BendUp => "bend up",
                    ScribeUse::BendDown => "bend down",
                    ScribeUse::Mark => "line",
                };
                for (end, number) in line.ends.iter().zip(["from", "to"]) {
                    row(part, what, number, "", None, end);
                }
            }
        }
        for group in &mark_out.holes {
            for centre in &group.centres {
                let (what, tool) = if centre.is_disc {
                    ("disc", "cut to the line".to_owned())
                } else {
                    ("hole", group.method.to_string())
                };
                row(centre.part, what, "", &tool, Some(group.diameter), &centre.mark);
            }
        }
    }
    page
}

/// To a tenth of a micrometre, without a minus before zero.
fn millimetres(value: f64) -> String {
    format!("{:.4}", (value * 1e4).round() / 1e4 + 0.0)
}

/// A cell of words, quoted where it must be, on one line.
fn text(cell: &str) -> String {
    let mut safe: String = cell.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if safe.starts_with(['=', '+', '-', '@']) {
        safe.insert(0, '\'');
    }
    if safe.contains([',', '"']) { format!("\"{}\"", safe.replace('"', "\"\"")) } else { safe }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_break_no_cell_and_are_no_formulas() {
        for (name, cell) in [
            ("foot", "foot"),
            ("left, right", "\"left, right\""),
            ("3\" pipe", "\"3\"\" pipe\""),
            ("a\r\nb\tc", "a  b c"),
            ("=1+1", "'=1+1"),
            ("", ""),
        ] {
            assert_eq!(text(name), cell);
        }
    }
}
