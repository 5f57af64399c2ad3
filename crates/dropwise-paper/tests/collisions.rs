//! No label is struck through: texts of finished pictures and pages are held against every line and every other text.
//!
//! SVG is read as XML, PDF through poppler: `pdftocairo` turns a page into lines, `pdftotext` tells where words stand. The
//! second tier (`DROPWISE_TIER=2`) looks at 200 random plans, the first at a few.

mod fixture;
mod tools;

use std::process::Command;

use dropwise_geometry::{Isometry, Outline, Point, Shape, Unit};
use dropwise_model::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Plan, Provenance, Sheet, SheetUse, StockClass,
    Turns,
};
use dropwise_paper::{BendLine, CutSheetSettings, DrawingStyle, draw_sheet, write_cut_sheets};

/// A box of text: lower and upper limits of x and y.
type TextBox = (f64, f64, f64, f64, String);

/// Texts and lines of a picture, in its own units.
#[derive(Default)]
struct Seen {
    texts: Vec<TextBox>,
    lines: Vec<[Point; 2]>,
}

impl Seen {
    /// Texts that a line runs through, and pairs of texts on each other.
    fn collisions(&self) -> Vec<String> {
        let mut found = Vec::new();
        for (index, (left, top, right, bottom, text)) in self.texts.iter().enumerate() {
            let middle = Point::new((left + right) / 2.0, (top + bottom) / 2.0);
            let half = ((right - left) / 2.0, (bottom - top) / 2.0);
            let strikes = |[a, b]: &&[Point; 2]| meets(*a - middle, *b - middle, half);
            if let Some(line) = self.lines.iter().find(strikes) {
                found.push(format!("\"{text}\" is struck by {line:?}"));
            }
            for (l, t, r, b, other) in &self.texts[index + 1..] {
                if left < r && l < right && top < b && t < bottom {
                    found.push(format!("\"{text}\" lies on \"{other}\""));
                }
            }
        }
        found
    }
}

/// Whether a line meets a box about the origin, by clipping it.
fn meets(a: dropwise_geometry::Vector, b: dropwise_geometry::Vector, (x, y): (f64, f64)) -> bool {
    let way = b - a;
    let (mut first, mut last) = (0.0f64, 1.0f64);
    for (from, step, half) in [(a.x, way.x, x), (a.y, way.y, y)] {
        if step.abs() < 1e-12 {
            if from.abs() >= half {
                return false;
            }
            continue;
        }
        let (one, other) = ((-half - from) / step, (half - from) / step);
        first = first.max(one.min(other));
        last = last.min(one.max(other));
    }
    first < last
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text} is no number"))
}

/// Points of path data with straight lines, arcs and cubic curves, as chains.
fn chains(data: &str) -> Vec<Vec<Point>> {
    let mut tokens: Vec<String> = Vec::new();
    for c in data.chars() {
        if c.is_ascii_alphabetic() && c != 'e' {
            tokens.push(c.to_string());
            tokens.push(String::new());
        } else if c.is_whitespace() || c == ',' {
            tokens.push(String::new());
        } else if c == '-' && tokens.last().is_some_and(|last| !last.is_empty() && !last.ends_with('e')) {
            tokens.push(c.to_string());
        } else if let Some(last) = tokens.last_mut() {
            last.push(c);
        }
    }
    let mut tokens = tokens.into_iter().filter(|token| !token.is_empty()).peekable();
    let mut chains: Vec<Vec<Point>> = Vec::new();
    let mut command = String::new();
    while let Some(token) = tokens.peek() {
        if token.chars().all(|c| c.is_ascii_alphabetic()) {
            command = tokens.next().unwrap();
        }
        let mut next = || number(&tokens.next().unwrap());
        match command.as_str() {
            "M" => chains.push(vec![Point::new(next(), next())]),
            "L" => chains.last_mut().unwrap().push(Point::new(next(), next())),
            "A" => {
                // Radii, turn and flags; the arc is looked at in chords.
                let (radius, _, _, is_large, is_positive) = (next(), next(), next(), next() == 1.0, next() == 1.0);
                let to = Point::new(next(), next());
                let from = *chains.last().unwrap().last().unwrap();
                chains.last_mut().unwrap().extend(arc(from, to, radius, is_large, is_positive));
            }
            "C" => {
                let from = *chains.last().unwrap().last().unwrap();
                let (a, b, to) = (Point::new(next(), next()), Point::new(next(), next()), Point::new(next(), next()));
                for step in 1..=6 {
                    let t = f64::from(step) / 6.0;
                    let (ab, bc, cd) = (from.lerp(a, t), a.lerp(b, t), b.lerp(to, t));
                    chains.last_mut().unwrap().push(ab.lerp(bc, t).lerp(bc.lerp(cd, t), t));
                }
            }
            "Z" => {
                if let Some(chain) = chains.last_mut() {
                    let first = chain[0];
                    chain.push(first);
                }
            }
            other => panic!("unknown command {other} in {data}"),
        }
    }
    chains
}

fn arc(from: Point, to: Point, radius: f64, is_large: bool, is_positive: bool) -> Vec<Point> {
    let middle = from.lerp(to, 0.5);
    let half = from.distance(to) / 2.0;
    let height = (radius * radius - half * half).max(0.0).sqrt();
    let Some(along) = (to - from).unit() else { return vec![to] };
    let side = if is_large == is_positive { -1.0 } else { 1.0 };
    let center = middle + along.left() * (height * side);
    let (start, end) = ((from - center).angle(), (to - center).angle());
    let turn = std::f64::consts::TAU;
    let sweep = if is_positive { (end - start).rem_euclid(turn) } else { -(start - end).rem_euclid(turn) };
    (1..=24)
        .map(|i| center + dropwise_geometry::Vector::from_angle(start + sweep * f64::from(i) / 24.0) * radius)
        .collect()
}

fn strokes(seen: &mut Seen, chain: &[Point]) {
    seen.lines.extend(chain.windows(2).map(|pair| [pair[0], pair[1]]));
}

/// A picture of ours as it is written. Widths of letters are those of DejaVu Sans, the widest of the usual faces, at
/// two thirds of the size each and more for wide ones; heights those of its capitals.
fn read_svg(svg: &str) -> Seen {
    let document = roxmltree::Document::parse(svg).unwrap();
    let mut seen = Seen::default();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        if node.ancestors().any(|above| matches!(above.tag_name().name(), "defs" | "clipPath")) {
            continue;
        }
        let attribute = |name: &str| node.attribute(name).unwrap_or_default();
        match node.tag_name().name() {
            "path" if !attribute("stroke").is_empty() && attribute("stroke") != "none" => {
                chains(attribute("d")).iter().for_each(|chain| strokes(&mut seen, chain));
            }
            "polyline" if attribute("stroke") != "#fff" => {
                let points: Vec<Point> = attribute("points")
                    .split(' ')
                    .filter_map(|pair| pair.split_once(','))
                    .map(|(x, y)| Point::new(number(x), number(y)))
                    .collect();
                strokes(&mut seen, &points);
            }
            "text" if node.attribute("transform").is_none() => {
                let (x, y, size) = (number(attribute("x")), number(attribute("y")), number(attribute("font-size")));
                let text = node.text().unwrap_or_default().to_owned();
                let wide = text.chars().count() as f64 * 0.55 * size;
                let left = match attribute("text-anchor") {
                    "middle" => x - wide / 2.0,
                    "end" => x - wide,
                    _ => x,
                };
                seen.texts.push((left, y - 0.73 * size, left + wide, y, text));
            }
            _ => {}
        }
    }
    seen
}

/// A small generator, so that the plans of the test are always the same.
struct Dice(u64);

impl Dice {
    fn next(&mut self, most: f64) -> f64 {
        // Numerical Recipes' linear congruence (from memory).
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64 * most
    }
}

/// A sheet packed in rows with parts of random sizes, some turned, some face down, some bent, with holes.
fn random_plan(seed: u64) -> (Job, Plan, Vec<BendLine>) {
    let mut dice = Dice(seed.wrapping_mul(977).wrapping_add(13));
    let (wide, high) = (600.0 + dice.next(1400.0), 400.0 + dice.next(800.0));
    let kinds = 4 + dice.next(9.0) as usize;
    let (mut parts, mut bends) = (Vec::new(), Vec::new());
    for kind in 0..kinds {
        let size = (12.0 + dice.next(260.0), 10.0 + dice.next(160.0));
        let mut holes = Vec::new();
        if size.0 > 60.0 && size.1 > 40.0 {
            holes.push(Outline::circle(Point::new(size.0 * 0.3, size.1 * 0.5), 3.0 + dice.next(8.0)).reversed());
            holes.push(Outline::circle(Point::new(size.0 * 0.8, size.1 * 0.4), 2.0 + dice.next(5.0)).reversed());
            if dice.next(1.0) < 0.5 {
                bends.push(BendLine {
                    part: kind,
                    name: "1".to_owned(),
                    from: Point::new(0.0, size.1 * 0.75),
                    to: Point::new(size.0, size.1 * 0.75),
                    turn_deg: 90.0,
                    is_up: dice.next(1.0) < 0.5,
                    inside_radius: 2.0,
                    note: String::new(),
                });
            }
        }
        let names = ["cheek", "corner bracket", "drip edge of the long shed", "lug", "vent link", "base plate left"];
        parts.push(Part {
            name: format!("{} {kind}", names[kind % names.len()]),
            shape: Shape::new(Outline::rectangle(Point::ORIGIN, size.0, size.1), holes),
            quantity: 0,
            class: StockClass::new("steel, 2 mm"),
            turns: Turns::Any,
            may_flip: true,
            need: Need::Filler,
        });
    }
    let mut placements: Vec<Placement> = Vec::new();
    let mut low = 6.0;
    while low < high - 20.0 {
        let (mut left, mut tallest) = (6.0, 10.0f64);
        loop {
            let part = dice.next(kinds as f64) as usize % kinds;
            let turn = if dice.next(1.0) < 0.3 { dice.next(360.0) } else { 90.0 * dice.next(4.0).floor() };
            let position = Isometry::new(dice.next(1.0) < 0.3, turn, 0.0, 0.0);
            let bounds = parts[part].shape.transformed(position).bounds();
            if left + bounds.width() > wide - 6.0 || low + bounds.height() > high - 6.0 {
                break;
            }
            let (dx, dy) = (left - bounds.min.x, low - bounds.min.y);
            placements.push(Placement { part, position: Isometry::new(position.is_mirrored, turn, dx, dy) });
            left += bounds.width() + 2.0;
            tallest = tallest.max(bounds.height());
        }
        low += tallest + 2.0;
    }
    for placement in &placements {
        parts[placement.part].quantity += 1;
    }
    let sheet = Sheet {
        name: "sheet".to_owned(),
        shape: Shape::new(Outline::rectangle(Point::ORIGIN, wide, high), Vec::new()),
        damage: Vec::new(),
        class: StockClass::new("steel, 2 mm"),
        quantity: Some(1),
        price: Money::ZERO,
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    };
    let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
    let rule = LeftoverRule { length: wide, width: high, neck: 1.0 };
    let job = Job::new(parts, vec![sheet], Clearances::default(), rule).unwrap();
    let plan = Plan::new(&job, layout, Provenance::default()).unwrap_or_else(|faults| panic!("{faults:?}"));
    (job, plan, bends)
}

/// A page of a PDF: its strokes by pdftocairo, its words by pdftotext.
fn read_page(pdf: &std::path::Path, page: usize) -> Option<Seen> {
    let (cairo, words) = (tools::find(&["pdftocairo"])?, tools::find(&["pdftotext"])?);
    let page = page.to_string();
    let svg = tools::run(Command::new(cairo).args(["-svg", "-f", &page, "-l", &page]).arg(pdf).arg("-")).stdout;
    let svg = String::from_utf8(svg).unwrap();
    let mut seen = Seen::default();
    let document = roxmltree::Document::parse(&svg).unwrap();
    for node in document.descendants().filter(|node| node.tag_name().name() == "path") {
        let is_glyph = node.ancestors().any(|above| above.tag_name().name() == "defs");
        // Older versions write a style, newer ones an attribute.
        let styled = node
            .attribute("style")
            .and_then(|style| style.split(';').find_map(|pair| pair.trim().strip_prefix("stroke:")))
            .map(str::trim);
        let stroke = styled.or(node.attribute("stroke")).unwrap_or("none");
        // White lines keep others apart and strike nothing.
        if is_glyph || stroke == "none" || stroke.starts_with("rgb(100%") {
            continue;
        }
        let values: Vec<f64> = node
            .attribute("transform")
            .map(|text| {
                text.trim_start_matches("matrix(").trim_end_matches(')').split(',').map(|v| number(v.trim())).collect()
            })
            .unwrap_or_else(|| vec![1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
        let place = |p: Point| {
            Point::new(values[0] * p.x + values[2] * p.y + values[4], values[1] * p.x + values[3] * p.y + values[5])
        };
        for chain in chains(node.attribute("d").unwrap()) {
            let chain: Vec<Point> = chain.into_iter().map(place).collect();
            strokes(&mut seen, &chain);
        }
    }
    let text = tools::run(Command::new(words).args(["-bbox", "-f", &page, "-l", &page]).arg(pdf).arg("-")).stdout;
    let text = String::from_utf8(text).unwrap();
    for line in text.lines().filter(|line| line.contains("<word ")) {
        let value = |name: &str| {
            let from = line.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
            number(line[from..].split('"').next().unwrap())
        };
        let (left, top, right, bottom) = (value("xMin"), value("yMin"), value("xMax"), value("yMax"));
        let word = line.split('>').nth(1).unwrap_or_default().trim_end_matches("</word").to_owned();
        // The box is that of the face, from its highest accent to its lowest tail: capitals stand in the middle of it.
        let (tall, wide) = (bottom - top, right - left);
        let is_upright = tall > 1.3 * wide && word.chars().count() > 2;
        seen.texts.push(if is_upright {
            (left + 0.22 * wide, top, right - 0.22 * wide, bottom, word)
        } else {
            (left, top + 0.22 * tall, right, bottom - 0.24 * tall, word)
        });
    }
    Some(seen)
}

fn count() -> u64 {
    if std::env::var_os("DROPWISE_TIER").is_some_and(|tier| tier == "2") { 200 } else { 6 }
}

#[test]
fn no_label_of_a_random_picture_is_struck() {
    let mut labels = 0;
    for seed in 0..count() {
        let (job, plan, bends) = random_plan(seed);
        let style = DrawingStyle { unit: Unit::Millimetre, bends, ..DrawingStyle::default() };
        let svg = draw_sheet(&job, &plan, 0, &style);
        let seen = read_svg(&svg);
        labels += seen.texts.len();
        assert_eq!(seen.collisions(), Vec::<String>::new(), "seed {seed}");
    }
    assert!(labels > 100);
}

#[test]
fn no_label_of_a_random_cut_sheet_is_struck() {
    let folder = tempfile::tempdir().unwrap();
    for seed in 0..count().div_ceil(2) {
        let (job, plan, bends) = random_plan(seed + 1000);
        let settings = CutSheetSettings { bends: &bends, job_name: "random", ..CutSheetSettings::default() };
        let path = folder.path().join("sheet.pdf");
        std::fs::write(&path, write_cut_sheets(&job, &plan, &settings)).unwrap();
        let Some(seen) = read_page(&path, 1) else { return };
        assert!(
            seen.texts.len() > 10 && seen.lines.len() > 20,
            "{} texts, {} lines",
            seen.texts.len(),
            seen.lines.len()
        );
        assert_eq!(seen.collisions(), Vec::<String>::new(), "seed {seed}");
    }
}

/// The check itself finds what is wrong.
#[test]
fn a_struck_label_is_found() {
    let struck = r##"<svg xmlns="http://www.w3.org/2000/svg"><text x="10" y="10" font-size="4">A1</text>
        <path d="M0 8L30 9" stroke="#000"/><text x="12" y="11" font-size="4">B2</text></svg>"##;
    assert_eq!(read_svg(struck).collisions().len(), 3);
}

/// Every picture and the first page of the fixture's plan.
#[test]
fn no_label_of_the_fixture_is_struck() {
    let (job, plan) = fixture::plan();
    for index in 0..plan.layout().sheets.len() {
        let style = DrawingStyle { bends: fixture::bends(), ..DrawingStyle::default() };
        let seen = read_svg(&draw_sheet(&job, &plan, index, &style));
        assert_eq!(seen.collisions(), Vec::<String>::new(), "sheet {index}");
    }
}
