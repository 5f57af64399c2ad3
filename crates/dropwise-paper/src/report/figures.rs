//! The figures of the plan, and what each part costs.

use dropwise_geometry::format_area;
use dropwise_model::{Job, Money, Need, Plan, Reason};
use dropwise_shop::weight::format_weight;

use super::html::Html;
use super::settings::ReportSettings;
use crate::drawing::copies::key;
use crate::drawing::percent;
use crate::tables::{PaperColumn, PaperTable};

/// The plan at a glance, then where metal and money go.
pub(super) fn plan(html: &mut Html, plan: &Plan, settings: &ReportSettings<'_>) {
    let figures = plan.figures();
    let unit = settings.lengths.unit;
    let total = total(plan, settings);
    let placed: u32 = figures.parts.iter().map(|part| part.placed).sum();
    html.raw(r#"<dl class="big">"#);
    let facts = [
        ("sheets", plan.layout().sheets.len().to_string()),
        ("parts", placed.to_string()),
        ("yield", percent(figures.yield_ratio())),
        (if settings.cost.is_some() { "cost of the plan" } else { "cost of the metal" }, settings.amount(total)),
        ("heaviest sheet", format_weight(figures.heaviest_sheet(), unit)),
    ];
    for (name, value) in facts {
        html.raw("<div>");
        html.text("dt", name);
        html.text("dd", &value);
        html.raw("</div>");
    }
    html.raw("</dl>");
    html.raw(r#"<div class="pair"><div>"#);
    html.table(&metal_table(plan, settings), 1);
    html.raw("</div><div>");
    html.table(&money_table(plan, settings), 1);
    html.raw("</div></div>");
}

/// Where the metal goes; the last row is the sum.
fn metal_table(plan: &Plan, settings: &ReportSettings<'_>) -> PaperTable {
    let (figures, unit) = (plan.figures(), settings.lengths.unit);
    let row = |name: &str, area: f64, weight: f64| {
        vec![name.to_owned(), format_area(area, unit), format_weight(weight, unit)]
    };
    PaperTable {
        title: "Where the metal goes".to_owned(),
        columns: vec![PaperColumn::words("metal"), PaperColumn::numbers("area"), PaperColumn::numbers("weight")],
        rows: vec![
            row("parts (net)", figures.net_area, figures.net_weight),
            row("leftovers kept", figures.leftover_area, figures.leftover_weight()),
            row("kerf loss", figures.kerf_area, figures.kerf_weight()),
            row("other scrap", figures.other_scrap_area, figures.other_scrap_weight()),
            row("sheets (gross)", figures.gross_area, figures.gross_weight),
        ],
        ..PaperTable::default()
    }
}

/// Where the money goes; the last row is the sum.
fn money_table(plan: &Plan, settings: &ReportSettings<'_>) -> PaperTable {
    let figures = plan.figures();
    let total = total(plan, settings);
    let mut rows: Vec<(&str, Money)> = vec![
        ("sheets", figures.sheets_price),
        ("credit for leftovers", -figures.leftover_credit),
        ("scrap sold", -figures.scrap_credit),
    ];
    if let Some(cost) = settings.cost {
        let whole = cost.whole;
        rows.extend([
            ("cutting", whole.cutting),
            ("drilling", whole.drilling),
            ("bending", whole.bending),
            ("setting up", whole.setup),
        ]);
    }
    let mut rows: Vec<Vec<String>> = rows
        .into_iter()
        .enumerate()
        .filter(|&(index, (_, money))| index == 0 || money != Money::ZERO)
        .map(|(_, (name, money))| vec![name.to_owned(), settings.amount(money)])
        .collect();
    rows.push(vec!["all together".to_owned(), settings.amount(total)]);
    PaperTable {
        title: "Where the money goes".to_owned(),
        columns: vec![PaperColumn::words("item"), PaperColumn::numbers("amount")],
        rows,
        ..PaperTable::default()
    }
}

/// Metal, and work where it is told.
fn total(plan: &Plan, settings: &ReportSettings<'_>) -> Money {
    settings.cost.map_or(plan.figures().material_cost, |cost| cost.whole.total())
}

/// The tables of a plan's figures: cost per part, where the money goes, where the metal goes. The last row of each is
/// its sum.
///
/// # Panics
/// If the plan was made for another job.
#[must_use]
pub fn plan_tables(job: &Job, plan: &Plan, settings: &ReportSettings<'_>) -> [PaperTable; 3] {
    [parts_table(job, plan, settings), money_table(plan, settings), metal_table(plan, settings)]
}

/// What could not be placed, where it cannot be missed.
pub(super) fn unplaced(html: &mut Html, job: &Job, plan: &Plan, settings: &ReportSettings<'_>) {
    for unplaced in &plan.layout().unplaced {
        let part = &job.parts()[unplaced.part];
        let why = match &unplaced.reason {
            Reason::NoSuchStock => "there is no stock of its metal and thickness".to_owned(),
            Reason::GrainUnknown => "it follows the grain, and no sheet says which way its grain runs".to_owned(),
            Reason::TooLarge { nearest, excess } if *excess > 0.0 => format!(
                "it fits on no sheet; on {}, the nearest, it is too large by {}",
                job.sheets()[*nearest].name,
                settings.lengths.with_unit(*excess)
            ),
            Reason::TooLarge { nearest, .. } => {
                format!("it fits on no sheet; on {}, the nearest, its form is in the way", job.sheets()[*nearest].name)
            }
            Reason::NoRoom => "the sheets are full".to_owned(),
            Reason::OutOfTime => "the time was over before a place was sought for it".to_owned(),
            _ => "no sheet takes it".to_owned(),
        };
        let kind = if part.need == Need::Filler { "Filler not placed" } else { "NOT PLACED" };
        html.text(r#"p class="warn""#, &format!("{kind}: {} of {}: {why}.", unplaced.count, part.name));
    }
}

/// Each part: how many, how heavy, what it costs.
pub(super) fn parts(html: &mut Html, job: &Job, plan: &Plan, settings: &ReportSettings<'_>) {
    html.table(&parts_table(job, plan, settings), 1);
}

fn parts_table(job: &Job, plan: &Plan, settings: &ReportSettings<'_>) -> PaperTable {
    let figures = plan.figures();
    let mut columns = vec![
        PaperColumn::words("part"),
        PaperColumn::numbers("placed"),
        PaperColumn::numbers("weight each"),
        PaperColumn::numbers("metal"),
    ];
    if settings.cost.is_some() {
        columns.extend([PaperColumn::numbers("work"), PaperColumn::numbers("cost")]);
    }
    columns.push(PaperColumn::numbers("each"));
    let mut rows = Vec::new();
    for (index, (part, figure)) in job.parts().iter().zip(&figures.parts).enumerate() {
        let filler = if part.need == Need::Filler { " (filler)" } else { "" };
        let mut row = vec![
            format!("{} · {}{filler}", key(index), part.name),
            format!("{} of {}", figure.placed, part.quantity),
            if figure.placed > 0 { format_weight(figure.weight, settings.lengths.unit) } else { "–".to_owned() },
        ];
        match settings.cost.and_then(|cost| cost.parts.get(index)) {
            Some(cost) => {
                row.extend(
                    [cost.cost.material, cost.cost.work(), cost.cost.total()].map(|m| settings.coinage.format(m)),
                );
                row.push(cost.each().map_or_else(|| "–".to_owned(), |each| settings.coinage.format(each)));
            }
            None => {
                row.push(settings.coinage.format(figure.material_cost));
                let each = (figure.placed > 0)
                    .then(|| Money::round(figure.material_cost.coins() as f64 / f64::from(figure.placed)));
                row.push(each.map_or_else(|| "–".to_owned(), |each| settings.coinage.format(each)));
            }
        }
        rows.push(row);
    }
    let mut sum = vec!["all parts".to_owned(), String::new(), String::new()];
    match settings.cost {
        Some(cost) => {
            let whole = cost.whole;
            sum.extend([whole.material, whole.work(), whole.total()].map(|m| settings.coinage.format(m)));
        }
        None => sum.push(settings.coinage.format(figures.material_cost)),
    }
    rows.push(sum);
    let currency = if settings.currency.is_empty() { String::new() } else { format!(", in {}", settings.currency) };
    let title = format!("Cost per part{currency}: the metal by net area, the work by what each part needs");
    PaperTable { title, columns, rows, ..PaperTable::default() }
}
