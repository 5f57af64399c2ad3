//! The whole way as somebody goes it who has read no more than the help and the README: five drops into the log, which of
//! twenty offers to buy, the nest, the cut, and the leftovers in the list with the right cost.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::rack::{json, ok};
use crate::shop::Shop;

/// A small order that the five drops cannot take: bed frames and feet of 1/8 in steel.
const JOB: &str = r#"name = "Raised beds, Plum Lane"
unit = "in"
currency = "USD"
defaults = { material = "mild steel", thickness = "1/8" }
clearances = { process = "plasma" }
leftovers = { length = 10, width = 6, worth = "0.15 per lb" }
[[parts]]
name = "side"
quantity = 3
rectangle = { width = 30, height = 11 }
[[parts]]
name = "foot"
quantity = 4
rectangle = { width = 6, height = 6 }
"#;

/// The twenty offers of the demo.
const OFFERS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data-demo/offers.csv");

fn with_five_drops() -> Shop {
    let shop = Shop::new();
    shop.write("beds.toml", JOB);
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "1/8 in", "--unit", "in"];
    let drops: [&[&str]; 5] = [
        &["--rectangle", "33 x 12 1/2", "--price", "7", "--place", "rack A", "--currency", "USD"],
        &["--rectangle", "14 x 14", "--price", "4"],
        &["--rectangle", "20 x 7", "--price", "3"],
        &["--circle", "9", "--price", "0.42 per lb"],
        &["--tape", "12, 8, 12, 8", "--diagonal", "1-3 = 14.4222"],
    ];
    for drop in drops {
        ok(shop.at_rack(&[&steel[..], drop].concat(), None));
    }
    shop
}

fn pieces(shop: &Shop) -> Vec<Value> {
    json(&ok(shop.at_rack(&["stock", "list", "--json"], None)))["pieces"].as_array().expect("a list").clone()
}

fn carried(pieces: &[Value]) -> i64 {
    pieces.iter().map(|piece| piece["cost"].as_i64().expect("coins")).sum()
}

#[test]
fn five_drops_twenty_offers_and_the_leftovers_with_their_cost() {
    let shop = with_five_drops();
    let before = pieces(&shop);
    assert_eq!(before.len(), 5);

    // Which of twenty offers?
    let buy =
        ["buy", "@beds.toml", "--offers", OFFERS, "--from-stock", "--rounds", "1", "--seconds", "60", "--out", "@plan"];
    let decision = json(&ok(shop.at_rack(&[&buy[..], &["--json"]].concat(), None)));
    let offers = decision["offers"].as_array().expect("verdicts");
    assert_eq!(offers.len(), 20, "{offers:#?}");
    for offer in offers {
        let verdict = offer["verdict"].as_str().expect("words");
        assert!(!verdict.contains("not tried") && verdict.len() < 90, "{offer}");
    }
    assert_eq!(decision["not_tried"]["offers"], 0);
    let best = &decision["choices"][0];
    let [bought] = best["buy"].as_array().expect("what to buy").as_slice() else { panic!("one offer: {best}") };
    // A side is longer than all but one drop: two more are to be had.
    assert!(decision["lower_bound"].as_i64() <= best["total"].as_i64());

    // It is bought, and added with what it cost; the twenty offers are in inches and pounds.
    let offer = bought["offer"].as_str().expect("a name");
    let list = std::fs::read_to_string(OFFERS).expect("the demo's offers");
    let row = list.lines().find(|line| line.starts_with(&format!("{offer},"))).expect("the offer's line");
    let cells: Vec<&str> = row.split(',').collect();
    let size = format!("{} x {}", cells[4], cells[5]);
    let price = if cells[8].is_empty() { format!("{} per lb", cells[9]) } else { cells[8].to_owned() };
    let add = ["stock", "add", "--material", cells[2], "--thickness", cells[3], "--unit", "in", "--rectangle", &size];
    let count = bought["count"].as_u64().expect("a count").to_string();
    ok(shop.at_rack(&[&add[..], &["--price", &price, "--supplier", cells[1], "--quantity", &count]].concat(), None));
    let stocked = pieces(&shop);

    // Nested on the rack, and cut.
    ok(shop.at_rack(&["nest", "@beds.toml", "--from-stock", "--rounds", "40", "--out", "@nested"], None));
    let plan = json(&shop.read("nested/plan.json"));
    let told = ok(shop.at_rack(&["cut", "@nested/plan.json"], None));
    let used: Vec<&str> =
        plan["sheets"].as_array().unwrap().iter().map(|sheet| sheet["tag"].as_str().unwrap()).collect();
    let planned: usize =
        plan["sheets"].as_array().unwrap().iter().map(|s| s["leftovers"].as_array().unwrap().len()).sum();
    assert!(planned > 0, "nothing is left over: {told}");

    // Each leftover is in the list and carries its share, by area, of what its sheet carried.
    let after = pieces(&shop);
    let leftovers: Vec<&Value> = after.iter().filter(|piece| piece["left_over_from"].is_string()).collect();
    assert_eq!(leftovers.len(), planned);
    assert_eq!(after.len(), stocked.len() - used.len() + planned);
    for left in &leftovers {
        let sheet =
            stocked.iter().find(|piece| piece["tag"] == left["left_over_from"]).expect("its sheet was in the rack");
        let [share, whole] = [left, &sheet].map(|piece| piece["area"].as_f64().unwrap());
        let expected = sheet["cost"].as_f64().unwrap() * share / whole;
        assert!((left["cost"].as_f64().unwrap() - expected).abs() <= 1.0, "{left} of {sheet}");
        assert!(ok(shop.at_rack(&["stock", "list"], None)).contains(left["tag"].as_str().unwrap()));
    }
    // No coin is lost: what was paid lies in the rack or was charged to the parts.
    let report = json(&ok(shop.at_rack(&["stock", "report", "--json"], None)));
    let money = |key: &str| report["money"][key].as_i64().expect("coins");
    assert_eq!((money("paid"), money("in_rack")), (carried(&stocked), carried(&after)));
    assert_eq!(money("paid"), money("in_rack") + money("parts") + money("scrapped") + money("sold"));
}

/// The same with less to type: the plan of `buy` is recorded, its sheets as bought.
#[test]
fn a_plan_with_bought_sheets_is_recorded_with_the_purchase() {
    let shop = with_five_drops();
    let before = pieces(&shop);
    shop.write(
        "yard.toml",
        "[[offers]]\nname = 'Q = 1'\nmaterial = 'mild steel'\nthickness = '1/8 in'\nlength = 33\nwidth = 24\nprice = 19\n",
    );
    let buy = ["buy", "@beds.toml", "--offers", "@yard.toml", "--from-stock", "--rounds", "1", "--out", "@plan"];
    ok(shop.at_rack(&buy, None));
    let refused = shop.at_rack(&["cut", "@plan/plan.json"], None);
    assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::BadInput, ""));
    assert!(refused.stderr.contains("not from the stock log: Q = 1"), "{}", refused.stderr);
    assert!(refused.stderr.contains("--bought") && refused.stderr.contains("--sheet"), "{}", refused.stderr);

    // As another piece than it is, or under another name.
    let tag = before[0]["tag"].as_str().unwrap();
    for (sheet, told) in [
        (format!("Q = 1={tag}"), "has not the outline of \"Q = 1\""),
        (format!("Q2={tag}"), "the plan cuts no other sheet called \"Q2\""),
        ("Q = 1".to_owned(), "`1` is not a tag"),
        ("Q".to_owned(), "\"Q\" names no tag"),
        ("Q = 1=ZZZZ".to_owned(), "ZZZZ"),
    ] {
        let refused = shop.at_rack(&["cut", "@plan/plan.json", "--sheet", &sheet], None);
        assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::BadInput, ""), "{sheet}");
        let text = refused.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(told), "{sheet}: {text}");
    }
    assert_eq!(pieces(&shop), before, "nothing was written");

    let told = ok(shop.at_rack(&["cut", "@plan/plan.json", "--bought"], None));
    let report = json(&ok(shop.at_rack(&["stock", "report", "--json"], None)));
    // By hand: the drops and 19.00 for the sheet.
    assert_eq!(report["money"]["paid"].as_i64(), Some(carried(&before) + 1900), "{told}");
    ok(shop.at_rack(&["stock", "undo"], None));
    ok(shop.at_rack(&["stock", "undo"], None));
    assert_eq!(pieces(&shop), before);

    // Or added first, and named.
    let add = ["stock", "add", "--material", "mild steel", "--thickness", "1/8 in", "--unit", "in", "--price", "19"];
    let told = ok(shop.at_rack(&[&add[..], &["--rectangle", "33 x 24"]].concat(), None));
    let sheet = format!("Q = 1={}", told.split_whitespace().next().unwrap());
    ok(shop.at_rack(&["cut", "@plan/plan.json", "--sheet", &sheet], None));
    let report = json(&ok(shop.at_rack(&["stock", "report", "--json"], None)));
    assert_eq!(report["money"]["paid"].as_i64(), Some(carried(&before) + 1900));
}

/// A plan without a piece of the log, in a shop that had no log yet.
#[test]
fn a_plan_of_bought_sheets_alone_starts_the_log_and_is_recorded_once() {
    let shop = Shop::with_job();
    ok(shop.run("nest @job.toml --rounds 1 --out @plan"));
    assert_eq!(shop.at_rack(&["cut", "@plan/plan.json"], None).exit, Exit::BadInput);
    ok(shop.at_rack(&["cut", "@plan/plan.json", "--bought"], None));
    // The log was empty, and counts in the plan's coins from then on.
    let refused = shop.at_rack(&["stock", "list", "--currency", "USD"], None);
    assert!(refused.stderr.contains("the stock log counts in EUR"), "{}", refused.stderr);
    let refused = shop.at_rack(&["cut", "@plan/plan.json", "--bought"], None);
    assert_eq!(refused.exit, Exit::BadInput, "{}", refused.stdout);
    assert!(refused.stderr.contains("it was recorded already, as event 2"), "{}", refused.stderr);
    ok(shop.at_rack(&["cut", "@plan/plan.json", "--bought", "--again"], None));
    let report = json(&ok(shop.at_rack(&["stock", "report", "--json"], None)));
    assert_eq!(report["money"]["paid"], 1900);
}

/// Weights of whole sheets in the list and in `value`.
///
/// # Source
/// Weight of a square foot by gauge: 15 U.S.C. 206 and "Steel Buyers Basics" (16 ga 2.5 lb, 11 ga 5.0 lb, galvanized 2.5
/// ounces more), so 4 x 8 ft weigh 80, 160 and 85 lb; these are nominal, at 41.82 lb per square foot and inch. The log
/// weighs by density, "Density of Metals" (rolled steel 7.85 g/cm³): 40.84 lb per square foot and inch, 2.3 % less.
#[test]
fn weights_and_values_are_those_of_handbooks() {
    let shop = Shop::new();
    for (metal, gauge) in [("mild steel", "16 ga"), ("mild steel", "11 ga"), ("galvanized steel", "16 ga")] {
        let add = ["stock", "add", "--material", metal, "--thickness", gauge, "--rectangle", "96 x 48", "--unit", "in"];
        ok(shop.at_rack(&[&add[..], &["--price", "0.50 per lb"]].concat(), None));
    }
    let list = pieces(&shop);
    let pounds = |piece: &Value| piece["weight"].as_f64().unwrap() / 0.453_592_37;
    let mut sum = 0.0;
    for (nominal, inches) in [(80.0, 0.0598), (160.0, 0.1196), (85.0, 0.0635)] {
        let by_density = 32.0 * 40.84 * inches;
        let piece = list.iter().find(|piece| (pounds(piece) / by_density - 1.0).abs() < 0.002);
        let piece = piece.unwrap_or_else(|| panic!("no piece of {by_density} lb: {list:#?}"));
        assert!((pounds(piece) / nominal - 40.84 / 41.82).abs() < 0.003, "{} lb for {nominal}", pounds(piece));
        // Half a unit of money a pound, to the coin.
        assert!((piece["cost"].as_f64().unwrap() - 50.0 * pounds(piece)).abs() <= 0.5, "{piece}");
        sum += pounds(piece);
    }
    let value = json(&ok(shop.at_rack(&["stock", "value", "--json"], None)));
    assert!((pounds(&value["total"]) - sum).abs() < 1e-6, "{value}");
    assert!((value["total"]["cost"].as_f64().unwrap() - 50.0 * sum).abs() <= 1.5, "{value}");
}

/// The shell limits how large a file may grow; what is beyond fails as on a full disk.
#[cfg(unix)]
#[test]
fn a_full_disk_ends_in_a_message_and_nothing_is_lost() {
    use std::process::Command;

    let (shop, _) = crate::rack::with_five_drops();
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    let before = pieces(&shop);
    let path = |name: &str| shop.path(name).to_str().expect("plain names").to_owned();
    let blocks = std::fs::metadata(shop.path("rack.dwsl")).expect("a log").len() / 512;
    // A hundred rows would make it grow.
    let rows: String = (0..400).map(|row| format!("bar {row},mild steel,3 mm,{},40\n", 100 + row)).collect();
    shop.write("rows.csv", format!("name,material,thickness,length,width\n{rows}"));
    let limited = |words: &[&str]| {
        let output = Command::new("sh")
            .args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\""), "sh"])
            .arg(env!("CARGO_BIN_EXE_dropwise"))
            .args(words)
            .env("DROPWISE_LOG", shop.path("rack.dwsl"))
            .output()
            .expect("the program runs");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    for words in [
        &["stock", "import", &path("rows.csv")][..],
        &["nest", &path("job.toml"), "--from-stock", "--rounds", "1", "-q", "--out", &path("large")],
    ] {
        let (code, stderr) = limited(words);
        // A plan of this size may still fit below the limit; a list of 400 does not.
        if words[0] == "stock" {
            assert_eq!(code, Some(1), "{stderr}");
            assert!(stderr.contains("no room left") && stderr.contains("rack.dwsl"), "{stderr}");
        }
        assert!(!stderr.contains("panicked"), "{stderr}");
        assert_eq!(pieces(&shop), before, "{words:?}");
    }
    // `cut` one page after the other, until it fails for want of room, or succeeds whole.
    let (code, stderr) = limited(&["cut", &path("plan/plan.json")]);
    match code {
        Some(0) => assert_ne!(pieces(&shop), before),
        _ => {
            assert_eq!(code, Some(1), "{stderr}");
            assert!(stderr.contains("no room left"), "{stderr}");
            assert_eq!(pieces(&shop), before, "half a plan was recorded");
            ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
        }
    }
}

/// What is read on a terminal is never wider than 80 columns, whatever names and numbers are in it.
#[test]
fn pages_keep_to_eighty_columns() {
    let (shop, tags) = crate::rack::with_five_drops();
    let long = "Upper shelf of the third bay behind the door of the old boiler house, left of the window";
    let add = ["stock", "add", "--material", "galvanized steel", "--thickness", "18 ga", "--quantity", "2"];
    let more =
        ["--rectangle", "12 ft x 5 ft", "--place", long, "--notes", long, "--price", "1234567.89", "--supplier", long];
    ok(shop.at_rack(&[&add[..], &more].concat(), None));
    shop.write(
        "yard.csv",
        format!(
            "name,seller,material,thickness,length,width,price,delivery\n\
             {long},{long},mild steel,11 ga,600,400,1234567.00,99999\nslim,Q,mild steel,11 ga,300,60,1,2\n"
        ),
    );
    let buy = ["buy", "@job.toml", "--offers", "@yard.csv", "--from-stock", "--rounds", "1"];
    for words in [
        &["stock", "list"][..],
        &["stock", "list", "--unit", "in", "--currency", "USD"],
        &["stock", "list", "--sort", "area", "--size", "7 x 4 in"],
        &["stock", "show", &tags[3]],
        &["stock", "history", &tags[0]],
        &["stock", "find", "--rectangle", "170 x 90"],
        &["stock", "value"],
        &["stock", "report"],
        &buy,
        &["cut", "@none.json"],
    ] {
        let run = shop.at_rack(words, None);
        for line in run.stdout.lines().chain(run.stderr.lines()) {
            assert!(line.chars().count() <= 80, "{words:?}: {} columns: {line}", line.chars().count());
        }
    }
}
