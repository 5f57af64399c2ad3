//! Tags to chalk on metal.

use std::fmt;
use std::str::FromStr;

use dropwise_geometry::shortened;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use thiserror::Error;

/// The letters of tags, in the order of their values.
///
/// Left out is what chalk makes alike (0 O Q D, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V) and what turns into another letter when
/// the sheet lies the other way up (6 and 9, M and W: 9 and M stay, so a 6 or a W is seen to be upside down). There are
/// 19, a prime, which is what makes the check letter sure.
const LETTERS: &[u8; 19] = b"3479ACEFHJKMNPRTXYD";

/// Fewest and most letters of a tag, the check letter included.
const LENGTHS: std::ops::RangeInclusive<usize> = 4..=8;

/// A short name for one piece of metal, to be chalked on it: four letters and figures, the last of them a check.
///
/// One wrong letter, or any two letters swapped, is always noticed. Tags are read in either case, with blanks and
/// hyphens left out; they print in capitals. Where a log has used up its four-letter tags, it goes on with five.
///
/// # Examples
/// ```
/// use dropwise_stock::Tag;
/// let tag = Tag::numbered(0);
/// assert_eq!(tag.as_str().len(), 4);
/// assert_eq!(tag.to_string().to_lowercase().parse(), Ok(tag));
/// assert!("AAAA".parse::<Tag>().is_err());
/// ```
///
/// # Source
/// A weighted sum modulo a prime, as in the check digit of ten-digit book numbers (ISO 2108, the editions before 2007,
/// modulus 11, from memory); here the modulus is 19.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tag {
    /// The letters, padded with zero bytes so that shorter tags sort first among those that start alike.
    letters: [u8; 8],
}

/// Why a text is not a tag.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum TagError {
    /// Too short or too long.
    #[error("`{}` is not a tag: a tag has {} to {} letters", shortened(typed), LENGTHS.start(), LENGTHS.end())]
    Length {
        /// What was typed.
        typed: String,
    },
    /// A letter that no tag has.
    #[error("`{}` is not a tag: no tag has a `{}`, only {}", shortened(typed), letter.escape_debug(), String::from_utf8_lossy(LETTERS))]
    Letter {
        /// What was typed.
        typed: String,
        /// The letter.
        letter: char,
    },
    /// The letters do not agree with the check letter.
    #[error("`{}` is not a tag: one of its letters is misread, or two are swapped", shortened(typed))]
    Check {
        /// What was typed.
        typed: String,
    },
}

impl Tag {
    /// The tag of this number. Numbers that follow each other give tags that look different.
    ///
    /// The first 6,859 have four letters, the next 130,321 five, and so on to eight; beyond two thousand million they
    /// start over.
    #[must_use]
    pub fn numbered(number: u64) -> Self {
        let base = LETTERS.len() as u64;
        let mut length = *LENGTHS.start() as u32 - 1;
        let mut rest = number;
        while rest >= base.pow(length) && length < *LENGTHS.end() as u32 - 1 {
            rest -= base.pow(length);
            length += 1;
        }
        let count = base.pow(length);
        // A stride near the golden section spreads neighbours; no power of 19 shares a factor with it because the stride
        // is made not to be a multiple of 19.
        let mut stride = (count as f64 * 0.618_033_988_75) as u64;
        if stride.is_multiple_of(base) {
            stride += 1;
        }
        let mut spread = (u128::from(rest % count) * u128::from(stride) % u128::from(count)) as u64;
        let mut values = vec![0_u64; length as usize];
        for value in values.iter_mut().rev() {
            *value = spread % base;
            spread /= base;
        }
        let sum: u64 = values.iter().rev().zip(2_u64..).map(|(value, weight)| value * weight).sum();
        values.push((base - sum % base) % base);
        let mut letters = [0; 8];
        for (letter, value) in letters.iter_mut().zip(values) {
            *letter = LETTERS[value as usize];
        }
        Self { letters }
    }

    /// Its letters.
    #[must_use]
    pub fn as_str(&self) -> &str {
        let length = self.letters.iter().position(|&letter| letter == 0).unwrap_or(self.letters.len());
        // Letters are ASCII whatever way a tag was made.
        std::str::from_utf8(&self.letters[..length]).unwrap_or_default()
    }
}

impl FromStr for Tag {
    type Err = TagError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let typed = || text.trim().to_owned();
        let mut letters = [0; 8];
        let mut values = Vec::new();
        for letter in text.chars().filter(|letter| !letter.is_whitespace() && *letter != '-') {
            let capital = letter.to_ascii_uppercase();
            let Some(value) = LETTERS.iter().position(|&known| char::from(known) == capital) else {
                return Err(TagError::Letter { typed: typed(), letter });
            };
            if values.len() == letters.len() {
                return Err(TagError::Length { typed: typed() });
            }
            letters[values.len()] = LETTERS[value];
            values.push(value);
        }
        if !LENGTHS.contains(&values.len()) {
            return Err(TagError::Length { typed: typed() });
        }
        let sum: usize = values.iter().rev().zip(1..).map(|(value, weight)| value * weight).sum();
        if !sum.is_multiple_of(LETTERS.len()) {
            return Err(TagError::Check { typed: typed() });
        }
        Ok(Self { letters })
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Tag({self})")
    }
}

impl Serialize for Tag {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.as_str())
    }
}

impl<'de> Deserialize<'de> for Tag {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_number_has_a_tag_of_its_own_that_reads_back() {
        let tags: Vec<Tag> = (0..6859 + 2000).map(Tag::numbered).collect();
        assert_eq!(tags.iter().collect::<HashSet<_>>().len(), tags.len());
        for (number, tag) in tags.iter().enumerate() {
            assert_eq!(tag.as_str().len(), if number < 6859 { 4 } else { 5 });
            assert_eq!(tag.as_str().parse(), Ok(*tag));
        }
        assert_eq!(Tag::numbered(6859 + 130_321).as_str().len(), 6);
        assert_eq!(Tag::numbered(u64::MAX).as_str().len(), 8);
    }

    #[test]
    fn one_wrong_letter_is_always_noticed() {
        for tag in (0..300).map(Tag::numbered) {
            for place in 0..tag.as_str().len() {
                for &letter in LETTERS {
                    let mut wrong = tag.as_str().as_bytes().to_vec();
                    if wrong[place] == letter {
                        continue;
                    }
                    wrong[place] = letter;
                    let wrong = String::from_utf8(wrong).unwrap();
                    assert_eq!(wrong.parse::<Tag>(), Err(TagError::Check { typed: wrong.clone() }));
                }
            }
        }
    }

    #[test]
    fn two_letters_swapped_are_always_noticed() {
        for tag in (0..6859).map(Tag::numbered) {
            for (a, b) in [(0, 1), (1, 2), (2, 3), (0, 2), (0, 3), (1, 3)] {
                let mut swapped = tag.as_str().as_bytes().to_vec();
                swapped.swap(a, b);
                let swapped = String::from_utf8(swapped).unwrap();
                assert!(swapped == tag.as_str() || swapped.parse::<Tag>().is_err(), "{tag} as {swapped}");
            }
        }
    }

    #[test]
    fn neighbours_look_different() {
        for number in 0..500 {
            let (a, b) = (Tag::numbered(number), Tag::numbered(number + 1));
            let alike = a.as_str().bytes().zip(b.as_str().bytes()).filter(|(a, b)| a == b).count();
            assert!(alike <= 1, "{a} and {b}");
        }
    }

    #[test]
    fn handwriting_is_forgiven_and_lookalikes_are_not() {
        let tag = Tag::numbered(7);
        let spaced = format!(" {}-{} ", &tag.as_str()[..2].to_lowercase(), &tag.as_str()[2..]);
        assert_eq!(spaced.parse(), Ok(tag));
        assert!(matches!("O3A4".parse::<Tag>(), Err(TagError::Letter { letter: 'O', .. })));
        assert!(matches!("".parse::<Tag>(), Err(TagError::Length { .. })));
        assert!(matches!("333333333".parse::<Tag>(), Err(TagError::Length { .. })));
        assert!(matches!("ßß".parse::<Tag>(), Err(TagError::Letter { letter: 'ß', .. })));
    }
}
