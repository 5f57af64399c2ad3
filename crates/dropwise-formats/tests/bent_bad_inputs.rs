//! What people get wrong in bent parts, and what they are told.

use std::fmt::Write as _;
use std::path::Path;

use dropwise_formats::{load_job, parse_job};

const SETTINGS: &str = "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\n\
    clearances = { process = \"plasma\" }\nbending = { inside_radius = 3, k = 0.44 }\n\
    sheets = [{ name = \"drop\", rectangle = { width = 2000, height = 1500 } }]\n";

const PLATE: &str = "rectangle = { width = 100, height = 60 }";

fn part(keys: &str) -> String {
    format!("{SETTINGS}[[parts]]\nname = \"tray\"\n{keys}\n")
}

fn flange(keys: &str) -> String {
    part(&format!("{PLATE}\nflanges = [{{ name = \"front\", {keys} }}]"))
}

fn flanges(list: &str) -> String {
    part(&format!("{PLATE}\nflanges = [{list}]"))
}

/// What is told of each case, under its name. A case that is accepted fails the test.
fn messages<'a>(cases: impl IntoIterator<Item = (&'a str, String)>) -> String {
    let mut page = String::new();
    let mut accepted = Vec::new();
    for (name, text) in cases {
        match parse_job(Path::new("job.toml"), &text) {
            Ok(_) => accepted.push(name),
            Err(errors) => {
                assert!(!errors.is_empty(), "{name}: refused without a reason");
                let _ = writeln!(page, "# {name}");
                for error in errors {
                    let _ = writeln!(page, "{error}");
                }
            }
        }
    }
    assert!(accepted.is_empty(), "accepted: {accepted:?}");
    page
}

#[test]
fn the_part_that_the_cases_share_is_sound() {
    parse_job(Path::new("job.toml"), &flange("height = 30")).expect("the base of all cases is good");
}

#[test]
fn edges_and_faces() {
    let cases = [
        (
            "a flange on a curved edge",
            part("circle = { diameter = 90 }\nflanges = [{ name = \"front\", edge = \"bottom\", height = 20 }]"),
        ),
        ("an edge that is none", flange("edge = \"botom\", height = 30")),
        ("a side that the face does not have", flange("edge = 7, height = 30")),
        (
            "the edge by which the face itself is bent",
            flanges("{ name = \"a\", height = 30 }, { name = \"b\", on = \"a\", edge = \"bottom\", height = 20 }"),
        ),
        (
            "an unknown face",
            flanges("{ name = \"front\", height = 30 }, { name = \"lip\", on = \"frnt\", height = 12 }"),
        ),
        (
            "a loop of faces",
            flanges("{ name = \"a\", on = \"b\", height = 30 }, { name = \"b\", on = \"a\", height = 30 }"),
        ),
        ("a face bent from itself", flanges("{ name = \"a\", on = \"a\", height = 30 }")),
        (
            "two faces of one name",
            flanges("{ name = \"a\", height = 30 }, { name = \"a\", edge = \"bottom\", height = 30 }"),
        ),
        ("a face called base", flanges("{ name = \"base\", height = 30 }")),
        ("a stretch beyond its edge", flange("height = 30, from = 50, to = 130")),
        ("a stretch that runs backwards", flange("height = 30, from = 80, to = 20")),
        ("half a stretch", flange("height = 30, from = 20")),
        (
            "two flanges on one stretch",
            flanges(
                "{ name = \"a\", from = 0, to = 60, height = 20 }, { name = \"b\", from = 40, to = 100, height = 20 }",
            ),
        ),
        (
            "openings of a face that is not there",
            part(&format!(
                "{PLATE}\nflanges = [{{ name = \"front\", height = 30 }}]\nfaces = [{{ face = \"back\", holes = [{{ diameter = 5 }}] }}]"
            )),
        ),
        ("faces of a part without bends", part(&format!("{PLATE}\nfaces = [{{ face = \"base\" }}]"))),
        (
            "forty-one bends in a row",
            flanges(
                &(0..41)
                    .map(|i| {
                        let on = if i == 0 { "base".to_owned() } else { format!("f{}", i - 1) };
                        format!("{{ name = \"f{i}\", on = \"{on}\", height = 30 }}")
                    })
                    .collect::<Vec<_>>()
                    .join(", "),
            ),
        ),
    ];
    insta::assert_snapshot!(messages(cases));
}

#[test]
fn bends_and_sizes() {
    let cases = [
        ("radius zero", flange("height = 30, inside_radius = 0")),
        ("a radius below zero", flange("height = 30, inside_radius = -1")),
        ("a half turn without a hem", flange("height = 30, angle = 180")),
        ("angle zero", flange("height = 30, angle = 0")),
        (
            "an angle told to an outside corner that is far off",
            flange("height = 30, angle = 175, told = \"outside corner\""),
        ),
        ("a hem with an angle", flange("height = 12, hem = \"closed\", angle = 90")),
        ("an open hem without its gap", flange("height = 12, hem = \"open\"")),
        ("a teardrop hem without its radius", flange("height = 12, hem = \"teardrop\"")),
        ("a teardrop hem with too short a leaf", flange("height = 2, hem = \"teardrop\", inside_radius = 4")),
        ("a flange shorter than its own bend", flange("height = 4")),
        ("a height that is no length", flange("height = \"tall\"")),
        ("a height of zero", flange("height = 0")),
        ("huge numbers", flange("height = 1e300, inside_radius = 1e300")),
        ("a flange higher than any sheet", flange("height = \"99 m\", inside_radius = \"20 m\"")),
        ("a step lower than its bends", flange("height = 30, step = 1, angle = 90")),
        ("a K beyond the middle", flange("height = 30, k = 0.7")),
        (
            "a temper of another metal",
            part(&format!(
                "{PLATE}\nflanges = [{{ name = \"front\", height = 30 }}]\nbending = {{ temper = \"6061-T6\" }}"
            )),
        ),
        (
            "a method that is none",
            part(&format!(
                "{PLATE}\nflanges = [{{ name = \"front\", height = 30 }}]\nbending = {{ method = \"folding\" }}"
            )),
        ),
        (
            "a metal that the table of thicknesses lacks",
            part(&format!(
                "{PLATE}\nthickness = \"12 mm\"\nflanges = [{{ name = \"front\", height = 60 }}]\nbending = {{ allowance_by = \"thickness table\", inside_radius = 12 }}"
            )),
        ),
        (
            "a hem by a rule that has none",
            flange("height = 12, hem = \"closed\"").replace("k = 0.44", "allowance_by = \"DIN 6935\""),
        ),
        (
            "bottoming without a radius",
            flange("height = 30").replace("inside_radius = 3, k = 0.44", "method = \"bottoming\""),
        ),
        ("no strip that speaks", flange("height = 30").replace("k = 0.44", "allowance_by = \"test strips\"")),
        ("inches are told in inches", format!("unit = \"in\"\n{}", flange("height = 0.1"))),
    ];
    insta::assert_snapshot!(messages(cases));
}

#[test]
fn what_lies_flat() {
    let cases = [
        ("a hole across a bend", flange("height = 30, holes = [{ diameter = 8, at = [50, 6] }]")),
        (
            "a hole of the base across a bend",
            part(&format!(
                "{PLATE}\nholes = [{{ diameter = 8, at = {{ top = 6 }} }}]\nflanges = [{{ name = \"front\", height = 30 }}]"
            )),
        ),
        ("a hole outside its face", flange("height = 30, holes = [{ diameter = 8, at = [50, 80] }]")),
        (
            "flanges that overlap when flat",
            part(
                "polygon = { points = [[0, 0], [120, 0], [120, 90], [90, 90], [90, 30], [50, 30], [50, 90], [0, 90]] }\n\
                 flanges = [{ name = \"a\", edge = 4, height = 30 }, { name = \"b\", edge = 6, height = 30 }]\n\
                 bending = { relief = \"none\" }",
            ),
        ),
        (
            "no room for reliefs in an inside corner",
            part(
                "l_shape = { length_x = 120, width_x = 40, length_y = 120 }\n\
             flanges = [{ name = \"a\", edge = 3, height = 60 }, { name = \"b\", edge = 4, height = 60 }]",
            ),
        ),
        (
            "a return so wide that the corners collide",
            part("lipped_box = { length = 100, width = 60, height = 20, lip = 45 }"),
        ),
        ("ends that leave nothing", flange("height = 30, right_end = { set_back = 60 }, left_end = { set_back = 60 }")),
        (
            "a relief without its sizes",
            flange("height = 20, from = 30, to = 60, relief = { form = \"round\", width = 3 }"),
        ),
        (
            "a relief hole that is too small",
            flange("height = 20, from = 30, to = 60, relief = { form = \"hole\", diameter = 1 }"),
        ),
        ("a notch wider than its edge", flange("height = 30, edge_notches = [{ at = 50, width = 200, depth = 5 }]")),
        ("a notch without a form", flange("height = 30, edge_notches = [{ at = 50, width = 20 }]")),
        (
            "a notch without room for its radius",
            flange("height = 30, edge_notches = [{ at = 50, width = 20, depth = 8, inside_radius = 9 }]"),
        ),
        (
            "a V with rounded corners",
            flange("height = 30, edge_notches = [{ at = 50, width = 20, depth = 8, vee = true, inside_radius = 2 }]"),
        ),
        (
            "a half circle with rounded corners",
            flange("height = 30, edge_notches = [{ at = 50, radius = 8, inside_radius = 2 }]"),
        ),
    ];
    insta::assert_snapshot!(messages(cases));
}

#[test]
fn corners_forms_and_holes() {
    let two = "{ name = \"a\", edge = \"bottom\", height = 20 }, { name = \"b\", edge = \"right\", height = 20 }";
    let corner = |keys: &str| part(&format!("{PLATE}\nflanges = [{two}]\ncorners = [{{ {keys} }}]"));
    let returns = |keys: &str| {
        part(&format!(
            "{PLATE}\nflanges = [{two}, {{ name = \"ar\", on = \"a\", height = 9 }}, {{ name = \"br\", on = \"b\", height = 9 }}, \
             {{ name = \"c\", edge = \"top\", height = 20 }}, {{ name = \"out\", on = \"c\", height = 9, direction = \"down\" }}]\n\
             corners = [{{ {keys} }}]"
        ))
    };
    let cases = [
        ("a corner of flanges that are not there", corner("between = [\"a\", \"c\"]")),
        ("a corner of one flange", corner("between = [\"a\", \"a\"]")),
        ("somebody else runs on", corner("between = [\"a\", \"b\"], join = \"overlapped\", over = \"c\"")),
        ("one runs on where none overlaps", corner("between = [\"a\", \"b\"], over = \"a\"")),
        (
            "a corner told twice",
            part(&format!(
                "{PLATE}\nflanges = [{two}]\ncorners = [{{ between = [\"a\", \"b\"] }}, {{ between = [\"b\", \"a\"] }}]"
            )),
        ),
        (
            "a mitre of unlike flanges",
            part(&format!(
                "{PLATE}\nflanges = [{}]\ncorners = [{{ between = [\"a\", \"b\"], join = \"mitred\" }}]",
                two.replace("\"right\", height = 20", "\"right\", height = 20, angle = 60")
            )),
        ),
        (
            "an overlap of flanges that are not square",
            part(&format!(
                "{PLATE}\nflanges = [{}]\ncorners = [{{ between = [\"a\", \"b\"], join = \"overlapped\" }}]",
                two.replace("\"right\", height = 20", "\"right\", height = 20, angle = 60")
            )),
        ),
        (
            "a corner of returns with a relief",
            returns("between = [\"ar\", \"br\"], join = \"mitred\", relief = \"round\""),
        ),
        (
            "returns of which another runs on",
            returns("between = [\"ar\", \"br\"], join = \"overlapped\", over = \"a\""),
        ),
        ("returns that turn outwards", returns("between = [\"ar\", \"out\"], join = \"mitred\"")),
        ("two forms", part(&format!("{PLATE}\ntray = {{ length = 100, width = 60, height = 20 }}"))),
        ("a tray without a height", part("tray = { length = 100, width = 60 }")),
        ("a tray with walls of nothing", part("tray = { length = 100, width = 60, height = 3 }")),
        (
            "legs without room for an apron",
            part("machine_table = { length = 100, width = 100, height = 100, leg_width = 50, apron = 20, foot = 20 }"),
        ),
        (
            "a crest longer than the gusset",
            part("gusseted_corner = { length = 60, depth = 40, height = 40, crest = 40 }"),
        ),
        (
            "a countersink no wider than its hole",
            flange("height = 30, holes = [{ diameter = 9, countersink = { diameter = 9 } }]"),
        ),
        (
            "a screw that nobody knows",
            flange("height = 30, holes = [{ diameter = 9, countersink = { screw = \"M7\" } }]"),
        ),
        (
            "a hole countersunk and flared",
            flange(
                "height = 30, holes = [{ diameter = 9, countersink = { diameter = 15 }, flare = { diameter = 20 } }]",
            ),
        ),
        (
            "a countersunk hole in a sheet",
            part(PLATE).replace(
                "height = 1500 }",
                "height = 1500 }, holes = [{ diameter = 9, countersink = { diameter = 15 } }]",
            ),
        ),
        ("a file of strips that is not there", format!("test_strips = \"none.toml\"\n{}", flange("height = 30"))),
    ];
    insta::assert_snapshot!(messages(cases));
}

#[test]
fn files_of_strips() {
    let folder = tempfile::tempdir().expect("a folder");
    let strip = "material = \"mild steel\"\nthickness = 1.5\ndie = 12\ninside_radius = 2\nflat_length = 100\n";
    let cases = [
        ("an empty file", String::new()),
        ("one leg", format!("[[strips]]\n{strip}legs = [51.4]\n")),
        (
            "a metal that nobody knows",
            format!("[[strips]]\n{strip}legs = [51.4, 51.5]\n").replace("mild steel", "tin foil"),
        ),
        ("legs that are too long", format!("[[strips]]\n{strip}legs = [60, 60]\n")),
        ("legs that end in the bend", format!("[[strips]]\n{strip}legs = [2, 97]\n")),
        ("legs told to the bend line", format!("[[strips]]\n{strip}legs = [51.4, 51.5]\ntold = \"bend line\"\n")),
        ("a key that is none", format!("[[strips]]\n{strip}legs = [51.4, 51.5]\ncolour = \"red\"\n")),
    ];
    let mut page = String::new();
    let job = folder.path().join("job.toml");
    std::fs::write(&job, format!("test_strips = \"strips.toml\"\n{}", flange("height = 30"))).expect("a job");
    for (name, text) in cases {
        std::fs::write(folder.path().join("strips.toml"), text).expect("a file");
        let errors = load_job(&job).expect_err(name);
        let _ = writeln!(page, "# {name}");
        for error in errors {
            let _ = writeln!(page, "{}", error.to_string().replace(&format!("{}/", folder.path().display()), ""));
        }
    }
    insta::assert_snapshot!(page);
}
