//! Prices as people write them, right and wrong.

use proptest::prelude::*;

use super::*;
use crate::gauge::GaugeSystem;
use crate::material::Material;
use crate::thickness::Thickness;
use crate::weight::{self, WeightRule};

const CENTS: Coinage = Coinage(2);

fn fault(text: &str) -> (usize, PriceFault) {
    let error = Price::parse(text, CENTS).expect_err(text);
    (error.column, error.fault)
}

#[test]
fn amounts_and_rates_as_people_write_them() {
    for (text, coins, basis) in [
        ("9.50", 950.0, Basis::Piece),
        ("9", 900.0, Basis::Piece),
        (" 8.5 ", 850.0, Basis::Piece),
        ("9.", 900.0, Basis::Piece),
        (".50", 50.0, Basis::Piece),
        ("8.1000", 810.0, Basis::Piece),
        ("0", 0.0, Basis::Piece),
        ("9 each", 900.0, Basis::Piece),
        ("12.00 / pc", 1200.0, Basis::Piece),
        ("1250.00 a sheet", 125_000.0, Basis::Piece),
        ("0.42/lb", 42.0, Basis::Pound),
        ("0.77 / kg", 77.0, Basis::Kilogram),
        ("0.425 per lb", 42.5, Basis::Pound),
        ("0.42 PER LBS", 42.0, Basis::Pound),
        ("14/m", 1400.0, Basis::Metre),
        ("4.25/ft", 425.0, Basis::Foot),
    ] {
        assert_eq!(Price::parse(text, CENTS), Ok(Price { coins, basis }), "{text}");
    }
    for basis in Basis::ALL {
        for word in basis.words() {
            assert_eq!(Price::parse(&format!("1/{word}"), CENTS), Ok(Price { coins: 100.0, basis }), "{word}");
        }
    }
}

#[test]
fn what_is_refused_and_where() {
    let currency = |sign: &str| PriceFault::Currency { sign: sign.to_owned() };
    let basis = |word: &str| PriceFault::UnknownBasis { word: word.to_owned() };
    for (text, column, expected) in [
        ("", 0, PriceFault::Empty),
        ("   ", 3, PriceFault::Empty),
        ("-9.50", 0, PriceFault::Negative),
        (" -0", 1, PriceFault::Negative),
        ("\u{2212}8", 0, PriceFault::Negative),
        ("1,250.00", 1, PriceFault::Comma),
        ("8,50", 1, PriceFault::Comma),
        (",50", 0, PriceFault::Comma),
        ("$9.50", 0, currency("$")),
        ("€ 8", 0, currency("€")),
        ("9.50 €/kg", 5, currency("€")),
        ("USD 8", 0, currency("USD")),
        ("8 EUR", 2, currency("EUR")),
        ("8.0.0", 3, PriceFault::SecondPoint),
        (".", 0, PriceFault::NumberExpected),
        ("cheap", 0, PriceFault::NumberExpected),
        ("NaN", 0, PriceFault::NumberExpected),
        ("inf", 0, PriceFault::NumberExpected),
        ("+8", 0, PriceFault::NumberExpected),
        ("1e3", 1, PriceFault::NumberExpected),
        ("8.005", 4, PriceFault::PartOfACoin { decimals: 2 }),
        ("8.005 each", 4, PriceFault::PartOfACoin { decimals: 2 }),
        ("99999999999999", 0, PriceFault::TooLarge),
        ("0.42/stone", 5, basis("stone")),
        ("0.42 / ", 6, basis("")),
        ("8 kg", 2, basis("kg")),
        ("8 00", 2, basis("00")),
        ("0.42/lb/ft", 5, basis("lb/ft")),
    ] {
        assert_eq!(fault(text), (column, expected), "{text}");
    }
    let digits = "9".repeat(400);
    assert_eq!(fault(&digits), (0, PriceFault::TooLarge));
    assert_eq!(parse_money("0.42/lb", CENTS).unwrap_err(), PriceError { column: 4, fault: PriceFault::Trailing });
}

#[test]
fn numbers_that_did_not_come_from_a_text_are_checked_too() {
    assert_eq!(Price::new(-1.0, Basis::Pound), Err(PriceFault::Negative));
    for bad in [f64::NAN, f64::INFINITY, 1.1e12] {
        assert_eq!(Price::new(bad, Basis::Pound), Err(PriceFault::TooLarge));
    }
    assert!(Price::new(1e12, Basis::Pound).is_ok());
}

/// By hand: 30 × 20 1/4 × 1/8 in of steel at 0.2836 lb/in³ weigh 21.5 lb, so 8.60 for it is 0.40 per lb.
#[test]
fn what_was_paid_for_a_drop_is_a_rate_by_the_pound() {
    let thickness = Thickness::new(25.4 / 8.0).unwrap();
    let weight_per_area = WeightRule::TrueDensity.weight_per_area(Material::MildSteel, thickness);
    let (length, width) = (30.0 * 25.4, 20.25 * 25.4);
    let weight = weight_per_area * length * width;
    assert!((weight::to_pounds(weight) - 21.5).abs() < 0.1);
    let paid = parse_money("8.60", CENTS).unwrap();
    let rate = Price::implied(paid, weight, Basis::Pound).unwrap();
    assert!((rate.coins() - 40.0).abs() < 0.5, "{}", rate.format(CENTS));
    // Back again: the rate gives the price, by the piece and by the area.
    assert_eq!(rate.of_piece(weight, length), paid);
    assert_eq!(Money::round(rate.per_area(weight_per_area).unwrap() * length * width), paid);
    assert_eq!(Money::round(rate.per_length(weight_per_area * width).unwrap() * length), paid);
}

#[test]
fn the_same_sheet_by_every_basis() {
    // 48 × 96 in of 16 ga: 80 lb in the gauge book (Steel Buyers Basics).
    let thickness = Thickness::from(GaugeSystem::ManufacturersStandard.gauge(16).unwrap());
    let weight = WeightRule::GaugeBook.weight_per_area(Material::MildSteel, thickness) * 48.0 * 96.0 * 645.16;
    for (text, coins) in [("52.00", 5200), ("0.65/lb", 5200), ("1.433/kg", 5200), ("6.50/ft", 5200), ("21.325/m", 5200)]
    {
        let price = Price::parse(text, CENTS).unwrap();
        assert_eq!(price.of_piece(weight, 96.0 * 25.4), Money::from_coins(coins), "{text}");
    }
}

#[test]
fn only_what_goes_by_weight_or_length_has_a_rate() {
    let price = |basis| Price::new(100.0, basis).unwrap();
    let has_rate = |basis| (price(basis).per_area(1e-5).is_some(), price(basis).per_length(1e-2).is_some());
    assert_eq!(Basis::ALL.map(has_rate), [(false, false), (true, true), (true, true), (false, true), (false, true)]);
    assert_eq!(price(Basis::Metre).per_length(0.0), Some(0.1));
    assert_eq!(Price::implied(Money::from_coins(900), 0.0, Basis::Pound), None);
    assert_eq!(Price::implied(Money::from_coins(-900), 1.0, Basis::Pound), None);
    assert_eq!(Price::implied(Money::from_coins(900), f64::NAN, Basis::Pound), None);
    assert_eq!(Price::implied(Money::from_coins(900), 0.0, Basis::Piece), Price::new(900.0, Basis::Piece).ok());
}

#[test]
fn currencies_with_other_coins() {
    let (whole, mills) = (Coinage::new(0).unwrap(), Coinage::new(3).unwrap());
    assert_eq!(parse_money("900", whole), Ok(Money::from_coins(900)));
    assert_eq!(parse_money("8.5", whole).unwrap_err().fault, PriceFault::PartOfACoin { decimals: 0 });
    assert_eq!(parse_money("8.125", mills), Ok(Money::from_coins(8125)));
    assert_eq!(whole.format(Money::from_coins(-900)), "-900");
    assert_eq!(mills.format(Money::from_coins(8005)), "8.005");
    assert_eq!(CENTS.format(Money::from_coins(-42)), "-0.42");
    assert_eq!(CENTS.format(Money::from_coins(i64::MIN)), "-92233720368547758.08");
    assert_eq!(Coinage::new(5), Err(CoinageError { decimals: 5 }));
}

#[test]
fn prices_print_as_they_are_written() {
    for (text, printed) in [
        ("9", "9.00 each"),
        ("0.42/lb", "0.42/lb"),
        ("0.425 per lb", "0.425/lb"),
        ("0.3333/kg", "0.3333/kg"),
        ("0/m", "0.00/m"),
    ] {
        assert_eq!(Price::parse(text, CENTS).unwrap().format(CENTS), printed);
    }
    assert_eq!(Price::parse("800/kg", Coinage(0)).unwrap().format(Coinage(0)), "800/kg");
}

proptest! {
    /// Round trip: every amount reads back as itself, in every coinage.
    #[test]
    fn an_amount_reads_back(coins in 0_i64..1_000_000_000_000, decimals in 0_u8..=4) {
        let coinage = Coinage(decimals);
        let amount = Money::from_coins(coins);
        prop_assert_eq!(parse_money(&coinage.format(amount), coinage), Ok(amount));
    }

    /// Whatever is typed, the answer is a price or an error inside the text.
    #[test]
    fn any_text_is_a_price_or_an_error_inside_it(text in "[0-9.,/ \\-eElbkgUSD$€m\u{2009}é]{0,12}") {
        match Price::parse(&text, CENTS) {
            Ok(price) => prop_assert!(price.coins().is_finite() && price.coins() >= 0.0),
            Err(error) => prop_assert!(error.column <= text.chars().count()),
        }
    }
}
