//! The job file as it is written: one type for each table, one field for each key.
//!
//! These types are the only definition of the file's structure. The JSON Schema, the reference in
//! `docs/job-file.md`, the check for unknown keys and the messages about wrong kinds of values are all generated from
//! them: the doc comment of a field is its text, its `examples` are its example, its range is its limit.

mod bent;
mod openings;
mod outline;
mod part;
mod settings;
mod sheet;
mod steer;
mod strips;
mod values;

pub use bent::{
    AllowanceWord, AngleBracket, BendingKeys, BentForms, Channel, CornerKeys, DirectionWord, Edge, EdgeNotch, EdgeWord,
    EndKeys, FaceKeys, FlangeKeys, FreeCorner, GussetedCorner, HatSection, HemWord, JoinWord, LippedBox, MachineTable,
    MethodWord, Relief, ReliefWord, SizedRelief, ToldWord, Tray, ZSection,
};
pub use openings::{
    BoltCircle, Clearance, Countersink, Cutout, FitWord, FittedScrew, Flare, Hole, HoleRow, HoleSize, Openings,
    SlotHole,
};
pub use outline::{
    Circle, ColourName, Corner, Drawing, FrameWord, Gusset, LShape, LeaveOutWord, MadeCorner, Notch, NotchPlace,
    Notched, OpenLinesWord, OutlineKeys, PolygonKeys, Rectangle, Ring, SharedEdgesWord, Slot,
};
pub use part::{Defaults, PartKeys};
pub use settings::{ClearanceKeys, LeftoverKeys, RateKeys, ToleranceWord, WeightWord};
pub use sheet::{Diagonal, SheetKeys, SheetList, Strip, Tape, Zone};
pub use steer::{HeldKeys, KeepClear, SheetChoice};
pub use strips::{StripFile, StripKeys};
pub use values::{
    Along, Axis, CenterWord, Count, Edges, GrainDirection, Length, Placing, Price, Thick, Turns, TurnsWord, Unlimited,
    Worth,
};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A job: what is to be made, what there is to make it of, and the rules between them.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a dropwise job", extend("additionalProperties" = false))]
pub struct JobFile {
    /// What the job is called; it heads the report. When left out, the name of the file.
    #[schemars(extend("examples" = ["Rack brackets"]))]
    pub name: Option<String>,
    /// The unit of bare numbers in this file, and of the report: `mm`, `cm`, `m`, `in` or `ft`. When left out, `mm`.
    /// Lengths with a unit of their own may stand beside it.
    #[schemars(extend("examples" = ["in"]))]
    pub unit: Option<String>,
    /// What a price is counted in, for the report. It is printed before each amount and never converted.
    #[schemars(extend("examples" = ["USD"]))]
    pub currency: Option<String>,
    /// Decimals of the currency: 2 where a hundredth is the smallest coin, 0 where there is none. When left out, 2.
    #[schemars(range(min = 0, max = 4), extend("examples" = [2]))]
    pub currency_decimals: Option<u8>,
    /// How weights are worked out: `true density`, what a scale shows, or `gauge book`, the weight printed for the
    /// gauge, which steel is often billed by (2.5 % more). When left out, `true density`.
    #[schemars(extend("examples" = ["gauge book"]))]
    pub weights: Option<WeightWord>,
    /// What holds for all parts and sheets that do not say otherwise.
    #[schemars(extend("examples" = [{"material": "mild steel", "thickness": "16 ga"}]))]
    pub defaults: Option<Defaults>,
    /// How far apart things must lie.
    #[schemars(extend("examples" = [{"process": "plasma"}]))]
    pub clearances: Option<ClearanceKeys>,
    /// What is worth putting back into the rack.
    #[schemars(extend("examples" = [{"length": "400 mm", "width": "200 mm"}]))]
    pub leftovers: Option<LeftoverKeys>,
    /// What work costs and what scrap brings.
    #[schemars(extend("examples" = [{"cutting": "1.20 per m", "scrap": "0.10 per lb"}]))]
    pub rates: Option<RateKeys>,
    /// A file that says what the shop has to work with; see the reference of the shop file. When left out, what is common
    /// for a small shop.
    #[schemars(extend("examples" = ["shop.toml"]))]
    pub shop: Option<String>,
    /// How parts are bent that do not say otherwise.
    #[schemars(extend("examples" = [{"die": "16 mm", "allowance_by": "DIN 6935"}]))]
    pub bending: Option<BendingKeys>,
    /// General tolerances of the drawing, by the class of ISO 2768-1: `fine`, `medium`, `coarse` or `very coarse`. When left
    /// out, none are told.
    #[schemars(extend("examples" = ["medium"]))]
    pub general_tolerances: Option<ToleranceWord>,
    /// A file of bent test strips, from which the shop's own K-factors follow; its name, from the folder of the job file.
    #[schemars(extend("examples" = ["test-strips.toml"]))]
    pub test_strips: Option<String>,
    /// What is to be made: a `[[parts]]` table for each kind of part.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"name": "lid", "rectangle": {"width": 200, "height": 100}}]]))]
    pub parts: Vec<PartKeys>,
    /// What it may be made of: a `[[sheets]]` table for each sheet, drop or remnant, or several that are alike.
    #[serde(default)]
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"name": "drop 1", "rectangle": {"width": 600, "height": 400}}]]))]
    pub sheets: Option<Vec<SheetKeys>>,
    /// More sheets, from lists that a spreadsheet exported as CSV.
    #[schemars(length(min = 1, max = 100), extend("examples" = [[{"file": "rack.csv"}]]))]
    pub sheet_lists: Option<Vec<SheetList>>,
    /// Which sheets go first, rather than others, or only if nothing else will do.
    #[schemars(extend("examples" = [{"use_up": ["drop 7"], "avoid": ["new 4 x 8 sheet"]}]))]
    pub sheet_choice: Option<SheetChoice>,
    /// Areas of sheets that are kept clear: a `[[keep_clear]]` table for each sheet.
    #[schemars(length(min = 1, max = 10000), extend("examples" = [[{"on": "drop 7", "areas": [{"width": 300, "height": 200, "corner": {"right": 0, "top": 0}}]}]]))]
    pub keep_clear: Option<Vec<KeepClear>>,
}
