//! Parts that are known to lie in themselves and parts that are known not to, and a general library of solids as referee.

use std::io::Write;
use std::process::{Command, Stdio};

use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use serde_json::{Value, json};

use super::*;
use crate::bend::{Development, KFactor};
use crate::fold::tests::generators;
use crate::fold::{
    BentPart, Direction, Edge, Flange, Join, angle_bracket, channel, gusseted_corner, hat_section, lipped_box,
    machine_table, tray, unfold, z_section,
};
use crate::pattern::{Base, Corner, Cut, Feature, FromX, FromY, Pattern, Position};

fn flat(part: &BentPart) -> Unfolding {
    let k = KFactor::given(0.4).unwrap();
    unfold(part, &|_| Development::KFactor(k.clone())).unwrap_or_else(|errors| panic!("{errors}"))
}

fn found(part: &BentPart) -> Vec<SelfOverlap> {
    flat(part).self_overlaps()
}

fn plate(length: f64, width: f64) -> BentPart {
    BentPart::new(2.0, 2.0, Pattern::plain(Base::rectangle(length, width, Corner::Sharp)))
}

#[test]
fn everyday_parts_lie_clear_of_themselves() {
    let joins = [Join::Butted { gap: 0.0 }, Join::Overlapped { by_second: true, gap: 0.0 }, Join::Mitred { gap: 0.0 }];
    let mut parts = vec![
        angle_bracket(200.0, 60.0, 40.0, 2.0, 2.0),
        channel(300.0, 100.0, 40.0, 2.0, 2.0),
        z_section(200.0, 60.0, 30.0, 2.0, 2.0),
        hat_section(200.0, 60.0, 40.0, 30.0, 2.0, 2.0),
        lipped_box(300.0, 200.0, 50.0, 15.0, 1.5, 1.5),
        gusseted_corner(70.0, 60.0, 60.0, 14.0, 1.5, 2.0),
        machine_table((320.0, 240.0, 160.0), 45.0, 30.0, 35.0, 3.0, 3.0),
        plate(100.0, 60.0).with(Flange::closed_hem("hem", Edge::Top, 10.0)),
        plate(100.0, 60.0).with(Flange::open_hem("hem", Edge::Top, 10.0, 3.0)),
        plate(100.0, 60.0).with(Flange::teardrop_hem("hem", Edge::Top, 10.0, 2.0)),
        tray(300.0, 200.0, 50.0, 1.5, 1.5),
    ];
    parts.extend(joins.map(|join| tray(300.0, 200.0, 50.0, 1.5, 1.5).with_join(join)));
    for part in parts {
        assert_eq!(found(&part), Vec::new());
    }
}

/// Four plain returns in one plane: each corner is taken twice, 18 less what the wall beside it takes square in both ways.
#[test]
fn returns_in_one_plane_overlap_at_every_corner() {
    let mut part = tray(300.0, 200.0, 40.0, 2.0, 2.0);
    for wall in &mut part.flanges {
        wall.flanges.push(Flange::new(&format!("{} r", wall.name), Edge::Top, 18.0));
    }
    let overlaps = found(&part);
    assert_eq!(overlaps.len(), 4, "{overlaps:#?}");
    for overlap in &overlaps {
        let expected = 18.0 - 4.0;
        assert!((overlap.extents[0] - expected).abs() < 0.01 && (overlap.extents[1] - expected).abs() < 0.01);
        assert!((overlap.extents[2] - 2.0).abs() < 1e-9, "{overlap:?}");
        assert!((overlap.volume - 2.0 * expected * expected).abs() < 0.5, "{overlap:?}");
        assert_eq!(overlap.kinship, Kinship::Returns);
        assert!(overlap.shorten.is_none() || overlap.shorten.is_some_and(|(_, by)| (by - expected).abs() < 0.01));
    }
}

/// A channel 50 wide over its outsides whose returns are 35 each: they share 35 + 35 - 50 = 20 along the whole length.
#[test]
fn returns_of_a_channel_that_meet_are_found_and_can_be_shortened() {
    let side =
        |name: &str, edge: Edge| Flange::new(name, edge, 60.0).with(Flange::new(&format!("{name} r"), Edge::Top, 35.0));
    let part = plate(300.0, 50.0).with(side("a", Edge::Top)).with(side("b", Edge::Bottom));
    let overlaps = found(&part);
    assert_eq!(overlaps.len(), 1, "{overlaps:#?}");
    let [long, wide, thick] = overlaps[0].extents;
    assert!((long - 300.0).abs() < 1e-6 && (wide - 20.0).abs() < 1e-6 && (thick - 2.0).abs() < 1e-6, "{overlaps:?}");
    assert_eq!(overlaps[0].kinship, Kinship::Strangers, "they face each other: no mitre helps");
    let (_, by) = overlaps[0].shorten.expect("there is enough of them");
    assert!((by - 20.0).abs() < 1e-6, "{by}");
}

#[test]
fn spirals_and_crossed_flanges_are_found() {
    let spiral = Flange::new("a", Edge::Top, 40.0).with(Flange::new("b", Edge::Top, 40.0).with(Flange::new(
        "c",
        Edge::Top,
        60.0,
    )));
    let overlaps = found(&plate(300.0, 40.0).with(spiral));
    assert!(overlaps.iter().any(|overlap| (overlap.face, overlap.other) == (0, 3)), "{overlaps:?}");
    let leaning = |name: &str, edge: Edge| Flange::new(name, edge, 70.0).turned(135.0);
    let overlaps = found(&plate(100.0, 60.0).with(leaning("f", Edge::Top)).with(leaning("g", Edge::Bottom)));
    assert!(overlaps.iter().any(|overlap| (overlap.face, overlap.other) == (1, 2)), "{overlaps:?}");
}

/// A tongue that stands in a slot of the wall across from it takes no space twice; without the slot it does.
#[test]
fn a_tongue_through_a_slot_is_clear() {
    let part = |has_slot: bool| {
        let tongue = Flange::new("tongue", Edge::Top, 60.0).from_to(30.0, 50.0);
        let arch = Flange::new("near", Edge::Bottom, 40.0).with(tongue);
        let mut far = Flange::new("far", Edge::Top, 60.0);
        if has_slot {
            far.features.push(Feature {
                position: Position::new(FromX::Center(0.0), FromY::Bottom(39.0)),
                cut: Cut::Cutout { width: 24.0, height: 8.0, corner: Corner::Sharp, angle_deg: 0.0 },
            });
        }
        plate(80.0, 50.0).with(arch).with(far)
    };
    assert_eq!(found(&part(true)), Vec::new());
    let overlaps = found(&part(false));
    assert!(!overlaps.is_empty());
}

/// Parts for the referee: random ones, and half of them with walls so long that they are likely to meet.
fn random_parts(count: usize) -> Vec<Unfolding> {
    let mut runner = TestRunner::new_with_rng(Config::default(), TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let strategy = generators::part();
    let mut parts = Vec::with_capacity(count);
    while parts.len() < count {
        let mut part = strategy.new_tree(&mut runner).expect("a part").current();
        if parts.len() % 2 == 1 {
            let share = 2.0 + (parts.len() % 7) as f64 / 2.0;
            for wall in &mut part.flanges {
                wall.height *= share;
                wall.flanges.iter_mut().for_each(|lip| lip.height *= share);
            }
        }
        let k = KFactor::given(0.4).expect("a K");
        if let Ok(flat) = unfold(&part, &|_| Development::KFactor(k.clone())) {
            parts.push(flat);
        }
    }
    parts
}

fn as_json(flat: &Unfolding) -> Value {
    let points = |points: &[Point]| -> Vec<[f64; 2]> { points.iter().map(|point| [point.x, point.y]).collect() };
    let fine = |outline: &dropwise_geometry::Outline| points(&outline.flatten(0.01, dropwise_geometry::Side::Grow));
    json!({
        "thickness": flat.thickness,
        "cut": flat.shape.rings().map(fine).collect::<Vec<_>>(),
        "faces": flat.faces.iter().map(|face| json!({
            "parent": face.parent, "ring": fine(face.region.exterior()),
        })).collect::<Vec<_>>(),
        "bends": flat.bends.iter().map(|bend| json!({
            "face": bend.face, "start": points(&bend.start), "end": points(&bend.end),
            "radius": bend.figures.bend.radius(), "turn": bend.figures.bend.turn(),
            "up": bend.direction == Direction::Up, "allowance": bend.figures.allowance,
        })).collect::<Vec<_>>(),
    })
}

/// Says that the referee is missing, or fails where it must be there.
#[expect(clippy::print_stderr, reason = "a skipped check must be seen")]
fn referee_is_there() -> bool {
    let found = Command::new("python3").args(["-c", "import manifold3d, numpy, shapely"]).output();
    if found.is_ok_and(|output| output.status.success()) {
        return true;
    }
    let is_required = std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_some_and(|value| value == "1");
    assert!(!is_required, "python3 with manifold3d, numpy and shapely is required here and missing");
    eprintln!("SKIPPED: solids by manifold3d: python3 with manifold3d, numpy and shapely is missing");
    false
}

/// The same verdict as a general library of solids, wherever the overlap is deeper than the tolerance: what is found here
/// shares a volume there, and what still shares one there when all plates are shrunk by twice as much is found here.
fn agree_with_the_referee(count: usize) {
    if !referee_is_there() {
        return;
    }
    let parts = random_parts(count);
    let given = json!({ "shrunk": SOLID_TOUCH, "parts": parts.iter().map(as_json).collect::<Vec<_>>() });
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/src/fold/solid/reference.py");
    let mut child =
        Command::new("python3").arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("it starts");
    let mut input = child.stdin.take().expect("a pipe");
    let text = given.to_string();
    let writer = std::thread::spawn(move || input.write_all(text.as_bytes()));
    let output = child.wait_with_output().expect("it ends");
    writer.join().expect("written").expect("read");
    assert!(output.status.success());
    let answer: Vec<Vec<[f64; 4]>> = serde_json::from_slice(&output.stdout).expect("pairs of plates");
    let (mut clashing, mut clear, mut faults) = (0, 0, Vec::new());
    for (index, (flat, pairs)) in parts.iter().zip(&answer).enumerate() {
        let own: Vec<(usize, usize)> = flat.self_overlaps().iter().map(|one| (one.face, one.other)).collect();
        let of = |pair: &(usize, usize)| {
            let found = pairs.iter().find(|row| (row[0] as usize, row[1] as usize) == *pair);
            found.map_or((0.0, 0.0), |row| (row[2], row[3]))
        };
        faults
            .extend(own.iter().filter(|pair| of(pair).0 < 1e-3).map(|pair| format!("part {index}: {pair:?} is clear")));
        let missed = pairs.iter().filter(|row| row[3] > 2e-3).map(|row| (row[0] as usize, row[1] as usize));
        faults.extend(
            missed
                .filter(|pair| !own.contains(pair))
                .map(|pair| format!("part {index}: {pair:?} share {:?} mm³ and were not found", of(&pair))),
        );
        if own.is_empty() { clear += 1 } else { clashing += 1 }
    }
    assert!(faults.is_empty(), "{} faults of {count} parts: {:#?}", faults.len(), &faults[..faults.len().min(12)]);
    assert!(clashing * 5 >= count && clear * 5 >= count, "{clashing} clash, {clear} are clear: no test of both");
}

#[test]
fn a_general_library_of_solids_gives_the_same_verdict() {
    agree_with_the_referee(60);
}

/// The same with 1,000 parts. Second tier: some minutes.
#[test]
#[ignore = "minutes: run by name"]
fn a_general_library_of_solids_gives_the_same_verdict_on_1000_parts() {
    agree_with_the_referee(1000);
}
