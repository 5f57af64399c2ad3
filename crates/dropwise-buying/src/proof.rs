//! Tries whether sets hold their class, by nesting.

use std::ops::ControlFlow;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use dropwise_model::{Job, JobError, Money, PlanError, SheetUse};
use dropwise_nest::{NestError, nest};
use thiserror::Error;

use crate::items::View;
use crate::sets::{ALL, Set};
use crate::{Progress, Settings};

/// Why nothing was decided.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum BuyingError {
    /// A nest failed, by a fault of the nester or of the system.
    #[error("a set of sheets could not be tried")]
    Nest(#[from] NestError),
    /// A part of the market made no job, by a fault of ours.
    #[error("a set of sheets made no job")]
    Job(#[from] JobError),
    /// What was put together of certified plans is not valid as a whole, by a fault of ours.
    #[error("the plan of a choice cannot be proved")]
    NotProved(#[source] PlanError),
}

/// What a try came to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Attempt {
    /// Where parts lie, by the indices of the job.
    pub(crate) uses: Vec<SheetUse>,
    /// Prices of all sheets, that of `free` left out, less what their rests are worth.
    pub(crate) metal: Money,
    /// Pieces that found no room.
    pub(crate) missing: u32,
    /// Whether time ran out.
    pub(crate) is_cut_short: bool,
}

/// Tries a set: with the rack, does it hold all parts of a class?
pub(crate) trait Prover {
    /// `free`, one of the set, counts at a price of zero.
    fn attempt(
        &mut self,
        view: &View<'_>,
        class: usize,
        set: &Set,
        free: Option<usize>,
        rounds: u64,
    ) -> Result<Attempt, BuyingError>;

    /// Tries sets that do not hang on each other, with one chain each: a first look at many.
    fn attempt_each(
        &mut self,
        view: &View<'_>,
        sets: &[(usize, Set)],
        rounds: u64,
    ) -> Result<Vec<Attempt>, BuyingError> {
        sets.iter().map(|(class, set)| self.attempt(view, *class, set, None, rounds)).collect()
    }

    /// Lets the time be used up to this share of it.
    fn allow(&mut self, share: f64);

    /// Time that tries have taken so far.
    fn spent(&self) -> Duration;

    /// Whether to stop: time is up, or the user wants it. The arguments are what the user is told.
    fn is_over(&mut self, tries: usize, best: Option<Money>, lower_bound: Option<Money>) -> bool;
}

/// Proves by nesting.
pub(crate) struct NestProver<'s, F> {
    settings: &'s Settings,
    start: Instant,
    is_stopped: bool,
    /// Share of the time that may be used up by now.
    share: f64,
    spent: Duration,
    progress: Progress,
    observer: F,
}

impl<'s, F: FnMut(&Progress) -> ControlFlow<()> + Send> NestProver<'s, F> {
    /// `observer` is asked before each try and after each round of it.
    pub(crate) fn new(settings: &'s Settings, observer: F) -> Self {
        let progress = Progress { tries: 0, best: None, lower_bound: None, elapsed: Duration::ZERO };
        Self {
            settings,
            start: Instant::now(),
            is_stopped: false,
            share: 1.0,
            spent: Duration::ZERO,
            progress,
            observer,
        }
    }

    fn check(&mut self) -> bool {
        self.progress.elapsed = self.start.elapsed();
        self.is_stopped |= (self.observer)(&self.progress).is_break();
        let is_late = |limit: Duration| self.progress.elapsed >= limit.mul_f64(self.share);
        self.is_stopped || self.settings.time_limit.is_some_and(is_late)
    }
}

/// Rounds without a cheaper plan after which a set that holds everything is left alone.
const PATIENCE: u64 = 3;

impl<F: FnMut(&Progress) -> ControlFlow<()> + Send> Prover for NestProver<'_, F> {
    fn attempt(
        &mut self,
        view: &View<'_>,
        class: usize,
        set: &Set,
        free: Option<usize>,
        rounds: u64,
    ) -> Result<Attempt, BuyingError> {
        let begin = Instant::now();
        let (chains, threads) = (self.settings.chains, self.settings.threads);
        let settings = nest_settings(self.settings, rounds, chains, threads);
        let attempt = try_set(view, &settings, class, set, free, || self.check());
        self.spent += begin.elapsed();
        attempt
    }

    fn attempt_each(
        &mut self,
        view: &View<'_>,
        sets: &[(usize, Set)],
        rounds: u64,
    ) -> Result<Vec<Attempt>, BuyingError> {
        let begin = Instant::now();
        let settings = nest_settings(self.settings, rounds, 1, 1);
        let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let threads = if self.settings.threads == 0 { cores() } else { self.settings.threads };
        let (next, prover) = (AtomicUsize::new(0), Mutex::new(&mut *self));
        let check = || prover.lock().map_or(true, |mut prover| prover.check());
        let work = || {
            let mut done = Vec::new();
            while let Some((index, (class, set))) = {
                let index = next.fetch_add(1, Ordering::Relaxed);
                sets.get(index).map(|one| (index, one))
            } {
                done.push((index, try_set(view, &settings, *class, set, None, check)));
            }
            done
        };
        let mut done: Vec<_> = std::thread::scope(|scope| {
            let workers: Vec<_> = (1..threads.min(sets.len())).map(|_| scope.spawn(work)).collect();
            let mut done = work();
            for worker in workers {
                done.extend(worker.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
            }
            done
        });
        self.spent += begin.elapsed();
        done.sort_by_key(|(index, _)| *index);
        done.into_iter().map(|(_, attempt)| attempt).collect()
    }

    fn allow(&mut self, share: f64) {
        self.share = share;
    }

    fn spent(&self) -> Duration {
        self.spent
    }

    fn is_over(&mut self, tries: usize, best: Option<Money>, lower_bound: Option<Money>) -> bool {
        self.progress = Progress { tries, best, lower_bound, ..self.progress };
        self.check()
    }
}

fn nest_settings(settings: &Settings, rounds: u64, chains: u32, threads: usize) -> dropwise_nest::Settings {
    dropwise_nest::Settings {
        seed: settings.seed,
        time_limit: None,
        rounds: Some(rounds),
        chains,
        threads,
        stop: settings.stop.clone(),
        ..dropwise_nest::Settings::default()
    }
}

/// Nests a class on the rack and a set. `is_over` is asked after each round.
fn try_set(
    view: &View<'_>,
    settings: &dropwise_nest::Settings,
    class: usize,
    set: &Set,
    free: Option<usize>,
    mut is_over: impl FnMut() -> bool + Send,
) -> Result<Attempt, BuyingError> {
    let job = view.market.job();
    let class = &view.classes[class];
    let parts = class.parts.iter().map(|&part| job.parts()[part].clone()).collect();
    let mut indices = class.rack.clone();
    let mut sheets: Vec<_> = class.rack.iter().map(|&sheet| job.sheets()[sheet].clone()).collect();
    for &(sheet, count) in set {
        let mut model = job.sheets()[sheet].clone();
        if count != ALL {
            model.quantity = Some(count);
        }
        if free == Some(sheet) {
            model.price = Money::ZERO;
        }
        indices.push(sheet);
        sheets.push(model);
    }
    let class_job = Job::new(parts, sheets, *job.clearances(), *job.leftover_rule())?;
    let (mut least, mut since, mut is_cut_short) = (f64::INFINITY, 0, false);
    let plan = nest(&class_job, settings, |progress| {
        if progress.missing == 0 {
            // Half a coin less is no less.
            if progress.cost < least - 0.5 {
                (least, since) = (progress.cost, progress.rounds);
            } else if progress.rounds >= since + PATIENCE {
                return ControlFlow::Break(());
            }
        }
        is_cut_short = is_over();
        if is_cut_short { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    })?;
    // It may have come between the last question and the end of the round.
    is_cut_short |= settings.stop.is_set();
    let mut uses = plan.layout().sheets.clone();
    for used in &mut uses {
        used.sheet = indices[used.sheet];
        for placement in &mut used.placements {
            placement.part = class.parts[placement.part];
        }
    }
    let missing = plan.layout().unplaced.iter().map(|unplaced| unplaced.count).sum();
    Ok(Attempt { uses, metal: plan.figures().material_cost, missing, is_cut_short })
}
