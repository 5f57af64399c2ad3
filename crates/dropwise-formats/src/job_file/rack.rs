//! What lies in the shop's rack, as a job may use it.

use dropwise_geometry::{Outline, Shape};
use dropwise_model::Money;
use dropwise_shop::{Material, Thickness};

/// What lies in the rack, and what becomes of the sheets that the job names itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Rack {
    /// The pieces, each named by its tag.
    pub pieces: Vec<RackPiece>,
    /// The job's own sheets.
    pub own: OwnSheets,
}

/// What becomes of the sheets that a job names itself when the rack is used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum OwnSheets {
    /// They are left out, as if the job named none: what lies in the rack would often be there twice.
    #[default]
    LeftOut,
    /// They stand beside the rack, as sheets to be bought for example.
    Kept,
}

/// A piece that lies in the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct RackPiece {
    /// Its tag, and what the log knew of it.
    pub mark: RackMark,
    /// Outline and holes, mm.
    pub shape: Shape,
    /// Zones to stay out of.
    pub damage: Vec<Outline>,
    /// The metal.
    pub material: Material,
    /// Thickness it was sold as, which decides what parts may be cut from it.
    pub thickness: Thickness,
    /// Thickness as measured, mm, which decides what it weighs.
    pub measured_mm: Option<f64>,
    /// Direction of the grain, degrees from the x axis.
    pub grain_deg: Option<f64>,
    /// Where it lies.
    pub location: String,
    /// What it counts for in the cost of a plan: as a rule, what it carries of the money paid.
    pub price: Money,
}

/// Which piece of the rack a sheet is, and as of when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RackMark {
    /// Its tag.
    pub tag: String,
    /// Number of the event that last changed its metal, when the log was read.
    pub revision: i64,
}
