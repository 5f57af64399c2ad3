//! The outlines a part starts from, before anything is cut out of it.

use std::fmt;

use dropwise_geometry::{Outline, Point, Shape, Vector};

use super::corner::{Corner, PolygonCorner, ShortSide, outline_with_corners};
use super::feature::{rectangle_corners, slot_outline};

/// The outline a part starts from. Lengths in mm.
///
/// The box around it has its lower left corner at (0, 0); a polygon stays where its points are.
#[derive(Clone, Debug, PartialEq)]
pub enum Base {
    /// A rectangle.
    Rectangle {
        /// Extent in x.
        width: f64,
        /// Extent in y.
        height: f64,
        /// Its corners: lower left, lower right, upper right, upper left.
        corners: [Corner; 4],
    },
    /// Straight sides between corners, either way round.
    Polygon {
        /// At least three.
        corners: Vec<PolygonCorner>,
    },
    /// A disc.
    Circle {
        /// Its diameter.
        diameter: f64,
    },
    /// A disc with a concentric bore.
    Ring {
        /// Diameter of the outside.
        outer_diameter: f64,
        /// Diameter of the bore.
        inner_diameter: f64,
    },
    /// A strip with round ends, its length along x.
    Slot {
        /// Length over all, at least the width.
        length: f64,
        /// Width: the diameter of the ends.
        width: f64,
    },
    /// An L: two strips that share the corner at (0, 0).
    L {
        /// Length over all of the strip along x.
        length_x: f64,
        /// Width of that strip, measured in y.
        width_x: f64,
        /// Length over all of the strip along y.
        length_y: f64,
        /// Width of that strip, measured in x.
        width_y: f64,
        /// Radius of the inside corner, if it is not sharp.
        inside_radius: Option<f64>,
    },
    /// A right triangle with its right angle at (0, 0).
    Gusset {
        /// Length over all of the leg along x.
        leg_x: f64,
        /// Length over all of the leg along y.
        leg_y: f64,
        /// How the end of the leg along x is made.
        tip_x: Tip,
        /// How the end of the leg along y is made.
        tip_y: Tip,
        /// How the right angle is made: often cut off, to clear a weld.
        inside_corner: Corner,
    },
}

/// How the sharp end of a gusset's leg is made.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Tip {
    /// Left as leg and slope meet.
    #[default]
    Sharp,
    /// Clipped or rounded as any corner; the leg is measured to where the sharp point was.
    Corner(Corner),
    /// Ends in a flat this high, square to the leg. The leg keeps its length and the slope starts at the flat's top
    /// (common practice, no source).
    NoseFlat(f64),
}

/// The kinds of [`Base`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum BaseKind {
    /// [`Base::Rectangle`].
    Rectangle,
    /// [`Base::Polygon`].
    Polygon,
    /// [`Base::Circle`].
    Circle,
    /// [`Base::Ring`].
    Ring,
    /// [`Base::Slot`].
    Slot,
    /// [`Base::L`].
    L,
    /// [`Base::Gusset`].
    Gusset,
}

impl fmt::Display for BaseKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Rectangle => "rectangle",
            Self::Polygon => "polygon",
            Self::Circle => "circle",
            Self::Ring => "ring",
            Self::Slot => "slot-shaped part",
            Self::L => "L",
            Self::Gusset => "gusset",
        })
    }
}

impl Base {
    /// A rectangle whose four corners are made alike.
    #[must_use]
    pub const fn rectangle(width: f64, height: f64, corner: Corner) -> Self {
        Self::Rectangle { width, height, corners: [corner; 4] }
    }

    /// What kind of outline it is.
    #[must_use]
    pub fn kind(&self) -> BaseKind {
        match self {
            Self::Rectangle { .. } => BaseKind::Rectangle,
            Self::Polygon { .. } => BaseKind::Polygon,
            Self::Circle { .. } => BaseKind::Circle,
            Self::Ring { .. } => BaseKind::Ring,
            Self::Slot { .. } => BaseKind::Slot,
            Self::L { .. } => BaseKind::L,
            Self::Gusset { .. } => BaseKind::Gusset,
        }
    }

    /// The corners it is made of, before rounding; nothing for those that are round by nature. Its sides are counted as
    /// they are.
    #[must_use]
    pub fn corners(&self) -> Option<Vec<PolygonCorner>> {
        match *self {
            Self::Rectangle { width, height, corners } => {
                Some(rectangle_corners(Point::ORIGIN, width, height, corners))
            }
            Self::Polygon { ref corners } => Some(corners.clone()),
            Self::Circle { .. } | Self::Ring { .. } | Self::Slot { .. } => None,
            Self::L { length_x, width_x, length_y, width_y, inside_radius } => Some(vec![
                PolygonCorner::sharp(0.0, 0.0),
                PolygonCorner::sharp(length_x, 0.0),
                PolygonCorner::sharp(length_x, width_x),
                PolygonCorner::new(width_y, width_x, inside_radius.map_or(Corner::Sharp, Corner::Radius)),
                PolygonCorner::sharp(width_y, length_y),
                PolygonCorner::sharp(0.0, length_y),
            ]),
            Self::Gusset { leg_x, leg_y, tip_x, tip_y, inside_corner } => {
                let mut corners = vec![PolygonCorner::new(0.0, 0.0, inside_corner)];
                match tip_x {
                    Tip::Sharp => corners.push(PolygonCorner::sharp(leg_x, 0.0)),
                    Tip::Corner(corner) => corners.push(PolygonCorner::new(leg_x, 0.0, corner)),
                    Tip::NoseFlat(flat) => {
                        corners.extend([PolygonCorner::sharp(leg_x, 0.0), PolygonCorner::sharp(leg_x, flat)]);
                    }
                }
                match tip_y {
                    Tip::Sharp => corners.push(PolygonCorner::sharp(0.0, leg_y)),
                    Tip::Corner(corner) => corners.push(PolygonCorner::new(0.0, leg_y, corner)),
                    Tip::NoseFlat(flat) => {
                        corners.extend([PolygonCorner::sharp(flat, leg_y), PolygonCorner::sharp(0.0, leg_y)]);
                    }
                }
                Some(corners)
            }
        }
    }

    /// The outline, and the bore of a ring. Sizes have been checked.
    ///
    /// # Errors
    /// Every side too short for its corners.
    pub(super) fn shape(&self) -> Result<Shape, Vec<ShortSide>> {
        if let Some(corners) = self.corners() {
            return Ok(Shape::new(outline_with_corners(&corners)?, Vec::new()));
        }
        let disc = |center: f64, diameter: f64| Outline::circle(Point::new(center, center), diameter / 2.0);
        Ok(match *self {
            Self::Circle { diameter } => Shape::new(disc(diameter / 2.0, diameter), Vec::new()),
            Self::Ring { outer_diameter, inner_diameter } => {
                let center = outer_diameter / 2.0;
                Shape::new(disc(center, outer_diameter), vec![disc(center, inner_diameter)])
            }
            // As long as it is wide, it is a disc; as a slot it would have sides of no length.
            Self::Slot { length, width } if length == width => Shape::new(disc(width / 2.0, width), Vec::new()),
            Self::Slot { length, width } => {
                let middle = Vector::new(length / 2.0, width / 2.0);
                let vertices = slot_outline(length, width)
                    .vertices()
                    .iter()
                    .map(|v| dropwise_geometry::Vertex { point: v.point + middle, ..*v })
                    .collect();
                Shape::new(Outline::new(vertices), Vec::new())
            }
            Self::Rectangle { .. } | Self::Polygon { .. } | Self::L { .. } | Self::Gusset { .. } => {
                unreachable!("these have corners, and were made of them above")
            }
        })
    }
}
