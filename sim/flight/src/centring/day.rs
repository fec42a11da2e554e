//! The air of a trial.

/// How rough the air is, and how noisy the sensors are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day {
    /// Vertical turbulence, m/s rms, 0 to 3: real lift and sink of the glider.
    pub turbulence_mps: f64,
    /// Horizontal gusts along the flight, m/s rms, 0 to 3: they change the airspeed and give the
    /// glider nothing.
    pub gusts_mps: f64,
    /// Noise of the static sensor as height, m rms.
    pub static_noise_m: f64,
    /// Noise of the pitot sensor, Pa rms.
    pub pitot_noise_pa: f64,
}

/// Turbulence and gusts of the smooth day (guesses: an ordinary quiet afternoon).
const TURBULENCE_MPS: f64 = 0.5;
const GUSTS_MPS: f64 = 0.3;

impl Day {
    /// A quiet day, with sensors of 0.1 m and 1 Pa of noise.
    pub const SMOOTH: Day = Day {
        turbulence_mps: TURBULENCE_MPS,
        gusts_mps: GUSTS_MPS,
        static_noise_m: 0.1,
        pitot_noise_pa: 1.0,
    };
    /// Turbulence and gusts twice as strong.
    pub const ROUGH: Day =
        Day { turbulence_mps: 2.0 * TURBULENCE_MPS, gusts_mps: 2.0 * GUSTS_MPS, ..Day::SMOOTH };
    /// Gusts three times as strong.
    pub const GUSTY: Day = Day { gusts_mps: 3.0 * GUSTS_MPS, ..Day::SMOOTH };
}
