//! What may be chosen about the report page, and what it is told beside the plan.

use dropwise_model::Money;
use dropwise_shop::{Caution, Coinage, PlanCost};

use crate::card::BendCard;
use crate::details::{BendLine, LengthStyle};
use crate::tables::PaperTable;

/// What may be chosen about the report page, and what it is told beside the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportSettings<'a> {
    /// What the job is called.
    pub job_name: &'a str,
    /// The number of the plan; may be empty.
    pub plan_number: &'a str,
    /// How lengths are written.
    pub lengths: LengthStyle,
    /// What stands for the currency; may be empty.
    pub currency: &'a str,
    /// Its decimals.
    pub coinage: Coinage,
    /// Cost with work; without it the page tells what the metal costs.
    pub cost: Option<&'a PlanCost>,
    /// Bends of the job's parts.
    pub bends: &'a [BendLine],
    /// A card for each bent part.
    pub cards: &'a [BendCard],
    /// What the shop checks say of parts, by their index.
    pub findings: &'a [(usize, String)],
    /// What can hurt. See [`dropwise_shop::cautions`].
    pub cautions: &'a [Caution],
    /// Further tables for each sheet, in the layout's order: mark-out, cut plan. What is missing at the end has none.
    pub sheet_tables: &'a [Vec<PaperTable>],
    /// Tables that hold for all sheets: advice, rates.
    pub closing: &'a [PaperTable],
}

impl Default for ReportSettings<'_> {
    /// Millimetres, cents without a sign, nothing beside the plan.
    fn default() -> Self {
        Self {
            job_name: "",
            plan_number: "",
            lengths: LengthStyle::default(),
            currency: "",
            coinage: Coinage::default(),
            cost: None,
            bends: &[],
            cards: &[],
            findings: &[],
            cautions: &[],
            sheet_tables: &[],
            closing: &[],
        }
    }
}

impl ReportSettings<'_> {
    /// An amount with its currency.
    pub(super) fn amount(&self, money: Money) -> String {
        format!("{} {}", self.currency, self.coinage.format(money)).trim().to_owned()
    }
}
