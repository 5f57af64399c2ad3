//! How pictures look.

use dropwise_geometry::Unit;
use dropwise_shop::markout::Grid;

use crate::details::{BendLine, LengthStyle};

/// What may be chosen about a picture.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawingStyle {
    /// Unit of dimensions and scale bar: the job's own.
    pub unit: Unit,
    /// Width of the picture on paper, mm. Text and lines keep their size on paper whatever the size of the sheet.
    /// Taken as 120 when less, and as 2000 when more.
    pub paper_width: f64,
    /// Put before every name inside the picture. Pictures that share a page, as in HTML, need different ones. Letters,
    /// digits and hyphens; anything else is left out.
    pub id_prefix: String,
    /// Bends of the job's parts, drawn as lines.
    pub bends: Vec<BendLine>,
}

impl Default for DrawingStyle {
    /// Millimetres, on A4 across with 10 mm to spare at the sides.
    fn default() -> Self {
        Self { unit: Unit::Millimetre, paper_width: 277.0, id_prefix: String::new(), bends: Vec::new() }
    }
}

impl DrawingStyle {
    /// Lengths as a tape shows them: as on all pages that are measured from.
    pub(crate) fn lengths(&self) -> LengthStyle {
        LengthStyle::tape(Grid::beside(self.unit))
    }

    /// A length with its unit.
    pub(crate) fn length(&self, mm: f64) -> String {
        self.lengths().with_unit(mm)
    }

    /// The width on paper, kept within reason.
    pub(crate) fn usable_paper_width(&self) -> f64 {
        if self.paper_width.is_nan() { 120.0 } else { self.paper_width.clamp(120.0, 2000.0) }
    }
}
