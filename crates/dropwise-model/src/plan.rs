//! A layout that was proved.

use dropwise_geometry::BooleanError;
use thiserror::Error;

use crate::{Certificate, Job, Layout, Money, PlanFigures, Violation, certify, certify_figures};

/// Why a layout makes no plan.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// The layout is not valid for the job, or its figures are not true.
    #[error("it is not valid ({} violations, the first: {})", .0.len(), first(.0))]
    Invalid(Vec<Violation>),
    /// Its leftovers could not be worked out.
    #[error("what remains of its sheets cannot be worked out")]
    Geometry(#[from] BooleanError),
    /// It costs less than the bound that comes with it: one of the two is wrong, by a fault of ours.
    #[error("it costs {} of the smallest coin, less than its lower bound of {}", .cost.coins(), .bound.coins())]
    BelowBound {
        /// Cost of its material.
        cost: Money,
        /// What no plan was to undercut.
        bound: Money,
    },
}

fn first(violations: &[Violation]) -> String {
    violations.first().map_or_else(String::new, ToString::to_string)
}

/// A nest that was found and proved valid: layout, figures and certificate.
///
/// It can only be made of a layout that passes [`certify`]: no certificate, no plan. And it costs no less than its bound.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    layout: Layout,
    figures: PlanFigures,
    certificate: Certificate,
    provenance: Provenance,
}

/// How a plan came about, so that it can be found again. None of it bears on whether the plan is valid.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Provenance {
    /// Seed of the search.
    pub seed: u64,
    /// Rounds of search that were run.
    pub rounds: u64,
    /// Independent searches that exchanged their best after each round.
    pub chains: u32,
    /// No plan that places all this one places can cost less than this, in the smallest coin; `None` when no bound is
    /// known.
    pub lower_bound: Option<i64>,
    /// The earlier plan that the search went on from, as its pages name it; `None` for a search from nothing.
    pub went_on_from: Option<String>,
}

impl Plan {
    /// Proves a layout, works out its figures and proves those.
    ///
    /// # Errors
    /// All violations found, when the layout is not valid for the job; [`PlanError::BelowBound`] when it costs less than the
    /// provenance says is possible.
    pub fn new(job: &Job, layout: Layout, provenance: Provenance) -> Result<Self, PlanError> {
        let certificate = certify(job, &layout).map_err(PlanError::Invalid)?;
        let figures = PlanFigures::of(job, &layout)?;
        certify_figures(job, &layout, &figures).map_err(PlanError::Invalid)?;
        if let Some(bound) = provenance.lower_bound.map(Money::from_coins)
            && figures.material_cost < bound
        {
            return Err(PlanError::BelowBound { cost: figures.material_cost, bound });
        }
        Ok(Self { layout, figures, certificate, provenance })
    }

    /// Where everything lies.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Yield, scrap, leftovers and cost.
    #[must_use]
    pub fn figures(&self) -> &PlanFigures {
        &self.figures
    }

    /// The proof.
    #[must_use]
    pub fn certificate(&self) -> &Certificate {
        &self.certificate
    }

    /// How it was found.
    #[must_use]
    pub fn provenance(&self) -> &Provenance {
        &self.provenance
    }

    /// The material of no plan that places all this one places can cost less; `None` when no bound is known.
    #[must_use]
    pub fn lower_bound(&self) -> Option<Money> {
        self.provenance.lower_bound.map(Money::from_coins)
    }

    /// By how much the material of the cheapest plan might undercut this one's: its cost less the lower bound, zero when
    /// none can be cheaper; `None` when no bound is known.
    #[must_use]
    pub fn gap(&self) -> Option<Money> {
        self.lower_bound().map(|bound| (self.figures.material_cost - bound).max(Money::ZERO))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Clearances, LeftoverRule};

    #[test]
    fn the_gap_is_what_a_cheaper_plan_might_save() {
        let rule = LeftoverRule { length: 300.0, width: 300.0, neck: 100.0 };
        let job = Job::new(Vec::new(), Vec::new(), Clearances::default(), rule).unwrap();
        for (bound, gap) in [(None, None), (Some(0), Some(0)), (Some(-7), Some(7))] {
            let provenance = Provenance { lower_bound: bound, ..Provenance::default() };
            let plan = Plan::new(&job, Layout::default(), provenance).unwrap();
            assert_eq!(plan.gap(), gap.map(Money::from_coins));
        }
        let provenance = Provenance { lower_bound: Some(5), ..Provenance::default() };
        let refused = Plan::new(&job, Layout::default(), provenance).unwrap_err();
        assert_eq!(refused, PlanError::BelowBound { cost: Money::ZERO, bound: Money::from_coins(5) });
    }
}
