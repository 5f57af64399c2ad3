//! The demo job of bent parts: laid flat, folded up, nested on the sheets there are, and proved.

use std::ops::ControlFlow;
use std::path::Path;

use dropwise_formats::load_job;
use dropwise_nest::{Settings, nest};
use dropwise_tests::judge;

#[test]
fn a_dozen_bent_parts_come_out_flat_folded_and_nested() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../data-demo/bent.toml");
    let loaded = load_job(&path).unwrap_or_else(|errors| panic!("{errors:#?}"));
    assert!(loaded.parts.iter().filter(|part| part.bent.is_some()).count() >= 12);
    for detail in &loaded.parts {
        let bent = detail.bent.as_deref().expect("every part is bent");
        let folded = bent.unfolding.fold();
        // The straight part of each face that is bent up is as high as told, less what its bend takes; folding moves
        // it as a whole, so its size in space is its size as told.
        for (bend, face) in bent.unfolding.bends.iter().zip(1..) {
            let flat = &bent.unfolding.faces[face];
            let space = folded.faces[face];
            let height = flat.told_size.1 - bend.own_taken;
            let root = bend.end[0].lerp(bend.end[1], 0.5);
            let away = (bend.end[0] - bend.start[0]).unit().expect("a bend zone has a width");
            let edge = root + away * height;
            let measured = (space.at(edge, 0.0) - space.at(root, 0.0)).length();
            assert!((measured - height).abs() < 1e-9, "{}: {measured} is not {height}", flat.name);
            // And the edge of the pattern lies just there.
            let bounds = flat.region.exterior().vertices().iter().map(|v| (v.point - root).dot(away));
            let reach = bounds.fold(f64::NEG_INFINITY, f64::max);
            let is_bent_on = bent.unfolding.bends.iter().any(|other| other.parent == face);
            assert!(is_bent_on || (reach - height).abs() < 1e-6, "{}: {reach} is not {height}", flat.name);
        }
    }
    let settings =
        Settings { seed: 1, time_limit: None, rounds: Some(4), chains: 1, threads: 0, ..Settings::default() };
    let plan = nest(&loaded.job, &settings, |_| ControlFlow::Continue(())).expect("a plan");
    assert_eq!(judge(&loaded.job, &plan), Vec::<String>::new());
    assert!(plan.layout().unplaced.is_empty(), "the stock holds them all: {:?}", plan.layout().unplaced);
}
