//! Rigid motions of the plane.

use crate::{Point, Vector};

/// How a part lies on a sheet: mirrored in the y axis (x becomes -x) or not, then turned counter-clockwise about the
/// origin, then moved.
///
/// The turn is kept in degrees so that quarter turns are exact and a plan prints the angle that a person would say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Isometry {
    /// Whether x becomes -x before the turn: the part lies face down.
    pub is_mirrored: bool,
    /// Turn in degrees, counter-clockwise.
    pub rotation_deg: f64,
    /// The move, after mirror and turn.
    pub translation: Vector,
}

impl Isometry {
    /// The motion that leaves everything where it is.
    pub const IDENTITY: Self = Self { is_mirrored: false, rotation_deg: 0.0, translation: Vector { x: 0.0, y: 0.0 } };

    /// Mirror, turn and move.
    #[must_use]
    pub const fn new(is_mirrored: bool, rotation_deg: f64, x: f64, y: f64) -> Self {
        Self { is_mirrored, rotation_deg, translation: Vector { x, y } }
    }

    /// A move only.
    #[must_use]
    pub const fn translation(x: f64, y: f64) -> Self {
        Self::new(false, 0.0, x, y)
    }

    /// Where a point goes.
    #[must_use]
    pub fn apply(self, point: Point) -> Point {
        let turned = self.apply_vector(point.to_vector());
        Point::new(turned.x + self.translation.x, turned.y + self.translation.y)
    }

    /// Where a displacement goes: mirrored and turned, not moved.
    #[must_use]
    pub fn apply_vector(self, vector: Vector) -> Vector {
        let (sin, cos) = sin_cos_deg(self.rotation_deg);
        let x = if self.is_mirrored { -vector.x } else { vector.x };
        Vector::new(cos * x - sin * vector.y, sin * x + cos * vector.y)
    }
}

/// Sine and cosine of an angle in degrees, exact at multiples of 90.
///
/// # Examples
/// ```
/// use dropwise_geometry::sin_cos_deg;
/// assert_eq!(sin_cos_deg(-270.0), (1.0, 0.0));
/// ```
#[must_use]
pub fn sin_cos_deg(degrees: f64) -> (f64, f64) {
    let turn = degrees.rem_euclid(360.0);
    // Written out because the rounded π makes cos(π/2) 6e-17, which would tilt every square part by a hair.
    if turn == 0.0 {
        (0.0, 1.0)
    } else if turn == 90.0 {
        (1.0, 0.0)
    } else if turn == 180.0 {
        (0.0, -1.0)
    } else if turn == 270.0 {
        (-1.0, 0.0)
    } else {
        turn.to_radians().sin_cos()
    }
}
