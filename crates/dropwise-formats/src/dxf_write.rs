//! Writing DXF, the drawing interchange format, for machines that cut.
//!
//! # Which version, and why
//! R2000, `AC1015`. R12 is older still and as widely read, but its header has no field for units and it knows no
//! LWPOLYLINE, so every outline would become a POLYLINE with a VERTEX and a SEQEND around each corner, and the machine
//! would have to guess between inches and millimetres. R2007 and later add nothing that a flat part needs, and older
//! controllers refuse them. R2000 asks for handles, tables, blocks and objects, which are all written here.
//!
//! # What is written
//! LWPOLYLINE, closed, with bulges for arcs; CIRCLE for full circles; LINE and ARC for bend lines and marks; TEXT for
//! names. Layers and order are those of [`crate::cut_drawing`]. `$INSUNITS` and `$MEASUREMENT` name the unit. Coordinates
//! have nine decimals, a millionth of a micrometre in millimetres; numbers never have exponents, which some controllers
//! misread. The file is plain ASCII.
//!
//! The path is the true edge of the part: the machine, or the program that posts to it, offsets for kerf. A comment at
//! the head of the file (group 999) says so.
//!
//! # Source
//! Autodesk, "DXF Reference", 2000: group codes by section. From memory, and checked by the audit of a general DXF
//! library (`tests/dxf_written.rs`).

mod skeleton;
mod text;

use std::fmt::Write;

use dropwise_geometry::{Outline, Point, Segment, Unit};
use dropwise_shop::markout::full_circle;

use crate::cut_drawing::{CutDrawing, CutFigure, CutLayer};

pub(crate) use text::plain;

/// The unit of a DXF file that is written. Machines hold one of these two.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DxfUnit {
    /// Millimetres.
    #[default]
    Millimetre,
    /// Inches.
    Inch,
}

impl DxfUnit {
    /// What stands for a unit of the job in a file: inches for inches and feet, millimetres for the rest.
    #[must_use]
    pub const fn beside(unit: Unit) -> Self {
        if unit.is_metric() { Self::Millimetre } else { Self::Inch }
    }

    const fn millimetres(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Inch => 25.4,
        }
    }

    /// Value of `$INSUNITS`.
    const fn code(self) -> i32 {
        match self {
            Self::Millimetre => 4,
            Self::Inch => 1,
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "millimetres",
            Self::Inch => "inches",
        }
    }
}

/// Rings whose arcs agree on a circle to within this, mm, are written as CIRCLE.
const SAME_CIRCLE: f64 = 1e-8;

/// A drawing as the text of a DXF file, lines ending in CR LF as the format's home has them.
///
/// The same drawing gives the same text, byte for byte.
///
/// # Examples
/// ```
/// use dropwise_formats::cut_drawing::CutDrawing;
/// use dropwise_formats::{drawing::DrawingOptions, dxf::read_dxf, dxf_write::{DxfUnit, write_dxf}};
/// use dropwise_geometry::{Outline, Point, Shape};
/// use dropwise_model::{Need, Part, StockClass, Turns};
/// let shape = Shape::new(Outline::rectangle(Point::ORIGIN, 40.0, 20.0), vec![Outline::circle(Point::new(9.0, 9.0), 4.0)]);
/// let (class, turns) = (StockClass::new("steel"), Turns::Any);
/// let part = Part { name: "strap".into(), shape, quantity: 1, class, turns, may_flip: false, need: Need::Required };
/// let file = write_dxf(&CutDrawing::of_part(&part, &Default::default())?, DxfUnit::Millimetre);
/// let back = read_dxf(file.as_bytes(), &DrawingOptions::for_file("strap.dxf"))?;
/// assert_eq!(back.shapes[0].shape.exterior(), part.shape.exterior());
/// assert_eq!(back.shapes[0].labels, ["strap"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn write_dxf(drawing: &CutDrawing, unit: DxfUnit) -> String {
    let mut writer = Writer { text: String::new(), next_handle: 1, scale: 1.0 / unit.millimetres() };
    skeleton::head(&mut writer, drawing, unit);
    let owner = skeleton::MODEL_SPACE;
    writer.name(0, "SECTION");
    writer.name(2, "ENTITIES");
    for item in &drawing.items {
        match &item.figure {
            CutFigure::Ring(ring) => writer.ring(ring, item.layer, owner),
            CutFigure::Line(line) => writer.line(line, item.layer, owner),
            CutFigure::Text { at, height, text } => writer.words(*at, *height, text, item.layer, owner),
        }
    }
    writer.name(0, "ENDSEC");
    skeleton::tail(&mut writer);
    // The handle seed stands in the header but is known only now.
    let seed = format!("{:X}", writer.next_handle);
    writer.text.replacen(skeleton::SEED_TO_COME, &seed, 1)
}

/// Pairs of a group code and a value.
struct Writer {
    text: String,
    next_handle: u32,
    /// File units to a millimetre.
    scale: f64,
}

impl Writer {
    fn name(&mut self, code: i32, value: &str) {
        // Writing to a string cannot fail.
        let _ = write!(self.text, "{code:>3}\r\n{value}\r\n");
    }

    fn whole(&mut self, code: i32, value: i64) {
        self.name(code, &value.to_string());
    }

    fn real(&mut self, code: i32, value: f64) {
        let text = decimal(value, 9);
        self.name(code, &text);
    }

    fn handle(&mut self, code: i32, handle: u32) {
        let text = format!("{handle:X}");
        self.name(code, &text);
    }

    /// A handle nobody has yet.
    fn fresh(&mut self) -> u32 {
        self.next_handle += 1;
        self.next_handle - 1
    }

    fn length(&mut self, code: i32, millimetres: f64) {
        // Inches take one digit more for the same fineness.
        let text = decimal(millimetres * self.scale, if self.scale == 1.0 { 9 } else { 11 });
        self.name(code, &text);
    }

    /// A point in file units; flat drawings have z = 0.
    fn point(&mut self, code: i32, at: Point, has_z: bool) {
        self.length(code, at.x);
        self.length(code + 10, at.y);
        if has_z {
            self.real(code + 20, 0.0);
        }
    }

    fn entity(&mut self, kind: &str, layer: CutLayer, owner: u32, subclass: &str) {
        let handle = self.fresh();
        self.name(0, kind);
        self.handle(5, handle);
        self.handle(330, owner);
        self.name(100, "AcDbEntity");
        self.name(8, layer.name());
        self.name(100, subclass);
    }

    fn ring(&mut self, ring: &Outline, layer: CutLayer, owner: u32) {
        if let Some(circle) = full_circle(ring, SAME_CIRCLE) {
            self.entity("CIRCLE", layer, owner, "AcDbCircle");
            self.point(10, circle.center, true);
            self.length(40, circle.radius);
            return;
        }
        self.entity("LWPOLYLINE", layer, owner, "AcDbPolyline");
        self.whole(90, ring.vertices().len() as i64);
        self.whole(70, 1); // closed
        self.real(43, 0.0); // of no width
        for vertex in ring.vertices() {
            self.point(10, vertex.point, false);
            if vertex.bulge != 0.0 {
                // In full: on a large arc the ninth decimal of a bulge shows.
                let bulge = decimal(vertex.bulge, 17);
                self.name(42, &bulge);
            }
        }
    }

    fn line(&mut self, line: &Segment, layer: CutLayer, owner: u32) {
        match line {
            Segment::Line { start, end } => {
                self.entity("LINE", layer, owner, "AcDbLine");
                self.point(10, *start, true);
                self.point(11, *end, true);
            }
            Segment::Arc { arc, .. } => {
                self.entity("ARC", layer, owner, "AcDbCircle");
                self.point(10, arc.center, true);
                self.length(40, arc.radius);
                self.name(100, "AcDbArc");
                // An ARC always runs counter-clockwise.
                let (start, end) = (arc.start_angle, arc.start_angle + arc.sweep);
                let (from, to) = if arc.sweep < 0.0 { (end, start) } else { (start, end) };
                for (code, angle) in [(50, from), (51, to)] {
                    let text = decimal(angle.to_degrees().rem_euclid(360.0), 13);
                    self.name(code, &text);
                }
            }
        }
    }

    fn words(&mut self, at: Point, height: f64, text: &str, layer: CutLayer, owner: u32) {
        let text = text::plain(text, text::LONGEST);
        if text.is_empty() {
            return;
        }
        self.entity("TEXT", layer, owner, "AcDbText");
        self.point(10, at, true);
        self.length(40, height);
        self.name(1, &text);
        self.whole(72, 1); // centred
        self.point(11, at, true);
        self.name(100, "AcDbText");
        self.whole(73, 2); // at half its height
    }
}

/// A number with at most so many decimals, at least one, and no exponent.
fn decimal(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    let kept = text.trim_end_matches('0').len();
    text.truncate(kept);
    if text.ends_with('.') {
        text.push('0');
    }
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_plain_decimals() {
        for (value, decimals, expected) in [
            (0.0, 9, "0.0"),
            (-0.0, 9, "0.0"),
            (-4e-10, 9, "0.0"),
            (12.0, 9, "12.0"),
            (-12.5, 9, "-12.5"),
            (1e-7, 9, "0.0000001"),
            (1e7, 9, "10000000.0"),
            (1.0 / 3.0, 9, "0.333333333"),
        ] {
            assert_eq!(decimal(value, decimals), expected);
        }
    }

    #[test]
    fn feet_are_drawn_in_inches() {
        assert_eq!(
            [Unit::Foot, Unit::Inch, Unit::Metre].map(DxfUnit::beside),
            [DxfUnit::Inch, DxfUnit::Inch, DxfUnit::Millimetre]
        );
    }
}
