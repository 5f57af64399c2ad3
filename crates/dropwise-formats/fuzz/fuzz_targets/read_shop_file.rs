//! Whatever the text: no panic, no endless loop.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let _ = dropwise_formats::parse_shop(std::path::Path::new("fuzz/shop"), text, dropwise_geometry::Unit::Inch);
});
