//! The search for one class of stock: some chains, and the best that any of them found and that was certified.

use dropwise_model::{Job, Layout, Plan, Provenance, SheetUse, Unplaced, certify};
use rayon::prelude::*;

use crate::anneal::annealer::Schedule;
use crate::anneal::tidier::{MOST_ITEMS, Tidier};
use crate::exact::bound::{RisingBound, lower_bound};
use crate::exact::boxes::{Refill, safe_view};
use crate::exact::jigsaw::Jigsaw;
use crate::moves::rows::CROWD;
use crate::problem::task::Task;
use crate::random::SearchRng;
use crate::search::sheet_chain::{SheetChain, SheetSettings};
use crate::search::start::{Begun, begun};
use crate::search::strip::{StripChain, StripSettings};
use crate::settings::{HandWork, Settings};
use crate::state::hand_cuts::HandCuts;
use crate::state::layout::{layout, reason};
use crate::state::score::Score;
use crate::state::working::{Arrangement, Working};
use crate::statistics::MoveCounts;

#[derive(Debug)]
enum Chain<'t> {
    Sheets(Box<SheetChain<'t>>),
    Strip(Box<StripChain<'t>>),
}

impl Chain<'_> {
    fn best(&self) -> &Arrangement {
        match self {
            Self::Sheets(chain) => chain.best(),
            Self::Strip(chain) => chain.best(),
        }
    }

    fn best_score(&self) -> Score {
        match self {
            Self::Sheets(chain) => chain.best_score(),
            Self::Strip(chain) => chain.best_score(),
        }
    }

    /// Takes over an arrangement that was known before the search, if it is better than its own first.
    fn go_on_from(&mut self, begun: &Begun) {
        match self {
            Self::Sheets(chain) => chain.adopt(&begun.arrangement, begun.score),
            Self::Strip(chain) => {
                if let Some(length) = begun.strip_length {
                    chain.go_on_from(&begun.arrangement, length);
                }
            }
        }
    }

    fn adopt(&mut self, best: &Arrangement, score: Score) {
        match self {
            Self::Sheets(chain) => chain.adopt(best, score),
            Self::Strip(chain) => chain.adopt(best, score),
        }
    }

    /// Energy of the layout that its present try goes on from, and the temperature at which it was drawn, in the smallest
    /// coin.
    fn heat(&self) -> (f64, f64) {
        match self {
            Self::Sheets(chain) => chain.heat(),
            Self::Strip(chain) => {
                let ((length, temperature), rate) = (chain.heat(), chain.working.task().strip_rate());
                (rate * length, rate * temperature)
            }
        }
    }

    fn working(&self) -> &Working<'_> {
        match self {
            Self::Sheets(chain) => &chain.working,
            Self::Strip(chain) => &chain.working,
        }
    }

    /// Whether there was anything left to try.
    fn run(&mut self, evaluations: u64, progress: f64, is_cheapest: bool) -> bool {
        match self {
            Self::Sheets(chain) => chain.run(evaluations, progress, is_cheapest),
            Self::Strip(chain) => {
                if is_cheapest {
                    return false;
                }
                chain.run(evaluations, progress);
                true
            }
        }
    }
}

/// Rounds at the start that are the jigsaw's alone, where the job is one; from then on it has every other round.
const JIGSAW_ROUNDS: u64 = 200;
/// The same for strips, where it is given up after that.
const STRIP_JIGSAW_ROUNDS: u64 = 30;
/// Share of the search after which parts that are cut out by hand are laid for that.
const TIDY_FROM: f64 = 0.6;
const TIDY_STREAMS: u64 = 1 << 50;
/// Sets the jigsaws' streams of chance apart from the chains', and that of what is added to an earlier layout.
const JIGSAW_STREAMS: u64 = 1 << 48;
const START_STREAMS: u64 = 1 << 49;

/// The search for one class.
#[derive(Debug)]
pub(crate) struct ClassSearch<'t> {
    task: &'t Task,
    chains: Vec<Chain<'t>>,
    /// Beside each chain, as long as it may help, a search for a way to fill the sheets completely.
    jigsaws: Vec<Option<Jigsaw<'t>>>,
    rounds: u64,
    /// The best layout that was certified, in the indices of the task's job.
    certified: Layout,
    certified_score: Score,
    /// Least cost of a nest that places as many parts, in the smallest coin.
    bound: Option<i64>,
    /// Required items that fit somewhere, by part: what the bound is about.
    fitting: Vec<usize>,
    aids: Option<Box<Aids>>,
    seed: (u64, u64),
    hand_work: HandWork,
    tidying: Option<Tidying<'t>>,
    is_idle: bool,
    /// An earlier layout, which holds.
    start: Option<Layout>,
}

/// The last part of a search whose parts are cut out by hand.
#[derive(Debug)]
struct Tidying<'t> {
    tidiers: Vec<Tidier<'t>>,
    /// Share of the search that was done when it began.
    since: f64,
    /// Energy of the best that was certified.
    certified: f64,
}

/// What works beside the chains: the proof of a bound, and the search with boxes. Made in the first round, so that the
/// first plan does not wait for it.
#[derive(Debug, Default)]
struct Aids {
    bound: Option<RisingBound>,
    refill: Option<Refill>,
    /// Price of the best that the search with boxes has handed over.
    handed: f64,
}

impl Aids {
    fn new(task: &Task, fitting: &[usize], (seed, stream): (u64, u64), is_strip: bool) -> Self {
        // Of a crowd the proof and the search with boxes would take longer than the search itself.
        if is_strip || fitting.is_empty() || fitting.len() > CROWD {
            return Self::default();
        }
        let (bound, view) = rayon::join(|| RisingBound::new(task, fitting), || safe_view(task, fitting));
        let rng = SearchRng::new(seed, stream << 16 | 0xB0);
        Self { bound, refill: view.map(|view| Refill::new(view, rng)), handed: f64::INFINITY }
    }
}

/// Work on the proof in one round.
const PROOF_WORK: u64 = 20_000;
/// Work on boxes in one round while that search holds the best, while it is near it, and while it is far behind.
const BOX_WORK: [u64; 3] = [4_000_000, 1_000_000, 100_000];
/// Rounds in which the search with boxes may show what it can do before it counts as far behind.
const BOX_ROUNDS: u64 = 20;
/// From so many times the cost of the best on it is: parts that do not fill their boxes are better nested otherwise.
const BOX_BEHIND: f64 = 1.05;

impl<'t> ClassSearch<'t> {
    /// Lays out a first arrangement in every chain, and goes on from an earlier layout, if there is one and it is better.
    pub(crate) fn new(task: &'t Task, settings: &Settings, stream: u64, start: Option<Layout>) -> Self {
        let seed = settings.seed;
        let fitting: Vec<usize> = task
            .items()
            .into_iter()
            .filter(|&part| task.parts[part].is_required && task.fits_somewhere(part))
            .collect();
        let mut chains = start_chains(task, settings, stream, fitting.len() == task.items().len());
        if let Some(begun) = start.as_ref().and_then(|layout| {
            begun(task, layout, &sheet_orders(task)[0], SearchRng::new(seed, START_STREAMS | stream << 16))
        }) {
            chains.iter_mut().for_each(|chain| chain.go_on_from(&begun));
        }
        let is_strip = matches!(chains.first(), Some(Chain::Strip(_)));
        let is_crowd = task.items().len() > CROWD;
        let jigsaws = (0..chains.len() as u64)
            .into_par_iter()
            .map(|index| {
                // A strip with parts that fit at no length, or with fillers, is not searched as a strip.
                let may_be = is_strip || !task.is_strip();
                let rng = SearchRng::new(seed, JIGSAW_STREAMS | stream << 16 | index);
                (may_be && !is_crowd).then(|| Jigsaw::new(task, rng)).flatten()
            })
            .collect();
        let start = start.map(|mut layout| {
            layout.unplaced.iter_mut().for_each(|unplaced| unplaced.reason = reason(task, unplaced.part));
            layout
        });
        let nothing = Score { missing: f64::INFINITY, cost: 0.0, unfilled: f64::INFINITY, untidiness: 0.0 };
        let mut search = Self {
            task,
            certified: layout(task, &Arrangement { bins: Vec::new(), places: vec![None; task.items().len()] }),
            certified_score: nothing,
            chains,
            jigsaws,
            rounds: 0,
            bound: lower_bound(task, &fitting),
            fitting,
            aids: None,
            seed: (seed, stream),
            hand_work: settings.hand_work,
            tidying: None,
            is_idle: false,
            start,
        };
        search.meet();
        search
    }

    /// What each chain searches for, in a word.
    #[cfg(feature = "internals")]
    pub(crate) fn kinds(&self) -> Vec<&'static str> {
        let kind = |chain: &Chain<'t>| if matches!(chain, Chain::Strip(_)) { "strip" } else { "sheets" };
        self.chains.iter().map(kind).collect()
    }

    /// Whether nothing is left to try.
    pub(crate) fn is_idle(&self) -> bool {
        self.is_idle
    }

    /// Whether no cheaper nest can exist.
    fn is_cheapest(&self) -> bool {
        let score = self.certified_score;
        score.missing == 0.0 && self.bound.is_some_and(|bound| score.cost < bound as f64 + 0.5)
    }

    /// Lets every chain work for so many evaluations, then lets them meet.
    pub(crate) fn round(&mut self, evaluations: u64, progress: f64) {
        if self.tidying.is_some() || (progress >= TIDY_FROM && self.may_tidy()) {
            self.tidy(evaluations, progress);
            return;
        }
        let is_cheapest = self.is_cheapest();
        let is_solved = self.jigsaws.iter().flatten().any(|jigsaw| jigsaw.is_solved);
        if is_cheapest && is_solved {
            // Full to the last corner at the least price: neither a cheaper set nor a leftover is to be had.
            self.is_idle = !self.may_tidy();
            self.start_tidying(progress);
            return;
        }
        let is_strip = matches!(self.chains.first(), Some(Chain::Strip(_)));
        // Any strip might be filled without waste, and few can.
        let is_given_up = is_strip && self.rounds >= STRIP_JIGSAW_ROUNDS;
        if is_cheapest || is_solved || is_given_up {
            self.jigsaws.fill_with(|| None);
        }
        self.rounds += 1;
        let is_jigsaws_turn = self.rounds <= JIGSAW_ROUNDS || self.rounds.is_multiple_of(2);
        let work = |(chain, jigsaw): (&mut Chain<'t>, &mut Option<Jigsaw<'t>>)| match jigsaw {
            Some(search) if is_jigsaws_turn => {
                if let Some((found, score)) = search.run(evaluations) {
                    chain.adopt(&found, score);
                    search.is_solved = true;
                }
                true
            }
            _ => chain.run(evaluations, progress, is_cheapest) || jigsaw.is_some(),
        };
        let mut aids = match self.aids.take() {
            Some(aids) => aids,
            None => Box::new(Aids::new(self.task, &self.fitting, self.seed, is_strip)),
        };
        let (bound, refill) = (&mut aids.bound, &mut aids.refill);
        let box_work = match refill.as_ref().map_or(f64::INFINITY, Refill::best_cost) {
            cost if cost < self.certified_score.cost + 0.5 => BOX_WORK[0],
            cost if cost > BOX_BEHIND * self.certified_score.cost && self.rounds > BOX_ROUNDS => BOX_WORK[2],
            _ => BOX_WORK[1],
        };
        let (chains, jigsaws) = (&mut self.chains, &mut self.jigsaws);
        let (busy, ()) = rayon::join(
            || -> Vec<bool> { chains.par_iter_mut().zip(jigsaws).map(work).collect() },
            || {
                if is_cheapest {
                    return;
                }
                rayon::join(
                    || bound.iter_mut().for_each(|bound| bound.run(PROOF_WORK)),
                    || refill.iter_mut().for_each(|refill| refill.run(box_work)),
                );
            },
        );
        if let Some(bound) = &mut aids.bound {
            self.bound = self.bound.max(Some(bound.value()));
            if let Some(refill) = &mut aids.refill {
                bound.advise(refill);
            }
        }
        let is_refill_busy = aids.refill.as_ref().is_some_and(|refill| !refill.is_exhausted()) && !is_cheapest;
        self.is_idle = busy.iter().all(|busy| !busy) && !is_refill_busy;
        self.aids = Some(aids);
        self.take_refilled();
        self.meet();
        if self.is_idle && self.may_tidy() {
            self.is_idle = false;
            self.start_tidying(progress);
        }
    }

    /// Whether cutting costs work that the way in which parts lie can save.
    fn may_tidy(&self) -> bool {
        let is_sheets = self.chains.iter().all(|chain| matches!(chain, Chain::Sheets(_)));
        self.hand_work.is_any() && is_sheets && self.task.items().len() <= MOST_ITEMS
    }

    fn start_tidying(&mut self, progress: f64) {
        if !self.may_tidy() {
            return;
        }
        let best = self.chains.iter().reduce(
            |best, chain| {
                if chain.best_score().beats(&best.best_score()) { chain } else { best }
            },
        );
        let Some(start) = best.map(|chain| chain.best().clone()) else { return };
        let cuts = HandCuts::new(self.task, self.hand_work);
        let (seed, stream) = self.seed;
        let tidier = |index: u64| {
            let rng = SearchRng::new(seed, TIDY_STREAMS | stream << 16 | index);
            Tidier::new(self.task, cuts.clone(), &start, rng)
        };
        let tidiers: Vec<Tidier<'t>> = (0..self.chains.len() as u64).map(tidier).collect();
        self.tidying = Some(Tidying { tidiers, since: progress, certified: f64::INFINITY });
    }

    /// Lets every tidier work, and keeps the best that passes the proof.
    fn tidy(&mut self, evaluations: u64, progress: f64) {
        if self.tidying.is_none() {
            self.start_tidying(progress);
        }
        let Some(tidying) = &mut self.tidying else { return };
        let share = (progress - tidying.since) / (1.0 - tidying.since).max(f64::MIN_POSITIVE);
        let busy: Vec<bool> = tidying.tidiers.par_iter_mut().map(|tidier| tidier.run(evaluations, share)).collect();
        self.is_idle = busy.iter().all(|busy| !busy);
        let best = tidying.tidiers.iter().map(Tidier::best).min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((found, energy)) = best.map(|(found, energy)| (found.clone(), energy)) else { return };
        if energy >= tidying.certified {
            return;
        }
        let candidate = layout(self.task, &found);
        let is_valid = certify(&self.task.job, &candidate).is_ok();
        debug_assert!(is_valid, "tidying took an invalid nest for valid");
        if is_valid {
            self.certified = candidate;
            tidying.certified = energy;
            for tidier in tidying.tidiers.iter_mut().filter(|tidier| tidier.best().1 > energy) {
                tidier.adopt(&found, energy);
            }
        }
    }

    /// Hands what the search with boxes found to the chains, if it is better than what they have.
    fn take_refilled(&mut self) {
        let Some(aids) = &mut self.aids else { return };
        let Some(refill) = &aids.refill else { return };
        if refill.best_cost() >= aids.handed - 1e-6 {
            return;
        }
        aids.handed = refill.best_cost();
        let arrangement = refill.arrangement(self.task);
        let mut working = Working::new(self.task, self.task.items());
        working.restore(&arrangement);
        let score = Score::of(&working);
        // Only a nest that passes counts: boxes know less of sheets than a certificate does.
        if self.chains.iter().any(|chain| score.beats(&chain.best_score()))
            && certify(&self.task.job, &layout(self.task, &arrangement)).is_ok()
        {
            for chain in &mut self.chains {
                chain.adopt(&arrangement, score);
            }
        }
    }

    /// Chains of a strip that come down by the same way go on from the shortest layout of them all.
    fn come_down_together(&mut self) {
        let shared = |chain: &Chain<'t>| match chain {
            Chain::Strip(chain) => chain.shared_ground().map(|(_, length)| length),
            Chain::Sheets(_) => None,
        };
        let lengths = self.chains.iter().enumerate().filter_map(|(index, chain)| Some((index, shared(chain)?)));
        let Some((shortest, _)) = lengths.min_by(|a, b| a.1.total_cmp(&b.1)) else { return };
        let Chain::Strip(leader) = &self.chains[shortest] else { return };
        let Some((ground, length)) = leader.shared_ground() else { return };
        let ground = ground.clone();
        for chain in &mut self.chains {
            if let Chain::Strip(chain) = chain {
                chain.come_down_to(&ground, length);
            }
        }
    }

    /// The best of all chains, ties to the first, is certified and handed to the others.
    fn meet(&mut self) {
        self.come_down_together();
        let Some(first) = self.chains.first() else { return };
        let (mut winner, mut score) = (0, first.best_score());
        for (index, chain) in self.chains.iter().enumerate().skip(1) {
            if chain.best_score().beats(&score) {
                (winner, score) = (index, chain.best_score());
            }
        }
        if !score.beats(&self.certified_score) {
            return;
        }
        let arrangement = self.chains[winner].best().clone();
        let candidate = layout(self.task, &arrangement);
        let certificate = certify(&self.task.job, &candidate);
        debug_assert!(certificate.is_ok(), "the search took an invalid nest for valid: {certificate:?}");
        if certificate.is_ok() {
            self.certified = candidate;
            self.certified_score = score;
        }
        for (index, chain) in self.chains.iter_mut().enumerate() {
            if index != winner {
                chain.adopt(&arrangement, score);
            }
        }
    }

    /// The best certified layout, and the least that a nest of what it places could cost.
    ///
    /// Among the chains' last words the true figures decide, which the search only estimates. Parts that lie almost
    /// straight are laid straight where they have the room.
    pub(crate) fn into_best(self) -> (Layout, Option<i64>) {
        let task = self.task;
        let mut candidates = vec![self.certified];
        candidates.extend(self.start);
        // Figures of a crowd take long, and what is asked for late gains little. What was laid for hands stays as it is.
        let is_tidied = self.tidying.is_some();
        let is_final = task.items().len() > CROWD || is_tidied;
        for chain in self.chains.iter().filter(|_| !is_final) {
            let mut working = Working::new(task, task.items());
            working.restore(chain.best());
            candidates.push(layout(task, chain.best()));
            if working.straighten() {
                candidates.push(layout(task, &working.arrangement()));
            }
        }
        let first = candidates[0].clone();
        // Figures cost far more than a comparison, and chains mostly end with the same layout.
        let mut distinct: Vec<Layout> = Vec::new();
        for candidate in candidates {
            if !distinct.contains(&candidate) {
                distinct.push(candidate);
            }
        }
        let is_alone = distinct.len() == 1;
        let ranked: Vec<_> = distinct
            .into_par_iter()
            .filter(|_| !is_alone)
            .filter_map(|candidate| {
                let plan = Plan::new(&task.job, candidate, Provenance::default()).ok()?;
                Some((rank(&task.job, &plan, is_tidied), plan.layout().clone()))
            })
            .collect();
        // Later candidates win ties: what was straightened is as good and easier to cut. So is what was tidied, which comes first.
        let ranked = if is_tidied { ranked.into_iter().rev().collect() } else { ranked };
        let best = ranked.into_iter().reduce(|best, next| if next.0 <= best.0 { next } else { best });
        let best = best.map_or(first, |(_, layout)| layout);
        let placed: Vec<usize> = best
            .sheets
            .iter()
            .flat_map(|used| used.placements.iter().map(|placement| placement.part))
            .filter(|&part| task.parts[part].is_required)
            .collect();
        let is_all = placed.len() == self.fitting.len();
        let bound = if is_all { self.bound } else { lower_bound(task, &placed) };
        (best, bound)
    }

    /// The best layout so far, certified.
    pub(crate) fn certified(&self) -> &Layout {
        &self.certified
    }

    /// Price of the sheets in the best layout less the estimated worth of their leftovers.
    pub(crate) fn cost(&self) -> f64 {
        self.certified_score.cost
    }

    /// Net area placed and gross area used by the best layout, mm².
    pub(crate) fn areas(&self) -> (f64, f64) {
        let job = &self.task.job;
        let net = |used: &SheetUse| -> f64 { used.placements.iter().map(|p| self.task.parts[p.part].area).sum() };
        let gross = |used: &SheetUse| -> f64 {
            let sheet = &job.sheets()[used.sheet];
            used.length.map_or(self.task.sheets[used.sheet].area, |length| length * sheet.shape.bounds().height())
        };
        (self.certified.sheets.iter().map(net).sum(), self.certified.sheets.iter().map(gross).sum())
    }

    /// Required parts that lie nowhere in the best layout.
    pub(crate) fn missing(&self) -> u32 {
        let required = |unplaced: &&Unplaced| self.task.parts[unplaced.part].is_required;
        self.certified.unplaced.iter().filter(required).map(|unplaced| unplaced.count).sum()
    }

    /// Moves so far, of all chains.
    pub(crate) fn moves(&self) -> MoveCounts {
        let mut sum = MoveCounts::default();
        for chain in &self.chains {
            sum += chain.working().moves;
        }
        sum
    }

    /// Energy of the layout that the first chain's try goes on from, and the temperature at which it was drawn, in the
    /// smallest coin.
    pub(crate) fn heat(&self) -> (f64, f64) {
        self.chains.first().map_or((0.0, 0.0), Chain::heat)
    }

    /// How much overlaps in what the first chain works on, mm².
    pub(crate) fn overlap(&self) -> f64 {
        self.chains.first().map_or(0.0, |chain| chain.working().total_loss())
    }

    /// Placements evaluated so far by all chains.
    pub(crate) fn evaluations(&self) -> u64 {
        let jigsaws = self.jigsaws.iter().flatten().map(|jigsaw| jigsaw.tests).sum::<u64>();
        let tidied = self.tidying.iter().flat_map(|tidying| &tidying.tidiers).map(Tidier::evaluations).sum::<u64>();
        self.chains.iter().map(|chain| chain.working().evaluations).sum::<u64>() + jigsaws + tidied
    }
}

impl StripChain<'_> {
    fn best_score(&self) -> Score {
        Score::of_strip(self.working.task(), self.best_length())
    }
}

/// The chains. Of stock sold by length those that find one length for everything go on; where none does, or there is other
/// stock, sets of sheets are searched. `fit_all` says that every item is required and fits somewhere.
fn start_chains<'t>(task: &'t Task, settings: &Settings, stream: u64, fit_all: bool) -> Vec<Chain<'t>> {
    let by_default = SheetSettings::default();
    // With no leftovers to see to, sheets are chosen to the end.
    let choose_share = if settings.with_leftovers { by_default.choose_share } else { 1.0 };
    let sheet_settings = SheetSettings {
        schedule: Schedule::of(settings.annealing),
        choose_share,
        with_leftovers: settings.with_leftovers,
        ..by_default
    };
    // A crowd takes much memory and little chance: one chain does.
    let is_crowd = task.items().len() > CROWD;
    let count = if is_crowd { 1 } else { settings.chains.max(1) };
    let stream_of = |index: u32| SearchRng::new(settings.seed, stream << 16 | u64::from(index));
    if task.is_strip() && fit_all {
        let start = |index: u32| {
            let own = StripSettings {
                schedule: Schedule::of(settings.annealing),
                is_restless: index % 2 == 1,
                ..StripSettings::default()
            };
            StripChain::new(task, own, stream_of(index))
        };
        let (mut found, mut cut_short) = (Vec::new(), None);
        for chain in (0..count).into_par_iter().map(start).collect::<Vec<_>>() {
            match chain {
                Ok(chain) => found.push(Chain::Strip(Box::new(chain))),
                Err(laid) => cut_short = Some(laid),
            }
        }
        if !found.is_empty() {
            return found;
        }
        if let Some(laid) = cut_short.filter(|_| task.is_late()) {
            return vec![Chain::Sheets(Box::new(SheetChain::from_layout(*laid, sheet_settings, stream_of(0))))];
        }
    }
    let orders = sheet_orders(task);
    let start = |index: u32| {
        // Each chain lays out by some of the orders, and all meet before the first plan is shown.
        let own = orders.iter().skip(index as usize % orders.len()).step_by(count as usize);
        let own: Vec<Vec<usize>> = own.cloned().collect();
        let own = if is_crowd { &own[..1] } else { &own };
        Chain::Sheets(Box::new(SheetChain::new(task, task.items(), own, sheet_settings, stream_of(index))))
    };
    (0..count).into_par_iter().map(start).collect()
}

/// How a certified plan compares with another of the same class: less is better. Of what was tidied the rest was weighed against
/// the work, and counts no more.
fn rank(job: &Job, plan: &Plan, is_tidied: bool) -> (u64, i64, u64, i64) {
    let missing = |required: bool| -> u64 {
        let of_need = |u: &&Unplaced| job.is_required(u.part) == required;
        plan.layout().unplaced.iter().filter(of_need).map(|u| u64::from(u.count)).sum()
    };
    let largest = plan
        .figures()
        .sheets
        .iter()
        .flat_map(|sheet| &sheet.leftovers)
        .map(|leftover| (leftover.largest_rectangle.0 * leftover.largest_rectangle.1) as i64)
        .max()
        .filter(|_| !is_tidied)
        .unwrap_or(0);
    (missing(true), plan.figures().material_cost.coins(), missing(false), -largest)
}

/// Orders in which sheets are opened for a first layout: the cheapest area first, the smallest price first, the largest
/// room first.
fn sheet_orders(task: &Task) -> Vec<Vec<usize>> {
    let sheets: Vec<usize> = (0..task.sheets.len()).collect();
    let price = |s: usize| match task.sheets[s].price_per_length {
        Some(rate) => rate / task.container(s).bounds.height().max(f64::MIN_POSITIVE) * task.container(s).area,
        None => task.sheets[s].price - task.sheets[s].leftover_worth * task.sheets[s].area,
    };
    let area = |s: usize| task.container(s).area;
    let sorted = |key: &dyn Fn(usize) -> f64| {
        let mut order = sheets.clone();
        order.sort_by(|&a, &b| key(a).total_cmp(&key(b)).then(a.cmp(&b)));
        order
    };
    vec![sorted(&|s| price(s) / area(s).max(f64::MIN_POSITIVE)), sorted(&price), sorted(&|s| -area(s))]
}
