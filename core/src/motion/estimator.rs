//! Height samples to vertical speed: what a glider cannot have flown is kept out of it, and the
//! rest goes through the filter chosen in the settings.
//!
//! ```text
//! height, less steps -> suspicion -> pair of filters -> vertical speed (adaptive)
//!              ^            |             ^  |
//!              |          a step          |  +-> fixed filter -> vertical speed (fixed)
//!              +------------+             |
//!          meters of noise and gusts: what to expect; bursts: back to before
//! ```
//!
//! **The pair** of [`crate::motion::models`] watches the heights under both settings: one filter
//! for steady air and one for changing air, of a height that may itself wander, as a horizontal
//! gust makes the energy height wander. How much, [`crate::motion::gusts`] measures as it flies,
//! and [`crate::motion::outlook`] turns it into what the filters expect: in gusty air more evidence
//! is asked for before a change counts as climb, less again while the glider circles in lift.
//!
//! **Adaptive**: the reading is the pair's. **Fixed**: it is that of one filter of constant delay,
//! [`crate::motion::fixed`].
//!
//! **Suspicion** ([`crate::motion::suspicion`]): a height whose error is larger than noise, gusts
//! and flight can explain is held back. If the next ones do not agree with it, it was a spike and
//! is discarded. If they do, either the height has stepped as no glider flies, and the step is
//! taken off this height and all later ones; or the vertical speed has changed, and the pair
//! follows. In a slow stream a wrong height may be too near to be suspect: a believed surprise is
//! taken back if the next height returns.
//!
//! **Bursts** ([`crate::motion::bursts`]): bends of the energy height that no glider flies.
//!
//! Figures without a source were found by measuring on simulated flights in gusts, bursts and
//! steps, and on real recordings (docs/src/rough-air.md).

use crate::error::SettingsError;
use crate::motion::bursts::BurstState;
use crate::motion::fixed::FixedState;
use crate::motion::gusts::{Believed, GustState};
use crate::motion::models::{Expected, Forecast, ModelsState};
use crate::motion::noise::NoiseState;
use crate::motion::outlook::Outlook;
use crate::motion::suspicion::{SLOW_S, STEPS_OF_ENERGY, STEPS_OF_LAUNCH, Suspicion, Verdict};
use crate::rows::{Group, Kind};
use crate::units::{Metre, MetrePerSecond, Micros, larger, smaller};

/// The height states are kept relative to a whole number of metres no further away than this,
/// because an `f32` near 5000 m has steps of 0.5 mm, as much as a weak climb gains between two
/// samples.
pub(crate) const ORIGIN_REACH_M: f32 = 64.0;
/// Time steps are limited to this range: from a microsecond to more than the interval of any flight
/// log.
const SHORTEST_STEP_S: f32 = 1.0e-6;
const LONGEST_STEP_S: f32 = 600.0;
/// An error above this many standard deviations is suspect, and is held back until the next sample
/// confirms it. Noise alone reaches it once in a thousand samples, which does no harm.
const SUSPECT_DEVIATIONS: f32 = 3.2;
const SUSPECT_ALTITUDE_DEVIATIONS: f32 = 4.0;
/// The error must also exceed what this acceleration gives within the time step: six g are more
/// than aerobatics (common practice, no source).
const POSSIBLE_MPS2: f32 = 60.0;
/// In a slow stream it must exceed this speed times the time step.
const SLOW_MPS: f32 = 4.0;
/// The fixed filter takes smaller steps as they come, like any linear filter.
const FIXED_LEAST_M: f32 = 2.0;
/// A confirmed change came this long ago, or half the time since the last believed height.
const SURPRISE_S: f32 = 0.1;
/// The start ends after this time once the reading's standard deviation is below this or near its
/// steady value, and after the longer time in any case, since in a winch launch the deviation may
/// not come down.
const START_S: f32 = 1.5;
const LONGEST_START_S: f32 = 2.5;
const FEWEST_SAMPLES: u16 = 5;
const SETTLED_MPS: f32 = 0.07;
const NEAR: f32 = 1.2;
const START_AFRESH_M: f32 = 20.0;
/// A step of e metres lets the height walk by this times e squared over the time, for a while:
/// where one sensor jumped, more may come. Without total energy it may have been a winch.
const FELT: f32 = 0.25;
const FELT_ALTITUDE: f32 = 0.002;
/// While a step is held back, a glider changes its speed by no more than this times the time.
const FLOWN_MPS2: f32 = 1.5;
/// No glider climbs or sinks faster: such heights were those of a broken sensor, from which the
/// pair would take minutes to come back, and the next height is a new start.
const FASTEST_MPS: f32 = 150.0;
/// A step of this size is taken off the heights that averages and climbs see.
const CLEAR_STEP_M: f32 = 5.0;
/// In a slow stream, a believed error beyond this many deviations may be taken back.
const SURPRISING_DEVIATIONS: f32 = 2.0;
/// The adaptive filter is slightly overconfident, since it models only two kinds of air: without
/// this factor, over twenty minutes of thermals and still air, the error would be up to 1.4 times
/// the stated deviation (tests/trust.rs).
const MODESTY: f32 = 1.25;

setting_words! {
    /// Which filter makes the vertical speed.
    pub enum FilterChoice {
        Fixed = "fixed", "one filter of constant delay";
        #[default]
        Adaptive = "adaptive", "quiet in quiet air and quick at the edge of a thermal";
    }
}

setting_group! {
    /// The filter from heights to a vertical speed.
    pub struct FilterSettings = "", "The filter." {
        choice as "filter": FilterChoice = FilterChoice::Adaptive, "", FilterChoice::KIND,
            "Which filter makes the vertical speed.";
        response_s: f32 = 1.0, "s", Kind::number(0.1, 10.0),
            "How late the reading is: shorter is quicker and noisier. The fixed filter is this \
            late always, the adaptive one in still air; it is quicker at the edge of a thermal \
            and later in gusts. The default is a guess to start from: with a sensor of 0.1 m \
            noise at 50 Hz the reading then has noise of 0.014 m/s in still air.";
        noise_m: f32 = 0.0, "m", Kind::number_or_zero(0.002, 5.0),
            "Standard deviation of the measured heights; 0 lets the instrument measure it.";
    }
}

/// The filter with its settings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimator {
    filter: FilterChoice,
    response_s: f32,
    noise_m: Option<f32>,
    compensated: bool,
}

/// State of the filter.
#[derive(Clone, Copy, Debug, Default)]
pub struct EstimatorState {
    origin_m: f32,
    /// Steps taken off the measured heights, and those of them that are clearly no flight.
    stepped_m: f32,
    clear_m: f32,
    /// Last accepted height, above the origin, and the time since.
    accepted_m: f32,
    since_accepted_s: f32,
    samples: u16,
    lasted_s: f32,
    settled: bool,
    noise: NoiseState,
    gusts: GustState,
    bursts: BurstState,
    suspicion: Suspicion,
    undo: Option<Undo>,
    models: ModelsState,
    fixed: FixedState,
    fixed_m2ps2: f32,
}

/// A surprise that was believed, and that the next height may take back: the pair without it.
#[derive(Clone, Copy, Debug)]
struct Undo {
    models: ModelsState,
    error_m: f32,
}

/// The filter's answer to one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Filtered height, less `steps`.
    pub height: Metre,
    /// Vertical speed, positive upward.
    pub velocity: MetrePerSecond,
    /// The filter's estimate of the standard deviation of the error of the vertical speed.
    pub deviation: MetrePerSecond,
    /// The start is over: the reading is as steady as it will get.
    pub settled: bool,
    /// The height was held back as a likely spike, and the reading is the prediction.
    pub suspect: bool,
    /// All steps of 5 m or more that no glider flies, since the last gap. Smaller ones stay in the
    /// height: gusts step the energy height by metres, and it comes back. In a log of one sample in
    /// several seconds violent flight may count as steps, so they serve for the span of a climb and
    /// not for altitudes.
    pub steps: Metre,
}

impl Estimator {
    /// The filter of `settings`, for heights without a source of total energy.
    ///
    /// # Errors
    /// A setting out of range.
    pub fn of(settings: &FilterSettings) -> Result<Self, SettingsError> {
        settings.check_ranges()?;
        let noise_m = (settings.noise_m != 0.0).then_some(settings.noise_m);
        Ok(Self::new(settings.choice, settings.response_s, noise_m))
    }

    /// A filter whose reading lags a steadily changing vertical speed by `response_s` seconds (the
    /// adaptive one only in quiet air). The noise of the heights is measured, unless `noise_m` sets
    /// it.
    ///
    /// Useful from 0.1 to 10 s; the settings check the range. A delay too short for the sample rate
    /// becomes the shortest possible, 0.3 of a time step.
    pub fn new(filter: FilterChoice, response_s: f32, noise_m: Option<f32>) -> Self {
        Self { filter, response_s, noise_m, compensated: false }
    }

    /// The same filter for heights of total energy, which no stick can bend.
    #[must_use]
    pub fn of_energy(self) -> Self {
        Self { compensated: true, ..self }
    }

    /// How late a fixed filter of these settings is, s.
    pub(crate) fn response_s(&self) -> f32 {
        self.response_s
    }

    /// Takes the height measured `elapsed` after the one before; `elapsed` is above zero, and
    /// ignored for the first sample.
    pub fn step(&self, state: &mut EstimatorState, elapsed: Micros, measured: Metre) -> Estimate {
        self.step_energy(state, elapsed, measured, Metre(0.0))
    }

    /// Takes an energy height as [`Estimator::step`] does, of which `kinetic` comes from the
    /// airspeed; 0 where it is not known.
    pub fn step_energy(
        &self,
        state: &mut EstimatorState,
        elapsed: Micros,
        measured: Metre,
        kinetic: Metre,
    ) -> Estimate {
        let measured_m = measured.0 - state.stepped_m;
        if state.samples == 0 {
            self.start(state, measured_m);
            return self.estimate(state, false);
        }
        let dt_s = elapsed.as_seconds().clamp(SHORTEST_STEP_S, LONGEST_STEP_S);
        state.pass(dt_s);
        let height_m = measured_m - state.origin_m;
        state.noise.see_step(height_m - state.accepted_m);
        let mut suspect = self.take(state, dt_s, height_m, kinetic.0);
        if state.is_impossibly_fast() {
            self.start(state, measured_m);
            suspect = false;
        }
        state.move_origin();
        self.estimate(state, suspect)
    }

    /// Standard deviation of the measured heights, as set or as measured.
    pub(crate) fn sigma_m(&self, state: &EstimatorState) -> f32 {
        self.noise_m.unwrap_or_else(|| match state.gusts.air().slow_noise_m {
            Some(slow_m) => state.noise.at_least_rounding(slow_m),
            None => state.noise.sigma_m(),
        })
    }

    fn start(&self, state: &mut EstimatorState, measured_m: f32) {
        // What was measured of noise and gusts is kept across a gap.
        let EstimatorState { mut noise, mut gusts, stepped_m, clear_m, .. } = *state;
        gusts.interrupt();
        noise.interrupt();
        let origin_m = libm::floorf(measured_m);
        *state = EstimatorState {
            origin_m,
            stepped_m,
            clear_m,
            accepted_m: measured_m - origin_m,
            samples: 1,
            noise,
            gusts,
            fixed: FixedState::start(measured_m - origin_m),
            ..EstimatorState::default()
        };
        let sigma_m = self.sigma_m(state);
        state.models = ModelsState::start(state.accepted_m, sigma_m * sigma_m);
        state.bursts = BurstState::start(state.models);
    }

    /// Judges a height and uses it, or holds it back as suspect, which it returns.
    fn take(&self, state: &mut EstimatorState, dt_s: f32, height_m: f32, kinetic_m: f32) -> bool {
        let expected = self.outlook(state).expected(dt_s);
        let mut forecast = state.models.forecast(dt_s, &expected);
        if let Some(earlier) = state.take_back(&forecast, &expected, dt_s, height_m) {
            forecast = earlier;
        }
        let (error_m, limit_m) = self.limit(&forecast, state.settled, dt_s, height_m);
        let launch = if self.compensated { STEPS_OF_ENERGY } else { STEPS_OF_LAUNCH };
        match state.suspicion.judge(error_m, limit_m, dt_s, launch) {
            Verdict::Suspect => {
                state.models = forecast.unconfirmed();
                state.fixed.coast(dt_s);
                return true;
            }
            Verdict::Believed => {
                state.remember_surprise(&forecast, dt_s, height_m);
                state.models = forecast.correct(height_m);
                self.accept(state, dt_s, height_m, kinetic_m);
            }
            _ if !state.settled && error_m.abs() > START_AFRESH_M => {
                let measured_m = height_m + state.origin_m;
                self.start(state, measured_m);
            }
            Verdict::Faster => {
                let ago_s = larger(SURPRISE_S, 0.5 * state.since_accepted_s);
                let widened = forecast.widen(error_m, ago_s, POSSIBLE_MPS2 * ago_s);
                state.models = widened.correct(height_m);
                self.accept(state, dt_s, height_m, kinetic_m);
            }
            Verdict::Stepped { step_m } => {
                let doubt_mps = state.step_by(step_m, self.compensated);
                state.models = forecast.stepped(doubt_mps).correct(height_m - step_m);
                self.accept(state, dt_s, height_m - step_m, kinetic_m);
            }
        }
        false
    }

    fn outlook(&self, state: &EstimatorState) -> Outlook {
        Outlook {
            response_s: self.response_s,
            noise_m: self.sigma_m(state),
            coloured: self.noise_m.is_none(),
            air: *state.gusts.air(),
            burst_m2ps: state.bursts.walk_m2ps(),
            compensated: self.compensated,
        }
    }

    /// The error of `height_m`, and what it may be without being suspect.
    fn limit(&self, forecast: &Forecast, settled: bool, dt_s: f32, height_m: f32) -> (f32, f32) {
        let flown = settled && !self.compensated && dt_s < SLOW_S;
        let deviations = if flown { SUSPECT_ALTITUDE_DEVIATIONS } else { SUSPECT_DEVIATIONS };
        let ((error_m, variance_m2), possible_m) = if dt_s < SLOW_S {
            (forecast.agile_error(height_m), 0.5 * POSSIBLE_MPS2 * dt_s * dt_s)
        } else {
            (forecast.error(height_m), SLOW_MPS * dt_s)
        };
        let limit_m = deviations * libm::sqrtf(variance_m2) + possible_m;
        let least_m = if self.filter == FilterChoice::Fixed { FIXED_LEAST_M } else { 0.0 };
        (error_m, larger(limit_m, least_m))
    }

    /// Hands a believed height to the fixed filter, and to the meters of noise, gusts and bursts.
    fn accept(&self, state: &mut EstimatorState, dt_s: f32, height_m: f32, kinetic_m: f32) {
        let sigma_m = self.sigma_m(state);
        if self.filter == FilterChoice::Fixed {
            let gains = state.fixed.step(self.response_s, dt_s, height_m);
            state.fixed_m2ps2 = state.fixed.variance_m2ps2(gains, dt_s, sigma_m);
        }
        state.accept(height_m);
        let believed =
            Believed { height_m, kinetic_m, noise_m: sigma_m, compensated: self.compensated };
        let bend = state.gusts.step(dt_s, &believed);
        self.settle(state, dt_s);
        if let Some(bend) = bend
            && self.compensated
            && state.settled
        {
            state.bursts.see(&bend, &mut state.models, height_m);
        }
    }

    fn settle(&self, state: &mut EstimatorState, dt_s: f32) {
        if state.settled {
            return;
        }
        state.settled = match self.filter {
            FilterChoice::Fixed => state.fixed.settled,
            FilterChoice::Adaptive => {
                let expected = self.outlook(state).expected(dt_s);
                let steady_m2ps2 = NEAR * NEAR * expected.start_variance_m2ps2(dt_s);
                let limit_m2ps2 = larger(steady_m2ps2, SETTLED_MPS * SETTLED_MPS);
                let quiet = state.models.mixed().variance_m2ps2 <= limit_m2ps2;
                let least_s = if quiet { START_S } else { LONGEST_START_S };
                state.lasted_s >= least_s && state.samples >= FEWEST_SAMPLES
            }
        };
    }

    fn estimate(&self, state: &EstimatorState, suspect: bool) -> Estimate {
        let (height_m, velocity_mps, variance_m2ps2) = match self.filter {
            FilterChoice::Fixed => {
                (state.fixed.height_m, state.fixed.velocity_mps, state.fixed_m2ps2)
            }
            FilterChoice::Adaptive => {
                let mixed = state.models.mixed();
                (mixed.height_m, mixed.velocity_mps, MODESTY * MODESTY * mixed.variance_m2ps2)
            }
        };
        Estimate {
            height: Metre(state.origin_m + height_m + (state.stepped_m - state.clear_m)),
            velocity: MetrePerSecond(velocity_mps),
            deviation: MetrePerSecond(libm::sqrtf(variance_m2ps2)),
            settled: state.settled,
            suspect,
            steps: Metre(state.clear_m),
        }
    }
}

impl EstimatorState {
    /// Clears the heights, so that the next one is a new start; keeps the measured noise.
    pub(crate) fn restart(&mut self) {
        self.samples = 0;
        (self.stepped_m, self.clear_m) = (0.0, 0.0);
    }

    fn pass(&mut self, dt_s: f32) {
        self.samples = self.samples.saturating_add(1);
        self.since_accepted_s += dt_s;
        if !self.settled {
            self.lasted_s += dt_s;
        }
        self.bursts.pass(dt_s);
    }

    fn is_impossibly_fast(&self) -> bool {
        self.models.is_faster(FASTEST_MPS) || libm::fabsf(self.fixed.velocity_mps) > FASTEST_MPS
    }

    /// Keeps the forecast before a believed surprise in a slow stream.
    fn remember_surprise(&mut self, forecast: &Forecast, dt_s: f32, height_m: f32) {
        if dt_s < SLOW_S || !self.settled {
            return;
        }
        let (error_m, variance_m2) = forecast.error(height_m);
        if error_m * error_m > SURPRISING_DEVIATIONS * SURPRISING_DEVIATIONS * variance_m2 {
            self.undo = Some(Undo { models: forecast.unconfirmed(), error_m });
        }
    }

    /// The forecast without the last surprise, where `height_m` is back at it: in a slow stream a
    /// single wrong height may be too near to be suspect.
    fn take_back(
        &mut self,
        forecast: &Forecast,
        expected: &Expected,
        dt_s: f32,
        height_m: f32,
    ) -> Option<Forecast> {
        let undo = self.undo.take()?;
        let earlier = undo.models.forecast(dt_s, expected);
        let (earlier_m, _) = earlier.error(height_m);
        let (now_m, _) = forecast.error(height_m);
        let is_back = now_m * undo.error_m < 0.0 && earlier_m.abs() < 0.5 * now_m.abs();
        is_back.then_some(earlier)
    }

    /// Takes a step of `step_m` off the measured heights; returns how wrong the vertical speed may
    /// be after it: what a glider can have done meanwhile, but no more than the step tells.
    fn step_by(&mut self, step_m: f32, compensated: bool) -> f32 {
        let gone_s = larger(SURPRISE_S, self.since_accepted_s);
        let felt = if compensated { FELT } else { FELT_ALTITUDE };
        self.bursts.disturb(felt * step_m * step_m / gone_s);
        self.stepped_m += step_m;
        if libm::fabsf(step_m) >= CLEAR_STEP_M {
            self.clear_m += step_m;
        }
        self.noise.interrupt();
        let (told_mps, flown_mps) = (libm::fabsf(step_m) / gone_s, FLOWN_MPS2 * gone_s);
        0.5 * smaller(told_mps, flown_mps)
    }

    fn accept(&mut self, height_m: f32) {
        self.noise.step(self.since_accepted_s, height_m - self.accepted_m);
        self.accepted_m = height_m;
        self.since_accepted_s = 0.0;
    }

    /// Keeps the height near its origin; the origin stays a whole number, so there is no rounding.
    fn move_origin(&mut self) {
        let height_m = self.accepted_m;
        if height_m.abs() > ORIGIN_REACH_M {
            let whole_m = libm::floorf(height_m);
            self.origin_m += whole_m;
            self.accepted_m -= whole_m;
            self.fixed.shift(whole_m);
            self.models.shift(whole_m);
            self.gusts.shift(whole_m);
            self.bursts.shift(whole_m);
            if let Some(undo) = &mut self.undo {
                undo.models.shift(whole_m);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::random::Noise;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Runs the filter at `rate_hz` over `height_m(t)` and returns (time, estimate) for every
    /// sample.
    fn run(
        delay_s: f32,
        rate_hz: f64,
        seconds: f64,
        height_m: impl Fn(f64) -> f64,
    ) -> std::vec::Vec<(f64, Estimate)> {
        let estimator = Estimator::new(FilterChoice::Fixed, delay_s, None);
        let mut state = EstimatorState::default();
        let step_us = (1e6 / rate_hz) as i64;
        (0..(seconds * rate_hz) as i64)
            .map(|sample| {
                let time = (sample * step_us) as f64 * 1e-6;
                (time, estimator.step(&mut state, Micros(step_us), Metre(height_m(time) as f32)))
            })
            .collect()
    }

    #[test]
    fn the_reading_lags_a_growing_climb_by_the_setting_at_every_rate() {
        // 0.1 m/s2 for 40 s: the reading is the true value `delay` earlier. Analytic; the filter's
        // gains are not used.
        for (rate_hz, delay_s) in [
            (1.0, 1.0),
            (1.0, 3.0),
            (5.0, 0.5),
            (5.0, 1.0),
            (20.0, 0.3),
            (50.0, 1.0),
            (100.0, 2.0),
            (200.0, 0.5),
        ] {
            let (time, last) = *run(delay_s, rate_hz, 40.0, |t| 0.05 * t * t).last().unwrap();
            let measured_delay = time as f32 - last.velocity.0 / 0.1;
            assert_relative_eq!(measured_delay, delay_s, max_relative = 0.01);
        }
    }

    #[test]
    fn a_step_of_climb_overshoots_as_a_second_order_butterworth_does() {
        // Butterworth, order 2: overshoot exp(-pi) = 4.32 % (any text on control; damping 1/sqrt
        // 2). Tolerance 1 percentage point, because the growing-memory start and the sampling shift
        // it a little.
        let readings = run(1.0, 100.0, 30.0, |t| 2.0 * (t - 15.0).max(0.0));
        let highest = readings.iter().map(|(_, estimate)| estimate.velocity.0).fold(0.0, f32::max);
        assert_abs_diff_eq!(highest / 2.0, 1.0432, epsilon = 0.01);
        assert_abs_diff_eq!(readings.last().unwrap().1.velocity.0, 2.0, epsilon = 1e-3);
    }

    #[test]
    fn noise_of_the_reading_matches_the_closed_form() {
        // Velocity variance from white measurement noise r w0^3 / (2 sqrt 2), r = sigma^2 dt,
        // w0 = sqrt 2 / delay (published-values, section 5). Noise: a uniform sequence of a 64-bit
        // linear congruential generator (Knuth's MMIX constants), sigma = 0.1 m.
        let (rate_hz, delay_s, sigma_m) = (50.0, 1.0_f64, 0.1_f64);
        let mut seed = 1_u64;
        let mut noise = std::vec::Vec::new();
        for _ in 0..500_000 {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            noise.push(
                ((seed >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * sigma_m * 12.0_f64.sqrt(),
            );
        }
        let readings =
            run(delay_s as f32, rate_hz, 10_000.0, |t| noise[(t * rate_hz).round() as usize]);
        let settled = &readings[1000..];
        let variance = settled.iter().map(|(_, e)| f64::from(e.velocity.0).powi(2)).sum::<f64>()
            / settled.len() as f64;
        let w0 = 2.0_f64.sqrt() / delay_s;
        let expected = sigma_m * sigma_m / rate_hz * w0.powi(3) / (2.0 * 2.0_f64.sqrt());
        assert_relative_eq!(variance, expected, max_relative = 0.05);
    }

    #[test]
    fn a_climb_already_under_way_is_shown_from_the_second_sample() {
        let readings = run(1.0, 50.0, 3.0, |t| 1000.0 + 3.0 * t);
        for (_, estimate) in &readings[1..] {
            assert_abs_diff_eq!(estimate.velocity.0, 3.0, epsilon = 0.02);
        }
        let settled_after = readings.iter().find(|(_, estimate)| estimate.settled).unwrap().0;
        assert!(settled_after < 2.0, "settled after {settled_after} s");
    }

    #[test]
    fn a_weak_climb_at_a_high_rate_reads_the_same_at_every_height() {
        // 0.02 m/s at 200 Hz rises 0.1 mm between samples; an f32 at 9000 m has steps of 1 mm.
        for base_m in [0.0, 9000.0] {
            let last = run(1.0, 200.0, 120.0, |t| base_m + 0.02 * t).last().unwrap().1;
            assert_abs_diff_eq!(last.velocity.0, 0.02, epsilon = 0.002);
        }
    }

    #[test]
    fn moving_the_origin_in_a_long_climb_leaves_the_reading_unchanged() {
        let readings = run(0.5, 50.0, 400.0, |t| 5.0 * t);
        for (time, estimate) in &readings[50..] {
            assert_abs_diff_eq!(estimate.velocity.0, 5.0, epsilon = 0.005);
            assert_abs_diff_eq!(f64::from(estimate.height.0), 5.0 * time, epsilon = 0.002);
        }
    }

    #[test]
    fn ten_seconds_of_a_broken_sensor_are_over_ten_seconds_later() {
        // Heights from anywhere in the atmosphere, at the rates where one wrong height in two may
        // be believed. Without a limit of the vertical speed, one seed in five kept climbing at
        // kilometres a second for up to two minutes.
        for filter in [FilterChoice::Adaptive, FilterChoice::Fixed] {
            for (rate_hz, seed) in
                [1, 2, 4, 10].into_iter().flat_map(|hz| (1..30).map(move |s| (hz, s)))
            {
                let (estimator, mut state) =
                    (Estimator::new(filter, 1.0, None), EstimatorState::default());
                let mut random = Noise(seed);
                for sample in 0..(90 * rate_hz) {
                    let time = sample / rate_hz;
                    let wild_m =
                        if (60..70).contains(&time) { 6_000.0 * random.normal() } else { 0.0 };
                    let height_m = 1_500.0 + 0.1 * random.normal() + wild_m;
                    let elapsed = Micros(1_000_000 / rate_hz);
                    let estimate = estimator.step(&mut state, elapsed, Metre(height_m as f32));
                    let speed_mps = estimate.velocity.0;
                    assert!(
                        speed_mps.abs() <= FASTEST_MPS,
                        "{rate_hz} Hz, {seed}: {speed_mps} m/s"
                    );
                    if time >= 85 {
                        assert_abs_diff_eq!(speed_mps, 0.0, epsilon = 1.0);
                    }
                }
            }
        }
    }

    #[test]
    fn uneven_time_steps_cause_no_error_in_a_steady_climb() {
        let estimator = Estimator::new(FilterChoice::Fixed, 1.0, None);
        let mut state = EstimatorState::default();
        let mut time_us = 0_i64;
        for sample in 0..2000_i64 {
            let elapsed = Micros(800 + (sample * 7919) % 36_000);
            time_us += elapsed.0;
            let estimate = estimator.step(&mut state, elapsed, Metre(time_us as f32 * 2.0e-6));
            if sample > 1 {
                assert_abs_diff_eq!(estimate.velocity.0, 2.0, epsilon = 0.01);
            }
        }
    }
}
