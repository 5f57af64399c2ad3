//! Where parts lie.

use dropwise_geometry::Isometry;

/// One part on a sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Index of the part in the job.
    pub part: usize,
    /// How it lies.
    pub position: Isometry,
}

/// One sheet that is cut.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetUse {
    /// Index of the sheet in the job.
    pub sheet: usize,
    /// For stock sold by length, how much is bought, mm.
    pub length: Option<f64>,
    /// The parts on it.
    pub placements: Vec<Placement>,
}

/// Where every part lies. Not yet a plan: nothing here has been checked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layout {
    /// The sheets that are cut. A sheet of which there are several may stand here several times.
    pub sheets: Vec<SheetUse>,
    /// Required parts that lie nowhere, with the reason; fillers that found no room too.
    pub unplaced: Vec<Unplaced>,
}

/// Parts that lie on no sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Unplaced {
    /// Index of the part in the job.
    pub part: usize,
    /// How many of it.
    pub count: u32,
    /// Why.
    pub reason: Reason,
}

/// Why a part lies on no sheet.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// No sheet is of its class.
    NoSuchStock,
    /// It is held to the grain, and no sheet of its class says which way its grain runs.
    GrainUnknown,
    /// It fits on no sheet of its class even when alone there.
    TooLarge {
        /// The sheet that comes nearest, an index in the job.
        nearest: usize,
        /// By how much it is too large for that one, mm, as far as a box around it tells; zero when only its form is
        /// in the way.
        excess: f64,
    },
    /// It would fit on a sheet alone, but the sheets are full.
    NoRoom,
    /// It would fit on a sheet alone, but the time was over before a place was sought for it.
    OutOfTime,
}
