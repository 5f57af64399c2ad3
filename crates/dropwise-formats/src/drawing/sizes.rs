//! What a drawing's numbers mean: units, and sizes that make them doubtful.

use std::fmt;
use std::str::FromStr;

use dropwise_geometry::{Bounds, Unit};

use super::notes::{Doubt, SizeInUnit};
use super::sketch::Sketch;
use super::{Drawing, DrawingOptions, DrawnShape, LayerUse, NoteKind, Severity};

/// The length of 1 in a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawingUnit {
    millimetres: f64,
    name: String,
}

impl DrawingUnit {
    /// A unit of so many millimetres, with the name that messages give it.
    #[must_use]
    pub fn new(millimetres: f64, name: &str) -> Self {
        Self { millimetres, name: name.to_owned() }
    }

    /// Its length in mm.
    #[must_use]
    pub fn millimetres(&self) -> f64 {
        self.millimetres
    }
}

impl From<Unit> for DrawingUnit {
    fn from(unit: Unit) -> Self {
        Self { millimetres: unit.millimetres(), name: unit.symbol().to_owned() }
    }
}

impl fmt::Display for DrawingUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

/// What a text must be to be a [`DrawingUnit`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("write mm, cm, m, in, ft, pt (1/72 in), px (1/96 in), or a fraction of an inch, such as \"1/90 in\"")]
pub struct NoDrawingUnit;

impl FromStr for DrawingUnit {
    type Err = NoDrawingUnit;

    /// A unit of length, `pt`, `px`, or one part of an inch as `1/90 in`.
    fn from_str(text: &str) -> Result<Self, NoDrawingUnit> {
        let text = text.trim();
        if let Ok(unit) = text.parse::<Unit>() {
            return Ok(unit.into());
        }
        let per_inch = match text.to_lowercase().as_str() {
            "pt" => 72.0,
            "px" => 96.0,
            _ => {
                let rest = text.strip_prefix('1').map(str::trim_start).and_then(|rest| rest.strip_prefix('/'));
                let digits = rest.and_then(|rest| rest.trim().strip_suffix("in")).ok_or(NoDrawingUnit)?;
                digits.trim().parse::<f64>().map_err(|_| NoDrawingUnit)?
            }
        };
        if (1.0..=100_000.0).contains(&per_inch) {
            Ok(Self { millimetres: 25.4 / per_inch, name: text.to_owned() })
        } else {
            Err(NoDrawingUnit)
        }
    }
}

/// Where the size of a drawing comes from.
#[derive(Clone, Debug)]
pub(crate) enum UnitSource {
    /// The caller says so.
    Told,
    /// The file does.
    Named(&'static str),
    /// Nobody does.
    Assumed { unit: &'static str, hint: Option<&'static str> },
    /// The program that wrote the file counts so many pixels in an inch.
    Program { per_inch: u32, program: &'static str },
}

/// What the numbers of a file were taken for, and what else they might be.
#[derive(Clone, Debug)]
pub(crate) struct Reading {
    pub(crate) source: UnitSource,
    /// Millimetres of 1 in the drawing.
    pub(crate) millimetres: f64,
    /// What else 1 might be: name and millimetres.
    pub(crate) others: &'static [(&'static str, f64)],
    /// What another setting of the file says against the unit.
    pub(crate) against: Option<&'static str>,
}

impl Sketch {
    /// The box around all lines that are cut, mm; `None` without any.
    pub(crate) fn cut_bounds(&self) -> Option<Bounds> {
        let cut = self.strokes.iter().filter(|stroke| stroke.line_use == LayerUse::Cut);
        let boxes = cut.flat_map(|stroke| &self.pieces[stroke.pieces.clone()]).map(|piece| piece.segment().bounds());
        boxes.reduce(Bounds::union)
    }

    /// Says how large the drawing is where that may be wrong.
    pub(super) fn note_size(&mut self, shapes: &[DrawnShape], options: &DrawingOptions) {
        let Some(reading) = self.reading.clone() else { return };
        let Some(all) = shapes.iter().map(|drawn| drawn.shape.bounds()).reduce(Bounds::union) else { return };
        let size = [all.width(), all.height()];
        let doubt = doubt(shapes, options).or_else(|| reading.against.map(Doubt::System));
        let is_other = |&&(_, other): &&(&str, f64)| (other / reading.millimetres - 1.0).abs() > 1e-9;
        let others: Vec<SizeInUnit> = reading
            .others
            .iter()
            .filter(is_other)
            .map(|&(name, other)| (name, size.map(|side| side * other / reading.millimetres)))
            .filter(|(_, of)| {
                let longer = of[0].max(of[1]);
                // With a doubt, only what a part may be; without, what comes first to mind.
                (options.suspiciously_small..=options.suspiciously_large).contains(&longer)
            })
            .take(2)
            .collect();
        let (severity, kind) = match (reading.source, doubt) {
            (UnitSource::Assumed { unit, hint }, doubt) => {
                (Severity::Warning, NoteKind::UnitAssumed { unit, hint, size, others, doubt })
            }
            (UnitSource::Named(unit), Some(doubt)) => {
                (Severity::Warning, NoteKind::UnitDoubtful { unit, size, others, doubt })
            }
            (UnitSource::Program { per_inch, program }, _) => {
                (Severity::Warning, NoteKind::Resolution { per_inch, program, size, others })
            }
            (UnitSource::Told | UnitSource::Named(_), _) => return,
        };
        self.note(severity, kind);
    }
}

/// Reads a drawing whose true width is known. `read` draws it at so many millimetres for 1; `finish` makes parts of it.
pub(crate) fn at_true_width<E>(
    width: f64,
    options: &DrawingOptions,
    read: impl Fn(f64, &DrawingOptions) -> Result<(Option<Bounds>, Sketch), E>,
    finish: impl Fn(Sketch) -> Result<Drawing, E>,
) -> Result<Drawing, E> {
    // As the file has it first, so as to see how wide it is.
    let (bounds, sketch) = read(1.0, options)?;
    let Some(drawn) = bounds.map(|bounds| bounds.width()).filter(|&drawn| drawn > 0.0) else { return finish(sketch) };
    let mut factor = width / drawn;
    // Frames that are left out make it narrower than its lines.
    for _ in 0..3 {
        let drawing = finish(read(factor, options)?.1)?;
        let all = drawing.shapes.iter().map(|drawn| drawn.shape.bounds()).reduce(Bounds::union);
        let found = all.map_or(width, |all| all.width());
        if (found / width - 1.0).abs() < 1e-6 {
            return Ok(drawing);
        }
        factor *= width / found;
    }
    finish(read(factor, options)?.1)
}

fn doubt(shapes: &[DrawnShape], options: &DrawingOptions) -> Option<Doubt> {
    let longer = |bounds: Bounds| bounds.width().max(bounds.height());
    let largest = shapes.iter().map(|drawn| longer(drawn.shape.bounds())).fold(0.0, f64::max);
    if largest > options.suspiciously_large {
        return Some(Doubt::Large);
    }
    if largest < options.suspiciously_small {
        return Some(Doubt::Small);
    }
    let thickness = options.thickness?;
    let holes = || shapes.iter().flat_map(|drawn| drawn.shape.holes()).map(|hole| longer(hole.bounds()));
    let (least, most) =
        holes().fold((f64::INFINITY, 0.0_f64), |(least, most), width| (least.min(width), most.max(width)));
    // One small hole is a small hole; all of them, or one far too small, are a wrong unit.
    if most > 0.0 && most < thickness {
        Some(Doubt::Hole { width: most, thickness })
    } else if least < thickness / 2.0 {
        Some(Doubt::Hole { width: least, thickness })
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_pictures_are_parts_of_an_inch() {
        let length = |text: &str| text.parse::<DrawingUnit>().map(|unit| unit.millimetres());
        assert_eq!(length("mm"), Ok(1.0));
        assert_eq!(length("in"), Ok(25.4));
        assert_eq!(length("pt"), Ok(25.4 / 72.0));
        assert_eq!(length("px"), Ok(25.4 / 96.0));
        assert_eq!(length("1/90 in"), Ok(25.4 / 90.0));
        assert_eq!(length("1 / 72 in"), Ok(25.4 / 72.0));
        for wrong in ["", "dots", "1/0 in", "2/90 in", "1/-4 in", "1/90", "1/nan in", "1/1e9 in"] {
            assert_eq!(length(wrong), Err(NoDrawingUnit), "{wrong}");
        }
    }
}
