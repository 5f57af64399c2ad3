//! The log before referees that share nothing with it: the `sqlite3` program, the SQLite of Python's standard library, and totals worked out again from the exported CSV by `tests/referee.py`.

mod common;

use std::path::Path;
use std::process::Command;

use common::*;
use dropwise_geometry::{Outline, Point, Shape, Vertex};
use dropwise_model::Money;
use dropwise_shop::{Material, Thickness};
use dropwise_stock::{Details, NewSheet, StockLog};
use serde_json::Value;

/// Whether a program is there to be asked. Its absence is told, and is a failure where references are required.
fn is_there(program: &str, arguments: &[&str]) -> bool {
    let reason = match Command::new(program).args(arguments).output() {
        Ok(output) if output.status.success() => return true,
        Ok(output) => String::from_utf8_lossy(&output.stderr).into_owned(),
        Err(error) => error.to_string(),
    };
    assert!(
        std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_none_or(|value| value != "1"),
        "{program} is required here: {reason}"
    );
    #[expect(clippy::print_stderr, reason = "a skipped check must be seen")]
    {
        eprintln!("SKIPPED: comparison with {program}, which is missing: {reason}");
    }
    false
}

/// A log in which everything has happened.
fn eventful(path: &Path) -> StockLog {
    let clock = HandClock::at("2025-11-03");
    let mut log = StockLog::open(path, clock.clone()).unwrap();
    let arced = Shape::new(
        Outline::new(vec![
            Vertex::line(Point::new(0.0, 0.0)),
            Vertex::arc(Point::new(700.0, 0.0), 0.3),
            Vertex::arc(Point::new(700.0, 400.0), -0.2),
            Vertex::line(Point::new(100.0, 400.0)),
        ]),
        vec![Outline::circle(Point::new(300.0, 200.0), 60.0), Outline::rectangle(Point::new(80.0, 80.0), 50.0, 40.0)],
    );
    let odd = NewSheet {
        details: Details::new(arced, Material::Brass, Thickness::new(2.0).unwrap()),
        paid: Money::from_coins(12_345),
        tag: None,
        since: None,
    };
    let bought = log.buy(vec![steel(1219.2, 2438.4, 18_800), steel(762.0, 514.35, 950), known_whole(None), odd], "");
    let tags = bought.unwrap().tags;
    clock.advance(86_400 * 40);
    let sheet = log.sheet(tags[0]).unwrap();
    let first = log.record_cut(&cut_plan(vec![plan(&sheet, 0.37, &[0.21, 0.17, 0.05])]), "shed").unwrap();
    let remnant = log.sheet(first.tags[0]).unwrap();
    log.record_cut(&cut_plan(vec![plan(&remnant, 0.4, &[0.33])]), "gate").unwrap();
    log.relocate(first.tags[1], "rack B", "").unwrap();
    log.scrap(first.tags[2], Some(Money::from_coins(40)), "bent").unwrap();
    log.sell(tags[1], Money::from_coins(900), "").unwrap();
    log.undo(None, "changed his mind").unwrap();
    log
}

#[test]
fn the_sqlite3_program_finds_nothing_wrong() {
    if !is_there("sqlite3", &["-version"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rack.dwsl");
    let log = eventful(&path);
    let query =
        "PRAGMA integrity_check; SELECT sum(cost), max(number) FROM sheet, (SELECT max(number) AS number FROM event);";
    let output = Command::new("sqlite3").arg(&path).arg(query).output().unwrap();
    let carried = log.report().unwrap().money.paid.coins();
    let told = format!("ok\n{carried}|{}\n", log.events().unwrap().len());
    assert_eq!(String::from_utf8_lossy(&output.stdout), told, "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn another_sqlite_and_an_independent_script_agree() {
    if !is_there("python3", &["-c", "import sqlite3, csv, json, zlib"]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rack.dwsl");
    let log = eventful(&path);
    let csv = folder.path().join("rack.csv");
    std::fs::write(&csv, log.export_csv().unwrap()).unwrap();

    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/referee.py");
    let output = Command::new("python3").arg(script).arg(&path).arg(&csv).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();

    assert_eq!(told["integrity_check"], "ok");
    assert_eq!(told["foreign_key_check"], 0);
    assert_eq!(told["events"], log.events().unwrap().len());
    assert_eq!(told["bad_checksums"], 0);
    assert_eq!(told["change_refused"], true, "another program cannot change an event by mistake either");
    let money = log.report().unwrap().money;
    assert_eq!(told["paid"], money.paid.coins());
    assert_eq!(told["in_rack"], money.in_rack.coins());
    assert_eq!(told["gone"], (money.parts + money.scrapped + money.sold).coins());

    let value = log.value().unwrap();
    let classes = told["classes"].as_array().unwrap();
    assert_eq!(classes.len(), value.classes.len());
    assert_eq!(classes.len(), 3);
    for (theirs, ours) in classes.iter().zip(&value.classes) {
        let close = |name: &str, ours: f64| {
            let theirs = theirs[name].as_f64().unwrap();
            // Sums of doubles in another order, arcs by another formula: some units in the last places.
            assert!((theirs - ours).abs() <= 1e-9 * ours.abs(), "{name}: {theirs} and {ours}");
        };
        assert_eq!(theirs["material"], ours.material.name());
        assert_eq!(theirs["count"], ours.figures.count);
        assert_eq!(theirs["cost"], ours.figures.cost.coins());
        close("area", ours.figures.area);
        close("weight", ours.figures.weight);
    }
    assert_eq!(told["total_cost"], value.total.cost.coins());
}
