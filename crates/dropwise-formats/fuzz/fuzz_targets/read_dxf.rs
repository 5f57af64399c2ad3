//! Whatever the bytes: no panic, no endless loop, and no shape that is not finite.
#![no_main]

use dropwise_formats::{drawing::DrawingOptions, dxf::read_dxf};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(drawing) = read_dxf(bytes, &DrawingOptions::default()) {
        assert!(drawing.shapes.iter().all(|drawn| drawn.shape.area().is_finite()));
    }
});
