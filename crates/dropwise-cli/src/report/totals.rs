//! The sums: where the metal goes, and where the money.

use dropwise_formats::LoadedJob;
use dropwise_geometry::format_area;
use dropwise_model::{Money, Plan};
use dropwise_shop::PlanCost;
use dropwise_shop::weight::format_weight;

use super::{amount, title_with_currency};
use crate::ink::Ink;
use crate::table::Table;
use crate::text::wrapped;

/// Net, leftovers, kerf loss and other scrap, which add up to gross.
pub(super) fn metal(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let figures = plan.figures();
    let mut table = Table::new(&["Where the metal goes", "area", "weight"]);
    let cells = |name: &str, area, weight| {
        vec![name.to_owned(), format_area(area, loaded.unit), format_weight(weight, loaded.unit)]
    };
    table.row(cells("parts (net)", figures.net_area, figures.net_weight));
    table.row(cells("leftovers kept", figures.leftover_area, figures.leftover_weight()));
    table.row(cells("kerf loss", figures.kerf_area, figures.kerf_weight()));
    table.row(cells("other scrap", figures.other_scrap_area, figures.other_scrap_weight()));
    table.rule();
    table.row(cells("sheets (gross)", figures.gross_area, figures.gross_weight));
    let weights = format!("Weights by {}.", loaded.weight_rule.name());
    let text = format!("Yield {:.1} %, net over gross. {weights}", figures.yield_ratio() * 100.0);
    format!("{}{}", table.render(ink), wrapped("", 0, &text))
}

/// Prices, credits and work, which add up to the cost; and how much cheaper the metal could be.
pub(super) fn money(loaded: &LoadedJob, plan: &Plan, cost: &PlanCost, ink: Ink) -> String {
    let (figures, whole) = (plan.figures(), &cost.whole);
    let title = title_with_currency(loaded, "Where the money goes");
    let mut table = Table::new(&[&title, "amount"]);
    let rows = [
        ("sheets", figures.sheets_price, true),
        ("credit for leftovers", -figures.leftover_credit, false),
        ("scrap sold", -figures.scrap_credit, false),
        ("cutting", whole.cutting, false),
        ("drilling", whole.drilling, false),
        ("bending", whole.bending, false),
        ("setting up", whole.setup, false),
    ];
    for (name, money, is_always) in rows {
        if is_always || money != Money::ZERO {
            table.row(vec![name.to_owned(), loaded.coinage.format(money)]);
        }
    }
    table.rule();
    table.row(vec!["cost of the plan".to_owned(), loaded.coinage.format(whole.total())]);
    let mut page = table.render(ink);
    if let Some(minutes) = cost.cutting_minutes {
        page.push_str(&wrapped("", 0, &format!("Cutting takes {minutes:.1} minutes.")));
    }
    page.push_str(&wrapped("", 0, &bound(loaded, plan)));
    page
}

pub(super) fn bound(loaded: &LoadedJob, plan: &Plan) -> String {
    let metal = amount(loaded, plan.figures().material_cost);
    match plan.lower_bound().zip(plan.gap()) {
        None => format!("The metal costs {metal}; how cheap it could be at best is not known."),
        Some((_, Money::ZERO)) => format!("The metal costs {metal}, and no plan for these parts can do with less."),
        Some((bound, gap)) => format!(
            "The metal costs {metal}. It is proved that no plan for these parts does with less than {}, so at most {} could \
             still be saved.",
            amount(loaded, bound),
            amount(loaded, gap)
        ),
    }
}
