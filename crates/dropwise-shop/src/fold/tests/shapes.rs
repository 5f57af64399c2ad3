//! Everyday parts, joins, hems and offsets: what they measure once folded up.

use dropwise_geometry::Point;

use crate::bend::{Development, KFactor, LegDatum};
use crate::fold::{
    BentError, BentPart, Edge, Extent, Flange, Folded, Join, Notch, NotchForm, Point3, Relief, ReliefSize, RunRow,
    Turn, Unfolding, angle_bracket, channel, gusseted_corner, hat_section, lipped_box, machine_table, tray, unfold,
    z_section,
};
use crate::pattern::{Base, Corner, Cut, Feature, FromX, FromY, Pattern, Position};

pub(super) fn lay_flat(part: &BentPart) -> Unfolding {
    let k = KFactor::given(0.44).unwrap();
    unfold(part, &|_| Development::KFactor(k.clone())).unwrap_or_else(|errors| panic!("{errors}"))
}

/// The box around the folded part, from the corners of its faces on both surfaces.
fn outside(flat: &Unfolding, folded: &Folded) -> [(f64, f64); 3] {
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
    limits
}

fn assert_box(part: &BentPart, wanted: [(f64, f64); 3]) {
    let flat = lay_flat(part);
    let found = outside(&flat, &flat.fold());
    for (found, wanted) in found.iter().zip(wanted) {
        assert!((found.0 - wanted.0).abs() < 1e-9 && (found.1 - wanted.1).abs() < 1e-9, "{found:?} is not {wanted:?}");
    }
}

#[test]
fn everyday_parts_fold_up_to_their_outside_sizes() {
    let (t, r) = (1.5, 2.0);
    assert_box(&angle_bracket(80.0, 40.0, 30.0, t, r), [(0.0, 80.0), (0.0, 40.0), (0.0, 30.0)]);
    assert_box(&channel(300.0, 60.0, 25.0, t, r), [(0.0, 300.0), (0.0, 60.0), (0.0, 25.0)]);
    // The flange down ends as far below the web's upper face as it is high.
    assert_box(&z_section(300.0, 60.0, 25.0, t, r), [(0.0, 300.0), (0.0, 60.0), (t - 25.0, 25.0)]);
    assert_box(&tray(200.0, 120.0, 30.0, t, r), [(0.0, 200.0), (0.0, 120.0), (0.0, 30.0)]);
    assert_box(&lipped_box(200.0, 120.0, 40.0, 15.0, t, r), [(0.0, 200.0), (0.0, 120.0), (0.0, 40.0)]);
    // Brims reach out from the outside of the webs, so each adds its width less the sheet.
    let beyond = 20.0 - t;
    assert_box(&hat_section(300.0, 50.0, 30.0, 20.0, t, r), [(0.0, 300.0), (-beyond, 50.0 + beyond), (t - 30.0, t)]);
    assert_box(&gusseted_corner(80.0, 60.0, 50.0, 12.0, t, r), [(0.0, 80.0), (0.0, 60.0), (0.0, 50.0)]);
    assert_box(
        &machine_table((400.0, 300.0, 250.0), 50.0, 30.0, 35.0, t, r),
        [(0.0, 400.0), (0.0, 300.0), (t - 250.0, t)],
    );
}

#[test]
fn machine_table_has_its_feet_turned_in() {
    let flat = lay_flat(&machine_table((400.0, 300.0, 250.0), 50.0, 30.0, 35.0, 1.5, 2.0));
    assert_eq!(flat.faces.len(), 1 + 4 + 4 + 4);
    let folded = flat.fold();
    for (name, y) in [("front left foot", 35.0), ("back right foot", 300.0 - 35.0)] {
        let face = flat.face(name).unwrap();
        let edge = flat.faces[face].frame.to_flat(Point::new(25.0, 35.0));
        let at = folded.faces[face].at(edge, 0.0);
        assert!((at.y - y).abs() < 1e-9, "{name}: {at:?}");
    }
}

/// Where a wall's end next to a corner lies, on both of its surfaces, at its root and at its free edge.
fn ends_of(flat: &Unfolding, folded: &Folded, name: &str, is_right: bool) -> [Point3; 4] {
    let index = flat.face(name).unwrap();
    let face = &flat.faces[index];
    let points: Vec<Point> = face.region.exterior().vertices().iter().map(|v| face.frame.to_face(v.point)).collect();
    let low = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|p| p.y).fold(0.0, f64::max);
    let end = |y: f64| {
        let row = points.iter().filter(|p| (p.y - y).abs() < 1e-9).map(|p| p.x);
        let x = if is_right { row.fold(f64::NEG_INFINITY, f64::max) } else { row.fold(f64::INFINITY, f64::min) };
        face.frame.to_flat(Point::new(x, y))
    };
    let at = |y: f64, height: f64| folded.faces[index].at(end(y), height);
    [at(low, 0.0), at(low, flat.thickness), at(high, 0.0), at(high, flat.thickness)]
}

#[test]
fn butted_walls_touch_with_their_inside_corners() {
    let flat = lay_flat(&tray(200.0, 100.0, 30.0, 2.0, 3.0).with_join(Join::Butted { gap: 0.0 }));
    let folded = flat.fold();
    // Front left corner: the front wall's right end (its side starts there), the left wall's left end.
    for at in ends_of(&flat, &folded, "front", true) {
        assert!((at.x - 2.0).abs() < 1e-9, "ends at the inside of the left wall: {at:?}");
    }
    for at in ends_of(&flat, &folded, "left", false) {
        assert!((at.y - 2.0).abs() < 1e-9, "ends at the inside of the front wall: {at:?}");
    }
}

#[test]
fn overlapped_walls_close_the_corner_flush() {
    let gap = 0.5;
    let flat = lay_flat(&tray(200.0, 100.0, 30.0, 2.0, 3.0).with_join(Join::Overlapped { by_second: true, gap }));
    let folded = flat.fold();
    // At the front left corner the front wall comes second.
    for at in ends_of(&flat, &folded, "front", true) {
        assert!(at.x.abs() < 1e-9, "runs on to the outside: {at:?}");
    }
    for at in ends_of(&flat, &folded, "left", false) {
        assert!((at.y - 2.5).abs() < 1e-9, "ends a gap short of the front wall's inside: {at:?}");
    }
}

#[test]
fn mitred_walls_of_a_flared_pan_meet_along_the_corner() {
    for angle in [30.0, 45.0, 60.0, 90.0, 120.0] {
        let mut pan = tray(200.0, 140.0, 30.0, 2.0, 3.0).with_join(Join::Mitred { gap: 0.0 });
        pan.flanges.iter_mut().for_each(|wall| wall.turn = Turn::Angle(angle));
        let flat = lay_flat(&pan);
        let folded = flat.fold();
        let (front, left) = (ends_of(&flat, &folded, "front", true), ends_of(&flat, &folded, "left", false));
        for inside in [1, 3] {
            assert!(front[inside].distance(left[inside]) < 1e-9, "{angle}: {:?} {:?}", front[inside], left[inside]);
        }
    }
}

#[test]
fn hems_lie_as_far_off_the_sheet_as_they_should() {
    let hem = |flange: Flange| {
        let part = BentPart::new(1.0, 1.0, Pattern::plain(Base::rectangle(80.0, 60.0, Corner::Sharp))).with(flange);
        let flat = lay_flat(&part);
        let folded = flat.fold();
        (outside(&flat, &folded), flat, folded)
    };
    let (closed, ..) = hem(Flange::closed_hem("hem", Edge::Top, 8.0));
    assert!((closed[2].1 - 2.0).abs() < 1e-9, "two sheets thick: {closed:?}");
    let (open, ..) = hem(Flange::open_hem("hem", Edge::Top, 8.0, 1.5));
    assert!((open[2].1 - 3.5).abs() < 1e-9, "two sheets and the gap: {open:?}");
    let (_, flat, folded) = hem(Flange::teardrop_hem("hem", Edge::Top, 9.0, 2.0));
    // The inside of the leaf, the sheet's upper face, ends on the upper face of the base.
    let edge = flat.faces[1].frame.to_flat(Point::new(40.0, 9.0));
    assert!((folded.faces[1].at(edge, 1.0).z - 1.0).abs() < 1e-9);
    // The loop's outside is where the base's edge was told.
    assert!((folded.bends[0].center.y + 2.0 + 1.0 - 60.0).abs() < 1e-9);
}

#[test]
fn offset_steps_from_one_plane_to_a_parallel_one() {
    // Down by one thickness, so that another sheet lies flush.
    let joggle = Flange::offset("lap", Edge::Right, 1.5, 30.0, 20.0, crate::fold::Direction::Down, (1.5, 2.0));
    let part = BentPart::new(1.5, 2.0, Pattern::plain(Base::rectangle(80.0, 60.0, Corner::Sharp))).with(joggle);
    let flat = lay_flat(&part);
    let folded = flat.fold();
    let lap = &folded.faces[flat.face("lap").unwrap()];
    assert!((lap.up.z - 1.0).abs() < 1e-12, "parallel to the base");
    assert!((lap.at(Point::ORIGIN, 1.5).z).abs() < 1e-9, "its upper face level with the base's lower one");
    // Steeper, and the two arcs alone rise more than the step.
    let steep = Flange::offset("lap", Edge::Right, 1.5, 60.0, 20.0, crate::fold::Direction::Down, (1.5, 2.0));
    let part = BentPart::new(1.5, 2.0, Pattern::plain(Base::rectangle(80.0, 60.0, Corner::Sharp))).with(steep);
    let k = KFactor::given(0.44).unwrap();
    let errors = unfold(&part, &|_| Development::KFactor(k.clone())).unwrap_err();
    assert!(matches!(errors.errors()[0], BentError::Size { what: "height", .. }), "{errors}");
}

#[test]
fn hole_of_a_flange_is_placed_from_the_outside_of_the_base() {
    let mut part = angle_bracket(80.0, 40.0, 30.0, 2.0, 2.0);
    let position = Position::new(FromX::Left(10.0), FromY::Bottom(18.0));
    part.flanges[0].features.push(Feature { position, cut: Cut::Hole { diameter: 6.0 } });
    let flat = lay_flat(&part);
    let folded = flat.fold();
    let hole = flat.holes[0];
    assert_eq!((hole.face, hole.feature, hole.diameter), (1, Some(0), Some(6.0)));
    let at = folded.faces[1].at(hole.center, 0.0);
    // On the flat the leg lies above the base, with its free edge up: left is left.
    assert!(at.distance(Point3::new(10.0, 40.0, 18.0)) < 1e-9, "{at:?}");
}

#[test]
fn partial_flange_gets_the_relief_that_was_asked() {
    let part = |relief: Relief| {
        let flange = Flange { relief: Some(relief), ..Flange::new("tab", Edge::Top, 20.0).from_to(20.0, 60.0) };
        BentPart::new(2.0, 2.0, Pattern::plain(Base::rectangle(80.0, 50.0, Corner::Sharp))).with(flange)
    };
    let area = |relief: Relief| lay_flat(&part(relief)).shape.area();
    let none = area(Relief::None);
    let size = ReliefSize::Hand { width: 3.0, depth: 2.0 };
    // From the edge to 2 mm past where the bend begins, which is 4 mm in; twice.
    assert!((none - area(Relief::Rectangular(size)) - 2.0 * 3.0 * 6.0).abs() < 1e-9);
    let round = 3.0 * 4.5 + std::f64::consts::PI * 1.5 * 1.5 / 2.0;
    assert!((none - area(Relief::Round(size)) - 2.0 * round).abs() < 1e-9);
    // By rule as wide as the sheet is thick, or as the kerf where that is wider.
    let by_rule =
        |least_relief: f64| none - lay_flat(&BentPart { least_relief, ..part(Relief::RECTANGULAR) }).shape.area();
    assert!((by_rule(0.0) - by_rule(1.0)).abs() < 1e-9);
    assert!((by_rule(3.0) / by_rule(0.0) - 3.0 / part(Relief::None).thickness).abs() < 1e-9);
    let flat = lay_flat(&part(Relief::HoleSawn { diameter: Some(10.0) }));
    assert_eq!(flat.reliefs.len(), 2);
    let taken: f64 = flat.reliefs.iter().map(|relief| relief.removed.area()).sum();
    assert!((none - flat.shape.area() - taken).abs() < 1e-9 && taken > 0.0);
    // The bend is shorter by the hole's radius at either end.
    assert!((flat.bends[0].length() - 30.0).abs() < 1e-9);
}

#[test]
fn rounded_corners_of_the_base_give_way_to_the_relief() {
    let pattern = Pattern::plain(Base::rectangle(80.0, 50.0, Corner::Radius(10.0)));
    let part = BentPart::new(2.0, 2.0, pattern).with(Flange::new("tab", Edge::Top, 20.0));
    let flat = lay_flat(&part);
    assert!((flat.faces[1].told_size.0 - 60.0).abs() < 1e-12, "as long as the straight of the edge");
    let sum: f64 = flat.faces.iter().map(|face| face.region.area()).sum::<f64>()
        + flat.bends.iter().map(|bend| bend.zone.area()).sum::<f64>()
        - flat.reliefs.iter().map(|relief| relief.removed.area()).sum::<f64>();
    assert!((flat.shape.area() - sum).abs() < 1e-9, "{} {sum}", flat.shape.area());
}

#[test]
fn corner_relief_takes_metal_from_both_bends() {
    for relief in [Relief::RECTANGULAR, Relief::ROUND, Relief::HOLE, Relief::HoleSawn { diameter: Some(12.0) }] {
        for join in [Join::Open, Join::Butted { gap: 0.2 }, Join::Overlapped { by_second: false, gap: 0.2 }] {
            let mut part = tray(200.0, 100.0, 30.0, 2.0, 2.0).with_join(join);
            part.corner_relief = relief;
            let flat = lay_flat(&part);
            let parts: f64 = flat.faces.iter().map(|face| face.region.area()).sum::<f64>()
                + flat.bends.iter().map(|bend| bend.zone.area()).sum::<f64>();
            let taken: f64 = flat.reliefs.iter().map(|relief| relief.removed.area()).sum();
            assert_eq!(flat.reliefs.len(), 4);
            assert!((flat.shape.area() - parts + taken).abs() < 1e-6, "{relief:?} {join:?}");
            // By rule a round relief ends just short of these bend lines; the others take a piece of each.
            let is_shorter =
                |length: f64, whole: f64| if relief == Relief::ROUND { length <= whole } else { length < whole };
            assert!(flat.bends.iter().all(|bend| is_shorter(bend.length(), bend.start[0].distance(bend.start[1]))));
        }
    }
}

#[test]
fn notches_are_cut_into_base_and_flange() {
    let mut part = channel(100.0, 60.0, 30.0, 2.0, 2.0);
    let plain = lay_flat(&part).shape.area();
    // With inside corners of 2 mm each leaves (1 − π/4) r² more of the metal.
    let rounded = NotchForm::Rounded { width: 10.0, depth: 6.0, radius: 2.0 };
    let area = |form| {
        let mut part = channel(100.0, 60.0, 40.0, 2.0, 2.0);
        part.flanges[0].notches.push(Notch { edge: Edge::Top, at: 50.0, form });
        lay_flat(&part).shape.area()
    };
    let less = area(rounded) - area(NotchForm::Rectangular { width: 10.0, depth: 6.0 });
    assert!((less - 2.0 * (1.0 - std::f64::consts::FRAC_PI_4) * 4.0).abs() < 1e-9, "{less}");
    let half =
        area(NotchForm::Rounded { width: 10.0, depth: 5.0, radius: 5.0 }) - area(NotchForm::Round { radius: 5.0 });
    assert!(half.abs() < 1e-9, "{half}");

    let form = NotchForm::Rectangular { width: 10.0, depth: 6.0 };
    part.notches.push(Notch { edge: Edge::Right, at: 30.0, form });
    part.flanges[0].notches.push(Notch { edge: Edge::Top, at: 50.0, form: NotchForm::Round { radius: 5.0 } });
    part.flanges[1].notches.push(Notch { edge: Edge::Top, at: 20.0, form: NotchForm::Vee { width: 8.0, depth: 8.0 } });
    let taken = 60.0 + std::f64::consts::PI * 12.5 + 32.0;
    assert!((plain - lay_flat(&part).shape.area() - taken).abs() < 1e-9);
}

#[test]
fn oblique_edges_are_bent_along_themselves() {
    use crate::pattern::PolygonCorner;
    let corners = [(0.0, 0.0), (120.0, 0.0), (90.0, 70.0), (20.0, 80.0)];
    let base = Base::Polygon { corners: corners.map(|(x, y)| PolygonCorner::sharp(x, y)).to_vec() };
    let mut part = BentPart::new(1.0, 1.0, Pattern::plain(base)).with_join(Join::Butted { gap: 0.1 });
    part.flanges.extend((0..4).map(|side| Flange::new(&format!("wall {side}"), Edge::Side(side), 25.0)));
    let flat = lay_flat(&part);
    let folded = flat.fold();
    for index in 1..5 {
        let (from, to) = (corners[index - 1], corners[index % 4]);
        let normal = Point::new(to.0, to.1) - Point::new(from.0, from.1);
        // The outside of every wall stands on the edge as told.
        let middle = flat.faces[index].frame.to_flat(Point::new(normal.length() / 2.0, 12.0));
        let at = folded.faces[index].at(middle, 0.0);
        let off = normal.cross(Point::new(at.x, at.y) - Point::new(from.0, from.1)) / normal.length();
        assert!(off.abs() < 1e-9 && (at.z - 12.0).abs() < 1e-9, "wall {index}: {off} {at:?}");
    }
}

#[test]
fn table_of_a_hat_can_be_followed_by_hand() {
    // T 2, R 2, K 0.44: SB 4, BA 4.5239, BD 3.4761. Legs 20, 30, 50, 30, 20: 150 - 4 × 3.4761 = 136.0956.
    let table = lay_flat(&hat_section(100.0, 50.0, 30.0, 20.0, 2.0, 2.0)).table();
    assert_eq!(table.bends.len(), 4);
    assert_eq!(table.runs.len(), 1);
    let run = &table.runs[0];
    assert_eq!(run.rows.len(), 9);
    assert!((run.told - 150.0).abs() < 1e-12);
    assert_eq!(format!("{:.4} {:.4}", run.deducted, run.flat_length), "13.9044 136.0956");
    let sums: Vec<String> = run
        .rows
        .iter()
        .map(|row| {
            let (RunRow::Leg { running, .. } | RunRow::Bend { running, .. }) = row;
            format!("{running:.3}")
        })
        .collect();
    // 16, + 4.524, + 22, + 4.524, + 42, and back down the same.
    assert_eq!(sums, ["16.000", "20.524", "42.524", "47.048", "89.048", "93.572", "115.572", "120.096", "136.096"]);
}

#[test]
fn table_of_a_tray_has_a_run_each_way() {
    let table = lay_flat(&tray(200.0, 100.0, 30.0, 2.0, 2.0)).table();
    let lengths: Vec<String> = table.runs.iter().map(|run| format!("{:.3}", run.flat_length)).collect();
    assert_eq!(lengths, ["153.048", "253.048"]);
    assert_eq!(table.bends[0].deduction.map(|deduction| format!("{deduction:.4}")), Some("3.4761".to_owned()));
}

#[test]
fn flange_told_to_the_bend_line_shares_the_allowance() {
    let flange =
        Flange { extent: Extent::Middle(40.0), ..Flange::new("tab", Edge::Top, 20.0) }.told(LegDatum::BendLine);
    let part = BentPart::new(2.0, 2.0, Pattern::plain(Base::rectangle(80.0, 50.0, Corner::Sharp))).with(flange);
    let flat = lay_flat(&part);
    assert!((flat.shape.bounds().height() - 70.0).abs() < 1e-9);
    assert!((flat.bends[0].line[0].y - 50.0).abs() < 1e-9);
}

#[test]
fn sight_line_stands_one_radius_beyond_the_start_of_the_bend() {
    // Aviation Maintenance Technician Handbook, Airframe, chapter 4 (from memory).
    let flat = lay_flat(&angle_bracket(80.0, 40.0, 30.0, 2.0, 3.0));
    let bend = &flat.bends[0];
    let [line, _] = bend.sight_line.unwrap();
    assert!((line.y - bend.start[0].y - 3.0).abs() < 1e-9);
    assert_eq!(flat.table().bends[0].basis, bend.development.to_string());
}
