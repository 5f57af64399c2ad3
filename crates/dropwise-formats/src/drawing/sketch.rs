//! What a reader hands over: the lines of each entity in millimetres, before anything is joined.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

use dropwise_geometry::{Bounds, Point, Segment};

use super::rules::{LineLook, Why};
use super::sizes::Reading;
use super::{DrawingOptions, LayerUse, Note, NoteKind, Place, Severity, Spot};
use crate::chain::SAME_PLACE;
use crate::curves::{NoRoom, Piece, PieceSink};

/// Where an entity comes from.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    pub(crate) spot: Spot,
    pub(crate) look: LineLook,
    /// A word that may name the part it belongs to.
    pub(crate) label: Option<Arc<str>>,
    /// Whether it is filled and has no line of its own, as a background.
    pub(crate) is_bare_fill: bool,
}

/// The lines of one entity, end to end.
#[derive(Clone, Debug)]
pub(super) struct Stroke {
    pub(super) pieces: Range<usize>,
    pub(super) is_closed: bool,
    pub(super) source: usize,
    pub(super) line_use: LayerUse,
    pub(super) why: Why,
}

/// Something drawn that is not understood.
#[derive(Clone, Debug)]
pub(super) struct Unread {
    pub(super) kind: String,
    pub(super) cure: &'static str,
    pub(super) place: Place,
    /// Where it lies, mm; `None` when the file does not tell.
    pub(super) bounds: Option<Bounds>,
}

/// Everything drawn, and what was noted on the way.
#[derive(Debug)]
pub(crate) struct Sketch {
    pub(super) file: Arc<str>,
    pub(super) sources: Vec<Source>,
    pub(super) pieces: Vec<Piece>,
    pub(super) strokes: Vec<Stroke>,
    pub(super) texts: Vec<(Point, String)>,
    pub(super) unread: Vec<Unread>,
    /// What the numbers were taken for.
    pub(crate) reading: Option<Reading>,
    /// Size of the page or picture, mm, if the file has one.
    pub(crate) page: Option<[f64; 2]>,
    pub(crate) notes: Vec<Note>,
    /// Lines to be cut that no part was made of: frames, open lines, faulty loops.
    pub(super) rejected: Vec<Segment>,
    /// Types of centre lines of which one runs from edge to edge of a part.
    pub(super) across: BTreeSet<String>,
    left_out: BTreeMap<String, usize>,
    room: usize,
    curve_tolerance: f64,
}

/// Texts beyond this many name no parts. Title blocks and tables hold the rest.
const MOST_TEXTS: usize = 5_000;
/// Things not understood that are kept with their place; the rest is only counted.
const MOST_UNREAD: usize = 10_000;

impl Sketch {
    pub(crate) fn new(options: &DrawingOptions) -> Self {
        Self {
            file: options.file.as_str().into(),
            sources: Vec::new(),
            pieces: Vec::new(),
            strokes: Vec::new(),
            texts: Vec::new(),
            unread: Vec::new(),
            reading: None,
            page: None,
            notes: Vec::new(),
            rejected: Vec::new(),
            across: BTreeSet::new(),
            left_out: BTreeMap::new(),
            room: options.limits.pieces,
            curve_tolerance: options.curve_tolerance,
        }
    }

    /// Adds an entity's lines. `is_closed` promises that they run round; others that do so are found out.
    pub(crate) fn draw(
        &mut self,
        source: Source,
        options: &DrawingOptions,
        is_closed: bool,
        fill: impl FnOnce(&mut PieceSink<'_>) -> Result<(), NoRoom>,
    ) -> Result<(), NoRoom> {
        let first = self.pieces.len();
        fill(&mut PieceSink { pieces: &mut self.pieces, room: &mut self.room, tolerance: self.curve_tolerance })?;
        // Repeated points, as many programs write them. Sides that are merely short stay: they may add up.
        let mut kept = first;
        for index in first..self.pieces.len() {
            let piece = self.pieces[index];
            if piece.start.distance(piece.end) > SAME_PLACE || piece.bulge.abs() > 1.0 {
                self.pieces[kept] = piece;
                kept += 1;
            }
        }
        self.pieces.truncate(kept);
        let stroke = &mut self.pieces[first..];
        for index in 1..stroke.len() {
            stroke[index].start = stroke[index - 1].end;
        }
        let runs_round = match stroke {
            [start, .., end] if is_closed || end.end.distance(start.start) <= SAME_PLACE => {
                end.end = start.start;
                true
            }
            _ => false,
        };
        if kept > first || is_closed {
            let is_closed = is_closed || runs_round;
            let (line_use, why) = options.rules.decide(&source.look, options.is_stock);
            self.strokes.push(Stroke { pieces: first..kept, is_closed, source: self.sources.len(), line_use, why });
            self.sources.push(source);
        }
        Ok(())
    }

    /// A word on the drawing, which may name the part it lies on.
    pub(crate) fn text(&mut self, at: Point, text: &str) {
        let text = text.trim();
        if self.texts.len() < MOST_TEXTS && !text.is_empty() && text.chars().count() <= 100 && at.is_finite() {
            self.texts.push((at, text.to_owned()));
        }
    }

    /// Counts an entity that is left out as usual.
    pub(crate) fn leave_out(&mut self, what: &str) {
        self.leave_out_many(what, 1);
    }

    pub(crate) fn leave_out_many(&mut self, what: &str, count: usize) {
        // A hostile file may invent as many names as it has lines.
        let is_named = self.left_out.contains_key(what) || self.left_out.len() < 50;
        let name = if is_named { what } else { "of other kinds" };
        *self.left_out.entry(name.to_owned()).or_default() += count;
    }

    /// Something that may be metal but is not understood. `points` are on or around it.
    pub(crate) fn do_not_understand(
        &mut self,
        kind: &str,
        cure: &'static str,
        spot: Spot,
        layer: &Arc<str>,
        points: &[Point],
    ) {
        let bounds = (!points.is_empty() && points.iter().all(|point| point.is_finite()))
            .then(|| Bounds::of(points.iter().copied()));
        if self.unread.len() < MOST_UNREAD {
            let at = bounds.map(|bounds| bounds.center());
            let place = Place { file: Arc::clone(&self.file), spot, layer: Arc::clone(layer), at };
            self.unread.push(Unread { kind: kind.to_owned(), cure, place, bounds });
        } else {
            self.leave_out("more that is not understood");
        }
    }

    pub(crate) fn note(&mut self, severity: Severity, kind: NoteKind) {
        self.notes.push(Note::new(severity, kind, None));
    }

    /// Counts of what was left out as usual.
    pub(super) fn note_left_out(&mut self) {
        if !self.left_out.is_empty() {
            let counts = std::mem::take(&mut self.left_out).into_iter().collect();
            self.note(Severity::Info, NoteKind::LeftOut { counts });
        }
    }

    /// Lines that no part was made of.
    pub(super) fn left_out_segments(&self) -> impl Iterator<Item = Segment> + '_ {
        self.strokes
            .iter()
            .filter(|stroke| stroke.line_use == LayerUse::Ignore)
            .flat_map(|stroke| &self.pieces[stroke.pieces.clone()])
            .map(Piece::segment)
            .chain(self.rejected.iter().copied())
    }

    pub(super) fn place(&self, source: usize, at: Option<Point>) -> Place {
        let Source { spot, look, .. } = &self.sources[source];
        Place { file: Arc::clone(&self.file), spot: *spot, layer: Arc::clone(&look.layer), at }
    }
}
