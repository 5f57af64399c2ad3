//! From the keys of a job file to a job.

mod bent;
mod context;
mod drawing;
mod fit;
mod money;
mod one_sheet;
mod openings;
mod outline;
mod part;
mod pattern_faults;
mod rack;
mod rules;
mod sheet;
mod sheet_list;
mod steer;
mod tape;

use std::collections::HashMap;
use std::path::Path;

use dropwise_geometry::Unit;
use dropwise_model::{Job, Part, Sheet};
use dropwise_shop::bend::ToleranceClass;
use dropwise_shop::{Coinage, CuttingRate, Price, Process, Rates, Shop, Thickness, WeightRule};

pub use bent::{BentDetail, HoleWork, WorkedHole};
pub(crate) use context::{At, Context, LONGEST};
pub use drawing::SeenDrawing;
pub use part::{Instead, PartDetail};
pub use sheet::SheetDetail;
pub use sheet_list::describe_row;
pub(crate) use sheet_list::sheets_of_row;

pub(super) use one_sheet::describe;

use super::error::{Fault, JobFileError, Note, Place};
use super::rack::{OwnSheets, Rack};
use super::tree::Document;
use super::types::{self, Defaults, JobFile, RateKeys, WeightWord};

/// A job file, read: the job and what else the file says.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct LoadedJob {
    /// What the job is called.
    pub name: String,
    /// The unit that the report should speak in.
    pub unit: Unit,
    /// What amounts are counted in, such as "USD"; empty when the file does not say.
    pub currency: String,
    /// Decimals of the currency.
    pub coinage: Coinage,
    /// The job itself.
    pub job: Job,
    /// More on each part of the job, in its order.
    pub parts: Vec<PartDetail>,
    /// More on each sheet of the job, in its order.
    pub sheets: Vec<SheetDetail>,
    /// How parts are cut, if the file says.
    pub process: Option<Process>,
    /// General tolerances, if the file tells any.
    pub tolerances: Option<ToleranceClass>,
    /// How weights were worked out.
    pub weight_rule: WeightRule,
    /// What work costs.
    pub rates: Rates,
    /// What the shop has to work with: that of the file named, or the usual one.
    pub shop: Shop,
    /// The shop file as it was written, in TOML or JSON, for a plan to carry; `None` for the usual shop.
    pub shop_text: Option<String>,
    /// What leftovers are worth by weight, where a sheet does not say otherwise.
    pub leftover_worth: Option<Price>,
    /// What scrap is sold for, by weight.
    pub scrap_worth: Option<Price>,
    /// What to tell the user, warnings first.
    pub notes: Vec<Note>,
    /// The drawings that it names, as they were understood.
    pub drawings: Vec<SeenDrawing>,
}

/// Builds the job.
///
/// # Errors
/// All faults found, in the order of the file.
pub(super) fn build(
    document: &Document,
    keys: &JobFile,
    rack: Option<&Rack>,
    other_shop: Option<&Path>,
    instead: &[Instead],
) -> Result<LoadedJob, Vec<JobFileError>> {
    let context = context(document, keys);
    let loaded = assemble(&context, keys, rack, other_shop, instead);
    let (errors, notes) = context.finish();
    match loaded {
        Some(mut loaded) if errors.is_empty() => {
            loaded.notes = notes;
            loaded.notes.sort_by_key(|note| std::cmp::Reverse(note.severity));
            Ok(loaded)
        }
        _ => Err(errors),
    }
}

/// The drawings that a job names, as far as each was understood, whatever else is wrong with the job.
pub(super) fn drawings(document: &Document, keys: &JobFile) -> Vec<SeenDrawing> {
    let context = context(document, keys);
    match assemble(&context, keys, None, None, &[]) {
        Some(loaded) => loaded.drawings,
        None => context.take_seen(),
    }
}

/// The cursor's context, with the settings that other values hang on.
fn context<'d>(document: &'d Document, keys: &JobFile) -> Context<'d> {
    let folder = document.file().parent().unwrap_or(Path::new("")).to_owned();
    let mut context = Context::new(document, folder);
    // The unit comes first: every other length may hang on it.
    if let Some(unit) = keys.unit.as_deref().and_then(|name| context.top().key("unit").unit(name)) {
        context.unit = unit;
    }
    if let Some(coinage) = keys.currency_decimals.and_then(|decimals| Coinage::new(decimals).ok()) {
        context.coinage = coinage;
    }
    context
}

fn assemble(
    context: &Context<'_>,
    keys: &JobFile,
    rack: Option<&Rack>,
    other_shop: Option<&Path>,
    instead: &[Instead],
) -> Option<LoadedJob> {
    let top = context.top();
    let file_stem = || context.document.file().file_stem().map_or_else(|| "job".into(), |s| s.to_string_lossy());
    let name = match &keys.name {
        Some(name) => top.key("name").name(name),
        None => Some(file_stem().into_owned()),
    };
    let defaults = keys.defaults.clone().unwrap_or_default();
    check_defaults(&top.key("defaults"), &defaults);
    let rates = keys.rates.clone().unwrap_or_default();
    let weight_rule = match keys.weights.unwrap_or_default() {
        WeightWord::TrueDensity => WeightRule::TrueDensity,
        WeightWord::GaugeBook => WeightRule::GaugeBook,
    };
    let worth_key = keys.leftovers.as_ref().and_then(|leftovers| leftovers.worth.as_ref());
    let leftover = worth_key.and_then(|worth| top.key("leftovers").key("worth").worth(worth));
    let scrap = rates.scrap.as_ref().and_then(|scrap| top.key("rates").key("scrap").worth(scrap));
    check_order_of_worth(&top, leftover, scrap);
    let sheet_rates = sheet::Rates { weight_rule, leftover, scrap };

    let strips = keys.test_strips.as_deref().map(|file| bent::strips(&top.key("test_strips"), file));
    let kerf = rules::kerf(keys.clearances.as_ref(), context.unit);
    // Before the parts: a bend is laid out for a die that is there.
    let (shop, shop_text) = shop(&top.key("shop"), keys.shop.as_deref(), other_shop);
    let workshop = bent::Workshop {
        bending: keys.bending.as_ref(),
        strips: strips.unwrap_or_default(),
        dies: shop.die_openings(),
        is_by_hand: shop.die_openings().is_empty() && !shop.benders.is_empty(),
        kerf,
        instead,
    };
    let parts = all(&keys.parts, |index, part| {
        part::parts(&top.key("parts").index(index), part, &defaults, rates.hole.is_some(), &workshop)
    });
    // The rack first, so that of two equal names the job's own is told.
    let mut sheets: Vec<(Sheet, SheetDetail)> =
        rack.iter().flat_map(|rack| &rack.pieces).map(|piece| rack::sheet(piece, sheet_rates)).collect();
    let has_own = rack.is_none_or(|rack| rack.own == OwnSheets::Kept);
    if has_own {
        sheets.extend(all(keys.sheets.as_deref().unwrap_or_default(), |index, sheet| {
            sheet::sheets(&top.key("sheets").index(index), sheet, &defaults, sheet_rates)
        }));
        sheets.extend(all(keys.sheet_lists.as_deref().unwrap_or_default(), |index, list| {
            sheet_list::sheets(&top.key("sheet_lists").index(index), list, &defaults, sheet_rates)
        }));
    }
    check_names(&parts, |(part, detail): &(Part, PartDetail)| (&part.name, &detail.place), "part", context);
    check_names(&sheets, |(sheet, detail): &(Sheet, SheetDetail)| (&sheet.name, &detail.place), "sheet", context);

    let thickest = parts.iter().map(|(_, detail)| detail.thickness).max_by(by_thickness);
    let clearances = rules::clearances(&top, keys.clearances.as_ref(), thickest);
    let leftover_rule = rules::leftover_rule(&top, keys.leftovers.as_ref());
    let rates = work_rates(&top.key("rates"), &rates);
    let (clearances, process) = clearances?;
    if context.has_errors() {
        return None;
    }
    for (sheet, detail) in &sheets {
        fit::check_room(context, sheet, detail, clearances.margin());
    }
    if context.has_errors() {
        return None;
    }
    let (parts, part_details): (Vec<Part>, Vec<PartDetail>) = parts.into_iter().unzip();
    let (sheets, sheet_details): (Vec<Sheet>, Vec<SheetDetail>) = sheets.into_iter().unzip();
    let job = match Job::new(parts, sheets, clearances, leftover_rule?) {
        Ok(job) => job,
        Err(error) => {
            // Whatever is left to refuse has no place of its own.
            top.message(0, error);
            return None;
        }
    };
    let job = steer::told(&top, keys, job, &part_details)?;
    // Without any sheets the job is not for nesting yet.
    if !job.sheets().is_empty() {
        fit::warn_of_misfits(context, &job, &part_details);
    }
    Some(LoadedJob {
        name: name?,
        unit: context.unit,
        currency: keys.currency.clone().unwrap_or_default(),
        coinage: context.coinage,
        job,
        parts: part_details,
        sheets: sheet_details,
        process,
        tolerances: keys.general_tolerances.map(|word| match word {
            types::ToleranceWord::Fine => ToleranceClass::Fine,
            types::ToleranceWord::Medium => ToleranceClass::Medium,
            types::ToleranceWord::Coarse => ToleranceClass::Coarse,
            types::ToleranceWord::VeryCoarse => ToleranceClass::VeryCoarse,
        }),
        weight_rule,
        rates: rates?,
        shop,
        shop_text,
        leftover_worth: leftover,
        scrap_worth: scrap,
        notes: Vec::new(),
        drawings: context.take_seen(),
    })
}

/// The shop of the file named, or of the one that takes its place. Faults of that file are told with its own places.
fn shop(at: &At<'_>, file: Option<&str>, other: Option<&Path>) -> (Shop, Option<String>) {
    let (context, usual) = (at.context, (Shop::usual(at.context.unit), None));
    let read = |path: &Path| match crate::shop_file::load_shop_text(path, context.unit) {
        Ok((shop, text)) => (shop, Some(text)),
        Err(errors) => {
            errors.into_iter().for_each(|error| context.push(error));
            (Shop::usual(context.unit), None)
        }
    };
    if let Some(path) = other {
        return read(path);
    }
    let Some(file) = file else { return usual };
    if file.trim().is_empty() {
        at.fault("is blank", "Name the shop file, or leave the key out");
        return usual;
    }
    read(&context.folder.join(file))
}

/// Everything that could be read of a list; what could not was reported.
fn all<K, T>(keys: &[K], read: impl Fn(usize, &K) -> Option<Vec<T>>) -> Vec<T> {
    keys.iter().enumerate().filter_map(|(index, keys)| read(index, keys)).flatten().collect()
}

/// Whether the job is written in inches and feet.
fn is_in_inches(unit: Unit) -> bool {
    matches!(unit, Unit::Inch | Unit::Foot)
}

fn by_thickness(a: &Thickness, b: &Thickness) -> std::cmp::Ordering {
    a.millimetres().total_cmp(&b.millimetres())
}

/// Faults of the defaults, told once however many parts use them.
fn check_defaults(at: &At<'_>, defaults: &Defaults) {
    if let Some(material) = &defaults.material {
        at.key("material").material(material);
    }
}

/// Leftovers worth less than scrap would be cut up.
fn check_order_of_worth(top: &At<'_>, leftover: Option<Price>, scrap: Option<Price>) {
    if let Some((leftover, scrap)) = leftover.zip(scrap)
        && leftover.per_area(1.0) < scrap.per_area(1.0)
    {
        top.key("leftovers").key("worth").warn("leftovers are worth less than scrap, so it pays to scrap them");
    }
}

fn check_names<T>(items: &[T], name_of: impl Fn(&T) -> (&String, &Place), kind: &str, context: &Context<'_>) {
    let mut seen: HashMap<&str, &Place> = HashMap::new();
    for item in items {
        let (name, place) = name_of(item);
        if let Some(first) = seen.insert(name, place) {
            let first = match (first.key.as_str(), first.line) {
                ("", Some(line)) => format!("the one on line {line} of {}", first.file.display()),
                (key, Some(line)) => format!("{key} (line {line})"),
                (key, None) => key.to_owned(),
            };
            let fault = Fault::value(
                format!("is called \"{name}\" like {first}"),
                format!("No two {kind}s share a name: rename one, or raise the `quantity` of the other"),
            );
            context.push(JobFileError::new(place.clone(), fault));
        }
    }
}

fn work_rates(at: &At<'_>, keys: &RateKeys) -> Option<Rates> {
    let context = at.context;
    let in_one = context.coinage.coins_in_one() as f64;
    // Their ranges are checked with the structure.
    let coins = |amount: Option<f64>| amount.unwrap_or(0.0) * in_one;
    let cutting = match (&keys.cutting, keys.cutting_hour, &keys.cutting_speed) {
        (None, None, None) => Some(None),
        (Some(price), None, None) => cutting_by_length(&at.key("cutting"), price).map(Some),
        (None, Some(hour), Some(speed)) => at.key("cutting_speed").size(speed).map(|millimetres_per_minute| {
            Some(CuttingRate::ByTime { coins_per_hour: hour * in_one, millimetres_per_minute })
        }),
        (None, Some(_), None) => {
            at.key("cutting_hour").fault("stands alone", "Give `cutting_speed` too, the length cut in a minute");
            None
        }
        (None, None, Some(_)) => {
            at.key("cutting_speed").fault("stands alone", "Give `cutting_hour` too, the price of an hour");
            None
        }
        (Some(_), _, _) => {
            at.fault(
                "price cutting by length and by the hour",
                "Keep `cutting`, or `cutting_hour` and `cutting_speed`",
            );
            None
        }
    };
    let setup_per_batch = keys.setup.map_or(Some(dropwise_model::Money::ZERO), |amount| at.key("setup").money(amount));
    Some(Rates {
        cutting: cutting?,
        coins_per_hole: coins(keys.hole),
        coins_per_bend: coins(keys.bend),
        setup_per_batch: setup_per_batch?,
    })
}

fn cutting_by_length(at: &At<'_>, price: &types::Price) -> Option<CuttingRate> {
    let price = at.price(price)?;
    let rate = price.map(CuttingRate::by_length);
    match rate {
        Some(Ok(rate)) => Some(rate),
        _ => {
            at.fault("does not go by length", "Write, for example, \"1.20 per m\" or \"0.40 per ft\"");
            None
        }
    }
}
