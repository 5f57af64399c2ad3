//! The shop file as it is written: one type for each table, one field for each key.
//!
//! As with the job file, schema, reference and messages are generated from these types.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::job_file::types::Length;

/// What the shop has. Whatever is left out is taken as common for a small shop.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a shop for dropwise", extend("additionalProperties" = false))]
pub struct ShopFile {
    /// The unit of bare numbers in this file: `mm`, `cm`, `m`, `in` or `ft`. When left out, `mm`.
    #[schemars(extend("examples" = ["in"]))]
    pub unit: Option<String>,
    /// Ways to cut that it owns, the one it would rather use first: `cutoff wheel`, `bandsaw`, `jigsaw`, `plasma`,
    /// `oxy-fuel`, `laser`, `waterjet`, `nibbler`. A shear has a table of its own. When left out, a cutoff wheel.
    #[schemars(length(max = 20), extend("examples" = [["plasma", "cutoff wheel"]]))]
    pub cutters: Option<Vec<String>>,
    /// Its guillotine shear. When left out, it has none.
    #[schemars(extend("examples" = [{"length": "1.25 m", "thickest": "2 mm"}]))]
    pub shear: Option<ShearKeys>,
    /// Twist drills, by diameter. When left out, the common set: 1/16 to 1/2 in by 64ths for jobs in inches, 1 to 13 mm
    /// by half millimetres otherwise.
    #[schemars(length(max = 500), extend("examples" = [["3.3 mm", "1/4 in", 9]]))]
    pub drills: Option<Vec<Length>>,
    /// Hole saws, by diameter. When left out, the common sizes of makers' lists.
    #[schemars(length(max = 500), extend("examples" = [["22 mm", "1 1/8 in"]]))]
    pub hole_saws: Option<Vec<Length>>,
    /// Round punches, by the hole they make, or tables with the thickest sheet they go through. When left out, none.
    #[schemars(length(max = 500), extend("examples" = [[5, 6.5, {"hole": 9, "thickest": 3}]]))]
    pub punches: Option<Vec<HolePunch>>,
    /// Dies that flare holes. When left out, none.
    #[schemars(length(max = 100), extend("examples" = [[{"hole": "1 1/2 in", "outside": "2 in", "depth": "3/16 in"}]]))]
    pub flaring_dies: Option<Vec<FlaringDieKeys>>,
    /// Its press brake. When left out, a small one: 1250 mm, 40 tons, the common dies (metric ones, or for jobs in inches
    /// those that are sold in inches) and three common punches (common practice, no source); or none, where a `shop_press` or
    /// `benders` are told instead.
    #[schemars(extend("examples" = [{"length": "1.25 m", "force": "40 tons", "dies": [8, 12, 16, 25]}]))]
    pub brake: Option<BrakeKeys>,
    /// Its small press brake that stands in a shop press, told with the keys of `brake`. It is used where `brake` makes no
    /// order of bends, and alone where no `brake` is told. What is left out is 500 mm, 20 tons, three dies (12, 16 and 25 mm, or 1/2,
    /// 5/8 and 1 in), a straight punch 80 mm high and no backgauge (common practice, no source).
    #[schemars(extend("examples" = [{"length": "500 mm", "force": "20 tons", "dies": [12, 16]}]))]
    pub shop_press: Option<BrakeKeys>,
    /// Benders without punch and die: leaf brakes, box-and-pan brakes, a vise with bars. When left out, none.
    #[schemars(length(max = 20), extend("examples" = [[{"kind": "leaf"}, {"kind": "box and pan", "fingers": [25, 50, 75, 100]}]]))]
    pub benders: Option<Vec<BenderKeys>>,
    /// Whether it has no press brake at all, so that bending is sent out or done on its `benders`.
    #[schemars(extend("examples" = [true]))]
    pub no_brake: Option<bool>,
    /// How long work takes.
    #[schemars(extend("examples" = [{"cut_minutes": 1.5, "drill_minutes": 1}]))]
    pub work: Option<WorkKeys>,
    /// Its printer's correction, from left to right and from bottom to top: the length that should have come out divided by the one
    /// that was measured. When left out, the printer is taken as true.
    #[schemars(length(equal = 2), inner(range(min = 0.9, max = 1.1)), extend("examples" = [[1.002, 0.999]]))]
    pub printer: Option<Vec<f64>>,
    /// The most that one person lifts, in `kg` or `lb`. When left out, 23 kg (51 lb), the most under the best conditions
    /// (NIOSH lifting equation, from memory).
    #[schemars(extend("examples" = ["18 kg"]))]
    pub lifted_by_one: Option<String>,
}

/// A guillotine shear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct ShearKeys {
    /// The longest cut it makes in one stroke.
    #[schemars(extend("examples" = ["1.25 m"]))]
    pub length: Length,
    /// The thickest mild steel it cuts.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub thickest: Length,
}

/// A round punch: the hole it makes, or a table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "the hole of a punch, or a table")]
pub enum HolePunch {
    /// A table.
    Table(HolePunchKeys),
    /// The hole it makes.
    Hole(Length),
}

/// A round punch with its die.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a round punch", extend("additionalProperties" = false))]
pub struct HolePunchKeys {
    /// The hole it makes.
    #[schemars(extend("examples" = ["9 mm"]))]
    pub hole: Length,
    /// The thickest sheet it goes through. When left out, as thick as the hole is wide.
    #[schemars(extend("examples" = ["3 mm"]))]
    pub thickest: Option<Length>,
}

/// A pair of dies that flares a round hole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct FlaringDieKeys {
    /// Hole that it is for, as it is sold.
    #[schemars(extend("examples" = ["1 1/2 in"]))]
    pub hole: Length,
    /// Diameter over the flare. When left out, half an inch more than the hole.
    #[schemars(extend("examples" = ["2 in"]))]
    pub outside: Option<Length>,
    /// How high the flare stands. When left out, 3/16 in.
    #[schemars(extend("examples" = ["3/16 in"]))]
    pub depth: Option<Length>,
    /// The thickest sheet it flares. When left out, it is not checked.
    #[schemars(extend("examples" = ["2 mm"]))]
    pub thickest: Option<Length>,
}

/// A press brake.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct BrakeKeys {
    /// The longest bend it makes. When left out, 1250 mm.
    #[schemars(extend("examples" = ["1.25 m"]))]
    pub length: Option<Length>,
    /// Its force, in `kN`, `tonnes` (metric) or `tons` (2000 lb). When left out, 40 tons.
    #[schemars(extend("examples" = ["40 tons"]))]
    pub force: Option<String>,
    /// Its dies: openings, or tables with more. When left out, those of the common chart from 6 to 50 mm, or from
    /// 1/4 to 2 in for jobs in inches.
    #[schemars(length(min = 1, max = 200), extend("examples" = [[8, 12, {"opening": 16, "width": 60}]]))]
    pub dies: Option<Vec<Die>>,
    /// Its punches, the one it would rather use first. When left out, a straight one, a gooseneck and an acute one.
    #[schemars(length(min = 1, max = 100), extend("examples" = [[{"name": "straight", "width": 20, "height": 105}]]))]
    pub punches: Option<Vec<PunchKeys>>,
    /// Width of the beam that holds the punch. When left out, 60 mm.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub beam_width: Option<Length>,
    /// How near to the middle of the die the backgauge comes. When left out, 10 mm.
    #[schemars(extend("examples" = ["10 mm"]))]
    pub gauge_from: Option<Length>,
    /// How far from the middle of the die the backgauge goes. When left out, 600 mm.
    #[schemars(extend("examples" = ["600 mm"]))]
    pub gauge_to: Option<Length>,
}

/// A bender that swings the flange around the edge of a bar. What is left out is common for its kind (common practice, no
/// source).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct BenderKeys {
    /// Its kind.
    #[schemars(extend("examples" = ["leaf"]))]
    pub kind: BenderWord,
    /// What it is called. When left out, by its kind.
    #[schemars(extend("examples" = ["the blue brake"]))]
    pub name: Option<String>,
    /// The longest bend in mild steel of each thickness. Other metals count as mild steel that takes as much force.
    #[schemars(length(min = 1, max = 30), extend("examples" = [[{"thickness": "1 mm", "length": "1 m"}, {"thickness": "1.5 mm", "length": "500 mm"}]]))]
    pub lengths: Option<Vec<CapacityKeys>>,
    /// The shortest flange that its leaf, or whoever drives it over, gets hold of, to the outside.
    #[schemars(extend("examples" = ["10 mm"]))]
    pub least_flange: Option<Length>,
    /// The least that must lie under the bar, from where the bend begins.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub least_clamped: Option<Length>,
    /// How far the bar reaches back from its nose: what stands up behind the bend nearer than this is in its way.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub behind: Option<Length>,
    /// How high the bar, or its fingers, stand over the sheet: the depth of the deepest box.
    #[schemars(extend("examples" = ["75 mm"]))]
    pub above: Option<Length>,
    /// Width of the leaf: what hangs down in front of the bend nearer than this is in its way.
    #[schemars(extend("examples" = ["50 mm"]))]
    pub leaf: Option<Length>,
    /// Widths of the fingers of a box-and-pan brake, each as often as there is one.
    #[schemars(length(min = 1, max = 60), extend("examples" = [[25, 35, 50, 75, 100, 100]]))]
    pub fingers: Option<Vec<Length>>,
    /// The farthest it bends, degrees.
    #[schemars(range(min = 10.0, max = 179.0), extend("examples" = [135]))]
    pub most_turn: Option<f64>,
}

/// Kinds of benders without punch and die.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum BenderWord {
    /// A leaf brake with one bar along its whole length.
    #[serde(rename = "leaf")]
    Leaf,
    /// A box-and-pan brake: its bar is made of fingers.
    #[serde(rename = "box and pan")]
    BoxAndPan,
    /// Two bars in a vise, with block and mallet.
    #[serde(rename = "vise")]
    Vise,
}

/// The longest bend in one thickness.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct CapacityKeys {
    /// Up to this thickness of mild steel.
    #[schemars(extend("examples" = ["1 mm"]))]
    pub thickness: Length,
    /// The longest bend.
    #[schemars(extend("examples" = ["1 m"]))]
    pub length: Length,
}

/// A die: its opening, or a table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a die's opening, or a table")]
pub enum Die {
    /// A table.
    Table(DieKeys),
    /// Its opening.
    Opening(Length),
}

/// A die with one V.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a die", extend("additionalProperties" = false))]
pub struct DieKeys {
    /// Opening of the V.
    #[schemars(extend("examples" = ["16 mm"]))]
    pub opening: Length,
    /// Width over all. When left out, 20 mm more than the opening.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub width: Option<Length>,
    /// From its top to the bed. When left out, 60 mm, or 20 mm more than a wide opening.
    #[schemars(extend("examples" = ["60 mm"]))]
    pub height: Option<Length>,
    /// Angle of the V, degrees. When left out, 30 up to 12 mm of opening, 85 beyond.
    #[schemars(range(min = 10.0, max = 170.0), extend("examples" = [85]))]
    pub angle: Option<f64>,
    /// The most that may press on a metre of it, in `kN`, `tonnes` or `tons`, as its maker tells it. When left out, it is not
    /// checked.
    #[schemars(extend("examples" = ["600 kN"]))]
    pub load: Option<String>,
}

/// A punch: by width and height, or by its section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct PunchKeys {
    /// What it is called.
    #[schemars(extend("examples" = ["gooseneck"]))]
    pub name: String,
    /// Angle of its tip, degrees. When left out, 88.
    #[schemars(range(min = 10.0, max = 170.0), extend("examples" = [88]))]
    pub angle: Option<f64>,
    /// Radius of its tip. When left out, 0.8 mm.
    #[schemars(extend("examples" = ["0.8 mm"]))]
    pub tip_radius: Option<Length>,
    /// Width of a straight body. When left out, 20 mm.
    #[schemars(extend("examples" = ["20 mm"]))]
    pub width: Option<Length>,
    /// From the tip to the beam. When left out, 105 mm.
    #[schemars(extend("examples" = ["105 mm"]))]
    pub height: Option<Length>,
    /// Its section instead, corner by corner: pairs of lengths to the back and up, the tip at `[0, 0]`.
    #[schemars(length(min = 3, max = 100), with = "Option<Vec<Pair>>", extend("examples" = [[[0, 0], [8, 8], [8, 90], [-8, 90], [-8, 8]]]))]
    pub section: Option<Vec<Vec<Length>>>,
    /// Lengths of the pieces that it comes in, each as often as there is one. When left out, any length can be put together.
    #[schemars(length(min = 1, max = 60), extend("examples" = [[415, 200, 100, 50, 40, 20, 15, 10]]))]
    pub pieces: Option<Vec<Length>>,
}

/// Two lengths.
#[derive(JsonSchema)]
#[schemars(transparent)]
#[allow(dead_code, reason = "gives a schema, holds nothing")]
struct Pair(#[schemars(length(equal = 2))] Vec<Length>);

/// How long work takes, by the shop's own stopwatch. What is left out is common practice, or read in published charts.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct WorkKeys {
    /// How fast each way of cutting gets on.
    #[schemars(length(max = 200), extend("examples" = [[{"process": "plasma", "thickness": "3 mm", "per_minute": "3 m"}]]))]
    pub speeds: Option<Vec<SpeedKeys>>,
    /// Setting up one cut by hand, minutes. When left out, 1.5.
    #[schemars(range(min = 0.0, max = 1000.0), extend("examples" = [1.5]))]
    pub cut_minutes: Option<f64>,
    /// One stroke of the shear, minutes. When left out, 1.
    #[schemars(range(min = 0.0, max = 1000.0), extend("examples" = [1]))]
    pub stroke_minutes: Option<f64>,
    /// One drilled hole, minutes. When left out, 1.5.
    #[schemars(range(min = 0.0, max = 1000.0), extend("examples" = [1]))]
    pub drill_minutes: Option<f64>,
    /// One hole with a hole saw, minutes. When left out, 4.
    #[schemars(range(min = 0.0, max = 1000.0), extend("examples" = [4]))]
    pub hole_saw_minutes: Option<f64>,
    /// One punched hole, minutes. When left out, 0.5.
    #[schemars(range(min = 0.0, max = 1000.0), extend("examples" = [0.5]))]
    pub punch_minutes: Option<f64>,
    /// What one cutoff wheel cuts in sheet 1 mm thick before it is worn down; half of it in 2 mm. When left out, 6 m.
    #[schemars(extend("examples" = ["6 m"]))]
    pub wheel_lasts: Option<Length>,
}

/// How fast a way of cutting gets on. Several entries of one process make a chart by thickness.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct SpeedKeys {
    /// Which.
    #[schemars(extend("examples" = ["plasma"]))]
    pub process: String,
    /// The length cut in a minute.
    #[schemars(extend("examples" = ["3 m"]))]
    pub per_minute: Length,
    /// In sheet of this thickness. A single entry with one is scaled: twice as slow in twice the thickness. When left
    /// out, the speed is the same in any thickness.
    #[schemars(extend("examples" = ["3 mm"]))]
    pub thickness: Option<Length>,
}
