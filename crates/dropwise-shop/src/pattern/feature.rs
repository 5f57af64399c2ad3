//! What is cut out of a part, and where.

use std::fmt;

use dropwise_geometry::{Bounds, Isometry, Outline, Point, Vector, Vertex, sin_cos_deg};

use super::corner::{Corner, PolygonCorner, outline_with_corners};

/// Something cut out of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feature {
    /// Where: the middle of a hole, slot, cutout or bolt circle; for a hole row see [`RowAnchor`].
    pub position: Position,
    /// What.
    pub cut: Cut,
}

/// A place on a part, by a dimension for each axis. Both may start from different datums.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    /// Sideways.
    pub x: FromX,
    /// Up and down.
    pub y: FromY,
}

/// A dimension across, mm, from the box around the part. Positive goes inwards from an edge, to the right from the
/// centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FromX {
    /// From the left edge, to the right.
    Left(f64),
    /// From the right edge, to the left.
    Right(f64),
    /// From the middle, to the right.
    Center(f64),
}

/// A dimension upright, mm, from the box around the part. Positive goes inwards from an edge, up from the centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FromY {
    /// From the bottom edge, up.
    Bottom(f64),
    /// From the top edge, down.
    Top(f64),
    /// From the middle, up.
    Center(f64),
}

impl Position {
    /// The middle of the part.
    pub const CENTER: Self = Self { x: FromX::Center(0.0), y: FromY::Center(0.0) };

    /// A place by dimensions.
    #[must_use]
    pub const fn new(x: FromX, y: FromY) -> Self {
        Self { x, y }
    }

    /// The two dimensions as written.
    pub(super) fn dimensions(self) -> [f64; 2] {
        let (FromX::Left(x) | FromX::Right(x) | FromX::Center(x)) = self.x;
        let (FromY::Bottom(y) | FromY::Top(y) | FromY::Center(y)) = self.y;
        [x, y]
    }

    /// Where that is on a part in this box.
    #[must_use]
    pub fn on(self, bounds: Bounds) -> Point {
        let x = match self.x {
            FromX::Left(distance) => bounds.min.x + distance,
            FromX::Right(distance) => bounds.max.x - distance,
            FromX::Center(offset) => bounds.center().x + offset,
        };
        let y = match self.y {
            FromY::Bottom(distance) => bounds.min.y + distance,
            FromY::Top(distance) => bounds.max.y - distance,
            FromY::Center(offset) => bounds.center().y + offset,
        };
        Point::new(x, y)
    }
}

/// What is cut out. Lengths in mm, angles in degrees counter-clockwise from the x axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cut {
    /// A round hole.
    Hole {
        /// Its diameter.
        diameter: f64,
    },
    /// A slot with round ends.
    Slot {
        /// Length over all, at least the width.
        length: f64,
        /// Width: the diameter of the ends.
        width: f64,
        /// Direction of the length.
        angle_deg: f64,
    },
    /// A rectangular cutout.
    Cutout {
        /// Extent in x before the turn.
        width: f64,
        /// Extent in y before the turn.
        height: f64,
        /// How its four corners are made.
        corner: Corner,
        /// Turn about its middle.
        angle_deg: f64,
    },
    /// Round holes in a straight row.
    HoleRow {
        /// Diameter of each.
        diameter: f64,
        /// How many, at least one.
        count: u32,
        /// How far apart.
        spacing: Spacing,
        /// Direction from the first to the last.
        angle_deg: f64,
        /// What the position means.
        anchor: RowAnchor,
    },
    /// Round holes spaced evenly on a circle.
    BoltCircle {
        /// Diameter of each hole.
        diameter: f64,
        /// How many, at least one.
        count: u32,
        /// Diameter of the circle through the centres.
        circle_diameter: f64,
        /// Direction of the first hole from the middle; the others follow counter-clockwise.
        start_deg: f64,
    },
}

/// How far apart the holes of a row lie, centre to centre, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spacing {
    /// From each to the next.
    Pitch(f64),
    /// From the first to the last. A row of one has none.
    Overall(f64),
}

/// What the position of a hole row means.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RowAnchor {
    /// The centre of the first hole.
    #[default]
    First,
    /// The middle between the first and the last.
    Middle,
}

/// The kinds of [`Cut`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum FeatureKind {
    /// [`Cut::Hole`].
    Hole,
    /// [`Cut::Slot`].
    Slot,
    /// [`Cut::Cutout`].
    Cutout,
    /// [`Cut::HoleRow`].
    HoleRow,
    /// [`Cut::BoltCircle`].
    BoltCircle,
}

impl fmt::Display for FeatureKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Hole => "round hole",
            Self::Slot => "slot",
            Self::Cutout => "cutout",
            Self::HoleRow => "hole row",
            Self::BoltCircle => "bolt circle",
        })
    }
}

impl Cut {
    /// What kind of cut it is.
    #[must_use]
    pub fn kind(&self) -> FeatureKind {
        match self {
            Self::Hole { .. } => FeatureKind::Hole,
            Self::Slot { .. } => FeatureKind::Slot,
            Self::Cutout { .. } => FeatureKind::Cutout,
            Self::HoleRow { .. } => FeatureKind::HoleRow,
            Self::BoltCircle { .. } => FeatureKind::BoltCircle,
        }
    }

    /// How many rings it cuts.
    pub(crate) fn count(&self) -> usize {
        match *self {
            Self::Hole { .. } | Self::Slot { .. } | Self::Cutout { .. } => 1,
            Self::HoleRow { count, .. } | Self::BoltCircle { count, .. } => count as usize,
        }
    }
}

/// One ring that a feature cuts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Opening {
    /// Index of the feature.
    pub(super) feature: usize,
    /// Which of the feature's holes, counted from 0.
    pub(super) number: u32,
    /// Its middle.
    pub(super) center: Point,
    /// The ring.
    pub(super) outline: Outline,
    /// Set when it is round.
    pub(super) diameter: Option<f64>,
}

impl Opening {
    /// How far the opening reaches from its middle in a direction (a unit vector).
    ///
    /// Openings are convex, so the farthest point of an arc is a corner or the point where the arc faces `direction`.
    pub(super) fn reach(&self, direction: Vector) -> f64 {
        self.outline.segments().fold(0.0, |reach: f64, segment| {
            let mut reach = reach.max((segment.start() - self.center).dot(direction));
            if let dropwise_geometry::Segment::Arc { arc, .. } = segment
                && arc.covers_angle(direction.angle())
            {
                reach = reach.max((arc.center - self.center).dot(direction) + arc.radius);
            }
            reach
        })
    }
}

/// The rings a feature cuts on a part in this box. Sizes have been checked.
pub(super) fn openings(index: usize, feature: &Feature, bounds: Bounds) -> Vec<Opening> {
    let at = feature.position.on(bounds);
    let round = |number: u32, center: Point, diameter: f64| Opening {
        feature: index,
        number,
        center,
        outline: Outline::circle(center, diameter / 2.0),
        diameter: Some(diameter),
    };
    let single = |outline: Outline| Opening { feature: index, number: 0, center: at, outline, diameter: None };
    match feature.cut {
        Cut::Hole { diameter } => vec![round(0, at, diameter)],
        // A slot as long as it is wide is a round hole, and marked out as one.
        Cut::Slot { length, width, .. } if length == width => vec![round(0, at, width)],
        Cut::Slot { length, width, angle_deg } => {
            vec![single(slot_outline(length, width).transformed(Isometry::new(false, angle_deg, at.x, at.y)))]
        }
        Cut::Cutout { width, height, corner, angle_deg } => {
            let corners = rectangle_corners(Point::new(-width / 2.0, -height / 2.0), width, height, [corner; 4]);
            match outline_with_corners(&corners) {
                Ok(outline) => vec![single(outline.transformed(Isometry::new(false, angle_deg, at.x, at.y)))],
                // Reported when sizes were checked.
                Err(_) => Vec::new(),
            }
        }
        Cut::HoleRow { diameter, count, spacing, angle_deg, anchor } => {
            let gaps = f64::from(count.saturating_sub(1));
            let overall = match spacing {
                Spacing::Pitch(pitch) => pitch * gaps,
                Spacing::Overall(overall) => overall,
            };
            let (sin, cos) = sin_cos_deg(angle_deg);
            let along = Vector::new(cos, sin);
            let first = match anchor {
                RowAnchor::First => at,
                RowAnchor::Middle => at - along * (overall / 2.0),
            };
            (0..count).map(|i| round(i, first + along * (overall * f64::from(i) / gaps.max(1.0)), diameter)).collect()
        }
        Cut::BoltCircle { diameter, count, circle_diameter, start_deg } => (0..count)
            .map(|i| {
                let (sin, cos) = sin_cos_deg(start_deg + 360.0 * f64::from(i) / f64::from(count));
                round(i, at + Vector::new(cos, sin) * (circle_diameter / 2.0), diameter)
            })
            .collect(),
    }
}

/// A slot about the origin, its length along x.
pub(super) fn slot_outline(length: f64, width: f64) -> Outline {
    let (half, radius) = ((length - width) / 2.0, width / 2.0);
    Outline::new(vec![
        Vertex::line(Point::new(-half, -radius)),
        Vertex::arc(Point::new(half, -radius), 1.0),
        Vertex::line(Point::new(half, radius)),
        Vertex::arc(Point::new(-half, radius), 1.0),
    ])
}

/// The corners of a rectangle, counter-clockwise from the lower left.
pub(super) fn rectangle_corners(at: Point, width: f64, height: f64, corners: [Corner; 4]) -> Vec<PolygonCorner> {
    [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
        .into_iter()
        .zip(corners)
        .map(|((dx, dy), corner)| PolygonCorner::new(at.x + dx, at.y + dy, corner))
        .collect()
}
