//! Metal and clocks for the tests, all of the invented shop.
#![allow(dead_code, reason = "each test program uses some of it")]

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::Money;
use dropwise_shop::{GaugeSystem, Material, Thickness};
use dropwise_stock::{Clock, CutPlan, Details, NewSheet, PlannedSheet, Source, StockLog, StockSheet, Tag, Timestamp};

/// A clock that is set by hand.
#[derive(Clone)]
pub(crate) struct HandClock(Arc<AtomicI64>);

impl HandClock {
    pub(crate) fn at(date: &str) -> Self {
        let clock = Self(Arc::default());
        clock.set(date);
        clock
    }

    pub(crate) fn set(&self, date: &str) {
        let time: Timestamp = date.parse().unwrap();
        self.0.store(time.seconds(), Ordering::SeqCst);
    }

    pub(crate) fn advance(&self, seconds: i64) {
        self.0.fetch_add(seconds, Ordering::SeqCst);
    }
}

impl Clock for HandClock {
    fn now(&self) -> Timestamp {
        Timestamp::from_seconds(self.0.load(Ordering::SeqCst))
    }
}

pub(crate) fn clock() -> HandClock {
    HandClock::at("2026-03-01")
}

pub(crate) fn log() -> StockLog {
    StockLog::in_memory(clock()).unwrap()
}

pub(crate) fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Shape {
    Shape::new(Outline::rectangle(Point::new(x, y), width, height), Vec::new())
}

/// 11 ga mild steel, bought at 10 coins for each 1,000 mm².
pub(crate) fn steel(width: f64, height: f64, coins: i64) -> NewSheet {
    let gauge = GaugeSystem::of(Material::MildSteel).gauge(11).unwrap();
    let details = Details::new(rectangle(0.0, 0.0, width, height), Material::MildSteel, gauge.into());
    NewSheet { tag: None, details, paid: Money::from_coins(coins), since: None }
}

/// A piece of which everything is known that can be, awkward texts included.
pub(crate) fn known_whole(tag: Option<Tag>) -> NewSheet {
    let shape = Shape::new(
        Outline::circle(Point::new(279.4, 279.4), 279.4),
        vec![Outline::circle(Point::new(279.4, 279.4), 31.75)],
    );
    let details = Details {
        damage: vec![Outline::rectangle(Point::new(430.0, 200.0), 100.0 / 3.0, 50.8)],
        grade: "5052-H32; \"marine\"".to_owned(),
        measured_mm: Some(1.61),
        coating: "film, one side".to_owned(),
        grain_deg: Some(90.0),
        place: "rack B,\nsecond from the top".to_owned(),
        supplier: "the yard by the canal".to_owned(),
        heat_number: "H-40417".to_owned(),
        certificate: "folder 3, page 12".to_owned(),
        photo: "photos/plug.jpg".to_owned(),
        notes: "  half a bore; ärgerlich \u{2300}  ".to_owned(),
        ..Details::new(shape, Material::Aluminium5052, Thickness::new(1.6).unwrap())
    };
    NewSheet { tag, details, paid: Money::from_coins(1999), since: Some("2025-11-30".parse().unwrap()) }
}

pub(crate) fn buy_one(log: &mut StockLog, sheet: NewSheet) -> Tag {
    log.buy(vec![sheet], "").unwrap().tags[0]
}

/// A plan that cuts the left of a rectangular sheet into parts and keeps strips of the rest, given as fractions of its
/// length.
pub(crate) fn plan(sheet: &StockSheet, parts: f64, kept: &[f64]) -> PlannedSheet {
    let bounds = sheet.details.shape.bounds();
    let (width, height) = (bounds.width(), bounds.height());
    let mut x = bounds.min.x + parts * width;
    let leftovers = kept.iter().map(|share| {
        let piece = rectangle(x, bounds.min.y, share * width, height);
        x += share * width;
        piece
    });
    let leftovers = leftovers.collect();
    let source = Source::Held { tag: sheet.tag, revision: sheet.revision };
    PlannedSheet { source, parts_area: parts * width * height, leftovers }
}

pub(crate) fn cut_plan(sheets: Vec<PlannedSheet>) -> CutPlan {
    CutPlan { name: "tool shed".to_owned(), sheets }
}

pub(crate) fn assert_sound(log: &StockLog) {
    let findings = log.check_integrity().unwrap();
    assert!(findings.is_empty(), "{findings:#?}");
}
