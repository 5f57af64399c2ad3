//! People steer a plan: they go on from an earlier one, move parts by hand, and set two plans side by side.

use dropwise_cli::Exit;
use serde_json::{Value, json};

use crate::rack::json as parsed;
use crate::shop::{JOB, Run, Shop};

/// Two kinds of parts and two drops, with room to move.
pub(crate) const TWO_DROPS: &str = r#"name = "Shed feet"
currency = "EUR"
defaults = { material = "mild steel", thickness = "3 mm", turns = [0] }
clearances = { kerf = 2, web = 4, margin = 5 }
leftovers = { length = 150, width = 100, worth = "0.20 per kg" }

[[parts]]
name = "foot"
quantity = 3
rectangle = { width = 120, height = 80 }

[[parts]]
name = "lid"
rectangle = { width = 60, height = 40 }

[[sheets]]
name = "drop 4"
rectangle = { width = 300, height = 200 }
price = 9.50

[[sheets]]
name = "drop 5"
rectangle = { width = 400, height = 300 }
price = 30
"#;

pub(crate) fn done(run: Run) -> Run {
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    run
}

/// A shop in which the job was nested to `plan`.
pub(crate) fn nested(job: &str) -> Shop {
    let shop = Shop::new();
    shop.write("job.toml", job);
    done(shop.run("nest @job.toml --rounds 3 --out @plan --quiet"));
    shop
}

pub(crate) fn plan(shop: &Shop, folder: &str) -> Value {
    parsed(&shop.read(&format!("{folder}/plan.json")))
}

fn total(plan: &Value) -> i64 {
    plan["cost"]["total"].as_i64().expect("a cost")
}

/// Words as they follow each other, wherever lines break.
pub(crate) fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_search_goes_on_from_an_earlier_plan_and_is_never_dearer() {
    let shop = nested(TWO_DROPS);
    let before = plan(&shop, "plan");
    let number = done(shop.run("prove @plan")).stdout;
    let number =
        number.split(": plan ").nth(1).expect("the plan's number").split_whitespace().next().unwrap().to_owned();
    let go_on = |options: &str| done(shop.run(&format!("nest @job.toml --go-on-from @plan --rounds 2 {options}")));
    let run = go_on("--out @next");
    assert!(
        run.stderr.starts_with(&format!("Going on from plan {number}: 4 of its 4 placements hold.\n")),
        "{}",
        run.stderr
    );
    let after = plan(&shop, "next");
    assert!(total(&after) <= total(&before));
    assert_eq!(after["provenance"]["went_on_from"], number.as_str());
    // The same on any number of threads, and from the file as well as from the folder.
    let one = go_on("--json --quiet --threads 1").stdout;
    assert_eq!(one, go_on("--json --quiet --threads 3").stdout);
    let named = done(shop.run("nest @job.toml --go-on-from @plan/plan.json --rounds 2 --json --quiet"));
    assert_eq!(one, named.stdout);
    // With no search at all the earlier plan itself is as good as any first one.
    let first = parsed(&done(shop.run("nest @job.toml --go-on-from @plan --rounds 0 --json --quiet")).stdout);
    assert!(total(&first) <= total(&before));
}

#[test]
fn parts_added_and_taken_out_keep_the_others_where_they_lie() {
    let shop = nested(TWO_DROPS);
    let before = plan(&shop, "plan");
    shop.write("job.toml", TWO_DROPS.replace("name = \"lid\"", "name = \"lid\"\nquantity = 2"));
    let run = done(shop.run("nest @job.toml --go-on-from @plan --rounds 0 --out @next"));
    assert!(run.stderr.contains("4 of its 4 placements hold"), "{}", run.stderr);
    let after = plan(&shop, "next");
    assert_eq!(after["parts"][1]["placed"], 2);
    assert!(after["unplaced"].as_array().unwrap().is_empty());
    shop.write("job.toml", TWO_DROPS.replace("name = \"lid\"", "name = \"hatch\""));
    let run = done(shop.run("nest @job.toml --go-on-from @plan --rounds 0"));
    assert!(run.stderr.contains("3 of its 4 placements hold"), "{}", run.stderr);
    assert!(
        flowing(&run.stderr).contains("- lid: the job has no such part any more; 1 part lay there"),
        "{}",
        run.stderr
    );
    // Fewer are wanted: one copy goes, and it costs no more.
    shop.write("job.toml", TWO_DROPS.replace("quantity = 3", "quantity = 2"));
    done(shop.run("nest @job.toml --go-on-from @plan --rounds 0 --out @fewer"));
    assert!(total(&plan(&shop, "fewer")) <= total(&before));
}

#[test]
fn a_sheet_that_is_gone_is_told_and_its_parts_nested_anew() {
    let shop = nested(TWO_DROPS);
    let name = plan(&shop, "plan")["sheets"][0]["name"].as_str().unwrap().to_owned();
    shop.write("job.toml", TWO_DROPS.replace(&format!("name = \"{name}\""), "name = \"drop 9\""));
    let run = done(shop.run("nest @job.toml --go-on-from @plan --rounds 2 --out @next"));
    assert!(
        flowing(&run.stderr).contains(&format!("- {name}: the job has no such sheet any more; 4 parts lay there")),
        "{}",
        run.stderr
    );
    assert!(plan(&shop, "next")["unplaced"].as_array().unwrap().is_empty());
    // Quiet says nothing of it.
    assert_eq!(done(shop.run("nest @job.toml --go-on-from @plan --rounds 0 --quiet")).stderr, "");
    for (line, told) in [
        ("nest @job.toml --go-on-from @nowhere", "there is no such file"),
        ("nest @job.toml --go-on-from @job.toml", "this is not JSON"),
    ] {
        let run = shop.run(line);
        assert_eq!(run.exit, Exit::BadInput);
        assert!(run.stderr.contains(told), "{}", run.stderr);
    }
}

/// The plan in `plan`, changed and written back.
pub(crate) fn change(shop: &Shop, change: impl FnOnce(&mut Value)) {
    let mut plan = plan(shop, "plan");
    change(&mut plan);
    shop.write("plan/plan.json", plan.to_string());
}

/// Lays the parts of the plan by hand, all on one sheet of 300 by 200 mm: three feet and a lid.
pub(crate) fn by_hand(shop: &Shop, places: [(f64, f64); 4]) {
    change(shop, |plan| {
        assert_eq!((plan["sheets"].as_array().unwrap().len(), &plan["sheets"][0]["name"]), (1, &json!("drop 4")));
        for (placement, (x, y)) in plan["sheets"][0]["placements"].as_array_mut().unwrap().iter_mut().zip(places) {
            (placement["x"], placement["y"], placement["turn_deg"]) = (json!(x), json!(y), json!(0.0));
            placement["is_flipped"] = json!(false);
        }
    });
}

const SOUND: [(f64, f64); 4] = [(5.0, 5.0), (129.0, 5.0), (5.0, 89.0), (129.0, 89.0)];

#[test]
fn a_part_moved_by_hand_is_proved_and_all_that_follows_is_made_anew() {
    let shop = nested(TWO_DROPS);
    by_hand(&shop, SOUND);
    let refused = shop.run("draw @plan --out @paper");
    assert_eq!(refused.exit, Exit::BadInput);
    assert!(
        flowing(&refused.stderr).contains("`dropwise prove PLAN --out DIR` works it out anew"),
        "{}",
        refused.stderr
    );
    let run = done(shop.run("prove @plan --out @plan"));
    assert!(run.stdout.contains("4 of 4 parts"), "{}", run.stdout);
    let proved = plan(&shop, "plan");
    assert_eq!(proved["sheets"][0]["placements"][3]["x"], 129.0);
    // By hand, a cut of 2 mm taken off: 49 by 200 remains on the right of the feet, 300 by 29 above them, 109 by 113 on the
    // right of the lid and 173 by 69 above it. None holds 150 by 100.
    assert!(proved["sheets"][0]["leftovers"].as_array().unwrap().is_empty());
    let leftover = |plan: &Value| plan["figures"]["leftover_area"].as_f64().unwrap();
    assert_eq!(leftover(&proved), 0.0);
    // The paper takes it now, and proving it once more changes nothing.
    done(shop.run("draw @plan --out @paper --quiet"));
    let again = done(shop.run("prove @plan --json --quiet")).stdout;
    assert_eq!(parsed(&again), proved);
    // Parts pushed together leave more: the lid on the left, a foot over another.
    by_hand(&shop, [(5.0, 5.0), (5.0, 89.0), (129.0, 5.0), (129.0, 89.0)]);
    let other = parsed(&done(shop.run("prove @plan --json --quiet")).stdout);
    assert_eq!(other["figures"]["net_area"], proved["figures"]["net_area"]);
    // A bound or a price written by hand is worth nothing.
    change(&shop, |plan| {
        plan["provenance"]["lower_bound"] = json!(99_999_999);
        plan["cost"]["total"] = json!(1);
        plan["certificate"]["sheets"] = json!([]);
    });
    let mended = parsed(&done(shop.run("prove @plan --json --quiet")).stdout);
    assert_eq!(mended["cost"], other["cost"]);
    assert!(mended["provenance"]["lower_bound"].as_i64().unwrap() <= total(&mended));
}

#[test]
fn what_does_not_hold_is_told_by_name_with_how_much_and_where() {
    let shop = nested(TWO_DROPS);
    let mut told = String::new();
    for (what, places) in [
        ("overlapping", [(5.0, 5.0), (115.0, 5.0), (5.0, 89.0), (150.0, 100.0)]),
        ("within the web", [(5.0, 5.0), (128.0, 5.0), (5.0, 89.0), (150.0, 100.0)]),
        ("within the margin", [(5.0, 5.0), (129.0, 5.0), (5.0, 89.0), (238.0, 100.0)]),
        ("off the sheet", [(5.0, 5.0), (129.0, 5.0), (5.0, 89.0), (290.0, 100.0)]),
    ] {
        by_hand(&shop, places);
        let run = shop.run("prove @plan --out @proved");
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{what}");
        assert!(!shop.path("proved").exists());
        told.push_str(&format!("# {what}\n{}", run.stderr));
    }
    by_hand(&shop, SOUND);
    for (what, pointer, value) in [
        ("a name forgotten", "/sheets/0/placements/0/part", json!(1)),
        ("a turn not allowed", "/sheets/0/placements/0/turn_deg", json!(90.0)),
        ("another count", "/parts/0/wanted", json!(4)),
        ("no sheet", "/sheets/0/sheet", json!(7)),
    ] {
        let sound = shop.read("plan/plan.json");
        change(&shop, |plan| *plan.pointer_mut(pointer).unwrap() = value);
        let run = shop.run("prove @plan --out @proved");
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{what}");
        told.push_str(&format!("# {what}\n{}", run.stderr));
        shop.write("plan/plan.json", sound);
    }
    insta::assert_snapshot!(told);
}

/// A plan that was nudged into an overlap is still worth going on from: the one part is laid anew.
#[test]
fn a_search_goes_on_from_a_plan_nudged_by_hand() {
    let shop = nested(TWO_DROPS);
    by_hand(&shop, [(5.0, 5.0), (115.0, 5.0), (5.0, 89.0), (150.0, 100.0)]);
    let run = done(shop.run("nest @job.toml --go-on-from @plan --rounds 0 --out @next"));
    assert!(run.stderr.contains("3 of its 4 placements hold"), "{}", run.stderr);
    assert!(
        flowing(&run.stderr).contains("- foot on drop 4: placements 0 and 1 on sheet 0 overlap by at least"),
        "{}",
        run.stderr
    );
    assert!(plan(&shop, "next")["unplaced"].as_array().unwrap().is_empty());
    // One that holds may be nudged as it likes.
    by_hand(&shop, SOUND);
    let run = done(shop.run("nest @job.toml --go-on-from @plan --rounds 0"));
    assert!(run.stderr.contains("4 of its 4 placements hold"), "{}", run.stderr);
}

/// Stock sold by length, which is searched otherwise.
#[test]
fn a_search_goes_on_from_a_length_of_coil() {
    let strip = JOB.replace("quantity = 3", "quantity = 9").replace(
        "rectangle = { width = 300, height = 200 }\nprice = 9.50",
        "strip = { width = 250, longest = \"6 m\", increment = 1 }\nprice = \"14 per m\"",
    );
    let shop = nested(&strip);
    let before = plan(&shop, "plan");
    let go_on = |options: &str| {
        let line = format!("nest @job.toml --go-on-from @plan --rounds 3 --seed 5 --json --quiet {options}");
        done(shop.run(&line)).stdout
    };
    let after = parsed(&go_on("--threads 1"));
    assert_eq!(parsed(&go_on("--threads 2")), after);
    let length = |plan: &Value| plan["sheets"][0]["length_bought"].as_f64().unwrap();
    assert!(length(&after) <= length(&before) && total(&after) <= total(&before));
}

/// The same parts by hand on the dear sheet, beside what the search found.
#[test]
fn two_plans_side_by_side() {
    let shop = nested(TWO_DROPS);
    by_hand(&shop, SOUND);
    done(shop.run("prove @plan --out @cheap --quiet"));
    change(&shop, |plan| {
        plan["sheets"][0]["sheet"] = json!(1);
        plan["sheets"][0]["name"] = json!("drop 5");
    });
    done(shop.run("prove @plan --out @dear --quiet"));
    let run = done(shop.run("compare @dear @cheap"));
    assert_eq!(run.stderr, "");
    // By hand: both drops are bought; worth and weight of what is left of drop 5 come from its own plan.
    let (dear, cheap) = (plan(&shop, "dear"), plan(&shop, "cheap"));
    let document = parsed(&done(shop.run("compare @dear @cheap --json")).stdout);
    assert_eq!(document["money"]["total"]["change"], total(&cheap) - total(&dear));
    assert_eq!(document["money"]["total"]["after"], 950);
    assert_eq!(document["sheets"]["no_longer_cut"], json!([{ "name": "drop 5", "count": 1, "parts": 4 }]));
    assert_eq!(document["sheets"]["cut_now"], json!([{ "name": "drop 4", "count": 1, "parts": 4 }]));
    assert_eq!(document["sheets"]["count"]["change"], 0);
    assert!(
        document["leftovers"]["count"]["before"].as_i64() > Some(0) && document["leftovers"]["count"]["after"] == 0
    );
    assert_eq!(document["parts"][0]["moved"], 3);
    assert_eq!(document["minutes"]["change"], 0.0, "the same cuts, as far from all edges");
    insta::assert_snapshot!(run.stdout);
    // A plan beside itself, and one that cannot be proved.
    let same = done(shop.run("compare @cheap @cheap"));
    assert!(same.stdout.ends_with("Both are the same plan.\n"), "{}", same.stdout);
    let refused = shop.run("compare @cheap @plan");
    assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::BadInput, ""));
    shop.write("job.toml", TWO_DROPS.replace("\"EUR\"", "\"USD\""));
    done(shop.run("nest @job.toml --rounds 0 --out @dollars --quiet"));
    let refused = shop.run("compare @cheap @dollars");
    assert_eq!(refused.exit, Exit::BadInput);
    assert!(
        refused.stderr.contains("its money is USD with 2 decimals, that of DIR/cheap is EUR"),
        "{}",
        refused.stderr
    );
}

/// One part moved, and one taken out: each is told, and what stayed is not.
#[test]
fn what_stayed_is_not_told() {
    let shop = nested(TWO_DROPS);
    by_hand(&shop, SOUND);
    done(shop.run("prove @plan --out @one --quiet"));
    by_hand(&shop, [SOUND[0], SOUND[1], SOUND[2], (150.0, 100.0)]);
    done(shop.run("prove @plan --out @two --quiet"));
    let run = done(shop.run("compare @one @two"));
    assert!(run.stdout.contains("lid: 1 of 1 lie elsewhere.") && !run.stdout.contains("foot: "), "{}", run.stdout);
}
