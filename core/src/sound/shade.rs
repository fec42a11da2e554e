//! The shade of a sound: how loud it is, and in which timbre.
//!
//! With `even_loudness` every sound gets the level at which it is as loud as the others: the sound
//! for which the ear asks most is at full level and the others are lower, since nothing can be
//! louder than full scale. The volume applies to all alike.

use crate::sound::beep::{CALL_MIDDLE, CALL_NOTE_S, PAIR_NOTE_S};
use crate::sound::ear::{raise_of, raise_of_note};
use crate::sound::power::{DOUBLE_DB, power_of_two};
use crate::sound::settings::{Speaker, ToneSettings};
use crate::sound::timbre::Timbre;
use crate::sound::tone::Sound;
use crate::sound::volume::Volume;
use crate::units::{Hertz, MetrePerSecond};

/// A sound is raised beside a steady one of 1 kHz by this much at most, so that one very low tone
/// in a table does not make all the others faint.
const MOST_HELP: f32 = 12.0 / DOUBLE_DB;

/// How a sound is played.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Shade {
    /// Amplitude as a share of full scale, 0 to 1.
    pub(crate) level: f32,
    /// Timbre.
    pub(crate) timbre: Timbre,
}

/// Shades with their settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Shades {
    volume: Volume,
    /// By how much the sound is raised for which the ear asks most, as a power of two; `None` where
    /// all are at full level.
    most: Option<f32>,
    timbre: Timbre,
    low_timbre: Timbre,
}

impl Shades {
    /// Shades for every sound that the settings allow; `call` is the fault call.
    pub(crate) fn new(settings: &ToneSettings, call: &Sound) -> Self {
        let shades = Self {
            volume: Volume::new(settings.volume, settings.softer_when_slow_db),
            most: None,
            timbre: settings.timbre,
            low_timbre: low_timbre(settings),
        };
        let most = settings.even_loudness.then(|| shades.most_of(settings, call));
        Self { most, ..shades }
    }

    /// The most that the ear asks for among climb, sink and the call. Pairs, whose notes are short,
    /// would ask for more and cost the others 2 dB; they are at full level instead.
    fn most_of(&self, settings: &ToneSettings, call: &Sound) -> f32 {
        let beeps = settings.climb.iter().map(|point| Sound::Beeps {
            pitch: Hertz(point.pitch_hz),
            cadence: Hertz(point.cadence_hz),
            on_fraction: 1.0e-3 * point.beep_ms * point.cadence_hz,
        });
        let sink = settings.sink.iter().map(|point| Sound::Steady { pitch: Hertz(point.pitch_hz) });
        beeps
            .chain(sink)
            .chain([*call])
            .filter_map(|sound| self.raise(&sound))
            .fold(f32::NEG_INFINITY, |most, (_, raise)| if raise > most { raise } else { most })
            .min(MOST_HELP)
    }

    /// The shade of `sound` at an airspeed; `None` for silence.
    pub(crate) fn of(&self, sound: &Sound, airspeed: Option<MetrePerSecond>) -> Option<Shade> {
        let (timbre, raise) = self.raise(sound)?;
        let share = self.most.map_or(1.0, |most| power_of_two((raise - most).min(0.0)));
        Some(Shade { level: self.volume.level(airspeed) * share, timbre })
    }

    /// The timbre of a sound, and by how much the ear asks it to be raised.
    fn raise(&self, sound: &Sound) -> Option<(Timbre, f32)> {
        let (timbre, pitch, note) = match *sound {
            Sound::Silent => return None,
            Sound::Beeps { pitch, cadence, on_fraction } => {
                (self.timbre, pitch, raise_of_note(on_fraction / cadence.0, 1.0 / cadence.0))
            }
            Sound::Steady { pitch } => (self.low_timbre, pitch, 0.0),
            Sound::Pairs { first, cadence, .. } => {
                (self.timbre, first, raise_of_note(PAIR_NOTE_S, 1.0 / cadence.0))
            }
            Sound::Fault { pitch, every } => {
                let middle = Hertz(pitch.0 * CALL_MIDDLE);
                (self.low_timbre, middle, raise_of_note(CALL_NOTE_S, every.as_seconds()))
            }
        };
        Some((timbre, raise_of(timbre, pitch) + note))
    }
}

/// The timbre of the low sounds, sink and the fault call: on a small loudspeaker one that it
/// carries, where none has been chosen for all.
fn low_timbre(settings: &ToneSettings) -> Timbre {
    match (settings.speaker, settings.timbre) {
        (Speaker::Small, Timbre::Pure) => Timbre::Octave,
        (_, timbre) => timbre,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Micros;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    const PAIRS: Sound =
        Sound::Pairs { first: Hertz(600.0), second: Hertz(900.0), cadence: Hertz(2.2) };
    const CALL: Sound = Sound::Fault { pitch: Hertz(430.0), every: Micros(15_000_000) };

    fn shades(change: impl Fn(&mut ToneSettings)) -> (ToneSettings, Shades) {
        let mut settings = ToneSettings { volume: 10.0, ..ToneSettings::default() };
        change(&mut settings);
        let shades = Shades::new(&settings, &CALL);
        (settings, shades)
    }

    fn level(shades: &Shades, sound: Sound) -> f32 {
        shades.of(&sound, None).unwrap().level
    }

    fn steady(pitch_hz: f32) -> Sound {
        Sound::Steady { pitch: Hertz(pitch_hz) }
    }

    #[test]
    fn the_sound_that_asks_most_is_at_full_level_and_none_is_louder() {
        for timbre in Timbre::ALL {
            let (settings, shades) = shades(|tone| tone.timbre = timbre);
            let levels: std::vec::Vec<f32> = (settings.sink.iter())
                .map(|point| level(&shades, steady(point.pitch_hz)))
                .chain(settings.climb.iter().map(|point| {
                    let (pitch, cadence) = (Hertz(point.pitch_hz), Hertz(point.cadence_hz));
                    let on_fraction = 1e-3 * point.beep_ms * point.cadence_hz;
                    level(&shades, Sound::Beeps { pitch, cadence, on_fraction })
                }))
                .chain([level(&shades, PAIRS), level(&shades, CALL)])
                .collect();
            let most = levels.iter().copied().fold(0.0, f32::max);
            assert_relative_eq!(most, 1.0, max_relative = 1e-5);
            assert!(levels.iter().all(|level| *level > 0.3), "{timbre:?}: {levels:?}");
        }
    }

    #[test]
    fn every_sound_is_at_full_level_where_evening_is_off() {
        let (_, shades) = shades(|tone| tone.even_loudness = false);
        for sound in [steady(80.0), steady(2_000.0), PAIRS, CALL] {
            assert_eq!(level(&shades, sound), 1.0);
        }
    }

    #[test]
    fn a_very_low_tone_does_not_make_the_others_faint() {
        let (_, shades) = shades(|tone| {
            tone.timbre = Timbre::Pure;
            tone.sink[0].pitch_hz = 80.0;
        });
        let faint_db = 20.0 * libm::log10f(level(&shades, steady(1_000.0)));
        assert!((-12.1..=-9.0).contains(&faint_db), "{faint_db}");
    }

    #[test]
    fn only_the_low_sounds_change_for_a_small_loudspeaker_and_a_chosen_timbre_stays() {
        let beep = Sound::Beeps { pitch: Hertz(700.0), cadence: Hertz(2.0), on_fraction: 0.5 };
        let timbres = |speaker, timbre| {
            let (_, shades) = shades(|tone| (tone.speaker, tone.timbre) = (speaker, timbre));
            [beep, steady(400.0), CALL].map(|sound| shades.of(&sound, None).unwrap().timbre)
        };
        assert_eq!(timbres(Speaker::Flat, Timbre::Pure), [Timbre::Pure; 3]);
        let [beeps, sink, call] = timbres(Speaker::Small, Timbre::Pure);
        assert_eq!((beeps, sink, call), (Timbre::Pure, Timbre::Octave, Timbre::Octave));
        assert_eq!(timbres(Speaker::Small, Timbre::Reed), [Timbre::Reed; 3]);
    }

    #[test]
    fn silence_has_no_shade_and_slow_flight_is_softer() {
        let (_, shades) = shades(|tone| tone.softer_when_slow_db = 6.0);
        assert_eq!(shades.of(&Sound::Silent, None), None);
        let at = |mps| shades.of(&CALL, Some(MetrePerSecond(mps))).unwrap().level;
        assert_abs_diff_eq!(20.0 * libm::log10f(at(20.0) / at(50.0)), -6.0, epsilon = 0.01);
    }
}
