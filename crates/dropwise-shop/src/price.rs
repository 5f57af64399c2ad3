//! Prices as people write them: so much a piece, a kilogram, a pound or a length.

use std::fmt;

use dropwise_model::Money;
use thiserror::Error;

use crate::weight::KILOGRAMS_PER_POUND;

/// The largest amount that is believed, in the smallest coin; it keeps slips of the keyboard out and sums exact in
/// `f64`.
const MOST_COINS: f64 = 1e12;

/// How many decimals the job's currency has: 2 for cents, 0 where the smallest coin is the unit, 3 where a thousand
/// make one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Coinage(u8);

/// A number of decimals that no currency has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("no currency has {decimals} decimals; most have 2, some 0 or 3")]
pub struct CoinageError {
    /// What was given.
    pub decimals: u8,
}

impl Coinage {
    /// A currency with this many decimals.
    ///
    /// # Errors
    /// [`CoinageError`] above 4.
    ///
    /// # Source
    /// ISO 4217, minor units, from memory: 0, 2, 3, and 4 for units of account.
    pub const fn new(decimals: u8) -> Result<Self, CoinageError> {
        if decimals > 4 { Err(CoinageError { decimals }) } else { Ok(Self(decimals)) }
    }

    /// Its decimals.
    #[must_use]
    pub const fn decimals(self) -> u8 {
        self.0
    }

    /// How many of the smallest coin make one.
    #[must_use]
    pub const fn coins_in_one(self) -> i64 {
        10_i64.pow(self.0 as u32)
    }

    /// An amount with all its decimals and no sign of the currency: `8.00`, `-0.35`.
    #[must_use]
    pub fn format(self, amount: Money) -> String {
        let (coins, in_one) = (amount.coins().unsigned_abs(), self.coins_in_one().unsigned_abs());
        let sign = if amount.coins() < 0 { "-" } else { "" };
        match self.0 {
            0 => format!("{sign}{coins}"),
            decimals => format!("{sign}{}.{:0width$}", coins / in_one, coins % in_one, width = usize::from(decimals)),
        }
    }
}

impl Default for Coinage {
    /// Cents.
    fn default() -> Self {
        Self(2)
    }
}

/// What a price is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Basis {
    /// One piece, as it lies.
    Piece,
    /// A kilogram.
    Kilogram,
    /// A pound.
    Pound,
    /// A metre of length, of stock of fixed width.
    Metre,
    /// A foot of length, of stock of fixed width.
    Foot,
}

impl Basis {
    /// Every basis.
    pub const ALL: [Self; 5] = [Self::Piece, Self::Kilogram, Self::Pound, Self::Metre, Self::Foot];

    /// What is written after the stroke.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Piece => "each",
            Self::Kilogram => "kg",
            Self::Pound => "lb",
            Self::Metre => "m",
            Self::Foot => "ft",
        }
    }

    /// Everything that is understood after the stroke, in lower case.
    #[must_use]
    pub const fn words(self) -> &'static [&'static str] {
        match self {
            Self::Piece => &["each", "ea", "apiece", "piece", "pc", "pcs", "sheet"],
            Self::Kilogram => &["kg", "kilo", "kilogram", "kilograms"],
            Self::Pound => &["lb", "lbs", "pound", "pounds"],
            Self::Metre => &["m", "metre", "meter"],
            Self::Foot => &["ft", "foot", "feet"],
        }
    }

    /// The basis that a word stands for, in any case.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        let word = word.trim().to_ascii_lowercase();
        Self::ALL.into_iter().find(|basis| basis.words().contains(&word.as_str()))
    }

    /// Kilograms of a weight, millimetres of a length, nothing of a piece.
    const fn measure(self) -> f64 {
        match self {
            Self::Piece => 1.0,
            Self::Kilogram => 1.0,
            Self::Pound => KILOGRAMS_PER_POUND,
            Self::Metre => 1000.0,
            Self::Foot => 304.8,
        }
    }
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// A price: an amount for a piece, a weight or a length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Price {
    coins: f64,
    basis: Basis,
}

/// Why a text is not an amount of money or a price. Columns count characters from zero.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("{fault}")]
#[non_exhaustive]
pub struct PriceError {
    /// The character at fault; as many as the text has when its end is at fault.
    pub column: usize,
    /// What is wrong.
    pub fault: PriceFault,
}

/// What may be wrong with an amount of money or a price.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PriceFault {
    /// Nothing but blanks.
    #[error("no price given; write an amount such as 8.00, or a rate such as 0.35/lb")]
    Empty,
    /// A minus.
    #[error("a price cannot be less than zero")]
    Negative,
    /// A comma, which is a decimal point in one country and parts thousands in another.
    #[error(
        "a comma is not understood in an amount of money; write thousands without it and decimals with a point, as in 1250.00"
    )]
    Comma,
    /// A currency sign or code.
    #[error(
        "`{sign}` does not belong to the amount: the currency is that of the job; write the number alone, as in 8.00"
    )]
    Currency {
        /// What stands there.
        sign: String,
    },
    /// Something else stands where a number should, or a number is written in another way.
    #[error("expected an amount in digits, as in 8.00 or 0.35")]
    NumberExpected,
    /// A second decimal point.
    #[error("a second decimal point; write one number, as in 8.00")]
    SecondPoint,
    /// Parts of a coin in an amount that must be paid.
    #[error("an amount to pay has at most {decimals} decimals")]
    PartOfACoin {
        /// How many the currency has.
        decimals: u8,
    },
    /// More than any sheet or shop costs.
    #[error("the amount is too large to be a price")]
    TooLarge,
    /// An amount of money where no rate can stand, or the other way round.
    #[error("expected an amount alone, without anything after it")]
    Trailing,
    /// A word that is no unit a price can be for.
    #[error("`{word}` is not what a price can be for; write each, kg, lb, m or ft, as in 0.35/lb")]
    UnknownBasis {
        /// What stands there.
        word: String,
    },
}

impl Price {
    /// A price of so many of the smallest coin, and parts of one, for each of a basis.
    ///
    /// # Errors
    /// [`PriceFault::Negative`], or [`PriceFault::TooLarge`] above a thousand thousand million coins and for NaN.
    pub fn new(coins: f64, basis: Basis) -> Result<Self, PriceFault> {
        if coins < 0.0 {
            return Err(PriceFault::Negative);
        }
        // NaN is in no range.
        if !(0.0..=MOST_COINS).contains(&coins) {
            return Err(PriceFault::TooLarge);
        }
        Ok(Self { coins, basis })
    }

    /// Reads a price: an amount, for a piece unless something else follows, as in `8.00`, `8 each`, `0.35/lb`,
    /// `0.77 / kg`, `0.35 per lb`.
    ///
    /// An amount is digits with at most one decimal point: no sign of a currency, which is the job's, and no comma, which
    /// is a decimal point in one country and parts thousands in another: `1,250.00` is refused. A price for a piece has no
    /// more decimals than the currency; a rate may have any.
    ///
    /// # Errors
    /// [`PriceError`], at the character at fault.
    ///
    /// # Examples
    /// ```
    /// use dropwise_model::Money;
    /// use dropwise_shop::{Coinage, Price};
    /// let price = Price::parse("0.35/lb", Coinage::default())?;
    /// let (weight, length) = (10.6, 851.0); // a drop of 23.4 lb
    /// assert_eq!(price.of_piece(weight, length), Money::from_coins(818));
    /// # Ok::<(), dropwise_shop::PriceError>(())
    /// ```
    pub fn parse(text: &str, coinage: Coinage) -> Result<Self, PriceError> {
        let (amount, rest, rest_column) = read_amount(text, coinage)?;
        let basis = if rest.is_empty() {
            Basis::Piece
        } else {
            let lower = rest.to_ascii_lowercase();
            let joint = ["/", "per ", "a "].into_iter().find(|joint| lower.starts_with(joint)).unwrap_or("");
            let word = &rest[joint.len()..];
            let blanks = word.chars().take_while(|c| c.is_whitespace()).count();
            let column = rest_column + joint.len() + blanks;
            // Without a joint only a piece can be meant, as in "8 each"; "8 kg" is a weight.
            let basis = Basis::from_word(word).filter(|basis| !joint.is_empty() || *basis == Basis::Piece);
            let word = word.trim().to_owned();
            basis.ok_or(PriceError { column, fault: PriceFault::UnknownBasis { word } })?
        };
        if basis == Basis::Piece {
            amount.require_whole_coins(coinage)?;
        }
        Self::new(amount.coins, basis).map_err(|fault| PriceError { column: amount.column, fault })
    }

    /// In the smallest coin, for each of [`Price::basis`].
    #[must_use]
    pub const fn coins(self) -> f64 {
        self.coins
    }

    /// What it is for.
    #[must_use]
    pub const fn basis(self) -> Basis {
        self.basis
    }

    /// What a piece of this weight, in kilograms, and this length, in millimetres, costs: to the nearest coin, halves
    /// upward.
    #[must_use]
    pub fn of_piece(self, weight: f64, length: f64) -> Money {
        let measure = match self.basis {
            Basis::Piece => 1.0,
            Basis::Kilogram | Basis::Pound => weight,
            Basis::Metre | Basis::Foot => length,
        };
        Money::round(self.coins * measure / self.basis.measure())
    }

    /// What a square millimetre costs, in the smallest coin, of sheet that weighs so many kg/mm². `None` for a price that
    /// does not go by weight.
    #[must_use]
    pub fn per_area(self, weight_per_area: f64) -> Option<f64> {
        matches!(self.basis, Basis::Kilogram | Basis::Pound)
            .then(|| self.coins * weight_per_area / self.basis.measure())
    }

    /// What a millimetre of length costs, in the smallest coin, of stock of fixed width that weighs so many kilograms for
    /// each millimetre of length. `None` for a price by the piece.
    #[must_use]
    pub fn per_length(self, weight_per_length: f64) -> Option<f64> {
        match self.basis {
            Basis::Piece => None,
            Basis::Kilogram | Basis::Pound => Some(self.coins * weight_per_length / self.basis.measure()),
            Basis::Metre | Basis::Foot => Some(self.coins / self.basis.measure()),
        }
    }

    /// The rate that an amount paid comes to, for so much weight in kilograms or length in millimetres: 8.00 for a drop of
    /// 23 lb is 0.35 per lb. `None` when there is nothing to share it over or the amount is negative.
    #[must_use]
    pub fn implied(paid: Money, measure: f64, basis: Basis) -> Option<Self> {
        let shares = if basis == Basis::Piece { 1.0 } else { measure / basis.measure() };
        if shares <= 0.0 {
            return None;
        }
        Self::new(paid.coins() as f64 / shares, basis).ok()
    }

    /// As it is written: `8.00 each`, `0.35/lb`; a rate to the coin and two digits more where it needs them.
    #[must_use]
    pub fn format(self, coinage: Coinage) -> String {
        let least = usize::from(coinage.decimals());
        let mut number = format!("{:.*}", least + 2, self.coins / coinage.coins_in_one() as f64);
        for _ in 0..2 {
            if number.ends_with('0') {
                number.pop();
            }
        }
        let number = number.trim_end_matches('.');
        match self.basis {
            Basis::Piece => format!("{number} each"),
            basis => format!("{number}/{basis}"),
        }
    }
}

/// Reads an amount of money alone, such as `8.00` or `8`, by the rules of [`Price::parse`].
///
/// # Errors
/// [`PriceError`], at the character at fault.
pub fn parse_money(text: &str, coinage: Coinage) -> Result<Money, PriceError> {
    let (amount, rest, column) = read_amount(text, coinage)?;
    if !rest.is_empty() {
        return Err(PriceError { column, fault: PriceFault::Trailing });
    }
    amount.require_whole_coins(coinage)?;
    Ok(Money::round(amount.coins))
}

/// An amount as it was read.
struct Amount {
    coins: f64,
    column: usize,
    /// Where digits begin that are worth less than a coin, if any of them is not zero.
    below_a_coin: Option<usize>,
}

impl Amount {
    fn require_whole_coins(&self, coinage: Coinage) -> Result<(), PriceError> {
        let fault = PriceFault::PartOfACoin { decimals: coinage.decimals() };
        self.below_a_coin.map_or(Ok(()), |column| Err(PriceError { column, fault }))
    }
}

/// Reads the amount at the start of a text; returns it with what follows, trimmed, and the column where that begins.
fn read_amount(text: &str, coinage: Coinage) -> Result<(Amount, &str, usize), PriceError> {
    let fail = |column: usize, fault: PriceFault| Err(PriceError { column, fault });
    let trimmed = text.trim_start();
    let column = text.chars().count() - trimmed.chars().count();
    let digits = trimmed.len() - trimmed.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').len();
    let (number, after) = trimmed.split_at(digits);
    // Digits and points are one byte each, so the byte index is the column.
    let end = column + digits;
    match trimmed.chars().next() {
        None => return fail(column, PriceFault::Empty),
        Some('-' | '\u{2212}' | '\u{2013}') => return fail(column, PriceFault::Negative),
        Some(',') => return fail(column, PriceFault::Comma),
        Some(c) if digits == 0 => {
            let word: String = trimmed.chars().take_while(|c| !c.is_whitespace() && !c.is_ascii_digit()).collect();
            let is_code = word.len() == 3 && word.bytes().all(|byte| byte.is_ascii_uppercase());
            return match is_code || is_currency_sign(c) {
                true => fail(column, PriceFault::Currency { sign: word }),
                false => fail(column, PriceFault::NumberExpected),
            };
        }
        Some(_) => {}
    }
    if let Some(second) = number.match_indices('.').nth(1) {
        return fail(column + second.0, PriceFault::SecondPoint);
    }
    if number == "." {
        return fail(column, PriceFault::NumberExpected);
    }
    match after.chars().next() {
        Some(',') => return fail(end, PriceFault::Comma),
        Some('e' | 'E') if after[1..].starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+') => {
            return fail(end, PriceFault::NumberExpected);
        }
        _ => {}
    }
    let rest = after.trim();
    let rest_column = end + after.chars().take_while(|c| c.is_whitespace()).count();
    let is_code = rest.len() == 3 && rest.bytes().all(|byte| byte.is_ascii_uppercase());
    if is_code || rest.starts_with(is_currency_sign) {
        let sign = rest.chars().take_while(|c| !c.is_whitespace() && *c != '/').collect();
        return fail(rest_column, PriceFault::Currency { sign });
    }
    // Scaled as text, so that 8.1 is 810 coins and not 809.999…; absurdly many digits become infinite.
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    let kept = usize::from(coinage.decimals());
    let (coins, parts) = decimals.split_at(kept.min(decimals.len()));
    let coins: f64 = format!("{whole}{coins:0<kept$}.{parts}").parse().unwrap_or(f64::INFINITY);
    if coins > MOST_COINS {
        return fail(column, PriceFault::TooLarge);
    }
    let below = parts.find(|digit| digit != '0').map(|_| end - parts.len());
    Ok((Amount { coins, column, below_a_coin: below }, rest, rest_column))
}

fn is_currency_sign(c: char) -> bool {
    // Dollar, cent, pound, currency, yen, and the Unicode block of currency symbols.
    matches!(c, '$' | '¢' | '£' | '¤' | '¥' | '\u{20A0}'..='\u{20CF}')
}

#[cfg(test)]
mod tests;
