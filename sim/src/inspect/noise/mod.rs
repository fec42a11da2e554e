//! How noisy, how coarse and how fresh one channel of a recording is.
//!
//! | file | what |
//! |---|---|
//! | `differences` | white noise, and what wanders at random, by third differences |
//! | `repeats` | steps; whether values repeat because of them or of a slow sensor |
//! | `allan` | Allan deviation; of a stretch at rest also flicker and drift |
//! | `high_pass` | what is above 1 Hz |

pub mod allan;
mod differences;
mod high_pass;
mod repeats;

pub use allan::AtRest;
pub use repeats::Repeats;

use allan::allan;
use differences::Differences;
use high_pass::above_1_hz;
pub(super) use repeats::quantum;
use serde::Serialize;

/// At a lower rate than this there is no figure above 1 Hz.
const SLOWEST_ABOVE_1_HZ: f64 = 5.0;
/// Slower than this, noise and flight cannot be told apart (a guess: at 10 Hz four samples last
/// 0.3 s).
const SLOWEST_TOLD_APART: f64 = 10.0;
/// White noise of less than this share of the steps does not show through them: Sheppard's
/// correction fails (a guess; half a step is usual).
const SHOWS_THROUGH: f64 = 0.4;

/// The noise of a channel, in its own unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Noise {
    /// Share of the values that equal the one before.
    pub repeated_share: f64,
    /// Why they do.
    pub repeats: Repeats,
    /// New values a second: those that differ from the one before, unless it is the steps that
    /// make them equal.
    pub fresh_rate_hz: f64,
    /// The smallest step between values that occurs more than by chance; zero where there is none.
    pub quantum: f64,
    /// Standard deviation of the white noise.
    pub white: f64,
    /// How far the channel wanders within a second by chance, beyond white noise, rms: of a dynamic
    /// pressure in the air, gusts; of a sensor at rest, its own. Absent where samples come too
    /// seldom to tell.
    pub wander: Option<f64>,
    /// Root mean square of what is above 1 Hz; absent below 5 values a second.
    pub above_1_hz: Option<f64>,
    /// Root mean square of everything, about the mean.
    pub about_mean: f64,
    /// Allan deviation of the whole recording by averaging time in seconds: in the air it is flight
    /// and noise together.
    pub allan: Vec<(f64, f64)>,
    /// The longest stretch at rest, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_rest: Option<AtRest>,
}

/// A channel as it was recorded.
#[derive(Clone, Copy, Debug)]
pub struct Channel<'a> {
    /// Increasing times, s.
    pub times_s: &'a [f64],
    /// Values in the channel's unit.
    pub values: &'a [f64],
    /// Step of what the values were computed from, in their unit; zero where they are as measured.
    pub step: f64,
    /// Samples a second.
    pub rate_hz: f64,
    /// From when to when it is at rest, s.
    pub rest_s: Option<(f64, f64)>,
}

impl Noise {
    /// Analyses `values` at increasing `times_s`, eight at least.
    pub fn of(times_s: &[f64], values: &[f64], rate_hz: f64) -> Option<Self> {
        Self::of_channel(&Channel { times_s, values, step: 0.0, rate_hz, rest_s: None })
    }

    /// Analyses a channel of eight values at least.
    pub fn of_channel(channel: &Channel<'_>) -> Option<Self> {
        let Channel { times_s, values, step, rate_hz, rest_s } = *channel;
        if values.len() < 8 {
            return None;
        }
        let repeated = values.windows(2).filter(|pair| pair[0] == pair[1]).count();
        let repeated_share = repeated as f64 / (values.len() - 1) as f64;
        let distinct = without_repeats(times_s, values);
        let quantum = quantum(&distinct.1).max(step);
        let repeats = Repeats::of(values, repeated_share, quantum);
        let (times, fresh) =
            if repeats == Repeats::Rate { distinct } else { (times_s.to_vec(), values.to_vec()) };
        if fresh.len() < 8 {
            return None;
        }
        let fresh_rate_hz = rate_hz * fresh.len() as f64 / values.len() as f64;
        let dt_s = 1.0 / fresh_rate_hz;
        let differences = Differences::of(&fresh, dt_s, quantum);
        let lasts_s = times_s[times_s.len() - 1] - times_s[0];
        Some(Self {
            repeated_share,
            repeats,
            fresh_rate_hz,
            quantum,
            white: differences.white,
            wander: (fresh_rate_hz >= SLOWEST_TOLD_APART).then_some(differences.wander_1_s),
            above_1_hz: (fresh_rate_hz >= SLOWEST_ABOVE_1_HZ)
                .then(|| above_1_hz(&times, &fresh, fresh_rate_hz)),
            about_mean: about_mean(&fresh),
            allan: allan(&fresh, dt_s, lasts_s),
            at_rest: rest_s.and_then(|rest_s| AtRest::of(&times, &fresh, dt_s, rest_s)),
        })
    }

    /// The white noise; where it does not show through the steps, what it can be at most.
    pub fn at_most(&self) -> f64 {
        self.white.max(if self.is_hidden() { SHOWS_THROUGH * self.quantum } else { 0.0 })
    }

    fn is_hidden(&self) -> bool {
        self.white < SHOWS_THROUGH * self.quantum
    }

    /// How often it gives a value, in words; steps that make values equal are named instead.
    pub fn pace(&self) -> String {
        let rate_hz = self.fresh_rate_hz;
        match self.repeats {
            Repeats::Steps => format!(
                "{rate_hz:.1} values a second, {:.0} % of them equal to the one before for the \
                 steps",
                100.0 * self.repeated_share
            ),
            Repeats::None | Repeats::Rate => format!("{rate_hz:.1} new values a second"),
        }
    }

    /// Whether the white noise is noise: samples come fast enough that flight is a parabola between
    /// four of them, and the noise shows through the steps.
    pub fn is_told_from_flight(&self) -> bool {
        self.fresh_rate_hz >= SLOWEST_TOLD_APART && !self.is_hidden()
    }
}

fn without_repeats(times_s: &[f64], values: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let fresh = (0..values.len()).filter(|&place| place == 0 || values[place] != values[place - 1]);
    fresh.map(|place| (times_s[place], values[place])).unzip()
}

fn about_mean(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    fn noisy(count: usize, sigma: f64, truth: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let times: Vec<f64> = (0..count).map(|step| step as f64 * 0.02).collect();
        let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
        let values = times.iter().map(|time| truth(*time) + sigma * normal()).collect();
        (times, values)
    }

    #[test]
    fn white_noise_is_found_in_the_middle_of_a_flight() {
        for sigma in [0.3, 1.2, 2.5] {
            let (times, values) =
                noisy(30_000, sigma, |t| 90_000.0 + 400.0 * (t / 5.0).sin() - 20.0 * t);
            let noise = Noise::of(&times, &values, 50.0).unwrap();
            assert_relative_eq!(noise.white, sigma, max_relative = 0.03);
            assert_eq!(noise.quantum, 0.0);
            // White noise up to 25 Hz, of which 24 are above 1 Hz.
            assert_relative_eq!(
                noise.above_1_hz.unwrap(),
                sigma * (24.0_f64 / 25.0).sqrt(),
                max_relative = 0.03
            );
        }
    }

    #[test]
    fn the_allan_deviation_of_white_noise_falls_with_the_root_of_the_time() {
        let (times, values) = noisy(60_000, 1.0, |_| 0.0);
        for (tau, deviation) in &Noise::of(&times, &values, 50.0).unwrap().allan[..8] {
            assert_relative_eq!(*deviation, (0.02 / tau).sqrt(), max_relative = 0.1);
        }
    }

    #[test]
    fn a_coarse_and_slow_sensor_is_known_by_its_steps_and_its_repeats() {
        let (times, values) = noisy(20_000, 3.0, |t| 90_000.0 + 30.0 * (t / 5.0).sin());
        // A new value every second poll, in whole pascals.
        let held: Vec<f64> =
            (0..values.len()).map(|place| values[place - place % 2].round()).collect();
        let noise = Noise::of(&times, &held, 50.0).unwrap();
        assert_eq!(noise.quantum, 1.0);
        assert_relative_eq!(noise.repeated_share, 0.55, max_relative = 0.05);
        assert_relative_eq!(noise.fresh_rate_hz, 22.5, max_relative = 0.05);
    }

    /// A value that wanders as an airspeed in gusts does: first order, of `rms` and with a time in
    /// s, every `dt_s`.
    fn wandering(count: usize, dt_s: f64, rms: f64, time_s: f64) -> Vec<f64> {
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let keep = (-dt_s / time_s).exp();
        let mut value = 0.0;
        (0..count)
            .map(|_| {
                let normal: f64 = StandardNormal.sample(&mut rng);
                value = keep * value + rms * (1.0 - keep * keep).sqrt() * normal;
                value
            })
            .collect()
    }

    #[test]
    fn gusts_and_the_sensors_noise_are_told_apart_within_a_fifth() {
        for (rate_hz, sigma, rms) in [
            (50.0, 0.5, 8.0),
            (50.0, 1.0, 17.0),
            (50.0, 1.0, 0.0),
            (20.0, 1.0, 8.0),
            (10.0, 1.5, 8.0),
        ] {
            let dt_s = 1.0 / rate_hz;
            let gusts = wandering(30_000, dt_s, rms, 5.0);
            let (_, noise) = noisy(30_000, sigma, |_| 600.0);
            let times: Vec<f64> = (0..30_000).map(|k| f64::from(k) * dt_s).collect();
            let values: Vec<f64> =
                (0..30_000).map(|k| noise[k] + gusts[k] + 100.0 * (times[k] / 4.0).sin()).collect();
            let found = Noise::of(&times, &values, rate_hz).unwrap();
            assert_relative_eq!(found.white, sigma, max_relative = 0.2);
            let expected = rms * (2.0_f64 / 5.0).sqrt();
            let wander = found.wander.unwrap();
            assert!((wander - expected).abs() < 0.2 * expected.max(3.0), "{wander}, {expected}");
        }
    }

    #[test]
    fn coarse_steps_are_no_slow_sensor_and_a_slow_sensor_is_one_with_steps_too() {
        // A pressure that changes slowly, in whole pascals, at 50 Hz.
        for (sigma, per_s) in [(0.1, 1.0), (0.2, 4.0), (0.2, 0.3), (0.4, 12.0), (0.0, 5.0)] {
            let (times, values) =
                noisy(20_000, sigma, |t| 90_000.0 - per_s * t + 5.0 * (t / 7.0).sin());
            let steps: Vec<f64> = values.iter().map(|value| value.round()).collect();
            let found = Noise::of(&times, &steps, 50.0).unwrap();
            assert_eq!((found.repeats, found.quantum), (Repeats::Steps, 1.0), "{sigma} {per_s}");
            assert_eq!(found.fresh_rate_hz, 50.0);
            assert!(!found.is_told_from_flight() || (found.white - sigma).abs() < 0.2 * sigma);
        }
        // A new value at every fifth poll, with steps and without.
        for step in [0.0, 1.0] {
            let (times, values) = noisy(20_000, 0.8, |t| 90_000.0 + 30.0 * (t / 5.0).sin());
            let held: Vec<f64> = (0..values.len())
                .map(|place| {
                    let value = values[place - place % 5];
                    if step > 0.0 { (value / step).round() * step } else { value }
                })
                .collect();
            let found = Noise::of(&times, &held, 50.0).unwrap();
            assert_eq!(found.repeats, Repeats::Rate, "{step}");
            assert!((6.0..10.1).contains(&found.fresh_rate_hz), "{}", found.fresh_rate_hz);
        }
    }

    fn at_rest(times: &[f64], values: &[f64]) -> AtRest {
        let rest_s = Some((0.0, times[times.len() - 1]));
        let channel = Channel { times_s: times, values, step: 0.0, rate_hz: 50.0, rest_s };
        Noise::of_channel(&channel).unwrap().at_rest.unwrap()
    }

    #[test]
    fn flicker_and_drift_of_a_sensor_at_rest_are_found_within_a_fifth() {
        let (count, flicker) = (60_000, 0.4_f64);
        // First-order processes an octave apart with the variance ln 2 B^2 / pi each have the
        // spectrum B^2 / (2 pi f) over both signs of frequency.
        let rms = (2.0_f64.ln() / std::f64::consts::PI).sqrt() * flicker;
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let mut sum = vec![0.0; count];
        for octave in 0..17 {
            let keep = (-0.02 / (0.01 * 2.0_f64.powi(octave))).exp();
            let mut value = 0.0;
            for sum in &mut sum {
                let normal: f64 = StandardNormal.sample(&mut rng);
                value = keep * value + rms * (1.0 - keep * keep).sqrt() * normal;
                *sum += value;
            }
        }
        let (times, white) = noisy(count, 0.6, |t| 95_000.0 + t / 60.0 * 1.5);
        let both: Vec<f64> = white.iter().zip(&sum).map(|(white, sum)| white + sum).collect();
        let found = at_rest(&times, &both);
        assert_relative_eq!(found.flicker.unwrap(), flicker, max_relative = 0.2);
        assert_relative_eq!(found.drift_per_min.unwrap(), 1.5, max_relative = 0.2);
        // White noise alone has neither.
        let (times, white) = noisy(count, 0.6, |_| 95_000.0);
        let found = at_rest(&times, &white);
        assert_eq!((found.flicker, found.drift_per_min), (None, None));
    }
}
