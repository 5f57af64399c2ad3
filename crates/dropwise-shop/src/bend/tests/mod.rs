//! The figures of a bend against published ones, each with its source beside it.

mod dies;
mod flat_length;
mod forces;
mod generators;
mod holes;
mod k_factors;
mod metals;
mod properties;

/// Millimetres in an inch.
const INCH: f64 = 25.4;

/// Panics unless the two agree to within `tolerance`.
#[track_caller]
fn assert_near(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found - wanted).abs() <= tolerance, "{what}: found {found}, wanted {wanted} within {tolerance}");
}
