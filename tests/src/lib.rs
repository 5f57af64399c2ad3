//! What the end-to-end tests share: random jobs, and referees that judge plans without the project's own judgement.
//!
//! The referee takes from the project only what a plan says (points, bulges, numbers). Flattening, areas, distances,
//! turns and sums are its own or those of the general geometry library `geo`; nothing of the certificate, of the search
//! or of the project's geometry algorithms takes part.

mod flat;
pub mod forms;
pub mod random_job;
mod referee;
mod rules;

pub use referee::{judge, judge_layout};
