//! The glider's body axes, and how they turn.
//!
//! ```text
//! forward, right, down     the body axes; (0, 0, -g) is what an accelerometer reads at rest, level
//! nose   = path through the air that the pilot has noticed, turned towards the lift by
//!          the angle of attack of the lift that the pilot holds, L_held / L_a,
//!          and by the glider's own answer to gusts (super::gust_response)
//! turn   = the rotation vector from one attitude to the next, in body axes
//! ```
//!
//! The motion of the point mass does not depend on any of this; only inertial sensors do. When the
//! wheel leaves or touches the ground, the attitude follows the new one within a second, without a
//! jump (time constants are guesses).

use super::motion::TICK_S;
use super::vector::Vector;

/// Time constant with which the attitude follows after the wheel has left or touched the ground,
/// and the one with which that ends, s.
const SETTLES_S: f64 = 0.3;
const SETTLED_S: f64 = 0.5;
/// Shorter time constants are none.
const NONE_S: f64 = 1e-4;

/// Body axes, each of length 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attitude {
    /// To the nose.
    pub forward: Vector,
    /// To the right wing.
    pub right: Vector,
    /// Through the floor.
    pub down: Vector,
}

impl Attitude {
    /// Forward along `ahead`, the floor away from `lift`.
    pub fn along(ahead: Vector, lift: Vector) -> Self {
        let forward = ahead.unit_or(Vector::on_course(0.0));
        let up = lift.without(forward).unit_or(Vector::UP.without(forward).unit_or(forward));
        Self { forward, right: forward.cross(up), down: -up }
    }

    /// The nose up by an angle, rad.
    #[must_use]
    pub fn pitched(self, up_rad: f64) -> Self {
        let (sin, cos) = (libm::sin(up_rad), libm::cos(up_rad));
        Self {
            forward: self.forward * cos - self.down * sin,
            down: self.down * cos + self.forward * sin,
            ..self
        }
    }

    /// The nose right by an angle, rad.
    #[must_use]
    pub fn yawed(self, right_rad: f64) -> Self {
        let (sin, cos) = (libm::sin(right_rad), libm::cos(right_rad));
        Self {
            forward: self.forward * cos + self.right * sin,
            right: self.right * cos - self.forward * sin,
            ..self
        }
    }

    /// The right wing down by an angle, rad.
    #[must_use]
    pub fn rolled(self, right_rad: f64) -> Self {
        let (sin, cos) = (libm::sin(right_rad), libm::cos(right_rad));
        Self {
            right: self.right * cos + self.down * sin,
            down: self.down * cos - self.right * sin,
            ..self
        }
    }

    /// A vector of the ground's frame in body axes.
    pub fn to_body(&self, vector: Vector) -> [f64; 3] {
        [self.forward, self.right, self.down].map(|axis| axis.dot(vector))
    }

    /// A vector in body axes in the frame of the ground.
    pub fn from_body(&self, [forward, right, down]: [f64; 3]) -> Vector {
        self.forward * forward + self.right * right + self.down * down
    }

    /// The rotation from this attitude to `next`, less than a quarter turn away, as a vector in
    /// body axes, rad: right wing down, nose up, nose right.
    pub fn turn_to(&self, next: &Attitude) -> [f64; 3] {
        let sines = [
            self.down.dot(next.right) - self.right.dot(next.down),
            self.forward.dot(next.down) - self.down.dot(next.forward),
            self.right.dot(next.forward) - self.forward.dot(next.right),
        ]
        .map(|sum| 0.5 * sum);
        let sine = sines.iter().map(|sine| sine * sine).sum::<f64>().sqrt().min(1.0);
        let longer = if sine > 1e-9 { libm::asin(sine) / sine } else { 1.0 };
        sines.map(|sine| longer * sine)
    }

    /// Bank, positive to the right, rad.
    pub fn roll_rad(&self) -> f64 {
        libm::atan2(-self.right.up, -self.down.up)
    }

    /// Nose above the horizon, rad.
    pub fn pitch_rad(&self) -> f64 {
        libm::asin(self.forward.up.clamp(-1.0, 1.0))
    }

    /// The attitude a share of the way to `next`.
    fn nearer(self, next: &Attitude, share: f64) -> Self {
        let forward = self.forward + (next.forward - self.forward) * share;
        let down = self.down + (next.down - self.down) * share;
        Self::along(forward, -down)
    }
}

/// The attitude as it is flown, without jumps where the wheel leaves or touches the ground.
#[derive(Clone, Copy, Debug)]
pub struct Posture {
    attitude: Attitude,
    is_on_ground: bool,
    /// Time constant with which it follows.
    settles_s: f64,
}

impl Posture {
    /// At rest in `attitude`.
    pub fn new(attitude: Attitude, is_on_ground: bool) -> Self {
        Self { attitude, is_on_ground, settles_s: 0.0 }
    }

    /// Where the nose points now.
    pub fn attitude(&self) -> Attitude {
        self.attitude
    }

    /// Follows `wanted` for a tick.
    pub fn follow(&mut self, wanted: &Attitude, is_on_ground: bool) {
        if is_on_ground != self.is_on_ground {
            (self.is_on_ground, self.settles_s) = (is_on_ground, SETTLES_S);
        }
        self.settles_s *= 1.0 - TICK_S / SETTLED_S;
        let share =
            if self.settles_s < NONE_S { 1.0 } else { 1.0 - libm::exp(-TICK_S / self.settles_s) };
        self.attitude = if share < 1.0 { self.attitude.nearer(wanted, share) } else { *wanted };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const NORTH: Vector = Vector { east: 0.0, north: 1.0, up: 0.0 };

    #[test]
    fn the_signs_are_those_of_a_pilot() {
        let level = Attitude::along(NORTH, Vector::UP);
        assert_eq!(level.right, Vector { east: 1.0, north: 0.0, up: 0.0 });
        assert_eq!(level.down, -Vector::UP);
        assert_relative_eq!(level.pitched(0.1).pitch_rad(), 0.1, max_relative = 1e-12);
        assert!(level.yawed(0.1).forward.east > 0.0);
        // A lift that leans to the east banks to the right.
        let banked = Attitude::along(NORTH, Vector { east: 0.5, north: 0.0, up: 0.75_f64.sqrt() });
        assert_relative_eq!(banked.roll_rad().to_degrees(), 30.0, max_relative = 1e-9);
        for (next, turn) in [
            (banked, [std::f64::consts::FRAC_PI_6, 0.0, 0.0]),
            (level.pitched(0.2), [0.0, 0.2, 0.0]),
            (level.yawed(0.3), [0.0, 0.0, 0.3]),
        ] {
            let found = level.turn_to(&next);
            (0..3).for_each(|axis| assert_relative_eq!(found[axis], turn[axis], epsilon = 1e-9));
        }
    }

    #[test]
    fn a_vector_comes_back_from_body_axes() {
        let attitude = Attitude::along(NORTH, Vector::UP).pitched(0.3).yawed(-0.7);
        let vector = Vector { east: 1.0, north: -2.0, up: 3.0 };
        let back = attitude.from_body(attitude.to_body(vector));
        assert!((back - vector).length() < 1e-12);
    }

    #[test]
    fn leaving_the_ground_is_no_jump() {
        let level = Attitude::along(NORTH, Vector::UP);
        let flying = level.pitched(0.15);
        let mut posture = Posture::new(level, true);
        let mut before = level;
        for _ in 0..1000 {
            posture.follow(&flying, false);
            let turn = before.turn_to(&posture.attitude());
            assert!(turn[1].abs() / TICK_S < 1.0, "{turn:?}");
            before = posture.attitude();
        }
        assert_eq!(posture.attitude(), flying);
    }
}
