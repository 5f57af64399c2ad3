//! `stock value` and `stock report`: what the rack holds, and how the metal was used.

use std::path::PathBuf;

use clap::Args;
use dropwise_paper::{BarChart, BarGroup};
use dropwise_shop::stock_in_words;
use dropwise_stock::{Figures, MonthFigures, Report, Value};
use serde_json::{Value as Json, json};

use super::describe::json_page;
use super::desk::{Desk, told};
use crate::complaint::Stop;
use crate::environment::Environment;
use crate::exit::Exit;
use crate::out_folder::write_file;
use crate::stock_log::Purpose;
use crate::table::Table;

/// What was typed after `stock value` or `stock report`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Figured {
    /// Print everything as JSON; areas mm², weights kg, money in the smallest coin
    #[arg(long)]
    json: bool,
    /// Draw it as a chart too, SVG, in this file
    #[arg(long, value_name = "FILE.svg", value_parser = svg_file)]
    out: Option<PathBuf>,
}

/// A file that a picture may be written to: one that says so, since what is there is replaced.
pub(crate) fn svg_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let is_svg = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg"));
    if is_svg { Ok(path) } else { Err("its name must end in .svg".to_owned()) }
}

pub(crate) fn value(typed: &Figured, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let value = desk.open(Purpose::Look, environment)?.value().map_err(told)?;
    if let Some(path) = &typed.out {
        write_file(path, value_chart(&value, desk).as_bytes())?;
    }
    let page = if typed.json { json_page(&value_json(&value)) } else { value_page(&value, desk) };
    environment.print(&page)?;
    Ok(Exit::Done)
}

fn value_page(value: &Value, desk: &Desk) -> String {
    if value.classes.is_empty() {
        return "Nothing lies in the rack.\n".to_owned();
    }
    let mut table = Table::new(&["stock", "pieces", "area", "weight", &desk.money_title("carries")]);
    let row = |table: &mut Table, name: &str, figures: &Figures| {
        let cost = desk.coinage.format(figures.cost);
        let (area, weight) = (desk.area(figures.area), desk.weight(figures.weight));
        table.row(vec![name.to_owned(), figures.count.to_string(), area, weight, cost]);
    };
    for class in &value.classes {
        row(&mut table, &stock_in_words(&class.class, desk.unit), &class.figures);
        if class.remnants.count > 0 {
            row(&mut table, "  of it left over", &class.remnants);
        }
    }
    table.rule();
    row(&mut table, "all", &value.total);
    table.render(desk.ink)
}

fn figures_json(figures: &Figures) -> Json {
    json!({ "count": figures.count, "area": figures.area, "weight": figures.weight, "cost": figures.cost.coins() })
}

fn value_json(value: &Value) -> Json {
    let classes = value.classes.iter().map(|class| {
        json!({
            "material": class.material.to_string(),
            "class": class.class,
            "all": figures_json(&class.figures),
            "left_over": figures_json(&class.remnants),
        })
    });
    json!({ "classes": classes.collect::<Vec<_>>(), "total": figures_json(&value.total) })
}

fn value_chart(value: &Value, desk: &Desk) -> String {
    let bar = |figures: &Figures| {
        let text = format!("{}, {}", desk.money(figures.cost), desk.weight(figures.weight));
        (figures.count > 0).then(|| (figures.cost.coins() as f64, text))
    };
    let groups = value.classes.iter().map(|class| BarGroup {
        name: stock_in_words(&class.class, desk.unit),
        bars: vec![bar(&class.figures), bar(&class.remnants)],
    });
    let groups: Vec<BarGroup> = groups.collect();
    let series = ["what it carries of the money paid", "of it left over from other sheets"];
    BarChart { title: "What lies in the rack", series: &series, groups: &groups, whole: None }.svg()
}

pub(crate) fn report(typed: &Figured, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let report = desk.open(Purpose::Look, environment)?.report().map_err(told)?;
    if let Some(path) = &typed.out {
        write_file(path, report_chart(&report).as_bytes())?;
    }
    let page = if typed.json { json_page(&report_json(&report)) } else { report_page(&report, desk) };
    environment.print(&page)?;
    Ok(Exit::Done)
}

fn percent(ratio: Option<f64>) -> String {
    ratio.map_or_else(|| "-".to_owned(), |ratio| format!("{:.1} %", ratio * 100.0))
}

fn report_page(report: &Report, desk: &Desk) -> String {
    if report.months.is_empty() {
        return "Nothing has happened yet.\n".to_owned();
    }
    let mut table = Table::new(&["month", "bought", "new cut", "remnants cut", "yield", "from remnants", "scrap"]);
    for month in &report.months {
        table.row(vec![
            month.month.to_string(),
            month.bought_count.to_string(),
            month.new_cut.to_string(),
            month.remnants_cut.to_string(),
            percent(month.yield_ratio()),
            percent(month.remnant_share()),
            desk.weight(month.scrap_weight),
        ]);
    }
    let mut page = table.render(desk.ink);
    page.push_str("\nYield is the area of parts in that of the sheets cut. Months are in UTC.\n\n");
    let money = &report.money;
    let mut table = Table::new(&["where the money is", &desk.money_title("amount")]);
    let rows = [
        ("in the rack", money.in_rack),
        ("in parts", money.parts),
        ("in pieces scrapped whole", money.scrapped),
        ("in pieces sold", money.sold),
    ];
    for (name, amount) in rows {
        table.row(vec![name.to_owned(), desk.coinage.format(amount)]);
    }
    table.rule();
    table.row(vec!["paid in all".to_owned(), desk.coinage.format(money.paid)]);
    page.push_str(&table.render(desk.ink));
    if report.untouched.is_empty() {
        page.push_str("\nNothing in the rack has lain untouched for a year.\n");
    } else {
        let mut table = Table::new(&["untouched for a year", "days"]);
        for (tag, days) in &report.untouched {
            table.row(vec![tag.to_string(), days.to_string()]);
        }
        page.push_str(&format!("\n{}", table.render(desk.ink)));
    }
    page
}

fn month_json(month: &MonthFigures) -> Json {
    json!({
        "month": month.month.to_string(),
        "bought_count": month.bought_count,
        "bought_area": month.bought_area,
        "bought_cost": month.bought_cost.coins(),
        "new_cut": month.new_cut,
        "new_cut_area": month.new_cut_area,
        "remnants_cut": month.remnants_cut,
        "remnants_cut_area": month.remnants_cut_area,
        "parts_area": month.parts_area,
        "leftover_area": month.leftover_area,
        "scrap_area": month.scrap_area,
        "scrap_weight": month.scrap_weight,
        "proceeds": month.proceeds.coins(),
        "yield": month.yield_ratio(),
        "remnant_share": month.remnant_share(),
    })
}

fn report_json(report: &Report) -> Json {
    let money = &report.money;
    let untouched = report.untouched.iter().map(|(tag, days)| json!({ "tag": tag, "days": days }));
    json!({
        "months": report.months.iter().map(month_json).collect::<Vec<_>>(),
        "money": {
            "paid": money.paid.coins(),
            "in_rack": money.in_rack.coins(),
            "parts": money.parts.coins(),
            "scrapped": money.scrapped.coins(),
            "sold": money.sold.coins(),
        },
        "untouched": untouched.collect::<Vec<_>>(),
    })
}

fn report_chart(report: &Report) -> String {
    let bar = |ratio: Option<f64>| ratio.map(|ratio| (ratio, percent(Some(ratio))));
    let groups = report.months.iter().map(|month| BarGroup {
        name: month.month.to_string(),
        bars: vec![bar(month.yield_ratio()), bar(month.remnant_share())],
    });
    let groups: Vec<BarGroup> = groups.collect();
    let series = ["yield: parts in the sheets cut, by area", "remnants in the sheets cut, by area"];
    BarChart { title: "How the metal was used", series: &series, groups: &groups, whole: Some(1.0) }.svg()
}
