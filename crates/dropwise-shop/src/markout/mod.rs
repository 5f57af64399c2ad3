//! Marking out by hand: tables of distances from a datum, for a person with tape, square and centre punch.
//!
//! A table is data, not text: paper and terminal print it as they like. All distances run from one corner along the datum
//! edge and square to it, so that errors do not add up, and each is rounded to what a tape shows with the rounding kept
//! beside it.
//!
//! # Examples
//! ```
//! use dropwise_geometry::{Outline, Point, Shape, Unit};
//! use dropwise_model::{Need, Part, StockClass, Turns};
//! use dropwise_shop::markout::{Grid, HoleTools, MarkOut};
//! let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 80.0, 40.0), vec![Outline::circle(Point::new(12.3, 20.0), 4.5)]);
//! let (class, turns) = (StockClass::new("steel"), Turns::Any);
//! let part = Part { name: "strap".into(), shape, quantity: 1, class, turns, may_flip: false, need: Need::Required };
//! let grid = Grid::beside(Unit::Millimetre);
//! let table = MarkOut::of_part(&part, &Default::default(), grid, &HoleTools::beside(Unit::Millimetre));
//! let hole = &table.holes[0];
//! assert_eq!(hole.method.to_string(), "9 mm drill");
//! assert_eq!(grid.format(hole.centres[0].mark.from[0]), "12.5 mm");
//! ```

mod datum;
mod grid;
mod holes;
mod round;
mod scribe;
mod table;
#[cfg(test)]
mod tests;

pub use datum::{Datum, DatumLine};
pub use grid::{Grid, Reading};
pub use holes::{HoleMethod, HoleTools, RoundPunch, THINNEST_PUNCH_SOURCE};
pub use round::full_circle;
pub use scribe::ScribeLines;
pub(crate) use table::heading;
pub use table::{
    ArcMark, CornerMark, HoleGroup, HoleMark, Mark, MarkOut, MarkOutError, PartMarks, RunningMark, ScribeMark,
    ScribeUse, Stop,
};
