//! The page of cutting presets in `docs/`, generated from the presets themselves. It fails here when it is stale; run with
//! `DROPWISE_WRITE_DOCS=1` to write it anew.

use std::fmt::Write;
use std::path::Path;

use dropwise_shop::{Process, Thickness};

/// Thicknesses that the page shows, mm: thin sheet, the usual, thin plate, plate.
const SHOWN: [f64; 4] = [1.0, 3.0, 6.0, 12.0];

fn page() -> String {
    let mut text = String::from(
        "# Clearances by process\n\n\
         What `clearances = { process = \"...\" }` in a job file stands for: the width of the cut (kerf), the metal left\n\
         between parts (web) and to the edge of the sheet (margin). Every figure can be set by itself in the job. Where a\n\
         range is published the preset takes its middle, or the least where only that is given. Machines differ: cut a\n\
         test piece and measure. Generated from the presets; `confirmed`, `derived`, `from memory` and `common practice`\n\
         say how well a source is known.\n",
    );
    for process in Process::ALL {
        let _ = write!(text, "\n## {process}\n\n| mm thick | kerf | web | margin |\n|---|---|---|---|\n");
        let presets: Vec<_> =
            SHOWN.iter().map(|&mm| (mm, process.preset(Thickness::new(mm).expect("a usual thickness")))).collect();
        for (mm, preset) in &presets {
            let [kerf, web, margin] = [&preset.kerf, &preset.web, &preset.margin].map(|f| round(f.millimetres));
            let _ = writeln!(text, "| {mm} | {kerf} | {web} | {margin} |");
        }
        text.push('\n');
        for (name, of) in [("kerf", 0), ("web", 1), ("margin", 2)] {
            let mut lines: Vec<String> = presets
                .iter()
                .map(|(_, preset)| {
                    let figure = [&preset.kerf, &preset.web, &preset.margin][of];
                    let note = if figure.note.is_empty() { String::new() } else { format!("{}; ", figure.note) };
                    format!("- {name}: {note}{}\n", figure.source)
                })
                .collect();
            lines.dedup();
            text.extend(lines);
        }
    }
    text
}

fn round(millimetres: f64) -> f64 {
    (millimetres * 100.0).round() / 100.0
}

#[test]
fn the_page_of_presets_is_fresh() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/processes.md");
    if std::env::var_os("DROPWISE_WRITE_DOCS").is_some() {
        std::fs::write(&path, page()).expect("a page that can be written");
        return;
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(written == page(), "docs/processes.md is stale: run this test with DROPWISE_WRITE_DOCS=1 and commit it");
}
