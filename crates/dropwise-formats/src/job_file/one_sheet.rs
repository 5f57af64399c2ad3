//! A piece described with the keys of a sheet in a job file, but by itself: on a command line, or asked for.

use std::path::Path;

use dropwise_geometry::{Outline, Shape, Unit};

use super::build;
use super::error::{JobFileError, Note, Place};
use super::tree::Document;
use super::types::SheetKeys;
use super::{job_schema, structure};

/// A piece that was described.
#[derive(Clone, Debug, PartialEq)]
pub struct DescribedPiece {
    /// Its outlines, less the openings in them: more than one when a drawing holds several and none was chosen.
    pub shapes: Vec<Shape>,
    /// Zones to stay out of, for each of the outlines.
    pub damage: Vec<Vec<Outline>>,
    /// What to tell, warnings first.
    pub notes: Vec<Note>,
}

/// Outlines and damaged zones of a piece. Material, thickness, price and the like are not looked at.
///
/// `unit` is that of bare numbers; drawings are looked for in `folder`. Places of faults and notes that lie in no file of
/// their own name the key alone, such as `rectangle.width`.
///
/// # Errors
/// Every fault that can be told apart from the others, as for a sheet of a job file.
///
/// # Examples
/// ```
/// use std::path::Path;
/// use dropwise_formats::describe_piece;
/// use dropwise_geometry::Unit;
/// let keys = serde_json::json!({"name": "drop", "rectangle": {"width": "20 1/2 in", "height": 300}});
/// let keys = serde_json::from_value(keys)?;
/// let piece = describe_piece(&keys, Unit::Millimetre, Path::new("")).unwrap();
/// assert!((piece.shapes[0].bounds().width() - 520.7).abs() < 1e-9);
/// # Ok::<(), serde_json::Error>(())
/// ```
pub fn describe_piece(keys: &SheetKeys, unit: Unit, folder: &Path) -> Result<DescribedPiece, Vec<JobFileError>> {
    let sheet = serde_json::to_value(keys).map(without_nulls).unwrap_or_default();
    // Written out as a file, so that the checks of job files hold for it too.
    let file = folder.join(FILE);
    let document = Document::parse(&file, &serde_json::json!({ "sheets": [sheet] }).to_string())?;
    let mut errors = structure::check(&document, job_schema());
    // The rest of a job is not there, and is not missed.
    errors.retain(|error| error.place.key.starts_with("sheets["));
    let described = if errors.is_empty() { build::describe(&document, keys, unit) } else { Err(errors) };
    match described {
        Ok(mut piece) => {
            piece.notes.iter_mut().for_each(|note| shorten(&mut note.place, &file));
            piece.notes.sort_by_key(|note| std::cmp::Reverse(note.severity));
            Ok(piece)
        }
        Err(mut errors) => {
            errors.iter_mut().for_each(|error| shorten(&mut error.place, &file));
            Err(errors)
        }
    }
}

/// A name that no file has, as it is never opened.
const FILE: &str = "the piece.json";

/// Takes the file that does not exist, and the way to the only sheet in it, off a place.
fn shorten(place: &mut Place, file: &Path) {
    if place.file == file {
        let key = place.key.split_once("\": ").map_or("", |(_, key)| key);
        *place = Place { key: key.to_owned(), ..Place::default() };
    }
}

/// Keys that are not given are null when the types are written.
fn without_nulls(value: serde_json::Value) -> serde_json::Value {
    use serde_json::Value;
    match value {
        Value::Object(map) => {
            let kept = map.into_iter().filter(|(_, value)| !value.is_null());
            Value::Object(kept.map(|(key, value)| (key, without_nulls(value))).collect())
        }
        Value::Array(values) => values.into_iter().map(without_nulls).collect(),
        value => value,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn described(sheet: serde_json::Value) -> Result<DescribedPiece, Vec<String>> {
        let mut sheet = sheet;
        sheet["name"] = "piece".into();
        let keys = serde_json::from_value(sheet).unwrap();
        let piece = describe_piece(&keys, Unit::Inch, Path::new("folder"));
        piece.map_err(|errors| errors.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn a_tape_measurement_makes_an_outline_and_a_note() {
        let tape = serde_json::json!({"tape": {
            "sides": [30, 40, 30, 40], "diagonals": [{"from": 1, "to": 3, "length": 50}, {"from": 2, "to": 4, "length": 50}],
        }, "damage": [{"diameter": 2, "at": [3, 4]}]});
        let piece = described(tape).unwrap();
        assert!((piece.shapes[0].area() - 1200.0 * 25.4 * 25.4).abs() < 1e-3);
        assert_eq!(piece.damage[0].len(), 1);
        assert!(piece.notes[0].text.starts_with("the tape closes"), "{:?}", piece.notes);
    }

    #[test]
    fn faults_name_the_key_and_no_file() {
        for (sheet, expected) in [
            (serde_json::json!({}), ": says nothing of the form"),
            (serde_json::json!({"rectangle": {"width": 0, "height": 4}}), ": rectangle.width: is 0 in"),
            (serde_json::json!({"rectangle": {"width": "4 ells", "height": 4}}), ": rectangle.width: \"4 ells\""),
            (serde_json::json!({"tape": {"sides": [3, 4]}}), ": tape.sides: "),
            (
                serde_json::json!({"tape": {"sides": [3, 4, 5], "diagonals": [{"from": 0, "to": 3, "length": 2}]}}),
                ": tape.diagonals[1].from: ",
            ),
            (serde_json::json!({"drawing": {"file": "missing.dxf"}}), ": drawing.file: \"missing.dxf\""),
        ] {
            let errors = described(sheet.clone()).unwrap_err();
            assert!(errors[0].starts_with(expected), "{sheet}: {errors:?}");
        }
    }
}
