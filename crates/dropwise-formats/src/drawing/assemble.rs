//! From the lines of a drawing to its parts: loops are closed, checked, and sorted into outlines and holes.

use std::collections::BTreeMap;
use std::sync::Arc;

use dropwise_geometry::{Bounds, Outline, Point, Shape};

use super::crossings::near_pairs;
use super::loops::{Found, Ring, SWEEP_BUDGET, VISIT_BUDGET};
use super::report::{Faults, grouped};
use super::rules::Why;
use super::sketch::{Sketch, Stroke};
use super::words;
use super::{Drawing, DrawingOptions, DrawnShape, LayerUse, Note, NoteKind, Severity};
use crate::chain::{Sourced, chain};
use crate::curves::Piece;

/// A web between two loops below this, mm, all around, is the width of a pen.
const PEN_WIDTH: f64 = 0.6;

/// A drawing that cannot be cut as it is: everything noted, and what was understood all the same.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Refusal {
    pub(crate) notes: Vec<Note>,
    pub(crate) understood: Drawing,
}

impl Sketch {
    /// The parts.
    ///
    /// # Errors
    /// All notes, when one of them is an error.
    pub(crate) fn finish(mut self, options: &DrawingOptions) -> Result<Drawing, Box<Refusal>> {
        self.believe_or_not();
        self.note_left_out();
        let mut faults = Faults::default();
        let assembled = self.assemble(options, &mut faults);
        let is_tangled = assembled.is_none();
        let mut shapes = assembled.unwrap_or_default();
        self.find_dashed_bends(&mut shapes);
        self.note_choices();
        self.note_unread(&shapes, options, &mut faults);
        self.note_size(&shapes, options);
        let wanted = options.only_piece.and_then(|piece| shapes.get(piece.wrapping_sub(1)));
        let concern = wanted.map(|drawn| drawn.shape.bounds().expanded(options.join_tolerance));
        let mut notes = std::mem::take(&mut self.notes);
        faults.move_into(&mut notes, options, concern);
        if is_tangled {
            notes.push(Note::new(Severity::Error, NoteKind::Tangled, None));
        }
        let is_refused = notes.iter().any(|note| note.severity == Severity::Error);
        if is_refused {
            notes.extend(self.colours());
        }
        let notes = grouped(notes);
        let drawing = Drawing { shapes, notes: notes.clone(), left_out: self.left_out_segments().collect() };
        if is_refused { Err(Box::new(Refusal { notes, understood: drawing })) } else { Ok(drawing) }
    }

    /// Parts with everything on them; faults go to `faults`. `None` when too tangled.
    fn assemble(&mut self, options: &DrawingOptions, faults: &mut Faults) -> Option<Vec<DrawnShape>> {
        let mut found = if options.splits_shared { self.regions(options)? } else { self.rings(options) };
        self.check(&mut found, options, faults)?;
        let lines = self.settle_open(&mut found, options, faults);
        if options.skips_faulty || options.open_lines.is_some() || options.only_piece.is_some() {
            self.drop_what_is_inside(&mut found);
        }
        let nested = self.nest(&found.rings, options, faults)?;
        let mut shapes = self.shapes(&found.rings, nested, options, faults);
        self.put_lines_on(&mut shapes, &lines)?;
        self.put_damage_on(&mut shapes);
        self.put_texts_on(&mut shapes)?;
        Some(shapes)
    }

    /// Layers left out for a word that also names parts are cut where nothing else is, and where holes lie in them.
    fn believe_or_not(&mut self) {
        let weak: Vec<usize> =
            (0..self.strokes.len()).filter(|&index| self.strokes[index].why == Why::WeakWord).collect();
        let cut = || self.strokes.iter().filter(|stroke| stroke.line_use == LayerUse::Cut);
        let layer_of = |stroke: &Stroke| Arc::clone(&self.sources[stroke.source].look.layer);
        let holes = match cut().next().map(layer_of) {
            None => String::new(),
            Some(layer) if cut().all(|stroke| words::is_of_holes(&layer_of(stroke))) => layer.to_string(),
            Some(_) => return,
        };
        let mut layers: BTreeMap<Arc<str>, Vec<usize>> = BTreeMap::new();
        for index in weak {
            layers.entry(layer_of(&self.strokes[index])).or_default().push(index);
        }
        for (layer, strokes) in layers {
            if self.loops_among(&strokes).0 == 0 {
                continue;
            }
            let place = self.place(self.strokes[strokes[0]].source, None);
            let kind =
                NoteKind::LayerCutAfterAll { layer: layer.to_string(), count: strokes.len(), holes: holes.clone() };
            self.notes.push(Note::new(Severity::Warning, kind, Some(place)));
            for index in strokes {
                (self.strokes[index].line_use, self.strokes[index].why) = (LayerUse::Cut, Why::Told);
            }
        }
    }

    /// How many closed loops some strokes make, and the size of the largest.
    fn loops_among(&self, strokes: &[usize]) -> (usize, [f64; 2]) {
        let (mut boxes, mut loose) = (Vec::new(), Vec::new());
        for stroke in strokes.iter().map(|&index| &self.strokes[index]) {
            let pieces = &self.pieces[stroke.pieces.clone()];
            if stroke.is_closed {
                boxes.extend(pieces.iter().map(|piece| piece.segment().bounds()).reduce(Bounds::union));
            } else {
                loose.extend(pieces.iter().map(|&piece| Sourced { piece, source: stroke.source }));
            }
        }
        let loops = chain(&loose, 0.05).loops.into_iter().map(Ring::new);
        boxes.extend(loops.map(|ring| ring.bounds));
        boxes.retain(|bounds| bounds.width() > 0.0 && bounds.height() > 0.0);
        let largest = boxes.iter().max_by(|a, b| (a.width() * a.height()).total_cmp(&(b.width() * b.height())));
        (boxes.len(), largest.map_or([0.0, 0.0], |bounds| [bounds.width(), bounds.height()]))
    }

    /// Notes of what was chosen by layer, line type and colour.
    fn note_choices(&mut self) {
        let mut groups: BTreeMap<(Why, Arc<str>), Vec<usize>> = BTreeMap::new();
        for (index, stroke) in self.strokes.iter().enumerate() {
            let look = &self.sources[stroke.source].look;
            let key = match stroke.why {
                Why::Told => continue,
                Why::Word | Why::WeakWord | Why::Hidden if stroke.line_use == LayerUse::Ignore => {
                    Arc::clone(&look.layer)
                }
                Why::LineType | Why::Dashed if stroke.line_use == LayerUse::Ignore => {
                    look.line_type.clone().unwrap_or_default()
                }
                Why::Unknown if !look.layer.is_empty() => Arc::clone(&look.layer),
                Why::OtherColour => {
                    look.colour.map_or_else(|| "other colours".to_owned(), |colour| colour.to_string()).into()
                }
                _ => continue,
            };
            groups.entry((stroke.why, key)).or_default().push(index);
        }
        let (mut unknown, mut colours) = (Vec::new(), (Vec::new(), 0));
        for ((why, name), strokes) in groups {
            let (count, name) = (strokes.len(), name.to_string());
            if why == Why::Unknown {
                unknown.push((name, count));
                continue;
            }
            let (loops, largest) = self.loops_among(&strokes);
            if why == Why::OtherColour {
                colours.0.push((name, count));
                colours.1 += loops;
                continue;
            }
            let is_across = why == Why::LineType && self.across.contains(&name);
            let is_doubtful = (loops > 0 && why != Why::Hidden) || is_across;
            let severity = if is_doubtful { Severity::Warning } else { Severity::Info };
            let kind = match why {
                Why::LineType | Why::Dashed => {
                    NoteKind::LineTypeLeftOut { line_type: name, count, loops, largest, is_across }
                }
                _ => {
                    let is_hidden = why == Why::Hidden;
                    NoteKind::LayerLeftOut { layer: name, count, is_hidden, loops, largest }
                }
            };
            self.note(severity, kind);
        }
        if !unknown.is_empty() {
            self.note(Severity::Info, NoteKind::UnknownLayers { layers: unknown });
        }
        if !colours.0.is_empty() {
            self.note(Severity::Warning, NoteKind::OtherColours { colours: colours.0, loops: colours.1 });
        }
    }

    /// What the lines to be cut look like, where there is a choice.
    fn colours(&self) -> Option<Note> {
        let mut counts: BTreeMap<(String, String), (usize, usize)> = BTreeMap::new();
        let mut kinds = std::collections::BTreeSet::new();
        for stroke in self.strokes.iter().filter(|stroke| stroke.line_use == LayerUse::Cut) {
            let look = &self.sources[stroke.source].look;
            let name = look.colour.map_or_else(|| "other".to_owned(), |colour| colour.to_string());
            kinds.insert(name.clone());
            let (closed, open) = counts.entry((name, look.layer.to_string())).or_default();
            *(if stroke.is_closed { closed } else { open }) += 1;
        }
        let counts = counts.into_iter().map(|((colour, layer), (closed, open))| (colour, layer, closed, open));
        (kinds.len() > 1).then(|| Note::new(Severity::Error, NoteKind::Colours { counts: counts.collect() }, None))
    }

    /// What is not understood is an error where it lies on a part.
    fn note_unread(&mut self, shapes: &[DrawnShape], options: &DrawingOptions, faults: &mut Faults) {
        let mut groups: BTreeMap<(String, bool), (usize, usize, Option<Bounds>)> = BTreeMap::new();
        let unread = std::mem::take(&mut self.unread);
        for (index, item) in unread.iter().enumerate() {
            let is_on = |bounds: Bounds| shapes.iter().any(|drawn| drawn.shape.bounds().intersects(bounds));
            let is_on_part = shapes.is_empty() || item.bounds.is_none_or(is_on);
            let entry = groups.entry((item.kind.clone(), is_on_part)).or_insert((index, 0, item.bounds));
            entry.1 += 1;
            entry.2 = entry.2.zip(item.bounds).map(|(a, b)| a.union(b));
        }
        for ((entity, is_on_part), (first, count, bounds)) in groups.into_iter().take(100) {
            let (place, cure) = (unread[first].place.clone(), unread[first].cure);
            let kind = NoteKind::NotUnderstood { entity, count, cure, is_on_part };
            if is_on_part && !options.skips_unknown {
                faults.push(kind, Some(place), bounds);
            } else {
                self.notes.push(Note::new(Severity::Warning, kind, Some(place)));
            }
        }
    }

    /// Loops that would become parts only because the outline around them is not there go with it.
    fn drop_what_is_inside(&mut self, found: &mut Found) {
        let mut lost: Vec<Ring> = std::mem::take(&mut found.faulty);
        lost.extend(found.open.iter().filter(|list| list.len() > 1).map(|list| {
            let mut pieces = list.clone();
            let (start, end) = (list[0], list[list.len() - 1]);
            pieces.push(Sourced { piece: Piece::line(end.piece.end, start.piece.start), source: start.source });
            Ring::new(pieces)
        }));
        if lost.is_empty() {
            return;
        }
        let mut order: Vec<usize> = (0..found.rings.len()).collect();
        order.sort_by(|&a, &b| found.rings[b].area.total_cmp(&found.rings[a].area));
        let holds = |outer: &Ring, inner: &Ring| outer.bounds.intersects(inner.bounds) && outer.holds(inner);
        let mut kept: Vec<usize> = Vec::new();
        let mut dropped = vec![false; found.rings.len()];
        for index in order {
            let ring = &found.rings[index];
            let is_in_lost = lost.iter().any(|outer| outer.area > ring.area && holds(outer, ring));
            if is_in_lost && !kept.iter().any(|&outer| holds(&found.rings[outer], ring)) {
                dropped[index] = true;
            } else {
                kept.push(index);
            }
        }
        let count = dropped.iter().filter(|&&is| is).count();
        if count > 0 {
            self.note(Severity::Warning, NoteKind::InsideFaulty { count });
            let mut index = 0;
            found.rings.retain(|ring| {
                index += 1;
                if dropped[index - 1] {
                    self.rejected.extend(ring.outline.segments());
                }
                !dropped[index - 1]
            });
        }
    }

    /// Outlines with their holes, in the order of the file. Those that are not sound go to `faults`.
    fn shapes(
        &mut self,
        rings: &[Ring],
        nested: Vec<(usize, Vec<usize>)>,
        options: &DrawingOptions,
        faults: &mut Faults,
    ) -> Vec<DrawnShape> {
        let mut drawn: Vec<(usize, DrawnShape)> = nested
            .into_iter()
            .map(|(outer, holes)| {
                let ring = &rings[outer];
                self.warn_of_double_line(ring, holes.iter().map(|&hole| &rings[hole]), options);
                let source = ring.source();
                let holes = holes.into_iter().map(|hole| rings[hole].outline.clone()).collect();
                let place = self.place(source, Some(ring.pieces[0].piece.start));
                let shape = DrawnShape {
                    shape: Shape::new(ring.outline.clone(), holes),
                    labels: self.sources[source].label.iter().map(ToString::to_string).collect(),
                    layer: self.sources[source].look.layer.to_string(),
                    place,
                    bend_lines: Vec::new(),
                    mark_lines: Vec::new(),
                    damage: Vec::new(),
                };
                (source, shape)
            })
            .collect();
        // The same checks that a job makes of every part, so that none passes here to fail there.
        drawn.retain(|(_, drawn)| {
            let found = drawn.shape.faults();
            if let Some(fault) = found.first() {
                let bounds = Some(drawn.shape.bounds());
                faults.push(NoteKind::NotSound(*fault), Some(drawn.place.clone()), bounds);
                self.rejected.extend(drawn.shape.rings().flat_map(|ring| ring.segments().collect::<Vec<_>>()));
            }
            found.is_empty()
        });
        drawn.sort_by_key(|&(source, _)| source);
        drawn.into_iter().map(|(_, shape)| shape).collect()
    }

    fn warn_of_double_line<'r>(
        &mut self,
        outer: &Ring,
        holes: impl Iterator<Item = &'r Ring>,
        options: &DrawingOptions,
    ) {
        for hole in holes {
            let width = 2.0 * (outer.area - hole.area) / (outer.outline.perimeter() + hole.outline.perimeter());
            if width < PEN_WIDTH && width > 0.0 && width < outer.bounds.width() / 20.0 && !options.is_stock {
                let place = self.place(hole.source(), None);
                self.notes.push(Note::new(Severity::Warning, NoteKind::DoubleLine { width }, Some(place)));
            }
        }
    }

    /// Bend and mark lines on their parts. `None` when too tangled.
    fn put_lines_on(&mut self, shapes: &mut [DrawnShape], told: &[(LayerUse, Piece)]) -> Option<()> {
        for line_use in [LayerUse::Bend, LayerUse::Mark] {
            let of_told = told.iter().filter(|&&(told, _)| told == line_use).map(|&(_, piece)| piece);
            let pieces: Vec<Piece> = self
                .strokes
                .iter()
                .filter(|stroke| stroke.line_use == line_use)
                .flat_map(|stroke| self.pieces[stroke.pieces.clone()].iter().copied())
                .chain(of_told)
                .collect();
            let mut stray = 0;
            let middles: Vec<Point> = pieces.iter().map(Piece::middle).collect();
            for (piece, owner) in pieces.iter().zip(owners(&middles, shapes)?) {
                match owner.map(|owner| &mut shapes[owner]) {
                    Some(shape) if line_use == LayerUse::Bend => shape.bend_lines.push(piece.segment()),
                    Some(shape) => shape.mark_lines.push(piece.segment()),
                    None => stray += 1,
                }
            }
            if stray > 0 {
                self.note(Severity::Warning, NoteKind::StrayLine { line_use, count: stray });
            }
        }
        Some(())
    }

    /// Loops on damage layers go to every outline that they touch; open lines there are made into none.
    fn put_damage_on(&mut self, shapes: &mut [DrawnShape]) {
        let (mut rings, mut loose) = (Vec::new(), Vec::new());
        for stroke in self.strokes.iter().filter(|stroke| stroke.line_use == LayerUse::Damage) {
            let pieces =
                self.pieces[stroke.pieces.clone()].iter().map(|&piece| Sourced { piece, source: stroke.source });
            if stroke.is_closed && !stroke.pieces.is_empty() {
                rings.push(Ring::new(pieces.collect()));
            } else {
                loose.extend(pieces);
            }
        }
        let chained = chain(&loose, 0.05);
        rings.extend(chained.loops.into_iter().map(Ring::new));
        // A scratch is a line: the box around it is not to be used.
        rings.extend(chained.open.into_iter().filter_map(|list| {
            let around = list.iter().map(|item| item.piece.segment().bounds()).reduce(Bounds::union)?;
            let around = around.expanded(0.5);
            let corners = [
                around.min,
                Point::new(around.max.x, around.min.y),
                around.max,
                Point::new(around.min.x, around.max.y),
            ];
            let sides = (0..4).map(|i| Piece::line(corners[i], corners[(i + 1) % 4]));
            Some(Ring::new(sides.map(|piece| Sourced { piece, source: list[0].source }).collect()))
        }));
        let mut stray = 0;
        for ring in rings.into_iter().filter(|ring| ring.area > 0.0) {
            let mut is_on_any = false;
            for shape in shapes.iter_mut().filter(|shape| shape.shape.bounds().intersects(ring.bounds)) {
                is_on_any = true;
                shape.damage.push(into_ccw(&ring.outline));
            }
            stray += usize::from(!is_on_any);
        }
        if stray > 0 {
            self.note(Severity::Warning, NoteKind::StrayLine { line_use: LayerUse::Damage, count: stray });
        }
    }

    fn put_texts_on(&self, shapes: &mut [DrawnShape]) -> Option<()> {
        let points: Vec<Point> = self.texts.iter().map(|&(at, _)| at).collect();
        for ((_, text), owner) in self.texts.iter().zip(owners(&points, shapes)?) {
            if let Some(shape) = owner.map(|owner| &mut shapes[owner])
                && !shape.labels.contains(text)
            {
                shape.labels.push(text.clone());
            }
        }
        Some(())
    }
}

fn into_ccw(outline: &Outline) -> Outline {
    outline.clone().into_ccw()
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
