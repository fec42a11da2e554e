//! Which sensors an instrument under test has.

use chirrup_core::Sample;

/// Which sensors an instrument has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum With {
    /// Static pressure and pitot.
    Pressures,
    /// An inertial sensor as well.
    Inertial,
    /// That and a satellite receiver.
    Satellites,
}

impl With {
    /// What it has of a sample.
    pub fn sees(self, sample: &Sample) -> Sample {
        let inertial = sample.inertial.filter(|_| self != With::Pressures);
        let ground_velocity = sample.ground_velocity.filter(|_| self == With::Satellites);
        Sample { inertial, ground_velocity, ..*sample }
    }
}
