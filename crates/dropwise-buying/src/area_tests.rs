//! Choices reduced to areas, against a general solver of integer programmes.

use dropwise_model::{Clearances, Money, SheetUse, StockClass};
use good_lp::{Expression, Solution, SolverModel, constraint, microlp, variable, variables};

use crate::arbitrary::{Chance, market, offer, part, sheet};
use crate::items::View;
use crate::proof::{Attempt, BuyingError, Prover};
use crate::search::Search;
use crate::sets::{ALL, Set};
use crate::{Market, Settings, Source};

/// Takes a set to hold its class when it has the area, and buys no piece that can be left out.
struct AreaProver;

impl Prover for AreaProver {
    fn attempt(
        &mut self,
        view: &View<'_>,
        class: usize,
        set: &Set,
        free: Option<usize>,
        _: u64,
    ) -> Result<Attempt, BuyingError> {
        assert_eq!(free, None);
        let needed = view.classes[class].needed;
        let area = |sheet: usize| view.sheets[sheet].area;
        let job = view.market.job();
        let mut pieces: Vec<usize> = Vec::new();
        for &(sheet, count) in set {
            let most = (needed / area(sheet)).ceil() as u32;
            pieces.extend(std::iter::repeat_n(sheet, if count == ALL { most } else { count.min(most) } as usize));
        }
        pieces.sort_by_key(|&sheet| job.sheets()[sheet].price);
        let mut whole: f64 = pieces.iter().map(|&sheet| area(sheet)).sum();
        if whole < needed {
            return Ok(Attempt { uses: Vec::new(), metal: Money::ZERO, missing: 1, is_cut_short: false });
        }
        for index in (0..pieces.len()).rev() {
            if whole - area(pieces[index]) >= needed {
                whole -= area(pieces[index]);
                pieces.remove(index);
            }
        }
        let metal = pieces.iter().map(|&sheet| job.sheets()[sheet].price).sum();
        let uses = pieces.into_iter().map(|sheet| SheetUse { sheet, length: None, placements: Vec::new() }).collect();
        Ok(Attempt { uses, metal, missing: 0, is_cut_short: false })
    }

    fn allow(&mut self, _: f64) {}

    fn spent(&self) -> std::time::Duration {
        std::time::Duration::ZERO
    }

    fn is_over(&mut self, _: usize, _: Option<Money>, _: Option<Money>) -> bool {
        false
    }
}

/// Two classes, up to fourteen offers of up to four sellers, some of which come in pairs; no rack, no clearances.
fn chosen_by_chance(seed: u64) -> Market {
    let mut chance = Chance::new(seed);
    let sellers = chance.sellers(4);
    let classes = [StockClass::new("plate"), StockClass::new("sheet")];
    let class_count = chance.whole(1, 2) as usize;
    let mut parts = Vec::new();
    let mut sheets = Vec::new();
    for (index, class) in classes.iter().take(class_count).enumerate() {
        parts.push(part(&format!("part {index}"), (10.0, 10.0), chance.whole(20, 60) as u32, class));
        for number in 0..chance.whole(4, 7) {
            let (length, width) = (chance.whole(10, 60) as f64, chance.whole(10, 60) as f64);
            let price = (length * width * chance.whole(60, 140) as f64 / 100.0) as i64;
            let mut one = sheet(&format!("offer {index}.{number}"), (length, width), price, class);
            one.quantity = Some(chance.whole(1, 2) as u32);
            let seller = if chance.is_so(0.2) { None } else { Some(chance.whole(0, 3) as usize) };
            sheets.push((one, offer(seller)));
        }
    }
    market(parts, sheets, sellers, Clearances::new(0.0, 0.0, 0.0).unwrap())
}

/// The least cost of covering the areas, by branch and bound over linear programmes; `None` when it cannot be done.
fn by_integer_programme(market: &Market) -> Option<f64> {
    let job = market.job();
    let mut problem = variables!();
    let pieces: Vec<_> = (job.sheets().iter())
        .map(|sheet| problem.add(variable().integer().min(0).max(f64::from(sheet.quantity.unwrap()))))
        .collect();
    let orders: Vec<_> = market.sellers().iter().map(|_| problem.add(variable().binary())).collect();
    let top_ups: Vec<_> = market.sellers().iter().map(|_| problem.add(variable().min(0))).collect();
    let mut cost = Expression::from(0.0);
    for (sheet, &piece) in job.sheets().iter().zip(&pieces) {
        cost += sheet.price.coins() as f64 * piece;
    }
    for (index, seller) in market.sellers().iter().enumerate() {
        cost += seller.delivery.coins() as f64 * orders[index] + top_ups[index];
    }
    let mut model = problem.minimise(cost.clone()).using(microlp);
    for part in job.parts() {
        let needed = part.shape.area() * f64::from(part.quantity);
        let mut area = Expression::from(0.0);
        for (sheet, &piece) in job.sheets().iter().zip(&pieces).filter(|(sheet, _)| sheet.class == part.class) {
            area += sheet.shape.area() * piece;
        }
        model = model.with(constraint!(area >= needed));
    }
    for (index, seller) in market.sellers().iter().enumerate() {
        let mut goods = Expression::from(0.0);
        for (at, source) in market.sources().iter().enumerate() {
            if matches!(source, Source::Offer { seller: Some(seller), .. } if *seller == index) {
                goods += job.sheets()[at].price.coins() as f64 * pieces[at];
                let most = f64::from(job.sheets()[at].quantity.unwrap());
                model = model.with(constraint!(pieces[at] <= most * orders[index]));
            }
        }
        let minimum = seller.minimum_order.coins() as f64;
        model = model.with(constraint!(top_ups[index] + goods >= minimum * orders[index]));
    }
    let solution = model.solve().ok()?;
    Some(solution.eval(cost))
}

/// Source of the referee: microlp, a general solver of mixed integer programmes, by way of good_lp.
#[test]
fn the_cheapest_choice_by_area_is_that_of_an_integer_programme() {
    let (mut solved, mut impossible) = (0, 0);
    for seed in 0..150 {
        let market = chosen_by_chance(seed);
        // Nothing is sifted out, so that the search has to see for itself.
        let view = View::of(&market);
        let settings = Settings { most_tries: 100_000, time_limit: None, ..Settings::default() };
        let mut prover = AreaProver;
        let mut search = Search::new(&view, &settings, &mut prover);
        search.run().unwrap();
        let found = search.together(|_| true).first().map(|best| best.bill.total.coins());
        match by_integer_programme(&market) {
            Some(least) => {
                let found = found.unwrap_or_else(|| panic!("seed {seed}: nothing found, but {least} is possible"));
                assert!((found as f64 - least).abs() < 1e-3, "seed {seed}: {found} found, {least} is least");
                let bound = search.lower_bound().unwrap_or_else(|| panic!("seed {seed}: no bound")).coins();
                // With neither a rack nor clearances the bound counts whole pieces and fees: it is the optimum.
                assert_eq!(bound, found, "seed {seed}");
                solved += 1;
            }
            None => {
                assert_eq!(found, None, "seed {seed}");
                assert_eq!(search.lower_bound(), None, "seed {seed}");
                impossible += 1;
            }
        }
    }
    assert!(solved > 100 && impossible > 3, "{solved} solved, {impossible} impossible");
}
