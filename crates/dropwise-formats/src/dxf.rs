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
pub(crate) use error::{in_line, list};

use crate::curves::Affine;
use crate::drawing::at_true_width;
use crate::drawing::{Drawing, DrawingOptions, NoteKind, Reading, Severity, Sketch, UnitSource};

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
    let Some(width) = options.true_width else {
        let (factor, reading, note) = millimetres(&contents.header, options)?;
        let mut sketch = Sketch::new(options);
        sketch.reading = Some(reading);
        if let Some(note) = note {
            sketch.note(Severity::Warning, note);
        }
        return assembled(&contents, factor, sketch, options);
    };
    at_true_width(
        width,
        options,
        |factor, options| {
            let mut sketch = Sketch::new(options);
            expand::expand(&contents, &Affine::scale(factor, factor), &mut sketch, options)?;
            Ok((sketch.cut_bounds(), sketch))
        },
        |sketch| finished(sketch, options),
    )
}

fn assembled(
    contents: &structure::Contents,
    factor: f64,
    mut sketch: Sketch,
    options: &DrawingOptions,
) -> Result<Drawing, DxfError> {
    expand::expand(contents, &Affine::scale(factor, factor), &mut sketch, options)?;
    finished(sketch, options)
}

fn finished(sketch: Sketch, options: &DrawingOptions) -> Result<Drawing, DxfError> {
    let file = options.file.clone();
    let drawing = sketch.finish(options).map_err(|refusal| DxfError::Faulty {
        file: file.clone(),
        notes: refusal.notes,
        understood: Box::new(refusal.understood),
    })?;
    if drawing.shapes.is_empty() {
        let notes = drawing.notes.clone();
        return Err(DxfError::NothingToCut { file, notes, understood: Box::new(drawing) });
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

/// What else a drawing's unit may be.
const OTHER_UNITS: &[(&str, f64)] =
    &[("inches", 25.4), ("millimetres", 1.0), ("metres", 1000.0), ("centimetres", 10.0)];

/// Millimetres of 1, where that comes from, and a note if the caller's unit is not the file's.
fn millimetres(
    header: &structure::Header,
    options: &DrawingOptions,
) -> Result<(f64, Reading, Option<NoteKind>), DxfError> {
    let known = header.units.and_then(|(value, _)| UNITS.iter().find(|unit| unit.0 == value));
    let reading = |millimetres, source, against| Reading { source, millimetres, others: OTHER_UNITS, against };
    if let Some(told) = &options.unit {
        let note = known
            .filter(|(_, _, factor)| *factor != told.millimetres())
            .map(|&(_, file, _)| NoteKind::UnitOverridden { told: told.to_string(), file });
        return Ok((told.millimetres(), reading(told.millimetres(), UnitSource::Told, None), note));
    }
    match (header.units, known) {
        (_, Some(&(_, name, factor))) => {
            // The setting says which hatch patterns to use, but programs set both together.
            let is_inches = factor == 25.4;
            let against = match header.measurement {
                Some(1) if is_inches => Some("metric measurement"),
                _ => None,
            };
            Ok((factor, reading(factor, UnitSource::Named(name), against), None))
        }
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
            let source = UnitSource::Assumed { unit: unit.symbol(), hint };
            Ok((unit.millimetres(), reading(unit.millimetres(), source, None), None))
        }
    }
}

#[cfg(test)]
mod tests;
