//! Outlines by closed form.

use std::f64::consts::PI;

use super::*;

#[track_caller]
fn assert_measures(base: Base, area: f64, perimeter: f64, size: (f64, f64)) {
    let shape = flat(base, Vec::new()).shape;
    assert_close(shape.area(), area);
    assert_close(shape.perimeter(), perimeter);
    let bounds = shape.bounds();
    assert_close(bounds.min.x, 0.0);
    assert_close(bounds.min.y, 0.0);
    assert_close(bounds.width(), size.0);
    assert_close(bounds.height(), size.1);
    assert!(shape.exterior().is_ccw());
}

#[test]
fn rectangle_sharp_rounded_and_chamfered() {
    assert_measures(plate(80.0, 50.0), 4000.0, 260.0, (80.0, 50.0));
    // Each rounded corner loses r² (1 - π/4) of area and r (2 - π/2) of length.
    let rounded = Base::rectangle(80.0, 50.0, Corner::Radius(6.0));
    assert_measures(rounded, 4000.0 - 36.0 * (4.0 - PI), 260.0 - 6.0 * (8.0 - 2.0 * PI), (80.0, 50.0));
    // Each chamfer loses c²/2 of area and c (2 - √2) of length.
    let chamfered = Base::rectangle(80.0, 50.0, Corner::Chamfer(6.0));
    assert_measures(chamfered, 4000.0 - 4.0 * 18.0, 260.0 - 24.0 * (2.0 - 2f64.sqrt()), (80.0, 50.0));
}

#[test]
fn rectangle_with_a_corner_of_each_kind() {
    let corners = [Corner::Sharp, Corner::Radius(10.0), Corner::Chamfer(8.0), Corner::Radius(4.0)];
    let area = 4000.0 - 100.0 * (1.0 - PI / 4.0) - 32.0 - 16.0 * (1.0 - PI / 4.0);
    let shape = flat(Base::Rectangle { width: 80.0, height: 50.0, corners }, Vec::new()).shape;
    assert_close(shape.area(), area);
    // Lower right is rounded: tangent points by hand.
    let wanted = [(0.0, 0.0), (70.0, 0.0), (80.0, 10.0), (80.0, 42.0), (72.0, 50.0), (4.0, 50.0), (0.0, 46.0)];
    assert_eq!(shape.exterior().vertices().len(), wanted.len());
    for (vertex, (x, y)) in shape.exterior().vertices().iter().zip(wanted) {
        assert!(vertex.point.distance(Point::new(x, y)) < EXACT);
    }
}

#[test]
fn rectangle_rounded_all_the_way_is_a_slot() {
    let rounded = flat(Base::rectangle(80.0, 20.0, Corner::Radius(10.0)), Vec::new()).shape;
    let slot = flat(Base::Slot { length: 80.0, width: 20.0 }, Vec::new()).shape;
    assert_close(rounded.area(), slot.area());
    assert_close(rounded.perimeter(), slot.perimeter());
    assert_measures(Base::Slot { length: 80.0, width: 20.0 }, 1200.0 + 100.0 * PI, 120.0 + 20.0 * PI, (80.0, 20.0));
}

#[test]
fn circle_ring_and_a_slot_as_long_as_wide() {
    assert_measures(Base::Circle { diameter: 30.0 }, 225.0 * PI, 30.0 * PI, (30.0, 30.0));
    assert_measures(Base::Slot { length: 30.0, width: 30.0 }, 225.0 * PI, 30.0 * PI, (30.0, 30.0));
    let ring = Base::Ring { outer_diameter: 100.0, inner_diameter: 60.0 };
    assert_measures(ring.clone(), 1600.0 * PI, 160.0 * PI, (100.0, 100.0));
    let bore = RoundHole { diameter: 60.0, center: Point::new(50.0, 50.0), feature: None };
    assert_eq!(flat(ring, Vec::new()).holes, [bore]);
}

#[test]
fn l_by_hand_sums() {
    // 120 x 30 along x, and 40 x (90 - 30) above it: 3600 + 2400.
    let l = |inside_radius| Base::L { length_x: 120.0, width_x: 30.0, length_y: 90.0, width_y: 40.0, inside_radius };
    assert_measures(l(None), 6000.0, 2.0 * (120.0 + 90.0), (120.0, 90.0));
    // The fillet of the inside corner adds r² (1 - π/4) and shortens the way by r (2 - π/2).
    assert_measures(l(Some(8.0)), 6000.0 + 64.0 * (1.0 - PI / 4.0), 420.0 - 8.0 * (2.0 - PI / 2.0), (120.0, 90.0));
    // Tangent points of that fillet: 8 mm along both legs from (40, 30).
    let shape = flat(l(Some(8.0)), Vec::new()).shape;
    let fillet = shape.exterior().vertices().iter().position(|v| v.bulge != 0.0).unwrap();
    let at = |i: usize| shape.exterior().vertices()[i].point;
    assert!(at(fillet).distance(Point::new(48.0, 30.0)) < EXACT);
    assert!(at(fillet + 1).distance(Point::new(40.0, 38.0)) < EXACT);
    assert!(shape.exterior().vertices()[fillet].bulge < 0.0);
}

#[test]
fn gusset_by_hand_sums() {
    let gusset = |tip_x, tip_y, inside_corner| Base::Gusset { leg_x: 60.0, leg_y: 80.0, tip_x, tip_y, inside_corner };
    // 60-80-100 triangle.
    assert_measures(gusset(Tip::Sharp, Tip::Sharp, Corner::Sharp), 2400.0, 240.0, (60.0, 80.0));
    // The clip at the right angle takes 10²/2.
    let clipped = gusset(Tip::Sharp, Tip::Sharp, Corner::Chamfer(10.0));
    assert_measures(clipped, 2350.0, 240.0 - 20.0 + 200f64.sqrt(), (60.0, 80.0));
    // Nose flats of 8 and 15: corners (0,0) (60,0) (60,8) (15,80) (0,80). Under the slope lies the rectangle 60 x 80
    // less the triangle 45 x 72; the slope is √(45² + 72²) long.
    let noses = gusset(Tip::NoseFlat(8.0), Tip::NoseFlat(15.0), Corner::Sharp);
    let slope = (45f64 * 45.0 + 72.0 * 72.0).sqrt();
    assert_measures(noses, 4800.0 - 1620.0, 60.0 + 8.0 + slope + 15.0 + 80.0, (60.0, 80.0));
    // A clip of 10 at the tip of the x leg, where the slope rises 4 for every 3 back: (50, 0) and (54, 8).
    let tip = gusset(Tip::Corner(Corner::Chamfer(10.0)), Tip::Sharp, Corner::Sharp);
    let points = flat(tip, Vec::new()).shape.exterior().vertices().to_vec();
    assert!(points[1].point.distance(Point::new(50.0, 0.0)) < EXACT);
    assert!(points[2].point.distance(Point::new(54.0, 8.0)) < EXACT);
}

#[test]
fn rounded_gusset_tip_loses_what_the_tangent_circle_leaves_out() {
    // Corner of interior angle φ: tangents of r / tan(φ/2), area lost r² (1/tan(φ/2) - (π - φ)/2).
    let radius = 5.0;
    let half = (80f64 / 60.0).atan() / 2.0;
    let lost = radius * radius * (1.0 / half.tan() - (PI / 2.0 - half));
    let tip_x = Tip::Corner(Corner::Radius(radius));
    let base = Base::Gusset { leg_x: 60.0, leg_y: 80.0, tip_x, tip_y: Tip::Sharp, inside_corner: Corner::Sharp };
    assert_close(flat(base, Vec::new()).shape.area(), 2400.0 - lost);
}

#[test]
fn polygon_stays_where_its_points_are_and_may_run_either_way() {
    let mut corners =
        vec![PolygonCorner::sharp(-10.0, 5.0), PolygonCorner::sharp(30.0, 5.0), PolygonCorner::sharp(-10.0, 35.0)];
    let ccw = flat(Base::Polygon { corners: corners.clone() }, Vec::new()).shape;
    corners.reverse();
    let cw = flat(Base::Polygon { corners }, Vec::new()).shape;
    assert_close(ccw.area(), 600.0);
    assert_close(cw.area(), 600.0);
    assert!(cw.exterior().is_ccw());
    assert_eq!(ccw.bounds().min, Point::new(-10.0, 5.0));
}
