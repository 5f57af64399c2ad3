//! Patterns that must be refused, with what they are told.

use super::*;

fn polygon(points: &[(f64, f64)]) -> Base {
    Base::Polygon { corners: points.iter().map(|&(x, y)| PolygonCorner::sharp(x, y)).collect() }
}

#[test]
fn sizes_at_both_ends_of_their_range() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 100_000.1, 0.000_99] {
        let wanted = format!(
            "the circle: the diameter is {bad} mm; it must be more than 0 (at least 0.001 mm) and at most 100 m"
        );
        assert_eq!(messages(Base::Circle { diameter: bad }, Vec::new()), [wanted]);
    }
    flat(Base::Circle { diameter: 100_000.0 }, Vec::new());
    flat(Base::Circle { diameter: 1e-3 }, Vec::new());
}

#[test]
fn independent_faults_are_reported_together() {
    let base = Base::Rectangle {
        width: -1.0,
        height: f64::NAN,
        corners: [Corner::Sharp, Corner::Radius(0.0), Corner::Chamfer(-2.0), Corner::Sharp],
    };
    let features = vec![
        hole(0.0, f64::INFINITY, 0.0),
        at_center(0.0, 0.0, Cut::Slot { length: 5.0, width: 8.0, angle_deg: f64::NAN }),
    ];
    assert_eq!(
        messages(base, features),
        [
            "the rectangle: the width is -1 mm; it must be more than 0 (at least 0.001 mm) and at most 100 m",
            "the rectangle: the height is NaN mm; it must be more than 0 (at least 0.001 mm) and at most 100 m",
            "the rectangle: the corner radius is 0 mm; it must be more than 0 (at least 0.001 mm) and at most 100 m",
            "the rectangle: the chamfer is -2 mm; it must be more than 0 (at least 0.001 mm) and at most 100 m",
            "feature 1 (round hole): the position upright is inf mm; it must lie within 100 m of zero",
            "feature 1 (round hole): the diameter is 0 mm; it must be more than 0 (at least 0.001 mm) and at most 100 m",
            "feature 2 (slot): the slot is 5 mm long over all but 8 mm wide; it must be at least as long",
            "feature 2 (slot): the angle is NaN°; it must lie within a million degrees of zero",
        ]
    );
}

#[test]
fn radii_that_exceed_a_side() {
    assert_eq!(
        messages(Base::rectangle(50.0, 20.0, Corner::Radius(12.0)), Vec::new()),
        [
            "the rectangle: corners 2 and 3 take 24.000 mm off the side between them, which is 20.000 mm long",
            "the rectangle: corners 4 and 1 take 24.000 mm off the side between them, which is 20.000 mm long",
        ]
    );
    let l = Base::L { length_x: 100.0, width_x: 30.0, length_y: 50.0, width_y: 30.0, inside_radius: Some(21.0) };
    assert_eq!(
        messages(l, Vec::new()),
        ["the L: corners 4 and 5 take 21.000 mm off the side between them, which is 20.000 mm long"]
    );
    let cutout = Cut::Cutout { width: 30.0, height: 10.0, corner: Corner::Radius(6.0), angle_deg: 0.0 };
    assert_eq!(messages(plate(90.0, 90.0), vec![at_center(0.0, 0.0, cutout)]).len(), 2);
}

#[test]
fn rings_slots_legs_and_flats_that_contradict_themselves() {
    let ring = |inner_diameter| Base::Ring { outer_diameter: 50.0, inner_diameter };
    let wanted = "the ring: the inner diameter is 50 mm; it must be less than the outer diameter of 50 mm";
    assert_eq!(messages(ring(50.0), Vec::new()), [wanted]);
    flat(ring(49.9), Vec::new());
    assert_eq!(
        messages(Base::Slot { length: 9.0, width: 10.0 }, Vec::new()),
        ["the slot-shaped part: the slot is 9 mm long over all but 10 mm wide; it must be at least as long"]
    );
    let l = Base::L { length_x: 40.0, width_x: 60.0, length_y: 60.0, width_y: 45.0, inside_radius: None };
    assert_eq!(
        messages(l, Vec::new()),
        [
            "the L: the width of the leg along x is 60 mm; it must be less than the length in y of 60 mm",
            "the L: the width of the leg along y is 45 mm; it must be less than the length in x of 40 mm",
        ]
    );
    let gusset = Base::Gusset {
        leg_x: 40.0,
        leg_y: 30.0,
        tip_x: Tip::NoseFlat(30.0),
        tip_y: Tip::NoseFlat(39.0),
        inside_corner: Corner::Sharp,
    };
    assert_eq!(
        messages(gusset, Vec::new()),
        ["the gusset: the nose flat of the leg along x is 30 mm; it must be less than the leg along y of 30 mm"]
    );
}

#[test]
fn counts_of_none_and_of_too_many() {
    let row = |count, spacing| {
        let cut = Cut::HoleRow { diameter: 1.0, count, spacing, angle_deg: 0.0, anchor: RowAnchor::First };
        vec![at_center(0.0, 0.0, cut)]
    };
    let none = "feature 1 (hole row): the count is 0; it must be 1 to 10000";
    assert_eq!(messages(plate(90.0, 90.0), row(0, Spacing::Pitch(5.0))), [none]);
    let many = "feature 1 (hole row): the count is 4294967295; it must be 1 to 10000";
    assert_eq!(messages(plate(90.0, 90.0), row(u32::MAX, Spacing::Pitch(5.0))), [many]);
    let one = "feature 1 (hole row): the row has one hole, yet the distance from the first to the last is 5 mm";
    assert_eq!(messages(plate(90.0, 90.0), row(1, Spacing::Overall(5.0))), [one]);
    let circle = Cut::BoltCircle { diameter: 5.0, count: 0, circle_diameter: 50.0, start_deg: 0.0 };
    let none = "feature 1 (bolt circle): the count is 0; it must be 1 to 10000";
    assert_eq!(messages(plate(90.0, 90.0), vec![at_center(0.0, 0.0, circle)]), [none]);
    let two_rows = [row(10_000, Spacing::Pitch(2.0)), row(1, Spacing::Pitch(2.0))].concat();
    let many = "the pattern has 10001 holes, slots and cutouts; at most 10000 are allowed";
    assert_eq!(messages(plate(90.0, 90.0), two_rows), [many]);
}

#[test]
fn polygons_with_too_few_corners_or_sides_that_meet() {
    let few = "the polygon has 2 corners; it must have 3 to 5000";
    assert_eq!(messages(polygon(&[(0.0, 0.0), (5.0, 0.0)]), Vec::new()), [few]);
    let bow_tie = polygon(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]);
    let wanted = "the polygon: sides 1 and 3 meet at (5.000, 5.000), where they should not";
    assert_eq!(messages(bow_tie, Vec::new()), [wanted]);
    // A corner that touches a side far from it.
    let pinched = polygon(&[(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (10.0, 0.0), (0.0, 10.0)]);
    let wanted = "the polygon: sides 1 and 3 meet at (10.000, 0.000), where they should not";
    assert_eq!(messages(pinched, Vec::new()), [wanted]);
    // Sides that run back over each other, as of a flat triangle.
    let flat_triangle = polygon(&[(0.0, 0.0), (20.0, 0.0), (10.0, 0.0)]);
    let wanted = "the polygon: sides 1 and 2 meet at (20.000, 0.000), where they should not";
    assert_eq!(messages(flat_triangle, Vec::new()), [wanted]);
    let repeated = polygon(&[(0.0, 0.0), (20.0, 0.0), (20.0, 0.0), (10.0, 10.0)]);
    assert_eq!(messages(repeated, Vec::new()), ["the polygon: corners 2 and 3 are both at (20, 0)"]);
    let closed = polygon(&[(0.0, 0.0), (20.0, 0.0), (10.0, 10.0), (0.0, 0.0)]);
    assert_eq!(messages(closed, Vec::new()), ["the polygon: corners 4 and 1 are both at (0, 0)"]);
}

#[test]
fn radius_that_sweeps_over_a_notch_is_refused() {
    // The notch from the top reaches down to (90, 4): within the metal, but beyond the arc of radius 60 that would
    // round the lower right corner.
    let corners = vec![
        PolygonCorner::sharp(0.0, 0.0),
        PolygonCorner::new(100.0, 0.0, Corner::Radius(60.0)),
        PolygonCorner::sharp(100.0, 100.0),
        PolygonCorner::sharp(95.0, 100.0),
        PolygonCorner::sharp(90.0, 4.0),
        PolygonCorner::sharp(85.0, 100.0),
        PolygonCorner::sharp(0.0, 100.0),
    ];
    let found = messages(Base::Polygon { corners }, Vec::new());
    assert_eq!(found.len(), 1);
    assert!(found[0].starts_with("the polygon: with its corners made, the outline meets itself at ("), "{}", found[0]);
}

#[test]
fn holes_larger_than_their_part() {
    assert_eq!(
        messages(plate(100.0, 40.0), vec![hole(0.0, 0.0, 50.0), hole(0.0, 0.0, 200.0)])[..2],
        [
            "feature 1 (round hole): it is 50.000 mm high but the part is only 40.000 mm high",
            "feature 2 (round hole): it is 200.000 mm wide but the part is only 100.000 mm wide",
        ]
    );
}

#[test]
fn holes_through_the_edge_say_what_they_lack() {
    let through = hole(45.0, 0.0, 12.0);
    let wanted = "feature 1 (round hole): it breaks through the edge: its middle is 5.000 mm from the edge and it \
                  reaches 6.000 mm that way";
    assert_eq!(messages(plate(100.0, 40.0), vec![through]), [wanted]);
    // Touching is through; a hair less is not.
    assert_eq!(messages(plate(100.0, 40.0), vec![hole(44.0, 0.0, 12.0)]).len(), 1);
    flat(plate(100.0, 40.0), vec![hole(43.999, 0.0, 12.0)]);
    let slot = Cut::Slot { length: 30.0, width: 10.0, angle_deg: 90.0 };
    let wanted = "feature 1 (slot): it breaks through the edge: its middle is 14.000 mm from the edge and it reaches \
                  15.000 mm that way";
    assert_eq!(messages(plate(100.0, 40.0), vec![at_center(0.0, 6.0, slot)]), [wanted]);
    // The bore of a ring is an edge too, whether crossed or swallowed.
    let ring = || Base::Ring { outer_diameter: 100.0, inner_diameter: 20.0 };
    let wanted = "feature 1 (round hole): it breaks through the edge: its middle is 5.000 mm from the edge and it \
                  reaches 7.500 mm that way";
    assert_eq!(messages(ring(), vec![hole(15.0, 0.0, 15.0)]), [wanted]);
    assert!(messages(ring(), vec![hole(2.0, 0.0, 40.0)])[0].contains("breaks through"));
}

#[test]
fn holes_where_no_metal_is() {
    let outside = "feature 1 (round hole): its middle (150.000, 20.000) lies outside the part or in a hole of it";
    assert_eq!(messages(plate(100.0, 40.0), vec![hole(100.0, 0.0, 5.0)]), [outside]);
    let ring = Base::Ring { outer_diameter: 100.0, inner_diameter: 60.0 };
    let bore = "feature 1 (round hole): its middle (50.000, 50.000) lies outside the part or in a hole of it";
    assert_eq!(messages(ring, vec![hole(0.0, 0.0, 5.0)]), [bore]);
    // In the notch of an L.
    let l = Base::L { length_x: 100.0, width_x: 30.0, length_y: 90.0, width_y: 30.0, inside_radius: None };
    assert!(messages(l, vec![hole(20.0, 20.0, 5.0)])[0].contains("lies outside the part"));
    // Of a row, the first hole that lies wrong is named.
    let cut = Cut::HoleRow {
        diameter: 4.0,
        count: 9,
        spacing: Spacing::Pitch(20.0),
        angle_deg: 0.0,
        anchor: RowAnchor::First,
    };
    let found = messages(plate(105.0, 40.0), vec![at_center(-2.5, 0.0, cut)]);
    assert_eq!(
        found,
        ["feature 1 (hole row), hole 4 of 9: its middle (110.000, 20.000) lies outside the part or in a hole of it"]
    );
}

#[test]
fn overlapping_features_are_named_in_pairs() {
    let wanted = "feature 1 (round hole) overlaps feature 2 (round hole): their middles are 9.000 mm apart and they \
                  reach 10.000 mm towards each other";
    assert_eq!(messages(plate(100.0, 40.0), vec![hole(0.0, 0.0, 10.0), hole(9.0, 0.0, 10.0)]), [wanted]);
    assert_eq!(messages(plate(100.0, 40.0), vec![hole(0.0, 0.0, 10.0), hole(10.0, 0.0, 10.0)]).len(), 1);
    flat(plate(100.0, 40.0), vec![hole(0.0, 0.0, 10.0), hole(10.001, 0.0, 10.0)]);
    // One inside the other.
    let cutout = Cut::Cutout { width: 30.0, height: 30.0, corner: Corner::Sharp, angle_deg: 0.0 };
    let inside = messages(plate(100.0, 40.0), vec![at_center(0.0, 0.0, cutout), hole(3.0, 0.0, 2.0)]);
    assert_eq!(inside.len(), 1);
    // Boxes that meet although the holes do not.
    flat(plate(100.0, 100.0), vec![hole(-7.5, -7.5, 20.0), hole(7.5, 7.5, 20.0)]);
}

#[test]
fn rows_and_bolt_circles_whose_own_holes_overlap() {
    let row = Cut::HoleRow {
        diameter: 10.0,
        count: 5,
        spacing: Spacing::Pitch(8.0),
        angle_deg: 0.0,
        anchor: RowAnchor::Middle,
    };
    let wanted = "feature 1 (hole row), hole 1 of 5 overlaps feature 1 (hole row), hole 2 of 5: their middles are 8.000 \
                  mm apart and they reach 10.000 mm towards each other";
    assert_eq!(messages(plate(100.0, 40.0), vec![at_center(0.0, 0.0, row)]), [wanted]);
    let circle = Cut::BoltCircle { diameter: 10.0, count: 12, circle_diameter: 30.0, start_deg: 0.0 };
    let found = messages(plate(100.0, 60.0), vec![at_center(0.0, 0.0, circle)]);
    assert!(found.len() == 1 && found[0].starts_with("feature 1 (bolt circle), hole 1 of 12 overlaps"), "{found:?}");
}

#[test]
fn sound_features_are_checked_although_another_is_not() {
    let found = messages(plate(100.0, 40.0), vec![hole(0.0, 0.0, -3.0), hole(48.0, 0.0, 10.0)]);
    assert!(found.len() == 2 && found[1].starts_with("feature 2 (round hole): it breaks"), "{found:?}");
}

#[test]
fn ten_thousand_holes_in_one_place_neither_hang_nor_flood() {
    let cut = Cut::HoleRow {
        diameter: 10.0,
        count: 10_000,
        spacing: Spacing::Pitch(1e-6),
        angle_deg: 0.0,
        anchor: RowAnchor::Middle,
    };
    assert_eq!(messages(plate(100.0, 40.0), vec![at_center(0.0, 0.0, cut)]).len(), 1);
}
