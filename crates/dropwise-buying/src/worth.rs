//! The most that an offer is worth to the job.

use std::collections::BTreeSet;

use dropwise_model::Money;

use crate::Settings;
use crate::items::View;
use crate::pool::{ClassPlan, together};
use crate::proof::{BuyingError, Prover};
use crate::search::{MAIN_SHARE, Search};
use crate::sets::{ALL, Set};

/// The price at which buying an offer costs as much as the best that was found without it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worth {
    /// Index of the sheet.
    pub sheet: usize,
    /// What one piece may cost at most; `None` when it is not worth having even as a gift, or no plan was found that uses it.
    /// Not proved: a longer search may find a plan that makes more of it.
    pub most: Option<Money>,
    /// How many of them that price holds for.
    pub pieces: u32,
    /// What it is held against.
    pub against: Against,
}

/// What an offer is held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Against {
    /// The best choice without it costs so much.
    Choice(Money),
    /// Without it nothing was found that makes everything: it is worth whatever the job is.
    Nothing,
}

/// Other sheets beside which an offer is tried: what the cheapest plans without it buy.
const MOST_COMPANY: usize = 4;

/// Offers without a price, and those asked for.
pub(crate) fn asked_for(view: &View<'_>, settings: &Settings) -> Vec<usize> {
    let market = view.market;
    let is_asked =
        |sheet: &usize| market.is_offer(*sheet) && (!market.is_priced(*sheet) || settings.worth_of.contains(sheet));
    (0..view.sheets.len()).filter(is_asked).collect()
}

/// What each of them is worth.
pub(crate) fn worths<P: Prover>(search: &mut Search<'_, '_, P>) -> Result<Vec<Worth>, BuyingError> {
    let offers = asked_for(search.view, search.settings);
    let count = offers.len() as f64;
    let mut worths = Vec::with_capacity(offers.len());
    for (index, sheet) in offers.into_iter().enumerate() {
        let share = |done: usize| MAIN_SHARE + (1.0 - MAIN_SHARE) * done as f64 / count;
        search.go_on(share(index + 1));
        let is_in_choices = search.view.market.is_priced(sheet);
        worths.push(match search.view.sheets[sheet].class.filter(|_| is_in_choices) {
            None => worth(search, sheet)?,
            Some(class) => {
                // What costs more than the best choice was not looked at, but without this offer it may be the best.
                let mut without = search.view.clone();
                without.classes[class].offers.retain(|&other| other != sheet);
                let settings = search.settings;
                let mut rest = Search::new(&without, settings, &mut *search.prover);
                rest.run_within(share(index), share(index) + 0.8 * (share(index + 1) - share(index)))?;
                rest.go_on(share(index + 1));
                worth(&mut rest, sheet)?
            }
        });
    }
    Ok(worths)
}

/// The worth of an offer that no plan of the search buys.
fn worth<P: Prover>(search: &mut Search<'_, '_, P>, sheet: usize) -> Result<Worth, BuyingError> {
    let view = search.view;
    let market = view.market;
    let nothing = |against| Worth { sheet, most: None, pieces: 0, against };
    let rounds = search.settings.rounds;
    // Stock sold by length has no price for the piece.
    let model = &market.job().sheets()[sheet];
    let class = view.sheets[sheet].class.filter(|_| model.open_length.is_none());
    let without = search.together(|plan| plan.buys(sheet) == 0);
    let against = without.first().map_or(Against::Nothing, |best| Against::Choice(best.bill.total));
    let Some(class) = class.filter(|_| view.sheets[sheet].holds.contains(&true)) else {
        return Ok(nothing(against));
    };
    // What the best choices buy first, should time run out.
    let mut company: Vec<Set> = vec![Set::new(), search.offers(class, |other| other != sheet)];
    company.extend(without.iter().take(MOST_COMPANY).map(|one| one.plans[class].bought.clone()));
    // All of one seller, who asks for one delivery; and each that leaves little to this one.
    let mut sellers: Vec<Option<usize>> =
        view.classes[class].offers.iter().map(|&other| market.seller(other)).collect();
    sellers.sort_unstable();
    sellers.dedup();
    sellers.sort_by_key(|&other| other != market.seller(sheet));
    for seller in sellers.into_iter().take(MOST_COMPANY) {
        let is_here = |other: usize| market.seller(other).is_none() || market.seller(other) == seller;
        company.push(search.offers(class, |other| other != sheet && is_here(other)));
    }
    let mut single = search.offers(class, |other| other != sheet);
    single.sort_by(|a, b| {
        let price = |&(other, _): &(usize, u32)| view.sheets[other].net_price;
        price(a).total_cmp(&price(b)).then(a.0.cmp(&b.0))
    });
    company.extend(single.into_iter().take(2 * MOST_COMPANY).map(|one| vec![one]));
    drop(without);
    let mut seen = BTreeSet::new();
    company.retain(|set| seen.insert(set.clone()));
    let copies = model.quantity.unwrap_or(ALL);
    let mut plans: Vec<ClassPlan> = Vec::new();
    for mut set in company {
        set.push((sheet, copies));
        set.sort_unstable();
        if search.part_without_sheet(class, &set).is_some() || search.is_over() {
            continue;
        }
        for entry in set.iter_mut().filter(|(other, _)| view.sheets[*other].by_length.is_some()) {
            entry.1 = ALL;
        }
        let attempt = search.prover.attempt(view, class, &set, Some(sheet), rounds)?;
        let plan = ClassPlan::new(market, attempt.uses, attempt.metal, Some(sheet));
        if attempt.missing == 0 && plan.buys(sheet) > 0 {
            plans.push(plan);
        }
    }
    let Against::Choice(other) = against else {
        let pieces = plans.iter().map(|plan| plan.buys(sheet)).min().unwrap_or(0);
        return Ok(Worth { pieces, ..nothing(against) });
    };
    let seller = market.seller(sheet);
    let mut best: Option<Worth> = None;
    for plan in &plans {
        let classes: Vec<Vec<&ClassPlan>> = (search.pools.iter().enumerate())
            .map(|(index, pool)| match index == class {
                true => vec![plan],
                false => pool.plans().filter(|plan| plan.buys(sheet) == 0).collect(),
            })
            .collect();
        let pieces = plan.buys(sheet);
        for one in together(market, &classes) {
            // At price p an order below its minimum m with other goods g costs max(p, m - g) more than without top-up.
            let top_up =
                one.bill.fees.iter().find(|fee| Some(fee.seller) == seller).map_or(Money::ZERO, |fee| fee.top_up);
            let left = other - (one.bill.total - top_up);
            if left < top_up || left < Money::ZERO {
                continue;
            }
            let most = Money::from_coins(left.coins() / i64::from(pieces));
            if best.is_none_or(|best| best.most < Some(most)) {
                best = Some(Worth { sheet, most: Some(most), pieces, against });
            }
        }
    }
    Ok(best.unwrap_or_else(|| nothing(against)))
}
