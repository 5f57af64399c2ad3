//! Tests of the pictures of bent parts.

use dropwise_shop::bend::{Development, KFactor};
use dropwise_shop::fold::{
    BentPart, Edge, Flange, Join, Relief, Unfolding, gusseted_corner, hat_section, lipped_box, machine_table, tray,
    unfold, z_section,
};

use super::{draw_flat, draw_folded};
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
    ]
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

/// For looking at: `DROPWISE_PICTURES=folder cargo test -p dropwise-paper bent`.
#[test]
fn pictures_can_be_written_for_looking_at() {
    let Some(folder) = std::env::var_os("DROPWISE_PICTURES") else { return };
    for (name, part) in parts() {
        let flat = lay_flat(&part);
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join(format!("{name}-flat.svg")), draw_flat(&flat, name, &DrawingStyle::default()))
            .unwrap();
        std::fs::write(folder.join(format!("{name}-folded.svg")), draw_folded(&flat, name, &DrawingStyle::default()))
            .unwrap();
    }
}
