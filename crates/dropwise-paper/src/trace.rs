//! What a search did over time: as a table, and as a picture.

use std::fmt::Write as _;
use std::time::Duration;

use dropwise_nest::{MoveKind, Progress};

use crate::chart::escaped;

/// The course of a search, thinned out as it grows so that a long one takes no more room than a short one.
///
/// # Examples
/// ```
/// use dropwise_nest::Progress;
/// use dropwise_paper::Trace;
/// let mut trace = Trace::default();
/// trace.add(&Progress::default());
/// assert!(trace.csv().starts_with("seconds,rounds,evaluations,cost,"));
/// assert!(trace.draw("bracket job").starts_with("<svg"));
/// ```
#[derive(Clone, Debug, Default)]
pub struct Trace {
    points: Vec<Progress>,
    /// Each so many-th round is kept.
    stride: u64,
    seen: u64,
}

/// More points than this are finer than any picture.
const MOST_POINTS: usize = 2_000;

impl Trace {
    /// Takes up how far the search has come: to be called after every round.
    pub fn add(&mut self, progress: &Progress) {
        self.stride = self.stride.max(1);
        if self.seen.is_multiple_of(self.stride) {
            if self.points.len() == MOST_POINTS {
                let mut index = 0;
                self.points.retain(|_| {
                    index += 1;
                    index % 2 == 1
                });
                self.stride *= 2;
            }
            if self.seen.is_multiple_of(self.stride) {
                self.points.push(*progress);
            }
        }
        self.seen += 1;
    }

    /// A table with a row for each round kept: time, effort, cost of the best, energy of the layout gone on from in the smallest coin, parts missing, overlap in mm²,
    /// temperature, and for each kind of move how often it was tried and taken so far.
    #[must_use]
    pub fn csv(&self) -> String {
        let mut text = "seconds,rounds,evaluations,cost,energy,missing,overlap,temperature".to_owned();
        for kind in MoveKind::ALL {
            let name = kind.name().replace(' ', "_");
            let _ = write!(text, ",{name}_tried,{name}_taken");
        }
        text.push('\n');
        for point in &self.points {
            let _ = write!(
                text,
                "{:.3},{},{},{:.2},{:.2},{},{:.3},{:.4}",
                point.elapsed.as_secs_f64(),
                point.rounds,
                point.evaluations,
                point.cost,
                point.energy,
                point.missing,
                point.overlap,
                point.temperature
            );
            for kind in MoveKind::ALL {
                let count = point.moves.of(kind);
                let _ = write!(text, ",{},{}", count.tried, count.taken);
            }
            text.push('\n');
        }
        text
    }

    /// A picture: cost of the best, energy of the layout gone on from, overlap and temperature over time, and below how many moves of each kind were tried and taken.
    #[must_use]
    pub fn draw(&self, title: &str) -> String {
        let kinds: Vec<MoveKind> = MoveKind::ALL
            .into_iter()
            .filter(|&kind| self.points.last().is_some_and(|point| point.moves.of(kind).tried > 0))
            .collect();
        let height = TOP + PANELS * (PANEL + GAP) + 40.0 + 22.0 * kinds.len() as f64 + 20.0;
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" font-family=\"DejaVu Sans, sans-serif\" \
             font-size=\"13\" fill=\"#111\">\n<rect width=\"{WIDTH}\" height=\"{height:.0}\" fill=\"#fff\"/>\n\
             <text x=\"{LEFT}\" y=\"26\" font-size=\"17\">{}</text>\n",
            escaped(title)
        );
        let end = self.points.last().map_or(Duration::ZERO, |point| point.elapsed).as_secs_f64().max(1e-3);
        let panels = [
            Panel { name: "cost of the best, smallest coins", value: |p| p.cost, is_compressed: false },
            Panel {
                name: "energy of the layout gone on from: its sheets and what overlaps, smallest coins",
                value: |p| p.energy,
                is_compressed: false,
            },
            Panel {
                name: "overlap of what is worked on, mm², larger steps drawn shorter",
                value: |p| p.overlap,
                is_compressed: true,
            },
            Panel { name: "temperature, smallest coins", value: |p| p.temperature, is_compressed: false },
        ];
        for (index, panel) in panels.iter().enumerate() {
            self.panel(&mut svg, panel, TOP + index as f64 * (PANEL + GAP), end);
        }
        let mut y = TOP + PANELS * (PANEL + GAP) + 24.0;
        let _ = writeln!(svg, "<text x=\"{LEFT}\" y=\"{y:.0}\">moves: tried, taken, share taken</text>");
        let Some(last) = self.points.last() else { return svg + "</svg>\n" };
        for kind in kinds {
            y += 22.0;
            let count = last.moves.of(kind);
            let share = count.taken as f64 / count.tried.max(1) as f64;
            let bar = 240.0 * share.min(1.0);
            let _ = writeln!(
                svg,
                "<text x=\"{LEFT}\" y=\"{y:.0}\">{}</text><text x=\"300\" y=\"{y:.0}\" text-anchor=\"end\">{}</text>\
                 <text x=\"410\" y=\"{y:.0}\" text-anchor=\"end\">{}</text>\
                 <text x=\"490\" y=\"{y:.0}\" text-anchor=\"end\">{:.2} %</text>\
                 <rect x=\"510\" y=\"{:.0}\" width=\"240\" height=\"12\" fill=\"none\" stroke=\"#999\"/>\
                 <rect x=\"510\" y=\"{:.0}\" width=\"{bar:.1}\" height=\"12\" fill=\"#444\"/>",
                kind.name(),
                count.tried,
                count.taken,
                100.0 * share,
                y - 11.0,
                y - 11.0
            );
        }
        svg + "</svg>\n"
    }

    fn panel(&self, svg: &mut String, panel: &Panel, top: f64, end: f64) {
        let Panel { name, value, is_compressed } = *panel;
        let shown = |value: f64| if is_compressed { value.max(0.0).sqrt() } else { value };
        let values = self.points.iter().map(value).filter(|value| value.is_finite());
        let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        let (least, most) = if least <= most { (least, most) } else { (0.0, 0.0) };
        let span = (shown(most) - shown(least)).max(f64::MIN_POSITIVE);
        let (bottom, right) = (top + PANEL, WIDTH - 20.0);
        let _ = writeln!(
            svg,
            "<text x=\"{LEFT}\" y=\"{:.0}\">{}</text>\n\
             <path d=\"M{LEFT} {top:.0}V{bottom:.0}H{right:.0}\" fill=\"none\" stroke=\"#111\"/>\n\
             <text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{}</text>\n\
             <text x=\"{:.0}\" y=\"{bottom:.0}\" text-anchor=\"end\">{}</text>\n\
             <text x=\"{right:.0}\" y=\"{:.0}\" text-anchor=\"end\">{end:.1} s</text>",
            top - 8.0,
            escaped(name),
            LEFT - 6.0,
            top + 10.0,
            figure(most),
            LEFT - 6.0,
            figure(least),
            bottom + 16.0
        );
        let mut path = String::new();
        for point in &self.points {
            let value = value(point);
            if !value.is_finite() {
                continue;
            }
            let x = LEFT + (right - LEFT) * point.elapsed.as_secs_f64() / end;
            let y = bottom - PANEL * (shown(value) - shown(least)) / span;
            let _ = write!(path, "{}{x:.1} {y:.1}", if path.is_empty() { "M" } else { "L" });
        }
        if !path.is_empty() {
            let _ = writeln!(svg, "<path d=\"{path}\" fill=\"none\" stroke=\"#111\" stroke-width=\"1.2\"/>");
        }
    }
}

/// One curve over time.
struct Panel {
    name: &'static str,
    value: fn(&Progress) -> f64,
    /// Whether the root is drawn, so that small values show beside large ones.
    is_compressed: bool,
}

const WIDTH: f64 = 800.0;
const LEFT: f64 = 110.0;
/// How many panels are drawn one above the other.
const PANELS: f64 = 4.0;
const TOP: f64 = 60.0;
const PANEL: f64 = 130.0;
const GAP: f64 = 50.0;

/// Four digits are enough beside an axis.
fn figure(value: f64) -> String {
    match value.abs() {
        size if size >= 1000.0 => format!("{value:.0}"),
        size if size >= 1.0 => format!("{value:.2}"),
        _ => format!("{value:.3}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(second: u64) -> Progress {
        Progress {
            rounds: second,
            elapsed: Duration::from_secs(second),
            cost: 1000.0 / (1 + second) as f64,
            overlap: (second % 7) as f64,
            temperature: 0.3,
            ..Progress::default()
        }
    }

    #[test]
    fn a_long_search_takes_no_more_room_than_a_short_one() {
        let mut trace = Trace::default();
        for second in 0..50_000 {
            trace.add(&at(second));
        }
        assert!(trace.points.len() <= MOST_POINTS && trace.points.len() > MOST_POINTS / 4, "{}", trace.points.len());
        let rounds: Vec<u64> = trace.points.iter().map(|point| point.rounds).collect();
        let steps: Vec<u64> = rounds.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(steps.iter().all(|&step| step == steps[0]), "evenly thinned out");
        let columns = trace.csv().lines().map(|line| line.split(',').count()).collect::<Vec<_>>();
        assert!(columns.iter().all(|&count| count == 8 + 2 * MoveKind::ALL.len()));
    }

    #[test]
    fn the_picture_is_well_formed_whatever_is_in_it() {
        let mut trace = Trace::default();
        assert!(roxmltree::Document::parse(&trace.draw("<&>\u{7}")).is_ok());
        trace.add(&Progress { cost: f64::INFINITY, overlap: f64::NAN, ..at(0) });
        trace.add(&at(1));
        assert!(roxmltree::Document::parse(&trace.draw("job")).is_ok());
    }
}
