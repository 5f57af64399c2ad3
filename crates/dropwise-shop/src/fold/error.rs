//! What can be wrong with a bent part.

use std::fmt;

use dropwise_geometry::{Fault, Point};
use thiserror::Error;

use crate::bend::BendError;
use crate::pattern::PatternErrors;

use super::part::Edge;

/// Most faces that a part may have.
pub const MOST_FACES: usize = 400;

/// Most flanges that may follow on one another.
pub const MOST_BENDS_IN_A_ROW: usize = 40;

/// A fault of a bent part. Lengths in mm, angles in degrees; points lie on the flat pattern unless said otherwise, in
/// the frame of the base.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum BentError {
    /// Faults of a face's outline or of what is cut out of it, in the face's own frame.
    #[error("face \"{face}\": {}", indented(.errors))]
    Pattern {
        /// Which face.
        face: String,
        /// The faults.
        errors: PatternErrors,
    },
    /// A drawn base that is not sound.
    #[error("face \"{face}\": {fault}")]
    Outline {
        /// Which face.
        face: String,
        /// What is wrong.
        fault: Fault,
    },
    /// A bend that has no such figures.
    #[error("face \"{face}\": {error}")]
    Bend {
        /// The face that is bent.
        face: String,
        /// Why not.
        error: BendError,
    },
    /// A size that is not finite or not within reason.
    #[error("face \"{face}\": the {what} is {value} mm; it must be more than 0 and at most 100 m")]
    Size {
        /// Which face.
        face: String,
        /// Which size.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// More than [`MOST_FACES`].
    #[error("the part has {found} faces; at most {MOST_FACES} are allowed")]
    TooManyFaces {
        /// How many.
        found: usize,
    },
    /// More than [`MOST_BENDS_IN_A_ROW`].
    #[error("face \"{face}\" follows on more than {MOST_BENDS_IN_A_ROW} bends in a row")]
    TooDeep {
        /// The first face beyond.
        face: String,
    },
    /// Two faces of one name.
    #[error("two faces are named \"{face}\"")]
    NameTwice {
        /// The name.
        face: String,
    },
    /// A face without a name.
    #[error("a flange of face \"{parent}\" has no name")]
    NoName {
        /// What it is bent from.
        parent: String,
    },
    /// An edge that the parent does not have.
    #[error("face \"{face}\": face \"{parent}\" has no {edge} that is straight")]
    NoSuchEdge {
        /// The flange, or the face that is notched.
        face: String,
        /// Whose edge.
        parent: String,
        /// Which.
        edge: Edge,
    },
    /// An edge that is an arc.
    #[error("face \"{face}\": the {edge} of face \"{parent}\" is curved; a flange needs a straight edge")]
    CurvedEdge {
        /// The flange.
        face: String,
        /// Whose edge.
        parent: String,
        /// Which.
        edge: Edge,
    },
    /// The edge by which the parent itself is attached.
    #[error("face \"{face}\": the bottom edge of face \"{parent}\" is where that face itself is bent")]
    EdgeIsBent {
        /// The flange.
        face: String,
        /// Whose edge.
        parent: String,
    },
    /// A stretch that is not on its edge: wider than it, beyond an end, or run backwards.
    #[error(
        "face \"{face}\": it is told from {from:.3} to {to:.3} mm along an edge of face \"{parent}\" that runs from \
         {least:.3} to {most:.3} mm"
    )]
    BeyondEdge {
        /// The flange, or the face that is notched.
        face: String,
        /// Whose edge.
        parent: String,
        /// Start of the stretch.
        from: f64,
        /// Its end.
        to: f64,
        /// Where the edge starts.
        least: f64,
        /// Where it ends.
        most: f64,
    },
    /// An angle that is none.
    #[error("face \"{face}\": it is bent by {angle}°; the angle must be more than 0° and less than 180°")]
    Angle {
        /// Which face.
        face: String,
        /// What was given.
        angle: f64,
    },
    /// A half turn or more that is not told as a hem.
    #[error("face \"{face}\": it is bent by {angle}°; a half turn and more must be told as a hem")]
    HalfTurn {
        /// Which face.
        face: String,
        /// What was given.
        angle: f64,
    },
    /// No inside radius, where that is not allowed.
    #[error("face \"{face}\": the inside radius is 0; only closed hems and parts told to be coined sharp have none")]
    ZeroRadius {
        /// Which face.
        face: String,
    },
    /// A slant or set-back of an end that is out of reason.
    #[error("face \"{face}\": the {what} of an end is {value}")]
    EndCut {
        /// Which face.
        face: String,
        /// "set-back" or "slant".
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// A flange with no straight part left.
    #[error("face \"{face}\": its height is {found:.3} mm, and its own bend takes {wanted:.3} mm of that")]
    ShorterThanSetback {
        /// Which face.
        face: String,
        /// Its height as told.
        found: f64,
        /// What it must exceed.
        wanted: f64,
    },
    /// A leaf of a teardrop hem too short to reach back to the sheet.
    #[error(
        "face \"{face}\": the leaf of the teardrop hem is {found:.3} mm; it must be longer than its radius of {wanted:.3} mm"
    )]
    TeardropShort {
        /// Which face.
        face: String,
        /// The leaf.
        found: f64,
        /// The radius.
        wanted: f64,
    },
    /// Two things on one edge that overlap.
    #[error("faces \"{face}\" and \"{other}\" overlap on the edge of face \"{parent}\" from {from:.3} to {to:.3} mm")]
    OnOneEdge {
        /// The first, counter-clockwise.
        face: String,
        /// The second. The parent itself for a notch.
        other: String,
        /// Whose edge.
        parent: String,
        /// Start of the overlap.
        from: f64,
        /// Its end.
        to: f64,
    },
    /// Bends and cuts on the edges of a face leave nothing of it, or nothing of one of its edges.
    #[error("face \"{face}\": its bends, ends and notches leave nothing of it near ({:.3}, {:.3}) in its own frame", .at.x, .at.y)]
    UsedUp {
        /// Which face.
        face: String,
        /// Where, in the face's own frame.
        at: Point,
    },
    /// A hole that lies across the start of a bend.
    #[error(
        "face \"{face}\": feature {} lies across the bend of face \"{bend}\" at ({:.3}, {:.3}) in its own frame",
        .feature.map_or(0, |f| f + 1), .at.x, .at.y
    )]
    HoleAcrossBend {
        /// Which face.
        face: String,
        /// Index of the feature; `None` for a bore or a drawn hole.
        feature: Option<usize>,
        /// The face that the bend belongs to.
        bend: String,
        /// The middle of the hole, in the face's own frame.
        at: Point,
    },
    /// A hole through the edge of a face as its corners, ends and notches leave it.
    #[error("face \"{face}\": feature {} breaks through its edge near ({:.3}, {:.3}) in its own frame", .feature.map_or(0, |f| f + 1), .at.x, .at.y)]
    HoleThroughEdge {
        /// Which face.
        face: String,
        /// Index of the feature; `None` for a bore or a drawn hole.
        feature: Option<usize>,
        /// The middle of the hole, in the face's own frame.
        at: Point,
    },
    /// A mitre between flanges that do not bend alike.
    #[error("faces \"{face}\" and \"{other}\" cannot be mitred: they do not bend by the same angle the same way")]
    UnlikeMitre {
        /// The first, counter-clockwise.
        face: String,
        /// The second.
        other: String,
    },
    /// A join between flanges of flanges that do not meet.
    #[error("faces \"{face}\" and \"{other}\" meet at no corner in one plane, so they cannot be joined there")]
    NoReturnCorner {
        /// The first.
        face: String,
        /// The second.
        other: String,
    },
    /// An overlap where not everything is square.
    #[error(
        "faces \"{face}\" and \"{other}\" cannot overlap: that takes a square corner and two square bends the same way"
    )]
    UnsquareOverlap {
        /// The first, counter-clockwise.
        face: String,
        /// The second.
        other: String,
    },
    /// A relief for which there is no room.
    #[error("face \"{face}\": there is no room for the relief at the end of its bend near ({:.3}, {:.3}) on the flat pattern", .at.x, .at.y)]
    ReliefRoom {
        /// The face that is bent.
        face: String,
        /// Where.
        at: Point,
    },
    /// A relief hole that does not free the end of its bend.
    #[error(
        "face \"{face}\": a relief hole of radius {found:.3} mm does not free the end of its bend; it takes more than {wanted:.3} mm"
    )]
    ReliefSmall {
        /// The face that is bent.
        face: String,
        /// Its radius.
        found: f64,
        /// What that must exceed.
        wanted: f64,
    },
    /// Two faces that lie on one another when flat.
    #[error("faces \"{face}\" and \"{other}\" overlap when flat, by {depth:.3} mm at ({:.3}, {:.3})", .at.x, .at.y)]
    Collision {
        /// The face that comes first.
        face: String,
        /// The other.
        other: String,
        /// A point of both.
        at: Point,
        /// How deep.
        depth: f64,
    },
    /// Two faces that touch when flat, with no cut between them.
    #[error("faces \"{face}\" and \"{other}\" touch when flat, at ({:.3}, {:.3}): nothing parts them", .at.x, .at.y)]
    Touch {
        /// The face that comes first.
        face: String,
        /// The other.
        other: String,
        /// Where.
        at: Point,
    },
}

fn indented(errors: &PatternErrors) -> String {
    errors.to_string().replace('\n', "\n  ")
}

impl fmt::Display for Edge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bottom => f.write_str("bottom edge"),
            Self::Right => f.write_str("right edge"),
            Self::Top => f.write_str("top edge"),
            Self::Left => f.write_str("left edge"),
            Self::Side(side) => write!(f, "side {}", side + 1),
        }
    }
}

/// All faults found in a bent part: at least one. Those of a face come before those of what is bent from it; overlaps
/// on the flat come last.
#[derive(Clone, Debug, PartialEq)]
pub struct BentErrors(pub(super) Vec<BentError>);

impl BentErrors {
    /// The faults, in order.
    #[must_use]
    pub fn errors(&self) -> &[BentError] {
        &self.0
    }
}

impl fmt::Display for BentErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.0.iter().enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{error}")?;
        }
        Ok(())
    }
}

impl std::error::Error for BentErrors {}
