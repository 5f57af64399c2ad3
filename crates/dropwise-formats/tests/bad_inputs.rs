//! What people get wrong in a job file, and what they are told. One table for each part of the file; the messages are
//! snapshots, so that whoever changes one reads the others beside it.

use std::fmt::Write as _;
use std::path::Path;

use dropwise_formats::{load_job, parse_job};

/// Settings that every case shares unless it brings its own.
const SETTINGS: &str =
    "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\nclearances = { process = \"plasma\" }\n";
const PART: &str = "[[parts]]\nname = \"plate\"\nrectangle = { width = 100, height = 50 }\n";
const SHEET: &str = "[[sheets]]\nname = \"drop\"\nrectangle = { width = 800, height = 500 }\n";

fn with_part(keys: &str) -> String {
    format!("{SETTINGS}{SHEET}[[parts]]\nname = \"bracket\"\n{keys}\n")
}

fn with_sheet(keys: &str) -> String {
    format!("{SETTINGS}{PART}[[sheets]]\nname = \"drop 7\"\n{keys}\n")
}

fn with_settings(settings: &str) -> String {
    format!("{settings}\n{PART}{SHEET}")
}

/// What is told of each case, under its name. A case that is accepted fails the test.
fn messages<'a>(file: &str, cases: impl IntoIterator<Item = (&'a str, String)>) -> String {
    let mut page = String::new();
    let mut count = 0;
    for (name, text) in cases {
        count += 1;
        let errors = match parse_job(Path::new(file), &text) {
            Ok(_) => panic!("{name}: this was accepted:\n{text}"),
            Err(errors) => errors,
        };
        assert!(!errors.is_empty(), "{name}: refused without a reason");
        let _ = writeln!(page, "# {name}");
        for error in errors {
            let _ = writeln!(page, "{error}");
        }
    }
    assert!(count > 0, "no case ran");
    page
}

#[test]
fn the_settings_that_the_cases_share_are_sound() {
    let text = format!("{SETTINGS}{PART}{SHEET}");
    parse_job(Path::new("job.toml"), &text).expect("the base of all cases is a good job");
}

#[test]
fn syntax() {
    let cases = [
        ("an empty file", String::new()),
        ("a quote that is never closed", "name = \"Rack".to_owned()),
        ("a key without a value", "name =\nunit = \"mm\"\n".to_owned()),
        ("a key that stands twice", with_part("quantity = 2\nquantity = 3\nrectangle = { width = 1, height = 1 }")),
        ("an integer beyond all bounds", with_part("quantity = 99999999999999999999")),
        ("a date for a name", with_settings("name = 2024-05-01")),
        ("nonsense", "\u{0}\u{1}\u{2} <xml/>".to_owned()),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn json_syntax() {
    let cases = [
        ("JSON cut off in the middle", "{\"name\": \"Rack\", \"parts\": [".to_owned()),
        ("a comma too many", "{\"name\": \"Rack\",}".to_owned()),
        ("a JSON key that stands twice", "{\"name\": \"a\", \"name\": \"b\", \"parts\": []}".to_owned()),
        ("NaN in JSON", "{\"parts\": NaN}".to_owned()),
        ("a list instead of a table", "[1, 2]".to_owned()),
        ("lists nested a thousand deep", "[".repeat(1000)),
        ("a null part", "{\"parts\": [null]}".to_owned()),
    ];
    insta::assert_snapshot!(messages("job.json", cases));
}

#[test]
fn structure() {
    let square = "rectangle = { width = 50, height = 50 }\n";
    let cases = [
        ("an unknown key with a near one", with_part(&format!("quantitiy = 2\n{square}"))),
        ("an unknown key without a near one", with_part("circle = { diameter = 40, colour = \"red\" }")),
        ("a misspelled form hides nothing else", with_part("rectangel = { width = 50, height = 50 }\nturns = [nan]")),
        ("two faults in two parts", {
            format!(
                "{SETTINGS}{SHEET}[[parts]]\nname = \"a\"\nmterial = \"brass\"\n{square}[[parts]]\nname = \"b\"\n\
                 rectangle = {{ width = \"5 furlongs\", height = 0 }}\n"
            )
        }),
        ("no parts", format!("{SETTINGS}{SHEET}")),
        ("an empty list of parts", format!("parts = []\n{SETTINGS}{SHEET}")),
        ("an empty list of sheets", format!("sheets = []\n{SETTINGS}{PART}")),
        ("a part without a name", format!("{SETTINGS}{SHEET}[[parts]]\n{square}")),
        ("a text for a number", with_part(&format!("quantity = \"two\"\n{square}"))),
        ("a fraction of a part", with_part(&format!("quantity = 2.5\n{square}"))),
        ("no part at all", with_part(&format!("quantity = 0\n{square}"))),
        ("a million parts", with_part(&format!("quantity = 1000000\n{square}"))),
        ("a negative quantity", with_part(&format!("quantity = -4\n{square}"))),
        ("a number for a yes or no", with_part(&format!("filler = 1\n{square}"))),
        ("a pair of three", with_part("polygon = { points = [[0, 0], [50, 0, 7], [0, 50]] }")),
        ("a polygon of two points", with_part("polygon = { points = [[0, 0], [50, 0]] }")),
        ("more points than a polygon may have", {
            let points = vec!["[0, 0]"; 5001].join(", ");
            with_part(&format!("polygon = {{ points = [{points}] }}"))
        }),
        ("more parts than a job may have, each with a fault", {
            let parts = "[[parts]]\nname = \"\"\nrectangle = { width = 0 }\n".repeat(10_001);
            format!("{SETTINGS}{SHEET}{parts}")
        }),
        ("more parts than a job may have, on one line", {
            let parts = vec!["{}"; 10_001].join(", ");
            format!("{{\"parts\": [{parts}]}}")
        }),
        ("an empty list of holes", with_part(&format!("holes = []\n{square}"))),
        ("an unknown word for turns", with_part(&format!("turns = \"anny\"\n{square}"))),
        ("an empty list of turns", with_part(&format!("turns = []\n{square}"))),
        ("a list for a length", with_part("rectangle = { width = [50], height = 50 }")),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn lengths() {
    let width = |width: &str| with_part(&format!("rectangle = {{ width = {width}, height = 50 }}"));
    let cases = [
        ("an unknown unit", width("\"12 furlongs\"")),
        ("a decimal comma", width("\"12,5 mm\"")),
        ("a fraction over zero", width("\"1/0 in\"")),
        ("a fraction without a unit in a metric job", width("\"12 3/8\"")),
        ("fourteen inches after feet", width("\"2' 14\\\"\"")),
        ("no length in the quotes", width("\"\"")),
        ("a gauge for a width", width("\"16 ga\"")),
        ("zero", width("0")),
        ("less than zero", width("-20")),
        ("not a number", width("nan")),
        ("infinity", width("inf")),
        ("1e308", width("1e308")),
        ("1e400", width("1e400")),
        ("longer than any sheet", width("\"2 km\"")),
        ("101 m", width("\"101 m\"")),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn forms() {
    let cases = [
        ("no form", with_part("quantity = 2")),
        ("two forms", with_part("circle = { diameter = 50 }\nrectangle = { width = 50, height = 50 }")),
        (
            "a radius and a chamfer",
            with_part("rectangle = { width = 50, height = 50, corner_radius = 5, chamfer = 5 }"),
        ),
        ("corners larger than their side", with_part("rectangle = { width = 50, height = 20, corner_radius = 11 }")),
        ("a ring inside out", with_part("ring = { outer_diameter = 50, inner_diameter = 60 }")),
        ("a slot wider than long", with_part("slot = { length = 20, width = 30 }")),
        ("an L without a foot", with_part("l_shape = { length_x = 50, width_x = 60, length_y = 50 }")),
        ("a bite without room for its radius", {
            with_part(
                "notched = { width = 500, height = 300, notches = [{ width = 50, height = 40, at = \"top left\", \
                 inside_radius = 41 }] }",
            )
        }),
        ("a polygon that crosses itself", with_part("polygon = { points = [[0, 0], [50, 50], [50, 0], [0, 50]] }")),
        ("a point twice", with_part("polygon = { points = [[0, 0], [50, 0], [50, 0], [0, 50]] }")),
        ("points in a line", with_part("polygon = { points = [[0, 0], [50, 0], [90, 0]] }")),
        ("a bite larger than its rectangle", {
            with_sheet(
                "notched = { width = 500, height = 300, notches = [{ width = 500, height = 100, at = \"top left\" }] }",
            )
        }),
        ("a bite without a start", {
            with_sheet(
                "notched = { width = 500, height = 300, notches = [{ width = 50, height = 100, at = \"top\" }] }",
            )
        }),
        ("bites that overlap", {
            with_sheet(
                "notched = { width = 500, height = 300, notches = [{ width = 300, height = 200, at = \"top left\" }, \
                 { width = 300, height = 200, at = \"top right\" }] }",
            )
        }),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn openings() {
    let plate = |keys: &str| with_part(&format!("rectangle = {{ width = 120, height = 80 }}\n{keys}"));
    let cases = [
        ("a hole larger than its part", plate("holes = [{ diameter = 200 }]")),
        ("a hole off the part", plate("holes = [{ diameter = 10, at = [300, 20] }]")),
        ("a hole through the edge", plate("holes = [{ diameter = 10, at = { left = 4 } }]")),
        ("two holes that overlap", plate("holes = [{ diameter = 30 }, { diameter = 20, at = { center_x = 20 } }]")),
        ("a hole and a slot that overlap", plate("holes = [{ diameter = 30 }]\nslots = [{ length = 60, width = 8 }]")),
        ("faults in a job in inches speak of inches", {
            plate("holes = [{ diameter = \"3/4\", at = [\"1/4\", 20] }]").replacen(
                "defaults",
                "unit = \"in\"\ndefaults",
                1,
            )
        }),
        ("dimensioned from both edges", plate("holes = [{ diameter = 9, at = { left = 20, right = 100 } }]")),
        ("an unknown edge", plate("holes = [{ diameter = 9, at = { lft = 20 } }]")),
        ("a row without spacing", plate("hole_rows = [{ diameter = 5, count = 4 }]")),
        ("a row spaced twice", plate("hole_rows = [{ diameter = 5, count = 4, pitch = 20, overall = 60 }]")),
        ("a row longer than its part", plate("hole_rows = [{ diameter = 5, count = 10, pitch = 20 }]")),
        ("a bolt circle of no holes", plate("bolt_circles = [{ diameter = 5, count = 0, circle = 50 }]")),
        (
            "holes of a bolt circle that run together",
            plate("bolt_circles = [{ diameter = 20, count = 12, circle = 50 }]"),
        ),
        ("a hole without a size", plate("holes = [{ at = [20, 20] }]")),
        ("a hole sized in two ways", plate("holes = [{ diameter = 9, clearance = \"M8\" }]")),
        ("a screw that nobody makes", plate("holes = [{ clearance = \"M7.5\" }]")),
        ("a fit without a name", plate("holes = [{ clearance = { screw = \"M8\", fit = \"snug\" } }]")),
        ("a screw with a fit, and no screw", plate("holes = [{ clearance = { fit = \"fine\" } }]")),
        ("a thread that is not listed", plate("hole_rows = [{ tap = \"M6x0.33\", count = 2, pitch = 30 }]")),
        ("a rivet that is not sold", plate("bolt_circles = [{ rivet = 3.7, count = 4, circle = 50 }]")),
        ("a rivet of no size", plate("holes = [{ rivet = 0 }]")),
        ("a tapped hole that is countersunk", plate("holes = [{ tap = \"M6\", countersink = { diameter = 12 } }]")),
        ("a cutout placed by its middle and by its edges", {
            plate("cutouts = [{ width = 20, height = 10, at = [40, 40], edges = { left = 10 } }]")
        }),
        ("a hole placed from both edges", plate("holes = [{ diameter = 9, edges = { top = 5, bottom = 5 } }]")),
        ("a slot whose edge lies off the part", plate("slots = [{ length = 30, width = 8, edges = { left = 110 } }]")),
        ("an angle of a million degrees", plate("slots = [{ length = 30, width = 8, angle = 1e6 }]")),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn stock() {
    let sheet = |keys: &str| with_sheet(&format!("rectangle = {{ width = 600, height = 400 }}\n{keys}"));
    let cases = [
        ("an unknown material", sheet("material = \"unobtainium\"")),
        ("a mistyped material", sheet("material = \"mild stel\"")),
        ("a material that may be two", sheet("material = \"aluminium\"")),
        ("a gauge that its metal does not have", sheet("material = \"galvanized\"\nthickness = \"3 ga\"")),
        ("a thickness beyond all sheet", sheet("thickness = \"16 in\"")),
        ("a thickness without a number", sheet("thickness = \"thin\"")),
        ("a price below zero", sheet("price = -9.5")),
        ("a price with a comma", sheet("price = \"1,250.00\"")),
        ("a price by the stone", sheet("price = \"3 per stone\"")),
        ("a price by length for a whole sheet", sheet("price = \"14 per m\"")),
        ("an infinite price", sheet("price = inf")),
        ("a worth by the piece", sheet("leftover_worth = \"8 each\"")),
        ("an unknown grain", sheet("grain = \"up\"")),
        ("a quantity in words", sheet("quantity = \"many\"")),
        ("damage off the sheet", sheet("damage = [{ diameter = 50, at = [900, 100] }]")),
        ("damage of no shape", sheet("damage = [{ width = 50 }]")),
        ("a hole larger than the sheet", sheet("holes = [{ diameter = 700 }]")),
        ("a sheet that crosses itself", with_sheet("polygon = { points = [[0, 0], [500, 300], [500, 0], [0, 300]] }")),
        ("a strip priced by the piece", with_sheet("strip = { width = 500, longest = 3000 }\nprice = 40")),
        ("a strip with rust", with_sheet("strip = { width = 500, longest = 3000 }\ndamage = [{ diameter = 50 }]")),
        ("a strip shorter than its increment", with_sheet("strip = { width = 500, longest = 300, increment = 500 }")),
        ("a strip of which no length is sold", {
            with_sheet("strip = { width = 500, longest = \"6 m\", increment = \"4 m\", shortest = \"5 m\" }")
        }),
        ("a strip no wider than its margins", with_sheet("strip = { width = 6, longest = 3000 }")),
        ("a quadrilateral without a diagonal", with_sheet("tape = { sides = [400, 300, 400, 300] }")),
        ("a diagonal that cannot be", {
            with_sheet("tape = { sides = [400, 300, 400, 300], diagonals = [{ from = 1, to = 3, length = 900 }] }")
        }),
        ("a diagonal to a corner that is not there", {
            with_sheet("tape = { sides = [400, 300, 400, 300], diagonals = [{ from = 1, to = 7, length = 500 }] }")
        }),
        ("an inward corner that is not there", {
            with_sheet("tape = { sides = [400, 300, 500], inward_corners = [9] }")
        }),
        ("a hole that breaks out of a taped sheet", {
            with_sheet(
                "tape = { sides = [400, 300, 500] }\nholes = [{ diameter = 90, at = [300, 230] }, { diameter = 9, at = [50, 250] }]",
            )
        }),
        ("two sheets of one name", format!("{SETTINGS}{PART}{SHEET}{SHEET}")),
        ("two parts of one name", format!("{SETTINGS}{PART}{PART}{SHEET}")),
        ("a blank name", format!("{SETTINGS}{PART}{SHEET}[[parts]]\nname = \" \"\ncircle = {{ diameter = 9 }}\n")),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn rules() {
    let defaults = "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\n";
    let rules = |keys: &str| with_settings(&format!("{defaults}clearances = {{ process = \"laser\" }}\n{keys}"));
    let clearances = |keys: &str| with_settings(&format!("{defaults}clearances = {{ {keys} }}"));
    let cases = [
        ("an unknown unit", rules("unit = \"furlong\"")),
        ("a class of tolerances that is none", rules("general_tolerances = \"exact\"")),
        ("no clearances", with_settings(defaults)),
        ("an unknown process", clearances("process = \"plazma\"")),
        ("neither process nor margin", clearances("kerf = 1, web = 3")),
        ("a web narrower than the kerf", clearances("kerf = 3, web = 2, margin = 5")),
        ("a margin below zero", clearances("process = \"laser\", margin = -1")),
        ("no material", with_settings("clearances = { process = \"laser\" }\ndefaults = { thickness = \"2 mm\" }")),
        ("no thickness", with_settings("clearances = { process = \"laser\" }\ndefaults = { material = \"brass\" }")),
        ("a mistyped default", rules("").replace("mild steel", "mild steal")),
        ("a leftover wider than long", rules("leftovers = { length = 100, width = 200 }")),
        ("a neck wider than a leftover", rules("leftovers = { length = 300, width = 200, neck = 250 }")),
        ("leftovers worth less than nothing", rules("leftovers = { worth = \"-1 per kg\" }")),
        ("a rate below zero", rules("rates = { cutting = -1 }")),
        ("a good face that may be flipped", {
            with_part("good_face = true\nmay_flip = true\ncircle = { diameter = 50 }")
        }),
    ];
    insta::assert_snapshot!(messages("job.toml", cases));
}

#[test]
fn files() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = |name: &str| folder.path().join(name);
    let write = |name: &str, bytes: &[u8]| std::fs::write(path(name), bytes).expect("written");
    write("latin.toml", b"name = \"B\xfcgel\"");
    write("huge.toml", &vec![b'#'; (4 << 20) + 1]);
    let mut page = String::new();
    let mut tell = |case: &str, name: &str| {
        let _ = writeln!(page, "# {case}");
        for error in load_job(&path(name)).expect_err(case) {
            let _ = writeln!(page, "{}", error.to_string().replace(&*folder.path().to_string_lossy(), "FOLDER"));
        }
    };
    tell("a job file that is not there", "missing.toml");
    tell("a job file in an old encoding", "latin.toml");
    tell("a job file that is too large", "huge.toml");
    tell("a folder for a job file", ".");

    let circle = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nCUT\n10\n30\n20\n40\n40\n5\n0\nENDSEC\n0\nEOF\n";
    let open_line = "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nCUT\n10\n0\n20\n0\n11\n90\n21\n0\n0\nENDSEC\n0\nEOF\n";
    write("washer.dxf", circle.as_bytes());
    write("cut_off.dxf", &circle.as_bytes()[..50]);
    write("open.dxf", open_line.as_bytes());
    let many = (0..60).map(|i| format!("0\nLINE\n8\nconst_grid\n10\n{i}\n20\n0\n11\n{i}\n21\n90\n"));
    let many = open_line.replacen("0\nLINE", &format!("{}0\nLINE", many.collect::<String>()), 1);
    write("many.dxf", many.replace("const_grid", "grid").as_bytes());
    write("title.dxf", circle.replace("CUT", "title").as_bytes());
    write("photo.dxf", b"\x89PNG\r\n\x1a\n");
    let svg = |inside: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"90mm\" height=\"50mm\" viewBox=\"0 0 90 50\">{inside}</svg>"
        )
    };
    write("script.svg", svg("<script>alert(1)</script>").as_bytes());
    let entities = "<!DOCTYPE svg [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;\">]>";
    write("entities.svg", format!("{entities}{}", svg("<text>&b;</text>")).as_bytes());
    write("broken.svg", b"<svg><path");
    let panel = "<g fill=\"none\"><rect width=\"80\" height=\"40\" stroke=\"#ff0000\"/><path d=\"M5 5h9v3\" stroke=\"#000\"/></g>";
    write("panel.svg", svg(panel).as_bytes());
    for (case, drawing) in [
        ("a drawing that is not there", "file = \"nowhere.dxf\""),
        ("a drawing in a closed format", "file = \"bracket.dwg\""),
        ("a DXF cut off in the middle", "file = \"cut_off.dxf\""),
        ("a DXF with an open contour", "file = \"open.dxf\""),
        ("a photo for a DXF", "file = \"photo.dxf\""),
        ("a piece that the drawing does not have", "file = \"washer.dxf\", piece = 3"),
        ("a layer with two uses", "file = \"washer.dxf\", cut_layers = [\"CUT\"], bend_layers = [\"cut\"]"),
        ("sixty open lines and one", "file = \"many.dxf\""),
        ("nothing but a title", "file = \"title.dxf\""),
        ("an engraved panel", "file = \"panel.svg\""),
        ("a colour that is none", "file = \"panel.svg\", cut_colours = [\"reddish\"]"),
        ("a colour beyond the palette", "file = \"panel.svg\", cut_colours = [256]"),
        ("a colour with two uses", "file = \"panel.svg\", cut_colours = [\"red\"], mark_colours = [\"Red\"]"),
        ("a line type with two uses", "file = \"washer.dxf\", cut_line_types = [\"DOT\"], bend_line_types = [\"dot\"]"),
        ("a unit and a width", "file = \"washer.dxf\", unit = \"in\", width = 10"),
        ("a unit that is none", "file = \"washer.dxf\", unit = \"dots\""),
        ("a width of nothing", "file = \"washer.dxf\", width = 0"),
        ("damage on a part", "file = \"washer.dxf\", damage_layers = [\"RUST\"]"),
        ("a wrong word for open lines", "file = \"washer.dxf\", open_lines = \"ignore\""),
        ("a wrong word for faulty loops", "file = \"washer.dxf\", faulty_loops = \"mark\""),
        ("a wrong word for what is not understood", "file = \"washer.dxf\", not_understood = true"),
        ("a wrong word for frames", "file = \"washer.dxf\", frame = \"leave\""),
        ("a wrong word for shared edges", "file = \"washer.dxf\", shared_edges = \"join\""),
        ("an SVG with a script", "file = \"script.svg\""),
        ("an SVG with entities", "file = \"entities.svg\""),
        ("an SVG cut off in the middle", "file = \"broken.svg\""),
    ] {
        write("job.toml", with_part(&format!("drawing = {{ {drawing} }}")).as_bytes());
        tell(case, "job.toml");
    }

    let header = "name,material,thickness,length,width,price,quantity\n";
    for (case, list) in [
        ("an empty list", "".to_owned()),
        ("a list with a header alone", header.to_owned()),
        ("a list without sizes", "name,material\na,brass\n".to_owned()),
        ("a list with half a size", "name,length\na,300\n".to_owned()),
        ("a mistyped column", "name,lenght,width\na,300,200\n".to_owned()),
        ("two columns of one kind", "name,length,width,len\na,300,200,300\n".to_owned()),
        ("a cell too many", format!("{header}a,brass,1,5,300,200,8,1\n")),
        ("a cell too few", format!("{header}a,brass,1\n")),
        ("rows with faults of all kinds", {
            format!(
                "{header}a,tin,1 mm,300,200,8,1\nb,brass,1 mm,30 cubits,200,8,1\nc,brass,1 mm,-300,200,8,1\n\
                 d,brass,1 mm,300,200,-8,1\ne,brass,1 mm,300,200,8,0\nf,brass,1 mm,,,8,1\n"
            )
        }),
        ("a name twice", format!("{header}a,brass,1 mm,300,200,8,1\na,brass,1 mm,300,200,8,1\n")),
    ] {
        write("rack.csv", list.as_bytes());
        write("job.toml", format!("sheet_lists = [{{ file = \"rack.csv\" }}]\n{SETTINGS}{PART}").as_bytes());
        tell(case, "job.toml");
    }
    write("rack.csv", b"name,length\n\xff\xfe");
    tell("a list in an old encoding", "job.toml");
    std::fs::remove_file(path("rack.csv")).expect("removed");
    tell("a list that is not there", "job.toml");
    insta::assert_snapshot!(page);
}
