//! From a document back to job, plan and cost, all proved and worked out afresh.

mod compare;
mod fault;

use std::path::Path;

use dropwise_geometry::{Isometry, Outline, Point, Shape, Unit, Vertex, shortened};
use dropwise_model::{
    Clearances, Hold, Instructions, Job, KeptTo, Layout, LeftoverRule, Money, Need, OpenLength, Part, Plan, PlanError,
    Provenance, Reserved, Sheet, Standing, StockClass, Turns, certify,
};
use dropwise_shop::bend::ToleranceClass;
use dropwise_shop::markout::full_circle;
use dropwise_shop::pattern::RoundHole;
use dropwise_shop::{Coinage, CuttingRate, Material, PartWork, PlanCost, Process, Rates, Shop, Thickness, WeightRule};

pub use fault::{PlanFault, PlanFaultKind};

use super::types::{
    CuttingRateEntry, DrawingNoteEntry, InstructionsEntry, PartEntry, PlanDocument, ReasonEntry, RingEntry, ShapeEntry,
    StandingWord, StockEntry, TurnsEntry,
};
use crate::drawing::Severity;
use crate::job_file::{LONGEST, LoadedJob, Note, PartDetail, Place, RackMark, SheetDetail};
use crate::shop_file::parse_shop;

/// A plan made anew from its document.
#[derive(Clone, Debug, PartialEq)]
pub struct RebuiltPlan {
    /// The job. What the document does not hold is empty: notes, prices as they were written, forms of bent
    /// parts; and the shop is the usual one unless the document carries another.
    pub loaded: LoadedJob,
    /// The plan, certified again.
    pub plan: Plan,
    /// Its cost, worked out again.
    pub cost: PlanCost,
}

/// Amounts beyond this are slips of the keyboard, and their sums would overflow.
const MOST_COINS: i64 = 1_000_000_000_000_000;

/// More parts or sheets than this are no shop's, and would only keep a machine busy.
const MOST_ENTRIES: usize = 100_000;

impl PlanDocument {
    /// Makes job, plan and cost anew from the document alone, so that it can be drawn without the job file.
    ///
    /// Nothing in it is believed: outlines are checked, the layout is certified on them, figures and cost are worked out
    /// again, and what stands in the document must agree with all that to a millionth. `path` names it in places.
    ///
    /// # Errors
    /// All faults found at the first of these steps that finds any.
    pub fn rebuild(&self, path: &Path) -> Result<RebuiltPlan, Vec<PlanFault>> {
        let rebuilt = self.made_anew(path, |_, _| Ok(self.provenance.lower_bound))?;
        let RebuiltPlan { loaded, plan, cost } = &rebuilt;
        let changed = compare::changes(self, &Self::new(loaded, plan, cost));
        if changed.is_empty() { Ok(rebuilt) } else { Err(changed) }
    }

    /// Proves a plan that was changed by hand, and makes its document anew: what was decided is taken from this one, what
    /// follows is worked out afresh, whatever stands here of it.
    ///
    /// Decided are the job, its parts and its stock, and for each sheet that is cut which one it is, how much of it is bought
    /// and where each part lies; also what shop checks and brakes made of the parts. All else follows. `bound` tells what no
    /// plan can undercut, in the smallest coin, or why that cannot be known.
    ///
    /// # Errors
    /// All faults found at the first step that finds any; [`PlanFaultKind::NotValid`] for what does not hold.
    pub fn renewed(
        &self,
        path: &Path,
        bound: impl FnOnce(&Job, &Layout) -> Result<Option<i64>, String>,
    ) -> Result<(Self, RebuiltPlan), Vec<PlanFault>> {
        let faults = self.names_that_differ();
        if !faults.is_empty() {
            return Err(faults);
        }
        // Bounds are asked for of sound layouts only.
        let bound_if_sound =
            |job: &Job, layout: &Layout| if certify(job, layout).is_ok() { bound(job, layout) } else { Ok(None) };
        let rebuilt = self.made_anew(path, bound_if_sound)?;
        let mut renewed = Self::new(&rebuilt.loaded, &rebuilt.plan, &rebuilt.cost);
        for (new, old) in renewed.parts.iter_mut().zip(&self.parts) {
            let old = old.clone();
            (new.bends, new.faces, new.bending, new.by_hand) = (old.bends, old.faces, old.bending, old.by_hand);
            (new.findings, new.features) = (old.findings, old.features);
        }
        Ok((renewed, rebuilt))
    }

    /// Placements and sheets whose name is another than that of the part or stock they point to: one of both was forgotten.
    fn names_that_differ(&self) -> Vec<PlanFault> {
        let mut faults = Vec::new();
        let mut look = |place: String, found: &str, list: &str, index: usize, known: Option<&str>| {
            if let Some(known) = known.filter(|known| *known != found) {
                let (found, known) = (shortened(found), shortened(known));
                let problem =
                    format!("\"{found}\" stands here, but {list}[{index}] is \"{known}\"; change both or neither");
                faults.push(fault::refused(&place, problem));
            }
        };
        for (on, sheet) in self.sheets.iter().enumerate() {
            let known = self.stock.get(sheet.sheet).map(|stock| stock.name.as_str());
            look(format!("sheets[{on}].name"), &sheet.name, "stock", sheet.sheet, known);
            for (index, placement) in sheet.placements.iter().enumerate() {
                let known = self.parts.get(placement.part).map(|part| part.name.as_str());
                let place = format!("sheets[{on}] \"{}\".placements[{index}].name", shortened(&sheet.name));
                look(place, &placement.name, "parts", placement.part, known);
            }
        }
        faults
    }

    /// Job, plan and cost, from what was decided alone.
    fn made_anew(
        &self,
        path: &Path,
        bound: impl FnOnce(&Job, &Layout) -> Result<Option<i64>, String>,
    ) -> Result<RebuiltPlan, Vec<PlanFault>> {
        let mut builder = Builder { faults: Vec::new() };
        let loaded = builder.job(self, path);
        let (Some(loaded), true) = (loaded, builder.faults.is_empty()) else { return Err(builder.faults) };
        let Ok(seed) = self.provenance.seed.parse() else {
            return Err(vec![fault::unknown("provenance.seed", &self.provenance.seed, "a whole number in digits")]);
        };
        let layout = self.layout();
        let lower_bound =
            bound(&loaded.job, &layout).map_err(|problem| vec![fault::refused("provenance.lower_bound", problem)])?;
        let provenance = Provenance {
            seed,
            rounds: self.provenance.rounds,
            chains: self.provenance.chains,
            lower_bound,
            went_on_from: self.provenance.went_on_from.clone(),
        };
        let plan = Plan::new(&loaded.job, layout, provenance).map_err(|error| match error {
            PlanError::Invalid(violations) => {
                violations.into_iter().map(|violation| fault::not_valid(violation, self)).collect()
            }
            PlanError::BelowBound { .. } => vec![fault::refused("provenance.lower_bound", error)],
            other => vec![fault::refused("sheets", error_with_cause(&other))],
        })?;
        let work: Vec<PartWork> = loaded.parts.iter().map(|detail| detail.work).collect();
        let cost = PlanCost::new(plan.figures(), &work, &loaded.rates)
            .map_err(|errors| errors.into_iter().map(|error| fault::refused("job.rates", error)).collect::<Vec<_>>())?;
        Ok(RebuiltPlan { loaded, plan, cost })
    }
}

/// Reads entry after entry and collects what is wrong.
pub(super) struct Builder {
    pub(super) faults: Vec<PlanFault>,
}

impl Builder {
    pub(super) fn job(&mut self, document: &PlanDocument, path: &Path) -> Option<LoadedJob> {
        let entry = &document.job;
        if document.stock.is_empty() && !document.sheets.is_empty() {
            self.faults.push(PlanFault { place: "stock".to_owned(), kind: PlanFaultKind::Older });
            return None;
        }
        if document.parts.len().max(document.stock.len()) > MOST_ENTRIES {
            let problem = format!("it has more than {MOST_ENTRIES} kinds of parts or sheets");
            self.faults.push(fault::refused("parts", problem));
            return None;
        }
        let unit = self.word("job.unit", &entry.unit, |word| word.parse::<Unit>().ok(), "mm, cm, m, in or ft");
        let coinage = Coinage::new(entry.currency_decimals);
        let coinage = self.accepted("job.currency_decimals", coinage);
        let rules = [WeightRule::TrueDensity, WeightRule::GaugeBook];
        let rule_of = |word: &str| rules.into_iter().find(|rule| rule.name() == word);
        let weight_rule = self.word("job.weights", &entry.weights, rule_of, "one of the two rules that plans name");
        let process = entry.process.as_ref().map_or(Some(None), |name| {
            self.word("job.process", name, |word| word.parse::<Process>().ok(), "a way to cut, such as plasma")
                .map(Some)
        });
        let clearances = self.accepted("job", Clearances::new(entry.kerf, entry.web, entry.margin));
        for (key, value) in [
            ("job.leftover_length", entry.leftover_length),
            ("job.leftover_width", entry.leftover_width),
            ("job.leftover_neck", entry.leftover_neck),
        ] {
            self.length(key, value);
        }
        let leftover_rule =
            LeftoverRule { length: entry.leftover_length, width: entry.leftover_width, neck: entry.leftover_neck };
        let shop = self.shop(entry.shop.as_deref(), unit);
        let tolerances = self.tolerances(entry.general_tolerances.as_deref());
        let rates = self.rates(document);
        let parts: Vec<Option<(Part, PartDetail)>> =
            document.parts.iter().enumerate().map(|(index, part)| self.part(index, part, path)).collect();
        let sheets: Vec<Option<(Sheet, SheetDetail)>> =
            document.stock.iter().enumerate().map(|(index, sheet)| self.sheet(index, sheet, path)).collect();
        for (index, unplaced) in document.unplaced.iter().enumerate() {
            if let ReasonEntry::TooLarge { nearest_sheet, .. } = unplaced.reason
                && nearest_sheet >= document.stock.len()
            {
                let problem = format!("there is no sheet {nearest_sheet} in `stock`, which counts from 0");
                self.faults.push(fault::refused(&format!("unplaced[{index}].reason"), problem));
            }
        }
        if !self.faults.is_empty() {
            return None;
        }
        let (parts, part_details) = parts.into_iter().flatten().unzip();
        let (sheets, mut sheet_details): (Vec<Sheet>, Vec<SheetDetail>) = sheets.into_iter().flatten().unzip();
        for used in &document.sheets {
            if let (Some(detail), Some(tag), Some(revision)) =
                (sheet_details.get_mut(used.sheet), &used.tag, used.revision)
            {
                detail.rack = Some(RackMark { tag: tag.clone(), revision });
            }
        }
        let job = self.accepted("job", Job::new(parts, sheets, clearances?, leftover_rule))?;
        let job = self.told(job, document.instructions.as_ref())?;
        Some(LoadedJob {
            name: entry.name.clone(),
            shop: shop?,
            shop_text: entry.shop.clone(),
            unit: unit?,
            currency: entry.currency.clone(),
            coinage: coinage?,
            job,
            parts: part_details,
            sheets: sheet_details,
            process: process?,
            tolerances: tolerances?,
            weight_rule: weight_rule?,
            rates,
            // Each sheet has its own already.
            leftover_worth: None,
            scrap_worth: None,
            notes: Vec::new(),
            drawings: Vec::new(),
        })
    }

    /// The job with what was asked of its plan.
    fn told(&mut self, job: Job, entry: Option<&InstructionsEntry>) -> Option<Job> {
        let Some(entry) = entry else { return Some(job) };
        let held = entry.held.iter().map(|held| Hold {
            part: held.part,
            sheet: held.sheet,
            position: Isometry::new(held.is_flipped, held.turn_deg, held.x, held.y),
        });
        let kept = entry.kept_to.iter().map(|kept| KeptTo { part: kept.part, sheets: kept.sheets.clone() });
        let mut reserved = Vec::new();
        for (index, one) in entry.reserved.iter().enumerate() {
            reserved.push(Reserved {
                sheet: one.sheet,
                area: self.shape(&format!("instructions.reserved[{index}]"), &one.area)?,
            });
        }
        let standing = entry.standing.iter().map(|one| {
            let standing = match one.standing {
                StandingWord::UseUp => Standing::UsedUp,
                StandingWord::Prefer => Standing::Preferred,
                StandingWord::Avoid => Standing::Avoided,
            };
            (one.sheet, standing)
        });
        let instructions =
            Instructions { held: held.collect(), kept_to: kept.collect(), reserved, standing: standing.collect() };
        let told = job.with_instructions(instructions);
        let told = told.map_err(|faults| {
            self.faults.extend(faults.into_iter().map(|one| fault::refused("instructions", one)));
        });
        told.ok()
    }

    /// The class of general tolerances that the document names, if any.
    fn tolerances(&mut self, word: Option<&str>) -> Option<Option<ToleranceClass>> {
        let Some(word) = word else { return Some(None) };
        let found = ToleranceClass::ALL.into_iter().find(|class| class.word() == word);
        if found.is_none() {
            let problem = format!("\"{}\" is no class of ISO 2768-1", shortened(word));
            self.faults.push(fault::refused("job.general_tolerances", problem));
        }
        found.map(Some)
    }

    /// The shop that the document carries, or the usual one.
    fn shop(&mut self, text: Option<&str>, unit: Option<Unit>) -> Option<Shop> {
        let Some(text) = text else { return unit.map(Shop::usual) };
        match parse_shop(Path::new("job.shop"), text, unit?) {
            Ok(shop) => Some(shop),
            Err(errors) => {
                self.faults.extend(errors.into_iter().map(|error| fault::refused("job.shop", error)));
                None
            }
        }
    }

    fn rates(&mut self, document: &PlanDocument) -> Rates {
        let entry = &document.job.rates;
        self.coins("job.rates.setup", entry.setup);
        let rates = Rates {
            cutting: entry.cutting.map(|cutting| match cutting {
                CuttingRateEntry::ByLength { coins_per_mm } => {
                    CuttingRate::ByLength { coins_per_millimetre: coins_per_mm }
                }
                CuttingRateEntry::ByTime { coins_per_hour, mm_per_minute } => {
                    CuttingRate::ByTime { coins_per_hour, millimetres_per_minute: mm_per_minute }
                }
            }),
            coins_per_hole: entry.hole,
            coins_per_bend: entry.bend,
            setup_per_batch: Money::from_coins(entry.setup),
        };
        self.faults.extend(rates.faults().into_iter().map(|error| fault::refused("job.rates", error)));
        rates
    }

    fn part(&mut self, index: usize, entry: &PartEntry, path: &Path) -> Option<(Part, PartDetail)> {
        let at = format!("parts[{index}] \"{}\"", shortened(&entry.name));
        let metal = self.metal(&at, &entry.material, entry.thickness);
        let shape = self.shape(&at, &entry.shape);
        if let Some(coins) = entry.ready_made_each {
            self.coins(&format!("{at}.ready_made_each"), coins);
        }
        self.notes(&at, entry);
        let turns = match &entry.turns {
            TurnsEntry::Any => Turns::Any,
            TurnsEntry::List { angles_deg } => Turns::List(angles_deg.clone()),
            TurnsEntry::Grain { along_deg } => Turns::Grain { along_deg: *along_deg },
        };
        let (material, thickness) = metal?;
        let shape = shape?;
        let mut holes: Vec<RoundHole> = shape
            .holes()
            .iter()
            .filter_map(|ring| full_circle(ring, 1e-6))
            .map(|circle| RoundHole { diameter: 2.0 * circle.radius, center: circle.center, feature: None })
            .collect();
        holes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        let detail = PartDetail {
            material,
            thickness,
            work: PartWork {
                cut_length: entry.work.cut_length,
                drilled_holes: entry.work.drilled_holes,
                bends: entry.work.bends,
            },
            ready_made: entry.ready_made_each.map(Money::from_coins),
            holes,
            worked_holes: Vec::new(),
            bent: None,
            drawing_notes: drawing_notes(&entry.drawing_notes),
            place: Place { key: at, ..Place::file(path) },
        };
        let part = Part {
            name: entry.name.clone(),
            shape,
            quantity: entry.wanted,
            class: StockClass::new(&entry.class),
            turns,
            may_flip: entry.may_flip,
            need: if entry.is_required { Need::Required } else { Need::Filler },
        };
        Some((part, detail))
    }

    fn sheet(&mut self, index: usize, entry: &StockEntry, path: &Path) -> Option<(Sheet, SheetDetail)> {
        let at = format!("stock[{index}] \"{}\"", shortened(&entry.name));
        let metal = self.metal(&at, &entry.material, entry.thickness);
        let shape = self.shape(&at, &entry.shape);
        let damage: Vec<Option<Outline>> = entry
            .damage
            .iter()
            .enumerate()
            .map(|(zone, ring)| {
                let alone = ShapeEntry { outline: ring.clone(), holes: Vec::new() };
                self.shape(&format!("{at}.damage[{zone}]"), &alone)?;
                Some(ring_of(ring))
            })
            .collect();
        self.coins(&format!("{at}.price"), entry.price);
        let grain = entry.grain_deg.unwrap_or(0.0);
        if !grain.is_finite() {
            self.faults.push(fault::refused(&format!("{at}.grain_deg"), "it is no number"));
        }
        let (material, thickness) = metal?;
        let (shape, damage) = (shape?, damage.into_iter().collect::<Option<_>>()?);
        let sheet = Sheet {
            name: entry.name.clone(),
            shape,
            damage,
            class: StockClass::new(&entry.class),
            quantity: entry.quantity,
            price: Money::from_coins(entry.price),
            grain_deg: entry.grain_deg,
            location: entry.location.clone(),
            open_length: entry.by_length.map(|terms| OpenLength {
                increment: terms.increment,
                minimum: terms.minimum,
                price_per_length: terms.coins_per_mm,
            }),
            leftover_worth: entry.leftover_worth,
            scrap_worth: entry.scrap_worth,
            weight: entry.weight,
        };
        let place = Place { key: at, ..Place::file(path) };
        let drawing_notes = drawing_notes(&entry.drawing_notes);
        Some((sheet, SheetDetail { material, thickness, price: None, drawing_notes, place, rack: None }))
    }

    /// Bends and worked holes, which are drawn as they stand.
    fn notes(&mut self, at: &str, entry: &PartEntry) {
        for (index, bend) in entry.bends.iter().enumerate() {
            let place = format!("{at}.bends[{index}]");
            for value in [bend.from, bend.to].into_iter().flatten() {
                self.length(&place, value.abs());
            }
            let optional = bend.deduction.into_iter().chain(bend.setback);
            for value in bend.begins.into_iter().chain(bend.ends).flatten().flatten() {
                self.length(&place, value.abs());
            }
            for value in [bend.turn_deg, bend.inside_radius, bend.allowance, bend.k].into_iter().chain(optional) {
                self.length(&place, value.abs());
            }
        }
        for (index, face) in entry.faces.iter().enumerate() {
            let place = format!("{at}.faces[{index}]");
            for value in face.origin.into_iter().chain(face.x_axis) {
                self.length(&place, value.abs());
            }
            self.shape(&place, &face.region);
        }
        for (index, step) in entry.bending.iter().flat_map(|bending| &bending.steps).enumerate() {
            let place = format!("{at}.bending.steps[{index}]");
            for value in [step.die, step.punch_length, step.force].into_iter().chain(step.gauge) {
                self.length(&place, value.abs());
            }
            if let Some(bend) = step.bends.iter().find(|&&bend| bend >= entry.bends.len()) {
                let problem = format!("there is no bend {bend} in `bends`, which counts from 0");
                self.faults.push(fault::refused(&place, problem));
            }
        }
        for (index, step) in entry.by_hand.iter().flat_map(|by_hand| &by_hand.steps).enumerate() {
            let place = format!("{at}.by_hand.steps[{index}]");
            for value in step.fingers.iter().copied().chain([step.sight_line.abs()]) {
                self.length(&place, value);
            }
            if let Some(bend) = step.bends.iter().find(|&&bend| bend >= entry.bends.len()) {
                let problem = format!("there is no bend {bend} in `bends`, which counts from 0");
                self.faults.push(fault::refused(&place, problem));
            }
        }
        for (index, feature) in entry.features.iter().enumerate() {
            let place = format!("{at}.features[{index}]");
            for value in [feature.x.abs(), feature.y.abs(), feature.hole] {
                self.length(&place, value);
            }
        }
    }

    fn metal(&mut self, at: &str, material: &str, thickness: f64) -> Option<(Material, Thickness)> {
        let read = |word: &str| word.parse::<Material>().ok();
        let material = self.word(&format!("{at}.material"), material, read, "a metal, such as mild steel");
        let thickness = self.accepted(&format!("{at}.thickness"), Thickness::new(thickness));
        material.zip(thickness)
    }

    /// A shape that is sound and of a size that a shop has.
    fn shape(&mut self, at: &str, entry: &ShapeEntry) -> Option<Shape> {
        let shape = shape_of(entry);
        let is_near = |vertex: &Vertex| [vertex.point.x, vertex.point.y].iter().all(|value| value.abs() <= LONGEST);
        if !shape.rings().all(|ring| ring.vertices().iter().all(is_near)) {
            let problem = format!("it has a corner farther than {} m from the origin", LONGEST / 1000.0);
            self.faults.push(fault::refused(&format!("{at}.shape"), problem));
            return None;
        }
        let faults = shape.faults();
        let is_sound = faults.is_empty();
        self.faults.extend(faults.into_iter().map(|fault| fault::refused(&format!("{at}.shape"), fault)));
        is_sound.then_some(shape)
    }

    fn length(&mut self, key: &str, value: f64) {
        if !(0.0..=LONGEST).contains(&value) {
            let problem = format!("it is {value}; a length from 0 to {LONGEST} mm must stand here");
            self.faults.push(fault::refused(key, problem));
        }
    }

    fn coins(&mut self, key: &str, value: i64) {
        if !(-MOST_COINS..=MOST_COINS).contains(&value) {
            self.faults.push(fault::refused(key, format!("{value} is no amount that anybody pays")));
        }
    }

    fn word<T>(&mut self, key: &str, word: &str, read: impl Fn(&str) -> Option<T>, wanted: &'static str) -> Option<T> {
        let found = read(word);
        if found.is_none() {
            self.faults.push(fault::unknown(key, word, wanted));
        }
        found
    }

    fn accepted<T>(&mut self, key: &str, result: Result<T, impl ToString>) -> Option<T> {
        result.map_err(|error| self.faults.push(fault::refused(key, error))).ok()
    }
}

fn error_with_cause(error: &dyn std::error::Error) -> String {
    match error.source() {
        Some(cause) => format!("{error}: {cause}"),
        None => error.to_string(),
    }
}

pub(super) fn shape_of(entry: &ShapeEntry) -> Shape {
    Shape::new(ring_of(&entry.outline), entry.holes.iter().map(ring_of).collect())
}

fn ring_of(entry: &RingEntry) -> Outline {
    let vertices = entry.0.iter().map(|vertex| Vertex { point: Point::new(vertex.x, vertex.y), bulge: vertex.bulge });
    Outline::new(vertices.collect())
}

/// What was told of a drawing, with its place as words.
fn drawing_notes(entries: &[DrawingNoteEntry]) -> Vec<Note> {
    let note = |entry: &DrawingNoteEntry| Note {
        severity: if entry.is_warning { Severity::Warning } else { Severity::Info },
        place: Place::file(Path::new(&entry.place)),
        text: entry.text.clone(),
    };
    entries.iter().map(note).collect()
}
