//! Nests parts onto irregular sheets by annealing over placements.
//!
//! Give [`nest`] a [`dropwise_model::Job`] and it returns a [`dropwise_model::Plan`] that has passed its certificate. The
//! crate reads no files and knows no materials; `dropwise-shop` and `dropwise-formats` make jobs, and a program that only
//! wants the nester needs neither.
//!
//! # How it works
//! Parts are grown by half the web, sheets shrunk to match, so that the search knows only touching and overlapping. Two levels
//! work together.
//!
//! *Outside, simulated annealing over placements of all parts.* A state is a layout in which some parts still overlap; its energy is
//! what its sheets cost and what overlaps at the price of as much metal. A step draws one of the states by the heat bath rule,
//! the likelier the less its energy, changes it by a large step (two large parts trade places), and lets the inner level bring
//! it to a local minimum. The temperature is a multiple of the spread of the energies and falls over the search. A layout in
//! which nothing overlaps is a nest; then a cheaper set of sheets, or a shorter strip, is tried. [`Settings::annealing`] turns
//! this off; `benches/RESULTS.md` in the repository tells what it gives beside other designs.
//!
//! *Inside, guided local search.* In a working state parts may overlap; how deep is measured by the way out of a no-fit polygon where
//! neither of two parts can turn, else by separating axes of convex pieces or between covers of inscribed circles, when
//! edges decide whether they are apart. A separator moves parts in conflict one by one to the best place that sampling and
//! coordinate descent find, and lets conflicts that persist weigh more and more. Single placements are not annealed: with a
//! temperature they came no farther, and without the weights far less far.
//!
//! Beside both, exact helpers solve and bound jobs of rectangles, and fill sheets that leave no waste.
//!
//! # Sources
//! Geman and Geman, "Stochastic relaxation, Gibbs distributions, and the Bayesian restoration of images", IEEE Trans. Pattern
//! Anal. Mach. Intell. 6 (1984): the heat bath rule; White, "Concepts of scale in simulated annealing" (1984): temperatures by
//! the spread of energies; Martin, Otto, Felten, "Large-step Markov chains for the traveling salesman problem", Complex
//! Systems 5 (1991): a large step, then a local minimum. Umetani, Yagiura, Imahori, Imamichi, Nonobe, Ibaraki, "Solving the
//! irregular strip packing problem via guided local search for overlap minimization", Int. Trans. Oper. Res. 16 (2009):
//! weights that learn. Imamichi, Yagiura, Nagamochi, "An iterated local search algorithm based on nonlinear programming for the
//! irregular strip packing problem", Discrete Optimization 6 (2009): separation from an overlapping state. Gomes and Oliveira,
//! "Solving irregular strip packing problems by hybridising simulated annealing and linear programming", Eur. J. Oper. Res.
//! 171 (2006): annealing outside, separation and compaction inside. Adamowicz and Albano, "Nesting two-dimensional shapes in
//! rectangular modules", Computer-Aided Design 8 (1976): the no-fit polygon. All from memory.

mod anneal;
mod clock;
mod exact;
#[cfg(feature = "internals")]
#[doc(hidden)]
pub mod internals;
mod moves;
mod nester;
mod overlap;
mod problem;
mod random;
mod search;
mod settings;
mod shapes;
mod state;
mod statistics;

pub use clock::Stop;
pub use nester::{BestSoFar, NestError, least_cost, nest, nest_shown};
pub use settings::{Annealing, HandWork, Progress, Settings, Start};
pub use statistics::{MoveCount, MoveCounts, MoveKind};
