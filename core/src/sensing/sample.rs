//! One sample: what the instrument or the recording has measured at one time.

use crate::sensing::inertial::{GroundVelocity, Inertial};
use crate::units::{Kelvin, MetrePerSecond, Micros, Pascal};

/// One sample. Absent values are `None`; 0.0 or NaN never stand for absent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// When it was taken, on the sampling clock (any origin).
    pub time: Micros,
    /// Static pressure; usable from 5 000 to 115 000 Pa. Absent where the barometer has measured
    /// nothing new, in a stream whose sensors have clocks of their own.
    pub static_pressure: Option<Pascal>,
    /// Airspeed, in the form in which it was measured or recorded.
    pub speed: Option<Speed>,
    /// Pressure in the line of a total-energy probe; usable from 5 000 to 115 000 Pa.
    pub te_pressure: Option<Pascal>,
    /// Outside air temperature; usable from 183 to 333 K. Where absent, the standard atmosphere is
    /// assumed.
    pub outside_air: Option<Kelvin>,
    /// Specific force and turn rate since the sample before.
    pub inertial: Option<Inertial>,
    /// Velocity over the ground.
    pub ground_velocity: Option<GroundVelocity>,
}

/// Airspeed, in the form in which it was measured or recorded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Speed {
    /// Impact pressure, pitot minus static. May be slightly negative from noise.
    Dynamic(Pascal),
    /// Calibrated airspeed, which a good airspeed indicator shows.
    Calibrated(MetrePerSecond),
    /// True airspeed.
    True(MetrePerSecond),
}

/// Static and probe pressures outside this range are impossible (about -1080 m to 20 600 m).
pub(crate) const USABLE_PRESSURE_PA: core::ops::RangeInclusive<f32> = 5_000.0..=115_000.0;
/// No glider flies faster than this (common practice, no source; never-exceed speeds are about half
/// of it).
const USABLE_SPEED_MPS: core::ops::RangeInclusive<f32> = 0.0..=150.0;
/// The impact pressure at about 150 m/s, and the same below zero, which swapped tubes give.
const USABLE_DYNAMIC_PA: core::ops::RangeInclusive<f32> = -15_000.0..=15_000.0;
/// Air temperatures outside -90 to +60 degrees Celsius mean a broken sensor.
const USABLE_AIR_K: core::ops::RangeInclusive<f32> = 183.0..=333.0;

impl Sample {
    /// A sample with a static pressure and nothing else.
    pub fn of_static(time: Micros, static_pressure: Pascal) -> Self {
        Self {
            time,
            static_pressure: Some(static_pressure),
            speed: None,
            te_pressure: None,
            outside_air: None,
            inertial: None,
            ground_velocity: None,
        }
    }

    /// Whether it has nothing but its time.
    pub fn is_empty(&self) -> bool {
        self.static_pressure.is_none()
            && self.speed.is_none()
            && self.te_pressure.is_none()
            && self.outside_air.is_none()
            && self.inertial.is_none()
            && self.ground_velocity.is_none()
    }

    /// Whether there is a static pressure, a number and within the range of the atmosphere.
    pub fn has_usable_pressure(&self) -> bool {
        self.usable_static_pressure().is_some()
    }

    /// The static pressure, unless absent, not a number or outside the range of the atmosphere.
    pub fn usable_static_pressure(&self) -> Option<Pascal> {
        self.static_pressure.filter(|pressure| USABLE_PRESSURE_PA.contains(&pressure.0))
    }

    /// The speed, unless absent, not a number or impossible.
    pub fn usable_speed(&self) -> Option<Speed> {
        self.speed.filter(|speed| match speed {
            Speed::Dynamic(pressure) => USABLE_DYNAMIC_PA.contains(&pressure.0),
            Speed::Calibrated(speed) | Speed::True(speed) => USABLE_SPEED_MPS.contains(&speed.0),
        })
    }

    /// The probe's pressure, unless absent, not a number or outside the range of the atmosphere.
    pub fn usable_te_pressure(&self) -> Option<Pascal> {
        self.te_pressure.filter(|pressure| USABLE_PRESSURE_PA.contains(&pressure.0))
    }

    /// What the inertial sensor measured, unless absent, not a number or impossible.
    pub fn usable_inertial(&self) -> Option<&Inertial> {
        self.inertial.as_ref().filter(|inertial| inertial.is_usable())
    }

    /// The velocity over the ground, unless absent, not a number or impossible.
    pub fn usable_ground_velocity(&self) -> Option<&GroundVelocity> {
        self.ground_velocity.as_ref().filter(|velocity| velocity.is_usable())
    }

    /// The outside air temperature, unless absent, not a number or impossible.
    pub fn usable_outside_air(&self) -> Option<Kelvin> {
        self.outside_air.filter(|temperature| USABLE_AIR_K.contains(&temperature.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn impossible_values_count_as_absent() {
        let mut sample = Sample::of_static(Micros(0), Pascal(f32::NAN));
        assert!(!sample.has_usable_pressure());
        sample.static_pressure = Some(Pascal(0.0));
        assert!(!sample.has_usable_pressure());
        sample.speed = Some(Speed::True(MetrePerSecond(f32::INFINITY)));
        sample.te_pressure = Some(Pascal(-1.0));
        sample.outside_air = Some(Kelvin(0.0));
        assert_eq!(sample.usable_speed(), None);
        assert_eq!(sample.usable_te_pressure(), None);
        assert_eq!(sample.usable_outside_air(), None);
    }

    #[test]
    fn a_slightly_negative_dynamic_pressure_is_valid() {
        let speed = Some(Speed::Dynamic(Pascal(-3.0)));
        let sample = Sample { speed, ..Sample::of_static(Micros(0), Pascal(101_325.0)) };
        assert!(sample.has_usable_pressure());
        assert_eq!(sample.usable_speed(), speed);
    }
}
