//! The volume: its steps, and how it follows the airspeed.
//!
//! It goes in steps of 3 dB, the same ratio everywhere: loudness differences are heard as ratios
//! (Weber's law), and about 1 dB is the smallest audible difference (from memory). Step 10 is full
//! scale, step 0 is silence.
//!
//! The faster the glider, the louder its air. Sound from air that flows past a body grows with the
//! sixth power of the speed (Curle 1955, from memory), 18 dB for each doubling; cars come near
//! that, and for sailplanes no figure is known to us. The volume follows a part of it: from 44 m/s
//! (160 km/h) on it is as set, and within the octave below it falls by `softer_when_slow_db x
//! log2(44.4 / airspeed)`. It is never louder than set. Without an airspeed it is as set; where one
//! is lost it grows to that in some seconds.

use crate::sound::power::{DOUBLE_DB, power_of_two};
use crate::units::MetrePerSecond;

/// The highest step of the volume.
pub const LOUDEST: f32 = 10.0;
/// One volume step, in decibels.
const STEP_DB: f32 = 3.0;
/// The volume stays while the airspeed changes by less than this: of 7 dB an octave it is 0.4 dB at
/// most, which is not heard as a change, and the timer that makes the sound need not be set anew.
const SAME_MPS: f32 = 1.0;
/// By this much the airspeed is taken to grow with each reading without one: at 50 a second the
/// volume is as set after 9 s at most.
const LOST_MPS: f32 = 0.05;
/// From this airspeed on the volume is as set: 160 km/h.
const FAST_MPS: f32 = 44.4;

/// Amplitude of a volume step, 0 to 1.
pub fn level_of_volume(volume: f32) -> f32 {
    if volume <= 0.0 { 0.0 } else { libm::powf(10.0, (volume - LOUDEST) * STEP_DB / 20.0) }
}

/// The volume with its settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Volume {
    level: f32,
    /// How much softer an octave of airspeed is, as a power of two of the amplitude.
    softer: f32,
}

impl Volume {
    /// A volume of 0 to [`LOUDEST`], softer by `softer_when_slow_db` at 22 m/s and below.
    pub(crate) fn new(volume: f32, softer_when_slow_db: f32) -> Self {
        Self { level: level_of_volume(volume), softer: softer_when_slow_db / DOUBLE_DB }
    }

    /// Amplitude, 0 to 1, at any airspeed.
    pub(crate) fn full(&self) -> f32 {
        self.level
    }

    /// Amplitude at an airspeed, 0 to 1.
    pub(crate) fn level(&self, state: &mut VolumeState, airspeed: Option<MetrePerSecond>) -> f32 {
        match airspeed {
            Some(MetrePerSecond(airspeed)) => {
                let is_near = libm::fabsf(airspeed - state.airspeed_mps) < SAME_MPS;
                if !is_near {
                    state.airspeed_mps = airspeed;
                }
            }
            // Never known: as set. Lost: as at a speed that grows, so that the volume comes back in
            // steps that are not heard, and a sensor that fails now and then makes no flutter.
            None if state.airspeed_mps == 0.0 => return self.level,
            None => state.airspeed_mps = (state.airspeed_mps + LOST_MPS).min(FAST_MPS),
        }
        // For a speed of none the quotient is large or no number.
        let octaves = libm::log2f(FAST_MPS / state.airspeed_mps.max(1.0)).clamp(0.0, 1.0);
        self.level * power_of_two(-self.softer * octaves)
    }
}

/// The airspeed that the volume follows.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct VolumeState {
    airspeed_mps: f32,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn db(ratio: f32) -> f32 {
        20.0 * libm::log10f(ratio)
    }

    #[test]
    fn every_step_of_the_volume_is_3_db_and_the_lowest_is_silence() {
        assert_relative_eq!(level_of_volume(10.0), 1.0);
        for step in 1..10 {
            let (quiet, loud) = (level_of_volume(step as f32), level_of_volume(step as f32 + 1.0));
            assert_abs_diff_eq!(db(loud / quiet), 3.0, epsilon = 1e-3);
        }
        assert_eq!(level_of_volume(0.0), 0.0);
    }

    #[test]
    fn slow_flight_is_softer_and_nothing_is_louder_than_set() {
        let volume = Volume::new(8.0, 7.0);
        let level = |mps| volume.level(&mut VolumeState::default(), mps);
        let at = |kmh: f32| db(level(Some(MetrePerSecond(kmh / 3.6))));
        for (kmh, expected_db) in
            [(0.0, -13.0), (80.0, -13.0), (113.14, -9.5), (160.0, -6.0), (250.0, -6.0)]
        {
            assert_abs_diff_eq!(at(kmh), expected_db, epsilon = 0.02);
        }
        for airspeed in [-50.0, 0.0, 30.0, f32::INFINITY, f32::NAN, f32::NEG_INFINITY] {
            let level = level(Some(MetrePerSecond(airspeed)));
            assert!(level > 0.2 && level <= volume.full(), "{airspeed} m/s: {level}");
        }
    }

    #[test]
    fn it_is_as_set_without_an_airspeed_and_where_it_is_turned_off_and_silence_stays_silence() {
        let slow = Some(MetrePerSecond(20.0));
        let level = |volume, softer_db, airspeed| {
            Volume::new(volume, softer_db).level(&mut VolumeState::default(), airspeed)
        };
        assert_eq!(level(8.0, 7.0, None), level_of_volume(8.0));
        assert_eq!(level(8.0, 0.0, slow), level_of_volume(8.0));
        assert_eq!(level(0.0, 7.0, slow), 0.0);
        assert_eq!(level(0.0, 7.0, None), 0.0);
    }

    #[test]
    fn an_airspeed_that_comes_and_goes_makes_no_flutter_and_one_that_is_lost_no_jump() {
        let (volume, mut state) = (Volume::new(8.0, 7.0), VolumeState::default());
        let slow = Some(MetrePerSecond(22.0));
        let first = volume.level(&mut state, slow);
        for _ in 0..200 {
            assert_abs_diff_eq!(db(volume.level(&mut state, None) / first), 0.0, epsilon = 0.5);
            assert_abs_diff_eq!(db(volume.level(&mut state, slow) / first), 0.0, epsilon = 0.5);
        }
        let mut last = volume.level(&mut state, None);
        for _ in 0..500 {
            let level = volume.level(&mut state, None);
            assert!((0.0..0.05).contains(&db(level / last)), "{} dB", db(level / last));
            last = level;
        }
        assert_relative_eq!(last, volume.full(), max_relative = 1e-4);
    }

    #[test]
    fn it_stays_while_the_airspeed_hardly_changes_and_follows_a_setting_at_once() {
        let mut state = VolumeState::default();
        let volume = Volume::new(10.0, 7.0);
        let mut at = |volume: Volume, mps| volume.level(&mut state, Some(MetrePerSecond(mps)));
        let before = at(volume, 30.0);
        assert_eq!(at(volume, 30.9), before);
        assert!(at(volume, 31.1) > before);
        assert!(at(Volume::new(10.0, 3.0), 31.1) > before * 1.2);
        assert_relative_eq!(
            at(Volume::new(8.0, 3.0), 31.1),
            at(Volume::new(10.0, 3.0), 31.1) * 0.501,
            max_relative = 0.01
        );
    }
}
