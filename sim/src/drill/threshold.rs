//! The smallest change of a climb that an ear tells, found by asking for what it can just tell.
//!
//! The probability of every threshold on a scale is kept and turned by each answer (Bayes), and the
//! next question asks for the change that tells most: about twice the present estimate. The method
//! is that of Watson and Pelli (QUEST: a Bayesian adaptive psychometric method, Perception &
//! Psychophysics 33, 1983, from memory), with the slope of an ear that compares two values with a
//! normal error each time (Green and Swets, Signal detection theory and psychophysics, 1966, from
//! memory).

/// Thresholds that are thought possible, m/s.
const LEAST_MPS: f64 = 0.02;
const MOST_MPS: f64 = 3.0;
const PLACES: usize = 101;
/// The smallest change that is asked for, m/s.
const LEAST_ASKED_MPS: f64 = 0.02;
/// The largest of them, m/s.
pub const MOST_ASKED_MPS: f64 = 1.5;
/// The next change over the present estimate. An answer about the threshold itself is nearly a
/// guess, and one about much more is nearly sure: both tell little.
const ASKED_OVER_ESTIMATE: f64 = 1.9;
/// The share of answers that are a guess whatever was heard, as by a slip of the finger (a guess of
/// ours).
const SLIPS: f64 = 0.04;
/// Where the normal distribution reaches three quarters.
const QUARTER: f64 = 0.674_489_750_196_082;
/// Known well enough, as a share of the threshold.
const ENOUGH: f64 = 0.2;

/// How probable each threshold is after the answers so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Threshold {
    /// Logarithms, up to a common constant.
    likely: [f64; PLACES],
    answers: u32,
}

impl Default for Threshold {
    /// Every ratio is as probable as any other.
    fn default() -> Self {
        Self { likely: [0.0; PLACES], answers: 0 }
    }
}

impl Threshold {
    /// Takes the answer to a change of so many m/s.
    pub fn learn(&mut self, change_mps: f64, right: bool) {
        for (place, likely) in self.likely.iter_mut().enumerate() {
            let told = told(change_mps / libm::exp(log_mps(place)));
            *likely += libm::log(if right { told } else { 1.0 - told });
        }
        self.answers += 1;
    }

    /// The change to ask for next, m/s.
    pub fn ask_mps(&self) -> f64 {
        (self.mps() * ASKED_OVER_ESTIMATE).clamp(LEAST_ASKED_MPS, MOST_ASKED_MPS)
    }

    /// The change that is told right three times out of four, m/s.
    pub fn mps(&self) -> f64 {
        libm::exp(self.mean_and_deviation().0)
    }

    /// The standard error of [`Self::mps`], as a share of it.
    pub fn error(&self) -> f64 {
        self.mean_and_deviation().1
    }

    /// Whether more questions are not worth the time: the error is a fifth or less.
    pub fn is_known(&self) -> bool {
        self.answers > 0 && !self.is_beyond() && self.error() <= ENOUGH
    }

    /// Between which changes it lies, twice the standard error to each side, m/s.
    pub fn between_mps(&self) -> [f64; 2] {
        let (mean, deviation) = self.mean_and_deviation();
        [-2.0, 2.0].map(|times| libm::exp(mean + times * deviation).clamp(LEAST_MPS, MOST_MPS))
    }

    /// Whether even [`MOST_ASKED_MPS`] is told no better than three times out of four.
    pub fn is_beyond(&self) -> bool {
        self.mps() > MOST_ASKED_MPS
    }

    /// Of the logarithm of the threshold.
    fn mean_and_deviation(&self) -> (f64, f64) {
        let most = self.likely.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let [mut sum, mut first, mut second] = [0.0; 3];
        for (place, likely) in self.likely.iter().enumerate() {
            let (weight, log) = (libm::exp(likely - most), log_mps(place));
            sum += weight;
            first += weight * log;
            second += weight * log * log;
        }
        let mean = first / sum;
        (mean, (second / sum - mean * mean).max(0.0).sqrt())
    }
}

fn log_mps(place: usize) -> f64 {
    let (least, most) = (libm::log(LEAST_MPS), libm::log(MOST_MPS));
    least + (most - least) * place as f64 / (PLACES - 1) as f64
}

/// The share of right answers to a change of so many times the threshold.
fn told(over_threshold: f64) -> f64 {
    let normal = 0.5 * libm::erfc(-QUARTER * over_threshold * core::f64::consts::FRAC_1_SQRT_2);
    SLIPS / 2.0 + (1.0 - SLIPS) * normal
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal, StandardUniform};

    /// A pupil by what an ear does, not by the formula above: each of the two climbs is heard with
    /// an error of its own and the greater one is said, but for slips.
    struct Pupil {
        rng: ChaCha8Rng,
        error_mps: f64,
        slips: f64,
    }

    impl Pupil {
        /// Two errors: their difference is as large as the threshold where it is told in three
        /// quarters.
        fn new(threshold_mps: f64, slips: f64, seed: u64) -> Self {
            let error_mps = threshold_mps / QUARTER / core::f64::consts::SQRT_2;
            Self { rng: ChaCha8Rng::seed_from_u64(seed), error_mps, slips }
        }

        fn is_right(&mut self, change_mps: f64) -> bool {
            let mut error = || {
                let normal: f64 = StandardNormal.sample(&mut self.rng);
                normal * self.error_mps
            };
            let heard = change_mps + error() - error();
            let mut share = || -> f64 { StandardUniform.sample(&mut self.rng) };
            if share() < self.slips { share() < 0.5 } else { heard > 0.0 }
        }
    }

    /// The threshold found and its stated error, with the number of questions.
    fn found(threshold_mps: f64, slips: f64, seed: u64) -> (f64, f64, u32) {
        let mut pupil = Pupil::new(threshold_mps, slips, seed);
        let mut threshold = Threshold::default();
        while !threshold.is_known() && threshold.answers < 100 {
            let change_mps = threshold.ask_mps();
            threshold.learn(change_mps, pupil.is_right(change_mps));
        }
        (threshold.mps(), threshold.error(), threshold.answers)
    }

    /// One run lies within its standard error of a fifth as often as a normal error does, in two of
    /// three; many lie about the truth.
    #[test]
    fn a_pupils_threshold_is_found_with_the_error_that_is_stated() {
        for threshold_mps in [0.08, 0.2, 0.5] {
            for slips in [0.0, 0.03] {
                let runs: Vec<_> = (0..400).map(|seed| found(threshold_mps, slips, seed)).collect();
                let logs: Vec<f64> =
                    runs.iter().map(|(mps, ..)| (mps / threshold_mps).ln()).collect();
                let mean = logs.iter().sum::<f64>() / logs.len() as f64;
                let rms = (logs.iter().map(|log| log * log).sum::<f64>() / 400.0).sqrt();
                let stated = runs.iter().map(|(_, error, _)| error).sum::<f64>() / 400.0;
                let within = logs.iter().filter(|log| (log.exp() - 1.0).abs() < 0.2).count();
                assert!(mean.abs() < 0.12, "{threshold_mps} {slips}: {mean}");
                assert!((0.8..1.25).contains(&(rms / stated)), "{rms} {stated}");
                assert!(within >= 260, "{within} of 400");
            }
        }
    }

    #[test]
    fn whoever_guesses_is_told_no_threshold() {
        let beyond = |seed| {
            let (mps, _, asked) = found(1e3, 0.0, seed);
            asked == 100 && mps > MOST_ASKED_MPS
        };
        // Lucky guesses look like an ear once in a while.
        assert!((0..100).filter(|seed| beyond(*seed)).count() >= 95);
    }
}
