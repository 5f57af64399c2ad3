//! When two sheets are the same stock.

use dropwise_geometry::Unit;
use dropwise_model::StockClass;

use crate::material::Material;
use crate::thickness::{Thickness, sixty_fourths};

/// The stock that a sheet belongs to, or that a part is cut from.
///
/// Two pieces are the same stock when material and *nominal* thickness are the same. The nominal thickness is
///
/// 1. the gauge in the metal's own system, when the thickness was given as one or agrees with one to half a thousandth
///    of an inch (0.0127 mm);
/// 2. otherwise the thickness to the nearest hundredth of a millimetre, halves upward.
///
/// So mild steel of 3.04 mm, of .120 in and of 11 ga are one stock, and 3.0 mm is another: metric 3 mm and 11 ga are
/// sold as different sheets, although mill tolerances are wider than what parts them. Stainless of 1/8 in is 11 ga; mild
/// steel of 1/8 in is not. Every thickness has one nominal, so being the same stock is transitive; two thicknesses that
/// straddle a limit are apart however close they are.
///
/// The label reads `mild steel, 11 ga (3.04 mm, 0.120 in)` or `mild steel, 3.18 mm (0.125 in)`.
///
/// # Examples
/// ```
/// use dropwise_shop::{Material, Thickness, stock_class};
/// let class = |millimetres| stock_class(Material::MildSteel, Thickness::new(millimetres).unwrap());
/// assert_eq!(class(3.04), class(3.048));
/// assert_ne!(class(3.04), class(3.0));
/// ```
///
/// # Source
/// Common practice, no source.
#[must_use]
pub fn stock_class(material: Material, thickness: Thickness) -> StockClass {
    let size = |millimetres: f64| {
        // A millionth is added so that 1/8 in, which is 3.175 mm but for its last bit, goes up like 3.18 mm.
        let hundredths = (millimetres * 100.0 + 1e-6).round();
        (hundredths / 100.0, hundredths / 2540.0)
    };
    let label = match thickness.nominal_gauge(material) {
        Some(gauge) => {
            let (millimetres, inches) = size(gauge.thickness());
            format!("{material}, {gauge} ({millimetres:.2} mm, {inches:.3} in)")
        }
        None => {
            let (millimetres, inches) = size(thickness.millimetres());
            format!("{material}, {millimetres:.2} mm ({inches:.3} in)")
        }
    };
    StockClass::new(&label)
}

/// The label of a stock as a shop that measures in `unit` says it: as it is beside metric units, inches first beside
/// others, in 64ths where the sheet is one. What is no label of [`stock_class`] stays as it is.
///
/// # Examples
/// ```
/// use dropwise_geometry::Unit;
/// use dropwise_shop::stock_in_words;
/// assert_eq!(stock_in_words("mild steel, 3.18 mm (0.125 in)", Unit::Inch), "mild steel, 1/8 in (3.18 mm)");
/// ```
#[must_use]
pub fn stock_in_words(label: &str, unit: Unit) -> String {
    let words = if unit.is_metric() { None } else { inches_first(label) };
    words.unwrap_or_else(|| label.to_owned())
}

/// A label with the inches before the millimetres.
fn inches_first(label: &str) -> Option<String> {
    let (head, sizes) = label.strip_suffix(')')?.rsplit_once(" (")?;
    if let Some((metric, inches)) = sizes.split_once(" mm, ") {
        return Some(format!("{head} ({inches}, {metric} mm)"));
    }
    let (material, metric) = head.strip_suffix(" mm")?.rsplit_once(", ")?;
    let millimetres: f64 = metric.parse().ok()?;
    let inches = sixty_fourths(millimetres).unwrap_or_else(|| sizes.to_owned());
    Some(format!("{material}, {inches} ({metric} mm)"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::GaugeSystem;

    fn label(material: Material, millimetres: f64) -> String {
        stock_class(material, Thickness::new(millimetres).unwrap()).label().to_owned()
    }

    #[test]
    fn a_gauge_and_what_people_write_for_it_are_one_stock() {
        let eleven = "mild steel, 11 ga (3.04 mm, 0.120 in)";
        let gauge = GaugeSystem::ManufacturersStandard.gauge(11).unwrap();
        assert_eq!(stock_class(Material::MildSteel, gauge.into()).label(), eleven);
        for millimetres in [3.04, 3.037, 0.120 * 25.4, 0.1196 * 25.4] {
            assert_eq!(label(Material::MildSteel, millimetres), eleven, "{millimetres}");
        }
        assert_eq!(label(Material::MildSteel, 3.0), "mild steel, 3.00 mm (0.118 in)");
        assert_eq!(label(Material::MildSteel, 3.02), "mild steel, 3.02 mm (0.119 in)");
    }

    #[test]
    fn metric_sizes_beside_a_gauge_stay_themselves() {
        for (millimetres, expected) in [
            (1.5, "mild steel, 1.50 mm (0.059 in)"), // 16 ga is 1.518
            (1.2, "mild steel, 1.20 mm (0.047 in)"), // 18 ga is 1.215
            (2.0, "mild steel, 2.00 mm (0.079 in)"), // 14 ga is 1.898
        ] {
            assert_eq!(label(Material::MildSteel, millimetres), expected);
        }
    }

    #[test]
    fn an_eighth_of_an_inch_is_a_gauge_in_stainless_only() {
        assert_eq!(label(Material::Stainless304, 3.175), "304 stainless steel, 11 ga (3.18 mm, 0.125 in)");
        assert_eq!(label(Material::MildSteel, 3.175), "mild steel, 3.18 mm (0.125 in)");
        assert_eq!(label(Material::MildSteel, 3.18), label(Material::MildSteel, 25.4 / 8.0));
        assert_ne!(label(Material::MildSteel, 3.17), label(Material::MildSteel, 3.18));
        assert_ne!(label(Material::MildSteel, 3.2), label(Material::MildSteel, 3.18));
    }

    #[test]
    fn one_gauge_number_is_a_stock_of_its_own_in_each_metal() {
        let mut labels: Vec<String> = Material::ALL
            .map(|material| {
                stock_class(material, GaugeSystem::of(material).gauge(16).unwrap().into()).label().to_owned()
            })
            .to_vec();
        labels.sort_unstable();
        labels.dedup();
        assert_eq!(labels.len(), Material::ALL.len());
    }

    #[test]
    fn inch_shops_hear_inches_first() {
        for (label, wanted) in [
            ("mild steel, 3.18 mm (0.125 in)", "mild steel, 1/8 in (3.18 mm)"),
            ("mild steel, 4.76 mm (0.188 in)", "mild steel, 3/16 in (4.76 mm)"),
            ("mild steel, 3.00 mm (0.118 in)", "mild steel, 0.118 in (3.00 mm)"),
            ("mild steel, 11 ga (3.04 mm, 0.120 in)", "mild steel, 11 ga (0.120 in, 3.04 mm)"),
            ("plate", "plate"),
            ("", ""),
        ] {
            assert_eq!(stock_in_words(label, Unit::Foot), wanted);
            assert_eq!(stock_in_words(label, Unit::Metre), label);
        }
    }

    /// No gauge is lost in another's tolerance, whatever the metal.
    #[test]
    fn every_gauge_is_a_stock_of_its_own() {
        for material in Material::ALL {
            let system = GaugeSystem::of(material);
            let mut labels: Vec<String> =
                system.gauges().map(|gauge| stock_class(material, gauge.into()).label().to_owned()).collect();
            labels.sort_unstable();
            labels.dedup();
            assert_eq!(labels.len(), system.gauges().count(), "{material}");
        }
    }

    /// A thickness read back from the label of its class belongs to that class.
    #[test]
    fn the_nominal_of_a_nominal_is_itself() {
        for material in Material::ALL {
            for hundredths in 40..1000 {
                let class = stock_class(material, Thickness::new(f64::from(hundredths) / 100.0).unwrap());
                let (before, _) = class.label().split_once(" mm").expect("every label names millimetres");
                let printed = before.rsplit([' ', '(']).next();
                let number: f64 = printed.and_then(|number| number.parse().ok()).unwrap();
                assert_eq!(stock_class(material, Thickness::new(number).unwrap()), class);
            }
        }
    }
}
