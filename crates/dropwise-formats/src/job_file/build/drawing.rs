//! Parts and sheets from drawings.

use std::path::Path;

use dropwise_geometry::{Outline, Segment, Shape, Unit};
use dropwise_shop::PartFrame;
use dropwise_shop::pattern::RoundHole;

use super::bent::{BentDetail, WorkedHole};
use super::context::At;
use crate::drawing::{
    self, ColourChoice, Coordinates, DrawingOptions, DrawingUnit, DrawnShape, FrameUse, LayerUse, LineRules, Severity,
    Spot,
};
use crate::dxf::{DxfError, read_dxf};
use crate::job_file::error::{Fault, JobFileError, Note, Place};
use crate::job_file::tree::shortened;
use crate::job_file::types::{ColourName, Drawing, FrameWord, OpenLinesWord};
use crate::svg::{SvgError, read_svg};

/// A part that was drawn or dimensioned.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    pub(super) shape: Shape,
    /// Round holes, for marking out.
    pub(super) holes: Vec<RoundHole>,
    /// How many bends it takes; of a drawing, its bend lines.
    pub(super) bends: u32,
    /// Holes that are more than cut.
    pub(super) worked: Vec<WorkedHole>,
    /// Its bends, if it was told by its faces.
    pub(super) bent: Option<Box<BentDetail>>,
    /// What was assumed, left out or mended of its drawing.
    pub(super) notes: Vec<Note>,
    /// Damage drawn on it.
    pub(super) damage: Vec<Outline>,
}

impl Piece {
    /// The piece in its own frame, wherever it was drawn. A bent one lies in it already.
    pub(super) fn in_own_frame(mut self) -> Self {
        let frame = PartFrame::of(&self.shape);
        if frame.is_identity() || self.bent.is_some() {
            return self;
        }
        self.shape = self.shape.transformed(frame.isometry());
        self.holes.iter_mut().for_each(|hole| hole.center = frame.read(hole.center));
        self.worked.iter_mut().for_each(|hole| hole.center = frame.read(hole.center));
        self
    }
}

/// A drawing as it was read for a job, for a picture of what was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenDrawing {
    /// The file as the job names it.
    pub file: String,
    /// What was understood of it.
    pub drawing: drawing::Drawing,
}

/// The pieces of a drawing. `thickness` is that of the metal, mm.
pub(super) fn pieces(at: &At<'_>, keys: &Drawing, thickness: Option<f64>) -> Option<Vec<Piece>> {
    let options = DrawingOptions { thickness, ..options(at, keys)? };
    let (drawing, notes) = read(at, keys, options)?;
    let found = drawing.shapes.len();
    let with_notes = |index: usize, drawn: &DrawnShape| {
        // Whatever may be wrong stands beside every part of the drawing, the rest beside the first.
        let is_first = index == 0 || keys.piece.is_some();
        let told = notes.iter().filter(|note| is_first || note.severity > Severity::Info).cloned();
        Piece { notes: told.collect(), ..piece_of(drawn) }
    };
    let Some(piece) = keys.piece else {
        return Some(drawing.shapes.iter().enumerate().map(|(index, drawn)| with_notes(index, drawn)).collect());
    };
    match drawing.shapes.get(piece as usize - 1) {
        Some(shape) => Some(vec![with_notes(0, shape)]),
        None => {
            at.key("piece").fault(
                format!("is {piece}, but the drawing holds {found} outline{}", if found == 1 { "" } else { "s" }),
                format!("Choose from 1 to {found}, or leave it out to take them all"),
            );
            None
        }
    }
}

fn options(at: &At<'_>, keys: &Drawing) -> Option<DrawingOptions> {
    let unit = keys.unit.as_deref().map_or(Some(None), |name| drawing_unit(&at.key("unit"), name).map(Some));
    let gap = at.key("gap").optional(keys.gap.as_ref(), At::size);
    let true_width = at.key("width").optional(keys.width.as_ref(), At::size);
    let rules = rules(at, keys);
    let (unit, gap, true_width, rules) = (unit?, gap?, true_width?, rules?);
    if unit.is_some() && true_width.is_some() {
        at.key("width").fault("stands beside `unit`", "Each of them gives the size: keep one");
        return None;
    }
    let mut options = DrawingOptions {
        unit,
        true_width,
        default_unit: at.context.unit,
        rules,
        open_lines: keys.open_lines.map(|word| match word {
            OpenLinesWord::Mark => LayerUse::Mark,
            OpenLinesWord::Bend => LayerUse::Bend,
            OpenLinesWord::LeaveOut => LayerUse::Ignore,
        }),
        skips_faulty: keys.faulty_loops.is_some(),
        skips_unknown: keys.not_understood.is_some(),
        frame: match keys.frame {
            None => FrameUse::Guess,
            Some(FrameWord::Cut) => FrameUse::Cut,
            Some(FrameWord::LeaveOut) => FrameUse::LeaveOut,
        },
        splits_shared: keys.shared_edges.is_some(),
        only_piece: keys.piece.map(|piece| piece as usize),
        is_stock: !at.is_in_part(),
        ..DrawingOptions::default()
    };
    if let Some(gap) = gap {
        options.join_tolerance = gap;
    }
    if options.is_stock {
        // A whole coil sheet is longer than any part.
        options.suspiciously_large = 20_000.0;
    }
    Some(options)
}

fn drawing_unit(at: &At<'_>, name: &str) -> Option<DrawingUnit> {
    match name.parse() {
        Ok(unit) => Some(unit),
        Err(_) => {
            at.fault(
                format!("\"{}\" is no unit of a drawing", shortened(name)),
                "Write mm, cm, m, in, ft, pt, px, or a part of an inch such as \"1/90 in\"; or give its true `width`",
            );
            None
        }
    }
}

/// What layers, colours and line types are for.
fn rules(at: &At<'_>, keys: &Drawing) -> Option<LineRules> {
    let mut rules = LineRules::default();
    let mut is_clear = true;
    if keys.damage_layers.is_some() && at.is_in_part() {
        at.key("damage_layers").fault("is for sheets", "A part has no damage; leave it out");
        is_clear = false;
    }
    let layers = [
        ("cut_layers", &keys.cut_layers, LayerUse::Cut),
        ("bend_layers", &keys.bend_layers, LayerUse::Bend),
        ("mark_layers", &keys.mark_layers, LayerUse::Mark),
        ("ignored_layers", &keys.ignored_layers, LayerUse::Ignore),
        ("damage_layers", &keys.damage_layers, LayerUse::Damage),
    ];
    is_clear &= each_once(
        at,
        layers,
        "layer",
        |name| folded(name),
        |name, line_use| {
            rules = std::mem::take(&mut rules).with_layer(name, line_use);
            true
        },
    );
    let types = [
        ("cut_line_types", &keys.cut_line_types, LayerUse::Cut),
        ("bend_line_types", &keys.bend_line_types, LayerUse::Bend),
        ("mark_line_types", &keys.mark_line_types, LayerUse::Mark),
        ("ignored_line_types", &keys.ignored_line_types, LayerUse::Ignore),
    ];
    is_clear &= each_once(
        at,
        types,
        "line type",
        |name| folded(name),
        |name, line_use| {
            rules = std::mem::take(&mut rules).with_line_type(name, line_use);
            true
        },
    );
    let colours = [
        ("cut_colours", &keys.cut_colours, LayerUse::Cut),
        ("bend_colours", &keys.bend_colours, LayerUse::Bend),
        ("mark_colours", &keys.mark_colours, LayerUse::Mark),
        ("ignored_colours", &keys.ignored_colours, LayerUse::Ignore),
    ];
    let name_of = |colour: &ColourName| match colour {
        ColourName::Number(number) => number.to_string(),
        ColourName::Text(text) => folded(text),
    };
    is_clear &= each_once(at, colours, "colour", name_of, |colour, line_use| {
        let choice = match colour {
            ColourName::Number(number) => Some(ColourChoice::indexed(*number)).filter(|_| *number > 0),
            ColourName::Text(text) => ColourChoice::parse(text),
        };
        choice.is_some_and(|choice| {
            rules = std::mem::take(&mut rules).with_colour(choice, line_use);
            true
        })
    });
    is_clear.then_some(rules)
}

fn folded(name: &str) -> String {
    name.trim().to_lowercase()
}

/// Takes the names of several lists. A name in two of them is reported, and so is one that `take` refuses.
fn each_once<T, const N: usize>(
    at: &At<'_>,
    lists: [(&str, &Option<Vec<T>>, LayerUse); N],
    what: &str,
    name_of: impl Fn(&T) -> String,
    mut take: impl FnMut(&T, LayerUse) -> bool,
) -> bool {
    let mut named: Vec<(String, &str)> = Vec::new();
    let mut is_clear = true;
    for (key, list, line_use) in lists {
        for (index, item) in list.iter().flatten().enumerate() {
            let name = name_of(item);
            let place = at.key(key).index(index);
            if let Some((_, other)) = named.iter().find(|(known, other)| *known == name && *other != key) {
                is_clear = false;
                place.fault(format!("stands in `{other}` too"), format!("A {what} has one use: keep one"));
            } else if !take(item, line_use) {
                is_clear = false;
                place.fault(
                    format!("\"{}\" is no colour", shortened(&name)),
                    "Write a name such as \"red\", \"#ff0000\", or a number from 1 to 255",
                );
            }
            named.push((name, key));
        }
    }
    is_clear
}

/// The drawing, and what is to be told of it.
fn read(at: &At<'_>, keys: &Drawing, mut options: DrawingOptions) -> Option<(drawing::Drawing, Vec<Note>)> {
    let file_at = at.key("file");
    let path = at.context.folder.join(&keys.file);
    options.file = path.display().to_string();
    let extension = Path::new(&keys.file).extension().map(|e| e.to_string_lossy().to_lowercase());
    let is_svg = match extension.as_deref() {
        Some("dxf") => false,
        Some("svg") => true,
        _ => {
            file_at.fault(
                format!("\"{}\" is neither a DXF nor an SVG file by its name", shortened(&keys.file)),
                "Save the drawing as .dxf or .svg; DWG must be exported first",
            );
            return None;
        }
    };
    let bytes = match crate::job_file::read_file(&path, options.limits.file_bytes as u64) {
        Ok(bytes) => bytes,
        Err(fault) => {
            file_at.message(0, format!("\"{}\" {fault}", shortened(&keys.file)));
            return None;
        }
    };
    let read = if is_svg {
        let text = match crate::svg::decode(&bytes) {
            Ok(text) => text,
            Err(offset) => {
                at.context.push(JobFileError::new(Place::file(&path), Fault::NotText { offset }));
                return None;
            }
        };
        read_svg(&text, &options).map_err(|error| match error {
            SvgError::Faulty { notes, understood, .. } => Refused::Drawing(notes, understood),
            SvgError::NothingToCut { notes, understood, .. } => Refused::Nothing(notes, understood),
            other => Refused::File(other.to_string()),
        })
    } else {
        read_dxf(&bytes, &options).map_err(|error| match error {
            DxfError::Faulty { notes, understood, .. } => Refused::Drawing(notes, understood),
            DxfError::NothingToCut { notes, understood, .. } => Refused::Nothing(notes, understood),
            other => Refused::File(other.to_string()),
        })
    };
    let unit = at.context.unit;
    let seen = |drawing: drawing::Drawing| at.context.push_seen(SeenDrawing { file: keys.file.clone(), drawing });
    match read {
        Ok(drawing) => {
            let notes: Vec<Note> = drawing.notes.iter().map(|note| note_of(note, &path, unit)).collect();
            notes.iter().for_each(|note| at.context.push_note(note.clone()));
            seen(drawing.clone());
            Some((drawing, notes))
        }
        Err(Refused::File(message)) => {
            file_at.message(0, message);
            None
        }
        Err(Refused::Nothing(notes, understood)) => {
            seen(*understood);
            let fault = Fault::value("nothing to cut in it", "Draw closed loops, or say which layers are cut");
            at.context.push(JobFileError::new(Place::file(&path), fault));
            notes.iter().for_each(|note| at.context.push(error_of(note, &path, unit)));
            None
        }
        Err(Refused::Drawing(notes, understood)) => {
            seen(*understood);
            let errors = notes.iter().filter(|note| note.severity == Severity::Error);
            errors.for_each(|note| at.context.push(error_of(note, &path, unit)));
            None
        }
    }
}

/// Why a drawing gave nothing.
enum Refused {
    File(String),
    Nothing(Vec<drawing::Note>, Box<drawing::Drawing>),
    Drawing(Vec<drawing::Note>, Box<drawing::Drawing>),
}

fn error_of(note: &drawing::Note, path: &Path, unit: Unit) -> JobFileError {
    let (place, start) = place_of(note, path, unit);
    let (problem, cure) = (format!("{start}{}", note.kind.problem(unit)), note.kind.cure());
    let fault = if cure.is_empty() { Fault::Refused { message: problem } } else { Fault::value(problem, cure) };
    JobFileError::new(place, fault)
}

fn note_of(note: &drawing::Note, path: &Path, unit: Unit) -> Note {
    let (place, start) = place_of(note, path, unit);
    Note { severity: note.severity, place, text: format!("{start}{}", note.kind.in_words(unit)) }
}

/// The place of a note, and how its text begins, with lengths in a unit.
fn place_of(note: &drawing::Note, path: &Path, unit: Unit) -> (Place, String) {
    let mut place = Place::file(path);
    let mut start = String::new();
    if let Some(found) = &note.place {
        match found.spot {
            Spot::Line(line) => place.line = Some(line),
            Spot::Byte(byte) => place.key = format!("byte {byte}"),
        }
        if !found.layer.is_empty() {
            place.key = format!("layer \"{}\"", found.layer);
        }
        if let Some(at) = found.at {
            start = format!("at {} {unit}: ", Coordinates(at, unit));
        }
    }
    (place, start)
}

fn piece_of(drawn: &DrawnShape) -> Piece {
    let mut holes: Vec<RoundHole> = drawn.shape.holes().iter().filter_map(round_hole).collect();
    holes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    let bends = drawn.bend_lines.len() as u32;
    let (shape, damage) = (drawn.shape.clone(), drawn.damage.clone());
    Piece { shape, holes, bends, worked: Vec::new(), bent: None, notes: Vec::new(), damage }
}

/// The hole that a ring is, if it is a full circle to a thousandth of a millimetre.
fn round_hole(ring: &Outline) -> Option<RoundHole> {
    let mut arcs = ring.segments().map(|segment| match segment {
        Segment::Arc { arc, .. } => Some((arc.center, arc.radius)),
        Segment::Line { .. } => None,
    });
    let (center, radius) = arcs.next()??;
    let is_same = |arc: Option<(dropwise_geometry::Point, f64)>| {
        arc.is_some_and(|(c, r)| c.distance(center) < 1e-3 && (r - radius).abs() < 1e-3)
    };
    // The ring cannot wind twice: drawings were checked for lines that cross or repeat.
    arcs.all(is_same).then_some(RoundHole { diameter: 2.0 * radius, center, feature: None })
}
