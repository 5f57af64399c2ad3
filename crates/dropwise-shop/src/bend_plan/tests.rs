//! Orders that a person would find, and shapes that none makes.

use dropwise_geometry::Unit;

use proptest::prelude::*;

use super::*;
use crate::bend::{Development, KFactor, LegDatum};
use crate::fold::{BentPart, Edge, Flange, angle_bracket, channel, hat_section, lipped_box, tray, unfold, z_section};
use crate::pattern::{Base, Corner, Pattern};
use crate::shop::{Punch, Shop};

fn flat(part: &BentPart) -> Unfolding {
    let k = KFactor::given(0.4).unwrap();
    unfold(part, &|_| Development::KFactor(k.clone())).unwrap()
}

fn planned_with(part: &BentPart, brake: &Brake) -> BendingPlan {
    let unfolding = flat(part);
    let job = BendJob { unfolding: &unfolding, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &[] };
    plan(&job, Some(brake))
}

fn usual() -> Brake {
    Shop::usual(Unit::Millimetre).brake.unwrap()
}

fn planned(part: &BentPart) -> BendingPlan {
    planned_with(part, &usual())
}

fn only(punch: usize) -> Brake {
    Brake { punches: vec![Punch::usual()[punch].clone()], ..usual() }
}

/// A closed square tube: the last wall would have to be bent with the punch inside it.
fn tube(side: f64) -> BentPart {
    let seam = Flange::new("seam", Edge::Top, 12.0);
    let roof = Flange::new("roof", Edge::Top, side).with(seam);
    let base = Pattern::plain(Base::rectangle(200.0, side, Corner::Sharp));
    BentPart::new(1.5, 1.5, base).with(Flange::new("left", Edge::Bottom, side).with(roof)).with(Flange::new(
        "right",
        Edge::Top,
        side - 4.0,
    ))
}

#[test]
fn everyday_parts_have_an_order() {
    for part in [
        angle_bracket(200.0, 60.0, 40.0, 2.0, 2.0),
        channel(300.0, 100.0, 40.0, 2.0, 2.0),
        z_section(200.0, 60.0, 30.0, 2.0, 2.0),
        hat_section(200.0, 60.0, 40.0, 30.0, 2.0, 2.0),
        tray(300.0, 200.0, 50.0, 1.5, 1.5),
        lipped_box(300.0, 200.0, 50.0, 15.0, 1.5, 1.5),
    ] {
        let plan = planned(&part);
        assert_eq!(plan.order, Order::Found, "{:?}", plan.blocked);
        let mut bends: Vec<usize> = plan.steps.iter().map(|step| step.bend).collect();
        bends.sort_unstable();
        assert_eq!(bends, (0..bends.len()).collect::<Vec<_>>());
        assert!(plan.blocked.is_empty());
    }
}

/// By hand: at the end of the second bend web and leg both stand at 45°, so that the first leg, square to the web, leans
/// over the punch. Its inside reaches the side of a punch b wide at a height of about web - b/√2 along the leg: with a web of
/// 60 mm and 20 mm of punch it is clear up to 46 mm or so. Common practice has it as "no deeper than the web is wide".
#[test]
fn a_deep_and_narrow_channel_needs_a_gooseneck() {
    let of = |flange: f64, punch: usize| planned_with(&channel(200.0, 60.0, flange, 1.5, 1.5), &only(punch)).order;
    assert_eq!((of(35.0, 0), of(75.0, 0)), (Order::Found, Order::None));
    assert_eq!(of(55.0, 1), Order::Found);
    // And the plan with all punches on the shelf takes the gooseneck by itself.
    let plan = planned(&channel(200.0, 60.0, 55.0, 1.5, 1.5));
    assert_eq!((plan.order, plan.steps[1].punch.as_str()), (Order::Found, "gooseneck punch"));
    assert_eq!(plan.steps[0].punch, "straight punch");
}

#[test]
fn what_stands_in_the_way_is_told() {
    let plan = planned_with(&channel(200.0, 60.0, 75.0, 1.5, 1.5), &only(0));
    assert_eq!(plan.steps.len(), 1);
    let told = plan.blocked[0].obstacle.to_string();
    assert!(told.starts_with("face \"front\"") || told.starts_with("face \"back\""), "{told}");
    assert!(told.ends_with("runs into the punch"), "{told}");
}

#[test]
fn returns_are_bent_before_the_walls_that_carry_them() {
    let plan = planned(&lipped_box(300.0, 200.0, 50.0, 15.0, 1.5, 1.5));
    let at = |face: &str| plan.steps.iter().position(|step| step.face == face).unwrap();
    for side in ["front", "right", "back", "left"] {
        assert!(at(&format!("{side} return")) < at(side), "{side}");
    }
    // The last walls stand between returns that are turned in by 15: the punch is shorter than the bend.
    let last = plan.steps.last().unwrap();
    assert!(last.punch_length < last.length - 2.0 * 10.0 && last.punch_length > last.length - 2.0 * 26.0);
    assert!(plan.steps[0].punch_length > plan.steps[0].length - 2.0 * 3.1);
}

/// Returns wider than what a punch may leave out at its ends have no order.
#[test]
fn a_box_that_is_nearly_closed_has_no_order() {
    assert_eq!(planned(&lipped_box(300.0, 200.0, 50.0, 60.0, 1.5, 1.5)).order, Order::None);
}

/// By hand: the base stands at 45°, and a wall h high beside it passes the beam, 30 mm to each side of the middle and 105
/// up, where (d + h) / √2 < 105 at d - h = 30 √2: up to h = (105 - 30) / √2 = 53.
#[test]
fn a_tray_is_no_deeper_than_the_punch_is_high() {
    assert_eq!(planned(&tray(400.0, 300.0, 51.0, 1.5, 1.5)).order, Order::Found);
    let plan = planned(&tray(400.0, 300.0, 57.0, 1.5, 1.5));
    assert_eq!(plan.order, Order::None);
    assert!(plan.blocked.iter().any(|blocked| blocked.obstacle.to_string().contains("runs into the beam")));
}

#[test]
fn a_closed_tube_has_no_order() {
    let plan = planned(&tube(40.0));
    assert_eq!(plan.order, Order::None);
    assert!(!plan.blocked.is_empty());
}

/// "Air bending force chart": V 12 makes 220 kN/m in 2 mm of mild steel; 1.42 UTS T²/V gives 213, the imperial rule 240.
/// Shortest leg in V 12: 8.5 mm by the same chart, 0.71 V = 8.52 by "How to calculate bending force".
#[test]
fn die_force_and_leg_of_a_bend() {
    let plan = planned(&angle_bracket(1000.0, 60.0, 40.0, 2.0, 2.0));
    let step = &plan.steps[0];
    assert_eq!(step.die.opening, 12.0);
    let chart = step.force / 220.0;
    assert!((1.0..1.12).contains(&chart), "{chart}");
    assert!((step.least_leg - 8.52).abs() < 1e-9);
    assert!((step.length - 1000.0).abs() < 1e-9);
    // The legs are those that were told, and the shorter one is at the back.
    assert!((step.legs[0] - 40.0).abs() < 1e-9 && (step.legs[1] - 60.0).abs() < 1e-9, "{:?}", step.legs);
    let gauge = step.gauge.as_ref().unwrap();
    // 40 less the setback of 4, and half the allowance of (π/2)(2 + 0.8).
    let by_hand = 40.0 - 4.0 + std::f64::consts::FRAC_PI_4 * 2.8;
    assert!((gauge.distance - by_hand).abs() < 1e-9 && gauge.is_straight && gauge.face == "leg");
}

/// A leg of 7 mm falls into a V of 12 and of 10 (7.1 mm), so 8 is taken; one of 5 is too short for any that is wide enough.
#[test]
fn a_short_leg_asks_for_a_narrower_die() {
    let of = |leg: f64| planned(&angle_bracket(100.0, 60.0, leg, 2.0, 2.0)).steps[0].clone();
    assert_eq!(of(9.0).die.opening, 12.0);
    assert_eq!(of(7.0).die.opening, 8.0);
    let short = of(5.0);
    assert!(short.least_leg > short.legs[0]);
}

#[test]
fn a_die_that_is_laid_down_is_taken() {
    let unfolding = flat(&angle_bracket(100.0, 60.0, 40.0, 2.0, 2.0));
    let job =
        BendJob { unfolding: &unfolding, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &[Some(25.0)] };
    assert_eq!(plan(&job, Some(&usual())).steps[0].die.opening, 25.0);
}

#[test]
fn without_a_brake_there_is_no_plan() {
    let unfolding = flat(&channel(300.0, 100.0, 40.0, 2.0, 2.0));
    let job = BendJob { unfolding: &unfolding, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &[] };
    assert_eq!(plan(&job, None).order, Order::NoBrake);
    assert_eq!(plan(&job, Some(&Brake { dies: Vec::new(), ..usual() })).order, Order::NoBrake);
}

#[test]
fn an_angle_sharper_than_every_punch_is_told() {
    let base = Pattern::plain(Base::rectangle(100.0, 60.0, Corner::Sharp));
    let part = BentPart::new(1.5, 1.5, base).with(Flange::new("leg", Edge::Top, 40.0).turned(130.0));
    assert_eq!(planned_with(&part, &only(0)).blocked[0].obstacle, Obstacle::TooSharp);
    assert_eq!(planned(&part).steps[0].punch, "acute punch");
}

#[test]
fn hems_are_folded_and_pressed() {
    let base = Pattern::plain(Base::rectangle(100.0, 60.0, Corner::Sharp));
    let plan = planned(&BentPart::new(1.0, 1.0, base).with(Flange::closed_hem("hem", Edge::Top, 10.0)));
    assert_eq!(plan.order, Order::Found, "{:?}", plan.blocked);
    // 1.94 V at the first bend.
    assert!(plan.steps[0].hem.is_some() && (plan.steps[0].least_leg - 1.94 * 6.0).abs() < 1e-9);
}

/// No common tool bends sharper than an opening of 28°: a bend by 155° is no hem, and cannot be pressed flat either.
#[test]
fn a_bend_sharper_than_every_tool_is_told() {
    let base = Pattern::plain(Base::rectangle(100.0, 80.0, Corner::Sharp));
    let part = BentPart::new(1.5, 1.5, base).with(Flange::new("leg", Edge::Top, 60.0).turned(155.0));
    assert_eq!(planned(&part).blocked[0].obstacle, Obstacle::TooSharp);
}

/// How far a rim reaches beyond where the edge it is bent from was told, by points set close together all over it: a
/// reckoning of its own, which knows nothing of machines.
fn reach_beyond(rim: &Flange, (thickness, radius): (f64, f64)) -> f64 {
    let plate = Pattern::plain(Base::rectangle(200.0, 100.0, Corner::Sharp));
    let flat = flat(&BentPart::new(thickness, radius, plate).with(rim.clone()));
    let folded = flat.fold();
    let (bend, base) = (&flat.bends[0], flat.faces[0].frame.origin.y);
    let mut farthest = f64::NEG_INFINITY;
    for height in [0.0, thickness] {
        for share in 0..=20_000 {
            let at = bend.start[0].lerp(bend.end[0], f64::from(share) / 20_000.0);
            farthest = farthest.max(folded.bends[0].at(at, height).y);
        }
        for vertex in flat.faces[1].region.exterior().vertices() {
            farthest = farthest.max(folded.faces[1].at(vertex.point, height).y);
        }
    }
    farthest - base - 100.0
}

fn rim() -> impl Strategy<Value = Flange> {
    let rim = prop_oneof![
        Just(Flange::closed_hem("rim", Edge::Top, 12.0)),
        (1.0..6.0).prop_map(|gap| Flange::open_hem("rim", Edge::Top, 14.0, gap)),
        (1.0..4.0).prop_map(|radius| Flange::teardrop_hem("rim", Edge::Top, 12.0, radius)),
        // What leans outwards stays as low as the fingers of a gauge feel.
        prop_oneof![20.0..35.0, 90.0..150.0]
            .prop_map(|turn: f64| Flange::new("rim", Edge::Top, 16.0).turned(turn).told(LegDatum::OutsideTangent)),
    ];
    (rim, any::<bool>()).prop_map(|(rim, is_down)| if is_down { rim.down() } else { rim })
}

proptest! {
    /// The leg that is printed is the leg that was told, whatever the wall's own angle, when a hem or a rim bent past a
    /// square stands at the gauge; a rim that leans outwards adds what it reaches beyond.
    #[test]
    fn the_leg_printed_is_the_leg_told(
        rim in rim(),
        (thickness, radius, height, turn) in (0.8..3.0, 0.8..4.0, 45.0..90.0, 20.0..150.0),
    ) {
        let beyond = reach_beyond(&rim, (thickness, radius));
        let is_folded_in = !matches!(rim.turn, crate::fold::Turn::Angle(angle) if angle < 90.0);
        let told = if turn > 90.0 { LegDatum::OutsideTangent } else { LegDatum::Outside };
        let wall = Flange::new("wall", Edge::Top, height).turned(turn).told(told).with(rim);
        let base = Pattern::plain(Base::rectangle(200.0, 100.0, Corner::Sharp));
        let unfolding = flat(&BentPart::new(thickness, radius, base).with(wall));
        let body = Body::new(&unfolding);
        let is_done = [false, true];
        let faces = body.pose(&[0.0, 1.0]);
        let machine = body.machine_frame(0, 0.0, &faces);
        let reach = gauge::reach(&body, &[0], &is_done, &faces, &machine, true);
        let leg = setup::leg(&unfolding.bends[0], reach);
        prop_assert!((leg - (height + beyond)).abs() < 1e-6, "{leg} is not {height} and {beyond}");
        if is_folded_in {
            prop_assert!(beyond.abs() < 1e-6, "{beyond}");
        }
    }
}

/// A wall told 50 high in 2 mm sheet, K 0.4, R 2, by hand: from the middle of its bend to the free edge
/// 50 - 4 + π/4 (2 + 0.8) = 48.199, whether the edge is square, hemmed or bent over by 120°.
#[test]
fn a_hem_at_the_gauge_stands_as_far_out_as_a_square_edge() {
    let base = || Pattern::plain(Base::rectangle(200.0, 100.0, Corner::Sharp));
    for rim in [
        Flange::new("lip", Edge::Top, 12.0),
        Flange::closed_hem("hem", Edge::Top, 12.0),
        Flange::open_hem("hem", Edge::Top, 12.0, 4.0),
        Flange::new("lip", Edge::Top, 16.0).turned(120.0).told(LegDatum::OutsideTangent),
    ] {
        let plan = planned(&BentPart::new(2.0, 2.0, base()).with(Flange::new("wall", Edge::Top, 50.0).with(rim)));
        let step = plan.steps.iter().find(|step| step.face == "wall").expect("it is bent");
        let gauge = step.gauge.as_ref().expect("it reaches");
        assert!((gauge.distance - 48.199_115).abs() < 1e-6, "{gauge:?}");
        assert!((step.legs[0] - 50.0).abs() < 1e-9 && gauge.is_straight, "{step:?}");
    }
}

/// Two tabs of 130 on one edge: with one made first the other cannot be; both are made in one stroke.
#[test]
fn tabs_in_one_line_are_bent_in_one_stroke() {
    let base = Pattern::plain(Base::rectangle(300.0, 80.0, Corner::Sharp));
    let tab = |name: &str, from: f64, to: f64| Flange::new(name, Edge::Top, 130.0).from_to(from, to);
    let plan = planned(&BentPart::new(1.5, 1.5, base).with(tab("a", 20.0, 120.0)).with(tab("b", 180.0, 280.0)));
    assert_eq!(plan.order, Order::Found, "{:?}", plan.blocked);
    let [step] = &plan.steps[..] else { panic!("{:?}", plan.steps) };
    assert_eq!((step.bend, step.also.as_slice(), step.face.as_str()), (0, &[1][..], "a and b"));
    assert!((step.length - 200.0).abs() < 1e-6 && (step.span - 260.0).abs() < 1e-6, "{step:?}");
}

/// Two set-ups, not four.
#[test]
fn both_long_sides_of_a_tray_come_before_both_short_ones() {
    let plan = planned(&tray(300.0, 200.0, 50.0, 1.5, 1.5));
    let lengths: Vec<f64> = plan.steps.iter().map(|step| step.length.round()).collect();
    assert_eq!(lengths, [294.0, 294.0, 194.0, 194.0]);
}

/// Walls of 150 reach the beam over a punch of 105: the beam is named, and how high a punch would do.
#[test]
fn the_obstacle_is_the_one_in_the_way_with_what_helps() {
    let plan = planned(&tray(300.0, 300.0, 150.0, 1.5, 1.5));
    assert_eq!(plan.order, Order::None);
    assert!(plan.effort.ways > 0 && plan.effort.sets > 0);
    for blocked in &plan.blocked {
        assert!(matches!(blocked.obstacle, Obstacle::Tool { tool: Tool::Beam, .. }), "{blocked:?}");
        let Some(Help::HigherPunch(height)) = blocked.help else { panic!("{blocked:?}") };
        assert!((150.0..=300.0).contains(&height), "{height}");
        let taller = Brake { punches: vec![Punch::straight("tall", 88.0, 0.8, 20.0, height).unwrap()], ..usual() };
        assert_eq!(planned_with(&tray(300.0, 300.0, 150.0, 1.5, 1.5), &taller).order, Order::Found);
    }
}

/// A table with its legs and aprons: what lies in one line is bent at once, or the reason is a true one.
#[test]
fn a_machine_table_has_an_order() {
    let plan = planned(&crate::fold::machine_table((320.0, 240.0, 160.0), 45.0, 30.0, 35.0, 3.0, 3.0));
    assert_eq!(plan.order, Order::Found, "{:?}", plan.blocked);
}

/// By hand: a bend of 192 between walls in 1.5 mm over 1.5, pieces of 100, 50, 30 and 10: at most 192 - 2 x 3 = 186.
#[test]
fn punches_are_put_together_from_the_pieces_there_are() {
    let mut brake = only(1);
    brake.punches[0].pieces = vec![100.0, 50.0, 30.0, 10.0];
    let plan = planned_with(&lipped_box(300.0, 200.0, 50.0, 15.0, 1.5, 1.5), &brake);
    for step in plan.steps.iter().filter(|step| !step.punch_pieces.is_empty()) {
        let sum: f64 = step.punch_pieces.iter().sum();
        assert!((sum - step.punch_length).abs() < 1e-6 && sum <= step.length, "{step:?}");
        assert!(step.punch_pieces.iter().all(|piece| brake.punches[0].pieces.contains(piece)));
    }
}
