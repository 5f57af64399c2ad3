//! What a cutting file draws, on which layer, in which order: the same for DXF and SVG.
//!
//! A file leaves the width of the cut to the machine: every outline is the true edge of the finished part, without an
//! offset for kerf. The order is one in which nothing is cut loose too early: lines to mark come first, then bend lines,
//! then part by part its holes and only then its outline; a part that lies in another's hole comes before that hole.

use dropwise_geometry::{Bounds, Circle, Outline, Point, Polygon, Segment, Shape, Side, largest_circle};
use dropwise_model::{Job, Part, SheetUse};
use dropwise_shop::markout::ScribeLines;

/// A layer of a cutting file.
///
/// The readers of this crate know what each name is for: the two cut layers are cut, bends are bend lines, marks are
/// marks, and the rest is left out. See [`crate::drawing::LayerTable`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CutLayer {
    /// Edge of the stock, its holes and damaged zones, for setting the sheet up; not to be cut.
    SheetBorder,
    /// Lines to mark on the face.
    Mark,
    /// Bend lines whose flange comes up.
    BendUp,
    /// Bend lines whose flange goes down.
    BendDown,
    /// Holes of parts.
    CutInner,
    /// Outlines of parts.
    Cut,
    /// Names of parts, for people; not to be cut.
    PartText,
}

impl CutLayer {
    /// Every layer, in the order of the file.
    pub const ALL: [Self; 7] =
        [Self::SheetBorder, Self::Mark, Self::BendUp, Self::BendDown, Self::CutInner, Self::Cut, Self::PartText];

    /// Its name in the file: letters and underscores only, which every version of DXF allows.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SheetBorder => "SHEET_BORDER",
            Self::Mark => "MARK",
            Self::BendUp => "BEND_UP",
            Self::BendDown => "BEND_DOWN",
            Self::CutInner => "CUT_INNER",
            Self::Cut => "CUT",
            Self::PartText => "PART_TEXT",
        }
    }

    /// Whether the tool goes through the metal along its lines.
    #[must_use]
    pub const fn is_cut(self) -> bool {
        matches!(self, Self::CutInner | Self::Cut)
    }

    /// Whether it only helps people: neither cut nor marked nor bent.
    #[must_use]
    pub const fn is_reference(self) -> bool {
        matches!(self, Self::SheetBorder | Self::PartText)
    }
}

/// One thing that is drawn.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct CutItem {
    pub(crate) layer: CutLayer,
    pub(crate) figure: CutFigure,
    /// How many holes of other parts it lies in. Deeper ones are cut first.
    pub(crate) depth: usize,
    /// Index among the names of the drawing.
    pub(crate) part: Option<usize>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum CutFigure {
    Ring(Outline),
    Line(Segment),
    /// Words centred on a point.
    Text {
        at: Point,
        height: f64,
        text: String,
    },
}

/// A drawing ready to be written as DXF ([`crate::dxf_write::write_dxf`]) or SVG ([`crate::svg_write::write_svg`]).
///
/// Coordinates are those of the plan or of the flat pattern, in millimetres, y up.
#[derive(Clone, Debug, PartialEq)]
pub struct CutDrawing {
    pub(crate) title: String,
    pub(crate) names: Vec<String>,
    pub(crate) items: Vec<CutItem>,
}

/// Why something cannot be drawn.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CutDrawingError {
    /// A coordinate that is no number, or one so large that a file would not hold its digits.
    #[error("{subject} has a coordinate that is not an ordinary number within 10 km")]
    BadCoordinate {
        /// The sheet, or the part with its name.
        subject: String,
    },
    /// A sheet or part that the job does not have.
    #[error("the plan speaks of {kind} number {index}, but the job has only {count}")]
    NoSuch {
        /// "sheet" or "part".
        kind: &'static str,
        /// Which, counted from zero.
        index: usize,
        /// How many there are.
        count: usize,
    },
}

/// Beyond this, mm, coordinates lose digits that a cut could show.
const FARTHEST: f64 = 1e7;

impl CutDrawing {
    /// One nested sheet.
    ///
    /// `scribe` has the bend lines and marks of each part of the job, in the job's order; what is missing at the end has
    /// none.
    ///
    /// # Errors
    /// [`CutDrawingError`] for a layout that does not belong to the job, and for numbers that no file can hold.
    pub fn of_sheet(job: &Job, sheet_use: &SheetUse, scribe: &[ScribeLines]) -> Result<Self, CutDrawingError> {
        let count = job.sheets().len();
        let no_sheet = CutDrawingError::NoSuch { kind: "sheet", index: sheet_use.sheet, count };
        let sheet = job.sheets().get(sheet_use.sheet).ok_or(no_sheet)?;
        let mut drawing = Self { title: sheet.name.clone(), names: Vec::new(), items: Vec::new() };
        let stock = sheet.bought_shape(sheet_use.length);
        for ring in stock.rings().chain(&sheet.damage) {
            drawing.push(CutLayer::SheetBorder, CutFigure::Ring(ring.clone()), 0, None);
        }
        let none = ScribeLines::default();
        let mut placed = Vec::with_capacity(sheet_use.placements.len());
        let mut labels: Vec<Option<Option<Circle>>> = vec![None; job.parts().len()];
        for placement in &sheet_use.placements {
            let count = job.parts().len();
            let no_part = CutDrawingError::NoSuch { kind: "part", index: placement.part, count };
            let part = job.parts().get(placement.part).ok_or(no_part)?;
            let room = *labels[placement.part].get_or_insert_with(|| room_for_a_name(&part.shape));
            placed.push(Placed {
                name: &part.name,
                shape: part.shape.transformed(placement.position),
                scribe: scribe.get(placement.part).unwrap_or(&none).transformed(placement.position),
                label: room.map(|room| Circle { center: placement.position.apply(room.center), ..room }),
            });
        }
        drawing.parts(placed);
        drawing.checked()
    }

    /// One part, flat, in its own frame.
    ///
    /// # Errors
    /// [`CutDrawingError::BadCoordinate`].
    pub fn of_part(part: &Part, scribe: &ScribeLines) -> Result<Self, CutDrawingError> {
        let mut drawing = Self { title: part.name.clone(), names: Vec::new(), items: Vec::new() };
        drawing.parts(vec![Placed {
            name: &part.name,
            shape: part.shape.clone(),
            scribe: scribe.clone(),
            label: room_for_a_name(&part.shape),
        }]);
        drawing.checked()
    }

    /// The smallest box around all that is drawn but texts.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.items.iter().fold(Bounds::EMPTY, |bounds, item| match &item.figure {
            CutFigure::Ring(ring) => bounds.union(ring.bounds()),
            CutFigure::Line(line) => bounds.union(line.bounds()),
            CutFigure::Text { .. } => bounds,
        })
    }

    /// How long the lines of a layer are, mm.
    #[must_use]
    pub fn length_on(&self, layer: CutLayer) -> f64 {
        let on = self.items.iter().filter(|item| item.layer == layer);
        on.map(|item| match &item.figure {
            CutFigure::Ring(ring) => ring.perimeter(),
            CutFigure::Line(line) => line.length(),
            CutFigure::Text { .. } => 0.0,
        })
        .sum()
    }

    fn push(&mut self, layer: CutLayer, figure: CutFigure, depth: usize, part: Option<usize>) {
        self.items.push(CutItem { layer, figure, depth, part });
    }

    fn parts(&mut self, placed: Vec<Placed<'_>>) {
        let depths = depths(&placed);
        let mut order: Vec<usize> = (0..placed.len()).collect();
        // Stable: parts side by side keep the order of the plan.
        order.sort_by_key(|&index| std::cmp::Reverse(depths[index]));
        self.names.extend(placed.iter().map(|part| part.name.to_owned()));
        for layer in [CutLayer::Mark, CutLayer::BendUp, CutLayer::BendDown] {
            for &index in &order {
                let scribe = &placed[index].scribe;
                let lines = match layer {
                    CutLayer::BendUp => &scribe.bends_up,
                    CutLayer::BendDown => &scribe.bends_down,
                    _ => &scribe.marks,
                };
                for &line in lines {
                    self.push(layer, CutFigure::Line(line), depths[index], Some(index));
                }
            }
        }
        for &index in &order {
            for hole in placed[index].shape.holes() {
                self.push(CutLayer::CutInner, CutFigure::Ring(hole.clone()), depths[index], Some(index));
            }
            let outline = placed[index].shape.exterior().clone();
            self.push(CutLayer::Cut, CutFigure::Ring(outline), depths[index], Some(index));
        }
        for &index in &order {
            let part = &placed[index];
            let Some(room) = part.label else { continue };
            let letters = part.name.chars().count().max(1) as f64;
            let height = (2.0 * room.radius / (letters * WIDTH_OF_A_LETTER)).clamp(SMALLEST_TEXT, LARGEST_TEXT);
            let text = CutFigure::Text { at: room.center, height, text: part.name.to_owned() };
            self.push(CutLayer::PartText, text, depths[index], Some(index));
        }
    }

    fn checked(self) -> Result<Self, CutDrawingError> {
        let is_far = |point: Point| !(point.x.abs() <= FARTHEST && point.y.abs() <= FARTHEST);
        let is_bad = |item: &&CutItem| match &item.figure {
            CutFigure::Ring(ring) => {
                ring.vertices().iter().any(|vertex| is_far(vertex.point) || !vertex.bulge.is_finite())
            }
            CutFigure::Line(line) => {
                let is_bent_out_of_shape = matches!(line, Segment::Arc { arc, .. } if !arc.sweep.is_finite());
                is_far(line.start()) || is_far(line.end()) || is_bent_out_of_shape
            }
            CutFigure::Text { .. } => false,
        };
        match self.items.iter().find(is_bad) {
            None => Ok(self),
            Some(item) => Err(CutDrawingError::BadCoordinate {
                subject: item
                    .part
                    .map_or_else(|| "the sheet".to_owned(), |part| format!("part `{}`", self.names[part])),
            }),
        }
    }
}

/// Letters of the fonts that viewers fall back to are about this wide, as a share of their height.
const WIDTH_OF_A_LETTER: f64 = 0.7;
/// Names are no smaller than this, mm, even where they stick out: they are not cut.
const SMALLEST_TEXT: f64 = 1.0;
const LARGEST_TEXT: f64 = 12.0;

struct Placed<'a> {
    name: &'a str,
    shape: Shape,
    scribe: ScribeLines,
    label: Option<Circle>,
}

/// The largest round spot on a part: its name goes there, which also ties the name to the part for a reader.
fn room_for_a_name(shape: &Shape) -> Option<Circle> {
    let coarse = (shape.bounds().diagonal() / 500.0).max(0.01);
    let flat: Polygon = shape.flatten(coarse, Side::Shrink);
    largest_circle(&flat, coarse)
}

/// In how many holes of other parts each part lies.
fn depths(placed: &[Placed<'_>]) -> Vec<usize> {
    let boxes: Vec<Bounds> = placed.iter().map(|part| part.shape.bounds()).collect();
    let is_around = |outer: usize, inner: usize| {
        let point = placed[inner].label.map_or_else(|| boxes[inner].center(), |label| label.center);
        outer != inner
            && boxes[outer].contains(boxes[inner].min)
            && boxes[outer].contains(boxes[inner].max)
            && placed[outer].shape.holes().iter().any(|hole| hole.contains(point))
    };
    (0..placed.len()).map(|inner| (0..placed.len()).filter(|&outer| is_around(outer, inner)).count()).collect()
}
