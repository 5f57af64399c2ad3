//! Fills one sheet with boxes, one after another.

use super::free_rectangles::{FreeRectangles, RULES, Rule};
use super::view::BoxTask;
use crate::random::SearchRng;

/// Where a box lies on its sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Lying {
    pub(super) kind: usize,
    /// Which of the kind's forms.
    pub(super) form: usize,
    pub(super) x: f64,
    pub(super) y: f64,
}

/// Fills sheets; keeps its buffers and counts its work.
#[derive(Clone, Debug, Default)]
pub(super) struct Filler {
    free: FreeRectangles,
    /// Looks at an empty rectangle, more or less.
    pub(super) work: u64,
}

/// How the next box is chosen and where it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Manner {
    rule: Rule,
    /// Among so many of the next boxes in the order the one that fits best comes first.
    window: usize,
}

impl Filler {
    /// A random manner of filling.
    pub(super) fn any_rule(&self, rng: &mut SearchRng) -> Manner {
        let rule = RULES[rng.index(RULES.len())];
        let window = if rng.chance(0.7) { 1 } else { 2 + rng.index(6) };
        Manner { rule, window }
    }

    /// An order in which to lay a pool of kinds: indices into it, by size in some sense, a little shuffled.
    pub(super) fn order(&self, task: &BoxTask, pool: &[usize], values: &[f64], rng: &mut SearchRng) -> Vec<usize> {
        let sense = rng.index(6);
        let noise = [0.0, 0.1, 0.3, 1.0][rng.index(4)];
        let size = |kind: usize| {
            let form = &task.kinds[kind].forms[0];
            match sense {
                0 => form.width * form.height,
                1 => form.height,
                2 => form.width,
                3 => form.width.max(form.height),
                4 => values[kind],
                _ => form.width.min(form.height),
            }
        };
        let mut keyed: Vec<(f64, usize)> = pool
            .iter()
            .enumerate()
            .map(|(index, &kind)| (size(kind) * (1.0 + noise * (rng.unit() - 0.5)), index))
            .collect();
        keyed.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        keyed.into_iter().map(|entry| entry.1).collect()
    }

    /// Lays what fits of the pool, in this order (indices into the pool). Returns what lies, and for each of the pool
    /// whether it does.
    pub(super) fn fill(
        &mut self,
        task: &BoxTask,
        sheet: usize,
        pool: &[usize],
        order: &[usize],
        manner: Manner,
    ) -> (Vec<Lying>, Vec<bool>) {
        let room = &task.sheets[sheet];
        self.free.start(room.width, room.height, &room.blocked);
        let mut boxes = Vec::new();
        let mut is_laid = vec![false; pool.len()];
        let mut left: Vec<usize> =
            order.iter().copied().filter(|&index| task.kinds[pool[index]].is_on[sheet]).collect();
        let mut area = room.area;
        let mut start = 0;
        while start < left.len() {
            let mut best: Option<((f64, f64), usize, Lying)> = None;
            let mut seen = 0;
            let mut position = start;
            while position < left.len() && seen < manner.window {
                let index = left[position];
                let kind = pool[index];
                let place = if task.kinds[kind].area > area * (1.0 + 1e-9) {
                    None
                } else {
                    self.place_for(task, kind, manner.rule)
                };
                let Some((score, lying)) = place else {
                    // What does not fit now never will.
                    left.remove(position);
                    continue;
                };
                seen += 1;
                if best.as_ref().is_none_or(|(least, _, _)| score < *least) {
                    best = Some((score, position, lying));
                }
                position += 1;
            }
            let Some((_, position, lying)) = best else { break };
            let form = &task.kinds[lying.kind].forms[lying.form];
            self.free.place(lying.x, lying.y, form.width, form.height);
            self.work += 10 + self.free.count() as u64;
            area -= task.kinds[lying.kind].area;
            is_laid[left[position]] = true;
            left.remove(position);
            boxes.push(lying);
            start = 0;
        }
        (boxes, is_laid)
    }

    fn place_for(&mut self, task: &BoxTask, kind: usize, rule: Rule) -> Option<((f64, f64), Lying)> {
        let mut best: Option<((f64, f64), Lying)> = None;
        for (form, size) in task.kinds[kind].forms.iter().enumerate() {
            self.work += 2 + self.free.count() as u64;
            if let Some((x, y, score)) = self.free.find(size.width, size.height, rule)
                && best.as_ref().is_none_or(|(least, _)| score < *least)
            {
                best = Some((score, Lying { kind, form, x, y }));
            }
        }
        best
    }
}
