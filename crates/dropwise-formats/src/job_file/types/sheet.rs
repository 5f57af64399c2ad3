//! Sheets as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::openings::Openings;
use super::outline::{Corner, OutlineKeys};
use super::values::{Count, GrainDirection, Length, Placing, Price, Thick, Worth};

/// A sheet, plate, drop or remnant: its form is one of those a part may have, or `tape` or `strip`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct SheetKeys {
    /// What it is called, as chalked on it; no two sheets share a name.
    #[schemars(extend("examples" = ["drop 7"]))]
    pub name: String,
    /// How many there are, alike, or `"unlimited"`. When left out, 1; of a strip, `"unlimited"`.
    #[schemars(extend("examples" = [3]))]
    pub quantity: Option<Count>,
    /// What it is made of. When left out, the material of `defaults`.
    #[schemars(extend("examples" = ["mild steel"]))]
    pub material: Option<String>,
    /// How thick it is: a length, or a gauge such as `"16 ga"`. When left out, the thickness of `defaults`.
    #[schemars(extend("examples" = ["1/8 in"]))]
    pub thickness: Option<Thick>,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub outline: OutlineKeys,
    /// Measured with a tape alone: the sides in order and enough diagonals.
    #[schemars(extend("examples" = [{"sides": [820, 410, 790, 505], "diagonals": [{"from": 1, "to": 3, "length": 915}]}]))]
    pub tape: Option<Tape>,
    /// Stock of fixed width, sold by length: the answer is then the shortest length to order.
    #[schemars(extend("examples" = [{"width": "1250 mm", "longest": "6 m", "increment": "100 mm"}]))]
    pub strip: Option<Strip>,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub openings: Openings,
    /// Zones to stay out of: rust, dents, paint.
    #[schemars(length(min = 1, max = 1000), extend("examples" = [[{"diameter": 60, "at": [100, 80]}]]))]
    pub damage: Option<Vec<Zone>>,
    /// The way its grain runs: `"x"`, `"y"`, or an angle in degrees from the x axis. When left out, it is not known,
    /// and parts held to the grain do not go on it.
    #[schemars(extend("examples" = ["x"]))]
    pub grain: Option<GrainDirection>,
    /// Its price: a number for the piece, or a text such as `"0.42 per lb"`, `"2.10 per kg"`, `"14 per m"`
    /// (for a strip) or `"paid"`. When left out, it is paid for.
    #[schemars(extend("examples" = ["0.42 per lb"]))]
    pub price: Option<Price>,
    /// Where it lies.
    #[schemars(extend("examples" = ["rack B, second shelf"]))]
    pub location: Option<String>,
    /// What its leftovers are worth when they go back into the rack. When left out, what `leftovers` says.
    #[schemars(extend("examples" = ["0.20 per lb"]))]
    pub leftover_worth: Option<Worth>,
}

/// Sides and diagonals measured with a tape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Tape {
    /// The sides in order, going round counter-clockwise: the first from corner 1 to corner 2, the last back to corner
    /// 1.
    #[schemars(length(min = 3, max = 40), extend("examples" = [[820, 410, 790, 505]]))]
    pub sides: Vec<Length>,
    /// Diagonals from corner to corner. A quadrilateral needs one, each further corner one more; more than needed are
    /// used too, and the misclosure is reported. A triangle needs none.
    #[schemars(length(max = 400), extend("examples" = [[{"from": 1, "to": 3, "length": 915}]]))]
    pub diagonals: Option<Vec<Diagonal>>,
    /// Corners that point inwards, by their numbers, since a tape cannot tell.
    #[schemars(length(max = 40), extend("examples" = [[4]]))]
    pub inward_corners: Option<Vec<u32>>,
}

/// A diagonal measured with a tape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Diagonal {
    /// The corner it starts at, counted from 1.
    #[schemars(range(min = 1, max = 40), extend("examples" = [1]))]
    pub from: u32,
    /// The corner it ends at.
    #[schemars(range(min = 1, max = 40), extend("examples" = [3]))]
    pub to: u32,
    /// Its length.
    #[schemars(extend("examples" = ["36 1/16 in"]))]
    pub length: Length,
}

/// Stock of fixed width, sold by length.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Strip {
    /// Its width.
    #[schemars(extend("examples" = ["48 in"]))]
    pub width: Length,
    /// The greatest length that can be had in one piece.
    #[schemars(extend("examples" = ["20 ft"]))]
    pub longest: Length,
    /// The yard shears to multiples of this. When left out, 1 mm.
    #[schemars(extend("examples" = ["6 in"]))]
    pub increment: Option<Length>,
    /// The least it sells. When left out, one increment.
    #[schemars(extend("examples" = ["2 ft"]))]
    pub shortest: Option<Length>,
}

/// A damaged zone: a rectangle (`width` and `height`), a circle (`diameter`) or a polygon (`points`).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Zone {
    /// Extent in x of a rectangle.
    #[schemars(extend("examples" = ["150 mm"]))]
    pub width: Option<Length>,
    /// Extent in y of a rectangle.
    #[schemars(extend("examples" = ["80 mm"]))]
    pub height: Option<Length>,
    /// Diameter of a circle.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub diameter: Option<Length>,
    /// Corners of a polygon, where they lie on the sheet.
    #[schemars(length(min = 3, max = 1000), extend("examples" = [[[0, 0], [90, 0], [0, 60]]]))]
    pub points: Option<Vec<Corner>>,
    /// Where the middle of the rectangle or circle is. When left out, in the middle of the sheet.
    #[schemars(extend("examples" = [[100, 80]]))]
    pub at: Option<Placing>,
    /// Where the corner of a rectangle nearest to the named edges is, instead of `at`: `{ right = 0, top = 0 }` puts
    /// it into the upper right corner.
    #[schemars(extend("examples" = [{"right": 0, "top": 0}]))]
    pub corner: Option<Placing>,
}

/// A list of sheets that a spreadsheet exported as CSV.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct SheetList {
    /// Its name, from the folder of the job file.
    #[schemars(extend("examples" = ["rack.csv"]))]
    pub file: String,
    /// The unit of bare numbers in it. When left out, the job's.
    #[schemars(extend("examples" = ["in"]))]
    pub unit: Option<String>,
}
