//! Reading DXF, the drawing interchange format.
//!
//! # What is read
//! LINE, ARC, CIRCLE, ELLIPSE, LWPOLYLINE and POLYLINE with bulges, SPLINE, and INSERT with scale, rotation, arrays and
//! nesting, from model space, on layers that are switched on; text or binary, from R12 to 2018, in one flat plane seen
//! from above or (extrusion 0, 0, -1) from below. Texts name the part they lie on. Everything else is counted in a note.
//!
//! # Why an own reader
//! A DXF file is nothing but pairs of a group code and a value, each on its line, and that is all this reader relies on.
//! The general `dxf` crate (0.6) was weighed against it. Its parse errors do name a line, but the entities it returns no
//! longer know where they stood, so a note such as "open contour, line 212" could not be written; it builds every object
//! of a drawing database, and brings an image library along. Whether it withstands hostile input was not measured: the
//! lost places alone decided.
//!
//! # Limits
//! [`crate::drawing::DrawingLimits`]: bytes of the file, entities (as often as INSERT repeats them), depth of blocks in
//! blocks, and lines and arcs after curves are replaced. Time and memory grow no faster than these.
//!
//! # Source
//! Autodesk, "DXF Reference", 2018: group codes, the arbitrary axis algorithm, $INSUNITS, binary form. From memory, and
//! checked against files written by a general DXF library (`tests/reference_dxf.rs`).

mod entities;
mod error;
mod expand;
mod groups;
mod spline;
mod structure;

pub use error::DxfError;
pub(crate) use error::list;

use crate::curves::Affine;
use crate::drawing::{Drawing, DrawingOptions, NoteKind, Severity, Sketch};

/// Reads the parts of a DXF file, text or binary.
///
/// Coordinates of the result are millimetres, as they stand in the file: nothing is moved to the origin.
///
/// # Errors
/// What is wrong with the file, with the line and what would be right. Faults of the drawn loops come all at once, in
/// [`DxfError::Faulty`].
///
/// # Examples
/// ```
/// use dropwise_formats::{drawing::DrawingOptions, dxf::read_dxf};
/// let file = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nCUT\n10\n30\n20\n40\n40\n5\n0\nENDSEC\n0\nEOF\n";
/// let drawing = read_dxf(file.as_bytes(), &DrawingOptions::for_file("washer.dxf"))?;
/// assert!((drawing.shapes[0].shape.area() - 25.0 * std::f64::consts::PI).abs() < 1e-9);
/// # Ok::<(), dropwise_formats::dxf::DxfError>(())
/// ```
pub fn read_dxf(bytes: &[u8], options: &DrawingOptions) -> Result<Drawing, DxfError> {
    options.check()?;
    let file = options.file.as_str();
    if bytes.len() > options.limits.file_bytes {
        let (bytes, limit) = (bytes.len(), options.limits.file_bytes);
        return Err(DxfError::TooLarge { file: file.to_owned(), bytes, limit });
    }
    let contents = structure::read(bytes, options)?;
    let mut sketch = Sketch::new(options);
    let factor = millimetres(&contents.header, &mut sketch, options)?;
    expand::expand(&contents, &Affine::scale(factor, factor), &mut sketch, options)?;
    let drawing = sketch.finish(options).map_err(|notes| DxfError::Faulty { file: file.to_owned(), notes })?;
    if drawing.shapes.is_empty() {
        return Err(DxfError::NothingToCut { file: file.to_owned(), notes: drawing.notes });
    }
    Ok(drawing)
}

/// Names and millimetres of $INSUNITS. Those that no metal is drawn in, such as light years, are left out.
const UNITS: [(i64, &str, f64); 12] = [
    (1, "inches", 25.4),
    (2, "feet", 304.8),
    (4, "millimetres", 1.0),
    (5, "centimetres", 10.0),
    (6, "metres", 1000.0),
    (8, "microinches", 25.4e-6),
    (9, "mils", 25.4e-3),
    (10, "yards", 914.4),
    (12, "ångströms", 1e-7),
    (13, "micrometres", 1e-3),
    (14, "decimetres", 100.0),
    // The foot of United States surveys, 1200/3937 m.
    (21, "US survey feet", 1_200_000.0 / 3937.0),
];

fn millimetres(header: &structure::Header, sketch: &mut Sketch, options: &DrawingOptions) -> Result<f64, DxfError> {
    let known = header.units.and_then(|(value, _)| UNITS.iter().find(|unit| unit.0 == value));
    if let Some(told) = options.unit {
        if let Some(&(_, file, factor)) = known
            && factor != told.millimetres()
        {
            sketch.note(Severity::Warning, NoteKind::UnitOverridden { told, file });
        }
        return Ok(told.millimetres());
    }
    match (header.units, known) {
        (_, Some(&(_, _, factor))) => Ok(factor),
        (Some((value, spot)), None) if value != 0 => {
            Err(DxfError::UnknownUnit { file: options.file.clone(), spot, value })
        }
        _ => {
            let unit = options.default_unit;
            let hint = match header.measurement {
                Some(0) if unit.millimetres() != 25.4 => Some("inches"),
                Some(1) if unit.millimetres() != 1.0 => Some("millimetres"),
                _ => None,
            };
            sketch.note(Severity::Warning, NoteKind::UnitAssumed { unit: unit.symbol(), hint });
            Ok(unit.millimetres())
        }
    }
}

#[cfg(test)]
mod tests;
