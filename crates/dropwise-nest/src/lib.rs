//! Nests parts onto irregular sheets by annealing over placements.
//!
//! Give [`nest`] a [`dropwise_model::Job`] and it returns a [`dropwise_model::Plan`] that has passed its certificate. The
//! crate reads no files and knows no materials; `dropwise-shop` and `dropwise-formats` make jobs, and a program that only
//! wants the nester needs neither.
//!
//! # How it works
//! Parts are grown by half the web, sheets shrunk to match, so that the search knows only touching and overlapping. In a
//! working state parts may overlap; how deep is measured by the way out of a no-fit polygon where neither of two parts can
//! turn, else by separating axes of convex pieces or between covers of inscribed circles, when edges decide whether they
//! are apart. A separator moves parts in conflict one by one to the best place that sampling and coordinate
//! descent find, and lets conflicts that persist weigh more and more. Around it, chains try cheaper sets of sheets,
//! shorter strips and larger leftovers; some chains run side by side and exchange their best.
//!
//! # Sources
//! Umetani, Yagiura, Imahori, Imamichi, Nonobe, Ibaraki, "Solving the irregular strip packing problem via guided local
//! search for overlap minimization", Int. Trans. Oper. Res. 16 (2009): weights that learn. Imamichi, Yagiura, Nagamochi,
//! "An iterated local search algorithm based on nonlinear programming for the irregular strip packing problem", Discrete
//! Optimization 6 (2009): separation from an overlapping state. Gomes and Oliveira, "Solving irregular strip packing
//! problems by hybridising simulated annealing and linear programming", Eur. J. Oper. Res. 171 (2006): annealing outside,
//! separation and compaction inside. Adamowicz and Albano, "Nesting two-dimensional shapes in rectangular modules",
//! Computer-Aided Design 8 (1976): the no-fit polygon (from memory).

mod bound;
mod boxes;
mod boxes_in_use;
mod circle_cover;
mod circles;
mod class_search;
mod clock;
mod collision;
mod construct;
mod contact;
mod convex;
mod cooling;
mod disturb;
mod extra_sheet;
mod failures;
mod fit;
mod hull;
mod idle_holes;
#[cfg(feature = "internals")]
#[doc(hidden)]
pub mod internals;
mod jigsaw;
mod keep_apart;
mod mover;
mod neighbours;
mod nester;
mod no_fit;
mod offer;
mod pairs;
mod pocket;
mod proposal;
mod push;
mod race;
mod random;
mod rows;
mod score;
mod search_shape;
mod separator;
mod settings;
mod sheet_chain;
mod sieve;
mod statistics;
mod straighten;
mod strip;
mod task;
mod tilt;
mod weights;
mod working;
#[cfg(test)]
mod working_tests;

pub use clock::Stop;
pub use nester::{BestSoFar, NestError, nest, nest_shown};
pub use settings::{Progress, Settings};
pub use statistics::{MoveCount, MoveCounts, MoveKind};
