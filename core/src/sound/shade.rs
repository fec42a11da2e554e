//! The shade of a sound: how loud it is, and in which timbre.
//!
//! With `even_loudness` every sound gets the level at which it is as loud as the others: the sound
//! for which the ear asks most is at full level and the others are lower, since nothing can be
//! louder than full scale. The volume applies to all alike.

use crate::sound::ear::Asked;
use crate::sound::power::{DOUBLE_DB, power_of_two};
use crate::sound::settings::ToneSettings;
use crate::sound::speaker::Speaker;
use crate::sound::timbre::Timbre;
use crate::sound::tone::{Meaning, Tone};
use crate::sound::transposed::asked_transposed;

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
    /// By how much the sound is raised for which the ear asks most, as a power of two; less than
    /// any where all are at full level.
    most: f32,
    speaker: Speaker,
    timbre: Timbre,
    low_timbre: Timbre,
}

impl Shades {
    /// Shades for every sound of `tone` and for the fault call. Pairs, whose notes are short, would
    /// ask for more and cost the others 2 dB; they are at full level instead.
    pub(crate) fn new(settings: &ToneSettings, tone: &Tone, call: Asked) -> Self {
        let (speaker, timbre, low_timbre) =
            (settings.speaker, settings.high_timbre(), settings.low_timbre());
        let raise = |timbre| move |asked| asked_transposed(speaker, asked).raise(timbre, speaker);
        let beeps = tone.asked_by_beeps().map(raise(timbre));
        let low = tone.asked_by_sink().chain([call]).map(raise(low_timbre));
        let most = beeps.chain(low).fold(f32::NEG_INFINITY, f32::max).min(MOST_HELP);
        let most = if settings.even_loudness { most } else { f32::NEG_INFINITY };
        Self { most, speaker, timbre, low_timbre }
    }

    /// What the sound is played on.
    pub(crate) fn speaker(&self) -> Speaker {
        self.speaker
    }

    /// The shade of a sound at a volume of 0 to 1.
    pub(crate) fn of(&self, meaning: Meaning, asked: Asked, volume: f32) -> Shade {
        let timbre = match meaning {
            Meaning::Sink | Meaning::Fault => self.low_timbre,
            Meaning::Nothing | Meaning::Climb | Meaning::Cruise => self.timbre,
        };
        let asked = asked_transposed(self.speaker, asked);
        let share = power_of_two(asked.raise(timbre, self.speaker) - self.most);
        Shade { level: volume * share, timbre }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Hertz;
    use approx::assert_relative_eq;

    fn shades(change: impl Fn(&mut ToneSettings)) -> (Tone, Shades) {
        let mut settings = ToneSettings::default();
        change(&mut settings);
        let tone = Tone::new(&settings).unwrap();
        let shades = Shades::new(&settings, &tone, call());
        (tone, shades)
    }

    fn call() -> Asked {
        Asked::note(Hertz(346.0), 0.25, 15.0)
    }

    fn level(shades: &Shades, meaning: Meaning, asked: Asked) -> f32 {
        shades.of(meaning, asked, 1.0).level
    }

    #[test]
    fn the_sound_that_asks_most_is_at_full_level_and_none_is_louder() {
        for timbre in Timbre::ALL {
            let (tone, shades) = shades(|tone| tone.timbre = timbre);
            let beeps = tone.asked_by_beeps().map(|asked| (Meaning::Climb, asked));
            let sink = tone.asked_by_sink().map(|asked| (Meaning::Sink, asked));
            let levels: std::vec::Vec<f32> = beeps
                .chain(sink)
                .chain([(Meaning::Fault, call())])
                .map(|(meaning, asked)| level(&shades, meaning, asked))
                .collect();
            let most = levels.iter().copied().fold(0.0, f32::max);
            assert_relative_eq!(most, 1.0, max_relative = 1e-5);
            assert!(levels.iter().all(|level| *level > 0.3), "{timbre:?}: {levels:?}");
            // A short note that asks for more gets no more.
            let short = Asked::note(Hertz(600.0), 0.04, 2.0);
            assert!(level(&shades, Meaning::Cruise, short) <= 1.0);
        }
    }

    #[test]
    fn every_sound_is_at_full_level_where_evening_is_off() {
        let (_, shades) = shades(|tone| tone.even_loudness = false);
        for pitch in [80.0, 2_000.0] {
            assert_eq!(level(&shades, Meaning::Sink, Asked::steady(Hertz(pitch))), 1.0);
        }
    }

    #[test]
    fn a_very_low_tone_does_not_make_the_others_faint() {
        let (_, shades) = shades(|tone| {
            tone.speaker = Speaker::Flat;
            for (point, pitch_hz) in tone.sink.iter_mut().zip([82.0, 81.0, 80.0]) {
                point.pitch_hz = pitch_hz;
            }
        });
        let at_1_khz = level(&shades, Meaning::Climb, Asked::steady(Hertz(1_000.0)));
        let faint_db = 20.0 * libm::log10f(at_1_khz);
        assert!((-12.3..=-9.0).contains(&faint_db), "{faint_db}");
    }

    #[test]
    fn only_the_low_sounds_change_for_a_small_loudspeaker_and_a_chosen_timbre_stays() {
        let timbres = |speaker, timbre| {
            let (_, shades) = shades(|tone| (tone.speaker, tone.timbre) = (speaker, timbre));
            [Meaning::Climb, Meaning::Cruise, Meaning::Sink, Meaning::Fault]
                .map(|meaning| shades.of(meaning, call(), 1.0).timbre)
        };
        let (pure, octave) = (Timbre::Pure, Timbre::Octave);
        assert_eq!(timbres(Speaker::Flat, pure), [pure; 4]);
        assert_eq!(timbres(Speaker::Small, pure), [pure, pure, octave, octave]);
        assert_eq!(timbres(Speaker::Small, Timbre::Reed), [Timbre::Reed; 4]);
        assert_eq!(timbres(Speaker::Piezo, pure), [Timbre::Reed; 4]);
    }
}
