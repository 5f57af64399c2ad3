//! The report: what to cut out of what, what it costs, and what to mind.
//!
//! What is looked at first fits a screen or two: a head line, a row for each sheet and each part, what is missing, the
//! proof, cautions in a line. In full, sheets come first, for they are what somebody takes from the rack; then the parts, the sums, what is missing, the
//! proof, and the cautions.

mod bends;
mod closing;
mod parts;
mod sheets;
mod summary;
#[cfg(test)]
mod tests;
mod totals;

use dropwise_formats::LoadedJob;
use dropwise_geometry::format_length;
use dropwise_model::{Money, Plan};
use dropwise_shop::PlanCost;

use crate::ink::Ink;
use crate::shop_checks::CautionChoice;
use crate::text::{cleaned, glued, wrapped};

pub(crate) use closing::{caution_list, cautions, left_out, missing};
pub(crate) use summary::{headline, summary};

/// The whole report, as lines of at most [`columns`](crate::text::columns) unless figures need more.
pub(crate) fn render(
    loaded: &LoadedJob,
    plan: &Plan,
    cost: &PlanCost,
    number: &str,
    choice: CautionChoice,
    ink: Ink,
) -> String {
    let mut sections = vec![
        format!("{}{}", heading(loaded, number, ink), summary::head_line(loaded, plan, cost, ink)),
        sheets::render(loaded, plan, ink),
        parts::making(loaded, plan, ink),
        bends::render(loaded, plan, ink),
    ];
    // Nothing made has no price and proves nothing.
    let is_made = !plan.layout().sheets.is_empty();
    if is_made {
        sections.push(parts::costs(loaded, cost, ink));
        sections.push(totals::metal(loaded, plan, ink));
        sections.push(totals::money(loaded, plan, cost, ink));
    }
    sections.push(missing(loaded, plan, ink));
    sections.push(closing::asked(loaded, plan, ink));
    if is_made {
        sections.push(closing::proof(loaded, plan));
    }
    sections.push(closing::cautions(loaded, plan, choice, ink));
    sections.into_iter().filter(|section| !section.is_empty()).collect::<Vec<_>>().join("\n")
}

fn heading(loaded: &LoadedJob, number: &str, ink: Ink) -> String {
    let clearances = loaded.job.clearances();
    let length = |millimetres| glued(&format_length(millimetres, loaded.unit));
    let process = loaded.process.map_or_else(String::new, |process| format!("cut by {process}, "));
    let tolerances = loaded.tolerances.map_or_else(String::new, |class| format!(", general tolerances {class}"));
    let rules = format!(
        "{process}kerf {}, web {}, margin {}{tolerances}",
        length(clearances.kerf()),
        length(clearances.web()),
        length(clearances.margin())
    );
    let name = cleaned(&loaded.name);
    let plan = format!("plan\u{a0}{number}");
    let title = if name.is_empty() { plan } else { format!("{name}: {plan}") };
    format!("{}{}", painted(ink, &wrapped("", 0, &title)), wrapped("", 0, &rules))
}

/// An amount with the currency before it, if the job names one.
pub(crate) fn amount(loaded: &LoadedJob, money: Money) -> String {
    let amount = loaded.coinage.format(money);
    if loaded.currency.is_empty() { amount } else { glued(&format!("{} {amount}", cleaned(&loaded.currency))) }
}

/// A title, and the currency behind it if the job names one.
fn title_with_currency(loaded: &LoadedJob, title: &str) -> String {
    if loaded.currency.is_empty() { title.to_owned() } else { format!("{title}, {}", cleaned(&loaded.currency)) }
}

/// A length and a width, the unit once.
pub(crate) fn size(loaded: &LoadedJob, (length, width): (f64, f64)) -> String {
    let length = format_length(length, loaded.unit);
    let number = length.split(' ').next().unwrap_or(&length);
    glued(&format!("{number} × {}", format_length(width, loaded.unit)))
}

/// A number and what it counts, in the plural unless it is one.
fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

fn painted(ink: Ink, lines: &str) -> String {
    lines.lines().map(|line| format!("{}\n", ink.strong(line))).collect()
}
