//! The usual forms of bent and flat parts: what is asked of each, and how a job file says it.

use std::collections::BTreeMap;

use clap::ValueEnum;
use dropwise_geometry::{Unit, format_length, parse_length};
use dropwise_shop::Thickness;

use crate::commands::draft::quoted;

/// A form that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Form {
    /// An angle, one bend
    Bracket,
    /// A U, two bends
    Channel,
    /// A floor with four walls
    Tray,
    /// A tray, and a lid that goes over it
    Box,
    /// A table for a machine: top, aprons, four legs with feet
    Table,
    /// A cover over a belt or chain: a hat with two brims to screw down
    Guard,
    /// A flat triangle with its points cut off
    Gusset,
    /// A shelf: upstand at the back, lip at the front
    Shelf,
    /// A flat panel with a hole in each corner
    Panel,
}

/// One measure of a form.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Measure {
    /// The option, without its dashes.
    pub(crate) option: &'static str,
    /// What is measured.
    pub(crate) question: &'static str,
    /// An example in inches, and one in millimetres.
    pub(crate) examples: [&'static str; 2],
    /// Whether it may be left out.
    pub(crate) may_be_left_out: bool,
}

const fn must(option: &'static str, question: &'static str, examples: [&'static str; 2]) -> Measure {
    Measure { option, question, examples, may_be_left_out: false }
}

const fn may(option: &'static str, question: &'static str, examples: [&'static str; 2]) -> Measure {
    Measure { option, question, examples, may_be_left_out: true }
}

impl Form {
    /// The word that is typed for it.
    pub(crate) fn word(self) -> String {
        self.to_possible_value().map_or_else(String::new, |value| value.get_name().to_owned())
    }

    /// What it is.
    pub(crate) fn description(self) -> String {
        self.to_possible_value().and_then(|value| Some(value.get_help()?.to_string())).unwrap_or_default()
    }

    /// What is asked, in order.
    pub(crate) const fn measures(self) -> &'static [Measure] {
        match self {
            Self::Bracket => {
                const {
                    &[
                        must("length", "Length, along the bend", ["3", "80"]),
                        must("base", "Leg that lies, over the outside", ["1-1/2", "40"]),
                        must("leg", "Leg that stands, over the outside", ["1-1/4", "30"]),
                        may("hole", "Two holes in each leg, their diameter", ["9/32", "6.6"]),
                    ]
                }
            }
            Self::Channel => {
                const {
                    &[
                        must("length", "Length, along the bends", ["16", "400"]),
                        must("web", "Web, over both flanges", ["2", "50"]),
                        must("flange", "Height of the flanges, over the outside", ["1", "25"]),
                        may("hole", "Two holes in the web, their diameter", ["7/32", "5.5"]),
                    ]
                }
            }
            Self::Tray => {
                const {
                    &[
                        must("length", "Length, over the walls", ["9", "220"]),
                        must("width", "Width, over the walls", ["6", "150"]),
                        must("height", "Height of the walls", ["1-1/4", "30"]),
                    ]
                }
            }
            Self::Box => {
                const {
                    &[
                        must("length", "Length of the box, over the walls", ["10", "250"]),
                        must("width", "Width of the box, over the walls", ["7", "180"]),
                        must("height", "Height of its walls", ["3", "75"]),
                        must("lid", "Height of the lid's walls", ["3/4", "18"]),
                    ]
                }
            }
            Self::Table => {
                const {
                    &[
                        must("length", "Length of the top", ["13", "320"]),
                        must("width", "Width of the top", ["10", "240"]),
                        must("height", "Height, from the floor to the top", ["6-1/2", "160"]),
                        must("leg", "Width of a leg", ["1-3/4", "45"]),
                        must("apron", "Height of the aprons between the legs", ["1-1/4", "30"]),
                        must("foot", "Length of the feet, turned in at the floor", ["1-3/8", "35"]),
                    ]
                }
            }
            Self::Guard => {
                const {
                    &[
                        must("length", "Length of the guard", ["12", "300"]),
                        must("crown", "Width of its crown, over the walls", ["2", "50"]),
                        must("height", "Height over everything", ["2-1/2", "65"]),
                        must("brim", "Width of a brim", ["1", "25"]),
                        may("hole", "Two holes in each brim, their diameter", ["9/32", "6.6"]),
                    ]
                }
            }
            Self::Gusset => {
                const {
                    &[
                        must("width", "Leg along x", ["5", "120"]),
                        must("height", "Leg along y", ["5", "120"]),
                        may("nose", "Width of the points when cut square", ["1/2", "12"]),
                    ]
                }
            }
            Self::Shelf => {
                const {
                    &[
                        must("length", "Length of the shelf", ["20", "500"]),
                        must("width", "Depth, from back to front", ["7", "180"]),
                        must("back", "Height of the upstand at the back", ["1-1/2", "40"]),
                        must("lip", "Height of the lip at the front, bent down", ["3/4", "20"]),
                        may("hole", "Two holes in the upstand, their diameter", ["9/32", "6.6"]),
                    ]
                }
            }
            Self::Panel => {
                const {
                    &[
                        must("length", "Length", ["11", "280"]),
                        must("height", "Height", ["8", "200"]),
                        must("hole", "Diameter of the corner holes", ["7/32", "5.5"]),
                        must("inset", "Their middles from the edges", ["1/2", "12"]),
                        may("radius", "Radius of the corners", ["1/4", "6"]),
                    ]
                }
            }
        }
    }

    /// Whether it has bends.
    pub(crate) const fn is_bent(self) -> bool {
        !matches!(self, Self::Gusset | Self::Panel)
    }
}

/// What was told of a form; every measure can be read as a length.
#[derive(Clone, Debug, Default)]
pub(crate) struct Measures(pub(crate) BTreeMap<&'static str, String>);

impl Measures {
    /// A measure as the job file has it.
    fn key(&self, option: &str) -> String {
        quoted(self.0.get(option).map_or("", String::as_str))
    }

    /// A measure, mm.
    fn millimetres(&self, option: &str, unit: Unit) -> f64 {
        self.0.get(option).and_then(|text| parse_length(text, unit).ok()).unwrap_or(0.0)
    }

    fn has(&self, option: &str) -> bool {
        self.0.contains_key(option)
    }
}

/// Space between a box's walls and its lid's, all round, mm: the lid goes on by hand and does not rattle (common
/// practice, no source).
const LID_SPACE: f64 = 0.8;

/// The part, or the parts, of a job file.
pub(crate) struct Wording<'a> {
    pub(crate) form: Form,
    pub(crate) name: &'a str,
    pub(crate) count: u32,
    pub(crate) unit: Unit,
    pub(crate) thickness: Thickness,
    pub(crate) measures: &'a Measures,
}

impl Wording<'_> {
    /// `[[parts]]` tables, with remarks.
    pub(crate) fn parts(&self) -> String {
        let key = |option: &str| self.measures.key(option);
        match self.form {
            Form::Bracket => self.part(
                "Sizes are over the outside of the bend. `base` lies, `leg` stands.",
                &format!(
                    "angle_bracket = {{ length = {}, base = {}, leg = {} }}\n{}{}",
                    key("length"),
                    key("base"),
                    key("leg"),
                    self.row("hole_rows = [", 0.5, "]\n"),
                    self.row("faces = [{ face = \"leg\", hole_rows = [", 0.5, "] }]\n"),
                ),
            ),
            Form::Channel => self.part(
                "`web` is over both flanges, `flange` over the outside.",
                &format!(
                    "channel = {{ length = {}, web = {}, flange = {} }}\n{}",
                    key("length"),
                    key("web"),
                    key("flange"),
                    self.row("hole_rows = [", 0.75, "]\n"),
                ),
            ),
            Form::Tray => self.part(
                "Length and width are over the walls.",
                &format!("tray = {{ length = {}, width = {}, height = {} }}\n", key("length"), key("width"), key("height")),
            ),
            Form::Box => self.box_and_lid(),
            Form::Table => self.part(
                "`height` is over everything, from the floor to the top.",
                &format!(
                    "machine_table = {{ length = {}, width = {}, height = {}, leg_width = {}, apron = {}, foot = {} }}\n",
                    key("length"),
                    key("width"),
                    key("height"),
                    key("leg"),
                    key("apron"),
                    key("foot"),
                ),
            ),
            Form::Guard => self.part(
                "`crown` is over the walls, `height` over everything.",
                &format!(
                    "hat_section = {{ length = {}, crown = {}, height = {}, brim = {} }}\n{}",
                    key("length"),
                    key("crown"),
                    key("height"),
                    key("brim"),
                    self.brims(),
                ),
            ),
            Form::Gusset => self.part(
                "A right triangle, flat. `nose` cuts its points square.",
                &format!(
                    "gusset = {{ leg_x = {}, leg_y = {}{} }}\n",
                    key("width"),
                    key("height"),
                    if self.measures.has("nose") { format!(", nose = {}", key("nose")) } else { String::new() },
                ),
            ),
            Form::Shelf => self.shelf(),
            Form::Panel => self.panel(),
        }
    }

    fn part(&self, remark: &str, body: &str) -> String {
        format!("# {remark}\n[[parts]]\nname = {}\nquantity = {}\n{body}", quoted(self.name), self.count)
    }

    /// Two holes, centred, a share of the length apart; nothing where no hole was asked for.
    fn row(&self, before: &str, share: f64, behind: &str) -> String {
        if !self.measures.has("hole") {
            return String::new();
        }
        let overall = format_length(share * self.measures.millimetres("length", self.unit), self.unit);
        let hole = self.measures.key("hole");
        format!("{before}{{ diameter = {hole}, count = 2, overall = {} }}{behind}", quoted(&overall))
    }

    fn brims(&self) -> String {
        let row = self.row("", 0.75, "");
        if row.is_empty() {
            return row;
        }
        let face = |name: &str| format!("    {{ face = \"{name}\", hole_rows = [{row}] }},\n");
        format!("faces = [\n{}{}]\n", face("front brim"), face("back brim"))
    }

    fn box_and_lid(&self) -> String {
        let key = |option: &str| self.measures.key(option);
        let more = 2.0 * (self.thickness.millimetres() + LID_SPACE);
        let over =
            |option: &str| quoted(&format_length(self.measures.millimetres(option, self.unit) + more, self.unit));
        let lid = Wording { name: &format!("{} lid", self.name), ..*self };
        format!(
            "{}\n{}",
            self.part(
                "Length and width are over the walls.",
                &format!(
                    "tray = {{ length = {}, width = {}, height = {} }}\n",
                    key("length"),
                    key("width"),
                    key("height")
                ),
            ),
            lid.part(
                &format!(
                    "The lid goes over the box: larger by two sheets and {} of space on each side.",
                    format_length(LID_SPACE, self.unit)
                ),
                &format!(
                    "tray = {{ length = {}, width = {}, height = {} }}\n",
                    over("length"),
                    over("width"),
                    key("lid")
                ),
            )
        )
    }

    fn shelf(&self) -> String {
        let key = |option: &str| self.measures.key(option);
        let holes = self.row(", hole_rows = [", 0.75, "]");
        self.part(
            "The shelf as it lies, then what is bent on its edges: the back up, the lip at the front down.",
            &format!(
                "rectangle = {{ width = {}, height = {} }}\nflanges = [\n    {{ name = \"back\", edge = \"top\", height = {}{holes} }},\n    \
                 {{ name = \"lip\", edge = \"bottom\", height = {}, direction = \"down\" }},\n]\n",
                key("length"),
                key("width"),
                key("back"),
                key("lip"),
            ),
        )
    }

    fn panel(&self) -> String {
        let key = |option: &str| self.measures.key(option);
        let radius =
            if self.measures.has("radius") { format!(", corner_radius = {}", key("radius")) } else { String::new() };
        let hole = |x: &str, y: &str| {
            let (diameter, inset) = (key("hole"), key("inset"));
            format!("    {{ diameter = {diameter}, at = {{ {x} = {inset}, {y} = {inset} }} }},\n")
        };
        let holes: String = [("left", "bottom"), ("right", "bottom"), ("left", "top"), ("right", "top")]
            .map(|(x, y)| hole(x, y))
            .concat();
        self.part(
            "A flat panel. Holes are dimensioned from the edges that are named.",
            &format!(
                "rectangle = {{ width = {}, height = {}{radius} }}\nholes = [\n{holes}]\n",
                key("length"),
                key("height")
            ),
        )
    }
}
