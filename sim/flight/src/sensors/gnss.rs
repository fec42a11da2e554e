//! A satellite receiver: its velocity over the ground, with noise, some tenths of a second late.

use super::inertial_settings::GnssSettings;
use super::noise::Noise;
use crate::physics::moment::Moment;
use crate::physics::motion::TICK_S;
use std::collections::VecDeque;

/// A velocity over the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverGround {
    /// Towards north, east and down, m/s.
    pub north_east_down_mps: [f64; 3],
    /// How long ago it was so, s, where the receiver says that.
    pub age_s: Option<f64>,
}

/// The receiver.
pub(super) struct Gnss<'a> {
    settings: &'a GnssSettings,
    noise: Noise,
    fixes: u64,
    /// When, and the velocity then.
    late: VecDeque<(f64, [f64; 3])>,
}

impl<'a> Gnss<'a> {
    pub fn new(settings: &'a GnssSettings, seed: u64) -> Self {
        Self { settings, noise: Noise::new(seed, 11), fixes: 0, late: VecDeque::new() }
    }

    /// Takes the moment of a tick.
    pub fn take(&mut self, moment: &Moment<'_>) {
        if moment.time_s + 0.5 * TICK_S <= self.fixes as f64 / self.settings.rate_hz {
            return;
        }
        self.fixes += 1;
        let velocity = moment.velocity;
        let noisy = [velocity.north, velocity.east, -velocity.up]
            .map(|speed| speed + self.settings.noise_mps * self.noise.normal());
        self.late.push_back((moment.time_s, noisy));
    }

    /// The velocity that has arrived since the last call, the newest of several.
    pub fn read(&mut self, time_s: f64) -> Option<OverGround> {
        let arrived = time_s + 0.5 * TICK_S - self.settings.delay_s;
        let mut newest = None;
        while self.late.front().is_some_and(|(at_s, _)| *at_s <= arrived) {
            newest = self.late.pop_front();
        }
        let (at_s, north_east_down_mps) = newest?;
        let age_s = self.settings.says_age.then_some(time_s - at_s);
        Some(OverGround { north_east_down_mps, age_s })
    }
}
