//! Points, vectors and axis-parallel boxes.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A place in the plane, in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Distance to the right of the origin.
    pub x: f64,
    /// Distance above the origin.
    pub y: f64,
}

/// A displacement in the plane, in millimetres. Kept apart from [`Point`] so that meaningless sums do not compile.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vector {
    /// To the right.
    pub x: f64,
    /// Upwards.
    pub y: f64,
}

impl Point {
    /// The point (0, 0).
    pub const ORIGIN: Self = Self { x: 0.0, y: 0.0 };

    /// The point (x, y).
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Straight distance to another point.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The point a fraction `t` of the way to `other`.
    #[must_use]
    pub fn lerp(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }

    /// Whether both coordinates are ordinary numbers.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }

    /// The displacement from the origin to this point.
    #[must_use]
    pub const fn to_vector(self) -> Vector {
        Vector { x: self.x, y: self.y }
    }
}

impl Vector {
    /// The vector (x, y).
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at `angle` radians counter-clockwise from the x axis.
    #[must_use]
    pub fn from_angle(angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self { x: cos, y: sin }
    }

    /// Dot product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The z component of the cross product: positive when `other` lies to the left of `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Length.
    #[must_use]
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Square of the length.
    #[must_use]
    pub fn length_squared(self) -> f64 {
        self.dot(self)
    }

    /// Angle in radians from the x axis, in (-π, π].
    #[must_use]
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }

    /// The same direction with length one, or `None` for the zero vector and for numbers that are not finite.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length > 0.0 && length.is_finite()).then(|| self / length)
    }

    /// Turned a quarter counter-clockwise.
    #[must_use]
    pub fn left(self) -> Self {
        Self { x: -self.y, y: self.x }
    }
}

impl Sub for Point {
    type Output = Vector;
    fn sub(self, other: Self) -> Vector {
        Vector { x: self.x - other.x, y: self.y - other.y }
    }
}

impl Add<Vector> for Point {
    type Output = Self;
    fn add(self, by: Vector) -> Self {
        Self { x: self.x + by.x, y: self.y + by.y }
    }
}

impl Sub<Vector> for Point {
    type Output = Self;
    fn sub(self, by: Vector) -> Self {
        Self { x: self.x - by.x, y: self.y - by.y }
    }
}

impl AddAssign<Vector> for Point {
    fn add_assign(&mut self, by: Vector) {
        *self = *self + by;
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y }
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y }
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self { x: self.x * by, y: self.y * by }
    }
}

impl Div<f64> for Vector {
    type Output = Self;
    fn div(self, by: f64) -> Self {
        Self { x: self.x / by, y: self.y / by }
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self { x: -self.x, y: -self.y }
    }
}

/// An axis-parallel box. Empty when a minimum exceeds its maximum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

impl Bounds {
    /// The box that holds nothing.
    pub const EMPTY: Self =
        Self { min: Point::new(f64::INFINITY, f64::INFINITY), max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY) };

    /// The smallest box around some points; [`Bounds::EMPTY`] for none.
    #[must_use]
    pub fn of(points: impl IntoIterator<Item = Point>) -> Self {
        points.into_iter().fold(Self::EMPTY, Self::with)
    }

    /// This box, grown to hold `point` too.
    #[must_use]
    pub fn with(self, point: Point) -> Self {
        Self {
            min: Point::new(self.min.x.min(point.x), self.min.y.min(point.y)),
            max: Point::new(self.max.x.max(point.x), self.max.y.max(point.y)),
        }
    }

    /// The smallest box around both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// Whether it holds no point at all.
    #[must_use]
    pub fn is_empty(self) -> bool {
        !(self.min.x <= self.max.x && self.min.y <= self.max.y)
    }

    /// Extent in x; zero when empty.
    #[must_use]
    pub fn width(self) -> f64 {
        (self.max.x - self.min.x).max(0.0)
    }

    /// Extent in y; zero when empty.
    #[must_use]
    pub fn height(self) -> f64 {
        (self.max.y - self.min.y).max(0.0)
    }

    /// The middle.
    #[must_use]
    pub fn center(self) -> Point {
        self.min.lerp(self.max, 0.5)
    }

    /// Length of the diagonal; zero when empty.
    #[must_use]
    pub fn diagonal(self) -> f64 {
        self.width().hypot(self.height())
    }

    /// Grown by `by` on every side (shrunk when negative).
    #[must_use]
    pub fn expanded(self, by: f64) -> Self {
        Self { min: Point::new(self.min.x - by, self.min.y - by), max: Point::new(self.max.x + by, self.max.y + by) }
    }

    /// Whether the closed boxes share a point.
    #[must_use]
    pub fn intersects(self, other: Self) -> bool {
        self.min.x <= other.max.x && other.min.x <= self.max.x && self.min.y <= other.max.y && other.min.y <= self.max.y
    }

    /// Whether the closed box holds the point.
    #[must_use]
    pub fn contains(self, point: Point) -> bool {
        (self.min.x..=self.max.x).contains(&point.x) && (self.min.y..=self.max.y).contains(&point.y)
    }
}
