//! Files written by hand, with areas by elementary geometry.

use std::f64::consts::PI;

use super::*;
use crate::drawing::{DrawingLimits, NoteKind};
use dropwise_geometry::{Point, Unit};

fn picture(body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"200mm\" \
         height=\"100mm\" viewBox=\"0 0 200 100\" fill=\"none\" stroke=\"#000\">\n{body}\n</svg>"
    )
}

fn options() -> DrawingOptions {
    DrawingOptions::for_file("tray.svg")
}

fn read(body: &str) -> Result<Drawing, SvgError> {
    read_svg(&picture(body), &options())
}

/// Areas of the parts; the only notes allowed are those on layers.
fn areas(body: &str) -> Vec<f64> {
    let drawing = read(body).unwrap_or_else(|error| panic!("{body}: {error}"));
    drawing.shapes.iter().map(|drawn| drawn.shape.area()).collect()
}

#[track_caller]
fn assert_areas(body: &str, expected: &[f64], slack: f64) {
    let found = areas(body);
    let is_near = found.len() == expected.len() && found.iter().zip(expected).all(|(a, b)| (a - b).abs() <= slack);
    assert!(is_near, "{body}: {found:?} instead of {expected:?}");
}

#[test]
fn basic_shapes_have_their_textbook_areas() {
    assert_areas("<circle cx='50' cy='50' r='10'/>", &[100.0 * PI], 1e-9);
    assert_areas("<rect x='10' y='10' width='40' height='20'/>", &[800.0], 1e-9);
    // Quarter circles at the corners: less (4 - π) r².
    assert_areas("<rect width='40' height='20' rx='5'/>", &[800.0 - (4.0 - PI) * 25.0], 1e-9);
    // Radii are cut down to half the sides: a circle, and half ellipses.
    assert_areas("<rect width='20' height='20' rx='99'/>", &[100.0 * PI], 1e-9);
    assert_areas("<rect width='40' height='20' rx='5' ry='2'/>", &[800.0 - (4.0 - PI) * 10.0], 1.0);
    assert_areas("<ellipse cx='50' cy='50' rx='30' ry='10'/>", &[300.0 * PI], 1.4);
    assert_areas("<polygon points='0,0 30,0 0,40'/>", &[600.0], 1e-9);
    assert_areas("<polyline points='0,0 30,0 0,40 0,0'/>", &[600.0], 1e-9);
    let lines = "<line x1='0' y1='0' x2='3cm' y2='0'/><line x1='0' y1='0.02' x2='0' y2='40'/><path d='M30,0L0,40'/>";
    // A centimetre is 96/2.54 units of CSS px, whatever the viewBox makes of one.
    assert!(read(lines).is_err());
    assert_areas(&lines.replace("3cm", "30"), &[600.0], 0.5);
}

#[test]
fn arcs_stay_arcs_under_similarities_only() {
    let count = |body: &str| read(body).unwrap().shapes[0].shape.exterior().vertices().len();
    assert_eq!(count("<g transform='rotate(30) scale(2 -2) translate(3 4)'><circle cx='20' cy='-9' r='5'/></g>"), 2);
    assert!(count("<circle cx='20' cy='20' r='5' transform='scale(2 1)'/>") > 8);
    assert_eq!(count("<rect width='40' height='20' rx='5' transform='rotate(10)'/>"), 8);
    assert_eq!(count("<path d='M10 10 h20 a5 5 0 0 1 0 10 h-20 a5 5 0 0 1 0 -10 z'/>"), 4);
}

#[test]
fn paths_know_every_command() {
    // The same 30 x 20 rectangle in absolute and relative commands.
    for d in [
        "M10 10 L40 10 L40 30 L10 30 Z",
        "m10,10 30,0 0,20 -30,0z",
        "M10 10H40V30H10Z",
        "m10 10h30v20h-30z",
        "M40,10 C40,10 40,30 40,30 S10,30 10,30 L10,10 Z",
        "M10 10 Q25 10 40 10 T40 30 L 10 30 Z",
    ] {
        let body = format!("<path d='{d}'/>");
        let slack = if d.contains('T') { f64::INFINITY } else { 1e-6 };
        assert_areas(&body, &[600.0], slack);
    }
    // A parabola's segment over a chord of 20 with its control point 20 away: two thirds of 20 x 10.
    assert_areas("<path d='M0 50 Q10 30 20 50 Z'/>", &[400.0 / 3.0], 0.5);
    // The smooth twin runs on below the chord with the mirrored control point.
    assert_areas("<path d='M0 50 Q10 30 20 50 T40 50 V80 H0 Z'/>", &[1200.0], 1.0);
    assert_areas("<path d='M0 50 C0 40 20 40 20 50 S40 60 40 50 V80 H0 Z'/>", &[1200.0], 1.0);
    // Two subpaths, the second begun with a relative move after a close: a plate with a hole.
    assert_areas("<path d='M10 10h40v40h-40z m10 10h10v10h-10z'/>", &[1500.0], 1e-9);
    assert_eq!(read("<path d='M10 10h40v40h-40z m10 10h10v10h-10z'/>").unwrap().shapes[0].shape.holes().len(), 1);
}

#[test]
fn elliptical_arcs_follow_the_flags() {
    // Chord 10 of a circle of radius 10/√2: a quarter circle cut off, or what remains.
    let (radius, quarter) = (50f64.sqrt(), 50.0 * (PI / 4.0) - 25.0);
    let arc = |large: u8, sweep: u8| format!("<path d='M20 50 A{radius} {radius} 0 {large} {sweep} 30 50 Z'/>");
    let whole = 50.0 * PI;
    for sweep in [0, 1] {
        assert_areas(&arc(0, sweep), &[quarter], 1e-9);
        assert_areas(&arc(1, sweep), &[whole - quarter], 1e-9);
    }
    // Sweep 1 runs clockwise as seen, above the chord when going right: y up after the flip.
    assert!(read(&arc(0, 1)).unwrap().shapes[0].shape.bounds().max.y > 50.0);
    assert!(read(&arc(0, 0)).unwrap().shapes[0].shape.bounds().min.y < 50.0);
    // Too small a radius is scaled up to a half circle.
    assert_areas("<path d='M20 50 A1 1 0 0 1 40 50 Z'/>", &[50.0 * PI], 1e-9);
    // A half ellipse, its long axis turned on to the chord.
    assert_areas("<path d='M20 50 A5 10 90 0 1 40 50 Z'/>", &[25.0 * PI], 0.4);
    assert_areas("<path d='M20 50 A10 10 0 0 1 40 50 A10 10 0 0 1 20 50'/>", &[100.0 * PI], 1e-9);
}

#[test]
fn units_are_physical_and_y_points_up() {
    let size = |attributes: &str, options: &DrawingOptions| {
        let text = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' {attributes}><rect x='0' y='0' width='96' height='48'/></svg>"
        );
        let drawing = read_svg(&text, options).unwrap();
        let bounds = drawing.shapes[0].shape.bounds();
        let is_assumed = drawing.notes.iter().any(|note| matches!(note.kind, NoteKind::UnitAssumed { .. }));
        let round = |value: f64| (value * 1e9).round() / 1e9;
        ([bounds.min.y, bounds.width(), bounds.height()].map(round), is_assumed)
    };
    assert_eq!(size("width='192mm' height='96mm' viewBox='0 0 192 96'", &options()), ([48.0, 96.0, 48.0], false));
    assert_eq!(size("width='2in' height='1in'", &options()), ([12.7, 25.4, 12.7], false));
    assert_eq!(size("width='192' height='96'", &options()), ([12.7, 25.4, 12.7], true));
    assert_eq!(size("viewBox='0 0 192 96'", &options()), ([12.7, 25.4, 12.7], true));
    assert_eq!(size("width='100%' height='100%' viewBox='0 0 192 96'", &options()).0, [12.7, 25.4, 12.7]);
    assert_eq!(size("width='38.4cm' viewBox='0 0 192 96'", &options()), ([96.0, 192.0, 96.0], false));
    // The picture is centred in a window of another proportion: 96 mm too high.
    assert_eq!(size("width='192mm' height='192mm' viewBox='0 0 192 96'", &options()).0, [96.0, 96.0, 48.0]);
    let inches = DrawingOptions { unit: Some(Unit::Inch.into()), ..options() };
    assert_eq!(size("viewBox='0 0 192 96'", &inches), ([1219.2, 2438.4, 1219.2], false));
}

#[test]
fn uses_symbols_and_nested_pictures() {
    let plate = "<defs><rect id='plate' width='10' height='5'/></defs>";
    let drawing = read(&format!(
        "{plate}<use href='#plate' x='20' y='30'/><use xlink:href='#plate' transform='translate(100 50) scale(2)'/>"
    ))
    .unwrap();
    let found: Vec<_> = drawing.shapes.iter().map(|drawn| (drawn.shape.bounds().min, drawn.shape.area())).collect();
    assert_eq!(found.len(), 2);
    assert!(found[0].0.distance(Point::new(20.0, 65.0)) < 1e-9 && (found[0].1 - 50.0).abs() < 1e-9);
    assert!(found[1].0.distance(Point::new(100.0, 40.0)) < 1e-9 && (found[1].1 - 200.0).abs() < 1e-9);
    assert_areas(
        "<symbol id='s' viewBox='0 0 10 10'><circle cx='5' cy='5' r='5'/></symbol><use href='#s' width='40' height='40'/>",
        &[400.0 * PI],
        1e-9,
    );
    assert_areas(
        "<svg x='50' width='20' height='20' viewBox='0 0 10 10'><circle cx='5' cy='5' r='5'/></svg>",
        &[100.0 * PI],
        1e-9,
    );
}

#[test]
fn hidden_things_texts_and_images_are_left_out() {
    let drawing = read(
        "<rect id='tray' width='90' height='60'/><g style='display: none'><circle r='9'/></g>\
         <circle cx='10' cy='10' r='3' visibility='hidden'/><text x='5' y='50'>TRAY 2</text><image width='9' height='9'/>\
         <style>.a{fill:red}</style><script>alert(1)</script><use href='other.svg#x'/>",
    )
    .unwrap();
    assert_eq!((drawing.shapes.len(), drawing.shapes[0].shape.holes().len()), (1, 0));
    assert_eq!(drawing.shapes[0].labels, ["tray", "TRAY 2"]);
    let said: Vec<String> = drawing.notes.iter().map(ToString::to_string).collect();
    assert!(said.contains(&"left out: 1 image(s), 2 shape(s) that show nothing, 1 text(s)".to_owned()), "{said:?}");
    for what in ["script(s)", "reference(s) to other files"] {
        assert!(said.iter().any(|note| note.starts_with(&format!("1 {what} ignored"))), "{said:?}");
    }
}

#[test]
fn groups_are_layers() {
    let drawing = read(
        "<rect width='90' height='60'/><g id='bend'><line x1='30' y1='0' x2='30' y2='60'/></g>\
         <g xmlns:p='urn:example' p:label='Etching'><path d='M10 10 h10'/></g>\
         <g xmlns:p='urn:example' p:label='Dimensions'><path d='M0 70 h90'/></g>",
    )
    .unwrap();
    let part = &drawing.shapes[0];
    assert_eq!((drawing.shapes.len(), part.bend_lines.len(), part.mark_lines.len()), (1, 1, 1));
}

#[test]
fn messages_name_the_line_and_the_cure() {
    let cases = [
        (
            "<rect width='-1' height='2'/>",
            "tray.svg, line 2: width=\"-1\" of <rect> should be a length of zero or more",
        ),
        (
            "<rect width='wide' height='2'/>",
            "tray.svg, line 2: width=\"wide\" of <rect> should be a length, such as 12 or 3mm",
        ),
        ("<path d='M0 0 L10 x'/>", "tray.svg, line 2: d=\"M0 0 L10 x\" of <path> should be path data"),
        ("<polygon points='0,0 1,0 a'/>", "tray.svg, line 2: points="),
        ("<g transform='spin(3)'/>", "tray.svg, line 2: transform=\"spin(3)\" of <g> should be a list such as"),
        ("<use href='#gone'/>", "tray.svg, line 2: <use> of \"#gone\", which is not in the file"),
        ("<g id='a'>\n<use href='#a'/></g>", "tray.svg, line 3: <use> of \"#a\" within itself"),
        ("<circle r='1e300'/>", "tray.svg, line 2: a point at ("),
        ("<g>", "tray.svg, line 3, column "),
        (
            "<path d='M0 0 h10 v10'/>",
            "tray.svg: the drawing cannot be cut as it is\n  tray.svg, line 2, at (0, 100) mm: this contour of 20 mm is open",
        ),
        ("<text>x</text>", "tray.svg: nothing to cut in it: left out: 1 text(s)"),
    ];
    for (body, message) in cases {
        let said = read(body).unwrap_err().to_string();
        assert!(said.starts_with(message), "{said}\ninstead of\n{message}");
    }
    let error = read_svg("<html/>", &options()).unwrap_err();
    assert_eq!(error, SvgError::NotSvg { file: "tray.svg".to_owned(), found: "html".to_owned() });
}

#[test]
fn entities_are_refused_and_a_bare_document_type_is_not() {
    let bomb =
        "<!DOCTYPE svg [\n<!ENTITY a 'aaaa'>\n<!ENTITY b '&a;&a;'>]><svg xmlns='http://www.w3.org/2000/svg'>&b;</svg>";
    let error = read_svg(bomb, &options()).unwrap_err();
    assert_eq!(
        error,
        SvgError::Entities { file: "tray.svg".to_owned(), spot: Spot::Line(3) },
        "the second names the first"
    );
    let old = format!(
        "<?xml version=\"1.0\"?><!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\" \
         \"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd\">{}",
        picture("<circle cx='9' cy='9' r='2'/>")
    );
    assert_eq!(read_svg(&old, &options()).unwrap().shapes.len(), 1);
}

#[test]
fn hostile_files_are_refused() {
    // Each of thirty groups uses the one before ten times: 10^30 circles.
    let groups: String =
        (1..30).map(|i| format!("<g id='g{i}'>{}</g>", format!("<use href='#g{}'/>", i - 1).repeat(10))).collect();
    let bomb = format!("<defs><circle id='g0' r='1'/>{groups}</defs><use href='#g29'/>");
    assert!(matches!(read(&bomb), Err(SvgError::TooManyEntities { .. })));
    let ring = "<defs><g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g></defs><use href='#a'/>";
    assert!(matches!(read(ring), Err(SvgError::UseWithinItself { .. })));
    let deep = format!("{}<circle r='1'/>{}", "<g>".repeat(300_000), "</g>".repeat(300_000));
    assert!(matches!(read(&deep), Err(SvgError::TooDeep { .. } | SvgError::Xml { .. })));
    let limits = DrawingLimits { file_bytes: 100, ..DrawingLimits::default() };
    let small = DrawingOptions { limits, ..options() };
    assert!(matches!(read_svg(&picture(""), &small), Err(SvgError::TooLarge { limit: 100, .. })));
    // A curve a thousand kilometres long within a hundredth of a millimetre.
    let long = "<path d='M0 0 C 9e6 9e6 -9e6 9e6 9e5 0 S 9e6 -9e6 -9e6 9e6 S 5e6 1e6 -3e6 2e6 Z'/>";
    assert!(read(long).is_err());
}
