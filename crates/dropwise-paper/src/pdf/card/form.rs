//! How a bend card is divided, so that all of a part stands on one page wherever it can be read.

use dropwise_geometry::Vector;

use super::flat::Flat;
use super::steps::StepTable;
use super::{Facts, WORDS};
use crate::card::{BendCard, HoleGroup};
use crate::details::LengthStyle;
use crate::drawing::text::clean;
use crate::pdf::font::{Fonts, Weight};

/// Least and most height of the flat pattern with its dimensions where there is room, mm.
const FLAT: (f64, f64) = (82.0, 125.0);
/// From one line of findings to the next, as a multiple of its size.
pub(super) const FINDING: f64 = 1.35;
/// A flat pattern is far larger where its scale comes down to so much.
const LARGER: f64 = 0.75;
/// Shares of the width that the folded part and the facts take.
const LEFT: f64 = 0.52;
const RIGHT: f64 = 0.45;

/// A way to divide a card.
#[derive(Clone, Copy, Debug)]
pub(super) struct Form {
    /// Whether the flat pattern stands to the right of the folded part and the facts, as suits high ones, instead of below.
    is_beside: bool,
    /// Least height of the folded part, mm.
    folded: f64,
    /// Least height of the flat pattern, mm.
    flat: f64,
    /// Lines of findings at most.
    findings: usize,
    /// Columns of steps at least.
    pub(super) columns: usize,
    /// Whether gauge and set-up of a step share their lines.
    pub(super) is_dense: bool,
}

/// What is tried, the roomiest first.
const FORMS: [Form; 9] = [
    Form { is_beside: false, folded: 52.0, flat: 62.0, findings: 7, columns: 2, is_dense: false },
    Form { is_beside: true, folded: 42.0, flat: 100.0, findings: 7, columns: 2, is_dense: false },
    Form { is_beside: false, folded: 52.0, flat: 62.0, findings: 7, columns: 2, is_dense: true },
    Form { is_beside: true, folded: 38.0, flat: 86.0, findings: 7, columns: 2, is_dense: true },
    Form { is_beside: false, folded: 46.0, flat: 58.0, findings: 5, columns: 2, is_dense: true },
    Form { is_beside: true, folded: 34.0, flat: 80.0, findings: 4, columns: 2, is_dense: true },
    Form { is_beside: false, folded: 46.0, flat: 58.0, findings: 5, columns: 3, is_dense: true },
    Form { is_beside: true, folded: 34.0, flat: 76.0, findings: 3, columns: 3, is_dense: true },
    Form { is_beside: false, folded: 40.0, flat: 56.0, findings: 3, columns: 3, is_dense: true },
];

/// A card with everything in its place. Lengths are mm.
pub(super) struct Laid {
    /// Height of what stands above the steps.
    pub(super) upper: f64,
    /// How far below the head the folded part begins, and its box.
    pub(super) folded: (f64, Vector),
    pub(super) facts: Facts,
    /// How far from the left the facts stand, and their height.
    pub(super) facts_at: (f64, f64),
    pub(super) flat: Flat,
    /// From the upper left corner below the head to the lower left corner of the flat pattern's box.
    pub(super) flat_at: Vector,
    pub(super) steps: StepTable,
    /// Whether the steps have a page of their own.
    pub(super) is_apart: bool,
    pub(super) findings: Vec<String>,
}

impl Laid {
    /// The first form in which everything is there: the flat pattern takes what the steps leave, and every number on it has
    /// its place. Where there is none, the steps have a page of their own.
    pub(super) fn of(
        fonts: &mut Fonts,
        card: &BendCard,
        groups: &[HoleGroup],
        lengths: LengthStyle,
        room: Vector,
    ) -> Self {
        let mut one = |form: &Form, is_apart: bool| Self::in_form(fonts, card, groups, lengths, room, (form, is_apart));
        let mut best: Option<Self> = None;
        for form in &FORMS {
            let Some(laid) = one(form, false) else { continue };
            // A later form only where it draws the flat pattern far larger and tells no less.
            let is_better = best.as_ref().is_none_or(|best| {
                laid.flat.scale() < LARGER * best.flat.scale() && laid.findings.len() >= best.findings.len()
            });
            if is_better {
                best = Some(laid);
            }
        }
        best.or_else(|| one(&FORMS[0], true)).expect("steps apart always fit")
    }

    /// The card in one form; `None` where something finds no room.
    fn in_form(
        fonts: &mut Fonts,
        card: &BendCard,
        groups: &[HoleGroup],
        lengths: LengthStyle,
        room: Vector,
        (form, is_apart): (&Form, bool),
    ) -> Option<Self> {
        let findings = found(fonts, card, room.x, form.findings);
        let below = 7.0 + findings.len() as f64 * WORDS * FINDING + if findings.is_empty() { 0.0 } else { 5.0 };
        let available = room.y - below - 7.0;
        let facts = Facts::of(fonts, card, groups, lengths, room.x * RIGHT);
        let told = facts.height();
        // What stands above the flat pattern, and what is needed above the steps.
        let above = if form.is_beside { 0.0 } else { form.folded };
        let needed = if form.is_beside { form.flat.max(told + form.folded) } else { form.folded + form.flat };
        let most = available - needed;
        let wanted = most - (FLAT.0 - form.flat).max(0.0);
        let steps = StepTable::of(fonts, card, room.x, form, (wanted, most));
        let is_short =
            steps.height() > most || (form.folded < FORMS[0].folded && !form.is_beside && told > form.folded);
        if is_short && !is_apart {
            return None;
        }
        let left = if is_apart { available } else { available - steps.height() };
        let upper = left.min(above + FLAT.1);
        let (flat_left, wide) =
            if form.is_beside { (RIGHT * room.x + 4.0, (1.0 - RIGHT) * room.x - 4.0) } else { (0.0, room.x) };
        let flat = Flat::of(fonts, card, groups, lengths, Vector::new(wide, upper - above));
        if !flat.is_complete() && !is_apart {
            return None;
        }
        let (folded, facts_at) = if form.is_beside {
            ((told, Vector::new(RIGHT * room.x, upper - told)), (0.0, told))
        } else {
            ((0.0, Vector::new(LEFT * room.x, form.folded)), ((1.0 - RIGHT) * room.x, form.folded))
        };
        Some(Self {
            upper,
            folded,
            facts,
            facts_at,
            flat,
            flat_at: Vector::new(flat_left, -upper),
            steps,
            is_apart,
            findings,
        })
    }
}

/// Warnings and findings, broken to the width of the page, in so many lines at most.
fn found(fonts: &mut Fonts, card: &BendCard, room: f64, most: usize) -> Vec<String> {
    let all = card.warnings.iter().chain(&card.findings);
    let mut lines: Vec<String> = Vec::new();
    let mut left = 0;
    for text in all {
        let broken = fonts.broken(Weight::Regular, &clean(text), room / WORDS);
        if left > 0 || lines.len() + broken.len() >= most {
            left += 1;
        } else {
            lines.extend(broken);
        }
    }
    if left > 0 {
        let findings = if left == 1 { "finding" } else { "findings" };
        lines.push(format!("and {left} more {findings}: `dropwise check` and the report tell all"));
    }
    lines
}
