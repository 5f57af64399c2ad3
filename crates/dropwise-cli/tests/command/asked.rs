//! What people ask of a plan in the job file: held, kept to, kept clear, first or last; and what cannot be.

use dropwise_cli::Exit;
use serde_json::{Value, json};

use crate::rack::{json as parsed, ok, with_five_drops};
use crate::shop::Shop;
use crate::steering::{TWO_DROPS, by_hand, change, done, flowing, nested, plan};

/// The job with lines added to the part, and others at the end.
fn asked(part: &str, lines: &str) -> String {
    let (head, tail) = TWO_DROPS.split_once("name = \"lid\"\n").unwrap();
    format!("{head}name = \"lid\"\n{part}\n{tail}\n{lines}\n")
}

fn on_sheets(plan: &Value) -> Vec<(String, Vec<String>)> {
    let text = |value: &Value| value["name"].as_str().unwrap().to_owned();
    let sheets = plan["sheets"].as_array().unwrap().iter();
    sheets.map(|sheet| (text(sheet), sheet["placements"].as_array().unwrap().iter().map(text).collect())).collect()
}

/// The lid in the upper right corner of the drop, its left edge 65 mm from the right one of the drop.
const HELD: &str = "held = [{ on = \"drop 4\", corner = { right = 5, top = 5 } }]";

#[test]
fn what_is_held_lies_as_told() {
    let shop = nested(&asked(HELD, ""));
    let found = plan(&shop, "plan");
    let lid = found["sheets"][0]["placements"].as_array().unwrap().iter().find(|one| one["name"] == "lid").unwrap();
    assert_eq!((&lid["x"], &lid["y"], &lid["turn_deg"]), (&json!(235.0), &json!(155.0), &json!(0.0)));
    assert_eq!(found["instructions"]["held"][0]["x"], 235.0);
    let run = done(shop.run("nest @job.toml --rounds 2"));
    assert!(run.stdout.contains("As asked\n- 1 lid is held on drop 4 as told.\n"), "{}", run.stdout);
    let report = shop.read("plan/report.html");
    assert!(report.contains("1 lid is held on drop 4 as told"));
    // The same on any number of threads, also going on from an earlier plan in which it lay elsewhere.
    let free = nested(TWO_DROPS);
    free.write("job.toml", asked(HELD, ""));
    let go_on = |threads: u32| {
        let line = format!("nest @job.toml --go-on-from @plan --rounds 2 --json --quiet --threads {threads}");
        done(free.run(&line)).stdout
    };
    let one = go_on(1);
    assert_eq!(one, go_on(3));
    let lids: Vec<Value> = parsed(&one)["sheets"][0]["placements"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["name"] == "lid")
        .cloned()
        .collect();
    assert_eq!((lids.len(), &lids[0]["x"]), (1, &json!(235.0)));
}

#[test]
fn all_copies_may_be_held_and_sheets_cut_for_what_is_held_alone() {
    // On the dear drop, turned and face down; three feet fit on the other.
    let held =
        "may_flip = true\nturns = [90]\nheld = [{ on = \"drop 5\", corner = [5, 5], turn = 90, face_down = true }]";
    let shop = nested(&asked(held, ""));
    let found = plan(&shop, "plan");
    let mut sheets = on_sheets(&found);
    sheets.sort();
    let feet = vec!["foot".to_owned(); 3];
    // The drop that is cut anyhow has room for the feet too, so that no other is bought.
    assert_eq!(sheets, [("drop 5".to_owned(), [vec!["lid".to_owned()], feet].concat())]);
    let lid = &found["sheets"][0]["placements"][0];
    assert_eq!((&lid["is_flipped"], &lid["turn_deg"]), (&json!(true), &json!(90.0)));
    // Its box, 40 by 60 mm, begins at the margin.
    let corners = lid["shape"]["outline"].as_array().unwrap();
    let least = |axis: &str| corners.iter().map(|corner| corner[axis].as_f64().unwrap()).fold(f64::INFINITY, f64::min);
    assert!((least("x") - 5.0).abs() < 1e-9 && (least("y") - 5.0).abs() < 1e-9);
}

#[test]
fn a_part_is_kept_to_the_sheets_named() {
    let shop = nested(&asked("only_on = [\"drop 5\"]", ""));
    let found = plan(&shop, "plan");
    let lid = on_sheets(&found).into_iter().find(|(_, parts)| parts.contains(&"lid".to_owned())).unwrap();
    assert_eq!(lid.0, "drop 5");
    let run = done(shop.run("nest @job.toml --rounds 1"));
    assert!(run.stdout.contains("- lid goes on drop 5 only.\n"), "{}", run.stdout);
}

#[test]
fn sheets_go_first_or_last_as_told() {
    // By its price drop 4 is cut, which holds all.
    for (choice, cut, told) in [
        ("", "drop 4", None),
        ("avoid = [\"drop 4\"]", "drop 5", Some("- drop 4 is avoided, and is not cut.")),
        ("use_up = [\"drop 5\"]", "drop 5", Some("- drop 5 is to be used up first, and is cut.")),
        ("prefer = [\"drop 5\"]", "drop 4", Some("- drop 5 is preferred, but others do with less.")),
        (
            "avoid = [\"drop 4\", \"drop 5\"]",
            "drop 4",
            Some("- drop 4 was to be avoided, but nothing else was found to hold all parts."),
        ),
    ] {
        let shop = nested(&asked("", &format!("[sheet_choice]\n{choice}")));
        let found = plan(&shop, "plan");
        assert_eq!(on_sheets(&found).iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), [cut], "{choice}");
        let run = done(shop.run("nest @job.toml --rounds 2"));
        assert!(told.is_none_or(|told| flowing(&run.stdout).contains(told)), "{choice}: {}", run.stdout);
        // What it counts for is not what it costs.
        let price = if cut == "drop 4" { 950 } else { 3000 };
        assert_eq!(found["figures"]["sheets_price"], price, "{choice}");
        let bound = found["provenance"]["lower_bound"].as_i64();
        assert!(bound.is_none_or(|bound| bound <= found["cost"]["material"].as_i64().unwrap()), "{choice}");
    }
    // Nearly as cheap, and preferred.
    let near = asked("", "[sheet_choice]\nprefer = [\"drop 5\"]")
        .replace("price = 30", "price = 10")
        .replace("worth = \"0.20 per kg\"", "worth = \"0 per kg\"");
    assert_eq!(on_sheets(&plan(&nested(&near), "plan"))[0].0, "drop 5");
}

#[test]
fn nothing_lies_where_it_is_to_be_kept_clear() {
    let clear =
        "[[keep_clear]]\non = \"drop 4\"\nareas = [{ width = 120, height = 190, corner = { right = 0, top = 0 } }]";
    let shop = nested(&asked("", clear));
    let found = plan(&shop, "plan");
    for sheet in found["sheets"].as_array().unwrap().iter().filter(|sheet| sheet["name"] == "drop 4") {
        for placement in sheet["placements"].as_array().unwrap() {
            for corner in placement["shape"]["outline"].as_array().unwrap() {
                let (x, y) = (corner["x"].as_f64().unwrap(), corner["y"].as_f64().unwrap());
                assert!(x <= 176.0 + 1e-4 || y <= 6.0 + 1e-4, "{x}, {y} with a web of 4");
            }
        }
    }
    let overview = shop.read("plan/overview.svg");
    assert_eq!(overview.contains("kept clear as asked"), on_sheets(&found).iter().any(|(name, _)| name == "drop 4"));
    // Cut all the same, and told on paper.
    let only = asked("only_on = [\"drop 4\"]", clear);
    let shop = nested(&only);
    assert!(shop.read("plan/overview.svg").contains("sound, kept clear as asked"));
    let run = done(shop.run("nest @job.toml --rounds 1"));
    let line = "- 120 mm x 190 mm of drop 4 is kept clear, from 180 mm from the left and 10 mm from the bottom.";
    assert!(flowing(&run.stdout).contains(line), "{}", run.stdout);
}

/// The proof knows what was asked, whoever laid the parts.
#[test]
fn what_was_asked_is_proved_of_plans_changed_by_hand() {
    let clear =
        "[[keep_clear]]\non = \"drop 4\"\nareas = [{ width = 20, height = 20, corner = { right = 0, top = 0 } }]";
    let shop = nested(&asked("only_on = [\"drop 4\"]\nheld = [{ on = \"drop 4\", corner = [135, 95] }]", clear));
    let sound = [(5.0, 5.0), (129.0, 5.0), (5.0, 89.0), (135.0, 95.0)];
    let lay = |places: [(f64, f64); 4]| {
        change(&shop, |plan| {
            let placements = plan["sheets"][0]["placements"].as_array_mut().unwrap();
            placements.sort_by_key(|one| one["name"].as_str().unwrap().to_owned());
        });
        by_hand(&shop, places);
    };
    lay(sound);
    done(shop.run("prove @plan --quiet"));
    lay([sound[0], sound[1], sound[2], (136.0, 95.0)]);
    let run = shop.run("prove @plan");
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.stderr.contains("instructions.held[0]: of what is held on sheet 0 of the job, part 1 lies not as told: hold 0 (lid and drop 4)"), "{}", run.stderr);
    // A foot in the corner that is kept clear.
    lay([sound[0], sound[1], (175.0, 115.0), sound[3]]);
    let run = shop.run("prove @plan");
    assert!(run.stderr.contains("area 0 kept clear"), "{}", run.stderr);
    lay(sound);
    change(&shop, |plan| plan["instructions"]["kept_to"][0]["sheets"] = json!([1]));
    let run = shop.run("prove @plan");
    assert!(run.stderr.contains("hold 0 is on sheet 0, but the part is kept to others"), "{}", run.stderr);
}

#[test]
fn contradictions_are_told_before_anything_is_nested() {
    let shop = Shop::new();
    let mut told = String::new();
    let other = "\n[[sheets]]\nname = \"zinc\"\nmaterial = \"galvanized steel\"\nrectangle = { width = 300, height = 200 }\n\
                 [[sheets]]\nname = \"coil\"\nstrip = { width = 250, longest = \"6 m\" }\nprice = \"14 per m\"\n";
    let lid = |keys: &str| asked(keys, other);
    let two = |one: &str, two: &str| lid(&format!("quantity = 2\nheld = [{one}, {two}]"));
    let at = |x: f64, y: f64| format!("{{ on = \"drop 4\", corner = [{x}, {y}] }}");
    for (what, job) in [
        ("one place", two(&at(20.0, 20.0), &at(30.0, 30.0))),
        ("within the web", two(&at(20.0, 20.0), &at(82.0, 20.0))),
        ("off the sheet", lid(&format!("held = [{}]", at(280.0, 20.0)))),
        ("outside the margin", lid(&format!("held = [{}]", at(2.0, 20.0)))),
        ("too many", lid(&format!("held = [{}, {}]", at(20.0, 20.0), at(120.0, 20.0)))),
        ("a turn", lid("held = [{ on = \"drop 4\", corner = [20, 20], turn = 30 }]")),
        ("by length", lid("held = [{ on = \"coil\", corner = [20, 20] }]")),
        ("other metal", lid("held = [{ on = \"zinc\", corner = [20, 20] }]")),
        ("kept to other metal", lid("only_on = [\"drop 4\", \"zinc\"]")),
        ("too small", lid("only_on = [\"drop 4\"]").replace("width = 60, height = 40", "width = 350, height = 40")),
        ("held elsewhere", lid(&format!("only_on = [\"drop 5\"]\nheld = [{}]", at(20.0, 20.0)))),
        ("unknown", lid("only_on = [\"dorp 4\"]")),
        ("unknown and nothing like it", lid("held = [{ on = \"the moon\", corner = [1, 1] }]")),
        ("twice", asked("", "[sheet_choice]\nprefer = [\"drop 4\"]\navoid = [\"drop 4\"]")),
        ("unknown in a choice", asked("", "[sheet_choice]\nuse_up = [\"drop 44\"]")),
        (
            "clear off the sheet",
            asked("", "[[keep_clear]]\non = \"drop 4\"\nareas = [{ diameter = 20, at = [900, 20] }]"),
        ),
        (
            "held on what is clear",
            asked(
                &format!("held = [{}]", at(20.0, 20.0)),
                "[[keep_clear]]\non = \"drop 4\"\nareas = [{ diameter = 20, at = [20, 20] }]",
            ),
        ),
        ("a key", lid("held = [{ on = \"drop 4\", corner = [1, 1], angle = 90 }]")),
    ] {
        shop.write("job.toml", job);
        let run = shop.run("nest @job.toml --rounds 0 --out @never");
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{what}: {}", run.stderr);
        assert!(!shop.path("never").exists());
        told.push_str(&format!("# {what}\n{}", run.stderr));
    }
    insta::assert_snapshot!(told);
}

/// Pieces of the rack are named by their tags; a job that names none of its own sheets is still checked and bought for.
#[test]
fn pieces_of_the_rack_are_named_by_their_tags() {
    let (shop, tags) = with_five_drops();
    let job = shop.read("job.toml");
    shop.write("job.toml", format!("{job}only_on = [\"{}\"]\n[sheet_choice]\nuse_up = [\"{}\"]\n", tags[0], tags[0]));
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "2", "--out", "@plan"], None));
    assert_eq!(plan(&shop, "plan")["sheets"][0]["tag"], tags[0].as_str());
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
    // It is gone: that is told, not passed over.
    let run = shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "0"], None);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.stderr.contains(&format!("no sheet is called \"{}\"", tags[0])), "{}", run.stderr);
    ok(shop.at_rack(&["check", "@job.toml"], None));
}
