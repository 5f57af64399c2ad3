//! Drawings written by a general DXF library (ezdxf, for Python) in several versions of the format, read here and
//! compared with what that library measures on its own flattened paths, or with closed forms.

use std::process::Command;

use dropwise_formats::drawing::{DrawingOptions, DrawnShape, NoteKind};
use dropwise_formats::dxf::read_dxf;
use dropwise_geometry::Unit;
use serde_json::Value;

/// The library flattens within 1e-4 of a drawing unit (2.5 µm in inches); curves are read within 0.01 mm.
const CURVE: f64 = 0.013;
/// What ten digits of a file and the arithmetic after it leave of a length.
const EXACT: f64 = 1e-6;

/// Why the check cannot run: `python3` or the library is missing.
fn missing_tool() -> Option<String> {
    match Command::new("python3").args(["-c", "import ezdxf"]).output() {
        Ok(output) if output.status.success() => None,
        Ok(output) => Some(String::from_utf8_lossy(&output.stderr).into_owned()),
        Err(error) => Some(format!("python3: {error}")),
    }
}

#[test]
fn every_version_and_entity_measures_as_the_library_says() {
    if let Some(reason) = missing_tool() {
        assert!(
            std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_none_or(|value| value != "1"),
            "the reference library is required here: {reason}"
        );
        #[expect(clippy::print_stderr, reason = "a skipped check must be seen")]
        {
            eprintln!("SKIPPED: comparison with ezdxf, as python3 or ezdxf is missing: {reason}");
        }
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference_dxf.py");
    let output = Command::new("python3").arg(script).arg(folder.path()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let files: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(files.len(), 20, "five versions, two units, text and binary");

    let mut compared = 0;
    for file in &files {
        let name = file["file"].as_str().unwrap();
        let bytes = std::fs::read(folder.path().join(name)).unwrap();
        let mut options = DrawingOptions::for_file(name);
        // R12 has no units in its header: the caller tells them.
        let is_r12 = file["version"] == "R12";
        let is_inches = file["unit"] == "in";
        if is_r12 && is_inches {
            options.default_unit = Unit::Inch;
        }
        let drawing = read_dxf(&bytes, &options).unwrap_or_else(|error| panic!("{name}: {error}"));
        let expected = file["parts"].as_array().unwrap();
        assert_eq!(drawing.shapes.len(), expected.len(), "{name}: {:#?}", drawing.notes);
        let mut unmatched: Vec<&DrawnShape> = drawing.shapes.iter().collect();
        for part in expected {
            let layer = part["layer"].as_str().unwrap();
            let best = unmatched
                .iter()
                .position(|shape| shape.layer == layer && misfit(shape, part).is_none())
                .unwrap_or_else(|| {
                    let on_layer: Vec<_> = unmatched.iter().filter(|shape| shape.layer == layer).collect();
                    let misfits: Vec<_> = on_layer.iter().map(|shape| misfit(shape, part)).collect();
                    panic!("{name}: no part for {part}: {misfits:?}")
                });
            unmatched.remove(best);
            compared += 1;
        }
        check_the_rest(name, &drawing.shapes, &drawing.notes.iter().map(|note| &note.kind).collect::<Vec<_>>(), is_r12);
    }
    assert!(compared >= 300, "only {compared} parts compared");
}

/// How a shape differs from what the library says, if it does.
fn misfit(shape: &DrawnShape, part: &Value) -> Option<String> {
    let is_exact = part["exact"].as_bool().unwrap();
    let slack = if is_exact { EXACT } else { CURVE };
    let ring = shape.shape.exterior();
    let (area, length) = (part["area"].as_f64().unwrap().abs(), part["length"].as_f64());
    // A gap all around changes the area by that times the length.
    if (ring.area() - area).abs() > slack * ring.perimeter() {
        return Some(format!("area {} instead of {area}", ring.area()));
    }
    if let Some(length) = length
        && (ring.perimeter() - length).abs() > slack.max(1e-5 * length)
    {
        return Some(format!("length {} instead of {length}", ring.perimeter()));
    }
    let bounds = ring.bounds();
    let found = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
    let wanted: Vec<f64> = part["bounds"].as_array().unwrap().iter().map(|value| value.as_f64().unwrap()).collect();
    if found.iter().zip(&wanted).any(|(a, b)| (a - b).abs() > slack.max(EXACT)) {
        return Some(format!("box {found:?} instead of {wanted:?}"));
    }
    None
}

fn check_the_rest(name: &str, shapes: &[DrawnShape], notes: &[&NoteKind], is_r12: bool) {
    let washer = shapes.iter().find(|shape| shape.layer == "CUT_CIRCLE").unwrap();
    assert_eq!(washer.labels, ["washer"], "{name}");
    assert_eq!(washer.bend_lines.len(), 1, "{name}");
    assert_eq!(washer.shape.exterior().vertices().len(), 2, "{name}: a circle stays two arcs");
    let plate = shapes.iter().find(|shape| shape.layer == "CUT_INSERT").unwrap();
    assert_eq!(plate.labels, ["TWO_PLATES"], "{name}");
    for layer in ["CUT_OFF", "CUT_FROZEN"] {
        let is_noted = notes.iter().any(
            |kind| matches!(kind, NoteKind::LayerLeftOut { layer: found, is_hidden: true, count: 1, .. } if found == layer),
        );
        assert!(is_noted, "{name}: {layer} in {notes:#?}");
    }
    let has_unit_note = notes.iter().any(|kind| matches!(kind, NoteKind::UnitAssumed { .. }));
    assert_eq!(has_unit_note, is_r12, "{name}");
    let counts: Vec<_> = notes
        .iter()
        .find_map(|kind| if let NoteKind::LeftOut { counts } = kind { Some(counts.clone()) } else { None })
        .unwrap();
    let count = |kind: &str| counts.iter().find(|(found, _)| found == kind).map_or(0, |&(_, count)| count);
    assert_eq!(count("TEXT"), 2, "{name}: {counts:?}");
    assert_eq!(count("POINT"), 1, "{name}: {counts:?}");
    if !is_r12 {
        assert_eq!((count("DIMENSION"), count("HATCH")), (1, 1), "{name}: {counts:?}");
    }
}
