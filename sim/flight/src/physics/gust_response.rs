//! How the glider answers gusts: at once by its wing and its side, then by its nose.
//!
//! ```text
//! wing   L = L_held (V / V_felt)^2 + L_a (d_l / V + e)       within what the wing can carry
//! nose   a  = (d_l - s) / V + e                              change of the angle of attack
//!        s' = L_a a + L_held ((V / V_felt)^2 - 1)            heave that the gust has caused
//!        e'' = -w^2 a - 2 z w e' - h^2 e                     short period; the pilot holds h
//! side   b = d_c / V - y                                     sideslip
//!        Y = c L_a b        y'' = w_y^2 b - 2 z_y w_y y'     weathercock
//! felt   f' = (gust - f) / 3 s                               what the pilot notices of it
//! ```
//!
//! d = gust - f is the part of the gust that the pilot does not notice yet, d_l along the lift and
//! d_c across it; V is the true airspeed, V_felt the one without d; L_a is the lift per radian of
//! angle of attack, per mass. What is missing in the wing's line, -s / V, is in the held lift: the
//! pilot's path returns with the time constant of the heave. The pilot holds speed and path
//! against f only, so that he chases gusts slowly. In air without gusts nothing here acts.
//!
//! The equations are those of any text on flight mechanics, about a steady flight; every number is
//! a guess at a slender sailplane. Both periods go with the speed: a length of way each.

use super::atmosphere::GRAVITY_MPS2;
use super::glider::Glider;
use super::motion::{Held, Motion, TICK_S};
use super::vector::Vector;
use std::f64::consts::TAU;

/// Time constant with which the pilot notices a gust, s.
const FELT_S: f64 = 3.0;
/// Way through the air of one short period, m, and its damping.
const SHORT_PERIOD_M: f64 = 40.0;
const SHORT_DAMPING: f64 = 0.6;
/// How hard the pilot holds the nose where it was, rad/s.
const HOLD_RPS: f64 = 2.5;
/// The same for the weathercock.
const WEATHERCOCK_M: f64 = 85.0;
const WEATHERCOCK_DAMPING: f64 = 0.3;
/// Side force of a sideslip in units of the lift of the same angle of attack.
const SIDE: f64 = 0.08;

/// A nose that deviates by an angle, rad, at a rate, rad/s.
#[derive(Clone, Copy, Debug, Default)]
struct Nose {
    angle_rad: f64,
    rate_rps: f64,
}

impl Nose {
    fn advance(&mut self, acceleration: f64) {
        self.rate_rps += acceleration * TICK_S;
        self.angle_rad += self.rate_rps * TICK_S;
    }
}

/// The glider's answer to gusts, and what the pilot has noticed of them.
#[derive(Clone, Copy, Debug, Default)]
pub struct GustResponse {
    felt: Vector,
    heave_mps: f64,
    pitch: Nose,
    yaw: Nose,
}

/// Where the glider is and what moves it, for a tick.
#[derive(Clone, Copy, Debug)]
pub struct InGust<'a> {
    /// The glider.
    pub glider: &'a Glider,
    /// Its motion.
    pub motion: &'a Motion,
    /// Its motion through the air, the gust included, m/s.
    pub through_air: Vector,
    /// Ratio of true to equivalent airspeeds.
    pub speed_ratio: f64,
    /// The gust: what the air's motion has beyond its smooth part, m/s.
    pub gust: Vector,
}

impl GustResponse {
    /// The part of the gust that the pilot has noticed, m/s.
    pub fn felt(&self) -> Vector {
        self.felt
    }

    /// How far the gusts have turned the nose up from the path through the air that the pilot has
    /// noticed, and to the right of it, rad, at a true airspeed in m/s.
    pub fn nose_rad(&self, speed_mps: f64) -> [f64; 2] {
        [self.pitch.angle_rad - self.heave_mps / speed_mps.max(5.0), -self.yaw.angle_rad]
    }

    /// The pilot's inputs for a tick with the glider's answer to the gust.
    pub fn answer(&mut self, held: &Held, at: &InGust<'_>) -> Held {
        let InGust { glider, motion, through_air, speed_ratio, gust } = *at;
        let sudden = gust - self.felt;
        self.felt += sudden * (TICK_S / FELT_S);
        let speed = through_air.length().max(5.0);
        let felt_squared = (through_air + sudden).dot(through_air + sudden).max(25.0);
        let more = held.lift_mps2 * (speed * speed / felt_squared - 1.0);
        let carried = GRAVITY_MPS2 * glider.stall_load_factor(through_air.length() / speed_ratio);
        let per_radian = glider.lift_per_radian_mps2(speed / speed_ratio);
        let ahead = through_air.unit_or(Vector::on_course(0.0));

        let angle = sudden.dot(motion.lift) / speed + self.pitch.angle_rad;
        let change = angle - self.heave_mps / speed;
        let frequency = TAU * speed / SHORT_PERIOD_M;
        let lift_mps2 = (held.lift_mps2 + more + per_radian * angle).clamp(-carried, carried);
        self.heave_mps += (per_radian * change + more) * TICK_S;
        self.pitch.advance(
            -frequency * frequency * change
                - 2.0 * SHORT_DAMPING * frequency * self.pitch.rate_rps
                - HOLD_RPS * HOLD_RPS * self.pitch.angle_rad,
        );

        let sideslip = sudden.dot(ahead.cross(motion.lift)) / speed - self.yaw.angle_rad;
        let frequency = TAU * speed / WEATHERCOCK_M;
        let side_mps2 = SIDE * per_radian * sideslip;
        self.yaw.advance(
            frequency * frequency * sideslip
                - 2.0 * WEATHERCOCK_DAMPING * frequency * self.yaw.rate_rps,
        );
        Held { lift_mps2, side_mps2, ..*held }
    }
}
