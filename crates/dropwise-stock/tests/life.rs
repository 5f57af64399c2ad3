//! The life of metal in the log, step by step.

mod common;

use common::*;
use dropwise_model::Money;
use dropwise_shop::{Material, Thickness, weight::to_pounds};
use dropwise_stock::{
    CutRefusal, Details, EventNumber, Filter, Measurement, Misses, Order, Origin, Receipt, Role, Source, State,
    StockError, StockFault, Tag, UndoRefusal,
};

fn fault<T: std::fmt::Debug>(result: Result<T, StockError>) -> StockFault {
    let error = result.unwrap_err();
    assert!(!error.cure().is_empty());
    *error.fault
}

#[test]
fn a_drop_is_bought_moved_measured_and_scrapped() {
    let clock = clock();
    let mut log = dropwise_stock::StockLog::in_memory(clock.clone()).unwrap();
    let tag = buy_one(&mut log, steel(762.0, 514.35, 950));
    let bought = log.sheet(tag).unwrap();
    assert_eq!((bought.state, bought.cost), (State::InRack, Money::from_coins(950)));
    assert_eq!(bought.origin, Origin::Bought { paid: Money::from_coins(950) });
    // Steel Buyers Basics: 11 ga is 5.0 lb/ft² by the gauge book, 41.82/40.8 above true weight; 30 x 20.25 in.
    let expected = 5.0 * 40.8 / 41.82 * (30.0 * 20.25 / 144.0);
    assert!((to_pounds(bought.details.weight()) - expected).abs() < 0.03, "{}", to_pounds(bought.details.weight()));

    clock.advance(60);
    log.relocate(tag, "rack B", "spring clean").unwrap();
    let moved = log.sheet(tag).unwrap();
    assert_eq!((moved.details.place.as_str(), moved.revision), ("rack B", bought.revision));
    assert_eq!(moved.last_event, EventNumber(2));

    let found = Measurement { shape: rectangle(0.0, 0.0, 760.0, 510.0), damage: vec![], thickness_mm: Some(3.1) };
    log.measure(tag, found.clone(), "").unwrap();
    log.measure(tag, Measurement { thickness_mm: None, ..found }, "").unwrap();
    let measured = log.sheet(tag).unwrap();
    assert_eq!((measured.details.measured_mm, measured.cost), (Some(3.1), bought.cost));
    assert_eq!(measured.revision, EventNumber(3), "measuring the same again changes nothing");
    assert_eq!(measured.details.class(), bought.details.class());
    assert!((measured.details.weight() - 760.0 * 510.0 * 3.1 * 7.85e-6).abs() < 1e-9);

    log.scrap(tag, Some(Money::from_coins(120)), "bent").unwrap();
    let refused = fault(log.relocate(tag, "rack C", ""));
    let StockFault::NotInRack { state: State::Scrapped, by: Some(by), .. } = refused else { panic!("{refused:?}") };
    assert_eq!((by.words.as_str(), by.cause.as_str()), ("scrapped", "bent"));
    assert_sound(&log);
}

#[test]
fn a_cut_shares_the_money_by_area_to_the_coin() {
    let mut log = log();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1001));
    let sheet = log.sheet(tag).unwrap();
    let receipt = log.record_cut(&cut_plan(vec![plan(&sheet, 0.3, &[0.25, 0.25])]), "").unwrap();
    let costs: Vec<i64> = receipt.tags.iter().map(|&tag| log.sheet(tag).unwrap().cost.coins()).collect();
    // A quarter of 1001 is 250.25, the other half 500.5: the odd coin goes to the largest remainder.
    assert_eq!(costs, [250, 250]);
    let cut = log.sheet(tag).unwrap();
    assert_eq!((cut.state, cut.cost.coins()), (State::Cut, 501));
    let leftover = log.sheet(receipt.tags[0]).unwrap();
    assert_eq!(leftover.origin, Origin::LeftOver { from: tag });
    assert_eq!((leftover.purchase, leftover.details.class()), (tag, cut.details.class()));

    // Cut again: the money follows.
    let again = log.record_cut(&cut_plan(vec![plan(&leftover, 0.5, &[0.5])]), "").unwrap();
    let grandchild = log.sheet(again.tags[0]).unwrap();
    assert_eq!(grandchild.cost.coins(), 125);
    let history = log.history(grandchild.tag).unwrap();
    assert_eq!(history.descent, [grandchild.tag, leftover.tag, tag]);
    let roles: Vec<(Tag, Role)> = history.entries.iter().map(|entry| (entry.tag, entry.role)).collect();
    assert_eq!(
        roles,
        [
            (tag, Role::Bought),
            (tag, Role::Cut),
            (leftover.tag, Role::LeftOver),
            (leftover.tag, Role::Cut),
            (grandchild.tag, Role::LeftOver)
        ]
    );
    let words = history.entries[4].event.summary(grandchild.tag).words;
    assert_eq!(words, format!("left over from {}, cut under plan 2, \"tool shed\"", leftover.tag));
    assert_sound(&log);
}

#[test]
fn a_plan_is_refused_when_a_sheet_was_changed_or_used_and_says_by_what() {
    let mut log = log();
    let tags: Vec<Tag> = (0..4).map(|_| buy_one(&mut log, steel(1000.0, 500.0, 1000))).collect();
    let planned: Vec<_> = tags.iter().map(|&tag| plan(&log.sheet(tag).unwrap(), 0.5, &[0.5])).collect();
    log.relocate(tags[0], "by the saw", "").unwrap();
    let found = Measurement { shape: rectangle(0.0, 0.0, 990.0, 500.0), damage: vec![], thickness_mm: None };
    log.measure(tags[1], found, "tape").unwrap();
    log.sell(tags[2], Money::from_coins(900), "to the neighbour").unwrap();
    log.undo(Some(EventNumber(4)), "wrong sheet").unwrap();
    let before = log.sheets(None).unwrap();

    let refused = fault(log.record_cut(&cut_plan(planned.clone()), ""));
    let StockFault::CutRefused { reasons } = refused else { panic!("{refused:?}") };
    let by: Vec<String> = reasons
        .iter()
        .map(|reason| match reason {
            CutRefusal::Changed { tag, by, .. } => {
                format!("{}: {}", tags.iter().position(|other| other == tag).unwrap(), by[0])
            }
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(
        by,
        [
            "1: measured (event 6, 2026-03-01T00:00:00Z: tape)",
            "2: sold (event 7, 2026-03-01T00:00:00Z: to the neighbour)",
            "3: event 4 undone (event 8, 2026-03-01T00:00:00Z: wrong sheet)"
        ]
    );
    assert_eq!(log.sheets(None).unwrap(), before, "nothing of it is recorded");
    // Moving a sheet to the saw is no reason; the one that was moved can be cut.
    log.record_cut(&cut_plan(vec![planned[0].clone()]), "").unwrap();
    // And not twice.
    let refused = fault(log.record_cut(&cut_plan(vec![planned[0].clone()]), ""));
    assert!(refused.to_string().contains("cut under plan 1"), "{refused}");
    assert_sound(&log);
}

#[test]
fn what_cannot_come_of_a_sheet_is_refused() {
    let mut log = log();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let sheet = log.sheet(tag).unwrap();
    let good = plan(&sheet, 0.5, &[0.5]);
    let mut too_much = good.clone();
    too_much.parts_area *= 1.1;
    let mut no_number = good.clone();
    no_number.parts_area = f64::NAN;
    let mut flat = good.clone();
    flat.leftovers.push(rectangle(0.0, 0.0, 100.0, 0.0));
    let mut unknown = good.clone();
    unknown.source = Source::Held { tag: Tag::numbered(5000), revision: EventNumber(1) };
    let refusals = |sheets| match fault(log_cut(&mut log, sheets)) {
        StockFault::CutRefused { reasons } => reasons,
        other => panic!("{other:?}"),
    };
    fn log_cut(
        log: &mut dropwise_stock::StockLog,
        sheets: Vec<dropwise_stock::PlannedSheet>,
    ) -> Result<Receipt, StockError> {
        log.record_cut(&cut_plan(sheets), "")
    }
    let mut refusals = refusals;
    assert_eq!(refusals(vec![]), [CutRefusal::Empty]);
    assert_eq!(refusals(vec![good.clone(), good.clone()]), [CutRefusal::Twice { tag }]);
    assert_eq!(refusals(vec![unknown]), [CutRefusal::Unknown { tag: Tag::numbered(5000) }]);
    assert!(matches!(refusals(vec![too_much])[..], [CutRefusal::Area { .. }]));
    assert!(matches!(refusals(vec![no_number])[..], [CutRefusal::Area { .. }]));
    assert!(matches!(refusals(vec![flat])[..], [CutRefusal::Details { .. }]));
    assert_eq!(log.events().unwrap().len(), 1);
}

#[test]
fn a_sheet_bought_to_be_cut_is_recorded_with_the_cut() {
    let mut log = log();
    let held = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let mut new = plan(&log.sheet(held).unwrap(), 0.5, &[0.5]);
    let old = new.clone();
    new.source = Source::Bought(Box::new(steel(1000.0, 500.0, 777)));
    let receipt = log.record_cut(&cut_plan(vec![old, new]), "").unwrap();
    assert_eq!(receipt.tags.len(), 2);
    let leftover = log.sheet(receipt.tags[1]).unwrap();
    assert_eq!(log.sheet(leftover.purchase).unwrap().origin, Origin::Bought { paid: Money::from_coins(777) });
    assert_eq!(log.events().unwrap().len(), 3);
    assert_sound(&log);
}

#[test]
fn undo_takes_back_the_last_event_and_refuses_where_others_depend() {
    let mut log = log();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let bought = log.sheet(tag).unwrap();
    let cut = log.record_cut(&cut_plan(vec![plan(&bought, 0.5, &[0.5])]), "").unwrap();
    let leftover = cut.tags[0];
    let moved = log.relocate(leftover, "rack C", "").unwrap();
    let refused = fault(log.undo(Some(cut.number), ""));
    let StockFault::CannotUndo { reason: UndoRefusal::Dependents { by }, .. } = refused else { panic!("{refused:?}") };
    assert_eq!(by.iter().map(|event| event.number).collect::<Vec<_>>(), [moved.number]);

    log.undo(None, "").unwrap();
    assert_eq!(log.sheet(leftover).unwrap().details.place, "");
    assert_eq!(log.last_standing_event().unwrap().unwrap().number, cut.number);
    let undo = log.undo(None, "not cut yet").unwrap();
    assert_eq!(log.sheet(tag).unwrap(), bought, "to the last field");
    assert!(matches!(fault(log.sheet(leftover)), StockFault::UnknownTag { by: Some(_), .. }));
    assert_eq!(log.history(leftover).unwrap().descent, [leftover, tag]);
    let entries = log.history(leftover).unwrap().entries;
    assert_eq!(entries.iter().find(|entry| entry.role == Role::Cut).unwrap().undone_by, Some(undo.number));

    for (event, wanted) in [
        (undo.number, UndoRefusal::IsUndo),
        (cut.number, UndoRefusal::Already { by: undo.number }),
        (EventNumber(99), UndoRefusal::Unknown),
    ] {
        let refused = fault(log.undo(Some(event), ""));
        assert!(matches!(refused, StockFault::CannotUndo { reason, .. } if reason == wanted));
    }
    // The plan may be recorded again: the sheet is as it was. The leftover gets the tag that may stand on it in chalk.
    let again = log.record_cut(&cut_plan(vec![plan(&bought, 0.5, &[0.5])]), "").unwrap();
    assert_eq!(again.tags[0], leftover);
    log.undo(None, "").unwrap();
    log.undo(None, "").unwrap();
    assert!(log.sheets(None).unwrap().is_empty());
    assert!(matches!(fault(log.undo(None, "")), StockFault::NothingToUndo));
    let mut taken = steel(10.0, 10.0, 1);
    taken.tag = Some(tag);
    assert!(matches!(fault(log.buy(vec![taken], "")), StockFault::TagTaken { .. }));
    assert_sound(&log);
}

#[test]
fn correcting_sets_the_price_of_what_was_bought_only() {
    let mut log = log();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let details = Details { heat_number: "H-7".to_owned(), ..log.sheet(tag).unwrap().details };
    log.correct(tag, details.clone(), Some(Money::from_coins(1200)), "invoice").unwrap();
    let sheet = log.sheet(tag).unwrap();
    assert_eq!((sheet.cost.coins(), sheet.details.heat_number.as_str()), (1200, "H-7"));
    let leftover = log.record_cut(&cut_plan(vec![plan(&sheet, 0.5, &[0.5])]), "").unwrap().tags[0];
    assert_eq!(log.sheet(leftover).unwrap().details.heat_number, "H-7");
    let refused = fault(log.correct(leftover, details.clone(), Some(Money::from_coins(1)), ""));
    assert!(matches!(refused, StockFault::NotBought { .. }));
    let refused = fault(log.correct(leftover, Details { grain_deg: Some(f64::NAN), ..details.clone() }, None, ""));
    assert!(matches!(refused, StockFault::BadDetails { .. }));
    log.correct(leftover, details, None, "").unwrap();
    assert_sound(&log);
}

#[test]
fn all_faults_of_a_purchase_are_told_and_nothing_is_written() {
    let mut log = log();
    let taken = buy_one(&mut log, steel(10.0, 10.0, 1));
    let mut twice = steel(10.0, 10.0, -5);
    twice.tag = Some(taken);
    twice.details.notes = "bell\u{7}".to_owned();
    let bent = dropwise_stock::NewSheet {
        details: Details {
            measured_mm: Some(900.0),
            ..Details::new(rectangle(0.0, 0.0, f64::INFINITY, 3.0), Material::Brass, Thickness::new(1.0).unwrap())
        },
        ..steel(1.0, 1.0, 0)
    };
    let found = log.check_purchase(&[steel(5.0, 5.0, 0), twice.clone(), bent]).unwrap();
    let told: Vec<String> = found.iter().map(|(index, fault)| format!("{index}: {fault}")).collect();
    assert_eq!(told.len(), 3, "{told:#?}");
    assert!(told[0].contains("does not print") && told[0].contains("-5 coins"), "{told:#?}");
    assert!(matches!(found[1], (1, StockFault::TagTaken { .. })));
    assert!(told[2].contains("exterior") && told[2].contains("900"), "{told:#?}");
    assert!(log.buy(vec![steel(5.0, 5.0, 0), twice], "").is_err());
    assert!(log.buy(vec![], "").is_err());
    assert_eq!(log.events().unwrap().len(), 1);
}

#[test]
fn find_rules_out_by_size_alone_and_leaves_the_rest_to_the_trial() {
    let mut log = log();
    let small = buy_one(&mut log, steel(400.0, 300.0, 1));
    let narrow = buy_one(&mut log, steel(2000.0, 86.0, 1));
    let large = buy_one(&mut log, steel(1000.0, 500.0, 1));
    let exact = buy_one(&mut log, steel(450.0, 100.0, 1));
    let part = rectangle(7.0, 7.0, 450.0, 100.0);
    let mut tried = Vec::new();
    let found = log
        .find(&part, &Filter::default(), |sheet| {
            tried.push(sheet.tag);
            sheet.tag != large
        })
        .unwrap();
    assert_eq!(found.holders.iter().map(|sheet| sheet.tag).collect::<Vec<_>>(), [exact, small]);
    // 450 mm lies askew in 400 x 300 as far as sizes tell: its diagonal is 500.
    assert_eq!(tried, [exact, small, large]);
    let why = |tag| found.others.iter().find(|(other, _)| *other == tag).map(|(_, misses)| *misses);
    assert!(matches!(why(narrow), Some(Misses::Width(by)) if (by - 14.0).abs() < 1e-6), "{found:?}");
    assert_eq!(why(large), Some(Misses::Trial));
    let none = log.find(&part, &Filter { material: Some(Material::Brass), ..Filter::default() }, |_| true).unwrap();
    assert!(none.holders.is_empty() && none.others.is_empty());
    let disc = dropwise_geometry::Shape::new(
        dropwise_geometry::Outline::circle(dropwise_geometry::Point::ORIGIN, 150.0),
        vec![],
    );
    let found = log.find(&disc, &Filter::default(), |_| true).unwrap();
    assert_eq!(found.holders.len(), 2, "a disc of 300 mm touches both sides of 300 mm");
}

#[test]
fn lists_are_filtered_and_sorted() {
    let clock = clock();
    let mut log = dropwise_stock::StockLog::in_memory(clock.clone()).unwrap();
    let old = buy_one(&mut log, steel(400.0, 300.0, 500));
    clock.set("2026-05-01");
    let plug = buy_one(&mut log, known_whole(None));
    let new = buy_one(&mut log, steel(1000.0, 500.0, 400));
    log.relocate(new, "Rack B, top", "").unwrap();
    let tags = |filter: Filter, order| -> Vec<Tag> {
        log.list(&filter, order).unwrap().iter().map(|sheet| sheet.tag).collect()
    };
    assert_eq!(tags(Filter::default(), Order::Age), [plug, old, new]);
    assert_eq!(tags(Filter::default(), Order::Area), [new, plug, old]);
    assert_eq!(tags(Filter::default(), Order::Cost), [plug, old, new]);
    assert_eq!(tags(Filter { place: Some("rack b".into()), ..Filter::default() }, Order::Place), [new, plug]);
    assert_eq!(tags(Filter { size: Some((480.0, 700.0)), ..Filter::default() }, Order::Tag), [new]);
    assert_eq!(tags(Filter { after: Some("2026-04-01".parse().unwrap()), ..Filter::default() }, Order::Tag), [new]);
    let before = Some("2026-04-01".parse().unwrap());
    assert_eq!(tags(Filter { before, ..Filter::default() }, Order::Age), [plug, old]);
    let class = Some(log.sheet(new).unwrap().details.class());
    assert_eq!(tags(Filter { class, ..Filter::default() }, Order::Age), [old, new]);
    assert_eq!(tags(Filter { state: Some(State::Sold), ..Filter::default() }, Order::Tag), []);
}

#[test]
fn figures_of_rack_and_months_by_hand() {
    let clock = clock();
    let mut log = dropwise_stock::StockLog::in_memory(clock.clone()).unwrap();
    let a = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let b = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let lying = buy_one(&mut log, steel(200.0, 100.0, 50));
    clock.set("2026-04-10");
    let cut = log.record_cut(&cut_plan(vec![plan(&log.sheet(a).unwrap(), 0.4, &[0.5])]), "").unwrap();
    let remnant = log.sheet(cut.tags[0]).unwrap();
    clock.set("2026-05-10");
    let last = log.record_cut(&cut_plan(vec![plan(&remnant, 0.5, &[0.2])]), "").unwrap().tags[0];
    log.sell(b, Money::from_coins(1100), "").unwrap();
    log.scrap(last, Some(Money::from_coins(3)), "").unwrap();
    log.undo(None, "").unwrap();
    clock.set("2027-03-01");

    let value = log.value().unwrap();
    assert_eq!((value.total.count, value.total.cost.coins()), (2, 50 + 100));
    assert!((value.total.area - 20_000.0 - 50_000.0).abs() < 1e-6);
    let [class] = value.classes.as_slice() else { panic!("one stock") };
    assert_eq!((class.remnants.count, class.class.as_str()), (1, "mild steel, 11 ga (3.04 mm, 0.120 in)"));

    let report = log.report().unwrap();
    let [march, april, may] = report.months.as_slice() else { panic!("{report:#?}") };
    assert_eq!((march.bought_count, march.bought_cost.coins(), march.yield_ratio()), (3, 2050, None));
    assert_eq!((april.new_cut, april.remnants_cut, april.remnant_share()), (1, 0, Some(0.0)));
    assert!((april.yield_ratio().unwrap() - 0.4).abs() < 1e-12);
    assert!((april.leftover_area - 250_000.0).abs() < 1e-6 && (april.scrap_area - 50_000.0).abs() < 1e-6);
    // 0.05 m² of 11 ga at 7.85 kg/m² a millimetre; 11 ga is 5.0 lb/ft² over 41.82 (Steel Buyers Basics).
    assert!((april.scrap_weight - 0.05 * 7.85 * 5.0 / 41.82 * 25.4).abs() < 1e-9);
    assert_eq!((may.new_cut, may.remnants_cut, may.remnant_share()), (0, 1, Some(1.0)));
    assert_eq!(may.proceeds.coins(), 1100, "the scrap dealer's coins were undone");
    let money = report.money;
    assert_eq!(money.paid.coins(), 2050);
    assert_eq!((money.in_rack.coins(), money.sold.coins(), money.scrapped.coins()), (150, 1000, 0));
    assert_eq!(money.in_rack + money.parts + money.scrapped + money.sold, money.paid);
    assert_eq!(report.untouched, [(lying, 365)]);
}

#[test]
fn a_clock_set_back_is_noted_and_the_order_stays() {
    let clock = clock();
    let mut log = dropwise_stock::StockLog::in_memory(clock.clone()).unwrap();
    let tag = buy_one(&mut log, steel(10.0, 10.0, 1));
    clock.set("2001-01-01");
    let receipt = log.relocate(tag, "rack A", "").unwrap();
    assert_eq!(receipt.clock_is_behind, Some("2026-03-01".parse().unwrap()));
    let receipt = log.relocate(tag, "rack B", "").unwrap();
    assert!(receipt.clock_is_behind.is_some(), "still behind the first event");
    let sheet = log.sheet(tag).unwrap();
    assert_eq!((sheet.details.place.as_str(), sheet.touched), ("rack B", "2026-03-01".parse().unwrap()));
    let events = log.events().unwrap();
    assert_eq!(events.iter().map(|event| event.is_clock_behind).collect::<Vec<_>>(), [false, true, true]);
    assert!(log.report().unwrap().untouched.is_empty());
    clock.set("2026-03-02");
    assert_eq!(log.relocate(tag, "rack C", "").unwrap().clock_is_behind, None);
    assert_sound(&log);
}

/// Chalked on what lies in the rack: the same cut gives the same tags, another cut others.
#[test]
fn what_is_left_over_again_gets_its_old_tag_back() {
    let mut log = log();
    let tag = buy_one(&mut log, steel(1000.0, 500.0, 1000));
    let sheet = log.sheet(tag).unwrap();
    let cut = |log: &mut dropwise_stock::StockLog, kept: &[f64]| {
        log.record_cut(&cut_plan(vec![plan(&sheet, 0.3, kept)]), "").unwrap().tags
    };
    let first = cut(&mut log, &[0.2, 0.4]);
    log.undo(None, "wrong drop").unwrap();
    assert_eq!(cut(&mut log, &[0.2, 0.4]), first);
    assert_sound(&log);
    log.undo(None, "again").unwrap();
    // The first of these is the same piece of metal, the second is not.
    let other = cut(&mut log, &[0.2, 0.3]);
    assert!(other[0] == first[0] && !first.contains(&other[1]), "{other:?} {first:?}");
    log.undo(None, "").unwrap();
    assert_eq!(cut(&mut log, &[0.2, 0.4]), first);
    let history = log.history(first[0]).unwrap();
    assert_eq!(history.descent, [first[0], tag]);
    let numbers: Vec<i64> = history.entries.iter().filter(|entry| entry.tag == tag).map(|e| e.event.number.0).collect();
    assert_eq!(numbers, [1, 2, 3, 4, 5, 6, 7, 8], "the cuts that were undone are told too");
    // A replay, a copy and a new table agree.
    assert_sound(&log);
    let text = log.export_json().unwrap();
    let mut copy = common::log();
    copy.import_json(&text).unwrap();
    assert_eq!(copy.export_json().unwrap(), text);
    assert_sound(&copy);
    // No other piece gets it: not when bought, nor from another sheet.
    let bought = dropwise_stock::NewSheet { tag: Some(other[1]), ..steel(10.0, 10.0, 1) };
    assert!(matches!(fault(log.buy(vec![bought], "")), StockFault::TagTaken { .. }));
    let second = log.buy(vec![steel(1000.0, 500.0, 1000)], "").unwrap().tags[0];
    let second = log.sheet(second).unwrap();
    let others = log.record_cut(&cut_plan(vec![plan(&second, 0.3, &[0.2, 0.4])]), "").unwrap().tags;
    assert!(others.iter().all(|tag| !first.contains(tag) && !other.contains(tag)));
}
