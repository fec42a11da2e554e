//! What comes out: the inertial reading of a sample, and whether it is trusted.

use crate::units::MetrePerSecond;

/// Whether the inertial reading is trusted, and if not, why not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Trust {
    /// Not yet: it has just begun, or the glider neither stands nor flies.
    #[default]
    Settling,
    /// It is trusted.
    Trusted,
    /// There is no sensor any more, or it, or one of its axes, repeats one value as no working
    /// sensor does.
    Lost,
    /// The sensor is shaken too much.
    Shaken,
    /// The force is beyond the sensor's range.
    Clipped,
    /// The glider turns too quickly.
    Spinning,
    /// It contradicts the pressures.
    Contradicts,
    /// The sensor is turned against its set mounting.
    Turned,
    /// A turn rate is reversed, or on another axis.
    TurnReversed,
    /// The forward force is reversed, or on another axis; or the whole force turned over in flight.
    ForceReversed,
}

impl Trust {
    /// Every one.
    pub const ALL: [Trust; 10] = [
        Trust::Settling,
        Trust::Trusted,
        Trust::Lost,
        Trust::Shaken,
        Trust::Clipped,
        Trust::Spinning,
        Trust::Contradicts,
        Trust::Turned,
        Trust::TurnReversed,
        Trust::ForceReversed,
    ];

    /// A one-word name for tables and logs.
    pub fn name(self) -> &'static str {
        match self {
            Trust::Settling => "settling",
            Trust::Trusted => "trusted",
            Trust::Lost => "lost",
            Trust::Shaken => "shaken",
            Trust::Clipped => "clipped",
            Trust::Spinning => "spinning",
            Trust::Contradicts => "contradicts",
            Trust::Turned => "turned",
            Trust::TurnReversed => "turn_reversed",
            Trust::ForceReversed => "force_reversed",
        }
    }

    /// Whether something is wrong.
    pub fn is_fault(self) -> bool {
        !matches!(self, Trust::Settling | Trust::Trusted)
    }
}

/// What the filter found out about the sensor, which it allows for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Remark {
    /// The gyro's gain is wrong by more than 8 %.
    GyroGain,
    /// The accelerometer is off by more than 0.6 m/s2: a wrong gain, or a wrong gain of one axis of
    /// the gyro.
    ForceGain,
}

impl Remark {
    /// A one-word name for tables and logs.
    pub fn name(self) -> &'static str {
        match self {
            Remark::GyroGain => "gyro_gain",
            Remark::ForceGain => "force_gain",
        }
    }
}

/// What the inertial sensor says of one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aided {
    /// Its reading; `None` before it has begun and while it is lost.
    pub felt: Option<Felt>,
    /// Whether it is trusted.
    pub trust: Trust,
    /// How much of what sounds comes from it: 0 to 1.
    pub weight: f32,
    /// What is odd about the sensor.
    pub remark: Option<Remark>,
}

/// The inertial reading.
///
/// Vertical speeds are in the metres that those of [`Values`](crate::Values) are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Felt {
    /// Compensated climb: the rate of the glider's energy for its weight, through the mean air.
    pub climb: MetrePerSecond,
    /// The filter's estimate of the standard deviation of the climb's error.
    pub deviation: MetrePerSecond,
    /// Vertical speed, not compensated.
    pub vertical_speed: MetrePerSecond,
    /// Specific force along the lift, in g: 1 in straight flight.
    pub load_factor: f32,
    /// Bank in radians, right wing down positive.
    pub bank: f32,
}

impl Aided {
    /// The same in other metres.
    pub(crate) fn scaled(self, scale: f32) -> Self {
        let scaled = |speed: MetrePerSecond| MetrePerSecond(scale * speed.0);
        let felt = self.felt.map(|felt| Felt {
            climb: scaled(felt.climb),
            deviation: scaled(felt.deviation),
            vertical_speed: scaled(felt.vertical_speed),
            ..felt
        });
        Self { felt, ..self }
    }

    /// The load factor as far as it is trusted; 1 otherwise.
    pub(crate) fn load_factor(&self) -> f32 {
        self.felt.map_or(1.0, |felt| 1.0 + self.weight * (felt.load_factor - 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    #[test]
    fn every_state_of_trust_has_a_name_of_its_own_and_two_of_them_are_no_fault() {
        let mut names: Vec<_> = Trust::ALL.iter().map(|trust| trust.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Trust::ALL.len());
        assert_eq!(Trust::ALL.iter().filter(|trust| !trust.is_fault()).count(), 2);
    }
}
