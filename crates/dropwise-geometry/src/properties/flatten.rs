use proptest::prelude::*;

use crate::{
    Outline, Point, Polygon, Segment, Shape, Side, Vertex,
    generators::{self, boundary_samples, distance_to_boundary, distance_to_side},
};

/// What coordinates of some tens of millimetres may lose to rounding.
const ROUNDING: f64 = 1e-9;

/// Points of the true boundary, arcs included.
fn true_boundary(shape: &Shape) -> Vec<Point> {
    let segments = shape.rings().flat_map(Outline::segments);
    segments.flat_map(|segment| (0..40).map(move |i| segment.at(f64::from(i) / 40.0))).collect()
}

/// Distance from a point to the true boundary: off the circle where the point's direction is within the arc's sweep,
/// from the nearer end elsewhere.
fn distance_to_truth(point: Point, shape: &Shape) -> f64 {
    let to_segment = |segment: Segment| match segment {
        Segment::Line { start, end } => distance_to_side(point, (start, end)),
        Segment::Arc { start, end, arc } if !arc.covers_angle((point - arc.center).angle()) => {
            point.distance(start).min(point.distance(end))
        }
        Segment::Arc { arc, .. } => (point.distance(arc.center) - arc.radius).abs(),
    };
    shape.rings().flat_map(Outline::segments).map(to_segment).fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn no_metal_is_lost_or_invented(
        shape in generators::shape(),
        tolerance in prop::sample::select(vec![1e-4, 0.01, 0.1, 1.0, 100.0]),
    ) {
        let around = shape.flatten(tolerance, Side::Grow);
        let within = shape.flatten(tolerance, Side::Shrink);
        for point in true_boundary(&shape) {
            prop_assert!(around.contains(point) || distance_to_boundary(point, &around) < ROUNDING, "lost at {point:?}");
            prop_assert!(!within.contains(point) || distance_to_boundary(point, &within) < ROUNDING, "kept at {point:?}");
        }
        for (flat, covers) in [(&around, true), (&within, false)] {
            for point in boundary_samples(flat, 5) {
                let off = distance_to_truth(point, &shape);
                prop_assert!(off <= tolerance + ROUNDING, "too far off at {point:?}");
                prop_assert!(shape.contains(point) != covers || off < ROUNDING, "on the wrong side at {point:?}");
            }
        }
        let perimeter = shape.perimeter();
        prop_assert!(around.area() >= shape.area() - ROUNDING * perimeter);
        prop_assert!(within.area() <= shape.area() + ROUNDING * perimeter);
        // Twice, since a coarse tangent polygon is longer than its arc by up to 4/π.
        prop_assert!(around.area() - within.area() <= 4.0 * tolerance * perimeter + ROUNDING * perimeter);
    }

    /// Exact, one arc at a time: every point of every edge lies between the circle and the circle a tolerance away.
    #[test]
    fn edges_keep_to_their_side_of_the_arc(
        bulge in generators::bulge(),
        chord in 0.01..2000.0_f64,
        angle in 0.0..360.0_f64,
        tolerance in prop::sample::select(vec![1e-3, 0.01, 0.1, 1.0, 100.0]),
    ) {
        let by = crate::Isometry::new(false, angle, 300.0, -200.0);
        let (start, end) = (by.apply(Point::ORIGIN), by.apply(Point::new(chord, 0.0)));
        // The third corner keeps the ring from being a lens; only the arc's edges are looked at.
        let third = by.apply(Point::new(chord / 2.0, chord * 10.0));
        let outline = Outline::new(vec![Vertex::arc(start, bulge), Vertex::line(end), Vertex::line(third)]);
        let Some(Segment::Arc { arc, .. }) = outline.segments().next() else { return Ok(()) };
        for side in [Side::Grow, Side::Shrink] {
            let flat = outline.flatten(tolerance, side);
            let chain = &flat[..flat.len() - 1];
            prop_assert_eq!((chain[0], chain[chain.len() - 1]), (start, end), "the ends stay joined");
            let is_outside = (bulge > 0.0) == (side == Side::Grow);
            let rounding = 1e-10 * (1.0 + arc.radius);
            for pair in chain.windows(2) {
                for i in 0..=10 {
                    let out = arc.center.distance(pair[0].lerp(pair[1], f64::from(i) / 10.0)) - arc.radius;
                    let out = if is_outside { out } else { -out };
                    prop_assert!(out >= -rounding && out <= tolerance + rounding, "{out} {side:?}");
                }
            }
        }
    }

    #[test]
    fn moving_a_shape_moves_its_polygon(shape in generators::shape(), by in generators::isometry()) {
        for side in [Side::Grow, Side::Shrink] {
            let moved: Polygon = shape.transformed(by).flatten(0.05, side);
            let expected = shape.flatten(0.05, side).transformed(by);
            prop_assert!((moved.area() - expected.area()).abs() < 1e-7 * (1.0 + shape.area()));
            for point in boundary_samples(&moved, 1) {
                prop_assert!(distance_to_boundary(point, &expected) < 1e-8);
            }
        }
    }
}
