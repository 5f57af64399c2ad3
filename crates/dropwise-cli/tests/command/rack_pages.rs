//! What the rack is asked for: which pieces hold a part, what it is worth, how it was used, labels; and bad days.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::rack::{json, ok, with_five_drops};
use crate::shop::{Run, Shop};

/// Told in lines that may break anywhere.
fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn tags_of(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|piece| piece["tag"].as_str().unwrap()).collect()
}

#[test]
fn a_part_is_held_by_what_is_large_enough() {
    let (shop, tags) = with_five_drops();
    let find = |words: &[&str]| json(&ok(shop.at_rack(&[&["stock", "find", "--json"], words].concat(), None)));
    // 170 x 90 mm lies on 600 x 200, 200 x 120 and 180 x 100; on the disc of 127 mm it is too long: its diagonal is 192 mm.
    let found = find(&["--rectangle", "170 x 90"]);
    assert_eq!(tags_of(&found["holders"]), [&tags[2], &tags[1], &tags[0]]);
    let disc = found["others"].as_array().unwrap().iter().find(|other| other["tag"] == tags[4].as_str()).unwrap();
    // By hand: the longest line on the part against the diameter.
    let by = disc["by"].as_f64().unwrap();
    assert!(disc["reason"] == "length" && (by - (170f64.hypot(90.0) - 127.0)).abs() < 0.05, "{disc}");
    // A margin of 10 mm takes the smallest away: 190 x 110 mm lie on 200 x 120 but not on 180 x 100.
    let found = find(&["--rectangle", "170 x 90", "--margin", "10"]);
    assert_eq!(tags_of(&found["holders"]), [&tags[1], &tags[0]]);
    // Damage is stayed out of: on the fourth piece a disc of 90 mm fits beside the rust or not at all.
    let found = find(&["--rectangle", "170 x 90", "--place", "rack B"]);
    assert_eq!((tags_of(&found["holders"]).len(), found["others"].as_array().unwrap().len()), (1, 0));
    // As a part of a job, with its clearances: 180 x 150 and a margin of 5 mm.
    let found = find(&["--job", "@job.toml"]);
    assert_eq!(tags_of(&found["holders"]), [&tags[0]]);
    let none = shop.at_rack(&["stock", "find", "--circle", "3 m"], None);
    assert_eq!(none.exit, Exit::NotAllPlaced);
    assert!(
        none.stdout.contains("No piece holds this part") && none.stdout.contains("too narrow by 2800 mm"),
        "{}",
        none.stdout
    );
}

#[test]
fn value_and_report_add_up() {
    let (shop, tags) = with_five_drops();
    let value = json(&ok(shop.at_rack(&["stock", "value", "--json"], None)));
    let list = json(&ok(shop.at_rack(&["stock", "list", "--json"], None)));
    let pieces = list["pieces"].as_array().unwrap();
    let sum = |key: &str| pieces.iter().map(|piece| piece[key].as_f64().unwrap()).sum::<f64>();
    for key in ["area", "weight", "cost"] {
        assert!((value["total"][key].as_f64().unwrap() - sum(key)).abs() < 1e-6, "{key}");
    }
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
    let report = json(&ok(shop.at_rack(&["stock", "report", "--json"], None)));
    let month = &report["months"][0];
    assert_eq!((month["month"].as_str().unwrap(), &month["new_cut"]), ("2026-03", &Value::from(1)));
    // By hand: two feet of 180 x 150 mm from 600 x 200 mm.
    assert!((month["yield"].as_f64().unwrap() - 54_000.0 / 120_000.0).abs() < 1e-6, "{month}");
    let money = |key: &str| report["money"][key].as_i64().unwrap();
    assert_eq!(money("paid"), money("in_rack") + money("parts") + money("scrapped") + money("sold"));
    let _ = tags;
}

#[test]
fn pages_about_the_rack() {
    let (shop, tags) = with_five_drops();
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
    let mut page = String::new();
    for words in [
        &["stock", "find", "--rectangle", "170 x 90"][..],
        &["stock", "find", "--circle", "4 in", "--unit", "in", "--currency", "USD"],
        &["stock", "value", "--out", "@value.svg"],
        &["stock", "report", "--out", "@report.svg"],
        &["stock", "show", &tags[3], "--out", "@drop.svg"],
        &["stock", "labels", "--out", "@labels.pdf"],
        &["stock", "labels", &tags[1], "--paper", "letter", "--out", "@one.pdf"],
    ] {
        page.push_str(&format!("# {}\n{}\n", words.join(" "), ok(shop.at_rack(words, None))));
    }
    for name in ["value.svg", "report.svg", "drop.svg"] {
        let text = shop.read(name);
        assert!(text.starts_with("<svg") && text.trim_end().ends_with("</svg>"), "{name}");
        page.push_str(&format!("# {name}\n{text}\n"));
    }
    for name in ["labels.pdf", "one.pdf"] {
        assert!(std::fs::read(shop.path(name)).unwrap().starts_with(b"%PDF"), "{name}");
    }
    insta::assert_snapshot!(page);
}

#[test]
fn wrong_words_about_the_rack() {
    let (shop, tags) = with_five_drops();
    for (words, told) in [
        (&["stock", "find"][..], "nothing is said of the form"),
        (&["stock", "find", "--job", "@none.toml"], "there is no such file"),
        (&["stock", "find", "--job", "@job.toml", "--part", "leg"], "it has no part \"leg\""),
        (&["stock", "find", "--job", "@job.toml", "--circle", "4"], "described in two ways"),
        (&["stock", "find", "--circle", "4", "--margin", "wide"], "--margin"),
        (&["stock", "find", "--circle", "4", "--part", "foot"], "--job"),
        (&["stock", "value", "--out", "@rack.dwsl"], "must end in .svg"),
        (&["stock", "show", &tags[0], "--out", "@rack.dwsl"], "must end in .svg"),
        (&["stock", "labels"], "--out"),
        (&["stock", "labels", "--out", "@rack.dwsl"], "must end in .pdf"),
        (&["stock", "labels", "7QQQ", "--out", "@a.pdf"], "7QQQ"),
        (&["stock", "labels", "--place", "nowhere", "--out", "@a.pdf"], "no piece to print a label for"),
    ] {
        let run = shop.at_rack(words, None);
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{words:?}");
        assert!(unbroken(&run.stderr).contains(told), "{words:?}: {}", run.stderr);
    }
    let run = shop.at_rack(&["stock", "value", "--out", "@none/value.svg"], None);
    assert_eq!((run.exit, run.stdout.as_str()), (Exit::Failure, ""));
    assert!(unbroken(&run.stderr).contains("cannot be written"), "{}", run.stderr);
}

/// Every verb that looks, and some that write.
const VERBS: [&[&str]; 9] = [
    &["stock", "list"],
    &["stock", "value"],
    &["stock", "report"],
    &["stock", "find", "--circle", "9"],
    &["stock", "export"],
    &["stock", "undo"],
    &["stock", "add", "--material", "mild steel", "--thickness", "11 ga", "--circle", "9"],
    &["stock", "labels", "--out", "@labels.pdf"],
    &["nest", "@job.toml", "--from-stock"],
];

fn is_refused_untouched(shop: &Shop, told: &str, cure: &str) {
    let before = std::fs::read(shop.path("rack.dwsl")).unwrap();
    for words in VERBS {
        let run: Run = shop.at_rack(words, None);
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{words:?}");
        let text = unbroken(&run.stderr);
        assert!(text.contains(told) && text.contains(cure) && text.contains("DIR/rack.dwsl"), "{words:?}: {text}");
        assert_eq!(std::fs::read(shop.path("rack.dwsl")).unwrap(), before, "{words:?}");
    }
}

#[test]
fn files_that_are_no_log_of_ours_are_left_alone() {
    let (shop, _) = with_five_drops();
    let log = std::fs::read(shop.path("rack.dwsl")).unwrap();
    // SQLite, Database File Format, section 1.3: user version at offset 60, application id at 68.
    let mut newer = log.clone();
    newer[60..64].copy_from_slice(&99_u32.to_be_bytes());
    shop.write("rack.dwsl", newer);
    is_refused_untouched(&shop, "this stock log is of version 99", "Use a newer dropwise");
    let mut foreign = log;
    foreign[68..72].copy_from_slice(&7_u32.to_be_bytes());
    shop.write("rack.dwsl", foreign);
    is_refused_untouched(&shop, "it is a database of another program", "Name another file");
    shop.write("rack.dwsl", "a letter to the yard\n".repeat(20));
    is_refused_untouched(&shop, "it is not a database", "Name another file");
}

/// Not even by the superuser of the machine that runs the tests, who becomes nobody.
#[cfg(unix)]
#[test]
fn a_log_that_may_only_be_read_can_be_looked_at() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let (shop, tags) = with_five_drops();
    let allow = |name: &str, mode: u32| {
        std::fs::set_permissions(shop.path(name), std::fs::Permissions::from_mode(mode)).unwrap();
    };
    // A copy of the program, where anybody may run it.
    std::fs::copy(env!("CARGO_BIN_EXE_dropwise"), shop.path("again")).unwrap();
    allow("again", 0o755);
    allow("rack.dwsl", 0o444);
    allow("", 0o555);
    let run = |words: &[&str]| {
        let mut command = std::process::Command::new(shop.path("again"));
        command.args(words).arg("--log").arg(shop.path("rack.dwsl")).current_dir(shop.path(""));
        if std::fs::metadata("/proc/self").is_ok_and(|me| me.uid() == 0) {
            command.uid(65534);
        }
        command.output().unwrap()
    };
    for words in [&["stock", "list"][..], &["stock", "value"], &["stock", "history", &tags[0]]] {
        let output = run(words);
        assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
    for words in [&["stock", "move", &tags[0], "rack C"][..], &["stock", "undo"], &["stock", "scrap", &tags[0]]] {
        let output = run(words);
        let told = unbroken(&String::from_utf8_lossy(&output.stderr));
        assert_eq!(output.status.code(), Some(i32::from(Exit::Failure.code())), "{words:?}: {told}");
        assert!(told.contains("read-only: nothing was written") && told.contains("the right to write"), "{told}");
    }
    allow("", 0o755);
}
