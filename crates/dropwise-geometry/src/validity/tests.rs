use std::f64::consts::PI;

use geo::Validation;
use proptest::prelude::*;

use super::Fault;
use crate::{Isometry, Outline, Point, Segment, Shape, Vertex};

fn polygon(points: &[(f64, f64)]) -> Outline {
    Outline::polygon(points.iter().map(|&(x, y)| Point::new(x, y)))
}

fn plain(ring: Outline) -> Shape {
    Shape::new(ring, Vec::new())
}

fn square(x: f64, y: f64, side: f64) -> Outline {
    Outline::rectangle(Point::new(x, y), side, side)
}

fn plate_with(holes: Vec<Outline>) -> Vec<Fault> {
    Shape::new(square(0.0, 0.0, 100.0), holes).faults()
}

fn near(a: Point, x: f64, y: f64) -> bool {
    a.distance(Point::new(x, y)) < 1e-6
}

#[test]
fn sound_shapes_have_no_faults() {
    let slot = Outline::new(vec![
        Vertex::line(Point::new(0.0, 0.0)),
        Vertex::arc(Point::new(30.0, 0.0), 1.0),
        Vertex::line(Point::new(30.0, 10.0)),
        Vertex::arc(Point::new(0.0, 10.0), 1.0),
    ]);
    // A quarter round at each corner, tangent to both of its neighbours: (1 - cos 45°) / sin 45° is the bulge.
    let bulge = (PI / 8.0).tan();
    let rounded = Outline::new(
        [(5., 0.), (95., 0.), (100., 5.), (100., 95.), (95., 100.), (5., 100.), (0., 95.), (0., 5.)]
            .iter()
            .enumerate()
            .map(|(i, &(x, y))| Vertex::arc(Point::new(x, y), if i % 2 == 1 { bulge } else { 0.0 }))
            .collect(),
    );
    let cases = [
        plain(square(0.0, 0.0, 10.0)),
        plain(Outline::circle(Point::new(3.0, 4.0), 5.0)),
        plain(slot.clone()),
        plain(slot.reversed()),
        Shape::new(rounded, vec![Outline::circle(Point::new(50.0, 50.0), 20.0), square(10.0, 10.0, 5.0)]),
        // Touching in points is no fault: a hole's corner on the exterior, holes corner to corner, a circle tangent.
        Shape::new(square(0.0, 0.0, 100.0), vec![polygon(&[(0., 50.), (10., 40.), (10., 60.)])]),
        Shape::new(square(0.0, 0.0, 100.0), vec![square(10.0, 10.0, 10.0), square(20.0, 20.0, 10.0)]),
        Shape::new(square(0.0, 0.0, 100.0), vec![Outline::circle(Point::new(50.0, 20.0), 20.0)]),
        Shape::new(
            square(0.0, 0.0, 100.0),
            vec![Outline::circle(Point::new(30.0, 50.0), 20.0), Outline::circle(Point::new(70.0, 50.0), 20.0)],
        ),
        // Two triangles that meet in one point.
        plain(polygon(&[(0., 0.), (1., 1.), (2., 0.), (2., 2.), (1., 1.), (0., 2.)])),
    ];
    for (index, shape) in cases.iter().enumerate() {
        for turn in [0.0, 30.0, 90.0, 211.7] {
            for is_mirrored in [false, true] {
                let moved = shape.transformed(Isometry::new(is_mirrored, turn, 1234.5, -77.7));
                assert_eq!(moved.faults(), [], "case {index} turned by {turn}");
            }
        }
    }
}

#[test]
fn numbers_that_are_none() {
    let bad = plain(polygon(&[(0., 0.), (f64::NAN, 0.), (1., f64::INFINITY)]));
    assert_eq!(bad.faults(), [Fault::NotFinite { ring: 0, vertex: 1 }, Fault::NotFinite { ring: 0, vertex: 2 }]);
    let bulge = Outline::new(vec![
        Vertex::line(Point::new(10.0, 10.0)),
        Vertex::line(Point::new(20.0, 10.0)),
        Vertex::arc(Point::new(20.0, 20.0), f64::NAN),
    ]);
    assert!(matches!(plate_with(vec![bulge])[..], [Fault::NotFinite { ring: 1, .. }]));
}

#[test]
fn too_little_of_a_ring() {
    assert_eq!(plain(Outline::new(Vec::new())).faults(), [Fault::TooFewVertices { ring: 0, count: 0 }]);
    assert_eq!(plate_with(vec![polygon(&[(5., 5.), (6., 6.)])])[0], Fault::TooFewVertices { ring: 1, count: 2 });
    let there_and_back = plain(polygon(&[(0., 0.), (10., 0.), (5., 0.)])).faults();
    assert!(there_and_back.contains(&Fault::ZeroArea { ring: 0, at: Point::ORIGIN }), "{there_and_back:?}");
    let repeated = plain(polygon(&[(0., 0.), (10., 0.), (10., 0.), (10., 10.)])).faults();
    assert_eq!(repeated, [Fault::ZeroLengthSide { ring: 0, vertex: 1, at: Point::new(10.0, 0.0) }]);
    let all_one_point = plain(polygon(&[(5., 5.), (5., 5.), (5., 5.)])).faults();
    assert_eq!(all_one_point.len(), 4, "three sides and the area: {all_one_point:?}");
}

#[test]
fn rings_that_cross_themselves() {
    let bow = plain(polygon(&[(0., 0.), (10., 10.), (10., 0.), (0., 10.)])).faults();
    assert!(
        matches!(bow[..], [Fault::ZeroArea { .. }, Fault::SelfCrossing { ring: 0, side: 0, other_side: 2, at }]
            if near(at, 5.0, 5.0)),
        "{bow:?}"
    );
    let through_a_corner = plain(polygon(&[(0., 0.), (5., 5.), (10., 10.), (10., 0.), (5., 5.), (0., 12.)])).faults();
    assert!(
        matches!(through_a_corner[..], [Fault::SelfCrossing { at, .. }] if near(at, 5.0, 5.0)),
        "{through_a_corner:?}"
    );
    let corner_on_side = plain(polygon(&[(0., 0.), (10., 0.), (10., 10.), (5., 0.), (3., -5.), (0., 10.)])).faults();
    assert!(
        corner_on_side.iter().any(|f| matches!(f, Fault::SelfCrossing { at, .. } if near(*at, 5.0, 0.0))),
        "{corner_on_side:?}"
    );
    // The arc over the right side sweeps back over the left one.
    let arc = plain(Outline::new(vec![
        Vertex::line(Point::new(0.0, 0.0)),
        Vertex::arc(Point::new(10.0, 0.0), -1.5),
        Vertex::line(Point::new(10.0, 20.0)),
        Vertex::line(Point::new(0.0, 20.0)),
    ]))
    .faults();
    // Chord 20, bulge 1.5: r = 20 (1 + 2.25) / 6 = 65/6, centre 25/6 left of the chord, at x = 35/6. On x = 0 the circle
    // has y = 10 ± sqrt(65² - 35²) / 6 = 10 ± 9.1287.
    // On y = 0 and y = 20 it meets x = 10, where it starts and ends, and x = 35/6 - 25/6 = 5/3.
    let height = 3000f64.sqrt() / 6.0;
    let crossings = arc.iter().map(|f| match f {
        Fault::SelfCrossing { at, .. } => *at,
        other => panic!("{other:?}"),
    });
    let (left, others): (Vec<Point>, Vec<Point>) = crossings.partition(|at| at.x.abs() < 1e-9);
    assert!(others.len() == 2 && others.iter().all(|at| (at.x - 5.0 / 3.0).abs() < 1e-9), "{others:?}");
    let mut at: Vec<f64> = left.iter().map(|at| at.y).collect();
    at.sort_by(f64::total_cmp);
    assert!(at.len() == 2 && (at[0] - 10.0 + height).abs() < 1e-9 && (at[1] - 10.0 - height).abs() < 1e-9);
}

#[test]
fn sides_drawn_twice() {
    let spike = plain(polygon(&[(0., 0.), (10., 0.), (10., 10.), (10., 15.), (10., 10.), (0., 10.)])).faults();
    assert!(
        matches!(spike[..], [Fault::RepeatedSide { ring: 0, side: 2, other_ring: 0, other_side: 3, at }]
            if near(at, 10.0, 12.5)),
        "{spike:?}"
    );
    let slit = plate_with(vec![polygon(&[(0., 20.), (10., 20.), (10., 30.), (0., 30.)])]);
    assert!(
        matches!(slit[..], [Fault::RepeatedSide { ring: 0, other_ring: 1, at, .. }] if near(at, 0.0, 25.0)),
        "a hole sharing an edge: {slit:?}"
    );
    let circle = || Outline::circle(Point::new(50.0, 50.0), 10.0);
    let twice = plate_with(vec![circle(), circle()]);
    assert_eq!(twice.len(), 2, "both half circles: {twice:?}");
    assert!(twice.iter().all(|f| matches!(f, Fault::RepeatedSide { ring: 1, other_ring: 2, .. })));
}

#[test]
fn holes_out_of_place() {
    let outside = plate_with(vec![square(150.0, 10.0, 5.0)]);
    assert!(matches!(outside[..], [Fault::HoleOutside { ring: 1, .. }]), "{outside:?}");
    let around = plate_with(vec![square(-10.0, -10.0, 150.0)]);
    assert!(matches!(around[..], [Fault::HoleOutside { ring: 1, .. }]), "{around:?}");
    let across = plate_with(vec![square(95.0, 10.0, 10.0)]);
    assert!(
        matches!(across[..], [Fault::RingsCross { ring: 0, side: 1, other_ring: 1, .. }, Fault::RingsCross { .. }]),
        "{across:?}"
    );
    let holes = plate_with(vec![square(10.0, 10.0, 20.0), Outline::circle(Point::new(30.0, 20.0), 5.0)]);
    assert!(holes.iter().all(|f| matches!(f, Fault::RingsCross { ring: 1, other_ring: 2, .. })) && holes.len() == 2);
    let nested = plate_with(vec![square(15.0, 15.0, 5.0), square(10.0, 10.0, 20.0)]);
    assert!(matches!(nested[..], [Fault::NestedHoles { inner: 1, outer: 2, .. }]), "{nested:?}");
    let touching_nested = plate_with(vec![square(10.0, 10.0, 20.0), polygon(&[(10., 20.), (15., 15.), (15., 25.)])]);
    assert!(matches!(touching_nested[..], [Fault::NestedHoles { inner: 2, outer: 1, .. }]), "{touching_nested:?}");
    for fault in [outside, across, nested].concat() {
        assert!(fault.to_string().contains("hole"), "{fault}");
    }
}

#[test]
fn thousands_of_sides_are_looked_at_and_a_scribble_is_cut_short() {
    let gear = |n: usize| {
        Outline::new(
            (0..n)
                .map(|i| {
                    let (radius, angle) = (if i % 2 == 0 { 100.0 } else { 99.0 }, 2.0 * PI * i as f64 / n as f64);
                    Vertex::arc(Point::new(radius * angle.cos(), radius * angle.sin()), 0.05)
                })
                .collect(),
        )
    };
    assert_eq!(plain(gear(5000)).faults(), []);
    // Every second point across the disc: each side crosses most of the others.
    let star = plain(polygon(
        &(0..4999)
            .map(|i| {
                let angle = 2.0 * PI * f64::from(i) * 2499.0 / 4999.0;
                (angle.cos(), angle.sin())
            })
            .collect::<Vec<_>>(),
    ));
    assert_eq!(star.faults().len(), Fault::MAX_MEETINGS_LISTED);
}

proptest! {
    /// The general library's own validity check is the referee. It refuses rings that touch themselves and knows no
    /// tolerance, so points are drawn in general position, where such things do not happen.
    #[test]
    fn random_rings_are_judged_as_by_an_independent_library(
        points in prop::collection::vec((0.0..100.0f64, 0.0..100.0f64), 3..9),
        hole in prop::option::of((0.0..100.0f64, 0.0..100.0f64, 1.0..30.0f64)),
    ) {
        let hole = hole.map(|(x, y, side)| square(x, y, side));
        let line = |ring: &Outline| {
            ring.vertices().iter().map(|v| geo::Coord { x: v.point.x, y: v.point.y }).collect::<geo::LineString>()
        };
        let exterior = polygon(&points);
        let referee = geo::Polygon::new(line(&exterior), hole.iter().map(line).collect());
        let shape = Shape::new(exterior, hole.into_iter().collect());
        prop_assert_eq!(shape.faults().is_empty(), referee.is_valid(), "{:?}", shape.faults());
    }

    /// Rings with arcs, the referee given 120 chords for each. Where a ring nearly touches itself flattening may decide
    /// otherwise than the arc, so cases in which a slightly different flattening changes the referee's mind are skipped.
    /// So are rings with a corner within 0.1 of another side, or one at which the ring turns back by all but 3 degrees:
    /// there both flattenings may err alike.
    /// Two arcs may also cross again so near to their common corner that no chord shows it; such a crossing must at
    /// least lie on both arcs, and nearer to that corner than two chords are long.
    #[test]
    fn random_rings_of_arcs_are_judged_as_by_an_independent_library(
        vertices in prop::collection::vec((0.0..100.0f64, 0.0..100.0f64, -1.5..1.5f64), 2..7),
    ) {
        const CHORDS: usize = 120;
        let ring = Outline::new(vertices.iter().map(|&(x, y, b)| Vertex::arc(Point::new(x, y), b)).collect());
        let referee = |chords: usize| {
            let points = ring.segments().flat_map(|s| (0..chords).map(move |i| s.at(i as f64 / chords as f64)));
            let line: geo::LineString = points.map(|p| geo::Coord { x: p.x, y: p.y }).collect();
            geo::Polygon::new(line, Vec::new()).is_valid()
        };
        let n = vertices.len();
        let is_near_miss = ring.segments().enumerate().any(|(side, segment)| {
            let others = (0..n).filter(|&v| v != side && v != (side + 1) % n);
            others.into_iter().any(|v| segment.distance_to_point(ring.vertices()[v].point) < 0.1)
        });
        let sides: Vec<Segment> = ring.segments().collect();
        let is_cusp = (0..n).any(|side| {
            let (a, b) = (sides[side], sides[(side + 1) % n]);
            let (back, on) = (a.at(0.999) - a.end(), b.at(0.001) - b.start());
            back.cross(on).atan2(back.dot(on)).abs() < 3f64.to_radians()
        });
        prop_assume!(!is_near_miss && !is_cusp);
        let is_valid = referee(CHORDS);
        prop_assume!(is_valid == referee(83));
        let shape = plain(ring);
        let faults = shape.faults();
        if !is_valid {
            prop_assert!(!faults.is_empty(), "the referee sees a fault");
            return Ok(());
        }
        let sides: Vec<Segment> = shape.exterior().segments().collect();
        for fault in faults {
            let Fault::SelfCrossing { side, other_side, at, .. } = fault else { panic!("{fault:?}") };
            let (a, b) = (sides[side], sides[other_side]);
            prop_assert!(a.distance_to_point(at) < 1e-9 && b.distance_to_point(at) < 1e-9, "{:?}", fault);
            let corner = if (side + 1) % sides.len() == other_side { a.end() } else { a.start() };
            let reach = 2.0 * a.length().max(b.length()) / CHORDS as f64;
            prop_assert!((1e-6..reach).contains(&at.distance(corner)), "{:?}, the referee sees no fault", fault);
        }
    }
}
