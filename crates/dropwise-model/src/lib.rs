//! The nouns of a nesting job: what is to be made, out of what, with which clearances, and the plan that was found.
//!
//! This crate knows nothing of how a plan is found, nor of files or steel. Materials appear only as a [`StockClass`],
//! a label that part and sheet must share; prices as [`Money`]; weights and rates as plain numbers per area, worked out
//! by whoever builds the job.
//!
//! All lengths are millimetres, areas square millimetres, angles degrees.

mod certificate;
mod clearances;
mod figures;
mod holding;
mod instructions;
mod job;
mod layout;
mod leftover;
mod money;
mod part;
mod plan;
mod set_ups;
mod sheet;

pub use certificate::{Certificate, Obstacle, SheetProof, Violation, certify, certify_figures};
pub use clearances::{Clearances, ClearancesError};
pub use figures::{PartFigures, PlanFigures, SheetFigures};
pub use instructions::{Hold, InstructionFault, Instructions, KeptTo, Reserved, Standing};
pub use job::{Job, JobError};
pub use layout::{Layout, Placement, Reason, SheetUse, Unplaced};
pub use leftover::{Leftover, LeftoverRule};
pub use money::Money;
pub use part::{Need, Part, Turns};
pub use plan::{Plan, PlanError, Provenance};
pub use set_ups::{ONE_LINE, STRAIGHT_EDGE, set_ups};
pub use sheet::{OpenLength, Sheet, StockClass};
