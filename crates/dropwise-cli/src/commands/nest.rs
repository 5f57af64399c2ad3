//! `nest`: a job in, a proved plan out.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::Duration;

use dropwise_formats::{LoadedJob, OwnSheets, PlanDocument, Rack};
use dropwise_model::{Layout, Need, Plan};
use dropwise_nest::{Progress, Settings, Start};
use dropwise_paper::Trace;
use dropwise_shop::PlanCost;
use dropwise_shop::check::{Severity, gathered};
use dropwise_stock::Currency;

use super::check::{summary, told};
use crate::arguments::{Colour, Nest};
use crate::commands::draw;
use crate::complaint::{Complaint, Stop, render_note};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::hand_work::hand_work;
use crate::ink::Ink;
use crate::out_folder::{OutFile, OutFolder, write_file};
use crate::plan_file;
use crate::progress::ProgressLine;
use crate::report;
use crate::shop_checks::{PartChecks, check_part, count, tell_checks};
use crate::stand_in;
use crate::stock_log::{Purpose, check_currency, load_job, load_job_of, rack_pieces, stop};
use crate::text::{cleaned, wrapped};

/// What was asked for, ready to be done.
#[derive(Debug)]
struct Request {
    job: PathBuf,
    settings: Settings,
    trace: Option<PathBuf>,
    out: Option<OutFolder>,
    is_json: bool,
    is_full: bool,
    is_quiet: bool,
    stdout_ink: Ink,
    stderr_ink: Ink,
}

impl Request {
    fn new(typed: Nest, colour: Colour, environment: &Environment<'_>) -> Self {
        // A run by rounds is to be repeatable, so the clock ends it only when that is asked for.
        let seconds = typed.seconds.or(if typed.rounds.is_some() { None } else { Some(DEFAULT_SECONDS) });
        let settings = Settings {
            seed: typed.seed,
            time_limit: seconds.map(Duration::from_secs_f64),
            rounds: typed.rounds,
            threads: typed.threads,
            ..Settings::default()
        };
        Self {
            job: typed.job,
            settings,
            trace: typed.trace,
            out: None,
            is_json: typed.json,
            is_full: typed.full,
            is_quiet: typed.quiet,
            stdout_ink: Ink::new(colour.is_wanted(environment, false)),
            stderr_ink: Ink::new(colour.is_wanted(environment, true)),
        }
    }
}

const DEFAULT_SECONDS: f64 = 10.0;

pub(crate) fn nest(typed: Nest, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let (out, typed_start) = (typed.out.clone(), typed.go_on_from.clone());
    let typed_checks = (typed.shop.clone(), typed.despite_checks);
    let (choice, near_choice) = (typed.cautions, typed.near);
    let (rack, currency) = rack(&typed, environment)?.unzip();
    let mut request = Request::new(typed, colour, environment);
    let mut loaded = load_job(&request.job, rack.as_ref(), &typed_checks.0)?;
    if loaded.job.sheets().is_empty() && rack.is_none() {
        return Err(no_sheets(&request.job));
    }
    let near = stand_in::near(&loaded, &stand_in::stock_of(&loaded));
    let instead = if near_choice.is_taken { stand_in::taken(&near) } else { Vec::new() };
    if !instead.is_empty() {
        loaded = load_job_of(&request.job, rack.as_ref(), &typed_checks.0, &instead)?;
    }
    if let Some(currency) = &currency {
        check_currency(&loaded, &request.job, currency)?;
    }
    // What may be wrong is told even to those who want it quiet.
    let told = loaded.notes.iter().filter(|note| !request.is_quiet || note.is_warning());
    environment.say(&told.map(|note| render_note(note, request.stderr_ink)).collect::<String>());
    if !request.is_quiet {
        environment.say(&stand_in::told(&near, &instead, loaded.unit));
    }
    check(typed_checks.1, &request, &loaded, environment)?;
    // After the job, so that a bad job leaves no empty folder; before the search, so that a bad name costs no time.
    request.out = out.as_deref().map(OutFolder::open).transpose()?;

    request.settings.start = start(typed_start.as_deref(), &request, &loaded, environment)?;
    let plan = search(&request, &loaded, environment)?;
    let cost = cost(&loaded, &plan)?;
    let mut document = PlanDocument::new(&loaded, &plan, &cost);
    tell_checks(&mut document, &loaded);
    // Files first: a reader of standard output that goes away must not cost the drawings.
    let made = draw::Drawn { document: &document, loaded: &loaded, plan: &plan, cost: &cost };
    let (is_quiet, ink) = (request.is_quiet, request.stderr_ink);
    let is_written = request.out.as_ref().is_none_or(|out| write_files(out, &made, is_quiet, ink, environment));
    if request.is_json {
        environment.print(&document.write())?;
        if !request.is_quiet {
            let missing = report::missing(&loaded, &plan, request.stderr_ink);
            environment.say(&format!("{missing}{}", report::cautions(&loaded, &plan, choice, request.stderr_ink)));
        }
    } else {
        let number = document.number();
        let page = if request.is_full {
            report::render(&loaded, &plan, &cost, &number, choice, request.stdout_ink)
        } else {
            report::summary(&loaded, &plan, &cost, &number, choice, request.stdout_ink)
        };
        environment.print(&page)?;
    }
    if !is_written {
        return Ok(Exit::Failure);
    }
    let parts = loaded.job.parts();
    let is_missing = plan.layout().unplaced.iter().any(|unplaced| parts[unplaced.part].need == Need::Required);
    Ok(if is_missing { Exit::NotAllPlaced } else { Exit::Done })
}

/// What is told of a job that says nothing of what it may be made of.
fn no_sheets(job: &Path) -> Stop {
    let complaint =
        Complaint::new("the job names no sheets, so there is nothing to nest its parts on").at(job.display());
    Stop::bad_input(complaint.with_cure(
        "Say what the parts may be made of, in [[sheets]] tables or with `sheet_lists`, or take the rack with --from-stock; \
         `flat` and `check` need none, and `buy` weighs offers",
    ))
}

/// What lies in the rack, and what the log counts in, if that is to be cut.
fn rack(typed: &Nest, environment: &Environment<'_>) -> Result<Option<(Rack, Currency)>, Stop> {
    if !typed.from_stock {
        return Ok(None);
    }
    let log = typed.log.open(Purpose::Look, environment)?;
    let currency = log.currency().map_err(|error| stop(&error))?;
    let pieces = rack_pieces(&log)?;
    let own = if typed.own_sheets { OwnSheets::Kept } else { OwnSheets::LeftOut };
    Ok(Some((Rack { pieces, own }, currency)))
}

/// The earlier plan to go on from, in the terms of this job; what of it no longer holds is told.
fn start(
    typed: Option<&Path>,
    request: &Request,
    loaded: &LoadedJob,
    environment: &mut Environment<'_>,
) -> Result<Option<Start>, Stop> {
    let Some(path) = typed.map(plan_file::path_of) else { return Ok(None) };
    let document = plan_file::read(&path)?;
    let carried = document.carried_over(&loaded.job);
    let (kept, violations) = carried.layout.as_far_as_it_holds(&loaded.job);
    let name = document.number();
    if !request.is_quiet {
        let count = |layout: &Layout| layout.sheets.iter().map(|used| used.placements.len()).sum::<usize>();
        let before: usize = document.sheets.iter().map(|sheet| sheet.placements.len()).sum();
        let text = format!("{} of its {before} placements hold.", count(&kept));
        environment.say(&wrapped(&format!("Going on from plan {name}: "), 2, &text));
        let gone = |list: &BTreeMap<String, usize>, what: &str| -> String {
            let line = |(name, count): (&String, &usize)| {
                let parts = if *count == 1 { "1 part".to_owned() } else { format!("{count} parts") };
                wrapped("- ", 2, &format!("{}: the job has no such {what} any more; {parts} lay there", cleaned(name)))
            };
            list.iter().map(line).collect()
        };
        environment.say(&gone(&carried.sheets_gone, "sheet"));
        environment.say(&gone(&carried.parts_gone, "part"));
        let told = violations.iter().take(MOST_TOLD).map(|one| wrapped("- ", 2, &carried.told(one, &loaded.job)));
        environment.say(&told.collect::<String>());
        if violations.len() > MOST_TOLD {
            environment.say(&format!("- and {} more\n", violations.len() - MOST_TOLD));
        }
    }
    Ok(Some(Start { layout: kept, name }))
}

/// So many of the places of an earlier plan that no longer hold are told one by one.
const MOST_TOLD: usize = 8;

/// The shop checks, before time is spent on a search: in full what cannot be made, in a line what may go wrong.
fn check(
    despite_checks: bool,
    request: &Request,
    loaded: &LoadedJob,
    environment: &mut Environment<'_>,
) -> Result<(), Stop> {
    let parts: Vec<PartChecks> =
        (0..loaded.job.parts().len()).map(|index| check_part(loaded, index, &loaded.shop)).collect();
    let ink = request.stderr_ink;
    let is_stopped = count(&parts, Severity::Stop) > 0;
    if is_stopped && (!despite_checks || !request.is_quiet) {
        for (part, checks) in loaded.job.parts().iter().zip(&parts) {
            let groups = gathered(&checks.findings);
            let stops = groups.iter().filter(|group| group.worst.severity == Severity::Stop);
            let page: String = stops.map(|group| told(group, loaded, ink)).collect();
            if !page.is_empty() {
                environment.say(&format!("{}\n{page}", ink.strong(&cleaned(&part.name))));
            }
        }
    }
    if is_stopped && !despite_checks {
        let complaint = Complaint::new("the shop checks say that some parts cannot be made so")
            .at(request.job.display())
            .with_cure("Change them as said above, or nest them all the same with --despite-checks");
        return Err(Stop { exit: Exit::CannotBeMade, complaints: vec![complaint] });
    }
    if !request.is_quiet && (is_stopped || count(&parts, Severity::Warn) > 0) {
        let text = format!("{} `dropwise check` tells more.", summary(&parts));
        environment.say(&wrapped("Shop checks: ", 2, &text));
    }
    Ok(())
}

fn search(request: &Request, loaded: &LoadedJob, environment: &mut Environment<'_>) -> Result<Plan, Stop> {
    let line = (environment.shows_progress() && !request.is_quiet).then(ProgressLine::new);
    let interrupts = environment.interrupts();
    let mut has_stopped = false;
    let mut trace = request.trace.as_ref().map(|file| (file, Trace::default()));
    let observer = |progress: &Progress| {
        has_stopped |= interrupts.has_any();
        if let Some((_, trace)) = &mut trace {
            trace.add(progress);
        }
        if let Some(line) = &line {
            line.show(loaded, progress, has_stopped);
        }
        if has_stopped { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    let settings = Settings { stop: interrupts.stop(), hand_work: hand_work(loaded), ..request.settings.clone() };
    let plan = dropwise_nest::nest(&loaded.job, &settings, observer);
    if let Some(line) = &line {
        line.finish();
    }
    if let Some((file, trace)) = trace {
        write_trace(file, &trace, &loaded.name)?;
    }
    if has_stopped {
        environment.say("interrupted: this is the best plan found until then\n");
    }
    plan.map_err(|error| {
        let complaint = Complaint::new(error.to_string()).because_of(&error);
        if matches!(error, dropwise_nest::NestError::TooManyPieces { .. }) {
            let cure = "Nest them in several jobs, each for the stock that it is to use up";
            return Stop::bad_input(complaint.at(request.job.display()).with_cure(cure));
        }
        Stop::failure(match error {
            dropwise_nest::NestError::Threads(_) => complaint.with_cure("Ask for fewer with --threads"),
            _ => complaint
                .with_cure("This is a fault of ours, not of the job. Please report it; another --seed may help"),
        })
    })
}

/// Writes the course of the search: a table if the file's name ends so, else a picture.
fn write_trace(file: &Path, trace: &Trace, job: &str) -> Result<(), Stop> {
    let is_table = file.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("csv"));
    let text = if is_table { trace.csv() } else { trace.draw(job) };
    write_file(file, text.as_bytes())
}

pub(super) fn cost(loaded: &LoadedJob, plan: &Plan) -> Result<PlanCost, Stop> {
    let work: Vec<_> = loaded.parts.iter().map(|detail| detail.work).collect();
    PlanCost::new(plan.figures(), &work, &loaded.rates).map_err(|errors| {
        // The rates were checked when the job was read.
        let complaints = errors.iter().map(|error| Complaint::new(error.to_string())).collect();
        Stop { exit: Exit::Failure, complaints }
    })
}

/// Writes what `--out` asks for; whether all of it could be written.
pub(super) fn write_files(
    out: &OutFolder,
    made: &draw::Drawn<'_>,
    is_quiet: bool,
    ink: Ink,
    environment: &mut Environment<'_>,
) -> bool {
    let loaded = made.loaded;
    let mut wanted = draw::Wanted::at_a_glance(loaded.unit);
    // A shop that says what it owns is asked; otherwise the job's own way of cutting is.
    if loaded.shop_text.is_some() {
        wanted.tools = Some(loaded.shop.tools.clone());
        wanted.has_sight_lines = loaded.shop.brake.is_none();
    }
    let (drawings, complaints) = match draw::files(made, &wanted) {
        Ok(drawings) => drawings,
        // The plan is worth keeping, whatever is wrong with its pictures.
        Err(stop) => (Vec::new(), stop.complaints),
    };
    let mut files = vec![OutFile::new("plan.json", made.document.write())];
    files.extend(drawings);
    environment.complain(&complaints, ink);
    // All of an earlier plan's drawings are stale now.
    let is_written = draw::write(out, &files, &draw::Kind::ALL, is_quiet, ink, environment);
    is_written && complaints.is_empty()
}
