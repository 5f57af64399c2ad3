//! Plane geometry for sheet metal: points, outlines made of lines and circular arcs, and the polygons that stand in
//! for them where an algorithm wants straight edges.
//!
//! All lengths are millimetres in `f64`, areas square millimetres, angles degrees counter-clockwise where a name ends
//! in `_deg` and radians elsewhere. The y axis points up. The crate knows nothing of steel, money or files.
//!
//! | type | what it is |
//! |---|---|
//! | [`Outline`] | a closed chain of lines and arcs: one ring |
//! | [`Shape`] | an exterior outline less its holes, arcs kept |
//! | [`Polygon`] | the same with straight edges only |
//! | [`Isometry`] | mirror, turn, move: how a part lies on a sheet |
//!
//! # Examples
//! ```
//! use dropwise_geometry::{Outline, Point, Shape};
//! // A 40 x 20 plate with a hole of radius 5 in the middle.
//! let plate = Shape::new(
//!     Outline::rectangle(Point::new(0.0, 0.0), 40.0, 20.0),
//!     vec![Outline::circle(Point::new(20.0, 10.0), 5.0)],
//! );
//! assert!((plate.area() - (800.0 - 25.0 * std::f64::consts::PI)).abs() < 1e-9);
//! ```

mod boolean;
mod covering;
mod distance;
mod flatten;
#[cfg(test)]
mod generators;
mod hull;
mod inscribed;
mod isometry;
mod length;
mod offset;
mod outline;
mod point;
mod polygon;
#[cfg(test)]
mod properties;
mod shape;
#[cfg(test)]
mod sure;
mod tape;
mod validity;
mod words;

pub use boolean::{BooleanError, difference, intersection, simplified, union};
pub use distance::{Boundary, Overlap, Region};
pub use flatten::{MIN_TOLERANCE, Side};
pub use hull::convex_hull;
pub use inscribed::{Circle, OrientedRectangle, largest_circle, largest_rectangle};
pub use isometry::{Isometry, sin_cos_deg};
pub use length::{
    InchDivision, LengthError, LengthFault, MAX_LENGTH, Unit, UnitError, format_area, format_gap, format_inch_fraction,
    format_length, format_lengths_apart, parse_length,
};
pub use offset::offset;
pub use outline::{Arc, Outline, Segment, Vertex};
pub use point::{Bounds, Point, Vector};
pub use polygon::Polygon;
pub use shape::Shape;
pub use tape::{Adjustment, Diagonal, MAX_TAPED_CORNERS, Measurement, TapeError, TapedOutline, outline_from_tape};
pub use validity::Fault;
pub use words::shortened;
