//! Regions bounded by lines and arcs.

use crate::{Bounds, Isometry, Outline, Point};

/// A flat piece: an exterior outline less its holes, arcs kept as arcs.
///
/// The exterior runs counter-clockwise and holes clockwise, so that metal lies to the left of travel everywhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    exterior: Outline,
    holes: Vec<Outline>,
}

impl Shape {
    /// A shape, its rings turned to run counter-clockwise outside and clockwise inside. Nothing else is checked.
    #[must_use]
    pub fn new(exterior: Outline, holes: Vec<Outline>) -> Self {
        Self {
            exterior: exterior.into_ccw(),
            holes: holes.into_iter().map(|hole| if hole.is_ccw() { hole.reversed() } else { hole }).collect(),
        }
    }

    /// The outer ring, counter-clockwise.
    #[must_use]
    pub fn exterior(&self) -> &Outline {
        &self.exterior
    }

    /// The holes, clockwise.
    #[must_use]
    pub fn holes(&self) -> &[Outline] {
        &self.holes
    }

    /// All rings, the exterior first.
    pub fn rings(&self) -> impl Iterator<Item = &Outline> {
        std::iter::once(&self.exterior).chain(&self.holes)
    }

    /// Area of the exterior less that of the holes. Exact for arcs.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.exterior.area() - self.holes.iter().map(Outline::area).sum::<f64>()
    }

    /// Length of all rings: what a cutter travels.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.rings().map(Outline::perimeter).sum()
    }

    /// The smallest box around it. Exact for arcs.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.exterior.bounds()
    }

    /// Moved by an isometry.
    #[must_use]
    pub fn transformed(&self, by: Isometry) -> Self {
        Self {
            exterior: self.exterior.transformed(by),
            holes: self.holes.iter().map(|hole| hole.transformed(by)).collect(),
        }
    }

    /// Scaled about the origin by a positive factor.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            exterior: self.exterior.scaled(factor),
            holes: self.holes.iter().map(|hole| hole.scaled(factor)).collect(),
        }
    }

    /// Whether a point lies in the metal. Points on a ring may fall either way.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        self.exterior.contains(point) && !self.holes.iter().any(|hole| hole.contains(point))
    }
}
