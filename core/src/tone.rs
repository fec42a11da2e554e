//! Vertical speed to sound: which of silence, beeps or the steady sink tone, at what pitch and repetition.
//!
//! ```text
//!                 v <= sink_from                              v >= climb_from
//!      STEADY  <------------------           SILENT          ------------------>  BEEPS
//!              ------------------>                           <------------------
//!              v > sink_from + hysteresis                    v < climb_from - hysteresis
//! ```
//!
//! Between the entries of a table the logarithms of pitch and repetition follow the vertical speed in straight lines,
//! because the ear hears ratios; beyond the ends of a table they stay.

use crate::error::{Expected, SettingsError};
use crate::settings::{ClimbPoint, MAX_TONE_POINTS, SinkPoint, ToneSettings, in_range};
use crate::units::{Hertz, MetrePerSecond};
use heapless::Vec;

/// A musical fifth: the least ratio between the lowest beep and the highest sink tone.
const FIFTH: f32 = 1.5;
/// No beep is shorter than this.
pub(crate) const SHORTEST_BEEP_S: f32 = 0.040;
/// No gap between beeps is shorter than this.
pub(crate) const SHORTEST_GAP_S: f32 = 0.030;

/// What is to be heard.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Sound {
    /// Nothing.
    #[default]
    Silent,
    /// Interrupted tone: climb.
    Beeps {
        /// Of the tone.
        pitch: Hertz,
        /// Beeps a second.
        cadence: Hertz,
        /// Share of the time that sounds, 0 to 1.
        on_fraction: f32,
    },
    /// Uninterrupted tone: sink.
    Steady {
        /// Of the tone.
        pitch: Hertz,
    },
}

/// The law as tuned.
#[derive(Clone, Debug, PartialEq)]
pub struct Tone {
    climb_from_mps: f32,
    sink_from_mps: f32,
    hysteresis_mps: f32,
    climb: Vec<LogPoint, MAX_TONE_POINTS>,
    sink: Vec<LogPoint, MAX_TONE_POINTS>,
}

/// Which sound is on, so that it ends later than it began.
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

/// An entry of a table, ready for interpolation.
#[derive(Clone, Copy, Debug, PartialEq)]
struct LogPoint {
    vertical_mps: f32,
    log2_pitch: f32,
    log2_cadence: f32,
    on_fraction: f32,
}

impl Tone {
    /// Checks the settings and prepares the tables.
    ///
    /// # Errors
    /// The first setting out of range or out of order, with the entry it is in.
    pub fn new(settings: &ToneSettings) -> Result<Self, SettingsError> {
        check_thresholds(settings)?;
        check_climb(&settings.climb)?;
        check_sink(&settings.sink, &settings.climb)?;
        Ok(Self {
            climb_from_mps: settings.climb_from_mps,
            sink_from_mps: settings.sink_from_mps,
            hysteresis_mps: settings.hysteresis_mps,
            climb: settings.climb.iter().map(LogPoint::of_climb).collect(),
            sink: settings.sink.iter().map(LogPoint::of_sink).collect(),
        })
    }

    /// The sound of a vertical speed.
    pub fn step(&self, state: &mut ToneState, vertical_speed: MetrePerSecond) -> Sound {
        *state = self.next(*state, vertical_speed.0);
        match state {
            ToneState::Silent => Sound::Silent,
            ToneState::Climb => {
                let point = interpolate(&self.climb, vertical_speed.0);
                Sound::Beeps { pitch: point.pitch(), cadence: point.cadence(), on_fraction: point.on_fraction }
            }
            ToneState::Sink => Sound::Steady { pitch: interpolate(&self.sink, vertical_speed.0).pitch() },
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

impl LogPoint {
    fn of_climb(point: &ClimbPoint) -> Self {
        Self {
            vertical_mps: point.climb_mps,
            log2_pitch: libm::log2f(point.pitch_hz),
            log2_cadence: libm::log2f(point.cadence_hz),
            on_fraction: point.on_fraction,
        }
    }

    fn of_sink(point: &SinkPoint) -> Self {
        Self {
            vertical_mps: point.sink_mps,
            log2_pitch: libm::log2f(point.pitch_hz),
            log2_cadence: 0.0,
            on_fraction: 1.0,
        }
    }

    fn pitch(&self) -> Hertz {
        Hertz(libm::exp2f(self.log2_pitch))
    }

    fn cadence(&self) -> Hertz {
        Hertz(libm::exp2f(self.log2_cadence))
    }

    fn towards(&self, other: &Self, share: f32) -> Self {
        let mix = |from: f32, to: f32| from + share * (to - from);
        Self {
            vertical_mps: mix(self.vertical_mps, other.vertical_mps),
            log2_pitch: mix(self.log2_pitch, other.log2_pitch),
            log2_cadence: mix(self.log2_cadence, other.log2_cadence),
            on_fraction: mix(self.on_fraction, other.on_fraction),
        }
    }
}

/// The table at `vertical_mps`; its first entry is the one nearest to silence, its last the one furthest from it.
fn interpolate(table: &[LogPoint], vertical_mps: f32) -> LogPoint {
    // The settings refuse an empty table; a silent point keeps the sample loop free of a panic all the same.
    let mut below = table.first().copied().unwrap_or(LogPoint {
        vertical_mps: 0.0,
        log2_pitch: 0.0,
        log2_cadence: 0.0,
        on_fraction: 0.0,
    });
    for above in table.iter().skip(1) {
        let share = (vertical_mps - below.vertical_mps) / (above.vertical_mps - below.vertical_mps);
        if share <= 0.0 {
            return below;
        }
        if share < 1.0 {
            return below.towards(above, share);
        }
        below = *above;
    }
    below
}

fn check_thresholds(settings: &ToneSettings) -> Result<(), SettingsError> {
    in_range("tone.climb_from_mps", settings.climb_from_mps, -1.0, 2.0)?;
    in_range("tone.sink_from_mps", settings.sink_from_mps, -10.0, -0.3)?;
    in_range("tone.hysteresis_mps", settings.hysteresis_mps, 0.0, 0.5)?;
    let most = settings.climb_from_mps - 2.0 * settings.hysteresis_mps;
    if settings.sink_from_mps >= most {
        let expected = Expected::AtMost(most, "the silent band must stay wider than both hystereses");
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
    check_length("tone.climb", points.len())?;
    let mut before: Option<&ClimbPoint> = None;
    for (index, point) in points.iter().enumerate() {
        let entry = Entry { list: "tone.climb", place: index + 1 };
        entry.range("climb_mps", point.climb_mps, -1.0, 60.0)?;
        entry.range("pitch_hz", point.pitch_hz, 200.0, 4000.0)?;
        entry.range("cadence_hz", point.cadence_hz, 0.5, 14.0)?;
        entry.range("on_fraction", point.on_fraction, 0.1, 0.9)?;
        entry.at_least("on_fraction", point.on_fraction, SHORTEST_BEEP_S * point.cadence_hz, "a beep of 40 ms")?;
        entry.at_most("on_fraction", point.on_fraction, 1.0 - SHORTEST_GAP_S * point.cadence_hz, "a gap of 30 ms")?;
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
    check_length("tone.sink", points.len())?;
    let lowest_beep_hz = climb.first().map_or(0.0, |point| point.pitch_hz);
    let mut before: Option<&SinkPoint> = None;
    for (index, point) in points.iter().enumerate() {
        let entry = Entry { list: "tone.sink", place: index + 1 };
        entry.range("sink_mps", point.sink_mps, -60.0, -0.3)?;
        entry.range("pitch_hz", point.pitch_hz, 80.0, 2000.0)?;
        entry.at_most("pitch_hz", point.pitch_hz, lowest_beep_hz / FIFTH, "a musical fifth below the lowest beep")?;
        if let Some(before) = before {
            entry.below("sink_mps", point.sink_mps, before.sink_mps)?;
            entry.below("pitch_hz", point.pitch_hz, before.pitch_hz)?;
        }
        before = Some(point);
    }
    Ok(())
}

fn check_length(parameter: &'static str, length: usize) -> Result<(), SettingsError> {
    if length > 0 {
        return Ok(());
    }
    let expected = Expected::AtLeast(1.0, "entries in the list");
    Err(SettingsError { parameter, entry: None, value: 0.0, expected })
}

/// The place in a table that a check is about.
#[derive(Clone, Copy)]
struct Entry {
    list: &'static str,
    place: usize,
}

impl Entry {
    fn check(self, parameter: &'static str, value: f32, good: bool, expected: Expected) -> Result<(), SettingsError> {
        if good {
            Ok(())
        } else {
            Err(SettingsError { parameter, entry: Some((self.list, self.place)), value, expected })
        }
    }

    fn range(self, parameter: &'static str, value: f32, least: f32, most: f32) -> Result<(), SettingsError> {
        self.check(parameter, value, value >= least && value <= most, Expected::Range(least, most))
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

    fn at_least(
        self,
        parameter: &'static str,
        value: f32,
        least: f32,
        reason: &'static str,
    ) -> Result<(), SettingsError> {
        self.check(parameter, value, value >= least, Expected::AtLeast(least, reason))
    }

    fn above(self, parameter: &'static str, value: f32, before: f32) -> Result<(), SettingsError> {
        self.check(parameter, value, value > before, Expected::MoreThanBefore(before))
    }

    fn below(self, parameter: &'static str, value: f32, before: f32) -> Result<(), SettingsError> {
        self.check(parameter, value, value < before, Expected::LessThanBefore(before))
    }
}
