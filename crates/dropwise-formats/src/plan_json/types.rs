//! The document, field by field. All lengths are millimetres, areas mm², weights kg, angles degrees counter-clockwise;
//! money is a whole number of the smallest coin.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A plan: what to cut out of which sheet, what remains, what it costs, and the proof that it is valid.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "a dropwise plan")]
pub struct PlanDocument {
    /// Always `"dropwise plan"`.
    pub format: String,
    /// Version of this structure: 4. A field that changes its meaning raises it, and so does a new one. Version 3 had no
    /// `instructions` and no `went_on_from`; it is still read like this one. Version 2 had no `faces`, `bending` and `findings` of parts, and no `begins` and `ends` of bends; it is still read, and drawn without
    /// bend cards. Version 1 had no `bends` and no `features`, no `tag`, `revision`, `material` and `thickness` of sheets,
    /// no `stock`, and is still read; without `stock` it cannot be drawn anew. Neither had `drawing_notes`.
    pub version: u32,
    /// What was to be made, and the rules.
    pub job: JobEntry,
    /// One entry for each kind of part of the job, in its order.
    pub parts: Vec<PartEntry>,
    /// One entry for each sheet of the job, in its order, used or not: what there was to cut from.
    #[serde(default)]
    pub stock: Vec<StockEntry>,
    /// What was asked of the plan beside that. Left out when nothing was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instructions: Option<InstructionsEntry>,
    /// One entry for each sheet that is cut. A sheet of which there are several may stand here several times.
    pub sheets: Vec<SheetEntry>,
    /// Parts that lie on no sheet, with the reason.
    pub unplaced: Vec<UnplacedEntry>,
    /// Areas, weights and money of the whole plan.
    pub figures: FiguresEntry,
    /// What the whole plan costs, work included.
    pub cost: CostEntry,
    /// What was proved.
    pub certificate: CertificateEntry,
    /// How the plan was found.
    pub provenance: ProvenanceEntry,
}

/// What was to be made, and the rules.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobEntry {
    /// What the job is called.
    pub name: String,
    /// The unit that the job is written in and reports speak in: `mm`, `cm`, `m`, `in` or `ft`. This document is in
    /// millimetres whatever stands here.
    pub unit: String,
    /// What amounts are counted in, such as `"USD"`; may be empty.
    pub currency: String,
    /// Decimals of the currency: with 2, an amount of 1850 is 18.50.
    pub currency_decimals: u8,
    /// How weights were worked out, in words.
    pub weights: String,
    /// How the parts are cut; `null` when the job does not say.
    pub process: Option<String>,
    /// General tolerances of the drawings, by the class of ISO 2768-1: `fine`, `medium`, `coarse` or `very coarse`; left out
    /// where the job tells none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub general_tolerances: Option<String>,
    /// Width of the cut.
    pub kerf: f64,
    /// Least distance between two parts.
    pub web: f64,
    /// Least distance from a part to the edge of its sheet, to a hole in it, or to damage.
    pub margin: f64,
    /// Longer side of the smallest rectangle worth keeping.
    pub leftover_length: f64,
    /// Its shorter side.
    pub leftover_width: f64,
    /// Tongues and necks narrower than this are trimmed off leftovers.
    pub leftover_neck: f64,
    /// What work costs.
    #[serde(default)]
    pub rates: RatesEntry,
    /// The shop file, as it was written in TOML or JSON; left out where the job named none. Its tools make the cut plan, its
    /// printer is made up for in templates.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<String>,
}

/// What was asked of a plan: what lies where, what goes on which sheet, what is kept clear, which sheets go first. Parts and
/// sheets are counted from 0, as in `parts` and `stock`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InstructionsEntry {
    /// Copies of parts that lie as told.
    pub held: Vec<HeldEntry>,
    /// Parts that go on some sheets only.
    pub kept_to: Vec<KeptToEntry>,
    /// Areas on which nothing lies.
    pub reserved: Vec<ReservedEntry>,
    /// Sheets that are taken sooner or later than their price says.
    pub standing: Vec<StandingEntry>,
}

/// A copy of a part that lies as told; as in a placement.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeldEntry {
    /// Which part.
    pub part: usize,
    /// On which sheet of `stock`.
    pub sheet: usize,
    /// Whether it lies face down.
    pub is_flipped: bool,
    /// Its turn, degrees counter-clockwise.
    pub turn_deg: f64,
    /// How far it is moved to the right.
    pub x: f64,
    /// How far it is moved up.
    pub y: f64,
}

/// A part that goes on some sheets only.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct KeptToEntry {
    /// Which part.
    pub part: usize,
    /// The sheets of `stock` that it may lie on.
    pub sheets: Vec<usize>,
}

/// An area of a sheet that is kept clear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReservedEntry {
    /// Which sheet of `stock`.
    pub sheet: usize,
    /// The area.
    pub area: ShapeEntry,
}

/// How a sheet stands when sheets are chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StandingEntry {
    /// Which sheet of `stock`.
    pub sheet: usize,
    /// How.
    pub standing: StandingWord,
}

/// How a sheet may stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StandingWord {
    /// It counts as if it were paid for.
    UseUp,
    /// It counts as a tenth cheaper than it is.
    Prefer,
    /// Only where no others were found to hold the parts.
    Avoid,
}

/// What work costs, in the smallest coin; what is zero or `null` is not charged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RatesEntry {
    /// Cutting out.
    pub cutting: Option<CuttingRateEntry>,
    /// A drilled hole.
    pub hole: f64,
    /// A bend.
    pub bend: f64,
    /// Setting up for all pieces of one part.
    pub setup: i64,
}

/// How cutting is charged; `kind` tells which.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum CuttingRateEntry {
    /// By the length of the cut.
    ByLength {
        /// Of the smallest coin, for a millimetre.
        coins_per_mm: f64,
    },
    /// By the hour.
    ByTime {
        /// Of the smallest coin, for an hour.
        coins_per_hour: f64,
        /// How far the cut gets in a minute.
        mm_per_minute: f64,
    },
}

/// A sheet, drop or remnant that the job had to cut from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StockEntry {
    /// Its name, unique in the job.
    pub name: String,
    /// What it is: material and thickness in words.
    pub class: String,
    /// Its metal.
    pub material: String,
    /// How thick it is.
    pub thickness: f64,
    /// How many there are, alike; `null` for as many as wanted.
    pub quantity: Option<u32>,
    /// Where it lies; may be empty.
    pub location: String,
    /// Its outline and the holes already in it; for stock sold by length, as long as can be had.
    pub shape: ShapeEntry,
    /// Zones to stay out of.
    pub damage: Vec<RingEntry>,
    /// What was assumed, left out or mended of its drawing. Left out when there is nothing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drawing_notes: Vec<DrawingNoteEntry>,
    /// The way its grain runs, degrees from the x axis; `null` when not known.
    pub grain_deg: Option<f64>,
    /// Price of one; zero for stock sold by length.
    pub price: i64,
    /// Terms of stock sold by length; `null` for a piece.
    pub by_length: Option<ByLengthEntry>,
    /// What a square millimetre of leftover is worth, in the smallest coin.
    pub leftover_worth: f64,
    /// What a square millimetre of scrap is sold for, in the smallest coin.
    pub scrap_worth: f64,
    /// Weight of a square millimetre.
    pub weight: f64,
}

/// Terms of stock of fixed width that is sold by length.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ByLengthEntry {
    /// It is sold in multiples of this.
    pub increment: f64,
    /// The least that is sold.
    pub minimum: f64,
    /// Price of a millimetre, in the smallest coin.
    pub coins_per_mm: f64,
}

/// A kind of part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartEntry {
    /// Its name, unique in the job.
    pub name: String,
    /// What it is cut from: material and thickness in words. A part lies only on sheets of its own class.
    pub class: String,
    /// Its metal.
    #[serde(default)]
    pub material: String,
    /// How thick it is.
    #[serde(default)]
    pub thickness: f64,
    /// Its flat pattern: x = 0 and y = 0 is the lower left corner of the box around it, x to the right and y up, seen from the
    /// side that faces up.
    pub shape: ShapeEntry,
    /// Its bends, in the order in which the flat pattern lists them. Left out when there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bends: Vec<BendEntry>,
    /// Its faces from bend to bend, the base first and each after the one that it is bent from. Left out when it is not
    /// bent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub faces: Vec<FaceEntry>,
    /// How to bend it on the brake of the shop that the plan was made for; left out when it is not bent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bending: Option<BendingEntry>,
    /// How to bend it on a bender without punch and die, where no press brake of the shop makes it and a bender does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_hand: Option<HandBendingEntry>,
    /// What the shop checks say of it, the worst first. Left out when they say nothing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<FindingEntry>,
    /// Holes that are more than cut: countersunk or flared. Left out when there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub features: Vec<FeatureEntry>,
    /// What was assumed, left out or mended of its drawing. Left out when there is nothing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drawing_notes: Vec<DrawingNoteEntry>,
    /// Which way round it may lie.
    #[serde(default)]
    pub turns: TurnsEntry,
    /// Whether it may be cut face down.
    #[serde(default)]
    pub may_flip: bool,
    /// How many are wanted.
    pub wanted: u32,
    /// How many lie on sheets.
    pub placed: u32,
    /// Whether it must be made; otherwise it only fills room.
    pub is_required: bool,
    /// Outline less holes of one.
    pub net_area: f64,
    /// Weight of one; the average where its sheets differ; zero when none is placed.
    pub weight: f64,
    /// Length of all rings of one.
    pub cut_length: f64,
    /// What all that are placed cost together.
    pub cost: CostEntry,
    /// What one costs, to the nearest coin; `null` when none is placed.
    pub cost_each: Option<i64>,
    /// What one costs ready-made; `null` when the job does not say.
    pub ready_made_each: Option<i64>,
    /// What is charged for beside the metal, for one.
    #[serde(default)]
    pub work: WorkEntry,
}

/// Something that was assumed, left out or mended when a drawing was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DrawingNoteEntry {
    /// Whether it may not be what was meant; otherwise it is worth knowing.
    pub is_warning: bool,
    /// The drawing, and where in it as far as there is one place.
    pub place: String,
    /// What it is, in words.
    pub text: String,
}

/// Which way round a part may lie; `kind` tells which.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum TurnsEntry {
    /// At any angle.
    #[default]
    Any,
    /// Only turned by one of some angles.
    List {
        /// Degrees counter-clockwise from the way it was drawn.
        angles_deg: Vec<f64>,
    },
    /// Held to the grain, either way round.
    Grain {
        /// The direction in its drawing that follows the grain, degrees from the x axis.
        along_deg: f64,
    },
}

/// Work on one piece of a part, for its cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkEntry {
    /// Length that is cut, where it is less than all of its rings, as when holes are drilled; `null` for all.
    pub cut_length: Option<f64>,
    /// Holes that are drilled.
    pub drilled_holes: u32,
    /// Bends.
    pub bends: u32,
}

/// A bend of a part, in the coordinates of its shape. Turned over with its part, an up bend becomes a down bend.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BendEntry {
    /// The face that it brings up, unique in the part.
    pub name: String,
    /// One end of the bend line, `[x, y]`: the middle of the bend zone, as long as the metal that is bent. Travelling
    /// from here, the face that it is bent from lies to the left.
    pub from: [f64; 2],
    /// The other end.
    pub to: [f64; 2],
    /// By how much the sheet is turned: 90 for a square corner, 180 for a hem pressed flat.
    pub turn_deg: f64,
    /// Whether the face is bent towards the viewer of the pattern.
    pub is_up: bool,
    /// Inside radius.
    pub inside_radius: f64,
    /// K of the neutral line.
    pub k: f64,
    /// Flat length of the bend zone.
    pub allowance: f64,
    /// What to take off the sum of two legs told to the outside corner; `null` near a half turn, which has none.
    pub deduction: Option<f64>,
    /// From where the bend begins to the outside corner; `null` near a half turn.
    pub setback: Option<f64>,
    /// The line where the bend begins, on the face that it is bent from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub begins: Option<[[f64; 2]; 2]>,
    /// The line where it ends, on the face that it brings up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ends: Option<[[f64; 2]; 2]>,
}

/// A face of a bent part on its flat pattern. Bend `i` brings up face `i + 1`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FaceEntry {
    /// Its name, unique in the part.
    pub name: String,
    /// Index of the face that it is bent from; `null` for the base.
    pub parent: Option<usize>,
    /// What stays plane, before reliefs are cut.
    pub region: ShapeEntry,
    /// Where the corner lies from which the face was told, `[x, y]`.
    pub origin: [f64; 2],
    /// Direction in which it was told, `[x, y]`, of length one.
    pub x_axis: [f64; 2],
}

/// How a part is bent on a brake.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BendingEntry {
    /// The machine: `press brake` or `brake in the shop press`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machine: Option<String>,
    /// `found`, `none` (every order was tried), `given up` (none was found in reasonable time) or `no brake`.
    pub order: String,
    /// The steps in order; without an order, as far as the best one came.
    pub steps: Vec<BendStepEntry>,
    /// What stands in the way of each bend that is left, in words.
    pub left: Vec<String>,
}

/// How a part is bent on a leaf brake, a box-and-pan brake or in a vise.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandBendingEntry {
    /// What the bender is called.
    pub bender: String,
    /// The steps in order.
    pub steps: Vec<HandStepEntry>,
}

/// One step on a bender.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HandStepEntry {
    /// Indices in `bends` of what is bent in this step.
    pub bends: Vec<usize>,
    /// Whether the face that is brought up stays clamped and the rest of the part swings.
    pub is_face_clamped: bool,
    /// From the bend line to the sight line, towards what is clamped; negative towards what swings.
    pub sight_line: f64,
    /// The fingers to set; none where the whole bar clamps.
    pub fingers: Vec<f64>,
}

/// One step at the brake.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BendStepEntry {
    /// Indices in `bends` of what is bent in this step.
    pub bends: Vec<usize>,
    /// Opening of the die.
    pub die: f64,
    /// Name of the punch.
    pub punch: String,
    /// Length of punch to put together.
    pub punch_length: f64,
    /// From the middle of the die to the backgauge; `null` where it does not reach.
    pub gauge: Option<f64>,
    /// The face that stands against it.
    pub gauge_face: Option<String>,
    /// Whether what stands against it is straight; otherwise work to the scribed line.
    pub is_gauge_straight: bool,
    /// Force in all, kN.
    pub force: f64,
    /// Whether it is a hem: folded first, then pressed flat.
    pub is_hem: bool,
}

/// Something that the shop checks found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingEntry {
    /// `stop`, `warn` or `note`.
    pub severity: String,
    /// The rule in a few words.
    pub rule: String,
    /// What is wrong, with its numbers in the job's unit.
    pub problem: String,
    /// What to do about it.
    pub cure: String,
    /// Whose rule it is.
    pub source: String,
}

/// A hole that is more than cut, in the coordinates of its part's shape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FeatureEntry {
    /// Its middle, to the right of the origin.
    pub x: f64,
    /// Its middle, above the origin.
    pub y: f64,
    /// Diameter of the hole that is cut.
    pub hole: f64,
    /// Whether it is worked from the side that the viewer of the pattern sees: the countersink opens towards the viewer,
    /// or the flare stands up. Turned over with its part, it changes sides.
    pub is_up: bool,
    /// What is done to it.
    pub work: HoleWorkEntry,
}

/// What is done to a hole; `kind` tells which.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum HoleWorkEntry {
    /// Countersunk.
    Countersunk {
        /// Diameter of the cone at the face of the sheet.
        diameter: f64,
        /// Angle between its sides.
        angle_deg: f64,
        /// How deep the cone goes until it is as wide as the hole.
        depth: f64,
    },
    /// Flared with a pair of dies.
    Flared {
        /// Outside diameter of the flare, by which its die is known.
        diameter: f64,
        /// How far it stands up; `null` when the job does not say.
        depth: Option<f64>,
    },
    /// Tapped.
    Tapped {
        /// Outside diameter of the thread.
        major: f64,
        /// Its pitch.
        pitch: f64,
    },
}

/// A sheet that is cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetEntry {
    /// Which of the job's sheets, counted from 0.
    pub sheet: usize,
    /// Its name.
    pub name: String,
    /// The tag chalked on it, when it is a piece of the stock log; left out otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<String>,
    /// State of that piece in the log when the plan was made: number of the event that last changed its metal. Left out
    /// without a tag.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revision: Option<i64>,
    /// What it is: material and thickness in words.
    pub class: String,
    /// What it is made of. Left out in version 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// How thick it is, as it is sold. Left out in version 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<f64>,
    /// Where it lies; may be empty.
    pub location: String,
    /// For stock sold by length, how much is bought; `null` otherwise.
    pub length_bought: Option<f64>,
    /// Its outline and the holes already in it; for stock sold by length, the piece bought.
    pub shape: ShapeEntry,
    /// Zones to stay out of.
    pub damage: Vec<RingEntry>,
    /// The way its grain runs, degrees from the x axis; `null` when not known.
    pub grain_deg: Option<f64>,
    /// The parts on it.
    pub placements: Vec<PlacementEntry>,
    /// Its outline less its holes.
    pub gross_area: f64,
    /// The parts on it less their holes.
    pub net_area: f64,
    /// Leftovers kept. With the two below and the net area it adds up to the gross area.
    pub leftover_area: f64,
    /// What the cut eats.
    pub kerf_area: f64,
    /// What else is scrap.
    pub other_scrap_area: f64,
    /// Net over gross area, from 0 to 1.
    pub yield_ratio: f64,
    /// Weight of the whole sheet.
    pub gross_weight: f64,
    /// What it costs.
    pub price: i64,
    /// Worth of its leftovers.
    pub leftover_credit: i64,
    /// What its scrap is sold for.
    pub scrap_credit: i64,
    /// The pieces that go back into the rack, largest first.
    pub leftovers: Vec<LeftoverEntry>,
}

/// A part on a sheet. From its pattern as drawn it is first mirrored if it is flipped (x becomes -x), then turned about
/// the origin, then moved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacementEntry {
    /// Which of the job's parts, counted from 0.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// Whether it lies face down.
    pub is_flipped: bool,
    /// Its turn, degrees counter-clockwise.
    pub turn_deg: f64,
    /// How far it is moved to the right.
    pub x: f64,
    /// How far it is moved up.
    pub y: f64,
    /// The shape as cut: its pattern where it lies on the sheet.
    pub shape: ShapeEntry,
}

/// An outline less its holes, arcs kept as arcs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShapeEntry {
    /// The outer ring, counter-clockwise.
    pub outline: RingEntry,
    /// The holes, clockwise.
    pub holes: Vec<RingEntry>,
}

/// A closed ring of lines and arcs; the last vertex joins the first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct RingEntry(pub Vec<VertexEntry>);

/// A corner, and the side that leaves it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VertexEntry {
    /// To the right of the origin.
    pub x: f64,
    /// Above the origin.
    pub y: f64,
    /// Bulge of the side to the next corner: the tangent of a quarter of the arc's sweep, positive counter-clockwise.
    /// Left out for a straight line.
    #[serde(default, skip_serializing_if = "is_straight")]
    pub bulge: f64,
}

fn is_straight(bulge: &f64) -> bool {
    // Minus zero is written, so that reading back is exact.
    bulge.to_bits() == 0
}

/// A piece that goes back into the rack.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeftoverEntry {
    /// Its outer ring on the sheet it came from, as points `[x, y]`.
    pub outline: Vec<[f64; 2]>,
    /// Its holes.
    pub holes: Vec<Vec<[f64; 2]>>,
    /// Its area.
    pub area: f64,
    /// Sides of the largest rectangle found on it, longer first.
    pub largest_rectangle: [f64; 2],
}

/// Parts that lie on no sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnplacedEntry {
    /// Which of the job's parts, counted from 0.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// How many of it.
    pub count: u32,
    /// Why, for programs.
    pub reason: ReasonEntry,
    /// Why, for people, in the job's unit.
    pub in_words: String,
}

/// Why a part lies on no sheet; `kind` tells which.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum ReasonEntry {
    /// No sheet is of its class.
    NoSuchStock,
    /// It is held to the grain, and no sheet of its class says which way its grain runs.
    GrainUnknown,
    /// It fits on no sheet of its class even when alone there.
    TooLarge {
        /// The sheet that comes nearest: which of the job's sheets, counted from 0.
        nearest_sheet: usize,
        /// By how much it is too large for that one, as far as a box around it tells; zero when only its form is in the
        /// way.
        excess: f64,
    },
    /// It would fit on a sheet alone, but the sheets are full.
    NoRoom,
    /// It would fit on a sheet alone, but the time was over before a place was sought for it.
    OutOfTime,
}

/// Areas, weights and money of the whole plan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FiguresEntry {
    /// Outlines of the sheets used less their holes.
    pub gross_area: f64,
    /// Outlines of the parts cut less their holes.
    pub net_area: f64,
    /// Leftovers kept. With the two below and the net area it adds up to the gross area.
    pub leftover_area: f64,
    /// What the cut eats.
    pub kerf_area: f64,
    /// What else is scrap.
    pub other_scrap_area: f64,
    /// Net over gross area, from 0 to 1.
    pub yield_ratio: f64,
    /// Weight of the sheets used.
    pub gross_weight: f64,
    /// Weight of the parts.
    pub net_weight: f64,
    /// Weight of the scrap, kerf included.
    pub scrap_weight: f64,
    /// Prices of the sheets.
    pub sheets_price: i64,
    /// Worth of the leftovers kept.
    pub leftover_credit: i64,
    /// What the scrap is sold for.
    pub scrap_credit: i64,
}

/// A cost by kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CostEntry {
    /// Sheets, less the credit for leftovers and scrap.
    pub material: i64,
    /// Cutting out.
    pub cutting: i64,
    /// Drilling.
    pub drilling: i64,
    /// Bending.
    pub bending: i64,
    /// Setting up.
    pub setup: i64,
    /// All of these.
    pub total: i64,
}

/// What was proved: every part inside its sheet, every pair apart, every count met.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CertificateEntry {
    /// One entry for each sheet that is cut, in the same order.
    pub sheets: Vec<SheetProofEntry>,
}

/// What was checked on one sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetProofEntry {
    /// Parts found inside the sheet and clear of its holes and damage.
    pub parts_checked: usize,
    /// Pairs of parts found apart: all there are.
    pub pairs_checked: usize,
    /// Least distance between two parts; `null` with fewer than two.
    pub least_between_parts: Option<f64>,
    /// Least distance from a part to the edge of the sheet, a hole in it or damage; `null` without parts.
    pub least_to_edge: Option<f64>,
    /// How far a distance might fall short.
    pub tolerance: f64,
}

/// How the plan was found. The same job, seed, rounds and chains give the same plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProvenanceEntry {
    /// Seed of the search, a whole number in digits: it may have more than a JSON number keeps.
    pub seed: String,
    /// Rounds of search that were run.
    pub rounds: u64,
    /// Independent searches that exchanged their best after each round.
    pub chains: u32,
    /// No plan that places all this one places can cost less in material; `null` when no bound is known.
    pub lower_bound: Option<i64>,
    /// Number of the earlier plan that the search went on from. Left out for a search from nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub went_on_from: Option<String>,
}
