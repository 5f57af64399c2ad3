//! `buy`: a job and offers in, what to buy out.

mod arguments;
mod words;

use std::ops::ControlFlow;
use std::time::Duration;

use dropwise_buying::{Decision, Market, Seller, Settings, Source, decide};
use dropwise_formats::offers::{OfferList, load_offers};
use dropwise_formats::{LoadedJob, OwnSheets, PlanDocument, Rack};
use dropwise_model::{Instructions, Job, Money, Need};
use dropwise_shop::{PlanCost, Price};

pub(crate) use arguments::{ABOUT, AFTER, Buy, LONG_ABOUT};

use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop, render_note};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::out_folder::{OutFile, OutFolder};
use crate::progress::ProgressLine;
use crate::report::amount;
use crate::stand_in;
use crate::stock_log::{Purpose, load_job, load_job_of, rack_pieces};
use crate::text::wrapped;

const DEFAULT_SECONDS: f64 = 10.0;

pub(crate) fn buy(typed: Buy, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let stop = |errors: Vec<dropwise_formats::JobFileError>| {
        let complaints = errors.iter().map(Complaint::from).collect();
        Stop { exit: Exit::BadInput, complaints }
    };
    let rack = rack(&typed, environment)?;
    let mut loaded = load_job(&typed.job, rack.as_ref(), &typed.shop)?;
    if rack.is_some() {
        leave_own_drops_out(&mut loaded)?;
    }
    let mut list = load_offers(&typed.offers, &loaded).map_err(stop)?;
    let near = stand_in::near(&loaded, &metal_of(&loaded, &list));
    let instead = if typed.near.is_taken { stand_in::taken(&near) } else { Vec::new() };
    if !instead.is_empty() {
        loaded = load_job_of(&typed.job, rack.as_ref(), &typed.shop, &instead)?;
        if rack.is_some() {
            leave_own_drops_out(&mut loaded)?;
        }
        list = load_offers(&typed.offers, &loaded).map_err(stop)?;
    }
    let ink = Ink::new(colour.is_wanted(environment, true));
    let told = loaded.notes.iter().chain(&list.notes).filter(|note| !typed.quiet || note.is_warning());
    environment.say(&told.map(|note| render_note(note, ink)).collect::<String>());
    if !typed.quiet {
        environment.say(&stand_in::told(&near, &instead, loaded.unit));
    }
    leave_out_what_is_asked(&mut loaded, environment);
    let market = market(&mut loaded, &list, typed.rack_worth.as_deref())?;
    let worth_of = typed.worth.iter().map(|name| offer_named(&market, name)).collect::<Result<Vec<_>, _>>()?;
    let out = typed.out.as_deref().map(OutFolder::open).transpose()?;
    let seconds = typed.seconds.or(if typed.rounds.is_some() { None } else { Some(DEFAULT_SECONDS) });
    let defaults = Settings::default();
    let settings = Settings {
        seed: typed.seed,
        time_limit: seconds.map(Duration::from_secs_f64),
        rounds: typed.rounds.unwrap_or(defaults.rounds),
        worth_of,
        stop: environment.interrupts().stop(),
        ..defaults
    };
    let decision = weigh(&market, &settings, &loaded, typed.quiet, environment)?;
    if let Some((out, best)) = out.as_ref().zip(decision.choices.first()) {
        let work: Vec<_> = loaded.parts.iter().map(|detail| detail.work).collect();
        let cost = PlanCost::new(best.plan.figures(), &work, &loaded.rates).map_err(|errors| {
            Stop::failure(Complaint::new(errors.first().map_or_else(String::new, ToString::to_string)))
        })?;
        let mut document = PlanDocument::new(&loaded, &best.plan, &cost);
        crate::shop_checks::tell_checks(&mut document, &loaded);
        let text = document.write();
        let chart = words::chart(&loaded, &market, &decision);
        out.write(&[OutFile::new("plan.json", text), OutFile::new("choices.svg", chart)])
            .map_err(|complaints| Stop { exit: Exit::Failure, complaints })?;
    }
    let page = match typed.json {
        true => words::json(&loaded, &market, &decision),
        false => words::page(&loaded, &market, &decision, seconds, Ink::new(colour.is_wanted(environment, false))),
    };
    environment.print(&page)?;
    Ok(exit(&decision))
}

/// What a job asks of its plan is of sheets that it has, and is not heeded while it is open which are bought: that is told.
fn leave_out_what_is_asked(loaded: &mut LoadedJob, environment: &mut Environment<'_>) {
    if loaded.job.instructions().is_empty() {
        return;
    }
    let text = "what the job asks of its plan (`held`, `only_on`, `sheet_choice`, `keep_clear`) is not heeded while offers are \
                weighed. `dropwise nest` heeds it, once the sheets are there.";
    environment.say(&wrapped("warning: ", 2, text));
    if let Ok(free) = loaded.job.clone().with_instructions(Instructions::default()) {
        loaded.job = free;
    }
}

/// The metal in the rack and on offer.
fn metal_of(loaded: &LoadedJob, list: &OfferList) -> Vec<stand_in::Stock> {
    let offered = list.offers.iter().map(|offer| stand_in::Stock {
        material: offer.detail.material,
        thickness: offer.detail.thickness,
        area: offer.sheet.shape.area(),
    });
    stand_in::stock_of(loaded).into_iter().chain(offered).collect()
}

/// What lies in the rack by the stock log, if that is to be weighed.
fn rack(typed: &Buy, environment: &Environment<'_>) -> Result<Option<Rack>, Stop> {
    if !typed.from_stock {
        return Ok(None);
    }
    // The job's own sheets are kept for now: those of which there are any number are on offer, not in the rack.
    Ok(Some(Rack { pieces: rack_pieces(&typed.log.open(Purpose::Look, environment)?)?, own: OwnSheets::Kept }))
}

/// Leaves out the drops that the job names itself: they would often be in the rack a second time.
fn leave_own_drops_out(loaded: &mut LoadedJob) -> Result<(), Stop> {
    let sheets = loaded.job.sheets().iter().cloned().zip(std::mem::take(&mut loaded.sheets));
    let kept = sheets.filter(|(sheet, detail)| detail.rack.is_some() || sheet.quantity.is_none());
    let (sheets, details) = kept.unzip();
    loaded.sheets = details;
    let job = &loaded.job;
    loaded.job = Job::new(job.parts().to_vec(), sheets, *job.clearances(), *job.leftover_rule())
        .map_err(|error| Stop::bad_input(Complaint::new(error.to_string())))?;
    Ok(())
}

fn weigh(
    market: &Market,
    settings: &Settings,
    loaded: &LoadedJob,
    is_quiet: bool,
    environment: &mut Environment<'_>,
) -> Result<Decision, Stop> {
    let line = (environment.shows_progress() && !is_quiet).then(|| ProgressLine::without_bar("weighing"));
    let interrupts = environment.interrupts();
    let mut has_stopped = false;
    let observer = |progress: &dropwise_buying::Progress| {
        has_stopped |= interrupts.has_any();
        if let Some(line) = &line {
            let best = progress.best.map_or_else(
                || "nothing makes everything yet".to_owned(),
                |best| format!("best {}", amount(loaded, best).replace('\u{a0}', " ")),
            );
            line.tell(format!("{} nested, {best}", progress.tries));
        }
        if has_stopped { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    let decision = decide(market, settings, observer);
    if let Some(line) = &line {
        line.finish();
    }
    if has_stopped {
        environment.say("interrupted: these are the best choices found until then\n");
    }
    decision.map_err(|error| {
        let complaint = Complaint::new(error.to_string()).because_of(&error);
        Stop::failure(complaint.with_cure("This is a fault of ours, not of your files. Please report it"))
    })
}

fn exit(decision: &Decision) -> Exit {
    if decision.choices.is_empty() { Exit::NotAllPlaced } else { Exit::Done }
}

/// The market; the job is given its offers as sheets and loses its fillers.
fn market(loaded: &mut LoadedJob, list: &OfferList, rack_worth: Option<&str>) -> Result<Market, Stop> {
    let rate = rack_worth.map(|text| RackWorth::parse(text, loaded)).transpose()?;
    let mut sheets = loaded.job.sheets().to_vec();
    let mut sources = Vec::new();
    for sheet in &mut sheets {
        if sheet.quantity.is_none() {
            sources.push(Source::Offer { seller: None, charge: Money::ZERO, is_priced: true });
            continue;
        }
        sources.push(Source::Rack);
        let area = sheet.shape.area();
        sheet.price = match &rate {
            Some(RackWorth::Share(share)) => Money::round(sheet.price.coins() as f64 * share),
            Some(RackWorth::ByWeight(price)) => Money::round(price.per_area(sheet.weight).unwrap_or(0.0) * area),
            None if sheet.price == Money::ZERO => Money::round(sheet.leftover_worth * area),
            None => sheet.price,
        };
    }
    for offer in &list.offers {
        sheets.push(offer.sheet.clone());
        loaded.sheets.push(offer.detail.clone());
        let (seller, is_priced) = (offer.seller, offer.is_priced);
        sources.push(Source::Offer { seller, charge: Money::ZERO, is_priced });
    }
    let parts = loaded.job.parts().to_vec();
    let required = |part: &dropwise_model::Part| part.need == Need::Required;
    let mut keeps = parts.iter().map(required);
    loaded.parts.retain(|_| keeps.next().unwrap_or(false));
    let parts = parts.into_iter().filter(required).collect();
    let seller = |terms: &dropwise_formats::offers::SellerTerms| Seller {
        name: terms.name.clone(),
        delivery: terms.delivery,
        minimum_order: terms.minimum_order,
    };
    let refused = |error: &dyn std::error::Error| Stop::bad_input(Complaint::new(error.to_string()));
    let job = Job::new(parts, sheets, *loaded.job.clearances(), *loaded.job.leftover_rule())
        .map_err(|error| refused(&error))?;
    loaded.job = job.clone();
    Market::new(job, sources, list.sellers.iter().map(seller).collect()).map_err(|error| refused(&error))
}

/// What the rack counts at.
enum RackWorth {
    Share(f64),
    ByWeight(Price),
}

impl RackWorth {
    fn parse(text: &str, loaded: &LoadedJob) -> Result<Self, Stop> {
        let cure = "Write a rate such as \"0.20 per lb\", or a share of the price such as \"60 %\"";
        let refused = |problem: String| Stop::bad_input(Complaint::new(problem).at("--rack-worth").with_cure(cure));
        if let Some(number) = text.trim().strip_suffix('%') {
            let share = number.trim().parse::<f64>().ok().filter(|share| (0.0..=1000.0).contains(share));
            return share
                .map(|share| Self::Share(share / 100.0))
                .ok_or_else(|| refused(format!("\"{}\" is no share", crate::text::shortened(text, 60))));
        }
        let price = Price::parse(text, loaded.coinage)
            .map_err(|error| refused(format!("\"{}\": {error}", crate::text::shortened(text, 60))))?;
        match price.per_area(1.0) {
            Some(_) => Ok(Self::ByWeight(price)),
            None => Err(refused(format!("\"{}\" does not go by weight", crate::text::shortened(text, 60)))),
        }
    }
}

fn offer_named(market: &Market, name: &str) -> Result<usize, Stop> {
    let found =
        (0..market.sources().len()).find(|&sheet| market.is_offer(sheet) && market.job().sheets()[sheet].name == name);
    found.ok_or_else(|| {
        let complaint = Complaint::new(format!("no offer is called \"{name}\"")).at("--worth");
        Stop::bad_input(complaint.with_cure("Give the name that stands in the list"))
    })
}
