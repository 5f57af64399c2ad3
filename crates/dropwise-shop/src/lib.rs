//! What a metal shop knows: materials and their gauges, weights, cutting processes, prices, costs and cautions.
//!
//! The figures are published ones, and each carries its [`Source`] as data, so that a report can say where a number
//! comes from. The crate leaves files, databases and terminals to others, and knows nothing of how a nest is found.
//!
//! Lengths are millimetres, weights kilograms, rates of money the smallest coin for each unit named.
//!
//! | to know | see |
//! |---|---|
//! | which metal, how heavy | [`Material`], [`WeightRule`] |
//! | how thick, and which stock that is | [`Gauge`], [`Thickness`], [`stock_class`] |
//! | how far apart parts must lie | [`Process`], [`Preset`] |
//! | what it costs | [`Price`], [`PlanCost`] |
//! | what can hurt | [`cautions`] |
//! | what shape a part is | [`pattern`] |
//! | from where everything on a flat part is measured | [`PartFrame`] |
//! | how a bent part lies flat, and folds up | [`fold`] |
//! | where to mark it | [`markout`] |
//! | in which order to cut it, with what | [`cutplan`] |
//! | what a bend takes, needs and cannot do | [`bend`] |
//! | in which order to bend it, on which tools | [`bend_plan`] |
//! | what the shop has to work with | [`Shop`] |
//! | what will not work | [`check`] |
//!
//! # Examples
//! A drop of 1/8 in steel, 30 × 20 1/4 in, as a yard sells it:
//! ```
//! use dropwise_geometry::Unit;
//! use dropwise_shop::{Basis, Coinage, Material, Price, Thickness, WeightRule, parse_money, weight};
//! let steel: Material = "mild steel".parse()?;
//! let thickness = Thickness::parse("1/8 in", steel, Unit::Inch)?;
//! let area = 30.0 * 20.25 * 25.4 * 25.4;
//! let drop = WeightRule::TrueDensity.weight_per_area(steel, thickness) * area;
//! assert_eq!(weight::to_pounds(drop).round(), 22.0);
//! let paid = parse_money("8.60", Coinage::default())?;
//! let rate = Price::implied(paid, drop, Basis::Pound).expect("it weighs something");
//! assert_eq!(rate.coins().round(), 40.0); // cents a pound
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod bend;
pub mod bend_plan;
mod caution;
pub mod check;
mod cost;
pub mod cutplan;
pub mod fold;
mod gauge;
pub mod markout;
mod material;
mod mill;
mod nearest;
mod part_frame;
pub mod pattern;
mod price;
mod process;
mod shop;
mod source;
mod stock_class;
mod thickness;
pub mod weight;

pub use caution::{Caution, Undertaking, WHO_DECIDES, cautions};
pub use cost::{Comparison, Cost, CostError, CuttingRate, PartCost, PartWork, PlanCost, Rates};
pub use gauge::{Gauge, GaugeError, GaugeSystem};
pub use material::{Material, MaterialError};
pub use mill::{MillTolerance, StandIn, mill_tolerance, stands_in};
pub use part_frame::PartFrame;
pub use price::{Basis, Coinage, CoinageError, Price, PriceError, PriceFault, parse_money};
pub use process::{Figure, Preset, Process, ProcessError};
pub use shop::{
    Bender, BenderKind, Brake, BrakeError, BrakeSources, FlaringDie, INCH_DIES, LARGEST_TOOL, MOST_POINTS, OWN_FIGURE,
    Punch, Shop, VDie,
};
pub use source::{Source, Status};
pub use stock_class::{stock_class, stock_in_words};
pub use thickness::{Thickness, ThicknessError, trade_size};
pub use weight::WeightRule;
