//! Tests of the pictures of bent parts.

use dropwise_geometry::{Boundary, Bounds, Outline, Point, Polygon};
use dropwise_shop::bend::{Development, KFactor};
use dropwise_shop::fold::{
    BentPart, Edge, Flange, Join, Relief, Unfolding, gusseted_corner, hat_section, lipped_box, machine_table, tray,
    unfold, z_section,
};

use dropwise_shop::pattern::{Base, Cut, Feature, FromX, FromY, Pattern, PolygonCorner, Position};

use super::solid::{Patch, Skin, Solid, solid};
use super::view::{Seen, View, Viewpoint, see};
use super::{FoldedModel, draw_flat, draw_flat_alone, draw_folded};
use crate::drawing::DrawingStyle;

fn lay_flat(part: &BentPart) -> Unfolding {
    let k = KFactor::given(0.44).unwrap();
    unfold(part, &|_| Development::KFactor(k.clone())).unwrap_or_else(|errors| panic!("{errors}"))
}

fn parts() -> Vec<(&'static str, BentPart)> {
    let mut drip_tray = tray(240.0, 140.0, 35.0, 1.5, 2.0).with_join(Join::Butted { gap: 0.3 });
    drip_tray.corner_relief = Relief::HOLE;
    let mut lap = tray(160.0, 90.0, 25.0, 1.0, 1.0);
    lap.flanges[1] =
        Flange::offset("lap", Edge::Right, 1.0, 40.0, 22.0, dropwise_shop::fold::Direction::Down, (1.0, 1.0));
    lap.flanges[3] = Flange::open_hem("hem", Edge::Left, 10.0, 2.0);
    vec![
        ("tray", drip_tray),
        ("hat", hat_section(300.0, 60.0, 40.0, 30.0, 2.0, 2.0)),
        ("zed", z_section(220.0, 60.0, 40.0, 3.0, 3.0)),
        ("lipped-box", lipped_box(220.0, 160.0, 60.0, 20.0, 1.5, 1.5)),
        ("gusset", gusseted_corner(120.0, 90.0, 80.0, 15.0, 2.0, 2.0)),
        ("table", machine_table((500.0, 350.0, 300.0), 60.0, 45.0, 40.0, 2.0, 3.0)),
        ("lap", lap),
        ("chute", chute()),
    ]
}

/// A base with oblique edges, walls that lean out, holes and a slot.
fn chute() -> BentPart {
    let corners = [(0.0, 0.0), (150.0, 0.0), (115.0, 90.0), (20.0, 100.0)];
    let corners = corners.map(|(x, y)| PolygonCorner::sharp(x, y)).to_vec();
    let hole = |x: f64, y: f64, cut: Cut| Feature { position: Position::new(FromX::Left(x), FromY::Bottom(y)), cut };
    let base = Pattern {
        base: Base::Polygon { corners },
        features: vec![hole(70.0, 45.0, Cut::Slot { length: 40.0, width: 12.0, angle_deg: 20.0 })],
    };
    let mut part = BentPart::new(1.5, 2.0, base).with_join(Join::Mitred { gap: 0.3 });
    for (side, name) in ["front", "right", "back", "left"].into_iter().enumerate() {
        part.flanges.push(Flange::new(name, Edge::Side(side), 35.0).turned(60.0));
    }
    part.flanges[0].features = vec![hole(40.0, 20.0, Cut::Hole { diameter: 9.0 })];
    part.corner_relief = Relief::ROUND;
    part
}

#[test]
fn pictures_are_well_formed_and_the_same_each_time() {
    let style = DrawingStyle::default();
    for (name, part) in parts() {
        let flat = lay_flat(&part);
        for draw in [draw_flat, draw_folded] {
            let svg = draw(&flat, name, &style);
            assert_eq!(svg, draw(&flat, name, &style));
            let document = roxmltree::Document::parse(&svg).unwrap();
            assert_eq!(document.root_element().tag_name().name(), "svg");
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
        }
    }
}

/// The face of a patch right under a point of the picture, found the slow way: of all patches there, the nearest.
fn nearest<'a>(solid: &'a Solid, view: &View, at: Point) -> Option<&'a Patch> {
    let mut best: Option<(f64, &Patch)> = None;
    for patch in &solid.patches {
        let facing = patch.normal.dot(view.toward);
        let mut rings = patch.rings.iter().map(|ring| ring.iter().map(|&p| view.at(p)).collect::<Vec<_>>());
        let polygon = Polygon::new(rings.next().unwrap(), rings.collect());
        // Far side on, or nearly edge on.
        if facing < 0.002 || !polygon.contains(at) {
            continue;
        }
        // Along the line of sight to the patch's plane, from any of its corners.
        let corner = patch.rings[0][0];
        let seen_at = view.at(corner);
        let (dx, dy) = (at.x - seen_at.x, at.y - seen_at.y);
        let [right, up] = view.axes();
        let across = corner + right * dx + up * dy;
        let nearness = across.dot(view.toward) - (across - corner).dot(patch.normal) / facing;
        if best.is_none_or(|(nearest, _)| nearness > nearest) {
            best = Some((nearness, patch));
        }
    }
    best.map(|(_, patch)| patch)
}

#[test]
fn what_is_seen_is_what_lies_nearest_everywhere() {
    let mut compared = 0;
    for (number, (name, part)) in parts().into_iter().enumerate() {
        let flat = lay_flat(&part);
        let solid = solid(&flat, &flat.fold(), 0.05);
        // A different side of each part beside the usual one: from behind, from below, and faces nearly edge-on.
        let turned = Viewpoint { turn_deg: 37.0 * number as f64 + 5.0, tilt_deg: 50.0 - 17.0 * number as f64 };
        for view in [Viewpoint::ISOMETRIC, turned].map(View::from) {
            let seen = see(&solid, &view, flat.thickness * 0.01).seen;
            let bounds = Bounds::of(solid.patches.iter().flat_map(|p| &p.rings).flatten().map(|&p| view.at(p)));
            for i in 0..60 {
                for j in 0..60 {
                    let share = |k: i32| (f64::from(k) + 0.4137) / 60.0;
                    let at =
                        Point::new(bounds.min.x + bounds.width() * share(i), bounds.min.y + bounds.height() * share(j));
                    let drawn: Vec<&Seen<'_>> =
                        seen.iter().filter(|one| one.regions.iter().any(|region| region.contains(at))).collect();
                    let wanted = nearest(&solid, &view, at);
                    assert!(drawn.len() <= 1, "{name}: two faces at {at:?}");
                    // Points on a border may fall either way: then the two lie in one place in space.
                    match (drawn.first(), wanted) {
                        (Some(one), Some(wanted)) if !std::ptr::eq(one.patch, wanted) => {
                            let is_border = one.regions.iter().any(|region| distance_to_border(region, at) < 0.05);
                            assert!(is_border, "{name}: {:?} drawn, not {:?}, at {at:?}", one.patch.skin, wanted.skin);
                        }
                        (None, Some(_)) | (Some(_), None) => {
                            let near =
                                seen.iter().flat_map(|one| &one.regions).any(|r| distance_to_border(r, at) < 0.05);
                            assert!(near, "{name}: something and nothing at {at:?}");
                        }
                        (Some(_), Some(_)) => compared += 1,
                        (None, None) => {}
                    }
                }
            }
        }
    }
    assert!(compared > 10_000, "{compared}");
}

fn distance_to_border(region: &Polygon, at: Point) -> f64 {
    let outlines: Vec<Outline> = region.rings().map(|ring| Outline::polygon(ring.iter().copied())).collect();
    Boundary::new(&outlines).distance_to_point(at)
}

/// Area in sight of either side of a face.
fn in_sight(part: &BentPart, face: &str, skin: Skin) -> f64 {
    let flat = lay_flat(part);
    let solid = solid(&flat, &flat.fold(), 0.05);
    let seen = see(&solid, &View::isometric(), flat.thickness * 0.01).seen;
    let index = flat.face(face).unwrap();
    let of_face = seen.iter().filter(|one| one.patch.face == Some(index) && one.patch.skin == skin);
    of_face.flat_map(|one| &one.regions).map(Polygon::area).sum()
}

#[test]
fn a_flange_up_shows_its_outside_and_one_down_its_upper_side() {
    let tray = tray(200.0, 120.0, 30.0, 1.5, 2.0);
    assert!(in_sight(&tray, "front", Skin::Lower) > 1000.0 && in_sight(&tray, "front", Skin::Upper) < 1e-6);
    assert!(in_sight(&tray, "back", Skin::Upper) > 1000.0 && in_sight(&tray, "back", Skin::Lower) < 1e-6);
    assert!(in_sight(&tray, "base", Skin::Upper) > 1000.0 && in_sight(&tray, "base", Skin::Lower) < 1e-6);
    // The walls in front hide a piece of the base: seen whole it would be 193 × 113 / √3.
    assert!(in_sight(&tray, "base", Skin::Upper) < 193.0 * 113.0 / 3f64.sqrt() - 500.0);
    let hat = hat_section(200.0, 60.0, 40.0, 30.0, 1.5, 2.0);
    assert!(in_sight(&hat, "front web", Skin::Upper) > 1000.0 && in_sight(&hat, "front web", Skin::Lower) < 1e-6);
    // Nothing stands before the crown, 53 wide between its bends.
    assert!((in_sight(&hat, "base", Skin::Upper) - 200.0 * 53.0 / 3f64.sqrt()).abs() < 0.01);
}

#[test]
fn flat_picture_tells_direction_angle_radius_deduction_and_distance() {
    let flat = lay_flat(&z_section(220.0, 60.0, 40.0, 3.0, 3.0));
    let svg = draw_flat(&flat, "zed & co", &DrawingStyle::default());
    let document = roxmltree::Document::parse(&svg).unwrap();
    let texts: Vec<&str> = document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    // SB 6, BA π/2 (3 + 0.44 × 3) = 6.786, BD 5.214; the bend line 34 + 3.393 from the free edge of 40.
    for wanted in ["1 up 90° R3 BD 5.214", "2 down 90° R3 BD 5.214", "37.393", "92.179", "129.57 mm", "zed & co"] {
        assert!(texts.contains(&wanted), "{wanted} is not among {texts:?}");
    }
    assert!(texts.contains(&"across bend 1, 2: 40 + 60 + 40 − 10.428 = 129.572 mm flat"), "{texts:?}");
    let inches = DrawingStyle { unit: dropwise_geometry::Unit::Inch, ..DrawingStyle::default() };
    assert!(draw_flat(&flat, "zed", &inches).contains("BD 0.2053"));
}

#[test]
fn a_part_that_is_turned_keeps_its_scale_and_the_size_of_its_picture() {
    let style = DrawingStyle { paper_width: 120.0, ..DrawingStyle::default() };
    for (name, part) in parts() {
        let model = FoldedModel::new(lay_flat(&part), Vec::new(), &style);
        let drawn = |turn_deg: f64, tilt_deg: f64| {
            let svg = model.draw(name, Viewpoint { turn_deg, tilt_deg }, &style);
            let document = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
            document.root_element().attribute("viewBox").unwrap().to_owned()
        };
        let first = drawn(45.0, 35.0);
        for (turn, tilt) in [(0.0, 0.0), (90.0, 90.0), (200.0, -90.0), (359.0, -20.0), (1e9, 35.0)] {
            assert_eq!(drawn(turn, tilt), first, "{name}, {turn}, {tilt}");
        }
    }
}

#[test]
fn the_pattern_alone_has_its_lines_and_no_table() {
    let flat = lay_flat(&z_section(220.0, 60.0, 40.0, 3.0, 3.0));
    let style = DrawingStyle::default();
    let (whole, alone) = (draw_flat(&flat, "zed", &style), draw_flat_alone(&flat, "zed", &style));
    assert!(alone.contains("1 up 90° R3 BD 5.214") && !alone.contains("setback") && whole.contains("setback"));
    let table = super::bend_table(&flat, dropwise_geometry::Unit::Millimetre);
    assert_eq!((table.rows.len(), table.rows[0][8].as_str()), (2, "5.214"));
    assert_eq!(table.notes, ["across bend 1, 2: 40 + 60 + 40 − 10.428 = 129.572 mm flat"]);
}
