//! What is cut out of a part, or already out of a sheet.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::bent::DirectionWord;
use super::values::{Edges, Length, Placing};

/// Lists of openings.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Openings {
    /// Round holes.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"diameter": 9, "at": [20, 15]}]]))]
    pub holes: Option<Vec<Hole>>,
    /// Slots with round ends.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"length": 30, "width": 9, "at": {"right": 25, "bottom": 15}}]]))]
    pub slots: Option<Vec<SlotHole>>,
    /// Rectangular openings.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"width": 40, "height": 20, "at": "center"}]]))]
    pub cutouts: Option<Vec<Cutout>>,
    /// Round holes in a straight row.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"diameter": 5, "count": 6, "pitch": 20, "at": [10, 10]}]]))]
    pub hole_rows: Option<Vec<HoleRow>>,
    /// Round holes spaced evenly on a circle.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"diameter": 7, "count": 6, "circle": 70}]]))]
    pub bolt_circles: Option<Vec<BoltCircle>>,
}

/// A round hole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Hole {
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub size: HoleSize,
    /// Where its middle is. When left out, in the middle of the part.
    #[schemars(extend("examples" = [{"left": 20, "top": 15}]))]
    pub at: Option<Placing>,
    /// Where its edge is, instead of `at`: each dimension runs from an edge of the part to the side of the hole that faces it.
    #[schemars(extend("examples" = [{"left": 15, "bottom": 10}]))]
    pub edges: Option<Edges>,
    /// Countersunk for the head of a screw.
    #[schemars(extend("examples" = [{"screw": "M6"}]))]
    pub countersink: Option<Countersink>,
    /// Flared with a pair of dies.
    #[schemars(extend("examples" = [{"diameter": "2 in"}]))]
    pub flare: Option<Flare>,
}

/// A slot with round ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct SlotHole {
    /// Length over all.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub length: Length,
    /// Width, which is the diameter of the ends.
    #[schemars(extend("examples" = ["9 mm"]))]
    pub width: Length,
    /// Direction of the length, degrees counter-clockwise from the x axis. When left out, 0.
    #[schemars(extend("examples" = [90]))]
    pub angle: Option<f64>,
    /// Where its middle is. When left out, in the middle of the part.
    #[schemars(extend("examples" = [{"right": 25, "bottom": 15}]))]
    pub at: Option<Placing>,
    /// Where its edges are, instead of `at`: each dimension runs from an edge of the part to the side of the slot that faces
    /// it.
    #[schemars(extend("examples" = [{"left": 10, "bottom": 10}]))]
    pub edges: Option<Edges>,
}

/// A rectangular opening.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Cutout {
    /// Extent in x, before it is turned.
    #[schemars(extend("examples" = ["40 mm"]))]
    pub width: Length,
    /// Extent in y, before it is turned.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub height: Length,
    /// Radius of its four corners. When left out, they are sharp.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub corner_radius: Option<Length>,
    /// Turn about its middle, degrees counter-clockwise. When left out, 0.
    #[schemars(extend("examples" = [45]))]
    pub angle: Option<f64>,
    /// Where its middle is. When left out, in the middle of the part.
    #[schemars(extend("examples" = ["center"]))]
    pub at: Option<Placing>,
    /// Where its edges are, instead of `at`: each dimension runs from an edge of the part to the side of the opening that faces
    /// it, so that two of them place a corner.
    #[schemars(extend("examples" = [{"left": 20, "bottom": 10}]))]
    pub edges: Option<Edges>,
}

/// How large round holes are: one of the four is given.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HoleSize {
    /// Diameter of the hole.
    #[schemars(extend("examples" = ["11/32 in"]))]
    pub diameter: Option<Length>,
    /// Instead of a diameter: the screw that goes through, such as `"M6"`, `"1/4"` or `"#8"`, in its medium clearance hole; a
    /// table says another fit.
    #[schemars(extend("examples" = ["M6"]))]
    pub clearance: Option<Clearance>,
    /// Instead of a diameter: the thread that is cut into it, such as `"M6"`, `"M8x1.25"` or `"1/4-20"`; it is drilled for the
    /// tap.
    #[schemars(extend("examples" = ["M6"]))]
    pub tap: Option<String>,
    /// Instead of a diameter: the shank of the blind rivet that goes in, such as `"4 mm"` or `"1/8 in"`.
    #[schemars(extend("examples" = ["4 mm"]))]
    pub rivet: Option<Length>,
}

/// A screw that goes through a hole: its name, or a table with the fit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a screw such as \"M6\" or { screw = \"M6\", fit = \"fine\" }")]
pub enum Clearance {
    /// In the medium fit.
    Screw(String),
    /// In another.
    Fitted(FittedScrew),
}

/// A screw and how much play it has.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a screw with its fit", extend("additionalProperties" = false))]
pub struct FittedScrew {
    /// The screw.
    #[schemars(extend("examples" = ["M6"]))]
    pub screw: String,
    /// How much play the hole gives: `fine`, `medium` or `coarse`, as ISO 273 has them. When left out, `medium`.
    #[schemars(extend("examples" = ["fine"]))]
    pub fit: Option<FitWord>,
}

/// How much play a clearance hole gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum FitWord {
    /// Close.
    Fine,
    /// Normal.
    Medium,
    /// Loose.
    Coarse,
}

/// Round holes in a straight row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct HoleRow {
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub size: HoleSize,
    /// How many holes.
    #[schemars(range(min = 1, max = 10000), extend("examples" = [6]))]
    pub count: u32,
    /// From the middle of one hole to the middle of the next. Either this or `overall` is given.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub pitch: Option<Length>,
    /// From the middle of the first hole to the middle of the last.
    #[schemars(extend("examples" = ["100 mm"]))]
    pub overall: Option<Length>,
    /// Direction of the row, degrees counter-clockwise from the x axis. When left out, 0.
    #[schemars(extend("examples" = [90]))]
    pub angle: Option<f64>,
    /// Where the middle of the first hole is.
    #[schemars(extend("examples" = [[10, 10]]))]
    pub at: Option<Placing>,
    /// Where the middle of the whole row is, instead of `at`. When both are left out, the row is centred on the part.
    #[schemars(extend("examples" = [{"bottom": 10}]))]
    pub middle: Option<Placing>,
    /// Countersunk for the head of a screw.
    #[schemars(extend("examples" = [{"screw": "M6"}]))]
    pub countersink: Option<Countersink>,
    /// Flared with a pair of dies.
    #[schemars(extend("examples" = [{"diameter": "2 in"}]))]
    pub flare: Option<Flare>,
}

/// Round holes spaced evenly on a circle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct BoltCircle {
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub size: HoleSize,
    /// How many holes.
    #[schemars(range(min = 1, max = 10000), extend("examples" = [6]))]
    pub count: u32,
    /// Diameter of the circle through the middles of the holes.
    #[schemars(extend("examples" = ["70 mm"]))]
    pub circle: Length,
    /// Direction of the first hole from the middle of the circle, degrees from the x axis. When left out, 0.
    #[schemars(extend("examples" = [30]))]
    pub start: Option<f64>,
    /// Where the middle of the circle is. When left out, in the middle of the part.
    #[schemars(extend("examples" = ["center"]))]
    pub at: Option<Placing>,
    /// Countersunk for the head of a screw.
    #[schemars(extend("examples" = [{"screw": "M6"}]))]
    pub countersink: Option<Countersink>,
    /// Flared with a pair of dies.
    #[schemars(extend("examples" = [{"diameter": "2 in"}]))]
    pub flare: Option<Flare>,
}

/// A countersink: sized for a screw, or by its diameter.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Countersink {
    /// The screw, such as `"M6"`, `"#10"` or `"1/4 in"`: diameter and angle are then those of its countersunk socket head.
    #[schemars(extend("examples" = ["M6"]))]
    pub screw: Option<String>,
    /// Diameter of the cone at the face of the sheet.
    #[schemars(extend("examples" = ["12.5 mm"]))]
    pub diameter: Option<Length>,
    /// Angle between the sides of the cone, degrees. When left out, that of the screw, or else 90.
    #[schemars(range(min = 30.0, max = 150.0), extend("examples" = [82]))]
    pub angle: Option<f64>,
    /// The side it opens to: `up`, towards the viewer of the pattern, or `down`. When left out, `up`.
    #[schemars(extend("examples" = ["down"]))]
    pub side: Option<DirectionWord>,
}

/// A flare around a hole. The hole is cut as its `diameter` says; the dies pull its edge up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Flare {
    /// Outside diameter of the flare.
    #[schemars(extend("examples" = ["2 in"]))]
    pub diameter: Length,
    /// How far it stands up.
    #[schemars(extend("examples" = ["3/16 in"]))]
    pub depth: Option<Length>,
    /// The side it stands up on: `up`, towards the viewer of the pattern, or `down`. When left out, `up`.
    #[schemars(extend("examples" = ["down"]))]
    pub side: Option<DirectionWord>,
}
