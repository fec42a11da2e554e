//! Drivers of the sensors of a variometer, which never wait: pressure and inertial sensors on an
//! I2C bus, with data-sheet arithmetic to the last bit of a conversion.
//!
//! No heap, no unsafe code, no clock, no board, no executor: `embedded-hal` 1.0 for a blocking bus
//! and for pins, `embedded-hal-async` for an async one, and that is all that a board must have.
//!
//! *A hobby project: not certified, never the primary reference of a flight. Lookout first.*
//!
//! # 1. A driver is a state machine
//!
//! A driver never touches the bus. It is asked what it wants, and either wants a transaction now,
//! or nothing before a time; it is given the answer, and says what came of it:
//!
//! ```text
//!            wanted(now)                                    Transact(bytes to send, how many to read)
//!  board  ---------------->  driver: a state machine  ----> Nothing(before this time)
//!            answer(now, bytes or fault)                    Going | Ready | Measured(..) | Failed(..)
//!         ---------------->                           ---->
//! ```
//!
//! So several sensors share a bus and convert at the same time; a blocking and an async board use
//! the same drivers; and a test, or a simulated flight, is a loop that counts time itself.
//! [`sensor`] has the interface, [`bus`] carries transactions out on a HAL's bus. All that a
//! program needs of it:
//!
//! ```
//! use chirrup_sensors::Micros;
//! use chirrup_sensors::bmp581::driver::{ADDRESS_SDO_HIGH, Bmp581};
//! use chirrup_sensors::bus::run_blocking;
//! use chirrup_sensors::sensor::{Driver, Fault, Measurement, Outcome, Wanted};
//! use embedded_hal::i2c::I2c;
//!
//! fn next_measurement(
//!     driver: &mut impl Driver,
//!     bus: &mut impl I2c,       // of any HAL
//!     now: impl Fn() -> Micros, // a clock that counts microseconds
//! ) -> Result<Measurement, Fault> {
//!     loop {
//!         match driver.wanted(now()) {
//!             Wanted::Nothing(until) => while now() < until {}, // or sleep, or serve another
//!             Wanted::Transact(transaction) => {
//!                 let answer = run_blocking(bus, &transaction);
//!                 match driver.answer(now(), answer.as_deref().map_err(|fault| *fault)) {
//!                     Outcome::Measured(measurement) => return Ok(measurement),
//!                     Outcome::Failed(fault) => return Err(fault),
//!                     Outcome::Going | Outcome::Ready => {}
//!                 }
//!             }
//!         }
//!     }
//! }
//!
//! /// Two in a row of a BMP581 at 0x47; the driver is made once and kept.
//! fn two_measurements(
//!     bus: &mut impl I2c,
//!     now: impl Fn() -> Micros,
//! ) -> Result<[Measurement; 2], Fault> {
//!     let mut barometer = Bmp581::new(ADDRESS_SDO_HIGH);
//!     let first = next_measurement(&mut barometer, bus, &now)?;
//!     Ok([first, next_measurement(&mut barometer, bus, &now)?])
//! }
//! ```
//!
//! The first function is `examples/driver_only.rs`, built for a computer and for a Cortex-M0+ by
//! `cargo build -p chirrup-sensors --example driver_only` and `firmware/build.sh sensors`.
//!
//! # 2. Frames, and the time of a measurement
//!
//! Time is in [`Micros`], of any clock that never goes back. It is cut into frames of 20 ms
//! ([`sensor::FRAME`]) that begin at whole multiples. Each driver begins a conversion with each
//! frame, so that sensors that know nothing of each other convert at the same time:
//!
//! ```text
//! ms    0         5         10        15        20
//!       |---------|---------|---------|---------|-- the next frame
//! MS5611  PPPPPPPPPPPPPPPPP r TTTTTTTT r
//! BMP390  TTTTTTTTPPPPPPPPPPPPPPPP   r
//! DPS310  PPPPPPPPPPPPPPPPP r TTTTTTT r
//! BMP581  TTPPPPPPPPPPPPPPPPPPPP  r
//! MS4525DO  r   r   r   r                 mean of four
//! SDP3x     r ============= r             mean from read to read
//! inertial                    rrrr        all that its memory holds
//! ```
//!
//! `P` pressure, `T` temperature, `r` read. A measurement carries the time of the middle of its
//! pressure's conversion: 4.1 ms (MS5611), 4.2 (DPS310), 5 (SDP3x), 6.2 (BMP581) or 8.7 (BMP390)
//! into the frame. Two sensors of a kind are in step; kinds are at most 5 ms apart, and the times
//! say so. Of those in step a difference of two sensors, or of two frames of one, is a difference
//! of pressure and not of timing. A bus that is late moves a conversion within its frame, and the
//! time says so; later than a quarter of the frame there is none.
//!
//! Every pressure is compensated with a [`temperature`] of its own frame or the one before.
//!
//! # 3. The sensors
//!
//! | sensor | address | known by | noise, Pa | step, Pa | longest start, ms |
//! |---|---|---|---|---|---|
//! | [BMP581, BMP580, BMP585](bmp581) | 0x47, 0x46 | identity 0x50 or 0x51, its check of itself | 0.21 | 0.016 | 8 (slow: 58) |
//! | [DPS310, SPL06-001, SPL06-007](dps310) | 0x77, 0x76 | identity 0x10, set-up read back, coefficients | 0.5 (SPL06: about 2) | 0.016 | 110 |
//! | [BMP390](bmp390) | 0x77, 0x76 | identity 0x60 | 0.65 | 0.016 | 5 |
//! | [MS5611](ms5611) | 0x77, 0x76 | the checksum of its memory | 1.2 | 0.016 | 5 |
//! | [MS4525DO](ms4525) | 0x28 | four bytes that are no fault | 1.05 | 0.26 (1 psi) | 1 |
//! | [SDP31](sdp3x) | 0x21, 0x22, 0x23 | product number, checksums, scale | 0.1 | 0.017 | 13 |
//! | [SDP33](sdp3x) | the same | the same | 0.3 | 0.05 | 13 |
//! | [LSM6DSO, ICM-42688-P](inertial) | 0x6A, 0x6B; 0x68, 0x69 | identity, its test of itself | | | 600 |
//!
//! All at 50 measurements a second, except the inertial sensors: 200 or more, handed over 50 times
//! a second. Noise is of one measurement as the driver takes it; where a page says so, it is from
//! memory of a sheet, or a guess. A pascal is 8 cm near the ground.
//!
//! **An SDP3x measures a flow.** Its `pressure_64ths_pa` is a pressure only at 966 hPa: give it and
//! the static pressure to [`sdp3x::at_static_64ths_pa`] before it is used as one.
//!
//! Three kinds share the addresses 0x76 and 0x77. `strangers` in the tests lets every driver look
//! at every device there: none takes another for its own, and none sends an MS5611, which has no
//! identity and takes every byte for a command, a command that it knows. Look for the MS5611 last.
//!
//! # 4. When it goes wrong
//!
//! A [`Fault`](sensor::Fault) is what is wrong in words. A driver that was ready tries again with
//! the next frame by itself, but does not set the sensor up again; one that was not begins at its
//! identity. So after ten failures in a row make a new driver, which finds a sensor that was
//! unplugged or whose supply dipped. The drivers of a DPS310 and a BMP390 notice such a dip with
//! the next result, do not use it and set the sensor up again
//! ([`Restarted`](sensor::Fault::Restarted)), since these two would go on with wrong or noisier
//! pressures instead of failures. A bus that a device holds down is [freed](recovery) with two
//! pins of any HAL. What gives up, and when, is its user's: the instrument (`chirrup-firmware`,
//! `slot`) does so after ten failures in a row.
//!
//! # 5. Another sensor
//!
//! 1. Its arithmetic in a file, in integers or `f64`, to 1/64 Pa, with the formulae and their
//!    source at the top, and the sheet's example and somebody else's code in the tests.
//! 2. Its protocol as a [`Driver`](sensor::Driver) in `driver.rs` below it, with the states, the
//!    time in the frame and the registers at the top.
//! 3. A device in `fakes` (feature `fakes`) with its times, its noise and its temperature; a row in
//!    `strangers`.
//!
//! [`ms4525`] is the shortest example, [`bmp581`] the shortest barometer.

#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests compare with std and need no equal last bit"
    )
)]
// The instrument must not panic in flight: what could is refused here, as in the core.
#![cfg_attr(
    not(test),
    warn(clippy::indexing_slicing, clippy::unwrap_used, clippy::expect_used, clippy::panic)
)]

#[cfg(test)]
extern crate std;

pub use chirrup_core::{DifferentialOutput, Micros};

pub mod bmp390;
pub mod bmp581;
pub mod bus;
pub mod dps310;
#[cfg(any(test, feature = "fakes"))]
pub mod fakes;
pub mod inertial;
pub mod ms4525;
pub mod ms5611;
pub mod recovery;
pub mod sdp3x;
pub mod sensor;
#[cfg(test)]
mod strangers;
pub mod temperature;
