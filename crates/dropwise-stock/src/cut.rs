//! From plan to rack: what a plan that was cut used up and left over.

use dropwise_geometry::{Fault, Outline, Polygon, Shape};
use dropwise_model::{Job, Plan, Sheet, SheetFigures};

use crate::actions::new_sheet_faults;
use crate::error::{CutRefusal, StockError, StockFault};
use crate::log::Writing;
use crate::{
    Change, CutSheet, DetailFault, Details, EventNumber, LeftoverSheet, NewSheet, Receipt, Role, State, StockLog,
    StockSheet, Tag, projection_table,
};

/// What a plan does to the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct CutPlan {
    /// Its name, for people: that of the job, or of the plan's file.
    pub name: String,
    /// The sheets it cuts.
    pub sheets: Vec<PlannedSheet>,
}

/// A sheet that a plan cuts.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedSheet {
    /// Which.
    pub source: Source,
    /// Area of the parts on it, mm².
    pub parts_area: f64,
    /// What goes back into the rack, in the sheet's own coordinates.
    pub leftovers: Vec<Shape>,
}

/// Where a sheet that a plan cuts comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Source {
    /// From the rack.
    Held {
        /// Its tag.
        tag: Tag,
        /// Its [`StockSheet::revision`] when the plan was made.
        revision: EventNumber,
    },
    /// It was bought to be cut; that is recorded in the same transaction, as an event of its own.
    Bought(Box<NewSheet>),
}

impl CutPlan {
    /// What a nested plan does to the rack. `source` tells where each sheet comes from; it is asked once for each use, in
    /// the order of the plan's layout, with the sheet and the length bought of stock sold by length.
    #[must_use]
    pub fn of(name: &str, job: &Job, plan: &Plan, mut source: impl FnMut(&Sheet, Option<f64>) -> Source) -> Self {
        let uses = plan.layout().sheets.iter().zip(&plan.figures().sheets);
        let sheets =
            uses.map(|(used, figures)| PlannedSheet::of(source(&job.sheets()[used.sheet], used.length), figures));
        Self { name: name.to_owned(), sheets: sheets.collect() }
    }
}

impl PlannedSheet {
    /// A sheet from this source, cut as the figures of a plan say.
    #[must_use]
    pub fn of(source: Source, figures: &SheetFigures) -> Self {
        let leftovers = figures.leftovers.iter().map(|leftover| shape_of(&leftover.outline)).collect();
        Self { source, parts_area: figures.net_area, leftovers }
    }
}

/// A polygon as a shape of straight lines.
fn shape_of(polygon: &Polygon) -> Shape {
    let ring = |points: &Vec<_>| Outline::polygon(points.iter().copied());
    Shape::new(ring(&polygon.exterior), polygon.holes.iter().map(ring).collect())
}

/// Areas of a sheet and of what came of it may miss each other by this share of the sheet: outlines of leftovers have
/// their arcs flattened.
const AREA_TOLERANCE: f64 = 1e-4;

impl StockLog {
    /// Records that a plan was cut: its sheets are used up, its leftovers lie in the rack, each with a tag, the sheet's
    /// metal and papers, and its share of what the sheet carried. All of it is recorded, or nothing. When the same was
    /// recorded before and undone, the leftovers get the tags they had.
    ///
    /// A sheet's money is shared by area: each leftover takes its area's share of the sheet's, to the coin; the rest is
    /// charged to the parts, which pay for the scrap and for what the cut ate. The tags of the receipt are those of the
    /// leftovers, in the plan's order. Leftovers lie where their sheet lay until they are moved.
    ///
    /// # Errors
    /// [`StockFault::CutRefused`] with every reason: a sheet was changed or used since the plan was made, among others.
    pub fn record_cut(&mut self, plan: &CutPlan, cause: &str) -> Result<Receipt, StockError> {
        self.write(|writing| {
            crate::log::check_text("the plan's name", &plan.name)?;
            let reasons = writing.refusals(plan)?;
            if !reasons.is_empty() {
                return Err(StockFault::CutRefused { reasons });
            }
            let mut given = Vec::new();
            let new: Vec<NewSheet> = plan.sheets.iter().filter_map(|sheet| bought(&sheet.source).cloned()).collect();
            let mut new_tags = Vec::new();
            if !new.is_empty() {
                let sheets = writing.tagged(new, &mut given)?;
                new_tags = writing.append(cause, Change::Bought { sheets })?.tags;
            }
            let mut new_tags = new_tags.into_iter();
            let mut sheets = Vec::new();
            for planned in &plan.sheets {
                let tag = match planned.source {
                    Source::Held { tag, .. } => tag,
                    Source::Bought(_) => {
                        new_tags.next().unwrap_or_else(|| unreachable!("one tag for each piece bought"))
                    }
                };
                let held = writing.held(tag)?;
                sheets.push(writing.cut(&held, planned, &mut given)?);
            }
            let query = "SELECT count(*) + 1 FROM event WHERE kind = ?1";
            let number = writing.transaction.query_row(query, [Role::Cut.name()], |row| row.get(0))?;
            writing.append(cause, Change::Cut { plan: number, name: plan.name.clone(), sheets })
        })
    }
}

fn bought(source: &Source) -> Option<&NewSheet> {
    match source {
        Source::Held { .. } => None,
        Source::Bought(sheet) => Some(sheet),
    }
}

impl Writing<'_> {
    /// What becomes of one sheet.
    fn cut(&mut self, held: &StockSheet, planned: &PlannedSheet, given: &mut Vec<Tag>) -> Result<CutSheet, StockFault> {
        let gross_area = held.details.area();
        let areas: Vec<f64> = planned.leftovers.iter().map(Shape::area).collect();
        let kept: f64 = areas.iter().sum();
        let mut weights = areas;
        weights.push((gross_area - kept).max(0.0));
        let mut shares = held.cost.split(&weights);
        let charged = shares.pop().unwrap_or(held.cost);
        let mut leftovers = Vec::new();
        let known = self.leftovers_taken_back(held.tag)?;
        for (shape, share) in planned.leftovers.iter().zip(shares) {
            let again = known.iter().find(|(other, tag)| other == shape && !given.contains(tag));
            let tag = match again {
                Some((_, tag)) if projection_table::sheet(self.transaction, *tag)?.is_none() => *tag,
                _ => self.fresh_tag(given)?,
            };
            given.push(tag);
            // A photo of the sheet shows no leftover, and a note on it may no longer be true.
            let (photo, notes) = (String::new(), String::new());
            let details = Details { shape: shape.clone(), damage: Vec::new(), photo, notes, ..held.details.clone() };
            leftovers.push(LeftoverSheet { tag, details, share });
        }
        let scrap_area = (gross_area - planned.parts_area - kept).max(0.0);
        Ok(CutSheet {
            tag: held.tag,
            purchase: held.purchase,
            gross_area,
            parts_area: planned.parts_area,
            scrap_area,
            scrap_kg: scrap_area * held.details.weight_per_area(),
            charged,
            leftovers,
        })
    }

    /// What was left over from a sheet in cuts that were undone, with the tags it had. They may stand on the metal in chalk:
    /// what is left over again just so gets its tag back.
    fn leftovers_taken_back(&self, tag: Tag) -> Result<Vec<(Shape, Tag)>, StockFault> {
        let mut known = Vec::new();
        for event in projection_table::events_of(self.transaction, tag, EventNumber(0))? {
            let Change::Cut { sheets, .. } = event.change else { continue };
            if projection_table::undone_by(self.transaction, event.number)?.is_some() {
                let cut = sheets.into_iter().filter(|sheet| sheet.tag == tag).flat_map(|sheet| sheet.leftovers);
                known.extend(cut.map(|piece| (piece.details.shape, piece.tag)));
            }
        }
        Ok(known)
    }

    /// Everything that speaks against recording a plan.
    fn refusals(&self, plan: &CutPlan) -> Result<Vec<CutRefusal>, StockFault> {
        let mut reasons = Vec::new();
        if plan.sheets.is_empty() {
            reasons.push(CutRefusal::Empty);
        }
        let mut seen = Vec::new();
        for planned in &plan.sheets {
            let (name, gross) = match &planned.source {
                Source::Bought(new) => {
                    let faults = new_sheet_faults(new);
                    if !faults.is_empty() {
                        reasons.push(CutRefusal::Details { name: "a new sheet".to_owned(), faults });
                        continue;
                    }
                    ("a new sheet".to_owned(), new.details.area())
                }
                Source::Held { tag, revision } => {
                    if seen.contains(tag) {
                        reasons.push(CutRefusal::Twice { tag: *tag });
                        continue;
                    }
                    seen.push(*tag);
                    match self.standing(*tag, *revision)? {
                        Ok(sheet) => (tag.to_string(), sheet.details.area()),
                        Err(reason) => {
                            reasons.push(reason);
                            continue;
                        }
                    }
                }
            };
            reasons.extend(metal_refusals(name, gross, planned));
        }
        Ok(reasons)
    }

    /// A sheet that is as it was when the plan was made, or why it is not.
    fn standing(&self, tag: Tag, planned: EventNumber) -> Result<Result<StockSheet, CutRefusal>, StockFault> {
        let now = match projection_table::sheet(self.transaction, tag)? {
            Some(sheet) if sheet.revision == planned && sheet.state == State::InRack => return Ok(Ok(sheet)),
            sheet => sheet.map(|sheet| sheet.revision),
        };
        if now.is_none() && !projection_table::is_used(self.transaction, tag)? {
            return Ok(Err(CutRefusal::Unknown { tag }));
        }
        let events = projection_table::events_of(self.transaction, tag, planned)?;
        let since = events.iter().filter(|event| event.change.kind() != Role::Moved);
        let by = since.map(|event| event.summary(tag)).collect();
        Ok(Err(CutRefusal::Changed { tag, planned, now, by }))
    }
}

/// What speaks against the metal that is said to come of a sheet.
fn metal_refusals(name: String, gross: f64, planned: &PlannedSheet) -> Vec<CutRefusal> {
    let mut reasons = Vec::new();
    let faults: Vec<DetailFault> = planned.leftovers.iter().flat_map(grave_faults).collect();
    let sum = planned.parts_area + planned.leftovers.iter().map(Shape::area).sum::<f64>();
    if !faults.is_empty() {
        reasons.push(CutRefusal::Details { name, faults });
    } else if !(planned.parts_area >= 0.0 && sum <= gross * (1.0 + AREA_TOLERANCE)) {
        // Written so that a sum that is no number is refused too.
        reasons.push(CutRefusal::Area { name, sum, gross });
    }
    reasons
}

/// What makes an outline no outline. Touching sides, which a drawing must not have, are no fault in what a computed plan
/// leaves over.
pub(crate) fn grave_faults(shape: &Shape) -> Vec<DetailFault> {
    let is_grave = |fault: &Fault| {
        matches!(fault, Fault::NotFinite { .. } | Fault::TooFewVertices { .. } | Fault::ZeroArea { .. })
    };
    shape.faults().into_iter().filter(is_grave).map(DetailFault::Shape).collect()
}
