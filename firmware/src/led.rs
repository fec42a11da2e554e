//! LED patterns: sixteen eighths of a second, repeated.
//!
//! ```text
//! good      #...............    settling  ####....####....    muted   #.#.............
//! battery   #.#.#...........    fault     #.#.#.#.#.#.#.#.    start   ################
//! ```

use chirrup_core::Micros;

/// A state to show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// Good reading.
    Good,
    /// The reading is settling.
    Settling,
    /// Good reading, muted.
    Muted,
    /// The battery is low.
    BatteryLow,
    /// There is no reading.
    Fault,
}

const EIGHTH_S: Micros = Micros(125_000);

impl Light {
    /// Whether the LED is lit at a time.
    pub fn is_lit(self, now: Micros) -> bool {
        // The first eighth is the leftmost bit.
        let pattern: u16 = match self {
            Light::Good => 0b1000_0000_0000_0000,
            Light::Settling => 0b1111_0000_1111_0000,
            Light::Muted => 0b1010_0000_0000_0000,
            Light::BatteryLow => 0b1010_1000_0000_0000,
            Light::Fault => 0b1010_1010_1010_1010,
        };
        let eighth = now.0.div_euclid(EIGHTH_S.0).rem_euclid(16);
        pattern << eighth & 0x8000 != 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_blinks_its_own_number_of_times_in_two_seconds() {
        let blinks = |light: Light| {
            (0..16)
                .filter(|eighth| {
                    let at = |eighth: i64| light.is_lit(Micros(eighth * EIGHTH_S.0 + 5));
                    at(*eighth) && !at(*eighth - 1)
                })
                .count()
        };
        let lights = [Light::Good, Light::Settling, Light::Muted, Light::BatteryLow, Light::Fault];
        assert_eq!(lights.map(blinks), [1, 2, 2, 3, 8]);
    }
}
