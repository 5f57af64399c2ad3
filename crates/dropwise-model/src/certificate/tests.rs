use dropwise_geometry::{Isometry, Outline, Point, Shape, Vertex};

use super::{Certificate, Obstacle, Violation, certify};
use crate::{
    Clearances, Job, Layout, LeftoverRule, Money, Need, OpenLength, Part, Placement, Reason, Sheet, SheetUse,
    StockClass, Turns, Unplaced,
};

fn part(name: &str, shape: Shape, quantity: u32) -> Part {
    Part {
        name: name.into(),
        shape,
        quantity,
        class: StockClass::new("mild steel, 2 mm"),
        turns: Turns::Any,
        may_flip: true,
        need: Need::Required,
    }
}

fn sheet(name: &str, shape: Shape) -> Sheet {
    Sheet {
        name: name.into(),
        shape,
        damage: Vec::new(),
        class: StockClass::new("mild steel, 2 mm"),
        quantity: Some(1),
        price: Money::from_coins(1000),
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 1e-5,
    }
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Outline {
    Outline::rectangle(Point::new(x, y), width, height)
}

fn plain(outline: Outline) -> Shape {
    Shape::new(outline, Vec::new())
}

fn polygon(points: &[(f64, f64)]) -> Outline {
    Outline::polygon(points.iter().map(|&(x, y)| Point::new(x, y)))
}

fn at(part: usize, x: f64, y: f64) -> Placement {
    turned(part, 0.0, x, y)
}

fn turned(part: usize, rotation_deg: f64, x: f64, y: f64) -> Placement {
    Placement { part, position: Isometry::new(false, rotation_deg, x, y) }
}

fn on_sheet(sheet: usize, placements: Vec<Placement>) -> SheetUse {
    SheetUse { sheet, length: None, placements }
}

/// A job, its layout, and the clearances between them; each test spoils one thing.
struct Scene {
    parts: Vec<Part>,
    sheets: Vec<Sheet>,
    web: f64,
    margin: f64,
    layout: Layout,
}

impl Scene {
    /// Parts of these outlines, one of each, placed as drawn on one 100 x 100 sheet with no clearances.
    fn as_drawn(shapes: Vec<Shape>) -> Self {
        let placements = (0..shapes.len()).map(|i| at(i, 0.0, 0.0)).collect();
        Self {
            parts: shapes.into_iter().enumerate().map(|(i, s)| part(&format!("part {i}"), s, 1)).collect(),
            sheets: vec![sheet("drop", plain(rectangle(0.0, 0.0, 100.0, 100.0)))],
            web: 0.0,
            margin: 0.0,
            layout: Layout { sheets: vec![on_sheet(0, placements)], unplaced: Vec::new() },
        }
    }

    /// Two 20 x 10 plates 4 apart and 6 from the edge, with a web of 3 and a margin of 5.
    fn sound() -> Self {
        let mut scene = Self::as_drawn(vec![plain(rectangle(0.0, 0.0, 20.0, 10.0))]);
        scene.parts[0].quantity = 2;
        scene.layout.sheets[0].placements = vec![at(0, 6.0, 6.0), at(0, 30.0, 6.0)];
        (scene.web, scene.margin) = (3.0, 5.0);
        scene
    }

    fn spoiled(mut self, spoil: impl FnOnce(&mut Self)) -> Self {
        spoil(&mut self);
        self
    }

    fn placement(&mut self, index: usize) -> &mut Placement {
        &mut self.layout.sheets[0].placements[index]
    }

    fn certify(&self) -> Result<Certificate, Vec<Violation>> {
        let clearances = Clearances::new(0.0, self.web, self.margin).expect("good clearances");
        let rule = LeftoverRule { length: 100.0, width: 50.0, neck: 10.0 };
        let job = Job::new(self.parts.clone(), self.sheets.clone(), clearances, rule).expect("a good job");
        certify(&job, &self.layout)
    }

    fn refused(&self) -> Vec<Violation> {
        match self.certify() {
            Ok(certificate) => panic!("passed: {certificate:?}"),
            Err(violations) => violations,
        }
    }

    /// The only violation there is.
    fn fault(&self) -> Violation {
        let mut violations = self.refused();
        assert_eq!(violations.len(), 1, "{violations:?}");
        violations.remove(0)
    }
}

fn open_length(scene: &mut Scene, length: Option<f64>) {
    scene.sheets[0].shape = plain(rectangle(0.0, 0.0, 1000.0, 100.0));
    scene.sheets[0].open_length = Some(OpenLength { increment: 25.0, minimum: 50.0, price_per_length: 1.0 });
    scene.layout.sheets[0].length = length;
}

#[test]
fn a_sound_layout_gets_its_figures() {
    let certificate = Scene::sound().certify().expect("sound");
    assert_eq!((certificate.parts_checked(), certificate.pairs_checked()), (2, 1));
    assert_eq!(certificate.least_between_parts(), Some(4.0));
    assert_eq!(certificate.least_to_edge(), Some(6.0));
    assert!((certificate.tolerance() - 1e-5).abs() < 1e-18);
    let empty = Scene::sound().spoiled(|s| {
        s.layout =
            Layout { sheets: Vec::new(), unplaced: vec![Unplaced { part: 0, count: 2, reason: Reason::NoRoom }] };
    });
    assert_eq!(empty.certify(), Ok(Certificate { sheets: Vec::new() }), "nothing placed, all of it declared");
}

#[test]
fn indices_that_name_nothing() {
    let scene = Scene::sound().spoiled(|s| s.layout.sheets[0].sheet = 7);
    assert_eq!(scene.fault(), Violation::UnknownSheet { on: 0, sheet: 7, count: 1 });
    let scene = Scene::sound().spoiled(|s| s.layout.sheets[0].placements.push(at(1, 60.0, 60.0)));
    assert_eq!(scene.fault(), Violation::UnknownPart { on: 0, placement: 2, part: 1, count: 1 });
    let scene = Scene::sound()
        .spoiled(|s| s.layout.unplaced.push(Unplaced { part: usize::MAX, count: 1, reason: Reason::NoRoom }));
    assert_eq!(scene.fault(), Violation::UnknownUnplacedPart { entry: 0, part: usize::MAX, count: 1 });
}

#[test]
fn counts_that_do_not_add_up() {
    let missing = Scene::sound().spoiled(|s| {
        s.layout.sheets[0].placements.pop();
    });
    assert_eq!(missing.fault(), Violation::WrongCount { part: 0, placed: 1, unplaced: 0, wanted: 2 });
    let declared = |count| vec![Unplaced { part: 0, count, reason: Reason::NoRoom }];
    assert!(missing.spoiled(|s| s.layout.unplaced = declared(1)).certify().is_ok());
    let too_many = Scene::sound().spoiled(|s| s.layout.sheets[0].placements.push(at(0, 60.0, 60.0)));
    assert_eq!(too_many.fault(), Violation::WrongCount { part: 0, placed: 3, unplaced: 0, wanted: 2 });
    let both = Scene::sound().spoiled(|s| s.layout.unplaced = declared(1));
    assert_eq!(both.fault(), Violation::WrongCount { part: 0, placed: 2, unplaced: 1, wanted: 2 });
    let huge = Scene::sound().spoiled(|s| s.layout.unplaced = [declared(u32::MAX), declared(u32::MAX)].concat());
    assert!(matches!(huge.fault(), Violation::WrongCount { unplaced: 8_589_934_590, .. }), "no wrapping around");
    let filler = Scene::sound().spoiled(|s| {
        s.parts[0].need = Need::Filler;
        s.layout.sheets[0].placements.pop();
    });
    assert_eq!(filler.fault(), Violation::WrongCount { part: 0, placed: 1, unplaced: 0, wanted: 2 });
}

#[test]
fn sheets_that_are_not_there() {
    let split = Scene::sound().spoiled(|s| {
        s.layout.sheets = vec![on_sheet(0, vec![at(0, 6.0, 6.0)]), on_sheet(0, vec![at(0, 6.0, 6.0)])];
    });
    assert_eq!(split.fault(), Violation::TooManySheets { sheet: 0, used: 2, available: 1 });
    assert!(split.spoiled(|s| s.sheets[0].quantity = None).certify().is_ok(), "as many as wanted");
}

#[test]
fn lengths_that_nobody_sells() {
    let with = |length| Scene::sound().spoiled(|s| open_length(s, length)).refused();
    assert!(Scene::sound().spoiled(|s| open_length(s, Some(75.0))).certify().is_ok());
    assert_eq!(with(None), [Violation::NoLength { on: 0 }]);
    assert_eq!(with(Some(76.0)), [Violation::LengthNotSold { on: 0, found: 76.0, increment: 25.0 }]);
    assert_eq!(with(Some(-75.0)), [Violation::LengthNotSold { on: 0, found: -75.0, increment: 25.0 }]);
    assert_eq!(with(Some(0.0)), [Violation::LengthNotSold { on: 0, found: 0.0, increment: 25.0 }]);
    assert!(matches!(with(Some(f64::NAN))[..], [Violation::LengthNotSold { .. }]));
    assert!(matches!(with(Some(f64::INFINITY))[..], [Violation::LengthNotSold { .. }]));
    assert_eq!(with(Some(1025.0)), [Violation::LengthTooLong { on: 0, found: 1025.0, available: 1000.0 }]);
    let short = with(Some(25.0));
    assert_eq!(short[0], Violation::LengthTooShort { on: 0, found: 25.0, minimum: 50.0 });
    assert!(matches!(short[1], Violation::TooCloseToEdge { placement: 0, .. } | Violation::OutsideSheet { .. }));
    let parts_beyond_what_is_bought = with(Some(50.0));
    assert!(
        matches!(parts_beyond_what_is_bought[..], [Violation::TooCloseToEdge { placement: 1, found: 0.0, .. }]),
        "{parts_beyond_what_is_bought:?}"
    );
    let unexpected = Scene::sound().spoiled(|s| s.layout.sheets[0].length = Some(100.0));
    assert_eq!(unexpected.fault(), Violation::UnexpectedLength { on: 0, found: 100.0 });
}

#[test]
fn places_that_are_no_numbers() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let spoils: [fn(&mut Isometry, f64); 3] =
            [|p, v| p.rotation_deg = v, |p, v| p.translation.x = v, |p, v| p.translation.y = v];
        for spoil in spoils {
            let scene = Scene::sound().spoiled(|s| spoil(&mut s.placement(1).position, bad));
            assert_eq!(scene.fault(), Violation::NotFinite { on: 0, placement: 1 });
        }
    }
    for far in [1e17, -1e200, f64::MAX] {
        let scene = Scene::sound().spoiled(|s| s.placement(1).position.translation.x = far);
        assert!(matches!(scene.refused()[0], Violation::OutsideSheet { placement: 1, .. }), "{far}");
    }
}

#[test]
fn parts_of_another_stock() {
    let scene = Scene::sound().spoiled(|s| s.sheets[0].class = StockClass::new("brass, 1 mm"));
    let found = scene.refused();
    assert_eq!(found.len(), 2);
    let (part_class, sheet_class) = ("mild steel, 2 mm".to_owned(), "brass, 1 mm".to_owned());
    assert_eq!(found[0], Violation::WrongClass { on: 0, placement: 0, part_class, sheet_class });
}

#[test]
fn turns_and_flips_that_are_not_allowed() {
    let mut scene = Scene::sound();
    scene.parts[0].turns = Turns::List(vec![0.0, 90.0, 180.0, -90.0]);
    *scene.placement(1) = turned(0, 90.0, 50.0, 6.0);
    assert!(scene.certify().is_ok());
    scene.placement(1).position.rotation_deg = 450.0;
    assert!(scene.certify().is_ok(), "a full turn more");
    scene.placement(1).position.rotation_deg = 90.0 + 5e-10;
    assert!(scene.certify().is_ok(), "a rounding error");
    scene.placement(1).position.rotation_deg = 90.0 + 1e-6;
    let Violation::TurnNotAllowed { on: 0, placement: 1, nearest, .. } = scene.fault() else { panic!() };
    assert_eq!(nearest, Some(90.0));
    scene.placement(1).position.rotation_deg = -1e-10;
    *scene.placement(1) = turned(0, -1e-10, 50.0, 6.0);
    assert!(scene.certify().is_ok(), "a hair less than a full turn");

    // Held to the grain: drawn along x, so on a sheet whose grain runs at 90 degrees it must lie turned by 90 or 270.
    let mut scene = Scene::sound();
    scene.parts[0].turns = Turns::Grain { along_deg: 0.0 };
    let unknown = scene.refused();
    assert_eq!(unknown[0], Violation::TurnNotAllowed { on: 0, placement: 0, found: 0.0, nearest: None });
    scene.sheets[0].grain_deg = Some(0.0);
    assert!(scene.certify().is_ok());
    scene.sheets[0].grain_deg = Some(90.0);
    assert!(matches!(scene.refused()[0], Violation::TurnNotAllowed { placement: 0, nearest: Some(_), .. }));
    *scene.placement(0) = turned(0, 270.0, 6.0, 40.0);
    *scene.placement(1) = turned(0, 90.0, 50.0, 6.0);
    assert!(scene.certify().is_ok());
    // Flipped, a grain drawn at 30 degrees lies at 150: along a grain at 0 only when turned by 30 or 210.
    scene.parts[0].turns = Turns::Grain { along_deg: 30.0 };
    scene.sheets[0].grain_deg = Some(0.0);
    let lie = |is_mirrored, deg, x, y| Placement { part: 0, position: Isometry::new(is_mirrored, deg, x, y) };
    *scene.placement(0) = lie(true, 30.0, 50.0, 20.0);
    *scene.placement(1) = lie(false, -30.0, 50.0, 80.0);
    assert!(scene.certify().is_ok(), "{:?}", scene.certify());
    *scene.placement(0) = lie(true, -30.0, 50.0, 40.0);
    assert!(matches!(scene.fault(), Violation::TurnNotAllowed { placement: 0, .. }));

    let mut scene = Scene::sound();
    scene.parts[0].may_flip = false;
    *scene.placement(1) = lie(true, 0.0, 50.0, 6.0);
    assert_eq!(scene.fault(), Violation::FlipNotAllowed { on: 0, placement: 1 });
}

#[test]
fn parts_outside_of_their_sheet() {
    let beside = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 300.0, 6.0));
    assert!(matches!(beside.fault(), Violation::OutsideSheet { placement: 1, by, .. } if (by - 220.0).abs() < 1e-9));
    let over_the_edge = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 81.0, 6.0));
    assert!(matches!(over_the_edge.fault(), Violation::OutsideSheet { by, .. } if (by - 1.0).abs() < 1e-9));
    let larger = Scene::as_drawn(vec![plain(rectangle(-1.0, -1.0, 102.0, 102.0))]);
    assert!(matches!(larger.fault(), Violation::OutsideSheet { .. }));
    let near_edge = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 76.0, 6.0));
    let Violation::TooCloseToEdge { on: 0, placement: 1, found: 4.0, wanted: 5.0, at: place } = near_edge.fault()
    else {
        panic!("{:?}", near_edge.fault())
    };
    assert!((place.x - 96.0).abs() < 1e-9 && (6.0..=16.0).contains(&place.y), "on its right side: {place:?}");
    let just_enough = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 75.0 + 5e-6, 6.0));
    assert!(just_enough.certify().is_ok(), "half a tolerance");
    let just_not = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 75.0 + 2e-5, 6.0));
    assert!(matches!(just_not.fault(), Violation::TooCloseToEdge { .. }), "two tolerances");
}

#[test]
fn parts_across_a_bay_of_the_sheet() {
    let bay =
        polygon(&[(0., 0.), (100., 0.), (100., 100.), (60., 100.), (60., 40.), (40., 40.), (40., 100.), (0., 100.)]);
    let with = |outline| Scene::as_drawn(vec![plain(outline)]).spoiled(|s| s.sheets[0].shape = plain(bay.clone()));
    // All corners on the sheet, the middle over the bay.
    let bridge = with(rectangle(10.0, 50.0, 80.0, 20.0)).fault();
    assert!(matches!(bridge, Violation::OutsideSheet { .. }), "{bridge:?}");
    let in_the_bay = with(rectangle(45.0, 50.0, 10.0, 20.0)).fault();
    assert!(matches!(in_the_bay, Violation::OutsideSheet { .. }), "{in_the_bay:?}");
    let plug = with(rectangle(40.0, 40.0, 20.0, 60.0)).fault();
    assert!(matches!(plug, Violation::OutsideSheet { .. }), "{plug:?}");
    assert!(with(rectangle(0.0, 0.0, 100.0, 40.0)).certify().is_ok(), "along edge and bay");
    assert!(with(rectangle(0.0, 0.0, 100.0, 40.1)).certify().is_err());
}

#[test]
fn round_sheets_are_checked_as_round() {
    let mut scene = Scene::as_drawn(vec![plain(rectangle(-30.0, -40.0, 60.0, 80.0))]);
    scene.sheets[0].shape = plain(Outline::circle(Point::ORIGIN, 50.0));
    let certificate = scene.certify().expect("all four corners on the rim: 30-40-50");
    assert!(certificate.least_to_edge().is_some_and(|d| d < 1e-12));
    scene.parts[0].shape = plain(rectangle(-30.0, -40.0, 60.001, 80.0));
    let found = scene.fault();
    assert!(matches!(found, Violation::OutsideSheet { by, .. } if by > 1e-4 && by < 1e-3), "{found:?}");
    // A disc as large as the sheet, and one larger by a hair.
    scene.parts[0].shape = plain(Outline::circle(Point::ORIGIN, 50.0));
    assert!(scene.certify().is_ok());
    scene.parts[0].shape = plain(Outline::circle(Point::ORIGIN, 50.001));
    assert!(matches!(scene.fault(), Violation::OutsideSheet { .. }));
}

#[test]
fn holes_and_damage_of_the_sheet() {
    let holed = |s: &mut Scene| {
        let hole = Outline::circle(Point::new(50.0, 50.0), 10.0);
        s.sheets[0].shape = Shape::new(rectangle(0.0, 0.0, 100.0, 100.0), vec![hole]);
    };
    let damaged = |s: &mut Scene| {
        s.sheets[0].damage = vec![
            rectangle(-50.0, -50.0, 20.0, 20.0), // off the sheet altogether
            rectangle(-10.0, -10.0, 20.0, 20.0), // over its corner
            rectangle(5.0, 5.0, 20.0, 20.0),     // overlapping the last
        ];
    };
    let hole = Obstacle::Hole(0);
    let on = |shape: Shape| Scene::as_drawn(vec![shape]).spoiled(holed);
    let across = on(plain(rectangle(45.0, 20.0, 10.0, 30.0))).fault();
    assert!(matches!(across, Violation::OnObstacle { obstacle, .. } if obstacle == hole), "{across:?}");
    let around = on(plain(rectangle(20.0, 20.0, 60.0, 60.0))).fault();
    assert!(matches!(around, Violation::OnObstacle { obstacle, .. } if obstacle == hole), "{around:?}");
    let within = on(plain(rectangle(48.0, 48.0, 4.0, 4.0))).fault();
    assert!(matches!(within, Violation::OnObstacle { obstacle, .. } if obstacle == hole), "{within:?}");
    let filling = on(plain(Outline::circle(Point::new(50.0, 50.0), 10.0))).fault();
    assert!(matches!(filling, Violation::OnObstacle { obstacle, .. } if obstacle == hole), "{filling:?}");
    let ring = |inner| {
        Shape::new(Outline::circle(Point::new(50.0, 50.0), 30.0), vec![Outline::circle(Point::new(50.0, 50.0), inner)])
    };
    assert!(on(ring(10.0)).certify().is_ok(), "a washer around the hole");
    assert!(matches!(on(ring(9.9)).fault(), Violation::OnObstacle { .. }));
    let close = on(ring(11.0)).spoiled(|s| s.margin = 2.0).fault();
    let Violation::TooCloseToObstacle { on: 0, placement: 0, obstacle, found: 1.0, wanted: 2.0, at } = close else {
        panic!("{close:?}")
    };
    assert_eq!(obstacle, hole);
    assert!((at.distance(Point::new(50.0, 50.0)) - 11.0).abs() < 1e-9, "on the rim of its hole: {at:?}");

    let on = |shape: Outline| Scene::as_drawn(vec![plain(shape)]).spoiled(damaged);
    assert!(on(rectangle(25.0, 0.0, 20.0, 30.0)).certify().is_ok(), "touching damage");
    let both = on(rectangle(0.0, 0.0, 20.0, 20.0)).refused();
    let obstacles: Vec<_> = both
        .iter()
        .map(|v| match v {
            Violation::OnObstacle { obstacle, .. } => *obstacle,
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(obstacles, [Obstacle::Damage(1), Obstacle::Damage(2)]);
    let close = on(rectangle(26.0, 10.0, 20.0, 10.0)).spoiled(|s| s.margin = 2.0).fault();
    let Violation::TooCloseToObstacle { obstacle, found: 1.0, wanted: 2.0, at, .. } = close else {
        panic!("{close:?}")
    };
    assert_eq!(obstacle, Obstacle::Damage(2));
    assert!((at.x - 26.0).abs() < 1e-9, "on its left side: {at:?}");
}

#[test]
fn parts_that_overlap() {
    let square = |x, y, side| plain(rectangle(x, y, side, side));
    let disc = |x, y, radius| plain(Outline::circle(Point::new(x, y), radius));
    let washer =
        Shape::new(Outline::circle(Point::new(50.0, 50.0), 40.0), vec![Outline::circle(Point::new(50.0, 50.0), 20.0)]);
    let bulging = Outline::new(vec![
        Vertex::line(Point::new(10.0, 10.0)),
        Vertex::arc(Point::new(50.0, 10.0), 0.1),
        Vertex::line(Point::new(50.0, 50.0)),
        Vertex::line(Point::new(10.0, 50.0)),
    ]);
    let cases = [
        ("exactly on top", square(10., 10., 20.), square(10., 10., 20.), 4.0),
        ("discs exactly on top", disc(50., 50., 20.), disc(50., 50., 20.), 4.0),
        ("washers exactly on top", washer.clone(), washer.clone(), 4.0),
        ("cross", plain(rectangle(10., 40., 80., 20.)), plain(rectangle(40., 10., 20., 80.)), 9.9),
        ("corner in", square(10., 10., 20.), square(29., 29., 20.), 0.9),
        ("wholly inside", square(10., 10., 60.), square(30., 30., 10.), 9.9),
        ("inside, sharing a side", square(10., 10., 60.), square(10., 30., 10.), 4.9),
        ("inside, sharing a corner", square(10., 10., 60.), square(10., 10., 10.), 4.9),
        ("arc through a line", plain(bulging), square(50., 10., 40.), 1.9),
        ("disc over the edge of a washer's hole", washer.clone(), disc(65., 50., 10.), 4.9),
        ("disc larger than the hole", washer.clone(), disc(50., 50., 20.01), 0.009),
        ("disc in the washer's metal", washer, disc(80., 50., 5.), 4.9),
        (
            "equal but for one corner",
            plain(polygon(&[(10., 10.), (50., 10.), (50., 50.), (10., 50.)])),
            plain(polygon(&[(10., 10.), (50., 10.), (10., 50.)])),
            4.0,
        ),
        (
            "star of two triangles",
            plain(polygon(&[(10., 30.), (70., 30.), (40., 80.)])),
            plain(polygon(&[(10., 65.), (40., 10.), (70., 65.)])),
            4.0,
        ),
        ("by a hair", square(10., 10., 20.), square(29.99997, 10., 20.), 2.9e-5),
    ];
    for (name, a, b, least) in cases {
        for shapes in [vec![a.clone(), b.clone()], vec![b, a]] {
            let fault = Scene::as_drawn(shapes).fault();
            let Violation::Overlap { on: 0, first: 0, second: 1, by, at } = fault else { panic!("{name}: {fault:?}") };
            assert!(by >= least, "{name}: found only {by} at {at:?}");
        }
    }
}

#[test]
fn parts_that_touch_are_accepted_without_a_web_and_refused_with_one() {
    let square = |x, y, side| plain(rectangle(x, y, side, side));
    let disc = |x, y, radius| plain(Outline::circle(Point::new(x, y), radius));
    let scooped = Outline::new(vec![
        Vertex::line(Point::new(20.0, 20.0)),
        Vertex::line(Point::new(40.0, 20.0)),
        Vertex::arc(Point::new(40.0, 30.0), -1.0),
        Vertex::line(Point::new(40.0, 50.0)),
        Vertex::line(Point::new(40.0, 60.0)),
        Vertex::line(Point::new(20.0, 60.0)),
    ]);
    let washer =
        Shape::new(Outline::circle(Point::new(50.0, 50.0), 40.0), vec![Outline::circle(Point::new(50.0, 50.0), 20.0)]);
    let comb = |points: &[(f64, f64)]| plain(polygon(points));
    let cases = [
        ("equal sides", square(10., 10., 20.), square(30., 10., 20.)),
        ("part of a side", square(10., 10., 20.), square(30., 15., 40.)),
        ("corners", square(10., 10., 20.), square(30., 30., 20.)),
        ("corner on side", square(10., 10., 20.), comb(&[(30., 20.), (50., 10.), (50., 30.)])),
        ("discs", disc(20., 20., 10.), disc(50., 60., 40.)),
        ("disc on side", square(10., 10., 20.), disc(40., 20., 10.)),
        ("disc in a scoop", plain(scooped), disc(40., 40., 10.)),
        ("disc filling a hole", washer.clone(), disc(50., 50., 20.)),
        ("square in a hole, corners on its rim", washer, plain(rectangle(38., 34., 24., 32.))),
        (
            "jigsaw",
            comb(&[(10., 10.), (50., 10.), (50., 30.), (40., 30.), (40., 20.), (30., 20.), (30., 30.), (10., 30.)]),
            comb(&[(30., 20.), (40., 20.), (40., 30.), (50., 30.), (50., 40.), (10., 40.), (10., 30.), (30., 30.)]),
        ),
    ];
    for (name, a, b) in cases {
        for turn in [0.0, 90.0, 33.3] {
            // Turned about the middle of the sheet, all stay on a disc-shaped sheet around it.
            let middle = Point::new(50.0, 50.0).to_vector();
            let back = Isometry::new(false, turn, 0.0, 0.0).apply_vector(middle);
            let mut scene = Scene::as_drawn(vec![a.clone(), b.clone()]).spoiled(|s| {
                s.sheets[0].shape = plain(Outline::circle(Point::new(50.0, 50.0), 80.0));
                for i in 0..2 {
                    *s.placement(i) = turned(i, turn, middle.x - back.x, middle.y - back.y);
                }
            });
            let certificate = scene.certify().unwrap_or_else(|v| panic!("{name}, turned {turn}: {v:?}"));
            assert!(certificate.least_between_parts().is_some_and(|d| d < 1e-12), "{name}");
            scene.web = 0.5;
            let fault = scene.fault();
            assert!(
                matches!(fault, Violation::TooClose { first: 0, second: 1, found, wanted: 0.5, .. } if found < 1e-12),
                "{name}: {fault:?}"
            );
        }
    }
}

#[test]
fn parts_nearer_than_the_web() {
    let near = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 28.0, 6.0));
    let Violation::TooClose { on: 0, first: 0, second: 1, found: 2.0, wanted: 3.0, at: place } = near.fault() else {
        panic!("{:?}", near.fault())
    };
    assert!(
        (place.x - 26.0).abs() < 1e-9 && (6.0..=16.0).contains(&place.y),
        "on the right side of the first: {place:?}"
    );
    // Apart by 2 in both directions: 2.83 between corners.
    let diagonal = Scene::sound().spoiled(|s| *s.placement(1) = at(0, 28.0, 18.0));
    let Violation::TooClose { found, .. } = diagonal.fault() else { panic!() };
    assert!((found - 8f64.sqrt()).abs() < 1e-12);
    // A pin in the hole of a ring must keep the web too.
    let pin = |radius| {
        let ring = vec![Outline::circle(Point::new(50.0, 50.0), 20.0)];
        Scene::as_drawn(vec![
            Shape::new(Outline::circle(Point::new(50.0, 50.0), 40.0), ring),
            plain(Outline::circle(Point::new(50.0, 50.0), radius)),
        ])
        .spoiled(|s| s.web = 3.0)
    };
    assert!(pin(17.0).certify().is_ok());
    assert!(matches!(pin(18.0).fault(), Violation::TooClose { found, .. } if (found - 2.0).abs() < 1e-9));
}

#[test]
fn all_faults_are_told_at_once() {
    let scene = Scene::sound().spoiled(|s| {
        s.parts[0].may_flip = false;
        s.sheets[0].quantity = Some(1);
        s.layout.sheets[0].placements = vec![
            at(0, 6.0, 6.0),
            at(0, 10.0, 10.0),
            at(0, 96.0, 6.0),
            Placement { part: 0, position: Isometry::new(true, 0.0, 60.0, 60.0) },
        ];
        s.layout.sheets.push(on_sheet(0, Vec::new()));
    });
    let found = scene.refused();
    assert!(found.iter().any(|v| matches!(v, Violation::WrongCount { placed: 4, .. })));
    assert!(found.iter().any(|v| matches!(v, Violation::TooManySheets { used: 2, .. })));
    assert!(found.iter().any(|v| matches!(v, Violation::Overlap { first: 0, second: 1, .. })));
    assert!(found.iter().any(|v| matches!(v, Violation::OutsideSheet { placement: 2, .. })));
    assert!(found.iter().any(|v| matches!(v, Violation::FlipNotAllowed { placement: 3, .. })));
    assert_eq!(found.len(), 5, "{found:?}");
    for violation in &found {
        assert!(!violation.to_string().is_empty());
    }
}

#[test]
fn a_perfect_squared_square_is_a_valid_nest_and_a_push_spoils_it() {
    // The 21 squares of the perfect squared square of side 112, A. J. W. Duijvestijn, Simple perfect squared square of
    // lowest order, J. Combin. Theory B 25 (1978) 240-243. Each goes in the highest, then leftmost, free notch.
    let squares: [(f64, f64, f64); 21] = [
        (0., 0., 50.),
        (50., 0., 35.),
        (85., 0., 27.),
        (85., 27., 8.),
        (93., 27., 19.),
        (50., 35., 15.),
        (65., 35., 17.),
        (82., 35., 11.),
        (82., 46., 6.),
        (88., 46., 24.),
        (0., 50., 29.),
        (29., 50., 25.),
        (54., 50., 9.),
        (63., 50., 2.),
        (63., 52., 7.),
        (70., 52., 18.),
        (54., 59., 16.),
        (70., 70., 42.),
        (29., 75., 4.),
        (33., 75., 37.),
        (0., 79., 33.),
    ];
    let mut scene = Scene::as_drawn(
        squares.iter().map(|&(x, y, side)| plain(rectangle(x, 112.0 - y - side, side, side))).collect(),
    );
    scene.sheets[0].shape = plain(rectangle(0.0, 0.0, 112.0, 112.0));
    let certificate = scene.certify().expect("a tiling");
    assert_eq!((certificate.parts_checked(), certificate.pairs_checked()), (21, 210));
    for index in 0..squares.len() {
        for (dx, dy) in [(1e-3, 0.0), (-1e-3, 0.0), (0.0, 1e-3), (0.0, -1e-3)] {
            let mut pushed = Scene { layout: scene.layout.clone(), ..Scene::as_drawn(Vec::new()) };
            (pushed.parts, pushed.sheets) = (scene.parts.clone(), scene.sheets.clone());
            *pushed.placement(index) = at(index, dx, dy);
            assert!(pushed.certify().is_err(), "square {index} moved by ({dx}, {dy})");
        }
    }
}

#[test]
fn five_hundred_gears_a_millimetre_apart_are_certified() {
    // Gears of 48 arcs in a grid, 1 apart.
    let gear = Outline::new(
        (0..48)
            .map(|i| {
                let (radius, angle) = (if i % 2 == 0 { 20.0 } else { 17.0 }, f64::from(i) * 7.5f64.to_radians());
                Vertex::arc(Point::new(radius * angle.cos(), radius * angle.sin()), 0.1)
            })
            .collect(),
    );
    let bounds = gear.bounds();
    let mut scene = Scene::as_drawn(vec![Shape::new(gear, vec![Outline::circle(Point::ORIGIN, 5.0)])]);
    scene.parts[0].quantity = 500;
    scene.sheets[0].shape = plain(rectangle(0.0, 0.0, 25.0 * (bounds.width() + 1.0), 20.0 * (bounds.height() + 1.0)));
    scene.layout.sheets[0].placements = (0..500)
        .map(|i| {
            let (column, row) = (f64::from(i % 25), f64::from(i / 25));
            at(0, column * (bounds.width() + 1.0) - bounds.min.x, row * (bounds.height() + 1.0) - bounds.min.y)
        })
        .collect();
    let certificate = scene.certify().expect("a grid");
    assert_eq!(certificate.pairs_checked(), 500 * 499 / 2);
    assert!(certificate.least_between_parts().is_some_and(|d| (d - 1.0).abs() < 1e-9));
    scene.web = 1.0;
    assert!(scene.certify().is_ok());
    scene.web = 1.01;
    assert!(scene.refused().len() > 900, "every pair of neighbours");
}

#[test]
fn five_hundred_parts_that_touch_along_toothed_sides_are_certified() {
    // Strips with the same zigzag of 60 corners above and below: stacked, each fits into the next without a gap.
    let zigzag: Vec<(f64, f64)> = (0..=60).map(|i| (f64::from(i), if i % 2 == 0 { 0.0 } else { 1.0 })).collect();
    let above = zigzag.iter().rev().map(|&(x, y)| (x, y + 3.0));
    let strip = polygon(&zigzag.iter().copied().chain(above).collect::<Vec<_>>());
    let mut scene = Scene::as_drawn(vec![plain(strip)]);
    scene.parts[0].quantity = 500;
    scene.sheets[0].shape = plain(rectangle(0.0, 0.0, 600.0, 151.0));
    scene.layout.sheets[0].placements =
        (0..500).map(|i| at(0, 60.0 * f64::from(i % 10), 3.0 * f64::from(i / 10))).collect();
    let certificate = scene.certify().expect("a tiling");
    assert_eq!(certificate.least_between_parts(), Some(0.0));
    *scene.placement(255) = at(0, 300.001, 75.0);
    assert!(scene.refused().iter().all(|v| matches!(v, Violation::Overlap { .. })));
}
