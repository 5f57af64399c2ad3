//! `flat` and `check`, and what `nest` makes of the shop checks.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::Shop;
use crate::tools;

const BRACKETS: &str = r#"name = "Shed brackets"
defaults = { material = "mild steel", thickness = "2 mm" }
clearances = { process = "laser" }
bending = { inside_radius = 2, k = 0.44 }

[[parts]]
name = "tray"
tray = { length = 200, width = 100, height = 30 }

[[parts]]
name = "plate"
rectangle = { width = 120, height = 80 }

[[sheets]]
name = "drop 4"
rectangle = { width = 600, height = 400 }
"#;

fn shop() -> Shop {
    let shop = Shop::new();
    shop.write("job.toml", BRACKETS);
    shop
}

/// By hand: each bend takes off 2 (R + T) - (π/2) (R + K T) = 8 - 4.524: 200 + 30 + 30 - 2 × 3.476 = 253.048.
#[test]
fn flat_tells_every_number() {
    let run = shop().run("flat @job.toml tray");
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""));
    assert!(run.stdout.contains("Flat 253.048 x\n153.048 mm, 0.550 kg"), "{}", run.stdout);
    assert!(run.stdout.contains("1 front     90   up   2.000  0.4400   4.524    4.000    3.476\n"), "{}", run.stdout);
    assert!(run.stdout.contains("3 back     222.524  124.786   30.524  124.786  192.000\n"), "{}", run.stdout);
    assert!(run.stdout.contains("Sum as told 260.000 less 6.952 for the bends is 253.048 flat."), "{}", run.stdout);
    assert!(run.stdout.lines().all(|line| line.chars().count() <= 80), "{}", run.stdout);
}

#[test]
fn flat_as_json_and_as_files() {
    let shop = shop();
    let run = shop.run("flat @job.toml --json --out @out");
    assert_eq!(
        (run.exit, run.stderr.as_str()),
        (Exit::Done, "Written to DIR/out: tray-flat.svg, tray-folded.svg, tray-flat.dxf.\n")
    );
    let document: Value = serde_json::from_str(&run.stdout).unwrap();
    let part = &document["parts"][0];
    let deduction = part["bends"][0]["deduction"].as_f64().unwrap();
    assert!((deduction - (8.0 - std::f64::consts::FRAC_PI_2 * 2.88)).abs() < 1e-9);
    assert_eq!(part["bending_plan"]["order"], "found");
    assert_eq!(part["bending_plan"]["steps"].as_array().map(Vec::len), Some(4));
    let dxf = shop.read("out/tray-flat.dxf");
    assert!(dxf.contains("BEND_UP") && dxf.contains("CUT"));
    assert!(shop.read("out/tray-folded.svg").starts_with("<"));
}

const LIPS: &str = r#"defaults = { material = "mild steel", thickness = "2 mm" }
clearances = { process = "laser" }
bending = { inside_radius = 2, k = 0.44 }
[[parts]]
name = "pan"
tray = { length = 300, width = 200, height = 40 }
flanges = [
    { name = "front r", on = "front", height = 18 },
    { name = "right r", on = "right", height = 18 },
    { name = "back r", on = "back", height = 18 },
    { name = "left r", on = "left", height = 18 },
]
"#;

/// Plain returns lie in one another at every corner, 18 - 4 in both directions; mitred they do not. No sheets are told.
#[test]
fn a_part_that_lies_in_itself_is_stopped_and_a_mitre_cures_it() {
    let shop = Shop::new();
    shop.write("job.toml", LIPS);
    let run = shop.run("check @job.toml");
    assert_eq!(run.exit, Exit::CannotBeMade, "{}", run.stdout);
    let told = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("lies in the same place as face"), "{}", run.stdout);
    assert!(told.contains("14 mm x 14 mm x 2 mm") && told.contains("join = \"mitred\""), "{}", run.stdout);
    for job in [
        LIPS.replace("k = 0.44", "k = 0.44, join = \"mitred\", gap = 0.5"),
        format!(
            "{LIPS}corners = [\n{}]\n",
            [("front", "right"), ("right", "back"), ("back", "left"), ("left", "front")]
                .map(|(a, b)| format!("{{ between = [\"{a} r\", \"{b} r\"], join = \"mitred\" }},\n"))
                .concat()
        ),
    ] {
        shop.write("job.toml", &job);
        let run = shop.run("check @job.toml");
        assert!(!run.stdout.contains("lies in the same place"), "{}", run.stdout);
        assert_eq!(run.exit, Exit::Done, "{}", run.stdout);
    }
}

/// A job without sheets is laid flat, checked and bought for; only nesting asks for some.
#[test]
fn no_sheets_are_needed_but_to_nest() {
    let shop = Shop::new();
    shop.write("job.toml", BRACKETS.split("[[sheets]]").next().unwrap());
    assert_eq!(shop.run("flat @job.toml tray").exit, Exit::Done);
    assert_eq!(shop.run("check @job.toml").exit, Exit::Done);
    shop.write(
        "offers.csv",
        "name,seller,material,thickness,length,width,price\nQ1,Quarry Lane,mild steel,2 mm,600,400,9\n",
    );
    let run = shop.run("buy @job.toml --offers @offers.csv --rounds 4 --quiet");
    assert_eq!(run.exit, Exit::Done, "{}{}", run.stdout, run.stderr);
    assert!(run.stdout.contains("Q1"), "{}", run.stdout);
    let run = shop.run("nest @job.toml");
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.stderr.contains("names no sheets") && run.stderr.contains("--from-stock"), "{}", run.stderr);
}

/// By the published shares of mild steel a die of 20 makes a radius of 3.16, one of 12 a radius of 1.9.
#[test]
fn flat_patterns_are_those_of_the_dies_that_are_owned() {
    let shop = Shop::new();
    let job = BRACKETS.replace("bending = { inside_radius = 2, k = 0.44 }\n", "");
    shop.write("job.toml", &job);
    shop.write("one.toml", "[brake]\ndies = [20]\n");
    let radius = |line: &str| {
        let run = shop.run(line);
        assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
        let document: Value = serde_json::from_str(&run.stdout).unwrap();
        document["parts"][0]["bends"][0]["inside_radius"].as_f64().unwrap()
    };
    assert!((radius("flat @job.toml --json") - 12.0 * (5.0 / 32.0 + 0.16) / 2.0).abs() < 1e-9);
    assert!((radius("flat @job.toml --json --shop @one.toml") - 20.0 * (5.0 / 32.0 + 0.16) / 2.0).abs() < 1e-9);
    // A die that nobody owns is told.
    shop.write(
        "job.toml",
        job.replace("[[parts]]\nname = \"tray\"", "bending = { die = 14 }\n[[parts]]\nname = \"tray\""),
    );
    let run = shop.run("check @job.toml --shop @one.toml");
    let told = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("is told for a die that the press brake does not have"), "{}", run.stdout);
    assert!(told.contains("14 mm, wanted 20 mm"), "{}", run.stdout);
}

/// A shop without a press brake, with fingers and a vise: the tray goes to the fingers.
#[test]
fn benders_of_the_shop_are_planned_for() {
    let shop = shop();
    shop.write(
        "shop.toml",
        "no_brake = true\nbenders = [{ kind = \"leaf\", lengths = [{ thickness = 2, length = 900 }] }, \
        { kind = \"box and pan\", lengths = [{ thickness = 2, length = 600 }] }]\n",
    );
    let run = shop.run("flat @job.toml tray --shop @shop.toml");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    assert!(run.stdout.contains("By hand: box-and-pan brake") && run.stdout.contains("fingers "), "{}", run.stdout);
    assert!(run.stdout.contains("By hand: leaf brake") && run.stdout.contains("left: "), "{}", run.stdout);
    assert!(run.stdout.contains("is bent on the box-and-pan brake"), "{}", run.stdout);
    assert!(run.stdout.lines().all(|line| line.chars().count() <= 80), "{}", run.stdout);

    // Without a die there is no radius that it gives: about the thickness, and a note says so.
    shop.write("radius.toml", BRACKETS.replace("bending = { inside_radius = 2, k = 0.44 }\n", ""));
    let run = shop.run("flat @radius.toml tray --json --shop @shop.toml");
    let told: Value = serde_json::from_str(&run.stdout).expect("JSON");
    assert_eq!(told["parts"][0]["bends"][0]["inside_radius"], 2.0);
    let said = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("the shop bends without punch and die"), "{said}");

    // The bend card has the same steps: walls two by two, fingers for those between walls.
    let run = shop.run("nest @job.toml --rounds 0 --shop @shop.toml --out @plan --quiet");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let plan: Value = serde_json::from_str(&shop.read("plan/plan.json")).expect("a plan");
    let by_hand = &plan["parts"][0]["by_hand"];
    assert_eq!(by_hand["bender"], "box-and-pan brake");
    let steps = by_hand["steps"].as_array().expect("steps");
    let fingers: Vec<usize> = steps.iter().map(|step| step["fingers"].as_array().expect("a list").len()).collect();
    assert_eq!((steps.len(), fingers[0], fingers[1]), (4, 0, 0));
    assert!(fingers[2] > 0 && fingers[3] > 0, "{fingers:?}");
    assert_eq!(shop.run("draw @plan --kind bendcard --quiet").exit, Exit::Done);
    let Some(pdftotext) = tools::find("pdftotext") else { return };
    let path = shop.path("plan/bend-cards.pdf");
    let output = std::process::Command::new(pdftotext).arg("-raw").arg(path).arg("-").output().expect("it starts");
    let text = String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("Steps on the box-and-pan brake") && text.contains("; fingers "), "{text}");
}

/// The plan and its pages tell each cause once, and which machine bends.
#[test]
fn plans_tell_each_cause_once_and_the_machine() {
    let shop = shop();
    shop.write("shop.toml", "shop_press = { length = 150, force = \"20 tons\" }\n");
    let run = shop.run("nest @job.toml --rounds 0 --shop @shop.toml --despite-checks --out @plan --quiet");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let plan: Value = serde_json::from_str(&shop.read("plan/plan.json")).expect("a plan");
    let part = &plan["parts"][0];
    assert_eq!(part["bending"]["machine"], "brake in the shop press");
    let findings = part["findings"].as_array().expect("findings");
    let long: Vec<&Value> = findings.iter().filter(|finding| finding["rule"] == "length of the brake").collect();
    assert_eq!(long.len(), 1, "{findings:?}");
    assert!(long[0]["problem"].as_str().is_some_and(|problem| problem.contains("2 in all")), "{}", long[0]);
}

/// What lacks a brake, a shear or hole saws is told what it can do all the same.
#[test]
fn a_shop_that_lacks_tools_is_told_what_it_makes_and_how() {
    let shop = shop();
    let said = |job: &str, own: &str| {
        shop.write("job.toml", job);
        shop.write("shop.toml", own);
        let run = shop.run("check @job.toml --shop @shop.toml");
        run.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let none = said(BRACKETS, "no_brake = true\n");
    assert!(none.contains("No press brake: flat parts are made here"), "{none}");
    let vise = said(BRACKETS, "benders = [{ kind = \"vise\" }]\nshop_press = {}\n");
    assert!(vise.contains("bends are made on the brake in the shop press and the vise with bars"), "{vise}");
    let sheared = BRACKETS.replace("\"laser\"", "\"shear\"");
    let told = said(&sheared, "cutters = [\"bandsaw\"]\n");
    assert!(told.contains("No shear: straight cuts are made with the bandsaw"), "{told}");
    let large = BRACKETS
        .replace("\"laser\"", "\"cutoff wheel\"")
        .replace("height = 80 }", "height = 80 }\nholes = [{ diameter = 40 }]");
    let told = said(&large, "drills = [6]\nhole_saws = []\n");
    assert!(told.contains("No hole saws: scribe large holes"), "{told}");
    let all = said(BRACKETS, "");
    assert!(!all.contains("No press brake:") && !all.contains("No shear:") && !all.contains("No hole saws:"), "{all}");
}

#[test]
fn check_without_stops_ends_well() {
    let run = shop().run("check @job.toml");
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""));
    assert!(run.stdout.contains("2 parts checked: 0 to stop at"), "{}", run.stdout);
    assert!(run.stdout.contains("press brake") && run.stdout.contains("licensed practice"), "{}", run.stdout);
}

#[test]
fn a_brake_that_is_too_short_stops_check_and_nest() {
    let shop = shop();
    shop.write("shop.toml", "[brake]\nlength = 150\nforce = \"40 tons\"\n");
    let run = shop.run("check @job.toml --shop @shop.toml");
    assert_eq!(run.exit, Exit::CannotBeMade);
    insta::assert_snapshot!("check_short_brake", run.stdout);
    let json: Value = serde_json::from_str(&shop.run("check @job.toml --shop @shop.toml --json").stdout).unwrap();
    let finding = &json["parts"][0]["findings"][0];
    assert_eq!((finding["severity"].as_str(), finding["wanted"]["value"].as_f64()), (Some("stop"), Some(150.0)));

    let refused = shop.run("nest @job.toml --rounds 0 --shop @shop.toml --out @plan");
    assert_eq!((refused.exit, refused.stdout.as_str()), (Exit::CannotBeMade, ""));
    let told = refused.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("longer than the press brake") && told.contains("--despite-checks"), "{told}");
    assert!(!shop.path("plan").exists());
    let forced = shop.run("nest @job.toml --rounds 0 --shop @shop.toml --despite-checks");
    assert_eq!(forced.exit, Exit::Done, "{}", forced.stderr);
}

#[test]
fn the_job_names_its_shop_file() {
    let shop = shop();
    shop.write("job.toml", format!("shop = \"shop.toml\"\n{BRACKETS}"));
    let missing = shop.run("check @job.toml");
    assert_eq!(missing.exit, Exit::BadInput);
    assert!(
        missing.stderr.contains("shop.toml") && missing.stderr.contains("there is no such file"),
        "{}",
        missing.stderr
    );
    shop.write("shop.toml", "[brake]\nlength = 150\n");
    assert_eq!(shop.run("check @job.toml").exit, Exit::CannotBeMade);
    shop.write("shop.toml", "[brake]\nlenght = 150\n");
    let misspelled = shop.run("check @job.toml");
    assert!(misspelled.stderr.contains("DIR/shop.toml:2:1: brake.lenght"), "{}", misspelled.stderr);
    assert!(misspelled.stderr.contains("`length`"), "{}", misspelled.stderr);
}

#[test]
fn what_is_asked_for_wrongly() {
    let shop = shop();
    for (line, told) in [
        ("flat @job.toml plate", "part \"plate\" is flat already"),
        ("flat @job.toml try", "there is no part \"try\""),
        ("flat @missing.toml", "there is no such file"),
        ("check @missing.toml", "there is no such file"),
        ("check @job.toml --shop @missing.toml", "there is no such file"),
        ("flat", "required"),
        ("check @job.toml --jsn", "--json"),
    ] {
        let run = shop.run(line);
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{line}");
        assert!(run.stderr.contains(told), "{line}: {}", run.stderr);
    }
    shop.write(
        "plain.toml",
        BRACKETS.replace("tray = { length = 200, width = 100, height = 30 }", "circle = { diameter = 50 }"),
    );
    let run = shop.run("flat @plain.toml");
    assert!(run.exit == Exit::BadInput && run.stderr.contains("no part of this job is bent"), "{}", run.stderr);
}
