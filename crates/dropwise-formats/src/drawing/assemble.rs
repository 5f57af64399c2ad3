//! From the lines of a drawing to its parts: loops are closed, checked, and sorted into outlines and holes.

use std::collections::BTreeMap;

use dropwise_geometry::{Bounds, Outline, Point, Segment, Shape, Vertex};

use super::crossings::{meetings, near_pairs};
use super::sketch::Sketch;
use super::{Drawing, DrawingOptions, DrawnShape, LayerUse, Note, NoteKind, Severity};
use crate::chain::{Sourced, chain};
use crate::curves::{Piece, distance};

/// Comparisons of boxes in one sweep; about a second's work.
const SWEEP_BUDGET: usize = 100_000_000;
/// Visits to a segment when points are sorted into loops; a few seconds' work.
const VISIT_BUDGET: usize = 50_000_000;
/// Faults listed one by one.
const MOST_FAULTS: usize = 100;
/// A loop whose area is below this share of its length, in mm, is a line drawn there and back.
const ZERO_WIDTH: f64 = 1e-3;
/// Parts within holes of parts, and so on: no shop draws more.
const MOST_NESTED: usize = 16;

/// A closed loop.
struct Ring {
    pieces: Vec<Sourced>,
    outline: Outline,
    area: f64,
    bounds: Bounds,
}

/// A side of one loop, by its index among all segments, and where another loop meets it.
type Touch = (usize, Vec<Point>);

impl Ring {
    fn new(pieces: Vec<Sourced>) -> Self {
        let outline = Outline::new(pieces.iter().map(|item| Vertex::arc(item.piece.start, item.piece.bulge)).collect());
        Self { area: outline.area(), bounds: outline.bounds(), outline, pieces }
    }

    fn source(&self) -> usize {
        self.pieces.iter().map(|item| item.source).min().unwrap_or(0)
    }

    /// Area swept from the first corner, whichever way: zero only when all lies on one line. A bow tie encloses as much
    /// on one side as on the other, and is not flat.
    fn spread(&self) -> f64 {
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
    fn holds(&self, other: &Self) -> bool {
        let n = other.pieces.len();
        let inside = |share: usize| self.outline.contains(other.pieces[n * share / 3].piece.middle());
        let (first, second) = (inside(0), inside(1));
        if first == second { first } else { self.outline.contains(other.pieces[n - 1].piece.segment().at(0.3)) }
    }
}

impl Sketch {
    /// The parts.
    ///
    /// # Errors
    /// All notes, when one of them is an error.
    pub(crate) fn finish(mut self, options: &DrawingOptions) -> Result<Drawing, Vec<Note>> {
        self.note_counts();
        let (mut rings, open) = self.rings(options);
        let mut faults = Faults::default();
        let drawn = self
            .check(&mut rings, open, options, &mut faults)
            .and_then(|()| nest(&rings, &mut faults, &self))
            .and_then(|nested| self.shapes(&rings, nested, options, &mut faults));
        faults.move_into(&mut self.notes, options);
        let Some(shapes) = drawn else {
            self.note(Severity::Error, NoteKind::Tangled);
            return Err(self.notes);
        };
        if self.notes.iter().any(|note| note.severity == Severity::Error) {
            return Err(self.notes);
        }
        Ok(Drawing { shapes, notes: self.notes })
    }

    /// Closed strokes as they are, and what can be chained of the others; then the chains that stay open.
    fn rings(&mut self, options: &DrawingOptions) -> (Vec<Ring>, Vec<Vec<Sourced>>) {
        let (mut rings, mut loose) = (Vec::new(), Vec::new());
        for stroke in self.strokes.iter().filter(|stroke| stroke.layer_use == LayerUse::Cut) {
            let pieces =
                self.pieces[stroke.pieces.clone()].iter().map(|&piece| Sourced { piece, source: stroke.source });
            if stroke.is_closed {
                rings.push(Ring::new(pieces.collect()));
            } else {
                loose.extend(pieces);
            }
        }
        let chained = chain(&loose, options.join_tolerance);
        rings.extend(chained.loops.into_iter().map(Ring::new));
        if chained.joined > 0 {
            let (count, widest) = (chained.joined, chained.widest_gap);
            self.note(Severity::Info, NoteKind::EndsJoined { count, widest });
        }
        if !chained.duplicates.is_empty() {
            let count = chained.duplicates.len();
            let place = self.place(chained.duplicates[0], None);
            self.notes.push(Note::new(Severity::Warning, NoteKind::DuplicatesRemoved { count }, Some(place)));
        }
        (rings, chained.open)
    }

    /// Removes loops drawn twice and lines drawn on loops, and finds what cannot be cut. `None` when too tangled.
    fn check(
        &mut self,
        rings: &mut Vec<Ring>,
        mut open: Vec<Vec<Sourced>>,
        options: &DrawingOptions,
        faults: &mut Faults,
    ) -> Option<()> {
        rings.retain(|ring| {
            let is_flat = ring.spread() <= ZERO_WIDTH * ring.outline.perimeter();
            if is_flat {
                self.report_empty(ring, faults);
            }
            !is_flat
        });
        // A closed stroke without any length has no piece to name its place by.
        for stroke in &self.strokes {
            if stroke.is_closed && stroke.pieces.is_empty() && stroke.layer_use == LayerUse::Cut {
                faults.push(NoteKind::ZeroArea, Some(self.place(stroke.source, None)));
            }
        }
        self.remove_doubled_rings(rings, options)?;

        // All pieces of the rings, then those of the open chains.
        let owners: Vec<(usize, usize)> = rings
            .iter()
            .map(|ring| ring.pieces.len())
            .chain(open.iter().map(Vec::len))
            .enumerate()
            .flat_map(|(owner, count)| (0..count).map(move |index| (owner, index)))
            .collect();
        let segments: Vec<Segment> = rings
            .iter()
            .flat_map(|ring| &ring.pieces)
            .chain(open.iter().flatten())
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
            faults.push(NoteKind::SelfCrossing, Some(place));
        }
        let mut visits = VISIT_BUDGET;
        for ((one, other), touched) in shared {
            if crossed.contains_key(&one) || crossed.contains_key(&other) {
                continue;
            }
            if let Some(at) = crossing(&rings[other], &segments, touched, options.join_tolerance, &mut visits)? {
                let kind = NoteKind::LoopsCross { other: self.sources[rings[other].source()].spot };
                faults.push(kind, Some(self.place(rings[one].source(), Some(at))));
                crossed.insert(one, (0, at));
            }
        }

        // Lines drawn on top of a loop's side cut nothing new.
        let first_open = rings.iter().map(|ring| ring.pieces.len()).sum::<usize>();
        let mut index = first_open;
        let mut covered = Vec::new();
        open.retain(|list| {
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
        self.report_open(&open, faults);

        let mut owner = 0;
        rings.retain(|ring| {
            owner += 1;
            if crossed.contains_key(&(owner - 1)) {
                return false;
            }
            // Drawn there and back around a bend: nothing crosses, yet nothing is enclosed.
            let is_empty = ring.area <= ZERO_WIDTH * ring.outline.perimeter();
            if is_empty {
                self.report_empty(ring, faults);
            }
            !is_empty
        });
        Some(())
    }

    fn report_empty(&self, ring: &Ring, faults: &mut Faults) {
        let place = ring.pieces.first().map(|item| self.place(item.source, Some(item.piece.start)));
        faults.push(NoteKind::ZeroArea, place);
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

    fn report_open(&self, open: &[Vec<Sourced>], faults: &mut Faults) {
        let ends_of = |list: &[Sourced]| [list[0].piece.start, list[list.len() - 1].piece.end];
        // Only the listed ones are compared with all others, which keeps the cost linear.
        for (index, list) in open.iter().enumerate() {
            let ends = ends_of(list);
            let gap = if index > MOST_FAULTS {
                ends[0].distance(ends[1])
            } else {
                open.iter()
                    .enumerate()
                    .filter(|&(other, _)| other != index)
                    .flat_map(|(_, list)| ends_of(list))
                    .map(|end| ends[0].distance(end).min(ends[1].distance(end)))
                    .fold(ends[0].distance(ends[1]), f64::min)
            };
            let length = list.iter().map(|item| item.piece.length()).sum();
            let place = self.place(list[0].source, Some(ends[0]));
            faults.push(NoteKind::OpenContour { ends, gap, length }, Some(place));
        }
    }

    /// Shapes with what lies on them. `None` when too tangled.
    fn shapes(
        &mut self,
        rings: &[Ring],
        nested: Vec<(usize, Vec<usize>)>,
        options: &DrawingOptions,
        faults: &mut Faults,
    ) -> Option<Vec<DrawnShape>> {
        let mut drawn: Vec<(usize, DrawnShape)> = nested
            .into_iter()
            .map(|(outer, holes)| {
                let ring = &rings[outer];
                let source = ring.source();
                let holes = holes.into_iter().map(|hole| rings[hole].outline.clone()).collect();
                let place = self.place(source, Some(ring.pieces[0].piece.start));
                let shape = DrawnShape {
                    shape: Shape::new(ring.outline.clone(), holes),
                    labels: self.sources[source].label.iter().map(ToString::to_string).collect(),
                    layer: self.sources[source].layer.to_string(),
                    place,
                    bend_lines: Vec::new(),
                    mark_lines: Vec::new(),
                };
                (source, shape)
            })
            .collect();
        // The same checks that a job makes of every part, so that none passes here to fail there.
        drawn.retain(|(_, drawn)| {
            let found = drawn.shape.faults();
            for fault in &found {
                faults.push(NoteKind::NotSound(*fault), Some(drawn.place.clone()));
            }
            found.is_empty()
        });
        drawn.sort_by_key(|&(source, _)| source);
        let mut shapes: Vec<DrawnShape> = drawn.into_iter().map(|(_, shape)| shape).collect();

        for layer_use in [LayerUse::Bend, LayerUse::Mark] {
            let pieces: Vec<Piece> = self
                .strokes
                .iter()
                .filter(|stroke| stroke.layer_use == layer_use)
                .flat_map(|stroke| self.pieces[stroke.pieces.clone()].iter().copied())
                .collect();
            let mut stray = 0;
            let middles: Vec<Point> = pieces.iter().map(Piece::middle).collect();
            for (piece, owner) in pieces.iter().zip(owners(&middles, &shapes)?) {
                match owner.map(|owner| &mut shapes[owner]) {
                    Some(shape) if layer_use == LayerUse::Bend => shape.bend_lines.push(piece.segment()),
                    Some(shape) => shape.mark_lines.push(piece.segment()),
                    None => stray += 1,
                }
            }
            if stray > 0 {
                self.note(Severity::Warning, NoteKind::StrayLine { layer_use, count: stray });
            }
        }
        let points: Vec<Point> = self.texts.iter().map(|&(at, _)| at).collect();
        for ((_, text), owner) in self.texts.iter().zip(owners(&points, &shapes)?) {
            if let Some(shape) = owner.map(|owner| &mut shapes[owner])
                && !shape.labels.contains(text)
            {
                shape.labels.push(text.clone());
            }
        }
        let mut suspects = 0;
        for shape in &shapes {
            let size = [shape.shape.bounds().width(), shape.shape.bounds().height()];
            let longer = size[0].max(size[1]);
            let kind = if longer > options.suspiciously_large {
                NoteKind::SuspiciouslyLarge { size }
            } else if longer < options.suspiciously_small {
                NoteKind::SuspiciouslySmall { size }
            } else {
                continue;
            };
            suspects += 1;
            if suspects <= MOST_FAULTS {
                self.notes.push(Note::new(Severity::Warning, kind, Some(shape.place.clone())));
            }
        }
        Some(shapes)
    }
}

/// Faults as they are found; the excess only counted.
#[derive(Default)]
struct Faults {
    notes: Vec<Note>,
    more: usize,
}

impl Faults {
    fn push(&mut self, kind: NoteKind, place: Option<super::Place>) {
        if self.notes.len() < MOST_FAULTS {
            self.notes.push(Note::new(Severity::Error, kind, place));
        } else {
            self.more += 1;
        }
    }

    fn move_into(self, notes: &mut Vec<Note>, options: &DrawingOptions) {
        for note in self.notes {
            notes.push(if options.skips_faulty {
                Note::new(Severity::Warning, NoteKind::FaultyLeftOut(Box::new(note.kind)), note.place)
            } else {
                note
            });
        }
        if self.more > 0 {
            let severity = if options.skips_faulty { Severity::Warning } else { Severity::Error };
            notes.push(Note::new(severity, NoteKind::MoreFaults { count: self.more }, None));
        }
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
fn fraction(segment: &Segment, point: Point) -> f64 {
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

/// Outer rings with their holes. `None` when too tangled.
fn nest(rings: &[Ring], faults: &mut Faults, sketch: &Sketch) -> Option<Vec<(usize, Vec<usize>)>> {
    let boxes: Vec<Bounds> = rings.iter().map(|ring| ring.bounds).collect();
    let mut around: Vec<Vec<usize>> = vec![Vec::new(); rings.len()];
    let mut visits = VISIT_BUDGET;
    for (a, b) in near_pairs(&boxes, SWEEP_BUDGET)? {
        let (outer, inner) = if rings[a].area >= rings[b].area { (a, b) } else { (b, a) };
        visits = visits.checked_sub(2 * rings[outer].pieces.len())?;
        if rings[outer].holds(&rings[inner]) {
            around[inner].push(outer);
        }
    }
    let mut holes: Vec<Vec<usize>> = vec![Vec::new(); rings.len()];
    for (ring, outers) in around.iter().enumerate() {
        if outers.len() > MOST_NESTED {
            let at = rings[ring].pieces[0].piece.start;
            faults.push(NoteKind::NestedTooDeep, Some(sketch.place(rings[ring].source(), Some(at))));
        } else if outers.len() % 2 == 1 {
            let parent = outers.iter().min_by(|&&a, &&b| rings[a].area.total_cmp(&rings[b].area));
            if let Some(&parent) = parent {
                holes[parent].push(ring);
            }
        }
    }
    Some(
        (0..rings.len())
            .filter(|&ring| around[ring].len().is_multiple_of(2) && around[ring].len() <= MOST_NESTED)
            .map(|ring| (ring, std::mem::take(&mut holes[ring])))
            .collect(),
    )
}

/// For each point the smallest shape whose exterior holds it. `None` when too tangled.
fn owners(points: &[Point], shapes: &[DrawnShape]) -> Option<Vec<Option<usize>>> {
    let boxes: Vec<Bounds> = shapes
        .iter()
        .map(|shape| shape.shape.bounds())
        .chain(points.iter().map(|&point| Bounds::of([point])))
        .collect();
    let mut owners: Vec<Option<usize>> = vec![None; points.len()];
    if points.is_empty() {
        return Some(owners);
    }
    let mut visits = VISIT_BUDGET;
    for (shape, point) in near_pairs(&boxes, SWEEP_BUDGET)? {
        let Some(index) = point.checked_sub(shapes.len()) else { continue };
        let Some(candidate) = shapes.get(shape) else { continue };
        visits = visits.checked_sub(candidate.shape.exterior().vertices().len())?;
        if candidate.shape.exterior().contains(points[index]) {
            let area = |shape: usize| shapes[shape].shape.exterior().area();
            if owners[index].is_none_or(|known| area(shape) < area(known)) {
                owners[index] = Some(shape);
            }
        }
    }
    Some(owners)
}
