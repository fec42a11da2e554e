//! Vertical speed to sound: silence, beeps or the steady sink tone, with pitch and cadence.
//!
//! ```text
//!                 v <= sink_from                              v >= climb_from
//!      STEADY  <------------------           SILENT          ------------------>  BEEPS
//!              ------------------>                           <------------------
//!              v > sink_from + hysteresis                    v < climb_from - hysteresis
//! ```
//!
//! Between the entries of a table, the logarithms of pitch, cadence and beep length follow the
//! vertical speed linearly, because the ear hears ratios; beyond the ends of a table they stay
//! constant.

use crate::error::{Expected, SettingsError};
use crate::rows::Group;
use crate::sound::ear::{Asked, raise_of_note};
use crate::sound::power::{power_of_two, two_to};
use crate::sound::settings::{ClimbPoint, MOST_TONE_ENTRIES, SinkPoint, ToneSettings};
use crate::units::{Hertz, MetrePerSecond, Micros};
use heapless::Vec;

/// A musical fifth: the least ratio between the lowest beep and the highest sink tone.
pub(crate) const FIFTH: f32 = 1.5;
/// No beep is shorter than this.
pub(crate) const SHORTEST_BEEP_S: f32 = 0.040;
/// No gap between beeps is shorter than this.
pub(crate) const SHORTEST_GAP_S: f32 = 0.030;

/// What to play.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Sound {
    /// Nothing.
    #[default]
    Silent,
    /// Interrupted tone: climb.
    Beeps {
        /// Pitch of the tone.
        pitch: Hertz,
        /// Beeps a second.
        cadence: Hertz,
        /// Share of the time that the tone is on, 0 to 1.
        on_fraction: f32,
    },
    /// Uninterrupted tone: sink.
    Steady {
        /// Pitch of the tone.
        pitch: Hertz,
    },
    /// Two notes and a pause, repeated: the cruise sound.
    Pairs {
        /// Pitch of the first note.
        first: Hertz,
        /// Pitch of the second note.
        second: Hertz,
        /// Pairs a second.
        cadence: Hertz,
    },
    /// Three falling notes and a long pause: the instrument has no valid reading.
    Fault {
        /// Pitch of the first note; the others follow at a fixed ratio.
        pitch: Hertz,
        /// Time from the start of one call to the start of the next.
        every: Micros,
    },
}

/// What a sound means, whatever its pitch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Meaning {
    /// Nothing.
    #[default]
    Nothing,
    /// Climb.
    Climb,
    /// Steep sink.
    Sink,
    /// Fly faster or slower, or rising or sinking air.
    Cruise,
    /// No valid reading.
    Fault,
}

impl Sound {
    /// What the sound means.
    pub fn meaning(&self) -> Meaning {
        match self {
            Sound::Silent => Meaning::Nothing,
            Sound::Beeps { .. } => Meaning::Climb,
            Sound::Steady { .. } => Meaning::Sink,
            Sound::Pairs { .. } => Meaning::Cruise,
            Sound::Fault { .. } => Meaning::Fault,
        }
    }
}

/// The tone law with its settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Tone {
    climb_from_mps: f32,
    sink_from_mps: f32,
    hysteresis_mps: f32,
    climb: Vec<Beep, MOST_TONE_ENTRIES>,
    sink: Vec<Steady, MOST_TONE_ENTRIES>,
}

/// Which sound is on, for the hysteresis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ToneState {
    /// Neither climb nor sink.
    #[default]
    Silent,
    /// Beeping.
    Climb,
    /// The steady tone.
    Sink,
}

/// An entry of a table, ready for interpolation: logarithms to base 2, pitch first.
#[derive(Clone, Copy, Debug, PartialEq)]
struct LogPoint<const N: usize> {
    vertical_mps: f32,
    log2: [f32; N],
}

/// Climb table: pitch in Hz, cadence in Hz, length of a beep in seconds, and the raise that its
/// length asks for.
type Beep = LogPoint<4>;
/// Sink table: pitch in Hz.
type Steady = LogPoint<1>;

impl Tone {
    /// Checks the settings and prepares the tables.
    ///
    /// # Errors
    /// The first setting out of range or out of order, with the entry it is in.
    pub fn new(settings: &ToneSettings) -> Result<Self, SettingsError> {
        settings.check_ranges()?;
        check_thresholds(settings)?;
        check_climb(&settings.climb)?;
        check_sink(&settings.sink, &settings.climb)?;
        Ok(Self {
            climb_from_mps: settings.climb_from_mps,
            sink_from_mps: settings.sink_from_mps,
            hysteresis_mps: settings.hysteresis_mps,
            climb: log_points(&settings.climb, Beep::of),
            sink: log_points(&settings.sink, Steady::of),
        })
    }

    /// The lowest pitch of the beeps.
    pub(crate) fn lowest_beep(&self) -> Hertz {
        // The settings reject an empty table.
        hertz(self.climb.first().and_then(|point| point.log2.first()).copied().unwrap_or(0.0))
    }

    /// What each entry of the climb table asks of its level.
    pub(crate) fn asked_by_beeps(&self) -> impl Iterator<Item = Asked> + '_ {
        self.climb.iter().map(|Beep { log2: [pitch, _, _, note], .. }| Asked::of(*pitch, *note))
    }

    /// What each entry of the sink table asks of its level.
    pub(crate) fn asked_by_sink(&self) -> impl Iterator<Item = Asked> + '_ {
        self.sink.iter().map(|Steady { log2: [pitch], .. }| Asked::of(*pitch, 0.0))
    }

    /// The sound of a vertical speed.
    pub fn step(&self, state: &mut ToneState, vertical_speed: MetrePerSecond) -> Sound {
        self.step_asked(state, vertical_speed).0
    }

    /// The sound of a vertical speed, and what it asks of its level.
    pub(crate) fn step_asked(
        &self,
        state: &mut ToneState,
        vertical_speed: MetrePerSecond,
    ) -> (Sound, Asked) {
        *state = self.next(*state, vertical_speed.0);
        match state {
            ToneState::Silent => (Sound::Silent, Asked::default()),
            ToneState::Climb => {
                let [pitch, cadence, length, note] = interpolate(&self.climb, vertical_speed.0);
                let sound = Sound::Beeps {
                    pitch: hertz(pitch),
                    cadence: hertz(cadence),
                    // Length of a beep times beeps a second.
                    on_fraction: power_of_two(length + cadence),
                };
                (sound, Asked::of(pitch, note))
            }
            ToneState::Sink => {
                let [pitch] = interpolate(&self.sink, vertical_speed.0);
                (Sound::Steady { pitch: hertz(pitch) }, Asked::of(pitch, 0.0))
            }
        }
    }

    fn next(&self, state: ToneState, vertical_mps: f32) -> ToneState {
        let climbing = vertical_mps >= self.climb_from_mps;
        let sinking = vertical_mps <= self.sink_from_mps;
        let still_climbing = vertical_mps >= self.climb_from_mps - self.hysteresis_mps;
        let still_sinking = vertical_mps <= self.sink_from_mps + self.hysteresis_mps;
        match state {
            ToneState::Climb if still_climbing => ToneState::Climb,
            ToneState::Sink if still_sinking => ToneState::Sink,
            _ if climbing => ToneState::Climb,
            _ if sinking => ToneState::Sink,
            _ => ToneState::Silent,
        }
    }
}

impl Beep {
    fn of(point: &ClimbPoint) -> Self {
        let ClimbPoint { climb_mps, pitch_hz, cadence_hz, beep_ms } = *point;
        let beep_s = beep_ms * 1.0e-3;
        let [pitch, cadence, length] = [pitch_hz, cadence_hz, beep_s].map(libm::log2f);
        let note = raise_of_note(beep_s, 1.0 / cadence_hz);
        Self { vertical_mps: climb_mps, log2: [pitch, cadence, length, note] }
    }
}

impl Steady {
    fn of(point: &SinkPoint) -> Self {
        Self { vertical_mps: point.sink_mps, log2: [libm::log2f(point.pitch_hz)] }
    }
}

fn hertz(log2: f32) -> Hertz {
    Hertz(two_to(log2))
}

/// The entries of a table, ready for interpolation.
fn log_points<P, L>(points: &[P], of: impl Fn(&P) -> L) -> Vec<L, MOST_TONE_ENTRIES> {
    let mut prepared = Vec::new();
    for point in points {
        // The type guarantees that they fit; `collect` would still contain a panic for the case.
        let _ = prepared.push(of(point));
    }
    prepared
}

/// The logarithms of the table at `vertical_mps`; the first entry is nearest to silence, the last
/// furthest from it.
fn interpolate<const N: usize>(table: &[LogPoint<N>], vertical_mps: f32) -> [f32; N] {
    // The settings reject an empty table; 1 Hz keeps the sample loop free of panics in any case.
    let nothing = LogPoint { vertical_mps: 0.0, log2: [0.0; N] };
    let mut below = table.first().copied().unwrap_or(nothing);
    for above in table.iter().skip(1) {
        let share = (vertical_mps - below.vertical_mps) / (above.vertical_mps - below.vertical_mps);
        if share <= 0.0 {
            return below.log2;
        }
        if share < 1.0 {
            for (low, high) in below.log2.iter_mut().zip(above.log2) {
                *low += share * (high - *low);
            }
            return below.log2;
        }
        below = *above;
    }
    below.log2
}

fn check_thresholds(settings: &ToneSettings) -> Result<(), SettingsError> {
    let most = settings.climb_from_mps - 2.0 * settings.hysteresis_mps;
    if settings.sink_from_mps >= most {
        let expected =
            Expected::AtMost(most, "the silent band must stay wider than both hystereses");
        return Err(SettingsError {
            parameter: "tone.sink_from_mps",
            entry: None,
            value: settings.sink_from_mps,
            expected,
        });
    }
    Ok(())
}

fn check_climb(points: &[ClimbPoint]) -> Result<(), SettingsError> {
    let mut before: Option<&ClimbPoint> = None;
    for (index, point) in points.iter().enumerate() {
        let entry = Entry { list: "tone.climb", place: index + 1 };
        let gap_ms = 1.0e3 / point.cadence_hz - 1.0e3 * SHORTEST_GAP_S;
        entry.at_most("beep_ms", point.beep_ms, gap_ms, "a gap of 30 ms")?;
        if let Some(before) = before {
            entry.above("climb_mps", point.climb_mps, before.climb_mps)?;
            entry.above("pitch_hz", point.pitch_hz, before.pitch_hz)?;
            entry.above("cadence_hz", point.cadence_hz, before.cadence_hz)?;
        }
        before = Some(point);
    }
    Ok(())
}

fn check_sink(points: &[SinkPoint], climb: &[ClimbPoint]) -> Result<(), SettingsError> {
    let lowest_beep_hz = climb.first().map_or(0.0, |point| point.pitch_hz);
    let mut before: Option<&SinkPoint> = None;
    for (index, point) in points.iter().enumerate() {
        let entry = Entry { list: "tone.sink", place: index + 1 };
        entry.at_most(
            "pitch_hz",
            point.pitch_hz,
            lowest_beep_hz / FIFTH,
            "a musical fifth below the lowest beep",
        )?;
        if let Some(before) = before {
            entry.below("sink_mps", point.sink_mps, before.sink_mps)?;
            entry.below("pitch_hz", point.pitch_hz, before.pitch_hz)?;
        }
        before = Some(point);
    }
    Ok(())
}

/// The place in a table for an error message.
#[derive(Clone, Copy)]
struct Entry {
    list: &'static str,
    place: usize,
}

impl Entry {
    fn check(
        self,
        parameter: &'static str,
        value: f32,
        good: bool,
        expected: Expected,
    ) -> Result<(), SettingsError> {
        if good {
            Ok(())
        } else {
            Err(SettingsError { parameter, entry: Some((self.list, self.place)), value, expected })
        }
    }

    fn at_most(
        self,
        parameter: &'static str,
        value: f32,
        most: f32,
        reason: &'static str,
    ) -> Result<(), SettingsError> {
        self.check(parameter, value, value <= most, Expected::AtMost(most, reason))
    }

    fn above(self, parameter: &'static str, value: f32, before: f32) -> Result<(), SettingsError> {
        self.check(parameter, value, value > before, Expected::MoreThanBefore(before))
    }

    fn below(self, parameter: &'static str, value: f32, before: f32) -> Result<(), SettingsError> {
        self.check(parameter, value, value < before, Expected::LessThanBefore(before))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::string::ToString;
    use std::vec::Vec;

    fn default_tone() -> Tone {
        Tone::new(&ToneSettings::default()).unwrap()
    }

    /// Pitch and cadence of the beeps at `climb_mps`, entered from above the threshold.
    fn beeps_at(tone: &Tone, climb_mps: f32) -> (f32, f32) {
        match tone.step(&mut ToneState::Climb, MetrePerSecond(climb_mps)) {
            Sound::Beeps { pitch, cadence, .. } => (pitch.0, cadence.0),
            other => panic!("{climb_mps} m/s gives {other:?}"),
        }
    }

    #[test]
    fn every_step_of_a_tenth_of_a_metre_per_second_is_audible() {
        // Just noticeable steps of short tones: pitch 0.6 % x (200 ms / T)^(1/2) below 200 ms
        // (Kollmeier, Brand and Meyer 2008; Micheyl, Xiao and Oxenham 2012, from memory), time from
        // beep to beep 2.5 %, but not below 6 ms (Friberg and Sundberg 1995). The ear has both at
        // once: squares add.
        let tone = default_tone();
        for tenth in 2..50 {
            let (low, high) = (tenth as f32 / 10.0, (tenth + 1) as f32 / 10.0);
            let ((pitch, cadence), (next_pitch, next_cadence)) =
                (beeps_at(&tone, low), beeps_at(&tone, high));
            let least_pitch = 0.006 * (0.2 / (0.5 / cadence).min(0.2)).sqrt();
            let least_cadence = (0.006 * cadence).max(0.025);
            let steps = ((next_pitch / pitch).ln() / least_pitch)
                .hypot((next_cadence / cadence).ln() / least_cadence);
            assert!(steps > 2.5, "{low} m/s: {steps} just noticeable steps");
            assert!((500.0..=2500.0).contains(&pitch));
        }
    }

    #[test]
    fn four_metres_per_second_are_an_octave_and_each_takes_a_tenth_of_a_second_off_the_cycle() {
        let tone = default_tone();
        for tenth in 2..=50 {
            let climb_mps = tenth as f32 / 10.0;
            let (pitch, cadence) = beeps_at(&tone, climb_mps);
            let octaves = (climb_mps - 0.2) / 4.0;
            assert_relative_eq!(pitch, 650.0 * octaves.exp2(), max_relative = 0.001);
            assert_relative_eq!(1.0 / cadence, 0.72 - 0.1 * climb_mps, epsilon = 0.004);
        }
    }

    #[test]
    fn entries_are_exact_and_the_interpolation_between_them_is_logarithmic() {
        let tone = default_tone();
        for point in &ToneSettings::default().climb {
            let (pitch, cadence) = beeps_at(&tone, point.climb_mps);
            assert_relative_eq!(pitch, point.pitch_hz, max_relative = 1e-5);
            assert_relative_eq!(cadence, point.cadence_hz, max_relative = 1e-5);
        }
        // Half way from 1 to 2 m/s: the geometric means of 747 and 888 Hz, of 1.61 and 1.92 a
        // second.
        let (pitch, cadence) = beeps_at(&tone, 1.5);
        assert_relative_eq!(pitch, (747.0_f32 * 888.0).sqrt(), max_relative = 1e-5);
        assert_relative_eq!(cadence, (1.61_f32 * 1.92).sqrt(), max_relative = 1e-5);
    }

    #[test]
    fn beyond_the_table_the_sound_stays_constant() {
        let tone = default_tone();
        let (highest, _) = beeps_at(&tone, 15.0);
        assert_eq!(beeps_at(&tone, 60.0).0, highest);
        for sink_mps in [-10.0, -60.0] {
            let sound = tone.step(&mut ToneState::Sink, MetrePerSecond(sink_mps));
            assert!(
                matches!(sound, Sound::Steady { pitch } if (pitch.0 - 310.0).abs() < 0.01),
                "{sound:?}"
            );
        }
    }

    #[test]
    fn sink_starts_a_fifth_below_the_lowest_beep_and_falls_with_sink() {
        let tone = default_tone();
        let (lowest_beep, _) = beeps_at(&tone, 0.15);
        let pitches: Vec<f32> = (16..100)
            .map(|tenth| {
                match tone.step(&mut ToneState::Sink, MetrePerSecond(-(tenth as f32) / 10.0)) {
                    Sound::Steady { pitch } => pitch.0,
                    other => panic!("{other:?}"),
                }
            })
            .collect();
        assert!(pitches[0] <= lowest_beep / 1.5);
        assert!(pitches.windows(2).all(|pair| pair[1] < pair[0]));
    }

    #[test]
    fn a_reading_that_varies_around_a_threshold_does_not_chatter() {
        let tone = default_tone();
        for threshold in [0.2, -1.6] {
            let mut state = ToneState::default();
            let mut changes = 0;
            for step in 0..1000 {
                let before = state;
                tone.step(
                    &mut state,
                    MetrePerSecond(threshold + if step % 2 == 0 { 0.04 } else { -0.04 }),
                );
                changes += u32::from(state != before);
            }
            assert_eq!(changes, 1, "at {threshold} m/s");
        }
    }

    #[test]
    fn the_default_beeps_are_as_long_as_their_gaps_within_a_tenth_of_a_millisecond() {
        // The rows give lengths in tenths of a millisecond; between them lengths follow in equal
        // ratios as the cadences do, so that beep and gap stay equal.
        let tone = default_tone();
        for tenth in 2..200_u8 {
            let climb = MetrePerSecond(0.1 * f32::from(tenth));
            let Sound::Beeps { cadence, on_fraction, .. } =
                tone.step(&mut ToneState::Climb.clone(), climb)
            else {
                panic!("{climb:?} is a climb");
            };
            let difference_ms = 1.0e3 * (on_fraction - 0.5) / cadence.0;
            assert!(difference_ms.abs() < 0.1, "{difference_ms} ms at {climb:?}");
        }
    }

    #[test]
    fn a_jump_from_climb_to_sink_is_one_step() {
        let tone = default_tone();
        let mut state = ToneState::default();
        tone.step(&mut state, MetrePerSecond(3.0));
        assert_eq!(state, ToneState::Climb);
        tone.step(&mut state, MetrePerSecond(-3.0));
        assert_eq!(state, ToneState::Sink);
    }

    #[test]
    fn an_invalid_tone_law_is_rejected_by_name() {
        let refused = |change: &dyn Fn(&mut ToneSettings)| {
            let mut settings = ToneSettings::default();
            change(&mut settings);
            Tone::new(&settings).unwrap_err().to_string()
        };
        assert_eq!(
            refused(&|tone| tone.climb[1].pitch_hz = 500.0),
            "tone.climb, entry 2: pitch_hz is 500, expected more than 650, the entry before"
        );
        assert_eq!(
            refused(&|tone| tone.climb[5].beep_ms = 30.0),
            "tone.climb, entry 6: beep_ms is 30, expected 40 to 1970"
        );
        assert_eq!(
            refused(&|tone| tone.climb[5].beep_ms = 300.0),
            "tone.climb, entry 6: beep_ms is 300, expected at most 240.27 (a gap of 30 ms)"
        );
        assert_eq!(
            refused(&|tone| tone.sink[0].pitch_hz = 440.0),
            "tone.sink, entry 1: pitch_hz is 440, expected at most 433.333 (a musical fifth below \
             the lowest beep)"
        );
        assert_eq!(
            refused(&|tone| tone.sink_from_mps = f32::NAN),
            "tone.sink_from_mps is NaN, expected -10 to -0.3"
        );
        assert_eq!(
            refused(&|tone| tone.climb.clear()),
            "tone.climb is 0, expected at least 1 (entries in the list)"
        );
        let narrow = refused(&|tone| (tone.climb_from_mps, tone.sink_from_mps) = (-0.4, -0.5));
        assert!(narrow.contains("expected at most -0.6 (the silent band"), "{narrow}");
    }
}
