//! What a plan amounts to. Every figure is defined here once.

use dropwise_geometry::BooleanError;
use rayon::prelude::*;

use crate::leftover::{Cuts, remains};
use crate::{Job, Layout, Leftover, Money, SheetUse};

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
    /// What the scrap is sold for, kerf excepted.
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
    /// What its scrap is sold for, kerf excepted.
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
    /// The figures of one sheet.
    fn of(job: &Job, used: &SheetUse, cuts: &Cuts) -> Result<Self, BooleanError> {
        let sheet = &job.sheets()[used.sheet];
        let gross_area = sheet.bought_shape(used.length).area();
        let net_area: f64 = used.placements.iter().map(|p| job.parts()[p.part].shape.area()).sum();
        let mut remains = remains(job, used, cuts)?;
        // What is neither part nor leftover is kerf first, the rest other scrap. A leftover is computed on chords, and
        // where it is all that remains it may exceed the truth by a hair, which is taken off the largest: then the four
        // areas add up and none is below zero.
        let rest = (gross_area - net_area).max(0.0);
        let excess = remains.leftovers.iter().map(|l| l.area).sum::<f64>() - rest;
        if excess > 0.0
            && let Some(largest) = remains.leftovers.first_mut()
        {
            largest.area = (largest.area - excess).max(0.0);
        }
        let leftover_area = remains.leftovers.iter().map(|l| l.area).sum::<f64>() + 0.0;
        let scrap = (gross_area - net_area - leftover_area).max(0.0);
        let kerf_area = remains.kerf_area.min(scrap);
        let other_scrap_area = scrap - kerf_area;
        Ok(Self {
            gross_area,
            net_area,
            leftover_area,
            kerf_area,
            other_scrap_area,
            price: sheet.price_of(used.length),
            leftover_credit: Money::round(leftover_area * sheet.leftover_worth),
            // Nobody buys grinding dust.
            scrap_credit: Money::round(other_scrap_area * sheet.scrap_worth),
            leftovers: remains.leftovers,
            gross_weight: gross_area * sheet.weight,
        })
    }

    /// Price less both credits.
    #[must_use]
    pub fn cost(&self) -> Money {
        self.price - self.leftover_credit - self.scrap_credit
    }

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

    /// Weight of the leftovers kept, kg.
    #[must_use]
    pub fn leftover_weight(&self) -> f64 {
        self.weight_of(|sheet| sheet.leftover_area)
    }

    /// Weight of what the cut eats, kg.
    #[must_use]
    pub fn kerf_weight(&self) -> f64 {
        self.weight_of(|sheet| sheet.kerf_area)
    }

    /// Weight of what else is scrap, kg.
    #[must_use]
    pub fn other_scrap_weight(&self) -> f64 {
        self.weight_of(|sheet| sheet.other_scrap_area)
    }

    /// Weight of the heaviest sheet that is handled, kg; zero when none is.
    #[must_use]
    pub fn heaviest_sheet(&self) -> f64 {
        self.sheets.iter().map(|sheet| sheet.gross_weight).fold(0.0, f64::max)
    }

    fn weight_of(&self, area: fn(&SheetFigures) -> f64) -> f64 {
        self.sheets.iter().map(|sheet| area(sheet) * ratio(sheet.gross_weight, sheet.gross_area)).sum::<f64>() + 0.0
    }

    /// Gross less net less leftovers kept, mm².
    #[must_use]
    pub fn scrap_area(&self) -> f64 {
        self.kerf_area + self.other_scrap_area
    }

    /// The figures of a layout. The layout should have passed [`crate::certify`]; those of an invalid one mean little.
    ///
    /// # Errors
    /// When the areas of a boolean operation do not balance.
    pub fn of(job: &Job, layout: &Layout) -> Result<Self, BooleanError> {
        let cuts = Cuts::new(job, &layout.sheets)?;
        let sheets =
            layout.sheets.par_iter().map(|used| SheetFigures::of(job, used, &cuts)).collect::<Result<Vec<_>, _>>()?;
        let mut parts: Vec<PartFigures> = job
            .parts()
            .iter()
            .map(|part| PartFigures {
                net_area: part.shape.area(),
                cut_length: part.shape.perimeter(),
                ..PartFigures::default()
            })
            .collect();
        for (used, figures) in layout.sheets.iter().zip(&sheets) {
            let areas: Vec<f64> = used.placements.iter().map(|p| parts[p.part].net_area).collect();
            let shares = figures.cost().split(&areas);
            for (placement, share) in used.placements.iter().zip(shares) {
                let part = &mut parts[placement.part];
                part.placed += 1;
                part.material_cost += share;
                // Summed here, averaged below.
                part.weight += part.net_area * job.sheets()[used.sheet].weight;
            }
        }
        for part in &mut parts {
            if part.placed > 0 {
                part.weight /= f64::from(part.placed);
            }
        }
        let sum = |of: fn(&SheetFigures) -> f64| sheets.iter().map(of).sum::<f64>() + 0.0;
        let total = |of: fn(&SheetFigures) -> Money| sheets.iter().map(of).sum::<Money>();
        Ok(Self {
            gross_area: sum(|s| s.gross_area),
            net_area: sum(|s| s.net_area),
            leftover_area: sum(|s| s.leftover_area),
            kerf_area: sum(|s| s.kerf_area),
            other_scrap_area: sum(|s| s.other_scrap_area),
            sheets_price: total(|s| s.price),
            leftover_credit: total(|s| s.leftover_credit),
            scrap_credit: total(|s| s.scrap_credit),
            material_cost: total(SheetFigures::cost),
            gross_weight: sum(|s| s.gross_weight),
            net_weight: parts.iter().map(|p| p.weight * f64::from(p.placed)).sum::<f64>() + 0.0,
            scrap_weight: layout
                .sheets
                .iter()
                .zip(&sheets)
                .map(|(used, s)| (s.kerf_area + s.other_scrap_area) * job.sheets()[used.sheet].weight)
                .sum::<f64>()
                + 0.0,
            parts,
            sheets,
        })
    }
}

fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Clearances, LeftoverRule, Need, Part, Placement, Sheet, StockClass, Turns};
    use dropwise_geometry::{Isometry, Outline, Point, Shape};

    /// Two 100 x 50 plates with a 20 mm hole each at the left of a 1000 x 500 sheet, kerf 2.
    fn example() -> (Job, Layout) {
        let class = StockClass::new("plate");
        let plate = Part {
            name: "plate".to_owned(),
            shape: Shape::new(
                Outline::rectangle(Point::ORIGIN, 100.0, 50.0),
                vec![Outline::circle(Point::new(50.0, 25.0), 10.0)],
            ),
            quantity: 2,
            class: class.clone(),
            turns: Turns::Any,
            may_flip: true,
            need: Need::Required,
        };
        let sheet = Sheet {
            name: "drop".to_owned(),
            shape: Shape::new(Outline::rectangle(Point::ORIGIN, 1000.0, 500.0), Vec::new()),
            damage: Vec::new(),
            class,
            quantity: Some(1),
            price: Money::from_coins(1001),
            grain_deg: None,
            location: String::new(),
            open_length: None,
            leftover_worth: 0.001,
            scrap_worth: 0.0001,
            weight: 2.355e-5,
        };
        let clearances = Clearances::new(2.0, 4.0, 0.0).unwrap();
        let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
        let job = Job::new(vec![plate], vec![sheet], clearances, rule).unwrap();
        let at = |y| Placement { part: 0, position: Isometry::translation(0.0, y) };
        let used = SheetUse { sheet: 0, length: None, placements: vec![at(0.0), at(54.0)] };
        (job, Layout { sheets: vec![used], unplaced: Vec::new() })
    }

    #[test]
    fn areas_and_money_add_up() {
        let (job, layout) = example();
        let figures = PlanFigures::of(&job, &layout).unwrap();
        let net = 2.0 * (5000.0 - 100.0 * std::f64::consts::PI);
        assert!((figures.net_area - net).abs() < 1e-6);
        assert_eq!(figures.gross_area, 500_000.0);
        let sum = figures.net_area + figures.leftover_area + figures.kerf_area + figures.other_scrap_area;
        assert!((sum - figures.gross_area).abs() < 1e-6);
        assert_eq!(figures.material_cost, figures.sheets_price - figures.leftover_credit - figures.scrap_credit);
        assert_eq!(figures.parts[0].material_cost, figures.material_cost);
        assert!((figures.gross_weight - 11.775).abs() < 1e-9);
    }

    #[test]
    fn weights_add_up() {
        let (job, layout) = example();
        let figures = PlanFigures::of(&job, &layout).unwrap();
        let scrap = figures.kerf_weight() + figures.other_scrap_weight();
        assert!((scrap - figures.scrap_weight).abs() < 1e-9);
        let sum = figures.net_weight + figures.leftover_weight() + scrap;
        assert!((sum - figures.gross_weight).abs() < 1e-9, "{sum}");
        assert_eq!(figures.heaviest_sheet(), figures.gross_weight);
        let nothing = PlanFigures::of(&job, &Layout::default()).unwrap();
        for zero in [
            nothing.gross_area,
            nothing.leftover_area,
            nothing.net_weight,
            nothing.scrap_weight,
            nothing.kerf_weight(),
            nothing.heaviest_sheet(),
        ] {
            assert_eq!(zero.to_string(), "0");
        }
    }

    #[test]
    fn kerf_is_the_band_around_each_part_and_within_each_hole() {
        let (job, layout) = example();
        let figures = PlanFigures::of(&job, &layout).unwrap();
        // By hand: the lower plate's band lies right of it and above it, the upper's also below, each with quarter
        // circles at free corners; both holes lose a ring of 2 mm. The bands of the 4 mm web just meet.
        let quarter = std::f64::consts::PI;
        let lower = 100.0 * 2.0 + 50.0 * 2.0 + quarter;
        let upper = 2.0 * 100.0 * 2.0 + 50.0 * 2.0 + 2.0 * quarter;
        let rings = 2.0 * std::f64::consts::PI * (10.0 * 10.0 - 8.0 * 8.0);
        let expected = lower + upper + rings;
        // Flattening within 0.05 mm along 800 mm of cut, most of it straight.
        assert!((figures.kerf_area - expected).abs() < 12.0, "{} for {expected}", figures.kerf_area);
    }

    #[test]
    fn the_leftover_is_the_sheet_beside_the_parts() {
        let (job, layout) = example();
        let figures = PlanFigures::of(&job, &layout).unwrap();
        let [leftover] = figures.sheets[0].leftovers.as_slice() else { panic!("one leftover") };
        let (length, width) = leftover.largest_rectangle;
        assert!((length - 898.0).abs() < 3.0 && (width - 500.0).abs() < 3.0, "{length} x {width}");
        assert!(leftover.area > 898.0 * 500.0 - 10.0);
    }
}
