//! Makes a strip of open length short, by simulated annealing over layouts in which parts still overlap.

use std::sync::Arc;

use crate::anneal::annealer::Schedule;
use crate::anneal::failed::FailedLayouts;
use crate::anneal::separator::{Outcome, Separator, SeparatorSettings};
use crate::moves::construct::{ConstructSettings, cut_at_x};
use crate::problem::container::Container;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::settings::Annealing;
use crate::state::score::{Score, extent};
use crate::state::working::{Arrangement, Working};
use crate::statistics::MoveKind;

/// How the length is brought down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct StripSettings {
    pub(crate) separator: SeparatorSettings,
    /// Share of the length taken off after each success while exploring. Larger: quick at first, more failures later.
    pub(crate) explore_step: f64,
    /// Share of the whole effort after which only compression follows.
    pub(crate) explore_share: f64,
    /// Failures in a row after which a layout is polished: slivers are taken off a copy until even small ones no longer
    /// come off. The layout itself stays as loose as it is, since tight ones lead nowhere. Fewer: more time goes into
    /// layouts that will be left behind. More: what a layout was worth may be lost with it.
    pub(crate) polish_after: u32,
    /// Share of the length taken off while compressing, at the start and at the end of that phase.
    pub(crate) compress_steps: (f64, f64),
    /// How many failed layouts are remembered to start again from.
    pub(crate) pool: usize,
    /// How warm it is when the next one is drawn.
    pub(crate) schedule: Schedule,
    /// Share of the failures after which all parts are scattered instead of two swapped. More: what was learned about
    /// the arrangement is lost too often where parts are many.
    pub(crate) scatter_share: f64,
    /// Whether to start afresh where nothing is gained any more, instead of working on at the best that is known. One
    /// chain should not: many parts go on gaining little by little.
    pub(crate) is_restless: bool,
    /// Share of the whole effort at the start in which parts that may turn freely lie at quarter turns only. More: less
    /// time to turn them. Less: where turning gains little, the strip ends longer than if nothing could turn, since
    /// quarter turns are searched faster.
    pub(crate) square_share: f64,
}

impl Default for StripSettings {
    fn default() -> Self {
        Self {
            separator: SeparatorSettings::default(),
            explore_step: 0.003,
            polish_after: 15,
            explore_share: 0.85,
            compress_steps: (5e-4, 1e-5),
            pool: 20,
            schedule: Schedule::of(Annealing::default()),
            scatter_share: 0.1,
            is_restless: false,
            square_share: 0.25,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Phase {
    Explore,
    /// Slivers of this share of the length are taken off a copy of the ground.
    Polish {
        step: f64,
    },
    Compress,
}

/// One chain of the search for a short strip.
#[derive(Debug)]
pub(crate) struct StripChain<'t> {
    pub(crate) working: Working<'t>,
    rng: SearchRng,
    settings: StripSettings,
    separator: Separator,
    phase: Phase,
    container: Arc<Container>,
    /// The shortest layout.
    best: Short,
    /// The shortest layout of the present descent, not polished; `None` as long as it has led to none.
    ground: Option<Short>,
    /// What is left of the ground while it is being polished.
    refined: Short,
    /// Whether the ground was polished.
    is_polished: bool,
    /// Failures since the ground was found.
    failures: u32,
    /// The length that is being tried.
    length: f64,
    /// Failed layouts at the present length.
    pool: FailedLayouts,
    /// Energy of the layout that the present try goes on from, and the temperature at which it was drawn, mm of length.
    heat: (f64, f64),
    /// What led from a failed layout to the one at hand.
    disturbed_by: Option<MoveKind>,
    descent: Descent,
    /// Share of the whole search that was done when it last began to run.
    progress: f64,
}

/// A layout without overlap, and how long a strip it takes.
#[derive(Clone, Debug, PartialEq)]
struct Short {
    arrangement: Arrangement,
    length: f64,
}

/// One way down from a long strip to a short one: where it began and when it last came on, in evaluations and as shares
/// of the whole search.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Descent {
    began: (u64, f64),
    gained: (u64, f64),
    /// Whether it began from chance, not from what chains share.
    is_own: bool,
}

impl Descent {
    fn afresh(now: (u64, f64)) -> Self {
        Self { began: now, gained: now, is_own: true }
    }

    /// Whether it has come no further for half as long as it took to come where it is, with time for another before
    /// `end`.
    fn is_worn_out(&self, (evaluations, progress): (u64, f64), end: f64) -> bool {
        let (way, share) = (self.gained.0 - self.began.0, self.gained.1 - self.began.1);
        evaluations - self.gained.0 > (way / 2).max(LEAST_DESCENT) && progress + share < end
    }
}

/// Evaluations without a gain before a descent is given up at the earliest. Fewer: good arrangements are left before
/// their last hair is taken.
const LEAST_DESCENT: u64 = 10_000_000;
/// How much longer than the best a strip is made for a new descent. Less: the first separation takes long. More: so does
/// the way down.
const FRESH_LENGTH: f64 = 1.04;

/// How much longer than the ground a layout may be once it is pushed apart, in the hope that pushing it together makes it
/// shorter.
const SPREAD_LENGTH: f64 = 1.01;

/// What a sliver is multiplied by after each failure to take it off, and the least worth a try. Nearer to one: polishing
/// takes longer, and gains a little more.
const POLISH_DECAY: f64 = 0.985;
const LAST_POLISH: f64 = 2e-5;
/// A layout longer than the best by more than this would not become the best by polishing.
const PROMISING: f64 = 1.015;

impl<'t> StripChain<'t> {
    /// Lays all items into the one sheet of the task; if some found no room on the longest piece there is, returns what was
    /// laid.
    pub(crate) fn new(task: &'t Task, settings: StripSettings, mut rng: SearchRng) -> Result<Self, Box<Working<'t>>> {
        let mut working = Working::new(task, task.items());
        working.is_square = settings.square_share > 0.0;
        let container = task.container(0);
        let bin = working.open(0, Arc::clone(&container), None);
        working.fill_open_bin(bin, &ConstructSettings::default(), &mut rng);
        if (0..working.item_count()).any(|item| working.place_of(item).is_none()) {
            return Err(Box::new(working));
        }
        let length = extent(&working);
        let first = Short { arrangement: working.arrangement(), length };
        let mut chain = Self {
            ground: Some(first.clone()),
            refined: first.clone(),
            best: first,
            is_polished: false,
            failures: 0,
            length,
            separator: Separator::new(settings.separator, &mut working),
            working,
            rng,
            settings,
            phase: Phase::Explore,
            container,
            pool: FailedLayouts::new(settings.pool),
            heat: (length, 0.0),
            disturbed_by: None,
            descent: Descent::default(),
            progress: 0.0,
        };
        chain.shrink();
        Ok(chain)
    }

    /// The shortest layout found.
    pub(crate) fn best(&self) -> &Arrangement {
        &self.best.arrangement
    }

    pub(crate) fn best_length(&self) -> f64 {
        self.best.length
    }

    /// Energy of the layout that the present try goes on from, and the temperature at which it was drawn: length of the strip,
    /// mm, and as much more as what overlaps would take up across it.
    pub(crate) fn heat(&self) -> (f64, f64) {
        self.heat
    }

    /// Takes over a layout that another chain found.
    pub(crate) fn adopt(&mut self, best: &Arrangement, score: Score) {
        // A strip's untidiness is its length.
        let length = score.untidiness;
        if length < self.best.length {
            self.best = Short { arrangement: best.clone(), length };
            // A try at a length that is shorter still goes on: two chains that are at it differ in how.
            if self.phase == Phase::Compress && self.length >= length {
                self.compress_from_best();
            }
        }
    }

    /// Comes down from here on from a layout that is known before the search, if it is shorter than its own first.
    pub(crate) fn go_on_from(&mut self, start: &Arrangement, length: f64) {
        if length < self.best.length {
            let short = Short { arrangement: start.clone(), length };
            self.best = short.clone();
            self.gain_ground(short);
            self.explore_from_ground();
        }
    }

    /// The layout from which it comes down, and its length, if that way down is shared with other chains.
    pub(crate) fn shared_ground(&self) -> Option<(&Arrangement, f64)> {
        let is_shared = !self.descent.is_own && self.phase != Phase::Compress;
        self.ground.as_ref().filter(|_| is_shared).map(|ground| (&ground.arrangement, ground.length))
    }

    /// Goes on from a layout that another chain came down to. One that comes down by a way of its own does not: the ways
    /// differ in where they end.
    pub(crate) fn come_down_to(&mut self, ground: &Arrangement, length: f64) {
        if self.shared_ground().is_none_or(|(_, own)| own <= length) {
            return;
        }
        self.gain_ground(Short { arrangement: ground.clone(), length });
        if self.phase == Phase::Explore && self.length < length {
            return;
        }
        self.pool.clear();
        self.explore_from_ground();
    }

    /// Sweeps until `evaluations` more placements have been evaluated. `progress` runs from 0 to 1 over the whole
    /// search.
    pub(crate) fn run(&mut self, evaluations: u64, progress: f64) {
        self.progress = progress;
        if self.working.is_square && progress >= self.settings.square_share {
            self.free_turns();
        }
        if progress >= self.settings.explore_share && self.phase != Phase::Compress {
            self.phase = Phase::Compress;
            self.compress_from_best();
        }
        let end = self.working.evaluations + evaluations;
        while self.working.evaluations < end && !self.working.task().clock.is_over() {
            match self.separator.sweep(&mut self.working, &mut self.rng) {
                Outcome::Going => {}
                Outcome::Idle => {
                    if self.phase == Phase::Explore {
                        self.spread();
                    }
                }
                Outcome::Separated => {
                    self.working.moves.tried(MoveKind::Shorten, 1);
                    self.working.moves.taken(MoveKind::Shorten);
                    self.take_separated(progress);
                }
                Outcome::Stuck => {
                    self.working.moves.tried(MoveKind::Shorten, 1);
                    self.give_up(progress);
                }
            }
        }
    }

    /// Lets parts turn freely from now on, and goes on from the best, if that makes a difference.
    fn free_turns(&mut self) {
        self.working.is_square = false;
        if !self.working.task().has_square_turns() {
            return;
        }
        self.best.arrangement = self.best.arrangement.freed(self.working.task(), &self.working.parts);
        self.pool.clear();
        self.gain_ground(self.best.clone());
        self.explore_from_ground();
    }

    /// What the working state holds is free of overlap: keeps it, and goes on from there.
    fn take_separated(&mut self, progress: f64) {
        if self.phase != Phase::Explore {
            // Not while exploring: tight layouts lead nowhere.
            self.working.set_limit(0, None);
            self.working.compact(0);
        }
        self.length = extent(&self.working);
        let found = Short { arrangement: self.working.arrangement(), length: self.length };
        if found.length < self.best.length {
            self.best = found.clone();
        }
        if let Some(kind) = self.disturbed_by.take() {
            self.working.moves.taken(kind);
        }
        match self.phase {
            Phase::Explore => {
                self.gain_ground(found);
                self.pool.clear();
                self.shrink();
            }
            Phase::Polish { step } => {
                self.refined = found;
                self.squeeze(step);
            }
            Phase::Compress => self.squeeze(self.compress_step(progress)),
        }
    }

    /// The descent has come to a shorter layout.
    fn gain_ground(&mut self, ground: Short) {
        self.heat.0 = ground.length;
        self.ground = Some(ground);
        self.descent.gained = (self.working.evaluations, self.progress);
        self.failures = 0;
        self.is_polished = false;
    }

    /// Lays everything as in the best layout, pushes it together and goes on from there.
    fn compress_from_best(&mut self) {
        self.disturbed_by = None;
        self.working.restore(&self.best.arrangement);
        self.take_separated(self.progress);
    }

    /// Goes on from the ground, if there is one.
    fn explore_from_ground(&mut self) {
        let Some(ground) = &self.ground else { return };
        self.phase = Phase::Explore;
        self.disturbed_by = None;
        self.working.restore(&ground.arrangement);
        self.length = ground.length;
        self.shrink();
    }

    fn compress_step(&self, progress: f64) -> f64 {
        let share = self.settings.explore_share;
        let through = ((progress - share) / (1.0 - share).max(1e-9)).clamp(0.0, 1.0);
        let (first, last) = self.settings.compress_steps;
        first * (last / first).powf(through)
    }

    fn set_length(&mut self, length: f64) {
        self.length = length;
        let left = self.container.bounds.min.x;
        self.working.set_limit(0, Some(cut_at_x(left + length)));
    }

    /// Cuts a little off the end: what sticks out then has to find room.
    fn shrink(&mut self) {
        let length = self.length * (1.0 - self.settings.explore_step);
        self.set_length(length);
        self.separator = Separator::new(self.settings.separator, &mut self.working);
    }

    /// Takes a sliver, a share of the length, out of the middle: everything beyond a random line moves in.
    fn squeeze(&mut self, share: f64) {
        let step = self.length * share;
        let left = self.container.bounds.min.x;
        let line = left + self.rng.between(0.0, self.length);
        for item in 0..self.working.item_count() {
            let (bin, pose) = self.working.place_of(item).expect("every item lies on the strip");
            if pose.at.x > line {
                self.working.put(item, bin, pose.moved(-step, 0.0));
            }
        }
        self.set_length(self.length - step);
        let settings = SeparatorSettings { patience: 50, strikes: 2, ..self.settings.separator };
        self.separator = Separator::new(settings, &mut self.working);
    }

    fn give_up(&mut self, progress: f64) {
        match self.phase {
            Phase::Explore => self.explore_elsewhere(progress),
            Phase::Polish { step } if step * POLISH_DECAY >= LAST_POLISH => {
                let step = step * POLISH_DECAY;
                self.phase = Phase::Polish { step };
                self.working.restore(&self.refined.arrangement);
                self.length = self.refined.length;
                self.squeeze(step);
            }
            Phase::Polish { .. } => {
                self.is_polished = true;
                self.explore_from_ground();
            }
            Phase::Compress => {
                self.working.restore(&self.best.arrangement);
                self.length = self.best.length;
                self.squeeze(self.compress_step(progress));
            }
        }
    }

    /// After a failure to come shorter: polishes what there is, starts afresh, or disturbs a failed layout.
    fn explore_elsewhere(&mut self, progress: f64) {
        self.failures += 1;
        if self.spread() {
            return;
        }
        let now = (self.working.evaluations, progress);
        let is_worn_out = self.settings.is_restless && self.descent.is_worn_out(now, self.settings.explore_share);
        let is_due = !self.is_polished && (is_worn_out || self.failures >= self.settings.polish_after);
        let most = PROMISING * self.best.length;
        if is_due && self.ground.as_ref().is_some_and(|ground| ground.length < most) {
            self.start_polishing();
            return;
        }
        if is_worn_out {
            self.start_afresh(now);
            return;
        }
        self.pool.add(self.separator.best_loss(), self.working.arrangement());
        if let Some(drawn) = self.pool.draw(self.settings.schedule, progress, &mut self.rng) {
            let across = self.container.bounds.height();
            self.heat = (self.length + drawn.loss / across, drawn.temperature / across);
            self.working.restore(drawn.layout);
        }
        self.disturbed_by = if self.rng.chance(self.settings.scatter_share) {
            Some(self.working.scatter(&mut self.rng))
        } else {
            self.working.swap_large(&mut self.rng)
        };
        self.separator = Separator::new(self.settings.separator, &mut self.working);
    }

    /// Pushes the parts of the failed layout apart, and goes on from there if the strip is shorter than the ground: parts
    /// moved one by one get stuck where there is room for all of them, but only if many move at once.
    fn spread(&mut self) -> bool {
        let Some(ground) = self.ground.as_ref().map(|ground| ground.length) else { return false };
        self.working.moves.tried(MoveKind::Spread, 1);
        let failed = self.working.arrangement();
        self.working.set_limit(0, None);
        let most = self.container.bounds.min.x + SPREAD_LENGTH * ground;
        if self.working.push_apart_on_strip(0, most) {
            self.working.compact(0);
            if extent(&self.working) < (1.0 - LAST_POLISH) * ground {
                self.working.moves.taken(MoveKind::Spread);
                self.take_separated(self.progress);
                return true;
            }
        }
        self.working.restore(&failed);
        false
    }

    /// Lays everything as on the ground, if there is one, pushes it together and takes slivers off that.
    fn start_polishing(&mut self) {
        let Some(ground) = &self.ground else { return };
        self.phase = Phase::Polish { step: self.settings.compress_steps.0 };
        self.disturbed_by = None;
        self.working.restore(&ground.arrangement);
        self.take_separated(self.progress);
    }

    /// Another descent, from a somewhat longer strip with every part at a random place.
    fn start_afresh(&mut self, now: (u64, f64)) {
        self.descent = Descent::afresh(now);
        self.pool.clear();
        self.ground = None;
        self.failures = 0;
        self.is_polished = false;
        self.set_length(FRESH_LENGTH * self.best.length);
        self.disturbed_by = Some(self.working.scatter(&mut self.rng));
        self.separator = Separator::new(self.settings.separator, &mut self.working);
    }
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::{OpenLength, Turns};

    use super::*;
    use crate::anneal::lone_fit::prepared;
    use crate::state::working_tests::{job, with_sheets};

    /// Six triangles and blocks on a strip.
    fn on_a_strip() -> Task {
        on_a_strip_with(&Turns::List(vec![0.0, 90.0, 180.0, 270.0]))
    }

    fn on_a_strip_with(turns: &Turns) -> Task {
        let shape = |corners: &[(f64, f64)]| {
            Shape::new(Outline::polygon(corners.iter().map(|&(x, y)| Point::new(x, y))), Vec::new())
        };
        let parts: Vec<(Shape, Turns)> = (0..6)
            .map(|i| {
                let (a, b) = (20.0 + 3.0 * f64::from(i % 5), 14.0 + 4.0 * f64::from(i % 3));
                let outline: &[(f64, f64)] = if i % 2 == 0 {
                    &[(0.0, 0.0), (a, 0.0), (0.0, b)]
                } else {
                    &[(0.0, 0.0), (a, 0.0), (a, b), (5.0, b)]
                };
                (shape(outline), turns.clone())
            })
            .collect();
        let plain = job(&parts, Shape::new(Outline::rectangle(Point::ORIGIN, 1000.0, 60.0), Vec::new()));
        prepared(with_sheets(&plain, |sheets| {
            sheets[0].open_length = Some(OpenLength { increment: 1.0, minimum: 1.0, price_per_length: 1.0 });
        }))
    }

    fn chain(task: &Task, settings: StripSettings) -> StripChain<'_> {
        StripChain::new(task, settings, SearchRng::new(1, 0)).expect("all parts fit")
    }

    #[test]
    fn polishing_shortens_a_copy_and_leaves_the_loose_layout_to_go_on_from() {
        let task = on_a_strip();
        let mut chain = chain(&task, StripSettings::default());
        let is_polishing = |phase: Phase| matches!(phase, Phase::Polish { .. });
        let (ground, mut best, mut gained) = (chain.ground.clone(), chain.best.length, 0);
        chain.start_polishing();
        for _ in 0..60_000 {
            gained += u32::from(chain.best.length < best);
            best = chain.best.length;
            assert_eq!(chain.ground, ground);
            if !is_polishing(chain.phase) {
                break;
            }
            // One sweep.
            chain.run(1, 0.1);
        }
        assert!(gained > 1, "{gained} gains");
        assert!(chain.is_polished && chain.phase == Phase::Explore);
        assert!(chain.shared_ground().is_some_and(|(_, ground)| best < ground && chain.length < ground));
        assert!(certified_length(&task, &chain) <= chain.best.length + 1e-6);
    }

    /// Length of the best layout once it has passed its certificate.
    fn certified_length(task: &Task, chain: &StripChain<'_>) -> f64 {
        let layout = crate::state::layout::layout(task, chain.best());
        dropwise_model::certify(&task.job, &layout).expect("what the search takes for free of overlap is");
        let mut working = Working::new(task, task.items());
        working.restore(chain.best());
        extent(&working)
    }

    #[test]
    fn parts_that_may_turn_freely_lie_square_for_a_while_and_lose_nothing_by_being_let_loose() {
        let task = on_a_strip_with(&Turns::Any);
        let mut chain = chain(&task, StripSettings { square_share: 0.5, ..StripSettings::default() });
        chain.run(50_000, 0.4);
        let turns = |chain: &StripChain<'_>| -> Vec<f64> {
            let places = (0..chain.working.item_count()).filter_map(|item| chain.working.place_of(item));
            places.map(|(_, pose)| pose.turn_deg).collect()
        };
        assert_eq!(turns(&chain), [0.0; 6], "the turns are those of the variants");
        let square = chain.best.clone();
        chain.free_turns();
        assert_ne!(chain.best.arrangement, square.arrangement);
        assert!((certified_length(&task, &chain) - square.length).abs() < 1e-9);
        chain.run(50_000, 0.6);
        assert!(turns(&chain).iter().any(|turn| turn % 90.0 != 0.0), "{:?}", turns(&chain));
        assert!(certified_length(&task, &chain) <= square.length + 1e-9);
    }

    #[test]
    fn what_is_stuck_is_spread_if_that_shortens_the_strip() {
        let task = on_a_strip();
        let mut chain = chain(&task, StripSettings::default());
        for _ in 0..60_000 {
            let before = chain.working.moves.of(MoveKind::Spread).taken;
            let ground = chain.ground.clone().expect("it comes down from the first layout");
            chain.run(1, 0.1);
            if chain.working.moves.of(MoveKind::Spread).taken > before {
                assert!(chain.ground.as_ref().is_some_and(|now| now.length < ground.length));
                assert!(certified_length(&task, &chain) <= chain.best.length + 1e-6);
                return;
            }
        }
        panic!("no layout of {:?} could be spread", chain.working.moves.of(MoveKind::Spread));
    }

    #[test]
    fn chains_go_on_from_the_shorter_ground_unless_they_have_a_way_of_their_own() {
        let task = on_a_strip();
        let settings = StripSettings::default();
        let mut ahead = chain(&task, settings);
        ahead.run(100_000, 0.1);
        let (ground, length) = ahead.shared_ground().map(|(ground, length)| (ground.clone(), length)).expect("shared");
        let mut behind = chain(&task, settings);
        assert!(behind.shared_ground().is_some_and(|(_, own)| own > length), "it came down by {length}");
        behind.come_down_to(&ground, length);
        assert_eq!(behind.shared_ground(), Some((&ground, length)));
        assert!(behind.length < length);
        let mut own = chain(&task, settings);
        own.start_afresh((0, 0.0));
        own.come_down_to(&ground, length);
        assert_eq!(own.ground, None);
    }

    #[test]
    fn a_descent_is_worn_out_by_half_its_way_without_a_gain_but_not_near_the_end() {
        let least = LEAST_DESCENT;
        let descent = Descent { began: (0, 0.0), gained: (4 * least, 0.2), is_own: false };
        assert!(!descent.is_worn_out((6 * least, 0.3), 0.8));
        assert!(descent.is_worn_out((6 * least + 1, 0.3), 0.8));
        // Another as long would not come to its end.
        assert!(!descent.is_worn_out((13 * least, 0.65), 0.8));
        // However quickly it came where it is, it has so much time.
        let quick = Descent::afresh((8 * least, 0.4));
        assert!(!quick.is_worn_out((9 * least, 0.45), 0.8));
        assert!(quick.is_worn_out((9 * least + 1, 0.45), 0.8));
    }
}
