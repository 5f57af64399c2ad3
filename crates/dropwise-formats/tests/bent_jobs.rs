//! Bent parts in the job file: they come out flat, and folded up again their faces measure what the file says.

use std::path::Path;

use dropwise_formats::{HoleWork, LoadedJob, load_job, parse_job};
use dropwise_geometry::Point;
use dropwise_shop::fold::{Direction, FlatBend, Unfolding};

const SETTINGS: &str = "defaults = { material = \"mild steel\", thickness = \"2 mm\" }\n\
    clearances = { process = \"plasma\" }\nbending = { inside_radius = 3, k = 0.44 }\n\
    sheets = [{ name = \"drop\", rectangle = { width = 2000, height = 1500 } }]\n";

fn loaded(keys: &str) -> LoadedJob {
    let text = format!("{SETTINGS}[[parts]]\nname = \"part\"\n{keys}\n");
    parse_job(Path::new("job.toml"), &text).unwrap_or_else(|errors| panic!("{errors:#?}"))
}

fn flat(job: &LoadedJob) -> &Unfolding {
    &job.parts[0].bent.as_deref().expect("a bent part").unfolding
}

fn demo() -> LoadedJob {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data-demo/bent.toml");
    load_job(&path).unwrap_or_else(|errors| panic!("{errors:#?}"))
}

/// The box around the folded part over both its surfaces.
fn box_of(flat: &Unfolding) -> [f64; 3] {
    let folded = flat.fold();
    let mut limits = [(f64::INFINITY, f64::NEG_INFINITY); 3];
    for (face, space) in flat.faces.iter().zip(&folded.faces) {
        for vertex in face.region.exterior().vertices() {
            for height in [0.0, flat.thickness] {
                let at = space.at(vertex.point, height);
                for (limit, value) in limits.iter_mut().zip([at.x, at.y, at.z]) {
                    *limit = (limit.0.min(value), limit.1.max(value));
                }
            }
        }
    }
    // Beyond a square corner the arc reaches farther than both faces: twelve steps pass 90 of 135 degrees.
    for (bend, space) in flat.bends.iter().zip(&folded.bends) {
        for step in 0..=12 {
            let at = space.at(bend.start[0].lerp(bend.end[0], f64::from(step) / 12.0), outer(bend, flat.thickness));
            for (limit, value) in limits.iter_mut().zip([at.x, at.y, at.z]) {
                *limit = (limit.0.min(value), limit.1.max(value));
            }
        }
    }
    limits.map(|(from, to)| to - from)
}

/// The surface that is outside at a bend.
fn outer(bend: &FlatBend, thickness: f64) -> f64 {
    if bend.direction == Direction::Up { 0.0 } else { thickness }
}

fn assert_box(found: [f64; 3], wanted: [f64; 3], what: &str) {
    assert!(found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-9), "{what}: {found:?} is not {wanted:?}");
}

#[test]
fn a_dozen_demo_parts_fold_up_to_what_the_file_says() {
    let job = demo();
    assert!(job.parts.len() >= 12 && job.parts.iter().all(|part| part.bent.is_some()));
    // Outside sizes in x, y, z as written in the file; None where no sum of written sizes gives one.
    let wanted = [
        ("angle bracket", [80.0, 40.0, 30.0]),
        ("rail channel", [400.0, 50.0, 25.0]),
        ("wall Z", [300.0, 40.0, 2.0 * 25.0 - 1.5]),
        ("roof hat", [300.0, 50.0 + 2.0 * (20.0 - 1.5), 30.0]),
        ("nail tray", [180.0, 120.0, 30.0]),
        ("lipped drawer", [220.0, 150.0, 45.0]),
        ("shelf corner", [70.0, 60.0, 60.0]),
        ("grinder table", [320.0, 240.0, 160.0]),
        ("corner shoe", [90.0, 90.0, 35.0]),
    ];
    for (name, size) in wanted {
        let index = job.job.parts().iter().position(|part| part.name == name).expect(name);
        let bent = job.parts[index].bent.as_deref().expect("bent");
        assert_box(box_of(&bent.unfolding), size, name);
    }
    for (part, detail) in job.job.parts().iter().zip(&job.parts) {
        let bent = detail.bent.as_deref().expect("bent");
        assert_eq!(bent.unfolding.shape, part.shape, "{}: it is the flat pattern that is nested", part.name);
        assert_eq!((bent.places.len(), bent.dies.len()), (bent.unfolding.faces.len(), bent.unfolding.bends.len()));
        assert!(detail.work.bends as usize >= bent.unfolding.bends.len());
        assert!(part.may_flip, "{}: turned over it is as drawn", part.name);
        // Area of the flat = faces + bend zones - what reliefs take: nothing is counted twice or lost.
        let faces: f64 = bent.unfolding.faces.iter().map(|face| face.region.area()).sum();
        let zones: f64 = bent.unfolding.bends.iter().map(|bend| bend.zone.area()).sum();
        let removed: f64 = bent.unfolding.reliefs.iter().map(|relief| relief.removed.area()).sum();
        let whole = part.shape.area();
        // A hole-shaped relief may reach over a face it was not cut from; none here does by more than a sliver.
        assert!((faces + zones - removed - whole).abs() < 1e-6 * whole, "{}: {faces} + {zones} - {removed}", part.name);
    }
}

/// The angle between the outward normals of a face and its parent is the turn that was told, and heights return.
#[test]
fn every_face_of_the_demo_stands_at_its_angle() {
    for detail in &demo().parts {
        let bent = detail.bent.as_deref().expect("bent");
        let folded = bent.unfolding.fold();
        for bend in &bent.unfolding.bends {
            let (parent, face) = (folded.faces[bend.parent], folded.faces[bend.face]);
            let cosine = parent.up.x * face.up.x + parent.up.y * face.up.y + parent.up.z * face.up.z;
            let turn = bend.figures.bend.turn().to_radians();
            assert!((cosine - turn.cos()).abs() < 1e-9, "{}", bent.unfolding.faces[bend.face].name);
        }
    }
}

#[test]
fn a_strip_gives_the_k_and_the_radius_of_its_die() {
    let job = demo();
    let bracket = job.parts[0].bent.as_deref().expect("bent");
    let bend = &bracket.unfolding.bends[0];
    assert_eq!((bend.figures.bend.radius(), bracket.dies[0]), (2.0, Some(12.0)));
    // 4.1 mm of the strip went into the bend: (4.1 / (π/2) - 2) / 1.5.
    assert!((bend.figures.k - (4.1 / std::f64::consts::FRAC_PI_2 - 2.0) / 1.5).abs() < 1e-12);
    assert!(bend.development.to_string().contains("measured"), "{}", bend.development);
    // DIN 6935 by hand for the Z: k = 0.65 + 0.5 log10(2 / 1.5) (DIN 6935 factor as quoted at excelution.at, 2019), K = k/2.
    let z = job.parts[2].bent.as_deref().expect("bent");
    assert!((z.unfolding.bends[0].figures.k - (0.65 + 0.5 * (2.0_f64 / 1.5).log10()) / 2.0).abs() < 1e-12);
}

#[test]
fn sizes_told_inside_outside_or_to_the_bend_line() {
    // T 2, R 3, K 0.44: BA = π/2 (3 + 0.88) = 6.0947; outside setback 5, inside 3 (elementary formulas).
    let allowance = std::f64::consts::FRAC_PI_2 * (3.0 + 0.44 * 2.0);
    for (told, taken) in [("outside", 5.0), ("inside", 3.0), ("straight", 0.0), ("bend line", allowance / 2.0)] {
        let job = loaded(&format!(
            "rectangle = {{ width = 100, height = 60 }}\nflanges = [{{ name = \"up\", height = 30, told = \"{told}\" }}]"
        ));
        let height = flat(&job).shape.bounds().height();
        assert!((height - (60.0 - taken + allowance + 30.0 - taken)).abs() < 1e-9, "{told}: {height}");
    }
    // Beyond 90 degrees outside means over everything: folded, the leaf reaches as far as told.
    let job =
        loaded("rectangle = { width = 100, height = 60 }\nflanges = [{ name = \"up\", height = 30, angle = 135 }]");
    assert!((box_of(flat(&job))[1] - 60.0).abs() < 1e-9, "{:?}", box_of(flat(&job)));
}

#[test]
fn faces_follow_one_another_in_any_order_of_the_file() {
    let job = loaded(
        "rectangle = { width = 100, height = 60 }\nflanges = [\
         { name = \"c\", on = \"b\", height = 12 }, { name = \"b\", on = \"a\", height = 20 }, { name = \"a\", height = 30 }]",
    );
    let flat = flat(&job);
    let chain: Vec<(&str, Option<usize>)> = flat.faces.iter().map(|face| (face.name.as_str(), face.parent)).collect();
    assert_eq!(chain, [("base", None), ("a", Some(0)), ("b", Some(1)), ("c", Some(2))]);
    assert_eq!(job.parts[0].work.bends, 3);
    assert_eq!(job.parts[0].bent.as_ref().expect("bent").places[3].key, "parts[1] \"part\": flanges[1] \"c\"");
}

#[test]
fn worked_holes_are_told_where_they_lie_flat() {
    let job = loaded(
        "rectangle = { width = 100, height = 60 }\nholes = [{ diameter = 6.6, at = [20, 20], countersink = { screw = \"M6\" } }]\n\
         flanges = [{ name = \"up\", height = 50, hole_rows = [{ diameter = 20, count = 2, pitch = 40, flare = { diameter = 30, depth = 4, side = \"down\" } }] }]",
    );
    let holes = &job.parts[0].worked_holes;
    assert_eq!(holes.len(), 3);
    assert_eq!((holes[0].center, holes[0].is_up, holes[0].face), (Point::new(20.0, 20.0), true, 0));
    // ISO 10642: M6 head 13.44 mm over its sharp rim, 90°: 3.42 mm deep to a hole of 6.6.
    assert_eq!(
        holes[0].work,
        HoleWork::Countersunk { diameter: 13.44, angle_deg: 90.0, depth: holes_depth(13.44, 6.6), screw: Some(6.0) }
    );
    assert_eq!((holes[1].is_up, holes[1].face), (false, 1));
    assert_eq!(holes[1].work, HoleWork::Flared { diameter: 30.0, depth: Some(4.0) });
    // 25 mm up from the free edge of a 50 mm face: 25 below the top of the flat pattern.
    let top = flat(&job).shape.bounds().max.y;
    assert!((holes[1].center.y - (top - 25.0)).abs() < 1e-9);
}

fn holes_depth(rim: f64, hole: f64) -> f64 {
    dropwise_shop::bend::fasteners::countersink_depth(rim, hole, 90.0).expect("a cone")
}

#[test]
fn hems_and_offsets() {
    let job = loaded(
        "rectangle = { width = 100, height = 60 }\nflanges = [{ name = \"rim\", height = 12, hem = \"closed\" }, \
         { name = \"lap\", edge = \"bottom\", step = 8, height = 20 }]",
    );
    let flat = flat(&job);
    // The hem counts as two strokes, the offset as two bends.
    assert_eq!((flat.bends.len(), job.parts[0].work.bends), (3, 4));
    let folded = flat.fold();
    let lap = flat.face("lap").expect("the face after the slope");
    let middle = flat.faces[lap].region.bounds().center();
    assert!((folded.faces[lap].at(middle, 0.0).z - 8.0).abs() < 1e-9, "it lies one step up");
    assert!((folded.faces[lap].up.z - 1.0).abs() < 1e-12, "in a parallel plane");
}

/// The sketch at the head of the reference: with a flange's free edge turned to the top, its left end is on the left.
#[test]
fn the_left_end_of_a_flange_is_where_the_sketch_says() {
    for (edge, (cut, kept)) in [
        ("top", ((0.1, 0.97), (0.9, 0.97))),
        ("bottom", ((0.9, 0.03), (0.1, 0.03))),
        ("left", ((0.03, 0.1), (0.03, 0.9))),
        ("right", ((0.97, 0.9), (0.97, 0.1))),
    ] {
        let job = loaded(&format!(
            "rectangle = {{ width = 100, height = 100 }}\nflanges = [{{ name = \"a\", edge = \"{edge}\", height = 30, left_end = {{ set_back = 30 }} }}]"
        ));
        let shape = &job.job.parts()[0].shape;
        let polygon = shape.flatten(0.01, dropwise_geometry::Side::Shrink);
        let bounds = shape.bounds();
        let at = |(x, y): (f64, f64)| Point::new(bounds.min.x + bounds.width() * x, bounds.min.y + bounds.height() * y);
        assert!(!polygon.contains(at(cut)) && polygon.contains(at(kept)), "{edge}");
    }
}
