//! Height samples to vertical speed: the filter chosen in the settings, its spike rejection, and
//! its start.
//!
//! ```text
//! measured height -> suspicion (a lone spike?) -> noise level -> filter -> vertical speed
//! ```
//!
//! **Fixed**: the steady Kalman filter of [`crate::motion::steady`], whose reading lags a steadily
//! changing vertical speed by exactly the response time. No linear filter has less error for its
//! delay; with time steps that jitter by half, its error is 2 % larger than that of a Kalman filter
//! that knows every step's covariance. It begins as a straight line through the first samples,
//! which is the same filter with growing-memory gains (from the normal equations of a line fit to
//! equal steps):
//!
//! ```text
//! alpha_n = 2 (2 n - 1) / (n (n + 1))      beta_n = 6 / (n (n + 1))
//! at the n-th sample, while above the steady gains
//! ```
//!
//! **Adaptive**: the two filters of [`crate::motion::models`], one for quiet air with that response
//! time and one for changing air.
//!
//! **Suspicion**: a height whose error is larger than noise and flight can explain is held back. If
//! the next one agrees with it (the next two, for much larger errors), the change is real and the
//! filter follows it. If not, it was a spike and is discarded. The filter decides how much of a
//! change is in the height and how much in the vertical speed, within what a glider can do: a
//! horizontal gust steps the energy height by metres within a tenth of a second, and is not a climb
//! of 30 m/s.
//!
//! ```text
//!                within the limit                 the next agrees (or two, far off)
//!     ACCEPTED  <-----------------  SUSPECT(n)  ---------------->  ACCEPTED, changed
//!               ----------------->
//!                beyond the limit (a later one that does not agree becomes the first)
//! ```

use crate::error::SettingsError;
use crate::motion::models::{ModelsState, agile_variance_m2ps2};
use crate::motion::noise::NoiseState;
use crate::motion::steady::SteadyGains;
use crate::rows::{Group, Kind};
use crate::units::{Metre, MetrePerSecond, Micros};

/// The height states are kept relative to a whole number of metres no further away than this,
/// because an `f32` near 5000 m has steps of 0.5 mm, as much as a weak climb gains between two
/// samples.
const ORIGIN_REACH_M: f32 = 64.0;
/// Time steps are limited to this range: from a microsecond to more than the interval of any flight
/// log.
const SHORTEST_STEP_S: f32 = 1.0e-6;
const LONGEST_STEP_S: f32 = 600.0;
/// An error above this many standard deviations is suspect, and is held back until the next sample
/// confirms it. Noise alone reaches it once in a thousand samples, which does no harm.
const SUSPECT_DEVIATIONS: f32 = 3.3;
/// The error must also exceed what this acceleration gives within the time step: six g are more
/// than aerobatics (common practice, no source).
const POSSIBLE_MPS2: f32 = 60.0;
/// The adaptive reading changes no faster than this: four and a half g, as in aerobatics or the
/// hardest winch launch. A horizontal gust looks like thirty g.
const MOST_AGILE_MPS2: f32 = 45.0;
/// The fixed filter may lag the truth by this much without making a height suspect.
const POSSIBLE_LAG_MPS: f32 = 30.0;
/// A confirmed error came from a change of vertical speed this long ago, from a step in the height
/// itself (a horizontal gust steps the energy height by metres), or from both; the vertical speed
/// changes by no more than this allows.
const SURPRISE_S: f32 = 0.1;
const MOST_CHANGE_MPS: f32 = POSSIBLE_MPS2 * SURPRISE_S;
/// Above this many deviations, more samples must agree: two spikes may look alike.
const FAR_DEVIATIONS: f32 = 6.0;
const AGREEING: u8 = 3;
const AGREEING_S: f32 = 0.035;
const LONG_S: f32 = 0.1;
/// Suspects agree if their errors have the same sign and the smaller is at least this share of the
/// larger.
const AGREEMENT: f32 = 0.4;
/// The start ends after this time once the reading's standard deviation is below this or near its
/// steady value, and after the longer time in any case, since in a winch launch the deviation may
/// not come down.
const START_S: f32 = 1.5;
const LONGEST_START_S: f32 = 2.5;
const FEWEST_SAMPLES: u16 = 5;
const SETTLED_MPS: f32 = 0.07;
const NEAR: f32 = 1.2;
/// The adaptive filter multiplies the measured noise by up to this factor, more for closer samples.
/// Real sensor noise is not white: errors of samples within some hundredths of a second are
/// correlated, and without this a barometer at rest chirped once in half a minute
/// (tests/real_flights.rs).
const COLOURED: f32 = 0.4;
const COLOUR_S: f32 = 0.04;

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
            late always, the adaptive one in quiet air only. The default is a guess to start \
            from: with a sensor of 0.1 m noise at 50 Hz the reading then has noise of 0.014 m/s.";
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
}

/// State of the filter.
#[derive(Clone, Copy, Debug, Default)]
pub struct EstimatorState {
    origin_m: f32,
    /// Last accepted height, above the origin, and the time since.
    accepted_m: f32,
    since_accepted_s: f32,
    samples: u16,
    lasted_s: f32,
    settled: bool,
    noise: NoiseState,
    suspicion: Suspicion,
    fixed: FixedState,
    models: ModelsState,
}

#[derive(Clone, Copy, Debug, Default)]
struct FixedState {
    height_m: f32,
    velocity_mps: f32,
    variance_m2ps2: f32,
}

#[derive(Clone, Copy, Debug, Default)]
struct Suspicion {
    count: u8,
    error_m: f32,
    lasted_s: f32,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Verdict {
    Believed,
    Suspect,
    /// Accepted after all: the air has changed.
    Changed,
}

/// The filter's answer to one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Filtered height.
    pub height: Metre,
    /// Vertical speed, positive upward.
    pub velocity: MetrePerSecond,
    /// The filter's estimate of the standard deviation of the error of the vertical speed.
    pub deviation: MetrePerSecond,
    /// The start is over: the reading is as steady as it will get.
    pub settled: bool,
    /// The height was held back as a likely spike, and the reading is the prediction.
    pub suspect: bool,
}

impl Estimator {
    /// The filter of `settings`.
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
        Self { filter, response_s, noise_m }
    }

    /// Takes the height measured `elapsed` after the one before; `elapsed` is above zero, and
    /// ignored for the first sample.
    pub fn step(&self, state: &mut EstimatorState, elapsed: Micros, measured: Metre) -> Estimate {
        if state.samples == 0 {
            self.start(state, measured);
            return self.estimate(state, false);
        }
        state.samples = state.samples.saturating_add(1);
        let dt_s = elapsed.as_seconds().clamp(SHORTEST_STEP_S, LONGEST_STEP_S);
        state.since_accepted_s += dt_s;
        if !state.settled {
            state.lasted_s += dt_s;
        }
        let height_m = measured.0 - state.origin_m;
        state.noise.see_step(height_m - state.accepted_m);
        let sigma_m = self.sigma_m(state);
        let suspect = match self.filter {
            FilterChoice::Fixed => self.step_fixed(state, dt_s, sigma_m, height_m),
            FilterChoice::Adaptive => self.step_adaptive(state, dt_s, sigma_m, height_m),
        };
        if !suspect {
            state.accept(height_m);
        }
        state.move_origin();
        self.estimate(state, suspect)
    }

    /// Standard deviation of the measured heights, as set or as measured.
    pub(crate) fn sigma_m(&self, state: &EstimatorState) -> f32 {
        self.noise_m.unwrap_or_else(|| state.noise.sigma_m())
    }

    fn start(&self, state: &mut EstimatorState, measured: Metre) {
        // The measured sensor noise is kept across a gap.
        let noise = state.noise;
        *state = EstimatorState {
            origin_m: libm::floorf(measured.0),
            samples: 1,
            noise,
            ..EstimatorState::default()
        };
        state.noise.interrupt();
        state.accepted_m = measured.0 - state.origin_m;
        state.fixed.height_m = state.accepted_m;
        state.models = ModelsState::start(state.accepted_m, self.sigma_m(state));
    }

    fn step_fixed(
        &self,
        state: &mut EstimatorState,
        dt_s: f32,
        sigma_m: f32,
        height_m: f32,
    ) -> bool {
        let gains = SteadyGains::new(self.response_s, dt_s);
        let predicted_m = state.fixed.height_m + state.fixed.velocity_mps * dt_s;
        let error_m = height_m - predicted_m;
        // From the last accepted height, not from the filter's height, which lags by design.
        let ahead_s = state.since_accepted_s;
        let jump_m = height_m - state.accepted_m - state.fixed.velocity_mps * ahead_s;
        let limit_m = SUSPECT_DEVIATIONS * 2.0 * sigma_m
            + ahead_s * (POSSIBLE_LAG_MPS + 0.5 * POSSIBLE_MPS2 * ahead_s);
        let verdict = state.judge(jump_m, limit_m, dt_s);
        let suspect = verdict == Verdict::Suspect;
        let (alpha, beta) = if suspect { (0.0, 0.0) } else { state.growing(gains) };
        state.fixed = FixedState {
            height_m: predicted_m + alpha * error_m,
            velocity_mps: state.fixed.velocity_mps + beta / dt_s * error_m,
            variance_m2ps2: state.fixed_variance(gains, dt_s, sigma_m),
        };
        suspect
    }

    fn step_adaptive(
        &self,
        state: &mut EstimatorState,
        dt_s: f32,
        sigma_m: f32,
        height_m: f32,
    ) -> bool {
        let coloured = 1.0 + COLOURED * COLOUR_S / (COLOUR_S + dt_s);
        let sigma_m = if self.noise_m.is_some() { sigma_m } else { coloured * sigma_m };
        let quiet_m2ps3 = SteadyGains::new(self.response_s, dt_s).density_m2ps3(dt_s, sigma_m);
        let forecast = state.models.forecast(dt_s, quiet_m2ps3, sigma_m);
        let (error_m, deviation_m) = forecast.error_of(height_m);
        let limit_m = SUSPECT_DEVIATIONS * deviation_m + 0.5 * POSSIBLE_MPS2 * dt_s * dt_s;
        let verdict = state.judge(error_m, limit_m, dt_s);
        // Until the filter has settled, the vertical speed may be anything.
        let most_mps = if state.settled { MOST_AGILE_MPS2 * dt_s } else { f32::MAX };
        state.models = match verdict {
            Verdict::Believed => forecast.correct(height_m, most_mps),
            Verdict::Suspect => forecast.unconfirmed(),
            Verdict::Changed => {
                forecast.widen(error_m, SURPRISE_S, MOST_CHANGE_MPS).correct(height_m, most_mps)
            }
        };
        if !state.settled {
            let least_mps = NEAR * libm::sqrtf(agile_variance_m2ps2(dt_s, sigma_m));
            let limit_mps = if least_mps > SETTLED_MPS { least_mps } else { SETTLED_MPS };
            let quiet = state.models.mixed().variance_m2ps2 <= limit_mps * limit_mps;
            let long = state.lasted_s >= LONGEST_START_S && state.samples >= FEWEST_SAMPLES;
            state.settled = long || (quiet && state.lasted_s >= START_S);
        }
        verdict == Verdict::Suspect
    }

    fn estimate(&self, state: &EstimatorState, suspect: bool) -> Estimate {
        let (height_m, velocity_mps, variance_m2ps2) = match self.filter {
            FilterChoice::Fixed => {
                (state.fixed.height_m, state.fixed.velocity_mps, state.fixed.variance_m2ps2)
            }
            FilterChoice::Adaptive => {
                let mixed = state.models.mixed();
                (mixed.height_m, mixed.velocity_mps, MODESTY * MODESTY * mixed.variance_m2ps2)
            }
        };
        Estimate {
            height: Metre(state.origin_m + height_m),
            velocity: MetrePerSecond(velocity_mps),
            deviation: MetrePerSecond(libm::sqrtf(variance_m2ps2)),
            settled: state.settled,
            suspect,
        }
    }
}

impl EstimatorState {
    /// Clears the heights, so that the next one is a new start; keeps the measured noise.
    pub(crate) fn restart(&mut self) {
        self.samples = 0;
    }

    /// Nothing is suspect before there is a reading to compare it with.
    fn judge(&mut self, error_m: f32, limit_m: f32, dt_s: f32) -> Verdict {
        if self.settled { self.suspicion.judge(error_m, limit_m, dt_s) } else { Verdict::Believed }
    }

    /// The fixed filter's gains at this sample: the gains of a line through all samples until the
    /// steady gains are larger.
    fn growing(&mut self, steady: SteadyGains) -> (f32, f32) {
        if self.settled {
            return (steady.alpha, steady.beta);
        }
        let n = f32::from(self.samples);
        let pairs = n * (n + 1.0);
        let (alpha, beta) = (2.0 * (2.0 * n - 1.0) / pairs, 6.0 / pairs);
        self.settled = beta <= steady.beta || self.samples == u16::MAX;
        (
            if alpha > steady.alpha { alpha } else { steady.alpha },
            if beta > steady.beta { beta } else { steady.beta },
        )
    }

    /// The fixed reading's variance: a line's slope while it starts, 12 sigma^2 / (dt^2 n
    /// (n^2 - 1)), then the steady filter's.
    fn fixed_variance(&self, gains: SteadyGains, dt_s: f32, sigma_m: f32) -> f32 {
        let steady = gains.variance_m2ps2(dt_s, sigma_m);
        if self.settled {
            return steady;
        }
        let n = f32::from(self.samples);
        steady + 12.0 * sigma_m * sigma_m / (dt_s * dt_s * n * (n * n - 1.0))
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
            self.fixed.height_m -= whole_m;
            self.models.shift(whole_m);
        }
    }
}

impl Suspicion {
    fn judge(&mut self, error_m: f32, limit_m: f32, dt_s: f32) -> Verdict {
        if error_m.abs() <= limit_m {
            *self = Self::default();
            return Verdict::Believed;
        }
        let before_m = self.error_m;
        let (small, large) =
            if before_m.abs() < error_m.abs() { (before_m, error_m) } else { (error_m, before_m) };
        let agrees =
            self.count > 0 && small * large > 0.0 && small.abs() >= AGREEMENT * large.abs();
        let (count, lasted_s) =
            if agrees { (self.count + 1, self.lasted_s + dt_s) } else { (1, 0.0) };
        let far = error_m.abs() > FAR_DEVIATIONS / SUSPECT_DEVIATIONS * limit_m;
        let long = lasted_s >= LONG_S || (count >= AGREEING && lasted_s >= AGREEING_S);
        if long || (agrees && !far) {
            *self = Self::default();
            return Verdict::Changed;
        }
        *self = Self { count, error_m, lasted_s };
        Verdict::Suspect
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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
