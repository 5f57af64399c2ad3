//! `flat` and `check`, and what `nest` makes of the shop checks.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::Shop;

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
    assert!(refused.stderr.contains("longer than the brake") && refused.stderr.contains("--despite-checks"));
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
