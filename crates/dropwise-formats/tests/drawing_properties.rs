//! Properties of the drawing readers: a cut-up outline comes back, and no input makes them panic.

use dropwise_formats::drawing::{DrawingLimits, DrawingOptions, FrameUse, LayerUse};
use dropwise_formats::{dxf::read_dxf, svg::read_svg};
use dropwise_geometry::{Outline, Point, Segment, Vector, Vertex};
use proptest::collection::vec;
use proptest::prelude::*;

/// Ends move by less than this in x and y, so that two of them miss each other by less than 0.05 mm.
const JITTER: f64 = 0.017;

/// Radius of a hole in the middle of a [`ring`]: three corners 40 mm out and sides that bow inward by a tenth of their length leave
/// 13 mm.
const HOLE: std::ops::Range<f64> = 1.0..12.0;

/// A ring around the origin, of 3 to 12 lines and arcs, that does not cross itself: with radii of 40 to 60 no corner is
/// so sharp that arcs of these bulges meet beside it.
fn ring() -> impl Strategy<Value = Outline> {
    // Flatter arcs have their centre so far off that the reader takes them for a fault of the drawing.
    let bulge = (-0.2..0.2f64).prop_map(|bulge| if bulge.abs() < 1e-4 { 0.0 } else { bulge });
    let corner = (40.0..60.0f64, prop_oneof![Just(0.0), bulge]);
    vec(corner, 3..=12).prop_map(|corners| {
        let step = std::f64::consts::TAU / corners.len() as f64;
        let at = |i: usize, radius: f64| Point::ORIGIN + Vector::from_angle(step * i as f64) * radius;
        Outline::new(corners.iter().enumerate().map(|(i, &(r, bulge))| Vertex::arc(at(i, r), bulge)).collect())
    })
}

/// How to spoil one piece: order, direction, and by how much its ends move.
fn spoil() -> impl Strategy<Value = (u32, bool, [f64; 4])> {
    (any::<u32>(), any::<bool>(), [-JITTER..JITTER, -JITTER..JITTER, -JITTER..JITTER, -JITTER..JITTER])
}

/// Each side cut into this many pieces, as LINE and ARC entities.
fn entities(outline: &Outline, cuts: usize, spoils: &[(u32, bool, [f64; 4])]) -> Vec<String> {
    let pieces = outline.segments().flat_map(|side| (0..cuts).map(move |i| (side, i)));
    let mut list: Vec<(u32, String)> = pieces
        .zip(spoils)
        .map(|((side, i), &(order, is_reversed, [a, b, c, d]))| {
            let (from, to) = (i as f64 / cuts as f64, (i + 1) as f64 / cuts as f64);
            let text = match side {
                Segment::Line { .. } => {
                    let mut ends = [side.at(from) + Vector::new(a, b), side.at(to) + Vector::new(c, d)];
                    if is_reversed {
                        ends.reverse();
                    }
                    format!("0|LINE|8|0|10|{}|20|{}|11|{}|21|{}|", ends[0].x, ends[0].y, ends[1].x, ends[1].y)
                }
                Segment::Arc { arc, .. } => {
                    // An ARC always runs counter-clockwise; both its ends move with the centre.
                    let mut angles = [from, to].map(|t| (arc.start_angle + arc.sweep * t).to_degrees());
                    if arc.sweep < 0.0 {
                        angles.reverse();
                    }
                    let center = arc.center + Vector::new(a, b);
                    format!(
                        "0|ARC|8|0|10|{}|20|{}|40|{}|50|{}|51|{}|",
                        center.x, center.y, arc.radius, angles[0], angles[1]
                    )
                }
            };
            (order, text)
        })
        .collect();
    list.sort();
    list.into_iter().map(|(_, text)| text).collect()
}

fn dxf(entities: &str) -> String {
    format!("0|SECTION|2|ENTITIES|{entities}0|ENDSEC|0|EOF|").replace('|', "\n")
}

fn distance(outline: &Outline, point: Point) -> f64 {
    let sampled = outline.segments().flat_map(|side| (0..=400).map(move |i| side.at(f64::from(i) / 400.0)));
    sampled.map(|on| on.distance(point)).fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_cut_up_outline_comes_back(outline in ring(), cuts in 1..=3usize, spoils in vec(spoil(), 36), hole in HOLE) {
        let mut list = entities(&outline, cuts, &spoils);
        list.insert(list.len() / 2, format!("0|CIRCLE|8|0|10|0|20|0|40|{hole}|"));
        let drawing = read_dxf(dxf(&list.concat()).as_bytes(), &DrawingOptions::default()).unwrap();
        prop_assert_eq!(drawing.shapes.len(), 1);
        let shape = &drawing.shapes[0].shape;
        prop_assert_eq!(shape.holes().len(), 1);
        prop_assert_eq!(shape.faults(), vec![]);
        let found = shape.exterior();
        prop_assert_eq!(found.vertices().len(), outline.vertices().len() * cuts);
        // Ends join at their mean, so nothing moves by more than the jitter; arcs flex by as much again.
        prop_assert!((found.area() - outline.area()).abs() <= 4.0 * JITTER * outline.perimeter());
        for side in found.segments() {
            for t in [0.0, 0.3, 0.7] {
                let gap = distance(&outline, side.at(t));
                // The samples of the outline lie up to a sixth of a millimetre apart.
                prop_assert!(gap <= 4.0 * JITTER + 0.09, "{gap}");
            }
        }
    }

    #[test]
    fn rounded_corners_stay_sound(
        sides in [30.0..300.0f64, 30.0..300.0f64],
        radius in 0.5..14.0f64,
        cuts in 1..=2usize,
        spoils in vec(spoil(), 16),
    ) {
        let [w, h] = sides;
        let quarter = (std::f64::consts::PI / 8.0).tan();
        let corner = |x: f64, y: f64, bulge: f64| Vertex::arc(Point::new(x, y), bulge);
        let outline = Outline::new(vec![
            corner(radius, 0.0, 0.0), corner(w - radius, 0.0, quarter),
            corner(w, radius, 0.0), corner(w, h - radius, quarter),
            corner(w - radius, h, 0.0), corner(radius, h, quarter),
            corner(0.0, h - radius, 0.0), corner(0.0, radius, quarter),
        ]);
        let list = entities(&outline, cuts, &spoils);
        let drawing = read_dxf(dxf(&list.concat()).as_bytes(), &DrawingOptions::default()).unwrap();
        prop_assert_eq!(drawing.shapes.len(), 1);
        prop_assert_eq!(drawing.shapes[0].shape.faults(), vec![]);
        let (found, wanted) = (drawing.shapes[0].shape.area(), w * h - (4.0 - std::f64::consts::PI) * radius * radius);
        prop_assert!((found - wanted).abs() <= 4.0 * JITTER * outline.perimeter(), "{found} instead of {wanted}");
    }

    #[test]
    fn two_cut_up_outlines_stay_two(one in ring(), other in ring(), spoils in vec(spoil(), 36)) {
        let aside = Outline::new(
            other.vertices().iter().map(|v| Vertex::arc(v.point + Vector::new(150.0, -70.0), v.bulge)).collect(),
        );
        let mut list = entities(&one, 1, &spoils);
        list.extend(entities(&aside, 1, &spoils));
        list.sort();
        let drawing = read_dxf(dxf(&list.concat()).as_bytes(), &DrawingOptions::default()).unwrap();
        let mut areas: Vec<f64> = drawing.shapes.iter().map(|drawn| drawn.shape.area()).collect();
        let mut expected = [one.area(), aside.area()];
        areas.sort_by(f64::total_cmp);
        expected.sort_by(f64::total_cmp);
        prop_assert_eq!(areas.len(), 2);
        for (found, wanted) in areas.iter().zip(expected) {
            prop_assert!((found - wanted).abs() < 4.0 * JITTER * 400.0);
        }
    }
}

/// One of everything that is read.
const DXF_SAMPLE: &str = "0|SECTION|2|HEADER|9|$INSUNITS|70|4|0|ENDSEC|0|SECTION|2|TABLES|0|TABLE|2|LAYER|0|LAYER|2|OFF|70|1|62|-7|0|ENDTAB|\
    0|ENDSEC|0|SECTION|2|BLOCKS|0|BLOCK|2|B|10|1|20|1|0|CIRCLE|8|0|10|0|20|0|40|3|0|ENDBLK|0|ENDSEC|0|SECTION|2|ENTITIES|\
    0|LINE|8|0|10|0|20|0|11|30|21|0|0|ARC|8|0|10|30|20|10|40|10|50|270|51|90|0|LINE|8|0|10|30|20|20|11|0|21|20|\
    0|LINE|8|0|10|0|20|20|11|0|21|0|0|ELLIPSE|8|CUT|10|80|20|0|11|20|21|5|40|0.4|41|0|42|6.283185307179586|\
    0|LWPOLYLINE|8|CUT|90|3|70|1|10|0|20|50|42|0.3|10|30|20|50|10|10|20|80|0|POLYLINE|8|CUT|66|1|70|1|0|VERTEX|10|50|20|50|\
    0|VERTEX|10|70|20|50|42|-0.5|0|VERTEX|10|60|20|70|0|SEQEND|0|SPLINE|8|CUT|70|8|71|3|72|8|73|4|40|0|40|0|40|0|40|0|\
    40|1|40|1|40|1|40|1|10|100|20|50|10|130|20|90|10|90|20|90|10|100|20|50|0|INSERT|8|CUT|2|B|10|200|20|0|41|2|42|1|50|30|\
    70|2|71|2|44|30|45|30|0|INSERT|8|CUT|2|B|10|200|20|-50|210|0|220|0|230|-1|0|TEXT|8|0|10|5|20|5|1|A|0|LINE|8|BEND|\
    10|5|20|0|11|5|21|20|0|ENDSEC|0|EOF|";

const SVG_SAMPLE: &str = "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='100mm' viewBox='0 0 200 100' fill='none' stroke='red'>\
    <defs><rect id='r' width='10' height='5' rx='1'/><symbol id='s' viewBox='0 0 4 4'><circle cx='2' cy='2' r='1'/></symbol></defs>\
    <use href='#r' x='20' y='30'/><use href='#s' x='60' width='9' height='9'/><g id='bend' transform='rotate(9) scale(1 2)'>\
    <line x1='21' y1='1' x2='22' y2='9'/></g><ellipse cx='150' cy='50' rx='9' ry='4'/><polygon points='0,90 9,90 4,99'/>\
    <path d='M100 10h20v9A3 4 20 0 1 110 30C100 30 99 28 98 27S97 20 97 18Q98 12 99 11T100 10z'/><text x='1' y='2'>x</text></svg>";

/// Small limits: a mutation may ask for a million pieces, and the property is about panics.
fn quick() -> DrawingOptions {
    let limits = DrawingLimits { entities: 2_000, pieces: 20_000, ..DrawingLimits::default() };
    DrawingOptions { limits, ..DrawingOptions::default() }
}

/// The binary form, for the codes of the sample.
fn binary(text: &str) -> Vec<u8> {
    let mut bytes = b"AutoCAD Binary DXF\r\n\x1a\0".to_vec();
    let mut fields = text.split('|');
    while let (Some(code), Some(value)) = (fields.next(), fields.next()) {
        let code: i16 = code.trim().parse().unwrap();
        bytes.extend(code.to_le_bytes());
        match code {
            10..=59 | 210..=239 => bytes.extend(value.parse::<f64>().unwrap().to_le_bytes()),
            60..=79 => bytes.extend(value.parse::<i16>().unwrap().to_le_bytes()),
            90..=99 => bytes.extend(value.parse::<i32>().unwrap().to_le_bytes()),
            _ => {
                bytes.extend(value.as_bytes());
                bytes.push(0);
            }
        }
    }
    bytes
}

/// Bytes put in place of others: `(where, how many go, what comes)`, each place a share of the length.
fn edits() -> impl Strategy<Value = Vec<(f64, usize, Vec<u8>)>> {
    let what = prop_oneof![
        vec(any::<u8>(), 0..4),
        Just(b"-".to_vec()),
        Just(b"1e300".to_vec()),
        Just(b"nan".to_vec()),
        Just(b"\n0\n".to_vec()),
        Just(b"\0".to_vec()),
        Just(b"99999999999999999999".to_vec()),
        Just(b"<g>".to_vec()),
        Just("é".as_bytes().to_vec()),
    ];
    vec((0.0..1.0f64, 0..6usize, what), 1..6)
}

fn mutated(original: &[u8], edits: &[(f64, usize, Vec<u8>)]) -> Vec<u8> {
    let mut bytes = original.to_vec();
    for (share, gone, new) in edits {
        let at = (share * bytes.len() as f64) as usize;
        let end = (at + gone).min(bytes.len());
        bytes.splice(at..end, new.iter().copied());
    }
    bytes
}

/// Every way in which a job may have a drawing read.
fn in_every_way(keys: u8) -> DrawingOptions {
    let has = |bit: u8| keys & bit != 0;
    DrawingOptions {
        open_lines: has(1).then_some(LayerUse::Mark),
        skips_faulty: has(2),
        skips_unknown: has(4),
        frame: if has(8) { FrameUse::LeaveOut } else { FrameUse::Guess },
        splits_shared: has(16),
        only_piece: has(32).then_some(1),
        is_stock: has(64),
        true_width: has(128).then_some(100.0),
        ..quick()
    }
}

fn is_sound(result: Result<dropwise_formats::drawing::Drawing, String>) -> bool {
    match result {
        Ok(drawing) => drawing.shapes.iter().all(|drawn| drawn.shape.faults().is_empty()),
        Err(message) => !message.is_empty(),
    }
}

fn dxf_result(bytes: &[u8]) -> Result<dropwise_formats::drawing::Drawing, String> {
    read_dxf(bytes, &quick()).map_err(|error| error.to_string())
}

fn svg_result(text: &str) -> Result<dropwise_formats::drawing::Drawing, String> {
    read_svg(text, &quick()).map_err(|error| error.to_string())
}

#[test]
fn a_plate_of_ten_thousand_holes_is_read() {
    let holes = (0..10_000).map(|i| format!("0|CIRCLE|8|0|10|{}|20|{}|40|3|", i % 100 * 10 + 5, i / 100 * 10 + 5));
    let plate = "0|LWPOLYLINE|8|0|70|1|10|0|20|0|10|1000|20|0|10|1000|20|1000|10|0|20|1000|";
    let text = dxf(&(holes.collect::<String>() + plate));
    let drawing = read_dxf(text.as_bytes(), &DrawingOptions::default()).unwrap();
    assert_eq!((drawing.shapes.len(), drawing.shapes[0].shape.holes().len()), (1, 10_000));
}

#[test]
fn the_samples_are_valid_and_both_forms_agree() {
    let text = dxf_result(DXF_SAMPLE.replace('|', "\n").as_bytes()).unwrap();
    assert_eq!(text.shapes.len(), 10);
    let bytes = dxf_result(&binary(DXF_SAMPLE)).unwrap();
    let shapes = |drawing: &dropwise_formats::drawing::Drawing| {
        drawing.shapes.iter().map(|drawn| drawn.shape.clone()).collect::<Vec<_>>()
    };
    assert_eq!(shapes(&text), shapes(&bytes));
    assert_eq!(svg_result(SVG_SAMPLE).unwrap().shapes.len(), 5);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn arbitrary_bytes_never_panic(bytes in vec(any::<u8>(), 0..400)) {
        prop_assert!(is_sound(dxf_result(&bytes)));
        prop_assert!(is_sound(svg_result(&String::from_utf8_lossy(&bytes))));
        let mut signed = b"AutoCAD Binary DXF\r\n\x1a\0".to_vec();
        signed.extend(&bytes);
        prop_assert!(is_sound(dxf_result(&signed)));
    }

    #[test]
    fn mutated_drawings_are_drawings_or_errors_in_every_way(edits in edits(), keys in any::<u8>()) {
        let options = in_every_way(keys);
        let dxf = mutated(DXF_SAMPLE.replace('|', "\n").as_bytes(), &edits);
        prop_assert!(is_sound(read_dxf(&dxf, &options).map_err(|error| error.to_string())));
        let svg = mutated(SVG_SAMPLE.as_bytes(), &edits);
        prop_assert!(is_sound(read_svg(&String::from_utf8_lossy(&svg), &options).map_err(|error| error.to_string())));
    }

    #[test]
    fn mutated_dxf_never_panics(edits in edits()) {
        prop_assert!(is_sound(dxf_result(&mutated(DXF_SAMPLE.replace('|', "\n").as_bytes(), &edits))));
        prop_assert!(is_sound(dxf_result(&mutated(&binary(DXF_SAMPLE), &edits))));
    }

    #[test]
    fn mutated_svg_never_panics(edits in edits()) {
        prop_assert!(is_sound(svg_result(&String::from_utf8_lossy(&mutated(SVG_SAMPLE.as_bytes(), &edits)))));
    }
}
