//! Draws what the page asks for, from the last good reading of the job and the best plan so far.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use dropwise_formats::LoadedJob;
use dropwise_geometry::format_length;
use dropwise_live::{FindingShown, Gallery, NestShown, PartPage, Pictured, TableShown};
use dropwise_model::Plan;
use dropwise_paper::{
    DrawingStyle, FoldedModel, LengthStyle, PaperTable, ReportSettings, Viewpoint, bend_table, draw_flat_alone,
    draw_overview, draw_piece, plan_tables,
};
use dropwise_shop::PlanCost;
use dropwise_shop::weight::format_weight;

use crate::commands::flat::rings;
use crate::report;
use crate::shop_checks::weight;
use crate::text::cleaned;

/// What there is to draw. Whoever reads and nests puts it here, the page's questions take it out.
#[derive(Debug, Default)]
pub(super) struct Pictures(Mutex<Held>);

#[derive(Debug, Default)]
struct Held {
    good: Option<Arc<Good>>,
    findings: Vec<FindingShown>,
    nested: Option<Arc<Nested>>,
}

/// A job as it was last read without a fault.
#[derive(Debug)]
pub(super) struct Good {
    /// Which reading it was.
    pub(super) reading: u64,
    pub(super) loaded: LoadedJob,
    /// Parts that were folded up already, by index and width of the picture.
    models: Mutex<HashMap<(usize, u64), Arc<FoldedModel>>>,
}

/// A plan, with the job that it is for.
#[derive(Debug)]
pub(super) struct Nested {
    /// Counts the plans.
    pub(super) number: u64,
    pub(super) good: Arc<Good>,
    pub(super) plan: Plan,
    pub(super) cost: PlanCost,
}

/// Folded parts that are kept: those that one page shows, in a few widths.
const MOST_MODELS: usize = 16;

impl Good {
    pub(super) fn new(reading: u64, loaded: LoadedJob) -> Self {
        Self { reading, loaded, models: Mutex::default() }
    }

    fn style(&self, prefix: &str, paper_width: f64) -> DrawingStyle {
        let id_prefix = prefix.to_owned();
        DrawingStyle { unit: self.loaded.unit, paper_width, id_prefix, ..DrawingStyle::default() }
    }

    fn folded(&self, index: usize, pictured: Pictured) -> Option<String> {
        let detail = self.loaded.parts.get(index)?;
        let bent = detail.bent.as_deref()?;
        let style = self.style("folded", pictured.paper_width);
        let key = (index, pictured.paper_width.to_bits());
        let known = held(&self.models).get(&key).cloned();
        let model = known.unwrap_or_else(|| {
            let model = Arc::new(FoldedModel::new(bent.unfolding.clone(), rings(detail), &style));
            let mut models = held(&self.models);
            if models.len() >= MOST_MODELS {
                models.clear();
            }
            models.insert(key, Arc::clone(&model));
            model
        });
        let from = Viewpoint { turn_deg: pictured.turn_deg, tilt_deg: pictured.tilt_deg };
        Some(model.draw(&self.loaded.job.parts()[index].name, from, &style))
    }

    fn flat(&self, index: usize, paper_width: f64) -> String {
        let part = &self.loaded.job.parts()[index];
        match self.loaded.parts[index].bent.as_deref() {
            Some(bent) => draw_flat_alone(&bent.unfolding, &part.name, &self.style("flat", paper_width)),
            None => draw_piece(&part.name, "", &part.shape, &[], self.loaded.unit),
        }
    }

    /// Metal, sizes and weight of a part in a line.
    fn facts(&self, index: usize) -> String {
        let (part, detail, unit) = (&self.loaded.job.parts()[index], &self.loaded.parts[index], self.loaded.unit);
        let bounds = part.shape.bounds();
        let bends = match detail.bent.as_deref().map_or(0, |bent| bent.unfolding.bends.len()) {
            0 => String::new(),
            1 => ", one bend".to_owned(),
            count => format!(", {count} bends"),
        };
        format!(
            "{}, {} thick; {} × {} flat{bends}; {} each, {} wanted.",
            detail.material,
            format_length(detail.thickness.millimetres(), unit),
            format_length(bounds.width(), unit),
            format_length(bounds.height(), unit),
            format_weight(weight(&self.loaded, index), unit),
            part.quantity
        )
    }
}

/// The value, also where a thread that held it panicked: values are put there whole.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Pictures {
    pub(super) fn put_good(&self, good: Arc<Good>) {
        held(&self.0).good = Some(good);
    }

    /// Puts findings of a reading, unless a later one has taken its place; whether they were taken.
    pub(super) fn put_findings(&self, reading: u64, findings: Vec<FindingShown>) -> bool {
        let mut held = held(&self.0);
        let is_latest = held.good.as_ref().is_some_and(|good| good.reading == reading);
        if is_latest {
            held.findings = findings;
        }
        is_latest
    }

    /// Puts a plan, or none, unless a later reading has taken its job's place; whether it was taken.
    pub(super) fn put_nested(&self, reading: u64, nested: Option<Arc<Nested>>) -> bool {
        let mut held = held(&self.0);
        let is_latest = held.good.as_ref().is_some_and(|good| good.reading == reading);
        if is_latest {
            held.nested = nested;
        }
        is_latest
    }

    fn good(&self) -> Option<Arc<Good>> {
        held(&self.0).good.clone()
    }
}

impl Gallery for Pictures {
    fn part(&self, index: usize, pictured: Pictured) -> Option<PartPage> {
        let good = self.good()?;
        let detail = good.loaded.parts.get(index)?;
        Some(PartPage {
            drawn: good.reading,
            flat: good.flat(index, pictured.paper_width),
            folded: good.folded(index, pictured),
            facts: good.facts(index),
            bends: detail.bent.as_deref().map(|bent| shown(bend_table(&bent.unfolding, good.loaded.unit), false)),
        })
    }

    fn folded(&self, index: usize, pictured: Pictured) -> Option<String> {
        self.good()?.folded(index, pictured)
    }

    fn findings(&self) -> Vec<FindingShown> {
        held(&self.0).findings.clone()
    }

    fn nest(&self, paper_width: f64) -> Option<NestShown> {
        let nested = held(&self.0).nested.clone()?;
        let (loaded, plan, cost) = (&nested.good.loaded, &nested.plan, &nested.cost);
        let settings = ReportSettings {
            job_name: &loaded.name,
            lengths: LengthStyle { unit: loaded.unit, ..LengthStyle::default() },
            currency: &loaded.currency,
            coinage: loaded.coinage,
            cost: Some(cost),
            ..ReportSettings::default()
        };
        let mut tables = vec![shown(sheets(loaded, plan), false)];
        tables.extend(plan_tables(&loaded.job, plan, &settings).map(|table| shown(table, true)));
        Some(NestShown {
            nested: nested.number,
            picture: draw_overview(&loaded.job, plan, &nested.good.style("nest", paper_width)),
            headline: report::headline(loaded, plan, cost).replace('\u{a0}', " "),
            missing: plan.layout().unplaced.iter().map(|unplaced| report::left_out(loaded, unplaced)).collect(),
            tables,
            cautions: report::caution_list(loaded, plan).iter().map(ToString::to_string).collect(),
        })
    }
}

/// A row for each sheet.
fn sheets(loaded: &LoadedJob, plan: &Plan) -> PaperTable {
    let rows = plan.layout().sheets.iter().zip(&plan.figures().sheets).enumerate().map(|(index, (used, figures))| {
        let sheet = &loaded.job.sheets()[used.sheet];
        let bounds = sheet.bought_shape(used.length).bounds();
        let place = cleaned(sheet.location.trim());
        let place = if place.is_empty() { place } else { format!(", {place}") };
        let kept = figures.leftovers.iter().map(|leftover| report::size(loaded, leftover.largest_rectangle));
        vec![
            format!("{} {}{place}", index + 1, cleaned(&sheet.name)),
            report::size(loaded, (bounds.width(), bounds.height())),
            used.placements.len().to_string(),
            format!("{:.1} %", figures.yield_ratio() * 100.0),
            kept.collect::<Vec<_>>().join(", "),
            loaded.coinage.format(figures.cost()),
        ]
        .into_iter()
        .map(|cell| cell.replace('\u{a0}', " "))
        .collect()
    });
    let columns = dropwise_paper::PaperColumn::numbers;
    let words = dropwise_paper::PaperColumn::words;
    PaperTable {
        title: "Sheets to cut".to_owned(),
        columns: vec![
            words("sheet"),
            columns("over all"),
            columns("parts"),
            columns("yield"),
            words("to keep, as rectangles"),
            columns("cost"),
        ],
        rows: rows.collect(),
        ..PaperTable::default()
    }
}

fn shown(table: PaperTable, has_sum: bool) -> TableShown {
    TableShown {
        title: table.title,
        notes: table.notes,
        columns: table.columns.into_iter().map(|column| (column.heading, column.is_number)).collect(),
        rows: table.rows,
        has_sum,
    }
}
