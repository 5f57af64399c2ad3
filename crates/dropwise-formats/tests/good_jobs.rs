//! Job files that are right, and what becomes of them.

use std::f64::consts::PI;
use std::path::Path;

use dropwise_formats::drawing::Severity;
use dropwise_formats::{HoleWork, LoadedJob, load_job, parse_job};
use dropwise_geometry::Unit;
use dropwise_model::{Need, Turns};
use dropwise_shop::{CuttingRate, WeightRule};
use proptest::prelude::*;

const SETTINGS: &str =
    "defaults = { material = \"mild steel\", thickness = \"1/8 in\" }\nclearances = { process = \"plasma\" }\n";
const PART: &str = "[[parts]]\nname = \"plate\"\nrectangle = { width = 10, height = 5 }\n";

#[track_caller]
fn job(text: &str) -> LoadedJob {
    parse_job(Path::new("shop/job.toml"), text)
        .unwrap_or_else(|errors| panic!("{}", errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")))
}

fn with_part(keys: &str) -> LoadedJob {
    job(&format!(
        "{SETTINGS}[[sheets]]\nname = \"drop\"\nrectangle = {{ width = 900, height = 600 }}\n[[parts]]\nname = \"part\"\n{keys}\n"
    ))
}

fn with_sheet(settings: &str, keys: &str) -> LoadedJob {
    job(&format!("{settings}{SETTINGS}{PART}[[sheets]]\nname = \"drop\"\n{keys}\n"))
}

fn area(keys: &str) -> f64 {
    with_part(keys).job.parts()[0].shape.area()
}

#[track_caller]
fn assert_near(value: f64, expected: f64) {
    assert!((value - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{value} is not {expected}");
}

/// Areas by elementary geometry.
#[test]
fn parts_by_dimensions_have_the_areas_of_their_forms() {
    assert_near(area("rectangle = { width = 120, height = \"80 mm\" }"), 9600.0);
    assert_near(area("rectangle = { width = 120, height = 80, corner_radius = 10 }"), 9600.0 - (400.0 - 100.0 * PI));
    assert_near(area("rectangle = { width = 120, height = 80, chamfer = 10 }"), 9600.0 - 200.0);
    assert_near(area("polygon = { points = [[0, 0], [40, 0], [0, 30]] }"), 600.0);
    assert_near(area("polygon = { points = [[0, 30], [40, 0], [0, 0]] }"), 600.0);
    assert_near(area("circle = { diameter = \"6 in\" }"), PI * 76.2 * 76.2);
    assert_near(area("ring = { outer_diameter = 90, inner_diameter = 50 }"), PI * (45.0 * 45.0 - 25.0 * 25.0));
    assert_near(area("slot = { length = 90, width = 30 }"), 60.0 * 30.0 + PI * 225.0);
    assert_near(area("l_shape = { length_x = 150, width_x = 40, length_y = 100 }"), 150.0 * 40.0 + 60.0 * 40.0);
    assert_near(area("gusset = { leg_x = 100, leg_y = 80 }"), 4000.0);
    assert_near(
        area("notched = { width = 80, height = 50, notches = [{ width = 20, height = 15, at = \"top right\" }] }"),
        3700.0,
    );
}

#[test]
fn bites_may_be_taken_from_every_corner_and_edge() {
    let places = ["bottom left", "bottom right", "top right", "top left"].map(|at| (at, ""));
    let edges = ["bottom", "right", "top", "left"].map(|at| (at, ", start = 30"));
    let mut bites = Vec::new();
    for (at, start) in places.into_iter().chain(edges) {
        bites.push(format!("{{ width = 8, height = 6, at = \"{at}\"{start} }}"));
        let notched = |bites: &str| area(&format!("notched = {{ width = 100, height = 90, notches = [{bites}] }}"));
        assert_near(notched(bites.last().expect("just pushed")), 9000.0 - 48.0);
        assert_near(notched(&bites.join(", ")), 9000.0 - 48.0 * bites.len() as f64);
    }
}

#[test]
fn openings_are_placed_from_edges_and_the_middle() {
    let loaded = with_part(
        "rectangle = { width = 120, height = 80 }\n\
         holes = [{ diameter = 4, at = [20, 15] }, { diameter = 5, at = { right = 20, top = 15 } }, { diameter = 6 }, \
         { diameter = 7, at = { center_x = -30, bottom = 60 } }]\n\
         hole_rows = [{ diameter = 2, count = 3, pitch = 10, at = [50, 10] }, { diameter = 3, count = 2, overall = 80, middle = { top = 8 } }]",
    );
    let middles: Vec<(f64, f64, f64)> =
        loaded.parts[0].holes.iter().map(|hole| (hole.diameter, hole.center.x, hole.center.y)).collect();
    assert_eq!(
        middles,
        [
            (2.0, 50.0, 10.0),
            (2.0, 60.0, 10.0),
            (2.0, 70.0, 10.0),
            (3.0, 20.0, 72.0),
            (3.0, 100.0, 72.0),
            (4.0, 20.0, 15.0),
            (5.0, 100.0, 65.0),
            (6.0, 60.0, 40.0),
            (7.0, 30.0, 60.0),
        ]
    );
}

/// ISO 273: M6 6.6 medium, 6.4 fine. "Tap and clearance drill chart": #8 11/64 in, 1/4-20 drilled 0.201 in. "Mechanical
/// Engineer's Data Handbook": M6 tapped in 5.0. ISO 15977 (from memory): a 4 mm rivet in 4.1.
#[test]
fn holes_are_sized_by_what_goes_into_them() {
    let of = |size: &str| {
        let loaded = with_part(&format!("rectangle = {{ width = 120, height = 80 }}\nholes = [{{ {size} }}]"));
        (loaded.parts[0].holes[0].diameter, loaded.parts[0].worked_holes.first().map(|hole| hole.work))
    };
    assert_eq!(of("clearance = \"M6\""), (6.6, None));
    assert_eq!(of("clearance = { screw = \"M6\", fit = \"fine\" }"), (6.4, None));
    assert_near(of("clearance = \"#8\"").0, 11.0 / 64.0 * 25.4);
    assert_eq!(of("rivet = 4"), (4.1, None));
    assert_eq!(of("tap = \"M6\""), (5.0, Some(HoleWork::Tapped { major: 6.0, pitch: 1.0 })));
    let (drill, work) = of("tap = \"1/4-20\"");
    assert_near(drill, 0.201 * 25.4);
    assert!(matches!(work, Some(HoleWork::Tapped { major, pitch }) if major == 6.35 && (pitch - 1.27).abs() < 1e-9));
}

#[test]
fn openings_are_placed_by_their_edges_as_well() {
    let middle = |opening: &str| {
        let loaded = with_part(&format!("rectangle = {{ width = 120, height = 80 }}\n{opening}"));
        loaded.job.parts()[0].shape.holes()[0].bounds()
    };
    let cutout = middle("cutouts = [{ width = 20, height = 10, edges = { left = 15, top = 12 } }]");
    assert_near(cutout.min.x, 15.0);
    assert_near(cutout.max.y, 80.0 - 12.0);
    let turned = middle("cutouts = [{ width = 20, height = 10, angle = 30, edges = { right = 9, bottom = 7 } }]");
    assert_near(turned.max.x, 120.0 - 9.0);
    assert_near(turned.min.y, 7.0);
    let rounded =
        middle("cutouts = [{ width = 20, height = 12, corner_radius = 6, angle = 90, edges = { left = 9 } }]");
    assert_near(rounded.min.x, 9.0);
    assert_near(rounded.center().y, 40.0);
    let slot = middle("slots = [{ length = 30, width = 8, angle = 45, edges = { left = 5, bottom = 6 } }]");
    assert_near(slot.min.x, 5.0);
    assert_near(slot.min.y, 6.0);
    let hole = middle("holes = [{ diameter = 9, edges = { left = 11, center_y = 3 } }]");
    assert_near(hole.min.x, 11.0);
    assert_near(hole.center().y, 43.0);
}

/// A quarter of a circle leaves (1 − π/4) r² in each inside corner.
#[test]
fn bites_may_have_rounded_corners() {
    let of = |bite: &str| {
        area(&format!("notched = {{ width = 100, height = 60, notches = [{{ width = 30, height = 20, {bite} }}] }}"))
    };
    let left = (1.0 - std::f64::consts::FRAC_PI_4) * 64.0;
    assert_near(of("at = \"top right\", inside_radius = 8") - of("at = \"top right\""), left);
    assert_near(of("at = \"bottom\", start = 20, inside_radius = 8") - of("at = \"bottom\", start = 20"), 2.0 * left);
}

/// By hand: 30 × 20 1/4 × 1/8 in of steel at 0.2836 lb/in³ weigh 21.5 lb, which at 0.40 per lb come to 8.61.
#[test]
fn a_drop_priced_by_the_pound_costs_what_the_yard_says() {
    let loaded =
        with_sheet("unit = \"in\"\n", "rectangle = { width = 30, height = \"20 1/4\" }\nprice = \"0.40 per lb\"");
    let sheet = &loaded.job.sheets()[0];
    let pounds = sheet.weight * sheet.shape.area() / 0.453_592_37;
    assert!((pounds - 21.5).abs() < 0.5, "{pounds}");
    assert!((sheet.price.coins() - 861).abs() <= 2, "{:?}", sheet.price);
}

/// Steel Buyers Basics: 16 ga carbon sheet of 48 x 96 in weighs 80 lb by the gauge book.
#[test]
fn the_gauge_book_may_be_asked_for() {
    let loaded = with_sheet(
        "unit = \"in\"\nweights = \"gauge book\"\n",
        "thickness = \"16 ga\"\nrectangle = { width = 96, height = 48 }\nprice = \"1 per lb\"",
    );
    assert_eq!(loaded.weight_rule, WeightRule::GaugeBook);
    assert_eq!(loaded.job.sheets()[0].price.coins(), 8000);
}

#[test]
fn classes_keep_materials_and_gauges_apart() {
    let loaded = job(&format!(
        "{SETTINGS}{PART}\
         [[sheets]]\nname = \"a\"\nthickness = \"11 ga\"\ncircle = {{ diameter = 90 }}\n\
         [[sheets]]\nname = \"b\"\nthickness = \"11 ga\"\nmaterial = \"galvanised\"\ncircle = {{ diameter = 90 }}\n\
         [[sheets]]\nname = \"c\"\nthickness = \".120 in\"\ncircle = {{ diameter = 90 }}\n\
         [[sheets]]\nname = \"d\"\ncircle = {{ diameter = 90 }}\n"
    ));
    let class = |index: usize| &loaded.job.sheets()[index].class;
    assert_eq!(class(0), class(2), ".120 in is 11 ga of plain steel");
    assert_ne!(class(0), class(1));
    assert_eq!(class(3), &loaded.job.parts()[0].class, "both take the default");
}

#[test]
fn turns_flips_and_fillers() {
    let turns = |keys: &str| with_part(&format!("circle = {{ diameter = 9 }}\n{keys}")).job.parts()[0].clone();
    assert_eq!(turns("").turns, Turns::Any);
    assert_eq!(turns("turns = [450, 0, 90]").turns, Turns::List(vec![0.0, 90.0]));
    assert_eq!(turns("turns = \"grain\"").turns, Turns::Grain { along_deg: 0.0 });
    assert_eq!(turns("turns = { grain = 30 }").turns, Turns::Grain { along_deg: 30.0 });
    assert!(turns("").may_flip, "a part may be flipped unless it says otherwise");
    assert!(!turns("good_face = true").may_flip);
    assert!(!turns("may_flip = false").may_flip);
    assert_eq!((turns("").need, turns("filler = true").need), (Need::Required, Need::Filler));
}

#[test]
fn damage_lies_where_it_was_measured() {
    let loaded = with_sheet(
        "",
        "rectangle = { width = 600, height = 400 }\ngrain = \"y\"\n\
         damage = [{ width = 100, height = 60, corner = { right = 0, top = 0 } }, { width = 100, height = 60, at = [50, 30] }, \
         { diameter = 40, at = { right = 100, bottom = 50 } }]",
    );
    let sheet = &loaded.job.sheets()[0];
    let boxes: Vec<[f64; 4]> =
        sheet.damage.iter().map(|zone| zone.bounds()).map(|b| [b.min.x, b.min.y, b.max.x, b.max.y]).collect();
    assert_eq!(boxes, [[500.0, 340.0, 600.0, 400.0], [0.0, 0.0, 100.0, 60.0], [480.0, 30.0, 520.0, 70.0]]);
    assert_eq!(sheet.grain_deg, Some(90.0));
}

#[test]
fn a_sheet_by_tape_closes_and_says_how_well() {
    // 400 x 300 with its diagonals of 500: Pythagoras.
    let taped = |diagonals: &str| {
        with_sheet(
            "",
            &format!("tape = {{ sides = [400, 300, 400, 300], diagonals = [{diagonals}] }}\nprice = \"paid\""),
        )
    };
    let loaded = taped("{ from = 1, to = 3, length = 500 }");
    assert_near(loaded.job.sheets()[0].shape.area(), 120_000.0);
    assert!(loaded.notes[0].text.starts_with("no length is measured twice over"), "{}", loaded.notes[0]);
    assert!(loaded.notes[0].text.contains("90°, 90°, 90°, 90°. Is it so?"), "{}", loaded.notes[0]);
    let loaded = taped("{ from = 1, to = 3, length = 500 }, { from = 2, to = 4, length = 520 }");
    assert_eq!(loaded.notes[0].severity, Severity::Warning);
    assert!(loaded.notes[0].text.starts_with("the tape closes within"), "{}", loaded.notes[0]);
    assert!(loaded.notes[0].text.contains("its corners come out at 9"), "{}", loaded.notes[0]);
}

/// Gauges by the tables: 16 ga is 0.0598 in of steel, 0.0635 in galvanized (Manufacturers' Standard and galvanized sheet gauge).
#[test]
fn a_thickness_out_of_the_wrong_gauge_table_is_asked_about_once() {
    let notes = |material: &str, thickness: &str| {
        let settings = format!(
            "unit = \"in\"\ndefaults = {{ material = \"{material}\", thickness = {thickness} }}\nclearances = {{ process = \"plasma\" }}\n"
        );
        let two = format!("{PART}{}", PART.replace("plate", "lid"));
        let loaded = job(&format!("{settings}{two}[[sheets]]\nname = \"a\"\ncircle = {{ diameter = 90 }}\n"));
        let told: Vec<String> = loaded.notes.iter().map(|note| note.text.clone()).collect();
        told.into_iter().filter(|text| text.contains(" ga is meant")).collect::<Vec<_>>()
    };
    let told = notes("galvanized steel", "0.0598");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("is 16 ga of mild steel; 16 ga of galvanized steel is 0.063") || told[0].contains("0.064"),
        "{told:?}"
    );
    assert!(told[0].contains("write \"16 ga\""), "{told:?}");
    // Its own table, a gauge as such, and sizes that metal is sold in.
    for (material, thickness) in [
        ("mild steel", "0.0598"),
        ("galvanized steel", "\"16 ga\""),
        ("galvanized steel", "\"1/8\""),
        ("5052", "\"3 mm\""),
        ("brass", "\"1.5 mm\""),
    ] {
        assert!(notes(material, thickness).is_empty(), "{material}, {thickness}: {:?}", notes(material, thickness));
    }
}

#[test]
fn stock_by_length_has_the_terms_of_the_yard() {
    let loaded = with_sheet(
        "unit = \"in\"\n",
        "strip = { width = 48, longest = \"20 ft\", increment = 6, shortest = \"2 ft\" }\nprice = \"4.25 per ft\"",
    );
    let sheet = &loaded.job.sheets()[0];
    assert_eq!(sheet.quantity, None);
    let terms = sheet.open_length.expect("sold by length");
    assert_near(terms.order_length(30.1 * 25.4), 36.0 * 25.4);
    assert_near(terms.order_length(3.0 * 25.4), 24.0 * 25.4);
    assert_eq!(terms.price(36.0 * 25.4).coins(), 1275);
}

#[test]
fn clearances_come_from_the_process_unless_given() {
    let loaded = job(&format!(
        "clearances = {{ process = \"laser\", margin = \"1/2 in\" }}\ndefaults = {{ material = \"brass\", thickness = 6 }}\n{PART}\
         [[sheets]]\nname = \"a\"\ncircle = {{ diameter = 90 }}\n"
    ));
    let clearances = loaded.job.clearances();
    // The web of a laser is the thickness of the sheet or 2 to 3 mm, whichever is more (from memory).
    assert_near(clearances.web(), 6.0);
    assert_near(clearances.margin(), 12.7);
}

#[test]
fn leftovers_follow_the_unit_of_the_job() {
    let rule = |settings: &str| *with_sheet(settings, "circle = { diameter = 90 }").job.leftover_rule();
    let (metric, inch) = (rule(""), rule("unit = \"in\"\n"));
    // From memory: 300 x 300 mm or 12 x 12 in; no published standard is known.
    assert_eq!((metric.length, metric.width, metric.neck), (300.0, 300.0, 100.0));
    assert_near(inch.length, 304.8);
    let given = rule("leftovers = { length = 500, width = 90 }\n");
    assert_eq!((given.length, given.width, given.neck), (500.0, 90.0, 30.0));
    let given = rule("leftovers = { length = 200 }\n");
    assert_eq!((given.length, given.width), (200.0, 200.0));
}

#[test]
fn work_is_counted_and_priced() {
    let text = "rates = { cutting = \"1.20 per m\", hole = 0.4, bend = 0.75, setup = 5, scrap = \"0.10 per lb\" }\n";
    let part = "[[sheets]]\nname = \"drop\"\ncircle = { diameter = 900 }\n[[parts]]\nname = \"part\"\nbends = 2\n\
                rectangle = { width = 100, height = 50 }\nholes = [{ diameter = 10 }, { diameter = 20, at = [20, 25] }]\n";
    let loaded = job(&format!("{text}{SETTINGS}{part}"));
    assert_eq!(loaded.rates.cutting, Some(CuttingRate::ByLength { coins_per_millimetre: 0.12 }));
    assert_eq!((loaded.rates.coins_per_hole, loaded.rates.setup_per_batch.coins()), (40.0, 500));
    let work = loaded.parts[0].work;
    assert_eq!((work.bends, work.drilled_holes), (2, 1), "20 mm is cut, not drilled");
    assert_near(work.cut_length.expect("less than all"), 300.0 + 20.0 * PI);
    let undrilled = job(&format!("{SETTINGS}{part}"));
    assert_eq!((undrilled.parts[0].work.drilled_holes, undrilled.parts[0].work.cut_length), (0, None));
    // 0.10 per lb of steel 1/8 in thick: 7.85 g/cm³.
    let per_area = 7.85e-6 * 3.175 / 0.453_592_37 * 10.0;
    assert_near(loaded.job.sheets()[0].scrap_worth, per_area);
}

#[test]
fn parts_that_look_too_large_are_told_before_the_search() {
    let text = |width: &str| {
        format!(
            "{SETTINGS}[[parts]]\nname = \"p\"\nrectangle = {{ width = {width}, height = 80 }}\n\
                 [[sheets]]\nname = \"s\"\nrectangle = {{ width = 600, height = 400 }}\n"
        )
    };
    let warnings = |text: &str| {
        let loaded = job(text);
        loaded
            .notes
            .iter()
            .filter(|note| note.severity == Severity::Warning)
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    assert_eq!(warnings(&text("500")), Vec::<String>::new());
    assert_eq!(
        warnings(&text("8000")),
        [
            "shop/job.toml:3:1: parts[1] \"p\": is 8000 mm x 80 mm; with the edge margin of 10 mm on both sides that is more than any \
          sheet of mild steel, 3.18 mm (0.125 in) offers (the largest is 600 mm x 400 mm). Check its unit, or add a larger \
          sheet"
        ]
    );
    let wrong = text("500").replace("[[sheets]]", "[[sheets]]\nmaterial = \"brass\"");
    assert!(
        warnings(&wrong)[0].contains("no sheet is mild steel, 3.18 mm (0.125 in); the nearest is brass"),
        "{:?}",
        warnings(&wrong)
    );
}

#[test]
fn drawings_and_lists_are_read_from_the_folder_of_the_job() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("written");
    let circle = |x: u32, radius: u32| format!("0\nCIRCLE\n8\nCUT\n10\n{x}\n20\n40\n40\n{radius}\n");
    let entities = format!("{}{}{}", circle(30, 20), circle(30, 4), circle(100, 10));
    write("washers.dxf", &format!("0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"));
    write(
        "rack.csv",
        "tag;metal;gauge;length (in);width (in);qty;drawing\nA;mild steel;11;24;12,5;2;\nB;brass;;;;;washers.dxf\n",
    );
    write(
        "badge.svg",
        "<svg xmlns='http://www.w3.org/2000/svg' width='90mm' height='50mm' viewBox='0 0 90 50'><rect width='60' height='30'/></svg>",
    );
    write(
        "job.toml",
        &format!(
            "sheet_lists = [{{ file = \"rack.csv\" }}]\n{SETTINGS}\
             [[parts]]\nname = \"washer\"\ndrawing = {{ file = \"washers.dxf\" }}\n\
             [[parts]]\nname = \"disc\"\ndrawing = {{ file = \"washers.dxf\", unit = \"in\", piece = 2 }}\n\
             [[parts]]\nname = \"badge\"\ndrawing = {{ file = \"badge.svg\" }}\nholes = [{{ diameter = 5 }}]\n"
        ),
    );
    let loaded = load_job(&folder.path().join("job.toml")).unwrap_or_else(|errors| panic!("{errors:#?}"));
    let parts: Vec<(&str, f64)> =
        loaded.job.parts().iter().map(|part| (part.name.as_str(), part.shape.area())).collect();
    let expected = [
        ("washer 1", PI * (400.0 - 16.0)),
        ("washer 2", PI * 100.0),
        ("disc", PI * 100.0 * 25.4 * 25.4),
        ("badge", 1800.0 - PI * 6.25),
    ];
    for ((name, area), (expected_name, expected_area)) in parts.iter().zip(expected) {
        assert_eq!(*name, expected_name);
        assert_near(*area, expected_area);
    }
    let sheets: Vec<(&str, Option<u32>)> = loaded.job.sheets().iter().map(|s| (s.name.as_str(), s.quantity)).collect();
    assert_eq!(sheets, [("A", Some(2)), ("B 1", Some(1)), ("B 2", Some(1))]);
    assert_near(loaded.job.sheets()[0].shape.area(), 24.0 * 12.5 * 25.4 * 25.4);
    assert_eq!(loaded.parts[0].holes.len(), 1, "the bore of the washer");
    assert_eq!(loaded.unit, Unit::Millimetre);
}

#[test]
fn json_says_the_same_as_toml() {
    let toml = format!(
        "name = \"Same\"\n{SETTINGS}{PART}[[sheets]]\nname = \"drop\"\ncircle = {{ diameter = \"2' 3 1/2\\\"\" }}\n"
    );
    let value: serde_json::Value = toml::from_str(&toml).expect("TOML");
    let from_json = parse_job(Path::new("job.json"), &value.to_string()).expect("the same job");
    assert_eq!(from_json.job, job(&toml).job);
    assert_near(from_json.job.sheets()[0].shape.bounds().width(), 27.5 * 25.4);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever the text, the answer is a job or at least one error.
    #[test]
    fn any_text_is_a_job_or_errors(text in ".{0,200}", is_json: bool) {
        let file = if is_json { "job.json" } else { "job.toml" };
        if let Err(errors) = parse_job(Path::new(file), &text) {
            prop_assert!(!errors.is_empty());
        }
    }

    /// The same for what looks like a job: words of the file in any order.
    #[test]
    fn any_words_are_a_job_or_errors(words in proptest::collection::vec(proptest::sample::select(&WORDS[..]), 0..40)) {
        let text = format!("{SETTINGS}{PART}{}", words.concat());
        if let Err(errors) = parse_job(Path::new("job.toml"), &text) {
            prop_assert!(!errors.is_empty());
        }
    }

    /// Whatever the numbers, a part is made or refused; what is made has the area of its form.
    #[test]
    fn any_numbers_make_a_part_or_errors(width in number(), height in number(), radius in number(), x in number()) {
        let text = format!(
            "{SETTINGS}[[sheets]]\nname = \"s\"\ncircle = {{ diameter = 900 }}\n[[parts]]\nname = \"p\"\n\
             rectangle = {{ width = {width:?}, height = {height:?}, corner_radius = {radius:?} }}\n\
             holes = [{{ diameter = {radius:?}, at = [{x:?}, {height:?}] }}]\n"
        );
        match parse_job(Path::new("job.toml"), &text) {
            Ok(loaded) => prop_assert!(loaded.job.parts()[0].shape.area() <= width * height),
            Err(errors) => prop_assert!(!errors.is_empty()),
        }
    }
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        -10.0..500.0,
        any::<f64>(),
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(1e308),
        Just(-1e308),
        Just(5e-324),
        Just(0.0),
    ]
}

const WORDS: [&str; 32] = [
    "[[parts]]\n",
    "[[sheets]]\n",
    "name = \"a\"\n",
    "name = \"b\"\n",
    "quantity = 3\n",
    "rectangle = ",
    "circle = ",
    "ring = ",
    "{ width = 100, height = 50 }\n",
    "{ diameter = 40 }\n",
    "{ outer_diameter = 90, inner_diameter = 40 }\n",
    "holes = ",
    "[{ diameter = 9 }]\n",
    "[{ diameter = 9, at = [20, 15] }]\n",
    "damage = ",
    "turns = ",
    "\"any\"\n",
    "[0, 90]\n",
    "\"grain\"\n",
    "price = ",
    "\"0.42 per lb\"\n",
    "9\n",
    "tape = ",
    "{ sides = [300, 400, 500] }\n",
    "{ sides = [1, 1, 9] }\n",
    "strip = ",
    "{ width = 500, longest = 3000 }\n",
    "thickness = \"16 ga\"\n",
    "grain = \"x\"\n",
    "filler = true\n",
    "[",
    "\n",
];

#[test]
fn a_shear_is_warned_of() {
    let notes = |process: &str| {
        let text = format!(
            "unit = \"mm\"\ndefaults = {{ material = \"mild steel\", thickness = 2 }}\n\
             clearances = {{ process = \"{process}\" }}\n\
             [[parts]]\nname = \"strip\"\nrectangle = {{ width = 200, height = 50 }}\n\
             [[sheets]]\nname = \"drop\"\nrectangle = {{ width = 600, height = 400 }}\n"
        );
        let loaded = parse_job(Path::new("job.toml"), &text).expect("a sound job");
        loaded.notes.iter().filter(|note| note.text.contains("edge to edge")).count()
    };
    assert_eq!(notes("shear"), 1);
    assert_eq!(notes("plasma"), 0);
}
