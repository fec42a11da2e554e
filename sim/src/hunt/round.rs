//! A round: the glider circles in hidden air, the instrument sounds, the pupil sets the bank.
//!
//! ```text
//! Waiting --begin--> Listening (10 s) --> Counting (180 s) --> Over
//! ```

use super::start::{ROUNDS, air_seed};
use super::track::{KEPT_STEPS, Point, Track};
use crate::session::Shown;
use crate::session::control::Controls;
use crate::session::show::shown;
use chirrup_core::{Micros, Pascal, Pipeline, PipelineState, Reading, Sample, Speed, TICK, Voice};
use chirrup_flight::centring::thermal::Thermal;
use chirrup_flight::centring::{BestCircle, Day, LEAD_STEPS, MEASURED_STEPS, STEP_US, Steered};

/// Ticks of the sound from one sample to the next.
const TICKS: u32 = (STEP_US / TICK.0) as u32;
/// Greatest bank, degrees.
pub const STEEPEST_DEG: f64 = 60.0;

/// Where a round is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Nothing moves and nothing sounds.
    Waiting,
    /// The instrument settles; the climb does not count yet.
    Listening,
    /// The three minutes.
    Counting,
    /// The round is over: nothing moves and nothing sounds.
    Over,
}

/// A round.
pub struct Round {
    seed: u32,
    number: u32,
    thermal: Thermal,
    best: BestCircle,
    steered: Steered,
    pipeline: Pipeline,
    volume: f64,
    state: PipelineState,
    reading: Option<Reading>,
    wanted_rad: f64,
    phase: Phase,
    step: i64,
    ticks: u32,
    track: Track,
}

impl Round {
    /// Round `number`, 1 to [`ROUNDS`], in the air of this seed; others become the nearest. The
    /// number changes nothing that is heard.
    pub fn new(seed: u32, number: u32) -> Self {
        let number = number.clamp(1, ROUNDS);
        Self::in_air(seed, number, air_seed(seed))
    }

    /// The same, where [`air_seed`] has been found already.
    pub(super) fn in_air(seed: u32, number: u32, air: u64) -> Self {
        let thermal = Thermal::of_seed(air);
        let steered = Steered::new(air, Day::SMOOTH);
        let controls = Controls::default();
        Self {
            seed,
            number,
            best: BestCircle::of(&thermal),
            thermal,
            wanted_rad: steered.aloft().circle_rad(),
            steered,
            pipeline: crate::session::pipeline(&controls),
            volume: controls.volume,
            state: PipelineState::default(),
            reading: None,
            phase: Phase::Waiting,
            step: 0,
            ticks: 0,
            track: Track::default(),
        }
    }

    /// Begins to fly; does nothing a second time.
    pub fn begin(&mut self) {
        if self.phase == Phase::Waiting {
            self.phase = Phase::Listening;
        }
    }

    /// Sets the bank wanted, degrees, positive to the right; beyond [`STEEPEST_DEG`] it becomes
    /// that, and a value that is no number changes nothing.
    pub fn set_bank_deg(&mut self, bank_deg: f64) {
        if !bank_deg.is_nan() {
            self.wanted_rad = bank_deg.clamp(-STEEPEST_DEG, STEEPEST_DEG).to_radians();
        }
    }

    /// The same in rad.
    #[cfg(test)]
    pub(super) fn set_bank_rad(&mut self, bank_rad: f64) {
        let steepest = STEEPEST_DEG.to_radians();
        self.wanted_rad = bank_rad.clamp(-steepest, steepest);
    }

    /// Sets the instrument's volume, 0 to 10; the round does not depend on it.
    pub fn set_volume(&mut self, volume: f64) {
        if volume != self.volume {
            self.volume = volume;
            self.pipeline = crate::session::pipeline(&Controls { volume, ..Controls::default() });
        }
    }

    /// Goes on by one tick of the sound, and returns what sounds in it.
    pub fn tick(&mut self) -> Voice {
        if matches!(self.phase, Phase::Waiting | Phase::Over) {
            return Voice::default();
        }
        if self.ticks == TICKS {
            self.ticks = 0;
            self.fly();
            if self.phase == Phase::Over {
                return Voice::default();
            }
        }
        if self.ticks == 0 {
            self.measure();
        }
        self.ticks += 1;
        self.pipeline.tick(&mut self.state)
    }

    /// Whether the sound of a sample has ended: the next tick flies on with the bank wanted now.
    #[cfg(test)]
    pub(super) fn is_step_done(&self) -> bool {
        self.ticks == TICKS
    }

    fn measure(&mut self) {
        let moment = self.steered.moment();
        let sample = Sample {
            speed: Some(Speed::Dynamic(Pascal(moment.dynamic_pa as f32))),
            ..Sample::of_static(Micros(moment.time_us), Pascal(moment.static_pa as f32))
        };
        self.reading = Some(self.pipeline.step(&mut self.state, &sample));
    }

    fn fly(&mut self) {
        self.steered.advance(self.wanted_rad);
        self.step += 1;
        if self.step % KEPT_STEPS == 0 && self.step >= LEAD_STEPS {
            self.track.keep(self.point());
        }
        self.phase = match self.step - LEAD_STEPS {
            ..0 => Phase::Listening,
            MEASURED_STEPS.. => Phase::Over,
            _ => Phase::Counting,
        };
    }

    /// The glider now.
    pub fn point(&self) -> Point {
        let aloft = self.steered.aloft();
        let seen = aloft.seen();
        Point {
            time_s: self.time_s(),
            east_m: seen.place_m.0,
            north_m: seen.place_m.1,
            heading_rad: aloft.heading_rad(),
            bank_rad: aloft.bank_rad(),
            energy_m: aloft.energy_m(),
            climb_mps: aloft.climb_mps(),
            core_east_m: seen.middle_m.0,
            core_north_m: seen.middle_m.1,
        }
    }

    /// Seconds that have counted; below zero while they do not yet.
    pub fn time_s(&self) -> f64 {
        (self.step - LEAD_STEPS) as f64 * STEP_US as f64 * 1e-6
    }

    /// What the instrument shows and sounds.
    pub fn shown(&self) -> Shown {
        let voice = self.state.voice();
        self.reading.as_ref().map_or_else(Shown::default, |reading| shown(reading, voice))
    }

    /// Where it is.
    pub fn phase(&self) -> Phase {
        self.phase
    }

    /// Bank wanted, degrees.
    pub fn wanted_deg(&self) -> f64 {
        self.wanted_rad.to_degrees()
    }

    /// The seed of the game.
    pub fn seed(&self) -> u32 {
        self.seed
    }

    /// Its number, from 1.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// The thermal.
    pub fn thermal(&self) -> &Thermal {
        &self.thermal
    }

    /// Its best circle.
    pub fn best(&self) -> &BestCircle {
        &self.best
    }

    /// The flight since the climb counts.
    pub fn track(&self) -> &Track {
        &self.track
    }
}
