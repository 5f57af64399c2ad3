//! Outlines by dimensions, which parts and sheets share.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::values::{Length, Pair};

/// The form of a part or sheet. Exactly one of these keys stands in it (a sheet may be given in three more ways).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OutlineKeys {
    /// A rectangle.
    #[schemars(extend("examples" = [{"width": "120 mm", "height": "80 mm", "corner_radius": "6 mm"}]))]
    pub rectangle: Option<Rectangle>,
    /// Straight sides between points.
    #[schemars(extend("examples" = [{"points": [[0, 0], [120, 0], [120, 40], [0, 80]]}]))]
    pub polygon: Option<PolygonKeys>,
    /// A disc.
    #[schemars(extend("examples" = [{"diameter": "6 in"}]))]
    pub circle: Option<Circle>,
    /// A disc with a bore.
    #[schemars(extend("examples" = [{"outer_diameter": 90, "inner_diameter": 50}]))]
    pub ring: Option<Ring>,
    /// A strip with round ends, lying along x.
    #[schemars(extend("examples" = [{"length": 90, "width": 30}]))]
    pub slot: Option<Slot>,
    /// Two strips that share the lower left corner.
    #[schemars(extend("examples" = [{"length_x": 150, "width_x": 40, "length_y": 100, "width_y": 40}]))]
    pub l_shape: Option<LShape>,
    /// A right triangle with its right angle at the lower left.
    #[schemars(extend("examples" = [{"leg_x": 100, "leg_y": 100, "nose": 10}]))]
    pub gusset: Option<Gusset>,
    /// A rectangle with bites taken out of its corners or edges.
    #[schemars(extend("examples" = [{"width": 800, "height": 500, "notches": [{"width": 200, "height": 150, "at": "top right"}]}]))]
    pub notched: Option<Notched>,
    /// A drawing: the name of a DXF or SVG file beside the job file, and how to read it.
    #[schemars(extend("examples" = [{"file": "bracket.dxf", "unit": "mm"}]))]
    pub drawing: Option<Drawing>,
}

/// A rectangle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Rectangle {
    /// Extent in x.
    #[schemars(extend("examples" = ["4 3/4 in"]))]
    pub width: Length,
    /// Extent in y.
    #[schemars(extend("examples" = ["80 mm"]))]
    pub height: Length,
    /// Radius of all four corners. When left out, they are sharp.
    #[schemars(extend("examples" = ["6 mm"]))]
    pub corner_radius: Option<Length>,
    /// All four corners cut off this far from where their sides would meet.
    #[schemars(extend("examples" = ["10 mm"]))]
    pub chamfer: Option<Length>,
}

/// Straight sides between points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct PolygonKeys {
    /// The corners in order, either way round; the last joins the first. Each is `[x, y]`, or a table when it is
    /// rounded or cut off.
    #[schemars(length(min = 3, max = 5000), extend("examples" = [[[0, 0], {"x": 120, "y": 0, "radius": 8}, [60, 70]]]))]
    pub points: Vec<Corner>,
    /// Radius of every corner that does not say otherwise.
    #[schemars(extend("examples" = ["3 mm"]))]
    pub corner_radius: Option<Length>,
}

/// A corner of a polygon: `[x, y]`, or a table with `x`, `y` and how the corner is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a corner such as [20, 15] or { x = 20, y = 15, radius = 3 }")]
pub enum Corner {
    /// Made as the polygon says.
    #[schemars(with = "Pair")]
    Pair(Vec<Length>),
    /// Made in its own way.
    Made(MadeCorner),
}

/// A corner and how it is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "a corner with its making", extend("additionalProperties" = false))]
pub struct MadeCorner {
    /// To the right of the origin.
    #[schemars(extend("examples" = [120]))]
    pub x: Length,
    /// Above the origin.
    #[schemars(extend("examples" = [0]))]
    pub y: Length,
    /// Rounded with this radius; 0 leaves it sharp.
    #[schemars(extend("examples" = ["8 mm"]))]
    pub radius: Option<Length>,
    /// Cut off this far along both sides.
    #[schemars(extend("examples" = ["8 mm"]))]
    pub chamfer: Option<Length>,
}

/// A disc.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Circle {
    /// Its diameter.
    #[schemars(extend("examples" = ["6 in"]))]
    pub diameter: Length,
}

/// A disc with a bore in its middle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Ring {
    /// Diameter of the outside.
    #[schemars(extend("examples" = ["90 mm"]))]
    pub outer_diameter: Length,
    /// Diameter of the bore.
    #[schemars(extend("examples" = ["50 mm"]))]
    pub inner_diameter: Length,
}

/// A strip with round ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Slot {
    /// Length over all, in x.
    #[schemars(extend("examples" = ["90 mm"]))]
    pub length: Length,
    /// Width, which is the diameter of the ends.
    #[schemars(extend("examples" = ["30 mm"]))]
    pub width: Length,
}

/// Two strips that share the lower left corner.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct LShape {
    /// Length over all of the strip along x.
    #[schemars(extend("examples" = ["150 mm"]))]
    pub length_x: Length,
    /// Width of the strip along x.
    #[schemars(extend("examples" = ["40 mm"]))]
    pub width_x: Length,
    /// Length over all of the strip along y.
    #[schemars(extend("examples" = ["100 mm"]))]
    pub length_y: Length,
    /// Width of the strip along y. When left out, the same as the other.
    #[schemars(extend("examples" = ["40 mm"]))]
    pub width_y: Option<Length>,
    /// Radius of the inside corner.
    #[schemars(extend("examples" = ["5 mm"]))]
    pub inside_radius: Option<Length>,
}

/// A right triangle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Gusset {
    /// Length of the leg along x.
    #[schemars(extend("examples" = ["100 mm"]))]
    pub leg_x: Length,
    /// Length of the leg along y.
    #[schemars(extend("examples" = ["100 mm"]))]
    pub leg_y: Length,
    /// Height of the flats that the legs end in, square to the leg. When left out, the legs end in points.
    #[schemars(extend("examples" = ["10 mm"]))]
    pub nose: Option<Length>,
    /// The right angle cut off this far along both legs, to clear a weld.
    #[schemars(extend("examples" = ["12 mm"]))]
    pub inside_chamfer: Option<Length>,
}

/// A rectangle with bites taken out of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Notched {
    /// Extent in x before the bites.
    #[schemars(extend("examples" = ["800 mm"]))]
    pub width: Length,
    /// Extent in y before the bites.
    #[schemars(extend("examples" = ["500 mm"]))]
    pub height: Length,
    /// The bites.
    #[schemars(length(min = 1, max = 100), extend("examples" = [[{"width": 200, "height": 150, "at": "top right"}]]))]
    pub notches: Vec<Notch>,
}

/// A rectangular bite out of a corner or an edge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Notch {
    /// Extent of the bite in x.
    #[schemars(extend("examples" = ["200 mm"]))]
    pub width: Length,
    /// Extent of the bite in y.
    #[schemars(extend("examples" = ["150 mm"]))]
    pub height: Length,
    /// The corner or edge it is taken out of.
    #[schemars(extend("examples" = ["top right"]))]
    pub at: NotchPlace,
    /// For a bite out of an edge: how far it starts from the left end (of the bottom or top edge) or from the lower
    /// end (of the left or right edge). A bite out of a corner has none.
    #[schemars(extend("examples" = ["100 mm"]))]
    pub start: Option<Length>,
    /// Radius of its inside corners. When left out, they are sharp.
    #[schemars(extend("examples" = ["8 mm"]))]
    pub inside_radius: Option<Length>,
}

/// A corner or an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum NotchPlace {
    /// Lower left corner.
    #[serde(rename = "bottom left")]
    BottomLeft,
    /// Lower right corner.
    #[serde(rename = "bottom right")]
    BottomRight,
    /// Upper right corner.
    #[serde(rename = "top right")]
    TopRight,
    /// Upper left corner.
    #[serde(rename = "top left")]
    TopLeft,
    /// Bottom edge.
    #[serde(rename = "bottom")]
    Bottom,
    /// Right edge.
    #[serde(rename = "right")]
    Right,
    /// Top edge.
    #[serde(rename = "top")]
    Top,
    /// Left edge.
    #[serde(rename = "left")]
    Left,
}

/// A DXF or SVG file and how to read it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(extend("additionalProperties" = false))]
pub struct Drawing {
    /// Its name, from the folder of the job file. It ends in `.dxf` or `.svg`.
    #[schemars(extend("examples" = ["drawings/bracket.dxf"]))]
    pub file: String,
    /// The unit of its numbers, when the file does not say it or says it wrongly: `mm`, `cm`, `m`, `in`, `ft`; for
    /// pictures also `pt` (1/72 inch), `px` (1/96 inch) and any other part of an inch, such as `"1/90 in"`.
    #[schemars(extend("examples" = ["in"]))]
    pub unit: Option<String>,
    /// True extent in x of all its outlines together, when the unit is not known: measure a part, or the drawing as a whole.
    #[schemars(extend("examples" = ["249.7 mm"]))]
    pub width: Option<Length>,
    /// Which outline of the drawing is meant, counted from 1 in the order of the file. When left out, all of them: each is
    /// a part (or sheet) of its own, named with its number. Faults elsewhere in the drawing are then warnings.
    #[schemars(range(min = 1, max = 10000), extend("examples" = [2]))]
    pub piece: Option<u32>,
    /// Layers that are cut. What no list names is told by the words in its name ("bend", "etch", "dimensions", in the
    /// common languages of drawings) and cut in doubt; words for cutting win over words for leaving out.
    #[schemars(extend("examples" = [["CUT", "0"]]))]
    pub cut_layers: Option<Vec<String>>,
    /// Layers that are bend lines.
    #[schemars(extend("examples" = [["BEND"]]))]
    pub bend_layers: Option<Vec<String>>,
    /// Layers that are marked, not cut.
    #[schemars(extend("examples" = [["ETCH", "TEXT"]]))]
    pub mark_layers: Option<Vec<String>>,
    /// Layers that are left out.
    #[schemars(extend("examples" = [["TITLE"]]))]
    pub ignored_layers: Option<Vec<String>>,
    /// Layers on which rust, dents and other damage are drawn; only for sheets. When left out, those whose names say so.
    #[schemars(extend("examples" = [["RUST"]]))]
    pub damage_layers: Option<Vec<String>>,
    /// Colours of lines that are cut: a name such as `"red"`, `"#ff0000"`, or a number in the palette of DXF. Lines of
    /// colours that no list names are then left out. A colour counts before a layer, but what any list leaves out stays out.
    #[schemars(extend("examples" = [["red", "#0000ff"]]))]
    pub cut_colours: Option<Vec<ColourName>>,
    /// Colours of bend lines.
    #[schemars(extend("examples" = [["green"]]))]
    pub bend_colours: Option<Vec<ColourName>>,
    /// Colours of lines that are marked, not cut.
    #[schemars(extend("examples" = [["black"]]))]
    pub mark_colours: Option<Vec<ColourName>>,
    /// Colours of lines that are left out.
    #[schemars(extend("examples" = [[8, "yellow"]]))]
    pub ignored_colours: Option<Vec<ColourName>>,
    /// Line types that are cut. When no list names them, centre lines are left out, and dashed lines are bend lines where
    /// they run straight from edge to edge of a part.
    #[schemars(extend("examples" = [["DASHED"]]))]
    pub cut_line_types: Option<Vec<String>>,
    /// Line types of bend lines.
    #[schemars(extend("examples" = [["CENTER"]]))]
    pub bend_line_types: Option<Vec<String>>,
    /// Line types that are marked, not cut.
    #[schemars(extend("examples" = [["DOT"]]))]
    pub mark_line_types: Option<Vec<String>>,
    /// Line types that are left out.
    #[schemars(extend("examples" = [["PHANTOM"]]))]
    pub ignored_line_types: Option<Vec<String>>,
    /// Ends of lines nearer to each other than this are taken to meet. When left out, 0.05 mm.
    #[schemars(extend("examples" = ["0.05 mm"]))]
    pub gap: Option<Length>,
    /// What lines are for that are to be cut but close no loop. When left out, they are errors.
    #[schemars(extend("examples" = ["mark"]))]
    pub open_lines: Option<OpenLinesWord>,
    /// Leaves out loops that cannot be cut, with what lies in them: loops that cross, touch or enclose nothing. When left
    /// out, they are errors.
    #[schemars(extend("examples" = ["leave out"]))]
    pub faulty_loops: Option<LeaveOutWord>,
    /// Leaves out what is not understood on or in a part, such as a meshed surface. When left out, that is an error.
    #[schemars(extend("examples" = ["leave out"]))]
    pub not_understood: Option<LeaveOutWord>,
    /// What becomes of an outermost outline with other parts in its openings: a sheet frame, border or page is left out, a
    /// part is cut. When left out, what is a frame beyond doubt is left out, the rest cut, both with a warning.
    #[schemars(extend("examples" = ["leave out"]))]
    pub frame: Option<FrameWord>,
    /// Splits outlines where lines end on other lines, so that parts which share an edge become parts of their own.
    #[schemars(extend("examples" = ["split"]))]
    pub shared_edges: Option<SharedEdgesWord>,
}

/// A colour: a name such as `"red"`, `"#ff0000"`, or a number from 1 to 255 in the palette of DXF.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "a colour such as \"red\", \"#ff0000\" or 1")]
pub enum ColourName {
    /// In the palette of DXF.
    Number(#[schemars(range(min = 1, max = 255))] u8),
    /// By name or by its red, green and blue.
    Text(String),
}

/// What open lines are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum OpenLinesWord {
    /// They are marked.
    #[serde(rename = "mark")]
    Mark,
    /// They are bend lines.
    #[serde(rename = "bend")]
    Bend,
    /// They are left out.
    #[serde(rename = "leave out")]
    LeaveOut,
}

/// The word for leaving out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum LeaveOutWord {
    /// It is left out.
    #[serde(rename = "leave out")]
    LeaveOut,
}

/// What becomes of a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum FrameWord {
    /// It is a part.
    #[serde(rename = "cut")]
    Cut,
    /// It is left out.
    #[serde(rename = "leave out")]
    LeaveOut,
}

/// What becomes of edges that two parts share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(inline)]
pub enum SharedEdgesWord {
    /// Each part gets its own.
    #[serde(rename = "split")]
    Split,
}
