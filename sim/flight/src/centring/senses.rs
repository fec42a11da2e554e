//! What all sensors of the circling glider give at a moment.

use super::body::Body;
use super::circler::Circler;
use super::day::Day;
use super::ear::{Moment, STEP_S, STEP_US};
use super::motion_sensors::MotionSensors;
use super::pressures::Pressures;
use crate::physics::atmosphere::Atmosphere;

/// The sensors.
pub(super) struct Senses<'a> {
    pub(super) day: Day,
    pub(super) pressures: Pressures,
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
        let [static_pa, dynamic_pa] = self.pressures.read(self.day, still, speed_mps + gust_mps);
        Moment {
            time_us: step * STEP_US,
            static_pa,
            dynamic_pa,
            felt,
            over_ground,
            climb_mps: circler.climb_mps,
        }
    }
}
