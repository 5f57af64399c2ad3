//! Open lines: what they may be, and what the caller says they are.

use std::collections::BTreeMap;

use dropwise_geometry::{Point, Segment};

use super::loops::{Found, Ring};
use super::notes::OpenHint;
use super::report::Faults;
use super::rules::Why;
use super::sketch::{Sketch, Stroke};
use super::{DrawingOptions, DrawnShape, LayerUse, Note, NoteKind, Severity};
use crate::chain::{Sourced, chain};
use crate::curves::{Piece, distance};

/// Open lines that are looked at one by one; the rest is told without a hint.
const MOST_LOOKED_AT: usize = 200;
/// Values of `gap` that are tried before one is told.
const MOST_TRIES: usize = 12;
/// Dashed lines that are looked at for bends; more are hatching.
const MOST_DASHED: usize = 2_000;
/// A gap above this, mm, is no gap but a missing line.
const WIDEST_GAP: f64 = 1.0;
/// How far a bend line may end from the edge, mm: some are drawn a little short or long.
const EDGE_SLACK: f64 = 0.1;

fn ends_of(list: &[Sourced]) -> [Point; 2] {
    [list[0].piece.start, list[list.len() - 1].piece.end]
}

impl Sketch {
    /// Reports open lines, or hands them over as what the caller says they are.
    pub(super) fn settle_open(
        &mut self,
        found: &mut Found,
        options: &DrawingOptions,
        faults: &mut Faults,
    ) -> Vec<(LayerUse, Piece)> {
        if !matches!(options.open_lines, Some(LayerUse::Bend | LayerUse::Mark)) {
            let flat = found.flat.iter().flat_map(|ring| &ring.pieces);
            self.rejected.extend(found.open.iter().flatten().chain(flat).map(|item| item.piece.segment()));
        }
        let Some(line_use) = options.open_lines else {
            self.report_open(found, options, faults);
            return Vec::new();
        };
        let flat = found.flat.iter().map(|ring| &ring.pieces);
        let lines: Vec<&Vec<Sourced>> = found.open.iter().chain(flat).collect();
        if lines.is_empty() {
            return Vec::new();
        }
        let kind = NoteKind::OpenLines { line_use, count: lines.len() };
        let place = self.place(lines[0][0].source, Some(lines[0][0].piece.start));
        let lines: Vec<(LayerUse, Piece)> = lines.into_iter().flatten().map(|item| (line_use, item.piece)).collect();
        self.notes.push(Note::new(Severity::Warning, kind, Some(place)));
        lines
    }

    fn report_open(&self, found: &Found, options: &DrawingOptions, faults: &mut Faults) {
        let open = &found.open;
        let gaps = nearest_gaps(open);
        let closing = self.closing_gap(open, &gaps, options);
        let segments: Vec<(Segment, usize)> = found
            .rings
            .iter()
            .flat_map(|ring| &ring.pieces)
            .map(|item| (item.piece.segment(), usize::MAX))
            .chain(
                open.iter()
                    .enumerate()
                    .flat_map(|(index, list)| list.iter().map(move |item| (item.piece.segment(), index))),
            )
            .collect();
        for (index, list) in open.iter().enumerate() {
            let ends = ends_of(list);
            let gap = gaps[index];
            let mut hint = match closing {
                Some((value, closes)) if gap <= value => OpenHint::Gap { value, closes },
                _ => OpenHint::None,
            };
            if hint == OpenHint::None && index < MOST_LOOKED_AT {
                hint = lies_on(list, index, &segments, &found.rings, options);
            }
            let length = list.iter().map(|item| item.piece.length()).sum();
            let place = self.place(list[0].source, Some(ends[0]));
            let kind = NoteKind::OpenContour { ends, gap, length, hint };
            let bounds = list.iter().map(|item| item.piece.segment().bounds()).reduce(|a, b| a.union(b));
            faults.push(kind, Some(place), bounds);
        }
    }

    /// The smallest value of `gap` that closes the most of what is open, rounded up, and how many; `None` when no gap is narrow
    /// enough. Each is tried before it is told.
    fn closing_gap(&self, open: &[Vec<Sourced>], gaps: &[f64], options: &DrawingOptions) -> Option<(f64, usize)> {
        let is_narrow = |&gap: &f64| gap > options.join_tolerance && gap <= WIDEST_GAP;
        let mut values: Vec<f64> =
            gaps.iter().copied().filter(is_narrow).map(|gap| (gap * 1000.0 * 1.001).ceil() / 1000.0).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        // The widest first, then shares of the list: each try costs a chaining of all.
        let step = values.len().div_ceil(MOST_TRIES).max(1);
        let pieces: Vec<Sourced> = open.iter().flatten().copied().collect();
        let mut best: Option<(f64, usize)> = None;
        for &value in values.iter().rev().step_by(step) {
            let closed = chain(&pieces, value);
            let closes = open.len().saturating_sub(closed.open.len());
            // Ends of hatching may be this near to each other too, and close nothing.
            if closes > 0 && !closed.loops.is_empty() && best.is_none_or(|(_, most)| closes >= most) {
                best = Some((value, closes));
            }
        }
        best
    }

    /// Straight dashed lines from edge to edge of a part become its bend lines; the other dashed ones stay left out.
    pub(super) fn find_dashed_bends(&mut self, shapes: &mut [DrawnShape]) {
        let mut bends: BTreeMap<String, (usize, usize)> = BTreeMap::new();
        let mut looked_at = 0;
        for index in 0..self.strokes.len() {
            let Stroke { pieces, why, is_closed, source, .. } = &self.strokes[index];
            if !matches!(why, Why::Dashed | Why::LineType) || *is_closed || pieces.len() != 1 {
                continue;
            }
            looked_at += 1;
            if looked_at > MOST_DASHED {
                break;
            }
            let is_dashed = *why == Why::Dashed;
            let (piece, source) = (self.pieces[pieces.start], *source);
            if piece.bulge != 0.0 {
                continue;
            }
            let Some(shape) = shapes.iter_mut().find(|drawn| crosses(&piece, drawn)) else { continue };
            let name = self.sources[source].look.line_type.as_deref().unwrap_or_default().to_owned();
            if !is_dashed {
                // An axis as a rule, but some draw bend lines so: it is asked about.
                self.across.insert(name);
                continue;
            }
            shape.bend_lines.push(piece.segment());
            self.strokes[index].line_use = LayerUse::Bend;
            bends.entry(name).or_insert((0, source)).0 += 1;
        }
        for (line_type, (count, source)) in bends {
            let place = self.place(source, None);
            self.notes.push(Note::new(Severity::Warning, NoteKind::DashedBends { line_type, count }, Some(place)));
        }
    }
}

/// From the loose ends of each line to the nearest other loose end, its own or another's, mm.
fn nearest_gaps(open: &[Vec<Sourced>]) -> Vec<f64> {
    // Sorted by x, so that the search ends soon.
    let mut ends: Vec<(Point, usize, usize)> = open
        .iter()
        .enumerate()
        .flat_map(|(index, list)| ends_of(list).into_iter().enumerate().map(move |(side, end)| (end, index, side)))
        .collect();
    ends.sort_by(|a, b| a.0.x.total_cmp(&b.0.x));
    let mut gaps: Vec<f64> = open
        .iter()
        .map(|list| {
            let [start, end] = ends_of(list);
            if list.len() == 1 && list[0].piece.bulge == 0.0 { f64::INFINITY } else { start.distance(end) }
        })
        .collect();
    for (at, &(end, index, _)) in ends.iter().enumerate() {
        for &(other, owner, _) in ends[at + 1..].iter().take(2_000) {
            let best = gaps[index].min(gaps[owner]);
            if other.x - end.x > gaps[index].max(gaps[owner]) {
                break;
            }
            if owner != index {
                let gap = end.distance(other);
                if gap < best || gap < gaps[index] {
                    gaps[index] = gaps[index].min(gap);
                }
                gaps[owner] = gaps[owner].min(gap);
            }
        }
    }
    for (gap, list) in gaps.iter_mut().zip(open) {
        if gap.is_infinite() {
            let [start, end] = ends_of(list);
            *gap = start.distance(end);
        }
    }
    gaps
}

/// What other lines say of an open one.
fn lies_on(
    list: &[Sourced],
    index: usize,
    segments: &[(Segment, usize)],
    rings: &[Ring],
    options: &DrawingOptions,
) -> OpenHint {
    let slack = EDGE_SLACK.max(options.join_tolerance);
    let ends = ends_of(list);
    let on = ends.map(|end| {
        segments.iter().any(|(segment, owner)| {
            *owner != index && segment.bounds().expanded(slack).contains(end) && distance(segment, end) <= slack
        })
    });
    let is_straight = list.iter().all(|item| item.piece.bulge == 0.0)
        && list.iter().map(|item| item.piece.length()).sum::<f64>() <= ends[0].distance(ends[1]) * (1.0 + 1e-9);
    let middle = ends[0].lerp(ends[1], 0.5);
    if on == [true, true] && is_straight {
        let around = rings.iter().filter(|ring| ring.bounds.contains(middle) && ring.outline.contains(middle)).count();
        if around % 2 == 1 {
            return OpenHint::EdgeToEdge;
        }
    }
    match on {
        [true, _] => OpenHint::EndsOnLine(ends[0]),
        [_, true] => OpenHint::EndsOnLine(ends[1]),
        _ => OpenHint::None,
    }
}

/// Whether a straight line runs from edge to edge of a part, through its metal.
fn crosses(piece: &Piece, drawn: &DrawnShape) -> bool {
    let is_on_edge = |end: Point| {
        drawn.shape.rings().any(|ring| {
            ring.bounds().expanded(EDGE_SLACK).contains(end)
                && ring.segments().any(|side| distance(&side, end) <= EDGE_SLACK)
        })
    };
    let within = |share: f64| drawn.shape.contains(piece.start.lerp(piece.end, share));
    is_on_edge(piece.start) && is_on_edge(piece.end) && within(0.5) && within(0.02) && within(0.98)
}
