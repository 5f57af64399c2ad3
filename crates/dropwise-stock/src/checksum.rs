//! A checksum for each event: the database checks its own structure, not the letters of a text.

/// Checksum of some bytes.
///
/// # Source
/// CRC-32 as in ISO/IEC/IEEE 8802-3, polynomial 04C11DB7 taken from the low bit; Python calls it `zlib.crc32`.
pub(crate) fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |sum, &byte| {
        (0..8).fold(sum ^ u32::from(byte), |sum, _| if sum & 1 == 1 { sum >> 1 ^ 0xedb8_8320 } else { sum >> 1 })
    })
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
}
