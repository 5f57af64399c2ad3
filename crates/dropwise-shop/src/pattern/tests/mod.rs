//! Tests of whole patterns. Areas and lengths by closed form: elementary geometry throughout.

mod bases;
mod faults;
mod features;
mod generators;
mod properties;

use super::*;

/// Sums of a few dozen terms of a few hundred mm: rounding stays far below this.
const EXACT: f64 = 1e-9;

fn flat(base: Base, features: Vec<Feature>) -> FlatPattern {
    Pattern { base, features }.build().unwrap_or_else(|errors| panic!("{errors}"))
}

fn messages(base: Base, features: Vec<Feature>) -> Vec<String> {
    match (Pattern { base, features }).build() {
        Ok(flat) => panic!("built, area {}", flat.shape.area()),
        Err(errors) => errors.into_iter().map(|error| error.to_string()).collect(),
    }
}

fn plate(width: f64, height: f64) -> Base {
    Base::rectangle(width, height, Corner::Sharp)
}

fn at_center(dx: f64, dy: f64, cut: Cut) -> Feature {
    Feature { position: Position::new(FromX::Center(dx), FromY::Center(dy)), cut }
}

fn hole(dx: f64, dy: f64, diameter: f64) -> Feature {
    at_center(dx, dy, Cut::Hole { diameter })
}

#[track_caller]
fn assert_close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < EXACT, "{found} is not {wanted}");
}
