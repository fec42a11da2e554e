//! What the two pressure sensors of the circling glider give, with their noise.

use super::day::Day;
use crate::physics::atmosphere::{GRAVITY_MPS2, StillAir};
use crate::sensors::Noise;

/// The sensors.
pub(super) struct Pressures {
    static_noise: Noise,
    pitot_noise: Noise,
}

impl Pressures {
    /// With the noise of a trial's seed, from these streams of random numbers.
    pub(super) fn of_streams(seed: u64, streams: [u64; 2]) -> Self {
        let [static_noise, pitot_noise] = streams.map(|stream| Noise::new(seed, stream));
        Self { static_noise, pitot_noise }
    }

    /// Those of a trial.
    pub(super) fn new(seed: u64) -> Self {
        Self::of_streams(seed, [8, 9])
    }

    /// Static pressure and pitot less static pressure, Pa, at rest in `still` at a speed through
    /// the air, gust included.
    pub(super) fn read(&mut self, day: Day, still: StillAir, speed_mps: f64) -> [f64; 2] {
        let pa_a_metre = still.density_kgpm3 * GRAVITY_MPS2;
        let static_noise = day.static_noise_m * pa_a_metre * self.static_noise.normal();
        let pitot_noise = day.pitot_noise_pa * self.pitot_noise.normal();
        [still.pressure_pa + static_noise, still.impact_pressure_pa(speed_mps) + pitot_noise]
    }
}
