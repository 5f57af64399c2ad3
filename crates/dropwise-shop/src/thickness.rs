//! How thick a sheet is, as people write it, and which nominal thickness that means.

use std::fmt;

use dropwise_geometry::{InchDivision, LengthError, Unit, format_inch_fraction, parse_length};
use thiserror::Error;

use crate::gauge::{Gauge, GaugeError, GaugeSystem};
use crate::material::Material;

/// Sheet that is thicker than this is a slip of the pen: most often a gauge number without its `ga`, read as inches.
const THICKEST: f64 = 200.0;

/// Sheet that is thinner than this is foil, or a slip of the pen.
const THINNEST: f64 = 0.02;

/// A thickness counts as that of a gauge when the two agree to half a thousandth of an inch, the last digit that people
/// write: .060 in is 16 ga of plain steel (0.0598 in), 3.04 mm is 11 ga (3.037 mm), 3.0 mm is not. Wider, and metric
/// 1.5 mm would count as 16 ga (1.518 mm); narrower, and .120 in would not count as 11 ga.
pub(crate) const GAUGE_AGREEMENT: f64 = 0.0127;

/// How thick a sheet is: millimetres, and the gauge if it was given as one.
///
/// Prints as it is meant to be read: `16 ga (1.52 mm)`, or `3.18 mm`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickness {
    millimetres: f64,
    gauge: Option<Gauge>,
}

/// Why a text is not a thickness. Columns count characters from zero.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ThicknessError {
    /// Nothing was written.
    #[error("the thickness is missing; write a gauge such as `16 ga` or a length such as `1/8 in` or `3 mm`")]
    Empty,
    /// Gauge words without a whole number.
    #[error(
        "`{}` at column {column} is not a gauge number; write a whole number such as `16 ga` or `#16`",
        dropwise_geometry::shortened(written)
    )]
    NotAGauge {
        /// What stands where the number should.
        written: String,
        /// Where it starts.
        column: usize,
    },
    /// A gauge that this metal does not come in.
    #[error(transparent)]
    Gauge(#[from] GaugeError),
    /// Neither a gauge nor a length.
    #[error(transparent)]
    Length(LengthError),
    /// A length that no sheet has.
    #[error(
        "a thickness of {millimetres:.3} mm is not one of sheet or plate ({THINNEST} to {THICKEST} mm); \
         a gauge is written `16 ga` or `#16`"
    )]
    OutOfRange {
        /// The length, mm.
        millimetres: f64,
    },
}

impl ThicknessError {
    /// Where in the text the fault is, counted in characters from zero; `None` when it is the text as a whole.
    #[must_use]
    pub const fn column(&self) -> Option<usize> {
        match self {
            Self::NotAGauge { column, .. } => Some(*column),
            Self::Length(error) => Some(error.column),
            Self::Empty | Self::Gauge(_) | Self::OutOfRange { .. } => None,
        }
    }
}

impl Thickness {
    /// A thickness in millimetres.
    ///
    /// # Errors
    /// [`ThicknessError::OutOfRange`] unless it is a number from 0.02 to 200.
    pub fn new(millimetres: f64) -> Result<Self, ThicknessError> {
        if !(THINNEST..=THICKEST).contains(&millimetres) {
            return Err(ThicknessError::OutOfRange { millimetres });
        }
        Ok(Self { millimetres, gauge: None })
    }

    /// The thickness written in a text: a gauge of this metal, or a length.
    ///
    /// A gauge is a whole number with `ga`, `gauge` or `gage` after it, with or without a blank or a full stop, or `#`
    /// or `No.` before it: `16 ga`, `16ga.`, `16 gauge`, `#16`. Everything else is read by
    /// [`parse_length`], a bare number in the unit `bare`.
    ///
    /// # Errors
    /// [`ThicknessError`], which tells a gauge the metal does not come in from a text that is no thickness at all.
    ///
    /// # Examples
    /// ```
    /// use dropwise_geometry::Unit;
    /// use dropwise_shop::{Material, Thickness};
    /// let sheet = Thickness::parse("11 ga", Material::Stainless304, Unit::Inch)?;
    /// assert!((sheet.millimetres() - 3.175).abs() < 1e-9);
    /// let plate = Thickness::parse("1/4", Material::MildSteel, Unit::Inch)?;
    /// assert!((plate.millimetres() - 6.35).abs() < 1e-9);
    /// # Ok::<(), dropwise_shop::ThicknessError>(())
    /// ```
    pub fn parse(text: &str, material: Material, bare: Unit) -> Result<Self, ThicknessError> {
        if text.trim().is_empty() {
            return Err(ThicknessError::Empty);
        }
        let Some(number) = gauge_number(text)? else {
            return Self::new(parse_length(text, bare).map_err(ThicknessError::Length)?);
        };
        Ok(GaugeSystem::of(material).gauge(number)?.into())
    }

    /// In millimetres.
    #[must_use]
    pub const fn millimetres(self) -> f64 {
        self.millimetres
    }

    /// The gauge, if it was given as one.
    #[must_use]
    pub const fn gauge(self) -> Option<Gauge> {
        self.gauge
    }

    /// As a shop that measures in `unit` says it: a gauge or, beside inches, a 64th where it is one, else a length with
    /// hundredths of a millimetre or thousandths of an inch.
    ///
    /// # Examples
    /// ```
    /// use dropwise_geometry::Unit;
    /// use dropwise_shop::{Material, Thickness};
    /// let plate = Thickness::new(3.175)?;
    /// assert_eq!((plate.in_words(Unit::Inch), plate.in_words(Unit::Millimetre)), ("1/8 in".into(), "3.18 mm".into()));
    /// let sheet = Thickness::parse("16 ga", Material::MildSteel, Unit::Inch)?;
    /// assert_eq!(sheet.in_words(Unit::Inch), "16 ga (0.060 in)");
    /// # Ok::<(), dropwise_shop::ThicknessError>(())
    /// ```
    #[must_use]
    pub fn in_words(self, unit: Unit) -> String {
        if unit.is_metric() {
            // As labels of stock are rounded: 1/8 in goes up like 3.18 mm.
            let millimetres = format!("{:.2} mm", (self.millimetres * 100.0 + 1e-6).round() / 100.0);
            return self.gauge.map_or(millimetres.clone(), |gauge| format!("{gauge} ({millimetres})"));
        }
        let inches = format!("{:.3} in", self.millimetres / Unit::Inch.millimetres());
        match self.gauge {
            Some(gauge) => format!("{gauge} ({inches})"),
            None => sixty_fourths(self.millimetres).unwrap_or(inches),
        }
    }

    /// The gauge that this is in a metal's own system: the one it was given as, or the one it agrees with to half a
    /// thousandth of an inch. `None` when it agrees with none.
    #[must_use]
    pub fn nominal_gauge(self, material: Material) -> Option<Gauge> {
        let system = GaugeSystem::of(material);
        if let Some(gauge) = self.gauge.filter(|gauge| gauge.system() == system) {
            return Some(gauge);
        }
        let nearest = system.nearest(self.millimetres);
        // The half is inclusive, so a hair is added for lengths that came through inches.
        ((nearest.thickness() - self.millimetres).abs() <= GAUGE_AGREEMENT + 1e-9).then_some(nearest)
    }
}

impl From<Gauge> for Thickness {
    fn from(gauge: Gauge) -> Self {
        Self { millimetres: gauge.thickness(), gauge: Some(gauge) }
    }
}

impl fmt::Display for Thickness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.gauge {
            Some(gauge) => write!(f, "{gauge} ({:.2} mm)", self.millimetres),
            None => write!(f, "{:.2} mm", self.millimetres),
        }
    }
}

/// A thickness in 64ths of an inch, where it is one to the hundredth of a millimetre that labels are rounded to.
pub(crate) fn sixty_fourths(millimetres: f64) -> Option<String> {
    let step = Unit::Inch.millimetres() / 64.0;
    let is_64th = ((millimetres / step).round() * step - millimetres).abs() <= 0.005 + 1e-9;
    is_64th.then(|| format_inch_fraction(millimetres, InchDivision::SixtyFourths))
}

/// A size by which a tool is sold, whatever the unit of the shop: a length of whole tenths of a millimetre as that, else a
/// 64th of an inch, else hundredths of a millimetre.
///
/// # Examples
/// ```
/// use dropwise_shop::trade_size;
/// assert_eq!([9.0, 9.525, 7.33].map(trade_size), ["9 mm", "3/8 in", "7.33 mm"]);
/// ```
#[must_use]
pub fn trade_size(millimetres: f64) -> String {
    let hundredths = format!("{millimetres:.2}");
    let metric = hundredths.trim_end_matches('0').trim_end_matches('.');
    let is_tenth = ((millimetres * 10.0).round() / 10.0 - millimetres).abs() < 1e-6;
    let inches = if is_tenth { None } else { sixty_fourths(millimetres) };
    inches.unwrap_or_else(|| format!("{metric} mm"))
}

/// The number of a text that is written as a gauge; `None` when it is not written as one.
fn gauge_number(text: &str) -> Result<Option<u32>, ThicknessError> {
    // ASCII only, so that places in the folded text are places in the text as written.
    let folded = text.to_ascii_lowercase();
    let mut rest = folded.trim_start();
    let prefixed = ["#", "no.", "no "].iter().find_map(|prefix| rest.strip_prefix(prefix));
    rest = prefixed.map_or(rest, str::trim_start);
    let column = folded[..folded.len() - rest.len()].chars().count();
    let body = rest.trim_end();
    let unpointed = body.strip_suffix('.').unwrap_or(body);
    let suffixed = ["gauge", "gage", "ga"].iter().find_map(|suffix| unpointed.strip_suffix(suffix));
    if prefixed.is_none() && suffixed.is_none() {
        return Ok(None);
    }
    let number = suffixed.map_or(body, str::trim_end);
    if number.is_empty() || !number.bytes().all(|byte| byte.is_ascii_digit()) {
        let written = text.chars().skip(column).take(number.chars().count()).collect();
        return Err(ThicknessError::NotAGauge { written, column });
    }
    // Only too large a number can fail now, and any such is beyond every gauge.
    Ok(Some(number.parse().unwrap_or(u32::MAX)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn parse(text: &str, material: Material) -> Result<Thickness, ThicknessError> {
        Thickness::parse(text, material, Unit::Millimetre)
    }

    #[test]
    fn every_gauge_of_every_metal_in_every_spelling() {
        for material in Material::ALL {
            for gauge in GaugeSystem::of(material).gauges() {
                let n = gauge.number();
                for text in [
                    format!("{n} ga"),
                    format!("{n}ga"),
                    format!("{n} GA."),
                    format!("{n} gauge"),
                    format!("{n}gauge"),
                    format!(" {n} gage "),
                    format!("#{n}"),
                    format!("# {n} ga"),
                    format!("No. {n}"),
                ] {
                    assert_eq!(parse(&text, material), Ok(Thickness::from(gauge)), "{text}");
                }
            }
        }
    }

    #[test]
    fn lengths_are_read_in_their_own_unit_and_bare_ones_in_the_job_s() {
        let millimetres = |text, bare| Thickness::parse(text, Material::MildSteel, bare).map(Thickness::millimetres);
        for (text, bare, expected) in [
            ("3.2 mm", Unit::Inch, 3.2),
            ("1/8 in", Unit::Millimetre, 3.175),
            (".120in", Unit::Millimetre, 3.048),
            ("3", Unit::Millimetre, 3.0),
            ("1/4", Unit::Inch, 6.35),
        ] {
            let read = millimetres(text, bare).unwrap();
            assert!((read - expected).abs() < 1e-9, "{text}: {read}");
        }
        assert_eq!(parse("3.2 mm", Material::MildSteel).unwrap().gauge(), None);
    }

    #[test]
    fn a_gauge_that_the_metal_does_not_have_names_the_nearest() {
        for (text, material, nearest) in [
            ("2 ga", Material::MildSteel, 3),
            ("7 ga", Material::GalvanizedSteel, 8),
            ("33 ga", Material::GalvanizedSteel, 32),
            ("0 gauge", Material::Stainless304, 3),
            ("#41", Material::Copper, 40),
            ("99999999999999999999 ga", Material::Brass, 40),
        ] {
            match parse(text, material).unwrap_err() {
                ThicknessError::Gauge(error) => assert_eq!(error.nearest.number(), nearest, "{text}"),
                other => panic!("{text}: {other}"),
            }
        }
    }

    #[test]
    fn gauges_that_are_no_whole_numbers_are_refused_where_they_stand() {
        for (text, written, column) in [
            ("16.5 ga", "16.5", 0),
            ("  -16 ga", "-16", 2),
            ("# x", "x", 2),
            ("#", "", 1),
            ("ga", "", 0),
            ("1/8 ga", "1/8", 0),
            ("ß ga", "ß", 0),
            ("١٦ ga", "١٦", 0), // digits, but not ours
        ] {
            let expected = ThicknessError::NotAGauge { written: written.to_owned(), column };
            assert_eq!(parse(text, Material::MildSteel), Err(expected), "{text}");
        }
    }

    #[test]
    fn what_no_sheet_can_be_is_refused() {
        assert_eq!(parse(" \t", Material::Brass), Err(ThicknessError::Empty));
        for text in ["0", "0 mm", "0.019 mm", "200.1 mm", "1 m", "16 in"] {
            let error = parse(text, Material::MildSteel).unwrap_err();
            assert!(matches!(error, ThicknessError::OutOfRange { .. } | ThicknessError::Length(_)), "{text}: {error}");
        }
        assert!(parse("0.02 mm", Material::MildSteel).is_ok() && parse("200 mm", Material::MildSteel).is_ok());
        for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0] {
            assert!(Thickness::new(bad).is_err(), "{bad}");
        }
        assert!(matches!(parse("thick", Material::MildSteel), Err(ThicknessError::Length(_))));
    }

    #[test]
    fn it_prints_as_it_was_meant() {
        assert_eq!(parse("16 ga", Material::GalvanizedSteel).unwrap().to_string(), "16 ga (1.61 mm)");
        assert_eq!(parse("3.2", Material::GalvanizedSteel).unwrap().to_string(), "3.20 mm");
    }

    /// Four decimals of an inch, as every gauge table prints them, lead back to the gauge; so do two of a millimetre.
    #[test]
    fn a_printed_thickness_is_its_gauge() {
        for material in Material::ALL {
            for gauge in GaugeSystem::of(material).gauges() {
                let inches = (gauge.thickness() / 25.4 * 1e4).round() / 1e4;
                let printed = Thickness::new(inches * 25.4).unwrap();
                assert_eq!(printed.nominal_gauge(material), Some(gauge), "{material}, {gauge}");
                // Only the thinnest gauges lie closer together than hundredths of a millimetre.
                if gauge.number() <= 30 {
                    let metric = Thickness::new((gauge.thickness() * 100.0).round() / 100.0).unwrap();
                    assert_eq!(metric.nominal_gauge(material), Some(gauge), "{material}, {gauge}");
                }
            }
        }
    }

    #[test]
    fn a_gauge_of_another_metal_s_system_counts_by_its_thickness() {
        let eleven_of_stainless = Thickness::from(GaugeSystem::UsStandard.gauge(11).unwrap());
        assert_eq!(eleven_of_stainless.nominal_gauge(Material::MildSteel), None); // 1/8 in
        let nominal = eleven_of_stainless.nominal_gauge(Material::Stainless304).unwrap();
        assert_eq!(nominal.number(), 11);
    }

    proptest! {
        /// Whatever is typed, the answer is a thickness of sheet or an error inside the text.
        #[test]
        fn any_text_is_a_thickness_or_an_error_inside_it(text in "[0-9#./ \\-agueNO'\"minß\u{2009}İ]{0,10}") {
            for material in Material::ALL {
                match parse(&text, material) {
                    Ok(thickness) => prop_assert!((THINNEST..=THICKEST).contains(&thickness.millimetres())),
                    Err(error) => prop_assert!(error.column().is_none_or(|column| column <= text.chars().count())),
                }
            }
        }

        /// Two thicknesses of one nominal gauge are never further apart than the trade's thousandth of an inch.
        #[test]
        fn one_nominal_gauge_spans_a_thousandth_of_an_inch(a in 0.1_f64..6.5, step in 0.0_f64..0.1) {
            for material in Material::ALL {
                let gauge = |millimetres| Thickness::new(millimetres).unwrap().nominal_gauge(material);
                if gauge(a).is_some() && gauge(a) == gauge(a + step) {
                    prop_assert!(step <= 2.0 * GAUGE_AGREEMENT + 1e-6, "{} mm and {} mm", a, a + step);
                }
            }
        }
    }
}
