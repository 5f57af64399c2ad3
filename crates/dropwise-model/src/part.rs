//! What is to be made.

use dropwise_geometry::Shape;

use crate::StockClass;

/// A flat part that a job asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its name, unique in the job.
    pub name: String,
    /// Its flat pattern.
    pub shape: Shape,
    /// How many are wanted, at least one.
    pub quantity: u32,
    /// What it must be cut from.
    pub class: StockClass,
    /// Which way round it may lie.
    pub turns: Turns,
    /// Whether it may be cut face down.
    pub may_flip: bool,
    /// Whether it must be made.
    pub need: Need,
}

impl Part {
    /// One of this part, which must be made and may lie at any angle, face up or down.
    #[must_use]
    pub fn new(name: &str, shape: Shape, class: StockClass) -> Self {
        Self {
            name: name.to_owned(),
            shape,
            quantity: 1,
            class,
            turns: Turns::Any,
            may_flip: true,
            need: Need::Required,
        }
    }
}

/// Which way round a part may lie on its sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Turns {
    /// At any angle.
    Any,
    /// Only turned by one of these angles from the way it was drawn, in degrees counter-clockwise. Not empty.
    List(Vec<f64>),
    /// Held to the grain: the direction drawn at `along_deg` from the part's x axis runs along the sheet's grain,
    /// either way round. Such a part lies only on sheets whose grain is known.
    Grain {
        /// The direction in the drawing that must follow the grain, degrees from the x axis.
        along_deg: f64,
    },
}

impl Turns {
    /// The angles allowed on a sheet whose grain runs at `grain_deg`: `None` for any, an empty list for none.
    ///
    /// A flipped part is mirrored in its y axis before it is turned, so its grain direction is mirrored too.
    #[must_use]
    pub fn on_sheet(&self, grain_deg: Option<f64>, is_mirrored: bool) -> Option<Vec<f64>> {
        match self {
            Self::Any => None,
            Self::List(angles) => Some(angles.iter().map(|a| a.rem_euclid(360.0)).collect()),
            Self::Grain { along_deg } => {
                let along = if is_mirrored { 180.0 - along_deg } else { *along_deg };
                Some(grain_deg.map_or_else(Vec::new, |grain| {
                    let turn = (grain - along).rem_euclid(180.0);
                    vec![turn, turn + 180.0]
                }))
            }
        }
    }
}

/// Whether a part must be made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Need {
    /// It must be made.
    #[default]
    Required,
    /// It is made only where sheets that are cut anyway have room.
    Filler,
}
