//! Splits a job by class of stock, and sifts large inventories before any search.

use dropwise_model::{Job, Layout, Part, Placement, Sheet, SheetUse, StockClass, Unplaced};

use crate::anneal::lone_fit::prepared;
use crate::clock::Clock;
use crate::problem::offer::{Need, Offer};
use crate::problem::task::Task;

/// The part of a job that concerns one class of stock.
#[derive(Debug)]
pub(crate) struct ClassJob {
    /// Taken by [`ClassJob::task`].
    job: Option<Job>,
    /// Index in the whole job of each part.
    pub(crate) parts: Vec<usize>,
    /// Index in the whole job of each sheet that the search weighs.
    pub(crate) sheets: Vec<usize>,
    /// What was sifted out.
    others: Vec<Offer>,
}

/// Sheets of one class that a search weighs against each other. More slow it down without finding anything cheaper: what
/// was sifted out costs more for its area, and more than others that hold the same parts.
const MOST_SHEETS: usize = 160;
/// How many of the cheapest sheets that may hold each part stay at least, whatever their price by area. More than one,
/// since what seems to hold a part by its box need not.
const PER_PART: usize = 6;
/// How full sheets are thought to get when enough of them are kept for all copies of the parts. Less keeps too many,
/// more leaves too few for large parts.
const FULLNESS: f64 = 0.4;
/// How many of the longest, the widest and the largest that may hold each part stay: if it fits on any, it mostly fits
/// on one of these.
const ROOMIEST: usize = 2;

/// One job for each class that some part asks for, in the order of the parts. The sheets that a layout uses stay.
pub(crate) fn class_jobs(job: &Job, start: Option<&Layout>) -> Vec<ClassJob> {
    let mut is_used = vec![false; job.sheets().len()];
    start.iter().flat_map(|layout| &layout.sheets).for_each(|used| is_used[used.sheet] = true);
    // What is asked of sheets must not hang on whether they are cheap.
    let told = job.instructions();
    let named = told.kept_to.iter().flat_map(|kept| &kept.sheets);
    named.chain(told.reserved.iter().map(|reserved| &reserved.sheet)).for_each(|&sheet| is_used[sheet] = true);
    let mut classes: Vec<&StockClass> = Vec::new();
    for part in job.parts() {
        if !classes.contains(&&part.class) {
            classes.push(&part.class);
        }
    }
    classes.into_iter().map(|class| class_job(job, class, &is_used)).collect()
}

impl ClassJob {
    /// Prepares the search, which a clock ends. Only once.
    pub(crate) fn task(&mut self, clock: &Clock) -> Task {
        let job = self.job.take().expect("prepared only once");
        prepared(job).with_others(std::mem::take(&mut self.others)).with_clock(clock.clone())
    }

    /// What of a layout of the whole job is of this class, in the indices of its own. The layout uses no sheet that was
    /// sifted out.
    pub(crate) fn share_of(&self, layout: &Layout) -> Layout {
        let index = |list: &[usize], wanted: usize| list.iter().position(|&index| index == wanted);
        let sheets = layout.sheets.iter().filter_map(|used| {
            let placements = used
                .placements
                .iter()
                .filter_map(|placement| Some(Placement { part: index(&self.parts, placement.part)?, ..*placement }));
            let sheet = index(&self.sheets, used.sheet)?;
            Some(SheetUse { sheet, length: used.length, placements: placements.collect() })
        });
        let unplaced = layout
            .unplaced
            .iter()
            .filter_map(|unplaced| Some(Unplaced { part: index(&self.parts, unplaced.part)?, ..unplaced.clone() }));
        Layout { sheets: sheets.collect(), unplaced: unplaced.collect() }
    }
}

fn class_job(job: &Job, class: &StockClass, is_used: &[bool]) -> ClassJob {
    let parts: Vec<usize> = (0..job.parts().len()).filter(|&i| job.parts()[i].class == *class).collect();
    let mut sheets: Vec<usize> = (0..job.sheets().len()).filter(|&i| job.sheets()[i].class == *class).collect();
    let mut others = Vec::new();
    if sheets.len() > MOST_SHEETS {
        // Those that must stay do, even where a margin leaves nothing of them.
        let must_stay: Vec<usize> = sheets.iter().copied().filter(|&sheet| is_used[sheet]).collect();
        (sheets, others) = sifted(job, &parts, &sheets, is_used);
        sheets.extend(must_stay);
        sheets.sort_unstable();
        sheets.dedup();
    }
    let class_job = Job::new(
        parts.iter().map(|&i| job.parts()[i].clone()).collect(),
        sheets.iter().map(|&i| job.sheets()[i].clone()).collect(),
        *job.clearances(),
        *job.leftover_rule(),
    )
    .expect("parts and sheets of a job that was checked");
    let place = |list: &[usize], wanted: usize| list.iter().position(|&index| index == wanted);
    let told = job.instructions().renumbered(|part| place(&parts, part), |sheet| place(&sheets, sheet));
    let class_job = class_job.with_instructions(told).expect("instructions that were checked");
    ClassJob { job: Some(class_job), parts, sheets, others }
}

/// A sheet as the sieve sees it.
struct Fact {
    /// Index in the whole job.
    sheet: usize,
    offer: Offer,
    /// Price less the worth of the leftover, in the smallest coin.
    price: f64,
    /// The same by usable area.
    rate: f64,
}

impl Fact {
    fn new(job: &Job, sheet: usize) -> Self {
        let model: &Sheet = &job.sheets()[sheet];
        let offer = Offer::of(model, job.clearances());
        let area = model.shape.area();
        let price = match model.open_length {
            _ if !offer.is_usable() => f64::INFINITY,
            Some(terms) => terms.price_per_length * terms.longest_order(model.shape.bounds().width()),
            None => model.price.coins() as f64 - model.leftover_worth * area,
        };
        // Roughly: a strip of the margin's width along the edge, and what is damaged, is of no use.
        let damaged: f64 = model.damage.iter().map(|zone| zone.area()).sum();
        let usable = area - job.clearances().margin() * model.shape.perimeter() - damaged;
        Self { sheet, offer, price, rate: price / usable.max(0.01 * area) }
    }
}

/// The sheets worth a search, and what is known of the others: the cheapest by usable area, and for each part the
/// cheapest that may hold it, enough for all its copies, and the roomiest.
fn sifted(job: &Job, parts: &[usize], sheets: &[usize], is_used: &[bool]) -> (Vec<usize>, Vec<Offer>) {
    let facts: Vec<Fact> =
        sheets.iter().map(|&sheet| Fact::new(job, sheet)).filter(|fact| fact.offer.is_usable()).collect();
    let mut is_chosen: Vec<bool> = facts.iter().map(|fact| is_used[fact.sheet]).collect();
    // Area that parts may still be thought to take, of all copies of a sheet together.
    let room = |fact: &Fact| FULLNESS * fact.offer.area * fact.offer.quantity.map_or(f64::INFINITY, f64::from);
    let mut room: Vec<f64> = facts.iter().map(room).collect();
    let mut is_taken = vec![false; facts.len()];
    // The dearest to find room for first: what it takes is not left for the others.
    let mut parts: Vec<&Part> = parts.iter().map(|&part| &job.parts()[part]).collect();
    parts.sort_by(|a, b| b.shape.area().total_cmp(&a.shape.area()));
    let orders = [
        sorted(&facts, |fact| -fact.offer.diagonal),
        sorted(&facts, |fact| -fact.offer.narrow),
        sorted(&facts, |fact| -fact.offer.area),
    ];
    let by_price = sorted(&facts, |fact| fact.price);
    for part in &parts {
        let need = Need::of(part);
        let (mut lacking, mut count) = (part.quantity as usize, 0);
        for &index in by_price.iter().filter(|&&index| facts[index].offer.may_hold(&need)) {
            if lacking == 0 && count >= PER_PART {
                break;
            }
            let copies = facts[index].offer.quantity.map_or(usize::MAX, |quantity| quantity as usize);
            let by_area = (room[index] / need.area) as usize;
            // What may hold one part holds one, while nothing else is to lie there.
            let holds = if is_taken[index] { by_area } else { by_area.max(copies) };
            if holds.min(lacking) > 0 || count < PER_PART {
                is_chosen[index] = true;
                count += 1;
            }
            if holds.min(lacking) > 0 {
                is_taken[index] = true;
                room[index] -= holds.min(lacking) as f64 * need.area;
                lacking = lacking.saturating_sub(holds);
            }
        }
        for order in &orders {
            let roomy = order.iter().filter(|&&index| facts[index].offer.may_hold(&need)).take(ROOMIEST);
            roomy.for_each(|&index| is_chosen[index] = true);
        }
    }
    sorted(&facts, |fact| fact.rate).iter().take(MOST_SHEETS).for_each(|&index| is_chosen[index] = true);
    let chosen = (0..facts.len()).filter(|&index| is_chosen[index]).map(|index| facts[index].sheet).collect();
    let others = (0..facts.len()).filter(|&index| !is_chosen[index]).map(|index| facts[index].offer).collect();
    (chosen, others)
}

/// Indices into the facts, the least first.
fn sorted(facts: &[Fact], key: impl Fn(&Fact) -> f64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..facts.len()).collect();
    order.sort_by(|&a, &b| key(&facts[a]).total_cmp(&key(&facts[b])).then(a.cmp(&b)));
    order
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::{Clearances, LeftoverRule, Money, Turns};
    use proptest::prelude::*;

    use super::*;
    use crate::exact::bound::{RisingBound, lower_bound};

    fn rectangle(width: f64, height: f64) -> Shape {
        Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
    }

    fn job(parts: &[(f64, f64, u32)], sheets: &[(f64, f64, i64)]) -> Job {
        let class = StockClass::new("2 mm");
        let part = |(index, &(width, height, quantity)): (usize, &(f64, f64, u32))| Part {
            name: format!("part {index}"),
            shape: rectangle(width, height),
            quantity,
            class: class.clone(),
            turns: Turns::List(vec![0.0, 90.0]),
            may_flip: false,
            need: dropwise_model::Need::Required,
        };
        let sheet = |(index, &(width, height, coins)): (usize, &(f64, f64, i64))| Sheet {
            price: Money::from_coins(coins),
            ..Sheet::new(&format!("sheet {index}"), rectangle(width, height), class.clone())
        };
        let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
        let parts = parts.iter().enumerate().map(part).collect();
        Job::new(parts, sheets.iter().enumerate().map(sheet).collect(), Clearances::default(), rule).unwrap()
    }

    fn bounds(job: &Job, work: u64) -> (i64, i64) {
        let task = class_jobs(job, None)[0].task(&Clock::default());
        let items = task.items();
        let mut rising = RisingBound::new(&task, &items).unwrap();
        rising.run(work);
        (lower_bound(&task, &items).unwrap(), rising.value())
    }

    #[test]
    fn copies_of_a_large_part_each_keep_a_sheet() {
        // Two hundred small cheap sheets hold only the small part; each dear large one holds one large part.
        let sheets: Vec<(f64, f64, i64)> =
            (0..200).map(|i| (100.0, 100.0, 10 + i)).chain((0..200).map(|i| (1000.0, 800.0, 90_000 + i))).collect();
        let job = job(&[(900.0, 700.0, 30), (950.0, 600.0, 20), (50.0, 40.0, 3)], &sheets);
        let chosen = &class_jobs(&job, None)[0].sheets;
        assert_eq!(chosen.iter().filter(|&&sheet| sheet >= 200).count(), 50);
        assert!(chosen.len() < 230, "{}", chosen.len());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// A plan that uses nothing the sieve kept is a plan all the same: no bound may exceed its cost.
        #[test]
        fn no_bound_exceeds_the_cost_of_a_plan_on_sheets_left_aside(
            cut in prop::collection::vec((0.2..0.8_f64, 0.2..0.8_f64), 1..4),
            sizes in prop::collection::vec((300.0..900.0_f64, 300.0..900.0_f64, 0.5..2.0_f64), 200..260),
            price in 20..400_i64,
        ) {
            // Sheets of 400 by 300 mm are cut into four parts each; all others are offered beside them.
            let mut parts: Vec<(f64, f64, u32)> = Vec::new();
            for (x, y) in &cut {
                let (w, h) = (400.0 * x, 300.0 * y);
                parts.extend([(w, h, 1), (400.0 - w, h, 1), (w, 300.0 - h, 1), (400.0 - w, 300.0 - h, 1)]);
            }
            let mut sheets: Vec<(f64, f64, i64)> = vec![(400.0, 300.0, price); cut.len()];
            sheets.extend(sizes.iter().map(|&(w, h, rate)| (w, h, (w * h * rate * 1e-3) as i64)));
            let planted = price * cut.len() as i64;
            let (by_area, proved) = bounds(&job(&parts, &sheets), 20_000);
            prop_assert!(by_area <= planted, "{by_area} over {planted}");
            prop_assert!(proved <= planted, "{proved} over {planted}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(8))]

        /// Cheap sheets with a notch seem to hold the part and do not; the one that holds it and costs little more is left
        /// aside. What the kept ones prove alone would be far too much.
        #[test]
        fn the_proof_reckons_with_sheets_left_aside(
            scale in 0.5..2.0_f64,
            decoys in 6..30_usize,
            large in 160..200_usize,
            price in 200..400_i64,
        ) {
            let mut sheets = vec![(2000.0 * scale, 1000.0 * scale, price * 4); large];
            sheets.push((401.0 * scale, 301.0 * scale, price));
            let mut job = job(&[(400.0 * scale, 300.0 * scale, 1)], &sheets);
            let corners = [(0.0, 0.0), (500.0, 0.0), (500.0, 250.0), (350.0, 250.0), (350.0, 350.0), (0.0, 350.0)];
            let notched = Outline::polygon(corners.map(|(x, y)| Point::new(x * scale, y * scale)));
            let decoy = |index: usize| Sheet {
                price: Money::from_coins(price - 1 - index as i64),
                ..Sheet::new(&format!("decoy {index}"), Shape::new(notched.clone(), Vec::new()), StockClass::new("2 mm"))
            };
            let sheets = job.sheets().iter().cloned().chain((0..decoys).map(decoy)).collect();
            job = Job::new(job.parts().to_vec(), sheets, *job.clearances(), *job.leftover_rule()).unwrap();
            prop_assert!(!class_jobs(&job, None)[0].sheets.contains(&large), "the sheet must be left aside for this test");
            let (by_area, proved) = bounds(&job, 20_000);
            prop_assert!(by_area <= price, "{by_area} over {price}");
            prop_assert!(proved <= price, "{proved} over {price}");
        }
    }
}
