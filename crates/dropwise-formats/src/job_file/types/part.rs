//! Parts as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::bent::{BendingKeys, BentForms, CornerKeys, FaceKeys, FlangeKeys};
use super::openings::Openings;
use super::outline::OutlineKeys;
use super::steer::HeldKeys;
use super::values::{Thick, Turns};

/// What holds for all parts and sheets that do not say otherwise.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Defaults {
    /// What parts and sheets are made of.
    #[schemars(extend("examples" = ["mild steel"]))]
    pub material: Option<String>,
    /// How thick parts and sheets are.
    #[schemars(extend("examples" = ["16 ga"]))]
    pub thickness: Option<Thick>,
    /// Which way round parts may lie.
    #[schemars(extend("examples" = [[0, 90, 180, 270]]))]
    pub turns: Option<Turns>,
    /// Whether parts may be cut face down.
    #[schemars(extend("examples" = [false]))]
    pub may_flip: Option<bool>,
}

/// A part: its form is one of `rectangle`, `polygon`, `circle`, `ring`, `slot`, `l_shape`, `gusset`, `notched` and
/// `drawing`, or of the bent ones, `angle_bracket`, `channel`, `z_section`, `hat_section`, `tray`, `lipped_box`,
/// `gusseted_corner` and `machine_table`. With `flanges` any part is bent; its form and `holes` are then those of its base.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct PartKeys {
    /// What the part is called; no two parts share a name.
    #[schemars(extend("examples" = ["bracket"]))]
    pub name: String,
    /// How many are wanted. When left out, 1.
    #[schemars(range(min = 1, max = 10000), extend("examples" = [12]))]
    pub quantity: Option<u32>,
    /// What it is made of. When left out, the material of `defaults`.
    #[schemars(extend("examples" = ["galvanized steel"]))]
    pub material: Option<String>,
    /// How thick it is: a length, or a gauge such as `"16 ga"`, which means the gauge of its material. When left out,
    /// the thickness of `defaults`.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub thickness: Option<Thick>,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub outline: OutlineKeys,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub bent: BentForms,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub openings: Openings,
    /// What is bent from its edges, and from the edges of that. The form is then the base face, told as `edge_told` says.
    #[schemars(length(min = 1, max = 400), extend("examples" = [[{"name": "front", "edge": "bottom", "height": 30}]]))]
    pub flanges: Option<Vec<FlangeKeys>>,
    /// What is cut out of faces that a short form brings along.
    #[schemars(length(min = 1, max = 400), extend("examples" = [[{"face": "front", "holes": [{"diameter": 9}]}]]))]
    pub faces: Option<Vec<FaceKeys>>,
    /// Corners at which flanges meet otherwise than `bending` says.
    #[schemars(length(min = 1, max = 400), extend("examples" = [[{"between": ["front", "left"], "join": "overlapped"}]]))]
    pub corners: Option<Vec<CornerKeys>>,
    /// How it is bent, where that differs from the `bending` of the file.
    #[schemars(extend("examples" = [{"inside_radius": "3 mm"}]))]
    pub bending: Option<BendingKeys>,
    /// Which way round it may lie: `"any"` angle, a list of turns in degrees from the way it is drawn, or held to the
    /// grain (`"grain"` when its x axis follows the grain, `{ grain = 90 }` when another direction does). When left
    /// out, the turns of `defaults`, or else `"any"`.
    #[schemars(extend("examples" = [[0, 90]]))]
    pub turns: Option<Turns>,
    /// Whether it may be cut face down: its outline is then cut mirrored, and turned over the piece is as drawn, bends
    /// included. When left out, what `defaults` says, or else yes, unless it has a good face.
    #[schemars(extend("examples" = [false]))]
    pub may_flip: Option<bool>,
    /// Whether one face must end up on a given side (painted, brushed or filmed stock, a countersink): such a part is
    /// never flipped.
    #[schemars(extend("examples" = [true]))]
    pub good_face: Option<bool>,
    /// Whether it is made only where sheets that are cut anyway have room. When left out, it must be made.
    #[schemars(extend("examples" = [true]))]
    pub filler: Option<bool>,
    /// How many bends it has, for the cost of bending. When left out, its bends, of which a hem counts as two since it is
    /// folded and then pressed; or the bend lines of its drawing; or else none.
    #[schemars(range(min = 0, max = 1000), extend("examples" = [2]))]
    pub bends: Option<u32>,
    /// How many of its round holes are drilled, the smallest first; they are then not counted as cut. When left out,
    /// those of up to 13 mm if drilling has a rate, or else none.
    #[schemars(range(min = 0, max = 10000), extend("examples" = [4]))]
    pub drilled_holes: Option<u32>,
    /// The only sheets that it may be cut from, by their names; of the rack, by their tags. When left out, any of its metal.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [["drop 7"]]))]
    pub only_on: Option<Vec<String>>,
    /// Copies of it that lie as told; the search finds a place for the others.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"on": "drop 7", "corner": [5, 5], "turn": 90}]]))]
    pub held: Option<Vec<HeldKeys>>,
    /// What one costs ready-made, to compare with.
    #[schemars(range(min = 0.0, max = 1.0e9), extend("examples" = [14.5]))]
    pub ready_made: Option<f64>,
}
