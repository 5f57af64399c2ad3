//! Outlines in true size from photographs taken beside a printed scale sheet.
//!
//! A photograph of a flat thing with a [`ScaleSheet`] beside it is enough: the corners of the sheet's squares tell where the
//! camera stood and what its lens does, thing and ground are told apart, and the edge is followed at sub-pixel accuracy and
//! drawn as lines and arcs. Each reading tells how accurate it is, worked out from the fit itself.
//!
//! - [`ScaleSheet`]: what is printed where on a sheet
//! - [`Photograph`]: a JPEG or PNG file, with bounds on everything
//! - [`read`]: from photographs to a [`Reading`]
//! - [`Calibration`]: cameras from crossings, for those who bring their own
//!
//! The crate knows nothing of nesting, materials or databases, and draws no page; what is printed goes through the caller.
//!
//! # Limits
//! The ground is flat, the thing lies flat on it, and the sheet lies flat beside it. Mirror-like metal shows its surroundings
//! instead of itself.

mod accuracy;
mod camera;
mod corners;
mod decode;
mod edges;
mod error;
mod fit;
mod holes;
mod identify;
mod lattice;
mod locate;
mod looks;
mod patterns;
mod picture;
mod plane;
mod raster;
mod reading;
mod regions;
mod segment;
mod sheet;
mod square;

pub use camera::{Calibration, Lens, Sighted, Sighting, View};
pub use decode::Photograph;
pub use error::PhotoError;
pub use plane::Homography;
pub use reading::{Accuracy, Decision, Hole, HoleForm, Known, Measure, Pattern, Reading, Settings, read};
pub use regions::MarkColour;
pub use segment::Hints;
pub use sheet::{MODULE, MODULES, MOST_PAGES, PITCH, RULED_SQUARE, ScaleSheet, SheetCode, SheetPaper};
