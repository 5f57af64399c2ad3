//! Reads the job whenever a file of it changes, checks it, and nests it while somebody looks.

use std::io;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use dropwise_formats::{JobFileError, LoadedJob, Rack, drawings_of_job, files_of_job, load_job_instead};
use dropwise_live::{Board, Change, FindingShown, PartShown, Search, Trouble, Waker, Watch};
use dropwise_model::Plan;
use dropwise_nest::{BestSoFar, Progress, Settings, Stop as StopSearch};
use dropwise_shop::check::{FindingGroup, gathered};

use super::gallery::{Good, Nested, Pictures};
use super::trouble::{of_stop, troubles};
use crate::commands::nest::cost;
use crate::complaint::Stop;
use crate::hand_work::hand_work;
use crate::shop_checks::check_part;
use crate::text::cleaned;

/// Reads what lies in the rack.
pub(super) type RackReader = Box<dyn Fn() -> Result<Rack, Stop> + Send>;

/// How often a better plan is shown at most: quicker than that, nobody sees what changed.
const SHOWN_EVERY: Duration = Duration::from_millis(400);

/// All that following a job takes.
pub(super) struct Worker {
    pub(super) job: PathBuf,
    /// The shop in place of the one that the job names.
    pub(super) shop: Option<PathBuf>,
    pub(super) rack: Option<RackReader>,
    /// Time for the nest after each change.
    pub(super) seconds: f64,
    pub(super) board: Board,
    pub(super) pictures: Arc<Pictures>,
}

/// A worker at work.
pub(super) struct Running {
    thread: JoinHandle<()>,
    waker: Waker,
}

impl Running {
    /// Whether it has ended by itself, which it does only by a fault of ours.
    pub(super) fn is_over(&self) -> bool {
        self.thread.is_finished()
    }

    /// Ends it; whether it had been sound until then.
    pub(super) fn end(self) -> bool {
        self.waker.wake();
        self.thread.join().is_ok()
    }
}

/// A nest that is being made.
struct Nesting {
    stop: StopSearch,
    thread: JoinHandle<()>,
}

impl Nesting {
    fn end(self) {
        self.stop.set();
        // One that fell over has shown what it had.
        let _ = self.thread.join();
    }
}

impl Worker {
    /// Begins to follow the job.
    ///
    /// # Errors
    /// When no thread can be started.
    pub(super) fn start(self) -> io::Result<Running> {
        let watch = Watch::new();
        let waker = watch.waker();
        let thread = std::thread::Builder::new().name("follow".to_owned()).spawn(move || self.follow(watch))?;
        Ok(Running { thread, waker })
    }

    fn follow(self, mut watch: Watch) {
        let plans = Arc::new(AtomicU64::new(0));
        let mut nesting: Option<Nesting> = None;
        for reading in 1.. {
            // Before they are read, so that no change in between is lost.
            let mut files = files_of_job(&self.job);
            files.extend(self.shop.clone());
            watch.set(&files);
            match self.read() {
                Ok(loaded) => {
                    let good = Arc::new(Good::new(reading, loaded));
                    self.show(&good);
                    // Only now: pictures do not wait for the last search to end.
                    nesting.take().into_iter().for_each(Nesting::end);
                    nesting = self.begin(good, &plans);
                }
                Err((trouble, more)) => {
                    // A refused drawing of a list is followed too.
                    let folder = self.job.parent().unwrap_or(Path::new(""));
                    files.extend(drawings_of_job(&self.job).iter().map(|seen| folder.join(&seen.file)));
                    watch.set(&files);
                    self.board.change(|shown| {
                        shown.file = file_name(&self.job);
                        (shown.trouble, shown.more_trouble) = (trouble, more);
                    });
                }
            }
            if watch.wait() == Change::Woken {
                break;
            }
        }
        nesting.into_iter().for_each(Nesting::end);
    }

    fn read(&self) -> Result<LoadedJob, (Vec<Trouble>, usize)> {
        let rack = self.rack.as_ref().map(|read| read()).transpose().map_err(|stop| (of_stop(&stop), 0))?;
        let loaded = load_job_instead(&self.job, rack.as_ref(), self.shop.as_deref(), &[]);
        loaded.map_err(|errors: Vec<JobFileError>| troubles(&errors))
    }

    /// Shows a job that was read without a fault.
    fn show(&self, good: &Arc<Good>) {
        self.pictures.put_good(Arc::clone(good));
        let parts = good.loaded.job.parts().iter().zip(&good.loaded.parts).map(|(part, detail)| PartShown {
            name: cleaned(&part.name),
            count: part.quantity,
            is_bent: detail.bent.is_some(),
        });
        let parts: Vec<PartShown> = parts.collect();
        self.board.change(|shown| {
            shown.file = file_name(&self.job);
            shown.title = cleaned(&good.loaded.name);
            shown.drawn = good.reading;
            shown.parts = parts;
            (shown.trouble, shown.more_trouble) = (Vec::new(), 0);
            let words = if shown.nested > 0 { "The nest below is of an earlier save." } else { "" };
            shown.search = Search { is_running: true, words: words.to_owned() };
        });
    }

    /// Begins to check and nest a job.
    fn begin(&self, good: Arc<Good>, plans: &Arc<AtomicU64>) -> Option<Nesting> {
        let stop = StopSearch::default();
        let task = Task {
            good,
            stop: stop.clone(),
            seconds: self.seconds,
            board: self.board.clone(),
            pictures: Arc::clone(&self.pictures),
            plans: Arc::clone(plans),
        };
        let thread = std::thread::Builder::new().name("nest".to_owned()).spawn(move || task.run());
        match thread {
            Ok(thread) => Some(Nesting { stop, thread }),
            Err(error) => {
                self.board.change(|shown| {
                    shown.search = Search { is_running: false, words: format!("It cannot be nested: {error}.") };
                });
                None
            }
        }
    }
}

fn file_name(job: &Path) -> String {
    cleaned(&job.file_name().unwrap_or(job.as_os_str()).to_string_lossy())
}

/// Checks and nests one reading of the job.
struct Task {
    good: Arc<Good>,
    stop: StopSearch,
    seconds: f64,
    board: Board,
    pictures: Arc<Pictures>,
    plans: Arc<AtomicU64>,
}

impl Task {
    fn run(self) {
        let Some(findings) = self.findings() else { return };
        let stops = findings.iter().filter(|finding| finding.severity == "stop").count();
        if !self.pictures.put_findings(self.good.reading, findings) {
            return;
        }
        self.board.change(|shown| shown.checked = self.good.reading);
        if stops > 0 {
            self.no_nest("Not nested: the checks say that something cannot be made so.");
        } else if self.good.loaded.job.sheets().is_empty() {
            self.no_nest(
                "Not nested: the job names no sheets. Write what there is to cut in [[sheets]] tables, or look with --from-stock.",
            );
        } else {
            self.nest();
        }
    }

    /// What the checks and the reader of the file say; `None` where nobody wants to know any more.
    fn findings(&self) -> Option<Vec<FindingShown>> {
        let loaded = &self.good.loaded;
        let mut all: Vec<FindingShown> = Vec::new();
        for note in &loaded.notes {
            all.push(FindingShown {
                part: None,
                severity: if note.is_warning() { "warn" } else { "note" }.to_owned(),
                problem: cleaned(&format!("{}: {}.", note.place, note.text)),
                ..FindingShown::default()
            });
        }
        for index in 0..loaded.job.parts().len() {
            if self.stop.is_set() {
                return None;
            }
            let checks = check_part(loaded, index, &loaded.shop);
            all.extend(gathered(&checks.findings).iter().map(|group| found(group, index, loaded)));
        }
        Some(all)
    }

    fn say(&self, is_running: bool, words: &str) {
        if !self.stop.is_set() {
            self.board.change(|shown| shown.search = Search { is_running, words: words.to_owned() });
        }
    }

    fn no_nest(&self, words: &str) {
        if self.pictures.put_nested(self.good.reading, None) {
            self.board.change(|shown| shown.nested = 0);
            self.say(false, words);
        }
    }

    fn nest(&self) {
        let settings = Settings {
            time_limit: Some(Duration::from_secs_f64(self.seconds)),
            stop: self.stop.clone(),
            hand_work: hand_work(&self.good.loaded),
            ..Settings::default()
        };
        let mut last: Option<(Instant, u32, f64)> = None;
        let mut has_shown = false;
        let plan = dropwise_nest::nest_shown(&self.good.loaded.job, &settings, |progress, best| {
            let is_due = last.is_none_or(|(at, ..)| at.elapsed() >= SHOWN_EVERY);
            let is_better = last.is_none_or(|(_, missing, cost)| {
                progress.missing < missing || progress.missing == missing && progress.cost < cost - 0.5
            });
            if is_due {
                if is_better {
                    has_shown |= self.show_best(best);
                }
                last = Some((Instant::now(), progress.missing, progress.cost));
                self.say(true, &self.so_far(progress));
            }
            if self.stop.is_set() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        match plan {
            Ok(plan) => {
                self.show_plan(plan);
                self.say(false, "The best nest found. It improves no further until the file is saved anew.");
            }
            Err(error) if has_shown => self.say(false, &format!("The search ended: {error}.")),
            Err(error) => self.no_nest(&format!("It cannot be nested: {error}.")),
        }
    }

    fn so_far(&self, progress: &Progress) -> String {
        let (passed, whole) = (progress.elapsed.as_secs(), self.seconds.ceil());
        format!("The nest improves while you look: {passed} of {whole} seconds.")
    }

    fn show_best(&self, best: &BestSoFar<'_>) -> bool {
        best.plan().is_ok_and(|plan| self.show_plan(plan))
    }

    fn show_plan(&self, plan: Plan) -> bool {
        let Ok(cost) = cost(&self.good.loaded, &plan) else { return false };
        let number = self.plans.fetch_add(1, Ordering::SeqCst) + 1;
        let nested = Nested { number, good: Arc::clone(&self.good), plan, cost };
        let is_shown = self.pictures.put_nested(self.good.reading, Some(Arc::new(nested)));
        if is_shown {
            self.board.change(|shown| shown.nested = number);
        }
        is_shown
    }
}

/// Findings of one cause.
fn found(group: &FindingGroup<'_>, part: usize, loaded: &LoadedJob) -> FindingShown {
    let finding = group.worst;
    FindingShown {
        part: Some(part),
        severity: finding.severity.to_string(),
        problem: cleaned(&format!("{}.", group.in_unit(loaded.unit))),
        cure: cleaned(&format!("{}.", finding.cure)),
        rule: format!("Rule: {}; {}.", finding.rule, finding.source),
    }
}
