use proptest::prelude::*;

use super::*;

fn mm(text: &str) -> f64 {
    parse_length(text, Unit::Millimetre).unwrap_or_else(|error| panic!("{text:?}: {error}"))
}

fn fault(text: &str) -> (usize, LengthFault) {
    let error = parse_length(text, Unit::Millimetre).expect_err(text);
    assert!(error.column <= text.chars().count());
    (error.column, error.fault)
}

#[test]
fn what_people_write_is_understood() {
    let inch = 25.4;
    for (text, expected) in [
        ("12 3/8 in", 12.375 * inch),
        ("12-3/8\"", 12.375 * inch),
        ("12\u{2011}3/8\"", 12.375 * inch),
        ("12⅜ in", 12.375 * inch),
        ("12 ⅜ in", 12.375 * inch),
        ("12-⅜″", 12.375 * inch),
        ("12 3\u{2044}8 in.", 12.375 * inch),
        ("3/8\"", 0.375 * inch),
        ("9/8 in", 1.125 * inch),
        ("2' 3 1/2\"", 27.5 * inch),
        ("2'-3 1/2\"", 27.5 * inch),
        ("2' - 3½\"", 27.5 * inch),
        ("2′ 3½″", 27.5 * inch),
        ("2’ 3 1/2”", 27.5 * inch),
        ("2ft3in", 27.0 * inch),
        ("2 ft. 3 in.", 27.0 * inch),
        ("2 feet 3 inches", 27.0 * inch),
        ("2'", 24.0 * inch),
        ("2.5 ft", 30.0 * inch),
        ("6 1/2 ft", 78.0 * inch),
        ("0' 6''", 6.0 * inch),
        (".120in", 0.12 * inch),
        ("5. in", 5.0 * inch),
        ("3.2 mm", 3.2),
        ("3.2mm", 3.2),
        ("  3.2  MM ", 3.2),
        ("3.2\u{a0}mm", 3.2),
        ("1.5 m", 1500.0),
        ("12 cm", 120.0),
        ("7 millimeters", 7.0),
        ("1 metre", 1000.0),
        ("40", 40.0),
        ("0", 0.0),
        ("-3.5 mm", -3.5),
        ("\u{2212}3 1/2 in", -3.5 * inch),
        ("10000 m", MAX_LENGTH),
    ] {
        assert!((mm(text) - expected).abs() < 1e-9, "{text:?} gave {}", mm(text));
    }
}

#[test]
fn bare_numbers_are_in_the_declared_unit() {
    for unit in Unit::ALL {
        assert_eq!(parse_length("2.5", unit), Ok(2.5 * unit.millimetres()));
    }
    assert_eq!(parse_length("12 3/8", Unit::Inch), Ok(12.375 * 25.4));
    assert_eq!(parse_length("3 mm", Unit::Inch), Ok(3.0));
}

#[test]
fn errors_point_at_the_character() {
    use LengthFault as F;
    for (text, column, expected) in [
        ("", 0, F::Empty),
        ("   ", 3, F::Empty),
        ("mm", 0, F::NumberExpected),
        (" .mm", 1, F::NumberExpected),
        ("NaN", 0, F::NumberExpected),
        ("inf", 0, F::NumberExpected),
        ("-", 1, F::NumberExpected),
        ("--3 mm", 1, F::NumberExpected),
        ("+3 mm", 0, F::NumberExpected),
        ("١٢ mm", 0, F::NumberExpected),
        ("3,2 mm", 1, F::Comma { suggestion: "3.2".into() }),
        ("1,200 mm", 1, F::Comma { suggestion: "1200 or 1.200".into() }),
        ("1,200.5 mm", 1, F::Comma { suggestion: "1200 or 1.200".into() }),
        ("3, mm", 1, F::Comma { suggestion: "3".into() }),
        ("1.2.3 mm", 3, F::SecondPoint),
        ("1e300", 1, F::Exponent),
        ("2E-3 m", 1, F::Exponent),
        ("1 200 mm", 2, F::TwoNumbers),
        ("12 - 3/8 in", 3, F::Dash),
        ("12-3 in", 2, F::Dash),
        ("12- in", 2, F::Dash),
        ("12.5 3/8 in", 5, F::DecimalFraction),
        ("1.5/8 in", 3, F::DecimalFraction),
        ("1/8.5 in", 3, F::DecimalFraction),
        ("3/ in", 2, F::Denominator),
        ("3/4/5 in", 3, F::Denominator),
        ("3/0 in", 2, F::ZeroDenominator),
        ("12 9/8 in", 3, F::ImproperFraction),
        ("12 3/8", 0, F::FractionWithoutUnit { bare: Unit::Millimetre }),
        ("3 furlongs", 2, F::UnknownUnit { word: "furlongs".into() }),
        ("12x24 in", 2, F::UnknownUnit { word: "x".into() }),
        ("11 ga", 3, F::Gauge),
        ("16 Gauge", 3, F::Gauge),
        ("2.5' 3\"", 0, F::FeetNotWhole),
        ("2' 3", 4, F::InchesExpected),
        ("2 ft 3 mm", 7, F::InchesExpected),
        ("2' 14\"", 3, F::TooManyInches),
        ("2' 3\" 4", 6, F::Trailing),
        ("2' in", 3, F::Trailing),
        ("3 mm!", 4, F::Trailing),
        ("3 mm 4 mm", 5, F::Trailing),
        ("3 #", 2, F::Trailing),
        ("10000.1 m", 0, F::TooLong),
        (" 99999999999999999999 mm", 1, F::TooLong),
    ] {
        assert_eq!(fault(text), (column, expected), "{text:?}");
    }
    let endless = "9".repeat(400);
    assert_eq!(fault(&format!("{endless} mm")), (0, F::TooLong));
    // Infinite over infinite is NaN, and neither is believed.
    assert_eq!(fault(&format!("{endless}/{endless} in")), (0, F::TooLong));
}

#[test]
fn every_unit_is_read_back_by_its_symbol() {
    for unit in Unit::ALL {
        assert_eq!(unit.symbol().parse(), Ok(unit));
        assert_eq!(mm(&format!("1 {unit}")), unit.millimetres());
    }
    assert_eq!("parsec".parse::<Unit>(), Err(UnitError { word: "parsec".into() }));
}

#[test]
fn reports_round_and_drop_zeros() {
    for (mm, unit, expected) in [
        (0.0, Unit::Millimetre, "0 mm"),
        (-0.01, Unit::Millimetre, "0 mm"),
        (100.0, Unit::Millimetre, "100 mm"),
        (99.96, Unit::Millimetre, "100 mm"),
        (-12.34, Unit::Millimetre, "-12.3 mm"),
        (3.2, Unit::Centimetre, "0.32 cm"),
        (1234.56, Unit::Metre, "1.2346 m"),
        (25.4, Unit::Inch, "1 in"),
        (3.048, Unit::Inch, "0.12 in"),
        (0.396875, Unit::Inch, "0.016 in"),
        (762.0, Unit::Foot, "2.5 ft"),
    ] {
        assert_eq!(format_length(mm, unit), expected);
    }
}

#[test]
fn fractions_are_in_lowest_terms() {
    use InchDivision::*;
    for (inches, finest, expected) in [
        (0.0, SixtyFourths, "0 in"),
        (12.0, SixtyFourths, "12 in"),
        (0.5, SixtyFourths, "1/2 in"),
        (12.375, ThirtySeconds, "12 3/8 in"),
        (12.0 + 23.0 / 64.0, SixtyFourths, "12 23/64 in"),
        (11.99, Sixteenths, "12 in"),
        (-0.25, Sixteenths, "-1/4 in"),
        (-0.001, Sixteenths, "0 in"),
        (-3.75, Sixteenths, "-3 3/4 in"),
    ] {
        assert_eq!(format_inch_fraction(inches * 25.4, finest), expected);
    }
    // Whole set: every 64th up to two inches reads back as itself.
    for parts in 0..=128 {
        let length = f64::from(parts) / 64.0 * 25.4;
        assert!((mm(&format_inch_fraction(length, SixtyFourths)) - length).abs() < 1e-12);
    }
    assert_eq!(format_inch_fraction(f64::INFINITY, Sixteenths), "inf in");
}

/// Decimal equivalents, as any fraction chart prints them (from memory).
#[test]
fn fractions_match_the_decimal_chart() {
    for (fraction, decimal) in
        [("1/64", 0.015625), ("3/64", 0.046875), ("11/64", 0.171875), ("25/64", 0.390625), ("63/64", 0.984375)]
    {
        assert_eq!(parse_length(fraction, Unit::Inch), Ok(decimal * 25.4));
    }
}

proptest! {
    #[test]
    fn round_trip_within_report_rounding(length in -9.9e6..9.9e6_f64, unit in prop::sample::select(&Unit::ALL[..])) {
        let printed = format_length(length, unit);
        let half_step = 0.5 * 10_f64.powi(-(unit.report_decimals() as i32)) * unit.millimetres();
        prop_assert!((mm(&printed) - length).abs() <= half_step * (1.0 + 1e-6), "{printed}");
    }

    #[test]
    fn round_trip_of_fractions(length in -9.9e6..9.9e6_f64) {
        for (finest, parts) in
            [(InchDivision::Sixteenths, 16.0), (InchDivision::ThirtySeconds, 32.0), (InchDivision::SixtyFourths, 64.0)]
        {
            let printed = format_inch_fraction(length, finest);
            prop_assert!((mm(&printed) - length).abs() <= 25.4 / parts / 2.0 * (1.0 + 1e-6), "{printed}");
        }
    }

    #[test]
    fn any_text_gives_a_finite_length_or_a_place_in_it(text in "[-0-9 ./'\"½⅜mcinft,eE+x″′–]{0,12}") {
        match parse_length(&text, Unit::Inch) {
            Ok(length) => prop_assert!(length.abs() <= MAX_LENGTH),
            Err(error) => prop_assert!(error.column <= text.chars().count()),
        }
    }

    #[test]
    fn feet_and_inches_sum(feet in 0..100_u32, inches in 0..12_u32, parts in 1..64_u32) {
        let text = format!("{feet}' {inches} {parts}/64\"");
        let expected = (f64::from(feet * 12 + inches) + f64::from(parts) / 64.0) * 25.4;
        prop_assert_eq!(mm(&text), expected);
    }
}
