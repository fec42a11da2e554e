//! The MS5611's PROM: eight words of 16 bits, the last of which holds a checksum of the others.
//!
//! ```text
//! word 0 factory data | 1 to 6: C1 to C6 | 7: serial code (high byte), CRC-4 (lowest four bits)
//! ```
//!
//! Source: MS5611-01BA03 data sheet, "memory PROM [128 bits]", and application note AN520 for the
//! checksum: polynomial x^4 + x + 1 over the 15 bytes before the low byte of word 7.

use super::Calibration;
use crc::{Algorithm, Crc};

/// Words in the PROM.
pub const WORDS: usize = 8;

const CRC4: Crc<u8> = Crc::<u8>::new(&Algorithm {
    width: 4,
    poly: 0x3,
    init: 0,
    refin: false,
    refout: false,
    xorout: 0,
    check: 0,
    residue: 0,
});

/// The checksum for the lowest four bits of word 7.
pub fn checksum(words: &[u16; WORDS]) -> u8 {
    let mut digest = CRC4.digest();
    for (place, word) in words.iter().enumerate() {
        let [high, low] = word.to_be_bytes();
        digest.update(&[high]);
        if place + 1 < WORDS {
            digest.update(&[low]);
        }
    }
    digest.finalize()
}

/// The calibration, if the checksum is right.
pub fn calibration(words: &[u16; WORDS]) -> Option<Calibration> {
    let [_, c1, c2, c3, c4, c5, c6, last] = *words;
    // A line that is held low reads as zeros, whose checksum is zero as well.
    let plausible = c1 != 0 && c2 != 0 && c5 != 0 && c6 != 0;
    let good = plausible && u16::from(checksum(words)) == last & 0xF;
    good.then_some(Calibration {
        sensitivity: c1,
        offset: c2,
        sensitivity_slope: c3,
        offset_slope: c4,
        reference_temperature: c5,
        temperature_slope: c6,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The application note's own way: a 16-bit remainder, bit by bit.
    fn reference(words: &[u16; WORDS]) -> u8 {
        let mut remainder = 0_u16;
        for place in 0..16 {
            let word = if place >= 14 { words[7] & 0xFF00 } else { words[place / 2] };
            remainder ^= if place % 2 == 0 { word >> 8 } else { word & 0xFF };
            for _ in 0..8 {
                remainder =
                    if remainder & 0x8000 != 0 { remainder << 1 ^ 0x3000 } else { remainder << 1 };
            }
        }
        (remainder >> 12) as u8
    }

    #[test]
    fn the_application_notes_example_is_reproduced() {
        // AN520, "example of CRC-4 calculation" (from memory): these words have the checksum 0xB.
        let words = [0x3132, 0x3334, 0x3536, 0x3738, 0x3940, 0x4142, 0x4344, 0x4500];
        assert_eq!(checksum(&words), 0xB);
    }

    #[test]
    fn the_data_sheets_calibration_with_its_checksum_is_read() {
        let words = crate::fakes::SHEET_PROM;
        assert_eq!(u16::from(checksum(&words)), words[7] & 0xF);
        assert_eq!(calibration(&words).map(|calibration| calibration.sensitivity), Some(40_127));
    }

    #[test]
    fn a_line_held_low_or_high_gives_no_calibration() {
        assert_eq!(calibration(&[0; WORDS]), None);
        assert_eq!(calibration(&[0xFFFF; WORDS]), None);
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn it_is_the_checksum_of_the_application_note(words in any::<[u16; WORDS]>()) {
            prop_assert_eq!(checksum(&words), reference(&words));
        }

        #[test]
        fn one_wrong_bit_is_seen(
            words in prop::array::uniform7(1..=u16::MAX),
            serial in any::<u8>(),
            bit in 0..120_usize,
        ) {
            let mut all = [0; WORDS];
            all[..7].copy_from_slice(&words);
            all[7] = u16::from(serial) << 8;
            all[7] |= u16::from(checksum(&all));
            prop_assert!(calibration(&all).is_some());
            all[bit / 16] ^= 0x8000 >> (bit % 16);
            prop_assert_eq!(calibration(&all), None);
        }
    }
}
