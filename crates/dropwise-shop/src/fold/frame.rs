//! Frames in the plane: faces on the flat, and edges of faces.

use dropwise_geometry::{Isometry, Outline, Point, Segment, Vector, Vertex};

/// Where a face's own frame lies on the flat pattern: moved and turned, never mirrored.
///
/// The direction is kept as a vector, so that square parts stay square to the last digit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceFrame {
    /// Where the face's origin lies.
    pub origin: Point,
    /// Direction of its x axis, of length one.
    pub x_axis: Vector,
}

impl FaceFrame {
    /// The frame of the base before the flat pattern is brought into its own.
    pub(super) const BASE: Self = Self { origin: Point::ORIGIN, x_axis: Vector::new(1.0, 0.0) };

    /// Where a point of the face lies on the flat.
    #[must_use]
    pub fn to_flat(self, point: Point) -> Point {
        self.origin + self.x_axis * point.x + self.x_axis.left() * point.y
    }

    /// Where a point of the flat lies in the face's frame.
    #[must_use]
    pub fn to_face(self, point: Point) -> Point {
        let from_origin = point - self.origin;
        Point::new(from_origin.dot(self.x_axis), from_origin.dot(self.x_axis.left()))
    }

    /// The same frame as mirror, turn and move.
    #[must_use]
    pub fn isometry(self) -> Isometry {
        Isometry::new(false, self.x_axis.angle().to_degrees(), self.origin.x, self.origin.y)
    }

    pub(super) fn vector_to_flat(self, vector: Vector) -> Vector {
        self.x_axis * vector.x + self.x_axis.left() * vector.y
    }

    pub(super) fn outline_to_flat(self, outline: &Outline) -> Outline {
        Outline::new(outline.vertices().iter().map(|v| Vertex { point: self.to_flat(v.point), ..*v }).collect())
    }
}

/// A side of a face: where it starts and which way it runs. Metal lies to its left.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// Line or arc.
    pub(super) segment: Segment,
    /// Its number as the user counts, if it has one.
    pub(super) number: Option<usize>,
    /// What a dimension along it reads at its start.
    pub(super) reading: f64,
}

impl Side {
    pub(super) fn is_straight(&self) -> bool {
        matches!(self.segment, Segment::Line { .. })
    }

    pub(super) fn start(&self) -> Point {
        self.segment.start()
    }

    /// Of a straight side: its direction. No side is without length.
    pub(super) fn along(&self) -> Vector {
        (self.segment.end() - self.segment.start()).unit().unwrap_or(Vector::new(1.0, 0.0))
    }

    pub(super) fn length(&self) -> f64 {
        self.segment.length()
    }

    /// The point `u` along a straight side and `v` into the face.
    pub(super) fn at(&self, u: f64, v: f64) -> Point {
        let along = self.along();
        self.start() + along * u + along.left() * v
    }

    /// Along and into the face: the inverse of [`Self::at`].
    pub(super) fn read(&self, point: Point) -> (f64, f64) {
        let (along, from) = (self.along(), point - self.start());
        (from.dot(along), from.dot(along.left()))
    }
}
