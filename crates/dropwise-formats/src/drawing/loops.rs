//! Closed loops: what makes one, which cannot be cut, and which are drawn twice.

use std::collections::BTreeMap;

use dropwise_geometry::{Bounds, Outline, Point, Segment, Vertex};

use super::crossings::{meetings, near_pairs};
use super::report::Faults;
use super::sketch::Sketch;
use super::{DrawingOptions, LayerUse, Note, NoteKind, Severity};
use crate::chain::{Sourced, chain};
use crate::curves::distance;

/// Comparisons of boxes in one sweep; about a second's work. A plate with sixteen thousand traced holes needs a quarter.
pub(super) const SWEEP_BUDGET: usize = 400_000_000;
/// Visits to a segment when points are sorted into loops; a few seconds' work.
pub(super) const VISIT_BUDGET: usize = 50_000_000;
/// A loop whose area is below this share of its length, in mm, is a line drawn there and back.
pub(super) const ZERO_WIDTH: f64 = 1e-3;

/// A closed loop.
#[derive(Clone, Debug)]
pub(super) struct Ring {
    pub(super) pieces: Vec<Sourced>,
    pub(super) outline: Outline,
    pub(super) area: f64,
    pub(super) bounds: Bounds,
}

/// Loops and lines that are to be cut.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) rings: Vec<Ring>,
    pub(super) open: Vec<Vec<Sourced>>,
    /// Loops that cannot be cut.
    pub(super) faulty: Vec<Ring>,
    /// Loops that enclose nothing: lines drawn there and back.
    pub(super) flat: Vec<Ring>,
}

/// A side of one loop, by its index among all segments, and where another loop meets it.
type Touch = (usize, Vec<Point>);

impl Ring {
    pub(super) fn new(pieces: Vec<Sourced>) -> Self {
        let outline = Outline::new(pieces.iter().map(|item| Vertex::arc(item.piece.start, item.piece.bulge)).collect());
        Self { area: outline.area(), bounds: outline.bounds(), outline, pieces }
    }

    pub(super) fn source(&self) -> usize {
        self.pieces.iter().map(|item| item.source).min().unwrap_or(0)
    }

    /// Area swept from the first corner, whichever way: zero only when all lies on one line. A bow tie encloses as much
    /// on one side as on the other, and is not flat.
    pub(super) fn spread(&self) -> f64 {
        let Some(first) = self.pieces.first().map(|item| item.piece.start) else { return 0.0 };
        self.pieces
            .iter()
            .map(|Sourced { piece, .. }| {
                let chord = piece.end - piece.start;
                (piece.start - first).cross(piece.end - first).abs() / 2.0
                    + piece.bulge.abs() * chord.length_squared() / 4.0
            })
            .sum()
    }

    /// Whether most of `other` lies inside. Three of its points vote, as one may lie on this ring.
    pub(super) fn holds(&self, other: &Self) -> bool {
        let n = other.pieces.len();
        let inside = |share: usize| self.outline.contains(other.pieces[n * share / 3].piece.middle());
        let (first, second) = (inside(0), inside(1));
        if first == second { first } else { self.outline.contains(other.pieces[n - 1].piece.segment().at(0.3)) }
    }
}

impl Sketch {
    /// Closed strokes as they are, and what can be chained of the others; then the chains that stay open.
    pub(super) fn rings(&mut self, options: &DrawingOptions) -> Found {
        let mut found = Found::default();
        let loose = self.loose(&mut found.rings);
        let chained = chain(&loose, options.join_tolerance);
        found.rings.extend(chained.loops.into_iter().map(Ring::new));
        self.note_joins(chained.joined, chained.widest_gap, &chained.duplicates);
        found.open = chained.open;
        found
    }

    /// Pieces to be chained; closed strokes go to `rings`.
    pub(super) fn loose(&self, rings: &mut Vec<Ring>) -> Vec<Sourced> {
        let mut loose = Vec::new();
        for stroke in self.strokes.iter().filter(|stroke| stroke.line_use == LayerUse::Cut) {
            let pieces =
                self.pieces[stroke.pieces.clone()].iter().map(|&piece| Sourced { piece, source: stroke.source });
            if stroke.is_closed {
                if !stroke.pieces.is_empty() {
                    rings.push(Ring::new(pieces.collect()));
                }
            } else {
                loose.extend(pieces);
            }
        }
        loose
    }

    pub(super) fn note_joins(&mut self, count: usize, widest: f64, duplicates: &[usize]) {
        if count > 0 {
            self.note(Severity::Info, NoteKind::EndsJoined { count, widest });
        }
        if let Some(&first) = duplicates.first() {
            let place = self.place(first, None);
            let kind = NoteKind::DuplicatesRemoved { count: duplicates.len() };
            self.notes.push(Note::new(Severity::Warning, kind, Some(place)));
        }
    }

    /// Removes loops drawn twice, lines drawn on loops, and what cannot be cut. `None` when too tangled.
    pub(super) fn check(&mut self, found: &mut Found, options: &DrawingOptions, faults: &mut Faults) -> Option<()> {
        self.take_flat(found, options, faults);
        self.remove_doubled_rings(&mut found.rings, options)?;
        let rings = &found.rings;
        // All pieces of the rings, then those of the open chains.
        let owners: Vec<(usize, usize)> = rings
            .iter()
            .map(|ring| ring.pieces.len())
            .chain(found.open.iter().map(Vec::len))
            .enumerate()
            .flat_map(|(owner, count)| (0..count).map(move |index| (owner, index)))
            .collect();
        let segments: Vec<Segment> = rings
            .iter()
            .flat_map(|ring| &ring.pieces)
            .chain(found.open.iter().flatten())
            .map(|item| item.piece.segment())
            .collect();
        let half = options.join_tolerance / 2.0;
        let boxes: Vec<Bounds> = segments.iter().map(|segment| segment.bounds().expanded(half)).collect();
        let pairs = near_pairs(&boxes, SWEEP_BUDGET)?;

        let mut nearby: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut shared: BTreeMap<(usize, usize), Vec<Touch>> = BTreeMap::new();
        let mut crossed = BTreeMap::new();
        for (a, b) in pairs {
            let ((owner_a, index_a), (owner_b, index_b)) = (owners[a], owners[b]);
            if owner_a >= rings.len() {
                continue; // both are open
            }
            if owner_b >= rings.len() {
                nearby.entry(b).or_default().push(a);
            } else if owner_a == owner_b {
                let count = rings[owner_a].pieces.len();
                let is_fault = |at: &Point| {
                    is_crossing([segments[a], segments[b]], [index_a, index_b], count, *at, options.join_tolerance)
                };
                if let Some(at) = meetings(&segments[a], &segments[b]).into_iter().find(is_fault) {
                    crossed.entry(owner_a).or_insert((index_a, at));
                }
            } else {
                let points = meetings(&segments[a], &segments[b]);
                if !points.is_empty() {
                    shared.entry((owner_a, owner_b)).or_default().push((a, points));
                }
            }
        }
        for (&owner, &(index, at)) in &crossed {
            let place = self.place(rings[owner].pieces[index].source, Some(at));
            faults.push(NoteKind::SelfCrossing, Some(place), Some(rings[owner].bounds));
        }
        let mut visits = VISIT_BUDGET;
        for ((one, other), touched) in shared {
            if crossed.contains_key(&one) || crossed.contains_key(&other) {
                continue;
            }
            if let Some(at) = crossing(&rings[other], &segments, touched, options.join_tolerance, &mut visits)? {
                let kind = NoteKind::LoopsCross { other: self.sources[rings[other].source()].spot };
                let around = rings[one].bounds.union(rings[other].bounds);
                faults.push(kind, Some(self.place(rings[one].source(), Some(at))), Some(around));
                // Which of the two is wrong is not known.
                crossed.insert(one, (0, at));
                crossed.insert(other, (0, at));
            }
        }
        self.remove_covered(found, &segments, &nearby, options);
        let mut owner = 0;
        let (faulty, rings): (Vec<Ring>, Vec<Ring>) = std::mem::take(&mut found.rings).into_iter().partition(|_| {
            owner += 1;
            crossed.contains_key(&(owner - 1))
        });
        self.rejected.extend(faulty.iter().flat_map(|ring| ring.outline.segments()));
        found.faulty = faulty;
        found.rings = rings;
        // Drawn there and back around a bend: nothing crosses, yet nothing is enclosed.
        found.rings.retain(|ring| {
            let is_empty = ring.area <= ZERO_WIDTH * ring.outline.perimeter();
            if is_empty {
                self.report_empty(ring, faults);
            }
            !is_empty
        });
        Some(())
    }

    /// Loops without any width, and those no larger than a gap.
    fn take_flat(&mut self, found: &mut Found, options: &DrawingOptions, faults: &mut Faults) {
        let (flat, rings): (Vec<Ring>, Vec<Ring>) = std::mem::take(&mut found.rings)
            .into_iter()
            .partition(|ring| ring.spread() <= ZERO_WIDTH * ring.outline.perimeter());
        found.rings = rings;
        for ring in &flat {
            let size = [ring.bounds.width(), ring.bounds.height()];
            if size[0].max(size[1]) <= 4.0 * options.join_tolerance {
                let place = self.place(ring.source(), Some(ring.pieces[0].piece.start));
                self.notes.push(Note::new(Severity::Warning, NoteKind::TinyLoop { size }, Some(place)));
            } else if options.open_lines.is_none() {
                self.report_empty(ring, faults);
            } else {
                found.flat.push(ring.clone());
            }
        }
        // A closed stroke without any length has no piece to name its place by.
        for stroke in &self.strokes {
            if stroke.is_closed && stroke.pieces.is_empty() && stroke.line_use == LayerUse::Cut {
                let note = Note::new(
                    Severity::Warning,
                    NoteKind::TinyLoop { size: [0.0, 0.0] },
                    Some(self.place(stroke.source, None)),
                );
                self.notes.push(note);
            }
        }
    }

    /// Lines drawn on top of a loop's side cut nothing new.
    fn remove_covered(
        &mut self,
        found: &mut Found,
        segments: &[Segment],
        nearby: &BTreeMap<usize, Vec<usize>>,
        options: &DrawingOptions,
    ) {
        let mut index = found.rings.iter().map(|ring| ring.pieces.len()).sum::<usize>();
        let mut covered = Vec::new();
        found.open.retain(|list| {
            let mut is_covered = true;
            for item in list {
                let near = nearby.get(&index).map_or(&[][..], Vec::as_slice);
                is_covered &= [item.piece.start, item.piece.middle(), item.piece.end]
                    .iter()
                    .all(|&p| near.iter().any(|&on| distance(&segments[on], p) <= options.join_tolerance));
                index += 1;
            }
            if is_covered {
                covered.push(list[0].source);
            }
            !is_covered
        });
        if let Some(&first) = covered.first() {
            let kind = NoteKind::DuplicatesRemoved { count: covered.len() };
            self.notes.push(Note::new(Severity::Warning, kind, Some(self.place(first, None))));
        }
    }

    fn report_empty(&self, ring: &Ring, faults: &mut Faults) {
        let place = ring.pieces.first().map(|item| self.place(item.source, Some(item.piece.start)));
        faults.push(NoteKind::ZeroArea, place, Some(ring.bounds));
    }

    fn remove_doubled_rings(&mut self, rings: &mut Vec<Ring>, options: &DrawingOptions) -> Option<()> {
        let boxes: Vec<Bounds> = rings.iter().map(|ring| ring.bounds).collect();
        let near = |a: Point, b: Point| a.distance(b) <= options.join_tolerance;
        let mut is_doubled = vec![false; rings.len()];
        let mut first = None;
        let mut visits = VISIT_BUDGET;
        for (a, b) in near_pairs(&boxes, SWEEP_BUDGET)? {
            if is_doubled[a] || is_doubled[b] || !near(boxes[a].min, boxes[b].min) || !near(boxes[a].max, boxes[b].max)
            {
                continue;
            }
            visits = visits.checked_sub(rings[a].pieces.len().saturating_mul(rings[b].pieces.len()))?;
            let lies_on = |one: &Ring, other: &Ring| {
                one.pieces.iter().all(|item| {
                    [item.piece.start, item.piece.middle()]
                        .iter()
                        .all(|&p| other.outline.segments().any(|s| distance(&s, p) <= options.join_tolerance))
                })
            };
            if lies_on(&rings[a], &rings[b]) && lies_on(&rings[b], &rings[a]) {
                let later = if rings[a].source() > rings[b].source() { a } else { b };
                is_doubled[later] = true;
                first.get_or_insert(rings[later].source());
            }
        }
        if let Some(first) = first {
            let kind = NoteKind::DuplicatesRemoved { count: is_doubled.iter().filter(|&&is| is).count() };
            self.notes.push(Note::new(Severity::Warning, kind, Some(self.place(first, None))));
        }
        let mut index = 0;
        rings.retain(|_| {
            index += 1;
            !is_doubled[index - 1]
        });
        Some(())
    }
}

/// Whether two sides of one ring that share the point `at` make a fault there.
fn is_crossing(sides: [Segment; 2], index: [usize; 2], count: usize, at: Point, tolerance: f64) -> bool {
    let follows = |first: usize, second: usize| (index[first] + 1) % count == index[second];
    let mut is_neighbour = false;
    for (first, second) in [(0, 1), (1, 0)] {
        if !follows(first, second) {
            continue;
        }
        is_neighbour = true;
        let corner = sides[first].end();
        if let (Segment::Line { start, .. }, Segment::Line { end, .. }) = (sides[first], sides[second])
            && count > 2
        {
            let (to, from) = (corner - start, end - corner);
            // A spike: straight back along the line just drawn.
            return to.dot(from) < 0.0 && to.cross(from).abs() <= 1e-9 * to.length() * from.length();
        }
        if corner.distance(at) <= tolerance {
            return false;
        }
        // A line nearly tangent to its neighbouring arc cuts it again a little further on, by less than any gap that
        // was just closed. What counts is how far the two part in between.
        let parts = |one: &Segment, other: &Segment, ends_here: bool| {
            let (from, to) = if ends_here { (fraction(one, at), 1.0) } else { (0.0, fraction(one, at)) };
            distance(other, one.at((from + to) / 2.0)) > tolerance
        };
        if !parts(&sides[first], &sides[second], true) && !parts(&sides[second], &sides[first], false) {
            return false;
        }
    }
    // Two sides make a ring of two arcs, such as a circle; each meeting is then one of its corners or a fault.
    !(is_neighbour && count == 2 && sides.iter().any(|side| side.start().distance(at) <= tolerance))
}

/// How far along a segment a point on it lies.
pub(super) fn fraction(segment: &Segment, point: Point) -> f64 {
    match segment {
        Segment::Line { start, end } => {
            let chord = *end - *start;
            ((point - *start).dot(chord) / chord.length_squared()).clamp(0.0, 1.0)
        }
        Segment::Arc { arc, .. } => {
            let turned = ((point - arc.center).angle() - arc.start_angle) * arc.sweep.signum();
            let turned = turned.rem_euclid(std::f64::consts::TAU);
            // A hair before the start wraps round.
            if turned > arc.sweep.abs() + 1e-6 { 0.0 } else { (turned / arc.sweep.abs()).min(1.0) }
        }
    }
}

/// Where one ring, by its sides that touch `other` at the given points, passes from clearly inside to clearly outside.
/// Rings that only touch do not. `None` when too much work.
#[expect(clippy::option_option, reason = "the outer one is the budget")]
fn crossing(
    other: &Ring,
    segments: &[Segment],
    touched: Vec<Touch>,
    tolerance: f64,
    visits: &mut usize,
) -> Option<Option<Point>> {
    let mut by_side: BTreeMap<usize, Vec<Point>> = BTreeMap::new();
    for (side, points) in touched {
        by_side.entry(side).or_default().extend(points);
    }
    let (mut has_inside, mut has_outside) = (false, false);
    for (side, points) in by_side {
        let segment = &segments[side];
        let mut cuts: Vec<f64> = points.iter().map(|&point| fraction(segment, point)).chain([0.0, 1.0]).collect();
        cuts.sort_by(f64::total_cmp);
        for window in cuts.windows(2).filter(|window| window[1] > window[0]) {
            *visits = visits.checked_sub(2 * other.pieces.len())?;
            let sample = segment.at((window[0] + window[1]) / 2.0);
            if other.outline.segments().any(|side| distance(&side, sample) <= tolerance) {
                continue;
            }
            if other.outline.contains(sample) {
                has_inside = true;
            } else {
                has_outside = true;
            }
            if has_inside && has_outside {
                return Some(points.first().copied());
            }
        }
    }
    Some(None)
}
