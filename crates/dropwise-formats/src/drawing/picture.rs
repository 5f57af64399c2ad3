//! A picture of what was understood of a drawing, for a person to look at before anything is cut.

use std::fmt::Write as _;

use dropwise_geometry::{Bounds, Outline, Point, Segment, Vector};

use super::Drawing;

const METAL: &str = "#dfe4ea";
const EDGE: &str = "#1b2733";
const BEND: &str = "#1f6fb2";
const MARK: &str = "#2f7d4f";
const DAMAGE: &str = "#b5651d";
const GONE: &str = "#c2187a";

/// The drawing as SVG, in mm, y up: metal filled with its holes bare, each part numbered, bend lines dashed, marks dotted,
/// and what was left out in a second colour.
#[must_use]
pub fn picture(drawing: &Drawing, title: &str) -> String {
    let shapes = drawing.shapes.iter().map(|drawn| drawn.shape.bounds());
    let lines = drawing.left_out.iter().map(Segment::bounds);
    let all = shapes.chain(lines).reduce(Bounds::union);
    let all = all.unwrap_or_else(|| Bounds::of([Point::ORIGIN, Point::new(100.0, 60.0)]));
    let unit = (all.width().max(all.height()) / 120.0).max(1e-3);
    let (margin, foot) = (4.0 * unit, 16.0 * unit);
    // No narrower than the words below.
    let width = (all.width() + 2.0 * margin).max(90.0 * unit);
    let height = all.height() + 2.0 * margin + foot;
    let pen = Pen { left: all.min.x - margin, top: all.max.y + margin };
    let mut page = String::new();
    let _ = write!(
        page,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.3}mm\" height=\"{height:.3}mm\" viewBox=\"0 0 {width:.3} \
         {height:.3}\" font-family=\"sans-serif\">\n<title>{}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
        escaped(title)
    );
    let stroke = unit * 0.3;
    for drawn in &drawing.shapes {
        let rings: String = drawn.shape.rings().map(|ring| pen.ring(ring)).collect();
        let _ = writeln!(
            page,
            "<path d=\"{rings}\" fill=\"{METAL}\" fill-rule=\"evenodd\" stroke=\"{EDGE}\" stroke-width=\"{stroke:.4}\"/>"
        );
        for (lines, colour, dash) in [(&drawn.bend_lines, BEND, 2.0), (&drawn.mark_lines, MARK, 0.6)] {
            let dash = dash * unit;
            let _ = write!(page, "{}", pen.lines(lines, colour, stroke, &format!(" stroke-dasharray=\"{dash:.4}\"")));
        }
        for ring in &drawn.damage {
            let d = pen.ring(ring);
            let _ = writeln!(
                page,
                "<path d=\"{d}\" fill=\"{DAMAGE}\" fill-opacity=\"0.35\" stroke=\"{DAMAGE}\" stroke-width=\"{stroke:.4}\"/>"
            );
        }
    }
    let _ = write!(page, "{}", pen.lines(&drawing.left_out, GONE, stroke * 1.4, ""));
    for (index, drawn) in drawing.shapes.iter().enumerate() {
        let at = pen.at(drawn.shape.bounds().center());
        let _ = writeln!(
            page,
            "<text x=\"{:.4}\" y=\"{:.4}\" font-size=\"{:.4}\" text-anchor=\"middle\" fill=\"{EDGE}\" stroke=\"#fff\" \
             stroke-width=\"{:.4}\" paint-order=\"stroke\">{}</text>",
            at.x,
            at.y + unit,
            3.0 * unit,
            unit * 0.5,
            index + 1
        );
    }
    page.push_str(&words_below(drawing, title, [margin, height - foot + unit, unit]));
    page.push_str("</svg>\n");
    page
}

/// Title, counts and what the colours mean.
fn words_below(drawing: &Drawing, title: &str, [left, top, unit]: [f64; 3]) -> String {
    let sum = |count: fn(&super::DrawnShape) -> usize| drawing.shapes.iter().map(count).sum::<usize>();
    let holes = sum(|drawn| drawn.shape.holes().len());
    let bends = sum(|drawn| drawn.bend_lines.len());
    let marks = sum(|drawn| drawn.mark_lines.len());
    let damage = sum(|drawn| drawn.damage.len());
    let plural = |count: usize, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
    let size = drawing.shapes.iter().map(|drawn| drawn.shape.bounds()).reduce(Bounds::union);
    let size = size.map_or_else(String::new, |all| format!(", {:.2} x {:.2} mm over all", all.width(), all.height()));
    let mut lines = vec![
        (EDGE, escaped(title)),
        (EDGE, format!("{}, {}{size}", plural(drawing.shapes.len(), "outline"), plural(holes, "opening"))),
    ];
    let mut marks_line = Vec::new();
    for (colour, count, word) in
        [(BEND, bends, "bend line"), (MARK, marks, "mark line"), (DAMAGE, damage, "damaged spot")]
    {
        if count > 0 {
            marks_line.push((colour, plural(count, word)));
        }
    }
    if !drawing.left_out.is_empty() {
        marks_line.push((GONE, format!("{} left out", plural(drawing.left_out.len(), "line"))));
    }
    let mut page = String::new();
    for (index, (colour, text)) in lines.drain(..).enumerate() {
        let y = top + unit * (2.5 + 4.0 * index as f64);
        let _ = writeln!(
            page,
            "<text x=\"{left:.4}\" y=\"{y:.4}\" font-size=\"{:.4}\" fill=\"{colour}\">{text}</text>",
            2.6 * unit
        );
    }
    let y = top + unit * 10.5;
    let spans: String = marks_line
        .iter()
        .enumerate()
        .map(|(index, (colour, text))| {
            let gap = if index == 0 { "" } else { "\u{a0}\u{a0}\u{a0}" };
            format!("<tspan fill=\"{colour}\">{gap}{text}</tspan>")
        })
        .collect();
    let _ = writeln!(page, "<text x=\"{left:.4}\" y=\"{y:.4}\" font-size=\"{:.4}\">{spans}</text>", 2.6 * unit);
    page
}

/// From the drawing's coordinates to the picture's.
struct Pen {
    left: f64,
    top: f64,
}

impl Pen {
    fn at(&self, point: Point) -> Point {
        Point::ORIGIN + Vector::new(point.x - self.left, self.top - point.y)
    }

    fn ring(&self, ring: &Outline) -> String {
        let mut d = String::new();
        for (index, side) in ring.segments().enumerate() {
            if index == 0 {
                let start = self.at(side.start());
                let _ = write!(d, "M{:.4} {:.4}", start.x, start.y);
            }
            d.push_str(&self.step(&side));
        }
        d.push('Z');
        d
    }

    fn step(&self, side: &Segment) -> String {
        let end = self.at(side.end());
        match side {
            Segment::Line { .. } => format!("L{:.4} {:.4}", end.x, end.y),
            Segment::Arc { arc, .. } => format!(
                "A{0:.4} {0:.4} 0 {1} {2} {3:.4} {4:.4}",
                arc.radius,
                u8::from(arc.sweep.abs() > std::f64::consts::PI),
                // The picture's y runs down, so that counter-clockwise is its 0.
                u8::from(arc.sweep < 0.0),
                end.x,
                end.y
            ),
        }
    }

    fn lines(&self, lines: &[Segment], colour: &str, width: f64, more: &str) -> String {
        if lines.is_empty() {
            return String::new();
        }
        let mut d = String::new();
        for line in lines {
            let start = self.at(line.start());
            let _ = write!(d, "M{:.4} {:.4}{}", start.x, start.y, self.step(line));
        }
        format!("<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width:.4}\"{more}/>\n")
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
