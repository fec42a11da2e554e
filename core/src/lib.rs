//! The core of the Chirrup audio variometer: barometric pressure in, vertical speed and its sound
//! out.
//!
//! `no_std`, no allocation, no unsafe code, no clock, no input or output: the same code, bit for
//! bit, runs in the instrument and on the bench.
//!
//! ```
//! use chirrup_core::{Metre, Micros, PipelineState, Sample, Settings, pressure_at};
//!
//! let pipeline = Settings::default().build()?;
//! let mut state = PipelineState::default();
//! let mut reading = None;
//! for step in 0..500 {
//!     // Climbs at 2 m/s, sampled at 50 Hz.
//!     let altitude = Metre(1000.0 + 0.02 * 2.0 * step as f32);
//!     let sample = Sample::of_static(Micros(20_000 * step), pressure_at(altitude));
//!     reading = pipeline.step(&mut state, &sample).values;
//! }
//! let climb = reading.expect("the samples are good").vertical_speed;
//! assert!((climb.0 - 2.0).abs() < 0.05);
//! # Ok::<(), chirrup_core::SettingsError>(())
//! ```
//!
//! What the crate's root exports is all that an instrument or a bench needs: [`Settings`] make a
//! [`Pipeline`]; [`Pipeline::step`] takes a [`Sample`] and gives a [`Reading`]; [`Pipeline::tick`]
//! gives the [`Voice`] for the next 2 ms, which [`Waveform`] turns into samples of sound and
//! [`PwmTimer`] into the registers of a timer. `core/examples` has both. [`stages`] has the stages
//! by themselves, for a bench that measures one of them, and [`rows`] the settings as a table.
//!
//! Inside, folders follow the data, and each imports only from those before it (a test reads the
//! imports):
//!
//! | folder | from | to |
//! |---|---|---|
//! | `sensing` | what the sensors said | one sample, its place in time, new or old |
//! | `air` | pressures | altitude, density, airspeed, energy height, a doubt about the tubes |
//! | `motion` | heights | vertical speed, averages, the climb, launched or not, netto |
//! | `inertial` | specific force, turn rate, pressures | a climb that no gust can fake, and trust |
//! | `sound` | vertical speed | pitch, cadence, gate, level; samples or a timer's period |
//!
//! `reading` is what comes out, `settings` gathers every stage's settings, and `pipeline` is the
//! one file that knows every stage.
//!
//! A hobby instrument's core: not certified, never the primary reference of a flight.

#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests compare with std and need no equal last bit"
    )
)]
// The sample loop must not panic: what could is refused here, and looked at again in the tests' own
// modules.
#![cfg_attr(
    not(test),
    warn(clippy::indexing_slicing, clippy::unwrap_used, clippy::expect_used, clippy::panic)
)]
#![warn(unreachable_pub)]

#[cfg(test)]
extern crate std;

pub mod decimal;
#[macro_use]
pub mod rows;
pub mod stages;

mod advice;
mod air;
mod device;
mod error;
mod inertial;
mod intake;
mod motion;
mod pipeline;
mod reading;
mod sensing;
mod settings;
mod sound;
mod units;

/// The examples of README.md, as tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;

/// ```
/// use chirrup_core::{AltimeterSettings, HeightUnit, Metre, Settings};
///
/// // Above the airfield, in feet: its pressure on the subscale.
/// let altimeter = AltimeterSettings { subscale_hpa: 988.3, unit: HeightUnit::Ft };
/// let settings = Settings { altimeter, ..Settings::default() };
/// assert!(settings.build().is_ok());
/// assert!((HeightUnit::Ft.of(Metre(304.8)) - 1000.0).abs() < 0.001);
/// ```
pub use air::altimeter::{AltimeterSettings, HeightUnit};
/// ```
/// use chirrup_core::{Metre, pressure_altitude, pressure_at};
///
/// // ICAO Doc 7488/3: 89 874.56 Pa at 1000 m.
/// let pressure = pressure_at(Metre(1000.0));
/// assert!((pressure.0 - 89_874.56).abs() < 0.1);
/// assert!((pressure_altitude(pressure).0 - 1000.0).abs() < 0.02);
/// ```
pub use air::atmosphere::{pressure_altitude, pressure_at};
/// ```
/// use chirrup_core::{EnergyChoice, EnergySettings, EnergySource, Settings};
///
/// // A pitot that reads 3 % too little, with 60 ms of tube.
/// let energy = EnergySettings {
///     choice: EnergyChoice::Electronic,
///     compensation_percent: 103.0,
///     airspeed_delay_ms: 60.0,
///     ..EnergySettings::default()
/// };
/// assert!(Settings { energy, ..Settings::default() }.build().is_ok());
/// // A reading says which source it used; the names are those of the settings.
/// assert_eq!(EnergySource::Electronic.name(), EnergyChoice::Electronic.name());
/// ```
pub use air::energy::{EnergyChoice, EnergySettings, EnergySource};
/// ```
/// use chirrup_core::{DeviceSettings, DifferentialOutput, SecondBarometer, Settings};
///
/// let device = DeviceSettings {
///     second_barometer: SecondBarometer::Probe,
///     differential_output: DifferentialOutput::B,
///     log_hz: 10,
///     ..DeviceSettings::default()
/// };
/// assert!(Settings { device, ..Settings::default() }.build().is_ok());
/// ```
pub use device::{DeviceSettings, DifferentialOutput, RecordFrom, SecondBarometer, SpeakerOutput};
/// ```
/// use chirrup_core::{Expected, Settings, SettingsError};
///
/// let mut settings = Settings::default();
/// settings.filter.response_s = 99.0;
/// let error: SettingsError = settings.build().unwrap_err();
/// assert_eq!(error.to_string(), "response_s is 99, expected 0.1 to 10");
/// assert_eq!(error.expected, Expected::Range(0.1, 10.0));
/// ```
pub use error::{Expected, SettingsError};
/// ```
/// use chirrup_core::{InertialChoice, InertialSettings, Settings, Trust};
///
/// let inertial = InertialSettings { choice: InertialChoice::Off, ..InertialSettings::default() };
/// assert!(Settings { inertial, ..Settings::default() }.build().is_ok());
/// assert_eq!(Trust::Trusted.name(), "trusted");
/// ```
pub use inertial::settings::{InertialChoice, InertialSettings, SensorAxis};
pub use inertial::trust::{Aided, Felt, Remark, Trust};
/// ```
/// use chirrup_core::{AverageSettings, Settings};
///
/// let average = AverageSettings { span_s: 30.0 };
/// assert!(Settings { average, ..Settings::default() }.build().is_ok());
/// ```
pub use motion::average::AverageSettings;
/// ```
/// use chirrup_core::{Climb, Metre, MetrePerSecond, Micros};
///
/// // 90 m within 45 s, as a reading reports it.
/// let climb = Climb {
///     gain: Metre(90.0),
///     lasted: Micros(45_000_000),
///     average: MetrePerSecond(2.0),
/// };
/// assert_eq!(climb.average.0 * climb.lasted.as_seconds(), climb.gain.0);
/// ```
pub use motion::climb::Climb;
/// ```
/// use chirrup_core::{FilterChoice, FilterSettings, Settings};
///
/// // A filter that is always 2 s late, for a sensor with 0.3 m of noise.
/// let filter = FilterSettings { choice: FilterChoice::Fixed, response_s: 2.0, noise_m: 0.3 };
/// assert!(Settings { filter, ..Settings::default() }.build().is_ok());
/// ```
pub use motion::estimator::{FilterChoice, FilterSettings};
/// ```
/// use chirrup_core::{PolarPoint, PolarSettings, Settings};
///
/// let points = [(18.0, 0.88), (24.0, 0.91), (29.0, 1.22), (35.0, 1.89)];
/// let polar = PolarSettings {
///     points: points
///         .into_iter()
///         .map(|(speed_mps, sink_mps)| PolarPoint { speed_mps, sink_mps })
///         .collect(),
///     ballast_kg: 80.0,
///     ..PolarSettings::default()
/// };
/// assert_eq!(polar.mass_kg(), 440.0);
/// assert!(Settings { polar: Some(polar), ..Settings::default() }.build().is_ok());
/// ```
pub use motion::polar::{PolarPoint, PolarSettings};
/// ```
/// use chirrup_core::{Micros, Pascal, Pipeline, PipelineState, Sample, Settings, Status};
///
/// let pipeline: Pipeline = Settings::default().build()?;
/// // What is tuned and what is remembered are apart: one pipeline can serve several flights.
/// let mut state = PipelineState::default();
/// let sample = Sample::of_static(Micros(0), Pascal(95_000.0));
/// assert_eq!(pipeline.step(&mut state, &sample).status, Status::Settling);
/// assert_eq!(pipeline.step(&mut state, &sample).status, Status::RepeatedTime);
/// assert!(!pipeline.tick(&mut state).gate);
/// # Ok::<(), chirrup_core::SettingsError>(())
/// ```
pub use pipeline::{Pipeline, PipelineState};
/// ```
/// use chirrup_core::{
///     Metre, MetrePerSecond, Micros, Netto, PipelineState, PolarSettings, Reading,
///     ReadingSettings, Sample, Settings, Speed, Status, Values, VerticalScale, pressure_at,
/// };
///
/// let settings = Settings {
///     polar: Some(PolarSettings::default()),
///     reading: ReadingSettings { scale: VerticalScale::Corrected, stale_after_s: 3.0 },
///     ..Settings::default()
/// };
/// let (pipeline, mut state) = (settings.build()?, PipelineState::default());
/// let mut last: Option<Reading> = None;
/// for step in 0..1_000 {
///     // A glider that flies level at 27 m/s, in air that rises as fast as it sinks.
///     let height = Metre(800.0 + 0.1 * (step % 2) as f32); // A sensor that lives has noise.
///     let mut sample = Sample::of_static(Micros(20_000 * step), pressure_at(height));
///     sample.speed = Some(Speed::Calibrated(MetrePerSecond(27.0)));
///     last = Some(pipeline.step(&mut state, &sample));
/// }
/// let Some(Reading { status: Status::Ok, values: Some(values), .. }) = last else { panic!() };
/// let Values { netto: Some(netto), .. } = values else { panic!() };
/// let Netto { air, .. } = netto;
/// assert!(values.sounded().0.abs() < 0.05, "it neither climbs nor sinks");
/// assert!((air.0 - 0.77).abs() < 0.1, "and so the air rises by the glider's own sink");
/// # Ok::<(), chirrup_core::SettingsError>(())
/// ```
pub use reading::{Netto, Reading, ReadingSettings, Status, Values, VerticalScale};
/// ```
/// use chirrup_core::{Kelvin, Micros, Pascal, Sample, Speed};
///
/// // Static pressure, a pitot and a thermometer; no total-energy probe.
/// let sample = Sample {
///     speed: Some(Speed::Dynamic(Pascal(420.0))),
///     outside_air: Some(Kelvin(285.0)),
///     ..Sample::of_static(Micros(0), Pascal(95_000.0))
/// };
/// assert!(sample.has_usable_pressure() && sample.te_pressure.is_none());
/// // A pitot with a clock of its own, between two static pressures.
/// let partial = Sample { static_pressure: None, time: Micros(8_000), ..sample };
/// assert!(!partial.has_usable_pressure() && partial.usable_speed().is_some());
/// ```
pub use sensing::inertial::{GroundVelocity, Inertial, Spread};
pub use sensing::sample::{Sample, Speed};
/// ```
/// use chirrup_core::Settings;
/// use chirrup_core::rows::{Groups, Value, find};
///
/// // By its fields, or by the names of a settings file.
/// let mut settings = Settings::default();
/// settings.filter.response_s = 0.6;
/// let (group, row) = find::<Settings>("tone.volume").unwrap();
/// let volume = settings.group_mut(group).and_then(|group| group.setting_mut(row)).unwrap();
/// assert!(volume.set(Value::Number(5.0)));
/// assert_eq!(settings.tone.volume, 5.0);
/// ```
pub use settings::Settings;
/// ```
/// use chirrup_core::{Micros, PipelineState, Settings, TICK, TICKS_PER_SECOND, Voice};
///
/// assert_eq!(i64::from(TICKS_PER_SECOND) * TICK.0, Micros(1_000_000).0);
/// let (pipeline, mut state) = (Settings::default().build()?, PipelineState::default());
/// // Before the first sample there is nothing to sound.
/// let voice: Voice = pipeline.tick(&mut state);
/// assert!(!voice.gate);
/// # Ok::<(), chirrup_core::SettingsError>(())
/// ```
pub use sound::beep::{TICK, TICKS_PER_SECOND, Voice};
/// ```
/// use chirrup_core::{Hertz, Pulse, PwmTimer, Voice};
///
/// let timer = PwmTimer::new(125_000_000, 255).unwrap();
/// let voice = Voice { pitch: Hertz(1000.0), gate: true, level: 1.0, ..Voice::default() };
/// let Pulse { top, compare } = timer.pulse(voice);
/// let counts = u32::from(top) + 1;
/// assert_eq!(125_000_000 / u32::from(timer.divider()) / counts, 1000);
/// // Full level is a pulse of 0.1 ms.
/// assert!((u32::from(compare) * 10).abs_diff(counts) <= 10);
/// ```
pub use sound::pwm::{Pulse, PwmTimer};
/// ```
/// use chirrup_core::{ClimbPoint, Settings, SinkPoint, SoundMode, ToneSettings};
///
/// let mut tone = ToneSettings { mode: SoundMode::Climb, volume: 10.0, ..ToneSettings::default() };
/// tone.climb.clear();
/// for (climb_mps, pitch_hz, cadence_hz, beep_ms) in
///     [(0.3, 500.0, 1.5, 300.0), (3.0, 1000.0, 5.0, 110.0)]
/// {
///     let point = ClimbPoint { climb_mps, pitch_hz, cadence_hz, beep_ms };
///     tone.climb.push(point).expect("there is room for fifteen");
/// }
/// tone.sink.clear();
/// tone.sink.push(SinkPoint { sink_mps: -2.0, pitch_hz: 320.0 }).expect("likewise");
/// assert!(Settings { tone, ..Settings::default() }.build().is_ok());
/// ```
pub use sound::settings::{ClimbPoint, SinkPoint, SoundMode, ToneSettings};
pub use sound::speaker::Speaker;
/// ```
/// use chirrup_core::{Settings, Timbre};
///
/// // A loudspeaker the size of a coin.
/// let mut settings = Settings::default();
/// settings.tone.timbre = Timbre::Reed;
/// assert!(settings.build().is_ok());
/// ```
pub use sound::timbre::Timbre;
/// ```
/// use chirrup_core::{Hertz, Meaning, Sound};
///
/// let beeps = Sound::Beeps { pitch: Hertz(900.0), cadence: Hertz(3.8), on_fraction: 0.5 };
/// assert_eq!(beeps.meaning(), Meaning::Climb);
/// assert_eq!(Sound::Silent.meaning(), Meaning::Nothing);
/// ```
pub use sound::tone::{Meaning, Sound};
pub use sound::volume::level_of_volume;
/// ```
/// use chirrup_core::{Hertz, Voice, Waveform, WaveformState};
///
/// let (waveform, mut state) = (Waveform::new(48_000), WaveformState::default());
/// let voice = Voice { pitch: Hertz(900.0), gate: true, level: 0.5, ..Voice::default() };
/// // 2 ms of a beep that begins: it fades in and does not click.
/// let mut samples = [0_i16; 96];
/// waveform.fill(&mut state, voice, &mut samples);
/// assert!(samples[0].abs() < 10 && samples.iter().any(|sample| sample.abs() > 1_000));
/// ```
pub use sound::waveform::{Waveform, WaveformState};
/// ```
/// use chirrup_core::{
///     Hertz, Kelvin, KilogramPerCubicMetre, Metre, MetrePerSecond, Micros, Pascal,
/// };
///
/// assert_eq!(Kelvin::from_celsius(15.0), Kelvin(288.15));
/// assert!(Metre(300.0) < Metre(304.8) && MetrePerSecond(-1.0) < MetrePerSecond(0.0));
/// assert_eq!(Micros(2_500_000).since(Micros(500_000)).as_seconds(), 2.0);
/// let (pressure, temperature, density) =
///     (Pascal(101_325.0), Kelvin(288.15), KilogramPerCubicMetre(1.225));
/// // The law of the ideal gas: p = rho R T.
/// assert!((density.0 * 287.052_87 * temperature.0 / pressure.0 - 1.0).abs() < 1e-4);
/// assert!(Hertz(440.0) < Hertz(880.0));
/// ```
pub use units::{
    Axes, Hertz, Kelvin, KilogramPerCubicMetre, Metre, MetrePerSecond, MetrePerSecond2, Micros,
    Pascal, RadianPerSecond,
};
