//! What the sensors of the circling glider give at a moment.

use super::body::Body;
use super::circler::Circler;
use super::day::Day;
use super::ear::{Moment, STEP_S, STEP_US};
use super::motion_sensors::MotionSensors;
use crate::physics::atmosphere::{Atmosphere, GRAVITY_MPS2};
use crate::sensors::Noise;

/// The sensors.
pub(super) struct Senses<'a> {
    pub(super) day: Day,
    pub(super) static_noise: Noise,
    pub(super) pitot_noise: Noise,
    /// An inertial sensor and a satellite receiver, and how the glider that they sit in moves.
    pub(super) motion: Option<(Body, MotionSensors<'a>)>,
}

impl Senses<'_> {
    /// What they give at a step, in a level gust from ahead.
    pub(super) fn moment(&mut self, step: i64, circler: &Circler, gust_mps: f64) -> Moment {
        let (mut still, mut speed_mps) = (circler.still, circler.speed_mps());
        let (mut felt, mut over_ground) = (None, None);
        if let Some((body, sensors)) = &mut self.motion {
            let posture = body.advance(STEP_S, circler, gust_mps);
            still = Atmosphere::STANDARD.at(circler.height_m() + body.risen_m());
            speed_mps = body.speed_mps(circler);
            (felt, over_ground) = sensors.read(STEP_S, posture, still);
        }
        let pa_a_metre = still.density_kgpm3 * GRAVITY_MPS2;
        let static_noise = self.day.static_noise_m * pa_a_metre * self.static_noise.normal();
        let pitot_noise = self.day.pitot_noise_pa * self.pitot_noise.normal();
        Moment {
            time_us: step * STEP_US,
            static_pa: still.pressure_pa + static_noise,
            dynamic_pa: still.impact_pressure_pa(speed_mps + gust_mps) + pitot_noise,
            felt,
            over_ground,
            climb_mps: circler.climb_mps,
        }
    }
}
