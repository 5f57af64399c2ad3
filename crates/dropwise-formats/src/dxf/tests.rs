//! Files written by hand, with areas by elementary geometry.

use std::f64::consts::PI;

use super::*;
use crate::drawing::{Doubt, DrawingLimits, LayerUse, LineRules, Note, OpenHint, Spot};
use dropwise_geometry::{Point, Unit};

/// A file with a header of this $INSUNITS and these entities, written as codes and values parted by `|`.
fn file(entities: &str) -> String {
    format!(
        "0|SECTION|2|HEADER|9|$INSUNITS|70|4|0|ENDSEC|0|SECTION|2|ENTITIES|{}0|ENDSEC|0|EOF|",
        if entities.is_empty() { String::new() } else { format!("{entities}|") }
    )
    .replace('|', "\n")
}

fn with_blocks(blocks: &str, entities: &str) -> String {
    file(entities).replacen(
        "0\nSECTION\n2\nENTITIES",
        &format!("{}0\nENDSEC\n0\nSECTION\n2\nENTITIES", {
            format!("0|SECTION|2|BLOCKS|{blocks}|").replace('|', "\n")
        }),
        1,
    )
}

fn line(layer: &str, [a, b, c, d]: [f64; 4]) -> String {
    format!("0|LINE|8|{layer}|10|{a}|20|{b}|11|{c}|21|{d}")
}

fn lines(layer: &str, list: &[[f64; 4]]) -> String {
    list.iter().map(|&ends| line(layer, ends)).collect::<Vec<_>>().join("|")
}

fn rectangle(layer: &str, x: f64, y: f64, width: f64, height: f64) -> String {
    let (r, t) = (x + width, y + height);
    format!("0|LWPOLYLINE|8|{layer}|90|4|70|1|10|{x}|20|{y}|10|{r}|20|{y}|10|{r}|20|{t}|10|{x}|20|{t}")
}

fn circle(layer: &str, x: f64, y: f64, radius: f64) -> String {
    format!("0|CIRCLE|8|{layer}|10|{x}|20|{y}|40|{radius}")
}

fn options() -> DrawingOptions {
    DrawingOptions::for_file("bracket.dxf")
}

fn read(entities: &str) -> Result<Drawing, DxfError> {
    read_dxf(file(entities).as_bytes(), &options())
}

fn faults(result: Result<Drawing, DxfError>) -> Vec<Note> {
    match result {
        Err(DxfError::Faulty { notes, .. }) => {
            notes.into_iter().filter(|note| note.severity == Severity::Error).collect()
        }
        other => panic!("faults expected: {other:?}"),
    }
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9 * b.abs().max(1.0)
}

#[test]
fn several_parts_with_holes_and_islands() {
    let drawing = read(
        &[
            circle("0", 50.0, 25.0, 10.0),
            rectangle("0", 0.0, 0.0, 100.0, 50.0),
            circle("0", 50.0, 25.0, 4.0), // an island: a part again
            rectangle("0", -80.0, -30.0, 40.0, 20.0),
            circle("0", -60.0, -20.0, 5.0),
        ]
        .join("|"),
    )
    .unwrap();
    let areas: Vec<f64> = drawing.shapes.iter().map(|drawn| drawn.shape.area()).collect();
    assert_eq!(areas.len(), 3);
    assert!(near(areas[0], 5000.0 - 100.0 * PI) && near(areas[1], 16.0 * PI) && near(areas[2], 800.0 - 25.0 * PI));
    // A part in the hole of another might also be a part in a frame.
    assert!(
        matches!(drawing.notes[..], [Note { kind: NoteKind::FrameKept { inside: 1, .. }, .. }]),
        "{:?}",
        drawing.notes
    );
}

#[test]
fn loose_lines_and_an_arc_close_over_gaps_and_the_gap_is_noted() {
    // A 20 x 10 rectangle with a half circle of radius 5 on its right, ends off by up to 0.03.
    let entities = format!(
        "{}|0|ARC|8|0|10|20|20|5|40|5|50|270|51|90",
        lines("0", &[[0.0, 0.0, 20.0, 0.02], [20.0, 10.0, 0.01, 10.0], [0.0, 10.03, 0.0, 0.0]])
    );
    let drawing = read(&entities).unwrap();
    assert!((drawing.shapes[0].shape.area() - (200.0 + 12.5 * PI)).abs() < 1.0);
    assert!(
        matches!(drawing.notes[..], [Note { kind: NoteKind::EndsJoined { count: 2, .. }, .. }]),
        "{:?}",
        drawing.notes
    );
}

#[test]
fn an_open_contour_is_told_with_line_layer_ends_and_gap() {
    let entities = lines("CUT", &[[0.0, 0.0, 10.0, 0.0], [10.0, 0.0, 10.0, 10.0], [10.0, 10.0, 0.0, 0.3]]);
    let found = faults(read(&entities));
    let NoteKind::OpenContour { gap, hint, .. } = found[0].kind else { panic!("{found:?}") };
    assert!(near(gap, 0.3) && matches!(hint, OpenHint::Gap { closes: 1, .. }), "{hint:?}");
    assert_eq!(
        found[0].to_string(),
        "bracket.dxf, line 15, layer \"CUT\", at (0, 0) mm: this contour of 33.9 mm is open: it starts at (0, 0) and ends at \
         (0, 0.3), with 0.3 mm to the nearest loose end. `gap = \"0.301 mm\"` closes it; so does drawing it closed"
    );
    // Both cures work.
    let wide = DrawingOptions { join_tolerance: 0.4, ..options() };
    assert_eq!(read_dxf(file(&entities).as_bytes(), &wide).unwrap().shapes.len(), 1);
    let skipping = DrawingOptions { open_lines: Some(LayerUse::Ignore), ..options() };
    let with_part = format!("{entities}|{}", circle("CUT", 50.0, 0.0, 5.0));
    let drawing = read_dxf(file(&with_part).as_bytes(), &skipping).unwrap();
    assert_eq!(drawing.shapes.len(), 1);
    assert!(drawing.notes.iter().any(|note| matches!(note.kind, NoteKind::OpenLines { count: 1, .. })));
    // Faulty loops have a key of their own.
    let loops = DrawingOptions { skips_faulty: true, ..options() };
    assert!(read_dxf(file(&with_part).as_bytes(), &loops).is_err());
}

#[test]
fn faults_come_all_at_once() {
    // A bow tie, a rectangle drawn there and back, two overlapping rectangles, and a loose line.
    let found = faults(read(
        &[
            "0|LWPOLYLINE|8|0|70|1|10|0|20|0|10|10|20|10|10|10|20|0|10|0|20|10".to_owned(),
            "0|LWPOLYLINE|8|0|70|1|10|20|20|0|10|30|20|0".to_owned(),
            rectangle("0", 40.0, 0.0, 20.0, 20.0),
            rectangle("0", 50.0, 10.0, 20.0, 20.0),
            line("0", [90.0, 0.0, 99.0, 0.0]),
        ]
        .join("|"),
    ));
    let has = |test: &dyn Fn(&Note) -> bool| found.iter().filter(|note| test(note)).count();
    assert_eq!(
        has(&|note| note.kind == NoteKind::SelfCrossing
            && note.place.as_ref().unwrap().at == Some(Point::new(5.0, 5.0))),
        1
    );
    assert_eq!(has(&|note| note.kind == NoteKind::ZeroArea), 1);
    assert_eq!(has(&|note| matches!(note.kind, NoteKind::LoopsCross { .. })), 1);
    assert_eq!(has(&|note| matches!(note.kind, NoteKind::OpenContour { .. })), 1);
    assert_eq!(found.len(), 4, "{found:#?}");
}

#[test]
fn an_outline_that_touches_or_retraces_itself_is_a_fault() {
    for points in [
        "10|0|20|0|10|10|20|0|10|10|20|10|10|5|20|0|10|0|20|10", // a corner on a side
        "10|0|20|0|10|10|20|0|10|20|20|0|10|10|20|0|10|10|20|10|10|0|20|10", // a spike
    ] {
        let found = faults(read(&format!("0|LWPOLYLINE|8|0|70|1|{points}")));
        assert_eq!(found[0].kind, NoteKind::SelfCrossing, "{points}");
    }
}

#[test]
fn parts_that_share_a_side_or_touch_are_fine() {
    let drawing =
        read(&[rectangle("0", 0.0, 0.0, 10.0, 10.0), rectangle("0", 10.0, 2.0, 10.0, 5.0)].join("|")).unwrap();
    assert_eq!(drawing.shapes.len(), 2);
    // Two squares of lines, the side between them drawn once for each.
    let square =
        |x: f64| [[x, 0.0, x + 5.0, 0.0], [x + 5.0, 0.0, x + 5.0, 5.0], [x + 5.0, 5.0, x, 5.0], [x, 5.0, x, 0.0]];
    let drawing = read(&lines("0", &[square(0.0), square(5.0)].concat())).unwrap();
    assert_eq!(drawing.shapes.iter().map(|drawn| drawn.shape.area()).collect::<Vec<_>>(), [25.0, 25.0]);
}

#[test]
fn duplicates_are_removed_with_a_note() {
    let doubled = [
        rectangle("0", 0.0, 0.0, 10.0, 10.0),
        rectangle("0", 0.01, 0.0, 10.0, 10.0), // the whole loop again
        line("0", [2.0, 0.0, 8.0, 0.0]),       // and a line on one of its sides
        circle("0", 5.0, 5.0, 2.0),
        "0|ARC|8|0|10|5|20|5|40|2|50|30|51|210".to_owned(), // the circle again, as arcs
        "0|ARC|8|0|10|5|20|5|40|2|50|210|51|30".to_owned(),
    ];
    let drawing = read(&doubled.join("|")).unwrap();
    assert_eq!(drawing.shapes.len(), 1);
    assert!(near(drawing.shapes[0].shape.area(), 100.0 - 4.0 * PI));
    let count: usize = drawing
        .notes
        .iter()
        .map(|note| if let NoteKind::DuplicatesRemoved { count } = note.kind { count } else { 0 })
        .sum();
    assert_eq!(count, 3, "{:?}", drawing.notes);
}

#[test]
fn suspicious_sizes_are_warned_of() {
    for (size, is_large) in [(8000.0, true), (0.3, false)] {
        let drawing = read(&rectangle("0", 0.0, 0.0, size, size / 2.0)).unwrap();
        let [note] = &drawing.notes[..] else { panic!("{:?}", drawing.notes) };
        assert_eq!(note.severity, Severity::Warning);
        let NoteKind::UnitDoubtful { doubt, .. } = &note.kind else { panic!("{note}") };
        assert_eq!(*doubt == Doubt::Large, is_large);
    }
    assert!(read(&rectangle("0", 0.0, 0.0, 5000.0, 1.0)).unwrap().notes.is_empty());
}

#[test]
fn layers_are_cut_bent_marked_ignored_or_reported() {
    let entities = [
        rectangle("Outline", 0.0, 0.0, 100.0, 50.0),
        line("BEND", [20.0, 0.0, 20.0, 50.0]),
        line("etch", [40.0, 20.0, 60.0, 20.0]),
        line("Dimensions", [0.0, -10.0, 100.0, -10.0]),
        circle("Smith", 80.0, 25.0, 5.0),
        line("BEND", [500.0, 0.0, 520.0, 0.0]),
    ]
    .join("|");
    let drawing = read(&entities).unwrap();
    let part = &drawing.shapes[0];
    assert_eq!((part.shape.holes().len(), part.bend_lines.len(), part.mark_lines.len()), (1, 1, 1));
    let kinds: Vec<_> = drawing.notes.iter().map(|note| &note.kind).collect();
    assert!(kinds.contains(&&NoteKind::UnknownLayers { layers: vec![("Smith".to_owned(), 1)] }));
    let (layer, largest) = ("Dimensions".to_owned(), [0.0, 0.0]);
    assert!(kinds.contains(&&NoteKind::LayerLeftOut { layer, count: 1, is_hidden: false, loops: 0, largest }));
    assert!(kinds.contains(&&NoteKind::StrayLine { line_use: LayerUse::Bend, count: 1 }));
    let rules = LineRules::default().with_layer("smith", LayerUse::Ignore);
    let told = DrawingOptions { rules, ..options() };
    assert!(read_dxf(file(&entities).as_bytes(), &told).unwrap().shapes[0].shape.holes().is_empty());
}

#[test]
fn units_come_from_the_header_or_the_caller() {
    let area = |text: &str, options: &DrawingOptions| {
        let drawing = read_dxf(text.as_bytes(), options).unwrap();
        (drawing.shapes[0].shape.area(), drawing.notes.into_iter().map(|note| note.kind).collect::<Vec<_>>())
    };
    let metric = file(&rectangle("0", 0.0, 0.0, 40.0, 20.0));
    assert_eq!(area(&metric, &options()), (800.0, vec![]));
    let inches = metric.replace("70\n4\n0\nENDSEC", "70\n1\n0\nENDSEC");
    assert!(near(area(&inches, &options()).0, 800.0 * 645.16));
    // An R12 file: nothing but entities.
    let bare = &metric[metric.find("0\nSECTION\n2\nENTITIES").unwrap()..];
    let assumed = |hint| NoteKind::UnitAssumed {
        unit: "mm",
        hint,
        size: [40.0, 20.0],
        others: vec![("inches", [1016.0, 508.0]), ("centimetres", [400.0, 200.0])],
        doubt: None,
    };
    assert_eq!(area(bare, &options()), (800.0, vec![assumed(None)]));
    let hinted = metric.replace("$INSUNITS\n70\n4", "$MEASUREMENT\n70\n0");
    assert_eq!(area(&hinted, &options()).1, [assumed(Some("inches"))]);
    let told = DrawingOptions { unit: Some(Unit::Inch.into()), ..options() };
    let (told_area, notes) = area(&metric, &told);
    assert!(near(told_area, 800.0 * 645.16));
    assert_eq!(notes, [NoteKind::UnitOverridden { told: "in".to_owned(), file: "millimetres" }]);
    // Or its true width is known.
    let wide = DrawingOptions { true_width: Some(250.0), ..options() };
    assert!(near(area(bare, &wide).0, 250.0 * 125.0));
    let light_years = metric.replace("70\n4\n0\nENDSEC", "70\n19\n0\nENDSEC");
    let error = read_dxf(light_years.as_bytes(), &options()).unwrap_err();
    assert!(matches!(error, DxfError::UnknownUnit { value: 19, spot: Spot::Line(7), .. }), "{error:?}");
}

#[test]
fn blocks_are_scaled_turned_nested_and_arrayed() {
    let blocks = format!(
        "0|BLOCK|2|TAB|10|1|20|1|{}|0|ENDBLK|0|BLOCK|2|PAIR|{}|{}|0|ENDBLK",
        rectangle("0", 1.0, 1.0, 4.0, 2.0),
        "0|INSERT|8|0|2|tab|10|0|20|0",
        "0|INSERT|8|0|2|TAB|10|10|20|0|50|90|41|2|42|-2",
    );
    let entities = "0|INSERT|8|CUT|2|PAIR|10|100|20|50|70|3|71|2|44|30|45|40";
    let drawing = read_dxf(with_blocks(&blocks, entities).as_bytes(), &options()).unwrap();
    assert_eq!(drawing.shapes.len(), 12);
    assert!(drawing.shapes.iter().all(|drawn| drawn.layer == "CUT" && drawn.labels == ["PAIR"]));
    let bounds: Vec<_> = drawing.shapes.iter().take(2).map(|drawn| drawn.shape.bounds()).collect();
    assert_eq!((bounds[0].min, bounds[0].max), (Point::new(100.0, 50.0), Point::new(104.0, 52.0)));
    // Twice as large, upside down, then a quarter turn: 8 up and 4 to the right of where it is put.
    assert_eq!((bounds[1].min, bounds[1].max), (Point::new(110.0, 50.0), Point::new(114.0, 58.0)));
}

#[test]
fn entities_drawn_from_below_are_mirrored() {
    let drawing = read("0|CIRCLE|8|0|10|30|20|5|40|2|210|0|220|0|230|-1").unwrap();
    assert_eq!(drawing.shapes[0].shape.bounds().center(), Point::new(-30.0, 5.0));
    let tilted =
        read(&format!("0|CIRCLE|8|0|10|30|20|5|40|2|210|1|220|0|230|0|{}", circle("0", 0.0, 0.0, 1.0))).unwrap();
    let is_told = |note: &Note| matches!(note.kind, NoteKind::NotUnderstood { count: 1, is_on_part: false, .. });
    assert!(tilted.notes.iter().any(is_told), "{:?}", tilted.notes);
}

#[test]
fn old_polylines_and_annotations() {
    let text = [
        "0|POLYLINE|8|0|66|1|70|1",
        "0|VERTEX|8|0|10|0|20|0",
        "0|VERTEX|8|0|10|10|20|0|42|1",
        "0|VERTEX|8|0|10|10|20|4",
        "0|VERTEX|8|0|10|99|20|99|70|16",
        "0|VERTEX|8|0|10|0|20|4|42|1",
        "0|SEQEND",
        "0|TEXT|8|0|10|5|20|2|40|1|1|LINK",
        "0|DIMENSION|8|0",
        "0|DIMENSION|8|0",
        "0|REGION|8|0",
    ]
    .join("|");
    // Nobody knows where the region lies.
    let found = faults(read(&text));
    assert!(
        found[0].to_string().contains("1 REGION not understood, on a part or perhaps on one. Explode"),
        "{}",
        found[0]
    );
    let told = DrawingOptions { skips_unknown: true, ..options() };
    let drawing = read_dxf(file(&text).as_bytes(), &told).unwrap();
    assert!(near(drawing.shapes[0].shape.area(), 40.0 + 4.0 * PI), "a slot, the frame point left out");
    assert_eq!(drawing.shapes[0].labels, ["LINK"]);
    let said: Vec<String> = drawing.notes.iter().map(ToString::to_string).collect();
    assert!(said.contains(&"left out: 2 DIMENSION, 1 TEXT".to_owned()), "{said:?}");
    assert!(said.iter().any(|note| note.contains("1 REGION not understood")), "{said:?}");
}

#[test]
fn every_cut_off_file_is_an_error_or_the_whole() {
    let whole = file(&[rectangle("0", 0.0, 0.0, 10.0, 10.0), circle("0", 5.0, 5.0, 1.0)].join("|"));
    let expected = read_dxf(whole.as_bytes(), &options()).unwrap();
    for length in 0..whole.len() {
        match read_dxf(&whole.as_bytes()[..length], &options()) {
            // Without the last line break, the last line is whole all the same.
            Ok(drawing) => assert!(drawing == expected && length == whole.len() - 1, "cut at {length}"),
            Err(error) => assert!(error.to_string().starts_with("bracket.dxf"), "{error}"),
        }
    }
    let error = read_dxf(&whole.as_bytes()[..whole.len() - 20], &options()).unwrap_err();
    assert!(matches!(error, DxfError::CutOff { .. }), "{error}");
}

#[test]
fn messages_name_the_line_and_the_cure() {
    let cases = [
        (
            "0|CIRCLE|8|0|10|0|20|0|40|abc",
            "bracket.dxf, line 24: \"abc\" as the value of group 40 should be a number, such as 12.5",
        ),
        (
            "0|CIRCLE|8|0|10|0|20|0|40|nan",
            "bracket.dxf, line 24: \"nan\" as the value of group 40 should be a number, such as 12.5",
        ),
        ("0|CIRCLE|8|0|10|0|20|0", "bracket.dxf, line 15: this CIRCLE has no radius (group 40)"),
        (
            "0|CIRCLE|8|0|10|0|20|0|40|-1",
            "bracket.dxf, line 15: this CIRCLE is not valid: its radius must be above zero",
        ),
        (
            "0|INSERT|2|GONE|10|0|20|0",
            "bracket.dxf, line 15: block \"GONE\" is inserted but not in the file. Save the drawing with its blocks",
        ),
        ("0|CIRCLE|8|0|10|1e300|20|0|40|1", "bracket.dxf, line 15: a point at (1"),
        (
            "0|SPLINE|8|0|71|3|10|0|20|0",
            "bracket.dxf, line 15: this SPLINE is not valid: it needs more control points than its degree",
        ),
        (
            "0|POLYLINE|8|0|70|1|0|VERTEX|10|0|20|0|0|LINE",
            "bracket.dxf, line 15: this POLYLINE is not valid: its vertices do not end with SEQEND; lines may be missing",
        ),
        (
            "x|LINE",
            "bracket.dxf, line 15: \"x\" where a group code (a whole number) should stand. A line may be missing or extra",
        ),
        ("", "bracket.dxf: nothing to cut in it"),
    ];
    for (entities, message) in cases {
        let said = read(entities).unwrap_err().to_string();
        assert!(said.starts_with(message), "{said}\ninstead of\n{message}");
    }
    for (bytes, found) in [
        (&b"AC1032\0\0"[..], "a DWG drawing"),
        (b"<svg/>", "an XML document"),
        (b"", "an empty file"),
        (b"%PDF-1.7", "a PDF document"),
    ] {
        let error = read_dxf(bytes, &options()).unwrap_err();
        assert_eq!(error, DxfError::NotDxf { file: "bracket.dxf".to_owned(), found });
    }
}

#[test]
fn hostile_blocks_end_quickly() {
    let inside_itself = with_blocks("0|BLOCK|2|A|0|INSERT|2|A|10|0|20|0|0|ENDBLK", "0|INSERT|2|A|10|0|20|0");
    let error = read_dxf(inside_itself.as_bytes(), &options()).unwrap_err();
    assert!(matches!(error, DxfError::BlockWithinItself { .. }), "{error}");

    // Forty blocks, each inserting the one before.
    let chain: Vec<String> =
        (1..40).map(|i| format!("0|BLOCK|2|B{i}|0|INSERT|2|B{}|10|0|20|0|0|ENDBLK", i - 1)).collect();
    let deep = with_blocks(&chain.join("|"), "0|INSERT|2|B39|10|0|20|0");
    let error = read_dxf(deep.as_bytes(), &options()).unwrap_err();
    assert!(matches!(error, DxfError::TooDeep { limit: 32, .. }), "{error}");

    // Twenty blocks, each inserting the one before ten times: 10^20 entities. And one huge array of nothing.
    let bomb: Vec<String> = (1..20)
        .map(|i| format!("0|BLOCK|2|B{i}|{}|0|ENDBLK", vec![format!("0|INSERT|2|B{}|10|0|20|0", i - 1); 10].join("|")))
        .collect();
    let bomb = format!("0|BLOCK|2|B0|0|ENDBLK|{}", bomb.join("|"));
    for entities in ["0|INSERT|2|B19|10|0|20|0", "0|INSERT|2|B0|10|0|20|0|70|32767|71|32767"] {
        let error = read_dxf(with_blocks(&bomb, entities).as_bytes(), &options()).unwrap_err();
        assert!(matches!(error, DxfError::TooManyEntities { .. }), "{error}");
    }

    let limits = DrawingLimits { file_bytes: 1000, entities: 3, ..DrawingLimits::default() };
    let small = DrawingOptions { limits, ..options() };
    let four = file(&vec![circle("0", 0.0, 0.0, 1.0); 4].join("|"));
    assert!(matches!(read_dxf(four.as_bytes(), &small), Err(DxfError::TooManyEntities { limit: 3, .. })));
    assert!(matches!(read_dxf(&[b' '; 1001], &small), Err(DxfError::TooLarge { bytes: 1001, limit: 1000, .. })));
}

#[test]
fn tangles_are_refused() {
    // Ten thousand lines through one another: a hatch on the cut layer.
    let hatch: Vec<[f64; 4]> = (0..10_000)
        .map(|i| {
            let x = f64::from(i) * 0.1;
            [x, 0.0, 1000.0 - x, 1000.0]
        })
        .collect();
    assert!(read(&lines("0", &hatch)).is_err());
    // Nested circles, each within the one before.
    let nested: Vec<String> = (1..500).map(|i| circle("0", 0.0, 0.0, f64::from(i))).collect();
    let found = faults(read(&nested.join("|")));
    let is_deep =
        |note: &Note| matches!(&note.kind, NoteKind::Repeated { first, .. } if **first == NoteKind::NestedTooDeep);
    assert!(found.iter().any(is_deep), "{:?}", found.first());
}
