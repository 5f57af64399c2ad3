//! Texts and lines of finished pictures and pages, read by general programs, and whether they meet.

#![allow(dead_code, reason = "not every test that shares this module reads both pictures and pages")]

use std::path::Path;
use std::process::Command;

use dropwise_geometry::Point;

/// A box of text: lower and upper limits of x and y.
pub(crate) type TextBox = (f64, f64, f64, f64, String);

/// Texts and lines of a picture, in its own units.
#[derive(Default)]
pub(crate) struct Seen {
    pub(crate) texts: Vec<TextBox>,
    pub(crate) lines: Vec<[Point; 2]>,
}

impl Seen {
    /// Texts that a line runs through, and pairs of texts on each other.
    pub(crate) fn collisions(&self) -> Vec<String> {
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
pub(crate) fn read_svg(svg: &str) -> Seen {
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

/// How many pages a PDF has, by pdfinfo.
pub(crate) fn page_count(info: &Path, pdf: &Path) -> usize {
    let output = Command::new(info).arg(pdf).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let line = text.lines().find_map(|line| line.strip_prefix("Pages:")).expect("it tells the pages");
    line.trim().parse().unwrap()
}

/// A page of a PDF: its strokes by pdftocairo, its words by pdftotext.
pub(crate) fn read_page((cairo, words): (&Path, &Path), pdf: &Path, page: usize) -> Seen {
    let page = page.to_string();
    // Unshrunk: else the page is fitted to whole points, and lines come to lie a little off their words.
    let whole = ["-svg", "-nocenter", "-noshrink"];
    let svg = printed(Command::new(cairo).args(whole).args(["-f", &page, "-l", &page]).arg(pdf).arg("-"));
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
        let mut drawn = Seen::default();
        for chain in chains(node.attribute("d").unwrap()) {
            let chain: Vec<Point> = chain.into_iter().map(place).collect();
            strokes(&mut drawn, &chain);
        }
        // What is clipped away is not seen.
        let clips = node.ancestors().filter_map(|above| above.attribute("clip-path"));
        for clip in clips.filter_map(|clip| clip_box(&document, clip)) {
            drawn.lines = drawn.lines.into_iter().filter_map(|line| clipped(line, clip)).collect();
        }
        seen.lines.extend(drawn.lines);
    }
    seen.texts = words_of(words, pdf, &page).into_iter().map(letters).collect();
    seen
}

/// The box of a clip, `url(#name)`: lower and upper limits of x and y.
fn clip_box(document: &roxmltree::Document<'_>, clip: &str) -> Option<[f64; 4]> {
    let id = clip.trim_start_matches("url(#").trim_end_matches(')');
    let found = document.descendants().find(|node| node.attribute("id") == Some(id))?;
    let shape = found.descendants().find(|node| matches!(node.tag_name().name(), "path" | "rect"))?;
    let value = |name: &str| shape.attribute(name).map_or(0.0, number);
    if shape.tag_name().name() == "rect" {
        let (x, y) = (value("x"), value("y"));
        return Some([x, x + value("width"), y, y + value("height")]);
    }
    let points: Vec<Point> = chains(shape.attribute("d")?).concat();
    let limits = |of: &dyn Fn(&Point) -> f64| {
        points.iter().map(of).fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)])
    };
    let ([left, right], [top, bottom]) = (limits(&|point| point.x), limits(&|point| point.y));
    Some([left, right, top, bottom])
}

/// What of a line lies in a box.
fn clipped([a, b]: [Point; 2], [left, right, top, bottom]: [f64; 4]) -> Option<[Point; 2]> {
    let way = b - a;
    let (mut first, mut last) = (0.0f64, 1.0f64);
    for (from, step, low, high) in [(a.x, way.x, left, right), (a.y, way.y, top, bottom)] {
        if step.abs() < 1e-12 {
            if from < low || from > high {
                return None;
            }
            continue;
        }
        let (one, other) = ((low - from) / step, (high - from) / step);
        first = first.max(one.min(other));
        last = last.min(one.max(other));
    }
    (first < last).then(|| [a + way * first, a + way * last])
}

/// Words of a page by pdftotext, each with the box of its face, from its highest accent to its lowest tail; points from the
/// upper left.
pub(crate) fn words_of(pdftotext: &Path, pdf: &Path, page: &str) -> Vec<TextBox> {
    let text = printed(Command::new(pdftotext).args(["-bbox", "-f", page, "-l", page]).arg(pdf).arg("-"));
    let word = |line: &str| {
        let value = |name: &str| {
            let from = line.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
            number(line[from..].split('"').next().unwrap())
        };
        let word = line.split('>').nth(1).unwrap_or_default().trim_end_matches("</word").to_owned();
        (value("xMin"), value("yMin"), value("xMax"), value("yMax"), word)
    };
    text.lines().filter(|line| line.contains("<word ")).map(word).collect()
}

/// Words before a number that is no measure but counts pages, sheets and plans or says how far lengths are rounded.
const COUNTED: [&str; 8] = ["page", "pages", "of", "sheet", "plan", "nearest", "by", "make"];

/// Height of the ascender and the descender of DejaVu Sans together, and of its capitals, as multiples of the size of the
/// type: 0.928 + 0.236 and 0.729 (from its tables).
const FACE: (f64, f64) = (1.164, 0.729);

/// Figures of a page that are measured from, each with the height of its capitals, mm: plain numbers and fractions, but for
/// those that count and those at the foot of the page.
pub(crate) fn figures(pdftotext: &Path, pdf: &Path, page: usize) -> Vec<(f64, String)> {
    let page = page.to_string();
    let words = words_of(pdftotext, pdf, &page);
    let lowest = words.iter().map(|word| word.3).fold(0.0, f64::max);
    let mut found = Vec::new();
    let mut before = String::new();
    // A gauge is no measure either.
    let nexts: Vec<String> = words.iter().skip(1).map(|word| word.4.clone()).chain([String::new()]).collect();
    for ((left, top, right, bottom, word), next) in words.into_iter().zip(nexts) {
        let bare = word.trim_end_matches([',', ';', '.', ':']);
        let is_number = bare.chars().any(|c| c.is_ascii_digit())
            && bare.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '/' | '-'));
        // Across the line of writing, level or upright: a single figure is higher than wide, longer words are wider.
        let (tall, wide) = (bottom - top, right - left);
        let across = if bare.chars().count() == 1 { tall.max(wide) } else { tall.min(wide) };
        let is_foot = lowest - bottom < 2.0;
        if is_number && !is_foot && next != "ga" && !COUNTED.contains(&before.as_str()) {
            found.push((across / FACE.0 * FACE.1 * 25.4 / 72.0, word.clone()));
        }
        before = word;
    }
    found
}

/// The box of the letters of a word: capitals stand in the middle of the box of their face.
fn letters((left, top, right, bottom, word): TextBox) -> TextBox {
    let (tall, wide) = (bottom - top, right - left);
    let is_upright = tall > 1.3 * wide && word.chars().count() > 2;
    if is_upright {
        (left + 0.22 * wide, top, right - 0.22 * wide, bottom, word)
    } else {
        (left, top + 0.22 * tall, right, bottom - 0.24 * tall, word)
    }
}

fn printed(command: &mut Command) -> String {
    let output = command.output().unwrap();
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}
