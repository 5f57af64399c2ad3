//! How far sheet as it is sold may be off its nominal thickness, and which two nominal thicknesses one caliper cannot tell
//! apart.
//!
//! 11 ga and 1/8 in are two stocks, at two prices, whose mill tolerances overlap: 0.125 in lies inside the band of 11 ga.
//! A shop takes one for the other, and lays its flat patterns anew for the sheet it has.

use crate::material::Material;
use crate::source::Source;
use crate::thickness::Thickness;

const INCH: f64 = 25.4;

/// A mill's tolerance of one nominal thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MillTolerance {
    /// Plus or minus, mm.
    pub plus_minus: f64,
    /// What sheet it is of, in a few words.
    pub of: &'static str,
    /// Where it comes from.
    pub source: Source,
}

/// Why one sheet may stand in for another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandIn {
    /// The tolerance that covers both.
    pub tolerance: MillTolerance,
    /// Nominal thickness that it belongs to, mm.
    pub nominal: f64,
}

/// Source of [`GAUGE_TOLERANCES`].
const GAUGE_TOLERANCE_SOURCE: Source =
    Source::confirmed("Cold-Rolled Sheet Thickness Tolerances; service-centre tables after ASTM A568, A653 and A924");

/// Gauge of carbon steel and plus or minus, in: hot rolled and pickled, cold rolled, galvanized; `None` where not listed.
const GAUGE_TOLERANCES: [(u32, Option<f64>, f64, f64); 11] = [
    (10, Some(0.008), 0.006, 0.009),
    (11, Some(0.008), 0.006, 0.009),
    (12, Some(0.008), 0.006, 0.009),
    (13, Some(0.007), 0.005, 0.008),
    (14, Some(0.007), 0.005, 0.008),
    (16, Some(0.006), 0.005, 0.006),
    (18, Some(0.005), 0.004, 0.005),
    (20, None, 0.003, 0.004),
    (22, None, 0.003, 0.004),
    (24, None, 0.003, 0.004),
    (26, None, 0.002, 0.003),
];

/// Source of [`HOT_ROLLED`].
const HOT_ROLLED_SOURCE: Source = Source::confirmed("EN 10051 table, category A, to 1200 mm wide");

/// Metric hot-rolled sheet: up to this nominal, plus or minus, mm.
const HOT_ROLLED: [(f64, f64); 4] = [(2.0, 0.17), (2.5, 0.18), (3.0, 0.20), (4.0, 0.22)];

/// Source of [`COATED`].
const COATED_SOURCE: Source = Source::confirmed("EN 10143 extract, under 260 MPa, to 1200 mm wide");

/// Metric hot-dip coated sheet: up to this nominal, plus or minus, mm. The first row begins above 0.6.
const COATED: [(f64, f64); 7] =
    [(0.8, 0.05), (1.0, 0.06), (1.2, 0.07), (1.6, 0.10), (2.0, 0.12), (2.5, 0.14), (3.0, 0.17)];

/// Source of [`STAINLESS`].
const STAINLESS_SOURCE: Source = Source::confirmed("ASTM A480 table, cold rolled, to 40 in wide");

/// Stainless sheet: nominal and plus or minus, mm.
const STAINLESS: [(f64, f64); 6] = [(1.0, 0.06), (1.2, 0.08), (1.5, 0.08), (2.0, 0.10), (2.5, 0.10), (3.0, 0.13)];

/// The mill's tolerance of a nominal thickness; `None` where no table was found: aluminium, brass, copper, and sheet outside
/// the tables.
///
/// # Examples
/// ```
/// use dropwise_geometry::Unit;
/// use dropwise_shop::{Material, Thickness, mill_tolerance};
/// let eleven = Thickness::parse("11 ga", Material::MildSteel, Unit::Inch)?;
/// assert!((mill_tolerance(Material::MildSteel, eleven).unwrap().plus_minus - 0.008 * 25.4).abs() < 1e-9);
/// # Ok::<(), dropwise_shop::ThicknessError>(())
/// ```
#[must_use]
pub fn mill_tolerance(material: Material, thickness: Thickness) -> Option<MillTolerance> {
    let found = |plus_minus, of, source| Some(MillTolerance { plus_minus, of, source });
    let up_to = |rows: &[(f64, f64)]| {
        rows.iter().find(|(to, _)| thickness.millimetres() <= to + 1e-9).map(|(_, plus_minus)| *plus_minus)
    };
    let gauge = thickness.nominal_gauge(material).map(|gauge| gauge.number());
    let listed = gauge.and_then(|number| GAUGE_TOLERANCES.into_iter().find(|row| row.0 == number));
    match (material, listed) {
        // Hot or cold rolled nobody says: the wider of the two.
        (Material::MildSteel, Some((_, Some(hot), ..))) => {
            found(hot * INCH, "hot-rolled, pickled", GAUGE_TOLERANCE_SOURCE)
        }
        (Material::MildSteel, Some((_, None, cold, _))) => found(cold * INCH, "cold-rolled", GAUGE_TOLERANCE_SOURCE),
        (Material::GalvanizedSteel, Some((_, _, _, zinc))) => found(zinc * INCH, "galvanized", GAUGE_TOLERANCE_SOURCE),
        (Material::MildSteel, None) => found(up_to(&HOT_ROLLED)?, "hot-rolled", HOT_ROLLED_SOURCE),
        (Material::GalvanizedSteel, None) => {
            found(up_to(&COATED).filter(|_| thickness.millimetres() > 0.6)?, "hot-dip coated", COATED_SOURCE)
        }
        (Material::Stainless304, _) => found(up_to(&STAINLESS)?, "cold-rolled", STAINLESS_SOURCE),
        _ => None,
    }
}

/// Whether sheet of one nominal thickness may stand in for another of the same metal: each lies within the mill's tolerance of
/// the other, or of the one that has a table. `None` for two that are one stock.
///
/// # Examples
/// ```
/// use dropwise_geometry::Unit;
/// use dropwise_shop::{Material, Thickness, stands_in};
/// let steel = |text| Thickness::parse(text, Material::MildSteel, Unit::Inch).unwrap();
/// assert!(stands_in(Material::MildSteel, steel("11 ga"), steel("1/8 in")).is_some());
/// assert!(stands_in(Material::MildSteel, steel("10 ga"), steel("1/8 in")).is_none());
/// ```
#[must_use]
pub fn stands_in(material: Material, one: Thickness, other: Thickness) -> Option<StandIn> {
    if crate::stock_class(material, one) == crate::stock_class(material, other) {
        return None;
    }
    let apart = (one.millimetres() - other.millimetres()).abs();
    let of = |nominal: Thickness| {
        mill_tolerance(material, nominal).map(|tolerance| StandIn { tolerance, nominal: nominal.millimetres() })
    };
    // A gauge is what is rolled; a fraction is most often the same sheet under another name.
    let is_gauge = |nominal: &Thickness| nominal.nominal_gauge(material).is_some();
    let (first, second) = if is_gauge(&one) || !is_gauge(&other) { (one, other) } else { (other, one) };
    let by = of(first).or_else(|| of(second))?;
    // Two gauges of one system are two sheets, however wide their bands.
    let are_gauges = is_gauge(&one) && is_gauge(&other);
    (!are_gauges && apart <= by.tolerance.plus_minus + 1e-9).then_some(by)
}

#[cfg(test)]
mod tests {
    use dropwise_geometry::Unit;

    use super::*;

    fn sheet(material: Material, text: &str) -> Thickness {
        Thickness::parse(text, material, Unit::Millimetre).unwrap()
    }

    /// The service-centre tables after ASTM A568 and A653: 11 ga 0.1196 ± 0.008 in hot rolled, 0.1233 ± 0.009 galvanized,
    /// 22 ga ± 0.003 cold rolled; so the printed band of hot-rolled 11 ga, 0.1116 to 0.1276, holds 1/8 in.
    #[test]
    fn bands_of_gauges() {
        let steel = Material::MildSteel;
        let of = |material, text| mill_tolerance(material, sheet(material, text)).map(|t| t.plus_minus / INCH);
        let near = |found: Option<f64>, expected: f64| (found.unwrap() - expected).abs() < 1e-9;
        assert!(near(of(steel, "11 ga"), 0.008) && near(of(steel, "16 ga"), 0.006) && near(of(steel, "22 ga"), 0.003));
        assert!(near(of(Material::GalvanizedSteel, "11 ga"), 0.009));
        assert!(near(of(Material::GalvanizedSteel, "22 ga"), 0.004));
        assert_eq!(of(Material::Copper, "16 ga"), None);
    }

    /// EN 10051: to 2.0 mm 0.17, to 3.0 0.20. EN 10143: 1.2 to 1.6 mm 0.10. ASTM A480: 2.0 mm 0.10.
    #[test]
    fn bands_of_millimetres() {
        let of = |material, text| mill_tolerance(material, sheet(material, text)).map(|t| t.plus_minus);
        assert_eq!(of(Material::MildSteel, "2 mm"), Some(0.17));
        assert_eq!(of(Material::MildSteel, "3 mm"), Some(0.20));
        assert_eq!(of(Material::GalvanizedSteel, "1.5 mm"), Some(0.10));
        assert_eq!(of(Material::Stainless304, "2 mm"), Some(0.10));
        assert_eq!(of(Material::MildSteel, "12 mm"), None);
    }

    #[test]
    fn which_stands_in_for_which() {
        let pairs = |material, one, other| stands_in(material, sheet(material, one), sheet(material, other)).is_some();
        let steel = Material::MildSteel;
        for (one, other) in [("11 ga", "1/8 in"), ("16 ga", "1.5 mm"), ("16 ga", "1/16 in"), ("11 ga", "3 mm")] {
            assert!(pairs(steel, one, other) && pairs(steel, other, one), "{one}, {other}");
        }
        // 10 ga is 0.0095 in over 1/8; neighbouring gauges are two sheets; one stock needs no stand-in.
        for (one, other) in [("10 ga", "1/8 in"), ("22 ga", "24 ga"), ("2 mm", "3 mm"), ("11 ga", "0.120 in")] {
            assert!(!pairs(steel, one, other), "{one}, {other}");
        }
        assert!(pairs(Material::GalvanizedSteel, "11 ga", "1/8 in"));
    }
}
