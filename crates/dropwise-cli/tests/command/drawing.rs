//! `draw`: what it writes, what it refuses, and whether what stands on the paper is what the plan says.

use std::fmt::Write as _;
use std::process::Command;

use dropwise_cli::Exit;
use dropwise_formats::drawing::DrawingOptions;
use dropwise_formats::dxf::read_dxf;
use serde_json::{Value, json};

use crate::shop::{JOB, Shop};
use crate::tools;

/// A job in inches: a drop without a right angle, a plate with round holes, a slot and an inside corner, and a disc.
const INCHES: &str = r#"name = "Gate"
unit = "in"
defaults = { material = "mild steel", thickness = "1/8" }
clearances = { process = "cutoff wheel" }
[[parts]]
name = "keeper"
quantity = 2
l_shape = { length_x = 9, width_x = "1 1/2", length_y = 7, width_y = "1 1/2", inside_radius = "1/2" }
holes = [{ diameter = "9/32", at = ["3/4", "6 1/4"] }, { diameter = "7/8", at = { right = 1, bottom = "3/4" } }]
slots = [{ length = 3, width = "1/4", at = [4, "3/4"] }]
[[parts]]
name = "cap"
circle = { diameter = 3 }
[[sheets]]
name = "drop"
polygon = { points = [[0, 0], [26, 3], [24, 17], [1, 20]] }
"#;

/// A folder with the plan of a job in `plan/`.
fn planned(job: &str) -> Shop {
    let shop = Shop::new();
    shop.write("job.toml", job);
    let run = shop.run("nest @job.toml --rounds 4 --out @plan --quiet");
    assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""), "{}", run.stdout);
    shop
}

fn bytes(shop: &Shop, name: &str) -> Vec<u8> {
    std::fs::read(shop.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

#[test]
fn everything_is_drawn_from_the_plan_alone() {
    let shop = planned(JOB);
    let report = shop.read("plan/report.html");
    // Neither the job nor what nest has drawn is needed.
    std::fs::remove_file(shop.path("job.toml")).unwrap();
    std::fs::remove_file(shop.path("plan/report.html")).unwrap();
    let run = shop.run("draw @plan");
    assert_eq!((run.exit, run.stdout.as_str()), (Exit::Done, ""));
    let expected = "Written to DIR/plan: report.html, overview.svg, sheet-1.svg, cut-sheets.pdf, mark-out.pdf, \
                    mark-out.csv, templates/ (1 file), dxf/ (2 files), svg/ (2 files).";
    // Where lines break hangs on the name of the folder.
    assert_eq!(run.stderr.split_whitespace().collect::<Vec<_>>().join(" "), expected);
    assert_eq!(shop.read("plan/report.html"), report, "nest draws the same");
    let names = ["cut-sheets.pdf", "mark-out.pdf", "templates/parts.pdf", "dxf/part-1-foot.dxf"];
    let first = names.map(|name| bytes(&shop, &format!("plan/{name}")));
    assert!(first[..3].iter().all(|file| file.starts_with(b"%PDF-1.7")));
    // The same plan makes the same files, wherever they go.
    assert_eq!(shop.run("draw @plan/plan.json --out @again --quiet").stderr, "");
    assert_eq!(names.map(|name| bytes(&shop, &format!("again/{name}"))), first);
}

#[test]
fn only_what_is_asked_for_is_written() {
    let shop = planned(INCHES);
    let names = |folder: &str| {
        let mut names: Vec<String> = std::fs::read_dir(shop.path(folder))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    for (line, expected) in [
        ("draw @plan --kind dxf --out @a", vec!["dxf"]),
        ("draw @plan --kind report,markout --out @b", vec!["mark-out.csv", "mark-out.pdf", "report.html"]),
        ("draw @plan --part cap --out @c", vec!["templates"]),
        ("draw @plan --sheet 1 --part keeper --paper roll:24in --out @d", vec!["templates"]),
    ] {
        let run = shop.run(line);
        assert_eq!(run.exit, Exit::Done, "{line}: {}", run.stderr);
        assert_eq!(names(line.rsplit_once('@').unwrap().1), expected, "{line}");
    }
    assert_eq!(names("a/dxf"), ["part-1-keeper.dxf", "part-2-cap.dxf", "sheet-1-drop.dxf"]);
    assert_eq!(names("c/templates"), ["part-2-cap.pdf"]);
    assert_eq!(names("d/templates"), ["part-1-keeper.pdf", "sheet-1-drop.pdf"]);
}

#[test]
fn drawings_of_an_earlier_plan_are_told() {
    let shop = planned(JOB);
    std::fs::create_dir_all(shop.path("plan/templates")).unwrap();
    shop.write("plan/templates/part-7-old.pdf", "old");
    shop.write("plan/templates/notes.pdf", "mine");
    shop.write("plan/sheet-9.svg", "old");
    let told = |line: &str| shop.run(line).stderr;
    let all = told("draw @plan");
    assert!(all.contains("still there: sheet-9.svg, templates/part-7-old.pdf."), "{all}");
    // What was not asked for now may be as good as it was, and one template leaves the others alone.
    for line in ["draw @plan --kind dxf", "draw @plan --part foot"] {
        assert!(!told(line).contains("still there"), "{line}");
    }
}

/// The plan with one value changed, at a JSON pointer (RFC 6901).
fn changed(plan: &str, pointer: &str, value: Value) -> String {
    let mut json: Value = serde_json::from_str(plan).unwrap();
    *json.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = value;
    json.to_string()
}

#[test]
fn what_is_no_plan_any_more_is_refused() {
    let shop = planned(JOB);
    let plan = shop.read("plan/plan.json");
    let mut page = String::new();
    let refuse = |what: &str, text: &[u8]| {
        shop.write("bad.json", text);
        let run = shop.run("draw @bad.json --out @never");
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{what}");
        assert!(run.stderr.starts_with("DIR/bad.json: "), "{what}: {}", run.stderr);
        run.stderr
    };
    let placement = |index: usize, key: &str| format!("/sheets/0/placements/{index}/{key}");
    let same_place = serde_json::from_str::<Value>(&plan).unwrap()["sheets"][0]["placements"][0].clone();
    for (what, text) in [
        ("empty", String::new()),
        ("the beginning of it", plan[..60].to_owned()),
        ("another file", "{\"name\": \"rack\"}".to_owned()),
        ("of a newer version", changed(&plan, "/version", json!(99))),
        ("one more wanted", changed(&plan, "/parts/0/wanted", json!(4))),
        ("a part on another", changed(&plan, "/sheets/0/placements/1", same_place)),
        ("a part far away", changed(&plan, &placement(0, "x"), json!(1e12))),
        ("a part a hair aside", changed(&plan, &placement(0, "x"), json!(6.25))),
        ("no number", plan.replacen("\"kerf\": 2.0", "\"kerf\": NaN", 1)),
        ("too large a number", plan.replacen("\"kerf\": 2.0", "\"kerf\": 1e999", 1)),
        ("a cheaper price", changed(&plan, "/sheets/0/price", json!(1))),
        ("a metal nobody knows", changed(&plan, "/parts/0/material", json!("moon rock"))),
        ("an outline that crosses itself", {
            let bow = json!([{"x": 0, "y": 0}, {"x": 9, "y": 9}, {"x": 9, "y": 0}, {"x": 0, "y": 9}]);
            changed(&plan, "/parts/0/shape/outline", bow)
        }),
    ] {
        let told = refuse(what, text.as_bytes());
        if what.starts_with("a part") {
            // Where parts came to lie, and so what is wrong now, is the search's business.
            assert!(told.contains("A plan that cannot be proved is neither drawn nor recorded"), "{told}");
            continue;
        }
        let _ = writeln!(page, "# {what}\n{}", insta_filtered(&told));
    }
    refuse("no text", &[0xff, 0xfe, 0x00, 0x80]);
    assert!(!shop.path("never").exists(), "a refused plan leaves no folder");
    insta::assert_snapshot!(page);
}

/// Numbers with a decimal point, which hang on where parts lie, become `#`.
fn insta_filtered(text: &str) -> String {
    let words = text.split_inclusive([' ', '\n', '(', ')', ',', ';']);
    words
        .map(|word| {
            let bare = word.trim_end_matches([' ', '\n', '(', ')', ',', ';']);
            let is_number = bare.contains('.') && bare.parse::<f64>().is_ok();
            if is_number { word.replacen(bare, "#", 1) } else { word.to_owned() }
        })
        .collect()
}

#[test]
fn command_lines_that_cannot_be_meant() {
    let shop = planned(JOB);
    std::fs::create_dir(shop.path("empty")).unwrap();
    shop.write("shop.toml", "cutters = \"sharp teeth\"\n");
    let mut page = String::new();
    for line in [
        "draw",
        "draw @missing.json",
        "draw @empty",
        "draw @plan --kind poster",
        "draw @plan --paper a5",
        "draw @plan --paper roll:5",
        "draw @plan --nearest 1/7",
        "draw @plan --part leg",
        "draw @plan --sheet 0",
        "draw @plan --sheet 2 --part leg --square 1x",
        "draw @plan --square 50x100",
        "draw @plan --shop @missing.toml",
        "draw @plan --shop @shop.toml",
        "draw @plan --out @plan/plan.json",
    ] {
        let run = shop.run(line);
        assert_eq!((run.exit, run.stdout.as_str()), (Exit::BadInput, ""), "{line}");
        let _ = writeln!(page, "# dropwise {line}\n{}", run.stderr);
    }
    insta::assert_snapshot!(page);
}

/// Distances by a reader of CSV of its own (RFC 4180), quoted cells and all.
fn table(text: &str) -> Vec<Vec<String>> {
    let mut rows = vec![vec![String::new()]];
    let mut is_quoted = false;
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        let row = rows.last_mut().unwrap();
        match c {
            '"' if is_quoted && letters.peek() == Some(&'"') => {
                letters.next();
                row.last_mut().unwrap().push('"');
            }
            '"' => is_quoted = !is_quoted,
            ',' if !is_quoted => row.push(String::new()),
            '\r' => {}
            '\n' if !is_quoted => rows.push(vec![String::new()]),
            c => row.last_mut().unwrap().push(c),
        }
    }
    rows.retain(|row| row.len() > 1);
    rows
}

/// Millimetres of what a person reads off a table: `314.5 mm`, `12 3/8 in`, `-1/8 in`.
fn read_off(text: &str) -> f64 {
    let (number, unit) = text.rsplit_once(' ').unwrap_or_else(|| panic!("{text}"));
    let (sign, number) = number.strip_prefix('-').map_or((1.0, number), |rest| (-1.0, rest));
    let sum: f64 = number
        .split(' ')
        .map(|part| match part.split_once('/') {
            Some((above, below)) => above.parse::<f64>().unwrap() / below.parse::<f64>().unwrap(),
            None => part.parse().unwrap(),
        })
        .sum();
    sign * sum
        * match unit {
            "mm" => 1.0,
            "in" => 25.4,
            other => panic!("{other}"),
        }
}

type Point = (f64, f64);

fn points(ring: &Value) -> Vec<(Point, f64)> {
    let number = |value: &Value| value.as_f64().unwrap_or(0.0);
    ring.as_array().unwrap().iter().map(|v| ((number(&v["x"]), number(&v["y"])), number(&v["bulge"]))).collect()
}

/// The longest straight edge of a polygon drawn counter-clockwise: where it begins, and its direction. A corner square to it
/// there would move the datum, so the sheets of this test have none, or are drawn with their corner at the origin.
fn datum(sheet: &Value) -> (Point, Point) {
    let ring = points(&sheet["shape"]["outline"]);
    let sides = (0..ring.len()).map(|i| (ring[i].0, ring[(i + 1) % ring.len()].0));
    let length = |((ax, ay), (bx, by)): (Point, Point)| (bx - ax).hypot(by - ay);
    // Of equally long ones the first: a rectangle is drawn from its lower left corner.
    let (from, to) = sides.reduce(|best, side| if length(side) > length(best) + 1e-6 { side } else { best }).unwrap();
    let l = length((from, to));
    (from, ((to.0 - from.0) / l, (to.1 - from.1) / l))
}

/// Everything that the mark-out must hold of a sheet, worked out from the plan's JSON with nothing but vectors: kind, and
/// both distances.
fn expected_marks(sheet: &Value) -> Vec<(String, f64, f64)> {
    let (corner, along) = datum(sheet);
    let seen = |(x, y): Point| {
        let (dx, dy) = (x - corner.0, y - corner.1);
        (dx * along.0 + dy * along.1, dy * along.0 - dx * along.1)
    };
    let mut marks = Vec::new();
    for placement in sheet["placements"].as_array().unwrap() {
        let shape = &placement["shape"];
        let rings = std::iter::once(&shape["outline"]).chain(shape["holes"].as_array().unwrap());
        for (index, ring) in rings.enumerate() {
            let ring = points(ring);
            // Two half circles.
            if ring.len() == 2 && ring.iter().all(|(_, bulge)| (bulge.abs() - 1.0).abs() < 1e-9) {
                let middle = ((ring[0].0.0 + ring[1].0.0) / 2.0, (ring[0].0.1 + ring[1].0.1) / 2.0);
                let (a, s) = seen(middle);
                marks.push((if index == 0 { "disc" } else { "hole" }.to_owned(), a, s));
                continue;
            }
            for (i, &(from, bulge)) in ring.iter().enumerate() {
                let (a, s) = seen(from);
                marks.push(("corner".to_owned(), a, s));
                if bulge != 0.0 {
                    // Centre from chord c and bulge b: half the chord, then c (1 - b²) / (4 b) to its left.
                    let to = ring[(i + 1) % ring.len()].0;
                    let offset = (1.0 - bulge * bulge) / (4.0 * bulge);
                    let (cx, cy) = (to.0 - from.0, to.1 - from.1);
                    let (a, s) = seen(((from.0 + to.0) / 2.0 - cy * offset, (from.1 + to.1) / 2.0 + cx * offset));
                    marks.push(("arc centre".to_owned(), a, s));
                }
            }
        }
    }
    marks
}

/// Every dimension on the mark-out agrees with the plan to the rounding that it states, and none is missing: read from the
/// files as a person or a program would, and worked out from the plan's JSON apart from dropwise.
#[test]
fn every_dimension_agrees_with_the_plan() {
    for (job, options, step, statement) in [
        (JOB, "", 0.5, "nearest 0.5 mm"),
        (INCHES, "", 25.4 / 32.0, "nearest 1/32 in"),
        (INCHES, "--nearest 1/64", 25.4 / 64.0, "nearest 1/64 in"),
        (INCHES, "--nearest 1/16", 25.4 / 16.0, "nearest 1/16 in"),
        (INCHES, "--nearest 0.5", 0.5, "nearest 0.5 mm"),
    ] {
        let shop = planned(job);
        let run = shop.run(&format!("draw @plan --kind markout,report {options}"));
        assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
        let plan: Value = serde_json::from_str(&shop.read("plan/plan.json")).unwrap();
        let rows = table(&shop.read("plan/mark-out.csv"));
        let column =
            |name: &str| rows[0].iter().position(|heading| heading == name).unwrap_or_else(|| panic!("{name}"));
        let (what, along, square) = (column("what"), column("along"), column("square"));
        let mut found = 0;
        for (number, sheet) in plan["sheets"].as_array().unwrap().iter().enumerate() {
            let mut here: Vec<&Vec<String>> =
                rows[1..].iter().filter(|row| row[0] == (number + 1).to_string()).collect();
            for (kind, a, s) in expected_marks(sheet) {
                let is_it = |row: &&Vec<String>| {
                    row[what].starts_with(&kind)
                        && (read_off(&row[along]) - a).abs() <= step / 2.0 + 1e-6
                        && (read_off(&row[square]) - s).abs() <= step / 2.0 + 1e-6
                };
                let at =
                    here.iter().position(is_it).unwrap_or_else(|| panic!("{kind} at {a}, {s} is missing: {here:#?}"));
                here.remove(at);
                found += 1;
            }
            assert!(here.is_empty(), "too many: {here:#?}");
        }
        assert!(found >= 12, "{found}");
        // The page holds the same distances, row for row, and says how far they may be off.
        let report = shop.read("plan/report.html");
        assert!(report.contains(statement), "{statement}");
        let number = column("number");
        // Where an arc runs into an edge the page tells its centre alone.
        let is_swung = |row: &Vec<String>| {
            let ends = |arc: &&Vec<String>| arc[..3] == row[..3] && arc[what].starts_with("arc centre");
            rows[1..].iter().filter(ends).any(|arc| arc[number].split(" to ").any(|end| end == row[number]))
        };
        for row in rows[1..].iter().filter(|row| row[what] != "corner" || !is_swung(row)) {
            let distance = row[along].trim_end_matches(" mm").trim_end_matches(" in");
            assert!(report.contains(&format!(">{distance}<")), "{row:?}");
        }
    }
}

/// Names that break pages, pictures, tables and drawings, if anything does.
#[test]
fn names_break_nothing() {
    let names =
        ["<script>alert(1)</script> & \\\"q\\\"", "שלום עולם 12", "🔩 emoji ]]> -->", "=cmd|' /C calc'!A0", "ordinary"];
    let long = "W".repeat(300);
    for name in names.into_iter().chain([long.as_str()]) {
        let job = JOB.replace("\"foot\"", &format!("\"{name}\"")).replace("\"drop 4\"", &format!("\"{name}\""));
        let shop = Shop::new();
        shop.write("job.toml", job);
        let nest = shop.run("nest @job.toml --rounds 0 --out @plan --quiet");
        if nest.exit == Exit::BadInput {
            // Refused where it is written down, with its place.
            assert!(nest.stderr.starts_with("DIR/job.toml:"), "{}", nest.stderr);
            continue;
        }
        let run = shop.run("draw @plan --quiet");
        assert_eq!((run.exit, run.stderr.as_str()), (Exit::Done, ""), "{name}");
        let report = shop.read("plan/report.html");
        assert!(!report.contains("<script>alert"));
        let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
        roxmltree::Document::parse_with_options(&report, options).unwrap_or_else(|error| panic!("{name}: {error}"));
        for entry in walk(&shop.path("plan")) {
            let file = std::fs::read(&entry).unwrap();
            match entry.extension().and_then(|ending| ending.to_str()) {
                Some("svg") => {
                    let text = String::from_utf8(file).unwrap();
                    roxmltree::Document::parse(&text).unwrap_or_else(|error| panic!("{name}, {entry:?}: {error}"));
                }
                Some("dxf") => {
                    assert!(file.is_ascii(), "{entry:?}");
                    let read = read_dxf(&file, &DrawingOptions::for_file("x.dxf"));
                    let drawing = read.unwrap_or_else(|error| panic!("{name}, {entry:?}: {error}"));
                    // Letters that the format escapes come back as they were.
                    if name.contains("שלום") && entry.to_string_lossy().contains("part-") {
                        assert!(drawing.shapes[0].labels[0].contains("שלום"), "{:?}", drawing.shapes[0].labels);
                    }
                }
                Some("pdf") => assert!(file.starts_with(b"%PDF-1.7")),
                _ => {}
            }
        }
        let rows = table(&shop.read("plan/mark-out.csv"));
        assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{name}");
        assert!(rows.iter().flatten().all(|cell| !cell.starts_with('=')), "{name}");
    }
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

#[test]
fn sheets_larger_than_any_paper_are_drawn_and_templates_that_would_be_a_book_are_not() {
    let shop = Shop::new();
    let job = JOB.replace("width = 120, height = 80", "width = 9000, height = 4000").replace("quantity = 3\n", "");
    shop.write("job.toml", job.replace("width = 300, height = 200", "width = 12000, height = 5000"));
    let nest = shop.run("nest @job.toml --rounds 0 --out @plan --quiet");
    assert_eq!(nest.exit, Exit::Done, "{}", nest.stderr);
    let run = shop.run("draw @plan");
    assert_eq!(run.exit, Exit::Done);
    assert!(run.stderr.contains("templates: foot takes"), "{}", run.stderr);
    assert!(run.stderr.contains("--paper roll:36in") && run.stderr.contains("mark-out.csv"), "{}", run.stderr);
    let alone = shop.run("draw @plan --part foot");
    assert_eq!(alone.exit, Exit::BadInput, "nothing that was asked for could be made");
}

/// A template as the command writes it, rendered by poppler and measured: 120 by 80 mm, within 0.1 mm.
#[test]
fn a_template_is_true_to_a_tenth_of_a_millimetre() {
    let Some(pdftoppm) = tools::find("pdftoppm") else { return };
    let shop = planned(JOB);
    for (options, factors) in [("", [1.0, 1.0]), ("--square 98x101", [100.0 / 98.0, 100.0 / 101.0])] {
        assert_eq!(shop.run(&format!("draw @plan --part foot {options}")).exit, Exit::Done);
        let raster = Raster::of(&pdftoppm, &shop.path("plan/templates/part-1-foot.pdf"), 2);
        for (lines, side) in [(raster.rows(), 120.0 * factors[0]), (raster.columns(), 80.0 * factors[1])] {
            // Text and crosses are on some scans; the two sides of the plate are on many.
            let is_true = |marks: &&Vec<f64>| marks.iter().any(|a| marks.iter().any(|b| (b - a - side).abs() < 0.1));
            let count = lines.iter().filter(is_true).count();
            assert!(count > 200, "{options}: {side} mm is met on {count} scans only");
        }
    }
}

/// A page in grey, 300 dots an inch.
struct Raster {
    width: usize,
    dots: Vec<u8>,
}

impl Raster {
    const DPI: f64 = 300.0;

    fn of(pdftoppm: &std::path::Path, pdf: &std::path::Path, page: usize) -> Self {
        let page = page.to_string();
        let output = Command::new(pdftoppm)
            .args(["-gray", "-singlefile", "-r", "300", "-f", &page, "-l", &page])
            .arg(pdf)
            .output()
            .unwrap();
        // Netpbm: "P5", width, height, 255, one blank, then the dots.
        let mut at = 0;
        let bytes = output.stdout;
        let mut word = || {
            let start = at + bytes[at..].iter().position(|byte| !byte.is_ascii_whitespace()).unwrap();
            at = start + bytes[start..].iter().position(u8::is_ascii_whitespace).unwrap();
            String::from_utf8(bytes[start..at].to_vec()).unwrap()
        };
        assert_eq!(word(), "P5");
        let width: usize = word().parse().unwrap();
        let (_, _) = (word(), word());
        Self { width, dots: bytes[at + 1..].to_vec() }
    }

    /// Middles of dark runs, mm.
    fn middles(dots: impl Iterator<Item = u8>) -> Vec<f64> {
        let (mut found, mut weight, mut moment) = (Vec::new(), 0.0, 0.0);
        for (index, dot) in dots.chain([255]).enumerate() {
            if dot < 250 {
                let dark = f64::from(255 - dot);
                (weight, moment) = (weight + dark, moment + dark * (index as f64 + 0.5));
            } else if weight > 0.0 {
                found.push(moment / weight / Self::DPI * 25.4);
                (weight, moment) = (0.0, 0.0);
            }
        }
        found
    }

    fn rows(&self) -> Vec<Vec<f64>> {
        self.dots.chunks(self.width).map(|row| Self::middles(row.iter().copied())).collect()
    }

    fn columns(&self) -> Vec<Vec<f64>> {
        (0..self.width).map(|x| Self::middles(self.dots.iter().skip(x).step_by(self.width).copied())).collect()
    }
}
