//! What the filter may be wrong by: one number a state, in the order of its matrix.

use super::vector::Vector;

/// How many states there are.
pub(crate) const STATES: usize = 19;
/// Of them, those whose errors move with the flight: height, velocity, attitude and gust.
pub(crate) const MOVED: usize = 8;
/// Those that move them: themselves, and the sensor's biases and gain.
pub(crate) const MOVERS: usize = 15;
/// The place of the gyro's gain.
pub(crate) const GAIN: usize = MOVERS - 1;
/// Those that matter without a satellite receiver: all but wind and delay.
pub(crate) const WITHOUT_GROUND: usize = 16;

/// An error of each state, or how a measurement feels each of them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Errors {
    /// Of the height, m.
    pub(crate) height: f32,
    /// Of the velocity through the mean air, along body axes, m/s.
    pub(crate) velocity: Vector,
    /// Of the attitude: the small turn about body axes that would set it right, rad.
    pub(crate) tilt: Vector,
    /// Of the gyro's bias, rad/s.
    pub(crate) gyro: Vector,
    /// Of the accelerometer's bias, m/s2.
    pub(crate) accel: Vector,
    /// Of the gust along the flight path, positive with a tailwind, m/s.
    pub(crate) gust: f32,
    /// Of the angle by which the sensor is turned against the glider, nose right, rad.
    pub(crate) slip: f32,
    /// Of the mean wind toward north and east, m/s.
    pub(crate) wind: [f32; 2],
    /// Of the gyro's gain, as a share of what it reads.
    pub(crate) gain: f32,
    /// Of the satellite receiver's delay beyond what it says, s.
    pub(crate) delay: f32,
}

impl Errors {
    /// In the order of the matrix: first the [`MOVED`], then the other [`MOVERS`].
    pub(crate) fn to_array(self) -> [f32; STATES] {
        let ([v1, v2, v3], [t1, t2, t3]) = (self.velocity, self.tilt);
        let ([g1, g2, g3], [a1, a2, a3]) = (self.gyro, self.accel);
        let ([w1, w2], h, u, k) = (self.wind, self.height, self.gust, self.gain);
        let (s, d) = (self.slip, self.delay);
        [h, v1, v2, v3, t1, t2, t3, u, g1, g2, g3, a1, a2, a3, k, s, w1, w2, d]
    }

    pub(crate) fn from_array(array: [f32; STATES]) -> Self {
        let [height, v1, v2, v3, t1, t2, t3, gust, more @ ..] = array;
        let [g1, g2, g3, a1, a2, a3, gain, slip, w1, w2, delay] = more;
        Self {
            height,
            velocity: [v1, v2, v3],
            tilt: [t1, t2, t3],
            gyro: [g1, g2, g3],
            accel: [a1, a2, a3],
            gust,
            slip,
            wind: [w1, w2],
            gain,
            delay,
        }
    }
}
