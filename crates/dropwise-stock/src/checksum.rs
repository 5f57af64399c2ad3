//! Checksums of what is written: the database checks its own structure, not the letters of a text.

use rusqlite::types::ValueRef;

/// Checksum of some bytes.
///
/// # Source
/// CRC-32 as in ISO/IEC/IEEE 8802-3, polynomial 04C11DB7 taken from the low bit; Python calls it `zlib.crc32`.
pub(crate) fn crc32(bytes: &[u8]) -> u32 {
    crc32fast::hash(bytes)
}

/// Checksum of the columns of a row, one a line: numbers with a fraction as the eight bytes of the double in hexadecimal,
/// the highest first; nothing for NULL.
#[derive(Debug, Default)]
pub(crate) struct RowSum {
    text: Vec<u8>,
}

impl RowSum {
    pub(crate) fn add(&mut self, value: ValueRef<'_>) {
        use std::io::Write as _;
        match value {
            ValueRef::Null => {}
            // Writing to memory cannot fail.
            ValueRef::Integer(number) => _ = write!(self.text, "{number}"),
            // The database keeps no minus before zero.
            ValueRef::Real(number) => _ = write!(self.text, "{:016x}", (number + 0.0).to_bits()),
            ValueRef::Text(bytes) | ValueRef::Blob(bytes) => self.text.extend_from_slice(bytes),
        }
        self.text.push(b'\n');
    }

    pub(crate) fn checksum(&self) -> u32 {
        crc32(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_value_of_the_standard() {
        // The customary check value of CRC-32, from memory.
        assert_eq!(crc32(b"123456789"), 0xcbf4_3926);
        assert_eq!(crc32(b""), 0);
    }

    #[test]
    fn a_row_is_a_line_for_each_column() {
        let mut sum = RowSum::default();
        for value in [ValueRef::Text(b"7CDP"), ValueRef::Null, ValueRef::Integer(-3), ValueRef::Real(1.0)] {
            sum.add(value);
        }
        assert_eq!(sum.checksum(), crc32(b"7CDP\n\n-3\n3ff0000000000000\n"));
        let (mut zero, mut minus) = (RowSum::default(), RowSum::default());
        zero.add(ValueRef::Real(0.0));
        minus.add(ValueRef::Real(-0.0));
        assert_eq!(zero.checksum(), minus.checksum());
    }
}
