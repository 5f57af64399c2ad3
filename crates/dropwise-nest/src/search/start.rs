//! An earlier layout as the search has it, with what is new laid beside it.

use dropwise_model::{Layout, Placement, certify};

use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
use crate::moves::construct::ConstructSettings;
use crate::moves::rows::CROWD;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::search::sheet_chain::fill_in_order;
use crate::shapes::pose::Pose;
use crate::state::layout::layout;
use crate::state::score::{Score, extent};
use crate::state::working::{Arrangement, Working};

/// What a search goes on from.
#[derive(Clone, Debug)]
pub(crate) struct Begun {
    pub(crate) arrangement: Arrangement,
    pub(crate) score: Score,
    /// How long a strip it takes, if all of it lies on one.
    pub(crate) strip_length: Option<f64>,
}

/// How far a turn may differ from one that is allowed, degrees: as much as a certificate forgives.
const SAME_TURN: f64 = 1e-9;
/// Sweeps in which what the search takes for overlaps has to be taken out. Layouts of its own have none; one that was made by
/// hand on the true outlines may come nearer than the search's rougher ones do.
const MOST_SWEEPS: usize = 200;

/// An earlier layout, which holds, as an arrangement; required parts that lie nowhere in it are laid where there is room, or on
/// further sheets, in the order given. `None` where the search cannot follow it: it then only stands against what is found.
pub(crate) fn begun(task: &Task, earlier: &Layout, order: &[usize], mut rng: SearchRng) -> Option<Begun> {
    let mut working = Working::new(task, task.items());
    working.restore(&arranged(task, earlier)?);
    // What overlaps in a crowd would take too long.
    let is_crowd = working.item_count() > CROWD;
    if !is_crowd {
        fill_in_order(&mut working, order, &ConstructSettings::default(), &mut rng);
    }
    if working.total_loss() > 0.0 && !is_crowd {
        separate(&mut working, &mut rng);
    }
    let arrangement = working.arrangement();
    certify(&task.job, &layout(task, &arrangement)).ok()?;
    let is_whole = arrangement.bins.len() == 1 && arrangement.places.iter().all(Option::is_some);
    let strip_length = (task.is_strip() && is_whole).then(|| extent(&working));
    let score = strip_length.map_or_else(|| Score::of(&working), |length| Score::of_strip(task, length));
    Some(Begun { arrangement, score, strip_length })
}

/// Takes out overlaps, or leaves everything as it was.
fn separate(working: &mut Working<'_>, rng: &mut SearchRng) {
    let before = working.arrangement();
    let mut separator = Separator::new(SeparatorSettings::default(), working);
    for _ in 0..MOST_SWEEPS {
        match separator.sweep(working, rng) {
            Outcome::Separated => return,
            Outcome::Stuck => break,
            Outcome::Going | Outcome::Idle if working.task().clock.is_over() => break,
            Outcome::Going | Outcome::Idle => {}
        }
    }
    working.restore(&before);
}

/// Each placement as an item in a pose; `None` where one lies by no variant.
fn arranged(task: &Task, earlier: &Layout) -> Option<Arrangement> {
    let items = task.items();
    let mut places = vec![None; items.len()];
    for (bin, used) in earlier.sheets.iter().enumerate() {
        for placement in &used.placements {
            let is_free = |&item: &usize| items[item] == placement.part && places[item].is_none();
            let item = (0..items.len()).find(is_free)?;
            places[item] = Some((bin, pose(task, used.sheet, placement)?));
        }
    }
    Some(Arrangement { bins: earlier.sheets.iter().map(|used| (used.sheet, None)).collect(), places })
}

/// How a placement lies, by the variants that are allowed on its sheet.
fn pose(task: &Task, sheet: usize, placement: &Placement) -> Option<Pose> {
    let part = &task.parts[placement.part];
    let position = placement.position;
    let is_same = |turn: f64| {
        let apart = (turn - position.rotation_deg).rem_euclid(360.0);
        apart.min(360.0 - apart) <= SAME_TURN
    };
    let mut allowed = task.allowed(placement.part, task.sheets[sheet].grain);
    let variant = allowed.find(|&variant| {
        let variant = &part.variants[variant];
        variant.is_mirrored == position.is_mirrored && variant.turn_deg.is_none_or(is_same)
    })?;
    let turn_deg = if part.variants[variant].turn_deg.is_some() { 0.0 } else { position.rotation_deg };
    Some(Pose { variant, turn_deg, at: position.apply(part.reference) })
}
