//! Parts that share an edge: the regions that lines part the plane into.

use std::cmp::Ordering;

use dropwise_geometry::{Bounds, Point, Segment};

use super::crossings::{meetings, near_pairs};
use super::loops::{Found, Ring, SWEEP_BUDGET, fraction};
use super::sketch::Sketch;
use super::{DrawingOptions, NoteKind, Severity};
use crate::chain::{Nodes, Sourced, chain, without_duplicates};
use crate::curves::{Piece, distance};

impl Sketch {
    /// The regions between the lines that are to be cut, each a loop; lines that bound none stay open. `None` when too
    /// tangled.
    pub(super) fn regions(&mut self, options: &DrawingOptions) -> Option<Found> {
        let mut closed = Vec::new();
        let mut pieces = self.loose(&mut closed);
        pieces.extend(closed.into_iter().flat_map(|ring| ring.pieces));
        let (kept, doubled) = without_duplicates(&pieces, options.join_tolerance);
        let pieces = split_where_they_meet(&kept, options.join_tolerance)?;
        // Splitting may bring out stretches that two lines share.
        let (pieces, again) = without_duplicates(&pieces, options.join_tolerance);
        let nodes = Nodes::of(&pieces, options.join_tolerance);
        if nodes.joined > 0 {
            self.note(Severity::Info, NoteKind::EndsJoined { count: nodes.joined, widest: nodes.widest_gap });
        }
        let repeated: Vec<usize> = doubled.iter().chain(&again).map(|&(_, source)| source).collect();
        self.note_joins(0, 0.0, &repeated);
        let mut pieces = pieces;
        for (item, ends) in pieces.iter_mut().zip(&nodes.ends) {
            item.piece.start = nodes.place[ends[0]];
            item.piece.end = nodes.place[ends[1]];
        }
        let (is_dangling, rings) = faces(&pieces, &nodes);
        let dangling: Vec<Sourced> =
            pieces.iter().zip(is_dangling).filter(|&(_, dangles)| dangles).map(|(&item, _)| item).collect();
        let rest = chain(&dangling, options.join_tolerance);
        let mut found = Found { rings, open: rest.open, ..Found::default() };
        found.rings.extend(rest.loops.into_iter().map(Ring::new));
        Some(found)
    }
}

/// Each piece cut where others meet it.
fn split_where_they_meet(pieces: &[Sourced], tolerance: f64) -> Option<Vec<Sourced>> {
    let segments: Vec<Segment> = pieces.iter().map(|item| item.piece.segment()).collect();
    let boxes: Vec<Bounds> = segments.iter().map(|segment| segment.bounds().expanded(tolerance)).collect();
    let mut cuts: Vec<Vec<Point>> = vec![Vec::new(); pieces.len()];
    for (a, b) in near_pairs(&boxes, SWEEP_BUDGET)? {
        let crossings = meetings(&segments[a], &segments[b]);
        for (one, other) in [(a, b), (b, a)] {
            let (mine, theirs) = (&pieces[one].piece, &pieces[other].piece);
            let is_inside = |p: Point| p.distance(mine.start) > tolerance && p.distance(mine.end) > tolerance;
            let ends = [theirs.start, theirs.end];
            // The other's own end is taken, so that the two meet exactly.
            for end in ends {
                if is_inside(end) && distance(&segments[one], end) <= tolerance {
                    cuts[one].push(end);
                }
            }
            let is_new = |p: Point| ends.iter().all(|end| end.distance(p) > tolerance);
            cuts[one].extend(crossings.iter().copied().filter(|&p| is_inside(p) && is_new(p)));
        }
    }
    let mut parts = Vec::new();
    for ((item, segment), cuts) in pieces.iter().zip(&segments).zip(cuts) {
        let mut cuts: Vec<(f64, Point)> = cuts.into_iter().map(|at| (fraction(segment, at), at)).collect();
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        cuts.dedup_by(|a, b| a.1.distance(b.1) <= tolerance);
        cuts.push((1.0, item.piece.end));
        let sweep = 4.0 * item.piece.bulge.atan();
        let (mut from, mut start) = (0.0, item.piece.start);
        for (to, end) in cuts {
            let bulge = (sweep * (to - from) / 4.0).tan();
            parts.push(Sourced { piece: Piece { start, end, bulge }, ..*item });
            (from, start) = (to, end);
        }
    }
    Some(parts)
}

/// A side walked in one direction: the piece, and whether backwards.
type Half = (usize, bool);

/// Which pieces bound no region, and the regions.
fn faces(pieces: &[Sourced], nodes: &Nodes) -> (Vec<bool>, Vec<Ring>) {
    let mut leaving: Vec<Vec<Half>> = vec![Vec::new(); nodes.place.len()];
    for (index, ends) in nodes.ends.iter().enumerate() {
        leaving[ends[0]].push((index, false));
        leaving[ends[1]].push((index, true));
    }
    let mut is_dangling = vec![false; pieces.len()];
    let mut bare: Vec<usize> = (0..leaving.len()).filter(|&node| leaving[node].len() == 1).collect();
    while let Some(node) = bare.pop() {
        let Some(&(index, is_back)) = leaving[node].first().filter(|_| leaving[node].len() == 1) else { continue };
        is_dangling[index] = true;
        let far = nodes.ends[index][usize::from(!is_back)];
        leaving[node].clear();
        leaving[far].retain(|&(other, _)| other != index);
        if leaving[far].len() == 1 {
            bare.push(far);
        }
    }
    let walked = |&(index, is_back): &Half| {
        let piece = pieces[index].piece;
        if is_back { piece.reversed() } else { piece }
    };
    for list in &mut leaving {
        list.sort_by(|a, b| by_direction(&walked(a), &walked(b)));
    }
    let place_of = |half: Half, node: usize| leaving[node].iter().position(|&other| other == half);
    let mut is_walked = vec![[false; 2]; pieces.len()];
    let mut rings = Vec::new();
    for first in (0..pieces.len()).flat_map(|index| [(index, false), (index, true)]) {
        if is_dangling[first.0] || is_walked[first.0][usize::from(first.1)] {
            continue;
        }
        let mut run = Vec::new();
        let mut half = first;
        while !is_walked[half.0][usize::from(half.1)] {
            is_walked[half.0][usize::from(half.1)] = true;
            run.push(Sourced { piece: walked(&half), source: pieces[half.0].source });
            let node = nodes.ends[half.0][usize::from(!half.1)];
            // The next side clockwise from the way back keeps the region on the left.
            let Some(at) = place_of((half.0, !half.1), node) else { break };
            let count = leaving[node].len();
            half = leaving[node][(at + count - 1) % count];
        }
        let ring = Ring::new(run);
        if ring.outline.signed_area() > 0.0 {
            rings.push(ring);
        }
    }
    (is_dangling, rings)
}

/// Counter-clockwise by the direction in which they leave; of two in one direction, the one that bends right first.
fn by_direction(a: &Piece, b: &Piece) -> Ordering {
    let angle = |piece: &Piece| piece.leaving().angle();
    let (one, other) = (angle(a), angle(b));
    if (one - other).abs() > 1e-6 { one.total_cmp(&other) } else { curving(a).total_cmp(&curving(b)) }
}

/// How sharply a piece bends to the left.
fn curving(piece: &Piece) -> f64 {
    piece.bulge / piece.start.distance(piece.end).max(f64::MIN_POSITIVE)
}
