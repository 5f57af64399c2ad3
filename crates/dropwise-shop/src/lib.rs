//! What a metal shop knows: materials and their gauges, weights, cutting processes, prices, costs and cautions.
//!
//! The figures are published ones, and each carries its [`Source`] as data, so that a report can say where a number
//! comes from. The crate leaves files, databases and terminals to others, and knows nothing of how a nest is found.
//!
//! Lengths are millimetres, weights kilograms, rates of money the smallest coin for each unit named.

mod gauge;
mod material;
mod nearest;
pub mod pattern;
mod price;
mod process;
mod source;
mod stock_class;
mod thickness;
pub mod weight;

pub use gauge::{Gauge, GaugeError, GaugeSystem};
pub use material::{Material, MaterialError};
pub use price::{Basis, Coinage, CoinageError, Price, PriceError, PriceFault, parse_money};
pub use process::{Figure, Preset, Process, ProcessError};
pub use source::{Source, Status};
pub use stock_class::stock_class;
pub use thickness::{Thickness, ThicknessError};
pub use weight::WeightRule;
