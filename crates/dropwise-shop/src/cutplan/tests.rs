use std::f64::consts::{FRAC_PI_2, PI};

use dropwise_geometry::{Isometry, Outline, Point, Segment, Shape, Unit, Vector, Vertex};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, Part, Placement, Sheet, SheetUse, StockClass, Turns};
use proptest::prelude::*;

use super::*;
use crate::cost::{CuttingRate, Rates};
use crate::markout::HoleTools;

fn job(shapes: Vec<Shape>, stock: Shape) -> Job {
    let class = StockClass::new("steel");
    let part = |(i, shape): (usize, Shape)| Part {
        name: format!("part {i}"),
        shape,
        quantity: 9,
        class: class.clone(),
        turns: Turns::Any,
        may_flip: true,
        need: Need::Required,
    };
    let sheet = Sheet {
        name: "drop".into(),
        shape: stock,
        damage: Vec::new(),
        class: class.clone(),
        quantity: None,
        price: Money::ZERO,
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 3.0 * 7.85e-6,
    };
    let rule = LeftoverRule { length: 100.0, width: 100.0, neck: 10.0 };
    Job::new(shapes.into_iter().enumerate().map(part).collect(), vec![sheet], Clearances::default(), rule).unwrap()
}

fn rectangle(width: f64, height: f64) -> Shape {
    Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
}

fn plan(shapes: Vec<Shape>, stock: Shape, placed: &[(usize, Isometry)], tools: &ShopTools) -> CutPlan {
    let placements = placed.iter().map(|&(part, position)| Placement { part, position }).collect();
    let on_sheet = SheetUse { sheet: 0, length: None, placements };
    let steel = (Material::MildSteel, Thickness::new(3.0).unwrap());
    CutPlan::of_sheet(&job(shapes, stock), &on_sheet, steel, tools).unwrap()
}

fn wheel() -> ShopTools {
    ShopTools::beside(Unit::Millimetre)
}

/// 100 × 80 with a notch of 60 × 40 at the upper right whose inside corner is rounded by `radius`.
fn notched(radius: f64) -> Shape {
    let quarter = (FRAC_PI_2 / 4.0).tan();
    Shape::new(
        Outline::new(vec![
            Vertex::line(Point::new(0.0, 0.0)),
            Vertex::line(Point::new(100.0, 0.0)),
            Vertex::line(Point::new(100.0, 40.0)),
            Vertex::arc(Point::new(40.0 + radius, 40.0), -quarter),
            Vertex::line(Point::new(40.0, 40.0 + radius)),
            Vertex::line(Point::new(40.0, 80.0)),
            Vertex::line(Point::new(0.0, 80.0)),
        ]),
        Vec::new(),
    )
}

#[test]
fn a_strap_in_a_corner_by_hand() {
    let plan = plan(vec![rectangle(100.0, 50.0)], rectangle(400.0, 300.0), &[(0, Isometry::IDENTITY)], &wheel());
    // Left and lower side are the sheet's own; 50 up at x = 100, then 100 along y = 50, the longer one last.
    let cuts: Vec<Cut> =
        plan.steps.iter().map(|step| if let Step::Cut(cut) = step { *cut } else { panic!() }).collect();
    let lengths: Vec<_> = cuts.iter().map(|cut| (cut.side.length(), cut.is_release, cut.ends)).collect();
    let open = [EndOfCut::Open; 2];
    // The upright one's middle is 25 above the datum edge, the other 50: it comes last.
    assert_eq!(lengths, [(100.0, false, open), (50.0, true, open)]);
    // 150 mm × 3 mm = 450 mm² at 750 mm² a minute, and two set-ups of 1.5 minutes; 450 of the 6000 mm² of a wheel.
    assert!((plan.totals.minutes - (0.6 + 3.0)).abs() < 1e-9);
    assert!((plan.totals.wheels - 0.075).abs() < 1e-9);
    assert_eq!((plan.totals.on_edge, plan.totals.cutters[0].cuts), (150.0, 2));
    let topics: Vec<_> = plan.cautions.iter().map(|caution| caution.topic).collect();
    assert!(topics.contains(&"cutoff wheels") && topics.contains(&"hot work") && !topics.contains(&"drilling"));
    assert_eq!(topics.last(), Some(&"who decides"));
}

#[test]
fn straps_in_a_row_share_their_set_ups() {
    let strap = |x: f64, y: f64| (0, Isometry::translation(x, y));
    let set_ups = |at: &[(usize, Isometry)]| {
        let plan = plan(vec![rectangle(100.0, 50.0)], rectangle(700.0, 300.0), at, &wheel());
        plan.totals.cutters[0].set_ups
    };
    assert_eq!(set_ups(&[strap(10.0, 10.0)]), 4);
    // Two lines along both, and two ends of each.
    assert_eq!(set_ups(&[strap(10.0, 10.0), strap(116.0, 10.0)]), 6);
    assert_eq!(set_ups(&[strap(10.0, 10.0), strap(116.0, 12.0)]), 8);
}

#[test]
fn only_straight_cuts_by_hand_cost_set_ups() {
    let rates = Rates::default();
    for (process, coins) in
        [(Process::CutoffWheel, 75.0), (Process::Bandsaw, 75.0), (Process::Plasma, 0.0), (Process::Laser, 0.0)]
    {
        assert_eq!(coins_per_set_up(process, &rates), coins, "{process}");
    }
    let by_hour = CuttingRate::ByTime { coins_per_hour: 6000.0, millimetres_per_minute: 100.0 };
    let rates = Rates { cutting: Some(by_hour), ..rates };
    assert_eq!(coins_per_set_up(Process::CutoffWheel, &rates), 150.0);
}

#[test]
fn the_notch_of_a_bracket_begins_with_a_hole_saw() {
    // A radius of 16 mm is the 32 mm hole saw's.
    let at = Isometry::translation(10.0, 10.0);
    let plan = plan(vec![notched(16.0)], rectangle(400.0, 300.0), &[(0, at)], &wheel());
    assert_eq!(plan.steps[0], Step::Corner(0));
    let corner = plan.corners[0];
    assert_eq!(corner.tool.unwrap().to_string(), "32 mm hole saw");
    assert!(corner.center.distance(Point::new(66.0, 66.0)) < 1e-9);
    assert_eq!(corner.tangent_points, [Point::new(66.0, 50.0), Point::new(50.0, 66.0)]);
    assert_eq!(corner.is_tangent, [true, true]);
    // Two straight cuts run into it.
    let into =
        plan.steps.iter().filter(|step| matches!(step, Step::Cut(cut) if cut.ends.contains(&EndOfCut::Corner(0))));
    assert_eq!(into.count(), 2);
    assert!((plan.totals.by_hole_tools - 8.0 * PI).abs() < 1e-9);
    assert_eq!((plan.totals.sawn, plan.totals.undone), (1, 0.0));
    assert!(plan.cautions.iter().any(|caution| caution.topic == "drilling"));
}

#[test]
fn a_corner_without_room_or_tool_is_told() {
    let by_hand = |tools: &ShopTools, neighbour: Isometry| {
        let placed = [(0, Isometry::translation(10.0, 10.0)), (1, neighbour)];
        let found = plan(vec![notched(16.0), rectangle(30.0, 30.0)], rectangle(400.0, 300.0), &placed, tools);
        (found.corners[0].tool.is_some(), found.totals.undone > 0.0)
    };
    let (far, within) = (Isometry::translation(200.0, 100.0), Isometry::translation(75.0, 75.0));
    assert_eq!(by_hand(&wheel(), far), (true, false));
    // The other part lies in the notch, in the way of the saw; a wheel does not follow the curve.
    assert_eq!(by_hand(&wheel(), within), (false, true));
    let bare = ShopTools { holes: HoleTools::default(), ..wheel() };
    assert_eq!(by_hand(&bare, far), (false, true));
    let jigsaw = ShopTools { cutters: vec![Process::CutoffWheel, Process::Jigsaw], ..bare };
    assert_eq!(by_hand(&jigsaw, far), (false, false));
}

#[test]
fn a_sharp_inside_corner_stops_the_cut_short() {
    let l_shape = Shape::new(
        Outline::polygon(
            [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (40.0, 40.0), (40.0, 80.0), (0.0, 80.0)]
                .map(|(x, y)| Point::new(x, y)),
        ),
        Vec::new(),
    );
    let plan = plan(vec![l_shape], rectangle(400.0, 300.0), &[(0, Isometry::translation(50.0, 50.0))], &wheel());
    let short =
        plan.steps.iter().filter(|step| matches!(step, Step::Cut(cut) if cut.ends.contains(&EndOfCut::StopShort)));
    assert_eq!(short.count(), 2);
    assert!((plan.totals.edges() - 360.0).abs() < 1e-9);
}

#[test]
fn holes_then_openings_then_strokes_then_outlines_far_ones_first() {
    let window = Shape::new(
        Outline::rectangle(Point::ORIGIN, 150.0, 150.0),
        vec![Outline::rectangle(Point::new(40.0, 40.0), 80.0, 80.0), Outline::circle(Point::new(20.0, 20.0), 4.5)],
    );
    let disc = Shape::new(Outline::circle(Point::ORIGIN, 30.0), Vec::new());
    let placed = [
        (0, Isometry::IDENTITY),
        (1, Isometry::translation(50.0, 50.0)), // in the window
        (1, Isometry::translation(300.0, 200.0)),
        (2, Isometry::translation(230.0, 50.0)),
    ];
    let mut tools = wheel();
    tools.cutters.push(Process::Jigsaw);
    tools.shear = Some(ShearTool { length: 1000.0, thickest: 3.0 });
    let plan = plan(vec![window, rectangle(40.0, 30.0), disc], rectangle(400.0, 300.0), &placed, &tools);
    let mut order: Vec<&str> = plan
        .steps
        .iter()
        .map(|step| match step {
            Step::Hole(_) => "hole",
            Step::Corner(_) => "corner",
            Step::Stroke(_) => "stroke",
            Step::Cut(cut) if cut.placement == 1 => "part in the window",
            Step::Cut(cut) if cut.ring > 0 => "window",
            Step::Cut(cut) if cut.placement == 3 => "disc",
            Step::Cut(cut) => panic!("the shear does {cut:?}"),
        })
        .collect();
    order.dedup();
    assert_eq!(order, ["hole", "part in the window", "window", "stroke", "disc"]);
    // The part in the window comes out first, so that its box is in no stroke's way.
    assert!(plan.is_shear_used);
    assert_eq!((&plan.shear.free, &plan.shear.stuck), (&vec![0, 2, 3], &vec![vec![1]]));
    assert!(plan.cautions.iter().any(|caution| caution.topic == "shear"));
    let said = [plan.statements(), plan.warnings(|mm| format!("{mm} mm"))].concat().join(" ");
    assert!(said.contains("Not all of this sheet can be sheared") && !said.contains("tangent"), "{said}");
}

#[test]
fn the_far_part_comes_off_first_and_its_datum_side_last() {
    let placed = [(0, Isometry::translation(20.0, 20.0)), (0, Isometry::translation(250.0, 200.0))];
    let plan = plan(vec![rectangle(100.0, 50.0)], rectangle(400.0, 300.0), &placed, &wheel());
    let cuts: Vec<_> = plan
        .steps
        .iter()
        .map(
            |step| if let Step::Cut(cut) = step { (cut.placement, cut.side.at(0.5), cut.is_release) } else { panic!() },
        )
        .collect();
    assert_eq!(cuts.iter().map(|cut| cut.0).collect::<Vec<_>>(), [1, 1, 1, 1, 0, 0, 0, 0]);
    // The two short sides, the far long one, then the long one that faces the datum edge.
    assert_eq!((cuts[2].1, cuts[3].1), (Point::new(300.0, 250.0), Point::new(300.0, 200.0)));
    assert_eq!(cuts.iter().map(|cut| cut.2).collect::<Vec<_>>(), [false, false, false, true].repeat(2));
}

#[test]
fn a_thick_sheet_is_not_sheared_but_the_check_is_made() {
    let tools = ShopTools { shear: Some(ShearTool { length: 500.0, thickest: 2.9 }), ..wheel() };
    let placed = [(0, Isometry::translation(10.0, 10.0))];
    let plan = plan(vec![rectangle(100.0, 50.0)], rectangle(400.0, 300.0), &placed, &tools);
    assert!(!plan.is_shear_used && plan.totals.strokes == 0);
    assert_eq!((plan.shear.free.as_slice(), plan.shear.cuts.len()), (&[0][..], 4));
    assert_eq!(plan.totals.cutters[0].length, 300.0);
}

#[test]
fn without_tools_everything_is_left_undone_and_said() {
    let none = ShopTools { cutters: Vec::new(), holes: HoleTools::default(), ..wheel() };
    let placed = [(0, Isometry::translation(10.0, 10.0))];
    let plan = plan(vec![rectangle(100.0, 50.0)], rectangle(400.0, 300.0), &placed, &none);
    assert_eq!((plan.totals.undone, plan.totals.minutes), (300.0, 0.0));
    assert!(plan.steps.iter().all(|step| matches!(step, Step::Cut(cut) if cut.tool.is_none())));
    assert!(plan.warnings(|mm| format!("{mm} mm")).iter().any(|said| said.starts_with("300 mm of edges cannot")));
}

prop_compose! {
    fn shape()(
        corners in prop::collection::vec((30.0..60.0f64, prop_oneof![Just(0.0), -0.2..0.2f64]), 3..9),
        radius in 1.0..12.0f64,
        is_round in any::<bool>(),
    ) -> Shape {
        let step = std::f64::consts::TAU / corners.len() as f64;
        let at = |i: usize, radius: f64| Point::ORIGIN + Vector::from_angle(step * i as f64) * radius;
        let ring = corners.iter().enumerate().map(|(i, &(r, bulge))| Vertex::arc(at(i, r), bulge)).collect();
        let hole = if is_round {
            Outline::circle(Point::ORIGIN, radius)
        } else {
            Outline::new(vec![
                Vertex::line(Point::new(-2.0, -radius / 4.0)),
                Vertex::arc(Point::new(2.0, -radius / 4.0), 1.0),
                Vertex::line(Point::new(2.0, radius / 4.0)),
                Vertex::arc(Point::new(-2.0, radius / 4.0), 1.0),
            ])
        };
        Shape::new(Outline::new(ring), vec![hole])
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn every_edge_is_accounted_for_once(
        shapes in [shape(), shape()],
        turns in [(any::<bool>(), 0.0..360.0f64), (any::<bool>(), 0.0..360.0f64)],
        strap in (20.0..100.0f64, 20.0..60.0f64),
        tilt in 0.0..360.0f64,
        cutters in prop::sample::subsequence(Process::ALL.to_vec(), 0..=9),
        shear in prop::option::of(100.0..600.0f64),
    ) {
        let tilt = Isometry::new(false, tilt, 50.0, 20.0);
        let stock = rectangle(500.0, 200.0).transformed(tilt);
        // Two parts at any angle and a strap in the corner, where two of its sides are the sheet's.
        let place = |i: usize, x: f64| {
            let at = tilt.apply(Point::new(x, 130.0));
            Isometry::new(turns[i].0, turns[i].1, at.x, at.y)
        };
        let placed = [(0, place(0, 200.0)), (1, place(1, 400.0)), (2, tilt)];
        let [one, other] = shapes;
        let all = vec![one, other, rectangle(strap.0, strap.1)];
        let perimeters: f64 = all.iter().map(Shape::perimeter).sum();
        let shear = shear.map(|length| ShearTool { length, thickest: 4.0 });
        let tools = ShopTools { cutters, shear, ..wheel() };
        let plan = plan(all, stock, &placed, &tools);
        let totals = &plan.totals;
        prop_assert!((totals.edges() - perimeters).abs() < 1e-6 * perimeters, "{} of {perimeters}", totals.edges());
        prop_assert!((totals.on_edge - strap.0 - strap.1).abs() < 1e-6);
        // What the steps say is what the totals say.
        let cuts = plan.steps.iter().filter_map(|step| if let Step::Cut(cut) = step { Some(cut) } else { None });
        let by_steps: f64 = cuts.clone().map(|cut| cut.side.length()).sum();
        let by_totals: f64 = totals.cutters.iter().map(|total| total.length).sum::<f64>() + totals.undone;
        prop_assert!((by_steps - by_totals).abs() < 1e-6);
        let holes = plan.steps.iter().filter(|step| matches!(step, Step::Hole(_) | Step::Corner(_))).count();
        prop_assert_eq!(holes, totals.drilled + totals.sawn + totals.punched);
        // No more than one cut sets a part free, and nothing of its outline that parts metal comes after it.
        for placement in 0..3 {
            let outline: Vec<&Cut> = cuts.clone().filter(|cut| cut.placement == placement && cut.ring == 0).collect();
            prop_assert_eq!(outline.iter().filter(|cut| cut.is_release).count(), usize::from(!outline.is_empty()));
            let release = outline.iter().position(|cut| cut.is_release).unwrap_or(0);
            prop_assert!(outline.iter().skip(release + 1).all(|cut| cut.manner == Manner::FlatsThenGrind));
        }
        // No wheel on a curve, but for corners that are ground.
        for cut in cuts {
            let is_wheel = cut.tool == Some(Process::CutoffWheel);
            prop_assert!(!(is_wheel && cut.manner == Manner::Curve));
            prop_assert_eq!(matches!(cut.side, Segment::Line { .. }), cut.manner == Manner::Straight);
        }
    }
}
