//! Values that several tables share.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A length: a number in the job's unit, or a text with a unit of its own, such as `"120 mm"`, `"4 3/4 in"`,
/// `"2' 3 1/2\""` or `"1.5 m"`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a length such as 120 or \"4 3/4 in\"")]
pub enum Length {
    /// In the job's unit.
    Number(f64),
    /// With its unit.
    Text(String),
}

/// A place on a part or sheet, measured from the box around it: `"center"`; a pair `[x, y]` from its left and bottom
/// edge; or a table of one dimension across and one upright.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a place such as \"center\", [20, 15] or { right = 20, top = 15 }")]
pub enum Placing {
    /// In the middle.
    Center(CenterWord),
    /// From the left and bottom edge.
    #[schemars(with = "Pair")]
    Corner(Vec<Length>),
    /// From the edges named.
    Edges(Edges),
}

/// Two lengths. Read as a list so that a wrong count is told with its place.
#[derive(JsonSchema)]
#[schemars(transparent)]
#[allow(dead_code, reason = "gives a schema, holds nothing")]
pub(super) struct Pair(#[schemars(length(equal = 2))] Vec<Length>);

/// The word for the middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum CenterWord {
    /// In the middle.
    Center,
}

/// One dimension across and one upright. An axis of which nothing is said is centred.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a place by dimensions", extend("additionalProperties" = false))]
pub struct Edges {
    /// From the left edge, to the right.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub left: Option<Length>,
    /// From the right edge, to the left.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub right: Option<Length>,
    /// From the middle, to the right; to the left when negative.
    #[schemars(extend("examples" = ["-15 mm"]))]
    pub center_x: Option<Length>,
    /// From the bottom edge, up.
    #[schemars(extend("examples" = ["3/4 in"]))]
    pub bottom: Option<Length>,
    /// From the top edge, down.
    #[schemars(extend("examples" = ["3/4 in"]))]
    pub top: Option<Length>,
    /// From the middle, up; down when negative.
    #[schemars(extend("examples" = [0]))]
    pub center_y: Option<Length>,
}

/// Which way round a part may lie: `"any"` angle; a list of turns in degrees from the way it is drawn; or held to the
/// grain, `"grain"` when its x axis follows the grain, `{ grain = 90 }` when another direction does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "turns such as \"any\", [0, 90], \"grain\" or { grain = 90 }")]
pub enum Turns {
    /// A word.
    Word(TurnsWord),
    /// Only these, degrees counter-clockwise.
    #[schemars(with = "Angles")]
    List(Vec<f64>),
    /// Held to the grain.
    Grain(Along),
}

/// Angles in degrees.
#[derive(JsonSchema)]
#[schemars(transparent)]
#[allow(dead_code, reason = "gives a schema, holds nothing")]
pub(super) struct Angles(#[schemars(length(min = 1, max = 360))] Vec<f64>);

/// Turns that have a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum TurnsWord {
    /// At any angle.
    Any,
    /// With the part's x axis along the grain.
    Grain,
}

/// A part held to the grain.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "held to the grain", extend("additionalProperties" = false))]
pub struct Along {
    /// The direction in the drawing that must follow the grain, degrees from the part's x axis.
    #[schemars(extend("examples" = [90]))]
    pub grain: f64,
}

/// How many: a number, or `"unlimited"` for as many as wanted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a whole number or \"unlimited\"")]
pub enum Count {
    /// So many.
    Number(#[schemars(range(min = 1, max = 10000))] u32),
    /// As many as wanted.
    Word(Unlimited),
}

/// The word for as many as wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Unlimited {
    /// As many as wanted.
    Unlimited,
}

/// The grain of a sheet: `"x"` or `"y"`, the axis it runs along, or an angle in degrees from the x axis.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a grain direction: \"x\", \"y\" or an angle in degrees")]
pub enum GrainDirection {
    /// An axis.
    Axis(Axis),
    /// Degrees from the x axis.
    Angle(f64),
}

/// An axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Axis {
    /// Across.
    X,
    /// Upright.
    Y,
}

/// How thick: a length, or a gauge such as `"16 ga"`, which means the gauge of the material beside it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a thickness such as \"16 ga\", \"2 mm\" or 2")]
pub enum Thick {
    /// In the job's unit.
    Number(f64),
    /// A gauge, or a length with its unit.
    Text(String),
}

/// A price of a sheet: a number is for the piece; a text names what it is for, such as `"0.42 per lb"`,
/// `"2.10 per kg"` or `"14 per m"` (for stock sold by length), or is `"paid"` for what costs nothing more.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a price such as 9.50, \"0.42 per lb\" or \"paid\"")]
pub enum Price {
    /// For the piece.
    Number(f64),
    /// With what it is for.
    Text(String),
}

/// What leftovers or scrap are worth by weight, such as `"0.20 per lb"` or `"0.45 per kg"`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
#[schemars(title = "a worth such as \"0.20 per lb\"")]
pub struct Worth(pub String);
