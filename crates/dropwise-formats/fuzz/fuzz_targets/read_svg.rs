//! Whatever the text, and whatever the job says of it: no panic, no endless loop, and no shape that is not finite.
#![no_main]

use dropwise_formats::drawing::{DrawingOptions, FrameUse, LayerUse, picture};
use dropwise_formats::svg::read_svg;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: (u8, &str)| {
    let (keys, text) = input;
    let has = |bit: u8| keys & bit != 0;
    let options = DrawingOptions {
        open_lines: has(1).then_some(LayerUse::Mark),
        skips_faulty: has(2),
        skips_unknown: has(4),
        frame: if has(8) { FrameUse::LeaveOut } else { FrameUse::Guess },
        splits_shared: has(16),
        only_piece: has(32).then_some(1),
        is_stock: has(64),
        true_width: has(128).then_some(100.0),
        ..DrawingOptions::default()
    };
    if let Ok(drawing) = read_svg(text, &options) {
        assert!(drawing.shapes.iter().all(|drawn| drawn.shape.area().is_finite()));
        assert!(!picture(&drawing, "fuzz").is_empty());
    }
});
