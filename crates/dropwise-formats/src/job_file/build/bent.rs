//! What a job file says of parts beyond their outline: bends, and holes that are more than cut.

use dropwise_geometry::Point;
use dropwise_shop::bend::{Grade, Method};
use dropwise_shop::fold::{BendTable, BentPart, Unfolding};

use crate::job_file::error::Place;

/// A bent part: as told, laid flat, and by what figures.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BentDetail {
    /// The part as it was told, face by face.
    pub part: BentPart,
    /// Laid flat: its shape is that of the job's part, in the same coordinates.
    pub unfolding: Unfolding,
    /// Every number from which its flat lengths follow.
    pub table: BendTable,
    /// The metal in the state in which it is bent.
    pub grade: Grade,
    /// How the punch drives the sheet into the die.
    pub method: Method,
    /// Opening of the die that each bend is to be made in, mm, in the order of the unfolding's bends; `None` where the
    /// job does not say, and for hems.
    pub dies: Vec<Option<f64>>,
    /// Where each face was written down, in the order of the unfolding's faces.
    pub places: Vec<Place>,
}

/// A round hole that is more than cut.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkedHole {
    /// Its middle, in the coordinates of the part's shape.
    pub center: Point,
    /// Diameter of the hole that is cut, mm.
    pub diameter: f64,
    /// Whether the countersink opens, or the flare stands, towards the viewer of the pattern.
    pub is_up: bool,
    /// What is done to it.
    pub work: HoleWork,
    /// The face that it is in, as the unfolding counts them; 0 in a part without bends.
    pub face: usize,
    /// Where it was written down.
    pub place: Place,
}

/// What is done to a hole. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoleWork {
    /// Countersunk.
    Countersunk {
        /// Diameter of the cone at the face of the sheet.
        diameter: f64,
        /// Angle between its sides, degrees.
        angle_deg: f64,
        /// How deep the cone goes until it is as wide as the hole. In sheet thinner than that it breaks through.
        depth: f64,
    },
    /// Flared with a pair of dies.
    Flared {
        /// Outside diameter of the flare, by which its die is known.
        diameter: f64,
        /// How far it stands up, if the job says.
        depth: Option<f64>,
    },
}
