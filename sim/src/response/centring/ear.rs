//! The two ears: one hears the instrument, the other a perfect tone.

use super::listener::Listener;
use crate::response::with::With;
use crate::sensed::{ground_velocity, inertial};
use chirrup_core::stages::{Heard, SounderState};
use chirrup_core::{
    MetrePerSecond, Micros, Pascal, Pipeline, PipelineState, Sample, Speed, TICK, ToneSettings,
};
use chirrup_flight::centring::{Ear, Moment, STEP_US};

const TICKS: i64 = STEP_US / TICK.0;

/// Hears an instrument that has some of the sensors.
pub(super) struct Instrument<'a> {
    pipeline: &'a Pipeline,
    with: With,
    state: PipelineState,
    listener: Listener,
}

impl<'a> Instrument<'a> {
    pub(super) fn new(pipeline: &'a Pipeline, tone: &ToneSettings, with: With) -> Self {
        Self { pipeline, with, state: PipelineState::default(), listener: Listener::new(tone) }
    }
}

impl Ear for Instrument<'_> {
    fn hear(&mut self, moment: &Moment) -> Option<f64> {
        let sample = Sample {
            speed: Some(Speed::Dynamic(Pascal(moment.dynamic_pa as f32))),
            inertial: moment.felt.as_ref().map(inertial),
            ground_velocity: moment.over_ground.as_ref().map(ground_velocity),
            ..Sample::of_static(Micros(moment.time_us), Pascal(moment.static_pa as f32))
        };
        self.pipeline.step(&mut self.state, &self.with.sees(&sample));
        (0..TICKS).for_each(|_| self.listener.listen(self.pipeline.tick(&mut self.state)));
        self.listener.climb_mps()
    }
}

/// Hears the true climb through the same tone.
pub(super) struct Perfect<'a> {
    pipeline: &'a Pipeline,
    state: SounderState,
    listener: Listener,
}

impl<'a> Perfect<'a> {
    pub(super) fn new(pipeline: &'a Pipeline, tone: &ToneSettings) -> Self {
        Self { pipeline, state: SounderState::default(), listener: Listener::new(tone) }
    }
}

impl Ear for Perfect<'_> {
    fn hear(&mut self, moment: &Moment) -> Option<f64> {
        let sounder = self.pipeline.sounder();
        let climb = MetrePerSecond(moment.climb_mps as f32);
        sounder.read(&mut self.state, Heard { climb, ..Heard::default() });
        (0..TICKS).for_each(|_| self.listener.listen(sounder.tick(&mut self.state, false)));
        self.listener.climb_mps()
    }
}
