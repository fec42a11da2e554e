//! The sensors at the end of the lines: delay, warm-up, noise and steps.

use super::noise::Noise;
use super::settings::{ChannelSettings, ThermometerSettings};
use super::tube::lagged;
use crate::physics::motion::TICK_S;
use std::collections::VecDeque;

const USUAL_WARM_UP_S: f64 = 300.0;

/// A pressure sensor.
pub(super) struct Sensor<'a> {
    settings: &'a ChannelSettings,
    /// The last pressures, newest first, as far back as the delay.
    past: VecDeque<f64>,
    noise: Noise,
}

impl<'a> Sensor<'a> {
    pub fn new(settings: &'a ChannelSettings, noise: Noise) -> Self {
        Self { settings, past: VecDeque::new(), noise }
    }

    pub fn take(&mut self, pressure_pa: f64) {
        let kept = (self.settings.delay_s / TICK_S) as usize + 2;
        self.past.truncate(kept - 1);
        self.past.push_front(pressure_pa);
        while self.past.len() < kept {
            self.past.push_back(pressure_pa);
        }
    }

    pub fn read(&mut self, time_s: f64) -> f64 {
        let ChannelSettings { noise_pa, step_pa, warm_up_pa, warm_up_s, delay_s, .. } =
            *self.settings;
        let ticks = delay_s / TICK_S;
        let (whole, part) = (ticks as usize, ticks - libm::floor(ticks));
        let mut value = self.past[whole] + part * (self.past[whole + 1] - self.past[whole]);
        if warm_up_pa != 0.0 {
            value += warm_up_pa * libm::exp(-time_s / warm_up_s.unwrap_or(USUAL_WARM_UP_S));
        }
        if noise_pa > 0.0 {
            value += noise_pa * self.noise.normal();
        }
        if step_pa > 0.0 { step_pa * libm::round(value / step_pa) } else { value }
    }
}

/// A thermometer.
pub(super) struct Thermometer<'a> {
    settings: &'a ThermometerSettings,
    state: Option<(f64, f64)>,
    noise: Noise,
}

impl<'a> Thermometer<'a> {
    pub fn new(settings: &'a ThermometerSettings, noise: Noise) -> Self {
        Self { settings, state: None, noise }
    }

    pub fn take(&mut self, air_c: f64) {
        let (before, inside) = self.state.unwrap_or((air_c, air_c));
        self.state = Some((air_c, lagged(before, air_c, inside, self.settings.lag_s)));
    }

    pub fn read(&mut self) -> f64 {
        let normal = if self.settings.noise_k > 0.0 { self.noise.normal() } else { 0.0 };
        self.state.map_or(0.0, |(_, inside)| inside)
            + self.settings.error_k
            + self.settings.noise_k * normal
    }
}
