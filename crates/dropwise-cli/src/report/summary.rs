//! What is looked at first: a head line, a row for each sheet and each part, the proof, cautions in a line.

use dropwise_formats::LoadedJob;
use dropwise_model::{Money, Need, Plan};
use dropwise_shop::weight::format_weight;
use dropwise_shop::{PlanCost, stock_in_words};

use super::{amount, closing, count, heading, missing, size, title_with_currency, totals};
use crate::ink::Ink;
use crate::shop_checks::CautionChoice;
use crate::table::Table;
use crate::text::{cleaned, columns, glued, shortened, wrapped};

/// What stands where there is nothing to say.
const NONE: &str = "-";

/// The plan on a screen or two.
pub(crate) fn summary(
    loaded: &LoadedJob,
    plan: &Plan,
    cost: &PlanCost,
    number: &str,
    choice: CautionChoice,
    ink: Ink,
) -> String {
    let mut sections = vec![format!("{}{}", heading(loaded, number, ink), head_line(loaded, plan, cost, ink))];
    let is_made = !plan.layout().sheets.is_empty();
    if is_made {
        sections.push(sheets(loaded, plan, ink));
    }
    sections.push(parts(loaded, plan, cost, ink));
    sections.push(missing(loaded, plan, ink));
    sections.push(closing::asked(loaded, plan, ink));
    if is_made {
        sections.push(format!("{}{}", wrapped("", 0, &totals::bound(loaded, plan)), closing::proof(loaded, plan)));
    }
    sections.push(closing::cautions(loaded, plan, choice, ink));
    sections.into_iter().filter(|section| !section.is_empty()).collect::<Vec<_>>().join("\n")
}

/// `10 sheets, 86 of 86 parts and 22 fillers, yield 65.2 %, metal 49.91, work 160.47: USD 210.38`.
pub(super) fn head_line(loaded: &LoadedJob, plan: &Plan, cost: &PlanCost, ink: Ink) -> String {
    let text = headline(loaded, plan, cost);
    let is_made = !plan.layout().sheets.is_empty();
    wrapped("", 0, &text)
        .lines()
        .map(|line| format!("{}\n", if is_made { ink.strong(line) } else { line.to_owned() }))
        .collect()
}

/// The head line, unbroken.
pub(crate) fn headline(loaded: &LoadedJob, plan: &Plan, cost: &PlanCost) -> String {
    let figures = plan.figures();
    let required = loaded.job.parts().iter().zip(&figures.parts).filter(|(part, _)| part.need == Need::Required);
    let (placed, wanted) = required.fold((0, 0), |(placed, wanted), (part, figures)| {
        (placed + figures.placed.min(part.quantity), wanted + part.quantity)
    });
    let is_filler = |part: &&dropwise_model::Part| part.need == Need::Filler;
    let fillers: u32 = figures
        .parts
        .iter()
        .zip(loaded.job.parts())
        .filter(|(_, part)| is_filler(part))
        .map(|(figures, _)| figures.placed)
        .sum();
    let fillers = match fillers {
        0 => String::new(),
        fillers => format!(" and {}", count(fillers as usize, "filler", "fillers")),
    };
    let sheets = count(plan.layout().sheets.len(), "sheet", "sheets");
    if plan.layout().sheets.is_empty() {
        return format!("No sheet is cut, {placed} of {wanted} parts are placed.");
    }
    let whole = &cost.whole;
    format!(
        "{}, {}, {}, {}, {}: {}",
        glued(&sheets),
        glued(&format!("{placed} of {wanted} parts{fillers}")),
        glued(&format!("yield {:.1} %", figures.yield_ratio() * 100.0)),
        glued(&format!("metal {}", loaded.coinage.format(whole.material))),
        glued(&format!("work {}", loaded.coinage.format(whole.work()))),
        amount(loaded, whole.total())
    )
}

/// A row for each sheet, those of one metal together.
fn sheets(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let uses = &plan.layout().sheets;
    let has_leftovers = plan.figures().sheets.iter().any(|figures| !figures.leftovers.is_empty());
    let title = title_with_currency(loaded, "Sheet");
    let mut heading = vec![title.as_str(), "over all", "parts", "yield"];
    if has_leftovers {
        heading.push("to keep");
    }
    heading.push("cost");
    let mut table = Table::new(&heading).spare(&[1]);
    let mut classes: Vec<&str> = Vec::new();
    for used in uses {
        let class = loaded.job.sheets()[used.sheet].class.label();
        if !classes.contains(&class) {
            classes.push(class);
        }
    }
    for class in classes {
        table.group(&cleaned(&stock_in_words(class, loaded.unit)));
        for (index, (used, figures)) in uses.iter().zip(&plan.figures().sheets).enumerate() {
            let sheet = &loaded.job.sheets()[used.sheet];
            if sheet.class.label() != class {
                continue;
            }
            let bounds = sheet.bought_shape(used.length).bounds();
            let place = cleaned(sheet.location.trim());
            // Where it lies gives way first: the report has it whole.
            let name = cleaned(&sheet.name);
            let place =
                if place.is_empty() { String::new() } else { format!(", {}", shortened(&place, columns() / 5)) };
            let mut row = vec![
                format!("{:>2} {name}{place}", index + 1),
                size(loaded, (bounds.width(), bounds.height())).replace('\u{a0}', " "),
                used.placements.len().to_string(),
                format!("{:.1} %", figures.yield_ratio() * 100.0),
            ];
            if has_leftovers {
                let largest = figures.leftovers.iter().max_by(|a, b| a.area.total_cmp(&b.area));
                let kept = largest.map(|leftover| size(loaded, leftover.largest_rectangle).replace('\u{a0}', " "));
                row.push(kept.unwrap_or_else(|| NONE.to_owned()));
            }
            row.push(loaded.coinage.format(figures.cost()));
            table.row(row);
        }
    }
    table.render(ink)
}

/// A row for each part: how many, how heavy, what it costs.
fn parts(loaded: &LoadedJob, plan: &Plan, cost: &PlanCost, ink: Ink) -> String {
    let ready_made: Vec<_> = loaded.parts.iter().map(|detail| detail.ready_made).collect();
    let has_prices = ready_made.iter().any(Option::is_some);
    let title = title_with_currency(loaded, "Part");
    let mut heading = vec![title.as_str(), "placed", "weight", "metal", "work", "each"];
    if has_prices {
        heading.push("bought");
    }
    let mut table = Table::new(&heading).spare(&[2]);
    let money = |money: Money| loaded.coinage.format(money);
    for (index, (part, figures)) in loaded.job.parts().iter().zip(&plan.figures().parts).enumerate() {
        let filler = if part.need == Need::Filler { " (filler)" } else { "" };
        let weight = if figures.placed > 0 { format_weight(figures.weight, loaded.unit) } else { NONE.to_owned() };
        let priced = cost.parts.get(index);
        let mut row = vec![
            format!("{}{filler}", part.name),
            format!("{} of {}", figures.placed, part.quantity),
            weight,
            priced.map_or_else(|| NONE.to_owned(), |part| money(part.cost.material)),
            priced.map_or_else(|| NONE.to_owned(), |part| money(part.cost.work())),
            priced.and_then(|part| part.each()).map_or_else(|| NONE.to_owned(), money),
        ];
        if has_prices {
            row.push(ready_made[index].map_or_else(|| NONE.to_owned(), money));
        }
        table.row(row);
    }
    let whole = &cost.whole;
    let mut sum =
        vec!["all parts".to_owned(), String::new(), String::new(), money(whole.material), money(whole.work())];
    sum.resize(heading.len(), String::new());
    table.rule();
    table.row(sum);
    table.render(ink)
}
