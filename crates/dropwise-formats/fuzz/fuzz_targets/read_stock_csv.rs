//! Whatever the bytes: no panic, no endless loop, and no list without a sheet.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let options = dropwise_formats::stock_csv::StockCsvOptions::default();
    if let Ok(list) = dropwise_formats::stock_csv::read_stock_csv(std::path::Path::new("rack.csv"), bytes, &options) {
        assert!(!list.rows.is_empty());
    }
});
