//! Splits a job by class of stock, and sifts large inventories before any search.

use dropwise_model::{Job, Sheet, StockClass};

/// The part of a job that concerns one class of stock.
#[derive(Debug)]
pub(crate) struct ClassJob {
    pub(crate) job: Job,
    /// Index in the whole job of each part.
    pub(crate) parts: Vec<usize>,
    /// Index in the whole job of each sheet.
    pub(crate) sheets: Vec<usize>,
}

/// Sheets of one class that a search weighs against each other. More slow it down without finding anything cheaper: what
/// was sifted out costs more for its area, and more than others that hold the same parts.
const MOST_SHEETS: usize = 160;
/// How many of the cheapest sheets that hold each part stay, whatever their price by area.
const PER_PART: usize = 6;

/// One job for each class that some part asks for, in the order of the parts.
pub(crate) fn class_jobs(job: &Job) -> Vec<ClassJob> {
    let mut classes: Vec<&StockClass> = Vec::new();
    for part in job.parts() {
        if !classes.contains(&&part.class) {
            classes.push(&part.class);
        }
    }
    classes.into_iter().map(|class| class_job(job, class)).collect()
}

fn class_job(job: &Job, class: &StockClass) -> ClassJob {
    let parts: Vec<usize> = (0..job.parts().len()).filter(|&i| job.parts()[i].class == *class).collect();
    let mut sheets: Vec<usize> = (0..job.sheets().len()).filter(|&i| job.sheets()[i].class == *class).collect();
    if sheets.len() > MOST_SHEETS {
        sheets = sifted(job, &parts, &sheets);
    }
    let class_job = Job::new(
        parts.iter().map(|&i| job.parts()[i].clone()).collect(),
        sheets.iter().map(|&i| job.sheets()[i].clone()).collect(),
        *job.clearances(),
        *job.leftover_rule(),
    )
    .expect("parts and sheets of a job that was checked");
    ClassJob { job: class_job, parts, sheets }
}

/// The sheets worth a search: the cheapest by area, and for each part the cheapest that may hold it.
fn sifted(job: &Job, parts: &[usize], sheets: &[usize]) -> Vec<usize> {
    let price = |sheet: &Sheet| {
        let area = sheet.shape.area();
        match sheet.open_length {
            Some(terms) => terms.price_per_length * sheet.shape.bounds().width(),
            None => sheet.price.coins() as f64 - sheet.leftover_worth * area,
        }
    };
    // (index, price, price by area, diagonal, shorter side of the box)
    let mut facts: Vec<(usize, f64, f64, f64, f64)> = sheets
        .iter()
        .map(|&i| {
            let sheet = &job.sheets()[i];
            let bounds = sheet.shape.bounds();
            let (area, price) = (sheet.shape.area(), price(sheet));
            (i, price, price / area, bounds.diagonal(), bounds.width().min(bounds.height()))
        })
        .collect();
    let mut chosen: Vec<usize> = Vec::new();
    facts.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    for &part in parts {
        let shape = &job.parts()[part].shape;
        let (bounds, area) = (shape.bounds(), shape.area());
        let longest = bounds.width().max(bounds.height());
        let slim = area / bounds.diagonal();
        let may_hold = facts.iter().filter(|f| f.3 >= longest && f.4 >= slim && job.sheets()[f.0].shape.area() >= area);
        chosen.extend(may_hold.take(PER_PART).map(|f| f.0));
    }
    facts.sort_by(|a, b| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)));
    chosen.extend(facts.iter().take(MOST_SHEETS).map(|f| f.0));
    chosen.sort_unstable();
    chosen.dedup();
    chosen
}
