//! A job as the search sees it: what is held is out of its way, and sheets cost what they count for.

use dropwise_model::{
    Hold, Instructions, Job, KeptTo, Layout, Money, OpenLength, Part, Placement, Reason, Reserved, Sheet, SheetUse,
    Standing, Unplaced,
};

/// A job with instructions as one that any search understands.
///
/// A copy that is held is taken off its part's quantity, and its outline is kept clear of others. The sheet that it lies on is
/// cut anyhow, so it costs nothing more: of several alike, one is a sheet of its own. How sheets stand becomes their price.
#[derive(Debug)]
pub(crate) struct Asked<'j> {
    whole: &'j Job,
    /// The job of the search.
    pub(crate) job: Job,
    /// The part of the whole job that each of its parts is.
    parts: Vec<usize>,
    /// The sheet of the whole job that each of its sheets is, and whether something is held on it.
    sheets: Vec<(usize, bool)>,
}

/// What a preferred sheet counts for.
const PREFERRED: f64 = 0.9;
/// An avoided sheet counts for so many times all that could be bought, and so many coins more: nothing else outweighs it.
const AVOIDED: (f64, f64) = (10.0, 1e6);
/// And for no more than this, in the smallest coin, so that sums keep their last digits.
const MOST_DREADED: f64 = 1e11;

impl<'j> Asked<'j> {
    pub(crate) fn new(whole: &'j Job) -> Self {
        let told = whole.instructions();
        let is_held = |sheet: usize| told.held_on(sheet).next().is_some();
        let mut parts: Vec<(usize, Part)> = whole.parts().iter().cloned().enumerate().collect();
        for (index, part) in &mut parts {
            part.quantity -= told.held.iter().filter(|hold| hold.part == *index).count() as u32;
        }
        parts.retain(|(_, part)| part.quantity > 0);
        let dread = dread(whole);
        let mut sheets: Vec<((usize, bool), Sheet)> = Vec::new();
        for (index, sheet) in whole.sheets().iter().enumerate() {
            if is_held(index) {
                let name = format!("{} (held)", sheet.name);
                let (price, leftover_worth) = (Money::ZERO, 0.0);
                let own = Sheet { name, price, leftover_worth, quantity: Some(1), ..sheet.clone() };
                sheets.push(((index, true), own));
            }
            let quantity = sheet.quantity.map(|quantity| quantity - u32::from(is_held(index)));
            if quantity != Some(0) {
                let counted = counted(sheet, told.standing_of(index), dread);
                sheets.push(((index, false), Sheet { quantity, ..counted }));
            }
        }
        // Somebody may have called a sheet so.
        for index in 1..sheets.len() {
            while sheets[..index].iter().any(|(_, other)| other.name == sheets[index].1.name) {
                sheets[index].1.name.push('\'');
            }
        }
        let (parts, part_models): (Vec<usize>, Vec<Part>) = parts.into_iter().unzip();
        let (sheets, sheet_models): (Vec<(usize, bool)>, Vec<Sheet>) = sheets.into_iter().unzip();
        let instructions = for_search(whole, &parts, &sheets);
        let job = Job::new(part_models, sheet_models, *whole.clearances(), *whole.leftover_rule())
            .expect("parts and sheets of a job that was checked")
            .with_instructions(instructions)
            .expect("instructions that were checked");
        Self { whole, job, parts, sheets }
    }

    /// A layout of the search's job as one of the whole job, with what is held.
    pub(crate) fn whole(&self, found: Layout) -> Layout {
        let told = self.whole.instructions();
        let mut held = told.held_layout().sheets;
        let mut sheets: Vec<SheetUse> = Vec::new();
        for used in found.sheets {
            let (sheet, is_held) = self.sheets[used.sheet];
            let own =
                used.placements.iter().map(|placement| Placement { part: self.parts[placement.part], ..*placement });
            let mut placements: Vec<Placement> = own.collect();
            if is_held && let Some(index) = held.iter().position(|one| one.sheet == sheet) {
                let mut all = held.remove(index).placements;
                all.append(&mut placements);
                placements = all;
            }
            sheets.push(SheetUse { sheet, length: used.length, placements });
        }
        sheets.extend(held);
        let unplaced = found.unplaced.into_iter().map(|entry| {
            let reason = match entry.reason {
                Reason::TooLarge { nearest, excess } => Reason::TooLarge { nearest: self.sheets[nearest].0, excess },
                other => other,
            };
            Unplaced { part: self.parts[entry.part], count: entry.count, reason }
        });
        Layout { unplaced: unplaced.collect(), sheets }
    }

    /// A layout of the whole job, in which all that is held lies as told, as one of the search's.
    pub(crate) fn for_search(&self, layout: &Layout) -> Layout {
        let told = self.whole.instructions();
        let index_of = |sheet: usize, is_held: bool| self.sheets.iter().position(|&one| one == (sheet, is_held));
        let mut is_taken = vec![false; self.whole.sheets().len()];
        let mut sheets = Vec::new();
        for used in &layout.sheets {
            let mut placements = used.placements.clone();
            let held: Vec<&Hold> = told.held_on(used.sheet).map(|(_, hold)| hold).collect();
            let is_held = !held.is_empty()
                && !is_taken[used.sheet]
                && held.iter().all(|hold| {
                    let met = placements.iter().position(|placement| hold.is_met_by(placement));
                    met.is_some_and(|index| {
                        placements.remove(index);
                        true
                    })
                });
            is_taken[used.sheet] |= is_held;
            let placements = placements.into_iter().filter_map(|placement| {
                let part = self.parts.iter().position(|&part| part == placement.part)?;
                Some(Placement { part, ..placement })
            });
            let placements: Vec<Placement> = placements.collect();
            if let Some(sheet) = index_of(used.sheet, is_held).filter(|_| !placements.is_empty()) {
                sheets.push(SheetUse { sheet, length: used.length, placements });
            }
        }
        let placed =
            |part: usize| sheets.iter().flat_map(|used: &SheetUse| &used.placements).filter(|p| p.part == part).count();
        let missing =
            self.job.parts().iter().enumerate().map(|(part, model)| (part, model.quantity - placed(part) as u32));
        let missing = missing.filter(|&(_, count)| count > 0);
        let unplaced = missing.map(|(part, count)| Unplaced { part, count, reason: Reason::NoRoom }).collect();
        Layout { unplaced, sheets }
    }

    /// By how much a sheet of the search's job counts for more than it costs, in the smallest coin.
    pub(crate) fn extra(&self, sheet: usize, length: Option<f64>) -> f64 {
        let (index, is_held) = self.sheets[sheet];
        if is_held {
            return 0.0;
        }
        let cost = |sheet: &Sheet| match (sheet.open_length, length) {
            (Some(terms), Some(length)) => terms.price_per_length * length,
            _ => sheet.price.coins() as f64,
        };
        cost(&self.job.sheets()[sheet]) - cost(&self.whole.sheets()[index])
    }

    /// What the sheets cost that are cut anyhow, in the smallest coin.
    pub(crate) fn sunk(&self) -> f64 {
        let held = self.sheets.iter().filter(|(_, is_held)| *is_held);
        held.map(|&(sheet, _)| self.whole.sheets()[sheet].price.coins() as f64).sum()
    }
}

/// Which parts are kept to which sheets, and what is clear, in the terms of the search.
fn for_search(whole: &Job, parts: &[usize], sheets: &[(usize, bool)]) -> Instructions {
    let told = whole.instructions();
    let mut instructions = Instructions::default();
    for (part, &old) in parts.iter().enumerate() {
        if told.sheets_of(old).is_some() {
            let on = (0..sheets.len()).filter(|&sheet| told.allow(old, sheets[sheet].0)).collect();
            instructions.kept_to.push(KeptTo { part, sheets: on });
        }
    }
    for (sheet, &(old, is_held)) in sheets.iter().enumerate() {
        let clear = told.reserved_on(old).map(|(_, area)| area.clone());
        let held = told
            .held_on(old)
            .filter(|_| is_held)
            .map(|(_, hold)| whole.parts()[hold.part].shape.transformed(hold.position));
        instructions.reserved.extend(clear.chain(held).map(|area| Reserved { sheet, area }));
    }
    instructions
}

/// A sheet with what it counts for in place of what it costs.
fn counted(sheet: &Sheet, standing: Option<Standing>, dread: f64) -> Sheet {
    let mut counted = sheet.clone();
    let by_length = |rate: &dyn Fn(OpenLength) -> f64| {
        sheet.open_length.map(|terms| OpenLength { price_per_length: rate(terms), ..terms })
    };
    match standing {
        None => {}
        Some(Standing::UsedUp) => {
            (counted.price, counted.leftover_worth, counted.scrap_worth) = (Money::ZERO, 0.0, 0.0);
            counted.open_length = by_length(&|_| 0.0);
        }
        Some(Standing::Preferred) => {
            counted.price = Money::round(PREFERRED * sheet.price.coins() as f64);
            counted.open_length = by_length(&|terms| PREFERRED * terms.price_per_length);
        }
        Some(Standing::Avoided) => {
            counted.price = sheet.price + Money::round(dread);
            counted.open_length = by_length(&|terms| terms.price_per_length + dread / terms.order_length(0.0));
        }
    }
    counted
}

/// What an avoided sheet counts for beside its price, in the smallest coin.
fn dread(job: &Job) -> f64 {
    let pieces: f64 = job.parts().iter().map(|part| f64::from(part.quantity)).sum();
    let all = |sheet: &Sheet| {
        let one = sheet
            .open_length
            .map_or(sheet.price.coins() as f64, |terms| terms.price_per_length * sheet.shape.bounds().width());
        one * sheet.quantity.map_or(pieces, f64::from).min(pieces)
    };
    (AVOIDED.0 * job.sheets().iter().map(all).sum::<f64>() + AVOIDED.1).min(MOST_DREADED)
}
