//! Small markets whose every choice can be tried, against the whole of the crate with the true nester.

use std::ops::ControlFlow;

use dropwise_model::{Clearances, Money, StockClass};

use crate::arbitrary::{Chance, market, offer, part, sheet};
use crate::fees::fees;
use crate::{Against, Market, Misfit, Seller, Settings, Source, Verdict, decide};

/// Bars as wide as the sheets all but allow lie one behind the other, so whether they fit is a matter of lengths alone.
const WIDTH: f64 = 60.0;
const BAR: f64 = 50.0;
const WEB: f64 = 3.0;
const MARGIN: f64 = 2.0;

/// Lengths that no row of up to six bars misses by less than 1 mm: what fits by a hair is found by luck.
fn length(tens: i64) -> f64 {
    (10 * tens + 2) as f64
}

fn settings() -> Settings {
    Settings { time_limit: None, rounds: 6, threads: 1, ..Settings::default() }
}

fn bars(seed: u64) -> Market {
    let mut chance = Chance::new(seed);
    let class = StockClass::new("plate");
    let parts = vec![
        part("long bar", (200.0, BAR), chance.whole(1, 4) as u32, &class),
        part("short bar", (110.0, BAR), chance.whole(1, 4) as u32, &class),
    ];
    let sellers = chance.sellers(2);
    let mut sheets = Vec::new();
    for number in 0..chance.whole(0, 2) {
        let length = length(chance.whole(12, 34));
        let worth = chance.whole(0, 300);
        sheets.push((sheet(&format!("rack {number}"), (length, WIDTH), worth, &class), Source::Rack));
    }
    for number in 0..chance.whole(2, 6) {
        let length = length(chance.whole(10, 70));
        let price = (length * chance.whole(60, 140) as f64 / 100.0) as i64;
        let seller = if chance.is_so(0.2) { None } else { Some(chance.whole(0, 1) as usize) };
        sheets.push((sheet(&format!("offer {number}"), (length, WIDTH), price, &class), offer(seller)));
    }
    market(parts, sheets, sellers, Clearances::new(1.0, WEB, MARGIN).unwrap())
}

/// Whether bars can be dealt out to sheets, by trying.
fn can_deal(bars: &[f64], rooms: &mut [f64]) -> bool {
    let Some((&bar, rest)) = bars.split_first() else { return true };
    for index in 0..rooms.len() {
        let taken = bar + WEB;
        if rooms[index] >= taken {
            rooms[index] -= taken;
            let is_dealt = can_deal(rest, rooms);
            rooms[index] += taken;
            if is_dealt {
                return true;
            }
        }
    }
    false
}

/// The cost of using just these sheets, if they hold all bars.
fn cost_of(market: &Market, used: &[usize]) -> Option<Money> {
    let job = market.job();
    let mut lengths: Vec<f64> = Vec::new();
    for part in job.parts() {
        lengths.extend(std::iter::repeat_n(part.shape.bounds().width(), part.quantity as usize));
    }
    // One web more is room for the web behind the last bar.
    let mut rooms: Vec<f64> =
        used.iter().map(|&sheet| job.sheets()[sheet].shape.bounds().width() - 2.0 * MARGIN + WEB).collect();
    if !can_deal(&lengths, &mut rooms) {
        return None;
    }
    let price = |sheet: usize| job.sheets()[sheet].price;
    let metal: Money = used.iter().map(|&sheet| price(sheet)).sum();
    let spent = used.iter().filter_map(|&sheet| Some((market.seller(sheet)?, price(sheet))));
    Some(metal + fees(market, spent).iter().map(crate::Fee::amount).sum())
}

fn cheapest(market: &Market, passes: impl Fn(&[usize]) -> bool) -> Option<Money> {
    let count = market.job().sheets().len();
    let sets =
        (0..1_u32 << count).map(|mask| (0..count).filter(|sheet| mask >> sheet & 1 == 1).collect::<Vec<usize>>());
    sets.filter(|set| passes(set)).filter_map(|set| cost_of(market, &set)).min()
}

#[test]
fn the_best_choice_is_that_of_trying_all() {
    let (mut done, mut impossible) = (0, 0);
    for seed in 0..8 {
        let market = bars(seed);
        let decision = decide(&market, &settings(), |_| ControlFlow::Continue(())).unwrap();
        let found = decision.choices.first().map(|choice| choice.bill.total);
        let least = cheapest(&market, |_| true);
        assert_eq!(found, least, "seed {seed}");
        if least.is_none() {
            assert_eq!(decision.shortfalls.len(), 1, "seed {seed}");
            impossible += 1;
            continue;
        }
        done += 1;
        assert!(decision.lower_bound.is_some_and(|bound| Some(bound) <= least), "seed {seed}");
        for choice in &decision.choices {
            let bought: Vec<usize> = choice.bought.iter().map(|bought| bought.sheet).collect();
            let offers = |set: &[usize]| set.iter().copied().filter(|&s| market.is_offer(s)).collect::<Vec<_>>();
            // What the choice buys is used best.
            let best = cheapest(&market, |set| offers(set) == bought);
            assert_eq!(Some(choice.bill.total), best, "seed {seed}: {bought:?}");
            assert!(choice.plan.layout().unplaced.is_empty());
        }
        for (sheet, verdict) in decision.verdicts.iter().enumerate() {
            let alone = || {
                cheapest(&market, |set| set.contains(&sheet) && set.iter().all(|&s| s == sheet || !market.is_offer(s)))
            };
            match verdict {
                None => assert!(!market.is_offer(sheet)),
                Some(Verdict::InChoice(_) | Verdict::Dearer(_) | Verdict::Replaced { .. }) => {}
                Some(Verdict::AtLeast(bound)) => assert!(alone().is_none_or(|cost| cost >= *bound), "seed {seed}"),
                Some(Verdict::NotNeeded) => {
                    let without = cheapest(&market, |set| !set.iter().any(|&s| market.is_offer(s)));
                    assert!(without.is_some_and(|without| alone().is_none_or(|alone| alone >= without)), "seed {seed}");
                }
                Some(Verdict::HoldsNoPart { .. }) => {
                    let needs_it = cheapest(&market, |set| set == [sheet]);
                    assert_eq!(needs_it, None, "seed {seed}");
                }
                Some(Verdict::NoRoom(_) | Verdict::AreaShort(_) | Verdict::LeavesPart { .. }) => {
                    assert_eq!(alone(), None, "seed {seed}, {}: {verdict:?}", market.job().sheets()[sheet].name);
                }
                Some(other) => panic!("seed {seed}: {other:?}"),
            }
        }
    }
    assert!(done > 4, "{done} done, {impossible} impossible");
}

/// What an offer without a price is worth, worked out by trying all.
#[test]
fn the_worth_of_an_offer_is_where_it_breaks_even() {
    let (mut worth_something, mut worth_nothing) = (0, 0);
    for seed in 100..105 {
        let priced = bars(seed);
        let asked = (0..priced.job().sheets().len()).find(|&sheet| priced.is_offer(sheet)).unwrap();
        let settings = Settings { worth_of: vec![asked], rounds: 2, ..settings() };
        let decision = decide(&priced, &settings, |_| ControlFlow::Continue(())).unwrap();
        let [worth] = decision.worths.as_slice() else { panic!("one worth") };
        let without = cheapest(&priced, |set| !set.contains(&asked));
        let Some(without) = without else {
            assert_eq!(worth.against, Against::Nothing, "seed {seed}");
            continue;
        };
        assert_eq!(worth.against, Against::Choice(without), "seed {seed}");
        // The dearest price at which a set with it costs no more, by halving.
        let at = |price: i64| {
            let mut sheets = priced.job().sheets().to_vec();
            sheets[asked].price = Money::from_coins(price);
            let sheets = sheets.into_iter().zip(priced.sources().iter().copied()).collect();
            let other =
                market(priced.job().parts().to_vec(), sheets, priced.sellers().to_vec(), *priced.job().clearances());
            cheapest(&other, |set| set.contains(&asked)).is_some_and(|cost| cost <= without)
        };
        let expected = at(0).then(|| {
            let (mut low, mut high) = (0, 100_000);
            while high - low > 1 {
                let middle = (low + high) / 2;
                if at(middle) { low = middle } else { high = middle }
            }
            low
        });
        // Sets in which nothing lies on it need not be tried: they are worth nothing and cost no less.
        assert_eq!(worth.most.map(Money::coins).unwrap_or(0), expected.unwrap_or(0), "seed {seed}");
        if expected.is_some_and(|expected| expected > 0) { worth_something += 1 } else { worth_nothing += 1 }
    }
    assert!(worth_something > 0, "{worth_something} and {worth_nothing}");
}

#[test]
fn reasons_by_hand() {
    let (plate, thin) = (StockClass::new("1/8 in"), StockClass::new("16 ga"));
    let seller = Seller { name: "yard".to_owned(), ..Seller::default() };
    let sheets = vec![
        (sheet("wrong gauge", (300.0, 100.0), 10, &thin), offer(Some(0))),
        (sheet("narrow", (300.0, 40.0), 10, &plate), offer(Some(0))),
        (sheet("good", (300.0, 60.0), 100, &plate), offer(Some(0))),
        (sheet("small", (150.0, 60.0), 10, &plate), offer(Some(0))),
        (sheet("dear", (400.0, 60.0), 900, &plate), offer(Some(0))),
    ];
    let parts = vec![part("bar", (110.0, 50.0), 2, &plate)];
    let market = market(parts, sheets, vec![seller], Clearances::new(1.0, WEB, MARGIN).unwrap());
    let decision = decide(&market, &settings(), |_| ControlFlow::Continue(())).unwrap();
    let verdicts: Vec<&Verdict> = decision.verdicts.iter().flatten().collect();
    assert_eq!(*verdicts[0], Verdict::OtherStock);
    assert_eq!(*verdicts[1], Verdict::HoldsNoPart { part: 0, misfit: Misfit::TooNarrow(14.0) });
    assert_eq!(*verdicts[2], Verdict::InChoice(0));
    // Two bars take 2 x (113 x 53 less rounded corners); the small one gives 149 x 59.
    let Verdict::AreaShort(by) = *verdicts[3] else { panic!("{:?}", verdicts[3]) };
    let rounded = (4.0 - std::f64::consts::PI) * 1.5 * 1.5;
    let exact = 2.0 * (113.0 * 53.0 - rounded) - 149.0 * 59.0;
    assert!(by <= exact && by > exact - 40.0, "{by} for {exact}");
    assert_eq!(*verdicts[4], Verdict::InChoice(1));
    assert_eq!(decision.choices[0].bill.total, Money::from_coins(100));
    assert_eq!(decision.lower_bound, Some(Money::from_coins(100)));
}

/// Delivery and minimum orders decide between one seller and two.
#[test]
fn fees_turn_the_choice() {
    let class = StockClass::new("plate");
    let build = |delivery: i64, minimum: i64| {
        let sellers = vec![
            Seller { name: "near".to_owned(), ..Seller::default() },
            Seller {
                name: "far".to_owned(),
                delivery: Money::from_coins(delivery),
                minimum_order: Money::from_coins(minimum),
            },
        ];
        let sheets = vec![
            (sheet("near", (260.0, 60.0), 500, &class), offer(Some(0))),
            (sheet("far", (260.0, 60.0), 300, &class), offer(Some(1))),
        ];
        let parts = vec![part("bar", (110.0, 50.0), 2, &class)];
        market(parts, sheets, sellers, Clearances::new(1.0, WEB, MARGIN).unwrap())
    };
    for (delivery, minimum, bought, total) in
        [(0, 0, 1, 300), (199, 0, 1, 499), (201, 0, 0, 500), (0, 499, 1, 499), (0, 501, 0, 500), (100, 450, 0, 500)]
    {
        let decision = decide(&build(delivery, minimum), &settings(), |_| ControlFlow::Continue(())).unwrap();
        let best = &decision.choices[0];
        assert_eq!((best.bought[0].sheet, best.bill.total.coins()), (bought, total), "{delivery} and {minimum}");
        let fees: Money = best.bill.fees.iter().map(crate::Fee::amount).sum();
        assert_eq!(best.bill.metal + best.bill.charges + fees, best.bill.total);
        assert_eq!(decision.lower_bound, Some(best.bill.total));
    }
}

#[test]
fn what_cannot_be_done_is_told() {
    let class = StockClass::new("plate");
    let sheets = vec![(sheet("small", (150.0, 60.0), 10, &class), offer(None))];
    let parts = vec![part("bar", (110.0, 50.0), 2, &class)];
    let market = market(parts, sheets, Vec::new(), Clearances::new(1.0, WEB, MARGIN).unwrap());
    let decision = decide(&market, &settings(), |_| ControlFlow::Continue(())).unwrap();
    assert!(decision.choices.is_empty());
    assert_eq!(decision.shortfalls, [(class, None)]);
    assert!(matches!(decision.verdicts[0], Some(Verdict::AreaShort(_))));
    assert_eq!(decision.lower_bound, None);
}

#[test]
fn the_same_seed_and_rounds_decide_the_same() {
    let market = bars(3);
    let once = decide(&market, &settings(), |_| ControlFlow::Continue(())).unwrap();
    let again = decide(&market, &Settings { threads: 2, ..settings() }, |_| ControlFlow::Continue(())).unwrap();
    assert_eq!(once, again);
}
