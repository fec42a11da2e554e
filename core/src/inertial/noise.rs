//! What the filter takes for noise: every figure of it in one place.

/// Every figure of the filter's noise. Where no source stands, it is a guess that was tried on
/// simulated flights and real recordings; none of them needs to be exact to better than a factor
/// of two (docs/src/inertial.md).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// White noise of the specific force over a second, m/s2. Sensors of three dollars have
    /// 0.001 to 0.003 (from memory of their data sheets); the rest is their error of scale and what
    /// the glider's structure does.
    pub force: f32,
    /// Of every change of the force from rest, so much is wrong: scale and cross-axis errors of
    /// 0.5 to 1 % are usual (from memory of data sheets).
    pub force_scale: f32,
    /// Of the roughness of the force from sample to sample, so much is white noise over a second.
    pub rough: f32,
    /// White noise of the turn rate over a second, rad/s.
    pub turn: f32,
    /// Of every turn rate, so much is wrong.
    pub turn_scale: f32,
    /// How the accelerometer's bias wanders in a second, m/s2: with temperature.
    pub accel_walk: f32,
    /// How the gyro's bias wanders in a second, rad/s: with temperature.
    pub gyro_walk: f32,
    /// Deviation of a gust along the flight path, m/s.
    pub gust: f32,
    /// How long a gust is, m: 150 m near the ground and more higher up (MIL-F-8785C, from memory).
    pub gust_length: f32,
    /// Deviation of the static height as a multiple of its measured noise.
    pub height: f32,
    /// Deviation of the airspeed, m/s.
    pub airspeed: f32,
    /// Deviation of the side slip, rad.
    pub slip: f32,
    /// How long a slip lasts, s.
    pub slip_lasts: f32,
    /// How the mounting's angle wanders in a second, rad.
    pub slip_walk: f32,
    /// Deviation of the gyro's gain.
    pub gain: f32,
    /// Deviation of the velocity over the ground, m/s.
    pub ground: f32,
    /// How the wind wanders in a second, m/s.
    pub wind_walk: f32,
    /// The most deviations that a surprise counts.
    pub most: f32,
}

impl Noise {
    /// The figures in use.
    pub const USUAL: Self = Self {
        force: 0.05,
        force_scale: 0.005,
        rough: 0.1,
        turn: 0.001,
        turn_scale: 0.005,
        accel_walk: 0.003,
        gyro_walk: 1.0e-4,
        gust: 1.2,
        gust_length: 150.0,
        height: 1.5,
        airspeed: 0.3,
        slip: 0.05,
        slip_lasts: 1.0,
        slip_walk: 0.001,
        gain: 0.03,
        ground: 0.3,
        wind_walk: 0.05,
        most: 3.0,
    };
}
