//! What a reader has to say about a drawing, each with its place and its cure.

use std::fmt;
use std::sync::Arc;

use dropwise_geometry::{Fault, Point, Unit, format_length};

use super::LayerUse;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing: something was assumed, mended or left out as usual.
    Info,
    /// The result may not be what was meant.
    Warning,
    /// The drawing cannot be cut as it is.
    Error,
}

/// Where in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// A line of a text file, counted from 1.
    Line(usize),
    /// A byte of a binary file, counted from 0.
    Byte(usize),
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line(line) => write!(f, "line {line}"),
            Self::Byte(byte) => write!(f, "byte {byte}"),
        }
    }
}

/// The place of an entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name of the file.
    pub file: Arc<str>,
    /// Where its entity begins.
    pub spot: Spot,
    /// Its layer; empty when it has none.
    pub layer: Arc<str>,
    /// Where on the drawing, mm.
    pub at: Option<Point>,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}", self.file, self.spot)?;
        if !self.layer.is_empty() {
            write!(f, ", layer \"{}\"", self.layer)?;
        }
        if let Some(at) = self.at {
            write!(f, ", at {} mm", Coordinates(at, Unit::Millimetre))?;
        }
        Ok(())
    }
}

/// A place on a drawing in a unit, for messages.
pub(crate) struct Coordinates(pub(crate) Point, pub(crate) Unit);

impl fmt::Display for Coordinates {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A thousandth finds any spot on a drawing; the sum turns -0 into 0.
        let round = |value: f64| (value / self.1.millimetres() * 1000.0).round() / 1000.0 + 0.0;
        write!(f, "({}, {})", round(self.0.x), round(self.0.y))
    }
}

/// One thing to say.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// How bad it is.
    pub severity: Severity,
    /// What it is.
    pub kind: NoteKind,
    /// Where, if it is in one place.
    pub place: Option<Place>,
}

impl Note {
    pub(crate) fn new(severity: Severity, kind: NoteKind, place: Option<Place>) -> Self {
        Self { severity, kind, place }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        self.kind.fmt(f)
    }
}

/// What an open line ends on, as far as it helps to say what it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OpenHint {
    /// Nothing.
    None,
    /// The smallest value of `gap` that closes gaps like this one, mm, and how many contours it closes.
    Gap {
        /// Value of `gap`, mm.
        value: f64,
        /// How many it closes.
        closes: usize,
    },
    /// It is straight and runs from edge to edge of a part.
    EdgeToEdge,
    /// It ends on the middle of another line here.
    EndsOnLine(Point),
}

/// A size in another unit, for messages: name of the unit, width and height in mm.
pub type SizeInUnit = (&'static str, [f64; 2]);

/// What a [`Note`] says.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum NoteKind {
    /// The file names no unit.
    UnitAssumed {
        /// What was taken.
        unit: &'static str,
        /// What the file hints at, if it hints at something else.
        hint: Option<&'static str>,
        /// Size of what is cut, mm.
        size: [f64; 2],
        /// What it would be in other units.
        others: Vec<SizeInUnit>,
        /// Why the unit is doubtful, if it is.
        doubt: Option<Doubt>,
    },
    /// The unit is named, but the size is not that of a part.
    UnitDoubtful {
        /// What the file says.
        unit: &'static str,
        /// Size of what is cut, mm.
        size: [f64; 2],
        /// What it would be in other units.
        others: Vec<SizeInUnit>,
        /// Why.
        doubt: Doubt,
    },
    /// The caller's unit is not the file's.
    UnitOverridden {
        /// The caller's.
        told: String,
        /// What the file says.
        file: &'static str,
    },
    /// The program that wrote the file counts pixels in its own way.
    Resolution {
        /// Pixels in an inch.
        per_inch: u32,
        /// The program.
        program: &'static str,
        /// Size of what is cut, mm.
        size: [f64; 2],
        /// What it would be in other units.
        others: Vec<SizeInUnit>,
    },
    /// Numbers with a comma in place of the decimal point.
    DecimalCommas {
        /// How many.
        count: usize,
    },
    /// Splines told by points that they pass through.
    FitSplines {
        /// How many.
        count: usize,
    },
    /// Texts, dimensions and the like.
    LeftOut {
        /// Kind of entity and how many, by name.
        counts: Vec<(String, usize)>,
    },
    /// Entities that may be metal but are not understood.
    NotUnderstood {
        /// Kind of entity.
        entity: String,
        /// How many.
        count: usize,
        /// What to do about it.
        cure: &'static str,
        /// Whether they lie on or in a part, or may do so.
        is_on_part: bool,
    },
    /// Layers neither the caller nor the words of the trade know. They were cut.
    UnknownLayers {
        /// Name and count of lines.
        layers: Vec<(String, usize)>,
    },
    /// A layer that is switched off or meant to be ignored.
    LayerLeftOut {
        /// Its name.
        layer: String,
        /// Entities on it.
        count: usize,
        /// Whether the drawing hides it; otherwise its name is one to ignore.
        is_hidden: bool,
        /// Closed loops on it.
        loops: usize,
        /// Size of the largest loop, mm.
        largest: [f64; 2],
    },
    /// A layer whose name is one to ignore was cut, as little else or nothing else is there.
    LayerCutAfterAll {
        /// Its name.
        layer: String,
        /// Lines on it.
        count: usize,
        /// Layer of the holes that lie in it; empty when nothing else was drawn to be cut.
        holes: String,
    },
    /// Lines of a type that is not cut.
    LineTypeLeftOut {
        /// Name of the line type.
        line_type: String,
        /// How many.
        count: usize,
        /// Closed loops among them.
        loops: usize,
        /// Size of the largest loop, mm.
        largest: [f64; 2],
        /// Whether one of them runs from edge to edge of a part, as bend lines do.
        is_across: bool,
    },
    /// Dashed lines from edge to edge of a part, read as bend lines.
    DashedBends {
        /// Name of the line type.
        line_type: String,
        /// How many.
        count: usize,
    },
    /// Lines of colours that no list names, where the job names colours to cut.
    OtherColours {
        /// Name and count.
        colours: Vec<(String, usize)>,
        /// Closed loops among them.
        loops: usize,
    },
    /// What the lines on cut layers look like, to choose by.
    Colours {
        /// Colour, layer, closed loops and open lines.
        counts: Vec<(String, String, usize, usize)>,
    },
    /// Lines drawn twice, removed.
    DuplicatesRemoved {
        /// How many.
        count: usize,
    },
    /// Ends that missed each other, joined.
    EndsJoined {
        /// At how many places.
        count: usize,
        /// The widest gap, mm.
        widest: f64,
    },
    /// Filled shapes whose outline has no end, closed as the filling shows.
    FillsClosed {
        /// How many.
        count: usize,
    },
    /// A contour that does not close.
    OpenContour {
        /// Its loose ends.
        ends: [Point; 2],
        /// From one loose end to the nearest other end that is loose too, its own or another contour's, mm.
        gap: f64,
        /// Length along it, mm.
        length: f64,
        /// What it may be.
        hint: OpenHint,
    },
    /// Open lines that were used as the caller says.
    OpenLines {
        /// What for.
        line_use: LayerUse,
        /// How many.
        count: usize,
    },
    /// A loop that crosses or touches itself, or runs back along its own line.
    SelfCrossing,
    /// Two loops that cross each other.
    LoopsCross {
        /// Where the other one is drawn.
        other: Spot,
    },
    /// A loop around nothing.
    ZeroArea,
    /// A loop no larger than the gaps that are closed.
    TinyLoop {
        /// Width and height, mm.
        size: [f64; 2],
    },
    /// Two loops run side by side all around, as the edges of a thick pen's line.
    DoubleLine {
        /// How far apart, mm.
        width: f64,
    },
    /// A loop around loops that have holes: a frame, page or sheet, or a part with parts in its openings.
    FrameKept {
        /// Its size, mm.
        size: [f64; 2],
        /// How many outlines lie in its openings.
        inside: usize,
        /// Size of the largest of them, mm.
        largest: [f64; 2],
        /// What it looks like: "a bare rectangle around everything", "the size of A4 paper".
        looks: &'static str,
    },
    /// Such a loop, left out.
    FrameLeftOut {
        /// Its size, mm.
        size: [f64; 2],
        /// Why it is one.
        looks: &'static str,
        /// Whether the caller asked for it.
        is_told: bool,
    },
    /// A bend or mark line outside every part.
    StrayLine {
        /// Bend, mark or damage.
        line_use: LayerUse,
        /// How many.
        count: usize,
    },
    /// Something outside the file, or a program within it, that was not followed.
    NotFollowed {
        /// What.
        what: String,
        /// How many.
        count: usize,
    },
    /// Loops within loops beyond any real part.
    NestedTooDeep,
    /// Another fault of the part's rings, found when it was put together.
    NotSound(Fault),
    /// So many lines lie across each other that they were not checked.
    Tangled,
    /// More faults than are worth listing.
    MoreFaults {
        /// How many more.
        count: usize,
    },
    /// Loops that lie in an outline that was left out, and went with it.
    InsideFaulty {
        /// How many.
        count: usize,
    },
    /// Several of one kind on one layer.
    Repeated {
        /// The first.
        first: Box<NoteKind>,
        /// How many there are, the first among them.
        count: usize,
        /// Where some of the others are drawn.
        others: Vec<Spot>,
    },
    /// The loop was left out, as the options ask for faulty ones, or as it is no concern of the piece that is wanted.
    FaultyLeftOut(Box<NoteKind>),
}

/// Why a unit is doubtful.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doubt {
    /// The largest part is very small.
    Small,
    /// A part is very large.
    Large,
    /// A hole this wide, mm, in a sheet this thick, mm.
    Hole {
        /// Width of the hole, mm.
        width: f64,
        /// Thickness of the sheet, mm.
        thickness: f64,
    },
    /// The file says that it is metric, or that it is not.
    System(&'static str),
}

/// A number with at most three decimals, and no more than it needs.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A length with its unit, as short as [`short`].
fn length(mm: f64, unit: Unit) -> String {
    format!("{} {unit}", short(mm / unit.millimetres()))
}

/// Width and height, mm, in a unit: hundredths where they tell anything.
fn size(of: [f64; 2], unit: Unit) -> String {
    let of = of.map(|mm| mm / unit.millimetres());
    let least = of[0].max(of[1]);
    let digits = match least {
        _ if least >= 1000.0 => 0,
        _ if least >= 100.0 => 1,
        _ if least >= 1.0 => 2,
        _ => 4,
    };
    format!("{:.digits$} x {:.digits$} {unit}", of[0], of[1])
}

fn in_other_units(others: &[SizeInUnit], unit: Unit) -> String {
    others.iter().map(|(read_in, of)| format!("; in {read_in} {}", size(*of, unit))).collect()
}

fn doubts(doubt: &Doubt, unit: Unit) -> String {
    match doubt {
        Doubt::Small => "that is very small for a part".to_owned(),
        Doubt::Large => "that is very large for a part".to_owned(),
        Doubt::Hole { width, thickness } => {
            format!("it has a hole {} wide in a sheet {} thick", length(*width, unit), length(*thickness, unit))
        }
        Doubt::System(says) => format!("yet the file is set to {says}"),
    }
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}

/// Names with counts, at most eight.
fn counted(names: &[(String, usize)]) -> String {
    let shown: Vec<String> =
        names.iter().take(8).map(|(name, count)| format!("{name} ({count} line{})", plural(*count))).collect();
    let more = names.len().saturating_sub(8);
    format!("{}{}", shown.join(", "), if more > 0 { format!(" and {more} more") } else { String::new() })
}

fn use_in_words(line_use: LayerUse) -> &'static str {
    match line_use {
        LayerUse::Cut => "cut",
        LayerUse::Bend => "bend",
        LayerUse::Mark => "mark",
        LayerUse::Damage => "damage",
        LayerUse::Ignore => "left out",
    }
}

impl fmt::Display for NoteKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_words(Unit::Millimetre))
    }
}

const UNIT_CURE: &str = "If that is wrong, give the drawing its `unit`, or its true `width`";

impl NoteKind {
    /// What is so and what to do about it, with lengths in a unit.
    #[must_use]
    pub fn in_words(&self, unit: Unit) -> String {
        let (problem, cure) = (self.problem(unit), self.cure());
        if cure.is_empty() { problem } else { format!("{problem}. {cure}") }
    }

    /// What is so, with lengths in a unit, without a full stop.
    #[must_use]
    pub fn problem(&self, shown: Unit) -> String {
        match self {
            Self::UnitAssumed { unit, hint, size: of, others, doubt } => {
                let hint = hint.map_or_else(String::new, |hint| format!(" but hints at {hint}"));
                let doubt = doubt.as_ref().map_or_else(String::new, |doubt| format!(", and {}", doubts(doubt, shown)));
                let others = in_other_units(others, shown);
                format!(
                    "the file names no unit{hint}; {unit} assumed, so that it is {}{others}{doubt}",
                    size(*of, shown)
                )
            }
            Self::UnitDoubtful { unit, size: of, others, doubt } => {
                let others = in_other_units(others, shown);
                format!("read in {unit} as the file says, it is {}{others}; {}", size(*of, shown), doubts(doubt, shown))
            }
            Self::UnitOverridden { told, file } => format!("read in {told} as told, though the file says {file}"),
            Self::Resolution { per_inch, program, size: of, others } => format!(
                "{per_inch} px make an inch, as {program} wrote the file, so that it is {}{}",
                size(*of, shown),
                in_other_units(others, shown)
            ),
            Self::DecimalCommas { count } => {
                format!("{count} number{} with a decimal comma, read as with a point", plural(*count))
            }
            Self::FitSplines { count } => format!(
                "{count} spline{} told by fit points alone, read as the smooth curve through them",
                plural(*count)
            ),
            Self::LeftOut { counts } => {
                let names: Vec<String> = counts.iter().map(|(name, count)| format!("{count} {name}")).collect();
                format!("left out: {}", names.join(", "))
            }
            Self::NotUnderstood { entity, count, is_on_part, .. } => format!(
                "{count} {entity} not understood{}",
                if *is_on_part { ", on a part or perhaps on one" } else { " and left out; no part lies there" }
            ),
            Self::Colours { counts } => {
                let of = |(colour, layer, closed, open): &(String, String, usize, usize)| {
                    let layer = if layer.is_empty() { String::new() } else { format!(" on layer \"{layer}\"") };
                    let mut words = Vec::new();
                    if *closed > 0 {
                        words.push(format!("{closed} closed"));
                    }
                    if *open > 0 {
                        words.push(format!("{open} open"));
                    }
                    format!("{colour}{layer} {}", words.join(" and "))
                };
                let shown: Vec<String> = counts.iter().take(12).map(of).collect();
                let more = counts.len().saturating_sub(12);
                let more = if more > 0 { format!(" and {more} more") } else { String::new() };
                format!("lines to be cut by colour: {}{more}", shown.join("; "))
            }
            Self::UnknownLayers { .. }
            | Self::LayerLeftOut { .. }
            | Self::LayerCutAfterAll { .. }
            | Self::LineTypeLeftOut { .. }
            | Self::DashedBends { .. }
            | Self::OtherColours { .. } => self.choice_problem(shown),
            Self::FrameKept { .. } | Self::FrameLeftOut { .. } | Self::StrayLine { .. } | Self::NotFollowed { .. } => {
                self.place_problem(shown)
            }
            _ => self.line_problem(shown),
        }
    }

    /// Of layers, line types and colours.
    fn choice_problem(&self, shown: Unit) -> String {
        let loops_of = |loops: usize, largest: [f64; 2]| match loops {
            0 => String::new(),
            1 => format!(", among them a closed loop of {}", size(largest, shown)),
            many => format!(", among them {many} closed loops, the largest {}", size(largest, shown)),
        };
        match self {
            Self::UnknownLayers { layers } => {
                let quoted: Vec<(String, usize)> =
                    layers.iter().map(|(name, count)| (format!("\"{name}\""), *count)).collect();
                format!("layer{} {} cut", plural(layers.len()), counted(&quoted))
            }
            Self::LayerLeftOut { layer, count, is_hidden, loops, largest } => format!(
                "layer \"{layer}\" ({count} line{}{}) left out, {}",
                plural(*count),
                loops_of(*loops, *largest),
                if *is_hidden { "as it is switched off or frozen" } else { "as its name is one to leave out" }
            ),
            Self::LayerCutAfterAll { layer, count, holes } => format!(
                "layer \"{layer}\" ({count} line{}) cut although its name is one to leave out: {}",
                plural(*count),
                if holes.is_empty() {
                    "nothing else is drawn to be cut".to_owned()
                } else {
                    format!("the holes on layer \"{holes}\" lie in it")
                }
            ),
            Self::LineTypeLeftOut { line_type, count, loops, largest, is_across } => format!(
                "{count} line{} of type {line_type}{}{} left out",
                plural(*count),
                loops_of(*loops, *largest),
                if *is_across { ", one from edge to edge of a part as bend lines are," } else { "" }
            ),
            Self::DashedBends { line_type, count } => format!(
                "{count} line{} of type {line_type} from edge to edge of a part read as bend line{}",
                plural(*count),
                plural(*count)
            ),
            Self::OtherColours { colours, loops } => format!(
                "left out, as other colours are named to be cut: {}{}",
                counted(colours),
                if *loops > 0 { format!(", among them {loops} closed loop{}", plural(*loops)) } else { String::new() }
            ),
            _ => String::new(),
        }
    }

    /// Of frames, and of lines outside of parts.
    fn place_problem(&self, shown: Unit) -> String {
        match self {
            Self::FrameKept { size: of, inside, largest, looks } => format!(
                "this outline of {} ({looks}) has {inside} outline{} in its openings, the largest {}",
                size(*of, shown),
                plural(*inside),
                size(*largest, shown)
            ),
            Self::FrameLeftOut { size: of, looks, is_told } => format!(
                "this outline of {} ({looks}) left out as a frame{}",
                size(*of, shown),
                if *is_told { ", as told" } else { "" }
            ),
            Self::StrayLine { line_use, count } => {
                format!("{count} {} line{} outside every part, left out", use_in_words(*line_use), plural(*count))
            }
            Self::NotFollowed { what, count } => {
                format!("{count} {what} ignored; nothing outside the drawing is read")
            }
            _ => String::new(),
        }
    }

    /// Of single lines and loops.
    fn line_problem(&self, shown: Unit) -> String {
        match self {
            Self::DuplicatesRemoved { count } => {
                format!("{count} line{} drawn twice in the same place; kept once", plural(*count))
            }
            Self::EndsJoined { count, widest } => {
                format!("gaps closed at {count} corner{}, the widest {}", plural(*count), length(*widest, shown))
            }
            Self::FillsClosed { count } => {
                format!("{count} filled outline{} without an end closed, as the filling shows", plural(*count))
            }
            Self::OpenContour { ends, gap, length: long, hint } => {
                let mut text = format!(
                    "this contour of {} is open: it starts at {} and ends at {}",
                    format_length(*long, shown),
                    Coordinates(ends[0], shown),
                    Coordinates(ends[1], shown)
                );
                match hint {
                    OpenHint::EdgeToEdge => text.push_str(", a straight line from edge to edge of a part"),
                    OpenHint::EndsOnLine(at) => {
                        text.push_str(&format!(
                            ", and ends on the middle of another line at {}",
                            Coordinates(*at, shown)
                        ));
                    }
                    _ if *gap > 0.0 => {
                        text.push_str(&format!(", with {} to the nearest loose end", length(*gap, shown)))
                    }
                    _ => {}
                }
                text
            }
            Self::OpenLines { line_use, count } => {
                format!(
                    "{count} open line{} {} as told",
                    plural(*count),
                    match line_use {
                        LayerUse::Bend => "read as bend lines",
                        LayerUse::Mark => "marked",
                        _ => "left out",
                    }
                )
            }
            Self::SelfCrossing => "the outline crosses or touches itself here".to_owned(),
            Self::LoopsCross { other } => format!("this loop crosses the one drawn at {other}"),
            Self::ZeroArea => "the loop encloses nothing".to_owned(),
            Self::TinyLoop { size: of } => {
                format!("a loop of {} left out, as it is no larger than the gaps that are closed", size(*of, shown))
            }
            Self::DoubleLine { width } => {
                format!("two loops run {} apart all around, as the edges of a thick line do", length(*width, shown))
            }
            Self::NestedTooDeep => "loops lie within loops too deep to be a part".to_owned(),
            Self::NotSound(fault) => format!("this part is not sound: {}", unsound(fault, shown)),
            Self::Tangled => "more lines lie across each other than can be checked".to_owned(),
            Self::MoreFaults { count } => format!("and {count} more fault{}", plural(*count)),
            Self::InsideFaulty { count } => {
                format!("{count} loop{} inside of what was left out went with it", plural(*count))
            }
            Self::Repeated { first, count, others } => {
                let spots: Vec<String> = others.iter().map(ToString::to_string).collect();
                let more = if others.len() + 1 < *count { ", ..." } else { "" };
                format!("{}; and {} more like it ({}{more})", first.problem(shown), count - 1, spots.join(", "))
            }
            Self::FaultyLeftOut(fault) => format!("left out: {}", fault.problem(shown)),
            _ => String::new(),
        }
    }

    /// What to do about it, without a full stop; empty when nothing needs to be done. Names in backquotes are keys of the
    /// part's `drawing` in the job file.
    #[must_use]
    pub fn cure(&self) -> String {
        let text = match self {
            Self::UnitAssumed { .. } | Self::UnitDoubtful { .. } | Self::Resolution { .. } => UNIT_CURE,
            Self::NotUnderstood { cure, is_on_part: true, .. } => {
                return format!("{}, or say `not_understood = \"leave out\"`", capital(cure));
            }
            Self::NotUnderstood { cure, .. } => return capital(cure),
            Self::Colours { .. } => {
                "Choose with `cut_colours`, `mark_colours`, `bend_colours` or `ignored_colours`, as in `cut_colours = [\"red\"]`"
            }
            Self::UnknownLayers { .. } => {
                "If one is not for cutting, name it in `bend_layers`, `mark_layers` or `ignored_layers`"
            }
            Self::LayerLeftOut { is_hidden: true, .. } => "Switch it on to have it read",
            Self::LayerLeftOut { layer, .. } => {
                return format!("If it is for cutting, say `cut_layers = [\"{layer}\"]`");
            }
            Self::LayerCutAfterAll { layer, .. } => {
                return format!("If it is not for cutting, say `ignored_layers = [\"{layer}\"]`");
            }
            Self::LineTypeLeftOut { line_type, .. } => {
                return format!(
                    "If that is wrong, name \"{line_type}\" in `cut_line_types`, `bend_line_types` or `mark_line_types`"
                );
            }
            Self::DashedBends { line_type, .. } => {
                return format!(
                    "If that is wrong, name \"{line_type}\" in `cut_line_types`, `mark_line_types` or `ignored_line_types`"
                );
            }
            Self::OpenContour { hint, .. } => return open_cure(hint),
            Self::SelfCrossing => "Trim the lines at the crossing, or say `faulty_loops = \"leave out\"`",
            Self::LoopsCross { .. } => {
                "Move them apart, join them into one outline, or say `faulty_loops = \"leave out\"`"
            }
            Self::ZeroArea => {
                "Remove it, draw it with its true width, or say what such lines are: `open_lines = \"mark\"`, \"bend\" or \"leave out\""
            }
            Self::DoubleLine { .. } => "If they are one line drawn with a thick pen, keep one of them in the drawing",
            Self::FrameKept { .. } => {
                "If it is a frame, page or sheet, say `frame = \"leave out\"`; if it is a part, `frame = \"cut\"`"
            }
            Self::FrameLeftOut { is_told: false, .. } => "If it is a part, say `frame = \"cut\"`",
            Self::StrayLine { .. } => "Move them on to their part",
            Self::NestedTooDeep => "Remove the inner ones, or say `faulty_loops = \"leave out\"`",
            Self::NotSound(Fault::RepeatedSide { ring, other_ring, .. }) if ring != other_ring => {
                "An opening runs along an edge: draw it as a notch in the outline, or say `faulty_loops = \"leave out\"`"
            }
            Self::NotSound(_) => "Redraw that place, or say `faulty_loops = \"leave out\"`",
            Self::Tangled => {
                "Remove hatching and pictures from the cut layers, or name those layers in `ignored_layers`"
            }
            Self::Repeated { first, .. } => return first.cure(),
            _ => "",
        };
        text.to_owned()
    }
}

fn open_cure(hint: &OpenHint) -> String {
    match hint {
        OpenHint::Gap { value, closes: 1 } => {
            format!("`gap = \"{} mm\"` closes it; so does drawing it closed", short(*value))
        }
        OpenHint::Gap { value, closes } => format!("`gap = \"{} mm\"` closes all {closes} such gaps", short(*value)),
        OpenHint::EdgeToEdge => {
            "Is it a bend line? Then say `open_lines = \"bend\"`. If two parts share this edge, say \
            `shared_edges = \"split\"`; else `open_lines = \"mark\"` or \"leave out\""
                .to_owned()
        }
        OpenHint::EndsOnLine(_) => {
            "If two parts share this edge, say `shared_edges = \"split\"`. Otherwise say what such \
            lines are: `open_lines = \"mark\"`, \"bend\" or \"leave out\""
                .to_owned()
        }
        OpenHint::None => "Close it in the drawing, name its layer in `ignored_layers`, or say what such lines are: \
            `open_lines = \"mark\"`, \"bend\" or \"leave out\""
            .to_owned(),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A fault of a shape in words: rings by name, sides counted from 1, places to a thousandth.
fn unsound(fault: &Fault, shown: Unit) -> String {
    let ring = |ring: usize| if ring == 0 { "the outline".to_owned() } else { format!("opening {ring}") };
    match *fault {
        Fault::SelfCrossing { ring: of, at, .. } => {
            format!("{} crosses itself at {}", ring(of), Coordinates(at, shown))
        }
        Fault::RepeatedSide { ring: of, side, other_ring, other_side, at } => format!(
            "side {} of {} and side {} of {} run along each other at {}",
            side + 1,
            ring(of),
            other_side + 1,
            ring(other_ring),
            Coordinates(at, shown)
        ),
        Fault::ZeroArea { ring: of, at } => format!("{} encloses no area at {}", ring(of), Coordinates(at, shown)),
        Fault::ZeroLengthSide { ring: of, at, .. } => {
            format!("{} has a side without length at {}", ring(of), Coordinates(at, shown))
        }
        Fault::HoleOutside { ring: of, at } => {
            format!("{} lies outside of the outline at {}", ring(of), Coordinates(at, shown))
        }
        Fault::NestedHoles { inner, outer, at } => {
            format!("{} lies in {} at {}", ring(inner), ring(outer), Coordinates(at, shown))
        }
        ref other => other.to_string(),
    }
}
