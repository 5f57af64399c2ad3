//! The sheets that are cut.

use dropwise_formats::LoadedJob;
use dropwise_geometry::format_area;
use dropwise_model::{Leftover, Money, Plan, SheetFigures, SheetUse};
use dropwise_shop::stock_in_words;
use dropwise_shop::weight::format_weight;

use super::{amount, size};
use crate::ink::Ink;
use crate::text::{cleaned, glued, wrapped};

/// Where the values of a sheet begin.
const HANG: usize = 14;

pub(super) fn render(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let uses = &plan.layout().sheets;
    if uses.is_empty() {
        return format!("{}\n", ink.strong("No sheet is cut"));
    }
    let mut page = format!("{}\n", ink.strong("Sheets to cut"));
    for (index, (used, figures)) in uses.iter().zip(&plan.figures().sheets).enumerate() {
        if index > 0 {
            page.push('\n');
        }
        page.push_str(&sheet(loaded, index, used, figures, ink));
    }
    page
}

fn sheet(loaded: &LoadedJob, index: usize, used: &SheetUse, figures: &SheetFigures, ink: Ink) -> String {
    let sheet = &loaded.job.sheets()[used.sheet];
    let number = format!("{:>3}  ", index + 1);
    let name = wrapped(&number, 5, &cleaned(&sheet.name));
    let mut page: String = name.lines().map(|line| format!("{}\n", ink.strong(line))).collect();
    let mut line = |label: &str, text: &str| {
        page.push_str(&wrapped(&format!("     {label:<9}"), HANG, text));
    };
    line("stock", &stock_in_words(sheet.class.label(), loaded.unit));
    if !sheet.location.trim().is_empty() {
        line("where", &cleaned(&sheet.location));
    }
    let bounds = sheet.bought_shape(used.length).bounds();
    let kind = if used.length.is_some() { "length to order by width" } else { "over all" };
    line("size", &format!("{} {kind}", size(loaded, (bounds.width(), bounds.height()))));
    let (area, weight) =
        (format_area(figures.gross_area, loaded.unit), format_weight(figures.gross_weight, loaded.unit));
    line("metal", &format!("{area}, {weight}"));
    line("parts", &parts_on(loaded, used));
    line("yield", &format!("{:.1} %", figures.yield_ratio() * 100.0));
    line("to keep", &leftovers(loaded, &figures.leftovers));
    line("cost", &cost(loaded, figures));
    page
}

/// How many of which part, in the order of the job.
fn parts_on(loaded: &LoadedJob, used: &SheetUse) -> String {
    let mut counts = vec![0_usize; loaded.job.parts().len()];
    for placement in &used.placements {
        counts[placement.part] += 1;
    }
    let named = loaded.job.parts().iter().zip(counts).filter(|(_, count)| *count > 0);
    named.map(|(part, count)| format!("{count}\u{a0}{}", cleaned(&part.name))).collect::<Vec<_>>().join(", ")
}

fn leftovers(loaded: &LoadedJob, leftovers: &[Leftover]) -> String {
    if leftovers.is_empty() {
        return "nothing".to_owned();
    }
    let piece = |leftover: &Leftover| {
        let area = glued(&format_area(leftover.area, loaded.unit));
        format!("{area} with room for {}", size(loaded, leftover.largest_rectangle))
    };
    leftovers.iter().map(piece).collect::<Vec<_>>().join("; ")
}

/// The cost, and how it comes about unless it is the price alone.
fn cost(loaded: &LoadedJob, figures: &SheetFigures) -> String {
    let mut terms = vec![format!("price {}", loaded.coinage.format(figures.price))];
    for (credit, of) in [(figures.leftover_credit, "leftovers"), (figures.scrap_credit, "scrap")] {
        if credit != Money::ZERO {
            terms.push(format!("less {} for {of}", loaded.coinage.format(credit)));
        }
    }
    let cost = amount(loaded, figures.cost());
    if terms.len() == 1 { cost } else { format!("{cost} ({})", terms.join(", ")) }
}
