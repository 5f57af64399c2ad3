//! The figures of a bend against published ones, each with its source beside it.

mod flat_length;
mod generators;
mod k_factors;
mod properties;

/// Millimetres in an inch.
const INCH: f64 = 25.4;

/// Panics unless the two agree to within `tolerance`.
#[track_caller]
fn assert_near(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found - wanted).abs() <= tolerance, "{what}: found {found}, wanted {wanted} within {tolerance}");
}
