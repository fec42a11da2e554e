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
//! [`PwmTimer`] into the registers of a timer. `core/examples` has both. [`stages`] has the stages by
//! themselves, for a bench that measures one of them, [`rows`] the settings as a table, and
//! [`units`] the quantities with their conversions.
//!
//! Inside, folders follow the data, and each imports only from those before it (a test reads the
//! imports):
//!
//! | folder | from | to |
//! |---|---|---|
//! | `sensing` | what the sensors said | one sample, its place in time, new or old |
//! | `air` | pressures | altitude, density, airspeed, energy height, a doubt about the tubes |
//! | `motion` | heights | vertical speed, averages, the climb, launched or not, netto |
//! | `sound` | vertical speed | pitch, cadence, gate, level; samples or a timer's period |
//!
//! `reading` is what comes out, `settings` gathers every stage's settings, and `pipeline` is the one
//! file that knows every stage.
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

#[macro_use]
pub mod rows;
pub mod stages;
pub mod units;

mod air;
mod device;
mod error;
mod motion;
mod pipeline;
mod reading;
mod sensing;
mod settings;
mod sound;

pub use air::altimeter::{AltimeterSettings, HeightUnit};
pub use air::atmosphere::{pressure_altitude, pressure_at};
pub use air::energy::{EnergyChoice, EnergySettings, EnergySource};
pub use device::{DeviceSettings, DifferentialOutput, SecondBarometer};
pub use error::{Expected, SettingsError};
pub use motion::average::AverageSettings;
pub use motion::climb::Climb;
pub use motion::estimator::{FilterChoice, FilterSettings};
pub use motion::polar::{PolarPoint, PolarSettings};
pub use pipeline::{Pipeline, PipelineState};
pub use reading::{Netto, Reading, ReadingSettings, Status, Values, VerticalScale};
pub use sensing::sample::{Sample, Speed};
pub use settings::Settings;
pub use sound::beep::{TICK, TICKS_PER_SECOND, Voice};
pub use sound::pwm::{Pulse, PwmTimer};
pub use sound::settings::{ClimbPoint, SinkPoint, SoundMode, ToneSettings};
pub use sound::timbre::Timbre;
pub use sound::tone::{Meaning, Sound};
pub use sound::waveform::{Waveform, WaveformState};
pub use units::{Hertz, Kelvin, KilogramPerCubicMetre, Metre, MetrePerSecond, Micros, Pascal};
