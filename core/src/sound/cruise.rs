//! Cruise sounds: fly faster or slower, or rising or sinking air, with sounds that cannot be
//! mistaken for climb.
//!
//! Climb beeps come singly and evenly, each at nearly the same pitch as the one before. Cruise
//! sounds come in PAIRS of two short notes a fifth apart, then a pause longer than the pair; the
//! two pitches are always the same:
//!
//! ```text
//!   rising pair, low then high      speed mode: fly faster      netto mode: the air rises
//!   falling pair, high then low     speed mode: fly slower      netto mode: the air sinks
//! ```
//!
//! The further from the silent band, the more pairs a second, from 0.7 to 2.2 on a logarithmic
//! scale.

use crate::sound::ear::Asked;
use crate::sound::tone::{FIFTH, Sound};
use crate::units::{Hertz, MetrePerSecond};

/// Lower pitch of the pair; the higher is a fifth above. Both lie within ISO 7731's 500 to 2500 Hz
/// (from memory).
pub(crate) const LOW_NOTE: Hertz = Hertz(600.0);
/// Pairs a second at the edge of the silent band: the slowest that is heard as one continuing sound
/// (a guess)...
const SLOWEST_HZ: f32 = 0.7;
/// ... and at the far end: the pause is still longer than the pair of 200 ms.
const QUICKEST_HZ: f32 = 2.2;
/// What pairs ask of their level, by their lower note, 80 ms of it every 0.7 s: the loudness of so
/// short a note hardly depends on how often it comes.
pub(crate) const PAIRS: Asked = Asked::of(9.228_819, 0.443_6);
/// The far end is this many bands from zero.
const SPAN: f32 = 6.0;
/// A sound ends this share of the band inside the edge.
const HYSTERESIS: f32 = 0.2;

/// What the pairs show, and how wide the silent band is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Cruise {
    band_mps: f32,
    /// Values above zero give the falling pair.
    above_falls: bool,
}

/// Which pair is sounding.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum CruiseState {
    /// Within the band.
    #[default]
    Silent,
    /// Above it.
    Above,
    /// Below it.
    Below,
}

impl Cruise {
    /// The speed to fly: silent while the airspeed is within `band_mps` of it.
    pub(crate) fn of_speed(band_mps: f32) -> Self {
        Self { band_mps, above_falls: true }
    }

    /// Netto: silent while the air moves by less than `band_mps`.
    pub(crate) fn of_netto(band_mps: f32) -> Self {
        Self { band_mps, above_falls: false }
    }

    /// The sound for a speed error (airspeed less speed to fly: above zero is too fast) or for
    /// netto.
    pub(crate) fn step(&self, state: &mut CruiseState, value: MetrePerSecond) -> Sound {
        *state = self.next(*state, value.0);
        let falls = match state {
            CruiseState::Silent => return Sound::Silent,
            CruiseState::Above => self.above_falls,
            CruiseState::Below => !self.above_falls,
        };
        let (low, high) = (LOW_NOTE, Hertz(LOW_NOTE.0 * FIFTH));
        let (first, second) = if falls { (high, low) } else { (low, high) };
        Sound::Pairs { first, second, cadence: self.cadence(libm::fabsf(value.0)) }
    }

    fn next(&self, state: CruiseState, value_mps: f32) -> CruiseState {
        let still = self.band_mps * (1.0 - HYSTERESIS);
        match state {
            CruiseState::Above if value_mps >= still => CruiseState::Above,
            CruiseState::Below if value_mps <= -still => CruiseState::Below,
            _ if value_mps >= self.band_mps => CruiseState::Above,
            _ if value_mps <= -self.band_mps => CruiseState::Below,
            _ => CruiseState::Silent,
        }
    }

    fn cadence(&self, amount_mps: f32) -> Hertz {
        let share = (amount_mps - self.band_mps) / (self.band_mps * (SPAN - 1.0));
        Hertz(SLOWEST_HZ * libm::powf(QUICKEST_HZ / SLOWEST_HZ, share.clamp(0.0, 1.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::speaker::Speaker;
    use crate::sound::timbre::Timbre;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn heard(cruise: Cruise, value_mps: f32) -> Sound {
        cruise.step(&mut CruiseState::Silent, MetrePerSecond(value_mps))
    }

    /// Whether the pair rises, and its cadence.
    fn pair(sound: Sound) -> (bool, f32) {
        match sound {
            Sound::Pairs { first, second, cadence } => (second.0 > first.0, cadence.0),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_rising_pair_means_fly_faster_and_a_falling_one_slower() {
        let speed = Cruise::of_speed(2.0);
        assert_eq!(heard(speed, 1.9), Sound::Silent);
        assert_eq!(heard(speed, -1.9), Sound::Silent);
        assert!(!pair(heard(speed, 4.0)).0, "too fast");
        assert!(pair(heard(speed, -4.0)).0, "too slow");
    }

    #[test]
    fn a_rising_pair_means_rising_air_and_a_falling_one_sinking_air() {
        let netto = Cruise::of_netto(0.5);
        assert!(pair(heard(netto, 1.0)).0);
        assert!(!pair(heard(netto, -1.0)).0);
    }

    #[test]
    fn pairs_are_quicker_the_further_from_the_band_and_never_quicker_than_2_2_a_second() {
        let netto = Cruise::of_netto(0.5);
        let cadences: std::vec::Vec<f32> =
            (5..30).map(|tenth| pair(heard(netto, tenth as f32 / 10.0)).1).collect();
        assert!(cadences.windows(2).all(|two| two[1] > two[0]));
        assert_relative_eq!(cadences[0], 0.7, max_relative = 1e-5);
        assert_relative_eq!(pair(heard(netto, 60.0)).1, 2.2, max_relative = 1e-5);
    }

    #[test]
    fn a_value_that_varies_at_the_edge_of_the_band_does_not_chatter() {
        let speed = Cruise::of_speed(2.0);
        let (mut state, mut changes) = (CruiseState::default(), 0);
        for step in 0..100 {
            let before = state;
            speed.step(&mut state, MetrePerSecond(2.0 + if step % 2 == 0 { 0.3 } else { -0.3 }));
            changes += u32::from(state != before);
        }
        assert_eq!(changes, 1);
    }

    #[test]
    fn what_pairs_ask_is_what_their_lower_note_asks() {
        let asked = Asked::note(LOW_NOTE, 0.080, 0.7);
        let raise = |asked: Asked| asked.raise(Timbre::Pure, Speaker::Flat);
        assert_abs_diff_eq!(raise(PAIRS), raise(asked), epsilon = 1e-3);
    }

    #[test]
    fn nan_is_silent() {
        assert_eq!(heard(Cruise::of_speed(2.0), f32::NAN), Sound::Silent);
    }
}
