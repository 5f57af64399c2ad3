//! Each rule on both sides of its limit. The source stands beside the limit.

use dropwise_geometry::{Outline, Point, Shape, Unit};

use super::*;
use crate::bend::{Development, KFactor, Method};
use crate::bend_plan::{BendJob, plan};
use crate::cutplan::ShearTool;
use crate::fold::{BentPart, Edge, Flange, Relief, angle_bracket, channel, unfold};
use crate::pattern::{Base, Corner, Cut, Feature, FromX, FromY, Pattern, Position};
use crate::shop::FlaringDie;

fn shop() -> Shop {
    Shop::usual(Unit::Millimetre)
}

fn plate(holes: &[(f64, f64, f64)]) -> Shape {
    let rings = holes.iter().map(|&(x, y, diameter)| Outline::circle(Point::new(x, y), diameter / 2.0)).collect();
    Shape::new(Outline::rectangle(Point::ORIGIN, 200.0, 100.0), rings)
}

/// Mild steel of 2 mm, cut with a laser.
fn subject(shape: &Shape) -> Subject<'_> {
    Subject {
        shape,
        material: Material::MildSteel,
        thickness: 2.0,
        weight: 1.0,
        process: Some(Process::Laser),
        kerf: 0.2,
        worked_holes: &[],
        bends: None,
        unit: Unit::Millimetre,
    }
}

fn rules(findings: &[Finding]) -> Vec<(Severity, &'static str)> {
    findings.iter().map(|finding| (finding.severity, finding.rule)).collect()
}

fn flat(shape: &Shape) -> Vec<(Severity, &'static str)> {
    rules(&check(&subject(shape), &shop()))
}

fn bent(part: &BentPart, shop: &Shop, grade: Grade, grain_deg: Option<f64>) -> Vec<Finding> {
    let k = KFactor::given(0.4).unwrap();
    let unfolding = unfold(part, &|_| Development::KFactor(k.clone())).unwrap();
    let job = BendJob { unfolding: &unfolding, grade, method: Method::AirBend, dies: &[] };
    let plan = plan(&job, shop.brake.as_ref());
    let bends = BentSubject { unfolding: &unfolding, grade, grain_deg, plan: &plan };
    let shape = &unfolding.shape;
    check(&Subject { thickness: part.thickness, bends: Some(bends), ..subject(shape) }, shop)
}

fn steel(part: &BentPart) -> Vec<(Severity, &'static str)> {
    rules(&bent(part, &shop(), Grade::LowCarbonSteel, None))
}

const NOTHING: [(Severity, &str); 0] = [];

#[test]
fn a_plain_plate_is_without_findings() {
    assert_eq!(flat(&plate(&[])), NOTHING);
    assert_eq!(flat(&plate(&[(50.0, 50.0, 9.0)])), NOTHING);
}

/// "Laser cutting design rules": hole to outer edge T.
#[test]
fn hole_to_edge() {
    assert_eq!(flat(&plate(&[(6.5, 50.0, 9.0)])), NOTHING); // 2.0
    assert_eq!(flat(&plate(&[(6.4, 50.0, 9.0)])), [(Severity::Warn, "hole to edge")]); // 1.9
}

/// "Sheet Metal Design Guidelines 98-053007": round holes 1.2 T. "Plasma cutting design table": 1.5 T.
#[test]
fn hole_to_hole() {
    let apart = |gap: f64| plate(&[(50.0, 50.0, 10.0), (60.0 + gap, 50.0, 10.0)]);
    assert_eq!(flat(&apart(2.4)), NOTHING);
    assert_eq!(flat(&apart(2.39)), [(Severity::Warn, "hole to hole")]);
    let plasma = |gap: f64| {
        let shape = apart(gap);
        rules(&check(&Subject { process: Some(Process::Plasma), ..subject(&shape) }, &shop()))
    };
    assert_eq!(plasma(3.0), NOTHING);
    assert_eq!(plasma(2.99), [(Severity::Warn, "hole to hole")]);
}

/// "Laser cutting design rules": smallest hole T. "Plasma cutting design table": 1.5 T.
#[test]
fn smallest_hole() {
    assert_eq!(flat(&plate(&[(50.0, 50.0, 2.0)])), NOTHING);
    let findings = check(&subject(&plate(&[(50.0, 50.0, 1.9)])), &shop());
    assert_eq!(rules(&findings), [(Severity::Warn, "smallest hole that is cut")]);
    assert!(findings[0].cure.ends_with("2 mm drill"), "{}", findings[0].cure);
    let shape = plate(&[(50.0, 50.0, 2.9)]);
    let plasma = check(&Subject { process: Some(Process::Plasma), ..subject(&shape) }, &shop());
    assert_eq!(rules(&plasma), [(Severity::Warn, "smallest hole that is cut")]);
    let wheel = check(&Subject { process: Some(Process::CutoffWheel), ..subject(&shape) }, &shop());
    assert_eq!(rules(&wheel), NOTHING); // it is drilled anyway
}

/// Geometry: nothing narrower than the kerf can be left open.
#[test]
fn slots_and_notches_against_the_kerf() {
    let with_slot = |width: f64| {
        let feature = Feature {
            position: Position::new(FromX::Left(100.0), FromY::Bottom(50.0)),
            cut: Cut::Slot { length: 40.0, width, angle_deg: 30.0 },
        };
        let base = Base::rectangle(200.0, 100.0, Corner::Sharp);
        Pattern { base, features: vec![feature] }.build().unwrap().shape
    };
    let plasma = |shape: &Shape| {
        let subject = Subject { process: Some(Process::Plasma), kerf: 1.5, ..subject(shape) };
        check(&subject, &shop())
            .iter()
            .filter(|f| f.rule == "wider than the kerf")
            .map(|f| f.severity)
            .collect::<Vec<_>>()
    };
    assert_eq!(plasma(&with_slot(1.51)), []);
    assert_eq!(plasma(&with_slot(1.49)), [Severity::Stop]);
    let with_notch = |width: f64| {
        let right = 100.0 + width;
        let corners = [
            (0.0, 0.0),
            (200.0, 0.0),
            (200.0, 100.0),
            (right, 100.0),
            (right, 60.0),
            (100.0, 60.0),
            (100.0, 100.0),
            (0.0, 100.0),
        ];
        Shape::new(Outline::polygon(corners.map(|(x, y)| Point::new(x, y))), Vec::new())
    };
    assert_eq!(plasma(&with_notch(1.5)), []);
    assert_eq!(plasma(&with_notch(1.4)), [Severity::Warn]);
}

fn l_shape(inside: Corner) -> Shape {
    let inside_radius = match inside {
        Corner::Radius(radius) => Some(radius),
        _ => None,
    };
    let base = Base::L { length_x: 100.0, width_x: 30.0, length_y: 100.0, width_y: 30.0, inside_radius };
    Pattern::plain(base).build().unwrap().shape
}

fn cut_with(process: Process, shape: &Shape, shop: &Shop) -> Vec<Finding> {
    check(&Subject { process: Some(process), ..subject(shape) }, shop)
}

/// Common practice, no source: a wheel needs a hole in the corner, a beam leaves half its kerf.
#[test]
fn inside_corners_by_process() {
    let sharp = l_shape(Corner::Sharp);
    let wheel = cut_with(Process::CutoffWheel, &sharp, &shop());
    assert_eq!(rules(&wheel), [(Severity::Warn, "inside corner")]);
    assert!(wheel[0].cure.contains("3 mm drill"), "{}", wheel[0].cure);
    let jigsaw = cut_with(Process::Jigsaw, &sharp, &shop());
    assert!(jigsaw[0].problem.contains("turns only in a hole"));
    let laser = cut_with(Process::Laser, &sharp, &shop());
    assert_eq!(rules(&laser), [(Severity::Note, "inside corner")]);
    assert_eq!(laser[0].wanted, Some(Amount::Length(0.1)));
    // The nearest size owned: only a hole saw here.
    let mut own = shop();
    own.tools.holes.sizes.retain(|size| size.to_string() == "16 mm hole saw");
    assert!(cut_with(Process::CutoffWheel, &sharp, &own)[0].cure.contains("16 mm hole saw"));
    own.tools.holes.sizes.clear();
    assert!(cut_with(Process::CutoffWheel, &sharp, &own)[0].cure.contains("is owned; get one"));
}

#[test]
fn inside_curves_for_a_wheel() {
    let sawn = cut_with(Process::CutoffWheel, &l_shape(Corner::Radius(10.0)), &shop());
    assert_eq!(rules(&sawn), [(Severity::Note, "inside curve")]);
    assert!(sawn[0].cure.contains("20 mm hole saw"), "{}", sawn[0].cure);
    let odd = cut_with(Process::CutoffWheel, &l_shape(Corner::Radius(13.5)), &shop());
    assert_eq!(rules(&odd), [(Severity::Warn, "inside curve")]);
    assert_eq!(rules(&cut_with(Process::Laser, &l_shape(Corner::Radius(13.5)), &shop())), NOTHING);
}

/// NIOSH lifting equation: 23 kg under the best conditions (from memory).
#[test]
fn weight_for_one_person() {
    let shape = plate(&[]);
    let of = |weight: f64| rules(&check(&Subject { weight, ..subject(&shape) }, &shop()));
    assert_eq!(of(23.0), NOTHING);
    assert_eq!(of(23.1), [(Severity::Warn, "weight for one person")]);
}

#[test]
fn the_shear_against_length_and_thickness() {
    let shape = plate(&[]);
    let of = |shear: Option<ShearTool>| {
        let mut own = shop();
        own.tools.shear = shear;
        rules(&check(&Subject { process: Some(Process::Shear), ..subject(&shape) }, &own))
    };
    assert_eq!(of(None), [(Severity::Warn, "shear of the shop")]);
    assert_eq!(of(Some(ShearTool { length: 200.0, thickest: 2.0 })), NOTHING);
    assert_eq!(of(Some(ShearTool { length: 199.0, thickest: 2.0 })), [(Severity::Stop, "length of the shear")]);
    assert_eq!(of(Some(ShearTool { length: 200.0, thickest: 1.9 })), [(Severity::Stop, "thickest sheet of the shear")]);
}

fn worked(holes: &[WorkedHole], shop: &Shop) -> Vec<(Severity, &'static str)> {
    let shape = plate(&[]);
    rules(&check(&Subject { worked_holes: holes, ..subject(&shape) }, shop))
}

/// M4 of ISO 10642: 8.96 mm over a 4.5 mm hole at 90° is 2.23 mm deep; M3, 6.72 over 3.4, is 1.66 mm. "Sheet metal design
/// guidelines": 4 T to an edge, 8 T between.
#[test]
fn countersinks() {
    let at = |x: f64, y: f64, diameter: f64, hole: f64| WorkedHole {
        center: Point::new(x, y),
        diameter: hole,
        work: HoleWork::Countersunk { diameter, depth: (diameter - hole) / 2.0 },
    };
    assert_eq!(worked(&[at(50.0, 50.0, 6.72, 3.4)], &shop()), NOTHING);
    assert_eq!(worked(&[at(50.0, 50.0, 8.96, 4.5)], &shop()), [(Severity::Warn, "countersink depth")]);
    let edge = |clear: f64| worked(&[at(50.0, 3.36 + clear, 6.72, 3.4)], &shop());
    assert_eq!(edge(8.0), NOTHING);
    assert_eq!(edge(7.9), [(Severity::Warn, "countersink to edge")]);
    let pair = |clear: f64| worked(&[at(50.0, 50.0, 6.72, 3.4), at(56.72 + clear, 50.0, 6.72, 3.4)], &shop());
    assert_eq!(pair(16.0), NOTHING);
    assert_eq!(pair(15.9), [(Severity::Warn, "countersink to countersink")]);
}

/// "Dimple Dies Make Stronger Panels": the hole is cut about 0.030 in over the die's. Spacing from memory: a flare's
/// diameter apart, T + R + 1/4 in to an edge.
#[test]
fn flared_holes() {
    let own = Shop { flaring_dies: vec![FlaringDie { hole: 25.0, outside: 35.0, depth: 5.0 }], ..shop() };
    let at = |x: f64, y: f64, hole: f64| WorkedHole {
        center: Point::new(x, y),
        diameter: hole,
        work: HoleWork::Flared { diameter: 35.0 },
    };
    assert_eq!(worked(&[at(60.0, 50.0, 25.762)], &own), NOTHING);
    assert_eq!(worked(&[at(60.0, 50.0, 25.0)], &own), [(Severity::Stop, "flaring die")]);
    assert_eq!(worked(&[at(60.0, 50.0, 28.0)], &own), [(Severity::Stop, "flaring die")]);
    assert_eq!(worked(&[at(60.0, 50.0, 25.762)], &shop()), [(Severity::Warn, "flaring die")]);
    let edge = |clear: f64| worked(&[at(60.0, 17.5 + clear, 25.762)], &own);
    assert_eq!(edge(8.35), NOTHING);
    assert_eq!(edge(8.3), [(Severity::Warn, "flare to edge")]);
    let pair = |clear: f64| worked(&[at(60.0, 50.0, 25.762), at(95.0 + clear, 50.0, 25.762)], &own);
    assert_eq!(pair(35.0), NOTHING);
    assert_eq!(pair(34.9), [(Severity::Warn, "flare to flare")]);
}

#[test]
fn a_sound_bracket_is_without_findings() {
    assert_eq!(steel(&angle_bracket(200.0, 60.0, 40.0, 2.0, 2.0)), NOTHING);
    assert_eq!(steel(&channel(200.0, 100.0, 40.0, 2.0, 2.0)), NOTHING);
}

/// "Sheet Metal Design Guide": 2 T clear of the radius. "Sheet Metal Part Design Guide": 3 T + R.
#[test]
fn hole_to_bend() {
    let of = |clear: f64| {
        // The bend begins R + T = 4 mm inside the edge of the base as told.
        let position = Position::new(FromX::Left(100.0), FromY::Top(4.0 + 5.0 + clear));
        let base = Pattern {
            base: Base::rectangle(200.0, 60.0, Corner::Sharp),
            features: vec![Feature { position, cut: Cut::Hole { diameter: 10.0 } }],
        };
        steel(&BentPart::new(2.0, 2.0, base).with(Flange::new("leg", Edge::Top, 40.0)))
    };
    assert_eq!(of(8.01), NOTHING);
    assert_eq!(of(7.9), [(Severity::Note, "hole to bend")]);
    assert_eq!(of(4.01), [(Severity::Note, "hole to bend")]);
    assert_eq!(of(3.9), [(Severity::Warn, "hole to bend")]);
}

/// "How to calculate bending force": 0.71 V; the narrowest die for 2 mm here is 8 mm: 5.68.
#[test]
fn leg_on_the_die() {
    let of = |leg: f64| steel(&angle_bracket(200.0, 60.0, leg, 2.0, 1.3));
    assert!(!of(5.7).contains(&(Severity::Stop, "leg on the die")));
    assert!(of(5.6).contains(&(Severity::Stop, "leg on the die")));
}

/// "Sheet metal design guidelines": low-carbon sheet 0.5 T or 0.8 mm. "Sheet bend radii": 6061-T6 1.5 T at 1/16 in,
/// 2.5 T at 1/8 in, advised 0.500 in there.
#[test]
fn inside_radius() {
    let least = |findings: Vec<Finding>| {
        let radii = findings.into_iter().filter(|finding| finding.rule == "inside radius");
        radii.map(|finding| finding.severity).collect::<Vec<_>>()
    };
    let of = |radius: f64| {
        least(bent(&angle_bracket(200.0, 60.0, 40.0, 2.0, radius), &shop(), Grade::LowCarbonSteel, Some(90.0)))
    };
    assert_eq!(of(1.0), []);
    assert_eq!(of(0.99), [Severity::Stop]);
    let alloy = |radius: f64| {
        least(bent(&angle_bracket(200.0, 90.0, 60.0, 3.175, radius), &shop(), Grade::Aluminium6061T6, Some(90.0)))
    };
    assert_eq!(alloy(12.7), []);
    assert_eq!(alloy(12.6), [Severity::Warn]);
    assert_eq!(alloy(7.94), [Severity::Warn]);
    assert_eq!(alloy(7.93), [Severity::Stop]);
}

/// Along the grain 1.5 to 2 times as much (from memory): 1.5 mm instead of 1 in 2 mm sheet. The bend runs along x.
#[test]
fn bends_and_the_grain() {
    let of = |radius: f64, grain: Option<f64>| {
        let findings = bent(&angle_bracket(200.0, 60.0, 40.0, 2.0, radius), &shop(), Grade::LowCarbonSteel, grain);
        findings.iter().filter(|f| f.rule == "inside radius").map(|f| f.severity).collect::<Vec<_>>()
    };
    assert_eq!(of(1.4, Some(0.0)), [Severity::Stop]);
    assert_eq!(of(1.4, Some(90.0)), []);
    assert_eq!(of(1.4, None), [Severity::Note]);
    assert_eq!(of(2.0, Some(180.0)), []);
    assert_eq!(of(1.6, Some(0.0)), [Severity::Warn]);
}

/// "Bend relief requirements": at least half the thickness wide.
#[test]
fn reliefs() {
    let of = |relief: Relief| {
        let base = Pattern::plain(Base::rectangle(200.0, 60.0, Corner::Sharp));
        let tab = Flange::new("tab", Edge::Top, 40.0).from_to(60.0, 140.0);
        let part = BentPart { relief, ..BentPart::new(2.0, 2.0, base) }.with(tab);
        steel(&part)
            .into_iter()
            .filter(|(_, rule)| *rule == "bend relief")
            .map(|(severity, _)| severity)
            .collect::<Vec<_>>()
    };
    let by_hand = |width: f64| Relief::Rectangular(crate::fold::ReliefSize::Hand { width, depth: 6.0 });
    assert_eq!(of(Relief::RECTANGULAR), []);
    assert_eq!(of(by_hand(1.05)), []);
    assert_eq!(of(by_hand(0.8)), [Severity::Warn; 2]);
    assert_eq!(of(Relief::None), [Severity::Warn; 2]);
}

/// The imperial rule, 575 T²/V tons a foot: 2 mm in V 12 takes 240 kN/m in steel of 450 MPa.
#[test]
fn length_and_force_of_the_brake() {
    let of = |length: f64, force: f64| {
        let mut own = shop();
        let brake = own.brake.as_mut().unwrap();
        (brake.length, brake.force) = (1000.0, force);
        rules(&bent(&angle_bracket(length, 60.0, 40.0, 2.0, 2.0), &own, Grade::LowCarbonSteel, None))
    };
    assert_eq!(of(1000.0, 241.0), NOTHING);
    assert_eq!(of(1001.0, 300.0), [(Severity::Stop, "length of the brake")]);
    assert_eq!(of(1000.0, 238.0), [(Severity::Stop, "force of the brake")]);
}

/// "How to calculate bending force": 5/32 V; the widest die of the usual shop, 50 mm, makes 8 mm.
#[test]
fn radius_of_the_die() {
    assert_eq!(steel(&angle_bracket(200.0, 90.0, 60.0, 2.0, 9.0)), NOTHING);
    assert_eq!(steel(&angle_bracket(200.0, 90.0, 60.0, 2.0, 12.0)), [(Severity::Warn, "radius of the die")]);
}

#[test]
fn no_brake_and_no_order() {
    let none = Shop { brake: None, ..shop() };
    let part = channel(200.0, 60.0, 75.0, 1.5, 1.5);
    assert_eq!(rules(&bent(&part, &none, Grade::LowCarbonSteel, None)), [(Severity::Warn, "order of bends")]);
    let mut straight = shop();
    straight.brake.as_mut().unwrap().punches.truncate(1);
    let findings = bent(&part, &straight, Grade::LowCarbonSteel, None);
    assert_eq!(rules(&findings)[0], (Severity::Warn, "order of bends"));
    assert!(findings[0].problem.contains("runs into the punch"), "{}", findings[0].problem);
}

#[test]
fn findings_speak_in_the_unit_of_the_job() {
    let shape = plate(&[(6.4, 50.0, 9.0)]);
    let finding = &check(&subject(&shape), &shop())[0];
    assert_eq!(
        finding.to_string(),
        "warn: the hole (Ø 9 mm) at (6.4 mm, 50 mm) is too near to the edge, which bulges or burns through: 1.9 mm, wanted \
         2 mm. Move it in by the difference, or make it an open notch [Laser cutting design rules (confirmed)]"
    );
    assert!(Amount::Force(88.964).in_unit(Unit::Inch).starts_with("10.0 tons"));
}
