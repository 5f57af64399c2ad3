use dropwise_geometry::{Isometry, Outline, Point, Segment, Shape, Unit, Vector, Vertex};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, Part, Placement, Sheet, SheetUse, StockClass, Turns};
use proptest::prelude::*;

use super::*;
use crate::bend::drills::SizeSystem;

fn part(name: &str, shape: Shape) -> Part {
    let class = StockClass::new("steel");
    Part { name: name.into(), shape, quantity: 9, class, turns: Turns::Any, may_flip: true, need: Need::Required }
}

fn job(parts: Vec<Part>, stock: Shape) -> Job {
    let sheet = Sheet {
        name: "drop 3".into(),
        shape: stock,
        damage: Vec::new(),
        class: StockClass::new("steel"),
        quantity: None,
        price: Money::ZERO,
        grain_deg: None,
        location: String::new(),
        open_length: None,
        leftover_worth: 0.0,
        scrap_worth: 0.0,
        weight: 0.0,
    };
    let rule = LeftoverRule { length: 100.0, width: 100.0, neck: 10.0 };
    Job::new(parts, vec![sheet], Clearances::default(), rule).unwrap()
}

fn on_sheet(placements: &[(usize, Isometry)]) -> SheetUse {
    let placements = placements.iter().map(|&(part, position)| Placement { part, position }).collect();
    SheetUse { sheet: 0, length: None, placements }
}

fn metric() -> HoleTools {
    HoleTools::common(SizeSystem::Metric)
}

/// 60 × 40 with its upper right corner rounded by 10 and two 9 mm holes.
fn bracket() -> Part {
    let quarter = (std::f64::consts::PI / 8.0).tan();
    let exterior = Outline::new(vec![
        Vertex::line(Point::new(0.0, 0.0)),
        Vertex::line(Point::new(60.0, 0.0)),
        Vertex::arc(Point::new(60.0, 30.0), quarter),
        Vertex::line(Point::new(50.0, 40.0)),
        Vertex::line(Point::new(0.0, 40.0)),
    ]);
    let holes = [(40.0, 20.0), (12.2, 20.0)].map(|(x, y)| Outline::circle(Point::new(x, y), 4.5));
    part("bracket", Shape::new(exterior, holes.to_vec()))
}

#[test]
fn a_bracket_by_hand() {
    let scribe = ScribeLines {
        bends_up: vec![Segment::Line { start: Point::new(25.3, 0.0), end: Point::new(25.3, 40.0) }],
        ..ScribeLines::default()
    };
    let table = MarkOut::of_part(&bracket(), &scribe, Grid::HalfMillimetre, &metric());
    let marks = &table.parts[0];
    let corners: Vec<_> =
        marks.corners.iter().map(|c| (c.number, c.is_tangent, c.mark.from.map(|reading| reading.rounded))).collect();
    let expected = [
        (1, false, [0.0, 0.0]),
        (2, false, [60.0, 0.0]),
        (3, true, [60.0, 30.0]),
        (4, true, [50.0, 40.0]),
        (5, false, [0.0, 40.0]),
    ];
    assert_eq!(corners, expected);
    let arc = &marks.arcs[0];
    assert_eq!((arc.between, arc.radius.rounded, arc.is_convex, arc.is_on_stock), ([3, 4], 10.0, true, true));
    assert_eq!(arc.mark.from.map(|reading| reading.rounded), [50.0, 30.0]);
    let hole = &table.holes[0];
    assert_eq!((table.holes.len(), hole.centres.len(), hole.method.to_string().as_str()), (1, 2, "9 mm drill"));
    assert_eq!(hole.centres[0].mark.from[0], Reading { exact: 12.2, rounded: 12.0 });
    assert_eq!((marks.scribe[0].purpose, marks.scribe[0].ends[1].from[0].rounded), (ScribeUse::BendUp, 25.5));
    let along: Vec<f64> = table.running[0].iter().map(|mark| mark.distance.rounded).collect();
    assert_eq!(along, [0.0, 12.0, 25.5, 40.0, 50.0, 60.0]);
    assert_eq!(table.running[0][5].marks, [(0, Stop::Corner(2)), (0, Stop::Corner(3))]);
    assert_eq!(table.running[0][1].marks, [(0, Stop::Hole)]);
    assert_eq!(table.running[0][2].marks, [(0, Stop::Scribe(0))], "both ends are one stop");
    assert_eq!(table.running[0][4].marks, [(0, Stop::Corner(4)), (0, Stop::ArcCentre(0))]);
    let said = table.statements().join(" ");
    assert!(said.contains("straight edge of 60 mm") && said.contains("at most 0.25 mm off"), "{said}");
}

#[test]
fn on_a_drop_everything_runs_from_its_longest_edge() {
    // The longest edge is the slope of a 300 × 400 × 500 triangle; the part lies along it.
    let stock =
        Shape::new(Outline::polygon([(0.0, 0.0), (300.0, 0.0), (0.0, 400.0)].map(|(x, y)| Point::new(x, y))), vec![]);
    let strap = part("strap", Shape::new(Outline::rectangle(Point::ORIGIN, 100.0, 50.0), Vec::new()));
    let slope = Vector::new(-300.0, 400.0);
    let angle = slope.angle().to_degrees();
    // Its corner lies 200 mm up the slope and 10 mm in from it.
    let direction = slope.unit().unwrap();
    let corner = Point::new(300.0, 0.0) + direction * 200.0 + direction.left() * 10.0;
    let job = job(vec![strap], stock);
    let sheet = on_sheet(&[(0, Isometry::new(false, angle, corner.x, corner.y))]);
    let grid = Grid::beside(Unit::Inch);
    let table = MarkOut::of_sheet(&job, &sheet, &[], grid, &metric()).unwrap();
    let exact: Vec<[f64; 2]> = table.parts[0].corners.iter().map(|c| c.mark.from.map(|r| r.exact)).collect();
    for (found, wanted) in exact.iter().zip([[200.0, 10.0], [300.0, 10.0], [300.0, 60.0], [200.0, 60.0]]) {
        assert!((found[0] - wanted[0]).abs() < 1e-9 && (found[1] - wanted[1]).abs() < 1e-9, "{found:?}");
    }
    // 200 mm is 7.874 in, nearest 1/32: 7 7/8 in.
    assert_eq!(grid.format(table.parts[0].corners[0].mark.from[0]), "7 7/8 in");
    let missing = MarkOut::of_sheet(&job, &on_sheet(&[(4, Isometry::IDENTITY)]), &[], grid, &metric());
    assert_eq!(missing, Err(MarkOutError::NoSuch { kind: "part", index: 4, count: 1 }));
}

#[test]
fn a_disc_and_its_hole_share_a_centre() {
    let washer =
        Shape::new(Outline::circle(Point::new(30.0, 30.0), 20.0), vec![Outline::circle(Point::new(30.0, 30.0), 5.0)]);
    let table = MarkOut::of_part(&part("washer", washer), &ScribeLines::default(), Grid::HalfMillimetre, &metric());
    let found: Vec<_> = table.holes.iter().map(|g| (g.diameter, g.centres[0].is_disc)).collect();
    assert_eq!(found, [(10.0, false), (40.0, true)]);
    assert_eq!(table.holes[0].centres[0].mark.from, table.holes[1].centres[0].mark.from);
    assert!(table.parts[0].corners.is_empty());
}

prop_compose! {
    /// A star-shaped ring with bulges, and where it lies.
    fn star()(
        corners in prop::collection::vec((40.0..60.0f64, prop_oneof![Just(0.0), -0.2..0.2f64]), 3..10),
    ) -> Shape {
        let step = std::f64::consts::TAU / corners.len() as f64;
        let at = |i: usize, radius: f64| Point::ORIGIN + Vector::from_angle(step * i as f64) * radius;
        let ring = corners.iter().enumerate().map(|(i, &(r, bulge))| Vertex::arc(at(i, r), bulge)).collect();
        Shape::new(Outline::new(ring), vec![Outline::circle(Point::new(3.0, 1.0), 7.5)])
    }
}

proptest! {
    #[test]
    fn every_corner_and_centre_is_in_the_table_within_the_bound(
        one in star(),
        other in star(),
        turns in [(any::<bool>(), 0.0..360.0f64), (any::<bool>(), 0.0..360.0f64)],
        tilt in 0.0..360.0f64,
        grid in prop::sample::select(Grid::ALL.to_vec()),
    ) {
        let tilt = Isometry::new(false, tilt, 20.0, -70.0);
        let drop = Outline::polygon([(0.0, 0.0), (500.0, 0.0), (480.0, 200.0), (0.0, 190.0)].map(|(x, y)| Point::new(x, y)));
        let stock = Shape::new(drop, Vec::new()).transformed(tilt);
        let positions = [0, 1].map(|i: usize| {
            let at = tilt.apply(Point::new(90.0 + 160.0 * i as f64, 95.0));
            Isometry::new(turns[i].0, turns[i].1, at.x, at.y)
        });
        let shapes = [one, other];
        let parts = ["one", "other"].iter().zip(&shapes).map(|(name, shape)| part(name, shape.clone())).collect();
        let sheet = on_sheet(&[(0, positions[0]), (1, positions[1])]);
        let table = MarkOut::of_sheet(&job(parts, stock), &sheet, &[], grid, &metric()).unwrap();
        let slack = 1e-9;
        let near = |mark: &Mark, at: Point| -> bool {
            // Reckoned back from what is written on the tape, a mark is off by at most the bound each way.
            let written = table.datum.point(mark.from.map(|reading| reading.rounded));
            let miss = written - at;
            let along = table.datum.along;
            mark.place.distance(at) < 1e-6
                && miss.dot(along).abs() <= grid.bound() + slack
                && miss.dot(along.left()).abs() <= grid.bound() + slack
        };
        for i in 0..2 {
            let placed = shapes[i].transformed(positions[i]);
            let marks = &table.parts[i];
            prop_assert_eq!(marks.is_face_down, turns[i].0);
            prop_assert_eq!(marks.corners.len(), placed.exterior().vertices().len());
            for vertex in placed.exterior().vertices() {
                prop_assert!(marks.corners.iter().any(|corner| near(&corner.mark, vertex.point)));
            }
            for side in placed.exterior().segments() {
                if let Segment::Arc { arc, .. } = side {
                    prop_assert!(marks.arcs.iter().any(|found| near(&found.mark, arc.center)));
                }
            }
            let center = positions[i].apply(Point::new(3.0, 1.0));
            let holes = table.holes.iter().flat_map(|group| &group.centres);
            prop_assert!(holes.clone().any(|hole| hole.part == i && near(&hole.mark, center)));
        }
        for axis in 0..2 {
            let running = &table.running[axis];
            prop_assert!(running.windows(2).all(|pair| pair[0].distance.rounded < pair[1].distance.rounded));
            let marked: usize = running.iter().map(|mark| mark.marks.len()).sum();
            let corners: usize = table.parts.iter().map(|marks| marks.corners.len()).sum();
            let arcs: usize =
                table.parts.iter().map(|marks| marks.arcs.iter().filter(|arc| arc.is_on_stock).count()).sum();
            prop_assert_eq!(marked, corners + arcs + 2);
        }
    }
}

/// A part by itself is measured from the corner of the box around it where an edge lies there, so that every paper has one
/// zero; where none does, from its longest edge.
#[test]
fn a_part_is_measured_from_its_own_frame() {
    let datum = |points: &[(f64, f64)]| {
        let corners: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        Datum::of_part(&Shape::new(Outline::polygon(corners), Vec::new()))
    };
    // The longest edge slopes; the lower one lies on the box, the left side is a corner only.
    let sloped = datum(&[(10.0, 0.0), (50.0, 0.0), (80.0, 60.0), (0.0, 30.0)]);
    assert_eq!((sloped.corner, sloped.along), (Point::ORIGIN, Vector::new(1.0, 0.0)));
    assert_eq!((sloped.first, sloped.second), (DatumLine::Edge { length: 40.0 }, DatumLine::Bar));
    assert!(sloped.statement(|mm| format!("{mm} mm")).contains("a straight bar laid against the piece at the left"));
    // Only the left side is an edge.
    let left = datum(&[(0.0, 10.0), (40.0, 0.0), (70.0, 45.0), (0.0, 60.0)]);
    assert_eq!(
        (left.corner, left.first, left.second),
        (Point::ORIGIN, DatumLine::Bar, DatumLine::Edge { length: 50.0 })
    );
    assert!(left.statement(|mm| format!("{mm} mm")).starts_with("Datum: the straight edge of 50 mm at the left"));
    // A square on its corner lies on neither side of its box.
    let askew = [(0.0, 30.0), (30.0, 0.0), (60.0, 30.0), (30.0, 60.0)];
    assert_eq!(
        datum(&askew),
        Datum::of(&Shape::new(Outline::polygon(askew.map(|(x, y)| Point::new(x, y))), Vec::new()))
    );
}
