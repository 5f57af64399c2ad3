//! What is drawn on the pages of a PDF: the lines of its content streams, as `qpdf` unpacks them.

use std::path::Path;
use std::process::Command;

use dropwise_geometry::Point;

use crate::tools;

/// A line, or a curve by its ends, as it lies on the page; mm from the lower left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stroke {
    pub(crate) from: Point,
    pub(crate) to: Point,
    /// How many lengths make up its dashes; none of a whole line.
    pub(crate) dashes: usize,
    pub(crate) is_curve: bool,
}

/// The strokes of each page, in order; `None` where the tool is not installed.
pub(crate) fn strokes(path: &Path) -> Option<Vec<Vec<Stroke>>> {
    let qpdf = tools::find("qpdf")?;
    let output =
        Command::new(qpdf).args(["--qdf", "--object-streams=disable"]).arg(path).arg("-").output().expect("it starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let pages = text.split("%% Contents for page ").skip(1).map(|page| {
        let start = page.find("stream\n").expect("a stream") + "stream\n".len();
        let end = start + page[start..].find("endstream").expect("its end");
        page_strokes(&page[start..end])
    });
    Some(pages.collect())
}

/// A transformation of the page: x' = a x + c y + e, y' = b x + d y + f.
type Matrix = [f64; 6];

fn through([a, b, c, d, e, f]: Matrix, x: f64, y: f64) -> Point {
    const POINT: f64 = 25.4 / 72.0;
    Point::new((a * x + c * y + e) * POINT, (b * x + d * y + f) * POINT)
}

fn page_strokes(content: &str) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    let mut stack: Vec<(Matrix, usize)> = Vec::new();
    let (mut matrix, mut dashes): (Matrix, usize) = ([1.0, 0.0, 0.0, 1.0, 0.0, 0.0], 0);
    let mut numbers: Vec<f64> = Vec::new();
    let mut path: Vec<(Point, Point, bool)> = Vec::new();
    let (mut start, mut at) = (Point::ORIGIN, Point::ORIGIN);
    // Text stands in parentheses or angle brackets, and between BT and ET.
    let mut is_text = false;
    for word in content.split_ascii_whitespace() {
        if let Ok(number) = word.trim_matches(['[', ']']).parse::<f64>() {
            numbers.push(number);
            continue;
        }
        let last = |count: usize| numbers[numbers.len().saturating_sub(count)..].to_vec();
        match word {
            "BT" => is_text = true,
            "ET" => is_text = false,
            _ if is_text => {}
            "q" => stack.push((matrix, dashes)),
            "Q" => (matrix, dashes) = stack.pop().unwrap_or((matrix, dashes)),
            "cm" => {
                let [a, b, c, d, e, f] = last(6)[..] else { panic!("cm {numbers:?}") };
                let [ma, mb, mc, md, me, mf] = matrix;
                matrix = [
                    a * ma + b * mc,
                    a * mb + b * md,
                    c * ma + d * mc,
                    c * mb + d * md,
                    e * ma + f * mc + me,
                    e * mb + f * md + mf,
                ];
            }
            // The phase comes last; without lengths before it the line is whole.
            "d" => dashes = numbers.len().saturating_sub(1),
            "m" | "l" => {
                let [x, y] = last(2)[..] else { panic!("{word} {numbers:?}") };
                let to = through(matrix, x, y);
                if word == "m" {
                    start = to;
                } else {
                    path.push((at, to, false));
                }
                at = to;
            }
            "c" => {
                let [.., x, y] = last(6)[..] else { panic!("c {numbers:?}") };
                let to = through(matrix, x, y);
                path.push((at, to, true));
                at = to;
            }
            "h" => {
                path.push((at, start, false));
                at = start;
            }
            "re" => {
                let [x, y, width, height] = last(4)[..] else { panic!("re {numbers:?}") };
                let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
                let corners = corners.map(|(x, y)| through(matrix, x, y));
                path.extend((0..4).map(|index| (corners[index], corners[(index + 1) % 4], false)));
            }
            "S" | "s" | "B" | "b" | "B*" | "b*" | "f" | "f*" | "n" | "W" | "W*" => {
                if matches!(word, "s" | "b" | "b*") {
                    path.push((at, start, false));
                }
                if matches!(word, "S" | "s" | "B" | "b" | "B*" | "b*") {
                    let drawn = path.iter().map(|&(from, to, is_curve)| Stroke { from, to, dashes, is_curve });
                    strokes.extend(drawn);
                }
                if !word.starts_with('W') {
                    path.clear();
                }
            }
            _ => {}
        }
        numbers.clear();
    }
    strokes
}
