//! A comparison as a page and as JSON.

use std::collections::BTreeMap;

use dropwise_formats::LoadedJob;
use dropwise_model::Money;
use serde_json::{Value, json};

use super::facts::{Facts, OfPart, OnSheet};
use crate::ink::Ink;
use crate::report::size;
use crate::table::Table;
use crate::text::{cleaned, glued, wrapped};

/// What stands where there is nothing to say.
const NONE: &str = "-";

pub(super) fn as_text(loaded: &LoadedJob, [before, after]: &[Facts; 2], ink: Ink) -> String {
    let title = format!("{}: from plan\u{a0}{} to plan\u{a0}{}", cleaned(&after.name), before.number, after.number);
    let mut sections = vec![wrapped("", 0, &title), figures(loaded, before, after, ink)];
    let tales = [sheets(loaded, before, after), parts(loaded, before, after)].concat();
    sections.push(if before.number == after.number {
        "Both are the same plan.\n".to_owned()
    } else if tales.is_empty() {
        "The same sheets are cut, and every part lies where it lay.\n".to_owned()
    } else {
        tales
    });
    sections.join("\n")
}

/// A signed number; none for no change.
fn signed(text: String, change: f64) -> String {
    if change > 0.0 { format!("+{text}") } else { text }
}

fn figures(loaded: &LoadedJob, before: &Facts, after: &Facts, ink: Ink) -> String {
    let mut table = Table::new(&["", "before", "after", "change"]);
    let coins = |coins: i64| loaded.coinage.format(Money::from_coins(coins));
    let currency = if loaded.currency.is_empty() { String::new() } else { format!(", {}", cleaned(&loaded.currency)) };
    for (name, of) in [
        (format!("metal{currency}"), (|facts| facts.material) as fn(&Facts) -> i64),
        ("work".to_owned(), |facts| facts.work),
        ("in all".to_owned(), |facts| facts.total),
        ("worth of leftovers".to_owned(), |facts| facts.leftovers.2),
    ] {
        let (old, new) = (of(before), of(after));
        table.row(vec![name, coins(old), coins(new), signed(coins(new - old), (new - old) as f64)]);
    }
    table.rule();
    let cut = |facts: &Facts| facts.sheets.values().map(|sheet| sheet.count).sum::<usize>() as f64;
    let placed = |facts: &Facts| facts.parts.values().map(|part| f64::from(part.placed)).sum::<f64>();
    for (name, old, new, decimals, unit) in [
        ("sheets cut", cut(before), cut(after), 0, ""),
        ("parts placed", placed(before), placed(after), 0, ""),
        ("yield", 100.0 * before.yield_ratio, 100.0 * after.yield_ratio, 1, " %"),
        ("leftovers kept", before.leftovers.0 as f64, after.leftovers.0 as f64, 0, ""),
        ("minutes, rough", before.minutes.0, after.minutes.0, 0, ""),
    ] {
        let figure = |value: f64| format!("{value:.decimals$}{unit}");
        // As printed, so that the three add up.
        let round = |value: f64| figure(value).trim_end_matches(unit).parse::<f64>().unwrap_or(value);
        let change = round(new) - round(old);
        table.row(vec![name.to_owned(), figure(old), figure(new), signed(figure(change + 0.0), change)]);
    }
    let largest = |facts: &Facts| {
        facts.largest_leftover.map_or_else(|| NONE.to_owned(), |sides| size(loaded, sides).replace('\u{a0}', " "))
    };
    let mut page = table.render(ink);
    page.push_str(&wrapped(
        "Largest rectangle left over: ",
        2,
        &format!("{} before, {} after.", glued(&largest(before)), glued(&largest(after))),
    ));
    if !(before.minutes.1 && after.minutes.1) {
        page.push_str(&wrapped(
            "",
            0,
            "The speed of some tool is not known; its cutting time is missing from the minutes.",
        ));
    }
    page
}

fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Sheets of `these` that are cut oftener than in `those`.
fn more<'f>(
    these: &'f BTreeMap<String, OnSheet>,
    those: &BTreeMap<String, OnSheet>,
) -> Vec<(&'f str, usize, &'f OnSheet)> {
    let extra = |(name, sheet): (&'f String, &'f OnSheet)| {
        let other = those.get(name).map_or(0, |sheet| sheet.count);
        (sheet.count > other).then(|| (name.as_str(), sheet.count - other, sheet))
    };
    these.iter().filter_map(extra).collect()
}

fn sheets(loaded: &LoadedJob, before: &Facts, after: &Facts) -> String {
    let mut page = String::new();
    for (word, list) in
        [("No longer cut", more(&before.sheets, &after.sheets)), ("Cut now", more(&after.sheets, &before.sheets))]
    {
        for (name, times, sheet) in list {
            let times = if times == 1 { String::new() } else { format!(", {times} of them") };
            let cost = loaded.coinage.format(Money::from_coins(sheet.cost));
            let text = format!("{}{times} ({}, {cost}).", cleaned(name), count(sheet.parts, "part", "parts"));
            page.push_str(&wrapped(&format!("{word}: "), 2, &text));
        }
    }
    page
}

/// All parts of either plan, by name.
fn paired<'f>(before: &'f Facts, after: &'f Facts) -> BTreeMap<&'f str, [Option<&'f OfPart>; 2]> {
    let mut pairs: BTreeMap<&str, [Option<&OfPart>; 2]> = BTreeMap::new();
    for (index, facts) in [before, after].into_iter().enumerate() {
        for (name, part) in &facts.parts {
            pairs.entry(name).or_default()[index] = Some(part);
        }
    }
    pairs
}

fn parts(loaded: &LoadedJob, before: &Facts, after: &Facts) -> String {
    let money = |coins: Option<i64>| {
        coins.map_or_else(|| NONE.to_owned(), |coins| loaded.coinage.format(Money::from_coins(coins)))
    };
    let line = |(name, pair): (&str, [Option<&OfPart>; 2])| {
        let name = format!("{}: ", cleaned(name));
        let text = match pair {
            [Some(old), None] => format!("no longer in the job, {} before.", old.placed),
            [None, Some(new)] => format!("new, {} of {}.", new.placed, new.wanted),
            [Some(old), Some(new)] => {
                let mut said = Vec::new();
                if (old.placed, old.wanted) != (new.placed, new.wanted) {
                    said.push(format!(
                        "{} of {} before, {} of {} after",
                        old.placed, old.wanted, new.placed, new.wanted
                    ));
                }
                if old.each != new.each {
                    said.push(format!("each {} before, {} after", money(old.each), money(new.each)));
                }
                match new.moved_since(old) {
                    0 => {}
                    moved => said.push(format!("{moved} of {} lie elsewhere", new.placed)),
                }
                if said.is_empty() {
                    return String::new();
                }
                format!("{}.", said.join("; "))
            }
            [None, None] => return String::new(),
        };
        wrapped(&name, 2, &text)
    };
    paired(before, after).into_iter().map(line).collect()
}

pub(super) fn as_json([before, after]: &[Facts; 2]) -> String {
    let coins = |of: fn(&Facts) -> i64| {
        let (old, new) = (of(before), of(after));
        json!({ "before": old, "after": new, "change": new - old })
    };
    let number = |of: fn(&Facts) -> f64| {
        let (old, new) = (of(before), of(after));
        json!({ "before": old, "after": new, "change": new - old })
    };
    let sheets = |list: Vec<(&str, usize, &OnSheet)>| -> Vec<Value> {
        list.into_iter()
            .map(|(name, count, sheet)| json!({ "name": name, "count": count, "parts": sheet.parts }))
            .collect()
    };
    let largest = |facts: &Facts| facts.largest_leftover.map(|(long, short)| [long, short]);
    let parts = paired(before, after).into_iter().map(|(name, [old, new])| {
        let moved = old.zip(new).map(|(old, new)| new.moved_since(old));
        let of = |part: Option<&OfPart>| {
            part.map(|part| json!({ "placed": part.placed, "wanted": part.wanted, "cost_each": part.each }))
        };
        json!({ "name": name, "before": of(old), "after": of(new), "moved": moved })
    });
    let plan = |facts: &Facts| json!({ "name": facts.name, "number": facts.number });
    let document = json!({
        "format": "dropwise comparison",
        "version": 1,
        "before": plan(before),
        "after": plan(after),
        "money": {
            "material": coins(|facts| facts.material),
            "work": coins(|facts| facts.work),
            "total": coins(|facts| facts.total),
        },
        "minutes": number(|facts| facts.minutes.0),
        "are_minutes_complete": before.minutes.1 && after.minutes.1,
        "sheets": {
            "count": coins(|facts| facts.sheets.values().map(|sheet| sheet.count).sum::<usize>() as i64),
            "yield": number(|facts| facts.yield_ratio),
            "gross_weight": number(|facts| facts.gross_weight),
            "no_longer_cut": sheets(more(&before.sheets, &after.sheets)),
            "cut_now": sheets(more(&after.sheets, &before.sheets)),
        },
        "leftovers": {
            "count": coins(|facts| facts.leftovers.0 as i64),
            "area": number(|facts| facts.leftovers.1),
            "worth": coins(|facts| facts.leftovers.2),
            "largest_rectangle": { "before": largest(before), "after": largest(after) },
        },
        "parts": parts.collect::<Vec<Value>>(),
    });
    format!("{}\n", serde_json::to_string_pretty(&document).unwrap_or_default())
}
