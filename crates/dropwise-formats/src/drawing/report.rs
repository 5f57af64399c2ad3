//! Faults as they are found, and how they are told: alike ones together, never more than a page.

use dropwise_geometry::Bounds;

use super::notes::OpenHint;
use super::{DrawingOptions, Note, NoteKind, Place, Severity, Spot};

/// Faults that are kept; the excess is only counted.
const MOST_FAULTS: usize = 20_000;
/// Notes of one severity that are told of one drawing.
const MOST_TOLD: usize = 8;
/// Places of others like the first that are named.
const MOST_SPOTS: usize = 6;

/// What cannot be cut.
#[derive(Default)]
pub(super) struct Faults {
    list: Vec<(NoteKind, Option<Place>, Option<Bounds>)>,
    more: usize,
}

impl Faults {
    /// Adds a fault. `bounds` is where it lies; `None` for everywhere.
    pub(super) fn push(&mut self, kind: NoteKind, place: Option<Place>, bounds: Option<Bounds>) {
        if self.list.len() < MOST_FAULTS {
            self.list.push((kind, place, bounds));
        } else {
            self.more += 1;
        }
    }

    /// Puts the faults to the notes. Only those near `concern` are errors, where that is given.
    pub(super) fn move_into(self, notes: &mut Vec<Note>, options: &DrawingOptions, concern: Option<Bounds>) {
        for (kind, place, bounds) in self.list {
            // Lines are what `open_lines` is for; faulty loops have a key of their own.
            let is_loop = !matches!(kind, NoteKind::OpenContour { .. } | NoteKind::NotUnderstood { .. });
            let is_far = concern.is_some_and(|concern| bounds.is_some_and(|bounds| !bounds.intersects(concern)));
            let is_kept = (is_loop && options.skips_faulty && kind != NoteKind::Tangled) || is_far;
            notes.push(if is_kept {
                Note::new(Severity::Warning, NoteKind::FaultyLeftOut(Box::new(kind)), place)
            } else {
                Note::new(Severity::Error, kind, place)
            });
        }
        if self.more > 0 {
            notes.push(Note::new(Severity::Error, NoteKind::MoreFaults { count: self.more }, None));
        }
    }
}

/// Notes that say the same of the same layer become one; of each severity only so many stay.
pub(super) fn grouped(notes: Vec<Note>) -> Vec<Note> {
    let mut groups: Vec<(Note, usize, Vec<Spot>)> = Vec::new();
    for note in notes {
        let like = groups.iter_mut().find(|(first, ..)| are_alike(first, &note));
        match (like, note.place.as_ref()) {
            (Some((_, count, spots)), Some(place)) => {
                *count += 1;
                if spots.len() < MOST_SPOTS {
                    spots.push(place.spot);
                }
            }
            _ => groups.push((note, 1, Vec::new())),
        }
    }
    let mut told: Vec<Note> = Vec::new();
    let mut counts = [(0, 0); 3];
    for (note, count, others) in groups {
        let (shown, more) = &mut counts[note.severity as usize];
        *shown += 1;
        if *shown > MOST_TOLD && !matches!(note.kind, NoteKind::Colours { .. }) {
            *more += count;
            continue;
        }
        told.push(if count == 1 {
            note
        } else {
            Note { kind: NoteKind::Repeated { first: Box::new(note.kind), count, others }, ..note }
        });
    }
    for (severity, (_, more)) in [Severity::Info, Severity::Warning, Severity::Error].into_iter().zip(counts) {
        if more > 0 {
            told.push(Note::new(severity, NoteKind::MoreFaults { count: more }, None));
        }
    }
    told
}

fn are_alike(one: &Note, other: &Note) -> bool {
    let layer = |note: &Note| note.place.as_ref().map(|place| place.layer.clone());
    one.severity == other.severity
        && other.place.is_some()
        && layer(one) == layer(other)
        && are_alike_kinds(&one.kind, &other.kind)
}

fn are_alike_kinds(one: &NoteKind, other: &NoteKind) -> bool {
    match (one, other) {
        (NoteKind::OpenContour { hint: one, .. }, NoteKind::OpenContour { hint: other, .. }) => {
            let kind = |hint: &OpenHint| std::mem::discriminant(hint);
            kind(one) == kind(other)
        }
        (NoteKind::FaultyLeftOut(one), NoteKind::FaultyLeftOut(other)) => are_alike_kinds(one, other),
        (NoteKind::NotUnderstood { entity: one, .. }, NoteKind::NotUnderstood { entity: other, .. }) => one == other,
        (
            NoteKind::SelfCrossing
            | NoteKind::LoopsCross { .. }
            | NoteKind::ZeroArea
            | NoteKind::TinyLoop { .. }
            | NoteKind::DoubleLine { .. }
            | NoteKind::FrameKept { .. }
            | NoteKind::NestedTooDeep
            | NoteKind::NotSound(_),
            _,
        ) => std::mem::discriminant(one) == std::mem::discriminant(other),
        // The others count for themselves.
        _ => false,
    }
}
