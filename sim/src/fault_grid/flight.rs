//! A glider that sinks steadily in still air, as its sensors see it.

use chirrup_core::{Micros, Pascal, Sample, Speed};
use chirrup_flight::physics::atmosphere::Atmosphere;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// The truth, of height and of energy: m/s.
pub const TRUE_CLIMB_MPS: f64 = -0.7;
/// Where it begins, and its true airspeed.
const FROM_M: f64 = 1_200.0;
const SPEED_MPS: f64 = 28.0;
/// Noise of the static pressure, as height, and of the impact pressure.
const STATIC_NOISE_M: f64 = 0.1;
const DYNAMIC_NOISE_PA: f64 = 1.0;

/// What the instrument takes its energy from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Static pressure alone: the reading is the rate of height.
    Static,
    /// Static and impact pressure.
    Airspeed,
}

/// Samples of `seconds` in still air, `1 / interval_s` a second, with the noise of `seed`.
pub fn still_air(source: Source, interval_s: f64, seconds: f64, seed: u64) -> Vec<Sample> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let atmosphere = Atmosphere::STANDARD;
    let count = (seconds / interval_s).ceil() as i64;
    (0..count)
        .map(|place| {
            let time_s = place as f64 * interval_s;
            let height_m = FROM_M + TRUE_CLIMB_MPS * time_s;
            let air = atmosphere.at(height_m);
            let measured = atmosphere.at(height_m + STATIC_NOISE_M * normal());
            let time = Micros((time_s * 1e6).round() as i64);
            let mut sample = Sample::of_static(time, Pascal(measured.pressure_pa as f32));
            if source == Source::Airspeed {
                let impact = air.impact_pressure_pa(SPEED_MPS) + DYNAMIC_NOISE_PA * normal();
                sample.speed = Some(Speed::Dynamic(Pascal(impact as f32)));
            }
            sample
        })
        .collect()
}
