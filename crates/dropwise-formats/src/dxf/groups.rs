//! The pairs of group code and value that a DXF file consists of, in its text and its binary form.

use std::borrow::Cow;

use super::DxfError;
use crate::drawing::Spot;

const BINARY_SIGN: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// One pair.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group<'a> {
    pub(super) code: i32,
    pub(super) value: Value<'a>,
    /// Line of the code, or byte.
    place: u32,
    is_binary: bool,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Value<'a> {
    Text(&'a [u8]),
    Real(f64),
    Integer(i64),
}

impl<'a> Group<'a> {
    pub(super) fn spot(&self) -> Spot {
        if self.is_binary { Spot::Byte(self.place as usize) } else { Spot::Line(self.place as usize) }
    }

    /// The value's place: the line after its code.
    fn value_spot(&self) -> Spot {
        if self.is_binary { self.spot() } else { Spot::Line(self.place as usize + 1) }
    }

    pub(super) fn is(&self, code: i32, text: &str) -> bool {
        self.code == code && matches!(self.value, Value::Text(bytes) if bytes.eq_ignore_ascii_case(text.as_bytes()))
    }

    pub(super) fn text(&self) -> Cow<'a, str> {
        match self.value {
            Value::Text(bytes) => decode(bytes),
            Value::Real(value) => Cow::Owned(value.to_string()),
            Value::Integer(value) => Cow::Owned(value.to_string()),
        }
    }

    fn bad(&self, file: &str, expected: &'static str) -> DxfError {
        let text = self.text().chars().take(40).collect();
        DxfError::BadValue { file: file.to_owned(), spot: self.value_spot(), code: self.code, text, expected }
    }

    /// A finite number.
    pub(super) fn real(&self, file: &str) -> Result<f64, DxfError> {
        let value = match self.value {
            Value::Text(bytes) => std::str::from_utf8(bytes).ok().and_then(|text| parse_real(text.trim())),
            Value::Real(value) => Some(value),
            Value::Integer(value) => Some(value as f64),
        };
        value.filter(|value: &f64| value.is_finite()).ok_or_else(|| self.bad(file, "a number, such as 12.5"))
    }

    pub(super) fn integer(&self, file: &str) -> Result<i64, DxfError> {
        let value = match self.value {
            Value::Text(bytes) => std::str::from_utf8(bytes).ok().and_then(|text| text.trim().parse().ok()),
            // Some programs write counts and flags with a decimal point into binary files.
            Value::Real(value) => (value == value.trunc() && value.abs() < 1e15).then_some(value as i64),
            Value::Integer(value) => Some(value),
        };
        value.ok_or_else(|| self.bad(file, "a whole number"))
    }
}

/// A number with a decimal point, or with a comma in its place as programs write by mistake in some countries.
fn parse_real(text: &str) -> Option<f64> {
    text.parse().ok().or_else(|| {
        let is_decimal = text.matches(',').count() == 1 && !text.contains('.');
        is_decimal.then(|| text.replace(',', ".").parse().ok())?
    })
}

/// UTF-8 as written since 2007, else Latin-1, which is right for most older files and harmless for the rest. Characters
/// escaped as \U+00E9 are put in.
fn decode(bytes: &[u8]) -> Cow<'_, str> {
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|&byte| char::from(byte)).collect()),
    };
    if !text.contains("\\U+") {
        return text;
    }
    let mut pieces = text.split("\\U+");
    let mut decoded = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let escaped = piece.get(..4).and_then(|digits| u32::from_str_radix(digits, 16).ok()).and_then(char::from_u32);
        if let Some(character) = escaped {
            decoded.push(character);
            decoded.push_str(&piece[4..]);
        } else {
            decoded.push_str("\\U+");
            decoded.push_str(piece);
        }
    }
    Cow::Owned(decoded)
}

/// Reads pairs one after the other.
pub(super) struct Groups<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u32,
    form: Form,
    file: &'a str,
    /// Numbers with a decimal comma so far.
    pub(super) commas: usize,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Text,
    /// Codes of one byte, or three when they do not fit: to R12.
    BinaryShort,
    /// Codes of two bytes: from R13.
    BinaryLong,
}

impl<'a> Groups<'a> {
    pub(super) fn new(bytes: &'a [u8], file: &'a str) -> Result<Self, DxfError> {
        let not_dxf = |found| Err(DxfError::NotDxf { file: file.to_owned(), found });
        if let Some(rest) = bytes.strip_prefix(BINARY_SIGN) {
            // The first pair is 0 SECTION: with codes of two bytes a second zero follows the first.
            let form = if rest.starts_with(&[0, 0]) { Form::BinaryLong } else { Form::BinaryShort };
            return Ok(Self { bytes, at: BINARY_SIGN.len(), line: 0, form, file, commas: 0 });
        }
        if bytes.starts_with(b"AC10") || bytes.starts_with(b"AC1.") {
            return not_dxf("a DWG drawing");
        }
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            return not_dxf("text in UTF-16");
        }
        if bytes.starts_with(b"%PDF") {
            return not_dxf("a PDF document");
        }
        if bytes.trim_ascii_start().starts_with(b"<") {
            return not_dxf("an XML document");
        }
        let at = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
        if bytes[at..].trim_ascii().is_empty() {
            return not_dxf("an empty file");
        }
        Ok(Self { bytes, at, line: 0, form: Form::Text, file, commas: 0 })
    }

    /// Where the reader stands.
    pub(super) fn spot(&self) -> Spot {
        if self.form == Form::Text { Spot::Line(self.line as usize) } else { Spot::Byte(self.at) }
    }

    /// The next pair but comments; `None` at the end of the bytes.
    pub(super) fn next(&mut self) -> Result<Option<Group<'a>>, DxfError> {
        loop {
            let group = if self.form == Form::Text { self.next_text()? } else { self.next_binary()? };
            if group.is_none_or(|group| group.code != 999) {
                return Ok(group);
            }
        }
    }

    fn cut_off(&self) -> DxfError {
        let within = "between a group code and its value".to_owned();
        DxfError::CutOff { file: self.file.to_owned(), spot: self.spot(), within }
    }

    fn next_line(&mut self) -> Option<&'a [u8]> {
        let rest = self.bytes.get(self.at..).filter(|rest| !rest.is_empty())?;
        let length = rest.iter().position(|&byte| byte == b'\n' || byte == b'\r').unwrap_or(rest.len());
        let ending = if rest[length..].starts_with(b"\r\n") { 2 } else { usize::from(length < rest.len()) };
        self.at += length + ending;
        self.line += 1;
        Some(&rest[..length])
    }

    fn next_text(&mut self) -> Result<Option<Group<'a>>, DxfError> {
        let Some(line) = self.next_line() else { return Ok(None) };
        let place = self.line;
        let code = line.trim_ascii();
        if code.is_empty() && self.bytes[self.at..].trim_ascii().is_empty() {
            return Ok(None); // blank lines at the end
        }
        let Some(code) = std::str::from_utf8(code).ok().and_then(|text| text.parse::<i32>().ok()) else {
            let text = decode(code).chars().take(40).collect();
            return Err(DxfError::BadCode { file: self.file.to_owned(), spot: Spot::Line(place as usize), text });
        };
        let value = self.next_line().ok_or_else(|| self.cut_off())?;
        if matches!(code, 10..=59 | 140..=149 | 210..=239) && value.contains(&b',') {
            self.commas += 1;
        }
        Ok(Some(Group { code, value: Value::Text(value.trim_ascii()), place, is_binary: false }))
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], DxfError> {
        let taken = self.bytes.get(self.at..).and_then(|rest| rest.first_chunk::<N>());
        let taken = *taken.ok_or_else(|| self.cut_off())?;
        self.at += N;
        Ok(taken)
    }

    fn next_binary(&mut self) -> Result<Option<Group<'a>>, DxfError> {
        if self.at >= self.bytes.len() {
            return Ok(None);
        }
        let place = u32::try_from(self.at).unwrap_or(u32::MAX);
        let code = match self.form {
            Form::BinaryLong => i32::from(i16::from_le_bytes(self.take()?)),
            _ => match self.take::<1>()? {
                [255] => i32::from(i16::from_le_bytes(self.take()?)),
                [code] => i32::from(code),
            },
        };
        let value = match code {
            10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => Value::Real(f64::from_le_bytes(self.take()?)),
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
                Value::Integer(i64::from(i16::from_le_bytes(self.take()?)))
            }
            90..=99 | 420..=429 | 440..=459 | 1071 => Value::Integer(i64::from(i32::from_le_bytes(self.take()?))),
            160..=169 => Value::Integer(i64::from_le_bytes(self.take()?)),
            290..=299 => Value::Integer(i64::from(self.take::<1>()?[0])),
            310..=319 | 1004 => {
                let length = usize::from(self.take::<1>()?[0]);
                let chunk = self.bytes.get(self.at..self.at + length).ok_or_else(|| self.cut_off())?;
                self.at += length;
                Value::Text(chunk)
            }
            0..=9 | 100..=109 | 300..=369 | 390..=399 | 410..=419 | 430..=439 | 470..=481 | 999..=1009 => {
                let rest = &self.bytes[self.at..];
                let length = rest.iter().position(|&byte| byte == 0).ok_or_else(|| self.cut_off())?;
                self.at += length + 1;
                Value::Text(&rest[..length])
            }
            _ => {
                let (file, spot) = (self.file.to_owned(), Spot::Byte(place as usize));
                return Err(DxfError::BadCode { file, spot, text: code.to_string() });
            }
        };
        Ok(Some(Group { code, value, place, is_binary: true }))
    }
}
