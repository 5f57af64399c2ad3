//! Labels for the rack, printed and read back: the QR codes by a reader that is none of ours (the crate rqrr), the text by
//! poppler.

mod tools;

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use dropwise_paper::{LabelError, Paper, RackLabel, write_labels};

fn labels(count: usize) -> Vec<RackLabel> {
    let label = |index: usize| RackLabel {
        tag: format!("7C{index:02}"),
        stock: "mild steel 11 ga".to_owned(),
        size: format!("{} × 520 mm", 780 - index),
        heat_number: if index == 1 { String::new() } else { "H-40417".to_owned() },
        place: "rack B, second shelf, behind the long offcuts of the autumn".to_owned(),
        ..RackLabel::default()
    };
    (0..count).map(label).collect()
}

/// A page in greys, as poppler draws it.
fn raster(pdftoppm: &Path, path: &Path, page: usize) -> (usize, usize, Vec<u8>) {
    let page = page.to_string();
    let arguments = ["-gray", "-singlefile", "-r", "150", "-f", &page, "-l", &page];
    let bytes = tools::run(Command::new(pdftoppm).args(arguments).arg(path)).stdout;
    // Netpbm: "P5", width, height, 255, one blank, then the dots.
    let head: Vec<&[u8]> = bytes.splitn(4, |byte| byte.is_ascii_whitespace()).collect();
    let number = |bytes: &[u8]| std::str::from_utf8(bytes).unwrap().parse::<usize>().unwrap();
    let (width, height) = (number(head[1]), number(head[2]));
    let dots = bytes[bytes.len() - width * height..].to_vec();
    (width, height, dots)
}

#[test]
fn every_code_reads_as_its_tag() {
    let Some(pdftoppm) = tools::find(&["pdftoppm"]) else { return };
    let folder = tempfile::tempdir().unwrap();
    let labels = labels(14);
    for paper in [Paper::A4, Paper::Letter] {
        let path = folder.path().join("labels.pdf");
        std::fs::write(&path, write_labels(&labels, paper).unwrap()).unwrap();
        let mut read = BTreeSet::new();
        // Twelve on a page.
        for page in [1, 2] {
            let (width, height, dots) = raster(&pdftoppm, &path, page);
            // As a telephone sees them, a piece of one column at a time: of many codes at once the reader takes corners
            // of different ones together.
            let (column, piece) = (width / 2, height / 6);
            for left in [0, column] {
                for top in (0..=height - piece).step_by(piece / 3) {
                    let dot = |x: usize, y: usize| dots[(top + y) * width + left + x];
                    let mut image = rqrr::PreparedImage::prepare_from_greyscale(column, piece, dot);
                    read.extend(image.detect_grids().iter().filter_map(|grid| grid.decode().ok()).map(|code| code.1));
                }
            }
        }
        let tags: BTreeSet<String> = labels.iter().map(|label| label.tag.clone()).collect();
        assert_eq!(read, tags, "{paper:?}");
    }
}

#[test]
fn the_text_is_there_and_nothing_runs_out_of_its_label() {
    let Some(pdftotext) = tools::find(&["pdftotext"]) else { return };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("labels.pdf");
    std::fs::write(&path, write_labels(&labels(2), Paper::A4).unwrap()).unwrap();
    let text = tools::run(Command::new(pdftotext).args(["-layout"]).arg(&path).arg("-")).stdout;
    let text = String::from_utf8(text).unwrap();
    for part in ["7C00", "7C01", "mild steel 11 ga", "780 × 520 mm", "779 × 520 mm", "heat H-40417", "rack B, second"]
    {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert_eq!(text.matches("heat").count(), 1, "{text}");
    assert!(text.contains('…') && !text.contains("autumn"), "{text}");
}

#[test]
fn what_cannot_be_printed_is_refused() {
    assert_eq!(write_labels(&[], Paper::A4), Err(LabelError::Nothing));
    assert_eq!(write_labels(&labels(1), Paper::Roll { width: 300.0 }), Err(LabelError::Roll));
    let long = RackLabel { tag: "7".repeat(9000), ..RackLabel::default() };
    assert!(matches!(write_labels(&[long], Paper::A4), Err(LabelError::Tag { .. })));
}
