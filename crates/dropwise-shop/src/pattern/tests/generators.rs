//! Random patterns.

use proptest::prelude::*;

use super::*;

/// Corners with radii and chamfers up to a size.
fn corner(most: f64) -> impl Strategy<Value = Corner> {
    prop_oneof![Just(Corner::Sharp), (0.01..most).prop_map(Corner::Radius), (0.01..most).prop_map(Corner::Chamfer)]
}

/// Star-shaped polygons about the origin, so never self-crossing; their made corners may still ask too much.
pub(super) fn polygon() -> impl Strategy<Value = Vec<PolygonCorner>> {
    prop::collection::vec((40.0f64..200.0, 0.2f64..1.0, corner(50.0)), 4..12).prop_map(|spokes| {
        let total: f64 = spokes.iter().map(|(_, gap, _)| gap).sum();
        let mut angle = 0.0;
        spokes
            .into_iter()
            .map(|(length, gap, corner)| {
                angle += gap / total * std::f64::consts::TAU;
                PolygonCorner { point: Point::ORIGIN + dropwise_geometry::Vector::from_angle(angle) * length, corner }
            })
            .collect()
    })
}

/// A plate with a hole row, a slot and a bolt circle that do not reach each other.
pub(super) fn plate_with_features() -> impl Strategy<Value = Pattern> {
    (300.0f64..500.0, 300.0f64..500.0, corner(20.0), 1u32..9, 1u32..9, 0.0f64..360.0, -20.0f64..20.0).prop_map(
        |(width, height, corner, in_row, on_circle, angle_deg, shift)| Pattern {
            base: Base::rectangle(width, height, corner),
            features: vec![
                Feature {
                    position: Position::new(FromX::Left(30.0), FromY::Bottom(20.0)),
                    cut: Cut::HoleRow {
                        diameter: 6.0,
                        count: in_row,
                        spacing: Spacing::Pitch(25.0),
                        angle_deg: 0.0,
                        anchor: RowAnchor::First,
                    },
                },
                at_center(
                    shift,
                    0.0,
                    Cut::BoltCircle { diameter: 8.0, count: on_circle, circle_diameter: 90.0, start_deg: angle_deg },
                ),
                at_center(shift, 0.0, Cut::Slot { length: 40.0, width: 12.0, angle_deg }),
            ],
        },
    )
}

/// Any numbers at all: patterns that must be refused or built, never panic.
pub(super) fn anything() -> impl Strategy<Value = Pattern> {
    let number = || {
        prop_oneof![
            any::<f64>(),
            -1e3f64..1e3,
            Just(0.0),
            Just(100.0),
            Just(f64::NAN),
            Just(f64::INFINITY),
            Just(1e5),
            Just(5e-324)
        ]
    };
    let numbers = || prop::array::uniform5(number());
    let corner = move || {
        (0..3, number()).prop_map(|(kind, size)| match kind {
            0 => Corner::Sharp,
            1 => Corner::Radius(size),
            _ => Corner::Chamfer(size),
        })
    };
    let polygon = prop::collection::vec((number(), number(), corner()), 0..7).prop_map(|corners| Base::Polygon {
        corners: corners.into_iter().map(|(x, y, corner)| PolygonCorner::new(x, y, corner)).collect(),
    });
    let base = prop_oneof![
        polygon,
        (0..6, numbers(), prop::array::uniform4(corner())).prop_map(|(kind, [a, b, c, d, e], corners)| match kind {
            0 => Base::Rectangle { width: a, height: b, corners },
            1 => Base::Circle { diameter: a },
            2 => Base::Ring { outer_diameter: a, inner_diameter: b },
            3 => Base::Slot { length: a, width: b },
            4 => Base::L { length_x: a, width_x: b, length_y: c, width_y: d, inside_radius: Some(e) },
            _ => Base::Gusset {
                leg_x: a,
                leg_y: b,
                tip_x: Tip::NoseFlat(c),
                tip_y: Tip::Corner(corners[0]),
                inside_corner: corners[1],
            },
        })
    ];
    let cut = (0..5, numbers(), corner(), prop_oneof![0u32..20, any::<u32>()]).prop_map(
        |(kind, [a, b, c, ..], corner, count)| match kind {
            0 => Cut::Hole { diameter: a },
            1 => Cut::Slot { length: a, width: b, angle_deg: c },
            2 => Cut::Cutout { width: a, height: b, corner, angle_deg: c },
            3 => {
                let (spacing, anchor) = (Spacing::Pitch(b), RowAnchor::Middle);
                Cut::HoleRow { diameter: a, count, spacing, angle_deg: c, anchor }
            }
            _ => Cut::BoltCircle { diameter: a, count, circle_diameter: b, start_deg: c },
        },
    );
    let feature = (number(), number(), cut)
        .prop_map(|(x, y, cut)| Feature { position: Position::new(FromX::Right(x), FromY::Center(y)), cut });
    (base, prop::collection::vec(feature, 0..4)).prop_map(|(base, features)| Pattern { base, features })
}
