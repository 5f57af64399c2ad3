//! The whole search: classes side by side, rounds, and the end.

use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use dropwise_geometry::BooleanError;
use dropwise_model::{Instructions, Job, Layout, Plan, PlanError, Provenance};
use thiserror::Error;

use crate::clock::Clock;
use crate::exact::bound::lower_bound;
use crate::problem::task::Task;
use crate::search::asked::Asked;
use crate::search::class_search::ClassSearch;
use crate::search::sieve::{ClassJob, class_jobs};
use crate::settings::{Progress, Settings};
use crate::statistics::MoveCounts;

/// Why there is no plan.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum NestError {
    /// The threads could not be started.
    #[error("cannot start the threads of the search")]
    Threads(#[source] rayon::ThreadPoolBuildError),
    /// More pieces, all copies counted, than one search holds in memory.
    #[error("{pieces} pieces are too many for one nest; the most are {most}")]
    TooManyPieces {
        /// All copies of all parts.
        pieces: u64,
        /// The most that are nested at once.
        most: u64,
    },
    /// What was found did not pass its proof: a fault in the nester.
    #[error("the nest found for the job cannot be proved")]
    NotProved(#[source] PlanError),
    /// The room on a sheet or the outline of a part with its clearance could not be worked out.
    #[error("the shapes of the job cannot be prepared for nesting")]
    Geometry(#[source] BooleanError),
}

/// Most pieces, all copies counted: of more the proof and the leftovers would take longer than the second that a search may
/// outlast its time.
const MOST_PIECES: u64 = 30_000;

/// What proof and figures take of a core for each piece, and for each kind of part, whose cuts are worked out once. Measured by
/// `crowds` on a common machine. A search of limited time ends so much sooner: of a shop's job some milliseconds, of the
/// largest that are taken most of a second.
const FINISHING_A_PIECE: Duration = Duration::from_micros(27);
const FINISHING_A_KIND: Duration = Duration::from_micros(200);
/// The search keeps at least this share of its time.
const LEAST_SEARCH: f64 = 0.5;

/// Evaluations of a placement by each chain between two meetings: some tens of milliseconds, so that a time limit and an
/// interrupt are met soon, yet long enough that meeting costs nothing.
const ROUND_EVALUATIONS: u64 = 40_000;

/// Nests a job's parts onto its sheets.
///
/// All required parts are placed if the search can; among such plans the cheapest wins, and among equally cheap ones the
/// one with the better leftovers. Fillers go where sheets that are cut anyway have room. What was not placed is listed
/// in the plan with a reason.
///
/// `observer` is called after every round, and once before the first; when it returns [`ControlFlow::Break`] the search
/// ends with the best plan so far. The same job, seed, rounds and chains give the same plan on any number of threads,
/// unless the observer, a [`crate::Stop`] or the time limit ended the run.
///
/// # Errors
/// [`NestError::Threads`] when the system gives no threads; [`NestError::TooManyPieces`] beyond thirty thousand;
/// [`NestError::NotProved`] when, by a fault in the nester, the best nest is not valid; [`NestError::Geometry`] when a
/// boolean operation cannot be trusted. A job that cannot be nested is no error: its parts are listed as unplaced.
///
/// # Examples
/// ```
/// # use dropwise_geometry::{Outline, Point, Shape};
/// # use dropwise_model::*;
/// use dropwise_nest::{Settings, nest};
/// # let class = StockClass::new("3 mm");
/// # let rectangle = |w, h| Shape::new(Outline::rectangle(Point::ORIGIN, w, h), Vec::new());
/// # let part = Part { name: "plate".into(), shape: rectangle(40.0, 30.0), quantity: 4, class: class.clone(),
/// #     turns: Turns::Any, may_flip: true, need: Need::Required };
/// # let sheet = Sheet { name: "drop".into(), shape: rectangle(100.0, 80.0), damage: vec![], class, quantity: Some(1),
/// #     price: Money::from_coins(900), grain_deg: None, location: String::new(), open_length: None,
/// #     leftover_worth: 0.0, scrap_worth: 0.0, weight: 2.4e-5 };
/// # let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
/// let job = Job::new(vec![part], vec![sheet], Clearances::new(1.0, 2.0, 3.0)?, rule)?;
/// let plan = nest(&job, &Settings { rounds: Some(20), ..Settings::default() }, |_| std::ops::ControlFlow::Continue(()))?;
/// assert!(plan.layout().unplaced.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn nest(
    job: &Job,
    settings: &Settings,
    mut observer: impl FnMut(&Progress) -> ControlFlow<()> + Send,
) -> Result<Plan, NestError> {
    nest_shown(job, settings, |progress, _| observer(progress))
}

/// Nests as [`nest`] does, for whoever wants to see the best plan so far after any round, not at the end alone.
///
/// Looking changes nothing of what is found.
///
/// # Errors
/// As [`nest`].
///
/// # Examples
/// ```
/// # use dropwise_geometry::{Outline, Point, Shape};
/// # use dropwise_model::*;
/// use dropwise_nest::{Settings, nest_shown};
/// # let class = StockClass::new("3 mm");
/// # let rectangle = |w, h| Shape::new(Outline::rectangle(Point::ORIGIN, w, h), Vec::new());
/// # let part = Part::new("plate", rectangle(40.0, 30.0), class.clone());
/// # let sheet = Sheet::new("drop", rectangle(100.0, 80.0), class);
/// # let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
/// # let job = Job::new(vec![part], vec![sheet], Clearances::new(1.0, 2.0, 3.0)?, rule)?;
/// let mut seen = None;
/// let plan = nest_shown(&job, &Settings { rounds: Some(2), ..Settings::default() }, |_, best| {
///     seen = best.plan().ok();
///     std::ops::ControlFlow::Continue(())
/// })?;
/// assert_eq!(seen.map(|seen| seen.layout().sheets.len()), Some(plan.layout().sheets.len()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn nest_shown(
    job: &Job,
    settings: &Settings,
    mut observer: impl FnMut(&Progress, &BestSoFar<'_>) -> ControlFlow<()> + Send,
) -> Result<Plan, NestError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(settings.threads).build().map_err(NestError::Threads)?;
    pool.install(|| nest_here(job, settings, &mut observer))
}

/// What a search has found by the end of a round.
#[derive(Debug)]
pub struct BestSoFar<'s> {
    job: &'s Job,
    asked: &'s Asked<'s>,
    class_jobs: &'s [ClassJob],
    searches: &'s [ClassSearch<'s>],
    provenance: Provenance,
}

impl BestSoFar<'_> {
    /// The best plan so far, proved. It costs as much as proof and figures do: some milliseconds for a shop's job.
    ///
    /// # Errors
    /// [`NestError::NotProved`], by a fault in the nester.
    pub fn plan(&self) -> Result<Plan, NestError> {
        let layouts = self.searches.iter().map(|search| search.certified().clone()).collect();
        let layout = self.asked.whole(merged(self.class_jobs, layouts));
        Plan::new(self.job, layout, self.provenance.clone()).map_err(NestError::NotProved)
    }
}

fn nest_here(
    job: &Job,
    settings: &Settings,
    observer: &mut (impl FnMut(&Progress, &BestSoFar<'_>) -> ControlFlow<()> + Send),
) -> Result<Plan, NestError> {
    let start = Instant::now();
    let pieces: u64 = job.parts().iter().map(|part| u64::from(part.quantity)).sum();
    if pieces > MOST_PIECES {
        return Err(NestError::TooManyPieces { pieces, most: MOST_PIECES });
    }
    let search_time = settings.time_limit.map(|limit| search_time(limit, pieces as u32, job.parts().len() as u32));
    let clock = Clock::new(search_time.and_then(|time| start.checked_add(time)), settings.stop.clone());
    let start_layout = settings.start.as_ref().map(|start| start.layout.as_far_as_it_holds(job).0);
    let asked = Asked::new(job);
    let start_layout = start_layout.map(|layout| asked.for_search(&layout));
    let mut class_jobs = class_jobs(&asked.job, start_layout.as_ref());
    let tasks: Vec<Task> = class_jobs.iter_mut().map(|class| class.task(&clock)).collect();
    let mut searches: Vec<ClassSearch<'_>> = Vec::with_capacity(tasks.len());
    for (index, (task, class)) in tasks.iter().zip(&class_jobs).enumerate() {
        let share = start_layout.as_ref().map(|layout| class.share_of(layout));
        searches.push(ClassSearch::new(task, settings, index as u64, share));
    }
    let mut rounds = 0_u64;
    loop {
        if let Some(fault) = tasks.iter().find_map(Task::fault) {
            return Err(NestError::Geometry(fault));
        }
        let elapsed = start.elapsed();
        let by_time = search_time.map(|limit| elapsed.as_secs_f64() / limit.as_secs_f64().max(1e-9));
        let by_rounds = settings.rounds.map(|limit| if limit == 0 { 1.0 } else { rounds as f64 / limit as f64 });
        // A run that is to be repeatable must not let the clock into its schedule.
        let fraction = by_rounds.or(by_time).unwrap_or(0.0).min(1.0);
        let (net, gross) =
            searches.iter().map(|s| s.areas()).fold((0.0, 0.0), |sum, areas| (sum.0 + areas.0, sum.1 + areas.1));
        let progress = Progress {
            rounds,
            fraction,
            elapsed,
            cost: asked.sunk()
                + class_jobs.iter().zip(&searches).map(|(class, s)| s.cost() - extra(&asked, class, s)).sum::<f64>(),
            yield_ratio: if gross > 0.0 { net / gross } else { 0.0 },
            missing: searches.iter().map(|s| s.missing()).sum(),
            evaluations: searches.iter().map(|s| s.evaluations()).sum(),
            overlap: searches.iter().map(|s| s.overlap()).sum(),
            temperature: searches.iter().map(|s| s.heat().1).fold(0.0, f64::max),
            energy: searches.iter().map(|s| s.heat().0).sum(),
            moves: searches.iter().fold(MoveCounts::default(), |mut sum, search| {
                sum += search.moves();
                sum
            }),
        };
        let provenance = provenance(settings, rounds, None);
        let best = BestSoFar { job, asked: &asked, class_jobs: &class_jobs, searches: &searches, provenance };
        let is_stopped = observer(&progress, &best).is_break();
        let is_over = fraction >= 1.0 || by_time.is_some_and(|share| share >= 1.0);
        if is_stopped || is_over || clock.is_over() || searches.iter().all(|s| s.is_idle()) {
            break;
        }
        for search in searches.iter_mut().filter(|s| !s.is_idle()) {
            search.round(ROUND_EVALUATIONS, fraction);
        }
        rounds += 1;
    }
    let (layouts, bounds): (Vec<Layout>, Vec<Option<i64>>) = searches.into_iter().map(ClassSearch::into_best).unzip();
    let layout = asked.whole(merged(&class_jobs, layouts));
    // What sheets count for bounds no cost.
    let lower_bound = match job.instructions().is_empty() {
        true => bounds.into_iter().sum::<Option<i64>>(),
        false => least_cost(job, &layout)?,
    };
    let provenance = provenance(settings, rounds, lower_bound);
    Plan::new(job, layout, provenance).map_err(NestError::NotProved)
}

/// How much of the time asked for may go into the search.
fn search_time(limit: Duration, pieces: u32, kinds: u32) -> Duration {
    let finishing = FINISHING_A_PIECE * pieces + FINISHING_A_KIND * kinds;
    limit.saturating_sub(finishing).max(limit.mul_f64(LEAST_SEARCH))
}

fn provenance(settings: &Settings, rounds: u64, lower_bound: Option<i64>) -> Provenance {
    let went_on_from = settings.start.as_ref().map(|start| start.name.clone());
    Provenance { seed: settings.seed, rounds, chains: settings.chains.max(1), lower_bound, went_on_from }
}

/// By how much the sheets of the best layout so far count for more than they cost, in the smallest coin.
fn extra(asked: &Asked<'_>, class: &ClassJob, search: &ClassSearch<'_>) -> f64 {
    let used = search.certified().sheets.iter();
    used.map(|used| asked.extra(class.sheets[used.sheet], used.length)).sum()
}

/// No plan of a job that places as many of each part as a layout does can cost less in material, in the smallest coin; `None`
/// when no bound is known. For layouts that no search found.
///
/// # Errors
/// [`NestError::Geometry`].
///
/// # Cost
/// Some milliseconds for a shop's job: it goes by areas, and proves less than a search does.
pub fn least_cost(job: &Job, layout: &Layout) -> Result<Option<i64>, NestError> {
    let mut sum = Some(0);
    // Whatever is asked of a plan makes it no cheaper.
    let free = job.clone().with_instructions(Instructions::default()).expect("nothing is asked");
    for mut class in class_jobs(&free, Some(layout)) {
        let task = class.task(&Clock::default());
        let share = class.share_of(layout);
        let placed = share.sheets.iter().flat_map(|used| &used.placements).map(|placement| placement.part);
        let required: Vec<usize> = placed.filter(|&part| task.parts[part].is_required).collect();
        let bound = lower_bound(&task, &required);
        if let Some(fault) = task.fault() {
            return Err(NestError::Geometry(fault));
        }
        sum = sum.zip(bound).map(|(sum, bound)| sum + bound);
    }
    Ok(sum)
}

/// The layouts of all classes as one layout of the whole job.
fn merged(class_jobs: &[ClassJob], layouts: Vec<Layout>) -> Layout {
    let mut whole = Layout::default();
    for (class, mut layout) in class_jobs.iter().zip(layouts) {
        for used in &mut layout.sheets {
            used.sheet = class.sheets[used.sheet];
            for placement in &mut used.placements {
                placement.part = class.parts[placement.part];
            }
        }
        for unplaced in &mut layout.unplaced {
            unplaced.part = class.parts[unplaced.part];
            if let dropwise_model::Reason::TooLarge { nearest, .. } = &mut unplaced.reason {
                *nearest = class.sheets[*nearest];
            }
        }
        whole.sheets.extend(layout.sheets);
        whole.unplaced.extend(layout.unplaced);
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn proof_and_figures_have_their_share_of_the_time() {
        let asked = Duration::from_secs(10);
        let of_a_shop = search_time(asked, 108, 15);
        assert!(of_a_shop > asked.mul_f64(0.999) && of_a_shop < asked);
        assert_eq!(asked - search_time(asked, 30_000, 0), FINISHING_A_PIECE * 30_000);
        assert_eq!(search_time(Duration::from_millis(100), 30_000, 5_000), Duration::from_millis(50));
    }
}
