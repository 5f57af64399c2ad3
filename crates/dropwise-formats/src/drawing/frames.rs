//! Which loop is a hole of which, and which is a frame around the drawing.

use dropwise_geometry::{Bounds, Segment};

use super::crossings::near_pairs;
use super::loops::{Ring, SWEEP_BUDGET, VISIT_BUDGET};
use super::report::Faults;
use super::sketch::Sketch;
use super::words;
use super::{DrawingOptions, FrameUse, LayerUse, Note, NoteKind, Severity};

/// Parts within holes of parts, and so on: no shop draws more.
const MOST_NESTED: usize = 16;
/// Frames within frames that are taken off.
const MOST_FRAMES: usize = 4;
/// A page may be drawn this much off its size, mm.
const PAGE_SLACK: f64 = 0.6;

/// Sheets of paper, portrait, mm.
///
/// # Source
/// ISO 216:2007 (A sizes) and ASME Y14.1-2020 (A to E); from memory.
const PAPER: [(&str, [f64; 2]); 11] = [
    ("the size of A5 paper", [148.0, 210.0]),
    ("the size of A4 paper", [210.0, 297.0]),
    ("the size of A3 paper", [297.0, 420.0]),
    ("the size of A2 paper", [420.0, 594.0]),
    ("the size of A1 paper", [594.0, 841.0]),
    ("the size of A0 paper", [841.0, 1189.0]),
    ("the size of ANSI A paper", [215.9, 279.4]),
    ("the size of ANSI B paper", [279.4, 431.8]),
    ("the size of ANSI C paper", [431.8, 558.8]),
    ("the size of ANSI D paper", [558.8, 863.6]),
    ("the size of ANSI E paper", [863.6, 1117.6]),
];

/// For each loop those around it. `None` when too tangled.
fn around(rings: &[Ring]) -> Option<Vec<Vec<usize>>> {
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
    Some(around)
}

impl Sketch {
    /// Outer rings with their holes; frames are left out. `None` when too tangled.
    pub(super) fn nest(
        &mut self,
        rings: &[Ring],
        options: &DrawingOptions,
        faults: &mut Faults,
    ) -> Option<Vec<(usize, Vec<usize>)>> {
        let mut around = around(rings)?;
        let mut is_frame = vec![false; rings.len()];
        for _ in 0..MOST_FRAMES {
            let found = self.frames(rings, &around, &is_frame, options);
            if found.is_empty() {
                break;
            }
            for &frame in &found {
                is_frame[frame] = true;
                self.rejected.extend(rings[frame].outline.segments());
            }
            around.iter_mut().for_each(|outers| outers.retain(|outer| !found.contains(outer)));
        }
        let mut holes: Vec<Vec<usize>> = vec![Vec::new(); rings.len()];
        for (ring, outers) in around.iter().enumerate() {
            if outers.len() > MOST_NESTED {
                let at = rings[ring].pieces[0].piece.start;
                let place = self.place(rings[ring].source(), Some(at));
                faults.push(NoteKind::NestedTooDeep, Some(place), Some(rings[ring].bounds));
            } else if outers.len() % 2 == 1 {
                let parent = outers.iter().min_by(|&&a, &&b| rings[a].area.total_cmp(&rings[b].area));
                if let Some(&parent) = parent {
                    holes[parent].push(ring);
                }
            }
        }
        Some(
            (0..rings.len())
                .filter(|&ring| !is_frame[ring])
                .filter(|&ring| around[ring].len().is_multiple_of(2) && around[ring].len() <= MOST_NESTED)
                .map(|ring| (ring, std::mem::take(&mut holes[ring])))
                .collect(),
        )
    }

    /// Outermost loops that are to be left out now, each noted; and warnings of those that may be frames but are kept.
    fn frames(
        &mut self,
        rings: &[Ring],
        around: &[Vec<usize>],
        is_frame: &[bool],
        options: &DrawingOptions,
    ) -> Vec<usize> {
        if options.frame == FrameUse::Cut {
            return Vec::new();
        }
        let outermost: Vec<usize> =
            (0..rings.len()).filter(|&ring| !is_frame[ring] && around[ring].is_empty()).collect();
        let others = is_frame.iter().filter(|&&is| !is).count().saturating_sub(1);
        let mut inside: Vec<Vec<usize>> = vec![Vec::new(); rings.len()];
        let mut is_deep = vec![false; rings.len()];
        for (ring, outers) in around.iter().enumerate() {
            for &outer in outers {
                is_deep[outer] |= outers.len() == 2 && around[outer].is_empty();
                inside[outer].push(ring);
            }
        }
        let any_deep = outermost.iter().any(|&ring| is_deep[ring]);
        let mut left_out = Vec::new();
        for ring in outermost {
            let held = &inside[ring];
            if held.is_empty() {
                continue;
            }
            let is_around_all = held.len() == others;
            let is_behind_lines = self.sources[rings[ring].source()].is_bare_fill
                && held.iter().any(|&inner| !self.sources[rings[inner].source()].is_bare_fill);
            let looks = self.looks(&rings[ring], is_around_all, is_behind_lines);
            let is_told = options.frame == FrameUse::LeaveOut;
            let goes = if is_told {
                // Once a frame is off, what remains is a part with its openings.
                is_deep[ring] || (!any_deep && is_around_all && !is_frame.contains(&true))
            } else {
                is_around_all && self.is_plainly_a_frame(rings, ring, held, is_deep[ring], is_frame)
            };
            let size = [rings[ring].bounds.width(), rings[ring].bounds.height()];
            let place = self.place(rings[ring].source(), None);
            if goes {
                let kind = NoteKind::FrameLeftOut { size, looks, is_told };
                self.notes.push(Note::new(Severity::Warning, kind, Some(place)));
                left_out.push(ring);
            } else if !is_told && (is_deep[ring] || looks.starts_with("the size")) {
                let parts: Vec<&Ring> =
                    held.iter().filter(|&&inner| around[inner].len() == 1).map(|&inner| &rings[inner]).collect();
                let largest = parts.iter().max_by(|a, b| a.area.total_cmp(&b.area));
                let largest = largest.map_or([0.0, 0.0], |ring| [ring.bounds.width(), ring.bounds.height()]);
                let kind = NoteKind::FrameKept { size, inside: parts.len(), largest, looks };
                let is_said = self.notes.iter().any(|note| note.kind == kind);
                if !is_said {
                    self.notes.push(Note::new(Severity::Warning, kind, Some(place)));
                }
            }
        }
        left_out
    }

    /// Whether an outermost loop around everything is a frame beyond doubt.
    fn is_plainly_a_frame(
        &self,
        rings: &[Ring],
        ring: usize,
        held: &[usize],
        is_deep: bool,
        is_frame: &[bool],
    ) -> bool {
        let source = &self.sources[rings[ring].source()];
        if !is_bare_rectangle(&rings[ring]) {
            return false;
        }
        // A filling without a line, behind things that are not: the paper, not the metal.
        let are_others_lines = held.iter().any(|&inner| !self.sources[rings[inner].source()].is_bare_fill);
        if source.is_bare_fill && are_others_lines {
            return is_deep || source.look.colour.is_some_and(super::Colour::is_whitish);
        }
        let layer = &source.look.layer;
        let is_alone = !layer.is_empty()
            && self
                .strokes
                .iter()
                .filter(|stroke| stroke.line_use == LayerUse::Cut && self.sources[stroke.source].look.layer == *layer)
                .all(|stroke| {
                    let is_of = |index: usize| rings[index].pieces.iter().any(|item| item.source == stroke.source);
                    is_of(ring) || (0..rings.len()).any(|other| is_frame[other] && is_of(other))
                });
        let says_cut = words::meaning(layer).is_some_and(|found| found.is_cutting);
        is_deep && is_alone && !says_cut
    }

    fn looks(&self, ring: &Ring, is_around_all: bool, is_behind_lines: bool) -> &'static str {
        if !is_bare_rectangle(ring) {
            return if is_around_all { "around everything" } else { "with parts in it" };
        }
        let [w, h] = [ring.bounds.width(), ring.bounds.height()];
        let is_near = |[a, b]: [f64; 2]| {
            let fits = |a: f64, b: f64| (w - a).abs() <= PAGE_SLACK && (h - b).abs() <= PAGE_SLACK;
            fits(a, b) || fits(b, a)
        };
        if let Some((name, _)) = PAPER.iter().find(|(_, size)| is_near(*size)) {
            return name;
        }
        if self.page.is_some_and(is_near) && is_behind_lines {
            return "the size of the page";
        }
        if is_around_all { "a bare rectangle around everything" } else { "a rectangle" }
    }
}

/// Four straight sides along the axes.
fn is_bare_rectangle(ring: &Ring) -> bool {
    let [w, h] = [ring.bounds.width(), ring.bounds.height()];
    ring.outline.segments().all(|side| matches!(side, Segment::Line { .. })) && ring.area >= (1.0 - 1e-6) * w * h
}
