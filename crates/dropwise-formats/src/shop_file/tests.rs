use std::path::Path;

use dropwise_geometry::Unit;
use dropwise_shop::bend::drills::HoleTool;
use dropwise_shop::cutplan::{CutSpeed, ShearTool};
use dropwise_shop::markout::RoundPunch;
use dropwise_shop::{OWN_FIGURE, Process, Shop, Status};

use super::{parse_shop, shop_reference, shop_schema};

fn read(text: &str) -> Shop {
    parse_shop(Path::new("shop.toml"), text, Unit::Millimetre).unwrap()
}

fn complaints(text: &str) -> String {
    let errors = parse_shop(Path::new("shop.toml"), text, Unit::Millimetre).unwrap_err();
    errors.iter().map(|error| format!("{error}\n")).collect()
}

#[test]
fn an_empty_file_is_the_usual_shop() {
    assert_eq!(read(""), Shop::usual(Unit::Millimetre));
    assert_eq!(parse_shop(Path::new("s"), "", Unit::Inch), Ok(Shop::usual(Unit::Inch)));
    assert_eq!(read("unit = \"in\""), Shop::usual(Unit::Inch));
}

#[test]
fn every_key_reaches_the_shop() {
    let shop = read(
        r#"
        unit = "mm"
        cutters = ["plasma", "grinder"]
        drills = [3.3, "1/4 in"]
        hole_saws = ["22 mm"]
        punches = [5, { hole = 9, thickest = 3 }]
        flaring_dies = [{ hole = "1 1/2 in" }, { hole = 50, outside = 60, depth = 5 }]
        printer = [1.002, 0.999]
        lifted_by_one = "40 lb"
        [shear]
        length = "1.25 m"
        thickest = 2
        [brake]
        length = "4 ft"
        force = "400 kN"
        dies = [8, { opening = 16, width = 60, height = 80, angle = 88 }]
        punches = [{ name = "plain" }, { name = "own", angle = 60, section = [[0, 0], [9, 16], [9, 90], [-9, 90], [-9, 16]] }]
        beam_width = 70
        gauge_from = 8
        gauge_to = "0.5 m"
        [work]
        cut_minutes = 2
        wheel_lasts = "8 m"
        speeds = [
            { process = "plasma", thickness = 1, per_minute = "10 m" },
            { process = "plasma", thickness = 3, per_minute = "3 m" },
            { process = "jigsaw", thickness = 2, per_minute = 200 },
            { process = "laser", per_minute = 900 },
        ]
        "#,
    );
    assert_eq!(shop.tools.cutters, [Process::Plasma, Process::CutoffWheel]);
    assert_eq!(shop.tools.shear, Some(ShearTool { length: 1250.0, thickest: 2.0 }));
    let sizes: Vec<String> = shop.tools.holes.sizes.iter().map(ToString::to_string).collect();
    assert_eq!(sizes, ["3.3 mm drill", "1/4 in drill", "22 mm hole saw"]);
    let nine = RoundPunch { diameter: 9.0, thickest: Some(3.0) };
    assert_eq!(shop.tools.holes.punches, [RoundPunch::of(5.0), nine]);
    assert_eq!(shop.tools.source, OWN_FIGURE);
    assert_eq!(read("lifted_by_one = \"20 kg\"").tools.source.status, Status::CommonPractice);
    let flares: Vec<(f64, f64)> = shop.flaring_dies.iter().map(|die| (die.outside, die.depth)).collect();
    // "Dimpling thread": a 1.5 in hole flares to 2.0 in, 3/16 in deep.
    assert!((flares[0].0 - 50.8).abs() < 1e-9 && (flares[0].1 - 4.7625).abs() < 1e-9);
    assert_eq!(flares[1], (60.0, 5.0));
    assert_eq!(shop.printer, [1.002, 0.999]);
    assert!((shop.lifted_by_one - 18.143_69).abs() < 1e-4);
    let brake = shop.brake.clone().unwrap();
    assert!((brake.length - 1219.2).abs() < 1e-9);
    assert_eq!((brake.force, brake.beam_width, brake.gauge_reach), (400.0, 70.0, (8.0, 500.0)));
    assert_eq!(shop.die_openings(), [8.0, 16.0]);
    assert_eq!((brake.dies[1].width, brake.dies[1].height, brake.dies[1].angle), (60.0, 80.0, 88.0));
    assert_eq!((brake.punches[1].name.as_str(), brake.punches[1].height), ("own", 90.0));
    let rates = &shop.tools.rates;
    assert_eq!((rates.minutes_per_cut.value, rates.section_per_wheel.value), (2.0, 8000.0));
    assert_eq!(rates.minutes_per_cut.source.to_string(), "the shop file (confirmed)");
    let speed = |process| rates.speeds.iter().find(|(known, _)| *known == process).unwrap().1.value.clone();
    assert_eq!(speed(Process::Plasma), CutSpeed::ByThickness(vec![(1.0, 10_000.0), (3.0, 3000.0)]));
    assert_eq!(speed(Process::Jigsaw), CutSpeed::BySection(400.0));
    assert_eq!(speed(Process::Laser), CutSpeed::ByLength(900.0));
}

#[test]
fn force_in_three_units() {
    // One short ton is 2000 lbf, 8.896 kN; one metric ton's weight 9.807 kN.
    for (text, kilonewtons) in [("40 tons", 355.858), ("40 tonnes", 392.266), ("40t", 392.266), ("40 kN", 40.0)] {
        let shop = read(&format!("brake = {{ force = \"{text}\" }}"));
        assert!((shop.brake.unwrap().force - kilonewtons).abs() < 1e-3, "{text}");
    }
}

#[test]
fn a_shop_without_a_brake() {
    assert_eq!(read("no_brake = true").brake, None);
    assert!(read("no_brake = false").brake.is_some());
    let drills = read("drills = []").tools.holes.sizes;
    assert!(drills.iter().all(|size| size.tool == HoleTool::HoleSaw) && !drills.is_empty());
}

#[test]
fn what_is_wrong_is_told_with_its_place_and_cure() {
    let page: String = [
        "cuters = []",
        "cutters = [\"shear\", \"lazer\"]",
        "unit = \"furlong\"",
        "drills = [0, -3, 3.333, \"1/0 in\"]",
        "shear = { length = 1000 }",
        "brake = { force = \"40\" }\nno_brake = true",
        "[brake]\nforce = \"many tons\"\nlength = 0\ndies = []",
        "[brake]\ndies = [{ opening = 20, width = 10 }]\ngauge_from = 900",
        "[brake]\npunches = [{ name = \"a\", section = [[0, 0], [5, 5]] }, { name = \"b\", width = 90, height = 20 }]",
        "[brake]\npunches = [{ name = \"c\", height = 90, section = [[0, 0], [5, 5], [-5, 5]] }]",
        "[brake]\npunches = [{ name = \"d\", angle = 5, section = [[0, 1], [5, 5], [-5, 5]] }]",
        "[brake]\ndies = [{ opening = 20, load = \"600\" }]\npunches = [{ name = \"e\", pieces = [100, 0] }]",
        "[shop_press]\nforce = \"20 stone\"",
        "benders = [{ kind = \"folder\" }, { name = \"no kind\" }]",
        "benders = [{ kind = \"leaf\", fingers = [25] }, { kind = \"vise\", most_turn = 200 }]",
        "benders = [{ kind = \"leaf\", lengths = [{ thickness = 1, length = 500 }, { thickness = 2, length = 900 }] }]",
        "benders = [{ kind = \"leaf\", behind = -1, lengths = [{ thickness = 1 }] }]",
        "flaring_dies = [{ hole = 50, outside = 40 }]",
        "flaring_dies = [{ hole = 50, thickest = 0 }]",
        "punches = [-5, { hole = 9, thickest = \"thin\" }]",
        "punches = [{ thickest = 3 }]",
        "printer = [2, 1]",
        "lifted_by_one = 23",
        "lifted_by_one = \"23 stone\"",
        "work = { speeds = [{ process = \"laser\", per_minute = 9 }, { process = \"laser\", per_minute = 8 }] }",
        "[brake",
        "shop = 1",
    ]
    .iter()
    .map(|text| complaints(text))
    .collect();
    insta::assert_snapshot!(page);
}

#[test]
fn every_key_has_a_text_and_an_example_that_is_right() {
    let schema = shop_schema();
    let below = schema["$defs"].as_object().into_iter().flatten().map(|(name, table)| (name.as_str(), table));
    let mut count = 0;
    for (name, table) in std::iter::once(("ShopFile", schema)).chain(below) {
        for (key, property) in table["properties"].as_object().into_iter().flatten() {
            count += 1;
            assert!(property["description"].as_str().is_some_and(|text| !text.is_empty()), "{name}.{key}");
            let mut rules = property.clone();
            rules["$defs"] = schema["$defs"].clone();
            let validator = jsonschema::validator_for(&rules).expect("a schema");
            assert!(validator.is_valid(&property["examples"][0]), "{name}.{key}: {}", property["examples"][0]);
        }
        if table["properties"].is_object() {
            assert_eq!(table["additionalProperties"], serde_json::Value::Bool(false), "{name}");
        }
    }
    assert!(count > 35, "only {count} keys");
    assert!(shop_reference().contains("## Brake\n"));
}
