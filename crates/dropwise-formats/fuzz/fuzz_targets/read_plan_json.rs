//! Whatever the text: no panic, and what is read is written and read again as it was.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(document) = dropwise_formats::PlanDocument::read(text) {
        assert_eq!(dropwise_formats::PlanDocument::read(&document.write()), Ok(document));
    }
});
