//! What is cut out, and where it lies.

use std::f64::consts::PI;

use super::*;

fn centers(flat: &FlatPattern) -> Vec<(f64, f64)> {
    flat.holes.iter().map(|hole| (hole.center.x, hole.center.y)).collect()
}

#[test]
fn dimensions_from_every_datum_may_be_mixed() {
    let cases = [
        (FromX::Left(20.0), FromY::Bottom(15.0), (20.0, 15.0)),
        (FromX::Right(20.0), FromY::Top(15.0), (80.0, 45.0)),
        (FromX::Center(-7.0), FromY::Center(4.0), (43.0, 34.0)),
        (FromX::Left(20.0), FromY::Center(0.0), (20.0, 30.0)),
        (FromX::Center(0.0), FromY::Top(12.0), (50.0, 48.0)),
    ];
    for (x, y, wanted) in cases {
        let feature = Feature { position: Position::new(x, y), cut: Cut::Hole { diameter: 6.0 } };
        assert_eq!(centers(&flat(plate(100.0, 60.0), vec![feature])), [wanted]);
    }
    // From the edges of a polygon's box, wherever that lies.
    let corners = [(-50.0, 10.0), (50.0, 10.0), (50.0, 70.0), (-50.0, 70.0)];
    let base = Base::Polygon { corners: corners.map(|(x, y)| PolygonCorner::sharp(x, y)).to_vec() };
    let feature =
        Feature { position: Position::new(FromX::Left(20.0), FromY::Top(15.0)), cut: Cut::Hole { diameter: 6.0 } };
    assert_eq!(centers(&flat(base, vec![feature])), [(-30.0, 55.0)]);
}

#[test]
fn slot_and_cutout_take_their_textbook_areas() {
    let cuts = [
        (Cut::Hole { diameter: 10.0 }, 25.0 * PI),
        (Cut::Slot { length: 30.0, width: 10.0, angle_deg: 35.0 }, 200.0 + 25.0 * PI),
        (Cut::Slot { length: 10.0, width: 10.0, angle_deg: 35.0 }, 25.0 * PI),
        (Cut::Cutout { width: 30.0, height: 20.0, corner: Corner::Sharp, angle_deg: 0.0 }, 600.0),
        (
            Cut::Cutout { width: 30.0, height: 20.0, corner: Corner::Radius(4.0), angle_deg: 20.0 },
            600.0 - 16.0 * (4.0 - PI),
        ),
    ];
    for (cut, area) in cuts {
        let flat = flat(plate(100.0, 60.0), vec![at_center(0.0, 0.0, cut)]);
        assert_close(flat.shape.area(), 6000.0 - area);
        assert!(flat.shape.holes().iter().all(|hole| !hole.is_ccw()));
    }
}

#[test]
fn turned_slot_lies_along_its_angle() {
    let slot = Cut::Slot { length: 30.0, width: 10.0, angle_deg: 90.0 };
    let flat = flat(plate(100.0, 60.0), vec![at_center(0.0, 0.0, slot)]);
    let bounds = flat.shape.holes()[0].bounds();
    assert_close(bounds.width(), 10.0);
    assert_close(bounds.height(), 30.0);
    assert!(flat.holes.is_empty());
}

#[test]
fn row_by_pitch_and_by_overall_distance() {
    let row = |spacing, anchor| Cut::HoleRow { diameter: 5.0, count: 4, spacing, angle_deg: 0.0, anchor };
    let position = Position::new(FromX::Left(10.0), FromY::Center(0.0));
    let first =
        |spacing| centers(&flat(plate(100.0, 40.0), vec![Feature { position, cut: row(spacing, RowAnchor::First) }]));
    let wanted = [(10.0, 20.0), (30.0, 20.0), (50.0, 20.0), (70.0, 20.0)];
    assert_eq!(first(Spacing::Pitch(20.0)), wanted);
    assert_eq!(first(Spacing::Overall(60.0)), wanted);
    let middle = at_center(0.0, 0.0, row(Spacing::Overall(60.0), RowAnchor::Middle));
    let wanted = [(20.0, 20.0), (40.0, 20.0), (60.0, 20.0), (80.0, 20.0)];
    assert_eq!(centers(&flat(plate(100.0, 40.0), vec![middle])), wanted);
}

#[test]
fn upright_row_and_row_of_one() {
    let spacing = Spacing::Pitch(12.0);
    let cut = |count| Cut::HoleRow { diameter: 5.0, count, spacing, angle_deg: 90.0, anchor: RowAnchor::Middle };
    let found = centers(&flat(plate(40.0, 60.0), vec![at_center(0.0, 0.0, cut(3))]));
    assert_eq!(found, [(20.0, 18.0), (20.0, 30.0), (20.0, 42.0)]);
    assert_eq!(centers(&flat(plate(40.0, 60.0), vec![at_center(0.0, 0.0, cut(1))])), [(20.0, 30.0)]);
}

#[test]
fn bolt_circle_starts_at_its_angle_and_runs_counter_clockwise() {
    let cut = Cut::BoltCircle { diameter: 9.0, count: 4, circle_diameter: 80.0, start_deg: 90.0 };
    let ring = Base::Ring { outer_diameter: 100.0, inner_diameter: 60.0 };
    let flat = flat(ring, vec![at_center(0.0, 0.0, cut)]);
    // The bore, 60 mm, comes last: holes are listed smallest first.
    assert_eq!(centers(&flat), [(50.0, 90.0), (10.0, 50.0), (50.0, 10.0), (90.0, 50.0), (50.0, 50.0)]);
    assert_close(flat.shape.area(), PI * (2500.0 - 900.0 - 4.0 * 20.25));
    // Regular hexagon: neighbouring holes are as far apart as the circle's radius. Elementary geometry.
    let cut = Cut::BoltCircle { diameter: 9.0, count: 6, circle_diameter: 80.0, start_deg: 17.0 };
    let flat = super::flat(Base::Circle { diameter: 100.0 }, vec![at_center(0.0, 0.0, cut)]);
    for pair in flat.holes.windows(2) {
        assert_close(pair[0].center.distance(pair[1].center), 40.0);
    }
}

#[test]
fn holes_are_listed_by_size_then_by_feature() {
    let features = vec![hole(-30.0, 0.0, 9.0), hole(0.0, 0.0, 4.5), hole(30.0, 0.0, 9.0)];
    let flat = flat(plate(100.0, 40.0), features);
    let listed: Vec<(f64, Option<usize>)> = flat.holes.iter().map(|hole| (hole.diameter, hole.feature)).collect();
    assert_eq!(listed, [(4.5, Some(1)), (9.0, Some(0)), (9.0, Some(2))]);
}

#[test]
fn hole_near_an_arc_counts_the_arc_not_its_chord() {
    // A hole of 4 mm, 1 mm clear of a rounded corner's arc but across a chord of it drawn from tangent to tangent.
    let base = Base::rectangle(60.0, 60.0, Corner::Radius(30.0));
    let place = 30.0 - (30.0 - 3.0) / 2f64.sqrt();
    let position = Position::new(FromX::Left(place), FromY::Bottom(place));
    let feature = Feature { position, cut: Cut::Hole { diameter: 4.0 } };
    assert_eq!(flat(base, vec![feature]).holes.len(), 1);
}
