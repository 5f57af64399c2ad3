//! The stock log as somebody at the rack uses it: from five drops to a plan that was cut, and back.

use std::process::Command;

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::{Run, Shop};

const JOB: &str = r#"name = "Bench legs"
defaults = { material = "mild steel", thickness = "11 ga" }
clearances = { kerf = 2, web = 4, margin = 5 }
leftovers = { length = 150, width = 100 }
[[parts]]
name = "foot"
quantity = 2
rectangle = { width = 180, height = 150 }
"#;

pub(crate) fn ok(run: Run) -> String {
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    run.stdout
}

pub(crate) fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

/// Five drops of the invented shop. The first is the only one that both feet fit on.
pub(crate) fn with_five_drops() -> (Shop, Vec<String>) {
    let shop = Shop::new();
    shop.write("job.toml", JOB);
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "11 ga"];
    let drops: [&[&str]; 5] = [
        &["--rectangle", "600 x 200", "--price", "12.00", "--place", "rack B", "--heat", "H-40417"],
        &["--rectangle", "200 x 120", "--price", "2"],
        &["--tape", "180, 100, 180, 100", "--diagonal", "1-3 = 205.913", "--diagonal", "2-4 = 205.913"],
        &["--outline", "0,0; 150,0; 150,60; 0,160", "--damage", "30 at 20, 20"],
        &["--circle", "5 in", "--price", "0.42 per lb"],
    ];
    let mut tags = Vec::new();
    for drop in drops {
        let out = ok(shop.at_rack(&[&steel[..], drop].concat(), None));
        tags.push(out.split_whitespace().next().unwrap().to_owned());
    }
    (shop, tags)
}

fn list(shop: &Shop) -> Vec<Value> {
    json(&ok(shop.at_rack(&["stock", "list", "--json"], None)))["pieces"].as_array().unwrap().clone()
}

#[test]
fn from_five_drops_to_the_leftovers_and_back() {
    let (shop, tags) = with_five_drops();
    let before = list(&shop);
    assert_eq!(before.len(), 5);
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "3", "--out", "@plan"], None));
    let plan = json(&shop.read("plan/plan.json"));
    assert_eq!(plan["sheets"].as_array().unwrap().len(), 1);
    assert_eq!(plan["sheets"][0]["tag"], tags[0].as_str());
    let told = ok(shop.at_rack(&["cut", "@plan/plan.json", "--cause", "Monday"], None));
    assert!(told.contains("1 cut, 1 left over") && told.contains("Chalk these tags"), "{told}");
    let after = list(&shop);
    assert_eq!(after.len(), 5);
    assert!(after.iter().all(|piece| piece["tag"] != tags[0].as_str()));
    let leftover = after.iter().find(|piece| piece["left_over_from"] == tags[0].as_str()).unwrap();
    // By hand: 12.00 was paid for 600 x 200 mm; the leftover carries its share by area, to the coin.
    let share = (1200.0 * leftover["area"].as_f64().unwrap() / 120_000.0).round() as i64;
    assert_eq!(leftover["cost"], share);
    assert_eq!(leftover["details"]["heat_number"], "H-40417");
    // The same plan cannot be cut twice, and it is said why.
    let refused = shop.at_rack(&["cut", "@plan/plan.json"], None);
    assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::BadInput, ""));
    assert!(refused.stderr.contains("has changed since the plan was made: cut under plan 1"), "{}", refused.stderr);
    assert!(refused.stderr.contains("2026-03-02T00:00:00Z"), "{}", refused.stderr);
    let tag = leftover["tag"].as_str().unwrap();
    let history = ok(shop.at_rack(&["stock", "history", tag], None));
    assert!(history.contains("bought") && history.contains("left over from"), "{history}");
    // Measured again it carries what it carried; undone, all is as it was.
    ok(shop.at_rack(&["stock", "measure", tag, "--rectangle", "190 x 180"], None));
    assert_eq!(list(&shop).iter().find(|piece| piece["tag"] == tag).unwrap()["cost"], share);
    ok(shop.at_rack(&["stock", "undo"], None));
    ok(shop.at_rack(&["stock", "undo"], None));
    assert_eq!(list(&shop), before);
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
}

#[test]
fn a_plan_is_refused_when_its_sheet_was_measured_again_and_not_when_it_was_moved() {
    let (shop, tags) = with_five_drops();
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    ok(shop.at_rack(&["stock", "measure", &tags[0], "--rectangle", "590 x 200", "--cause", "tape slipped"], None));
    let refused = shop.at_rack(&["cut", "@plan/plan.json"], None).stderr;
    assert!(refused.contains("measured (event 6") && refused.contains("tape slipped"), "{refused}");
    ok(shop.at_rack(&["stock", "undo"], None));
    ok(shop.at_rack(&["stock", "move", &tags[0], "rack C"], None));
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
}

#[test]
fn a_job_that_counts_in_other_coins_is_refused() {
    let (shop, _) = with_five_drops();
    for (extra, told) in [
        (
            "currency = \"JPY\"\ncurrency_decimals = 0\n",
            "the job counts in JPY with 0 decimals, the stock log in amounts with 2",
        ),
        ("currency_decimals = 3\n", "the job counts in amounts with 3 decimals"),
    ] {
        shop.write("other.toml", format!("{extra}{JOB}"));
        let refused = shop.at_rack(&["nest", "@other.toml", "--from-stock", "--rounds", "1"], None);
        assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::BadInput, ""));
        // Told in lines that may break anywhere.
        let text = refused.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(told), "{text}");
    }
    shop.write("same.toml", format!("currency = \"USD\"\n{JOB}"));
    ok(shop.at_rack(&["nest", "@same.toml", "--from-stock", "--rounds", "1"], None));
    // Named once, the log knows it, and refuses another.
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "11 ga", "--circle", "90"];
    ok(shop.at_rack(&[&steel[..], &["--currency", "USD", "--price", "1"]].concat(), None));
    assert!(ok(shop.at_rack(&["stock", "list"], None)).contains("USD"));
    for other in [&["--currency", "EUR"][..], &["--currency-decimals", "0"]] {
        let refused = shop.at_rack(&[&["stock", "list"][..], other].concat(), None);
        assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::BadInput, ""));
        assert!(refused.stderr.contains("the stock log counts in USD with 2 decimals"), "{}", refused.stderr);
    }
    shop.write("euro.toml", format!("currency = \"EUR\"\n{JOB}"));
    let refused = shop.at_rack(&["nest", "@euro.toml", "--from-stock", "--rounds", "1"], None);
    assert_eq!(refused.exit, Exit::BadInput, "{}", refused.stderr);
}

#[test]
fn pages_at_the_rack() {
    let (shop, tags) = with_five_drops();
    let mut page = String::new();
    for words in [
        &["stock", "list"][..],
        &["stock", "list", "--unit", "in", "--currency", "USD", "--size", "7 x 4", "--sort", "area"],
        &["stock", "list", "--place", "nowhere"],
        &["stock", "show", &tags[3]],
        &["stock", "move", &tags[1], "rack A"],
        &["stock", "scrap", &tags[1], "--proceeds", "0.40", "--cause", "rusted"],
        &["stock", "history", &tags[1]],
        &["stock", "undo"],
    ] {
        page.push_str(&format!("# {}\n{}\n", words.join(" "), ok(shop.at_rack(words, None))));
    }
    insta::assert_snapshot!(page);
}

#[test]
fn wrong_words_at_the_rack() {
    let (shop, tags) = with_five_drops();
    shop.write("letter.txt", "Dear yard, three drops please.\n");
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "11 ga"];
    let mut page = String::new();
    for words in [
        &["stock", "add"][..],
        &["stock", "add", "--rectangle", "4 x 5"],
        &["stock", "add", "--material", "cheese", "--thickness", "11 ga", "--circle", "4 ells"],
        &[&steel[..], &["--rectangle", "400"]].concat(),
        &[&steel[..], &["--rectangle", "0 x 5", "--price", "ten"]].concat(),
        &[&steel[..], &["--rectangle", "4 x 5", "--circle", "4"]].concat(),
        &[&steel[..], &["--tape", "3, 4"]].concat(),
        &[&steel[..], &["--tape", "3, 4, 5, 6", "--diagonal", "1 to 3"]].concat(),
        &[&steel[..], &["--drawing", "@missing.dxf"]].concat(),
        &[&steel[..], &["--circle", "9", "--damage", "3"]].concat(),
        &[&steel[..], &["--circle", "9", "--tag", &tags[0]]].concat(),
        &["stock", "show", "7QQQ"],
        &["stock", "show", "7777 7777 7"],
        &["stock", "measure", &tags[0]],
        &["stock", "undo", "99"],
        &["stock", "list", "--unit", "ells"],
        &["stock", "list", "--thickness", "thick"],
        &["stock", "list", "--log", "@letter.txt"],
        &["stock", "list", "--log", "@none.dwsl"],
        &["cut", "@letter.txt"],
        &["cut", "@missing.json"],
    ] {
        let run = shop.at_rack(words, None);
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{words:?}");
        page.push_str(&format!("# {}\n{}\n", words.join(" "), run.stderr));
    }
    assert_eq!(list(&shop).len(), 5);
    insta::assert_snapshot!(page);
}

#[test]
fn asked_step_by_step() {
    let shop = Shop::new();
    let answers = "cheese\nmild steel\n11 ga\n1\n780\n520\n60 at 100, 100\n\nten\n9.50\nrack B\n\n\n\n\n\n\n\n\n\ny\n";
    let run = shop.at_rack(&["stock", "add"], Some(answers));
    assert!(run.stderr.contains("cheese") && run.stderr.contains("ten"), "{}", run.stderr);
    ok(run);
    let piece = &list(&shop)[0];
    assert_eq!((piece["cost"].as_i64(), piece["details"]["place"].as_str()), (Some(950), Some("rack B")));
    let gone = shop.at_rack(&["stock", "add"], Some("mild steel\n"));
    assert!(gone.exit == Exit::BadInput && gone.stderr.contains("nothing was written down"), "{}", gone.stderr);
    assert_eq!(list(&shop).len(), 1);
}

/// The stock sqlite3 program, or Python's module where it is missing, finds nothing wrong in the file.
#[test]
fn another_program_finds_the_file_sound() {
    let (shop, _) = with_five_drops();
    let path = shop.path("rack.dwsl");
    let sqlite = Command::new("sqlite3").arg(&path).arg("PRAGMA integrity_check; SELECT count(*) FROM sheet;").output();
    let output = sqlite.unwrap_or_else(|_| {
        let script = "import sqlite3, sys; c = sqlite3.connect(sys.argv[1]); \
            print(c.execute('PRAGMA integrity_check').fetchone()[0]); print(c.execute('SELECT count(*) FROM sheet').fetchone()[0])";
        Command::new("python3").args(["-c", script]).arg(&path).output().expect("sqlite3 or python3 is there")
    });
    assert_eq!(String::from_utf8_lossy(&output.stdout).trim(), "ok\n5");
}

/// Two terminals write at once, as processes of their own: nothing is lost.
#[test]
fn two_terminals_at_once() {
    let shop = Shop::new();
    let writers: Vec<_> = (0..2)
        .map(|_| {
            let log = shop.path("rack.dwsl");
            std::thread::spawn(move || {
                for _ in 0..15 {
                    let words = ["stock", "add", "--material", "5052", "--thickness", "2 mm", "--circle", "90"];
                    let output =
                        Command::new(env!("CARGO_BIN_EXE_dropwise")).args(words).env("DROPWISE_LOG", &log).output();
                    let output = output.unwrap();
                    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
                }
            })
        })
        .collect();
    writers.into_iter().for_each(|writer| writer.join().unwrap());
    let mut tags: Vec<String> = list(&shop).iter().map(|piece| piece["tag"].to_string()).collect();
    tags.dedup();
    assert_eq!(tags.len(), 30);
}

/// The program itself is killed at random moments: each piece whose tag was printed is there, and the file is sound.
#[cfg(unix)]
#[test]
fn the_program_is_killed_while_it_writes() {
    use std::process::Stdio;
    use std::time::Duration;

    let shop = Shop::new();
    let log = shop.path("rack.dwsl");
    let (mut promised, mut kills) = (Vec::new(), 0);
    for round in 0..60_u64 {
        let words = ["stock", "add", "--material", "5052", "--thickness", "2 mm", "--circle", "90"];
        let mut command = Command::new(env!("CARGO_BIN_EXE_dropwise"));
        command.args(words).env("DROPWISE_LOG", &log).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        // Spread over the few milliseconds that a run takes.
        std::thread::sleep(Duration::from_micros(round * 2_654_435_761 % 12_000));
        let is_over = child.try_wait().unwrap().is_some();
        kills += usize::from(!is_over);
        let _ = child.kill();
        let output = child.wait_with_output().unwrap();
        promised.extend(String::from_utf8_lossy(&output.stdout).split_whitespace().next().map(str::to_owned));
    }
    assert!(kills > 10, "{kills}");
    ok(shop.at_rack(&["stock", "add", "--material", "5052", "--thickness", "2 mm", "--circle", "90"], None));
    let there: Vec<String> = list(&shop).iter().map(|piece| piece["tag"].as_str().unwrap().to_owned()).collect();
    for tag in &promised {
        assert!(there.contains(tag), "{tag} was promised");
    }
}

/// Totals of the list against Python's csv module, which shares no code with what wrote it.
#[test]
fn carried_out_and_in_again() {
    let (shop, _) = with_five_drops();
    let csv = ok(shop.at_rack(&["stock", "export"], None));
    let log = ok(shop.at_rack(&["stock", "export", "json"], None));
    shop.write("rack.csv", &csv);
    shop.write("log.json", &log);
    let script = "import csv, sys; rows = list(csv.DictReader(open(sys.argv[1]))); \
        print(len(rows), sum(int(r['cost_coins']) for r in rows), round(sum(float(r['area_mm2']) for r in rows), 3))";
    let output = Command::new("python3").args(["-c", script]).arg(shop.path("rack.csv")).output().unwrap();
    let pieces = list(&shop);
    let cost: i64 = pieces.iter().map(|piece| piece["cost"].as_i64().unwrap()).sum();
    let area: f64 = pieces.iter().map(|piece| piece["area"].as_f64().unwrap()).sum();
    let words = String::from_utf8(output.stdout).unwrap();
    let numbers: Vec<f64> = words.split_whitespace().map(|word| word.parse().unwrap()).collect();
    assert_eq!((numbers[0], numbers[1]), (5.0, cost as f64));
    assert!((numbers[2] - area).abs() < 1e-2);
    for (file, verb) in [("@rack.csv", "export"), ("@log.json", "export json")] {
        let words: Vec<&str> = ["stock"].into_iter().chain(verb.split(' ')).chain(["--log", "@other.dwsl"]).collect();
        ok(shop.at_rack(&["stock", "import", file, "--dry-run", "--log", "@other.dwsl"], None));
        assert!(!shop.path("other.dwsl").exists());
        ok(shop.at_rack(&["stock", "import", file, "--log", "@other.dwsl"], None));
        assert_eq!(ok(shop.at_rack(&words, None)), if verb == "export" { csv.clone() } else { log.clone() });
        std::fs::remove_file(shop.path("other.dwsl")).unwrap();
    }
}

#[test]
fn rejected_lines_are_named_and_nothing_is_written() {
    let (shop, _) = with_five_drops();
    let head = "name,material,thickness,length,width,quantity\n";
    shop.write("good.csv", format!("{head}old drop,mild steel,11 ga,300,200,2\n"));
    shop.write("bad.csv", format!("{head}a,mild steel,11 ga,300,200,1\nb,cheese,11 ga,300,200,1\nc,5052,3 mm,0,9,1\n"));
    let refused = shop.at_rack(&["stock", "import", "@bad.csv", "--dry-run"], None);
    assert_eq!(refused.exit, Exit::BadInput);
    assert!(refused.stderr.contains("bad.csv:3") && refused.stderr.contains("bad.csv:4"), "{}", refused.stderr);
    assert_eq!(shop.at_rack(&["stock", "import", "@bad.csv"], None).exit, Exit::BadInput);
    assert_eq!(list(&shop).len(), 5);
    ok(shop.at_rack(&["stock", "import", "@good.csv"], None));
    assert_eq!(list(&shop).iter().filter(|piece| piece["details"]["notes"] == "old drop").count(), 2);
}
