//! Lengths as people write them, and as reports print them.

use std::{fmt, str::FromStr};

/// A unit of length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Millimetre.
    Millimetre,
    /// Centimetre, 10 mm.
    Centimetre,
    /// Metre, 1000 mm.
    Metre,
    /// International inch, 25.4 mm.
    Inch,
    /// International foot, 304.8 mm.
    Foot,
}

impl Unit {
    /// All units, smallest first.
    pub const ALL: [Self; 5] = [Self::Millimetre, Self::Centimetre, Self::Inch, Self::Foot, Self::Metre];

    /// How many millimetres it has.
    ///
    /// # Source
    /// Inch and foot by the international yard and pound agreement of 1959: 1 yd = 0.9144 m exactly.
    #[must_use]
    pub const fn millimetres(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
            Self::Foot => 304.8,
        }
    }

    /// Its usual abbreviation: `mm`, `cm`, `m`, `in`, `ft`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
            Self::Foot => "ft",
        }
    }

    /// Whether it belongs with square metres and kilograms rather than square feet and pounds.
    #[must_use]
    pub const fn is_metric(self) -> bool {
        matches!(self, Self::Millimetre | Self::Centimetre | Self::Metre)
    }

    /// Decimals that a report prints: about a tenth of a millimetre, a thousandth of an inch.
    const fn report_decimals(self) -> usize {
        match self {
            Self::Millimetre => 1,
            Self::Centimetre => 2,
            Self::Metre | Self::Foot => 4,
            Self::Inch => 3,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.symbol())
    }
}

/// A word that is no unit of length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("unknown unit `{}`; use mm, cm, m, in or ft", crate::shortened(word))]
pub struct UnitError {
    /// What was written.
    pub word: String,
}

impl FromStr for Unit {
    type Err = UnitError;

    /// Abbreviation or word in full, British or American, singular or plural, in any case.
    fn from_str(word: &str) -> Result<Self, UnitError> {
        Ok(match word.trim().to_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Millimetre,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Centimetre,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::Metre,
            "in" | "inch" | "inches" => Self::Inch,
            "ft" | "foot" | "feet" => Self::Foot,
            _ => return Err(UnitError { word: word.trim().to_owned() }),
        })
    }
}

/// The longest length that is believed, in millimetres: ten kilometres, more than any coil. It keeps slips of the
/// keyboard and overflowing numbers out.
pub const MAX_LENGTH: f64 = 1e7;

/// A text that is no length: what is wrong, what would be right, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{fault}")]
#[non_exhaustive]
pub struct LengthError {
    /// Index of the character at fault, counted in characters from 0. As many as the text has when its end is at fault.
    pub column: usize,
    /// What is wrong.
    pub fault: LengthFault,
}

/// What may be wrong with a length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthFault {
    /// Nothing but blanks.
    #[error("no length given; write for example 3.2 mm or 12 3/8 in")]
    Empty,
    /// Something else stands where a number should.
    #[error("expected a number, as in 3.2 mm, 12 3/8 in or 2' 3 1/2\"")]
    NumberExpected,
    /// A comma in a number.
    #[error("a comma is not understood in a length; write {suggestion}")]
    Comma {
        /// The number or numbers that may have been meant.
        suggestion: String,
    },
    /// A second decimal point.
    #[error("a second decimal point; write one number, as in 3.2")]
    SecondPoint,
    /// A power of ten, as in 1e3.
    #[error("powers of ten are not understood in a length; write the number out")]
    Exponent,
    /// Two numbers in a row that are no mixed fraction.
    #[error("two numbers in a row; write a fraction as in 12 3/8, thousands without a blank, and feet with their mark")]
    TwoNumbers,
    /// A dash that joins no fraction.
    #[error("a dash may only join a whole number and a fraction without blanks, as in 12-3/8, or feet and inches")]
    Dash,
    /// A fraction with a decimal point in it or before it.
    #[error("a decimal number and a fraction do not go together; write 12.375 or 12 3/8")]
    DecimalFraction,
    /// A fraction without a denominator.
    #[error("the fraction has no denominator; write it as in 3/8")]
    Denominator,
    /// A fraction over zero.
    #[error("a fraction over zero is no length")]
    ZeroDenominator,
    /// 12 9/8.
    #[error("the fraction after a whole number must be less than one, as in 12 3/8")]
    ImproperFraction,
    /// A fraction without a unit where bare numbers are metric.
    #[error("a fraction needs its unit here, because bare numbers are in {bare}; write 3/8 in, or 9.525 mm")]
    FractionWithoutUnit {
        /// The unit of bare numbers.
        bare: Unit,
    },
    /// A word that is no unit.
    #[error("unknown unit `{}`; use mm, cm, m, in or ft", crate::shortened(word))]
    UnknownUnit {
        /// What was written.
        word: String,
    },
    /// A gauge number.
    #[error("a gauge is no length by itself: its thickness depends on the material; write the thickness in mm or in")]
    Gauge,
    /// Feet with a fraction, followed by inches.
    #[error("feet before inches must be whole; write 2' 6\", or 2.5 ft alone")]
    FeetNotWhole,
    /// Inches after feet without their mark, or in another unit.
    #[error("after feet come inches with their mark, as in 2' 3 1/2\"")]
    InchesExpected,
    /// Twelve inches or more after feet.
    #[error("inches after feet must be less than 12; write 3' 2\" or 38 in, not 2' 14\"")]
    TooManyInches,
    /// Something after the end of the length.
    #[error("the length should end here; write one length, as in 3.2 mm, 12 3/8 in or 2' 3 1/2\"")]
    Trailing,
    /// Longer than [`MAX_LENGTH`].
    #[error("longer than ten kilometres; check the number and its unit")]
    TooLong,
}

/// Reads a length as people write it and returns millimetres.
///
/// Understood are decimals (`3.2 mm`, `.120in`, `1.5 m`), fractions (`3/8 in`, `⅜"`), mixed numbers (`12 3/8 in`,
/// `12-3/8"`, `12⅜ in`) and feet with inches (`2' 3 1/2"`, `2'-3"`, `2 ft 3 in`). Units are those of [`Unit`], in any
/// case, with or without a blank or a closing full stop (`in.`); marks may be straight, curly or prime. A number without
/// a unit is in the unit `bare`; a fraction without one is refused when that unit is metric, since it is more likely
/// inches. A leading minus negates the whole length, for coordinates: the caller says where lengths must be positive.
///
/// # Errors
/// [`LengthError`] for anything else, for decimal commas (`3,2 mm`), gauges, and lengths beyond [`MAX_LENGTH`].
///
/// # Examples
/// ```
/// use dropwise_geometry::{Unit, parse_length};
/// assert_eq!(parse_length("12 3/8 in", Unit::Millimetre)?, 12.375 * 25.4);
/// assert_eq!(parse_length("2' 3 1/2\"", Unit::Millimetre)?, 27.5 * 25.4);
/// assert_eq!(parse_length("40", Unit::Centimetre)?, 400.0);
/// let error = parse_length("3,2 mm", Unit::Millimetre).unwrap_err();
/// assert_eq!((error.column, error.to_string().ends_with("write 3.2")), (1, true));
/// # Ok::<(), dropwise_geometry::LengthError>(())
/// ```
pub fn parse_length(text: &str, bare: Unit) -> Result<f64, LengthError> {
    let mut reader = Reader { characters: text.chars().collect(), at: 0 };
    reader.skip_blanks();
    if reader.peek().is_none() {
        return reader.fail(LengthFault::Empty);
    }
    let is_negative = reader.peek().is_some_and(is_dash);
    if is_negative {
        reader.at += 1;
        reader.skip_blanks();
    }
    let number_at = reader.at;
    let first = reader.number()?;
    reader.skip_blanks();
    let magnitude = match reader.unit()? {
        Some(Unit::Foot) => reader.inches_after_feet(&first, number_at)?,
        Some(unit) => first.value * unit.millimetres(),
        None if reader.peek().is_some() => return reader.fail(LengthFault::Trailing),
        None if first.has_fraction && bare.is_metric() => {
            return reader.fail_at(number_at, LengthFault::FractionWithoutUnit { bare });
        }
        None => first.value * bare.millimetres(),
    };
    reader.skip_blanks();
    if reader.peek().is_some() {
        return reader.fail(LengthFault::Trailing);
    }
    // An endless number over an endless number is NaN.
    if magnitude.is_nan() || magnitude > MAX_LENGTH {
        return reader.fail_at(number_at, LengthFault::TooLong);
    }
    Ok(if is_negative { -magnitude } else { magnitude })
}

/// A length as a report prints it: millimetres to 0.1, centimetres to 0.01, inches to 0.001, metres and feet to
/// 0.0001, without trailing zeros and with the unit's symbol. [`parse_length`] reads it back.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Unit, format_length};
/// assert_eq!(format_length(314.325, Unit::Inch), "12.375 in");
/// assert_eq!(format_length(314.325, Unit::Millimetre), "314.3 mm");
/// ```
#[must_use]
pub fn format_length(mm: f64, unit: Unit) -> String {
    length_to(mm, unit, unit.report_decimals())
}

/// A length to so many decimals, without trailing zeros and with the unit's symbol.
fn length_to(mm: f64, unit: Unit, decimals: usize) -> String {
    let mut number = format!("{:.*}", decimals, mm / unit.millimetres());
    if number.contains('.') {
        let kept = number.trim_end_matches('0').trim_end_matches('.').len();
        number.truncate(kept);
    }
    let number = if number == "-0" { "0" } else { &number };
    format!("{number} {unit}")
}

/// Two lengths that are compared, each as [`format_length`] prints it, with as many decimals more as it takes to tell them
/// apart: 0.99 and 1 mm are not both "1 mm". At most five more are printed.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Unit, format_lengths_apart};
/// assert_eq!(format_lengths_apart(0.99, 1.0, Unit::Millimetre), ["0.99 mm", "1 mm"]);
/// assert_eq!(format_lengths_apart(12.0, 14.0, Unit::Millimetre), ["12 mm", "14 mm"]);
/// ```
#[must_use]
pub fn format_lengths_apart(a: f64, b: f64, unit: Unit) -> [String; 2] {
    let told = |more| [a, b].map(|length| length_to(length, unit, unit.report_decimals() + more));
    (0..5).map(told).find(|[a, b]| a != b).unwrap_or_else(|| told(5))
}

/// A difference of lengths, never as nothing where there is some: to the decimals of [`format_length`], or to the first that
/// is not zero.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Unit, format_gap};
/// assert_eq!(format_gap(0.0042, Unit::Millimetre), "0.004 mm");
/// assert_eq!(format_gap(1.27, Unit::Millimetre), "1.3 mm");
/// ```
#[must_use]
pub fn format_gap(mm: f64, unit: Unit) -> String {
    let told = |more| length_to(mm, unit, unit.report_decimals() + more);
    let is_something = |text: &String| text.bytes().any(|byte| (b'1'..=b'9').contains(&byte));
    (0..9).map(told).find(is_something).unwrap_or_else(|| told(0))
}

/// An area as a report prints it beside lengths in `unit`: square metres, or square feet beside inches and feet, to four
/// decimals, which is a square centimetre or a hundredth of a square inch.
///
/// # Examples
/// ```
/// use dropwise_geometry::{Unit, format_area};
/// assert_eq!(format_area(1_250_000.0, Unit::Millimetre), "1.2500 m²");
/// assert_eq!(format_area(12.0 * 18.0 * 25.4 * 25.4, Unit::Inch), "1.5000 ft²");
/// ```
#[must_use]
pub fn format_area(square_millimetres: f64, unit: Unit) -> String {
    let (large, symbol) = if unit.is_metric() { (Unit::Metre, "m²") } else { (Unit::Foot, "ft²") };
    // Adding zero makes nothing of minus nothing.
    format!("{:.4} {symbol}", square_millimetres / large.millimetres().powi(2) + 0.0)
}

/// The finest division of the tape that a fraction is rounded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InchDivision {
    /// 1/16 in.
    Sixteenths,
    /// 1/32 in.
    ThirtySeconds,
    /// 1/64 in.
    SixtyFourths,
}

/// A length in inches as the nearest fraction, in lowest terms: `12 3/8 in`. Halfway cases go away from zero.
///
/// Not for anything that must fit: rounding to 1/16 in may be off by 0.8 mm.
///
/// # Examples
/// ```
/// use dropwise_geometry::{InchDivision, format_inch_fraction};
/// assert_eq!(format_inch_fraction(314.0, InchDivision::Sixteenths), "12 3/8 in");
/// assert_eq!(format_inch_fraction(314.0, InchDivision::SixtyFourths), "12 23/64 in");
/// ```
#[must_use]
pub fn format_inch_fraction(mm: f64, finest: InchDivision) -> String {
    let denominator = match finest {
        InchDivision::Sixteenths => 16,
        InchDivision::ThirtySeconds => 32,
        InchDivision::SixtyFourths => 64,
    };
    let inches = mm / Unit::Inch.millimetres();
    let parts = (inches.abs() * f64::from(denominator)).round();
    // Beyond 2^53 parts no fraction is left to speak of, and the whole numbers below would not hold them.
    if parts.is_nan() || parts >= 9e15 {
        return format_length(mm, Unit::Inch);
    }
    let parts = parts as u64;
    let sign = if inches < 0.0 && parts > 0 { "-" } else { "" };
    let (whole, rest) = (parts / denominator as u64, (parts % denominator as u64) as u32);
    // A power of two divides out of the denominator as often as out of the numerator.
    let common = 1_u32 << rest.trailing_zeros().min(6);
    match (whole, rest) {
        (whole, 0) => format!("{sign}{whole} in"),
        (0, rest) => format!("{sign}{}/{} in", rest / common, denominator as u32 / common),
        (whole, rest) => format!("{sign}{whole} {}/{} in", rest / common, denominator as u32 / common),
    }
}

/// A number as written, before its unit.
struct Number {
    value: f64,
    is_whole: bool,
    has_fraction: bool,
}

/// A place in the text; each method reads one thing and stands behind it.
struct Reader {
    characters: Vec<char>,
    at: usize,
}

impl Reader {
    fn peek(&self) -> Option<char> {
        self.peek_ahead(0)
    }

    fn peek_ahead(&self, by: usize) -> Option<char> {
        self.characters.get(self.at + by).copied()
    }

    fn fail<T>(&self, fault: LengthFault) -> Result<T, LengthError> {
        self.fail_at(self.at, fault)
    }

    fn fail_at<T>(&self, column: usize, fault: LengthFault) -> Result<T, LengthError> {
        Err(LengthError { column, fault })
    }

    fn skip_blanks(&mut self) {
        while self.peek().is_some_and(char::is_whitespace) {
            self.at += 1;
        }
    }

    fn digits(&mut self) -> String {
        let start = self.at;
        while self.peek().is_some_and(|c| c.is_ascii_digit()) {
            self.at += 1;
        }
        self.characters[start..self.at].iter().collect()
    }

    /// A decimal, a fraction or a mixed number.
    fn number(&mut self) -> Result<Number, LengthError> {
        if let Some(value) = self.fraction()? {
            return Ok(Number { value, is_whole: false, has_fraction: true });
        }
        let start = self.at;
        let mut written = self.digits();
        let has_point = self.peek() == Some('.');
        if has_point {
            self.at += 1;
            written.push('.');
            written.push_str(&self.digits());
        }
        if !written.contains(|c: char| c.is_ascii_digit()) {
            return self.fail_at(start, LengthFault::NumberExpected);
        }
        self.refuse_what_follows_a_number(&written)?;
        // Digits and a point always parse; absurdly many of them become infinite and are refused as too long.
        let value: f64 = written.parse().unwrap_or(f64::INFINITY);
        let fraction = self.fraction_after(has_point)?;
        Ok(Number {
            value: value + fraction.unwrap_or(0.0),
            is_whole: !has_point && fraction.is_none(),
            has_fraction: fraction.is_some(),
        })
    }

    fn refuse_what_follows_a_number(&self, written: &str) -> Result<(), LengthError> {
        match self.peek() {
            Some(',') => {
                let rest: String = self.characters[self.at + 1..].iter().take_while(|c| c.is_ascii_digit()).collect();
                // A comma before three digits may be either kind.
                let suggestion = match rest.len() {
                    0 => written.to_owned(),
                    3 if !written.contains('.') => format!("{written}{rest} or {written}.{rest}"),
                    _ => format!("{}.{rest}", written.trim_end_matches('.')),
                };
                self.fail(LengthFault::Comma { suggestion })
            }
            Some('.') => self.fail(LengthFault::SecondPoint),
            Some('e' | 'E') if self.peek_ahead(1).is_some_and(|c| c.is_ascii_digit() || c == '+' || is_dash(c)) => {
                self.fail(LengthFault::Exponent)
            }
            Some(c) if is_slash(c) => self.fail(LengthFault::DecimalFraction),
            _ => Ok(()),
        }
    }

    /// The fraction of a mixed number, joined to its whole number by a blank, a dash or nothing.
    fn fraction_after(&mut self, has_point: bool) -> Result<Option<f64>, LengthError> {
        let end = self.at;
        let is_joined_by_dash = self.peek().is_some_and(is_dash);
        if is_joined_by_dash {
            self.at += 1;
        } else {
            self.skip_blanks();
            if self.peek().is_some_and(is_dash) {
                return self.fail(LengthFault::Dash);
            }
        }
        let start = self.at;
        match self.fraction()? {
            Some(_) if has_point => self.fail_at(start, LengthFault::DecimalFraction),
            Some(value) if value >= 1.0 => self.fail_at(start, LengthFault::ImproperFraction),
            Some(value) => Ok(Some(value)),
            None if is_joined_by_dash => self.fail_at(end, LengthFault::Dash),
            None if self.peek().is_some_and(|c| c.is_ascii_digit() || c == '.') => self.fail(LengthFault::TwoNumbers),
            None => {
                self.at = end;
                Ok(None)
            }
        }
    }

    /// A fraction such as 3/8 or ⅜; nothing is read when there is none.
    fn fraction(&mut self) -> Result<Option<f64>, LengthError> {
        if let Some(value) = self.peek().and_then(unicode_fraction) {
            self.at += 1;
            return Ok(Some(value));
        }
        let start = self.at;
        let numerator = self.digits();
        if numerator.is_empty() || !self.peek().is_some_and(is_slash) {
            self.at = start;
            return Ok(None);
        }
        self.at += 1;
        let denominator_at = self.at;
        let denominator = self.digits();
        match self.peek() {
            Some('.') if !denominator.is_empty() => return self.fail(LengthFault::DecimalFraction),
            Some(c) if is_slash(c) => return self.fail(LengthFault::Denominator),
            _ if denominator.is_empty() => return self.fail(LengthFault::Denominator),
            _ => {}
        }
        let over = denominator.parse().unwrap_or(f64::INFINITY);
        if over == 0.0 {
            return self.fail_at(denominator_at, LengthFault::ZeroDenominator);
        }
        Ok(Some(numerator.parse().unwrap_or(f64::INFINITY) / over))
    }

    /// A unit as a word or as a mark, if one stands here.
    fn unit(&mut self) -> Result<Option<Unit>, LengthError> {
        let start = self.at;
        match self.peek() {
            Some(c) if is_inch_mark(c) => {
                self.at += 1;
                return Ok(Some(Unit::Inch));
            }
            Some(c) if is_foot_mark(c) => {
                // Two foot marks typed close together are an inch mark.
                let is_inch = self.peek_ahead(1) == Some(c);
                self.at += if is_inch { 2 } else { 1 };
                return Ok(Some(if is_inch { Unit::Inch } else { Unit::Foot }));
            }
            _ => {}
        }
        while self.peek().is_some_and(char::is_alphabetic) {
            self.at += 1;
        }
        if self.at == start {
            return Ok(None);
        }
        let word: String = self.characters[start..self.at].iter().collect();
        if ["ga", "gauge", "gage", "swg", "bwg", "awg"].contains(&word.to_lowercase().as_str()) {
            return self.fail_at(start, LengthFault::Gauge);
        }
        let Ok(unit) = word.parse() else { return self.fail_at(start, LengthFault::UnknownUnit { word }) };
        if self.peek() == Some('.') {
            self.at += 1;
        }
        Ok(Some(unit))
    }

    /// The rest of a length in feet, in millimetres: nothing, or inches.
    fn inches_after_feet(&mut self, feet: &Number, feet_at: usize) -> Result<f64, LengthError> {
        let feet_mm = feet.value * Unit::Foot.millimetres();
        self.skip_blanks();
        if self.peek().is_none() {
            return Ok(feet_mm);
        }
        if self.peek().is_some_and(is_dash) {
            self.at += 1;
            self.skip_blanks();
        }
        let number_at = self.at;
        if !self.peek().is_some_and(|c| c.is_ascii_digit() || c == '.' || unicode_fraction(c).is_some()) {
            return self.fail(LengthFault::Trailing);
        }
        let inches = self.number()?;
        self.skip_blanks();
        let unit_at = self.at;
        if self.unit()? != Some(Unit::Inch) {
            return self.fail_at(unit_at, LengthFault::InchesExpected);
        }
        if !feet.is_whole {
            return self.fail_at(feet_at, LengthFault::FeetNotWhole);
        }
        if inches.value >= 12.0 {
            return self.fail_at(number_at, LengthFault::TooManyInches);
        }
        // Summed in inches first: exact for tape fractions, so 2' 3 1/2" and 27.5 in agree to the bit.
        Ok((feet.value * 12.0 + inches.value) * Unit::Inch.millimetres())
    }
}

fn is_dash(c: char) -> bool {
    // Hyphen-minus, hyphen, non-breaking hyphen, figure dash, en dash, minus sign.
    matches!(c, '-' | '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' | '\u{2212}')
}

fn is_slash(c: char) -> bool {
    // Solidus, fraction slash, division slash.
    matches!(c, '/' | '\u{2044}' | '\u{2215}')
}

fn is_inch_mark(c: char) -> bool {
    // Straight, double prime, curly right, curly left.
    matches!(c, '"' | '\u{2033}' | '\u{201D}' | '\u{201C}')
}

fn is_foot_mark(c: char) -> bool {
    // Straight, prime, curly right, curly left.
    matches!(c, '\'' | '\u{2032}' | '\u{2019}' | '\u{2018}')
}

/// The value of a vulgar fraction character.
///
/// # Source
/// The Unicode Standard, Latin-1 Supplement and Number Forms charts.
fn unicode_fraction(c: char) -> Option<f64> {
    let (numerator, denominator) = match c {
        '¼' => (1.0, 4.0),
        '½' => (1.0, 2.0),
        '¾' => (3.0, 4.0),
        '⅐' => (1.0, 7.0),
        '⅑' => (1.0, 9.0),
        '⅒' => (1.0, 10.0),
        '⅓' => (1.0, 3.0),
        '⅔' => (2.0, 3.0),
        '⅕' => (1.0, 5.0),
        '⅖' => (2.0, 5.0),
        '⅗' => (3.0, 5.0),
        '⅘' => (4.0, 5.0),
        '⅙' => (1.0, 6.0),
        '⅚' => (5.0, 6.0),
        '⅛' => (1.0, 8.0),
        '⅜' => (3.0, 8.0),
        '⅝' => (5.0, 8.0),
        '⅞' => (7.0, 8.0),
        _ => return None,
    };
    Some(numerator / denominator)
}

#[cfg(test)]
mod tests;
