//! Whatever is done in whatever order: the present is what a replay makes of the events, no coin is lost, undo is the
//! inverse, and both exports bring everything back.

mod common;

use std::f64::consts::TAU;

use common::*;
use dropwise_geometry::{Isometry, Outline, Point, Shape, Vector, Vertex};
use dropwise_model::Money;
use dropwise_stock::{
    Details, Event, EventNumber, Filter, Measurement, NewSheet, State, StockFault, StockLog, StockSheet, Tag,
    read_rack_csv, replay,
};
use proptest::prelude::*;

/// Something a person does; which sheet is meant is told by a number that is taken modulo those there are.
#[derive(Clone, Debug)]
enum Deed {
    Buy { width: f64, height: f64, coins: i64, count: usize },
    BuyOdd,
    Move { which: usize, place: u8 },
    Measure { which: usize, width: f64, thickness: Option<f64> },
    Cut { which: usize, others: usize, parts: f64, kept: Vec<f64> },
    Scrap { which: usize, proceeds: Option<i64> },
    Sell { which: usize, proceeds: i64 },
    Correct { which: usize, paid: Option<i64> },
    Undo { back: Option<usize> },
    Wait { seconds: i64 },
}

fn deed() -> impl Strategy<Value = Deed> {
    let which = || 0..1000_usize;
    let fractions = prop::collection::vec(0.01..0.2_f64, 0..4);
    prop_oneof![
        3 => (1.0..3000.0_f64, 1.0..1500.0_f64, 0..200_000_i64, 1..4_usize)
            .prop_map(|(width, height, coins, count)| Deed::Buy { width, height, coins, count }),
        1 => Just(Deed::BuyOdd),
        2 => (which(), any::<u8>()).prop_map(|(which, place)| Deed::Move { which, place }),
        2 => (which(), 1.0..3000.0_f64, prop::option::of(0.5..6.0_f64))
            .prop_map(|(which, width, thickness)| Deed::Measure { which, width, thickness }),
        5 => (which(), 0..3_usize, 0.0..0.3_f64, fractions)
            .prop_map(|(which, others, parts, kept)| Deed::Cut { which, others, parts, kept }),
        1 => (which(), prop::option::of(0..5000_i64)).prop_map(|(which, proceeds)| Deed::Scrap { which, proceeds }),
        1 => (which(), 0..5000_i64).prop_map(|(which, proceeds)| Deed::Sell { which, proceeds }),
        2 => (which(), prop::option::of(0..90_000_i64)).prop_map(|(which, paid)| Deed::Correct { which, paid }),
        4 => prop::option::of(0..6_usize).prop_map(|back| Deed::Undo { back }),
        1 => (-5_000_000..9_000_000_i64).prop_map(|seconds| Deed::Wait { seconds }),
    ]
}

/// Does it; `None` when there was nothing to do it to, or it was refused.
fn act(log: &mut StockLog, clock: &HandClock, deed: &Deed) -> Option<EventNumber> {
    let held = log.sheets(Some(State::InRack)).unwrap();
    let pick = |which: usize| held.get(which.checked_rem(held.len())?).cloned();
    let done = match deed {
        Deed::Buy { width, height, coins, count } => {
            log.buy(vec![steel(*width, *height, *coins); *count], "from the yard")
        }
        Deed::BuyOdd => log.buy(vec![known_whole(None)], ""),
        Deed::Move { which, place } => log.relocate(pick(*which)?.tag, &format!("rack {place}"), "tidied"),
        Deed::Measure { which, width, thickness } => {
            let found =
                Measurement { shape: rectangle(0.0, 0.0, *width, 300.0), damage: vec![], thickness_mm: *thickness };
            log.measure(pick(*which)?.tag, found, "")
        }
        Deed::Cut { which, others, parts, kept } => {
            let mut sheets: Vec<StockSheet> = (0..=*others).filter_map(|other| pick(which + other)).collect();
            sheets.sort_by_key(|sheet| sheet.tag);
            sheets.dedup_by_key(|sheet| sheet.tag);
            // Discs are cut by their box here; less than half of it is certain to be there.
            let planned = sheets.iter().map(|sheet| plan(sheet, *parts, kept)).collect();
            log.record_cut(&cut_plan(planned), "cut")
        }
        Deed::Scrap { which, proceeds } => log.scrap(pick(*which)?.tag, proceeds.map(Money::from_coins), ""),
        Deed::Sell { which, proceeds } => log.sell(pick(*which)?.tag, Money::from_coins(*proceeds), ""),
        Deed::Correct { which, paid } => {
            let sheet = pick(*which)?;
            let details = Details { heat_number: format!("H-{which}"), ..sheet.details };
            log.correct(sheet.tag, details, paid.map(Money::from_coins), "misread")
        }
        Deed::Undo { back } => {
            let last = log.events().unwrap().len() as i64;
            log.undo(back.map(|back| EventNumber(last - back as i64)), "by mistake")
        }
        Deed::Wait { seconds } => {
            clock.advance(*seconds);
            return None;
        }
    };
    match done {
        Ok(receipt) => Some(receipt.number),
        Err(error) => {
            let is_expected = matches!(
                *error.fault,
                StockFault::CannotUndo { .. }
                    | StockFault::NothingToUndo
                    | StockFault::CutRefused { .. }
                    | StockFault::NotBought { .. }
            );
            assert!(is_expected, "{deed:?}: {error}");
            None
        }
    }
}

/// The sheets as a replay of the log's events makes them.
fn replayed(log: &StockLog) -> Vec<StockSheet> {
    replay(&log.events().unwrap()).unwrap().into_values().collect()
}

proptest! {
    // A failing case is printed and becomes a test of its own; no file beside the tests keeps it.
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn the_present_follows_from_the_events(deeds in prop::collection::vec(deed(), 1..40)) {
        let clock = clock();
        let mut log = StockLog::in_memory(clock.clone()).unwrap();
        for deed in &deeds {
            act(&mut log, &clock, deed);
            prop_assert_eq!(&log.sheets(None).unwrap(), &replayed(&log), "after {:?}", deed);
        }
        assert_sound(&log);
        // By definition undone events and their undoings may be struck out: what is left tells the same present.
        let events = log.events().unwrap();
        let undone: Vec<EventNumber> = events.iter().filter_map(undoing).collect();
        let standing = events.iter().filter(|event| undoing(event).is_none() && !undone.contains(&event.number));
        let renumbered: Vec<Event> =
            standing.zip(1..).map(|(event, number)| Event { number: EventNumber(number), ..event.clone() }).collect();
        let unnumbered = |sheets: Vec<StockSheet>| -> Vec<StockSheet> {
            let strike = |sheet| StockSheet { revision: EventNumber(0), last_event: EventNumber(0), ..sheet };
            sheets.into_iter().map(strike).collect()
        };
        let struck = replay(&renumbered).unwrap().into_values().collect();
        prop_assert_eq!(unnumbered(struck), unnumbered(log.sheets(None).unwrap()));

        let before = log.sheets(None).unwrap();
        log.rebuild().unwrap();
        prop_assert_eq!(log.sheets(None).unwrap(), before);
    }

    #[test]
    fn no_coin_is_lost(deeds in prop::collection::vec(deed(), 1..40)) {
        let clock = clock();
        let mut log = StockLog::in_memory(clock.clone()).unwrap();
        for deed in &deeds {
            act(&mut log, &clock, deed);
            let money = log.report().unwrap().money;
            prop_assert_eq!(money.in_rack + money.parts + money.scrapped + money.sold, money.paid, "after {:?}", deed);
            prop_assert_eq!(money.in_rack, log.value().unwrap().total.cost);
        }
    }

    #[test]
    fn undo_is_the_inverse(deeds in prop::collection::vec(deed(), 1..30)) {
        let clock = clock();
        let mut log = StockLog::in_memory(clock.clone()).unwrap();
        for deed in deeds.iter().filter(|deed| !matches!(deed, Deed::Undo { .. })) {
            let before = log.sheets(None).unwrap();
            if act(&mut log, &clock, deed).is_some() {
                log.undo(None, "").unwrap();
                prop_assert_eq!(log.sheets(None).unwrap(), before, "{:?}", deed);
            }
            act(&mut log, &clock, deed);
        }
        // All the way back to an empty rack.
        while log.last_standing_event().unwrap().is_some() {
            log.undo(None, "").unwrap();
        }
        prop_assert!(log.sheets(None).unwrap().is_empty());
        assert_sound(&log);
    }

    #[test]
    fn exports_bring_everything_back(deeds in prop::collection::vec(deed(), 1..30)) {
        let clock = clock();
        let mut log = StockLog::in_memory(clock.clone()).unwrap();
        for deed in &deeds {
            act(&mut log, &clock, deed);
        }
        let json = log.export_json().unwrap();
        let mut copy = common::log();
        copy.import_json(&json).unwrap();
        prop_assert_eq!(copy.export_json().unwrap(), json);
        prop_assert_eq!(copy.sheets(None).unwrap(), log.sheets(None).unwrap());
        prop_assert_eq!(copy.events().unwrap(), log.events().unwrap());
        assert_sound(&copy);

        let csv = log.export_csv().unwrap();
        let file = read_rack_csv(&csv).unwrap();
        prop_assert_eq!(&file.rejected, &[]);
        let rows: Vec<NewSheet> = file.rows.into_iter().map(|row| row.sheet).collect();
        let mut rack = common::log();
        if !rows.is_empty() {
            rack.buy(rows, "read back").unwrap();
        }
        let told = |log: &StockLog| -> Vec<(Tag, Details, Money, _)> {
            let sheets = log.sheets(Some(State::InRack)).unwrap();
            sheets.into_iter().map(|sheet| (sheet.tag, sheet.details, sheet.cost, sheet.since)).collect()
        };
        prop_assert_eq!(told(&rack), told(&log));
        prop_assert_eq!(without_descent(&rack.export_csv().unwrap()), without_descent(&csv));
    }

    /// A part that lies within a piece is never ruled out by sizes alone, whatever way it is turned.
    #[test]
    fn what_fits_is_never_ruled_out(
        (factor, turn, is_mirrored) in (0.3..=1.0_f64, 0.0..360.0_f64, any::<bool>()),
        corners in prop::collection::vec((0.3..1.0_f64, -0.4..0.4_f64), 3..12),
    ) {
        let count = corners.len() as f64;
        let vertices = corners.iter().enumerate().map(|(i, &(far, bulge))| {
            Vertex::arc(Point::ORIGIN + Vector::from_angle(i as f64 / count * TAU) * (far * 300.0), bulge)
        });
        let shape = Shape::new(Outline::new(vertices.collect()), vec![]);
        prop_assume!(shape.faults().is_empty());
        let mut log = common::log();
        let mut piece = steel(1.0, 1.0, 1);
        piece.details.shape = shape.clone();
        buy_one(&mut log, piece);
        let part = shape.scaled(factor).transformed(Isometry::new(is_mirrored, turn, 17.0, -5.0));
        let found = log.find(&part, &Filter::default(), |_| true).unwrap();
        prop_assert_eq!(found.holders.len(), 1, "{:?}", found.others);
    }

    #[test]
    fn any_text_is_a_rack_file_or_an_error(text in "\\PC{0,200}") {
        let _ = read_rack_csv(&text);
        let mut log = common::log();
        prop_assert!(log.import_json(&text).is_err());
        prop_assert!(text.parse::<Tag>().is_err() || text.len() >= 4);
    }
}

/// The event that an event takes back.
fn undoing(event: &Event) -> Option<EventNumber> {
    match event.change {
        dropwise_stock::Change::Undone { event } => Some(event),
        _ => None,
    }
}

/// A rack file without its last column, which says what a piece was left over from.
fn without_descent(csv: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(csv.as_bytes());
    let records = reader.records().map(|record| record.unwrap());
    records.map(|record| record.iter().take(record.len() - 1).map(str::to_owned).collect()).collect()
}
