//! Figures that are true pass their proof; each thing that can be wrong with them is found.

use std::f64::consts::PI;

use dropwise_geometry::{Isometry, Outline, Point, Polygon, Shape, Vertex};

use super::{Obstacle, Violation, certify_figures};
use crate::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, Part, Placement, Plan, PlanFigures, Provenance, Reason, Sheet,
    SheetUse, StockClass, Turns, Unplaced,
};

/// A 300 x 200 sheet with a hole and damage, on it a disc of radius 30 with a hole, and a slotted plate turned by 20°.
fn scene(kerf: f64, neck: f64) -> (Job, Layout) {
    let class = StockClass::new("plate");
    let part = |name: &str, shape: Shape| Part {
        name: name.to_owned(),
        shape,
        quantity: 1,
        class: class.clone(),
        turns: Turns::Any,
        may_flip: true,
        need: Need::Required,
    };
    let disc = Shape::new(Outline::circle(Point::ORIGIN, 30.0), vec![Outline::circle(Point::ORIGIN, 12.0)]);
    let slot = Outline::rectangle(Point::new(10.0, 10.0), 20.0, 10.0);
    let plate = Shape::new(Outline::rectangle(Point::ORIGIN, 80.0, 40.0), vec![slot]);
    let sheet = Sheet {
        name: "drop".to_owned(),
        shape: Shape::new(
            Outline::rectangle(Point::ORIGIN, 300.0, 200.0),
            vec![Outline::circle(Point::new(250.0, 150.0), 10.0)],
        ),
        damage: vec![Outline::rectangle(Point::new(280.0, 10.0), 30.0, 20.0)],
        class: class.clone(),
        quantity: Some(1),
        price: Money::from_coins(1000),
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 2e-5,
    };
    let parts = vec![part("disc", disc), part("plate", plate)];
    let rule = LeftoverRule { length: 60.0, width: 40.0, neck };
    let job = Job::new(parts, vec![sheet], Clearances::new(kerf, 2.0 * kerf, 0.0).unwrap(), rule).unwrap();
    let placements = vec![
        Placement { part: 0, position: Isometry::new(false, 0.0, 40.0, 40.0) },
        Placement { part: 1, position: Isometry::new(true, 20.0, 90.0, 150.0) },
    ];
    let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
    (job, layout)
}

fn square(x: f64, y: f64, side: f64) -> Polygon {
    let corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
    Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), Vec::new())
}

#[test]
fn true_figures_pass_with_any_kerf_and_neck() {
    for kerf in [0.0, 0.3, 3.0] {
        for neck in [0.0, 20.0] {
            for step in 0..18 {
                let (job, mut layout) = scene(kerf, neck);
                let turned = 10.0 * f64::from(step);
                layout.sheets[0].placements[0].position.rotation_deg += turned;
                let plan = Plan::new(&job, layout, Provenance::default());
                let plan = plan.unwrap_or_else(|error| panic!("kerf {kerf}, neck {neck}, turned {turned}: {error}"));
                assert!(!plan.figures().sheets[0].leftovers.is_empty());
            }
        }
    }
}

#[test]
fn the_second_derivation_knows_a_disc_by_its_formula() {
    // By hand: the cut around the disc and within its hole.
    let (job, mut layout) = scene(3.0, 0.0);
    layout.sheets[0].placements.truncate(1);
    let mut figures = PlanFigures::of(&job, &layout).unwrap();
    let ring = PI * (33.0_f64.powi(2) - 30.0_f64.powi(2) + 12.0_f64.powi(2) - 9.0_f64.powi(2));
    let Err(violations) = ({
        figures.sheets[0].kerf_area = 0.0;
        certify_figures(&job, &layout, &figures)
    }) else {
        panic!("no kerf at all")
    };
    let [Violation::AreaOff { area: "kerf", derived, tolerance, .. }] = violations[..] else {
        panic!("{violations:?}")
    };
    assert!((derived - ring).abs() < 0.5, "{derived} for {ring}");
    assert!(tolerance < 0.15 * ring, "{tolerance} of {ring}");
}

#[test]
fn what_is_claimed_wrongly_of_leftovers_is_found() {
    let (job, layout) = scene(2.0, 0.0);
    let sound = PlanFigures::of(&job, &layout).unwrap();
    assert_eq!(certify_figures(&job, &layout, &sound), Ok(()));
    let with = |outline: Polygon| {
        let mut figures = sound.clone();
        figures.sheets[0].leftovers.truncate(1);
        figures.sheets[0].leftovers[0].outline = outline;
        let violations = certify_figures(&job, &layout, &figures).unwrap_err();
        violations.into_iter().filter(|one| !matches!(one, Violation::AreaOff { .. })).collect::<Vec<_>>()
    };
    assert!(with(square(150.0, 20.0, 60.0)).is_empty(), "on free metal");
    assert!(matches!(with(square(150.0, -0.5, 60.0))[..], [Violation::LeftoverOffSheet { .. }]));
    assert!(matches!(with(square(1000.0, 1000.0, 60.0))[..], [Violation::LeftoverOffSheet { .. }]));
    let hole = with(square(230.0, 120.0, 25.0));
    assert!(matches!(hole[..], [Violation::LeftoverOnObstacle { obstacle: Obstacle::Hole(0), .. }]), "{hole:?}");
    let damage = with(square(250.0, 20.0, 40.0));
    assert!(matches!(damage[..], [Violation::LeftoverOnObstacle { obstacle: Obstacle::Damage(0), .. }]), "{damage:?}");
    // The disc ends at x = 70, its cut at 72.
    assert!(with(square(72.001, 20.0, 40.0)).is_empty());
    let near = with(square(71.0, 20.0, 40.0));
    assert!(matches!(near[..], [Violation::LeftoverOnPart { placement: 0, .. }]), "{near:?}");
    let over = with(square(5.0, 5.0, 71.0));
    assert!(matches!(over[..], [Violation::LeftoverOnPart { placement: 0, found: 0.0, .. }]), "{over:?}");
}

#[test]
fn leftovers_that_share_metal_are_found() {
    let (job, layout) = scene(0.0, 0.0);
    let mut figures = PlanFigures::of(&job, &layout).unwrap();
    let again = figures.sheets[0].leftovers[0].clone();
    figures.sheets[0].leftovers.push(again);
    let violations = certify_figures(&job, &layout, &figures).unwrap_err();
    assert!(violations.iter().any(|one| matches!(one, Violation::LeftoversOverlap { .. })), "{violations:?}");
}

#[test]
fn each_area_is_held_against_the_second_derivation() {
    let (job, layout) = scene(2.0, 20.0);
    let sound = PlanFigures::of(&job, &layout).unwrap();
    type Spoil = fn(&mut crate::SheetFigures) -> &mut f64;
    let spoils: [(&str, Spoil); 5] = [
        ("gross", |sheet| &mut sheet.gross_area),
        ("net", |sheet| &mut sheet.net_area),
        ("leftover", |sheet| &mut sheet.leftover_area),
        ("kerf", |sheet| &mut sheet.kerf_area),
        ("other scrap", |sheet| &mut sheet.other_scrap_area),
    ];
    for (name, area) in spoils {
        for by in [-300.0, 300.0] {
            let mut figures = sound.clone();
            *area(&mut figures.sheets[0]) += by;
            let violations = certify_figures(&job, &layout, &figures).unwrap_err();
            assert!(
                matches!(violations[..], [Violation::AreaOff { area, .. }] if area == name),
                "{name} off by {by}: {violations:?}"
            );
        }
    }
    let none = PlanFigures { sheets: Vec::new(), ..sound };
    assert!(certify_figures(&job, &layout, &none).is_err());
}

proptest::proptest! {
    /// An edge that bows by a hair lies on a very large circle.
    #[test]
    fn a_sheet_with_one_bowed_edge_passes_however_little_it_bows(
        power in -12.0..-1.3_f64,
        is_inward in proptest::bool::ANY,
        edge in 0_usize..4,
    ) {
        let (job, mut layout) = scene(2.0, 20.0);
        let corners = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)];
        let mut vertices = corners.map(|(x, y)| Vertex { point: Point::new(x, y), bulge: 0.0 }).to_vec();
        vertices[edge].bulge = 10.0_f64.powf(power) * if is_inward { -1.0 } else { 1.0 };
        let mut sheet = job.sheets()[0].clone();
        sheet.shape = Shape::new(Outline::new(vertices), Vec::new());
        sheet.damage.clear();
        let job = Job::new(job.parts().to_vec(), vec![sheet], *job.clearances(), *job.leftover_rule()).unwrap();
        layout.sheets[0].placements.truncate(1);
        layout.unplaced.push(Unplaced { part: 1, count: 1, reason: Reason::NoRoom });
        let plan = Plan::new(&job, layout, Provenance::default());
        proptest::prop_assert!(plan.is_ok(), "{plan:?}");
    }
}
