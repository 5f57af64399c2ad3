//! Drawings that were once read wrong, or refused although their parts are sound: each as it should be read.

use std::path::Path;

use dropwise_formats::{LoadedJob, load_job};

/// A job with one part by a drawing of `tests/drawings`, read with these further keys.
fn job(file: &str, keys: &str, thickness: &str) -> Result<LoadedJob, Vec<String>> {
    let folder = tempfile::tempdir().unwrap();
    let drawings = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/drawings");
    std::fs::copy(drawings.join(file), folder.path().join(file)).unwrap();
    let keys = if keys.is_empty() { String::new() } else { format!(", {keys}") };
    let text = format!(
        "defaults = {{ material = \"mild steel\", thickness = \"{thickness}\" }}\nclearances = {{ process = \"plasma\" }}\n\
         [[parts]]\nname = \"p\"\ndrawing = {{ file = \"{file}\"{keys} }}\n\
         [[sheets]]\nname = \"s\"\nrectangle = {{ width = 2000, height = 1000 }}\n"
    );
    std::fs::write(folder.path().join("job.toml"), text).unwrap();
    load_job(&folder.path().join("job.toml")).map_err(|errors| errors.iter().map(ToString::to_string).collect())
}

/// Width, height and openings of each part, and what is told of the drawing.
#[track_caller]
fn read(file: &str, keys: &str) -> (Vec<(f64, f64, usize)>, Vec<String>) {
    let loaded = job(file, keys, "1 mm").unwrap_or_else(|errors| panic!("{file}: {errors:#?}"));
    let parts = loaded.job.parts().iter().map(|part| {
        let bounds = part.shape.bounds();
        let round = |value: f64| (value * 1e6).round() / 1e6;
        (round(bounds.width()), round(bounds.height()), part.shape.holes().len())
    });
    let warnings = loaded.parts[0].drawing_notes.iter().filter(|note| note.is_warning()).map(|note| note.text.clone());
    (parts.collect(), warnings.collect())
}

#[track_caller]
fn warned(warnings: &[String], words: &[&str]) {
    let is_told = warnings.iter().any(|text| words.iter().all(|word| text.contains(word)));
    assert!(is_told, "{words:?} in {warnings:#?}");
}

#[test]
fn a_border_is_warned_of_and_left_out_when_told() {
    let (parts, warnings) = read("border_around_part.dxf", "");
    assert_eq!(parts, [(297.0, 210.0, 1), (20.0, 20.0, 0)]);
    warned(
        &warnings,
        &["297.0 x 210.0 mm", "A4 paper", "1 outline in its openings", "100.0 x 60.0 mm", "`frame = \"leave out\"`"],
    );
    let (parts, warnings) = read("border_around_part.dxf", "frame = \"leave out\"");
    assert_eq!(parts, [(100.0, 60.0, 1)]);
    warned(&warnings, &["left out as a frame"]);
    let (parts, warnings) = read("border_around_part.dxf", "frame = \"cut\"");
    assert_eq!((parts.len(), warnings.len()), (2, 0), "{warnings:?}");
}

#[test]
fn a_page_behind_the_part_is_left_out_and_said() {
    let (parts, warnings) = read("page_background.svg", "");
    assert_eq!(parts, [(100.0, 60.0, 1)]);
    warned(&warnings, &["left out as a frame", "`frame = \"cut\"`"]);
}

#[test]
fn words_in_layer_names_lose_no_loop_in_silence() {
    assert_eq!(read("holes_on_center_layers.dxf", "").0, [(100.0, 60.0, 3)]);
    let (parts, warnings) = read("outline_on_frame_layer.dxf", "");
    assert_eq!(parts, [(100.0, 60.0, 1)]);
    warned(&warnings, &["layer \"frame\"", "cut although", "`ignored_layers = [\"frame\"]`"]);
    let (parts, warnings) = read("layer_words.svg", "");
    assert_eq!((parts, warnings), (vec![(100.0, 60.0, 3)], vec![]));
}

#[test]
fn a_spline_by_fit_points_is_a_curve() {
    let loaded = job("opening_by_fit_points.dxf", "", "1 mm").unwrap();
    let hole = &loaded.job.parts()[0].shape.holes()[0];
    // More than the polygon of its points, by the shoelace formula, and not much more than the box around them, 40 x 25.
    assert!(hole.area() > 675.0 && hole.area() < 1100.0, "{}", hole.area());
    assert!(loaded.notes.iter().any(|note| note.text.contains("fit points")), "{:?}", loaded.notes);
}

#[test]
fn what_cannot_be_seen_is_not_cut() {
    assert_eq!(read("hidden_by_class.svg", "").0, [(100.0, 60.0, 0)]);
    let loaded = job("paints_nothing.svg", "", "1 mm").unwrap();
    assert!(loaded.job.parts()[0].shape.holes().is_empty());
    assert!(loaded.notes.iter().any(|note| note.text.contains("2 shape(s) that show nothing")), "{:?}", loaded.notes);
}

#[test]
fn colours_are_chosen_in_the_job() {
    let errors = job("colours.svg", "", "1 mm").unwrap_err();
    assert!(
        errors.iter().any(|text| text.contains("red (#ff0000) 1 closed") && text.contains("`cut_colours")),
        "{errors:#?}"
    );
    let loaded = job("colours.svg", "bend_colours = [\"blue\"]", "1 mm").unwrap();
    assert_eq!((loaded.job.parts()[0].shape.holes().len(), loaded.parts[0].work.bends), (1, 1));
    let (parts, warnings) = read("colours.svg", "cut_colours = [\"red\"]");
    assert_eq!(parts, [(100.0, 60.0, 0)]);
    warned(&warnings, &["black (#000000) (1 line)", "1 closed loop"]);
}

#[test]
fn a_fault_of_one_piece_is_no_fault_of_another() {
    assert!(job("one_piece_open.dxf", "", "1 mm").is_err());
    let (parts, warnings) = read("one_piece_open.dxf", "piece = 1");
    assert_eq!(parts, [(100.0, 60.0, 0)]);
    warned(&warnings, &["left out: this contour"]);
    assert_eq!(read("one_piece_open.dxf", "open_lines = \"leave out\"").0.len(), 1);
}

#[test]
fn doubtful_sizes_are_told_both_ways() {
    let (parts, warnings) = read("inches_named_mm.dxf", "");
    assert_eq!(parts, [(4.33, 3.54, 1)]);
    warned(&warnings, &["4.33 x 3.54 mm", "in inches 110.0 x 89.9 mm", "very small", "`unit`"]);
    assert_eq!(read("inches_named_mm.dxf", "unit = \"in\"").0, [(109.982, 89.916, 1)]);
    let (_, warnings) = read("metres.dxf", "");
    warned(&warnings, &["in metres 100.0 x 60.0 mm"]);
    assert_eq!(read("metres.dxf", "unit = \"m\"").0, [(100.0, 60.0, 2)]);
    assert_eq!(read("metres.dxf", "width = \"100 mm\"").0, [(100.0, 60.0, 2)]);
    // Holes smaller than the sheet is thick, in a part that is not small.
    let loaded = job("bend_line_by_linetype.dxf", "", "1 mm").unwrap();
    assert!(loaded.notes.iter().all(|note| !note.text.contains("hole")), "{:?}", loaded.notes);
    let thick = job("centre_lines_by_linetype.dxf", "", "12 mm").unwrap();
    assert!(
        thick.notes.iter().any(|note| note.text.contains("a hole 8 mm wide in a sheet 12 mm thick")),
        "{:?}",
        thick.notes
    );
    // Small holes by two arcs stay holes.
    assert_eq!(read("small_arcs.dxf", "").0, [(4.33, 3.54, 1)]);
}

#[test]
fn line_types_and_shared_edges_are_read() {
    let loaded = job("bend_line_by_linetype.dxf", "", "1 mm").unwrap();
    assert_eq!(loaded.parts[0].work.bends, 1);
    warned(&[loaded.parts[0].drawing_notes[0].text.clone()], &["DASHED", "edge to edge", "bend line"]);
    assert_eq!(read("bend_line_by_linetype.dxf", "ignored_line_types = [\"dashed\"]").0, [(40.0, 20.0, 0)]);
    assert_eq!(read("centre_lines_by_linetype.dxf", "").0, [(40.0, 20.0, 1)]);
    let errors = job("shared_edge.dxf", "", "1 mm").unwrap_err();
    assert!(errors[0].contains("from edge to edge") && errors[0].contains("`shared_edges = \"split\"`"), "{errors:#?}");
    assert_eq!(read("shared_edge.dxf", "shared_edges = \"split\"").0, [(40.0, 50.0, 0), (40.0, 50.0, 0)]);
    let loaded = job("shared_edge.dxf", "open_lines = \"bend\"", "1 mm").unwrap();
    assert_eq!(loaded.parts[0].work.bends, 1);
}
