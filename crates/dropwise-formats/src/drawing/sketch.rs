//! What a reader hands over: the lines of each entity in millimetres, before anything is joined.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use dropwise_geometry::Point;

use super::{DrawingOptions, LayerUse, Note, NoteKind, Place, Severity, Spot};
use crate::chain::SAME_PLACE;
use crate::curves::{NoRoom, Piece, PieceSink};

/// Where an entity comes from.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    pub(crate) spot: Spot,
    pub(crate) layer: Arc<str>,
    /// A word that may name the part it belongs to.
    pub(crate) label: Option<Arc<str>>,
}

/// The lines of one entity, end to end.
#[derive(Clone, Debug)]
pub(super) struct Stroke {
    pub(super) pieces: Range<usize>,
    pub(super) is_closed: bool,
    pub(super) source: usize,
    pub(super) layer_use: LayerUse,
}

/// Everything drawn, and what was noted on the way.
#[derive(Debug)]
pub(crate) struct Sketch {
    pub(super) file: Arc<str>,
    pub(super) sources: Vec<Source>,
    pub(super) pieces: Vec<Piece>,
    pub(super) strokes: Vec<Stroke>,
    pub(super) texts: Vec<(Point, String)>,
    pub(crate) notes: Vec<Note>,
    layers: BTreeMap<(Arc<str>, LayerFate), usize>,
    left_out: BTreeMap<String, usize>,
    room: usize,
    curve_tolerance: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum LayerFate {
    Unknown,
    Hidden,
    Ignored,
}

/// Texts beyond this many name no parts. Title blocks and tables hold the rest.
const MOST_TEXTS: usize = 5_000;

impl Sketch {
    pub(crate) fn new(options: &DrawingOptions) -> Self {
        Self {
            file: options.file.as_str().into(),
            sources: Vec::new(),
            pieces: Vec::new(),
            strokes: Vec::new(),
            texts: Vec::new(),
            notes: Vec::new(),
            layers: BTreeMap::new(),
            left_out: BTreeMap::new(),
            room: options.limits.pieces,
            curve_tolerance: options.curve_tolerance,
        }
    }

    /// What a layer's entity is for; `None` when it is left out. Counts what is to be noted.
    pub(crate) fn layer_use(
        &mut self,
        layer: &Arc<str>,
        is_hidden: bool,
        options: &DrawingOptions,
    ) -> Option<LayerUse> {
        let (fate, layer_use) = match options.layers.find(layer) {
            _ if is_hidden => (Some(LayerFate::Hidden), None),
            Some(LayerUse::Ignore) => (Some(LayerFate::Ignored), None),
            None => ((!layer.is_empty()).then_some(LayerFate::Unknown), Some(LayerUse::Cut)),
            known => (None, known),
        };
        if let Some(fate) = fate {
            *self.layers.entry((Arc::clone(layer), fate)).or_default() += 1;
        }
        layer_use
    }

    /// Adds an entity's lines. `is_closed` promises that they run round; others that do so are found out.
    pub(crate) fn draw(
        &mut self,
        source: Source,
        layer_use: LayerUse,
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
            self.strokes.push(Stroke { pieces: first..kept, is_closed, source: self.sources.len(), layer_use });
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
        // A hostile file may invent as many names as it has lines.
        let is_named = self.left_out.contains_key(what) || self.left_out.len() < 50;
        let name = if is_named { what } else { "of other kinds" };
        *self.left_out.entry(name.to_owned()).or_default() += 1;
    }

    pub(crate) fn note(&mut self, severity: Severity, kind: NoteKind) {
        self.notes.push(Note::new(severity, kind, None));
    }

    /// The notes that need the whole file.
    pub(super) fn note_counts(&mut self) {
        if !self.left_out.is_empty() {
            let counts = std::mem::take(&mut self.left_out).into_iter().collect();
            self.note(Severity::Info, NoteKind::LeftOut { counts });
        }
        for ((layer, fate), count) in std::mem::take(&mut self.layers).into_iter().take(200) {
            let layer = layer.to_string();
            self.note(
                Severity::Info,
                match fate {
                    LayerFate::Unknown => NoteKind::UnknownLayer { layer, count },
                    LayerFate::Hidden => NoteKind::LayerLeftOut { layer, count, is_hidden: true },
                    LayerFate::Ignored => NoteKind::LayerLeftOut { layer, count, is_hidden: false },
                },
            );
        }
    }

    pub(super) fn place(&self, source: usize, at: Option<Point>) -> Place {
        let Source { spot, layer, .. } = &self.sources[source];
        Place { file: Arc::clone(&self.file), spot: *spot, layer: Arc::clone(layer), at }
    }
}
