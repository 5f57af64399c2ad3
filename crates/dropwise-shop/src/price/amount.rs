//! Amounts of money as people write them.

use dropwise_model::Money;
use thiserror::Error;

use super::{PriceError, PriceFault};

/// The largest amount that is believed, in the smallest coin; it keeps slips of the keyboard out and sums exact in
/// `f64`.
pub(super) const MOST_COINS: f64 = 1e12;

/// How many decimals the job's currency has: 2 for cents, 0 where the smallest coin is the unit, 3 where a thousand
/// make one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Coinage(pub(super) u8);

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

    /// An amount with all its decimals and no sign of the currency: `9.50`, `-0.42`.
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

/// Reads an amount of money alone, such as `9.50` or `9`, by the rules of [`super::Price::parse`].
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
pub(super) struct Amount {
    /// In the smallest coin, and parts of one.
    pub(super) coins: f64,
    /// Where it begins.
    pub(super) column: usize,
    /// Where digits begin that are worth less than a coin, if any of them is not zero.
    below_a_coin: Option<usize>,
}

impl Amount {
    pub(super) fn require_whole_coins(&self, coinage: Coinage) -> Result<(), PriceError> {
        let fault = PriceFault::PartOfACoin { decimals: coinage.decimals() };
        self.below_a_coin.map_or(Ok(()), |column| Err(PriceError { column, fault }))
    }
}

/// Reads the amount at the start of a text; returns it with what follows, trimmed, and the column where that begins.
pub(super) fn read_amount(text: &str, coinage: Coinage) -> Result<(Amount, &str, usize), PriceError> {
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
