//! What the benchmark programs share.

mod instance;

pub use instance::{Instance, InstancePart, InstanceResult, InstanceSheet, Kind, Rotations};
