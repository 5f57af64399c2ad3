//! Points and frames in space.

use std::ops::{Add, Mul, Neg, Sub};

use dropwise_geometry::sin_cos_deg;

/// A place or a displacement in space, mm. The base lies in the plane of x and y, its lower face at z = 0; up is +z.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point3 {
    /// To the right.
    pub x: f64,
    /// Away from the viewer of the flat pattern's lower edge.
    pub y: f64,
    /// Up.
    pub z: f64,
}

impl Point3 {
    /// The point (x, y, z).
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Dot product of two displacements.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// Cross product of two displacements.
    #[must_use]
    pub fn cross(self, other: Self) -> Self {
        Self {
            x: self.y * other.z - self.z * other.y,
            y: self.z * other.x - self.x * other.z,
            z: self.x * other.y - self.y * other.x,
        }
    }

    /// Length of a displacement.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// Straight distance to another point.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// Turned about an axis through the origin, a unit vector, by an angle in degrees, counter-clockwise as seen from
    /// the axis' tip.
    ///
    /// # Source
    /// Rodrigues' rotation formula. Textbook.
    #[must_use]
    pub(crate) fn turned(self, axis: Self, degrees: f64) -> Self {
        let (sin, cos) = sin_cos_deg(degrees);
        self * cos + axis.cross(self) * sin + axis * (axis.dot(self) * (1.0 - cos))
    }
}

impl Add for Point3 {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y, z: self.z + other.z }
    }
}

impl Sub for Point3 {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y, z: self.z - other.z }
    }
}

impl Mul<f64> for Point3 {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self { x: self.x * by, y: self.y * by, z: self.z * by }
    }
}

impl Neg for Point3 {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}
