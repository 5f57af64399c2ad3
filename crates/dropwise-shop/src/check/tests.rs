//! Each rule on both sides of its limit. The source stands beside the limit.

use dropwise_geometry::{Outline, Point, Shape, Unit};

use super::*;
use crate::bend::{Development, ForceRule, KFactor, Method};
use crate::bend_plan::{BendJob, hand_plan, plan};
use crate::cutplan::ShearTool;
use crate::fold::{BentPart, Edge, Flange, Relief, angle_bracket, channel, unfold};
use crate::pattern::{Base, Corner, Cut, Feature, FromX, FromY, Pattern, Position};
use crate::shop::{Bender, Brake, BrakeSources, FlaringDie};

fn shop() -> Shop {
    Shop::usual(Unit::Millimetre)
}

/// The same, and its brake is what the shop says.
fn own_brake() -> Shop {
    let mut own = shop();
    let known = crate::shop::OWN_FIGURE;
    let sources = BrakeSources { length: known, force: known, dies: known, punches: known, gauge: known };
    own.brake.as_mut().unwrap().sources = sources;
    own
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
        tolerances: None,
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
    let by_hand: Vec<_> = shop.benders.iter().map(|bender| hand_plan(&job, bender)).collect();
    let bends = BentSubject {
        unfolding: &unfolding,
        grade,
        grain_deg,
        method: Method::AirBend,
        plan: &plan,
        by_hand: &by_hand,
        dies: &[],
    };
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
    // As the cut plan has it: a sharp corner is not drilled, but stopped short of.
    assert_eq!(
        cut_with(Process::CutoffWheel, &sharp, &own)[0].cure,
        "As drawn, stop short of it and finish with a file or hacksaw"
    );
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
/// guidelines": 4 T to an edge, 8 T between. "Contract maker's table of 12 DFM rules": 2/3 T in sheet under 3 mm.
#[test]
fn countersinks() {
    let at = |x: f64, y: f64, diameter: f64, hole: f64| WorkedHole {
        center: Point::new(x, y),
        diameter: hole,
        work: HoleWork::Countersunk { diameter, depth: (diameter - hole) / 2.0, screw: None },
    };
    let worked = |holes: &[WorkedHole], shop: &Shop| {
        // 1.66 mm is deeper than two thirds of 2 mm, which is a note.
        let found = self::worked(holes, shop);
        found.into_iter().filter(|(severity, _)| *severity > Severity::Note).collect::<Vec<_>>()
    };
    assert_eq!(worked(&[at(50.0, 50.0, 6.72, 3.4)], &shop()), NOTHING);
    let depth = |depth: f64| self::worked(&[at(50.0, 50.0, 3.4 + 2.0 * depth, 3.4)], &shop());
    assert_eq!(depth(1.33), NOTHING);
    assert_eq!(depth(1.34), [(Severity::Note, "countersink depth")]);
    assert_eq!(depth(1.81), [(Severity::Warn, "countersink depth")]);
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
    let own =
        Shop { flaring_dies: vec![FlaringDie { hole: 25.0, outside: 35.0, depth: 5.0, thickest: None }], ..shop() };
    let at = |x: f64, y: f64, hole: f64| WorkedHole {
        center: Point::new(x, y),
        diameter: hole,
        work: HoleWork::Flared { diameter: 35.0, depth: None },
    };
    assert_eq!(worked(&[at(60.0, 50.0, 25.762)], &own), NOTHING);
    // So is the size that it is sold by.
    assert_eq!(worked(&[at(60.0, 50.0, 25.0)], &own), NOTHING);
    assert_eq!(worked(&[at(60.0, 50.0, 24.9)], &own), [(Severity::Stop, "flaring die")]);
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

/// Along the grain 1.5 to 2 times as much (from memory): 1.5 mm instead of 1 in 2 mm sheet. The bend runs along x. What is
/// only remembered warns; below what the metal stands across the grain, the confirmed figure stops.
#[test]
fn bends_and_the_grain() {
    let of = |radius: f64, grain: Option<f64>| {
        let findings = bent(&angle_bracket(200.0, 60.0, 40.0, 2.0, radius), &shop(), Grade::LowCarbonSteel, grain);
        findings.iter().filter(|f| f.rule == "inside radius").map(|f| f.severity).collect::<Vec<_>>()
    };
    assert_eq!(of(1.4, Some(0.0)), [Severity::Warn]);
    assert_eq!(of(0.9, Some(0.0)), [Severity::Stop]);
    let told = |radius: f64| {
        let findings = bent(&angle_bracket(200.0, 60.0, 40.0, 2.0, radius), &shop(), Grade::LowCarbonSteel, Some(0.0));
        findings.iter().find(|f| f.rule == "inside radius").map(|f| (f.wanted, f.source.to_string())).unwrap()
    };
    let remembered = "1.5 to 2 times the radius across the grain (from memory)".to_owned();
    assert_eq!(told(1.4), (Some(Amount::Length(1.5)), remembered));
    assert_eq!(told(0.9), (Some(Amount::Length(1.0)), "Sheet metal design guidelines (confirmed)".to_owned()));
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
    assert_eq!(of(by_hand(0.8)), [Severity::Warn]);
    assert_eq!(of(Relief::None), [Severity::Warn]);
}

fn tab(relief: Relief) -> BentPart {
    let base = Pattern::plain(Base::rectangle(200.0, 60.0, Corner::Sharp));
    let tab = Flange::new("tab", Edge::Top, 40.0).from_to(60.0, 140.0);
    BentPart { relief, ..BentPart::new(2.0, 2.0, base) }.with(tab)
}

/// "Bend relief requirements": R + T + 0.020 in past the bend line: 4.508 mm here, of which half the allowance of K 0.4,
/// π/4 (2 + 0.8) = 2.199 mm, lies before the bend begins. Both ends are one finding.
#[test]
fn depth_of_reliefs() {
    let of = |depth: f64| {
        let part = tab(Relief::Rectangular(crate::fold::ReliefSize::Hand { width: 3.0, depth }));
        let found = bent(&part, &shop(), Grade::LowCarbonSteel, None);
        found.into_iter().filter(|finding| finding.rule == "depth of a relief").collect::<Vec<_>>()
    };
    let least = 2.0 + 2.0 + 0.508 - std::f64::consts::FRAC_PI_4 * 2.8;
    assert_eq!(of(least + 0.01), []);
    let shallow = of(0.3);
    assert_eq!(shallow.len(), 1, "{shallow:?}");
    assert!(shallow[0].feature.starts_with("both ends of "), "{}", shallow[0].feature);
    assert!((shallow[0].wanted.unwrap().value() - 4.508).abs() < 1e-9);
    // The relief by rule is as deep as that.
    let by_rule = rules(&bent(&tab(Relief::RECTANGULAR), &shop(), Grade::LowCarbonSteel, None));
    assert_eq!(by_rule, [(Severity::Note, "inside corner")]);
}

/// "Capacity chart for air bending": six thicknesses and more. Below 5 it warns and below 4 it stops (common practice).
#[test]
fn opening_of_the_die() {
    let of = |opening: f64| {
        let part = angle_bracket(200.0, 90.0, 60.0, 2.0, 2.0);
        let unfolding = unfold(&part, &|_| Development::KFactor(KFactor::given(0.4).unwrap())).unwrap();
        let dies = [Some(opening)];
        let job = BendJob { unfolding: &unfolding, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &dies };
        let plan = plan(&job, shop().brake.as_ref());
        let bends = BentSubject {
            unfolding: &unfolding,
            grade: Grade::LowCarbonSteel,
            grain_deg: None,
            method: Method::AirBend,
            plan: &plan,
            by_hand: &[],
            dies: &dies,
        };
        let found = check(&Subject { bends: Some(bends), ..subject(&unfolding.shape) }, &shop());
        found.into_iter().find(|finding| finding.rule == "opening of the die")
    };
    assert_eq!(of(12.0), None);
    for (opening, severity) in [(11.9, Severity::Note), (9.9, Severity::Warn), (7.9, Severity::Stop)] {
        let found = of(opening).unwrap();
        assert_eq!(found.severity, severity, "{opening}");
        assert_eq!(found.wanted, Some(Amount::Length(12.0)));
        assert_eq!(found.source.to_string(), "Capacity chart for air bending (confirmed)");
    }
}

/// "Sheet Metal Design Guide": 4 T, 8 mm here. "Sheet Metal Part Design Guide": 3 T + R, 7.3 mm for R 1.3. Below both it
/// warns, between them it is a note.
#[test]
fn shortest_flange() {
    let of = |leg: f64| {
        let found = bent(&angle_bracket(200.0, 60.0, leg, 2.0, 1.3), &shop(), Grade::LowCarbonSteel, None);
        let own = found.into_iter().find(|finding| finding.rule == "shortest flange");
        own.map(|finding| (finding.severity, finding.wanted.unwrap().value(), finding.source.title))
    };
    assert_eq!(of(8.0), None);
    assert_eq!(of(7.9), Some((Severity::Note, 8.0, "Sheet Metal Design Guide")));
    let (severity, wanted, title) = of(7.2).unwrap();
    assert_eq!((severity, title), (Severity::Warn, "Sheet Metal Part Design Guide"));
    assert!((wanted - 7.3).abs() < 1e-9);
}

fn hemmed(thickness: f64, height: f64) -> BentPart {
    let base = Pattern::plain(Base::rectangle(200.0, 80.0, Corner::Sharp));
    BentPart::new(thickness, thickness, base).with(Flange::closed_hem("hem", Edge::Top, height))
}

/// "How to calculate bending force": 1.94 V at an opening of 30° and 1.31 V at 45°, 11.64 and 7.86 mm in V 6. "Sheet Metal
/// Forming": a return of 6 T.
#[test]
fn returns_of_hems() {
    let of = |height: f64| {
        let found = bent(&hemmed(1.0, height), &shop(), Grade::LowCarbonSteel, None);
        found.into_iter().filter(|f| f.rule == "return of a hem").map(|f| f.severity).collect::<Vec<_>>()
    };
    assert_eq!(of(11.7), []);
    assert_eq!(of(11.6), [Severity::Warn]);
    assert_eq!(of(7.9), [Severity::Warn]);
    assert_eq!(of(7.8), [Severity::Stop]);
    let none = Shop { brake: None, ..shop() };
    let by_hand = |height: f64| rules(&bent(&hemmed(2.0, height), &none, Grade::LowCarbonSteel, None));
    assert!(!by_hand(12.0).contains(&(Severity::Warn, "return of a hem")));
    assert!(by_hand(11.9).contains(&(Severity::Warn, "return of a hem")));
}

/// "Press Brake Technology": 80 t a metre closes 2 mm; the usual brake has 40 short tons, 36.3 t, so 0.45 m of it.
#[test]
fn force_of_hems() {
    let of = |length: f64| {
        let base = Pattern::plain(Base::rectangle(length, 80.0, Corner::Sharp));
        let part = BentPart::new(2.0, 2.0, base).with(Flange::closed_hem("hem", Edge::Top, 20.0));
        let found = bent(&part, &own_brake(), Grade::LowCarbonSteel, None);
        found.into_iter().find(|finding| finding.rule == "force to press a hem").map(|finding| finding.severity)
    };
    assert_eq!((of(450.0), of(457.0)), (None, Some(Severity::Stop)));
}

/// "Sheet metal design guidelines": a hem 5 T + R + r from an inside bend; a curl 6 T + r, from an outside bend 9 T + r.
#[test]
fn hems_beside_bends() {
    let of = |hem: Flange, wall: f64| {
        let mut flange = Flange::new("wall", Edge::Top, wall);
        flange.flanges.push(hem);
        let part = BentPart::new(1.0, 1.0, Pattern::plain(Base::rectangle(200.0, 80.0, Corner::Sharp))).with(flange);
        steel(&part).contains(&(Severity::Warn, "hem to bend"))
    };
    let hem = || Flange::closed_hem("hem", Edge::Top, 13.0);
    // From R + T = 2 to where the hem begins, its outside 1 mm further: a face of 6 mm.
    assert!(!of(hem(), 2.0 + 6.0 + 1.01) && of(hem(), 2.0 + 6.0 + 0.99));
    let curl = || Flange::teardrop_hem("hem", Edge::Top, 13.0, 1.5);
    let outside = |mut curl: Flange| {
        curl.direction = crate::fold::Direction::Down;
        curl
    };
    // The loop is told to its outside, 2.5 mm from where it begins.
    assert!(!of(curl(), 2.0 + 7.5 + 2.51) && of(curl(), 2.0 + 7.5 + 2.49));
    assert!(!of(outside(curl()), 2.0 + 10.5 + 2.51) && of(outside(curl()), 2.0 + 10.5 + 2.49));
}

/// "Sheet metal design guidelines" on dimples: no deeper than half their inside diameter, 3 T + radius from a hole.
#[test]
fn flares_as_dimples() {
    let own =
        Shop { flaring_dies: vec![FlaringDie { hole: 25.0, outside: 35.0, depth: 5.0, thickest: None }], ..shop() };
    let flare = |depth: f64| WorkedHole {
        center: Point::new(60.0, 50.0),
        diameter: 25.0,
        work: HoleWork::Flared { diameter: 35.0, depth: Some(depth) },
    };
    let of = |depth: f64, gap: f64| {
        let shape = plate(&[(60.0, 50.0, 25.0), (60.0 + gap + 3.0, 50.0, 6.0)]);
        rules(&check(&Subject { worked_holes: &[flare(depth)], ..subject(&shape) }, &own))
    };
    assert_eq!(of(12.5, 23.5), NOTHING);
    assert_eq!(of(12.6, 23.5), [(Severity::Warn, "depth of a flare")]);
    assert_eq!(of(12.5, 23.4), [(Severity::Warn, "flare to hole")]);
}

/// "Sheet Metal Design Guidelines 98-053007": a punched hole is 1.2 T + 0.008 in or 0.048 in. "Holes": a hole is T or 1 mm.
#[test]
fn punched_and_drilled_holes() {
    let mut own = shop();
    own.tools.holes.sizes.clear();
    let mut of = |thickness: f64, diameter: f64| {
        own.tools.holes.punches = vec![crate::markout::RoundPunch { diameter, thickest: Some(10.0) }];
        let shape = plate(&[(60.0, 50.0, diameter)]);
        rules(&check(&Subject { thickness, process: Some(Process::CutoffWheel), ..subject(&shape) }, &own))
    };
    assert_eq!(of(2.0, 2.604), NOTHING);
    assert_eq!(of(2.0, 2.602), [(Severity::Warn, "punched hole")]);
    assert_eq!(of(0.5, 1.22), NOTHING);
    assert_eq!(of(0.5, 1.21), [(Severity::Warn, "punched hole")]);
    let drilled = |thickness: f64, diameter: f64| {
        let shape = plate(&[(60.0, 50.0, diameter)]);
        rules(&check(&Subject { thickness, process: Some(Process::CutoffWheel), ..subject(&shape) }, &shop()))
    };
    assert_eq!(drilled(3.0, 3.0), NOTHING);
    assert_eq!(drilled(3.0, 2.5), [(Severity::Note, "drilled hole")]);
    assert_eq!(drilled(8.0, 2.0), [(Severity::Warn, "drilled hole")]);
}

/// "Sheet Metal Design Guide": 2 T clear of the bend for any cut edge; 3 T + R by another guide (from memory).
#[test]
fn notches_beside_bends() {
    let of = |clear: f64, form: fn(f64) -> crate::fold::NotchForm| {
        let mut wall = Flange::new("wall", Edge::Top, 40.0);
        // The bend ends R + T = 4 mm above the outside.
        let form = form(40.0 - 4.0 - clear);
        wall.notches.push(crate::fold::Notch { edge: Edge::Top, at: 100.0, form });
        let part = BentPart::new(2.0, 2.0, Pattern::plain(Base::rectangle(200.0, 60.0, Corner::Sharp))).with(wall);
        let found = bent(&part, &shop(), Grade::LowCarbonSteel, None);
        found.into_iter().find(|finding| finding.rule == "notch to bend").map(|finding| finding.severity)
    };
    let square = |depth| crate::fold::NotchForm::Rectangular { width: 20.0, depth };
    assert_eq!(of(8.01, square), None);
    assert_eq!(of(7.9, square), Some(Severity::Note));
    assert_eq!(of(3.9, square), Some(Severity::Warn));
    let rounded = |depth| crate::fold::NotchForm::Rounded { width: 20.0, depth, radius: 5.0 };
    assert_eq!((of(8.01, rounded), of(3.9, rounded)), (None, Some(Severity::Warn)));
    let round = |radius| crate::fold::NotchForm::Round { radius };
    assert_eq!((of(8.1, round), of(3.9, round)), (None, Some(Severity::Warn)));
}

/// "Sheet Metal Design Guidelines 98-053007": edges 2 T apart.
#[test]
fn strips_of_metal() {
    let of = |width: f64| {
        let (left, right) = (100.0 - width / 2.0, 100.0 + width / 2.0);
        let corners = [
            (0.0, 0.0),
            (200.0, 0.0),
            (200.0, 60.0),
            (right, 60.0),
            (right, 80.0),
            (left, 80.0),
            (left, 60.0),
            (0.0, 60.0),
        ];
        flat(&Shape::new(Outline::polygon(corners.map(|(x, y)| Point::new(x, y))), Vec::new()))
            .contains(&(Severity::Warn, "strip of metal"))
    };
    assert!(!of(4.0) && of(3.99));
}

/// The imperial rule, 575 T²/V tons a foot: 2 mm in V 12 takes 240 kN/m in steel of 450 MPa.
#[test]
fn length_and_force_of_the_brake() {
    let of = |length: f64, force: f64| {
        let mut own = own_brake();
        let brake = own.brake.as_mut().unwrap();
        (brake.length, brake.force) = (1000.0, force);
        rules(&bent(&angle_bracket(length, 60.0, 40.0, 2.0, 2.0), &own, Grade::LowCarbonSteel, None))
    };
    assert_eq!(of(1000.0, 241.0), NOTHING);
    assert_eq!(of(1001.0, 300.0), [(Severity::Stop, "length of the brake")]);
    // The rule that was read, 650 T²/V kN a metre for 450 MPa, comes to 216.7 kN: below that it stops.
    assert_eq!(of(1000.0, 238.0), [(Severity::Warn, "force of the brake")]);
    assert_eq!(of(1000.0, 217.0), [(Severity::Warn, "force of the brake")]);
    assert_eq!(of(1000.0, 216.0), [(Severity::Stop, "force of the brake")]);
}

/// The number printed is that of the rule whose source is printed.
#[test]
fn forces_are_told_with_the_source_of_their_number() {
    let of = |force: f64, grade: Grade| {
        let mut own = own_brake();
        own.brake.as_mut().unwrap().force = force;
        let found = bent(&angle_bracket(1000.0, 60.0, 40.0, 2.0, 2.0), &own, grade, None);
        found.into_iter().find(|finding| finding.rule == "force of the brake").expect("too much force")
    };
    let known = of(200.0, Grade::LowCarbonSteel);
    assert_eq!((known.severity, known.source), (Severity::Stop, ForceRule::MildSteel450.source()));
    assert!((known.found.unwrap().value() - 650.0 * 4.0 / 12.0).abs() < 1e-6, "{known}");
    let remembered = of(230.0, Grade::LowCarbonSteel);
    assert_eq!((remembered.severity, remembered.source), (Severity::Warn, ForceRule::Imperial.source()));
    assert!((remembered.found.unwrap().value() - 239.6).abs() < 0.1, "{remembered}");
    // The strength of soft brass is remembered, whatever the rule.
    assert_eq!(of(50.0, Grade::BrassSoft).severity, Severity::Warn);
}

/// What a figure of any source may say at most. Every finding of every rule passes here; the seeded faults of the command's
/// tests look at all that are told.
#[test]
fn what_is_remembered_or_unpublished_never_stops() {
    for source in [Source::confirmed("a book"), Source::derived("a book")] {
        assert_eq!(Severity::most_by(source), Severity::Stop);
    }
    for source in [Source::from_memory("a book"), Source::from_memory(""), Source::COMMON_PRACTICE] {
        assert_eq!(Severity::most_by(source), Severity::Warn);
    }
    // A brake that nobody told of is a guess: what goes beyond it warns.
    let long = BentPart::new(1.0, 1.2, Pattern::plain(Base::rectangle(1300.0, 80.0, Corner::Sharp))).with(Flange::new(
        "wall",
        Edge::Top,
        40.0,
    ));
    assert_eq!(steel(&long), [(Severity::Warn, "length of the brake")]);
    assert_eq!(
        rules(&bent(&long, &own_brake(), Grade::LowCarbonSteel, None)),
        [(Severity::Stop, "length of the brake")]
    );
}

/// Tables give K 0.38 to 0.43 or so for 2 mm steel at R = T: a K by hand may lie 0.05 beyond.
#[test]
fn a_k_by_hand_beyond_every_table() {
    let of = |k: f64| {
        let k = KFactor::given(k).unwrap();
        let unfolding =
            unfold(&angle_bracket(200.0, 90.0, 60.0, 2.0, 2.0), &|_| Development::KFactor(k.clone())).unwrap();
        let job = BendJob { unfolding: &unfolding, grade: Grade::LowCarbonSteel, method: Method::AirBend, dies: &[] };
        let plan = plan(&job, shop().brake.as_ref());
        let bends = BentSubject {
            unfolding: &unfolding,
            grade: Grade::LowCarbonSteel,
            grain_deg: None,
            method: Method::AirBend,
            plan: &plan,
            by_hand: &[],
            dies: &[],
        };
        let found = check(&Subject { bends: Some(bends), ..subject(&unfolding.shape) }, &shop());
        found.into_iter().find(|finding| finding.rule == "K of a bend")
    };
    assert_eq!(of(0.40), None);
    let low = of(0.15).unwrap();
    // pi/2 (2 + 0.15 x 2), by hand.
    assert!((low.found.unwrap().value() - 3.612_83).abs() < 1e-4, "{low}");
    assert!(low.wanted.unwrap().value() > low.found.unwrap().value() && low.source.is_known());
    let high = of(0.5).unwrap();
    assert!(high.wanted.unwrap().value() < high.found.unwrap().value(), "{high}");
}

/// What each limit of a bender is told with: the number found, the one wanted, the shop's word.
#[test]
fn benders_tell_what_they_lack() {
    let with = |bender: Bender| Shop { brake: None, benders: vec![bender], ..shop() };
    let plate = |thickness: f64, length: f64| {
        BentPart::new(thickness, thickness, Pattern::plain(Base::rectangle(length, 100.0, Corner::Sharp)))
    };
    let wall = |height: f64| Flange::new("wall", Edge::Top, height);
    let of = |part: &BentPart, bender: Bender| {
        let found = bent(part, &with(bender), Grade::LowCarbonSteel, None);
        let told = found.into_iter().find(|f| f.severity == Severity::Warn).expect("a warning");
        (told.rule, told.found.map(Amount::value), told.wanted.map(Amount::value))
    };
    let (leaf, vise) = (Bender::usual_leaf, Bender::usual_vise);
    let some = |rule, found: f64, wanted: f64| (rule, Some(found), Some(wanted));
    assert_eq!(of(&plate(3.0, 200.0).with(wall(40.0)), leaf()), some("thickness on the bender", 3.0, 1.5));
    assert_eq!(of(&plate(1.5, 600.0).with(wall(40.0)), leaf()), some("length of the bender", 600.0, 500.0));
    assert_eq!(of(&plate(2.0, 200.0).with(wall(40.0).turned(120.0)), vise()), some("angle of the bender", 120.0, 95.0));
    let (rule, found, wanted) = of(&plate(1.0, 200.0).with(wall(6.0)), leaf());
    assert!(rule == "flange on the bender" && (found.unwrap() - 6.0).abs() < 1e-6 && wanted == Some(10.0));
    // A hem begins with a fold of 135°, which a vise does not make ("Hemming articles"); a leaf brake does.
    let hem = || Flange::closed_hem("hem", Edge::Top, 14.0);
    assert_eq!(of(&plate(1.0, 200.0).with(hem()), vise()), some("first fold of a hem", 95.0, 135.0));
    let folded = bent(&plate(1.0, 200.0).with(hem()), &with(leaf()), Grade::LowCarbonSteel, None);
    assert!(folded.iter().all(|finding| finding.severity == Severity::Note), "{folded:?}");
    // Thicker sheet folds, and no hand closes it; a shop press does.
    let thick = plate(1.5, 200.0).with(Flange::closed_hem("hem", Edge::Top, 20.0));
    let strong = || Bender { capacity: vec![(1.5, 500.0)], ..leaf() };
    assert_eq!(of(&thick, strong()), some("pressing a hem by hand", 1.5, 1.0));
    let pressed = Shop { shop_press: Some(Brake::usual_in_shop_press(Unit::Millimetre)), ..with(strong()) };
    let told = rules(&bent(&thick, &pressed, Grade::LowCarbonSteel, None));
    assert!(!told.iter().any(|(_, rule)| *rule == "pressing a hem by hand"), "{told:?}");
    let deep = of(&crate::fold::tray(300.0, 200.0, 100.0, 1.0, 1.0), Bender::usual_box_and_pan());
    assert_eq!(deep, some("depth of the fingers", 100.0, 75.0));
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
