//! A glider under one's hand: the air moves it, the pilot pulls and pushes, the sensors say what
//! they feel.
//!
//! ```text
//! pilot (speed wanted, bank, cable) --> glider (speed, path, height) --> sensors (pressures, noise, faults) --> samples
//!                       air (rise, thermal) --^
//! ```
//!
//! Invented for demonstration and training; no glider's handbook stands behind it. All in double
//! precision with `libm`, so that the page and the program fly the same flight to the last bit.

pub mod air;
pub mod glider;
pub mod pilot;
pub mod sensors;

use air::Air;
use chirrup_core::polar::Polar;
use chirrup_core::sample::Sample;
use chirrup_core::settings::PolarSettings;
use chirrup_core::units::Micros;
use glider::Glider;
use pilot::{Pilot, Wish};
use sensors::{Sensed, Sensors};

/// Samples a second.
pub const SAMPLES_PER_SECOND: i64 = 50;
/// Time from one sample to the next.
pub const STEP: Micros = Micros(1_000_000 / SAMPLES_PER_SECOND);
/// Steps of the integration in one step of the flight: 2 ms each.
const SUBSTEPS: i64 = 10;

/// What the air, the pilot and the sensors are asked to do.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// The air.
    pub air: air::Asked,
    /// The pilot.
    pub wish: Wish,
    /// The sensors.
    pub sensed: Sensed,
}

/// A flight, 20 ms at a time.
#[derive(Clone, Debug)]
pub struct Flight {
    glider: Glider,
    air: Air,
    pilot: Pilot,
    sensors: Sensors,
    time: Micros,
}

impl Flight {
    /// A glider of our own in level flight at `height_m`; `seed` sows the noise of its sensors.
    pub fn new(height_m: f64, seed: u64) -> Self {
        // The core's tests build its own default.
        let polar = Polar::new(&PolarSettings::default()).expect("the default polar is one");
        Self {
            glider: Glider::gliding(polar, height_m, pilot::DEFAULT_SPEED_MPS),
            air: Air::default(),
            pilot: Pilot::default(),
            sensors: Sensors::new(seed),
            time: Micros(0),
        }
    }

    /// Flies on by [`STEP`].
    pub fn step(&mut self, asked: &Asked) {
        let seconds = STEP.0 as f64 * 1e-6 / SUBSTEPS as f64;
        for _ in 0..SUBSTEPS {
            let rise_mps = self.air.step(&asked.air, self.glider.turn(), seconds);
            let command = self.pilot.step(&asked.wish, &self.glider, seconds);
            self.glider.step(&command, rise_mps, seconds);
        }
        self.time = Micros(self.time.0 + STEP.0);
    }

    /// What the sensors say at this moment.
    pub fn sample(&mut self, asked: &Sensed) -> Sample {
        self.sensors.sample(asked, &self.glider, self.time)
    }

    /// The glider as it is.
    pub fn glider(&self) -> &Glider {
        &self.glider
    }

    /// The air as it is.
    pub fn air(&self) -> &Air {
        &self.air
    }

    /// Time since the flight began.
    pub fn time(&self) -> Micros {
        self.time
    }
}
