//! Prices as people write them: so much a piece, a kilogram, a pound or a length.

use std::fmt;

use dropwise_model::Money;
use thiserror::Error;

use crate::weight::KILOGRAMS_PER_POUND;

mod amount;

pub use amount::{Coinage, CoinageError, parse_money};

use amount::{MOST_COINS, read_amount};

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
    #[error("no price given; write an amount such as 9.50, or a rate such as 0.42/lb")]
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
        "`{}` does not belong to the amount: the currency is that of the job; write the number alone, as in 9.50",
        dropwise_geometry::shortened(sign)
    )]
    Currency {
        /// What stands there.
        sign: String,
    },
    /// Something else stands where a number should, or a number is written in another way.
    #[error("expected an amount in digits, as in 9.50 or 0.42")]
    NumberExpected,
    /// A second decimal point.
    #[error("a second decimal point; write one number, as in 9.50")]
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
    #[error(
        "`{}` is not what a price can be for; write each, kg, lb, m or ft, as in 0.42/lb",
        dropwise_geometry::shortened(word)
    )]
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

    /// Reads a price: an amount, for a piece unless something else follows, as in `9.50`, `9 each`, `0.42/lb`,
    /// `0.77 / kg`, `0.42 per lb`.
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
    /// let price = Price::parse("0.42/lb", Coinage::default())?;
    /// let (weight, length) = (9.8, 762.0); // a drop of 21.6 lb
    /// assert_eq!(price.of_piece(weight, length), Money::from_coins(907));
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

    /// The rate that an amount paid comes to, for so much weight in kilograms or length in millimetres: 8.60 for a drop of
    /// 21.5 lb is 0.40 per lb. `None` when there is nothing to share it over or the amount is negative.
    #[must_use]
    pub fn implied(paid: Money, measure: f64, basis: Basis) -> Option<Self> {
        let shares = if basis == Basis::Piece { 1.0 } else { measure / basis.measure() };
        if shares <= 0.0 {
            return None;
        }
        Self::new(paid.coins() as f64 / shares, basis).ok()
    }

    /// As it is written: `9.50 each`, `0.42/lb`; a rate to the coin and two digits more where it needs them.
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

#[cfg(test)]
mod tests;
