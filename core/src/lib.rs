//! The core of the Chirrup audio variometer: barometric pressure in, vertical speed and its sound
//! out.
//!
//! `no_std`, no allocation, no unsafe code, no clock, no input or output: the same code, bit for
//! bit, runs in the instrument and on the bench. One stage of the data's way is one module:
//!
//! | stage | module | from | to |
//! |---|---|---|---|
//! | what came | [`sample`] | | one moment of sensing |
//! | order in time | [`clock`] | time stamps | used, gap, passed over |
//! | air data | [`air_data`] with [`atmosphere`], [`airspeed`] | pressures | altitude, density, true airspeed |
//! | altimeter | [`altimeter`] | altitude | height above what the subscale stands for |
//! | energy | [`energy`] with [`delay`] | altitude, airspeed or probe | energy height |
//! | tubes | [`tubes`] | impact pressure, altitude | a doubt about the plumbing |
//! | new or old | [`repeats`] | pressure | a measurement, the last one again, a dead sensor |
//! | filter | [`estimator`] with [`noise`], [`steady`], [`models`] | height | vertical speed and its deviation |
//! | netto | [`polar`] | airspeed, vertical speed | the air's own vertical speed, the speed to fly |
//! | averages | [`average`], [`climb`] | height | mean vertical speed over a time, and since the climb began |
//! | on the ground | [`launch`] | height, airspeed | launched or not |
//! | law of the sound | [`tone`] | vertical speed | pitch, repetition |
//! | in cruise | [`cruise`] | netto or speed error | pairs of notes |
//! | gate | [`beep`] | pitch, repetition | sound on or off, each 2 ms |
//! | trouble | [`fault`] | what became of samples | a call of its own |
//! | how loud | [`loudness`] with [`timbre`] | pitch | level |
//! | which of them | [`sounder`] | readings | a voice, each 2 ms |
//! | wave | [`waveform`] | voice | 16-bit samples |
//! | or timer | [`pwm`] | voice | period and compare |
//!
//! [`pipeline`] is the one module that knows all the others; [`settings`] holds every number a
//! person may change.
//!
//! ```
//! use chirrup_core::{atmosphere::pressure_at, sample::Sample, settings::Settings, pipeline::PipelineState};
//! use chirrup_core::units::{Metre, Micros};
//!
//! let pipeline = Settings::default().build()?;
//! let mut state = PipelineState::default();
//! let mut reading = None;
//! for step in 0..500 {
//!     let altitude = Metre(1000.0 + 0.02 * 2.0 * step as f32); // climbs at 2 m/s, sampled at 50 Hz
//!     let sample = Sample::of_static(Micros(20_000 * step), pressure_at(altitude));
//!     reading = pipeline.step(&mut state, &sample).values;
//! }
//! let climb = reading.expect("the samples are good").vertical_speed;
//! assert!((climb.0 - 2.0).abs() < 0.05);
//! # Ok::<(), chirrup_core::error::SettingsError>(())
//! ```
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

#[cfg(test)]
extern crate std;

pub mod air_data;
pub mod airspeed;
pub mod altimeter;
pub mod atmosphere;
pub mod average;
pub mod beep;
pub mod climb;
pub mod clock;
pub mod cruise;
pub mod delay;
pub mod energy;
pub mod error;
pub mod estimator;
pub mod fault;
pub mod launch;
pub mod loudness;
pub mod models;
pub mod noise;
pub mod pipeline;
pub mod polar;
pub mod pwm;
pub mod repeats;
pub mod sample;
pub mod settings;
pub mod sounder;
pub mod steady;
pub mod timbre;
pub mod tone;
pub mod tubes;
pub mod units;
pub mod waveform;
