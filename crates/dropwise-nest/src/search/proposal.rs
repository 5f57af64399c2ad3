//! Proposes cheaper sets of sheets.

use crate::anneal::failures::{Failure, Failures};
use crate::moves::construct::cut_at_x;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::shapes::half_plane::HalfPlane;
use crate::state::working::Working;

/// What the chain has learned of how full sheets can get.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FillModel {
    /// Share of the rooms' area, clearances included, at which half of the tries succeed.
    middle: f64,
}

impl Default for FillModel {
    fn default() -> Self {
        Self { middle: 0.80 }
    }
}

/// How sharply the chance of success falls around the middle.
const FILL_SPREAD: f64 = 0.02;

impl FillModel {
    /// Chance that a set filled so far can be nested.
    pub(crate) fn chance(&self, fill: f64) -> f64 {
        if fill > 1.0 { 0.0 } else { 1.0 / (1.0 + ((fill - self.middle) / FILL_SPREAD).exp()) }
    }

    /// A surprise moves the middle towards it; what was expected hardly moves it.
    pub(crate) fn succeeded(&mut self, fill: f64) {
        self.middle += 0.5 * (fill - self.middle).max(0.0) + 0.01 * (1.0 - self.chance(fill));
        self.middle = self.middle.min(0.98);
    }

    /// A try failed by so much overlap, as a share of the area of all parts. About that much less would have fitted, and the
    /// middle moves there: down farther than up, since a hair of overlap may be as hard to take out as a lump.
    pub(crate) fn failed(&mut self, fill: f64, excess: f64) {
        let beyond = fill * (1.0 - excess).max(0.5) - self.middle;
        self.middle += if beyond < 0.0 { 0.3 } else { 0.05 } * beyond - 0.01 * self.chance(fill);
        self.middle = self.middle.clamp(0.1, 0.98);
    }
}

/// A change of the set of sheets in use.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Change {
    /// Bins to close.
    pub(crate) removed: Vec<usize>,
    /// Sheets to open.
    pub(crate) added: Vec<Added>,
    /// The whole set afterwards, sorted.
    pub(crate) key: Vec<usize>,
    /// How full it would be; fuller by [`RENEWAL`] where it is laid out anew.
    pub(crate) fill: f64,
}

/// A sheet to open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Added {
    /// Index in the task.
    pub(crate) sheet: usize,
    /// For stock sold by length, the cut line to start with.
    pub(crate) limit: Option<HalfPlane>,
    /// And the length to order for that.
    length: Option<f64>,
    area: f64,
}

impl Added {
    /// `lacking` is the area that stock sold by length should make up.
    fn new(task: &Task, sheet: usize, lacking: f64) -> Self {
        let container = task.container(sheet);
        let model = &task.job.sheets()[sheet];
        let Some(terms) = model.open_length else {
            return Self { sheet, limit: None, length: None, area: container.area };
        };
        let (room, outline) = (container.bounds, model.shape.bounds());
        let needed = lacking / room.height().max(f64::MIN_POSITIVE);
        let ordered =
            terms.order_length(needed + 2.0 * container.inset.max(0.0)).min(terms.longest_order(outline.width()));
        let end = (outline.min.x + ordered - container.inset).clamp(room.min.x, room.max.x);
        Self { sheet, limit: Some(cut_at_x(end)), length: Some(ordered), area: (end - room.min.x) * room.height() }
    }
}

/// How many random changes are weighed against each other: so many for each sheet there is to choose from, and at least so
/// many. Few sheets need few: more only tell ever the same two or three sets apart by chance.
const DRAWS_PER_SHEET: usize = 6;
const LEAST_DRAWS: usize = 96;
/// How many sheets are drawn to make up for the area of those that are closed.
const MOST_DRAWN: usize = 12;
/// How often as many are drawn before there is taken to be no change: one out of many draws may be the only one that saves.
const MOST_TIMES: usize = 8;
/// By how much fuller than it is a set of nothing but other sheets counts, and one of which a part stays by as much less: what
/// stays is nested already. Measured on large inventories: of sets equally full, those all anew had 0.02 to 0.03 of the
/// parts' area more overlap left after 20 sweeps than those of which half stayed.
const RENEWAL: f64 = 0.04;
/// What a set that failed is thought likely to do: so much if it came near, that much less with each such share of the area
/// that overlapped, and less again with each further failure. Never nothing: with nothing better left to try, the next try
/// may be the one that succeeds.
const TRUST_AFTER_FAILURE: f64 = 0.5;
const NEAR_MISS: f64 = 0.01;
const TRUST_AFTER_MORE: f64 = 0.7;

/// Chance of a set that failed before.
fn chance_after(failure: &Failure) -> f64 {
    TRUST_AFTER_FAILURE * (-failure.excess / NEAR_MISS).exp() * TRUST_AFTER_MORE.powi(failure.count as i32 - 1)
}

/// Of the sets that failed and of which layouts are remembered, the one most worth another try, and how much it is worth as
/// [`propose`] counts; `None` if none would cost less than what is in use.
pub(crate) fn propose_again(
    working: &Working<'_>,
    failures: &Failures,
    rng: &mut SearchRng,
) -> Option<(f64, Vec<usize>)> {
    let cost_now = cost_in_use(working);
    let worths = failures.remembered().filter_map(|(set, failure)| {
        let saving = cost_now - set.iter().map(|&sheet| net_price(working.task(), sheet, None)).sum::<f64>();
        (saving > 0.5).then(|| (saving * chance_after(failure) * (0.25 + rng.unit()), set))
    });
    worths.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(worth, set)| (worth, set.to_vec()))
}

/// A change that would cost less, or would make room for missing parts, and may well succeed, and how much it is worth to
/// try it; `None` if none of those drawn would. `needed` is the area of all required parts with their clearance, mm².
pub(crate) fn propose(
    working: &Working<'_>,
    needed: f64,
    is_missing: bool,
    fill_model: &FillModel,
    failures: &Failures,
    rng: &mut SearchRng,
) -> Option<(f64, Change)> {
    let task = working.task();
    let candidates = task.candidates();
    if candidates.is_empty() {
        return None;
    }
    let drawn = |rng: &mut SearchRng| candidates[rng.index(candidates.len())];
    let in_use: Vec<usize> = working.bins.iter().map(|bin| bin.sheet).collect();
    let cost_now = cost_in_use(working);
    let rooms: Vec<f64> = (0..in_use.len()).map(|bin| working.room_area(bin)).collect();
    let mut best: Option<(f64, Change)> = None;
    let draws = LEAST_DRAWS.max(DRAWS_PER_SHEET * task.sheets.len());
    for draw in 0..MOST_TIMES * draws {
        if draw % draws == 0 && best.is_some() {
            break;
        }
        let most_removed = in_use.len().min(3);
        let remove_count = if is_missing { rng.index(most_removed + 1) } else { 1 + rng.index(most_removed.max(1)) };
        if remove_count > in_use.len() {
            continue;
        }
        let mut order: Vec<usize> = (0..in_use.len()).collect();
        rng.shuffle(&mut order);
        let mut removed = order[..remove_count].to_vec();
        removed.sort_unstable();
        let add_count = rng.index(if is_missing { 3 } else { remove_count + 2 }.min(4));
        let mut added: Vec<usize> = (0..add_count).map(|_| drawn(rng)).collect();
        let stays = |bin: &usize| !removed.contains(bin);
        let kept: f64 = (0..in_use.len()).filter(stays).map(|bin| rooms[bin]).sum();
        let mut key: Vec<usize> = (0..in_use.len()).filter(stays).map(|bin| in_use[bin]).collect();
        key.extend(&added);
        // One large sheet may have to give way to many small ones at once: one by one, they only cost more.
        let area = |&sheet: &usize| match task.sheets[sheet].price_per_length {
            Some(_) => f64::INFINITY,
            None => task.container(sheet).area,
        };
        let wanted = needed / (fill_model.middle + (1.0 - fill_model.middle) * rng.unit());
        let mut area_at_hand = kept + added.iter().map(area).sum::<f64>();
        for _ in 0..MOST_DRAWN {
            if area_at_hand >= wanted {
                break;
            }
            let sheet = drawn(rng);
            let used = key.iter().filter(|&&other| other == sheet).count();
            if task.sheets[sheet].quantity.is_none_or(|quantity| used < quantity as usize) {
                area_at_hand += area(&sheet);
                added.push(sheet);
                key.push(sheet);
            }
        }
        key.sort_unstable();
        if !is_in_stock(task, &key) {
            continue;
        }
        let fixed: f64 =
            added.iter().filter(|&&s| task.sheets[s].price_per_length.is_none()).map(|&s| task.container(s).area).sum();
        // Stock sold by length makes up what the others lack.
        let open = added.iter().filter(|&&s| task.sheets[s].price_per_length.is_some()).count();
        let lacking = (needed / fill_model.middle - kept - fixed).max(0.0) / open.max(1) as f64;
        let added: Vec<Added> = added.iter().map(|&sheet| Added::new(task, sheet, lacking)).collect();
        let room = kept + added.iter().map(|a| a.area).sum::<f64>();
        let given_back = |&bin: &usize| net_price(task, in_use[bin], working.length_used(&working.bins[bin]));
        let saving = removed.iter().map(given_back).sum::<f64>()
            - added.iter().map(|a| net_price(task, a.sheet, a.length)).sum::<f64>();
        if !is_missing && saving <= 0.5 {
            continue;
        }
        let room = room.max(f64::MIN_POSITIVE);
        // Never beyond what is full: jigsaws without any waste are sets like others.
        let full = needed / room;
        let fill = (full + RENEWAL * (1.0 - kept / room)).min(full.max(1.0));
        let failure = failures.of(&key);
        let chance = failure.map_or(fill_model.chance(fill), chance_after);
        // With parts missing, any set with a chance is worth a try, the cheaper the better.
        let gain = if is_missing { 1.0 / (1.0 + (cost_now - saving).max(0.0)) } else { saving };
        // Chance in the ranking, so that not ever the same few are tried.
        let worth = gain * chance * (0.25 + rng.unit());
        // The dearest question comes last.
        if chance > 0.0 && best.as_ref().is_none_or(|(most, _)| worth > *most) && holds_every_part(task, &key) {
            best = Some((worth, Change { removed, added, key, fill }));
        }
    }
    best
}

/// Price less what all of the sheet would be worth as leftover: a large sheet does not cost more than a small one if the
/// rest of it is paid back.
fn net_price(task: &Task, sheet: usize, length: Option<f64>) -> f64 {
    let entry = &task.sheets[sheet];
    let back = if entry.price_per_length.is_some() { 0.0 } else { entry.leftover_worth * entry.area };
    task.price_of(sheet, length) - back
}

/// What the sheets in use cost, less what all of them would be worth as leftovers.
fn cost_in_use(working: &Working<'_>) -> f64 {
    working.bins.iter().map(|bin| net_price(working.task(), bin.sheet, working.length_used(bin))).sum()
}

fn is_in_stock(task: &Task, sorted: &[usize]) -> bool {
    sorted
        .chunk_by(|a, b| a == b)
        .all(|alike| task.sheets[alike[0]].quantity.is_none_or(|quantity| alike.len() <= quantity as usize))
}

/// Whether each part fits on at least one sheet of the set.
fn holds_every_part(task: &Task, set: &[usize]) -> bool {
    (0..task.parts.len())
        .filter(|&part| task.parts[part].is_required && task.fits_somewhere(part))
        .all(|part| set.iter().any(|&sheet| task.fit(part, sheet).is_some()))
}

#[cfg(test)]
mod tests {
    use dropwise_model::{Money, Sheet, Turns};

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::state::working::Arrangement;
    use crate::state::working_tests::{job, rectangle, with_sheets};

    /// Four squares of 50 mm, which lie nowhere, and a sheet of 200 mm square that is in use; others beside it.
    fn four_squares(others: impl FnOnce(&mut Vec<Sheet>)) -> Task {
        let square = (rectangle(50.0, 50.0), Turns::List(vec![0.0]));
        prepared(with_sheets(&job(&vec![square; 4], rectangle(200.0, 200.0)), others))
    }

    fn on_the_first_sheet(task: &Task) -> Working<'_> {
        let mut working = Working::new(task, task.items());
        working.open(0, task.container(0), None);
        working
    }

    #[test]
    fn tries_teach_how_full_sheets_can_get() {
        let mut model = FillModel::default();
        let before = model.chance(0.75);
        // Tries at nine tenths come out about as full as three quarters would be, and at three quarters they succeed.
        for _ in 0..30 {
            model.failed(0.9, 0.16);
            model.succeeded(0.74);
        }
        assert!((model.middle - 0.75).abs() < 0.03, "{model:?}");
        assert!(model.chance(0.70) > 0.8 && model.chance(0.75) < before && model.chance(0.9) < 0.01, "{model:?}");
        assert_eq!(model.chance(1.01), 0.0);
        // A near miss above that teaches that more fits.
        let middle = model.middle;
        for _ in 0..10 {
            model.failed(0.82, 0.002);
        }
        assert!(model.middle > middle, "{model:?}");
    }

    #[test]
    fn of_sets_that_failed_near_misses_come_first_and_dear_ones_never() {
        let task = four_squares(|sheets| {
            sheets[0].price = Money::from_coins(100);
            for (index, price) in [40, 40, 300].into_iter().enumerate() {
                let mut other = sheets[0].clone();
                (other.name, other.price) = (format!("other {index}"), Money::from_coins(price));
                sheets.push(other);
            }
        });
        let working = on_the_first_sheet(&task);
        let mut failures = Failures::default();
        for (sheet, excesses) in [(1, vec![0.03]), (2, vec![0.002; 2]), (3, vec![0.0])] {
            for excess in excesses {
                failures.add(&[sheet], 0.9, excess);
            }
            failures.remember(vec![sheet], 1.0, Arrangement::default());
        }
        let mut rng = SearchRng::new(1, 0);
        let drawn: Vec<usize> = (0..200)
            .filter_map(|_| propose_again(&working, &failures, &mut rng))
            .map(|(worth, set)| {
                assert!(worth > 0.0);
                set[0]
            })
            .collect();
        let near = drawn.iter().filter(|&&sheet| sheet == 2).count();
        assert!(drawn.len() == 200 && near > 150 && !drawn.contains(&3), "{near} of {}", drawn.len());
    }

    #[test]
    fn of_sets_alike_the_one_of_which_more_stays_comes_first() {
        // Two sheets in use; one dearer than needed may be replaced by one of two alike, or both by a pair of the same area.
        let task = four_squares(|sheets| {
            sheets[0].price = Money::from_coins(100);
            (sheets[0].shape, sheets[0].quantity) = (rectangle(112.0, 56.0), Some(1));
            for (name, price) in [("dear", 100), ("cheap", 40), ("pair", 70), ("pair too", 70)] {
                let mut other = sheets[0].clone();
                (other.name, other.price) = (name.to_owned(), Money::from_coins(price));
                sheets.push(other);
            }
        });
        let mut working = Working::new(&task, task.items());
        for sheet in [0, 1] {
            working.open(sheet, task.container(sheet), None);
        }
        let needed = 4.0 * task.parts[0].grown_area;
        let (failures, mut rng) = (Failures::default(), SearchRng::new(1, 0));
        // Both save 60; at the middle, where the chance falls.
        let model = FillModel { middle: needed / (2.0 * task.container(0).area) };
        let (_, change) = propose(&working, needed, false, &model, &failures, &mut rng).expect("some are cheaper");
        assert!(change.removed.len() == 1 && change.key.contains(&2), "{change:?}");
        assert!((change.fill - model.middle - 0.5 * RENEWAL).abs() < 1e-9, "{change:?}");
    }

    #[test]
    fn one_large_sheet_gives_way_to_several_small_ones_at_once() {
        let task = four_squares(|sheets| {
            let mut small = sheets[0].clone();
            (small.shape, small.price, small.quantity) = (rectangle(60.0, 60.0), Money::from_coins(10), Some(1));
            for index in 0..4 {
                small.name = format!("small {index}");
                sheets.push(small.clone());
            }
        });
        let working = on_the_first_sheet(&task);
        let needed = 4.0 * task.parts[0].grown_area;
        let (model, failures, mut rng) = (FillModel::default(), Failures::default(), SearchRng::new(1, 0));
        let changes: Vec<(f64, Change)> =
            (0..4).filter_map(|_| propose(&working, needed, false, &model, &failures, &mut rng)).collect();
        // Two of the small ones, as many as one step towards them would be, hold less than the parts.
        assert!(!changes.is_empty());
        for (_, change) in changes {
            assert_eq!(change.removed, [0]);
            assert!(change.added.len() >= 3 && change.fill <= 1.0, "{change:?}");
            assert!(change.key.windows(2).all(|pair| pair[0] < pair[1]), "no sheet twice: {:?}", change.key);
        }
    }
}
