//! An inertial sensor and a satellite receiver in the circling glider: those of [`crate::sensors`],
//! fed with its motion between two samples.

use super::body::Posture;
use crate::physics::atmosphere::StillAir;
use crate::physics::attitude::Attitude;
use crate::physics::moment::Moment;
use crate::physics::motion::TICK_S;
use crate::physics::vector::Vector;
use crate::sensors::inertial_settings::{GnssSettings, InertialSettings};
use crate::sensors::settings::SensorSettings;
use crate::sensors::{Felt, OverGround, Sensors};

/// How it is mounted: 1.5 degrees askew.
const MOUNTED_DEG: [f64; 3] = [1.0, -1.0, 0.5];
/// Its random numbers are those of other seeds than a trial's.
const OTHER_SEEDS: u64 = 2_000_000;

/// The settings of both: of the common grade, with a velocity over the ground 5 times a second.
pub(super) fn settings(step_s: f64) -> SensorSettings {
    SensorSettings {
        rate_hz: 1.0 / step_s,
        dynamic: None,
        inertial: Some(InertialSettings { mounted_deg: MOUNTED_DEG, ..Default::default() }),
        gnss: Some(GnssSettings::default()),
        ..SensorSettings::default()
    }
}

/// The sensors.
pub(super) struct MotionSensors<'a> {
    sensors: Sensors<'a>,
    ticks: usize,
    before: Option<Posture>,
}

impl<'a> MotionSensors<'a> {
    /// The sensors of the trial of a seed, with [`settings`].
    pub(super) fn new(settings: &'a SensorSettings, seed: u64) -> Self {
        let sensors = Sensors::new(settings, &[], seed + OTHER_SEEDS);
        Self { sensors, ticks: 0, before: None }
    }

    /// What they have for the sample of now, `step_s` after the one before; the motion between the
    /// two is taken for even.
    pub(super) fn read(
        &mut self,
        step_s: f64,
        now: Posture,
        still: StillAir,
    ) -> (Option<Felt>, Option<OverGround>) {
        let Some(before) = self.before.replace(now) else {
            return self.take(&now, still);
        };
        let ticks = libm::round(step_s / TICK_S) as usize;
        let mut found = (None, None);
        for tick in 1..=ticks {
            let between = between(&before, &now, tick as f64 / ticks as f64);
            let (felt, over_ground) = self.take(&between, still);
            found = (felt.or(found.0), over_ground.or(found.1));
        }
        found
    }

    fn take(&mut self, posture: &Posture, still: StillAir) -> (Option<Felt>, Option<OverGround>) {
        let moment = Moment {
            time_s: self.ticks as f64 * TICK_S,
            place: Vector::default(),
            velocity: posture.velocity,
            air: Vector::default(),
            wind: Vector::default(),
            airspeed_mps: posture.velocity.length(),
            still,
            attitude: posture.attitude,
            load_factor: 1.0,
            phase: "",
        };
        self.ticks += 1;
        let sensed = self.sensors.take(&moment);
        sensed.map_or((None, None), |sensed| (sensed.felt, sensed.over_ground))
    }
}

fn between(before: &Posture, now: &Posture, share: f64) -> Posture {
    let mean = |from: Vector, to: Vector| from + (to - from) * share;
    Posture {
        velocity: mean(before.velocity, now.velocity),
        attitude: Attitude::along(
            mean(before.attitude.forward, now.attitude.forward),
            -mean(before.attitude.down, now.attitude.down),
        ),
    }
}
