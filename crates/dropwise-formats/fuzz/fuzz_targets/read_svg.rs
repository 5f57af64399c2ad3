//! Whatever the text: no panic, no endless loop, and no shape that is not finite.
#![no_main]

use dropwise_formats::{drawing::DrawingOptions, svg::read_svg};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(drawing) = read_svg(text, &DrawingOptions::default()) {
        assert!(drawing.shapes.iter().all(|drawn| drawn.shape.area().is_finite()));
    }
});
