//! Blanks worked out by hand, and published worked examples.

use dropwise_geometry::Bounds;

use crate::bend::{Bend, Development, KFactor, LegDatum};
use crate::fold::{BentPart, Edge, Flange, Unfolding, channel, tray, unfold};
use crate::pattern::{Base, Corner, Pattern};

const INCH: f64 = 25.4;

fn with_k(part: &BentPart, k: f64) -> Unfolding {
    let k = KFactor::given(k).unwrap();
    unfold(part, &|_| Development::KFactor(k.clone())).unwrap_or_else(|errors| panic!("{errors}"))
}

fn by(part: &BentPart, development: Development) -> Unfolding {
    unfold(part, &|_: &Bend| development.clone()).unwrap_or_else(|errors| panic!("{errors}"))
}

fn size(flat: &Unfolding) -> (f64, f64) {
    let bounds: Bounds = flat.shape.bounds();
    (bounds.width(), bounds.height())
}

/// A strip 10 wide whose first leg is the base and whose others follow on one another, all bent up square.
fn strip(legs: &[f64], thickness: f64, radius: f64) -> BentPart {
    let base = Base::rectangle(legs[0], 10.0, Corner::Sharp);
    let mut part = BentPart::new(thickness, radius, Pattern::plain(base));
    let chain = legs[1..].iter().enumerate().rev().fold(None, |inner: Option<Flange>, (i, &leg)| {
        let edge = if i == 0 { Edge::Right } else { Edge::Top };
        let flange = Flange::new(&format!("leg {}", i + 2), edge, leg);
        Some(inner.into_iter().fold(flange, Flange::with))
    });
    part.flanges.extend(chain);
    part
}

#[test]
fn tray_has_the_blank_worked_out_by_hand() {
    // T 2, R 2, K 0.44: SB = 4, BA = π/2 (2 + 0.88) = 4.523893. Flats: 200 - 8 = 192, 100 - 8 = 92, 30 - 4 = 26.
    let flat = with_k(&tray(200.0, 100.0, 30.0, 2.0, 2.0), 0.44);
    let allowance = 4.523_893_421_169_302;
    let (width, height) = size(&flat);
    assert!((width - (192.0 + 2.0 * (26.0 + allowance))).abs() < 1e-9);
    assert!((height - (92.0 + 2.0 * (26.0 + allowance))).abs() < 1e-9);
    // A cross: the middle and four walls, each with its bend.
    let area = 192.0 * 92.0 + 2.0 * (192.0 + 92.0) * (26.0 + allowance);
    assert!((flat.shape.area() - area).abs() < 1e-8);
    assert_eq!(flat.shape.exterior().vertices().len(), 12, "a cross has twelve corners");
    assert_eq!((flat.faces.len(), flat.bends.len()), (5, 4));
}

#[test]
fn square_bend_in_mild_steel_as_published() {
    // K-Factor, Bend Allowance and Bend Deduction: T 0.090, R 0.125, K 0.44: BA 0.2585 in; derived from it, flat 3.3286.
    let flat = with_k(&strip(&[2.0 * INCH, 1.5 * INCH], 0.090 * INCH, 0.125 * INCH), 0.44);
    // Printed with the last digit cut: 0.258553.
    assert!((flat.bends[0].figures.allowance / INCH - 0.2585).abs() < 1e-4);
    assert_eq!(format!("{:.4}", size(&flat).0 / INCH), "3.3286");
}

#[test]
fn strip_of_three_bends_as_published() {
    // 90 Degree Bends: T 0.050, R 0.032, outside dimensions 0.740, 0.420, 1.050, 1.000: BA 0.085, BD 0.079, flat 2.973.
    // The page rounds BD before it is tripled; unrounded it is 2.9739.
    let legs = [0.740, 0.420, 1.050, 1.000].map(|leg| leg * INCH);
    let flat = by(&strip(&legs, 0.050 * INCH, 0.032 * INCH), Development::Empirical);
    let figures = flat.bends[0].figures;
    assert_eq!(format!("{:.3}", figures.allowance / INCH), "0.085");
    assert_eq!(format!("{:.3}", figures.deduction.unwrap() / INCH), "0.079");
    assert_eq!(format!("{:.4}", size(&flat).0 / INCH), "2.9739");
    assert!((size(&flat).0 / INCH - 2.973).abs() < 0.0015);
}

#[test]
fn channel_of_the_airframe_handbook() {
    // Aviation Maintenance Technician Handbook, Airframe, chapter 4: 2024-T3, T 0.040, R 0.16, legs 1.00, 2.00, 1.00:
    // setback 0.2, flats 0.8, 1.6, 0.8 (confirmed). Developed width about 3.74 (from memory; its BA is rounded to
    // 0.27), 3.758 by the empirical rule.
    let part = channel(10.0, 2.0 * INCH, INCH, 0.040 * INCH, 0.16 * INCH);
    let flat = by(&part, Development::Empirical);
    assert!((flat.bends[0].edge_taken / INCH - 0.2).abs() < 1e-12);
    let heights: Vec<f64> = flat.faces.iter().map(|face| face.region.bounds().height() / INCH).collect();
    for (found, printed) in heights.iter().zip([1.6, 0.8, 0.8]) {
        assert!((found - printed).abs() < 1e-9, "{found}");
    }
    let developed = size(&flat).1 / INCH;
    assert_eq!(format!("{developed:.3}"), "3.758");
    assert!((developed - 3.74).abs() < 0.02);
}

#[test]
fn strip_of_the_trade_tables_by_din_6935() {
    // Trade tables book, from memory: legs 25, 20, 15, s 2, r 4, v 4.5 each: 51 mm. Unrounded 51.08.
    let flat = by(&strip(&[25.0, 20.0, 15.0], 2.0, 4.0), Development::Din6935);
    assert_eq!(format!("{:.2}", size(&flat).0), "51.08");
    assert_eq!(size(&flat).0.round(), 51.0);
}

#[test]
fn sizes_told_inside_outside_or_to_the_bend_line_give_one_blank() {
    let (thickness, radius, allowance) = (2.0, 2.0, std::f64::consts::FRAC_PI_2 * 2.88);
    let told = |datum, base: f64, height: f64| {
        let pattern = Pattern::plain(Base::rectangle(base, 50.0, Corner::Sharp));
        let flange = |name, edge| Flange::new(name, edge, height).told(datum);
        BentPart::new(thickness, radius, pattern).with(flange("left", Edge::Left)).with(flange("right", Edge::Right))
    };
    // Straight parts 92 and 26 throughout.
    for (datum, base, height) in [
        (LegDatum::Outside, 100.0, 30.0),
        (LegDatum::OutsideTangent, 100.0, 30.0),
        (LegDatum::Inside, 96.0, 28.0),
        (LegDatum::Straight, 92.0, 26.0),
        (LegDatum::BendLine, 92.0 + allowance, 26.0 + allowance / 2.0),
    ] {
        let flat = with_k(&told(datum, base, height), 0.44);
        assert!((size(&flat).0 - (92.0 + 2.0 * (26.0 + allowance))).abs() < 1e-9, "{datum}");
    }
}
