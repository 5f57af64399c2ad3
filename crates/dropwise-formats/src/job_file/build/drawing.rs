//! Parts and sheets from drawings.

use std::path::Path;

use dropwise_geometry::{Outline, Segment, Shape};
use dropwise_shop::PartFrame;
use dropwise_shop::pattern::RoundHole;

use super::bent::{BentDetail, WorkedHole};
use super::context::At;
use crate::drawing::{self, DrawingOptions, DrawnShape, LayerTable, LayerUse, Severity, Spot};
use crate::dxf::{DxfError, read_dxf};
use crate::job_file::error::{Fault, JobFileError, Note, Place};
use crate::job_file::types::Drawing;
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

/// The pieces of a drawing.
pub(super) fn pieces(at: &At<'_>, keys: &Drawing) -> Option<Vec<Piece>> {
    let options = options(at, keys);
    let drawing = read(at, keys, options?)?;
    let found = drawing.shapes.len();
    let Some(piece) = keys.piece else {
        return Some(drawing.shapes.iter().map(piece_of).collect());
    };
    match drawing.shapes.get(piece as usize - 1) {
        Some(shape) => Some(vec![piece_of(shape)]),
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
    let unit = keys.unit.as_deref().map_or(Some(None), |name| at.key("unit").unit(name).map(Some));
    let gap = at.key("gap").optional(keys.gap.as_ref(), At::size);
    let mut layers = LayerTable::default();
    let mut named: Vec<(String, &str)> = Vec::new();
    let mut is_clear = true;
    for (key, list, layer_use) in [
        ("cut_layers", &keys.cut_layers, LayerUse::Cut),
        ("bend_layers", &keys.bend_layers, LayerUse::Bend),
        ("mark_layers", &keys.mark_layers, LayerUse::Mark),
        ("ignored_layers", &keys.ignored_layers, LayerUse::Ignore),
    ] {
        for (index, layer) in list.iter().flatten().enumerate() {
            let folded = layer.trim().to_lowercase();
            if let Some((_, other)) = named.iter().find(|(name, other)| *name == folded && *other != key) {
                is_clear = false;
                at.key(key).index(index).fault(format!("stands in `{other}` too"), "A layer has one use: keep one");
            }
            named.push((folded, key));
            layers = layers.with(layer, layer_use);
        }
    }
    let (unit, gap) = (unit?, gap?);
    let mut options = DrawingOptions { unit, default_unit: at.context.unit, layers, ..DrawingOptions::default() };
    if let Some(gap) = gap {
        options.join_tolerance = gap;
    }
    if at.is_in_sheet() {
        // A whole coil sheet is longer than any part.
        options.suspiciously_large = 20_000.0;
    }
    is_clear.then_some(options)
}

fn read(at: &At<'_>, keys: &Drawing, mut options: DrawingOptions) -> Option<drawing::Drawing> {
    let file_at = at.key("file");
    let path = at.context.folder.join(&keys.file);
    options.file = path.display().to_string();
    let extension = Path::new(&keys.file).extension().map(|e| e.to_string_lossy().to_lowercase());
    let is_svg = match extension.as_deref() {
        Some("dxf") => false,
        Some("svg") => true,
        _ => {
            file_at.fault(
                format!(
                    "\"{}\" is neither a DXF nor an SVG file by its name",
                    crate::job_file::tree::shortened(&keys.file)
                ),
                "Save the drawing as .dxf or .svg; DWG must be exported first",
            );
            return None;
        }
    };
    let bytes = match crate::job_file::read_file(&path, options.limits.file_bytes as u64) {
        Ok(bytes) => bytes,
        Err(fault) => {
            file_at.message(0, format!("\"{}\" {fault}", crate::job_file::tree::shortened(&keys.file)));
            return None;
        }
    };
    let read = if is_svg {
        let text = match std::str::from_utf8(&bytes) {
            Ok(text) => text,
            Err(error) => {
                let fault = Fault::NotText { offset: error.valid_up_to() };
                at.context.push(JobFileError::new(Place::file(&path), fault));
                return None;
            }
        };
        read_svg(text, &options).map_err(|error| match error {
            SvgError::Faulty { notes, .. } => Err(notes),
            other => Ok(other.to_string()),
        })
    } else {
        read_dxf(&bytes, &options).map_err(|error| match error {
            DxfError::Faulty { notes, .. } => Err(notes),
            other => Ok(other.to_string()),
        })
    };
    match read {
        Ok(drawing) => {
            drawing.notes.iter().for_each(|note| at.context.push_note(note_of(note, &path)));
            Some(drawing)
        }
        Err(Ok(message)) => {
            file_at.message(0, message);
            None
        }
        Err(Err(notes)) => {
            for note in notes.iter().filter(|note| note.severity == Severity::Error) {
                let Note { place, text, .. } = note_of(note, &path);
                at.context.push(JobFileError::new(place, Fault::Refused { message: text }));
            }
            None
        }
    }
}

fn note_of(note: &drawing::Note, path: &Path) -> Note {
    let mut place = Place::file(path);
    let mut text = note.kind.to_string();
    if let Some(found) = &note.place {
        match found.spot {
            Spot::Line(line) => place.line = Some(line),
            Spot::Byte(byte) => place.key = format!("byte {byte}"),
        }
        if !found.layer.is_empty() {
            place.key = format!("layer \"{}\"", found.layer);
        }
        if let Some(at) = found.at {
            text = format!("at ({:.3}, {:.3}) mm: {text}", at.x, at.y);
        }
    }
    Note { severity: note.severity, place, text }
}

fn piece_of(drawn: &DrawnShape) -> Piece {
    let mut holes: Vec<RoundHole> = drawn.shape.holes().iter().filter_map(round_hole).collect();
    holes.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    let bends = drawn.bend_lines.len() as u32;
    Piece { shape: drawn.shape.clone(), holes, bends, worked: Vec::new(), bent: None }
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
