//! What the benchmark programs share.

mod instance;
mod memory;
mod planted;
mod shop_job;

pub use instance::{Instance, InstancePart, InstanceResult, InstanceSheet, Kind, Rotations};
pub use memory::peak_memory;
pub use planted::PlantedJob;
pub use shop_job::ShopJob;
