//! What a plan costs, work included, and what that makes of each part.

use dropwise_model::{Money, PartFigures, PlanFigures};
use thiserror::Error;

use crate::price::{Basis, Price};

/// What cutting costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CuttingRate {
    /// By the length of the cut.
    ByLength {
        /// Of the smallest coin, for a millimetre.
        coins_per_millimetre: f64,
    },
    /// By the hour, at a known speed.
    ByTime {
        /// Of the smallest coin, for an hour.
        coins_per_hour: f64,
        /// How far the cut gets in a minute, mm; more than zero.
        millimetres_per_minute: f64,
    },
}

/// What work costs. What is zero or `None` is not charged.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rates {
    /// Cutting parts out.
    pub cutting: Option<CuttingRate>,
    /// A drilled hole, in the smallest coin.
    pub coins_per_hole: f64,
    /// A bend, in the smallest coin.
    pub coins_per_bend: f64,
    /// Setting up for a batch: all pieces of one part that a plan makes.
    pub setup_per_batch: Money,
}

/// The work that one piece of a part needs beside lying on a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartWork {
    /// Length that is cut, mm, where it is less than all of the part's rings, as when holes are drilled; `None` for all.
    pub cut_length: Option<f64>,
    /// Holes that are drilled.
    pub drilled_holes: u32,
    /// Bends.
    pub bends: u32,
}

/// Why a cost cannot be worked out.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum CostError {
    /// A rate or length that is no number, or below zero.
    #[error("{what} is {value}; it must be zero or more")]
    BadNumber {
        /// Which.
        what: &'static str,
        /// What it is.
        value: f64,
    },
    /// Cutting by the hour, but standing still.
    #[error("the cutting speed is {millimetres_per_minute} mm/min; a rate by the hour needs a speed above zero")]
    NoSpeed {
        /// What was given.
        millimetres_per_minute: f64,
    },
    /// A price that does not go by length where one is needed.
    #[error("cutting is priced by the {basis}; write it by length, as in 1.50/m")]
    NotByLength {
        /// What the price is for.
        basis: Basis,
    },
    /// Not one entry of work for each part.
    #[error("the plan has {parts} parts, but work is given for {work}")]
    WorkCount {
        /// Parts of the plan.
        parts: usize,
        /// Entries given.
        work: usize,
    },
    /// A cut length of a part that is no number, or below zero.
    #[error("the cut length of part {part} is {value} mm; it must be zero or more")]
    BadCutLength {
        /// Which part, counted from zero.
        part: usize,
        /// What it is.
        value: f64,
    },
}

/// Costs by kind; their sum is [`Cost::total`], exactly.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cost {
    /// Sheets, less the credit for leftovers and scrap.
    pub material: Money,
    /// Cutting out.
    pub cutting: Money,
    /// Drilling.
    pub drilling: Money,
    /// Bending.
    pub bending: Money,
    /// Setting up.
    pub setup: Money,
}

/// What a plan costs.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanCost {
    /// All of it.
    pub whole: Cost,
    /// One entry for each part of the job, in the same order: all pieces placed. Kind by kind they add up to `whole`, to
    /// the coin.
    pub parts: Vec<PartCost>,
    /// How long cutting takes, minutes, when it is charged by the hour.
    pub cutting_minutes: Option<f64>,
}

/// What all pieces of one part cost together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartCost {
    /// How many are placed.
    pub placed: u32,
    /// What they cost.
    pub cost: Cost,
}

/// A part made against the same part bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comparison {
    /// What making the pieces placed costs.
    pub made: Money,
    /// What buying as many ready-made costs.
    pub bought: Money,
}

impl CuttingRate {
    /// The rate that a price by the metre or the foot comes to.
    ///
    /// # Errors
    /// [`CostError::NotByLength`].
    pub fn by_length(price: Price) -> Result<Self, CostError> {
        match price.basis() {
            Basis::Metre | Basis::Foot => {
                // A price by length weighs nothing in.
                let coins_per_millimetre = price.per_length(0.0).unwrap_or(0.0);
                Ok(Self::ByLength { coins_per_millimetre })
            }
            basis => Err(CostError::NotByLength { basis }),
        }
    }

    fn coins(self, length: f64) -> f64 {
        match self {
            Self::ByLength { coins_per_millimetre } => coins_per_millimetre * length,
            Self::ByTime { coins_per_hour, millimetres_per_minute } => {
                coins_per_hour * length / millimetres_per_minute / 60.0
            }
        }
    }
}

impl Rates {
    /// All that is wrong with these rates; empty when they can be used.
    #[must_use]
    pub fn faults(&self) -> Vec<CostError> {
        let mut numbers = vec![
            ("the rate for a drilled hole", self.coins_per_hole),
            ("the rate for a bend", self.coins_per_bend),
            ("the rate for setting up", self.setup_per_batch.coins() as f64),
        ];
        let mut faults = Vec::new();
        match self.cutting {
            Some(CuttingRate::ByLength { coins_per_millimetre }) => {
                numbers.push(("the rate for cutting", coins_per_millimetre));
            }
            Some(CuttingRate::ByTime { coins_per_hour, millimetres_per_minute }) => {
                numbers.push(("the rate for an hour of cutting", coins_per_hour));
                // Negated, so that NaN is caught too.
                if !(millimetres_per_minute > 0.0 && millimetres_per_minute.is_finite()) {
                    faults.push(CostError::NoSpeed { millimetres_per_minute });
                }
            }
            None => {}
        }
        let bad = numbers.into_iter().filter(|(_, value)| !is_usable(*value));
        faults.extend(bad.map(|(what, value)| CostError::BadNumber { what, value }));
        faults
    }
}

impl Cost {
    /// Material and work.
    #[must_use]
    pub fn total(&self) -> Money {
        self.material + self.work()
    }

    /// Work alone.
    #[must_use]
    pub fn work(&self) -> Money {
        self.cutting + self.drilling + self.bending + self.setup
    }
}

impl PartCost {
    /// What one piece costs, to the nearest coin, halves away from zero; `None` when none is placed. Times the count it
    /// may miss the total by half a coin a piece.
    #[must_use]
    pub fn each(&self) -> Option<Money> {
        (self.placed > 0).then(|| Money::round(self.cost.total().coins() as f64 / f64::from(self.placed)))
    }
}

impl Comparison {
    /// What making saves; below zero when buying is cheaper.
    #[must_use]
    pub fn saving(&self) -> Money {
        self.bought - self.made
    }
}

impl PlanCost {
    /// Works out what a plan costs.
    ///
    /// Material is what the figures say, shared as they share it. Cutting, drilling and bending are each priced for the
    /// whole plan, rounded once, and shared by length, holes and bends with [`Money::split`]. Each part that is placed
    /// pays for one batch to be set up. `work` has one entry for each part of the job.
    ///
    /// # Errors
    /// All faults found in the rates and the work.
    pub fn new(figures: &PlanFigures, work: &[PartWork], rates: &Rates) -> Result<Self, Vec<CostError>> {
        let parts = &figures.parts;
        let mut faults = rates.faults();
        if parts.len() != work.len() {
            faults.push(CostError::WorkCount { parts: parts.len(), work: work.len() });
        }
        faults.extend(work.iter().enumerate().filter_map(|(part, work)| {
            let value = work.cut_length.filter(|value| !is_usable(*value))?;
            Some(CostError::BadCutLength { part, value })
        }));
        if !faults.is_empty() {
            return Err(faults);
        }
        let of_each = |need: &dyn Fn(&PartFigures, &PartWork) -> f64| -> Vec<f64> {
            parts.iter().zip(work).map(|(part, work)| f64::from(part.placed) * need(part, work)).collect()
        };
        let lengths = of_each(&|part, work| work.cut_length.unwrap_or(part.cut_length));
        let holes = of_each(&|_, work| f64::from(work.drilled_holes));
        let bends = of_each(&|_, work| f64::from(work.bends));
        let length: f64 = lengths.iter().sum();

        let share = |coins: f64, weights: &[f64]| Money::round(coins).split(weights);
        let cutting = share(rates.cutting.map_or(0.0, |rate| rate.coins(length)), &lengths);
        let drilling = share(rates.coins_per_hole * holes.iter().sum::<f64>(), &holes);
        let bending = share(rates.coins_per_bend * bends.iter().sum::<f64>(), &bends);

        let parts: Vec<PartCost> = (0..parts.len())
            .map(|index| PartCost {
                placed: parts[index].placed,
                cost: Cost {
                    material: parts[index].material_cost,
                    cutting: cutting[index],
                    drilling: drilling[index],
                    bending: bending[index],
                    setup: if parts[index].placed > 0 { rates.setup_per_batch } else { Money::ZERO },
                },
            })
            .collect();
        let sum = |kind: fn(&Cost) -> Money| parts.iter().map(|part| kind(&part.cost)).sum();
        let whole = Cost {
            material: figures.material_cost,
            cutting: sum(|cost| cost.cutting),
            drilling: sum(|cost| cost.drilling),
            bending: sum(|cost| cost.bending),
            setup: sum(|cost| cost.setup),
        };
        let cutting_minutes = match rates.cutting {
            Some(CuttingRate::ByTime { millimetres_per_minute, .. }) => Some(length / millimetres_per_minute),
            _ => None,
        };
        Ok(Self { whole, parts, cutting_minutes })
    }

    /// Each part against the price of one piece ready-made: `None` where no price is known or none is placed. Prices
    /// stand in the order of the parts; what is missing at the end is not known.
    #[must_use]
    pub fn against_ready_made(&self, prices: &[Option<Money>]) -> Vec<Option<Comparison>> {
        let prices = prices.iter().copied().chain(std::iter::repeat(None));
        let pairs = self.parts.iter().zip(prices);
        pairs
            .map(|(part, price)| {
                let coins = price.filter(|_| part.placed > 0)?.coins();
                let bought = Money::from_coins(coins.saturating_mul(part.placed.into()));
                Some(Comparison { made: part.cost.total(), bought })
            })
            .collect()
    }
}

fn is_usable(value: f64) -> bool {
    (0.0..=f64::MAX).contains(&value)
}

#[cfg(test)]
mod tests;
