//! Bends of a part as written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::openings::Openings;
use super::values::Length;

/// How the bends of a part are made. In the `bending` of the file it holds for all parts that do not say otherwise.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct BendingKeys {
    /// Inside radius of every bend that has none of its own. When left out, the radius that the die gives; in a shop that
    /// bends without punch and die alone, the thickness.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub inside_radius: Option<Length>,
    /// Opening of the V die. An air bend finds its inside radius by it, so this may stand in place of `inside_radius`. When
    /// both are left out, the usual die for the thickness, and a note says which.
    #[schemars(extend("examples" = ["16 mm"]))]
    pub die: Option<Length>,
    /// The state of the metal, such as `"6061-T4"` or `"half-hard copper"`. When left out, the one in which the part's
    /// material is usually sold.
    #[schemars(extend("examples" = ["6061-T4"]))]
    pub temper: Option<String>,
    /// How the punch drives the sheet into the die. When left out, an air bend.
    #[schemars(extend("examples" = ["bottoming"]))]
    pub method: Option<MethodWord>,
    /// Where in the thickness the neutral line runs: a number by hand, from 0 (inside face) to 0.5 (middle). It goes before
    /// `allowance_by`.
    #[schemars(range(min = 0.0, max = 0.5), extend("examples" = [0.44]))]
    pub k: Option<f64>,
    /// By which rule the flat length of a bend is found. When left out, the shop's own K where a test strip speaks for the
    /// metal, thickness and die, or else `radius table`.
    #[schemars(extend("examples" = ["DIN 6935"]))]
    pub allowance_by: Option<AllowanceWord>,
    /// Whether bends may have an inside radius of zero, as when the punch is pressed into the sheet. When left out, no.
    #[schemars(extend("examples" = [true]))]
    pub sharp: Option<bool>,
    /// How two flanges meet at a corner, where `corners` says nothing of it. When left out, `open`; a short form such as
    /// `gusseted_corner` may bring its own. Of two that overlap, the one whose edge comes after the corner,
    /// counter-clockwise, runs on.
    #[schemars(extend("examples" = ["butted"]))]
    pub join: Option<JoinWord>,
    /// Clear width between the two at a corner that is not open. When left out, none.
    #[schemars(extend("examples" = ["0.5 mm"]))]
    pub gap: Option<Length>,
    /// What is cut away at the end of a bend beside which its face goes on. When left out, `rectangular`.
    #[schemars(extend("examples" = ["round"]))]
    pub relief: Option<Relief>,
    /// What is cut away where two bends meet at a corner. When left out, `none`.
    #[schemars(extend("examples" = [{"form": "hole", "diameter": "8 mm"}]))]
    pub corner_relief: Option<Relief>,
}

/// A way of bending.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum MethodWord {
    /// The sheet touches the die at its shoulders only.
    #[serde(rename = "air bend")]
    AirBend,
    /// The sheet is pressed against the walls of the die.
    Bottoming,
    /// The punch's tip is pressed into the sheet.
    Coining,
}

/// A rule for the flat length of a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum AllowanceWord {
    /// K by method, hardness and the ratio of radius to thickness.
    #[serde(rename = "radius table")]
    RadiusTable,
    /// K by metal and thickness, in a die of eight thicknesses.
    #[serde(rename = "thickness table")]
    ThicknessTable,
    /// A square bend takes a constant times the thickness and 1.57 times the radius.
    #[serde(rename = "handbook constant")]
    HandbookConstant,
    /// The standard.
    #[serde(rename = "DIN 6935")]
    Din6935,
    /// 0.01743 R + 0.0078 T for each degree.
    #[serde(rename = "degree rule")]
    DegreeRule,
    /// The shop's own K: a test strip must speak for each bend.
    #[serde(rename = "test strips")]
    TestStrips,
}

/// How two flanges meet at a corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum JoinWord {
    /// Each ends where the bend of the other begins.
    Open,
    /// Both end square and touch with their inside corners.
    Butted,
    /// One runs on to the outside of the other.
    Overlapped,
    /// Both are cut along the plane that halves the corner.
    Mitred,
}

/// What is cut away at the end of a bend: a word, when its size follows by rule (as wide as the sheet is thick, 0.020 in
/// deeper than R + T past the bend line), or a table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a relief such as \"round\" or { form = \"round\", width = 3, depth = 6 }")]
pub enum Relief {
    /// Sized by rule.
    Word(ReliefWord),
    /// Sized by hand.
    Sized(SizedRelief),
}

/// A form of relief.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum ReliefWord {
    /// Nothing: the sheet tears.
    None,
    /// A slot with square corners; at a corner, a square.
    Rectangular,
    /// A slot with a round bottom; at a corner, a hole.
    Round,
    /// A hole drilled or sawn about the end of the bend line.
    Hole,
}

/// A relief sized by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a relief by hand", extend("additionalProperties" = false))]
pub struct SizedRelief {
    /// Its form.
    #[schemars(extend("examples" = ["rectangular"]))]
    pub form: ReliefWord,
    /// Of a slot: along the bend.
    #[schemars(extend("examples" = ["3 mm"]))]
    pub width: Option<Length>,
    /// Of a slot: from the start of the bend into the face.
    #[schemars(extend("examples" = ["6 mm"]))]
    pub depth: Option<Length>,
    /// Of a hole.
    #[schemars(extend("examples" = ["8 mm"]))]
    pub diameter: Option<Length>,
}

/// A face that is bent from an edge of another. Its own frame, in which its openings are placed and its edges named, has x
/// along the bend and y away from it, so that its free edge is at the top; the box around it is its length by its height
/// as told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct FlangeKeys {
    /// What the face is called; no two faces of a part share a name, and the base is called `base`.
    #[schemars(extend("examples" = ["front"]))]
    pub name: String,
    /// The face that it is bent from, by its name. When left out, `base`.
    #[schemars(extend("examples" = ["front"]))]
    pub on: Option<String>,
    /// The edge that it is bent from: the straight one along that side of the box around the face, or the number of a side,
    /// counted from 1 as the corners of the face are. When left out, the top edge, which of a flange is its free one.
    #[schemars(extend("examples" = ["bottom"]))]
    pub edge: Option<Edge>,
    /// Where on the edge it starts, counted along the edge counter-clockwise around the face. When left out, the whole edge
    /// is bent.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub from: Option<Length>,
    /// Where on the edge it ends.
    #[schemars(extend("examples" = ["80 mm"]))]
    pub to: Option<Length>,
    /// Instead of `from` and `to`: so long, in the middle of the edge.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub length: Option<Length>,
    /// Its height, from where `told` says to the free edge; of an offset, how far the sheet runs on after the step.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub height: Length,
    /// From where the height is told. When left out, `outside`; of a teardrop hem and an offset the straight part alone.
    #[schemars(extend("examples" = ["inside"]))]
    pub told: Option<ToldWord>,
    /// To where the size of the face that it is bent from is told at this edge. When left out, as the height is; at a
    /// teardrop hem `outside`, at an offset `straight`.
    #[schemars(extend("examples" = ["outside"]))]
    pub edge_told: Option<ToldWord>,
    /// By how many degrees the sheet is turned out of its plane, from 0 to 180: 90 for a square corner, 135 for one that
    /// leaves 45 between the faces. When left out, 90. A half turn is a `hem`.
    #[schemars(extend("examples" = [90]))]
    pub angle: Option<f64>,
    /// Towards the viewer of the flat pattern, `up`, or away, `down`. When left out, `up`.
    #[schemars(extend("examples" = ["down"]))]
    pub direction: Option<DirectionWord>,
    /// Inside radius of its bend. When left out, that of `bending`.
    #[schemars(extend("examples" = ["3 mm"]))]
    pub inside_radius: Option<Length>,
    /// Opening of the V die that its bend is made in; without `inside_radius` it gives the radius too.
    #[schemars(extend("examples" = ["12 mm"]))]
    pub die: Option<Length>,
    /// K of its bend by hand.
    #[schemars(range(min = 0.0, max = 0.5), extend("examples" = [0.4]))]
    pub k: Option<f64>,
    /// Makes it a hem: pressed flat, with a gap (`gap`), or rolled to a teardrop (`inside_radius`).
    #[schemars(extend("examples" = ["closed"]))]
    pub hem: Option<HemWord>,
    /// Clear width inside an open hem.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub gap: Option<Length>,
    /// Makes it an offset (joggle): the sheet steps by this much into a parallel plane, in two equal bends of `angle` (when
    /// left out, 45 degrees). The slope between is a face of its own, named with ` web` behind the name.
    #[schemars(extend("examples" = ["12 mm"]))]
    pub step: Option<Length>,
    /// How its right end is cut.
    #[schemars(extend("examples" = [{"slant": 45}]))]
    pub right_end: Option<EndKeys>,
    /// How its left end is cut.
    #[schemars(extend("examples" = [{"set_back": 5, "slant": 10}]))]
    pub left_end: Option<EndKeys>,
    /// How both its free corners are made, unless one says otherwise.
    #[schemars(extend("examples" = [{"radius": 5}]))]
    pub free_corners: Option<FreeCorner>,
    /// How the right one is made.
    #[schemars(extend("examples" = [{"chamfer": 5}]))]
    pub right_corner: Option<FreeCorner>,
    /// How the left one is made.
    #[schemars(extend("examples" = [{"radius": 0}]))]
    pub left_corner: Option<FreeCorner>,
    /// What is cut away at its ends. When left out, as `bending` says.
    #[schemars(extend("examples" = ["none"]))]
    pub relief: Option<Relief>,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub openings: Openings,
    /// Notches in its edges.
    #[schemars(length(min = 1, max = 1000), extend("examples" = [[{"edge": "top", "at": 40, "width": 10, "depth": 6}]]))]
    pub edge_notches: Option<Vec<EdgeNotch>>,
}

/// An edge of a face.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "an edge such as \"bottom\" or the number of a side")]
pub enum Edge {
    /// By the side of the box around the face.
    Word(EdgeWord),
    /// By its number, from 1.
    Side(#[schemars(range(min = 1, max = 10000))] u32),
}

/// A side of the box around a face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum EdgeWord {
    /// At the bottom.
    Bottom,
    /// On the right.
    Right,
    /// At the top.
    Top,
    /// On the left.
    Left,
}

/// From where a size is told at a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum ToldWord {
    /// Over everything: to the corner of the outside faces, beyond 90 degrees to the outside of the bend.
    Outside,
    /// To the corner where the outside faces would meet, at any angle.
    #[serde(rename = "outside corner")]
    OutsideCorner,
    /// To the corner where the inside faces would meet.
    Inside,
    /// On the flat, to the bend line in the middle of the bend zone.
    #[serde(rename = "bend line")]
    BendLine,
    /// To where the bend begins: the straight part alone.
    Straight,
}

/// Which way the sheet is bent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum DirectionWord {
    /// Towards the viewer of the flat pattern.
    Up,
    /// Away.
    Down,
}

/// A form of hem.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[schemars(inline)]
pub enum HemWord {
    /// Pressed flat.
    Closed,
    /// With a gap.
    Open,
    /// Rolled until its edge touches the sheet.
    Teardrop,
}

/// How an end of a flange is cut.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct EndKeys {
    /// How far the end of the bend lies in from the end of the edge. When left out, not at all.
    #[schemars(extend("examples" = ["5 mm"]))]
    pub set_back: Option<Length>,
    /// By how many degrees the end slants inwards on its way to the free edge; outwards when negative.
    #[schemars(range(min = -89.0, max = 89.0), extend("examples" = [45]))]
    pub slant: Option<f64>,
}

/// A free corner of a flange.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct FreeCorner {
    /// Rounded with this radius; 0 leaves it sharp.
    #[schemars(extend("examples" = ["5 mm"]))]
    pub radius: Option<Length>,
    /// Cut off this far along both edges.
    #[schemars(extend("examples" = ["5 mm"]))]
    pub chamfer: Option<Length>,
}

/// An opening in an edge of a face: a rectangle or a V (`width` and `depth`), or a half circle (`radius`).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct EdgeNotch {
    /// Which edge. When left out, the top one.
    #[schemars(extend("examples" = ["left"]))]
    pub edge: Option<Edge>,
    /// Where its middle is, along the edge counter-clockwise around the face.
    #[schemars(extend("examples" = ["40 mm"]))]
    pub at: Length,
    /// Along the edge.
    #[schemars(extend("examples" = ["10 mm"]))]
    pub width: Option<Length>,
    /// Into the face.
    #[schemars(extend("examples" = ["6 mm"]))]
    pub depth: Option<Length>,
    /// Whether it is a V and not a rectangle.
    #[schemars(extend("examples" = [true]))]
    pub vee: Option<bool>,
    /// Of a rectangle: radius of its two inside corners. When left out, they are sharp.
    #[schemars(extend("examples" = ["3 mm"]))]
    pub inside_radius: Option<Length>,
    /// Of a half circle.
    #[schemars(extend("examples" = ["5 mm"]))]
    pub radius: Option<Length>,
}

/// What is cut out of a face of a short form, or of the base's edges.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct FaceKeys {
    /// The face, by its name.
    #[schemars(extend("examples" = ["front"]))]
    pub face: String,
    #[serde(flatten)]
    #[allow(missing_docs, reason = "its keys are documented where they are defined")]
    pub openings: Openings,
    /// Notches in its edges.
    #[schemars(length(min = 1, max = 1000), extend("examples" = [[{"edge": "bottom", "at": 40, "radius": 5}]]))]
    pub edge_notches: Option<Vec<EdgeNotch>>,
}

/// A corner at which two flanges of one face meet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct CornerKeys {
    /// The two flanges, by their names.
    #[schemars(length(equal = 2), extend("examples" = [["front", "left"]]))]
    pub between: Vec<String>,
    /// How they meet. When left out, as `bending` says.
    #[schemars(extend("examples" = ["overlapped"]))]
    pub join: Option<JoinWord>,
    /// Clear width between the two. When left out, none.
    #[schemars(extend("examples" = ["0.5 mm"]))]
    pub gap: Option<Length>,
    /// Of two that overlap, the one that runs on. When left out, the one whose edge comes after the corner,
    /// counter-clockwise.
    #[schemars(extend("examples" = ["front"]))]
    pub over: Option<String>,
    /// What is cut away there. When left out, as `corner_relief` of `bending` says.
    #[schemars(extend("examples" = ["round"]))]
    pub relief: Option<Relief>,
}

/// Forms of bent parts that shops make every day. All sizes are outside sizes and all bends square. Their faces have names,
/// so that more can be cut out of them (`faces`) or bent from them (`flanges`).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BentForms {
    /// An angle: one leg that lies (`base`) and one that stands along its back edge (`leg`).
    #[schemars(extend("examples" = [{"length": 80, "base": 40, "leg": 30}]))]
    pub angle_bracket: Option<AngleBracket>,
    /// A channel: a web (`base`) with two flanges up (`front` and `back`).
    #[schemars(extend("examples" = [{"length": 300, "web": 60, "flange": 25}]))]
    pub channel: Option<Channel>,
    /// A Z: a web (`base`) with one flange up (`front`) and one down (`back`).
    #[schemars(extend("examples" = [{"length": 300, "web": 60, "flange": 25}]))]
    pub z_section: Option<ZSection>,
    /// A hat: a crown (`base`), two webs down from it (`front web`, `back web`) and a brim out from each (`front brim`,
    /// `back brim`).
    #[schemars(extend("examples" = [{"length": 300, "crown": 50, "height": 30, "brim": 20}]))]
    pub hat_section: Option<HatSection>,
    /// A tray: a bottom (`base`) with four walls up (`front`, `right`, `back`, `left`).
    #[schemars(extend("examples" = [{"length": 200, "width": 120, "height": 30}]))]
    pub tray: Option<Tray>,
    /// A box: a tray whose walls end in returns turned in (`front return` and so on), mitred.
    #[schemars(extend("examples" = [{"length": 200, "width": 120, "height": 40, "lip": 15}]))]
    pub lipped_box: Option<LippedBox>,
    /// A corner bracket: a bottom (`base`), a back that stands up (`back`) and a triangular gusset up on either side
    /// (`left gusset`, `right gusset`).
    #[schemars(extend("examples" = [{"length": 80, "depth": 60, "height": 50, "crest": 12}]))]
    pub gusseted_corner: Option<GussetedCorner>,
    /// A machine table of one sheet: a top (`base`), four legs down with feet turned in (`front left leg`,
    /// `front left foot` and so on), and aprons down between them (`front apron` and so on).
    #[schemars(extend("examples" = [{"length": 400, "width": 300, "height": 250, "leg_width": 50, "apron": 30, "foot": 35}]))]
    pub machine_table: Option<MachineTable>,
}

/// An angle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct AngleBracket {
    /// Along the bend.
    #[schemars(extend("examples" = ["80 mm"]))]
    pub length: Length,
    /// Height of the leg that lies.
    #[schemars(extend("examples" = ["40 mm"]))]
    pub base: Length,
    /// Height of the leg that stands.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub leg: Length,
}

/// A channel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Channel {
    /// Along the bends.
    #[schemars(extend("examples" = ["300 mm"]))]
    pub length: Length,
    /// Over both flanges.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub web: Length,
    /// Height of the flanges.
    #[schemars(extend("examples" = ["25 mm"]))]
    pub flange: Length,
}

/// A Z.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct ZSection {
    /// Along the bends.
    #[schemars(extend("examples" = ["300 mm"]))]
    pub length: Length,
    /// Over both flanges.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub web: Length,
    /// Height of the flanges, each from the far face of the web.
    #[schemars(extend("examples" = ["25 mm"]))]
    pub flange: Length,
}

/// A hat.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct HatSection {
    /// Along the bends.
    #[schemars(extend("examples" = ["300 mm"]))]
    pub length: Length,
    /// Over both webs.
    #[schemars(extend("examples" = ["50 mm"]))]
    pub crown: Length,
    /// Over everything.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub height: Length,
    /// Width of a brim from the outside of its web.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub brim: Length,
}

/// A tray.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Tray {
    /// In x, over the walls.
    #[schemars(extend("examples" = ["200 mm"]))]
    pub length: Length,
    /// In y, over the walls.
    #[schemars(extend("examples" = ["120 mm"]))]
    pub width: Length,
    /// Of the walls.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub height: Length,
}

/// A box with returns.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct LippedBox {
    /// In x, over the walls.
    #[schemars(extend("examples" = ["200 mm"]))]
    pub length: Length,
    /// In y, over the walls.
    #[schemars(extend("examples" = ["120 mm"]))]
    pub width: Length,
    /// Of the walls.
    #[schemars(extend("examples" = ["40 mm"]))]
    pub height: Length,
    /// Width of the returns from the outside of their walls.
    #[schemars(extend("examples" = ["15 mm"]))]
    pub lip: Length,
}

/// A corner bracket with gussets.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct GussetedCorner {
    /// In x, over the gussets.
    #[schemars(extend("examples" = ["80 mm"]))]
    pub length: Length,
    /// In y, over the back.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub depth: Length,
    /// Of back and gussets.
    #[schemars(extend("examples" = ["50 mm"]))]
    pub height: Length,
    /// Length of the gussets' upper edge, next to the back.
    #[schemars(extend("examples" = ["12 mm"]))]
    pub crest: Length,
}

/// A machine table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct MachineTable {
    /// In x.
    #[schemars(extend("examples" = ["400 mm"]))]
    pub length: Length,
    /// In y.
    #[schemars(extend("examples" = ["300 mm"]))]
    pub width: Length,
    /// Over everything.
    #[schemars(extend("examples" = ["250 mm"]))]
    pub height: Length,
    /// Width of the legs.
    #[schemars(extend("examples" = ["50 mm"]))]
    pub leg_width: Length,
    /// Height of the aprons.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub apron: Length,
    /// Length of the feet.
    #[schemars(extend("examples" = ["35 mm"]))]
    pub foot: Length,
}
