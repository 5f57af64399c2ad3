//! Markets made by chance, for tests.

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Part, Sheet, StockClass};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

use crate::{Market, Seller, Source};

pub(crate) struct Chance(Pcg64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Pcg64::seed_from_u64(seed))
    }

    pub(crate) fn whole(&mut self, least: i64, most: i64) -> i64 {
        self.0.random_range(least..=most)
    }

    pub(crate) fn is_so(&mut self, share: f64) -> bool {
        self.0.random_bool(share)
    }

    pub(crate) fn sellers(&mut self, count: usize) -> Vec<Seller> {
        let seller = |index: usize| {
            let delivery = if self.is_so(0.3) { 0 } else { self.whole(100, 1500) };
            let minimum = if self.is_so(0.5) { 0 } else { self.whole(500, 4000) };
            Seller {
                name: format!("seller {index}"),
                delivery: Money::from_coins(delivery),
                minimum_order: Money::from_coins(minimum),
            }
        };
        (0..count).map(seller).collect()
    }
}

pub(crate) fn rectangle(width: f64, height: f64) -> Shape {
    Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
}

pub(crate) fn part(name: &str, (width, height): (f64, f64), quantity: u32, class: &StockClass) -> Part {
    Part { quantity, ..Part::new(name, rectangle(width, height), class.clone()) }
}

pub(crate) fn sheet(name: &str, (width, height): (f64, f64), price: i64, class: &StockClass) -> Sheet {
    Sheet { price: Money::from_coins(price), ..Sheet::new(name, rectangle(width, height), class.clone()) }
}

pub(crate) fn offer(seller: Option<usize>) -> Source {
    Source::Offer { seller, charge: Money::ZERO, is_priced: true }
}

pub(crate) fn market(
    parts: Vec<Part>,
    sheets: Vec<(Sheet, Source)>,
    sellers: Vec<Seller>,
    clearances: Clearances,
) -> Market {
    let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
    let (sheets, sources) = sheets.into_iter().unzip();
    Market::new(Job::new(parts, sheets, clearances, rule).unwrap(), sources, sellers).unwrap()
}
