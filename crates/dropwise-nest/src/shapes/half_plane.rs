//! Half planes.

use dropwise_geometry::Vector;

/// The points p with `normal · p <= limit`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct HalfPlane {
    pub(crate) normal: Vector,
    pub(crate) limit: f64,
}
