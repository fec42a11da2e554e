//! A hand-flown glider, for the page and the terminal: the air moves it, the pilot pulls and
//! pushes, and the sensors measure.
//!
//! ```text
//! pilot (speed wanted, bank, cable) --> craft (physics) -->
//!                 air (rise, thermal) --^
//! sensing (pressures, noise) --> plain numbers
//! ```
//!
//! Invented for demonstration and training; not based on any glider's handbook. The drag law and
//! the integrator are those of the scenario flights, so that page, program and recordings fly the
//! same glider.

pub mod air;
pub mod craft;
pub mod pilot;
mod sensing;

use crate::physics::motion::{Gust, TICK_S};
use crate::physics::vector::Vector;
use crate::sensors::Sensed;
use air::Air;
use craft::Craft;
use pilot::{Pilot, Wish};
use sensing::Sensing;

/// Samples a second.
pub const SAMPLES_PER_SECOND: i64 = 50;
/// Time from one sample to the next, microseconds.
pub const STEP_US: i64 = 1_000_000 / SAMPLES_PER_SECOND;
/// Ticks of the physics in one step of the flight: 5 ms each.
const TICKS: i64 = 4;

/// The inputs of the air, the pilot and the sensors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// The air.
    pub air: air::Asked,
    /// The pilot.
    pub wish: Wish,
    /// Standard deviation of the noise of every pressure, in metres of height.
    pub noise_m: f64,
}

impl Default for Asked {
    /// Still air, straight flight, good sensors.
    fn default() -> Self {
        Self { air: air::Asked::default(), wish: Wish::default(), noise_m: 0.05 }
    }
}

/// A flight, 20 ms at a time.
#[derive(Clone, Debug)]
pub struct Flight {
    craft: Craft,
    air: Air,
    pilot: Pilot,
    sensing: Sensing,
    time_us: i64,
}

impl Flight {
    /// An invented glider in a steady glide at `height_m` above the sea; the same `seed` gives the
    /// same sensor noise.
    pub fn new(height_m: f64, seed: u64) -> Self {
        let craft = Craft::gliding(height_m, pilot::DEFAULT_SPEED_MPS);
        Self {
            pilot: Pilot::new(&craft),
            craft,
            air: Air::default(),
            sensing: Sensing::new(seed),
            time_us: 0,
        }
    }

    /// Advances the flight by [`STEP_US`].
    pub fn step(&mut self, asked: &Asked) {
        for _ in 0..TICKS {
            let command = self.pilot.step(&asked.wish, &self.craft);
            let before = Vector::UP * self.air.rise_mps();
            let after = Vector::UP * self.air.step(&asked.air, self.craft.turn(), TICK_S);
            self.craft.advance(&command, &Gust { before, after });
        }
        self.time_us += STEP_US;
    }

    /// The sensor values at this moment, with noise of `noise_m` metres of height.
    pub fn sense(&mut self, noise_m: f64) -> Sensed {
        self.sensing.sense(noise_m, &self.craft, self.time_us)
    }

    /// The glider in its present state.
    pub fn craft(&self) -> &Craft {
        &self.craft
    }

    /// The air in its present state.
    pub fn air(&self) -> &Air {
        &self.air
    }

    /// Time since the flight began, microseconds.
    pub fn time_us(&self) -> i64 {
        self.time_us
    }
}
