//! What was read of an inertial sensor at once, and what its counts mean.

use super::sums::Sums;
use crate::sensor::Measured;
use chirrup_core::Micros;

/// What was read of one sensor at once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Batch {
    /// When it was read.
    pub time: Micros,
    /// Accelerometers, in counts.
    pub force: Sums,
    /// Gyros, in counts.
    pub turn: Sums,
    /// What a count means.
    pub scale: Scale,
    /// The last reading's counts, mixed: a working sensor changes them.
    pub last: u32,
    /// Temperature of the sensor in 0.01 degrees Celsius.
    pub temperature_centicelsius: i32,
    /// What the sensor's own test gave when it was found.
    pub self_test: SelfTest,
}

/// The meaning of counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    /// One count of specific force, in 1e-10 m/s2.
    pub force_e10_mps2: u32,
    /// One count of turn rate, in 1e-11 rad/s.
    pub turn_e11_radps: u32,
}

/// The result of a sensor's own test: it deflects its parts by a known force, and the readings must
/// follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SelfTest {
    /// Every axis answered within its limits.
    Passed,
    /// An axis did not: it is broken, or it was moved during the test.
    Outside,
}

impl Measured for Batch {
    fn time(&self) -> Micros {
        self.time
    }

    fn counts(&self) -> u32 {
        self.last
    }
}
