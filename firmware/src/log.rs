//! The log: the samples as a trace that `chirrup replay` reads, in exact decimals, without a float.
//!
//! | column | meaning |
//! |---|---|
//! | `time_us` | middle of the static barometer's conversion, microseconds since the start |
//! | `static_pa` | static pressure, in sixty-fourths of a pascal, exact |
//! | `dynamic_pa` | pitot less static, less its zero; empty without an airspeed sensor |
//! | `te_pa` | pressure of the total-energy probe; empty without one |
//! | `vertical_speed_mmps` | the vertical speed that sounds, mm/s; empty while there is none |
//! | `dropped` | rows that were not written since the log began, because the port was too slow |

use crate::sampler::Sampled;
use core::fmt::{self, Write};

/// The header line.
pub const HEADER: &str = "time_us,static_pa,dynamic_pa,te_pa,vertical_speed_mmps,dropped";
/// The most rows a second: one per sample.
pub const MOST_HZ: u8 = 50;

/// Which samples are written, and how many were not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Log {
    rate_hz: u8,
    /// Fiftieths of a row that are due.
    due: u8,
    /// Rows dropped for lack of room.
    pub dropped: u32,
}

impl Log {
    /// A log of this many rows a second; 0 for none.
    pub fn new(rate_hz: u8) -> Self {
        Self { rate_hz: rate_hz.min(MOST_HZ), due: 0, dropped: 0 }
    }

    /// The same from its beginning.
    pub fn afresh(&self) -> Self {
        Self::new(self.rate_hz)
    }

    /// Whether it is on.
    pub fn is_on(&self) -> bool {
        self.rate_hz > 0
    }

    /// Whether to write the next sample.
    pub fn takes_next(&mut self) -> bool {
        self.due += self.rate_hz;
        let takes = self.due >= MOST_HZ;
        if takes {
            self.due -= MOST_HZ;
        }
        takes
    }
}

/// Writes a row without its line end.
///
/// # Errors
/// The error of `out`.
pub fn row(
    out: &mut impl Write,
    sampled: &Sampled,
    vertical_speed_mmps: Option<i32>,
    dropped: u32,
) -> fmt::Result {
    write!(out, "{},{},", sampled.time.0, SixtyFourths(sampled.static_64ths_pa))?;
    for optional in [sampled.dynamic_64ths_pa, sampled.te_64ths_pa] {
        if let Some(value) = optional {
            write!(out, "{}", SixtyFourths(value))?;
        }
        out.write_str(",")?;
    }
    if let Some(speed) = vertical_speed_mmps {
        write!(out, "{speed}")?;
    }
    write!(out, ",{dropped}")
}

/// Sixty-fourths as an exact decimal.
pub struct SixtyFourths(pub i32);

impl fmt::Display for SixtyFourths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let magnitude = self.0.unsigned_abs();
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, rest) = (magnitude / 64, magnitude % 64);
        if rest == 0 {
            return write!(f, "{sign}{whole}");
        }
        // 1/64 is 0.015625; every factor of two in the rest removes a digit at the end.
        let zeros = rest.trailing_zeros();
        let (digits, decimals) = (rest * 15_625 / 10_u32.pow(zeros), 6 - zeros as usize);
        write!(f, "{sign}{whole}.{digits:0decimals$}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::Micros;
    use proptest::prelude::*;
    use std::string::{String, ToString};

    #[test]
    fn a_row_has_the_columns_of_the_header() {
        let mut text = String::new();
        let sampled = Sampled {
            time: Micros(1_234_567),
            static_64ths_pa: 95_000 * 64 + 1,
            dynamic_64ths_pa: Some(-96),
            te_64ths_pa: None,
        };
        row(&mut text, &sampled, Some(-1_250), 3).unwrap();
        assert_eq!(text, "1234567,95000.015625,-1.5,,-1250,3");
        assert_eq!(text.split(',').count(), HEADER.split(',').count());
    }

    #[test]
    fn ten_rows_a_second_are_every_fifth_sample() {
        for (rate, rows) in [(0, 0), (1, 10), (7, 70), (10, 100), (50, 500)] {
            let mut log = Log::new(rate);
            assert_eq!((0..500).filter(|_| log.takes_next()).count(), rows);
        }
        let mut log = Log::new(10);
        let taken: std::vec::Vec<_> = (1..=15).filter(|_| log.takes_next()).collect();
        assert_eq!(taken, [5, 10, 15]);
    }

    #[test]
    fn no_meaningless_digit_is_written() {
        let texts = [0, 1, 2, 16, 32, 48, 63, 64, -80].map(|value| SixtyFourths(value).to_string());
        assert_eq!(
            texts,
            ["0", "0.015625", "0.03125", "0.25", "0.5", "0.75", "0.984375", "1", "-1.25"]
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig {
            failure_persistence: None,
            ..ProptestConfig::default()
        })]

        #[test]
        fn a_pressure_is_read_back_exactly(value in any::<i32>()) {
            let read: f64 = SixtyFourths(value).to_string().parse().unwrap();
            prop_assert_eq!(read, f64::from(value) / 64.0);
        }
    }
}
