//! Where a shape lies.

use dropwise_geometry::{Point, sin_cos_deg};

/// Where the reference point of a part stands, which way it lies, and how it is turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pose {
    /// Index into the variants of its part.
    pub(crate) variant: usize,
    /// Turn in degrees; zero for a variant whose turn is fixed.
    pub(crate) turn_deg: f64,
    pub(crate) at: Point,
}

/// Turns a vector by an angle whose sine and cosine are known.
#[inline]
pub(crate) fn turned(point: Point, (sin, cos): (f64, f64)) -> Point {
    Point::new(cos * point.x - sin * point.y, sin * point.x + cos * point.y)
}

/// Sine and cosine of the pose's free turn.
#[inline]
pub(crate) fn sin_cos_of(pose: Pose) -> (f64, f64) {
    if pose.turn_deg == 0.0 { (0.0, 1.0) } else { sin_cos_deg(pose.turn_deg) }
}
