//! What an inertial sensor and a satellite receiver add to a sample.

use crate::units::{Axes, MetrePerSecond, MetrePerSecond2, Micros, RadianPerSecond};

/// What a 6-axis inertial sensor measured since the sample before.
///
/// Body axes: x forward, y right, z down. The specific force is what the sensor feels: at rest,
/// level, it is (0, 0, -9.81). Turn rates are right-handed about the same axes: right wing down,
/// nose up and nose right are positive.
///
/// An instrument reads its sensor many times between two samples and hands on the means, and with
/// them how rough it was: the filter trusts a shaken or clipped sensor less.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inertial {
    /// Mean specific force since the sample before.
    pub specific_force: Axes<MetrePerSecond2>,
    /// Mean turn rate since the sample before.
    pub turn_rate: Axes<RadianPerSecond>,
    /// What was averaged, where the sensor was read more than once.
    pub spread: Option<Spread>,
}

/// How the single readings lay about their means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The largest magnitude that a single axis of the specific force reached.
    pub largest_force: MetrePerSecond2,
    /// Root of the summed variances of the three axes of the specific force.
    pub force_deviation: MetrePerSecond2,
    /// The largest magnitude that a single axis of the turn rate reached.
    pub largest_turn: RadianPerSecond,
    /// Root of the summed variances of the three axes of the turn rate.
    pub turn_deviation: RadianPerSecond,
}

/// Velocity over the ground, from a satellite receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroundVelocity {
    /// Toward true north.
    pub north: MetrePerSecond,
    /// Toward the east.
    pub east: MetrePerSecond,
    /// Downward.
    pub down: MetrePerSecond,
    /// How long before the sample's time it was true, as far as that is known: what the receiver
    /// and the line take. 0 where it is not known; the filter learns what is missing.
    pub age: Micros,
}

/// No usable sensor reads more (16 g, about the range of common ones), and no part of a glider
/// stands more.
const USABLE_FORCE_MPS2: f32 = 200.0;
/// 2000 degrees a second, the range of common sensors.
const USABLE_TURN_RADPS: f32 = 35.0;
/// As for airspeeds, and the wind.
const USABLE_GROUND_SPEED_MPS: f32 = 250.0;

/// Three axes together have at most this times the deviation of one: the root of 3, rounded up.
const THREE_AXES: f32 = 1.733;

impl Inertial {
    /// Whether every number is one, and possible.
    pub fn is_usable(&self) -> bool {
        let force = self.specific_force.as_array().map(|axis| axis.0);
        let turn = self.turn_rate.as_array().map(|axis| axis.0);
        let within = |limit: f32| move |value: &f32| value.abs() <= limit;
        force.iter().all(within(USABLE_FORCE_MPS2))
            && turn.iter().all(within(USABLE_TURN_RADPS))
            && self.spread.is_none_or(|spread| spread.is_usable())
    }
}

impl Spread {
    /// Whether every number is one, and possible.
    fn is_usable(&self) -> bool {
        let is_within = |value: f32, limit: f32| (0.0..=limit).contains(&value);
        is_within(self.largest_force.0, USABLE_FORCE_MPS2)
            && is_within(self.force_deviation.0, THREE_AXES * USABLE_FORCE_MPS2)
            && is_within(self.largest_turn.0, USABLE_TURN_RADPS)
            && is_within(self.turn_deviation.0, THREE_AXES * USABLE_TURN_RADPS)
    }
}

impl GroundVelocity {
    /// Whether every number is one, and possible.
    pub fn is_usable(&self) -> bool {
        [self.north, self.east, self.down]
            .iter()
            .all(|speed| speed.0.abs() <= USABLE_GROUND_SPEED_MPS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_that_no_sensor_gives_are_not_usable() {
        let at_rest = Inertial {
            specific_force: Axes { z: MetrePerSecond2(-9.81), ..Axes::default() },
            turn_rate: Axes::default(),
            spread: None,
        };
        assert!(at_rest.is_usable());
        for impossible in [f32::NAN, f32::INFINITY, 1e6] {
            let mut inertial = at_rest;
            inertial.specific_force.y = MetrePerSecond2(impossible);
            assert!(!inertial.is_usable());
            let mut inertial = at_rest;
            inertial.turn_rate.x = RadianPerSecond(impossible);
            assert!(!inertial.is_usable());
        }
    }

    #[test]
    fn a_spread_that_no_sensor_has_makes_the_whole_not_usable() {
        let usable = |[largest_force, force_deviation, largest_turn, turn_deviation]: [f32; 4]| {
            let spread = Spread {
                largest_force: MetrePerSecond2(largest_force),
                force_deviation: MetrePerSecond2(force_deviation),
                largest_turn: RadianPerSecond(largest_turn),
                turn_deviation: RadianPerSecond(turn_deviation),
            };
            let (specific_force, turn_rate) = (Axes::default(), Axes::default());
            Inertial { specific_force, turn_rate, spread: Some(spread) }.is_usable()
        };
        let usual = [12.0, 0.5, 0.3, 0.02];
        assert!(usable(usual));
        for place in 0..4 {
            for impossible in [f32::NAN, f32::INFINITY, -1.0, 1e6] {
                let mut spread = usual;
                spread[place] = impossible;
                assert!(!usable(spread), "{spread:?}");
            }
        }
    }

    #[test]
    fn a_velocity_over_the_ground_that_no_glider_flies_is_not_usable() {
        let [north, east, down] = [30.0, -20.0, 1.0].map(MetrePerSecond);
        let flown = GroundVelocity { north, east, down, age: Micros(0) };
        assert!(flown.is_usable());
        assert!(!GroundVelocity { down: MetrePerSecond(f32::NAN), ..flown }.is_usable());
        assert!(!GroundVelocity { north: MetrePerSecond(9000.0), ..flown }.is_usable());
    }
}
