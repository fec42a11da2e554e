//! Every setting in human units, with its default, its range and the reason for both.
//!
//! A [`Settings`] is plain data: fill it in, read it from a file (feature `serde`), then
//! [`Settings::build`] checks it once and gives the [`Pipeline`] that runs.

use crate::altimeter::{Altimeter, HeightUnit};
use crate::energy::{Energy, EnergyChoice};
use crate::error::{Expected, SettingsError};
use crate::estimator::FilterChoice;
use crate::pipeline::{Pipeline, Stages};
use crate::polar::Polar;
use crate::sounder::{SoundMode, Sounder};
use crate::timbre::Timbre;
use heapless::Vec;

/// The most entries a tone table may have.
pub const MAX_TONE_POINTS: usize = 12;

/// The settings of an instrument.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(default, deny_unknown_fields)
)]
pub struct Settings {
    /// Where total energy comes from. Default `auto`.
    pub energy: EnergyChoice,
    /// How much of the kinetic height counts. 0 to 150 %, default 100.
    ///
    /// A probe or a pitot whose pressure is not quite what it should be is made good by it.
    pub compensation_percent: f32,
    /// How late the static pressure reaches its sensor, in milliseconds. 0 to 500, default 0.
    ///
    /// Of this and the two below only differences matter: the others are held back to the latest.
    pub static_delay_ms: f32,
    /// How late the airspeed is, in milliseconds: of a pitot, its pressure's way to the sensor. 0
    /// to 500, default 0.
    pub airspeed_delay_ms: f32,
    /// How late the pressure of a total-energy probe reaches its sensor, in milliseconds. 0 to 500,
    /// default 0.
    pub probe_delay_ms: f32,
    /// In whose metres vertical speeds are given. Default `standard`.
    pub vertical_speed: VerticalScale,
    /// Which filter makes the vertical speed. Default `adaptive`.
    pub filter: FilterChoice,
    /// How late the reading is, in seconds: shorter is quicker and noisier. 0.1 to 10, default 1.
    ///
    /// The fixed filter is so late always, the adaptive one in quiet air only. A guess to start
    /// from: with a sensor of 0.1 m noise at 50 Hz the reading then trembles by 0.014 m/s.
    pub response_s: f32,
    /// Standard deviation of the measured heights, in metres; 0 lets the instrument measure it. 0
    /// or 0.002 to 5, default 0.
    pub noise_m: f32,
    /// Time over which the average is taken, in seconds. 5 to 300, default 20.
    ///
    /// About one circle in a thermal (common practice, no source).
    pub average_s: f32,
    /// Without a sample for this long, in seconds, the reading is stale and silent. 0.5 to 30,
    /// default 2.
    ///
    /// A flight log of one sample in several seconds is not stale between them: three usual
    /// intervals are allowed where that is longer.
    pub stale_after_s: f32,
    /// What the altimeter is set to.
    pub altimeter: AltimeterSettings,
    /// The glider's polar, without which there is neither netto nor a speed to fly. Default none.
    pub polar: Option<PolarSettings>,
    /// What climb and sink sound like.
    pub tone: ToneSettings,
}

/// In whose metres vertical speeds are given.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "lowercase")
)]
pub enum VerticalScale {
    /// The standard atmosphere's, whatever the weather, as altimeters do (common practice, no
    /// source).
    #[default]
    Standard,
    /// True ones, corrected by the outside air's temperature where that is measured: 5 % longer in
    /// air 15 K warmer than standard.
    Corrected,
}

/// The settings of the altimeter.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(default, deny_unknown_fields)
)]
pub struct AltimeterSettings {
    /// Pressure at which it shows zero, in hectopascals. 850 to 1085, default 1013.25.
    ///
    /// 1013.25 for flight levels, the QNH for altitude above sea level, the QFE for height above
    /// the airfield.
    pub subscale_hpa: f32,
    /// Unit for people: `m` or `ft`. Default `m`.
    pub unit: HeightUnit,
}

impl Default for AltimeterSettings {
    fn default() -> Self {
        Self { subscale_hpa: 1013.25, unit: HeightUnit::M }
    }
}

/// The settings of the polar: three points, and what the glider is like today.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(default, deny_unknown_fields)
)]
pub struct PolarSettings {
    /// First speed, in m/s of indicated airspeed. 10 to 80, default 20.
    pub speed_1_mps: f32,
    /// Sink at the first speed, positive, in m/s. 0.2 to 10, default 0.67.
    pub sink_1_mps: f32,
    /// Second speed, above the first. Default 27.
    pub speed_2_mps: f32,
    /// Sink at the second speed. Default 0.74.
    pub sink_2_mps: f32,
    /// Third speed, above the second. Default 42.
    pub speed_3_mps: f32,
    /// Sink at the third speed. Default 1.85.
    pub sink_3_mps: f32,
    /// Mass at which the points were measured. 100 to 1000 kg, default 360.
    pub reference_mass_kg: f32,
    /// Mass today, with pilot and ballast. 100 to 1000 kg, default 360.
    pub mass_kg: f32,
    /// How much more it sinks with insects or rain on the wings. 0 to 50 %, default 0.
    pub contamination_percent: f32,
    /// Bank in thermals, for relative netto. 0 to 60 degrees, default 40.
    pub circling_bank_deg: f32,
    /// Climb expected in the next thermal, for the speed to fly. 0 to 10 m/s, default 1.
    pub expected_climb_mps: f32,
}

impl Default for PolarSettings {
    /// A club glider of our own invention, best glide about 37; a polar of one's own had better
    /// replace it.
    fn default() -> Self {
        Self {
            speed_1_mps: 20.0,
            sink_1_mps: 0.67,
            speed_2_mps: 27.0,
            sink_2_mps: 0.74,
            speed_3_mps: 42.0,
            sink_3_mps: 1.85,
            reference_mass_kg: 360.0,
            mass_kg: 360.0,
            contamination_percent: 0.0,
            circling_bank_deg: 40.0,
            expected_climb_mps: 1.0,
        }
    }
}

impl PolarSettings {
    /// The three points: speed and sink.
    pub fn points(&self) -> [(f32, f32); 3] {
        [
            (self.speed_1_mps, self.sink_1_mps),
            (self.speed_2_mps, self.sink_2_mps),
            (self.speed_3_mps, self.sink_3_mps),
        ]
    }
}

/// The settings of the sound.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(default, deny_unknown_fields)
)]
pub struct ToneSettings {
    /// What the sound is about: `climb`, or in cruise `netto` or `speed` (the speed to fly).
    /// Default `climb`.
    pub mode: SoundMode,
    /// How loud, 0 to 10: each step is 3 dB, 0 is silence and 10 the full scale. Default 8, two
    /// steps short of full for a noisier cockpit.
    pub volume: f32,
    /// Whether low tones are made as loud to the ear as high ones, by the A-weighting of IEC
    /// 61672-1. Default yes.
    ///
    /// The price is that beeps lie 7 to 11 dB below the low sink tone's full level: turn it off
    /// where the loudspeaker is too weak for the cockpit.
    pub even_loudness: bool,
    /// Colour of every tone: `pure`, `mellow` or `reed`. Default `pure`.
    pub timbre: Timbre,
    /// Whether nothing but a fault sounds until the glider has been launched. Default no, since
    /// recordings may begin in mid-flight.
    pub silent_until_launch: bool,
    /// Time from one fault call to the next, in seconds: 5 to 120, or 0 for never. Default 15.
    pub fault_every_s: f32,
    /// In `netto` mode nothing sounds while the air moves by less than this, in m/s. 0.2 to 3,
    /// default 0.5.
    pub netto_band_mps: f32,
    /// In `speed` mode nothing sounds while the airspeed is within this of the speed to fly, in
    /// m/s. 0.5 to 10, default 2.
    ///
    /// 2 m/s is about what a pilot holds without looking (a guess), and costs hardly any height.
    pub speed_band_mps: f32,
    /// Beeps begin at this vertical speed, in m/s. -1 to 2, default 0.2.
    pub climb_from_mps: f32,
    /// The steady sink tone begins at this vertical speed, in m/s. -10 to -0.3, default -1.6.
    pub sink_from_mps: f32,
    /// A sound that has begun ends only this far back inside the silent band, in m/s. 0 to 0.5,
    /// default 0.1.
    pub hysteresis_mps: f32,
    /// Pitch, repetition and length of the beeps by vertical speed; between entries they follow in
    /// equal ratios.
    pub climb: Vec<ClimbPoint, MAX_TONE_POINTS>,
    /// Pitch of the steady tone by vertical speed.
    pub sink: Vec<SinkPoint, MAX_TONE_POINTS>,
}

/// One entry of the climb table.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(deny_unknown_fields)
)]
pub struct ClimbPoint {
    /// Vertical speed in m/s; each entry above the one before.
    pub climb_mps: f32,
    /// Pitch of the beep in hertz, 200 to 4000; each entry above the one before.
    pub pitch_hz: f32,
    /// Beeps a second, 0.5 to 14; each entry above the one before.
    pub cadence_hz: f32,
    /// Share of the time that sounds, 0.1 to 0.9. No beep may be shorter than 40 ms, no gap shorter
    /// than 30 ms.
    pub on_fraction: f32,
}

/// One entry of the sink table.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(deny_unknown_fields)
)]
pub struct SinkPoint {
    /// Vertical speed in m/s, negative; each entry below the one before.
    pub sink_mps: f32,
    /// Pitch of the steady tone in hertz, 80 to 2000; each entry below the one before, and the
    /// first at least a musical fifth (a ratio of 1.5) below the lowest beep.
    pub pitch_hz: f32,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            energy: EnergyChoice::Auto,
            compensation_percent: 100.0,
            static_delay_ms: 0.0,
            airspeed_delay_ms: 0.0,
            probe_delay_ms: 0.0,
            vertical_speed: VerticalScale::Standard,
            filter: FilterChoice::Adaptive,
            response_s: 1.0,
            noise_m: 0.0,
            average_s: 20.0,
            stale_after_s: 2.0,
            altimeter: AltimeterSettings::default(),
            polar: None,
            tone: ToneSettings::default(),
        }
    }
}

impl Default for ToneSettings {
    /// Our own law. Climb beeps lie between 500 and 2500 Hz, where they are heard well in noise
    /// (ISO 7731, from memory); from 0.2 to 5 m/s every 0.1 m/s changes pitch by more than a just
    /// noticeable difference (0.6 %) and the repetition by 2 to 6 %. A test holds it to that.
    fn default() -> Self {
        let climb = [
            ClimbPoint { climb_mps: 0.2, pitch_hz: 560.0, cadence_hz: 1.6, on_fraction: 0.5 },
            ClimbPoint { climb_mps: 1.0, pitch_hz: 720.0, cadence_hz: 2.6, on_fraction: 0.5 },
            ClimbPoint { climb_mps: 2.0, pitch_hz: 900.0, cadence_hz: 3.8, on_fraction: 0.5 },
            ClimbPoint { climb_mps: 3.0, pitch_hz: 1060.0, cadence_hz: 4.9, on_fraction: 0.5 },
            ClimbPoint { climb_mps: 5.0, pitch_hz: 1360.0, cadence_hz: 7.0, on_fraction: 0.5 },
            ClimbPoint { climb_mps: 15.0, pitch_hz: 2200.0, cadence_hz: 11.5, on_fraction: 0.5 },
        ];
        let sink = [
            SinkPoint { sink_mps: -1.6, pitch_hz: 370.0 },
            SinkPoint { sink_mps: -4.0, pitch_hz: 300.0 },
            SinkPoint { sink_mps: -10.0, pitch_hz: 220.0 },
        ];
        Self {
            mode: SoundMode::Climb,
            volume: 8.0,
            even_loudness: true,
            timbre: Timbre::Pure,
            silent_until_launch: false,
            fault_every_s: 15.0,
            netto_band_mps: 0.5,
            speed_band_mps: 2.0,
            climb_from_mps: 0.2,
            sink_from_mps: -1.6,
            hysteresis_mps: 0.1,
            climb: climb.into_iter().collect(),
            sink: sink.into_iter().collect(),
        }
    }
}

impl Settings {
    /// Checks every setting and makes the pipeline that runs by them.
    ///
    /// # Errors
    /// The first setting that is not in its range, by name, with its value and the range.
    pub fn build(&self) -> Result<Pipeline, SettingsError> {
        in_range("response_s", self.response_s, 0.1, 10.0)?;
        if self.noise_m != 0.0 {
            in_range("noise_m", self.noise_m, 0.002, 5.0)?;
        }
        in_range("average_s", self.average_s, 5.0, 300.0)?;
        in_range("stale_after_s", self.stale_after_s, 0.5, 30.0)?;
        let stages = Stages {
            energy: Energy::new(self)?,
            altimeter: Altimeter::new(&self.altimeter)?,
            polar: self.polar.as_ref().map(Polar::new).transpose()?,
            sounder: Sounder::new(&self.tone)?,
        };
        Ok(Pipeline::new(self, stages))
    }
}

/// `Ok` where `value` is a number from `least` to `most`.
pub(crate) fn in_range(
    parameter: &'static str,
    value: f32,
    least: f32,
    most: f32,
) -> Result<(), SettingsError> {
    if value >= least && value <= most {
        Ok(())
    } else {
        Err(SettingsError { parameter, entry: None, value, expected: Expected::Range(least, most) })
    }
}
