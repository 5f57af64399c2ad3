//! One frame for each part: every bend line, hole and corner of the bent demo parts, read back out of everything that is
//! made of them.
//!
//! The frame is that of [`dropwise_shop::PartFrame`]: the lower left corner of the box around the flat pattern, x to the
//! right and y up. Readers take as little from the layout of a page as they can:
//! * `flat`: a row that begins with the number and name of a bend and ends with five figures (both ends, length).
//! * `report.html`: within the element with `id="bends"`, a heading that is the part's name, below it rows with one cell
//!   "from" and one cell "to", each two figures with a comma between, in the order of the bends.
//! * `mark-out.pdf`: after "Part by itself, in mm: NAME", for each point a line that holds both its distances to 0.5 mm.
//! * Drawings are read by the readers that take drawings in.
//! * `templates/parts.pdf` on a roll so wide that no part is cut up: the part lies somewhere on a page at full size, its bend
//!   lines dashed (up: two lengths; down: four).
//! * `cut-sheets.pdf`: on a page for each sheet everything lies as in the plan, at one of the usual scales.
//! * `bend-cards.pdf`: the page with the part's name holds the distances of its level and upright bend lines to 0.5 mm.
//! * `NAME-flat.svg`: a unit is a millimetre; texts hold the same distances to 0.001 mm.

use std::collections::HashMap;
use std::path::Path;
use std::process::Command;

use dropwise_cli::Exit;
use dropwise_formats::drawing::{Drawing, DrawingOptions};
use dropwise_formats::dxf::read_dxf;
use dropwise_formats::svg::read_svg;
use dropwise_formats::{LoadedJob, load_job};
use dropwise_geometry::{Point, Segment, Vector};
use dropwise_shop::fold::Direction;
use serde_json::Value;

use crate::pdf_paths::{self, Stroke};
use crate::shop::Shop;
use crate::tools;

/// A part as it should be everywhere.
struct Expected {
    name: String,
    index: usize,
    corners: Vec<Point>,
    holes: Vec<Point>,
    /// Middles of the round ones.
    round: Vec<Point>,
    /// Their diameters.
    diameters: Vec<f64>,
    /// Size of the box around it.
    size: Point,
    bends: Vec<[Point; 2]>,
    is_up: Vec<bool>,
}

fn expected(loaded: &LoadedJob) -> Vec<Expected> {
    let parts = loaded.job.parts().iter().zip(&loaded.parts).enumerate();
    parts
        .filter_map(|(index, (part, detail))| {
            let flat = &detail.bent.as_deref()?.unfolding;
            assert!(part.shape.bounds().min.distance(Point::ORIGIN) < 1e-9, "{}: the corner is the origin", part.name);
            let corners = part.shape.exterior().vertices().iter().map(|vertex| vertex.point).collect();
            let holes = part.shape.holes().iter().map(|hole| hole.bounds().center()).collect();
            let round = flat.holes.iter().filter(|hole| hole.diameter.is_some()).map(|hole| hole.center).collect();
            let diameters = flat.holes.iter().filter_map(|hole| hole.diameter).collect();
            let size = part.shape.bounds().max;
            let bends = flat.bends.iter().map(|bend| bend.line).collect();
            let is_up = flat.bends.iter().map(|bend| bend.direction == Direction::Up).collect();
            Some(Expected { name: part.name.clone(), index, corners, holes, round, diameters, size, bends, is_up })
        })
        .collect()
}

fn assert_line(what: &str, found: [Point; 2], wanted: [Point; 2], slack: f64) {
    let off = found.iter().zip(wanted).map(|(a, b)| (a.x - b.x).abs().max((a.y - b.y).abs())).fold(0.0, f64::max);
    assert!(off <= slack, "{what}: {found:?} is not {wanted:?}");
}

/// Every wanted point is among those found, and none besides.
fn assert_points(what: &str, found: &[Point], wanted: &[Point], slack: f64) {
    assert_eq!(found.len(), wanted.len(), "{what}");
    for point in wanted {
        assert!(found.iter().any(|other| other.distance(*point) <= slack), "{what}: {point:?} is not in {found:?}");
    }
}

fn point(value: &Value) -> Point {
    Point::new(value[0].as_f64().expect("x"), value[1].as_f64().expect("y"))
}

fn demo() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data-demo/bent.toml")
}

#[test]
fn flat_tells_places_in_the_frame() {
    let parts = expected(&load_job(&demo()).expect("the demo is sound"));
    assert!(parts.len() >= 12 && parts.iter().map(|part| part.bends.len()).sum::<usize>() > 30);
    let shop = Shop::new();
    let job = demo();
    let job = job.to_str().expect("a plain path");
    let run = shop.run(&format!("flat {job} --json --out @out"));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let document: Value = serde_json::from_str(&run.stdout).expect("JSON");
    let page = shop.run(&format!("flat {job}")).stdout;
    let mut sections = page.as_str();
    for (part, told) in parts.iter().zip(document["parts"].as_array().expect("parts")) {
        assert_eq!(told["part"], part.name);
        for (bend, wanted) in told["bends"].as_array().expect("bends").iter().zip(&part.bends) {
            assert_line(&part.name, [point(&bend["line"][0]), point(&bend["line"][1])], *wanted, 1e-9);
        }
        for finding in told["findings"].as_array().expect("findings").iter().filter(|finding| !finding["at"].is_null())
        {
            let (at, size) = (point(&finding["at"]), point(&told["flat_size"]));
            let is_within = (-1e-6..=size.x + 1e-6).contains(&at.x) && (-1e-6..=size.y + 1e-6).contains(&at.y);
            assert!(is_within, "{}: {finding}", part.name);
        }
        // The page: everything after the table's heading, bend by bend.
        let at = sections.find("Bend line").unwrap_or_else(|| panic!("{}: no table of bend lines", part.name));
        sections = &sections[at + "Bend line".len()..];
        for (number, wanted) in part.bends.iter().enumerate() {
            let row = sections.lines().skip(1).find(|line| line.starts_with(&format!("{} ", number + 1)));
            let row = row.unwrap_or_else(|| panic!("{}: no bend {}", part.name, number + 1));
            let figures: Vec<f64> = row.split_whitespace().rev().take(5).filter_map(|word| word.parse().ok()).collect();
            let [_, y2, x2, y1, x1] = figures[..] else { panic!("{row}") };
            assert_line(row, [Point::new(x1, y1), Point::new(x2, y2)], *wanted, 6e-4);
        }
        let file = part.name.replace(' ', "-");
        let dxf = if file == part.name { file } else { format!("{file}-{}", part.index + 1) };
        let bytes = std::fs::read(shop.path(&format!("out/{dxf}-flat.dxf"))).expect("the cutting file");
        drawn(part, &read_dxf(&bytes, &DrawingOptions::default()).expect("a drawing"), 1e-6);
        flat_picture(part, &shop.read(&format!("out/{dxf}-flat.svg")));
    }
}

/// Distances of the level and upright bend lines from the datum, as they stand at a drawing, and the sizes over all.
fn distances(part: &Expected) -> Vec<f64> {
    let lines = part.bends.iter().filter_map(|[from, to]| {
        let way = *to - *from;
        if way.x.abs() < 1e-9 * way.y.abs() {
            Some(from.x)
        } else {
            (way.y.abs() < 1e-9 * way.x.abs()).then_some(from.y)
        }
    });
    lines.chain([part.size.x, part.size.y]).collect()
}

/// The picture of a flat pattern: lines where they are, and the figures at them.
fn flat_picture(part: &Expected, svg: &str) {
    let texts: Vec<f64> = svg
        .split("<text")
        .skip(1)
        .filter_map(|text| {
            let text = text.split('>').nth(1)?.split('<').next()?;
            text.trim().trim_end_matches(" mm").parse().ok()
        })
        .collect();
    for distance in distances(part) {
        let is_told = texts.iter().any(|told| (told - distance).abs() <= 0.0051);
        assert!(is_told, "{}: {distance} stands at no line of its picture: {texts:?}", part.name);
    }
    let (mut corners, mut dashed) = (Vec::new(), Vec::new());
    for path in svg.split("<path ").skip(1).filter_map(|path| path.split("/>").next()) {
        let d = path.split("d=\"").nth(1).and_then(|rest| rest.split('"').next()).unwrap_or_default();
        let points = ends_of(d);
        if path.contains("stroke-dasharray") {
            if let [from, to] = points[..] {
                dashed.push([from, to]);
            }
        } else {
            corners.extend(points);
        }
    }
    let place = placed(&corners, &part.corners, 2e-3).unwrap_or_else(|| panic!("{} is not in its picture", part.name));
    for wanted in &part.bends {
        let wanted = wanted.map(|point| point + place);
        let is_it = |line: &[Point; 2]| {
            let off = |a: Point, b: Point| a.distance(wanted[0]).max(b.distance(wanted[1]));
            off(line[0], line[1]).min(off(line[1], line[0])) < 2e-3
        };
        assert!(dashed.iter().any(is_it), "{}: {wanted:?} is not in its picture: {dashed:?}", part.name);
    }
}

/// Where the pieces of an SVG path end, y up.
fn ends_of(d: &str) -> Vec<Point> {
    d.split(char::is_alphabetic)
        .filter_map(|piece| {
            let numbers: Vec<f64> = piece.split([' ', ',']).filter_map(|word| word.parse().ok()).collect();
            let [.., x, y] = numbers[..] else { return None };
            Some(Point::new(x, -y))
        })
        .collect()
}

/// By what a part is moved so that all its corners are among these points.
fn placed(points: &[Point], corners: &[Point], slack: f64) -> Option<Vector> {
    let found = Found::new(points, slack);
    points.iter().map(|&point| point - corners[0]).find(|&by| corners.iter().all(|&corner| found.is_there(corner + by)))
}

/// Points, to be asked whether one is there.
struct Found {
    cells: HashMap<(i64, i64), Vec<Point>>,
    slack: f64,
}

impl Found {
    fn new(points: &[Point], slack: f64) -> Self {
        let mut found = Self { cells: HashMap::new(), slack };
        for &point in points {
            found.cells.entry(found.cell(point)).or_default().push(point);
        }
        found
    }

    fn cell(&self, point: Point) -> (i64, i64) {
        ((point.x / self.slack / 4.0).round() as i64, (point.y / self.slack / 4.0).round() as i64)
    }

    fn is_there(&self, point: Point) -> bool {
        let (x, y) = self.cell(point);
        let near = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy)));
        near.filter_map(|cell| self.cells.get(&cell)).flatten().any(|other| other.distance(point) <= self.slack)
    }
}

/// A drawing of one part.
fn drawn(part: &Expected, drawing: &Drawing, slack: f64) {
    assert_eq!(drawing.shapes.len(), 1, "{}", part.name);
    let shape = &drawing.shapes[0];
    let corners: Vec<Point> = shape.shape.exterior().vertices().iter().map(|vertex| vertex.point).collect();
    for wanted in &part.corners {
        assert!(corners.iter().any(|other| other.distance(*wanted) <= slack), "{}: {wanted:?}: {corners:?}", part.name);
    }
    let holes: Vec<Point> = shape.shape.holes().iter().map(|hole| hole.bounds().center()).collect();
    assert_points(&part.name, &holes, &part.holes, slack.max(1e-6));
    assert_eq!(shape.bend_lines.len(), part.bends.len(), "{}", part.name);
    for wanted in &part.bends {
        let is_it = |line: &Segment| {
            let (a, b) = (line.start(), line.end());
            a.distance(wanted[0]).max(b.distance(wanted[1])) <= slack
                || b.distance(wanted[0]).max(a.distance(wanted[1])) <= slack
        };
        assert!(shape.bend_lines.iter().any(is_it), "{}: {wanted:?} is not in {:?}", part.name, shape.bend_lines);
    }
}

#[test]
fn plan_report_cutting_files_and_mark_out_share_the_frame() {
    let loaded = load_job(&demo()).expect("the demo is sound");
    let parts = expected(&loaded);
    let shop = Shop::new();
    let job = demo();
    let job = job.to_str().expect("a plain path");
    let run = shop.run(&format!("nest {job} --rounds 2 --despite-checks --out @plan --quiet"));
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let run = shop.run("draw @plan --kind report,markout,cutsheet,bendcard,dxf,svg --quiet");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let plan: Value = serde_json::from_str(&shop.read("plan/plan.json")).expect("a plan");
    let report = shop.read("plan/report.html");
    let files: Vec<std::path::PathBuf> = ["dxf", "svg"]
        .iter()
        .flat_map(|folder| std::fs::read_dir(shop.path(&format!("plan/{folder}"))).expect("a folder"))
        .map(|entry| entry.expect("an entry").path())
        .collect();
    for part in &parts {
        let entry = &plan["parts"][part.index];
        let vertices = |ring: &Value| -> Vec<Point> {
            let at = |vertex: &Value| Point::new(vertex["x"].as_f64().expect("x"), vertex["y"].as_f64().expect("y"));
            ring.as_array().expect("a ring").iter().map(at).collect()
        };
        assert_points(&part.name, &vertices(&entry["shape"]["outline"]), &part.corners, 1e-9);
        for (index, (bend, wanted)) in entry["bends"].as_array().expect("bends").iter().zip(&part.bends).enumerate() {
            assert_line(&part.name, [point(&bend["from"]), point(&bend["to"])], *wanted, 1e-9);
            assert_eq!(bend["is_up"], part.is_up[index]);
        }
        for (wanted, found) in part.bends.iter().zip(report_bends(&report, &part.name)) {
            assert_line(&format!("report, {}", part.name), found, *wanted, 0.2501);
        }
        let prefix = format!("part-{}-", part.index + 1);
        let own: Vec<_> = files
            .iter()
            .filter(|path| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(&prefix)))
            .collect();
        assert_eq!(own.len(), 2, "{}: one DXF and one SVG: {own:?}", part.name);
        for path in own {
            let bytes = std::fs::read(path).expect("a file");
            if path.extension().is_some_and(|ending| ending == "svg") {
                let text = String::from_utf8(bytes).expect("text");
                drawn(part, &read_svg(&text, &DrawingOptions::default()).expect("a drawing"), 1e-3);
            } else {
                drawn(part, &read_dxf(&bytes, &DrawingOptions::default()).expect("a drawing"), 1e-6);
            }
        }
    }
    mark_out(&shop, &parts);
    bend_cards(&shop, &parts);
    templates(&shop, &parts);
    cut_sheets(&shop, &parts, &plan);
}

/// How far a line may lie from where it should on paper, mm.
const ON_PAPER: f64 = 0.03;

/// Ends of all strokes.
fn ends(strokes: &[Stroke]) -> Vec<Point> {
    strokes.iter().flat_map(|stroke| [stroke.from, stroke.to]).collect()
}

/// A bend line on a page: dashes of its direction from end to end. Labels may break it between.
fn assert_dashed(what: &str, strokes: &[Stroke], line: [Point; 2], is_up: bool) {
    let along = (line[1] - line[0]).unit().expect("a line");
    let in_line = |stroke: &&Stroke| {
        stroke.dashes > 0
            && [stroke.from, stroke.to].iter().all(|&point| {
                let way = point - line[0];
                let at = along.dot(way);
                along.cross(way).abs() < ON_PAPER && (-ON_PAPER..=line[0].distance(line[1]) + ON_PAPER).contains(&at)
            })
    };
    let own: Vec<&Stroke> = strokes.iter().filter(in_line).collect();
    for end in line {
        let is_there = own.iter().any(|stroke| stroke.from.distance(end).min(stroke.to.distance(end)) < ON_PAPER);
        assert!(is_there, "{what}: no dashes end at {end:?}: {own:?}");
    }
    // A dash and a gap; a dash, a gap, a dot, a gap.
    let wanted = if is_up { 2 } else { 4 };
    assert!(own.iter().all(|stroke| stroke.dashes == wanted), "{what}: {own:?}");
}

/// A round hole on a page: some curves end at its radius around its middle.
fn assert_hole(what: &str, strokes: &[Stroke], center: Point, radius: f64) {
    let curves = strokes.iter().filter(|stroke| stroke.is_curve);
    let around = curves.filter(|stroke| (stroke.to.distance(center) - radius).abs() < ON_PAPER).count();
    assert!(around >= 4, "{what}: no hole of radius {radius} at {center:?}");
}

/// Parts at full size, on a roll so wide that each lies whole on one page.
fn templates(shop: &Shop, parts: &[Expected]) {
    let run = shop.run("draw @plan --kind template --paper roll:1200 --out @wide --quiet");
    assert_eq!(run.exit, Exit::Done, "{}", run.stderr);
    let Some(pages) = pdf_paths::strokes(&shop.path("wide/templates/parts.pdf")) else { return };
    for part in parts {
        // Long parts lie along the roll.
        let turned = |turn: i32, point: Point| match turn {
            0 => point,
            90 => Point::new(-point.y, point.x),
            _ => Point::new(point.y, -point.x),
        };
        let page = pages.iter().find_map(|strokes| {
            let ends = ends(strokes);
            [0, 90, -90].into_iter().find_map(|turn| {
                let corners: Vec<Point> = part.corners.iter().map(|&corner| turned(turn, corner)).collect();
                Some((strokes, turn, placed(&ends, &corners, ON_PAPER)?))
            })
        });
        let (strokes, turn, by) = page.unwrap_or_else(|| panic!("{} is on no template", part.name));
        let what = format!("template, {}", part.name);
        for (line, &is_up) in part.bends.iter().zip(&part.is_up) {
            assert_dashed(&what, strokes, line.map(|point| turned(turn, point) + by), is_up);
        }
        for (&center, diameter) in part.round.iter().zip(&part.diameters) {
            assert_hole(&what, strokes, turned(turn, center) + by, diameter / 2.0);
        }
    }
}

/// Scales that sheets are drawn to.
const SCALES: [f64; 20] =
    [1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 8.0, 10.0, 12.0, 12.5, 15.0, 16.0, 20.0, 24.0, 25.0, 30.0, 40.0, 50.0];

/// Sheets with their parts, drawn to scale: every part as it is placed.
fn cut_sheets(shop: &Shop, parts: &[Expected], plan: &Value) {
    let Some(pages) = pdf_paths::strokes(&shop.path("plan/cut-sheets.pdf")) else { return };
    let number = |value: &Value| value.as_f64().expect("a number");
    let mut count = 0;
    for sheet in plan["sheets"].as_array().expect("sheets") {
        let vertices = |shape: &Value| -> Vec<Point> {
            let ring = shape["outline"].as_array().expect("an outline");
            ring.iter().map(|vertex| Point::new(number(&vertex["x"]), number(&vertex["y"]))).collect()
        };
        let placements = sheet["placements"].as_array().expect("placements");
        let mut corners = vertices(&sheet["shape"]);
        corners.extend(placements.iter().flat_map(|placement| vertices(&placement["shape"])));
        let found = pages.iter().find_map(|strokes| {
            let ends = ends(strokes);
            SCALES.into_iter().find_map(|scale| {
                let drawn: Vec<Point> =
                    corners.iter().map(|&corner| Point::ORIGIN + (corner - Point::ORIGIN) / scale).collect();
                Some((strokes, scale, placed(&ends, &drawn, ON_PAPER)?))
            })
        });
        let (strokes, scale, by) = found.unwrap_or_else(|| panic!("sheet {} is on no page", sheet["name"]));
        for placement in placements {
            let Some(part) = parts.iter().find(|part| placement["part"] == part.index) else { continue };
            count += 1;
            let is_flipped = placement["is_flipped"].as_bool().expect("a flag");
            let (sin, cos) = number(&placement["turn_deg"]).to_radians().sin_cos();
            let lies = |point: Point| {
                let x = if is_flipped { -point.x } else { point.x };
                let turned = Vector::new(cos * x - sin * point.y, sin * x + cos * point.y);
                let on_sheet = turned + Vector::new(number(&placement["x"]), number(&placement["y"]));
                Point::ORIGIN + on_sheet / scale + by
            };
            let what = format!("cut sheet, {}", part.name);
            for (line, &is_up) in part.bends.iter().zip(&part.is_up) {
                // Face down it is seen from the other side.
                assert_dashed(&what, strokes, line.map(lies), is_up != is_flipped);
            }
        }
    }
    assert!(count >= parts.len(), "{count} placed parts were looked at");
}

/// The distances of bend lines on the page of each part.
fn bend_cards(shop: &Shop, parts: &[Expected]) {
    let Some(pdftotext) = tools::find("pdftotext") else { return };
    let path = shop.path("plan/bend-cards.pdf");
    let output =
        Command::new(pdftotext).args(["-raw", "-enc", "UTF-8"]).arg(path).arg("-").output().expect("it starts");
    let text = String::from_utf8(output.stdout).expect("text");
    for part in parts {
        let page = text.split('\u{c}').find(|page| page.lines().take(4).any(|line| line.contains(&part.name)));
        let page = page.unwrap_or_else(|| panic!("{} has no card", part.name));
        let figures: Vec<f64> = page.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        for distance in distances(part) {
            let is_told = figures.iter().any(|told| (told - distance).abs() <= 0.2501);
            assert!(is_told, "{}: {distance} is not on its card\n{page}", part.name);
        }
    }
}

/// The two ends of each bend line of a part, from the page.
fn report_bends(report: &str, name: &str) -> Vec<[Point; 2]> {
    let section = &report[report.find(r#"id="bends""#).expect("a section of bends")..];
    let at = section.find(&format!(">{name}</h3>")).unwrap_or_else(|| panic!("{name} has no table of bends"));
    let table = &section[at..];
    let table = &table[..table.find("</table>").expect("a table")];
    let rows = table.split("<tr").skip(2).map(|row| {
        let cells = row.split("<t").skip(1).filter_map(|cell| {
            let text = &cell[cell.find('>')? + 1..];
            let text = &text[..text.find("</t")?];
            let (x, y) = text.split_once(", ")?;
            Some(Point::new(x.parse().ok()?, y.parse().ok()?))
        });
        let cells: Vec<Point> = cells.collect();
        let [from, to] = cells[..] else { panic!("{name}: {row}") };
        [from, to]
    });
    rows.collect()
}

/// The tables of parts by themselves, read off the printed pages.
fn mark_out(shop: &Shop, parts: &[Expected]) {
    let Some(pdftotext) = tools::find("pdftotext") else { return };
    let output = Command::new(pdftotext)
        .args(["-layout", "-enc", "UTF-8"])
        .args([shop.path("plan/mark-out.pdf").to_str().expect("a plain path"), "-"])
        .output()
        .expect("it starts");
    let text = String::from_utf8(output.stdout).expect("text");
    for part in parts {
        // The table of contents names it too, and a table that runs over a page is headed again.
        let is_own =
            |chunk: &&str| chunk.strip_prefix(&part.name).is_some_and(|rest| rest.starts_with(char::is_whitespace));
        let chunks = text.split('\u{c}').flat_map(|page| page.split("Part by itself, in mm: ").skip(1)).filter(is_own);
        // A sheet may follow on the same page.
        let own: String = chunks.filter_map(|chunk| chunk.split(", sheet ").next()).collect();
        let figures: Vec<Vec<f64>> = own
            .lines()
            .map(|line| line.split_whitespace().filter_map(|word| word.trim_end_matches(',').parse().ok()).collect())
            .collect();
        let is_there = |point: &Point| {
            let is = |found: &f64, wanted: f64| (found - wanted).abs() <= 0.2501;
            figures.iter().any(|row| row.windows(2).any(|pair| is(&pair[0], point.x) && is(&pair[1], point.y)))
        };
        for point in part.bends.iter().flatten().chain(&part.round) {
            assert!(is_there(point), "{}: {point:?} is in no line of\n{own}", part.name);
        }
    }
}
