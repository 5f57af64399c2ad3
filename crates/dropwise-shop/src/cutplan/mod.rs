//! What to do in which order with the tools at hand.
//!
//! The order keeps the sheet clampable for as long as possible: round holes and inside corners while it is whole, then
//! openings, then what a shear can do in full-width cuts, then the outlines, farthest from the datum first, so that the
//! datum edge stays on the piece in the clamp. Of one part, the side that faces the datum is cut last.
//!
//! A rough plan for a person to judge, not an instruction: times and wheels are worked out from rates that are mostly
//! common practice, and the cautions say who decides.
//!
//! # Examples
//! ```
//! use dropwise_geometry::{Isometry, Outline, Point, Shape, Unit};
//! use dropwise_model::*;
//! use dropwise_shop::cutplan::{CutPlan, ShopTools};
//! use dropwise_shop::{Material, Thickness};
//! let shape = |x, y| Shape::new(Outline::rectangle(Point::ORIGIN, x, y), Vec::new());
//! let class = StockClass::new("mild steel, 3 mm");
//! let part = Part {
//!     name: "strap".into(), shape: shape(100.0, 50.0), quantity: 1, class: class.clone(),
//!     turns: Turns::Any, may_flip: false, need: Need::Required,
//! };
//! let sheet = Sheet {
//!     name: "drop".into(), shape: shape(400.0, 300.0), damage: Vec::new(), class, quantity: None, price: Money::ZERO,
//!     grain_deg: None, location: String::new(), open_length: None, leftover_worth: 0.0, scrap_worth: 0.0, weight: 0.0,
//! };
//! let rule = LeftoverRule { length: 100.0, width: 100.0, neck: 10.0 };
//! let job = Job::new(vec![part], vec![sheet], Clearances::default(), rule)?;
//! // In the lower left corner: two sides are there already.
//! let placements = vec![Placement { part: 0, position: Isometry::IDENTITY }];
//! let on_sheet = SheetUse { sheet: 0, length: None, placements };
//! let steel = (Material::MildSteel, Thickness::new(3.0)?);
//! let plan = CutPlan::of_sheet(&job, &on_sheet, steel, &ShopTools::beside(Unit::Millimetre))?;
//! assert_eq!(plan.totals.cutters[0].length, 150.0);
//! assert_eq!(plan.totals.on_edge, 150.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod edges;
mod order;
mod shear;
#[cfg(test)]
mod tests;
mod tools;
mod totals;

use dropwise_geometry::{Bounds, Point, Segment, Shape};
use dropwise_model::{Job, SheetUse};

pub use edges::{Cut, EndOfCut, InsideCorner, Manner, RoundCut};
pub use shear::{ShearCut, ShearPlan, SheetBox, shear};
pub use tools::{CutSpeed, Rate, ShearTool, ShopTools, WorkRates};
pub use totals::{CutTotals, CutterTotal, USUAL_HOUR, coins_per_set_up, goes_round};

use crate::caution::{Caution, Undertaking, cautions};
use crate::markout::{Datum, MarkOutError};
use crate::material::Material;
use crate::process::Process;
use crate::thickness::Thickness;

/// The plan for one sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct CutPlan {
    /// Where its distances run from: the same datum as that of the mark-out table.
    pub datum: Datum,
    /// What to do, in order.
    pub steps: Vec<Step>,
    /// All inside corners, with and without a tool that makes them.
    pub corners: Vec<InsideCorner>,
    /// What a shear can do of this sheet, whether or not the shop has one: with the shop's own length where it has, of
    /// any length otherwise. Boxes are placements; those in another part's opening come last among the stuck ones.
    pub shear: ShearPlan,
    /// Whether the shop's own shear takes this sheet, so that the steps use it.
    pub is_shear_used: bool,
    /// Lengths, counts, time, wheels.
    pub totals: CutTotals,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

impl CutPlan {
    /// What must be said beside the plan, as far as it applies. Lengths are written by `length`.
    #[must_use]
    pub fn statements(&self) -> Vec<String> {
        let mut said = vec![
            "Clamp the sheet on the side of the datum; work from the far end towards it. Where a cut sets a part free, \
             clamp both sides of it first."
                .to_owned(),
        ];
        if self.corners.iter().any(|corner| corner.tool.is_some()) {
            said.push(
                "Inside corners with a hole saw or drill: mark both tangent points, make the hole first, then let the \
                 straight cuts end in it."
                    .to_owned(),
            );
        }
        let cuts = || self.steps.iter().filter_map(|step| if let Step::Cut(cut) = step { Some(cut) } else { None });
        if cuts().any(|cut| cut.ends.contains(&EndOfCut::StopShort)) {
            said.push(
                "Inside corners without a hole: stop short of the corner, since a round wheel or blade reaches further \
                 on the face than through the sheet, and finish with a file or hacksaw."
                    .to_owned(),
            );
        }
        if self.is_shear_used {
            said.push(
                "Scribe all lines before the first stroke of the shear: a piece that comes off has lost the datum."
                    .to_owned(),
            );
        }
        said.push("Times and wheels are rough, from the rates below; your own stopwatch is better.".to_owned());
        said
    }

    /// What holds for this sheet alone and must not be missed: edges that no tool makes, parts that cannot be sheared.
    #[must_use]
    pub fn warnings(&self, length: impl Fn(f64) -> String) -> Vec<String> {
        let mut said = Vec::new();
        if self.totals.undone > 0.0 {
            said.push(format!(
                "{} of edges cannot be cut with the tools listed: chain-drill and file them, borrow a tool, or change \
                 the radius to one a hole saw makes.",
                length(self.totals.undone)
            ));
        }
        if self.is_shear_used && !self.shear.stuck.is_empty() {
            said.push(
                "Not all of this sheet can be sheared: some parts lie so that no full-width cut parts them.".to_owned(),
            );
        }
        said
    }
}

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Make a round hole.
    Hole(RoundCut),
    /// Make the hole that is an inside corner, by its index in [`CutPlan::corners`], and mark its tangent points.
    Corner(usize),
    /// A stroke of the shear.
    Stroke(ShearCut),
    /// Cut along a side.
    Cut(Cut),
}

impl CutPlan {
    /// The plan for one nested sheet of a metal and thickness.
    ///
    /// # Errors
    /// [`MarkOutError::NoSuch`] when the layout does not belong to the job.
    pub fn of_sheet(
        job: &Job,
        sheet_use: &SheetUse,
        (material, thickness): (Material, Thickness),
        tools: &ShopTools,
    ) -> Result<Self, MarkOutError> {
        let no_such = |kind, index, count| MarkOutError::NoSuch { kind, index, count };
        let count = job.sheets().len();
        let sheet = job.sheets().get(sheet_use.sheet).ok_or(no_such("sheet", sheet_use.sheet, count))?;
        let stock = sheet.bought_shape(sheet_use.length);
        let mut parts = Vec::with_capacity(sheet_use.placements.len());
        for placement in &sheet_use.placements {
            let count = job.parts().len();
            let part = job.parts().get(placement.part).ok_or(no_such("part", placement.part, count))?;
            parts.push(part.shape.transformed(placement.position));
        }
        let datum = Datum::of(&stock);
        let thickness = thickness.millimetres();
        let tools = &tools.in_sheet(thickness);

        let depths = order::depths(&parts);
        let own = tools.shear.filter(|shear| shear.thickest >= thickness);
        let longest = own.map_or(f64::INFINITY, |shear| shear.length);
        let shear = shear_around_openings(&stock, &parts, &depths, &datum, longest);
        let mut is_sheared = vec![false; parts.len()];
        if own.is_some() {
            shear.free.iter().for_each(|&index| is_sheared[index] = true);
        }
        let strokes: &[ShearCut] = if own.is_some() { &shear.cuts } else { &[] };

        let work = edges::Sorter { tools, stock: &stock, parts: &parts, datum, is_sheared: &is_sheared }.sort();
        let totals = CutTotals::of(&work, strokes.len(), thickness, &tools.rates);
        let mut processes: Vec<Process> = totals.cutters.iter().map(|total| total.process).collect();
        if !strokes.is_empty() {
            processes.push(Process::Shear);
        }
        let cautions = cautions(&Undertaking {
            materials: &[material],
            processes: &processes,
            has_drilling: totals.drilled + totals.sawn > 0,
            has_bending: false,
            heaviest: sheet.weight * stock.area(),
        });
        let steps = order::steps(&work, strokes, &parts, &depths, &datum);
        Ok(Self { datum, steps, corners: work.corners, is_shear_used: !strokes.is_empty(), shear, totals, cautions })
    }
}

/// What a shear can do with the parts that lie in no other's opening. Those that do come out before any stroke, so they
/// are in nobody's way, and no shear reaches them.
fn shear_around_openings(stock: &Shape, parts: &[Shape], depths: &[usize], datum: &Datum, longest: f64) -> ShearPlan {
    let outer: Vec<usize> = (0..parts.len()).filter(|&index| depths[index] == 0).collect();
    let boxes: Vec<SheetBox> = outer.iter().map(|&index| box_around(&parts[index], datum)).collect();
    let mut plan = shear::shear(box_around(stock, datum), &boxes, longest);
    let renumber = |indices: &mut Vec<usize>| indices.iter_mut().for_each(|index| *index = outer[*index]);
    renumber(&mut plan.free);
    plan.stuck.iter_mut().for_each(renumber);
    plan.stuck.extend((0..parts.len()).filter(|&index| depths[index] > 0).map(|index| vec![index]));
    plan
}

/// The box around a shape in the distances of a datum.
fn box_around(shape: &Shape, datum: &Datum) -> SheetBox {
    let distances = |point: Point| {
        let [along, square] = datum.distances(point);
        Point::new(along, square)
    };
    let bounds = shape.exterior().segments().fold(Bounds::EMPTY, |bounds, side| {
        let bulge = if let Segment::Arc { arc, .. } = side { (arc.sweep / 4.0).tan() } else { 0.0 };
        bounds.union(Segment::new(distances(side.start()), distances(side.end()), bulge).bounds())
    });
    SheetBox { from: [bounds.min.x, bounds.min.y], to: [bounds.max.x, bounds.max.y] }
}
