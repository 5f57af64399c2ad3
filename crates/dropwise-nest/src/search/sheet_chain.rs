//! Chooses sheets: tries cheaper sets of them, and asks the separator to make the parts fit.

use std::collections::BTreeMap;

use dropwise_geometry::{Bounds, Point};

use crate::anneal::annealer::Schedule;
use crate::anneal::failed::Drawn;
use crate::anneal::failures::Failures;
use crate::anneal::race::{FIRST_RUNG, Race};
use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
use crate::anneal::tilt::Tilt;
use crate::moves::construct::{ConstructSettings, cut_at_x};
use crate::moves::rows::{CROWD, Rows};
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::search::proposal::{Change, FillModel, propose, propose_again};
use crate::settings::Annealing;
use crate::shapes::pose::Pose;
use crate::state::score::{Score, bands, cut_line};
use crate::state::working::{Arrangement, Working};
use crate::statistics::MoveKind;

/// How a chain of the sheet search goes about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SheetSettings {
    /// How warm it is when a failed layout is drawn to go on from.
    pub(crate) schedule: Schedule,
    pub(crate) separator: SeparatorSettings,
    pub(crate) construct: ConstructSettings,
    /// Share of the whole effort after which sheets stay as they are and only leftovers are made better.
    pub(crate) choose_share: f64,
    /// Whether leftovers are made better at all.
    pub(crate) with_leftovers: bool,
    /// Change of a cut line at the first try, as a share of the sheet.
    pub(crate) band_step: f64,
}

impl Default for SheetSettings {
    fn default() -> Self {
        let separator = SeparatorSettings { patience: 40, strikes: 2, ..SeparatorSettings::default() };
        Self {
            schedule: Schedule::of(Annealing::default()),
            separator,
            construct: ConstructSettings::default(),
            choose_share: 0.7,
            with_leftovers: true,
            band_step: 0.04,
        }
    }
}

/// What a try is after.
#[derive(Clone, Debug, PartialEq)]
enum Aim {
    /// A cheaper set of sheets; the set, sorted, how full it would be, and what led there from an earlier failure.
    Sheets { key: Vec<usize>, fill: f64, disturbed_by: Option<MoveKind> },
    /// A part that lies nowhere yet.
    Insert { item: usize },
    /// A wider band without parts.
    Band { bin: usize, direction: usize },
    /// A shorter piece of stock sold by length.
    Shorten { bin: usize },
}

impl Aim {
    /// Whether it is a set of sheets that is not taken up again from an earlier failure.
    fn is_anew(&self) -> bool {
        matches!(self, Self::Sheets { disturbed_by: None, .. })
    }

    fn kind(&self) -> MoveKind {
        match self {
            Self::Sheets { .. } => MoveKind::Sheets,
            Self::Insert { .. } => MoveKind::Insert,
            Self::Band { .. } => MoveKind::Band,
            Self::Shorten { .. } => MoveKind::Shorten,
        }
    }
}

/// One chain of the search.
#[derive(Debug)]
pub(crate) struct SheetChain<'t> {
    pub(crate) working: Working<'t>,
    rng: SearchRng,
    settings: SheetSettings,
    current: Option<(Aim, Separator)>,
    best: Arrangement,
    best_score: Score,
    fill_model: FillModel,
    /// Area of all required parts with their clearance, mm².
    area: f64,
    /// Sets of sheets that were tried in vain.
    failures: Failures,
    /// Energy of the layout that the last try gone on from began with, and the temperature at which it was drawn, in the
    /// smallest coin.
    heat: (f64, f64),
    /// Share of the whole search that was done when it last began to run.
    progress: f64,
    /// Tries of sets laid out anew are held against each other.
    race: Race,
    /// Whether tries of sets keep to quarter turns.
    tilt: Tilt,
    /// How often each item could not be inserted since the best last changed.
    insert_failures: Vec<u32>,
    /// Step of the cut line by bin and direction, as a share of the sheet; halved by each failure.
    band_steps: BTreeMap<(usize, usize), f64>,
    /// Whether all was tried for the leftovers of the best, so that what effort is left may go to the choice of sheets.
    are_leftovers_done: bool,
}

/// Beside the directions of bands, that in which a length is shortened.
const LENGTH: usize = 4;
/// Share of the tries of a set that failed before that go on from there.
const CONTINUED_SHARE: f64 = 0.8;
/// Share of those after which the parts are scattered instead of two swapped.
const SCATTER_SHARE: f64 = 0.1;
/// What would be left of the overlap of a try that is given up early, had it gone on. By that it counts everywhere, also
/// among the layouts to go on from: those that were stuck have no such hope.
const OUTLOOK: f64 = 0.6;
/// How often a sheet that takes the place of another takes over its arrangement too. Always would never start afresh.
const PRESSED_SHARE: f64 = 0.7;
/// Below this share of the sheet a wider band is not worth a try.
const LEAST_BAND_STEP: f64 = 0.002;
/// A sheet with less room left than this share of the smallest piece worth keeping will have none. Not the whole: margin and
/// webs, which belong to no room, may lie in such a piece.
const LEAST_REST: f64 = 0.75;
/// An item that could not be inserted this often is given up until something changes.
const MOST_INSERT_FAILURES: u32 = 6;

impl<'t> SheetChain<'t> {
    /// Lays out a first arrangement. `items` gives the part of each item; sheets are opened in the order given as far as
    /// they are needed.
    pub(crate) fn new(
        task: &'t Task,
        items: Vec<usize>,
        orders: &[Vec<usize>],
        settings: SheetSettings,
        mut rng: SearchRng,
    ) -> Self {
        let mut best: Option<(Score, Working<'t>)> = None;
        for order in orders {
            if best.is_some() && task.clock.is_over() {
                break;
            }
            let mut working = Working::new(task, items.clone());
            fill_in_order(&mut working, order, &settings.construct, &mut rng);
            let score = Score::of(&working);
            if best.as_ref().is_none_or(|(least, _)| score.beats(least)) {
                best = Some((score, working));
            }
        }
        let (_, working) = best.expect("at least one order is given");
        Self::from_layout(working, settings, rng)
    }

    /// Goes on from a first arrangement in which nothing overlaps.
    pub(crate) fn from_layout(working: Working<'t>, settings: SheetSettings, rng: SearchRng) -> Self {
        let (task, count, best_score) = (working.task(), working.item_count(), Score::of(&working));
        let mut chain = Self {
            best: working.arrangement(),
            best_score,
            working,
            rng,
            settings,
            current: None,
            fill_model: FillModel::default(),
            area: required_area(task),
            failures: Failures::default(),
            heat: (best_score.cost, 0.0),
            progress: 0.0,
            race: Race::default(),
            tilt: Tilt::default(),
            insert_failures: vec![0; count],
            band_steps: BTreeMap::new(),
            are_leftovers_done: false,
        };
        chain.fill();
        chain
    }

    pub(crate) fn best(&self) -> &Arrangement {
        &self.best
    }

    pub(crate) fn best_score(&self) -> Score {
        self.best_score
    }

    /// Energy of the failed layout that was last gone on from, and the temperature at which it was drawn, in the smallest
    /// coin.
    pub(crate) fn heat(&self) -> (f64, f64) {
        self.heat
    }

    /// Takes over what another chain found, if it is better.
    pub(crate) fn adopt(&mut self, best: &Arrangement, score: Score) {
        if score.beats(&self.best_score) {
            let is_cheaper = Score { untidiness: 0.0, ..score }.beats(&Score { untidiness: 0.0, ..self.best_score });
            self.best = best.clone();
            self.best_score = score;
            // A try for a better leftover may go on; one that started from costlier sheets is pointless now.
            if is_cheaper {
                self.current = None;
                self.reopen_bands();
                self.insert_failures.fill(0);
            }
        }
    }

    /// Works until `evaluations` more placements have been evaluated, or nothing is left to try. `progress` runs from 0
    /// to 1 over the whole search; `is_cheapest` says that no cheaper set of sheets can exist.
    /// Returns whether there was anything left to try.
    pub(crate) fn run(&mut self, evaluations: u64, progress: f64, is_cheapest: bool) -> bool {
        self.progress = progress;
        let end = self.working.evaluations + evaluations;
        // A try for cheaper sheets that outlasts its share of the effort would leave none for the leftovers.
        let is_late = progress >= self.settings.choose_share && !self.are_leftovers_done;
        if (is_late || is_cheapest) && matches!(self.current, Some((Aim::Sheets { .. }, _))) {
            self.current = None;
        }
        while self.working.evaluations < end && !self.working.task().clock.is_over() {
            if self.current.is_none() && !self.start_try(progress, is_cheapest) {
                return false;
            }
            let Some((aim, mut separator)) = self.current.take() else { return false };
            match separator.sweep(&mut self.working, &mut self.rng) {
                Outcome::Going if self.is_left_behind(&aim, &separator) => {
                    separator.restore_best(&mut self.working);
                    self.finish_try(aim, Some(OUTLOOK * separator.best_loss()));
                }
                Outcome::Going => self.current = Some((aim, separator)),
                Outcome::Separated => {
                    self.note_early_end(&aim, &separator);
                    self.finish_try(aim, None);
                }
                Outcome::Idle | Outcome::Stuck if self.spread() => self.finish_try(aim, None),
                Outcome::Idle => self.current = Some((aim, separator)),
                Outcome::Stuck => self.finish_try(aim, Some(separator.best_loss())),
            }
        }
        true
    }

    /// Whether a set that was laid out anew is farther from fitting than most others were after as many sweeps.
    fn is_left_behind(&mut self, aim: &Aim, separator: &Separator) -> bool {
        if !aim.is_anew() {
            return false;
        }
        let goes_on = self.race.goes_on(separator.sweeps, separator.best_loss() / self.area);
        if separator.sweeps == FIRST_RUNG {
            self.tilt.note(self.working.is_square, goes_on);
        }
        !goes_on
    }

    /// A set laid out anew that fits before it is ever held against others came as near as can be.
    fn note_early_end(&mut self, aim: &Aim, separator: &Separator) {
        if aim.is_anew() && separator.sweeps < FIRST_RUNG {
            self.tilt.note(self.working.is_square, true);
        }
    }

    /// Pushes the parts of a failed try apart, all at once: parts moved one by one get stuck where there is room for all.
    fn spread(&mut self) -> bool {
        self.working.moves.tried(MoveKind::Spread, 1);
        let is_apart = self.working.push_apart();
        if is_apart {
            self.working.moves.taken(MoveKind::Spread);
        }
        is_apart
    }

    /// Takes over what a try led to: parts free of overlap, or a loss that could not be brought down.
    fn finish_try(&mut self, aim: Aim, stuck_at: Option<f64>) {
        // What is laid down after a try, fillers or what found no room, may turn as it likes.
        self.working.is_square = false;
        self.working.moves.tried(aim.kind(), 1);
        if stuck_at.is_none() && self.take_if_better() {
            self.working.moves.taken(aim.kind());
            match aim {
                Aim::Sheets { fill, disturbed_by, .. } => {
                    if let Some(kind) = disturbed_by {
                        self.working.moves.taken(kind);
                    }
                    self.fill_model.succeeded(fill);
                    self.reopen_bands();
                    self.fill();
                }
                Aim::Insert { .. } | Aim::Shorten { .. } => self.reopen_bands(),
                Aim::Band { .. } => {}
            }
            return;
        }
        let is_of_sheets = matches!(aim, Aim::Sheets { .. });
        self.note_failure(aim, stuck_at);
        if is_of_sheets && stuck_at.is_some() {
            self.try_extra_sheet();
        }
    }

    /// After a set of sheets failed, to which the working state comes near: takes out what still overlaps, and lays it on
    /// one sheet more, if that still costs less than the best.
    fn try_extra_sheet(&mut self) {
        let most = self.best_score.cost - Score::of(&self.working).cost;
        let offers = self.working.extra_sheets(most);
        if offers.is_empty() {
            return;
        }
        self.working.moves.tried(MoveKind::Extra, 1);
        self.working.take_out_conflicts();
        let homeless = self.working.largest_first(self.missing_required().into_iter());
        let homeless = self.working.lay_back(homeless, &self.settings.construct, &mut self.rng);
        if self.working.lay_on_one_of(&homeless, &offers, &self.settings.construct, &mut self.rng)
            && self.take_if_better()
        {
            self.working.moves.taken(MoveKind::Extra);
            self.reopen_bands();
            self.fill();
        }
    }

    /// Takes over what the working state holds, which is free of overlap, if it is better than the best.
    fn take_if_better(&mut self) -> bool {
        self.close_idle_bins();
        let score = Score::of(&self.working);
        let is_better = score.beats(&self.best_score);
        if is_better {
            self.best = self.working.arrangement();
            self.best_score = score;
            self.insert_failures.fill(0);
        }
        is_better
    }

    /// Learns from a try that led to nothing.
    fn note_failure(&mut self, aim: Aim, stuck_at: Option<f64>) {
        match aim {
            Aim::Sheets { key, fill, .. } => {
                match stuck_at {
                    Some(loss) => self.fill_model.failed(fill, loss / self.area),
                    // It fitted, and is no better only for what it leaves over.
                    None => self.fill_model.succeeded(fill),
                }
                self.failures.add(&key, fill, stuck_at.unwrap_or(0.0) / self.area);
                // The same stock cut to another length would be another set.
                if let Some(loss) = stuck_at
                    && self.working.bins.iter().all(|bin| bin.limit.is_none())
                {
                    self.failures.remember(key, loss, self.working.arrangement());
                }
            }
            Aim::Insert { item } => self.insert_failures[item] += 1,
            Aim::Band { bin, direction } => {
                *self.band_steps.entry((bin, direction)).or_insert(self.settings.band_step) *= 0.5;
            }
            Aim::Shorten { bin } => {
                *self.band_steps.entry((bin, LENGTH)).or_insert(self.settings.band_step) *= 0.5;
            }
        }
    }

    /// Starts the next try; false if there is nothing left to try.
    fn start_try(&mut self, progress: f64, is_cheapest: bool) -> bool {
        let may_choose = progress < self.settings.choose_share && !is_cheapest;
        if self.best_score.missing > 0.0 && self.rng.chance(0.5) && self.start_insert(true) {
            return true;
        }
        if may_choose {
            if self.start_shorten() && self.rng.chance(0.5) {
                return true;
            }
            if self.start_change() || self.start_shorten() {
                return true;
            }
        }
        if self.best_score.missing > 0.0 && self.start_insert(true) {
            return true;
        }
        if self.best_score.unfilled > 0.0 && self.start_insert(false) {
            return true;
        }
        if self.settings.with_leftovers && self.start_band() {
            return true;
        }
        self.are_leftovers_done = true;
        !is_cheapest && (self.start_change() || self.start_shorten() || self.shorten_again())
    }

    /// Once no length can be shortened as its parts lie, two of them trade places, and all steps are tried again: the order
    /// of the parts decides how far they can be pushed together.
    fn shorten_again(&mut self) -> bool {
        self.band_steps.retain(|&(_, direction), _| direction != LENGTH);
        if !self.start_shorten() {
            return false;
        }
        self.working.swap_large(&mut self.rng);
        if let Some((aim, _)) = self.current.take() {
            self.begin(aim);
        }
        true
    }

    /// The best is another: all may be tried for its leftovers.
    fn reopen_bands(&mut self) {
        self.band_steps.clear();
        self.are_leftovers_done = false;
    }

    fn restore_best(&mut self) {
        self.working.is_square = false;
        self.working.restore(&self.best);
    }

    fn begin(&mut self, aim: Aim) {
        self.current = Some((aim, Separator::new(self.settings.separator, &mut self.working)));
    }

    /// Tries a cheaper set of sheets.
    fn start_change(&mut self) -> bool {
        self.restore_best();
        let is_missing = self.best_score.missing > 0.0;
        let change = propose(&self.working, self.area, is_missing, &self.fill_model, &self.failures, &mut self.rng);
        let worth = change.as_ref().map_or(0.0, |(worth, _)| *worth);
        let again = propose_again(&self.working, &self.failures, &mut self.rng);
        // With parts missing, changes are worth something else.
        if let Some((again, key)) = again
            && !is_missing
            && again > worth
            && self.start_again(key)
        {
            return true;
        }
        let Some((_, change)) = change else { return false };
        let Change { removed, added, key, fill } = change;
        if self.failures.of(&key).is_some() && self.rng.chance(CONTINUED_SHARE) && self.start_again(key.clone()) {
            return true;
        }
        self.working.is_square = self.working.task().has_square_turns() && self.tilt.draw(&mut self.rng);
        // Fillers give way: they are laid again once the sheets are chosen.
        for item in 0..self.working.item_count() {
            if !self.working.task().parts[self.working.part_of(item)].is_required {
                self.working.remove(item);
            }
        }
        let mut displaced: Vec<usize> =
            removed.iter().flat_map(|&bin| self.working.bins[bin].members.clone()).collect();
        displaced.extend(self.missing_required());
        // One sheet for another: mostly the arrangement goes along, pressed into the new outline.
        let pressed = match (removed.as_slice(), added.as_slice()) {
            (&[old], &[_]) if self.rng.chance(PRESSED_SHARE) => {
                let old_room = self.working.bins[old].container.bounds;
                let places = |&item: &usize| self.working.place_of(item).map(|(_, pose)| (item, pose));
                Some((old_room, displaced.iter().filter_map(places).collect::<Vec<_>>()))
            }
            _ => None,
        };
        let mut saved = self.working.arrangement();
        saved.keep_bins(|bin| !removed.contains(&bin));
        for (sheet, limit) in &mut saved.bins {
            // Bands freed before are open to parts again; a length already shortened stays so.
            if self.working.task().sheets[*sheet].price_per_length.is_none() {
                *limit = None;
            }
        }
        saved.bins.extend(added.iter().map(|added| (added.sheet, added.limit)));
        if !self.working.is_square {
            saved = saved.freed(self.working.task(), &self.working.parts);
        }
        self.working.restore(&saved);
        if let Some((old_room, places)) = pressed {
            self.press(old_room, &places);
        }
        for item in self.working.largest_first(displaced.into_iter()) {
            if self.working.place_of(item).is_none() {
                self.lay_anywhere(item);
            }
        }
        self.begin(Aim::Sheets { key, fill, disturbed_by: None });
        true
    }

    /// Tries a set of sheets that failed before again, from where it came near.
    fn start_again(&mut self, key: Vec<usize>) -> bool {
        let Some(failure) = self.failures.of(&key) else { return false };
        let fill = failure.fill;
        let Some(kind) = self.go_on_from_failure(&key) else { return false };
        self.begin(Aim::Sheets { key, fill, disturbed_by: Some(kind) });
        true
    }

    /// Lays everything as it lay when a set of sheets last failed, more or less, and disturbs it; returns by what. `None`
    /// if it is not known, or could not be disturbed.
    fn go_on_from_failure(&mut self, key: &[usize]) -> Option<MoveKind> {
        let drawn = self.failures.draw(key, self.settings.schedule, self.progress, &mut self.rng)?;
        self.working.restore(drawn.layout);
        self.heat = priced(&self.working, drawn);
        self.working.is_square = self.working.lies_square();
        if self.rng.chance(SCATTER_SHARE) {
            return Some(self.working.scatter(&mut self.rng));
        }
        let swapped = self.working.swap_large(&mut self.rng);
        if swapped.is_none() {
            self.restore_best();
        }
        swapped
    }

    /// Lays items into the last bin as they lay in a room of other extents.
    fn press(&mut self, from: Bounds, places: &[(usize, Pose)]) {
        let bin = self.working.bins.len() - 1;
        let to = self.working.room_bounds(bin);
        let task = self.working.task();
        let grain = task.sheets[self.working.bins[bin].sheet].grain;
        let along = |value: f64, old: (f64, f64), new: (f64, f64)| {
            new.0 + (value - old.0) * (new.1 - new.0) / (old.1 - old.0).max(f64::MIN_POSITIVE)
        };
        for &(item, pose) in places {
            let part = self.working.part_of(item);
            if !task.may_lie(part, pose.variant, grain) {
                continue;
            }
            let x = along(pose.at.x, (from.min.x, from.max.x), (to.min.x, to.max.x));
            let y = along(pose.at.y, (from.min.y, from.max.y), (to.min.y, to.max.y));
            self.working.put(item, bin, Pose { at: Point::new(x, y), ..pose });
        }
    }

    fn missing_required(&self) -> Vec<usize> {
        let task = self.working.task();
        (0..self.working.item_count())
            .filter(|&item| task.parts[self.working.part_of(item)].is_required && self.working.place_of(item).is_none())
            .filter(|&item| task.fits_somewhere(self.working.part_of(item)))
            .collect()
    }

    /// Lays an item free if a few samples find such a place, else where the most room is left.
    fn lay_anywhere(&mut self, item: usize) {
        let settings = ConstructSettings { samples: 60, refined: 1 };
        let mut bins: Vec<usize> = (0..self.working.bins.len()).collect();
        let free: Vec<f64> = bins.iter().map(|&bin| self.working.free_area(bin)).collect();
        bins.sort_by(|&a, &b| free[b].total_cmp(&free[a]).then(a.cmp(&b)));
        for &bin in &bins {
            if self.working.task().clock.is_over() {
                return;
            }
            if self.working.lay_free(item, bin, &settings, &mut self.rng) {
                return;
            }
        }
        for &bin in &bins {
            if let Some(pose) = self.working.random_pose(item, bin, &mut self.rng) {
                self.working.put(item, bin, pose);
                let found = self.working.find_place(item, &self.settings.separator.moves, &mut self.rng);
                self.working.put(item, found.bin, found.pose);
                return;
            }
        }
    }

    /// Lays fillers where a few samples find room, largest first, into the best arrangement, which the working state
    /// holds.
    fn fill(&mut self) {
        let task = self.working.task();
        let fillers =
            (0..self.working.item_count()).filter(|&item| self.working.place_of(item).is_none()).filter(|&item| {
                let part = self.working.part_of(item);
                !task.parts[part].is_required && task.fits_somewhere(part)
            });
        let settings = self.settings.construct;
        let mut rows = (self.working.item_count() > CROWD).then(|| Rows::new(task));
        for item in self.working.largest_first(fillers) {
            let part = self.working.part_of(item);
            if task.clock.is_over() {
                break;
            }
            if let Some(rows) = &mut rows {
                rows.lay(&mut self.working, item);
                continue;
            }
            for bin in 0..self.working.bins.len() {
                if task.fit(part, self.working.bins[bin].sheet).is_none() {
                    continue;
                }
                if self.working.lay_free(item, bin, &settings, &mut self.rng) {
                    break;
                }
            }
        }
        self.best = self.working.arrangement();
        self.best_score = Score::of(&self.working);
    }

    /// Tries to squeeze in a part that lies nowhere.
    fn start_insert(&mut self, required: bool) -> bool {
        self.restore_best();
        let task = self.working.task();
        let candidates: Vec<usize> = (0..self.working.item_count())
            .filter(|&item| self.working.place_of(item).is_none())
            .filter(|&item| {
                let part = self.working.part_of(item);
                task.parts[part].is_required == required && task.fits_somewhere(part)
            })
            .filter(|&item| self.insert_failures[item] < MOST_INSERT_FAILURES)
            .collect();
        if candidates.is_empty() || self.working.bins.is_empty() {
            return false;
        }
        let item = candidates[self.rng.index(candidates.len())];
        self.lay_anywhere(item);
        if self.working.place_of(item).is_none() {
            self.insert_failures[item] = MOST_INSERT_FAILURES;
            return self.start_insert(required);
        }
        self.begin(Aim::Insert { item });
        true
    }

    /// Tries to free a wider band along one side of a sheet.
    fn start_band(&mut self) -> bool {
        self.restore_best();
        let rule = self.working.task().job.leftover_rule();
        let least_kept = LEAST_REST * rule.width * rule.length;
        let mut options: Vec<(usize, usize)> = Vec::new();
        for (bin, &(sheet, _)) in self.best.bins.iter().enumerate() {
            // However well the parts lay, nothing worth keeping would be left of some sheets.
            let is_hopeless = self.working.free_area(bin) < least_kept;
            if is_hopeless || self.working.task().sheets[sheet].price_per_length.is_some() {
                continue;
            }
            for direction in 0..4 {
                let step = self.band_steps.get(&(bin, direction)).copied().unwrap_or(self.settings.band_step);
                if step >= LEAST_BAND_STEP {
                    options.push((bin, direction));
                }
            }
        }
        if options.is_empty() {
            return false;
        }
        // Where a wide band already is, making it wider gains most.
        let area = |&(bin, direction): &(usize, usize)| bands(&self.working, &self.working.bins[bin])[direction].area;
        let best_option = options.iter().copied().max_by(|a, b| area(a).total_cmp(&area(b)));
        let (bin, direction) = match best_option {
            Some(option) if self.rng.chance(0.6) => option,
            _ => options[self.rng.index(options.len())],
        };
        let band = bands(&self.working, &self.working.bins[bin])[direction];
        let room = self.working.bins[bin].container.bounds;
        let extent = if direction % 2 == 0 { room.width() } else { room.height() };
        let step = self.band_steps.get(&(bin, direction)).copied().unwrap_or(self.settings.band_step);
        let width = band.width + step * extent;
        if width >= extent {
            self.band_steps.insert((bin, direction), 0.0);
            return self.start_band();
        }
        let line = cut_line(&self.working.bins[bin], direction, width);
        self.working.set_limit(bin, Some(line));
        self.begin(Aim::Band { bin, direction });
        true
    }

    /// Tries to make do with less of a stock sold by length.
    fn start_shorten(&mut self) -> bool {
        let options: Vec<usize> = (0..self.best.bins.len())
            .filter(|&bin| self.working.task().sheets[self.best.bins[bin].0].price_per_length.is_some())
            .filter(|&bin| self.band_steps.get(&(bin, LENGTH)).is_none_or(|&step| step >= LEAST_BAND_STEP))
            .collect();
        if options.is_empty() {
            return false;
        }
        self.restore_best();
        let bin = options[self.rng.index(options.len())];
        let step = self.band_steps.get(&(bin, LENGTH)).copied().unwrap_or(self.settings.band_step);
        let used = self.working.right_end(&self.working.bins[bin]);
        let left = self.working.bins[bin].container.bounds.min.x;
        let target = left + (used - left) * (1.0 - step);
        // No less than what saves an increment is worth anything.
        let terms = self.working.task().job.sheets()[self.working.bins[bin].sheet].open_length;
        let saving = terms.map_or(0.0, |terms| terms.increment.min(used - left));
        let target = target.min(used - saving * 0.5);
        self.working.set_limit(bin, Some(cut_at_x(target)));
        self.begin(Aim::Shorten { bin });
        true
    }

    /// Sheets on which nothing lies but fillers are not bought.
    fn close_idle_bins(&mut self) {
        let (task, working) = (self.working.task(), &self.working);
        let is_required = |&item: &usize| task.parts[working.part_of(item)].is_required;
        let is_needed: Vec<bool> = working.bins.iter().map(|bin| bin.members.iter().any(is_required)).collect();
        if is_needed.iter().all(|&is_needed| is_needed) {
            return;
        }
        let mut saved = self.working.arrangement();
        saved.keep_bins(|bin| is_needed[bin]);
        self.working.restore(&saved);
    }
}

/// Energy and temperature of a layout that was drawn, in the smallest coin: what its sheets cost, and what overlaps at what
/// a square millimetre of them costs.
fn priced(working: &Working<'_>, drawn: Drawn<'_>) -> (f64, f64) {
    let cost = Score::of(working).cost;
    let area: f64 = (0..working.bins.len()).map(|bin| working.room_area(bin)).sum();
    let rate = cost.max(0.0) / area.max(f64::MIN_POSITIVE);
    (cost + rate * drawn.loss, rate * drawn.temperature)
}

/// Area of all copies of required parts that fit somewhere, clearances included, mm².
fn required_area(task: &Task) -> f64 {
    let fitting = |&part: &usize| task.parts[part].is_required && task.fits_somewhere(part);
    task.items().into_iter().filter(fitting).map(|part| task.parts[part].grown_area).sum()
}

/// Lays the required items that lie nowhere one after another, largest first: on the first open sheet with room, else on the
/// next sheet of the order on which it fits.
pub(crate) fn fill_in_order(
    working: &mut Working<'_>,
    order: &[usize],
    settings: &ConstructSettings,
    rng: &mut SearchRng,
) {
    let task = working.task();
    let in_use = |sheet: usize| working.bins.iter().filter(|bin| bin.sheet == sheet).count() as u32;
    let left = |sheet: usize| task.sheets[sheet].quantity.map(|quantity| quantity.saturating_sub(in_use(sheet)));
    let mut available: Vec<(usize, Option<u32>)> = order.iter().map(|&sheet| (sheet, left(sheet))).collect();
    let required: Vec<usize> = working.largest_first(
        (0..working.item_count())
            .filter(|&item| task.parts[working.part_of(item)].is_required && working.place_of(item).is_none())
            .filter(|&item| task.fits_somewhere(working.part_of(item))),
    );
    // Sheets only get fuller: one that had no room for a copy of a part has none for the next.
    let mut ruled_out: Vec<Vec<bool>> = vec![Vec::new(); task.parts.len()];
    let mut rows = (working.item_count() > CROWD).then(|| Rows::new(task));
    'items: for item in required {
        let part = working.part_of(item);
        if task.is_late() {
            return;
        }
        if let Some(rows) = &mut rows {
            if !rows.lay(working, item) {
                open_next(working, &mut available, item, |working, bin| rows.lay_in(working, item, bin));
            }
            continue;
        }
        ruled_out[part].resize(working.bins.len(), false);
        for (bin, is_ruled_out) in ruled_out[part].iter_mut().enumerate() {
            // A bin with too little area left needs no sampling.
            let is_hopeless = *is_ruled_out || task.parts[part].grown_area > working.free_area(bin);
            if is_hopeless || task.fit(part, working.bins[bin].sheet).is_none() {
                continue;
            }
            if working.lay_free(item, bin, settings, rng) {
                continue 'items;
            }
            *is_ruled_out = true;
        }
        open_next(working, &mut available, item, |working, bin| working.lay_free(item, bin, settings, rng));
    }
}

/// Opens the first sheet in stock on which an item fits, and lays it there, somehow if not as asked.
fn open_next(
    working: &mut Working<'_>,
    available: &mut [(usize, Option<u32>)],
    item: usize,
    lay: impl FnOnce(&mut Working<'_>, usize) -> bool,
) {
    let (task, part) = (working.task(), working.part_of(item));
    for entry in available {
        let (sheet, left) = *entry;
        if left == Some(0) {
            continue;
        }
        let Some(lone) = task.fit(part, sheet) else { continue };
        let bin = working.open(sheet, task.container(sheet), None);
        if !lay(working, bin) {
            working.put(item, bin, lone);
        }
        entry.1 = left.map(|left| left - 1);
        return;
    }
}

#[cfg(test)]
mod tests {
    use dropwise_model::{Job, Money, Need, Turns};

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::state::working_tests::{job, rectangle, with_sheets};

    /// Two squares, a dear sheet with room to spare, and a cheap one that they just fit side by side.
    fn two_squares() -> Task {
        let square = (rectangle(60.0, 60.0), Turns::List(vec![0.0]));
        let plain = job(&[square.clone(), square], rectangle(200.0, 200.0));
        prepared(with_sheets(&plain, |sheets| {
            let mut tight = sheets[0].clone();
            sheets[0].price = Money::from_coins(300);
            (tight.name, tight.shape, tight.price) =
                ("tight".to_owned(), rectangle(120.5, 60.5), Money::from_coins(50));
            sheets.push(tight);
        }))
    }

    #[test]
    fn tries_keep_to_quarter_turns_or_let_all_parts_loose() {
        let plate = (rectangle(60.0, 40.0), Turns::Any);
        let plain = job(&[plate.clone(), plate], rectangle(200.0, 200.0));
        let task = prepared(with_sheets(&plain, |sheets| {
            let mut cheap = sheets[0].clone();
            sheets[0].price = Money::from_coins(300);
            (cheap.name, cheap.price) = ("cheap".to_owned(), Money::from_coins(50));
            sheets.push(cheap);
        }));
        assert!(task.has_square_turns());
        let lies_at = |chain: &SheetChain<'_>| -> Vec<Option<f64>> {
            let places = (0..2).filter_map(|item| chain.working.place_of(item));
            places.map(|(_, pose)| task.parts[0].variants[pose.variant].turn_deg).collect()
        };
        let (mut squarely, mut askew) = (0, 0);
        for seed in 0..20 {
            let rng = SearchRng::new(seed, 0);
            let mut chain = SheetChain::new(&task, task.items(), &[vec![0, 1]], SheetSettings::default(), rng);
            assert!(chain.start_change());
            let turns = lies_at(&chain);
            assert_eq!(turns.len(), 2);
            // What is pressed into the other sheet goes along as it lay, which was at any angle.
            if chain.working.is_square {
                squarely += usize::from(turns.iter().all(Option::is_some));
            } else {
                assert!(turns.iter().all(Option::is_none), "{turns:?}");
                askew += 1;
            }
            let (aim, _) = chain.current.take().expect("a try was started");
            chain.finish_try(aim, Some(1.0));
            assert!(!chain.working.is_square, "only tries of sets keep to quarter turns, not what comes after");
        }
        assert!(squarely > 0 && askew > 0, "{squarely} {askew}");
    }

    fn chain(task: &Task) -> SheetChain<'_> {
        SheetChain::new(task, task.items(), &[vec![0, 1]], SheetSettings::default(), SearchRng::new(1, 0))
    }

    #[test]
    fn effort_that_leftovers_do_not_need_goes_back_to_the_choice_of_sheets() {
        let task = two_squares();
        let mut chain = chain(&task);
        assert_eq!(chain.best_score.cost, 300.0);
        // Late in the search, when only leftovers are seen to.
        for _ in 0..200 {
            assert!(chain.run(1000, 0.9, false) || chain.best_score.cost < 300.0);
        }
        assert_eq!(chain.best_score.cost, 50.0);
    }

    #[test]
    fn a_sheet_on_which_fillers_alone_are_left_is_closed() {
        let square = (rectangle(60.0, 60.0), Turns::List(vec![0.0]));
        let plain = job(&[square.clone(), square], rectangle(200.0, 200.0));
        let mut parts = plain.parts().to_vec();
        parts[1].need = Need::Filler;
        let (sheets, rule) = (plain.sheets().to_vec(), *plain.leftover_rule());
        let task = prepared(Job::new(parts, sheets, *plain.clearances(), rule).expect("sound parts and sheets"));
        let mut chain =
            SheetChain::new(&task, task.items(), &[vec![0]], SheetSettings::default(), SearchRng::new(1, 0));
        assert_eq!(chain.working.bins.len(), 1);
        chain.working.open(0, task.container(0), None);
        chain.working.put(1, 1, Pose { variant: 0, turn_deg: 0.0, at: Point::new(100.0, 100.0) });
        chain.close_idle_bins();
        assert_eq!(chain.working.bins.len(), 1);
        assert!(chain.working.place_of(0).is_some() && chain.working.place_of(1).is_none());
    }

    #[test]
    fn a_set_that_lags_behind_others_is_given_up_early_unless_it_was_taken_up_again() {
        let task = two_squares();
        for (disturbed_by, is_given_up) in [(None, true), (Some(MoveKind::Swap), false)] {
            let mut chain = chain(&task);
            // Others had nearly nothing left after twenty sweeps.
            for _ in 0..20 {
                chain.race.goes_on(20, 1e-9);
            }
            // Both squares and a wall that leaves no room for the second.
            chain.working.restore(&Arrangement { bins: vec![(1, None)], places: vec![None; 2] });
            chain.working.set_limit(0, Some(cut_at_x(90.0)));
            for item in 0..2 {
                chain.working.put(item, 0, Pose { variant: 0, turn_deg: 0.0, at: Point::new(40.0, 30.1) });
            }
            chain.begin(Aim::Sheets { key: vec![1], fill: 0.98, disturbed_by });
            for sweep in 1..=20 {
                assert!(chain.failures.of(&[1]).is_none(), "given up before sweep {sweep}");
                chain.run(1, 0.0, false);
            }
            assert_eq!(chain.failures.of(&[1]).is_some(), is_given_up);
        }
    }

    #[test]
    fn a_set_that_failed_is_taken_up_again_where_it_came_nearest() {
        let task = two_squares();
        let mut chain = chain(&task);
        assert_eq!(chain.go_on_from_failure(&[1]), None, "it never failed");
        assert!(!chain.start_again(vec![1]));
        chain.working.restore(&Arrangement { bins: vec![(1, None)], places: vec![None; 2] });
        let at = |x: f64| Pose { variant: 0, turn_deg: 0.0, at: Point::new(x, 30.1) };
        for (item, x) in [(0, 30.0), (1, 60.0)] {
            chain.working.put(item, 0, at(x));
        }
        chain
            .finish_try(Aim::Sheets { key: vec![1], fill: 0.98, disturbed_by: None }, Some(chain.working.total_loss()));
        let failure = chain.failures.of(&[1]).expect("it just failed");
        assert_eq!((failure.count, failure.fill), (1, 0.98));
        assert!(failure.excess > 0.0 && failure.excess < 1.0, "a share of both squares: {}", failure.excess);
        chain.restore_best();
        // Now and then a part is drawn to trade places with itself.
        assert!((0..20).any(|_| chain.go_on_from_failure(&[1]).is_some()));
        assert_eq!(chain.working.arrangement().bins, [(1, None)]);
        assert!(chain.working.total_loss() > 0.0);
    }
}
