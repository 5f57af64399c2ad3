//! Files that are damaged, changed by hand, endless or somebody else's: what is told, and that nothing is recorded.

use dropwise_cli::Exit;
use serde_json::{Value, json};

use crate::rack::{json as parsed, ok, with_five_drops};
use crate::shop::Shop;

/// Messages longer than this are read by nobody.
const LONG_MESSAGE: usize = 20_000;

/// What is changed, and how.
type Tampering = (&'static str, fn(&mut Value));

fn refused(shop: &Shop, words: &[&str]) -> String {
    let run = shop.at_rack(words, None);
    assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{words:?}: {}", run.stderr);
    assert!(run.stderr.len() < LONG_MESSAGE, "{words:?}: {} bytes", run.stderr.len());
    run.stderr
}

fn events(shop: &Shop) -> String {
    ok(shop.at_rack(&["stock", "export", "json"], None))
}

/// Each way of changing a plan by hand is refused by the log for the reason for which it is not drawn.
#[test]
fn no_plan_is_recorded_that_would_not_be_drawn() {
    let (shop, _) = with_five_drops();
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    let before = events(&shop);
    let plan = parsed(&shop.read("plan/plan.json"));
    let tamperings: [Tampering; 9] = [
        ("a leftover off the sheet", |plan| {
            for point in plan["sheets"][0]["leftovers"][0]["outline"].as_array_mut().unwrap() {
                point[0] = json!(point[0].as_f64().unwrap() + 1000.0);
            }
        }),
        ("a part elsewhere", |plan| {
            let x = plan["sheets"][0]["placements"][0]["x"].as_f64().unwrap();
            plan["sheets"][0]["placements"][0]["x"] = json!(x + 1.0);
        }),
        ("another price", |plan| plan["sheets"][0]["price"] = json!(1)),
        ("no certificate", |plan| plan["certificate"] = json!({})),
        ("a certificate that claims less", |plan| {
            for value in plan["certificate"].as_object_mut().unwrap().values_mut() {
                match value {
                    Value::Array(list) => list.clear(),
                    Value::Number(_) => *value = json!(0),
                    _ => {}
                }
            }
        }),
        ("a sheet listed twice", |plan| {
            let sheet = plan["sheets"][0].clone();
            plan["sheets"].as_array_mut().unwrap().push(sheet);
        }),
        ("other figures", |plan| plan["sheets"][0]["net_area"] = json!(1.0)),
        ("another tag", |plan| plan["sheets"][0]["tag"] = json!("HDHN")),
        ("a larger sheet", |plan| plan["stock"][0]["shape"]["outline"][1]["x"] = json!(5000.0)),
    ];
    for (what, tamper) in tamperings {
        let mut changed = plan.clone();
        tamper(&mut changed);
        assert_ne!(changed, plan, "{what}");
        shop.write("changed.json", changed.to_string());
        let told = refused(&shop, &["cut", "@changed.json"]);
        // A tag is for the log to know; all else stands against the proof.
        if what != "another tag" {
            assert_eq!(told, refused(&shop, &["draw", "@changed.json", "--out", "@drawn"]), "{what}");
        }
        refused(&shop, &["cut", "@changed.json", "--bought"]);
        assert_eq!(events(&shop), before, "{what}");
        assert!(!shop.path("drawn").exists());
    }
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
}

/// Tags are given in the same order in every log: a plan made for one must not be recorded in another.
#[test]
fn a_plan_of_another_log_is_refused() {
    let (shop, _) = with_five_drops();
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "11 ga", "--log", "@other.dwsl"];
    ok(shop.at_rack(&[&steel[..], &["--rectangle", "700 x 300"]].concat(), None));
    let told = refused(&shop, &["cut", "@plan/plan.json", "--log", "@other.dwsl"]);
    assert!(told.contains("has not the outline") && told.contains("another stock log"), "{told}");
    ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
}

#[test]
fn a_leftover_gets_its_old_tag_back() {
    let (shop, _) = with_five_drops();
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    let first = ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
    ok(shop.at_rack(&["stock", "undo"], None));
    let second = ok(shop.at_rack(&["cut", "@plan/plan.json"], None));
    assert_eq!(first.lines().last(), second.lines().last());
    assert!(ok(shop.at_rack(&["stock", "verify"], None)).contains("The log is sound: 8 events"));
}

#[test]
fn a_list_with_a_fault_is_blamed_and_leaves_no_log_behind() {
    let shop = Shop::new();
    shop.write("bad.json", "{\n  \"format\": \"dropwise stock log\",\n  \"version\": 2,\n  \"events\": [{}]\n}");
    shop.write("bad.csv", "name,material,thickness,length,width\na,cheese,11 ga,300,200\n");
    shop.write("taken.csv", "tag,material,gauge,length_mm,width_mm,thickness_mm,cost_coins\nABC,steel,11,3,2,,1\n");
    shop.write("none.csv", "tag,material,thickness_mm,cost_coins,length_mm,width_mm\n");
    shop.write("latin.csv", b"name,material,thickness,length,width\n\xe9,mild steel,11 ga,300,200\n");
    shop.write("latin.json", b"{\"format\": \"\xe9\"}");
    let mut page = String::new();
    for file in ["@bad.json", "@bad.csv", "@taken.csv", "@none.csv", "@latin.csv", "@latin.json", "@missing.csv", "@"] {
        let told = refused(&shop, &["stock", "import", file]);
        assert!(!told.contains("rack.dwsl"), "{told}");
        assert!(!shop.path("rack.dwsl").exists(), "{file}");
        page.push_str(&format!("# {file}\n{told}\n"));
    }
    insta::assert_snapshot!(page);
}

/// A drawing that names no unit is read as a job that names the list reads it, and so as `stock add` does.
#[test]
fn a_drawing_in_a_list_is_read_in_the_unit_spoken() {
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data-demo");
    let shop = Shop::new();
    let run = shop.at_rack(&["stock", "--unit", "in", "import", &format!("{demo}/rack.csv")], None);
    assert!(run.stderr.contains("drop_6.dxf") && run.stderr.contains("in assumed"), "{}", run.stderr);
    ok(run);
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "1/8 in", "--unit", "in"];
    ok(shop.at_rack(&[&steel[..], &["--drawing", &format!("{demo}/drop_6.dxf")]].concat(), None));
    let pieces = parsed(&ok(shop.at_rack(&["stock", "list", "--material", "mild steel", "--json"], None)));
    let shapes: Vec<&Value> = pieces["pieces"].as_array().unwrap().iter().map(|p| &p["details"]["shape"]).collect();
    assert_eq!(shapes.len(), 2);
    assert_eq!(shapes[0], shapes[1]);
}

#[test]
fn a_log_speaks_the_unit_it_was_begun_in() {
    let shop = Shop::new();
    let steel = ["stock", "add", "--material", "mild steel", "--thickness", "11 ga"];
    ok(shop.at_rack(&[&steel[..], &["--rectangle", "20 x 12", "--unit", "in"]].concat(), None));
    // Neither lists nor bare numbers need it said again.
    ok(shop.at_rack(&[&steel[..], &["--rectangle", "30 x 10"]].concat(), None));
    for (words, told) in [
        (&["stock", "list"][..], "30 × 10 in"),
        (&["stock", "report"], "0.000 lb"),
        (&["stock", "value"], "lb"),
        (&["stock", "list", "--unit", "cm"], "76.2 × 25.4 cm"),
        (&["stock", "find", "--rectangle", "40 x 2"], " in"),
    ] {
        let page = shop.at_rack(words, None).stdout;
        assert!(page.contains(told), "{words:?}: {page}");
    }
    // It goes along into a copy.
    shop.write("log.json", events(&shop));
    ok(shop.at_rack(&["stock", "import", "@log.json", "--log", "@copy.dwsl"], None));
    assert!(ok(shop.at_rack(&["stock", "list", "--log", "@copy.dwsl"], None)).contains("30 × 10 in"));
}

#[test]
fn names_of_a_megabyte_are_cut() {
    let (shop, _) = with_five_drops();
    let long = "steel ".repeat(200_000);
    let row = |material: &str, rest: &str| format!("name,material,thickness,length,width,price\na,{material},{rest}\n");
    shop.write("material.csv", row(&long, "11 ga,300,200,1"));
    shop.write("thickness.csv", row("mild steel", &format!("{long} ga,300,200,1")));
    shop.write("length.csv", row("mild steel", &format!("11 ga,{long},200,1")));
    shop.write("price.csv", row("mild steel", &format!("11 ga,300,200,1 per {long}")));
    shop.write("title.csv", format!("{long},material\n1,2\n"));
    let own = |cells: &str| format!("tag,material,thickness_mm,cost_coins,length_mm,width_mm,since\n{cells}\n");
    shop.write("own-tag.csv", own(&format!("{long},mild steel,3,1,300,200,")));
    shop.write("own-material.csv", own(&format!(",{long},3,1,300,200,")));
    shop.write("own-since.csv", own(&format!(",mild steel,3,1,300,200,{long}")));
    let job = |material: &str, name: &str| {
        format!(
            "defaults = {{ material = \"{material}\", thickness = \"3 mm\" }}\nclearances = {{ process = \"laser\" }}\n\
             [[parts]]\nname = \"{name}\"\nrectangle = {{ width = 5, height = 5 }}\n\
             [[sheets]]\nname = \"drop\"\nrectangle = {{ width = 50, height = 50 }}\n"
        )
    };
    shop.write("material.toml", job(&long, "foot"));
    shop.write("name.toml", job("mild steel", &long));
    shop.write("keys.toml", format!("\"{long}\" = 1\n"));
    for file in [
        "@material.csv",
        "@thickness.csv",
        "@length.csv",
        "@price.csv",
        "@title.csv",
        "@own-tag.csv",
        "@own-material.csv",
        "@own-since.csv",
    ] {
        refused(&shop, &["stock", "import", file]);
    }
    for file in ["@material.toml", "@name.toml", "@keys.toml"] {
        refused(&shop, &["nest", file, "--rounds", "1"]);
        refused(&shop, &["check", file]);
    }
    ok(shop.at_rack(&["nest", "@job.toml", "--from-stock", "--rounds", "1", "--out", "@plan"], None));
    for keys in [&["job", "unit"][..], &["job", "weights"], &["parts", "0", "material"], &["sheets", "0", "name"]] {
        let mut plan = parsed(&shop.read("plan/plan.json"));
        let place = keys.iter().fold(&mut plan, |at, key| match key.parse::<usize>() {
            Ok(index) => &mut at[index],
            Err(_) => &mut at[*key],
        });
        *place = json!(long);
        shop.write("long.json", plan.to_string());
        refused(&shop, &["draw", "@long.json"]);
        refused(&shop, &["cut", "@long.json"]);
    }
}

#[cfg(unix)]
#[test]
fn endless_files_and_files_that_are_none() {
    let (shop, _) = with_five_drops();
    let before = events(&shop);
    for words in [
        &["stock", "import", "/dev/zero"][..],
        &["cut", "/dev/zero"],
        &["draw", "/dev/zero"],
        &["nest", "/dev/zero"],
        &["buy", "@job.toml", "--offers", "/dev/zero"],
        &["stock", "import", "/dev/null"],
        &["cut", "/dev/null"],
    ] {
        let run = shop.at_rack(words, None);
        assert_eq!(run.exit, Exit::BadInput, "{words:?}: {}", run.stderr);
    }
    assert_eq!(events(&shop), before);
    // A pipe that nobody writes to would never answer.
    let pipe = shop.path("pipe");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    shop.write("empty.dwsl", "");
    for log in ["@pipe", "/dev/null", "@empty.dwsl", "@job.toml"] {
        for words in [
            &["stock", "list"][..],
            &["stock", "undo"],
            &["stock", "verify"],
            &["stock", "add", "--material", "mild steel", "--thickness", "11 ga", "--circle", "9"],
        ] {
            let told = refused(&shop, &[words, &["--log", log]].concat());
            assert!(told.contains("no stock log: it is"), "{words:?} {log}: {told}");
        }
    }
    assert_eq!(shop.read("empty.dwsl"), "");
}

/// One bit of each page in turn, and of the pieces themselves: what is damaged is told, and what follows from the events is
/// mended.
#[test]
fn a_damaged_log_is_noticed_and_mended() {
    let (shop, tags) = with_five_drops();
    let listed = ok(shop.at_rack(&["stock", "list"], None));
    let sound = std::fs::read(shop.path("rack.dwsl")).unwrap();
    // The heat number stands in the event and in the table; the last is the table's, which was written later.
    let found: Vec<usize> =
        sound.windows(7).enumerate().filter(|(_, bytes)| bytes == b"H-40417").map(|(at, _)| at).collect();
    assert_eq!(found.len(), 2);
    let (mut mended, mut lost) = (0, 0);
    for at in found {
        let mut damaged = sound.clone();
        damaged[at] ^= 1;
        shop.write("rack.dwsl", &damaged);
        let verified = shop.at_rack(&["stock", "verify"], None);
        assert_eq!((verified.exit, verified.stdout.as_str()), (Exit::Failure, ""));
        // Nothing is written on top of what is not whole.
        let add = ["stock", "add", "--material", "5052", "--thickness", "2 mm", "--circle", "90"];
        let run = shop.at_rack(&add, None);
        assert!(run.exit == Exit::Failure && run.stderr.contains("dropwise stock verify"), "{}", run.stderr);
        let shown = shop.at_rack(&["stock", "show", &tags[0]], None);
        if verified.stderr.contains("The events are whole") {
            assert_eq!(shown.exit, Exit::Failure, "a wrong value is shown");
            assert_eq!(shop.at_rack(&["stock", "list"], None).exit, Exit::Failure);
            assert!(ok(shop.at_rack(&["stock", "verify", "--mend"], None)).contains("One fault was mended"));
            assert_eq!(ok(shop.at_rack(&["stock", "list"], None)), listed);
            ok(shop.at_rack(&add, None));
            mended += 1;
        } else {
            // The table is whole: what lies in the rack can be carried out, and into a new log.
            assert_eq!(ok(shop.at_rack(&["stock", "list"], None)), listed);
            let run = shop.at_rack(&["stock", "verify", "--mend"], None);
            assert!(run.exit == Exit::Failure, "{}", run.stdout);
            shop.write("rack.csv", ok(shop.at_rack(&["stock", "export"], None)));
            ok(shop.at_rack(&["stock", "import", "@rack.csv", "--log", "@new.dwsl"], None));
            lost += 1;
        }
    }
    assert_eq!((mended, lost), (1, 1));
}

/// Data that cannot be written is an error, also when all else was done.
#[cfg(target_os = "linux")]
#[test]
fn a_full_standard_output_is_an_error() {
    let (shop, _) = with_five_drops();
    for words in [&["stock", "list"][..], &["stock", "export"], &["stock", "verify"], &["schema", "job"]] {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_dropwise"));
        command.args(words).env("DROPWISE_LOG", shop.path("rack.dwsl")).stdout(full);
        let output = command.output().unwrap();
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{words:?}: {told}");
        assert!(told.contains("standard output cannot be written"), "{told}");
    }
}
