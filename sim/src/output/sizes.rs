//! How large outputs are, and the question that stands before large ones.

use crate::error::{Error, Result};
use std::fmt;

/// Outputs that are larger than this in all are written only where the user says so, in bytes: the
/// sound of six hours (a guess: no disk is short of less, and few wait for more by intent).
pub const MOST_UNASKED: u64 = 1_000_000_000;

/// Sizes of what is written, in bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sizes {
    /// WAV files.
    pub sound: u64,
    /// CSV files.
    pub readings: u64,
}

impl Sizes {
    /// The bytes of so many seconds of sound.
    pub fn of_sound(seconds: f64, rate_hz: u32, channels: u16) -> u64 {
        (seconds * f64::from(rate_hz) * f64::from(channels) * 2.0) as u64
    }

    /// Those of both.
    pub fn plus(self, other: Self) -> Self {
        Self {
            sound: self.sound.saturating_add(other.sound),
            readings: self.readings.saturating_add(other.readings),
        }
    }

    /// Refuses outputs that are large in all, unless they may be.
    ///
    /// # Errors
    /// A line with their sizes and what to do.
    pub fn check(&self, name: &str, may_be_large: bool) -> Result<()> {
        if may_be_large || self.sound.saturating_add(self.readings) <= MOST_UNASKED {
            return Ok(());
        }
        Err(Error::Usage(format!(
            "{name}: {self}, more than 1 GB; --yes writes it all, or replay a part of it with \
             --from and --to"
        )))
    }
}

impl fmt::Display for Sizes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts = [(self.sound, "sound"), (self.readings, "readings")];
        let parts = parts.iter().filter(|(bytes, _)| *bytes > 0);
        let words: Vec<String> =
            parts.map(|(bytes, what)| format!("{} of {what}", size(*bytes))).collect();
        f.write_str(&words.join(" and "))
    }
}

fn size(bytes: u64) -> String {
    match bytes as f64 {
        small if small < 1e6 => format!("{:.0} kB", (small / 1e3).max(1.0)),
        medium if medium < 1e9 => format!("{:.0} MB", medium / 1e6),
        large => format!("{:.1} GB", large / 1e9),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_large_in_all_is_named_part_by_part() {
        let sizes = Sizes { sound: 934_000_000, readings: 70_000_000 };
        assert!(sizes.check("a.igc", true).is_ok());
        let line = sizes.check("a.igc", false).unwrap_err();
        assert_eq!(line.exit_code(), 2);
        assert_eq!(
            line.to_string(),
            "a.igc: 934 MB of sound and 70 MB of readings, more than 1 GB; --yes writes it all, \
             or replay a part of it with --from and --to"
        );
        assert!(Sizes { readings: 0, ..sizes }.check("a.igc", false).is_ok());
    }

    #[test]
    fn sizes_are_in_units_that_people_know() {
        assert_eq!(size(5), "1 kB");
        assert_eq!(size(20_400), "20 kB");
        assert_eq!(size(1_300_000_000), "1.3 GB");
    }
}
