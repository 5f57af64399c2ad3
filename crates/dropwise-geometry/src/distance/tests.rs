use std::f64::consts::PI;

use proptest::prelude::*;

use super::Region;
use crate::{Isometry, Outline, Point, Segment, Shape, Vertex};

fn point() -> impl Strategy<Value = Point> {
    (-10.0..10.0f64, -10.0..10.0f64).prop_map(|(x, y)| Point::new(x, y))
}

fn segment() -> impl Strategy<Value = Segment> {
    // All but straight ones too: their circles are as large as kilometres.
    let flat = (-8.9..-2.0f64, any::<bool>()).prop_map(|(e, left)| 10f64.powf(e) * if left { 1.0 } else { -1.0 });
    let bulge = prop_oneof![Just(0.0), -1.0..1.0f64, -5.0..5.0f64, flat];
    (point(), point(), bulge).prop_map(|(a, b, bulge)| Segment::new(a, b, bulge))
}

/// A ring around its centre: star-shaped with arcs flat enough not to cross their neighbours' sectors.
fn star(size: f64) -> impl Strategy<Value = Outline> {
    (prop::collection::vec((0.4..1.0f64, -0.2..0.2f64), 3..12), 0.0..360.0f64, -20.0..20.0f64, -20.0..20.0f64).prop_map(
        move |(spokes, turn, x, y)| {
            let n = spokes.len() as f64;
            let vertices = spokes.iter().enumerate().map(|(i, &(radius, bulge))| {
                let angle = 2.0 * PI * i as f64 / n;
                // Few corners make long chords; an arc over one must not bulge past its neighbour.
                let bulge = if n < 5.0 { bulge.max(0.0) } else { bulge * 0.3 };
                Vertex::arc(Point::new(radius * size * angle.cos(), radius * size * angle.sin()), bulge)
            });
            Outline::new(vertices.collect()).transformed(Isometry::new(false, turn, x, y))
        },
    )
}

fn square(x: f64, y: f64, side: f64) -> Outline {
    Outline::rectangle(Point::new(x, y), side, side)
}

proptest! {
    #[test]
    fn segment_distance_agrees_with_dense_sampling(a in segment(), b in segment()) {
        const STEPS: usize = 400;
        let exact = a.distance(&b);
        prop_assert!((exact - b.distance(&a)).abs() < 1e-9);
        let sampled = (0..=STEPS).map(|i| b.distance_to_point(a.at(i as f64 / STEPS as f64))).fold(f64::MAX, f64::min);
        prop_assert!(exact <= sampled + 1e-9, "a sample is nearer: {sampled} < {exact}");
        prop_assert!(sampled <= exact + a.length() / STEPS as f64, "no sample comes near {exact}: {sampled}");
    }

    #[test]
    fn point_distance_agrees_with_dense_sampling(p in point(), s in segment()) {
        const STEPS: usize = 1000;
        let exact = s.distance_to_point(p);
        let sampled = (0..=STEPS).map(|i| p.distance(s.at(i as f64 / STEPS as f64))).fold(f64::MAX, f64::min);
        prop_assert!(exact <= sampled + 1e-9);
        prop_assert!(sampled <= exact + s.length() / STEPS as f64);
    }

    #[test]
    fn ring_distance_is_the_least_over_all_pairs(a in star(9.0), b in star(12.0)) {
        let slow = a.segments()
            .flat_map(|s| b.segments().map(move |t| s.distance(&t)))
            .fold(f64::INFINITY, f64::min);
        prop_assert!((a.distance(&b) - slow).abs() < 1e-12, "{} and {}", a.distance(&b), slow);
    }

    #[test]
    fn a_region_holds_the_points_that_its_shape_holds(
        ring in star(20.0),
        holes in prop::collection::vec((-8.0..8.0f64, -8.0..8.0f64), 0..3),
        points in prop::collection::vec(point(), 50),
    ) {
        let center = ring.bounds().center();
        let holes = holes.iter().map(|&(x, y)| Outline::circle(Point::new(center.x + x, center.y + y), 1.0));
        let shape = Shape::new(ring, holes.collect());
        // Holes that cross would be counted twice.
        prop_assume!(shape.faults().is_empty());
        let (region, outside) = (Region::of_shape(&shape), Region::outside(shape.exterior()));
        for p in points {
            let p = Point::new(center.x + 2.0 * p.x, center.y + 2.0 * p.y);
            prop_assert_eq!(region.contains(p), shape.contains(p));
            prop_assert_eq!(outside.contains(p), !shape.exterior().contains(p));
        }
    }

    #[test]
    fn overlap_does_not_depend_on_order_or_motion(a in star(9.0), b in star(12.0), turn in 0.0..360.0f64, flip: bool) {
        let found = |a: &Outline, b: &Outline| Region::inside(a).overlap(&Region::inside(b), 1e-6).is_some();
        let by = Isometry::new(flip, turn, 3.0, -4.0);
        let expected = found(&a, &b);
        prop_assert_eq!(expected, found(&b, &a));
        prop_assert_eq!(expected, found(&a.transformed(by), &b.transformed(by)));
        prop_assert_eq!(expected, found(&a.reversed(), &b));
    }

    #[test]
    fn rings_overlap_exactly_when_some_grid_point_lies_in_both(a in star(9.0), b in star(12.0)) {
        let overlap = Region::inside(&a).overlap(&Region::inside(&b), 1e-6);
        let bounds = a.bounds();
        let deepest_on_grid = (0..40 * 40)
            .map(|i| Point::new(
                bounds.min.x + bounds.width() * f64::from(i % 40) / 40.0,
                bounds.min.y + bounds.height() * f64::from(i / 40) / 40.0,
            ))
            .filter(|p| a.contains(*p) && b.contains(*p))
            .count();
        if deepest_on_grid > 0 {
            prop_assert!(overlap.is_some());
        }
        if let Some(found) = overlap {
            // The witness speaks for itself.
            let (ra, rb) = (Region::inside(&a), Region::inside(&b));
            let depth = ra.boundary().distance_to_point(found.at).max(rb.boundary().distance_to_point(found.at));
            prop_assert!(depth > 1e-6);
            let near = |r: &Region| r.contains(found.at) || r.boundary().distance_to_point(found.at) < 1e-9;
            prop_assert!(near(&ra) && near(&rb));
        }
    }

    #[test]
    fn a_shape_touches_its_mirror_image_across_a_side(corners in prop::collection::vec((0.0..1.0f64, 0.1..5.0f64), 1..8),
                                                      turn in 0.0..360.0f64) {
        // A ridge over the x axis and its reflection share the whole base and nothing else.
        let mut xs: Vec<f64> = corners.iter().map(|c| c.0).collect();
        xs.sort_by(f64::total_cmp);
        let mut ring = vec![Point::new(0.0, 0.0), Point::new(1.0, 0.0)];
        ring.extend(xs.iter().zip(&corners).rev().map(|(x, c)| Point::new(*x, c.1)));
        let by = Isometry::new(false, turn, 7.0, 11.0);
        let up = Outline::polygon(ring.iter().map(|p| by.apply(*p)));
        let down = Outline::polygon(ring.iter().map(|p| by.apply(Point::new(p.x, -p.y))));
        prop_assert_eq!(Region::inside(&up).overlap(&Region::inside(&down), 1e-7), None);
        prop_assert!(!up.crosses(&down, 1e-7));
        // The same, pushed into each other by three tolerances.
        let pushed = up.transformed(Isometry::translation(
            3e-7 * turn.to_radians().sin(),
            -3e-7 * turn.to_radians().cos(),
        ));
        prop_assert!(Region::inside(&pushed).overlap(&Region::inside(&down), 1e-7).is_some());
    }
}

#[test]
fn distances_worked_by_hand() {
    let line = |x1, y1, x2, y2| Segment::new(Point::new(x1, y1), Point::new(x2, y2), 0.0);
    // 3-4-5 triangle from the corner (3, 4) to the origin.
    assert_eq!(line(-1.0, 0.0, 0.0, 0.0).distance(&line(3.0, 4.0, 9.0, 9.0)), 5.0);
    // Unit upper half circle about the origin: 1 to a line at y = 2, and a line through its chord only is 0.
    let half = Segment::new(Point::new(1.0, 0.0), Point::new(-1.0, 0.0), 1.0);
    assert!((half.distance(&line(-5.0, 2.0, 5.0, 2.0)) - 1.0).abs() < 1e-15);
    assert!(half.distance(&line(-5.0, 0.0, 5.0, 0.0)) < 1e-15);
    // A short line inside the circle: nearest at its upper end, 1 - 0.5.
    assert!((half.distance(&line(0.0, 0.1, 0.0, 0.5)) - 0.5).abs() < 1e-15);
    // Two circles of radius 1 and 2 whose centres lie 10 apart, and one in the other with centres 0.25 apart.
    let (a, b) = (Outline::circle(Point::ORIGIN, 1.0), Outline::circle(Point::new(6.0, 8.0), 2.0));
    assert!((a.distance(&b) - 7.0).abs() < 1e-12);
    assert!((a.distance(&Outline::circle(Point::new(0.25, 0.0), 2.0)) - 0.75).abs() < 1e-12);
    assert!((a.distance(&Outline::circle(Point::ORIGIN, 4.0)) - 3.0).abs() < 1e-12, "concentric");
    assert_eq!(Outline::new(Vec::new()).distance(&a), f64::INFINITY);
}

#[test]
fn a_shape_in_a_hole_is_as_far_from_it_as_from_the_ring() {
    let ring = Shape::new(Outline::circle(Point::ORIGIN, 10.0), vec![Outline::circle(Point::ORIGIN, 6.0)]);
    let pin = Shape::new(Outline::circle(Point::new(1.0, 0.0), 2.0), Vec::new());
    assert!((ring.boundary_distance(&pin) - 3.0).abs() < 1e-12);
    assert_eq!(Region::of_shape(&ring).overlap(&Region::of_shape(&pin), 1e-6), None);
}

/// Each pair touches; none may count as overlap. The last figure moves the second towards the first to make one.
#[test]
fn touching_is_not_overlap_and_a_push_makes_it_one() {
    let tooth = [(0., 0.), (4., 0.), (4., 2.), (3., 2.), (3., 1.), (2., 1.), (2., 2.), (0., 2.)];
    let mate = [(2., 1.), (3., 1.), (3., 2.), (4., 2.), (4., 3.), (0., 3.), (0., 2.), (2., 2.)];
    let polygon = |points: &[(f64, f64)]| Outline::polygon(points.iter().map(|&(x, y)| Point::new(x, y)));
    let scoop = Outline::new(vec![
        Vertex::arc(Point::new(-1.0, 0.0), 1.0),
        Vertex::line(Point::new(1.0, 0.0)),
        Vertex::line(Point::new(3.0, 0.0)),
        Vertex::line(Point::new(3.0, -3.0)),
        Vertex::line(Point::new(-3.0, -3.0)),
        Vertex::line(Point::new(-3.0, 0.0)),
    ]);
    let cases = [
        ("shared side", square(0., 0., 2.), square(2., 0., 2.), (-1.0, 0.0)),
        ("part of a side", square(0., 0., 2.), square(2., 1., 7.), (-1.0, 0.0)),
        ("corner to corner", square(0., 0., 2.), square(2., 2., 2.), (-1.0, -1.0)),
        ("corner on side", square(0., 0., 2.), polygon(&[(2., 1.), (4., 0.), (4., 2.)]), (-1.0, 0.0)),
        ("circle on side", square(0., 0., 2.), Outline::circle(Point::new(3., 1.), 1.), (-1.0, 0.0)),
        ("circle on circle", Outline::circle(Point::ORIGIN, 2.), Outline::circle(Point::new(3., 4.), 3.), (-0.6, -0.8)),
        ("jigsaw", polygon(&tooth), polygon(&mate), (0.0, -1.0)),
        ("disc in a scoop of its own radius", scoop, Outline::circle(Point::ORIGIN, 1.), (0.0, -1.0)),
    ];
    const TOLERANCE: f64 = 1e-6;
    for (name, a, b, (dx, dy)) in cases {
        for turn in [0.0, 90.0, 37.0] {
            let by = Isometry::new(false, turn, 5.0, -3.0);
            let push = |by_mm: f64| {
                let b = b.transformed(Isometry::translation(dx * by_mm, dy * by_mm)).transformed(by);
                Region::inside(&a.transformed(by)).overlap(&Region::inside(&b), TOLERANCE)
            };
            assert_eq!(push(0.0), None, "{name}, turned {turn}");
            assert_eq!(push(0.5 * TOLERANCE), None, "{name}, turned {turn}");
            // A corner pushed in lies deeper than it was pushed for no side; sides at a slope less deep.
            assert!(push(4.0 * TOLERANCE).is_some(), "{name}, turned {turn}");
            assert!(push(0.5).is_some_and(|o| o.depth > 0.01), "{name}, turned {turn}");
        }
    }
}

#[test]
fn sides_all_but_straight_touch_like_straight_ones() {
    let bent = |x: f64, bulge: f64| {
        Outline::new(square(x, 0.0, 1000.0).vertices().iter().map(|v| Vertex::arc(v.point, bulge)).collect())
    };
    for bulge in [2e-9, 1e-8, 1e-7, 1e-6] {
        for turn in [0.0, 12.3] {
            let by = Isometry::new(false, turn, 300.0, 200.0);
            // The sagitta is half the chord times the bulge: sides bulge out by at most 0.0005, twice that together.
            let (a, b) = (bent(0.0, bulge).transformed(by), bent(1000.0 + 1000.0 * bulge, bulge).transformed(by));
            assert!(a.distance(&b) < 1e-9, "bulge {bulge}: {}", a.distance(&b));
            assert_eq!(Region::inside(&a).overlap(&Region::inside(&b), 1e-6), None, "bulge {bulge}");
            let pushed = bent(999.9 + 1000.0 * bulge, bulge).transformed(by);
            let found = Region::inside(&a).overlap(&Region::inside(&pushed), 1e-6).map(|o| o.depth);
            assert!(found.is_some_and(|depth| depth > 0.099), "bulge {bulge}: {found:?}");
            assert_eq!(Shape::new(a, Vec::new()).faults(), [], "bulge {bulge}");
        }
    }
}

#[test]
fn overlaps_without_a_vertex_inside_are_found() {
    let across = Outline::rectangle(Point::new(-5.0, -1.0), 10.0, 2.0);
    let upright = Outline::rectangle(Point::new(-1.0, -5.0), 2.0, 10.0);
    assert!(Region::inside(&across).overlap(&Region::inside(&upright), 1e-6).is_some(), "a cross");
    assert!(across.crosses(&upright, 1e-6));
    let same = Region::inside(&across).overlap(&Region::inside(&across), 1e-6);
    assert!(same.is_some_and(|o| o.depth > 0.4), "exactly on top: {same:?}");
    assert!(!across.crosses(&across, 1e-6));
    let disc = Outline::circle(Point::ORIGIN, 2.0);
    assert!(Region::inside(&disc).overlap(&Region::inside(&disc), 1e-6).is_some(), "discs on top of each other");
    let bulging = Outline::new(vec![
        Vertex::line(Point::new(0.0, 0.0)),
        Vertex::arc(Point::new(4.0, 0.0), 0.2),
        Vertex::line(Point::new(4.0, 4.0)),
        Vertex::line(Point::new(0.0, 4.0)),
    ]);
    let bulge = Region::inside(&bulging).overlap(&Region::inside(&square(4.0, 0.0, 4.0)), 1e-6);
    // Sagitta of the arc: half the chord times the bulge, 2 x 0.2.
    assert!(bulge.is_some_and(|o| (o.depth - 0.4).abs() < 1e-9), "an arc through a line: {bulge:?}");
    let plate = square(-10.0, -10.0, 20.0);
    assert!(Region::inside(&plate).overlap(&Region::inside(&disc), 1e-6).is_some(), "wholly inside");
    assert!(!plate.crosses(&disc, 1e-6));
}

#[test]
fn rings_of_sides_shorter_than_the_tolerance_are_found_on_top_of_each_other() {
    let many = |n: u32| {
        let angle = |i: u32| f64::from(i) * 2.0 * PI / f64::from(n);
        Region::inside(&Outline::polygon((0..n).map(|i| Point::new(angle(i).cos(), angle(i).sin()))))
    };
    for tolerance in [1e-3, 1e-4] {
        assert!(many(1000).overlap(&many(1000), tolerance).is_some(), "sides of 0.006, tolerance {tolerance}");
        assert!(many(1000).overlap(&many(999), tolerance).is_some(), "sides of 0.006, tolerance {tolerance}");
    }
}

#[test]
fn two_pieces_joined_at_a_corner_are_not_hidden_by_their_free_halves() {
    let bow = |x: f64| {
        Outline::polygon(
            [(0., 0.), (1., 1.), (2., 0.), (2., 2.), (1., 1.), (0., 2.)].map(|(dx, dy)| Point::new(x + dx, dy)),
        )
    };
    assert!(Region::inside(&bow(0.0)).overlap(&Region::inside(&bow(0.0)), 1e-7).is_some());
}

#[test]
fn outside_of_a_ring_is_a_region_too() {
    let sheet = square(0.0, 0.0, 10.0);
    let outside = Region::outside(&sheet);
    assert!(outside.contains(Point::new(-1.0, 5.0)) && !outside.contains(Point::new(5.0, 5.0)));
    let overlap = |ring: &Outline| Region::inside(ring).overlap(&outside, 1e-6);
    assert_eq!(overlap(&sheet), None, "a part as large as the sheet");
    assert_eq!(overlap(&square(0.0, 4.0, 2.0)), None);
    assert!(overlap(&square(-0.1, 4.0, 2.0)).is_some_and(|o| (o.depth - 0.1).abs() < 1e-9));
    assert!(overlap(&square(20.0, 4.0, 2.0)).is_some());
    assert!(overlap(&square(-1.0, -1.0, 12.0)).is_some(), "around the whole sheet");
    // The mouth of a bay is closed by a part whose other sides all lie on the sheet's edge.
    let bay = Outline::polygon(
        [(0., 0.), (10., 0.), (10., 10.), (6., 10.), (6., 6.), (4., 6.), (4., 10.), (0., 10.)]
            .map(|(x, y)| Point::new(x, y)),
    );
    let plug = Outline::rectangle(Point::new(4.0, 6.0), 2.0, 4.0);
    assert!(Region::inside(&plug).overlap(&Region::outside(&bay), 1e-6).is_some());
}

#[test]
fn rings_of_two_hundred_sides_are_told_apart() {
    let gear = |x: f64| {
        Outline::new(
            (0..200)
                .map(|i| {
                    let (radius, angle) = (if i % 2 == 0 { 100.0 } else { 95.0 }, f64::from(i) * PI / 100.0);
                    Vertex::arc(Point::new(x + radius * angle.cos(), radius * angle.sin()), 0.2)
                })
                .collect(),
        )
    };
    let (a, b) = (super::Boundary::new([&gear(0.0)]), super::Boundary::new([&gear(205.0)]));
    assert!(a.distance(&b) > 4.0);
}
