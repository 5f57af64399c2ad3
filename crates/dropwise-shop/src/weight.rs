//! What sheet weighs, by one of two rules that differ by 2.5 %.

use dropwise_geometry::Unit;

use crate::material::Material;
use crate::thickness::Thickness;

/// Kilograms in a pound, exact by definition (international yard and pound agreement, 1959).
pub const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;

/// Square millimetres in a square foot, exact: (12 × 25.4)².
pub const SQUARE_MILLIMETRES_PER_SQUARE_FOOT: f64 = 304.8 * 304.8;

/// How the weight of a sheet is worked out from its thickness.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum WeightRule {
    /// Thickness times density: what a scale shows.
    #[default]
    TrueDensity,
    /// The weight printed in the gauge book for the sheet's gauge: what steel sheet is often billed by. For carbon steel
    /// and galvanized sheet it is 41.82 lb/ft² for each inch of thickness, 2.5 % above true density. Sheet that is no
    /// gauge of a system with printed weights is weighed by true density all the same, plate and aluminium among it.
    GaugeBook,
}

impl WeightRule {
    /// In words, for a report.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::TrueDensity => "true density",
            Self::GaugeBook => "gauge book weight (steel 41.82 lb/ft² per inch, 2.5 % above true density)",
        }
    }

    /// Weight of a square millimetre of sheet, kg.
    ///
    /// # Source
    /// Densities: see [`Material::density`]. Gauge book: Steel Buyers Basics.
    #[must_use]
    pub fn weight_per_area(self, material: Material, thickness: Thickness) -> f64 {
        let printed = match self {
            Self::TrueDensity => None,
            Self::GaugeBook => thickness.nominal_gauge(material).and_then(|gauge| gauge.nominal_weight()),
        };
        // 1 g/cm³ is 1e-6 kg/mm³.
        printed.unwrap_or(material.density() * 1e-6 * thickness.millimetres())
    }
}

/// lb/ft² as kg/mm².
#[must_use]
pub fn from_pounds_per_square_foot(pounds_per_square_foot: f64) -> f64 {
    pounds_per_square_foot * KILOGRAMS_PER_POUND / SQUARE_MILLIMETRES_PER_SQUARE_FOOT
}

/// kg/mm² as lb/ft².
#[cfg(test)]
pub(crate) fn to_pounds_per_square_foot(kilograms_per_square_millimetre: f64) -> f64 {
    kilograms_per_square_millimetre * SQUARE_MILLIMETRES_PER_SQUARE_FOOT / KILOGRAMS_PER_POUND
}

/// Pounds as kilograms.
#[must_use]
pub fn from_pounds(pounds: f64) -> f64 {
    pounds * KILOGRAMS_PER_POUND
}

/// Kilograms as pounds.
#[must_use]
pub fn to_pounds(kilograms: f64) -> f64 {
    kilograms / KILOGRAMS_PER_POUND
}

/// A weight as a report prints it beside lengths in `unit`: kilograms, or pounds beside inches and feet. Below ten, three
/// decimals are printed, from there on two.
///
/// # Examples
/// ```
/// use dropwise_geometry::Unit;
/// use dropwise_shop::weight::{format_weight, from_pounds};
/// assert_eq!(format_weight(from_pounds(21.6), Unit::Inch), "21.60 lb");
/// assert_eq!(format_weight(0.0376, Unit::Millimetre), "0.038 kg");
/// ```
#[must_use]
pub fn format_weight(kilograms: f64, unit: Unit) -> String {
    let (amount, symbol) = if unit.is_metric() { (kilograms, "kg") } else { (to_pounds(kilograms), "lb") };
    let decimals = if amount.abs() < 10.0 { 3 } else { 2 };
    // Adding zero makes nothing of minus nothing.
    format!("{:.decimals$} {symbol}", amount + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::GaugeSystem;

    const SQUARE_INCH: f64 = 25.4 * 25.4;

    fn gauge(material: Material, number: u32) -> Thickness {
        GaugeSystem::of(material).gauge(number).unwrap().into()
    }

    /// Steel Buyers Basics and Weight of Sheet Steel: lb/ft² by gauge; 48 × 96 in is 32 ft².
    #[test]
    fn whole_sheets_weigh_what_the_gauge_book_says() {
        for (material, number, width, length, pounds) in [
            (Material::MildSteel, 16, 48.0, 96.0, 80.0),
            (Material::MildSteel, 11, 48.0, 96.0, 160.0),
            (Material::MildSteel, 10, 48.0, 96.0, 180.0),
            (Material::GalvanizedSteel, 16, 48.0, 96.0, 85.0),
            (Material::MildSteel, 11, 24.0, 30.0, 25.0),
        ] {
            let area = width * length * SQUARE_INCH;
            let book = WeightRule::GaugeBook.weight_per_area(material, gauge(material, number)) * area;
            assert!((to_pounds(book) - pounds).abs() < 1e-9, "{material} {number} ga: {} lb", to_pounds(book));
            // Steel Buyers Basics: 40.80 true against 41.82 in the book, 2.5 % apart; 7.85 g/cm³ is 40.84.
            let scale = WeightRule::TrueDensity.weight_per_area(material, gauge(material, number)) * area;
            assert!((book / scale - 41.82 / 40.80).abs() < 0.0015, "{material} {number} ga: {}", book / scale);
        }
    }

    /// Stainless Steel Gauge Chart: 16 ga 2.601 lb/ft², 1/4 in 10.404 lb/ft². There the two rules agree.
    #[test]
    fn stainless_weighs_the_same_by_both_rules() {
        let sixteen = gauge(Material::Stainless304, 16);
        let quarter = Thickness::new(6.35).unwrap();
        for rule in [WeightRule::TrueDensity, WeightRule::GaugeBook] {
            for (thickness, pounds) in [(sixteen, 2.601), (quarter, 10.404)] {
                let weight = to_pounds_per_square_foot(rule.weight_per_area(Material::Stainless304, thickness));
                assert!((weight - pounds).abs() < 0.001, "{}: {weight}", rule.name());
            }
        }
    }

    /// What a mill certificate in metric countries starts from: 7.85 kg for each square metre and millimetre
    /// (Density Table of Metals).
    #[test]
    fn a_square_metre_of_steel_a_millimetre_thick() {
        let weight = WeightRule::default().weight_per_area(Material::MildSteel, Thickness::new(1.0).unwrap());
        assert!((weight * 1e6 - 7.85).abs() < 1e-12);
    }

    /// Common practice, no source: a drop of 1/8 in steel, 33 1/2 × 19 1/2 in, weighs about 23 lb.
    #[test]
    fn a_drop_as_sold_by_the_piece() {
        let plate = Thickness::new(25.4 / 8.0).unwrap();
        for rule in [WeightRule::TrueDensity, WeightRule::GaugeBook] {
            let weight = rule.weight_per_area(Material::MildSteel, plate) * 33.5 * 19.5 * SQUARE_INCH;
            assert!((to_pounds(weight) - 23.0).abs() < 0.5, "{} lb", to_pounds(weight));
        }
    }

    #[test]
    fn plate_and_metals_without_printed_weights_fall_back_on_true_density() {
        for (material, thickness) in [
            (Material::MildSteel, Thickness::new(6.35).unwrap()),
            (Material::Aluminium5052, gauge(Material::Aluminium5052, 16)),
            (Material::Copper, gauge(Material::Copper, 20)),
        ] {
            let by = |rule: WeightRule| rule.weight_per_area(material, thickness);
            assert_eq!(by(WeightRule::GaugeBook), by(WeightRule::TrueDensity), "{material}");
        }
    }

    #[test]
    fn one_stock_has_one_weight_in_the_gauge_book() {
        let as_gauge = WeightRule::GaugeBook.weight_per_area(Material::MildSteel, gauge(Material::MildSteel, 16));
        let as_decimal =
            WeightRule::GaugeBook.weight_per_area(Material::MildSteel, Thickness::new(0.060 * 25.4).unwrap());
        assert_eq!(as_gauge, as_decimal);
    }

    #[test]
    fn units_convert_and_back() {
        assert!((from_pounds(1.0) - 0.453_592_37).abs() < 1e-15);
        assert!((to_pounds(from_pounds(23.4)) - 23.4).abs() < 1e-12);
        assert!((to_pounds_per_square_foot(from_pounds_per_square_foot(2.5)) - 2.5).abs() < 1e-12);
        // 1 lb/ft² is 4.8824 kg/m² (from memory, NIST SP 811: 4.882 428).
        assert!((from_pounds_per_square_foot(1.0) * 1e6 - 4.882_428).abs() < 1e-6);
    }
}
