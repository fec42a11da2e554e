//! Lag and noise of the adaptive filter, against the best fixed filter: the claims of
//! core/src/motion/models.rs.
//!
//! Truth, noise and analysis are made here. The best fixed filter is the steady Kalman filter whose
//! reading is as noisy in still air as the adaptive one's; its gains come from a covariance
//! recursion in double precision, not from the core.

use crate::air::{adaptive, rms, velocities, with_noise};

const SEEDS: u64 = 60;

/// The steady filter of height and vertical speed with acceleration noise of density `q`, by
/// running the covariance until it stands: gains, and how much measurement noise alone makes its
/// velocity noisy.
fn steady_kalman(q: f64, dt: f64, sigma: f64) -> (f64, f64, f64) {
    let r = sigma * sigma;
    let (mut p11, mut p12, mut p22, mut k1, mut k2) = (r, 0.0, 1.0, 0.0, 0.0);
    for _ in 0..(60.0 / dt) as usize {
        let m11 = p11 + 2.0 * dt * p12 + dt * dt * p22 + q * dt.powi(3) / 3.0;
        let m12 = p12 + dt * p22 + q * dt * dt / 2.0;
        let m22 = p22 + q * dt;
        (k1, k2) = (m11 / (m11 + r), m12 / (m11 + r));
        (p11, p12, p22) = (m11 * (1.0 - k1), m12 * (1.0 - k1), m22 - k2 * m12);
    }
    // The filter driven by noise alone: its covariance, run until it stands.
    let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
    for _ in 0..(60.0 / dt) as usize {
        let (f11, f12, f22) = (a + 2.0 * dt * b + dt * dt * c, b + dt * c, c);
        a = (1.0 - k1) * (1.0 - k1) * f11 + k1 * k1 * r;
        let cross = (1.0 - k1) * (f12 - k2 * f11) + k1 * k2 * r;
        c = f22 - 2.0 * k2 * f12 + k2 * k2 * f11 + k2 * k2 * r;
        b = cross;
    }
    (k1, k2, c.sqrt())
}

/// The steady filter with `noise` m/s of noise in still air.
fn fixed_of_noise(noise: f64, dt: f64, sigma: f64) -> (f64, f64) {
    let (mut low, mut high) = (1e-7_f64, 1e3_f64);
    for _ in 0..50 {
        let q = (low * high).sqrt();
        if steady_kalman(q, dt, sigma).2 > noise { high = q } else { low = q }
    }
    let (k1, k2, _) = steady_kalman((low * high).sqrt(), dt, sigma);
    (k1, k2)
}

fn run_fixed((k1, k2): (f64, f64), dt: f64, heights: &[f64]) -> Vec<f64> {
    let (mut height, mut velocity) = (heights[0], 0.0);
    heights
        .iter()
        .map(|measured| {
            let error = measured - height - velocity * dt;
            height += velocity * dt + k1 * error;
            velocity += k2 * error;
            velocity
        })
        .collect()
}

/// A climb that goes from `from` to `to` m/s within `edge` s, beginning at 20 s; heights of 40 s.
fn edge_of_thermal(rate_hz: f64, from: f64, to: f64, edge: f64) -> Vec<f64> {
    let mut height = 600.0;
    (0..(40.0 * rate_hz) as usize)
        .map(|sample| {
            let climb = |t: f64| from + (to - from) * ((t - 20.0) / edge).clamp(0.0, 1.0);
            let t = sample as f64 / rate_hz;
            let now = height;
            height += 0.5 * (climb(t) + climb(t + 1.0 / rate_hz)) / rate_hz;
            now
        })
        .collect()
}

/// When the mean of the runs passes `share` of the way, after the truth does.
fn lag(mean: &[f64], rate_hz: f64, from: f64, to: f64, edge: f64, share: f64) -> f64 {
    let way = |sample: usize| (mean[sample] - from) / (to - from);
    let after = (19.0 * rate_hz) as usize;
    let first = (after..mean.len()).find(|&sample| way(sample) >= share).expect("it gets there");
    let back = (way(first) - share) / (way(first) - way(first - 1));
    (first as f64 - back) / rate_hz - (20.0 + share * edge)
}

fn mean_of(runs: &[Vec<f64>]) -> Vec<f64> {
    (0..runs[0].len())
        .map(|sample| runs.iter().map(|run| run[sample]).sum::<f64>() / runs.len() as f64)
        .collect()
}

struct Edge {
    lag_50: f64,
    lag_90: f64,
    overshoot: f64,
}

fn measure(runs: &[Vec<f64>], rate_hz: f64, from: f64, to: f64, edge: f64) -> Edge {
    let mean = mean_of(runs);
    let beyond = mean[(20.0 * rate_hz) as usize..]
        .iter()
        .map(|v| (v - to) / (to - from))
        .fold(0.0, f64::max);
    Edge {
        lag_50: lag(&mean, rate_hz, from, to, edge, 0.5),
        lag_90: lag(&mean, rate_hz, from, to, edge, 0.9),
        overshoot: beyond,
    }
}

/// Noise of the adaptive reading in still air, once it has started.
fn still_air_noise(rate_hz: f64, sigma: f64) -> f64 {
    let still = vec![600.0; (60.0 * rate_hz) as usize];
    let runs =
        (0..SEEDS).map(|seed| velocities(&adaptive(rate_hz, &with_noise(&still, sigma, seed))));
    rms(runs.flat_map(|run| run[(15.0 * rate_hz) as usize..].to_vec()))
}

/// Both filters' lags at an edge, and the adaptive one's overshoot.
struct Duel {
    ours: Edge,
    theirs: Edge,
}

impl Duel {
    fn new(rate_hz: f64, sigma: f64, fixed: (f64, f64), (from, to, edge): (f64, f64, f64)) -> Self {
        let heights = edge_of_thermal(rate_hz, from, to, edge);
        let noisy: Vec<_> =
            (0..SEEDS).map(|seed| with_noise(&heights, sigma, 1000 + seed)).collect();
        let ours: Vec<_> =
            noisy.iter().map(|heights| velocities(&adaptive(rate_hz, heights))).collect();
        let theirs: Vec<_> =
            noisy.iter().map(|heights| run_fixed(fixed, 1.0 / rate_hz, heights)).collect();
        Self {
            ours: measure(&ours, rate_hz, from, to, edge),
            theirs: measure(&theirs, rate_hz, from, to, edge),
        }
    }

    /// The worse of the two lags' shares of the fixed filter's.
    fn share(&self) -> f64 {
        (self.ours.lag_50 / self.theirs.lag_50).max(self.ours.lag_90 / self.theirs.lag_90)
    }
}

/// Runs both filters over every edge and checks the adaptive one's share of the fixed one's lag.
fn hold_to(rate_hz: f64, sigma: f64, most: &[((f64, f64, f64), f64)]) {
    let fixed = fixed_of_noise(still_air_noise(rate_hz, sigma), 1.0 / rate_hz, sigma);
    for &(edge, most) in most {
        let duel = Duel::new(rate_hz, sigma, fixed, edge);
        let share = duel.share();
        assert!(
            share <= most,
            "{rate_hz} Hz, {sigma} m, edge {edge:?}: share {share:.2}, at most {most}"
        );
        let overshoot = duel.ours.overshoot;
        assert!(
            overshoot <= 0.10,
            "{rate_hz} Hz, {sigma} m, edge {edge:?}: overshoot {overshoot:.3}"
        );
    }
}

// Edges: from and to in m/s, and the time it takes in s.
const STRONG: [(f64, f64, f64); 4] =
    [(0.0, 2.0, 1.0), (0.0, 4.0, 1.0), (2.0, 0.0, 1.0), (4.0, 0.0, 1.0)];
const WEAK_OR_SLOW: [(f64, f64, f64); 5] =
    [(0.0, 1.0, 1.0), (1.0, 0.0, 1.0), (0.0, 1.0, 3.0), (0.0, 2.0, 3.0), (0.0, 4.0, 3.0)];

fn at_most(strong: f64, weak_or_slow: f64) -> Vec<((f64, f64, f64), f64)> {
    let strong = STRONG.iter().map(|&edge| (edge, strong));
    strong.chain(WEAK_OR_SLOW.iter().map(|&edge| (edge, weak_or_slow))).collect()
}

#[test]
fn thermals_are_met_and_left_in_half_the_best_fixed_filters_time_at_the_same_quiet() {
    // Required: half for 2 and 4 m/s within 1 s, 0.65 for 1 m/s and for 3 s. Measured: 0.13 to
    // 0.25, and 0.16 to 0.34.
    for (rate_hz, sigma) in [(50.0, 0.03), (50.0, 0.1), (100.0, 0.03), (100.0, 0.1)] {
        hold_to(rate_hz, sigma, &at_most(0.35, 0.45));
    }
    // Measured: 0.16 and 0.23 at 0.03 m, 0.32 and 0.44 at 0.1 m.
    hold_to(20.0, 0.03, &at_most(0.35, 0.45));
    hold_to(20.0, 0.1, &at_most(0.45, 0.55));
}

#[test]
fn at_few_samples_a_second_weak_and_slow_edges_gain_less() {
    // With 5 or 10 samples a second of 0.1 m noise, a second of a weak thermal is hardly above the
    // noise, and a sample is a fifth of a second: that limits any filter. Measured for strong
    // edges, and for weak or slow ones: 0.40 and 0.60 at 10 Hz, 0.66 and 0.82 at 5 Hz; in 0.03 m of
    // noise 0.24 and 0.27, 0.63 and 0.37.
    hold_to(10.0, 0.1, &at_most(0.50, 0.70));
    hold_to(5.0, 0.1, &at_most(0.75, 0.90));
    hold_to(10.0, 0.03, &at_most(0.35, 0.40));
    hold_to(5.0, 0.03, &at_most(0.75, 0.50));
}
