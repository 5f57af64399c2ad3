//! What is asked of a plan, as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::sheet::Zone;
use super::values::Placing;

/// Which sheets are taken sooner or later than their price says. Sheets are named as in this file and in its lists; pieces of
/// the rack by their tags.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct SheetChoice {
    /// To be used up first: these count as if they were paid for and their leftovers worth nothing, so that others are cut
    /// only for what does not go on them. The report tells what they do cost.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [["drop 7"]]))]
    pub use_up: Option<Vec<String>>,
    /// Rather than others: these count as a tenth cheaper than they are (our choice) when sheets are chosen.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [["drop 2", "drop 3"]]))]
    pub prefer: Option<Vec<String>>,
    /// Only where no other sheets were found to hold the parts, whatever they cost.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [["new 4 x 8 sheet"]]))]
    pub avoid: Option<Vec<String>>,
}

/// Areas of a sheet on which nothing is laid: good metal that is meant for something else. Parts keep the web from them, and
/// what is left over may hold them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct KeepClear {
    /// The sheet, by its name; of the rack, by its tag.
    #[schemars(extend("examples" = ["drop 7"]))]
    pub on: String,
    /// The areas, told as damage is.
    #[schemars(length(min = 1, max = 1000), extend("examples" = [[{"width": 300, "height": 200, "corner": {"right": 0, "top": 0}}]]))]
    pub areas: Vec<Zone>,
}

/// A copy of a part that lies as told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct HeldKeys {
    /// The sheet that it lies on, by its name; of the rack, by its tag. Not one that is sold by length.
    #[schemars(extend("examples" = ["drop 7"]))]
    pub on: String,
    /// Where it lies: from the edges of the box around the sheet to the nearest edges of the box around the part as it lies
    /// there. `[20, 15]` is from the left and the bottom.
    #[schemars(extend("examples" = [{"right": 5, "bottom": 5}]))]
    pub corner: Placing,
    /// By how much it is turned counter-clockwise from the way it is drawn, degrees. When left out, not at all.
    #[schemars(extend("examples" = [90]))]
    pub turn: Option<f64>,
    /// Whether it lies face down: flipped first, left to right, then turned. When left out, no.
    #[schemars(extend("examples" = [true]))]
    pub face_down: Option<bool>,
}
