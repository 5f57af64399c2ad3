//! A hundred DXF and sixty SVG drawings, written by general libraries and by hand as CAD and vector programs do, read through
//! job files and compared with what shapely measures of their designs. `drawing_set/` makes them.

use std::path::Path;
use std::process::Command;

use dropwise_formats::{LoadedJob, load_job};
use serde_json::Value;

/// Curves are read within this, mm.
const CURVE: f64 = 0.013;

fn missing_tool() -> Option<String> {
    let script = "import ezdxf, shapely, numpy, svgwrite, drawsvg, matplotlib";
    match Command::new("python3").args(["-c", script]).output() {
        Ok(output) if output.status.success() => None,
        Ok(output) => Some(String::from_utf8_lossy(&output.stderr).into_owned()),
        Err(error) => Some(format!("python3: {error}")),
    }
}

#[derive(Debug, PartialEq)]
enum Outcome {
    Right,
    /// Not as designed, but said.
    Told(String),
    Refused(String),
    /// Not as designed, and nothing said.
    Silent(String),
}

fn load(folder: &Path, entry: &Value) -> Result<LoadedJob, Vec<String>> {
    let (file, key) = (entry["file"].as_str().unwrap(), entry["key"].as_str().unwrap());
    let key = if key.is_empty() { String::new() } else { format!(", {key}") };
    let text = format!(
        "defaults = {{ material = \"mild steel\", thickness = \"2 mm\" }}\nclearances = {{ process = \"plasma\" }}\n\
         [[parts]]\nname = \"p\"\ndrawing = {{ file = \"{file}\"{key} }}\n\
         [[sheets]]\nname = \"s\"\nrectangle = {{ width = 3000, height = 1500 }}\n"
    );
    let job = folder.join("job.toml");
    std::fs::write(&job, text).unwrap();
    load_job(&job).map_err(|errors| errors.iter().map(ToString::to_string).collect())
}

fn outcome(folder: &Path, entry: &Value) -> Outcome {
    let loaded = match load(folder, entry) {
        Ok(loaded) => loaded,
        Err(errors) => return Outcome::Refused(errors.join("\n    ")),
    };
    let Some(misfit) = misfit(&loaded, entry) else { return Outcome::Right };
    let warnings: Vec<String> =
        loaded.parts[0].drawing_notes.iter().filter(|note| note.is_warning()).map(|note| note.text.clone()).collect();
    if warnings.is_empty() {
        Outcome::Silent(misfit)
    } else {
        Outcome::Told(format!("{misfit}: {}", warnings.join("; ")))
    }
}

/// How what was read differs from the design, if it does.
fn misfit(loaded: &LoadedJob, entry: &Value) -> Option<String> {
    let expected = entry["parts"].as_array().unwrap();
    let parts = loaded.job.parts();
    if parts.len() != expected.len() {
        return Some(format!("{} parts instead of {}", parts.len(), expected.len()));
    }
    let slack = entry["slack"].as_f64();
    let mut left: Vec<&Value> = expected.iter().collect();
    for part in parts {
        let (area, bounds, holes) = (part.shape.area(), part.shape.bounds(), part.shape.holes().len());
        let length = part.shape.perimeter();
        let fits = |wanted: &&Value| {
            let wanted_area = wanted["area"].as_f64().unwrap();
            let size: Vec<f64> = wanted["size"].as_array().unwrap().iter().map(|side| side.as_f64().unwrap()).collect();
            (area - wanted_area).abs() <= slack.unwrap_or(CURVE * length + 1e-4 * wanted_area)
                && (bounds.width() - size[0]).abs() <= 0.03
                && (bounds.height() - size[1]).abs() <= 0.03
                && holes as u64 == wanted["holes"].as_u64().unwrap()
        };
        match left.iter().position(fits) {
            Some(index) => drop(left.remove(index)),
            None => {
                let (w, h) = (bounds.width(), bounds.height());
                return Some(format!("a part of {w:.3} x {h:.3}, {area:.3} mm², {holes} holes, none of {left:?}"));
            }
        }
    }
    let bends: u32 = loaded.parts.iter().map(|part| part.work.bends).sum();
    match entry["bends"].as_u64() {
        Some(wanted) if wanted != u64::from(bends) => Some(format!("{bends} bends instead of {wanted}")),
        _ => None,
    }
}

#[test]
fn drawings_of_all_kinds_are_read_right_or_said_to_be_doubtful() {
    if let Some(reason) = missing_tool() {
        assert!(
            std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_none_or(|value| value != "1"),
            "the reference libraries are required here: {reason}"
        );
        #[expect(clippy::print_stderr, reason = "a skipped check must be seen")]
        {
            eprintln!("SKIPPED: the set of drawings, as a library is missing: {reason}");
        }
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/drawing_set/make.py");
    let output = Command::new("python3").arg(script).arg(folder.path()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let entries: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    let is_dxf = |entry: &&Value| entry["file"].as_str().unwrap().ends_with(".dxf");
    let count = entries.iter().filter(is_dxf).count();
    assert!(count >= 100 && entries.len() - count >= 60, "{count} DXF of {}", entries.len());

    let (mut right, mut sound, mut page) = (0, 0, String::new());
    let mut silent = 0;
    for entry in &entries {
        let outcome = outcome(folder.path(), entry);
        let is_sound = entry["sound"].as_bool().unwrap();
        sound += usize::from(is_sound);
        right += usize::from(is_sound && outcome == Outcome::Right);
        silent += usize::from(matches!(outcome, Outcome::Silent(_)));
        if outcome != Outcome::Right && (is_sound || matches!(outcome, Outcome::Silent(_))) {
            page.push_str(&format!("{} [{}]: {outcome:?}\n", entry["file"], entry["key"]));
        }
    }
    assert_eq!(silent, 0, "read wrong in silence:\n{page}");
    assert!(right * 100 >= sound * 95, "{right} of {sound} sound drawings read right:\n{page}");
}

/// What a cell of the palette of DXF looks like, against the table of a general library.
#[test]
fn the_palette_is_that_of_the_library() {
    if missing_tool().is_some() {
        return; // told by the other test
    }
    let script = "import ezdxf.colors as c, json; print(json.dumps([[i, *c.aci2rgb(i)] for i in range(1, 256)]))";
    let output = Command::new("python3").args(["-c", script]).output().unwrap();
    let palette: Vec<(u8, u8, u8, u8)> = serde_json::from_slice(&output.stdout).unwrap();
    let mut far = Vec::new();
    for &(index, r, g, b) in &palette {
        let hex = dropwise_formats::drawing::Colour::indexed(index).hex();
        let found: Vec<u8> = (0..3).map(|i| u8::from_str_radix(&hex[1 + 2 * i..3 + 2 * i], 16).unwrap()).collect();
        // Its darkest shades have 88 and 126 in places where its own pattern has 33 or 38, and 76.
        let is_slip = |part: u8| (index % 10 == 9 && part == 88) || (index % 10 == 7 && part == 126);
        if found.iter().zip([r, g, b]).any(|(&a, b)| a.abs_diff(b) > 2 && !(index < 250 && is_slip(b))) {
            far.push((index, hex, (r, g, b)));
        }
    }
    assert!(far.is_empty(), "{far:?}");
}
