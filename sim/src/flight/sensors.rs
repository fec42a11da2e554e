//! The sensors: static pressure, impact pressure and a total-energy probe of coefficient -1, with
//! white noise, and with faults.

use super::glider::Glider;
use chirrup_core::atmosphere::{
    GRAVITY_MPS2, SEA_LEVEL_DENSITY, density, pressure_at, temperature_at,
};
use chirrup_core::sample::{Sample, Speed};
use chirrup_core::units::{Metre, Micros, Pascal};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// What the sensors are like.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensed {
    /// Standard deviation of the noise of every pressure, as metres of height.
    pub noise_m: f64,
    /// What is broken.
    pub fault: Fault,
}

/// What is broken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fault {
    /// Nothing.
    #[default]
    None,
    /// The static sensor and the probe's repeat their last values.
    Frozen,
    /// They give nothing of use.
    Dead,
    /// Pitot and static tube are swapped.
    Swapped,
}

impl Default for Sensed {
    fn default() -> Self {
        Self { noise_m: 0.05, fault: Fault::None }
    }
}

/// The sensors, with their noise.
#[derive(Clone, Debug)]
pub struct Sensors {
    rng: ChaCha8Rng,
    /// Static and probe pressure of the sample before.
    last: Option<(Pascal, Pascal)>,
}

impl Sensors {
    /// Sensors whose noise is sown by `seed`.
    pub fn new(seed: u64) -> Self {
        Self { rng: ChaCha8Rng::seed_from_u64(seed), last: None }
    }

    /// What they say at `time`.
    pub fn sample(&mut self, sensed: &Sensed, glider: &Glider, time: Micros) -> Sample {
        let altitude = Metre(glider.height_m() as f32);
        let still = pressure_at(altitude);
        let rho = f64::from(density(still, temperature_at(altitude)).0);
        let noise_pa = sensed.noise_m * rho * f64::from(GRAVITY_MPS2);
        let mut noise = || {
            let normal: f64 = StandardNormal.sample(&mut self.rng);
            noise_pa * normal
        };
        let (of_static, of_pitot, of_probe) = (noise(), noise(), noise());
        let indicated = glider.indicated_mps();
        let dynamic = 0.5 * f64::from(SEA_LEVEL_DENSITY.0) * indicated * indicated;
        let fresh = (
            Pascal((f64::from(still.0) + of_static) as f32),
            Pascal((f64::from(still.0) - dynamic + of_probe) as f32),
        );
        let (static_pressure, te_pressure) = match sensed.fault {
            Fault::Frozen => self.last.unwrap_or(fresh),
            Fault::Dead => (Pascal(0.0), Pascal(0.0)),
            Fault::None | Fault::Swapped => fresh,
        };
        self.last = Some((static_pressure, te_pressure));
        let sign = if sensed.fault == Fault::Swapped { -1.0 } else { 1.0 };
        Sample {
            speed: Some(Speed::Dynamic(Pascal((sign * dynamic + of_pitot) as f32))),
            te_pressure: Some(te_pressure),
            ..Sample::of_static(time, static_pressure)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Asked, Flight};
    use super::*;
    use chirrup_core::atmosphere::pressure_altitude;

    fn heights(sensed: Sensed, seed: u64, count: usize) -> Vec<f64> {
        let mut flight = Flight::new(500.0, seed);
        flight.step(&Asked::default());
        let true_height = flight.glider().height_m();
        let height = |flight: &mut Flight| {
            f64::from(pressure_altitude(flight.sample(&sensed).static_pressure).0)
        };
        (0..count).map(|_| height(&mut flight) - true_height).collect()
    }

    #[test]
    fn the_noise_is_as_strong_as_said_and_the_seed_repeats_it() {
        let sensed = Sensed { noise_m: 0.2, fault: Fault::None };
        let found = heights(sensed, 7, 20_000);
        let rms = (found.iter().map(|height| height * height).sum::<f64>() / 20_000.0).sqrt();
        // 20 000 samples know a standard deviation to 0.5 %; held to four times that.
        assert!((rms / 0.2 - 1.0).abs() < 0.02, "{rms} m");
        assert_eq!(heights(sensed, 7, 100), found[..100]);
        assert_ne!(heights(sensed, 8, 100), found[..100]);
    }

    #[test]
    fn a_frozen_sensor_says_one_thing_and_a_dead_one_nothing_of_use() {
        let frozen = heights(Sensed { fault: Fault::Frozen, ..Sensed::default() }, 1, 50);
        assert!(frozen.iter().all(|height| *height == frozen[0]));
        let mut flight = Flight::new(500.0, 1);
        let dead = flight.sample(&Sensed { fault: Fault::Dead, ..Sensed::default() });
        assert_eq!(dead.static_pressure, Pascal(0.0));
    }
}
