//! Properties of unfolding and folding on random trees of flanges.

use dropwise_geometry::Point;
use proptest::prelude::*;

use super::generators::{BASE, mirrored, part};
use crate::bend::{Bend, Development, Hardness, KFactor, LegDatum, Method};
use crate::fold::{
    BentError, BentPart, Direction, Edge, EndCut, Extent, Flange, FlatBend, Folded, FoldedFace, Join, Notch, NotchForm,
    Point3, Relief, ReliefSize, RunRow, Turn, Unfolding, unfold,
};
use crate::pattern::{Base, Corner, Pattern};

fn by_ratio(bend: &Bend) -> Development {
    Development::KFactor(KFactor::by_ratio(Method::AirBend, Hardness::Medium, bend))
}

/// Unfolds a random part. Some of them have no room for what was asked, or collide when flat; nothing else may be wrong
/// with them.
fn laid_flat(part: &BentPart) -> Option<Unfolding> {
    match unfold(part, &by_ratio) {
        Ok(flat) => Some(flat),
        Err(errors) => {
            for error in errors.errors() {
                let is_expected = matches!(
                    error,
                    BentError::Collision { .. }
                        | BentError::Touch { .. }
                        | BentError::ReliefRoom { .. }
                        | BentError::UsedUp { .. }
                        | BentError::BeyondEdge { .. }
                        | BentError::ReliefSmall { .. }
                );
                assert!(is_expected, "{error}");
            }
            None
        }
    }
}

/// A point on one of the two surfaces of a face, and its normal.
fn surface(face: &FoldedFace, at: Point, height: f64) -> (Point3, Point3) {
    (face.at(at, height), face.up)
}

/// Height of the surface that is outside at a bend, or inside.
fn side(bend: &FlatBend, thickness: f64, is_outside: bool) -> f64 {
    if (bend.direction == Direction::Up) == is_outside { 0.0 } else { thickness }
}

/// How high a flange stands, measured on the folded part from the datum it was told from.
fn measured_height(flat: &Unfolding, folded: &Folded, bend: &FlatBend, flange: &Flange, free_edge: Point) -> f64 {
    let (parent, face) = (&folded.faces[bend.parent], &folded.faces[bend.face]);
    let y = flat.faces[bend.face].frame.x_axis.left();
    let away = face.x_axis * y.x + face.y_axis * y.y;
    let to_corner = |is_outside: bool| {
        let height = side(bend, flat.thickness, is_outside);
        let (on_parent, normal) = surface(parent, bend.start[0], height);
        let end = face.at(free_edge, height);
        // Along the flange from its free edge to the plane of the parent's surface.
        (end - on_parent).dot(normal) / away.dot(normal)
    };
    let center = folded.bends[bend.face - 1].center;
    let outer = bend.figures.bend.radius() + flat.thickness;
    let from_end = (free_edge - bend.end[0]).dot(y);
    if matches!(flange.turn, Turn::TeardropHem { .. }) {
        return from_end;
    }
    match flange.datum {
        LegDatum::Outside => to_corner(true),
        LegDatum::Inside => to_corner(false),
        LegDatum::OutsideTangent if bend.figures.bend.turn() <= 90.0 => to_corner(true),
        LegDatum::OutsideTangent => (face.at(free_edge, 0.0) - center).dot(away) + outer,
        LegDatum::Straight => from_end,
        LegDatum::BendLine => from_end + bend.figures.allowance / 2.0,
    }
}

fn check_heights(flat: &Unfolding, folded: &Folded, flanges: &[Flange]) -> usize {
    let mut checked = 0;
    for flange in flanges {
        let index = flat.face(&flange.name).unwrap();
        let bend = flat.bend_of(index).unwrap();
        // The free edge as it lies on the flat: the farthest the sheet goes before the next bend takes it on.
        let face = &flat.faces[index];
        let top = face.region.exterior().vertices().iter().map(|v| face.frame.to_face(v.point).y).fold(0.0, f64::max);
        if flange.flanges.iter().all(|next| next.extent != Extent::Full) {
            let free_edge = face.frame.to_flat(Point::new(5.0, top));
            let measured = measured_height(flat, folded, bend, flange, free_edge);
            assert!((measured - flange.height).abs() < 1e-9, "{}: {measured} for {}", flange.name, flange.height);
            checked += 1;
        }
        checked += check_heights(flat, folded, &flange.flanges);
    }
    checked
}

/// Whether the parent's edge, where it was told, is where the folded flange says it is.
fn check_edges(flat: &Unfolding, folded: &Folded, parent: usize, flanges: &[Flange]) {
    for flange in flanges {
        let index = flat.face(&flange.name).unwrap();
        let bend = flat.bend_of(index).unwrap();
        let along = (bend.start[1] - bend.start[0]).unit().unwrap();
        let told = bend.start[0] - along.left() * told_distance(flat, folded, bend, flange);
        let on_face = flat.faces[parent].frame.to_face(told);
        let (width, height) = if parent == 0 { BASE } else { flat.faces[parent].told_size };
        let off = match flange.edge {
            Edge::Bottom => on_face.y,
            Edge::Top => on_face.y - height,
            Edge::Left => on_face.x,
            _ => on_face.x - width,
        };
        assert!(off.abs() < 1e-9, "{}: edge off by {off}", flange.name);
        check_edges(flat, folded, index, &flange.flanges);
    }
}

/// How far outside of where the bend begins the parent's edge was told, measured on the folded part.
fn told_distance(flat: &Unfolding, folded: &Folded, bend: &FlatBend, flange: &Flange) -> f64 {
    let (parent, face) = (&folded.faces[bend.parent], &folded.faces[bend.face]);
    let along = (bend.start[1] - bend.start[0]).unit().unwrap();
    let out = -along.left();
    let out = parent.x_axis * out.x + parent.y_axis * out.y;
    let to_corner = |is_outside: bool| {
        let height = side(bend, flat.thickness, is_outside);
        let (on_face, normal) = surface(face, bend.end[0], height);
        (on_face - parent.at(bend.start[0], height)).dot(normal) / out.dot(normal)
    };
    match flange.edge_datum {
        LegDatum::Outside => to_corner(true),
        LegDatum::Inside => to_corner(false),
        LegDatum::OutsideTangent if bend.figures.bend.turn() <= 90.0 => to_corner(true),
        LegDatum::OutsideTangent => bend.figures.bend.radius() + flat.thickness,
        LegDatum::Straight => 0.0,
        LegDatum::BendLine => bend.figures.allowance / 2.0,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, max_global_rejects: 3000, ..ProptestConfig::default() })]

    #[test]
    fn area_of_the_flat_is_faces_and_bend_zones_less_reliefs(part in part()) {
        let Some(flat) = laid_flat(&part) else { return Err(TestCaseError::reject("no room")) };
        let faces: f64 = flat.faces.iter().map(|face| face.region.area()).sum();
        let zones: f64 = flat.bends.iter().map(|bend| bend.zone.area()).sum();
        let reliefs: f64 = flat.reliefs.iter().map(|relief| relief.removed.area()).sum();
        let sum = faces + zones - reliefs;
        prop_assert!((flat.shape.area() - sum).abs() < 1e-6, "{} is not {sum}", flat.shape.area());
        prop_assert!(flat.shape.faults().is_empty());
    }

    #[test]
    fn folding_returns_what_was_asked(part in part()) {
        let Some(flat) = laid_flat(&part) else { return Err(TestCaseError::reject("no room")) };
        let folded = flat.fold();
        prop_assert!(check_heights(&flat, &folded, &part.flanges) > 0);
        check_edges(&flat, &folded, 0, &part.flanges);
    }

    #[test]
    fn folding_tears_and_stretches_nothing(part in part()) {
        let Some(flat) = laid_flat(&part) else { return Err(TestCaseError::reject("no room")) };
        let folded = flat.fold();
        for (bend, space) in flat.bends.iter().zip(&folded.bends) {
            for height in [0.0, flat.thickness / 3.0, flat.thickness] {
                for end in [0, 1] {
                    // Where the bend begins it is still on its parent, where it ends already on its face.
                    let start = space.at(bend.start[end], height);
                    prop_assert!(start.distance(folded.faces[bend.parent].at(bend.start[end], height)) < 1e-9);
                    let last = space.at(bend.end[end], height);
                    prop_assert!(last.distance(folded.faces[bend.face].at(bend.end[end], height)) < 1e-9);
                }
            }
            // The neutral line keeps its length: many short chords along it sum to the allowance.
            let neutral = |share: f64| {
                let k = bend.figures.k * flat.thickness;
                let height = if bend.direction == Direction::Up { flat.thickness - k } else { k };
                space.at(bend.start[0].lerp(bend.end[0], share), height)
            };
            let chords: f64 = (0..2000).map(|i| neutral(f64::from(i) / 2000.0).distance(neutral(f64::from(i + 1) / 2000.0))).sum();
            prop_assert!((chords - bend.figures.allowance).abs() < 1e-5 * bend.figures.allowance);
        }
        for (face, space) in flat.faces.iter().zip(&folded.faces) {
            // Unfolding again: every corner of a face comes back to its place on the flat.
            for vertex in face.region.exterior().vertices() {
                let from = space.at(vertex.point, 0.0) - space.origin;
                let back = Point::new(from.dot(space.x_axis), from.dot(space.y_axis));
                prop_assert!(back.distance(vertex.point) < 1e-9);
                prop_assert!(from.dot(space.up).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_mirrored_part_lies_flat_as_the_mirror_image(part in part()) {
        let (Some(one), Some(two)) = (laid_flat(&part), laid_flat(&mirrored(&part))) else {
            prop_assert_eq!(laid_flat(&part).is_some(), laid_flat(&mirrored(&part)).is_some());
            return Err(TestCaseError::reject("no room"));
        };
        prop_assert!((one.shape.area() - two.shape.area()).abs() < 1e-6);
        let corners = |flat: &Unfolding| flat.shape.exterior().vertices().iter().map(|v| v.point).collect::<Vec<_>>();
        let (ones, twos) = (corners(&one), corners(&two));
        prop_assert_eq!(ones.len(), twos.len(), "{:?}\n{:?}", ones, twos);
        for point in ones {
            let image = Point::new(one.shape.bounds().max.x - point.x, point.y);
            prop_assert!(twos.iter().any(|other| other.distance(image) < 1e-7));
        }
    }

    #[test]
    fn direction_changes_nothing_on_the_flat(part in part()) {
        fn turn_over(flanges: &mut [Flange]) {
            for flange in flanges {
                flange.direction = flange.direction.opposite();
                turn_over(&mut flange.flanges);
            }
        }
        let mut over = part.clone();
        turn_over(&mut over.flanges);
        prop_assert_eq!(laid_flat(&part).map(|flat| flat.shape), laid_flat(&over).map(|flat| flat.shape));
    }

    #[test]
    fn the_table_sums_to_what_lies_flat(part in part()) {
        let Some(flat) = laid_flat(&part) else { return Err(TestCaseError::reject("no room")) };
        let table = flat.table();
        let mut passed = vec![false; table.bends.len()];
        for run in &table.runs {
            prop_assert!((run.told - run.deducted - run.flat_length).abs() < 1e-9);
            let mut legs = Vec::new();
            let mut last = 0.0;
            for row in &run.rows {
                let (RunRow::Leg { running, .. } | RunRow::Bend { running, .. }) = row;
                prop_assert!(*running > last);
                last = *running;
                match row {
                    RunRow::Leg { face, .. } => legs.push(flat.face(face).unwrap()),
                    RunRow::Bend { number, .. } => passed[*number - 1] = true,
                }
            }
            // On the flat, from the free edge of the first face to the far edge of the last.
            let bend = flat.bend_of(legs[0]).unwrap();
            let along = (bend.start[1] - bend.start[0]).unit().unwrap();
            let across = |point: Point| -along.left().dot(point.to_vector());
            let reach = |face: usize, direction: f64| {
                let frame = flat.faces[face].frame;
                let (width, height) = flat.faces[face].told_size;
                [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
                    .map(|(x, y)| direction * across(frame.to_flat(Point::new(x, y))))
                    .into_iter()
                    .fold(f64::NEG_INFINITY, f64::max)
            };
            let length = reach(legs[0], 1.0) + reach(*legs.last().unwrap(), -1.0);
            prop_assert!((length - run.flat_length).abs() < 1e-9, "{length} is not {}", run.flat_length);
        }
        prop_assert!(passed.into_iter().all(|is_passed| is_passed));
    }
}

/// A number of any kind at one place of a part.
fn spoiled(mut part: BentPart, place: usize, value: f64) -> BentPart {
    let flange = part.flanges.last_mut().expect("random parts have one flange at least");
    match place {
        0 => flange.height = value,
        1 => flange.turn = Turn::Angle(value),
        2 => flange.turn = Turn::OpenHem { gap: value },
        3 => flange.turn = Turn::TeardropHem { radius: value },
        4 => flange.inside_radius = Some(value),
        5 => flange.extent = Extent::FromTo(value, 90.0),
        6 => flange.extent = Extent::Middle(value),
        7 => flange.ends[0] = Some(EndCut { set_back: value, slant_deg: 0.0 }),
        8 => flange.ends[0] = Some(EndCut { set_back: 0.0, slant_deg: value }),
        9 => flange.relief = Some(Relief::HoleSawn { diameter: Some(value) }),
        10 => flange.relief = Some(Relief::Round(ReliefSize::Hand { width: value, depth: 1.0 })),
        11 => part.corner_relief = Relief::Rectangular(ReliefSize::Hand { width: 1.0, depth: value }),
        12 => part.join = Join::Mitred { gap: value },
        13 => part.join = Join::Overlapped { by_second: true, gap: value },
        14 => part.thickness = value,
        15 => flange.free_corners[0] = Corner::Radius(value),
        16 => flange.notches.push(Notch { edge: Edge::Top, at: value, form: NotchForm::Round { radius: 2.0 } }),
        _ => flange.notches.push(Notch { edge: Edge::Top, at: 20.0, form: NotchForm::Round { radius: value } }),
    }
    part
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn no_number_breaks_it(
        part in part(),
        place in 0_usize..18,
        value in prop_oneof![proptest::num::f64::ANY, -300.0..300.0, Just(0.0), Just(1e-9), Just(1e5)],
    ) {
        // Whatever comes out is a sound pattern or a list of faults.
        match unfold(&spoiled(part, place, value), &by_ratio) {
            Ok(flat) => {
                prop_assert!(flat.shape.faults().is_empty());
                let _ = (flat.fold(), flat.table());
            }
            Err(errors) => prop_assert!(!errors.errors().is_empty()),
        }
    }
}

#[test]
fn allowance_of_a_flange_grows_with_its_angle() {
    let width = |angle: f64| {
        let flange = Flange::new("flange", Edge::Top, 30.0).turned(angle).told(LegDatum::Straight);
        let base = Pattern::plain(Base::rectangle(50.0, 40.0, Corner::Sharp));
        let flat = unfold(&BentPart::new(2.0, 2.0, base).with(flange), &by_ratio).unwrap();
        flat.shape.bounds().height()
    };
    let widths: Vec<f64> = (1..180).map(|angle| width(f64::from(angle))).collect();
    assert!(widths.windows(2).all(|pair| pair[1] > pair[0]));
}
