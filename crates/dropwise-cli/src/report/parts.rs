//! The parts: what each is, and what it costs.

use dropwise_formats::LoadedJob;
use dropwise_geometry::{format_area, format_length};
use dropwise_model::{Need, Plan};
use dropwise_shop::PlanCost;
use dropwise_shop::weight::format_weight;

use super::title_with_currency;
use crate::ink::Ink;
use crate::table::Table;

/// What stands where there is nothing to say.
const NONE: &str = "-";

/// How many of each part are placed, and its measures.
pub(super) fn making(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let mut table = Table::new(&["Each part", "placed", "net area", "weight", "length of cut"]);
    for (part, figures) in loaded.job.parts().iter().zip(&plan.figures().parts) {
        let filler = if part.need == Need::Filler { " (filler)" } else { "" };
        let weight = if figures.placed > 0 { format_weight(figures.weight, loaded.unit) } else { NONE.to_owned() };
        table.row(vec![
            format!("{}{filler}", part.name),
            format!("{} of {}", figures.placed, part.quantity),
            format_area(figures.net_area, loaded.unit),
            weight,
            format_length(figures.cut_length, loaded.unit),
        ]);
    }
    table.render(ink)
}

/// What each part costs, against the price ready-made where one is given.
pub(super) fn costs(loaded: &LoadedJob, cost: &PlanCost, ink: Ink) -> String {
    let ready_made: Vec<_> = loaded.parts.iter().map(|detail| detail.ready_made).collect();
    let compared = cost.against_ready_made(&ready_made);
    let has_prices = ready_made.iter().any(Option::is_some);
    let title = title_with_currency(loaded, "Cost");
    let mut heading = vec![title.as_str(), "metal", "work", "cost", "cost each"];
    if has_prices {
        heading.extend(["bought each", "saved"]);
    }
    let mut table = Table::new(&heading);
    let money = |money| loaded.coinage.format(money);
    let or_none = |amount: Option<_>| amount.map_or_else(|| NONE.to_owned(), money);
    for (index, part) in cost.parts.iter().enumerate() {
        let mut cells = vec![
            loaded.job.parts()[index].name.clone(),
            money(part.cost.material),
            money(part.cost.work()),
            money(part.cost.total()),
            or_none(part.each()),
        ];
        if has_prices {
            cells.push(or_none(ready_made[index]));
            cells.push(or_none(compared[index].map(|comparison| comparison.saving())));
        }
        table.row(cells);
    }
    let whole = &cost.whole;
    let mut sum = vec!["all parts".to_owned(), money(whole.material), money(whole.work()), money(whole.total())];
    sum.resize(heading.len(), String::new());
    table.rule();
    table.row(sum);
    table.render(ink)
}
