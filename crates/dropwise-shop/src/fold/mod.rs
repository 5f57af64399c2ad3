//! Bent parts: told by their faces, laid flat, and folded up again.
//!
//! A part is a tree: a base face with flanges on its straight edges, flanges on those, and so on. [`unfold`] lays it
//! flat, [`fold`](Unfolding::fold) bends the flat pattern up again and so proves it, and a [`BendTable`] lists every
//! number from which the flat lengths follow.
//!
//! Seen flat, the base is turned as it was told, and a flange lies outside its edge; the whole pattern lies in its
//! [`PartFrame`](crate::PartFrame). *Up* is towards the viewer.
//!
//! # Examples
//! A tray of 2 mm steel, 200 × 100 × 30 over its outside, bent over an inside radius of 2:
//! ```
//! use dropwise_shop::bend::{Development, KFactor};
//! use dropwise_shop::fold::{tray, unfold};
//! let part = tray(200.0, 100.0, 30.0, 2.0, 2.0);
//! let k = KFactor::given(0.44)?;
//! let flat = unfold(&part, &|_| Development::KFactor(k.clone()))?;
//! // Each bend takes off 2 (R + T) - (π/2) (R + K T) = 8 - 4.524: 200 + 30 + 30 - 2 × 3.476.
//! assert_eq!(format!("{:.3}", flat.shape.bounds().width()), "253.048");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod bite;
mod check;
mod corner;
mod error;
mod flat;
mod folded;
mod frame;
mod grow;
mod judge;
mod part;
mod parts;
mod relief;
mod returns;
mod solid;
mod space;
mod table;
#[cfg(test)]
mod tests;
mod unfold;
mod walk;

pub use error::{BentError, BentErrors, MOST_BENDS_IN_A_ROW, MOST_FACES};
pub use flat::{FlatBend, FlatFace, FlatHole, FlatRelief, Unfolding};
pub use folded::{Folded, FoldedBend, FoldedFace};
pub use frame::FaceFrame;
pub use part::{BaseFace, BentPart, CornerJoin, Direction, Edge, EndCut, Extent, Flange, Join, Notch, NotchForm, Turn};
pub use parts::{angle_bracket, channel, gusseted_corner, hat_section, lipped_box, machine_table, tray, z_section};
pub use relief::{RULE_MARGIN, Relief, ReliefSize};
pub use returns::ReturnJoin;
pub(crate) use solid::{Convex, flat_plates};
pub use solid::{Kinship, Plate, SOLID_TOUCH, SelfOverlap};
pub use space::Point3;
pub use table::{BendRow, BendTable, Run, RunRow};
pub use unfold::unfold;
