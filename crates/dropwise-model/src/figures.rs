//! What a plan amounts to. Every figure is defined here once.

use crate::{Job, Layout, Leftover, Money};

/// The figures of a whole plan.
///
/// For each sheet and in total, `gross = net + leftover + kerf_loss + other_scrap`.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanFigures {
    /// One entry for each [`crate::SheetUse`], in the same order.
    pub sheets: Vec<SheetFigures>,
    /// One entry for each part of the job, in the same order.
    pub parts: Vec<PartFigures>,
    /// Outlines of the sheets used less their holes, mm².
    pub gross_area: f64,
    /// Outlines of the parts cut less their holes, mm².
    pub net_area: f64,
    /// Area of the leftovers kept, mm².
    pub leftover_area: f64,
    /// Area that the cut itself eats, mm².
    pub kerf_area: f64,
    /// What else is scrap, mm².
    pub other_scrap_area: f64,
    /// Prices of the sheets.
    pub sheets_price: Money,
    /// Worth of the leftovers kept.
    pub leftover_credit: Money,
    /// What the scrap is sold for.
    pub scrap_credit: Money,
    /// Cost of the material: prices less both credits.
    pub material_cost: Money,
    /// Weight of the sheets used, kg.
    pub gross_weight: f64,
    /// Weight of the parts, kg.
    pub net_weight: f64,
    /// Weight of the scrap, kerf included, kg.
    pub scrap_weight: f64,
}

/// The figures of one sheet that is cut.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetFigures {
    /// Outline less holes, mm².
    pub gross_area: f64,
    /// Parts on it less their holes, mm².
    pub net_area: f64,
    /// Leftovers kept, mm².
    pub leftover_area: f64,
    /// What the cut eats, mm².
    pub kerf_area: f64,
    /// What else is scrap, mm².
    pub other_scrap_area: f64,
    /// What it costs.
    pub price: Money,
    /// Worth of its leftovers.
    pub leftover_credit: Money,
    /// What its scrap is sold for.
    pub scrap_credit: Money,
    /// The pieces that go back into the rack, largest first.
    pub leftovers: Vec<Leftover>,
    /// Weight of the whole sheet, kg.
    pub gross_weight: f64,
}

/// The figures of one kind of part.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartFigures {
    /// How many lie on sheets.
    pub placed: u32,
    /// Outline less holes of one, mm².
    pub net_area: f64,
    /// Weight of one, kg; the average where its sheets differ; zero when none is placed.
    pub weight: f64,
    /// Length of all its rings, mm.
    pub cut_length: f64,
    /// Share of the material cost of all of it: each sheet's cost is shared by net area. The shares of all parts add
    /// up to the plan's material cost to the coin.
    pub material_cost: Money,
}

impl SheetFigures {
    /// Net over gross area.
    #[must_use]
    pub fn yield_ratio(&self) -> f64 {
        ratio(self.net_area, self.gross_area)
    }
}

impl PlanFigures {
    /// Net area of the parts cut over gross area of the sheets used; zero when no sheet is used.
    #[must_use]
    pub fn yield_ratio(&self) -> f64 {
        ratio(self.net_area, self.gross_area)
    }

    /// Gross less net less leftovers kept, mm².
    #[must_use]
    pub fn scrap_area(&self) -> f64 {
        self.kerf_area + self.other_scrap_area
    }

    /// The figures of a layout. The layout should have passed [`crate::certify`]; areas of an invalid one mean little.
    #[must_use]
    pub fn of(job: &Job, layout: &Layout) -> Self {
        crate::leftover::figures_of(job, layout)
    }
}

fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}
