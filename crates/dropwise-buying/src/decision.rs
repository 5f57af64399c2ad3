//! What is answered.

use std::time::Duration;

use dropwise_model::{Money, Plan, StockClass};

use crate::fees::Bill;
use crate::fit::Misfit;
use crate::worth::Worth;

/// The answer to what to buy.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Decision {
    /// Choices that make everything, cheapest first. One that buys all that a cheaper one buys, and more, is left out. Empty
    /// when nothing was found that makes everything.
    pub choices: Vec<Choice>,
    /// For each sheet of the market that is an offer, what became of it; `None` for sheets in the rack.
    pub verdicts: Vec<Option<Verdict>>,
    /// No choice can cost less; `None` when no bound is known.
    pub lower_bound: Option<Money>,
    /// Classes of stock for which nothing that was tried holds all parts, with the fewest pieces that were left over;
    /// `None` of them when what the rack and all offers give together cannot do.
    pub shortfalls: Vec<(StockClass, Option<u32>)>,
    /// The most that offers are worth: those without a price, and those that were asked for.
    pub worths: Vec<Worth>,
    /// Sets of sheets that were nested.
    pub tries: usize,
    /// What was left undone.
    pub not_tried: NotTried,
}

/// Something bought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bought {
    /// Index of the sheet in the market's job.
    pub sheet: usize,
    /// How many.
    pub count: u32,
    /// Of stock sold by length, how much of it in all, mm.
    pub length: Option<f64>,
}

/// A way to make everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What is bought, by index of the sheet; nothing when the rack does.
    pub bought: Vec<Bought>,
    /// Where everything lies, proved.
    pub plan: Plan,
    /// What it costs.
    pub bill: Bill,
}

impl Choice {
    /// By how much the cheapest choice there can be might undercut this one; `None` when no bound is known.
    #[must_use]
    pub fn gap(&self, lower_bound: Option<Money>) -> Option<Money> {
        lower_bound.map(|bound| (self.bill.total - bound).max(Money::ZERO))
    }
}

/// What became of an offer.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Verdict {
    /// No part is made of such stock.
    OtherStock,
    /// No part of its class can lie on it; the one that comes nearest.
    HoldsNoPart {
        /// Index of the part.
        part: usize,
        /// What is in its way.
        misfit: Misfit,
    },
    /// Others of the same seller are at least as large and no dearer, and there are enough of them.
    Replaced {
        /// One of them, an index among the sheets.
        by: usize,
    },
    /// It has no price. [`Decision::worths`] tells what it is worth.
    NoPrice,
    /// This choice, an index into [`Decision::choices`], is the cheapest that buys it.
    InChoice(usize),
    /// The cheapest choice that was found with it costs so much; it is not among those listed.
    Dearer(Money),
    /// With the rack and nothing else, this part lies nowhere.
    LeavesPart {
        /// Index of the part.
        part: usize,
        /// Why it cannot lie on this offer.
        misfit: Misfit,
    },
    /// With the rack and nothing else, the area is short by so much, mm², if parts could be packed without any gap.
    AreaShort(f64),
    /// With the rack and nothing else, parts of another class lack stock.
    LeavesClass(StockClass),
    /// No choice that buys it, alone with the rack, costs less than this.
    AtLeast(Money),
    /// Nested alone with the rack, so many pieces found no room. Not proved: a longer search may find it.
    NoRoom(u32),
    /// Nested with the rack, the cheapest plan found does without it.
    NotNeeded,
    /// It was not tried alone: time or tries ran out.
    NotTried,
}

/// What was left undone, and why.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NotTried {
    /// Offers that were not tried alone although nothing speaks against them.
    pub offers: usize,
    /// Time that these would have needed, from what the others took; `None` when it was not the time that lacked, or
    /// when there are more than are tried however much time there is.
    pub wanted: Option<Duration>,
    /// Sets of offers that might cost less than the best choice and were not nested.
    pub sets: usize,
    /// Sets that might cost less and were nested in vain. None of them is proved not to do.
    pub in_vain: usize,
    /// Whether there are more sets than were listed.
    pub is_list_cut: bool,
    /// Whether time ran out, or the user stopped it.
    pub is_stopped: bool,
}
