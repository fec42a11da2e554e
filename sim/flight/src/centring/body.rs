//! How the circling glider moves and points, for the sensors that feel it.
//!
//! The glider of [`super::circler`] is a point: it has a speed, a bank, a heading and a climb. What
//! an inertial sensor in it would feel is worked out from that motion alone, `f = dv/dt - g` and
//! the turn of the body axes, so that force, turn rate, pressures and true climb belong together:
//!
//! ```text
//! heave  s' = L 2 d / V - s / t     along the lift: what a level gust does to the wing
//! z'     = s cos bank               height that it gains, paid for in speed
//! speed  |v|^2 = V^2 - 2 g z        so that the rate of z + h + |v|^2 / 2g is the climb
//! v      up: h' + z';  towards the middle: tan bank (heave of the rising air + z');  ahead: rest
//! nose   along the path through the air that the pilot has noticed, up by L / L_a
//! felt   f' = (gust - f) / 3 s      what the pilot notices of a gust or of a change of the rise
//! ```
//!
//! d = gust - f, L = g / cos bank, t the time constant of the heave, L_a the lift per radian. What
//! is sudden moves the glider along its lift, so that no wing feels a force from the side; what
//! lasts moves it straight up. A level gust gives no energy, as in the whole of this model. The
//! nose does not nod or swing in gusts: both would turn the sensor and its gravity alike.

use super::circler::Circler;
use crate::physics::atmosphere::GRAVITY_MPS2;
use crate::physics::attitude::Attitude;
use crate::physics::vector::Vector;

/// Time constant with which the pilot notices a gust, s: that of `physics::gust_response`.
const FELT_S: f64 = 3.0;

/// How it moves and points at a moment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Posture {
    /// Velocity relative to the mean air, m/s.
    pub(super) velocity: Vector,
    /// The body axes.
    pub(super) attitude: Attitude,
}

/// The glider's body.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Body {
    /// Parts of the gust and of the heave that the pilot has noticed, m/s.
    felt_gust_mps: f64,
    felt_heave_mps: Option<f64>,
    /// Heave along the lift by level gusts, m/s.
    heave_mps: f64,
    /// Height gained by that, m.
    risen_m: f64,
}

impl Body {
    /// Height that the level gusts have given and taken, m.
    pub(super) fn risen_m(&self) -> f64 {
        self.risen_m
    }

    /// Speed relative to the mean air, m/s.
    pub(super) fn speed_mps(&self, circler: &Circler) -> f64 {
        let speed = circler.speed_mps();
        (speed * speed - 2.0 * GRAVITY_MPS2 * self.risen_m).sqrt()
    }

    /// Moves on by a step to where the glider is now, in a level gust from ahead.
    pub(super) fn advance(&mut self, step_s: f64, circler: &Circler, gust_mps: f64) -> Posture {
        let (speed, bank) = (circler.speed_mps(), circler.bank_rad);
        let sudden = gust_mps - self.felt_gust_mps;
        self.felt_gust_mps += sudden * (step_s / FELT_S);
        let lift = GRAVITY_MPS2 / libm::cos(bank);
        let heave_s = circler.heave_s();
        self.heave_mps += (lift * 2.0 * sudden / speed - self.heave_mps / heave_s) * step_s;
        let rises_mps = self.heave_mps * libm::cos(bank);
        self.risen_m += rises_mps * step_s;
        let felt_heave = self.felt_heave_mps.get_or_insert(circler.heaved_mps);
        *felt_heave += (circler.heaved_mps - *felt_heave) * (step_s / FELT_S);
        let sudden_mps = circler.heaved_mps - *felt_heave + rises_mps;
        Posture {
            velocity: self.velocity(circler, rises_mps, libm::tan(bank) * sudden_mps),
            attitude: attitude(circler),
        }
    }

    fn velocity(&self, circler: &Circler, rises_mps: f64, inward_mps: f64) -> Vector {
        let up = circler.rises_mps() + rises_mps;
        let speed = self.speed_mps(circler);
        let ahead_mps = (speed * speed - up * up - inward_mps * inward_mps).max(0.0).sqrt();
        let ahead = Vector::on_course(circler.heading_rad);
        ahead * ahead_mps + ahead.cross(Vector::UP) * inward_mps + Vector::UP * up
    }
}

/// The axes of a glider that flies its circle in air that rises steadily.
fn attitude(circler: &Circler) -> Attitude {
    let (speed, bank) = (circler.speed_mps(), circler.bank_rad);
    let through_air_mps = circler.rises_mps() - circler.heaved_mps;
    let ahead = Vector::on_course(circler.heading_rad) + Vector::UP * (through_air_mps / speed);
    let angle_of_attack = GRAVITY_MPS2 / libm::cos(bank) * circler.heave_s() / speed;
    Attitude::along(ahead, Vector::UP).rolled(bank).pitched(angle_of_attack)
}
