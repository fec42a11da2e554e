//! The sensors of the hand-flown flight: static pressure, impact pressure and a total-energy probe
//! of coefficient -1, without lag and with white noise.

use super::craft::Craft;
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::sensors::{Noise, Ports, Sensed};

/// The sensors, with their noise.
#[derive(Clone, Debug)]
pub struct Sensing {
    noise: Noise,
}

impl Sensing {
    /// Sensors with the noise of random seed `seed`.
    pub fn new(seed: u64) -> Self {
        Self { noise: Noise::new(seed, 0) }
    }

    /// Their values at `stamp_us`.
    pub fn sense(&mut self, noise_m: f64, craft: &Craft, stamp_us: i64) -> Sensed {
        let still = craft.still();
        let ports = Ports::at(still, craft.speed_mps(), 0.0, -1.0);
        let noise_pa = noise_m * still.density_kgpm3 * GRAVITY_MPS2;
        let mut noisy = |pressure_pa: f64| pressure_pa + noise_pa * self.noise.normal();
        Sensed {
            stamp_us,
            static_pa: noisy(ports.static_pa),
            dynamic_pa: Some(noisy(ports.pitot_pa - ports.static_pa)),
            te_pa: Some(noisy(ports.probe_pa)),
            oat_c: None,
            felt: None,
            over_ground: None,
            fix: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Flight;

    /// Repeated static pressures of one moment of a flight.
    fn pressures(noise_m: f64, seed: u64, count: usize) -> Vec<f64> {
        let mut flight = Flight::new(500.0, seed);
        (0..count).map(|_| flight.sense(noise_m).static_pa).collect()
    }

    #[test]
    fn the_noise_is_as_strong_as_said_and_the_seed_repeats_it() {
        let found = pressures(0.2, 7, 20_000);
        let mean = found.iter().sum::<f64>() / 20_000.0;
        let variance = found.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / 20_000.0;
        // 500 m up in the standard atmosphere: 95 461 Pa, and 1.1673 kg/m3 (ICAO Doc 7488/3), so
        // that 0.2 m is 2.289 Pa. 20 000 samples give a standard deviation to 0.5 %; the bound is
        // four times that.
        assert!((mean - 95_461.0).abs() < 1.0, "{mean} Pa");
        assert!((variance.sqrt() / 2.289 - 1.0).abs() < 0.02, "{} Pa", variance.sqrt());
        assert_eq!(pressures(0.2, 7, 100), found[..100]);
        assert_ne!(pressures(0.2, 8, 100), found[..100]);
    }

    #[test]
    fn the_pitot_and_the_probe_feel_the_airspeed() {
        // 27 m/s equivalent: 0.5 x 1.225 x 27^2 is 446.5 Pa, and 0.16 % more in a pitot, since
        // air is compressible.
        let sensed = Flight::new(1000.0, 1).sense(0.0);
        let dynamic = sensed.dynamic_pa.expect("it has a pitot");
        assert!((dynamic - 446.5 * 1.0016).abs() < 0.3, "{dynamic} Pa");
        let suction = sensed.static_pa - sensed.te_pa.expect("it has a probe");
        assert!((suction - 446.5).abs() < 0.1, "{suction} Pa");
    }
}
