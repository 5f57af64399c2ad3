use geo::{Area, Contains, ConvexHull};
use proptest::prelude::*;

use super::{area, perimeter};
use crate::{
    Isometry, Point, Polygon, convex_hull,
    generators::{self, distance_to_boundary},
    largest_circle, largest_rectangle,
    sure::{difference, union},
};

fn to_geo(polygon: &Polygon) -> geo::Polygon {
    let mut rings =
        polygon.rings().map(|ring| geo::LineString(ring.iter().map(|p| geo::Coord { x: p.x, y: p.y }).collect()));
    let exterior = rings.next().expect("a polygon has an exterior");
    geo::Polygon::new(exterior, rings.collect())
}

/// The largest rectangle of whole cells, by trying all: `free` says which cells are.
fn largest_by_trying_all(size: usize, free: &dyn Fn(usize, usize) -> bool) -> usize {
    let mut best = 0;
    for left in 0..size {
        for low in 0..size {
            let mut height = size - low;
            for right in left..size {
                let column = (low..low + height).take_while(|&y| free(right, y)).count();
                height = height.min(column);
                best = best.max(height * (right + 1 - left));
            }
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn the_rectangle_lies_in_the_polygon(polygon in generators::polygon(), angle in 0.0..180.0_f64) {
        let found = largest_rectangle(&polygon, &[angle, 0.0]).expect("it has an area");
        let rectangle = Polygon::new(found.corners().to_vec(), vec![]);
        prop_assert!(found.length >= found.width && (0.0..180.0).contains(&found.angle_deg));
        let outside = difference(std::slice::from_ref(&rectangle), std::slice::from_ref(&polygon));
        prop_assert!(area(&outside) < 1e-7 * perimeter(&[rectangle.clone(), polygon.clone()]));
        // It touches: no side can move out alone, so grown by a hair on any side it sticks out.
        prop_assert!(generators::boundary_samples(&rectangle, 20)
            .iter()
            .all(|&p| polygon.contains(p) || distance_to_boundary(p, &polygon) < 1e-9));
    }

    /// Unions of grid rectangles, where the true answer is found by trying all rectangles of cells.
    #[test]
    fn in_a_staircase_it_is_within_one_percent(
        rectangles in generators::grid_rectangles(12),
        by in generators::isometry(),
    ) {
        let polygons: Vec<Polygon> = rectangles
            .iter()
            .map(|&[x, y, right, top]| {
                let corners = [(x, y), (right, y), (right, top), (x, top)];
                Polygon::new(corners.map(|(x, y)| Point::new(f64::from(x), f64::from(y))).to_vec(), vec![])
            })
            .collect();
        // Of several pieces the largest; the others' cells are not free.
        let pieces = union(&polygons);
        let piece = pieces.iter().max_by(|a, b| a.area().total_cmp(&b.area())).expect("not empty");
        let free = |x: usize, y: usize| piece.contains(Point::new(x as f64 + 0.5, y as f64 + 0.5));
        let expected = largest_by_trying_all(12, &free) as f64;
        let found = largest_rectangle(&piece.transformed(by), &[by.rotation_deg]).expect("it has an area").area();
        prop_assert!(found <= expected + 1e-6 && found >= expected * 0.99 - 1e-6, "{found} of {expected}");
    }

    /// A raster of cells that lie in the polygon by geo's predicate is a lower bound for any polygon.
    #[test]
    fn no_raster_finds_a_better_one(polygon in generators::polygon()) {
        const CELLS: usize = 24;
        let (bounds, region) = (polygon.bounds(), to_geo(&polygon));
        let (dx, dy) = (bounds.width() / CELLS as f64, bounds.height() / CELLS as f64);
        let mut is_free = vec![false; CELLS * CELLS];
        for (i, is_free) in is_free.iter_mut().enumerate() {
            let (x, y) = (bounds.min.x + (i % CELLS) as f64 * dx, bounds.min.y + (i / CELLS) as f64 * dy);
            let cell = geo::Rect::new(geo::Coord { x, y }, geo::Coord { x: x + dx, y: y + dy }).to_polygon();
            *is_free = region.contains(&cell);
        }
        let raster = largest_by_trying_all(CELLS, &|x, y| is_free[y * CELLS + x]) as f64 * dx * dy;
        let found = largest_rectangle(&polygon, &[0.0]).expect("it has an area").area();
        prop_assert!(found * 1.01 >= raster, "{found}, by raster {raster}");
    }

    #[test]
    fn quarter_turns_and_mirrors_change_little(polygon in generators::polygon(), is_mirrored: bool, quarters in 0..4) {
        let by = Isometry::new(is_mirrored, f64::from(quarters) * 90.0, 5.0, -3.0);
        let still = largest_rectangle(&polygon, &[0.0]).expect("it has an area").area();
        let moved = largest_rectangle(&polygon.transformed(by), &[0.0]).expect("it has an area").area();
        prop_assert!(still <= moved * 1.0101 && moved <= still * 1.0101);
    }

    #[test]
    fn the_circle_is_the_largest_within_tolerance(
        polygon in generators::polygon(),
        tolerance in prop::sample::select(vec![0.001, 0.01, 0.1]),
        points in prop::collection::vec((-20.0..20.0_f64, -20.0..20.0_f64), 200),
    ) {
        let found = largest_circle(&polygon, tolerance).expect("it has an area");
        prop_assert!(polygon.contains(found.center));
        prop_assert!((distance_to_boundary(found.center, &polygon) - found.radius).abs() < 1e-12);
        for point in points.into_iter().map(|(x, y)| Point::new(x, y)).filter(|&point| polygon.contains(point)) {
            prop_assert!(distance_to_boundary(point, &polygon) <= found.radius + tolerance);
        }
        // Nothing is left when shrunk by more than the largest radius, and something by less.
        prop_assert!(crate::sure::offset(std::slice::from_ref(&polygon), -(found.radius + tolerance), 1e-4).is_empty());
        prop_assert!(!crate::sure::offset(&[polygon], -(found.radius - 2e-4), 1e-4).is_empty());
    }

    /// Incircle of a triangle: r = 2A / P. Euclid, Elements, book IV, proposition 4, gives its construction.
    #[test]
    fn in_a_triangle_it_is_the_incircle(corners in prop::array::uniform3((-50.0..50.0_f64, -50.0..50.0_f64))) {
        let triangle = Polygon::new(corners.map(|(x, y)| Point::new(x, y)).to_vec(), vec![]);
        let radius = 2.0 * triangle.area() / perimeter(std::slice::from_ref(&triangle));
        prop_assume!(radius > 0.1);
        let found = largest_circle(&triangle, 0.01).expect("it has an area").radius;
        prop_assert!(found <= radius + 1e-9 && found >= radius - 0.01);
    }

    #[test]
    fn the_hull_is_convex_holds_all_and_agrees_with_geo(
        points in prop::collection::vec((-9..9_i32, -9..9_i32), 0..40),
        turn in 0.0..90.0_f64,
    ) {
        let on_grid: Vec<Point> = points.iter().map(|&(x, y)| Point::new(f64::from(x), f64::from(y))).collect();
        let hull = convex_hull(&on_grid);
        let n = hull.len();
        for i in 0..n {
            let (a, b, c) = (hull[i], hull[(i + 1) % n], hull[(i + 2) % n]);
            prop_assert!(n < 3 || (b - a).cross(c - b) > 0.0);
            prop_assert!(n < 3 || on_grid.iter().all(|&p| (b - a).cross(p - a) >= 0.0));
            prop_assert!(on_grid.contains(&a));
        }
        // geo's hull may keep corners that lie on a side, so their number is no measure.
        let referee = geo::MultiPoint::new(on_grid.iter().map(|p| geo::Point::new(p.x, p.y)).collect()).convex_hull();
        if n >= 3 {
            let mut corners = hull.iter().map(|p| geo::Coord::from((p.x, p.y)));
            prop_assert!(corners.all(|corner| referee.exterior().0.contains(&corner)));
            prop_assert!((referee.unsigned_area() - Polygon::new(hull.clone(), vec![]).area()).abs() < 1e-9);
        }
        // Turned, points on a line no longer are; the hull still holds all of them but for rounding.
        let by = Isometry::new(false, turn, 0.0, 0.0);
        let turned: Vec<Point> = on_grid.iter().map(|&p| by.apply(p)).collect();
        let outline = Polygon::new(convex_hull(&turned), vec![]);
        prop_assert!((outline.area() - Polygon::new(hull, vec![]).area()).abs() < 1e-9);
    }
}

#[test]
fn ragged_outlines_hold_a_rectangle_and_a_circle() {
    use proptest::{strategy::ValueTree, test_runner::TestRunner};
    let mut runner = TestRunner::deterministic();
    let angles: Vec<f64> = (0..6).map(|i| f64::from(i) * 15.0).collect();
    for corners in [20, 100, 400] {
        let polygon = generators::ragged_polygon(corners).new_tree(&mut runner).expect("never rejects").current();
        let found = largest_rectangle(&polygon, &angles).expect("it has an area");
        let circle = largest_circle(&polygon, 0.1).expect("it has an area");
        assert!(found.width > 0.0 && circle.radius > 0.0);
    }
}
