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

/// The meaning of counts, in the steps of the instrument's means times 2^26, so that no
/// division by a power of ten is needed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    /// Steps in one count of specific force.
    pub force: u32,
    /// Steps in one count of turn rate.
    pub turn: u32,
}

impl Scale {
    /// For counts of so many 1e-10 m/s2 and 1e-11 rad/s, both below 64 steps.
    pub const fn new(force_e10_mps2: u64, turn_e11_radps: u64) -> Self {
        // A step is 1e-4 m/s2 or 1e-5 rad/s.
        const fn times_2_26(millionths: u64) -> u32 {
            (((millionths << 26) + 500_000) / 1_000_000) as u32
        }
        Self { force: times_2_26(force_e10_mps2), turn: times_2_26(turn_e11_radps) }
    }
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
