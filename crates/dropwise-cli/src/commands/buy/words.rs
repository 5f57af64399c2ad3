//! A decision in words, and as JSON.

use std::collections::HashMap;

use dropwise_buying::{Against, Choice, Decision, Market, Misfit, Verdict};
use dropwise_formats::LoadedJob;
use dropwise_geometry::{format_area, format_gap, format_length};
use dropwise_model::Money;
use dropwise_paper::{BarChart, BarGroup};
use serde_json::json;

use crate::ink::Ink;
use crate::report::amount;
use crate::table::Table;
use crate::text::{cleaned, wrapped};

/// Choices in the table.
const MOST_SHOWN: usize = 10;

/// The choices beside each other: what each costs, and what it leaves.
pub(super) fn chart(loaded: &LoadedJob, market: &Market, decision: &Decision) -> String {
    let bar = |money: Money| (money.coins() as f64, amount(loaded, money));
    let groups = decision.choices.iter().take(MOST_SHOWN).enumerate().map(|(index, choice)| BarGroup {
        name: format!("{}: {}", index + 1, bought(loaded, market, choice)),
        bars: vec![Some(bar(choice.bill.total)), Some(bar(choice.plan.figures().leftover_credit))],
    });
    let groups: Vec<BarGroup> = groups.collect();
    let series = ["metal and fees", "worth of what is left, taken off already"];
    BarChart { title: "What to buy", series: &series, groups: &groups, whole: None }.svg()
}

pub(super) fn page(loaded: &LoadedJob, market: &Market, decision: &Decision, seconds: Option<f64>, ink: Ink) -> String {
    let money = |money| loaded.coinage.format(money);
    let mut page = String::new();
    let pieces: u32 = market.job().parts().iter().map(|part| part.quantity).sum();
    let mut table = Table::new(&["Buy", "metal and fees", "a piece", "yield", "left, worth", "gap"]);
    for choice in decision.choices.iter().take(MOST_SHOWN) {
        let figures = choice.plan.figures();
        table.row(vec![
            bought(loaded, market, choice),
            money(choice.bill.total),
            money(Money::round(choice.bill.total.coins() as f64 / f64::from(pieces.max(1)))),
            format!("{:.1} %", figures.yield_ratio() * 100.0),
            money(figures.leftover_credit),
            choice.gap(decision.lower_bound).map_or_else(|| "-".to_owned(), money),
        ]);
    }
    match decision.choices.first() {
        Some(best) => {
            page.push_str(&table.render(ink));
            let fees: Money = best.bill.fees.iter().map(dropwise_buying::Fee::amount).sum();
            let text = format!(
                "Best: {}, {} in all, {} of it delivery and minimum orders. Every choice listed is proved; the gap is what the \
                 cheapest choice there can be might still save.",
                bought(loaded, market, best),
                amount(loaded, best.bill.total),
                amount(loaded, fees)
            );
            page.push_str(&wrapped("", 0, &text));
        }
        None => {
            for (class, missing) in &decision.shortfalls {
                let why = match missing {
                    Some(1) => "1 piece was left over in the best try".to_owned(),
                    Some(missing) => format!("{missing} pieces were left over in the best try"),
                    None if decision.not_tried.is_stopped => {
                        "nothing was nested for them before time ran out. Allow more with --seconds".to_owned()
                    }
                    None => "rack and offers together cannot do".to_owned(),
                };
                page.push_str(&wrapped("", 2, &format!("Nothing found makes all parts of {class}: {why}.")));
            }
        }
    }
    if !decision.worths.is_empty() {
        page.push_str(&format!("\n{}\n", ink.strong("Worth to this job, at most")));
    }
    for line in worths(loaded, market, decision) {
        page.push_str(&wrapped("- ", 2, &line));
    }
    let title = if decision.choices.is_empty() { "Offers" } else { "Offers not in the best choice" };
    page.push_str(&format!("\n{}\n", ink.strong(title)));
    for line in reasons(loaded, market, decision) {
        page.push_str(&wrapped("- ", 2, &line));
    }
    page.push('\n');
    page.push_str(&wrapped("", 0, &undone(decision, seconds)));
    page
}

/// Lines of one list on the page; JSON has all.
const MOST_LINES: usize = 40;
/// Offers named on a line.
const MOST_NAMES: usize = 24;

/// Offers by what is to be said of them: those of which the same is said share a line, and a long list is cut.
#[derive(Default)]
struct Sayings<'a> {
    lines: Vec<(String, Vec<&'a str>)>,
    known: HashMap<String, usize>,
}

impl<'a> Sayings<'a> {
    fn say(&mut self, name: &'a str, what: String) {
        let at = *self.known.entry(what).or_insert_with_key(|what| {
            self.lines.push((what.clone(), Vec::new()));
            self.lines.len() - 1
        });
        self.lines[at].1.push(name);
    }

    fn told(&self) -> Vec<String> {
        let rest: usize = self.lines.iter().skip(MOST_LINES).map(|(_, names)| names.len()).sum();
        let line = |(what, names): &(String, Vec<&str>)| {
            let more = names.len().saturating_sub(MOST_NAMES);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            cleaned(&format!("{}{more}: {what}", names[..names.len().min(MOST_NAMES)].join(", ")))
        };
        let mut told: Vec<String> = self.lines.iter().take(MOST_LINES).map(line).collect();
        if rest > 0 {
            told.push(format!("and {rest} more, each in what --json prints"));
        }
        told
    }
}

/// What offers without a price, and those asked for, are worth.
fn worths(loaded: &LoadedJob, market: &Market, decision: &Decision) -> Vec<String> {
    let mut sayings = Sayings::default();
    for worth in &decision.worths {
        let text = match (worth.against, worth.most) {
            (Against::Nothing, _) => {
                "nothing else was found that makes everything, so no price to break even".to_owned()
            }
            (Against::Choice(_), None) => "nothing; no plan found is better with it, even as a gift".to_owned(),
            (Against::Choice(other), Some(most)) => {
                format!("{} each, against {} without it", amount(loaded, most), amount(loaded, other))
            }
        };
        sayings.say(&market.job().sheets()[worth.sheet].name, text);
    }
    sayings.told()
}

/// Why offers are not in the best choice.
fn reasons(loaded: &LoadedJob, market: &Market, decision: &Decision) -> Vec<String> {
    let mut sayings = Sayings::default();
    for (sheet, verdict) in decision.verdicts.iter().enumerate() {
        let Some(verdict) = verdict.as_ref().filter(|verdict| **verdict != Verdict::InChoice(0)) else { continue };
        sayings.say(&market.job().sheets()[sheet].name, reason(loaded, market, decision, sheet, verdict));
    }
    sayings.told()
}

/// What was done, what was not, and what would help.
fn undone(decision: &Decision, seconds: Option<f64>) -> String {
    let left = decision.not_tried;
    let mut text = match decision.tries {
        1 => "1 set of sheets was nested.".to_owned(),
        tries => format!("{tries} sets of sheets were nested."),
    };
    if left.offers > 0 {
        let offers = if left.offers == 1 { "1 offer was".to_owned() } else { format!("{} offers were", left.offers) };
        text.push_str(&format!(" {offers} not tried alone, the most promising being tried first"));
        match left.wanted.zip(seconds) {
            Some((wanted, seconds)) => {
                let more = wanted.as_secs_f64().ceil().max(1.0);
                // Trying each offer is given a good third of the time.
                let all = ((seconds + more / 0.35) / 5.0).ceil() * 5.0;
                text.push_str(&format!(": time ran out. That takes about {more:.0} s more, so --seconds {all:.0}."));
            }
            None => text.push_str(": of a long list the rest is weighed by area and price alone."),
        }
    }
    if left.sets > 0 {
        let count = if left.is_list_cut { format!("{} or more", left.sets) } else { left.sets.to_string() };
        let why = if left.is_stopped { "time ran out" } else { "the number of tries is limited" };
        text.push_str(&format!(
            " Of combinations that might save something, {count} were not tried, those that seem least likely: {why}."
        ));
    }
    if left.in_vain > 0 {
        let sets = if left.in_vain == 1 { "1 set".to_owned() } else { format!("{} sets", left.in_vain) };
        text.push_str(&format!(" {sets} that might be cheaper by area: tried, and no nest was found."));
    }
    text
}

fn bought(loaded: &LoadedJob, market: &Market, choice: &Choice) -> String {
    if choice.bought.is_empty() {
        return "nothing, the rack does".to_owned();
    }
    let one = |bought: &dropwise_buying::Bought| {
        let name = &market.job().sheets()[bought.sheet].name;
        match (bought.length, bought.count) {
            (Some(length), _) => format!("{} of {name}", format_length(length, loaded.unit)),
            (None, 1) => name.clone(),
            (None, count) => format!("{count} x {name}"),
        }
    };
    choice.bought.iter().map(one).collect::<Vec<_>>().join(" + ")
}

fn reason(loaded: &LoadedJob, market: &Market, decision: &Decision, sheet: usize, verdict: &Verdict) -> String {
    let length = |by| format_gap(by, loaded.unit);
    let part = |part: usize| &market.job().parts()[part].name;
    let misfit = |misfit: &Misfit| match misfit {
        Misfit::TooNarrow(by) => format!("too narrow by {}", length(*by)),
        Misfit::TooShort(by) => format!("too short by {}", length(*by)),
        Misfit::GrainUnknown => "its grain is not known".to_owned(),
        _ => "no room within the margins".to_owned(),
    };
    match verdict {
        Verdict::OtherStock => other_stock(loaded, sheet),
        Verdict::HoldsNoPart { part: nearest, misfit: why } => format!("{} even for {}", misfit(why), part(*nearest)),
        Verdict::Replaced { by } => {
            format!("{} of the same seller is as large and no dearer", market.job().sheets()[*by].name)
        }
        Verdict::NoPrice => "no price yet".to_owned(),
        Verdict::InChoice(at) => {
            let more = decision.choices[*at].bill.total - decision.choices[0].bill.total;
            format!("in choice {}, {} dearer", at + 1, amount(loaded, more))
        }
        Verdict::Dearer(total) => format!("{} with it", amount(loaded, *total)),
        Verdict::LeavesPart { part: left, misfit: why } => {
            format!("{} for {}, which the rack does not hold", misfit(why), part(*left))
        }
        Verdict::AreaShort(by) => format!("alone with the rack, area short by {}", format_area(*by, loaded.unit)),
        Verdict::LeavesClass(class) => format!("alone with the rack, nothing for parts of {class}"),
        Verdict::AtLeast(bound) => format!("alone with the rack it costs {} at least", amount(loaded, *bound)),
        Verdict::NoRoom(pieces) => format!("alone with the rack, no nest found: {pieces} pieces left over"),
        Verdict::NotNeeded => "not needed: costs less without it".to_owned(),
        _ => "not tried alone, see below".to_owned(),
    }
}

/// In what way stock differs from all that parts ask for.
fn other_stock(loaded: &LoadedJob, sheet: usize) -> String {
    let offered = &loaded.sheets[sheet];
    let mut asked = loaded.parts.iter().filter(|part| part.material == offered.material).map(|part| part.thickness);
    match asked.next() {
        None => format!("wrong metal, {}", offered.material),
        Some(wanted) if asked.all(|other| other.millimetres() == wanted.millimetres()) => {
            let word = if offered.thickness.millimetres() < wanted.millimetres() { "too thin" } else { "too thick" };
            format!("{word}: {} for {}", offered.thickness.in_words(loaded.unit), wanted.in_words(loaded.unit))
        }
        Some(_) => format!("wrong thickness, {}", offered.thickness.in_words(loaded.unit)),
    }
}

pub(super) fn json(loaded: &LoadedJob, market: &Market, decision: &Decision) -> String {
    let coins = |money: Money| money.coins();
    let name = |sheet: usize| market.job().sheets()[sheet].name.clone();
    let choices: Vec<_> = (decision.choices.iter())
        .map(|choice| {
            let figures = choice.plan.figures();
            let bought: Vec<_> = (choice.bought.iter())
                .map(|one| json!({ "offer": name(one.sheet), "count": one.count, "length_mm": one.length }))
                .collect();
            let fees: Vec<_> = (choice.bill.fees.iter())
                .map(|fee| {
                    json!({ "seller": market.sellers()[fee.seller].name, "goods": coins(fee.goods),
                        "top_up": coins(fee.top_up), "delivery": coins(fee.delivery) })
                })
                .collect();
            json!({ "buy": bought, "total": coins(choice.bill.total), "metal": coins(choice.bill.metal),
                "goods": coins(choice.bill.goods), "rack": coins(choice.bill.rack), "fees": fees,
                "yield": figures.yield_ratio(), "leftover_area_mm2": figures.leftover_area,
                "leftover_worth": coins(figures.leftover_credit), "gap": choice.gap(decision.lower_bound).map(coins) })
        })
        .collect();
    let offers: Vec<_> = (decision.verdicts.iter().enumerate())
        .filter_map(|(sheet, verdict)| {
            let reason = reason(loaded, market, decision, sheet, verdict.as_ref()?);
            Some(json!({ "offer": name(sheet), "verdict": reason }))
        })
        .collect();
    let worths: Vec<_> = (decision.worths.iter())
        .map(|worth| json!({ "offer": name(worth.sheet), "most_each": worth.most.map(coins), "pieces": worth.pieces }))
        .collect();
    let left = decision.not_tried;
    let document = json!({ "version": 1, "currency": loaded.currency, "lower_bound": decision.lower_bound.map(coins),
        "choices": choices, "offers": offers, "worths": worths, "tries": decision.tries,
        "not_tried": { "offers": left.offers, "offers_seconds": left.wanted.map(|wanted| wanted.as_secs_f64()), "sets": left.sets, "in_vain": left.in_vain, "is_list_cut": left.is_list_cut,
            "is_stopped": left.is_stopped } });
    format!("{document:#}\n")
}
